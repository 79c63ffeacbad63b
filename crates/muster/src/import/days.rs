//! Days as spreadsheets write them: one that can be read two ways is read by nobody till the order is told.

use jiff::civil::Date;

/// Which stands first in a day written in figures with its year last.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Order {
    /// `25/04/2019`
    DayFirst,
    /// `04/25/2019`
    MonthFirst,
}

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// The day a text says: `2019-04-03`, `3 Apr 2019`, `25/04/2019`; `03/04/2019` by an order that was told.
pub(super) fn day(text: &str, order: Option<Order>) -> Result<Date, String> {
    let shown: String = text.chars().take(40).collect();
    let wrong = || format!("`{shown}` is no day: write it like 2019-04-03 or 3 April 2019");
    let parts: Vec<&str> = text.split(['-', '/', '.', ' ', ',']).filter(|part| !part.is_empty()).collect();
    let [first, second, third] = parts[..] else {
        return Err(match text.parse::<u32>() {
            Ok(_) => format!(
                "`{shown}` is how a spreadsheet counts days: let it show the column as dates, and save it again"
            ),
            Err(_) => wrong(),
        });
    };
    let named = [first, second].iter().position(|part| part.chars().all(char::is_alphabetic));
    let (year, month, day) = match (named, first.len() == 4 && figures(first)) {
        (None | Some(1), true) => (first, month(second), third),
        (Some(at), false) => (third, month([first, second][at]), [second, first][at]),
        (None, false) => {
            let (day, month) = told(first, second, order).map_err(|(a, b)| read_two_ways(&shown, a, b))?;
            (third, Some(month), day)
        }
        (Some(_), true) => return Err(wrong()),
    };
    if year.len() != 4 && figures(year) {
        return Err(format!("`{shown}`: write the year with four figures"));
    }
    let date = || Date::new(year.parse().ok()?, month?.try_into().ok()?, day.parse().ok()?).ok();
    date().ok_or_else(wrong)
}

fn figures(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

/// A month by its number or name, of which three letters are enough.
fn month(text: &str) -> Option<usize> {
    if figures(text) {
        return text.parse().ok();
    }
    let said = text.to_lowercase();
    let is =
        |name: &str| (said.len() >= 3 && name.starts_with(said.as_str())) || (said == "sept" && name == "september");
    MONTHS.iter().position(|name| is(name)).map(|index| index + 1)
}

/// Day and month of two figures; both back where they could be either.
fn told<'t>(first: &'t str, second: &'t str, order: Option<Order>) -> Result<(&'t str, usize), (usize, usize)> {
    let figure = |text: &str| text.parse::<usize>().unwrap_or(0);
    let (a, b) = (figure(first), figure(second));
    match order {
        Some(Order::DayFirst) => Ok((first, b)),
        Some(Order::MonthFirst) => Ok((second, a)),
        None if a == b || a > 12 => Ok((first, b)),
        None if b > 12 => Ok((second, a)),
        None => Err((a, b)),
    }
}

fn read_two_ways(shown: &str, a: usize, b: usize) -> String {
    let name = |month: usize| {
        let name = MONTHS.get(month.wrapping_sub(1)).copied().unwrap_or_default();
        name.get(..1).unwrap_or_default().to_uppercase() + name.get(1..).unwrap_or_default()
    };
    format!(
        "`{shown}` can be {a} {} or {b} {}: say which stands first (--dates day-first or month-first)",
        name(b),
        name(a)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, order: Option<Order>, expect: Result<&str, &str>) {
        match (day(text, order), expect) {
            (Ok(day), Ok(expect)) => assert_eq!(day.to_string(), expect, "{text}"),
            (Err(why), Err(expect)) => assert!(why.contains(expect), "{text}: {why}"),
            (got, expect) => panic!("{text}: {got:?}, not {expect:?}"),
        }
    }

    #[test]
    fn a_day_is_read_where_it_can_be_read_one_way() {
        for text in
            ["2019-04-25", "2019/4/25", "2019.04.25", "25 Apr 2019", "25-April-2019", "Apr 25, 2019", "2019-Apr-25"]
        {
            check(text, None, Ok("2019-04-25"));
        }
        check("25/04/2019", None, Ok("2019-04-25"));
        check("04/25/2019", None, Ok("2019-04-25"));
        check("4.4.2019", None, Ok("2019-04-04"));
        check("3 Sept 2019", None, Ok("2019-09-03"));
        check("03/04/2019", None, Err("can be 3 April or 4 March"));
        check("03/04/2019", Some(Order::DayFirst), Ok("2019-04-03"));
        check("03/04/2019", Some(Order::MonthFirst), Ok("2019-03-04"));
        check("25/04/2019", Some(Order::MonthFirst), Err("is no day"));
    }

    #[test]
    fn a_day_that_is_none_says_what_to_write() {
        check("25/04/19", None, Err("four figures"));
        check("3-Apr-19", None, Err("four figures"));
        check("43558", None, Err("spreadsheet counts days"));
        check("2019-02-29", None, Err("is no day"));
        check("3 Ma 2019", None, Err("is no day"));
        check("31/31/2019", None, Err("is no day"));
        check("yesterday", None, Err("is no day"));
    }
}
