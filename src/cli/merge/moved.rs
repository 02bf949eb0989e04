//! Records that one side moved to another file while the other side changed them. Git's
//! driver sees one file and can't tell a record that was moved from one that was taken out.
//! Here all files of the merge are seen: such a record is put where it went in all three
//! versions, as if it had stood there all along, and both files are merged again.

use std::collections::BTreeMap;
use std::ops::Range;

use super::driver::Bytes;
use crate::merge::{Three, Version};
use crate::model::Kind;
use crate::source::Source;
use crate::yaml::{self, NodeKind, Reading};

/// A file of records, as the merge has it.
#[derive(Debug, Clone)]
pub(super) struct Held {
    /// The build that it is of.
    pub build: String,
    /// The kind of its records.
    pub kind: Kind,
    /// Its versions, or what came of them where git has merged it already.
    pub state: State,
}

/// How far git has come with a file.
#[derive(Debug, Clone)]
pub(super) enum State {
    /// It is merged.
    Merged(Vec<u8>),
    /// Git stopped at it.
    Stopped(Bytes),
}

/// A record that was moved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Moved {
    /// Its id.
    pub id: String,
    /// Where it was.
    pub from: String,
    /// Where it went.
    pub to: String,
    /// The side that moved it.
    pub by: Version,
}

/// The records that one side moved and the other changed, in the order of files and ids.
pub(super) fn all(files: &BTreeMap<String, Held>) -> Vec<Moved> {
    let mut all = Vec::new();
    for (from, held) in files {
        let State::Stopped(versions) = &held.state else {
            continue;
        };
        let [Some(base), Some(ours), Some(theirs)] =
            [&versions.base, &versions.ours, &versions.theirs].map(|bytes| read(bytes))
        else {
            continue;
        };
        for (id, was) in records(&base) {
            let (ours, theirs) = (record(&ours, &id), record(&theirs, &id));
            let by = match (&ours, &theirs) {
                (None, Some(changed)) if *changed != was => Version::Ours,
                (Some(changed), None) if *changed != was => Version::Theirs,
                _ => continue,
            };
            let went = files
                .iter()
                .filter(|(path, other)| *path != from && goes(held, other, &id, by));
            let went: Vec<&String> = went.map(|(path, _)| path).collect();
            // Of two files nobody could tell which it is.
            if let [to] = went[..] {
                let (from, to) = (from.clone(), to.clone());
                all.push(Moved { id, from, to, by });
            }
        }
    }
    all
}

/// Whether a record came into a file by one side alone.
fn goes(from: &Held, to: &Held, id: &str, by: Version) -> bool {
    if (&from.build, from.kind) != (&to.build, to.kind) {
        return false;
    }
    let holds = |bytes: &Vec<u8>| read(bytes).is_some_and(|read| record(&read, id).is_some());
    match &to.state {
        State::Merged(bytes) => holds(bytes),
        State::Stopped(versions) => {
            let other = match by {
                Version::Ours => &versions.theirs,
                _ => &versions.ours,
            };
            let mover = match by {
                Version::Ours => &versions.ours,
                _ => &versions.theirs,
            };
            holds(mover) && !holds(&versions.base) && !holds(other)
        }
    }
}

/// The versions of both files as they would be had the record stood where it went from the
/// beginning; none if it has no lines of its own somewhere.
pub(super) fn rehomed(moved: &Moved, from: &Bytes, to: &State) -> Option<Three<Bytes2>> {
    let lines = |bytes: &Vec<u8>| -> Option<String> {
        let read = read(bytes)?;
        let at = lines_of(&read, &moved.id)?;
        Some(read.source.text[at].to_owned())
    };
    let other_of = |versions: &Bytes| match moved.by {
        Version::Ours => versions.theirs.clone(),
        _ => versions.ours.clone(),
    };
    let (was, changed) = (lines(&from.base)?, lines(&other_of(from))?);
    let (mover, base, other) = match to {
        State::Merged(bytes) => {
            let with = |lines: &str| with(bytes, &moved.id, lines);
            (bytes.clone(), with(&was)?, with(&changed)?)
        }
        State::Stopped(versions) => {
            let mover = match moved.by {
                Version::Ours => versions.ours.clone(),
                _ => versions.theirs.clone(),
            };
            let base = with(&versions.base, &moved.id, &was)?;
            let other = with(&other_of(versions), &moved.id, &changed)?;
            (mover, base, other)
        }
    };
    let without = |bytes: &Vec<u8>| without(bytes, &moved.id);
    let to = |mine: bool| match mine {
        true => mover.clone(),
        false => other.clone(),
    };
    let ours = moved.by == Version::Ours;
    Some(Three {
        base: Bytes2 {
            from: without(&from.base)?,
            to: base,
        },
        ours: Bytes2 {
            from: without(&from.ours)?,
            to: to(ours),
        },
        theirs: Bytes2 {
            from: without(&from.theirs)?,
            to: to(!ours),
        },
    })
}

/// A version of the two files between which a record moved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Bytes2 {
    /// The one where it was.
    pub from: Vec<u8>,
    /// The one where it went.
    pub to: Vec<u8>,
}

