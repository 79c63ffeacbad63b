//! What is kept a second, beside bare SQLite with the same bytes, batches and durability, in rounds that take turns.

use std::time::{Duration, Instant};

use muster::store::{
    Store as _,
    sqlite::{DATABASE, SqliteStore},
};
use muster_core::record::event::{Entry, Signed};
use rusqlite::{Connection, ToSql, TransactionBehavior, types::Value};
use tempfile::TempDir;

use super::{Writer, begun};

/// Rounds of each size of batch; the middle one counts.
const ROUNDS: usize = 7;

/// Prints the figures of each size of batch.
pub(super) fn ingest() {
    for batch in [1, 20, 100] {
        let count = if batch == 1 { 2_000 } else { 20_000 };
        let mut phone = Writer::new(1);
        let added = phone.added();
        let mut events = Vec::new();
        while events.len() < count {
            events.extend(phone.walk("H-07", 19));
        }
        let rows = Rows::of(&events, batch);
        let rounds: Vec<[f64; 4]> = (0..ROUNDS)
            .map(|_| {
                let took =
                    [bare(&events, batch), same_rows(&rows), store(&events, batch), door(&events, batch, &added)];
                took.map(|took| events.len() as f64 / took.as_secs_f64())
            })
            .collect();
        let rate = |which: usize| middle(rounds.iter().map(|round| round[which]));
        let share = |which: usize, of: usize| 100.0 * middle(rounds.iter().map(|round| round[which] / round[of]));
        println!("batches of {batch}, the middle of {ROUNDS} rounds:");
        println!("  bare SQLite, the bytes alone {:.0}/s; the same rows {:.0}/s", rate(0), rate(1));
        for (which, name) in [(2, "store"), (3, "with signatures verified and states folded")] {
            let (bytes, rows) = (share(which, 0), share(which, 1));
            println!("  {name} {:.0}/s: {bytes:.0} % of the bytes alone, {rows:.0} % of the same rows", rate(which));
        }
    }
}

fn middle(figures: impl Iterator<Item = f64>) -> f64 {
    let mut figures: Vec<f64> = figures.collect();
    figures.sort_by(f64::total_cmp);
    figures[figures.len() / 2]
}

fn timed(work: impl FnOnce()) -> Duration {
    let began = Instant::now();
    work();
    began.elapsed()
}

/// The store alone.
fn store(events: &[Signed], batch: usize) -> Duration {
    let folder = TempDir::new().unwrap();
    let store = SqliteStore::open(folder.path()).unwrap();
    timed(|| events.chunks(batch).for_each(|batch| _ = store.append(batch).unwrap()))
}

/// The way events of a phone go: verified, kept, folded.
fn door(events: &[Signed], batch: usize, added: &muster_core::record::payload::Payload) -> Duration {
    let folder = TempDir::new().unwrap();
    let opened = begun(&folder, vec![added.clone()]);
    timed(|| events.chunks(batch).for_each(|batch| _ = opened.keeper.receive(batch).unwrap()))
}

/// One table of the events' bytes, their signatures and one number that is told apart.
fn bare(events: &[Signed], batch: usize) -> Duration {
    let folder = TempDir::new().unwrap();
    let mut connection = durable(&folder);
    let table = "CREATE TABLE event(arrival INTEGER PRIMARY KEY, id TEXT UNIQUE, bytes TEXT, signature TEXT)";
    connection.execute_batch(table).unwrap();
    timed(|| {
        for (number, batch) in events.chunks(batch).enumerate() {
            let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate).unwrap();
            for (index, signed) in batch.iter().enumerate() {
                let id = format!("{number}.{index}");
                let insert = "INSERT INTO event(id, bytes, signature) VALUES(?1, ?2, ?3)";
                let mut insert = transaction.prepare_cached(insert).unwrap();
                insert.execute((id, &signed.event, &signed.signature)).unwrap();
            }
            transaction.commit().unwrap();
        }
    })
}

/// The rows the store has of some events, in the order and by the batches it wrote them.
struct Rows {
    batches: Vec<Vec<(&'static str, Vec<Value>)>>,
}

const EVENT: &str = "INSERT INTO event VALUES (?1, ?2, ?3, ?4, ?5, ?6)";
const PLACED: &str = "INSERT INTO placed VALUES (?1, ?2)";
const SERIES: &str = "INSERT OR REPLACE INTO series VALUES (?1, ?2, ?3, ?4)";

impl Rows {
    fn of(events: &[Signed], batch: usize) -> Self {
        let folder = TempDir::new().unwrap();
        SqliteStore::open(folder.path()).unwrap().append(events).unwrap();
        let written = Connection::open(folder.path().join(DATABASE)).unwrap();
        let (event, placed) = (table(&written, "event"), table(&written, "placed"));
        let rows = event.into_iter().zip(placed).map(|(event, placed)| [(EVENT, event), (PLACED, placed)]);
        let rows: Vec<_> = rows.collect();
        let batches = rows.chunks(batch).zip(events.chunks(batch)).map(|(rows, events)| {
            let end = Entry::read(&events.last().unwrap().event).unwrap();
            let number = |number: u64| Value::Integer(number.try_into().unwrap());
            let end = vec![end.id.device.to_string().into(), number(end.id.seq), end.hash.into(), number(end.height)];
            rows.iter().flatten().cloned().chain([(SERIES, end)]).collect()
        });
        Self { batches: batches.collect() }
    }
}

/// A table's rows by arrival.
fn table(connection: &Connection, name: &str) -> Vec<Vec<Value>> {
    let mut query = connection.prepare(&format!("SELECT * FROM {name} ORDER BY arrival")).unwrap();
    let columns = query.column_count();
    let row = |row: &rusqlite::Row<'_>| (0..columns).map(|column| row.get(column)).collect();
    query.query_map([], row).unwrap().collect::<Result<_, _>>().unwrap()
}

/// The same rows into the same tables and indices, and nothing else: no reading, no checking, no thread.
fn same_rows(rows: &Rows) -> Duration {
    let folder = TempDir::new().unwrap();
    drop(SqliteStore::open(folder.path()).unwrap());
    let mut connection = durable(&folder);
    timed(|| {
        for batch in &rows.batches {
            let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate).unwrap();
            for (sql, values) in batch {
                let mut insert = transaction.prepare_cached(sql).unwrap();
                insert.execute(values.iter().map(|value| value as &dyn ToSql).collect::<Vec<_>>().as_slice()).unwrap();
            }
            transaction.commit().unwrap();
        }
    })
}

/// A database with the durability of the store.
fn durable(folder: &TempDir) -> Connection {
    let connection = Connection::open(folder.path().join(DATABASE)).unwrap();
    connection.execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL").unwrap();
    connection
}
