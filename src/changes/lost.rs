//! What a merge lost. Git merges one file at a time: a record that one side moved to another
//! file and the other side took out merges cleanly, and stands there again. And whoever
//! settles a file by taking one side of it drops what the other side did in it.

use std::collections::{BTreeMap, BTreeSet};

use super::Name;
use super::records::Beside;

/// What one side of a merge did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Did {
    /// It put a record in.
    New,
    /// It took one out.
    Gone,
    /// It changed one.
    Changed,
}

/// A record that stands in a merge as it did before, though a side of it changed that.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Lost {
    /// What it is called.
    pub name: Name,
    /// The number of the side that changed it.
    pub side: usize,
    /// What was done to it.
    pub did: Did,
}

/// The records that a merge left as they were where its sides began, though one side of it
/// did something to them. Each side is put
/// beside that, and so is what came of them. Where that can't be wholly compared, nothing
/// is said: the check refuses it.
#[must_use]
pub fn lost(sides: &[Beside], came: &Beside) -> BTreeSet<Lost> {
    if !came.uncompared.is_empty() {
        return BTreeSet::new();
    }
    let is_as_before =
        |name: &Name| !came.since.contains_key(name) && !came.until.contains_key(name);
    let mut did: BTreeMap<&Name, Vec<(usize, Did)>> = BTreeMap::new();
    for (number, side) in sides.iter().enumerate() {
        let names: BTreeSet<&Name> = side.since.keys().chain(side.until.keys()).collect();
        for name in names.into_iter().filter(|name| is_as_before(name)) {
            let how = match (side.since.contains_key(name), side.until.contains_key(name)) {
                (false, _) => Did::New,
                (true, false) => Did::Gone,
                (true, true) => Did::Changed,
            };
            did.entry(name).or_default().push((number, how));
        }
    }
    let lost = did.into_iter().filter_map(|(name, sides)| match sides[..] {
        [(side, did)] => Some(Lost {
            name: name.clone(),
            side,
            did,
        }),
        // Where both did something to it somebody chose.
        _ => None,
    });
    lost.collect()
}