fn read(bytes: &[u8]) -> Option<Reading> {
    let source = Source::from_bytes("", bytes.to_vec()).ok()?;
    Some(yaml::read(source)).filter(|reading| reading.problems.is_empty())
}

/// The ids of a file's records, each with its text.
fn records(reading: &Reading) -> Vec<(String, String)> {
    let entries = reading.tree.root.iter().flat_map(|root| root.entries());
    let text = |entry: &yaml::Entry| reading.source.slice(entry.value.span).to_owned();
    entries
        .map(|entry| (entry.key.text.to_string(), text(entry)))
        .collect()
}

fn record(reading: &Reading, id: &str) -> Option<String> {
    let mut all = records(reading).into_iter();
    all.find(|(own, _)| own == id).map(|(_, text)| text)
}

/// The lines of a record, with the comment right above it, up to those of the next; none
/// if it does not begin a line.
fn lines_of(reading: &Reading, id: &str) -> Option<Range<usize>> {
    let root = reading.tree.root.as_ref()?;
    let NodeKind::Map(entries) = &root.kind else {
        return None;
    };
    let text = reading.source.text.as_str();
    let begins = |number: usize| -> Option<usize> {
        let mut at = entries.get(number)?.key.span.range().start;
        let bom = if text.starts_with('\u{feff}') { 3 } else { 0 };
        if at != bom && !text[..at].ends_with('\n') {
            return None;
        }
        while at > bom {
            let above = &text[bom..at];
            let begin = above[..above.len() - 1]
                .rfind('\n')
                .map_or(bom, |end| bom + end + 1);
            if !text[begin..at].starts_with('#') {
                break;
            }
            at = begin;
        }
        Some(at)
    };
    let number = entries.iter().position(|entry| &*entry.key.text == id)?;
    let begin = begins(number)?;
    let end = match number + 1 {
        next if next < entries.len() => begins(next)?,
        _ => text.len(),
    };
    Some(begin..end)
}

/// A file with these lines for a record: in the place of its own, or else at the end.
fn with(bytes: &[u8], id: &str, lines: &str) -> Option<Vec<u8>> {
    let reading = read(bytes)?;
    let text = reading.source.text.as_str();
    let has_it = record(&reading, id).is_some();
    let at = match has_it {
        true => lines_of(&reading, id)?,
        false => text.len()..text.len(),
    };
    let mut lines = lines.replace("\r\n", "\n");
    if !lines.ends_with('\n') && (at.end < text.len() || text.ends_with('\n') || text.is_empty()) {
        lines.push('\n');
    }
    if text.contains("\r\n") {
        lines = lines.replace('\n', "\r\n");
    }
    let mut before = text[..at.start].to_owned();
    if !before.is_empty() && !before.ends_with('\n') {
        before.push('\n');
    }
    let whole = format!("{before}{lines}{}", &text[at.end..]);
    // What is not read back as it was meant is left to a person.
    let again = read(whole.as_bytes())?;
    let came = records(&again).len() == records(&reading).len() + usize::from(!has_it);
    (came && record(&again, id).is_some()).then_some(whole.into_bytes())
}

/// A file without a record.
fn without(bytes: &[u8], id: &str) -> Option<Vec<u8>> {
    let reading = read(bytes)?;
    if record(&reading, id).is_none() {
        return Some(bytes.to_vec());
    }
    let text = reading.source.text.as_str();
    let at = lines_of(&reading, id)?;
    let whole = format!("{}{}", &text[..at.start], &text[at.end..]);
    let again = read(whole.as_bytes())?;
    let came = records(&again).len() + 1 == records(&reading).len();
    came.then_some(whole.into_bytes())
}

#[cfg(test)]
mod tests {
    use super::{lines_of, read, with, without};

    const TWO: &str = "# all of them\n\n# the pump\npump:\n  name: Pump\n\nrail: {name: Rail}\n";

    #[test]
    fn a_record_goes_with_the_comment_above_it() {
        let reading = read(TWO.as_bytes()).unwrap();
        let lines = |id| lines_of(&reading, id).map(|at| &TWO[at]);
        assert_eq!(lines("pump"), Some("# the pump\npump:\n  name: Pump\n\n"));
        assert_eq!(lines("rail"), Some("rail: {name: Rail}\n"));
        assert_eq!(lines("hose"), None);
        assert_eq!(without(b"{pump: {name: Pump}}\n", "pump"), None);
    }

    #[test]
    fn a_record_is_put_in_its_place_or_at_the_end() {
        let said = |bytes: Option<Vec<u8>>| String::from_utf8(bytes.unwrap()).unwrap();
        assert_eq!(
            said(with(b"a: {name: A}\r\nb: {name: B}", "c", "c: {name: C}\n")),
            "a: {name: A}\nb: {name: B}\nc: {name: C}\n"
                .replace("A}\n", "A}\r\n")
                .replace("C}\n", "C}\r\n")
        );
        assert_eq!(
            said(with(TWO.as_bytes(), "pump", "pump: {name: P}")),
            "# all of them\n\npump: {name: P}\nrail: {name: Rail}\n"
        );
        assert_eq!(
            said(without(TWO.as_bytes(), "rail")),
            "# all of them\n\n# the pump\npump:\n  name: Pump\n\n"
        );
    }
}
