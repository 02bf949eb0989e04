//! The order of what two sides put, moved and took out in one row of things.
//!
//! What neither side moved stands as it stood. What a side added or moved comes behind the
//! same neighbour as there; where both put something at one spot, each side's run stays
//! together. Nothing hangs on which side is called ours.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;
use similar::{Algorithm, DiffOp, capture_diff_slices};

use super::Three;
use crate::changes::alike;

/// From this likeness on an item of a list is another one changed; at just this, half of
/// what it says is another, and nobody could tell.
const SAME_ITEM: f64 = 0.5;

/// Longest stretches of a list whose items are compared each with each.
const EACH_WITH_EACH: usize = 64;

/// What tells a thing in a row from the others.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Id {
    /// A key.
    Key(String),
    /// An item of the list that both sides began from.
    Item(usize),
    /// Another item, by all that it says; the how-manieth that says so.
    New {
        /// Its day, where it has one.
        when: Option<String>,
        /// All of it.
        says: String,
        /// Which of those that say the same.
        number: usize,
    },
    /// A comment that belongs to nothing, by its text; the how-manieth of it.
    Note(String, usize),
}

/// The merged row. `lives` says what stays of it.
pub(super) fn woven(rows: &Three<Vec<Id>>, lives: impl Fn(&Id) -> bool) -> Vec<Id> {
    let places = Places::of(rows);
    let mut all: Vec<Id> = Vec::new();
    let mut seen = BTreeSet::new();
    let mut put = |id: &Id, all: &mut Vec<Id>| {
        if seen.insert(id.clone()) {
            all.push(id.clone());
        }
    };
    let anchors = std::iter::once(None).chain(places.fixed.iter().map(Some));
    for anchor in anchors {
        if let Some(anchor) = anchor {
            put(anchor, &mut all);
        }
        let run = |runs: &Runs| -> Vec<Id> {
            let run = runs.get(&anchor.cloned()).cloned().unwrap_or_default();
            run.into_iter().filter(|id| lives(id)).collect()
        };
        for id in together(run(&places.ours), run(&places.theirs)) {
            put(&id, &mut all);
        }
    }
    all.retain(|id| lives(id));
    all
}

/// Whether both sides took out the same item and put in different ones there: nobody can
/// tell whether that is one change or two.
pub(super) fn replaced_by_both(rows: &Three<Vec<Id>>) -> bool {
    let places = Places::of(rows);
    let here = |row: &[Id]| -> BTreeSet<Id> { row.iter().cloned().collect() };
    let (ours, theirs) = (here(&rows.ours), here(&rows.theirs));
    let mut anchor = None;
    let mut gone = BTreeSet::new();
    for id in &rows.base {
        if places.fixed.contains(id) {
            anchor = Some(id.clone());
        } else if !ours.contains(id) && !theirs.contains(id) {
            gone.insert(anchor.clone());
        }
    }
    let none = Vec::new();
    gone.iter().any(|anchor| {
        let new = |runs: &Runs, other: &BTreeSet<Id>| {
            let run = runs.get(anchor).unwrap_or(&none);
            run.iter()
                .any(|id| matches!(id, Id::New { .. }) && !other.contains(id))
        };
        new(&places.ours, &theirs) && new(&places.theirs, &ours)
    })
}

/// What each side put behind what; at the head behind nothing.
type Runs = BTreeMap<Option<Id>, Vec<Id>>;

struct Places {
    /// What stands in all three, and was moved by nobody.
    fixed: Vec<Id>,
    ours: Runs,
    theirs: Runs,
}

