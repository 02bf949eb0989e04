//! Where a pack goes, and in which form.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Component, Path, PathBuf};

use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::super::disk::{DiskError, as_others, unwritten};
use super::{Draft, PackError, bytes_of};
use crate::shell::git::{Commit, Repo};

/// The form of a pack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A git bundle.
    Bundle,
    /// A zip archive.
    Archive,
    /// A plain folder.
    Folder,
}

/// Where a pack goes.
#[derive(Debug, Clone)]
pub struct Target {
    path: PathBuf,
    /// The folder that it will lie in.
    above: PathBuf,
    /// In which form.
    pub form: Form,
}

impl Target {
    /// The place that is named, if a pack of this build may go there.
    ///
    /// # Errors
    /// When something is there already, or it lies in the build itself.
    pub fn of(named: &Path, repo: &Repo, build: Option<&Path>) -> Result<Self, PackError> {
        let ending = named.extension().map(|ending| ending.to_ascii_lowercase());
        let form = match ending.as_ref().and_then(|ending| ending.to_str()) {
            Some("bundle") => Form::Bundle,
            Some("zip") => Form::Archive,
            _ => Form::Folder,
        };
        // Without its last slash, with which the system would follow a link.
        let path: PathBuf = named.components().collect();
        let shown = path.display().to_string();
        let free = match path.symlink_metadata() {
            Err(_) => true,
            Ok(about) => {
                let inside = || fs::read_dir(&path).ok().and_then(|mut all| all.next());
                form == Form::Folder && about.is_dir() && inside().is_none()
            }
        };
        if !free {
            return Err(DiskError::Taken(shown).into());
        }
        let here = std::path::absolute(&path).map_err(|error| unwritten(&path, &error))?;
        let here = settled(&here);
        let own = [build.map(Path::to_owned), repo.own_folder()];
        let own = own
            .iter()
            .flatten()
            .filter_map(|own| own.canonicalize().ok());
        if own.into_iter().any(|own| here.starts_with(own)) {
            return Err(PackError::Inside(shown));
        }
        let above = match path.parent() {
            Some(above) if !above.as_os_str().is_empty() => above.to_owned(),
            _ => PathBuf::from("."),
        };
        Ok(Self { path, above, form })
    }

    /// The folder that it will lie in.
    #[must_use]
    pub fn above(&self) -> &Path {
        &self.above
    }

    /// Writes the pack beside its place.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn make(&self, draft: &Draft, given: &Commit) -> Result<(), PackError> {
        match self.form {
            Form::Bundle => draft.bundle(),
            Form::Archive => self.archive(draft, given),
            Form::Folder => self.folder(draft, given),
        }
    }

    fn archive(&self, draft: &Draft, given: &Commit) -> Result<(), PackError> {
        let odd = |error: zip::result::ZipError| PackError::Archive(error.to_string());
        let bad = |error: std::io::Error| unwritten(&self.path, &error);
        let mut zip = ZipWriter::new(File::create(draft.place()).map_err(bad)?);
        let options = SimpleFileOptions::default()
            .compression_method(CompressionMethod::Deflated)
            .unix_permissions(0o644);
        each(draft, given, |path, bytes| {
            zip.start_file(path, options).map_err(odd)?;
            Ok(zip.write_all(bytes).map_err(bad)?)
        })?;
        let file = zip.finish().map_err(odd)?;
        Ok(file.sync_all().map_err(bad)?)
    }

    fn folder(&self, draft: &Draft, given: &Commit) -> Result<(), PackError> {
        let folder = draft.place();
        fs::create_dir(&folder).map_err(|error| unwritten(&self.path, &error))?;
        as_others(&folder);
        each(draft, given, |path, bytes| {
            let target = folder.join(path);
            let written = (|| {
                if let Some(above) = target.parent() {
                    fs::create_dir_all(above)?;
                }
                // What is there already is another file but for the case of its letters.
                let mut file = File::create_new(&target)?;
                file.write_all(bytes)?;
                file.sync_all()
            })();
            Ok(written.map_err(|error| unwritten(&self.path.join(path), &error))?)
        })
    }

    /// Moves it to its place.
    ///
    /// # Errors
    /// When something came there in the meantime.
    pub fn put(&self, draft: &Draft) -> Result<(), PackError> {
        let made = draft.place();
        if self.form == Form::Folder {
            // An empty folder may stand there; one with anything in it stops the move.
            let _ = fs::remove_dir(&self.path);
            fs::rename(made, &self.path).map_err(|error| unwritten(&self.path, &error))?;
            return Ok(());
        }
        let file = File::open(&made).and_then(|file| file.sync_all());
        file.map_err(|error| unwritten(&self.path, &error))?;
        let path = tempfile::TempPath::try_from_path(made);
        let path = path.map_err(|error| unwritten(&self.path, &error))?;
        match path.persist_noclobber(&self.path) {
            Ok(()) => Ok(()),
            Err(error) => Err(unwritten(&self.path, &error.error).into()),
        }
    }
}

/// Goes through the files of the pack.
fn each(
    draft: &Draft,
    given: &Commit,
    mut write: impl FnMut(&str, &[u8]) -> Result<(), PackError>,
) -> Result<(), PackError> {
    let repo = draft.repo()?;
    for file in repo.listed(&given.id)? {
        // One at a time: there may be many pictures.
        match repo.blobs(std::iter::once(&file))?.pop() {
            Some(content) => write(&file.path, &bytes_of(content, &file.path)?)?,
            None => return Err(PackError::Missing(file.path)),
        }
    }
    Ok(())
}

/// A path with what exists of it as the disk has it.
fn settled(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for part in path.components() {
        if part == Component::ParentDir {
            plain = plain.canonicalize().unwrap_or(plain);
            plain.pop();
        } else {
            plain.push(part);
        }
    }
    for above in plain.ancestors() {
        if let Ok(whole) = above.canonicalize()
            && let Ok(rest) = plain.strip_prefix(above)
        {
            return whole.join(rest);
        }
    }
    plain
}

impl Repo {
    /// The folder that git keeps its own things in.
    fn own_folder(&self) -> Option<PathBuf> {
        let folder = self.ask_line(&["rev-parse", "--git-common-dir"]).ok()?;
        Some(self.folder().join(folder))
    }
}
