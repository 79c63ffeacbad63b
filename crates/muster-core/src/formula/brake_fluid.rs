//! Brake fluid: the grades' boiling points, what may be topped up with what, what a boiling point says, and its age.

use super::age::{Age, AgeRefusal};
use super::refusal::{Refusal, within};
use crate::quantity::{Ratio, Temperature, TemperatureDifference, Unit};
use crate::words::Known;
use core::fmt;
use jiff::civil::Date;

/// Where the grades' figures come from.
pub const SOURCE: &str = "49 CFR 571.116 S5.1.1 and S5.1.2";
/// How they are known: from memory, and read alike in several public copies (one of which differs for DOT 5.1).
pub const KNOWN: Known = Known::Secondary;
/// Months after which fluid that draws water is changed where the sheet names no other (common practice).
pub const USUAL_LIFE_MONTHS: u32 = 24;

/// A grade, as the cap of a reservoir and a bottle name it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grade {
    /// DOT 3, glycol ether.
    Dot3,
    /// DOT 4, glycol ether with borate.
    Dot4,
    /// DOT 5, silicone: draws no water, mixes with no other.
    Dot5,
    /// DOT 5.1, glycol ether that meets DOT 5's figures.
    Dot51,
}

/// Whether a bottle may top up a reservoir.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[must_use]
pub enum TopUp {
    /// The grade on the cap.
    Same,
    /// Another grade of glycol ether that boils no lower; the handbook decides.
    Higher,
    /// It boils lower than the cap asks for.
    Lower,
    /// Silicone and glycol ether must never meet: seals swell and water stands in drops.
    OtherBase,
}

/// What a boiling point says of the fluid of a grade.
#[derive(Clone, Copy, Debug, PartialEq)]
#[must_use]
pub enum Boils {
    /// At or above what new fluid must reach.
    AsNew,
    /// Between: the share of the way down from dry to wet, 0 to 1.
    Between(Ratio),
    /// Below what fluid of the grade reaches with water in it: change it, by so much.
    BelowWet(TemperatureDifference),
}

/// How old fluid is, against how long it is left in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FluidAge {
    /// Since it was changed.
    pub age: Age,
    /// It has been in for as long as it may, or longer.
    pub is_over: bool,
}

impl Grade {
    /// All grades.
    pub const ALL: [Self; 4] = [Self::Dot3, Self::Dot4, Self::Dot5, Self::Dot51];

    /// Finds a grade by what stands on a cap or bottle: `DOT 4`, `dot4`, `5.1`.
    #[must_use]
    pub fn find(text: &str) -> Option<Self> {
        let text = text.trim();
        let has_prefix = text.get(..3).is_some_and(|prefix| prefix.eq_ignore_ascii_case("dot"));
        let number = if has_prefix { text.get(3..).unwrap_or_default().trim() } else { text };
        Self::ALL.into_iter().find(|grade| grade.number() == number)
    }

    /// Least boiling point of new fluid (equilibrium reflux, dry).
    ///
    /// DOT 3 205, DOT 4 230, DOT 5 and 5.1 260 °C. Source: [`SOURCE`].
    ///
    /// # Errors
    /// None in fact: every row is a temperature.
    pub fn dry(self) -> Result<Temperature, Refusal> {
        Ok(Temperature::from_celsius(self.celsius().0)?)
    }

    /// Least boiling point of fluid that has taken up water as the standard has it (equilibrium reflux, wet).
    ///
    /// DOT 3 140, DOT 4 155, DOT 5 and 5.1 180 °C. Source: [`SOURCE`].
    ///
    /// # Errors
    /// None in fact: every row is a temperature.
    pub fn wet(self) -> Result<Temperature, Refusal> {
        Ok(Temperature::from_celsius(self.celsius().1)?)
    }

    fn celsius(self) -> (f64, f64) {
        match self {
            Self::Dot3 => (205.0, 140.0),
            Self::Dot4 => (230.0, 155.0),
            Self::Dot5 | Self::Dot51 => (260.0, 180.0),
        }
    }

    fn number(self) -> &'static str {
        match self {
            Self::Dot3 => "3",
            Self::Dot4 => "4",
            Self::Dot5 => "5",
            Self::Dot51 => "5.1",
        }
    }
}

