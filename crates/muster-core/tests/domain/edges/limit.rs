//! Limits: which rows count, and what a row for some uses or with an approval does to the others.

use muster_core::{
    judge::{Figure, Outcome},
    words::Use,
};

use super::{
    super::{NOW, yard::Texts},
    plain, texts, told_for, whole,
};

fn row(least: &str, most: &str, more: &str) -> String {
    let bound = |key: &str, value: &str| {
        if value.is_empty() { String::new() } else { format!("{key} = \"{value}\"\n") }
    };
    format!("[[limit]]\ncheck = \"brake.front.disc\"\n{}{}{more}\n", bound("at_least", least), bound("at_most", most))
}

const APPROVED: &str = "approval = { by = \"E. Engineer\", on = 2026-03-02 }";
const ROAD: &str = "uses = [\"road\"]";

fn disc(sheet: &str, machine: &str) -> Outcome {
    let form = "[[answer]]\ncheck = \"brake.front.disc\"\nread = \"5.00 mm\"\nwith = \"V\"";
    let small = whole(&Texts { machine: machine.into(), ..texts("brake.front.disc", sheet, form) });
    told_for(&small, Use::Road, "brake.front.disc", NOW)
}

/// What counts on the road: the least and the most.
fn counts(sheet: &str, machine: &str) -> (Option<f64>, Option<f64>) {
    let Figure { at_least, at_most, .. } = disc(sheet, machine).figure.expect("it is read");
    (at_least, at_most)
}

#[test]
fn a_row_of_the_machine_for_one_use_replaces_its_row_for_all_of_them() {
    let label = row("3.0 mm", "4.0 mm", "") + &row("4.8 mm", "5.5 mm", ROAD);
    assert_eq!(counts("", &label), (Some(4.8), Some(5.5)));
}

#[test]
fn a_row_for_one_use_cannot_loosen_the_sheet_behind_a_stricter_row_for_all() {
    let sheet = row("4.5 mm", "", "");
    let machine = row("4.9 mm", "", "") + &row("4.0 mm", "", ROAD);
    assert_eq!(counts(&sheet, &machine), (Some(4.5), None));
    let working = disc(&sheet, &machine).working;
    assert!(working.iter().any(|line| line.contains("no approval is attached: both count")), "{working:?}");
}

#[test]
fn an_approval_covers_the_row_it_is_attached_to() {
    let sheet = row("4.5 mm", "5.2 mm", "");
    let approved_floor = row("4.0 mm", "", APPROVED) + &row("", "6.0 mm", "");
    assert_eq!(counts(&sheet, &approved_floor), (Some(4.5), Some(5.2)));
    let both = row("4.0 mm", "", APPROVED) + &row("", "6.0 mm", APPROVED);
    assert_eq!(counts(&sheet, &both), (Some(4.0), Some(6.0)));
    let one_row = row("4.0 mm", "6.0 mm", APPROVED);
    assert_eq!(counts(&sheet, &one_row), (Some(4.0), Some(6.0)));
    assert!(!disc(&sheet, &one_row).working.iter().any(|line| line.contains("both count")), "it replaces the sheet's");
}

#[test]
fn an_approval_for_one_side_says_nothing_of_the_other() {
    let sheet = row("4.5 mm", "5.2 mm", "");
    assert_eq!(counts(&sheet, &row("4.0 mm", "", APPROVED)), (Some(4.5), Some(5.2)));
    let working = disc(&sheet, &row("4.0 mm", "", APPROVED)).working;
    assert!(working.iter().any(|line| line.contains("it bounds one side only: both count")), "{working:?}");
    assert_eq!(counts(&row("4.5 mm", "", ""), &row("4.0 mm", "", APPROVED)), (Some(4.0), None));
}

#[test]
fn a_marking_needs_an_approval_to_loosen_too_and_the_machines_own_row_one_over_a_marking() {
    let sheet = row("4.5 mm", "", "");
    assert_eq!(counts(&sheet, &row("4.0 mm", "", "layer = \"marking\"")), (Some(4.5), None));
    let stamped = row("4.9 mm", "", "layer = \"marking\"");
    assert_eq!(counts(&sheet, &(stamped.clone() + &row("4.7 mm", "", ""))), (Some(4.9), None));
    assert_eq!(counts(&sheet, &(stamped + &row("4.7 mm", "", APPROVED))), (Some(4.7), None));
}

#[test]
fn a_row_over_a_displacement_binds_above_it_and_one_up_to_it_at_it_too() {
    let least = |condition: &str, cc: &str| {
        let sheet = format!("displacement_cc = {cc}\n{}", row("4.0 mm", "", ""));
        counts(&sheet, &row("4.8 mm", "", &format!("where = {{ {condition} = 125 }}"))).0
    };
    for (cc, over, to) in [("124", 4.0, 4.8), ("125", 4.0, 4.8), ("126", 4.8, 4.0)] {
        assert_eq!(least("displacement_over_cc", cc), Some(over), "{cc}");
        assert_eq!(least("displacement_to_cc", cc), Some(to), "{cc}");
    }
}

#[test]
fn a_row_that_counts_because_a_fact_is_unknown_says_so_and_no_other_does() {
    let condition = row("4.8 mm", "", "where = { first_use_from = 2020-01-01 }");
    let said = |machine: &str| {
        let working = disc(&row("4.0 mm", "", ""), &(machine.to_string() + &condition)).working;
        working.into_iter().filter(|line| line.contains("not stated")).collect::<Vec<_>>()
    };
    assert_eq!(said(""), ["date of first use not stated, so M-1 itself counts"]);
    assert!(said("first_use = 2021-03-04\n").is_empty());
}

