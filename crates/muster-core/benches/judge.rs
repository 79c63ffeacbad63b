//! How long it takes to judge: one reading, a walk-round of each demonstration machine, and a form from its text on.

use std::{collections::BTreeMap, fs, hint::black_box, path::Path};

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    form::Form,
    judge::{Asked, Context, Readings, judge, judge_value},
    state::{Heat, Power, Stance, State},
    statistics::{
        conformance::Window,
        repeats::{Accuracy, InstrumentError, Repeatability},
        student::DegreesOfFreedom,
        uncertainty::StandardUncertainty,
    },
    walk_round,
    words::{Depth, Use},
    yard::Yard,
};

type Texts = BTreeMap<String, String>;

const FOUND: State = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };

/// The texts of the demonstration yard and those of its forms.
fn demonstration() -> (Texts, Texts) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data/demo/harrow-lane");
    let mut texts = Texts::new();
    for folder in ["", "sheets", "machines", "forms"] {
        for entry in fs::read_dir(root.join(folder)).expect("the demonstration is there") {
            let path = entry.expect("an entry can be read").path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                let name = path.strip_prefix(&root).expect("it lies below").to_string_lossy().into_owned();
                texts.insert(name, fs::read_to_string(&path).expect("a text"));
            }
        }
    }
    texts.into_iter().partition(|(name, _)| !name.starts_with("forms/"))
}

fn yard(texts: &Texts, catalogue: &Catalogue) -> Yard {
    let files: Vec<_> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let (yard, problems) = Yard::load(&files, catalogue);
    assert!(problems.is_empty(), "{problems:#?}");
    yard
}

fn forms(texts: &Texts, catalogue: &Catalogue, yard: &Yard) -> Vec<Form> {
    texts.iter().filter_map(|(name, text)| Form::load(name, text, catalogue, yard).0).collect()
}

/// Three repeats of a tread depth against its floor, close enough for every step to count.
fn reading(criterion: &mut Criterion) {
    let catalogue = data::catalogue().expect("the catalogue has nothing wrong");
    let deviation = StandardUncertainty::new(0.05).expect("above zero");
    let degrees = DegreesOfFreedom::new(10.0).expect("above zero");
    let readings = Readings {
        values: &[1.7, 1.8, 1.9],
        error: InstrumentError::new(0.1, Accuracy::HalfWidth(0.1)).expect("above zero"),
        repeatability: Some(Repeatability::new(deviation, degrees)),
    };
    let one = Readings { values: &[1.8], ..readings };
    let window = Window::at_least(1.6).expect("finite");
    let between = Window::within(1.6, 2.0).expect("in order");
    let class = muster_core::words::Class::Major;
    let asked = Asked { class, thresholds: &catalogue.rule.verdict };
    let mut group = criterion.benchmark_group("reading");
    group.throughput(Throughput::Elements(1));
    for (name, window, readings) in [
        ("read once, one bound", window, one),
        ("read three times, one bound", window, readings),
        ("read three times, two bounds", between, readings),
    ] {
        group.bench_function(name, |bencher| {
            bencher.iter(|| judge_value(black_box(window), black_box(&readings), black_box(asked)));
        });
    }
    group.finish();
}

/// Every machine of the demonstration, before a ride and in full.
fn walk_rounds(criterion: &mut Criterion) {
    let catalogue = data::catalogue().expect("the catalogue has nothing wrong");
    let (yard_texts, form_texts) = demonstration();
    let yard = yard(&yard_texts, &catalogue);
    let forms = forms(&form_texts, &catalogue, &yard);
    let now = yard.on.expect("the demonstration has its moment");
    for (name, depth, one) in [
        ("walk-round before a ride, range", Depth::BeforeRide, Use::Range),
        ("walk-round before a ride, road", Depth::BeforeRide, Use::Road),
        ("walk-round in full", Depth::Full, Use::Road),
    ] {
        let mut group = criterion.benchmark_group(name);
        group.sample_size(20).warm_up_time(std::time::Duration::from_millis(300));
        group.measurement_time(std::time::Duration::from_millis(700));
        for machine in yard.machines.keys() {
            let context = Context::of(&catalogue, &yard, machine, now).expect("the yard has it");
            // Nothing answered yet: every check that applies has lapsed, the largest walk-round there is.
            let none: [&Form; 0] = [];
            group.bench_function(BenchmarkId::from_parameter(machine), |bencher| {
                bencher.iter(|| walk_round::plan(&context, black_box(&none), depth, one, FOUND));
            });
        }
        group.finish();
    }
    let mine: Vec<&Form> = forms.iter().filter(|form| form.machine == "H-15").collect();
    let context = Context::of(&catalogue, &yard, "H-15", now).expect("the yard has it");
    criterion.bench_function("judge one machine, its forms loaded", |bencher| {
        bencher.iter(|| judge(&context, black_box(&mine)));
    });
}

/// From the texts to the verdict, as a command does it: nothing is kept from one run to the next.
fn from_texts(criterion: &mut Criterion) {
    let (yard_texts, form_texts) = demonstration();
    let full = "forms/h-15-2026-11-12-full.toml";
    let text = form_texts.get(full).expect("the demonstration has this form");
    let now = Moment::parse("2026-11-12T18:00:00+00:00").expect("a moment");
    let catalogue = data::catalogue().expect("the catalogue has nothing wrong");
    let loaded = yard(&yard_texts, &catalogue);
    criterion.bench_function("load the catalogue", |bencher| bencher.iter(data::catalogue));
    criterion.bench_function("load the yard", |bencher| bencher.iter(|| yard(black_box(&yard_texts), &catalogue)));
    criterion.bench_function("load a full form", |bencher| {
        bencher.iter(|| Form::load(full, black_box(text), &catalogue, &loaded));
    });
    criterion.bench_function("start to verdict on a full form", |bencher| {
        bencher.iter(|| {
            let catalogue = data::catalogue().expect("the catalogue has nothing wrong");
            let yard = yard(black_box(&yard_texts), &catalogue);
            let (form, _) = Form::load(full, text, &catalogue, &yard);
            let form = form.expect("the form can be read");
            let context = Context::of(&catalogue, &yard, &form.machine, now).expect("the yard has it");
            judge(&context, &[&form]).to_json()
        });
    });
}

criterion_group!(benches, reading, walk_rounds, from_texts);
criterion_main!(benches);
