//! The job sheet: a line for each job that is not done, with columns to be filled in.

use jiff::civil::Date;

use crate::folder::Folder;
use crate::model::job::JobState;

/// What came back on a job sheet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sheet {
    /// The jobs that something was filled in for, in the order of the sheet.
    pub lines: Vec<JobLine>,
    /// What can't be taken in, in the order of the sheet. Of such a line nothing is taken.
    pub slips: Vec<Slip>,
}

/// What was filled in for a job; none where the cell is blank.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct JobLine {
    /// The line of the file, from 1.
    pub line: usize,
    /// The job's id.
    pub job: String,
    /// How far it has come.
    pub state: Option<JobState>,
    /// What state things were left in.
    pub left_as: Option<String>,
    /// The day it was done.
    pub done: Option<Date>,
    /// The hours that were spent, as a record says it: `1.5 h`.
    pub spent: Option<String>,
    /// Who did it, by role.
    pub by: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// A line that can't be taken in, and why.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct Slip {
    /// The line of the file, from 1.
    pub line: usize,
    /// What is wrong, in a sentence.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

/// The sheet as CSV, to be filled in.
#[must_use]
pub fn csv(folder: &Folder) -> String {
    let _ = folder;
    String::new()
}

impl Sheet {
    /// Reads a sheet that came back, as any spreadsheet program writes it.
    ///
    /// # Errors
    /// When it is no job sheet at all.
    pub fn read(bytes: &[u8]) -> Result<Self, Slip> {
        let _ = bytes;
        Ok(Self::default())
    }
}
