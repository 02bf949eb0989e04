//! # hole-unfit
//!
//! A hole is tight that holds nothing, what is left of a bolt, or a thread that
//! will not hold or was never proved.
//!
//! A thread that is gone shows only when the torque never comes, or when it comes
//! and goes again on the road. What is wrong with a hole stands under `holds`; put
//! right, it is taken away. How a thread was repaired stands under `repaired`, and
//! the torque it was tried with under `proved`: until then it is a thread that
//! nobody has proved (common practice, no source; the maker of the insert says how
//! it is tried). A thread that was only chased needs no proof. One proved with less
//! than the joint's last torque is not proved for that. Hardware for mock-up may be
//! tight for mock-up, and not for good.
//!
//! For mock-up it is a warning. Under a claim it is an error. Of a hole in which
//! nothing is tight nothing is said.
//!
//! ## Wrong
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       steps: [15 N·m, 46 N·m]
//!       holes:
//!         front: {holds: unproven thread, done: [{as: mock-up, when: 2026-02-28}]}
//!         low: {holds: stripped thread, done: [{as: final, when: 2026-02-28}]}
//!         rear: {holds: stripped thread, done: [{as: final, when: 2026-02-28}]}
//!         top:
//!           repaired: {kind: coil insert, thread: M10x1.25, depth: 20 mm}
//!           done: [{as: final, when: 2026-02-28}]
//!         upper:
//!           repaired: {kind: coil insert, thread: M10x1.25, depth: 20 mm,
//!             proved: 30 N·m}
//!           done: [{as: final, when: 2026-02-28}]
//!         back: {holds: nothing, done: [{as: mock-up, when: 2026-02-28}]}
//!         ear: {holds: mock-up hardware, done: [{as: final, when: 2026-02-28}]}
//! ```
//!
//! ```text
//! assemblies/all.yaml:7:48: warning: `engine/bracket/front` is tight for mock-up, and nobody has proved its thread [hole-unfit]
//!     assemblies/all.yaml:7:24: what is written of its thread
//!     to do: try the thread as the maker's manual says, write the torque as `proved` under `repaired` if it was repaired, and take `holds` away
//! assemblies/all.yaml:8:46: error: `engine/bracket/low` is tight for good, and its thread is stripped; the same at rear [hole-unfit]
//!     assemblies/all.yaml:8:22: what is written of its thread
//!     to do: have it repaired, write how under `repaired` with the torque that `proved` it, and take `holds` away
//! assemblies/all.yaml:12:18: error: `engine/bracket/top` is tight for good, and its thread was repaired (coil insert), and nothing says that it was tried [hole-unfit]
//!     assemblies/all.yaml:11:21: what is written of its thread
//!     to do: try it as the maker of the repair says, and write the torque under `proved`
//! assemblies/all.yaml:16:18: error: `engine/bracket/upper` is tight for good, and its repaired thread was tried with 30 N·m, and the joint asks for 46 N·m [hole-unfit]
//!     assemblies/all.yaml:14:21: what is written of its thread
//!     to do: try it with the joint's torque at least, and write that under `proved`
//! assemblies/all.yaml:17:39: warning: `engine/bracket/back` is tight for mock-up, and it holds nothing [hole-unfit]
//!     assemblies/all.yaml:17:23: what is written of the hole
//!     to do: write under `until` the day it came out, or take `holds` away
//! assemblies/all.yaml:18:47: error: `engine/bracket/ear` is tight for good, and what it holds is for mock-up [hole-unfit]
//!     assemblies/all.yaml:18:22: what is written of the hole
//!     to do: put in what belongs there and take `holds` away, or write `as: mock-up`
//! ```
//!
//! ## Right
//!
//! The stripped hole waits. The repaired one was tried with more than it will have.
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       steps: [15 N·m, 46 N·m]
//!       holes:
//!         rear: {holds: stripped thread}
//!         ear: {holds: mock-up hardware, done: [{as: mock-up, when: 2026-02-28}]}
//!         top:
//!           repaired: {kind: coil insert, thread: M10x1.25, depth: 20 mm,
//!             proved: 50 N·m}
//!           done: [{as: final, when: 2026-02-28}]
//! ```

use std::cmp::Ordering;

use crate::finding::{Finding, Level};
use crate::lint::holes::{Alike, alike, how};
use crate::lint::{Context, Rule};
use crate::model::assembly::{Holds, RepairKind};
use crate::model::common::{FittedAs, Stage};
use crate::present::joints::{Hole, Joint};

