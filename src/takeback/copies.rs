//! A file that somebody copied within the folder, as one does before an edit.
//!
//! All its records would be there twice, and nobody can tell which of the two is meant. So
//! the file that was handed over counts, and the new one is named and left.

use std::collections::BTreeSet;

use super::{Files, Said, States};
use crate::changes::Name;
use crate::changes::records;
use crate::folder::{Content, RawFile, kind_of};

/// Leaves out each file that is new and holds nothing but records of files that were handed
/// over and still hold them; says which.
pub(super) fn leave(states: &mut States) -> Vec<Said> {
    let is_new = |path: &String| !states.given.contains_key(path) && !states.now.contains_key(path);
    let (new, old): (Files, Files) = states
        .returned
        .clone()
        .into_iter()
        .partition(|(path, _)| is_new(path));
    if new.is_empty() {
        return Vec::new();
    }
    let (new, old) = (names(new), names(old));
    let mut left = Vec::new();
    for (path, held) in new {
        let first = old.iter().find(|(_, other)| !held.is_disjoint(other));
        let Some((first, _)) = first else { continue };
        let stands = |name: &Name| old.iter().any(|(_, other)| other.contains(name));
        if held.iter().all(stands) {
            states.returned.remove(&path);
            let says = format!(
                "its records stand in {first} as well, as in a copy; nothing is taken from it: \
                 what was changed in it belongs in there"
            );
            left.push(Said::of(path, says));
        }
    }
    left
}

/// The records that each file holds, where all of it can be read.
fn names(files: Files) -> Vec<(String, BTreeSet<Name>)> {
    let raw = files.into_iter().map(|(path, bytes)| RawFile {
        path,
        content: Content::Bytes(bytes),
    });
    let mut names = Vec::new();
    for (path, held) in records::read(raw.collect()) {
        let Some(kind) = kind_of(&path).filter(|_| held.torn.is_none()) else {
            continue;
        };
        let ids = held.records.iter().map(|(id, _)| id.clone());
        names.push((path, ids.map(|id| Name { kind, id }).collect()));
    }
    names
}
