//! `matchmark check`.

mod history;
mod merged;
mod pushed;

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use jiff::civil::Date;

use super::Outcome;
use super::state::{self, State};
use crate::finding::{Finding, Level};
use crate::render::safe::safe;
use crate::render::text::Colour;
use crate::render::{Counts, json, sarif, text};
use crate::shell::git::{self, Repo};
use crate::shell::{disk, terminal};

/// Check the records of a build folder
///
/// Prints each finding as `file:line:column: level: sentence [rule]`, with other
/// places and what to do set in under it. A line and a column count from 1; a
/// column counts characters, a tab as one. What is staged and what commits hold is
/// judged by itself, whatever lies in the working folder.
#[derive(Debug, Args)]
pub struct Check {
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    folder: Option<PathBuf>,
    /// How findings are printed; JSON and SARIF always hold the settled ones too
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// The least level that is printed; the exit code stays the same
    #[arg(long, value_enum, default_value_t = LevelChoice::Note)]
    level: LevelChoice,
    /// Print settled conflicts too, with the decision that settles each
    #[arg(long)]
    settled: bool,
    /// The day to check as of, as in 2026-03-01 [default: today; of a commit, its own]
    #[arg(long, value_name = "DAY")]
    as_of: Option<String>,
    /// Check what is staged: what a commit made now would hold
    #[arg(long, group = "what")]
    staged: bool,
    /// Check what a commit, branch or tag holds
    #[arg(long, value_name = "REV", group = "what")]
    at: Option<String>,
    /// Check all commits since the last that was checked, and remember how far it came;
    /// `--history=all` from the first, `--history=REV` from the one after REV
    #[arg(
        long,
        value_name = "SINCE",
        group = "what",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = ""
    )]
    history: Option<String>,
    /// Check what is being pushed, as git's pre-receive hook is told on standard input
    #[arg(long, group = "what")]
    pushed: bool,
    /// Print what stops and what to do, on one screen; what a hook says
    #[arg(long)]
    brief: bool,
    /// The process of the `git commit` that calls
    #[arg(long, value_name = "PID", hide = true)]
    commit_by: Option<u32>,
    /// The process of the pick or revert that calls
    #[arg(long, value_name = "PID", hide = true)]
    picked_by: Option<u32>,
    /// Check the commit that is checked out, unless a hook let it through
    #[arg(long, hide = true, group = "what")]
    arrived: bool,
}

/// How findings are printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people and editors
    Text,
    /// For programs
    Json,
    /// For programs that show findings beside the lines: SARIF 2.1.0
    Sarif,
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
    /// When there is no build folder or no such commit, or it can't be read.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let day = super::day(self.as_of.as_deref())?;
        if self.arrived {
            return self.arrived(&self.repo()?, day);
        }
        if self.pushed {
            let repo = self.repo()?;
            let outcome = pushed::run(&repo, day);
            repo.keep_pictures();
            return outcome;
        }
        let mut named = None;
        let mut lost = false;
        let (states, refusal) = if self.staged {
            let repo = self.repo()?;
            if self.picked_by.is_some_and(|caller| !repo.picks(caller)) {
                return Ok(Outcome::Clean);
            }
            repo.follow();
            let amends = self.commit_by.is_some_and(git::amends);
            let states = state::staged(&repo, day, amends)?;
            let clean = outcome(&state::findings(&states)) == Outcome::Clean;
            lost = clean && self.commit_by.is_some() && merged::says(&repo, &states)?;
            if self.commit_by.or(self.picked_by).is_some() {
                repo.keep_readings();
                repo.keep_pictures();
                if clean && !lost {
                    repo.set_passed();
                }
            }
            let first = repo.head().is_none();
            (self.some(states)?, text::Refusal::Commit { first })
        } else if let Some(since) = &self.history {
            let states = history::run(&self.repo()?, since, day)?;
            (self.some(states)?, text::Refusal::Nothing)
        } else if let Some(name) = &self.at {
            let repo = self.repo()?;
            let commit = repo.commit(name)?;
            let states = state::at(&repo, &commit, day)?;
            (self.some(states)?, text::Refusal::Nothing)
        } else {
            let path = super::build_folder(self.folder.as_deref())?;
            let state = state::of_folder(&path, day)?;
            // Whoever named something inside is told which build it lies in.
            if self.folder.as_ref().is_some_and(|given| *given != path) {
                named = disk::name_of(&path);
            }
            (vec![state], text::Refusal::Nothing)
        };
        let findings = state::findings(&states);
        self.print(&states, named.as_deref(), &findings, &refusal)?;
        // The process ends here. Giving back every node of every tree by itself
        // would take about a tenth of the whole time.
        std::mem::forget(states);
        Ok(match lost {
            true => Outcome::Conflicts,
            false => outcome(&findings),
        })
    }

    /// Says what is wrong with what a merge, a pull or a rebase left checked out.
    fn arrived(&self, repo: &Repo, day: Option<Date>) -> anyhow::Result<Outcome> {
        let head = repo.head().filter(|_| !repo.was_let_through());
        let Some(head) = head else {
            return Ok(Outcome::Clean);
        };
        let states = state::at(repo, &head, day)?;
        let findings = state::findings(&states);
        repo.keep_readings();
        repo.keep_pictures();
        let outcome = outcome(&findings);
        if outcome == Outcome::Conflicts {
            self.print(&states, None, &findings, &text::Refusal::Arrived)?;
        }
        Ok(outcome)
    }

    fn repo(&self) -> anyhow::Result<Repo> {
        Ok(Repo::open(self.folder.as_deref())?)
    }

    /// That there is a build at all; a hook of a repository without one has no say.
    fn some(&self, states: Vec<State>) -> anyhow::Result<Vec<State>> {
        if states.is_empty() && !self.brief {
            let why = "git holds no build.yaml here";
            return Err(anyhow::anyhow!("stage one with `git add build.yaml`").context(why));
        }
        Ok(states)
    }

    fn print(
        &self,
        states: &[State],
        named: Option<&str>,
        findings: &[Finding],
        refusal: &text::Refusal,
    ) -> anyhow::Result<()> {
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
                terminal::print(&json::findings(&shown, Counts::of(findings)))?;
            }
            Format::Sarif => terminal::print(&sarif::findings(&shown))?,
            Format::Text if self.brief => {
                terminal::print(&text::brief(findings, refusal, colour()))?;
            }
            Format::Text => {
                let open: Vec<Finding> = shown
                    .into_iter()
                    .filter(|finding| self.settled || finding.settled_by.is_none())
                    .collect();
                show(&open)?;
                terminal::print(&summary(states, named, findings))?;
            }
        }
        Ok(())
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

/// Prints findings, in colour and to a terminal's width where there is one.
pub(super) fn show(findings: &[Finding]) -> anyhow::Result<()> {
    let text = text::findings(findings, colour());
    terminal::print(&match terminal::width() {
        Some(width) => text::set_in_folded(&text, width),
        None => text,
    })?;
    Ok(())
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
pub(super) fn summary(states: &[State], name: Option<&str>, findings: &[Finding]) -> String {
    let of = name.map_or_else(String::new, |name| format!(" of {}", safe(name)));
    let kinds = &crate::model::Kind::ALL[1..];
    let records = |state: &State| {
        kinds
            .iter()
            .map(|kind| state.folder.ids(*kind).count())
            .sum::<usize>()
    };
    format!(
        "{} in {}{of}: {}\n",
        text::number(states.iter().map(records).sum(), "record"),
        text::number(
            states.iter().map(|state| state.folder.files.len()).sum(),
            "file"
        ),
        text::count(findings)
    )
}
