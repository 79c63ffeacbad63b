//! What paper is printed from: a yard's folder, a record's folder, or the demonstration.

use std::{collections::BTreeMap, path::Path, sync::Arc};

use anyhow::{Context as _, Result};
use muster::{
    keeper::Opened,
    people::names,
    store::{Store as _, photos::PhotoId},
};
use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    form::Form,
    judge::{self, Context, Judgement, Outcome},
    machine::Machine,
    record::{event::Entry, id::EventId, judged, machine_state::MachineState},
    yard::Yard,
};
use muster_report::Seal;

use super::super::{
    arguments::Global,
    demonstration,
    site::{Site, hint},
};

/// A yard with what is known of its machines.
pub(super) struct Desk {
    /// The catalogue.
    pub(super) catalogue: Arc<Catalogue>,
    /// The yard, in the units asked for.
    pub(super) yard: Yard,
    /// The moment it is printed for.
    pub(super) now: Moment,
    /// People by the text answers stand under.
    pub(super) names: BTreeMap<String, String>,
    /// Whether it is the demonstration.
    pub(super) is_demo: bool,
    /// Its record, where it has one.
    pub(super) record: Option<Opened>,
    forms: BTreeMap<String, Vec<Form>>,
    _folder: Option<tempfile::TempDir>,
}

/// One machine, as it is known.
pub(super) struct Its {
    /// It, with the service state of its events.
    pub(super) machine: Machine,
    /// Its forms.
    pub(super) forms: Vec<Form>,
    /// Its record's fold, where there is one.
    pub(super) state: Option<Arc<MachineState>>,
}

impl Desk {
    /// Opens a yard's folder, or the demonstration's.
    ///
    /// # Errors
    /// What [`Site::open`] refuses.
    pub(super) fn of_yard(global: &Global) -> Result<Self> {
        let site = Site::open(global)?;
        let now = site.now();
        let mut forms: BTreeMap<String, Vec<Form>> = BTreeMap::new();
        for form in site.forms.into_iter().filter_map(|filed| filed.form) {
            forms.entry(form.machine.clone()).or_default().push(form);
        }
        Ok(Self {
            catalogue: Arc::new(site.catalogue),
            yard: site.yard,
            now,
            names: BTreeMap::new(),
            is_demo: site.folder.is_none(),
            record: None,
            forms,
            _folder: None,
        })
    }

    /// Opens a record's folder.
    ///
    /// # Errors
    /// A folder that holds none, or is in use.
    pub(super) fn of_record(global: &Global, folder: &Path) -> Result<Self> {
        let opened = Opened::existing(folder)?;
        let yard = opened.keeper.known().yard;
        let now = global.on.unwrap_or_else(|| clock(&yard));
        Self::kept(global, opened, now)
    }

    /// Tells the demonstration's record, to print from.
    ///
    /// # Errors
    /// A folder that cannot be written.
    pub(super) fn of_demonstration(global: &Global) -> Result<Self> {
        let folder = tempfile::tempdir().context("cannot make a folder for the demonstration")?;
        let demo = demonstration::begin(folder.path())?;
        let desk = Self::kept(global, demo.opened, global.on.unwrap_or(demo.on))?;
        Ok(Self { is_demo: true, _folder: Some(folder), ..desk })
    }

    fn kept(global: &Global, opened: Opened, now: Moment) -> Result<Self> {
        let known = opened.keeper.known();
        let mut yard = (*known.yard).clone();
        yard.units = global.units.unwrap_or(yard.units);
        let names = names::all(&opened.keeper)?;
        Ok(Self {
            catalogue: opened.keeper.catalogue().clone(),
            yard,
            now,
            names: names.into_iter().map(|(id, name)| (id.to_string(), name)).collect(),
            is_demo: false,
            record: Some(opened),
            forms: BTreeMap::new(),
            _folder: None,
        })
    }

