//! What a record keeps of an outing does not tell what its rider weighs.

use muster_core::{
    outing::{Asked, Kept},
    quantity::text::DecimalSign,
};

use super::{Demo, yard};

/// One machine of each kind that has an outing, in the demonstration's yards.
pub(super) const KINDS: [(&str, &[&str]); 2] =
    [("harrow-lane", &["H-02", "H-10", "H-16", "H-21", "H-24"]), ("north-barn", &["N-02", "N-03"])];

/// Masses in kit that are tried, in half kilograms: light and heavy grown-ups.
const LIGHT: u32 = 2 * 50;
const HEAVY: u32 = 2 * 130;

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

#[test]
fn print() {
    for (folder, machines) in KINDS {
        let demo = yard(folder);
        for machine in machines {
            let (mut from, mut last) = (LIGHT, String::new());
            for half in LIGHT..=HEAVY {
                let now = kept(&demo, machine, half, &solo());
                if now != last {
                    if !last.is_empty() {
                        println!("{machine} {} to {}: {}", f64::from(from) / 2.0, f64::from(half) / 2.0, f64::from(half - from) / 2.0);
                    }
                    from = half;
                    last = now;
                }
            }
            println!("{machine} {} to end", f64::from(from) / 2.0);
        }
    }
}
