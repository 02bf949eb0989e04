//! Sessions as JSON, for programs (`schema/sessions.json`).

use schemars::JsonSchema;
use serde::Serialize;

use super::changes::written;
use super::safe::safe_json;
use crate::report::sessions::Row;

/// The sessions of a build.
#[derive(Serialize, JsonSchema)]
pub struct Report<'a> {
    /// The sessions, oldest first.
    sessions: Vec<One<'a>>,
}

/// A session: a run of commits of the main line with no long break between them.
#[derive(Serialize, JsonSchema)]
struct One<'a> {
    /// Its number, counted from the first session that this clone knows.
    number: usize,
    /// When its first commit was written, with the offset of the clock there (RFC 3339).
    from: Option<String>,
    /// The same of its last commit.
    to: Option<String>,
    /// Who made its commits; who made most comes first.
    who: Vec<Who<'a>>,
    /// How many commits it has, those that merges brought in among them.
    commits: usize,
    /// The commit of the main line before its first; null if there is none.
    before: Option<&'a str>,
    /// Its first commit on the main line.
    first: &'a str,
    /// Its last commit.
    last: &'a str,
    /// What happened, in a line; empty if no record changed.
    what: &'a str,
    /// Whether the history is cut off before it, as in a shallow clone.
    cut_off: bool,
}

/// Somebody who made commits.
#[derive(Serialize, JsonSchema)]
struct Who<'a> {
    /// The name, as git knows it.
    name: &'a str,
    /// How many.
    commits: usize,
}

/// The sessions as one JSON object, with a newline at its end.
#[must_use]
pub fn json(rows: &[Row]) -> String {
    let sessions = rows.iter().map(|row| {
        let session = &row.session;
        let who = session.who.iter();
        One {
            number: session.number,
            from: session.from.map(written),
            to: session.to.map(written),
            who: who
                .map(|(name, commits)| Who {
                    name,
                    commits: *commits,
                })
                .collect(),
            commits: session.commits.len(),
            before: session.before.as_deref(),
            first: &session.first,
            last: &session.last,
            what: &row.what,
            cut_off: row.cut_off,
        }
    });
    let report = Report {
        sessions: sessions.collect(),
    };
    let text = serde_json::to_string_pretty(&report).unwrap_or_default();
    safe_json(&text) + "\n"
}
