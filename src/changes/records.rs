//! The records of files, as JSON: what two states of a build are compared by.
//!
//! A file is read by itself into a tree, and judged by nothing: a record that its schema
//! refuses is compared like any other. In a run each content is read once, known by the
//! name that git gives it.

use std::collections::btree_map::Entry as Slot;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rayon::prelude::*;
use serde_json::Value;

use super::report::Uncompared;
use super::{Name, Records};
use crate::folder::{Content, Folder, RawFile, RecordFile, StrayWhy, kind_of};
use crate::kept;
use crate::model::Kind;
use crate::source::{NotText, Source};
use crate::yaml::{self, Entry, ProblemKind, Reading, Tree};

/// What one file of records holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Held {
    /// Its records by their ids, in their order; `build.yaml` is one, called `build`.
    pub records: Vec<(String, Value)>,
    /// Why not all that was meant to be in it is there, in a few words.
    pub torn: Option<String>,
    /// Ids that may stand in what can't be read of it.
    pub lost: Vec<String>,
    /// Ids that stand in it twice; the first counts.
    pub twice: Vec<String>,
}

/// Files of records by their paths from the build folder.
pub type Files = BTreeMap<String, Arc<Held>>;

impl Held {
    /// What a file holds that was read.
    #[must_use]
    pub fn of(kind: Kind, reading: &Reading) -> Self {
        let mut held = Self::of_tree(kind, &reading.tree, &reading.source);
        // Of a key that stands there twice the first counts, and nothing is lost.
        let torn = reading.problems.iter().find(|problem| {
            let kind = &problem.kind;
            !matches!(kind, ProblemKind::RepeatedKey { .. })
        });
        held.torn = torn.map(|problem| {
            let at = reading.source.position(problem.span.range().start);
            format!("it can't be wholly read, from line {} on", at.line)
        });
        held.lost.clone_from(&reading.lost_ids);
        held
    }

    fn of_tree(kind: Kind, tree: &Tree, source: &Source) -> Self {
        let mut held = Self::default();
        let Some(root) = &tree.root else { return held };
        if kind == Kind::Build {
            held.records
                .push(("build".to_owned(), root.to_json(source)));
            return held;
        }
        let mut known = BTreeSet::new();
        for entry in root.entries() {
            let id = entry.key.text.to_string();
            if known.insert(id.clone()) {
                held.records.push((id, entry.value.to_json(source)));
            } else {
                held.twice.push(id);
            }
        }
        held
    }

    fn unread(why: impl Into<String>) -> Self {
        Self {
            torn: Some(why.into()),
            ..Self::default()
        }
    }

    /// Reads a file.
    #[must_use]
    pub fn read(path: &str, kind: Kind, content: Content) -> Self {
        let bytes = match content {
            Content::Bytes(bytes) | Content::Blob(bytes, _) => bytes,
            Content::Kept(packed, _) => {
                return match kept::unpacked(&packed) {
                    Some((text, tree, _)) => Self::of_tree(kind, &tree, &Source::new(path, text)),
                    None => Self::unread("what is kept of it is broken"),
                };
            }
            Content::Named(_) => return Self::unread("it was not fetched"),
            Content::Link => return Self::unread("it is a link"),
            Content::Refused(why) => return Self::unread(why),
        };
        match Source::from_bytes(path, bytes) {
            Ok(source) => Self::of(kind, &yaml::read(source)),
            Err(why) => Self::unread(no_text(&why)),
        }
    }

    /// What it holds under an id.
    #[must_use]
    pub fn get(&self, id: &str) -> Option<&Value> {
        let found = self.records.iter().find(|(own, _)| own == id);
        found.map(|(_, value)| value)
    }
}

/// Reads files of records, on all cores; other files are passed over.
#[must_use]
pub fn read(raw: Vec<RawFile>) -> Files {
    let files = raw.into_par_iter().filter_map(|file| {
        let kind = kind_of(&file.path)?;
        let held = Held::read(&file.path, kind, file.content);
        Some((file.path, Arc::new(held)))
    });
    files.collect::<Vec<_>>().into_iter().collect()
}

/// What is to be seen of one record in a file.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum Seen {
    /// It stands there.
    There(Arc<Value>),
    /// It does not.
    #[default]
    NotThere,
    /// That can't be told: the file can't be wholly read.
    Torn,
}

