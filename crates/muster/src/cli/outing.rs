//! `muster outing`: what rider, passenger, luggage, way and weather do to a machine, and whether it is fit for that.

use anyhow::{Context as _, Result, bail};
use clap::Args;
use muster_core::{
    judge::{Context, Verdict, judge},
    outing::{
        Asked, Assessment, Case, Item, Outing, Part, assess,
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
};

/// An outing as it is told on the command line.
#[derive(Args, Debug)]
pub(crate) struct Told {
    /// Fleet number
    pub(crate) machine: String,
    /// The rider in kit: "82 kg"; for a session several times, with names: --rider "Ann=82 kg"
    #[arg(long, value_name = "MASS", required = true)]
    pub(crate) rider: Vec<String>,
    /// The rider's inseam, without boots: "810 mm"; as --rider with names
    #[arg(long, value_name = "LENGTH")]
    pub(crate) inseam: Vec<String>,
    /// The rider's licence: AM, A1, A2, A; as --rider with names
    #[arg(long, value_name = "CLASS")]
    pub(crate) licence: Vec<String>,
    /// What the school says of the rider: learner, novice, practised, instructor; as --rider with names
    #[arg(long, value_name = "LEVEL")]
    pub(crate) level: Vec<String>,
    /// The passenger in kit
    #[arg(long, value_name = "MASS")]
    pub(crate) passenger: Option<String>,
    /// Luggage by the sheet's place: cases="12 kg"; several times
    #[arg(long, value_name = "PLACE=MASS")]
    pub(crate) luggage: Vec<String>,
    /// How far
    #[arg(long, value_name = "WAY", allow_hyphen_values = true)]
    pub(crate) distance: Option<String>,
    /// The highest speed held for long; without it stops are told from 50 km/h
    #[arg(long, value_name = "SPEED")]
    pub(crate) speed: Option<String>,
    /// On what: range, town, country, motorway
    #[arg(long, value_name = "ROAD", default_value = "country")]
    pub(crate) road: String,
    /// The air now: 8, "46 °F"
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub(crate) air: Option<String>,
    /// The coldest or hottest air on the way
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub(crate) air_there: Option<String>,
    /// Height of the yard above the sea: "90 m"
    #[arg(long, value_name = "HEIGHT")]
    pub(crate) altitude: Option<String>,
    /// The highest place on the way
    #[arg(long, value_name = "HEIGHT")]
    pub(crate) highest: Option<String>,
    /// Wet roads
    #[arg(long)]
    pub(crate) rain: bool,
    /// In the dark, or back in the dark
    #[arg(long)]
    pub(crate) dark: bool,
    /// When it is to be back: 17:30 of the day it leaves, or date and time with offset
    #[arg(long, value_name = "TIME")]
    pub(crate) back: Option<String>,
    /// How full tank or battery is; without it full
    #[arg(long, value_name = "SHARE")]
    pub(crate) aboard: Option<String>,
    /// The tyres' own temperature, where they are warm: how far to pump now
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) tyres: Option<String>,
    /// Click of preload the front stands at; without it as delivered
    #[arg(long, value_name = "CLICK")]
    pub(crate) front_click: Option<u8>,
    /// Click of preload the rear stands at; without it as delivered
    #[arg(long, value_name = "CLICK")]
    pub(crate) rear_click: Option<u8>,
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

/// One outing a rider. What is told with a name is that rider's, what is told without is everybody's.
fn read(told: &Told, context: &Context<'_>, sign: DecimalSign) -> Result<Vec<Outing>> {
    let mut out = Vec::new();
    for rider in &told.rider {
        let (name, mass) = match rider.split_once('=') {
            Some((name, mass)) => (Some(name.trim()), mass.trim()),
            None => (None, rider.trim()),
        };
        if name.is_none() && told.rider.len() > 1 {
            bail!("a session is for named riders: --rider \"Ann={mass}\", not `{rider}`");
        }
        out.push(asked(told, name, mass).read(context.now, sign));
    }
    // The outing's own faults are everybody's: they are told once.
    let first: Vec<String> = out.first().map(|of: &Outing| of.faults.clone()).unwrap_or_default();
    for of in out.iter_mut().skip(1) {
        of.faults.retain(|fault| !first.contains(fault));
    }
    Ok(out)
}

fn asked(told: &Told, name: Option<&str>, mass: &str) -> Asked {
    let of = |all: &[String]| {
        let named = all.iter().filter_map(|text| text.split_once('='));
        let own = named.filter(|(whose, _)| Some(whose.trim()) == name).map(|(_, text)| text.trim().to_string());
        let bare = all.iter().filter(|text| !text.contains('=')).map(|text| text.trim().to_string());
        own.chain(bare).next()
    };
    Asked {
        name: name.map(str::to_string),
        rider: Some(mass.to_string()),
        inseam: of(&told.inseam),
        licence: of(&told.licence),
        level: of(&told.level),
        passenger: told.passenger.clone(),
        luggage: told.luggage.clone(),
        distance: told.distance.clone(),
        speed: told.speed.clone(),
        road: Some(told.road.clone()),
        air: told.air.clone(),
        air_there: told.air_there.clone(),
        altitude: told.altitude.clone(),
        highest: told.highest.clone(),
        rain: told.rain,
        dark: told.dark,
        back: told.back.clone(),
        aboard: told.aboard.clone(),
        tyres: told.tyres.clone(),
        front_click: told.front_click,
        rear_click: told.rear_click,
    }
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
