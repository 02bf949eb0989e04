//! All that is told of two states: what a command prints, whatever its form.

use jiff::Timestamp;
use jiff::civil::DateTime;

use super::RecordChange;
use super::tell::Told;
use crate::finding::Finding;

/// All that changed between two states.
#[derive(Debug, Clone)]
pub struct Report {
    /// The state before.
    pub since: Side,
    /// The state after.
    pub until: Side,
    /// What lies between them, where that was counted.
    pub between: Option<Between>,
    /// What must be said first of why these two are compared.
    pub remark: Option<String>,
    /// What changed, a record each, by their names.
    pub changes: Vec<RecordChange>,
    /// The same in words.
    pub told: Vec<Told>,
    /// Files of the build that hold no records, as pictures, by their paths.
    pub files: Vec<FileChange>,
    /// What could not be compared, and why.
    pub uncompared: Vec<Uncompared>,
    /// Conflicts that are there now and were not.
    pub opened: Vec<Finding>,
    /// Conflicts that are there no more, or are settled now.
    pub cleared: Vec<Cleared>,
    /// How far the build has come.
    pub progress: Vec<Progress>,
}

impl Report {
    /// Whether nothing has changed, whatever is found otherwise by another day.
    #[must_use]
    pub fn is_same(&self) -> bool {
        self.changes.is_empty() && self.files.is_empty() && self.uncompared.is_empty()
    }
}

/// One of the two states.
#[derive(Debug, Clone, PartialEq)]
pub enum Side {
    /// Nothing at all: before the first commit.
    Nothing,
    /// A commit.
    Commit {
        /// Its name in full.
        id: String,
        /// The first line of its message.
        title: String,
        /// When it was made, where it was made.
        when: Option<Moment>,
        /// Who made it.
        by: String,
    },
    /// What is staged.
    Staged,
    /// The working folder.
    Folder,
}

/// What lies between two states.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Between {
    /// How many commits there are from the one to the other.
    pub commits: usize,
    /// How many sessions they come to.
    pub sessions: usize,
}

/// A point in time, and what the clock said where it was taken down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment {
    /// The point in time.
    pub at: Timestamp,
    /// Day and time there.
    pub local: DateTime,
}

/// A file that holds no records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileChange {
    /// From the build folder.
    pub path: String,
    /// Git's name for what it held; none if it is new.
    pub was: Option<String>,
    /// The same for what it holds; none if it is gone.
    pub is: Option<String>,
}

/// Something that could not be compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Uncompared {
    /// The file.
    pub file: String,
    /// Why not, in a few words.
    pub why: String,
}

/// A conflict that is no more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cleared {
    /// It, as it was.
    pub finding: Finding,
    /// The decision that settles it now.
    pub settled_by: Option<String>,
    /// What else cleared it, in words; empty where nothing tells.
    pub by: Vec<String>,
}

/// One measure of how far the build has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Progress {
    /// What is counted: `places filled for good`.
    pub what: String,
    /// Before.
    pub before: String,
    /// After.
    pub after: String,
}
