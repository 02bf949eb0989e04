//! What was handed over, as the repository remembers it, and what comes of it when it is
//! taken back.

use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use git2::Oid;

use super::disk;
use super::git::{GitError, Repo, all_prefixes};
use super::pack::HANDED;
use super::states::named;
use crate::folder::{Content, HANDED_OVER, kind_of};
use crate::takeback::Files;

/// One handover.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Handed {
    /// Its name: a day and a number.
    pub name: String,
    /// The commit that was handed over.
    pub whole: String,
    /// The commit whose files the helper got.
    pub given: String,
}

/// The files of a build in a commit.
#[derive(Debug, Clone, Default)]
pub struct Held {
    /// Its files of records.
    pub records: Files,
    /// Git's names for its other files.
    pub others: BTreeMap<String, String>,
}

/// What became of a commit.
#[derive(Debug)]
pub struct Committed {
    /// Whether it was made.
    pub done: bool,
    /// What git and its hooks said.
    pub said: String,
}

impl Repo {
    /// The handovers that are remembered here, the oldest first.
    ///
    /// # Errors
    /// When git can't tell.
    pub fn handovers(&self) -> Result<Vec<Handed>, GitError> {
        let answer = self.ask(
            &["for-each-ref", "--format=%(refname) %(objectname)", HANDED],
            None,
        )?;
        let answer = String::from_utf8_lossy(&answer).into_owned();
        let id = |wanted: &str| {
            let mut lines = answer.lines().filter_map(|line| line.split_once(' '));
            lines.find(|(name, _)| *name == wanted).map(|(_, id)| id)
        };
        let names = answer.lines().filter_map(|line| {
            let name = line.split(' ').next()?.strip_prefix(HANDED)?;
            name.strip_suffix("/whole")
        });
        let mut all: Vec<Handed> = names
            .filter_map(|name| {
                Some(Handed {
                    name: name.to_owned(),
                    whole: id(&format!("{HANDED}{name}/whole"))?.to_owned(),
                    given: id(&format!("{HANDED}{name}/given"))?.to_owned(),
                })
            })
            .collect();
        let number = |one: &Handed| {
            let (day, number) = one.name.rsplit_once('-').unwrap_or((&one.name, ""));
            (day.to_owned(), number.parse::<u32>().unwrap_or_default())
        };
        all.sort_by_key(number);
        Ok(all)
    }

    /// What the pack of a handover said of itself.
    #[must_use]
    pub fn slip_of(&self, handed: &Handed) -> Option<Vec<u8>> {
        let place = format!("{}:{HANDED_OVER}", handed.given);
        self.ask(&["cat-file", "blob", &place], None).ok()
    }

    /// The files of the build in a commit: in this folder of it, or in the only one that
    /// there is.
    ///
    /// # Errors
    /// When the commit can't be read.
    pub fn held(&self, commit: &str, prefix: &str) -> Result<Held, GitError> {
        let mut listed = self.listed(commit)?;
        let prefixes = all_prefixes(&listed);
        let prefix = match prefixes.as_slice() {
            [only] if !prefixes.iter().any(|one| one == prefix) => only.clone(),
            _ => prefix.to_owned(),
        };
        listed.retain(|file| file.path.starts_with(&prefix) && file.mode & 0o170_000 == 0o100_000);
        let hidden = |path: &str| path.split('/').any(|part| part.starts_with('.'));
        let (mut records, mut others) = (Vec::new(), Vec::new());
        for mut file in listed {
            file.path.drain(..prefix.len());
            if hidden(&file.path) {
                continue;
            }
            match kind_of(&file.path) {
                Some(_) => records.push(file),
                None => others.push((file.path, file.id)),
            }
        }
        let contents = self.blobs(records.iter())?;
        let read = records.iter().zip(contents);
        let read = read.filter_map(|(file, content)| match content {
            Content::Bytes(bytes) | Content::Blob(bytes, _) => Some((file.path.clone(), bytes)),
            _ => None,
        });
        Ok(Held {
            records: read.collect(),
            others: others.into_iter().collect(),
        })
    }

    /// Git's name for what a file of the build folder holds; none where none is there.
    #[must_use]
    pub fn name_of(&self, folder: &Path, path: &str) -> Option<String> {
        match named(disk::bytes_of(folder, path).ok()?, self.format()) {
            Content::Blob(_, id) => Some(id),
            _ => None,
        }
    }

    /// Whether one commit builds upon another.
    pub(super) fn descends(&self, commit: &str, from: &str) -> bool {
        let library = self.library.as_ref();
        let ids = Oid::from_str(commit).ok().zip(Oid::from_str(from).ok());
        let told = library.zip(ids).map(|(library, (commit, from))| {
            library.graph_descendant_of(commit, from).unwrap_or(false)
        });
        told.unwrap_or_else(|| {
            let question = ["merge-base", "--is-ancestor", from, commit];
            self.ask(&question, None).is_ok()
        })
    }

    /// The files of the build folder that git holds in conflict.
    ///
    /// # Errors
    /// When git can't tell.
    pub fn in_conflict(&self) -> Result<Vec<String>, GitError> {
        let answer = self.ask(&["ls-files", "-u", "-z", "--", "."], None)?;
        let lines = answer.split(|byte| *byte == 0);
        let mut paths: Vec<String> = lines
            .filter_map(|line| {
                let line = String::from_utf8_lossy(line);
                line.split_once('\t').map(|(_, path)| path.to_owned())
            })
            .collect();
        paths.dedup();
        Ok(paths)
    }

    /// Commits some files of the build folder and nothing else, through the hooks; `new`
    /// are those of them that git does not know yet.
    ///
    /// # Errors
    /// When git is not there, or what to say can't be written down for it.
    pub fn commit_only(
        &self,
        folder: &Path,
        paths: &[&str],
        new: &[&str],
        message: &str,
        by: Option<(&str, &str)>,
    ) -> Result<Committed, GitError> {
        let kept = |bytes: &[u8]| -> Result<tempfile::NamedTempFile, GitError> {
            let refused = |error: std::io::Error| GitError::Refused(error.to_string());
            let mut file = tempfile::NamedTempFile::new().map_err(refused)?;
            file.write_all(bytes).map_err(refused)?;
            Ok(file)
        };
        let git = |words: &[&str], paths: &[&str]| -> Result<Committed, GitError> {
            let list = kept(paths.join("\0").as_bytes())?;
            let mut command = Command::new("git");
            if let Some((name, address)) = by {
                command
                    .env("GIT_AUTHOR_NAME", name)
                    .env("GIT_AUTHOR_EMAIL", address);
            }
            let output = command
                .env("GIT_LITERAL_PATHSPECS", "1")
                .args(words)
                .arg(format!("--pathspec-from-file={}", list.path().display()))
                .arg("--pathspec-file-nul")
                .current_dir(folder)
                .stdin(Stdio::null())
                .output()
                .map_err(|_| GitError::NoGit("to commit".to_owned()))?;
            let mut said = String::from_utf8_lossy(&output.stderr).into_owned();
            said.push_str(&String::from_utf8_lossy(&output.stdout));
            Ok(Committed {
                done: output.status.success(),
                said,
            })
        };
        if !new.is_empty() {
            // Git commits by name only what it has been told of.
            let added = git(&["add", "--intent-to-add"], new)?;
            if !added.done {
                return Ok(added);
            }
        }
        let message = kept(message.as_bytes())?;
        let file = message.path().display().to_string();
        git(&["commit", "-q", "--only", "-F", &file], paths)
    }
}
