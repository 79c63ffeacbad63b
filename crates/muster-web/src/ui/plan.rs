//! The station map of a machine, as its checks stand.

use std::collections::BTreeMap;

use leptos::prelude::*;
use muster_core::state::Station;
use muster_draw::plan::{Stop, plan};

use super::Drawn;
use crate::words::t;

/// A station's name in the language spoken.
pub(crate) fn station_name(station: Station) -> String {
    match station {
        Station::FrontWheel => t!("station-front-wheel"),
        Station::Cockpit => t!("station-cockpit"),
        Station::LeftSide => t!("station-left-side"),
        Station::RearWheel => t!("station-rear-wheel"),
        Station::RightSide => t!("station-right-side"),
        Station::Under => t!("station-under"),
    }
}

/// The map, with how far each station is looked at.
#[component]
pub(crate) fn StationMap(
    /// Stations that are asked for, with how far each is.
    stops: Vec<(Station, Stop)>,
    /// Where one stands.
    #[prop(optional_no_strip)]
    here: Option<Station>,
) -> impl IntoView {
    let stops: BTreeMap<Station, Stop> = stops.into_iter().collect();
    let of = |station| stops.get(&station).copied().unwrap_or(Stop::NotAsked);
    view! { <Drawn markup=plan(of, here, &t!("station-map"))/> }
}
