//! # steps-out-of-order
//!
//! A hole is tight for good, and the steps that were done are not the joint's.
//!
//! Steps are printed in an order because each leaves the joint in the state that
//! the next one wants: all bolts down before any is turned, the gasket settled
//! before the load comes off again. With a step left out, two made one, or a
//! loosening passed over, the clamp load is not the maker's, though the last torque
//! was right (common practice, no source; the maker's manual gives the steps).
//!
//! `steps` of a tightening is how many were done, or the steps as they were really
//! done. What is compared is what they mean: `turn 1/4 turn` is `turn 90 deg`, 40
//! lb-ft is a printed 55 N·m, and so is any torque within 6 % of it or within its
//! printed range (another share is `torque-slip` under `figures`). Coming up to a
//! torque by lesser ones, and pulling the same again, changes nothing. A list that
//! begins anew after a `loosen` counts from there, if it then runs through all the
//! steps.
//!
//! New bolts (`new: true`) take `steps-for-new`, where the joint has them. Where
//! nothing says whether they were new, either will do. A tightening that says
//! nothing of its steps is not judged, and for mock-up nothing is. What was
//! tightened again after heat (`again: true`) is judged by how it went in.
//!
//! ## Wrong
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     head-bolts:
//!       steps: [40 N·m, loosen, 20 N·m, turn 90 deg, turn 90 deg]
//!       holes:
//!         b1: {calls-for: bolt-head, done: [{as: final, when: 2026-02-28,
//!           steps: 4}]}
//!         b2: {calls-for: bolt-head, done: [{as: final, when: 2026-02-28,
//!           steps: 4}]}
//!         b3: {calls-for: bolt-head, done: [{as: final, when: 2026-02-28,
//!           steps: [40 N·m, 20 N·m, turn 90 deg, turn 90 deg]}]}
//!         b4: {calls-for: bolt-head, done: [{as: final, when: 2026-02-28,
//!           steps: [40 N·m, loosen, 20 N·m, turn 180 deg]}]}
//!         b5: {calls-for: bolt-head, done: [{as: final, when: 2026-02-28,
//!           steps: [20 N·m, 40 N·m, loosen, 20 N·m, turn 90 deg, turn 90 deg,
//!             turn 30 deg]}]}
//!     flywheel-bolts:
//!       steps: [25 N·m, 55 N·m]
//!       steps-for-new: [25 N·m, 55 N·m, turn 30 deg]
//!       holes:
//!         f1: {calls-for: bolt-flywheel, done: [{as: final, when: 2026-02-28,
//!           steps: [55 N·m, 25 N·m]}]}
//!         f2: {calls-for: bolt-flywheel, done: [{as: final, when: 2026-02-28,
//!           steps: 2, new: true}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-head: {form: bolt, thread: M10x1.25}
//! bolt-flywheel: {form: bolt, thread: M10x1.25}
//! ```
//!
//! ```text
//! assemblies/all.yaml:8:18: error: `engine/head-bolts/b1` is tight for good, and what was done ends before step 5, `turn 90 deg`; the joint's steps are 40 N·m, loosen, 20 N·m, turn 90 deg, turn 90 deg; the same at b2 [steps-out-of-order]
//!     assemblies/all.yaml:5:14: the joint's steps
//!     to do: loosen it and go through all the steps in their order by the maker's manual, or write the steps as they were really done, or write it as mock-up until then
//! assemblies/all.yaml:12:18: error: `engine/head-bolts/b3` is tight for good by 40 N·m, 20 N·m, turn 90 deg, turn 90 deg, and what was done passes over step 2, `loosen`, which takes the load off; the joint's steps are 40 N·m, loosen, 20 N·m, turn 90 deg, turn 90 deg [steps-out-of-order]
//!     assemblies/all.yaml:5:14: the joint's steps
//!     to do: loosen it and go through all the steps in their order by the maker's manual, or write the steps as they were really done, or write it as mock-up until then
//! assemblies/all.yaml:14:18: error: `engine/head-bolts/b4` is tight for good by 40 N·m, loosen, 20 N·m, turn 180 deg, and what was done makes one `turn 180 deg` of steps 4 and 5; the joint's steps are 40 N·m, loosen, 20 N·m, turn 90 deg, turn 90 deg [steps-out-of-order]
//!     assemblies/all.yaml:5:14: the joint's steps
//!     to do: loosen it and go through all the steps in their order by the maker's manual, or write the steps as they were really done, or write it as mock-up until then
//! assemblies/all.yaml:16:18: error: `engine/head-bolts/b5` is tight for good by 20 N·m, 40 N·m, loosen, 20 N·m, turn 90 deg, turn 90 deg, turn 30 deg, and what was done goes on with `turn 30 deg` after the last of them; the joint's steps are 40 N·m, loosen, 20 N·m, turn 90 deg, turn 90 deg [steps-out-of-order]
//!     assemblies/all.yaml:5:14: the joint's steps
//!     to do: loosen it and go through all the steps in their order by the maker's manual, or write the steps as they were really done, or write it as mock-up until then
//! assemblies/all.yaml:23:18: error: `engine/flywheel-bolts/f1` is tight for good by 55 N·m, 25 N·m, and what was done has step 1, `25 N·m`, too late; the joint's steps are 25 N·m, 55 N·m [steps-out-of-order]
//!     assemblies/all.yaml:19:14: the joint's steps
//!     to do: loosen it and go through all the steps in their order by the maker's manual, or write the steps as they were really done, or write it as mock-up until then
//! assemblies/all.yaml:25:18: error: `engine/flywheel-bolts/f2` is tight for good, and what was done ends before step 3, `turn 30 deg`; the joint's steps for new ones are 25 N·m, 55 N·m, turn 30 deg [steps-out-of-order]
//!     assemblies/all.yaml:20:22: the joint's steps for new ones
//!     to do: loosen it and go through all the steps in their order by the maker's manual, or write the steps as they were really done, or write it as mock-up until then
//! ```
//!
//! ## Right
//!
//! One was pulled to its last torque at once, let off, and begun anew; one was done
//! with a wrench in pound-feet; one is for mock-up.
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     flywheel-bolts:
//!       steps: [25 N·m, 55 N·m, turn 90 deg]
//!       holes:
//!         f1: {calls-for: bolt-flywheel, done: [{as: final, when: 2026-02-28,
//!           steps: [55 N·m, loosen, 25 N·m, 55 N·m, turn 90 deg]}]}
//!         f2: {calls-for: bolt-flywheel, done: [{as: final, when: 2026-02-28,
//!           steps: [18 lb-ft, 30 lb-ft, 40 lb-ft, turn 1/4 turn]}]}
//!         f3: {calls-for: bolt-flywheel, done: [{as: mock-up, when: 2026-02-28,
//!           steps: 1}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-flywheel: {form: bolt, thread: M10x1.25}
//! ```

