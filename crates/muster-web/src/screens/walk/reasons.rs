//! Why a machine comes to its verdict: worst first, each with its ruler, its limit's source and what to do now.

use leptos::prelude::*;
use muster_core::{
    judge::{Judgement, Outcome, Verdict},
    record::machine_state::MachineState,
    words::Use,
};
use muster_draw::{
    draw,
    gauge::{aria, authority, margin_text},
    merge::{self, Merged},
    number::{capital, small},
    ruler::{Ruler, Tone},
};

use super::start::use_word;
use crate::{
    ui::{Drawn, date_text},
    words::t,
    yard::{Yard, yard},
};

/// The reasons.
pub(super) fn reasons(judgement: &Judgement, one: Use) -> impl IntoView + use<> {
    let unfit = merge::unfit(judgement, one);
    let (bare, told): (Vec<Merged<'_>>, Vec<Merged<'_>>) = unfit.into_iter().partition(Merged::is_bare);
    let yard = yard();
    let state = untrack(|| yard.machine(&judgement.machine)).map(|seen| seen.state);
    let named = |outcome: &Outcome| found(&yard, state.as_deref()?, outcome);
    let told = told.iter().map(|merged| reason(merged, one, named(merged.outcome))).collect_view();
    let bare = unseen(&bare, one);
    view! { <ol class="reasons">{told}{bare}{fits(judgement, one)}</ol> }
}

fn glyph(name: &str) -> impl IntoView + use<> {
    view! { <svg class="glyph" width="24" height="24" aria-hidden="true"><use href=format!("#g-{name}")></use></svg> }
}

/// A finding by what people know it by: the check it was found at, what, by whom, when.
fn found(yard: &Yard, state: &MachineState, outcome: &Outcome) -> Option<(String, String)> {
    let finding = state.findings.get(&outcome.check.strip_prefix("finding.")?.parse().ok()?)?;
    let check = finding.raised.check.as_ref();
    let check = check.and_then(|id| yard.rules().catalogue.check(id).map(|check| check.name.clone()));
    let title = check.map_or_else(|| t!("finding"), |check| t!("finding-at", check = check.as_str()));
    let (who, on) = (yard.name(finding.by.0.as_str()), date_text(finding.by.1.date()));
    Some((title, t!("found-by", what = finding.raised.what.as_str(), who = who.as_str(), on = on)))
}

/// One that has something to show.
fn reason(merged: &Merged<'_>, one: Use, named: Option<(String, String)>) -> impl IntoView + use<> {
    let outcome = merged.outcome;
    let (name, says) = named.unwrap_or_else(|| (outcome.name.clone(), yard().said(&outcome.reason)));
    let title = format!("{}{name}", of_uses(&merged.uses, one));
    let tone = if merge::is_to_set(outcome) { Tone::Set } else { Tone::Judged(outcome.verdict) };
    let (word, line, rest) = authority(outcome);
    let (word, line) = (word.to_owned(), format!("src src--{line}"));
    let rest = rest.to_owned();
    let drawn = outcome.figure.as_ref().and_then(|figure| {
        let ruler = Ruler::of(figure, tone, "")?;
        let says = format!("<span class=\"vh\">{}</span>", muster_draw::number::escaped(&aria(outcome, figure, tone)));
        Some(format!("{}{says}<span class=\"cap\">{}</span>", draw::mini(&ruler), margin_text(figure)))
    });
    let todo = merged.todo().map(|todo| view! { <p class="todo">{todo}</p> });
    let has_source = !word.is_empty() || !rest.is_empty();
    let verdict = outcome.verdict;
    view! {
        <li class="reason">
            {glyph(verdict.as_str())}
            <div>
                <h3>{title}<span class="vh">{format!(": {}", crate::ui::verdict_word(verdict))}</span></h3>
                <p>{capital(&says)}</p>
                {drawn.map(|markup| view! { <Drawn markup class="minirow"/> })}
                {todo}
                {has_source.then(|| view! { <p class="from">{(!word.is_empty()).then(|| view! { <span class=line>{word}</span> })}" "<span class="opt">{rest}</span></p> })}
            </div>
        </li>
    }
}

/// Which uses a reason is of, where it is not of the one planned.
fn of_uses(uses: &[Use], one: Use) -> String {
    if uses.contains(&one) {
        return String::new();
    }
    let words: Vec<String> = uses.iter().map(|of| small(&use_word(*of))).collect();
    format!("{}: ", capital(&words.join(", ")))
}

/// Checks nobody looked at, told together by their uses.
fn unseen(bare: &[Merged<'_>], one: Use) -> impl IntoView + use<> {
    let mut groups: Vec<(Vec<Use>, Vec<String>)> = Vec::new();
    for merged in bare {
        match groups.iter_mut().find(|(uses, _)| *uses == merged.uses) {
            Some((_, names)) => names.push(merged.outcome.name.clone()),
            None => groups.push((merged.uses.clone(), vec![merged.outcome.name.clone()])),
        }
    }
    let each = groups.into_iter().map(|(uses, names)| {
        let title = format!("{}{}", of_uses(&uses, one), t!("checks-unseen", count = names.len()));
        view! { <li class="reason">{glyph("unseen")}<div><h3>{capital(&title)}</h3><p>{names.join(", ")}</p></div></li> }
    });
    each.collect_view()
}

/// What is fit, in one line, with what was set and what is nearest to its limit.
fn fits(judgement: &Judgement, one: Use) -> impl IntoView + use<> {
    let of = judgement.uses.iter().find(|of| of.one == one);
    let fit: Vec<&Outcome> =
        of.into_iter().flat_map(|of| &of.outcomes).filter(|outcome| outcome.verdict == Verdict::Fit).collect();
    let set = fit.iter().filter_map(|outcome| {
        let set = outcome.set.as_ref()?;
        let says = t!("was-set", found = set.found.as_str(), now = set.now.as_str());
        Some(view! { <li><svg class="icon" width="18" height="18" aria-hidden="true"><use href="#i-set"></use></svg><span><b>{outcome.name.clone()}</b>" "{says}</span></li> })
    });
    let set = set.collect::<Vec<_>>();
    // Under what was set it stands in line with it.
    let class = if set.is_empty() { "is-alone" } else { "" };
    let near = fit.iter().filter(|outcome| outcome.share.is_some_and(f64::is_finite));
    let near = near.min_by(|a, b| a.share.unwrap_or(f64::INFINITY).total_cmp(&b.share.unwrap_or(f64::INFINITY)));
    let near = near.map(|outcome| {
        let says = t!("tightest", name = small(&outcome.name), reason = outcome.reason.as_str());
        view! { <li class=class><span class="sp"></span><span>{says}</span></li> }
    });
    let count = fit.len();
    (count > 0).then(|| view! {
        <li class="reason">{glyph("fit")}<div><h3>{t!("checks-fit", count = count)}</h3><ul class="fits">{set}{near}</ul></div></li>
    })
}