/// Whether a bottle's fluid may top up a reservoir whose cap names a grade.
///
/// Glycol ethers mix; what boils lower than the cap asks is refused, what boils higher is left to the handbook. Never
/// from an open or unnamed bottle: it draws water. A cap that names mineral oil takes none of these.
/// Source: 49 CFR 571.116 S4 and S5.2.2 for silicone (from memory); the rest common practice.
pub fn top_up(cap: Grade, bottle: Grade) -> TopUp {
    if cap == bottle {
        return TopUp::Same;
    }
    if cap == Grade::Dot5 || bottle == Grade::Dot5 {
        return TopUp::OtherBase;
    }
    if bottle.celsius() < cap.celsius() { TopUp::Lower } else { TopUp::Higher }
}

/// What a boiling point says of fluid of a grade.
///
/// share = (dry − t)/(dry − wet)     °C
///
/// Source: [`SOURCE`] for the limits; the straight line between them is only a scale. Valid: 100 to 350 °C; a pen that
/// reads conductivity or per cent of water shows no boiling point.
/// Worked: DOT 4 that boils at 185 °C is 60 % of the way down (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn boils(grade: Grade, reading: Temperature) -> Result<Boils, Refusal> {
    let celsius = reading.celsius();
    within("boiling point", celsius, Unit::Celsius, (100.0, 350.0, "100 to 350 °C"))?;
    let (dry, wet) = grade.celsius();
    // A temperature typed in °C and kept in K may miss its limit by a rounding.
    if celsius >= dry - ROUNDING {
        return Ok(Boils::AsNew);
    }
    if celsius < wet - ROUNDING {
        return Ok(Boils::BelowWet(TemperatureDifference::from_kelvin(wet - celsius)?));
    }
    Ok(Boils::Between(Ratio::from_one(((dry - celsius) / (dry - wet)).min(1.0))?))
}

/// How old the fluid is, and whether that is as long as it is left in.
///
/// Source: calendar; [`USUAL_LIFE_MONTHS`] where the sheet names no other (common practice: glycol ether draws water).
/// Worked: changed on 2024-11-26, two years are over on 2026-11-26 (tests/golden/evidence/workshop.toml).
///
/// # Errors
/// [`AgeRefusal`] if it was changed after the day asked about.
pub fn age(changed: Date, on: Date, life_months: u32) -> Result<FluidAge, AgeRefusal> {
    let age = Age::between(changed, on)?;
    Ok(FluidAge { age, is_over: age.whole_months() >= life_months })
}

impl fmt::Display for Grade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "DOT {}", self.number())
    }
}

impl fmt::Display for TopUp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Same => "the grade on the cap",
            Self::Higher => "another glycol ether that boils no lower: only if the handbook allows it",
            Self::Lower => "boils lower than the cap asks for: do not top up with it",
            Self::OtherBase => "silicone and glycol ether must never be mixed: do not top up with it",
        })
    }
}

/// K.
const ROUNDING: f64 = 1e-9;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grade_is_found_by_what_stands_on_the_cap() {
        assert_eq!(Grade::find(" dot 5.1 "), Some(Grade::Dot51));
        assert_eq!(Grade::find("DOT4"), Some(Grade::Dot4));
        assert_eq!([Grade::find("DOT 6"), Grade::find("5,1"), Grade::find(""), Grade::find("é4")], [None; 4]);
        for grade in Grade::ALL {
            assert_eq!(Grade::find(&alloc::format!("{grade}")), Some(grade));
        }
    }

    #[test]
    fn silicone_meets_only_silicone_and_nothing_boils_lower_than_the_cap() {
        for cap in Grade::ALL {
            for bottle in Grade::ALL {
                let said = top_up(cap, bottle);
                assert_eq!(said == TopUp::OtherBase, (cap == Grade::Dot5) != (bottle == Grade::Dot5));
                if matches!(said, TopUp::Same | TopUp::Higher) {
                    assert!(bottle.dry().unwrap() >= cap.dry().unwrap() && bottle.wet().unwrap() >= cap.wet().unwrap());
                }
            }
        }
        assert_eq!(
            (top_up(Grade::Dot4, Grade::Dot3), top_up(Grade::Dot4, Grade::Dot51)),
            (TopUp::Lower, TopUp::Higher)
        );
    }
}
