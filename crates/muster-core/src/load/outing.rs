//! Reads what a sheet states for outings: the table `[outing]`.

use alloc::{format, string::String, vec::Vec};

use super::{Reader, Row};
use crate::formula::{
    spring::{Air, Springs},
    tyre_load::LoadTable,
    tyre_marking::TyreMarking,
};
use crate::outing::stated::{Energy, Lamp, LuggagePlace, Of, Place, Pressures, Seat, Stated, Suspension, Tyre, Wheel};
use crate::quantity::{Amount, GaugePressure, Kind, Length, Mass, OutOfRange, Ratio, Speed};

/// The rider a lamp is aimed with, unless the sheet says otherwise: 75 kg, Regulation (EU) 168/2013 art. 5(2)(a) (read).
const RIDER_KG: f64 = 75.0;

const KEYS: &str = "page, wheelbase, mass, front_share, centre_height, gross, front_axle, rear_axle, rider, passenger, \
                    luggage, front, rear, pressures, seat, lamp, energy, pads_mm_per_1000km";

/// Reads the table. A part that is broken or missing is left out, and what rests on it is unseen.
pub(super) fn stated(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Stated> {
    let page = row.take(reader, "page");
    let wheelbase = figure(reader, &mut row, "wheelbase", Kind::Length);
    let mass = figure(reader, &mut row, "mass", Kind::Mass);
    let front_share = figure::<Ratio>(reader, &mut row, "front_share", Kind::Ratio);
    let centre_height = figure(reader, &mut row, "centre_height", Kind::Length);
    let mut most = |key| figure(reader, &mut row, key, Kind::Mass);
    let (gross, front_axle, rear_axle) = (most("gross"), most("front_axle"), most("rear_axle"));
    let rider = row.table(reader, "rider").and_then(|row| place(reader, row));
    let passenger = row.table(reader, "passenger").and_then(|row| place(reader, row));
    let luggage = row.rows(reader, "luggage").into_iter().filter_map(|row| luggage(reader, row)).collect();
    let front = row.table(reader, "front").map(|row| wheel(reader, row)).unwrap_or_default();
    let rear = row.table(reader, "rear").map(|row| wheel(reader, row)).unwrap_or_default();
    let pressures = row.rows(reader, "pressures").into_iter().filter_map(|row| pressures(reader, row)).collect();
    let seat = row.table(reader, "seat").and_then(|row| seat(reader, row));
    let lamp = row.table(reader, "lamp").and_then(|row| lamp(reader, row));
    let energy = row.table(reader, "energy").and_then(|row| energy(reader, row));
    let pads_mm_per_1000km = positive(reader, &mut row, "pads_mm_per_1000km");
    let span = row.span();
    row.finish(reader, KEYS);
    let (Some(wheelbase), Some(mass), Some(share), Some(centre_height), Some(rider)) =
        (wheelbase, mass, front_share, centre_height, rider)
    else {
        reader.say(span, "an outing needs wheelbase, mass, front_share, centre_height and rider");
        return None;
    };
    if !(0.2..=0.8).contains(&share.one()) {
        reader.say(span, format!("front_share must be 20 to 80 %, got {} %", share.percent()));
        return None;
    }
    Some(Stated {
        page,
        wheelbase,
        mass,
        front_share: share,
        centre_height,
        gross,
        front_axle,
        rear_axle,
        rider,
        passenger,
        luggage,
        front,
        rear,
        pressures: rising(reader, span, pressures),
        seat,
        lamp,
        energy,
        pads_mm_per_1000km,
    })
}

fn figure<T: TryFrom<Amount, Error = OutOfRange>>(
    reader: &mut Reader<'_>,
    row: &mut Row<'_>,
    key: &str,
    kind: Kind,
) -> Option<T> {
    row.amount(reader, key, kind).and_then(|amount| T::try_from(amount).ok())
}

fn positive(reader: &mut Reader<'_>, row: &mut Row<'_>, key: &str) -> Option<f64> {
    let value: f64 = row.take(reader, key)?;
    if value > 0.0 && value.is_finite() {
        return Some(value);
    }
    reader.say(row.span(), format!("{key} must be above 0, got {value}"));
    None
}

fn place(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Place> {
    let (ahead, height) = place_keys(reader, &mut row);
    row.finish(reader, "ahead, height");
    Some(Place { ahead: ahead?, height: height? })
}

fn place_keys(reader: &mut Reader<'_>, row: &mut Row<'_>) -> (Option<Length>, Option<Length>) {
    let ahead = figure(reader, row, "ahead", Kind::Length);
    let height = figure(reader, row, "height", Kind::Length);
    if ahead.is_none() || height.is_none() {
        reader
            .say(row.span(), "a place needs ahead (of the rear axle, negative behind it) and height (above the road)");
    }
    (ahead, height)
}

fn luggage(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<LuggagePlace> {
    let name: Option<String> = row.need(reader, "place");
    let (ahead, height) = place_keys(reader, &mut row);
    let at_most = figure(reader, &mut row, "at_most", Kind::Mass);
    let empty = figure(reader, &mut row, "empty", Kind::Mass);
    let mounted = row.take(reader, "mounted").unwrap_or(true);
    row.finish(reader, "place, ahead, height, at_most, empty, mounted");
    Some(LuggagePlace { name: name?, place: Place { ahead: ahead?, height: height? }, at_most, empty, mounted })
}

fn wheel(reader: &mut Reader<'_>, mut row: Row<'_>) -> Wheel {
    let tyre = row.table(reader, "tyre").and_then(|row| tyre(reader, row));
    let suspension = row.table(reader, "springs").and_then(|row| suspension(reader, row));
    row.finish(reader, "tyre, springs");
    Wheel { suspension, tyre }
}

fn tyre(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Tyre> {
    let text = row.text(reader, "marking");
    let mut rows = Vec::new();
    for mut load in row.rows(reader, "loads") {
        let at = figure::<GaugePressure>(reader, &mut load, "at", Kind::GaugePressure);
        let carries = figure::<Mass>(reader, &mut load, "carries", Kind::Mass);
        load.finish(reader, "at, carries");
        rows.extend(at.zip(carries));
    }
    let span = row.span();
    row.finish(reader, "marking, loads");
    let loads = if rows.is_empty() {
        None
    } else {
        LoadTable::new(&rows).map_err(|refusal| reader.say(span.clone(), format!("loads: {refusal}"))).ok()
    };
    let Some(text) = text else {
        reader.say(span, "a tyre needs its marking, as 120/70 R 17 58V");
        return None;
    };
    let marking = TyreMarking::parse(text.get_ref()).map_err(|refusal| reader.say(text.span(), format!("{refusal}")));
    Some(Tyre { marking: marking.ok()?, text: text.into_inner(), loads })
}

const SPRING_KEYS: &str = "rate_n_per_mm, then_n_per_mm, then_from, motion, motion_per_m, air_bore, air_gap, unsprung, \
                           travel, preload, per_click, clicks, standard, sag, free";

fn suspension(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Suspension> {
    let rate = positive(reader, &mut row, "rate_n_per_mm");
    let then = pair(reader, &row, ["then_from", "then_n_per_mm"]);
    let (from, rate_then) = (length(reader, &mut row, "then_from"), positive(reader, &mut row, "then_n_per_mm"));
    let motion = positive(reader, &mut row, "motion").unwrap_or(1.0);
    let motion_per_m: f64 = row.take(reader, "motion_per_m").unwrap_or(0.0);
    let air = pair(reader, &row, ["air_bore", "air_gap"]);
    let (bore, gap) = (length(reader, &mut row, "air_bore"), length(reader, &mut row, "air_gap"));
    let unsprung = figure(reader, &mut row, "unsprung", Kind::Mass);
    let (travel, preload) = (length(reader, &mut row, "travel"), length(reader, &mut row, "preload"));
    let per_click = length(reader, &mut row, "per_click");
    let (clicks, standard) = (click(reader, &mut row, "clicks"), click(reader, &mut row, "standard"));
    let (sag, free) = (range(reader, &mut row, "sag"), range(reader, &mut row, "free"));
    let span = row.span();
    row.finish(reader, SPRING_KEYS);
    let (Some(rate_n_per_mm), Some(unsprung), Some(travel), Some(preload), Some(sag)) =
        (rate, unsprung, travel, preload, sag)
    else {
        reader.say(span, "springs need rate_n_per_mm, unsprung, travel, preload and sag");
        return None;
    };
    let springs = Springs {
        rate_n_per_mm,
        then: from.zip(rate_then).filter(|_| then),
        motion,
        motion_per_m,
        air: bore.zip(gap).filter(|_| air).map(|(bore, gap)| Air { bore, gap }),
        unsprung,
        travel,
    };
    let last = Length::from_mm(preload.mm() + f64::from(clicks) * per_click.map_or(0.0, Length::mm)).ok()?;
    // What the formula would refuse at the kerb is refused here, with its line.
    for preload in [preload, last] {
        if let Err(refusal) = crate::formula::spring::sag(&springs, preload, unsprung) {
            reader.say(span, format!("springs: {refusal}"));
            return None;
        }
    }
    if standard > clicks || (clicks > 0) != per_click.is_some_and(|step| step.mm() > 0.0) {
        reader.say(span, "per_click (above 0), clicks (the last one) and standard (at most that) go together");
        return None;
    }
    Some(Suspension { springs, preload, per_click, clicks, standard, sag, free })
}

/// Whether both of two keys are there; one alone is said.
fn pair(reader: &mut Reader<'_>, row: &Row<'_>, [one, other]: [&str; 2]) -> bool {
    if row.has(one) != row.has(other) {
        reader.say(row.span(), format!("{one} and {other} go together"));
    }
    row.has(one) && row.has(other)
}

fn click(reader: &mut Reader<'_>, row: &mut Row<'_>, key: &str) -> u8 {
    let Some(click) = row.take::<u16>(reader, key) else { return 0 };
    u8::try_from(click).unwrap_or_else(|_| {
        reader.say(row.span(), format!("{key} must be 0 to 255, got {click}"));
        0
    })
}

fn length(reader: &mut Reader<'_>, row: &mut Row<'_>, key: &str) -> Option<Length> {
    figure(reader, row, key, Kind::Length)
}

fn range(reader: &mut Reader<'_>, row: &mut Row<'_>, key: &str) -> Option<(Length, Length)> {
    let texts: Vec<super::Text> = row.take(reader, key)?;
    let read = |reader: &mut Reader<'_>, text: &super::Text| {
        reader.amount(Kind::Length, text).and_then(|amount| Length::try_from(amount).ok())
    };
    if let [low, high] = texts.as_slice()
        && let (Some(low), Some(high)) = (read(reader, low), read(reader, high))
        && low < high
    {
        return Some((low, high));
    }
    reader.say(row.span(), format!("{key} must be two lengths, the lesser first: [\"30 mm\", \"40 mm\"]"));
    None
}

fn pressures(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Pressures> {
    let up_to = figure(reader, &mut row, "up_to", Kind::Mass);
    let front = figure(reader, &mut row, "front", Kind::GaugePressure);
    let rear = figure(reader, &mut row, "rear", Kind::GaugePressure);
    if up_to.is_none() || front.is_none() || rear.is_none() {
        reader.say(row.span(), "pressures need up_to (rider, passenger and luggage together), front and rear");
    }
    row.finish(reader, "up_to, front, rear");
    Some(Pressures { up_to: up_to?, front: front?, rear: rear? })
}

fn rising(reader: &mut Reader<'_>, span: core::ops::Range<usize>, rows: Vec<Pressures>) -> Vec<Pressures> {
    let pairs = || rows.iter().zip(rows.iter().skip(1));
    if pairs().all(|(low, high)| low.up_to < high.up_to && low.front <= high.front && low.rear <= high.rear) {
        return rows;
    }
    reader.say(span, "pressures must stand by rising load, and may not fall with it");
    Vec::new()
}

fn seat(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Seat> {
    let (height, width) = (length(reader, &mut row, "height"), length(reader, &mut row, "width"));
    if height.is_none() || width.is_none() {
        reader.say(row.span(), "a seat needs height and width");
    }
    row.finish(reader, "height, width");
    Some(Seat { height: height?, width: width? })
}

fn lamp(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Lamp> {
    let (ahead, height) = place_keys(reader, &mut row);
    let per_turn = positive(reader, &mut row, "per_turn_percent");
    if per_turn.is_none() {
        reader.say(row.span(), "a lamp needs per_turn_percent: what one turn of its screw lowers the beam by");
    }
    let aimed_with = figure(reader, &mut row, "aimed_with", Kind::Mass).or_else(|| Mass::from_kg(RIDER_KG).ok());
    row.finish(reader, "ahead, height, per_turn_percent, aimed_with");
    Some(Lamp { height: height?, ahead: ahead?, per_turn_percent: per_turn?, aimed_with: aimed_with? })
}

fn energy(reader: &mut Reader<'_>, mut row: Row<'_>) -> Option<Energy> {
    let of = row.word::<Of>(reader, "of");
    let holds = positive(reader, &mut row, "holds");
    let reserve: Option<f64> = row.take(reader, "reserve");
    let mut used: Vec<(Speed, f64)> = Vec::new();
    for mut at in row.rows(reader, "used") {
        let speed = figure::<Speed>(reader, &mut at, "at", Kind::Speed);
        let figure = positive(reader, &mut at, "per_100km");
        at.finish(reader, "at, per_100km");
        used.extend(speed.zip(figure));
    }
    let rises = used.iter().zip(used.iter().skip(1)).all(|(low, high)| low.0 < high.0);
    let span = row.span();
    row.finish(reader, "of, holds, reserve, used");
    match (of, holds, reserve) {
        (Some(of), Some(holds), Some(reserve)) if (0.0..holds).contains(&reserve) && rises && !used.is_empty() => {
            Some(Energy { of, holds, reserve, used })
        }
        _ => {
            reader
                .say(span, "energy needs of (fuel or charge), holds and reserve (L or kWh), and used by rising speed");
            None
        }
    }
}
