//! What follows when something was waited for.

use leptos::{prelude::*, task::spawn_local};

/// Waits, then tells what came of it as if it were told where it was asked: a toast finds its place.
pub(crate) fn after<T: 'static>(work: impl Future<Output = T> + 'static, told: impl FnOnce(T) + 'static) {
    let owner = Owner::current();
    spawn_local(async move {
        let done = work.await;
        match owner {
            Some(owner) => owner.with(|| told(done)),
            None => told(done),
        }
    });
}
