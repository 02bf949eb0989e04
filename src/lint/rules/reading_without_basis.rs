//! # reading-without-basis
//!
//! A reading does not say what it needs to be judged.
//!
//! A limit may list what a reading must state (`needs`): the temperature, the
//! method, the day, the person. Or it holds at one temperature (`at`): then a
//! reading that was taken at another, by more than 5 K (common practice, no
//! source), or at none, can't be held against it. Only the last reading of each
//! name is looked at.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   limits:
//!     flow: {least: 175 cc/min, needs: [temperature, method]}
//!     coil: {least: 12 ohm, most: 16 ohm, at: 20 degC}
//!   pieces:
//!     N1:
//!       condition: serviceable
//!       readings:
//!         - {what: flow, is: 182 cc/min, when: 2026-01-17}
//!         - {what: coil, is: 14 ohm, at: 60 degC}
//!     N2:
//!       condition: serviceable
//!       readings: [{what: coil, is: 14 ohm}]
//! ```
//!
//! ```text
//! parts/all.yaml:10:11: warning: `injector/N1` has a reading of flow, 182 cc/min, that does not say the temperature and the method [reading-without-basis]
//!     parts/all.yaml:4:5: the limit
//!     to do: add `at` and `how` to the reading, or measure again
//! parts/all.yaml:11:11: warning: `injector/N1` has a reading of coil, 14 ohm, that was taken at 60 degC, where its limit holds at 20 degC [reading-without-basis]
//!     parts/all.yaml:5:5: the limit
//!     to do: measure again at 20 degC, within 5 K
//! parts/all.yaml:14:18: warning: `injector/N2` has a reading of coil, 14 ohm, that does not say the temperature [reading-without-basis]
//!     parts/all.yaml:5:5: the limit
//!     to do: add `at` to the reading, or measure again
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   limits:
//!     flow: {least: 175 cc/min, needs: [temperature, method]}
//!     coil: {least: 12 ohm, most: 16 ohm, at: 20 degC}
//!   pieces:
//!     N1:
//!       condition: serviceable
//!       readings:
//!         - {what: flow, is: 180 cc/min, when: 2026-01-10}
//!         - {what: flow, is: 182 cc/min, when: 2026-01-17, at: 19 degC,
//!             how: at 3 bar}
//!         - {what: coil, is: 14 ohm, at: 23 degC}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::{Basis, Limit, Name, Reading, Temperature};
use crate::near::spoken;
use crate::present::Piece;
use crate::present::measure::last_readings;
use crate::reckon::unit::Unit;

/// The rule.
pub const RULE: Rule = Rule {
    name: "reading-without-basis",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// How far from the limit's temperature a reading may be taken: common practice, no source.
const KELVIN: f64 = 5.0;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for piece in &cx.present().pieces {
        for (what, (number, reading)) in last_readings(piece.record) {
            if let Some(limit) = piece.of.limits.get(&Name(what.to_owned())) {
                findings.extend(lacks(cx, piece, number, reading, limit));
            }
        }
    }
}

fn lacks(
    cx: &Context<'_>,
    piece: &Piece<'_>,
    number: usize,
    reading: &Reading,
    limit: &Limit,
) -> Option<Finding> {
    let mut missing = Vec::new();
    let mut keys = Vec::new();
    let wants = |basis: Basis| {
        limit.needs.contains(&basis) || (basis == Basis::Temperature && limit.at.is_some())
    };
    for (basis, key, is_there) in [
        (Basis::Temperature, "`at`", reading.at.is_some()),
        (Basis::Method, "`how`", reading.how.is_some()),
        (Basis::Day, "`when`", reading.when.is_some()),
        (Basis::Person, "`by`", reading.by.is_some()),
    ] {
        if wants(basis) && !is_there {
            missing.push(basis.word());
            keys.push(key);
        }
    }
    let is = reading.is.as_ref()?.as_str();
    let far = far_from(limit.at.as_ref(), reading.at.as_ref());
    let mut said = Vec::new();
    if !missing.is_empty() {
        said.push(format!("does not say the {}", spoken(&missing, "and the")));
    }
    if let (Some(at), Some(taken)) = (far, &reading.at) {
        said.push(format!(
            "was taken at {}, where its limit holds at {}",
            taken.as_str(),
            at.as_str()
        ));
    }
    if said.is_empty() {
        return None;
    }
    let message = format!(
        "`{}` has a reading of {}, {is}, that {}",
        piece.name(),
        reading.what,
        said.join(" and ")
    );
    let remedy = match (keys.is_empty(), far) {
        (false, _) => format!("add {} to the reading, or measure again", spoken(&keys, "and")),
        (true, Some(at)) => format!("measure again at {}, within 5 K", at.as_str()),
        (true, None) => return None,
    };
    let spot = cx.in_piece_at(piece, &["readings".into(), number.into()]);
    let limit_at = cx.key_at(
        Kind::Parts,
        piece.part,
        &["limits".into(), reading.what.as_str().into()],
    );
    let finding = cx.finding_in(spot, message, remedy)?;
    Some(finding.see_at(cx, limit_at, "the limit"))
}

/// The temperature that a limit holds at, if a reading was taken too far from it.
fn far_from<'a>(
    limit: Option<&'a Temperature>,
    reading: Option<&Temperature>,
) -> Option<&'a Temperature> {
    let kelvin = Unit::read("K").ok()?;
    let limit = limit?;
    let (wanted, taken) = (limit.quantity().ok()?, reading?.quantity().ok()?);
    let below = wanted.low().in_unit(kelvin)? - taken.low().in_unit(kelvin)?;
    let above = taken.high().in_unit(kelvin)? - wanted.high().in_unit(kelvin)?;
    // What is exactly at the border in one unit is not beyond it in another.
    (below.max(above) > KELVIN + 1e-6).then_some(limit)
}
