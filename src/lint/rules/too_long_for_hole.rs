//! # too-long-for-hole
//!
//! A bolt reaches further than its blind hole is deep.
//!
//! It runs on the bottom before it clamps anything, feels tight, and cracks the
//! casting or pushes the bottom out when more is put on it. What reaches into the
//! hole is the length of the bolt less what lies under its head: the grip and the
//! washers. It is an error while it is only planned, because length, grip and depth
//! contradict each other whatever happens; another bolt that only hangs in its hole
//! by hand for mock-up does no harm, and is left to `wrong-hardware`. Where the
//! hole is deep enough and its thread ends before, it is a warning; not so below an
//! insert, where the hole is wider than the bolt. A figure with a range is held to
//! the end that leaves no doubt.
//!
//! Geometry; that a bolt wants a turn or two of room is common practice, no source.
//! Measure with a wire and a rule before you trust a record, and follow the maker's
//! manual: a casting that is cracked may hold until the road.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-45: {form: bolt, thread: M10x1.5, length: 45 mm, class: "8.8"}
//! bolt-m10-40: {form: bolt, thread: M10x1.5, length: 40 mm, class: "8.8"}
//! bolt-m10-50: {form: bolt, thread: M10x1.5, length: 50 mm, class: "8.8"}
//! stud-m8: {form: stud, thread: M8x1.25, set-in: 20 mm, length: 50 mm}
//! washer-m10: {form: washer, inside: 10.5 mm, thickness: 2 mm}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       grip: 14 mm
//!       into: {material: aluminium, depth: 28 mm, threaded: 22 mm, blind: true}
//!       holes:
//!         top: {calls-for: bolt-m10-45, washers: [washer-m10]}
//!         low: {calls-for: bolt-m10-45, washers: [washer-m10]}
//!         rear: {calls-for: bolt-m10-40, washers: [washer-m10]}
//!         ear:
//!           calls-for: bolt-m10-40
//!           grip: 20 mm
//!           done: [{as: mock-up, when: 2026-02-20, fastener: bolt-m10-50,
//!             set: 46 N·m}]
//!     manifold:
//!       into: {material: aluminium, depth: 18 mm, blind: true}
//!       holes: {m1: {calls-for: stud-m8}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:9:26: error: `engine/bracket/low` gets `bolt-m10-45`, which reaches 29 mm beyond what it clamps, and is a blind hole 28 mm deep; the same at top [too-long-for-hole]
//!     fasteners/all.yaml:1:52: how long it is
//!     assemblies/all.yaml:6:42: how deep it is
//!     assemblies/all.yaml:5:13: what it clamps
//!     to do: take a bolt that is shorter by more than 1 mm, or measure grip, washers and depth again
//! assemblies/all.yaml:10:27: warning: `engine/bracket/rear` gets `bolt-m10-40`, which reaches 24 mm beyond what it clamps, and its thread ends 22 mm down [too-long-for-hole]
//!     fasteners/all.yaml:2:52: how long it is
//!     assemblies/all.yaml:6:59: how deep the thread goes
//!     assemblies/all.yaml:5:13: what it clamps
//!     to do: take a shorter bolt, or have the thread cut deeper; else it binds there before it clamps
//! assemblies/all.yaml:14:60: error: `engine/bracket/ear` gets `bolt-m10-50`, which reaches 30 mm beyond what it clamps, and is a blind hole 28 mm deep [too-long-for-hole]
//!     fasteners/all.yaml:3:52: how long it is
//!     assemblies/all.yaml:6:42: how deep it is
//!     assemblies/all.yaml:13:17: what it clamps
//!     to do: take a bolt that is shorter by more than 2 mm, or measure grip, washers and depth again
//! assemblies/all.yaml:18:31: error: `engine/manifold/m1` is to take 20 mm of `stud-m8`, and is a blind hole 18 mm deep [too-long-for-hole]
//!     fasteners/all.yaml:4:48: how long it is
//!     assemblies/all.yaml:17:42: how deep it is
//!     to do: set the stud in less far, or take a shorter one, and write its `set-in`
//! ```
//!
//! ## Right
//!
//! The longer bolt has a thicker stack under its head. Another hangs in its hole by
//! hand until the right one comes. A third reaches through its insert.
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-45: {form: bolt, thread: M10x1.5, length: 45 mm, class: "8.8"}
//! bolt-m10-35: {form: bolt, thread: M10x1.5, length: 35 mm, class: "8.8"}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       grip: 14 mm
//!       into: {material: aluminium, depth: 28 mm, blind: true}
//!       holes:
//!         top: {calls-for: bolt-m10-45, grip: 22 mm}
//!         low: {calls-for: bolt-m10-35,
//!           done: [{as: mock-up, when: 2026-02-20, fastener: bolt-m10-45,
//!             note: hand tight}]}
//!         rear: {calls-for: bolt-m10-35, repaired: {kind: coil insert,
//!           thread: M10x1.5, depth: 15 mm}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault, long};
use crate::lint::{Context, Rule};
use crate::model::assembly::{RepairKind, StepsDone, Tightening};
use crate::model::common::Stage;
use crate::model::fastener::Form;
use crate::present::joints::{Hardware, Hole, Joint};
use crate::reckon::measure::mm;

