//! A bound or a target with its conditions, its layer and its source, and which of several counts.

use alloc::{
    format,
    string::{String, ToString},
    vec::Vec,
};
use core::cmp::{Ordering, Reverse};

use crate::{
    equipment::{Condition, Equipment, Holds},
    quantity::{Amount, Unit},
    sorted::sort_by,
    source::Provenance,
    statistics::conformance::Window,
    words::{Class, Layer, Use, Uses},
};

/// One row that bounds a check's reading. Equality conforms.
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// The check it bounds.
    pub check: String,
    /// General to specific, or law or house.
    pub layer: Layer,
    /// The least allowed.
    pub at_least: Option<Amount>,
    /// The most allowed.
    pub at_most: Option<Amount>,
    /// The value to set.
    pub target: Option<Amount>,
    /// What a new part shows.
    pub new: Option<Amount>,
    /// The uses it binds.
    pub uses: Uses,
    /// How grave a miss is, if the row says so itself.
    pub class: Option<Class>,
    /// The machines it binds.
    pub only_if: Only,
    /// The places of the check it binds; none: every place. Only where rows tighten: law and house rule.
    pub places: Vec<String>,
    /// The temperature the figure is given for; none: the air's now.
    pub at: Option<Amount>,
    /// Where it comes from.
    pub provenance: Provenance,
    /// Lets a machine's own row loosen a safety limit.
    pub approval: Option<String>,
    /// What else to know.
    pub note: Option<String>,
}

impl Limit {
    /// The unit its figures are in: readings are compared in it.
    #[must_use]
    pub fn unit(&self) -> Option<Unit> {
        self.at_least.or(self.at_most).or(self.target).map(Amount::unit)
    }

    /// Whether it binds what was read at a place. A reading that names no place may have been taken at any.
    #[must_use]
    pub fn binds_at(&self, place: Option<&str>) -> bool {
        self.places.is_empty() || place.is_none_or(|place| self.places.iter().any(|own| own == place))
    }

    /// Whether it may loosen a safety limit only with an approval: what is marked on a part, or said of one machine.
    fn needs_approval(&self) -> bool {
        matches!(self.layer, Layer::Marking | Layer::Machine)
    }

    /// What conforms, in a unit of its kind; none if it bounds nothing, or its bounds leave nothing.
    #[must_use]
    pub fn window(&self, unit: Unit) -> Option<Window> {
        let bound = |amount: Option<Amount>| amount.map(|amount| amount.in_unit(unit));
        Window::new(bound(self.at_least), bound(self.at_most)).ok()
    }

    /// Whether it bounds anything, or only names a target.
    #[must_use]
    pub fn bounds(&self) -> bool {
        self.at_least.is_some() || self.at_most.is_some()
    }
}

/// Which machines a row binds. What a machine does not state means the stricter: the row binds.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Only {
    /// Displacement above this, in cm³.
    pub displacement_over_cc: Option<f64>,
    /// Displacement of at most this, in cm³.
    pub displacement_to_cc: Option<f64>,
    /// Power above this, in kW.
    pub power_over_kw: Option<f64>,
    /// Power of at most this, in kW.
    pub power_to_kw: Option<f64>,
    /// One of these categories.
    pub categories: Vec<String>,
    /// First used on or after this day.
    pub first_use_from: Option<jiff::civil::Date>,
    /// Equipment.
    pub equipment: Condition,
}

/// What of a machine decides which rows bind it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Traits {
    /// Displacement in cm³; none where it is not stated, as of an electric one, which has none.
    pub displacement_cc: Option<f64>,
    /// Power in kW.
    pub power_kw: Option<f64>,
    /// Vehicle category.
    pub category: Option<String>,
    /// Date of first use.
    pub first_use: Option<jiff::civil::Date>,
    /// Equipment, the sheet's with the machine's own over it.
    pub equipment: Equipment,
}

