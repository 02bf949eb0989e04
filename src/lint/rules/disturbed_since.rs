//! # disturbed-since
//!
//! What a joint clamps came off after the joint was tightened.
//!
//! A bolt that had to come out for a part to come off is not tight any more,
//! whatever was written of it before. So the hole counts as loose by itself, on the
//! day the part came off, the assembly came out, or both; to say so is a warning,
//! because nothing is wrong with a joint that is open (common practice, no source).
//! Once the day stands under `until`, or it was tightened anew, nothing is said.
//! For mock-up nothing is.
//!
//! An error it is where something is claimed over it: an assembly that is closed,
//! or one that is mounted for good and `buries` the joint. Then either that claim
//! is wrong or the record of the joint is.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Water pump
//!   pieces:
//!     P1: {condition: serviceable, goes: cooling/pump, fitted: [
//!       {as: final, when: 2026-02-14, until: 2026-02-20}]}
//! flywheel:
//!   name: Flywheel
//!   pieces:
//!     F1: {condition: serviceable, goes: engine/flywheel, fitted: [
//!       {as: final, when: 2026-02-14, until: 2026-02-20},
//!       {as: final, when: 2026-02-21}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! cooling:
//!   in: car
//!   places: {pump: {}}
//!   joints:
//!     pump-bolts:
//!       clamps: [cooling/pump]
//!       holes:
//!         low: {done: [{as: final, when: 2026-02-14}]}
//!         top: {done: [{as: final, when: 2026-02-14}]}
//! engine:
//!   in: car
//!   places: {flywheel: {}}
//!   joints:
//!     flywheel-bolts:
//!       clamps: [engine/flywheel]
//!       holes:
//!         f1: {done: [{as: final, when: 2026-02-14}]}
//!         f2: {done: [{as: final, when: 2026-02-14}, {as: final,
//!           when: 2026-02-21}]}
//! gearbox:
//!   in: car
//!   buries: [engine/flywheel-bolts]
//!   mounted: [{as: final, when: 2026-02-28}]
//! ```
//!
//! ```text
//! assemblies/all.yaml:8:22: warning: `cooling/pump-bolts/low` was tightened for good on 2026-02-14, and pump/P1 came off cooling/pump on 2026-02-20, so it is loose again; the same at top [disturbed-since]
//!     to do: write `until: 2026-02-20` there, and tighten it anew by the maker's manual once all is on again
//! assemblies/all.yaml:17:21: error: `engine/flywheel-bolts/f1` was tightened for good on 2026-02-14, and flywheel/F1 came off engine/flywheel on 2026-02-20, so it is loose again, with gearbox mounted for good, which buries it [disturbed-since]
//!     assemblies/all.yaml:23:13: what is claimed over it
//!     to do: take `gearbox` off, tighten it anew by the maker's manual, and write both down; or write the tightening that is not written yet
//! ```
//!
//! ## Right
//!
//! The pump came off, which the joint says too. The gearbox hangs there for
//! mock-up.
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Water pump
//!   pieces:
//!     P1: {condition: serviceable, goes: cooling/pump, fitted: [
//!       {as: final, when: 2026-02-14, until: 2026-02-20}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! cooling:
//!   in: car
//!   places: {pump: {}}
//!   joints:
//!     pump-bolts:
//!       clamps: [cooling/pump]
//!       holes:
//!         low: {done: [{as: final, when: 2026-02-14, until: 2026-02-20}]}
//!         top: {done: [{as: mock-up, when: 2026-02-14}]}
//! gearbox:
//!   in: car
//!   buries: [cooling/pump-bolts]
//!   mounted: [{as: mock-up, when: 2026-02-28}]
//! ```

use std::collections::BTreeMap;

use crate::finding::{Finding, Level};
use crate::lint::at::Spot;
use crate::lint::holes::{Alike, alike, name};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::{FittedAs, Fitting, Stage};
use crate::present::joints::{Hole, Joint, Off};

/// The rule.
pub const RULE: Rule = Rule {
    name: "disturbed-since",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let buried = buried(cx);
    for joint in &cx.present().joints {
        for alike in alike(joint, |hole| fault(cx, joint, hole, &buried)) {
            findings.extend(finding(cx, &alike));
        }
    }
}

#[derive(Debug, PartialEq)]
struct Fault<'a> {
    as_: FittedAs,
    when: Option<&'a str>,
    off: Off,
    over: Option<Over>,
}

