//! A state of a build as the check finds it: the working folder, what is staged, or
//! what a commit holds.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Duration as Age;

use jiff::civil::Date;

use crate::changes::report::Side;
use crate::finding::Finding;
use crate::folder::{self, Content, Folder, RawFile};
use crate::kept::Kept;
use crate::lint::rules::RULES;
use crate::lint::{self, Facts, PastTheCheck, Uncommitted};
use crate::model::build::Stops;
use crate::model::common::Duration;
use crate::near;
use crate::picture::named::Wanted;
use crate::picture::{Picture, Stored};
use crate::present::Present;
use crate::shell::git::{BuildAt, Commit, GitError, Repo};
use crate::shell::history::TreeAt;
use crate::shell::{clock, disk, synced};

/// One build, read and checked.
pub struct State {
    /// The folder it lies in, from the top of the repository.
    pub prefix: String,
    /// What was read.
    pub folder: Folder,
    /// What was found.
    pub findings: Vec<Finding>,
}

impl State {
    fn of(prefix: String, folder: Folder, facts: &Facts) -> Self {
        let findings = lint::check(&folder, facts);
        Self {
            prefix,
            folder,
            findings,
        }
    }

    /// Whether only what a commit adds stops it.
    fn stops_added(&self) -> bool {
        self.folder.model.build.stops == Some(Stops::Added)
    }
}

/// The working folder.
pub fn of_folder(path: &Path, as_of: Option<Date>) -> anyhow::Result<State> {
    folder::make_ready();
    let folder = Folder::read(disk::yaml_files(path)?)?;
    // A folder under no git, or one that git won't tell of, is judged as it lies there.
    let repo = Repo::open(Some(path)).ok();
    let mut facts = facts_of_folder(repo.as_ref(), path, &folder, as_of);
    if let Some(repo) = &repo {
        past_the_check(repo, &mut facts);
        facts.synced = synced::look(repo);
    }
    Ok(State::of(String::new(), folder, &facts))
}

/// What a rule may know of the working folder, commits that no hook saw apart.
fn facts_of_folder(
    repo: Option<&Repo>,
    path: &Path,
    folder: &Folder,
    as_of: Option<Date>,
) -> Facts {
    let mut facts = Facts::on(as_of.unwrap_or_else(clock::today));
    let mut pictures = disk::pictures(path, &Wanted::by(folder));
    if let Some(repo) = repo {
        facts.uncommitted = uncommitted(repo, path);
        let files: Vec<&str> = pictures.iter().map(|one| one.file.as_str()).collect();
        let goes = repo.go_to_large_files(&files);
        for (picture, goes) in pictures.iter_mut().zip(goes) {
            if goes && picture.stored == Stored::Whole {
                picture.stored = Stored::LargeFile;
            }
        }
    }
    facts.pictures = Some(pictures);
    facts
}

/// Where a state of a build is taken from.
#[derive(Debug, Clone)]
pub enum Which {
    /// Before the first commit.
    Nothing,
    /// What a commit holds.
    Commit(Commit),
    /// What is staged.
    Staged,
    /// The working folder, this one.
    Folder(PathBuf),
}

/// One state out of two, read.
pub struct Seen {
    /// Where it was taken from.
    pub which: Which,
    /// What it holds.
    pub folder: Folder,
    /// Where in git it is, unless it is the working folder or no build.
    pub at: Option<TreeAt>,
    /// What rules may know of it; none where there is no build to check.
    facts: Option<Facts>,
}

impl Seen {
    /// Reads a state beside the other one: of what both hold nothing is fetched, read or
    /// typed twice. The build is the one in this folder of the repository.
    ///
    /// # Errors
    /// When git can't read it.
    pub fn read(
        repo: &Repo,
        which: Which,
        prefix: &str,
        other: Option<&Self>,
        as_of: Option<Date>,
    ) -> anyhow::Result<Self> {
        let nothing = Folder::default();
        let beside = other.map_or(&nothing, |other| &other.folder);
        let (tree, day) = match &which {
            Which::Nothing => return Ok(Self::empty(which)),
            Which::Folder(path) => {
                let raw = repo.named(disk::yaml_files(path)?);
                let folder = Folder::read_beside(raw, &Kept::closed(), beside)?;
                let mut facts = facts_of_folder(Some(repo), path, &folder, as_of);
                // What is not committed yet is no conflict that a change brought about.
                facts.uncommitted.clear();
                return Ok(Self {
                    which,
                    folder,
                    at: None,
                    facts: Some(facts),
                });
            }
            Which::Commit(commit) => (commit.tree.clone(), commit.day),
            Which::Staged => (staged_tree(repo)?, None),
        };
        let still_there = |prefix: &str| match other.map(|other| (&other.which, &other.at)) {
            Some((Which::Folder(_), _)) => repo.has_build_at(prefix),
            Some((_, Some(at))) => repo
                .builds_in(&at.tree)
                .is_ok_and(|all| all.iter().any(|one| one == prefix)),
            _ => false,
        };
        let known = |path: &str, name: &str| beside.has(path, name);
        let Some(mut build) = repo.build_in(&tree, prefix, still_there, known)? else {
            return Ok(Self::empty(which));
        };
        let files = std::mem::take(&mut build.files);
        let folder = Folder::read_beside(files, &Kept::closed(), beside)?;
        let mut facts = Facts::on(as_of.or(day).unwrap_or_else(clock::today));
        facts.pictures = Some(repo.pictures(&build, &Wanted::by(&folder)));
        let prefix = build.prefix;
        Ok(Self {
            which,
            folder,
            at: Some(TreeAt { tree, prefix }),
            facts: Some(facts),
        })
    }

