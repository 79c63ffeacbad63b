//! The 12 V battery: its charge at rest, its charging, what it loses standing.

use anyhow::Result;
use clap::{Subcommand, ValueEnum};
use muster_core::{
    formula::{
        battery::{Charge, Chemistry, RestReading, RestTable, RestU, refuse_plateau, state_of_charge_with_u},
        charging::{Charging, Window},
        standing::{Overnight, Standing, StandingU, overnight, stands_for_with_u, time_to_see},
    },
    quantity::{Current, Kind, Unit, show},
};

use super::worked::{Worked, read, u};

/// A sum about a battery.
#[derive(Debug, Subcommand)]
pub(crate) enum Battery {
    /// Charge of a 12 V battery, from its voltage at rest
    #[command(
        after_help = "Example: muster figure charge --volts \"12.5 V\" --chemistry agm --temperature \"15 C\" --rested \"12 h\""
    )]
    Charge {
        /// Voltage at rest: "12.5 V"
        #[arg(long)]
        volts: String,
        /// What it is made of
        #[arg(long)]
        chemistry: ChemistryName,
        /// Temperature of the battery: "15 C"
        #[arg(long, allow_hyphen_values = true)]
        temperature: String,
        /// How long it has rested: "12 h"
        #[arg(long)]
        rested: String,
    },
    /// The window a charging voltage should lie in at the battery's temperature, and whether one does
    #[command(
        after_help = "Example: muster figure charging --low \"13.5 V\" --high \"14.4 V\" --temperature \"0 C\" --read \"14.9 V\""
    )]
    Charging {
        /// The least at 25 °C, from the handbook
        #[arg(long)]
        low: String,
        /// The most at 25 °C
        #[arg(long)]
        high: String,
        /// Temperature of the battery
        #[arg(long, allow_hyphen_values = true)]
        temperature: String,
        /// Cells: six make 12 V
        #[arg(long, default_value_t = 6)]
        cells: u8,
        /// What the meter shows
        #[arg(long = "read")]
        shown: Option<String>,
    },
    /// What a machine draws overnight, from two voltages at rest
    #[command(
        after_help = "Example: muster figure overnight --before \"12.62 V\" --after \"12.58 V\" --between \"14 h\" --capacity 12 --chemistry flooded --temperature \"15 C\" --rested \"12 h\" --see \"5 mA\""
    )]
    Overnight {
        /// The voltage before
        #[arg(long)]
        before: String,
        /// The voltage after
        #[arg(long)]
        after: String,
        /// The time between
        #[arg(long)]
        between: String,
        /// Capacity, Ah
        #[arg(long)]
        capacity: f64,
        /// What it is made of
        #[arg(long)]
        chemistry: ChemistryName,
        /// Temperature of the battery before, and after unless said
        #[arg(long, allow_hyphen_values = true)]
        temperature: String,
        /// Temperature of the battery after
        #[arg(long, allow_hyphen_values = true)]
        temperature_after: Option<String>,
        /// How long it had rested before the first reading
        #[arg(long)]
        rested: String,
        /// A draw to be seen: how long it must stand for that
        #[arg(long)]
        see: Option<String>,
    },
    /// How long a battery stands a draw before it falls to the least charge
    #[command(
        after_help = "Example: muster figure stands-for --now \"100 %\" --least \"50 %\" --capacity 12 --draw \"20 mA\""
    )]
    StandsFor {
        /// Charge now
        #[arg(long)]
        now: String,
        /// Charge not to go below
        #[arg(long, default_value = "50 %")]
        least: String,
        /// Capacity, Ah
        #[arg(long)]
        capacity: f64,
        /// What it draws
        #[arg(long)]
        draw: String,
    },
}

/// What a battery is made of.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum ChemistryName {
    /// Lead-acid with liquid.
    Flooded,
    /// Lead-acid in glass mats.
    Agm,
    /// Lithium iron phosphate.
    LithiumIron,
}

impl ChemistryName {
    fn chemistry(self) -> Chemistry {
        match self {
            Self::Flooded => Chemistry::LeadAcidFlooded,
            Self::Agm => Chemistry::AbsorbedGlassMat,
            Self::LithiumIron => Chemistry::LithiumIronPhosphate,
        }
    }
}

// Standard uncertainties of what is read by hand (from memory).
const METER_VOLT: f64 = 0.005;
const THERMOMETER_K: f64 = 2.0;
const METER_AMPERE: f64 = 0.0005;
const CHARGE: f64 = 0.05;
const CAPACITY_SHARE: f64 = 0.1;

const REST_SOURCE: &str = "rest voltages from a battery maker's page and a vehicle maker's handbook, both read";

pub(super) fn worked(battery: &Battery) -> Result<Worked> {
    match battery {
        Battery::Charge { volts, chemistry, temperature, rested } => charge(volts, *chemistry, temperature, rested),
        Battery::Charging { low, high, temperature, cells, shown } => {
            charging([low, high, temperature], *cells, shown.as_deref())
        }
        Battery::Overnight {
            before,
            after,
            between,
            capacity,
            chemistry,
            temperature,
            temperature_after,
            rested,
            see,
        } => {
            let warmth = [temperature.as_str(), temperature_after.as_deref().unwrap_or(temperature)];
            night([before, after, between, rested], warmth, (*capacity, *chemistry), see.as_deref())
        }
        Battery::StandsFor { now, least, capacity, draw } => stands(now, least, *capacity, draw),
    }
}

