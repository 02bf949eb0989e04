//! # torque-figures-disagree
//!
//! One torque is given in two units, and they are not the same torque.
//!
//! `46 N·m (34 lb-ft)` is one figure printed twice, each rounded by itself. Both
//! are held to half of their last printed digit: beyond that it is a warning.
//! Beyond 6 per cent (`torque-slip` under `figures` in `build.yaml` sets another)
//! it is no rounding any more but a slip: feet for inches (a factor of 12), a point
//! in the wrong place (10), the figure of one unit with the other's name. Of 85
//! printed pairs out of service manuals the worst differed by 5.5 per cent.
//!
//! What a wrench was set to is held to the joint's last torque in the same way, in
//! whatever unit. A range or tolerance of the step counts, and where a step takes
//! the load off, any torque of the list will do. For mock-up it is a warning, and
//! less than the last torque is as good. With an extension on it the corrected
//! setting counts. Which of two figures is right the maker's manual must say; never
//! take the one that suits.
//!
//! ## Wrong
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       steps: [15 N·m (11 lb-ft), 46 N·m (34 lb-in)]
//!       least: 40 N·m (28.5 lb-ft)
//!       holes:
//!         top: {repaired: {proved: 50 N·m (50 kgf·m)}}
//!     cover:
//!       steps: [24 N·m]
//!       holes:
//!         c1: {done: [{as: final, when: 2026-02-20, set: 24 lb-ft}]}
//!         c2: {done: [{as: final, when: 2026-02-20, set: 24 lb-ft}]}
//!         c3: {done: [{as: mock-up, when: 2026-02-20, set: 212 lb-ft}]}
//!         c4: {done: [{as: final, when: 2026-02-20, set: 34 N·m}]}
//!         c5: {done: [{as: final, when: 2026-02-20, set: 34.0 N·m (24.1 lb-ft)}]}
//!         c6: {done: [{as: final, when: 2026-02-20, set: 0 N·m}]}
//!     plug:
//!       steps: [25–30 N·m]
//!       holes: {p1: {done: [{as: final, when: 2026-02-20, set: 22 N·m}]}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:5:34: error: `engine/bracket`: `46 N·m (34 lb-in)` are two torques, a factor of 12.0 apart: probably feet for inches, a factor of 12 [torque-figures-disagree]
//!     to do: look it up in the maker's manual and write both as they are printed there; where the book itself is wrong, write the figure that you use and a note
//! assemblies/all.yaml:6:14: warning: `engine/bracket`: `40 N·m (28.5 lb-ft)` lie 3.5 % apart, which is more than rounding [torque-figures-disagree]
//!     to do: look it up in the maker's manual and write both as they are printed there; where the book itself is wrong, write the figure that you use and a note
//! assemblies/all.yaml:8:34: error: `engine/bracket/top` has a torque of which the printings disagree: `50 N·m (50 kgf·m)` are two torques, a factor of 9.8 apart: probably a point in the wrong place, or kgf·m for N·m [torque-figures-disagree]
//!     to do: look it up in the maker's manual and write both as they are printed there; where the book itself is wrong, write the figure that you use and a note
//! assemblies/all.yaml:12:56: error: `engine/cover/c1` was tightened with a wrench set to 24 lb-ft, and its last torque is 24 N·m, 35.6 % off: probably the figure of one unit with the name of the other; the same at c2 [torque-figures-disagree]
//!     assemblies/all.yaml:10:15: the step
//!     to do: loosen it, look the torque up in the maker's manual, and tighten it anew with new hardware, as this may be stretched; if only the record is wrong, correct it
//! assemblies/all.yaml:14:58: warning: `engine/cover/c3` was tightened with a wrench set to 212 lb-ft, and its last torque is 24 N·m, a factor of 12.0 off: probably feet for inches, a factor of 12 [torque-figures-disagree]
//!     assemblies/all.yaml:10:15: the step
//!     to do: loosen it, look the torque up in the maker's manual, and tighten it anew with new hardware, as this may be stretched; if only the record is wrong, correct it
//! assemblies/all.yaml:15:56: error: `engine/cover/c4` was tightened with a wrench set to 34 N·m, and its last torque is 24 N·m, 41.7 % off [torque-figures-disagree]
//!     assemblies/all.yaml:10:15: the step
//!     to do: loosen it, look the torque up in the maker's manual, and tighten it anew with new hardware, as this may be stretched; if only the record is wrong, correct it
//! assemblies/all.yaml:16:56: error: `engine/cover/c5` was tightened with a wrench set to 34.0 N·m (24.1 lb-ft), and its last torque is 24 N·m, 41.7 % off [torque-figures-disagree]
//!     assemblies/all.yaml:10:15: the step
//!     to do: loosen it, look the torque up in the maker's manual, and tighten it anew with new hardware, as this may be stretched; if only the record is wrong, correct it
//! assemblies/all.yaml:17:56: error: `engine/cover/c6` was tightened with a wrench set to 0 N·m, and its last torque is 24 N·m, all of it off [torque-figures-disagree]
//!     assemblies/all.yaml:10:15: the step
//!     to do: loosen it, look the torque up in the maker's manual, and tighten it anew; if only the record is wrong, correct it
//! assemblies/all.yaml:20:62: error: `engine/plug/p1` was tightened with a wrench set to 22 N·m, and its last torque is 25–30 N·m, 13.6 % off [torque-figures-disagree]
//!     assemblies/all.yaml:19:15: the step
//!     to do: loosen it, look the torque up in the maker's manual, and tighten it anew; if only the record is wrong, correct it
//! ```
//!
//! ## Right
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       steps: ["7 N·m (5 lb-ft, 62 lb-in)", 20 N·m (15 lb-ft)]
//!       holes:
//!         top: {done: [{as: final, when: 2026-02-20, set: 15 lb-ft}]}
//!     cover:
//!       steps: [37–43 N·m]
//!       holes: {c1: {done: [{as: final, when: 2026-02-20, set: 30 lb-ft}]}}
//!     arm:
//!       steps: [40 N·m, loosen, 20 N·m, turn 90 deg]
//!       holes:
//!         a1: {done: [{as: final, when: 2026-02-20, set: 40 N·m}]}
//!         a2: {done: [{as: mock-up, when: 2026-02-20, set: 10 N·m}]}
//!         a3: {done: [{as: final, when: 2026-02-20, set: 18 N·m,
//!           adapter: {extension: 42 mm, corrected: 18 N·m}}]}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault};
use crate::lint::{Context, Rule};
use crate::model::assembly::{StepsDone, Tightening};
use crate::model::common::FittedAs;
use crate::present::hardware::{off, slip, torque, torques};
use crate::present::joints::{Hole, Joint};
use crate::reckon::measure::{Ratio, as_share, torque_of};
use crate::reckon::printed::{Printings, Slip, compare};
use crate::reckon::quantity::Quantity;
use crate::reckon::step::Step as Tighten;
use crate::yaml::Step;

