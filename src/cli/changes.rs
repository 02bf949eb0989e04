//! `matchmark changes`.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::civil::Date;

use super::Outcome;
use super::sessions::{self, Format};
use super::state::{Seen, Which};
use crate::changes::conflicts::{Checked, conflicts};
use crate::changes::report::{Between, FileChange, Moment, Report, Uncompared};
use crate::changes::sessions::runs;
use crate::changes::{self, records, tell};
use crate::folder::{self, kind_of};
use crate::near;
use crate::present::{Present, Worked};
use crate::render;
use crate::report::{changes as pages, progress};
use crate::shell::clock;
use crate::shell::git::{Commit, GitError, Repo};
use crate::shell::states::Day;

/// Tell what changed between two states of the build
///
/// A state is called `folder` (the working folder), `staged`, a day (what the main
/// line held by the end of it), or anything that git takes for a commit: a tag, a
/// branch, `HEAD~2`. A branch that is called like one of these words is meant by
/// its full name, as in `refs/heads/folder`.
///
/// Without a state it tells what changed since the end of the last session: a run
/// of commits with no break as long as `session-gap` in build.yaml, or 8 hours. While
/// a session is going on, its own commits count. If nothing has changed, it tells what
/// the last session did.
#[derive(Debug, Args)]
pub struct Changes {
    /// The state before [default: the end of the last session]
    since: Option<String>,
    /// The state after [default: the working folder; where there is none, `HEAD`]
    until: Option<String>,
    /// Since the last commit of whoever asks, for somebody who was away; it is told by
    /// the address that git has for you; a state beside it is the one after
    #[arg(long, conflicts_with = "until")]
    since_me: bool,
    /// List the sessions instead, the newest last: who, when, and what came of each;
    /// of two states those that lie between them
    #[arg(long, conflicts_with_all = ["fields", "as_of"])]
    sessions: bool,
    /// Show each field of each record that changed, old and new, in full
    #[arg(long)]
    fields: bool,
    /// How it is printed
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// The day that both states are checked as of [default: today; of a later state that is
    /// a commit, its own]
    #[arg(long, value_name = "DAY")]
    as_of: Option<String>,
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
}

/// Where the build lies.
pub(super) struct Place {
    pub(super) repo: Repo,
    /// The working folder; none in a bare repository.
    pub(super) folder: Option<PathBuf>,
    /// From the top of the repository, with a `/` at its end; empty at the top.
    pub(super) prefix: String,
}

impl Changes {
    /// Between two states of a folder, for a command that shows this one.
    pub(super) fn between(folder: &Path, since: &str, until: &str) -> Self {
        Self {
            since: Some(since.to_owned()),
            until: Some(until.to_owned()),
            since_me: false,
            sessions: false,
            fields: false,
            format: Format::Text,
            as_of: None,
            folder: Some(folder.to_owned()),
        }
    }

