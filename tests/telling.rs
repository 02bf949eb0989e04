//! What changed, in words: case by case, to judge by eye, and every leaf of a change told.
//!
//! The YAML is read by a second reader, so that ours is not its own judge; the edits are
//! applied by a library for RFC 6902.

#![allow(clippy::disallowed_methods)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use matchmark::changes::diff::Edit;
use matchmark::changes::{Name, RecordChange, Records, compare, tell};
use matchmark::folder::kind_of;
use matchmark::model::Kind;
use matchmark::report::page::Line;
use serde_json::{Value, json};
use unicode_width::UnicodeWidthStr;

/// The room that a commit's first line has.
const FIRST_LINE: usize = 72;

/// Files of one state by their paths.
type Files = BTreeMap<String, String>;

/// A case: a title, files before and after, and what is told.
#[derive(Default)]
struct Case {
    /// All lines up to what is told, as they stand.
    lead: String,
    before: Files,
    after: Files,
    told: String,
}

/// The cases of a file. What is not written anew after stays as it was before; an empty
/// file after is none.
fn cases(text: &str) -> Vec<Case> {
    let mut all: Vec<Case> = Vec::new();
    // The state that is being written down, and the file of it.
    let mut at: Option<(bool, String)> = None;
    for line in text.lines() {
        if line.starts_with("= ") || all.is_empty() {
            all.push(Case::default());
            at = None;
        }
        let case = all.last_mut().unwrap();
        if let Some(told) = line.strip_prefix('>') {
            case.told.push_str(told.strip_prefix(' ').unwrap_or(told));
            case.told.push('\n');
            continue;
        }
        case.lead.push_str(line);
        case.lead.push('\n');
        if let Some(path) = line.strip_prefix("@ before ") {
            at = Some((false, path.to_owned()));
            case.before.insert(path.to_owned(), String::new());
        } else if let Some(path) = line.strip_prefix("@ after ") {
            at = Some((true, path.to_owned()));
            case.after.insert(path.to_owned(), String::new());
        } else if let Some((is_after, path)) = &at {
            let files = match is_after {
                true => &mut case.after,
                false => &mut case.before,
            };
            let text = files.get_mut(path).unwrap();
            text.push_str(line);
            text.push('\n');
        }
    }
    for case in &mut all {
        for (path, text) in &case.before {
            case.after.entry(path.clone()).or_insert(text.clone());
        }
        case.after.retain(|_, text| !text.trim().is_empty());
    }
    all
}

fn records(files: &Files) -> Records {
    let mut all = Records::new();
    for (path, text) in files {
        let kind = kind_of(path).unwrap_or_else(|| panic!("{path} is of no kind"));
        let value: Value = serde_yaml::from_str(text).unwrap_or_else(|error| {
            panic!("{path}: {error}\n{text}");
        });
        let mut add = |id: &str, value: Value| {
            let id = id.to_owned();
            assert_eq!(all.insert(Name { kind, id }, value), None, "{path}");
        };
        match (kind, value) {
            (Kind::Build, value) => add("build", value),
            (_, Value::Object(map)) => map.into_iter().for_each(|(id, value)| add(&id, value)),
            (_, value) => panic!("{path} holds {value}"),
        }
    }
    all
}

/// The edits of a change as a document of RFC 6902; `was` is left out, as it may be.
fn patch(change: &RecordChange) -> json_patch::Patch {
    let edits = change.diff.iter().flat_map(|diff| diff.edits());
    let operations: Vec<Value> = edits
        .map(|edit| match edit {
            Edit::Add { path, value } => json!({"op": "add", "path": path, "value": value}),
            Edit::Remove { path, .. } => json!({"op": "remove", "path": path}),
            Edit::Replace { path, value, .. } => {
                json!({"op": "replace", "path": path, "value": value})
            }
            Edit::Move { path, from } => json!({"op": "move", "from": from, "path": path}),
        })
        .collect();
    serde_json::from_value(Value::Array(operations)).unwrap()
}

/// What is reported, applied to the old state, gives the new one.
fn applied(before: &Records, changes: &[RecordChange]) -> Records {
    let mut records = before.clone();
    for change in changes {
        let was = change.was_id.as_ref().unwrap_or(&change.name.id);
        records.remove(&Name {
            kind: change.name.kind,
            id: was.clone(),
        });
    }
    for change in changes {
        // A record that is new or gone is one edit of the whole, at the pointer to it.
        if change.after.is_none() {
            continue;
        }
        let mut record = change.before.clone().unwrap_or(Value::Null);
        json_patch::patch(&mut record, &patch(change)).unwrap();
        records.insert(change.name.clone(), record);
    }
    records
}

/// Every leaf of every change is told at least once, and nothing that is no leaf.
fn told_whole(title: &str, changes: &[RecordChange], told: &[tell::Told]) {
    for (number, change) in changes.iter().enumerate() {
        let own = told.iter().filter(|one| one.change == Some(number));
        let own: BTreeSet<usize> = own.flat_map(|one| one.leaves.iter().copied()).collect();
        let all: BTreeSet<usize> = change.numbers().into_iter().collect();
        assert_eq!(own, all, "{title}: leaves of {}", change.name);
    }
}

/// What is told as a page has it: the headings, under each a line for each thing.
fn page(told: &[tell::Told]) -> String {
    let mut text = String::new();
    let mut head = "";
    for one in told {
        if one.deed.topic().head() != head {
            head = one.deed.topic().head();
            text.push_str(&format!("{head}\n"));
        }
        let when = one.when.as_ref().map(|when| format!(", {when}"));
        let (about, says) = (&one.about, &one.says);
        text.push_str(&format!("  {about}  {says}{}\n", when.unwrap_or_default()));
        for line in &one.lines {
            let (mark, line) = match line {
                Line::Kept(line) => (' ', line),
                Line::Gone(line) => ('-', line),
                Line::New(line) => ('+', line),
            };
            text.push_str(&format!("      {mark} {line}\n"));
        }
    }
    text
}

#[test]
fn what_changed_is_told() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/telling");
    let mut paths: Vec<_> = std::fs::read_dir(tests)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "txt"))
        .collect();
    paths.sort();
    let mut wrong = String::new();
    for path in paths {
        let text = std::fs::read_to_string(&path).unwrap();
        let mut new = String::new();
        for case in cases(&text) {
            let lead = case.lead.trim_end();
            new.push_str(lead);
            new.push('\n');
            if !lead.contains("\n@ ") {
                new.push('\n');
                continue;
            }
            let title = lead.lines().next().unwrap_or_default();
            let (before, after) = (records(&case.before), records(&case.after));
            let changes = compare(&before, &after);
            assert_eq!(applied(&before, &changes), after, "{title}");
            let told = tell::tell(&changes);
            told_whole(title, &changes, &told);
            let headline = tell::headline(&told, FIRST_LINE);
            assert!(headline.width() <= FIRST_LINE, "{title}: {headline}");
            let said = format!("{}first line: {headline}\n", page(&told));
            for line in said.lines() {
                new.push_str(format!("> {line}").trim_end());
                new.push('\n');
            }
            new.push('\n');
            if said.lines().map(str::trim_end).ne(case.told.lines()) {
                let told = &case.told;
                wrong.push_str(&format!(
                    "{lead}\n-- the case says\n{told}-- is told\n{said}\n"
                ));
            }
        }
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(&path, new.trim_end().to_owned() + "\n").unwrap();
        }
    }
    if std::env::var_os("UPDATE").is_none() {
        assert!(wrong.is_empty(), "{wrong}");
    }
}