impl Seen {
    /// What it holds, if it is there.
    #[must_use]
    pub fn value(&self) -> Option<&Value> {
        match self {
            Self::There(value) => Some(value),
            Self::NotThere | Self::Torn => None,
        }
    }
}

/// Looks for one record in a file. Where the file is written as most are, with a line for
/// each id and its record set in under it, only those lines are read.
#[must_use]
pub fn one(path: &str, kind: Kind, content: Content, id: &str) -> Seen {
    if let Content::Bytes(bytes) | Content::Blob(bytes, _) = &content
        && kind != Kind::Build
    {
        match lines_of(bytes, id) {
            Lines::NotThere => return Seen::NotThere,
            Lines::Unsure => {}
            Lines::Are(lines) => {
                let held = Held::read(path, kind, Content::Bytes(lines.to_vec()));
                if let (None, Some(value)) = (&held.torn, held.get(id)) {
                    return Seen::There(Arc::new(value.clone()));
                }
            }
        }
    }
    let held = Held::read(path, kind, content);
    match (held.get(id), &held.torn) {
        (Some(value), None) => Seen::There(Arc::new(value.clone())),
        (None, None) => Seen::NotThere,
        (_, Some(_)) => Seen::Torn,
    }
}

/// The lines of one record.
enum Lines<'a> {
    NotThere,
    Are(&'a [u8]),
    /// The file is not written so that it could be told.
    Unsure,
}

fn lines_of<'a>(bytes: &'a [u8], id: &str) -> Lines<'a> {
    let mut begun = None;
    let mut at = 0;
    for line in bytes.split_inclusive(|byte| *byte == b'\n') {
        let start = at;
        at += line.len();
        match line.first() {
            Some(b' ' | b'\t' | b'\n' | b'\r' | b'#') | None => continue,
            Some(b'a'..=b'z' | b'0'..=b'9') => {}
            Some(_) => return Lines::Unsure,
        }
        let Some(colon) = line.iter().position(|byte| *byte == b':') else {
            return Lines::Unsure;
        };
        let (key, rest) = (&line[..colon], &line[colon + 1..]);
        let plain = |byte: &u8| byte.is_ascii_alphanumeric() || *byte == b'-';
        let ends = matches!(rest.first(), None | Some(b' ' | b'\n' | b'\r'));
        if !ends || !key.iter().all(plain) {
            return Lines::Unsure;
        }
        match begun {
            // The first one counts, as everywhere; what follows must still be such lines.
            None if key == id.as_bytes() => begun = Some((start, None)),
            Some((from, None)) => begun = Some((from, Some(start))),
            _ => {}
        }
    }
    match begun {
        None => Lines::NotThere,
        Some((from, to)) => Lines::Are(&bytes[from..to.unwrap_or(bytes.len())]),
    }
}

/// What contents were read as in this run, by git's names for them.
#[derive(Debug, Default)]
pub struct Readings(BTreeMap<(Kind, String), Arc<Held>>);

impl Readings {
    /// What a content was read as.
    #[must_use]
    pub fn find(&self, kind: Kind, blob: &str) -> Option<Arc<Held>> {
        self.0.get(&(kind, blob.to_owned())).cloned()
    }

    /// Reads contents, each with the path of one file that holds it, on all cores.
    pub fn read(&mut self, contents: Vec<(Kind, String, RawFile)>) {
        let read = contents.into_par_iter().map(|(kind, blob, file)| {
            let held = Held::read(&file.path, kind, file.content);
            ((kind, blob), Arc::new(held))
        });
        self.0.extend(read.collect::<Vec<_>>());
    }

    /// Forgets what is not wanted any more.
    pub fn keep(&mut self, wanted: impl Fn(Kind, &str) -> bool) {
        self.0.retain(|(kind, blob), _| wanted(*kind, blob));
    }
}

