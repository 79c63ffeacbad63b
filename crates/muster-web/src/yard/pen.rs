//! Two tabs of one browser: one writes, by a lock of the browser, the others look.

use leptos::{prelude::*, task::spawn_local};
use wasm_bindgen::{JsCast, closure::Closure};

use super::Yard;

impl Yard {
    /// Two tabs would write one series twice: the first holds the pen, the others look till it is put down.
    pub(super) fn hold_the_pen(self) {
        self.ask_for_the_pen(true);
    }

    /// Asks for it as it is now, or waits for it.
    fn ask_for_the_pen(self, if_free: bool) {
        // The bindings hold this API back as unstable; every browser that runs the app has it.
        let get = |of: &wasm_bindgen::JsValue, name: &str| js_sys::Reflect::get(of, &name.into()).ok();
        let locks = get(&window().navigator(), "locks").filter(|locks| !locks.is_undefined());
        let request = locks.as_ref().and_then(|locks| get(locks, "request")?.dyn_into::<js_sys::Function>().ok());
        let (Some(locks), Some(request)) = (locks, request) else { return };
        self.link.update(|link| (link.other_tab, link.is_other) = (true, !if_free));
        let answered =
            Closure::<dyn FnMut(wasm_bindgen::JsValue) -> js_sys::Promise>::new(move |lock: wasm_bindgen::JsValue| {
                if lock.is_null() {
                    self.ask_for_the_pen(false);
                    return js_sys::Promise::resolve(&lock);
                }
                self.link.update(|link| (link.other_tab, link.is_other) = (false, false));
                if !if_free {
                    // What the other tab wrote is on the disk.
                    spawn_local(async move {
                        let _ = self.recall().await;
                        self.sync_soon();
                    });
                }
                // Never fulfilled: the pen is put down when the tab closes.
                js_sys::Promise::new(&mut |_, _| {})
            });
        let options = js_sys::Object::new();
        // Setting a field of a fresh object cannot fail.
        let _ = js_sys::Reflect::set(&options, &"ifAvailable".into(), &if_free.into());
        // The lock's own end is the tab's.
        let _ = request.call3(&locks, &"muster-pen".into(), &options, answered.as_ref());
        answered.forget();
    }
}
