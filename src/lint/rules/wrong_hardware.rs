//! # wrong-hardware
//!
//! What is in a hole is not what it calls for, or can't be screwed in at all.
//!
//! A fine thread goes two turns into a coarse hole and takes the hole's thread with
//! it; a bolt of a lower class gives way under the torque of the higher. Thread,
//! length, head, form and class are compared as far as both are written; lengths to
//! 0.8 mm, by which bolts of one length may differ (ISO 4759-1, from memory). A
//! higher class or another coat is not wrong by itself. A lower class where
//! people's safety hangs on it is told by `critical-downgraded`.
//!
//! Told as well, whatever went in: a thread that is not that of its hole, a nut of
//! another thread than its bolt or stud, a washer that does not go over the thread.
//! While it is planned, or in for mock-up, it is a warning; for good, or closed
//! over, it is an error. For mock-up nothing is said of another bolt where `holds`
//! says that it is mock-up hardware, as long as its thread fits. A batch whose
//! lines name nothing like it is a warning.
//!
//! Common practice, no source; which bolt belongs where is for the maker's manual
//! to say.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-35: {form: bolt, head: flange, thread: M10x1.25, length: 35 mm,
//!   class: "10.9"}
//! bolt-m10-40: {form: bolt, head: flange, thread: M10x1.5, length: 40 mm,
//!   class: "8.8"}
//! stud-m8: {form: stud, thread: M8x1.25, other-end: M8x1}
//! nut-m8: {form: nut, thread: M8x1.25}
//! washer-m8: {form: washer, inside: 8.4 mm}
//! ```
//!
//! ```yaml jobs/all.yaml
//! plating-1: {kind: send-out, process: zinc,
//!   lines: [{what: fasteners/bolt-m10-40, out: 4, back: 4}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       into: {material: aluminium, thread: M10x1.25}
//!       holes:
//!         top: {calls-for: bolt-m10-35,
//!           done: [{as: final, when: 2026-02-20, fastener: bolt-m10-40}]}
//!         low: {calls-for: bolt-m10-35,
//!           done: [{as: final, when: 2026-02-20, fastener: bolt-m10-40}]}
//!         rear: {calls-for: bolt-m10-40, washers: [washer-m8]}
//!         ear: {calls-for: bolt-m10-35,
//!           done: [{as: final, when: 2026-02-20, hardware: plating-1}]}
//!     manifold:
//!       holes: {m1: {calls-for: stud-m8, then: nut-m8, done: [{as: mock-up,
//!         when: 2026-02-20}]}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:10:58: error: `engine/bracket/low` holds `bolt-m10-40`, and calls for `bolt-m10-35`: thread M10x1.5 instead of M10x1.25, length 40 mm instead of 35 mm and class 8.8 instead of 10.9; the same at top [wrong-hardware]
//!     assemblies/all.yaml:9:26: what it calls for
//!     fasteners/all.yaml:3:1: what is in it
//!     to do: put `bolt-m10-35` in and write that down, or correct `calls-for` if the maker's manual has it otherwise
//! assemblies/all.yaml:11:27: warning: `engine/bracket/rear` is to take `bolt-m10-40` with thread M10x1.5, and its own is M10x1.25 [wrong-hardware]
//!     fasteners/all.yaml:3:49: its thread
//!     assemblies/all.yaml:5:43: the thread in the hole
//!     to do: take hardware of thread M10x1.25, or correct the thread that is wrong
//! assemblies/all.yaml:13:58: warning: `engine/bracket/ear` holds `bolt-m10-35` out of `plating-1`, which names only `bolt-m10-40` [wrong-hardware]
//!     assemblies/all.yaml:12:26: what the hole calls for
//!     to do: look what is in the hole and write it under `fastener`, or correct `hardware`
//! assemblies/all.yaml:15:46: warning: `engine/manifold/m1` holds the nut `nut-m8` with thread M8x1.25, on `stud-m8` with thread M8x1 [wrong-hardware]
//!     fasteners/all.yaml:6:29: the nut's thread
//!     fasteners/all.yaml:5:51: the thread it goes on
//!     to do: take a nut of thread M8x1, or correct the thread that is wrong
//! ```
//!
//! ## Right
//!
//! A stronger bolt of the same thread and length is in. Another hangs in its hole
//! for mock-up, and that is written.
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-35: {form: bolt, thread: M10x1.25, length: 35 mm, class: "8.8",
//!   finish: zinc}
//! bolt-m10-35-hard: {form: screw, thread: M10x1.25, length: 35.2 mm,
//!   class: "10.9", finish: black}
//! bolt-m10-80: {form: bolt, thread: M10x1.25, length: 80 mm, class: "8.8"}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       into: {thread: M10x1.25}
//!       holes:
//!         top: {calls-for: bolt-m10-35,
//!           done: [{as: final, when: 2026-02-20, fastener: bolt-m10-35-hard}]}
//!         low: {calls-for: bolt-m10-35, holds: mock-up hardware,
//!           done: [{as: mock-up, when: 2026-02-20, fastener: bolt-m10-80}]}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault, long};
use crate::lint::{Context, Rule};
use crate::model::assembly::Holds;
use crate::model::common::Stage;
use crate::model::fastener::{Fastener, Form};
use crate::model::job::Line;
use crate::near::spoken;
use crate::present::hardware::length;
use crate::present::joints::{Hardware, Hole, Joint};
use crate::reckon::class::Class;
use crate::reckon::measure::{in_mm, mm};
use crate::reckon::thread::{Thread, ThreadForm};

/// The rule.
pub const RULE: Rule = Rule {
    name: "wrong-hardware",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

/// In millimetres, what two bolts of one length may differ by.
const SAME_LENGTH: f64 = 0.8;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for joint in &present.joints {
        let critical = present.hangs_on(joint).is_some();
        cx.tell_faults(joint, findings, |hole| {
            not_as_called_for(hole, critical)
                .or_else(|| nut_not_as_called_for(cx, hole, critical))
                .or_else(|| not_of_its_hole(joint, hole))
                .or_else(|| nut_of_another_thread(hole))
                .or_else(|| washer_too_small(hole))
                .or_else(|| of_another_batch(cx, hole))
        });
    }
}

fn not_as_called_for<'a>(hole: &Hole<'a>, critical: bool) -> Option<Fault<'a>> {
    let meant = hole.meant?;
    let (inside, claim) = hole.judged()?;
    // That it is not the right one is written there already.
    if claim == Stage::MockUp && hole.record.holds == Some(Holds::MockUpHardware) {
        return None;
    }
    let differs = spoken(&differences(meant.record, inside.record, critical), "and");
    if inside.id == meant.id || differs.is_empty() {
        return None;
    }
    Some(Fault {
        at: At::Done(vec!["fastener".into()]),
        says: format!(
            "holds `{}`, and calls for `{}`: {differs}",
            inside.id, meant.id
        ),
        remedy: format!(
            "put `{}` in and write that down, or correct `calls-for` if the maker's manual has it otherwise",
            meant.id
        ),
        claim,
        level: None,
        see: vec![
            (
                At::Hole(vec!["calls-for".into()]),
                "what it calls for".to_owned(),
            ),
            (At::Fastener(inside.id, ""), "what is in it".to_owned()),
        ],
    })
}