impl Only {
    /// Whether a row binds this machine.
    #[must_use]
    pub fn binds(&self, machine: &Traits) -> Holds {
        let mut unknown = Vec::new();
        let mut no = false;
        let mut fact = |asked: bool, known: Option<bool>, name: &str| match known {
            _ if !asked => {}
            Some(true) => {}
            Some(false) => no = true,
            None => push_new(&mut unknown, String::from(name)),
        };
        let cc = machine.displacement_cc;
        fact(
            self.displacement_over_cc.is_some(),
            cc.zip(self.displacement_over_cc).map(|(a, b)| a > b),
            "displacement",
        );
        fact(self.displacement_to_cc.is_some(), cc.zip(self.displacement_to_cc).map(|(a, b)| a <= b), "displacement");
        let kw = machine.power_kw;
        fact(self.power_over_kw.is_some(), kw.zip(self.power_over_kw).map(|(a, b)| a > b), "power");
        fact(self.power_to_kw.is_some(), kw.zip(self.power_to_kw).map(|(a, b)| a <= b), "power");
        let category = machine.category.as_ref().map(|category| self.categories.contains(category));
        fact(!self.categories.is_empty(), category, "category");
        let first = machine.first_use.zip(self.first_use_from).map(|(a, b)| a >= b);
        fact(self.first_use_from.is_some(), first, "date of first use");
        if no {
            return Holds::No;
        }
        match self.equipment.holds(&machine.equipment) {
            Holds::No => Holds::No,
            Holds::Yes if unknown.is_empty() => Holds::Yes,
            Holds::Yes => Holds::Unknown(unknown),
            Holds::Unknown(more) => {
                unknown.extend(more);
                Holds::Unknown(unknown)
            }
        }
    }
}

/// The rows that count for one check, one machine and one use.
#[derive(Clone, Debug, PartialEq)]
pub struct Counting<'l> {
    /// Every row that bounds: the most specific of the layers, then law and house rule, which only tighten.
    pub bounds: Vec<&'l Limit>,
    /// The row whose target is set.
    pub target: Option<&'l Limit>,
    /// What a new part shows.
    pub new: Option<Amount>,
    /// What was set aside, or counted because a fact is unknown: said beside the verdict.
    pub notes: Vec<String>,
    /// Two rows leave no figure between them: an error in the data, not a hold.
    pub empty: Option<String>,
}

/// Finds the rows that count. Order of `rows` does not matter, but of equally specific targets the first is taken.
#[must_use]
pub fn counting<'l>(rows: impl IntoIterator<Item = &'l Limit>, machine: &Traits, one: Use) -> Counting<'l> {
    let mut notes = Vec::new();
    let mut own: Vec<&Limit> = Vec::new();
    let mut tighten: Vec<&Limit> = Vec::new();
    for row in rows.into_iter().filter(|row| row.uses.contains(one)) {
        match row.only_if.binds(machine) {
            Holds::No => continue,
            Holds::Unknown(keys) => push_new(&mut notes, unknown(&keys, machine, row)),
            Holds::Yes => {}
        }
        match row.layer {
            Layer::Law | Layer::House => tighten.push(row),
            _ => own.push(row),
        }
    }
    // Most specific layer first, then the row that names fewest uses.
    sort_by(&mut own, |a, b| specific(b).cmp(&specific(a)));
    let mut bounds = own_bounds(&own, &mut notes);
    sort_by(&mut tighten, |a, b| a.layer.cmp(&b.layer));
    bounds.extend(tighten.iter().filter(|row| row.bounds()));
    let target = own.iter().chain(&tighten).find(|row| row.target.is_some()).copied();
    let new = own.iter().find_map(|row| row.new);
    let empty = crossing(&bounds);
    Counting { bounds, target, new, notes, empty }
}

