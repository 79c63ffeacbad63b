//! Repeats read with one instrument at one place, combined into one value with its uncertainty and its parts.
//!
//! Repeats average out the scatter of reading, never the error of the instrument.

use super::refusal::{Refusal, finite, positive};
use super::student::DegreesOfFreedom;
use super::uncertainty::{StandardUncertainty, effective_degrees};
use crate::sorted::sort_by;
use alloc::vec::Vec;
use core::fmt;

/// How far a check's readings scatter, as a standard deviation with the degrees of freedom it rests on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeatability {
    deviation: StandardUncertainty,
    degrees: DegreesOfFreedom,
}

impl Repeatability {
    /// Returns the scatter of single readings: standard deviation in the unit of the reading, and its degrees of freedom.
    #[must_use]
    pub fn new(deviation: StandardUncertainty, degrees: DegreesOfFreedom) -> Self {
        Self { deviation, degrees }
    }

    /// Returns the scatter of these readings about their mean; none for fewer than two, which show none.
    ///
    /// s² = Σ (xᵢ − x̄)² / (n − 1), ν = n − 1
    ///
    /// Source: GUM 4.2.2, equation 4.
    ///
    /// # Errors
    /// Refuses readings that are not finite or too large to square.
    pub fn of(readings: &[f64]) -> Result<Option<Self>, Refusal> {
        let Ok(degrees) = DegreesOfFreedom::new(readings.len() as f64 - 1.0) else {
            return Ok(None);
        };
        let mean = mean(readings)?;
        let squares = sum(readings.iter().map(|reading| (reading - mean) * (reading - mean)));
        let deviation = StandardUncertainty::new(libm::sqrt(squares / degrees.get()))?;
        Ok(Some(Self { deviation, degrees }))
    }

    /// Returns both taken together, as two samples of one scatter.
    ///
    /// s_p² = (ν₁ s₁² + ν₂ s₂²) / (ν₁ + ν₂), ν = ν₁ + ν₂; the exactly known one alone if there is one
    ///
    /// Source: GUM 4.2.4 and H.3.6 (pooled estimate).
    ///
    /// # Errors
    /// Refuses deviations too large to combine.
    pub fn pooled(self, other: Self) -> Result<Self, Refusal> {
        let degrees = DegreesOfFreedom::new(self.degrees.get() + other.degrees.get())?;
        if degrees.get().is_infinite() {
            // An exactly known scatter outweighs any sample; two of them cannot be weighed, so the larger counts.
            let of_both = self.deviation.get() > other.deviation.get();
            let first = self.degrees > other.degrees || (self.degrees == other.degrees && of_both);
            return Ok(if first { self } else { other });
        }
        let share = |of: Self| of.deviation.scaled(libm::sqrt(of.degrees.get() / degrees.get()));
        let deviation = StandardUncertainty::combine([share(self)?, share(other)?])?;
        Ok(Self { deviation, degrees })
    }

    /// Returns the standard deviation of a single reading, in the unit of the reading.
    #[must_use]
    pub fn deviation(self) -> StandardUncertainty {
        self.deviation
    }

    /// Returns the degrees of freedom it rests on.
    #[must_use]
    pub fn degrees(self) -> DegreesOfFreedom {
        self.degrees
    }
}

/// How an instrument's accuracy is stated: in its leaflet, or on its certificate. Unit of the reading, at least 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Accuracy {
    /// The error is somewhere within ± this, no place likelier than another.
    HalfWidth(f64),
    /// Expanded uncertainty with coverage factor 2.
    ExpandedK2(f64),
}

/// What an instrument adds to every reading taken with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InstrumentError {
    resolution: StandardUncertainty,
    bias: StandardUncertainty,
}

impl InstrumentError {
    /// Returns the error of an instrument that shows steps of `step` and is as good as `accuracy`, in the unit of the reading.
    ///
    /// # Errors
    /// Refuses figures that are negative or not finite.
    pub fn new(step: f64, accuracy: Accuracy) -> Result<Self, Refusal> {
        let bias = match accuracy {
            Accuracy::HalfWidth(half_width) => StandardUncertainty::rectangular(half_width)?,
            Accuracy::ExpandedK2(expanded) => {
                StandardUncertainty::from_expanded(expanded, StandardUncertainty::COVERAGE_FACTOR)?
            }
        };
        Ok(Self { resolution: StandardUncertainty::resolution(step)?, bias })
    }

