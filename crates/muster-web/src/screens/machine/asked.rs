//! What the server knows of a machine beyond what this device carries: asked for when it is shown, never before.

use std::time::Duration;

use leptos::{prelude::*, task::spawn_local};
use muster_core::{record::machine_state::MachineState, yard::Units};
use serde::de::DeserializeOwned;

use crate::{
    words::t,
    yard::{LinkError, Yard, ask},
};

/// How long what was written here takes to reach the server, mostly.
const SENT: Duration = Duration::from_secs(3);
/// How long till the server is asked again that did not answer.
const AGAIN: Duration = Duration::from_secs(10);

/// How it stands with what was asked for.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Asked<T> {
    /// Not answered yet.
    Waits,
    /// What the server knows.
    Told(T),
    /// Why it told nothing, in words.
    Not(String),
}

/// What a page is shown of: which machine, and when the server may know more of it.
#[derive(Clone, Copy)]
pub(super) struct Door {
    yard: Yard,
    machine: StoredValue<String>,
    news: RwSignal<u32>,
}

impl Door {
    pub(super) fn of(yard: Yard, machine: &str) -> Self {
        Self { yard, machine: StoredValue::new(machine.to_owned()), news: RwSignal::new(0) }
    }

    /// Reads the machine as this device carries it, with the units of its yard.
    pub(super) fn held<T>(self, read: impl FnOnce(&MachineState, Units) -> Option<T>) -> Option<T> {
        self.machine
            .with_value(|machine| self.yard.with(|held| read(held.machine(machine)?, held.known().yard.units))?)
    }

    /// Something was written here and is on its way: what is shown is asked for again when it has arrived.
    pub(super) fn will_know(self) {
        let told = move || _ = self.news.try_update(|count| *count += 1);
        set_timeout(told, SENT);
    }

    /// Asks for what is shown: now, when the server may know more, and again where it did not answer. What was told stays.
    pub(super) fn ask<T: DeserializeOwned + Send + Sync + 'static>(self, path: &str) -> RwSignal<Asked<T>> {
        let told = RwSignal::new(Asked::Waits);
        let path = self.machine.with_value(|machine| format!("/api/v1/machines/{machine}/{path}"));
        let again = RwSignal::new(());
        Effect::new(move |_| {
            self.news.track();
            again.track();
            let path = path.clone();
            spawn_local(async move {
                match ask::<T>("GET", &path, None::<&()>).await {
                    Ok(of) => _ = told.try_set(Asked::Told(of)),
                    Err(why) => {
                        let is_told = told.try_with_untracked(|told| matches!(told, Asked::Told(_)));
                        if is_told == Some(false) {
                            told.try_set(Asked::Not(in_words(&why)));
                        }
                        if why == LinkError::NoAnswer {
                            set_timeout(move || _ = again.try_set(()), AGAIN);
                        }
                    }
                }
            });
        });
        told
    }
}

fn in_words(why: &LinkError) -> String {
    if *why == LinkError::NoAnswer { t!("no-signal") } else { why.to_string() }
}

/// Says that only what is carried is shown, and why.
pub(super) fn carried_only(why: String) -> AnyView {
    view! { <p class="cap" role="status">{t!("carried-only", why = why)}</p> }.into_any()
}
