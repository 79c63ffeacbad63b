//! `muster figure`: works out the figure a check asks for from what was counted, weighed or measured.

use anyhow::{Result, anyhow, bail};
use clap::{Subcommand, ValueEnum};
use muster_core::{
    formula::{
        battery::{Charge, Chemistry, RestReading, RestTable, RestU, refuse_plateau, state_of_charge_with_u},
        belt::{BentU, SpanU, tension_from_deflection_with_u, tension_with_u},
        chain::{chain_size, elongation_with_u},
        coolant::{Concentration, Glycol, freezing_point_with_u},
        indicator::flash_rate_with_u,
        lamp::{AimU, inclination_with_u},
    },
    quantity::{Amount, Kind, Length, OutOfRange, Unit, show, text, text::DecimalSign},
    statistics::uncertainty::StandardUncertainty,
};

use super::{MAY_GO, paper};

/// What is to be worked out.
#[derive(Debug, Subcommand)]
pub(crate) enum Figure {
    /// Dip of the lamp, from its height and that of the cut-off on a wall
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
    /// Elongation of the chain, from a length over counted pitches
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
    /// Charge of a 12 V battery, from its voltage at rest
    Charge {
        /// Voltage at rest: "12.5 V"
        #[arg(long)]
        volts: String,
        /// What it is made of
        #[arg(long)]
        chemistry: ChemistryName,
        /// Temperature of the battery: "15 C"
        #[arg(long)]
        temperature: String,
        /// How long it has rested: "12 h"
        #[arg(long)]
        rested: String,
    },
    /// Freezing point of the coolant, from its share of glycol
    Coolant {
        /// The glycol
        #[arg(long)]
        glycol: GlycolName,
        /// Its share: "33 %"
        #[arg(long)]
        share: String,
        /// Whether the share is of the mass or of the volume
        #[arg(long, default_value = "volume")]
        by: ShareOf,
    },
    /// Rate of the indicators, from flashes counted over a time
    IndicatorRate {
        /// Flashes counted
        #[arg(long)]
        flashes: u16,
        /// Over this time: "30 s"
        #[arg(long)]
        during: String,
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

/// What keeps the coolant from freezing.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum GlycolName {
    /// Ethylene glycol.
    Ethylene,
    /// Propylene glycol.
    Propylene,
}

/// What a share is a share of.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(crate) enum ShareOf {
    /// Of the mass.
    Mass,
    /// Of the volume.
    Volume,
}

// Standard uncertainties of what is read by hand (from memory): said in every answer, so that a better tool is no secret.
const RULE_MM: f64 = 0.5;
const HEIGHT_MM: f64 = 5.0;
const CUT_OFF_MM: f64 = 10.0;
const PACES_MM: f64 = 20.0;
const STANCE_PERCENT: f64 = 0.1;
const METER_VOLT: f64 = 0.005;
const THERMOMETER_K: f64 = 2.0;
const WATCH_S: f64 = 0.3;
const NOTE_HZ: f64 = 1.0;
const SCALE_N: f64 = 0.5;
const WEIGHED_KG_PER_M: f64 = 0.001;
const SHARE: f64 = 0.01;

/// Works it out and prints it.
///
/// # Errors
/// A figure that cannot be read, or lies outside what its formula covers.
pub(crate) fn run(figure: &Figure) -> Result<u8> {
    paper::print(&format!("{}\n", worked(figure, DecimalSign::Point)?))?;
    Ok(MAY_GO)
}

fn worked(figure: &Figure, sign: DecimalSign) -> Result<String> {
    let given = Given { sign };
    match figure {
        Figure::LampAim { lamp, cut_off, distance } => given.lamp_aim(lamp, cut_off, distance),
        Figure::ChainElongation { length, pitches, size, pitch } => {
            given.chain(length, *pitches, size.as_deref(), pitch.as_deref())
        }
        Figure::BeltNote { mass, span, frequency } => given.belt_note(mass, span, frequency),
        Figure::BeltDeflection { force, deflection, span } => given.belt_deflection(force, deflection, span),
        Figure::Charge { volts, chemistry, temperature, rested } => {
            given.charge(volts, *chemistry, temperature, rested)
        }
        Figure::Coolant { glycol, share, by } => given.coolant(*glycol, share, *by),
        Figure::IndicatorRate { flashes, during } => given.indicator(*flashes, during),
    }
}

struct Given {
    sign: DecimalSign,
}