fn nut_not_as_called_for<'a>(
    cx: &Context<'a>,
    hole: &Hole<'a>,
    critical: bool,
) -> Option<Fault<'a>> {
    let called = hole.record.then.as_ref()?.as_str();
    let meant = cx.folder.model.fastener.get(called)?;
    let nut = hole.nut?;
    hole.tightening()?;
    let differs = spoken(&differences(&meant.data, nut.record, critical), "and");
    if nut.id == called || differs.is_empty() {
        return None;
    }
    Some(Fault {
        at: At::Done(vec!["then".into()]),
        says: format!(
            "has the nut `{}`, and calls for `{called}`: {differs}",
            nut.id
        ),
        remedy: format!("put `{called}` on and write that down, or correct `then` of the hole"),
        claim: hole.claim,
        level: None,
        see: vec![
            (
                At::Hole(vec!["then".into()]),
                "what it calls for".to_owned(),
            ),
            (At::Fastener(nut.id, ""), "what is on it".to_owned()),
        ],
    })
}

/// What parts two sorts of hardware, as far as it is written of both: `thread M10x1.5
/// instead of M10x1.25`.
fn differences(meant: &Fastener, inside: &Fastener, critical: bool) -> Vec<String> {
    let mut all = Vec::new();
    let mut differ = |what: &str, is: String, should: String| {
        all.push(format!("{what} {is} instead of {should}"));
    };
    if let (Some(a), Some(b)) = (meant.form.map(alike_form), inside.form.map(alike_form))
        && a != b
    {
        differ("form", b.word().to_owned(), a.word().to_owned());
    }
    let threads = [
        ("thread", meant.hole_thread(), inside.hole_thread()),
        ("other end", meant.nut_thread(), inside.nut_thread()),
    ];
    for (what, a, b) in threads {
        if what == "other end" && meant.other_end.is_none() && inside.other_end.is_none() {
            continue;
        }
        if let (Some(a), Some(b)) = (a, b)
            && !a.goes_with(&b)
        {
            differ(what, b.text().to_owned(), a.text().to_owned());
        }
    }
    let lengths = [
        ("length", &meant.length, &inside.length),
        ("set-in", &meant.set_in, &inside.set_in),
    ];
    for (what, a, b) in lengths {
        if let (Some(written), Some(other)) = (a, b)
            && let (Some(a), Some(b)) = (length(written), length(other))
        {
            let apart = in_mm((b.least - a.most).max(a.least - b.most));
            if apart > SAME_LENGTH {
                differ(what, other.as_str().to_owned(), written.as_str().to_owned());
            }
        }
    }
    if let (Some(a), Some(b)) = (meant.head, inside.head)
        && a != b
    {
        differ("head", b.word().to_owned(), a.word().to_owned());
    }
    if let (Some(a), Some(b)) = (meant.known_class(), inside.known_class())
        && !critical
        && is_lower(b, a)
    {
        differ("class", b.to_string(), a.to_string());
    }
    all
}

