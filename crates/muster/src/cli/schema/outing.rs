//! What a sheet states for outings, for editors: the table `[outing]`, as its reader takes it.

use muster_core::outing::stated::Of;
use serde_json::{Value, json};

use super::{figure, number, object, one_of, rows, text};

/// The table.
pub(super) fn table() -> Value {
    object(
        &["wheelbase", "mass", "front_share", "centre_height", "rider"],
        json!({
            "page": text("Page: p. 134"), "wheelbase": figure(), "mass": figure(), "front_share": figure(),
            "centre_height": figure(), "gross": figure(), "front_axle": figure(), "rear_axle": figure(),
            "rider": place(), "passenger": place(), "luggage": rows(luggage()), "front": wheel(), "rear": wheel(),
            "pressures": rows(object(&["up_to", "front", "rear"],
                json!({ "up_to": figure(), "front": figure(), "rear": figure() }))),
            "seat": object(&["height", "width"], json!({ "height": figure(), "width": figure() })),
            "lamp": object(&["ahead", "height", "per_turn_percent"], json!({
                "ahead": figure(), "height": figure(), "per_turn_percent": positive(), "aimed_with": figure() })),
            "energy": energy(), "pads_mm_per_1000km": positive(),
        }),
    )
}

fn place() -> Value {
    object(&["ahead", "height"], json!({ "ahead": figure(), "height": figure() }))
}

fn luggage() -> Value {
    object(
        &["place", "ahead", "height"],
        json!({
            "place": text("One of the equipment's luggage, or a bag that needs no mount"), "ahead": figure(),
            "height": figure(), "at_most": figure(), "empty": figure(), "mounted": { "type": "boolean" },
        }),
    )
}

fn wheel() -> Value {
    object(&[], json!({ "tyre": tyre(), "springs": springs() }))
}

fn tyre() -> Value {
    let load = object(&["at", "carries"], json!({ "at": figure(), "carries": figure() }));
    object(&["marking"], json!({ "marking": text("As on its wall: 120/70 R 17 58V"), "loads": rows(load) }))
}

fn springs() -> Value {
    let range = || json!({ "type": "array", "items": figure(), "minItems": 2, "maxItems": 2 });
    let click = || json!({ "type": "integer", "minimum": 0, "maximum": 255 });
    let mut springs = object(
        &["rate_n_per_mm", "unsprung", "travel", "preload", "sag"],
        json!({
            "rate_n_per_mm": positive(), "then_n_per_mm": positive(), "then_from": figure(), "motion": positive(),
            "motion_per_m": { "type": "number" }, "air_bore": figure(), "air_gap": figure(), "unsprung": figure(),
            "travel": figure(), "preload": figure(), "per_click": figure(), "clicks": click(), "standard": click(),
            "sag": range(), "free": range(),
        }),
    );
    // One without the other says nothing.
    springs["dependentRequired"] = json!({
        "then_n_per_mm": ["then_from"], "then_from": ["then_n_per_mm"], "air_bore": ["air_gap"], "air_gap": ["air_bore"],
    });
    springs
}

fn energy() -> Value {
    let used = object(&["at", "per_100km"], json!({ "at": figure(), "per_100km": positive() }));
    let mut used = rows(used);
    used["minItems"] = json!(1);
    object(
        &["of", "holds", "reserve", "used"],
        json!({
            "of": one_of(Of::ALL.iter().map(|it| it.as_str())), "holds": positive(), "reserve": number(), "used": used,
        }),
    )
}

fn positive() -> Value {
    json!({ "type": "number", "exclusiveMinimum": 0 })
}
