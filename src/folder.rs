//! A build folder, read: its files, what each holds, and the typed build.
//!
//! Reading never fails for what a file holds. A file that can't be read is kept
//! as such, and the others are judged as if it were there: the ids it seems to
//! hold are not called unknown.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

use rayon::prelude::*;

use crate::finding::Place;
use crate::kept::{self, Kept};
use crate::model::{Kind, Misfit, Model};
use crate::near;
use crate::schema::walk::{self, Uses};
use crate::schema::{BadSchema, Fault, Schema};
use crate::source::{NotText, Position, Source, Span};
use crate::yaml::{self, Entry, Node, ProblemKind, Reading, Route, Step};

/// What a pack tells of itself, at the top of a build folder that was handed over; no record
/// stands in it.
pub const HANDED_OVER: &str = "handed-over.yaml";

/// A file as it came from the disk or from git.
#[derive(Debug, Clone)]
pub struct RawFile {
    /// From the build folder, with `/`.
    pub path: String,
    /// What is in it.
    pub content: Content,
}

/// What came of asking for a file.
#[derive(Debug, Clone)]
pub enum Content {
    /// Its bytes.
    Bytes(Vec<u8>),
    /// Its bytes, and git's name for them.
    Blob(Vec<u8>, String),
    /// What it was read as before, still packed, and git's name for its bytes.
    Kept(Arc<[u8]>, String),
    /// Git's name for its bytes alone: the state that it is read beside has them.
    Named(String),
    /// A link; it is not followed.
    Link,
    /// It could not be opened, and why.
    Refused(String),
}

impl Content {
    fn size(&self) -> usize {
        match self {
            Self::Bytes(bytes) | Self::Blob(bytes, _) => bytes.len(),
            // Quicker than reading, by about as much.
            Self::Kept(bytes, _) => bytes.len() / 3,
            Self::Named(_) | Self::Link | Self::Refused(_) => 0,
        }
    }
}

/// One file of records.
#[derive(Debug, Clone)]
pub struct RecordFile {
    /// The kind of its records.
    pub kind: Kind,
    /// Git's name for its bytes, where it came from git.
    pub blob: Option<String>,
    /// Its text and tree.
    pub reading: Reading,
    /// Where it leaves its schema.
    pub faults: Vec<Fault>,
    /// References, figures, traits and misread texts in it.
    pub uses: Uses,
    /// Records that the types don't take though the schema does: a fault of ours.
    pub misfits: Vec<(usize, Misfit)>,
}

/// A file that is not read as records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stray {
    /// The file.
    pub path: String,
    /// Why it is not read.
    pub why: StrayWhy,
    /// How many files it stands for: one folder in the wrong place is one slip.
    pub files: usize,
}

/// Why a file is not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StrayWhy {
    /// Its bytes are no text.
    NotText(NotText),
    /// It is a link.
    Link,
    /// It could not be opened.
    Refused(String),
    /// Its name ends in something like `.yaml`.
    Ending,
    /// It lies in no kind's folder; the kind's folder that is nearest by name.
    NoKind(Option<&'static str>),
    /// It lies in a build folder of its own, this one, inside the build.
    OtherBuild(String),
}

/// A build folder, read.
#[derive(Debug, Default)]
pub struct Folder {
    /// The files of records, in the order of their paths; states of a build share those
    /// that are the same in both.
    pub files: Vec<Arc<RecordFile>>,
    /// The files that are not read.
    pub strays: Vec<Stray>,
    /// The typed build.
    pub model: Model,
    /// Whether it was handed over by somebody, without what is private in it.
    pub is_handed_over: bool,
    ids: BTreeMap<Kind, BTreeMap<String, Vec<Spot>>>,
    lost: BTreeSet<(Kind, String)>,
}

/// Where a record stands: the number of its file, and its number in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// The number of the file in the folder.
    pub file: usize,
    /// The number of the record in the file.
    pub entry: usize,
}

static SCHEMAS: [OnceLock<Result<Schema, BadSchema>>; 12] = [const { OnceLock::new() }; 12];

/// The published schema of a kind, made ready once.
///
/// # Errors
/// When the file in `schema/` is no schema.
pub fn schema_of(kind: Kind) -> Result<&'static Schema, BadSchema> {
    SCHEMAS[kind as usize]
        .get_or_init(|| Schema::of(kind))
        .as_ref()
        .map_err(Clone::clone)
}

