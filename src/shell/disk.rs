//! The disk: finding a build folder, reading its files, laying out a new one.

use std::fs;
use std::io::{BufReader, Read, Seek, Write};
use std::path::{Path, PathBuf};

use rayon::prelude::*;
use walkdir::WalkDir;

use crate::folder::{Content, RawFile, is_yaml};
use crate::model::Kind;
use crate::picture::named::{Wanted, is_picture, same_but_for_case};
use crate::picture::{self, LARGEST, LONGEST_POINTER, Picture, Stored};
use crate::source::Budget;

use super::replay::ReplayError;

/// Why the disk did not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum DiskError {
    /// No build folder.
    #[error("there is no build.yaml in {0} or in a folder above it")]
    NoBuild(String),
    /// Nothing is there.
    #[error("there is no file or folder {0}")]
    Nothing(String),
    /// A folder could not be read.
    #[error("{path} can't be read: {why}")]
    Unread {
        /// The folder.
        path: String,
        /// What the system says.
        why: String,
    },
    /// A file could not be written.
    #[error("{path} can't be written: {why}")]
    Unwritten {
        /// The file.
        path: String,
        /// What the system says.
        why: String,
    },
    /// Some were written, and could not be put back when another could not be.
    #[error("{path} can't be written: {why}; {written} is written already, see to it by hand")]
    Half {
        /// The file.
        path: String,
        /// What the system says.
        why: String,
        /// The files that are written.
        written: String,
    },
    /// Somebody was at it in the meantime.
    #[error("{0} was changed while this was at work, and nothing is written; do it once more")]
    Changed(String),
    /// Something is there already.
    #[error("{0} is there already, and nothing is overwritten")]
    Taken(String),
    /// The repository in it could not be made.
    #[error(transparent)]
    Repository(#[from] ReplayError),
}

/// The build folder that a command works on: the one that what was named is or lies
/// in, or else the one that the working folder lies in.
///
/// # Errors
/// When there is none.
pub fn build_folder(named: Option<&Path>) -> Result<PathBuf, DiskError> {
    if let Some(named) = named {
        let shown = named.display().to_string();
        if named.symlink_metadata().is_err() {
            return Err(DiskError::Nothing(shown));
        }
        // As it was typed where that does, because it is shown as well.
        if let Some(typed) = named.ancestors().find(|folder| any_build(folder)) {
            let here = typed.as_os_str().is_empty();
            return Ok(if here { ".".into() } else { typed.to_owned() });
        }
        let whole = fs::canonicalize(named).unwrap_or_default();
        let above = whole.ancestors().find(|folder| any_build(folder));
        return above.map(Path::to_owned).ok_or(DiskError::NoBuild(shown));
    }
    let here = std::env::current_dir().map_err(|error| unread(Path::new("."), &error))?;
    here.ancestors()
        .find(|folder| any_build(folder))
        .map(Path::to_owned)
        .ok_or_else(|| DiskError::NoBuild(here.display().to_string()))
}

/// What a folder is called, wherever it lies.
#[must_use]
pub fn name_of(folder: &Path) -> Option<String> {
    let whole = fs::canonicalize(folder).ok()?;
    Some(whole.file_name()?.to_string_lossy().into_owned())
}

/// Whether two paths lead to the same folder.
#[must_use]
pub fn same(one: &Path, other: &Path) -> bool {
    let whole = |path: &Path| fs::canonicalize(path).ok();
    whole(one).is_some_and(|one| whole(other) == Some(one))
}

/// The bytes of an ordinary file of a folder.
///
/// # Errors
/// When they can't be read.
pub fn bytes_of(folder: &Path, path: &str) -> Result<Vec<u8>, DiskError> {
    let file = folder.join(path);
    if barred(folder, path).is_some() || file.is_symlink() {
        return Err(refused(&file, "it is a link, or lies behind one"));
    }
    ordinary(&file)
}

