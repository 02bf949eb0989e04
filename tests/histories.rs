//! Real histories, made by git itself: what `changes`, its sessions and `trail` tell of them.
//!
//! The judges know nothing of ours. A state is what `git archive` writes out of a commit,
//! read by another reader of YAML; sessions are counted from `git log`; a record's life is
//! found by looking at every commit there is.

#![allow(clippy::disallowed_methods)]
#![cfg(unix)]

mod bench;
mod dice;
#[allow(dead_code)]
mod hand;

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use bench::Bench;
use dice::Dice;
use hand::edits::{EDITS, File, library, one_edit, some_files};
use serde_json::{Value, json};

/// The folders whose files hold records.
const KINDS: [&str; 11] = [
    "donors",
    "parts",
    "assemblies",
    "fasteners",
    "plugs",
    "routes",
    "circuits",
    "clearances",
    "jobs",
    "decisions",
    "photos",
];

/// Records by what a reference calls them: `parts/injector`, `build`.
type State = BTreeMap<String, Value>;

/// A repository with a build in it.
struct Past {
    bench: Bench,
    /// The folder to type in.
    at: &'static str,
    /// Where in the repository the build lies, or lay.
    lies: &'static [&'static str],
    states: RefCell<BTreeMap<String, State>>,
    day: u32,
    minute: u32,
}

impl Past {
    fn new(init: &str) -> Self {
        let mut past = Self {
            bench: Bench::new(),
            at: ".",
            lies: &[""],
            states: RefCell::default(),
            day: 0,
            minute: 0,
        };
        past.later(1);
        past.types(&format!("git init -q -b main {init}"));
        past
    }

    /// Some days later, in the evening.
    fn later(&mut self, days: u32) {
        self.day += days;
        self.minute = 0;
        self.ticks(0);
    }

    fn ticks(&mut self, minutes: u32) {
        self.minute += minutes;
        let (month, day) = (1 + self.day / 28, 1 + self.day % 28);
        let (hour, minute) = (19 + self.minute / 60, self.minute % 60);
        self.bench.clock = format!("2025-{month:02}-{day:02} {hour:02}:{minute:02}");
    }

    /// What was typed must work, and say nothing.
    fn types(&self, line: &str) {
        let said = self.bench.types(line);
        assert!(said.is_empty(), "$ {line}\n{said}");
    }

    /// The answer to what was typed.
    fn asks(&self, line: &str) -> String {
        let answer = self.bench.path("answer");
        self.types(&format!(
            "cd {} && {{ {line}; }} > {}",
            self.at,
            answer.display()
        ));
        std::fs::read_to_string(answer).unwrap()
    }

    fn asks_json(&self, line: &str) -> Value {
        let answer = self.asks(line);
        serde_json::from_str(&answer).unwrap_or_else(|why| panic!("{line}: {why}\n{answer}"))
    }

    fn writes(&self, file: &str, text: &str) {
        self.bench.writes(file, text);
    }

    /// Only these files, in the folder of the build.
    fn holds(&self, folder: &str, files: &[File]) {
        self.types(&format!(
            "mkdir -p ./{folder} && find ./{folder} -name '*.yaml' -delete"
        ));
        for file in files {
            self.writes(&format!("{folder}{}", file.path), &file.text);
        }
    }

    fn commits(&mut self, message: &str) {
        self.ticks(7);
        self.types(&format!(
            "git add -A && git commit -q --allow-empty -m '{message}'"
        ));
    }

    /// All commits with their parents, newest first.
    fn log(&self) -> Vec<(String, Vec<String>)> {
        let log = self.asks("git log --topo-order --format='%H %P' HEAD");
        let lines = log.lines().map(|line| {
            let mut names = line.split_whitespace().map(str::to_owned);
            (names.next().unwrap(), names.collect())
        });
        lines.collect()
    }

