//! `muster machine`: the list, or everything known about one.

use anyhow::Result;
use muster_core::{
    equipment::Holds,
    form::Form,
    judge::{Context, Unanswered, living},
    machine::Machine,
    quantity::{Unit, show},
    words::Use,
};

use super::{
    BAD_INPUT, MAY_GO,
    arguments::Global,
    explain::{capital, counting, field},
    paper::{Ink, Paper, note},
    site::{Site, planned, said},
};

/// Lists the machines, or tells all about one.
///
/// # Errors
/// A yard that cannot be opened, or a machine it does not have.
pub(crate) fn run(global: &Global, id: Option<&str>) -> Result<u8> {
    let site = Site::open(global)?;
    let mut paper = Paper::new(global.color);
    let problems = match id {
        None => {
            list(&mut paper, &site);
            site.all_problems()
        }
        Some(id) => {
            let machine = site.machine(id)?;
            one(&mut paper, &site, machine)?;
            site.problems_of(&machine.id)
        }
    };
    for problem in &problems {
        note(&said(problem));
    }
    paper.print()?;
    Ok(if problems.is_empty() { MAY_GO } else { BAD_INPUT })
}

fn list(paper: &mut Paper, site: &Site) {
    let mut machines: Vec<&Machine> = site.yard.machines.values().collect();
    machines.sort_by_key(|machine| (machine.row, machine.id.as_str()));
    let head = format!("{:<4}{:<7}{:<20}{:<12}{:<14}{}", "row", "", "model", "category", "service", "plate");
    let head = paper.ink(Ink::Strong, &head);
    paper.line(&head);
    for machine in machines {
        let model = site.yard.sheets.get(&machine.sheet).map_or("sheet missing", |sheet| sheet.model.as_str());
        paper.line(&format!(
            "{:>3} {:<7}{model:<20}{:<12}{:<14}{}",
            machine.row,
            machine.id,
            machine.traits.category.as_deref().unwrap_or("not stated"),
            machine.service.as_str(),
            machine.plate.as_deref().unwrap_or("none")
        ));
    }
}

fn one(paper: &mut Paper, site: &Site, machine: &Machine) -> Result<()> {
    let context = site.context(&machine.id, site.now())?;
    let forms = site.forms_of(&machine.id);
    facts(paper, &context);
    equipment(paper, &context);
    limits(paper, &context);
    findings(paper, &context, &forms);
    answers(paper, site, &context, &forms)
}

fn facts(paper: &mut Paper, context: &Context<'_>) {
    let machine = context.machine;
    let title = paper.ink(Ink::Strong, &format!("{}  {}", machine.id, context.sheet.model));
    paper.line(&title);
    let missing = || "not stated: the stricter limit counts".to_string();
    field(paper, "service", machine.service.as_str());
    field(paper, "handbook", &context.sheet.handbook);
    field(paper, "category", &machine.traits.category.clone().unwrap_or_else(missing));
    let cc = machine.traits.displacement_cc.map(|cc| format!("{} cm³", show::figure(cc)));
    field(paper, "displacement", &cc.unwrap_or_else(missing));
    if let Some(power) = context.sheet.power_kw {
        field(paper, "power", &format!("{} kW", show::figure(power)));
    }
    field(paper, "first use", &machine.traits.first_use.map_or_else(missing, |day| day.to_string()));
    field(paper, "VIN", machine.vin.as_deref().unwrap_or("not stated"));
    field(paper, "plate", machine.plate.as_deref().unwrap_or("none"));
    field(paper, "law", context.law.map_or("no law pack: its roads are judged by none", |law| law.title.as_str()));
    for change in &machine.modifications {
        let height = change
            .ride_height
            .map(|height| format!(", ride height {}", show::rounded(height.mm(), 0, Unit::Millimetre)));
        let by = change.by.as_ref().map(|by| format!(", by {by}"));
        let on = change.on.map(|on| format!(", {on}"));
        let text = format!(
            "{}{}{}{}",
            change.what,
            height.unwrap_or_default(),
            by.unwrap_or_default(),
            on.unwrap_or_default()
        );
        field(paper, "modified", &text);
    }
}