impl Given {
    fn read<T: TryFrom<Amount, Error = OutOfRange>>(&self, kind: Kind, text: &str) -> Result<T> {
        Ok(T::try_from(text::read(kind, text, self.sign)?)?)
    }

    fn lamp_aim(&self, lamp: &str, cut_off: &str, distance: &str) -> Result<String> {
        let known = AimU {
            lamp_mm: u(HEIGHT_MM)?,
            cut_off_mm: u(CUT_OFF_MM)?,
            distance_mm: u(PACES_MM)?,
            stance_percent: u(STANCE_PERCENT)?,
        };
        let (lamp, cut_off) = (self.read(Kind::Length, lamp)?, self.read(Kind::Length, cut_off)?);
        let aim = inclination_with_u(lamp, cut_off, self.read(Kind::Length, distance)?, known)?;
        Ok(said(
            "lamp.aim",
            (aim.value().percent(), aim.u(), 2, Unit::PercentSlope),
            "(lamp − cut-off) / distance; u: heights 5 and 10 mm, distance 20 mm, stance 0.1 %",
        ))
    }

    fn chain(&self, length: &str, pitches: u16, size: Option<&str>, pitch: Option<&str>) -> Result<String> {
        let pitch: Length = match (size, pitch) {
            (Some(size), _) => {
                let found =
                    chain_size(size).ok_or_else(|| anyhow!("chain size `{size}` is not known: give --pitch"))?;
                Length::from_mm(found.pitch_mm)?
            }
            (None, Some(pitch)) => self.read(Kind::Length, pitch)?,
            (None, None) => bail!("give --size or --pitch"),
        };
        let longer = elongation_with_u((self.read(Kind::Length, length)?, u(RULE_MM)?), pitches, pitch)?;
        let working =
            format!("length / ({pitches} × {}) − 1; u of the length 0.5 mm", show::plain(pitch.mm(), Unit::Millimetre));
        let hundred = longer.u().scaled(100.0)?;
        Ok(said("chain.elongation", (longer.value().percent(), hundred, 2, Unit::Percent), &working))
    }

    fn belt_note(&self, mass: &str, span: &str, frequency: &str) -> Result<String> {
        let known =
            SpanU { mass_kg_per_m: u(WEIGHED_KG_PER_M)?, span_m: u(RULE_MM / 1000.0)?, frequency_hz: u(NOTE_HZ)? };
        let (mass, span) = (self.read(Kind::LinearDensity, mass)?, self.read(Kind::Length, span)?);
        let tension = tension_with_u(mass, span, self.read(Kind::Frequency, frequency)?, known)?;
        Ok(told(
            (tension.value().newton(), tension.u(), 0, Unit::Newton),
            "4 m L² f², first mode, no stiffness (a stiff belt reads high); u: 1 g/m, 0.5 mm, 1 Hz",
        ))
    }

    fn belt_deflection(&self, force: &str, deflection: &str, span: &str) -> Result<String> {
        let known = BentU { force_n: u(SCALE_N)?, deflection_mm: u(RULE_MM)?, span_mm: u(RULE_MM)? };
        let (force, deflection) = (self.read(Kind::Force, force)?, self.read(Kind::Length, deflection)?);
        let tension = tension_from_deflection_with_u(force, deflection, self.read(Kind::Length, span)?, known)?;
        Ok(told(
            (tension.value().newton(), tension.u(), 0, Unit::Newton),
            "F √((t/2)² + d²) / (2 d), statics at mid-span; u: 0.5 N, 0.5 mm",
        ))
    }

    fn charge(&self, volts: &str, chemistry: ChemistryName, temperature: &str, rested: &str) -> Result<String> {
        let chemistry = match chemistry {
            ChemistryName::Flooded => Chemistry::LeadAcidFlooded,
            ChemistryName::Agm => Chemistry::AbsorbedGlassMat,
            ChemistryName::LithiumIron => Chemistry::LithiumIronPhosphate,
        };
        let voltage = self.read(Kind::Voltage, volts)?;
        refuse_plateau(chemistry, voltage)?;
        let table = RestTable::built_in(chemistry)?;
        let battery = self.read(Kind::Temperature, temperature)?;
        let reading = RestReading { voltage, battery, rested: self.read(Kind::Time, rested)? };
        let known = RestU { volt: u(METER_VOLT)?, battery_k: u(THERMOMETER_K)? };
        Ok(match state_of_charge_with_u(&table, reading, known)? {
            Charge::Share(share) => told(
                (share.value().percent(), share.u().scaled(100.0)?, 0, Unit::Percent),
                "of full, by the table of rest voltages; u: meter 5 mV, 2 K, and the table's own",
            ),
            Charge::Under(share) => {
                format!("under {}, less than the table tells", show::rounded(share.percent(), 0, Unit::Percent))
            }
            Charge::Flat => "flat: at or below the table's empty".to_owned(),
            Charge::AboveFull { excess } => format!(
                "above full by {}: still charging, or not rested; read it again after a rest",
                show::rounded(excess.volt(), 2, Unit::Volt)
            ),
        })
    }

