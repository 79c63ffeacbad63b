//! `muster record`: make a record, look after it, carry it elsewhere.

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
};

use anyhow::{Context as _, Result, bail};
use clap::Subcommand;
use muster::{
    keeper::{Device, Keys, NotOpened, Opened, sync},
    people::retention::traces,
    store::{
        Secrets, Store, backup,
        photos::Photos,
        sqlite::{DATABASE, SqliteStore},
        transfer::{self, Holdings},
    },
};
use muster_core::record::event::Entry;

use super::{
    BAD_INPUT, MAY_GO,
    door::Where,
    paper::{count, note},
    site::now,
};

/// What to do with a record.
#[derive(Debug, Subcommand)]
pub(crate) enum Record {
    /// Make one: its first owner, and a yard's folder if one is named
    New(super::record_new::New),
    /// Read everything and name what is damaged
    #[command(after_help = "Example: muster record check /srv/yard   (ends with 2 if anything is damaged)")]
    Check {
        /// Its folder
        folder: PathBuf,
    },
    /// Compute again all that is computed from the events
    Rebuild {
        /// Its folder
        folder: PathBuf,
    },
    /// Copy it whole into a new folder, while a server has it open too
    #[command(after_help = "Example: muster record backup /srv/yard /mnt/disk/yard-2026-11-24")]
    Backup {
        /// Its folder
        folder: PathBuf,
        /// A folder that does not exist yet
        to: PathBuf,
    },
    /// Make a folder from a backup, every byte compared
    Restore {
        /// The backup
        from: PathBuf,
        /// A folder that does not exist yet
        to: PathBuf,
    },
    /// Write it as JSON Lines with its photos, readable by anything
    Export {
        /// Its folder
        folder: PathBuf,
        /// A folder that does not exist yet
        to: PathBuf,
        /// With the keys that open what concerns single people: keep it as you keep those
        #[arg(long)]
        keys: bool,
    },
    /// Take in an export; what is held already stays as it is
    Import {
        /// The export
        from: PathBuf,
        /// The record's folder, made if it is not there
        folder: PathBuf,
    },
    /// Bring a folder's record and a server's to hold the same
    #[command(after_help = "Example: muster record sync yard --server https://yard.local:7070")]
    Sync {
        /// Its folder, made if it is not there
        folder: PathBuf,
        /// The server
        #[command(flatten)]
        place: Where,
    },
    /// Let go what the house rule on names and photos lets go; what touches an impounded machine stays
    #[command(after_help = "Example: muster record retain --record /srv/yard --dry-run\n\n\
        Names and photos do not come back. How long they are kept stands in house.toml, under [retention].")]
    Retain {
        /// Which record, and who asks
        #[command(flatten)]
        place: Where,
        /// Say what would go, and change nothing
        #[arg(long)]
        dry_run: bool,
    },
    /// Print its events, one a line, oldest first
    Log {
        /// Its folder
        folder: PathBuf,
        /// Behind this number
        #[arg(long, default_value_t = 0)]
        after: u64,
        /// Only events of this machine
        #[arg(long, value_name = "ID")]
        machine: Option<String>,
    },
}

/// Does it.
///
/// # Errors
/// A folder that cannot be used; what is damaged is said and is no error of this.
pub(crate) fn run(what: &Record) -> Result<u8> {
    match what {
        Record::New(asked) => super::record_new::run(asked),
        Record::Check { folder } => check(folder),
        Record::Rebuild { folder } => {
            Opened::existing(folder)?.store.rebuild()?;
            note("computed again from the events");
            Ok(MAY_GO)
        }
        Record::Backup { folder, to } => {
            let made = backup::make(&reading(folder)?, &Photos::of_store(folder), to, now())?;
            for photo in &made.damaged {
                note(&format!("photo {} was damaged before and is in the backup as it is", photo.as_str()));
            }
            for folder in &made.leftovers.swept {
                note(&format!("{} was left by a backup that was killed: removed", folder.display()));
            }
            for folder in &made.leftovers.left {
                note(&format!("{} is unfinished: if no backup runs, remove it; it holds names", folder.display()));
            }
            note(&format!("{} in {}", events(made.manifest.events), to.display()));
            Ok(if made.damaged.is_empty() { MAY_GO } else { BAD_INPUT })
        }
        Record::Restore { from, to } => {
            let manifest = backup::restore(from, to)?;
            note(&format!("{}, as of {}", events(manifest.events), manifest.written));
            Ok(MAY_GO)
        }
        Record::Export { folder, to, keys } => export(folder, to, *keys),
        Record::Import { from, folder } => import(from, folder),
        Record::Sync { folder, place } => exchange(folder, place),
        Record::Retain { place, dry_run } => super::record_retain::run(place, *dry_run),
        Record::Log { folder, after, machine } => log(folder, *after, machine.as_deref()),
    }
}

fn reading(folder: &Path) -> Result<SqliteStore> {
    if !folder.join(DATABASE).is_file() {
        return Err(NotOpened::Missing(folder.to_path_buf()).into());
    }
    Ok(SqliteStore::open_read_only(folder)?)
}

