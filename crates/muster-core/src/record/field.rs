//! Fields of a payload, read from JSON and written to it: one small function a type, where a derived reader would be one
//! large one a payload. It is what a phone downloads.

use alloc::{
    borrow::Cow,
    collections::BTreeMap,
    format,
    string::{String, ToString},
    vec::Vec,
};
use core::{fmt::Display, str::FromStr};

use super::{
    canonical::{Write, Writing},
    id::{DeviceId, EventId, PersonId},
    json::{Json, Shape},
    payload::{Document, JobState, Kind, PaperSize, Planned, RestsOn, Right, Role, RosterRow, Saw, Typed, WorkedOut},
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
pub(super) trait Field: Sized + Write {
    /// Reads a value; none where the field is missing.
    fn read(value: Option<Json<'_>>) -> Result<Self, WrongField>;
}

/// The fields of one object, taken out one by one.
pub(super) struct Fields<'a>(Vec<(Cow<'a, str>, Json<'a>)>);

impl<'a> Fields<'a> {
    /// The fields of an object.
    pub(super) fn of(value: Option<Json<'a>>) -> Result<Self, WrongField> {
        let object = value.filter(|value| value.shape() == Shape::Object);
        let object = object.ok_or_else(|| expected("an object", value))?;
        let mut fields = Vec::with_capacity(MOST);
        fields.extend(object.fields());
        Ok(Self(fields))
    }

    /// Takes one out by its name.
    pub(super) fn take<T: Field>(&mut self, name: &'static str) -> Result<T, WrongField> {
        T::read(self.value(name)).map_err(|error| WrongField(format!("`{name}`: {error}")))
    }

    /// Takes one out as it is.
    pub(super) fn value(&mut self, name: &str) -> Option<Json<'a>> {
        let at = self.0.iter().position(|(of, _)| of == name)?;
        Some(self.0.swap_remove(at).1)
    }

    /// Refuses what nobody asked for.
    pub(super) fn end(self) -> Result<(), WrongField> {
        match self.0.iter().map(|(name, _)| name).min() {
            Some(name) => Err(WrongField(format!("unknown field `{name}`"))),
            None => Ok(()),
        }
    }
}

/// No payload and no envelope has more fields.
const MOST: usize = 13;

fn expected(what: &str, got: Option<Json<'_>>) -> WrongField {
    WrongField(format!("expected {what}, got {}", got.map_or("nothing".to_string(), |got| got.to_string())))
}

fn text(value: Option<Json<'_>>) -> Result<Cow<'_, str>, WrongField> {
    value.and_then(Json::text).ok_or_else(|| expected("a text", value))
}

impl Field for String {
    fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
        text(value).map(Cow::into_owned)
    }
}

impl Write for String {
    fn write(&self, out: &mut Writing, _at: &str) {
        out.string(self);
    }
}

impl Field for bool {
    fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
        value.and_then(Json::truth).ok_or_else(|| expected("true or false", value))
    }
}

impl Write for bool {
    fn write(&self, out: &mut Writing, _at: &str) {
        out.raw(if *self { "true" } else { "false" });
    }
}

impl Field for u64 {
    fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
        value.and_then(Json::number).ok_or_else(|| expected("a whole number", value))
    }
}

impl Write for u64 {
    fn write(&self, out: &mut Writing, at: &str) {
        out.number(*self, at);
    }
}

impl<T: Field> Field for Option<T> {
    fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
        match value.filter(|value| value.shape() != Shape::Null) {
            None => Ok(None),
            some => T::read(some).map(Some),
        }
    }
}

impl<T: Write> Write for Option<T> {
    fn write(&self, out: &mut Writing, at: &str) {
        match self {
            Some(value) => value.write(out, at),
            None => out.raw("null"),
        }
    }
}

impl<T: Field> Field for Vec<T> {
    fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
        let list = value.filter(|value| value.shape() == Shape::List).ok_or_else(|| expected("a list", value))?;
        list.items().map(|item| T::read(Some(item))).collect()
    }
}

