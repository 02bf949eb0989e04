//! A history, replayed from its patches into a repository.
//!
//! Who made a commit and when stands in its patch, so the commits have the same
//! names on every machine. The library does it, not the `git` command: nothing of
//! a user's settings, templates or hooks comes into it.

use std::path::Path;

use git2::{
    Commit, Diff, FileMode, IndexEntry, IndexTime, Oid, Repository, RepositoryInitOptions,
    Signature, Time, Tree,
};

use crate::patch::Patch;

/// Why a history could not be replayed.
#[derive(Debug, thiserror::Error)]
pub enum ReplayError {
    /// The repository could not be written.
    #[error("the repository can't be written: {0}")]
    Unwritten(String),
    /// A patch does not fit what the patches before it made.
    #[error("{patch} does not apply: {why}")]
    Unfit {
        /// The patch.
        patch: String,
        /// What the library says.
        why: String,
    },
    /// A patch names a picture that is not there.
    #[error("{patch} names a picture that is not there: {picture}")]
    NoPicture {
        /// The patch.
        patch: String,
        /// The picture's path.
        picture: String,
    },
    /// The history ends in something else.
    #[error("the history does not end in the files that are laid out")]
    OtherEnd,
}

impl From<git2::Error> for ReplayError {
    fn from(error: git2::Error) -> Self {
        Self::Unwritten(error.message().to_owned())
    }
}

/// Makes a folder a repository with the branch `main`, and commits each patch.
/// The pictures that they name are taken from `files`. Nothing is checked out.
///
/// # Errors
/// When a patch does not apply, or the repository can't be written.
pub fn replay(
    folder: &Path,
    patches: &[Patch],
    files: &[(&str, &[u8])],
) -> Result<(), ReplayError> {
    let mut options = RepositoryInitOptions::new();
    options
        .external_template(false)
        .no_reinit(true)
        .initial_head("main");
    let repo = Repository::init_opts(folder, &options)?;
    // Whatever the user wants elsewhere: in here lines end as they are written, and
    // hooks are called that lie here.
    let mut config = repo.config()?;
    config.set_bool("core.autocrlf", false)?;
    config.set_str("core.hooksPath", ".git/hooks")?;
    let mut parent: Option<Commit<'_>> = None;
    for patch in patches {
        let base = match &parent {
            Some(parent) => parent.tree()?,
            None => repo.find_tree(repo.treebuilder(None)?.write()?)?,
        };
        let tree = applied(&repo, &base, patch, files)?;
        let when = Time::new(patch.seconds, patch.offset);
        let by = Signature::new(&patch.who, &patch.address, &when)?;
        let parents: Vec<&Commit<'_>> = parent.iter().collect();
        let id = repo.commit(Some("HEAD"), &by, &by, &patch.message, &tree, &parents)?;
        parent = Some(repo.find_commit(id)?);
    }
    Ok(())
}

fn applied<'r>(
    repo: &'r Repository,
    base: &Tree<'_>,
    patch: &Patch,
    files: &[(&str, &[u8])],
) -> Result<Tree<'r>, ReplayError> {
    let unfit = |error: git2::Error| ReplayError::Unfit {
        patch: patch.name.clone(),
        why: error.message().to_owned(),
    };
    let diff = Diff::from_buffer(patch.diff.as_bytes()).map_err(unfit)?;
    let mut index = repo.apply_to_tree(base, &diff, None).map_err(unfit)?;
    for picture in &patch.pictures {
        let found = files.iter().find(|(path, _)| path == picture);
        let (path, bytes) = found.ok_or_else(|| ReplayError::NoPicture {
            patch: patch.name.clone(),
            picture: picture.clone(),
        })?;
        index.add(&entry(path, repo.blob(bytes)?))?;
    }
    Ok(repo.find_tree(index.write_tree_to(repo)?)?)
}

fn entry(path: &str, id: Oid) -> IndexEntry {
    IndexEntry {
        ctime: IndexTime::new(0, 0),
        mtime: IndexTime::new(0, 0),
        dev: 0,
        ino: 0,
        mode: u32::from(FileMode::Blob),
        uid: 0,
        gid: 0,
        file_size: 0,
        id,
        flags: 0,
        flags_extended: 0,
        path: path.as_bytes().to_vec(),
    }
}

/// Makes the files that lie in the folder the ones that are checked out.
///
/// They are not written anew: they are taken into the index as they lie there, and
/// that must be exactly what the history ends in.
///
/// # Errors
/// When it is something else, or the index can't be written.
pub fn take_as_checked_out(folder: &Path, files: &[(&str, &[u8])]) -> Result<(), ReplayError> {
    let repo = Repository::open(folder)?;
    let mut index = repo.index()?;
    for (path, _) in files {
        index.add_path(Path::new(path))?;
    }
    if index.write_tree()? != repo.head()?.peel_to_tree()?.id() {
        return Err(ReplayError::OtherEnd);
    }
    index.write()?;
    Ok(())
}