/// A screw is a bolt that is threaded up to its head.
fn alike_form(form: Form) -> Form {
    match form {
        Form::Screw => Form::Bolt,
        other => other,
    }
}

/// Whether a class stands less than another; of a bolt's and a nut's nothing is said.
pub(super) fn is_lower(one: Class, than: Class) -> bool {
    match (one, than) {
        (Class::Nut(a), Class::Nut(b)) | (Class::ThinNut(a), Class::ThinNut(b)) => a < b,
        (Class::ThinNut(_), Class::Nut(_)) => true,
        // Both are 800 MPa and more, and differ in what they stretch at.
        (Class::Bolt(..), Class::Bolt(..)) => one < than,
        _ => match (one.rank(), than.rank()) {
            (Some(a), Some(b)) => a < b * 0.99,
            _ => false,
        },
    }
}

/// Whether one thread goes into another. A taper pipe thread goes into a parallel one.
fn goes_in(one: &Thread, other: &Thread) -> bool {
    let pipe = |thread: &Thread| {
        matches!(
            thread.form(),
            ThreadForm::PipeTaper | ThreadForm::PipeParallel
        )
    };
    let near = |a, b| in_mm(a) - in_mm(b) < 1e-3 && in_mm(b) - in_mm(a) < 1e-3;
    one.goes_with(other)
        || pipe(one)
            && pipe(other)
            && near(one.diameter(), other.diameter())
            && near(one.pitch(), other.pitch())
}

fn not_of_its_hole<'a>(joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    let (bolt, claim) = hole.judged()?;
    // What a bolt with a nut goes through may be threaded, and need not be.
    if hole.nut.is_some() && bolt.record.form != Some(Form::Stud) {
        return None;
    }
    let (thread, of_hole) = (bolt.record.hole_thread()?, hole.bore(joint).thread?);
    if goes_in(&thread, &of_hole) {
        return None;
    }
    let repaired = hole.record.repaired.as_ref();
    let is_new = repaired.is_some_and(|repair| repair.thread.is_some());
    let from = if is_new {
        At::Hole(vec!["repaired".into(), "thread".into()])
    } else {
        At::Joint(vec!["into".into(), "thread".into()])
    };
    let was = if is_new { " since its repair" } else { "" };
    Some(Fault {
        at: here(hole, claim, "fastener", "calls-for"),
        says: format!(
            "{} `{}` with thread {}, and its own is {}{was}",
            takes(claim),
            bolt.id,
            thread.text(),
            of_hole.text()
        ),
        remedy: format!(
            "take hardware of thread {}, or correct the thread that is wrong",
            of_hole.text()
        ),
        claim,
        level: None,
        see: vec![
            (At::Fastener(bolt.id, "thread"), "its thread".to_owned()),
            (from, "the thread in the hole".to_owned()),
        ],
    })
}

