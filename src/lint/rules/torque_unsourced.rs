//! # torque-unsourced
//!
//! A joint is tightened by figures that are printed nowhere, or for another
//! variant.
//!
//! A torque that nobody can look up again can't be checked, and the same bolt has
//! another torque in another variant of the same engine (common practice, no
//! source). Where the figures stand goes under `source` of the joint; a notebook is
//! a source too, if `build.yaml` lists it. It is asked for once a hole is tight for
//! good by `steps`.
//!
//! A source that `covers` a variant speaks of that alone. Where what is on, or
//! planned, gives the joint's assembly another word of that trait, it is said at
//! once, before anybody sets a wrench by it: one warning for all joints with that
//! source. What nothing gives is not judged.
//!
//! ## Wrong
//!
//! ```yaml build.yaml
//! name: Example
//! sources: {pell-16: {title: Pell 1.6 workshop book,
//!   covers: {ignition: coil-per-cylinder}}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   gives: {ignition: distributor}
//!   joints:
//!     bracket:
//!       steps: [15 N·m, 46 N·m]
//!       holes: {top: {done: [{as: final, when: 2026-02-28, steps: 2}]}}
//!     cover:
//!       steps: [9 N·m]
//!       source: {in: pell-16, page: "5-7"}
//!     sump:
//!       steps: [11 N·m]
//!       source: {in: pell-16, page: "2-3"}
//! ```
//!
//! ```text
//! assemblies/all.yaml:6:14: warning: `engine/bracket` is tight for good, and nothing says where its steps are printed [torque-unsourced]
//!     assemblies/all.yaml:7:28: where it was tightened
//!     to do: look them up in the maker's manual, and write `source` with the book and the page
//! assemblies/all.yaml:10:15: warning: the steps of `engine/cover` are out of `pell-16`, which covers ignition: coil-per-cylinder, and what is there gives ignition: distributor; the same at engine/sump [torque-unsourced]
//!     build.yaml:3:22: what it covers
//!     to do: look for the figures of this variant, or mend `covers` if the book has them both
//! ```
//!
//! ## Right
//!
//! The book covers what is there. The bracket is not tight for good yet.
//!
//! ```yaml build.yaml
//! name: Example
//! sources: {pell-16: {title: Pell 1.6 workshop book,
//!   covers: {ignition: coil-per-cylinder}}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   gives: {ignition: coil-per-cylinder}
//!   joints:
//!     bracket:
//!       steps: [15 N·m, 46 N·m]
//!       holes: {top: {done: [{as: mock-up, when: 2026-02-28, steps: 1}]}}
//!     cover:
//!       steps: [9 N·m]
//!       source: {in: pell-16, page: "5-7"}
//!       holes: {top: {done: [{as: final, when: 2026-02-28, steps: 1}]}}
//! ```

use std::collections::BTreeMap;

use crate::finding::{Finding, Level};
use crate::lint::holes::and_others;
use crate::lint::{Context, Rule};
use crate::model::common::Stage;
use crate::present::View;
use crate::present::joints::Joint;

/// The rule.
pub const RULE: Rule = Rule {
    name: "torque-unsourced",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// A source, and a trait of which it covers another word than is given: what it covers,
/// and what is given.
type Mismatch<'a> = (&'a str, &'a str, &'a str, &'a str);

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let mut others: BTreeMap<Mismatch<'_>, Vec<&Joint<'_>>> = BTreeMap::new();
    let sources = cx.folder.model.build.sources.iter();
    let sources: BTreeMap<&str, _> = sources.map(|(id, one)| (id.as_str(), one)).collect();
    let flow = present.flow(View::Now);
    for joint in &present.joints {
        let record = joint.record;
        if record.steps.is_empty() && record.steps_for_new.is_empty() {
            continue;
        }
        let Some(source) = record.source.as_ref().and_then(|source| source.in_.as_ref()) else {
            findings.extend(unsourced(cx, joint));
            continue;
        };
        let Some((id, source)) = sources.get_key_value(source.as_str()) else {
            continue;
        };
        for (name, word) in &source.covers {
            let given = present.decides(&flow, joint.assembly, name.as_str());
            let covered = given.iter().any(|given| given.word == word.as_str());
            if let (Some(given), false) = (given.first(), covered) {
                let mismatch = (*id, name.as_str(), word.as_str(), given.word);
                others.entry(mismatch).or_default().push(joint);
            }
        }
    }
    for (mismatch, joints) in others {
        findings.extend(other_variant(cx, mismatch, &joints));
    }
}

fn unsourced(cx: &Context<'_>, joint: &Joint<'_>) -> Option<Finding> {
    let mut holes = joint.holes.iter();
    let hole = holes.find(|hole| hole.claim == Stage::Final)?;
    let message = format!(
        "`{}` is tight for good, and nothing says where its steps are printed",
        joint.name
    );
    let remedy = "look them up in the maker's manual, and write `source` with the book and the page";
    let finding = cx.finding_in(cx.in_joint_at(joint, &["steps".into()]), message, remedy)?;
    Some(finding.see_at(cx, cx.in_done_at(joint, hole, &[]), "where it was tightened"))
}

fn other_variant(
    cx: &Context<'_>,
    (source, name, covers, given): Mismatch<'_>,
    joints: &[&Joint<'_>],
) -> Option<Finding> {
    let (first, others) = joints.split_first()?;
    let others: Vec<&str> = others.iter().map(|joint| joint.name.as_str()).collect();
    let message = and_others(
        format!(
            "the steps of `{}` are out of `{source}`, which covers {name}: {covers}, and what is there gives {name}: {given}",
            first.name
        ),
        &others,
    );
    let remedy = "look for the figures of this variant, or mend `covers` if the book has them both";
    let at = cx.in_joint_at(first, &["source".into()]);
    let finding = cx.finding_in(at, message, remedy)?;
    let covers = cx.build_at(&["sources".into(), source.into(), "covers".into(), name.into()]);
    Some(finding.see_at(cx, covers, "what it covers"))
}
