//! The outing on the demonstration's tourer and cruiser: figures worked apart, bad input, what it composes with.

mod cases;
mod laws;
mod privacy;

use std::path::Path;

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    form::Form,
    judge::{Context, Judgement, judge},
    outing::{Asked, Assessment, Case, Item, Outing, assess},
    quantity::text::DecimalSign,
    yard::Yard,
};

/// The demonstration, ready to be asked.
pub(crate) struct Demo {
    catalogue: Catalogue,
    pub(crate) yard: Yard,
    forms: Vec<Form>,
}

pub(crate) fn demo() -> Demo {
    yard("harrow-lane")
}

/// A demonstration yard by its folder.
pub(crate) fn yard(folder: &str) -> Demo {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data/demo").join(folder);
    let catalogue = data::catalogue().unwrap_or_else(|problems| panic!("{problems:#?}"));
    let mut texts = Vec::new();
    for folder in ["", "sheets/", "machines/", "forms/"] {
        // A yard without forms has no folder of them.
        let entries = std::fs::read_dir(root.join(folder)).into_iter().flatten();
        for path in entries.map(|entry| entry.unwrap_or_else(|error| panic!("{error}")).path()) {
            if path.extension().is_some_and(|extension| extension == "toml") {
                let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
                let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{error}"));
                texts.push((format!("{folder}{name}"), text));
            }
        }
    }
    let (forms, own): (Vec<_>, Vec<_>) = texts.iter().partition(|(name, _)| name.starts_with("forms/"));
    let files: Vec<(&str, &str)> = own.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let (yard, problems) = Yard::load(&files, &catalogue);
    assert!(problems.is_empty(), "{problems:#?}");
    let forms = forms.iter().filter_map(|(name, text)| Form::load(name, text, &catalogue, &yard).0).collect();
    Demo { catalogue, yard, forms }
}

impl Demo {
    pub(crate) fn now(&self) -> Moment {
        self.yard.on.expect("the demonstration has its moment")
    }

    pub(crate) fn context(&self, machine: &str) -> Context<'_> {
        Context::of(&self.catalogue, &self.yard, machine, self.now()).expect("the yard has it")
    }

    pub(crate) fn forms(&self, machine: &str) -> Vec<&Form> {
        self.forms.iter().filter(|form| form.machine == machine).collect()
    }

    pub(crate) fn judged(&self, machine: &str) -> Judgement {
        judge(&self.context(machine), &self.forms(machine))
    }

    pub(crate) fn of(&self, machine: &str, outing: &Outing) -> Assessment {
        let (context, judgement, forms) = (self.context(machine), self.judged(machine), self.forms(machine));
        assess(&Case { context: &context, judgement: &judgement, forms: &forms }, outing)
    }

    pub(crate) fn asked(&self, machine: &str, asked: &Asked) -> Assessment {
        self.of(machine, &asked.read(self.now(), DecimalSign::Point))
    }
}

/// Two up with luggage on a cold wet day: the worked example of the documents.
pub(crate) fn two_up() -> Asked {
    let text = |text: &str| Some(text.to_string());
    Asked {
        rider: text("82 kg"),
        passenger: text("64kg"),
        luggage: vec!["cases=12 kg".into()],
        distance: text("180 km"),
        speed: text("110 km/h"),
        air: text("8"),
        rain: true,
        back: text("17:30"),
        ..Asked::default()
    }
}

pub(crate) fn item<'a>(of: &'a Assessment, id: &str) -> &'a Item {
    of.items.iter().find(|item| item.id == id).unwrap_or_else(|| panic!("no item {id} in {:#?}", of.items))
}
