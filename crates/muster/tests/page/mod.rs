//! The page of a verdict: what it says, that it needs nothing beside it, and that no form can break out of it.

mod judged;

use std::{fs, path::Path};

use muster::page::page;
use muster_core::{judge::Judgement, words::Use};

use self::judged::{fit, hold, hostile, unseen, watch};

const YARD: &str = "Harrow Lane Riding School";

/// The page, kept beside the test's other files so that a browser can open it.
fn written(name: &str, judgement: &Judgement) -> String {
    let html = page(judgement, YARD);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("pages");
    fs::create_dir_all(&folder).expect("a folder for the pages");
    fs::write(folder.join(format!("{name}.html")), &html).expect("the page is written");
    html
}

/// The page's text without its style and its tags, as somebody hears it.
fn spoken(html: &str) -> String {
    let (_, body) = html.split_once("<body>").expect("a body");
    let mut out = String::new();
    let mut is_tag = false;
    for character in body.chars() {
        match character {
            '<' => is_tag = true,
            '>' => {
                is_tag = false;
                out.push(' ');
            }
            other if !is_tag => out.push(other),
            _ => {}
        }
    }
    out.replace('\u{a0}', " ").split_whitespace().collect::<Vec<_>>().join(" ").replace(" :", ":").replace(" .", ".")
}

#[track_caller]
fn says(html: &str, expected: &[&str]) {
    let spoken = spoken(html);
    for text in expected {
        assert!(spoken.contains(text), "{text:?} is not in:\n{spoken}");
    }
}

#[test]
fn a_fit_machine() {
    let html = written("fit", &fit());
    says(
        &html,
        &[
            "Fit May go out on the range. Four checks fit.",
            "fit for every use",
            "Nothing speaks against it for use: range.",
            "set: found 33.5 psi, pumped, now 36.1 psi",
            "Looked at: Front brake action, chain guard.",
        ],
    );
    assert!(!html.contains("What clears it"));
}

#[test]
fn a_machine_to_watch_on_the_range_and_on_hold_for_the_road() {
    let html = written("watch", &watch());
    says(
        &html,
        &[
            "Watch May go out on the range, one condition.",
            "range watch",
            "road hold, mirrors",
            "Road, passenger, dark: mirrors hold, class major",
            "No left mirror.",
            "Not for use: road, passenger, dark, until it is mounted.",
            "Conditions Pads job booked, before 12 700 km.",
            "margin 0.3 mm",
        ],
    );
    assert!(html.contains(
        "aria-label=\"Front pads: 1.8\u{a0}±0.1\u{a0}mm; at least 1.5\u{a0}mm; margin 0.3\u{a0}mm; watch.\""
    ));
}

#[test]
fn a_machine_on_hold() {
    let html = written("hold", &hold());
    says(
        &html,
        &[
            "Hold Must not go out: two on hold, two unseen.",
            "hold for every use",
            "past by 0.10 mm",
            "What clears it",
            "Hang a hold tag; have it put right, then read again: front disc thickness",
            "As known at 2026-11-24 07:52 +00:00",
            "T. Mwangi, 2026-11-24 07:31 +00:00",
        ],
    );
    let spoken = spoken(&html);
    let first = spoken.find("Front disc thickness hold").expect("the disc");
    let last = spoken.find("Gear lever play watch").expect("the lever");
    assert!(first < last, "worst first");
}

#[test]
fn a_machine_with_much_unseen_and_two_to_set() {
    let html = written("unseen", &unseen());
    says(
        &html,
        &[
            "Unseen Must not go out on the range yet: two to set, four unseen.",
            "Rear tyre pressure to set, class major",
            "Pump to 38.4 psi on the gauge now, read again.",
            "35.8 psi on the gauge",
            "Three checks unseen up to class dangerous",
            "Brake hoses, horn: answered 2026-11-18, counts 3 days.",
            "Do these checks again: rear brake action, brake hoses, horn",
            "Could not see: no paddock stand free.",
        ],
    );
    assert!(html.contains("class=\"ruler set\""));
    assert!(!html.contains("to set: "), "the step is said once, in its heading");
}

#[test]
fn nothing_a_form_says_becomes_a_part_of_the_page() {
    let html = written("hostile", &hostile());
    let body = html.split_once("<body>").expect("a body").1;
    assert!(!body.contains("<script"), "a tag came through");
    assert!(!body.contains("onload=\"x"), "an attribute came through");
    assert!(!body.contains("<b>bold"), "a tag came through");
    assert!(body.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    assert!(body.contains("Nuts &amp; bolts"));
    assert!(body.contains("aria-label=\"Pads &quot; onload=&quot;x"), "a quote ended an attribute");
    assert_eq!(body.matches('<').count(), body.matches('>').count());
}

#[test]
fn a_page_needs_nothing_beside_it_and_stays_small() {
    for judgement in [fit(), watch(), hold(), unseen(), hostile()] {
        let html = page(&judgement, YARD);
        assert!(html.starts_with("<!doctype html>\n<html lang=\"en-GB\">"));
        assert!(!html.contains("http"), "it names an address");
        assert!(!html.contains("<script") && !html.contains("<link") && !html.contains("@import"));
        for (at, _) in html.match_indices("url(") {
            let to = &html[at + 4..];
            assert!(to.starts_with('#') || to.starts_with("data:font/woff2;"), "{}", &to[..20]);
        }
        assert!(html.len() < 120_000, "{} bytes", html.len());
    }
}

#[test]
fn headings_descend_one_level_at_a_time_and_ids_are_told_once() {
    for judgement in [fit(), watch(), hold(), unseen()] {
        let html = page(&judgement, YARD);
        let levels: Vec<u8> =
            html.match_indices("<h").filter_map(|(at, _)| html.as_bytes().get(at + 2)).copied().collect();
        let levels: Vec<u8> = levels.into_iter().filter(u8::is_ascii_digit).map(|digit| digit - b'0').collect();
        assert_eq!(levels.first(), Some(&1));
        assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
        assert!(levels.windows(2).all(|pair| pair[1] <= pair[0] + 1), "{levels:?}");
        let mut ids: Vec<&str> = html.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
        let count = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), count);
    }
}

#[test]
fn every_drawing_is_told_or_hidden() {
    for judgement in [fit(), watch(), hold(), unseen()] {
        let html = page(&judgement, YARD);
        for svg in html.split("<svg class=\"").skip(1).filter_map(|rest| rest.split('>').next()) {
            let is_told = svg.contains("role=\"img\"") && svg.contains("aria-label=\"");
            assert!(is_told || svg.contains("aria-hidden=\"true\""), "{svg}");
        }
    }
}

#[test]
fn a_page_without_an_outing_leads_with_the_range() {
    let judgement = Judgement { planned: None, known_at: None, ..hold() };
    says(&page(&judgement, YARD), &["No outing planned: judged for the range.", "Nothing is known of it yet."]);
    let road = Judgement { planned: Some(Use::Road), ..watch() };
    says(&page(&road, YARD), &["Must not go out on the road: one on hold.", "Mirrors hold, class major"]);
}

#[test]
fn a_judgement_of_nothing_is_unseen() {
    let judgement = Judgement { uses: Vec::new(), ..fit() };
    says(&page(&judgement, YARD), &["Unseen Nothing is known of it."]);
}