    /// Returns the part that comes from rounding to a step of the display or scale.
    #[must_use]
    pub fn resolution(self) -> StandardUncertainty {
        self.resolution
    }

    /// Returns the part that is the same in every reading with this instrument.
    #[must_use]
    pub fn bias(self) -> StandardUncertainty {
        self.bias
    }
}

/// Where a part of an uncertainty comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Source {
    /// Scatter between readings; repeats average it out.
    Scatter,
    /// Rounding to a step; kept in full.
    Resolution,
    /// The instrument's own error, shared by all its readings; repeats do not average it out.
    Bias,
    /// What a correction adds.
    Correction,
}

impl Source {
    /// In words.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Scatter => "scatter of the readings",
            Self::Resolution => "resolution of the instrument",
            Self::Bias => "accuracy of the instrument",
            Self::Correction => "correction",
        }
    }
}

impl fmt::Display for Source {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.as_str())
    }
}

/// One named part of an uncertainty, in the unit of the value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Where it comes from.
    pub source: Source,
    /// How large it is.
    pub u: StandardUncertainty,
    /// How well its size is known; infinite where it was stated and not estimated.
    pub degrees: DegreesOfFreedom,
}

/// A value with its standard uncertainty and the parts it is made of.
///
/// Invariant: the value is finite, and `u` is the root sum of squares of the parts.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    value: f64,
    u: StandardUncertainty,
    parts: Vec<Part>,
}

impl Estimate {
    /// Returns the value, in the unit of the readings.
    #[must_use]
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Returns the standard uncertainty, in the unit of the value.
    #[must_use]
    pub fn u(&self) -> StandardUncertainty {
        self.u
    }

    /// Returns the parts, at most one of each source.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Returns the part from `source`; zero if there is none.
    #[must_use]
    pub fn part(&self, source: Source) -> StandardUncertainty {
        self.parts.iter().find(|part| part.source == source).map_or(StandardUncertainty::ZERO, |part| part.u)
    }

    /// Returns the effective degrees of freedom of `u` (Welch–Satterthwaite, GUM G.4).
    #[must_use]
    pub fn degrees(&self) -> DegreesOfFreedom {
        let parts: Vec<_> = self.parts.iter().map(|part| (part.u, part.degrees)).collect();
        effective_degrees(&parts)
    }

    /// Returns the estimate a correction makes of this one: `value`, which moves by `sensitivity` per unit of the old
    /// value, with the uncertainty `u` that the correction brings of its own.
    ///
    /// u² = Σ (c uᵢ)² + u_correction²
    ///
    /// Source: GUM 5.1.2, equation 10.
    ///
    /// # Errors
    /// Refuses numbers that are not finite.
    pub fn corrected(&self, value: f64, sensitivity: f64, u: StandardUncertainty) -> Result<Self, Refusal> {
        let before = self.part(Source::Correction).scaled(sensitivity)?;
        let mut parts = Vec::new();
        for part in self.parts.iter().filter(|part| part.source != Source::Correction) {
            parts.push(Part { u: part.u.scaled(sensitivity)?, ..*part });
        }
        let u = StandardUncertainty::combine([before, u])?;
        parts.push(Part { source: Source::Correction, u, degrees: DegreesOfFreedom::INFINITE });
        Self::from_parts(value, parts)
    }

    fn from_parts(value: f64, parts: Vec<Part>) -> Result<Self, Refusal> {
        let value = finite("value", value)?;
        let u = StandardUncertainty::combine(parts.iter().map(|part| part.u))?;
        Ok(Self { value, u, parts })
    }
}

