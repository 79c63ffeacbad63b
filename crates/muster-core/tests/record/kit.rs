//! The record's test kit: devices that write, decide and exchange, and the demonstration yard put in as events.

use std::{
    collections::{BTreeMap, BTreeSet},
    path::{Path, PathBuf},
    sync::LazyLock,
};

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    judge::Judgement,
    record::{
        decide::{Actor, Command, Refusal, World, decide},
        event::{Entry, Event},
        heads::{Frontier, Heads, NotNext, SeriesEnd, is_next, stands},
        id::{DeviceId, EventId, PersonId},
        job::JobKind,
        judged::judgement,
        machine_state::{MachineState, Scope},
        payload::{
            DeviceAdded, HouseRuleAttached, InstrumentRegistered, MachineRegistered, Payload, PersonAdded, Right, Role,
            SheetAttached, Subject, YardDescribed,
        },
        private::{PersonKey, Private},
        yard_state::YardState,
    },
    yard::Yard,
};

/// The morning of the demonstration.
pub(crate) const NOW: &str = "2026-11-24T08:00:00+00:00";
/// When the yard was put in.
const FOUNDED: &str = "2026-09-01T08:00:00+00:00";

/// The people of the yard: name, role, rights beyond it.
pub(crate) const PEOPLE: [(&str, Role, &[Right]); 12] = [
    ("p-owner", Role::Owner, &[Right::Override, Right::LowerClass, Right::LoosenLimit]),
    ("p-plain-owner", Role::Owner, &[]),
    ("p-workshop", Role::Workshop, &[]),
    ("p-rider", Role::Rider, &[]),
    ("p-auditor", Role::Auditor, &[]),
    ("d-fenwick", Role::Workshop, &[]),
    ("e-castellan", Role::Instructor, &[]),
    ("i-halloran", Role::Instructor, &[]),
    ("m-okafor", Role::Instructor, &[]),
    ("r-whitlock", Role::Instructor, &[]),
    ("s-lindqvist", Role::Instructor, &[]),
    ("t-abara", Role::Instructor, &[Right::Override]),
];

pub(crate) static CATALOGUE: LazyLock<Catalogue> =
    LazyLock::new(|| data::catalogue().expect("the catalogue has no fault"));
pub(crate) static JOBS: LazyLock<Vec<JobKind>> =
    LazyLock::new(|| data::job_kinds(&CATALOGUE).expect("the kinds of job have no fault"));
static FOUNDER: LazyLock<Device> = LazyLock::new(found);

/// A device: its own series, what it holds of others.
#[derive(Clone, Debug)]
pub(crate) struct Device {
    pub(crate) id: DeviceId,
    pub(crate) frontier: Frontier,
    pub(crate) heads: Heads,
    pub(crate) log: BTreeMap<EventId, (String, Entry)>,
    ends: BTreeMap<DeviceId, SeriesEnd>,
}

/// What a command is decided on, owned.
pub(crate) struct Known {
    pub(crate) state: YardState,
    pub(crate) yard: Yard,
    pub(crate) machine: Option<MachineState>,
    pub(crate) judged: Option<Judgement>,
    pub(crate) kept: BTreeSet<PersonId>,
    pub(crate) hung_on: Option<String>,
}

pub(crate) fn moment(text: &str) -> Moment {
    Moment::parse(text).unwrap()
}

pub(crate) fn person(name: &str) -> PersonId {
    name.parse().unwrap()
}

/// The key of device `n`; not a key of the curve, which nothing here asks for.
pub(crate) fn key(n: u8) -> [u8; 32] {
    [n; 32]
}

impl Device {
    /// A device that holds nothing.
    pub(crate) fn empty(n: u8) -> Self {
        Self {
            id: DeviceId::of_key(&key(n)),
            frontier: Frontier::default(),
            heads: Heads::default(),
            log: BTreeMap::new(),
            ends: BTreeMap::new(),
        }
    }

