//! One place read with one instrument, against one limit.

use alloc::{
    boxed::Box,
    format,
    string::{String, ToString},
    vec::Vec,
};
use core::cmp::Ordering;

use super::{
    Outcome, Verdict,
    living::Given,
    reading::Judging,
    tyre::{self, Tyre},
    value::{Asked, Weighed, weigh},
};
use crate::{
    check::{Correction, Shown},
    form::{Answer, Said},
    instrument::Instrument,
    limit::Limit,
    quantity::{Amount, Unit, convert},
    rule::Thresholds,
    statistics::{
        conformance::Window,
        repeats::{self, Estimate, Repeatability},
        student::DegreesOfFreedom,
        uncertainty::{Probability, StandardUncertainty},
    },
    words::Class,
};

/// The readings of one place with one instrument.
pub(super) struct Taken<'t> {
    pub(super) place: Option<&'t str>,
    pub(super) values: Vec<Amount>,
    pub(super) instrument: &'t Instrument,
    pub(super) given: Given<'t>,
    /// The class a finder raised it to.
    pub(super) raised: Option<Class>,
}

impl Taken<'_> {
    /// The mean of the readings in a unit.
    pub(super) fn mean(&self, unit: Unit) -> f64 {
        let sum: f64 = self.values.iter().map(|value| value.in_unit(unit)).sum();
        sum / self.values.len().max(1) as f64
    }
}

/// One place and instrument against one limit.
pub(super) struct Case<'c> {
    pub(super) row: &'c Limit,
    pub(super) unit: Unit,
    pub(super) place: Option<&'c str>,
    pub(super) with: &'c Instrument,
    pub(super) window: Window,
    /// What the instrument showed: the mean of the repeats.
    pub(super) gauge: f64,
    /// Taken to the limit's conditions.
    pub(super) estimate: Estimate,
    pub(super) moved: bool,
    pub(super) tyre: Tyre,
    pub(super) probability: Probability,
    /// The best any reading with this uncertainty could reach.
    pub(super) best: f64,
    /// The value, or any single repeat, lies past the limit: further repeats do not launder a miss.
    pub(super) past: bool,
    pub(super) class: Class,
    pub(super) verdict: Verdict,
}

/// Sorts the answers of a group by place, instrument and, where a reading is corrected, its conditions.
///
/// # Errors
/// An unseen outcome where the instrument gives no reason to trust a reading.
pub(super) fn taken<'t>(judging: &'t Judging<'_>, group: &[Given<'t>]) -> Result<Vec<Taken<'t>>, Box<Outcome>> {
    let mut out: Vec<Taken<'t>> = Vec::new();
    let raised = group.iter().filter_map(|given| given.answer.class).max();
    for given in group {
        let Said::Read(figures) = &given.answer.said else { continue };
        let instrument = instrument(judging, given.answer)?;
        for (place, value) in figures {
            let same = |taken: &&mut Taken<'_>| {
                taken.place == place.as_deref()
                    && taken.instrument.id == instrument.id
                    && judging.alike(&taken.given, given)
            };
            match out.iter_mut().find(same) {
                Some(taken) => taken.values.push(*value),
                None => {
                    let place = place.as_deref();
                    out.push(Taken { place, values: [*value].into(), instrument, given: *given, raised });
                }
            }
        }
    }
    Ok(out)
}

pub(super) fn instrument<'t>(judging: &'t Judging<'_>, answer: &Answer) -> Result<&'t Instrument, Box<Outcome>> {
    let refuse = |reason: String, todo: &str| Err(Box::new(judging.unseen(reason).todo(todo)));
    let Some(id) = &answer.with else {
        return refuse(format!("{}: instrument not named", said(answer)), "Say which instrument read it: with = \"…\"");
    };
    let yard = judging.context.yard;
    let Some(instrument) = yard.instruments.get(id) else {
        let known: Vec<&str> = yard.instruments.keys().map(String::as_str).collect();
        return refuse(format!("no instrument {id} in the yard"), &format!("Name one of {}", known.join(", ")));
    };
    let measure = judging.measure;
    if instrument.reads != measure.kind
        || !(measure.instruments.is_empty() || measure.instruments.contains(&instrument.kind))
    {
        let kinds: Vec<&str> = measure.instruments.iter().map(|kind| kind.as_str()).collect();
        return refuse(
            format!("{id} ({}, reads {}) cannot read this", instrument.kind, instrument.reads),
            &format!("Read it with a {}", kinds.join(", ")),
        );
    }
    if let Some(spoilt) = instrument.spoilt_on(answer.at.date()) {
        let since = spoilt.since.map_or_else(|| "ever".to_string(), |day| day.to_string());
        return refuse(
            format!("read with {id}, found bad on {}; last good comparison {since}", spoilt.found),
            "Read again with another instrument",
        );
    }
    Ok(instrument)
}

