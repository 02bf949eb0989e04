//! The example build, inside the binary: its files, and the history that they came by.
//!
//! The history lies beside the files as patches, one a commit, in a hidden folder:
//! a check leaves it alone, and it is no part of what is laid out.

use include_dir::{Dir, DirEntry, include_dir};

use crate::patch::{Patch, PatchError};

static EXAMPLE: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/example-build");

/// Where the patches lie.
pub const HISTORY: &str = ".history";

/// A file of the example: its path with `/`, and what is in it.
pub type File = (&'static str, &'static [u8]);

/// The files of the newest state, in the order of their paths.
#[must_use]
pub fn files() -> Vec<File> {
    let mut files = Vec::new();
    gather(&EXAMPLE, &mut files);
    files.retain(|(path, _)| !path.split('/').any(|part| part.starts_with('.')));
    files.sort_unstable();
    files
}

/// The commits that lead to the newest state, oldest first.
///
/// # Errors
/// When a patch of ours does not have its form; a test sees that each has.
pub fn history() -> Result<Vec<Patch>, PatchError> {
    let mut patches = Vec::new();
    if let Some(folder) = EXAMPLE.get_dir(HISTORY) {
        gather(folder, &mut patches);
    }
    patches.sort_unstable();
    patches
        .into_iter()
        .map(|(path, bytes)| {
            let name = path.rsplit('/').next().unwrap_or(path);
            Patch::read(name, &String::from_utf8_lossy(bytes))
        })
        .collect()
}

fn gather(dir: &'static Dir<'static>, files: &mut Vec<File>) {
    for entry in dir.entries() {
        match entry {
            DirEntry::Dir(inner) => gather(inner, files),
            DirEntry::File(file) => {
                if let Some(path) = file.path().to_str() {
                    files.push((path, file.contents()));
                }
            }
        }
    }
}
