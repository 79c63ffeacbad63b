//! What every part of an outing is worked out from, gathered once.

use alloc::{format, string::String, vec::Vec};
use core::fmt;

use super::Case;
use super::aboard::{Aboard, in_band};
use super::input::Outing;
use super::pressure::Set;
use super::say::Say;
use super::settings::Settings;
use super::stated::{Stated, Wheel};
use crate::formula::axle_load::Loaded;
use crate::quantity::{GaugePressure, Mass};
use crate::statistics::uncertainty::StandardUncertainty;

/// One end of a machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum End {
    Front,
    Rear,
}

/// What every part is worked out from.
pub(super) struct Work<'c> {
    pub(super) case: &'c Case<'c>,
    pub(super) outing: &'c Outing,
    pub(super) stated: &'c Stated,
    pub(super) say: Say,
    pub(super) aboard: Aboard,
    /// With all that is aboard, as told: what limits and pressures are held against.
    pub(super) all: Loaded,
    /// The same with people in their bands: what springs, lamp, braking and range are worked out for.
    pub(super) banded: Loaded,
    /// With its rider alone, in the band.
    pub(super) alone: Loaded,
    /// With nobody.
    pub(super) bare: Loaded,
    /// Standard uncertainties of front, rear and whole with all aboard, kg.
    pub(super) u: [StandardUncertainty; 3],
    /// Pressures to set.
    pub(super) set: Set,
    /// Springs as they are to be set.
    pub(super) settings: Settings,
}

impl<'c> Work<'c> {
    /// Gathers it.
    ///
    /// # Errors
    /// What was not told or does not hang together, in words.
    pub(super) fn of(case: &'c Case<'c>, stated: &'c Stated, outing: &'c Outing) -> Result<Self, String> {
        let say = Say(case.context.units);
        let aboard = Aboard::of(stated, &case.context.machine.traits.equipment, outing, say)?;
        let told = |refusal| format!("the loads cannot be worked out: {refusal}");
        let base = stated.wheelbase;
        let rider = outing.rider.mass.ok_or("the rider's mass in kit is not known: say it")?.get();
        let in_bands = |aboard: Aboard| aboard.in_bands()?.loaded(base);
        let alone = Aboard::with_rider(stated, rider).and_then(in_bands).map_err(told)?;
        let bare = Aboard::machine(stated).and_then(|aboard| aboard.loaded(base)).map_err(told)?;
        let all = aboard.loaded(base).map_err(told)?;
        let banded = in_bands(aboard.clone()).map_err(told)?;
        let u = aboard.u(base).map_err(told)?;
        let set = Set::of(case, stated, outing, &aboard);
        let settings = Settings::of(stated, outing, (&banded, &bare));
        Ok(Self { case, outing, stated, say, aboard, all, banded, alone, bare, u, set, settings })
    }

    /// Who counts as what, in the working.
    pub(super) fn people(&self) -> String {
        let people = self.aboard.things.iter().filter(|thing| matches!(thing.name.as_str(), "rider" | "passenger"));
        let each = people.filter_map(|thing| {
            let counts = in_band(thing.piece.mass).ok()?;
            Some(format!("{} as {}", thing.name, self.say.kg_finely(counts.kg())))
        });
        format!("people in steps of {}: {}", self.say.step_of_people(), each.collect::<Vec<_>>().join(", "))
    }

    /// The sheet's page.
    pub(super) fn source(&self) -> Option<String> {
        Some(match &self.stated.page {
            Some(page) => format!("{}, {page}", self.case.context.sheet.handbook),
            None => self.case.context.sheet.handbook.clone(),
        })
    }
}

impl End {
    pub(super) const BOTH: [Self; 2] = [Self::Front, Self::Rear];

    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Rear => "rear",
        }
    }

    pub(super) const fn title(self) -> &'static str {
        match self {
            Self::Front => "Front",
            Self::Rear => "Rear",
        }
    }

    pub(super) const fn carries(self, of: &Loaded) -> Mass {
        match self {
            Self::Front => of.front,
            Self::Rear => of.rear,
        }
    }

    pub(super) fn u(self, work: &Work<'_>) -> StandardUncertainty {
        let [front, rear, _] = work.u;
        match self {
            Self::Front => front,
            Self::Rear => rear,
        }
    }

    pub(super) const fn limit(self, stated: &Stated) -> Option<Mass> {
        match self {
            Self::Front => stated.front_axle,
            Self::Rear => stated.rear_axle,
        }
    }

    pub(super) const fn wheel(self, stated: &Stated) -> &Wheel {
        match self {
            Self::Front => &stated.front,
            Self::Rear => &stated.rear,
        }
    }

    /// The cold pressure to set.
    pub(super) fn set(self, work: &Work<'_>) -> Option<GaugePressure> {
        work.set.of_end(self)
    }
}

impl fmt::Display for End {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