/// The bytes of an ordinary file that is no larger than a picture may be: a pipe would be
/// waited for, and a file may claim more than there is room for.
pub(super) fn ordinary(file: &Path) -> Result<Vec<u8>, DiskError> {
    let told = |why: String| DiskError::Unread {
        path: file.display().to_string(),
        why,
    };
    let about = fs::metadata(file).map_err(|error| unread(file, &error))?;
    if !about.is_file() {
        return Err(told("it is no ordinary file".to_owned()));
    }
    if about.len() > LARGEST {
        return Err(told(format!("it is larger than {} MiB", LARGEST >> 20)));
    }
    fs::read(file).map_err(|error| unread(file, &error))
}

/// Whether a folder holds `build.yaml`, or one that is misspelt and will be told so.
pub(super) fn any_build(folder: &Path) -> bool {
    ["build.yaml", "build.yml", "Build.yaml"]
        .iter()
        .any(|name| folder.join(name).symlink_metadata().is_ok())
}

/// All YAML files of a build folder, with `/` in their paths. Links are not
/// followed, and hidden folders are left alone.
///
/// # Errors
/// When the folder itself can't be read.
pub fn yaml_files(folder: &Path) -> Result<Vec<RawFile>, DiskError> {
    let mut files = Vec::new();
    let mut budget = Budget::default();
    let mut walk = WalkDir::new(folder)
        .follow_links(false)
        .sort_by_file_name()
        .into_iter()
        .filter_entry(|entry| entry.depth() == 0 || !hidden(entry.file_name()));
    while let Some(entry) = walk.next() {
        let entry = match entry {
            Ok(entry) => entry,
            Err(error) if error.depth() == 0 => {
                return Err(DiskError::Unread {
                    path: folder.display().to_string(),
                    why: error.io_error().map_or_else(|| error.to_string(), plain),
                });
            }
            Err(error) => {
                // A folder inside that can't be read is said, and the rest is judged.
                if let Some(path) = error.path().and_then(|path| slashed(folder, path)) {
                    let why = error.io_error().map_or_else(|| error.to_string(), plain);
                    files.push(RawFile {
                        path,
                        content: Content::Refused(why),
                    });
                }
                continue;
            }
        };
        let Some(path) = slashed(folder, entry.path()) else {
            continue;
        };
        if path == "build.yaml" && entry.file_type().is_dir() {
            walk.skip_current_dir();
            let content = Content::Refused("it is a folder".to_owned());
            files.push(RawFile { path, content });
            continue;
        }
        // A link at the place of a kind's folder, or inside one, hides its records.
        let first = path.split('/').next().unwrap_or_default();
        let hides = entry.path_is_symlink() && Kind::of_folder(first).is_some();
        if !hides && (!is_yaml(&path) || entry.file_type().is_dir()) {
            continue;
        }
        if hides && !is_yaml(&path) && entry.path().is_file() {
            continue;
        }
        let content = if entry.path_is_symlink() {
            Content::Link
        } else {
            read(entry.path(), &mut budget)
        };
        files.push(RawFile { path, content });
    }
    Ok(files)
}

fn read(path: &Path, budget: &mut Budget) -> Content {
    let known = fs::metadata(path).map(|about| (about.is_file(), about.len()));
    match known {
        Ok((false, _)) => return Content::Refused("it is no ordinary file".to_owned()),
        Ok((true, length)) => {
            if let Some(why) = budget.refuses(length) {
                return Content::Refused(why);
            }
        }
        Err(_) => {}
    }
    match fs::read(path) {
        Ok(bytes) => Content::Bytes(bytes),
        Err(error) => Content::Refused(plain(&error)),
    }
}

/// The pictures of a build folder that its records want to know of, in the order of their
/// paths. Nothing outside the folder is looked at, and no link is followed.
#[must_use]
pub fn pictures(folder: &Path, wanted: &Wanted) -> Vec<Picture> {
    let mut paths = Vec::new();
    let photos = folder.join("photos");
    if photos.symlink_metadata().is_ok_and(|about| about.is_dir()) {
        let walk = WalkDir::new(&photos).follow_links(false).into_iter();
        let walk = walk.filter_entry(|entry| entry.depth() == 0 || !hidden(entry.file_name()));
        for entry in walk.flatten().filter(|entry| !entry.file_type().is_dir()) {
            paths.extend(slashed(folder, entry.path()).filter(|path| is_picture(path)));
        }
    }
    paths.sort();
    let others = wanted.paths.keys();
    let others: Vec<String> = others
        .filter(|path| paths.binary_search(path).is_err())
        .filter_map(|path| as_it_is_called(folder, path))
        .collect();
    paths.extend(others);
    paths.sort();
    paths.dedup();
    paths
        .par_iter()
        .map(|path| {
            let hash = wanted.paths.get(path).is_some_and(|hash| *hash);
            look_at(folder, path, hash).at(path)
        })
        .collect()
}

