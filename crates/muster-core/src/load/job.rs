//! Reads the kinds of workshop work.

use alloc::{
    string::{String, ToString},
    vec::Vec,
};

use super::{Problem, Reader, limit::unknown_check};
use crate::{catalogue::Catalogue, quantity::text::DecimalSign, record::job::JobKind, words::Ending};

impl JobKind {
    /// Reads `jobs.toml`.
    ///
    /// # Errors
    /// Everything that is wrong in it. Kinds with a fault are not used.
    pub fn load(name: &str, text: &str, catalogue: &Catalogue) -> Result<Vec<Self>, Vec<Problem>> {
        let (mut reader, mut file) = Reader::open(name, text, DecimalSign::Point);
        let schema: Option<u32> = file.take(&mut reader, "schema");
        if schema != Some(1) {
            reader.say(file.span(), "write `schema = 1` at the head of the file");
        }
        let mut kinds: Vec<Self> = Vec::new();
        for mut row in file.rows(&mut reader, "job") {
            let span = row.span();
            let (id, name) = (row.need::<String>(&mut reader, "id"), row.need(&mut reader, "name"));
            let proves: Vec<super::Text> = row.need(&mut reader, "proves").unwrap_or_default();
            if proves.is_empty() {
                reader.say(span.clone(), "a job is proven by its answers: name at least one check under proves");
            }
            for check in proves.iter().filter(|check| catalogue.check(check.get_ref()).is_none()) {
                reader.say(check.span(), unknown_check(check.get_ref(), &catalogue.checks));
            }
            let ends = row.words::<Ending>(&mut reader, "ends").unwrap_or_default();
            row.finish(&mut reader, "id, name, proves, ends");
            let Some((id, name)) = id.zip(name) else { continue };
            if kinds.iter().any(|other| other.id == id) {
                reader.say(span, "this id stands twice");
                continue;
            }
            let proves = proves.iter().map(|check| check.get_ref().to_string()).collect();
            kinds.push(Self { id, name, proves, ends });
        }
        file.finish(&mut reader, "schema, job");
        let problems = reader.into_problems();
        if problems.is_empty() { Ok(kinds) } else { Err(problems) }
    }
}
