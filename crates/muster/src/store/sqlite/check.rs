//! Reads everything there is and names each thing that is not as it was written.

use std::{
    cell::OnceCell,
    collections::{BTreeMap, BTreeSet},
};

use muster_core::record::{
    event::Entry,
    heads::{self, SeriesEnd},
    id::{DeviceId, EventId},
};
use rusqlite::{Connection, OptionalExtension, Row, params};

use super::{compute, row};
use crate::store::{Arrival, Fault, Part, StoreError, Stored};

/// Faults listed by SQLite itself at most: after that many the file is lost anyway.
const MAX_PAGE_FAULTS: u32 = 100;

/// Names each fault.
pub(super) fn check(connection: &Connection) -> Result<Vec<Fault>, StoreError> {
    // One state of the database, whatever is appended meanwhile.
    let transaction = connection.unchecked_transaction()?;
    let (faults, ends, numbered) = (Vec::new(), BTreeMap::new(), OnceCell::new());
    let mut look = Look { connection: &transaction, faults, ends, numbered };
    look.pages();
    for arrival in 1..=look.last_arrival() {
        look.event(arrival);
    }
    look.rows_of_nothing();
    look.series();
    Ok(look.faults)
}

struct Look<'a> {
    connection: &'a Connection,
    faults: Vec<Fault>,
    /// The end of each series so far; none after an event that cannot be read, so that its followers are not blamed.
    ends: BTreeMap<DeviceId, Option<SeriesEnd>>,
    /// Which event has which number, by the index alone: asked for where an event itself cannot be read.
    numbered: OnceCell<BTreeMap<Arrival, EventId>>,
}

