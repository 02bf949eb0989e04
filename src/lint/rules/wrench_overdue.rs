//! # wrench-overdue
//!
//! A joint was tightened for good with a wrench that was due to be calibrated, or
//! that had been dropped.
//!
//! A wrench drifts with use and time, and a fall can set it off at once; the click
//! feels the same. A calibration holds 12 months, or 5000 clicks if these come
//! first (ISO 6789-1 as commonly applied, from memory; `calibration` under
//! `figures` sets another time; clicks are not counted here). What counts is the
//! day on which the joint was tightened, not today. A wrench that nothing says of
//! when it was calibrated is not judged, nor what was tightened before the last
//! calibration: that has proved it.
//!
//! There is one warning for a wrench, with all that was tightened by it.
//!
//! ## Wrong
//!
//! ```yaml build.yaml
//! name: Example
//! wrenches:
//!   small: {from: 5 N·m, to: 25 N·m, calibrated: 2024-11-10}
//!   medium: {from: 20 N·m, to: 100 N·m, calibrated: 2025-11-10,
//!     dropped: 2026-02-20}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover:
//!       holes:
//!         c1: {done: [{as: final, when: 2026-02-14, set: 9 N·m, with: small}]}
//!         c2: {done: [{as: final, when: 2026-02-28, set: 9 N·m, with: small}]}
//!     bracket:
//!       holes:
//!         top: {done: [{as: final, when: 2026-02-28, set: 46 N·m, with: medium}]}
//! ```
//!
//! ```text
//! build.yaml:3:48: warning: `small` tightened `engine/cover/c1` for good on 2026-02-14, and had been calibrated 1 year before, on 2024-11-10, which holds 12 months; the same at engine/cover/c2 [wrench-overdue]
//!     assemblies/all.yaml:6:69: the first that it tightened so
//!     to do: have it calibrated and write the day under `calibrated`; if it was found out, go over what it tightened
//! build.yaml:5:14: warning: `medium` tightened `engine/bracket/top` for good on 2026-02-28, and had been dropped on 2026-02-20 and not calibrated since [wrench-overdue]
//!     assemblies/all.yaml:10:71: the first that it tightened so
//!     to do: have it calibrated and write the day under `calibrated`; if it was found out, go over what it tightened
//! ```
//!
//! ## Right
//!
//! One was calibrated after the fall; the other was in its year when it was used.
//!
//! ```yaml build.yaml
//! name: Example
//! wrenches:
//!   small: {from: 5 N·m, to: 25 N·m, calibrated: 2025-02-20}
//!   medium: {from: 20 N·m, to: 100 N·m, calibrated: 2026-02-24,
//!     dropped: 2026-02-20}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover:
//!       holes:
//!         c1: {done: [{as: final, when: 2026-02-14, set: 9 N·m, with: small}]}
//!     bracket:
//!       holes:
//!         top: {done: [{as: final, when: 2026-02-28, set: 46 N·m, with: medium}]}
//! ```

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::finding::{Finding, Level};
use crate::lint::holes::{and_others, name};
use crate::lint::{Context, Rule};
use crate::model::build::Wrench;
use crate::model::common::Stage;
use crate::near::in_order;
use crate::present::age::{end, how_long};
use crate::present::date;
use crate::present::hardware::calibration;
use crate::present::joints::{Hole, Joint};

/// The rule.
pub const RULE: Rule = Rule {
    name: "wrench-overdue",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// A hole, and the day on which it was tightened.
type Use<'p> = (Date, &'p Joint<'p>, &'p Hole<'p>);

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let mut uses = uses(cx);
    for (id, wrench) in &cx.folder.model.build.wrenches {
        let uses = uses.remove(id.as_str()).unwrap_or_default();
        findings.extend(overdue(cx, id.as_str(), wrench, uses));
    }
}

fn overdue(
    cx: &Context<'_>,
    id: &str,
    wrench: &Wrench,
    mut uses: Vec<Use<'_>>,
) -> Option<Finding> {
    let (calibrated, dropped) = (wrench.calibrated.as_ref().and_then(date), wrench.fell());
    let holds = calibration(cx.folder.model.build.figures.as_ref());
    let ends = calibrated.and_then(|day| end(day, &holds));
    // What it was before its last calibration, that has proved.
    let counts = |used: Date| calibrated.is_none_or(|day| day <= used);
    uses.retain(|(used, ..)| {
        let fell = dropped.is_some_and(|fell| fell <= *used);
        counts(*used) && (fell || ends.is_some_and(|ends| ends < *used))
    });
    let (used, joint, hole) = *uses.first()?;
    let fell = dropped.filter(|fell| *fell <= used);
    let (says, key) = match (fell, calibrated) {
        (Some(fell), _) => {
            // Which came first on that day nothing says.
            let when = if fell == used {
                "was dropped that very day".to_owned()
            } else {
                format!("had been dropped on {fell}")
            };
            (format!("{when} and not calibrated since"), "dropped")
        }
        (None, calibrated) => {
            let calibrated = calibrated?;
            let ago = how_long(calibrated, used);
            let says = format!(
                "had been calibrated {ago} before, on {calibrated}, which holds {}",
                holds.as_str()
            );
            (says, "calibrated")
        }
    };
    let names: Vec<String> = uses[1..].iter().map(|(_, joint, hole)| name(joint, hole)).collect();
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    let message = and_others(
        format!("`{id}` tightened `{}` for good on {used}, and {says}", name(joint, hole)),
        &names,
    );
    let remedy = "have it calibrated and write the day under `calibrated`; if it was found out, go over what it tightened";
    let way = ["wrenches".into(), id.into(), key.into()];
    let finding = cx.finding_in(cx.build_at(&way), message, remedy)?;
    let at = cx.in_done_at(joint, hole, &["with".into()]);
    Some(finding.see_at(cx, at, "the first that it tightened so"))
}

/// What counts as final and was tightened with each wrench, by its day.
fn uses<'p>(cx: &'p Context<'_>) -> BTreeMap<&'p str, Vec<Use<'p>>> {
    let mut uses: BTreeMap<&str, Vec<Use<'_>>> = BTreeMap::new();
    for joint in &cx.present().joints {
        for hole in joint.holes.iter().filter(|hole| hole.claim == Stage::Final) {
            let one = hole.standing.map(|(_, one)| one);
            let with = one.and_then(|one| one.with.as_ref());
            let when = one.and_then(|one| one.when.as_ref()).and_then(date);
            if let (Some(with), Some(when)) = (with, when) {
                let uses = uses.entry(with.as_str()).or_default();
                uses.push((when, joint, hole));
            }
        }
    }
    for uses in uses.values_mut() {
        uses.sort_by(|a, b| {
            let names = in_order(&a.1.name, &b.1.name);
            a.0.cmp(&b.0).then(names).then_with(|| in_order(a.2.name, b.2.name))
        });
    }
    uses
}
