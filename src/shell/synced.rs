//! Whether a repository lies where a cloud service carries files from computer to computer.
//!
//! Such a service knows nothing of git: it carries a ref before the objects that it names, and
//! where two computers wrote the same file it keeps both. It is told by what it leaves in the
//! folders above, and by its copies among git's own files; nothing else is looked through.

use std::fs;
use std::path::Path;

use walkdir::WalkDir;

use super::git::Repo;
use crate::lint::Synced;

/// What the usual services leave at the top of what they carry (from memory): the name, and
/// whether it is a folder. One of them keeps its settings in a folder `.dropbox` at home, which
/// says nothing; at the top of what it carries that is a file.
const TRACES: &[(&str, bool)] = &[
    (".stfolder", true),
    (".dropbox", false),
    (".dropbox.cache", true),
    (".sync/ID", false),
    (".nextcloudsync.log", false),
    (".owncloudsync.log", false),
    (".tmp.drivedownload", true),
    (".tmp.driveupload", true),
    (".849C9593-D756-4E56-8D6E-42412F2A707B", false),
];

/// Folders that nobody calls so but a service.
const FOLDERS: &[&str] = &[
    "Library/CloudStorage",
    "Library/Mobile Documents",
    "OneDrive",
];

/// How many of git's own files are looked at by their names.
const LOOKED_AT: usize = 5000;

/// Looks at where a repository lies, and at its refs and what lies at its top.
#[must_use]
pub fn look(repo: &Repo) -> Synced {
    let folder = repo.common_folder();
    let Some(folder) = folder.and_then(|folder| folder.canonicalize().ok()) else {
        return Synced::default();
    };
    let (copies, torn) = odd_files(&folder);
    Synced {
        trace: folder.ancestors().skip(1).find_map(trace),
        copies,
        torn,
    }
}

fn trace(folder: &Path) -> Option<String> {
    let left = TRACES.iter().find(|(name, is_folder)| {
        let about = folder.join(name).symlink_metadata();
        about.is_ok_and(|about| about.is_dir() == *is_folder)
    });
    if let Some((name, _)) = left {
        return Some((*name).to_owned());
    }
    let called = FOLDERS.iter().find(|name| {
        let last = folder.file_name().unwrap_or_default().to_string_lossy();
        folder.ends_with(name) || last.starts_with(&format!("{name} - "))
    });
    called.map(|name| (*name).to_owned())
}

/// What syncing made of git's own files: copies, and files with nothing in them.
fn odd_files(folder: &Path) -> (Vec<String>, Vec<String>) {
    let (mut copies, mut torn) = (Vec::new(), Vec::new());
    let top = WalkDir::new(folder).max_depth(1);
    let refs = WalkDir::new(folder.join("refs"));
    let both = [top, refs].into_iter().flat_map(|walk| {
        let walk = walk.follow_links(false).sort_by_file_name().into_iter();
        walk.flatten().take(LOOKED_AT)
    });
    for entry in both.filter(|entry| !entry.file_type().is_dir()) {
        let name = entry.file_name().to_string_lossy();
        let inner = entry.path().strip_prefix(folder).unwrap_or(entry.path());
        let inner = inner.to_string_lossy().into_owned();
        if is_copy(&name) {
            copies.push(inner);
        } else if (inner.starts_with("refs/") || name == "HEAD" || name == "index")
            && !name.ends_with(".lock")
            && fs::symlink_metadata(entry.path()).is_ok_and(|about| about.len() == 0)
        {
            torn.push(inner);
        }
    }
    (copies, torn)
}

/// Whether a name is one that a service gives to the second of two files: `index (1)`,
/// `main.lock 2`, `HEAD (builder's conflicted copy 2026-03-01)`,
/// `main.sync-conflict-20260301-201500-ABCDEFG`.
fn is_copy(name: &str) -> bool {
    let lower = name.to_lowercase();
    if lower.contains("conflicted copy") || lower.contains(".sync-conflict-") {
        return true;
    }
    let Some((first, last)) = lower.rsplit_once(' ') else {
        return false;
    };
    let number = last
        .strip_prefix('(')
        .and_then(|last| last.strip_suffix(')'));
    let number = number.unwrap_or(last);
    !first.is_empty() && !number.is_empty() && number.chars().all(|c| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn copies_are_told_by_their_names() {
        for name in [
            "index (1)",
            "main.lock 2",
            "HEAD 3",
            "HEAD (helper's conflicted copy 2026-03-01)",
            "main.sync-conflict-20260301-201500-ABCDEFG",
        ] {
            assert!(is_copy(name), "{name}");
        }
        for name in [
            "index",
            "HEAD",
            "v1.2",
            "loom-2",
            "part (side)",
            "ORIG_HEAD",
            " 2",
        ] {
            assert!(!is_copy(name), "{name}");
        }
    }

    #[test]
    fn a_folder_is_told_by_what_lies_in_it() {
        let folder = tempfile::tempdir().unwrap();
        let at = |inner: &str| {
            let path = folder.path().join(inner);
            fs::create_dir_all(&path).unwrap();
            path
        };
        for name in [
            "Drive",
            "Cloud",
            "Dropbox",
            "Sync",
            "my OneDrive",
            "CloudStorage",
        ] {
            assert_eq!(trace(&at(name)), None, "{name}");
        }
        // Settings of a service at home say nothing of what lies there.
        at("home/.dropbox");
        at("home/.sync");
        assert_eq!(trace(&at("home")), None);
        for (name, is_folder) in TRACES {
            let top = at(&format!("top-{}", name.replace('/', "-")));
            let trace_at = top.join(name);
            fs::create_dir_all(trace_at.parent().unwrap()).unwrap();
            match is_folder {
                true => fs::create_dir(&trace_at).unwrap(),
                false => fs::write(&trace_at, "").unwrap(),
            }
            assert_eq!(trace(&top).as_deref(), Some(*name));
        }
        for name in ["OneDrive", "OneDrive - Quay", "Library/Mobile Documents"] {
            assert!(trace(&at(name)).is_some(), "{name}");
        }
    }
}
