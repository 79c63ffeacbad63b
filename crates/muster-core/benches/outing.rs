//! How long an outing takes to work out, its machine judged already: told as two up with luggage, and a session of twelve.

use std::{collections::BTreeMap, fs, hint::black_box, path::Path};

use criterion::{Criterion, criterion_group, criterion_main};
use muster_core::{
    data,
    form::Form,
    judge::{Context, judge},
    outing::{Asked, Case, assess, input::Rider, session::session},
    quantity::text::DecimalSign,
    yard::Yard,
};

/// The texts of the demonstration yard and its forms.
fn texts() -> BTreeMap<String, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data/demo/harrow-lane");
    let mut texts = BTreeMap::new();
    for folder in ["", "sheets", "machines", "forms"] {
        for entry in fs::read_dir(root.join(folder)).expect("the demonstration is there") {
            let path = entry.expect("an entry can be read").path();
            if path.extension().is_some_and(|extension| extension == "toml") {
                let name = path.strip_prefix(&root).expect("it lies below").to_string_lossy().into_owned();
                texts.insert(name, fs::read_to_string(&path).expect("a text"));
            }
        }
    }
    texts
}

fn outings(criterion: &mut Criterion) {
    let catalogue = data::catalogue().expect("the catalogue has nothing wrong");
    let texts = texts();
    let files: Vec<_> = texts.iter().filter(|(name, _)| !name.starts_with("forms/")).collect();
    let files: Vec<_> = files.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let (yard, _) = Yard::load(&files, &catalogue);
    let forms: Vec<Form> = texts
        .iter()
        .filter(|(name, _)| name.starts_with("forms/h-24"))
        .filter_map(|(name, text)| Form::load(name, text, &catalogue, &yard).0)
        .collect();
    let forms: Vec<&Form> = forms.iter().collect();
    let now = yard.on.expect("the demonstration has its moment");
    let context = Context::of(&catalogue, &yard, "H-24", now).expect("the yard has it");
    let judgement = judge(&context, &forms);
    let case = Case { context: &context, judgement: &judgement, forms: &forms };
    let some = |text: &str| Some(text.to_string());
    let asked = Asked {
        rider: some("82 kg"),
        inseam: some("810 mm"),
        licence: some("A"),
        passenger: some("64 kg"),
        luggage: vec!["cases=12 kg".into(), "rack=4 kg".into()],
        distance: some("180 km"),
        speed: some("110 km/h"),
        air: some("8"),
        highest: some("900 m"),
        tyres: some("30"),
        rain: true,
        back: some("17:30"),
        ..Asked::default()
    };
    criterion.bench_function("an outing, from its texts", |bencher| {
        bencher.iter(|| assess(&case, &black_box(&asked).read(now, DecimalSign::Point)));
    });
    let outing = asked.read(now, DecimalSign::Point);
    criterion.bench_function("an outing", |bencher| bencher.iter(|| assess(&case, black_box(&outing))));
    let riders: Vec<Rider> =
        (0..12).map(|number| Rider { name: Some(format!("R{number}")), ..outing.rider.clone() }).collect();
    criterion.bench_function("a session of twelve riders", |bencher| {
        bencher.iter(|| session(&case, black_box(&outing), &riders));
    });
}

criterion_group!(benches, outings);
criterion_main!(benches);
