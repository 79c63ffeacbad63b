//! Letting out and keeping in: releases, tags, calls, service states, impounding.

use muster_core::{
    record::{
        decide::{Command, ReleaseAsked},
        payload::*,
    },
    words::{Class, Seen, Service, Use, Uses},
};

use super::{
    super::{
        kit::{Device, Known, NOW, moment, person},
        out::asked,
        story::{opened, raised, released, saw},
    },
    Cases, MACHINE, Met, machine, mounted, strange,
};

fn lift(device: &mut Device, met: &Met) {
    let (lifts, knew) = (vec![met.tag], Some(met.tag));
    device.write("p-owner", NOW, Untagged { machine: machine(), lifts, reason: "mended".into(), knew });
}

fn make_fit(device: &mut Device, met: &Met) {
    lift(device, met);
    let (finding, how) = (met.finding, "looked".into());
    device.put("m-okafor", NOW, FindingClosed { machine: machine(), finding, how }).unwrap();
}

fn state(state: Service, replaces: Option<muster_core::record::id::EventId>, why: Option<&str>) -> ServiceChanged {
    ServiceChanged { machine: machine(), state, why: why.map(String::from), replaces }
}

pub(super) fn of_verdicts(cases: &mut Cases<'_>) {
    let finding = cases.met.finding;
    let met = cases.met;
    let release = |one, reason| Command::Release(asked(MACHINE, one, reason));
    let lifted = |device: &mut Device| lift(device, met);
    cases.command("a release under a tag", "p-owner", release(Use::Range, None));
    cases.after("a release by one without the right", "m-okafor", lifted, release(Use::Range, None));
    cases.after("a release without a reason", "p-owner", lifted, release(Use::Range, None));
    cases.after(
        "a release by the finder",
        "t-abara",
        |device| {
            lift(device, met);
            device.put("t-abara", NOW, raised(MACHINE, "bent", Class::Major)).unwrap();
            device.put("m-okafor", NOW, FindingClosed { machine: machine(), finding, how: "looked".into() }).unwrap();
        },
        release(Use::Range, Some("to the wash bay")),
    );
    cases.after("a release over law on the road", "p-owner", lifted, release(Use::Road, Some("urgent")));
    cases.after(
        "a release over danger on the road",
        "p-owner",
        |device| {
            make_fit(device, met);
            // Law says nothing of what was not looked at; danger does.
            let walk_round = device.put("m-okafor", NOW, opened(MACHINE)).unwrap();
            device.put("m-okafor", NOW, saw(MACHINE, walk_round, "throttle.return", Seen::Doubtful)).unwrap();
        },
        release(Use::Road, Some("urgent")),
    );
}

pub(super) fn of_releases(cases: &mut Cases<'_>) {
    let met = cases.met;
    let release = |one, reason| Command::Release(asked(MACHINE, one, reason));
    let fit = |device: &mut Device| make_fit(device, met);
    let with = |change: &dyn Fn(&mut ReleaseAsked)| {
        let mut of = asked(MACHINE, Use::Range, Some("to the wash bay"));
        change(&mut of);
        Command::Release(of)
    };
    cases.after("a release for no use", "m-okafor", fit, with(&|of| of.uses = Uses::NONE));
    cases.after("a release for no outing", "m-okafor", fit, with(&|of| of.outing = " ".into()));
    cases.after("a release that ends before it begins", "m-okafor", fit, with(&|of| of.to = of.from));
    cases.after(
        "a release beyond the return judged for",
        "m-okafor",
        fit,
        with(&|of| of.to = moment("2026-11-26T00:00:00+00:00")),
    );
    cases.after("a release for nobody known", "m-okafor", fit, with(&|of| of.riders = vec![person("p-nobody")]));
    cases.after(
        "a release of a machine on loan",
        "p-owner",
        |device| {
            make_fit(device, met);
            device.put("p-owner", NOW, state(Service::OnLoan, None, None)).unwrap();
        },
        release(Use::Range, None),
    );
    let out = |device: &mut Device| {
        make_fit(device, met);
        device.write("p-owner", NOW, released(MACHINE, None));
    };
    cases.after("a release of a machine that is out", "m-okafor", out, release(Use::Range, None));
    let known = unjudged(cases.met);
    cases
        .out
        .push(("a release that was not judged", known.decide("m-okafor", NOW, release(Use::Range, None)).unwrap_err()));
    cases.of(
        "a return of nothing",
        "m-okafor",
        Returned { machine: machine(), release: strange(), odometer: None, fuel: None, damage: None, key_back: true },
    );
}

pub(super) fn of_tags(cases: &mut Cases<'_>) {
    let tag = cases.met.tag;
    let untag = |lifts, reason: &str| Command::Untag { machine: machine(), lifts, reason: reason.into() };
    cases.command("an untagging that names no tag", "p-owner", untag(Vec::new(), "mended"));
    cases.command("an untagging of a tag that does not hang", "p-owner", untag(vec![strange()], "mended"));
    cases.command("an untagging without a reason", "p-owner", untag(vec![tag], " "));
    cases.command("an instructor lifting another's tag", "t-abara", untag(vec![tag], "mended"));
    cases.numbered("a tag whose number hangs elsewhere", "m-okafor", "0087", "H-07");
    cases.command(
        "a tag without a reason",
        "m-okafor",
        Command::Tag { machine: machine(), why: String::new(), number: None },
    );
    cases.command(
        "a tag on no machine",
        "m-okafor",
        Command::Tag { machine: "H-99".into(), why: "bent".into(), number: None },
    );
    cases.of(
        "a call about nothing",
        "m-okafor",
        CallNoted { machine: machine(), tag, release: strange(), answer: "yes".into() },
    );
    cases.of(
        "a settling of nothing",
        "m-okafor",
        Settled { machine: machine(), events: vec![tag], how: "asked".into() },
    );
    cases.of("a service state changed unawares", "p-owner", state(Service::Away, Some(tag), None));
    cases.of("impounded by service state", "p-owner", state(Service::Impounded, None, Some("crash")));
    let impound = || Command::Impound { machine: machine(), why: "crash".into() };
    let impounded = |device: &mut Device| _ = device.ask("m-okafor", NOW, MACHINE, impound()).unwrap();
    cases.after("impounded twice", "m-okafor", impounded, impound());
    cases.after("a repair of an impounded machine", "p-owner", impounded, Command::Write(mounted(None, None).into()));
    cases.of("a release by hand", "p-owner", released(MACHINE, None));
}

/// What is known, but that nobody judged.
fn unjudged(met: &Met) -> Known {
    let mut device = met.device.clone();
    let lifting = Untagged { machine: machine(), lifts: vec![met.tag], reason: "mended".into(), knew: None };
    device.write("p-owner", NOW, lifting);
    Known { judged: None, ..device.known(MACHINE, NOW) }
}