    /// Tells the changes.
    ///
    /// # Errors
    /// When there is no build, no repository or no such state, or it can't be read.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let as_of = super::day(self.as_of.as_deref())?;
        folder::make_ready();
        let place = Place::of(self.folder.as_deref())?;
        let named = self.named()?;
        let (since, until) = match self.since_me {
            true => (&None, &named.0),
            false => (&named.0, &named.1),
        };
        let until = match (until, &place.folder) {
            (Some(name), _) => place.state(name)?,
            (None, Some(folder)) => Which::Folder(folder.clone()),
            (None, None) => place.state("HEAD")?,
        };
        let until = Seen::read(&place.repo, until, &place.prefix, None, as_of)?;
        let gap = until.folder.model.build.gap_seconds();
        if self.sessions {
            return self.list(&place, since.as_deref(), until, gap);
        }
        let (since, remark) = match since {
            Some(name) => (place.state(name)?, None),
            None if self.since_me => (place.last_of_mine()?, None),
            None => place.last_session(gap, Some(clock::now()))?,
        };
        let usual = self.since.is_none() && !self.since_me;
        let since = place.beside(since, &until)?;
        if !since.is_build() && !until.is_build() {
            return Err(anyhow::anyhow!(
                "name two states that hold it; `git log --oneline -- '*build.yaml'` lists some"
            )
            .context("neither of the two states holds a build.yaml here"));
        }
        let mut report = place.report(&since, &until)?;
        report.remark = match remark {
            None => place.out_of_line(&since, &until)?,
            remark => remark,
        };
        if usual && report.is_same() && until.is_build() && place.repo.head().is_some() {
            // As of its own day: what came of the days since is nobody's doing.
            let head = Which::Commit(place.repo.commit("HEAD")?);
            let until = Seen::read(&place.repo, head, &place.prefix, Some(&until), as_of)?;
            let (since, remark) = place.last_session(gap, None)?;
            let since = place.beside(since, &until)?;
            let mut instead = place.report(&since, &until)?;
            let mut said = format!(
                "Nothing has changed since {}. This is what the last session did.",
                pages::side(&report.since)
            );
            if let Some(remark) = remark {
                said.push(' ');
                said.push_str(&remark);
            }
            instead.remark = Some(said);
            report = instead;
            std::mem::forget((since, until));
        }
        let page = pages::page(&report, self.fields);
        sessions::print(&page, self.format, || render::changes::json(&report))?;
        place.repo.keep_pictures();
        // The process ends here; `check` says why that is quicker.
        std::mem::forget((since, until, report));
        Ok(Outcome::Clean)
    }
}

impl Changes {
    /// The two states as they were typed; git's way of writing them is understood too.
    fn named(&self) -> anyhow::Result<(Option<String>, Option<String>)> {
        let both = self.since.as_deref().and_then(|both| both.split_once(".."));
        let Some((first, second)) = both else {
            return Ok((self.since.clone(), self.until.clone()));
        };
        if second.starts_with('.') || self.until.is_some() || self.since_me {
            return Err(anyhow::anyhow!(
                "name the state before and the state after: `matchmark changes A B`"
            )
            .context(format!(
                "`{}` names no state",
                self.since.as_deref().unwrap_or_default()
            )));
        }
        let or_head = |name: &str| match name {
            "" => "HEAD".to_owned(),
            name => name.to_owned(),
        };
        Ok((Some(or_head(first)), Some(or_head(second))))
    }

    /// Lists the sessions.
    fn list(
        &self,
        place: &Place,
        since: Option<&str>,
        until: Seen,
        gap: f64,
    ) -> anyhow::Result<Outcome> {
        let commit = |which: Which| match which {
            Which::Commit(commit) => Some(commit),
            Which::Nothing => None,
            // What is not committed is in no session yet.
            Which::Staged | Which::Folder(_) => place.repo.head(),
        };
        let since = match since {
            Some(name) => commit(place.state(name)?),
            None if self.since_me => commit(place.last_of_mine()?),
            None => None,
        };
        let Some(until) = commit(until.which) else {
            return Err(
                anyhow::anyhow!("commit first: `git add -A`, then `git commit`")
                    .context("nothing is committed yet, so there is no session"),
            );
        };
        let ends = (since.as_ref(), &until);
        sessions::run(&place.repo, &place.prefix, gap, ends, self.format)
    }
}

impl Place {
    pub(super) fn of(named: Option<&Path>) -> anyhow::Result<Self> {
        match super::build_folder(named) {
            Ok(folder) => {
                let repo = Repo::open(Some(&folder))?;
                let prefix = repo.inner().to_owned();
                Ok(Self {
                    repo,
                    folder: Some(folder),
                    prefix,
                })
            }
            Err(error) => {
                let repo = Repo::open(Some(named.unwrap_or(Path::new("."))));
                let Some(repo) = repo.ok().filter(Repo::is_bare) else {
                    return Err(error);
                };
                let builds = repo.builds_in("HEAD")?;
                let [prefix] = builds.as_slice() else {
                    let held = match builds.as_slice() {
                        [] => "no build".to_owned(),
                        more => format!("{} builds", more.len()),
                    };
                    return Err(
                        anyhow::anyhow!("go into a clone, to the build that you mean").context(
                            format!("there is no working folder here, and HEAD holds {held}"),
                        ),
                    );
                };
                Ok(Self {
                    prefix: prefix.clone(),
                    repo,
                    folder: None,
                })
            }
        }
    }

