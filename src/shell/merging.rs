//! The files of a merge: those that git hands its driver, and those that it stopped at.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::disk::{DiskError, Rewrite, barred, draft_like, ordinary, rewrite, unwritten};
use super::git::{GitError, Listed, Repo};
use crate::folder::{Content, kind_of};
use crate::merge::Three;
use crate::model::Kind;

/// Reads one of the versions that git hands over.
///
/// # Errors
/// When it can't be read.
pub fn read(file: &Path) -> Result<Vec<u8>, DiskError> {
    ordinary(file)
}

/// Writes what came of them, whole or not at all.
///
/// # Errors
/// When it can't be written.
pub fn write(file: &Path, bytes: &[u8]) -> Result<(), DiskError> {
    let draft = draft_like(file, bytes).map_err(|error| unwritten(file, &error))?;
    let put = draft.persist(file);
    put.map_err(|error| unwritten(file, &error.error))?;
    Ok(())
}

/// The kind of the records in a file, by its path from the top of the repository: git calls
/// its driver there. None if it is no file of records. Of two folders that would do it is
/// the outer one, a build inside another being that one's business; where nothing is
/// checked out the folders' names alone tell.
#[must_use]
pub fn kind_at(path: &str) -> Option<Kind> {
    build_at(path, Path::new("")).map(|(_, kind)| kind)
}

/// The same, with the folder of the build; the path is from this folder.
#[must_use]
pub fn build_at<'a>(path: &'a str, top: &Path) -> Option<(&'a str, Kind)> {
    let ends = path.match_indices('/').map(|(at, _)| at + 1);
    let would_do = std::iter::once(0).chain(ends).filter_map(|at| {
        let (folder, inner) = path.split_at(at);
        Some((folder, kind_of(inner)?))
    });
    let is_build = |folder: &str| {
        let file = top.join(folder).join("build.yaml");
        file.symlink_metadata().is_ok()
    };
    let mut there = would_do.clone().filter(|(folder, _)| is_build(folder));
    there.next().or_else(|| would_do.clone().next())
}

/// Git's own merge by lines: what came of it, and whether it is clean. Records are marked
/// with all three versions, as everywhere here; other files as git is told to.
///
/// # Errors
/// When git is not there to do it, or stops.
pub fn by_lines(
    files: &Three<&Path>,
    size: usize,
    names: &Three<String>,
    are_records: bool,
) -> std::io::Result<Option<(Vec<u8>, bool)>> {
    let mut git = Command::new("git");
    git.args(["merge-file", "-p", "-q"]);
    if are_records {
        git.arg("--diff3");
    }
    git.arg(format!("--marker-size={size}"));
    for name in [&names.ours, &names.base, &names.theirs] {
        git.args(["-L", name]);
    }
    let output = git
        .arg("--")
        .args([files.ours, files.base, files.theirs])
        .output()?;
    Ok(match output.status.code() {
        Some(0) => Some((output.stdout, true)),
        // It ends with how many conflicts there are, and with 255 for what is no text to it.
        Some(1..=127) => Some((output.stdout, false)),
        Some(255) => None,
        _ => {
            let said = String::from_utf8_lossy(&output.stderr);
            let line = said.lines().next().unwrap_or("git does not say why");
            return Err(std::io::Error::other(line.to_owned()));
        }
    })
}

/// A file that git stopped at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unmerged {
    /// From the top of the repository.
    pub path: String,
    /// Each version's name in git with its mode; none where it is not there.
    pub named: Three<Option<(u32, String)>>,
    /// What they hold; nothing where it is not there.
    pub versions: Three<Vec<u8>>,
}

/// What is to become of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// From the top of the repository.
    pub path: String,
    /// What it held.
    pub was: Vec<u8>,
    /// What it is to hold; none if it goes.
    pub is: Option<Vec<u8>>,
    /// The versions that still clash, to stay in git until somebody settles them; none if
    /// it is merged.
    pub clashing: Option<Three<Option<Vec<u8>>>>,
}

impl Unmerged {
    /// Whether all of its versions are files.
    #[must_use]
    pub fn is_file(&self) -> bool {
        let Three { base, ours, theirs } = &self.named;
        let mut all = [base, ours, theirs].into_iter().flatten();
        all.all(|(mode, _)| is_ordinary(*mode))
    }
}

impl Repo {
    /// The files that git stopped at.
    ///
    /// # Errors
    /// When git can't tell them, or what they hold.
    pub fn unmerged(&self) -> Result<Vec<Unmerged>, GitError> {
        let answer = self.ask(&["ls-files", "-u", "-z", "--full-name", ":/"], None)?;
        let mut all: Vec<Unmerged> = Vec::new();
        let mut listed = Vec::new();
        for line in answer.split(|byte| *byte == 0) {
            let line = String::from_utf8_lossy(line);
            let Some((mode, id, stage, path)) = entry(&line) else {
                continue;
            };
            if all.last().is_none_or(|last| last.path != path) {
                all.push(Unmerged {
                    path: path.to_owned(),
                    named: Three::default(),
                    versions: Three::default(),
                });
            }
            let number = all.len() - 1;
            let named = Some((mode, id.to_owned()));
            match stage {
                "1" => all[number].named.base = named,
                "2" => all[number].named.ours = named,
                _ => all[number].named.theirs = named,
            }
            if is_ordinary(mode) {
                listed.push((number, stage.to_owned(), of_entry(mode, id, path)));
            }
        }
        let contents = self.blobs(listed.iter().map(|(.., file)| file))?;
        for ((number, stage, file), content) in listed.iter().zip(contents) {
            let bytes = bytes_of(file, content)?;
            match stage.as_str() {
                "1" => all[*number].versions.base = bytes,
                "2" => all[*number].versions.ours = bytes,
                _ => all[*number].versions.theirs = bytes,
            }
        }
        Ok(all)
    }

