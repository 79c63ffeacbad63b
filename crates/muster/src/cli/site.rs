//! Opens what a command works on: the catalogue, a yard with its forms, and the moment.

use std::{
    fs,
    path::{Path, PathBuf},
};

use anyhow::{Context as _, Result, bail};
use jiff::{
    Timestamp,
    tz::{Offset, TimeZone},
};
use muster_core::{
    calendar::Moment,
    catalogue::Catalogue,
    form::Form,
    judge::{self, Judgement},
    load::Problem,
    machine::Machine,
    words::Use,
    yard::Yard,
};

use super::{arguments::Global, embedded, files, paper::note};

/// A named file's text.
pub(crate) type Text = (String, String);

/// Everything a command works on.
#[derive(Debug)]
pub(crate) struct Site {
    /// The catalogue.
    pub(crate) catalogue: Catalogue,
    /// The yard, with the units and the law pack asked for.
    pub(crate) yard: Yard,
    /// Its forms.
    pub(crate) forms: Vec<Filed>,
    /// What is wrong in the yard's own files.
    pub(crate) problems: Vec<Problem>,
    /// Where it is; none for the demonstration.
    pub(crate) folder: Option<PathBuf>,
    zone: TimeZone,
    on: Option<Moment>,
}

/// A form, as far as it can be read.
#[derive(Debug)]
pub(crate) struct Filed {
    /// Its file.
    pub(crate) name: String,
    /// Its text.
    pub(crate) text: String,
    /// What was read; none if nothing can be judged.
    pub(crate) form: Option<Form>,
    /// What is wrong in it.
    pub(crate) problems: Vec<Problem>,
}

impl Filed {
    /// Reads a form's text.
    pub(crate) fn read(name: String, text: String, catalogue: &Catalogue, yard: &Yard) -> Self {
        let (form, mut problems) = Form::load(&name, &text, catalogue, yard);
        if form.as_ref().is_some_and(|form| form.by.trim().is_empty()) {
            problems.insert(
                0,
                Problem { file: name.clone(), line: 0, what: "`by` is empty: write who walked round".into() },
            );
        }
        Self { name, text, form, problems }
    }
}

impl Site {
    /// Opens the yard named, or the demonstration; says on standard error which of the two it is.
    ///
    /// # Errors
    /// A catalogue that cannot be read, a folder that is no yard, a law pack or time zone nobody knows.
    pub(crate) fn open(global: &Global) -> Result<Self> {
        let site = Self::load(global.yard.as_deref(), global)?;
        if site.folder.is_none() {
            note(&format!("demo yard: {}; use --yard DIR for your own", site.yard.name));
        }
        Ok(site)
    }

    /// Opens a yard's folder, or the demonstration.
    ///
    /// # Errors
    /// As for [`Self::open`].
    pub(crate) fn load(folder: Option<&Path>, global: &Global) -> Result<Self> {
        let catalogue = catalogue()?;
        let mut problems = Vec::new();
        let (texts, forms) = match folder {
            Some(folder) => yard_files(folder, &mut problems)?,
            None => {
                let own = |(name, text): &(&str, &str)| (name.to_string(), text.to_string());
                embedded::DEMO.iter().map(own).partition(|(name, _)| !name.starts_with("forms/"))
            }
        };
        let named: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        let (mut yard, found) = Yard::load(&named, &catalogue);
        let place =
            |name: &str| folder.map_or_else(|| name.to_string(), |folder| folder.join(name).display().to_string());
        problems.extend(found.into_iter().map(|problem| Problem { file: place(&problem.file), ..problem }));
        let zone = match TimeZone::get(&yard.time_zone) {
            Ok(zone) => zone,
            Err(_) => {
                let what = format!("time_zone: no zone `{}`: write one like Europe/London", yard.time_zone);
                problems.push(Problem { file: place("yard.toml"), line: 0, what });
                TimeZone::UTC
            }
        };
        let forms = forms.into_iter().map(|(name, text)| Filed::read(place(&name), text, &catalogue, &yard)).collect();
        match global.law.as_deref() {
            Some("none") => yard.law = None,
            Some(pack) if catalogue.laws.contains_key(pack) => yard.law = Some(pack.to_string()),
            Some(pack) => {
                let packs: Vec<&str> = catalogue.laws.keys().map(String::as_str).collect();
                bail!("no law pack `{pack}`; there are: {}, none", packs.join(", "));
            }
            None => {}
        }
        yard.units = global.units.unwrap_or(yard.units);
        Ok(Self { catalogue, yard, forms, problems, folder: folder.map(Path::to_path_buf), zone, on: global.on })
    }

