//! One event more of a machine: what each kind changes.

use alloc::{string::ToString, sync::Arc, vec::Vec};

use super::{
    FindingState, Job, MachineState, Part, ReleaseState, Scope, Tag,
    withdrawn::{may_lift, standing},
};
use crate::{
    catalogue::Catalogue,
    form::{Close, Event as Ended, Finding},
    quantity::{Distance, Kind as Quantity, text, text::DecimalSign},
    record::{
        event::Event,
        fold::{Aside, Flag},
        id::{EventId, PersonId},
        payload::{
            FindingClassed, FindingRaised, JobMoved, JobProven, JobState, ObservationMade, PartMounted, Payload,
            ReadingTaken, Released, Returned, Right, ServiceChanged, Tagged,
        },
        rights,
        walk_rounds::WalkRound,
    },
    sorted,
    words::{Class, Ending, Service, Uses},
};

impl MachineState {
    pub(super) fn take(&mut self, event: &Event, scope: Scope<'_>) {
        self.last = Some(event.place());
        self.people.insert(event.author.clone());
        self.people.extend(named(&event.payload));
        if self.withdrawn.contains(&event.id) && rights::can_be_withdrawn(event.payload.kind()) {
            return;
        }
        let distrust = scope.yard.distrust(event);
        let impounded = self.impounded.is_some() && rights::touches(&event.payload);
        let why = distrust.or(impounded.then_some(Aside::Impounded));
        if let Some(why) = why {
            self.flag(event, why);
        }
        if why.is_none() || rights::only_worsens(event.payload.kind()) {
            let taken = self.set(event, scope);
            if let Err(why) = taken {
                self.flag(event, why);
            }
        }
    }

    fn flag(&mut self, event: &Event, why: Aside) {
        self.flags.push(Flag { event: event.id, kind: event.payload.kind(), why });
    }

    fn set(&mut self, event: &Event, scope: Scope<'_>) -> Result<(), Aside> {
        match &event.payload {
            Payload::WalkRoundOpened(_)
            | Payload::WalkRoundClosed(_)
            | Payload::ReadingTaken(_)
            | Payload::ObservationMade(_)
            | Payload::ThingSet(_) => return self.looked(event, scope.catalogue),
            Payload::ServiceChanged(of) => return self.service_changed(of, event, scope),
            Payload::PartMounted(of) => return self.mounted(of, event),
            Payload::PartRemoved(of) => {
                self.parts.get_mut(&of.mounted).ok_or(Aside::NamesNothing)?.removed = Some(event.id);
                self.forks.note("part", Some(of.mounted), event.id);
                self.noted(of.odometer.as_deref());
            }
            Payload::OdometerNoted(of) => {
                self.odometers.insert(event.id);
                self.noted(Some(&of.odometer));
            }
            Payload::FindingRaised(of) => self.raised(of, event),
            Payload::FindingClassed(of) => return self.classed(of, event, scope),
            Payload::FindingClosed(of) => return self.closed(of.finding, &of.how, event),
            Payload::FallNoted(of) => {
                self.ended(&[Ending::Fall], event);
                self.noted(of.odometer.as_deref());
            }
            Payload::JobOpened(of) => {
                let planned = of.planned.clone();
                let job = Job { opened: (**of).clone(), state: (JobState::Open, event.id), planned, done: None };
                self.jobs.insert(event.id, job);
            }
            Payload::JobMoved(of) => return self.moved(of, event),
            Payload::JobProven(of) => return self.proven(of, event),
            Payload::Released(of) => self.released(of, event),
            Payload::Returned(of) => return self.returned(of, event),
            Payload::Tagged(of) => self.tagged(of, event),
            Payload::Untagged(of) => return self.untagged(&of.lifts, of.knew, event),
            Payload::CallNoted(of) => _ = self.calls.insert((of.tag, of.release), of.answer.clone()),
            Payload::Impounded(of) => {
                self.impounded = Some((event.id, (**of).clone()));
                self.service = Some((Service::Impounded, event.id));
            }
            Payload::Settled(of) => _ = self.settled.insert(sorted::set(of.events.iter().copied())),
            Payload::PhotoAttached(of) => _ = self.photos.insert(event.id, (**of).clone()),
            Payload::PhotoRemoved(of) => {
                self.photos_removed.entry(of.photo).or_insert_with(|| (event.at, of.why.clone()));
            }
            Payload::PaperIssued(of) => self.papers.note(of, event),
            Payload::Withdrawn(_) => {}
            _ => return Err(Aside::OtherSubject),
        }
        Ok(())
    }

