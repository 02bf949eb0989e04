//! How much a tree of git's holds, told before anybody lists it.
//!
//! A tree may hold another under many names, and that one a third: with a few objects of a
//! hundred bytes each somebody can commit more paths than any memory has room for. What a
//! tree holds is counted once for each object, however often it is named.

use std::collections::BTreeMap;

use git2::{ObjectType, Oid, Repository};

use super::git::{GitError, Repo};

/// More files than any build has.
const MOST_FILES: u64 = 500_000;
/// More than the paths of all its files take.
const LONGEST_PATHS: u64 = 64 << 20;
/// More folders in each other than any build has.
const DEEPEST: usize = 200;

/// What a tree holds.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Weight {
    files: u64,
    /// All paths together, from the tree.
    paths: u64,
    /// Folders in each other.
    depth: usize,
}

impl Weight {
    fn is_too_much(self) -> bool {
        self.files > MOST_FILES || self.paths > LONGEST_PATHS || self.depth > DEEPEST
    }
}

/// What trees hold, as far as somebody asked.
pub(super) type Weights = BTreeMap<Oid, Weight>;

impl Repo {
    /// Sees that a tree can be listed.
    ///
    /// # Errors
    /// When it holds more than any build does.
    pub(super) fn weighed(&self, tree: Oid) -> Result<(), GitError> {
        let Some(library) = &self.library else {
            return Ok(());
        };
        let mut known = self.weights.borrow_mut();
        match weigh(library, tree, 0, &mut known) {
            Ok(weight) if weight.is_too_much() => Err(GitError::TooMuch(
                "a commit here holds more files than any build has, or longer paths",
            )),
            _ => Ok(()),
        }
    }
}

fn weigh(
    library: &Repository,
    tree: Oid,
    above: usize,
    known: &mut Weights,
) -> Result<Weight, git2::Error> {
    if let Some(weight) = known.get(&tree) {
        return Ok(*weight);
    }
    let mut whole = Weight::default();
    if above > DEEPEST {
        whole.depth = DEEPEST + 1;
        return Ok(whole);
    }
    for entry in &library.find_tree(tree)? {
        let name = entry.name_bytes().len() as u64;
        let inner = match entry.kind() {
            // What can't be read is told by whoever reads it.
            Some(ObjectType::Tree) => {
                weigh(library, entry.id(), above + 1, known).unwrap_or_default()
            }
            _ => Weight {
                files: 1,
                ..Weight::default()
            },
        };
        let names = inner.files.saturating_mul(name + 1);
        whole.files = whole.files.saturating_add(inner.files);
        whole.paths = whole
            .paths
            .saturating_add(inner.paths)
            .saturating_add(names);
        whole.depth = whole.depth.max(inner.depth + 1);
    }
    known.insert(tree, whole);
    Ok(whole)
}
