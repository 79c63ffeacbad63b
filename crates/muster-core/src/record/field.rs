//! Fields of a payload, read from JSON and written to it: one small function a type, where a derived reader would be one
//! large one a payload. It is what a phone downloads.

use alloc::{
    collections::BTreeMap,
    format,
    string::{String, ToString},
    vec::Vec,
};

use serde_json::{Map, Value};

use super::{
    id::{DeviceId, EventId, PersonId},
    payload::{JobState, Planned, RestsOn, Right, Role, RosterRow, Saw, Typed},
    private::Private,
};
use crate::{
    calendar::Moment,
    judge::Verdict,
    state::{Heat, Power, Stance, State},
    words::{Class, Depth, Ending, Seen, Service, Use},
};

/// What is wrong with a payload's fields.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct WrongField(String);

/// A type a field has.
pub(crate) trait Field: Sized {
    /// Reads a value; none where the field is missing.
    fn read(value: Option<Value>) -> Result<Self, WrongField>;
    /// Writes it.
    fn write(&self) -> Value;
}

/// The fields of one object, taken out one by one.
pub(crate) struct Fields(Map<String, Value>);

impl Fields {
    /// The fields of an object.
    pub(crate) fn of(value: Value) -> Result<Self, WrongField> {
        match value {
            Value::Object(fields) => Ok(Self(fields)),
            other => Err(expected("an object", Some(&other))),
        }
    }

    /// Takes one out by its name.
    pub(crate) fn take<T: Field>(&mut self, name: &'static str) -> Result<T, WrongField> {
        T::read(self.0.remove(name)).map_err(|error| WrongField(format!("`{name}`: {error}")))
    }

    /// Refuses what nobody asked for.
    pub(crate) fn end(self) -> Result<(), WrongField> {
        match self.0.keys().next() {
            Some(name) => Err(WrongField(format!("unknown field `{name}`"))),
            None => Ok(()),
        }
    }
}

fn expected(what: &str, got: Option<&Value>) -> WrongField {
    let got = match got {
        None => "nothing".to_string(),
        Some(Value::Object(_)) => "an object".to_string(),
        Some(Value::Array(_)) => "a list".to_string(),
        Some(other) => other.to_string(),
    };
    WrongField(format!("expected {what}, got {got}"))
}

impl Field for String {
    fn read(value: Option<Value>) -> Result<Self, WrongField> {
        match value {
            Some(Value::String(text)) => Ok(text),
            other => Err(expected("a text", other.as_ref())),
        }
    }

    fn write(&self) -> Value {
        Value::String(self.clone())
    }
}

impl Field for bool {
    fn read(value: Option<Value>) -> Result<Self, WrongField> {
        value.as_ref().and_then(Value::as_bool).ok_or_else(|| expected("true or false", value.as_ref()))
    }

    fn write(&self) -> Value {
        Value::Bool(*self)
    }
}

impl Field for u64 {
    fn read(value: Option<Value>) -> Result<Self, WrongField> {
        value.as_ref().and_then(Value::as_u64).ok_or_else(|| expected("a whole number", value.as_ref()))
    }

    fn write(&self) -> Value {
        Value::from(*self)
    }
}

impl<T: Field> Field for Option<T> {
    fn read(value: Option<Value>) -> Result<Self, WrongField> {
        match value {
            None | Some(Value::Null) => Ok(None),
            some => T::read(some).map(Some),
        }
    }

    fn write(&self) -> Value {
        self.as_ref().map_or(Value::Null, Field::write)
    }
}

impl<T: Field> Field for Vec<T> {
    fn read(value: Option<Value>) -> Result<Self, WrongField> {
        match value {
            Some(Value::Array(values)) => values.into_iter().map(|value| T::read(Some(value))).collect(),
            other => Err(expected("a list", other.as_ref())),
        }
    }

    fn write(&self) -> Value {
        Value::Array(self.iter().map(Field::write).collect())
    }
}

