//! Laws of tyre dates, ages and vehicle identification numbers.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday, date};
use muster_core::formula::age::Age;
use muster_core::formula::tyre_date::{TyreDate, TyreDateRefusal};
use muster_core::formula::vin::{CheckDigit, Vin, VinRefusal};
use proptest::prelude::*;

const ALPHABET: &str = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ";

/// The values of 49 CFR 565.15(c) table III, written out, so that the test does not lean on the code's own.
fn value(of: char) -> u32 {
    let table = [("0", 0), ("1AJ", 1), ("2BKS", 2), ("3CLT", 3), ("4DMU", 4), ("5ENV", 5), ("6FW", 6), ("7GPX", 7)];
    let rest = [("8HY", 8), ("9RZ", 9)];
    let mut all = table.iter().chain(&rest);
    all.find(|(letters, _)| letters.contains(of)).expect("the alphabet is in the table").1
}

fn day(offset: i32) -> Date {
    date(2000, 1, 1).checked_add(offset.days()).expect("the tests' own days are in the calendar")
}

/// A number of North America with the check digit it asks for.
fn genuine() -> impl Strategy<Value = String> {
    ("[1-5][0-9A-HJ-NPR-Z]{7}", "[0-9A-HJ-NPR-Z]{8}").prop_map(|(front, back)| {
        let asked = Vin::parse(&format!("{front}0{back}")).expect("the alphabet is kept").expected_check_digit();
        format!("{front}{asked}{back}")
    })
}

proptest! {
    #[test]
    fn a_tyre_date_reads_back(week in 1_u8..=53, year in 0_u8..=99) {
        let made = TyreDate::new(week, year).expect("week and year are in range");
        prop_assert_eq!(TyreDate::parse(&made.to_string()), Ok(made));
        prop_assert_eq!(TyreDate::parse(&format!(" dot a1b2-c3d4 {made} ")), Ok(made));
        prop_assert_eq!(TyreDate::parse(&format!("DOTA1B2C3D412{made}")), Ok(made));
    }

    #[test]
    fn a_tyre_week_is_seven_days_from_a_sunday(week in 1_u8..=53, year in 0_u8..=99) {
        let made = TyreDate::new(week, year).expect("week and year are in range");
        prop_assert_eq!(made.first_day().weekday(), Weekday::Sunday);
        prop_assert_eq!(made.last_day(), made.first_day().checked_add(6.days()).expect("in the calendar"));
        let in_year = made.first_day().year() == made.year();
        prop_assert!(in_year || week == 53, "{made} begins on {}", made.first_day());
    }

    #[test]
    fn a_later_week_is_a_later_day(a in (0_u8..=99, 1_u8..=52), b in (0_u8..=99, 1_u8..=52)) {
        let made = |(year, week)| TyreDate::new(week, year).expect("week and year are in range");
        prop_assert_eq!(made(a).first_day().cmp(&made(b).first_day()), a.cmp(&b));
    }

    #[test]
    fn the_week_by_iso_8601_lies_within_the_doubt(week in 1_i8..=52, year in 0_u8..=99) {
        let made = TyreDate::new(week.unsigned_abs(), year).expect("week and year are in range");
        let iso = jiff::civil::ISOWeekDate::new(made.year(), week, Weekday::Monday).expect("every year has 52 weeks").date();
        let apart = (made.first_day() - iso).get_days();
        prop_assert!(apart.abs() <= TyreDate::WEEK_DOUBT_DAYS, "{made}: {apart} days");
    }

    #[test]
    fn a_tyre_is_never_of_the_future(week in 1_u8..=53, year in 0_u8..=99, on in 0..40_000) {
        let made = TyreDate::new(week, year).expect("week and year are in range");
        let ahead = (made.first_day() - day(on)).get_days();
        match made.age_at(day(on)) {
            Ok(age) => prop_assert!(ahead <= 7 && (ahead < 0 || age.decimal_years() == 0.0)),
            Err(refusal) => {
                let future = matches!(refusal, TyreDateRefusal::FromTheFuture { .. });
                prop_assert!(ahead > 7 && future);
            }
        }
    }

    #[test]
    fn nothing_typed_makes_a_tyre_date_panic(text in ".{0,24}") {
        let _ = TyreDate::parse(&text);
        let _ = Vin::parse(&text);
    }

    #[test]
    fn months_and_days_lead_back_to_the_day(from in 0..36_000, days in 0..36_000) {
        let (from, on) = (day(from), day(from + days));
        let age = Age::between(from, on).expect("in order");
        let months = i32::try_from(age.whole_months()).expect("few");
        let days = i32::try_from(age.days_of_month()).expect("few");
        let back = from.checked_add(months.months()).and_then(|day| day.checked_add(days.days())).expect("in the calendar");
        prop_assert_eq!(back, on);
        prop_assert!(from.checked_add((months + 1).months()).expect("in the calendar") > on);
        prop_assert_eq!(age.whole_months(), 12 * age.whole_years() + age.months_of_year());
    }

    #[test]
    fn age_grows_with_every_day(from in 0..36_000, days in 0..36_000) {
        let (young, old) = (Age::between(day(from), day(from + days)), Age::between(day(from), day(from + days + 1)));
        let (young, old) = (young.expect("in order"), old.expect("in order"));
        prop_assert!(old.decimal_years() > young.decimal_years());
        prop_assert!(old > young);
        prop_assert!(Age::between(day(from + days + 1), day(from + days)).is_err());
    }

    #[test]
    fn a_vin_reads_back(text in "[0-9A-HJ-NPR-Z]{16}[1-9]") {
        let vin = Vin::parse(&text).expect("the alphabet is kept");
        prop_assert_eq!(vin.text(), text.clone());
        prop_assert_eq!(Vin::parse(&text.to_ascii_lowercase()), Ok(vin));
    }

    #[test]
    fn every_misread_character_of_another_value_is_caught(genuine in genuine(), at in 0_usize..17, to in 0_usize..33) {
        let vin = Vin::parse(&genuine).expect("the alphabet is kept");
        prop_assert_eq!(vin.check_digit(), CheckDigit::Matches);
        let old = genuine.chars().nth(at).expect("seventeen characters");
        let new = ALPHABET.chars().nth(to).expect("33 characters");
        let altered: String = genuine.chars().enumerate().map(|(index, c)| if index == at { new } else { c }).collect();
        let found = Vin::parse(&altered).expect("the alphabet is kept").check_digit();
        let stays_american = at > 0 || ('1'..='5').contains(&new);
        if at == 8 {
            prop_assert_eq!(found == CheckDigit::Matches, new == old);
        } else if stays_american {
            // Eleven is prime and no weight is a multiple of it: equal values are the only change that slips through.
            prop_assert_eq!(found == CheckDigit::Matches, value(new) == value(old));
        } else {
            prop_assert_eq!(found, CheckDigit::NotRequired);
        }
    }

    #[test]
    fn a_number_from_elsewhere_is_never_refused_for_its_check_digit(text in "[06-9A-HJ-NPR-Z][0-9A-HJ-NPR-Z]{15}[1-9]") {
        prop_assert_eq!(Vin::parse(&text).expect("the alphabet is kept").check_digit(), CheckDigit::NotRequired);
    }

    #[test]
    fn model_years_are_thirty_years_apart(text in "[0-9A-HJ-NPR-Z]{16}[1-9]") {
        let vin = Vin::parse(&text).expect("the alphabet is kept");
        match vin.model_years() {
            Some([first, second]) => prop_assert!(second - first == 30 && (1980..=2009).contains(&first)),
            None => prop_assert!(matches!(vin.character(10), Some('0' | 'U' | 'Z')), "{text}"),
        }
    }
}

