//! What rests on the wheels: machine, rider, passenger, luggage, each at its place.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::input::{Luggage, Outing};
use super::item::{Item, Part};
use super::range::LuggageMass;
use super::say::Say;
use super::stated::{LuggagePlace, Place, Stated};
use crate::equipment::Equipment;
use crate::formula::{
    Refusal,
    axle_load::{Loaded, Piece, PieceU, axles_u, loaded},
};
use crate::judge::Verdict;
use crate::quantity::{Length, Mass};
use crate::sorted::sort_by;
use crate::statistics::uncertainty::StandardUncertainty;
use crate::words::Class;

/// Standard uncertainties taken: of people 1 kg and 30 mm along the machine, of luggage 0.5 kg and 50 mm, of the machine
/// 1 % of its mass and 5 mm. Estimates; they decide only what is too near to call.
const PERSON_U: (f64, f64) = (1.0, 30.0);
const LUGGAGE_U: (f64, f64) = (0.5, 50.0);
const MACHINE_U: (f64, f64) = (0.01, 5.0);

/// People count in bands of 5 kg for springs, lamp, braking and range: what these ask for is kept in records, and a finer
/// figure would tell what a person weighs. Kit of the day differs by as much.
const BAND_KG: f64 = 5.0;

/// A person's mass as the middle of its band: above 80 to 85 kg as 82.5 kg.
///
/// # Errors
/// None can occur: the middle is a mass.
pub(super) fn in_band(mass: Mass) -> Result<Mass, Refusal> {
    Ok(Mass::from_kg(BAND_KG * (libm::ceil(mass.kg() / BAND_KG) - 0.5))?)
}

/// One thing aboard, by name.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Thing {
    pub(super) name: String,
    pub(super) piece: Piece,
    u: (f64, f64),
}

/// Everything aboard.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Aboard {
    pub(super) things: Vec<Thing>,
    /// What was asked for and finds no place: holds.
    pub(super) items: Vec<Item>,
}

impl Aboard {
    /// The machine alone.
    ///
    /// # Errors
    /// A sheet whose figures are no place on a machine.
    pub(super) fn machine(stated: &Stated) -> Result<Self, Refusal> {
        let ahead = Length::from_mm(stated.front_share.one() * stated.wheelbase.mm())?;
        let piece = Piece { mass: stated.mass, ahead, height: stated.centre_height };
        let u = (MACHINE_U.0 * stated.mass.kg(), MACHINE_U.1);
        Ok(Self { things: Vec::from([Thing { name: "machine".into(), piece, u }]), items: Vec::new() })
    }

    /// The machine with one rider.
    ///
    /// # Errors
    /// As for [`Self::machine`].
    pub(super) fn with_rider(stated: &Stated, mass: Mass) -> Result<Self, Refusal> {
        let mut aboard = Self::machine(stated)?;
        aboard.put("rider", mass, stated.rider, PERSON_U);
        Ok(aboard)
    }

    /// The machine with all an outing asks for.
    ///
    /// # Errors
    /// What was not told, in words.
    pub(super) fn of(stated: &Stated, has: &Equipment, outing: &Outing, say: Say) -> Result<Self, String> {
        let rider = outing.rider.mass.ok_or("the rider's mass in kit is not known: say it")?;
        let mut aboard = Self::with_rider(stated, rider.get()).map_err(|refusal| format!("the sheet's {refusal}"))?;
        if let Some(passenger) = outing.passenger {
            if has_no_seat(has) || stated.passenger.is_none() {
                let name = "Passenger";
                let says = "it has no seat for a passenger; worked out without";
                let item = Item::new(Part::Loads, "passenger", name, says).verdict(Verdict::Hold);
                aboard.items.push(item.before("Go alone, or take a machine with a second seat"));
            } else if let (Some(place), Some(mass)) = (stated.passenger, passenger.mass) {
                aboard.put("passenger", mass.get(), place, PERSON_U);
            } else {
                return Err("the passenger's mass in kit is not known: say it".into());
            }
        }
        for luggage in by_place(&outing.luggage)? {
            aboard.load(stated, has, &luggage, say)?;
        }
        Ok(aboard)
    }

    /// The same with people in their bands.
    ///
    /// # Errors
    /// As for [`in_band`].
    pub(super) fn in_bands(mut self) -> Result<Self, Refusal> {
        let people = self.things.iter_mut().filter(|thing| matches!(thing.name.as_str(), "rider" | "passenger"));
        for thing in people {
            thing.piece.mass = in_band(thing.piece.mass)?;
        }
        Ok(self)
    }

    fn put(&mut self, name: &str, mass: Mass, at: Place, u: (f64, f64)) {
        self.things.push(Thing { name: name.into(), piece: Piece { mass, ahead: at.ahead, height: at.height }, u });
    }

