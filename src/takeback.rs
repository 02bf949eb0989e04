//! What comes back from somebody whom a build was handed to, taken into what the build has
//! become since.
//!
//! Two merges a file. The first puts what the helper did into the whole that was handed
//! over, so that what was kept back is there again. The second puts that into what is here
//! now. Nothing is read or written here: files go in, files and words come out.

mod copies;
mod follow;
pub mod others;
pub mod sheet;

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use crate::changes::alike::text_of;
use crate::folder::kind_of;
use crate::merge::{self, Clash, How, Marks, Merged, Three, Unread, Version};
use crate::model::Kind;
use crate::near;
use crate::source::Source;
use crate::yaml::{self, Reading, Route, Step};

/// Files by their paths from the build folder.
pub type Files = BTreeMap<String, Vec<u8>>;

/// The files of records of a build, four times.
#[derive(Debug, Clone, Default)]
pub struct States {
    /// As the helper was given them, without what is private.
    pub given: Files,
    /// The same moment, whole.
    pub whole: Files,
    /// As they came back.
    pub returned: Files,
    /// As they are here now.
    pub now: Files,
}

/// A file that is to be another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct New {
    /// From the build folder.
    pub path: String,
    /// What it holds now; none if it is not there.
    pub was: Option<Vec<u8>>,
    /// What it is to hold, with every clash as it is here; none if it is to go.
    pub is: Option<Vec<u8>>,
    /// The same with the lines of each clash between marks, where something clashes.
    pub marked: Option<Vec<u8>>,
}

/// Something that is said of a record, a field or a file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Said {
    /// What it is about.
    pub what: String,
    /// What is said.
    pub says: String,
}

impl Said {
    /// Something about something.
    pub fn of(what: impl Into<String>, says: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            says: says.into(),
        }
    }
}

/// What taking it back comes to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Taken {
    /// The files that are to be others.
    pub files: Vec<New>,
    /// What was changed here and there, each in its own way.
    pub clashes: Vec<Said>,
    /// What is not taken, and why.
    pub left: Vec<Said>,
    /// Whether anything came back otherwise than it was given.
    pub edited: bool,
}

/// Takes what came back into what is here. `strip` takes what is private out of the value of
/// what stands at a way.
#[must_use]
pub fn take(mut states: States, strip: impl Fn(Kind, &Route, &mut Value), marks: &Marks) -> Taken {
    for files in [
        &mut states.given,
        &mut states.whole,
        &mut states.returned,
        &mut states.now,
    ] {
        files.retain(|path, _| kind_of(path).is_some());
    }
    // How lines end is a habit of the machine that a file was on, and no edit of anybody's.
    for (path, bytes) in &mut states.returned {
        alike(bytes, states.given.get(path));
    }
    for (path, now) in &states.now {
        for files in [&mut states.given, &mut states.whole, &mut states.returned] {
            if let Some(bytes) = files.get_mut(path) {
                alike(bytes, Some(now));
            }
        }
    }
    let mut taken = Taken {
        edited: states.returned != states.given,
        left: copies::leave(&mut states),
        ..Taken::default()
    };
    if !taken.edited {
        return taken;
    }
    let before = states.now.clone();
    let moved_here = follow::moves(&states.whole, &states.now);
    let moved_there = follow::moves(&states.given, &states.returned);
    follow::there(&mut states, &moved_there, &moved_here);
    let mut meant = meant(&states, strip, &mut taken);
    follow::here(&mut states.whole, &mut meant, &moved_there, &moved_here);
    into(&states, &before, &meant, marks, &mut taken);
    taken.clashes.sort();
    taken.left.sort();
    taken
}

/// The whole that was handed over, with what the helper did.
fn meant(states: &States, strip: impl Fn(Kind, &Route, &mut Value), taken: &mut Taken) -> Files {
    let mut meant = states.whole.clone();
    let paths: BTreeSet<&String> = states.given.keys().chain(states.returned.keys()).collect();
    for path in paths {
        let (given, back) = (states.given.get(path), states.returned.get(path));
        let Some(kind) = kind_of(path).filter(|_| given != back) else {
            continue;
        };
        let whole = states.whole.get(path);
        if whole == given {
            put(&mut meant, path, back.cloned());
            continue;
        }
        let versions = three(given, whole, back);
        match merge::merge_but(kind, path, versions, |way, value| strip(kind, way, value)) {
            Ok(merged) => {
                for clash in &merged.clashes {
                    let what = name_of(kind, &clash.way);
                    let says = "it is private and was not given; what was written there is not \
                                taken, and what is here stays";
                    taken.left.push(Said::of(what, says));
                }
                let text = merged.settled(Version::Ours);
                let is_gone = back.is_none() && text.trim().is_empty();
                put(&mut meant, path, (!is_gone).then(|| text.into_bytes()));
            }
            Err(unread) => taken.left.push(Said::of(path, unread_is(&unread))),
        }
    }
    meant
}

/// Puts what is meant into what is here.
fn into(states: &States, before: &Files, meant: &Files, marks: &Marks, taken: &mut Taken) {
    let all = [&states.whole, &states.now, meant, before];
    let paths: BTreeSet<&String> = all.iter().flat_map(|files| files.keys()).collect();
    for path in paths {
        let Some(kind) = kind_of(path) else { continue };
        let whole = states.whole.get(path);
        let (now, meant) = (states.now.get(path), meant.get(path));
        let was = before.get(path);
        let mut marked = None;
        let is = if meant == whole || meant == now {
            now.cloned()
        } else if now == whole {
            meant.cloned()
        } else {
            match merge::merge(kind, path, three(whole, now, meant)) {
                Ok(merged) => {
                    if !merged.is_clean() {
                        marked = Some(merged.text(marks).into_bytes());
                        let words = clashes(kind, path, &merged, three(whole, now, meant));
                        taken.clashes.extend(words);
                    }
                    let text = merged.settled(Version::Ours);
                    let is_gone = (now.is_none() || meant.is_none()) && text.trim().is_empty();
                    (!is_gone).then(|| text.into_bytes())
                }
                Err(unread) => {
                    taken.left.push(Said::of(path, unread_is(&unread)));
                    // What stood there before anything was followed to another file.
                    was.cloned()
                }
            }
        };
        if is.as_ref() != was || marked.is_some() {
            taken.files.push(New {
                path: path.clone(),
                was: was.cloned(),
                is,
                marked,
            });
        }
    }
}