/// What is claimed over a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Over {
    /// An assembly that is closed.
    Closed(usize),
    /// An assembly that buries it, and is mounted for good by that event.
    Buried(usize, usize),
}

fn fault<'a>(
    cx: &Context<'_>,
    joint: &Joint<'a>,
    hole: &Hole<'a>,
    buried: &Buried<'_>,
) -> Option<Fault<'a>> {
    let (_, one) = hole.standing?;
    let off = hole.loosened.clone()?;
    let as_ = one.as_.unwrap_or(FittedAs::MockUp);
    let over = over(cx, joint, hole, buried);
    if as_ == FittedAs::MockUp && over.is_none() {
        return None;
    }
    let when = one.when.as_ref().map(|when| when.as_str());
    Some(Fault { as_, when, off, over })
}

fn over(cx: &Context<'_>, joint: &Joint<'_>, hole: &Hole<'_>, buried: &Buried<'_>) -> Option<Over> {
    let present = cx.present();
    if let Some(by) = present.assemblies[joint.assembly].closed_by {
        return Some(Over::Closed(by));
    }
    let around = present.around(joint.assembly).into_iter();
    let around = around.map(|one| present.assemblies[one].id);
    let hole = name(joint, hole);
    let names = [hole.as_str(), joint.name.as_str()].into_iter().chain(around);
    let (by, event) = names.filter_map(|name| buried.get(name)).min()?;
    Some(Over::Buried(*by, *event))
}

/// What is buried, by how it is named, with the first assembly that buries it and is mounted
/// for good, and by which event.
type Buried<'a> = BTreeMap<&'a str, (usize, usize)>;

fn buried<'a>(cx: &Context<'a>) -> Buried<'a> {
    let mut all = Buried::new();
    for (number, one) in cx.present().assemblies.iter().enumerate() {
        let record = one.record;
        let mut mounted = record.mounted.iter();
        let good = |on: &Fitting| on.until.is_none() && on.as_ == Some(FittedAs::Final);
        let Some(event) = mounted.position(good) else {
            continue;
        };
        for name in &record.buries {
            all.entry(name.as_str()).or_insert((number, event));
        }
    }
    all
}

fn finding(cx: &Context<'_>, alike: &Alike<'_, '_, Fault<'_>>) -> Option<Finding> {
    let (joint, hole, fault) = (alike.joint, alike.first, &alike.fault);
    let assembly = |number: usize| cx.present().assemblies[number].id;
    let on = fault.when.map(|when| format!(" on {when}")).unwrap_or_default();
    let as_ = match fault.as_ {
        FittedAs::Final => "for good",
        FittedAs::MockUp => "for mock-up",
    };
    let over = match fault.over {
        None => String::new(),
        Some(Over::Closed(by)) => format!(", with {} closed over it", assembly(by)),
        Some(Over::Buried(by, _)) => {
            format!(", with {} mounted for good, which buries it", assembly(by))
        }
    };
    let message = alike.told(format!(
        "`{}` was tightened {as_}{on}, and {} on {}, so it is loose again{over}",
        alike.name(),
        fault.off.what,
        fault.off.when
    ));
    let remedy = match fault.over {
        None => format!(
            "write `until: {}` there, and tighten it anew by the maker's manual once all is on again",
            fault.off.when
        ),
        Some(Over::Closed(by)) => format!(
            "open `{}`, tighten it anew by the maker's manual, and write both down; or write the tightening that is not written yet",
            assembly(by)
        ),
        Some(Over::Buried(by, _)) => format!(
            "take `{}` off, tighten it anew by the maker's manual, and write both down; or write the tightening that is not written yet",
            assembly(by)
        ),
    };
    let finding = cx.finding_in(cx.in_done_at(joint, hole, &[]), message, remedy)?;
    let claim = if fault.over.is_some() { Stage::Final } else { Stage::Bench };
    Some(
        finding
            .by_claim(claim, Level::Warning)
            .see_at(cx, over_at(cx, fault.over), "what is claimed over it"),
    )
}

fn over_at(cx: &Context<'_>, over: Option<Over>) -> Option<Spot> {
    match over? {
        Over::Closed(by) => cx.closing_at(by),
        Over::Buried(by, event) => {
            let id = cx.present().assemblies[by].id;
            cx.value_at(Kind::Assemblies, id, &["mounted".into(), event.into()])
        }
    }
}