    /// A machine by its fleet number, in any case.
    ///
    /// # Errors
    /// An unknown number, with the nearest one there is.
    pub(super) fn machine(&self, id: &str) -> Result<Its> {
        let machines = &self.yard.machines;
        let found = machines.get(id).or_else(|| machines.values().find(|one| one.id.eq_ignore_ascii_case(id)));
        let known = || hint(id, machines.keys().map(String::as_str));
        let machine = found.with_context(|| format!("no machine `{id}` in {}{}", self.yard.name, known()))?;
        let Some(record) = &self.record else {
            let forms = self.forms.get(&machine.id).cloned().unwrap_or_default();
            return Ok(Its { machine: machine.clone(), forms, state: None });
        };
        let state =
            record.keeper.machine(&machine.id)?.with_context(|| format!("{} is not in the record", machine.id))?;
        let forms = state.forms().into_iter().cloned().collect();
        let machine = judged::machine(&self.yard, &state).unwrap_or_else(|| machine.clone());
        Ok(Its { machine, forms, state: Some(state) })
    }

    /// What a judgement of a machine rests on, at a moment.
    ///
    /// # Errors
    /// A machine whose sheet is not there.
    pub(super) fn context<'d>(&'d self, its: &'d Its, now: Moment) -> Result<Context<'d>> {
        let context = Context::of(&self.catalogue, &self.yard, &its.machine.id, now);
        let context =
            context.with_context(|| format!("machine {} has no sheet: muster data says why", its.machine.id))?;
        Ok(Context { machine: &its.machine, ..context })
    }

    /// The machine, judged at a moment.
    pub(super) fn judgement(&self, its: &Its, context: &Context<'_>) -> Judgement {
        let state = its.state.as_ref();
        let of_record =
            state.and_then(|state| judged::judgement(&self.catalogue, &self.yard, state, context.now, None));
        of_record.unwrap_or_else(|| judge::judge(context, &its.forms.iter().collect::<Vec<_>>()))
    }

    /// A person's name; a text that is no person's id is a name already.
    pub(super) fn name(&self, person: &str) -> String {
        self.names.get(person).cloned().unwrap_or_else(|| person.to_string())
    }

    /// A reason with the name of whom it rests on in place of what the record writes.
    pub(super) fn named(&self, text: &str, outcome: &Outcome) -> String {
        muster_report::by_name(text, outcome, &|person| self.name(person))
    }

    /// What the code of a machine's document says: its page, and the hash of what the yard's files say.
    pub(super) fn seal_of(&self, machine: &str) -> Seal {
        Seal { path: format!("/machines/{machine}"), hash: self.yard.hash.clone() }
    }

    /// What the code of an event's document says: its place in the record, and its hash.
    ///
    /// # Errors
    /// A record that cannot be read.
    pub(super) fn seal(&self, event: EventId) -> Result<Option<Seal>> {
        let Some(record) = &self.record else { return Ok(None) };
        let Some(stored) = record.store.event(event)? else { return Ok(None) };
        let entry = Entry::read(&stored.signed.event)?;
        Ok(Some(Seal { path: format!("/records/{event}"), hash: entry.hash }))
    }

    /// A photo's bytes, small enough to print; or why they are not here.
    pub(super) fn photo(&self, sha256: &str) -> Result<Vec<u8>, String> {
        /// Side of a photo printed 55 mm wide at 300 dpi.
        const SIDE_PX: u32 = 800;
        let missing = || "not sent here".to_string();
        let record = self.record.as_ref().ok_or_else(missing)?;
        let id: PhotoId = sha256.parse().map_err(|_| "its name is no hash".to_string())?;
        match record.photos.thumbnail(&id, SIDE_PX) {
            Ok(bytes) => bytes.ok_or_else(missing),
            Err(error) => Err(error.to_string()),
        }
    }
}

/// Now, as the clocks of a yard show it.
fn clock(yard: &Yard) -> Moment {
    let now = jiff::Timestamp::now();
    let now = jiff::Timestamp::from_second(now.as_second()).unwrap_or(now);
    let zone = jiff::tz::TimeZone::get(&yard.time_zone).unwrap_or(jiff::tz::TimeZone::UTC);
    Moment::new(now, zone.to_offset(now))
}
