//! A finding: what is wrong, where, and what to do about it.

use std::fmt;

use crate::model::common::Stage;
use crate::source::Position;

/// How much a finding weighs. The words are those of the GNU error format and of
/// SARIF 2.1.0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Said in passing.
    Note,
    /// Said, and stops nothing.
    Warning,
    /// Stops a commit.
    Error,
}

impl Level {
    /// The word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A run of text in a file, for a person or an editor.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// The file, from the build folder, with `/`.
    pub file: String,
    /// Where it begins.
    pub start: Position,
    /// Where it ends: the column after its last character.
    pub end: Position,
}

/// Another place that has to do with a finding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Related {
    /// Where.
    pub place: Place,
    /// What is there.
    pub message: String,
}

/// What is wrong, where, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// The rule that found it.
    pub rule: &'static str,
    /// How much it weighs in this build.
    pub level: Level,
    /// One sentence, without its full stop.
    pub message: String,
    /// Where.
    pub place: Place,
    /// What it is about, as a reference calls it: `kind/id`, and inside that the
    /// innermost thing with a name of its own (`parts/injector/P1`).
    pub record: Option<String>,
    /// The stage that makes it a conflict; none where it is one at any.
    pub stage: Option<Stage>,
    /// Other places.
    pub related: Vec<Related>,
    /// What to do.
    pub remedy: String,
    /// The decision that settles it.
    pub settled_by: Option<String>,
    /// Whether it was there before the commit that is checked, where the build stops
    /// only what a commit adds.
    pub older: bool,
}

impl Finding {
    /// The same, about a record.
    #[must_use]
    pub fn of(mut self, record: impl Into<Option<String>>) -> Self {
        self.record = record.into();
        self
    }

    /// The same with another place.
    #[must_use]
    pub fn see(mut self, place: Place, message: impl Into<String>) -> Self {
        let message = message.into();
        self.related.push(Related { place, message });
        self
    }

    /// The same with another level.
    #[must_use]
    pub fn at_level(mut self, level: Level) -> Self {
        self.level = level;
        self
    }

    /// Whether it stops a commit.
    #[must_use]
    pub fn stops(&self) -> bool {
        self.level == Level::Error && self.settled_by.is_none() && !self.older
    }
}
