//! Which screen stands at which address.

use leptos::prelude::*;
use leptos_router::{
    hooks::use_location,
    location::{BrowserUrl, LocationProvider},
};

/// Makes a screen.
pub(crate) type Make = fn() -> AnyView;

/// A pattern of an address, `:name` standing for any one step of it, and the screen there.
pub(crate) type Route = (&'static str, Make);

/// What stands in an address for the names of its pattern.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Params(Vec<(&'static str, String)>);

impl Params {
    /// What stands for a name of the pattern.
    pub(crate) fn get(&self, name: &str) -> Option<String> {
        self.0.iter().find(|(own, _)| *own == name).map(|(_, value)| value.clone())
    }
}

/// What the address says to the screen that asks; a screen that is being left keeps what it was told.
pub(crate) fn params() -> Memo<Params> {
    expect_context()
}

/// The screen that the address names, made anew only when it is another one.
#[component]
pub(crate) fn Screens(
    /// Every screen there is.
    routes: &'static [Route],
    /// Where nothing is.
    nowhere: Make,
) -> impl IntoView {
    let path = use_location().pathname;
    let at = Memo::new(move |_| path.with(|path| find(routes, path)));
    let which = Memo::new(move |_| at.with(|at| at.as_ref().map(|(index, _)| *index)));
    let browser = use_context::<BrowserUrl>();
    Effect::new(move |_| {
        path.track();
        // Only now does the address bar follow.
        if let Some(browser) = &browser {
            browser.ready_to_complete();
        }
    });
    move || {
        let own = which.get();
        let Some((index, (_, make))) = own.and_then(|index| Some((index, routes.get(index)?))) else {
            return nowhere();
        };
        provide_context(Memo::new(move |before: Option<&Params>| {
            let here = at.with(|at| at.as_ref().filter(|(now, _)| *now == index).map(|(_, params)| params.clone()));
            here.or_else(|| before.cloned()).unwrap_or_default()
        }));
        make()
    }
}

fn find(routes: &[Route], path: &str) -> Option<(usize, Params)> {
    routes.iter().enumerate().find_map(|(index, (pattern, _))| Some((index, fits(pattern, path)?)))
}

fn fits(pattern: &'static str, path: &str) -> Option<Params> {
    let mut steps = path.trim_end_matches('/').split('/');
    let mut params = Vec::new();
    for wanted in pattern.trim_end_matches('/').split('/') {
        let step = steps.next()?;
        match wanted.strip_prefix(':') {
            Some(name) if !step.is_empty() => params.push((name, decoded(step))),
            None if wanted == step => {}
            _ => return None,
        }
    }
    steps.next().is_none().then_some(Params(params))
}

fn decoded(step: &str) -> String {
    js_sys::decode_uri_component(step).map_or_else(|_| step.to_owned(), String::from)
}
