//! # mixed-standards
//!
//! One joint is held by threads or heads of different standards, or by a nut that
//! is weaker than its bolt.
//!
//! M10x1.5 beside M10x1.25, or 5/16 beside M8, are told apart in the hand by nobody
//! in a hurry: the wrong one starts, and cross-threads. Two heads of one thread
//! that want two spanners come out of two boxes, and nobody knows what else is
//! different about them. A nut of a lower class than its bolt strips before the
//! bolt is tight (ISO 898-2, from memory: the nut's class is at least the first
//! figure of the bolt's). Of a nut that does not go on its thread, or is weaker
//! than the one that is called for, other rules speak.
//!
//! Compared is what is turned: bolts, and the threads that nuts go on. The end of a
//! stud that stays in its hole is compared with other studs only, as a coarse
//! thread below and a fine one above is ordinary. Common practice, no source. Where
//! the maker's manual does mix them, a decision says so.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-fine: {form: bolt, head: hex, thread: M10x1.25, across-flats: 14 mm}
//! bolt-m10: {form: bolt, head: hex, thread: M10, across-flats: 17 mm}
//! bolt-m10-new: {form: bolt, head: hex, thread: M10, across-flats: 16 mm}
//! bolt-inch: {form: bolt, head: hex, thread: 5/16-18UNC}
//! bolt-m12: {form: bolt, thread: M12, class: "10.9"}
//! nut-m12: {form: nut, thread: M12, class: "8"}
//! nut-m12-fine: {form: nut, thread: M12x1.25, class: "8"}
//! nut-m12-hard: {form: nut, thread: M12, class: "10"}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! gearbox:
//!   in: car
//!   joints:
//!     bell: {holes: {b1: {calls-for: bolt-m10}, b2: {calls-for: bolt-m10-fine},
//!       b3: {calls-for: bolt-m10}}}
//!     mount: {holes: {m1: {calls-for: bolt-m10}, m2: {calls-for: bolt-m10-new}}}
//!     cover: {holes: {c1: {calls-for: bolt-m10}, c2: {calls-for: bolt-inch}}}
//!     arm: {holes: {a1: {calls-for: bolt-m12, then: nut-m12},
//!       a2: {calls-for: bolt-m12, then: nut-m12},
//!       a3: {calls-for: bolt-m12, then: nut-m12-fine},
//!       a4: {calls-for: bolt-m12, then: nut-m12-hard, done: [{as: final,
//!         when: 2026-02-20, then: nut-m12}]}}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:4:63: warning: `gearbox/bell` mixes pitches of one size, M10 and M10x1.25: `bolt-m10` in b1 and `bolt-m10-fine` in b2 [mixed-standards]
//!     fasteners/all.yaml:2:43: the one
//!     fasteners/all.yaml:1:48: the other
//!     to do: use one standard in one joint, or mark the holes and bolts so that nobody mixes them, and let a decision settle it
//! assemblies/all.yaml:6:64: warning: `gearbox/mount` mixes heads of one thread, 17 mm and 16 mm across the flats of M10: `bolt-m10` in m1 and `bolt-m10-new` in m2 [mixed-standards]
//!     fasteners/all.yaml:2:62: the one
//!     fasteners/all.yaml:3:66: the other
//!     to do: use one standard in one joint, or mark the holes and bolts so that nobody mixes them, and let a decision settle it
//! assemblies/all.yaml:7:64: warning: `gearbox/cover` mixes metric and unified inch threads: `bolt-m10` in c1 and `bolt-inch` in c2 [mixed-standards]
//!     fasteners/all.yaml:2:43: the one
//!     fasteners/all.yaml:4:44: the other
//!     to do: use one standard in one joint, or mark the holes and bolts so that nobody mixes them, and let a decision settle it
//! assemblies/all.yaml:8:51: warning: `gearbox/arm/a1` has the nut `nut-m12` of class 8 on `bolt-m12` of class 10.9, which wants a nut of 10; the same at a2 [mixed-standards]
//!     fasteners/all.yaml:6:42: the nut's class
//!     fasteners/all.yaml:5:44: the class it goes on
//!     to do: take a nut of class 10 or higher; what the maker's manual says comes first
//! ```
//!
//! ## Right
//!
//! A stud sits in a coarse thread and takes the nut of the others' fine one; bolts
//! of two sizes are told apart.
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-fine: {form: bolt, head: hex, thread: M10x1.25, across-flats: 14 mm}
//! bolt-m8: {form: bolt, head: hex, thread: M8, across-flats: 13 mm}
//! stud-m10: {form: stud, thread: M10, other-end: M10x1.25, class: "8.8"}
//! nut-m10: {form: nut, thread: M10x1.25, class: "10"}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! gearbox:
//!   in: car
//!   joints:
//!     bell: {holes: {b1: {calls-for: bolt-m10-fine}, b2: {calls-for: bolt-m8},
//!       b3: {calls-for: stud-m10, then: nut-m10}}}
//! ```