/// The rule.
pub const RULE: Rule = Rule {
    name: "torque-figures-disagree",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let slip = slip(cx.folder.model.build.figures.as_ref());
    for joint in &cx.present().joints {
        let record = joint.record;
        let lists = [
            ("steps", &record.steps),
            ("steps-for-new", &record.steps_for_new),
        ];
        for (name, steps) in lists {
            for (number, step) in steps.iter().enumerate() {
                let (Ok(Tighten::Torque(figure)), true) =
                    (step.step(), step.as_str().contains('('))
                else {
                    continue;
                };
                let way: [Step; 2] = [name.into(), number.into()];
                findings.extend(printed(cx, joint, &figure, &way, slip));
            }
        }
        if let Some(Ok(least)) = record.least.as_ref().map(|least| least.quantity()) {
            findings.extend(printed(cx, joint, &least, &["least".into()], slip));
        }
        cx.tell_faults(joint, findings, |hole| {
            // What is mere rounding must not hide another torque.
            match in_hole(hole, slip) {
                Some(slip) if slip.level == Some(Level::Error) => Some(slip),
                rough => set_otherwise(cx, joint, hole, slip).or(rough),
            }
        });
    }
}

/// What the printings of one figure say of each other.
fn judged(figure: &Quantity, slip: Ratio) -> Option<(Level, String)> {
    let worst = figure.also().iter().filter_map(|other| {
        let says = compare(figure, other, slip)?;
        match says {
            Printings::Agree => None,
            Printings::Rough(apart) => Some((
                Level::Warning,
                apart,
                format!(
                    "`{}` lie {} apart, which is more than rounding",
                    figure.text(),
                    percent(apart)
                ),
            )),
            Printings::Slip(apart, likely) => Some((
                Level::Error,
                apart,
                format!(
                    "`{}` are two torques, {} apart{}",
                    figure.text(),
                    times(apart),
                    of(likely)
                ),
            )),
        }
    });
    let worst = worst.max_by(|a, b| as_share(a.1).total_cmp(&as_share(b.1)))?;
    Some((worst.0, worst.2))
}