/// Makes all schemas ready while the files are still being fetched.
pub fn make_ready() {
    for kind in Kind::ALL {
        rayon::spawn(|| {
            // Whoever needs it is told what is wrong with it.
            let _ = schema_of(*kind);
        });
    }
}

enum Taken {
    Stray(Stray),
    File(Arc<RecordFile>, Box<Model>),
}

impl Folder {
    /// Reads a folder from its YAML files.
    ///
    /// # Errors
    /// Only when a published schema is no schema.
    pub fn read(raw: Vec<RawFile>) -> Result<Self, BadSchema> {
        Self::read_with(raw, &Kept::default())
    }

    /// Reads a folder from its YAML files, with what some of them were read as before.
    ///
    /// # Errors
    /// Only when a published schema is no schema.
    pub fn read_with(raw: Vec<RawFile>, kept: &Kept) -> Result<Self, BadSchema> {
        Self::read_beside(raw, kept, &Self::default())
    }

    /// Reads a folder from its YAML files beside another state of it: a file that is the
    /// same there is not read again, and its records are shared.
    ///
    /// # Errors
    /// Only when a published schema is no schema.
    pub fn read_beside(
        mut raw: Vec<RawFile>,
        kept: &Kept,
        other: &Self,
    ) -> Result<Self, BadSchema> {
        raw.sort_by(|a, b| a.path.cmp(&b.path));
        let mut folder = Self::default();
        let files = raw.len();
        raw.retain(|file| file.path != HANDED_OVER);
        folder.is_handed_over = raw.len() < files;
        for build in builds_inside(&raw) {
            let all = raw.len();
            let inside = format!("{build}/");
            raw.retain(|file| !file.path.starts_with(&inside));
            folder.strays.push(Stray {
                path: format!("{build}/build.yaml"),
                why: StrayWhy::OtherBuild(build),
                files: all - raw.len(),
            });
        }
        // The largest first, each by itself, so that no core waits for a late one.
        let mut by_size: Vec<(usize, RawFile)> = raw.into_iter().enumerate().collect();
        by_size.sort_by_key(|(_, file)| std::cmp::Reverse(file.content.size()));
        let mut taken: Vec<(usize, Taken)> = by_size
            .into_par_iter()
            .with_max_len(1)
            .map(|(number, file)| {
                Ok((
                    number,
                    match other.shared(&file) {
                        Some(shared) => shared,
                        None => take(file, kept)?,
                    },
                ))
            })
            .collect::<Result<_, BadSchema>>()?;
        taken.sort_by_key(|(number, _)| *number);
        for (_, one) in taken {
            match one {
                Taken::Stray(stray) => {
                    if let Some(kind) = stray.meant() {
                        folder.lost.insert((kind, String::new()));
                    }
                    match folder.strays.last_mut() {
                        Some(last) if last.beside(&stray) => last.files += 1,
                        _ => folder.strays.push(stray),
                    }
                }
                Taken::File(file, model) => folder.add(file, *model),
            }
        }
        Ok(folder)
    }

    /// The files of some kinds that are left out of what is worked out from the folder,
    /// wholly or in part: what can't be read, and an id that is there twice.
    #[must_use]
    pub fn left_out(&self, kinds: &[Kind]) -> Vec<String> {
        let mut files: Vec<String> = self.strays.iter().map(|one| one.path.clone()).collect();
        // A file in no kind's folder may have been meant for any.
        files.retain(|path| {
            let top = path.split('/').next().and_then(Kind::of_folder);
            top.is_none_or(|kind| kinds.contains(&kind))
        });
        for file in self.files.iter().filter(|file| kinds.contains(&file.kind)) {
            if file.is_spoilt() {
                files.push(file.reading.source.path.clone());
            }
        }
        for (_, _, spots) in self.all_ids().filter(|(kind, _, _)| kinds.contains(kind)) {
            for spot in spots.iter().skip(1) {
                files.push(self.files[spot.file].reading.source.path.clone());
            }
        }
        files.sort();
        files.dedup();
        files
    }

    /// Whether it has a file of this path whose bytes git calls so, to be shared with
    /// another state.
    #[must_use]
    pub fn has(&self, path: &str, blob: &str) -> bool {
        let same = |number: usize| self.files[number].blob.as_deref() == Some(blob);
        self.sharable(path).is_some_and(same)
    }

