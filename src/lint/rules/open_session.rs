//! # open-session
//!
//! Records of an earlier session are not committed.
//!
//! What was written down and not committed is in no history: the next visit can't
//! tell what is new, and a helper does not get it. A session ends after a break as
//! long as `session-gap` in build.yaml, or 8 hours.
//!
//! ## Wrong
//!
//! ```yaml facts
//! as-of: 2026-03-02
//! uncommitted:
//!   - {file: parts/all.yaml, age: 3 days}
//!   - {file: jobs/all.yaml, age: 50 h}
//!   - {file: donors/all.yaml, age: 1 h}
//! ```
//!
//! ```text
//! parts/all.yaml:1:1: note: written 3 days ago and not committed since, like 1 other file [open-session]
//!     jobs/all.yaml:1:1: written 50 h ago
//!     to do: commit what is true: `git add -A`, then `git commit`
//! ```
//!
//! ## Right
//!
//! ```yaml facts
//! as-of: 2026-03-02
//! uncommitted: [{file: parts/all.yaml, age: 5 h}]
//! ```
//!
//! ```yaml parts/all.yaml
//! injector: {name: Injector}
//! ```

use std::cmp::Ordering;

use crate::finding::{Finding, Level};
use crate::folder::Folder;
use crate::lint::{Context, Rule};

/// The rule.
pub const RULE: Rule = Rule {
    name: "open-session",
    level: Level::Note,
    firm: false,
    last: false,
    find,
    file: "",
};

/// How many of the other files are named.
const SHOWN: usize = 4;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    // A gap that can't be read is told by `bad-quantity`.
    let Ok(gap) = cx.folder.model.build.gap() else {
        return;
    };
    let mut left = cx.facts.uncommitted.iter().filter(|file| {
        let age = file.age.quantity();
        age.is_ok_and(|age| age.low().compare(&gap.low()) == Some(Ordering::Greater))
    });
    let Some(first) = left.next() else { return };
    let others: Vec<_> = left.collect();
    let like = match others.len() {
        0 => String::new(),
        1 => ", like 1 other file".to_owned(),
        number => format!(", like {number} other files"),
    };
    let mut finding = cx.finding_at(
        Folder::top_of(&first.file),
        format!(
            "written {} ago and not committed since{like}",
            first.age.as_str()
        ),
        "commit what is true: `git add -A`, then `git commit`".to_owned(),
    );
    for other in others.iter().take(SHOWN) {
        let when = format!("written {} ago", other.age.as_str());
        finding = finding.see(Folder::top_of(&other.file), when);
    }
    findings.push(finding);
}
