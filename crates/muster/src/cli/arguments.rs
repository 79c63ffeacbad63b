//! What can be asked on the command line.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use muster_core::{
    calendar::Moment,
    judge::Context,
    state::{Found, State},
    words::{Depth, Use},
    yard::Units,
};

use super::schema::SchemaOf;

/// Decides whether a motorcycle is fit to go out, and says why.
///
/// Muster reads a yard: its machines, their sheets, its instruments and the walk-rounds written down at the kerb. It
/// says for each use - range, road, passenger, dark - whether a machine is fit, a watch, on hold, or unseen. It never
/// replaces the handbook, the law or a qualified mechanic: where they say more, they count.
#[derive(Debug, Parser)]
#[command(name = "muster", version, arg_required_else_help = true, propagate_version = true, max_term_width = 100)]
#[command(after_help = "Begin with: muster yard, then muster walk-round H-07, then muster start my-yard")]
pub(crate) struct Arguments {
    /// What every command shares.
    #[command(flatten)]
    pub(crate) global: Global,
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// What every command shares.
#[derive(Args, Debug)]
#[command(next_help_heading = "For every command")]
pub(crate) struct Global {
    /// Folder of the yard; without it the demonstration, Harrow Lane Riding School
    #[arg(long, global = true, env = "MUSTER_YARD", value_name = "DIR")]
    pub(crate) yard: Option<PathBuf>,
    /// Units shown: si or us; without it the yard's own
    #[arg(long, global = true, value_name = "SIDE", value_parser = units)]
    pub(crate) units: Option<Units>,
    /// Law pack to judge by, or none; without it the yard's own
    #[arg(long, global = true, value_name = "PACK")]
    pub(crate) law: Option<String>,
    /// The moment to judge at, with its offset: 2026-11-24T07:52:00+00:00; without it now
    #[arg(long, global = true, value_name = "TIME", value_parser = Moment::parse)]
    pub(crate) on: Option<Moment>,
    /// Whether to colour; no meaning rests on it
    #[arg(long, global = true, value_name = "WHEN", default_value = "auto")]
    pub(crate) color: Color,
}

/// When to colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Color {
    /// At a terminal, unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Judge every machine of the yard, worst first
    #[command(after_help = "Example: muster yard --yard my-yard\n\
        Ends with 0 whatever the verdicts are, with 2 if a file of the yard is broken.")]
    Yard {
        /// Print JSON, one judgement a line
        #[arg(long)]
        json: bool,
    },
    /// List the machines, or tell all about one: facts, equipment, limits, findings, living answers
    #[command(after_help = "Example: muster machine H-07")]
    Machine {
        /// Fleet number; without it all are listed
        id: Option<String>,
    },
    /// Print the walk-round a machine needs, in the order it is walked; or write its form
    #[command(after_help = "Examples:\n  muster walk-round H-07\n  \
        muster walk-round H-07 --use road --found heat=warm --form h-07.toml")]
    WalkRound(WalkRound),
    /// Fill a form at the terminal, check by check; saved after every answer, taken up again where it was left
    #[command(after_help = "Example: muster walk-round H-07 --form h-07.toml && muster fill h-07.toml")]
    Fill {
        /// The form, as `muster walk-round --form` writes it
        file: PathBuf,
        /// Who walks round it, where the form does not say yet
        #[arg(long, value_name = "NAME")]
        by: Option<String>,
    },
    /// Judge filled forms: may the machine go out, and why not
    #[command(after_help = "Examples:\n  muster judge h-07.toml --working\n  \
        cat h-07.toml | muster judge - --use road --json\n\n\
        Ends with 0 if the machine may go out (fit, or watch with its conditions), 1 if it is on hold, 3 if it is \
        unseen, 2 if what it rests on has a fault; with several files the gravest, 2 before 1 before 3 before 0.")]
    Judge(Judge),
    /// Work an outing out: what rider, passenger, luggage, way and weather do to a machine, and what to set for it
    #[command(
        after_help = "Examples:\n  muster outing H-23 --rider \"82 kg\" --passenger \"64 kg\" --luggage \"cases=12 kg\" \\\n    \
        --distance \"180 km\" --speed \"110 km/h\" --air 8 --rain --back 17:30\n  \
        muster outing H-23 --rider \"Ann=62 kg\" --rider \"Ben=98 kg\" --road range --back 12:00\n\n\
        Bare figures count in kg, km, km/h, °C, mm, m and %. Ends as muster judge does, with 2 if a part of the outing \
        cannot be."
    )]
    Outing(super::outing::Told),
    /// Explain a check, or list them all by station
    #[command(
        after_help = "Examples:\n  muster explain tyre.front.pressure\n  muster explain chain.slack --machine H-07"
    )]
    Explain {
        /// The check; without it all are listed
        check: Option<String>,
        /// Which limits count for this machine, and which were set aside
        #[arg(long, value_name = "ID")]
        machine: Option<String>,
    },
    /// Read catalogue, yard and forms, and name every fault with file and line
    #[command(
        after_help = "Examples:\n  muster data\n  muster data my-yard\n  muster data my-yard/machines/m-01.toml\n  muster data --schema sheet > sheet.schema.json\n\
        Ends with 2 if anything is wrong."
    )]
    Data {
        /// Yards, catalogues or single files; without any, the catalogue and the yard
        paths: Vec<PathBuf>,

        /// Print the JSON Schema of a kind of file instead, for an editor
        #[arg(long, value_name = "KIND", conflicts_with = "paths")]
        schema: Option<SchemaOf>,
    },
    /// Read what is stamped or moulded on a machine
    #[command(after_help = "Examples:\n  muster decode vin 11111111111111111\n  muster decode tyre-date 3219")]
    Decode {
        /// What to read
        #[command(subcommand)]
        what: Decode,
    },
    /// Take a warm tyre's reading to what it would show cold, and say how far to pump
    #[command(
        after_help = "Example: muster correct \"35.8 psi\" --tyre \"34 °C\" --air \"20 °C\" --target \"36 psi\"\n\
        Never let air out of a warm tyre."
    )]
    Correct(Correct),
    /// Work out the figure a check asks for, and what else a workshop works out, from what was counted or measured
    #[command(
        after_help = "Examples:\n  muster figure chain-elongation --length \"321 mm\" --pitches 20 --size 10B\n  \
        muster figure brake-fluid --cap \"DOT 4\" --bottle \"DOT 5\"\n\
        Each says its formula, its uncertainty and its source; muster figure FIGURE --help has an example of each."
    )]
    Figure {
        /// As JSON: values in full, uncertainties expanded (k = 2)
        #[arg(long, global = true)]
        json: bool,
        /// The figure
        #[command(subcommand)]
        what: super::figure::Figure,
    },
    /// Write a commented yard to go on from
    #[command(after_help = "Example: muster start my-yard && muster data my-yard")]
    Start {
        /// A folder that does not exist yet, or is empty
        folder: PathBuf,
    },
    /// Print paper as PDF: forms, walk-rounds, hold tags, release slips, dossiers, the yard sheet, stickers
    #[command(after_help = "Examples:\n  muster paper form H-07\n  muster paper yard --out morning.pdf")]
    Paper {
        /// What
        #[command(subcommand)]
        what: super::printed::What,
    },
    /// Say whether a file is a paper that was printed from a record, and what has come after it
    #[command(after_help = "Example: muster verify tag-h-08.pdf --record /srv/yard\n\n\
        Ends with 0 if exactly these bytes were printed, with 1 if the record does not know them.")]
    Verify(super::printed::Verify),
    /// Serve the record to phones and desks; without a record the demonstration, on this machine alone
    #[command(
        after_help = "Examples:\n  muster serve\n  muster serve --record /srv/yard --https own --name yard.local"
    )]
    Serve(super::serve::Serve),
    /// Make, check, back up, restore, export or import a record
    Record {
        /// What to do
        #[command(subcommand)]
        what: super::record::Record,
    },
    /// Write to the record: release, plan, return, tag, untag, fall, class, job, service, impound; or set what is the owner's
    #[command(after_help = "Example: muster do --record /srv/yard tag H-07 --why \"front brake spongy\"")]
    Do {
        /// Which record, and who asks
        #[command(flatten)]
        place: super::door::Where,
        /// What
        #[command(subcommand)]
        act: super::act::Do,
    },
    /// Print a list of the record as CSV, or as JSON: yard, readings, findings, jobs, instruments, people, record
    #[command(after_help = "Examples:\n  muster list yard --record /srv/yard > yard.csv\n  \
        muster list readings --machine H-07 --json --server https://yard.local:7070")]
    List(super::list::Asked),
    /// Forecast wear from the whole fleet's readings: what runs out first, and what to order
    #[command(after_help = "Examples:\n  muster forecast H-07 --record /srv/yard\n  \
        muster forecast --record /srv/yard --order --weeks 6\n\n\
        A forecast only ever adds a watch. With --yard it knows that yard's filled forms alone.")]
    Forecast(super::forecast::Asked),
    /// Take in machines or readings from a CSV file: --dry-run shows what would become of each row
    #[command(after_help = "Example: muster import readings gauge.csv --record /srv/yard --dry-run\n\n\
        Rows that stand are written all at once; of a row that is refused nothing is. The same file again does no harm.\n\
        Ends with 2 if a row is refused.")]
    Import {
        /// What
        #[command(subcommand)]
        what: super::import::What,
    },
    /// Print what is due as a calendar (iCalendar); draw, list or take back secret addresses of it
    #[command(after_help = "Examples:\n  muster calendar --record /srv/yard > due.ics\n  \
        muster calendar --server https://yard.local:7070 draw --label \"office wall\"")]
    Calendar(super::calendar::Asked),
    /// Sign in to a server's record
    #[command(after_help = "Example: muster sign-in --server https://yard.local:7070 p-ann")]
    SignIn(super::sign_in::SignIn),
    /// Ask any door of the record by method and path
    #[command(after_help = "Example: muster api --record /srv/yard GET /api/v1/yard")]
    Api(super::api::Api),
    /// Print completions for a shell
    #[command(after_help = "Example: muster completions bash > muster.bash")]
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Print the manual page
    #[command(after_help = "Example: muster man > muster.1")]
    Man,
}

