//! `matchmark lines`, which git calls to show a file of records.

use std::path::PathBuf;

use clap::Args;

use super::Outcome;
use crate::model::Kind;
use crate::render::lines;
use crate::shell::{driver, terminal};
use crate::source::Source;

/// Print a file of records with its full name behind each line that opens something
///
/// For git to show, once `guard` has told it to.
#[derive(Debug, Args)]
pub struct Lines {
    /// The kind of its records, by their folder; `build` for `build.yaml`
    #[arg(value_parser = kind)]
    kind: Kind,
    /// The file, wherever it lies
    file: PathBuf,
}

fn kind(word: &str) -> Result<Kind, String> {
    let mut kinds = Kind::ALL.iter().copied();
    kinds
        .find(|kind| kind.folder() == word)
        .ok_or_else(|| "there is no such kind".to_owned())
}

impl Lines {
    /// Prints it; what is no text, or too long to be read, as it is.
    ///
    /// # Errors
    /// When it can't be read or printed.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let bytes = driver::read(&self.file).map_err(|error| {
            anyhow::anyhow!("git calls this with a file of its own").context(error)
        })?;
        match Source::from_bytes("", bytes.clone()) {
            Ok(source) => terminal::print(&lines::named(self.kind, &source.text))?,
            Err(_) => terminal::print_bytes(&bytes)?,
        }
        Ok(Outcome::Clean)
    }
}
