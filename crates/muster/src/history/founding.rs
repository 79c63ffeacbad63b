//! How the school's record begins: its owner, its devices, its files, its people, its machines and what is mounted on them.

use jiff::civil::Date;
use muster_core::{
    calendar::Moment,
    record::{
        id::PersonId,
        payload::{
            DeviceAdded, HouseRuleAttached, InstrumentCompared, InstrumentRegistered, MachineChanged,
            MachineRegistered, OdometerNoted, PartMounted, PersonAdded, SheetAttached, YardDescribed,
        },
        private::{PersonKey, Private},
    },
};

use crate::keeper::{Device, hex};

use super::{
    random::Random,
    real::{Real, grouped_km},
    settings::{PersonRow, Settings},
    story::{OFFICE, PHONE, Story, WORKSHOP},
    table::Fault,
};

/// Somebody who is nobody: stands where settings name no person, and the core refuses what they do.
pub(super) fn nobody() -> PersonId {
    "nobody".parse().unwrap_or_else(|_| unreachable!("a plain name"))
}

/// A device's key, from the seed: no secret, for a demonstration.
pub(super) fn device(settings: &Settings, id: &str) -> Device {
    Device::of_seed(&device_seed(settings, id))
}

pub(super) fn device_seed(settings: &Settings, id: &str) -> [u8; 32] {
    Random::of(settings.seed, &format!("device/{id}")).bytes()
}

/// A person's key, from the seed.
pub(super) fn person_key(settings: &Settings, person: &PersonId) -> PersonKey {
    PersonKey::new(Random::of(settings.seed, &format!("person/{person}")).bytes())
}

impl Story<'_> {
    /// Opens the record.
    pub(super) fn founds(&mut self) -> Result<(), Fault> {
        let at = self.at(7, 0);
        let settings = self.settings;
        let owner = settings.people.first().ok_or_else(|| Fault("no person".into()))?;
        let begun = [self.person(owner)?.into(), self.device_added(OFFICE)?.into()];
        let wrong = |error: super::book::NotWritten| Fault(error.to_string());
        self.book.write(OFFICE, begun.into(), &owner.id, at).map_err(wrong)?;
        for row in settings.people.iter().skip(1).filter(|row| row.from.is_none()) {
            let added = self.person(row)?;
            self.write(OFFICE, added, &owner.id, at);
        }
        for pen in [super::story::OLD_PHONE, WORKSHOP] {
            let added = self.device_added(pen)?;
            self.write(OFFICE, added, &owner.id, at);
        }
        self.attaches_files(&owner.id, at);
        for index in 0..self.reals.len() {
            let there = self.reals.get(index).is_some_and(|real| real.bike.from.is_none());
            if there {
                self.registers(index, at.later_by(1800));
            }
        }
        self.plans_once();
        if self.refused.is_empty() { Ok(()) } else { Err(Fault(self.refused.join("; "))) }
    }

    fn attaches_files(&mut self, owner: &PersonId, at: Moment) {
        let whole = self.files.get("yard.toml").cloned().unwrap_or_default();
        let (head, rows) = instruments(&whole, self.settings);
        self.write(OFFICE, YardDescribed { text: head }, owner, at);
        let text = self.files.get("house.toml").cloned().unwrap_or_default();
        let sheets: Vec<(String, String)> = self.files.iter().filter_map(|(name, text)| sheet(name, text)).collect();
        for (sheet, text) in sheets {
            self.write(OFFICE, SheetAttached { sheet, text, replaces: None }, owner, at);
        }
        self.write(OFFICE, HouseRuleAttached { text, replaces: None }, owner, at);
        for (instrument, text) in rows {
            self.write(OFFICE, InstrumentRegistered { instrument, text }, owner, at);
        }
    }

    fn person(&self, row: &PersonRow) -> Result<PersonAdded, Fault> {
        let nonce = Random::of(self.settings.seed, &format!("name/{}", row.id)).bytes();
        let key = person_key(self.settings, &row.id);
        let name = Private::seal(&row.name, &row.id, "name", &key, nonce).map_err(|error| Fault(error.to_string()))?;
        Ok(PersonAdded { person: row.id.clone(), name, role: row.role, rights: row.rights.clone() })
    }

    fn device_added(&self, pen: usize) -> Result<DeviceAdded, Fault> {
        let row = self.settings.devices.get(pen).ok_or_else(|| Fault("four devices wanted".into()))?;
        let (device, key) = self.book.device(pen).ok_or_else(|| Fault("four devices wanted".into()))?;
        Ok(DeviceAdded { device, key: hex(&key), label: row.label.clone(), person: None })
    }

    /// A machine comes into the books: its file as it was then, its odometer, what is mounted.
    pub(super) fn registers(&mut self, index: usize, at: Moment) {
        let owner = self.owner();
        let Some(real) = self.reals.get(index).cloned() else { return };
        let machine = real.id.clone();
        let later = self.settings.changed.iter().any(|(id, on)| *id == machine && *on > self.day);
        let text = self.file(&machine, !later);
        self.write(OFFICE, MachineRegistered { machine: machine.clone(), text }, &owner, at);
        let mechanic = self.mechanic();
        self.write(WORKSHOP, OdometerNoted { machine: machine.clone(), odometer: real.odometer() }, &mechanic, at);
        for life in real.lives.iter().filter(|life| life.start <= 0.0) {
            let told = (!life.unknown).then(|| before(&real, life, self.settings.from)).flatten();
            let mounted = PartMounted {
                machine: machine.clone(),
                place: life.place.clone(),
                marking: None,
                odometer: told.as_ref().map(|(_, km)| grouped_km(*km)),
                on: told.map(|(on, _)| on.to_string()),
                ended: Vec::new(),
                replaces: None,
            };
            self.write(WORKSHOP, mounted, &mechanic, at.later_by(600));
        }
    }

    /// A machine's file; before its change without modifications and limits of its own.
    fn file(&self, machine: &str, now: bool) -> String {
        let name = format!("machines/{}.toml", machine.to_lowercase());
        let text = self.files.get(&name).cloned().unwrap_or_default();
        let lines =
            text.lines().map(|line| if line.starts_with("service = ") { "service = \"in service\"" } else { line });
        let whole: Vec<&str> = lines.collect();
        let end = |line: &&&str| !line.starts_with("[[modification]]") && !line.starts_with("# 188 kPa");
        let kept: Vec<&str> = if now { whole } else { whole.iter().take_while(end).copied().collect() };
        // What the comments above a file say of today was not true on the first day.
        let kept: Vec<&str> = kept.into_iter().filter(|line| !line.starts_with('#')).collect();
        kept.join("\n") + "\n"
    }

    /// A machine's file changes.
    pub(super) fn changes_file(&mut self, row: usize, at: Moment) {
        let Some((machine, _)) = self.settings.changed.get(row) else { return };
        let owner = self.owner();
        let name = format!("machines/{machine}.toml");
        let Some((_, replaces)) = self.book.known(OFFICE).state.files.get(&name).cloned() else { return };
        let text = self.file(machine, true);
        self.write(OFFICE, MachineChanged { machine: machine.clone(), text, replaces }, &owner, at);
    }

    /// A person or a device comes later.
    pub(super) fn joins(&mut self, row: usize, at: Moment) {
        let owner = self.owner();
        let added = self.settings.people.get(row).and_then(|row| self.person(row).ok());
        if let Some(added) = added {
            self.write(OFFICE, added, &owner, at);
        }
    }

    /// The next phone at the range is enrolled.
    pub(super) fn adds_phone(&mut self, at: Moment) {
        let owner = self.owner();
        if let Ok(added) = self.device_added(PHONE) {
            self.write(OFFICE, added, &owner, at);
        }
    }

    /// An instrument is compared; each row of the settings stands for all its days.
    pub(super) fn compares(&mut self, row: usize, at: Moment) {
        let mechanic = self.mechanic();
        let Some(row) = self.settings.compared.get(row) else { return };
        let bad = row.bad.as_ref().filter(|(on, _)| *on == self.day);
        let compared = InstrumentCompared {
            instrument: row.instrument.clone(),
            on: self.day.to_string(),
            good: bad.is_none(),
            note: bad.map(|(_, note)| note.clone()),
        };
        self.write(WORKSHOP, compared, &mechanic, at);
    }
}

