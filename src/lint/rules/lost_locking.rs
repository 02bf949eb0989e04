//! # lost-locking
//!
//! A nut or bolt that locks itself is tight for good as it came off.
//!
//! A nylon ring, a squeezed thread or a coating put on by the maker is worn by
//! going on and off, and holds less each time (common practice, no source; some
//! makers let an all-metal nut be used again while it still drags, and the maker's
//! manual says so). Such a joint works loose where it shakes, on the road.
//!
//! That it was on before is told by `new: false` or `new-nut: false`, by an earlier
//! tightening with a torque in the same hole, or by `newness: used` at the
//! hardware. A coated bolt that went in with locking compound (`threads`) is not as
//! it came off. For mock-up nothing is said.
//!
//! Of bolts that can be used once only `used-once-already` speaks.
//!
//! ## Wrong
//!
//! ```yaml assemblies/all.yaml
//! rear:
//!   in: car
//!   joints:
//!     arm:
//!       holes:
//!         front: {calls-for: bolt-m12-80, then: nut-m12, done: [
//!           {as: final, when: 2026-02-07, until: 2026-02-21, set: 70 N·m},
//!           {as: final, when: 2026-02-28, set: 70 N·m}]}
//!         rear: {calls-for: bolt-m12-80, then: nut-m12, done: [
//!           {as: final, when: 2026-02-07, until: 2026-02-21, set: 70 N·m},
//!           {as: final, when: 2026-02-28, set: 70 N·m}]}
//!     carrier:
//!       holes:
//!         low: {calls-for: bolt-m10-30, done: [
//!           {as: final, when: 2026-02-28, set: 50 N·m, new: false, threads: dry}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-m12-80: {form: bolt, thread: M12x1.5, have: 2}
//! nut-m12: {form: nut, thread: M12x1.5, locking: nylon, once: true, have: 4}
//! bolt-m10-30: {form: bolt, thread: M10x1.5, locking: pre-coated, have: 1}
//! ```
//!
//! ```text
//! assemblies/all.yaml:8:11: warning: `rear/arm/front` is tight for good, and its `nut-m12` was on there before, on 2026-02-07, and its nylon ring locks less each time; the same at rear [lost-locking]
//!     fasteners/all.yaml:2:48: how it locks
//!     to do: put a new one on and write `new-nut: true`; if it was only tightened again, write `again: true`
//! assemblies/all.yaml:15:11: warning: `rear/carrier/low` is tight for good, and its `bolt-m10-30` was not new, and its coating locks less each time [lost-locking]
//!     fasteners/all.yaml:3:53: how it locks
//!     to do: put a new one in and write `new: true`, or clean it, put locking compound on by the maker's manual and write it under `threads`
//! ```
//!
//! ## Right
//!
//! Old bolts with new nuts, and a coated bolt that was cleaned and got compound.
//!
//! ```yaml assemblies/all.yaml
//! rear:
//!   in: car
//!   joints:
//!     arm:
//!       holes:
//!         front: {calls-for: bolt-m12-80, then: nut-m12, done: [
//!           {as: mock-up, when: 2026-02-07, until: 2026-02-21},
//!           {as: final, when: 2026-02-28, set: 70 N·m, new: false,
//!             new-nut: true}]}
//!     carrier:
//!       holes:
//!         low: {calls-for: bolt-m10-30, done: [{as: final, when: 2026-02-28,
//!           set: 50 N·m,
//!           new: false, threads: locking compound}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-m12-80: {form: bolt, thread: M12x1.5, have: 2}
//! nut-m12: {form: nut, thread: M12x1.5, locking: nylon, once: true, have: 4}
//! bolt-m10-30: {form: bolt, thread: M10x1.5, locking: pre-coated, have: 1}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::holes::{Alike, alike, how};
use crate::lint::{Context, Rule};
use crate::model::common::{Stage, ThreadState};
use crate::model::fastener::Locking;
use crate::present::joints::{Hole, Joint};
use crate::present::uses::{Which, Worn};

/// The rule.
pub const RULE: Rule = Rule {
    name: "lost-locking",
    level: Level::Warning,
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
    id: &'a str,
    which: Which,
    by: Locking,
    worn: Worn<'a>,
    how: String,
}

fn fault<'a>(cx: &Context<'a>, joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    if hole.claim != Stage::Final {
        return None;
    }
    [Which::Bolt, Which::Nut].into_iter().find_map(|which| {
        let hardware = hole.now_in(which)?;
        let record = hardware.record;
        let by = record.locking.filter(|_| record.locks_itself())?;
        if which == Which::Bolt && (record.is_for_once() || record.reuse.is_some()) {
            return None;
        }
        let threads = hole.standing.and_then(|(_, one)| one.threads);
        if which == Which::Bolt && threads == Some(ThreadState::LockingCompound) {
            return None;
        }
        Some(Fault {
            id: hardware.id,
            which,
            by,
            worn: cx.worn(joint, hole, which)?,
            how: how(cx.present(), joint, hole),
        })
    })
}

fn finding(cx: &Context<'_>, alike: &Alike<'_, '_, Fault<'_>>) -> Option<Finding> {
    let (joint, hole, fault) = (alike.joint, alike.first, &alike.fault);
    let before = match fault.worn {
        Worn::Here(Some(day)) => format!("was on there before, on {}", day.as_str()),
        Worn::Here(None) => "was on there before".to_owned(),
        Worn::NotNew => "was not new".to_owned(),
        Worn::AllUsed => "is a used one".to_owned(),
    };
    let by = match fault.by {
        Locking::Nylon => "its nylon ring",
        Locking::AllMetal => "its squeezed thread",
        _ => "its coating",
    };
    let message = alike.told(format!(
        "`{}` {}, and its `{}` {before}, and {by} locks less each time",
        alike.name(),
        fault.how,
        fault.id
    ));
    let remedy = match fault.which {
        Which::Bolt => "put a new one in and write `new: true`, or clean it, put locking compound on by the maker's manual and write it under `threads`",
        Which::Nut => "put a new one on and write `new-nut: true`",
    };
    let again = match fault.worn {
        Worn::Here(_) => "; if it was only tightened again, write `again: true`",
        Worn::NotNew | Worn::AllUsed => "",
    };
    let remedy = format!("{remedy}{again}");
    let finding = cx.finding_in(cx.in_done_at(joint, hole, &[]), message, remedy)?;
    let locking = cx.in_fastener_at(fault.id, &["locking".into()]);
    Some(finding.see_at(cx, locking, "how it locks"))
}