    /// The state that a name calls.
    fn state(&self, name: &str) -> anyhow::Result<Which> {
        let here = |which: Which| {
            if self.folder.is_some() {
                return Ok(which);
            }
            Err(anyhow::anyhow!("name a commit, a branch or a tag")
                .context(format!("`{name}` is nothing here: the repository is bare")))
        };
        match name {
            "folder" => return here(Which::Folder(self.folder.clone().unwrap_or_default())),
            "staged" => return here(Which::Staged),
            _ => {}
        }
        if let Ok(day) = name.parse::<Date>()
            && looks_like_a_day(name)
        {
            return self.at_day(day);
        }
        match self.repo.commit(name) {
            Ok(commit) => Ok(Which::Commit(commit)),
            // Git's own name for nothing at all.
            Err(GitError::NoCommit(_)) if self.repo.is_empty_tree(name) => Ok(Which::Nothing),
            Err(GitError::NoCommit(_)) => Err(self.no_state(name)),
            Err(error) => Err(error.into()),
        }
    }

    fn at_day(&self, day: Date) -> anyhow::Result<Which> {
        let (why, first) = match self.repo.at_day(day)? {
            Day::Commit(commit) => return Ok(Which::Commit(commit)),
            Day::Nothing => {
                let why = format!("by {day} nothing was committed, nor has been since");
                return Err(
                    anyhow::anyhow!("commit first: `git add -A`, then `git commit`").context(why),
                );
            }
            Day::Before(first) => (format!("by {day} nothing was committed"), first),
            Day::CutOff(first) => (
                format!("the history of this clone is cut off after {day}"),
                first,
            ),
        };
        let written = first.written.map(|written| written.local.date());
        let from = written.map_or_else(String::new, |day| format!(" of {day}"));
        let first = format!("the first commit is {}{from}", first.short());
        Err(anyhow::anyhow!("name a later day: {first}").context(why))
    }

    /// That a name leads to nothing, and what it may have been meant to be.
    fn no_state(&self, name: &str) -> anyhow::Error {
        if self.repo.names().is_empty() && self.repo.head().is_none() {
            return anyhow::anyhow!("commit first: `git add -A`, then `git commit`")
                .context(format!("nothing is committed yet, so `{name}` is no state"));
        }
        let why = match looks_like_a_day(name) {
            true => format!("`{name}` is no day in the calendar, and no commit is called so"),
            false => format!("no commit, branch or tag is called `{name}`"),
        };
        let mut known = self.repo.names();
        known.extend(["folder", "staged"].map(str::to_owned));
        known.sort();
        known.dedup();
        let known: Vec<&str> = known.iter().map(String::as_str).collect();
        let known = near::write_one_of(name, &known);
        anyhow::anyhow!("{known}; a day is written as in `2026-03-01`").context(why)
    }

    /// The last commit of whoever asks.
    fn last_of_mine(&self) -> anyhow::Result<Which> {
        let (name, address) = self.repo.whoever_asks();
        let (who, by_address) = match (address, name) {
            (Some(address), _) => (address, true),
            (None, Some(name)) => (name, false),
            (None, None) => {
                return Err(anyhow::anyhow!(
                    "say it with `git config user.email YOU@EXAMPLE`, or name a state"
                )
                .context("git does not know who you are here"));
            }
        };
        let head = self.repo.head();
        let all = match &head {
            Some(head) => self.repo.between(&[], &head.id)?,
            None => Vec::new(),
        };
        let is_mine = |commit: &Commit| {
            let own = match by_address {
                true => &commit.by.1,
                false => &commit.by.0,
            };
            own.to_lowercase() == who.to_lowercase()
        };
        // A merge brings in what others did: it is no work that one left off at.
        let mine = all
            .iter()
            .filter(|commit| is_mine(commit) && commit.parents.len() < 2);
        let (Some(last), Some(head)) = (mine.max_by_key(|commit| commit.written), head) else {
            return Err(anyhow::anyhow!(
                "name a day or a commit instead, or see `git config user.email`; \
                 `git shortlog -se HEAD` lists who has"
            )
            .context(match self.repo.cut_off().is_empty() {
                true => format!("nothing here was committed by {who}"),
                false => format!(
                    "nothing was committed by {who} as far as the history of this clone goes"
                ),
            }));
        };
        // One's own commits may have been put on top of what others did in the meantime.
        let mut before = None;
        let mut own_above = false;
        for commit in self.repo.main_line(&head) {
            let commit = commit?;
            own_above |= commit.id == last.id;
            if own_above && !is_mine(&commit) {
                if commit.written <= last.written {
                    break;
                }
                before = commit.parents.first().cloned();
            }
        }
        Ok(Which::Commit(match before {
            Some(id) => self.repo.commit(&id)?,
            None => last.clone(),
        }))
    }

