//! Hold tags by the number printed on them: what a tag's code leads to.

use axum::{
    Json,
    extract::{Path, State},
};
use muster_core::record::{rights::View, tag_number};
use muster_wire::paper::{TagHung, TagNumber};

use super::{
    app::App,
    problem::{Kind, Problem},
    who::Who,
};

/// The longest number, in bytes.
const LONGEST: usize = 40;

/// Where a tag of a number hangs, and where it hung before.
#[utoipa::path(get, path = "/api/v1/tags/{number}", tag = "paper",
    params(("number" = String, Path, description = "As it is printed on the tag; zeros before it do not count")),
    responses((status = 200, body = TagNumber), (status = 400, body = Problem), (status = 401, body = Problem),
        (status = 403, body = Problem)))]
pub async fn tag(State(app): State<App>, who: Who, Path(number): Path<String>) -> Result<Json<TagNumber>, Problem> {
    who.sees(View::Machine)?;
    if number.len() > LONGEST || tag_number::plain(&number).is_empty() {
        return Err(Problem::new(Kind::Unreadable, format!("number: letters or digits, at most {LONGEST} bytes")));
    }
    app.beside(move |keeper| {
        let mut found = Vec::new();
        for machine in keeper.known().yard.machines.keys() {
            let Some(state) = keeper.machine(machine)? else { continue };
            let own = |text: &String| tag_number::is_same(text, &number);
            for (event, tag) in state.tags.iter().filter(|(_, tag)| tag.hung.number.as_ref().is_some_and(own)) {
                let hung = TagHung {
                    machine: machine.clone(),
                    event: event.to_string(),
                    why: tag.hung.why.clone(),
                    person: tag.by.0.to_string(),
                    at: tag.by.1.to_string(),
                    lifted_by: tag.lifted.map(|event| event.to_string()),
                };
                found.push((tag.by.1, hung));
            }
        }
        found.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
        let (lifted, mut hangs): (Vec<_>, Vec<_>) =
            found.into_iter().map(|(_, hung)| hung).partition(|hung| hung.lifted_by.is_some());
        let hangs = (!hangs.is_empty()).then(|| hangs.remove(0));
        Ok::<_, Problem>(Json(TagNumber { number, hangs, lifted }))
    })
    .await
}
