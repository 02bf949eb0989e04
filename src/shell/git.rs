//! Git: what is staged, what a commit holds, how commits hang together.
//!
//! The library reads most repositories. What it does not read (a split or sparse
//! index, reftable, blobs that a partial clone left behind) is asked of git
//! itself, through the same few questions.

use std::cell::RefCell;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use std::time::Duration;

use git2::{ErrorCode, IndexEntryExtendedFlag, ObjectType, Oid, Repository, TreeWalkMode};
use jiff::Timestamp;
use jiff::tz::Offset;

pub use crate::changes::commit::Commit;
use crate::changes::report::Moment;
use crate::folder::{Content, RawFile, is_yaml, kind_of};
use crate::kept::{Kept, KeptPictures};
use crate::model::Kind;
use crate::picture::named::Wanted;
use crate::picture::{LARGEST, Picture, Stored};
use crate::source::Budget;

use super::weight::Weights;

/// Why git did not answer.
#[derive(Debug, thiserror::Error)]
pub enum GitError {
    /// No repository.
    #[error("{0} lies in no git repository")]
    NoRepository(String),
    /// The repository belongs to somebody else.
    #[error("git does not trust {0}: it belongs to another user")]
    Owner(String),
    /// No such commit.
    #[error("there is no commit `{0}`")]
    NoCommit(String),
    /// Records are there, and what makes them a build is not.
    #[error("{0}build.yaml is not among the files that git holds here, though records are")]
    NoBuild(String),
    /// A build lies inside another one since.
    #[error("the build in {0} lies inside another build now, where its records are not looked at")]
    Inside(String),
    /// Git is asked, and is not there.
    #[error("this repository needs the `git` command to be read ({0}), and it is not found")]
    NoGit(String),
    /// Git is asked, and says no.
    #[error("git can't read this repository: {0}")]
    Refused(String),
    /// A partial clone lacks it.
    #[error("git does not have all records of this here, and nothing is fetched to check them")]
    LeftBehind,
    /// More than any build needs.
    #[error("{0}")]
    TooMuch(&'static str),
    /// The repository is set to work on another folder.
    #[error("the repository of {0} is set to keep another folder (`core.worktree`)")]
    Elsewhere(String),
    /// A `.git` leads to a repository that knows nothing of it.
    #[error(
        "the `.git` of {0} leads to a repository elsewhere, which does not name this folder as its own"
    )]
    NotItsOwn(String),
}

impl GitError {
    /// What to do about it.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::NoRepository(_) => "go into a clone, or begin one with `git init`",
            Self::Owner(_) => {
                "make it yours, or trust it: `git config --global --add safe.directory FOLDER`"
            }
            Self::NoCommit(_) => "name a commit, a branch or a tag; `git log --oneline` lists them",
            Self::NoBuild(_) => "put it back, and stage it with `git add build.yaml`",
            Self::Inside(_) => "keep the builds beside each other, or put the two together",
            Self::NoGit(_) => "install git",
            Self::Refused(_) => "see what `git status` and `git fsck` say here",
            Self::LeftBehind => "fetch all that was left behind: `git fetch --refetch --no-filter`",
            Self::TooMuch(_) => "it was hardly made at a bench: find out who made it, and why",
            Self::Elsewhere(_) => {
                "see who set it, and where to: `git config --show-origin core.worktree`"
            }
            Self::NotItsOwn(_) => {
                "where both are yours, type in that folder `git config core.worktree \"$PWD\"`"
            }
        }
    }
}

/// A repository.
pub struct Repo {
    /// The library's view of it; none where the library can't read it.
    pub(super) library: Option<Repository>,
    /// Why the library can't.
    why_not: String,
    /// Where git is asked.
    folder: PathBuf,
    /// The folder that was named, from the top of the repository, with a `/` at its
    /// end; empty for the top, or where none was named.
    inner: String,
    /// What files were read as before.
    kept: OnceLock<Kept>,
    /// What pictures told before.
    kept_pictures: OnceLock<KeptPictures>,
    /// Settings that keep git from running what the repository says.
    shut: OnceLock<Vec<(String, String)>>,
    /// How much trees hold.
    pub(super) weights: RefCell<Weights>,
}

/// A file as git lists it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Listed {
    pub(super) path: String,
    pub(super) mode: u32,
    pub(super) id: String,
}

/// How far the history has been checked, in this clone.
const CHECKED: &str = "refs/matchmark/checked";
/// What a hook let through last: the name of a tree, beside git's own files.
const PASSED: &str = "matchmark-passed";
/// What was said of the merge that was looked at last, below its parents.
const TOLD: &str = "matchmark-told";
/// More than git has to say of any build.
const LONGEST_ANSWER: u64 = 512 << 20;
/// More than git says of what went wrong.
const LONGEST_WORD: u64 = 64 << 10;
/// More than is kept in any file beside git's own.
const LONGEST_KEPT: u64 = 128 << 20;

/// What files were read as, beside git's own files.
const READINGS: &str = "matchmark-readings";
/// What pictures told, beside git's own files.
const PICTURES: &str = "matchmark-pictures";

pub(super) const LINK: u32 = 0o120_000;
const SUBMODULE: u32 = 0o160_000;

impl Repo {
    /// The repository that a folder lies in; without a folder the one that git
    /// itself would use here, as in a hook.
    ///
    /// # Errors
    /// When there is none, or it belongs to somebody else.
    pub fn open(folder: Option<&Path>) -> Result<Self, GitError> {
        let shown = folder.unwrap_or(Path::new(".")).display().to_string();
        // Git has looked at them when they came; a hook has no time to do it again.
        git2::opts::strict_hash_verification(false);
        let opened = match folder {
            None => Repository::open_from_env(),
            Some(folder) => Repository::discover(folder),
        };
        let mut repo = Self {
            library: None,
            why_not: String::new(),
            folder: folder.unwrap_or(Path::new(".")).to_owned(),
            inner: String::new(),
            kept: OnceLock::new(),
            kept_pictures: OnceLock::new(),
            shut: OnceLock::new(),
            weights: RefCell::default(),
        };
        match opened {
            Ok(library) => repo.library = Some(library),
            Err(error) if error.code() == ErrorCode::NotFound => {
                return Err(GitError::NoRepository(shown));
            }
            Err(error) => {
                error.message().clone_into(&mut repo.why_not);
                match repo.ask(&["rev-parse", "--git-dir"], None) {
                    Ok(_) => {}
                    Err(GitError::Refused(_)) if error.code() == ErrorCode::Owner => {
                        return Err(GitError::Owner(shown));
                    }
                    Err(error) => return Err(error),
                }
            }
        }
        // A hook is told by git which repository it is run for, and lies in it.
        if folder.is_some() || std::env::var_os("GIT_DIR").is_none() {
            repo.sees_to_its_own(folder.unwrap_or(Path::new(".")), &shown)?;
        }
        if let Some(folder) = folder {
            repo.inner = repo.inner_of(folder);
        }
        Ok(repo)
    }

