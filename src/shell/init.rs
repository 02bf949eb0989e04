//! The repository of a new build.

use std::path::Path;
use std::process::Command;

use git2::{Config, ErrorCode, Reference, Repository, RepositoryInitOptions};

use super::git::{GitError, Repo};

/// Why a folder gets no repository.
#[derive(Debug, thiserror::Error)]
pub enum InitError {
    /// Nothing can be checked out in a bare repository.
    #[error("{0} lies in a bare repository")]
    Bare(String),
    /// Git's own folder is no place for records.
    #[error("{0} lies in git's own folder")]
    Inside(String),
    /// There is a `.git` that is no repository.
    #[error("{0} has a `.git` that is no repository")]
    Broken(String),
    /// It could not be made.
    #[error("no git repository can be made in {folder}: {why}")]
    Unmade {
        /// The folder.
        folder: String,
        /// What the library says.
        why: String,
    },
    /// It can't be used.
    #[error(transparent)]
    Git(#[from] GitError),
}

/// Whether records in a folder would lie in a repository.
///
/// # Errors
/// When they would lie where git keeps no files, or git does not trust the place.
pub fn lies_in_one(folder: &Path, shown: &str) -> Result<bool, InitError> {
    let found = match Repository::discover(folder) {
        Ok(found) => found,
        Err(error) if error.code() == ErrorCode::NotFound => return Ok(false),
        // One that the library can't read, or does not trust, may be one to git.
        Err(_) => {
            return match Repo::open(Some(folder)) {
                Ok(_) => Ok(true),
                Err(GitError::NoRepository(_)) => Ok(false),
                Err(error) => Err(error.into()),
            };
        }
    };
    let inside = |git: &Path| {
        let git = git.canonicalize();
        git.is_ok_and(|git| folder.starts_with(git))
    };
    if found.is_bare() {
        return Err(InitError::Bare(shown.to_owned()));
    }
    if inside(found.path()) || inside(found.commondir()) {
        return Err(InitError::Inside(shown.to_owned()));
    }
    Ok(true)
}

/// Makes a repository in a folder, and says on which branch it begins.
///
/// # Errors
/// When it can't be made.
pub fn init(folder: &Path) -> Result<String, InitError> {
    let shown = folder.display().to_string();
    if folder.join(".git").symlink_metadata().is_ok() {
        return Err(InitError::Broken(shown));
    }
    let branch = default_branch(folder);
    // The library would make a repository that git itself then refuses.
    if !Reference::is_valid_name(&format!("refs/heads/{branch}")) {
        return Err(InitError::Unmade {
            folder: shown,
            why: format!("`{branch}` can't be a branch, see `init.defaultBranch`"),
        });
    }
    let mut options = RepositoryInitOptions::new();
    options.no_reinit(true).initial_head(&branch);
    match Repository::init_opts(folder, &options) {
        Ok(_) => Ok(branch),
        Err(error) => Err(InitError::Unmade {
            folder: shown,
            why: error.message().to_owned(),
        }),
    }
}

/// The branch that the builder's git begins with, or `main`. Git itself knows all
/// the places that this may be set in; without it, the library knows most.
fn default_branch(folder: &Path) -> String {
    let asked = Command::new("git")
        .args(["config", "--get", "init.defaultBranch"])
        .current_dir(folder)
        .output();
    let said = match asked {
        Ok(answer) => String::from_utf8_lossy(&answer.stdout).trim().to_owned(),
        Err(_) => Config::open_default()
            .and_then(|config| config.get_string("init.defaultBranch"))
            .unwrap_or_default(),
    };
    if said.is_empty() {
        "main".to_owned()
    } else {
        said
    }
}
