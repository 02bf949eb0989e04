//! What a headline makes of each commit of the example, beside what a person wrote.
//!
//! The YAML is read by a second reader, and git tells what each commit holds. `UPDATE=1`
//! writes `tests/headlines.txt`, to be judged by eye.

#![allow(clippy::disallowed_methods)]

use std::collections::BTreeSet;

use git2::{Oid, Repository, TreeWalkMode, TreeWalkResult};
use matchmark::changes::tell::{Deed, headline, tell};
use matchmark::changes::{Name, RecordChange, Records, compare};
use matchmark::example;
use matchmark::folder::kind_of;
use matchmark::model::Kind;
use matchmark::report::page::Line;
use matchmark::shell::replay;
use serde_json::Value;
use unicode_width::UnicodeWidthStr;

/// The room that a commit's first line has.
const FIRST_LINE: usize = 72;

/// The records that a commit holds.
fn records(repo: &Repository, commit: Oid) -> Records {
    let mut all = Records::new();
    let tree = repo.find_commit(commit).unwrap().tree().unwrap();
    tree.walk(TreeWalkMode::PreOrder, |folder, entry| {
        let path = format!("{folder}{}", entry.name().unwrap());
        let blob = entry.to_object(repo).unwrap().into_blob();
        let (Some(kind), Ok(blob)) = (kind_of(&path), blob) else {
            return TreeWalkResult::Ok;
        };
        if !path.ends_with(".yaml") {
            return TreeWalkResult::Ok;
        }
        let text = std::str::from_utf8(blob.content()).unwrap();
        let value: Value = serde_yaml::from_str(text).unwrap();
        let mut add = |id: &str, value: Value| {
            let id = id.to_owned();
            all.insert(Name { kind, id }, value);
        };
        match (kind, value) {
            (Kind::Build, value) => add("build", value),
            (_, Value::Object(map)) => map.into_iter().for_each(|(id, value)| add(&id, value)),
            (_, value) => panic!("{path} holds {value}"),
        }
        TreeWalkResult::Ok
    })
    .unwrap();
    all
}

/// What each commit of the example changed, with the line that a person gave it.
fn commits() -> Vec<(String, Vec<RecordChange>)> {
    let folder = tempfile::tempdir().unwrap();
    replay::replay(
        folder.path(),
        &example::history().unwrap(),
        &example::files(),
    )
    .unwrap();
    let repo = Repository::open(folder.path()).unwrap();
    let mut walk = repo.revwalk().unwrap();
    walk.push_head().unwrap();
    let mut ids: Vec<Oid> = walk.map(Result::unwrap).collect();
    ids.reverse();
    let mut before = Records::new();
    let mut all = Vec::new();
    for id in ids {
        let after = records(&repo, id);
        let commit = repo.find_commit(id).unwrap();
        let title = commit.summary().unwrap().unwrap().to_owned();
        all.push((title, compare(&before, &after)));
        before = after;
    }
    all
}

/// The words of everything that is told.
fn words(since: &Records, until: &Records) -> String {
    let changes = compare(since, until);
    let told = tell(&changes);
    for (number, change) in changes.iter().enumerate() {
        let own = told.iter().filter(|one| one.change == Some(number));
        let own: BTreeSet<usize> = own.flat_map(|one| one.leaves.iter().copied()).collect();
        assert_eq!(own, change.numbers().into_iter().collect(), "{change:?}");
    }
    for room in [20, 50, FIRST_LINE] {
        let line = headline(&told, room);
        assert!(line.width() <= room, "{room}: {line}");
        assert!(!line.contains(char::is_control), "{line:?}");
    }
    let mut text = String::new();
    for one in &told {
        text.push_str(&format!("{} {} ", one.about, one.says));
        text.push_str(&format!("{}\n", one.when.as_deref().unwrap_or_default()));
        for line in &one.lines {
            let (Line::Kept(line) | Line::Gone(line) | Line::New(line)) = line;
            text.push_str(&format!("    {line}\n"));
        }
    }
    text
}

/// The pointers (RFC 6901) to every text, figure and flag of a value.
fn ways(value: &Value) -> Vec<String> {
    fn add(value: &Value, way: &str, all: &mut Vec<String>) {
        match value {
            Value::Object(map) => {
                for (key, value) in map {
                    let key = key.replace('~', "~0").replace('/', "~1");
                    add(value, &format!("{way}/{key}"), all);
                }
            }
            Value::Array(items) => {
                for (number, item) in items.iter().enumerate() {
                    add(item, &format!("{way}/{number}"), all);
                }
            }
            _ => all.push(way.to_owned()),
        }
    }
    let mut all = Vec::new();
    add(value, "", &mut all);
    all
}