    /// Puts luggage where it is mounted; where nothing is, that is a hold and it stays behind.
    fn load(&mut self, stated: &Stated, has: &Equipment, luggage: &Luggage, say: Say) -> Result<(), String> {
        let id = format!("luggage.{}", luggage.place);
        let name = format!("Luggage, {}", luggage.place);
        let hold = |says: String| {
            let item = Item::new(Part::Loads, id.as_str(), name.as_str(), says);
            item.verdict(Verdict::Hold).class(Class::Major)
        };
        let Some(place) = stated.luggage_place(&luggage.place) else {
            let places: Vec<&str> = stated.luggage.iter().map(|place| place.name.as_str()).collect();
            let places = if places.is_empty() { "none".into() } else { places.join(", ") };
            let says = format!("its sheet names no place `{}`; worked out without. Places: {places}", luggage.place);
            self.items.push(hold(says).before("Leave it behind, or load it where the sheet names a place"));
            return Ok(());
        };
        if !is_mounted(place, has) {
            let says = format!("no {} mounted on this machine; worked out without", place.name);
            self.items.push(hold(says).before("Leave it behind, or have them mounted"));
            return Ok(());
        }
        let mass = luggage.mass.ok_or_else(|| format!("the mass in {} is not known: say it", place.name))?.get();
        if let Some(most) = place.at_most.filter(|most| mass > *most) {
            let says = format!("{} in {}, at most {}", say.kg_finely(mass.kg()), place.name, say.kg_finely(most.kg()));
            let todo = format!("Take {} out of {}", say.kg_finely(mass.kg() - most.kg()), place.name);
            self.items.push(hold(says).before(todo));
        }
        self.put(&place.name, mass, place.place, LUGGAGE_U);
        if let Some(empty) = place.empty {
            let name = format!("{}, empty", place.name);
            self.put(&name, empty, place.place, LUGGAGE_U);
        }
        Ok(())
    }

    /// Axle loads and centre.
    ///
    /// # Errors
    /// As for [`loaded`].
    pub(super) fn loaded(&self, wheelbase: Length) -> Result<Loaded, Refusal> {
        let pieces: Vec<Piece> = self.things.iter().map(|thing| thing.piece).collect();
        loaded(&pieces, wheelbase)
    }

    /// Standard uncertainties of front, rear and whole, kg.
    ///
    /// # Errors
    /// As for [`axles_u`].
    pub(super) fn u(&self, wheelbase: Length) -> Result<[StandardUncertainty; 3], Refusal> {
        let mut pieces = Vec::with_capacity(self.things.len());
        for thing in &self.things {
            let (mass, ahead) = thing.u;
            let u = PieceU { mass_kg: StandardUncertainty::new(mass)?, ahead_mm: StandardUncertainty::new(ahead)? };
            pieces.push((thing.piece, u));
        }
        let (front, rear) = axles_u(&pieces, wheelbase)?;
        let whole = StandardUncertainty::combine(pieces.iter().map(|(_, u)| u.mass_kg))?;
        Ok([front, rear, whole])
    }

    /// Rider, passenger and luggage together, kg.
    pub(super) fn carried_kg(&self) -> f64 {
        self.things.iter().filter(|thing| thing.name != "machine").map(|thing| thing.piece.mass.kg()).sum()
    }

    /// What may be taken off, the farthest behind first.
    pub(super) fn luggage(&self) -> Option<&Thing> {
        let is_load = |thing: &&Thing| !matches!(thing.name.as_str(), "machine" | "rider" | "passenger");
        let loads = self.things.iter().filter(is_load).filter(|thing| !thing.name.ends_with(", empty"));
        loads.min_by(|a, b| a.piece.ahead.mm().total_cmp(&b.piece.ahead.mm()))
    }
}

/// Luggage in one order, whatever order it was told in; what is told for one place twice lies there together.
fn by_place(told: &[Luggage]) -> Result<Vec<Luggage>, String> {
    let mut all = told.to_vec();
    sort_by(&mut all, |a, b| {
        let kg = |of: &Luggage| of.mass.map_or(0.0, |mass| mass.get().kg());
        a.place.cmp(&b.place).then_with(|| kg(a).total_cmp(&kg(b)))
    });
    let mut out: Vec<Luggage> = Vec::new();
    for luggage in all {
        match out.last_mut().filter(|last| last.place == luggage.place) {
            Some(last) => {
                let both = last.mass.zip(luggage.mass).map(|(a, b)| a.get().kg() + b.get().kg());
                let both = both.map(|kg| Mass::from_kg(kg).map_err(|fault| fault.to_string())).transpose()?;
                let both = both.map(|mass| LuggageMass::new(mass).map_err(|fault| fault.to_string())).transpose()?;
                last.mass = both;
            }
            None => out.push(luggage),
        }
    }
    Ok(out)
}

fn has_no_seat(has: &Equipment) -> bool {
    has.get("passenger_seat").is_some_and(|values| !values.iter().any(|value| value == "yes"))
}

fn is_mounted(place: &LuggagePlace, has: &Equipment) -> bool {
    !place.mounted || has.get("luggage").is_some_and(|values| values.contains(&place.name))
}