use std::collections::BTreeSet;

use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault};
use crate::lint::{Context, Rule};
use crate::model::common::Stage;
use crate::model::fastener::Form;
use crate::present::hardware::length;
use crate::present::joints::{Hardware, Hole, Joint};
use crate::reckon::class::Class;
use crate::reckon::measure::in_mm;
use crate::reckon::thread::{Thread, ThreadForm};

/// The rule.
pub const RULE: Rule = Rule {
    name: "mixed-standards",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// Hardware of a joint, in the hole that it is in or meant for, with what is compared.
struct Turned<'p, 'a> {
    hole: &'p Hole<'a>,
    hardware: Hardware<'a>,
    thread: Thread,
    /// A stud's end in the hole.
    stays: bool,
}

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        findings.extend(mixture(cx, joint));
        cx.tell_faults(joint, findings, |hole| weak_nut(cx, hole));
    }
}

fn all<'p, 'a>(joint: &'p Joint<'a>) -> Vec<Turned<'p, 'a>> {
    let mut all: Vec<Turned<'p, 'a>> = Vec::new();
    let mut known = BTreeSet::new();
    for hole in &joint.holes {
        // What stands in for mock-up comes out again.
        let judged = match hole.judged() {
            Some((_, Stage::MockUp)) => hole.meant,
            judged => judged.map(|(hardware, _)| hardware),
        };
        let Some(hardware) = judged else {
            continue;
        };
        // Another thread than is meant there is a wrong bolt, and told as that.
        let other = |meant: Thread| hardware.record.hole_thread().is_some_and(|is| !is.goes_with(&meant));
        if hole.meant.and_then(|meant| meant.record.hole_thread()).is_some_and(other) {
            continue;
        }
        let record = hardware.record;
        // Those that are alike in all that is compared are compared once.
        let flats = record.across_flats.as_ref().map(|flats| flats.as_str());
        let mut add = |thread: Option<Thread>, stays| {
            let Some(thread) = thread else {
                return;
            };
            let compared = (thread.text().to_owned(), stays, record.form, record.head, flats);
            if known.insert(compared) {
                all.push(Turned {
                    hole,
                    hardware,
                    thread,
                    stays,
                });
            }
        };
        match record.form {
            Some(Form::Stud) => {
                add(record.hole_thread(), true);
                add(record.nut_thread(), false);
            }
            None | Some(Form::Bolt | Form::Screw) => add(record.hole_thread(), false),
            Some(_) => {}
        }
    }
    all
}

/// What is mixed in a joint: the first of it, as one joint is put together in one go.
fn mixture(cx: &Context<'_>, joint: &Joint<'_>) -> Option<Finding> {
    let all = all(joint);
    let pairs = all
        .iter()
        .enumerate()
        .flat_map(|(number, a)| all[number + 1..].iter().map(move |b| (a, b)))
        .filter(|(a, b)| a.stays == b.stays);
    let mut pairs = pairs.filter_map(|(a, b)| Some((a, b, mixed(a, b)?)));
    let (a, b, (what, field)) = pairs.next()?;
    let message = format!(
        "`{}` mixes {what}: `{}` in {} and `{}` in {}",
        joint.name, a.hardware.id, a.hole.name, b.hardware.id, b.hole.name
    );
    let finding = cx.finding_in(
        cx.in_hole_at(joint, b.hole, &["calls-for".into()]),
        message,
        "use one standard in one joint, or mark the holes and bolts so that nobody mixes them, and let a decision settle it",
    )?;
    Some(
        finding
            .see_at(
                cx,
                cx.in_fastener_at(a.hardware.id, &[field.into()]),
                "the one",
            )
            .see_at(
                cx,
                cx.in_fastener_at(b.hardware.id, &[field.into()]),
                "the other",
            ),
    )
}