    /// What a commit holds of the build, by git and another reader.
    fn state(&self, commit: &str) -> State {
        if let Some(state) = self.states.borrow().get(commit) {
            return state.clone();
        }
        let holds = |lies: &&&str| {
            let tree = format!(
                "git rev-parse -q --verify {commit}:{lies} -- >/dev/null && echo yes; true"
            );
            self.asks(&tree).contains("yes")
        };
        let mut state = State::new();
        if let Some(lies) = self.lies.iter().find(holds) {
            let out = self.bench.path("out");
            let out = out.display();
            self.types(&format!(
                "rm -rf {out} && mkdir {out} && git archive --format=tar {commit}:{lies} | tar -x -C {out}"
            ));
            read(&self.bench.path("out"), "", &mut state);
        }
        let mut known = self.states.borrow_mut();
        known.insert(commit.to_owned(), state.clone());
        state
    }

    /// What `changes` tells of two commits makes the one of the other.
    fn judge_changes(&self, since: &str, until: &str) {
        let answer = self.asks_json(&format!("matchmark changes {since} {until} --format json"));
        let (was, is) = (self.state(since), self.state(until));
        // All records are compared; that a conflict may be hidden by what looks like a record
        // in a record is said beside its file.
        let left_out = answer["not_compared"].as_array().unwrap().iter();
        let why = |one: &&Value| one["why"].as_str().unwrap().contains("only be hidden");
        assert_eq!(left_out.filter(|one| !why(one)).count(), 0, "{answer:#}");
        let made = applied(&was, &answer["records"]);
        assert_eq!(made, is, "from {since} to {until}: {}", answer["records"]);
        let names: BTreeSet<&String> = was.keys().chain(is.keys()).collect();
        let differ: BTreeSet<&str> = names
            .into_iter()
            .filter(|name| was.get(*name) != is.get(*name))
            .map(String::as_str)
            .collect();
        let records = answer["records"].as_array().unwrap();
        let named = records.iter().flat_map(|one| [&one["record"], &one["was"]]);
        let named: BTreeSet<&str> = named.filter_map(Value::as_str).collect();
        assert_eq!(named, differ);
        // Each record is told by something.
        let told = answer["told"].as_array().unwrap();
        let told: BTreeSet<&str> = told
            .iter()
            .filter_map(|one| one["record"].as_str())
            .collect();
        let records = records.iter().filter_map(|one| one["record"].as_str());
        for record in records {
            assert!(
                told.contains(record),
                "{record} is not told: {}",
                answer["told"]
            );
        }
    }

    /// Neighbours both ways, and some that lie far apart.
    fn judge_all_changes(&self, dice: &mut Dice) {
        let log = self.log();
        assert!(log.len() > 3);
        for (commit, parents) in &log {
            for parent in parents {
                self.judge_changes(parent, commit);
            }
        }
        for _ in 0..6 {
            let (a, b) = (dice.below(log.len()), dice.below(log.len()));
            if self.state(&log[a].0).is_empty() && self.state(&log[b].0).is_empty() {
                // Between nothing and nothing there is no build to tell of.
                continue;
            }
            self.judge_changes(&log[a].0, &log[b].0);
        }
    }

    /// Each commit is in one session, and sessions are where `git log` shows breaks.
    fn judge_sessions(&self) {
        const GAP: i64 = 8 * 3600;
        let answer = self.asks_json("matchmark changes --sessions --format json");
        let line = self.asks("git log --reverse --first-parent --format='%H %at' HEAD");
        let line: Vec<(&str, i64)> = line
            .lines()
            .map(|line| {
                let (id, at) = line.split_once(' ').unwrap();
                (id, at.parse().unwrap())
            })
            .collect();
        let runs = line.chunk_by(|(_, before), (_, now)| (now - before).abs() < GAP);
        let mut before: Option<&str> = None;
        let mut all = 0;
        let sessions = answer["sessions"].as_array().unwrap();
        let mut told = sessions.iter();
        for run in runs {
            let (first, last) = (run[0].0, run[run.len() - 1].0);
            let range = before.map_or(last.to_owned(), |before| format!("{before}..{last}"));
            let authors = self.asks(&format!("git log --format='%an' {range}"));
            let mut who: BTreeMap<&str, u64> = BTreeMap::new();
            for author in authors.lines() {
                *who.entry(author).or_default() += 1;
            }
            let one = told
                .next()
                .unwrap_or_else(|| panic!("no session of {run:?}"));
            assert_eq!(one["first"], first);
            assert_eq!(one["last"], last);
            assert_eq!(one["before"].as_str(), before);
            assert_eq!(one["commits"], authors.lines().count());
            let told_who = one["who"].as_array().unwrap().iter();
            let told_who: BTreeMap<&str, u64> = told_who
                .map(|who| {
                    (
                        who["name"].as_str().unwrap(),
                        who["commits"].as_u64().unwrap(),
                    )
                })
                .collect();
            assert_eq!(told_who, who);
            all += authors.lines().count();
            before = Some(last);
        }
        assert!(told.next().is_none());
        let count = self.asks("git rev-list --count HEAD");
        assert_eq!(count.trim(), all.to_string(), "each commit once");
    }

