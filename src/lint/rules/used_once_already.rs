//! # used-once-already
//!
//! A bolt or nut that can be used once only is tight for good for a second time.
//!
//! A bolt that was stretched has given part of its stretch away for good, and a
//! coating or a squeezed thread wears when it is undone. Used again, the same
//! torque and angle come to another clamp load, and nobody can say which (common
//! practice, no source; the maker's manual says which bolts may be used again, and
//! by what measure). What is for once only says so by `once`, or by `stretch` with
//! nothing said of `once`.
//!
//! That it was used before is told by `new: false`, by an earlier tightening in the
//! same hole (of a stretch bolt through an angle or to its last torque, of anything
//! else with any torque at all), or by `newness: used` at the hardware. It is an
//! error once it counts as final. For mock-up old ones are just right, and nothing
//! is said.
//!
//! What was measured before it went in again speaks for it, where the hardware's
//! `reuse` says what may be measured: then `measured` has to lie within that. `new:
//! true`, another `fastener`, or another batch under `hardware` says that another
//! went in; a batch that came back from the plater is the old one. What was only
//! tightened again, after heat say, has `again: true`. What was begun for mock-up
//! and gone on with is one tightening, as long as no `until` says that it was
//! loosened and nothing came off in between.
//!
//! Where more are claimed to be new, and are in now, than there are (`have`), some
//! of them can't be.
//!
//! Of nuts that lock themselves `lost-locking` speaks.
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
//!           {as: final, when: 2026-02-07, until: 2026-02-21, steps: 3},
//!           {as: final, when: 2026-02-28, steps: 3}]}
//!         b2: {calls-for: bolt-head, done: [
//!           {as: final, when: 2026-02-28, steps: 3},
//!           {as: final, when: 2026-02-07, until: 2026-02-21, steps: 3}]}
//!         b3: {calls-for: bolt-head, done: [
//!           {as: final, when: 2026-02-28, steps: 3, new: false,
//!             measured: 119.5 mm}]}
//!     flywheel-bolts:
//!       steps: [25 N·m, 55 N·m]
//!       holes:
//!         f1: {calls-for: bolt-flywheel, done: [
//!           {as: final, when: 2026-02-28, new: true}]}
//!         f2: {calls-for: bolt-flywheel, done: [
//!           {as: final, when: 2026-02-28, new: true}]}
//!         f3: {calls-for: bolt-flywheel, done: [
//!           {as: final, when: 2026-02-28, new: false}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-head: {form: bolt, thread: M10x1.25, stretch: true, once: true,
//!   reuse: {measure: length, most: 119 mm}}
//! bolt-flywheel: {form: bolt, thread: M10x1.25, once: true, have: 1}
//! ```
//!
//! ```text
//! assemblies/all.yaml:9:11: error: `engine/head-bolts/b1` is tight for good, and its `bolt-head` was tightened there before, on 2026-02-07, and can be used again only by its length, which is not written; the same at b2 [used-once-already]
//!     assemblies/all.yaml:8:11: when it was tightened before
//!     fasteners/all.yaml:2:10: what it says of itself
//!     to do: put a new one in by the maker's manual and write `new: true`, or measure its length and write it under `measured`; if it was only tightened again, write `again: true`
//! assemblies/all.yaml:14:11: error: `engine/head-bolts/b3` is tight for good, and its `bolt-head` was not new, with a length of 119.5 mm, more than the 119 mm that it may have to be used again [used-once-already]
//!     fasteners/all.yaml:2:10: what it says of itself
//!     to do: put a new one in by the maker's manual and write `new: true`
//! assemblies/all.yaml:24:11: error: `engine/flywheel-bolts/f3` is tight for good, and its `bolt-flywheel` was not new, and can be used once only [used-once-already]
//!     fasteners/all.yaml:3:53: what it says of itself
//!     to do: put a new one in by the maker's manual and write `new: true`
//! fasteners/all.yaml:3:65: error: `bolt-flywheel` can be used once only, and 2 are claimed to have gone in new for good, the first at `engine/flywheel-bolts/f1`, where there is 1 [used-once-already]
//!     assemblies/all.yaml:20:46: the first of them
//!     to do: put new ones where old ones went in, or write under `have` how many there are
//! ```
//!
//! The plater gave back what he was sent. A nut that is crushed once is of no use
//! twice.
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     flywheel-bolts:
//!       holes:
//!         f1: {calls-for: bolt-flywheel, done: [
//!           {as: final, when: 2026-01-10, until: 2026-02-07, set: 55 N·m},
//!           {as: final, when: 2026-02-28, set: 55 N·m, hardware: plating-1}]}
//!     hub:
//!       holes:
//!         left: {then: nut-hub, done: [
//!           {as: final, when: 2026-02-28, set: 180 N·m, new-nut: false}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-flywheel: {form: bolt, thread: M10x1.25, once: true}
//! nut-hub: {form: nut, thread: M22x1.5, once: true, name: Staked hub nut}
//! ```
//!
//! ```yaml jobs/all.yaml
//! plating-1: {kind: send-out, process: zinc, sent: 2026-02-10,
//!   came-back: 2026-02-20, lines: [{what: fasteners/bolt-flywheel, out: 1,
//!     back: 1}]}
//! ```
//!
//! ```text
//! assemblies/all.yaml:8:11: error: `engine/flywheel-bolts/f1` is tight for good, and its `bolt-flywheel` was tightened there before, on 2026-01-10, and can be used once only [used-once-already]
//!     assemblies/all.yaml:7:11: when it was tightened before
//!     fasteners/all.yaml:1:53: what it says of itself
//!     to do: put a new one in by the maker's manual and write `new: true`; if it was only tightened again, write `again: true`
//! assemblies/all.yaml:12:11: error: `engine/hub/left` is tight for good, and its `nut-hub` was not new, and can be used once only [used-once-already]
//!     fasteners/all.yaml:2:45: what it says of itself
//!     to do: put a new one in by the maker's manual and write `new-nut: true`
//! ```
//!
//! ## Right
//!
//! The old ones held the head for mock-up. For good new ones went in, and one old
//! one that had been measured. The last was tightened again after the engine had
//! been warm.
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     head-bolts:
//!       steps: [30 N·m, turn 90 deg, turn 90 deg]
//!       holes:
//!         b1: {calls-for: bolt-head, done: [
//!           {as: mock-up, when: 2026-02-07, until: 2026-02-21, steps: 3,
//!             new: false},
//!           {as: final, when: 2026-02-28, steps: 3, new: true}]}
//!         b2: {calls-for: bolt-head, done: [
//!           {as: final, when: 2026-02-28, steps: 3, new: false,
//!             measured: 118.2 mm}]}
//!         b3: {calls-for: bolt-head, done: [
//!           {as: final, when: 2026-02-28, steps: 3},
//!           {as: final, when: 2026-03-01, steps: 3, again: true}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-head: {form: bolt, thread: M10x1.25, stretch: true, once: true, have: 2,
//!   reuse: {measure: length, most: 119 mm}}
//! ```
//!
//! The flywheel bolts of the second time came out of another parcel; one was only
//! begun the evening before.
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     flywheel-bolts:
//!       steps: [25 N·m, 55 N·m]
//!       holes:
//!         f1: {calls-for: bolt-flywheel, done: [
//!           {as: final, when: 2026-01-10, until: 2026-02-07, set: 55 N·m},
//!           {as: final, when: 2026-02-28, set: 55 N·m, hardware: order-9}]}
//!         f2: {calls-for: bolt-flywheel, done: [
//!           {as: mock-up, when: 2026-02-27, steps: 1},
//!           {as: final, when: 2026-02-28, steps: 2}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-flywheel: {form: bolt, thread: M10x1.25, once: true}
//! ```
//!
//! ```yaml jobs/all.yaml
//! order-9: {kind: order, from: Quay Parts, ordered: 2026-02-10,
//!   lines: [{what: fasteners/bolt-flywheel, count: 6}]}
//! ```