#[test]
fn every_four_digits_are_a_date_or_refused_by_week() {
    for code in 0..10_000_u32 {
        let found = TyreDate::parse(&format!("{code:04}"));
        if (1..=53).contains(&(code / 100)) {
            assert_eq!(found.map(|made| made.to_string()), Ok(format!("{code:04}")));
        } else {
            assert!(matches!(found, Err(TyreDateRefusal::NoSuchWeek { .. })), "{code:04}");
        }
    }
}

#[test]
fn refusals_say_what_is_wrong() {
    let said = |text: &str| TyreDate::parse(text).map_err(|refusal| refusal.to_string());
    assert_eq!(
        said("").expect_err("it is refused"),
        "tyre date must end in four digits, week then year, as in 3219; got "
    );
    assert_eq!(said("5419").expect_err("it is refused"), "week of a tyre date must be 01 to 53, got 54");
    assert!(said("328").expect_err("it is refused").contains("before 2000"));
    let vin = |text: &str| Vin::parse(text).map_err(|refusal| refusal.to_string());
    assert_eq!(vin("1234").expect_err("it is refused"), "VIN must have 17 characters, got 4");
    assert_eq!(
        vin("1ABCDEFGOHJKLMNPR").expect_err("it is refused"),
        "VIN must have digits and letters other than I, O and Q, got 'O' at position 9: did you mean 0?"
    );
    assert_eq!(vin(&"0".repeat(17)), Err(VinRefusal::AllZeros.to_string()));
}