use std::cmp::Ordering;

use crate::finding::{Finding, Level};
use crate::lint::holes::{Alike, alike};
use crate::lint::{Context, Rule};
use crate::model::assembly::{StepsDone, Tightening};
use crate::model::common::{FittedAs, StepText};
use crate::present::hardware::slip;
use crate::present::joints::{Hole, Joint};
use crate::reckon::measure::as_share;
use crate::reckon::quantity::Quantity;
use crate::reckon::step::Step;
use crate::reckon::unit::{Amount, Unit};

/// The rule.
pub const RULE: Rule = Rule {
    name: "steps-out-of-order",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let figures = cx.folder.model.build.figures.as_ref();
    let slip = as_share(slip(figures));
    for joint in &cx.present().joints {
        for alike in alike(joint, |hole| fault(joint, hole, slip)) {
            findings.extend(finding(cx, &alike));
        }
    }
}

/// What is wrong with the steps of a hole.
#[derive(Debug, PartialEq)]
struct Fault<'a> {
    /// Which of the joint's lists it should have been.
    list: List,
    /// What was done, where it is not just a number.
    done: Option<&'a [StepText]>,
    /// What is wrong with it.
    says: String,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum List {
    Steps,
    ForNew,
}

fn fault<'a>(joint: &Joint<'a>, hole: &Hole<'a>, slip: f64) -> Option<Fault<'a>> {
    // Tightened again after heat, it keeps the steps that it went in by.
    let (_, one) = hole.went_in_at()?;
    if hole.tight != Some(FittedAs::Final) || one.as_ != Some(FittedAs::Final) {
        return None;
    }
    let record = joint.record;
    let (steps, for_new) = (&record.steps, &record.steps_for_new);
    let mut lists: Vec<(List, &[StepText])> = Vec::new();
    if one.new != Some(true) || for_new.is_empty() {
        lists.push((List::Steps, steps));
    }
    if one.new != Some(false) && !for_new.is_empty() {
        lists.push((List::ForNew, for_new));
    }
    let mut faults = Vec::new();
    for (list, steps) in lists {
        let meant: Result<Vec<Step>, _> = steps.iter().map(StepText::step).collect();
        let Ok(meant) = meant else {
            return None;
        };
        let says = if meant.is_empty() { None } else { judge(&meant, one, slip) };
        match says {
            Some(says) => faults.push((list, says)),
            None => return None,
        }
    }
    let (list, says) = faults.into_iter().next()?;
    let done = match &one.steps {
        Some(StepsDone::Each(steps)) => Some(steps.as_slice()),
        _ => None,
    };
    Some(Fault { list, done, says })
}