fn three(
    base: Option<&Vec<u8>>,
    ours: Option<&Vec<u8>>,
    theirs: Option<&Vec<u8>>,
) -> Three<Vec<u8>> {
    let bytes = |one: Option<&Vec<u8>>| one.cloned().unwrap_or_default();
    Three {
        base: bytes(base),
        ours: bytes(ours),
        theirs: bytes(theirs),
    }
}

fn put(files: &mut Files, path: &str, bytes: Option<Vec<u8>>) {
    match bytes {
        Some(bytes) => files.insert(path.to_owned(), bytes),
        None => files.remove(path),
    };
}

fn unread_is(unread: &Unread) -> String {
    let why = &unread.why;
    match unread.version {
        Version::Theirs => {
            format!("nothing is taken from it: {why}; mend it and take it back again")
        }
        Version::Ours => format!("nothing is taken into it as it stands here: {why}"),
        Version::Base => format!("nothing is taken from it as it was handed over: {why}"),
    }
}

/// What stands at a way, as a reference would call it.
fn name_of(kind: Kind, way: &Route) -> String {
    let mut name = kind.folder().to_owned();
    for step in &way.0 {
        match step {
            Step::Key(key) => name.push_str(&format!("/{key}")),
            Step::Index(_) => {}
        }
    }
    name
}

/// What clashes in a file, in words.
fn clashes(kind: Kind, path: &str, merged: &Merged, texts: Three<Vec<u8>>) -> Vec<Said> {
    let read = |bytes: Vec<u8>| Source::from_bytes(path, bytes).ok().map(yaml::read);
    let base = read(texts.base);
    let (here, there) = (read(texts.ours), read(texts.theirs));
    let said = merged.clashes.iter().map(|clash| {
        let holds = |reading: &Option<Reading>| held(reading.as_ref()?, clash);
        let says = match clash.how {
            How::TwoValues => match (holds(&here), holds(&there)) {
                (Some(here), Some(there)) => {
                    let was = holds(&base).map(|was| format!("; {was} was handed over"));
                    format!("{here} here, {there} came back{}", was.unwrap_or_default())
                }
                _ => "changed here and there, each in its own way".to_owned(),
            },
            How::GoneAndChanged {
                gone: Version::Theirs,
            } => "changed here, and taken out in what came back".to_owned(),
            How::GoneAndChanged { .. } => {
                "taken out here, and changed in what came back".to_owned()
            }
            How::TwoThings => "two things were called so, one here and one there".to_owned(),
            How::TwoNames => "it was given one name here and another one there".to_owned(),
            How::Comment => "a comment was changed here and there".to_owned(),
            How::Layout => "it is laid out in two ways that can't be put together".to_owned(),
        };
        let what = match clash.way.0.is_empty() {
            true => path.to_owned(),
            false => name_of(kind, &clash.way),
        };
        Said::of(what, says)
    });
    said.collect()
}

/// What one version holds where something clashes. An item of a list has another number in
/// each version, so it is not looked up.
fn held(reading: &Reading, clash: &Clash) -> Option<String> {
    let numbered = |step: &Step| matches!(step, Step::Index(_));
    if clash.way.0.is_empty() || clash.way.0.iter().any(numbered) {
        return None;
    }
    let node = reading.tree.node(&clash.way)?;
    let text = match node.to_json(&reading.source) {
        Value::String(text) => text,
        value => text_of(&value),
    };
    let text = text.replace('\n', " ");
    Some(format!("`{}`", near::shortened(&text)))
}

/// Gives a text the line ends and the byte-order mark of another, where each has one way of
/// ending all its lines.
fn alike(bytes: &mut Vec<u8>, as_in: Option<&Vec<u8>>) {
    const MARK: &[u8] = b"\xEF\xBB\xBF";
    let Some(as_in) = as_in.filter(|as_in| *as_in != bytes) else {
        return;
    };
    let (Some(own), Some(wanted)) = (ends(bytes), ends(as_in)) else {
        return;
    };
    if own != wanted {
        let text = std::mem::take(bytes);
        for byte in text {
            match byte {
                b'\r' => {}
                b'\n' if wanted => bytes.extend(b"\r\n"),
                byte => bytes.push(byte),
            }
        }
    }
    match (bytes.starts_with(MARK), as_in.starts_with(MARK)) {
        (true, false) => drop(bytes.drain(..MARK.len())),
        (false, true) => drop(bytes.splice(..0, MARK.iter().copied())),
        _ => {}
    }
}

/// Whether all lines end in CR LF; none if they end in several ways, or there are none.
fn ends(bytes: &[u8]) -> Option<bool> {
    let lines = bytes.iter().filter(|byte| **byte == b'\n').count();
    let returns = bytes.iter().filter(|byte| **byte == b'\r').count();
    let pairs = bytes.windows(2).filter(|pair| pair == b"\r\n").count();
    match (lines, returns, pairs) {
        (0, ..) => None,
        (_, 0, 0) => Some(false),
        (lines, returns, pairs) if lines == pairs && returns == pairs => Some(true),
        _ => None,
    }
}