impl Places {
    fn of(rows: &Three<Vec<Id>>) -> Self {
        let known = |row: &[Id]| -> BTreeSet<Id> { row.iter().cloned().collect() };
        let (here, there) = (known(&rows.ours), known(&rows.theirs));
        let in_all = |id: &&Id| here.contains(id) && there.contains(id);
        let base: Vec<&Id> = rows.base.iter().filter(in_all).collect();
        let stays: BTreeSet<&Id> = base.iter().copied().collect();
        // What only one side has does not say what the other moved.
        let stayed = |side: &[Id]| -> BTreeSet<Id> {
            let side: Vec<&Id> = side.iter().filter(|id| stays.contains(id)).collect();
            let mut stayed = BTreeSet::new();
            for op in capture_diff_slices(Algorithm::Myers, &base, &side) {
                if let DiffOp::Equal { old_index, len, .. } = op {
                    let same = base[old_index..old_index + len].iter();
                    stayed.extend(same.map(|id| (*id).clone()));
                }
            }
            stayed
        };
        let (by_us, by_them) = (stayed(&rows.ours), stayed(&rows.theirs));
        let both = |id: &&Id| by_us.contains(id) && by_them.contains(id);
        let fixed: Vec<Id> = rows.base.iter().filter(both).cloned().collect();
        let other_moved = |side: &[Id], stayed: &BTreeSet<Id>| -> BTreeSet<Id> {
            let moved = side.iter();
            let moved = moved.filter(|id| stays.contains(id) && !stayed.contains(id));
            moved.cloned().collect()
        };
        let (we_moved, they_moved) = (
            other_moved(&rows.ours, &by_us),
            other_moved(&rows.theirs, &by_them),
        );
        let is_fixed: BTreeSet<&Id> = fixed.iter().collect();
        let runs = |side: &[Id], own: &BTreeSet<Id>, other: &BTreeSet<Id>| {
            let mut runs = Runs::new();
            let mut anchor = None;
            for id in side {
                if is_fixed.contains(id) {
                    anchor = Some(id.clone());
                } else if own.contains(id) || !other.contains(id) {
                    runs.entry(anchor.clone()).or_default().push(id.clone());
                }
            }
            runs
        };
        let ours = runs(&rows.ours, &we_moved, &they_moved);
        let theirs = runs(&rows.theirs, &they_moved, &we_moved);
        Self {
            fixed,
            ours,
            theirs,
        }
    }
}

/// Two runs at one spot. What both hold parts them into shorter ones.
fn together(one: Vec<Id>, two: Vec<Id>) -> Vec<Id> {
    if one.is_empty() || one == two {
        return two;
    } else if two.is_empty() {
        return one;
    }
    let day = |id: &Id| match id {
        Id::New { when, .. } => when.clone(),
        _ => None,
    };
    let sorted = |run: &[Id]| {
        let days: Option<Vec<String>> = run.iter().map(day).collect();
        days.is_some_and(|days| days.is_sorted())
    };
    let by_day = sorted(&one) && sorted(&two);
    let (one, two) = if one < two { (one, two) } else { (two, one) };
    let mut all = Vec::with_capacity(one.len() + two.len());
    for op in capture_diff_slices(Algorithm::Myers, &one, &two) {
        let (a, b) = (&one[op.old_range()], &two[op.new_range()]);
        let (first, second) = if a < b { (a, b) } else { (b, a) };
        all.extend(first.iter().cloned());
        if first != second {
            all.extend(second.iter().cloned());
        }
    }
    if by_day {
        all.sort_by_key(day);
    }
    all
}

/// The items of three lists: one of the base in a side, as it was or changed by a bit, has
/// the name that it has in the base.
pub(super) fn items(lists: &Three<&[Value]>) -> Three<Vec<Id>> {
    let mut ours = unchanged(lists.base, lists.ours);
    let mut theirs = unchanged(lists.base, lists.theirs);
    let made = made_by_both(lists, &mut ours, &mut theirs);
    changed_in_place(lists.base, lists.ours, &made, &mut ours);
    changed_in_place(lists.base, lists.theirs, &made, &mut theirs);
    by_place(lists, &made, &mut ours, &mut theirs);
    let (first, second) = (ours.clone(), theirs.clone());
    by_the_other(&made, (lists.ours, &mut ours), (lists.theirs, &second));
    by_the_other(&made, (lists.theirs, &mut theirs), (lists.ours, &first));
    Three {
        base: (0..lists.base.len()).map(Id::Item).collect(),
        ours: named(ours, lists.ours),
        theirs: named(theirs, lists.theirs),
    }
}

