//! The job sheet: a line for each job that is open or half done, with columns to be filled in.
//!
//! It comes back as they write it: with semicolons or tabs, quoted or not,
//! as UTF-16, with days in other forms. A day that could be two is a slip, never a guess. What
//! was printed into the sheet beforehand is not read back; what was filled in is.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::cells::{Cells, slip};
use super::rows::spreadsheet;
use crate::model::job::JobState;
use crate::near;
use crate::present::Worked;
use crate::reckon::quantity::Quantity;
use crate::reckon::unit::Unit;
use crate::report::handover::waits_for;
use crate::report::list::job_state;

pub use super::cells::Slip;

/// What came back on a job sheet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sheet {
    /// The jobs that something was filled in for, in the order of the sheet.
    pub lines: Vec<JobLine>,
    /// What can't be taken in, in the order of the sheet. Of such a line nothing is taken.
    pub slips: Vec<Slip>,
}

/// What was filled in for a job; none where the cell is blank.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct JobLine {
    /// The line of the file, from 1.
    pub line: usize,
    /// The job's id.
    pub job: String,
    /// How far it has come.
    pub state: Option<JobState>,
    /// What state things were left in.
    pub left_as: Option<String>,
    /// The day it was done.
    pub done: Option<Date>,
    /// The day it was worked on; with hours it or `done` is there.
    pub worked: Option<Date>,
    /// The time that was spent, as a record says it: `1.5 h`.
    pub spent: Option<String>,
    /// Who did it, by role.
    pub by: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

const STATES: [JobState; 5] = [
    JobState::Open,
    JobState::HalfDone,
    JobState::Waiting,
    JobState::Done,
    JobState::Dropped,
];

/// The columns: what each is called, and what its head says of how it is filled in. Those of
/// the first part are filled in beforehand.
const GIVEN: [&str; 6] = [
    "job",
    "what to do",
    "is now",
    "was left as",
    "waits for",
    "takes",
];
const FILLED: [(&str, &str); 7] = [
    ("state", "open / half done / waiting / done / dropped"),
    ("left as", "so that somebody else can go on"),
    ("done", "day as 2026-03-01"),
    ("worked", "day as 2026-03-01"),
    ("hours", "as 1.5"),
    ("by", "role"),
    ("note", "anything worth adding"),
];

/// The sheet as CSV, to be filled in.
#[must_use]
pub fn csv(worked: Worked<'_>) -> String {
    let mut heads: Vec<String> = GIVEN.map(str::to_owned).to_vec();
    heads.extend(FILLED.map(|(name, how)| format!("{name} ({how})")));
    let mut lines = vec![heads];
    let blank = || FILLED.map(|_| String::new());
    for (id, record) in &worked.folder.model.job {
        let job = &record.data;
        let state = job_state(job);
        if !matches!(state, JobState::Open | JobState::HalfDone) {
            continue;
        }
        let waits = waits_for(worked, job).join("; ");
        let takes = job.takes.as_ref().map_or("", |takes| takes.as_str());
        let given = [
            id.as_str(),
            job.does.as_deref().unwrap_or_default(),
            state.word(),
            job.left_as.as_deref().unwrap_or_default(),
            &waits,
            takes,
        ];
        lines.push(
            given
                .map(str::to_owned)
                .into_iter()
                .chain(blank())
                .collect(),
        );
    }
    spreadsheet(&lines)
}

impl Sheet {
    /// Reads a sheet that came back, as any spreadsheet program writes it.
    ///
    /// # Errors
    /// When it is no job sheet at all.
    pub fn read(bytes: &[u8]) -> Result<Self, Slip> {
        let mut sheet = Self::default();
        let mut columns: Option<Vec<Column>> = None;
        let mut jobs = BTreeSet::new();
        Cells::of(bytes)?.rows(|line, cells| {
            let Some(columns) = &columns else {
                columns = Some(columns_of(line, cells)?);
                return Ok(());
            };
            match job_line(line, columns, cells) {
                Ok(Some(read)) if !jobs.insert(read.job.clone()) => {
                    let what = format!("`{}` stands on two lines", read.job);
                    sheet.slips.push(slip(line, what, "put both into one line"));
                }
                Ok(Some(read)) => sheet.lines.push(read),
                Ok(None) => {}
                Err(slip) => sheet.slips.push(slip),
            }
            Ok(())
        })?;
        match columns {
            Some(_) => Ok(sheet),
            None => Err(slip(
                1,
                "it is empty".to_owned(),
                "hand back the sheet that was filled in",
            )),
        }
    }
}

