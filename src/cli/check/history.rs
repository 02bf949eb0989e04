//! `matchmark check --history`: every commit that no hook saw.

use jiff::civil::Date;

use super::super::state::{self, State};
use crate::lint::Facts;
use crate::shell::git::Repo;
use crate::shell::{clock, terminal};

/// Checks the commits since one, remembers how far it came, and gives what is checked
/// out with what was found on the way there.
pub fn run(repo: &Repo, since: &str, as_of: Option<Date>) -> anyhow::Result<Vec<State>> {
    let head = repo.commit("HEAD")?;
    let from = match since {
        "all" => Vec::new(),
        "" => repo.checked().map(|commit| commit.id).into_iter().collect(),
        name => vec![repo.commit(name)?.id],
    };
    let commits = repo.between(&from, &head.id)?;
    let mut facts = Facts::on(as_of.or(head.day).unwrap_or_else(clock::today));
    let mut progress = terminal::Progress::of(commits.len(), "commit");
    for commit in &commits {
        facts.past_the_check.extend(state::errors_of(repo, commit));
        progress.step();
    }
    progress.end();
    let states = state::at_with(repo, &head, &facts)?;
    // What lies before the commit that was named is not looked at, and stays in sight.
    let reaches_back = match (repo.checked(), from.first()) {
        (Some(checked), Some(from)) => repo.between(&[checked.id], from)?.is_empty(),
        _ => true,
    };
    if reaches_back {
        repo.set_checked(&head);
    }
    Ok(states)
}
