//! # condition-against-reading
//!
//! What a piece is called and what was measured on it contradict each other.
//!
//! A piece that is `serviceable` has a last reading outside the limit of its
//! part; or one that is `scrap` has only readings within, and no reason is given.
//! A reason in words (`because`) is reason enough to scrap a piece: not all that
//! breaks can be measured.
//!
//! Where nothing is said of a piece, to plan it or to put it on says that it is
//! fit: a reading outside its limit is then a warning, and an error once it is on
//! for good. A worn brake or a steering joint with play hurts people: the maker's
//! manual says what may go on a car.
//!
//! The last reading of each name counts, by its day. Where the piece was worked
//! on after that day, the reading speaks of what it was before, and it is a
//! warning.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   limits: {flow: {least: 175 cc/min, most: 190 cc/min}}
//!   pieces:
//!     N1: {condition: serviceable, readings: [{what: flow, is: 162 cc/min,
//!       when: 2026-01-17}]}
//!     N2: {condition: scrap, readings: [{what: flow, is: 182 cc/min,
//!       when: 2026-01-17}]}
//!     N3:
//!       condition: serviceable
//!       readings: [{what: flow, is: 164 cc/min, when: 2026-01-17}]
//!       treated: [{what: cleaned, when: 2026-01-20}]
//! disc:
//!   name: Brake disc
//!   limits: {thickness: {least: 11 mm}}
//!   pieces:
//!     D1: {newness: new, goes: brakes/disc, fitted: [{as: final,
//!       when: 2026-02-20}], readings: [{what: thickness, is: 10.6 mm}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! brakes: {in: car, places: {disc: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:5:62: error: `injector/N1` is serviceable, and its flow of 162 cc/min is below the least, 175 cc/min [condition-against-reading]
//!     parts/all.yaml:3:26: the limit
//!     parts/all.yaml:5:21: its condition
//!     to do: write what its `condition` is then, or measure it again and add the reading
//! parts/all.yaml:7:21: error: `injector/N2` is scrap, gives no reason, and its flow of 182 cc/min is within its limit [condition-against-reading]
//!     parts/all.yaml:7:56: its flow
//!     parts/all.yaml:3:12: the limit
//!     to do: give the reason under `because`, or change its `condition`
//! parts/all.yaml:11:35: warning: `injector/N3` is serviceable, and its flow of 164 cc/min is below the least, 175 cc/min, measured before it was cleaned on 2026-01-20 [condition-against-reading]
//!     parts/all.yaml:3:26: the limit
//!     parts/all.yaml:10:18: its condition
//!     to do: measure it again and add the reading
//! parts/all.yaml:18:60: error: `disc/D1` is on in brakes/disc for good, and its thickness of 10.6 mm is below the least, 11 mm [condition-against-reading]
//!     parts/all.yaml:15:31: the limit
//!     to do: write what its `condition` is then, or measure it again and add the reading
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   limits: {flow: {least: 175 cc/min, most: 190 cc/min}}
//!   pieces:
//!     N1:
//!       condition: serviceable
//!       readings:
//!         - {what: flow, is: 162 cc/min, when: 2026-01-17}
//!         - {what: flow, is: 181 cc/min, when: 2026-01-21,
//!             note: after the ultrasonic bath}
//!     N2:
//!       condition: scrap
//!       because: body cracked
//!       readings: [{what: flow, is: 182 cc/min, when: 2026-01-17}]
//!     N3: {condition: repairable, readings: [{what: flow, is: 162 cc/min,
//!       when: 2026-01-17}]}
//! ```

use jiff::civil::Date;

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::{Condition, Limit, Name, Reading};
use crate::model::part::TreatmentKind;
use crate::present::measure::{Stands, judge, last_readings};
use crate::present::{Piece, date};

/// The rule.
pub const RULE: Rule = Rule {
    name: "condition-against-reading",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for piece in &cx.present().pieces {
        let limited = last_readings(piece.record).into_iter();
        let limited = limited.filter_map(|(what, (number, reading))| {
            let limit = piece.of.limits.get(&Name(what.to_owned()))?;
            let says_what = limit.least.is_some() || limit.most.is_some();
            says_what.then_some((number, reading, limit))
        });
        let limited: Vec<(usize, &Reading, &Limit)> = limited.collect();
        match piece.record.condition {
            Some(Condition::Serviceable) => {
                for (number, reading, limit) in limited {
                    findings.extend(outside(cx, piece, "is serviceable", number, reading, limit));
                }
            }
            Some(Condition::Unchecked) | None => {
                // Nobody said that it is fit: what says so is that it is on.
                let Some(stay) = cx.present().foremost(piece) else {
                    continue;
                };
                let is = how(cx.present(), stay);
                for (number, reading, limit) in limited {
                    let found = outside(cx, piece, &is, number, reading, limit);
                    let light = found.map(|one| match one.level {
                        Level::Error => one.by_claim(stay.claim, Level::Warning),
                        _ => one,
                    });
                    findings.extend(light);
                }
            }
            Some(Condition::Scrap) if piece.record.because.is_none() => {
                findings.extend(all_within(cx, piece, &limited));
            }
            _ => {}
        }
    }
}