/// What is wrong with the steps that were done, against those that were meant; nothing if
/// they can't be read.
fn judge(meant: &[Step], one: &Tightening, slip: f64) -> Option<String> {
    let all = meant.len();
    match one.steps.as_ref()? {
        StepsDone::Count(count) => {
            let count = *count as usize;
            if count < all {
                return Some(missing(meant, count));
            }
            let more = format!("is {count} steps, and the joint has {all}");
            (count > all).then_some(more)
        }
        StepsDone::Each(steps) => {
            let done: Vec<Step> = steps.iter().map(StepText::step).collect::<Result<_, _>>().ok()?;
            let loosened = |at: &usize| matches!(done[*at], Step::Loosen);
            let begun = (0..done.len()).filter(loosened).map(|at| at + 1);
            let mut faults = [0].into_iter().chain(begun).map(|from| walk(meant, &done[from..], slip));
            let first = faults.next()??;
            // Begun anew: what went before it was undone.
            if faults.any(|fault| fault.is_none()) { None } else { Some(first) }
        }
    }
}

/// Goes through the steps that were done, beside those that were meant.
fn walk(meant: &[Step], done: &[Step], slip: f64) -> Option<String> {
    let mut at = 0;
    for (number, step) in done.iter().enumerate() {
        let next = meant.get(at);
        if next.is_some_and(|next| is_same(step, next, slip)) {
            at += 1;
            continue;
        }
        let before = at.checked_sub(1).map(|before| &meant[before]);
        let again = matches!(step, Step::Torque(_))
            && before.is_some_and(|before| is_same(step, before, slip));
        if again || next.is_some_and(|next| leads_up(step, next)) {
            continue;
        }
        return Some(match next {
            None => format!("goes on with `{step}` after the last of them"),
            Some(next) => wrong(meant, at, next, &done[number..], slip),
        });
    }
    (at < meant.len()).then(|| missing(meant, at))
}

/// What went wrong where another step was due.
fn wrong(meant: &[Step], at: usize, next: &Step, done: &[Step], slip: f64) -> String {
    let step = &done[0];
    let number = at + 1;
    if meant.get(at + 1).is_some_and(|after| is_both(step, next, after)) {
        return format!("makes one `{step}` of steps {number} and {}", number + 1);
    }
    let later = done.iter().any(|later| is_same(later, next, slip));
    let known = meant.iter().any(|one| is_same(step, one, slip));
    match (next, known) {
        (Step::Loosen | Step::Back(_), _) => {
            format!("passes over step {number}, `{next}`, which takes the load off")
        }
        (_, true) if later => format!("has step {number}, `{next}`, too late"),
        (_, true) => format!("leaves out step {number}, `{next}`"),
        (_, false) => format!("has `{step}` where step {number} is `{next}`"),
    }
}