fn nut_of_another_thread<'a>(hole: &Hole<'a>) -> Option<Fault<'a>> {
    let nut = hole.nut?;
    let (bolt, claim) = hole.judged()?;
    let (on, thread) = (bolt.record.nut_thread()?, nut.record.hole_thread()?);
    if on.goes_with(&thread) {
        return None;
    }
    let field = if bolt.record.other_end.is_some() {
        "other-end"
    } else {
        "thread"
    };
    Some(Fault {
        at: here(hole, claim, "then", "then"),
        says: format!(
            "{} the nut `{}` with thread {}, on `{}` with thread {}",
            takes(claim),
            nut.id,
            thread.text(),
            bolt.id,
            on.text()
        ),
        remedy: format!(
            "take a nut of thread {}, or correct the thread that is wrong",
            on.text()
        ),
        claim,
        level: None,
        see: vec![
            (
                At::Fastener(nut.id, "thread"),
                "the nut's thread".to_owned(),
            ),
            (
                At::Fastener(bolt.id, field),
                "the thread it goes on".to_owned(),
            ),
        ],
    })
}

fn washer_too_small<'a>(hole: &Hole<'a>) -> Option<Fault<'a>> {
    let (bolt, claim) = hole.judged()?;
    // The washer of a stud lies under its nut.
    let thread = bolt.record.nut_thread()?;
    let tight = |washer: &&Hardware<'a>| {
        let inside = washer.record.inside.as_ref().and_then(length);
        inside.is_some_and(|inside| inside.most < thread.diameter() - mm(0.05))
    };
    let washer = hole.washers.iter().find(tight)?;
    let inside = length(washer.record.inside.as_ref()?)?;
    Some(Fault {
        at: here(hole, claim, "washers", "washers"),
        says: format!(
            "{} the washer `{}`, whose hole of {} does not go over {}",
            takes(claim),
            washer.id,
            long(inside.most),
            thread.text()
        ),
        remedy: "take a washer for this thread, or correct its `inside`".to_owned(),
        claim,
        level: None,
        see: vec![(At::Fastener(washer.id, "inside"), "its hole".to_owned())],
    })
}

/// Where it stands: in the tightening if that names it, else in the hole.
fn here(hole: &Hole<'_>, claim: Stage, done: &str, field: &str) -> At<'static> {
    let says = hole.tightening().is_some_and(|one| match done {
        "fastener" => one.fastener.is_some(),
        "then" => one.then.is_some(),
        _ => !one.washers.is_empty(),
    });
    if says && claim != Stage::Bench {
        At::Done(vec![done.into()])
    } else {
        At::Hole(vec![field.into()])
    }
}

fn takes(claim: Stage) -> &'static str {
    if claim == Stage::Bench {
        "is to take"
    } else {
        "holds"
    }
}

/// What is said to have come out of a batch that names nothing like it.
fn of_another_batch<'a>(cx: &Context<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    let batch = hole.tightening()?.hardware.as_ref()?.as_str();
    let inside = hole.went_in?;
    let fastener = |id: &str| cx.folder.model.fastener.get(id);
    let like = |id: &str| {
        id == inside.id
            || fastener(id)
                .is_some_and(|other| differences(&other.data, inside.record, false).is_empty())
    };
    let named = |line: &'a Line| line.what.as_ref()?.as_str().strip_prefix("fasteners/");
    let (names, spot) = match batch.strip_prefix("fasteners/") {
        Some(id) => (vec![id], At::Fastener(fastener(id).map(|_| id)?, "")),
        None => {
            let job = cx.folder.model.job.get(batch)?;
            // A line that names no fastener may be the bag that it came in.
            let names: Option<Vec<&str>> = job.data.lines.iter().map(named).collect();
            (names?, At::Hole(vec!["calls-for".into()]))
        }
    };
    if names.is_empty() || names.iter().any(|id| like(id)) {
        return None;
    }
    let holds: Vec<String> = names.iter().map(|id| format!("`{id}`")).collect();
    let is_bag = batch.starts_with("fasteners/");
    Some(Fault {
        at: At::Done(vec!["hardware".into()]),
        says: if is_bag {
            format!(
                "holds `{}`, which is said to be {}",
                inside.id,
                spoken(&holds, "and")
            )
        } else {
            format!(
                "holds `{}` out of `{batch}`, which names only {}",
                inside.id,
                spoken(&holds, "and")
            )
        },
        remedy: "look what is in the hole and write it under `fastener`, or correct `hardware`"
            .to_owned(),
        claim: hole.claim,
        level: (!is_bag).then_some(Level::Warning),
        see: vec![(
            spot,
            if is_bag {
                "what it is said to be"
            } else {
                "what the hole calls for"
            }
            .to_owned(),
        )],
    })
}