    /// Sees that the repository is this folder's own. To ask one what differs, whose work
    /// tree is elsewhere, would be to look through somebody's other files; to write into one
    /// that a `.git` only points to would be to write into somebody's other repository.
    fn sees_to_its_own(&self, folder: &Path, shown: &str) -> Result<(), GitError> {
        let whole = |path: &Path| path.canonicalize().ok();
        let Some(library) = &self.library else {
            return Ok(());
        };
        let (Some(git), Some(folder)) = (whole(library.path()), whole(folder)) else {
            return Ok(());
        };
        let config = library.config().and_then(|mut config| config.snapshot());
        let names_it = config.is_ok_and(|config| config.get_bytes("core.worktree").is_ok());
        // The library takes the folder round it for the work tree of what a `.git` leads to.
        let top = library.workdir().and_then(whole);
        let inside = top.as_ref().is_some_and(|top| folder.starts_with(top));
        if !inside && !folder.starts_with(&git) {
            return Err(match names_it {
                true => GitError::Elsewhere(shown.to_owned()),
                false => GitError::NotItsOwn(shown.to_owned()),
            });
        }
        let Some(top) = top else { return Ok(()) };
        let begins = top.join(".git");
        let knows_it = || {
            let back = plain_file(&git.join("gitdir")).unwrap_or_default();
            let back = String::from_utf8_lossy(&back).into_owned();
            whole(Path::new(back.trim_end())) == whole(&begins)
        };
        let is_own = whole(&begins).is_some_and(|own| own == git) && !begins.is_symlink();
        if is_own || git.starts_with(&top) || names_it || knows_it() {
            return Ok(());
        }
        Err(GitError::NotItsOwn(shown.to_owned()))
    }

    /// Whether what lies at a path, or would, lies in the repository or its work tree, also
    /// where links lead on the way.
    pub(super) fn holds(&self, path: &Path) -> bool {
        let whole = |path: &Path| path.canonicalize().ok();
        if path.is_symlink() && whole(path).is_none() {
            return false;
        }
        let Some(found) = path.ancestors().find_map(|above| match above {
            above if above.as_os_str().is_empty() => whole(Path::new(".")),
            above => whole(above),
        }) else {
            return false;
        };
        let top = self.ask_line(&["rev-parse", "--show-toplevel"]).ok();
        let kept = [self.common_folder(), top.map(PathBuf::from)];
        let mut kept = kept.into_iter().flatten().filter_map(|kept| whole(&kept));
        kept.any(|kept| found.starts_with(kept))
    }

    /// A folder from the top of the work tree.
    pub(super) fn inner_of(&self, folder: &Path) -> String {
        let top = match &self.library {
            Some(library) => library.workdir().map(Path::to_owned),
            None => self
                .ask_line(&["rev-parse", "--show-toplevel"])
                .ok()
                .map(PathBuf::from),
        };
        let whole = |path: &Path| path.canonicalize().ok();
        let inner = top.and_then(|top| {
            let folder = whole(folder)?;
            Some(folder.strip_prefix(whole(&top)?).ok()?.to_owned())
        });
        let parts = inner.iter().flat_map(|inner| inner.components());
        parts
            .map(|part| format!("{}/", part.as_os_str().to_string_lossy()))
            .collect()
    }

    /// Asks git itself. The answer is its standard output.
    pub(super) fn ask(&self, question: &[&str], input: Option<&[u8]>) -> Result<Vec<u8>, GitError> {
        let mut git = Command::new("git");
        self.shut(git.args(question));
        let mut child = git
            .current_dir(&self.folder)
            .stdin(if input.is_some() {
                Stdio::piped()
            } else {
                Stdio::null()
            })
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .map_err(|_| GitError::NoGit(self.why_not.clone()))?;
        let pipe = child.stdin.take();
        let (out, err) = (child.stdout.take(), child.stderr.take());
        let (mut answer, mut said) = (Vec::new(), Vec::new());
        let read = std::thread::scope(|scope| {
            if let (Some(mut pipe), Some(input)) = (pipe, input) {
                // Written from beside, so that neither side waits for the other.
                scope.spawn(move || {
                    let _ = pipe.write_all(input);
                });
            }
            scope.spawn(|| {
                let Some(mut err) = err else { return };
                let _ = err.by_ref().take(LONGEST_WORD).read_to_end(&mut said);
                let _ = std::io::copy(&mut err, &mut std::io::sink());
            });
            let read = out.map(|out| out.take(LONGEST_ANSWER + 1).read_to_end(&mut answer));
            if answer.len() as u64 > LONGEST_ANSWER {
                let _ = child.kill();
            }
            read
        });
        let status = child.wait();
        if answer.len() as u64 > LONGEST_ANSWER {
            return Err(GitError::TooMuch("git's answer has no end here"));
        }
        let status = status.map_err(|error| GitError::Refused(error.to_string()))?;
        if status.success() && !matches!(read, Some(Err(_))) {
            return Ok(answer);
        }
        let said = String::from_utf8_lossy(&said);
        let line = said.lines().next().unwrap_or("it does not say why");
        Err(GitError::Refused(
            line.trim_start_matches("fatal: ").to_owned(),
        ))
    }

    /// Keeps git from running what the repository says: hooks, filters, watchers, whatever
    /// verifies a signature, or a remote's own commands where something is to be fetched. It
    /// came from somebody else, perhaps; the builder's own settings stand.
    pub(super) fn shut(&self, git: &mut Command) {
        git.env("GIT_NO_LAZY_FETCH", "1")
            .env("GIT_ALLOW_PROTOCOL", "none")
            .env("GIT_OPTIONAL_LOCKS", "0")
            .env("GIT_TERMINAL_PROMPT", "0");
        // These two run nothing, and are asked for what is set.
        let first = git.get_args().next().unwrap_or_default();
        if first == "config" || first == "rev-parse" {
            return;
        }
        let begun = std::env::var("GIT_CONFIG_COUNT");
        let begun: usize = begun
            .ok()
            .and_then(|count| count.parse().ok())
            .unwrap_or_default();
        let mut count = begun;
        for (key, value) in self.shut.get_or_init(|| self.to_be_shut()) {
            git.env(format!("GIT_CONFIG_KEY_{count}"), key);
            git.env(format!("GIT_CONFIG_VALUE_{count}"), value);
            count += 1;
        }
        git.env("GIT_CONFIG_COUNT", count.to_string());
    }

    fn to_be_shut(&self) -> Vec<(String, String)> {
        let usual = [
            ("core.fsmonitor", "false"),
            ("core.hooksPath", "/dev/null"),
            ("log.showSignature", "false"),
            ("log.mailmap", "false"),
        ];
        let usual = usual.map(|(key, value)| (key.to_owned(), value.to_owned()));
        let mut shut = Vec::from(usual);
        let question = [
            "config",
            "-z",
            "--show-scope",
            "--name-only",
            "--get-regexp",
            "^filter\\..*\\.(clean|process|required)$",
        ];
        // That nothing is set is an error to git.
        let answer = self.ask(&question, None).unwrap_or_default();
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let mut words = answer.split('\0');
        while let (Some(scope), Some(key)) = (words.next(), words.next()) {
            if matches!(scope, "local" | "worktree") {
                let off = if key.ends_with(".required") {
                    "false"
                } else {
                    ""
                };
                shut.push((key.to_owned(), off.to_owned()));
            }
        }
        shut
    }

