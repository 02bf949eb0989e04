//! The example's history: it is true, it ends in the newest state, and `demo` lays
//! it out and shows a slip being refused.
//!
//! `UPDATE=1` writes the last patch anew, so that it ends in the newest state.
//! `UPDATE=all` carries each change back to the commit that its lines came in with.

#![allow(clippy::disallowed_methods)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use git2::{DiffFormat, DiffOptions, FileFavor, FileMode, MergeFileInput, MergeFileOptions};
use git2::{Oid, Repository};
use matchmark::example;
use matchmark::patch::Patch;
use matchmark::shell::replay;
use tempfile::TempDir;

/// What lies in a commit: paths, and what is in them.
type State = BTreeMap<String, Vec<u8>>;

const PATCHES: &str = "example-build/.history";

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The newest state, as it lies on the disk.
fn newest() -> State {
    fn walk(top: &Path, folder: &Path, state: &mut State) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.file_name().unwrap().to_string_lossy().starts_with('.') {
                continue;
            }
            if path.is_dir() {
                walk(top, &path, state);
            } else {
                let inner = path.strip_prefix(top).unwrap();
                let inner = inner.to_string_lossy().replace('\\', "/");
                state.insert(inner, std::fs::read(&path).unwrap());
            }
        }
    }
    let mut state = State::new();
    let top = root().join("example-build");
    walk(&top, &top, &mut state);
    state
}

fn patches() -> Vec<Patch> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(root().join(PATCHES))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    paths
        .iter()
        .map(|path| {
            let name = path.file_name().unwrap().to_string_lossy();
            Patch::read(&name, &std::fs::read_to_string(path).unwrap()).unwrap()
        })
        .collect()
}

/// The commits' names and what lies in each, oldest first.
fn replayed(patches: &[Patch]) -> (Vec<Oid>, Vec<State>) {
    let folder = tempfile::tempdir().unwrap();
    let newest = newest();
    let files: Vec<(&str, &[u8])> = newest
        .iter()
        .map(|(path, bytes)| (path.as_str(), bytes.as_slice()))
        .collect();
    replay::replay(folder.path(), patches, &files).unwrap();
    let repo = Repository::open(folder.path()).unwrap();
    let mut ids = Vec::new();
    let mut states = Vec::new();
    let mut next = Some(repo.head().unwrap().peel_to_commit().unwrap());
    while let Some(commit) = next {
        let mut state = State::new();
        commit
            .tree()
            .unwrap()
            .walk(git2::TreeWalkMode::PreOrder, |folder, entry| {
                if let Ok(blob) = entry.to_object(&repo).unwrap().into_blob() {
                    let path = format!("{folder}{}", entry.name().unwrap());
                    state.insert(path, blob.content().to_vec());
                }
                git2::TreeWalkResult::Ok
            })
            .unwrap();
        ids.push(commit.id());
        states.push(state);
        next = commit.parent(0).ok();
    }
    ids.reverse();
    states.reverse();
    (ids, states)
}

fn day(patch: &Patch) -> String {
    let offset = jiff::tz::Offset::from_seconds(patch.offset * 60).unwrap();
    let at = jiff::Timestamp::from_second(patch.seconds).unwrap();
    offset.to_datetime(at).date().to_string()
}

/// The days in a text that lie after `day`, with their lines. What is expected of
/// somebody may lie ahead.
fn later(text: &[u8], day: &str) -> Vec<String> {
    let ahead =
        |key: &str| ["due", "promised", "wanted", "needed"].contains(&key) || key.ends_with("-by");
    let mut later = Vec::new();
    let Ok(text) = std::str::from_utf8(text) else {
        return later;
    };
    for (number, line) in text.lines().enumerate() {
        let bytes = line.as_bytes();
        for start in 0..bytes.len().saturating_sub(9) {
            let found = &bytes[start..start + 10];
            let is_day = found.iter().enumerate().all(|(at, byte)| match at {
                4 | 7 => *byte == b'-',
                _ => byte.is_ascii_digit(),
            });
            let before = line.get(..start).unwrap_or_default().trim_end();
            let key = before.strip_suffix(':').unwrap_or_default();
            let key = key.rsplit([' ', '{', ',']).next().unwrap_or_default();
            if is_day && found > day.as_bytes() && !ahead(key) {
                later.push(format!("line {}: {}", number + 1, line.trim()));
            }
        }
    }
    later
}