impl<T: Write> Write for Vec<T> {
    fn write(&self, out: &mut Writing, at: &str) {
        out.list(&mut self.iter().map(|item| item as &dyn Write), at);
    }
}

/// Types that are written as one text, which names something.
macro_rules! names {
    ($($type:ty: $read:expr;)+) => {
        $(impl Field for $type {
            fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
                let read: fn(&str) -> Result<Self, String> = $read;
                read(&text(value)?).map_err(WrongField)
            }
        }

        impl Write for $type {
            fn write(&self, out: &mut Writing, _at: &str) {
                out.name(self);
            }
        })+
    };
}

fn parsed<T: FromStr<Err: Display>>(text: &str) -> Result<T, String> {
    text.parse().map_err(|error: T::Err| error.to_string())
}

names! {
    Kind: parsed;
    EventId: parsed;
    PersonId: parsed;
    DeviceId: parsed;
    Role: parsed;
    Right: parsed;
    JobState: parsed;
    Document: parsed;
    PaperSize: parsed;
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
            fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
                let mut fields = Fields::of(value)?;
                let read = Self { $($field: fields.take($name)?,)+ };
                fields.end().map(|()| read)
            }
        }

        impl Write for $type {
            fn write(&self, out: &mut Writing, _at: &str) {
                out.object(&mut [$(($name, &self.$field)),+]);
            }
        })+
    };
}

objects! {
    State { heat = "heat", power = "power", stance = "stance" }
    Planned { one = "use", back = "back", distance = "distance" }
    RosterRow { machine = "machine", rider = "rider", from = "from", to = "to" }
    RestsOn { judgement = "judgement", catalogue = "catalogue", yard = "yard", forecast = "forecast" }
    WorkedOut { verdict = "verdict", done = "done", left = "left", next = "next", outing = "outing" }
    Private { person = "person", nonce = "nonce", sealed = "sealed" }
}

impl<K: Ord + FromStr<Err: Display>, T: Field> Field for BTreeMap<K, T>
where
    Self: Write,
{
    fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
        let fields = Fields::of(value)?.0;
        let row = |(name, value): (Cow<'_, str>, _)| Ok((parsed(&name).map_err(WrongField)?, T::read(Some(value))?));
        // Not collected: that would compile a sort for each kind of map.
        let mut map = Self::new();
        for field in fields {
            let (key, value) = row(field)?;
            map.insert(key, value);
        }
        Ok(map)
    }
}

impl<K: ToString, T: Write> Write for BTreeMap<K, T> {
    fn write(&self, out: &mut Writing, _at: &str) {
        let names: Vec<String> = self.keys().map(ToString::to_string).collect();
        let fields = names.iter().zip(self.values()).map(|(name, value)| (&**name, value as &dyn Write));
        out.object(&mut fields.collect::<Vec<_>>());
    }
}

impl Field for Typed {
    fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
        match value.map(Json::shape) {
            Some(Shape::Text) => Field::read(value).map(Self::One),
            Some(Shape::List) => Field::read(value).map(Self::Several),
            Some(Shape::Object) => Field::read(value).map(Self::Places),
            _ => Err(expected("a figure, a list or lists by place", value)),
        }
    }
}

impl Write for Typed {
    fn write(&self, out: &mut Writing, at: &str) {
        match self {
            Self::One(text) => text.write(out, at),
            Self::Several(texts) => texts.write(out, at),
            Self::Places(places) => places.write(out, at),
        }
    }
}

impl Field for Saw {
    fn read(value: Option<Json<'_>>) -> Result<Self, WrongField> {
        match value.map(Json::shape) {
            Some(Shape::Object) => Field::read(value).map(Self::Places),
            _ => Field::read(value).map(Self::One),
        }
    }
}

impl Write for Saw {
    fn write(&self, out: &mut Writing, at: &str) {
        match self {
            Self::One(seen) => seen.write(out, at),
            Self::Places(places) => places.write(out, at),
        }
    }
}
