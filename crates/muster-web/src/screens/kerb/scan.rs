//! A machine found by the code on its sticker, through the camera; by its number where there is none.

use std::{
    cell::{Cell, RefCell},
    rc::Rc,
    time::Duration,
};

use leptos::{html::Video, prelude::*, task::spawn_local};
use leptos_router::{NavigateOptions, hooks::use_navigate};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    CanvasRenderingContext2d, HtmlCanvasElement, HtmlVideoElement, MediaStream, MediaStreamConstraints,
    MediaStreamTrack,
};

use super::parts::Bar;
use crate::{
    ui::Banner,
    words::t,
    yard::{Yard, yard},
};

/// Between two looks.
const PAUSE: Duration = Duration::from_millis(180);
/// Side of the picture that is looked at, px: a sticker held at arm's length is read at it, and it decodes at once.
const SIDE: u32 = 480;

/// The camera of this screen; its tracks end with it.
type Camera = Rc<RefCell<Option<MediaStream>>>;

/// The screen.
#[component]
pub(crate) fn Scan() -> impl IntoView {
    let (yard, navigate) = (yard(), use_navigate());
    let (typed, trouble) = (RwSignal::new(String::new()), RwSignal::new(None::<String>));
    let video = NodeRef::<Video>::new();
    let found = StoredValue::new_local(move |text: &str| match address_of(yard, text) {
        Some(address) => {
            navigate(&address, NavigateOptions::default());
            true
        }
        None => {
            trouble.set(Some(t!("not-ours", code = text.chars().take(60).collect::<String>())));
            false
        }
    });
    let (camera, is_open) = (Camera::default(), Rc::new(Cell::new(true)));
    let kept = StoredValue::new_local((camera.clone(), is_open.clone()));
    on_cleanup(move || {
        kept.with_value(|(camera, is_open)| {
            is_open.set(false);
            stop(camera);
        });
    });
    video.on_load(move |video| {
        spawn_local(async move {
            match open(&video, &camera).await {
                Ok(()) if is_open.get() => {
                    look(video, camera, is_open, move |text| found.with_value(|found| found(text))).await;
                }
                // The screen was left while the camera was asked for.
                Ok(()) => stop(&camera),
                Err(why) => trouble.set(Some(why)),
            }
        });
    });
    let submit = move |event: leptos::ev::SubmitEvent| {
        event.prevent_default();
        let text = typed.get_untracked();
        if !text.trim().is_empty() {
            found.with_value(|found| found(text.trim()));
        }
    };
    view! {
        <div class="phone touch">
            <Bar title=t!("scan") beside=t!("scan-beside") sub=String::new() back="/".to_owned() leave=t!("to-the-yard")/>
            <Banner/>
            <main tabindex="0">
                <h1 class="vh">{t!("scan-title")}</h1>
                <div class="kcam"><video node_ref=video muted playsinline aria-label=t!("camera")></video><i aria-hidden="true"></i></div>
                <section class="sec">
                    <p>{t!("scan-how")}</p>
                    {move || trouble.get().map(|why| view! { <p class="err" role="alert">{why}</p> })}
                    <form class="form" on:submit=submit>
                        <label class="field"><span>{t!("or-number")}</span>
                            <input class="input" autocomplete="off" autocapitalize="characters" bind:value=typed/></label>
                        <button class="btn btn--primary btn--lg">{t!("kerb-find-machine")}</button>
                    </form>
                </section>
            </main>
        </div>
    }
}

/// Where a code leads here: a machine, a numbered tag, a record, the yard's paper; a typed number is a machine's, else a tag's.
fn address_of(yard: Yard, text: &str) -> Option<String> {
    let hash = text.split_once('#').map(|(_, hash)| hash).filter(|hash| !hash.is_empty());
    let hash = hash.map(|hash| format!("#{hash}")).unwrap_or_default();
    let path = text.split(['?', '#']).next().unwrap_or(text).trim_end_matches('/');
    let behind = |step: &str| path.split_once(step).map(|(_, name)| name).filter(|name| !name.contains('/'));
    if let Some(number) = behind("/tags/") {
        return Some(format!("/tags/{number}"));
    }
    if let Some(event) = behind("/records/") {
        return Some(format!("/records/{event}{hash}"));
    }
    if path.contains("://") && path.ends_with("/paper") {
        return Some(format!("/paper{hash}"));
    }
    if let Some(machine) = machine_of(yard, text) {
        return Some(format!("/machines/{machine}{hash}"));
    }
    let is_number = !path.is_empty() && path.bytes().all(|sign| sign.is_ascii_digit());
    is_number.then(|| format!("/tags/{path}"))
}

/// The machine a code or a typed number names: an address that ends in `/machines/ID`, or the number alone.
fn machine_of(yard: Yard, text: &str) -> Option<String> {
    let path = text.split(['?', '#']).next().unwrap_or(text).trim_end_matches('/');
    let number = match path.split_once("/machines/") {
        Some((_, number)) => js_sys::decode_uri_component(number).ok()?.as_string()?,
        None => path.trim().to_owned(),
    };
    let bare = |text: &str| text.chars().filter(|sign| sign.is_alphanumeric()).collect::<String>().to_lowercase();
    let machines = untrack(|| yard.machines());
    let exact = machines.iter().find(|id| **id == number).cloned();
    exact.or_else(|| machines.into_iter().find(|id| bare(id) == bare(&number) && !bare(&number).is_empty()))
}