/// What a walk-round is asked for.
#[derive(Args, Debug)]
pub(crate) struct WalkRound {
    /// Fleet number
    pub(crate) machine: String,
    /// How far: before-ride, full, intake, handover, after-a-fall, back-in-service
    #[arg(long, default_value = "before-ride")]
    pub(crate) depth: Depth,
    /// What it is to go out for: range, road, passenger, dark
    #[arg(long = "use", value_name = "USE", default_value = "range")]
    pub(crate) planned: Use,
    /// The state it is found in: heat=warm,power=on,stance=upright; what is not named is cold, off, on its stand
    #[arg(long, value_name = "STATE", default_value = "", hide_default_value = true, value_parser = state)]
    pub(crate) found: Found,
    /// When it is to be back; in the form without it: the day's end
    #[arg(long, value_name = "TIME", value_parser = Moment::parse)]
    pub(crate) back: Option<Moment>,
    /// Write a form to fill at the kerb instead, to FILE or a name made of machine and date
    #[arg(long, value_name = "FILE", num_args = 0..=1, default_missing_value = "")]
    pub(crate) form: Option<PathBuf>,
    /// Overwrite the form if it is there
    #[arg(long, requires = "form")]
    pub(crate) force: bool,
}

/// What a judgement is asked for.
#[derive(Args, Debug)]
pub(crate) struct Judge {
    /// Filled forms; - is standard input
    #[arg(required = true, value_name = "FILE")]
    pub(crate) files: Vec<PathBuf>,
    /// Judge for this use, whatever the form plans
    #[arg(long = "use", value_name = "USE")]
    pub(crate) planned: Option<Use>,
    /// Show how each verdict was worked out
    #[arg(long)]
    pub(crate) working: bool,
    /// Print JSON, one judgement a line
    #[arg(long)]
    pub(crate) json: bool,
    /// Also write the judgement as a page for a browser; of one form
    #[arg(long, value_name = "OUT", conflicts_with = "json")]
    pub(crate) html: Option<PathBuf>,
}

