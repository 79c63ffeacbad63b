//! Tyres: what is moulded on one, what it carries, and its pressure elsewhere; `muster correct` takes a warm one to cold.

use anyhow::{Context as _, Result, bail};
use clap::Subcommand;
use muster_core::{
    formula::{
        tyre_fit::mismatches,
        tyre_gas::{Surroundings, at_altitude, predicted_barometer},
        tyre_index,
        tyre_load::LoadTable,
        tyre_marking::{Tube, TyreMarking},
    },
    quantity::{AbsolutePressure, GaugePressure, Kind, Mass},
};

use super::worked::{Worked, read, u};

/// A sum about a tyre.
#[derive(Debug, Subcommand)]
pub(crate) enum Tyre {
    /// What a tyre's marking says; with --asked, whether it is what the sheet asks for
    #[command(
        name = "tyre-marking",
        after_help = "Example: muster figure tyre-marking \"120/70 ZR 17 M/C (58W) TL\" --asked \"120/70 R 17 M/C 58V TL\""
    )]
    Marking {
        /// As it is moulded: 120/70 ZR 17 M/C (58W) TL
        #[arg(required = true)]
        text: Vec<String>,
        /// What the sheet asks for
        #[arg(long)]
        asked: Option<String>,
    },
    /// What a tyre carries at a cold pressure, or the pressure it needs for a load, from its maker's rows
    #[command(
        name = "tyre-load",
        after_help = "Example: muster figure tyre-load --row \"200 kPa = 198 kg\" --row \"250 kPa = 236 kg\" --pressure \"225 kPa\""
    )]
    Load {
        /// A row of the maker's table: "200 kPa = 198 kg"; two or more, lowest first
        #[arg(long = "row", required = true)]
        rows: Vec<String>,
        /// The cold pressure
        #[arg(long, required_unless_present = "load")]
        pressure: Option<String>,
        /// The load on the tyre
        #[arg(long, conflicts_with = "pressure")]
        load: Option<String>,
    },
    /// What a gauge will show at another height and temperature: a prediction, never a correction
    #[command(
        name = "tyre-altitude",
        after_help = "Example: muster figure tyre-altitude --reading \"250 kPa\" --gas \"20 C\" --altitude \"100 m\" --gas-there \"5 C\" --altitude-there \"2000 m\""
    )]
    Altitude {
        /// What the gauge shows here
        #[arg(long)]
        reading: String,
        /// The tyre's temperature here
        #[arg(long, allow_hyphen_values = true)]
        gas: String,
        /// How high it is here: "100 m"
        #[arg(long)]
        altitude: String,
        /// The barometer here, not taken to sea level
        #[arg(long, default_value = "101.3 kPa")]
        barometer: String,
        /// The tyre's temperature there
        #[arg(long, allow_hyphen_values = true)]
        gas_there: String,
        /// How high it is there
        #[arg(long)]
        altitude_there: String,
    },
}

/// Standard uncertainty of a gauge's reading (from memory).
const GAUGE_KPA: f64 = 3.5;

pub(super) fn worked(tyre: &Tyre) -> Result<Worked> {
    match tyre {
        Tyre::Marking { text, asked } => marking(&text.join(" "), asked.as_deref()),
        Tyre::Load { rows, pressure, load: wanted } => load(rows, pressure.as_deref(), wanted.as_deref()),
        Tyre::Altitude { reading, gas, altitude, barometer, gas_there, altitude_there } => {
            elsewhere(reading, [gas, altitude, barometer], [gas_there, altitude_there])
        }
    }
}

