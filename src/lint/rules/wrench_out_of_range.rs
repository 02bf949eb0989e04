//! # wrench-out-of-range
//!
//! A torque lies outside the part of a wrench's range that can be trusted.
//!
//! A wrench is tested from 20 to 100 per cent of the most that it can be set to
//! (ISO 6789-1, from memory); below that its spring is slack, and nobody vouches
//! for the click. `wrench-low` and `wrench-high` under `figures` in `build.yaml`
//! set other ends. With an extension on it, what the wrench is set to counts.
//!
//! Of a torque with a range, a wrench is good that covers some of it. A joint of
//! which nothing is tight yet is told once, if none of the wrenches in `build.yaml`
//! covers its torque, or that of its steps for new ones. Where the maker of the
//! wrench prints another range, his word comes first: write it as `from` and `to`.
//!
//! ## Wrong
//!
//! ```yaml build.yaml
//! name: Wren with a Pell engine
//! wrenches:
//!   small: {from: 5 N·m, to: 25 N·m}
//!   large: {from: 20 N·m, to: 200 N·m}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover:
//!       steps: [24 N·m]
//!       holes:
//!         c1: {done: [{as: final, when: 2026-02-20, with: large, set: 24 N·m}]}
//!         c2: {done: [{as: final, when: 2026-02-20, with: large, set: 24 N·m}]}
//!         c3: {done: [{as: mock-up, when: 2026-02-20, with: large}]}
//!     sump: {steps: [35 lb-in], holes: {s1: {}}}
//!     head: {steps: [40 N·m], steps-for-new: [30 N·m, 220 N·m], holes: {h1: {}}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:7:69: error: `engine/cover/c1` was tightened with the wrench `large` at 24 N·m, which is below the 40 N·m to 200 N·m that it is good for; the same at c2 [wrench-out-of-range]
//!     build.yaml:4:29: the wrench
//!     to do: tighten it again with a wrench that covers it, and write that down
//! assemblies/all.yaml:9:59: warning: `engine/cover/c3` was tightened with the wrench `large` at 24 N·m, which is below the 40 N·m to 200 N·m that it is good for [wrench-out-of-range]
//!     build.yaml:4:29: the wrench
//!     to do: tighten it again with a wrench that covers it, and write that down
//! assemblies/all.yaml:10:20: warning: `engine/sump` is tightened to 35 lb-in, and no wrench here is good for that: `large` 40 N·m to 200 N·m, `small` 5 N·m to 25 N·m [wrench-out-of-range]
//!     to do: borrow or buy one whose range it lies well inside, and write it under `wrenches` in build.yaml
//! assemblies/all.yaml:11:53: warning: `engine/head` is tightened to 220 N·m, and no wrench here is good for that: `large` 40 N·m to 200 N·m, `small` 5 N·m to 25 N·m [wrench-out-of-range]
//!     to do: borrow or buy one whose range it lies well inside, and write it under `wrenches` in build.yaml
//! ```
//!
//! ## Right
//!
//! ```yaml build.yaml
//! name: Wren with a Pell engine
//! wrenches: {small: {from: 5 N·m, to: 25 N·m}, large: {from: 20 N·m, to: 200 N·m}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover:
//!       steps: [24 N·m]
//!       holes: {c1: {done: [{as: final, when: 2026-02-20, with: small,
//!         set: 18 lb-ft}]}}
//!     head: {steps: [30 N·m, 46 N·m, turn 90 deg], holes: {h1: {}}}
//!     hub: {steps: [180–220 N·m], holes: {h1: {}}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault, torque as shown};
use crate::lint::{Context, Rule};
use crate::model::assembly::{StepsDone, Tightening};
use crate::present::hardware::{greatest, torque, used_part};
use crate::present::joints::{Hole, Joint};
use crate::reckon::measure::{Band, Torque, torque_of};
use crate::reckon::wrench::{Covers, Wrench};

/// The rule.
pub const RULE: Rule = Rule {
    name: "wrench-out-of-range",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        if joint.holes.iter().all(|hole| hole.tight.is_none()) {
            findings.extend(nothing_covers(cx, joint));
        }
        cx.tell_faults(joint, findings, |hole| used(cx, joint, hole));
    }
}

