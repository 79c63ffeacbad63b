//! `muster data`: every fault of catalogue, yard and forms, by file and line.

use std::path::{Path, PathBuf};

use anyhow::{Result, anyhow};
use muster_core::{catalogue::Catalogue, load::Problem};

use super::{
    BAD_INPUT, MAY_GO,
    arguments::Global,
    files,
    paper::{Paper, count},
    schema::{SchemaOf, schema},
    site::{Filed, Site, said, texts},
};

/// Reads what is named, or the catalogue and the yard.
///
/// # Errors
/// A folder that is neither a yard nor a catalogue.
pub(crate) fn run(global: &Global, paths: &[PathBuf]) -> Result<u8> {
    let mut paper = Paper::new(global.color);
    let mut problems = Vec::new();
    if paths.is_empty() {
        let site = Site::open(global)?;
        tell_catalogue(&mut paper, &site.catalogue);
        problems = yard(&mut paper, &site);
    }
    for path in paths {
        problems.extend(one(&mut paper, global, path)?);
    }
    let mut out = Paper::plain();
    for problem in &problems {
        out.line(&said(problem));
    }
    if problems.is_empty() {
        out.line(paper.text().trim_end());
    } else {
        out.line(&count(problems.len(), "fault", "faults"));
    }
    out.print()?;
    Ok(if problems.is_empty() { MAY_GO } else { BAD_INPUT })
}

/// Prints the schema of a kind of file.
///
/// # Errors
/// What is wrong in the catalogue, or an output that takes nothing.
pub(crate) fn print_schema(of: SchemaOf) -> Result<u8> {
    let catalogue = muster_core::data::catalogue()
        .map_err(|faults| anyhow!(faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")))?;
    let mut out = Paper::plain();
    out.line(&serde_json::to_string_pretty(&schema(of, &catalogue))?);
    out.print()?;
    Ok(MAY_GO)
}

fn one(paper: &mut Paper, global: &Global, path: &Path) -> Result<Vec<Problem>> {
    if path.is_dir() {
        return if path.join("sources.toml").exists() {
            catalogue(paper, path)
        } else {
            let site = Site::load(Some(path), global)?;
            Ok(yard(paper, &site))
        };
    }
    // Read for itself first: a file that cannot be read is told as such.
    let text = files::read(path)?;
    let kept = |problems: Vec<Problem>| {
        let own = path.canonicalize().ok();
        let same = |problem: &Problem| {
            Path::new(&problem.file).canonicalize().ok() == own || problem.what.contains(&path.display().to_string())
        };
        problems.into_iter().filter(same).collect()
    };
    let folders = path.canonicalize().unwrap_or_else(|_| path.into());
    for folder in folders.ancestors().skip(1).take(2) {
        if folder.join("yard.toml").exists() {
            let site = Site::load(Some(folder), global)?;
            let problems: Vec<Problem> = site.all_problems().into_iter().cloned().collect();
            paper.line(&format!("{}: read as a file of {}", path.display(), site.yard.name));
            return Ok(kept(problems));
        }
        if folder.join("sources.toml").exists() {
            let mut unused = Paper::plain();
            let problems = catalogue(&mut unused, folder)?;
            paper.line(&format!("{}: read as a file of the catalogue", path.display()));
            return Ok(kept(problems));
        }
    }
    let site = Site::open(global)?;
    let filed = Filed::read(path.display().to_string(), text, &site.catalogue, &site.yard);
    let answers = filed.form.as_ref().map_or(0, |form| form.answers.len());
    paper.line(&format!("{}: read as a form, {}", path.display(), count(answers, "answer", "answers")));
    Ok(filed.problems)
}

fn catalogue(paper: &mut Paper, folder: &Path) -> Result<Vec<Problem>> {
    let mut problems = Vec::new();
    let mut paths: Vec<PathBuf> = files::toml_files(folder)?;
    for sub in ["checks", "law"] {
        paths.extend(files::toml_files(&folder.join(sub))?);
    }
    let texts = texts(folder, &paths, &mut problems);
    let named: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    match Catalogue::load(&named) {
        Ok(catalogue) => tell_catalogue(paper, &catalogue),
        Err(found) => problems.extend(
            found
                .into_iter()
                .map(|problem| Problem { file: folder.join(&problem.file).display().to_string(), ..problem }),
        ),
    }
    Ok(problems)
}

fn tell_catalogue(paper: &mut Paper, catalogue: &Catalogue) {
    let laws = catalogue.laws.values();
    let rows: usize = laws.clone().map(|law| law.limits.len() + law.classes.len()).sum();
    let line = format!(
        "catalogue: {}, {} of general practice, {} with {}, {}, {}",
        count(catalogue.checks.len(), "check", "checks"),
        count(catalogue.practice.len(), "limit", "limits"),
        count(laws.len(), "law pack", "law packs"),
        count(rows, "row", "rows"),
        count(catalogue.model_classes.len(), "model class", "model classes"),
        count(catalogue.sources.len(), "source", "sources"),
    );
    paper.line(&line);
    paper.line(&format!("  sha256 {}", catalogue.hash));
}

fn yard(paper: &mut Paper, site: &Site) -> Vec<Problem> {
    let yard = &site.yard;
    let limits: usize = yard.sheets.values().map(|sheet| sheet.limits.len()).sum();
    let line = format!(
        "{}: {}, {} with {}, {}, {}, {}",
        yard.name,
        count(yard.machines.len(), "machine", "machines"),
        count(yard.sheets.len(), "sheet", "sheets"),
        count(limits, "limit", "limits"),
        count(yard.house.len(), "house limit", "house limits"),
        count(yard.instruments.len(), "instrument", "instruments"),
        count(site.forms.len(), "form", "forms"),
    );
    paper.line(&line);
    paper.line(&format!("  sha256 {}", yard.hash));
    site.all_problems().into_iter().cloned().collect()
}