fn is_picture(path: &str) -> bool {
    path.ends_with(".png")
}

/// A patch anew, out of the states before and after it.
fn rewritten(patch: &Patch, before: &State, after: &State) -> String {
    let folder = tempfile::tempdir().unwrap();
    let repo = Repository::init(folder.path()).unwrap();
    let tree = |state: &State| {
        let mut index = git2::Index::new().unwrap();
        for (path, bytes) in state.iter().filter(|(path, _)| !is_picture(path)) {
            let id = repo.blob(bytes).unwrap();
            let zero = git2::IndexTime::new(0, 0);
            index
                .add(&git2::IndexEntry {
                    ctime: zero,
                    mtime: zero,
                    dev: 0,
                    ino: 0,
                    mode: u32::from(FileMode::Blob),
                    uid: 0,
                    gid: 0,
                    file_size: 0,
                    id,
                    flags: 0,
                    flags_extended: 0,
                    path: path.as_bytes().to_vec(),
                })
                .unwrap();
        }
        repo.find_tree(index.write_tree_to(&repo).unwrap()).unwrap()
    };
    let mut options = DiffOptions::new();
    options.id_abbrev(7);
    let diff = repo
        .diff_tree_to_tree(Some(&tree(before)), Some(&tree(after)), Some(&mut options))
        .unwrap();
    let mut text = String::new();
    diff.print(DiffFormat::Patch, |_, _, line| {
        if matches!(line.origin(), '+' | '-' | ' ') {
            text.push(line.origin());
        }
        text.push_str(std::str::from_utf8(line.content()).unwrap());
        true
    })
    .unwrap();
    let pictures: Vec<String> = after
        .iter()
        .filter(|(path, bytes)| is_picture(path) && before.get(*path) != Some(*bytes))
        .map(|(path, _)| path.clone())
        .collect();
    patch.rewritten(&pictures, &text)
}