    /// In which commits a walk over all of them finds a record changed, and in which its
    /// trail does; `was` are its names in former days.
    fn lives(&self, record: &str, was: &[&str]) -> (BTreeSet<String>, BTreeSet<String>) {
        let value = |commit: &str| {
            let state = self.state(commit);
            let mut names = [record].into_iter().chain(was.iter().copied());
            names.find_map(|name| Some((name.to_owned(), state.get(name)?.clone())))
        };
        let changed = self.log().into_iter().filter(|(commit, parents)| {
            let is = value(commit);
            match parents.as_slice() {
                [] => is.is_some(),
                parents => parents.iter().all(|parent| value(parent) != is),
            }
        });
        let changed = changed.map(|(commit, _)| commit).collect();
        let answer = self.asks_json(&format!("matchmark trail {record} --format json"));
        (changed, trail_commits(&answer))
    }

    /// A walk finds what the trail tells; how many changes that is.
    fn judge_trail(&self, record: &str, was: &[&str]) -> usize {
        let (changed, told) = self.lives(record, was);
        assert_eq!(told, changed, "{record}");
        changed.len()
    }

    /// The trails of some of the records that there are now tell all that happened to them
    /// under their present names.
    fn judge_some_trails(&self, dice: &mut Dice, many: usize) {
        let state = self.state("HEAD");
        let names: Vec<&String> = state.keys().collect();
        for _ in 0..many {
            let record = names[dice.below(names.len())];
            let (changed, told) = self.lives(record, &[]);
            assert!(
                told.is_superset(&changed),
                "{record}: {told:?}, {changed:?}"
            );
        }
    }
}

/// The commits that a trail tells a change of; that it stands in another file is none.
fn trail_commits(answer: &Value) -> BTreeSet<String> {
    let steps = answer["steps"].as_array().unwrap().iter();
    steps
        .filter(|one| !one["record"].is_null())
        .filter_map(|one| one["commit"].as_str())
        .map(str::to_owned)
        .collect()
}

/// Reads the records of a folder, by file name and another reader.
fn read(folder: &Path, inner: &str, state: &mut State) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        if name.starts_with('.') {
            continue;
        }
        let path = format!("{inner}{name}");
        if entry.path().is_dir() {
            read(&entry.path(), &format!("{path}/"), state);
            continue;
        }
        let kind = path.split('/').next().unwrap();
        let is_record = path.ends_with(".yaml") && KINDS.contains(&kind);
        if !is_record && path != "build.yaml" {
            continue;
        }
        let text = std::fs::read_to_string(entry.path()).unwrap();
        let read: Option<serde_json::Map<String, Value>> =
            serde_yaml::from_str(text.trim_start_matches('\u{FEFF}')).unwrap();
        // A file that says nothing holds no record.
        let Some(read) = read else { continue };
        if path == "build.yaml" {
            state.insert("build".to_owned(), Value::Object(read));
            continue;
        }
        for (id, value) in read {
            let had = state.insert(format!("{kind}/{id}"), value);
            assert!(had.is_none(), "{kind}/{id} stands twice");
        }
    }
}

