//! The same rows fitted by lme4 in the same go: how long that takes, and whether both find the same.

use muster_core::forecast::{
    fit::{Fit, KindFit},
    fleet::Fleet,
    parameters::Parameters,
    path::What,
};
use std::{env, error::Error, fs, process::Command};

/// Mean rates may differ by so many standard errors of the sample that the numbers are fitted to.
const ERRORS: f64 = 4.0;
/// The spread of lives' rates and a reading's deviation may differ by so much of themselves: a mixed model knows neither
/// regimes nor diffusion, and puts what they do into both; and lives that wear fast are more of its rows.
const SPREADS: f64 = 0.25;
/// Machines of a kind in the sample, at least.
const SAMPLE: f64 = 143.0;
/// The gauges' step in this yard, in mm.
const STEP: f64 = 0.1;

const SCRIPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/forecast_speed/reference.R");

/// What lme4 found of one kind.
struct Found {
    seconds: f64,
    rate: f64,
    error: f64,
    spread: f64,
    deviation: f64,
}

/// Fits by lme4 what `fit` was fitted to, prints both and their times (of our fit, of all our forecasts), and fails where
/// they differ by more than is stated above.
pub(crate) fn compare(fleet: &Fleet, fit: &Fit, (fitted, ahead): (f64, f64)) -> Result<(), Box<dyn Error>> {
    let path = env::temp_dir().join(format!("muster-rows-{}", std::process::id()));
    fs::write(&path, rows(fleet))?;
    let told = Command::new("Rscript").arg("--vanilla").arg(SCRIPT).arg(&path).output();
    fs::remove_file(&path)?;
    let told = told.map_err(|why| format!("cannot run Rscript ({why}): on Debian `apt-get install r-cran-lme4`"))?;
    if !told.status.success() {
        return Err(format!("lme4 failed: {}", String::from_utf8_lossy(&told.stderr)).into());
    }
    let told = String::from_utf8(told.stdout)?;
    let version = told.lines().find_map(|line| line.strip_prefix("version ")).unwrap_or("of no version").trim();
    let found: Vec<Found> = told.lines().filter_map(|line| found(line.strip_prefix("kind ")?)).collect();
    if found.len() != fleet.kinds.len() {
        return Err(format!("lme4 told of {} kinds of {}", found.len(), fleet.kinds.len()).into());
    }
    let mut apart = Vec::new();
    println!("kind      mean rate: ours, lme4's   spread of lives         reading's deviation");
    for (kind, found) in fleet.kinds.iter().zip(&found) {
        let own = fit.kinds.get(&kind.check).ok_or("a kind was not fitted")?;
        let [rate, spread, deviation] = numbers(own);
        println!(
            "{}    {rate:.4}  {:.4} ± {:.4}   {spread:.4}  {:.4}          {deviation:.4}  {:.4}",
            kind.check, found.rate, found.error, found.spread, found.deviation
        );
        let sampled = ERRORS * spread / libm::sqrt(SAMPLE);
        let off = |ours: f64, theirs: f64| (ours / theirs - 1.0).abs();
        if (rate - found.rate).abs() > sampled {
            apart.push(format!("{}: mean rate", kind.check));
        }
        if off(spread, found.spread) > SPREADS || off(deviation, found.deviation) > SPREADS {
            apart.push(format!("{}: spread", kind.check));
        }
    }
    let theirs: f64 = found.iter().map(|found| found.seconds).sum();
    println!(
        "lme4 {version}: {theirs:.1} s; ours {fitted:.3} s from nothing: {:.0} times as fast, with all forecasts {:.0} times",
        theirs / fitted,
        theirs / (fitted + ahead)
    );
    if apart.is_empty() { Ok(()) } else { Err(format!("further apart than stated: {}", apart.join(", ")).into()) }
}

/// Mean rate over all models, spread of lives' rates and regimes, deviation of a reading with its gauge's step.
fn numbers(kind: &KindFit) -> [f64; 3] {
    let parameters = Parameters::of(&kind.theta, kind.fresh);
    let models: f64 = kind.models.values().map(|effect| effect.mean).sum::<f64>() / kind.models.len().max(1) as f64;
    let square = |x: f64| x * x;
    let between: f64 = kind.models.values().map(|effect| square(effect.mean - models)).sum::<f64>();
    let regimes = square(parameters.motion.regime);
    let spread = libm::sqrt(parameters.rate_variance + regimes + between / kind.models.len().max(1) as f64);
    [parameters.rate + models, spread, libm::sqrt(parameters.reading_variance + STEP * STEP / 12.0)]
}

fn found(line: &str) -> Option<Found> {
    let cells: Vec<f64> = line.split_whitespace().filter_map(|cell| cell.parse().ok()).collect();
    let [_, seconds, rate, error, spread, deviation] = cells[..] else { return None };
    Some(Found { seconds, rate, error, spread, deviation })
}

/// Kind, life, distance in the life and wear of every reading, as little-endian floats.
fn rows(fleet: &Fleet) -> Vec<u8> {
    let mut out = Vec::new();
    let mut life = 0.0;
    for (kind, of) in (0_u32..).zip(&fleet.kinds) {
        for chain in &of.chains {
            life += 1.0;
            let mut x = 0.0;
            for step in &chain.steps {
                x += step.over;
                match &step.what {
                    What::Mounted => (life, x) = (life + 1.0, 0.0),
                    What::Read(read) => {
                        [f64::from(kind), life, x, read.z].iter().for_each(|cell| out.extend(cell.to_le_bytes()));
                    }
                }
            }
        }
    }
    out
}
