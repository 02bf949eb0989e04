//! Which number may be used where another is asked for, each in its own direction.
//!
//! A maker's successors are followed from one to the next. That one number may stand for
//! another is somebody's word on these two, so it holds for one step only: from "A for B"
//! and "B for C" does not follow "A for C".

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use crate::model::Record;
use crate::model::part::{Interchange, InterchangeWay, Part};

/// That one number may be used where another is asked for.
#[derive(Debug, Clone, Copy)]
pub struct Step<'a> {
    /// The number that is used.
    pub used: &'a str,
    /// The number that is asked for.
    pub asked: &'a str,
    /// What says so.
    pub says: &'a Interchange,
    /// The part whose record says so.
    pub part: &'a str,
    /// The key under `also` in that record.
    pub key: &'a str,
    /// Whether the maker put the one in the other's stead.
    pub succeeds: bool,
}

/// How one number stands to another that is asked for.
#[derive(Debug, Clone)]
pub enum Stand<'a> {
    /// It is the same.
    Same,
    /// It may be used, by these steps from the number used to the one asked for.
    ByWayOf(Vec<Step<'a>>),
    /// It may not, but the other may be used where this one is asked for.
    OnlyTheOtherWay(Step<'a>),
    /// Nothing says that it may.
    Nothing,
}

/// Which number may be used for which other.
#[derive(Debug, Clone, Default)]
pub struct Interchanges<'a> {
    by_used: BTreeMap<&'a str, Vec<Step<'a>>>,
}

impl<'a> Interchanges<'a> {
    /// What the parts say of each other's numbers.
    #[must_use]
    pub fn of(parts: &'a BTreeMap<String, Record<Part>>) -> Self {
        let mut all = Self::default();
        for (id, record) in parts {
            let Some(own) = record.data.number.as_ref().map(|number| number.as_str()) else {
                continue;
            };
            for (other, says) in &record.data.also {
                let mut add = |used: &'a str, asked: &'a str, succeeds| {
                    all.by_used.entry(used).or_default().push(Step {
                        used,
                        asked,
                        says,
                        part: id,
                        key: other,
                        succeeds,
                    });
                };
                match says.way {
                    Some(InterchangeWay::MayStandForIt) => add(other, own, false),
                    Some(InterchangeWay::ItMayStandFor) => add(own, other, false),
                    Some(InterchangeWay::EitherWay) => {
                        add(other, own, false);
                        add(own, other, false);
                    }
                    Some(InterchangeWay::Replaces) => add(other, own, true),
                    Some(InterchangeWay::ReplacedBy) => add(own, other, true),
                    None => {}
                }
            }
        }
        all
    }

    /// How a number stands to another that is asked for: the shortest way, of those whose
    /// every step `holds`.
    pub fn stand(
        &self,
        used: &str,
        asked: &str,
        mut holds: impl FnMut(&Step<'a>) -> bool,
    ) -> Stand<'a> {
        if used == asked {
            return Stand::Same;
        }
        if let Some(steps) = self.way(used, asked, &mut holds) {
            return Stand::ByWayOf(steps);
        }
        let back = self.way(asked, used, &mut holds);
        match back.and_then(|steps| steps.first().copied()) {
            Some(step) => Stand::OnlyTheOtherWay(step),
            None => Stand::Nothing,
        }
    }

    fn way(
        &self,
        used: &str,
        asked: &str,
        holds: &mut impl FnMut(&Step<'a>) -> bool,
    ) -> Option<Vec<Step<'a>>> {
        let first = self.by_used.get_key_value(used)?.0;
        let mut seen: BTreeSet<(&str, bool)> = BTreeSet::from([(*first, false)]);
        // Each step with the one before it: long rows of successors are never copied.
        let mut steps: Vec<(Step<'a>, Option<usize>)> = Vec::new();
        let mut queue: VecDeque<(&str, bool, Option<usize>)> =
            VecDeque::from([(*first, false, None)]);
        while let Some((at, stood, before)) = queue.pop_front() {
            for step in self.by_used.get(at).into_iter().flatten() {
                let stands = stood || !step.succeeds;
                if (stood && !step.succeeds) || !holds(step) || !seen.insert((step.asked, stands)) {
                    continue;
                }
                steps.push((*step, before));
                let last = steps.len() - 1;
                if step.asked == asked {
                    let back = |at: &usize| steps[*at].1;
                    let mut way: Vec<Step<'a>> = std::iter::successors(Some(last), back)
                        .map(|at| steps[at].0)
                        .collect();
                    way.reverse();
                    return Some(way);
                }
                queue.push_back((step.asked, stands, Some(last)));
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parts() -> BTreeMap<String, Record<Part>> {
        let yaml = serde_json::json!({
            "a": {"name": "A", "number": "A", "also": {
                "B": {"way": "replaces it"},
                "S": {"way": "may stand for it"}}},
            "b": {"name": "B", "number": "B", "also": {
                "C": {"way": "replaces it"},
                "X": {"way": "it may stand for"},
                "E": {"way": "either way", "only-with": {"ignition": "distributor"}}}},
            "s": {"name": "S", "number": "S", "also": {"T": {"way": "may stand for it"}}},
        });
        let all: BTreeMap<String, Part> = serde_json::from_value(yaml).unwrap();
        all.into_iter()
            .map(|(id, data)| {
                (
                    id,
                    Record {
                        data: std::sync::Arc::new(data),
                        file: 0,
                    },
                )
            })
            .collect()
    }

    fn may(used: &str, asked: &str, with: bool) -> bool {
        let parts = parts();
        let all = Interchanges::of(&parts);
        let holds = |step: &Step<'_>| with || step.says.only_with.is_empty();
        matches!(
            all.stand(used, asked, holds),
            Stand::Same | Stand::ByWayOf(_)
        )
    }

    #[test]
    fn each_way_by_itself() {
        assert!(may("A", "A", false));
        assert!(may("B", "A", false), "the successor may be used");
        assert!(!may("A", "B", false), "but not the forerunner");
        assert!(may("C", "A", false), "successors are followed");
        assert!(may("S", "A", false), "stands for it");
        assert!(!may("A", "S", false), "not the other way");
        assert!(may("B", "X", false), "it may stand for");
        assert!(!may("X", "B", false), "not the other way");
        assert!(may("C", "X", false), "a successor of what may stand");
        assert!(!may("T", "A", false), "two plain steps do not chain");
        assert!(may("T", "S", false));
        assert!(!may("E", "B", false), "its condition does not hold");
        assert!(may("E", "B", true) && may("B", "E", true), "either way");
        assert!(may("E", "A", true), "it stands for the successor");
    }

    #[test]
    fn the_other_way_is_told_apart() {
        let parts = parts();
        let all = Interchanges::of(&parts);
        assert!(matches!(
            all.stand("A", "B", |_| true),
            Stand::OnlyTheOtherWay(step) if step.part == "a"
        ));
        assert!(matches!(all.stand("A", "Q", |_| true), Stand::Nothing));
    }
}