    /// Asks git for one line.
    ///
    /// # Errors
    /// When git is not there, or says no.
    pub(super) fn ask_line(&self, question: &[&str]) -> Result<String, GitError> {
        let answer = self.ask(question, None)?;
        let line = String::from_utf8_lossy(&answer);
        Ok(line.trim_end_matches(['\n', '\r']).to_owned())
    }

    /// The builds in what is staged: what a commit made now would hold. `amends` tells
    /// whether that commit takes the place of the last.
    ///
    /// # Errors
    /// When the index can't be read, or a build has gone without its records.
    pub fn staged(&self, amends: bool) -> Result<Vec<BuildAt>, GitError> {
        let listed = match self.library.as_ref().map(library_staged) {
            Some(Ok(listed)) => listed,
            // `write-tree` knows of intent to add, of split and of sparse indexes.
            _ => {
                let tree = self.ask_line(&["write-tree"])?;
                self.git_tree(&tree)?
            }
        };
        let outer = self.prefixes(&listed);
        self.none_left_behind(&listed, &outer, &self.parents_to_be(amends))?;
        self.builds(listed, outer)
    }

    /// The builds in a commit.
    ///
    /// # Errors
    /// When it can't be read, or a build has gone in it without its records.
    pub fn at(&self, commit: &Commit) -> Result<Vec<BuildAt>, GitError> {
        let listed = self.listed_at(commit)?;
        let outer = self.prefixes(&listed);
        let parents: Result<Vec<Commit>, GitError> =
            commit.parents.iter().map(|id| self.commit(id)).collect();
        // Where the history is cut off, there is nothing to compare with.
        self.none_left_behind(&listed, &outer, &parents.unwrap_or_default())?;
        self.builds(listed, outer)
    }

    /// What was there before, to compare with: records count even without a `build.yaml`.
    ///
    /// # Errors
    /// When it can't be read.
    pub fn as_it_was(&self, commit: &Commit) -> Result<Vec<BuildAt>, GitError> {
        let listed = self.listed_at(commit)?;
        let mut outer = self.prefixes(&listed);
        if outer.is_empty() {
            outer.push(self.inner.clone());
        }
        self.builds(listed, outer)
    }

    fn listed_at(&self, commit: &Commit) -> Result<Vec<Listed>, GitError> {
        self.listed(&commit.id)
    }

    /// All files of a tree or commit.
    pub(super) fn listed(&self, tree: &str) -> Result<Vec<Listed>, GitError> {
        let library = self.library.as_ref();
        if let Some(Ok(found)) = library.map(|library| library_tree_id(library, tree)) {
            self.weighed(found)?;
        }
        match library.map(|library| library_tree(library, tree)) {
            Some(Ok(listed)) => Ok(listed),
            _ => self.git_tree(tree),
        }
    }

    /// The builds in a tree: the folder of each, with a `/` at its end, and its `build.yaml`.
    ///
    /// # Errors
    /// When it can't be read.
    pub fn build_files(&self, tree: &str) -> Result<Vec<(String, RawFile)>, GitError> {
        let mut listed = self.listed(tree)?;
        let prefixes = self.prefixes(&listed);
        listed.retain(|file| {
            let folder = file.path.strip_suffix("build.yaml");
            folder.is_some_and(|folder| prefixes.iter().any(|prefix| prefix == folder))
        });
        let contents = self.blobs(listed.iter())?;
        let folder = |file: &Listed| file.path.trim_end_matches("build.yaml").to_owned();
        let builds = listed.iter().zip(contents).map(|(file, content)| {
            let path = "build.yaml".to_owned();
            (folder(file), RawFile { path, content })
        });
        Ok(builds.collect())
    }

    fn git_tree(&self, tree: &str) -> Result<Vec<Listed>, GitError> {
        let answer = self.ask(&["ls-tree", "-r", "-z", "--full-tree", tree], None)?;
        Ok(answer
            .split(|byte| *byte == 0)
            .filter_map(|line| {
                let line = String::from_utf8_lossy(line);
                let (about, path) = line.split_once('\t')?;
                let mut about = about.split(' ');
                let mode = u32::from_str_radix(about.next()?, 8).ok()?;
                let id = about.nth(1)?.to_owned();
                Some(Listed {
                    path: path.to_owned(),
                    mode,
                    id,
                })
            })
            .collect())
    }

    /// Where the builds among listed files lie.
    fn prefixes(&self, listed: &[Listed]) -> Vec<String> {
        let mut prefixes = all_prefixes(listed);
        // The innermost build that the named folder lies in, or those that lie in it.
        let around = prefixes
            .iter()
            .filter(|prefix| self.inner.starts_with(prefix.as_str()))
            .max_by_key(|prefix| prefix.len())
            .filter(|_| !self.inner.is_empty());
        if let Some(around) = around {
            return vec![around.clone()];
        }
        prefixes.retain(|prefix| prefix.starts_with(&self.inner));
        // A build inside another's folder is that one's business.
        let mut outer: Vec<String> = Vec::new();
        for prefix in prefixes {
            if !outer.iter().any(|above| prefix.starts_with(above.as_str())) {
                outer.push(prefix);
            }
        }
        outer
    }

    /// That no build has gone, and left its records where nobody reads them any more.
    fn none_left_behind(
        &self,
        listed: &[Listed],
        outer: &[String],
        parents: &[Commit],
    ) -> Result<(), GitError> {
        // Records that lie in no build, by the folder that a build would have to lie in.
        let mut stray: Vec<String> = Vec::new();
        for file in listed.iter().filter(|file| is_yaml(&file.path)) {
            if outer
                .iter()
                .any(|build| file.path.starts_with(build.as_str()))
            {
                continue;
            }
            let ends = file.path.match_indices('/').map(|(at, _)| at + 1);
            for at in std::iter::once(0).chain(ends) {
                let (folder, inner) = file.path.split_at(at);
                if kind_of(inner).is_some() && !stray.iter().any(|one| one == folder) {
                    stray.push(folder.to_owned());
                }
            }
        }
        stray.retain(|folder| folder.starts_with(&self.inner));
        let inside: Vec<String> = all_prefixes(listed)
            .into_iter()
            .filter(|prefix| !outer.contains(prefix))
            .filter(|prefix| outer.iter().any(|build| prefix.starts_with(build.as_str())))
            .collect();
        if outer.is_empty() && stray.contains(&self.inner) {
            return Err(GitError::NoBuild(self.inner.clone()));
        }
        if stray.is_empty() && inside.is_empty() {
            return Ok(());
        }
        for parent in parents {
            for build in self.prefixes(&self.listed_at(parent)?) {
                if stray.contains(&build) {
                    return Err(GitError::NoBuild(build));
                }
                if inside.contains(&build) {
                    return Err(GitError::Inside(build));
                }
            }
        }
        Ok(())
    }

