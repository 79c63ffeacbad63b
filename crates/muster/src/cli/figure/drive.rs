//! Final drive: chain, belt, sprockets, and the play as the arm swings.

use anyhow::{Result, anyhow, bail};
use clap::{Args, Subcommand};
use muster_core::{
    formula::{
        belt::{BentU, SpanU, tension_from_deflection_with_u, tension_with_u},
        chain::{chain_size, elongation_with_u},
        chain_run::{ArmGeometry, PlayThere, Travel, play_at, play_to_set, tightest},
        sprocket::{self, Drive as Wheels, belt_teeth, centres_for, links, pitch_diameter, turns_till_met_again},
    },
    quantity::{Kind, Length, Unit, show},
};

use super::worked::{Worked, read, u};

/// A sum about the final drive.
#[derive(Debug, Subcommand)]
pub(crate) enum Drive {
    /// Elongation of the chain, from a length over counted pitches
    #[command(after_help = "Example: muster figure chain-elongation --length \"321 mm\" --pitches 20 --size 10B")]
    ChainElongation {
        /// Length over the pitches, chain taut: "321 mm"
        #[arg(long)]
        length: String,
        /// Pitches counted
        #[arg(long)]
        pitches: u16,
        /// Chain size, such as 520 or 10B; or give --pitch
        #[arg(long, required_unless_present = "pitch")]
        size: Option<String>,
        /// Pitch of a new chain: "15.875 mm"
        #[arg(long, conflicts_with = "size")]
        pitch: Option<String>,
    },
    /// Tension of a belt, from the note of its free span
    #[command(
        after_help = "Example: muster figure belt-note --mass \"0.11 kg/m\" --span \"170 mm\" --frequency \"220 Hz\""
    )]
    BeltNote {
        /// Mass a length: "0.11 kg/m"
        #[arg(long)]
        mass: String,
        /// Free span: "170 mm"
        #[arg(long)]
        span: String,
        /// Note of the plucked span: "220 Hz"
        #[arg(long)]
        frequency: String,
    },
    /// Tension of a belt, from a force and the deflection it makes at mid-span
    #[command(
        after_help = "Example: muster figure belt-deflection --force \"45 N\" --deflection \"10 mm\" --span \"400 mm\""
    )]
    BeltDeflection {
        /// Force at mid-span: "45 N"
        #[arg(long)]
        force: String,
        /// Deflection there: "10 mm"
        #[arg(long)]
        deflection: String,
        /// Free span: "400 mm"
        #[arg(long)]
        span: String,
    },
    /// Ratio and wear of two sprockets or pulleys; with pitch and centres, how long chain or belt must be
    #[command(
        after_help = "Example: muster figure sprockets --driving 15 --driven 42 --pitch \"15.875 mm\" --centres \"590 mm\" --links 104"
    )]
    Sprockets {
        /// Teeth at the gearbox
        #[arg(long)]
        driving: u16,
        /// Teeth at the road wheel
        #[arg(long)]
        driven: u16,
        /// Pitch of chain or belt
        #[arg(long, requires = "centres")]
        pitch: Option<String>,
        /// Between their centres
        #[arg(long, requires = "pitch")]
        centres: Option<String>,
        /// Links of the chain there is
        #[arg(long, requires = "pitch")]
        links: Option<u16>,
        /// It is a toothed belt
        #[arg(long, requires = "pitch", conflicts_with = "links")]
        belt: bool,
    },
    /// Road speed at an engine speed, by the reductions and the wheel's way in one turn
    #[command(
        after_help = "Example: muster figure road-speed --engine \"6000 /min\" --reduction 6.0 --circumference \"1900 mm\""
    )]
    RoadSpeed {
        /// Engine speed: "6000 /min"
        #[arg(long)]
        engine: String,
        /// All reductions multiplied
        #[arg(long)]
        reduction: f64,
        /// The wheel's way in one turn
        #[arg(long)]
        circumference: String,
    },
    /// Where a chain is tightest as the arm swings, and what play is left there
    #[command(
        after_help = "Example: muster figure chain-run --ahead \"80 mm\" --above \"10 mm\" --arm \"560 mm\" --front-radius \"38.18 mm\" --rear-radius \"106.22 mm\" --bumped \"-5°\" --hanging \"12°\" --read-at \"12°\" --play \"35 mm\" --least \"5 mm\""
    )]
    ChainRun(ChainRun),
}

