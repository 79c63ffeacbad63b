//! A figure with a smaller and a larger button: for gloves; it may be typed too.

use leptos::prelude::*;
use muster_core::yard::Units;

use crate::{ui::Icon, words::t};

/// How a figure goes up and down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Steps {
    /// By how much.
    by: f64,
    /// The least; below it nothing is told.
    least: f64,
    /// The most.
    most: f64,
    /// Where it begins.
    first: f64,
}

impl Steps {
    const fn new(by: f64, least: f64, most: f64, first: f64) -> Self {
        Self { by, least, most, first }
    }

    /// A person in kit.
    pub(crate) const fn person(units: Units) -> Self {
        match units {
            Units::Si => Self::new(1.0, 20.0, 250.0, 75.0),
            Units::Us => Self::new(2.0, 44.0, 550.0, 166.0),
        }
    }

    /// An inseam.
    pub(super) const fn inseam(units: Units) -> Self {
        match units {
            Units::Si => Self::new(10.0, 500.0, 1100.0, 800.0),
            Units::Us => Self::new(0.5, 20.0, 43.0, 31.5),
        }
    }

    /// Luggage at one place.
    pub(super) const fn luggage(units: Units) -> Self {
        match units {
            Units::Si => Self::new(1.0, 1.0, 100.0, 1.0),
            Units::Us => Self::new(2.0, 2.0, 220.0, 2.0),
        }
    }

    /// A way.
    pub(super) const fn way(units: Units) -> Self {
        match units {
            Units::Si => Self::new(10.0, 10.0, 3000.0, 50.0),
            Units::Us => Self::new(5.0, 5.0, 1860.0, 30.0),
        }
    }

    /// A speed.
    pub(super) const fn speed(units: Units) -> Self {
        match units {
            Units::Si => Self::new(10.0, 10.0, 250.0, 90.0),
            Units::Us => Self::new(5.0, 5.0, 155.0, 55.0),
        }
    }

    /// Air.
    pub(super) const fn air(units: Units) -> Self {
        match units {
            Units::Si => Self::new(1.0, -40.0, 55.0, 15.0),
            Units::Us => Self::new(2.0, -40.0, 130.0, 60.0),
        }
    }

    /// A height above the sea.
    pub(super) const fn height(units: Units) -> Self {
        match units {
            Units::Si => Self::new(100.0, 0.0, 7000.0, 100.0),
            Units::Us => Self::new(500.0, 0.0, 22_900.0, 500.0),
        }
    }

    /// What is in the tank or battery, per cent.
    pub(super) const FULL: Self = Self::new(10.0, 0.0, 100.0, 100.0);

    /// A click of preload.
    pub(super) const CLICK: Self = Self::new(1.0, 0.0, 60.0, 0.0);

    /// One step from what is typed; nothing below the least.
    fn from(self, typed: &str, up: bool) -> String {
        let Ok(now) = typed.trim().replace(',', ".").replace('\u{2212}', "-").parse::<f64>() else {
            return if up { shown(self.first) } else { String::new() };
        };
        let next = if up { now + self.by } else { now - self.by };
        if next < self.least { String::new() } else { shown(next.min(self.most)) }
    }
}

/// As it is typed: no more decimals than it has.
fn shown(value: f64) -> String {
    if value.fract().abs() < 1e-9 { format!("{value:.0}") } else { format!("{value:.1}") }
}

/// The figure.
#[component]
pub(crate) fn Step(
    /// What it is, and its unit.
    #[prop(into)]
    label: String,
    /// As it is typed.
    value: RwSignal<String>,
    /// How it goes up and down.
    steps: Steps,
) -> impl IntoView {
    let (less, more) = (t!("less-of", what = label.as_str()), t!("more-of", what = label.as_str()));
    let (shown_label, group) = (label.clone(), label.clone());
    let press = move |up: bool| value.update(|value| *value = steps.from(value, up));
    view! {
        <div class="field"><span aria-hidden="true">{shown_label}</span>
            <div class="step" role="group" aria-label=group>
                <button type="button" aria-label=less on:click=move |_| press(false)><Icon name="minus"/></button>
                <input inputmode="decimal" autocomplete="off" aria-label=label placeholder="–" bind:value=value/>
                <button type="button" aria-label=more on:click=move |_| press(true)><Icon name="plus"/></button>
            </div>
        </div>
    }
    .into_any()
}
