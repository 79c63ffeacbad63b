//! Coolant: where it freezes, what a refractometer says, what to fill in.

use anyhow::Result;
use clap::{Subcommand, ValueEnum};
use muster_core::{
    formula::coolant::{
        Concentration, Glycol, freezing_point_with_u, litres_to_replace, mass_fraction, mix_to_top_up, read_on_scale,
    },
    quantity::Kind,
};

use super::{
    units::litres,
    worked::{Worked, read, u},
};

/// A sum about coolant.
#[derive(Debug, Subcommand)]
pub(crate) enum Coolant {
    /// Freezing point of the coolant, from its share of glycol
    #[command(name = "coolant", after_help = "Example: muster figure coolant --glycol ethylene --share \"33 %\"")]
    Freezing {
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
    /// What a refractometer's freezing point says of the share of glycol
    #[command(
        after_help = "Example: muster figure refractometer --scale ethylene --coolant ethylene --reading \"-26 C\""
    )]
    Refractometer {
        /// The glycol its scale is made for
        #[arg(long)]
        scale: GlycolName,
        /// The glycol in the machine
        #[arg(long)]
        coolant: GlycolName,
        /// What the scale shows
        #[arg(long, allow_hyphen_values = true)]
        reading: String,
    },
    /// What to fill in where some is missing, so that the whole comes to the share wanted
    #[command(
        name = "coolant-top-up",
        after_help = "Example: muster figure coolant-top-up --system 2.0 --missing 0.4 --now \"40 %\" --wanted \"45 %\""
    )]
    TopUp {
        /// What the full system holds, in litres; or with its unit, "2.1 qt"
        #[arg(long)]
        system: String,
        /// What is missing, in litres or with its unit
        #[arg(long)]
        missing: String,
        /// Its share by volume now
        #[arg(long)]
        now: String,
        /// The share wanted
        #[arg(long)]
        wanted: String,
    },
    /// How much to drain and fill with concentrate, to raise the share of a full system
    #[command(
        name = "coolant-replace",
        after_help = "Example: muster figure coolant-replace --system 2.0 --now \"30 %\" --wanted \"50 %\""
    )]
    Replace {
        /// What the full system holds, in litres; or with its unit, "2.1 qt"
        #[arg(long)]
        system: String,
        /// Its share by volume now
        #[arg(long)]
        now: String,
        /// The share wanted
        #[arg(long)]
        wanted: String,
        /// The concentrate's own share
        #[arg(long, default_value = "100 %")]
        concentrate: String,
    },
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

impl GlycolName {
    fn glycol(self) -> Glycol {
        match self {
            Self::Ethylene => Glycol::Ethylene,
            Self::Propylene => Glycol::Propylene,
        }
    }
}

/// Standard uncertainty of a share as it is known in a yard, a pure number (from memory).
const SHARE: f64 = 0.01;
const FREEZING: &str = "Melinder, Properties of Secondary Working Fluids (2010), as fitted in CoolProp 8.0.0";
const VOLUMES: &str = "balance of volumes, well mixed, shrinkage ignored";

pub(super) fn worked(coolant: &Coolant) -> Result<Worked> {
    match coolant {
        Coolant::Freezing { glycol, share, by } => freezing(*glycol, share, *by),
        Coolant::Refractometer { scale, coolant, reading } => {
            let share = read_on_scale(scale.glycol(), coolant.glycol(), read(Kind::Temperature, reading)?)?;
            let worked = Worked::by("the share whose freezing point the scale shows, by mass", FREEZING);
            Ok(worked
                .value("glycol, by mass", share.percent(), 0, "%")
                .say("below where a share of 0.6 freezes a scale says nothing: the point rises again"))
        }
        Coolant::TopUp { system, missing, now, wanted } => {
            let mix =
                mix_to_top_up(litres(system)?, litres(missing)?, read(Kind::Ratio, now)?, read(Kind::Ratio, wanted)?)?;
            let worked = Worked::by("(V wanted − (V − missing) now) / missing, shares by volume", VOLUMES);
            Ok(poison(worked.value("fill with a mix of", mix.percent(), 0, "%")))
        }
        Coolant::Replace { system, now, wanted, concentrate } => {
            let share = |text: &str| read(Kind::Ratio, text);
            let filled = litres_to_replace(litres(system)?, share(now)?, share(wanted)?, share(concentrate)?)?;
            let worked = Worked::by("V (wanted − now) / (concentrate − now), shares by volume", VOLUMES);
            Ok(poison(worked.value("drain and fill with concentrate", filled, 2, "L")))
        }
    }
}

fn poison(worked: Worked) -> Worked {
    worked.say("cold engine only: never open the cap warm; coolant is poisonous and is not tipped away")
}

fn freezing(glycol: GlycolName, share: &str, by: ShareOf) -> Result<Worked> {
    let share = read(Kind::Ratio, share)?;
    let concentration = match by {
        ShareOf::Mass => Concentration::MassFraction(share),
        ShareOf::Volume => Concentration::VolumeFraction(share),
    };
    let point = freezing_point_with_u(glycol.glycol(), concentration, u(SHARE)?)?;
    let mass = mass_fraction(glycol.glycol(), concentration)?;
    let working = format!(
        "freezing point of {:.1} % by mass in the table; u: 1 % of share, and the tables' disagreement",
        mass.percent()
    );
    let worked = Worked::by(working, FREEZING);
    Ok(worked.with_u("freezes at", (point.value().celsius(), point.u()), 0, "°C").in_form("coolant.freezing"))
}