    /// The end of the session before the one that goes on at that moment; without one,
    /// before the one that the last commit lies in. And what must be said of it.
    fn last_session(
        &self,
        gap: f64,
        now: Option<Moment>,
    ) -> anyhow::Result<(Which, Option<String>)> {
        let Some(head) = self.repo.head() else {
            return Ok((Which::Nothing, None));
        };
        let breaks =
            |earlier: Option<Moment>, later: Option<Moment>| runs(&[earlier, later], gap).len() > 1;
        if now.is_some() && breaks(head.written, now) {
            return Ok((Which::Commit(head), None));
        }
        let mut later = head.clone();
        for commit in self.repo.main_line(&head).skip(1) {
            let commit = commit?;
            if breaks(commit.written, later.written) {
                return Ok((Which::Commit(commit), None));
            }
            later = commit;
        }
        if !self.repo.cut_off().contains(&later.id) {
            return Ok((Which::Nothing, None));
        }
        let short = later.short();
        let remark = format!(
            "The history of this clone is cut off at {short}, in the midst of the session: \
             what it did before is not here."
        );
        Ok((Which::Commit(later), Some(remark)))
    }

    /// The earlier state, as of the later one's day: so what the days alone bring about
    /// does not stand among what was done.
    fn beside(&self, which: Which, until: &Seen) -> anyhow::Result<Seen> {
        let prefix = until.at.as_ref().map_or(&self.prefix, |at| &at.prefix);
        Seen::read(&self.repo, which, prefix, Some(until), until.day())
    }

    /// What must be said of two states that do not follow each other.
    fn out_of_line(&self, since: &Seen, until: &Seen) -> anyhow::Result<Option<String>> {
        let (from, to) = (since.last_commit(&self.repo), until.last_commit(&self.repo));
        let (Some(from), Some(to)) = (from, to) else {
            return Ok(None);
        };
        let behind = self.repo.between(std::slice::from_ref(&to.id), &from.id)?;
        if behind.is_empty() {
            return Ok(None);
        }
        let ahead = self.repo.between(std::slice::from_ref(&from.id), &to.id)?;
        let taken_back = "what only the first holds reads as taken back";
        Ok(Some(match (ahead.is_empty(), behind.len()) {
            (true, _) => format!("The second state is the older one: {taken_back}."),
            (false, 1) => {
                format!("The two have parted: 1 commit is in the first alone, and {taken_back}.")
            }
            (false, more) => format!(
                "The two have parted: {more} commits are in the first alone, and {taken_back}."
            ),
        }))
    }

    fn report(&self, since: &Seen, until: &Seen) -> anyhow::Result<Report> {
        let differs = self.differs(since, until)?;
        let mut report = report_of(since, until, differs);
        report.between = self.between(since, until)?;
        Ok(report)
    }

