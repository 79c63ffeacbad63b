//! A fixed list of names as a type: the words of data files, forms and the wire.

/// A name that is not one of a fixed list.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("unknown {what}, allowed are: {allowed}")]
pub struct UnknownName {
    /// What was looked for.
    pub what: &'static str,
    /// The names there are, separated by commas.
    pub allowed: &'static str,
}

macro_rules! named {
    ($(#[$doc:meta])* $type:ident, $what:literal, $allowed:literal:
     $($(#[$variant_doc:meta])* $variant:ident = $name:literal),+ $(,)?) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
        pub enum $type {
            $($(#[$variant_doc])* #[serde(rename = $name)] $variant),+
        }

        impl $type {
            /// All of them, in order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// Returns the name used in data and on the wire.
            #[must_use]
            pub const fn as_str(self) -> &'static str {
                match self {
                    $(Self::$variant => $name),+
                }
            }
        }

        impl core::str::FromStr for $type {
            type Err = $crate::named::UnknownName;

            fn from_str(name: &str) -> Result<Self, $crate::named::UnknownName> {
                match name {
                    $($name => Ok(Self::$variant),)+
                    _ => Err($crate::named::UnknownName { what: $what, allowed: $allowed }),
                }
            }
        }

        // By its words, so that a wrong one is refused with those allowed, and in less code than a derived one.
        impl<'de> serde::Deserialize<'de> for $type {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let name = alloc::string::String::deserialize(deserializer)?;
                name.parse().map_err(serde::de::Error::custom)
            }
        }

        impl core::fmt::Display for $type {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                f.pad(self.as_str())
            }
        }
    };
}
pub(crate) use named;
