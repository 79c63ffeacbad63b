//! A request's body: one JSON object, by its names.

use std::{fmt, marker::PhantomData};

use axum::{
    Json,
    extract::{FromRequest, Request, rejection::JsonRejection},
};
use serde::{
    Deserialize, Deserializer,
    de::{DeserializeOwned, MapAccess, Visitor, value::MapAccessDeserializer},
};

/// What a JSON object says. A list in its place is refused: it would be read by the order of the fields, and an empty one
/// as an object that leaves all out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Object<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Object<T> {
    type Rejection = JsonRejection;

    async fn from_request(request: Request, state: &S) -> Result<Self, JsonRejection> {
        Json::<Named<T>>::from_request(request, state).await.map(|Json(Named(of))| Self(of))
    }
}

struct Named<T>(T);

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Named<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(ByName(PhantomData)).map(Self)
    }
}

struct ByName<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for ByName<T> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object in braces")
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<T, A::Error> {
        T::deserialize(MapAccessDeserializer::new(map))
    }
}
