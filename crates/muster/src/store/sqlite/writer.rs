//! The one thread that writes: what waits for it is committed together, each piece whole or not at all.

use std::{
    sync::mpsc::{self, Receiver, Sender, SyncSender},
    thread::{self, JoinHandle},
};

use rusqlite::{Connection, TransactionBehavior};

use crate::store::StoreError;

/// How many pieces of work are committed together at most.
const GROUP: usize = 64;

/// A handle to the thread that writes.
#[derive(Debug)]
pub(super) struct Writer {
    jobs: Option<Sender<Box<dyn Job>>>,
    thread: Option<JoinHandle<()>>,
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
    /// Starts the thread, which owns the connection.
    pub(super) fn start(connection: Connection) -> std::io::Result<Self> {
        let (jobs, queue) = mpsc::channel();
        let thread = thread::Builder::new().name("store-writer".into()).spawn(move || serve(connection, &queue))?;
        Ok(Self { jobs: Some(jobs), thread: Some(thread) })
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
        let piece = Piece { kind, work: Some(work), outcome: None, to };
        let jobs = self.jobs.as_ref().ok_or(StoreError::Closed)?;
        jobs.send(Box::new(piece)).map_err(|_| StoreError::Closed)?;
        from.recv().map_err(|_| StoreError::Closed)?
    }
}

impl Drop for Writer {
    fn drop(&mut self) {
        self.jobs = None;
        if let Some(thread) = self.thread.take() {
            // It ends when the queue does; a panic in it was seen by those who waited.
            let _ = thread.join();
        }
    }
}

fn serve(mut connection: Connection, queue: &Receiver<Box<dyn Job>>) {
    let mut next = queue.recv().ok();
    while let Some(mut job) = next.take() {
        if job.kind() == Kind::Alone {
            job.run(&connection);
            job.answer(Ok(()));
        } else {
            let mut group = vec![job];
            while group.len() < GROUP {
                match queue.try_recv() {
                    Ok(job) if job.kind() == Kind::Together => group.push(job),
                    Ok(job) => {
                        next = Some(job);
                        break;
                    }
                    Err(_) => break,
                }
            }
            let committed = together(&mut connection, &mut group);
            group.into_iter().for_each(|job| job.answer(committed.clone()));
        }
        next = next.or_else(|| queue.recv().ok());
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
