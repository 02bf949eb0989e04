//! # adapter-uncorrected
//!
//! A wrench was used with an extension or a crowfoot, and not set for it.
//!
//! With something on its end that makes it longer, a wrench gives more at the bolt
//! than it clicks at: 60 mm straight on at a wrench of 380 mm are 16 per cent. It
//! is set to the torque times L/(L + E·cos α), with the wrench from the middle of
//! its drive to the mark on the grip (L), the adapter from middle to middle (E),
//! and the angle α between the two, 0 deg straight on. At 90 deg nothing changes.
//! Statics, and what wrench makers print; what the maker of this wrench says comes
//! first.
//!
//! The setting that was used is written as `corrected`. It is reckoned again where
//! `length` of the wrench is written in `build.yaml`, and may be 3 per cent off
//! (our choice). An extension between drive and socket, in line with the bolt,
//! changes nothing and is no adapter.
//!
//! ## Wrong
//!
//! ```yaml build.yaml
//! name: Wren with a Pell engine
//! wrenches: {medium: {from: 20 N·m, to: 100 N·m, length: 380 mm},
//!   old: {from: 10 N·m, to: 60 N·m}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     pipe:
//!       steps: [24 N·m]
//!       holes:
//!         p1: {done: [{as: final, when: 2026-02-20, with: medium, set: 24 N·m,
//!           adapter: {extension: 55 mm, angle: 0 deg}}]}
//!         p2: {done: [{as: final, when: 2026-02-20, with: medium, set: 24 N·m,
//!           adapter: {extension: 55 mm, corrected: 23.5 N·m}}]}
//!         p3: {done: [{as: final, when: 2026-02-20, with: old, set: 24 N·m,
//!           adapter: {extension: 55 mm}}]}
//! ```
//!
//! ```text
//! assemblies/all.yaml:8:20: warning: `engine/pipe/p1` was tightened with an adapter of 55 mm at 0 deg, and no corrected setting is written: it should have been 21 N·m [adapter-uncorrected]
//!     build.yaml:2:56: the wrench
//!     to do: write the setting that was used as `corrected`; if it was not 21 N·m, tighten it again
//! assemblies/all.yaml:10:50: warning: `engine/pipe/p2` was tightened with an adapter of 55 mm straight on at a setting of 23.5 N·m, which should have been 21 N·m [adapter-uncorrected]
//!     build.yaml:2:56: the wrench
//!     to do: tighten it again at 21 N·m with the adapter as it is written, or correct extension and angle
//! assemblies/all.yaml:12:20: warning: `engine/pipe/p3` was tightened with an adapter of 55 mm straight on, and no corrected setting is written; what it should have been can't be reckoned without the wrench's length [adapter-uncorrected]
//!     build.yaml:3:8: the wrench
//!     to do: write the setting that was used as `corrected`; from the middle of the drive to the mark on the grip is the wrench's `length`
//! ```
//!
//! ## Right
//!
//! ```yaml build.yaml
//! name: Wren with a Pell engine
//! wrenches: {medium: {from: 20 N·m, to: 100 N·m, length: 380 mm}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     pipe:
//!       steps: [24 N·m]
//!       holes:
//!         p1: {done: [{as: final, when: 2026-02-20, with: medium, set: 24 N·m,
//!           adapter: {extension: 55 mm, angle: 0 deg, corrected: 21 N·m}}]}
//!         p2: {done: [{as: final, when: 2026-02-20, with: medium, set: 24 N·m,
//!           adapter: {extension: 55 mm, angle: 90 deg}}]}
//!         p3: {done: [{as: final, when: 2026-02-20, with: medium, set: 21 N·m,
//!           adapter: {extension: 55 mm}}]}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault, torque as shown};
use crate::lint::{Context, Rule};
use crate::model::assembly::{Adapter, Tightening};
use crate::model::build::Wrench;
use crate::model::common::Stage;
use crate::present::hardware::{length, off, torque, torques};
use crate::present::joints::{Hole, Joint};
use crate::reckon::measure::{Torque, in_mm, torque_of, share};

/// The rule.
pub const RULE: Rule = Rule {
    name: "adapter-uncorrected",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// How far a setting may lie from what is reckoned, as a share of it.
const NEAR: f64 = 0.03;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        cx.tell_faults(joint, findings, |hole| judge(cx, joint, hole));
    }
}

