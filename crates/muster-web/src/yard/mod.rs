//! What this browser knows of the yard, and how it writes to it: the same with signal and without.

mod disk;
mod foretold;
mod glances;
mod holding;
mod judging;
mod key;
mod link;
mod mend;
mod pen;
mod pins;
mod sync;
mod write;

use std::{collections::BTreeMap, rc::Rc, sync::Arc};

pub(crate) use disk::{Disk, Photo};
use futures_util::lock::Mutex;
pub(crate) use judging::Looked;
pub(crate) use key::Key;
use leptos::prelude::*;
pub(crate) use link::{LinkError, ask, fetched, send_bytes};
use muster_core::{
    calendar::Moment,
    form::Outing,
    judge::Judgement,
    record::{
        held::{Held, Rules},
        id::PersonId,
        judged,
        machine_state::MachineState,
        payload::{Kind, Right, Role},
        rights,
    },
    sorted,
};
use muster_wire::people::Me;
use serde::{Deserialize, Serialize};

use self::{glances::AtAGlance, judging::Judging, mend::Unsent};
use crate::clock;

/// The yard as this browser has it. Cheap to copy; one for the whole app, found by [`yard`].
#[derive(Clone, Copy)]
pub(crate) struct Yard {
    /// Held events and what they come to.
    held: StoredValue<Option<Held>, LocalStorage>,
    /// None before what judges is there.
    rules: StoredValue<Option<Arc<Rules>>, LocalStorage>,
    judging: StoredValue<Option<Judging>, LocalStorage>,
    /// It is fetched once.
    fetching: StoredValue<Rc<Mutex<()>>, LocalStorage>,
    /// What a row says till it is judged.
    glances: RwSignal<Option<AtAGlance>>,
    disk: StoredValue<Option<Rc<Disk>>, LocalStorage>,
    key: StoredValue<Option<Rc<Key>>, LocalStorage>,
    /// One command at a time: each event stands on the one before.
    writing: StoredValue<Rc<Mutex<()>>, LocalStorage>,
    /// What was written here and not sent, and photos, beside the disk: a browser may throw that away under an open page.
    unsent: StoredValue<Unsent, LocalStorage>,
    /// Rises whenever what is held changes: reading it tells a screen to look again.
    version: RwSignal<u64>,
    /// Who acts, as far as this browser knows.
    pub(crate) me: RwSignal<Option<Signed>>,
    /// Names of people by their ids.
    pub(crate) names: RwSignal<BTreeMap<String, String>>,
    /// How it stands with the server.
    pub(crate) link: RwSignal<Link>,
    judged: StoredValue<BTreeMap<String, Judged>, LocalStorage>,
}

/// Who is signed in here.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Signed {
    /// Their id.
    pub(crate) person: String,
    /// What they do here.
    pub(crate) role: String,
    /// Rights beyond the role's.
    pub(crate) rights: Vec<String>,
    /// Whether this is the demonstration.
    pub(crate) demonstration: bool,
    /// Whether they have set a PIN.
    #[serde(default)]
    pub(crate) has_pin: bool,
    /// Whether the server prints paper.
    #[serde(default)]
    pub(crate) prints: bool,
}

/// How it stands with the server.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Link {
    /// Whether the server answered the last time it was asked; none before it was.
    pub(crate) online: Option<bool>,
    /// When the server last answered, by the yard's time.
    pub(crate) heard: Option<Moment>,
    /// Events and photos that were not sent yet.
    pub(crate) unsent: usize,
    /// What the server did not take, and why: a person looks.
    pub(crate) refused: Vec<String>,
    /// This browser may write without signal: it holds a key the yard knows.
    pub(crate) enrolled: bool,
    /// The session is over: sign in to send.
    pub(crate) signed_out: bool,
    /// Another tab writes, or may: this one looks.
    pub(crate) other_tab: bool,
    /// That another does is known, and not still asked.
    pub(crate) is_other: bool,
    /// What could not be kept here.
    pub(crate) trouble: Option<String>,
    /// The browser threw away what it was given, with so many records that were not sent.
    pub(crate) lost: Option<usize>,
    /// The server's catalogue is another than this app's: its hash.
    pub(crate) other_catalogue: bool,
}

