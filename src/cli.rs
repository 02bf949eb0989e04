//! The command line: one file a command.

pub mod allot;
pub mod changes;
pub mod check;
pub mod demo;
pub mod draft;
pub mod explain;
pub mod guard;
pub mod handover;
pub mod identify;
pub mod lines;
pub mod list;
pub mod merge;
pub mod reckon;
pub mod sessions;
pub mod sheet;
pub mod start;
mod state;
pub mod takeback;
pub mod trail;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use jiff::civil::Date;

use crate::near;
use crate::render::safe::safe;
use crate::render::text::folded;
use crate::shell::git::GitError;
use crate::shell::{disk, terminal};

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Nothing stands at error level: exit code 0.
    Clean,
    /// Conflicts: exit code 1.
    Conflicts,
}

/// Keeps the record of a car built out of several donors: checks it, explains it, shares it.
///
/// Exit code 0: nothing at error level. 1: conflicts. 2: it could not run.
#[derive(Debug, Parser)]
#[command(name = "matchmark", version, max_term_width = 80)]
pub struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Start(start::Start),
    Check(check::Check),
    Changes(changes::Changes),
    Allot(allot::Allot),
    Identify(Box<identify::Identify>),
    List(list::List),
    Trail(trail::Trail),
    Sheet(sheet::Sheet),
    Handover(handover::Handover),
    Takeback(takeback::Takeback),
    Merge(merge::Merge),
    Reckon(reckon::Reckon),
    Explain(explain::Explain),
    Guard(guard::Guard),
    Demo(demo::Demo),
    #[command(hide = true)]
    Draft(draft::Draft),
    #[command(hide = true)]
    Lines(lines::Lines),
}

impl Command {
    fn run(&self) -> anyhow::Result<Outcome> {
        match self {
            Command::Start(command) => command.run(),
            Command::Check(command) => command.run(),
            Command::Changes(command) => command.run(),
            Command::Allot(command) => command.run(),
            Command::Identify(command) => command.run(),
            Command::List(command) => command.run(),
            Command::Trail(command) => command.run(),
            Command::Sheet(command) => command.run(),
            Command::Handover(command) => command.run(),
            Command::Takeback(command) => command.run(),
            Command::Merge(command) => command.run(),
            Command::Reckon(command) => command.run(),
            Command::Explain(command) => command.run(),
            Command::Guard(command) => command.run(),
            Command::Demo(command) => command.run(),
            Command::Draft(command) => command.run(),
            Command::Lines(command) => command.run(),
        }
    }
}

/// Runs the command that was typed.
#[must_use]
pub fn main() -> ExitCode {
    let outcome = Cli::parse().command.run();
    match outcome {
        Ok(Outcome::Clean) => ExitCode::SUCCESS,
        Ok(Outcome::Conflicts) => ExitCode::from(1),
        Err(error) => {
            // A line break in a name would begin a line that is not ours.
            let line = |text: String| safe(&text).replace('\n', " ");
            let mut text = format!("matchmark: {}\n", line(error.to_string()));
            for cause in error.chain().skip(1) {
                text.push_str(&format!("    to do: {}\n", line(cause.to_string())));
            }
            if let Some(error) = error.downcast_ref::<GitError>() {
                text.push_str(&format!("    to do: {}\n", error.remedy()));
            }
            terminal::complain(&text);
            ExitCode::from(2)
        }
    }
}

/// The build folder that is meant, or what to do where there is none.
fn build_folder(named: Option<&Path>) -> anyhow::Result<PathBuf> {
    disk::build_folder(named).map_err(|error| {
        anyhow::anyhow!(
            "name a build folder, begin one with `matchmark start DIR`, or see `matchmark demo DIR`"
        )
        .context(error)
    })
}

/// Says that what was worked out is not whole, where it is not.
fn complain_of(what: &str, left_out: &[String]) {
    if left_out.is_empty() {
        return;
    }
    let files: Vec<&str> = left_out.iter().map(String::as_str).collect();
    let text = format!(
        "matchmark: the {what} is not whole: not all of {} can be read\n    \
         to do: `matchmark check` says why\n",
        safe(&near::listed(&files)).replace('\n', " ")
    );
    terminal::complain(&fitted(text));
}

/// Lines as a terminal holds them; in a file or a pipe they stay as they are.
fn fitted(text: String) -> String {
    match terminal::width() {
        Some(width) => folded(&text, width),
        None => text,
    }
}

/// A day as it was typed.
fn day(written: Option<&str>) -> anyhow::Result<Option<Date>> {
    let Some(written) = written else {
        return Ok(None);
    };
    let day = written.parse().map_err(|_| {
        anyhow::anyhow!("write year-month-day, as in `--as-of 2026-03-01`")
            .context(format!("`{written}` is no day in the calendar"))
    })?;
    Ok(Some(day))
}
