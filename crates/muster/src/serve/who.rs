//! Who asks: the person behind a request, and what they may see.

use axum::{extract::FromRequestParts, http::request::Parts};
use muster_core::record::{
    id::PersonId,
    payload::{Kind as Written, Role},
    rights::{View, may_view, may_write},
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

    /// Refuses what the role does not write.
    ///
    /// # Errors
    /// [`Kind::NoRight`].
    pub fn writes(&self, kind: Written) -> Result<(), Problem> {
        if may_write(self.standing.role, kind) {
            return Ok(());
        }
        Err(Problem::new(Kind::NoRight, format!("{} may not write `{kind}`: ask somebody who may", self.standing.role)))
    }

    /// Phones carry the whole record: who may walk round may sync; riders do not.
    ///
    /// # Errors
    /// [`Kind::NoRight`].
    pub fn syncs(&self) -> Result<(), Problem> {
        if self.standing.role == Role::Rider {
            return Err(Problem::new(Kind::NoRight, "a rider does not carry the record: ask an instructor"));
        }
        Ok(())
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
            Doors::SignIn { .. } => {
                let Some(token) = session::token(&parts.headers, app.is_secure()) else { return Err(signed_out()) };
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
