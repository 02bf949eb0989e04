//! Readings that are kept from one run to the next.
//!
//! A commit changes few files, and reading takes longer than all else that a hook
//! does. So what a file was read as is kept under the name that git gives its content,
//! if nothing is wrong with it by itself: then its tree and what it refers to say all.
//! Nothing is concluded from it that reading would not tell anew; without it a check is
//! slower, and says the same.

use std::collections::{BTreeMap, BTreeSet};
use std::hash::{DefaultHasher, Hasher};
use std::sync::{Arc, Mutex, PoisonError};

use serde::{Deserialize, Serialize};

use crate::model::Kind;
use crate::schema::walk::{Reference, TraitUse, Uses};
use crate::source::Source;
use crate::yaml::Tree;

/// What a file was read as.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptReading {
    text: String,
    tree: Tree,
    references: Vec<Reference>,
    traits: Vec<TraitUse>,
}

/// Which part of all readings must be new to be worth writing them, as 1 of so many.
const FRESH: usize = 8;

/// What a file is known by: git's name for its content, and the kind it is read as.
type Name = (String, String);

/// The readings of one repository.
#[derive(Debug, Default)]
pub struct Kept {
    readings: Mutex<BTreeMap<Name, Arc<[u8]>>>,
    used: Mutex<BTreeSet<Name>>,
    /// How many bytes of them came in this run.
    fresh: Mutex<usize>,
}

/// How they lie in a file.
#[derive(Serialize, Deserialize)]
struct File {
    stamp: String,
    readings: Vec<(Name, Vec<u8>)>,
}

fn sum_of(bytes: &[u8]) -> u64 {
    let mut hasher = DefaultHasher::new();
    hasher.write(bytes);
    hasher.finish()
}

fn of<T>(lock: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    // A thread that ended in the middle leaves at worst a reading too few.
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What a packed reading holds: the file's text, its tree, and what it refers to. None
/// if it is broken.
#[must_use]
pub fn unpacked(bytes: &[u8]) -> Option<(String, Tree, Uses)> {
    let reading: KeptReading = postcard::from_bytes(bytes).ok()?;
    let uses = Uses {
        references: reading.references,
        traits: reading.traits,
        ..Uses::default()
    };
    Some((reading.text, reading.tree, uses))
}

impl Kept {
    /// The readings in a file, if the same program wrote it; `stamp` tells programs apart.
    #[must_use]
    pub fn from_bytes(bytes: &[u8], stamp: &str) -> Self {
        let kept = Self::default();
        let Some((sum, packed)) = bytes.split_first_chunk() else {
            return kept;
        };
        // A disk may change a bit; then nothing of it is believed.
        if u64::from_le_bytes(*sum) == sum_of(packed)
            && let Ok(file) = postcard::from_bytes::<File>(packed)
            && file.stamp == stamp
        {
            let readings = file.readings.into_iter();
            *of(&kept.readings) = readings.map(|(name, bytes)| (name, bytes.into())).collect();
        }
        kept
    }

    /// Whether nothing is kept.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        of(&self.readings).is_empty()
    }

    /// A file of the readings that were of use, if enough of them are new: to write it for
    /// the one file that changes each time takes longer than to read that file again.
    #[must_use]
    pub fn to_bytes(&self, stamp: &str) -> Option<Vec<u8>> {
        let used = of(&self.used);
        let all: usize = of(&self.readings).values().map(|bytes| bytes.len()).sum();
        let fresh = *of(&self.fresh);
        if fresh == 0 || fresh * FRESH < all {
            return None;
        }
        let readings = of(&self.readings)
            .iter()
            .filter(|(name, _)| used.contains(*name))
            .map(|(name, bytes)| (name.clone(), bytes.to_vec()))
            .collect();
        let stamp = stamp.to_owned();
        let packed = postcard::to_stdvec(&File { stamp, readings }).ok()?;
        Some([&sum_of(&packed).to_le_bytes(), packed.as_slice()].concat())
    }

    /// The reading of a file of this content, still packed, if it is kept.
    #[must_use]
    pub fn find(&self, blob: &str, kind: Kind) -> Option<Arc<[u8]>> {
        let name = (blob.to_owned(), kind.folder().to_owned());
        let bytes = of(&self.readings).get(&name).cloned()?;
        of(&self.used).insert(name);
        Some(bytes)
    }

    /// Keeps what a file was read as; nothing may be wrong with it by itself.
    pub fn put(&self, blob: &str, kind: Kind, source: &Source, tree: &Tree, uses: &Uses) {
        let reading = KeptReading {
            text: source.text.clone(),
            tree: tree.clone(),
            references: uses.references.clone(),
            traits: uses.traits.clone(),
        };
        if let Ok(bytes) = postcard::to_stdvec(&reading) {
            let name = (blob.to_owned(), kind.folder().to_owned());
            *of(&self.fresh) += bytes.len();
            of(&self.readings).insert(name.clone(), bytes.into());
            of(&self.used).insert(name);
        }
    }
}
