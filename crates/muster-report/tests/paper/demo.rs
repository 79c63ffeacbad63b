//! The demonstration's yard, read from its folder.

use std::{collections::BTreeMap, fs, path::Path, sync::OnceLock};

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    form::Form,
    judge::{Context, Judgement, judge},
    state::{Heat, Power, Stance, State},
    walk_round::{self, WalkRound},
    words::{Depth, Use},
    yard::Yard,
};
use muster_report::{Paper, Size};

/// Cold, key off, on its side stand.
pub(crate) const COLD: State = State { heat: Heat::Cold, power: Power::Off, stance: Stance::SideStand };

/// The demonstration.
pub(crate) struct Demo {
    pub(crate) catalogue: Catalogue,
    pub(crate) yard: Yard,
    pub(crate) forms: BTreeMap<String, Vec<Form>>,
}

impl Demo {
    /// The demonstration, read once.
    pub(crate) fn load() -> &'static Self {
        static DEMO: OnceLock<Demo> = OnceLock::new();
        DEMO.get_or_init(Self::read)
    }

    fn read() -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../data/demo/harrow-lane");
        let mut files = Vec::new();
        for folder in ["", "sheets", "machines", "forms"] {
            for entry in fs::read_dir(root.join(folder)).unwrap() {
                let path = entry.unwrap().path();
                if path.extension().is_some_and(|extension| extension == "toml") {
                    let name = path.strip_prefix(&root).unwrap().to_string_lossy().into_owned();
                    files.push((name, fs::read_to_string(&path).unwrap()));
                }
            }
        }
        files.sort();
        let catalogue = data::catalogue().unwrap();
        let (forms, own): (Vec<_>, Vec<_>) = files.iter().partition(|(name, _)| name.starts_with("forms/"));
        let own: Vec<(&str, &str)> = own.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        let (yard, problems) = Yard::load(&own, &catalogue);
        assert!(problems.is_empty(), "{problems:?}");
        let mut by_machine: BTreeMap<String, Vec<Form>> = BTreeMap::new();
        for (name, text) in forms {
            let form = Form::load(name, text, &catalogue, &yard).0.unwrap();
            by_machine.entry(form.machine.clone()).or_default().push(form);
        }
        Self { catalogue, yard, forms: by_machine }
    }

    pub(crate) fn now(&self) -> Moment {
        self.yard.on.unwrap()
    }

    pub(crate) fn context(&self, machine: &str, now: Moment) -> Context<'_> {
        Context::of(&self.catalogue, &self.yard, machine, now).unwrap()
    }

    pub(crate) fn forms_of(&self, machine: &str) -> Vec<&Form> {
        self.forms.get(machine).into_iter().flatten().collect()
    }

    pub(crate) fn judgement(&self, machine: &str) -> Judgement {
        judge(&self.context(machine, self.now()), &self.forms_of(machine))
    }

    pub(crate) fn judgements(&self) -> Vec<Judgement> {
        self.yard.machines.keys().map(|id| self.judgement(id)).collect()
    }

    pub(crate) fn paper(&self, size: Size) -> Paper {
        Paper {
            size,
            school: self.yard.name.clone(),
            mark: None,
            address: Some("https://harrow-lane.example".into()),
            made: self.now(),
        }
    }
}

/// The before-ride walk-round of the next day.
pub(crate) fn walk<'c>(context: &Context<'c>, forms: &[&Form], one: Use) -> WalkRound<'c> {
    walk_round::plan(context, forms, Depth::BeforeRide, one, COLD).unwrap()
}
