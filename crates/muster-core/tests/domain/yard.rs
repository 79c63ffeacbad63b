//! A small yard built from texts: the catalogue of the golden rules, one sheet, one machine, its forms.

use std::{path::Path, sync::OnceLock};

use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    data,
    form::Form,
    judge::{Context, Judgement, implausible, judge},
    yard::Yard,
};

/// The folder of the golden rules.
pub(crate) fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden/domain")
}

/// The texts a small yard is made of; each is a piece of a file, put behind a head that makes it whole.
#[derive(Clone, Debug, Default)]
pub(crate) struct Texts {
    /// Checks of the small catalogue that are asked for; none: all of them.
    pub(crate) checks: Vec<String>,
    /// Whether the yard is under the small law pack.
    pub(crate) law: bool,
    /// Whether figures are shown in US customary units.
    pub(crate) us: bool,
    /// Lines of `yard.toml` behind its own.
    pub(crate) yard: String,
    /// `house.toml` behind its schema.
    pub(crate) house: String,
    /// The sheet behind its head.
    pub(crate) sheet: String,
    /// The machine behind its head.
    pub(crate) machine: String,
    /// Forms; what a head lacks is filled in.
    pub(crate) forms: Vec<String>,
}

/// A small yard read from its texts.
pub(crate) struct Small {
    pub(crate) catalogue: Catalogue,
    pub(crate) yard: Yard,
    pub(crate) forms: Vec<Form>,
    /// Everything said about the files.
    pub(crate) problems: Vec<String>,
}

/// The small catalogue: rule and equipment of `data/`, everything else its own. Read once, then cut to what is kept.
pub(crate) fn catalogue(keep: &[String]) -> Catalogue {
    static WHOLE: OnceLock<Catalogue> = OnceLock::new();
    let mut catalogue = WHOLE.get_or_init(whole).clone();
    for name in keep {
        assert!(catalogue.check(name).is_some(), "no check {name} in the small catalogue");
    }
    if !keep.is_empty() {
        catalogue.checks.retain(|check| keep.contains(&check.id));
    }
    catalogue
}

fn whole() -> Catalogue {
    let of_data = |name: &str| data::FILES.iter().find(|(file, _)| *file == name).map_or("", |(_, text)| *text);
    let files = [
        ("checks/all.toml", include_str!("../golden/domain/catalogue/checks.toml")),
        ("equipment.toml", of_data("equipment.toml")),
        ("law/statute.toml", include_str!("../golden/domain/catalogue/law.toml")),
        ("model-classes.toml", "schema = 1\n"),
        ("rule.toml", of_data("rule.toml")),
        ("sources.toml", include_str!("../golden/domain/catalogue/sources.toml")),
    ];
    Catalogue::load(&files).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

impl Texts {
    /// Reads them.
    pub(crate) fn read(&self) -> Small {
        let catalogue = catalogue(&self.checks);
        let site = include_str!("../golden/domain/catalogue/yard.toml");
        let law = if self.law { "law = \"STATUTE\"\n" } else { "" };
        let units = if self.us { "units = \"us\"\n" } else { "" };
        let files = [
            ("yard.toml", site.replacen("\n\n", &format!("\n{law}{units}\n"), 1) + &self.yard),
            ("house.toml", format!("schema = 1\n{}", self.house)),
            (
                "sheets/s.toml",
                with_head(
                    &[
                        ("schema", "1"),
                        ("sheet", "\"s\""),
                        ("model", "\"Corvane Pebble\""),
                        ("handbook", "{ title = \"Handbook\", known = \"invented\" }"),
                        ("displacement_cc", "124"),
                        ("equipment", "{ final_drive = \"chain\", mirrors = [\"left\", \"right\"] }"),
                    ],
                    &self.sheet,
                ),
            ),
            (
                "machines/m-1.toml",
                with_head(&[("schema", "1"), ("machine", "\"M-1\""), ("sheet", "\"s\"")], &self.machine),
            ),
        ];
        let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (*name, text.as_str())).collect();
        let (yard, problems) = Yard::load(&files, &catalogue);
        let mut problems: Vec<String> = problems.iter().map(ToString::to_string).collect();
        let mut forms = Vec::new();
        for (index, text) in self.forms.iter().enumerate() {
            let head = [
                ("schema", "1"),
                ("machine", "\"M-1\""),
                ("depth", "\"full\""),
                ("by", "\"A. Finder\""),
                ("opened", "2026-11-24T07:30:00+00:00"),
                (if text.contains("# odometer not read") { "# odometer" } else { "odometer" }, "\"1000 km\""),
                ("no_hold_tag", "true"),
                ("key_on_hook", "true"),
            ];
            let (form, faults) =
                Form::load(&format!("forms/{}.toml", index + 1), &with_head(&head, text), &catalogue, &yard);
            problems.extend(faults.iter().map(ToString::to_string));
            forms.extend(form);
        }
        Small { catalogue, yard, forms, problems }
    }
}

impl Small {
    /// The context at a moment.
    pub(crate) fn context(&self, now: &str) -> Context<'_> {
        let now = Moment::parse(now).unwrap_or_else(|error| panic!("{error}"));
        Context::of(&self.catalogue, &self.yard, "M-1", now).unwrap_or_else(|| panic!("{:#?}", self.problems))
    }

    /// Judges the machine at a moment.
    pub(crate) fn judged(&self, now: &str) -> Judgement {
        judge(&self.context(now), &self.forms.iter().collect::<Vec<_>>())
    }

    /// Everything said about the files, and about what the forms say.
    pub(crate) fn problems(&self, now: &str) -> Vec<String> {
        let context = self.context(now);
        let all: Vec<&Form> = self.forms.iter().collect();
        let said = self.forms.iter().flat_map(|form| implausible(&context, "form", form, &all));
        self.problems.iter().cloned().chain(said.map(|problem| problem.to_string())).collect()
    }
}

/// Puts the lines of a head before a text that does not write them itself.
fn with_head(head: &[(&str, &str)], text: &str) -> String {
    let own: Vec<&str> = text
        .lines()
        .take_while(|line| !line.starts_with('['))
        .filter_map(|line| line.split_once('='))
        .map(|(key, _)| key.trim())
        .collect();
    let lines = head.iter().filter(|(key, _)| !own.contains(key)).map(|(key, value)| format!("{key} = {value}\n"));
    lines.collect::<String>() + text
}