/// Types that are written as one text.
macro_rules! texts {
    ($($type:ty: $read:expr;)+) => {
        $(impl Field for $type {
            fn read(value: Option<Value>) -> Result<Self, WrongField> {
                let text = String::read(value)?;
                let read: fn(&str) -> Result<Self, String> = $read;
                read(&text).map_err(WrongField)
            }

            fn write(&self) -> Value {
                Value::String(self.to_string())
            }
        })+
    };
}

fn parsed<T: core::str::FromStr<Err: core::fmt::Display>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|error: T::Err| error.to_string())
}

texts! {
    EventId: parsed;
    PersonId: parsed;
    DeviceId: parsed;
    Role: parsed;
    Right: parsed;
    JobState: parsed;
    Verdict: parsed;
    Heat: parsed;
    Power: parsed;
    Stance: parsed;
    Class: parsed;
    Depth: parsed;
    Ending: parsed;
    Seen: parsed;
    Service: parsed;
    Use: parsed;
    Moment: |text| Moment::parse(text).map_err(|error| error.to_string());
}

/// Types that are written as an object.
macro_rules! objects {
    ($($type:ident { $($field:ident = $name:literal),+ })+) => {
        $(impl Field for $type {
            fn read(value: Option<Value>) -> Result<Self, WrongField> {
                let mut fields = Fields::of(value.unwrap_or_default())?;
                let read = Self { $($field: fields.take($name)?,)+ };
                fields.end().map(|()| read)
            }

            fn write(&self) -> Value {
                let mut fields = Map::new();
                $(fields.insert($name.to_string(), self.$field.write());)+
                Value::Object(fields)
            }
        })+
    };
}

objects! {
    State { heat = "heat", power = "power", stance = "stance" }
    Planned { one = "use", back = "back", distance = "distance" }
    RosterRow { machine = "machine", rider = "rider", from = "from", to = "to" }
    RestsOn { judgement = "judgement", catalogue = "catalogue", yard = "yard", forecast = "forecast" }
    Private { person = "person", nonce = "nonce", sealed = "sealed" }
}

impl<K: Field + Ord + core::str::FromStr<Err: core::fmt::Display> + ToString, T: Field> Field for BTreeMap<K, T> {
    fn read(value: Option<Value>) -> Result<Self, WrongField> {
        let fields = Fields::of(value.unwrap_or_default())?.0;
        let row = |(name, value): (String, Value)| Ok((parsed(&name).map_err(WrongField)?, T::read(Some(value))?));
        // Not collected: that would compile a sort for each kind of map.
        let mut map = Self::new();
        for field in fields {
            let (key, value) = row(field)?;
            map.insert(key, value);
        }
        Ok(map)
    }

    fn write(&self) -> Value {
        let mut object = Map::new();
        for (name, value) in self {
            object.insert(name.to_string(), value.write());
        }
        Value::Object(object)
    }
}

impl Field for Typed {
    fn read(value: Option<Value>) -> Result<Self, WrongField> {
        match value {
            Some(Value::String(text)) => Ok(Self::One(text)),
            Some(Value::Array(_)) => Field::read(value).map(Self::Several),
            Some(Value::Object(_)) => Field::read(value).map(Self::Places),
            other => Err(expected("a figure, a list or lists by place", other.as_ref())),
        }
    }

    fn write(&self) -> Value {
        match self {
            Self::One(text) => text.write(),
            Self::Several(texts) => texts.write(),
            Self::Places(places) => places.write(),
        }
    }
}

impl Field for Saw {
    fn read(value: Option<Value>) -> Result<Self, WrongField> {
        match value {
            Some(Value::Object(_)) => Field::read(value).map(Self::Places),
            other => Field::read(other).map(Self::One),
        }
    }

    fn write(&self) -> Value {
        match self {
            Self::One(seen) => seen.write(),
            Self::Places(places) => places.write(),
        }
    }
}