fn percent(apart: Ratio) -> String {
    format!("{:.1} %", as_share(apart) * 100.0)
}

/// How far apart two torques are: a share while that says something, then a factor.
fn times(apart: Ratio) -> String {
    match as_share(apart) {
        share if share < 1.0 => percent(apart),
        share if share.is_finite() => format!("a factor of {:.1}", share + 1.0),
        _ => "all of it".to_owned(),
    }
}

fn of(likely: Option<Slip>) -> &'static str {
    match likely {
        Some(Slip::Twelve) => ": probably feet for inches, a factor of 12",
        Some(Slip::Ten) => ": probably a point in the wrong place, or kgf·m for N·m",
        Some(Slip::Swapped) => ": probably the figure of one unit with the name of the other",
        None => "",
    }
}

const REMEDY: &str = "look it up in the maker's manual and write both as they are printed there; where the book itself is wrong, write the figure that you use and a note";

fn printed(
    cx: &Context<'_>,
    joint: &Joint<'_>,
    figure: &Quantity,
    way: &[Step],
    slip: Ratio,
) -> Option<Finding> {
    let (level, says) = judged(figure, slip)?;
    let message = format!("`{}`: {says}", joint.name);
    let finding = cx.finding_in(cx.in_joint_at(joint, way), message, REMEDY)?;
    Some(finding.at_level(level))
}

/// Figures of a hole that are printed twice.
fn in_hole<'a>(hole: &Hole<'a>, slip: Ratio) -> Option<Fault<'a>> {
    let repaired = hole.record.repaired.as_ref();
    let proved = repaired.and_then(|repair| repair.proved.as_ref());
    let last = hole.standing.map(|(_, one)| one);
    let adapter = last.and_then(|one| one.adapter.as_ref());
    let figures = [
        (proved, At::Hole(vec!["repaired".into(), "proved".into()])),
        (
            last.and_then(|one| one.set.as_ref()),
            At::Done(vec!["set".into()]),
        ),
        (
            adapter.and_then(|adapter| adapter.corrected.as_ref()),
            At::Done(vec!["adapter".into(), "corrected".into()]),
        ),
    ];
    let faults = figures.into_iter().filter_map(|(figure, at)| {
        let (level, says) = judged(&figure?.quantity().ok()?, slip)?;
        Some(Fault {
            at,
            says: format!("has a torque of which the printings disagree: {says}"),
            remedy: REMEDY.to_owned(),
            claim: hole.claim,
            level: Some(level),
            see: Vec::new(),
        })
    });
    // The worst of them; of equals the first.
    faults.rev().max_by_key(|fault| fault.level)
}

/// The torques that a wrench may have been set to last.
fn settings(joint: &Joint<'_>, one: &Tightening) -> Vec<Quantity> {
    let record = joint.record;
    let mut all = Vec::new();
    for steps in [&record.steps, &record.steps_for_new] {
        let eases = steps
            .iter()
            .any(|step| matches!(step.step(), Ok(Tighten::Loosen | Tighten::Back(_))));
        let mut torques = torques(steps).map(|(_, torque)| torque);
        // For mock-up any step will do; and where the load comes off in between, nobody
        // knows which setting was written down.
        if eases || one.as_ != Some(FittedAs::Final) {
            all.extend(torques);
        } else {
            all.extend(torques.next_back());
        }
    }
    // Steps that are not the joint's are told by steps-out-of-order.
    let done = match &one.steps {
        Some(StepsDone::Each(steps)) => steps.as_slice(),
        Some(StepsDone::Count(count)) => {
            let count = usize::try_from(*count).unwrap_or(usize::MAX);
            joint.steps_of(one).get(..count).unwrap_or_default()
        }
        None => &[],
    };
    let done_last = torques(done).map(|(_, torque)| torque).next_back();
    all.extend(done_last);
    all
}

