//! The long figures of docs/reliability.md: `ingest`, `open` and `load`, each printed with what it measured.
#![expect(clippy::unwrap_used, reason = "a measurement that cannot go on has failed")]

mod ingest;

use std::{
    env,
    net::SocketAddr,
    sync::{
        Arc, Barrier, Mutex,
        atomic::{AtomicBool, AtomicU64, Ordering},
        mpsc,
    },
    thread,
    time::{Duration, Instant},
};

use muster::{
    keeper::{Device, Opened, hex, taken},
    serve::{Addresses, Clock, Doors, Site, serve},
    store::Store as _,
};
use muster_core::{
    calendar::Moment,
    record::{
        event::{Entry, Signed},
        heads::Frontier,
        id::PersonId,
        payload::{DeviceAdded, ObservationMade, Payload, PersonAdded, Right, Role, Saw, WalkRoundOpened},
        private::{PersonKey, Private},
    },
    state::{Heat, Power, Stance, State},
    words::{Depth, Seen},
};
use muster_wire::sync::SignedEvent;
use serde_json::json;
use tempfile::TempDir;

include!(concat!(env!("OUT_DIR"), "/embedded.rs"));

fn main() {
    match env::args().nth(1).as_deref() {
        Some("ingest") => ingest::ingest(),
        Some("open") => open(),
        Some("load") => load(),
        _ => println!("one of: ingest, open, load"),
    }
}

/// A device that writes a series of its own.
struct Writer {
    device: Device,
    frontier: Frontier,
    author: PersonId,
}

impl Writer {
    fn new(seed: u64) -> Self {
        let mut key = [7; 32];
        key[..8].copy_from_slice(&seed.to_le_bytes());
        Self { device: Device::of_seed(&key), frontier: Frontier::default(), author: "p-owner".parse().unwrap() }
    }

    fn added(&self) -> Payload {
        let (device, key) = (self.device.id(), hex(&self.device.public()));
        DeviceAdded { device, key, label: "phone".into(), person: None }.into()
    }

    fn write(&mut self, payload: Payload) -> Signed {
        let event = self.frontier.next(self.device.id(), self.author.clone(), at(), payload);
        let bytes = event.to_bytes().unwrap();
        self.frontier.note(self.device.id(), &Entry::read(&bytes).unwrap());
        self.device.sign(bytes)
    }

    /// A walk-round of one machine with so many looks.
    fn walk(&mut self, machine: &str, looks: usize) -> Vec<Signed> {
        let opened = WalkRoundOpened {
            machine: machine.into(),
            depth: Depth::BeforeRide,
            found: State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand },
            no_hold_tag: Some(true),
            key_on_hook: Some(true),
            odometer: None,
            air: Some("9 °C".into()),
            barometer: None,
            ridden: None,
            planned: None,
            comma: false,
        };
        let first = self.write(opened.into());
        let walk_round = Entry::read(&first.event).unwrap().id;
        let look = |check: &str| ObservationMade {
            machine: machine.into(),
            walk_round,
            check: check.into(),
            saw: Saw::One(Seen::Sound),
            class: None,
            defect: None,
            why: None,
            note: None,
            corrects: None,
        };
        let checks = ["tyre.front.damage", "wheel.front", "brake.front.action", "lamp.head", "leaks", "fasteners"];
        let looks: Vec<Payload> = checks.iter().cycle().take(looks).map(|check| look(check).into()).collect();
        [first].into_iter().chain(looks.into_iter().map(|payload| self.write(payload))).collect()
    }
}

fn at() -> Moment {
    Moment::parse("2026-11-24T08:00:00+00:00").unwrap()
}

