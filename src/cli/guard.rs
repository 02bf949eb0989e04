//! `matchmark guard`.

use std::path::{Path, PathBuf};

use clap::Args;

use super::Outcome;
use crate::lint::rules::synced_repository;
use crate::render::safe::safe;
use crate::render::text::number;
use crate::shell::driver::{self, Does, Drivers, Left};
use crate::shell::git::Repo;
use crate::shell::hooks::{self, Came, Hook, Hooks};
use crate::shell::{synced, terminal};

/// Put the hooks in force that check each commit, in this clone
///
/// A clone brings no hooks along, so each needs this once. In a bare repository, one
/// that people push to, what is pushed is checked instead. Hooks that are there already
/// are kept, and called first. One of them drafts a message where none is given; what
/// `git diff` shows is headed by kind, record and field, and files of records are merged
/// by record and by field, in this clone.
#[derive(Debug, Args)]
pub struct Guard {
    /// The clone [default: the one that the working folder lies in]
    folder: Option<PathBuf>,
    /// Take out what this put in
    #[arg(long)]
    remove: bool,
}

impl Guard {
    /// Puts the hooks in or takes them out, and says what is in force.
    ///
    /// # Errors
    /// When there is no repository, or no git to ask.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let folder = self.folder.as_deref().unwrap_or(Path::new("."));
        let repo = Repo::open(Some(folder))?;
        let (hooks, drivers) = if self.remove {
            repo.forget_checked();
            let hooks = hooks::remove(&repo)?;
            (hooks, driver::remove(&repo)?)
        } else {
            repo.drop_readings();
            in_force(&repo)?
        };
        let said = told(&hooks, &drivers, self.remove) + &where_it_lies(&repo);
        terminal::print(&super::fitted(safe(&said)))?;
        let left = |hook: &Hook| matches!(hook.came, Came::Left(..));
        // Which driver shows or merges a file is a matter of taste; which hooks run is not.
        if hooks.hooks.iter().any(left) {
            anyhow::bail!("not all is as it was asked for");
        }
        if !self.remove && !hooks.bare {
            terminal::print(&begin(&repo))?;
        }
        Ok(Outcome::Clean)
    }
}

/// Puts the hooks in force in a build folder, for a command that lays one out.
pub(super) fn put_in_force(folder: &Path) -> anyhow::Result<String> {
    let repo = Repo::open(Some(folder))?;
    let (hooks, drivers) = in_force(&repo)?;
    let told = told(&hooks, &drivers, false) + &where_it_lies(&repo);
    begin(&repo);
    Ok(told)
}

/// Puts all in force. In a bare repository nobody looks at records.
fn in_force(repo: &Repo) -> anyhow::Result<(Hooks, Drivers)> {
    let hooks = hooks::put(repo)?;
    let drivers = match hooks.bare {
        true => Drivers::default(),
        false => driver::put(repo)?,
    };
    Ok((hooks, drivers))
}

/// Remembers that the history is guarded from here on; says what lies before.
fn begin(repo: &Repo) -> String {
    let Some(head) = repo.head() else {
        repo.set_guarded_from_the_first();
        return String::new();
    };
    if repo.checked().is_some() || repo.guarded_from_the_first() {
        return String::new();
    }
    repo.set_checked(&head);
    "\nThe commits up to now are taken as they are; this checks them all once:\n    \
     matchmark check --history=all\n"
        .to_owned()
}

/// What there is to say of the place that the repository lies at.
fn where_it_lies(repo: &Repo) -> String {
    let told = synced_repository::told(&synced::look(repo));
    let lines = told
        .iter()
        .map(|(message, to_do)| format!("\nwarning: {message}\n    to do: {to_do}\n"));
    lines.collect()
}

/// What is in force and what is not, why, and what to type.
fn told(hooks: &Hooks, drivers: &Drivers, remove: bool) -> String {
    let mut said = format!(
        "{} in {}\n",
        if hooks.bare {
            "hook for what is pushed here,"
        } else {
            "hooks for what is committed here,"
        },
        hooks.folder.display()
    );
    let mut rest = hooks.hooks.as_slice();
    while let Some(first) = rest.first() {
        // What came of several alike is told once.
        let alike = rest.iter().take_while(|hook| hook.came == first.came);
        let names: Vec<&str> = alike.map(|hook| hook.name).collect();
        rest = &rest[names.len()..];
        let kept: Vec<String> = names.iter().map(|name| format!("{name}.kept")).collect();
        let before: Vec<String> = names.iter().map(|name| format!("{name}.before")).collect();
        let (name, kept, before) = (names.join(", "), kept.join(", "), before.join(", "));
        let line = match &first.came {
            Came::InForce { with_kept: false } => "in force".to_owned(),
            Came::InForce { with_kept: true } => {
                format!("in force; what was there is called first, by the name {kept}")
            }
            Came::Renewed => {
                format!("in force; what somebody had made of it is {before}, and is not called")
            }
            Came::Out { back: false } => "taken out".to_owned(),
            Came::Out { back: true } => "taken out; what was there before is back".to_owned(),
            Came::WasOut => "was not in force".to_owned(),
            Came::Left(why, to_do) => {
                format!("left alone: {why}\n        to do: {to_do}")
            }
        };
        said.push_str(&format!("    {name}: {line}\n"));
    }
    let put = |hook: &Hook| matches!(hook.came, Came::InForce { .. } | Came::Renewed);
    if hooks.in_work_tree && hooks.hooks.iter().any(put) {
        said.push_str(
            "    this folder is part of the work tree: don't commit what was put there\n",
        );
    }
    if !hooks.bare {
        said.push_str(&told_of(drivers, remove));
    }
    said
}

/// The same of what git does with record files.
fn told_of(drivers: &Drivers, remove: bool) -> String {
    let mut said = String::new();
    for does in Does::ALL {
        let what = match does {
            Does::Shows => "names of records in what `git diff` shows",
            Does::Merges => "merges by record and by field",
        };
        let left = |left: &Left| left.of.is_none_or(|of| of == does);
        let came = match (remove, drivers.was_there) {
            (true, true) => "taken out",
            (true, false) => "were not in force",
            (false, _) if !drivers.left.iter().any(left) => "in force",
            (false, _) => "in force where nothing else is set",
        };
        said.push_str(&format!("{what}: {came}\n"));
    }
    if drivers.lines > 0 {
        let lines = number(drivers.lines, "line");
        said.push_str(&match remove {
            true => format!("    info/attributes: {lines} taken out\n"),
            false => format!("    info/attributes: {lines} added, for what .gitattributes lacks\n"),
        });
    }
    for Left {
        what, why, to_do, ..
    } in &drivers.left
    {
        said.push_str(&format!(
            "    {what}: left alone: {why}\n        to do: {to_do}\n"
        ));
    }
    said
}
