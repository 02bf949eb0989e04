//! Records that stand in another file, or are called otherwise, than they were handed over.
//!
//! A merge sees one file. Where one side moved or renamed a record and the other changed it,
//! or held more of it, the other versions are given the same place and name first, so that
//! the record meets itself. Where that can't be done safely nothing is done, and the merge
//! says what clashes.

use std::collections::BTreeMap;
use std::ops::Range;

use serde_json::Value;

use super::{Files, States};
use crate::changes::records::{self, Held};
use crate::changes::{Name, Records, compare};
use crate::folder::{Content, RawFile, kind_of};
use crate::model::Kind;
use crate::source::Source;
use crate::yaml::{self, Reading};

/// Where a record stands: its file and its id.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Spot {
    path: String,
    id: String,
}

/// A record that went from one spot to another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Move {
    kind: Kind,
    from: Spot,
    to: Spot,
}

/// The records that stand elsewhere, or are called otherwise, in the second of two states.
pub(super) fn moves(was: &Files, is: &Files) -> Vec<Move> {
    let (was, was_at) = all(was);
    let (is, is_at) = all(is);
    let renamed: BTreeMap<Name, Name> = compare(&was, &is)
        .into_iter()
        .filter_map(|change| {
            let id = change.was_id?;
            let kind = change.name.kind;
            Some((Name { kind, id }, change.name))
        })
        .collect();
    let moved = was_at.iter().filter_map(|(name, path)| {
        let now = renamed.get(name).unwrap_or(name);
        let to = Spot {
            path: is_at.get(now)?.clone(),
            id: now.id.clone(),
        };
        let from = Spot {
            path: path.clone(),
            id: name.id.clone(),
        };
        (name.kind != Kind::Build && from != to).then_some(Move {
            kind: name.kind,
            from,
            to,
        })
    });
    moved.collect()
}

/// All records with where they stand; what stands twice or may not be whole is left out.
fn all(files: &Files) -> (Records, BTreeMap<Name, String>) {
    let raw = files.iter().map(|(path, bytes)| RawFile {
        path: path.clone(),
        content: Content::Bytes(bytes.clone()),
    });
    let (mut records, mut at) = (Records::new(), BTreeMap::new());
    let mut twice = Vec::new();
    for (path, held) in records::read(raw.collect()) {
        let Some(kind) = kind_of(&path).filter(|_| held.torn.is_none()) else {
            continue;
        };
        let name = |id: &String| Name {
            kind,
            id: id.clone(),
        };
        twice.extend(held.twice.iter().map(name));
        for (id, value) in &held.records {
            records.insert(name(id), value.clone());
            if at.insert(name(id), path.clone()).is_some() {
                twice.push(name(id));
            }
        }
    }
    for name in twice {
        records.remove(&name);
        at.remove(&name);
    }
    (records, at)
}

/// Follows what the helper moved, in the versions that the helper did not have.
pub(super) fn there(states: &mut States, there: &[Move], here: &[Move]) {
    for one in there {
        let given = value(&states.given, one.kind, &one.from);
        let whole = value(&states.whole, one.kind, &one.from);
        let now = value(&states.now, one.kind, &one.from);
        let own = here.iter().find(|own| own.from == one.from);
        // Two new names for one thing are for a person to settle.
        let two_names = |own: &Move| own.to.id != own.from.id && own.to.id != one.to.id;
        if whole.is_none()
            || (whole == given && now == whole)
            || own.is_some_and(|own| two_names(own) && one.to.id != one.from.id)
        {
            continue;
        }
        let carry = |files: &Files| carried(files, one.kind, &one.from, &one.to);
        let (Some(given), Some(whole)) = (carry(&states.given), carry(&states.whole)) else {
            continue;
        };
        // Where it was moved here as well it keeps that place, under its new name.
        let here = match (&now, own) {
            (Some(_), _) => Some((&one.from, one.to.clone())),
            (None, Some(own)) => Some((&own.to, named(own, Some(one)))),
            (None, None) => None,
        };
        if let Some((from, to)) = here.filter(|(from, to)| *from != to) {
            let Some(now) = carried(&states.now, one.kind, from, &to) else {
                continue;
            };
            states.now = now;
        }
        states.given = given;
        states.whole = whole;
    }
}

