//! Computes the evidence rows of the workshop: wheels, bearings, heights, sprockets, the chain's run; tyres and fluids next door.

use super::physics::{mm, one_if, propagated, said, split, text, u, value_or_refused};
use super::{number, numbers, workshop_brakes, workshop_fluids, workshop_tyres};
use muster_core::formula::bearing::{self, TwoBearings};
use muster_core::formula::chain_run::{self, ArmGeometry, PlayThere, Travel};
use muster_core::formula::heights::{self, Squat, SquatU, TyreSize};
use muster_core::formula::run_out;
use muster_core::formula::sprocket::{self, Drive};
use muster_core::formula::tyre_marking::TyreMarking;
use muster_core::quantity::{Angle, Frequency, Length, Ratio, Speed};
use toml::Table;

/// Returns what the core's `formula` gives for `input`.
pub(crate) fn compute(formula: &str, input: &Table) -> Result<f64, String> {
    let Some(path) = formula.strip_prefix("formula::") else {
        return Err(format!("unknown formula {formula}"));
    };
    match path.split_once("::").unwrap_or_default() {
        ("run_out", name) => of_run_out(name, input),
        ("bearing", name) => of_bearing(name, input),
        ("heights", name) => of_heights(name, input),
        ("sprocket", name) => of_sprocket(name, input),
        ("chain_run", name) => of_chain_run(name, input),
        ("tyre_index", name) => workshop_tyres::of_index(name, input),
        ("tyre_marking", name) => workshop_tyres::of_marking(name, input),
        ("tyre_fit", name) => workshop_tyres::of_fit(name, input),
        ("tyre_load", name) => workshop_tyres::of_load(name, input),
        ("brake_test", name) => workshop_brakes::of_test(name, input),
        ("brake_fluid", name) => workshop_fluids::of_brake_fluid(name, input),
        ("coolant", name) => workshop_fluids::of_coolant(name, input),
        ("charging", name) => workshop_fluids::of_charging(name, input),
        ("standing", name) => workshop_fluids::of_standing(name, input),
        _ => Err(format!("unknown formula {formula}")),
    }
}

fn of_run_out(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let readings = || {
        let list = numbers(input, "readings")?;
        list.into_iter().map(|one| said(Length::from_mm(one))).collect::<Result<Vec<_>, String>>()
    };
    match (function, figure) {
        ("total_reading", figure) => value_or_refused(run_out::total_reading(&readings()?).map(Length::mm), figure),
        ("total_reading_with_u", figure) => {
            let pair = (mm(input, "high")?, mm(input, "low")?);
            propagated(&said(run_out::total_reading_with_u(pair, u(input, "each_u")?))?, figure, Length::mm)
        }
        ("eccentricity", figure) => {
            value_or_refused(run_out::eccentricity(mm(input, "total")?).map(Length::mm), figure)
        }
        ("eccentricity_with_u", figure) => {
            let total = (mm(input, "total")?, u(input, "total_u")?);
            propagated(&said(run_out::eccentricity_with_u(total))?, figure, Length::mm)
        }
        ("eccentric", Some("high-at")) => Ok(said(run_out::eccentric(&readings()?))?.high_at.one()),
        ("eccentric", figure) => {
            let found = run_out::eccentric(&readings()?).map(|found| found.off.mm());
            value_or_refused(found, figure.filter(|figure| *figure != "off"))
        }
        ("eccentric_with_u", figure) => {
            propagated(&said(run_out::eccentric_with_u(&readings()?, u(input, "each_u")?))?, figure, Length::mm)
        }
        _ => Err(format!("unknown formula run_out::{name}")),
    }
}

fn of_bearing(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let two = TwoBearings { apart: mm(input, "apart")?, reach: mm(input, "reach")? };
    let movement = || mm(input, "movement");
    let known = || Ok::<_, String>((mm(input, "movement")?, u(input, "movement_u")?));
    let plain = |result: Result<Length, _>| value_or_refused(result.map(Length::mm), figure);
    match function {
        "steering_head_play" => plain(bearing::steering_head_play(movement()?, two)),
        "wheel_bearing_play" => plain(bearing::wheel_bearing_play(movement()?, two)),
        "movement_at_axle" => plain(bearing::movement_at_axle(mm(input, "play")?, two)),
        "movement_at_rim" => plain(bearing::movement_at_rim(mm(input, "play")?, two)),
        "steering_head_play_with_u" => {
            propagated(&said(bearing::steering_head_play_with_u(known()?, two))?, figure, Length::mm)
        }
        "wheel_bearing_play_with_u" => {
            propagated(&said(bearing::wheel_bearing_play_with_u(known()?, two))?, figure, Length::mm)
        }
        _ => Err(format!("unknown formula bearing::{name}")),
    }
}

