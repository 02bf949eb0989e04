//! # synced-repository
//!
//! The repository lies in a folder that a cloud service carries between computers.
//!
//! Records may lie there; git's own files may not. Such a service carries files
//! one by one and in any order: a branch arrives before the commit that it names,
//! and where two computers wrote at once it keeps one file and a copy of the
//! other. Then evenings are gone, often without a word, until somebody looks for
//! them.
//!
//! Share the build by a bare repository that everybody pushes to, on a computer
//! that all reach, a network drive or a stick, and keep each clone in a folder
//! that nothing carries away. The README shows it.
//!
//! It is told by what the usual services leave in the folders above, and by copies
//! that they made of git's files.
//!
//! ## Wrong
//!
//! ```yaml facts
//! as-of: 2026-03-02
//! synced:
//!   trace: .stfolder
//!   copies: [index (1), refs/heads/main 2]
//!   torn: [refs/heads/loom]
//! ```
//!
//! ```text
//! build.yaml:1:1: warning: `refs/heads/loom` of the repository has nothing in it: it came over in part [synced-repository]
//!     to do: `git fsck` says what is missing; take that from a clone that is whole, or from `git reflog`
//! build.yaml:1:1: warning: syncing left copies in the repository, as two computers wrote it at once: `index (1)`, `refs/heads/main 2` [synced-repository]
//!     to do: see with `git log --all` that no evening is missing, and with `git fsck` that all is there; then move the copies out of `.git`
//! build.yaml:1:1: warning: the repository lies in a folder that is synced between computers (`.stfolder` is there), which breaks repositories [synced-repository]
//!     to do: move the clone to a folder that is not, and share the build by a bare repository that everybody pushes to
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

use crate::finding::{Finding, Level};
use crate::folder::Folder;
use crate::lint::{Context, Rule, Synced};
use crate::near;

/// The rule.
pub const RULE: Rule = Rule {
    name: "synced-repository",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for (message, to_do) in told(&cx.facts.synced) {
        findings.push(cx.finding_at(Folder::top_of("build.yaml"), message, to_do));
    }
}

/// What is wrong with where a repository lies, and what to do.
#[must_use]
pub fn told(synced: &Synced) -> Vec<(String, String)> {
    let mut told = Vec::new();
    if let Some(trace) = &synced.trace {
        told.push((
            format!(
                "the repository lies in a folder that is synced between computers (`{trace}` \
                 is there), which breaks repositories"
            ),
            "move the clone to a folder that is not, and share the build by a bare repository \
             that everybody pushes to"
                .to_owned(),
        ));
    }
    let quoted = |files: &[String]| {
        let files: Vec<&str> = files.iter().map(String::as_str).collect();
        near::listed(&files)
    };
    if !synced.copies.is_empty() {
        let copies = quoted(&synced.copies);
        told.push((
            format!(
                "syncing left copies in the repository, as two computers wrote it at once: \
                 {copies}"
            ),
            "see with `git log --all` that no evening is missing, and with `git fsck` that all \
             is there; then move the copies out of `.git`"
                .to_owned(),
        ));
    }
    if !synced.torn.is_empty() {
        let (has, what, it) = match synced.torn.len() {
            1 => ("has", "it", "it"),
            _ => ("have", "them", "they"),
        };
        let torn = quoted(&synced.torn);
        told.push((
            format!("{torn} of the repository {has} nothing in {what}: {it} came over in part"),
            "`git fsck` says what is missing; take that from a clone that is whole, or from \
             `git reflog`"
                .to_owned(),
        ));
    }
    told
}