/// Returns the mean of repeats read with one instrument at one place, with its uncertainty.
///
/// u² = s_p²/n + step²/12 + u_bias²
///
/// - s_p pools the scatter of these readings with the `known` repeatability of the check. Without the one and with a
///   single reading there is no scatter to tell of, and the part is missing: the check's data should then name it.
/// - The resolution counts in full, however many repeats. Where the readings scatter over several steps s_p already
///   shows the rounding, and it is counted twice; where they all show the same step nothing averages out. The larger
///   figure is the safe one, and exceeds the exact one by at most step²/12.
/// - The bias is one unknown number in all n readings, so n does not divide it (GUM 5.2.2, example).
///
/// Source: GUM 4.2.3, 4.2.4, F.2.2.1, 5.1.2.
///
/// # Errors
/// Refuses an empty list and readings that are not finite.
pub fn combined(
    readings: &[f64],
    instrument: InstrumentError,
    known: Option<Repeatability>,
) -> Result<Estimate, Refusal> {
    let mean = mean(readings)?;
    let scatter = match (Repeatability::of(readings)?, known) {
        (Some(seen), Some(known)) => Some(seen.pooled(known)?),
        (seen, known) => seen.or(known),
    };
    let mut parts = Vec::new();
    if let Some(scatter) = scatter {
        let u = scatter.deviation.scaled(1.0 / libm::sqrt(positive("number of readings", readings.len() as f64)?))?;
        parts.push(Part { source: Source::Scatter, u, degrees: scatter.degrees });
    }
    for (source, u) in [(Source::Resolution, instrument.resolution), (Source::Bias, instrument.bias)] {
        parts.push(Part { source, u, degrees: DegreesOfFreedom::INFINITE });
    }
    Estimate::from_parts(mean, parts)
}

/// Whether two values were read with one and the same instrument.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Instruments {
    /// One instrument: its bias is in both and drops out of their difference.
    Same,
    /// Two instruments, whose biases know nothing of each other.
    Different,
}

/// Returns a − b with its uncertainty.
///
/// u² = Σ (u_a² + u_b²) over the parts, but for the bias of one same instrument: (u_bias,a − u_bias,b)², which is 0
/// where both were read on one scale
///
/// Two scatters, resolutions or corrections count as independent; what they share would make the difference surer.
///
/// Source: GUM 5.2.2, equation 16, with correlation +1 for the shared bias and 0 for the rest.
///
/// # Errors
/// Refuses a difference that is not finite.
pub fn difference_of(a: &Estimate, b: &Estimate, instruments: Instruments) -> Result<Estimate, Refusal> {
    let mut parts = Vec::new();
    for source in [Source::Scatter, Source::Resolution, Source::Bias, Source::Correction] {
        let of_both: Vec<_> = a.parts.iter().chain(&b.parts).filter(|part| part.source == source).collect();
        if of_both.is_empty() {
            continue;
        }
        let u = if source == Source::Bias && instruments == Instruments::Same {
            StandardUncertainty::new(libm::fabs(a.part(source).get() - b.part(source).get()))?
        } else {
            StandardUncertainty::combine(of_both.iter().map(|part| part.u))?
        };
        let weights: Vec<_> = of_both.iter().map(|part| (part.u, part.degrees)).collect();
        parts.push(Part { source, u, degrees: effective_degrees(&weights) });
    }
    Estimate::from_parts(a.value - b.value, parts)
}

fn mean(readings: &[f64]) -> Result<f64, Refusal> {
    if readings.is_empty() {
        return Err(Refusal::NoReadings);
    }
    for reading in readings {
        finite("reading", *reading)?;
    }
    let (least, most) = readings
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(least, most), reading| (least.min(*reading), most.max(*reading)));
    let mean = finite("mean of the readings", sum(readings.iter().copied()) / readings.len() as f64)?;
    // Rounding took three readings of 0.1 to a mean above all of them, and past a limit of 0.1.
    Ok(mean.clamp(least, most))
}

/// Returns the sum, the same to the last bit in whatever order the numbers came.
fn sum(numbers: impl Iterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = numbers.collect();
    sort_by(&mut sorted, f64::total_cmp);
    sorted.iter().sum()
}