    /// The builds among listed files, with what is in their YAML files.
    fn builds(&self, listed: Vec<Listed>, outer: Vec<String>) -> Result<Vec<BuildAt>, GitError> {
        self.builds_beside(listed, outer, |_, _| false)
    }

    /// The same; what is in a file that is known by its path and its name is not fetched.
    pub(super) fn builds_beside(
        &self,
        listed: Vec<Listed>,
        outer: Vec<String>,
        is_known: impl Fn(&str, &str) -> bool,
    ) -> Result<Vec<BuildAt>, GitError> {
        let mut builds: Vec<BuildAt> = outer
            .into_iter()
            .map(|prefix| BuildAt {
                prefix,
                files: Vec::new(),
                others: Vec::new(),
            })
            .collect();
        let mut wanted: Vec<(usize, String, Listed)> = Vec::new();
        for file in listed {
            let Some(number) = builds
                .iter()
                .position(|build| file.path.starts_with(&build.prefix))
            else {
                continue;
            };
            let inner = file.path[builds[number].prefix.len()..].to_owned();
            let hidden = inner.split('/').any(|part| part.starts_with('.'));
            let is_read = match file.mode {
                SUBMODULE => false,
                LINK => is_yaml(&inner) || may_hide_records(&inner),
                _ => is_yaml(&inner),
            };
            if is_read && !hidden {
                wanted.push((number, inner, file));
            } else {
                builds[number].others.push(Listed {
                    path: inner,
                    ..file
                });
            }
        }
        let known: Vec<Option<Content>> = wanted
            .iter()
            .map(|(_, path, file)| {
                if file.mode == LINK {
                    return Some(Content::Link);
                }
                if is_known(path, &file.id) {
                    return Some(Content::Named(file.id.clone()));
                }
                let kept = self.kept_readings();
                let packed = kept.find(&file.id, kind_of(path)?)?;
                Some(Content::Kept(packed, file.id.clone()))
            })
            .collect();
        let unknown = wanted
            .iter()
            .zip(&known)
            .filter(|(_, known)| known.is_none());
        let unknown = unknown.map(|((_, _, file), _)| file);
        let mut blobs = self.blobs(unknown)?.into_iter();
        for ((number, path, _), known) in wanted.into_iter().zip(known) {
            let Some(content) = known.or_else(|| blobs.next()) else {
                return Err(GitError::Refused("its answer is cut short".to_owned()));
            };
            builds[number].files.push(RawFile { path, content });
        }
        Ok(builds)
    }

    /// What is in files, in their order.
    pub(super) fn blobs<'a>(
        &self,
        files: impl Iterator<Item = &'a Listed> + Clone,
    ) -> Result<Vec<Content>, GitError> {
        let mut budget = Budget::default();
        if let Some(library) = &self.library {
            let read: Result<Vec<Content>, git2::Error> = files
                .clone()
                .map(|file| library_blob(library, &file.id, &mut budget))
                .collect();
            if let Ok(read) = read {
                return Ok(read);
            }
        }
        let ids: Vec<&str> = files.map(|file| file.id.as_str()).collect();
        if ids.is_empty() {
            return Ok(Vec::new());
        }
        let asked = |ids: &[&str]| (ids.join("\n") + "\n").into_bytes();
        let answer = self.ask(&["cat-file", "--batch-check"], Some(&asked(&ids)))?;
        let sizes = String::from_utf8_lossy(&answer).into_owned();
        let mut budget = Budget::default();
        let sizes = sizes
            .lines()
            .map(|line| line.rsplit(' ').next().and_then(|size| size.parse().ok()));
        let refused: Option<Vec<Option<String>>> = sizes
            .map(|size: Option<u64>| Some(budget.refuses(size?)))
            .collect();
        // What a partial clone left behind is not fetched: from where, and by what, the
        // repository says.
        let refused = refused.filter(|all| all.len() == ids.len());
        let refused = refused.ok_or(GitError::LeftBehind)?;
        let wanted: Vec<&str> = ids
            .iter()
            .zip(&refused)
            .filter_map(|(id, refused)| refused.is_none().then_some(*id))
            .collect();
        let answer = match wanted.as_slice() {
            [] => Vec::new(),
            wanted => self.ask(&["cat-file", "--batch"], Some(&asked(wanted)))?,
        };
        let mut rest = answer.as_slice();
        refused
            .into_iter()
            .map(|refused| {
                if let Some(why) = refused {
                    return Ok(Content::Refused(why));
                }
                let (content, after) = batch_entry(rest)?;
                rest = after;
                Ok(content)
            })
            .collect()
    }
}

/// Where each `build.yaml` among listed files lies, hidden folders apart.
pub(super) fn all_prefixes(listed: &[Listed]) -> Vec<String> {
    let mut prefixes: Vec<String> = listed
        .iter()
        .filter_map(|file| match file.path.as_str() {
            "build.yaml" => Some(String::new()),
            path => path
                .strip_suffix("/build.yaml")
                .filter(|folder| !folder.split('/').any(|part| part.starts_with('.')))
                .map(|folder| format!("{folder}/")),
        })
        .collect();
    prefixes.sort();
    prefixes
}

/// Whether a link may lead to a folder of records: it stands at the place of a kind's
/// folder or in one, and its name has no ending as that of a picture has.
fn may_hide_records(path: &str) -> bool {
    let first = path.split('/').next().unwrap_or_default();
    let last = path.rsplit('/').next().unwrap_or_default();
    Kind::of_folder(first).is_some() && !last.contains('.')
}

/// One build in a repository.
#[derive(Debug, Clone)]
pub struct BuildAt {
    /// The folder it lies in, from the top of the repository, with a `/` at its
    /// end; empty at the top.
    pub prefix: String,
    /// Its YAML files.
    pub files: Vec<RawFile>,
    /// What else lies in it, from its own folder.
    others: Vec<Listed>,
}

impl Repo {
    /// The commit that a name leads to.
    ///
    /// # Errors
    /// When there is none.
    pub fn commit(&self, name: &str) -> Result<Commit, GitError> {
        if let Some(library) = &self.library {
            let found = library
                .revparse_single(name)
                .and_then(|object| object.peel_to_commit());
            match found {
                Ok(found) => return Ok(library_commit(&found)),
                // What is not there needs no second question.
                Err(error) if error.code() == ErrorCode::NotFound => {
                    return Err(GitError::NoCommit(name.to_owned()));
                }
                Err(_) => {}
            }
        }
        let answer = self
            .ask(
                &[
                    "show",
                    "--no-patch",
                    COMMIT,
                    "--end-of-options",
                    &format!("{name}^{{commit}}"),
                ],
                None,
            )
            .map_err(|error| match error {
                GitError::Refused(_) => GitError::NoCommit(name.to_owned()),
                other => other,
            })?;
        Ok(git_commit(&String::from_utf8_lossy(&answer)))
    }