/// The rule.
pub const RULE: Rule = Rule {
    name: "too-long-for-hole",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        cx.tell_faults(joint, findings, |hole| judge(joint, hole));
    }
}

fn judge<'a>(joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    let (bolt, stage) = hole.judged()?;
    if by_hand(hole, stage) {
        return None;
    }
    let bore = hole.bore(joint);
    let (least, most) = hole.reach(joint, bolt.record)?;
    let least = least?;
    let depth = bore.depth.filter(|_| bore.blind);
    let none = mm(0.0);
    // In a hole of another depth by a few hundredths nothing bottoms.
    let slack = mm(0.05);
    let is_stud = bolt.record.form == Some(Form::Stud);
    let reaches = long(least.beyond);
    let does = if is_stud {
        format!("is to take {reaches} of `{}`", bolt.id)
    } else {
        format!(
            "gets `{}`, which reaches {reaches} beyond what it clamps",
            bolt.id
        )
    };
    if let Some(depth) = depth
        && least.to_spare.is_some_and(|spare| spare < none - slack)
    {
        return Some(Fault {
            at: at(hole, stage),
            says: format!("{does}, and is a blind hole {} deep", long(depth.most)),
            remedy: if is_stud {
                "set the stud in less far, or take a shorter one, and write its `set-in`".to_owned()
            } else {
                let too_long = long(least.beyond - depth.most);
                format!(
                    "take a bolt that is shorter by more than {too_long}, or measure grip, washers and depth again"
                )
            },
            claim: stage,
            level: Some(Level::Error),
            see: see(hole, bolt, "depth", "how deep it is"),
        });
    }
    // Below an insert the hole is cut larger, and nothing binds there.
    let repaired = hole.record.repaired.as_ref();
    let insert = repaired.and_then(|repair| repair.kind);
    if matches!(insert, Some(RepairKind::Coil | RepairKind::Bush)) {
        return None;
    }
    let threaded = bore.threaded?;
    if threaded.most >= least.beyond - slack || most.beyond <= threaded.most {
        return None;
    }
    Some(Fault {
        at: at(hole, stage),
        says: format!("{does}, and its thread ends {} down", long(threaded.most)),
        remedy: "take a shorter bolt, or have the thread cut deeper; else it binds there before it clamps".to_owned(),
        claim: stage,
        level: Some(Level::Warning),
        see: see(hole, bolt, "threaded", "how deep the thread goes"),
    })
}

/// Where what is in the hole, or meant for it, is written.
fn at(hole: &Hole<'_>, stage: Stage) -> At<'static> {
    match hole.tightening() {
        Some(one) if stage != Stage::Bench && one.fastener.is_some() => {
            At::Done(vec!["fastener".into()])
        }
        _ => At::Hole(vec!["calls-for".into()]),
    }
}

/// Whether another bolt only hangs in its hole by hand, for mock-up.
fn by_hand(hole: &Hole<'_>, stage: Stage) -> bool {
    let light = |one: &Tightening| {
        let none = matches!(&one.steps, None | Some(StepsDone::Count(0)));
        one.fastener.is_some() && one.set.is_none() && none
    };
    stage == Stage::MockUp && hole.tightening().is_some_and(light)
}

fn see<'a>(
    hole: &Hole<'a>,
    bolt: Hardware<'a>,
    field: &'static str,
    what: &str,
) -> Vec<(At<'a>, String)> {
    let stud = bolt.record.form == Some(Form::Stud);
    let length = if stud { "set-in" } else { "length" };
    let in_hole = field == "depth" && hole.record.depth.is_some();
    let repaired = field == "threaded"
        && hole
            .record
            .repaired
            .as_ref()
            .is_some_and(|repair| repair.depth.is_some());
    let deep = if in_hole {
        At::Hole(vec!["depth".into()])
    } else if repaired {
        At::Hole(vec!["repaired".into(), "depth".into()])
    } else {
        At::Joint(vec!["into".into(), field.into()])
    };
    let mut all = vec![
        (At::Fastener(bolt.id, length), "how long it is".to_owned()),
        (deep, what.to_owned()),
    ];
    if !stud {
        let grip = if hole.record.grip.is_some() {
            At::Hole(vec!["grip".into()])
        } else {
            At::Joint(vec!["grip".into()])
        };
        all.push((grip, "what it clamps".to_owned()));
    }
    all
}
