//! # lubrication-differs
//!
//! What is on a thread is not what its torque was printed for.
//!
//! Nine tenths of a torque rub. Oil where the figure is for a dry thread pulls a
//! bolt far harder at the same click, and anti-seize harder still; a fresh coat
//! that rubs more leaves it loose (MIL-HDBK-60 table II; NASA-STD-5020B measured
//! clamp loads of one to two and a half at one torque). So `threads` of a
//! tightening are compared with those of its joint. `dry` and `as supplied` are not
//! told apart: what its maker put on is dry to the touch. For mock-up a thread may
//! be dry: compound, sealant and paste wait until it goes together for good.
//!
//! Where nothing is put on the thread its coat counts: `finish-before` says which
//! one the torque was printed for, and another `finish` since then is told, planned
//! or done. For good, or closed over, it is an error; a coat that rubs as the old
//! one did, within a tenth by the tables, stays a warning. Ask the maker's manual
//! for the torque of the coat that is on it; do not reckon one yourself.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8: {form: bolt, thread: M8, class: "8.8", finish: zinc}
//! bolt-m10: {form: bolt, thread: M10, class: "8.8", finish: zinc,
//!   finish-before: black}
//! bolt-m12: {form: bolt, thread: M12, class: "8.8", finish: zinc,
//!   finish-before: plain}
//! nut-m12: {form: nut, thread: M12, finish: zinc, finish-before: black}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover:
//!       steps: [24 N·m]
//!       threads: dry
//!       holes:
//!         c1: {calls-for: bolt-m8, done: [{as: final, when: 2026-02-20,
//!           threads: anti-seize}]}
//!         c2: {calls-for: bolt-m8, done: [{as: final, when: 2026-02-20,
//!           threads: anti-seize}]}
//!         c3: {calls-for: bolt-m8, done: [{as: mock-up, when: 2026-02-20,
//!           threads: oiled}]}
//!     bracket:
//!       steps: [46 N·m]
//!       holes:
//!         b1: {calls-for: bolt-m10}
//!         b2: {calls-for: bolt-m10, done: [{as: final, when: 2026-02-20}]}
//!         b3: {calls-for: bolt-m12, done: [{as: final, when: 2026-02-20}]}
//!         b4: {calls-for: bolt-m12, then: nut-m12, done: [{as: final,
//!           when: 2026-02-20}]}
//! ```
//!
//! ```text
//! assemblies/all.yaml:9:20: error: `engine/cover/c1` was tightened with anti-seize, and its torque is for threads dry; friction 0.06 to 0.13 instead of 0.14 to 0.20; the same at c2 [lubrication-differs]
//!     assemblies/all.yaml:6:16: what belongs on the threads
//!     to do: take it out, clean it and tighten it dry, or ask the maker's manual for the torque as it is
//! assemblies/all.yaml:13:20: warning: `engine/cover/c3` was tightened oiled, and its torque is for threads dry; friction 0.07 to 0.18 instead of 0.14 to 0.20 [lubrication-differs]
//!     assemblies/all.yaml:6:16: what belongs on the threads
//!     to do: take it out, clean it and tighten it dry, or ask the maker's manual for the torque as it is
//! assemblies/all.yaml:17:25: warning: `engine/bracket/b1` is to take `bolt-m10`, which is zinc now and was black: its torque is for the old coat; friction 0.14 to 0.20 instead of 0.11 to 0.17 [lubrication-differs]
//!     fasteners/all.yaml:2:59: its coat
//!     fasteners/all.yaml:3:18: the coat it had
//!     to do: ask the maker's manual, or whoever sells the coat, for the torque with it, write that with its source, and let a decision settle this
//! assemblies/all.yaml:18:25: error: `engine/bracket/b2` holds `bolt-m10`, which is zinc now and was black: its torque is for the old coat; friction 0.14 to 0.20 instead of 0.11 to 0.17 [lubrication-differs]
//!     fasteners/all.yaml:2:59: its coat
//!     fasteners/all.yaml:3:18: the coat it had
//!     to do: ask the maker's manual, or whoever sells the coat, for the torque with it, write that with its source, and let a decision settle this
//! assemblies/all.yaml:19:25: warning: `engine/bracket/b3` holds `bolt-m12`, which is zinc now and was plain: its torque is for the old coat; friction 0.14 to 0.20 instead of 0.14 to 0.21 [lubrication-differs]
//!     fasteners/all.yaml:4:59: its coat
//!     fasteners/all.yaml:5:18: the coat it had
//!     to do: ask the maker's manual, or whoever sells the coat, for the torque with it, write that with its source, and let a decision settle this
//! assemblies/all.yaml:20:41: error: `engine/bracket/b4` holds `nut-m12`, which is zinc now and was black: its torque is for the old coat; friction 0.14 to 0.20 instead of 0.11 to 0.17 [lubrication-differs]
//!     fasteners/all.yaml:6:43: its coat
//!     fasteners/all.yaml:6:64: the coat it had
//!     to do: ask the maker's manual, or whoever sells the coat, for the torque with it, write that with its source, and let a decision settle this
//! ```
//!
//! ## Right
//!
//! The new coat lies under oil, as the joint wants it; zinc was there before; the
//! compound waits until the mount goes on for good.
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8: {form: bolt, thread: M8, class: "8.8", finish: zinc,
//!   finish-before: black}
//! bolt-m10: {form: bolt, thread: M10, class: "8.8", finish: zinc,
//!   finish-before: zinc}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover: {steps: [24 N·m], threads: oiled,
//!       holes: {c1: {calls-for: bolt-m8, done: [{as: final, when: 2026-02-20,
//!         threads: oiled}]}}}
//!     bracket: {steps: [46 N·m], threads: as supplied,
//!       holes: {b1: {calls-for: bolt-m10, done: [{as: final, when: 2026-02-20,
//!         threads: dry}]}}}
//!     mount: {steps: [46 N·m], threads: locking compound,
//!       holes: {m1: {calls-for: bolt-m10, done: [{as: mock-up, when: 2026-02-20,
//!         threads: dry}]}}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault};
use crate::lint::{Context, Rule};
use crate::model::common::{Stage, ThreadState};
use crate::model::fastener::Finish;
use crate::present::hardware::{surface_of, torques};
use crate::present::joints::{Hardware, Hole, Joint};
use crate::reckon::friction::Surface;
use crate::reckon::measure::{Band, Ratio, as_share};

/// The rule.
pub const RULE: Rule = Rule {
    name: "lubrication-differs",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

/// How far the middles of two bands of friction may lie apart, as a share, before a torque
/// for the one is none for the other.
const ALIKE: f64 = 0.1;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        cx.tell_faults(joint, findings, |hole| {
            put_on(joint, hole).or_else(|| coat(joint, hole))
        });
    }
}

