//! Keys, accounts, sessions, codes and settings in their tables.

use jiff::Timestamp;
use muster_core::record::{id::PersonId, private::PersonKey};
use rusqlite::{Connection, OptionalExtension, Params, Row, TransactionBehavior, params};

use super::{SqliteStore, row};
use crate::store::{Account, Code, CodeHash, Secrets, Session, StoreError, TokenHash};

impl SqliteStore {
    /// Changes rows; how many.
    fn change(&self, sql: &'static str, values: impl Params + Send + 'static) -> Result<usize, StoreError> {
        self.writer()?.write(move |connection| Ok(connection.prepare_cached(sql)?.execute(values)?))
    }

    /// Reads one row.
    fn one<T>(
        &self,
        sql: &str,
        values: impl Params,
        read: impl FnOnce(&Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Option<T>, StoreError> {
        self.read(|connection| Ok(connection.prepare_cached(sql)?.query_row(values, read).optional()?))
    }

    /// Reads all rows.
    fn all<T>(&self, sql: &str, read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>) -> Result<Vec<T>, StoreError> {
        self.read(|connection| Ok(connection.prepare_cached(sql)?.query_map([], read)?.collect::<Result<_, _>>()?))
    }
}

impl Secrets for SqliteStore {
    fn put_key(&self, person: &PersonId, key: &PersonKey) -> Result<(), StoreError> {
        let (person, bytes) = (person.to_string(), *key.bytes());
        self.writer()?.write(move |connection| {
            let held = "SELECT bytes FROM person_key WHERE person = ?1";
            let held =
                connection.prepare_cached(held)?.query_row([&person], |row| row.get::<_, [u8; 32]>(0)).optional()?;
            match held {
                Some(held) if held == bytes => return Ok(()),
                Some(_) => return Err(StoreError::OtherKey(person)),
                None => {}
            }
            let sql = "INSERT INTO person_key (person, bytes) VALUES (?1, ?2)";
            connection.prepare_cached(sql)?.execute(params![person, bytes])?;
            Ok(())
        })
    }

    fn key(&self, person: &PersonId) -> Result<Option<PersonKey>, StoreError> {
        let sql = "SELECT bytes FROM person_key WHERE person = ?1";
        self.one(sql, [person.as_str()], |row| Ok(PersonKey::new(row.get(0)?)))
    }

    fn keys(&self) -> Result<Vec<(PersonId, PersonKey)>, StoreError> {
        let read = |row: &Row<'_>| Ok((row::parsed(row, 0)?, PersonKey::new(row.get(1)?)));
        self.all("SELECT person, bytes FROM person_key ORDER BY person", read)
    }

    fn destroy_key(&self, person: &PersonId) -> Result<bool, StoreError> {
        let person = person.to_string();
        self.writer()?.alone(move |connection| destroy(connection, &person))
    }

    fn put_account(&self, person: &PersonId, account: &Account) -> Result<(), StoreError> {
        let sql = "INSERT INTO account (person, phc, failed, blocked_until) VALUES (?1, ?2, ?3, ?4)
                   ON CONFLICT (person) DO UPDATE SET phc = excluded.phc, failed = excluded.failed,
                   blocked_until = excluded.blocked_until";
        let blocked_until = account.blocked_until.map(Timestamp::as_second);
        self.change(sql, (person.to_string(), account.phc.clone(), account.failed, blocked_until)).map(|_| ())
    }

    fn account(&self, person: &PersonId) -> Result<Option<Account>, StoreError> {
        let sql = "SELECT phc, failed, blocked_until FROM account WHERE person = ?1";
        self.one(sql, [person.as_str()], |row| {
            let blocked_until = row.get::<_, Option<i64>>(2)?.map(|_| row::time(row, 2)).transpose()?;
            Ok(Account { phc: row.get(0)?, failed: row.get(1)?, blocked_until })
        })
    }

    fn remove_account(&self, person: &PersonId) -> Result<bool, StoreError> {
        let person = person.to_string();
        self.writer()?.write(move |connection| {
            connection.execute("DELETE FROM session WHERE person = ?1", [&person])?;
            connection.execute("DELETE FROM code WHERE person = ?1", [&person])?;
            Ok(connection.execute("DELETE FROM account WHERE person = ?1", [&person])? > 0)
        })
    }

    fn put_session(&self, token: TokenHash, session: &Session) -> Result<(), StoreError> {
        let sql = "INSERT INTO session (token, person, created, seen, expires) VALUES (?1, ?2, ?3, ?4, ?5)";
        let [created, seen, expires] = [session.created, session.seen, session.expires].map(Timestamp::as_second);
        self.change(sql, (token.0, session.person.to_string(), created, seen, expires)).map(|_| ())
    }

    fn session(&self, token: TokenHash) -> Result<Option<Session>, StoreError> {
        let sql = "SELECT person, created, seen, expires FROM session WHERE token = ?1";
        self.one(sql, [token.0], |row| {
            let [created, seen, expires] = [row::time(row, 1)?, row::time(row, 2)?, row::time(row, 3)?];
            Ok(Session { person: row::parsed(row, 0)?, created, seen, expires })
        })
    }

    fn signed_in(&self, now: Timestamp) -> Result<Vec<PersonId>, StoreError> {
        let sql = "SELECT DISTINCT person FROM session WHERE expires > ?1 ORDER BY person";
        self.read(|connection| {
            let mut query = connection.prepare_cached(sql)?;
            let people = query.query_map([now.as_second()], |row| row::parsed(row, 0))?;
            Ok(people.collect::<rusqlite::Result<_>>()?)
        })
    }

    fn session_seen(&self, token: TokenHash, seen: Timestamp) -> Result<(), StoreError> {
        let sql = "UPDATE session SET seen = max(seen, ?2) WHERE token = ?1";
        self.change(sql, (token.0, seen.as_second())).map(|_| ())
    }

    fn end_session(&self, token: TokenHash) -> Result<bool, StoreError> {
        self.change("DELETE FROM session WHERE token = ?1", [token.0]).map(|ended| ended > 0)
    }

    fn end_sessions(&self, person: &PersonId) -> Result<usize, StoreError> {
        self.change("DELETE FROM session WHERE person = ?1", [person.to_string()])
    }

    fn put_code(&self, code: CodeHash, about: &Code) -> Result<(), StoreError> {
        let sql = "INSERT INTO code (hash, person, expires, used) VALUES (?1, ?2, ?3, ?4)";
        let (expires, used) = (about.expires.as_second(), about.used.map(Timestamp::as_second));
        self.change(sql, (code.0, about.person.to_string(), expires, used)).map(|_| ())
    }

    fn use_code(&self, code: CodeHash, now: Timestamp) -> Result<Option<Code>, StoreError> {
        // One statement of one writer: of two who send the same code, one gets in.
        let sql = "UPDATE code SET used = ?2 WHERE hash = ?1 AND used IS NULL AND expires > ?2 RETURNING person, expires, used";
        let read = |row: &Row<'_>| {
            Ok(Code { person: row::parsed(row, 0)?, expires: row::time(row, 1)?, used: Some(row::time(row, 2)?) })
        };
        self.writer()?.write(move |connection| {
            Ok(connection.prepare_cached(sql)?.query_row((code.0, now.as_second()), read).optional()?)
        })
    }

    fn put_own_key(&self, key: &[u8; 32]) -> Result<(), StoreError> {
        let sql =
            "INSERT INTO own_key (one, bytes) VALUES (1, ?1) ON CONFLICT (one) DO UPDATE SET bytes = excluded.bytes";
        self.change(sql, [*key]).map(|_| ())
    }

    fn own_key(&self) -> Result<Option<[u8; 32]>, StoreError> {
        self.one("SELECT bytes FROM own_key", [], |row| row.get(0))
    }

    fn put_setting(&self, name: &str, value: Option<&str>) -> Result<(), StoreError> {
        let set = "INSERT INTO setting (name, value) VALUES (?1, ?2)
                   ON CONFLICT (name) DO UPDATE SET value = excluded.value";
        match value {
            Some(value) => self.change(set, [name.to_owned(), value.to_owned()]),
            None => self.change("DELETE FROM setting WHERE name = ?1", [name.to_owned()]),
        }
        .map(|_| ())
    }

    fn setting(&self, name: &str) -> Result<Option<String>, StoreError> {
        self.one("SELECT value FROM setting WHERE name = ?1", [name], |row| row.get(0))
    }

    fn settings(&self) -> Result<Vec<(String, String)>, StoreError> {
        self.all("SELECT name, value FROM setting ORDER BY name", |row| Ok((row.get(0)?, row.get(1)?)))
    }

    fn count_act(&self, who: &str, now: Timestamp, from: Timestamp) -> Result<u32, StoreError> {
        let who = who.to_owned();
        self.writer()?.write(move |connection| {
            let insert = "INSERT INTO act (who, at) VALUES (?1, ?2)";
            connection.prepare_cached(insert)?.execute(params![who, now.as_second()])?;
            let count = "SELECT count(*) FROM act WHERE who = ?1 AND at >= ?2";
            Ok(connection.prepare_cached(count)?.query_row(params![who, from.as_second()], |row| row.get(0))?)
        })
    }

    fn prune(&self, before: Timestamp) -> Result<usize, StoreError> {
        let before = before.as_second();
        self.writer()?.write(move |connection| {
            let expired = ["session WHERE expires < ?1", "code WHERE expires < ?1", "act WHERE at < ?1"];
            let forget = |what: &str| connection.execute(&format!("DELETE FROM {what}"), [before]);
            Ok(expired.into_iter().map(forget).sum::<rusqlite::Result<usize>>()?)
        })
    }
}

/// Takes a key out, writes the others anew, and empties the log of changes.
///
/// Deleting one row overwrites it, but earlier moves of rows between pages may have left copies of it; a table emptied
/// as a whole gives back its pages, and each page given back is overwritten (`secure_delete`).
fn destroy(connection: &Connection, person: &str) -> Result<bool, StoreError> {
    let transaction = rusqlite::Transaction::new_unchecked(connection, TransactionBehavior::Immediate)?;
    let mut keys = {
        let mut query = transaction.prepare("SELECT person, bytes FROM person_key")?;
        let rows = query.query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, [u8; 32]>(1)?)))?;
        rows.collect::<rusqlite::Result<Vec<_>>>()?
    };
    let before = keys.len();
    keys.retain(|(of, _)| of != person);
    let existed = keys.len() < before;
    if existed {
        transaction.execute("DELETE FROM person_key", [])?;
        let mut insert = transaction.prepare("INSERT INTO person_key (person, bytes) VALUES (?1, ?2)")?;
        for (person, bytes) in &keys {
            insert.execute(params![person, bytes])?;
        }
    }
    transaction.commit()?;
    // Also where there was none any more: the call before may have been kept from this by a reader.
    let busy: bool = connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    if busy { Err(StoreError::NotYetWiped) } else { Ok(existed) }
}
