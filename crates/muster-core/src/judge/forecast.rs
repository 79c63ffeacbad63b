//! What a forecast does to a verdict: it only worsens, and never from the prior alone.

use alloc::{format, string::String};

use super::{Context, Outcome, Verdict};
use crate::statistics::uncertainty::Probability;

/// What somebody who forecasts wear says of one check of the machine judged.
#[derive(Clone, Debug, PartialEq)]
pub struct Forecast {
    /// The check.
    pub check: String,
    /// That its limit is met within the life of the check's answer, or within this outing.
    pub meets_limit: Probability,
    /// It rests on no reading of this machine, only on what is usual.
    pub from_prior_alone: bool,
}

/// Turns a fit into a watch where the limit is likely to be met before anyone looks again.
pub(super) fn worsened(context: &Context<'_>, outcome: Outcome) -> Outcome {
    let asked = context.catalogue.rule.verdict.forecast;
    let soon = |forecast: &&Forecast| {
        forecast.check == outcome.check && !forecast.from_prior_alone && forecast.meets_limit > asked
    };
    let worst = context.forecasts.iter().filter(soon).map(|forecast| forecast.meets_limit.get()).max_by(f64::total_cmp);
    match worst {
        Some(p) if outcome.verdict == Verdict::Fit => {
            let reason = format!(
                "{}; {} likely to meet its limit before it is looked at again",
                outcome.reason,
                super::case::percent(p)
            );
            Outcome { verdict: Verdict::Watch, reason, ..outcome }.todo("Plan the work; read it again sooner")
        }
        _ => outcome,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{data, judge::judge, load::File, words::Use, yard::Yard};
    use alloc::string::ToString;

    const SHEET: &str = "schema = 1\nsheet = \"a\"\nmodel = \"A\"\nhandbook = { title = \"A handbook\" }\n[[limit]]\n\
        check = \"tyre.rear.tread\"\nat_least = \"1.6 mm\"\npage = \"p. 1\"\n";
    const YARD: &str = "schema = 1\nname = \"Yard\"\ntime_zone = \"Europe/London\"\n[[instrument]]\nid = \"T-1\"\n\
        name = \"Gauge\"\nkind = \"depth-gauge\"\nreads = \"length\"\nresolution = \"0.1 mm\"\naccuracy = \"0.1 mm\"\n";
    const FORM: &str = "schema = 1\nmachine = \"M-01\"\nby = \"A\"\nopened = 2026-11-24T08:00:00+00:00\nodometer = \"10 km\"\n\
        [[answer]]\ncheck = \"tyre.rear.tread\"\nread = \"4.0 mm\"\nwith = \"T-1\"\n";

    fn verdict(forecasts: &[Forecast]) -> Option<Verdict> {
        let catalogue = data::catalogue().ok()?;
        let machine = "schema = 1\nmachine = \"M-01\"\nsheet = \"a\"\n";
        let files: [File<'_>; 3] = [("yard.toml", YARD), ("sheets/a.toml", SHEET), ("machines/m.toml", machine)];
        let (yard, _) = Yard::load(&files, &catalogue);
        let form = crate::form::Form::load("f.toml", FORM, &catalogue, &yard).0?;
        let context = Context { forecasts, ..Context::of(&catalogue, &yard, "M-01", form.opened)? };
        let judged = judge(&context, &[&form]);
        let range = judged.uses.iter().find(|of| of.one == Use::Range)?;
        range.outcomes.iter().find(|outcome| outcome.check == "tyre.rear.tread").map(|outcome| outcome.verdict)
    }

    fn forecast(p: f64, from_prior_alone: bool) -> Forecast {
        let meets_limit = Probability::new(p).unwrap_or(Probability::ZERO);
        Forecast { check: "tyre.rear.tread".to_string(), meets_limit, from_prior_alone }
    }

    #[test]
    fn a_likely_miss_makes_a_watch_and_the_prior_alone_never_does() {
        assert_eq!(verdict(&[]), Some(Verdict::Fit));
        assert_eq!(verdict(&[forecast(0.05, false)]), Some(Verdict::Fit));
        assert_eq!(verdict(&[forecast(0.06, false)]), Some(Verdict::Watch));
        assert_eq!(verdict(&[forecast(0.9, true)]), Some(Verdict::Fit));
    }
}