fn missing(meant: &[Step], at: usize) -> String {
    match &meant[at..] {
        [only] => format!("ends before step {}, `{only}`", at + 1),
        [first, ..] => format!(
            "ends before step {}, `{first}`, and {} more",
            at + 1,
            meant.len() - at - 1
        ),
        [] => String::new(),
    }
}

/// Whether a step that was done is the one that was meant.
fn is_same(done: &Step, meant: &Step, slip: f64) -> bool {
    match (done, meant) {
        (Step::Torque(done), Step::Torque(meant)) => {
            any_printing(done, meant, |done, meant| agrees(done, meant) || is_near(done, meant, slip))
        }
        (Step::Turn(done), Step::Turn(meant)) | (Step::Back(done), Step::Back(meant)) => {
            any_printing(done, meant, agrees)
        }
        // To turn back until nothing holds is to loosen; to loosen is to turn back, and
        // by how much nobody then knows.
        (Step::Loosen, Step::Loosen) => true,
        _ => false,
    }
}

fn any_printing(
    done: &Quantity,
    meant: &Quantity,
    same: impl Fn(&Quantity, &Quantity) -> bool,
) -> bool {
    let all = |one: &Quantity| -> Vec<Quantity> {
        [one].into_iter().chain(one.also()).cloned().collect()
    };
    let (done, meant) = (all(done), all(meant));
    done.iter().any(|done| meant.iter().any(|meant| same(done, meant)))
}

/// Whether a figure is the one that is printed, or lies within it.
fn agrees(done: &Quantity, meant: &Quantity) -> bool {
    let within = |amount: Amount| amount.within(&meant.low(), &meant.high());
    done.rounds_to(meant) || (within(done.low()) == Some(true) && within(done.high()) == Some(true))
}

fn is_near(done: &Quantity, meant: &Quantity, slip: f64) -> bool {
    let Ok(unit) = Unit::read("N·m") else {
        return false;
    };
    let figure = |one: &Quantity| one.nominal().in_unit(unit);
    match (figure(done), figure(meant)) {
        (Some(done), Some(meant)) => (done - meant).abs() <= meant * slip,
        _ => false,
    }
}

/// Whether a torque only leads up to the next one.
fn leads_up(done: &Step, next: &Step) -> bool {
    match (done, next) {
        (Step::Torque(done), Step::Torque(next)) => {
            done.high().compare(&next.low()).is_some_and(Ordering::is_lt)
        }
        _ => false,
    }
}

/// Whether one turn is two of the steps at once.
fn is_both(done: &Step, one: &Step, other: &Step) -> bool {
    let (Step::Turn(done), Step::Turn(one), Step::Turn(other)) = (done, one, other) else {
        return false;
    };
    let Ok(unit) = Unit::read("deg") else {
        return false;
    };
    let degrees = |one: &Quantity| one.nominal().in_unit(unit);
    match (degrees(done), degrees(one), degrees(other)) {
        (Some(done), Some(one), Some(other)) => (done - one - other).abs() < 0.5,
        _ => false,
    }
}

