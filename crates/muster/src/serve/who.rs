//! Who asks: the person behind a request, and what they may see.

use axum::{
    extract::FromRequestParts,
    http::{HeaderMap, Method, header, request::Parts},
};
use muster_core::record::{
    id::PersonId,
    payload::Role,
    rights::{View, may_view},
    yard_state::Standing,
};

use super::{
    app::{App, Doors},
    problem::{Kind, Problem},
};
use crate::people::session;

/// A person who is signed in and may act.
#[derive(Clone, Debug)]
pub struct Who {
    /// Which.
    pub person: PersonId,
    /// What they may do.
    pub standing: Standing,
}

impl Who {
    /// Refuses what the role does not see.
    ///
    /// # Errors
    /// [`Kind::NoRight`].
    pub fn sees(&self, view: View) -> Result<(), Problem> {
        if may_view(self.standing.role, view) {
            return Ok(());
        }
        Err(Problem::new(Kind::NoRight, format!("{} does not see `{view}`: ask somebody who does", self.standing.role)))
    }

    /// Refuses anybody but the owner.
    ///
    /// # Errors
    /// [`Kind::NoRight`].
    pub fn owns(&self) -> Result<(), Problem> {
        if self.standing.role == Role::Owner {
            return Ok(());
        }
        Err(Problem::new(Kind::NoRight, "this is the owner's: ask the owner"))
    }
}

impl FromRequestParts<App> for Who {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Problem> {
        let person = match app.doors() {
            Doors::Demonstration(person) => person.clone(),
            Doors::SignIn { https } => {
                same_origin(&parts.method, &parts.headers)?;
                let Some(token) = session::token(&parts.headers, *https) else { return Err(signed_out()) };
                let now = app.now();
                let person = app.beside(move |keeper| session::person(&**keeper.store(), &token, now)).await?;
                person.ok_or_else(signed_out)?
            }
        };
        let state = app.keeper().known().state;
        let standing = state.standing(&person).map_err(|aside| Problem::new(Kind::NoRight, aside.to_string()))?;
        Ok(Self { person, standing: standing.clone() })
    }
}

fn signed_out() -> Problem {
    Problem::new(Kind::NotSignedIn, "sign in first, or again if it was long ago")
}

/// A page of another site must not act with this site's cookie: browsers say where a request comes from.
pub(super) fn same_origin(method: &Method, headers: &HeaderMap) -> Result<(), Problem> {
    if matches!(*method, Method::GET | Method::HEAD | Method::OPTIONS) {
        return Ok(());
    }
    let text = |name: header::HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    let site = headers.get("sec-fetch-site").and_then(|value| value.to_str().ok());
    let own = match (site, text(header::ORIGIN)) {
        (Some(site), _) => matches!(site, "same-origin" | "none"),
        (None, Some(origin)) => {
            let host = text(header::HOST).unwrap_or_default();
            origin.split_once("://").is_some_and(|(_, of)| of == host)
        }
        // No browser: a program with its own token.
        (None, None) => true,
    };
    if own { Ok(()) } else { Err(Problem::new(Kind::NoRight, "this came from another site's page")) }
}