use std::cmp::Ordering;
use std::collections::BTreeMap;

use crate::finding::{Finding, Level};
use crate::lint::holes::{Alike, alike, how, name};
use crate::lint::{Context, Rule};
use crate::model::common::{Length, Stage};
use crate::model::fastener::Reuse;
use crate::present::joints::{Hardware, Hole, Joint};
use crate::present::uses::{Which, Worn};

/// The rule.
pub const RULE: Rule = Rule {
    name: "used-once-already",
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
    more_than_there_are(cx, findings);
}

/// What is in a hole for the second time.
#[derive(Debug, PartialEq)]
struct Fault<'a> {
    id: &'a str,
    which: Which,
    worn: Worn<'a>,
    /// What was measured, and the limit that it is beyond.
    beyond: Option<(&'a str, String)>,
    how: String,
}

fn fault<'a>(cx: &Context<'a>, joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    if hole.claim != Stage::Final {
        return None;
    }
    [Which::Bolt, Which::Nut].into_iter().find_map(|which| {
        let hardware = hole.now_in(which)?;
        if !is_for_once(hardware, which) {
            return None;
        }
        let worn = cx.worn(joint, hole, which)?;
        let beyond = match measured(hardware, which, hole) {
            Measured::Within => return None,
            Measured::Beyond(is, limit) => Some((is, limit)),
            Measured::Not => None,
        };
        let how = how(cx.present(), joint, hole);
        Some(Fault { id: hardware.id, which, worn, beyond, how })
    })
}

