//! Then: how luggage left on the machine changes its lean on the side stand, and what the oil shows there.

use alloc::format;

use super::item::{Item, Part};
use super::say::number;
use super::settings::preload;
use super::work::{End, Work};
use crate::formula::{oil, spring};
use crate::judge::Verdict;
use crate::quantity::{Length, Mass};

const ID: &str = "stand";
const NAME: &str = "Side stand";

/// The item; none where the sheet says nothing of the stand.
pub(super) fn item(work: &Work<'_>) -> Option<Item> {
    let sump = work.case.context.sheet.sump?;
    let Some(squat) = squat(work) else {
        let missing = "how far luggage presses the springs is not known: look at the lean once it is loaded";
        return Some(Item::unseen(Part::Ride, ID, NAME, missing));
    };
    let change = work.case.context.machine.ride_height_mm().unwrap_or(0.0) - squat;
    let case = oil::LeanCase {
        sheet_lean: sump.lean,
        ride_height_change: Length::from_mm(change).ok()?,
        foot_offset: sump.foot_offset,
        stick_offset: sump.dipstick_offset,
    };
    let say = work.say;
    match oil::lean_after(&case) {
        Ok(lean) => {
            let shift = sump.dipstick_offset.mm() * change / sump.foot_offset.mm();
            let share = 100.0 * shift / sump.marks.mm();
            let says = format!(
                "loaded and left it stands {} lower and leans {}°, {}° bare; the oil shows {} % of the marks off",
                say.mm(-change),
                number(lean.degrees(), 1),
                number(sump.lean.degrees(), 1),
                number(share, 0)
            );
            let item = Item::new(Part::Ride, ID, NAME, says)
                .from(work.source())
                .work(format!("tan φ₁ = tan φ₀ + Δh/b, Δh = {}, b = {}", say.mm(change), say.mm(sump.foot_offset.mm())))
                .work(format!("stick moves by e Δh/b = {}", say.mm_finely(shift)));
            Some(if share.abs() >= 5.0 {
                item.next("Read the oil with the luggage off, or as the sheet has it")
            } else {
                item
            })
        }
        Err(refusal) => {
            let says = format!("loaded it would not stand safely: {refusal}");
            Some(
                Item::new(Part::Ride, ID, NAME, says)
                    .verdict(Verdict::Watch)
                    .next("Do not leave it loaded on its side stand"),
            )
        }
    }
}

/// How far luggage alone lowers the middle of the machine with nobody on it, mm.
fn squat(work: &Work<'_>) -> Option<f64> {
    let is_load = |name: &str| !matches!(name, "rider" | "passenger");
    let mut aboard = work.aboard.clone();
    aboard.things.retain(|thing| is_load(&thing.name));
    let loaded = aboard.loaded(work.stated.wheelbase).ok()?;
    let sag = |end: End, load: Mass| {
        let of = end.wheel(work.stated).suspension.as_ref()?;
        let spring = work.settings.of_end(end)?.as_ref().ok()?;
        let preload = preload(of, spring.to).ok()?;
        Some(spring::sag(&of.springs, preload, load).ok()?.mm() - spring.free.mm())
    };
    Some((sag(End::Front, loaded.front)? + sag(End::Rear, loaded.rear)?) / 2.0)
}