/// Ends the camera's tracks: its lamp goes out.
fn stop(camera: &Camera) {
    if let Some(stream) = camera.borrow_mut().take() {
        stream.get_tracks().iter().for_each(|track| track.unchecked_into::<MediaStreamTrack>().stop());
    }
}

/// Opens the camera at the back and shows it.
async fn open(video: &HtmlVideoElement, camera: &Camera) -> Result<(), String> {
    let none = |_: JsValue| t!("no-camera");
    let media = window().navigator().media_devices().map_err(none)?;
    // On a page without a secure connection the browser has the name and nothing behind it.
    if media.is_undefined() {
        return Err(t!("no-camera"));
    }
    let wanted = MediaStreamConstraints::new();
    let back = js_sys::Object::new();
    js_sys::Reflect::set(&back, &"facingMode".into(), &"environment".into()).map_err(none)?;
    wanted.set_video(&back);
    let asked = media.get_user_media_with_constraints(&wanted).map_err(none)?;
    let stream: MediaStream = JsFuture::from(asked).await.map_err(none)?.unchecked_into();
    video.set_src_object(Some(&stream));
    *camera.borrow_mut() = Some(stream);
    JsFuture::from(video.play().map_err(none)?).await.map_err(none)?;
    Ok(())
}

/// Looks till something is found or the screen is left.
async fn look(video: HtmlVideoElement, camera: Camera, is_open: Rc<Cell<bool>>, found: impl Fn(&str) -> bool) {
    let own = own_detector();
    let Some(canvas) = canvas() else { return };
    while is_open.get() {
        let text = match &own {
            Some(detector) => by_browser(detector, &video).await,
            None => by_pixels(&canvas, &video),
        };
        if let Some(text) = text
            && is_open.get()
            && found(&text)
        {
            return stop(&camera);
        }
        pause().await;
    }
}

async fn pause() {
    let waited = js_sys::Promise::new(&mut |done, _| {
        // A browser without timers is none.
        let _ = window().set_timeout_with_callback_and_timeout_and_arguments_0(&done, PAUSE.as_millis() as i32);
    });
    let _ = JsFuture::from(waited).await;
}

/// The browser's own reader of codes, where it has one for QR.
fn own_detector() -> Option<JsValue> {
    let class: js_sys::Function = js_sys::Reflect::get(&window(), &"BarcodeDetector".into()).ok()?.dyn_into().ok()?;
    let options = js_sys::Object::new();
    js_sys::Reflect::set(&options, &"formats".into(), &js_sys::Array::of1(&"qr_code".into())).ok()?;
    js_sys::Reflect::construct(&class, &js_sys::Array::of1(&options)).ok()
}

async fn by_browser(detector: &JsValue, video: &HtmlVideoElement) -> Option<String> {
    let detect: js_sys::Function = js_sys::Reflect::get(detector, &"detect".into()).ok()?.dyn_into().ok()?;
    let asked: js_sys::Promise = detect.call1(detector, video).ok()?.dyn_into().ok()?;
    let codes: js_sys::Array = JsFuture::from(asked).await.ok()?.dyn_into().ok()?;
    js_sys::Reflect::get(&codes.get(0), &"rawValue".into()).ok()?.as_string()
}

fn canvas() -> Option<(HtmlCanvasElement, CanvasRenderingContext2d)> {
    let canvas: HtmlCanvasElement = document().create_element("canvas").ok()?.dyn_into().ok()?;
    canvas.set_width(SIDE);
    canvas.set_height(SIDE);
    let context = canvas.get_context("2d").ok()??.dyn_into().ok()?;
    Some((canvas, context))
}

/// Reads the middle square of the picture here, without the browser's help.
fn by_pixels((_, context): &(HtmlCanvasElement, CanvasRenderingContext2d), video: &HtmlVideoElement) -> Option<String> {
    let (width, height) = (f64::from(video.video_width()), f64::from(video.video_height()));
    let square = width.min(height);
    if square <= 0.0 {
        return None;
    }
    let (left, top, side) = ((width - square) / 2.0, (height - square) / 2.0, f64::from(SIDE));
    context
        .draw_image_with_html_video_element_and_sw_and_sh_and_dx_and_dy_and_dw_and_dh(
            video, left, top, square, square, 0.0, 0.0, side, side,
        )
        .ok()?;
    let pixels = context.get_image_data(0.0, 0.0, side, side).ok()?.data();
    let side = SIDE as usize;
    let mut picture = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| {
        let at = (y * side + x) * 4;
        let part = |offset: usize| pixels.get(at + offset).copied().map_or(0, u32::from);
        // Luma of ITU-R BT.601, in 256ths.
        ((part(0) * 77 + part(1) * 150 + part(2) * 29) >> 8) as u8
    });
    picture.detect_grids().into_iter().find_map(|grid| grid.decode().ok()).map(|(_, text)| text)
}
