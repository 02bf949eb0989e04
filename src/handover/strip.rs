//! A record file without what is private in it, and not a byte besides.
//!
//! What is written beside a private value may well tell it: comments on its lines, straight
//! above it, and in the braces it stands in go with it, and so does every comment of the file
//! that says such a value again. What can't be taken out surely is an error, so that the
//! whole file is left out.

use std::collections::BTreeSet;
use std::ops::Range;

use serde_json::{Map, Value};

use super::private::{Private, Texts};
use crate::model::Kind;
use crate::source::Source;
use crate::yaml::blame::{line_end, line_start, next_line};
use crate::yaml::edit::{self, Edit};
use crate::yaml::{Node, NodeKind, Reading, Route, Step, read};

/// A file without what is private.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stripped {
    /// The text; the very same where nothing is private.
    pub text: String,
    /// What was taken out, in the order of the file.
    pub taken: Vec<Taken>,
    /// How many comments went with it.
    pub comments: usize,
}

/// Something that was taken out of a file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Taken {
    /// The way to it.
    pub way: Route,
    /// The record, with its kind in front: `donors/pell-van`; of `build.yaml` it is `build`.
    pub record: String,
    /// The field as a pattern calls it: `lines/price`; empty where the whole record went.
    pub field: String,
    /// The pattern that chose it.
    pub pattern: String,
}

/// A file that nothing can be taken out of surely.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{path}: what is private can't be taken out surely: {why}")]
pub struct NotStripped {
    /// The file.
    pub path: String,
    /// Why.
    pub why: String,
}

/// A file of records of one kind without what is private in it.
///
/// # Errors
/// When it can't be read, or is written in a way that nothing can be taken out of.
pub fn strip(kind: Kind, reading: &Reading, private: &Private) -> Result<Stripped, NotStripped> {
    let not = |why: String| NotStripped {
        path: reading.source.path.clone(),
        why,
    };
    if !reading.problems.is_empty() {
        return Err(not("the file can't be read".to_owned()));
    }
    let chosen = private.chosen(kind, reading);
    if chosen.is_empty() {
        return Ok(Stripped {
            text: reading.source.text.clone(),
            taken: Vec::new(),
            comments: 0,
        });
    }
    let taken: Vec<Taken> = chosen
        .into_iter()
        .map(|(way, pattern)| Taken::of(kind, way, pattern))
        .collect();
    let mut secrets = Texts::default();
    secrets.add(kind, reading, private);
    let comments = telling(reading, &taken, &secrets);
    let plain = read(Source::new(
        &*reading.source.path,
        without(&reading.source.text, &comments),
    ));
    let mut meant = json(reading);
    if !plain.problems.is_empty() || json(&plain) != meant {
        return Err(not("a comment in it can't be taken out".to_owned()));
    }
    for one in taken.iter().rev() {
        one.way.take_out_of(&mut meant);
    }
    let by_record = by_record(kind, &plain, &taken).filter(|text| says(&plain, text, &meant));
    let text = match by_record {
        Some(text) => text,
        None => edit::apply(&plain, &edits(taken.iter().map(|one| &one.way)))
            .map_err(|error| not(error.why.to_string()))?,
    };
    let after = read(Source::new(&*reading.source.path, &*text));
    if !says(&plain, &text, &meant) || !private.ways(kind, &after).is_empty() {
        return Err(not("a key may stand there twice".to_owned()));
    }
    Ok(Stripped {
        comments: reading.tree.comments.len() - after.tree.comments.len(),
        text,
        taken,
    })
}

impl Taken {
    fn of(kind: Kind, way: Route, pattern: &str) -> Self {
        let mut keys = way.0.iter().filter_map(|step| match step {
            Step::Key(key) => Some(key.as_str()),
            Step::Index(_) => None,
        });
        let record = match kind {
            Kind::Build => kind.folder().to_owned(),
            _ => format!("{}/{}", kind.folder(), keys.next().unwrap_or_default()),
        };
        Self {
            field: keys.collect::<Vec<_>>().join("/"),
            record,
            pattern: pattern.to_owned(),
            way,
        }
    }
}

/// Whether a text can be read and says what is meant.
fn says(before: &Reading, text: &str, meant: &Value) -> bool {
    let after = read(Source::new(&*before.source.path, text));
    after.problems.is_empty() && json(&after) == *meant
}

fn json(reading: &Reading) -> Value {
    let root = reading.tree.root.as_ref();
    root.map_or_else(
        || Value::Object(Map::new()),
        |root| root.to_json(&reading.source),
    )
}

fn edits<'a>(ways: impl DoubleEndedIterator<Item = &'a Route>) -> Vec<Edit> {
    let ways = ways.rev().cloned();
    ways.map(|way| Edit::Remove { way }).collect()
}

