//! `matchmark demo`.

use std::path::PathBuf;

use clap::Args;
use include_dir::{Dir, DirEntry, include_dir};

use super::Outcome;
use super::check::{colour, outcome, summary};
use super::state;
use crate::render::text;
use crate::shell::{disk, terminal};

/// Lay out the example build in a new folder, and check it
#[derive(Debug, Args)]
pub struct Demo {
    /// The folder to make
    #[arg(default_value = "matchmark-demo")]
    folder: PathBuf,
}

static EXAMPLE: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/example-build");

impl Demo {
    /// Lays the example out and checks it.
    ///
    /// # Errors
    /// When the folder is there already, or can't be written.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let mut files = Vec::new();
        gather(&EXAMPLE, &mut files);
        disk::lay_out(&self.folder, files.iter().copied()).map_err(|error| {
            anyhow::anyhow!("name another folder: `matchmark demo DIR`").context(error)
        })?;
        let shown = self.folder.display();
        terminal::print(&format!(
            "{} laid out in {shown}\n\n$ matchmark check {shown}\n",
            text::number(files.len(), "file")
        ))?;
        let state = state::of_folder(&self.folder, None)?;
        terminal::print(&text::findings(&state.findings, colour()))?;
        terminal::print(&summary(std::slice::from_ref(&state), &state.findings))?;
        Ok(outcome(&state.findings))
    }
}

/// All files of the example, with `/` in their paths.
fn gather<'a>(dir: &'a Dir<'a>, files: &mut Vec<(&'a str, &'a [u8])>) {
    for entry in dir.entries() {
        match entry {
            DirEntry::Dir(inner) => gather(inner, files),
            DirEntry::File(file) => {
                if let Some(path) = file.path().to_str() {
                    files.push((path, file.contents()));
                }
            }
        }
    }
}