fn equipment(paper: &mut Paper, context: &Context<'_>) {
    paper.heading("Equipment");
    let has = &context.machine.traits.equipment;
    let mut unknown = Vec::new();
    for key in &context.catalogue.equipment {
        match has.get(&key.key) {
            None => unknown.push(key.name.as_str()),
            Some([]) => paper.hung(&format!("  {:<26}", key.name), Ink::Plain, "none"),
            Some(values) => paper.hung(&format!("  {:<26}", key.name), Ink::Plain, &values.join(", ")),
        }
    }
    if !unknown.is_empty() {
        paper.hung("  ", Ink::Plain, &format!("Not stated, so checks about them apply: {}", unknown.join(", ")));
    }
}

fn limits(paper: &mut Paper, context: &Context<'_>) {
    paper.heading("Which limits count");
    for check in &context.catalogue.checks {
        let bare = Use::ALL.iter().all(|one| context.limits(check, *one).bounds.is_empty());
        if bare || check.applies.holds(&context.machine.traits.equipment) == Holds::No {
            continue;
        }
        paper.line(&format!("  {} ({})", check.name, check.id));
        let mut told: Vec<(Vec<String>, Vec<&str>)> = Vec::new();
        for one in Use::ALL.iter().copied().filter(|one| check.uses.count() == 0 || check.uses.contains(*one)) {
            let mut lines = counting(context, check, one);
            // The class is told by `muster explain`; here the figures count.
            let _class = lines.pop();
            match told.iter_mut().find(|(other, _)| *other == lines) {
                Some((_, uses)) => uses.push(one.as_str()),
                None => told.push((lines, vec![one.as_str()])),
            }
        }
        let single = told.len() == 1;
        for (lines, uses) in told {
            let head = if single { String::new() } else { format!("{}: ", uses.join(", ")) };
            paper.hung("      ", Ink::Plain, &format!("{head}{}", lines.join("; ")));
        }
    }
}

fn findings(paper: &mut Paper, context: &Context<'_>, forms: &[&Form]) {
    paper.heading("Open findings");
    let now = context.now;
    let closed: Vec<&str> = forms
        .iter()
        .flat_map(|form| &form.closes)
        .filter(|close| close.at <= now)
        .map(|close| close.finding.as_str())
        .collect();
    let mut none = true;
    for finding in forms.iter().flat_map(|form| &form.findings) {
        if finding.at > now || closed.contains(&finding.id.as_str()) {
            continue;
        }
        none = false;
        let text = format!(
            "{}, {}, {}, by {} on {}",
            finding.what,
            finding.class,
            finding.uses,
            finding.by,
            finding.at.date()
        );
        paper.hung(&format!("  {}  ", finding.id), Ink::Plain, &text);
    }
    if none {
        paper.line("  none");
    }
}

fn answers(paper: &mut Paper, site: &Site, context: &Context<'_>, forms: &[&Form]) -> Result<()> {
    let judgement = site.judgement(&context.machine.id, context.now)?;
    let one = planned(&judgement);
    paper.heading(&format!("Answers for {one}"));
    for check in context.checks().filter(|check| check.uses.contains(one)) {
        if check.applies.holds(&context.machine.traits.equipment) == Holds::No {
            continue;
        }
        let text = match living(check, forms, one, context.now) {
            Ok(living) => {
                let last = living.groups.last().and_then(|group| group.last());
                let when = last.map(|given| format!("{} by {}", given.answer.at.date(), given.answer.by));
                format!("answered {}, counts for {}", when.unwrap_or_default(), living.until)
            }
            Err(Unanswered::Never) => "never looked at".into(),
            Err(Unanswered::CouldNotSee(why)) => format!("could not see: {why}"),
            Err(Unanswered::Lapsed(how)) => format!("lapsed: {how}"),
        };
        paper.hung(&format!("  {:<32}", capital(&check.name)), Ink::Plain, &text);
    }
    Ok(())
}