    /// A file that another state has as well, with its records.
    fn shared(&self, raw: &RawFile) -> Option<Taken> {
        let number = self.sharable(&raw.path)?;
        let file = &self.files[number];
        let same = match &raw.content {
            Content::Kept(_, name) | Content::Named(name) => file.blob.as_ref() == Some(name),
            Content::Blob(bytes, name) => match &file.blob {
                Some(blob) => blob == name,
                None => file.reading.source.text.as_bytes() == bytes,
            },
            Content::Bytes(bytes) => file.reading.source.text.as_bytes() == bytes,
            Content::Link | Content::Refused(_) => false,
        };
        let ids = file.records().iter().map(|record| &*record.key.text);
        same.then(|| {
            let model = self.model.some(file.kind, ids);
            Taken::File(Arc::clone(file), Box::new(model))
        })
    }

    /// The number of the file of a path. Not of one with an id that is there twice: the
    /// typed build holds only the first, and it may be the other one's turn elsewhere.
    fn sharable(&self, path: &str) -> Option<usize> {
        let found = self
            .files
            .binary_search_by(|file| (*file.reading.source.path).cmp(path));
        let file = &self.files[found.ok()?];
        let once = |record: &Entry| self.spots(file.kind, &record.key.text).len() < 2;
        (file.kind == Kind::Build || file.records().iter().all(once)).then_some(found.ok()?)
    }

    fn add(&mut self, file: Arc<RecordFile>, mut model: Model) {
        let number = self.files.len();
        let kind = file.kind;
        if kind != Kind::Build {
            let ids = self.ids.entry(kind).or_default();
            for (entry, record) in file.records().iter().enumerate() {
                let spot = Spot {
                    file: number,
                    entry,
                };
                let spots = ids.entry(record.key.text.to_string()).or_default();
                // Twice in one file is the file's own fault, and told there.
                if spots.last().is_none_or(|last| last.file != number) {
                    spots.push(spot);
                }
            }
        }
        for id in &file.reading.lost_ids {
            self.lost.insert((kind, id.clone()));
        }
        if kind == Kind::Build && file.reading.tree.root.is_none() {
            self.lost.insert((Kind::Build, String::new()));
        }
        model.number(number);
        if kind == Kind::Build {
            self.model.build = Arc::clone(&model.build);
        }
        self.model.take(model);
        self.files.push(file);
    }

    /// Where the records of an id stand; several, if the id is there twice.
    #[must_use]
    pub fn spots(&self, kind: Kind, id: &str) -> &[Spot] {
        self.ids
            .get(&kind)
            .and_then(|ids| ids.get(id))
            .map_or(&[], Vec::as_slice)
    }

    /// The ids of a kind, in their order.
    pub fn ids(&self, kind: Kind) -> impl Iterator<Item = &str> + '_ {
        self.ids
            .get(&kind)
            .into_iter()
            .flat_map(|ids| ids.keys().map(String::as_str))
    }

    /// All ids with where they stand.
    pub fn all_ids(&self) -> impl Iterator<Item = (Kind, &str, &[Spot])> + '_ {
        self.ids.iter().flat_map(|(kind, ids)| {
            ids.iter()
                .map(|(id, spots)| (*kind, id.as_str(), spots.as_slice()))
        })
    }

    /// Whether a file that can't be read seems to hold this record.
    #[must_use]
    pub fn may_be_lost(&self, kind: Kind, id: &str) -> bool {
        self.lost.contains(&(kind, id.to_owned())) || self.lost.contains(&(kind, String::new()))
    }

    /// Whether every file could be read.
    #[must_use]
    pub fn is_readable(&self) -> bool {
        self.lost.is_empty() && !self.files.iter().any(|file| file.is_torn())
    }

    /// Whether all that was written of a kind is there: what is missing from it is not
    /// there, and not only unreadable.
    #[must_use]
    pub fn is_whole(&self, kind: Kind) -> bool {
        let mut files = self.files.iter().filter(|file| file.kind == kind);
        !self.lost.iter().any(|(lost, _)| *lost == kind) && !files.any(|file| file.is_spoilt())
    }

    /// The record at a spot.
    #[must_use]
    pub fn record(&self, spot: Spot) -> Option<&Entry> {
        self.files.get(spot.file)?.records().get(spot.entry)
    }

    /// The tree of a record, and its file's text.
    #[must_use]
    pub fn node(&self, kind: Kind, id: &str) -> Option<(&Node, &Source)> {
        let spot = *self.spots(kind, id).first()?;
        let file = self.files.get(spot.file)?;
        Some((&self.record(spot)?.value, &file.reading.source))
    }

    /// The number of `build.yaml` among the files.
    #[must_use]
    pub fn build_file(&self) -> Option<usize> {
        self.files.iter().position(|file| file.kind == Kind::Build)
    }

    /// The tree of `build.yaml`, and its text.
    #[must_use]
    pub fn build(&self) -> Option<(&Node, &Source)> {
        let file = &self.files[self.build_file()?];
        Some((file.reading.tree.root.as_ref()?, &file.reading.source))
    }

    /// A span as a place for people.
    #[must_use]
    pub fn place(&self, file: usize, span: Span) -> Place {
        let source = &self.files[file].reading.source;
        Place {
            file: source.path.clone(),
            start: source.position(span.range().start),
            end: source.position(span.range().end),
        }
    }

    /// The beginning of a file as a place.
    #[must_use]
    pub fn top_of(path: &str) -> Place {
        let start = Position { line: 1, column: 1 };
        Place {
            file: path.to_owned(),
            start,
            end: start,
        }
    }

    /// What stands at a span, as a reference would call it: the record, and in it
    /// the innermost thing with a name of its own (`parts/injector/P1`).
    #[must_use]
    pub fn name_at(&self, file: usize, span: Span) -> Option<String> {
        let file = self.files.get(file)?;
        let record = &file.records()[file.record_at(span.range().start)?];
        Some(name_in(file.kind, record, span))
    }
}