/// Which item of the base each of a side is.
type Known = Vec<Option<usize>>;

fn texts(items: &[Value]) -> Vec<String> {
    items.iter().map(alike::text_of).collect()
}

/// What stands there as it stood.
fn unchanged(base: &[Value], side: &[Value]) -> Known {
    let mut known: Known = vec![None; side.len()];
    for op in capture_diff_slices(Algorithm::Myers, &texts(base), &texts(side)) {
        if let DiffOp::Equal {
            old_index,
            new_index,
            len,
        } = op
        {
            (0..len).for_each(|at| known[new_index + at] = Some(old_index + at));
        }
    }
    known
}

/// The items that both sides have alike, and the base has not. One of them may be what both
/// made of the same item; else both added it, and it is not what one side made of another.
fn made_by_both(lists: &Three<&[Value]>, ours: &mut Known, theirs: &mut Known) -> BTreeSet<String> {
    let new = |side: &[Value], known: &Known| -> Vec<(String, usize)> {
        let all = texts(side).into_iter().zip(0..);
        all.filter(|(_, at)| known[*at].is_none()).collect()
    };
    let (here, there) = (new(lists.ours, ours), new(lists.theirs, theirs));
    let mut made = BTreeMap::new();
    for (text, our) in &here {
        if let Some((_, their)) = there.iter().find(|(other, _)| other == text) {
            made.entry(text.clone()).or_insert((*our, *their));
        }
    }
    let lost = |at: &usize| !ours.contains(&Some(*at)) && !theirs.contains(&Some(*at));
    let lost: Vec<usize> = (0..lists.base.len()).filter(lost).collect();
    if made.len().max(lost.len()) <= EACH_WITH_EACH {
        let mut pairs = Vec::new();
        for was in lost {
            for (our, their) in made.values() {
                let like = like(&lists.base[was], &lists.ours[*our]);
                if like >= SAME_ITEM {
                    pairs.push((like, was, *our, *their));
                }
            }
        }
        pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        for (_, was, our, their) in pairs {
            if fits(ours, was, our) && fits(theirs, was, their) {
                ours[our] = Some(was);
                theirs[their] = Some(was);
            }
        }
    }
    made.into_keys().collect()
}

/// What a side made of an item at its place.
fn changed_in_place(base: &[Value], side: &[Value], made: &BTreeSet<String>, known: &mut Known) {
    let own = texts(side);
    for op in capture_diff_slices(Algorithm::Myers, &texts(base), &own) {
        if let DiffOp::Replace {
            old_index,
            old_len,
            new_index,
            new_len,
        } = op
        {
            let was = (old_index..old_index + old_len).filter(|at| !known.contains(&Some(*at)));
            let was: Vec<usize> = was.collect();
            let is = (new_index..new_index + new_len)
                .filter(|at| known[*at].is_none() && !made.contains(&own[*at]));
            let is: Vec<usize> = is.collect();
            if was.len().max(is.len()) > EACH_WITH_EACH {
                continue;
            }
            let mut pairs = Vec::new();
            for from in &was {
                let likes = is
                    .iter()
                    .map(|to| (like(&base[*from], &side[*to]), *from, *to));
                pairs.extend(likes.filter(|(like, ..)| *like > SAME_ITEM));
            }
            know(known, pairs);
        }
    }
}

fn like(one: &Value, other: &Value) -> f64 {
    if one.is_object() && other.is_object() {
        alike::likeness(one, other)
    } else {
        0.0
    }
}

