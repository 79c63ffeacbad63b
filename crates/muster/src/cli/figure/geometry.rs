//! What is measured with rule, dial and wall: lamp, heights, bearings, run-out, wear, lean, and a count of flashes.

use anyhow::{Result, bail};
use clap::Subcommand;
use muster_core::{
    formula::{
        bearing::{TwoBearings, movement_at_axle, steering_head_play_with_u, wheel_bearing_play_with_u},
        heights::{Squat, SquatU, TyreSize, axle_height, free_radius, lamp_height_with_u, squashed_share_with_u},
        indicator::flash_rate_with_u,
        lamp::{AimU, inclination_with_u, reach},
        oil::{LeanCase, LeanU, Sump, lean_after, shift},
        run_out::{eccentric, eccentric_with_u, total_reading},
        tyre_marking::TyreMarking,
        wear::share_used_with_u,
    },
    quantity::{Kind, Length},
};

use super::worked::{Worked, read, u};

/// A sum about what was measured.
#[derive(Debug, Subcommand)]
pub(crate) enum Geometry {
    /// Dip of the lamp, from its height and that of the cut-off on a wall
    #[command(
        after_help = "Example: muster figure lamp-aim --lamp \"950 mm\" --cut-off \"830 mm\" --distance \"10 m\""
    )]
    LampAim {
        /// Height of the lamp's middle, rider seated: "950 mm"
        #[arg(long)]
        lamp: String,
        /// Height of the cut-off on the wall: "830 mm"
        #[arg(long)]
        cut_off: String,
        /// From lamp to wall, on level ground: "10 m"
        #[arg(long)]
        distance: String,
    },
    /// Height of a lamp after the machine has squatted
    #[command(
        after_help = "Example: muster figure lamp-height --before \"950 mm\" --front \"0 mm\" --rear \"30 mm\" --wheelbase \"1450 mm\" --ahead \"1350 mm\""
    )]
    LampHeight {
        /// Its height before
        #[arg(long)]
        before: String,
        /// How much the front went down; up with a minus
        #[arg(long, allow_hyphen_values = true)]
        front: String,
        /// How much the rear went down
        #[arg(long, allow_hyphen_values = true)]
        rear: String,
        /// Between the axles
        #[arg(long)]
        wheelbase: String,
        /// The lamp ahead of the rear axle
        #[arg(long, allow_hyphen_values = true)]
        ahead: String,
    },
    /// Height of an axle above the road, from the tyre's size; with --height, how far the load squashes the tyre
    #[command(after_help = "Example: muster figure axle-height \"120/70-17\" --height \"290 mm\"")]
    AxleHeight {
        /// The tyre's marking
        tyre: String,
        /// How far the load squashes its section
        #[arg(long, default_value = "12 %", conflicts_with = "height")]
        squashed: String,
        /// The axle's height as measured
        #[arg(long)]
        height: Option<String>,
    },
    /// Play of the steering head's bearings, from how far the axle moves
    #[command(
        after_help = "Example: muster figure head-play --movement \"2.0 mm\" --apart \"180 mm\" --reach \"700 mm\""
    )]
    HeadPlay {
        /// How far the axle moves fore and aft
        #[arg(long)]
        movement: String,
        /// Between the two bearings
        #[arg(long)]
        apart: String,
        /// From the lower bearing to the axle
        #[arg(long)]
        reach: String,
    },
    /// Play of a wheel's bearings, from how far the rim rocks
    #[command(
        after_help = "Example: muster figure wheel-play --movement \"1.0 mm\" --apart \"90 mm\" --reach \"220 mm\""
    )]
    WheelPlay {
        /// How far the rim rocks sideways at one place
        #[arg(long)]
        movement: String,
        /// Between the two bearings
        #[arg(long)]
        apart: String,
        /// From the axle to where it is read
        #[arg(long)]
        reach: String,
    },
    /// Run-out of a wheel or disc, from a dial's readings over one turn, evenly spaced
    #[command(after_help = "Example: muster figure run-out \"0.10 mm\" \"0.32 mm\" \"-0.08 mm\" \"0.05 mm\"")]
    RunOut {
        /// Readings of one turn, four or more
        #[arg(required = true)]
        readings: Vec<String>,
    },
    /// How much of what lies between new and the limit is used up
    #[command(after_help = "Example: muster figure wear --new \"7.0 mm\" --now \"3.0 mm\" --limit \"1.0 mm\"")]
    Wear {
        /// New
        #[arg(long)]
        new: String,
        /// Now
        #[arg(long)]
        now: String,
        /// The limit
        #[arg(long)]
        limit: String,
    },
    /// Lean on the side stand after the ride height has changed, and what it does to the oil on the stick
    #[command(
        after_help = "Example: muster figure oil-lean --sheet-lean \"10°\" --change \"-30 mm\" --foot \"260 mm\" --stick \"45 mm\" --width \"200 mm\" --depth \"60 mm\""
    )]
    OilLean {
        /// Lean of the sheet
        #[arg(long)]
        sheet_lean: String,
        /// How much higher it stands; lower with a minus
        #[arg(long, allow_hyphen_values = true)]
        change: String,
        /// The stand's foot out from the middle
        #[arg(long)]
        foot: String,
        /// The stick out from the sump's middle, towards the stand
        #[arg(long, allow_hyphen_values = true)]
        stick: String,
        /// The sump's width
        #[arg(long)]
        width: String,
        /// The oil's depth upright
        #[arg(long)]
        depth: String,
    },
    /// Rate of the indicators, from flashes counted over a time
    #[command(after_help = "Example: muster figure indicator-rate --flashes 23 --during \"15 s\"")]
    IndicatorRate {
        /// Flashes counted
        #[arg(long)]
        flashes: u16,
        /// Over this time: "30 s"
        #[arg(long)]
        during: String,
    },
}

