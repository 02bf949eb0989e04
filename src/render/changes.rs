//! What changed between two states as JSON, for programs (`schema/changes.json`).

use jiff::tz::Offset;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use super::json::One;
use super::safe::safe_json;
use crate::changes::diff::{Diff, Edit};
use crate::changes::report::{self, Moment, Side};
use crate::changes::tell::Told;
use crate::changes::{Name, RecordChange};
use crate::report::page::Line;

/// What changed between two states of a build.
///
/// A state of a build is its records: what each holds under its name, whichever file it
/// stands in. `records` says all that differs between the two. To make the later state of
/// the earlier one, first take the old value of every entry out of it: that of `was` if
/// that is given, else that of `record`; there is none if `change` is `new`. Then take the
/// `edits` of each entry one after another, as RFC 6902 has it, on the value taken out for it
/// (on nothing, if it is `new`), and put what comes out under `record`; if `change` is
/// `gone`, nothing comes out. All are taken out first because two records may have
/// changed names with each other. The order of a record's keys says nothing.
#[derive(Serialize, JsonSchema)]
pub struct Report<'a> {
    /// The earlier state.
    since: State<'a>,
    /// The later state.
    until: State<'a>,
    /// Why these two are compared, where that is not plain; null else.
    remark: Option<&'a str>,
    /// What lies between the two; null where nobody counted it.
    between: Option<Between>,
    /// The records that differ, by their names.
    records: Vec<Record>,
    /// The same in words of the build, by topic and weight.
    told: Vec<Said<'a>>,
    /// Files of the build that hold no records, as pictures, by their paths.
    files: Vec<File<'a>>,
    /// What could not be compared: its records are in neither state here.
    not_compared: Vec<NotCompared<'a>>,
    /// Conflicts, as `matchmark check` finds them.
    conflicts: Conflicts<'a>,
    /// How far the build has come, what did not move among it.
    progress: Vec<Measure<'a>>,
}

/// One of the two states.
#[derive(Serialize, JsonSchema)]
#[serde(tag = "state", rename_all = "lowercase")]
enum State<'a> {
    /// Nothing at all, as before the first commit.
    Nothing,
    /// A commit.
    Commit {
        /// Its name in full.
        commit: &'a str,
        /// The first line of its message.
        title: &'a str,
        /// Who made it.
        by: &'a str,
        /// When it was made, with the offset of the clock there (RFC 3339).
        when: Option<String>,
    },
    /// What is staged.
    Staged,
    /// The working folder.
    Folder,
}

/// What lies between two states.
#[derive(Serialize, JsonSchema)]
struct Between {
    /// How many commits there are from the one to the other.
    commits: usize,
    /// How many sessions they come to.
    sessions: usize,
}

/// A record that differs.
#[derive(Serialize, JsonSchema)]
pub(super) struct Record {
    /// What it is called: kind, slash, id, as in `parts/injector`; `build` is
    /// `build.yaml`.
    record: String,
    /// What it was called, if that was another name.
    #[serde(skip_serializing_if = "Option::is_none")]
    was: Option<String>,
    /// What became of it.
    change: Change,
    /// The steps from its old value to its new one.
    edits: Vec<Step>,
}

/// What became of a record.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
enum Change {
    /// It was not there.
    New,
    /// It is there no more.
    Gone,
    /// It holds something else.
    Changed,
    /// It is called otherwise, and may hold something else as well.
    Renamed,
}

/// A step: an operation of RFC 6902. `was`, where it stands, is no part of that RFC.
#[derive(Serialize, JsonSchema)]
#[serde(tag = "op", rename_all = "lowercase")]
enum Step {
    /// Something new; at the path "" it is the whole record.
    Add {
        /// Where (RFC 6901).
        path: String,
        /// What.
        value: Value,
    },
    /// Something gone; at the path "" it is the whole record.
    Remove {
        /// Where (RFC 6901).
        path: String,
        /// What was there.
        was: Value,
    },
    /// Something else.
    Replace {
        /// Where (RFC 6901).
        path: String,
        /// What is there now.
        value: Value,
        /// What was there.
        was: Value,
    },
    /// The same at another path, as a piece whose mark changed.
    Move {
        /// Where it is now (RFC 6901).
        path: String,
        /// Where it was (RFC 6901).
        from: String,
    },
}

/// One thing that is told.
#[derive(Serialize, JsonSchema)]
pub(super) struct Said<'a> {
    /// What was done, in a settled word or two.
    deed: &'a str,
    /// The heading that it stands under.
    topic: &'a str,
    /// What it is about, as a reference calls it at the bench: `injector/P1`.
    about: &'a str,
    /// The rest of the sentence.
    says: &'a str,
    /// The day it was done, where the record has one.
    when: Option<&'a str>,
    /// The record whose change it tells, as it is called in `records`; null where it
    /// follows from several.
    record: Option<String>,
    /// The difference of a long text, line by line.
    lines: Vec<TextLine<'a>>,
}

/// A line of a text.
#[derive(Serialize, JsonSchema)]
struct TextLine<'a> {
    /// What became of it.
    line: Became,
    /// The line.
    text: &'a str,
}

/// What became of a line.
#[derive(Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
enum Became {
    /// It stayed.
    Kept,
    /// It is gone.
    Gone,
    /// It is new.
    New,
}

