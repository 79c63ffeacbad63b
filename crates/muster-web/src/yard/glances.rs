//! The yard at a glance while what judges is still coming: as it was judged here last, or as the server has just judged it.
//!
//! It is shown only while it is of now: made of the very events that are held, a few minutes ago at most. Else a row says
//! no more than which machine it is.

use std::{collections::BTreeMap, sync::Arc};

use leptos::prelude::*;
use muster_core::{
    calendar::Moment,
    record::{
        event::Event,
        heads::Heads,
        held::Held,
        id::{DeviceId, EventId},
        payload::Kind,
    },
};
use muster_wire::{
    carried::{Piece, Pieces},
    glance::{Glances, Row},
    sync::{End, Holds},
};
use serde::{Deserialize, Serialize};

use super::{Disk, Yard, ask};
use crate::clock;

/// By what name it is kept.
const KEPT_AS: &str = "glances";
/// So old a glance is not of now, in seconds: answers lapse by the day, outings end by the minute.
const OLD_S: i64 = 300;
/// So many events that came since are looked at one by one.
const FEW: u64 = 8;

/// The yard at a glance.
#[derive(Clone)]
pub(crate) struct AtAGlance {
    /// What the rows say.
    pub(crate) glances: Arc<Glances>,
    /// Whether their verdicts may be shown as now's.
    pub(crate) is_of_now: bool,
    /// Till when at most, by the browser's clock, ms.
    till: f64,
}

/// As it is kept: with what made it, for another version of the app may judge otherwise.
#[derive(Serialize, Deserialize)]
struct Kept {
    by: String,
    glances: String,
}

impl Yard {
    /// What is known at a glance; none once everything was judged.
    pub(crate) fn at_a_glance(self) -> Option<AtAGlance> {
        self.glances.get()
    }

    /// Everything was judged here: it is kept for the next start, and shown from here on.
    pub(crate) async fn judged_all(self, at: Moment, rows: Vec<Row>) {
        if self.glances.with_untracked(Option::is_some) {
            self.glances.set(None);
        }
        let known = self.held.with_value(|held| {
            let held = held.as_ref()?;
            let yard = &held.known().yard;
            Some((Holds::from(held.heads()).heads, yard.name.clone(), yard.time_zone.clone()))
        });
        let Some(((heads, name, time_zone), disk)) = known.zip(self.disk()) else { return };
        // Another tab's disk is its own.
        if self.link.with_untracked(|link| link.other_tab) || rows.len() > Glances::MOST {
            return;
        }
        let out = |id: &String| rows.iter().any(|row| row.out.as_ref().is_some_and(|out| out.riders.contains(id)));
        let names = self.names.with_untracked(|names| {
            names.iter().filter(|(id, _)| out(id)).map(|(id, name)| (id.clone(), name.clone())).collect()
        });
        let glances = Glances { judged_at: at.to_string(), heads, name, time_zone, names, rows };
        let Ok(glances) = serde_json::to_string(&glances) else { return };
        // What is not kept is judged before it is shown.
        let _ = disk.remember(KEPT_AS, &Kept { by: version(), glances }).await;
    }

    /// Takes up what was kept, beside what was carried.
    pub(super) async fn recall_glances(self, disk: &Disk, carried: &[u8]) {
        let Ok(Some(kept)) = disk.recall::<Kept>(KEPT_AS).await else { return };
        let Ok(glances) = serde_json::from_str::<Glances>(&kept.glances) else { return };
        let Some(heads) = self.heads_on(disk, carried).await else { return };
        let is_same = kept.by == version() && Holds::from(&heads).heads == glances.heads;
        let age = Moment::parse(&glances.judged_at).ok().map(|at| clock::now().seconds_since(at));
        // What was judged in time to come was judged by a wrong clock.
        let left = age.filter(|age| is_same && *age >= 0).map_or(0, |age| OLD_S - age);
        self.show(glances, js_sys::Date::now() + 1000.0 * left as f64);
    }

    /// What the server says of the yard while nothing is held here. Without it rows wait till they are judged.
    pub(super) async fn fetch_glances(self) {
        let asked = js_sys::Date::now();
        let Ok(glances) = ask::<Glances>("GET", "/api/v1/sync/glance", None::<&()>).await else { return };
        if self.held.with_value(Option::is_none) {
            // It judged in the minute it was asked in, whatever this phone's clock says.
            self.show(glances, asked + 1000.0 * (OLD_S - 60) as f64);
        }
    }

    /// Shows what was seen, as of now till a time of the browser's clock, ms.
    fn show(self, glances: Glances, till: f64) {
        if glances.rows.is_empty() {
            return;
        }
        if self.names.with_untracked(BTreeMap::is_empty) {
            self.names.set(glances.names.clone());
        }
        let is_of_now = js_sys::Date::now() < till;
        self.glances.set(Some(AtAGlance { glances: Arc::new(glances), is_of_now, till }));
    }

    /// What is held has changed, or a minute has passed: a glance that is not of now any more is not shown as such.
    pub(super) fn look_at_glances(self) {
        let Some(at) = self.glances.get_untracked().filter(|at| at.is_of_now) else { return };
        let same = self.held.with_value(|held| held.as_ref().is_none_or(|held| is_of(held, &at.glances)));
        if !same || js_sys::Date::now() >= at.till {
            self.glances.set(Some(AtAGlance { is_of_now: false, ..at }));
        }
    }

    /// The heads of what the disk has, by the numbers alone.
    async fn heads_on(self, disk: &Disk, carried: &[u8]) -> Option<Heads> {
        let mut heads = Heads::default();
        // The ends stand before the events.
        for piece in Pieces::of(std::str::from_utf8(carried).ok()?).take(2) {
            if let Piece::Ends(ends) = piece.ok()? {
                ends.iter().filter_map(End::series).for_each(|(device, end)| {
                    heads.raise(EventId { device, seq: end.seq });
                });
            }
        }
        let (later, unsent) = disk.numbers().await.ok()?;
        later.into_iter().for_each(|id| heads.raise(id));
        let device = self.device();
        unsent.into_iter().for_each(|seq| heads.raise(EventId { device, seq }));
        Some(heads)
    }
}

/// Whether a glance was made of what is held. A device that joined since changes no machine.
fn is_of(held: &Held, glances: &Glances) -> bool {
    let Some(then) = (Holds { heads: glances.heads.clone() }).heads() else { return false };
    if !held.heads().missing(&then).is_empty() {
        return false;
    }
    let since = then.missing(held.heads());
    let count: u64 = since.iter().map(|stretch| stretch.to - stretch.from + 1).sum();
    let joined = |device: DeviceId, seq: u64| {
        held.event(EventId { device, seq }).map(|event: &Event| event.payload.kind()) == Some(Kind::DeviceAdded)
    };
    count <= FEW && since.iter().all(|of| (of.from..=of.to).all(|seq| joined(of.device, seq)))
}

/// Which version of the app this is, by the script that began it: its name changes with anything in the app.
fn version() -> String {
    let script = document().query_selector("script[type=module][src]").ok().flatten();
    script.and_then(|script| script.get_attribute("src")).unwrap_or_default()
}
