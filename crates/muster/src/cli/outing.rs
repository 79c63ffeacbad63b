//! `muster outing`: what rider, passenger, luggage, way and weather do to a machine, and whether it is fit for that.

use anyhow::{Context as _, Result, bail};
use clap::Args;
use muster_core::{
    judge::{Context, Verdict, judge},
    outing::{
        Assessment, Case, Item, Outing, Part, assess,
        input::Rider,
        session::{Session, session},
    },
    quantity::text::DecimalSign,
};

use super::{
    BAD_INPUT,
    arguments::Global,
    code, graver,
    paper::{Ink, Paper, count, marked},
    report,
    site::Site,
    told::{Rides, Way},
};

/// An outing as it is told on the command line.
#[derive(Args, Debug)]
pub(crate) struct Told {
    /// Fleet number
    pub(crate) machine: String,
    /// The rider in kit: "82 kg"; for a session several times, with names: --rider "Ann=82 kg"
    #[arg(long, value_name = "MASS", required = true)]
    pub(crate) rider: Vec<String>,
    /// How far
    #[arg(long, value_name = "WAY", allow_hyphen_values = true)]
    pub(crate) distance: Option<String>,
    /// When it is to be back: 17:30 of the day it leaves, or date and time with offset
    #[arg(long, value_name = "TIME")]
    pub(crate) back: Option<String>,
    #[command(flatten)]
    pub(crate) way: Way,
    /// Print JSON
    #[arg(long)]
    pub(crate) json: bool,
}

/// Works an outing out, or with several named riders a session.
///
/// # Errors
/// A yard that cannot be opened or a machine it does not have. What cannot be in the outing itself is said, and the rest
/// worked out.
pub(crate) fn run(global: &Global, told: &Told) -> Result<u8> {
    let site = Site::open(global)?;
    let machine = site.machine(&told.machine)?.id.clone();
    let context = site.context(&machine, site.now())?;
    let forms = site.forms_of(&machine);
    let judgement = judge(&context, &forms);
    let case = Case { context: &context, judgement: &judgement, forms: &forms };
    let outings = read(told, &context, site.yard.sign)?;
    let mut paper = Paper::new(global.color);
    let rests_on_faults = !site.problems_of(&machine).is_empty();
    if rests_on_faults {
        paper.hung(
            "",
            Ink::Strong,
            "The yard's own files have faults: muster data names them. What they leave out does not count.",
        );
    }
    let code = match outings.as_slice() {
        [one] => {
            let of = assess(&case, one);
            tell(&mut paper, told.json, || of.to_json(), |paper| one_outing(paper, &of))?;
            answer(of.verdict, &of.faults)
        }
        [first, ..] => {
            let riders: Vec<Rider> = outings.iter().map(|of| of.rider.clone()).collect();
            let faults = outings.iter().flat_map(|of| of.faults.clone()).collect();
            let plan = Outing { faults, ..first.clone() };
            let of = session(&case, &plan, &riders).context("a session is for named riders: --rider \"Ann=82 kg\"")?;
            tell(&mut paper, told.json, || serde_json::to_string(&of), |paper| a_session(paper, &of))?;
            answer(of.verdict, &of.faults)
        }
        [] => bail!("say who rides: --rider \"82 kg\""),
    };
    paper.print()?;
    Ok(if rests_on_faults { graver(code, BAD_INPUT) } else { code })
}

fn tell(
    paper: &mut Paper,
    as_json: bool,
    json: impl Fn() -> serde_json::Result<String>,
    text: impl Fn(&mut Paper),
) -> Result<()> {
    if as_json {
        paper.line(&json()?);
    } else {
        text(paper);
    }
    Ok(())
}

fn answer(verdict: Verdict, faults: &[String]) -> u8 {
    if faults.is_empty() { code(verdict) } else { graver(code(verdict), BAD_INPUT) }
}

/// One outing a rider.
fn read(told: &Told, context: &Context<'_>, sign: DecimalSign) -> Result<Vec<Outing>> {
    let mut out = Vec::new();
    for rider in &told.rider {
        let rides = match rider.split_once('=') {
            Some(_) => Rides::read(rider),
            None => Rides { name: None, mass: Some(rider.trim().to_owned()) },
        };
        if rides.name.is_none() && told.rider.len() > 1 {
            bail!("a session is for named riders: --rider \"Ann={rider}\", not `{rider}`");
        }
        let asked = told.way.asked(&rides, told.distance.as_deref(), told.back.as_deref());
        out.push(asked.read(context.now, sign));
    }
    // The outing's own faults are everybody's: they are told once.
    let first: Vec<String> = out.first().map(|of: &Outing| of.faults.clone()).unwrap_or_default();
    for of in out.iter_mut().skip(1) {
        of.faults.retain(|fault| !first.contains(fault));
    }
    Ok(out)
}