struct Judged {
    state: Arc<MachineState>,
    yard: Arc<muster_core::yard::Yard>,
    minute: i64,
    judgement: Arc<Judgement>,
}

/// One machine as known now.
#[derive(Clone)]
pub(crate) struct Seen {
    /// Its events, folded.
    pub(crate) state: Arc<MachineState>,
    /// Its judgement now.
    pub(crate) judgement: Arc<Judgement>,
}

/// The yard of the app.
pub(crate) fn yard() -> Yard {
    expect_context()
}

/// Why something asked for was not done, in words for whoever asked.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub(crate) struct NotDone(pub(crate) String);

impl Yard {
    /// Begins with nothing known.
    pub(crate) fn new() -> Self {
        Self {
            held: StoredValue::new_local(None),
            rules: StoredValue::new_local(None),
            judging: StoredValue::new_local(None),
            fetching: StoredValue::new_local(Rc::default()),
            glances: RwSignal::new(None),
            disk: StoredValue::new_local(None),
            key: StoredValue::new_local(None),
            writing: StoredValue::new_local(Rc::default()),
            unsent: StoredValue::new_local(Unsent::default()),
            version: RwSignal::new(0),
            me: RwSignal::new(None),
            names: RwSignal::new(BTreeMap::new()),
            link: RwSignal::new(Link::default()),
            judged: StoredValue::new_local(BTreeMap::new()),
        }
    }

    /// The catalogue and the kinds of workshop work. Only for what comes in a part: a screen of one is shown once they are
    /// there, and what judges brings them.
    pub(crate) fn rules(&self) -> Arc<Rules> {
        self.rules.get_value().expect("a part is run once the rules are there: `later::show`, `Yard::judging`")
    }

    /// Reads what is held, and makes the screen that reads look again when it changes; none before anything is.
    pub(crate) fn with<T>(&self, read: impl FnOnce(&Held) -> T) -> Option<T> {
        self.version.track();
        self.held.with_value(|held| held.as_ref().map(read))
    }

    /// The yard's name; empty before it is known.
    pub(crate) fn yard_name(&self) -> String {
        let glance = || self.glances.with(|at| at.as_ref().map(|at| at.glances.name.clone()));
        self.with(|held| held.known().yard.name.clone()).or_else(glance).unwrap_or_default()
    }

    /// The yard's time zone; none before it is known, or where it names none.
    pub(crate) fn time_zone(&self) -> Option<String> {
        let glance = || self.glances.with_untracked(|at| at.as_ref().map(|at| at.glances.time_zone.clone()));
        let zone = untrack(|| self.with(|held| held.known().yard.time_zone.clone()));
        zone.or_else(glance).filter(|zone| !zone.is_empty())
    }

    /// Whether anything is held yet.
    pub(crate) fn is_known(&self) -> bool {
        self.with(|_| ()).is_some()
    }

    /// Fleet numbers in the order of their rows in the yard.
    pub(crate) fn machines(&self) -> Vec<String> {
        self.with(|held| {
            let yard = &held.known().yard;
            let mut rows: Vec<(u16, String)> =
                yard.machines.iter().map(|(id, machine)| (machine.row, id.clone())).collect();
            sorted::sort(&mut rows);
            rows.into_iter().map(|(_, id)| id).collect()
        })
        .unwrap_or_default()
    }

