//! What changed between two states of a build: which records are new, gone, renamed or
//! changed, and what of them.
//!
//! A state is its records by kind and id, whichever files they stand in: a record that was
//! moved to another file, a comment and the order of keys are no change. Nothing is
//! dropped: every difference is a leaf of a record's [`diff`], and whoever tells the
//! changes in words ([`tell`]) is held to tell each.

pub mod alike;
pub mod commit;
pub mod conflicts;
pub mod diff;
pub mod lost;
pub mod records;
pub mod report;
pub mod sessions;
pub mod tell;
pub mod trail;

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use crate::model::Kind;
use diff::Diff;

/// What a record is called in the whole build.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Name {
    /// Its kind.
    pub kind: Kind,
    /// Its id; for `build.yaml` it is `build`.
    pub id: String,
}

impl std::fmt::Display for Name {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.kind {
            Kind::Build => f.write_str("build"),
            kind => write!(f, "{kind}/{}", self.id),
        }
    }
}

/// Records of one state, as JSON: those that may differ from another state's.
pub type Records = BTreeMap<Name, Value>;

/// A record that differs.
#[derive(Debug, Clone, PartialEq)]
pub struct RecordChange {
    /// What it is called; if it is gone, what it was called.
    pub name: Name,
    /// What its id was, if that is another now.
    pub was_id: Option<String>,
    /// What it held; none if it is new.
    pub before: Option<Value>,
    /// What it holds; none if it is gone.
    pub after: Option<Value>,
    /// What differs; none if only its id does.
    pub diff: Option<Diff>,
}

impl RecordChange {
    /// The numbers of all that differs in it.
    #[must_use]
    pub fn numbers(&self) -> Vec<usize> {
        self.diff.as_ref().map(Diff::numbers).unwrap_or_default()
    }

    /// What is called otherwise now, as references call it: the record itself, and in it a
    /// piece, a place, a hole of a joint. From `pump/P1` to `water-pump/P7`; the maps that
    /// they lie in are no step of their names.
    #[must_use]
    pub fn renamings(&self) -> Vec<(String, String)> {
        fn inside(diff: &Diff, was: &str, is: &str, all: &mut Vec<(String, String)>) {
            for map in diff.changed() {
                let entries = map.diff.as_ref().map(Diff::changed).unwrap_or_default();
                for one in entries {
                    let old = one.was_key.as_ref().unwrap_or(&one.key);
                    let (was, is) = (format!("{was}/{old}"), format!("{is}/{}", one.key));
                    if let Some(diff) = &one.diff {
                        inside(diff, &was, &is, all);
                    }
                    if one.was_key.is_some() {
                        all.push((was, is));
                    }
                }
            }
        }
        let is = &self.name.id;
        let was = self.was_id.as_ref().unwrap_or(is);
        let mut all = Vec::new();
        if was != is {
            all.push((was.clone(), is.clone()));
        }
        if let Some(diff) = &self.diff {
            inside(diff, was, is, &mut all);
        }
        all
    }
}

/// Compares the records of two states, by kind and id. Records that both hold the same may
/// be left out of both.
#[must_use]
pub fn compare(since: &Records, until: &Records) -> Vec<RecordChange> {
    let renamed = renamed(since, until);
    let came_from: BTreeMap<&Name, &Name> = renamed.iter().map(|(from, to)| (to, from)).collect();
    let mut changes = Vec::new();
    for (name, before) in since {
        if !until.contains_key(name) && !renamed.contains_key(name) {
            changes.push(RecordChange {
                name: name.clone(),
                was_id: None,
                before: Some(before.clone()),
                after: None,
                diff: diff::gone(before),
            });
        }
    }
    for (name, after) in until {
        let from = came_from.get(name).copied();
        let before = since.get(from.unwrap_or(name));
        let diff = match before {
            Some(before) => diff::diff(before, after),
            None => diff::new(after),
        };
        if diff.is_some() || from.is_some() {
            changes.push(RecordChange {
                name: name.clone(),
                was_id: from.map(|from| from.id.clone()),
                before: before.cloned(),
                after: Some(after.clone()),
                diff,
            });
        }
    }
    changes.sort_by(|a, b| a.name.cmp(&b.name));
    changes
}

/// Which records got another id: from what to what.
fn renamed(since: &Records, until: &Records) -> BTreeMap<Name, Name> {
    let mut found = BTreeMap::new();
    // What a changed reference says that the one is the other now.
    let mut followed: Option<BTreeSet<(String, String)>> = None;
    for kind in &Kind::ALL[1..] {
        fn only_in<'a>(
            these: &'a Records,
            those: &Records,
            kind: Kind,
        ) -> Vec<(&'a str, &'a Value)> {
            let own = these.iter().filter(|(name, _)| name.kind == kind);
            let own = own.filter(|(name, _)| !those.contains_key(*name));
            own.map(|(name, value)| (name.id.as_str(), value)).collect()
        }
        let (gone, new) = (only_in(since, until, *kind), only_in(until, since, *kind));
        if gone.is_empty() || new.is_empty() {
            continue;
        }
        let followed = followed.get_or_insert_with(|| references_changed(since, until));
        let pairs = alike::pairs(&gone, &new, |from, to| {
            followed.contains(&(gone[from].0.to_owned(), new[to].0.to_owned()))
                || says_the_same(gone[from].1, new[to].1)
        });
        for (from, to) in pairs {
            let name = |id: &str| Name {
                kind: *kind,
                id: id.to_owned(),
            };
            found.insert(name(gone[from].0), name(new[to].0));
        }
    }
    found
}

