//! Oil read on a machine that leans otherwise than its sheet supposes: a modelled correction, which only worsens.

use alloc::{format, string::ToString};

use super::{
    Outcome, Verdict,
    case::{Case, verdict},
    reading::Judging,
};
use crate::{
    formula::oil::{LeanCase, LeanU, Sump, shift},
    quantity::{Length, show},
    state::Stance,
    statistics::uncertainty::StandardUncertainty,
};

/// How well ride height, stand and stick are known, in mm: standard uncertainties (from memory, for a rule and a workshop).
const RULE_U_MM: f64 = 3.0;

/// Lays the modelled correction over a raw outcome. A raw miss stays one; a fit that the model doubts becomes a watch;
/// a model less sure than half the window says nothing, and the check is unseen.
pub(super) fn modelled(judging: &Judging<'_>, mut outcome: Outcome, worst: &Case<'_>) -> Outcome {
    let Some(height_mm) = judging.context.machine.ride_height_mm().filter(|height| *height != 0.0) else {
        return outcome;
    };
    // Read upright the lean does not come in.
    if judging.context.needs(judging.check).allows_stance(Stance::Upright) {
        return outcome;
    }
    let restore = "Hold the machine at the lean its handbook supposes, then read again";
    let height = format!("{} mm", show::figure(height_mm));
    let Some((moved, own)) = shifted(judging, height_mm) else {
        if outcome.verdict == Verdict::Fit {
            outcome.verdict = Verdict::Watch;
            outcome.reason = format!("{}; ride height changed by {height}, which misleads the stick", outcome.reason);
            outcome.todo = Some(restore.to_string());
        }
        return outcome;
    };
    // The sheet's marks are the unit the level is read in: the shift in mm is a share of what lies between them.
    let step = worst.unit.step();
    let (moved, own) = (moved / step, own / step);
    let half = worst.window.width().map_or(f64::INFINITY, |width| width / 2.0);
    outcome.working.push(format!(
        "ride height {height}: the stick shows {} more than it would as the sheet supposes (modelled)",
        judging.context.shown(judging.measure).difference(moved, worst.unit)
    ));
    if own > half {
        let reason = format!("{}; the model is less sure than half of what is allowed", outcome.reason);
        return Outcome { verdict: Verdict::Unseen.max(outcome.verdict), reason, ..outcome }.todo(restore);
    }
    let corrected = StandardUncertainty::new(own)
        .and_then(|own| worst.estimate.corrected(worst.estimate.value() - moved, 1.0, own))
        .and_then(|estimate| Ok((estimate.value(), worst.window.conformance(estimate.value(), estimate.u())?)));
    let Ok((value, p)) = corrected else { return outcome };
    let thresholds = &judging.context.catalogue.rule.verdict;
    let doubted = verdict(!worst.window.contains(value), p, worst.class, thresholds) != Verdict::Fit;
    if doubted && outcome.verdict == Verdict::Fit {
        outcome.verdict = Verdict::Watch;
        let level = judging.context.shown(judging.measure).text(value, worst.unit);
        outcome.reason =
            format!("{}; by the model {level} at the sheet's lean, ride height changed by {height}", outcome.reason);
        outcome.todo = Some(restore.to_string());
    }
    outcome
}

/// The shift and its standard uncertainty as a share of what lies between the marks.
fn shifted(judging: &Judging<'_>, height_mm: f64) -> Option<(f64, f64)> {
    let sump = judging.context.sheet.sump?;
    let case = LeanCase {
        sheet_lean: sump.lean,
        ride_height_change: Length::from_mm(height_mm).ok()?,
        foot_offset: sump.foot_offset,
        stick_offset: sump.dipstick_offset,
    };
    let u = StandardUncertainty::new(RULE_U_MM).ok()?;
    let known = LeanU { ride_height_change_mm: u, foot_offset_mm: u, stick_offset_mm: u };
    let moved = shift(&case, Sump { width: sump.width, depth: sump.depth }, known).ok()?;
    let marks = sump.marks.mm();
    (marks > 0.0).then(|| (moved.value().mm() / marks, moved.u().get() / marks))
}
