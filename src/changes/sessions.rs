//! Sessions: runs of commits with no long break between them.
//!
//! The commits of the main line make the sessions, by the moments at which they were
//! written. What a merge brought in, whenever it was written, came with the merge, and
//! counts with its session.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use super::commit::Commit;
use super::report::Moment;

/// A session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Its number, counted from the first session that is known.
    pub number: usize,
    /// The commit on the main line before its first; none if there is none.
    pub before: Option<String>,
    /// Its first commit on the main line.
    pub first: String,
    /// Its last commit.
    pub last: String,
    /// All its commits, those that merges brought in among them.
    pub commits: BTreeSet<String>,
    /// Who made them, and how many each; who made most comes first.
    pub who: Vec<(String, usize)>,
    /// The moment of its first commit, by the clock of who made it.
    pub from: Option<Moment>,
    /// The moment of its last commit.
    pub to: Option<Moment>,
}

/// Where a row of moments breaks: in each run no two that follow one another lie as far
/// apart as `gap`, in seconds. A moment that nobody knows breaks nothing.
#[must_use]
pub fn runs(moments: &[Option<Moment>], gap: f64) -> Vec<Range<usize>> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    for (number, moment) in moments.iter().enumerate() {
        let before = number.checked_sub(1).and_then(|before| moments[before]);
        let apart = before.zip(*moment);
        let breaks = apart.is_some_and(|(before, now)| {
            now.at.duration_since(before.at).abs().as_secs_f64() >= gap
        });
        match runs.last_mut() {
            Some(run) if !breaks => run.end = number + 1,
            _ => runs.push(number..number + 1),
        }
    }
    runs
}

/// The sessions of a main line, oldest first, out of all commits that it holds.
#[must_use]
pub fn sessions(line: &[Commit], all: &[Commit], gap: f64) -> Vec<Session> {
    let known: BTreeMap<&str, &Commit> = all
        .iter()
        .map(|commit| (commit.id.as_str(), commit))
        .collect();
    let moments: Vec<Option<Moment>> = line.iter().map(|commit| commit.written).collect();
    let mut taken: BTreeSet<&str> = BTreeSet::new();
    let mut sessions = Vec::new();
    for run in runs(&moments, gap) {
        let own = &line[run.clone()];
        let (Some(first), Some(last)) = (own.first(), own.last()) else {
            continue;
        };
        let mut commits = BTreeSet::new();
        let mut open: Vec<&str> = own.iter().map(|commit| commit.id.as_str()).collect();
        while let Some(id) = open.pop() {
            let Some(commit) = known.get(id) else {
                continue;
            };
            if taken.insert(id) {
                commits.insert(id.to_owned());
                open.extend(commit.parents.iter().map(String::as_str));
            }
        }
        let before = run.start.checked_sub(1);
        sessions.push(Session {
            number: sessions.len() + 1,
            before: before.map(|before| line[before].id.clone()),
            first: first.id.clone(),
            last: last.id.clone(),
            who: who(commits
                .iter()
                .filter_map(|id| known.get(id.as_str()).copied())),
            commits,
            from: first.written,
            to: last.written,
        });
    }
    sessions
}

/// Who made commits, by their addresses, under the name that each used last.
fn who<'a>(commits: impl Iterator<Item = &'a Commit>) -> Vec<(String, usize)> {
    type Last<'a> = (Option<Moment>, &'a str);
    let mut all: BTreeMap<String, (Last<'a>, usize)> = BTreeMap::new();
    for commit in commits {
        let (name, address) = &commit.by;
        let known_by = if address.is_empty() { name } else { address };
        let own = (commit.written, name.as_str());
        let (last, count) = all.entry(known_by.to_lowercase()).or_insert((own, 0));
        *last = own.max(*last);
        *count += 1;
    }
    let all = all.into_values();
    let mut who: Vec<(String, usize)> = all
        .map(|((_, name), count)| (name.to_owned(), count))
        .collect();
    who.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    who
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;

    use super::*;

    fn commit(id: &str, parents: &[&str], hours: i64, by: &str) -> Commit {
        let at = Timestamp::from_second(1_772_000_000 + hours * 3600).unwrap();
        Commit {
            id: id.to_owned(),
            parents: parents.iter().map(|id| (*id).to_owned()).collect(),
            tree: String::new(),
            day: None,
            title: String::new(),
            by: (by.to_owned(), format!("{by}@example.invalid")),
            written: Some(Moment {
                at,
                local: jiff::tz::Offset::UTC.to_datetime(at),
            }),
        }
    }

    const GAP: f64 = 8.0 * 3600.0;

    #[test]
    fn a_break_of_the_gap_ends_a_session() {
        let line = [
            commit("a", &[], 0, "builder"),
            commit("b", &["a"], 7, "builder"),
            commit("c", &["b"], 15, "builder"),
            // A clock that was set back: how far apart they lie is what counts.
            commit("d", &["c"], 14, "builder"),
            commit("e", &["d"], 2, "builder"),
        ];
        let sessions = sessions(&line, &line, GAP);
        let shown: Vec<(usize, &str, &str, Option<&str>)> = sessions
            .iter()
            .map(|one| (one.number, &*one.first, &*one.last, one.before.as_deref()))
            .collect();
        assert_eq!(
            shown,
            [
                (1, "a", "b", None),
                (2, "c", "d", Some("b")),
                (3, "e", "e", Some("d"))
            ]
        );
    }

    #[test]
    fn what_a_merge_brought_in_counts_with_it() {
        let a = commit("a", &[], 0, "builder");
        let side = commit("x", &["a"], 1, "helper");
        let b = commit("b", &["a"], 40, "builder");
        let merge = commit("m", &["b", "x"], 41, "builder");
        let line = [a.clone(), b.clone(), merge.clone()];
        let sessions = sessions(&line, &[a, side, b, merge], GAP);
        assert_eq!(sessions.len(), 2);
        assert_eq!(sessions[0].commits.len(), 1);
        assert_eq!(sessions[1].commits.len(), 3);
        let who = [("builder".to_owned(), 2), ("helper".to_owned(), 1)];
        assert_eq!(sessions[1].who, who);
    }
}
