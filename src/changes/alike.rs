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
            Value::Object(map) => {
                for (key, value) in map {
                    add(value, &format!("{way}/{key}"), all);
                }
            }
            Value::Array(items) => items.iter().for_each(|item| add(item, way, all)),
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

/// Which of what is gone is which of what is new, by their numbers: where the two are
/// alike, and no other is as like to either. `followed` tells whether what referred to
/// the one refers to the other now.
pub fn pairs(
    gone: &[(&str, &Value)],
    new: &[(&str, &Value)],
    followed: impl Fn(usize, usize) -> bool,
) -> Vec<(usize, usize)> {
    if gone.is_empty() || new.is_empty() {
        return Vec::new();
    }
    let gone: Vec<Vec<String>> = gone.iter().map(|(_, value)| sayings(value)).collect();
    let new: Vec<Vec<String>> = new.iter().map(|(_, value)| sayings(value)).collect();
    let mut says: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (number, sayings) in new.iter().enumerate() {
        for one in sayings {
            let who = says.entry(one).or_default();
            if who.last() != Some(&number) {
                who.push(number);
            }
        }
    }
    let mut scored: Vec<(f64, usize, usize)> = Vec::new();
    for (from, sayings) in gone.iter().enumerate() {
        let who = sayings.iter().filter_map(|one| says.get(one.as_str()));
        let telling = who.filter(|who| who.len() <= COMMON);
        let candidates: BTreeSet<usize> = telling.flatten().copied().collect();
        for to in candidates {
            let like = share(sayings, &new[to]);
            let least = if followed(from, to) {
                RENAMED_WITH_REFERENCES
            } else {
                RENAMED
            };
            if like >= least {
                scored.push((like, from, to));
            }
        }
    }
    let mut best_from: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    let mut best_to: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for (like, from, to) in &scored {
        best_from.entry(*from).or_default().push(*like);
        best_to.entry(*to).or_default().push(*like);
    }
    let alone = |all: Option<&Vec<f64>>, like: f64| {
        // Where two are as like as each other, nothing tells which it is.
        all.is_some_and(|all| all.iter().filter(|other| **other >= like).count() == 1)
    };
    let mut found: Vec<(usize, usize)> = scored
        .iter()
        .filter(|(like, from, to)| {
            alone(best_from.get(from), *like) && alone(best_to.get(to), *like)
        })
        .map(|(_, from, to)| (*from, *to))
        .collect();
    found.sort_unstable();
    found
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
    fn likeness_is_a_share() {
        let a = json!({"x": 1, "y": [1, 2]});
        let b = json!({"y": [2, 1], "x": 2});
        assert!((likeness(&a, &b) - 4.0 / 6.0).abs() < 1e-12);
        assert!(likeness(&json!({}), &json!({})).abs() < 1e-12);
    }
}