/// The later state out of the earlier one, as `schema/changes.json` has it.
fn applied(was: &State, records: &Value) -> State {
    let mut state = was.clone();
    let records = records.as_array().unwrap();
    let taken: Vec<Option<Value>> = records
        .iter()
        .map(|one| {
            if one["change"] == "new" {
                return None;
            }
            let from = one["was"].as_str().or(one["record"].as_str()).unwrap();
            let taken = state.remove(from);
            assert!(taken.is_some(), "{from} was not there");
            taken
        })
        .collect();
    for (one, before) in records.iter().zip(taken) {
        let name = one["record"].as_str().unwrap();
        let edits = one["edits"].as_array().unwrap();
        if one["change"] == "gone" {
            let whole = json!([{"op": "remove", "path": "", "was": before}]);
            assert_eq!(one["edits"], whole, "{name}");
            continue;
        }
        assert!(!edits.is_empty() || one["change"] == "renamed", "{name}");
        assert_eq!(one["change"] == "renamed", one["was"].is_string());
        let mut value = before.unwrap_or_default();
        for edit in edits {
            if edit.get("was").is_some() {
                assert_eq!(
                    value.pointer(edit["path"].as_str().unwrap()),
                    Some(&edit["was"])
                );
            }
            let step = serde_json::from_value(edit.clone()).unwrap();
            json_patch::patch(&mut value, &[step]).unwrap();
        }
        let had = state.insert(name.to_owned(), value);
        assert!(had.is_none(), "{name} was there already");
    }
    state
}

const BUILD: &str = "name: Brindlet\ncar: {maker: Brackwater, model: Brindlet, year: 1968}\n";

fn parts(ids: &[&str], note: &str) -> String {
    let parts = ids.iter().map(|id| {
        format!("{id}:\n  name: the {id} of it\n  number: \"{id}-07\"\n  note: {note}\n  pieces:\n    P1: {{condition: unchecked}}\n\n")
    });
    parts.collect()
}

/// A beginning, with a first evening behind it.
fn begun(init: &str, folder: &str) -> Past {
    let mut past = Past::new(init);
    past.writes(&format!("{folder}build.yaml"), BUILD);
    past.writes(
        &format!("{folder}parts/all.yaml"),
        &parts(&["pump", "head", "rail", "lever", "cover"], "as it came"),
    );
    past.commits("the beginning");
    past.writes(&format!("{folder}fasteners/all.yaml"), "m8: {form: bolt, thread: M8, length: 25 mm, have: 4}\nm6: {form: bolt, thread: M6, length: 20 mm, have: 9}\n");
    past.commits("bolts");
    past.later(3);
    past
}

#[test]
fn records_and_files_called_otherwise() {
    let mut past = begun("", "");
    past.types("sed -i 's/^head:/cylinder-head:/' parts/all.yaml");
    past.commits("a record called otherwise");
    past.types("git mv parts/all.yaml parts/engine.yaml");
    past.commits("a file called otherwise");
    past.types("sed -i 's/condition: unchecked/condition: serviceable/' parts/engine.yaml");
    past.commits("all looked at");
    past.later(9);
    // Two files out of one, and one of them called otherwise again.
    past.types("sed -n '1,/^rail:/{/^rail:/!p}' parts/engine.yaml > parts/block.yaml && sed -n '/^rail:/,$p' parts/engine.yaml > parts/fuel.yaml && rm parts/engine.yaml");
    past.commits("a file split");
    past.types("sed -i 's/^  note: as it came/  note: cleaned/' parts/block.yaml && git mv parts/block.yaml parts/deep.yaml");
    past.commits("changed and moved at once");
    past.types("cat parts/fuel.yaml >> parts/deep.yaml && git rm -q -f parts/fuel.yaml");
    past.commits("joined");
    past.types("sed -i 's/have: 4/have: 3/' fasteners/all.yaml");
    past.commits("a bolt used");
    past.judge_all_changes(&mut Dice(1));
    past.judge_sessions();
    assert_eq!(past.judge_trail("parts/cylinder-head", &["parts/head"]), 4);
    assert_eq!(past.judge_trail("parts/rail", &[]), 2);
    assert_eq!(past.judge_trail("fasteners/m8", &[]), 2);
}