fn is_for_once(hardware: Hardware<'_>, which: Which) -> bool {
    let record = hardware.record;
    let said = record.is_for_once() || record.reuse.is_some();
    said && (which == Which::Bolt || !record.locks_itself())
}

enum Measured<'a> {
    /// Nothing that the hardware's `reuse` could be held to.
    Not,
    /// Within its limits, or it has none that can be read.
    Within,
    /// The figure, and the limit that it is beyond, in words.
    Beyond(&'a str, String),
}

fn measured<'a>(hardware: Hardware<'a>, which: Which, hole: &Hole<'a>) -> Measured<'a> {
    let last = hole.standing.map(|(_, one)| one);
    let first = hole.went_in_at().map(|(_, one)| one);
    let one = [first, last].into_iter().flatten();
    let is = one.filter_map(|one| one.measured.as_ref()).next_back();
    let (Some(is), Some(reuse), Which::Bolt) = (is, &hardware.record.reuse, which) else {
        return Measured::Not;
    };
    match beyond(is, reuse) {
        Some(limit) => Measured::Beyond(is.as_str(), limit),
        None => Measured::Within,
    }
}

fn beyond(is: &Length, reuse: &Reuse) -> Option<String> {
    let is = is.quantity().ok()?;
    let limit = |limit: &Option<Length>, wrong: Ordering, says: &str| {
        let text = limit.as_ref()?;
        let quantity = text.quantity().ok()?;
        let order = match wrong {
            Ordering::Less => is.low().compare(&quantity.low())?,
            _ => is.high().compare(&quantity.high())?,
        };
        (order == wrong).then(|| format!("{says} {}", text.as_str()))
    };
    limit(&reuse.least, Ordering::Less, "less than the")
        .or_else(|| limit(&reuse.most, Ordering::Greater, "more than the"))
}

