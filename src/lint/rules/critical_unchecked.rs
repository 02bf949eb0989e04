//! # critical-unchecked
//!
//! A joint that people's safety hangs on is tight for good with no torque, or with
//! no second look at it.
//!
//! A bolt that was only nipped up looks like one that is tight, and a brake or a
//! track rod lets go on the road. So a critical joint has its torque written
//! (`steps` or `set`), and somebody else has looked at it: `checked-by` on the same
//! day, or a look under `checked` (common practice in workshops, no source). What
//! is critical the joint says, or else its assembly or one around it; `critical:
//! false` at the joint says that nothing hangs on it. Which torque and which look,
//! the maker's manual says; where the law asks for a licensed workshop, that comes
//! first.
//!
//! A look that found it bad is an error until a later one finds it good. A second
//! look by who did the work is what `checker-did-it` speaks of. For mock-up nothing
//! is asked, unless something is closed over it.
//!
//! ## Wrong
//!
//! ```yaml assemblies/all.yaml
//! brakes:
//!   in: car
//!   critical: brakes
//!   joints:
//!     caliper-bolts:
//!       steps: [68 N·m]
//!       holes:
//!         low: {done: [{as: final, when: 2026-02-28, by: builder}]}
//!         top: {done: [{as: final, when: 2026-02-28, by: builder}]}
//!     hose-bracket:
//!       holes:
//!         left: {done: [{as: final, when: 2026-02-28, set: 9 N·m, by: builder}]}
//!         right: {done: [{as: final, when: 2026-02-28, set: 9 N·m, by: builder,
//!           checked: [{by: helper, when: 2026-03-01, found: bad}]}]}
//! ```
//!
//! ```text
//! assemblies/all.yaml:8:22: error: `brakes/caliper-bolts/low` is tight for good, people's safety hangs on it (brakes), and neither a torque nor a second look is written; the same at top [critical-unchecked]
//!     assemblies/all.yaml:3:13: what hangs on it
//!     to do: tighten it by the maker's manual and write `steps` or `set`; then let somebody else look at it and write `checked-by`
//! assemblies/all.yaml:12:23: error: `brakes/hose-bracket/left` is tight for good, people's safety hangs on it (brakes), and nobody is written to have looked at it a second time [critical-unchecked]
//!     assemblies/all.yaml:3:13: what hangs on it
//!     to do: let somebody else look at it and write `checked-by`, or look again yourself on another day and write that under `checked`
//! assemblies/all.yaml:13:24: error: `brakes/hose-bracket/right` is tight for good, people's safety hangs on it (brakes), and helper found it bad on 2026-03-01 [critical-unchecked]
//!     assemblies/all.yaml:3:13: what hangs on it
//!     to do: put it right by the maker's manual, have it looked at again and add that to `checked`, or write under `until` that it is loose again
//! ```
//!
//! ## Right
//!
//! One was looked at, one is for mock-up, and on the clip nothing hangs.
//!
//! ```yaml assemblies/all.yaml
//! brakes:
//!   in: car
//!   critical: brakes
//!   joints:
//!     caliper-bolts:
//!       steps: [68 N·m]
//!       holes:
//!         low: {done: [{as: final, when: 2026-02-28, steps: 1, by: builder,
//!           checked-by: helper}]}
//!         top: {done: [{as: mock-up, when: 2026-02-28, by: builder}]}
//!     clip:
//!       critical: false
//!       holes: {only: {done: [{as: final, when: 2026-02-28}]}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::holes::{Alike, alike, how};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::assembly::{StepsDone, Tightening};
use crate::model::common::{CheckResult, Stage};
use crate::present::joints::{Hole, Joint};

/// The rule.
pub const RULE: Rule = Rule {
    name: "critical-unchecked",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        let Some(hangs) = cx.present().hangs_on(joint) else {
            continue;
        };
        for alike in alike(joint, |hole| fault(cx, joint, hole)) {
            findings.extend(finding(cx, &alike, hangs.word()));
        }
    }
}

#[derive(Debug, PartialEq)]
struct Fault<'a> {
    lacks: Lacks<'a>,
    how: String,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Lacks<'a> {
    Torque,
    Look,
    Both,
    /// A look found it bad: who, and when.
    Good(Option<&'a str>, Option<&'a str>),
}

fn fault<'a>(cx: &Context<'_>, joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    let (_, one) = hole.standing.filter(|_| hole.claim == Stage::Final)?;
    let looked = one.checked_by.is_some() || !one.checked.is_empty();
    let lacks = match (found_bad(one), has_torque(one), looked) {
        (Some(bad), ..) => bad,
        (None, false, false) => Lacks::Both,
        (None, false, true) => Lacks::Torque,
        (None, true, false) => Lacks::Look,
        (None, true, true) => return None,
    };
    let how = how(cx.present(), joint, hole);
    Some(Fault { lacks, how })
}

/// Whether it is written how hard it was tightened.
fn has_torque(one: &Tightening) -> bool {
    let steps = match &one.steps {
        Some(StepsDone::Count(count)) => *count > 0,
        Some(StepsDone::Each(steps)) => !steps.is_empty(),
        None => false,
    };
    steps || one.set.is_some()
}

/// The last look that came to anything, if it found it bad.
fn found_bad(one: &Tightening) -> Option<Lacks<'_>> {
    let last = one.last_look()?;
    let by = last.by.as_ref().map(|by| by.as_str());
    let when = last.when.as_ref().map(|when| when.as_str());
    (last.found == Some(CheckResult::Bad)).then_some(Lacks::Good(by, when))
}

fn finding(cx: &Context<'_>, alike: &Alike<'_, '_, Fault<'_>>, hangs: &str) -> Option<Finding> {
    let (joint, hole, fault) = (alike.joint, alike.first, &alike.fault);
    let (says, remedy) = match fault.lacks {
        Lacks::Torque => (
            "no torque is written".to_owned(),
            "tighten it by the maker's manual and write `steps` or `set`",
        ),
        Lacks::Look => (
            "nobody is written to have looked at it a second time".to_owned(),
            "let somebody else look at it and write `checked-by`, or look again yourself on another day and write that under `checked`",
        ),
        Lacks::Both => (
            "neither a torque nor a second look is written".to_owned(),
            "tighten it by the maker's manual and write `steps` or `set`; then let somebody else look at it and write `checked-by`",
        ),
        Lacks::Good(by, when) => (
            format!(
                "{} found it bad{}",
                by.unwrap_or("a second look"),
                when.map(|when| format!(" on {when}")).unwrap_or_default()
            ),
            "put it right by the maker's manual, have it looked at again and add that to `checked`, or write under `until` that it is loose again",
        ),
    };
    let message = alike.told(format!(
        "`{}` {}, people's safety hangs on it ({hangs}), and {says}",
        alike.name(),
        fault.how
    ));
    let finding = cx.finding_in(cx.in_done_at(joint, hole, &[]), message, remedy)?;
    let own = joint.record.critical.is_some();
    let own = own.then(|| cx.in_joint_at(joint, &["critical".into()])).flatten();
    let says = own.or_else(|| {
        let around = cx.present().around(joint.assembly).into_iter();
        let mut around = around.map(|one| &cx.present().assemblies[one]);
        let says = around.find(|one| one.record.critical.is_some())?;
        cx.value_at(Kind::Assemblies, says.id, &["critical".into()])
    });
    Some(
        finding
            .by_claim(hole.claim, Level::Warning)
            .see_at(cx, says, "what hangs on it"),
    )
}
