//! # vague-repair
//!
//! A thread was repaired, and with what is not written.
//!
//! The next torque hangs on it: a coil holds otherwise than a bush, and either
//! holds by its length and the thread it has now. Nobody can see that any more once
//! a bolt is in it. So a repair says its `kind`, its `thread` and its `depth`
//! (common practice, no source). A thread that was only chased is as it was, and
//! needs neither.
//!
//! ## Wrong
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       holes:
//!         low: {repaired: {kind: coil insert}}
//!         rear: {repaired: {kind: coil insert, when: 2026-02-27}}
//!         top: {repaired: {thread: M10x1.5, depth: 20 mm, proved: 50 N·m}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:6:25: warning: the thread of `engine/bracket/low` was repaired, and nothing says which thread it has now or how deep that goes; the same at rear [vague-repair]
//!     to do: write `thread` and `depth` there, while it can still be seen
//! assemblies/all.yaml:8:25: warning: the thread of `engine/bracket/top` was repaired, and nothing says by what [vague-repair]
//!     to do: write `kind` there, while it can still be seen
//! ```
//!
//! ## Right
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       holes:
//!         rear: {repaired: {kind: coil insert, thread: M10x1.5, depth: 20 mm}}
//!         top: {repaired: {kind: chased}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::holes::alike;
use crate::lint::{Context, Rule};
use crate::model::assembly::RepairKind;
use crate::near::spoken;
use crate::present::joints::Hole;

/// The rule.
pub const RULE: Rule = Rule {
    name: "vague-repair",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        for alike in alike(joint, lacks) {
            let quoted: Vec<String> = alike.fault.iter().map(|(key, _)| format!("`{key}`")).collect();
            let what: Vec<&str> = alike.fault.iter().map(|(_, what)| *what).collect();
            let message = alike.told(format!(
                "the thread of `{}` was repaired, and nothing says {}",
                alike.name(),
                spoken(&what, "or")
            ));
            let remedy = format!("write {} there, while it can still be seen", spoken(&quoted, "and"));
            let at = cx.in_hole_at(joint, alike.first, &["repaired".into()]);
            findings.extend(cx.finding_in(at, message, remedy));
        }
    }
}

/// The keys that a repair lacks, each with what it would say.
fn lacks(hole: &Hole<'_>) -> Option<Vec<(&'static str, &'static str)>> {
    let repair = hole.record.repaired.as_ref()?;
    if repair.kind == Some(RepairKind::Chased) {
        return None;
    }
    let all = [
        (repair.kind.is_none(), "kind", "by what"),
        (repair.thread.is_none(), "thread", "which thread it has now"),
        (repair.depth.is_none(), "depth", "how deep that goes"),
    ];
    let lacks = all.into_iter().filter(|(lacks, ..)| *lacks);
    let lacks: Vec<_> = lacks.map(|(_, key, what)| (key, what)).collect();
    (!lacks.is_empty()).then_some(lacks)
}