/// The same of a span in this record.
#[must_use]
pub fn name_in(kind: Kind, record: &Entry, span: Span) -> String {
    let id = &record.key.text;
    let inner = |keys: &[&str]| {
        let named = keys.iter().filter_map(|key| record.value.get(key));
        named.filter_map(|map| entry_at(map, span)).next()
    };
    let name = match kind {
        // What `build.yaml` lists is called by its list.
        Kind::Build if matches!(&**id, "tools" | "wrenches" | "sources") => {
            return match entry_at(&record.value, span) {
                Some(entry) => format!("{id}/{}", entry.key.text),
                None => format!("build/{id}"),
            };
        }
        Kind::Parts => inner(&["pieces"]),
        Kind::Assemblies => inner(&["places", "joints"]),
        Kind::Circuits => inner(&["wires"]),
        Kind::Decisions => inner(&["options"]),
        _ => None,
    };
    let mut text = format!("{}/{id}", kind.folder());
    if let Some(name) = name {
        text.push('/');
        text.push_str(&name.key.text);
        let hole = name
            .value
            .get("holes")
            .and_then(|holes| entry_at(holes, span));
        if let Some(hole) = hole {
            text.push('/');
            text.push_str(&hole.key.text);
        }
    }
    text
}

/// The entry of a map that a span lies in.
fn entry_at(map: &Node, span: Span) -> Option<&Entry> {
    map.entries()
        .iter()
        .find(|entry| entry.key.span.start <= span.start && span.end <= entry.value.span.end)
}

impl Stray {
    /// Whether another one is the same slip: a folder that no kind has.
    fn beside(&self, other: &Self) -> bool {
        let folder = |path: &str| path.split_once('/').map(|(folder, _)| folder.to_owned());
        matches!(self.why, StrayWhy::NoKind(_))
            && self.why == other.why
            && folder(&self.path).is_some_and(|own| folder(&other.path) == Some(own))
    }

    /// The kind that its records were meant to be, as far as its path tells.
    fn meant(&self) -> Option<Kind> {
        let folder = self.path.split('/').next().unwrap_or_default();
        match self.why {
            StrayWhy::NoKind(near) => Kind::of_folder(near?),
            StrayWhy::OtherBuild(_) => None,
            _ if is_build_misnamed(&self.path) => Some(Kind::Build),
            _ => Kind::of_folder(folder),
        }
    }
}

impl RecordFile {
    /// Whether nothing is wrong with it by itself.
    fn is_clean(&self) -> bool {
        let Uses {
            misread,
            figures,
            patterns,
            ..
        } = &self.uses;
        misread.is_empty()
            && figures.is_empty()
            && patterns.is_empty()
            && self.faults.is_empty()
            && self.misfits.is_empty()
            && self.reading.problems.is_empty()
            && self.reading.lost_ids.is_empty()
    }

    /// What it holds, as the typed build has it: without the fields that are wrong.
    #[must_use]
    pub fn sound(&self) -> Option<serde_json::Value> {
        let mut json = self
            .reading
            .tree
            .root
            .as_ref()?
            .to_json(&self.reading.source);
        self.take_out_wrong(&mut json);
        Some(json)
    }

