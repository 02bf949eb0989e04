//! What people and programs read: text, JSON, SARIF and CSV. The only markup.

pub mod allot;
pub mod answer;
pub mod bucket_sheet;
pub mod cells;
pub mod changes;
pub mod draft;
pub mod grid;
pub mod identify;
pub mod job_sheet;
pub mod json;
pub mod lines;
pub mod page;
pub mod rows;
pub mod safe;
pub mod sarif;
pub mod sessions;
pub mod table;
pub mod text;
pub mod trail;

use crate::finding::{Finding, Level};

/// How many findings there are: those that stand by their level, and those that a
/// decision settles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// At error level.
    pub errors: usize,
    /// At warning level.
    pub warnings: usize,
    /// At note level.
    pub notes: usize,
    /// Settled, at any level.
    pub settled: usize,
    /// Errors that were there before the commit that is checked.
    pub older: usize,
}

impl Counts {
    /// Counts findings.
    #[must_use]
    pub fn of(findings: &[Finding]) -> Self {
        let mut counts = Self::default();
        for finding in findings {
            let count = match (&finding.settled_by, finding.level) {
                (Some(_), _) => &mut counts.settled,
                (None, _) if finding.older => &mut counts.older,
                (None, Level::Error) => &mut counts.errors,
                (None, Level::Warning) => &mut counts.warnings,
                (None, Level::Note) => &mut counts.notes,
            };
            *count += 1;
        }
        counts
    }
}
