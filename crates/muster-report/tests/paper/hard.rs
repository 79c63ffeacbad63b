//! What paper has to bear: long names, many findings, missing photos, letters beyond English, scripts beyond the fonts.

use muster_core::{
    form::{Finding, Form},
    words::{Class, Uses},
};
use muster_report::{Photo, Refused, Size, Tag, Walked};

use crate::demo::Demo;

/// A grey picture of one pixel, PNG.
const PIXEL: &[u8] = &[
    0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A, 0x00, 0x00, 0x00, 0x0D, 0x49, 0x48, 0x44, 0x52, 0x00, 0x00, 0x00,
    0x01, 0x00, 0x00, 0x00, 0x01, 0x08, 0x00, 0x00, 0x00, 0x00, 0x3A, 0x7E, 0x9B, 0x55, 0x00, 0x00, 0x00, 0x0A, 0x49,
    0x44, 0x41, 0x54, 0x78, 0xDA, 0x63, 0x68, 0x00, 0x00, 0x00, 0x82, 0x00, 0x81, 0xDA, 0x45, 0x08, 0x3B, 0x00, 0x00,
    0x00, 0x00, 0x49, 0x45, 0x4E, 0x44, 0xAE, 0x42, 0x60, 0x82,
];

fn walked(demo: &Demo, form: &Form, photos: &[Photo], by: &str) -> Result<muster_report::Pdf, Refused> {
    let context = demo.context("H-07", demo.now());
    let judgement = demo.judgement("H-07");
    let name = |_: &str| by.to_string();
    let walked =
        Walked { context: &context, form, judgement: &judgement, photos, name: &name, event: None, seal: None };
    walked.print(&demo.paper(Size::A4))
}

fn finding(number: usize, what: &str) -> Finding {
    Finding {
        id: format!("F-{number}"),
        check: Some("tyre.front.damage".into()),
        what: what.into(),
        class: Class::Minor,
        defect: None,
        lowered: None,
        uses: Uses::ALL,
        by: "x".into(),
        at: muster_core::calendar::Moment::parse("2026-11-24T07:20:00+00:00").unwrap(),
    }
}

fn newest(demo: &Demo) -> Form {
    demo.forms_of("H-07").into_iter().max_by_key(|form| form.opened).unwrap().clone()
}

#[test]
fn forty_findings_with_long_words_and_missing_photos_are_set() {
    let demo = Demo::load();
    let mut form = newest(demo);
    let long = "Scuffedalongthewholeleftsideofthelowerfairingfromthefrontwheeltothepassengerpeg ".repeat(6);
    form.findings = (1..=40).map(|number| finding(number, &long)).collect();
    let photos: Vec<Photo> = (1..=40)
        .map(|number| Photo {
            finding: Some(format!("F-{number}")),
            sha256: "ab".repeat(32),
            bytes: match number % 3 {
                0 => Err("not sent here".into()),
                1 => Ok(vec![0xFF, 0xD8, 0xFF, 0xE0]),
                _ => Ok(PIXEL.to_vec()),
            },
        })
        .collect();
    let pdf =
        walked(demo, &form, &photos, "Maximiliane-Wilhelmine von und zu Hohenstein-Schwarzenfeld-Oberursel").unwrap();
    assert!(pdf.pages > 3);
}

#[test]
fn a_mark_that_is_no_picture_is_refused() {
    let demo = Demo::load();
    for bytes in [b"no picture".to_vec(), vec![0x89, b'P', b'N', b'G', 0]] {
        let paper = muster_report::Paper { mark: Some(bytes), ..demo.paper(Size::A4) };
        let refused = muster_report::TagNumbers { from: 1, count: 1 }.print(&paper).unwrap_err();
        assert_eq!(refused, Refused::Mark);
    }
}

#[test]
fn names_of_other_latin_alphabets_are_set() {
    // Letters of the alphabets as their countries write them, the last with its accents apart: common practice.
    let demo = Demo::load();
    let form = newest(demo);
    for name in [
        "Łukasz Żółć",
        "Ștefan Țurcanu",
        "Jiří Dvořák",
        "Þórður Æsir",
        "Ħal Għaxaq",
        "Gülşen Işık",
        "Dvor\u{30c}a\u{301}k",
    ] {
        assert!(walked(demo, &form, &[], name).is_ok(), "{name}");
    }
}

#[test]
fn a_script_outside_the_fonts_names_its_characters_and_whose_they_are() {
    let demo = Demo::load();
    let refused = walked(demo, &newest(demo), &[], "Олена Коваль").unwrap_err();
    assert_eq!(
        refused.to_string(),
        "the fonts on board have no К (U+041A), О (U+041E), а (U+0430), в (U+0432), е (U+0435), л (U+043B), \
         н (U+043D), о (U+043E), ь (U+044C), as in `Олена Коваль`, the walk-round of H-07 on 2026-11-24: \
         write it in Latin letters"
    );
}

#[test]
fn what_a_person_wrote_is_text_and_never_markup() {
    let demo = Demo::load();
    let mut form = newest(demo);
    let wild = "#panic(\"out\") *bold* $x$ = heading <label> @ref // comment \\ #{ let } [x] `raw` ~ -- \"";
    form.findings = vec![finding(1, wild)];
    assert!(walked(demo, &form, &[], wild).is_ok());
}

#[test]
fn a_long_fleet_number_fits_its_tag() {
    let demo = Demo::load();
    let tag = Tag {
        machine: "RANGE-1024".into(),
        model: "Tamarack Drover".into(),
        why: "the stop lamp stays dark from the front lever and from the pedal, seen twice ".repeat(6),
        since: demo.now(),
        by: None,
        may_move: "pushed; workshop".into(),
        clears: "stop lamp switch mounted".into(),
        number: None,
        seal: None,
    };
    assert_eq!(tag.print(&demo.paper(Size::A4)).unwrap().pages, 1);
}
