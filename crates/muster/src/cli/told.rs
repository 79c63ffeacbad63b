//! An outing as it is told on the command line: the same words to work one out, to plan it and to let a machine out for it.

use clap::Args;
use muster_core::{
    outing::Asked,
    quantity::{Kind, Mass, text},
};

/// What is told of an outing but for who rides, how far and till when.
#[derive(Args, Debug, Default)]
pub(crate) struct Way {
    /// The rider's inseam, without boots: "810 mm"; as --rider with names
    #[arg(long, value_name = "LENGTH")]
    pub(crate) inseam: Vec<String>,
    /// The rider's licence: AM, A1, A2, A; as --rider with names
    #[arg(long, value_name = "CLASS")]
    pub(crate) licence: Vec<String>,
    /// What the school says of the rider: learner, novice, practised, instructor; as --rider with names
    #[arg(long, value_name = "LEVEL")]
    pub(crate) level: Vec<String>,
    /// The passenger in kit
    #[arg(long, value_name = "MASS")]
    pub(crate) passenger: Option<String>,
    /// Luggage by the sheet's place: cases="12 kg"; several times
    #[arg(long, value_name = "PLACE=MASS")]
    pub(crate) luggage: Vec<String>,
    /// The highest speed held for long; without it stops are told from 50 km/h
    #[arg(long, value_name = "SPEED")]
    pub(crate) speed: Option<String>,
    /// On what: range, town, country, motorway; without it country
    #[arg(long, value_name = "ROAD")]
    pub(crate) road: Option<String>,
    /// The air now: 8, "46 °F"
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub(crate) air: Option<String>,
    /// The coldest or hottest air on the way
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub(crate) air_there: Option<String>,
    /// Height of the yard above the sea: "90 m"
    #[arg(long, value_name = "HEIGHT")]
    pub(crate) altitude: Option<String>,
    /// The highest place on the way
    #[arg(long, value_name = "HEIGHT")]
    pub(crate) highest: Option<String>,
    /// Wet roads
    #[arg(long)]
    pub(crate) rain: bool,
    /// In the dark, or back in the dark
    #[arg(long)]
    pub(crate) dark: bool,
    /// How full tank or battery is; without it full
    #[arg(long, value_name = "SHARE")]
    pub(crate) aboard: Option<String>,
    /// The tyres' own temperature, where they are warm: how far to pump now
    #[arg(long, value_name = "TEMPERATURE")]
    pub(crate) tyres: Option<String>,
    /// Click of preload the front stands at; without it as delivered
    #[arg(long, value_name = "CLICK")]
    pub(crate) front_click: Option<u8>,
    /// Click of preload the rear stands at; without it as delivered
    #[arg(long, value_name = "CLICK")]
    pub(crate) rear_click: Option<u8>,
}

/// Who rides, as one `--rider` tells it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Rides {
    /// By name, or by id where people are known by theirs.
    pub(crate) name: Option<String>,
    /// In kit, as typed.
    pub(crate) mass: Option<String>,
}

impl Rides {
    /// `Ann=82 kg`, `82 kg` or `Ann`.
    pub(crate) fn read(text: &str) -> Self {
        if let Some((name, mass)) = text.split_once('=') {
            return Self { name: Some(name.trim().to_owned()), mass: Some(mass.trim().to_owned()) };
        }
        let text = text.trim().to_owned();
        match is_mass(&text) {
            true => Self { name: None, mass: Some(text) },
            false => Self { name: Some(text), mass: None },
        }
    }
}

fn is_mass(text: &str) -> bool {
    let bare = text.chars().all(|of| of.is_ascii_digit() || of == '.');
    let sign = text::DecimalSign::Point;
    bare || text::read(Kind::Mass, text, sign).is_ok_and(|amount| Mass::try_from(amount).is_ok())
}

impl Way {
    /// Whether anything is told but the rider: then there is an outing to work out.
    pub(crate) fn is_told(&self) -> bool {
        let texts =
            [&self.passenger, &self.speed, &self.road, &self.air, &self.air_there, &self.altitude, &self.highest];
        let lists = [&self.inseam, &self.licence, &self.level, &self.luggage];
        texts.iter().any(|text| text.is_some())
            || lists.iter().any(|list| !list.is_empty())
            || self.rain
            || self.dark
            || self.aboard.is_some()
            || self.tyres.is_some()
            || self.front_click.is_some()
            || self.rear_click.is_some()
    }

    /// One rider's outing. What is told with a name is that rider's, what is told without is everybody's.
    pub(crate) fn asked(&self, rides: &Rides, distance: Option<&str>, back: Option<&str>) -> Asked {
        let name = rides.name.as_deref();
        let of = |all: &[String]| {
            let named = all.iter().filter_map(|text| text.split_once('='));
            let own = named.filter(|(whose, _)| Some(whose.trim()) == name).map(|(_, text)| text.trim().to_string());
            let bare = all.iter().filter(|text| !text.contains('=')).map(|text| text.trim().to_string());
            own.chain(bare).next()
        };
        Asked {
            name: rides.name.clone(),
            rider: rides.mass.clone(),
            inseam: of(&self.inseam),
            licence: of(&self.licence),
            level: of(&self.level),
            passenger: self.passenger.clone(),
            luggage: self.luggage.clone(),
            distance: distance.map(ToOwned::to_owned),
            speed: self.speed.clone(),
            road: self.road.clone(),
            air: self.air.clone(),
            air_there: self.air_there.clone(),
            altitude: self.altitude.clone(),
            highest: self.highest.clone(),
            rain: self.rain,
            dark: self.dark,
            back: back.map(ToOwned::to_owned),
            aboard: self.aboard.clone(),
            tyres: self.tyres.clone(),
            front_click: self.front_click,
            rear_click: self.rear_click,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Rides;

    #[test]
    fn a_rider_is_told_by_name_by_mass_or_by_both() {
        let read = |text: &str| {
            let Rides { name, mass } = Rides::read(text);
            (name.unwrap_or_default(), mass.unwrap_or_default())
        };
        assert_eq!(read("Ann = 82 kg"), ("Ann".into(), "82 kg".into()));
        assert_eq!(read("82kg"), (String::new(), "82kg".into()));
        assert_eq!(read("181 lb"), (String::new(), "181 lb".into()));
        assert_eq!(read("82.5"), (String::new(), "82.5".into()));
        assert_eq!(read("900 kg"), (String::new(), "900 kg".into()));
        assert_eq!(read("p-ann"), ("p-ann".into(), String::new()));
    }
}