    /// A device of the yard that holds all that was put in: 1 the office, 2 to 4 phones.
    pub(crate) fn of_the_yard(n: u8) -> Self {
        let mut device = Self::empty(n);
        if n == 1 {
            return FOUNDER.clone();
        }
        device.pull(&FOUNDER);
        device
    }

    /// Writes an event without asking whether it may.
    pub(crate) fn write(&mut self, by: &str, at: &str, payload: impl Into<Payload>) -> EventId {
        let event = self.frontier.next(self.id, person(by), moment(at), payload.into());
        let bytes = event.to_bytes().unwrap();
        self.receive(&bytes).unwrap();
        event.id
    }

    /// Takes an event's bytes, its own or another's.
    pub(crate) fn receive(&mut self, bytes: &str) -> Result<(), NotNext> {
        let entry = Entry::read(bytes).unwrap();
        let end = self.ends.get(&entry.id.device);
        is_next(end, &entry)?;
        stands(end, &entry, |id| self.log.get(&id).map(|(_, entry)| entry.height))?;
        let end = SeriesEnd { seq: entry.id.seq, hash: entry.hash.clone(), height: entry.height };
        self.ends.insert(entry.id.device, end);
        self.heads.raise(entry.id);
        self.frontier.note(self.id, &entry);
        self.log.insert(entry.id, (bytes.to_string(), entry));
        Ok(())
    }

    /// Fetches what the other holds and this lacks.
    pub(crate) fn pull(&mut self, other: &Self) {
        let lacking = self.heads.missing(&other.heads).into_iter().flat_map(|stretch| {
            (stretch.from..=stretch.to).map(move |seq| &other.log[&EventId { device: stretch.device, seq }])
        });
        // What an event has seen comes before it.
        let mut lacking: Vec<_> = lacking.collect();
        lacking.sort_by_key(|(_, entry)| entry.place());
        lacking.into_iter().for_each(|(bytes, _)| self.receive(bytes).unwrap());
    }

    /// Both hold what either held.
    pub(crate) fn exchange(&mut self, other: &mut Self) {
        self.pull(other);
        other.pull(self);
    }

    /// The events it holds and understands.
    pub(crate) fn events(&self) -> impl Iterator<Item = &Event> + Clone {
        self.log.values().filter_map(|(_, entry)| entry.event.as_ref())
    }

    /// Those about one subject.
    pub(crate) fn about(&self, subject: &Subject) -> Vec<&Event> {
        self.events().filter(|event| event.payload.subject() == *subject).collect()
    }

    pub(crate) fn yard(&self) -> YardState {
        YardState::fold(self.about(&Subject::Yard))
    }

    pub(crate) fn machine(&self, machine: &str) -> MachineState {
        let yard = self.yard();
        let scope = Scope { catalogue: &CATALOGUE, yard: &yard };
        MachineState::fold(machine, self.about(&Subject::Machine(machine.into())), scope)
    }

    /// All that is known for a command about a machine, judged at a moment.
    pub(crate) fn known(&self, machine: &str, at: &str) -> Known {
        let state = self.yard();
        let (yard, problems) = state.yard(&CATALOGUE);
        assert!(problems.is_empty(), "{problems:#?}");
        let machine = self.machine(machine);
        let judged = judgement(&CATALOGUE, &yard, &machine, moment(at), None);
        Known { state, yard, machine: Some(machine), judged, kept: BTreeSet::new(), hung_on: None }
    }

    /// Decides a command and writes what it becomes.
    pub(crate) fn ask(&mut self, by: &str, at: &str, machine: &str, command: Command) -> Result<EventId, Refusal> {
        let payloads = self.known(machine, at).decide(by, at, command)?;
        let ids: Vec<EventId> = payloads.into_iter().map(|payload| self.write(by, at, payload)).collect();
        Ok(*ids.last().expect("a command becomes an event"))
    }

