//! `muster paper` from a record, and `muster verify` of what it printed.

use std::{
    fs,
    path::Path,
    process::{Command, Output},
};

use super::kit::Place;

pub(super) fn muster(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_muster"))
        .args(arguments)
        .args(["--as", "p-owner", "--record"])
        .arg(folder)
        .current_dir(folder)
        .output()
        .unwrap()
}

pub(super) fn said(output: &Output) -> String {
    [&output.stdout, &output.stderr].map(|bytes| String::from_utf8_lossy(bytes).into_owned()).concat()
}

#[test]
fn a_file_is_known_again_by_the_command_and_a_changed_one_or_a_draft_is_not() {
    let Place { opened, _folder: folder } = Place::of_the_yard();
    // One program at a time opens a record.
    drop(opened);
    let folder = folder.path();
    let printed = muster(folder, &["paper", "dossier", "H-07", "--out", "dossier.pdf"]);
    assert!(printed.status.success(), "{}", said(&printed));
    assert!(said(&printed).contains("written down as"), "{}", said(&printed));
    let known = muster(folder, &["verify", "dossier.pdf"]);
    assert_eq!(known.status.code(), Some(0), "{}", said(&known));
    for words in ["genuine", "dossier of H-07, a4", "the yard's files", "It does not say that the paper is the newest"]
    {
        assert!(said(&known).contains(words), "`{words}` is missing: {}", said(&known));
    }
    let mut bytes = fs::read(folder.join("dossier.pdf")).unwrap();
    let last = bytes.len() - 1;
    bytes[last] ^= 1;
    fs::write(folder.join("changed.pdf"), bytes).unwrap();
    let changed = muster(folder, &["verify", "changed.pdf"]);
    assert_eq!(changed.status.code(), Some(1), "{}", said(&changed));
    assert!(said(&changed).contains("not known"), "{}", said(&changed));
    let draft = muster(folder, &["paper", "tag", "--number", "88", "--draft", "--out", "draft.pdf"]);
    assert!(draft.status.success(), "{}", said(&draft));
    assert_eq!(muster(folder, &["verify", "draft.pdf"]).status.code(), Some(1));
    let again = muster(folder, &["paper", "tag", "--number", "87", "--out", "tag.pdf"]);
    assert!(again.status.success(), "{}", said(&again));
    assert!(said(&muster(folder, &["verify", "tag.pdf"])).contains("tags 0087"));
}
