//! `muster data --schema`: the schema of a data file, for editors that complete and check while one types.
//!
//! The words in it are the core's own lists, so what an editor offers is what the program reads.

mod outing;

use clap::ValueEnum;
use muster_core::{
    catalogue::Catalogue,
    quantity::Kind,
    state::{Heat, Power, Stance, Station},
    words::{Class, Ending, InstrumentKind, Known, Service, Use},
};
use serde_json::{Map, Value, json};

/// A kind of data file that has a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum SchemaOf {
    /// Checks of the catalogue
    Checks,
    /// A law pack
    Law,
    /// A model's sheet
    Sheet,
    /// One machine
    Machine,
    /// A yard: name, zone, units, instruments
    Yard,
    /// House rules
    House,
}

/// The JSON Schema (draft 2020-12) of a kind of file, by the checks and the equipment of a catalogue.
pub(crate) fn schema(of: SchemaOf, catalogue: &Catalogue) -> Value {
    let words = Words { catalogue };
    let (title, required, properties) = match of {
        SchemaOf::Checks => (
            "Checks of the catalogue",
            &[][..],
            json!({ "check": rows(words.check()), "limit": rows(words.limit(&["source", "known"])) }),
        ),
        SchemaOf::Law => (
            "A law pack",
            &["schema", "pack", "title", "as_of"][..],
            json!({
                "schema": version(), "pack": text("Its name: GB"), "title": text("Title for people"),
                "as_of": text("The state of the law it is written from"),
                "limit": rows(words.limit(&["source", "clause", "known"])), "class": rows(words.class()),
            }),
        ),
        SchemaOf::Sheet => (
            "A model's sheet",
            &["schema", "sheet", "model", "handbook"][..],
            json!({
                "schema": version(), "sheet": text("What a machine's file names"), "model": text("Its name"),
                "handbook": object(&["title", "known"], json!({
                    "title": text("Title"), "edition": text("Edition"), "known": known() })),
                "category": text("From the papers: L3e-A1"), "displacement_cc": number(), "power_kw": number(),
                "equipment": words.equipment(), "sump": { "type": "object" }, "outing": outing::table(),
                "limit": rows(words.limit(&["page"])), "procedure": rows(words.procedure()),
            }),
        ),
        SchemaOf::Machine => (
            "One machine",
            &["schema", "machine", "sheet", "service"][..],
            json!({
                "schema": version(), "machine": text("Fleet number"), "sheet": text("Its model's sheet"),
                "service": one_of(Service::ALL.iter().map(|it| it.as_str())), "vin": text("As it is stamped"),
                "plate": text("As it is read"), "first_use": day(), "row": { "type": "integer", "minimum": 0 },
                "equipment": words.equipment(), "modification": rows(words.modification()),
                "limit": rows(words.limit(&["known"])), "condition": rows(words.condition()),
            }),
        ),
        SchemaOf::Yard => ("A yard", &["schema", "name", "time_zone", "units"][..], words.yard()),
        SchemaOf::House => ("House rules", &["schema"][..], words.house()),
    };
    let mut schema = object(required, properties);
    schema["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    schema["title"] = json!(title);
    schema
}

/// The catalogue's words.
struct Words<'c> {
    catalogue: &'c Catalogue,
}

