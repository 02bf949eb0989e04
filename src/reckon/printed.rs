//! Two printings of one torque: whether they can be the same, and if not, what slip it
//! probably was.
//!
//! Manuals print a torque in up to four units, each rounded by itself: 20 N·m is printed as
//! 14 and as 15 lb-ft. Of 85 printed pairs out of service manuals the worst differed by
//! 5.5 per cent. So two printings are held to half of the last printed digit of both, and a
//! slip is called one only beyond 6 per cent.

use super::measure::{Ratio, as_share, share};
use super::quantity::{Form, Quantity};
use super::unit::{Amount, Dimension};

/// How two printings of one torque stand to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Printings {
    /// They are the same, rounded.
    Agree,
    /// They differ by more than rounding, and by no more than manuals do.
    Rough(Ratio),
    /// They are not the same torque.
    Slip(Ratio, Option<Slip>),
}

/// What slip makes such a difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slip {
    /// Feet for inches: a factor of 12.
    Twelve,
    /// A point in the wrong place, or kgf·cm for kgf·m or N·m: a factor of 10 or 100.
    Ten,
    /// The figures stand at each other's unit, or one was copied over with the wrong unit.
    Swapped,
}

/// The difference beyond which two printings are a slip, unless a build sets another.
#[must_use]
pub fn usual_slip() -> Ratio {
    share(0.06)
}

/// Compares two printings of one torque; none where they do not measure the same.
#[must_use]
pub fn compare(one: &Quantity, other: &Quantity, slip: Ratio) -> Option<Printings> {
    if one.dimension() != other.dimension() {
        return None;
    }
    if one.rounds_to(other) || within_half_digits(one, other) {
        return Some(Printings::Agree);
    }
    let apart = apart(one, other)?;
    if apart <= slip {
        return Some(Printings::Rough(apart));
    }
    Some(Printings::Slip(apart, likely(one, other)))
}

/// Whether the bands that half of the last printed digit leaves open meet, end by end.
fn within_half_digits(one: &Quantity, other: &Quantity) -> bool {
    let band = |of: &Quantity, amount: Amount| {
        let (unit, half) = (of.unit(), of.half_last_digit());
        let value = amount.in_unit(unit)?;
        Some((unit.amount(value - half), unit.amount(value + half)))
    };
    let reaches =
        |low: &Amount, high: &Amount| low.compare(high).is_some_and(std::cmp::Ordering::is_le);
    figures(one, other).iter().all(|(a, b)| {
        let pair = band(one, *a).zip(band(other, *b));
        pair.is_some_and(|(a, b)| reaches(&a.0, &b.1) && reaches(&b.0, &a.1))
    })
}

/// The figures of both that must agree: both ends and what is aimed at. Where one has a
/// tolerance and the other is a single figure, that is what is aimed at and no more: so
/// `44 ±10 N·m (32 lb-ft)` is printed.
fn figures(one: &Quantity, other: &Quantity) -> Vec<(Amount, Amount)> {
    let aims = (one.nominal(), other.nominal());
    match (one.form(), other.form()) {
        (Form::Tolerance { .. }, Form::Single(_)) | (Form::Single(_), Form::Tolerance { .. }) => {
            vec![aims]
        }
        _ => vec![(one.low(), other.low()), aims, (one.high(), other.high())],
    }
}

/// How far apart the two are, as a share of the lesser: the most of all figures.
fn apart(one: &Quantity, other: &Quantity) -> Option<Ratio> {
    let unit = one.unit();
    let shares = figures(one, other).into_iter().map(|(a, b)| {
        let (a, b) = (a.in_unit(unit)?.abs(), b.in_unit(unit)?.abs());
        Some((a - b).abs() / a.min(b))
    });
    let shares: Option<Vec<f64>> = shares.collect();
    let most = shares?.into_iter().fold(0.0, f64::max);
    Some(share(most))
}

/// The slip that explains the difference to within what manuals round.
fn likely(one: &Quantity, other: &Quantity) -> Option<Slip> {
    if one.dimension() != Dimension::Torque {
        return None;
    }
    let ratio = one.nominal().in_unit(one.unit())? / other.nominal().in_unit(one.unit())?;
    let near = |factor: f64| {
        let off = ratio / factor;
        (off.max(1.0 / off) - 1.0) <= as_share(usual_slip())
    };
    let either = |factor: f64| near(factor) || near(1.0 / factor);
    if either(12.0) {
        return Some(Slip::Twelve);
    }
    if either(10.0) || either(100.0) {
        return Some(Slip::Ten);
    }
    // With both figures at each other's unit the true ratio shows twice over; with one
    // copied over, once.
    let units = one.unit().amount(1.0).in_unit(other.unit())?;
    let swapped = either(units) || either(units * units);
    swapped.then_some(Slip::Swapped)
}
