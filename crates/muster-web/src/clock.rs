//! What time it is: the browser's, put right by what the server last said.

use std::cell::Cell;

use jiff::{Timestamp, tz::Offset};
use js_sys::{Array, Function, Object, Reflect};
use muster_core::calendar::Moment;
use wasm_bindgen::{JsCast, JsValue};

/// The server is believed from this on, in seconds: its answer takes its time, and seconds are cut off on both sides.
const JITTER_S: i64 = 3;
/// A phone's clock is told to be wrong from this on, in seconds.
pub(crate) const WRONG_S: i64 = 120;

thread_local! {
    static AHEAD_S: Cell<i64> = const { Cell::new(0) };
    static LEARNT: Cell<bool> = const { Cell::new(false) };
    static LAST: Cell<i64> = const { Cell::new(i64::MIN) };
}

/// Now, with the offset people here live by. It never goes back by a little: what was read after an act must not seem to
/// have been read before it.
pub(crate) fn now() -> Moment {
    let told = (js_sys::Date::now() / 1000.0) as i64 + AHEAD_S.get();
    let second = if (1..=2 * JITTER_S).contains(&LAST.get().saturating_sub(told)) { LAST.get() } else { told };
    LAST.set(second);
    let own = -(js_sys::Date::new_0().get_timezone_offset() as i32) * 60;
    let offset = Offset::from_seconds(own).unwrap_or(Offset::UTC);
    Moment::new(Timestamp::from_second(second).unwrap_or(Timestamp::UNIX_EPOCH), offset)
}

/// Does something, and tells whoever measures how long it took by the browser's own account (W3C User Timing). Nothing is
/// kept: only an observer hears of it.
pub(crate) fn timed<T>(what: &str, act: impl FnOnce() -> T) -> T {
    let performance = Reflect::get(&js_sys::global(), &"performance".into()).ok();
    let call = |name: &str, given: &[&JsValue]| {
        let performance = performance.as_ref()?;
        let function = Reflect::get(performance, &name.into()).ok()?.dyn_into::<Function>().ok()?;
        function.apply(performance, &given.iter().copied().collect::<Array>()).ok()
    };
    let began = call("now", &[]);
    let done = act();
    if let Some(began) = began {
        // Without an end it is now.
        let span = Object::new();
        _ = Reflect::set(&span, &"start".into(), &began);
        _ = call("measure", &[&what.into(), &span]);
        _ = call("clearMeasures", &[&what.into()]);
    }
    done
}

/// The moment when clocks here showed a date and a time; none for what is neither.
pub(crate) fn local(date: &str, time: &str) -> Option<Moment> {
    let shown = js_sys::Date::new(&format!("{date}T{time}:00").into());
    // A date that is none has no time either.
    let second = Some(shown.get_time() / 1000.0).filter(|second| second.is_finite())? as i64;
    let offset = Offset::from_seconds(-(shown.get_timezone_offset() as i32) * 60).ok()?;
    Some(Moment::new(Timestamp::from_second(second).ok()?, offset))
}

/// Learns the time from the server. What the phone's own clock says is testimony; this is what is shown and written.
pub(crate) fn learn(server: Moment) {
    let second = (js_sys::Date::now() / 1000.0) as i64;
    let ahead = server.timestamp().as_second() - second;
    if (ahead - AHEAD_S.get()).abs() >= JITTER_S {
        AHEAD_S.set(ahead);
    }
    LEARNT.set(true);
}

/// How far the phone's clock is behind the server's, in seconds; none if it agrees well enough.
pub(crate) fn wrong_by_s() -> Option<i64> {
    Some(AHEAD_S.get()).filter(|seconds| seconds.abs() >= WRONG_S)
}

/// What was learnt, to be kept for when there is no signal.
pub(crate) fn learnt() -> i64 {
    AHEAD_S.get()
}

/// Takes up what was learnt before, unless the server has said it anew: the disk may be behind.
pub(crate) fn recall(ahead_s: i64) {
    if !LEARNT.get() {
        AHEAD_S.set(ahead_s);
    }
}
