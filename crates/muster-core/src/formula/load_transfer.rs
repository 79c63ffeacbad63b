//! What braking does to the wheels' loads, which wheel sets the limit, and how far a stop goes.

use super::axle_load::{G, Loaded};
use super::refusal::{Refusal, not_valid, within};
use crate::quantity::{Distance, Force, Length, Ratio, Speed, Time, Unit};

/// Loads of the wheels while the machine slows evenly on a level road.
///
/// N_f = m g b/L + m a h/L, N_r = m g − N_f     b centre of gravity ahead of the rear axle, h above the road
///
/// Rigid machine: fork dive lowers h and shortens L a little, both left out. Source: statics (d'Alembert). Valid:
/// deceleration from 0 to where the rear wheel lifts. Worked: 250 kg, 1450 mm, h 600 mm, b 700 mm, 6 m/s²: 1804.25 N in
/// front (tests/golden/evidence/outing.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn under_braking(of: &Loaded, wheelbase: Length, m_per_s2: f64) -> Result<(Force, Force), Refusal> {
    let limit = rear_lifts_at(of, wheelbase)?;
    // The limit itself, worked out, may miss by a rounding.
    if !(0.0..=limit * (1.0 + 1e-12)).contains(&m_per_s2) {
        let allowed = "0 to where the rear wheel lifts, in m/s²";
        return Err(not_valid("deceleration", allowed, m_per_s2, Unit::One));
    }
    let (mass, base) = (of.mass.kg(), wheelbase.mm());
    let front = mass * (G * of.ahead.mm() + m_per_s2 * of.height.mm()) / base;
    let rear = mass * G - front;
    Ok((Force::from_newton(front)?, Force::from_newton(if rear < 0.0 { 0.0 } else { rear })?))
}

/// Deceleration in m/s² at which the rear wheel lifts.
///
/// a = g (L − b)/h
///
/// The way to the **front** contact over the height. Source: statics. Worked: as above 12.258 m/s²
/// (tests/golden/evidence/outing.toml).
///
/// # Errors
/// [`Refusal`] for a centre of gravity not above the road or not between the axles.
pub fn rear_lifts_at(of: &Loaded, wheelbase: Length) -> Result<f64, Refusal> {
    let (base, height) = checked(of, wheelbase)?;
    Ok(G * (base - of.ahead.mm()) / height)
}

/// Acceleration in m/s² at which the front wheel lifts.
///
/// a = g b/h
///
/// # Errors
/// As for [`rear_lifts_at`].
pub fn front_lifts_at(of: &Loaded, wheelbase: Length) -> Result<f64, Refusal> {
    let (_, height) = checked(of, wheelbase)?;
    Ok(G * of.ahead.mm() / height)
}

/// The most deceleration in m/s² that one brake alone gives on a level road of grip µ, its wheel about to slide.
///
/// front a = µ g b/(L − µ h), rear a = µ g (L − b)/(L + µ h)
///
/// Source: statics, Coulomb friction. Valid: µ 0.05 to 1.2. Where the front would lift the rear wheel first, that counts.
///
/// # Errors
/// As for [`rear_lifts_at`], and outside the valid range.
pub fn one_brake_alone(of: &Loaded, wheelbase: Length, grip: Ratio) -> Result<(f64, f64), Refusal> {
    let (base, height) = checked(of, wheelbase)?;
    let mu = within("grip", grip.one(), Unit::One, (0.05, 1.2, "0.05 to 1.2"))?;
    let ahead = of.ahead.mm();
    let lifts = rear_lifts_at(of, wheelbase)?;
    let room = base - mu * height;
    let slides = if room > 0.0 { mu * G * ahead / room } else { f64::INFINITY };
    Ok((slides.min(lifts), mu * G * (base - ahead) / (base + mu * height)))
}

/// Way from seeing to standing.
///
/// s = v t + v²/(2 a)     v in m/s, t reaction, a deceleration
///
/// Source: kinematics. Valid: 1 to 300 km/h, reaction 0 to 5 s, deceleration 0.5 to 12 m/s².
/// Worked: 50 km/h, 1 s, 7 m/s²: 27.67 m (tests/golden/evidence/outing.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn stopping_distance(speed: Speed, reaction: Time, m_per_s2: f64) -> Result<Distance, Refusal> {
    let v = within("speed", speed.km_per_h(), Unit::KilometrePerHour, (1.0, 300.0, "1 to 300 km/h"))? / 3.6;
    let t = within("reaction", reaction.seconds(), Unit::Second, (0.0, 5.0, "0 to 5 s"))?;
    let a = within("deceleration", m_per_s2, Unit::One, (0.5, 12.0, "0.5 to 12 m/s²"))?;
    Ok(Distance::from_km((v * t + v * v / (2.0 * a)) / 1000.0)?)
}

/// Deceleration in m/s² of a machine on a slope with both wheels at grip µ; slope positive uphill.
///
/// a = g (µ cos α + sin α), α = atan i
///
/// Source: statics. Valid: slope −20 to 20 %, µ 0.05 to 1.2. Worked: µ 0.7, −8 %: 22.92 m from 60 km/h
/// (tests/golden/evidence/outing.toml).
///
/// # Errors
/// [`Refusal`] outside the valid range.
pub fn by_grip(grip: Ratio, slope: Ratio) -> Result<f64, Refusal> {
    let mu = within("grip", grip.one(), Unit::One, (0.05, 1.2, "0.05 to 1.2"))?;
    let slope = within("slope", slope.percent(), Unit::Percent, (-20.0, 20.0, "−20 to 20 %"))?;
    let angle = libm::atan(slope / 100.0);
    Ok(G * (mu * libm::cos(angle) + libm::sin(angle)))
}

fn checked(of: &Loaded, wheelbase: Length) -> Result<(f64, f64), Refusal> {
    let base = within("wheelbase", wheelbase.mm(), Unit::Millimetre, (900.0, 2500.0, "900 to 2500 mm"))?;
    within(
        "centre of gravity ahead of the rear axle",
        of.ahead.mm(),
        Unit::Millimetre,
        (0.0, base, "between the axles"),
    )?;
    let height =
        within("height of the centre of gravity", of.height.mm(), Unit::Millimetre, (100.0, 2000.0, "100 to 2000 mm"))?;
    Ok((base, height))
}
