//! The native side of the comparison: the function that the wasm module answers with.

#[path = "../../crates/muster-core/examples/golden_wasm/probe.rs"]
mod probe;

/// Returns the native reply to a request.
pub(crate) fn native(request: &str) -> String {
    probe::answer_json(request)
}
