//! Two suites of evenings at the bench. The honest ones are true and half done: each must
//! commit. The wrong ones must be refused, each for its own reason and no other.
//!
//! A case is a folder in `tests/suites/honest/` or `tests/suites/wrong/`: a small build, and
//! `why.txt`. The first line of that is a sentence from the bench. Each line behind it is
//! something that the check says, `LEVEL RULE: RECORD`, in any order. Of an honest evening
//! all that it says stands there, so that a flood of warnings shows; of a wrong one the
//! errors.
//!
//! Each case is committed by real git, with the guard in force, upon a first commit that
//! holds `build.yaml` alone. Nothing may hang on the day on which the tests run: what is
//! too old is long so, and what is fresh has no date.

#![cfg(target_os = "linux")]
#![allow(clippy::disallowed_methods)]

mod bench;

use std::path::{Path, PathBuf};

use bench::Bench;
use jiff::civil::date;
use matchmark::finding::{Finding, Level};
use matchmark::folder::{Content, Folder, RawFile};
use matchmark::lint::{self, Facts};
use matchmark::render::text::{self, Colour};
use rayon::prelude::*;

/// One case, as it lies in its folder.
struct Case {
    name: String,
    /// The files of the build, from its folder, in their order.
    files: Vec<(String, String)>,
    /// What the check must say, sorted: `error empty-place: assemblies/engine/gasket`.
    expected: Vec<String>,
}

impl Case {
    fn read(folder: &Path) -> Self {
        let name = folder.file_name().unwrap().to_string_lossy().into_owned();
        let mut files = Vec::new();
        collect(folder, folder, &mut files);
        files.sort();
        let at = files.iter().position(|(file, _)| file == "why.txt");
        let why = files
            .remove(at.unwrap_or_else(|| panic!("{name} has no why.txt")))
            .1;
        let mut lines = why.lines();
        let reason = lines.next().unwrap_or_default();
        assert!(
            reason.ends_with('.') && reason.contains(' '),
            "{name}: {reason}"
        );
        let mut expected: Vec<String> = lines.map(str::to_owned).collect();
        expected.sort();
        for line in &expected {
            let rule = line.split([' ', ':']).nth(1).unwrap_or_default();
            assert!(
                lint::rule(rule).is_some(),
                "{name}: there is no such rule: {line}"
            );
        }
        let lines: usize = files.iter().map(|(_, text)| text.lines().count()).sum();
        assert!(files.iter().any(|(file, _)| file == "build.yaml"), "{name}");
        assert!(
            files.iter().all(|(file, _)| file.ends_with(".yaml")) && files.len() <= 6,
            "{name}: one to five files of records beside build.yaml, and nothing else"
        );
        assert!(
            lines <= 40,
            "{name}: {lines} lines are too many to judge by eye"
        );
        Self {
            name,
            files,
            expected,
        }
    }

    /// What the check says, as `why.txt` writes it, sorted; and as it is printed.
    fn found(&self, worth: impl Fn(&Finding) -> bool) -> (Vec<String>, String) {
        let raw = self.files.iter().map(|(path, text)| RawFile {
            path: path.clone(),
            content: Content::Bytes(text.clone().into_bytes()),
        });
        let folder = Folder::read(raw.collect()).unwrap();
        let mut facts = Facts::on(date(2026, 3, 8));
        facts.pictures = Some(Vec::new());
        let mut findings = lint::check(&folder, &facts);
        findings.retain(|finding| finding.settled_by.is_none() && worth(finding));
        let mut found: Vec<String> = findings
            .iter()
            .map(|finding| {
                let record = finding.record.as_deref();
                let at = record.unwrap_or(&finding.place.file);
                format!("{} {}: {at}", finding.level, finding.rule)
            })
            .collect();
        found.sort();
        (found, text::findings(&findings, Colour::No))
    }

    /// Commits `build.yaml`, then all of it with the guard in force.
    fn committed(&self) -> Evening {
        let bench = Bench::new();
        let first = self.files.iter().filter(|(file, _)| file == "build.yaml");
        for (file, text) in first {
            bench.writes(file, text);
        }
        let began = bench.types(
            "git init -q -b main . && matchmark guard && git add -A && git commit -qm 'The car'",
        );
        assert!(
            began.contains(
                "pre-commit, pre-merge-commit, pre-applypatch, prepare-commit-msg, post-merge, \
                 post-rewrite: in force"
            ),
            "{}: {began}",
            self.name
        );
        assert!(!began.contains("(exit "), "{}: {began}", self.name);
        for (file, text) in &self.files {
            bench.writes(file, text);
        }
        // Something that is neither staged nor a record must stay too.
        bench.writes("notes.txt", "not staged\n");
        let state = "git rev-parse HEAD; git write-tree; git status --porcelain; \
            find . -path ./.git -prune -o -type f -print | sort | xargs sha256sum";
        assert_eq!(bench.types("git add '*.yaml'"), "", "{}", self.name);
        let before = bench.types(state);
        let said = bench.types("git commit -qm 'This evening'");
        let after = bench.types(state);
        let held = bench.types("git ls-tree -r --name-only HEAD");
        Evening {
            before,
            said,
            after,
            held,
        }
    }
}