    /// The commits that `git log` tells.
    pub(super) fn log(&self, question: &[&str]) -> Result<Vec<Commit>, GitError> {
        let question = [&["log", "-z", COMMIT], question].concat();
        let answer = self.ask(&question, None)?;
        let all = answer
            .split(|byte| *byte == 0)
            .filter(|one| !one.is_empty());
        Ok(all
            .map(|one| git_commit(&String::from_utf8_lossy(one)))
            .collect())
    }

    /// The commit that is checked out, if there is one yet.
    #[must_use]
    pub fn head(&self) -> Option<Commit> {
        self.commit("HEAD").ok()
    }

    /// The folder that was named, from the top of the repository, with a `/` at its end;
    /// empty for the top, or where none was named.
    #[must_use]
    pub fn inner(&self) -> &str {
        &self.inner
    }

    /// The folder that git is asked in.
    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }

    /// Whether a folder is part of the work tree, and not of what git keeps for itself.
    pub(super) fn in_work_tree(&self, folder: &Path) -> bool {
        let whole = |path: &Path| path.canonicalize().ok();
        let top = self.ask_line(&["rev-parse", "--show-toplevel"]).ok();
        let kept = self.ask_line(&["rev-parse", "--git-common-dir"]).ok();
        let inside = |above: Option<PathBuf>| {
            let above = above.and_then(|above| whole(&above));
            above.is_some_and(|above| whole(folder).is_some_and(|folder| folder.starts_with(above)))
        };
        inside(top.map(PathBuf::from)) && !inside(kept.map(|kept| self.folder.join(kept)))
    }

    /// Where git keeps what belongs to this work tree.
    fn git_folder(&self) -> Result<PathBuf, GitError> {
        match &self.library {
            Some(library) => Ok(library.path().to_owned()),
            None => Ok(PathBuf::from(
                self.ask_line(&["rev-parse", "--absolute-git-dir"])?,
            )),
        }
    }

    /// Reads a file that git or we keep beside its objects, such as `MERGE_HEAD`.
    fn kept(&self, name: &str) -> Option<String> {
        let bytes = plain_file(&self.git_folder().ok()?.join(name))?;
        String::from_utf8(bytes).ok()
    }

    /// Whether git waits for somebody to go on with a merge, a pick, a revert or a rebase.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        let waits = [
            "MERGE_HEAD",
            "CHERRY_PICK_HEAD",
            "REVERT_HEAD",
            "rebase-merge",
            "rebase-apply",
        ];
        let folder = self.git_folder();
        folder.is_ok_and(|folder| waits.iter().any(|name| folder.join(name).exists()))
    }

    /// The parents that a commit made now would have.
    #[must_use]
    pub fn parents_to_be(&self, amends: bool) -> Vec<Commit> {
        let Some(head) = self.head() else {
            return Vec::new();
        };
        if amends {
            return head
                .parents
                .iter()
                .filter_map(|parent| self.commit(parent).ok())
                .collect();
        }
        let merged = match self.kept("MERGE_HEAD") {
            Some(merged) => merged.lines().map(str::to_owned).collect(),
            None => self.comes_in(&head),
        };
        let mut parents = vec![head];
        parents.extend(merged.iter().filter_map(|id| self.commit(id).ok()));
        parents
    }

    /// Those of them whose errors were there before. What a clean merge brings in stands in
    /// nothing that was checked here yet, so it counts as added.
    #[must_use]
    pub fn parents_seen(&self, amends: bool) -> Vec<Commit> {
        let mut parents = self.parents_to_be(amends);
        if !amends && self.kept("MERGE_HEAD").is_none() {
            parents.truncate(1);
        }
        parents
    }

    /// What a `git merge` that calls brings in: it writes that down only where it stops, and
    /// tells its hooks by names in the environment.
    fn comes_in(&self, head: &Commit) -> Vec<String> {
        let names = std::env::vars_os().filter_map(|(name, _)| name.into_string().ok());
        let ids = names.filter_map(|name| name.strip_prefix("GITHEAD_").map(str::to_owned));
        let from = std::slice::from_ref(&head.id);
        // A hook that commits once the merge is done still finds the names there.
        let is_new = |id: &String| self.between(from, id).is_ok_and(|new| !new.is_empty());
        let mut ids: Vec<String> = ids.filter(is_new).collect();
        ids.sort();
        ids
    }

    /// The commits that several began from; more than one where they crossed, none where
    /// they have nothing in common.
    #[must_use]
    pub fn bases(&self, of: &[Commit]) -> Vec<Commit> {
        let mut question = vec!["merge-base", "--all", "--octopus"];
        question.extend(of.iter().map(|commit| commit.id.as_str()));
        // That there is none is an error to git.
        let answer = self.ask(&question, None).unwrap_or_default();
        let ids = String::from_utf8_lossy(&answer).into_owned();
        ids.lines().filter_map(|id| self.commit(id).ok()).collect()
    }

    /// Of what a hook is to say of a merge of these, what was not said before; it is now.
    pub fn not_told(&self, of: &[Commit], mut lines: Vec<String>) -> Vec<String> {
        let ids: Vec<&str> = of.iter().map(|commit| commit.id.as_str()).collect();
        let head = ids.join(" ");
        let told = self.kept(TOLD).unwrap_or_default();
        let mut told: Vec<&str> = told.lines().collect();
        if told.first() != Some(&head.as_str()) {
            told = vec![&head];
        }
        lines.retain(|line| !told.contains(&line.as_str()));
        if !lines.is_empty() {
            told.extend(lines.iter().map(String::as_str));
            self.keep(TOLD, told.join("\n").as_bytes());
        }
        lines
    }

    /// What files were read as before.
    pub fn kept_readings(&self) -> &Kept {
        self.kept.get_or_init(|| {
            let folder = self.git_folder().ok();
            let bytes = folder.and_then(|folder| plain_file(&folder.join(READINGS)));
            bytes.map_or_else(Kept::default, |bytes| Kept::from_bytes(&bytes, &stamp()))
        })
    }

    /// Keeps what files were read as, for the next run. That it can't is no fault: then
    /// they are read again.
    pub fn keep_readings(&self) {
        if let Some(bytes) = self.kept_readings().to_bytes(&stamp()) {
            self.keep(READINGS, &bytes);
        }
    }

    fn keep(&self, name: &str, bytes: &[u8]) {
        if let Ok(folder) = self.git_folder()
            && let Ok(mut draft) = tempfile::NamedTempFile::new_in(&folder)
            && draft.write_all(bytes).is_ok()
        {
            let _ = draft.persist(folder.join(name));
        }
    }

    /// Whether a guard was put in force before there was any commit, or a hook has let
    /// one through.
    #[must_use]
    pub fn guarded_from_the_first(&self) -> bool {
        self.kept(PASSED).is_some()
    }

    /// Remembers that a guard was put in force before there was any commit.
    pub fn set_guarded_from_the_first(&self) {
        if self.kept(PASSED).is_none() {
            self.keep(PASSED, b"");
        }
    }

    /// Drops what files were read as, and what pictures told.
    pub fn drop_readings(&self) {
        if let Ok(folder) = self.git_folder() {
            let _ = std::fs::remove_file(folder.join(READINGS));
            let _ = std::fs::remove_file(folder.join(PICTURES));
        }
    }

    /// How far the history has been checked, in this clone.
    #[must_use]
    pub fn checked(&self) -> Option<Commit> {
        self.commit(CHECKED).ok()
    }

    /// Remembers how far the history has been checked. That it can't is no fault: then
    /// the same commits are looked at again.
    pub fn set_checked(&self, commit: &Commit) {
        if !self.keeps_refs_itself() {
            return;
        }
        let set = self.library.as_ref().is_some_and(|library| {
            Oid::from_str(&commit.id)
                .and_then(|id| library.reference(CHECKED, id, true, "checked"))
                .is_ok()
        });
        if !set {
            let _ = self.ask(&["update-ref", CHECKED, &commit.id], None);
        }
    }

    fn keeps_refs_itself(&self) -> bool {
        [CHECKED, &format!("logs/{CHECKED}")]
            .iter()
            .all(|way| self.keeps_itself(way))
    }

    /// Whether what git keeps under a name would be written into the repository itself: a
    /// link on the way there would lead to somebody's other files.
    pub(super) fn keeps_itself(&self, way: &str) -> bool {
        let Some(mut at) = self.common_folder() else {
            return false;
        };
        way.split('/').all(|step| {
            at.push(step);
            !at.is_symlink()
        })
    }

    /// Where git keeps what belongs to all work trees of the repository.
    pub(super) fn common_folder(&self) -> Option<PathBuf> {
        match &self.library {
            Some(library) => Some(library.commondir().to_owned()),
            None => {
                let folder = self.ask_line(&["rev-parse", "--git-common-dir"]).ok();
                folder.map(|folder| self.folder.join(folder))
            }
        }
    }

    /// Forgets how far the history has been checked.
    pub fn forget_checked(&self) {
        if self.keeps_refs_itself() {
            let _ = self.ask(&["update-ref", "-d", CHECKED], None);
        }
        if let Ok(folder) = self.git_folder() {
            let _ = std::fs::remove_file(folder.join(PASSED));
            let _ = std::fs::remove_file(folder.join(TOLD));
        }
        self.drop_readings();
    }

    /// Remembers what a hook let through, so that the commit it becomes is known to be
    /// checked.
    pub fn set_passed(&self) {
        if let Ok(tree) = self.index_tree() {
            self.keep(PASSED, tree.as_bytes());
        }
    }

    /// Whether the commit that is checked out is what a hook let through last.
    #[must_use]
    pub fn was_let_through(&self) -> bool {
        let passed = self.kept(PASSED).unwrap_or_default();
        self.head().is_some_and(|head| head.tree == passed.trim())
    }

    /// Whether what is staged is to become a commit by a pick or a revert, of which no
    /// other hook is asked. `caller` is the number of the process that called one.
    #[must_use]
    pub fn picks(&self, caller: u32) -> bool {
        // A rebase would do the pick again after it was refused; it is told of at its end.
        let busy = ["rebase-merge", "rebase-apply", "MERGE_HEAD"];
        let Ok(folder) = self.git_folder() else {
            return false;
        };
        if busy.iter().any(|name| folder.join(name).exists()) {
            return false;
        }
        let said = std::env::var("GIT_REFLOG_ACTION").unwrap_or_default();
        if said.starts_with("cherry-pick") || said.starts_with("revert") {
            return true;
        }
        let unasked = |word: &String| word == "-n" || is_option(word, "--no-verify");
        let passed = self.kept(PASSED).unwrap_or_default();
        !typed(caller).iter().any(unasked)
            && self.index_tree().is_ok_and(|tree| tree != passed.trim())
    }

    /// Moves on how far the history has been checked, if the commit that is checked out
    /// is the one that a hook let through last and all before it was checked.
    pub fn follow(&self) {
        let Some(head) = self.head().filter(|_| self.was_let_through()) else {
            return;
        };
        let known = match self.checked() {
            Some(checked) => {
                let known = |parent: &String| {
                    let new = self.between(std::slice::from_ref(&checked.id), parent);
                    new.is_ok_and(|new| new.is_empty())
                };
                head.parents.contains(&checked.id) && head.parents.iter().all(known)
            }
            None => head.parents.is_empty(),
        };
        if known {
            self.set_checked(&head);
        }
    }

    /// The tips of all branches and tags.
    ///
    /// # Errors
    /// When git can't tell them.
    pub fn tips(&self) -> Result<Vec<String>, GitError> {
        let listed: Option<Vec<String>> = self.library.as_ref().and_then(|library| {
            let all = library.references().ok()?;
            let ids = all.flatten().filter_map(|one| one.target());
            Some(ids.map(|id| id.to_string()).collect())
        });
        let listed = match listed {
            Some(listed) => listed,
            None => {
                let answer = self.ask(&["for-each-ref", "--format=%(objectname)"], None)?;
                let text = String::from_utf8_lossy(&answer);
                text.lines().map(str::to_owned).collect()
            }
        };
        let mut tips: Vec<String> = listed
            .iter()
            .filter_map(|id| self.commit(id).ok())
            .map(|commit| commit.id)
            .collect();
        tips.sort();
        tips.dedup();
        Ok(tips)
    }

    /// The YAML files of a build that differ from the last commit, and how long ago each
    /// was last written.
    #[must_use]
    pub fn uncommitted(&self, folder: &Path) -> Vec<(String, Duration)> {
        let mut files = Vec::new();
        for path in self.differs_in(folder) {
            let written = folder
                .join(&path)
                .symlink_metadata()
                .and_then(|about| about.modified());
            let age = written.ok().and_then(|time| time.elapsed().ok());
            if let (Some(_), Some(age)) = (kind_of(&path), age) {
                files.push((path, age));
            }
        }
        files
    }

    /// The commits that `to` holds and none of `from` does, oldest first.
    ///
    /// # Errors
    /// When one of them is no commit.
    pub fn between(&self, from: &[String], to: &str) -> Result<Vec<Commit>, GitError> {
        if let Some(library) = &self.library
            && let Ok(found) = library_between(library, from, to)
        {
            return Ok(found);
        }
        let mut question = vec!["--reverse", "--topo-order", to, "--not"];
        question.extend(from.iter().map(String::as_str));
        self.log(&question)
    }
}