fn check(folder: &Path) -> Result<u8> {
    let store = reading(folder)?;
    let mut faults: Vec<String> = store.check()?.iter().map(ToString::to_string).collect();
    let photos = Photos::of_store(folder);
    faults.extend(photos.check()?.iter().map(|photo| format!("photo {}: damaged", photo.as_str())));
    // Events that cannot be read were named already; which photos they name cannot be said then.
    if faults.is_empty() {
        let missing = missing(&store, &photos)?;
        missing.notes.iter().for_each(|text| note(text));
        faults.extend(missing.lost);
    }
    for fault in &faults {
        println!("{fault}");
    }
    if faults.is_empty() {
        note(&format!("{}: nothing is damaged", events(store.count()?)));
        return Ok(MAY_GO);
    }
    note(&format!(
        "{}: keep the folder as it is, and restore the last backup beside it",
        count(faults.len(), "fault", "faults")
    ));
    Ok(BAD_INPUT)
}

/// Photos that events name and whose bytes are not here.
#[derive(Default)]
struct Missing {
    /// Attached here, and gone.
    lost: Vec<String>,
    /// Removed by the house rule, or never sent here.
    notes: Vec<String>,
}

fn missing(store: &SqliteStore, photos: &Photos) -> Result<Missing> {
    let own = store.own_key()?.map(|key| Device::of_seed(&key).id());
    let held: BTreeSet<String> = photos.list()?.iter().map(ToString::to_string).collect();
    let traces = traces(store)?;
    let mut missing = Missing::default();
    for (sha256, attached) in traces.photos() {
        let removed: Option<Vec<_>> = attached.iter().map(|of| traces.removed(of)).collect();
        let last = removed.and_then(|moments| moments.into_iter().max());
        match (held.contains(sha256), last) {
            (true, None) => {}
            (true, Some(on)) => missing.notes.push(format!(
                "photo {sha256}: removed by retention on {}, and here again: `muster record retain` removes it",
                on.date()
            )),
            (false, Some(on)) => missing.notes.push(format!("photo {sha256}: removed by retention on {}", on.date())),
            (false, None) => {
                let events: Vec<String> = attached.iter().map(|of| of.event.to_string()).collect();
                let events = events.join(", ");
                match attached.iter().any(|of| Some(of.event.device) == own) {
                    true => missing.lost.push(format!("photo {sha256}: lost (attached by {events})")),
                    false => missing.notes.push(format!("photo {sha256}: not sent here (attached by {events})")),
                }
            }
        }
    }
    Ok(missing)
}

fn export(folder: &Path, to: &Path, keys: bool) -> Result<u8> {
    let (store, photos) = (reading(folder)?, Photos::of_store(folder));
    let secrets = keys.then_some(&store as &dyn Secrets);
    let exported = transfer::export(Holdings { store: &store, secrets, photos: &photos }, to)?;
    for photo in &exported.damaged {
        note(&format!("photo {} is damaged and left out", photo.as_str()));
    }
    note(&format!("{} in {}", events(exported.header.events), to.display()));
    Ok(if exported.damaged.is_empty() { MAY_GO } else { BAD_INPUT })
}

fn import(from: &Path, folder: &Path) -> Result<u8> {
    let opened = Opened::made(folder)?;
    let mut keys = Keys::of(&opened.keeper.known().state);
    let file = from.join(transfer::EVENTS);
    keys.read(&file).with_context(|| format!("cannot read {}", file.display()))?;
    let here = Holdings { store: &*opened.store, secrets: Some(&*opened.store), photos: &opened.photos };
    let done = transfer::import(from, here, &mut |signed, entry| keys.admit(signed, entry))?;
    for refused in &done.refused {
        println!("{refused}");
    }
    note(&format!("{} new, {} held before", events(done.new), done.held));
    Ok(if done.refused.is_empty() { MAY_GO } else { BAD_INPUT })
}

fn exchange(folder: &Path, place: &Where) -> Result<u8> {
    if place.server.is_none() {
        bail!("say which server: --server URL");
    }
    let opened = Opened::made(folder)?;
    let door = place.open()?;
    let synced = sync(&opened.keeper, &|method, path, body| door.ask(method, path, body)?.json())?;
    for why in &synced.refused {
        println!("{why}");
    }
    note(&format!("{} sent, {} got", synced.sent, synced.got));
    Ok(if synced.refused.is_empty() { MAY_GO } else { BAD_INPUT })
}

fn log(folder: &Path, after: u64, machine: Option<&str>) -> Result<u8> {
    use muster_core::record::payload::Subject;
    let store = reading(folder)?;
    let mut arrival = after;
    loop {
        let found = store.since(arrival, 500)?;
        let Some(last) = found.last() else { return Ok(MAY_GO) };
        arrival = last.arrival;
        for stored in found {
            let event = Entry::read(&stored.signed.event).ok().and_then(|entry| entry.event);
            let about = event.as_ref().map(|event| event.payload.subject());
            let is_asked = machine.is_none_or(|asked| matches!(&about, Some(Subject::Machine(id)) if id == asked));
            if is_asked {
                println!("{}", stored.signed.event);
            }
        }
    }
}

fn events(number: u64) -> String {
    count(usize::try_from(number).unwrap_or(usize::MAX), "event", "events")
}
