//! The running server killed, out of room, or kept from writing: what it acknowledged is there, and it goes on reading.

use std::{
    sync::{
        Mutex,
        atomic::{AtomicU64, Ordering},
        mpsc,
    },
    thread,
    time::Duration,
};

use muster::{
    keeper::Device,
    store::{Store as _, sqlite::SqliteStore},
};
use muster_core::record::{
    event::Signed,
    heads::Frontier,
    payload::{FindingRaised, Payload},
};
use muster_core::words::{Class, Use};
use serde_json::json;

use super::{
    kit::{now, person},
    running::{Answer, Client, Folder},
};
use crate::store::faults::{Chance, kills};

/// How many writes must be acknowledged before it ends: none, or as many as the long run asks.
fn writes() -> u64 {
    std::env::var("MUSTER_WRITES").ok().and_then(|writes| writes.parse().ok()).unwrap_or(0)
}

/// Desks that write at once.
const DESKS: u64 = 3;
/// Events a phone sends at once.
const BATCH: usize = 50;

/// A phone that sends a batch again until it is acknowledged.
struct Phone {
    device: Device,
    frontier: Frontier,
    unsent: Vec<Signed>,
    acknowledged: u64,
}

impl Phone {
    fn new() -> Self {
        let device = Device::of_seed(&[5; 32]);
        Self { frontier: Frontier::default(), device, unsent: Vec::new(), acknowledged: 0 }
    }

    fn writes(&mut self) -> Signed {
        let raised = FindingRaised {
            machine: "M-01".into(),
            walk_round: None,
            check: None,
            what: format!("scratch {}", self.acknowledged),
            class: Class::Minor,
            defect: None,
            uses: vec![Use::Range],
            feedback: false,
        };
        let event = self.frontier.next(self.device.id(), person("p-owner"), now(), Payload::from(raised));
        let bytes = event.to_bytes().unwrap();
        self.frontier.note(self.device.id(), &muster_core::record::event::Entry::read(&bytes).unwrap());
        self.device.sign(bytes)
    }

    /// Sends till nobody answers.
    fn sends(&mut self, client: &Client) {
        loop {
            if self.unsent.is_empty() {
                self.unsent = (0..BATCH).map(|_| self.writes()).collect();
            }
            let events: Vec<_> =
                self.unsent.iter().map(|of| json!({ "event": of.event, "signature": of.signature })).collect();
            let body = json!({ "events": events }).to_string();
            match client.ask("POST", "/api/v1/sync", Some(body.as_bytes())) {
                Some(answer) => {
                    assert_eq!(answer.status, 200, "{}", answer.body);
                    self.acknowledged += BATCH as u64;
                    self.unsent.clear();
                }
                None => return,
            }
        }
    }
}

#[test]
fn what_the_server_acknowledged_survives_a_kill() {
    let mut phone = Phone::new();
    let folder = Folder::new(Some(&phone.device));
    let mut chance = Chance::new();
    let acknowledged = Mutex::new(Vec::new());
    let number = AtomicU64::new(0);
    let mut kill = 0;
    while kill < kills() || acknowledged.lock().unwrap().len() as u64 + phone.acknowledged < writes() {
        kill += 1;
        let server = folder.serve();
        let before = acknowledged.lock().unwrap().len();
        let (first, begun) = mpsc::channel();
        thread::scope(|scope| {
            for _ in 0..DESKS {
                let (client, first) = (server.client.clone(), first.clone());
                let (acknowledged, number) = (&acknowledged, &number);
                scope.spawn(move || {
                    loop {
                        let what = format!("rattle {}", number.fetch_add(1, Ordering::Relaxed));
                        match client.raises(&what) {
                            Ok(event) => acknowledged.lock().unwrap().push(event),
                            Err(None) => return,
                            Err(Some(answer)) => panic!("kill {kill}: {}", answer.body),
                        }
                        let _heard = first.send(());
                    }
                });
            }
            let (client, phone) = (server.client.clone(), &mut phone);
            scope.spawn(move || phone.sends(&client));
            begun.recv_timeout(Duration::from_secs(30)).expect("somebody is answered");
            thread::sleep(Duration::from_micros(chance.below(80_000)));
            server.kill();
        });
        // Looked at as it was left, before a server mends anything.
        let store = SqliteStore::open(&folder.path()).unwrap();
        assert_eq!(store.check().unwrap(), vec![], "kill {kill}");
        for event in &acknowledged.lock().unwrap()[before..] {
            assert!(store.event(event.parse().unwrap()).unwrap().is_some(), "kill {kill}: {event} is lost");
        }
        let held = store.heads().unwrap().of(phone.device.id());
        assert!(held >= phone.acknowledged, "kill {kill}: {held} of {}", phone.acknowledged);
        assert_eq!(held % BATCH as u64, 0, "kill {kill}: a batch was halved");
    }
    let server = folder.serve();
    let log = server.client.log();
    let log: std::collections::BTreeSet<&str> = log.iter().map(String::as_str).collect();
    let acknowledged = acknowledged.into_inner().unwrap();
    assert!(acknowledged.iter().all(|event| log.contains(event.as_str())), "the server shows all it acknowledged");
    println!("{} commands and {} events of a phone acknowledged, {kill} kills", acknowledged.len(), phone.acknowledged);
}