fn library_between(
    library: &Repository,
    from: &[String],
    to: &str,
) -> Result<Vec<Commit>, git2::Error> {
    let mut walk = library.revwalk()?;
    walk.set_sorting(git2::Sort::TOPOLOGICAL | git2::Sort::REVERSE)?;
    walk.push(library.revparse_single(to)?.peel_to_commit()?.id())?;
    for id in from {
        walk.hide(library.revparse_single(id)?.peel_to_commit()?.id())?;
    }
    walk.map(|id| Ok(library_commit(&library.find_commit(id?)?)))
        .collect()
}

/// A point in time as seconds since 1970, where the clock is so many seconds before UTC's.
fn moment(seconds: i64, offset: i32) -> Option<Moment> {
    let at = Timestamp::from_second(seconds).ok()?;
    let zone = Offset::from_seconds(offset).unwrap_or(Offset::UTC);
    let local = zone.to_datetime(at);
    Some(Moment { at, local })
}

/// The same of `1772323200 2026-03-01 01:00:00 +0100`.
fn git_moment(text: &str) -> Option<Moment> {
    let mut words = text.split(' ');
    let seconds = words.next()?.parse().ok()?;
    let zone: i32 = words.nth(2)?.parse().ok()?;
    moment(seconds, (zone / 100 * 60 + zone % 100) * 60)
}