/// The path of a file as the disk has it: a disk that does not tell capitals apart finds
/// it under other names too. None where there is none.
fn as_it_is_called(folder: &Path, path: &str) -> Option<String> {
    let mut called: Vec<String> = Vec::new();
    let mut at = folder.to_owned();
    for part in path.split('/') {
        let mut names: Vec<String> = fs::read_dir(&at)
            .ok()?
            .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
            .filter(|name| same_but_for_case(name, part))
            .collect();
        names.sort();
        let exact = names.iter().position(|name| name == part);
        let name = names.into_iter().nth(exact.unwrap_or_default())?;
        at.push(&name);
        called.push(name);
        // What lies behind a link is not looked at; the link is told.
        if at.is_symlink() {
            called.extend(path.split('/').skip(called.len()).map(str::to_owned));
            break;
        }
    }
    Some(called.join("/"))
}

fn look_at(folder: &Path, path: &str, hash: bool) -> Picture {
    let mut file = folder.to_owned();
    for part in path.split('/') {
        file.push(part);
        if file.is_symlink() {
            return Picture::no_file(Stored::Link);
        }
    }
    let about = match file.symlink_metadata() {
        Ok(about) if about.is_file() => about,
        _ => return Picture::no_file(Stored::Other),
    };
    let mut picture = Picture::of_size(about.len());
    let Ok(mut opened) = fs::File::open(&file).map(BufReader::new) else {
        return picture;
    };
    if about.len() < LONGEST_POINTER as u64 {
        let mut bytes = Vec::new();
        let mut beginning = opened.by_ref().take(LONGEST_POINTER as u64);
        let read = beginning.read_to_end(&mut bytes);
        if let Some(pointed) = read.ok().and_then(|_| picture::pointer(&bytes)) {
            return pointed;
        }
    }
    picture.look_into(&mut opened);
    if hash && opened.rewind().is_ok() {
        picture.sha256 = picture::sha256(opened).ok();
    }
    picture
}

fn hidden(name: &std::ffi::OsStr) -> bool {
    name.to_string_lossy().starts_with('.')
}

fn slashed(folder: &Path, path: &Path) -> Option<String> {
    let inner = path.strip_prefix(folder).ok()?;
    let parts: Vec<_> = inner
        .components()
        .map(|part| part.as_os_str().to_string_lossy())
        .collect();
    Some(parts.join("/"))
}

/// What the system says, without its number.
pub(super) fn plain(error: &std::io::Error) -> String {
    let text = error.to_string();
    let end = text.find(" (os error").unwrap_or(text.len());
    text[..end].to_lowercase()
}

/// That a path can't be read, and why.
pub(super) fn unread(path: &Path, error: &std::io::Error) -> DiskError {
    DiskError::Unread {
        path: path.display().to_string(),
        why: plain(error),
    }
}

/// That a path can't be written, and why.
pub(super) fn unwritten(path: &Path, error: &std::io::Error) -> DiskError {
    DiskError::Unwritten {
        path: path.display().to_string(),
        why: plain(error),
    }
}

/// That a path can't be written, for a reason of ours.
fn refused(path: &Path, why: &str) -> DiskError {
    DiskError::Unwritten {
        path: path.display().to_string(),
        why: why.to_owned(),
    }
}