/// The newest records of the example.
fn newest() -> Records {
    let mut all = Records::new();
    for (path, bytes) in example::files() {
        let Some(kind) = kind_of(path).filter(|_| path.ends_with(".yaml")) else {
            continue;
        };
        let value: Value = serde_yaml::from_slice(bytes).unwrap();
        let name = |id: &str| Name {
            kind,
            id: id.to_owned(),
        };
        match (kind, value) {
            (Kind::Build, value) => drop(all.insert(name("build"), value)),
            (_, Value::Object(map)) => {
                all.extend(map.into_iter().map(|(id, value)| (name(&id), value)));
            }
            (_, value) => panic!("{path} holds {value}"),
        }
    }
    all
}

/// Wherever a text is put that belongs nowhere, it is told: in a record that was there, and
/// in one that is new.
#[test]
fn nothing_that_is_written_vanishes() {
    let mut missing = BTreeSet::new();
    for (name, value) in newest() {
        let one = |value: &Value| Records::from([(name.clone(), value.clone())]);
        let before = one(&value);
        for (number, way) in ways(&value).into_iter().enumerate() {
            // What the picture hashes to tells nobody anything.
            if name.kind == Kind::Photos && (way == "/sha256" || way == "/file") {
                continue;
            }
            let mut after = value.clone();
            *after.pointer_mut(&way).unwrap() = "zzodd".into();
            // Each way is tried in one of the two manners.
            let in_new = number % 2 == 0;
            let apart = name.kind == Kind::Build;
            if !in_new && !words(&before, &one(&after)).contains("zzodd") {
                missing.insert(format!("{name} {way}: changed"));
            }
            if in_new && !apart && !words(&Records::new(), &one(&after)).contains("zzodd") {
                missing.insert(format!("{name} {way}: in a new record"));
            }
        }
    }
    assert!(missing.is_empty(), "{} {missing:#?}", missing.len());
}

/// Wherever something stands that is of another type, it is told, and nothing panics.
#[test]
fn what_is_of_another_type_is_told() {
    let odd = [
        Value::Null,
        5.into(),
        true.into(),
        "\u{1b}[2J\u{202e}\n".into(),
        serde_json::json!([]),
        serde_json::json!({}),
        serde_json::json!(["x", {"when": [1], "as": {}}]),
        serde_json::json!({"is": ["y"], "state": 5}),
    ];
    for (number, (name, value)) in newest().into_iter().enumerate() {
        let one = |value: &Value| Records::from([(name.clone(), value.clone())]);
        let before = one(&value);
        for (at, way) in ways(&value)
            .into_iter()
            .enumerate()
            .skip(number % 3)
            .step_by(3)
        {
            let mut up = way.as_str();
            // Now the value itself, now the map or list that it lies in.
            for _ in 0..(number + at) % 4 {
                up = up.rsplit_once('/').map_or("", |(up, _)| up);
            }
            let mut after = value.clone();
            *after.pointer_mut(up).unwrap() = odd[(number + at) % odd.len()].clone();
            let after = one(&after);
            words(&before, &after);
            words(&after, &before);
            words(&Records::new(), &after);
            words(&after, &Records::new());
        }
    }
}

/// A deed that nothing tells would be a promise that nobody keeps.
#[test]
fn every_deed_is_told_by_something() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/changes/tell");
    let mut code = String::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.file_name().unwrap() != "headline.rs" {
            code.push_str(&std::fs::read_to_string(path).unwrap());
        }
    }
    let top = concat!(env!("CARGO_MANIFEST_DIR"), "/src/changes/tell.rs");
    code.push_str(&std::fs::read_to_string(top).unwrap());
    let mut words = BTreeSet::new();
    for deed in Deed::ALL {
        let name = format!("Deed::{deed:?}");
        let used = code.match_indices(&name).any(|(at, _)| {
            let next = code[at + name.len()..].chars().next();
            next.is_some_and(|next| !next.is_alphanumeric())
        });
        assert!(used, "nothing tells {name}");
        assert!(words.insert(deed.word()), "two deeds are {}", deed.word());
        assert!(
            deed.one().contains("{}") || *deed == Deed::BuildBegun,
            "{name}"
        );
        assert!(deed.many().contains("{}"), "{name}");
    }
}

#[test]
fn a_headline_names_what_a_commit_touches() {
    let commits = commits();
    assert_eq!(commits.len(), example::history().unwrap().len());
    let mut lines = String::new();
    for (title, changes) in &commits {
        let line = headline(&tell(changes), FIRST_LINE);
        lines.push_str(&format!("{title}\n  {line}\n"));
        assert!(line.width() <= FIRST_LINE, "{title}: {line}");
        assert!(!line.contains(char::is_control), "{title}: {line}");
        let ids = changes.iter().map(|change| change.name.id.as_str());
        let kinds = changes.iter().map(|change| change.name.kind.folder());
        let mut known: BTreeSet<&str> = ids.chain(kinds).collect();
        known.extend(changes.iter().map(|change| change.name.kind.one()));
        let steps = line.split([' ', '/', ',', ':', '(', ')']);
        let names = steps.filter(|step| known.contains(step)).count();
        assert!(names > 0, "{title}: {line} names nothing of {known:?}");
    }
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/headlines.txt");
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(path, &lines).unwrap();
    }
    assert_eq!(std::fs::read_to_string(path).unwrap(), lines);
}