/// What to read.
#[derive(Debug, Subcommand)]
pub(crate) enum Decode {
    /// A vehicle identification number
    #[command(after_help = "Example: muster decode vin 11111111111111111")]
    Vin {
        /// Its 17 characters; spaces and hyphens do not count
        text: Vec<String>,
    },
    /// The week and year a tyre was made
    #[command(after_help = "Example: muster decode tyre-date 3219")]
    TyreDate {
        /// Four figures, alone or at the end of the whole marking
        text: Vec<String>,
    },
}

/// A warm tyre's reading and what is known about it.
#[derive(Args, Debug)]
pub(crate) struct Correct {
    /// What the gauge shows: "35.8 psi"
    pub(crate) reading: String,
    /// The tyre's own temperature: "34 °C", "93 F"
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) tyre: String,
    /// The air's temperature
    #[arg(long, allow_hyphen_values = true)]
    pub(crate) air: String,
    /// What the tyre is to show cold
    #[arg(long)]
    pub(crate) target: Option<String>,
    /// The barometer here, not reduced to sea level: "101.3 kPa"
    #[arg(long)]
    pub(crate) barometer: Option<String>,
    /// The yard's instrument it was read with, for its own uncertainty
    #[arg(long, value_name = "ID")]
    pub(crate) with: Option<String>,
}

fn units(text: &str) -> Result<Units, String> {
    match text {
        "si" => Ok(Units::Si),
        "us" => Ok(Units::Us),
        _ => Err("units are si or us".into()),
    }
}

impl WalkRound {
    /// The state the machine is found in.
    pub(super) fn found_on(&self, context: &Context<'_>) -> State {
        self.found.on(&context.machine.traits.equipment)
    }
}

pub(super) fn state(text: &str) -> Result<Found, String> {
    let mut state = Found::default();
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let (key, value) = part.split_once('=').ok_or_else(|| format!("`{part}`: write heat=cold, for one"))?;
        match key.trim() {
            "heat" => state.heat = Some(value.parse().map_err(|e| format!("{e}"))?),
            "power" => state.power = Some(value.parse().map_err(|e| format!("{e}"))?),
            "stance" => state.stance = Some(value.parse().map_err(|e| format!("{e}"))?),
            other => return Err(format!("`{other}`: name heat, power or stance")),
        }
    }
    Ok(state)
}
