//! What changed, in words: case by case, to judge by eye, and every leaf of a change told.
//!
//! The YAML is read by a second reader, so that ours is not its own judge; the edits are
//! applied by a library for RFC 6902.

#![allow(clippy::disallowed_methods)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use matchmark::changes::diff::Edit;
use matchmark::changes::report::Progress;
use matchmark::changes::tell::Told;
use matchmark::changes::{Name, RecordChange, Records, compare, tell};
use matchmark::folder::{Content, Folder, RawFile, kind_of};
use matchmark::model::Kind;
use matchmark::model::common::FittedAs;

use matchmark::present::{Present, Worked};
use matchmark::report::page::Line;
use matchmark::report::progress;
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
        text.push_str(&format!("  {}  {}\n", one.about, one.sentence()));
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

fn worked<'a>(folder: &'a Folder, present: &'a Present<'a>) -> Worked<'a> {
    Worked { folder, present }
}

fn derived(since: &Folder, until: &Folder) -> Vec<Told> {
    let (was, is) = (Present::of(since), Present::of(until));
    tell::derived(worked(since, &was), worked(until, &is))
}

fn folder(files: &Files) -> Folder {
    let raw = files.iter().map(|(path, text)| RawFile {
        path: path.clone(),
        content: Content::Bytes(text.clone().into_bytes()),
    });
    Folder::read(raw.collect()).unwrap()
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
            let mut told = tell::tell(&changes);
            told_whole(title, &changes, &told);
            let (was, is) = (folder(&case.before), folder(&case.after));
            told.extend(derived(&was, &is));
            tell::in_order(&mut told);
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

/// All that is told of how far a build has come, in lines.
fn far(since: &[(&str, &str)], until: &[(&str, &str)]) -> Vec<String> {
    let files = |files: &[(&str, &str)]| -> Files {
        let files = files.iter();
        files
            .map(|(path, text)| ((*path).to_owned(), (*text).to_owned()))
            .collect()
    };
    let (since, until) = (folder(&files(since)), folder(&files(until)));
    let (was, is) = (Present::of(&since), Present::of(&until));
    let all = progress::between(worked(&since, &was), worked(&until, &is));
    let line = |one: Progress| format!("{}: {} → {}", one.what, one.before, one.after);
    all.into_iter().map(line).collect()
}

const FAR: &[(&str, &str)] = &[
    ("build.yaml", "name: Case\ncylinders: 4\n"),
    (
        "assemblies/all.yaml",
        "
engine:
  in: car
  places: {head: {}, cap: {count: 2}, guard: {optional: true}, plug: {each: cylinder}}
  joints:
    head: {clamps: [engine/head], holes: {a: {done: [{as: final, when: 2026-02-01}]}, b: {done: [{as: mock-up, when: 2026-02-01}]}, c: {}}}
",
    ),
    (
        "parts/all.yaml",
        "
head: {name: Head, pieces: {H1: {bought: {price: 100.50 EUR, when: 2026-01-01}, fitted: [{as: final, when: 2026-01-01, at: engine/head}]}}}
cap: {name: Cap, pieces: {L: {count: 1, goes: engine/cap, bought: {price: 9 EUR, order: caps}, fitted: [{as: final, when: 2026-01-01}]}}}
plug: {name: Plug, pieces: {A: {goes: engine/plug-1, fitted: [{as: mock-up, when: 2026-01-01}]}, B: {goes: engine/plug-2}}}
",
    ),
    ("donors/all.yaml", "van: {name: Van, price: 310 EUR}\n"),
    (
        "circuits/all.yaml",
        "sensor: {wires: {a: {state: tested}, b: {state: cut}, c: {}}}\n",
    ),
    (
        "jobs/all.yaml",
        "
paint: {does: paint, spent: [{when: 2026-01-01, for: 1.5 h}, {when: 2026-01-02, for: 20 min}]}
never: {does: polish, state: dropped}
tap: {does: tap, done: 2026-01-02}
zinc: {kind: send-out, sent: 2026-01-05, price: 20 GBP}
caps: {kind: order, ordered: 2026-01-05, carriage: 4 EUR, lines: [{what: parts/cap, count: 3, price: 2.50 EUR}]}
wish: {kind: order, lines: [{what: parts/cap, count: 1, price: 99 EUR}]}
",
    ),
    (
        "clearances/all.yaml",
        "a: {between: [car, engine], readings: [{is: 12 mm, when: 2026-01-01}]}\nb: {between: [car, engine]}\n",
    ),
    (
        "decisions/all.yaml",
        "a: {asks: Which?, options: {x: {}}, chosen: x}\nb: {asks: Why?}\nc: {asks: Who?, state: withdrawn}\n",
    ),
];

#[test]
fn how_far_it_has_come_is_counted() {
    assert_eq!(
        far(&[("build.yaml", "name: Case\n")], FAR),
        [
            "places filled for good: 0 → 1 of 6",
            "places filled for mock-up: 0 → 1 of 6",
            "places planned for, or filled in part: 0 → 2 of 6",
            "places empty: 0 → 2 of 6",
            "holes tightened for good: 0 → 1 of 3",
            "holes tightened for mock-up: 0 → 1 of 3",
            "wires tested: 0 → 1 of 3",
            "wires laid in: 0 → 0 of 3",
            "wires crimped: 0 → 0 of 3",
            "wires cut to length: 0 → 1 of 3",
            "wires drawn: 0 → 1 of 3",
            "jobs done: 0 → 1 of 2",
            "send-outs away: 0 → 1",
            "orders awaited: 0 → 1",
            "gaps measured: 0 → 1 of 2",
            "decisions made: 0 → 1 of 2",
            "time spent: 0 → 1.833 h",
            "paid, in EUR: 0 → 422",
            "paid, in GBP: 0 → 20",
        ]
    );
}

#[test]
fn what_can_not_be_read_is_not_counted() {
    let mut torn = FAR.to_vec();
    torn.retain(|(path, _)| *path != "parts/all.yaml");
    torn.push(("parts/all.yaml", "head: {name: Head\n  pieces: [\n"));
    let lines = far(FAR, &torn);
    let counts = |what: &str| lines.iter().any(|line| line.starts_with(what));
    assert!(counts("wires tested: 1 of 3 → 1 of 3"), "{lines:?}");
    assert!(!counts("places") && !counts("paid"), "{lines:?}");
    let folder = |files: &[(&str, &str)]| {
        let files = files.iter();
        let files = files.map(|(path, text)| ((*path).to_owned(), (*text).to_owned()));
        folder(&files.collect())
    };
    let (was, is) = (folder(FAR), folder(&torn));
    assert!(derived(&was, &is).is_empty());
}

#[test]
fn a_hole_is_loose_when_what_it_clamps_came_off_after() {
    let state = |assembly: &str, fitted: &str| {
        let files = [
            ("build.yaml".to_owned(), "name: Case\n".to_owned()),
            (
                "assemblies/all.yaml".to_owned(),
                format!(
                    "engine: {{places: {{head: {{}}}}, joints: {{head: {{clamps: [engine/head], holes: {{a: {{done: {assembly}}}}}}}}}}}\n"
                ),
            ),
            (
                "parts/all.yaml".to_owned(),
                format!("head: {{name: Head, pieces: {{H: {{fitted: {fitted}}}}}}}\n"),
            ),
        ];
        let folder = folder(&files.into_iter().collect());
        let present = Present::of(&folder);
        let joints = &present.joints;
        let hole = &joints[0].holes[0];
        let by = hole
            .loosened
            .as_ref()
            .map(|off| format!("{} {}", off.when, off.what));
        (hole.tight, by)
    };
    let done =
        "[{as: mock-up, when: 2026-01-01, until: 2026-01-02}, {as: final, when: 2026-02-02}]";
    let on =
        |until: &str| format!("[{{as: final, when: 2026-01-01, until: {until}, at: engine/head}}]");
    let again = |until: &str| {
        format!(
            "[{{as: final, when: 2026-01-01, until: {until}, at: engine/head}}, {{as: final, when: {until}, at: engine/head}}]"
        )
    };
    let loose = |day: &str| (None, Some(format!("{day} head/H came off engine/head")));
    let tight = (Some(FittedAs::Final), None);
    assert_eq!(state(done, "[]"), tight);
    assert_eq!(state(done, &on("2026-02-01")), tight);
    assert_eq!(state(done, &on("2026-02-02")), loose("2026-02-02"));
    assert_eq!(state(done, &again("2026-02-02")), tight);
    assert_eq!(state(done, &again("2026-02-03")), loose("2026-02-03"));
    assert_eq!(state("[]", &on("2026-02-03")), (None, None));
    let undone = "[{as: final, when: 2026-02-02, until: 2026-02-02}]";
    assert_eq!(state(undone, &on("2026-02-03")), (None, None));
}