/// What the wrench had to give, as it was set, and how that is written.
fn given<'a>(
    joint: &Joint<'a>,
    one: &'a Tightening,
) -> Option<(Band<Torque>, String, At<'static>)> {
    let adapter = one.adapter.as_ref();
    let corrected = adapter.and_then(|adapter| adapter.corrected.as_ref());
    let set = one.set.as_ref();
    let fields = [
        (
            corrected,
            At::Done(vec!["adapter".into(), "corrected".into()]),
        ),
        (set, At::Done(vec!["set".into()])),
    ];
    for (written, at) in fields {
        if let Some(written) = written {
            return Some((torque(written)?, written.as_str().to_owned(), at));
        }
    }
    let (_, step) = match &one.steps {
        Some(StepsDone::Each(steps)) => greatest(steps)?,
        Some(StepsDone::Count(count)) => {
            let steps = joint.steps_of(one);
            let count = usize::try_from(*count)
                .unwrap_or(usize::MAX)
                .min(steps.len());
            greatest(&steps[..count])?
        }
        None => greatest(joint.steps_of(one))?,
    };
    Some((
        torque_of(&step)?,
        step.text().to_owned(),
        At::Done(vec!["with".into()]),
    ))
}

fn used<'a>(cx: &Context<'a>, joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    let one = hole.tightening()?;
    let name = one.with.as_ref()?.as_str();
    let build = &cx.folder.model.build;
    let (_, record) = build
        .wrenches
        .iter()
        .find(|(key, _)| key.as_str() == name)?;
    let wrench = record.marked()?;
    let part = used_part(build.figures.as_ref());
    let (wanted, written, at) = given(joint, one)?;
    let how = match wrench.covers(wanted, part) {
        Covers::Fully | Covers::Partly => return None,
        Covers::TooSmall => "below",
        Covers::TooLarge => "above",
    };
    let range = wrench.used_for(part);
    Some(Fault {
        at,
        says: format!(
            "was tightened with the wrench `{name}` at {written}, which is {how} the {} to {} that it is good for",
            shown(range.least),
            shown(range.most)
        ),
        remedy: "tighten it again with a wrench that covers it, and write that down".to_owned(),
        claim: hole.claim,
        level: None,
        see: vec![(At::Wrench(name, "to"), "the wrench".to_owned())],
    })
}

/// A joint still to be tightened, for which there is no wrench.
fn nothing_covers(cx: &Context<'_>, joint: &Joint<'_>) -> Option<Finding> {
    let build = &cx.folder.model.build;
    let wrenches: Option<Vec<Wrench>> = build.wrenches.values().map(|one| one.marked()).collect();
    // One of which the range is not written may be it.
    let wrenches = wrenches.filter(|all| !all.is_empty())?;
    let part = used_part(build.figures.as_ref());
    let lists = [
        ("steps", &joint.record.steps),
        ("steps-for-new", &joint.record.steps_for_new),
    ];
    let mut greatest_of = lists.into_iter().filter_map(|(field, steps)| {
        let (number, step) = greatest(steps)?;
        Some((field, number, torque_of(&step)?, step))
    });
    let (field, number, _, step) = greatest_of.find(|(_, _, wanted, _)| {
        let good = |wrench: &Wrench| {
            let covers = wrench.covers(*wanted, part);
            matches!(covers, Covers::Fully | Covers::Partly)
        };
        !wrenches.iter().any(good)
    })?;
    let good = wrenches.iter().map(|wrench| wrench.used_for(part));
    let names = build.wrenches.keys().zip(good);
    let ranges: Vec<String> = names
        .map(|(name, range)| {
            format!(
                "`{}` {} to {}",
                name.as_str(),
                shown(range.least),
                shown(range.most)
            )
        })
        .collect();
    let message = format!(
        "`{}` is tightened to {}, and no wrench here is good for that: {}",
        joint.name,
        step.text(),
        ranges.join(", ")
    );
    let finding = cx.finding_in(
        cx.in_joint_at(joint, &[field.into(), number.into()]),
        message,
        "borrow or buy one whose range it lies well inside, and write it under `wrenches` in build.yaml",
    )?;
    Some(finding.at_level(Level::Warning))
}
