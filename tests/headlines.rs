//! What a headline makes of each commit of the example, beside what a person wrote.
//!
//! The YAML is read by a second reader, and git tells what each commit holds.

#![allow(clippy::disallowed_methods)]

use std::collections::BTreeSet;

use git2::{Oid, Repository, TreeWalkMode, TreeWalkResult};
use matchmark::changes::tell::{headline, tell};
use matchmark::changes::{Name, RecordChange, Records, compare};
use matchmark::example;
use matchmark::folder::kind_of;
use matchmark::model::Kind;
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

#[test]
fn a_headline_names_what_a_commit_touches() {
    let commits = commits();
    assert_eq!(commits.len(), example::history().unwrap().len());
    for (title, changes) in &commits {
        let told = tell(changes);
        let line = headline(&told, FIRST_LINE);
        println!("{title}\n  {line}");
        if std::env::var_os("SHOW").is_some() {
            for one in &told {
                println!(
                    "      {:?} | {} | {} | {:?}",
                    one.deed, one.about, one.says, one.when
                );
                for line in &one.lines {
                    println!("          {line:?}");
                }
            }
        }
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
}