    /// What the working folder will be once some files are others: it is checked as it is
    /// now, and with these pictures in the place of what lies there.
    ///
    /// # Errors
    /// When the folder can't be read.
    pub fn with(
        &self,
        path: &Path,
        files: &BTreeMap<String, Option<Vec<u8>>>,
        pictures: Vec<Picture>,
    ) -> anyhow::Result<Self> {
        let mut raw = disk::yaml_files(path)?;
        raw.retain(|file| !files.contains_key(&file.path));
        raw.extend(files.iter().filter_map(|(path, bytes)| {
            Some(RawFile {
                path: path.clone(),
                content: Content::Bytes(bytes.clone()?),
            })
        }));
        let folder = Folder::read_beside(raw, &Kept::closed(), &self.folder)?;
        let facts = self.facts.clone().map(|mut facts| {
            let mut all = disk::pictures(path, &Wanted::by(&folder));
            all.retain(|one| !pictures.iter().any(|new| new.file == one.file));
            all.extend(pictures);
            all.sort_by(|a, b| a.file.cmp(&b.file));
            facts.pictures = Some(all);
            facts
        });
        Ok(Self {
            which: self.which.clone(),
            folder,
            at: None,
            facts,
        })
    }

    /// A state with no build.
    pub fn empty(which: Which) -> Self {
        Self {
            which,
            folder: Folder::default(),
            at: None,
            facts: None,
        }
    }

    /// The day that it is checked as of.
    pub fn day(&self) -> Option<Date> {
        self.facts.as_ref().map(|facts| facts.as_of)
    }

    /// The commit that it is, or that what is not committed yet builds upon.
    pub fn last_commit(&self, repo: &Repo) -> Option<Commit> {
        match &self.which {
            Which::Nothing => None,
            Which::Commit(commit) => Some(commit.clone()),
            Which::Staged | Which::Folder(_) => repo.head(),
        }
    }

    /// Whether there is a build.
    pub fn is_build(&self) -> bool {
        self.facts.is_some()
    }

    /// What is wrong with it, by its present state.
    pub fn findings(&self, present: &Present<'_>) -> Vec<Finding> {
        let check = |facts| lint::check_present(&self.folder, facts, RULES, Some(present));
        self.facts.as_ref().map_or_else(Vec::new, check)
    }

    /// The same for a report.
    pub fn side(&self) -> Side {
        match &self.which {
            Which::Nothing => Side::Nothing,
            Which::Staged => Side::Staged,
            Which::Folder(_) => Side::Folder,
            Which::Commit(commit) => Side::Commit {
                id: commit.id.clone(),
                title: commit.title.clone(),
                when: commit.written,
                by: commit.by.0.clone(),
            },
        }
    }
}

/// What is staged: what a commit made now would hold.
pub fn staged(repo: &Repo, as_of: Option<Date>, amends: bool) -> anyhow::Result<Vec<State>> {
    if repo.kept_readings().is_empty() {
        folder::make_ready();
    }
    let facts = Facts::on(as_of.unwrap_or_else(clock::today));
    let mut states = of_builds(repo, repo.staged(amends)?, &facts)?;
    if states.iter().any(State::stops_added) {
        mark_older(repo, &mut states, &repo.parents_seen(amends), &facts)?;
    }
    Ok(states)
}

/// What a commit holds.
pub fn at(repo: &Repo, commit: &Commit, as_of: Option<Date>) -> anyhow::Result<Vec<State>> {
    let parents = || -> Result<Vec<Commit>, GitError> {
        commit.parents.iter().map(|id| repo.commit(id)).collect()
    };
    after(repo, commit, as_of, parents)
}

/// What a commit holds, and of what it holds what other commits did not.
pub fn after(
    repo: &Repo,
    commit: &Commit,
    as_of: Option<Date>,
    before: impl FnOnce() -> Result<Vec<Commit>, GitError>,
) -> anyhow::Result<Vec<State>> {
    let facts = Facts::on(as_of.or(commit.day).unwrap_or_else(clock::today));
    let mut states = of_builds(repo, repo.at(commit)?, &facts)?;
    if states.iter().any(State::stops_added) {
        mark_older(repo, &mut states, &before()?, &facts)?;
    }
    Ok(states)
}

