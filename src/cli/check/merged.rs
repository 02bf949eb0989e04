//! What a merge that is to be committed lost of its sides.

use std::collections::BTreeSet;

use super::super::state::State;
use crate::changes::lost::{Did, Lost, lost};
use crate::changes::records::{Beside, Readings, beside};
use crate::render::safe::safe;
use crate::render::text::number;
use crate::shell::git::{GitError, Repo};
use crate::shell::history::TreeAt;
use crate::shell::terminal;

/// How many records are named; the others are counted.
const TOLD: usize = 10;

/// Says once what the merge that is staged lost; true if it said anything.
///
/// # Errors
/// When git can't read what its sides hold.
pub fn says(repo: &Repo, states: &[State]) -> Result<bool, GitError> {
    let sides = repo.parents_to_be(false);
    if sides.len() < 2 {
        return Ok(false);
    }
    let tree = repo.index_tree()?;
    let bases = repo.bases(&sides);
    let mut readings = Readings::default();
    let mut lines = Vec::new();
    for state in states {
        let at = |tree: &str| TreeAt {
            tree: tree.to_owned(),
            prefix: state.prefix.clone(),
        };
        let mut all: Option<BTreeSet<Lost>> = None;
        for base in &bases {
            let mut compared = |tree: &str| -> Result<Beside, GitError> {
                let differing =
                    repo.differing(Some(&at(&base.tree)), Some(&at(tree)), &mut readings)?;
                Ok(beside(&differing.since, &differing.until))
            };
            let came = compared(&tree)?;
            let each = sides.iter().map(|side| compared(&side.tree));
            let each: Vec<Beside> = each.collect::<Result<_, _>>()?;
            let one = lost(&each, &came);
            // Sides that crossed may have settled it when they met before.
            all = Some(match all {
                None => one,
                Some(all) => all
                    .into_iter()
                    .filter(|own| one.iter().any(|other| other.name == own.name))
                    .collect(),
            });
        }
        lines.extend(all.iter().flatten().map(|lost| line(&state.prefix, lost)));
    }
    let lines = repo.not_told(&sides, lines);
    if lines.is_empty() {
        return Ok(false);
    }
    let mut text = format!(
        "matchmark: the merge would lose what one side did to {}:\n",
        number(lines.len(), "record")
    );
    for line in lines.iter().take(TOLD) {
        text.push_str(&format!("    {line}\n"));
    }
    if lines.len() > TOLD {
        text.push_str(&format!("    and {} more\n", lines.len() - TOLD));
    }
    text.push_str(
        "    to do: do it again by hand, `git add` the file, and `git commit`;\n    \
         if it is right as it is, only `git commit`: this is said once\n",
    );
    terminal::complain(&text);
    Ok(true)
}

/// Told as clashes are: what is here, and what comes in from there.
fn line(prefix: &str, lost: &Lost) -> String {
    let side = match lost.side {
        0 => "here",
        _ => "there",
    };
    let how = match lost.did {
        Did::New => format!("new {side}, and not in the merge"),
        Did::Gone => format!("taken out {side}, and still in the merge"),
        Did::Changed => format!("changed {side}, and in the merge as it was before"),
    };
    safe(&format!("{prefix}{}: {how}", lost.name)).replace('\n', " ")
}
