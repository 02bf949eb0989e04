//! Holes of one joint with one and the same fault: one finding for all of them, at the
//! first, with the others named. Ten bolts put in on one evening are one slip.

use std::cmp::Ordering;

use super::Context;
use crate::model::common::FittedAs;
use crate::model::job::JobKind;
use crate::near::{in_order, spoken};
use crate::present::Present;
use crate::present::joints::{Hole, Joint};
use crate::present::uses::{Which, Worn};

/// Holes of one joint with one and the same fault.
#[derive(Debug)]
pub struct Alike<'p, 'a, F> {
    /// The joint.
    pub joint: &'p Joint<'a>,
    /// The first of the holes, by name: the finding stands there.
    pub first: &'p Hole<'a>,
    /// What is wrong with them.
    pub fault: F,
    /// The other holes.
    pub others: Vec<&'p Hole<'a>>,
}

/// How many faults of one joint, all unlike, another is compared with.
const LATEST: usize = 64;

/// Judges the holes of a joint. What is judged alike comes together, so a fault holds just
/// what its message says; what may differ from hole to hole is left out of it.
pub fn alike<'p, 'a, F: PartialEq>(
    joint: &'p Joint<'a>,
    mut judge: impl FnMut(&'p Hole<'a>) -> Option<F>,
) -> Vec<Alike<'p, 'a, F>> {
    let mut all: Vec<Alike<'p, 'a, F>> = Vec::new();
    let mut holes: Vec<&Hole<'a>> = joint.holes.iter().collect();
    holes.sort_by(|a, b| order(a, b));
    for hole in holes {
        let Some(fault) = judge(hole) else {
            continue;
        };
        let mut latest = all.iter_mut().rev().take(LATEST);
        match latest.find(|alike| alike.fault == fault) {
            Some(alike) => alike.others.push(hole),
            None => all.push(Alike {
                joint,
                first: hole,
                fault,
                others: Vec::new(),
            }),
        }
    }
    all
}

fn order(a: &Hole<'_>, b: &Hole<'_>) -> Ordering {
    in_order(a.name, b.name)
}

impl<F> Alike<'_, '_, F> {
    /// What the first hole is called from outside: `engine/bracket/top`.
    #[must_use]
    pub fn name(&self) -> String {
        name(self.joint, self.first)
    }

    /// A message about the first hole, with the others named behind it.
    #[must_use]
    pub fn told(&self, message: impl Into<String>) -> String {
        let others: Vec<&str> = self.others.iter().map(|hole| hole.name).collect();
        and_others(message.into(), &others)
    }
}

/// What a hole is called from outside: `engine/bracket/top`.
#[must_use]
pub fn name(joint: &Joint<'_>, hole: &Hole<'_>) -> String {
    format!("{}/{}", joint.name, hole.name)
}

/// A message about the first of several, with the others named behind it; of many only the
/// first few.
#[must_use]
pub fn and_others(message: String, others: &[&str]) -> String {
    const MOST: usize = 12;
    let named = match others {
        [] => return message,
        few if few.len() <= MOST => spoken(few, "and"),
        many => {
            let more = format!("{} more", many.len() - MOST);
            let few: Vec<&str> = many[..MOST].iter().copied().chain([&*more]).collect();
            spoken(&few, "and")
        }
    };
    format!("{message}; the same at {named}")
}

/// How a hole stands, in a message: `is tight for good`. Where it counts as final because
/// something is closed over it, that is said, or nobody would see why mock-up is an error.
#[must_use]
pub fn how(present: &Present<'_>, joint: &Joint<'_>, hole: &Hole<'_>) -> String {
    let closed_by = present.assemblies[joint.assembly].closed_by;
    match (hole.tight, closed_by) {
        (None, _) => "is not tight".to_owned(),
        (Some(FittedAs::Final), _) => "is tight for good".to_owned(),
        (Some(FittedAs::MockUp), None) => "is tight for mock-up".to_owned(),
        (Some(FittedAs::MockUp), Some(by)) => {
            let by = present.assemblies[by].id;
            format!("is tight for mock-up, with {by} closed over it")
        }
    }
}

impl<'a> Context<'a> {
    /// By what it is told, if by anything, that what is in a hole was used before it went in.
    #[must_use]
    pub fn worn(&self, joint: &Joint<'a>, hole: &Hole<'a>, which: Which) -> Option<Worn<'a>> {
        let least = hole.now_in(which)?.record.spent_by();
        hole.worn(joint, which, least, |now, before| {
            self.is_other(now, before)
        })
    }

    /// Whether a batch brings other hardware than was there before. What came back from the
    /// plater is what was sent there.
    #[must_use]
    pub fn is_other(&self, now: &str, before: Option<&str>) -> bool {
        let job = self.folder.model.job.get(now);
        let sent_out = job.is_some_and(|job| job.data.kind == Some(JobKind::SendOut));
        !sent_out && before != Some(now)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_others_are_named_up_to_a_dozen() {
        let told = |others: &[&str]| and_others("`a/b/1` is loose".to_owned(), others);
        assert_eq!(told(&[]), "`a/b/1` is loose");
        assert_eq!(told(&["2"]), "`a/b/1` is loose; the same at 2");
        assert_eq!(
            told(&["2", "3", "10"]),
            "`a/b/1` is loose; the same at 2, 3 and 10"
        );
        assert_eq!(
            told(&["x"; 14]),
            "`a/b/1` is loose; the same at x, x, x, x, x, x, x, x, x, x, x, x and 2 more"
        );
    }
}
