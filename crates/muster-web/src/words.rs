//! Every word a person reads, from Fluent files; one language a file, chosen by what the browser asks for.
//!
//! What the core says of a machine comes as it says it; what surrounds it stands in `words/`.

use std::cell::OnceCell;

use fluent_bundle::{FluentArgs, FluentBundle, FluentResource, FluentValue};
use unic_langid::LanguageIdentifier;

use crate::pace::Pace;

/// The languages there are: tag, texts. The first is spoken where none of the asked for is.
const LANGUAGES: &[(&str, &[&str])] = &[(
    "en-GB",
    &[
        include_str!("../words/en/common.ftl"),
        include_str!("../words/en/walk.ftl"),
        include_str!("../words/en/kerb.ftl"),
        include_str!("../words/en/outing.ftl"),
        include_str!("../words/en/desk.ftl"),
        include_str!("../words/en/people.ftl"),
        include_str!("../words/en/paper.ftl"),
        include_str!("../words/en/wear.ftl"),
    ],
)];

thread_local! {
    static SPOKEN: OnceCell<FluentBundle<FluentResource>> = const { OnceCell::new() };
}

/// Reads the texts, which is done once and takes its time: a file a turn.
pub(crate) async fn prepare(pace: &Pace) {
    let (mut bundle, texts) = empty();
    for text in texts {
        add(&mut bundle, text);
        pace.turn().await;
    }
    // Whoever could not wait has read them already.
    SPOKEN.with(|spoken| _ = spoken.set(bundle));
}

/// A message by its name. A name nobody has written is shown as it is, so that it is seen; a test finds it first.
pub(crate) fn words(name: &str, values: &[(&str, FluentValue<'_>)]) -> String {
    SPOKEN.with(|spoken| {
        let bundle = spoken.get_or_init(bundle);
        let Some(pattern) = bundle.get_message(name).and_then(|message| message.value()) else {
            return name.to_owned();
        };
        let args: FluentArgs<'_> = values.iter().map(|(name, value)| (*name, value.clone())).collect();
        // A value that is missing is written as its name in braces.
        bundle.format_pattern(pattern, Some(&args), &mut Vec::new()).into_owned()
    })
}

/// `t!("name")`, `t!("name", count = 3, machine = id)`: a message with its values.
macro_rules! t {
    ($name:literal $(, $key:ident = $value:expr)* $(,)?) => {
        $crate::words::words($name, &[$((stringify!($key), ::fluent_bundle::FluentValue::from($value)),)*])
    };
}
pub(crate) use t;

fn bundle() -> FluentBundle<FluentResource> {
    let (mut bundle, texts) = empty();
    texts.iter().for_each(|text| add(&mut bundle, text));
    bundle
}

/// A bundle in the language spoken, and the texts to go into it.
fn empty() -> (FluentBundle<FluentResource>, &'static [&'static str]) {
    let asked: Vec<String> =
        leptos::prelude::window().navigator().languages().iter().filter_map(|tag| tag.as_string()).collect();
    let spoken = |tag: &str| LANGUAGES.iter().find(|(own, _)| language(own) == language(tag));
    let (tag, texts) = asked.iter().find_map(|tag| spoken(tag)).unwrap_or(&LANGUAGES[0]);
    let tag: LanguageIdentifier = tag.parse().unwrap_or_default();
    let mut bundle = FluentBundle::new([tag].into());
    // Names and figures come with their own spaces; marks around them would be read out.
    bundle.set_use_isolating(false);
    (bundle, texts)
}

fn add(bundle: &mut FluentBundle<FluentResource>, text: &str) {
    let resource = FluentResource::try_new(text.to_owned()).unwrap_or_else(|(resource, _)| resource);
    // The first of two messages of one name stands.
    let _ = bundle.add_resource(resource);
}

fn language(tag: &str) -> &str {
    tag.split('-').next().unwrap_or(tag)
}
