//! One who writes at a time: what waits for it is committed together, each piece whole or not at all.

use std::{
    collections::VecDeque,
    fmt,
    sync::{
        Mutex, MutexGuard, PoisonError,
        mpsc::{self, SyncSender, TryRecvError},
    },
};

use rusqlite::{Connection, TransactionBehavior};

use crate::store::StoreError;

/// How many pieces of work are committed together at most.
const GROUP: usize = 64;

/// The one connection that writes. Who has it does what all wait for; to hand work to a thread would cost as much as a
/// small piece of it.
pub(super) struct Writer {
    waiting: Mutex<VecDeque<Box<dyn Job>>>,
    connection: Mutex<Connection>,
}

/// How work is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    /// In a transaction, with others.
    Together,
    /// Without one, between the others'.
    Alone,
}

trait Job: Send {
    fn kind(&self) -> Kind;
    /// Does the work and keeps what came of it; its error, if it failed.
    fn run(&mut self, connection: &Connection) -> Option<StoreError>;
    /// Tells the caller: what came of it, or that it was not committed.
    fn answer(self: Box<Self>, committed: Result<(), StoreError>);
}

struct Piece<T, F> {
    kind: Kind,
    work: Option<F>,
    outcome: Option<Result<T, StoreError>>,
    to: SyncSender<Result<T, StoreError>>,
}

impl<T: Send, F: FnOnce(&Connection) -> Result<T, StoreError> + Send> Job for Piece<T, F> {
    fn kind(&self) -> Kind {
        self.kind
    }

    fn run(&mut self, connection: &Connection) -> Option<StoreError> {
        self.outcome = self.work.take().map(|work| work(connection));
        self.outcome.as_ref().and_then(|outcome| outcome.as_ref().err().cloned())
    }

    fn answer(self: Box<Self>, committed: Result<(), StoreError>) {
        let outcome = match (self.outcome, committed) {
            (Some(Err(error)), _) | (_, Err(error)) => Err(error),
            (Some(outcome), Ok(())) => outcome,
            (None, Ok(())) => Err(StoreError::Closed),
        };
        // A caller that has gone away wants no answer.
        let _ = self.to.send(outcome);
    }
}

impl Writer {
    /// One that writes by this connection.
    pub(super) fn of(connection: Connection) -> Self {
        Self { waiting: Mutex::default(), connection: Mutex::new(connection) }
    }

    /// Does work in a transaction and waits until it is on disk.
    pub(super) fn write<T, F>(&self, work: F) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: FnOnce(&Connection) -> Result<T, StoreError> + Send + 'static,
    {
        self.send(Kind::Together, work)
    }

    /// Does work that brings its own transaction, or must have none.
    pub(super) fn alone<T, F>(&self, work: F) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: FnOnce(&Connection) -> Result<T, StoreError> + Send + 'static,
    {
        self.send(Kind::Alone, work)
    }

    fn send<T, F>(&self, kind: Kind, work: F) -> Result<T, StoreError>
    where
        T: Send + 'static,
        F: FnOnce(&Connection) -> Result<T, StoreError> + Send + 'static,
    {
        let (to, from) = mpsc::sync_channel(1);
        self.waiting().push_back(Box::new(Piece { kind, work: Some(work), outcome: None, to }));
        // A panic in another's work undid its transaction: the connection is as good as before.
        let mut connection = self.connection.lock().unwrap_or_else(PoisonError::into_inner);
        loop {
            match from.try_recv() {
                Ok(outcome) => return outcome,
                Err(TryRecvError::Disconnected) => return Err(StoreError::Closed),
                Err(TryRecvError::Empty) => self.serve(&mut connection),
            }
        }
    }

    fn waiting(&self) -> MutexGuard<'_, VecDeque<Box<dyn Job>>> {
        self.waiting.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Does what waits longest, and what may be committed with it.
    fn serve(&self, connection: &mut Connection) {
        let Some(mut job) = self.waiting().pop_front() else { return };
        if job.kind() == Kind::Alone {
            job.run(connection);
            job.answer(Ok(()));
            return;
        }
        let mut group = vec![job];
        while group.len() < GROUP {
            let Some(job) = self.waiting().pop_front_if(|job| job.kind() == Kind::Together) else { break };
            group.push(job);
        }
        let committed = together(connection, &mut group);
        group.into_iter().for_each(|job| job.answer(committed.clone()));
    }
}

impl fmt::Debug for Writer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Writer").finish_non_exhaustive()
    }
}

/// Does a group's work in one transaction; work that fails is undone alone.
fn together(connection: &mut Connection, group: &mut [Box<dyn Job>]) -> Result<(), StoreError> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    if let [job] = group {
        // Alone in it: undone with it.
        return match job.run(&transaction) {
            Some(error) => Err(error),
            None => Ok(transaction.commit()?),
        };
    }
    for job in group {
        transaction.execute_batch("SAVEPOINT piece")?;
        if let Some(error) = job.run(&transaction) {
            if transaction.is_autocommit() {
                // Some errors, a full disk among them, undo the whole transaction: nothing of the group is kept.
                return Err(error);
            }
            transaction.execute_batch("ROLLBACK TO piece")?;
        }
        transaction.execute_batch("RELEASE piece")?;
    }
    Ok(transaction.commit()?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::panic::{AssertUnwindSafe, catch_unwind};

    #[test]
    fn work_that_breaks_off_is_undone_and_the_next_goes_on() {
        let writer = Writer::of(Connection::open_in_memory().unwrap());
        writer.write(|to| Ok(to.execute_batch("CREATE TABLE tune (name TEXT)")?)).unwrap();
        let breaks_off = |to: &Connection| -> Result<(), StoreError> {
            to.execute_batch("INSERT INTO tune VALUES ('half')")?;
            panic!("on purpose");
        };
        assert!(catch_unwind(AssertUnwindSafe(|| writer.write(breaks_off))).is_err());
        let count = writer.write(|to| Ok(to.query_row("SELECT count(*) FROM tune", [], |row| row.get::<_, u32>(0))?));
        assert_eq!(count.unwrap(), 0);
    }
}
