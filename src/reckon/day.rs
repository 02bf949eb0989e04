//! Days as far as they are known.

use jiff::ToSpan;
use jiff::civil::{Date, ISOWeekDate, Weekday};

/// The first and the last day that a text may mean: `2026-03-01` is one day,
/// `2019-05` a month, `2019` a year, `2019-W31` a week (ISO 8601, from memory).
/// `None` for what is no day at all, or none in the calendar.
#[must_use]
pub fn days(text: &str) -> Option<(Date, Date)> {
    if !text.is_ascii()
        || !text
            .bytes()
            .all(|b| b.is_ascii_digit() || b"-W".contains(&b))
    {
        return None;
    }
    let number = |from: usize, to: usize| text.get(from..to)?.parse::<i8>().ok();
    let year: i16 = text.get(..4)?.parse().ok()?;
    match text.len() {
        4 => Some((Date::new(year, 1, 1).ok()?, Date::new(year, 12, 31).ok()?)),
        7 => {
            let first = Date::new(year, number(5, 7)?, 1).ok()?;
            Some((first, first.last_of_month()))
        }
        8 => {
            let monday = ISOWeekDate::new(year, number(6, 8)?, Weekday::Monday)
                .ok()?
                .date();
            Some((monday, monday.checked_add(6.days()).ok()?))
        }
        10 => {
            let day: Date = text.parse().ok()?;
            Some((day, day))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_as_far_as_it_is_known() {
        for (text, first, last) in [
            ("2026-03-01", "2026-03-01", "2026-03-01"),
            ("2024-02", "2024-02-01", "2024-02-29"),
            ("2019", "2019-01-01", "2019-12-31"),
            ("2019-W31", "2019-07-29", "2019-08-04"),
            ("2020-W53", "2020-12-28", "2021-01-03"),
        ] {
            let (from, to) = days(text).unwrap();
            assert_eq!(
                (from.to_string(), to.to_string()),
                (first.to_owned(), last.to_owned())
            );
        }
        for none in [
            "",
            "19",
            "2026-02-30",
            "2026-13",
            "2019-W54",
            "spring",
            "2026-03-01T10:00",
            "２０１９",
        ] {
            assert_eq!(days(none), None, "{none}");
        }
    }
}