/// A record of the demonstration's yard, its owner and these phones.
fn begun(folder: &TempDir, phones: Vec<Payload>) -> Opened {
    let opened = Opened::made(folder.path()).unwrap();
    let keeper = &opened.keeper;
    let person: PersonId = "p-owner".parse().unwrap();
    let name = Private::seal("Owner", &person, "name", &PersonKey::new([1; 32]), [1; 24]).unwrap();
    let owner = PersonAdded { person: person.clone(), name, role: Role::Owner, rights: Right::ALL.to_vec() };
    let office =
        DeviceAdded { device: keeper.here(), key: hex(&keeper.public_key()), label: "office".into(), person: None };
    let files: Vec<(String, String)> = DEMO.iter().map(|(name, text)| ((*name).into(), (*text).into())).collect();
    let mut payloads: Vec<Payload> = vec![owner.into(), office.into()];
    payloads.extend(taken(&files).unwrap());
    payloads.extend(phones);
    keeper.begin(payloads, &person, at()).unwrap();
    opened
}

/// How long a record of a million events takes to open, and to the first verdict.
fn open() {
    let folder = TempDir::new().unwrap();
    let mut phones: Vec<Writer> = (1..=8).map(Writer::new).collect();
    let opened = begun(&folder, phones.iter().map(Writer::added).collect());
    let began = Instant::now();
    let mut count = opened.store.count().unwrap();
    'all: loop {
        for (index, phone) in phones.iter_mut().enumerate() {
            let mut batch = Vec::new();
            for machine in 0..3 {
                batch.extend(phone.walk(&format!("H-{:02}", 1 + index * 3 + machine), 199));
            }
            opened.store.append(&batch).unwrap();
            count += batch.len() as u64;
            if count >= 1_000_000 {
                break 'all;
            }
        }
    }
    println!("{count} events written in {:.0} s", began.elapsed().as_secs_f64());
    drop(opened);
    let began = Instant::now();
    let opened = Opened::existing(folder.path()).unwrap();
    println!("opened in {:.3} s", began.elapsed().as_secs_f64());
    let began = Instant::now();
    let judged = opened.keeper.judge("H-07", at(), None).unwrap().unwrap();
    let events = opened
        .keeper
        .machine("H-07")
        .unwrap()
        .unwrap()
        .walk_rounds
        .values()
        .map(|of| of.form.answers.len())
        .sum::<usize>();
    println!(
        "first verdict of a machine with {events} answers in {:.3} s: {}",
        began.elapsed().as_secs_f64(),
        judged.machine
    );
    let began = Instant::now();
    opened.keeper.judge("H-07", at(), None).unwrap().unwrap();
    println!("its second in {:.4} s", began.elapsed().as_secs_f64());
}

/// What every phone and desk of the load run shares.
#[derive(Clone)]
struct Run {
    base: String,
    begin: Arc<Barrier>,
    over: Arc<AtomicBool>,
    sent: Arc<AtomicU64>,
    failed: Arc<AtomicU64>,
    times: Arc<Mutex<Vec<(&'static str, Duration)>>>,
}

const PHONES: usize = 200;
const DESKS: usize = 20;
const SECONDS: u64 = 30;

/// Phones that send while desks read.
fn load() {
    let folder = TempDir::new().unwrap();
    let phones: Vec<Writer> = (1..=PHONES as u64).map(Writer::new).collect();
    let run = Run {
        base: served(begun(&folder, phones.iter().map(Writer::added).collect())),
        begin: Arc::new(Barrier::new(PHONES + DESKS + 1)),
        over: Arc::default(),
        sent: Arc::default(),
        failed: Arc::default(),
        times: Arc::default(),
    };
    let mut threads = Vec::new();
    for (index, phone) in phones.into_iter().enumerate() {
        let run = run.clone();
        threads.push(thread::spawn(move || run.phone(index, phone)));
    }
    for index in 0..DESKS {
        let run = run.clone();
        threads.push(thread::spawn(move || run.desk(index)));
    }
    run.begin.wait();
    thread::sleep(Duration::from_secs(SECONDS));
    run.over.store(true, Ordering::Relaxed);
    threads.into_iter().for_each(|thread| thread.join().unwrap());
    let times = run.times.lock().unwrap();
    let (sent, failed) = (run.sent.load(Ordering::Relaxed), run.failed.load(Ordering::Relaxed));
    println!(
        "{PHONES} phones sent {sent} events in {SECONDS} s, {failed} batches failed; {DESKS} desks read {} times",
        times.len()
    );
    report("all reads", times.iter().map(|(_, took)| *took));
    for door in ["yard", "machine", "record"] {
        report(door, times.iter().filter(|(of, _)| *of == door).map(|(_, took)| *took));
    }
}

/// Serves a record on loopback; its address.
fn served(opened: Opened) -> String {
    let (tell, told) = mpsc::channel();
    let site = Site {
        opened,
        listen: SocketAddr::from(([127, 0, 0, 1], 0)),
        doors: Doors::Demonstration("p-owner".parse().unwrap()),
        clock: Clock::from(at()),
        identity: None,
    };
    thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
        runtime.block_on(serve(site, move |at: Addresses| tell.send(at.server).unwrap())).unwrap();
    });
    format!("http://{}", told.recv().unwrap())
}