    /// How many commits and sessions lie between two states.
    fn between(&self, since: &Seen, until: &Seen) -> anyhow::Result<Option<Between>> {
        let (from, to) = (since.last_commit(&self.repo), until.last_commit(&self.repo));
        let (from, Some(to)) = (from, to) else {
            return Ok(None);
        };
        let from: Vec<String> = from.into_iter().map(|commit| commit.id).collect();
        let commits = self.repo.between(&from, &to.id)?;
        if commits.is_empty() {
            return Ok(None);
        }
        let own: BTreeSet<&str> = commits.iter().map(|commit| commit.id.as_str()).collect();
        let line = self.repo.main_line(&to).map_while(|commit| {
            let commit = commit.ok()?;
            own.contains(commit.id.as_str()).then_some(commit.written)
        });
        let line: Vec<Option<Moment>> = line.collect();
        Ok(Some(Between {
            commits: commits.len(),
            sessions: runs(&line, until.folder.model.build.gap_seconds()).len(),
        }))
    }

    /// The files that are not the same in two states, with git's names for both.
    fn differs(&self, since: &Seen, until: &Seen) -> anyhow::Result<Vec<FileChange>> {
        let repo = &self.repo;
        Ok(match (&since.which, &until.which) {
            (Which::Folder(_), Which::Folder(_)) => Vec::new(),
            (_, Which::Folder(folder)) => repo.differs_from_folder(since.at.as_ref(), folder)?,
            (Which::Folder(folder), _) => {
                let mut all = repo.differs_from_folder(until.at.as_ref(), folder)?;
                for one in &mut all {
                    std::mem::swap(&mut one.was, &mut one.is);
                }
                all
            }
            _ => {
                let all = repo.differs(since.at.as_ref(), until.at.as_ref())?;
                let changed = all.into_iter().map(|one| FileChange {
                    path: one.path,
                    was: one.was.map(|entry| entry.id),
                    is: one.is.map(|entry| entry.id),
                });
                changed.collect()
            }
        })
    }
}

/// What is told of two states that were read beside each other; `differs` are the files that
/// are not the same in both.
pub(super) fn report_of(since: &Seen, until: &Seen, differs: Vec<FileChange>) -> Report {
    let touched: BTreeSet<&str> = differs.iter().map(|one| one.path.as_str()).collect();
    let (was, is) = records::of_folders(&since.folder, &until.folder, &touched);
    let both = records::beside(&was, &is);
    // Worked out once, and for both sides at a time: rules, words and measures ask for it.
    let (was, is) = rayon::join(|| Present::of(&since.folder), || Present::of(&until.folder));
    let worked = |folder, present| Worked { folder, present };
    let (before, after) = (worked(&since.folder, &was), worked(&until.folder, &is));
    let words = || {
        let changes = changes::compare(&both.since, &both.until);
        let mut told = tell::tell(&changes);
        told.extend(tell::derived(before, after));
        tell::in_order(&mut told);
        (changes, told, progress::between(before, after))
    };
    let check = || rayon::join(|| since.findings(&was), || until.findings(&is));
    let ((before, after), (changes, told, progress)) = rayon::join(check, words);
    let before = Checked {
        folder: &since.folder,
        findings: &before,
    };
    let after = Checked {
        folder: &until.folder,
        findings: &after,
    };
    let found = conflicts(before, after, &changes, &told);
    let mut uncompared = both.uncompared;
    if found.hidden > 0 {
        let conflicts = match found.hidden {
            1 => "1 conflict of before may only be hidden by it".to_owned(),
            more => format!("{more} conflicts of before may only be hidden by it"),
        };
        uncompared.push(Uncompared {
            file: until.folder.left_out(crate::model::Kind::ALL).join(", "),
            why: format!("after: {conflicts}"),
        });
    }
    let mut files = differs;
    files.retain(|file| kind_of(&file.path).is_none());
    Report {
        since: since.side(),
        until: until.side(),
        between: None,
        remark: None,
        changes,
        told,
        files,
        uncompared,
        opened: found.opened,
        cleared: found.cleared,
        progress,
    }
}

/// Whether a name is meant as a day: four figures, two and two.
fn looks_like_a_day(name: &str) -> bool {
    let parts: Vec<&str> = name.split('-').collect();
    let figures = |part: &&str| part.bytes().all(|b| b.is_ascii_digit());
    let lengths: Vec<usize> = parts.iter().map(|part| part.len()).collect();
    lengths == [4, 2, 2] && parts.iter().all(figures)
}