fn charge(volts: &str, chemistry: ChemistryName, temperature: &str, rested: &str) -> Result<Worked> {
    let voltage = read(Kind::Voltage, volts)?;
    refuse_plateau(chemistry.chemistry(), voltage)?;
    let table = RestTable::built_in(chemistry.chemistry())?;
    let reading =
        RestReading { voltage, battery: read(Kind::Temperature, temperature)?, rested: read(Kind::Time, rested)? };
    let known = RestU { volt: u(METER_VOLT)?, battery_k: u(THERMOMETER_K)? };
    let worked =
        Worked::by("of full, by the table of rest voltages; u: meter 5 mV, {2 K}, and the table's own", REST_SOURCE);
    Ok(match state_of_charge_with_u(&table, reading, known)? {
        Charge::Share(share) => worked.with_u("charge", (share.value().percent(), share.u().scaled(100.0)?), 0, "%"),
        Charge::Under(share) => {
            worked.say(format!("under {}, less than the table tells", show::rounded(share.percent(), 0, Unit::Percent)))
        }
        Charge::Flat => worked.say("flat: at or below the table's empty"),
        Charge::AboveFull { excess } => worked.say(format!(
            "above full by {}: still charging, or not rested; read it again after a rest",
            show::rounded(excess.volt(), 2, Unit::Volt)
        )),
    })
}

fn charging([low, high, temperature]: [&str; 3], cells: u8, shown: Option<&str>) -> Result<Worked> {
    let window = Window::new(read(Kind::Voltage, low)?, read(Kind::Voltage, high)?)?;
    let window = window.at(cells, read(Kind::Temperature, temperature)?)?;
    let worked = Worked::by("each bound −3 mV a cell for {1 K} above {25 °C}", "three public battery pages (read)")
        .value("at least", window.low().volt(), 2, "V")
        .value("at most", window.high().volt(), 2, "V")
        .say("a regulator that does not follow the battery's temperature keeps the handbook's bounds as they stand");
    let Some(shown) = shown else { return Ok(worked) };
    let volts = |of: f64| show::rounded(of, 2, Unit::Volt);
    Ok(worked.say(match window.compare(read(Kind::Voltage, shown)?)? {
        Charging::Under(by) => format!("too little by {}: the battery is not charged full", volts(by.volt())),
        Charging::Within => "within".into(),
        Charging::Over(by) => format!("too much by {}: the battery gasses and dries out", volts(by.volt())),
    }))
}

fn night(
    [before, after, between, rested]: [&str; 4],
    [warmth, warmth_after]: [&str; 2],
    (capacity, chemistry): (f64, ChemistryName),
    see: Option<&str>,
) -> Result<Worked> {
    let table = RestTable::built_in(chemistry.chemistry())?;
    let reading = |volts: &str, warmth: &str| -> Result<RestReading> {
        Ok(RestReading {
            voltage: read(Kind::Voltage, volts)?,
            battery: read(Kind::Temperature, warmth)?,
            rested: read(Kind::Time, rested)?,
        })
    };
    let (first, last) = (reading(before, warmth)?, reading(after, warmth_after)?);
    let each = RestU { volt: u(METER_VOLT)?, battery_k: u(THERMOMETER_K)? };
    let found = overnight(&table, (first, last), read(Kind::Time, between)?, capacity, each)?;
    let worked =
        Worked::by("(s1 − s2) C / t, s from the table of rest voltages; u: meter 5 mV, {2 K} each", REST_SOURCE);
    let worked = match found {
        Overnight::Draw(draw) => worked
            .with_u("draw", (draw.value().milliampere(), draw.u().scaled(1000.0)?), 1, "mA")
            .in_form("battery.draw"),
        Overnight::NotResolvable { at_most } => worked.say(format!(
            "the meter cannot tell: it may be anything up to {}; let it stand longer",
            show::rounded(at_most.milliampere(), 1, Unit::Milliampere)
        )),
    };
    let Some(see) = see else { return Ok(worked) };
    let draw: Current = read(Kind::Current, see)?;
    let time = time_to_see(&table, first, capacity, draw, u(METER_VOLT)?)?;
    let said = show::rounded(draw.milliampere(), 1, Unit::Milliampere);
    Ok(worked.say(format!("to see {said} it must stand {}", show::rounded(time.hours(), 0, Unit::Hour))))
}

fn stands(now: &str, least: &str, capacity: f64, draw: &str) -> Result<Worked> {
    let standing =
        Standing { now: read(Kind::Ratio, now)?, least: read(Kind::Ratio, least)?, capacity_ampere_hours: capacity };
    let known = StandingU {
        now: u(CHARGE)?,
        capacity_ampere_hours: u(CAPACITY_SHARE * capacity)?,
        draw_ampere: u(METER_AMPERE)?,
    };
    let time = stands_for_with_u(standing, read(Kind::Current, draw)?, known)?;
    let worked = Worked::by("(s − least) C / I; u: charge 5 %, capacity a tenth, draw 0.5 mA", "definition");
    Ok(worked
        .with_u("stands for", (time.value().days(), time.u().scaled(1.0 / 24.0)?), 1, "d")
        .say("self-discharge comes on top: some per cent a month, more in the warm (common practice)"))
}
