//! What the page says while the app is fetched.

use leptos::prelude::document;

/// The first screen stands: it takes the place of what the page said till then.
pub(crate) fn opened() {
    if let Some(opening) = document().get_element_by_id("opening") {
        opening.remove();
    }
}