    /// The moment to judge at: the one asked for, the demonstration's, or now in the yard's time zone.
    pub(crate) fn now(&self) -> Moment {
        self.on.or(self.yard.on).unwrap_or_else(|| self.clock())
    }

    /// The moment to judge a form at, where none was asked for: a form of the last day at its end, so that what it says
    /// of that outing is judged for that outing; a form written after a demonstration's moment too.
    pub(crate) fn moment_of(&self, form: &Form) -> Moment {
        let answered = form.answers.iter().map(|answer| answer.at).max().unwrap_or(form.opened);
        let end = form.closed.unwrap_or(answered).max(answered).max(form.opened);
        let clock = self.clock();
        let recent = end <= clock && clock.seconds_since(form.opened) <= 86_400;
        match (self.on, self.yard.on) {
            (Some(on), _) => on,
            (None, Some(on)) if end <= on || end > clock => on,
            (None, Some(_)) => end,
            (None, None) if recent => end,
            (None, None) => clock,
        }
    }

    /// A machine by its fleet number, in any case.
    ///
    /// # Errors
    /// An unknown number, with the nearest one there is.
    pub(crate) fn machine(&self, id: &str) -> Result<&Machine> {
        let machines = &self.yard.machines;
        if let Some(machine) = machines.get(id).or_else(|| machines.values().find(|m| m.id.eq_ignore_ascii_case(id))) {
            return Ok(machine);
        }
        bail!("no machine `{id}` in {}{}", self.yard.name, hint(id, machines.keys().map(String::as_str)));
    }

    /// What a judgement of a machine rests on.
    ///
    /// # Errors
    /// A machine whose sheet is not there.
    pub(crate) fn context(&self, machine: &str, now: Moment) -> Result<judge::Context<'_>> {
        judge::Context::of(&self.catalogue, &self.yard, machine, now)
            .with_context(|| format!("machine {machine} has no sheet: muster data says why"))
    }

    /// The forms of a machine.
    pub(crate) fn forms_of(&self, machine: &str) -> Vec<&Form> {
        self.forms.iter().filter_map(|filed| filed.form.as_ref()).filter(|form| form.machine == machine).collect()
    }

    /// Judges a machine from the forms filed for it.
    ///
    /// # Errors
    /// As for [`Self::context`].
    pub(crate) fn judgement(&self, machine: &str, now: Moment) -> Result<Judgement> {
        Ok(judge::judge(&self.context(machine, now)?, &self.forms_of(machine)))
    }

    /// The faults a machine's verdict may suffer from: the yard's own, its forms', and those of forms nobody can place.
    pub(crate) fn problems_of(&self, machine: &str) -> Vec<&Problem> {
        let its = |filed: &&Filed| filed.form.as_ref().is_none_or(|form| form.machine == machine);
        self.problems.iter().chain(self.forms.iter().filter(its).flat_map(|filed| &filed.problems)).collect()
    }

    /// Every fault of the yard's files and forms.
    pub(crate) fn all_problems(&self) -> Vec<&Problem> {
        self.problems.iter().chain(self.forms.iter().flat_map(|filed| &filed.problems)).collect()
    }

    /// Now, as the clocks of the yard show it.
    pub(crate) fn clock(&self) -> Moment {
        let now = Timestamp::now();
        // To the second: a form has no use for more, and what is written is read back the same.
        let now = Timestamp::from_second(now.as_second()).unwrap_or(now);
        Moment::new(now, self.zone.to_offset(now))
    }

    /// The last second of a moment's day.
    pub(crate) fn day_end(&self, moment: Moment) -> Moment {
        let day = moment.date().at(23, 59, 0, 0);
        match self.zone.to_timestamp(day) {
            Ok(end) => Moment::new(end, self.zone.to_offset(end)),
            Err(_) => moment,
        }
    }
}