/// Lays out files in a new folder: all of it or nothing.
///
/// The files are written beside it first, and the folder is then put in its place,
/// so that a full disk leaves nothing half done. What else belongs in the folder, as
/// a repository does, `more` puts there before it is moved.
///
/// # Errors
/// When the folder is there already or can't be written, or `more` fails.
pub fn lay_out<'a>(
    folder: &Path,
    files: impl Iterator<Item = (&'a str, &'a [u8])>,
    more: impl FnOnce(&Path) -> Result<(), ReplayError>,
) -> Result<(), DiskError> {
    let shown = folder.display().to_string();
    let empty = match fs::read_dir(folder) {
        Ok(mut inside) => inside.next().is_none(),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => true,
        Err(_) => false,
    };
    if !empty {
        return Err(DiskError::Taken(shown));
    }
    let parent = match folder.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    fs::create_dir_all(parent).map_err(|error| unwritten(parent, &error))?;
    let draft = tempfile::Builder::new()
        .prefix(".matchmark-")
        .tempdir_in(parent)
        .map_err(|error| unwritten(parent, &error))?;
    for (path, bytes) in files {
        let target = draft.path().join(path);
        let written = (|| {
            if let Some(above) = target.parent() {
                fs::create_dir_all(above)?;
            }
            let mut file = fs::File::create(&target)?;
            file.write_all(bytes)?;
            file.sync_all()
        })();
        written.map_err(|error| unwritten(Path::new(path), &error))?;
    }
    more(draft.path())?;
    // An empty folder of that name may stand there; one with anything in it stops the move.
    let _ = fs::remove_dir(folder);
    fs::rename(draft.path(), folder).map_err(|error| unwritten(folder, &error))?;
    let _ = draft.keep();
    as_others(folder);
    Ok(())
}

/// Puts one text in the place of another in a file, where it stands once.
///
/// # Errors
/// When it does not stand there, or the file can't be written.
pub fn mend(folder: &Path, path: &str, was: &str, is: &str) -> Result<(), DiskError> {
    let file = folder.join(path);
    let text = fs::read_to_string(&file).map_err(|error| unread(&file, &error))?;
    if text.matches(was).count() != 1 {
        return Err(refused(
            &file,
            "what is to be mended does not stand in it once",
        ));
    }
    let change = Rewrite {
        path: path.to_owned(),
        is: text.replace(was, is).into_bytes(),
        was: text.into_bytes(),
    };
    rewrite(folder, &[change])
}

/// A file's new bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rewrite {
    /// From the folder, with `/`.
    pub path: String,
    /// What the file held when it was read.
    pub was: Vec<u8>,
    /// What it is to hold.
    pub is: Vec<u8>,
}

/// A file that is written, laid out or taken away.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Put {
    /// From the folder, with `/`.
    pub path: String,
    /// What the file held when it was read; none if it was not there.
    pub was: Option<Vec<u8>>,
    /// What it is to hold; none if it is to go.
    pub is: Option<Vec<u8>>,
}

/// Writes files anew, each whole, and either all of them or none, as [`put`] does.
///
/// # Errors
/// When one of them can't be written; it says which, and whether all are as they were.
pub fn rewrite(folder: &Path, files: &[Rewrite]) -> Result<(), DiskError> {
    let files = files.iter().cloned().map(|file| Put {
        path: file.path,
        was: Some(file.was),
        is: Some(file.is),
    });
    put(folder, &files.collect::<Vec<_>>())
}

