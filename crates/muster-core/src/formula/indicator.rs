//! Flash rate of a direction indicator, counted against a watch.

use super::propagated::Propagated;
use super::refusal::{Refusal, within};
use crate::quantity::{Frequency, Time, Unit};
use crate::statistics::uncertainty::StandardUncertainty;

/// Flashes a minute.
///
/// f = 60 n/t     n flashes counted in t seconds
///
/// Source: definition. Valid: 3 to 600 flashes in 3 to 300 s.
/// Worked: 15 in 10 s: 90 a minute (tests/golden/evidence/physics.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn flash_rate(flashes: u16, during: Time) -> Result<Frequency, Refusal> {
    let (n, t) = counted(flashes, during)?;
    Ok(Frequency::from_per_minute(60.0 * n / t)?)
}

/// [`flash_rate`] with its uncertainty in flashes a minute.
///
/// c(n) = 60/t with u(n) = 1/√3: the count may be one off either way, anywhere between alike; c(t) = −60 n/t²
///
/// # Errors
/// As for [`flash_rate`].
pub fn flash_rate_with_u(
    flashes: u16,
    during: Time,
    during_s: StandardUncertainty,
) -> Result<Propagated<Frequency>, Refusal> {
    let (n, t) = counted(flashes, during)?;
    let count = StandardUncertainty::rectangular(1.0)?;
    Propagated::of(flash_rate(flashes, during)?, [("count", 60.0 / t, count), ("time", -60.0 * n / (t * t), during_s)])
}

fn counted(flashes: u16, during: Time) -> Result<(f64, f64), Refusal> {
    let n = within("flashes counted", f64::from(flashes), Unit::One, (3.0, 600.0, "3 to 600"))?;
    let t = within("time counted", during.seconds(), Unit::Second, (3.0, 300.0, "3 to 300 s"))?;
    Ok((n, t))
}