/// A clear problem (RFC 9457) that says what to do.
fn is_problem(answer: &Answer, says: &[&str]) {
    assert_eq!((answer.status, answer.kind.as_str()), (503, "application/problem+json"), "{}", answer.body);
    assert_eq!(answer.body["type"], "/api/v1/problems#unavailable");
    let detail = answer.body["detail"].as_str().unwrap();
    assert!(says.iter().all(|text| detail.contains(text)), "{detail}");
}

/// Every kind of reading goes on.
fn reads(client: &Client) {
    for path in ["/health", "/api/v1/yard", "/api/v1/machines/M-01", "/api/v1/record", "/api/v1/people"] {
        let answer = client.ask("GET", path, None).unwrap();
        assert_eq!(answer.status, 200, "{path}: {}", answer.body);
    }
}

#[test]
fn a_full_disk_is_a_problem_that_says_so_and_the_server_goes_on_reading() {
    let folder = Folder::new(None);
    let server = folder.serve_limited(1200);
    let mut acknowledged = Vec::new();
    let refused = loop {
        match server.client.raises(&"x".repeat(3900)) {
            Ok(event) => acknowledged.push(event),
            Err(answer) => break answer.expect("an answer, not silence"),
        }
        assert!(acknowledged.len() < 2000, "the limit holds");
    };
    is_problem(&refused, &["no room", "free some", "try again"]);
    reads(&server.client);
    let again = server.client.raises(&"x".repeat(3900)).unwrap_err().unwrap();
    is_problem(&again, &["no room"]);
    assert!(!acknowledged.is_empty());
    server.kill();
    // With room again all that was acknowledged is there, and it goes on.
    let server = folder.serve();
    let log = server.client.log();
    assert!(acknowledged.iter().all(|event| log.contains(event)));
    server.client.raises("room again").ok().unwrap();
}

#[test]
fn a_record_that_may_not_be_written_is_served_for_reading_and_says_so() {
    let folder = Folder::new(None);
    folder.give(&folder.path(), 0o555, 0o444);
    let server = folder.serve_bound();
    reads(&server.client);
    let refused = server.client.raises("rattle").err().flatten().expect("an answer");
    is_problem(&refused, &["reading only", "writable"]);
    reads(&server.client);
}

#[test]
fn a_photo_for_which_the_running_server_may_not_write_is_a_problem_and_the_rest_goes_on() {
    let folder = Folder::new(None);
    let photos = folder.path().join("photos");
    std::fs::create_dir_all(&photos).unwrap();
    folder.give(&folder.path(), 0o755, 0o644);
    let server = folder.serve_bound();
    folder.give(&photos, 0o555, 0o444);
    let upload = format!("/api/v1/photos/uploads/{}?offset=0", "ab".repeat(32));
    is_problem(&server.client.ask("PUT", &upload, Some(b"half of one")).unwrap(), &["photos"]);
    reads(&server.client);
    server.client.raises("rattle").ok().unwrap();
}