/// Where sprockets and pivot are, and the play read.
#[derive(Args, Debug)]
pub(crate) struct ChainRun {
    /// Gearbox sprocket ahead of the arm's pivot
    #[arg(long)]
    ahead: String,
    /// Gearbox sprocket above the pivot; below it with a minus
    #[arg(long, allow_hyphen_values = true)]
    above: String,
    /// Pivot to axle
    #[arg(long)]
    arm: String,
    /// Pitch radius of the gearbox sprocket
    #[arg(long)]
    front_radius: String,
    /// Pitch radius of the wheel's sprocket
    #[arg(long)]
    rear_radius: String,
    /// The arm below the horizontal, sprung right in; above it with a minus
    #[arg(long, allow_hyphen_values = true)]
    bumped: String,
    /// The arm below the horizontal, hanging free
    #[arg(long, allow_hyphen_values = true)]
    hanging: String,
    /// The arm's angle where the play was read
    #[arg(long, allow_hyphen_values = true)]
    read_at: String,
    /// The play there
    #[arg(long)]
    play: String,
    /// The play to be left at the tightest: what to set, there where it is read
    #[arg(long)]
    least: Option<String>,
}

// Standard uncertainties of what is read by hand (from memory).
const RULE_MM: f64 = 0.5;
const NOTE_HZ: f64 = 1.0;
const SCALE_N: f64 = 0.5;
const WEIGHED_KG_PER_M: f64 = 0.001;

pub(super) fn worked(drive: &Drive) -> Result<Worked> {
    match drive {
        Drive::ChainElongation { length, pitches, size, pitch } => {
            chain(length, *pitches, size.as_deref(), pitch.as_deref())
        }
        Drive::BeltNote { mass, span, frequency } => note(mass, span, frequency),
        Drive::BeltDeflection { force, deflection, span } => bent(force, deflection, span),
        Drive::Sprockets { driving, driven, pitch, centres, links, belt } => {
            let long = pitch.as_deref().zip(centres.as_deref());
            sprockets((*driving, *driven), long, *links, *belt)
        }
        Drive::RoadSpeed { engine, reduction, circumference } => {
            let (engine, round) = (read(Kind::Frequency, engine)?, read(Kind::Length, circumference)?);
            let speed = sprocket::road_speed(engine, *reduction, round)?;
            let worked = Worked::by("60 n U / (10⁶ i)", "definition");
            Ok(worked
                .value("road speed", speed.km_per_h(), 1, "km/h")
                .say("slip and the tyre's growth are left out: a driven tyre is some per cent slower"))
        }
        Drive::ChainRun(of) => run(of),
    }
}

fn chain(length: &str, pitches: u16, size: Option<&str>, pitch: Option<&str>) -> Result<Worked> {
    let pitch: Length = match (size, pitch) {
        (Some(size), _) => {
            let found = chain_size(size).ok_or_else(|| anyhow!("chain size `{size}` is not known: give --pitch"))?;
            Length::from_mm(found.pitch_mm)?
        }
        (None, Some(pitch)) => read(Kind::Length, pitch)?,
        (None, None) => bail!("give --size or --pitch"),
    };
    let longer = elongation_with_u((read(Kind::Length, length)?, u(RULE_MM)?), pitches, pitch)?;
    let working = format!(
        "length / ({pitches} × {{{}}}) − 1; u of the length {{0.5 mm}}",
        show::plain(pitch.mm(), Unit::Millimetre)
    );
    let hundred = longer.u().scaled(100.0)?;
    Ok(Worked::by(working, "definition; pitches of ISO 606 (from memory)")
        .with_u("elongation", (longer.value().percent(), hundred), 2, "%")
        .in_form("chain.elongation"))
}

fn note(mass: &str, span: &str, frequency: &str) -> Result<Worked> {
    let known = SpanU { mass_kg_per_m: u(WEIGHED_KG_PER_M)?, span_m: u(RULE_MM / 1000.0)?, frequency_hz: u(NOTE_HZ)? };
    let (mass, span) = (read(Kind::LinearDensity, mass)?, read(Kind::Length, span)?);
    let tension = tension_with_u(mass, span, read(Kind::Frequency, frequency)?, known)?;
    let working =
        "4 µ L² f², µ the mass a length, first mode, no stiffness (a stiff belt reads high); u: 1 g/m, {0.5 mm}, 1 Hz";
    Ok(Worked::by(working, "a string's first mode").with_u("tension", (tension.value().newton(), tension.u()), 0, "N"))
}