impl Judging<'_> {
    /// Whether two answers were given in conditions that no correction tells apart.
    fn alike(&self, a: &Given<'_>, b: &Given<'_>) -> bool {
        let state = |given: &Given<'_>, row: &Limit| tyre::state(self.context, given, row);
        self.measure.correction != Some(Correction::TyreGas)
            || self.counting.bounds.iter().all(|row| state(a, row) == state(b, row))
    }

    /// Judges one place and instrument against one limit.
    pub(super) fn case<'c>(&'c self, taken: &Taken<'c>, row: &'c Limit) -> Result<Case<'c>, Box<Outcome>> {
        let unit = row.unit().unwrap_or(self.measure.si.unit);
        let broken = |error: &dyn core::fmt::Display| Box::new(self.unseen(format!("cannot be worked out: {error}")));
        let bound = |amount: Option<Amount>| amount.map(|amount| amount.in_unit(unit));
        let window = Window::new(bound(row.at_least), bound(row.at_most)).map_err(|e| broken(&e))?;
        let values: Vec<f64> = taken.values.iter().map(|value| compared(*value, unit, window)).collect();
        let error = taken.instrument.error(unit).map_err(|e| broken(&e))?;
        let raw = repeats::combined(&values, error, self.repeatability(unit)).map_err(|e| broken(&e))?;
        let (estimate, tyre) = match self.measure.correction {
            Some(Correction::TyreGas) => self.cold(&raw, taken, row, window)?,
            _ => (raw.clone(), Tyre::Cold),
        };
        let moved = matches!(tyre, Tyre::Moved { .. });
        // A mean may miss a bound by its own rounding alone; what was read past it is past for each repeat.
        let value = snapped(estimate.value(), window);
        let class = self.context.class_of(self.check, row.class, self.one).max(taken.raised.unwrap_or(Class::Minor));
        let asked = Asked { class, thresholds: &self.context.catalogue.rule.verdict };
        let shift = estimate.value() - raw.value();
        let Weighed { probability, past, verdict } =
            weigh(window, &values, shift, (value, estimate.u()), asked).map_err(|e| broken(&e))?;
        Ok(Case {
            row,
            unit,
            place: taken.place,
            with: taken.instrument,
            window,
            gauge: raw.value(),
            best: window.best_possible(estimate.u()).get(),
            estimate,
            moved,
            tyre,
            probability,
            past,
            class,
            verdict,
        })
    }

    /// How a case was worked out. Told of the gravest alone: most of what judging costs is its words.
    pub(super) fn working(&self, case: &Case<'_>) -> Vec<String> {
        let read = format!("read with {} ({})", case.with.id, case.with.name);
        let sure = percent(case.probability.get());
        let moved = tyre::working(&case.estimate, case.unit, case.tyre, &self.context.catalogue.rule.tyre);
        let rest = [
            self.uncertainty(&case.estimate, case.unit),
            format!("P = {sure} that it conforms (normal, flat prior; JCGM 106:2012, 7)"),
        ];
        [read].into_iter().chain(moved).chain(rest).collect()
    }

    fn cold(
        &self,
        raw: &Estimate,
        taken: &Taken<'_>,
        row: &Limit,
        window: Window,
    ) -> Result<(Estimate, Tyre), Box<Outcome>> {
        let rule = &self.context.catalogue.rule.tyre;
        let unit = row.unit().unwrap_or(self.measure.si.unit);
        let tyre = tyre::state(self.context, &taken.given, row);
        // Warm by an unknown amount: below the least it is lower still when cold, so the miss counts.
        let below = window.lower().is_some_and(|lower| raw.value() < lower);
        if tyre == Tyre::Unknown && !below {
            let cold_at = tyre::cold_at(rule, taken.given.form);
            let wait = cold_at.map_or_else(|| "when it is cold".to_string(), |at| format!("cold after {}", at.clock()));
            let outcome = self.unseen("read warm, the tyre's temperature not known".to_string());
            return Err(Box::new(outcome.todo(format!("Read the tyre's temperature too, or read again {wait}"))));
        }
        let Some(estimate) = tyre::corrected(raw, unit, tyre, rule) else {
            return Err(Box::new(
                self.unseen("cannot be taken to a cold tyre: outside what the gas law covers".to_string()),
            ));
        };
        Ok((estimate, tyre))
    }

    fn repeatability(&self, unit: Unit) -> Option<Repeatability> {
        let scatter = self.measure.repeatability.as_ref()?;
        let deviation = scatter.deviation.value() * scatter.deviation.unit().step() / unit.step();
        let deviation = StandardUncertainty::new(deviation).ok()?;
        Some(Repeatability::new(deviation, DegreesOfFreedom::new(scatter.degrees).ok()?))
    }

    fn uncertainty(&self, estimate: &Estimate, unit: Unit) -> String {
        let shown = self.context.shown(self.measure);
        let finer = Shown { decimals: shown.decimals + 1, ..shown };
        let symbol = shown.unit.symbol();
        let mut text = format!("u = {}\u{a0}{symbol}: ", finer.uncertainty(estimate.u().get(), unit));
        for (index, part) in estimate.parts().iter().filter(|part| part.u.get() > 0.0).enumerate() {
            text.push_str(if index > 0 { ", " } else { "" });
            text.push_str(part.source.as_str());
            text.push(' ');
            text.push_str(&finer.uncertainty(part.u.get(), unit));
        }
        text
    }
}

