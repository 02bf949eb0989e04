//! `matchmark check`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use jiff::civil::Date;

use super::Outcome;
use crate::finding::{Finding, Level};
use crate::folder::Folder;
use crate::lint::{self, Facts};
use crate::render::safe::safe;
use crate::render::text::Colour;
use crate::render::{Counts, json, text};
use crate::shell::{clock, disk, terminal};

/// Check the records of a build folder
///
/// Prints each finding as `file:line:column: level: sentence [rule]`, with other
/// places and what to do set in under it. A line and a column count from 1; a
/// column counts characters, a tab as one.
#[derive(Debug, Args)]
pub struct Check {
    /// The build folder, or anything in it [default: the one that the working folder lies in]
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
    as_of: Option<String>,
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
        let (folder, findings) = check(&path, self.day()?)?;
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
            Format::Json => {
                terminal::print(&json::findings(&shown, Counts::of(&findings)))?;
            }
            Format::Text => {
                let open: Vec<Finding> = shown
                    .into_iter()
                    .filter(|finding| self.settled || finding.settled_by.is_none())
                    .collect();
                show(&open)?;
                // Whoever named something inside is told which build it lies in.
                let inside = self.folder.as_ref().is_some_and(|named| *named != path);
                let name = inside.then(|| disk::name_of(&path)).flatten();
                terminal::print(&summary(&folder, name.as_deref(), &findings))?;
            }
        }
        let outcome = outcome(&findings);
        // The process ends here. Giving back every node of every tree by itself
        // would take about a tenth of the whole time.
        std::mem::forget(folder);
        Ok(outcome)
    }
}

impl Check {
    fn day(&self) -> anyhow::Result<Option<Date>> {
        let Some(written) = &self.as_of else {
            return Ok(None);
        };
        let day = written.parse().map_err(|_| {
            anyhow::anyhow!("write year-month-day, as in `--as-of 2026-03-01`")
                .context(format!("`{written}` is no day in the calendar"))
        })?;
        Ok(Some(day))
    }
}

/// Prints findings, in colour and to a terminal's width where there is one.
pub(super) fn show(findings: &[Finding]) -> anyhow::Result<()> {
    let colour = if terminal::colour() {
        Colour::Yes
    } else {
        Colour::No
    };
    let text = text::findings(findings, colour);
    terminal::print(&match terminal::width() {
        Some(width) => text::wrapped(&text, width),
        None => text,
    })?;
    Ok(())
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
pub(super) fn summary(folder: &Folder, name: Option<&str>, findings: &[Finding]) -> String {
    let records = crate::model::Kind::ALL[1..]
        .iter()
        .map(|kind| folder.ids(*kind).count())
        .sum();
    let of = name.map_or_else(String::new, |name| format!(" of {}", safe(name)));
    format!(
        "{} in {}{of}: {}\n",
        text::number(records, "record"),
        text::number(folder.files.len(), "file"),
        text::count(findings)
    )
}