    /// As [`Self::ask`], for a payload a person writes.
    pub(crate) fn put(&mut self, by: &str, at: &str, payload: impl Into<Payload>) -> Result<EventId, Refusal> {
        let payload = payload.into();
        let machine = match payload.subject() {
            Subject::Machine(machine) => machine,
            Subject::Yard => "H-01".into(),
        };
        self.ask(by, at, &machine, Command::Write(payload))
    }
}

impl Known {
    pub(crate) fn decide(&self, by: &str, at: &str, command: Command) -> Result<Vec<Payload>, Refusal> {
        let world = World {
            catalogue: &CATALOGUE,
            jobs: &JOBS,
            state: &self.state,
            yard: &self.yard,
            machine: self.machine.as_ref(),
            judged: self.judged.as_ref(),
            kept: &self.kept,
            hung_on: self.hung_on.as_deref(),
        };
        decide(&world, command, Actor { person: &person(by), now: moment(at) })
    }
}

/// Brings all devices to the same log.
pub(crate) fn gather(devices: &mut [&mut Device]) {
    for _ in 0..2 {
        for index in 1..devices.len() {
            let (first, rest) = devices.split_at_mut(1);
            first[0].exchange(rest[index - 1]);
        }
    }
}

pub(crate) fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data/demo/harrow-lane")
}

/// The files of a folder of the demonstration, in order: stem and text.
pub(crate) fn texts(name: &str) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = std::fs::read_dir(folder().join(name))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .map(|path| (path.file_stem().unwrap().to_string_lossy().into(), std::fs::read_to_string(&path).unwrap()))
        .collect();
    out.sort();
    out
}

/// A name under a person's key: the key is 32 times the length of the id, for want of chance.
pub(crate) fn sealed(id: &str, name: &str) -> Private {
    Private::seal(name, &person(id), "name", &person_key(id), [7; 24]).unwrap()
}

pub(crate) fn person_key(id: &str) -> PersonKey {
    PersonKey::new([u8::try_from(id.len()).unwrap(); 32])
}

pub(crate) fn added(id: &str, role: Role, rights: &[Right]) -> PersonAdded {
    PersonAdded { person: person(id), name: sealed(id, &format!("Name of {id}")), role, rights: rights.to_vec() }
}

pub(crate) fn device_added(n: u8) -> DeviceAdded {
    let key: String = key(n).iter().map(|byte| format!("{byte:02x}")).collect();
    DeviceAdded { device: DeviceId::of_key(&self::key(n)), key, label: format!("Device {n}"), person: None }
}

/// `yard.toml` without its instruments, and their rows.
pub(crate) fn yard_file() -> (String, Vec<(String, String)>) {
    let text = std::fs::read_to_string(folder().join("yard.toml")).unwrap();
    let mut parts = text.split("[[instrument]]");
    let own = parts.next().unwrap().to_string();
    let rows = parts.map(|row| {
        let id = row.lines().find_map(|line| line.strip_prefix("id = ")).unwrap().trim_matches('"');
        (id.to_string(), format!("[[instrument]]{row}"))
    });
    (own, rows.collect())
}

/// The office: people, devices, and every file of the demonstration as an event.
fn found() -> Device {
    let mut office = Device::empty(1);
    let mut put = |payload: Payload| _ = office.write("p-owner", FOUNDED, payload);
    for (id, role, rights) in PEOPLE {
        put(added(id, role, rights).into());
    }
    for n in 1..=4 {
        put(device_added(n).into());
    }
    let (own, instruments) = yard_file();
    put(YardDescribed { text: own }.into());
    for (instrument, text) in instruments {
        put(InstrumentRegistered { instrument, text }.into());
    }
    let house = std::fs::read_to_string(folder().join("house.toml")).unwrap();
    put(HouseRuleAttached { text: house, replaces: None }.into());
    for (sheet, text) in texts("sheets") {
        put(SheetAttached { sheet, text, replaces: None }.into());
    }
    for (machine, text) in texts("machines") {
        put(MachineRegistered { machine: machine.to_uppercase(), text }.into());
    }
    office
}
