//! The sessions of a build, for `matchmark changes --sessions`.

use std::collections::{BTreeMap, BTreeSet};

use clap::ValueEnum;
use rayon::prelude::*;

use super::Outcome;
use super::check::colour;
use crate::changes::commit::Commit;
use crate::changes::compare;
use crate::changes::records::{Readings, beside};
use crate::changes::sessions::{Session, sessions};
use crate::changes::tell::{headline, tell};
use crate::render;
use crate::report::page::Page;
use crate::report::sessions::{self as report, Row};
use crate::shell::git::{GitError, Repo};
use crate::shell::history::Differs;
use crate::shell::terminal::{self, Progress};

/// How a page is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people
    Text,
    /// For a note or a web page: CommonMark
    Markdown,
    /// For a browser, or paper: one file that needs no other
    Html,
    /// For programs
    Json,
}

/// A page has at most so many columns, on a terminal or none.
pub(super) const PAGE: usize = 80;

/// Prints a page; `json` is what programs read instead.
///
/// # Errors
/// When the output takes nothing more, or a page can't be made.
pub fn print(page: &Page, format: Format, json: impl FnOnce() -> String) -> anyhow::Result<()> {
    let width = terminal::width().map_or(PAGE, |width| width.min(PAGE));
    terminal::print(&match format {
        Format::Text => render::page::text(page, width, colour()),
        Format::Markdown => render::page::markdown(page),
        Format::Html => render::page::html(page),
        Format::Json => json(),
    })?;
    Ok(())
}

/// Prints the sessions that end in a commit and that have commits which `since` does not
/// hold; `prefix` is the folder of the build from the top of the repository, `gap` the
/// length of a break in seconds.
///
/// # Errors
/// When git can't read a commit or what it holds.
pub fn run(
    repo: &Repo,
    prefix: &str,
    gap: f64,
    (since, until): (Option<&Commit>, &Commit),
    format: Format,
) -> anyhow::Result<Outcome> {
    let history = History::of(repo, until, gap)?;
    let mut shown: Vec<Session> = history.sessions.clone();
    if let Some(since) = since {
        let new = repo.between(std::slice::from_ref(&since.id), &until.id)?;
        let new: BTreeSet<&str> = new.iter().map(|commit| commit.id.as_str()).collect();
        shown.retain(|session| session.commits.iter().any(|id| new.contains(id.as_str())));
    }
    let rows = rows(repo, prefix, &history, shown)?;
    let page = report::page(&rows);
    print(&page, format, || render::sessions::json(&rows))?;
    Ok(Outcome::Clean)
}

/// All commits that one holds, and the sessions that they make.
#[derive(Debug, Default)]
pub struct History {
    /// The commits, in no order.
    pub commits: Vec<Commit>,
    /// The sessions of the main line, oldest first.
    pub sessions: Vec<Session>,
    /// The commits whose parents a shallow clone left behind.
    pub cut_off: BTreeSet<String>,
}

impl History {
    /// The history of a commit.
    ///
    /// # Errors
    /// When git can't read a commit.
    pub fn of(repo: &Repo, last: &Commit, gap: f64) -> Result<Self, GitError> {
        let commits = repo.between(&[], &last.id)?;
        let line: Result<Vec<Commit>, GitError> = repo.main_line(last).collect();
        let mut line = line?;
        line.reverse();
        Ok(Self {
            sessions: sessions(&line, &commits, gap),
            cut_off: repo.cut_off(),
            commits,
        })
    }
}

/// So many sessions are worked on at once: what was read for them is in memory together.
const AT_ONCE: usize = 32;

/// Sessions with what happened in each.
fn rows(
    repo: &Repo,
    prefix: &str,
    history: &History,
    shown: Vec<Session>,
) -> anyhow::Result<Vec<Row>> {
    let commits = history.commits.iter();
    let trees: BTreeMap<&str, &str> = commits
        .map(|commit| (commit.id.as_str(), commit.tree.as_str()))
        .collect();
    // What was there before the history was cut off, nobody knows here.
    let before = |session: &Session| match &session.before {
        None if history.cut_off.contains(&session.first) => Some(session.first.clone()),
        before => before.clone(),
    };
    let ends: Vec<(Option<String>, &Session)> = shown
        .iter()
        .map(|session| (before(session), session))
        .collect();
    let tree = |id: &str| trees.get(id).copied().unwrap_or_default();
    let asked = ends.iter().flat_map(|(before, session)| {
        let before = before.as_deref().unwrap_or(&session.last);
        [tree(before), tree(&session.last)]
    });
    let places = repo.places(&asked.collect::<Vec<_>>(), prefix)?;
    let mut differs = Vec::new();
    for (at, (before, _)) in places.chunks(2).zip(&ends) {
        let since = before.is_some().then_some(&at[0]);
        differs.push(repo.differs(since, Some(&at[1]))?);
    }
    let mut readings = Readings::default();
    let mut rows = Vec::new();
    let mut progress = Progress::of(shown.len(), "session");
    let mut shown = shown.into_iter();
    for (number, some) in differs.chunks(AT_ONCE).enumerate() {
        repo.read_into(some.iter().flatten(), &mut readings)?;
        let mut held = Vec::new();
        for differs in some {
            held.push(repo.read_differs(differs, &mut readings)?);
        }
        let whats = held.par_iter().map(|both| {
            let both = beside(&both.since, &both.until);
            headline(&tell(&compare(&both.since, &both.until)), report::ROOM)
        });
        for (what, session) in whats.collect::<Vec<_>>().into_iter().zip(&mut shown) {
            rows.push(Row {
                cut_off: history.cut_off.contains(&session.first),
                session,
                what,
            });
            progress.step();
        }
        // A session begins with what the one before it ended with.
        let next = differs.chunks(AT_ONCE).nth(number + 1).unwrap_or_default();
        let wanted: BTreeSet<&str> = next.iter().flatten().flat_map(Differs::ids).collect();
        readings.keep(|_, blob| wanted.contains(blob));
    }
    progress.end();
    Ok(rows)
}