fn finding(cx: &Context<'_>, alike: &Alike<'_, '_, Fault<'_>>) -> Option<Finding> {
    let (joint, hole, fault) = (alike.joint, alike.first, &alike.fault);
    let record = joint.record;
    let (key, steps, called) = match fault.list {
        List::Steps => ("steps", &record.steps, "the joint's steps"),
        List::ForNew => ("steps-for-new", &record.steps_for_new, "the joint's steps for new ones"),
    };
    let listed = |steps: &[StepText]| {
        let texts: Vec<&str> = steps.iter().map(StepText::as_str).collect();
        texts.join(", ")
    };
    let by = match fault.done {
        Some(done) => format!(" by {}", listed(done)),
        None => String::new(),
    };
    let message = alike.told(format!(
        "`{}` is tight for good{by}, and what was done {}; {called} are {}",
        alike.name(),
        fault.says,
        listed(steps)
    ));
    let remedy = "loosen it and go through all the steps in their order by the maker's manual, or write the steps as they were really done, or write it as mock-up until then";
    let (number, _) = hole.went_in_at()?;
    let at = cx.in_hole_at(joint, hole, &["done".into(), number.into(), "steps".into()]);
    let finding = cx.finding_in(at, message, remedy)?;
    Some(
        finding
            .by_claim(hole.claim, Level::Warning)
            .see_at(cx, cx.in_joint_at(joint, &[key.into()]), called),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(steps: &[&str]) -> Vec<StepText> {
        steps.iter().map(|step| StepText((*step).to_owned())).collect()
    }

    fn said(meant: &[&str], done: &[&str]) -> Option<String> {
        let meant: Vec<Step> = meant.iter().map(|step| Step::parse(step).unwrap()).collect();
        let one = Tightening {
            steps: Some(StepsDone::Each(texts(done))),
            ..Tightening::default()
        };
        judge(&meant, &one, 0.06)
    }

    #[test]
    fn what_is_meant_counts_and_not_what_is_written() {
        for (meant, done) in [
            (&["24 N·m"][..], &["18 lb-ft"][..]),
            (&["55 N·m"], &["40 lb-ft"]),
            (&["46 N·m (34 lb-ft)"], &["34 lb-ft"]),
            (&["37–43 N·m"], &["40 N·m"]),
            (&["44 ±10 N·m"], &["36 N·m"]),
            (&["30 N·m", "turn 90 deg"], &["30 N·m", "turn 1/4 turn"]),
            (&["30 N·m", "turn 90 ±5 deg"], &["30 N·m", "turn 92 deg"]),
            // Led up to by lesser ones, and pulled twice.
            (&["30 N·m", "60 N·m"], &["20 N·m", "30 N·m", "45 N·m", "60 N·m", "60 N·m"]),
            // Begun anew, also where the steps themselves loosen.
            (&["25 N·m", "55 N·m"], &["55 N·m", "loosen", "25 N·m", "55 N·m"]),
            (
                &["40 N·m", "loosen", "20 N·m", "turn 90 deg"],
                &["60 N·m", "loosen", "40 N·m", "loosen", "20 N·m", "turn 90 deg"],
            ),
        ] {
            assert_eq!(said(meant, done), None, "{meant:?} {done:?}");
        }
    }

    #[test]
    fn what_was_not_the_makers_order_is_told() {
        for (meant, done, says) in [
            (&["25 N·m", "55 N·m"][..], &["55 N·m"][..], "leaves out step 1, `25 N·m`"),
            (&["25 N·m", "55 N·m"], &["25 N·m"], "ends before step 2, `55 N·m`"),
            (&["25 N·m", "55 N·m"], &["55 N·m", "25 N·m"], "has step 1, `25 N·m`, too late"),
            (&["25 N·m", "55 N·m"], &["25 N·m", "75 N·m"], "has `75 N·m` where step 2 is `55 N·m`"),
            // A turn twice is not a torque twice.
            (
                &["30 N·m", "turn 90 deg"],
                &["30 N·m", "turn 90 deg", "turn 90 deg"],
                "goes on with `turn 90 deg` after the last of them",
            ),
            (
                &["30 N·m", "turn 90 deg", "turn 90 deg"],
                &["30 N·m", "turn 180 deg"],
                "makes one `turn 180 deg` of steps 2 and 3",
            ),
            (
                &["40 N·m", "back 180 deg", "25 N·m"],
                &["40 N·m", "25 N·m"],
                "passes over step 2, `back 180 deg`, which takes the load off",
            ),
            // Let off at the end, and never done again.
            (
                &["25 N·m", "55 N·m"],
                &["25 N·m", "55 N·m", "loosen"],
                "goes on with `loosen` after the last of them",
            ),
            // Begun anew, and not to the end.
            (
                &["25 N·m", "55 N·m"],
                &["25 N·m", "55 N·m", "loosen", "25 N·m"],
                "goes on with `loosen` after the last of them",
            ),
        ] {
            assert_eq!(said(meant, done).as_deref(), Some(says), "{meant:?} {done:?}");
        }
    }
}
