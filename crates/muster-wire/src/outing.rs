//! An outing as it is told over the wire: the core's own shape, described here.

/// What is told of an outing, as it is typed: figures with their unit, or bare in kg, km, km/h, °C, mm, m, %.
#[cfg(feature = "schema")]
#[derive(Clone, Debug, Default, serde::Serialize, utoipa::ToSchema)]
pub struct OutingTold {
    /// Who rides, by name.
    pub name: Option<String>,
    /// The rider's mass in kit: `82 kg`.
    pub rider: Option<String>,
    /// The rider's inseam: `810 mm`.
    pub inseam: Option<String>,
    /// Class of the licence: `A2`.
    pub licence: Option<String>,
    /// The school's level: `novice`.
    pub level: Option<String>,
    /// The passenger's mass in kit.
    pub passenger: Option<String>,
    /// Place and mass: `cases=12 kg`.
    pub luggage: Vec<String>,
    /// How far: `180 km`.
    pub distance: Option<String>,
    /// Speed held for long: `110 km/h`.
    pub speed: Option<String>,
    /// range, town, country, motorway; without it: country.
    pub road: Option<String>,
    /// Air now: `8 °C`.
    pub air: Option<String>,
    /// The coldest or hottest air on the way.
    pub air_there: Option<String>,
    /// Height of the yard above the sea: `90 m`.
    pub altitude: Option<String>,
    /// The highest place on the way.
    pub highest: Option<String>,
    /// Wet roads.
    pub rain: bool,
    /// In the dark.
    pub dark: bool,
    /// When it is to be back: `17:30`, or with date and offset.
    pub back: Option<String>,
    /// How full tank or battery is: `80 %`.
    pub aboard: Option<String>,
    /// The tyres' own temperature, where they are warm: `34 °C`.
    pub tyres: Option<String>,
    /// Click of preload the front stands at.
    pub front_click: Option<u8>,
    /// Click of preload the rear stands at.
    pub rear_click: Option<u8>,
}

#[cfg(all(test, feature = "schema"))]
mod tests {
    use muster_core::outing::Asked;

    use super::OutingTold;

    #[test]
    fn what_is_described_is_what_the_core_reads() {
        let (described, read) = (serde_json::to_value(OutingTold::default()), serde_json::to_value(Asked::default()));
        assert_eq!(described.expect("it is written"), read.expect("it is written"));
    }
}