/// A file that holds no records.
#[derive(Serialize, JsonSchema)]
struct File<'a> {
    /// From the build folder, with `/` on every system.
    file: &'a str,
    /// Git's name for what it held; null if it is new.
    was: Option<&'a str>,
    /// Git's name for what it holds; null if it is gone.
    is: Option<&'a str>,
}

/// What could not be compared.
#[derive(Serialize, JsonSchema)]
struct NotCompared<'a> {
    /// The file, from the build folder.
    file: &'a str,
    /// Why not.
    why: &'a str,
}

/// Conflicts that came and went.
#[derive(Serialize, JsonSchema)]
struct Conflicts<'a> {
    /// Those that are there now and were not.
    opened: Vec<One<'a>>,
    /// Those that are there no more, or are settled now.
    cleared: Vec<Cleared<'a>>,
}

/// A conflict that is no more.
#[derive(Serialize, JsonSchema)]
struct Cleared<'a> {
    /// It, as it was.
    finding: One<'a>,
    /// The decision that settles it now, as `decisions/ID`; null if none does.
    settled_by: Option<&'a str>,
    /// What else cleared it, in words; empty where nothing tells.
    by: &'a [String],
}

/// One measure of how far the build has come.
#[derive(Serialize, JsonSchema)]
struct Measure<'a> {
    /// What is counted.
    what: &'a str,
    /// Before.
    before: &'a str,
    /// After.
    after: &'a str,
}

/// What changed as one JSON object, with a newline at its end.
#[must_use]
pub fn json(report: &report::Report) -> String {
    let whole = Report {
        since: state(&report.since),
        until: state(&report.until),
        remark: report.remark.as_deref(),
        between: report.between.map(|between| Between {
            commits: between.commits,
            sessions: between.sessions,
        }),
        records: report.changes.iter().map(record).collect(),
        told: report
            .told
            .iter()
            .map(|told| said(told, &report.changes))
            .collect(),
        files: report
            .files
            .iter()
            .map(|file| File {
                file: &file.path,
                was: file.was.as_deref(),
                is: file.is.as_deref(),
            })
            .collect(),
        not_compared: report
            .uncompared
            .iter()
            .map(|one| NotCompared {
                file: &one.file,
                why: &one.why,
            })
            .collect(),
        conflicts: Conflicts {
            opened: report.opened.iter().map(One::of).collect(),
            cleared: report
                .cleared
                .iter()
                .map(|cleared| Cleared {
                    finding: One::of(&cleared.finding),
                    settled_by: cleared.settled_by.as_deref(),
                    by: &cleared.by,
                })
                .collect(),
        },
        progress: report
            .progress
            .iter()
            .map(|one| Measure {
                what: &one.what,
                before: &one.before,
                after: &one.after,
            })
            .collect(),
    };
    let text = serde_json::to_string_pretty(&whole).unwrap_or_default();
    format!("{}\n", safe_json(&text))
}

fn state(side: &Side) -> State<'_> {
    match side {
        Side::Nothing => State::Nothing,
        Side::Staged => State::Staged,
        Side::Folder => State::Folder,
        Side::Commit {
            id,
            title,
            when,
            by,
        } => State::Commit {
            commit: id,
            title,
            by,
            when: when.map(written),
        },
    }
}

/// A point in time with the offset of the clock that it was read from.
pub(super) fn written(moment: Moment) -> String {
    let clock = Offset::UTC.to_timestamp(moment.local).ok();
    let ahead = clock.map(|clock| clock.as_second() - moment.at.as_second());
    let offset = ahead
        .and_then(|ahead| i32::try_from(ahead).ok())
        .and_then(|ahead| Offset::from_seconds(ahead).ok())
        .unwrap_or(Offset::UTC);
    moment.at.display_with_offset(offset).to_string()
}

pub(super) fn record(change: &RecordChange) -> Record {
    let was = change.was_id.as_ref().map(|id| {
        let was = Name {
            kind: change.name.kind,
            id: id.clone(),
        };
        was.to_string()
    });
    let became = match (&change.before, &change.after) {
        _ if was.is_some() => Change::Renamed,
        (None, _) => Change::New,
        (_, None) => Change::Gone,
        _ => Change::Changed,
    };
    let edits = change.diff.as_ref().map(Diff::edits).unwrap_or_default();
    Record {
        record: change.name.to_string(),
        was,
        change: became,
        edits: edits.into_iter().map(step).collect(),
    }
}

fn step(edit: Edit) -> Step {
    match edit {
        Edit::Add { path, value } => Step::Add { path, value },
        Edit::Remove { path, was } => Step::Remove { path, was },
        Edit::Replace { path, value, was } => Step::Replace { path, value, was },
        Edit::Move { path, from } => Step::Move { path, from },
    }
}

pub(super) fn said<'a>(told: &'a Told, changes: &[RecordChange]) -> Said<'a> {
    let lines = told.lines.iter().map(|line| {
        let (became, text) = match line {
            Line::Kept(text) => (Became::Kept, text),
            Line::Gone(text) => (Became::Gone, text),
            Line::New(text) => (Became::New, text),
        };
        TextLine { line: became, text }
    });
    let change = told.change.and_then(|number| changes.get(number));
    Said {
        deed: told.deed.word(),
        topic: told.deed.topic().head(),
        about: &told.about,
        says: &told.says,
        when: told.when.as_deref(),
        record: change.map(|change| change.name.to_string()),
        lines: lines.collect(),
    }
}
