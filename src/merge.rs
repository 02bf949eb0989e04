//! Three versions of a file of records, made into one by record and by field.
//!
//! What only one side changed is taken from it as it is written there, with its comments and
//! its layout. What both changed in two ways is a clash: nobody but a person can tell which
//! is right, so all three versions of it stay to be read.

mod marks;
mod meaning;
mod pages;
mod text;
mod weave;

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value};

use crate::folder::schema_of;
use crate::model::Kind;
use crate::source::{NotText, Source, Span};
use crate::yaml::edit::Page;
use crate::yaml::{self, Node, NodeKind, Reading, Route};
use meaning::Meaning;
use text::Merger;

/// A byte-order mark.
const MARK: char = '\u{FEFF}';

/// One of the three.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Version {
    /// What both sides began from.
    Base,
    /// What is here.
    Ours,
    /// What comes in.
    Theirs,
}

/// The same thing in the three versions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Three<T> {
    /// What both sides began from.
    pub base: T,
    /// What is here.
    pub ours: T,
    /// What comes in.
    pub theirs: T,
}

/// A version that can't be merged by record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unread {
    /// Which one.
    pub version: Version,
    /// Why, in a sentence with its line.
    pub why: String,
}

/// Something that both sides changed, each in its own way.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Clash {
    /// Where in the file, as its keys lead there.
    pub way: Route,
    /// How.
    pub how: How,
}

/// How two changes clash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum How {
    /// One value became two.
    TwoValues,
    /// One side took out what the other changed.
    GoneAndChanged {
        /// The side that took it out.
        gone: Version,
    },
    /// One new name was given to two things.
    TwoThings,
    /// One thing was given two names.
    TwoNames,
    /// Both changed a comment.
    Comment,
    /// Both changed how it is written, and no layout can hold both.
    Layout,
}

/// What a marked conflict is called at its lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Marks {
    /// How many characters a marker is long; git says 7.
    pub size: usize,
    /// What the three versions are called.
    pub names: Three<String>,
}

/// A piece of the text that came of it.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Piece {
    /// All agree, or one side's change was taken.
    Agreed(String),
    /// A clash, as each version has it.
    Parted(Three<String>),
}

/// What came of three versions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Merged {
    pieces: Vec<Piece>,
    look: Look,
    /// What clashed, in the order of the file; none in a clean merge.
    pub clashes: Vec<Clash>,
}

/// Merges three versions of a file of records of one kind. A version that is not there is
/// an empty one.
///
/// # Errors
/// When one of them is no text, or can't be read as records.
pub fn merge(kind: Kind, path: &str, versions: Three<Vec<u8>>) -> Result<Merged, Unread> {
    merge_but(kind, path, versions, |_, _| {})
}

/// The same where ours holds more than the others were ever given: `strip` takes that out
/// of the value of what stands at a way. It is kept, and is no change of ours.
///
/// # Errors
/// When one of them is no text, or can't be read as records.
pub fn merge_but(
    kind: Kind,
    path: &str,
    versions: Three<Vec<u8>>,
    strip: impl Fn(&Route, &mut Value),
) -> Result<Merged, Unread> {
    let Three { base, ours, theirs } = &versions;
    if ours == theirs || theirs == base {
        return as_it_is(path, Version::Ours, versions.ours);
    }
    if ours == base {
        return as_it_is(path, Version::Theirs, versions.theirs);
    }
    let base = Paper::of(path, Version::Base, versions.base)?;
    let ours = Paper::of(path, Version::Ours, versions.ours)?;
    let theirs = Paper::of(path, Version::Theirs, versions.theirs)?;
    let papers = Three { base, ours, theirs };
    let look = Look::of(&papers);
    let schema = schema_of(kind).map_err(|error| Unread {
        version: Version::Base,
        why: error.to_string(),
    })?;
    let meaning = Meaning {
        shapes: &schema.shapes,
        strip: &strip,
    };
    let pages = papers.as_ref().map(|paper| Page::of(&paper.reading));
    let mut merger = Merger {
        pages,
        meaning,
        clashes: Vec::new(),
        loose: BTreeSet::new(),
    };
    let plain = papers.base.as_was && papers.ours.as_was && papers.theirs.as_was;
    let pieces = if plain { merger.file() } else { Vec::new() };
    let mut merged = Merged {
        pieces,
        clashes: merger.clashes,
        look,
    };
    if !merged.look.ends && !merged.may_end_open() {
        merged.look.ends = true;
    }
    if says_what_is_meant(&merged, &merger.loose, meaning, pages) {
        return Ok(merged);
    }
    // The lines were put together otherwise than they are meant: nothing is taken of that.
    Ok(Merged {
        pieces: vec![Piece::Parted(pages.map(|page| page.text.to_owned()))],
        clashes: vec![Clash {
            way: Route::default(),
            how: How::Layout,
        }],
        look,
    })
}

