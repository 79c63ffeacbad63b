//! The service worker: registered at the start; a new version waits till somebody takes it over.

use leptos::{prelude::*, task::spawn_local};
use wasm_bindgen::{JsCast, closure::Closure};
use wasm_bindgen_futures::JsFuture;
use web_sys::{ServiceWorker, ServiceWorkerRegistration};

thread_local! {
    // Nobody owns it: it outlives whichever screen looked at it first.
    static WAITING: ArcRwSignal<Option<ServiceWorkerRegistration>> = ArcRwSignal::new(None);
}

/// Makes what is waited for before any screen is there: made within a screen it would go with it.
pub(crate) fn prepare() {
    WAITING.with(|_| ());
}

/// Registers the worker that keeps the app for when there is no signal.
pub(crate) fn register() {
    spawn_local(async {
        let container = window().navigator().service_worker();
        if container.is_undefined() {
            return;
        }
        // Without one the app works as long as there is signal, and its banner says so.
        let Ok(registered) = JsFuture::from(container.register("/sw.js")).await else { return };
        watch(registered.unchecked_into());
    });
}

/// Whether a newer version waits. Nobody is pulled out of a walk-round: it is taken over by a press.
pub(crate) fn waits() -> bool {
    WAITING.with(|waiting| waiting.with(Option::is_some))
}

/// Asks whether there is a newer version now, not at the browser's own time.
pub(crate) fn look_for_newer() {
    spawn_local(async {
        let container = window().navigator().service_worker();
        if container.is_undefined() {
            return;
        }
        let Ok(found) = JsFuture::from(container.get_registration()).await else { return };
        if let Ok(registration) = found.dyn_into::<ServiceWorkerRegistration>() {
            // One that cannot be asked is asked by the browser.
            let _ = registration.update();
        }
    });
}

/// Takes the newer version over, and begins anew with it.
pub(crate) fn take_over() {
    let waiting =
        WAITING.with(|waiting| waiting.with_untracked(|of| of.as_ref().and_then(ServiceWorkerRegistration::waiting)));
    let Some(worker) = waiting else { return };
    let reload = Closure::<dyn FnMut()>::new(|| {
        // A page that cannot be reloaded goes on with the version it has.
        let _ = window().location().reload();
    });
    let container = window().navigator().service_worker();
    let _ = container.add_event_listener_with_callback("controllerchange", reload.as_ref().unchecked_ref());
    reload.forget();
    let _ = worker.post_message(&"take over".into());
}

fn watch(registration: ServiceWorkerRegistration) {
    if registration.waiting().is_some() {
        WAITING.with(|waiting| waiting.set(Some(registration.clone())));
    }
    let of = registration.clone();
    let found = Closure::<dyn FnMut()>::new(move || {
        let Some(installing) = of.installing() else { return };
        let (of, worker) = (of.clone(), installing.clone());
        let changed = Closure::<dyn FnMut()>::new(move || {
            let running = window().navigator().service_worker().controller().is_some();
            if installed(&worker) && running {
                WAITING.with(|waiting| waiting.set(Some(of.clone())));
            }
        });
        let _ = installing.add_event_listener_with_callback("statechange", changed.as_ref().unchecked_ref());
        changed.forget();
    });
    let _ = registration.add_event_listener_with_callback("updatefound", found.as_ref().unchecked_ref());
    found.forget();
}

fn installed(worker: &ServiceWorker) -> bool {
    worker.state() == web_sys::ServiceWorkerState::Installed
}
