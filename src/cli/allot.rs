//! `matchmark allot`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Outcome;
use crate::allot::{allot, scope};
use crate::folder::Folder;
use crate::present::Present;
use crate::render::allot as render;
use crate::shell::{clock, disk, terminal};

/// Work out which pieces go to which places
///
/// In this order: no conflict; sets alike and within their spread; proven pieces
/// before unproven ones; least to buy; least change to what is planned and on; what is
/// kept for something stays kept. The number or the origin of a set is chosen with it.
/// What is on for good stays. Says of each piece why it goes where, or why it stays
/// out, and what must be bought or proven first.
///
/// It knows no more than the records say. The maker's manual and the look of the piece
/// in your hand come first.
#[derive(Debug, Args)]
pub struct Allot {
    /// An assembly (`engine`), a set of places (`fuel/injector`, or `injector` where one
    /// assembly has it) or one place (`engine/head`) [default: all places]
    what: Option<String>,
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    #[arg(long)]
    folder: Option<PathBuf>,
    /// How the answer is printed
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Write it down: change `goes` of the pieces, and nothing else, in their files
    #[arg(long)]
    write: bool,
    /// The day that ages count to, as in 2026-03-01 [default: today]
    #[arg(long, value_name = "DAY")]
    as_of: Option<String>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people
    Text,
    /// For programs
    Json,
}

impl Allot {
    /// Works it out, prints it, and writes it where that was asked for.
    ///
    /// # Errors
    /// When there is no build folder or no such place, or a file can't be written.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let path = super::build_folder(self.folder.as_deref())?;
        let today = super::day(self.as_of.as_deref())?.unwrap_or_else(clock::today);
        let folder = Folder::read(disk::yaml_files(&path)?)?;
        let present = Present::of(&folder);
        let places = scope(&present, self.what.as_deref())
            .map_err(|error| anyhow::anyhow!(error.remedy.clone()).context(error))?;
        let answer = allot(&folder, &present, &places, today);
        match self.format {
            Format::Text => {
                terminal::print(&render::text(&answer))?;
                terminal::print(&format!("\n{}", render::summary(&answer)))?;
            }
            Format::Json => terminal::print(&render::json(&answer))?,
        }
        Ok(Outcome::Clean)
    }
}