/// A version that is the outcome as it stands.
fn as_it_is(path: &str, version: Version, bytes: Vec<u8>) -> Result<Merged, Unread> {
    let source = source(path, version, bytes)?;
    Ok(Merged {
        pieces: vec![Piece::Agreed(source.text)],
        clashes: Vec::new(),
        look: Look::default(),
    })
}

/// Whether what was put together says what it should, settled either way, and lacks no
/// comment.
fn says_what_is_meant(
    merged: &Merged,
    loose: &BTreeSet<String>,
    meaning: Meaning<'_>,
    pages: Three<Page<'_>>,
) -> bool {
    let nothing = || Value::Object(Map::new());
    let json = pages.map(|page| Some(says(page.reading).unwrap_or_else(nothing)));
    let meant = meaning.of(
        &Route::default(),
        Some(meaning.shapes.top()),
        json.as_ref().map(Option::as_ref),
        &mut Vec::new(),
    );
    // What could not be put together stands there as each side had it; without an id all of it.
    let apart = |id: &String| loose.contains("") || loose.contains(id);
    let plain = |value: Option<Value>| -> Map<String, Value> {
        let map = match value {
            Some(Value::Object(map)) => map,
            _ => Map::new(),
        };
        map.into_iter().filter(|(id, _)| !apart(id)).collect()
    };
    let known = pages.map(|page| counted(page.reading));
    let sides: &[Version] = match merged.is_clean() {
        true => &[Version::Ours],
        false => &[Version::Ours, Version::Theirs],
    };
    sides.iter().all(|version| {
        let text = merged.pieces.iter().map(|piece| piece.of(*version));
        let reading = yaml::read(Source::new("", text.collect::<String>()));
        reading.problems.is_empty()
            && repeated(&reading).is_none()
            && plain(says(&reading)) == plain(meant.of(*version).clone())
            && keeps_comments(&counted(&reading), &known, *version, merged.is_clean())
    })
}

/// Whether each comment is there as often as it should be. Where something clashes, nobody
/// can tell of those that one side took out; but what the side itself put in is there.
fn keeps_comments(
    is: &BTreeMap<String, i64>,
    known: &Three<BTreeMap<String, i64>>,
    settled_by: Version,
    clean: bool,
) -> bool {
    let texts: BTreeSet<&String> = [&known.base, &known.ours, &known.theirs, is]
        .into_iter()
        .flat_map(BTreeMap::keys)
        .collect();
    texts.into_iter().all(|text| {
        let count = |all: &BTreeMap<String, i64>| all.get(text).copied().unwrap_or_default();
        let (was, is) = (count(&known.base), count(is));
        let (ours, theirs) = (count(&known.ours), count(&known.theirs));
        let both = ours + theirs - was;
        if !clean {
            let (own, other) = match settled_by {
                Version::Theirs => (theirs, ours),
                Version::Base | Version::Ours => (ours, theirs),
            };
            return own <= was || is >= own - (was - other).max(0);
        }
        let span = match ((ours - was).signum(), (theirs - was).signum()) {
            (1, 1) => ours.max(theirs)..=both,
            (-1, -1) => both.max(0)..=ours.min(theirs),
            _ => both..=both,
        };
        span.contains(&is)
    })
}

/// What a file says.
fn says(reading: &Reading) -> Option<Value> {
    let root = reading.tree.root.as_ref()?;
    Some(root.to_json(&reading.source))
}

