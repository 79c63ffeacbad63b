//! An event's bytes: what is read is written back to the same bytes, under the same name and height.
#![no_main]

use libfuzzer_sys::fuzz_target;
use muster_core::record::event::Entry;

fuzz_target!(|bytes: &str| {
    let Ok(entry) = Entry::read(bytes) else { return };
    assert!(entry.id.seq > 0 && entry.height > 0);
    // One of a newer version is kept as it is.
    let Some(event) = entry.event else { return };
    assert_eq!(event.to_bytes().as_deref(), Ok(bytes));
    assert_eq!((event.id, event.height), (entry.id, entry.height));
});
