//! States of a build as git holds them: which build in a tree is meant, by what names a
//! state can be called, and what the working folder holds besides.

use std::collections::BTreeMap;
use std::path::Path;

use git2::{ObjectFormat, ObjectType, Oid};
use jiff::civil::Date;
use rayon::prelude::*;

use super::git::{BuildAt, Commit, GitError, Listed, Repo, all_prefixes};
use super::history::TreeAt;
use crate::changes::report::FileChange;
use crate::folder::{Content, RawFile, kind_of};

/// The last commit of a day, or what there is instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Day {
    /// The last commit of the main line that was written by the end of it.
    Commit(Commit),
    /// All were written later; this one first.
    Before(Commit),
    /// The history is cut off at this one, which was written later.
    CutOff(Commit),
    /// There is no commit.
    Nothing,
}

impl Repo {
    /// Whether it has no working folder.
    #[must_use]
    pub fn is_bare(&self) -> bool {
        match &self.library {
            Some(library) => library.is_bare(),
            None => self
                .ask_line(&["rev-parse", "--is-bare-repository"])
                .is_ok_and(|answer| answer == "true"),
        }
    }

    /// The build in a tree that lies in this folder of it. Where there is none, the one
    /// that lies elsewhere and is not `still_there` beside the other: the folder was moved.
    /// What is in a file that `is_known` by its path and git's name for it is not fetched.
    ///
    /// # Errors
    /// When the tree can't be read.
    pub fn build_in(
        &self,
        tree: &str,
        prefix: &str,
        still_there: impl Fn(&str) -> bool,
        is_known: impl Fn(&str, &str) -> bool,
    ) -> Result<Option<BuildAt>, GitError> {
        let listed = self.listed(tree)?;
        let is_record = |file: &Listed| {
            let inner = file.path.strip_prefix(prefix);
            inner.and_then(kind_of).is_some()
        };
        let all = all_prefixes(&listed);
        // Records count even without a `build.yaml`.
        let outer = if all.iter().any(|one| one == prefix) || listed.iter().any(is_record) {
            prefix.to_owned()
        } else {
            let mut elsewhere = all.into_iter().filter(|one| !still_there(one));
            match (elsewhere.next(), elsewhere.next()) {
                (Some(only), None) => only,
                _ => return Ok(None),
            }
        };
        let builds = self.builds_beside(listed, vec![outer], is_known)?;
        Ok(builds.into_iter().next())
    }

    /// Whether a name leads to the tree that holds nothing.
    #[must_use]
    pub fn is_empty_tree(&self, name: &str) -> bool {
        let tree = format!("{name}^{{tree}}");
        let tree = self.ask_line(&["rev-parse", "--verify", "-q", "--end-of-options", &tree]);
        tree.is_ok_and(|tree| self.listed(&tree).is_ok_and(|all| all.is_empty()))
    }

    /// Where the builds in a tree lie.
    ///
    /// # Errors
    /// When it can't be read.
    pub fn builds_in(&self, tree: &str) -> Result<Vec<String>, GitError> {
        Ok(all_prefixes(&self.listed(tree)?))
    }

    /// Whether a build lies in this folder of the working folder.
    #[must_use]
    pub fn has_build_at(&self, prefix: &str) -> bool {
        let top = match &self.library {
            Some(library) => library.workdir().map(Path::to_owned),
            None => self
                .ask_line(&["rev-parse", "--show-toplevel"])
                .ok()
                .map(Into::into),
        };
        top.is_some_and(|top| super::disk::any_build(&top.join(prefix)))
    }

    /// Files of the disk under the names that git has for their bytes, with what they were
    /// read as before, where that is kept.
    #[must_use]
    pub fn named(&self, files: Vec<RawFile>) -> Vec<RawFile> {
        let format = self.format();
        let kept = self.kept_readings();
        let named = files.into_par_iter().map(|file| {
            let RawFile { path, content } = file;
            let content = match content {
                Content::Bytes(bytes) => named(bytes, format),
                other => other,
            };
            let packed = match &content {
                Content::Blob(_, name) => {
                    let kind = kind_of(&path);
                    kind.and_then(|kind| Some((kept.find(name, kind)?, name.clone())))
                }
                _ => None,
            };
            let content = match packed {
                Some((packed, name)) => Content::Kept(packed, name),
                None => content,
            };
            RawFile { path, content }
        });
        named.collect()
    }