/// The files of two states that were read beside each other, as far as they are not the
/// same. Of files that can't be read only those are told that were `touched` between the
/// two. An id that stands twice in one of them brings all its files along, because where it
/// stands first may be the same in both.
#[must_use]
pub fn of_folders(since: &Folder, until: &Folder, touched: &BTreeSet<&str>) -> (Files, Files) {
    let mut twice: BTreeSet<(Kind, &str)> = BTreeSet::new();
    for folder in [since, until] {
        let several = folder.all_ids().filter(|(_, _, spots)| spots.len() > 1);
        twice.extend(several.map(|(kind, id, _)| (kind, id)));
    }
    let held = |own: &Folder, other: &Folder| -> Files {
        let shared: BTreeSet<*const RecordFile> = other.files.iter().map(Arc::as_ptr).collect();
        let wanted = own.files.iter().filter(|file| {
            let again = |record: &Entry| twice.contains(&(file.kind, &*record.key.text));
            !shared.contains(&Arc::as_ptr(file))
                || !twice.is_empty() && file.records().iter().any(again)
        });
        let wanted: Vec<&Arc<RecordFile>> = wanted.collect();
        let read = wanted.into_par_iter().map(|file| {
            let path = file.reading.source.path.clone();
            (path, Arc::new(Held::of(file.kind, &file.reading)))
        });
        let mut files: Files = read.collect::<Vec<_>>().into_iter().collect();
        for stray in &own.strays {
            if kind_of(&stray.path).is_some() && touched.contains(&*stray.path) {
                let why = match &stray.why {
                    StrayWhy::NotText(why) => no_text(why),
                    StrayWhy::Refused(why) => why.clone(),
                    _ => "it is a link".to_owned(),
                };
                files.insert(stray.path.clone(), Arc::new(Held::unread(why)));
            }
        }
        files
    };
    (held(since, until), held(until, since))
}

/// Why bytes are no text that is read, in a few words.
fn no_text(why: &NotText) -> String {
    match why {
        NotText::TooLarge(_) => "it is too large".to_owned(),
        NotText::OtherEncoding(name) => format!("it is {name}, not UTF-8"),
        NotText::NotUtf8(at) => format!("it is no text from line {} on", at.line),
    }
}

/// The records of two states that differ, as far as they can be compared.
#[derive(Debug, Clone, Default)]
pub struct Beside {
    /// Those of the state before.
    pub since: Records,
    /// Those of the state after.
    pub until: Records,
    /// In which file each stands before.
    pub since_files: BTreeMap<Name, String>,
    /// In which file each stands after.
    pub until_files: BTreeMap<Name, String>,
    /// What could not be compared.
    pub uncompared: Vec<Uncompared>,
}

