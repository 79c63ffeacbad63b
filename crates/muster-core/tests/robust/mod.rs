//! Whatever is typed or damaged: nothing panics, what is wrong is said with its place, and the rest still counts.

use std::{collections::BTreeMap, fs, path::Path, sync::LazyLock};

use muster_core::{
    answer_json,
    calendar::Moment,
    catalogue::Catalogue,
    data,
    form::Form,
    formula::{tyre_date::TyreDate, vin::Vin},
    judge::{Context, Judgement, Outcome, Verdict, implausible, judge},
    load::Problem,
    quantity::{
        Kind,
        text::{DecimalSign, read},
    },
    yard::Yard,
};
use proptest::{prelude::*, sample::Index};

type Texts = BTreeMap<String, String>;

static CATALOGUE: LazyLock<Catalogue> = LazyLock::new(|| data::catalogue().expect("the catalogue has nothing wrong"));
static TEXTS: LazyLock<Texts> = LazyLock::new(demonstration);
static YARD: LazyLock<Yard> = LazyLock::new(|| Yard::load(&yard_files(), &CATALOGUE).0);

fn demonstration() -> Texts {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data/demo/harrow-lane");
    let mut texts = Texts::new();
    for folder in ["", "sheets", "machines", "forms"] {
        for entry in fs::read_dir(root.join(folder)).expect("the demonstration is there") {
            let path = entry.expect("an entry can be read").path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                let name = path.strip_prefix(&root).expect("it lies below").to_string_lossy().replace('\\', "/");
                texts.insert(name, fs::read_to_string(&path).expect("a text"));
            }
        }
    }
    texts
}

fn yard_files() -> Vec<(&'static str, &'static str)> {
    let files = TEXTS.iter().filter(|(name, _)| !name.starts_with("forms/"));
    files.map(|(name, text)| (name.as_str(), text.as_str())).collect()
}

fn forms() -> Vec<(&'static str, &'static str)> {
    let files = TEXTS.iter().filter(|(name, _)| name.starts_with("forms/"));
    files.map(|(name, text)| (name.as_str(), text.as_str())).collect()
}

/// One way in which a file is damaged.
#[derive(Clone, Debug)]
enum Damage {
    Byte(Index, u8),
    Cut(Index),
    Remove(Index, usize),
    Insert(Index, String),
    RepeatLine(Index),
    DropLine(Index),
    SwapLines(Index, Index),
}