fn one_outing(paper: &mut Paper, of: &Assessment) {
    let uses: Vec<&str> = of.uses.iter().map(|one| one.as_str()).collect();
    let back = of.back.as_deref().map(|back| format!(", back {}", report::moment(back))).unwrap_or_default();
    let title = paper.ink(Ink::Strong, &format!("{}  {}", of.machine, of.model));
    paper.line(&title);
    paper.hung("", Ink::Plain, &format!("Outing, {}, from {}{back}", uses.join(" and "), report::moment(&of.from)));
    verdict(paper, of.verdict);
    faults(paper, &of.faults);
    list(paper, "Before leaving", &of.before_leaving);
    list(paper, "At the next stop", &of.at_the_next_stop);
    for part in Part::ALL {
        items(paper, of, *part);
    }
}

fn verdict(paper: &mut Paper, verdict: Verdict) {
    let may = match verdict {
        Verdict::Hold => "It must not go out for this.",
        Verdict::Unseen => "It does not go out until what is missing is known.",
        Verdict::Watch => "It may go out for this, with what stands below done.",
        Verdict::Fit => "It may go out for this.",
    };
    let mark = paper.ink(Ink::Verdict(verdict), &marked(verdict).to_uppercase());
    paper.line("");
    paper.line(&format!("{mark}. {may}"));
}

fn faults(paper: &mut Paper, faults: &[String]) {
    if faults.is_empty() {
        return;
    }
    paper.heading(&format!("Told and cannot be: {}; worked out without", count(faults.len(), "thing", "things")));
    for fault in faults {
        paper.hung("  - ", Ink::Plain, fault);
    }
}

fn list(paper: &mut Paper, head: &str, all: &[String]) {
    if all.is_empty() {
        return;
    }
    paper.heading(head);
    for one in all {
        paper.hung("  - ", Ink::Plain, one);
    }
}

/// How far what is said of an item stands from the edge.
const INDENT: &str = "           ";

fn items(paper: &mut Paper, of: &Assessment, part: Part) {
    let head = match part {
        Part::Loads => "Loads and tyres",
        Part::Settings => "Springs and lamp",
        Part::Ride => "Braking, stand and range",
        Part::Rider => "Rider, machine and papers",
    };
    let mut of_part = of.items.iter().filter(|item| item.part == part).peekable();
    if of_part.peek().is_some() {
        paper.heading(head);
    }
    for item in of_part {
        tell_item(paper, item);
    }
}

fn tell_item(paper: &mut Paper, item: &Item) {
    let mark = format!("  {:<9}", marked(item.verdict));
    let mark = paper.ink(Ink::Verdict(item.verdict), &mark);
    paper.hung_behind(&mark, INDENT.len(), Ink::Plain, &format!("{}: {}", item.name, item.says));
    if let Some(source) = &item.source {
        paper.hung(&format!("{INDENT}by "), Ink::Faint, source);
    }
    for line in &item.working {
        paper.hung(&format!("{INDENT}. "), Ink::Faint, line);
    }
}

fn a_session(paper: &mut Paper, of: &Session) {
    let title = paper.ink(Ink::Strong, &format!("{}  {}", of.machine, of.heaviest.model));
    paper.line(&title);
    let till = of.till.as_deref().map(|till| format!(" till {}", report::moment(till))).unwrap_or_default();
    paper.hung("", Ink::Plain, &format!("Session of {}{till}", count(of.riders.len(), "rider", "riders")));
    verdict(paper, of.verdict);
    for (name, verdict) in &of.riders {
        let mark = paper.ink(Ink::Verdict(*verdict), &marked(*verdict));
        paper.line(&format!("  {mark:<9} {name}"));
    }
    faults(paper, &of.faults);
    list(paper, "Before the first goes out", &of.before_leaving);
    let two = [("heaviest", &of.heaviest), ("lightest", &of.lightest)];
    for (which, assessment) in two {
        paper.heading(&format!("The {which}, {}", assessment.rider.as_deref().unwrap_or_default()));
        settings(paper, assessment);
    }
    paper.hung("", Ink::Faint, "The working of each: muster outing with that rider alone.");
}

fn settings(paper: &mut Paper, of: &Assessment) {
    for item in of.items.iter().filter(|item| matches!(item.part, Part::Loads | Part::Settings) || item.id == "reach") {
        let mark = paper.ink(Ink::Verdict(item.verdict), &format!("  {:<9}", marked(item.verdict)));
        paper.hung_behind(&mark, INDENT.len(), Ink::Plain, &format!("{}: {}", item.name, item.says));
    }
}
