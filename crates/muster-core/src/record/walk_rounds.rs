//! A walk-round folded from its events to the form the judge takes.

use alloc::{
    collections::BTreeMap,
    string::{String, ToString},
    vec::Vec,
};

use super::{
    event::{Event, Place},
    fold::Aside,
    id::{EventId, PersonId},
    payload::{ObservationMade, ReadingTaken, Saw, ThingSet, Typed, WalkRoundOpened},
};
use crate::{
    calendar::Moment,
    catalogue::Catalogue,
    form::{Answer, Form, Outing},
    load::{Given, Problem, kept_answer},
    quantity::{Amount, Distance, Kind, Temperature, text, text::DecimalSign},
};

/// Who writes an answer, when, in which event.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Written<'w> {
    /// The event.
    pub(crate) id: EventId,
    /// Its place in the order.
    pub(crate) place: Place,
    /// Who.
    pub(crate) author: &'w PersonId,
    /// When.
    pub(crate) at: Moment,
}

impl<'w> From<&'w Event> for Written<'w> {
    fn from(event: &'w Event) -> Self {
        Self { id: event.id, place: event.place(), author: &event.author, at: event.at }
    }
}

/// A walk-round.
#[derive(Clone, Debug, PartialEq)]
pub struct WalkRound {
    /// As the judge takes it.
    pub form: Form,
    /// The events its answers stand in, in the order of the answers.
    pub answers: Vec<EventId>,
    /// The same, in the order of all events.
    pub(crate) places: Vec<Place>,
    sign: DecimalSign,
    /// Acts that no reading has followed yet, by check.
    acts: BTreeMap<String, String>,
}

impl WalkRound {
    /// Begins one. A figure of its head that cannot be read is left out and said.
    pub(crate) fn open(of: &WalkRoundOpened, event: &Event) -> (Self, Result<(), Aside>) {
        let sign = if of.comma { DecimalSign::Comma } else { DecimalSign::Point };
        let mut read = Ok(());
        let mut figure = |typed: Option<&str>, kind| {
            let amount = typed.map(|typed| text::read(kind, typed, sign)).transpose();
            amount.unwrap_or_else(|_| {
                read = Err(Aside::Unreadable);
                None
            })
        };
        let far = |amount: Option<Amount>| amount.and_then(|amount| Distance::try_from(amount).ok());
        let planned = of.planned.as_ref();
        let outing = planned.map(|planned| Outing {
            planned: planned.one,
            back: planned.back,
            distance: far(figure(planned.distance.as_deref(), Kind::Distance)),
        });
        let form = Form {
            machine: of.machine.clone(),
            depth: of.depth,
            by: event.author.to_string(),
            opened: event.at,
            closed: None,
            odometer: far(figure(of.odometer.as_deref(), Kind::Distance)),
            air: figure(of.air.as_deref(), Kind::Temperature).and_then(|air| Temperature::try_from(air).ok()),
            barometer: figure(of.barometer.as_deref(), Kind::AbsolutePressure),
            ridden: of.ridden,
            no_hold_tag: of.no_hold_tag,
            key_on_hook: of.key_on_hook,
            found: of.found,
            outing,
            answers: Vec::new(),
            findings: Vec::new(),
            closes: Vec::new(),
            events: Vec::new(),
        };
        (Self { form, answers: Vec::new(), places: Vec::new(), sign, acts: BTreeMap::new() }, read)
    }

    /// Ends it; the first closing counts.
    pub(crate) fn close(&mut self, event: &Event) {
        self.form.closed.get_or_insert(event.at);
    }

    /// Notes an act: the next answer to its check comes after it.
    pub(crate) fn set(&mut self, of: &ThingSet) {
        self.acts.insert(of.check.clone(), of.act.clone());
    }

    /// Whether an event is the last answer its author gave here to a check: what a slip of the keys is corrected in.
    pub(crate) fn is_last_own(&self, check: &str, author: &PersonId, event: EventId) -> bool {
        let own = |(_, answer): &(&EventId, &Answer)| answer.check == check && answer.by == author.as_str();
        self.answers.iter().zip(&self.form.answers).rfind(own).is_some_and(|(id, _)| *id == event)
    }

    /// Takes figures.
    ///
    /// # Errors
    /// What is wrong with them: they answer nothing.
    pub(crate) fn read(
        &mut self,
        of: &ReadingTaken,
        event: Written<'_>,
        catalogue: &Catalogue,
    ) -> Result<(), Vec<Problem>> {
        let read = match &of.read {
            Typed::One(one) => Given::Text(one.clone()),
            Typed::Several(several) => Given::Texts(several.clone()),
            Typed::Places(places) => Given::Places(places.clone().into_iter().collect()),
        };
        let mut given = [("read", read)].into_iter().collect::<Vec<_>>();
        texts(
            &mut given,
            [
                ("with", &of.with),
                ("tyre", &of.tyre),
                ("air", &of.air),
                ("odometer", &of.odometer),
                ("why", &of.why),
                ("note", &of.note),
            ],
        );
        given.push(("check", Given::Text(of.check.clone())));
        given.extend(of.corrects.map(|_| ("slip", Given::Truth(true))));
        self.answer(&of.check, given, event, catalogue)
    }

    /// Takes a look.
    ///
    /// # Errors
    /// What is wrong with it: it answers nothing.
    pub(crate) fn saw(
        &mut self,
        of: &ObservationMade,
        event: Written<'_>,
        catalogue: &Catalogue,
    ) -> Result<(), Vec<Problem>> {
        let saw = match &of.saw {
            Saw::One(seen) => Given::Text(seen.to_string()),
            Saw::Places(places) => {
                Given::Places(places.iter().map(|(place, seen)| (place.clone(), [seen.to_string()].into())).collect())
            }
        };
        let mut given = [("saw", saw)].into_iter().collect::<Vec<_>>();
        let class = of.class.map(|class| class.to_string());
        texts(&mut given, [("class", &class), ("defect", &of.defect), ("why", &of.why), ("note", &of.note)]);
        given.push(("check", Given::Text(of.check.clone())));
        given.extend(of.corrects.map(|_| ("slip", Given::Truth(true))));
        self.answer(&of.check, given, event, catalogue)
    }

    fn answer(
        &mut self,
        check: &str,
        mut given: Vec<(&'static str, Given)>,
        event: Written<'_>,
        catalogue: &Catalogue,
    ) -> Result<(), Vec<Problem>> {
        given.push(("by", Given::Text(event.author.to_string())));
        given.push(("at", Given::Text(event.at.to_string())));
        if let Some(act) = self.acts.get(check) {
            given.push(("after", Given::Text(act.clone())));
        }
        let answer = kept_answer(given, catalogue, self.sign, &self.form)?;
        self.acts.remove(check);
        self.form.answers.push(answer);
        self.answers.push(event.id);
        self.places.push(event.place);
        Ok(())
    }
}

fn texts<const N: usize>(given: &mut Vec<(&'static str, Given)>, texts: [(&'static str, &Option<String>); N]) {
    given.extend(texts.into_iter().filter_map(|(key, text)| text.clone().map(|text| (key, Given::Text(text)))));
}
