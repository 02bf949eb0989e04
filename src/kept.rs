//! Readings that are kept from one run to the next.
//!
//! A commit changes few files, and reading takes longer than all else that a hook
//! does. So what a file was read as is kept under the name that git gives its content,
//! if nothing is wrong with it by itself: then its tree and what it refers to say all.
//! Nothing is concluded from it that reading would not tell anew; without it a check is
//! slower, and says the same.
//!
//! What pictures tell is kept in the same way, in a file of its own: it is small, so that it
//! can be written for one new picture, and a commit that brings none looks into none.

use std::collections::{BTreeMap, BTreeSet};
use std::hash::{DefaultHasher, Hasher};
use std::sync::{Arc, Mutex, PoisonError};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::model::Kind;
use crate::picture::Picture;
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
    /// Whether nothing more is taken in.
    closed: bool,
}

/// How they lie in a file.
#[derive(Serialize, Deserialize)]
struct File<T> {
    stamp: String,
    kept: T,
}

impl<T: Serialize + DeserializeOwned> File<T> {
    /// A file of what is kept, with a sum of it in front.
    fn to_bytes(kept: T, stamp: &str) -> Option<Vec<u8>> {
        let stamp = stamp.to_owned();
        let packed = postcard::to_stdvec(&Self { stamp, kept }).ok()?;
        Some([&sum_of(&packed).to_le_bytes(), packed.as_slice()].concat())
    }

    /// What is kept in a file, if the same program wrote it.
    fn from_bytes(bytes: &[u8], stamp: &str) -> Option<T> {
        let (sum, packed) = bytes.split_first_chunk()?;
        // A disk may change a bit; then nothing of it is believed.
        if u64::from_le_bytes(*sum) != sum_of(packed) {
            return None;
        }
        let file: Self = postcard::from_bytes(packed).ok()?;
        (file.stamp == stamp).then_some(file.kept)
    }
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
        let readings: Vec<(Name, Vec<u8>)> = File::from_bytes(bytes, stamp).unwrap_or_default();
        let readings = readings.into_iter();
        *of(&kept.readings) = readings.map(|(name, bytes)| (name, bytes.into())).collect();
        kept
    }

    /// One that takes nothing in, for who will not write it.
    #[must_use]
    pub fn closed() -> Self {
        Self {
            closed: true,
            ..Self::default()
        }
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
        let readings: Vec<(Name, Vec<u8>)> = of(&self.readings)
            .iter()
            .filter(|(name, _)| used.contains(*name))
            .map(|(name, bytes)| (name.clone(), bytes.to_vec()))
            .collect();
        File::to_bytes(readings, stamp)
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
        if self.closed {
            return;
        }
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

/// What the pictures of one repository tell, by git's names for their contents.
#[derive(Debug, Default)]
pub struct KeptPictures {
    known: Mutex<BTreeMap<String, Picture>>,
    used: Mutex<BTreeSet<String>>,
    /// Whether any came in this run.
    fresh: Mutex<bool>,
}

impl KeptPictures {
    /// The pictures in a file, if the same program wrote it.
    #[must_use]
    pub fn from_bytes(bytes: &[u8], stamp: &str) -> Self {
        Self {
            known: Mutex::new(File::from_bytes(bytes, stamp).unwrap_or_default()),
            ..Self::default()
        }
    }

    /// A file of the pictures that were of use, if any is new.
    #[must_use]
    pub fn to_bytes(&self, stamp: &str) -> Option<Vec<u8>> {
        if !*of(&self.fresh) {
            return None;
        }
        let mut known = of(&self.known).clone();
        let used = of(&self.used);
        known.retain(|blob, _| used.contains(blob));
        File::to_bytes(known, stamp)
    }

    /// What a picture of this content tells, if it is kept.
    #[must_use]
    pub fn find(&self, blob: &str) -> Option<Picture> {
        let picture = of(&self.known).get(blob).cloned()?;
        of(&self.used).insert(blob.to_owned());
        Some(picture)
    }

    /// Keeps what a picture tells.
    pub fn put(&self, blob: &str, picture: &Picture) {
        of(&self.known).insert(blob.to_owned(), picture.clone());
        of(&self.used).insert(blob.to_owned());
        *of(&self.fresh) = true;
    }
}