/// A figure in the limit's unit: one read in that unit stands as it was read.
fn compared(read: Amount, unit: Unit, window: Window) -> f64 {
    let value = read.in_unit(unit);
    if read.unit() == unit { value } else { snapped(value, window) }
}

/// Snaps a figure onto a bound it misses only by a rounding, of a unit's factor or of a mean: 10⁻⁹ of the bound.
pub(super) fn snapped(value: f64, window: Window) -> f64 {
    let near = |bound: &f64| libm::fabs(value - bound) <= 1e-9 * libm::fabs(*bound);
    window.lower().filter(near).or_else(|| window.upper().filter(near)).unwrap_or(value)
}

/// The verdict of a value against one limit.
///
/// Past it is a hold; below the probability its class asks for too; below the one for fit a watch.
pub(super) fn verdict(past: bool, p: Probability, class: Class, thresholds: &Thresholds) -> Verdict {
    let stops = match class {
        Class::Dangerous => p < thresholds.dangerous,
        Class::Major => p < thresholds.major,
        Class::Minor => false,
    };
    match (past || stops, p < thresholds.fit) {
        (true, _) => Verdict::Hold,
        (false, true) => Verdict::Watch,
        (false, false) => Verdict::Fit,
    }
}

impl Case<'_> {
    /// Signed distance to the nearest bound, in the limit's unit; negative past it.
    pub(super) fn margin(&self) -> f64 {
        let value = self.estimate.value();
        let below = self.window.lower().map_or(f64::INFINITY, |lower| value - lower);
        let above = self.window.upper().map_or(f64::INFINITY, |upper| upper - value);
        below.min(above)
    }

    /// The margin as a share of what lies between new and the limit, or of half the window.
    pub(super) fn share(&self, new: Option<Amount>) -> Option<f64> {
        let whole = match (new, self.window.width()) {
            (_, Some(width)) => width / 2.0,
            (Some(new), None) => {
                let bound = self.window.lower().or(self.window.upper())?;
                libm::fabs(new.in_unit(self.unit) - bound)
            }
            (None, None) => return None,
        };
        (whole > 0.0).then(|| self.margin() / whole)
    }

    /// Worst first.
    pub(super) fn gravity(&self, other: &Self) -> Ordering {
        (other.verdict.cmp(&self.verdict))
            .then_with(|| other.class.cmp(&self.class))
            .then_with(|| self.probability.get().total_cmp(&other.probability.get()))
            .then_with(|| (self.margin() * self.unit.step()).total_cmp(&(other.margin() * other.unit.step())))
    }

    /// The probability whose lack made the verdict.
    pub(super) fn asked(&self, thresholds: &Thresholds) -> f64 {
        match (self.verdict, self.class) {
            (Verdict::Hold, Class::Dangerous) => thresholds.dangerous.get(),
            (Verdict::Hold, Class::Major) => thresholds.major.get(),
            _ => thresholds.fit.get(),
        }
    }

    /// The limit in words, in the unit shown and in its own where that differs.
    pub(super) fn limit_text(&self, shown: Shown) -> String {
        let text = |amount: Amount| {
            let near = shown.text(amount.value(), amount.unit());
            if amount.unit() == shown.unit { near } else { format!("{near} ({amount})") }
        };
        match (self.row.at_least, self.row.at_most) {
            (Some(least), Some(most)) => {
                let low = shown.figure(convert(least.value(), least.unit(), shown.unit), shown.unit);
                format!("within {low} to {}", text(most))
            }
            (Some(least), None) => format!("at least {}", text(least)),
            (None, Some(most)) => format!("at most {}", text(most)),
            (None, None) => String::new(),
        }
    }
}