/// The errors that a state has on its day.
fn errors(state: &State, day: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    for (path, bytes) in state.iter().filter(|(path, _)| !is_picture(path)) {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    let output = Command::cargo_bin("matchmark")
        .unwrap()
        .args(["check", "--level", "error", "--as-of", day])
        .arg(folder.path())
        .output()
        .unwrap();
    if output.status.success() {
        return String::new();
    }
    String::from_utf8(output.stdout).unwrap()
}

/// How many they are.
fn faults(state: &State, day: &str) -> usize {
    errors(state, day).matches(": error: ").count()
}

/// A change of some lines: those that were, and those that are.
type Change<'a> = (Vec<&'a str>, Vec<&'a str>);

/// What a file was and is, in the order of its lines: what stayed, and what changed.
/// Changes no more than some lines apart are one, for they belong together.
fn changes<'a>(was: &'a str, is: &'a str, apart: usize) -> Vec<Change<'a>> {
    let [was, is] = [was, is].map(|text| text.split_inclusive('\n').collect::<Vec<&str>>());
    let mut changes: Vec<Change<'_>> = Vec::new();
    let ops = similar::TextDiff::from_slices(&was, &is).ops().to_vec();
    for (number, op) in ops.iter().enumerate() {
        let same = op.tag() == similar::DiffTag::Equal;
        let inner = number > 0 && number + 1 < ops.len();
        let joins = number > 0 && (!same || inner && op.old_range().len() <= apart);
        let lines = (&was[op.old_range()], &is[op.new_range()]);
        match changes.last_mut() {
            Some((old, new)) if joins && (old != new || same) => {
                old.extend(lines.0);
                new.extend(lines.1);
            }
            _ => changes.push((lines.0.to_vec(), lines.1.to_vec())),
        }
    }
    changes
}

/// What a state's file becomes on its day if what changed at the end changes in it
/// where it has the same lines.
fn carried_into(ours: &[u8], was: &[u8], is: &[u8], day: &str) -> Vec<u8> {
    let [was_text, is_text] = [was, is].map(|bytes| std::str::from_utf8(bytes).unwrap());
    let known = |lines: &[&str]| later(lines.concat().as_bytes(), day).is_empty();
    let mut theirs = String::new();
    let mut single: Vec<(&str, &str)> = Vec::new();
    for (old, new) in changes(was_text, is_text, 3) {
        theirs.push_str(&if known(&new) { new } else { old }.concat());
    }
    for (old, new) in changes(was_text, is_text, 0) {
        if old.len() == new.len() && old != new {
            single.extend(old.into_iter().zip(new));
        }
    }
    let [mut base, mut side, mut other] = [(); 3].map(|()| MergeFileInput::new());
    base.content(was);
    side.content(ours);
    other.content(theirs.as_bytes());
    let mut options = MergeFileOptions::new();
    options.favor(FileFavor::Ours);
    let merged = git2::merge_file(&base, &side, &other, Some(&mut options)).unwrap();
    let mut text = std::str::from_utf8(merged.content()).unwrap().to_owned();
    // A merge leaves a line alone whose neighbour differs; told by itself it may change.
    for (old, new) in single {
        let once = was_text.matches(old).count() == 1 && text.matches(old).count() == 1;
        if once && known(&[new]) {
            text = text.replace(old, new);
        }
    }
    text.into_bytes()
}

fn with(state: &State, path: &str, bytes: &[u8]) -> State {
    let mut other = state.clone();
    other.insert(path.to_owned(), bytes.to_vec());
    other
}

/// The states with what is new in the last one carried back: where the lines of a
/// state are those of the old end they change as the end does, and a new file comes
/// in as soon as it can; but no sooner than the days it speaks of, and not where a
/// state would be left with more errors.
fn carried(states: &[State], patches: &[Patch], newest: &State) -> Vec<State> {
    let old = states.last().unwrap();
    let new: Vec<&String> = newest
        .keys()
        .filter(|path| !old.contains_key(*path))
        .collect();
    let mut carried: Vec<State> = Vec::new();
    for (before, patch) in states.iter().zip(patches) {
        let day = day(patch);
        let mut state = before.clone();
        state.retain(|path, _| newest.contains_key(path) || !old.contains_key(path));
        for (path, bytes) in &mut state {
            if let (Some(was), Some(is)) = (old.get(path), newest.get(path))
                && !is_picture(path)
                && was != is
            {
                *bytes = carried_into(bytes, was, is, &day);
            }
        }
        let there = |path: &str| carried.last().is_some_and(|state| state.contains_key(path));
        for path in &new {
            if there(path) {
                state.insert((*path).clone(), newest[*path].clone());
            }
        }
        let mut left = faults(&state, &day);
        for path in new.iter().filter(|path| !there(path) && !is_picture(path)) {
            if later(&newest[*path], &day).is_empty() {
                let other = with(&state, path, &newest[*path]);
                let faults = faults(&other, &day);
                if faults <= left {
                    (state, left) = (other, faults);
                }
            }
        }
        for (path, bytes) in before.iter().filter(|(path, _)| !is_picture(path)) {
            if left > 0 && state.get(path).is_some_and(|now| now != bytes) {
                let other = with(&state, path, bytes);
                let faults = faults(&other, &day);
                if faults < left {
                    (state, left) = (other, faults);
                }
            }
        }
        carried.push(state);
    }
    *carried.last_mut().unwrap() = newest.clone();
    carried
}

/// Where two states differ first: file and line.
fn difference(is: &State, should: &State) -> Option<String> {
    let mut paths: Vec<&String> = is.keys().chain(should.keys()).collect();
    paths.sort();
    for path in paths {
        let line = match (is.get(path), should.get(path)) {
            (is, should) if is == should => continue,
            (None, _) => "the history has no such file".to_owned(),
            (_, None) => "only the history has it".to_owned(),
            (Some(is), Some(should)) => {
                let [is, should] = [is, should].map(|bytes| String::from_utf8_lossy(bytes));
                let same = is.lines().zip(should.lines()).take_while(|(a, b)| a == b);
                let number = same.count();
                let line = |text: &str| text.lines().nth(number).unwrap_or("(end)").to_owned();
                return Some(format!(
                    "example-build/{path}:{}:\n  there:       {}\n  the history: {}",
                    number + 1,
                    line(&should),
                    line(&is)
                ));
            }
        };
        return Some(format!("example-build/{path}: {line}"));
    }
    None
}

#[test]
fn the_history_ends_in_the_newest_state() {
    let patches = patches();
    let (_, states) = replayed(&patches);
    let newest = newest();
    let update = std::env::var("UPDATE").unwrap_or_default();
    if !update.is_empty() {
        let wanted = match update.as_str() {
            "all" => carried(&states, &patches, &newest),
            _ => states[..states.len() - 1]
                .iter()
                .chain([&newest])
                .cloned()
                .collect(),
        };
        let from = if update == "all" {
            0
        } else {
            patches.len() - 1
        };
        for number in from..patches.len() {
            let before = match number {
                0 => State::new(),
                _ => wanted[number - 1].clone(),
            };
            let text = rewritten(&patches[number], &before, &wanted[number]);
            std::fs::write(root().join(PATCHES).join(&patches[number].name), text).unwrap();
        }
        return;
    }
    if let Some(difference) = difference(states.last().unwrap(), &newest) {
        panic!(
            "the history ends in something else than example-build:\n{difference}\n\
             `UPDATE=1 cargo test --test history` writes its last patch anew; \
             `UPDATE=all` carries the change back to where its lines came in"
        );
    }
    // What is in the binary is what lies here.
    let inside: State = example::files()
        .into_iter()
        .map(|(path, bytes)| (path.to_owned(), bytes.to_vec()))
        .collect();
    assert_eq!(
        difference(&inside, &newest),
        None,
        "`touch src/example.rs`, and build again"
    );
    assert!(example::history().unwrap() == patches, "build again");
}

/// No change is lost where it could be carried back, and no day is told too early.
#[test]
fn a_change_is_carried_back_to_where_its_lines_came_in() {
    let patches = patches();
    let (_, states) = replayed(&patches);
    // A few of them, for each is checked.
    let few = [0, 2, 4, patches.len() - 2, patches.len() - 1];
    let patches = few.map(|number| patches[number].clone());
    let states = few.map(|number| states[number].clone());
    let mut newest = states.last().unwrap().clone();
    let mut change = |path: &str, was: &str, is: &str| {
        let text = String::from_utf8(newest[path].clone()).unwrap();
        assert_eq!(text.matches(was).count(), 1);
        newest.insert(path.to_owned(), text.replace(was, is).into_bytes());
    };
    change("donors/vehicles.yaml", "model: Ferryman", "model: Carrier");
    change(
        "donors/old-stock.yaml",
        "kind: dealer",
        "kind: dealer\n  gone: 2026-03-14",
    );
    let file = b"strap: {name: Strap, pieces: {S1: {donor: kestow-pickup}}}\n";
    newest.insert("parts/straps.yaml".to_owned(), file.to_vec());
    let carried = carried(&states, &patches, &newest);
    let model = |state: &State, model: &str| {
        let text = String::from_utf8_lossy(&state["donors/vehicles.yaml"]).into_owned();
        text.contains(&format!("model: {model}\n"))
    };
    assert!(carried.iter().all(|state| model(state, "Carrier")));
    let gone = |state: &State| match state.get("donors/old-stock.yaml") {
        Some(bytes) => String::from_utf8_lossy(bytes).contains("gone: 2026-03-14"),
        None => false,
    };
    for (state, patch) in carried.iter().zip(&patches) {
        assert_eq!(
            gone(state),
            day(patch).as_str() >= "2026-03-14",
            "{}",
            patch.name
        );
    }
    // The pick-up whose strap it is was bought with the second.
    let strap = carried
        .iter()
        .position(|state| state.contains_key("parts/straps.yaml"));
    assert_eq!(strap, Some(1));
    assert_eq!(carried.last(), Some(&newest));
    // Written as patches and replayed, they are the same states again.
    let mut before = State::new();
    let again: Vec<Patch> = patches
        .iter()
        .zip(&carried)
        .map(|(patch, state)| {
            let text = rewritten(patch, &before, state);
            before.clone_from(state);
            Patch::read(&patch.name, &text).unwrap()
        })
        .collect();
    assert_eq!(replayed(&again).1, carried);
}

#[test]
fn the_patches_are_plain_mail() {
    let patches = patches();
    let (_, states) = replayed(&patches);
    let mut before = &State::new();
    for (patch, state) in patches.iter().zip(&states) {
        assert!(
            rewritten(patch, before, state) == format!("{}{}", patch.head, patch.diff),
            "{} is not as git would write it; `UPDATE=all cargo test --test history` does",
            patch.name
        );
        before = state;
    }
    for (number, patch) in patches.iter().enumerate() {
        let name = &patch.name;
        assert!(name.starts_with(&format!("{:02}-", number + 1)), "{name}");
        assert!(name.ends_with(".patch"), "{name}");
        assert!(patch.subject().chars().count() <= 60, "{name}");
        assert!(
            patch.message.lines().all(|line| line.chars().count() <= 72),
            "{name}"
        );
        assert!(!patch.diff.contains("GIT binary patch"), "{name}");
        assert!(
            ["builder", "helper"].contains(&patch.who.as_str()),
            "{name}"
        );
        assert_eq!(patch.address, format!("{}@example.invalid", patch.who));
    }
}

#[test]
fn it_is_the_work_of_many_evenings() {
    let patches = patches();
    let gaps: Vec<i64> = patches
        .windows(2)
        .map(|two| two[1].seconds - two[0].seconds)
        .collect();
    assert!(gaps.iter().all(|gap| *gap > 0), "time runs backwards");
    let hour = 3600;
    let sessions = 1 + gaps.iter().filter(|gap| **gap > 8 * hour).count();
    assert!(sessions >= 5, "{sessions} sessions");
    assert!(gaps.iter().any(|gap| *gap < 2 * hour));
    assert!(gaps.iter().any(|gap| *gap > 6 * 24 * hour));
}

/// What can be done with a few records may not be done with a build of the usual size.
#[test]
fn it_is_as_large_as_a_real_one_and_as_little_finished() {
    let newest = newest();
    let records = |kind: &str| -> Vec<serde_yaml::Value> {
        let of_kind = newest
            .iter()
            .filter(|(path, _)| path.starts_with(&format!("{kind}/")) && !is_picture(path));
        let files = of_kind.map(|(_, bytes)| {
            let file: serde_yaml::Mapping = serde_yaml::from_slice(bytes).unwrap();
            file.into_iter().map(|(_, record)| record)
        });
        files.flatten().collect()
    };
    let least = |kind: &str, least: usize| {
        let there = records(kind).len();
        assert!(there >= least, "{there} {kind}");
    };
    least("donors", 3);
    least("assemblies", 12);
    least("parts", 150);
    least("photos", 30);
    least("decisions", 15);
    least("fasteners", 120);
    let joints = |assembly: &serde_yaml::Value| {
        let joints = assembly.get("joints");
        joints
            .and_then(serde_yaml::Value::as_mapping)
            .map_or(0, serde_yaml::Mapping::len)
    };
    let joints: usize = records("assemblies").iter().map(joints).sum();
    assert!(joints >= 60, "{joints} joints");
    let parts = records("parts");
    let pieces = |part: &serde_yaml::Value| {
        let pieces = part.get("pieces").and_then(serde_yaml::Value::as_mapping);
        pieces.map_or(0, serde_yaml::Mapping::len)
    };
    let pieces: usize = parts.iter().map(pieces).sum();
    assert!(pieces >= 250, "{pieces} pieces");

    let folder = tempfile::tempdir().unwrap();
    for (path, bytes) in &newest {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    let day = day(patches().last().unwrap());
    let output = Command::cargo_bin("matchmark")
        .unwrap()
        .args(["check", "--as-of", &day])
        .arg(folder.path())
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{said}");
    let warnings = said.matches(": warning: ").count();
    assert!((5..=12).contains(&warnings), "{warnings} warnings:\n{said}");
}

/// Each commit's records check clean, and know of no day that was still to come.
#[test]
fn each_commit_is_true_on_its_day() {
    let patches = patches();
    let (_, states) = replayed(&patches);
    for (patch, state) in patches.iter().zip(&states) {
        for (path, bytes) in state {
            let told = later(bytes, &day(patch));
            assert!(told.is_empty(), "{}: {path}: {told:?}", patch.name);
        }
        assert_eq!(errors(state, &day(patch)), "", "{}", patch.name);
    }
}

#[test]
fn two_replays_make_the_same_commits() {
    let patches = patches();
    assert_eq!(replayed(&patches).0, replayed(&patches).0);
}

#[test]
fn what_does_not_fit_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let mut patches = patches();
    let error = replay::replay(&folder.path().join("a"), &patches[1..], &[]).unwrap_err();
    let said = error.to_string();
    assert!(
        said.starts_with("02-") && said.contains("does not apply"),
        "{said}"
    );
    patches[0].pictures = vec!["photos/p-999.png".to_owned()];
    let error = replay::replay(&folder.path().join("b"), &patches, &[]).unwrap_err();
    assert!(
        error
            .to_string()
            .ends_with("names a picture that is not there: photos/p-999.png"),
        "{error}"
    );
}

/// A bench whose user has the most disturbing settings.
fn disturbed() -> TempDir {
    let home = tempfile::tempdir().unwrap();
    std::fs::create_dir(home.path().join("hooks")).unwrap();
    std::fs::create_dir(home.path().join("work")).unwrap();
    let hook = home.path().join("hooks/pre-commit");
    std::fs::write(&hook, "#!/bin/sh\nexit 1\n").unwrap();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        std::fs::set_permissions(&hook, std::fs::Permissions::from_mode(0o755)).unwrap();
    }
    let home_path = home.path().display();
    std::fs::write(
        home.path().join(".gitconfig"),
        format!(
            "[user]\n\tname = Somebody\n\temail = somebody@example.invalid\n\
             [core]\n\tautocrlf = true\n\tabbrev = 20\n\thooksPath = {home_path}/hooks\n\
             [commit]\n\tgpgsign = true\n\tverbose = true\n\
             [init]\n\tdefaultBranch = trunk\n\ttemplateDir = {home_path}\n\
             [color]\n\tui = always\n[log]\n\tdate = relative\n"
        ),
    )
    .unwrap();
    home
}