/// The rule.
pub const RULE: Rule = Rule {
    name: "hole-unfit",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        for alike in alike(joint, |hole| fault(cx, joint, hole)) {
            findings.extend(finding(cx, &alike));
        }
    }
}

#[derive(Debug, PartialEq)]
struct Fault<'a> {
    unfit: Unfit<'a>,
    claim: Stage,
    how: String,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Unfit<'a> {
    /// What it holds.
    Holds(Holds),
    /// Repaired, and never tried.
    Untried(Option<RepairKind>),
    /// Tried with this, where that is asked for.
    Less(&'a str, &'a str),
}

fn fault<'a>(cx: &Context<'_>, joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    hole.tight?;
    Some(Fault {
        unfit: unfit(joint, hole)?,
        claim: hole.claim,
        how: how(cx.present(), joint, hole),
    })
}

fn unfit<'a>(joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Unfit<'a>> {
    let repaired = hole.record.repaired.as_ref();
    let proved = repaired.and_then(|repair| repair.proved.as_ref());
    match hole.record.holds {
        Some(
            holds @ (Holds::Nothing | Holds::BrokenBolt | Holds::StrippedThread | Holds::Dirt),
        ) => return Some(Unfit::Holds(holds)),
        Some(Holds::MockUpHardware) if hole.tight == Some(FittedAs::Final) => {
            return Some(Unfit::Holds(Holds::MockUpHardware));
        }
        // Proved, it is one no more.
        Some(Holds::UnprovenThread) if proved.is_none() => {
            return Some(Unfit::Holds(Holds::UnprovenThread));
        }
        _ => {}
    }
    let repaired = repaired?;
    let Some(proved) = proved else {
        let untried = repaired.kind != Some(RepairKind::Chased);
        return untried.then_some(Unfit::Untried(repaired.kind));
    };
    let (_, one) = hole.standing?;
    let (asked, text) = joint.last_torque(one)?;
    let with = proved.quantity().ok()?;
    let less = with.high().compare(&asked.low()) == Some(Ordering::Less);
    (less && !with.rounds_to(&asked)).then_some(Unfit::Less(proved.as_str(), text))
}

fn finding(cx: &Context<'_>, alike: &Alike<'_, '_, Fault<'_>>) -> Option<Finding> {
    let (joint, hole, fault) = (alike.joint, alike.first, &alike.fault);
    let what = match fault.unfit {
        Unfit::Holds(Holds::Nothing | Holds::MockUpHardware) => "what is written of the hole",
        _ => "what is written of its thread",
    };
    let (says, key, remedy) = match fault.unfit {
        Unfit::Holds(holds) => {
            let (says, remedy) = match holds {
                Holds::Nothing => (
                    "it holds nothing",
                    "write under `until` the day it came out, or take `holds` away",
                ),
                Holds::MockUpHardware => (
                    "what it holds is for mock-up",
                    "put in what belongs there and take `holds` away, or write `as: mock-up`",
                ),
                Holds::BrokenBolt => (
                    "it holds what is left of a broken bolt",
                    "get the rest out and take `holds` away, or write under `until` that it is loose again",
                ),
                Holds::StrippedThread => (
                    "its thread is stripped",
                    "have it repaired, write how under `repaired` with the torque that `proved` it, and take `holds` away",
                ),
                Holds::Dirt => ("its thread is dirty", "clean it, tighten it anew and take `holds` away"),
                _ => (
                    "nobody has proved its thread",
                    "try the thread as the maker's manual says, write the torque as `proved` under `repaired` if it was repaired, and take `holds` away",
                ),
            };
            (says.to_owned(), "holds", remedy)
        }
        Unfit::Untried(kind) => (
            match kind {
                Some(kind) => format!("its thread was repaired ({}), and nothing says that it was tried", kind.word()),
                None => "its thread was repaired, and nothing says that it was tried".to_owned(),
            },
            "repaired",
            "try it as the maker of the repair says, and write the torque under `proved`",
        ),
        Unfit::Less(with, asked) => (
            format!("its repaired thread was tried with {with}, and the joint asks for {asked}"),
            "repaired",
            "try it with the joint's torque at least, and write that under `proved`",
        ),
    };
    let message = alike.told(format!("`{}` {}, and {says}", alike.name(), fault.how));
    let finding = cx.finding_in(cx.in_done_at(joint, hole, &[]), message, remedy)?;
    Some(
        finding
            .by_claim(fault.claim, Level::Warning)
            .see_at(cx, cx.in_hole_at(joint, hole, &[key.into()]), what),
    )
}
