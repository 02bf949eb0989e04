//! What differs between two values, as a tree, and the same as steps of RFC 6902 (JSON
//! Patch) that make the one of the other.
//!
//! A map's keys have no order. The items of a list are put beside each other so that as
//! much as can be stays where it is: an event that was added is one new item, whatever
//! number the others have now. Every difference ends in a leaf, and each leaf has its
//! number, so that whoever tells them in words can be held to telling all.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value};
use similar::{Algorithm, DiffOp, capture_diff_slices};

use super::alike;
use crate::yaml::Step;

/// Longest lists whose items are compared each with each; in longer ones those between
/// two that stayed are paired in their order.
const EACH_WITH_EACH: usize = 64;

/// From this likeness on two items of a list are one that changed.
const SAME_ITEM: f64 = 0.5;

/// The maps whose keys are names that somebody gave, so that one can be another renamed.
pub(super) const NAMED: &[&str] = &["pieces", "places", "joints", "holes", "wires", "options"];

/// What differs between two values.
#[derive(Debug, Clone, PartialEq)]
pub enum Diff {
    /// Here it stands whole: what was, and what is.
    Leaf(Leaf),
    /// Some keys of a map differ; only these, in their order.
    Map(Vec<Changed>),
    /// Some items of a list differ: all of them, in their order.
    List(Vec<Item>),
}

/// A difference that is told whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Leaf {
    /// Its number among those of its record, in their order.
    pub number: usize,
    /// What was there; none for what is new.
    pub was: Option<Value>,
    /// What is there; none for what is gone.
    pub is: Option<Value>,
}

/// A key of a map whose value differs.
#[derive(Debug, Clone, PartialEq)]
pub struct Changed {
    /// The key.
    pub key: String,
    /// What the key was before it got this name; then `diff` may be none.
    pub was_key: Option<String>,
    /// The number of the leaf that the renaming is.
    pub renaming: Option<usize>,
    /// What differs under it.
    pub diff: Option<Diff>,
}

/// An item of a list, before, after, or both.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Its number in the list before.
    pub was: Option<usize>,
    /// Its number in the list after.
    pub is: Option<usize>,
    /// What differs in it; none if it stayed as it was.
    pub diff: Option<Diff>,
}

/// A step that changes a value: an operation of RFC 6902. `was` is what the RFC lets a
/// reader ignore.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// Something new.
    Add {
        /// Where, as a JSON pointer (RFC 6901).
        path: String,
        /// What.
        value: Value,
    },
    /// Something gone.
    Remove {
        /// Where.
        path: String,
        /// What was there.
        was: Value,
    },
    /// Something else.
    Replace {
        /// Where.
        path: String,
        /// What is there now.
        value: Value,
        /// What was there.
        was: Value,
    },
    /// The same under another key.
    Move {
        /// Where it is now.
        path: String,
        /// Where it was.
        from: String,
    },
}

/// Compares two values; none if they are the same, whatever the order of their keys.
#[must_use]
pub fn diff(was: &Value, is: &Value) -> Option<Diff> {
    let mut diff = between("", was, is)?;
    diff.count(&mut 0);
    Some(diff)
}

/// All of a value that is new.
#[must_use]
pub fn new(is: &Value) -> Option<Diff> {
    Some(whole(None, Some(is)))
}

/// All of a value that is gone.
#[must_use]
pub fn gone(was: &Value) -> Option<Diff> {
    Some(whole(Some(was), None))
}

fn whole(was: Option<&Value>, is: Option<&Value>) -> Diff {
    Diff::Leaf(Leaf {
        number: 0,
        was: was.cloned(),
        is: is.cloned(),
    })
}

fn between(key: &str, was: &Value, is: &Value) -> Option<Diff> {
    if was == is {
        return None;
    }
    Some(match (was, is) {
        (Value::Object(was), Value::Object(is)) => Diff::Map(keys(key, was, is)),
        (Value::Array(was), Value::Array(is)) => {
            if same_items(was, is) {
                // Only their order is another: that is one thing to tell.
                whole(
                    Some(&Value::Array(was.clone())),
                    Some(&Value::Array(is.clone())),
                )
            } else {
                Diff::List(items(was, is))
            }
        }
        _ => whole(Some(was), Some(is)),
    })
}