/// The catalogue the program carries.
///
/// # Errors
/// What is wrong in it: a broken build.
pub(crate) fn catalogue() -> Result<Catalogue> {
    muster_core::data::catalogue().map_err(|problems| {
        let first = problems.first().map(ToString::to_string).unwrap_or_default();
        anyhow::anyhow!("the catalogue this program carries has a fault: {first}")
    })
}

/// A check of the catalogue.
///
/// # Errors
/// An unknown id, with the nearest one there is.
pub(crate) fn check<'c>(catalogue: &'c Catalogue, id: &str) -> Result<&'c muster_core::check::Check> {
    let hint = || hint(id, catalogue.checks.iter().map(|check| check.id.as_str()));
    catalogue.check(id).with_context(|| format!("no check `{id}`{}", hint()))
}

/// The use a machine is planned for.
pub(crate) fn planned(judgement: &Judgement) -> Use {
    judgement.planned.unwrap_or(Use::Range)
}

/// What may be meant by a name that is not there.
pub(crate) fn hint<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> String {
    let low = name.to_lowercase();
    let near = |known: &&str| strsim::damerau_levenshtein(&low, &known.to_lowercase());
    let mut all: Vec<&str> = known.collect();
    all.sort_by_key(near);
    match all.first() {
        Some(first) if name.len() <= 60 && near(first) <= 2.max(name.len() / 4) => format!(": did you mean {first}?"),
        Some(_) if all.len() <= 30 => {
            all.sort_unstable();
            format!("; there are: {}", all.join(", "))
        }
        Some(_) => "; muster explain lists them".into(),
        None => "; there are none".into(),
    }
}

/// The texts of a yard's own files, and those of its forms. What cannot be read is a problem, not an end.
///
/// # Errors
/// A folder that is not there or is no yard.
pub(crate) fn yard_files(folder: &Path, problems: &mut Vec<Problem>) -> Result<(Vec<Text>, Vec<Text>)> {
    if !fs::metadata(folder).with_context(|| format!("no yard at {}", folder.display()))?.is_dir() {
        bail!("{} is not a folder: name the folder that holds yard.toml", folder.display());
    }
    if !folder.join("yard.toml").exists() {
        bail!("{} holds no yard.toml: muster start DIR writes a yard to go on from", folder.display());
    }
    let mut own = vec![folder.join("yard.toml")];
    own.extend(Some(folder.join("house.toml")).filter(|house| house.exists()));
    own.extend(files::toml_files(&folder.join("sheets"))?);
    own.extend(files::toml_files(&folder.join("machines"))?);
    let forms = files::toml_files(&folder.join("forms"))?;
    Ok((texts(folder, &own, problems), texts(folder, &forms, problems)))
}

/// Reads files, each named by its place in the folder.
pub(crate) fn texts(folder: &Path, paths: &[PathBuf], problems: &mut Vec<Problem>) -> Vec<Text> {
    let mut out = Vec::new();
    for path in paths {
        let name = path.strip_prefix(folder).unwrap_or(path).to_string_lossy().replace('\\', "/");
        match files::read(path) {
            Ok(text) => out.push((name, text)),
            Err(error) => problems.push(Problem { file: String::new(), line: 0, what: error.to_string() }),
        }
    }
    out
}

/// A problem as it is printed: one that has no file names it itself.
pub(crate) fn said(problem: &Problem) -> String {
    if problem.file.is_empty() { problem.what.clone() } else { problem.to_string() }
}

/// Now, in UTC.
pub(crate) fn now() -> Moment {
    Moment::new(Timestamp::now(), Offset::UTC)
}
