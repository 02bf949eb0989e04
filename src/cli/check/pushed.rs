//! `matchmark check --pushed`: what git's pre-receive hook asks about a push.
//!
//! The tip of every branch and tag that is pushed must be clean. Commits on the way
//! there that hold errors are told and let through: they may have been made before
//! the guard, or mended since.

use std::collections::BTreeSet;
use std::io::BufRead;

use jiff::civil::Date;

use super::super::Outcome;
use super::super::state;
use super::{colour, outcome};
use crate::render::safe::safe;
use crate::render::text::{self, Refusal};
use crate::shell::git::{Commit, Repo};
use crate::shell::terminal;

/// How many of the commits before a tip are looked at; the newest.
const LOOKED_AT: usize = 100;
/// How many of those that hold errors are told.
const TOLD: usize = 3;

/// Checks what is pushed, and prints what the pusher is to read.
pub fn run(repo: &Repo, as_of: Option<Date>) -> anyhow::Result<Outcome> {
    let before = repo.tips()?;
    let mut worst = Outcome::Clean;
    let mut told = BTreeSet::new();
    for line in terminal::input().split(b'\n') {
        let line = line?;
        let line = String::from_utf8_lossy(&line);
        let mut words = line.split_whitespace();
        let (Some(_), Some(new), Some(name)) = (words.next(), words.next(), words.next()) else {
            continue;
        };
        // A branch that goes, or a tag on something that is no commit, holds no build.
        if new.bytes().all(|digit| digit == b'0') {
            continue;
        }
        let Ok(tip) = repo.commit(new) else { continue };
        let name = name.strip_prefix("refs/heads/").unwrap_or(name);
        if judge(repo, &before, name, &tip, as_of, &mut told)? == Outcome::Conflicts {
            worst = Outcome::Conflicts;
        }
    }
    if told.len() > TOLD {
        let more = text::number(told.len() - TOLD, "commit");
        terminal::print(&format!(
            "matchmark: warning: {more} more on the way hold errors\n"
        ))?;
    }
    Ok(worst)
}

fn judge(
    repo: &Repo,
    before: &[String],
    name: &str,
    tip: &Commit,
    as_of: Option<Date>,
    told: &mut BTreeSet<String>,
) -> anyhow::Result<Outcome> {
    let new = repo.between(before, &tip.id)?;
    // What a push adds is what is in none of the commits that it builds upon; where it
    // builds upon nothing, what its first commit held is taken as there.
    let states = state::after(repo, tip, as_of, || {
        // What is there already under another name adds nothing.
        if new.is_empty() {
            return Ok(vec![tip.clone()]);
        }
        let is_new = |id: &String| new.iter().any(|commit| commit.id == *id);
        let mut known: Vec<Commit> = Vec::new();
        for id in new.iter().flat_map(|commit| &commit.parents) {
            if !is_new(id) && known.iter().all(|commit| commit.id != *id) {
                known.push(repo.commit(id)?);
            }
        }
        let first = new.first().filter(|first| *first != tip);
        if let (true, Some(first)) = (known.is_empty(), first) {
            known.push(first.clone());
        }
        Ok(known)
    })?;
    let on_the_way = new.iter().rev().filter(|commit| *commit != tip);
    for commit in on_the_way.take(LOOKED_AT) {
        if told.contains(&commit.id) {
            continue;
        }
        if let Some(past) = state::errors_of(repo, commit) {
            told.insert(commit.id.clone());
            if told.len() > TOLD {
                continue;
            }
            let line = format!(
                "matchmark: warning: {} of {}, \"{}\", on the way to {name} holds {}; the first is {}",
                past.commit,
                past.when,
                past.title,
                text::number(past.errors, "error"),
                past.first
            );
            terminal::print(&format!("{}\n", safe(&line).replace('\n', " ")))?;
        }
    }
    let findings = state::findings(&states);
    let refusal = Refusal::Push {
        name: name.to_owned(),
        commit: tip.short().to_owned(),
    };
    terminal::print(&text::brief(&findings, &refusal, colour()))?;
    Ok(outcome(&findings))
}
