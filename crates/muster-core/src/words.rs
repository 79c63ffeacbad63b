//! The words of the trade that data files and forms use: uses, classes, depths, answers.

use core::fmt;

use crate::named::named;

named! {
    /// What a machine goes out for; checks and limits name the uses they bind.
    Use, "use", "range, road, passenger, dark":
    /// On the range, off the public road.
    Range = "range",
    /// On the public road.
    Road = "road",
    /// With a passenger.
    Passenger = "passenger",
    /// In the dark.
    Dark = "dark",
}

/// A set of uses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Uses(u8);

impl Uses {
    /// No use.
    pub const NONE: Self = Self(0);
    /// Every use.
    pub const ALL: Self = Self(0b1111);
    /// The uses on which law binds unless its pack says otherwise: all but the range.
    pub const ON_THE_ROAD: Self = Self(0b1110);

    /// Returns the set with one use more.
    #[must_use]
    pub const fn with(self, one: Use) -> Self {
        Self(self.0 | 1 << one as u8)
    }

    /// Whether the use is in the set.
    #[must_use]
    pub const fn contains(self, one: Use) -> bool {
        self.0 & (1 << one as u8) != 0
    }

    /// How many uses it names: a row that names fewer is the more specific.
    #[must_use]
    pub const fn count(self) -> u32 {
        self.0.count_ones()
    }

    /// The uses in order.
    pub fn iter(self) -> impl Iterator<Item = Use> {
        Use::ALL.iter().copied().filter(move |one| self.contains(*one))
    }
}

impl FromIterator<Use> for Uses {
    fn from_iter<T: IntoIterator<Item = Use>>(uses: T) -> Self {
        uses.into_iter().fold(Self::NONE, Self::with)
    }
}

impl fmt::Display for Uses {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if *self == Self::ALL {
            return f.write_str("every use");
        }
        for (index, one) in self.iter().enumerate() {
            f.write_str(if index > 0 { ", " } else { "" })?;
            f.write_str(one.as_str())?;
        }
        Ok(())
    }
}

named! {
    /// How grave a defect is, rising.
    Class, "class", "minor, major, dangerous":
    /// To be mended, no bar to going out by itself.
    Minor = "minor",
    /// Must not go out.
    Major = "major",
    /// Must not go out, an immediate risk.
    Dangerous = "dangerous",
}

named! {
    /// How a row of data is known.
    Known, "way of knowing", "read, secondary, computed, memory, practice, invented, owner":
    /// Read in the source itself.
    Read = "read",
    /// Read in a copy, an excerpt or a summary.
    Secondary = "secondary",
    /// Worked out.
    Computed = "computed",
    /// From memory, not seen.
    Memory = "memory",
    /// Common practice of the trade.
    Practice = "practice",
    /// Made up for a demonstration.
    Invented = "invented",
    /// The person who wrote the file vouches for it.
    Owner = "owner",
}

impl Known {
    /// Returns what to say behind a source that was not read itself; nothing for one that was.
    #[must_use]
    pub const fn caveat(self) -> Option<&'static str> {
        match self {
            Self::Read | Self::Owner => None,
            Self::Secondary => Some("read in a copy"),
            Self::Computed => Some("computed"),
            Self::Memory => Some("from memory"),
            Self::Practice => Some("common practice"),
            Self::Invented => Some("invented for the demonstration"),
        }
    }
}

named! {
    /// Where a limit stands, general to specific; law and house rule stand apart and only tighten.
    Layer, "layer", "practice, sheet, marking, machine, law, house":
    /// General practice of the trade.
    Practice = "practice",
    /// The model's sheet, from its handbook.
    Sheet = "sheet",
    /// Stamped or printed on the part.
    Marking = "marking",
    /// This one machine.
    Machine = "machine",
    /// A law pack.
    Law = "law",
    /// This yard's own rule.
    House = "house",
}

named! {
    /// How far a walk-round goes.
    Depth, "depth", "before-ride, full, intake, handover, after-a-fall, back-in-service":
    /// What has lapsed for the use.
    BeforeRide = "before-ride",
    /// Every check that applies.
    Full = "full",
    /// A machine that is new to the yard: every check.
    Intake = "intake",
    /// Handed to another: what has lapsed, for every use.
    Handover = "handover",
    /// What a fall has ended and a use needs.
    AfterAFall = "after-a-fall",
    /// After storage: every check.
    BackInService = "back-in-service",
}

named! {
    /// Whether a machine is asked for at all.
    Service, "service state", "in service, laid up, on loan, away, impounded, sold":
    /// Asked and due.
    InService = "in service",
    /// In storage: not asked, not due; comes back by the back-in-service depth.
    LaidUp = "laid up",
    /// With somebody else.
    OnLoan = "on loan",
    /// Elsewhere.
    Away = "away",
    /// Kept as it is after a crash: no repair, no correction.
    Impounded = "impounded",
    /// Gone.
    Sold = "sold",
}

named! {
    /// A look-and-feel answer, rising in gravity.
    Seen, "answer", "sound, doubtful, defective, could not see":
    /// As it should be.
    Sound = "sound",
    /// Not sure.
    Doubtful = "doubtful",
    /// Not as it should be.
    Defective = "defective",
    /// Not looked at, with why.
    CouldNotSee = "could not see",
}

named! {
    /// What ends the life of answers early.
    Ending, "event", "fall, front-wheel-out, rear-wheel-out, storage":
    /// The machine fell or was dropped.
    Fall = "fall",
    /// The front wheel was out.
    FrontWheelOut = "front-wheel-out",
    /// The rear wheel was out.
    RearWheelOut = "rear-wheel-out",
    /// The machine was laid up.
    Storage = "storage",
}

named! {
    /// What a gauge is.
    InstrumentKind, "kind of instrument", "stick-gauge, dial-gauge, digital-gauge, depth-gauge, vernier, feeler, rule, eye, multimeter, hydrometer, refractometer, inclinometer, spring-scale, dial-indicator, ammeter":
    /// A stick gauge for tyre pressure.
    StickGauge = "stick-gauge",
    /// A dial gauge for tyre pressure.
    DialGauge = "dial-gauge",
    /// A digital gauge for tyre pressure.
    DigitalGauge = "digital-gauge",
    /// A tread depth gauge.
    DepthGauge = "depth-gauge",
    /// A vernier calliper.
    Vernier = "vernier",
    /// A feeler gauge.
    Feeler = "feeler",
    /// A rule or tape.
    Rule = "rule",
    /// The eye, at a sight window, a mark or a watch.
    Eye = "eye",
    /// A multimeter.
    Multimeter = "multimeter",
    /// A hydrometer.
    Hydrometer = "hydrometer",
    /// A refractometer.
    Refractometer = "refractometer",
    /// An inclinometer.
    Inclinometer = "inclinometer",
    /// A spring scale.
    SpringScale = "spring-scale",
    /// A dial indicator, for run-out and play.
    DialIndicator = "dial-indicator",
    /// An ammeter, or a multimeter in the line.
    Ammeter = "ammeter",
}