/// Writes files anew, lays out new ones and takes others away: all of it or nothing.
///
/// All are written beside their places and read again before the first is moved there.
/// Nothing is written through a link, over a file that somebody has changed since it was
/// read or that is there and was not, or over one that is read-only. Should a move fail all
/// the same, those before it are put back.
///
/// # Errors
/// When one of them can't be written; it says which, and whether all are as they were.
pub fn put(folder: &Path, files: &[Put]) -> Result<(), DiskError> {
    let mut drafts = Vec::new();
    for file in files {
        if let Some(link) = barred(folder, &file.path) {
            return Err(refused(
                &folder.join(link),
                "it is no folder, but a link or a file",
            ));
        }
        let target = folder.join(&file.path);
        as_read(&target, file.was.as_deref())?;
        let Some(is) = &file.is else {
            drafts.push((target, None));
            continue;
        };
        let written = match file.was {
            Some(_) => draft_like(&target, is),
            None => draft(&target, is),
        };
        let draft = written.map_err(|error| unwritten(&target, &error))?;
        let again = fs::read(draft.path()).map_err(|error| unread(&target, &error))?;
        if again != *is {
            return Err(refused(&target, "the disk did not keep what was written"));
        }
        drafts.push((target, Some(draft)));
    }
    for (file, (target, _)) in files.iter().zip(&drafts) {
        as_read(target, file.was.as_deref())?;
    }
    for (number, (target, new)) in drafts.into_iter().enumerate() {
        let moved = match new {
            Some(new) if files[number].was.is_none() => {
                let moved = new.persist_noclobber(&target);
                moved.map(drop).map_err(|error| error.error)
            }
            Some(new) => new.persist(&target).map(drop).map_err(|error| error.error),
            None => fs::remove_file(&target),
        };
        let Err(error) = moved else {
            continue;
        };
        let why = plain(&error);
        let stuck = files[..number].iter().filter(|file| {
            let before = folder.join(&file.path);
            let back = match &file.was {
                None => fs::remove_file(&before),
                Some(was) => {
                    let draft = match file.is {
                        Some(_) => draft_like(&before, was),
                        None => draft(&before, was),
                    };
                    draft.and_then(|draft| {
                        draft
                            .persist(&before)
                            .map(drop)
                            .map_err(|error| error.error)
                    })
                }
            };
            back.is_err()
        });
        let stuck: Vec<&str> = stuck.map(|file| &*file.path).collect();
        let path = target.display().to_string();
        return Err(if stuck.is_empty() {
            DiskError::Unwritten { path, why }
        } else {
            let written = stuck.join(", ");
            DiskError::Half { path, why, written }
        });
    }
    Ok(())
}

/// That a file is an ordinary one, may be written, and holds what was read; or that none is
/// there, if there was none.
fn as_read(target: &Path, was: Option<&[u8]>) -> Result<(), DiskError> {
    let about = target.symlink_metadata();
    let Some(was) = was else {
        return match about {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(()),
            _ => Err(DiskError::Taken(target.display().to_string())),
        };
    };
    let about = about.map_err(|error| unwritten(target, &error))?;
    if about.is_symlink() {
        return Err(refused(target, "it is a link"));
    }
    if !about.is_file() {
        return Err(refused(target, "it is no ordinary file"));
    }
    if about.permissions().readonly() {
        return Err(refused(target, "it is read-only"));
    }
    let is_as_long = about.len() == was.len() as u64;
    if !is_as_long || fs::read(target).map_err(|error| unread(target, &error))? != was {
        return Err(DiskError::Changed(target.display().to_string()));
    }
    Ok(())
}

/// The first part of a path that is there and is no folder: nothing is written
/// through a link.
pub(super) fn barred(folder: &Path, path: &str) -> Option<String> {
    path.match_indices('/')
        .map(|(end, _)| &path[..end])
        .find(|above| {
            let about = folder.join(above).symlink_metadata();
            about.is_ok_and(|about| !about.is_dir())
        })
        .map(str::to_owned)
}

/// A file's new text, beside its place.
pub(super) fn draft(target: &Path, bytes: &[u8]) -> std::io::Result<tempfile::NamedTempFile> {
    let parent = match target.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    fs::create_dir_all(parent)?;
    let mut builder = tempfile::Builder::new();
    builder.prefix(".matchmark-");
    #[cfg(unix)]
    {
        // As any new file: for others to read, as far as the builder's own habit goes.
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut draft = builder.tempfile_in(parent)?;
    draft.write_all(bytes)?;
    draft.as_file().sync_all()?;
    Ok(draft)
}

/// A file's new text, beside its place, for those who may read the old one.
pub(super) fn draft_like(target: &Path, bytes: &[u8]) -> std::io::Result<tempfile::NamedTempFile> {
    let about = fs::metadata(target)?;
    let draft = draft(target, bytes)?;
    draft.as_file().set_permissions(about.permissions())?;
    Ok(draft)
}

/// A temporary folder is closed to others; one that was asked for is not.
#[cfg(unix)]
pub(super) fn as_others(folder: &Path) {
    use std::os::unix::fs::PermissionsExt;
    let _ = fs::set_permissions(folder, fs::Permissions::from_mode(0o755));
}

#[cfg(not(unix))]
pub(super) fn as_others(_: &Path) {}