/// Puts the files of two states beside each other; those that both hold may be left out of
/// both. What a file holds that can't be wholly read in one state is left out of both:
/// what is not seen there may not be gone.
#[must_use]
pub fn beside(since: &Files, until: &Files) -> Beside {
    let mut beside = Beside::default();
    let mut out: BTreeSet<Name> = BTreeSet::new();
    for (files, when) in [(since, "before"), (until, "after")] {
        for (path, held) in files {
            let (Some(kind), Some(why)) = (kind_of(path), &held.torn) else {
                continue;
            };
            beside.uncompared.push(Uncompared {
                file: path.clone(),
                why: format!("{when}: {why}"),
            });
            let own = [since.get(path), until.get(path)].into_iter().flatten();
            let ids = own.flat_map(|held| held.records.iter().map(|(id, _)| id));
            out.extend(ids.chain(&held.lost).map(|id| Name {
                kind,
                id: id.clone(),
            }));
        }
    }
    let mut sides = [BTreeMap::new(), BTreeMap::new()];
    for ((files, when), side) in [(since, "before"), (until, "after")]
        .into_iter()
        .zip(&mut sides)
    {
        for (path, held) in files {
            let Some(kind) = kind_of(path) else { continue };
            let mut twice: BTreeSet<&str> = held.twice.iter().map(String::as_str).collect();
            for (id, value) in &held.records {
                let name = Name {
                    kind,
                    id: id.clone(),
                };
                if out.contains(&name) {
                    continue;
                }
                // The first one counts, as everywhere.
                match side.entry(name) {
                    Slot::Occupied(_) => {
                        twice.insert(id);
                    }
                    Slot::Vacant(slot) => {
                        slot.insert((value, path));
                    }
                }
            }
            for id in twice {
                beside.uncompared.push(Uncompared {
                    file: path.clone(),
                    why: format!("{when}: `{id}` stands there again, and the first one counts"),
                });
            }
        }
    }
    let [was, is] = sides;
    for (own, other, records, stand) in [
        (&was, &is, &mut beside.since, &mut beside.since_files),
        (&is, &was, &mut beside.until, &mut beside.until_files),
    ] {
        for (name, (value, path)) in own {
            // Most of a file that changed did not.
            if other.get(name).is_none_or(|(same, _)| same != value) {
                records.insert(name.clone(), (*value).clone());
                stand.insert(name.clone(), (*path).clone());
            }
        }
    }
    beside
        .uncompared
        .sort_by(|a, b| (&a.file, &a.why).cmp(&(&b.file, &b.why)));
    beside
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(all: &[(&str, &str)]) -> Files {
        let raw = all.iter().map(|(path, text)| RawFile {
            path: (*path).to_owned(),
            content: Content::Bytes(text.as_bytes().to_vec()),
        });
        read(raw.collect())
    }

    #[test]
    fn a_file_is_its_records() {
        let files = files(&[
            ("build.yaml", "name: Wren\ncylinders: 4\n"),
            ("parts/all.yaml", "pump: {name: Pump}\nhead: {name: Head}\n"),
            ("notes.yaml", "a: b\n"),
        ]);
        let ids = |path: &str| -> Vec<&str> {
            let held = files[path].records.iter();
            held.map(|(id, _)| id.as_str()).collect()
        };
        assert_eq!(ids("build.yaml"), ["build"]);
        assert_eq!(ids("parts/all.yaml"), ["pump", "head"]);
        assert_eq!(files.len(), 2);
        assert_eq!(files["build.yaml"].records[0].1["cylinders"], 4);
    }

    #[test]
    fn one_record_is_read_by_its_lines_or_with_all() {
        let seen = |text: &str, id: &str| {
            let content = Content::Bytes(text.as_bytes().to_vec());
            one("parts/all.yaml", Kind::Parts, content, id)
        };
        let name = |text: &str, id: &str| match seen(text, id) {
            Seen::There(value) => value["name"].as_str().unwrap_or_default().to_owned(),
            Seen::NotThere => "not there".to_owned(),
            Seen::Torn => "torn".to_owned(),
        };
        let lines = "# all\npump:\n  name: Pump\n\n# of the head\nhead: {name: Head,\n  pieces: {}}\npump: {name: Other}\n";
        assert_eq!(name(lines, "pump"), "Pump");
        assert_eq!(name(lines, "head"), "Head");
        assert_eq!(name(lines, "pum"), "not there");
        let flow = "{pump: {name: Pump}, head: {name: Head}}\n";
        assert_eq!(name(flow, "head"), "Head");
        let quoted = "\"pump\": {name: Pump}\nhead: {name: Head}\n";
        assert_eq!(name(quoted, "pump"), "Pump");
        let apart = "pump: {name: \"Pump\nhead: of it\nend\"}\n";
        assert_eq!(name(apart, "head"), "not there");
        // A slip in another record hides none but itself.
        let torn = "pump: {name: Pump\nhead: {name: Head}\n";
        assert_eq!(name(torn, "head"), "Head");
        assert_eq!(name(torn, "pump"), "torn");
    }

    #[test]
    fn what_may_stand_in_a_torn_file_is_left_out_of_both() {
        let since = files(&[
            ("parts/a.yaml", "pump: {name: Pump}\nhead: {name: Head}\n"),
            ("parts/b.yaml", "rail: {name: Rail}\n"),
        ]);
        let until = files(&[
            ("parts/a.yaml", "pump: {name: Pump\nhead: {name: Head}\n"),
            ("parts/b.yaml", "head: {name: Head}\n"),
        ]);
        let beside = beside(&since, &until);
        let names = |records: &Records| -> Vec<String> {
            records.keys().map(ToString::to_string).collect()
        };
        assert_eq!(names(&beside.since), ["parts/rail"]);
        assert!(beside.until.is_empty(), "{:?}", beside.until);
        assert_eq!(beside.uncompared.len(), 1);
        assert_eq!(beside.uncompared[0].file, "parts/a.yaml");
        assert!(beside.uncompared[0].why.starts_with("after: "));
    }

    #[test]
    fn of_an_id_that_stands_twice_the_first_counts() {
        let until = files(&[
            ("parts/a.yaml", "pump: {name: A}\npump: {name: B}\n"),
            ("parts/b.yaml", "pump: {name: C}\n"),
        ]);
        let beside = beside(&Files::new(), &until);
        let pump = beside.until.values().next().unwrap();
        assert_eq!(pump["name"], "A");
        let said: Vec<&str> = beside.uncompared.iter().map(|one| &*one.file).collect();
        assert_eq!(said, ["parts/a.yaml", "parts/b.yaml"]);
    }
}