/// Puts what is known of two pairs of items beside what was known, where nothing crosses.
fn know(known: &mut Known, pairs: Vec<(f64, usize, usize)>) {
    for (was, own) in likest(pairs) {
        if fits(known, was, own) {
            known[own] = Some(was);
        }
    }
}

/// Whether an item may be the one of the base, with no other crossing it.
fn fits(known: &Known, was: usize, own: usize) -> bool {
    let before = known[..own].iter().flatten().all(|other| *other < was);
    let behind = known[own..].iter().flatten().all(|other| *other > was);
    known[own].is_none() && before && behind
}

/// What stands where it stood, from one end or the other, is known if half of it is the
/// same.
fn by_place(
    lists: &Three<&[Value]>,
    made: &BTreeSet<String>,
    ours: &mut Known,
    theirs: &mut Known,
) {
    let base = lists.base;
    let places = |side: &[Value], known: &Known| {
        let mut pairs = Vec::new();
        let here: BTreeSet<usize> = known.iter().flatten().copied().collect();
        let own = texts(side);
        let left = |at: &usize| known[*at].is_none() && !made.contains(&own[*at]);
        for own in (0..side.len()).filter(left) {
            let places = [Some(own), (base.len() + own).checked_sub(side.len())];
            let places: BTreeSet<usize> = places.into_iter().flatten().collect();
            for was in places.iter().filter(|was| !here.contains(was)) {
                let like = base.get(*was).map_or(0.0, |was| like(was, &side[own]));
                if like >= SAME_ITEM {
                    pairs.push((like, *was, own));
                }
            }
        }
        pairs
    };
    let (our, their) = (places(lists.ours, ours), places(lists.theirs, theirs));
    know(ours, our);
    know(theirs, their);
}

/// What one side changed too much to be known by what it was may be known by what the other
/// side made of it.
fn by_the_other(
    made: &BTreeSet<String>,
    (side, known): (&[Value], &mut Known),
    (other, theirs): (&[Value], &Known),
) {
    let own = texts(side);
    let left = (0..side.len()).filter(|at| known[*at].is_none() && !made.contains(&own[*at]));
    let left: Vec<usize> = left.collect();
    let here: BTreeSet<usize> = known.iter().flatten().copied().collect();
    let lost = theirs.iter().enumerate();
    let lost = lost.filter_map(|(at, was)| Some((at, was.filter(|was| !here.contains(was))?)));
    let lost: Vec<(usize, usize)> = lost.collect();
    if left.len().max(lost.len()) > EACH_WITH_EACH {
        return;
    }
    let mut pairs = Vec::new();
    for (at, was) in &lost {
        let likes = left.iter();
        let likes = likes.map(|own| (like(&other[*at], &side[*own]), *was, *own));
        pairs.extend(likes.filter(|(like, ..)| *like >= SAME_ITEM));
    }
    know(known, pairs);
}

fn named(known: Known, side: &[Value]) -> Vec<Id> {
    let mut numbers: BTreeMap<String, usize> = BTreeMap::new();
    let named = known.iter().zip(side).map(|(known, item)| match known {
        Some(number) => Id::Item(*number),
        None => {
            let says = alike::text_of(item);
            let number = numbers.entry(says.clone()).or_default();
            *number += 1;
            Id::New {
                when: item.get("when").and_then(Value::as_str).map(str::to_owned),
                number: *number,
                says,
            }
        }
    });
    named.collect()
}

