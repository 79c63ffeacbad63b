//! What paper is printed from: a yard's files with their forms, or a record.

use std::{collections::BTreeMap, sync::Arc};

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    form::Form,
    judge::{self, Context, Judgement, Outcome},
    machine::Machine,
    record::{
        event::Entry,
        id::{EventId, PersonId},
        judged,
        machine_state::MachineState,
    },
    yard::{Units, Yard},
};
use muster_report::Seal;

use super::NotPrinted;
use crate::{
    keeper::{Keeper, NotDone},
    people::{NotLet, feedback, names},
    store::photos::{PhotoId, Photos},
};

/// A yard with what is known of its machines.
pub struct Desk {
    /// The catalogue.
    pub(super) catalogue: Arc<Catalogue>,
    /// The yard, in the units asked for.
    pub yard: Yard,
    /// The moment it is printed for.
    pub(super) now: Moment,
    /// People by the text answers stand under.
    names: BTreeMap<String, String>,
    record: Option<Record>,
    forms: BTreeMap<String, Vec<Form>>,
}

/// A record to print from.
pub struct Record {
    /// Its keeper.
    pub keeper: Arc<Keeper>,
    /// The photos beside it.
    pub photos: Photos,
    /// Who prints: a machine's code for riders is drawn in their name at first use. Without, none is printed.
    pub by: Option<PersonId>,
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
    /// A yard's files.
    #[must_use]
    pub fn of_files(catalogue: Catalogue, yard: Yard, filed: impl IntoIterator<Item = Form>, now: Moment) -> Self {
        let mut forms: BTreeMap<String, Vec<Form>> = BTreeMap::new();
        for form in filed {
            forms.entry(form.machine.clone()).or_default().push(form);
        }
        Self { catalogue: Arc::new(catalogue), yard, now, names: BTreeMap::new(), record: None, forms }
    }

    /// A record, in the units asked for or the yard's own.
    ///
    /// # Errors
    /// [`NotPrinted::Store`].
    pub fn of_record(record: Record, units: Option<Units>, now: Moment) -> Result<Self, NotPrinted> {
        let mut yard = (*record.keeper.known().yard).clone();
        yard.units = units.unwrap_or(yard.units);
        let names = names::all(&record.keeper)?.into_iter().map(|(id, name)| (id.to_string(), name)).collect();
        let catalogue = record.keeper.catalogue().clone();
        Ok(Self { catalogue, yard, now, names, record: Some(record), forms: BTreeMap::new() })
    }

    /// A machine by its fleet number, in any case.
    ///
    /// # Errors
    /// [`NotPrinted::NoMachine`].
    pub(super) fn machine(&self, id: &str) -> Result<Its, NotPrinted> {
        let machines = &self.yard.machines;
        let found = machines.get(id).or_else(|| machines.values().find(|one| one.id.eq_ignore_ascii_case(id)));
        let missing = || NotPrinted::NoMachine(id.into());
        let machine = found.ok_or_else(missing)?;
        let Some(record) = &self.record else {
            let forms = self.forms.get(&machine.id).cloned().unwrap_or_default();
            return Ok(Its { machine: machine.clone(), forms, state: None });
        };
        let state = record.keeper.machine(&machine.id)?.ok_or_else(missing)?;
        let forms = state.forms().into_iter().cloned().collect();
        let machine = judged::machine(&self.yard, &state).unwrap_or_else(|| machine.clone());
        Ok(Its { machine, forms, state: Some(state) })
    }

    /// What a judgement of a machine rests on, at a moment.
    ///
    /// # Errors
    /// A machine whose sheet is not there.
    pub(super) fn context<'d>(&'d self, its: &'d Its, now: Moment) -> Result<Context<'d>, NotPrinted> {
        let context = Context::of(&self.catalogue, &self.yard, &its.machine.id, now);
        let missing = || NotPrinted::Nothing(format!("machine {} has no sheet: attach one first", its.machine.id));
        let context = context.ok_or_else(missing)?;
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
    pub(super) fn seal(&self, event: EventId) -> Result<Option<Seal>, NotPrinted> {
        let Some(entry) = self.entry(event)? else { return Ok(None) };
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

    /// An event of the record; none without one.
    ///
    /// # Errors
    /// A record that cannot be read.
    pub(super) fn entry(&self, event: EventId) -> Result<Option<Entry>, NotPrinted> {
        let Some(record) = &self.record else { return Ok(None) };
        let Some(stored) = record.keeper.store().event(event)? else { return Ok(None) };
        let damaged = |error| NotPrinted::Fault(format!("event {event} cannot be read: {error}"));
        Entry::read(&stored.signed.event).map(Some).map_err(damaged)
    }

    /// The name of a kind of workshop work.
    pub(super) fn job<'d>(&'d self, kind: &'d str) -> &'d str {
        let kinds = self.record.as_ref().map(|record| record.keeper.jobs()).unwrap_or_default();
        kinds.iter().find(|of| of.id == kind).map_or(kind, |of| &of.name)
    }

    /// Where a rider says what they noticed of a machine; none without an address, or where whoever prints may not draw
    /// the code.
    ///
    /// # Errors
    /// A record that cannot be written.
    pub(super) fn feedback(&self, machine: &str, address: Option<&str>) -> Result<Option<String>, NotPrinted> {
        let Some((record, address)) = self.record.as_ref().zip(address) else { return Ok(None) };
        let Some(by) = &record.by else { return Ok(None) };
        match feedback::code_of(&record.keeper, machine, by, self.now) {
            Ok(code) => Ok(Some(format!("{}{}{code}", address.trim_end_matches('/'), feedback::PATH))),
            Err(NotLet::NotDone(NotDone::Refused(_))) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }
}