fn keys(name: &str, was: &Map<String, Value>, is: &Map<String, Value>) -> Vec<Changed> {
    let mut changed = Vec::new();
    let mut renamed: BTreeMap<&str, &str> = BTreeMap::new();
    if NAMED.contains(&name) {
        let gone = was.iter().filter(|(key, _)| !is.contains_key(*key));
        let new = is.iter().filter(|(key, _)| !was.contains_key(*key));
        let gone: Vec<(&str, &Value)> = gone.map(|(key, value)| (key.as_str(), value)).collect();
        let new: Vec<(&str, &Value)> = new.map(|(key, value)| (key.as_str(), value)).collect();
        for (from, to) in alike::pairs(&gone, &new, |_, _| false) {
            renamed.insert(new[to].0, gone[from].0);
        }
    }
    let left: BTreeSet<&str> = renamed.values().copied().collect();
    for (key, before) in was {
        if !is.contains_key(key) && !left.contains(key.as_str()) {
            changed.push(Changed {
                key: key.clone(),
                was_key: None,
                renaming: None,
                diff: Some(whole(Some(before), None)),
            });
        }
    }
    for (key, after) in is {
        let was_key = renamed.get(key.as_str()).copied();
        let before = was.get(was_key.unwrap_or(key));
        let diff = match before {
            Some(before) => between(key, before, after),
            None => Some(whole(None, Some(after))),
        };
        if diff.is_some() || was_key.is_some() {
            changed.push(Changed {
                key: key.clone(),
                was_key: was_key.map(str::to_owned),
                renaming: None,
                diff,
            });
        }
    }
    changed.sort_by(|a, b| a.key.cmp(&b.key));
    changed
}

/// Whether two lists hold the same items, in whatever order.
fn same_items(was: &[Value], is: &[Value]) -> bool {
    let sorted = |items: &[Value]| {
        let mut texts: Vec<String> = items.iter().map(alike::text_of).collect();
        texts.sort_unstable();
        texts
    };
    was.len() == is.len() && sorted(was) == sorted(is)
}

fn items(was: &[Value], is: &[Value]) -> Vec<Item> {
    let texts = |items: &[Value]| items.iter().map(alike::text_of).collect::<Vec<_>>();
    let (old, new) = (texts(was), texts(is));
    let mut all = Vec::new();
    for op in capture_diff_slices(Algorithm::Myers, &old, &new) {
        match op {
            DiffOp::Equal {
                old_index,
                new_index,
                len,
            } => all.extend((0..len).map(|at| Item {
                was: Some(old_index + at),
                is: Some(new_index + at),
                diff: None,
            })),
            DiffOp::Delete {
                old_index, old_len, ..
            } => all.extend((old_index..old_index + old_len).map(|at| item_gone(was, at))),
            DiffOp::Insert {
                new_index, new_len, ..
            } => all.extend((new_index..new_index + new_len).map(|at| item_new(is, at))),
            DiffOp::Replace {
                old_index,
                old_len,
                new_index,
                new_len,
            } => between_two_that_stayed(
                (was, old_index, old_len),
                (is, new_index, new_len),
                &mut all,
            ),
        }
    }
    all
}

fn item_gone(was: &[Value], at: usize) -> Item {
    Item {
        was: Some(at),
        is: None,
        diff: Some(whole(Some(&was[at]), None)),
    }
}

fn item_new(is: &[Value], at: usize) -> Item {
    Item {
        was: None,
        is: Some(at),
        diff: Some(whole(None, Some(&is[at]))),
    }
}

