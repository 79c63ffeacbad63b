//! What the code of a paper says beside its address: the hash it rests on, to compare with what is here.

use leptos::prelude::*;
use leptos_router::{components::A, hooks::use_location};

use crate::{ui::Icon, words::t};

/// The hash behind the address, as a paper's code says it; none where the address came from elsewhere.
pub(super) fn said() -> Memo<Option<String>> {
    let hash = use_location().hash;
    Memo::new(move |_| {
        let hash = hash.get();
        let hash = hash.trim_start_matches('#');
        let is_hash = hash.len() == 64 && hash.bytes().all(|sign| sign.is_ascii_hexdigit());
        is_hash.then(|| hash.to_lowercase())
    })
}

/// To whoever comes by a paper's code: what is known of the paper.
#[component]
pub(crate) fn ByCode() -> impl IntoView {
    let said = said();
    move || {
        said.get().map(|hash| {
            view! {
                <p class="notice notice--wide"><Icon name="find" size=22/>
                    <span>{t!("by-code")} " " <A href=format!("/paper#{hash}")>{t!("by-code-see")}</A></span></p>
            }
            .into_any()
        })
    }
}

/// A record beside the paper that rests on it: whether it is the one the paper's code names.
pub(crate) fn compared(own: &str) -> AnyView {
    let (said, own) = (said(), own.to_owned());
    (move || {
        said.get().map(|hash| {
            if hash == own {
                view! { <div class="notice notice--wide"><Icon name="find" size=22/><div><b>{t!("code-same")}</b><p>{t!("code-same-do")}</p></div></div> }.into_any()
            } else {
                view! { <div class="notice notice--wide dash" role="alert"><Icon name="warn" size=22/><div><b>{t!("code-other")}</b><p>{t!("code-other-do")}</p></div></div> }.into_any()
            }
        })
    })
    .into_any()
}
