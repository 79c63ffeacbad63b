//! Each document is made, on both sizes, with the pages it should have and the same bytes each time.

use muster_core::{
    calendar::Moment,
    words::{Depth, Use},
};
use muster_report::{
    Blank, Dossier, Pdf, Reader, Seal, Size, Slip, Sticker, Tag, TagNumbers, Walked, YardSheet, print,
};

use crate::demo::{COLD, Demo, walk};

const DAY_S: i64 = 86_400;

fn is_pdf(pdf: &Pdf) {
    assert!(pdf.bytes.starts_with(b"%PDF-1.7"), "no PDF 1.7");
    // The markers both standards ask for in the file's own metadata (ISO 14289-1, 5; ISO 19005-2, 6.6.4).
    let text = String::from_utf8_lossy(&pdf.bytes);
    assert!(text.contains("pdfuaid:part") && text.contains("pdfaid:part"), "not marked as PDF/UA and PDF/A");
}

fn seal() -> Option<Seal> {
    Some(Seal { path: "/machines/H-07".into(), hash: "7c2e91d4".repeat(8) })
}

fn form(demo: &Demo, machine: &str, at: Moment, size: Size) -> Pdf {
    let (context, forms) = (demo.context(machine, at), demo.forms_of(machine));
    let walk = walk(&context, &forms, Use::Range);
    let blank = Blank {
        context: &context,
        forms: &forms,
        walk: &walk,
        depth: Depth::BeforeRide,
        planned: Use::Range,
        found: COLD,
        seal: seal(),
    };
    blank.print(&demo.paper(size)).unwrap()
}

#[test]
fn a_form_before_a_ride_is_one_page_on_either_size() {
    let demo = Demo::load();
    for (machine, size) in [("H-07", Size::A4), ("H-07", Size::Letter), ("H-13", Size::A4), ("H-24", Size::Letter)] {
        let pdf = form(demo, machine, demo.now().later_by(DAY_S), size);
        is_pdf(&pdf);
        assert_eq!(pdf.pages, 1, "{machine} on {size:?}");
    }
}

#[test]
fn the_same_values_are_the_same_bytes() {
    let demo = Demo::load();
    let one = form(demo, "H-07", demo.now().later_by(DAY_S), Size::A4);
    let other = form(demo, "H-07", demo.now().later_by(DAY_S), Size::A4);
    assert_eq!(one.sha256(), other.sha256());
}

#[test]
fn the_yard_sheet_lists_every_machine() {
    let demo = Demo::load();
    let judgements = demo.judgements();
    let name = |text: &str| text.to_string();
    let sheet = YardSheet { yard: &demo.yard, judgements: &judgements, now: demo.now(), name: &name, seal: seal() };
    for size in [Size::A4, Size::Letter] {
        let pdf = sheet.print(&demo.paper(size)).unwrap();
        is_pdf(&pdf);
        assert!(pdf.pages <= 2, "{} pages", pdf.pages);
    }
}

#[test]
fn tags_are_a_sheet_each() {
    let demo = Demo::load();
    let tag = Tag {
        machine: "H-08".into(),
        model: "Corvane Pebble".into(),
        why: "Front brake pads past their limit".into(),
        since: demo.now(),
        by: Some("D. Fenwick".into()),
        may_move: "pushed; workshop".into(),
        clears: "pads mounted, front brake walked round again".into(),
        number: Some("0087".into()),
        seal: seal(),
    };
    let pdf = tag.print(&demo.paper(Size::A4)).unwrap();
    is_pdf(&pdf);
    assert_eq!(pdf.pages, 1);
    let numbered = TagNumbers { from: 87, count: 3 }.print(&demo.paper(Size::Letter)).unwrap();
    assert_eq!(numbered.pages, 3);
}

#[test]
fn a_completed_walk_round_a_slip_and_a_dossier_are_made() {
    let demo = Demo::load();
    let now = demo.now();
    let (context, forms, judgement) = (demo.context("H-07", now), demo.forms_of("H-07"), demo.judgement("H-07"));
    let name = |text: &str| text.to_string();
    for size in [Size::A4, Size::Letter] {
        let paper = demo.paper(size);
        let form = forms.iter().max_by_key(|form| form.opened).unwrap();
        let walked = Walked {
            context: &context,
            form,
            judgement: &judgement,
            photos: &[],
            name: &name,
            event: None,
            seal: seal(),
        };
        is_pdf(&walked.print(&paper).unwrap());
        let dossier = Dossier {
            context: &context,
            forms: &forms,
            judgement: &judgement,
            reader: Reader::Inspector,
            odometer: None,
            lives: Vec::new(),
            works: Vec::new(),
            readings: None,
            name: &name,
            seal: seal(),
        };
        is_pdf(&dossier.print(&paper).unwrap());
        let slip = Slip {
            context: &context,
            outing: "Class B".into(),
            riders: vec!["A. Rider".into()],
            from: now,
            to: now.later_by(7200),
            verdicts: vec![(Use::Range, muster_core::judge::Verdict::Watch)],
            conditions: vec!["Range only".into(), "Rear tyre to 290 kPa cold, then read it again".into()],
            worked_out: Some(muster_report::WorkedOut {
                done: vec!["Rear tyre to 290 kPa cold, then read it again".into()],
                next: vec!["Rear preload back to click 4 when the load comes off".into()],
            }),
            cautions: Vec::new(),
            against: Vec::new(),
            reason: None,
            by: None,
            known_at: Some(now),
            feedback: Some("https://harrow-lane.example/feedback#x".into()),
            seal: seal(),
        };
        let slip = slip.print(&paper).unwrap();
        is_pdf(&slip);
        assert_eq!(slip.pages, 1);
    }
}

#[test]
fn a_sticker_for_each_machine_is_made() {
    let demo = Demo::load();
    for size in [Size::A4, Size::Letter] {
        let sticker = |id: &String| Sticker {
            machine: id.clone(),
            model: "Corvane Pebble".into(),
            link: format!("https://harrow-lane.example/machines/{id}"),
            says: "Scan before you ride".into(),
        };
        let stickers: Vec<Sticker> = demo.yard.machines.keys().map(sticker).collect();
        is_pdf(&Sticker::print(&stickers, &demo.paper(size)).unwrap());
    }
}

#[test]
fn documents_bound_together_keep_their_pages() {
    let demo = Demo::load();
    let leaves = TagNumbers { from: 1, count: 2 }.leaves().into_iter().chain(TagNumbers { from: 7, count: 1 }.leaves());
    assert_eq!(print(leaves.collect(), &demo.paper(Size::A4)).unwrap().pages, 3);
}
