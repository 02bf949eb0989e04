//! How old a piece is, against the life that its part states.
//!
//! A day that is known only roughly counts from its latest: what is told to be past its
//! life is past it for certain. Months and years are those of the calendar.

use jiff::civil::Date;
use jiff::{Span, Unit};

use super::{Piece, date};
use crate::model::common::{Duration, FittedAs};
use crate::model::part::{self, LifeFrom};
use crate::reckon::day::days;

/// How a piece stands against its life.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Age {
    /// What its life counts from.
    pub from: LifeFrom,
    /// When that was.
    pub began: Began,
    /// The last day of its life, as far as that is known.
    pub ends: Option<Date>,
    /// Whether its life is over.
    pub outlived: bool,
}

/// When a life began.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Began {
    /// On this day; of a rough day the latest, and then not `exact`.
    On {
        /// The day.
        day: Date,
        /// Whether the day itself is stated.
        exact: bool,
    },
    /// Nothing says when, but by this day it had: the piece was bought, opened or on.
    Before(Date),
    /// Nothing says when.
    Unknown,
    /// It has not begun: the tin is closed, or the piece has never been on for good.
    NotYet,
}

/// How old a piece is on a day; none where its part states no life that can be read.
#[must_use]
pub fn age(piece: &Piece<'_>, today: Date) -> Option<Age> {
    let life = piece.of.life.as_ref()?;
    let lasts = life.lasts.as_ref()?;
    let from = life.from.unwrap_or(LifeFrom::Made);
    let began = began(piece.record, from);
    let day = match began {
        Began::On { day, .. } | Began::Before(day) => Some(day),
        Began::Unknown | Began::NotYet => None,
    };
    let ends = day.and_then(|day| end(day, lasts));
    Some(Age {
        from,
        began,
        ends,
        outlived: ends.is_some_and(|ends| ends < today),
    })
}

/// When the life of a piece began, if it counts from what `from` says.
#[must_use]
pub fn began(piece: &part::Piece, from: LifeFrom) -> Began {
    let on = |day: &crate::model::common::RoughDay| {
        let (first, last) = days(day.as_str())?;
        Some(Began::On {
            day: last,
            exact: first == last,
        })
    };
    let on_for_good = piece
        .fitted
        .iter()
        .filter(|one| one.as_ == Some(FittedAs::Final));
    let fitted = on_for_good
        .filter_map(|one| one.when.as_ref().and_then(date))
        .min();
    match from {
        LifeFrom::Made => piece.made.as_ref().and_then(on).unwrap_or_else(|| {
            let bought = piece
                .bought
                .as_ref()
                .and_then(|bought| bought.when.as_ref());
            let opened = piece.opened.as_ref().and_then(|day| days(day.as_str()));
            let known = [bought.and_then(date), opened.map(|(_, last)| last), fitted];
            known
                .into_iter()
                .flatten()
                .min()
                .map_or(Began::Unknown, Began::Before)
        }),
        LifeFrom::Opened => piece.opened.as_ref().and_then(on).unwrap_or(Began::NotYet),
        LifeFrom::Fitted => fitted.map_or(Began::NotYet, |day| Began::On { day, exact: true }),
    }
}

/// The last day of a life that begins on a day; none for a length that can't be read or
/// that ends in no year of the calendar. Of a range the shorter counts.
#[must_use]
pub fn end(day: Date, lasts: &Duration) -> Option<Date> {
    let lasts = lasts.quantity().ok()?;
    let amount = lasts.low();
    let figure = amount.in_unit(lasts.unit())?;
    let months = match lasts.unit().name() {
        "years" => figure * 12.0,
        "months" => figure,
        _ => {
            let days = crate::reckon::unit::Unit::read("days").ok()?;
            return day
                .checked_add(span(0.0, amount.in_unit(days)?.ceil())?)
                .ok();
        }
    };
    let whole = (months + 1e-9).floor();
    let rest = ((months - whole).max(0.0) * 365.25 / 12.0).round();
    day.checked_add(span(whole, rest)?).ok()
}

fn span(months: f64, days: f64) -> Option<Span> {
    // A cast of what is too great stops at the greatest, which a span then refuses.
    #[allow(clippy::cast_possible_truncation)]
    let (months, days) = (months as i64, days as i64);
    Span::new().try_months(months).ok()?.try_days(days).ok()
}

/// How long it is from one day to another, as people say it: `16 years`, `5 months`, `9 days`.
#[must_use]
pub fn how_long(from: Date, to: Date) -> String {
    let Ok(span) = from.until((Unit::Year, to)) else {
        return "0 days".to_owned();
    };
    let (years, months) = (i32::from(span.get_years()), span.get_months());
    let days = span.get_days() + 7 * span.get_weeks();
    let (count, one) = match (years, months) {
        (0, 0) => (days, "day"),
        (0, months) => (months, "month"),
        (years, _) => (years, "year"),
    };
    let more = if count == 1 { "" } else { "s" };
    format!("{count} {one}{more}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn ends(day: Date, lasts: &str) -> Option<Date> {
        end(day, &Duration(lasts.to_owned()))
    }

    #[test]
    fn months_and_years_are_those_of_the_calendar() {
        let day = date(2017, 3, 1);
        for (lasts, last) in [
            ("8 years", date(2025, 3, 1)),
            ("1 year", date(2018, 3, 1)),
            ("18 months", date(2018, 9, 1)),
            ("1.5 years", date(2018, 9, 1)),
            ("8–10 years", date(2025, 3, 1)),
            ("2 weeks", date(2017, 3, 15)),
            ("30 days", date(2017, 3, 31)),
            ("36 h", date(2017, 3, 3)),
        ] {
            assert_eq!(ends(day, lasts), Some(last), "{lasts}");
        }
        assert_eq!(ends(date(2024, 2, 29), "1 year"), Some(date(2025, 2, 28)));
        assert_eq!(ends(day, "9999 years"), None);
        assert_eq!(ends(day, "99999999999999 years"), None);
        assert_eq!(ends(day, "a while"), None);
    }

    #[test]
    fn a_rough_day_counts_from_its_latest() {
        let piece = |text: &str| -> part::Piece { serde_json::from_str(text).unwrap() };
        let year = piece(r#"{"made": "2019"}"#);
        let day = date(2019, 12, 31);
        assert_eq!(
            began(&year, LifeFrom::Made),
            Began::On { day, exact: false }
        );
        let bought = piece(
            r#"{"bought": {"when": "2020-05-02"}, "fitted": [{"as": "mock-up", "when": "2019-01-01"}]}"#,
        );
        let by = Began::Before(date(2020, 5, 2));
        assert_eq!(began(&bought, LifeFrom::Made), by);
        assert_eq!(began(&bought, LifeFrom::Fitted), Began::NotYet);
        assert_eq!(began(&bought, LifeFrom::Opened), Began::NotYet);
        assert_eq!(began(&piece("{}"), LifeFrom::Made), Began::Unknown);
    }

    #[test]
    fn an_age_is_said_as_people_say_it() {
        let day = date(2024, 2, 29);
        assert_eq!(how_long(day, date(2026, 3, 1)), "2 years");
        assert_eq!(how_long(day, date(2025, 2, 28)), "11 months");
        assert_eq!(how_long(day, date(2024, 3, 1)), "1 day");
    }
}