fn marking(text: &str, asked: Option<&str>) -> Result<Worked> {
    let read = TyreMarking::parse(text)?;
    let mut worked = Worked::by(
        "width, aspect, how it is built, rim; load index and speed symbol by their tables",
        tyre_index::SOURCE,
    );
    worked = worked.value("width", read.width_length()?.mm(), 0, "mm").by_name();
    if let Some(aspect) = read.aspect {
        worked = worked.value("height, of the width", f64::from(aspect), 0, "%");
    }
    worked = worked.value("rim", f64::from(read.rim_code), 0, "in");
    if let Some(load) = read.load {
        worked = worked.value("carries", load.load()?.kg(), 0, "kg");
    }
    if let Some(speed) = read.speed {
        let name = if speed.is_above() { "good for more than" } else { "good for" };
        worked = worked.value(name, speed.speed()?.km_per_h(), 0, "km/h");
    }
    worked = worked.say(format!("built: {}", read.construction));
    worked = worked.say(match read.tube {
        Some(Tube::Tubeless) => "holds its air itself (TL)",
        Some(Tube::Tubed) => "needs a tube (TT)",
        None => "tube or none: not marked",
    });
    if !read.motorcycle {
        worked = worked.say("M/C is not marked: look whether the rim asks for it");
    }
    if let Some(plies) = read.ply_rating {
        worked = worked.say(format!("ply rating {plies}"));
    }
    let Some(asked) = asked else { return Ok(worked) };
    let found = mismatches(&read, &TyreMarking::parse(asked).context("what the sheet asks for")?);
    if found.is_empty() {
        return Ok(worked.say("fits what is asked for: size and build the same, load and speed at least"));
    }
    Ok(found.iter().fold(worked, |worked, one| worked.say(format!("does not fit: {one}"))))
}

fn load(rows: &[String], pressure: Option<&str>, wanted: Option<&str>) -> Result<Worked> {
    let row = |row: &String| -> Result<(GaugePressure, Mass)> {
        let (pressure, load) = row.split_once('=').with_context(|| format!("`{row}`: write \"200 kPa = 198 kg\""))?;
        Ok((read(Kind::GaugePressure, pressure.trim())?, read(Kind::Mass, load.trim())?))
    };
    let table = LoadTable::new(&rows.iter().map(row).collect::<Result<Vec<_>>>()?)?;
    let working = "load grows as a power of the pressure between two rows; nothing beyond them; u: gauge {3.5 kPa}";
    let worked = Worked::by(working, "the maker's rows; the law of the tyre standards (from memory)");
    match (pressure, wanted) {
        (Some(pressure), _) => {
            let carried = table.load_at_with_u((read(Kind::GaugePressure, pressure)?, u(GAUGE_KPA)?))?;
            Ok(worked.with_u("carries", (carried.value().kg(), carried.u()), 0, "kg"))
        }
        (None, Some(load)) => {
            let needed = table.pressure_for(read(Kind::Mass, load)?)?;
            Ok(worked.value("cold pressure", needed.kpa(), 0, "kPa").say("at least: the machine's own figure counts"))
        }
        (None, None) => bail!("give --pressure or --load"),
    }
}

fn elsewhere(
    reading: &str,
    [gas, altitude, barometer]: [&str; 3],
    [gas_there, altitude_there]: [&str; 2],
) -> Result<Worked> {
    let (here, there) = (read(Kind::Distance, altitude)?, read(Kind::Distance, altitude_there)?);
    let barometer: AbsolutePressure = read(Kind::AbsolutePressure, barometer)?;
    let gas = read(Kind::Temperature, gas)?;
    let from = (Surroundings { gas, barometer }, here);
    let shown = at_altitude(read(Kind::GaugePressure, reading)?, from, (read(Kind::Temperature, gas_there)?, there))?;
    let air = predicted_barometer((here, barometer), there)?;
    let worked = Worked::by(
        "(p + barometer) T there / T here − barometer there; the weather of here goes along",
        "Gay-Lussac's law; ISO 2533:1975, the standard atmosphere (constants from memory)",
    );
    Ok(worked
        .value("the gauge there", shown.kpa(), 0, "kPa")
        .value("barometer there", air.kpa(), 1, "kPa")
        .say("a prediction: pressures are set and read where the machine stands"))
}