/// A file beside git's own, if it is an ordinary one: not what a link leads to, or a pipe
/// that nobody writes into.
pub(super) fn plain_file(path: &Path) -> Option<Vec<u8>> {
    let about = path.symlink_metadata().ok()?;
    if !about.is_file() || about.len() > LONGEST_KEPT {
        return None;
    }
    std::fs::read(path).ok()
}

/// How git itself is asked for a commit.
const COMMIT: &str = "--format=%H%n%P%n%T%n%ct %ci%n%s%n%an%n%ae%n%at %ai";

/// A commit as git answers that.
fn git_commit(text: &str) -> Commit {
    let mut lines = text.lines();
    let mut next = || lines.next().unwrap_or_default().to_owned();
    Commit {
        id: next(),
        parents: next().split_whitespace().map(str::to_owned).collect(),
        tree: next(),
        // `1772323200 2026-03-01 01:00:00 +0100`: the day where it was made.
        day: next().split(' ').nth(1).and_then(|day| day.parse().ok()),
        title: next(),
        by: (next(), next()),
        written: git_moment(&next()),
    }
}

fn library_commit(commit: &git2::Commit<'_>) -> Commit {
    let moment = |time: git2::Time| moment(time.seconds(), time.offset_minutes() * 60);
    let author = commit.author();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    Commit {
        id: commit.id().to_string(),
        parents: commit.parent_ids().map(|id| id.to_string()).collect(),
        tree: commit.tree_id().to_string(),
        day: moment(commit.time()).map(|made| made.local.date()),
        by: (text(author.name_bytes()), text(author.email_bytes())),
        written: moment(author.when()),
        title: commit
            .summary()
            .ok()
            .flatten()
            .unwrap_or_default()
            .to_owned(),
    }
}

fn library_staged(library: &Repository) -> Result<Vec<Listed>, git2::Error> {
    let mut index = library.index()?;
    index.read(true)?;
    Ok(index
        .iter()
        .filter(|entry| {
            let flags = IndexEntryExtendedFlag::from_bits_truncate(entry.flags_extended);
            let stage = (entry.flags >> 12) & 3;
            !flags.is_intent_to_add() && stage == 0
        })
        .map(|entry| Listed {
            path: String::from_utf8_lossy(&entry.path).into_owned(),
            mode: entry.mode,
            id: entry.id.to_string(),
        })
        .collect())
}

fn library_tree_id(library: &Repository, commit: &str) -> Result<Oid, git2::Error> {
    Ok(library.revparse_single(commit)?.peel_to_tree()?.id())
}

fn library_tree(library: &Repository, commit: &str) -> Result<Vec<Listed>, git2::Error> {
    let tree = library.revparse_single(commit)?.peel_to_tree()?;
    let mut listed = Vec::new();
    tree.walk(TreeWalkMode::PreOrder, |folder, entry| {
        if entry.kind() != Some(ObjectType::Tree) {
            let name = String::from_utf8_lossy(entry.name_bytes());
            listed.push(Listed {
                path: format!("{folder}{name}"),
                mode: u32::try_from(entry.filemode()).unwrap_or_default(),
                id: entry.id().to_string(),
            });
        }
        git2::TreeWalkResult::Ok
    })?;
    Ok(listed)
}

fn library_blob(
    library: &Repository,
    id: &str,
    budget: &mut Budget,
) -> Result<Content, git2::Error> {
    let id = Oid::from_str(id)?;
    let size = library.odb()?.read_header(id)?.0 as u64;
    if let Some(why) = budget.refuses(size) {
        return Ok(Content::Refused(why));
    }
    let bytes = library.find_blob(id)?.content().to_vec();
    Ok(Content::Blob(bytes, id.to_string()))
}

/// Pictures: what git holds of them, and which it sends to large-file storage.
impl Repo {
    /// The pictures of a build that its records want to know of. One that git does not
    /// have here, as in a clone that left them behind, is told by its name alone: a check
    /// fetches none.
    #[must_use]
    pub fn pictures(&self, build: &BuildAt, wanted: &Wanted) -> Vec<Picture> {
        let files = build.others.iter().filter(|file| wanted.has(&file.path));
        let files: Vec<&Listed> = files.collect();
        let kept = self.kept_pictures();
        let mut pictures: Vec<Option<Picture>> = files
            .iter()
            .map(|file| match file.mode {
                LINK => Some(Picture::no_file(Stored::Link)),
                SUBMODULE => Some(Picture::no_file(Stored::Other)),
                _ => kept.find(&file.id),
            })
            .collect();
        let unknown = files.iter().zip(&mut pictures);
        let unknown: Vec<(&str, &mut Option<Picture>)> = unknown
            .filter(|(_, picture)| picture.is_none())
            .map(|(file, picture)| (file.id.as_str(), picture))
            .collect();
        match &self.library {
            Some(library) => {
                for (id, picture) in unknown {
                    *picture = library_picture(library, id).ok();
                }
            }
            None => self.git_pictures(unknown),
        }
        for (file, picture) in files.iter().zip(&pictures) {
            if let Some(picture) = picture
                && !matches!(file.mode, LINK | SUBMODULE)
                && kept.find(&file.id).is_none()
            {
                kept.put(&file.id, picture);
            }
        }
        let found = files.iter().zip(pictures);
        let mut found: Vec<Picture> = found
            .map(|(file, picture)| picture.unwrap_or_default().at(&file.path))
            .collect();
        // What lies behind a link is not looked at; the link is told.
        for link in build.others.iter().filter(|file| file.mode == LINK) {
            let behind = format!("{}/", link.path);
            let named = wanted.paths.range(behind.clone()..).map(|(path, _)| path);
            let named = named.take_while(|path| path.starts_with(&behind));
            found.extend(named.map(|path| Picture::no_file(Stored::Link).at(path)));
        }
        found.sort_by(|a, b| a.file.cmp(&b.file));
        found
    }

