//! The text a person reads before letting a machine out.

use super::program::in_yard;

#[test]
fn a_short_form() {
    insta::assert_snapshot!(in_yard(&["judge", "short.toml", "--working"]).out);
}

#[test]
fn a_form_with_slips() {
    insta::assert_snapshot!(in_yard(&["judge", "faulty.toml"]).out);
}

#[test]
fn a_walk_round() {
    insta::assert_snapshot!(in_yard(&["walk-round", "M-01", "--depth", "after-a-fall", "--found", "heat=warm"]).out);
}
