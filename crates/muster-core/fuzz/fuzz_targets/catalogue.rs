//! A file of the catalogue, each in turn: a catalogue, or a list of what is wrong in it.
#![no_main]

use libfuzzer_sys::fuzz_target;
use muster_core::{catalogue::Catalogue, data};

fuzz_target!(|input: (u8, &str)| {
    let mut files = data::FILES.to_vec();
    let at = usize::from(input.0) % files.len();
    files[at].1 = input.1;
    if let Err(problems) = Catalogue::load(&files) {
        assert!(!problems.is_empty());
        assert!(problems.iter().all(|problem| !problem.file.is_empty() && !problem.what.is_empty()));
    }
});