fn finding(cx: &Context<'_>, alike: &Alike<'_, '_, Fault<'_>>) -> Option<Finding> {
    let (joint, hole, fault) = (alike.joint, alike.first, &alike.fault);
    let hardware = hole.now_in(fault.which)?;
    let reuse = hardware.record.reuse.as_ref();
    let before = match fault.worn {
        Worn::Here(Some(day)) => format!("was tightened there before, on {}", day.as_str()),
        Worn::Here(None) => "was tightened there before".to_owned(),
        Worn::NotNew => "was not new".to_owned(),
        Worn::AllUsed => "is a used one".to_owned(),
    };
    let once = match (&fault.beyond, reuse) {
        (Some((is, limit)), Some(reuse)) => format!(
            "with a {} of {is}, {limit} that it may have to be used again",
            reuse.measure
        ),
        (_, Some(reuse)) => format!(
            "and can be used again only by its {}, which is not written",
            reuse.measure
        ),
        (_, None) => "and can be used once only".to_owned(),
    };
    let message = alike.told(format!(
        "`{}` {}, and its `{}` {before}, {once}",
        alike.name(),
        fault.how,
        fault.id
    ));
    let new = match fault.which {
        Which::Bolt => "new: true",
        Which::Nut => "new-nut: true",
    };
    let measure = match reuse {
        Some(reuse) if fault.beyond.is_none() => {
            format!(", or measure its {} and write it under `measured`", reuse.measure)
        }
        _ => String::new(),
    };
    let again = match fault.worn {
        Worn::Here(_) => "; if it was only tightened again, write `again: true`",
        _ => "",
    };
    let remedy = format!(
        "put a new one in by the maker's manual and write `{new}`{measure}{again}"
    );
    let finding = cx.finding_in(cx.in_done_at(joint, hole, &[]), message, remedy)?;
    let least = hardware.record.spent_by();
    let before = hole.before(joint, fault.which, least, |now, before| cx.is_other(now, before));
    let before = before.filter(|_| matches!(fault.worn, Worn::Here(_)));
    let before = before.map(|(number, _)| ["done".into(), number.into()]);
    let before = before.and_then(|way| cx.in_hole_at(joint, hole, &way));
    let says = if reuse.is_some() {
        "reuse"
    } else if hardware.record.once.is_some() {
        "once"
    } else {
        "stretch"
    };
    Some(
        finding
            .by_claim(hole.claim, Level::Warning)
            .see_at(cx, before, "when it was tightened before")
            .see_at(cx, cx.in_fastener_at(fault.id, &[says.into()]), "what it says of itself"),
    )
}

/// Hardware for once only that is claimed to be new at more holes than there is of it.
fn more_than_there_are(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let mut new: BTreeMap<&str, Vec<(&Joint<'_>, &Hole<'_>)>> = BTreeMap::new();
    for joint in &cx.present().joints {
        for hole in joint.holes.iter().filter(|hole| hole.claim == Stage::Final) {
            let bolt = hole.now_in(Which::Bolt).filter(|one| one.record.is_for_once());
            let said = hole.went_in_at().and_then(|(_, one)| one.new);
            if let (Some(bolt), Some(true)) = (bolt, said) {
                new.entry(bolt.id).or_default().push((joint, hole));
            }
        }
    }
    for (id, holes) in new {
        let have = cx.folder.model.fastener.get(id).and_then(|one| one.data.have);
        let Some(have) = have.filter(|have| holes.len() > *have as usize) else {
            continue;
        };
        let (joint, hole) = holes[0];
        let message = format!(
            "`{id}` can be used once only, and {} are claimed to have gone in new for good, the first at `{}`, where there {}",
            holes.len(),
            name(joint, hole),
            if have == 1 { "is 1".to_owned() } else { format!("are {have}") },
        );
        let remedy = "put new ones where old ones went in, or write under `have` how many there are";
        let finding = cx.finding_in(cx.in_fastener_at(id, &["have".into()]), message, remedy);
        findings.extend(finding.map(|finding| {
            finding
                .by_claim(Stage::Final, Level::Warning)
                .see_at(cx, cx.in_done_at(joint, hole, &["new".into()]), "the first of them")
        }));
    }
}