    /// The same of git itself, a few at a time.
    fn git_pictures(&self, mut unknown: Vec<(&str, &mut Option<Picture>)>) {
        let ask = |kind: &str, ids: &[&str]| {
            let input = ids.join("\n") + "\n";
            self.ask(&["cat-file", kind], Some(input.as_bytes()))
        };
        let ids: Vec<&str> = unknown.iter().map(|(id, _)| *id).collect();
        if ids.is_empty() {
            return;
        }
        let Ok(answer) = ask("--batch-check", &ids) else {
            return;
        };
        let sizes = String::from_utf8_lossy(&answer);
        let sizes = sizes
            .lines()
            .map(|line| line.rsplit(' ').next()?.parse().ok());
        let mut few: Vec<(&str, &mut Option<Picture>)> = Vec::new();
        let mut held = 0;
        let tell = |few: &mut Vec<(&str, &mut Option<Picture>)>| {
            let ids: Vec<&str> = few.iter().map(|(id, _)| *id).collect();
            if ids.is_empty() {
                return;
            }
            let answer = ask("--batch", &ids).unwrap_or_default();
            let mut rest = answer.as_slice();
            for (_, picture) in few.drain(..) {
                let Ok((content, after)) = batch_entry(rest) else {
                    return;
                };
                if let Content::Blob(bytes, _) = content {
                    *picture = Some(Picture::of_bytes(&bytes));
                }
                rest = after;
            }
        };
        for ((id, picture), size) in unknown.drain(..).zip(sizes) {
            let Some(size) = size else { continue };
            if size > LARGEST {
                *picture = Some(Picture::of_size(size));
                continue;
            }
            if held + size > LARGEST {
                tell(&mut few);
                held = 0;
            }
            held += size;
            few.push((id, picture));
        }
        tell(&mut few);
    }

    /// What pictures told before.
    fn kept_pictures(&self) -> &KeptPictures {
        self.kept_pictures.get_or_init(|| {
            let folder = self.git_folder().ok();
            let bytes = folder.and_then(|folder| plain_file(&folder.join(PICTURES)));
            let bytes = bytes.map(|bytes| KeptPictures::from_bytes(&bytes, &stamp()));
            bytes.unwrap_or_default()
        })
    }

    /// Keeps what pictures told, for the next run.
    pub fn keep_pictures(&self) {
        let bytes = self.kept_pictures.get();
        if let Some(bytes) = bytes.and_then(|kept| kept.to_bytes(&stamp())) {
            self.keep(PICTURES, &bytes);
        }
    }

    /// Which files of the named folder go to large-file storage when they are committed.
    #[must_use]
    pub fn go_to_large_files(&self, files: &[&str]) -> Vec<bool> {
        const FILTER: &str = "lfs";
        if let Some(library) = &self.library {
            let flags = git2::AttrCheckFlags::FILE_THEN_INDEX;
            let goes = |file: &&str| {
                let path = format!("{}{file}", self.inner);
                let filter = library.get_attr_bytes(Path::new(&path), "filter", flags);
                filter.is_ok_and(|filter| filter == Some(FILTER.as_bytes()))
            };
            return files.iter().map(goes).collect();
        }
        let question = ["check-attr", "-z", "--stdin", "filter"];
        let input: String = files.iter().map(|file| format!("{file}\0")).collect();
        let answer = self.ask(&question, Some(input.as_bytes()));
        // Path, attribute, value.
        let answer = answer.unwrap_or_default();
        let values = answer.split(|byte| *byte == 0).skip(2).step_by(3);
        let mut goes: Vec<bool> = values.map(|value| value == FILTER.as_bytes()).collect();
        goes.resize(files.len(), false);
        goes
    }
}

fn library_picture(library: &Repository, id: &str) -> Result<Picture, git2::Error> {
    let id = Oid::from_str(id)?;
    let objects = library.odb()?;
    let size = objects.read_header(id)?.0 as u64;
    if size > LARGEST {
        return Ok(Picture::of_size(size));
    }
    Ok(Picture::of_bytes(objects.read(id)?.data()))
}

/// What tells this program from any other that may have kept readings.
fn stamp() -> String {
    let about = std::env::current_exe().and_then(|program| program.metadata());
    let (size, written) = match about {
        Ok(about) => (about.len(), about.modified().ok()),
        Err(_) => (0, None),
    };
    let version = env!("CARGO_PKG_VERSION");
    format!("{version} {size} {written:?}")
}

/// One answer of `cat-file --batch`, and what follows it.
pub(super) fn batch_entry(rest: &[u8]) -> Result<(Content, &[u8]), GitError> {
    let odd = || GitError::Refused("its answer is cut short".to_owned());
    let end = rest.iter().position(|b| *b == b'\n').ok_or_else(odd)?;
    let head = String::from_utf8_lossy(&rest[..end]).into_owned();
    let rest = &rest[end + 1..];
    if head.ends_with(" missing") {
        let content = Content::Refused("git does not have it here".to_owned());
        return Ok((content, rest));
    }
    let length: usize = head
        .rsplit(' ')
        .next()
        .and_then(|length| length.parse().ok())
        .ok_or_else(odd)?;
    let bytes = rest.get(..length).ok_or_else(odd)?.to_vec();
    let name = head.split(' ').next().unwrap_or_default().to_owned();
    Ok((
        Content::Blob(bytes, name),
        rest.get(length + 1..).unwrap_or_default(),
    ))
}

/// What was typed to start a process: the `git commit` that called a hook, which git itself
/// tells nothing of.
fn typed(process: u32) -> Vec<String> {
    match std::fs::read(format!("/proc/{process}/cmdline")) {
        Ok(typed) => typed
            .split(|byte| *byte == 0)
            .map(|word| String::from_utf8_lossy(word).into_owned())
            .collect(),
        Err(_) => {
            let asked = Command::new("ps")
                .args(["-o", "args=", "-p", &process.to_string()])
                .output();
            let asked = asked.map(|output| output.stdout).unwrap_or_default();
            String::from_utf8_lossy(&asked)
                .split(' ')
                .map(str::to_owned)
                .collect()
        }
    }
}

/// Whether a word is this option; git takes any beginning that no other option has.
fn is_option(word: &str, option: &str) -> bool {
    word.len() > 3 && option.starts_with(word)
}

/// Whether the `git commit` that called a hook amends. `caller` is the number of its process.
#[must_use]
pub fn amends(caller: u32) -> bool {
    typed(caller).iter().any(|word| is_option(word, "--amend"))
}

/// What the `git commit` that called a hook was told to make of its message, if that was
/// typed.
#[must_use]
pub fn cleanup(caller: u32) -> Option<String> {
    let mut words = typed(caller).into_iter();
    let mut said = None;
    while let Some(word) = words.next() {
        if is_option(&word, "--cleanup") {
            said = words.next();
        } else if let Some((option, value)) = word.split_once('=')
            && is_option(option, "--cleanup")
        {
            said = Some(value.to_owned());
        }
    }
    said
}