/// Pairs the items of one stretch where nothing stayed, without crossing, so that the
/// likeness of all pairs together is greatest.
fn between_two_that_stayed(
    (was, first_was, many_was): (&[Value], usize, usize),
    (is, first_is, many_is): (&[Value], usize, usize),
    all: &mut Vec<Item>,
) {
    let like = |a: usize, b: usize| {
        let (a, b) = (&was[first_was + a], &is[first_is + b]);
        match (a, b) {
            (Value::Object(_), Value::Object(_)) => {
                let like = alike::likeness(a, b);
                if like >= SAME_ITEM { like } else { 0.0 }
            }
            (Value::Array(_), Value::Array(_)) => 1.0,
            // Of two texts in one stretch the one took the other's place.
            (a, b) if !(a.is_object() || a.is_array() || b.is_object() || b.is_array()) => 0.75,
            _ => 0.0,
        }
    };
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    if many_was.max(many_is) > EACH_WITH_EACH {
        pairs.extend((0..many_was.min(many_is)).map(|at| (at, at)));
        pairs.retain(|(a, b)| like(*a, *b) > 0.0);
    } else {
        let mut best = vec![vec![0.0_f64; many_is + 1]; many_was + 1];
        for a in (0..many_was).rev() {
            for b in (0..many_is).rev() {
                let own = like(a, b);
                let with = if own > 0.0 {
                    own + best[a + 1][b + 1]
                } else {
                    0.0
                };
                best[a][b] = with.max(best[a + 1][b]).max(best[a][b + 1]);
            }
        }
        let (mut a, mut b) = (0, 0);
        while a < many_was && b < many_is {
            let own = like(a, b);
            if own > 0.0 && own + best[a + 1][b + 1] >= best[a][b] {
                pairs.push((a, b));
                a += 1;
                b += 1;
            } else if best[a + 1][b] >= best[a][b + 1] {
                a += 1;
            } else {
                b += 1;
            }
        }
    }
    let (mut a, mut b) = (0, 0);
    for (pair_a, pair_b) in pairs.into_iter().chain([(many_was, many_is)]) {
        all.extend((a..pair_a).map(|at| item_gone(was, first_was + at)));
        all.extend((b..pair_b).map(|at| item_new(is, first_is + at)));
        if pair_a < many_was {
            let (old, new) = (first_was + pair_a, first_is + pair_b);
            all.push(Item {
                was: Some(old),
                is: Some(new),
                diff: between("", &was[old], &is[new]),
            });
        }
        (a, b) = (pair_a + 1, pair_b + 1);
    }
}

impl Diff {
    /// Numbers the leaves in their order.
    fn count(&mut self, next: &mut usize) {
        match self {
            Self::Leaf(leaf) => {
                leaf.number = *next;
                *next += 1;
            }
            Self::Map(changed) => {
                for one in changed {
                    if one.was_key.is_some() {
                        one.renaming = Some(*next);
                        *next += 1;
                    }
                    if let Some(diff) = &mut one.diff {
                        diff.count(next);
                    }
                }
            }
            Self::List(items) => {
                for diff in items.iter_mut().filter_map(|item| item.diff.as_mut()) {
                    diff.count(next);
                }
            }
        }
    }

    /// The numbers of all leaves in it, renamings among them.
    #[must_use]
    pub fn numbers(&self) -> Vec<usize> {
        match self {
            Self::Leaf(leaf) => vec![leaf.number],
            Self::Map(changed) => changed.iter().flat_map(Changed::numbers).collect(),
            Self::List(items) => {
                let inner = items.iter().filter_map(|item| item.diff.as_ref());
                inner.flat_map(Self::numbers).collect()
            }
        }
    }

    /// Whether the leaf of this number is the renaming of a key.
    #[must_use]
    pub fn is_renaming(&self, number: usize) -> bool {
        match self {
            Self::Leaf(_) => false,
            Self::Map(changed) => changed.iter().any(|one| {
                let inner = one.diff.as_ref();
                one.renaming == Some(number) || inner.is_some_and(|diff| diff.is_renaming(number))
            }),
            Self::List(items) => {
                let mut inner = items.iter().filter_map(|item| item.diff.as_ref());
                inner.any(|diff| diff.is_renaming(number))
            }
        }
    }

    /// What differs under a key of a map.
    #[must_use]
    pub fn under(&self, key: &str) -> Option<&Changed> {
        let Self::Map(changed) = self else {
            return None;
        };
        changed.iter().find(|one| one.key == key)
    }

    /// What differs at the end of a way: keys of maps by their names after, items of lists
    /// by their numbers after.
    #[must_use]
    pub fn at(&self, way: &[Step]) -> Option<&Self> {
        way.iter().try_fold(self, |diff, step| match (step, diff) {
            (Step::Key(key), diff) => diff.under(key)?.diff.as_ref(),
            (Step::Index(number), Self::List(items)) => {
                let item = items.iter().find(|item| item.is == Some(*number))?;
                item.diff.as_ref()
            }
            _ => None,
        })
    }

