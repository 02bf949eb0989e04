//! `matchmark merge`.

mod ancestor;
mod driver;
mod moved;
mod settle;
mod words;

use std::path::PathBuf;

use clap::Args;

use super::Outcome;

/// Settle a merge that git stopped, over all files of records
///
/// Says what was settled and what is left to you.
///
/// `guard` has git merge files of records by record and by field. Git shows one file at a
/// time; so a record that one side moved to another file and the other side changed stops
/// it. This merges such a record where it went. A file that somebody edited since git
/// stopped is left as it is.
#[derive(Debug, Args)]
pub struct Merge {
    /// The clone [default: the one that the working folder lies in]
    #[arg(conflicts_with = "base")]
    folder: Option<PathBuf>,
    #[command(flatten)]
    one: driver::OneFile,
}

impl Merge {
    /// Merges one file for git, or settles what it stopped at.
    ///
    /// # Errors
    /// When a file can't be read or written, or git can't be asked.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        match self.one.asked() {
            Some(asked) => asked.merge(),
            None => settle::run(self.folder.as_deref()),
        }
    }
}
