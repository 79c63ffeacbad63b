//! A device as the tests need it: a key, a series, and what it has seen.

use ed25519_dalek::{Signer, SigningKey};
use muster_core::{
    calendar::Moment,
    record::{
        event::{Entry, Signed},
        heads::Frontier,
        id::{DeviceId, EventId, PersonId},
        payload::{OdometerNoted, Payload, YardDescribed},
    },
};

/// A device that writes events.
#[derive(Clone)]
pub(crate) struct Device {
    key: SigningKey,
    pub(crate) id: DeviceId,
    frontier: Frontier,
}

impl Device {
    /// One with a key made of a number.
    pub(crate) fn new(number: u8) -> Self {
        let key = SigningKey::from_bytes(&[number; 32]);
        Self { id: DeviceId::of_key(key.verifying_key().as_bytes()), key, frontier: Frontier::default() }
    }

    /// Writes its next event.
    pub(crate) fn write(&mut self, payload: impl Into<Payload>) -> Signed {
        let at = Moment::parse("2026-11-24T07:52:00+00:00").unwrap();
        let event = self.frontier.next(self.id, person("p-1"), at, payload.into());
        let signed = self.sign(event.to_bytes().unwrap());
        self.receive(&signed);
        signed
    }

    /// Notes an event it received.
    pub(crate) fn receive(&mut self, signed: &Signed) {
        self.frontier.note(self.id, &Entry::read(&signed.event).unwrap());
    }

    /// Signs bytes.
    pub(crate) fn sign(&self, event: String) -> Signed {
        let signature = self.key.sign(event.as_bytes()).to_bytes();
        Signed { event, signature: signature.iter().map(|byte| format!("{byte:02x}")).collect() }
    }

    /// Writes several events about one machine.
    pub(crate) fn odometers(&mut self, machine: &str, count: u32) -> Vec<Signed> {
        (0..count).map(|number| self.write(odometer(machine, number))).collect()
    }
}

/// What the odometer showed.
pub(crate) fn odometer(machine: &str, km: u32) -> OdometerNoted {
    OdometerNoted { machine: machine.into(), odometer: format!("{km} km") }
}

/// The yard's file.
pub(crate) fn yard(text: &str) -> YardDescribed {
    YardDescribed { text: text.into() }
}

/// A person.
pub(crate) fn person(name: &str) -> PersonId {
    name.parse().unwrap()
}

/// The name of an event's bytes.
pub(crate) fn id(signed: &Signed) -> EventId {
    Entry::read(&signed.event).unwrap().id
}