fn outside(
    cx: &Context<'_>,
    piece: &Piece<'_>,
    is_said: &str,
    number: usize,
    reading: &Reading,
    limit: &Limit,
) -> Option<Finding> {
    let (how, key, allowed) = match judge(limit, reading)? {
        Stands::Within => return None,
        Stands::Below => ("below the least", "least", limit.least.as_ref()),
        Stands::Above => ("above the most", "most", limit.most.as_ref()),
    };
    let (is, allowed) = (reading.is.as_ref()?.as_str(), allowed?.as_str());
    let what = &reading.what;
    let worked = worked_on_after(piece, reading.when.as_ref().and_then(date));
    let before = match worked {
        Some((kind, when)) => format!(", measured before it was {} on {when}", kind.word()),
        None => String::new(),
    };
    let message = format!(
        "`{}` {is_said}, and its {what} of {is} is {how}, {allowed}{before}",
        piece.name()
    );
    let remedy = match worked {
        Some(_) => "measure it again and add the reading",
        None => "write what its `condition` is then, or measure it again and add the reading",
    };
    let spot = cx.in_piece_at(piece, &["readings".into(), number.into(), "is".into()]);
    let limit_at = cx.value_at(
        Kind::Parts,
        piece.part,
        &["limits".into(), what.as_str().into(), key.into()],
    );
    let finding = cx.finding_in(spot, message, remedy)?;
    let finding = match worked {
        Some(_) => finding.at_level(Level::Warning),
        None => finding,
    };
    let finding = finding.see_at(cx, limit_at, "the limit");
    Some(match piece.record.condition {
        Some(_) => {
            let condition = cx.in_piece_at(piece, &["condition".into()]);
            finding.see_at(cx, condition, "its condition")
        }
        None => finding,
    })
}

/// The last work after a day that may have changed what was measured on it.
fn worked_on_after(piece: &Piece<'_>, day: Option<Date>) -> Option<(TreatmentKind, Date)> {
    let day = day?;
    let treated = piece.record.treated.iter().filter_map(|treated| {
        let (kind, when) = (treated.what?, treated.when.as_ref().and_then(date)?);
        let looked_only = kind == TreatmentKind::Tested;
        (when > day && !looked_only).then_some((kind, when))
    });
    treated.max_by_key(|(_, when)| *when)
}

fn all_within(
    cx: &Context<'_>,
    piece: &Piece<'_>,
    limited: &[(usize, &Reading, &Limit)],
) -> Option<Finding> {
    let within = |(_, reading, limit): &(usize, &Reading, &Limit)| {
        judge(limit, reading) == Some(Stands::Within)
    };
    if limited.is_empty() || !limited.iter().all(within) {
        return None;
    }
    let (message, remedy) = match limited {
        [(_, reading, _)] => (
            format!(
                "`{}` is scrap, gives no reason, and its {} of {} is within its limit",
                piece.name(),
                reading.what,
                reading.is.as_ref()?.as_str()
            ),
            "give the reason under `because`, or change its `condition`",
        ),
        _ => (
            format!(
                "`{}` is scrap, gives no reason, and all that was measured is within its limits",
                piece.name()
            ),
            "give the reason under `because`, or change its `condition`",
        ),
    };
    let condition = cx.in_piece_at(piece, &["condition".into()]);
    let mut finding = cx.finding_in(condition, message, remedy)?;
    for (number, reading, _) in limited {
        let is = cx.in_piece_at(piece, &["readings".into(), (*number).into(), "is".into()]);
        let limit = cx.key_at(
            Kind::Parts,
            piece.part,
            &["limits".into(), reading.what.as_str().into()],
        );
        finding = finding
            .see_at(cx, is, format!("its {}", reading.what))
            .see_at(cx, limit, "the limit");
    }
    Some(finding)
}