/// An evening that was committed, or was to be.
struct Evening {
    before: String,
    said: String,
    after: String,
    held: String,
}

impl Evening {
    fn refused(&self) -> bool {
        self.said.ends_with("> (exit 1)\n")
    }

    /// The rules by whose name something at error level was printed, sorted.
    fn errors(&self) -> Vec<&str> {
        let errors = self.said.lines().filter(|line| line.contains(": error: "));
        let mut rules: Vec<&str> = errors
            .filter_map(|line| Some(line.strip_suffix(']')?.rsplit_once('[')?.1))
            .collect();
        rules.sort_unstable();
        rules
    }
}

fn collect(root: &Path, folder: &Path, files: &mut Vec<(String, String)>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(root, &path, files);
        } else {
            let name = path
                .strip_prefix(root)
                .unwrap()
                .to_string_lossy()
                .into_owned();
            files.push((name, std::fs::read_to_string(&path).unwrap()));
        }
    }
}

fn suite(name: &str) -> Vec<Case> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/suites")
        .join(name);
    let mut cases: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    cases.sort();
    cases.iter().map(|case| Case::read(case)).collect()
}

fn differs(case: &Case, found: &[String], printed: &str) -> String {
    if found == case.expected {
        return String::new();
    }
    format!(
        "== {}\n-- why.txt says\n{}\n-- the check finds\n{}\n-- and prints\n{printed}\n",
        case.name,
        case.expected.join("\n"),
        found.join("\n"),
    )
}

#[test]
fn there_are_twenty_of_each() {
    for name in ["honest", "wrong"] {
        let cases = suite(name);
        assert!(cases.len() >= 20, "{} are {name}", cases.len());
        for (number, case) in cases.iter().enumerate() {
            let same = cases[..number]
                .iter()
                .find(|other| other.files == case.files);
            assert!(same.is_none(), "{} is there twice", case.name);
        }
    }
}

#[test]
fn honest_evenings_are_told_no_more_than_they_should_be() {
    let mut wrong = String::new();
    for case in suite("honest") {
        let stops = case.expected.iter().find(|line| line.starts_with("error"));
        assert!(stops.is_none(), "{} is no honest evening", case.name);
        let (found, printed) = case.found(|_| true);
        wrong.push_str(&differs(&case, &found, &printed));
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn wrong_evenings_are_told_for_their_own_reason() {
    let mut wrong = String::new();
    for case in suite("wrong") {
        assert!(
            !case.expected.is_empty() && case.expected.iter().all(|line| line.starts_with("error")),
            "{} must say which errors refuse it",
            case.name
        );
        let (found, printed) = case.found(|finding| finding.level == Level::Error);
        wrong.push_str(&differs(&case, &found, &printed));
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn honest_evenings_commit() {
    let cases = suite("honest");
    let went = cases.par_iter().map(|case| {
        let evening = case.committed();
        let files = case.files.iter().map(|(file, _)| format!("> {file}\n"));
        if evening.refused() || evening.held != files.collect::<String>() {
            return format!("== {}\n{}{}", case.name, evening.said, evening.held);
        }
        String::new()
    });
    let wrong: String = went.collect();
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn wrong_evenings_are_refused_and_nothing_is_lost() {
    let cases = suite("wrong");
    let went = cases.par_iter().map(|case| {
        let evening = case.committed();
        let named = case.expected.iter();
        let mut named: Vec<&str> = named
            .filter_map(|line| line.split([' ', ':']).nth(1))
            .collect();
        named.sort_unstable();
        let lost = if evening.before == evening.after {
            String::new()
        } else {
            format!("-- before\n{}-- after\n{}", evening.before, evening.after)
        };
        if !evening.refused() || evening.errors() != named || !lost.is_empty() {
            return format!("== {}\n{}{lost}", case.name, evening.said);
        }
        String::new()
    });
    let wrong: String = went.collect();
    assert!(wrong.is_empty(), "{wrong}");
}