/// What a column of a sheet is.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Column {
    Job,
    Given,
    Filled(&'static str),
    Unknown(String),
}

fn columns_of(line: usize, heads: &[&str]) -> Result<Vec<Column>, Slip> {
    let column = |head: &&str| {
        let name = head.split('(').next().unwrap_or_default();
        let name = name.trim().to_lowercase();
        let filled = FILLED.iter().find(|(known, _)| *known == name);
        match filled {
            Some((known, _)) => Column::Filled(known),
            None if name == GIVEN[0] => Column::Job,
            None if name.is_empty() || GIVEN.contains(&name.as_str()) => Column::Given,
            None => Column::Unknown((*head).to_owned()),
        }
    };
    let columns: Vec<Column> = heads.iter().map(column).collect();
    let twice = |(at, column): (usize, &Column)| {
        matches!(column, Column::Filled(_)) && columns[..at].contains(column)
    };
    let filled = columns
        .iter()
        .any(|column| matches!(column, Column::Filled(_)));
    if !columns.contains(&Column::Job) || !filled {
        let what = "its first line has not the columns of a job sheet".to_owned();
        return Err(slip(
            line,
            what,
            "leave the first line as it was handed out",
        ));
    }
    if columns.iter().enumerate().any(twice) {
        let what = "a column stands there twice".to_owned();
        return Err(slip(
            line,
            what,
            "leave the first line as it was handed out",
        ));
    }
    Ok(columns)
}

fn job_line(line: usize, columns: &[Column], cells: &[&str]) -> Result<Option<JobLine>, Slip> {
    let mut read = JobLine {
        line,
        ..JobLine::default()
    };
    let mut is_blank = true;
    for (number, text) in cells.iter().enumerate() {
        let column = columns.get(number);
        if text.is_empty() || column == Some(&Column::Given) {
            continue;
        }
        let text = (*text).to_owned();
        match column {
            Some(Column::Job) => read.job = text,
            Some(Column::Filled(name)) => {
                is_blank = false;
                fill(&mut read, name, text).map_err(|(what, remedy)| Slip {
                    line,
                    what,
                    remedy,
                })?;
            }
            Some(Column::Unknown(head)) => {
                let what = format!("the column `{head}` is none of a job sheet");
                return Err(slip(line, what, "put it under `note`"));
            }
            _ => {
                let what = format!("`{text}` stands beside the sheet");
                return Err(slip(line, what, "put it under `note`"));
            }
        }
    }
    if is_blank {
        return Ok(None);
    }
    if read.job.is_empty() {
        let what = "it does not say for which job".to_owned();
        return Err(slip(line, what, "write the job's id in the first column"));
    }
    if read.spent.is_some() && read.done.is_none() && read.worked.is_none() {
        let what = "the hours have no day".to_owned();
        return Err(slip(
            line,
            what,
            "write the day under `worked`, as 2026-03-01",
        ));
    }
    Ok(Some(read))
}

/// What is wrong, and what to do.
type Wrong = (String, String);

fn fill(read: &mut JobLine, name: &str, text: String) -> Result<(), Wrong> {
    match name {
        "state" => read.state = Some(state(&text)?),
        "left as" => read.left_as = Some(text),
        "done" => read.done = Some(day(&text)?),
        "worked" => read.worked = Some(day(&text)?),
        "hours" => read.spent = Some(hours(&text)?),
        "by" => read.by = Some(text),
        _ => read.note = Some(text),
    }
    Ok(())
}

