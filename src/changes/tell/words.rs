//! What sentences are made of.

use std::collections::BTreeSet;

use serde_json::Value;

use super::view::View;
use super::{Deed, Teller};
use crate::model::Kind;

/// A value in a few words, on one line.
pub(super) fn shown(value: &Value) -> String {
    match value {
        Value::String(text) => text.split_whitespace().collect::<Vec<_>>().join(" "),
        Value::Array(items) => items.iter().map(shown).collect::<Vec<_>>().join(", "),
        Value::Object(map) => {
            let all = map.iter().map(|(key, value)| match value {
                Value::Array(_) | Value::Object(_) => format!("{key}: ({})", shown(value)),
                _ => format!("{key}: {}", shown(value)),
            });
            all.collect::<Vec<_>>().join(", ")
        }
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        other => other.to_string(),
    }
}

/// A key as a word: `kept-in` is "kept in".
pub(super) fn label(key: &str) -> String {
    key.replace('-', " ")
}

/// A reference without its kind: what `parts/injector/P1` is called at the bench.
pub(super) fn bare(reference: &str) -> &str {
    match reference.split_once('/') {
        Some((kind, rest)) if Kind::of_folder(kind).is_some() => rest,
        _ => reference,
    }
}

/// References, or whatever stands in their place, without their kinds.
pub(super) fn bare_all(value: &Value) -> String {
    match value {
        Value::Array(items) => items.iter().map(bare_all).collect::<Vec<_>>().join(", "),
        Value::String(text) => shown(&Value::from(bare(text))),
        other => shown(other),
    }
}

/// What is fitted for now, or for good.
pub(super) fn fitted_as(word: &str) -> String {
    match word {
        "mock-up" => "for mock-up".to_owned(),
        "final" => "for good".to_owned(),
        other => other.to_owned(),
    }
}

/// What of something is in a sentence: the parts of the sentence, the leaves that they tell
/// and the keys that they name.
#[derive(Debug)]
pub(super) struct Saying<'a> {
    pub(super) view: View<'a>,
    pub(super) parts: Vec<String>,
    leaves: Vec<usize>,
    said: BTreeSet<String>,
}

impl<'a> Saying<'a> {
    pub(super) fn of(view: View<'a>) -> Self {
        Self {
            view,
            parts: Vec::new(),
            leaves: Vec::new(),
            said: BTreeSet::new(),
        }
    }

    /// Whether a key was not there before and is now.
    pub(super) fn is_added(&self, key: &str) -> bool {
        let under = self.view.under(key);
        under.differs() && under.before.is_none() && under.after.is_some()
    }

    /// Counts what stands under a key as told.
    pub(super) fn cover(&mut self, key: &str) {
        self.leaves.extend(self.view.under(key).leaves());
        self.said.insert(key.to_owned());
    }

    /// Counts all of something that lies inside as told.
    pub(super) fn cover_all(&mut self, inner: &View<'_>) {
        self.leaves.extend(inner.leaves());
    }

    /// What was not there before, which is told with it.
    pub(super) fn new(&mut self, key: &str) -> Option<&'a Value> {
        if !self.is_added(key) {
            return None;
        }
        self.cover(key);
        self.view.after?.get(key)
    }

    /// The same as text.
    pub(super) fn new_text(&mut self, key: &str) -> Option<String> {
        self.new(key).map(shown)
    }

    /// A new day, which stands at the end of the sentence.
    pub(super) fn new_day(&mut self, key: &str) -> Option<&'a str> {
        let day = self.view.is(key).filter(|_| self.is_added(key))?;
        self.cover(key);
        Some(day)
    }

    /// Says something.
    pub(super) fn say(&mut self, part: impl Into<String>) {
        self.parts.push(part.into());
    }

    /// Says what was not there before, behind a word for it.
    pub(super) fn say_new(&mut self, before: &str, key: &str) {
        if let Some(text) = self.new_text(key) {
            self.parts.push(format!("{before}{text}"));
        }
    }

    /// Says all of a new thing that was not said, but for what others tell.
    pub(super) fn say_rest(&mut self, others_tell: &[&str]) {
        if !self.view.is_new() {
            return;
        }
        let map = self.view.after.and_then(Value::as_object);
        for (key, value) in map.into_iter().flatten() {
            if !self.said.contains(key) && !others_tell.contains(&key.as_str()) {
                self.parts.push(said(key, value));
            }
        }
    }

    /// Counts a key as told by what was said of what lies in it.
    pub(super) fn mark(&mut self, key: &str) {
        self.said.insert(key.to_owned());
    }

    /// Whether a key was told.
    pub(super) fn has_said(&self, key: &str) -> bool {
        self.said.contains(key)
    }

    /// Counts as told what names a new thing.
    pub(super) fn cover_if_new(&mut self, keys: &[&str]) {
        for key in keys {
            if self.is_added(key) {
                self.cover(key);
            }
        }
    }

    /// Hands what was told of something inside to a sentence about the whole.
    pub(super) fn hand_over(self, whole: &mut Self) {
        whole.leaves.extend(self.leaves);
    }

    /// Puts a sentence about the same thing behind another.
    pub(super) fn append_to(self, other: &mut Self) {
        other.parts.extend(self.parts);
        other.leaves.extend(self.leaves);
        other.said.extend(self.said);
    }

    /// What was said.
    pub(super) fn text(&self) -> String {
        self.parts.join("; ")
    }

    /// Tells it.
    pub(super) fn tell(
        mut self,
        teller: &mut Teller<'_>,
        deed: Deed,
        about: &str,
        when: Option<&str>,
    ) {
        if self.view.is_new() {
            self.leaves.extend(self.view.leaves());
        }
        self.leaves.sort_unstable();
        self.leaves.dedup();
        let says = self.text();
        teller.tell(deed, about, says, when, self.leaves);
    }
}

/// A key and its value as a sentence has them.
pub(super) fn said(key: &str, value: &Value) -> String {
    match (key, value) {
        ("by", Value::String(who)) => format!("by {who}"),
        ("source", Value::Object(map)) => {
            let text = |key: &str| map.get(key).map(shown);
            let all = [
                text("in").map(|text| format!("as in {text}")),
                text("page").map(|text| format!("page {text}")),
                text("note"),
            ];
            all.into_iter().flatten().collect::<Vec<_>>().join(", ")
        }
        ("needs" | "about" | "undoes" | "shows" | "proves" | "needed-by", _) => {
            format!("{} {}", label(key), bare_all(value))
        }
        (_, Value::Bool(true)) => label(key),
        (_, Value::Null) => format!("{}: nothing", label(key)),
        _ => format!("{}: {}", label(key), shown(value)),
    }
}