#[test]
fn merges_clean_solved_and_evil() {
    let mut past = begun("", "");
    past.types("git switch -q -c side && sed -i 's/have: 9/have: 8/' fasteners/all.yaml");
    past.commits("on the side");
    past.types("sed -i '/^rail:/,/note:/s/note: .*/note: from the side/' parts/all.yaml");
    past.commits("on the side again");
    past.types(
        "git switch -q main && sed -i '/^pump:/,/note:/s/note: .*/note: from main/' parts/all.yaml",
    );
    past.commits("on main");
    past.ticks(5);
    past.types("git merge -q --no-edit side > /dev/null");
    past.later(2);
    // Both change one note; what stands in the end is neither.
    past.types("git switch -q -c clash && sed -i '/^head:/,/note:/s/note: .*/note: theirs/' parts/all.yaml");
    past.commits("theirs");
    past.types(
        "git switch -q main && sed -i '/^head:/,/note:/s/note: .*/note: ours/' parts/all.yaml",
    );
    past.commits("ours");
    past.types("git merge -q clash > /dev/null 2>&1; git checkout -q --ours parts/all.yaml && sed -i 's/note: ours/note: both of us/' parts/all.yaml");
    past.commits("solved");
    past.later(2);
    // A merge that changes what neither side touched.
    past.types("git switch -q -c third HEAD~1 && sed -i 's/have: 4/have: 2/' fasteners/all.yaml");
    past.commits("third");
    past.types("git switch -q main && git merge -q --no-commit third > /dev/null 2>&1 && sed -i '/^lever:/,/note:/s/note: .*/note: slipped in/' parts/all.yaml");
    past.commits("evil");
    // And one that keeps nothing of the other.
    past.types("git switch -q -c fourth HEAD~1 && sed -i 's/have: 4/have: 1/' fasteners/all.yaml");
    past.commits("fourth");
    past.types("git switch -q main");
    past.ticks(3);
    past.types("git merge -q -s ours --no-edit fourth > /dev/null");
    past.judge_all_changes(&mut Dice(2));
    past.judge_sessions();
    assert_eq!(past.judge_trail("parts/head", &[]), 4);
    assert_eq!(past.judge_trail("parts/lever", &[]), 2);
    assert_eq!(past.judge_trail("parts/rail", &[]), 2);
    past.judge_trail("fasteners/m8", &[]);
    past.judge_trail("fasteners/m6", &[]);
}

/// A list that holds the same in another order is another list: in a commit, and in a merge
/// whose sides did not order it so.
#[test]
fn lists_put_in_another_order() {
    let mut past = begun("", "");
    let holds = |past: &Past, have: u32, why: &str| {
        let decision =
            format!("paint:\n  question: which paint\n  note: {have}\n  tags: [{why}]\n");
        past.writes("decisions/all.yaml", &decision);
    };
    for (number, why) in ["a, b, c", "b, a, c", "b, a, b", "b, a"].iter().enumerate() {
        holds(&past, 1, why);
        past.commits(&format!("order {number}"));
    }
    past.types("git switch -q -c side");
    holds(&past, 2, "b, a, d");
    past.commits("on the side");
    past.types("git switch -q main");
    holds(&past, 1, "b, a, e");
    past.commits("on main");
    past.types("git merge -q side > /dev/null 2>&1 || true");
    holds(&past, 2, "b, a, e, d");
    past.commits("both");
    // What either side put in is told where it was put in.
    let told = |past: &Past| past.lives("decisions/paint", &[]).1;
    assert_eq!(told(&past).len(), 6);
    past.types("git switch -q -c other");
    past.writes("notes.txt", "beside it\n");
    past.commits("beside");
    past.types("git switch -q main && git merge -q --no-ff --no-commit other > /dev/null 2>&1");
    holds(&past, 2, "d, e, a, b");
    past.commits("turned round by the merge");
    past.judge_all_changes(&mut Dice(8));
    let told = told(&past);
    assert_eq!(told.len(), 7);
    assert!(told.contains(&past.log()[0].0));
}