impl Look<'_> {
    fn add(&mut self, part: Part, what: impl Into<String>) {
        self.faults.push(Fault { part, what: what.into() });
    }

    fn pages(&mut self) {
        // What it found is kept, also where it then breaks off.
        let mut texts: Vec<String> = Vec::new();
        let ended = (|| {
            let mut query = self.connection.prepare(&format!("PRAGMA integrity_check({MAX_PAGE_FAULTS})"))?;
            let mut rows = query.query([])?;
            while let Some(row) = rows.next()? {
                texts.push(row.get(0)?);
            }
            Ok::<(), rusqlite::Error>(())
        })();
        let lines = texts.iter().flat_map(|text| text.lines()).filter(|line| *line != "ok");
        for line in lines.filter(|line| !line.starts_with("*** in database")) {
            self.add(page(line).map_or(Part::File, Part::Page), line);
        }
        if let Err(error) = ended {
            self.add(Part::File, format!("its own check breaks off: {error}"));
        }
    }

    /// The last number there is, by whichever table can be read.
    fn last_arrival(&mut self) -> Arrival {
        let mut last = 0;
        for table in ["event", "placed"] {
            let sql = format!("SELECT coalesce(max(arrival), 0) FROM {table}");
            match self.connection.query_row(&sql, [], |row| row::whole(row, 0)) {
                Ok(arrival) => last = last.max(arrival),
                Err(error) => self.add(Part::File, format!("table `{table}` cannot be read: {error}")),
            }
        }
        last
    }

    fn event(&mut self, arrival: Arrival) {
        let sql = format!("SELECT {} FROM event WHERE arrival = ?1", row::STORED);
        let held = self
            .connection
            .prepare_cached(&sql)
            .and_then(|mut query| query.query_row([row::signed(arrival)], row::with_sum).optional());
        let what = match held {
            Ok(Some((stored, sum))) => return self.bytes(&stored, &sum),
            Ok(None) => "is missing".to_owned(),
            Err(error) => format!("cannot be read: {error}"),
        };
        let known = self.numbered.get_or_init(|| numbered(self.connection).unwrap_or_default()).get(&arrival).copied();
        if let Some(id) = known {
            self.ends.insert(id.device, None);
        }
        self.add(Part::Event { arrival, id: known }, what);
    }

    fn bytes(&mut self, stored: &Stored, sum: &[u8]) {
        let part = Part::Event { arrival: stored.arrival, id: Some(stored.id) };
        if row::sum(&stored.signed.event, &stored.signed.signature) != sum {
            self.add(part, "its bytes are not those that were appended");
            self.ends.insert(stored.id.device, None);
            return;
        }
        let entry = match Entry::read(&stored.signed.event) {
            Ok(entry) => entry,
            Err(error) => {
                self.add(part, error.to_string());
                self.ends.insert(stored.id.device, None);
                return;
            }
        };
        if entry.id != stored.id {
            self.add(part, format!("its bytes are those of event {}", entry.id));
        }
        if compute::subject(&entry).is_some_and(|subject| !self.is_placed(&subject, stored.arrival)) {
            self.add(part, "what is computed of it is wrong: rebuild");
        }
        self.follows(part, entry);
    }

    fn follows(&mut self, part: Part, entry: Entry) {
        let before = self.ends.get(&entry.id.device).cloned();
        // None before it: its series begins. An unknown end: nothing to compare with.
        let wrong = match &before {
            None => heads::is_next(None, &entry).err(),
            Some(Some(end)) => heads::is_next(Some(end), &entry).err(),
            Some(None) => None,
        };
        if let Some(wrong) = wrong {
            self.add(part, wrong.to_string());
        }
        let end = SeriesEnd { seq: entry.id.seq, hash: entry.hash, height: entry.height };
        self.ends.insert(entry.id.device, Some(end));
    }

    /// Whether an event is noted under its subject; not, if that cannot be read.
    fn is_placed(&self, subject: &str, arrival: Arrival) -> bool {
        let sql = "SELECT 1 FROM placed WHERE subject = ?1 AND arrival = ?2";
        let query = self.connection.prepare_cached(sql);
        query.and_then(|mut query| query.exists(params![subject, row::signed(arrival)])).unwrap_or(false)
    }

    fn rows_of_nothing(&mut self) {
        // A table that cannot be read was named already.
        let count = |sql: &str| self.connection.query_row(sql, [], |row| row.get::<_, u32>(0)).unwrap_or(0);
        let nothing =
            count("SELECT count(*) FROM placed WHERE arrival < 1 OR arrival NOT IN (SELECT arrival FROM event)");
        let twice = count("SELECT count(*) - count(DISTINCT arrival) FROM placed");
        for (count, what) in [(nothing, "rows are computed of no event"), (twice, "events are noted of two subjects")] {
            if count > 0 {
                self.add(Part::File, format!("{count} {what}: rebuild"));
            }
        }
    }

    fn series(&mut self) {
        let mut devices: BTreeSet<DeviceId> = self.ends.keys().copied().collect();
        match self.listed() {
            Ok(listed) => devices.extend(listed),
            Err(error) => self.add(Part::File, format!("table `series` cannot be read: {error}")),
        }
        for device in devices {
            let kept = compute::end(self.connection, device);
            match (self.ends.get(&device).cloned(), kept) {
                (Some(None), Ok(_)) => {}
                (found, Ok(kept)) if found.clone().flatten() == kept => {}
                (_, Ok(_)) => self.add(Part::Series(device), "its end is written down wrong: rebuild"),
                (_, Err(error)) => self.add(Part::Series(device), format!("its end cannot be read: {error}")),
            }
        }
    }

    fn listed(&self) -> Result<Vec<DeviceId>, StoreError> {
        let mut query = self.connection.prepare("SELECT device FROM series")?;
        Ok(query.query_map([], |row| row::parsed(row, 0))?.collect::<rusqlite::Result<_>>()?)
    }
}

fn numbered(connection: &Connection) -> rusqlite::Result<BTreeMap<Arrival, EventId>> {
    let sql = "SELECT arrival, device, seq FROM event INDEXED BY sqlite_autoindex_event_1";
    let row =
        |row: &Row<'_>| Ok((row::whole(row, 0)?, EventId { device: row::parsed(row, 1)?, seq: row::whole(row, 2)? }));
    connection.prepare(sql)?.query_map([], row)?.collect()
}

/// The page that a line of SQLite's own check names: `Tree 2 page 17 cell 3: …`.
fn page(line: &str) -> Option<u32> {
    let mut words = line.split(|character: char| !character.is_ascii_alphanumeric());
    words.by_ref().find(|word| word.eq_ignore_ascii_case("page"))?;
    words.next()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::page;

    #[test]
    fn the_page_is_found_in_what_sqlite_says() {
        // The texts are those of SQLite's btree.c (checkTreePage, checkPtrmap, sqlite3BtreeIntegrityCheck).
        assert_eq!(page("Tree 2 page 17 cell 3: Extends off end of page"), Some(17));
        assert_eq!(page("Page 9: never used"), Some(9));
        assert_eq!(page("row 3 missing from index sqlite_autoindex_event_1"), None);
    }
}