// Standard uncertainties of what is read by hand (from memory).
const RULE_MM: f64 = 0.5;
const HEIGHT_MM: f64 = 5.0;
const CUT_OFF_MM: f64 = 10.0;
const PACES_MM: f64 = 20.0;
const STANCE_PERCENT: f64 = 0.1;
const WATCH_S: f64 = 0.3;
const DIAL_MM: f64 = 0.01;
const SAG_MM: f64 = 2.0;
const FELT_MM: f64 = 0.2;

pub(super) fn worked(geometry: &Geometry) -> Result<Worked> {
    match geometry {
        Geometry::LampAim { lamp, cut_off, distance } => aim(lamp, cut_off, distance),
        Geometry::LampHeight { before, front, rear, wheelbase, ahead } => {
            lamp_height([before, front, rear, wheelbase, ahead])
        }
        Geometry::AxleHeight { tyre, squashed, height } => axle(tyre, squashed, height.as_deref()),
        Geometry::HeadPlay { movement, apart, reach } => head(movement, two(apart, reach)?),
        Geometry::WheelPlay { movement, apart, reach } => {
            let play = wheel_bearing_play_with_u((length(movement)?, u(FELT_MM)?), two(apart, reach)?)?;
            let worked =
                Worked::by("movement × apart / (2 reach); u of the movement {0.2 mm}", "geometry, small angles");
            Ok(no_limit(worked.with_u("play", (play.value().mm(), play.u()), 2, "mm")))
        }
        Geometry::RunOut { readings } => run_out(readings),
        Geometry::Wear { new, now, limit } => {
            let known = u(0.1)?;
            let used = share_used_with_u((length(new)?, known), (length(now)?, known), length(limit)?)?;
            let worked = Worked::by("(new − now) / (new − limit); u of each {0.1 mm}", "definition");
            Ok(worked.with_u("used up", (used.value().percent(), used.u().scaled(100.0)?), 0, "%"))
        }
        Geometry::OilLean { sheet_lean, change, foot, stick, width, depth } => {
            oil(sheet_lean, [change, foot, stick, width, depth])
        }
        Geometry::IndicatorRate { flashes, during } => {
            let rate = flash_rate_with_u(*flashes, read(Kind::Time, during)?, u(WATCH_S)?)?;
            let worked = Worked::by("flashes / time; u: one flash, 0.3 s", "definition");
            Ok(worked.with_u("rate", (rate.value().per_minute(), rate.u()), 0, "/min").in_form("lamp.indicator-rate"))
        }
    }
}

fn length(text: &str) -> Result<Length> {
    read(Kind::Length, text)
}

fn aim(lamp: &str, cut_off: &str, distance: &str) -> Result<Worked> {
    let known = AimU {
        lamp_mm: u(HEIGHT_MM)?,
        cut_off_mm: u(CUT_OFF_MM)?,
        distance_mm: u(PACES_MM)?,
        stance_percent: u(STANCE_PERCENT)?,
    };
    let lamp = length(lamp)?;
    let aim = inclination_with_u(lamp, length(cut_off)?, length(distance)?, known)?;
    let worked = Worked::by(
        "(lamp − cut-off) / distance; u: heights {5 mm} and {10 mm}, distance {20 mm}, stance 0.1 %",
        "definition in UN R53 and R113 (from memory)",
    );
    let worked = worked.with_u("dip", (aim.value().percent(), aim.u()), 2, "%").in_form("lamp.aim");
    Ok(match reach(lamp, aim.value()) {
        Ok(far) => worked.say(format!("the cut-off meets level ground {{{:.0} m}} ahead", 1000.0 * far.km())),
        Err(_) => worked.say("level or rising: it meets no ground and dazzles"),
    })
}

