//! A button that asks for a second's press, so that no glove signs by brushing past; Enter, then Enter by keyboard.

use std::time::Duration;

use leptos::{leptos_dom::helpers::TimeoutHandle, prelude::*};

use crate::words::t;

/// A quarter of the press.
const QUARTER: Duration = Duration::from_millis(250);
/// How long the first Enter waits for the second.
const ARMED: Duration = Duration::from_secs(3);

/// The button.
#[component]
pub(crate) fn Press(
    /// What it does, in a word.
    #[prop(into)]
    label: Signal<String>,
    /// What stands under it.
    #[prop(into)]
    hint: Signal<String>,
    /// Its classes beside `btn btn--lg`.
    class: &'static str,
    /// Runs after a second's press.
    done: UnsyncCallback<()>,
) -> impl IntoView {
    // Quarters of a second it was pressed so far.
    let (quarters, armed) = (RwSignal::new(0_u8), RwSignal::new(false));
    let timer = StoredValue::new_local(None::<TimeoutHandle>);
    let stop = move || {
        if let Some(running) = timer.try_update_value(Option::take).flatten() {
            running.clear();
        }
        let _ = quarters.try_set(0);
    };
    let begin = move |event: leptos::ev::PointerEvent| {
        if event.button() == 0 {
            stop();
            hold(quarters, timer, done);
        }
    };
    let by_key = move |event: leptos::ev::MouseEvent| {
        // A press by a pointer ends in a click too: only one by key or by an assistant's has no pointer's detail.
        if event.detail() != 0 {
            return;
        }
        if armed.get_untracked() {
            armed.set(false);
            done.run(());
        } else {
            armed.set(true);
            set_timeout(move || _ = armed.try_set(false), ARMED);
        }
    };
    on_cleanup(stop);
    let hint = move || if armed.get() { t!("press-again") } else { hint.get() };
    view! {
        <button type="button" class=move || format!("btn btn--lg press press--{} {class}", quarters.get())
            on:pointerdown=begin on:pointerup=move |_| stop() on:pointerleave=move |_| stop()
            on:pointercancel=move |_| stop() on:contextmenu=|event| event.prevent_default() on:click=by_key>
            <span class="two">{label}<small aria-live="polite">{hint}</small></span>
        </button>
    }
}

/// One quarter after the other, till the fourth.
fn hold(quarters: RwSignal<u8>, timer: StoredValue<Option<TimeoutHandle>, LocalStorage>, done: UnsyncCallback<()>) {
    let next = set_timeout_with_handle(
        move || {
            let Some(so_far) = quarters.try_get_untracked() else { return };
            if so_far < 3 {
                quarters.set(so_far + 1);
                hold(quarters, timer, done);
            } else {
                quarters.set(0);
                done.run(());
            }
        },
        QUARTER,
    );
    // A browser without timers signs by keyboard.
    let _ = timer.try_update_value(|kept| *kept = next.ok());
}