/// Follows what was moved here, in the whole and in what is meant.
pub(super) fn here(whole: &mut Files, meant: &mut Files, there: &[Move], here: &[Move]) {
    for own in here {
        let other = there.iter().find(|other| other.from == own.from);
        let spots = [Some(&own.from), other.map(|other| &other.to)];
        let mut spots = spots.into_iter().flatten();
        let Some(from) = spots.find(|spot| value(whole, own.kind, spot).is_some()) else {
            continue;
        };
        let to = named(own, other);
        if *from == to || value(whole, own.kind, from) == value(meant, own.kind, from) {
            continue;
        }
        let carry = |files: &Files| carried(files, own.kind, from, &to);
        if let (Some(new), Some(new_meant)) = (carry(whole), carry(meant)) {
            *whole = new;
            *meant = new_meant;
        }
    }
}

/// Where a record goes that was moved here: under the new name that either side gave it.
fn named(own: &Move, other: Option<&Move>) -> Spot {
    let renamed = other.filter(|_| own.to.id == own.from.id);
    Spot {
        path: own.to.path.clone(),
        id: renamed.map_or(&own.to.id, |other| &other.to.id).clone(),
    }
}

fn value(files: &Files, kind: Kind, at: &Spot) -> Option<Value> {
    let content = Content::Bytes(files.get(&at.path)?.clone());
    let held = Held::read(&at.path, kind, content);
    held.torn.is_none().then(|| held.get(&at.id).cloned())?
}

/// The files with a record at another spot, its text as it is written; none where that can't
/// be done so that everything else stays what it is.
fn carried(files: &Files, kind: Kind, from: &Spot, to: &Spot) -> Option<Files> {
    let mut anew = files.clone();
    let reading = read(files, &from.path)?;
    let text = &reading.source.text;
    let lines = lines_of(&reading, &from.id)?;
    let record = text[lines.clone()].strip_prefix(from.id.as_str())?;
    let record = format!("{}{record}", to.id);
    let (before, behind) = (&text[..lines.start], &text[lines.end..]);
    if from.path == to.path {
        anew.insert(
            from.path.clone(),
            format!("{before}{record}{behind}").into_bytes(),
        );
    } else {
        anew.insert(from.path.clone(), format!("{before}{behind}").into_bytes());
        let mut there = match files.contains_key(&to.path) {
            true => read(files, &to.path)?.source.text,
            false => String::new(),
        };
        let end = if there.contains("\r\n") { "\r\n" } else { "\n" };
        if !there.is_empty() && !there.ends_with('\n') {
            there.push_str(end);
        }
        for line in record.lines() {
            there.push_str(line);
            there.push_str(end);
        }
        anew.insert(to.path.clone(), there.into_bytes());
    }
    // Nothing is believed of the cutting: each file must hold what was meant, and no more.
    for path in [&from.path, &to.path] {
        let held = |files: &Files| -> Option<Vec<(String, Value)>> {
            let Some(bytes) = files.get(path) else {
                return Some(Vec::new());
            };
            let held = Held::read(path, kind, Content::Bytes(bytes.clone()));
            (held.torn.is_none() && held.twice.is_empty()).then_some(held.records)
        };
        let mut meant = held(files)?;
        let moved = value(files, kind, from)?;
        if *path == from.path {
            meant.retain(|(id, _)| *id != from.id);
        }
        if *path == to.path {
            meant.push((to.id.clone(), moved));
        }
        let mut is = held(&anew)?;
        is.sort_by(|a, b| a.0.cmp(&b.0));
        meant.sort_by(|a, b| a.0.cmp(&b.0));
        if is != meant {
            return None;
        }
    }
    Some(anew)
}

fn read(files: &Files, path: &str) -> Option<Reading> {
    let source = Source::from_bytes(path, files.get(path)?.clone()).ok()?;
    Some(yaml::read(source)).filter(|reading| reading.problems.is_empty())
}

/// The lines of a record that opens a line of its own, up to what is not set in any more.
fn lines_of(reading: &Reading, id: &str) -> Option<Range<usize>> {
    let text = &reading.source.text;
    let start = reading
        .tree
        .root
        .as_ref()?
        .entry(id)?
        .key
        .span
        .range()
        .start;
    let opens = text[..start].trim_end_matches('\u{FEFF}');
    if !opens.is_empty() && !opens.ends_with('\n') {
        return None;
    }
    let (mut end, mut at) = (start, start);
    for line in text[start..].split_inclusive('\n') {
        at += line.len();
        let is_blank = line.trim().is_empty();
        if end > start && !is_blank && !line.starts_with([' ', '\t']) {
            break;
        }
        // Empty lines behind a record part it from the next.
        if !is_blank {
            end = at;
        }
    }
    Some(start..end)
}