fn judge<'a>(cx: &Context<'a>, joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    let one = hole.tightening()?;
    let adapter = one.adapter.as_ref()?;
    let extension = length(adapter.extension.as_ref()?)?;
    if in_mm(extension.most) < 0.5 || adapter.is_square() {
        return None;
    }
    let name = one.with.as_ref().map(|wrench| wrench.as_str());
    let wrenches = &cx.folder.model.build.wrenches;
    let wrench = name.and_then(|name| wrenches.iter().find(|(key, _)| key.as_str() == name));
    let with = wrench.and_then(|(_, wrench)| wrench.with(adapter));
    let last = last(joint, one);
    let corrected = adapter.corrected.as_ref().and_then(torque);
    let set = one.set.as_ref().and_then(torque).map(|set| set.least);
    // Some write under `set` what the bolt should get, and some what the wrench showed.
    let wanted: Vec<Torque> = last.into_iter().chain(set).collect();
    let settings: Vec<Torque> = with
        .iter()
        .flat_map(|with| wanted.iter().filter_map(|wanted| with.setting(*wanted)))
        .collect();
    let used = corrected.map(|corrected| corrected.least);
    let near = |used: Torque, setting: Torque| off(used, setting) <= share(NEAR);
    let (says, remedy) = match (used, settings.first()) {
        (Some(used), Some(setting)) => {
            if settings.iter().any(|setting| near(used, *setting)) {
                return None;
            }
            let written = adapter
                .corrected
                .as_ref()
                .map_or("", |written| written.as_str());
            let to = shown(*setting);
            (
                format!(
                    "was tightened with an adapter of {} at a setting of {written}, which should have been {to}",
                    long_of(adapter)
                ),
                format!(
                    "tighten it again at {to} with the adapter as it is written, or correct extension and angle"
                ),
            )
        }
        (Some(_), None) => return None,
        (None, Some(setting)) => {
            if last.is_some() && set.is_some_and(|set| near(set, *setting)) {
                return None;
            }
            let to = shown(*setting);
            (
                format!(
                    "was tightened with an adapter of {}, and no corrected setting is written: it should have been {to}",
                    long_of(adapter)
                ),
                format!(
                    "write the setting that was used as `corrected`; if it was not {to}, tighten it again"
                ),
            )
        }
        (None, None) => {
            let what = what_lacks(wrench.map(|(_, wrench)| wrench), wanted.is_empty());
            (
                format!("was tightened with an adapter of {}, and no corrected setting is written; {what}", long_of(adapter)),
                "write the setting that was used as `corrected`; from the middle of the drive to the mark on the grip is the wrench's `length`".to_owned(),
            )
        }
    };
    let at = if used.is_some() {
        At::Done(vec!["adapter".into(), "corrected".into()])
    } else {
        At::Done(vec!["adapter".into()])
    };
    let see =
        wrench.map(|(name, _)| (At::Wrench(name.as_str(), "length"), "the wrench".to_owned()));
    Some(Fault {
        at,
        says,
        remedy,
        claim: Stage::Bench,
        level: Some(Level::Warning),
        see: see.into_iter().collect(),
    })
}

/// The torque that a hole was to get in the end.
fn last(joint: &Joint<'_>, one: &Tightening) -> Option<Torque> {
    let (_, step) = torques(joint.steps_of(one)).last()?;
    let band = torque_of(&step)?;
    Some(band.middle())
}

fn long_of(adapter: &Adapter) -> String {
    let long = adapter.extension.as_ref().map_or("", |long| long.as_str());
    match &adapter.angle {
        Some(angle) => format!("{long} at {}", angle.as_str()),
        None => format!("{long} straight on"),
    }
}

fn what_lacks(wrench: Option<&Wrench>, no_torque: bool) -> &'static str {
    match wrench {
        None => "with which wrench is not written either",
        Some(wrench) if wrench.length.is_none() => {
            "what it should have been can't be reckoned without the wrench's length"
        }
        Some(_) if no_torque => "what it should have been can't be reckoned without a torque",
        Some(_) => "the bolt comes too close to the hand for it",
    }
}
