//! Makes of a list of kinds and fields the structs, the kinds, and how each is read and written.

macro_rules! payloads {
    ($($(#[$doc:meta])* $name:ident = $kind:literal on $subject:ident {
        $($(#[$field_doc:meta])* $field:ident: $type:ty,)*
    })+) => {
        $(
            $(#[$doc])*
            #[derive(Clone, Debug, PartialEq, Eq)]
            pub struct $name {
                $($(#[$field_doc])* pub $field: $type,)*
            }

            impl From<$name> for Payload {
                fn from(payload: $name) -> Self {
                    Self::$name(Box::new(payload))
                }
            }
        )+

        named! {
            /// The kind of an event.
            Kind, "kind of event", "those of the record's page in docs":
            $($(#[$doc])* $name = $kind,)+
        }

        /// What happened.
        #[derive(Clone, Debug, PartialEq, Eq)]
        pub enum Payload {
            $($(#[$doc])* $name(Box<$name>),)+
        }

        impl Payload {
            /// Its kind.
            #[must_use]
            pub const fn kind(&self) -> Kind {
                match self {
                    $(Self::$name(_) => Kind::$name,)+
                }
            }

            /// What it is about.
            #[must_use]
            pub fn subject(&self) -> Subject {
                match self {
                    $(Self::$name(payload) => payloads!(@$subject payload),)+
                }
            }

            /// Its fields.
            #[must_use]
            pub fn to_value(&self) -> Value {
                let mut out = Writing::default();
                self.write(&mut out, "payload");
                // A number that is too large for an event is one here all the same.
                serde_json::from_str(out.text()).expect("what is written is JSON")
            }

            /// Reads the fields of a kind.
            ///
            /// # Errors
            /// What is wrong with the fields.
            pub fn from_value(kind: Kind, value: &Value) -> Result<Self, WrongField> {
                Self::read(kind, Some(Json::of(&value.to_string())))
            }

            /// As [`Self::from_value`].
            pub(super) fn read(kind: Kind, value: Option<Json<'_>>) -> Result<Self, WrongField> {
                let mut fields = Fields::of(value)?;
                let payload = match kind {
                    $(Kind::$name => $name { $($field: fields.take(stringify!($field))?,)* }.into(),)+
                };
                fields.end().map(|()| payload)
            }
        }

        impl Write for Payload {
            fn write(&self, out: &mut Writing, _at: &str) {
                match self {
                    $(Self::$name(payload) => out.object(&mut [$((stringify!($field), &payload.$field),)*]),)+
                }
            }
        }
    };
    (@machine $payload:ident) => { Subject::Machine($payload.machine.clone()) };
    (@either $payload:ident) => {
        $payload.machine.clone().map_or(Subject::Yard, Subject::Machine)
    };
    (@yard $payload:ident) => {{ let _ = $payload; Subject::Yard }};
}
