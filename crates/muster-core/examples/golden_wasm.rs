//! The core as a wasm module without imports: both doors take a JSON request and give the JSON reply.
//!
//! `cargo xtask wasm-golden` runs it beside the native functions. Memory is handed over and never
//! freed: the host makes a new instance for each request.
#![expect(unsafe_code, reason = "a wasm export hands over memory as an address and a length")]

/// Returns the address of `length` bytes for the host to write a request into.
#[unsafe(no_mangle)]
pub extern "C" fn alloc(length: usize) -> *mut u8 {
    Box::leak(vec![0; length].into_boxed_slice()).as_mut_ptr()
}

/// Judges what the request at `address` asks and returns where the reply is: address << 32 | length.
///
/// # Safety
///
/// `address` comes from [`alloc`], which was given the same `length`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn judge(address: *const u8, length: usize) -> u64 {
    // SAFETY: the caller promises what `text` needs.
    reply(muster_core::answer_json(&unsafe { text(address, length) }))
}

/// Plans the walk-round the request at `address` asks for and returns where the reply is, as [`judge`] does.
///
/// # Safety
///
/// `address` comes from [`alloc`], which was given the same `length`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn walk_round(address: *const u8, length: usize) -> u64 {
    // SAFETY: the caller promises what `text` needs.
    reply(muster_core::walk_round_json(&unsafe { text(address, length) }))
}

/// What is not UTF-8 becomes a text no question can be, and is refused as one.
///
/// # Safety
///
/// `address` comes from [`alloc`], which was given the same `length`.
unsafe fn text(address: *const u8, length: usize) -> String {
    // SAFETY: the caller promises that alloc made these bytes; nothing else refers to them.
    let bytes = unsafe { core::slice::from_raw_parts(address, length) };
    String::from_utf8_lossy(bytes).into_owned()
}

fn reply(text: String) -> u64 {
    let text = Box::leak(text.into_bytes().into_boxed_slice());
    (text.as_ptr() as u64) << 32 | text.len() as u64
}
