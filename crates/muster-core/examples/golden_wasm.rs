//! The core as a wasm module without imports: takes a JSON request, gives the JSON reply.
//!
//! `cargo xtask wasm-golden` runs it beside the native function. Memory is handed over and never
//! freed: the host makes a new instance for each request.
#![expect(unsafe_code, reason = "a wasm export hands over memory as an address and a length")]

/// Returns the address of `length` bytes for the host to write a request into.
#[unsafe(no_mangle)]
pub extern "C" fn alloc(length: usize) -> *mut u8 {
    Box::leak(vec![0; length].into_boxed_slice()).as_mut_ptr()
}

/// Answers the request at `address` and returns where the reply is: address << 32 | length.
///
/// # Safety
///
/// `address` comes from [`alloc`], which was given the same `length`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn run(address: *const u8, length: usize) -> u64 {
    // SAFETY: the caller promises that alloc made these bytes; nothing else refers to them.
    let request = unsafe { core::slice::from_raw_parts(address, length) };
    let reply = match core::str::from_utf8(request) {
        Ok(text) => muster_core::answer_json(text),
        Err(error) => format!("{{\"judgement\":null,\"problems\":[\"the question is not UTF-8: {error}\"]}}"),
    };
    let reply = Box::leak(reply.into_bytes().into_boxed_slice());
    (reply.as_ptr() as u64) << 32 | reply.len() as u64
}
