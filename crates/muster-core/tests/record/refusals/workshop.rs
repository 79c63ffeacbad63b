//! Workshop work: jobs, parts, photos, what was written in error.

use muster_core::record::{decide::Command, payload::*};

use super::{super::kit::NOW, Cases, Met, machine, mounted, strange};

pub(super) fn of_work(cases: &mut Cases<'_>) {
    let Met { finding, job, part, answer, .. } = *cases.met;
    let opened = |kind: &str| JobOpened {
        machine: machine(),
        job: kind.into(),
        why: "due".into(),
        findings: Vec::new(),
        tags: Vec::new(),
        planned: None,
    };
    let moved = |from, to| JobMoved { machine: machine(), job, from, to, note: None, ended: Vec::new(), planned: None };
    cases.of("an unknown kind of job", "d-fenwick", opened("polish"));
    cases.of("a kind of job that asks nothing here", "d-fenwick", opened("belt"));
    cases.of(
        "a job for a finding that is not open",
        "d-fenwick",
        JobOpened { findings: vec![strange()], ..opened("levers") },
    );
    cases.of("a job for a tag that does not hang", "d-fenwick", JobOpened { tags: vec![finding], ..opened("levers") });
    cases.of("a job from a stale state", "d-fenwick", moved(strange(), JobState::Done));
    cases.of("a job proven by hand", "d-fenwick", moved(job, JobState::Proven));
    cases.of("an unknown job", "d-fenwick", JobMoved { job: strange(), ..moved(job, JobState::Done) });
    let prove = || Command::Prove { machine: machine(), job };
    cases.command("a job proven before it is done", "d-fenwick", prove());
    cases.after(
        "a job without its readings",
        "d-fenwick",
        |device| _ = device.put("d-fenwick", NOW, moved(job, JobState::Done)).unwrap(),
        prove(),
    );
    cases.of("a part mounted over another unawares", "d-fenwick", mounted(None, None));
    cases.of("a part mounted tomorrow", "d-fenwick", mounted(Some("2026-11-25"), Some(part)));
    cases.of("a part mounted on no day", "d-fenwick", mounted(Some("yesterday"), Some(part)));
    let today = PartMounted { odometer: Some("12 km".into()), ..mounted(Some("2026-11-24"), Some(part)) };
    cases.of("a part mounted at an odometer that runs backwards", "d-fenwick", today);
    let removed = || PartRemoved { machine: machine(), mounted: part, odometer: None, why: "worn".into() };
    cases.of("an unknown part", "d-fenwick", PartRemoved { mounted: strange(), ..removed() });
    cases.after(
        "a part taken off twice",
        "d-fenwick",
        |device| _ = device.put("d-fenwick", NOW, removed()).unwrap(),
        Command::Write(removed().into()),
    );
    cases.of(
        "a photo without its hash",
        "m-okafor",
        PhotoAttached { machine: machine(), of: None, sha256: "f00".into(), bytes: 3 },
    );
    let remove = |photo| Command::RemovePhoto { machine: machine(), photo, why: "kept 2 years".into() };
    cases.command("an unknown photo removed", "p-owner", remove(strange()));
    cases.of("an answer withdrawn", "m-okafor", Withdrawn { machine: machine(), event: answer, why: "wrong".into() });
}
