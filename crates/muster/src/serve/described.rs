//! What the description of the doors says beyond what their handlers do: how problems are sent, and what ids look like.

use muster_core::{
    record::payload::Document,
    state::{Heat, Power, Stance},
    words::{Depth, Use},
};
use serde_json::{Value, json};
use utoipa::openapi::OpenApi;

use crate::list::List;

/// The description as JSON; empty if it cannot be written, which does not happen.
pub(super) fn text(api: &OpenApi) -> String {
    let Ok(mut described) = serde_json::to_value(api) else { return String::new() };
    let paths = described.get_mut("paths").and_then(Value::as_object_mut);
    for operation in paths.into_iter().flat_map(|paths| paths.values_mut()).filter_map(Value::as_object_mut) {
        operation.values_mut().for_each(operation_described);
    }
    described.to_string()
}

fn operation_described(operation: &mut Value) {
    let responses = operation.get_mut("responses").and_then(Value::as_object_mut);
    for (status, response) in responses.into_iter().flatten() {
        let content = response.get_mut("content").and_then(Value::as_object_mut);
        if let Some(content) = content.filter(|_| status.starts_with(['4', '5']))
            && let Some(problem) = content.remove("application/json")
        {
            content.insert("application/problem+json".into(), problem);
        }
    }
    let parameters = operation.get_mut("parameters").and_then(Value::as_array_mut);
    for parameter in parameters.into_iter().flatten() {
        let name = parameter.get("name").and_then(Value::as_str).unwrap_or_default();
        let Some((key, value)) = looks_like(name) else { continue };
        if let Some(schema) = parameter.get_mut("schema").and_then(Value::as_object_mut) {
            schema.insert(key.into(), value);
            // One that is left out is left out: none stands in a path or a query.
            schema.insert("type".into(), json!("string"));
        }
    }
}

/// What a parameter of a name looks like: a key of its schema, and the value.
fn looks_like(name: &str) -> Option<(&'static str, Value)> {
    fn words<T: Copy>(all: &[T], name: impl Fn(T) -> &'static str) -> Value {
        all.iter().map(|one| name(*one)).collect()
    }
    Some(match name {
        "device" | "calendar" => ("pattern", json!("^[0-9a-f]{16}$")),
        "photo" | "original" | "sha256" | "hash" => ("pattern", json!("^[0-9a-f]{64}$")),
        "person" => ("pattern", json!("^[a-z0-9-]{1,32}$")),
        "on" | "back" => ("format", json!("date-time")),
        "document" => ("enum", words(Document::ALL, Document::as_str)),
        "list" => ("enum", List::ALL.iter().map(|list| list.as_str()).collect()),
        "format" => ("enum", json!(["csv", "json"])),
        "decimal" => ("enum", json!(["point", "comma"])),
        "file" => ("pattern", json!("^[0-9a-f]{32}[.]ics$")),
        "why" => ("pattern", json!("\\S")),
        "use" => ("enum", words(Use::ALL, Use::as_str)),
        "depth" => ("enum", words(Depth::ALL, Depth::as_str)),
        "heat" => ("enum", words(Heat::ALL, Heat::as_str)),
        "power" => ("enum", words(Power::ALL, Power::as_str)),
        "stance" => ("enum", words(Stance::ALL, Stance::as_str)),
        _ => return None,
    })
}