/// How often each comment stands in a file.
fn counted(reading: &Reading) -> BTreeMap<String, i64> {
    let mut all = BTreeMap::new();
    for comment in &reading.tree.comments {
        let text = reading.source.slice(comment.span).trim_end();
        *all.entry(text.to_owned()).or_default() += 1;
    }
    all
}

/// One version, its lines ending as they should.
struct Paper {
    reading: Reading,
    look: Look,
    /// Whether it says the same as it did before.
    as_was: bool,
}

/// How a file is written, apart from its lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Look {
    /// A byte-order mark before it.
    mark: bool,
    /// Lines that end in a carriage return as well.
    returns: bool,
    /// A last line that ends.
    ends: bool,
}

impl Default for Look {
    fn default() -> Self {
        Self {
            mark: false,
            returns: false,
            ends: true,
        }
    }
}

impl Look {
    fn of(papers: &Three<Paper>) -> Self {
        // An empty version looks like nothing.
        let known = papers.as_ref().map(|paper| {
            let empty = paper.reading.source.text.is_empty();
            (!empty).then_some(paper.look)
        });
        let one = |part: fn(Look) -> bool, both: bool| {
            let looks = known.map(|look| look.map(part));
            match (looks.ours, looks.theirs) {
                (Some(_), Some(_)) => looks.picked().flatten().unwrap_or(both),
                (ours, theirs) => ours.or(theirs).unwrap_or(both),
            }
        };
        Self {
            mark: one(|look| look.mark, false),
            returns: one(|look| look.returns, false),
            ends: one(|look| look.ends, true),
        }
    }
}

impl Paper {
    fn of(path: &str, version: Version, bytes: Vec<u8>) -> Result<Self, Unread> {
        let unread = |why: String| Unread { version, why };
        let whole = read(path, version, bytes)?;
        let text = whole.source.text.as_str();
        let (mark, text) = match text.strip_prefix(MARK) {
            Some(text) => (true, text),
            None => (false, text),
        };
        let returns = text.matches('\r').count();
        let ends = text.is_empty() || text.ends_with('\n');
        let mut text = text.to_owned();
        if returns > 0 && returns == text.matches("\r\n").count() {
            let lines = text.matches('\n').count();
            if returns == lines {
                text = text.replace("\r\n", "\n");
            }
        }
        let left = text.contains('\r');
        if !ends {
            text.push('\n');
        }
        let look = Look {
            mark,
            returns: returns > 0 && !left,
            ends,
        };
        let (reading, as_was) = if text == whole.source.text {
            (whole, !left)
        } else {
            let reading = yaml::read(Source::new(path, text));
            let as_was = !left && says(&reading) == says(&whole);
            (reading, as_was)
        };
        if let Some(root) = &reading.tree.root
            && !matches!(root.kind, NodeKind::Map(_))
        {
            return Err(unread("it holds no records".to_owned()));
        }
        if let Some(span) = repeated(&reading) {
            let line = reading.source.position(span.range().start).line;
            return Err(unread(format!(
                "line {line} has a key that stands there already"
            )));
        }
        Ok(Self {
            reading,
            look,
            as_was,
        })
    }
}

/// A key that stands twice in one map.
fn repeated(reading: &Reading) -> Option<Span> {
    fn inside(node: &Node) -> Option<Span> {
        let mut seen = BTreeSet::new();
        let twice = node
            .entries()
            .iter()
            .find(|entry| !seen.insert(&entry.key.text));
        let within = node
            .entries()
            .iter()
            .map(|entry| &entry.value)
            .chain(node.items());
        twice
            .map(|entry| entry.key.span)
            .or_else(|| within.into_iter().find_map(inside))
    }
    reading.tree.root.as_ref().and_then(inside)
}

fn source(path: &str, version: Version, bytes: Vec<u8>) -> Result<Source, Unread> {
    Source::from_bytes(path, bytes).map_err(|why| Unread {
        version,
        why: match why {
            NotText::NotUtf8(at) => format!("a byte of line {} is no UTF-8", at.line),
            NotText::OtherEncoding(name) => format!("it is {name}"),
            NotText::TooLarge(_) => "it is too large".to_owned(),
        },
    })
}