    fn looked(&mut self, event: &Event, catalogue: &Catalogue) -> Result<(), Aside> {
        let unreadable = |_| Aside::Unreadable;
        match &event.payload {
            Payload::WalkRoundOpened(of) => {
                let (walk_round, read) = WalkRound::open(of, event);
                self.walk_rounds.insert(event.id, Arc::new(walk_round));
                read
            }
            Payload::WalkRoundClosed(of) => self.walk_round(of.walk_round).map(|of| of.close(event)),
            Payload::ThingSet(of) => self.walk_round(of.walk_round).map(|walk_round| walk_round.set(of)),
            Payload::ReadingTaken(of) => {
                let walk_round = self.walk_round(of.walk_round)?;
                let (corrects, slip) = slip(walk_round, &of.check, of.corrects, event);
                walk_round
                    .read(&ReadingTaken { corrects, ..(**of).clone() }, event.into(), catalogue)
                    .map_err(unreadable)?;
                slip
            }
            Payload::ObservationMade(of) => {
                let walk_round = self.walk_round(of.walk_round)?;
                let (corrects, slip) = slip(walk_round, &of.check, of.corrects, event);
                walk_round
                    .saw(&ObservationMade { corrects, ..(**of).clone() }, event.into(), catalogue)
                    .map_err(unreadable)?;
                slip
            }
            _ => Err(Aside::OtherSubject),
        }
    }

    fn tagged(&mut self, of: &Tagged, event: &Event) {
        let tag = Tag { hung: of.clone(), by: (event.author.clone(), event.at), lifted: None };
        self.tags.insert(event.id, tag);
        self.taggings.insert(event.id, (event.place(), of.knew));
    }

    fn walk_round(&mut self, opening: EventId) -> Result<&mut WalkRound, Aside> {
        self.walk_rounds.get_mut(&opening).map(Arc::make_mut).ok_or(Aside::NamesNothing)
    }

    fn noted(&mut self, odometer: Option<&str>) {
        let read = odometer.and_then(|typed| text::read(Quantity::Distance, typed, DecimalSign::Point).ok());
        let Some(read) = read.and_then(|amount| Distance::try_from(amount).ok()) else { return };
        if self.books.odometer.is_none_or(|known| known.km() < read.km()) {
            self.books.odometer = Some(read);
        }
    }

    fn service_changed(&mut self, of: &ServiceChanged, event: &Event, scope: Scope<'_>) -> Result<(), Aside> {
        if let Some((impounding, _)) = &self.impounded {
            // Lifted by the owner, knowing of it: another state set unawares lifts nothing.
            if of.replaces != Some(*impounding) || !may_lift(event, scope) {
                return Err(Aside::Impounded);
            }
            self.impounded = None;
        }
        self.forks.note("service state", of.replaces, event.id);
        if of.state == Service::LaidUp {
            self.books.events.push(Ended { what: Ending::Storage, at: event.at });
        }
        self.service = Some((of.state, event.id));
        Ok(())
    }

    fn mounted(&mut self, of: &PartMounted, event: &Event) -> Result<(), Aside> {
        if let Some(replaced) = of.replaces {
            self.parts.get_mut(&replaced).ok_or(Aside::NamesNothing)?.removed = Some(event.id);
            self.forks.note("part", Some(replaced), event.id);
        }
        self.ended(&of.ended, event);
        self.noted(of.odometer.as_deref());
        self.parts.insert(event.id, Part { mounted: of.clone(), removed: None });
        Ok(())
    }

    fn ended(&mut self, ended: &[Ending], event: &Event) {
        self.books.events.extend(ended.iter().map(|what| Ended { what: *what, at: event.at }));
    }

    fn raised(&mut self, of: &FindingRaised, event: &Event) {
        let by = (event.author.clone(), event.at);
        // What a rider says unasked is a reason to look, no verdict: minor until somebody has looked and classed it.
        let class = if of.feedback { Class::Minor } else { of.class };
        self.books.findings.push(Finding {
            id: event.id.to_string(),
            check: of.check.clone(),
            what: of.what.clone(),
            class,
            defect: of.defect.clone(),
            lowered: None,
            uses: Uses::from_iter(of.uses.iter().copied()),
            by: event.author.to_string(),
            at: event.at,
        });
        self.findings
            .insert(event.id, FindingState { defect: of.defect.clone(), raised: of.clone(), by, class, closed: None });
    }

    fn classed(&mut self, of: &FindingClassed, event: &Event, scope: Scope<'_>) -> Result<(), Aside> {
        let finding = self.findings.get_mut(&of.finding).ok_or(Aside::NamesNothing)?;
        let may_lower = standing(event, scope).is_some_and(|of| of.rights.contains(&Right::LowerClass));
        let is_renamed = of.defect.is_some() && of.defect != finding.defect;
        if (of.class < finding.class || is_renamed) && !may_lower {
            return Err(Aside::NoRight);
        }
        finding.class = of.class;
        finding.defect = of.defect.clone().or(finding.defect.take());
        let named = finding.defect.clone();
        let id = of.finding.to_string();
        for finding in self.books.findings.iter_mut().filter(|finding| finding.id == id) {
            finding.class = of.class;
            finding.defect.clone_from(&named);
            // Whoever may lower it has weighed the law pack's class too.
            finding.lowered = may_lower.then(|| of.why.clone());
        }
        Ok(())
    }

