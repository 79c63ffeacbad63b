//! A screen whose code is fetched when it is first asked for.

use futures_util::future::join;
use leptos::{prelude::*, task::spawn_local};
use wasm_split_helpers::SplitLoaderError;

use crate::{pace::Pace, route::Make, ui::opened, words::t, yard::yard};

/// A part could not be fetched: the browser's console has the fault.
#[derive(Clone, Copy)]
pub(super) struct Lost;

impl From<SplitLoaderError> for Lost {
    fn from(_: SplitLoaderError) -> Self {
        Self
    }
}

/// What makes the screen, once its part is there.
pub(super) type Fetched = Result<Make, Lost>;

/// Says which screens come in which part: of each, a function `later::NAME` for its route.
macro_rules! parts {
    ($($part:ident: $($name:ident => $of:ident::$screen:ident),+;)+) => {
        /// Screens by the names of their parts, for the routes.
        pub(crate) mod parts {
            use leptos::prelude::*;
            use super::later::{self, Fetched};

            $($(
                pub(crate) fn $name() -> AnyView {
                    #[allow(unsafe_code, reason = "the seam between two modules is a name that the linker sees")]
                    #[wasm_split_helpers::wasm_split($part, fallible)]
                    fn $name() -> Fetched {
                        Ok(|| super::$of::$screen().into_any())
                    }
                    later::show(|| Box::pin($name()))
                }
            )+)+
        }
    };
}
pub(super) use parts;

type Fetching = std::pin::Pin<Box<dyn Future<Output = Fetched>>>;

/// The screen as soon as it is there; what to do where it cannot be had.
pub(super) fn show(fetch: fn() -> Fetching) -> AnyView {
    let (yard, had) = (yard(), RwSignal::new(None));
    let ask = move || {
        had.set(None);
        spawn_local(async move {
            // A part names its modules one by one: a piece of its own.
            Pace::begin().turn().await;
            // A screen judges at once: it waits for what judges too.
            let (made, judges) = join(fetch(), yard.judges()).await;
            let made = if judges { made } else { Err(Lost) };
            // Whoever went on meanwhile does not want it any more.
            had.try_set(Some(made));
        });
    };
    ask();
    (move || match had.get() {
        Some(Ok(make)) => {
            opened();
            make()
        }
        Some(Err(Lost)) => {
            opened();
            lost(ask)
        }
        None => ().into_any(),
    })
    .into_any()
}

/// A part cannot be had: what to do.
fn lost(ask: impl Fn() + 'static) -> AnyView {
    view! {
        <main class="phone is-page"><section class="sec" role="alert">
            <h1>{t!("part-not-here")}</h1><p>{t!("part-not-here-do")}</p>
            <p><button class="btn" type="button" on:click=move |_| ask()>{t!("try-again")}</button></p>
        </section></main>
    }
    .into_any()
}