fn demo(home: &Path, path: Option<&str>) -> (i32, String, String) {
    let mut command = Command::cargo_bin("matchmark").unwrap();
    command
        .args(["demo", "lark"])
        .current_dir(home.join("work"))
        .env("HOME", home)
        .env("XDG_CONFIG_HOME", home)
        .env("TZ", "Pacific/Auckland")
        .env_remove("CLICOLOR_FORCE");
    if let Some(path) = path {
        command.env("PATH", path);
    }
    let output = command.output().unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

/// Git itself, as the user of `home` has set it up, or with no settings at all.
fn git(home: Option<&Path>, folder: &Path, words: &[&str]) -> String {
    let nothing = tempfile::tempdir().unwrap();
    let output = std::process::Command::new("git")
        .args(words)
        .current_dir(folder)
        .env("HOME", home.unwrap_or(nothing.path()))
        .env("XDG_CONFIG_HOME", nothing.path())
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env_remove("GIT_DIR")
        .env_remove("GIT_INDEX_FILE")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "git {words:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

/// The lines that are read in one go: an evening, and two questions after it.
const PAGE: usize = 116;

#[test]
fn the_demonstration_is_the_same_for_everybody() {
    let plain = tempfile::tempdir().unwrap();
    std::fs::create_dir(plain.path().join("work")).unwrap();
    let home = disturbed();
    let first = demo(plain.path(), None);
    let (code, out, err) = first.clone();
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    assert_eq!(first, demo(home.path(), None));

    // An evening at the bench, on one page.
    assert!(out.lines().count() <= PAGE, "{out}");
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    assert!(out.contains("has no cavity `5`"), "{out}");
    assert!(out.contains("\nThe commit is refused: 1 error"), "{out}");
    let typed = "$ git commit --all --message \"Crimp the bay side of the sensor earth\"\n";
    assert_eq!(out.matches(typed).count(), 2, "{out}");
    let (_, mended) = out.rsplit_once(typed).unwrap();
    assert!(mended.starts_with("matchmark: no errors, "), "{out}");
    assert!(mended.contains("\n[main "), "{out}");

    let [one, other] = [plain.path(), home.path()].map(|home| home.join("work/lark"));
    let log = ["log", "--format=%H %an %ae %cn %ce %aI %cI %s", "--reverse"];
    let said = git(None, &one, &log);
    assert_eq!(said, git(None, &other, &log));
    let (ids, _) = replayed(&patches());
    assert_eq!(said.lines().count(), ids.len() + 1);
    for (line, id) in said.lines().zip(&ids) {
        assert!(line.starts_with(&id.to_string()), "{line}");
    }
    assert_eq!(
        said.lines().next().unwrap().split_once(' ').unwrap().1,
        "builder builder@example.invalid builder builder@example.invalid \
         2026-01-03T20:45:00+01:00 2026-01-03T20:45:00+01:00 Two donors in the yard"
    );
    git(None, &other, &["fsck", "--strict"]);
    // Nothing is left over, whatever the user's git thinks of line ends.
    for home in [None, Some(home.path())] {
        let status = ["status", "--porcelain", "--branch", "--ignored"];
        let status = git(home, &other, &status).replace("\u{1b}[32m", "");
        assert_eq!(status.replace("\u{1b}[m", ""), "## main\n");
    }
    // What is laid out is the newest state and the evening on top of it; nothing hidden.
    git(None, &other, &["checkout", "--quiet", "HEAD~1"]);
    let mut laid = State::new();
    for path in git(None, &other, &["ls-files"]).lines() {
        laid.insert(path.to_owned(), std::fs::read(other.join(path)).unwrap());
    }
    assert_eq!(difference(&laid, &newest()), None);
    assert!(!other.join(".history").exists());
}

#[test]
fn without_git_the_check_is_shown() {
    let home = tempfile::tempdir().unwrap();
    std::fs::create_dir(home.path().join("work")).unwrap();
    let (code, out, err) = demo(home.path(), Some(""));
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    assert!(out.contains("Git is not installed"), "{out}");
    assert!(out.contains("has no cavity `5`"), "{out}");
    assert!(!out.contains("$ git "), "{out}");
    assert!(out.lines().count() <= PAGE, "{out}");
    assert!(out.lines().all(|line| line.chars().count() <= 80), "{out}");
    assert_eq!(out.matches("$ matchmark check").count(), 3, "{out}");
}
