//! How often hardware was used, as far as its hole tells: what a tightening did to a bolt,
//! and whether what is in the hole now is what was in it before.

use std::cmp::Ordering;

use super::joints::{Hardware, Hole, Joint};
use super::{date, hardware};
use crate::model::assembly::{StepsDone, Tightening};
use crate::model::common::{Day, FittedAs, Newness, StepText};
use crate::model::fastener::{Fastener, Locking};
use crate::reckon::quantity::Quantity;
use crate::reckon::step::Step;
use crate::reckon::unit::Amount;

/// How hard something was tightened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pull {
    /// By hand: nothing says more.
    Hand,
    /// With a torque on it, and not the whole.
    Part,
    /// Through an angle, or to its last torque.
    Whole,
}

/// The two that a hole may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// The bolt, the screw or the stud.
    Bolt,
    /// The nut on it.
    Nut,
}

/// By what it is told that something was used before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Worn<'a> {
    /// It was tightened in this hole before, and nothing says that another went in.
    Here(Option<&'a Day>),
    /// It is said that it was not new.
    NotNew,
    /// All of its sort are used ones.
    AllUsed,
}

impl Fastener {
    /// Whether it can be used once only: because that is said, or because it stretches and
    /// nothing else is said.
    #[must_use]
    pub fn is_for_once(&self) -> bool {
        self.once.unwrap_or(self.stretch == Some(true))
    }

    /// How hard it must have been tightened to be used up. What stretches does so only in
    /// the end; a coating or a squeezed thread has gone round before.
    #[must_use]
    pub fn spent_by(&self) -> Pull {
        if self.stretch == Some(true) && self.locking.is_none() {
            Pull::Whole
        } else {
            Pull::Part
        }
    }

    /// Whether it holds itself by something that wears when it is undone: a nylon ring, a
    /// squeezed thread, a coating. What is renewed or bent over by itself is no such thing.
    #[must_use]
    pub fn locks_itself(&self) -> bool {
        matches!(
            self.locking,
            Some(Locking::Nylon | Locking::AllMetal | Locking::PreCoated)
        )
    }
}

impl<'a> Joint<'a> {
    /// The steps that a tightening had to go through: those for new ones where they were
    /// new and the joint has such.
    #[must_use]
    pub fn steps_of(&self, one: &Tightening) -> &'a [StepText] {
        if one.new == Some(true) && !self.record.steps_for_new.is_empty() {
            &self.record.steps_for_new
        } else {
            &self.record.steps
        }
    }

    /// The greatest torque that a tightening was to come to, and as it is written: of a
    /// joint with no steps what the wrench was set to.
    #[must_use]
    pub fn last_torque(&self, one: &'a Tightening) -> Option<(Quantity, &'a str)> {
        let steps = self.steps_of(one);
        let last =
            hardware::greatest(steps).map(|(number, torque)| (torque, steps[number].as_str()));
        last.or_else(|| {
            let set = one.set.as_ref()?;
            Some((set.quantity().ok()?, set.as_str()))
        })
    }

    /// How hard a tightening was.
    #[must_use]
    pub fn pull(&self, one: &Tightening) -> Pull {
        let meant = read(self.steps_of(one));
        let turns = |steps: &[Step]| steps.iter().any(|step| matches!(step, Step::Turn(_)));
        let done: Vec<Step> = match &one.steps {
            Some(StepsDone::Count(count)) => {
                let count = usize::try_from(*count).unwrap_or(usize::MAX);
                if count > 0 && count >= meant.len() {
                    // Of a joint with no steps nobody can say how many there are.
                    return if meant.is_empty() {
                        Pull::Part
                    } else {
                        Pull::Whole
                    };
                }
                meant.iter().take(count).cloned().collect()
            }
            Some(StepsDone::Each(steps)) => read(steps),
            None => Vec::new(),
        };
        if turns(&done) {
            return Pull::Whole;
        }
        let set = one.set.as_ref().and_then(|set| set.quantity().ok());
        let reached = greatest(&done).into_iter().chain(set.map(|set| set.high()));
        let reached = reached.max_by(|a, b| a.compare(b).unwrap_or(Ordering::Equal));
        let says_nothing = one.steps.is_none() && one.set.is_none();
        match (reached, greatest(&meant)) {
            (Some(reached), Some(last))
                if !turns(&meant) && reached.compare(&last).is_some_and(Ordering::is_ge) =>
            {
                Pull::Whole
            }
            (Some(_), _) => Pull::Part,
            (None, _) if says_nothing && one.as_ == Some(FittedAs::Final) => Pull::Whole,
            (None, _) => Pull::Hand,
        }
    }
}

/// The steps that can be read.
fn read(steps: &[StepText]) -> Vec<Step> {
    steps.iter().filter_map(|step| step.step().ok()).collect()
}

/// The greatest torque among steps, the least that each allows.
fn greatest(steps: &[Step]) -> Option<Amount> {
    let torques = steps.iter().filter_map(|step| match step {
        Step::Torque(torque) => Some(torque.low()),
        Step::Turn(_) | Step::Back(_) | Step::Loosen => None,
    });
    torques.max_by(|a, b| a.compare(b).unwrap_or(Ordering::Equal))
}