fn read(path: &str, version: Version, bytes: Vec<u8>) -> Result<Reading, Unread> {
    let reading = yaml::read(source(path, version, bytes)?);
    match reading.problems.first() {
        Some(problem) => {
            let line = reading.source.position(problem.span.range().start).line;
            let why = format!("line {line} can't be read");
            Err(Unread { version, why })
        }
        None => Ok(reading),
    }
}

impl Merged {
    /// Whether nothing clashed.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.clashes.is_empty()
    }

    /// Whether it says the same without its last line end: a text on lines of its own may
    /// hold that.
    fn may_end_open(&self) -> bool {
        let open = |version: Version| {
            let text: String = self.pieces.iter().map(|piece| piece.of(version)).collect();
            let says = |text: &str| says(&yaml::read(Source::new("", text)));
            says(&text) == says(text.strip_suffix('\n').unwrap_or(&text))
        };
        open(Version::Ours) && open(Version::Theirs) && open(Version::Base)
    }

    /// The text, with the usual markers round the lines of each clash.
    #[must_use]
    pub fn text(&self, marks: &Marks) -> String {
        // A byte-order mark stands before what each version has at the top, not before a marker.
        let mut pieces = self.pieces.clone();
        let mark = |text: &mut String| {
            if self.look.mark && !text.is_empty() {
                text.insert(0, MARK);
            }
        };
        match pieces.iter_mut().find(|piece| !piece.is_empty()) {
            Some(Piece::Agreed(text)) => mark(text),
            Some(Piece::Parted(texts)) => texts.with(Three::all(()), |text, ()| mark(text)),
            None => {}
        }
        let look = Look {
            mark: false,
            ..self.look
        };
        look.put_on(marks::marked(&pieces, marks))
    }

    /// The text with every clash settled as one version has it.
    #[must_use]
    pub fn settled(&self, by: Version) -> String {
        let texts = self.pieces.iter().map(|piece| piece.of(by));
        self.look.put_on(texts.collect())
    }
}

impl Look {
    /// A text as it is written to a file.
    fn put_on(self, mut text: String) -> String {
        if !self.ends && text.ends_with('\n') {
            text.pop();
        }
        if self.returns {
            text = text.replace('\n', "\r\n");
        }
        if self.mark {
            text.insert(0, MARK);
        }
        text
    }
}

impl Piece {
    fn is_empty(&self) -> bool {
        match self {
            Self::Agreed(text) => text.is_empty(),
            Self::Parted(_) => false,
        }
    }

    fn of(&self, version: Version) -> &str {
        match self {
            Self::Agreed(text) => text,
            Self::Parted(texts) => texts.of(version),
        }
    }
}

impl<T> Three<T> {
    /// What one version has.
    #[must_use]
    pub fn of(&self, version: Version) -> &T {
        match version {
            Version::Base => &self.base,
            Version::Ours => &self.ours,
            Version::Theirs => &self.theirs,
        }
    }

    /// The same done to each.
    pub fn map<U>(self, mut each: impl FnMut(T) -> U) -> Three<U> {
        Three {
            base: each(self.base),
            ours: each(self.ours),
            theirs: each(self.theirs),
        }
    }

    fn as_ref(&self) -> Three<&T> {
        Three {
            base: &self.base,
            ours: &self.ours,
            theirs: &self.theirs,
        }
    }

    /// Each with its like.
    fn both<'a, U, V>(&'a self, other: Three<U>, each: impl Fn(&'a T, U) -> V) -> Three<V> {
        Three {
            base: each(&self.base, other.base),
            ours: each(&self.ours, other.ours),
            theirs: each(&self.theirs, other.theirs),
        }
    }

    /// Each changed by its like.
    fn with<U>(&mut self, other: Three<U>, mut each: impl FnMut(&mut T, U)) {
        each(&mut self.base, other.base);
        each(&mut self.ours, other.ours);
        each(&mut self.theirs, other.theirs);
    }
}

impl<T: Clone> Three<T> {
    fn all(one: T) -> Self {
        Self {
            base: one.clone(),
            ours: one.clone(),
            theirs: one,
        }
    }
}

