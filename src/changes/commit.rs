//! A commit, and in which order commits were made.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use jiff::civil::Date;

use super::report::Moment;

/// A commit, as far as it is needed here.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Commit {
    /// Its name in full.
    pub id: String,
    /// Its parents' names.
    pub parents: Vec<String>,
    /// The name of what it holds.
    pub tree: String,
    /// The day it was made, where it was made.
    pub day: Option<Date>,
    /// The first line of its message.
    pub title: String,
    /// Who wrote it, as git knows them: the name, then the address.
    pub by: (String, String),
    /// When it was written: a commit that was moved since, as by a rebase, keeps that.
    pub written: Option<Moment>,
}

impl Commit {
    /// Enough of its name to be found by.
    #[must_use]
    pub fn short(&self) -> &str {
        self.id.get(..10).unwrap_or(&self.id)
    }
}

/// The numbers of commits, oldest first: a commit stands behind its parents, and of those
/// that don't hang together the one that was written first comes first.
#[must_use]
pub fn oldest_first(commits: &[Commit]) -> Vec<usize> {
    let number: BTreeMap<&str, usize> = commits
        .iter()
        .enumerate()
        .map(|(number, commit)| (commit.id.as_str(), number))
        .collect();
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); commits.len()];
    let mut waits_for: Vec<usize> = vec![0; commits.len()];
    for (child, commit) in commits.iter().enumerate() {
        let parents = commit.parents.iter();
        for parent in parents.filter_map(|id| number.get(id.as_str())) {
            children[*parent].push(child);
            waits_for[child] += 1;
        }
    }
    let key = |number: usize| {
        let commit = &commits[number];
        let at = commit.written.map(|written| written.at);
        Reverse((at, commit.id.as_str(), number))
    };
    let free = (0..commits.len()).filter(|number| waits_for[*number] == 0);
    let mut free: BinaryHeap<_> = free.map(key).collect();
    let mut order = Vec::with_capacity(commits.len());
    while let Some(Reverse((_, _, next))) = free.pop() {
        order.push(next);
        for child in &children[next] {
            waits_for[*child] -= 1;
            if waits_for[*child] == 0 {
                free.push(key(*child));
            }
        }
    }
    order
}
