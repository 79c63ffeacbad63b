//! Prints in this process, from a yard's folder, a record's folder, or the demonstration; a record is told of it.

use std::{fs, path::Path, sync::Arc};

use anyhow::{Context as _, Result};
use muster::{
    keeper::{Keeper, Opened},
    printed::{self, Asked, Desk, NotPrinted, Printed, Record, Sheet, print},
};
use muster_core::{
    calendar::Moment,
    record::{decide, payload::Document},
    yard::Yard,
};

use super::{
    super::{
        arguments::Global,
        demonstration,
        paper::{count, note},
        site::{Site, hint},
    },
    On, written,
};

/// Where the demonstration's codes lead: a name nobody can own (RFC 2606).
const DEMO_ADDRESS: &str = "https://harrow-lane.example";

/// Prints, writes the file and, where there is a record, writes it down.
///
/// # Errors
/// As [`super::run`].
pub(super) fn run(global: &Global, asked: &Asked, on: &On) -> Result<u8> {
    let of_record = matches!(asked.document, Document::WalkRound | Document::Slip | Document::Dossier);
    match (&on.place.record, &global.yard) {
        (Some(folder), _) => from_record(global, asked, on, folder),
        (None, None) if of_record => {
            note("demo record: Harrow Lane Riding School; use --record DIR or --yard DIR for your own");
            let folder = tempfile::tempdir().context("cannot make a folder for the demonstration")?;
            let demo = demonstration::begin(folder.path())?;
            let now = global.on.unwrap_or(demo.on);
            let desk = Desk::of_record(record(&demo.opened), global.units, now)?;
            finished(&desk, asked, on, (Some(DEMO_ADDRESS), None)).map(|(code, _)| code)
        }
        (None, _) => {
            let site = Site::open(global)?;
            let (now, is_demo) = (site.now(), site.folder.is_none());
            let forms = site.forms.into_iter().filter_map(|filed| filed.form);
            let desk = Desk::of_files(site.catalogue, site.yard, forms, now);
            finished(&desk, asked, on, (is_demo.then_some(DEMO_ADDRESS), None)).map(|(code, _)| code)
        }
    }
}

/// From a record's folder: whoever prints is written down with it.
fn from_record(global: &Global, asked: &Asked, on: &On, folder: &Path) -> Result<u8> {
    let opened = Opened::existing(folder)?;
    let by = on.place.person(&opened)?;
    let now = global.on.unwrap_or_else(|| clock(&opened.keeper.known().yard));
    let desk = Desk::of_record(Record { by: Some(by.clone()), ..record(&opened) }, global.units, now)?;
    let (code, printed) = finished(&desk, asked, on, (None, Some(&opened.keeper)))?;
    if !on.draft {
        // Printed for another moment it is still printed now.
        let now = clock(&opened.keeper.known().yard);
        let issued = opened.keeper.act(decide::Command::Issue(printed.issued), &by, now);
        let events = issued.context("the file is written and not known to the record")?;
        events.iter().for_each(|event| note(&format!("written down as {event}: muster verify knows it again")));
    }
    Ok(code)
}

fn record(opened: &Opened) -> Record {
    Record { keeper: opened.keeper.clone(), photos: opened.photos.clone(), by: None }
}

/// Typesets the documents and writes their file, with the address and the mark asked for or else those there are.
fn finished(
    desk: &Desk,
    asked: &Asked,
    on: &On,
    (address, keeper): (Option<&str>, Option<&Arc<Keeper>>),
) -> Result<(u8, Printed)> {
    let mark = match &on.mark {
        Some(path) => Some(fs::read(path).with_context(|| format!("cannot read {}", path.display()))?),
        None => keeper.map(|keeper| printed::mark(keeper)).transpose()?.flatten(),
    };
    let sheet = Sheet { size: on.size, mark, address: on.address.clone().or_else(|| address.map(Into::into)) };
    let made = print(desk, asked, &sheet).map_err(|error| match error {
        NotPrinted::NoMachine(id) => {
            let known = hint(&id, desk.yard.machines.keys().map(String::as_str));
            anyhow::anyhow!("no machine `{id}` in {}{known}", desk.yard.name)
        }
        error => error.into(),
    })?;
    let pages = format!("{}, ", count(made.pages, "page", "pages"));
    let code = written(on, &made.name, &made.bytes, &pages)?;
    Ok((code, made))
}

/// Now, as the clocks of a yard show it.
fn clock(yard: &Yard) -> Moment {
    let now = jiff::Timestamp::now();
    let now = jiff::Timestamp::from_second(now.as_second()).unwrap_or(now);
    let zone = jiff::tz::TimeZone::get(&yard.time_zone).unwrap_or(jiff::tz::TimeZone::UTC);
    Moment::new(now, zone.to_offset(now))
}