impl Words<'_> {
    fn check(&self) -> Value {
        let look = object(
            &["sound", "doubtful", "defective"],
            json!({ "sound": text("As it should be"), "doubtful": text("Not sure"), "defective": text("Not as it should be"),
                    "places": texts() }),
        );
        let mut check = object(
            &["id", "name", "station", "method", "seconds", "class", "uses", "life"],
            json!({
                "id": { "type": "string", "pattern": "^[a-z0-9-]+(\\.[a-z0-9-]+)*$" }, "name": text("Name"),
                "station": one_of(Station::ALL.iter().map(|it| it.as_str())),
                "method": { "type": "array", "items": { "type": "string" }, "minItems": 1, "maxItems": 3 },
                "differs": rows(self.differing()),
                "caution": text("What can hurt someone here"), "practice": text("Common practice, shown as such"),
                "seconds": { "type": "integer", "minimum": 1 }, "class": class(), "item": text("Item of the model classes"),
                "uses": uses(), "applies": self.equipment(), "requires": self.equipment(), "needs": needs(),
                "life": { "anyOf": [text("30 days or 1000 km"), { "type": "object" }] },
                "ends_with": several(Ending::ALL.iter().map(|it| it.as_str())), "evening": { "type": "boolean" },
                "look": look, "read": read(), "date": object(&["what"], json!({
                    "what": one_of(["expires", "made"].into_iter()), "code": one_of(["tyre"].into_iter()) })),
            }),
        );
        check["oneOf"] = json!(["look", "read", "date"].map(|yields| json!({ "required": [yields] })));
        check
    }

    fn differing(&self) -> Value {
        let look = json!({ "sound": text("As it should be"), "doubtful": text("Not sure"), "defective": text("Not as it should be") });
        object(
            &["on"],
            json!({
                "on": self.equipment(), "name": text("Name"),
                "station": one_of(Station::ALL.iter().map(|it| it.as_str())), "method": texts(), "needs": needs(),
                "caution": text("What can hurt someone here"), "practice": text("Common practice, shown as such"),
                "look": object(&[], look),
            }),
        )
    }

    fn limit(&self, required: &[&str]) -> Value {
        let required: Vec<&str> = ["check"].into_iter().chain(required.iter().copied()).collect();
        let only = object(
            &[],
            json!({
                "displacement_over_cc": number(), "displacement_to_cc": number(), "power_over_kw": number(),
                "power_to_kw": number(), "first_use_from": day(), "category": texts(), "equipment": self.equipment(),
            }),
        );
        object(
            &required,
            json!({
                "check": self.checks(), "at_least": figure(), "at_most": figure(), "target": figure(), "new": figure(),
                "within": { "type": "array", "items": figure(), "minItems": 2, "maxItems": 2 }, "uses": uses(),
                "class": class(), "where": only, "places": texts(), "at": figure(), "source": text("Key of sources.toml"),
                "clause": text("Clause"), "page": text("Page: p. 41"), "known": known(),
                "layer": one_of(["marking", "machine"].into_iter()), "says": text("Condition of a watch"),
                "approval": object(&["by", "on"], json!({ "by": text("Who"), "on": day(), "document": text("Which") })),
                "note": text("Note"),
            }),
        )
    }

    fn class(&self) -> Value {
        let Value::Object(mut row) = self.limit(&["key", "class", "when", "source", "clause", "known"]) else {
            return json!({});
        };
        if let Some(properties) = row.get_mut("properties").and_then(Value::as_object_mut) {
            properties
                .retain(|key, _| ["check", "class", "uses", "where", "source", "clause", "known"].contains(&&**key));
            properties.insert("key".into(), text("What a finding names it by, once in the pack"));
            properties.insert("when".into(), text("The defect, in words"));
        }
        Value::Object(row)
    }

    fn yard(&self) -> Value {
        json!({
            "schema": version(), "name": text("Its name"), "time_zone": text("IANA name: Europe/London"),
            "units": one_of(["si", "us"].into_iter()), "decimal": one_of(["point", "comma"].into_iter()),
            "law": one_of(self.catalogue.laws.keys().map(String::as_str)), "on": day(), "mark": text("The school's mark"),
            "instrument": rows(instrument()),
        })
    }

    fn house(&self) -> Value {
        json!({
            "schema": version(), "limit": rows(self.limit(&["clause", "known"])), "condition": rows(self.condition()),
            "retention": object(&[], json!({ "names": text("3 years"), "photos": text("2 years") })),
        })
    }

    fn procedure(&self) -> Value {
        object(
            &["check"],
            json!({ "check": self.checks(), "needs": needs(), "method": texts(), "caution": text("What can hurt someone on this model, beyond the check's own"), "page": text("Page") }),
        )
    }

    fn condition(&self) -> Value {
        object(
            &["check", "says"],
            json!({ "check": self.checks(), "says": text("What it may go out on"), "uses": uses() }),
        )
    }

    fn modification(&self) -> Value {
        object(
            &["what"],
            json!({ "what": text("What"), "ride_height": figure(), "by": text("Who"), "on": day(), "note": text("Note") }),
        )
    }

    fn checks(&self) -> Value {
        let one = one_of(self.catalogue.checks.iter().map(|check| check.id.as_str()));
        json!({ "anyOf": [one.clone(), { "type": "array", "items": one, "minItems": 1 }] })
    }

    fn equipment(&self) -> Value {
        let key = |key: &muster_core::equipment::EquipmentKey| {
            let one = one_of(key.values.iter().map(String::as_str));
            (
                key.key.clone(),
                json!({ "anyOf": [one.clone(), { "type": "array", "items": one }], "description": key.name }),
            )
        };
        let properties: Map<String, Value> = self.catalogue.equipment.iter().map(key).collect();
        object(&[], Value::Object(properties))
    }
}