    /// The rest of a record stands, whatever is wrong with one field.
    fn take_out_wrong(&self, json: &mut serde_json::Value) {
        let wrong = self.faults.iter().filter(|fault| !fault.lacks());
        let mut routes: Vec<&Route> = wrong.map(|fault| &fault.route).collect();
        routes.sort_unstable_by(|a, b| b.cmp(a));
        for route in routes {
            route.take_out_of(json);
        }
    }

    /// Whether some of it could not be read.
    #[must_use]
    pub fn is_torn(&self) -> bool {
        !self.reading.problems.is_empty() || !self.reading.lost_ids.is_empty()
    }

    /// Whether something in it could not be taken for what it was meant to be.
    #[must_use]
    pub fn is_spoilt(&self) -> bool {
        self.is_torn() || !self.misfits.is_empty() || self.faults.iter().any(|fault| !fault.lacks())
    }

    /// The number of the record that a place in the file lies in.
    #[must_use]
    pub fn record_at(&self, offset: usize) -> Option<usize> {
        self.records()
            .partition_point(|record| record.key.span.range().start <= offset)
            .checked_sub(1)
    }

    /// The records with their ids; for `build.yaml` its keys.
    #[must_use]
    pub fn records(&self) -> &[Entry] {
        self.reading.tree.root.as_ref().map_or(&[], Node::entries)
    }
}

/// Whether a file is YAML by its name, misspelt or not.
#[must_use]
pub fn is_yaml(path: &str) -> bool {
    let lower = path.to_ascii_lowercase();
    lower.ends_with(".yaml") || lower.ends_with(".yml")
}

/// The kind that a file of this path holds.
#[must_use]
pub fn kind_of(path: &str) -> Option<Kind> {
    if path == "build.yaml" {
        return Some(Kind::Build);
    }
    let (folder, rest) = path.split_once('/')?;
    rest.ends_with(".yaml").then(|| Kind::of_folder(folder))?
}

fn take(raw: RawFile, kept: &Kept) -> Result<Taken, BadSchema> {
    let stray = |why| {
        Ok(Taken::Stray(Stray {
            path: raw.path.clone(),
            why,
            files: 1,
        }))
    };
    // What could not be opened may be a folder: its name says nothing yet.
    let (raw_content, blob) = match raw.content {
        Content::Bytes(bytes) => (bytes, None),
        Content::Blob(bytes, name) => (bytes, Some(name)),
        Content::Kept(packed, name) => {
            let taken = kind_of(&raw.path).and_then(|kind| again(&raw.path, kind, &packed, name));
            let why = "what is kept of it is broken; `matchmark guard` clears that";
            return match taken {
                Some(taken) => Ok(taken),
                None => stray(StrayWhy::Refused(why.to_owned())),
            };
        }
        Content::Named(_) => {
            let why = "it was not fetched: a fault of this program".to_owned();
            return stray(StrayWhy::Refused(why));
        }
        Content::Link => return stray(StrayWhy::Link),
        Content::Refused(why) => return stray(StrayWhy::Refused(why)),
    };
    let Some(kind) = kind_of(&raw.path) else {
        let folder = raw.path.split('/').next().unwrap_or_default();
        if Kind::of_folder(folder).is_some() || is_build_misnamed(&raw.path) {
            return stray(StrayWhy::Ending);
        }
        let folders: Vec<&str> = Kind::ALL[1..].iter().map(|kind| kind.folder()).collect();
        let near = raw
            .path
            .contains('/')
            .then(|| near::slip_of(folder, &folders))
            .flatten()
            .and_then(|near| Kind::of_folder(near).map(Kind::folder));
        return stray(StrayWhy::NoKind(near));
    };
    let source = match Source::from_bytes(raw.path.clone(), raw_content) {
        Ok(source) => source,
        Err(why) => return stray(StrayWhy::NotText(why)),
    };
    let schema = schema_of(kind)?;
    let reading = yaml::read(source);
    let mut file = RecordFile {
        kind,
        blob,
        faults: Vec::new(),
        uses: Uses::default(),
        misfits: Vec::new(),
        reading,
    };
    let mut model = Model::default();
    let Some(root) = &file.reading.tree.root else {
        if kind == Kind::Build && file.reading.problems.is_empty() {
            // Nothing at all is a build without its name.
            let nothing = serde_json::json!({});
            let Reading { tree, source, .. } = &file.reading;
            file.faults = schema.faults(&nothing, tree, source);
        }
        return Ok(Taken::File(Arc::new(file), Box::new(model)));
    };
    let source = &file.reading.source;
    let tree = &file.reading.tree;
    let mut json = root.to_json(source);
    if !schema.accepts(&json) {
        file.faults = schema.faults(&json, tree, source);
    }
    // A map that a record does not know may be a record that is set in by a slip, and an
    // id with a brace in it one that has lost its colon.
    let set_in = file
        .faults
        .iter()
        .filter_map(|fault| match &*fault.route.0 {
            [_, Step::Key(id)] if fault.keyword == "additionalProperties" => {
                let map = tree.node(&fault.route)?.entries();
                (kind != Kind::Build && !map.is_empty()).then(|| id.clone())
            }
            [Step::Key(id)] if fault.keyword == "propertyNames" => {
                id.split_once(" {").map(|(id, _)| id.to_owned())
            }
            _ => None,
        });
    let set_in: Vec<String> = set_in.collect();
    file.uses = walk::walk(tree, source, &schema.shapes, kind == Kind::Build);
    file.reading.lost_ids.extend(set_in);
    // Behind an id that is set in too far nothing is this record's own.
    let problems = file.reading.problems.iter();
    let mixed: Vec<usize> = problems
        .filter(|problem| problem.kind == ProblemKind::SetInTooFar)
        .filter_map(|problem| file.record_at(problem.span.range().start))
        .collect();
    if !mixed.is_empty() {
        let uses = &mut file.uses;
        uses.references.retain(|one| !mixed.contains(&one.entry));
    }
    file.take_out_wrong(&mut json);
    file.misfits = add_records(&mut model, kind, &json);
    if let Some(name) = file.blob.as_ref().filter(|_| file.is_clean()) {
        let Reading { source, tree, .. } = &file.reading;
        kept.put(name, kind, source, tree, &file.uses);
    }
    Ok(Taken::File(Arc::new(file), Box::new(model)))
}