    /// The files of records that git has merged already: what the index holds of them.
    ///
    /// # Errors
    /// When git can't tell them, or what they hold.
    pub fn merged(&self) -> Result<Vec<(String, Vec<u8>)>, GitError> {
        let question = [
            "ls-files",
            "-s",
            "-z",
            "--full-name",
            ":(top,glob)**/*.yaml",
        ];
        let answer = self.ask(&question, None)?;
        let text = String::from_utf8_lossy(&answer).into_owned();
        let entries = text.split('\0').filter_map(entry);
        let listed: Vec<Listed> = entries
            .filter(|(mode, _, stage, _)| *stage == "0" && is_ordinary(*mode))
            .map(|(mode, id, _, path)| of_entry(mode, id, path))
            .collect();
        let contents = self.blobs(listed.iter())?;
        listed
            .iter()
            .zip(contents)
            .map(|(file, content)| Ok((file.path.clone(), bytes_of(file, content)?)))
            .collect()
    }

    /// What a file holds as it lies here; none if it is not there, or no ordinary file.
    #[must_use]
    pub fn lies(&self, path: &str) -> Option<Vec<u8>> {
        let top = self.top().ok()?;
        let file = top.join(path);
        let about = file.symlink_metadata().ok()?;
        let is_here = about.is_file() && barred(&top, path).is_none();
        is_here.then(|| ordinary(&file).ok())?
    }

    /// The top of the work tree.
    ///
    /// # Errors
    /// When there is none.
    pub fn top(&self) -> Result<PathBuf, GitError> {
        let top = self.ask_line(&["rev-parse", "--show-toplevel"])?;
        Ok(PathBuf::from(top))
    }

    /// Puts what came of a merge into the files, all or none, and then into the index.
    ///
    /// # Errors
    /// When a file was changed since or can't be written, or git can't take it in.
    pub fn settle(&self, outcomes: &[Outcome]) -> anyhow::Result<()> {
        let top = self.top()?;
        let rewrites: Vec<Rewrite> = outcomes
            .iter()
            .filter_map(|outcome| {
                Some(Rewrite {
                    path: outcome.path.clone(),
                    was: outcome.was.clone(),
                    is: outcome.is.clone()?,
                })
            })
            .collect();
        rewrite(&top, &rewrites)?;
        for outcome in outcomes {
            let path = format!(":(top,literal){}", outcome.path);
            match (&outcome.clashing, &outcome.is) {
                (Some(versions), _) => self.leave_unmerged(&outcome.path, versions)?,
                (None, Some(_)) => {
                    self.ask(&["add", "--", &path], None)?;
                }
                (None, None) => {
                    self.ask(&["rm", "-q", "-f", "--", &path], None)?;
                }
            }
        }
        Ok(())
    }

    /// Leaves three versions in the index, as git does where it stops.
    fn leave_unmerged(
        &self,
        path: &str,
        versions: &Three<Option<Vec<u8>>>,
    ) -> Result<(), GitError> {
        // The mode that none of these has takes the path out first.
        let zero = "0".repeat(self.ask_line(&["hash-object", "--stdin"])?.len());
        let mut lines = format!("0 {zero}\t{path}\0");
        let stages = [&versions.base, &versions.ours, &versions.theirs];
        for (stage, bytes) in (1..).zip(stages) {
            let Some(bytes) = bytes else { continue };
            let id = self.ask(&["hash-object", "-w", "--stdin"], Some(bytes))?;
            let id = String::from_utf8_lossy(&id);
            lines.push_str(&format!("100644 {} {stage}\t{path}\0", id.trim_end()));
        }
        self.ask(
            &["update-index", "-z", "--index-info"],
            Some(lines.as_bytes()),
        )?;
        Ok(())
    }
}

/// Mode, name, stage and path of a line of `git ls-files -s`.
fn entry(line: &str) -> Option<(u32, &str, &str, &str)> {
    let (about, path) = line.split_once('\t')?;
    let mut about = about.split(' ');
    let mode = u32::from_str_radix(about.next()?, 8).ok()?;
    Some((mode, about.next()?, about.next()?, path))
}

/// Whether that is the mode of a file, and not of a link or of another repository.
fn is_ordinary(mode: u32) -> bool {
    mode >> 12 == 0o10
}

fn of_entry(mode: u32, id: &str, path: &str) -> Listed {
    Listed {
        path: path.to_owned(),
        mode,
        id: id.to_owned(),
    }
}

fn bytes_of(file: &Listed, content: Content) -> Result<Vec<u8>, GitError> {
    match content {
        Content::Bytes(bytes) | Content::Blob(bytes, _) => Ok(bytes),
        _ => Err(GitError::Refused(format!("{} is not here", file.path))),
    }
}