fn read() -> Value {
    object(
        &["kind", "si", "us", "decimals", "range", "instruments"],
        json!({
            "kind": one_of(Kind::ALL.iter().map(|kind| kind.name())), "si": text("Unit"), "us": text("Unit"),
            "decimals": object(&["si", "us"], json!({ "si": { "type": "integer" }, "us": { "type": "integer" } })),
            "range": { "type": "array", "items": figure(), "minItems": 2, "maxItems": 2 }, "places": texts(),
            "across": figure(), "instruments": several(InstrumentKind::ALL.iter().map(|it| it.as_str())),
            "repeatability": object(&["deviation", "degrees", "source", "known"], json!({
                "deviation": figure(), "degrees": number(), "source": text("Key of sources.toml"), "known": known() })),
            "correction": one_of(["tyre-gas", "oil-lean"].into_iter()),
            "settable": object(&["act", "far_off", "why"], json!({
                "act": text("The act in a word: pumped"), "far_off": figure(), "why": text("What to look for then") })),
        }),
    )
}

fn instrument() -> Value {
    let mut instrument = object(
        &["id", "name", "kind", "reads", "resolution"],
        json!({
            "id": text("Its number"), "name": text("Name"), "kind": one_of(InstrumentKind::ALL.iter().map(|it| it.as_str())),
            "reads": one_of(Kind::ALL.iter().map(|kind| kind.name())), "resolution": figure(), "accuracy": figure(),
            "accuracy_k2": figure(), "compared": day(), "found_bad": day(),
        }),
    );
    instrument["oneOf"] = json!([{ "required": ["accuracy"] }, { "required": ["accuracy_k2"] }]);
    instrument
}

fn needs() -> Value {
    object(
        &[],
        json!({
            "heat": several(Heat::ALL.iter().map(|it| it.as_str())), "power": several(Power::ALL.iter().map(|it| it.as_str())),
            "stance": several(Stance::ALL.iter().map(|it| it.as_str())),
        }),
    )
}

fn object(required: &[&str], properties: impl Into<Value>) -> Value {
    json!({ "type": "object", "required": required, "properties": properties.into(), "additionalProperties": false })
}

fn rows(of: impl Into<Value>) -> Value {
    json!({ "type": "array", "items": of.into() })
}

fn text(what: &str) -> Value {
    json!({ "type": "string", "description": what })
}

fn texts() -> Value {
    json!({ "type": "array", "items": { "type": "string" } })
}

fn number() -> Value {
    json!({ "type": "number", "minimum": 0 })
}

fn version() -> Value {
    json!({ "const": 1 })
}

/// A day or a moment: TOML has its own form for them, which editors show as text.
fn day() -> Value {
    json!({ "description": "2026-11-24, or with a time and its offset" })
}

fn figure() -> Value {
    json!({ "type": "string", "pattern": "^[-−+]?[0-9]", "description": "With its unit, as people write it: 2.2 bar, 5/32 in" })
}

fn one_of<'w>(words: impl Iterator<Item = &'w str>) -> Value {
    json!({ "enum": words.collect::<Vec<_>>() })
}

fn several<'w>(words: impl Iterator<Item = &'w str>) -> Value {
    json!({ "type": "array", "items": one_of(words) })
}

fn class() -> Value {
    one_of(Class::ALL.iter().map(|it| it.as_str()))
}

fn known() -> Value {
    one_of(Known::ALL.iter().map(|it| it.as_str()))
}

fn uses() -> Value {
    several(Use::ALL.iter().map(|it| it.as_str()))
}
