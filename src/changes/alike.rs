//! How much two values have in common, and which of those that are gone is which of those
//! that are new under another name.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

/// From this likeness on one is the other renamed.
const RENAMED: f64 = 0.6;
/// The same, where what refers to it was renamed as well.
const RENAMED_WITH_REFERENCES: f64 = 0.3;
/// What more than so many have in common tells none of them from another.
const COMMON: usize = 24;
/// The same where they have all in common: there their ids may tell.
const TWINS: usize = 64;

/// A value as text, the same for any order of keys.
#[must_use]
pub fn text_of(value: &Value) -> String {
    let mut text = String::new();
    write(value, &mut text);
    text
}

fn write(value: &Value, text: &mut String) {
    match value {
        Value::Object(map) => {
            let sorted: BTreeMap<&String, &Value> = map.iter().collect();
            text.push('{');
            for (key, value) in sorted {
                text.push_str(&Value::from(key.as_str()).to_string());
                text.push(':');
                write(value, text);
                text.push(',');
            }
            text.push('}');
        }
        Value::Array(items) => {
            text.push('[');
            for item in items {
                write(item, text);
                text.push(',');
            }
            text.push(']');
        }
        other => text.push_str(&other.to_string()),
    }
}

/// What a value says: each text and figure in it with the keys that lead there. The
/// numbers of list items don't count.
fn sayings(value: &Value) -> Vec<String> {
    fn add(value: &Value, way: &str, all: &mut Vec<String>) {
        match value {
            Value::Object(map) if !map.is_empty() => {
                for (key, value) in map {
                    add(value, &format!("{way}/{key}"), all);
                }
            }
            Value::Array(items) if !items.is_empty() => {
                items.iter().for_each(|item| add(item, way, all))
            }
            // A record that holds nothing says nothing.
            Value::Object(_) if way.is_empty() => {}
            other => all.push(format!("{way} {other}")),
        }
    }
    let mut all = Vec::new();
    add(value, "", &mut all);
    all.sort_unstable();
    all
}

/// How much of what two values say both say: 0 nothing, 1 all (the coefficient of Dice,
/// Ecology 26 (1945), 297–302).
#[must_use]
pub fn likeness(a: &Value, b: &Value) -> f64 {
    share(&sayings(a), &sayings(b))
}

/// Whether one says all that the other says, and more.
#[must_use]
pub fn is_within(a: &Value, b: &Value) -> bool {
    let (a, b) = (sayings(a), sayings(b));
    let (few, all) = if a.len() < b.len() { (a, b) } else { (b, a) };
    !few.is_empty() && few.iter().all(|one| all.binary_search(one).is_ok())
}

/// How much of two sorted lists stands in both.
#[allow(clippy::cast_precision_loss)]
fn share(a: &[String], b: &[String]) -> f64 {
    let all = a.len() + b.len();
    if all == 0 {
        return 0.0;
    }
    let (mut at, mut common) = (0, 0);
    for one in a {
        while b.get(at).is_some_and(|other| other < one) {
            at += 1;
        }
        if b.get(at) == Some(one) {
            at += 1;
            common += 1;
        }
    }
    (2 * common) as f64 / all as f64
}

/// How much of two ids is the same at their beginnings and ends: 0 nothing, 1 all.
#[allow(clippy::cast_precision_loss)]
fn ids_alike(a: &str, b: &str) -> f64 {
    let same = |a: &mut dyn Iterator<Item = u8>, b: &mut dyn Iterator<Item = u8>, most: usize| {
        a.zip(b).take(most).take_while(|(a, b)| a == b).count()
    };
    let shorter = a.len().min(b.len());
    let head = same(&mut a.bytes(), &mut b.bytes(), shorter);
    let tail = same(&mut a.bytes().rev(), &mut b.bytes().rev(), shorter - head);
    (2 * (head + tail)) as f64 / (a.len() + b.len()).max(1) as f64
}

/// Which of what is gone is which of what is new, by their numbers: those that are most
/// alike first, then among the rest. Where two are as like as each other their ids decide;
/// where these don't, nothing tells which it is. `followed` tells whether what referred to
/// the one refers to the other now.
pub fn pairs(
    gone: &[(&str, &Value)],
    new: &[(&str, &Value)],
    followed: impl Fn(usize, usize) -> bool,
) -> Vec<(usize, usize)> {
    if gone.is_empty() || new.is_empty() {
        return Vec::new();
    }
    let mut scored = scored(gone, new, followed);
    scored.sort_by(|a, b| {
        b.by.total_cmp(&a.by)
            .then((a.from, a.to).cmp(&(b.from, b.to)))
    });
    let (mut taken_from, mut taken_to) = (BTreeSet::new(), BTreeSet::new());
    let mut found = Vec::new();
    for as_like in scored.chunk_by(|a, b| a.by.total_cmp(&b.by).is_eq()) {
        let free: Vec<&Scored> = as_like
            .iter()
            .filter(|pair| !taken_from.contains(&pair.from) && !taken_to.contains(&pair.to))
            .collect();
        let (mut from, mut to) = (BTreeMap::new(), BTreeMap::new());
        for pair in &free {
            *from.entry(pair.from).or_insert(0) += 1;
            *to.entry(pair.to).or_insert(0) += 1;
        }
        for pair in free {
            // What could be either is neither, and nobody else either.
            taken_from.insert(pair.from);
            taken_to.insert(pair.to);
            if from.get(&pair.from) == Some(&1) && to.get(&pair.to) == Some(&1) {
                found.push((pair.from, pair.to));
            }
        }
    }
    found.sort_unstable();
    found
}

