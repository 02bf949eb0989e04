//! # never-checked
//!
//! A commit that no hook saw holds errors.
//!
//! Git asks no hook when it picks a commit from another branch, moves commits
//! onto another, or takes one back; and a folder that has just been cloned has no
//! hooks yet. So commits come in that nobody checked. What they hold may be mended
//! since; then this says only that the way there leads through a broken state.
//!
//! `matchmark check --history` looks at all commits since the last that is known to
//! be clean, and remembers how far it came.
//!
//! ## Wrong
//!
//! ```yaml facts
//! as-of: 2026-03-02
//! past-the-check:
//!   - commit: 4f0c2ab
//!     when: 2026-03-01
//!     title: Head on for good
//!     errors: 2
//!     first: "parts/all.yaml:4:17: there is no donor `pel-van`"
//! not-looked-at: 40
//! ```
//!
//! ```text
//! build.yaml:1:1: note: another 40 commits are not looked at here [never-checked]
//!     to do: look at them once with `matchmark check --history`
//! build.yaml:1:1: warning: no hook saw the commit 4f0c2ab of 2026-03-01, "Head on for good", and it holds 2 errors; the first is parts/all.yaml:4:17: there is no donor `pel-van` [never-checked]
//!     to do: mend what is still wrong; `matchmark check --at 4f0c2ab` shows it all
//! ```
//!
//! ## Right
//!
//! ```yaml facts
//! as-of: 2026-03-02
//! ```
//!
//! ```yaml donors/all.yaml
//! pell-van: {maker: Pell}
//! ```

use crate::finding::Level;
use crate::folder::Folder;
use crate::lint::{Context, Rule};

/// The rule.
pub const RULE: Rule = Rule {
    name: "never-checked",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<crate::finding::Finding>) {
    let place = || Folder::top_of("build.yaml");
    for commit in &cx.facts.past_the_check {
        let errors = match commit.errors {
            1 => "an error".to_owned(),
            number => format!("{number} errors; the first is"),
        };
        let joint = if commit.errors == 1 { ":" } else { "" };
        findings.push(cx.finding_at(
            place(),
            format!(
                "no hook saw the commit {} of {}, \"{}\", and it holds {errors}{joint} {}",
                commit.commit, commit.when, commit.title, commit.first
            ),
            format!(
                "mend what is still wrong; `matchmark check --at {}` shows it all",
                commit.commit
            ),
        ));
    }
    if cx.facts.not_looked_at > 0 {
        findings.push(
            cx.finding_at(
                place(),
                match cx.facts.not_looked_at {
                    1 => "another commit is not looked at here".to_owned(),
                    number => format!("another {number} commits are not looked at here"),
                },
                "look at them once with `matchmark check --history`".to_owned(),
            )
            .at_level(Level::Note),
        );
    }
}