    fn coolant(&self, glycol: GlycolName, share: &str, by: ShareOf) -> Result<String> {
        let glycol = match glycol {
            GlycolName::Ethylene => Glycol::Ethylene,
            GlycolName::Propylene => Glycol::Propylene,
        };
        let share = self.read(Kind::Ratio, share)?;
        let concentration = match by {
            ShareOf::Mass => Concentration::MassFraction(share),
            ShareOf::Volume => Concentration::VolumeFraction(share),
        };
        let point = freezing_point_with_u(glycol, concentration, u(SHARE)?)?;
        Ok(said(
            "coolant.freezing",
            (point.value().celsius(), point.u(), 0, Unit::Celsius),
            "table after Melinder (2010); u: 1 % of share, and the tables' disagreement",
        ))
    }

    fn indicator(&self, flashes: u16, during: &str) -> Result<String> {
        let rate = flash_rate_with_u(flashes, self.read(Kind::Time, during)?, u(WATCH_S)?)?;
        Ok(said(
            "lamp.indicator-rate",
            (rate.value().per_minute(), rate.u(), 0, Unit::PerMinute),
            "flashes / time; u: one flash, 0.3 s",
        ))
    }
}

fn u(value: f64) -> Result<StandardUncertainty> {
    Ok(StandardUncertainty::new(value)?)
}

fn told((value, u, decimals, unit): (f64, StandardUncertainty, usize, Unit), working: &str) -> String {
    let figure = show::grouped(&format!("{value:.decimals$}"));
    format!("{figure} ± {}\n  {working}", show::rounded(u.expanded(), decimals.max(1), unit))
}

fn said(check: &str, figure: (f64, StandardUncertainty, usize, Unit), working: &str) -> String {
    let (value, _, decimals, unit) = figure;
    let symbol = unit.symbol();
    format!("{}\n  in a form: check = \"{check}\", read = \"{value:.decimals$} {symbol}\"", told(figure, working))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(figure: &Figure) -> String {
        let text = worked(figure, DecimalSign::Point).unwrap_or_else(|error| format!("refused: {error:#}"));
        text.lines().next().unwrap_or_default().replace('\u{a0}', " ")
    }

    #[test]
    fn worked_examples_from_outside() {
        // A dip of 120 mm over 10 m is 1.2 % by the definition of inclination (UN R53, from memory).
        let aim = Figure::LampAim { lamp: "950 mm".into(), cut_off: "830 mm".into(), distance: "10 m".into() };
        assert_eq!(line(&aim), "1.20 ± 0.30 %");
        // 20 pitches of 15.875 mm measured at 321 mm: 1.102 % (computed from the definition with Python 3.11).
        let chain = Figure::ChainElongation {
            length: "321 mm".into(),
            pitches: 20,
            size: None,
            pitch: Some("15.875 mm".into()),
        };
        assert!(line(&chain).starts_with("1.10 ±"), "{}", line(&chain));
        // A public tension page: 0.11 kg/m, 170 mm, 220 Hz is 610 N there, 615.45 N unrounded.
        let belt = Figure::BeltNote { mass: "0.11 kg/m".into(), span: "170 mm".into(), frequency: "220 Hz".into() };
        assert!(line(&belt).starts_with("615 ±"), "{}", line(&belt));
    }

    #[test]
    fn a_lithium_battery_on_its_plateau_is_refused() {
        let charge = Figure::Charge {
            volts: "13.2 V".into(),
            chemistry: ChemistryName::LithiumIron,
            temperature: "20 C".into(),
            rested: "12 h".into(),
        };
        assert!(
            line(&charge).starts_with("refused: rest voltage must lie outside 13.0 to 13.3 V"),
            "{}",
            line(&charge)
        );
    }
}