/// The comments that go with what is taken out.
fn telling(reading: &Reading, taken: &[Taken], secrets: &Texts) -> Vec<Range<usize>> {
    let text = &reading.source.text;
    let all: Vec<Range<usize>> = reading
        .tree
        .comments
        .iter()
        .map(|comment| comment.span.range())
        .collect();
    let mut gone: BTreeSet<usize> = BTreeSet::new();
    let within = |range: &Range<usize>| {
        let first = all.partition_point(|at| at.start < range.start);
        first..all.partition_point(|at| at.start < range.end).max(first)
    };
    for one in taken {
        let Some((key, value)) = reading.tree.key(&one.way).zip(reading.tree.node(&one.way)) else {
            continue;
        };
        let value_end = value.span.range().end.max(key.span.range().end);
        let mut lines = line_start(text, key.span.range().start)..line_end(text, value_end);
        let holder = Route(one.way.0[..one.way.0.len() - 1].to_vec());
        if let Some(holder) = reading.tree.node(&holder)
            && text[holder.span.range()].starts_with('{')
        {
            let braces = holder.span.range();
            lines.start = lines.start.min(line_start(text, braces.start));
            lines.end = lines.end.max(line_end(text, braces.end));
        }
        gone.extend(within(&lines));
        // Straight above, line by line.
        let mut above = lines.start;
        while above > 0 {
            let end = above - 1;
            let end = match text[..end].ends_with('\r') && text[end..].starts_with('\n') {
                true => end - 1,
                false => end,
            };
            let start = line_start(text, end);
            let blanks = text[start..end].trim_start_matches([' ', '\t', '\u{FEFF}']);
            let hash = end - blanks.len();
            match all.binary_search_by_key(&hash, |at| at.start) {
                Ok(number) if blanks.starts_with('#') => {
                    gone.insert(number);
                    above = start;
                }
                _ => break,
            }
        }
    }
    let secrets = secrets.secrets();
    let telling = |number: &usize| {
        let says = |number: &usize| !secrets.stands_in(&text[all[*number].clone()]).is_empty();
        gone.contains(number) || says(number)
    };
    let numbers = (0..all.len()).filter(telling);
    numbers.map(|number| all[number].clone()).collect()
}

/// The text without these comments; a line that held nothing else goes whole.
fn without(text: &str, comments: &[Range<usize>]) -> String {
    let mut anew = String::with_capacity(text.len());
    let mut at = 0;
    for comment in comments {
        let end = line_end(text, comment.end.max(comment.start));
        let before = &text[line_start(text, comment.start)..comment.start];
        let blank = before.trim_start_matches('\u{FEFF}');
        if blank.trim_matches([' ', '\t']).is_empty() {
            anew.push_str(&text[at..comment.start - blank.len()]);
            at = next_line(text, end);
        } else {
            let kept = text[at..comment.start].trim_end_matches([' ', '\t']);
            anew.push_str(kept);
            at = end;
        }
    }
    anew.push_str(&text[at..]);
    anew
}

/// The text record by record: a file of thousands is read once this way, and not once for
/// each thing that is taken out. Nothing where its records do not stand on lines of their own.
fn by_record(kind: Kind, reading: &Reading, taken: &[Taken]) -> Option<String> {
    let root = reading.tree.root.as_ref()?;
    let text = &reading.source.text;
    let NodeKind::Map(entries) = &root.kind else {
        return None;
    };
    if kind == Kind::Build || text[root.span.range()].starts_with('{') {
        return None;
    }
    let starts = entries.iter().map(|entry| {
        let start = entry.key.span.range().start;
        let line = line_start(text, start);
        let before = text[line..start].trim_matches(['\u{FEFF}', ' ', '\t']);
        before.is_empty().then_some(line)
    });
    let mut borders: Vec<usize> = starts.collect::<Option<_>>()?;
    borders.push(text.len());
    let mut anew = text[..borders[0]].to_owned();
    let mut left = taken;
    for (entry, border) in entries.iter().zip(borders.windows(2)) {
        let own = &text[border[0]..border[1]];
        let count = left
            .iter()
            .take_while(|one| one.way.record_id() == Some(&*entry.key.text))
            .count();
        let (mine, others) = left.split_at(count);
        left = others;
        if mine.is_empty() {
            anew.push_str(own);
        } else if mine.iter().any(|one| one.way.0.len() == 1) {
            anew.push_str(own.strip_prefix('\u{FEFF}').map_or("", |_| "\u{FEFF}"));
            anew.push_str(below(own, &entry.value, border[0]));
        } else {
            let record = read(Source::new(&*reading.source.path, own));
            let text = edit::apply(&record, &edits(mine.iter().map(|one| &one.way)));
            anew.push_str(&text.ok()?);
        }
    }
    Some(anew)
}

/// What stands in a record's lines below the record itself: blank lines, and comments that
/// are set in no deeper than its key.
fn below<'a>(own: &'a str, value: &Node, start: usize) -> &'a str {
    let end = value.span.range().end.saturating_sub(start).min(own.len());
    let mut at = next_line(own, line_end(own, end));
    let column = own.trim_start_matches('\u{FEFF}');
    let column = column.len() - column.trim_start_matches([' ', '\t']).len();
    while at < own.len() {
        let line = &own[at..line_end(own, at)];
        let inner = line.trim_start_matches([' ', '\t']);
        if inner.is_empty() || line.len() - inner.len() <= column {
            break;
        }
        at = next_line(own, at + line.len());
    }
    &own[at.min(own.len())..]
}