/// Pairs by their likeness, none of which crosses another.
fn likest(mut pairs: Vec<(f64, usize, usize)>) -> Vec<(usize, usize)> {
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut found: Vec<(usize, usize)> = Vec::new();
    for (_, from, to) in pairs {
        let crosses = |(a, b): &(usize, usize)| (*a < from) != (*b < to) || *a == from || *b == to;
        if !found.iter().any(crosses) {
            found.push((from, to));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keys(words: &str) -> Vec<Id> {
        let words = words.split_whitespace();
        words.map(|word| Id::Key(word.to_owned())).collect()
    }

    fn told(base: &str, ours: &str, theirs: &str) -> String {
        let rows = Three {
            base: keys(base),
            ours: keys(ours),
            theirs: keys(theirs),
        };
        let has = |row: &[Id], id: &Id| row.contains(id);
        let gone =
            |id: &Id| has(&rows.base, id) && (!has(&rows.ours, id) || !has(&rows.theirs, id));
        let all = woven(&rows, |id| !gone(id));
        let words = all.iter().map(|id| match id {
            Id::Key(word) => word.as_str(),
            _ => "?",
        });
        words.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn both_add_take_out_and_move() {
        assert_eq!(told("a b", "a x b", "a b y"), "a x b y");
        assert_eq!(told("a b", "a b y", "a b x"), "a b x y");
        assert_eq!(told("a b", "a b x", "a b y"), "a b x y");
        assert_eq!(told("a b c", "a c", "a b c d"), "a c d");
        assert_eq!(told("a b c d", "b c d a", "a b c x d"), "b c x d a");
        assert_eq!(told("a b c d", "d a b c", "a b x c d"), "d a b x c");
        assert_eq!(told("", "y z", "x"), "x y z");
    }

    #[test]
    fn the_same_item_once_and_events_by_their_day() {
        let list = |text: &str| -> Vec<Value> { serde_json::from_str(text).unwrap() };
        let base = list(r#"[{"what":"cleaned","when":"2026-01-01","by":"builder"}]"#);
        let ours = list(
            r#"[{"what":"cleaned","when":"2026-01-02","by":"builder"},{"what":"painted","when":"2026-03-01"}]"#,
        );
        let theirs = list(
            r#"[{"what":"cleaned","when":"2026-01-01","by":"builder"},{"what":"blasted","when":"2026-02-01"},{"what":"painted","when":"2026-03-01"}]"#,
        );
        let rows = items(&Three {
            base: &base,
            ours: &ours,
            theirs: &theirs,
        });
        let all = woven(&rows, |_| true);
        assert_eq!(all.len(), 3);
        assert_eq!(all[0], Id::Item(0));
        assert!(matches!(&all[1], Id::New { says, .. } if says.contains("blasted")));
        assert!(!replaced_by_both(&rows));
    }

    #[test]
    fn what_both_have_alike_is_no_change_of_another() {
        let list = |text: &str| -> Vec<Value> { serde_json::from_str(text).unwrap() };
        let rows = |base: &str, ours: &str, theirs: &str| {
            let (base, ours, theirs) = (list(base), list(ours), list(theirs));
            items(&Three {
                base: &base,
                ours: &ours,
                theirs: &theirs,
            })
        };
        let is_new = |id: &Id| matches!(id, Id::New { .. });
        // One took the second out, the other has it still; both have a new one like it.
        let took_out = rows(
            r#"[{"as":"mock-up","at":"1"},{"as":"final","by":"helper"}]"#,
            r#"[{"as":"mock-up","at":"1"},{"as":"final","when":"2026-03-16"}]"#,
            r#"[{"as":"mock-up","at":"1"},{"as":"final","by":"helper"},{"as":"final","when":"2026-03-16"}]"#,
        );
        assert_eq!(took_out.ours[1], took_out.theirs[2]);
        assert!(is_new(&took_out.ours[1]), "{took_out:?}");
        // Both made the same of it, and one added another that is more like what it was.
        let changed = rows(
            r#"[{"as":"final","by":"helper"}]"#,
            r#"[{"as":"final","by":"builder"},{"as":"final","by":"helper","at":"1"}]"#,
            r#"[{"as":"final","by":"builder"}]"#,
        );
        assert_eq!(changed.ours[0], Id::Item(0));
        assert_eq!(changed.theirs[0], Id::Item(0));
        assert!(is_new(&changed.ours[1]), "{changed:?}");
    }
}