#[test]
fn rebased_picked_and_put_back() {
    let mut past = begun("", "");
    past.types("git switch -q -c side && sed -i 's/have: 9/have: 8/' fasteners/all.yaml");
    past.commits("first of the side");
    past.types("sed -i 's/have: 8/have: 7/' fasteners/all.yaml");
    past.commits("second of the side");
    past.later(4);
    past.types(
        "git switch -q main && sed -i '/^pump:/,/note:/s/note: .*/note: from main/' parts/all.yaml",
    );
    past.commits("on main");
    past.types("git switch -q side");
    // The author's moments stay, and lie before those of the commits below.
    past.types("git rebase -q main && git switch -q main && git merge -q --ff-only side");
    past.types("git switch -q -c other HEAD~3 && sed -i '/^cover:/,/note:/s/note: .*/note: picked/' parts/all.yaml");
    past.commits("to be picked");
    past.types("git switch -q main && git cherry-pick other > /dev/null");
    past.ticks(9);
    past.types("git revert --no-edit HEAD~1 > /dev/null");
    past.later(1);
    past.types("git commit -q --amend --no-edit");
    past.judge_all_changes(&mut Dice(3));
    past.judge_sessions();
    past.judge_trail("fasteners/m6", &[]);
    past.judge_trail("parts/cover", &[]);
    past.judge_trail("parts/pump", &[]);
}

#[test]
fn nothing_first_and_five_hundred_at_once() {
    let mut past = Past::new("");
    past.commits("nothing at all");
    past.later(1);
    past.writes("build.yaml", BUILD);
    past.commits("a build");
    let file = |number: u32, note: &str| {
        let parts = (0..100)
            .map(|part| format!("part-{number}-{part}:\n  name: thing {part}\n  note: {note}\n"));
        parts.collect::<String>()
    };
    for number in 0..5 {
        past.writes(
            &format!("parts/of-{number}.yaml"),
            &file(number, "as it came"),
        );
    }
    past.commits("five hundred");
    past.types("sed -i 's/note: as it came/note: cleaned/' parts/*.yaml");
    past.commits("all cleaned");
    past.types("sed -i 's/^part-/piece-/' parts/*.yaml");
    past.commits("all called otherwise");
    past.later(2);
    past.types("git rm -q -r parts build.yaml");
    past.commits("all gone");
    past.types("git revert --no-edit HEAD > /dev/null");
    past.judge_all_changes(&mut Dice(4));
    past.judge_sessions();
    past.judge_trail("build", &[]);
}

#[test]
fn a_build_inside_a_repository_that_moves() {
    let mut past = begun("", "old/place/");
    (past.at, past.lies) = ("old/place", &["new", "old/place"]);
    past.writes("notes.txt", "beside it\n");
    past.commits("beside");
    // A repository of somebody else beside the build.
    past.types(
        "git update-index --add --cacheinfo 160000,$(git rev-parse HEAD),beside && mkdir beside",
    );
    past.types("git commit -q -m 'others beside'");
    past.types("git mv old/place new && git commit -q -m moved");
    past.at = "new";
    past.later(5);
    past.types(
        "sed -i 's/have: 4/have: 3/' new/fasteners/all.yaml && git commit -q -a -m 'a bolt used'",
    );
    past.judge_all_changes(&mut Dice(5));
    past.judge_sessions();
    assert_eq!(past.judge_trail("fasteners/m8", &[]), 2);
    assert_eq!(past.judge_trail("parts/head", &[]), 1);
}

#[test]
fn a_branch_with_no_common_past() {
    let mut past = begun("", "");
    past.types("git switch -q --orphan other");
    past.writes("build.yaml", "name: another\n");
    past.writes("parts/others.yaml", &parts(&["hose"], "theirs"));
    past.commits("from elsewhere");
    past.writes("parts/others.yaml", &parts(&["hose", "clip"], "theirs"));
    past.commits("from elsewhere again");
    past.judge_changes("main", "other");
    past.judge_changes("other", "main");
    past.types("git switch -q main");
    past.ticks(4);
    past.types("git merge -q --no-edit --allow-unrelated-histories -X ours other > /dev/null");
    past.types("sed -i 's/note: theirs/note: ours now/' parts/others.yaml");
    past.commits("taken over");
    past.judge_all_changes(&mut Dice(6));
    past.judge_sessions();
    assert_eq!(past.judge_trail("parts/hose", &[]), 2);
    past.judge_trail("build", &[]);
}

