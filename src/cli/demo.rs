//! `matchmark demo`.

use std::path::PathBuf;

use clap::Args;
use include_dir::{Dir, DirEntry, include_dir};

use super::Outcome;
use super::check::{outcome, show, summary};
use super::state;
use crate::render::safe::safe;
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
        let shown = self.folder.display().to_string();
        terminal::print(&format!(
            "{} laid out in {}\n\n$ matchmark check {}\n",
            text::number(files.len(), "file"),
            safe(&shown),
            safe(&typed(&shown))
        ))?;
        let state = state::of_folder(&self.folder, None)?;
        show(&state.findings)?;
        terminal::print(&summary(
            std::slice::from_ref(&state),
            None,
            &state.findings,
        ))?;
        Ok(outcome(&state.findings))
    }
}

/// A path as it is typed in a shell.
fn typed(path: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '/' | '.' | '_' | '-' | '+' | ',');
    if path.chars().all(plain) && !path.starts_with('-') {
        return path.to_owned();
    }
    // A path that begins with a hyphen would be taken for an option, quoted or not.
    let before = if path.starts_with('-') { "./" } else { "" };
    format!("'{before}{}'", path.replace('\'', r"'\''"))
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