    fn closed(&mut self, finding: EventId, how: &str, event: &Event) -> Result<(), Aside> {
        let state = self.findings.get_mut(&finding).ok_or(Aside::NamesNothing)?;
        state.closed.get_or_insert(event.id);
        let (by, at) = (event.author.to_string(), event.at.max(state.by.1));
        self.books.closes.push(Close { finding: finding.to_string(), how: how.to_string(), by, at });
        Ok(())
    }

    fn moved(&mut self, of: &JobMoved, event: &Event) -> Result<(), Aside> {
        let job = self.jobs.get_mut(&of.job).ok_or(Aside::NamesNothing)?;
        job.state = (of.to, event.id);
        job.planned = of.planned.clone().or(job.planned.take());
        if of.to == JobState::Done {
            job.done = Some((event.place(), event.at));
        }
        self.forks.note("job", Some(of.from), event.id);
        self.ended(&of.ended, event);
        Ok(())
    }

    fn proven(&mut self, of: &JobProven, event: &Event) -> Result<(), Aside> {
        let job = self.jobs.get(&of.job).ok_or(Aside::NamesNothing)?;
        if of.answers.is_empty() || !of.answers.iter().all(|answer| self.proves(job, *answer)) {
            return Err(Aside::NamesNothing);
        }
        self.forks.note("job", Some(of.from), event.id);
        let job = self.jobs.get_mut(&of.job).ok_or(Aside::NamesNothing)?;
        // Work that moved on meanwhile, unknown to whoever proved it, is not proven.
        if job.state.1 != of.from || job.state.0 != JobState::Done {
            return Err(Aside::Overtaken);
        }
        job.state = (JobState::Proven, event.id);
        let (findings, tags) = (job.opened.findings.clone(), job.opened.tags.clone());
        for finding in
            findings.iter().filter(|finding| self.findings.contains_key(finding)).copied().collect::<Vec<_>>()
        {
            self.closed(finding, "job proven", event)?;
        }
        if tags.is_empty() { Ok(()) } else { self.untagged(&tags, of.knew, event) }
    }

    /// Whether an event is an answer given since the work was done.
    fn proves(&self, job: &Job, answer: EventId) -> bool {
        let mut answers = self.walk_rounds.values().flat_map(|of| of.places.iter().zip(&of.form.answers));
        answers.any(|(place, of)| place.id == answer && job.done.is_none_or(|_| job.is_since_done(*place, of.at)))
    }

    fn untagged(&mut self, lifts: &[EventId], knew: Option<EventId>, event: &Event) -> Result<(), Aside> {
        self.taggings.insert(event.id, (event.place(), knew));
        let mut all = true;
        for tag in lifts {
            match self.tags.get_mut(tag) {
                Some(tag) => _ = tag.lifted.get_or_insert(event.id),
                None => all = false,
            }
        }
        if all { Ok(()) } else { Err(Aside::NamesNothing) }
    }

    fn released(&mut self, of: &Released, event: &Event) {
        self.forks.note("release", of.replaces, event.id);
        let by = (event.author.clone(), event.at);
        self.releases.insert(event.id, ReleaseState { released: of.clone(), by, returned: None });
        self.last_release = Some(event.id);
    }

    fn returned(&mut self, of: &Returned, event: &Event) -> Result<(), Aside> {
        let release = self.releases.get_mut(&of.release).ok_or(Aside::NamesNothing)?;
        release.returned.get_or_insert_with(|| (event.id, of.clone()));
        self.last_release = Some(event.id);
        self.books.ridden = self.books.ridden.max(Some(event.at));
        self.noted(of.odometer.as_deref());
        Ok(())
    }
}

/// What an answer corrects: its author's own last one to the check. One that names another stands beside it, as a repeat.
fn slip(
    walk_round: &WalkRound,
    check: &str,
    corrects: Option<EventId>,
    event: &Event,
) -> (Option<EventId>, Result<(), Aside>) {
    match corrects {
        Some(named) if !walk_round.is_last_own(check, &event.author, named) => (None, Err(Aside::NamesNothing)),
        corrects => (corrects, Ok(())),
    }
}

/// The people a payload names.
fn named(payload: &Payload) -> Vec<PersonId> {
    match payload {
        Payload::FallNoted(of) => {
            of.rider.iter().chain(of.about_rider.as_ref().map(|about| &about.person)).cloned().collect()
        }
        Payload::Released(of) => of.riders.clone(),
        _ => Vec::new(),
    }
}
