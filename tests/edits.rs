//! Changes of record files by spans: what each leaves alone, and how they reach the disk.

#![allow(clippy::disallowed_methods)]

mod dice;

use std::ops::Range;
use std::path::Path;

use dice::Dice;
use matchmark::shell::disk::{self, Rewrite};
use matchmark::source::Source;
use matchmark::yaml::edit::{self, Edit, Refusal};
use matchmark::yaml::{self, Node, NodeKind, Reading, Route, Step};
use serde_json::{Value, json};

fn read(text: &str) -> Reading {
    yaml::read(Source::new("parts/all.yaml", text))
}

fn way(steps: &[&str]) -> Route {
    Route(steps.iter().map(|step| Step::from(*step)).collect())
}

fn edits_of(lines: &str, reading: &Reading) -> Vec<Edit> {
    let edits = lines.lines().map(|line| {
        let mut words = line.splitn(3, ' ');
        let (what, pointer) = (words.next().unwrap(), words.next().unwrap());
        let way = Route::from_pointer(pointer, &reading.tree);
        match (what, words.next()) {
            ("set", Some(value)) => Edit::Set {
                way,
                value: serde_json::from_str(value).unwrap(),
            },
            ("remove", None) => Edit::Remove { way },
            _ => panic!("{line}"),
        }
    });
    edits.collect()
}

const MARKS: [(&str, &str); 3] = [("<TAB>", "\t"), ("<CR>", "\r"), ("<BOM>", "\u{FEFF}")];

fn shown(text: &str) -> String {
    let mut shown = text.to_owned();
    for (mark, is) in MARKS {
        shown = shown.replace(is, mark);
    }
    if !shown.ends_with('\n') {
        shown.push_str("<END>\n");
    }
    shown
}

fn unshown(text: &str) -> String {
    let mut is = text.replace("<END>\n", "");
    for (mark, what) in MARKS {
        is = is.replace(mark, what);
    }
    is
}

/// The cases of the table: before, edits, after.
fn cases() -> Vec<(String, String, String, String)> {
    let table = include_str!("reading/edits.txt");
    let cases = table.split("----\n").skip(1).map(|case| {
        let (title, rest) = case.split_once("before:\n").unwrap();
        let (before, rest) = rest.split_once("edits:\n").unwrap();
        let (edits, after) = rest.split_once("after:\n").unwrap();
        (title.into(), before.into(), edits.into(), after.into())
    });
    cases.collect()
}

#[test]
fn the_table_of_edits_holds() {
    let table = include_str!("reading/edits.txt");
    let mut anew = table.split_inclusive("----\n").next().unwrap().to_owned();
    let cases = cases();
    assert!(cases.len() > 50, "only {} cases", cases.len());
    for (number, (title, before, edits, _)) in cases.iter().enumerate() {
        let reading = read(&unshown(before));
        let after = match edit::apply(&reading, &edits_of(edits, &reading)) {
            Ok(text) => shown(&text),
            Err(error) => format!("refused: {error}\n"),
        };
        anew.push_str(&format!(
            "{title}before:\n{before}edits:\n{edits}after:\n{after}"
        ));
        if number + 1 < cases.len() {
            anew.push_str("----\n");
        }
    }
    if std::env::var_os("UPDATE").is_some() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reading/edits.txt");
        std::fs::write(path, &anew).unwrap();
        return;
    }
    let differs = similar::TextDiff::from_lines(table, &anew)
        .unified_diff()
        .to_string();
    assert!(
        differs.is_empty(),
        "{differs}\nread each change; `UPDATE=1 cargo test --test edits` takes them over"
    );
}