fn bent(force: &str, deflection: &str, span: &str) -> Result<Worked> {
    let known = BentU { force_n: u(SCALE_N)?, deflection_mm: u(RULE_MM)?, span_mm: u(RULE_MM)? };
    let (force, deflection) = (read(Kind::Force, force)?, read(Kind::Length, deflection)?);
    let tension = tension_from_deflection_with_u(force, deflection, read(Kind::Length, span)?, known)?;
    let worked = Worked::by("F √((t/2)² + d²) / (2 d); u: {0.5 N}, {0.5 mm}", "statics at mid-span");
    Ok(worked.with_u("tension", (tension.value().newton(), tension.u()), 0, "N"))
}

fn sprockets(
    (driving, driven): (u16, u16),
    long: Option<(&str, &str)>,
    fitted: Option<u16>,
    belt: bool,
) -> Result<Worked> {
    let turns = turns_till_met_again(driving, driven)?;
    let met = if sprocket::hunts(driving, driven)? {
        "every tooth meets every other before any pair meets again: wear is spread".to_owned()
    } else {
        format!("the same teeth meet again after {turns} turns of the small one, of {driven} possible")
    };
    let working = "teeth driven / driving; 2 C/p + (z1 + z2)/2 + ((z2 − z1)/2π)² p/C for a chain's links";
    let mut worked = Worked::by(working, "definition; chain makers' pages (read), ISO 606 (from memory)").value(
        "ratio",
        sprocket::ratio(driving, driven)?,
        3,
        "",
    );
    if let Some((pitch, centres)) = long {
        let (pitch, centres) = (read(Kind::Length, pitch)?, read(Kind::Length, centres)?);
        let wheels = Wheels { driving, driven, centres, pitch };
        if belt {
            worked = worked.value("teeth of the belt", belt_teeth(wheels)?, 2, "");
        } else {
            let asked = links(wheels)?;
            worked = worked
                .value("links by the geometry", asked.exact, 2, "")
                .value("links to use", f64::from(asked.even), 0, "")
                .value("pitch circle, driving", pitch_diameter(driving, pitch)?.mm(), 1, "mm")
                .value("pitch circle, driven", pitch_diameter(driven, pitch)?.mm(), 1, "mm");
        }
        if let Some(fitted) = fitted {
            worked = worked.value("centres at which those links are taut", centres_for(fitted, wheels)?.mm(), 1, "mm");
        }
    }
    Ok(worked.say(met))
}

fn run(of: &ChainRun) -> Result<Worked> {
    let length = |text: &str| read(Kind::Length, text);
    let angle = |text: &str| read(Kind::Angle, text);
    let geometry = ArmGeometry {
        sprocket_ahead: length(&of.ahead)?,
        sprocket_above: length(&of.above)?,
        arm: length(&of.arm)?,
        front_radius: length(&of.front_radius)?,
        rear_radius: length(&of.rear_radius)?,
    };
    let travel = Travel { bumped: angle(&of.bumped)?, hanging: angle(&of.hanging)? };
    let (read_at, there) = (angle(&of.read_at)?, tightest(geometry, travel)?);
    let worked = Worked::by(
        "sprockets, pivot and arm as a triangle; the chain's length unchanged, all its slack in one run",
        "geometry",
    )
    .value("tightest, arm below the horizontal", there.arm.degrees(), 1, "°")
    .value("sprockets apart there", there.centres.mm(), 1, "mm");
    let play = play_at(geometry, (read_at, length(&of.play)?), there.arm)?;
    let worked = play_of(worked, "play left there", play);
    let Some(least) = &of.least else { return Ok(worked) };
    let set = play_to_set(geometry, travel, length(least)?, read_at)?;
    Ok(play_of(worked, "play to set where it is read", set))
}

fn play_of(worked: Worked, name: &'static str, play: PlayThere) -> Worked {
    match play {
        PlayThere::Left(left) => worked.value(name, left.mm(), 1, "mm"),
        PlayThere::TooShort(by) => {
            let by = by.mm();
            worked.say(format!("{name}: none, too short by {{{by:.1} mm}}: it pulls at bearings and gearbox"))
        }
    }
}