fn state(text: &str) -> Result<JobState, Wrong> {
    let plain = text.to_lowercase().replace(['-', '_'], " ");
    let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    let found = STATES.into_iter().find(|state| state.word() == plain);
    found.ok_or_else(|| {
        let words = STATES.map(JobState::word);
        (
            format!("`{text}` is no state of a job"),
            near::write_one_of(&plain, &words),
        )
    })
}

/// A day as a record says it, or as a spreadsheet program writes it.
fn day(text: &str) -> Result<Date, Wrong> {
    let wrong = |why: &str| {
        (
            format!("`{text}` {why}"),
            "write year, month and day, as 2026-03-01".to_owned(),
        )
    };
    // Midnight is added by some.
    let midnight = ["T00:00:00", " 00:00:00", " 00:00"];
    let bare = midnight.iter().find_map(|time| text.strip_suffix(time));
    let bare = bare.unwrap_or(text);
    let parts: Vec<&str> = bare
        .split(['-', '/', '.', ' '])
        .filter(|part| !part.is_empty())
        .collect();
    let &[first, second, third] = parts.as_slice() else {
        return Err(wrong("is no day"));
    };
    let number = |part: &str| -> Option<i16> {
        let digits = part.bytes().all(|byte| byte.is_ascii_digit());
        (digits && part.len() <= 4).then(|| part.parse().ok())?
    };
    let is_year = |part: &str| part.len() == 4 && number(part).is_some();
    let made = |year: &str, month: i16, day: &str| {
        let month = i8::try_from(month).ok()?;
        let day = i8::try_from(number(day)?).ok()?;
        Date::new(number(year)?, month, day).ok()
    };
    let found = if is_year(first) {
        number(second).and_then(|month| made(first, month, third))
    } else if !is_year(third) {
        return Err(wrong("has no year of four figures"));
    } else if let Some(month) = month(second) {
        made(third, month, first)
    } else if bare.contains('.') {
        number(second).and_then(|month| made(third, month, first))
    } else {
        // Day and month, or month and day: only where one of them can't be a month.
        let one = number(second).and_then(|month| made(third, month, first));
        let other = number(first).and_then(|month| made(third, month, second));
        match (one, other) {
            (Some(one), Some(other)) if one != other => {
                return Err(wrong(&format!("may be {one} or {other}")));
            }
            (one, other) => one.or(other),
        }
    };
    found.ok_or_else(|| wrong("is no day of the calendar"))
}

/// A month by its English name or its first three letters.
fn month(text: &str) -> Option<i16> {
    const MONTHS: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let text = text.to_lowercase();
    let is = |month: &str| month == text || (text.len() == 3 && month.starts_with(&text));
    let found = MONTHS.iter().position(|month| is(month))?;
    i16::try_from(found + 1).ok()
}

/// A time as a record says it: a figure alone is hours.
fn hours(text: &str) -> Result<String, Wrong> {
    let wrong = || {
        (
            format!("`{text}` is no time that somebody worked"),
            "write hours, as 1.5".to_owned(),
        )
    };
    let figure = text.replace(',', ".");
    if let Some((hours, minutes)) = figure.split_once(':') {
        let minutes = minutes.strip_suffix(":00").unwrap_or(minutes);
        let hours: u32 = hours.parse().map_err(|_| wrong())?;
        let minutes: u32 = minutes.parse().map_err(|_| wrong())?;
        return match (hours, minutes) {
            (0..=999, 0) => Ok(format!("{hours} h")),
            (0, 1..=59) => Ok(format!("{minutes} min")),
            (0..=999, 1..=59) => Ok(format!("{} min", hours * 60 + minutes)),
            _ => Err(wrong()),
        };
    }
    let is_bare = figure
        .bytes()
        .all(|byte| byte.is_ascii_digit() || byte == b'.');
    let figure = if is_bare {
        format!("{figure} h")
    } else {
        figure
    };
    let quantity = Quantity::parse(&figure).map_err(|_| wrong())?;
    let second = Unit::read("s").map_err(|_| wrong())?;
    match quantity.low().in_unit(second) {
        Some(seconds) if seconds > 0.0 => Ok(figure),
        _ => Err(wrong()),
    }
}