fn mixed(a: &Turned<'_, '_>, b: &Turned<'_, '_>) -> Option<(String, &'static str)> {
    let near = |a: f64, b: f64| (a - b).abs() < 1e-3;
    let pipe = |thread: &Thread| {
        matches!(
            thread.form(),
            ThreadForm::PipeParallel | ThreadForm::PipeTaper | ThreadForm::AmericanPipe
        )
    };
    let (one, other) = (&a.thread, &b.thread);
    // A pipe thread is a union or a sender, and taken for no bolt.
    if pipe(one) || pipe(other) {
        return None;
    }
    let what = if one.form() != other.form() {
        format!("{} and {} threads", named(one), named(other))
    } else if near(in_mm(one.diameter()), in_mm(other.diameter())) {
        if !near(in_mm(one.pitch()), in_mm(other.pitch())) {
            format!("pitches of one size, {} and {}", one.text(), other.text())
        } else if one.left_hand() != other.left_hand() {
            format!(
                "left-hand and right-hand threads, {} and {}",
                one.text(),
                other.text()
            )
        } else {
            return heads(a, b).map(|what| (what, "across-flats"));
        }
    } else {
        return None;
    };
    let field = if !a.stays && a.hardware.record.other_end.is_some() {
        "other-end"
    } else {
        "thread"
    };
    Some((what, field))
}

fn named(thread: &Thread) -> &'static str {
    match thread.form() {
        ThreadForm::Metric => "metric",
        ThreadForm::Unified => "unified inch",
        ThreadForm::Whitworth => "Whitworth",
        ThreadForm::Association => "British Association",
        ThreadForm::PipeParallel | ThreadForm::PipeTaper => "pipe",
        ThreadForm::AmericanPipe => "American pipe",
    }
}

/// Heads of one sort on one thread, of two widths.
fn heads(a: &Turned<'_, '_>, b: &Turned<'_, '_>) -> Option<String> {
    let (one, other) = (a.hardware.record, b.hardware.record);
    if one.head != other.head || one.form == Some(Form::Stud) || other.form == Some(Form::Stud) {
        return None;
    }
    let (wide, narrow) = (one.across_flats.as_ref()?, other.across_flats.as_ref()?);
    let (w, n) = (length(wide)?, length(narrow)?);
    // No two spanners are nearer to each other than half a millimetre.
    let apart = in_mm((w.least - n.most).max(n.least - w.most));
    (apart > 0.4).then(|| {
        format!(
            "heads of one thread, {} and {} across the flats of {}",
            wide.as_str(),
            narrow.as_str(),
            a.thread.text()
        )
    })
}

fn weak_nut<'a>(cx: &Context<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    let (bolt, _) = hole.judged()?;
    let nut = hole.nut?;
    // A nut that does not go on is told by wrong-hardware, and comes off whatever its class.
    let threads = bolt.record.nut_thread().zip(nut.record.hole_thread());
    if threads.is_some_and(|(on, thread)| !on.goes_with(&thread)) {
        return None;
    }
    let (class, of_nut) = (bolt.record.known_class()?, nut.record.known_class()?);
    let least = class.nut()?;
    let is_weak = |of_nut| match (of_nut, least) {
        (Class::Nut(has), Class::Nut(wants)) => has < wants,
        (Class::ThinNut(_), _) => true,
        _ => false,
    };
    // A weaker one than is called for is told as that.
    let called = hole.record.then.as_ref().filter(|id| id.as_str() != nut.id);
    let called = called.and_then(|id| cx.folder.model.fastener.get(id.as_str()));
    let meant = called.and_then(|called| called.data.known_class());
    if !is_weak(of_nut) || meant.is_some_and(|meant| !is_weak(meant)) {
        return None;
    }
    let other = hole.tightening().is_some_and(|one| one.then.is_some());
    let at = if other { At::Done } else { At::Hole };
    Some(Fault {
        at: at(vec!["then".into()]),
        says: format!(
            "has the nut `{}` of class {of_nut} on `{}` of class {class}, which wants a nut of {least}",
            nut.id, bolt.id
        ),
        remedy: format!(
            "take a nut of class {least} or higher; what the maker's manual says comes first"
        ),
        claim: Stage::Bench,
        level: Some(Level::Warning),
        see: vec![
            (At::Fastener(nut.id, "class"), "the nut's class".to_owned()),
            (
                At::Fastener(bolt.id, "class"),
                "the class it goes on".to_owned(),
            ),
        ],
    })
}