/// When a part was mounted that was there on the first day, as the workshop's book had it: by its count and the machine's
/// usual year.
fn before(real: &Real, life: &super::wear::Life, from: Date) -> Option<(Date, f64)> {
    let km_per_day = 6.0;
    let km = if life.by_days { -life.start * km_per_day } else { -life.start };
    let days = if life.by_days { -life.start } else { km / km_per_day };
    let on = muster_core::calendar::days_later(from, -(days.clamp(1.0, 3000.0) as i32));
    Some((on, (real.km - km).max(0.0)))
}

/// The head of `yard.toml` without its moment, and each instrument's row as it came: with its first comparison.
fn instruments(whole: &str, settings: &Settings) -> (String, Vec<(String, String)>) {
    let mut parts = whole.split("[[instrument]]");
    let head = parts.next().unwrap_or_default();
    let head: String = head.lines().filter(|line| !line.starts_with("on = ")).map(|line| format!("{line}\n")).collect();
    let row = |part: &str| {
        let kept = part.lines().filter(|line| !line.starts_with('#') && !line.starts_with("found_bad"));
        let id = part.lines().find_map(|line| line.strip_prefix("id = \"")?.strip_suffix('"'))?;
        let first = settings.compared.iter().find(|row| row.instrument == id)?.on.first()?;
        let told = |line: &str| match line.starts_with("compared") {
            true => format!("compared = {first}"),
            false => line.to_string(),
        };
        let text: Vec<String> = kept.map(told).filter(|line| !line.is_empty()).collect();
        Some((id.to_string(), format!("[[instrument]]\n{}\n", text.join("\n"))))
    };
    (head, parts.filter_map(row).collect())
}

fn sheet(name: &str, text: &str) -> Option<(String, String)> {
    let sheet = name.strip_prefix("sheets/")?.strip_suffix(".toml")?;
    Some((sheet.to_string(), text.to_string()))
}
