//! What a record keeps of an outing does not tell what its rider weighs.

use muster_core::{
    outing::{Asked, Kept, Part},
    quantity::text::DecimalSign,
};

use super::{Demo, yard};

/// One machine of each kind that has an outing, in the demonstration's yards.
pub(super) const KINDS: [(&str, &[&str]); 2] =
    [("harrow-lane", &["H-02", "H-10", "H-16", "H-21", "H-24"]), ("north-barn", &["N-02", "N-03"])];

/// Masses in kit that are tried, in half kilograms: light and heavy grown-ups.
const LIGHT: u32 = 2 * 50;
const HEAVY: u32 = 2 * 125;
/// Riders no lighter than this may meet a limit of a small machine.
const SPLIT: u32 = 2 * 100;

fn kept(demo: &Demo, machine: &str, half_kg: u32, more: &Asked) -> String {
    let asked = Asked { rider: Some(format!("{} kg", f64::from(half_kg) / 2.0)), ..more.clone() };
    let outing = asked.read(demo.now(), DecimalSign::Point);
    let assessed = demo.of(machine, &outing);
    Kept::of(&[assessed], &outing).expect("there is one").to_json().expect("it is written")
}

fn solo() -> Asked {
    let text = |text: &str| Some(text.to_string());
    Asked { distance: text("60 km"), speed: text("90 km/h"), back: text("17:30"), ..Asked::default() }
}

/// What decides loads, which are held against their limits as they are told: verdicts and pressures, no figures.
fn of_loads(json: &str) -> String {
    let kept = Kept::read(json).expect("it was kept");
    let of = kept.outings.first().expect("there is one");
    let items: Vec<_> = of.items.iter().filter(|item| item.part == Part::Loads).collect();
    let pressures: Vec<_> = of.settings.iter().map(|set| set.pressure_kpa).collect();
    format!("{items:?} {pressures:?}")
}

/// Two riders of one band leave the same bytes, whatever else is known of the outing.
#[test]
fn what_is_kept_tells_a_riders_mass_to_5_kg_and_no_better() {
    for (folder, machines) in KINDS {
        let demo = yard(folder);
        for machine in machines {
            for more in [solo(), Asked { luggage: vec!["tank bag=2 kg".into()], rain: true, ..solo() }] {
                for band in (LIGHT..HEAVY).step_by(10) {
                    // From just above the last 5 kg to the next.
                    let first = kept(&demo, machine, band + 1, &more);
                    for half in [band + 3, band + 6, band + 8, band + 10] {
                        let now = kept(&demo, machine, half, &more);
                        // Only a limit or a row of the handbook's pressures that lies within may tell more.
                        let is_split = of_loads(&now) != of_loads(&first);
                        assert!(!is_split || half > SPLIT || !more.luggage.is_empty(), "{machine}: {half}");
                        assert!(is_split || now == first, "{machine} {half}:\n{first}\n{now}");
                    }
                }
            }
        }
    }
}

/// The other way round: with the sheet at hand, what was kept before gave the mass away. Nothing kept now is a load.
#[test]
fn no_figure_of_a_load_a_margin_or_a_sag_is_kept() {
    let demo = yard("harrow-lane");
    let json = kept(&demo, "H-24", 164, &solo());
    let value: serde_json::Value = serde_json::from_str(&json).expect("it is JSON");
    let mut figures = Vec::new();
    numbers(&value, &mut figures);
    // Clicks and pressure of each wheel, the version, the way told; sorted by their names.
    assert_eq!(figures, [5.0, 5.0, 235.0, 4.0, 4.0, 260.0, 2.0, 60.0], "{json}");
}

fn numbers(value: &serde_json::Value, out: &mut Vec<f64>) {
    match value {
        serde_json::Value::Number(of) => out.extend(of.as_f64()),
        serde_json::Value::Array(all) => all.iter().for_each(|of| numbers(of, out)),
        serde_json::Value::Object(all) => all.values().for_each(|of| numbers(of, out)),
        _ => {}
    }
}
