//! Judges a reading: instrument, repeats, correction, every limit that counts, then the verdict.

use alloc::{
    borrow::Cow,
    format,
    string::{String, ToString},
    vec::Vec,
};

use super::{
    Context, Figure, Outcome, PlaceFigure, Question, Set, Verdict,
    case::{self, Case, Taken},
    forecast,
    living::{Given, Living, living_of},
    tyre::{self, Tyre},
};
use crate::{
    check::{Check, Correction, Measure, Settable},
    form::Said,
    limit::Counting,
    quantity::convert,
    state::Heat,
    words::{Layer, Use},
};

/// The verdict of a reading for a use, and whether an older one was looked for: how long that counts then has a say.
pub(super) fn judge(asked: &Question<'_>, measure: &Measure, living: &Living<'_>) -> (Outcome, bool) {
    let &Question { context, check, one, .. } = asked;
    let judging = Judging { context, check, measure, one, counting: context.limits(check, one) };
    let newest = living.groups.iter().flatten();
    let refused: Vec<Outcome> = newest.filter_map(|given| judging.refusal(given)).collect();
    // A reading that cannot be used does not undo an earlier one that still lives.
    let usable = match refused.last() {
        None => Some(Cow::Borrowed(living)),
        Some(_) => {
            let usable = living_of(check, asked.known(), one, |given| judging.refusal(given).is_none());
            usable.ok().map(Cow::Owned)
        }
    };
    let mut outcome = match (&usable, refused.last()) {
        (None, Some(refused)) => judging.unless_no_limit(|| refused.clone()),
        (None, None) => judging.outcome(living),
        (Some(usable), _) => judging.outcome(usable),
    };
    if usable.is_some() {
        outcome.working.extend(refused.iter().map(|refused| format!("set aside: {}", refused.reason)));
    }
    outcome.working.extend(judging.counting.notes.iter().cloned());
    for slip in &living.slips {
        outcome.working.push(format!("a slip of the keys, corrected by {}: {}", slip.by, case::said(slip)));
    }
    let used = usable.as_deref().unwrap_or(living);
    if let Some(last) = used.groups.last().and_then(|group| group.last()) {
        outcome.by = Some(last.answer.by.clone());
        outcome.at = Some(last.answer.at.to_string());
    }
    let (outcome, is_forecast) = match usable.as_deref() {
        Some(usable) => forecast::applied(asked, &judging, usable, outcome),
        None => (outcome, false),
    };
    (outcome, is_forecast || !refused.is_empty())
}

/// One reading being judged against the limits that count.
pub(super) struct Judging<'j> {
    pub(super) context: &'j Context<'j>,
    pub(super) check: &'j Check,
    pub(super) measure: &'j Measure,
    pub(super) one: Use,
    pub(super) counting: Counting<'j>,
}