/// Whether nothing is put on a thread.
fn is_dry(threads: Option<ThreadState>) -> bool {
    matches!(
        threads,
        None | Some(ThreadState::Dry | ThreadState::AsSupplied)
    )
}

fn put_on<'a>(joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    let wants = joint.record.threads?;
    let is = hole.tightening()?.threads?;
    if wants == is || (is_dry(Some(wants)) && is_dry(Some(is))) {
        return None;
    }
    let claim = hole.claim;
    // What is to come apart again goes together dry, and clamps no harder for it.
    if claim == Stage::MockUp && is_dry(Some(is)) {
        return None;
    }
    let rubs = hole.went_in.map_or_else(String::new, |bolt| {
        let surface = |threads| bolt.record.surface(Some(threads));
        rubs(surface(is), surface(wants))
    });
    Some(Fault {
        at: At::Done(vec!["threads".into()]),
        says: format!(
            "was tightened {}, and its torque is for threads {}{rubs}",
            said(is),
            said(wants)
        ),
        remedy: format!(
            "take it out, clean it and tighten it {}, or ask the maker's manual for the torque as it is",
            said(wants)
        ),
        claim,
        level: None,
        see: vec![(
            At::Joint(vec!["threads".into()]),
            "what belongs on the threads".to_owned(),
        )],
    })
}

fn said(threads: ThreadState) -> &'static str {
    match threads {
        ThreadState::Dry => "dry",
        ThreadState::Oiled => "oiled",
        ThreadState::Greased => "greased",
        ThreadState::AntiSeize => "with anti-seize",
        ThreadState::LockingCompound => "with locking compound",
        ThreadState::Sealant => "with sealant",
        ThreadState::AsSupplied => "as supplied",
    }
}

fn coat<'a>(joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    torques(&joint.record.steps).next()?;
    // What is put on the thread lies on the coat and rubs in its stead.
    if !is_dry(joint.record.threads) {
        return None;
    }
    let (bolt, claim) = hole.judged()?;
    let all = [Some(bolt), hole.nut].into_iter().flatten();
    let changed = all.filter_map(changed);
    // The one that rubs otherwise, if one does; of equals the bolt.
    let (hardware, was, is) = changed.min_by_key(|(_, was, is)| rub_alike(*was, *is))?;
    let (old, new) = (surface_of(was), surface_of(is));
    let alike = rub_alike(was, is) && claim == Stage::Final;
    Some(Fault {
        at: At::Hole(vec![if hardware.id == bolt.id { "calls-for" } else { "then" }.into()]),
        says: format!(
            "{} `{}`, which is {} now and was {}: its torque is for the old coat{}",
            if claim == Stage::Bench { "is to take" } else { "holds" },
            hardware.id,
            is.word(),
            was.word(),
            rubs(new, old)
        ),
        remedy: "ask the maker's manual, or whoever sells the coat, for the torque with it, write that with its source, and let a decision settle this".to_owned(),
        claim,
        level: alike.then_some(Level::Warning),
        see: vec![
            (At::Fastener(hardware.id, "finish"), "its coat".to_owned()),
            (At::Fastener(hardware.id, "finish-before"), "the coat it had".to_owned()),
        ],
    })
}

fn changed(hardware: Hardware<'_>) -> Option<(Hardware<'_>, Finish, Finish)> {
    let (is, was) = (hardware.record.finish?, hardware.record.finish_before?);
    (is != was).then_some((hardware, was, is))
}

/// Whether a torque for one coat is one for another.
fn rub_alike(was: Finish, is: Finish) -> bool {
    match (surface_of(was), surface_of(is)) {
        (Some(old), Some(new)) => {
            let (a, b) = (middle(old.friction()), middle(new.friction()));
            ((a - b) / a).abs() <= ALIKE
        }
        _ => false,
    }
}

fn middle(friction: Band<Ratio>) -> f64 {
    f64::midpoint(as_share(friction.least), as_share(friction.most))
}

/// What the tables say of both, for a message.
fn rubs(is: Option<Surface>, was: Option<Surface>) -> String {
    let (Some(is), Some(was)) = (is, was) else {
        return String::new();
    };
    let band = |surface: Surface| {
        let band = surface.friction();
        format!("{:.2} to {:.2}", as_share(band.least), as_share(band.most))
    };
    format!("; friction {} instead of {}", band(is), band(was))
}
