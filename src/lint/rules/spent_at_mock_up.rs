//! # spent-at-mock-up
//!
//! A new bolt that can be used once only was tightened to the full for mock-up.
//!
//! A stretch bolt that has gone through its angle has had its one use, whether the
//! joint was meant to stay or not; so has anything else for once only that had its
//! last torque (common practice, no source). It comes apart again, and new ones
//! must be bought. For mock-up old bolts do, or new ones run up by hand.
//!
//! What is for once only says so by `once`, or by `stretch` with nothing said of
//! `once`. Where an old one went in, `new: false` says so, and nothing is said
//! here. Once it is out again (`until`), `used-once-already` watches that it does
//! not come back for good.
//!
//! ## Wrong
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     head-bolts:
//!       steps: [30 N·m, turn 90 deg, turn 90 deg]
//!       holes:
//!         b1: {calls-for: bolt-head, done: [
//!           {as: mock-up, when: 2026-02-21, steps: 3, new: true}]}
//!         b2: {calls-for: bolt-head, done: [
//!           {as: mock-up, when: 2026-02-21, steps: [30 N·m, turn 90 deg],
//!             new: true}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-head: {form: bolt, thread: M10x1.25, stretch: true, once: true, have: 10}
//! ```
//!
//! ```text
//! assemblies/all.yaml:8:11: warning: `engine/head-bolts/b1` was tightened to the full for mock-up, and so the new `bolt-head` in it, which can be used once only, is spent; the same at b2 [spent-at-mock-up]
//!     fasteners/all.yaml:1:64: what it says of itself
//!     to do: get new ones for good, count these under `used`, and write `new: false` if an old one went in
//! ```
//!
//! ## Right
//!
//! An old one was turned through its angles, and a new one only pulled down.
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     head-bolts:
//!       steps: [30 N·m, turn 90 deg, turn 90 deg]
//!       holes:
//!         b1: {calls-for: bolt-head, done: [
//!           {as: mock-up, when: 2026-02-21, steps: 3, new: false}]}
//!         b2: {calls-for: bolt-head, done: [
//!           {as: mock-up, when: 2026-02-21, steps: 1, new: true}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-head: {form: bolt, thread: M10x1.25, stretch: true, once: true, have: 10}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::holes::{Alike, alike};
use crate::lint::{Context, Rule};
use crate::model::common::{FittedAs, Newness};
use crate::present::joints::{Hole, Joint};
use crate::present::uses::{Pull, Which};

/// The rule.
pub const RULE: Rule = Rule {
    name: "spent-at-mock-up",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        for alike in alike(joint, |hole| spent(joint, hole)) {
            findings.extend(finding(cx, &alike));
        }
    }
}

/// What was spent in a hole: its id.
fn spent<'a>(joint: &Joint<'a>, hole: &Hole<'a>) -> Option<&'a str> {
    let (_, one) = hole.standing?;
    let bolt = hole.now_in(Which::Bolt)?;
    let new = match (one.new, bolt.record.newness) {
        (Some(new), _) => new,
        // Of a reading that nobody wrote the likelier one: what can be used once only, and
        // is not said to be used, is new.
        (None, newness) => newness != Some(Newness::Used),
    };
    let mock_up = one.as_ != Some(FittedAs::Final);
    let whole = joint.pull(one) == Pull::Whole;
    (mock_up && new && whole && bolt.record.is_for_once()).then_some(bolt.id)
}

fn finding(cx: &Context<'_>, alike: &Alike<'_, '_, &str>) -> Option<Finding> {
    let (joint, hole, id) = (alike.joint, alike.first, alike.fault);
    let message = alike.told(format!(
        "`{}` was tightened to the full for mock-up, and so the new `{id}` in it, which can be used once only, is spent",
        alike.name()
    ));
    let remedy = "get new ones for good, count these under `used`, and write `new: false` if an old one went in";
    let finding = cx.finding_in(cx.in_done_at(joint, hole, &[]), message, remedy)?;
    let says = cx.folder.model.fastener.get(id).is_some_and(|one| one.data.once.is_some());
    let says = if says { "once" } else { "stretch" };
    let says = cx.in_fastener_at(id, &[says.into()]);
    Some(finding.see_at(cx, says, "what it says of itself"))
}