    /// One machine, judged in this minute; none if there is none.
    pub(crate) fn machine(&self, id: &str) -> Option<Seen> {
        let now = clock::now();
        let minute = minute_of(now);
        let (state, yard) = self.with(|held| Some((held.machine(id)?.clone(), held.known().yard.clone())))??;
        let is_its =
            |of: &&Judged| Arc::ptr_eq(&of.state, &state) && Arc::ptr_eq(&of.yard, &yard) && of.minute == minute;
        if let Some(judgement) = self.judged.with_value(|all| all.get(id).filter(is_its).map(|of| of.judgement.clone()))
        {
            return Some(Seen { state, judgement });
        }
        let judgement = judged::judgement(&self.rules().catalogue, &yard, &state, now, None)?;
        let judgement = self.keep_judged((&state, &yard), now, judgement);
        Some(Seen { state, judgement })
    }

    /// Keeps what a machine came to in this minute.
    fn keep_judged(
        &self,
        (state, yard): (&Arc<MachineState>, &Arc<muster_core::yard::Yard>),
        now: Moment,
        judgement: Judgement,
    ) -> Arc<Judgement> {
        let judgement = Arc::new(judgement);
        let of =
            Judged { state: state.clone(), yard: yard.clone(), minute: minute_of(now), judgement: judgement.clone() };
        self.judged.update_value(|all| _ = all.insert(state.machine.clone(), of));
        judgement
    }

    /// A machine judged for an outing.
    pub(crate) fn judge_for(&self, id: &str, outing: Outing) -> Option<Judgement> {
        self.with(|held| held.judge(id, clock::now(), Some(outing), &self.rules()))?
    }

    /// A person's name; their id where it is not known here.
    pub(crate) fn name(&self, person: &str) -> String {
        self.names
            .with(|names| names.get(person).cloned())
            .filter(|name| !name.is_empty())
            .unwrap_or_else(|| person.to_owned())
    }

    /// Who acts; none before anybody signed in.
    pub(crate) fn person(&self) -> Option<PersonId> {
        self.me.with(|me| me.as_ref()?.person.parse().ok())
    }

    /// The role of who acts.
    pub(crate) fn role(&self) -> Option<Role> {
        self.me.with(|me| me.as_ref()?.role.parse().ok())
    }

    /// Whether who acts may write a kind of event: what they may not is not offered.
    pub(crate) fn may(&self, kind: Kind) -> bool {
        self.role().is_some_and(|role| rights::may_write(role, kind))
    }

    /// Whether paper is to be had: the server prints, and who acts may.
    pub(crate) fn prints(&self) -> bool {
        self.me.with(|me| me.as_ref().is_some_and(|me| me.prints)) && self.may(Kind::PaperIssued)
    }

    /// Whether who acts has a right beyond their role's.
    pub(crate) fn has(&self, right: Right) -> bool {
        self.me.with(|me| me.as_ref().is_some_and(|me| me.rights.iter().any(|of| of == right.as_str())))
    }

    /// Tells every screen that reads what is held to look again.
    fn changed(&self) {
        self.look_at_glances();
        self.version.update(|version| *version += 1);
    }

    /// Looks again though nothing was written: a minute has passed, and lives lapse.
    pub(crate) fn look_again(&self) {
        self.changed();
    }

    /// Takes note of who is signed in.
    fn signed_in(&self, me: &Me) {
        let me = Some(Signed {
            person: me.person.clone(),
            role: me.role.clone(),
            rights: me.rights.clone(),
            demonstration: me.demonstration,
            has_pin: me.has_pin,
            prints: me.prints,
        });
        // Told only when it is somebody else or somebody else's rights: every sync asks.
        if self.me.with_untracked(|known| *known != me) {
            self.me.set(me);
        }
    }

    /// Whether the yard has revoked this device: what it writes does not count.
    pub(crate) fn is_revoked(self) -> bool {
        let device = self.device();
        let of = self.with(|held| held.known().state.devices.get(&device).is_some_and(|of| of.revoked.is_some()));
        of.unwrap_or(false)
    }

    /// The disk of this browser, if there is one.
    pub(crate) fn disk(&self) -> Option<Rc<Disk>> {
        self.disk.get_value()
    }
}

/// The minute a moment lies in: a judgement stands for one.
fn minute_of(at: Moment) -> i64 {
    at.timestamp().as_second().div_euclid(60)
}