/// A wrench that was set to another torque than the last one.
fn set_otherwise<'a>(
    cx: &Context<'a>,
    joint: &Joint<'a>,
    hole: &Hole<'a>,
    slip: Ratio,
) -> Option<Fault<'a>> {
    let one = hole.tightening()?;
    let written = one.set.as_ref()?;
    let set = written.quantity().ok()?;
    let torque_set = torque_of(&set)?;
    let record = joint.record;
    let (number, last) = torques(joint.steps_of(one)).last()?;
    let mut steps = settings(joint, one);
    // At a look after heat the maker's least is enough.
    steps.extend(record.least.as_ref().filter(|_| one.again == Some(true)).and_then(|least| least.quantity().ok()));
    let within = |step: &Quantity| {
        let Some(step) = torque_of(step) else {
            return true;
        };
        let slip = as_share(slip);
        torque_set.most >= step.least * (1.0 - slip) && torque_set.least <= step.most * (1.0 + slip)
    };
    if steps.iter().any(|step| within(step) || step.also().iter().any(within)) {
        return None;
    }
    if let Some(adapter) = one.adapter.as_ref()
        && !adapter.is_square()
    {
        // What is set with an extension on is judged with what it should be corrected to.
        let corrected = adapter.corrected.as_ref().and_then(torque);
        let same = |torque| off(torque_set.least, torque) <= slip;
        if corrected.is_none_or(|corrected| same(corrected.least)) {
            return None;
        }
    }
    let (apart, likely) = match compare(&set, &last, slip)? {
        Printings::Slip(apart, likely) => (apart, likely),
        _ => return None,
    };
    // The figure of the other printing, on a wrench that is marked in the unit of the first.
    let likely = likely.or_else(|| {
        let figure = |of: &Quantity| of.nominal().in_unit(of.unit());
        let mut others = last.also().iter().filter(|other| other.unit() != set.unit());
        let same = others.any(|other| figure(other) == figure(&set));
        same.then_some(Slip::Swapped)
    });
    // For mock-up less is as good.
    let less = torque_of(&last).is_some_and(|last| torque_set.most < last.least);
    if less && likely.is_none() && hole.tight != Some(FittedAs::Final) {
        return None;
    }
    let too_much = torque_of(&last).is_some_and(|last| torque_set.least > last.most);
    // Of a range the end that is nearer: all of it is right.
    let apart = match torque_of(&last) {
        Some(last) if too_much => off(torque_set.least, last.most),
        Some(last) if less => off(last.least, torque_set.most),
        _ => apart,
    };
    let wrench = one.with.as_ref().map(|wrench| wrench.as_str());
    let known = wrench.filter(|wrench| {
        cx.folder
            .model
            .build
            .wrenches
            .keys()
            .any(|name| name.as_str() == *wrench)
    });
    let which = known.map_or_else(
        || "a wrench".to_owned(),
        |name| format!("the wrench `{name}`"),
    );
    let for_new = one.new == Some(true) && !record.steps_for_new.is_empty();
    let list = if for_new { "steps-for-new" } else { "steps" };
    let step = At::Joint(vec![list.into(), number.into()]);
    Some(Fault {
        at: At::Done(vec!["set".into()]),
        says: format!(
            "was tightened with {which} set to {}, and its last torque is {}, {} off{}",
            written.as_str(),
            last.text(),
            times(apart),
            of(likely)
        ),
        remedy: format!(
            "loosen it, look the torque up in the maker's manual, and tighten it anew{}; if only the record is wrong, correct it",
            if too_much { " with new hardware, as this may be stretched" } else { "" }
        ),
        claim: hole.claim,
        level: None,
        see: vec![(step, "the step".to_owned())],
    })
}