    pub(super) fn format(&self) -> ObjectFormat {
        let library = self.library.as_ref();
        library.map_or(ObjectFormat::Sha1, git2::Repository::object_format)
    }

    /// The files of a build folder that differ from the last commit, new ones too, by their
    /// paths in it.
    #[must_use]
    pub fn differs_in(&self, folder: &Path) -> Vec<String> {
        let prefix = self.inner_of(folder);
        let inner = |path: &[u8]| {
            let path = String::from_utf8_lossy(path).into_owned();
            path.strip_prefix(&prefix).map(str::to_owned)
        };
        let Some(library) = &self.library else {
            let question = ["status", "--porcelain", "-z", "--untracked-files=all"];
            // A repository in the build has settings of its own that run something.
            let rest = ["--no-renames", "--ignore-submodules=all", "--", "."];
            let question = [&question[..], &rest].concat();
            let answer = self.ask(&question, None).unwrap_or_default();
            let lines = answer.split(|byte| *byte == 0);
            return lines.filter_map(|line| inner(line.get(3..)?)).collect();
        };
        // The library lays the last commit beside the index, as a whole.
        let last = self.head().and_then(|head| Oid::from_str(&head.tree).ok());
        if last.is_some_and(|tree| self.weighed(tree).is_err()) {
            return Vec::new();
        }
        let mut options = git2::StatusOptions::new();
        options
            .include_untracked(true)
            .recurse_untracked_dirs(true)
            .disable_pathspec_match(true)
            .exclude_submodules(true);
        if !prefix.is_empty() {
            options.pathspec(&prefix);
        }
        let Ok(changed) = library.statuses(Some(&mut options)) else {
            return Vec::new();
        };
        let paths = changed.iter().filter_map(|entry| inner(entry.path_bytes()));
        paths.collect()
    }

    /// Which files of the build are not the same in a tree and in the working folder, with
    /// git's names for both. Only those are hashed that git says may differ; `build` is the
    /// folder as it was named.
    ///
    /// # Errors
    /// When git can't read a tree.
    pub fn differs_from_folder(
        &self,
        since: Option<&TreeAt>,
        build: &Path,
    ) -> Result<Vec<FileChange>, GitError> {
        let head = self.head();
        let tree = |commit: &Commit| TreeAt {
            tree: commit.tree.clone(),
            prefix: self.inner().to_owned(),
        };
        let last = head.as_ref().map(tree);
        let mut all: BTreeMap<String, (Option<String>, Option<String>)> = self
            .differs(since, last.as_ref())?
            .into_iter()
            .map(|one| {
                let id = |entry: Option<super::history::Entry>| entry.map(|entry| entry.id);
                (one.path, (id(one.was), id(one.is)))
            })
            .collect();
        let mut touched = self.differs_in(build);
        touched.retain(|path| !path.split('/').any(|part| part.starts_with('.')));
        if !touched.is_empty() {
            let listed = match &last {
                Some(last) => self.listed(&last.tree)?,
                None => Vec::new(),
            };
            let known: BTreeMap<&str, &str> = listed
                .iter()
                .filter_map(|file| Some((file.path.strip_prefix(self.inner())?, &*file.id)))
                .collect();
            let is = self.hashed(build, &touched);
            for (path, is) in touched.into_iter().zip(is) {
                let was = known.get(&*path).map(|id| (*id).to_owned());
                all.entry(path).or_insert_with(|| (was, None)).1 = is;
            }
        }
        let changed = all.into_iter().filter(|(_, (was, is))| was != is);
        let changed = changed.map(|(path, (was, is))| FileChange { path, was, is });
        Ok(changed.collect())
    }

