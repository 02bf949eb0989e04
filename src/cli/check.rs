//! `matchmark check`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use jiff::civil::Date;

use super::Outcome;
use crate::finding::{Finding, Level};
use crate::folder::Folder;
use crate::lint::{self, Facts};
use crate::render::text::Colour;
use crate::render::{json, text};
use crate::shell::{clock, disk, terminal};

/// Check the records of a build folder
///
/// Prints each finding as `file:line:column: level: sentence [rule]`, with other
/// places and what to do set in under it. A line and a column count from 1; a
/// column counts characters, a tab as one.
#[derive(Debug, Args)]
pub struct Check {
    /// The build folder [default: the one that the working folder lies in]
    folder: Option<PathBuf>,
    /// How findings are printed; JSON always holds the settled ones too
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// The least level that is printed; the exit code stays the same
    #[arg(long, value_enum, default_value_t = LevelChoice::Note)]
    level: LevelChoice,
    /// Print settled conflicts too, with the decision that settles each
    #[arg(long)]
    settled: bool,
    /// The day to check as of, as in 2026-03-01 [default: today]; no rule looks at it yet
    #[arg(long, value_name = "DAY")]
    as_of: Option<Date>,
}

/// How findings are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people and editors
    Text,
    /// For programs
    Json,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum LevelChoice {
    Error,
    Warning,
    Note,
}

impl Check {
    /// Checks, prints, and says how it ended.
    ///
    /// # Errors
    /// When there is no build folder, or it can't be read.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let path = disk::build_folder(self.folder.as_deref()).map_err(|error| {
            anyhow::anyhow!("name a build folder, or lay out an example with `matchmark demo DIR`")
                .context(error)
        })?;
        let (folder, findings) = check(&path, self.as_of)?;
        let least = match self.level {
            LevelChoice::Error => Level::Error,
            LevelChoice::Warning => Level::Warning,
            LevelChoice::Note => Level::Note,
        };
        let shown: Vec<Finding> = findings
            .iter()
            .filter(|finding| finding.level >= least)
            .cloned()
            .collect();
        match self.format {
            Format::Json => terminal::print(&json::findings(&shown))?,
            Format::Text => {
                let open: Vec<Finding> = shown
                    .into_iter()
                    .filter(|finding| self.settled || finding.settled_by.is_none())
                    .collect();
                terminal::print(&text::findings(&open, colour()))?;
                terminal::print(&summary(&folder, &findings))?;
            }
        }
        let outcome = outcome(&findings);
        // The process ends here. Giving back every node of every tree by itself
        // would take about a tenth of the whole time.
        std::mem::forget(folder);
        Ok(outcome)
    }
}

/// Whether output is coloured.
pub(super) fn colour() -> Colour {
    if terminal::colour() {
        Colour::Yes
    } else {
        Colour::No
    }
}

/// Reads and checks a build folder.
pub(super) fn check(path: &Path, as_of: Option<Date>) -> anyhow::Result<(Folder, Vec<Finding>)> {
    let folder = Folder::read(disk::yaml_files(path)?)?;
    let facts = Facts {
        as_of: as_of.unwrap_or_else(clock::today),
    };
    let findings = lint::check(&folder, &facts);
    Ok((folder, findings))
}

/// How a check ended.
pub(super) fn outcome(findings: &[Finding]) -> Outcome {
    if findings.iter().any(Finding::stops) {
        Outcome::Conflicts
    } else {
        Outcome::Clean
    }
}

/// The last line of a check.
pub(super) fn summary(folder: &Folder, findings: &[Finding]) -> String {
    let records = crate::model::Kind::ALL[1..]
        .iter()
        .map(|kind| folder.ids(*kind).count())
        .sum();
    format!(
        "{} in {}: {}\n",
        text::number(records, "record"),
        text::number(folder.files.len(), "file"),
        text::count(findings)
    )
}