fn damage() -> impl Strategy<Value = Damage> {
    let place = any::<Index>;
    prop_oneof![
        (place(), any::<u8>()).prop_map(|(at, byte)| Damage::Byte(at, byte)),
        place().prop_map(Damage::Cut),
        (place(), 1..40_usize).prop_map(|(at, count)| Damage::Remove(at, count)),
        (place(), r#"[\[\]{}"'=,\n\\0-9a-z−° ]{1,8}"#).prop_map(|(at, text)| Damage::Insert(at, text)),
        place().prop_map(Damage::RepeatLine),
        place().prop_map(Damage::DropLine),
        (place(), place()).prop_map(|(a, b)| Damage::SwapLines(a, b)),
    ]
}

/// A text with each damage done to it in turn; what is no longer UTF-8 is replaced as a shell would not, to go on.
fn damaged(text: &str, all: &[Damage]) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for damage in all.iter().filter(|_| !text.is_empty()) {
        if bytes.is_empty() {
            break;
        }
        let length = bytes.len();
        match damage {
            Damage::Byte(at, byte) => bytes[at.index(length)] = *byte,
            Damage::Cut(at) => bytes.truncate(at.index(length)),
            Damage::Remove(at, count) => {
                let from = at.index(length);
                bytes.drain(from..length.min(from + count));
            }
            Damage::Insert(at, text) => {
                let from = at.index(length);
                bytes.splice(from..from, text.bytes());
            }
            Damage::RepeatLine(at) => {
                lines(&mut bytes, |lines| lines.insert(at.index(lines.len()), lines[at.index(lines.len())].clone()));
            }
            Damage::DropLine(at) => lines(&mut bytes, |lines| drop(lines.remove(at.index(lines.len())))),
            Damage::SwapLines(a, b) => lines(&mut bytes, |lines| {
                let (a, b) = (a.index(lines.len()), b.index(lines.len()));
                lines.swap(a, b);
            }),
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

fn lines(bytes: &mut Vec<u8>, change: impl FnOnce(&mut Vec<Vec<u8>>)) {
    let mut lines: Vec<Vec<u8>> = bytes.split_inclusive(|byte| *byte == b'\n').map(<[u8]>::to_vec).collect();
    change(&mut lines);
    *bytes = lines.concat();
}

/// Each problem names its file, a line of it, and what is wrong in words.
fn well_said(problems: &[Problem], file: &str, text: &str) {
    let last = text.bytes().filter(|byte| *byte == b'\n').count() + 1;
    for problem in problems {
        assert_eq!(problem.file, file, "{problem}");
        assert!((1..=last).contains(&problem.line), "{problem}: the file has {last} lines");
        assert!(!problem.what.trim().is_empty(), "{problem}");
    }
}

fn judged(form: &Form) -> Judgement {
    let now = YARD.on.expect("the demonstration has its moment");
    let now = if form.opened > now { form.opened } else { now };
    let context = Context::of(&CATALOGUE, &YARD, &form.machine, now).expect("a form names a machine of the yard");
    let _ = implausible(&context, "form", form, &[]);
    judge(&context, &[form])
}

/// A form is judged, or it is said why not; what was wrong has its line.
fn judged_or_said(name: &str, text: &str) {
    let (form, problems) = Form::load(name, text, &CATALOGUE, &YARD);
    well_said(&problems, name, text);
    match form {
        Some(form) => {
            let judgement = judged(&form);
            assert!(judgement.to_json().is_ok());
            assert!(judgement.uses.iter().all(|one| !one.outcomes.is_empty() || one.verdict == Verdict::Unseen));
        }
        None => assert!(!problems.is_empty(), "neither a form nor a problem"),
    }
}

proptest! {
    #[test]
    fn any_text_is_a_figure_or_refused(text in r"\PC{0,40}|[0-9 ./,+−-]{0,12} ?(psi|bar|kPa|mm|in|km|°C|F|%|/min|V)?") {
        for kind in Kind::ALL {
            for sign in [DecimalSign::Point, DecimalSign::Comma] {
                match read(kind, &text, sign) {
                    Ok(amount) => {
                        let (least, most) = kind.range();
                        let (value, slack) = (amount.in_unit(kind.range_unit()), 1e-9 * (most - least));
                        prop_assert!((least - slack..=most + slack).contains(&value), "{kind:?} {value}");
                    }
                    Err(refusal) => prop_assert!(!refusal.to_string().is_empty()),
                }
            }
        }
    }

    #[test]
    fn any_text_is_a_number_plate_a_code_a_moment_or_refused(text in r"\PC{0,30}|[0-9A-Z -]{0,24}") {
        if let Err(refusal) = Vin::parse(&text) {
            prop_assert!(!refusal.to_string().is_empty());
        }
        if let Err(refusal) = TyreDate::parse(&text) {
            prop_assert!(!refusal.to_string().is_empty());
        }
        if let Err(refusal) = Moment::parse(&text) {
            prop_assert!(!refusal.to_string().is_empty());
        }
    }

    #[test]
    fn any_text_is_a_form_or_refused(text in r"(\PC|[\n\t\[\]{}=]){0,200}") {
        judged_or_said("form.toml", &text);
    }

    #[test]
    fn any_question_is_answered(text in r#"(\PC|[\[\]{}":,]){0,120}"#) {
        let answer = answer_json(&text);
        prop_assert!(answer.starts_with("{\"judgement\":null,\"problems\":[\""), "{answer}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_damaged_form_is_judged_or_said_why_not(
        which in any::<Index>(), damages in prop::collection::vec(damage(), 1..6),
    ) {
        let forms = forms();
        let (name, text) = forms[which.index(forms.len())];
        judged_or_said(name, &damaged(text, &damages));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn a_damaged_yard_is_judged_as_far_as_it_goes(
        which in any::<Index>(), damages in prop::collection::vec(damage(), 1..6),
    ) {
        let mut files = yard_files();
        let at = which.index(files.len());
        let text = damaged(files[at].1, &damages);
        let changed = text != files[at].1;
        files[at].1 = &text;
        let (yard, problems) = Yard::load(&files, &CATALOGUE);
        for problem in &problems {
            prop_assert!(files.iter().any(|(name, _)| *name == problem.file), "{problem}");
            prop_assert!(!problem.what.is_empty());
        }
        prop_assert!(changed || problems.is_empty());
        let now = YARD.on.expect("the demonstration has its moment");
        for machine in yard.machines.keys() {
            let context = Context::of(&CATALOGUE, &yard, machine, now);
            prop_assert!(context.is_some(), "{machine} has no sheet");
            prop_assert!(context.is_none_or(|context| judge(&context, &[]).to_json().is_ok()));
        }
    }

    #[test]
    fn a_damaged_catalogue_is_whole_or_refused(
        which in any::<Index>(), damages in prop::collection::vec(damage(), 1..4),
    ) {
        let mut files = data::FILES.to_vec();
        let at = which.index(files.len());
        let text = damaged(files[at].1, &damages);
        files[at].1 = &text;
        if let Err(problems) = Catalogue::load(&files) {
            prop_assert!(!problems.is_empty() && problems.iter().all(|problem| !problem.what.is_empty()));
        }
    }
}

/// How a row of a form can be spoilt that leaves it a row.
const SPOILT: &[(&str, &str)] = &[
    ("saw = \"", "saw = \"x"),
    ("read = \"", "read = \"x"),
    ("read = { ", "read = { nowhere = \"1 mm\", "),
    ("saw = { ", "saw = { nowhere = \"sound\", "),
    ("check = ", "surprise = 1, check = "),
    ("check = ", "by = 7, check = "),
    ("check = ", "at = \"noon\", check = "),
    ("saw = ", "seen = "),
    ("read = ", "reads = "),
];

/// Outcomes by use and check: several of one check would be findings, which have their own names.
fn outcomes(judgement: &Judgement) -> BTreeMap<(String, String), &Outcome> {
    let all = judgement.uses.iter().flat_map(|one| one.outcomes.iter().map(move |outcome| (one.one, outcome)));
    all.map(|(one, outcome)| ((one.to_string(), outcome.check.clone()), outcome)).collect()
}

#[test]
fn a_spoilt_row_leaves_its_check_unseen_and_all_others_as_they_were() {
    let mut spoilt_rows = 0;
    for (name, text) in forms() {
        let (form, problems) = Form::load(name, text, &CATALOGUE, &YARD);
        let form = form.unwrap_or_else(|| panic!("{name}: {problems:?}"));
        let (sound, as_it_was) = (judged(&form), form.answers.clone());
        for (line, row) in text.lines().enumerate() {
            let Some(check) = row.split("check = \"").nth(1).and_then(|rest| rest.split('"').next()) else { continue };
            // A tyre's code is read from its end: what stands before it is the maker's.
            let code = check.ends_with(".age");
            let once = as_it_was.iter().filter(|answer| answer.check == check).count() == 1;
            let is_row = once && row.trim_start().starts_with("{ check");
            let spoils = |from: &str| is_row && row.contains(from) && !(code && from == "read = \"");
            // Each way takes its turn: all of them at every row take half a minute unoptimised.
            let ways = SPOILT.iter().enumerate().filter(|(turn, _)| (turn + line) % 4 == 0).map(|(_, way)| way);
            for (from, to) in ways.filter(|(from, _)| spoils(from)) {
                let spoilt: Vec<String> = text
                    .lines()
                    .enumerate()
                    .map(|(at, text)| if at == line { text.replacen(from, to, 1) } else { text.to_string() })
                    .collect();
                let text = spoilt.join("\n") + "\n";
                let (form, problems) = Form::load(name, &text, &CATALOGUE, &YARD);
                assert!(
                    problems.iter().any(|problem| problem.line == line + 1),
                    "{name}:{}: {to}: {problems:?}",
                    line + 1
                );
                let judgement = judged(&form.expect("the rest can be read"));
                let (before, after) = (outcomes(&sound), outcomes(&judgement));
                for (key, outcome) in &before {
                    if key.1 != check {
                        assert_eq!(after.get(key), Some(outcome), "{name}: {check} spoilt by {to}");
                    }
                }
                for (key, outcome) in after.iter().filter(|(key, _)| key.1 == check) {
                    assert_eq!(outcome.verdict, Verdict::Unseen, "{name}: {key:?} spoilt by {to}");
                    assert!(before.contains_key(key));
                }
                spoilt_rows += 1;
            }
        }
    }
    assert!(spoilt_rows > 500, "{spoilt_rows}");
}