    /// Git's names for files of a build folder as they would be committed; none for those
    /// that are not there.
    fn hashed(&self, build: &Path, paths: &[String]) -> Vec<Option<String>> {
        let format = self.format();
        let plain = |path: &String| {
            let file = build.join(path);
            let about = file.symlink_metadata().ok()?;
            let id = if about.is_symlink() {
                let target = std::fs::read_link(&file).ok()?;
                let target = target.to_string_lossy().into_owned();
                Oid::hash_object_ext(ObjectType::Blob, target.as_bytes(), format)
            } else if about.is_file() {
                Oid::hash_file_ext(ObjectType::Blob, &file, format)
            } else {
                return None;
            };
            Some(id.ok()?.to_string())
        };
        let mut ids: Vec<Option<String>> = paths.iter().map(plain).collect();
        // What git's attributes change on the way in, as large-file storage does, only git
        // itself can name.
        let asked = paths.iter().zip(&mut ids).filter(|(path, id)| {
            let file = build.join(path);
            id.is_some() && !path.contains('\n') && !file.is_symlink()
        });
        let asked: Vec<_> = asked.collect();
        let question = ["hash-object", "--stdin-paths"];
        let input: String = asked.iter().map(|(path, _)| format!("{path}\n")).collect();
        if asked.is_empty() {
            return ids;
        }
        if let Ok(answer) = self.ask(&question, Some(input.as_bytes())) {
            let answer = String::from_utf8_lossy(&answer);
            for ((_, id), line) in asked.into_iter().zip(answer.lines()) {
                *id = Some(line.to_owned());
            }
        }
        ids
    }

    /// The last commit of the main line that was written by the end of a day, by the clock
    /// of whoever wrote it.
    ///
    /// # Errors
    /// When git can't read a commit.
    pub fn at_day(&self, day: Date) -> Result<Day, GitError> {
        let Some(head) = self.head() else {
            return Ok(Day::Nothing);
        };
        let mut first = head.clone();
        for commit in self.main_line(&head) {
            let commit = commit?;
            let written = commit.written.map(|written| written.local.date());
            if written.is_some_and(|written| written <= day) {
                return Ok(Day::Commit(commit));
            }
            first = commit;
        }
        if self.cut_off().contains(&first.id) {
            return Ok(Day::CutOff(first));
        }
        Ok(Day::Before(first))
    }

    /// The names of branches and tags, without what tells the two apart.
    #[must_use]
    pub fn names(&self) -> Vec<String> {
        let listed = match &self.library {
            Some(library) => library.references().ok().map(|all| {
                let names = all.flatten();
                let names = names.filter_map(|one| one.name().ok().map(str::to_owned));
                names.collect::<Vec<_>>()
            }),
            None => self
                .ask(&["for-each-ref", "--format=%(refname)"], None)
                .ok()
                .map(|answer| {
                    let text = String::from_utf8_lossy(&answer);
                    text.lines().map(str::to_owned).collect()
                }),
        };
        let mut names: Vec<String> = listed
            .unwrap_or_default()
            .iter()
            .filter_map(|name| {
                let kinds = ["refs/heads/", "refs/tags/", "refs/remotes/"];
                let name = kinds.iter().find_map(|kind| name.strip_prefix(kind))?;
                (!name.ends_with("/HEAD")).then(|| name.to_owned())
            })
            .collect();
        names.sort();
        names.dedup();
        names
    }

    /// Who is at work here, as git knows them: the name and the address, as far as they are
    /// set.
    #[must_use]
    pub fn whoever_asks(&self) -> (Option<String>, Option<String>) {
        let said = |key: &str| {
            let library = self.library.as_ref();
            let said = match library.map(|library| library.config()?.get_string(key)) {
                Some(Ok(said)) => Some(said),
                _ => self.ask_line(&["config", key]).ok(),
            };
            said.map(|said| said.trim().to_owned())
                .filter(|said| !said.is_empty())
        };
        (said("user.name"), said("user.email"))
    }
}

/// Bytes with the name that git has for them.
pub(super) fn named(bytes: Vec<u8>, format: ObjectFormat) -> Content {
    match Oid::hash_object_ext(ObjectType::Blob, &bytes, format) {
        Ok(id) => Content::Blob(bytes, id.to_string()),
        Err(_) => Content::Bytes(bytes),
    }
}
