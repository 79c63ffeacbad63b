//! Which events of an export are let in: those whose signature is true by a key the export or the record itself names.

use std::{
    collections::BTreeMap,
    fs::File,
    io::{self, BufRead as _, BufReader},
    path::Path,
};

use muster_core::record::{
    event::{Entry, Signed},
    id::DeviceId,
    payload::Payload,
    yard_state::YardState,
};

use super::{hex, is_true, unhex};

/// Keys by the devices they name: an id is the hash of its key, so that a key cannot be put in another's place.
#[derive(Clone, Debug, Default)]
pub struct Keys(BTreeMap<DeviceId, String>);

impl Keys {
    /// The keys a record knows.
    #[must_use]
    pub fn of(state: &YardState) -> Self {
        let mut keys = Self::default();
        state.devices.values().for_each(|device| keys.add(&device.key));
        keys
    }

    /// Adds the keys that an export's events name. What is no event is left to the import to refuse.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn read(&mut self, events: &Path) -> io::Result<()> {
        for line in BufReader::new(File::open(events)?).lines() {
            let Ok(signed) = serde_json::from_str::<Signed>(&line?) else { continue };
            let event = Entry::read(&signed.event).ok().and_then(|entry| entry.event);
            if let Some(Payload::DeviceAdded(of)) = event.map(|event| event.payload) {
                self.add(&of.key);
            }
        }
        Ok(())
    }

    /// Whether an event was signed by the device it names.
    ///
    /// # Errors
    /// Why not, in words.
    pub fn admit(&self, signed: &Signed, entry: &Entry) -> Result<(), String> {
        let device = entry.id.device;
        let key = self.0.get(&device).ok_or_else(|| format!("no event names the key of device {device}"))?;
        if is_true(signed, key) { Ok(()) } else { Err(format!("the signature of {} is not its device's", entry.id)) }
    }

    fn add(&mut self, key: &str) {
        if let Some(bytes) = unhex::<32>(key) {
            self.0.insert(DeviceId::of_key(&bytes), hex(&bytes));
        }
    }
}