/// Two that may be one.
struct Scored {
    from: usize,
    to: usize,
    /// Their likeness, and a little for that of their ids.
    by: f64,
}

fn scored(
    gone: &[(&str, &Value)],
    new: &[(&str, &Value)],
    followed: impl Fn(usize, usize) -> bool,
) -> Vec<Scored> {
    let said = |all: &[(&str, &Value)]| -> Vec<Vec<String>> {
        all.iter().map(|(_, value)| sayings(value)).collect()
    };
    let (gone_says, new_says) = (said(gone), said(new));
    let mut says: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    let mut whole: BTreeMap<&[String], Vec<usize>> = BTreeMap::new();
    for (number, sayings) in new_says.iter().enumerate() {
        whole.entry(sayings).or_default().push(number);
        for one in sayings {
            let who = says.entry(one).or_default();
            if who.last() != Some(&number) {
                who.push(number);
            }
        }
    }
    let mut scored = Vec::new();
    for (from, sayings) in gone_says.iter().enumerate() {
        let who = sayings.iter().filter_map(|one| says.get(one.as_str()));
        let telling = who.filter(|who| who.len() <= COMMON);
        let twins = whole.get(sayings.as_slice());
        let twins = twins.filter(|who| who.len() <= TWINS);
        let candidates: BTreeSet<usize> = telling.chain(twins).flatten().copied().collect();
        for to in candidates {
            let like = share(sayings, &new_says[to]);
            let least = if followed(from, to) {
                RENAMED_WITH_REFERENCES
            } else {
                RENAMED
            };
            if like >= least {
                // Two likenesses that differ at all differ by more.
                let by = like + 1e-9 * ids_alike(gone[from].0, new[to].0);
                scored.push(Scored { from, to, by });
            }
        }
    }
    scored
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn of_two_twins_none_is_the_other_renamed() {
        let twin = json!({"form": "bolt", "thread": "M8", "have": 4});
        let gone = [("a", &twin)];
        assert_eq!(pairs(&gone, &[("b", &twin)], |_, _| false), [(0, 0)]);
        assert_eq!(
            pairs(&gone, &[("b", &twin), ("c", &twin)], |_, _| false),
            []
        );
    }

    #[test]
    fn ids_tell_twins_apart() {
        let twin = json!({"thread": "M8"});
        let ids = |lead: &str| -> Vec<String> { (1..41).map(|n| format!("{lead}{n}")).collect() };
        let (old, new) = (ids("bolt-"), ids("head-bolt-"));
        let all = |ids: &'_ [String]| -> Vec<(String, Value)> {
            ids.iter().map(|id| (id.clone(), twin.clone())).collect()
        };
        let (old, new) = (all(&old), all(&new));
        fn seen(all: &[(String, Value)]) -> Vec<(&str, &Value)> {
            all.iter().map(|(id, value)| (id.as_str(), value)).collect()
        }
        let found = pairs(&seen(&old), &seen(&new), |_, _| false);
        assert_eq!(found, (0..40).map(|at| (at, at)).collect::<Vec<_>>());
    }

    #[test]
    fn the_next_best_is_left_what_the_best_did_not_take() {
        let bolt = |length: &str, have: u32, kept: &str| {
            json!({"form": "bolt", "thread": "M8", "class": "8.8", "length": length,
                "have": have, "kept-in": kept})
        };
        let (a, b) = (bolt("20 mm", 4, "box 1"), bolt("20 mm", 4, "box 2"));
        let (c, d) = (bolt("20 mm", 4, "box 1"), bolt("20 mm", 9, "box 3"));
        // The second is more like the third than the fourth, but the first is the third.
        let found = pairs(&[("a", &a), ("b", &b)], &[("c", &c), ("d", &d)], |_, _| {
            false
        });
        assert_eq!(found, [(0, 0), (1, 1)]);
    }

    #[test]
    fn likeness_is_a_share() {
        let a = json!({"x": 1, "y": [1, 2]});
        let b = json!({"y": [2, 1], "x": 2});
        assert!((likeness(&a, &b) - 4.0 / 6.0).abs() < 1e-12);
        assert!(likeness(&json!({}), &json!({})).abs() < 1e-12);
    }
}