fn lamp_height([before, front, rear, wheelbase, ahead]: [&str; 5]) -> Result<Worked> {
    let squat =
        Squat { front: length(front)?, rear: length(rear)?, wheelbase: length(wheelbase)?, lamp_ahead: length(ahead)? };
    let known = SquatU { lamp_mm: u(HEIGHT_MM)?, front_mm: u(SAG_MM)?, rear_mm: u(SAG_MM)? };
    let height = lamp_height_with_u(length(before)?, squat, known)?;
    let working = "before − (rear + (front − rear) ahead / wheelbase); u: lamp {5 mm}, each end {2 mm}";
    let worked = Worked::by(working, "geometry, small angles");
    Ok(worked.with_u("lamp", (height.value().mm(), height.u()), 0, "mm"))
}

fn axle(tyre: &str, squashed: &str, height: Option<&str>) -> Result<Worked> {
    let Some(size) = TyreSize::of(&TyreMarking::parse(tyre)?)? else {
        bail!("{tyre} names no aspect, as older sizes in inches do not: its height cannot be worked out of it");
    };
    let worked = Worked::by(
        "rim/2 + width × aspect × (1 − squashed); nominal: a real tyre is a little off",
        "definition of the size, UN R75 2 and annex 5 (from memory)",
    )
    .value("radius without load", free_radius(size)?.mm(), 1, "mm");
    match height {
        Some(height) => {
            let share = squashed_share_with_u(size, (length(height)?, u(RULE_MM)?), u(SAG_MM)?)?;
            Ok(worked.with_u("section squashed by", (share.value().percent(), share.u().scaled(100.0)?), 1, "%"))
        }
        None => {
            let high = axle_height(size, read(Kind::Ratio, squashed)?)?;
            Ok(worked.value("axle above the road", high.mm(), 1, "mm"))
        }
    }
}

fn two(apart: &str, reach: &str) -> Result<TwoBearings> {
    Ok(TwoBearings { apart: length(apart)?, reach: length(reach)? })
}

fn head(movement: &str, stem: TwoBearings) -> Result<Worked> {
    let play = steering_head_play_with_u((length(movement)?, u(FELT_MM)?), stem)?;
    let tenth = movement_at_axle(Length::from_mm(0.1)?, stem)?;
    let working = "movement / (1 + 2 reach / apart); u of the movement {0.2 mm}";
    let worked = Worked::by(working, "geometry, small angles; fork taken to be stiff");
    let worked = worked
        .with_u("play", (play.value().mm(), play.u()), 2, "mm")
        .say(format!("{{0.1 mm}} of play moves the axle by {{{:.1} mm}}", tenth.mm()));
    Ok(no_limit(worked))
}

fn no_limit(worked: Worked) -> Worked {
    worked.say("no law sets a limit: play that can be noticed is refused by most")
}

fn run_out(readings: &[String]) -> Result<Worked> {
    let readings: Vec<Length> = readings.iter().map(|text| length(text)).collect::<Result<_>>()?;
    let (total, off) = (total_reading(&readings)?, eccentric_with_u(&readings, u(DIAL_MM)?)?);
    let at = eccentric(&readings)?.high_at;
    let turn = 360.0 * at.one();
    let worked = Worked::by(
        "highest less lowest; eccentricity by the first harmonic of evenly spaced readings; u of each {0.01 mm}",
        "ISO 1101, circular run-out (from memory); Fourier",
    );
    Ok(worked
        .value("total indicator reading", total.mm(), 2, "mm")
        .with_u("off its middle by", (off.value().mm(), off.u()), 2, "mm")
        .say(format!("high spot {turn:.0}° on from the first reading")))
}

fn oil(sheet_lean: &str, [change, foot, stick, width, depth]: [&str; 5]) -> Result<Worked> {
    let case = LeanCase {
        sheet_lean: read(Kind::Angle, sheet_lean)?,
        ride_height_change: length(change)?,
        foot_offset: length(foot)?,
        stick_offset: length(stick)?,
    };
    let sump = Sump { width: length(width)?, depth: length(depth)? };
    let known = LeanU { ride_height_change_mm: u(SAG_MM)?, foot_offset_mm: u(HEIGHT_MM)?, stick_offset_mm: u(SAG_MM)? };
    let shift = shift(&case, sump, known)?;
    let worked = Worked::by(
        "atan(tan lean + change / foot); stick × change / foot; u: {2 mm}, {5 mm} and {2 mm}, and a tenth for the model",
        "geometry of a level surface in a box",
    );
    Ok(worked
        .value("lean now", lean_after(&case)?.degrees(), 1, "°")
        .with_u("the stick shows more by", (shift.value().mm(), shift.u()), 1, "mm")
        .say("a model: it may turn fit into watch, never a miss into fit"))
}