impl Judging<'_> {
    /// What is wrong with the data, else what is asked for.
    fn unless_no_limit(&self, otherwise: impl FnOnce() -> Outcome) -> Outcome {
        if let Some(empty) = &self.counting.empty {
            return self.unseen(format!("the data contradict themselves: {empty}")).todo("Have the sheet put right");
        }
        if self.counting.bounds.is_empty() {
            return self
                .unseen("limit not known".to_string())
                .todo("Read the label on the machine or the handbook and add the limit to the machine's file");
        }
        otherwise()
    }

    fn outcome(&self, living: &Living<'_>) -> Outcome {
        self.unless_no_limit(|| self.against_limits(living))
    }

    fn against_limits(&self, living: &Living<'_>) -> Outcome {
        let Some(last) = living.groups.last() else { return self.unseen("not answered".to_string()) };
        let cases = match self.cases(last) {
            Ok(cases) => cases,
            Err(refused) => return *refused,
        };
        let Some(worst) = cases.iter().min_by(|a, b| a.gravity(b)) else {
            return self.unseen("not answered".to_string());
        };
        let mut outcome = self.told(worst, &cases);
        if let Some(settable) = &self.measure.settable {
            outcome = self.settled(outcome, worst, settable, living);
        }
        if self.measure.correction == Some(Correction::OilLean) {
            outcome = super::oil::modelled(self, outcome, worst);
        }
        self.unread(self.uneven(outcome, last), last)
    }

    /// Why an answer cannot be used: the state it was read in, or its instrument.
    pub(super) fn refusal(&self, given: &Given<'_>) -> Option<Outcome> {
        let read = matches!(given.answer.said, Said::Read(_));
        let instrument = || case::instrument(self, given.answer).err().filter(|_| read).map(|refused| *refused);
        self.wrong_state(given).or_else(instrument)
    }

    /// An outcome nobody can trust yet.
    pub(super) fn unseen(&self, reason: String) -> Outcome {
        let class = self.context.class(self.check, self.one).0;
        Outcome::new(&self.check.id, &self.check.name, self.one, Verdict::Unseen, reason).classed(class)
    }

    fn wrong_state(&self, given: &Given<'_>) -> Option<Outcome> {
        let needs = self.context.needs(self.check);
        let rule = &self.context.catalogue.rule.tyre;
        let heat = tyre::heat(rule, given);
        let reason = match heat {
            Heat::Hot if !needs.allows_heat(Heat::Hot) => "read on hot parts".to_string(),
            Heat::Warm | Heat::Hot if needs.is_cold_only() => format!("read {heat}, to be read cold"),
            _ => return None,
        };
        let after = tyre::cold_at(rule, given.form).map(|at| format!(" after {}", at.clock())).unwrap_or_default();
        Some(self.unseen(reason).todo(format!("Let it cool, then read again{after}")))
    }

    /// Every place and instrument against every limit that counts.
    fn cases<'c>(&'c self, group: &[Given<'c>]) -> Result<Vec<Case<'c>>, alloc::boxed::Box<Outcome>> {
        let taken = case::taken(self, group)?;
        let mut cases = Vec::new();
        let mut refused = None;
        for taken in &taken {
            let rows = self.counting.bounds.iter().filter(|row| row.binds_at(taken.place));
            let rows = rows.map(|row| self.case(taken, row));
            match rows.collect::<Result<Vec<_>, _>>() {
                Ok(rows) => cases.extend(rows),
                Err(why) => refused = Some(why),
            }
        }
        // One that says nothing, read warm by an unknown amount, does not undo one that says something.
        match refused {
            Some(refused) if cases.is_empty() => Err(refused),
            _ => Ok(cases),
        }
    }

    /// The outcome of the gravest case, told in words.
    fn told(&self, worst: &Case<'_>, cases: &[Case<'_>]) -> Outcome {
        let shown = self.context.shown(self.measure);
        let unit = worst.unit;
        let value = format!(
            "{} ± {}",
            shown.figure(worst.estimate.value(), unit),
            shown.uncertainty(worst.estimate.u().expanded(), unit)
        );
        let place = worst.place.map(|place| format!(", {place}")).unwrap_or_default();
        let gauge = match worst.moved {
            true => format!(" ({} on the gauge)", shown.figure(worst.gauge, unit)),
            false => String::new(),
        };
        let symbol = shown.unit.symbol();
        let cold = if worst.moved { " cold" } else { "" };
        let read = format!("{value}\u{a0}{symbol}{cold}{gauge}{place}");
        let limit = worst.limit_text(shown);
        let asked = worst.asked(&self.context.catalogue.rule.verdict);
        let sure = case::percent(worst.probability.get());
        let reason = match worst.verdict {
            Verdict::Fit => format!("{read}, {limit}"),
            _ if worst.past => format!("{read}: past its limit, {limit}"),
            _ => format!("{read}: too close to call, {sure} sure it is {limit}, {} asked", case::percent(asked)),
        };
        let mut outcome =
            Outcome::new(&self.check.id, &self.check.name, self.one, worst.verdict, reason).classed(worst.class);
        outcome.todo = self.remedy(worst);
        outcome.source = Some(format!("{}: {}", worst.row.layer, worst.row.provenance));
        let as_grave = |case: &&Case<'_>| case.verdict == worst.verdict;
        outcome.rests_on_law = cases.iter().filter(as_grave).any(|case| case.row.layer == Layer::Law);
        outcome.probability = Some(worst.probability.get());
        outcome.working = self.working(worst);
        outcome.figure = Some(self.figure(worst, cases));
        outcome.share = worst.share(self.counting.new);
        outcome
    }

    /// What to say of an instrument with which no reading could be sure enough; nothing where it shows a miss.
    fn undecided(&self, worst: &Case<'_>) -> Option<String> {
        let asked = worst.asked(&self.context.catalogue.rule.verdict);
        let with = &worst.with.id;
        let text = || format!("{with} cannot decide this: use a finer instrument, or better conditions");
        (!worst.past && worst.best < asked).then(text)
    }

    fn remedy(&self, worst: &Case<'_>) -> Option<String> {
        if worst.verdict == Verdict::Fit {
            return None;
        }
        if let Some(undecided) = self.undecided(worst) {
            return Some(undecided);
        }
        let text = match (worst.past, worst.verdict) {
            (true, _) => "Hang a hold tag; have it put right, then read again",
            (false, Verdict::Hold) => "Measure it better, or have it put right",
            _ => "Plan the work; read again before the next outing",
        };
        Some(text.to_string())
    }

    fn figure(&self, worst: &Case<'_>, cases: &[Case<'_>]) -> Figure {
        let shown = self.context.shown(self.measure);
        let to = |value: f64| convert(value, worst.unit, shown.unit);
        let amount = |amount: crate::quantity::Amount| amount.in_unit(shown.unit);
        let bounds = || self.counting.bounds.iter().filter(|row| row.binds_at(worst.place));
        let least = bounds().filter_map(|row| row.at_least.map(amount)).max_by(f64::total_cmp);
        let most = bounds().filter_map(|row| row.at_most.map(amount)).min_by(f64::total_cmp);
        let mut places: Vec<PlaceFigure> = Vec::new();
        for case in cases {
            if let Some(place) = case.place
                && !places.iter().any(|seen| seen.place == place)
            {
                places.push(PlaceFigure { place: place.into(), value: convert(case.gauge, case.unit, shown.unit) });
            }
        }
        Figure {
            unit: shown.unit.symbol(),
            decimals: shown.decimals,
            value: to(worst.estimate.value()),
            expanded_u: worst.estimate.u().expanded() * worst.unit.step() / shown.unit.step(),
            gauge: worst.moved.then(|| to(worst.gauge)),
            at_least: least,
            at_most: most,
            target: self.counting.target.and_then(|row| row.target).map(amount),
            new: self.counting.new.map(amount),
            margin: worst.margin() * worst.unit.step() / shown.unit.step(),
            places,
        }
    }

    /// What is set and read again: being off is a step, not a hold; still off after the act is one.
    fn settled(&self, outcome: Outcome, worst: &Case<'_>, settable: &Settable, living: &Living<'_>) -> Outcome {
        let Some((last, earlier)) = living.groups.split_last() else { return outcome };
        let shown = self.context.shown(self.measure);
        let found = earlier.first().unwrap_or(last);
        let mut outcome = if earlier.is_empty() {
            self.to_set(outcome, worst)
        } else {
            let was = self.cases(found).ok().and_then(|cases| cases.into_iter().min_by(Case::gravity));
            let text = |case: &Case<'_>| shown.text(case.gauge, case.unit);
            let act = last.iter().find_map(|given| given.answer.after.clone()).unwrap_or_else(|| settable.act.clone());
            let set = was.as_ref().map(|was| Set { found: text(was), act: act.clone(), now: text(worst) });
            let again = worst.past && outcome.verdict == Verdict::Hold;
            let outcome = if again {
                Outcome { reason: format!("{}, though it was {act}", outcome.reason), ..outcome }.todo(
                    self.wait(worst).unwrap_or_else(|| format!("It cannot be set or does not stay: {}", settable.why)),
                )
            } else {
                outcome
            };
            Outcome { set, ..outcome }
        };
        let explained = found.iter().chain(last).any(|given| given.answer.why.is_some());
        if !explained && self.far_off(found, settable) {
            outcome.working.push(format!("found far off: {}", settable.why));
            if outcome.verdict == Verdict::Unseen {
                outcome.todo = outcome.todo.map(|todo| format!("{} Then: {todo}", settable.why));
            }
            if outcome.verdict == Verdict::Fit {
                outcome.verdict = Verdict::Watch;
                outcome.reason = format!("{}; found far off and not said why", outcome.reason);
                outcome.todo = Some(settable.why.clone());
            }
        }
        outcome
    }

    fn far_off(&self, found: &[Given<'_>], settable: &Settable) -> bool {
        let cases = self.cases(found).unwrap_or_default();
        cases.iter().any(|case| {
            let far = settable.far_off.value() * settable.far_off.unit().step() / case.unit.step();
            case.margin() < -far
        })
    }

    fn to_set(&self, outcome: Outcome, worst: &Case<'_>) -> Outcome {
        if outcome.verdict != Verdict::Hold {
            return outcome;
        }
        let outcome = Outcome { verdict: Verdict::Unseen, ..outcome };
        if let Some(wait) = self.wait(worst) {
            return Outcome { reason: format!("to set: {}", outcome.reason), ..outcome }.todo(wait);
        }
        // Set ever so well, it would read no surer with this instrument.
        if self.undecided(worst).is_some() {
            return outcome;
        }
        Outcome { reason: format!("to set: {}", outcome.reason), ..outcome }.todo(self.way(worst))
    }

    /// The value to set, in the unit of the limit.
    fn target(&self, worst: &Case<'_>) -> Option<f64> {
        let target = self.counting.target.and_then(|row| row.target).map(|target| target.in_unit(worst.unit));
        let window = worst.window;
        let middle = window.lower().zip(window.upper()).map(|(low, high)| (low + high) / 2.0);
        target.or(middle).or(window.lower()).or(window.upper())
    }

    /// What to do with a warm tyre that holds more than its target: never let air out, wait.
    fn wait(&self, worst: &Case<'_>) -> Option<String> {
        let warm = matches!(worst.tyre, Tyre::Moved { warm: true, .. });
        let now = tyre::pump_to(self.target(worst)?, worst.unit, worst.tyre)?;
        (warm && now <= worst.gauge).then(|| "Wait till the tyre is cold, then read again".to_string())
    }

    /// How it is set.
    fn way(&self, worst: &Case<'_>) -> String {
        let shown = self.context.shown(self.measure);
        let Some(target) = self.target(worst) else { return "Set it, read again".to_string() };
        if self.measure.correction != Some(Correction::TyreGas) {
            return format!("Set to {}, read again", shown.text(target, worst.unit));
        }
        let Some(now) = tyre::pump_to(target, worst.unit, worst.tyre) else {
            return "Pump up; read the tyre's temperature too, or read again when it is cold".to_string();
        };
        let act = if now > worst.gauge { "Pump" } else { "Set" };
        let on_gauge = if worst.moved { " on the gauge now" } else { "" };
        format!("{act} to {}{on_gauge}, read again", shown.text(now, worst.unit))
    }

    /// Where places are told apart, one that nobody read leaves the check unseen, unless another stops it.
    fn unread(&self, mut outcome: Outcome, group: &[Given<'_>]) -> Outcome {
        let figures = group.iter().filter_map(|given| match &given.answer.said {
            Said::Read(figures) => Some(figures),
            _ => None,
        });
        let read: Vec<Option<&str>> = figures.flatten().map(|(place, _)| place.as_deref()).collect();
        let missing = self.measure.places.iter().find(|place| !read.contains(&Some(place.as_str())));
        let Some(missing) = missing.filter(|_| !read.contains(&None) && outcome.verdict < Verdict::Unseen) else {
            return outcome;
        };
        outcome.verdict = Verdict::Unseen;
        outcome.reason = format!("{missing} not read; {}", outcome.reason);
        outcome.todo = Some("Read it there too".to_string());
        outcome
    }

    /// A difference between places is an observation of its own.
    fn uneven(&self, mut outcome: Outcome, group: &[Given<'_>]) -> Outcome {
        let Some(across) = self.measure.across else { return outcome };
        let Ok(taken) = case::taken(self, group) else { return outcome };
        let shown = self.context.shown(self.measure);
        let value = |taken: &Taken<'_>| taken.mean(across.unit());
        let by_value = |a: &&Taken<'_>, b: &&Taken<'_>| value(a).total_cmp(&value(b));
        let (Some(least), Some(most)) = (taken.iter().min_by(by_value), taken.iter().max_by(by_value)) else {
            return outcome;
        };
        if value(most) - value(least) <= across.value() || most.place == least.place {
            return outcome;
        }
        let told = |taken: &Taken<'_>| {
            format!("{} {}", taken.place.unwrap_or("there"), shown.text(value(taken), across.unit()))
        };
        let text = format!("uneven: {}, {}", told(least), told(most));
        if outcome.verdict == Verdict::Fit {
            outcome.verdict = Verdict::Watch;
            outcome.reason = format!("{text}; {}", outcome.reason);
            outcome.todo = Some("Find out why it wears unevenly".to_string());
        } else {
            outcome.working.push(text);
        }
        outcome
    }
}