fn of_heights(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let percent = |key| number(input, key).and_then(|percent| said(Ratio::from_percent(percent)));
    let size = || {
        let rim_code = number(input, "rim")? as u8;
        Ok::<_, String>(TyreSize { width: mm(input, "width")?, aspect: percent("aspect")?, rim_code })
    };
    let squat = || {
        Ok::<_, String>(Squat {
            front: mm(input, "front")?,
            rear: mm(input, "rear")?,
            wheelbase: mm(input, "wheelbase")?,
            lamp_ahead: mm(input, "ahead")?,
        })
    };
    match function {
        "free_radius" => value_or_refused(heights::free_radius(size()?).map(Length::mm), figure),
        "of_marking" => {
            let size = said(TyreSize::of(&said(TyreMarking::parse(text(input, "text")?))?))?;
            match (figure, size) {
                (None, Some(size)) => said(heights::free_radius(size).map(Length::mm)),
                (_, size) => Ok(one_if(size.is_none())),
            }
        }
        "axle_height" => {
            value_or_refused(heights::axle_height(size()?, percent("squashed_percent")?).map(Length::mm), figure)
        }
        "squashed_share" => {
            value_or_refused(heights::squashed_share(size()?, mm(input, "height")?).map(Ratio::percent), figure)
        }
        "squashed_share_with_u" => {
            let height = (mm(input, "height")?, u(input, "height_u")?);
            let result = said(heights::squashed_share_with_u(size()?, height, u(input, "radius_u")?))?;
            propagated(&result, figure, Ratio::percent)
        }
        "lamp_height" => value_or_refused(heights::lamp_height(mm(input, "lamp")?, squat()?).map(Length::mm), figure),
        "lamp_height_with_u" => {
            let u =
                SquatU { lamp_mm: u(input, "lamp_u")?, front_mm: u(input, "front_u")?, rear_mm: u(input, "rear_u")? };
            propagated(&said(heights::lamp_height_with_u(mm(input, "lamp")?, squat()?, u))?, figure, Length::mm)
        }
        _ => Err(format!("unknown formula heights::{name}")),
    }
}

fn of_sprocket(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let count = |key| number(input, key).map(|count| count as u16);
    let drive = |centres| {
        Ok::<_, String>(Drive {
            driving: count("driving")?,
            driven: count("driven")?,
            centres,
            pitch: mm(input, "pitch")?,
        })
    };
    let reduction = || number(input, "reduction");
    match function {
        "ratio" => value_or_refused(sprocket::ratio(count("driving")?, count("driven")?), figure),
        "road_speed" => {
            let engine = said(Frequency::from_per_minute(number(input, "per_minute")?))?;
            let speed = sprocket::road_speed(engine, reduction()?, mm(input, "circumference")?);
            value_or_refused(speed.map(Speed::km_per_h), figure)
        }
        "engine_speed" => {
            let road = said(Speed::from_km_per_h(number(input, "km_per_h")?))?;
            let turns = sprocket::engine_speed(road, reduction()?, mm(input, "circumference")?);
            value_or_refused(turns.map(Frequency::per_minute), figure)
        }
        "turns_till_met_again" => {
            let turns = sprocket::turns_till_met_again(count("teeth")?, count("other")?);
            value_or_refused(turns.map(f64::from), figure)
        }
        "hunts" => said(sprocket::hunts(count("teeth")?, count("other")?).map(one_if)),
        "pitch_diameter" => {
            value_or_refused(sprocket::pitch_diameter(count("teeth")?, mm(input, "pitch")?).map(Length::mm), figure)
        }
        "links" => {
            let links = sprocket::links(drive(mm(input, "centres")?)?);
            match figure {
                Some("even") => Ok(f64::from(said(links)?.even)),
                figure => value_or_refused(links.map(|links| links.exact), figure.filter(|figure| *figure != "exact")),
            }
        }
        "centres_for" => {
            let unused = said(Length::from_mm(0.0))?;
            value_or_refused(sprocket::centres_for(count("links")?, drive(unused)?).map(Length::mm), figure)
        }
        "belt_teeth" => value_or_refused(sprocket::belt_teeth(drive(mm(input, "centres")?)?), figure),
        _ => Err(format!("unknown formula sprocket::{name}")),
    }
}

fn of_chain_run(name: &str, input: &Table) -> Result<f64, String> {
    let (function, figure) = split(name);
    let degrees = |key| number(input, key).and_then(|angle| said(Angle::from_degrees(angle)));
    let geometry = ArmGeometry {
        sprocket_ahead: mm(input, "ahead")?,
        sprocket_above: mm(input, "above")?,
        arm: mm(input, "arm")?,
        front_radius: mm(input, "front_radius")?,
        rear_radius: mm(input, "rear_radius")?,
    };
    let travel = || Ok::<_, String>(Travel { bumped: degrees("bumped")?, hanging: degrees("hanging")? });
    let there = |result: Result<PlayThere, _>| match (figure, result) {
        (Some("left"), Ok(PlayThere::Left(play))) => Ok(play.mm()),
        (Some("too-short"), Ok(PlayThere::TooShort(by))) => Ok(by.mm()),
        (Some("refused"), result) => value_or_refused(result.map(|_| 0.0), Some("refused")),
        (_, result) => Err(format!("{result:?}")),
    };
    match function {
        "centres" => value_or_refused(chain_run::centres(geometry, degrees("at")?).map(Length::mm), figure),
        "tightest" => {
            let tightest = chain_run::tightest(geometry, travel()?);
            match figure {
                Some("angle") => Ok(said(tightest)?.arm.degrees()),
                Some("centres") => Ok(said(tightest)?.centres.mm()),
                figure => value_or_refused(tightest.map(|_| 0.0), figure),
            }
        }
        "play_at" => {
            let read = (degrees("read_at")?, mm(input, "play")?);
            there(chain_run::play_at(geometry, read, degrees("at")?))
        }
        "play_to_set" => there(chain_run::play_to_set(geometry, travel()?, mm(input, "least")?, degrees("at")?)),
        _ => Err(format!("unknown formula chain_run::{name}")),
    }
}
