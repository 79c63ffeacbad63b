//! How fast the store appends and reads, beside bare SQLite with the same rows and the same promises.

use std::{error::Error, path::Path, thread, time::Instant};

use ed25519_dalek::{Signer, SigningKey};
use muster::store::{Store, StoreError, sqlite::SqliteStore};
use muster_core::{
    calendar::Moment,
    record::{
        event::{Entry, Signed},
        heads::Frontier,
        id::DeviceId,
        payload::{OdometerNoted, Subject},
    },
};
use rusqlite::Connection;

type Outcome<T> = Result<T, Box<dyn Error>>;

fn events(number: u8, count: u32) -> Outcome<Vec<Signed>> {
    let key = SigningKey::from_bytes(&[number; 32]);
    let device = DeviceId::of_key(key.verifying_key().as_bytes());
    let (mut frontier, mut events) = (Frontier::default(), Vec::new());
    for km in 0..count {
        let payload = OdometerNoted { machine: format!("H-{:02}", km % 24), odometer: format!("{km} km") };
        let at = Moment::parse("2026-11-24T07:52:00+00:00")?;
        let event = frontier.next(device, "p-1".parse()?, at, payload.into());
        let event = event.to_bytes()?;
        frontier.note(device, &Entry::read(&event)?);
        let signature = key.sign(event.as_bytes()).to_bytes();
        events.push(Signed { event, signature: signature.iter().map(|byte| format!("{byte:02x}")).collect() });
    }
    Ok(events)
}

fn bare(folder: &Path, events: &[Signed], batch: usize) -> Outcome<f64> {
    let connection = Connection::open(folder.join("bare.db"))?;
    connection.execute_batch(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL;
         CREATE TABLE event (arrival INTEGER PRIMARY KEY, device TEXT NOT NULL, seq INTEGER NOT NULL,
         bytes TEXT NOT NULL, signature TEXT NOT NULL, UNIQUE (device, seq)) STRICT",
    )?;
    let began = Instant::now();
    let mut seq = 0;
    for piece in events.chunks(batch) {
        connection.execute_batch("BEGIN IMMEDIATE")?;
        let sql = "INSERT INTO event (device, seq, bytes, signature) VALUES (?1, ?2, ?3, ?4)";
        let mut insert = connection.prepare_cached(sql)?;
        for signed in piece {
            seq += 1;
            insert.execute(("0123456789abcdef", seq, &signed.event, &signed.signature))?;
        }
        connection.execute_batch("COMMIT")?;
    }
    Ok(began.elapsed().as_secs_f64())
}

fn main() -> Outcome<()> {
    let count = 100_000;
    let folder = std::env::temp_dir().join(format!("store-speed-{}", std::process::id()));
    let all = events(1, count)?;
    println!("{} bytes an event", all.iter().map(|signed| signed.event.len()).sum::<usize>() / all.len());
    for round in 0..2 {
        let here = folder.join(round.to_string());
        let store = SqliteStore::open(&here)?;
        let rate =
            |seconds: f64, what: &str| println!("{what}: {seconds:.2} s, {:.0} a second", f64::from(count) / seconds);
        rate(bare(&here, &all, 100)?, "bare, batches of 100");
        let began = Instant::now();
        for piece in all.chunks(100) {
            store.append(piece)?;
        }
        rate(began.elapsed().as_secs_f64(), "store, batches of 100");
        let began = Instant::now();
        for piece in all.chunks(100) {
            store.append(piece)?;
        }
        rate(began.elapsed().as_secs_f64(), "store, the same again");
        let began = Instant::now();
        for number in 0..1000 {
            store.since(number * 100, 100)?;
        }
        rate(began.elapsed().as_secs_f64(), "store, since by 100");
        let began = Instant::now();
        let held = store.subject(&Subject::Machine("H-07".into()))?.len();
        println!("subject of {held}: {:.1} ms", began.elapsed().as_secs_f64() * 1e3);
        let began = Instant::now();
        store.rebuild()?;
        rate(began.elapsed().as_secs_f64(), "rebuild");
        let began = Instant::now();
        let faults = store.check()?;
        rate(began.elapsed().as_secs_f64(), &format!("check ({} faults)", faults.len()));
        for threads in [1_u8, 8] {
            let each = 2000 / u32::from(threads);
            let batches =
                (1..=threads).map(|number| events(10 * threads + number, each)).collect::<Outcome<Vec<_>>>()?;
            let singles = &|batch: &Vec<Signed>| batch.chunks(1).try_for_each(|one| store.append(one).map(|_| ()));
            let began = Instant::now();
            thread::scope(|scope| {
                let running: Vec<_> = batches.iter().map(|batch| scope.spawn(move || singles(batch))).collect();
                running.into_iter().try_for_each(|thread| thread.join().unwrap_or(Err(StoreError::Closed)))
            })?;
            println!("2 000 single events from {threads} threads: {:.2} s", began.elapsed().as_secs_f64());
        }
    }
    std::fs::remove_dir_all(folder)?;
    Ok(())
}