impl<'a> Hole<'a> {
    /// When what is in it now went in, and its number among `done`: a re-tightening is no
    /// new use.
    #[must_use]
    pub fn went_in_at(&self) -> Option<(usize, &'a Tightening)> {
        self.standing?;
        let all = self.record.by_day();
        let fresh = all.iter().rev().find(|(_, one)| one.again != Some(true));
        fresh.or(all.first()).copied()
    }

    /// What is in it now, if it was tightened.
    #[must_use]
    pub fn now_in(&self, which: Which) -> Option<Hardware<'a>> {
        self.standing?;
        match which {
            Which::Bolt => self.went_in,
            Which::Nut => self.nut,
        }
    }

    /// The last time before that the very same was tightened in it, at least so hard;
    /// `is_other` says of two batches whether the first brings other hardware than the second.
    #[must_use]
    pub fn before(
        &self,
        joint: &Joint<'a>,
        which: Which,
        least: Pull,
        is_other: impl Fn(&str, Option<&str>) -> bool,
    ) -> Option<(usize, &'a Tightening)> {
        let id = self.now_in(which)?.id;
        let (began, now) = self.went_in_at()?;
        let record = self.record;
        let batch = |one: &'a Tightening| one.hardware.as_ref().map(|batch| batch.as_str());
        let all = record.by_day().into_iter().rev();
        let mut earlier = all.skip_while(|(number, _)| *number != began).skip(1);
        earlier.find(|(_, one)| {
            let other = match which {
                Which::Bolt => one.fastener.as_ref().or(record.calls_for.as_ref()),
                Which::Nut => one.then.as_ref().or(record.then.as_ref()),
            };
            other.is_some_and(|other| other.as_str() == id)
                && joint.pull(one) >= least
                && !self.is_begun(joint, one, now)
                && !batch(now).is_some_and(|now| is_other(now, batch(one)))
        })
    }

    /// Whether a tightening only began what a later one went on with: it was in part, for
    /// mock-up, and nothing says that it was loosened or that something came off in between.
    fn is_begun(&self, joint: &Joint<'a>, one: &Tightening, later: &Tightening) -> bool {
        let day = one.when.as_ref().and_then(date);
        let undisturbed = self
            .last_off
            .is_none_or(|off| day.is_some_and(|day| off < day));
        one.until.is_none()
            && one.as_ == Some(FittedAs::MockUp)
            && joint.pull(one) < joint.pull(later)
            && undisturbed
    }

    /// By what it is told, if by anything, that what is in it was used before it went in.
    #[must_use]
    pub fn worn(
        &self,
        joint: &Joint<'a>,
        which: Which,
        least: Pull,
        is_other: impl Fn(&str, Option<&str>) -> bool,
    ) -> Option<Worn<'a>> {
        let hardware = self.now_in(which)?;
        let (_, first) = self.went_in_at()?;
        let (_, last) = self.standing?;
        let new = |one: &Tightening| match which {
            Which::Bolt => one.new,
            Which::Nut => one.new_nut.or(one.new),
        };
        match new(first).or(new(last)) {
            Some(true) => return None,
            Some(false) => return Some(Worn::NotNew),
            None => {}
        }
        if let Some((_, before)) = self.before(joint, which, least, is_other) {
            return Some(Worn::Here(before.when.as_ref()));
        }
        (hardware.record.newness == Some(Newness::Used)).then_some(Worn::AllUsed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::assembly;

    fn pull(steps: &str, one: &str) -> Pull {
        let record: assembly::Joint =
            serde_json::from_str(&format!(r#"{{"steps": {steps}}}"#)).unwrap();
        let joint = Joint {
            name: "engine/head-bolts".to_owned(),
            assembly: 0,
            key: "head-bolts",
            record: &record,
            holes: Vec::new(),
        };
        joint.pull(&serde_json::from_str(one).unwrap())
    }

    #[test]
    fn a_bolt_is_pulled_as_far_as_the_record_says() {
        let stretch = r#"["30 N·m", "turn 90 deg", "turn 90 deg"]"#;
        let plain = r#"["25 N·m", "55 N·m"]"#;
        for (steps, one, is) in [
            (stretch, r#"{"as": "mock-up"}"#, Pull::Hand),
            (stretch, r#"{"as": "mock-up", "steps": 0}"#, Pull::Hand),
            (stretch, r#"{"as": "mock-up", "steps": 1}"#, Pull::Part),
            (stretch, r#"{"as": "mock-up", "set": "30 N·m"}"#, Pull::Part),
            (stretch, r#"{"as": "mock-up", "steps": 2}"#, Pull::Whole),
            (
                stretch,
                r#"{"as": "mock-up", "steps": ["20 N·m", "turn 45 deg"]}"#,
                Pull::Whole,
            ),
            (stretch, r#"{"as": "final"}"#, Pull::Whole),
            (stretch, r#"{"as": "final", "steps": 1}"#, Pull::Part),
            (plain, r#"{"as": "mock-up", "steps": 1}"#, Pull::Part),
            (
                plain,
                r#"{"as": "mock-up", "set": "40.6 lb-ft"}"#,
                Pull::Whole,
            ),
            (plain, r#"{"as": "mock-up", "set": "24 lb-ft"}"#, Pull::Part),
            (
                plain,
                r#"{"as": "mock-up", "steps": ["55 N·m"]}"#,
                Pull::Whole,
            ),
            ("[]", r#"{"as": "mock-up", "steps": 2}"#, Pull::Part),
        ] {
            assert_eq!(pull(steps, one), is, "{steps} {one}");
        }
    }
}