/// What a commit holds, with facts that are known already.
pub fn at_with(repo: &Repo, commit: &Commit, facts: &Facts) -> anyhow::Result<Vec<State>> {
    of_builds(repo, repo.at(commit)?, facts)
}

fn of_builds(repo: &Repo, builds: Vec<BuildAt>, facts: &Facts) -> anyhow::Result<Vec<State>> {
    builds
        .into_iter()
        .map(|mut build| {
            let files = std::mem::take(&mut build.files);
            let folder = Folder::read_with(files, repo.kept_readings())?;
            let pictures = repo.pictures(&build, &Wanted::by(&folder));
            let facts = Facts {
                pictures: Some(pictures),
                ..facts.clone()
            };
            Ok(State::of(build.prefix, folder, &facts))
        })
        .collect()
}

/// What is staged as a tree.
fn staged_tree(repo: &Repo) -> anyhow::Result<String> {
    match repo.index_tree() {
        Err(GitError::Refused(said)) if said.contains("unmerged") => Err(anyhow::anyhow!(
            "settle it and `git add` its files, or name `folder`"
        )
        .context("what is staged is no state yet: a merge in it is not settled")),
        tree => Ok(tree?),
    }
}

/// Marks what the parents held already, in builds that want it so.
fn mark_older(
    repo: &Repo,
    states: &mut [State],
    parents: &[Commit],
    facts: &Facts,
) -> anyhow::Result<()> {
    let mut before = Vec::new();
    for parent in parents {
        before.push(of_builds(repo, repo.as_it_was(parent)?, facts)?);
    }
    for state in states.iter_mut().filter(|state| state.stops_added()) {
        let known: Vec<Vec<Finding>> = before
            .iter()
            .flatten()
            .filter(|old| old.prefix == state.prefix)
            .map(|old| old.findings.clone())
            .collect();
        lint::mark_older(&mut state.findings, &known);
    }
    Ok(())
}

/// All findings of several builds; with more than one, files are named from the top of
/// the repository.
pub fn findings(states: &[State]) -> Vec<Finding> {
    let several = states.len() > 1;
    let mut all = Vec::new();
    for state in states {
        for finding in &state.findings {
            let mut finding = finding.clone();
            if several {
                finding.place.file.insert_str(0, &state.prefix);
                for related in &mut finding.related {
                    related.place.file.insert_str(0, &state.prefix);
                }
            }
            all.push(finding);
        }
    }
    all
}

/// How many commits that no hook saw are looked at beside a check of the folder; each
/// takes about as long as the folder itself.
const LOOKED_AT: usize = 4;

/// Adds what is wrong with the first commits that no hook saw, and remembers how far
/// they were clean.
fn past_the_check(repo: &Repo, facts: &mut Facts) {
    repo.follow();
    let Some(head) = repo.head() else { return };
    let from = match repo.checked() {
        Some(checked) => vec![checked.id],
        None if repo.guarded_from_the_first() => Vec::new(),
        None => return,
    };
    let Ok(unseen) = repo.between(&from, &head.id) else {
        return;
    };
    let mut clean = None;
    for commit in unseen.iter().take(LOOKED_AT) {
        facts.past_the_check.extend(errors_of(repo, commit));
        if facts.past_the_check.is_empty() {
            clean = Some(commit);
        }
    }
    repo.keep_pictures();
    facts.not_looked_at = unseen.len().saturating_sub(LOOKED_AT);
    if let Some(commit) = clean {
        repo.set_checked(commit);
    }
}

/// The errors of a commit that stop, as a rule is told of them; none if it is clean.
pub fn errors_of(repo: &Repo, commit: &Commit) -> Option<PastTheCheck> {
    let (errors, first) = match at(repo, commit, None) {
        Ok(states) => {
            let all = findings(&states);
            let mut stopping = all.iter().filter(|finding| finding.stops());
            let first = stopping.next()?;
            let line = format!(
                "{}:{}: {}",
                first.place.file, first.place.start, first.message
            );
            (1 + stopping.count(), line)
        }
        Err(error) => (1, error.to_string()),
    };
    Some(PastTheCheck {
        commit: commit.short().to_owned(),
        when: commit.day.unwrap_or_else(clock::today),
        title: near::shortened(&commit.title),
        errors,
        first,
    })
}

fn uncommitted(repo: &Repo, path: &Path) -> Vec<Uncommitted> {
    let written = repo.uncommitted(path);
    let mut files: Vec<(Age, String)> =
        written.into_iter().map(|(file, age)| (age, file)).collect();
    files.sort();
    files
        .into_iter()
        .rev()
        .map(|(age, file)| {
            let hours = age.as_secs() / 3600;
            let age = match hours {
                0..48 => format!("{hours} h"),
                _ => format!("{} days", hours / 24),
            };
            Uncommitted {
                file,
                age: Duration(age),
            }
        })
        .collect()
}