/// The files of `tests/schema/valid` and the example, and what the table begins with.
fn texts() -> Vec<String> {
    fn walk(folder: &Path, texts: &mut Vec<String>) {
        let mut inside: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .collect();
        inside.sort();
        for path in inside {
            if path.is_dir() {
                walk(&path, texts);
            } else if path.extension().is_some_and(|ending| ending == "yaml") {
                texts.push(std::fs::read_to_string(path).unwrap());
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut texts = Vec::new();
    walk(&root.join("tests/schema/valid"), &mut texts);
    walk(&root.join("example-build"), &mut texts);
    assert!(texts.len() > 90);
    texts.extend(cases().iter().map(|(_, before, ..)| unshown(before)));
    texts
}

fn maps(node: &Node, at: &Route, all: &mut Vec<Route>) {
    match &node.kind {
        NodeKind::Map(entries) => {
            all.push(at.clone());
            for entry in entries {
                maps(&entry.value, &at.then(&*entry.key.text), all);
            }
        }
        NodeKind::Seq(items) => {
            for (number, item) in items.iter().enumerate() {
                maps(item, &at.then(number), all);
            }
        }
        NodeKind::Scalar { .. } => {}
    }
}

fn our_json(reading: &Reading) -> Value {
    let root = reading.tree.root.as_ref();
    root.map_or_else(|| json!({}), |root| root.to_json(&reading.source))
}

/// What the second reader makes of it; nothing is an empty map to us.
fn their_json(text: &str) -> Option<Value> {
    match serde_yaml::from_str(text.trim_start_matches('\u{FEFF}')) {
        Ok(Value::Null) => Some(json!({})),
        read => read.ok(),
    }
}

fn line_end(text: &str, at: usize) -> usize {
    text[at..].find(['\n', '\r']).map_or(text.len(), |n| at + n)
}

/// The end of the comments straight below a line that are set in so far.
fn comments_end(text: &str, end: usize, column: usize) -> usize {
    let rest = &text[end..];
    let line = rest
        .strip_prefix("\r\n")
        .or_else(|| rest.strip_prefix('\n'));
    let Some(line) = line else { return end };
    let words = line.trim_start_matches([' ', '\t']);
    if line.len() - words.len() < column || !words.starts_with('#') {
        return end;
    }
    comments_end(text, line_end(text, text.len() - words.len()), column)
}

/// Where the change of a map's entry may lie.
fn reach(reading: &Reading, above: &Route, key: &str, gone: bool) -> Range<usize> {
    let text = &reading.source.text;
    let map = reading.tree.node(above).unwrap();
    let span = map.span.range();
    let flow = text[span.clone()].starts_with('{');
    let line_start = |at: usize| {
        text[..at]
            .rfind(['\n', '\u{FEFF}'])
            .map_or(0, |n| n + text[n..].chars().next().unwrap().len_utf8())
    };
    let end_of = |entry: &yaml::Entry| entry.value.span.range().end.max(entry.key.span.range().end);
    let place = map.entries().iter().position(|one| &*one.key.text == key);
    let Some(place) = place else {
        // Behind the last entry and its comments.
        let start = map.entries().last().map_or(span.start, end_of);
        let end = if flow {
            span.end
        } else {
            comments_end(
                text,
                line_end(text, span.end),
                span.start - line_start(span.start),
            )
        };
        return start..end;
    };
    let entry = &map.entries()[place];
    let start = entry.key.span.range().start;
    let end = line_end(text, end_of(entry));
    if !gone {
        return entry.key.span.range().end..end;
    }
    let sole = map.entries().len() == 1;
    let before = place
        .checked_sub(1)
        .map(|place| end_of(&map.entries()[place]));
    let next = map
        .entries()
        .get(place + 1)
        .map(|next| next.key.span.range().start);
    if flow {
        let from = before.unwrap_or(if sole {
            span.start
        } else {
            start.min(line_start(start).max(span.start + 1))
        });
        return from..next.unwrap_or(span.end);
    }
    let end = comments_end(text, end, start - line_start(start) + 1);
    let dashed = !text[line_start(start)..start].trim().is_empty();
    let from = match reading.tree.key(above) {
        Some(key) if sole => key.span.range().end,
        _ if dashed => start,
        _ => text[..start].trim_end().len(),
    };
    // An entry behind a dash leaves its place to the next.
    from..if dashed { next.unwrap_or(end) } else { end }
}

fn comments(reading: &Reading, but: Range<usize>) -> Vec<&str> {
    let kept = reading.tree.comments.iter().map(|comment| comment.span);
    let mut kept: Vec<&str> = kept
        .filter(|span| !but.contains(&span.range().start))
        .map(|span| reading.source.slice(span).trim_end())
        .collect();
    kept.sort_unstable();
    kept
}

#[derive(Debug, Default)]
struct Tally {
    made: usize,
    second: usize,
    back: usize,
    unsafe_: usize,
    comment: usize,
}

/// Thousands of changes, each read by two readers and compared with what was meant.
#[test]
fn any_change_does_what_was_meant_and_nothing_else() {
    let values = [
        json!("engine/head"),
        json!("box #3: the \"long\" one"),
        json!("no"),
        json!("0123"),
        json!("24 N·m"),
        json!("größer\u{85}\u{2028}"),
        json!(""),
        json!("- x"),
        json!(12),
        json!(-1.5),
        json!(true),
        json!(["fuel/injector-1", "2026-03-01"]),
        json!([]),
        json!({"own": "a, b", "until": {"day": "12:30"}}),
    ];
    let cases = std::env::var("PROPTEST_CASES").ok();
    let cases: usize = cases.and_then(|cases| cases.parse().ok()).unwrap_or(1);
    let each = (cases / 200).max(4);
    let mut dice = Dice(0x9E37_79B9_7F4A_7C15);
    let mut tally = Tally::default();
    for text in texts() {
        for form in 0..6 {
            let mut text = text.clone();
            if form & 1 == 1 {
                text = text.replace("\r\n", "\n").replace('\n', "\r\n");
            }
            if form & 2 == 2 {
                let end = text.trim_end_matches(['\n', '\r']).len();
                text.truncate(end);
            }
            if form & 4 == 4 && !text.starts_with('\u{FEFF}') {
                text.insert(0, '\u{FEFF}');
            }
            let reading = read(&text);
            if reading.tree.root.is_none() || !reading.problems.is_empty() {
                continue;
            }
            let mut all = Vec::new();
            maps(
                reading.tree.root.as_ref().unwrap(),
                &Route::default(),
                &mut all,
            );
            for _ in 0..each {
                let above = &all[dice.below(all.len())];
                let entries = reading.tree.node(above).unwrap().entries();
                let known = entries.get(dice.below(entries.len()));
                let value = values[dice.below(values.len())].clone();
                let (key, remove) = match (dice.below(3), known) {
                    (0, Some(known)) => (&*known.key.text, true),
                    (1, Some(known)) => (&*known.key.text, false),
                    _ => (["goes", "on", "a: b"][dice.below(3)], false),
                };
                one(&reading, above, key, (!remove).then_some(value), &mut tally);
            }
        }
    }
    assert!(
        tally.made > 3000 && tally.second > 2500 && tally.back > 800,
        "{tally:?}"
    );
    // A refusal is no harm, but it is a person's work.
    assert!(
        (tally.unsafe_ + tally.comment) * 50 < tally.made,
        "{tally:?}"
    );
}

fn one(reading: &Reading, above: &Route, key: &str, value: Option<Value>, tally: &mut Tally) {
    let text = &reading.source.text;
    let way = above.then(key);
    let edit = match &value {
        Some(value) => Edit::Set {
            way: way.clone(),
            value: value.clone(),
        },
        None => Edit::Remove { way: way.clone() },
    };
    let told = || format!("{edit:?} in\n{text}");
    let after = match edit::apply(reading, std::slice::from_ref(&edit)) {
        Ok(after) => after,
        Err(error) => {
            match error.why {
                Refusal::Unsafe => tally.unsafe_ += 1,
                Refusal::Comment => tally.comment += 1,
                _ => panic!("{error}: {}", told()),
            }
            return;
        }
    };
    tally.made += 1;
    let mut meant = our_json(reading);
    let map = meant.pointer_mut(&above.to_string()).unwrap();
    let was = match &value {
        Some(value) => map
            .as_object_mut()
            .unwrap()
            .insert(key.into(), value.clone()),
        None => map.as_object_mut().unwrap().shift_remove(key),
    };
    let again = read(&after);
    assert_eq!(our_json(&again), meant, "{}", told());
    if their_json(text).is_some_and(|theirs| theirs == our_json(reading)) {
        assert_eq!(their_json(&after), Some(meant), "{}\nmade\n{after}", told());
        tally.second += 1;
    }
    if was == value {
        assert_eq!(&after, text, "{}", told());
        return;
    }
    let reach = reach(reading, above, key, value.is_none());
    assert!(
        after.starts_with(&text[..reach.start]),
        "{}\nmade\n{after}",
        told()
    );
    // The end of the line goes with it.
    let mut behind = text[reach.end..].trim_end();
    let map = reading.tree.node(above).unwrap();
    let last = map.entry(key).or(map.entries().last());
    if last.is_some_and(|last| reading.source.slice(last.value.span).contains('|')) {
        // Empty lines may be a text's own.
        behind = behind.trim_start();
    }
    let behind = behind.strip_prefix('\r').unwrap_or(behind);
    let behind = behind.strip_prefix('\n').unwrap_or(behind);
    assert!(
        after.trim_end().ends_with(behind),
        "{}\nmade\n{after}",
        told()
    );
    // An empty line above the last entry ends the file when that goes.
    let start = reading
        .tree
        .key(&way)
        .map_or(0, |key| key.span.range().start);
    let gap = reach.start.min(start)..start;
    if our_json(&again) != json!({}) && text[gap].matches('\n').count() < 2 {
        assert_eq!(
            after.ends_with('\n'),
            text.ends_with('\n'),
            "{}\nmade\n{after:?}",
            told()
        );
    }
    let lone = |text: &str| text.matches('\n').count() - text.matches("\r\n").count();
    if lone(text) == 0 && text.contains('\n') {
        assert_eq!(lone(&after), 0, "{}\nmade\n{after:?}", told());
    }
    let old = reading.tree.node(&way).map(|node| node.span.range().end);
    let gone = match (&value, old) {
        (None, Some(end)) if text[map.span.range()].starts_with('{') => {
            // A comment behind it goes if it is on the entry's own line.
            let line = text[..start].rfind('\n').map_or(0, |end| end + 1);
            let rest = &text[end..line_end(text, end)];
            let rest = rest.trim_start_matches([' ', ',']);
            let own = text[line..start].trim().is_empty() && rest.starts_with('#');
            start..if own { line_end(text, end) } else { end }
        }
        (None, Some(end)) => {
            let line = text[..start].rfind(['\n', '\u{FEFF}']);
            let line = line.map_or(0, |at| at + text[at..].chars().next().unwrap().len_utf8());
            start..comments_end(text, line_end(text, end), start - line + 1)
        }
        _ => 0..0,
    };
    assert_eq!(
        comments(&again, 0..0),
        comments(reading, gone),
        "{}\nmade\n{after}",
        told()
    );
    // And back again.
    let old = reading
        .tree
        .node(&way)
        .map(|node| reading.source.slice(node.span));
    let undo = match (was, value) {
        (None, Some(_)) => Edit::Remove { way: way.clone() },
        (Some(was), Some(_)) => Edit::Set {
            way: way.clone(),
            value: was,
        },
        _ => return,
    };
    let Ok(back) = edit::apply(&again, &[undo]) else {
        return;
    };
    let back = read(&back);
    let new = back
        .tree
        .node(&way)
        .map(|node| back.source.slice(node.span));
    let scalar = matches!(
        reading.tree.node(&way).map(|node| &node.kind),
        None | Some(NodeKind::Scalar { .. })
    );
    // Of `{ }` the blank is not kept.
    let bare = map.entries().is_empty() && reading.source.slice(map.span) != "{}";
    // Nor that none stood behind a colon.
    let close = reading
        .tree
        .node(&way)
        .is_some_and(|node| text[..node.span.range().start].ends_with(':'));
    if old == new && scalar && !bare && !close {
        assert_eq!(&back.source.text, text, "{}\nmade\n{after}", told());
        tally.back += 1;
    }
}

#[test]
fn what_no_reader_would_agree_on_is_not_written() {
    let reading = read("head: {name: Head}\n");
    for value in [
        json!(null),
        json!(1e300),
        json!([9_007_199_254_740_993_i64]),
    ] {
        let set = Edit::Set {
            way: way(&["head", "goes"]),
            value,
        };
        assert_eq!(
            edit::apply(&reading, &[set]).unwrap_err().why,
            Refusal::Unwritable
        );
    }
}

/// A folder with two files of parts.
fn bench() -> (tempfile::TempDir, [Rewrite; 2]) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("parts")).unwrap();
    let files = ["parts/a.yaml", "parts/b.yaml"].map(|path| {
        std::fs::write(folder.path().join(path), "old\n").unwrap();
        Rewrite {
            path: path.into(),
            was: b"old\n".to_vec(),
            is: b"new\n".to_vec(),
        }
    });
    (folder, files)
}

fn held(folder: &Path) -> [String; 2] {
    ["a", "b"]
        .map(|name| std::fs::read_to_string(folder.join(format!("parts/{name}.yaml"))).unwrap())
}

/// Nothing is left lying about.
fn tidy(folder: &Path) -> bool {
    std::fs::read_dir(folder.join("parts")).unwrap().count() == 2
}

#[test]
fn files_are_written_all_together() {
    let (folder, files) = bench();
    disk::rewrite(folder.path(), &files).unwrap();
    assert_eq!(held(folder.path()), ["new\n", "new\n"]);
    assert!(tidy(folder.path()));
}

#[test]
fn a_file_that_was_changed_since_stops_all() {
    let (folder, files) = bench();
    std::fs::write(folder.path().join("parts/b.yaml"), "theirs\n").unwrap();
    let error = disk::rewrite(folder.path(), &files)
        .unwrap_err()
        .to_string();
    assert!(error.ends_with(
        "parts/b.yaml was changed while this was at work, and nothing is written; do it once more"
    ), "{error}");
    assert_eq!(held(folder.path()), ["old\n", "theirs\n"]);
    assert!(tidy(folder.path()));
    std::fs::remove_file(folder.path().join("parts/b.yaml")).unwrap();
    disk::rewrite(folder.path(), &files).unwrap_err();
    assert_eq!(
        std::fs::read_to_string(folder.path().join("parts/a.yaml")).unwrap(),
        "old\n"
    );
}

#[cfg(unix)]
#[test]
fn rights_stay_and_links_are_left_alone() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let (folder, files) = bench();
    let a = folder.path().join("parts/a.yaml");
    let b = folder.path().join("parts/b.yaml");
    std::fs::set_permissions(&a, std::fs::Permissions::from_mode(0o640)).unwrap();
    disk::rewrite(folder.path(), &files).unwrap();
    assert_eq!(a.metadata().unwrap().permissions().mode() & 0o7777, 0o640);

    let (folder, files) = (
        folder,
        files.map(|file| Rewrite {
            was: b"new\n".to_vec(),
            is: b"third\n".to_vec(),
            ..file
        }),
    );
    std::fs::set_permissions(&b, std::fs::Permissions::from_mode(0o444)).unwrap();
    let error = disk::rewrite(folder.path(), &files)
        .unwrap_err()
        .to_string();
    assert!(
        error.ends_with("parts/b.yaml can't be written: it is read-only"),
        "{error}"
    );

    let elsewhere = folder.path().join("elsewhere.yaml");
    std::fs::rename(&b, &elsewhere).unwrap();
    symlink(&elsewhere, &b).unwrap();
    let error = disk::rewrite(folder.path(), &files)
        .unwrap_err()
        .to_string();
    assert!(
        error.ends_with("parts/b.yaml can't be written: it is a link"),
        "{error}"
    );
    assert_eq!(held(folder.path()), ["new\n", "new\n"]);
    assert!(tidy(folder.path()));

    std::fs::rename(folder.path().join("parts"), folder.path().join("away")).unwrap();
    symlink(folder.path().join("away"), folder.path().join("parts")).unwrap();
    let error = disk::rewrite(folder.path(), &files)
        .unwrap_err()
        .to_string();
    assert!(
        error.ends_with("parts can't be written: it is no folder, but a link or a file"),
        "{error}"
    );
    assert_eq!(held(folder.path()), ["new\n", "new\n"]);
}