#[test]
fn the_rows_that_would_loosen_are_named_and_no_others() {
    let sheet = row("4.5 mm", "5.2 mm", "page = \"p. 3\"");
    let said = |machine: &str| {
        let working = disc(&sheet, machine).working.into_iter();
        working
            .filter_map(|line| line.split_once(" would loosen ").map(|(rows, _)| rows.to_string()))
            .collect::<Vec<_>>()
    };
    let approved = format!("says = \"label\"\n{APPROVED}");
    assert_eq!(said(&(row("4.0 mm", "", &approved) + &row("", "6.0 mm", "says = \"owner\""))), ["owner"]);
    assert_eq!(said(&(row("", "6.0 mm", "says = \"owner\"") + &row("4.0 mm", "", &approved))), ["owner"]);
    // Of a side nobody speaks of, all of them are silent.
    let two = row("4.6 mm", "", &approved) + &row("4.7 mm", "", "says = \"owner\"");
    assert_eq!(said(&two), ["owner and label"]);
}

#[test]
fn limits_cross_where_the_highest_floor_is_above_the_lowest_ceiling_in_any_order() {
    for (floors, ceilings) in [(["4.0", "5.5"], ["5.2", "6.0"]), (["5.5", "4.0"], ["6.0", "5.2"])] {
        let sheet = floors.map(|least| row(&format!("{least} mm"), "", "")).concat()
            + &ceilings.map(|most| row("", &format!("{most} mm"), "")).concat();
        let reason = plain(&disc(&sheet, "").reason);
        assert!(reason.contains("no figure is both at least 5.5 mm (Handbook"), "{reason}");
        assert!(reason.contains("at most 5.2 mm (Handbook"), "{reason}");
    }
    let house = "[[limit]]\ncheck = \"brake.front.disc\"\nat_most = \"5.0 mm\"";
    let form = "[[answer]]\ncheck = \"brake.front.disc\"\nread = \"5.00 mm\"\nwith = \"V\"";
    let one_figure = texts("brake.front.disc", &row("5.0 mm", "", ""), form);
    let small = whole(&Texts { house: house.into(), ..one_figure });
    let outcome = told_for(&small, Use::Road, "brake.front.disc", NOW);
    assert!(outcome.figure.is_some(), "one figure is left, and it is read: {outcome:?}");
}

const CENTRE: &str = "[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = \"2.5 mm\"\nplaces = [\"centre\"]\n\
                      class = \"minor\"\n";

#[test]
fn a_house_rule_for_one_place_binds_there_and_where_no_place_is_named() {
    let least = |read: &str| {
        let sheet = "[[limit]]\ncheck = \"tyre.front.tread\"\nat_least = \"1.5 mm\"";
        let form = format!("[[answer]]\ncheck = \"tyre.front.tread\"\nread = {read}\nwith = \"D\"");
        let texts = Texts { house: CENTRE.into(), ..texts("tyre.front.tread", sheet, &form) };
        let outcome = told_for(&whole(&texts), Use::Road, "tyre.front.tread", NOW);
        let Figure { at_least, margin, .. } = outcome.figure.expect("it is read");
        (at_least, margin > 0.0)
    };
    assert_eq!(least("{ left = \"2.4 mm\", centre = \"4.0 mm\" }"), (Some(1.5), true));
    assert_eq!(least("{ left = \"4.0 mm\", centre = \"2.4 mm\" }"), (Some(2.5), false));
    assert_eq!(least("\"2.4 mm\""), (Some(2.5), false));
}

#[test]
fn places_stand_only_where_rows_tighten_and_where_the_check_has_them() {
    let texts = |sheet: &str, house: &str| Texts { sheet: sheet.into(), house: house.into(), ..Texts::default() };
    let said = |texts: Texts| texts.read().problems.join("\n");
    assert!(said(texts(CENTRE, "")).contains("places may stand in a law pack or a house rule only"));
    let where_none = CENTRE.replace("centre", "shoulder");
    let said = said(texts("", &where_none));
    assert!(said.contains("tyre.front.tread has no place `shoulder`; it has: left, centre, right"), "{said}");
}

#[test]
fn a_row_by_power_binds_above_it_or_up_to_it_and_says_where_power_is_not_stated() {
    let least = |condition: &str, power: &str| {
        let sheet = format!("{power}\n{}", row("4.0 mm", "", ""));
        let outcome = disc(&sheet, &row("4.8 mm", "", &format!("where = {{ {condition} = 11 }}")));
        let said = outcome.working.iter().any(|line| line.contains("power not stated"));
        (outcome.figure.expect("it is read").at_least, said)
    };
    for (kw, over, to) in [("10.9", 4.0, 4.8), ("11", 4.0, 4.8), ("11.1", 4.8, 4.0)] {
        let power = format!("power_kw = {kw}");
        assert_eq!(least("power_over_kw", &power), (Some(over), false), "{kw}");
        assert_eq!(least("power_to_kw", &power), (Some(to), false), "{kw}");
    }
    assert_eq!(least("power_over_kw", ""), (Some(4.8), true));
    assert_eq!(least("power_to_kw", ""), (Some(4.8), true));
}