impl<T: PartialEq + Copy> Three<T> {
    /// What one side made of it, or both; none where each made something else of it.
    fn picked(self) -> Option<T> {
        let Self { base, ours, theirs } = self;
        if ours == theirs || theirs == base {
            Some(ours)
        } else if ours == base {
            Some(theirs)
        } else {
            None
        }
    }
}

impl<T: PartialEq> Three<T> {
    fn agree(&self) -> bool {
        self.ours == self.theirs && self.ours == self.base
    }
}

impl Three<Option<Value>> {
    fn from_maps(maps: Three<serde_json::Map<String, Value>>) -> Self {
        maps.map(|map| Some(Value::Object(map)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn merged(base: &str, ours: &str, theirs: &str) -> (String, Vec<String>) {
        let versions = Three { base, ours, theirs };
        let both = |versions: Three<&str>| {
            let bytes = versions.map(|text| text.as_bytes().to_vec());
            merge(Kind::Parts, "parts/all.yaml", bytes).unwrap()
        };
        let merged = both(versions);
        let turned = both(Three {
            base,
            ours: theirs,
            theirs: ours,
        });
        for (one, other) in [
            (Version::Ours, Version::Theirs),
            (Version::Base, Version::Base),
        ] {
            assert_eq!(merged.settled(one), turned.settled(other));
        }
        let names = Three {
            base: "base".to_owned(),
            ours: "ours".to_owned(),
            theirs: "theirs".to_owned(),
        };
        let clashes = merged.clashes.iter();
        let clashes = clashes.map(|clash| format!("{} {:?}", clash.way, clash.how));
        (merged.text(&Marks { size: 7, names }), clashes.collect())
    }

    fn clean(base: &str, ours: &str, theirs: &str, is: &str) {
        let (text, clashes) = merged(base, ours, theirs);
        assert_eq!((text.as_str(), clashes), (is, Vec::new()));
    }

    const BASE: &str = "# Parts\n\npump:\n  name: Pump # the old one\n  number: \"WP-1\"\n  pieces:\n    P1: {donor: van, newness: used}\n    # found in box 3\n    P2:\n      donor: hatch\n      fitted:\n        - {as: mock-up, when: 2026-01-01}\n\nvalve:\n  name: Valve\n";

    fn base_with(changes: &[(&str, &str)]) -> String {
        changes.iter().fold(BASE.to_owned(), |text, (was, is)| {
            assert!(text.contains(was), "{was}");
            text.replacen(was, is, 1)
        })
    }

    #[test]
    fn fields_comments_and_events_of_both() {
        clean(
            BASE,
            &base_with(&[
                ("name: Pump #", "name: Water pump #"),
                ("newness: used", "newness: used, keep: spare"),
                (
                    "2026-01-01}\n",
                    "2026-01-01}\n        - {as: mock-up, when: 2026-03-01}\n",
                ),
                ("valve:", "new-b:\n  name: B\n\nvalve:"),
            ]),
            &base_with(&[
                ("# the old one", "# the one from the van"),
                ("{donor: van,", "{donor: van, condition: scrap,"),
                (
                    "2026-01-01}\n",
                    "2026-01-01}\n        - {as: final, when: 2026-02-01} # tight\n",
                ),
                ("valve:", "# A comes first\nnew-a:\n  name: A\n\nvalve:"),
            ]),
            &base_with(&[
                ("Pump # the old one", "Water pump # the one from the van"),
                (
                    "{donor: van, newness: used",
                    "{donor: van, condition: scrap, newness: used, keep: spare",
                ),
                (
                    "2026-01-01}\n",
                    "2026-01-01}\n        - {as: final, when: 2026-02-01} # tight\n        - {as: mock-up, when: 2026-03-01}\n",
                ),
                (
                    "valve:",
                    "# A comes first\nnew-a:\n  name: A\n\nnew-b:\n  name: B\n\nvalve:",
                ),
            ]),
        );
    }

    #[test]
    fn moved_by_one_and_changed_by_the_other() {
        let moved = BASE.replacen("valve:\n  name: Valve\n", "", 1);
        let moved = moved.replacen("pump:", "valve:\n  name: Valve\n\npump:", 1);
        let moved = moved.trim_end().to_owned() + "\n";
        let (text, clashes) = merged(
            BASE,
            &moved,
            &base_with(&[("name: Valve", "name: Air valve")]),
        );
        assert_eq!(clashes, Vec::<String>::new());
        assert!(
            text.find("Air valve").unwrap() < text.find("Pump").unwrap(),
            "{text}"
        );
    }

    #[test]
    fn a_clash_holds_the_fewest_lines() {
        let (text, clashes) = merged(
            BASE,
            &base_with(&[("donor: van", "donor: coupe"), ("name: Valve", "name: V")]),
            &base_with(&[("donor: van, newness: used", "donor: truck, newness: new")]),
        );
        assert_eq!(clashes, ["/pump/pieces/P1/donor TwoValues"]);
        assert_eq!(
            text,
            base_with(&[
                (
                    "    P1: {donor: van, newness: used}\n",
                    "<<<<<<< ours\n    P1: {donor: coupe, newness: new}\n||||||| base\n    P1: {donor: van, newness: new}\n=======\n    P1: {donor: truck, newness: new}\n>>>>>>> theirs\n"
                ),
                ("name: Valve", "name: V")
            ])
        );
    }

    #[test]
    fn taken_out_and_changed() {
        let gone = BASE.replacen("\nvalve:\n  name: Valve\n", "", 1);
        let (text, clashes) = merged(BASE, &gone, &base_with(&[("name: Valve", "name: V")]));
        assert_eq!(clashes, ["/valve GoneAndChanged { gone: Ours }"]);
        assert!(text.ends_with("<<<<<<< ours\n||||||| base\n\nvalve:\n  name: Valve\n=======\n\nvalve:\n  name: V\n>>>>>>> theirs\n"), "{text}");
        clean(
            BASE,
            &gone,
            &base_with(&[("name: Pump", "name: P")]),
            &gone.replacen("name: Pump", "name: P", 1),
        );
    }

    #[test]
    fn steps_and_new_things_clash() {
        let (_, clashes) = merged(
            "a:\n  name: A\n",
            "a:\n  name: A\nb: {name: B}\n",
            "a:\n  name: A\nb: {name: C}\n",
        );
        assert_eq!(clashes, ["/b TwoThings"]);
        let (text, clashes) = merged(
            "",
            "a:\n  pieces:\n    P1: {donor: x}\n",
            "b:\n  pieces:\n    P1: {donor: x}",
        );
        assert_eq!(
            (text.as_str(), clashes),
            (
                "a:\n  pieces:\n    P1: {donor: x}\nb:\n  pieces:\n    P1: {donor: x}\n",
                vec![]
            )
        );
    }

    #[test]
    fn another_layout_on_one_side() {
        let base = "a: {name: A, number: x}\nb:\n  name: B\n";
        let ours = "a:\n  # ours\n  name: A\n  number: x\nb:\n    name: B\n";
        let theirs = "a: {name: A2, number: x, maker: M}\nb:\n  name: B2\n";
        clean(
            base,
            ours,
            theirs,
            "a:\n  # ours\n  name: A2\n  number: x\n  maker: M\nb:\n    name: B2\n",
        );
    }

    #[test]
    fn items_of_both_in_two_layouts() {
        let base = "head:\n  pieces:\n    P1:\n      readings:\n      - {is: 1, when: 2}\n      - is: 3\n        how: 4\n  note: x\n";
        let with = |item: &str| base.replace("how: 4\n", &format!("how: 4\n{item}"));
        let ours = "      - is: 38 mm\n        how: as found\n";
        let theirs = "      - {is: 46 mm,\n          how: 45 mm}\n";
        let both = with(&format!("{theirs}{ours}"));
        clean(base, &with(ours), &with(theirs), &both);
    }

    #[test]
    fn line_ends_marks_and_last_lines() {
        let base = "a:\n  name: A\nb:\n  name: B\n";
        clean(
            base,
            "\u{FEFF}a:\r\n  name: A\r\nb:\r\n  name: B\r\n",
            "a:\n  name: A\nb:\n  name: C",
            "\u{FEFF}a:\r\n  name: A\r\nb:\r\n  name: C",
        );
    }
}
