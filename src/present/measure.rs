//! Readings against limits, and pieces of one set against each other.

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::model::common::{Limit, Reading};
use crate::model::part;
use crate::reckon::quantity::Quantity;
use crate::reckon::unit::{Amount, Dimension, Figure, Unit};

/// How a reading stands to its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// Neither below the least nor above the most.
    Within,
    /// Below the least that is allowed.
    Below,
    /// Above the most that is allowed.
    Above,
}

/// The last reading of each name, with its number in the list: by its day, and of one day
/// the one that is written last.
#[must_use]
pub fn last_readings(piece: &part::Piece) -> BTreeMap<&str, (usize, &Reading)> {
    let mut last: BTreeMap<&str, (usize, &Reading)> = BTreeMap::new();
    for (number, reading) in piece.readings.iter().enumerate() {
        let newer = last.get(&*reading.what).is_none_or(|(_, before)| {
            let day = |one: &Reading| one.when.as_ref().and_then(super::date);
            match (day(before), day(reading)) {
                (Some(before), Some(now)) => now >= before,
                (_, None) => day(before).is_none(),
                (None, Some(_)) => true,
            }
        });
        if newer {
            last.insert(&reading.what, (number, reading));
        }
    }
    last
}

/// How a reading stands to its limit. None where they can't be compared: another dimension
/// or scale, or no figure; that is told as a bad quantity.
///
/// A reading that is itself a range stands outside if either end does.
#[must_use]
pub fn judge(limit: &Limit, reading: &Reading) -> Option<Stands> {
    let is = reading.is.as_ref()?.quantity().ok()?;
    let mut known = false;
    if let Some(least) = &limit.least {
        let order = is.low().compare(&least.quantity().ok()?.low())?;
        if order == Ordering::Less {
            return Some(Stands::Below);
        }
        known = true;
    }
    if let Some(most) = &limit.most {
        let order = is.high().compare(&most.quantity().ok()?.high())?;
        if order == Ordering::Greater {
            return Some(Stands::Above);
        }
        known = true;
    }
    known.then_some(Stands::Within)
}

/// Whether two readings of one set lie no further apart than their spread allows: a share
/// of a hundred is a share of the lesser (common practice, no source), anything else a
/// difference in its own unit. None where they can't be compared.
#[must_use]
pub fn alike(a: &Amount, b: &Amount, spread: &Quantity) -> Option<bool> {
    let (low, high) = match a.compare(b)? {
        Ordering::Greater => (b, a),
        _ => (a, b),
    };
    let allowed = spread.high();
    let unit = unit_of(low, spread)?;
    let (low, high) = (low.in_unit(unit)?, high.in_unit(unit)?);
    let most = match share(spread) {
        Some(share) => low + low.abs() * share,
        None => low + allowed.in_unit(unit)?,
    };
    // The last digit of a sum of decimals is nobody's measurement.
    Some(high <= most + 1e-9 * most.abs().max(high.abs()))
}

/// Read once: pieces of a set are compared in pairs.
static PERCENT: LazyLock<Option<Unit>> = LazyLock::new(|| Unit::read("%").ok());

/// The share that a spread allows, if it is one.
fn share(spread: &Quantity) -> Option<f64> {
    let percent = (*PERCENT)?;
    (spread.dimension() == Dimension::Ratio)
        .then(|| spread.high().in_unit(percent))?
        .map(|percent| percent / 100.0)
}

/// A unit that both can be given in.
fn unit_of(amount: &Amount, spread: &Quantity) -> Option<Unit> {
    if spread.dimension() == amount.dimension() && spread.dimension() != Dimension::Ratio {
        return Some(spread.unit());
    }
    share(spread)?;
    Unit::all().find(|unit| amount.in_unit(*unit).is_some())
}

/// How far apart two readings are, for people: in percent of the lesser for a spread in
/// percent, else in the spread's own unit.
#[must_use]
pub fn apart(a: &Amount, b: &Amount, spread: &Quantity) -> Option<Figure> {
    let (low, high) = match a.compare(b)? {
        Ordering::Greater => (b, a),
        _ => (a, b),
    };
    let unit = unit_of(low, spread)?;
    let (low, high) = (low.in_unit(unit)?, high.in_unit(unit)?);
    Some(match share(spread) {
        Some(_) => Figure {
            value: (high - low) / low.abs() * 100.0,
            unit: (*PERCENT)?,
        },
        None => Figure {
            value: high - low,
            unit,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn amount(text: &str) -> Amount {
        Quantity::parse(text).unwrap().nominal()
    }

    fn are_alike(a: &str, b: &str, spread: &str) -> Option<bool> {
        alike(&amount(a), &amount(b), &Quantity::parse(spread).unwrap())
    }

    #[test]
    fn a_spread_is_a_share_of_the_lesser_or_a_difference() {
        assert_eq!(are_alike("182 cc/min", "185 cc/min", "2 %"), Some(true));
        assert_eq!(are_alike("185 cc/min", "182 cc/min", "2 %"), Some(true));
        assert_eq!(are_alike("182 cc/min", "186 cc/min", "2 %"), Some(false));
        assert_eq!(are_alike("100 mm", "102 mm", "2 %"), Some(true));
        assert_eq!(are_alike("0.10 mm", "0.12 mm", "0.02 mm"), Some(true));
        assert_eq!(are_alike("0.10 mm", "0.13 mm", "0.02 mm"), Some(false));
        assert_eq!(are_alike("40 %", "42 %", "3 %"), Some(false));
        assert_eq!(are_alike("182 cc/min", "182 mm", "2 %"), None);
        assert_eq!(are_alike("182 cc/min", "183 cc/min", "1 mm"), None);
        let spread = Quantity::parse("2 %").unwrap();
        let far = apart(&amount("182 cc/min"), &amount("186 cc/min"), &spread).unwrap();
        assert_eq!(format!("{far:.1}"), "2.2 %");
    }

    #[test]
    fn the_last_reading_counts() {
        let piece: part::Piece = serde_json::from_value(serde_json::json!({"readings": [
            {"what": "flow", "is": "150 cc/min", "when": "2026-02-01"},
            {"what": "flow", "is": "182 cc/min", "when": "2026-03-01"},
            {"what": "flow", "is": "170 cc/min", "when": "2026-01-01"},
        ]}))
        .unwrap();
        let (number, reading) = last_readings(&piece)["flow"];
        assert_eq!(number, 1);
        let limit: Limit =
            serde_json::from_value(serde_json::json!({"least": "175 cc/min"})).unwrap();
        assert_eq!(judge(&limit, reading), Some(Stands::Within));
        assert_eq!(judge(&limit, &piece.readings[0]), Some(Stands::Below));
    }
}