/// Whether two records say the same where hardly two different ones do.
fn says_the_same(was: &Value, is: &Value) -> bool {
    const TELLING: &[&str] = &[
        "number",
        "engine-number",
        "chassis-number",
        "file",
        "asks",
        "does",
    ];
    let same = |key: &&str| {
        let text = |value: &Value| value.get(key).and_then(Value::as_str).map(str::to_owned);
        text(was).is_some() && text(was) == text(is)
    };
    TELLING.iter().any(same)
}

/// The steps of texts that became other ones in records that kept their id, as far as
/// they may be references: from `pump` to `water-pump` in `engine/pump`, `parts/pump/P1`.
fn references_changed(since: &Records, until: &Records) -> BTreeSet<(String, String)> {
    fn texts<'a>(value: &'a Value, all: &mut Vec<&'a str>) {
        match value {
            Value::String(text) => all.push(text),
            Value::Array(items) => items.iter().for_each(|item| texts(item, all)),
            Value::Object(map) => map.values().for_each(|value| texts(value, all)),
            _ => {}
        }
    }
    fn walk(was: &Value, is: &Value, found: &mut BTreeSet<(String, String)>) {
        match (was, is) {
            (Value::Object(was), Value::Object(is)) => {
                for (key, was) in was {
                    if let Some(is) = is.get(key) {
                        walk(was, is, found);
                    }
                }
            }
            (Value::Array(_), Value::Array(_)) | (Value::String(_), Value::String(_)) => {
                let (mut old, mut new) = (Vec::new(), Vec::new());
                texts(was, &mut old);
                texts(is, &mut new);
                for (was, is) in old.into_iter().zip(new).filter(|(was, is)| was != is) {
                    let (was, is) = (was.split('/'), is.split('/'));
                    let steps = was.zip(is).filter(|(was, is)| was != is);
                    found.extend(steps.map(|(was, is)| (was.to_owned(), is.to_owned())));
                }
            }
            _ => {}
        }
    }
    let mut found = BTreeSet::new();
    for (name, was) in since {
        if let Some(is) = until.get(name) {
            walk(was, is, &mut found);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn records(all: &[(Kind, &str, Value)]) -> Records {
        let name = |kind: Kind, id: &str| Name {
            kind,
            id: id.to_owned(),
        };
        let all = all.iter();
        all.map(|(kind, id, value)| (name(*kind, id), value.clone()))
            .collect()
    }

    #[test]
    fn a_record_is_renamed_where_it_is_alike() {
        let part = json!({"name": "Water pump", "number": "WP-1", "maker": "Halden"});
        let since = records(&[(Kind::Parts, "pump", part.clone())]);
        let until = records(&[(Kind::Parts, "water-pump", part)]);
        let changes = compare(&since, &until);
        assert_eq!(changes.len(), 1);
        assert_eq!(changes[0].was_id.as_deref(), Some("pump"));
        assert_eq!(changes[0].diff, None);
        assert_eq!(changes[0].name.to_string(), "parts/water-pump");
    }

    #[test]
    fn what_refers_to_it_tells_too() {
        let was =
            json!({"name": "Pump", "number": "WP-1", "pieces": {"P1": {"condition": "unchecked"}}});
        let is = json!({"name": "Water pump", "number": "WP-2", "pieces": {"P1": {"condition": "unchecked"}}});
        let job = |what: &str| json!({"does": "paint", "about": [what]});
        let since = records(&[
            (Kind::Parts, "pump", was.clone()),
            (Kind::Jobs, "paint", job("parts/pump/P1")),
        ]);
        let until = records(&[
            (Kind::Parts, "water-pump", is.clone()),
            (Kind::Jobs, "paint", job("parts/water-pump/P1")),
        ]);
        let renamed = |since: &Records, until: &Records| {
            let changes = compare(since, until);
            changes.iter().any(|change| change.was_id.is_some())
        };
        assert!(renamed(&since, &until));
        let part =
            |state: Value| json!({"name": "Pump", "number": "WP-1", "pieces": {"P1": state}});
        let old = records(&[(
            Kind::Parts,
            "pump",
            part(json!({"condition": "unchecked", "kept-in": "box 1"})),
        )]);
        let scrap =
            part(json!({"condition": "scrap", "because": "cracked", "kept-in": "scrap tin"}));
        assert!(renamed(
            &old,
            &records(&[(Kind::Parts, "coolant-pump", scrap)])
        ));
        let alone = records(&[(Kind::Parts, "pump", was)]);
        assert!(!renamed(
            &alone,
            &records(&[(Kind::Parts, "water-pump", is)])
        ));
    }
}