/// Why a row counts of which it is not known whether it binds.
fn unknown(keys: &[String], machine: &Traits, row: &Limit) -> String {
    let what = match keys {
        [only] if only == "displacement" && machine.equipment.is_electric() => {
            String::from("an electric machine has no displacement")
        }
        _ => format!("{} not stated", keys.join(", ")),
    };
    format!("{what}, so {} counts", row.provenance)
}

/// Says a thing once.
fn push_new(notes: &mut Vec<String>, note: String) {
    if !notes.contains(&note) {
        notes.push(note);
    }
}

/// How specific a row is: its layer, then how few uses it names.
fn specific(row: &Limit) -> (Layer, Reverse<u32>) {
    (row.layer, Reverse(row.uses.count()))
}

/// The rows that bound, most specific first. Rows equally specific all count. A general row stays beside specific ones
/// that say nothing of a side it bounds, or that would loosen it with nothing to allow it. A handbook counts over general
/// practice: it is the maker's own approval. A layer is settled in itself before it is laid over the more general ones:
/// a row replaced by one for fewer uses must not have removed what that one would loosen.
fn own_bounds<'l>(own: &[&'l Limit], notes: &mut Vec<String>) -> Vec<&'l Limit> {
    let mut bounding: Vec<&Limit> = own.iter().copied().filter(|row| row.bounds()).collect();
    bounding.reverse();
    let mut out: Vec<&Limit> = Vec::new();
    for layer in bounding.chunk_by(|a, b| a.layer == b.layer) {
        let mut rows: Vec<&Limit> = Vec::new();
        for equal in layer.chunk_by(|a, b| specific(a) == specific(b)) {
            lay_over(&mut rows, equal, notes);
        }
        lay_over(&mut out, &rows, notes);
    }
    out
}

/// Puts more specific rows before general ones and takes out those they replace.
fn lay_over<'l>(general: &mut Vec<&'l Limit>, rows: &[&'l Limit], notes: &mut Vec<String>) {
    general.retain(|general| {
        let unapproved = |row: &Limit| row.layer != general.layer && row.needs_approval() && row.approval.is_none();
        let stays = loosens(rows, general, |row| !unapproved(row));
        if stays {
            let silent = loosens(rows, general, |_| true);
            let why = if silent { "it bounds one side only" } else { "no approval is attached" };
            let rows = rows.iter().filter(|row| silent || unapproved(row)).map(|row| row.provenance.to_string());
            let rows = rows.collect::<Vec<_>>().join(" and ");
            notes.push(format!("{rows} would loosen {}, and {why}: both count", general.provenance));
        }
        stays
    });
    general.splice(0..0, rows.iter().copied());
}

/// Whether rows together leave a side open that a general row bounds: none bounds it as tightly, and none that bounds it
/// may loosen it.
fn loosens(rows: &[&Limit], general: &Limit, may: impl Fn(&Limit) -> bool) -> bool {
    let floor = |least: Amount| !rows.iter().any(|row| row.at_least.is_some_and(|own| own >= least || may(row)));
    let ceiling = |most: Amount| !rows.iter().any(|row| row.at_most.is_some_and(|own| own <= most || may(row)));
    general.at_least.is_some_and(floor) || general.at_most.is_some_and(ceiling)
}

/// Rows for some places only are left out: two of them need not meet.
fn crossing(bounds: &[&Limit]) -> Option<String> {
    let bounds = || bounds.iter().filter(|row| row.places.is_empty());
    let by_amount = |a: &(&Limit, Amount), b: &(&Limit, Amount)| a.1.partial_cmp(&b.1).unwrap_or(Ordering::Equal);
    let floor = bounds().filter_map(|row| Some((*row, row.at_least?))).max_by(by_amount);
    let ceiling = bounds().filter_map(|row| Some((*row, row.at_most?))).min_by(by_amount);
    let ((low_row, low), (high_row, high)) = floor.zip(ceiling)?;
    (low > high).then(|| {
        format!(
            "no figure is both at least {low} ({}) and at most {high} ({})",
            low_row.provenance, high_row.provenance
        )
    })
}