/// A probability as people read it: never a round hundred, nor naught, unless it is one.
pub(super) fn percent(p: f64) -> String {
    let hundredths = p * 100.0;
    let tenths = || format!("{:.1}\u{a0}%", libm::floor(hundredths * 10.0) / 10.0);
    match hundredths {
        over if over >= 100.0 => "100\u{a0}%".to_string(),
        over if over > 99.9 => "over 99.9\u{a0}%".to_string(),
        over if over > 99.0 => tenths(),
        whole if whole >= 1.0 => format!("{:.0}\u{a0}%", libm::floor(whole)),
        under if under >= 0.1 => tenths(),
        under if under > 0.0 => "under 0.1\u{a0}%".to_string(),
        _ => "0\u{a0}%".to_string(),
    }
}

/// What an answer said, as it was written.
pub(super) fn said(answer: &Answer) -> String {
    match &answer.said {
        Said::Read(figures) => {
            let each = |(place, amount): &(Option<String>, Amount)| match place {
                Some(place) => format!("{place} {amount}"),
                None => amount.to_string(),
            };
            figures.iter().map(each).collect::<Vec<_>>().join(", ")
        }
        Said::Saw(seen) => {
            let each = |(place, seen): &(Option<String>, crate::words::Seen)| match place {
                Some(place) => format!("{place} {seen}"),
                None => seen.to_string(),
            };
            seen.iter().map(each).collect::<Vec<_>>().join(", ")
        }
        Said::Day(day, _) => day.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_probability_is_told_rounded_down_and_as_sure_only_where_it_is() {
        let told = [
            (0.0, "0"),
            (0.000_5, "under 0.1"),
            (0.001, "0.1"),
            (0.009_9, "0.9"),
            (0.01, "1"),
            (0.509, "50"),
            (0.99, "99"),
            (0.995_9, "99.5"),
            (0.999, "99.9"),
            (0.999_5, "over 99.9"),
            (1.0, "100"),
        ];
        for (p, text) in told {
            assert_eq!(percent(p), format!("{text}\u{a0}%"), "{p}");
        }
    }

    #[test]
    fn a_probability_exactly_as_high_as_asked_is_enough() {
        let p = |value| Probability::new(value).unwrap_or(Probability::ZERO);
        let thresholds = |fit, dangerous, major| Thresholds {
            fit: p(fit),
            dangerous: p(dangerous),
            major: p(major),
            forecast: p(0.05),
        };
        for class in [Class::Minor, Class::Major, Class::Dangerous] {
            assert_eq!(verdict(false, p(0.75), class, &thresholds(0.75, 0.75, 0.75)), Verdict::Fit, "{class}");
            assert_eq!(verdict(true, p(0.75), class, &thresholds(0.75, 0.75, 0.75)), Verdict::Hold, "{class}");
        }
        let below = p(0.75 - 1e-9);
        let asked = thresholds(0.75, 0.75, 0.5);
        assert_eq!(verdict(false, below, Class::Minor, &asked), Verdict::Watch);
        assert_eq!(verdict(false, below, Class::Major, &asked), Verdict::Watch);
        assert_eq!(verdict(false, below, Class::Dangerous, &asked), Verdict::Hold);
        assert_eq!(verdict(false, p(0.5 - 1e-9), Class::Major, &asked), Verdict::Hold);
    }
}