/// A file as it was read before. It was clean by itself, or it would not have been kept.
fn again(path: &str, kind: Kind, packed: &[u8], name: String) -> Option<Taken> {
    let (text, tree, uses) = kept::unpacked(packed)?;
    let source = Source::new(path, text);
    let mut model = Model::default();
    let misfits = match &tree.root {
        Some(root) => add_records(&mut model, kind, &root.to_json(&source)),
        None => Vec::new(),
    };
    let file = RecordFile {
        kind,
        blob: Some(name),
        faults: Vec::new(),
        uses,
        misfits,
        reading: Reading {
            source,
            tree,
            problems: Vec::new(),
            lost_ids: Vec::new(),
        },
    };
    Some(Taken::File(Arc::new(file), Box::new(model)))
}

/// Adds a file's records to the typed build; those that the types don't take, by their
/// numbers.
fn add_records(model: &mut Model, kind: Kind, json: &serde_json::Value) -> Vec<(usize, Misfit)> {
    let mut misfits = Vec::new();
    let mut add = |entry: usize, id: &str, value: &serde_json::Value| {
        if let Err(misfit) = model.add(kind, id, 0, value) {
            misfits.push((entry, misfit));
        }
    };
    match (json, kind) {
        (_, Kind::Build) => add(0, "build", json),
        (serde_json::Value::Object(records), _) => {
            for (entry, (id, value)) in records.iter().enumerate() {
                add(entry, id, value);
            }
        }
        _ => {}
    }
    misfits
}

/// The folders inside a build that are builds of their own, as a copy kept for safety
/// is: with a `build.yaml` and a kind's folder beside it.
fn builds_inside(raw: &[RawFile]) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for file in raw {
        let Some(folder) = file.path.strip_suffix("/build.yaml") else {
            continue;
        };
        let known = found.iter().any(|outer| {
            let inner = folder.strip_prefix(outer.as_str());
            inner.is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
        });
        let holds_records = || {
            raw.iter().any(|other| {
                let inner = other.path.strip_prefix(folder);
                let inner = inner.and_then(|rest| rest.strip_prefix('/')?.split_once('/'));
                inner.is_some_and(|(first, _)| Kind::of_folder(first).is_some())
            })
        };
        if !known && holds_records() {
            found.push(folder.to_owned());
        }
    }
    found
}

/// `build.yml`, `Build.yaml`: meant as `build.yaml`.
fn is_build_misnamed(path: &str) -> bool {
    matches!(
        path.to_ascii_lowercase().as_str(),
        "build.yml" | "build.yaml"
    )
}
