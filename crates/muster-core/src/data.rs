//! The catalogue that is one with the build: its files, embedded as they stand in `data/`.

use alloc::vec::Vec;

use crate::{
    catalogue::Catalogue,
    forecast::practice::Practices,
    load::{File, Problem},
    record::job::JobKind,
};

macro_rules! file {
    ($name:literal) => {
        ($name, include_str!(concat!("../../../data/", $name)))
    };
}

/// Every file of the catalogue, by its name below `data/`.
pub const FILES: &[File<'static>] = &[
    file!("checks/1-front-wheel.toml"),
    file!("checks/1-front-wheel-full.toml"),
    file!("checks/2-cockpit.toml"),
    file!("checks/2-cockpit-electric.toml"),
    file!("checks/2-cockpit-full.toml"),
    file!("checks/3-left-side.toml"),
    file!("checks/3-left-side-electric.toml"),
    file!("checks/3-left-side-full.toml"),
    file!("checks/4-rear-wheel.toml"),
    file!("checks/4-rear-wheel-full.toml"),
    file!("checks/5-right-side.toml"),
    file!("checks/5-right-side-electric.toml"),
    file!("checks/5-right-side-full.toml"),
    file!("checks/5-right-side-sidecar.toml"),
    file!("checks/6-under.toml"),
    file!("checks/6-under-full.toml"),
    file!("equipment.toml"),
    file!("law/au-sa.toml"),
    file!("law/de.toml"),
    file!("law/gb.toml"),
    file!("law/nz.toml"),
    file!("law/us-md.toml"),
    file!("law/us-nc.toml"),
    file!("law/us-ny.toml"),
    file!("law/us-ut.toml"),
    file!("law/us-va.toml"),
    file!("model-classes.toml"),
    file!("rule.toml"),
    file!("sources.toml"),
];

/// The kinds of workshop work, as they stand in `data/jobs.toml`.
pub const JOBS: File<'static> = file!("jobs.toml");

/// Stated practice of wear, as it stands in `data/wear.toml`.
pub const WEAR: File<'static> = file!("wear.toml");

/// Reads the stated practice of wear this build carries.
///
/// # Errors
/// What is wrong in it; a test reads it.
pub fn practices(catalogue: &Catalogue) -> Result<Practices, Vec<Problem>> {
    Practices::load(WEAR.0, WEAR.1, catalogue)
}

/// Reads the kinds of workshop work this build carries.
///
/// # Errors
/// What is wrong in them; a test reads them.
pub fn job_kinds(catalogue: &Catalogue) -> Result<Vec<JobKind>, Vec<Problem>> {
    JobKind::load(JOBS.0, JOBS.1, catalogue)
}

/// Reads the catalogue this build carries.
///
/// # Errors
/// What is wrong in it; a test reads it, so a released build has nothing wrong.
pub fn catalogue() -> Result<Catalogue, Vec<Problem>> {
    Catalogue::load(FILES)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_catalogue_has_nothing_wrong() {
        let catalogue = catalogue().unwrap_or_else(|problems| panic!("{problems:#?}"));
        assert!(catalogue.checks.len() >= 130, "{}", catalogue.checks.len());
        assert!(job_kinds(&catalogue).is_ok_and(|kinds| kinds.len() > 20));
        let practices = practices(&catalogue).unwrap_or_else(|problems| panic!("{problems:#?}"));
        assert!(practices.kinds.len() >= 9 && practices.intervals.len() >= 5);
        let packs: Vec<&str> = catalogue.laws.keys().map(alloc::string::String::as_str).collect();
        assert_eq!(packs, ["AU-SA", "DE", "GB", "NZ", "US-MD", "US-NC", "US-NY", "US-UT", "US-VA"]);
    }
}