#[test]
fn a_shallow_clone() {
    let mut past = begun("", "");
    for have in 5..12 {
        past.types(&format!(
            "sed -i 's/have: [0-9]* *}}$/have: {have}}}/' fasteners/all.yaml"
        ));
        past.commits("counted");
        past.later(1);
    }
    let from = past.bench.path("work");
    let to = past.bench.path("shallow");
    past.types(&format!(
        "git clone -q --depth 4 file://{} {}",
        from.display(),
        to.display()
    ));
    past.types(&format!("rm -rf .git && mv {}/.git .", to.display()));
    let log = past.log();
    assert_eq!(log.len(), 4);
    past.judge_all_changes(&mut Dice(7));
    past.judge_sessions();
    // What came before, nobody knows: at the end there is no change to be told.
    let answer = past.asks_json("matchmark trail fasteners/m8 --format json");
    let told = trail_commits(&answer);
    let known: BTreeSet<String> = log[..3].iter().map(|(commit, _)| commit.clone()).collect();
    assert!(told.is_superset(&known), "{answer:#}");
}

#[test]
fn git_of_another_form() {
    for init in ["--object-format=sha256", "--ref-format=reftable"] {
        if !Bench::new()
            .types(&format!("git init -q {init}"))
            .is_empty()
        {
            // This git has not learnt it yet.
            continue;
        }
        let mut past = begun(init, "");
        past.types("git switch -q -c side && sed -i 's/have: 9/have: 8/' fasteners/all.yaml");
        past.commits("on the side");
        past.types("git switch -q main && sed -i 's/^head:/cylinder-head:/' parts/all.yaml");
        past.commits("on main");
        past.ticks(2);
        past.types("git merge -q --no-edit side > /dev/null");
        past.judge_all_changes(&mut Dice(8));
        past.judge_sessions();
        assert_eq!(past.judge_trail("parts/cylinder-head", &["parts/head"]), 2);
        assert_eq!(past.judge_trail("fasteners/m6", &[]), 2);
    }
}

/// Histories of edits at random, with branches that are merged into anything.
#[test]
fn any_history() {
    let library = library();
    let cases = std::env::var("PROPTEST_CASES").ok();
    let cases: u64 = cases.and_then(|cases| cases.parse().ok()).unwrap_or(0);
    for case in 0..(cases / 1000).max(1) {
        let mut dice = Dice(0xA076_1D64_78BD_642F ^ (case << 24));
        let mut past = Past::new("");
        let mut files = some_files(&library, &mut dice);
        if !files.iter().any(|file| file.path == "build.yaml") {
            files.extend(File::new("build.yaml", BUILD.to_owned(), true));
        }
        past.holds("", &files);
        past.commits("the beginning");
        for number in 0..12 {
            let edits = 1 + dice.below(4);
            let mut made = 0;
            while made < edits {
                let what = dice.below(EDITS);
                made += usize::from(one_edit(what, &mut files, &mut dice).is_some());
                if files.iter().all(|file| file.theirs.is_empty()) {
                    break;
                }
            }
            if dice.below(3) == 0 {
                past.later(1);
            }
            if dice.below(4) == 0 {
                // A merge of this and of what stood some commits before: whatever it is.
                past.types("git switch -q -c side HEAD~0 2>/dev/null || git switch -q side");
                past.types("git reset -q --hard main");
                past.writes("notes.txt", &format!("{number}\n"));
                past.commits("on the side");
                past.types(
                    "git switch -q main && git merge -q --no-ff --no-commit side > /dev/null 2>&1",
                );
            }
            past.holds("", &files);
            past.commits("changed");
        }
        past.judge_all_changes(&mut dice);
        past.judge_sessions();
        past.judge_some_trails(&mut dice, 3);
    }
}
