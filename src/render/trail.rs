//! One record's life as JSON, for programs (`schema/trail.json`).

use schemars::JsonSchema;
use serde::Serialize;

use super::changes::{Record, Said, record, said, written};
use super::safe::safe_json;
use crate::report::trail::{Life, Step};

/// One record's life, or that of something in it.
#[derive(Serialize, JsonSchema)]
pub struct Report<'a> {
    /// What it is about, as a reference calls it: `parts/injector/P1`.
    about: &'a str,
    /// What the record calls itself; null if it does not.
    name: Option<&'a str>,
    /// The file that it stands in, from the build folder; null if it is gone.
    file: Option<&'a str>,
    /// What became of it, oldest first.
    steps: Vec<One<'a>>,
    /// Whether the history is cut off before all this, as in a shallow clone.
    cut_off: bool,
    /// The commits in which its file can't be read.
    torn: &'a [String],
    /// Whether its file can't be read as it is now, so that it may be there.
    torn_now: bool,
}

/// What became of it in one commit.
#[derive(Serialize, JsonSchema)]
struct One<'a> {
    /// The commit's name in full; null for what is not committed.
    commit: Option<&'a str>,
    /// The first line of its message.
    title: Option<&'a str>,
    /// Who made it.
    by: Option<&'a str>,
    /// When it was written, with the offset of the clock there (RFC 3339).
    when: Option<String>,
    /// The number of its session, as `matchmark changes --sessions` counts them.
    session: Option<usize>,
    /// What changed; null if it only went to another file. Of something in a record, the
    /// record is shown with nothing else in it that differs.
    record: Option<Record>,
    /// The same in words of the build.
    told: Vec<Said<'a>>,
    /// The file that it went from and to; null if it stayed where it was.
    moved: Option<Moved<'a>>,
}

/// A way from one file to another.
#[derive(Serialize, JsonSchema)]
struct Moved<'a> {
    /// The file before.
    from: &'a str,
    /// The file after.
    to: &'a str,
}

/// A life as one JSON object, with a newline at its end.
#[must_use]
pub fn json(life: &Life) -> String {
    let report = Report {
        about: &life.about,
        name: life.name.as_deref(),
        file: life.file.as_deref(),
        steps: life.steps.iter().map(one).collect(),
        cut_off: life.cut_off,
        torn: &life.torn,
        torn_now: life.torn_now,
    };
    let text = serde_json::to_string_pretty(&report).unwrap_or_default();
    safe_json(&text) + "\n"
}

fn one(step: &Step) -> One<'_> {
    let commit = step.commit.as_ref();
    let changes = step.change.as_slice();
    One {
        commit: commit.map(|commit| commit.id.as_str()),
        title: commit.map(|commit| commit.title.as_str()),
        by: commit.map(|commit| commit.by.0.as_str()),
        when: commit.and_then(|commit| commit.written).map(written),
        session: step.session,
        record: step.change.as_ref().map(record),
        told: step.told.iter().map(|told| said(told, changes)).collect(),
        moved: step.moved.as_ref().map(|(from, to)| Moved { from, to }),
    }
}