impl Run {
    /// Walks one machine about every ten seconds, and syncs after it.
    fn phone(&self, index: usize, mut phone: Writer) {
        let agent = agent();
        self.begin.wait();
        thread::sleep(Duration::from_millis(50 * index as u64));
        while !self.over.load(Ordering::Relaxed) {
            let walk = phone.walk(&format!("H-{:02}", 1 + index % 24), 12);
            let events: Vec<SignedEvent> = walk.into_iter().map(Into::into).collect();
            let body = json!({ "events": events }).to_string();
            let asked = agent.post(format!("{}/api/v1/sync", self.base)).header("content-type", "application/json");
            let answer = asked.send(body).and_then(|mut answer| answer.body_mut().read_to_string());
            if answer.is_ok_and(|text| text.matches("\"kept\"").count() == events.len()) {
                self.sent.fetch_add(events.len() as u64, Ordering::Relaxed);
            } else {
                self.failed.fetch_add(1, Ordering::Relaxed);
            }
            thread::sleep(Duration::from_secs(10));
        }
    }

    /// Reads about twice a second: the yard, a machine, the log by turns.
    fn desk(&self, index: usize) {
        let agent = agent();
        self.begin.wait();
        let mut own = Vec::new();
        for turn in index.. {
            if self.over.load(Ordering::Relaxed) {
                break;
            }
            let (door, path) = match turn % 3 {
                0 => ("yard", "/api/v1/yard".to_string()),
                1 => ("machine", format!("/api/v1/machines/H-{:02}", 1 + turn % 24)),
                _ => ("record", "/api/v1/record?limit=50".to_string()),
            };
            let began = Instant::now();
            let asked = agent.get(format!("{}{path}", self.base)).call();
            let answer = asked.and_then(|mut answer| answer.body_mut().read_to_vec());
            assert!(answer.is_ok(), "{path}: {answer:?}");
            own.push((door, began.elapsed()));
            thread::sleep(Duration::from_millis(500));
        }
        self.times.lock().unwrap().extend(own);
    }
}

fn report(what: &str, times: impl Iterator<Item = Duration>) {
    let mut times: Vec<Duration> = times.collect();
    times.sort();
    let at =
        |share: f64| times.get(((times.len() as f64 * share) as usize).min(times.len().saturating_sub(1))).copied();
    println!(
        "{what}: median {:?}, p99 {:?}, slowest {:?}",
        at(0.5).unwrap_or_default(),
        at(0.99).unwrap_or_default(),
        at(1.0).unwrap_or_default()
    );
}

fn agent() -> ureq::Agent {
    ureq::Agent::config_builder().timeout_global(Some(Duration::from_secs(60))).build().into()
}
