//! `matchmark draft`, which git's hook calls before a message is written.

use std::path::PathBuf;

use clap::Args;

use super::Outcome;
use crate::changes::records::{Held, Readings, beside};
use crate::changes::{compare, tell::tell};
use crate::model::Kind;
use crate::model::build::Message;
use crate::render::draft::{Habits, Part, drafted, is_empty};
use crate::render::safe::safe;
use crate::shell::git::Repo;
use crate::shell::history::TreeAt;
use crate::shell::{message, terminal};

/// Draft the message of a commit from what is staged, where there is none yet
///
/// What git's hook calls. It stops no commit: what goes wrong is said.
#[derive(Debug, Args)]
pub struct Draft {
    /// The number of the process of `git commit`
    #[arg(long)]
    commit_by: Option<u32>,
    /// The file that the message stands in
    file: PathBuf,
}

impl Draft {
    /// Drafts it, if there is something to say.
    ///
    /// # Errors
    /// Never: a commit is not to fail for want of a draft.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        if let Err(error) = self.draft() {
            let why = safe(&error.to_string()).replace('\n', " ");
            terminal::complain(&format!("matchmark: no message is drafted: {why}\n"));
        }
        Ok(Outcome::Clean)
    }

    fn draft(&self) -> anyhow::Result<()> {
        let repo = Repo::open(None)?;
        let (comment, strips) = message::habits(&repo, self.commit_by);
        let habits = Habits { comment, strips };
        let Some(text) = message::read(&repo, &self.file)? else {
            anyhow::bail!("it is not written in UTF-8 here");
        };
        if is_empty(&text, &habits)
            && let Some(text) = drafted(&text, &parts(&repo)?, &habits)
        {
            message::write(&self.file, &text)?;
        }
        Ok(())
    }
}

/// What is staged, a build each.
fn parts(repo: &Repo) -> anyhow::Result<Vec<Part>> {
    let tree = repo.index_tree()?;
    let head = repo.head();
    let mut readings = Readings::default();
    let mut parts = Vec::new();
    for build in repo.build_files(&tree)? {
        let (folder, file) = build;
        let held = Held::read(&file.path, Kind::Build, file.content);
        let at = |tree: &str| TreeAt {
            tree: tree.to_owned(),
            prefix: folder.clone(),
        };
        let since = head.as_ref().map(|head| at(&head.tree));
        let differing = repo.differing(since.as_ref(), Some(&at(&tree)), &mut readings)?;
        let beside = beside(&differing.since, &differing.until);
        let changes = compare(&beside.since, &beside.until);
        parts.push(Part {
            told: tell(&changes),
            changes,
            uncompared: beside.uncompared,
            wants: wants(&held),
            folder,
        });
    }
    Ok(parts)
}

/// What a build's own file says; the usual where it says nothing that can be read.
fn wants(held: &Held) -> Message {
    let said = held.get("build").and_then(|build| build.get("message"));
    let said = said.and_then(|said| serde_json::from_value(said.clone()).ok());
    said.unwrap_or(Message::Comments)
}
