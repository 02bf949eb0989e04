//! Laying files into a folder that may hold some already: what is missing is
//! made, and nothing that is there is touched.

use std::fs;
use std::path::{Path, PathBuf};

use walkdir::WalkDir;

use super::disk::{DiskError, any_build, barred, draft, draft_like, unread, unwritten};
use crate::folder::is_yaml;
use crate::model::Kind;

/// Why a folder can't become a build folder.
#[derive(Debug, thiserror::Error)]
pub enum GroundError {
    /// A link leads elsewhere, and what is made would lie there.
    #[error("{0} is a link")]
    Link(String),
    /// A file stands in its place.
    #[error("{0} is no folder")]
    NoFolder(String),
    /// It lies in another build, whose check would take it for its own.
    #[error("{folder} lies in another build folder, {build}")]
    Inside {
        /// The folder.
        folder: String,
        /// The name of the other build's folder.
        build: String,
    },
    /// It can't be made or read.
    #[error(transparent)]
    Disk(#[from] DiskError),
}

/// What became of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Laid {
    /// It is new.
    Made,
    /// So many lines of it were missing and are in it now.
    Added(usize),
    /// It was there, just so.
    Same,
    /// It was there, and is something else.
    Other,
    /// A link or a file stands in its way: this one.
    Barred(String),
}

/// The folder as it is to be named from here on, if a build may lie there, and the
/// nearest folder above it that exists, or itself.
///
/// # Errors
/// When it is a link or a file, or lies in another build.
pub fn ground(folder: &Path) -> Result<(PathBuf, PathBuf), GroundError> {
    // Without its last slash, with which the system would follow a link.
    let folder: PathBuf = folder.components().collect();
    let shown = folder.display().to_string();
    match folder.symlink_metadata() {
        Ok(about) if about.is_symlink() => return Err(GroundError::Link(shown)),
        Ok(about) if !about.is_dir() => return Err(GroundError::NoFolder(shown)),
        _ => {}
    }
    let here = std::path::absolute(&folder).map_err(|error| unread(&folder, &error))?;
    let mut above = here.ancestors();
    let nearest = above
        .find(|above| above.is_dir())
        .unwrap_or(Path::new("/"))
        .canonicalize()
        .map_err(|error| unread(&folder, &error))?;
    let own = usize::from(folder.is_dir());
    for outer in nearest.ancestors().skip(own) {
        // `build.yaml` alone may be some other program's.
        let kinds = || Kind::ALL[1..].iter().map(|kind| kind.folder());
        if any_build(outer) && kinds().any(|kind| outer.join(kind).is_dir()) {
            return Err(GroundError::Inside {
                folder: shown,
                build: name_of(outer).unwrap_or_default(),
            });
        }
    }
    Ok((folder, nearest))
}

/// Makes a folder, and those above it, where there is none; says how it is called.
///
/// # Errors
/// When it can't be made.
pub fn make_folder(folder: &Path) -> Result<Option<String>, DiskError> {
    fs::create_dir_all(folder).map_err(|error| unwritten(folder, &error))?;
    let whole = folder.canonicalize();
    let whole = whole.map_err(|error| unread(folder, &error))?;
    Ok(name_of(&whole))
}

fn name_of(folder: &Path) -> Option<String> {
    Some(folder.file_name()?.to_string_lossy().into_owned())
}

/// Whether a folder has its `build.yaml`, or one that is misspelt.
#[must_use]
pub fn has_build(folder: &Path) -> bool {
    any_build(folder)
}

/// Whether a folder holds records, or files that may be meant as such. A link is
/// none.
#[must_use]
pub fn holds_records(folder: &Path) -> bool {
    let own = folder.symlink_metadata().is_ok_and(|about| about.is_dir());
    let record = |name: &std::ffi::OsStr| is_yaml(&name.to_string_lossy());
    own && WalkDir::new(folder)
        .into_iter()
        .any(|entry| entry.is_ok_and(|entry| record(entry.file_name())))
}

/// Lays one file, whole, if nothing is there.
///
/// # Errors
/// When it can't be written.
pub fn lay(folder: &Path, path: &str, bytes: &[u8]) -> Result<Laid, DiskError> {
    if let Some(barred) = barred(folder, path) {
        return Ok(Laid::Barred(barred));
    }
    let target = folder.join(path);
    if target.symlink_metadata().is_ok() {
        return Ok(there(&target, bytes));
    }
    let written = draft(&target, bytes).and_then(|draft| {
        draft
            .persist_noclobber(&target)
            .map_err(|error| error.error)?;
        Ok(())
    });
    match written {
        Ok(()) => Ok(Laid::Made),
        // Somebody was quicker.
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {
            Ok(there(&target, bytes))
        }
        Err(error) => Err(unwritten(&target, &error)),
    }
}

fn there(target: &Path, bytes: &[u8]) -> Laid {
    let ordinary = target.symlink_metadata().is_ok_and(|about| about.is_file());
    match ordinary.then(|| fs::read(target)) {
        Some(Ok(found)) if found == bytes => Laid::Same,
        _ => Laid::Other,
    }
}

/// Sees that a file holds these lines; comments among them only matter to a new
/// file. Those that are missing go above what is there, under a comment: git heeds
/// the last line that fits, and what somebody wrote keeps the last word.
///
/// # Errors
/// When it can't be read or written.
pub fn lay_lines(folder: &Path, path: &str, lines: &str, comment: &str) -> Result<Laid, DiskError> {
    let laid = lay(folder, path, lines.as_bytes())?;
    let target = folder.join(path);
    let ordinary = target.symlink_metadata().is_ok_and(|about| about.is_file());
    if laid != Laid::Other || !ordinary {
        return Ok(laid);
    }
    let found = fs::read(&target).map_err(|error| unread(&target, &error))?;
    let text = String::from_utf8_lossy(&found);
    let words = |line: &str| {
        line.split_whitespace()
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    let known: Vec<Vec<String>> = text.lines().map(words).collect();
    let missing: Vec<&str> = lines
        .lines()
        .filter(|line| !line.starts_with('#') && !known.contains(&words(line)))
        .collect();
    if missing.is_empty() {
        return Ok(Laid::Same);
    }
    // A byte-order mark counts only where it begins the file.
    let mark: &[u8] = b"\xEF\xBB\xBF";
    let (mark, rest) = match found.strip_prefix(mark) {
        Some(rest) => (mark, rest),
        None => (&b""[..], found.as_slice()),
    };
    let ours = format!("# {comment}\n{}\n\n", missing.join("\n"));
    let whole = [mark, ours.as_bytes(), rest].concat();
    draft_like(&target, &whole)
        .and_then(|draft| draft.persist(&target).map_err(|error| error.error))
        .map_err(|error| unwritten(&target, &error))?;
    Ok(Laid::Added(missing.len()))
}