    /// The keys of a map that differ; none where it is no map.
    #[must_use]
    pub fn changed(&self) -> &[Changed] {
        match self {
            Self::Map(changed) => changed,
            _ => &[],
        }
    }

    /// The items of a list; none where it is no list.
    #[must_use]
    pub fn items(&self) -> &[Item] {
        match self {
            Self::List(items) => items,
            _ => &[],
        }
    }

    /// The steps that make the one value of the other, to be taken one after another.
    #[must_use]
    pub fn edits(&self) -> Vec<Edit> {
        let mut edits = Vec::new();
        self.write("", &mut edits);
        edits
    }

    fn write(&self, path: &str, edits: &mut Vec<Edit>) {
        match self {
            Self::Leaf(leaf) => {
                let path = path.to_owned();
                match (leaf.was.clone(), leaf.is.clone()) {
                    (Some(was), Some(value)) => edits.push(Edit::Replace { path, value, was }),
                    (Some(was), None) => edits.push(Edit::Remove { path, was }),
                    (None, Some(value)) => edits.push(Edit::Add { path, value }),
                    (None, None) => {}
                }
            }
            Self::Map(changed) => {
                for one in changed {
                    let inner = pointer(path, &one.key);
                    if let Some(was) = &one.was_key {
                        edits.push(Edit::Move {
                            path: inner.clone(),
                            from: pointer(path, was),
                        });
                    }
                    if let Some(diff) = &one.diff {
                        diff.write(&inner, edits);
                    }
                }
            }
            Self::List(items) => {
                // What stands before is as it will be already, so the numbers are those after.
                let mut at = 0;
                for item in items {
                    if let Some(diff) = &item.diff {
                        diff.write(&format!("{path}/{at}"), edits);
                    }
                    at += usize::from(item.is.is_some());
                }
            }
        }
    }
}

impl Changed {
    /// The numbers of all leaves under the key, its renaming among them.
    #[must_use]
    pub fn numbers(&self) -> Vec<usize> {
        let inner = self.diff.as_ref().map(Diff::numbers).unwrap_or_default();
        self.renaming.into_iter().chain(inner).collect()
    }
}

/// A JSON pointer and one key more (RFC 6901).
fn pointer(path: &str, key: &str) -> String {
    format!("{path}/{}", key.replace('~', "~0").replace('/', "~1"))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn an_event_more_is_one_leaf() {
        let was = json!({"fitted": [{"as": "mock-up", "when": "2026-03-01"}]});
        let is = json!({"fitted": [
            {"as": "mock-up", "when": "2026-03-01", "until": "2026-03-02"},
            {"as": "final", "when": "2026-03-03"},
        ]});
        let found = diff(&was, &is).unwrap();
        assert_eq!(found.numbers(), [0, 1]);
        let paths: Vec<Edit> = found.edits();
        assert_eq!(
            paths,
            [
                Edit::Add {
                    path: "/fitted/0/until".into(),
                    value: json!("2026-03-02"),
                },
                Edit::Add {
                    path: "/fitted/1".into(),
                    value: json!({"as": "final", "when": "2026-03-03"}),
                },
            ]
        );
    }

    #[test]
    fn a_mark_that_changed_is_a_piece_renamed() {
        let piece = json!({"donor": "pell-van", "condition": "scrap", "because": "cracked"});
        let was = json!({"pieces": {"P1": piece}});
        let is = json!({"pieces": {"P9": piece}});
        let found = diff(&was, &is).unwrap();
        assert_eq!(
            found.edits(),
            [Edit::Move {
                path: "/pieces/P9".into(),
                from: "/pieces/P1".into(),
            }]
        );
        assert_eq!(found.numbers(), [0]);
    }

    #[test]
    fn the_order_of_keys_is_no_change() {
        let was: Value = serde_json::from_str(r#"{"a": 1, "b": [1, 2]}"#).unwrap();
        let is: Value = serde_json::from_str(r#"{"b": [1, 2], "a": 1}"#).unwrap();
        assert_eq!(diff(&was, &is), None);
    }
}
