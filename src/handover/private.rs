//! What the `private` patterns of build.yaml choose.
//!
//! A pattern is kind, id and field with slashes between. It may choose a whole record, a
//! field with all that is in it, or a field of `build.yaml`. The items of a list have no
//! names and are no step of a pattern, so the price in a line of an order is
//! `jobs/order-9/lines/price`.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use glob::{MatchOptions, Pattern};
use serde_json::Value;

use crate::model::Kind;
use crate::model::build::Build;
use crate::source::Source;
use crate::yaml::{Node, NodeKind, Reading, Route, Step};

const OPTIONS: MatchOptions = MatchOptions {
    case_sensitive: true,
    require_literal_separator: true,
    require_literal_leading_dot: false,
};

/// The shortest text that is looked for elsewhere: a shorter one stands everywhere.
const SHORTEST: usize = 4;

/// What is kept back when the folder is handed to somebody.
#[derive(Debug, Clone, Default)]
pub struct Private {
    patterns: Vec<Chosen>,
}

/// A pattern, and the kind that it names if it names one.
#[derive(Debug, Clone)]
struct Chosen {
    kind: Option<Kind>,
    pattern: Pattern,
}

/// A pattern that can't be read. Nothing may be handed over by it: nobody knows what it was
/// to keep back.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` under `private` in build.yaml can't be read as a pattern: {why}")]
pub struct BadPattern {
    /// The pattern as it is written.
    pub text: String,
    /// What is wrong with it.
    pub why: String,
}

impl Private {
    /// What a build keeps back.
    ///
    /// # Errors
    /// When a pattern can't be read.
    pub fn of(build: &Build) -> Result<Self, BadPattern> {
        Self::by(build.private.iter().map(|pattern| pattern.as_str()))
    }

    /// What these patterns choose.
    ///
    /// # Errors
    /// When one can't be read.
    pub fn by<'a>(texts: impl IntoIterator<Item = &'a str>) -> Result<Self, BadPattern> {
        let read = |text: &str| {
            let pattern = Pattern::new(text).map_err(|error| BadPattern {
                text: text.to_owned(),
                why: error.msg.to_owned(),
            })?;
            let first = text.split('/').next().unwrap_or_default();
            let kind = Kind::ALL.iter().find(|kind| kind.folder() == first);
            let kind = kind.copied();
            Ok(Chosen { kind, pattern })
        };
        let patterns: Result<_, BadPattern> = texts.into_iter().map(read).collect();
        Ok(Self {
            patterns: patterns?,
        })
    }

    /// Whether nothing is kept back.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.patterns.is_empty()
    }

    /// The patterns as they are written.
    pub fn patterns(&self) -> impl Iterator<Item = &str> {
        self.patterns.iter().map(|chosen| chosen.pattern.as_str())
    }

    /// The one kind that all patterns name, if they do: others need no look.
    #[must_use]
    pub fn kind(&self) -> Option<Kind> {
        let first = self.patterns.first()?.kind?;
        let same = self.patterns.iter().all(|one| one.kind == Some(first));
        same.then_some(first)
    }

    /// The patterns that may choose something of a kind.
    fn of_kind(&self, kind: Kind) -> Vec<&Pattern> {
        let fits = |chosen: &&Chosen| chosen.kind.is_none_or(|named| named == kind);
        let fits = self.patterns.iter().filter(fits);
        fits.map(|chosen| &chosen.pattern).collect()
    }

    /// The ways to what is private in a file, in the order of the file; what lies in
    /// something private is not told by itself.
    #[must_use]
    pub fn ways(&self, kind: Kind, reading: &Reading) -> Vec<Route> {
        self.chosen(kind, reading)
            .into_iter()
            .map(|(way, _)| way)
            .collect()
    }

    /// The same, each with the pattern that chose it.
    #[must_use]
    pub fn chosen(&self, kind: Kind, reading: &Reading) -> Vec<(Route, &str)> {
        let patterns = self.of_kind(kind);
        let mut found = Vec::new();
        if let (false, Some(root)) = (patterns.is_empty(), &reading.tree.root) {
            let mut path = kind.folder().to_owned();
            let mut steps = Vec::new();
            walk(root, &patterns, &mut path, &mut steps, &mut found);
        }
        found
    }

    /// Whether anything in a file is private; it looks no further than the first.
    #[must_use]
    pub fn chooses_any(&self, kind: Kind, reading: &Reading) -> bool {
        let patterns = self.of_kind(kind);
        let root = reading.tree.root.as_ref().filter(|_| !patterns.is_empty());
        root.is_some_and(|root| any(root, &patterns, &mut kind.folder().to_owned()))
    }

    /// Takes what is private out of the value of what stands at a way. What is private as a
    /// whole, or lies in something that is, becomes nothing.
    pub fn strip(&self, kind: Kind, way: &Route, value: &mut Value) {
        let patterns = self.of_kind(kind);
        if patterns.is_empty() {
            return;
        }
        let mut path = kind.folder().to_owned();
        for step in &way.0 {
            if let Step::Key(key) = step {
                path.push('/');
                path.push_str(key);
                if fits(&patterns, &path).is_some() {
                    *value = Value::Null;
                    return;
                }
            }
        }
        strip(value, &patterns, &mut path);
    }
}

/// The pattern that a path fits.
fn fits<'a>(patterns: &[&'a Pattern], path: &str) -> Option<&'a str> {
    let mut patterns = patterns.iter();
    let found = patterns.find(|pattern| pattern.matches_with(path, OPTIONS));
    found.map(|pattern| pattern.as_str())
}

fn any(node: &Node, patterns: &[&Pattern], path: &mut String) -> bool {
    node.items().iter().any(|item| any(item, patterns, path))
        || node.entries().iter().any(|entry| {
            let length = path.len();
            path.push('/');
            path.push_str(&entry.key.text);
            let found = fits(patterns, path).is_some() || any(&entry.value, patterns, path);
            path.truncate(length);
            found
        })
}

fn walk<'a>(
    node: &Node,
    patterns: &[&'a Pattern],
    path: &mut String,
    steps: &mut Vec<Step>,
    found: &mut Vec<(Route, &'a str)>,
) {
    for (number, item) in node.items().iter().enumerate() {
        steps.push(Step::Index(number));
        walk(item, patterns, path, steps, found);
        steps.pop();
    }
    for entry in node.entries() {
        let length = path.len();
        path.push('/');
        path.push_str(&entry.key.text);
        steps.push(Step::Key(entry.key.text.to_string()));
        match fits(patterns, path) {
            Some(pattern) => found.push((Route(steps.clone()), pattern)),
            None => walk(&entry.value, patterns, path, steps, found),
        }
        steps.pop();
        path.truncate(length);
    }
}

fn strip(value: &mut Value, patterns: &[&Pattern], path: &mut String) {
    match value {
        Value::Array(items) => {
            for item in items {
                strip(item, patterns, path);
            }
        }
        Value::Object(map) => map.retain(|key, value| {
            let length = path.len();
            path.push('/');
            path.push_str(key);
            let stays = fits(patterns, path).is_none();
            if stays {
                strip(value, patterns, path);
            }
            path.truncate(length);
            stays
        }),
        _ => {}
    }
}

/// Private values as texts, to be looked for where people write freely: in notes, in
/// comments, in what is said of a commit.
///
/// A text that stands in a field that is handed over anyway is no secret.
#[derive(Debug, Clone, Default)]
pub struct Texts {
    private: BTreeSet<String>,
    open: BTreeSet<String>,
}

impl Texts {
    /// Takes in the values of a file.
    pub fn add(&mut self, kind: Kind, reading: &Reading, private: &Private) {
        let ways: BTreeSet<Route> = private.ways(kind, reading).into_iter().collect();
        if let Some(root) = &reading.tree.root {
            self.gather(root, &reading.source, &ways, &mut Route::default(), false);
        }
    }

    fn gather(
        &mut self,
        node: &Node,
        source: &Source,
        ways: &BTreeSet<Route>,
        way: &mut Route,
        is_private: bool,
    ) {
        match &node.kind {
            NodeKind::Scalar { .. } => {
                let lines = node.text(source).unwrap_or_default().lines();
                let lines = lines.map(str::trim);
                let lines = lines.filter(|line| line.chars().count() >= SHORTEST);
                let texts = if is_private {
                    &mut self.private
                } else {
                    &mut self.open
                };
                texts.extend(lines.map(str::to_owned));
            }
            NodeKind::Seq(items) => {
                for (number, item) in items.iter().enumerate() {
                    way.0.push(number.into());
                    self.gather(item, source, ways, way, is_private);
                    way.0.pop();
                }
            }
            NodeKind::Map(entries) => {
                for entry in entries {
                    way.0.push((&*entry.key.text).into());
                    let is_private = is_private || ways.contains(way);
                    self.gather(&entry.value, source, ways, way, is_private);
                    way.0.pop();
                }
            }
        }
    }

    /// Takes in what another has gathered.
    pub fn join(&mut self, other: Self) {
        self.private.extend(other.private);
        self.open.extend(other.open);
    }

    /// Ready to be looked for.
    #[must_use]
    pub fn secrets(&self) -> Secrets {
        let mut by_beginning: BTreeMap<String, Vec<String>> = BTreeMap::new();
        // A word that the records themselves choose from, as `whole`, tells nothing elsewhere.
        let is_of_the_schemas = |text: &str| {
            let written = format!("\"{text}\"");
            let mut kinds = Kind::ALL.iter();
            kinds.any(|kind| kind.schema_text().contains(&written))
        };
        for text in self.private.difference(&self.open) {
            if is_of_the_schemas(text) {
                continue;
            }
            let beginning = text.chars().take(SHORTEST).collect();
            by_beginning
                .entry(beginning)
                .or_default()
                .push(text.clone());
        }
        for texts in by_beginning.values_mut() {
            // The longest first, so that nothing of it stays.
            texts.sort_by_key(|text| std::cmp::Reverse(text.len()));
        }
        Secrets { by_beginning }
    }
}

/// Private values to be looked for, by how they begin.
#[derive(Debug, Clone, Default)]
pub struct Secrets {
    by_beginning: BTreeMap<String, Vec<String>>,
}

impl Secrets {
    /// Where private values stand in a text, as words of their own.
    #[must_use]
    pub fn stands_in(&self, text: &str) -> Vec<Range<usize>> {
        let mut found: Vec<Range<usize>> = Vec::new();
        if self.by_beginning.is_empty() {
            return found;
        }
        let mut before: Option<char> = None;
        let mut behind = 0;
        for (at, c) in text.char_indices() {
            let inside = c.is_alphanumeric() && before.is_some_and(char::is_alphanumeric);
            before = Some(c);
            if at < behind || inside {
                continue;
            }
            let rest = &text[at..];
            let mut ends = rest.char_indices().skip(SHORTEST - 1);
            let Some((last, c)) = ends.next() else { break };
            let Some(texts) = self.by_beginning.get(&rest[..last + c.len_utf8()]) else {
                continue;
            };
            let whole = |secret: &&String| {
                let next = rest
                    .get(secret.len()..)
                    .and_then(|rest| rest.chars().next());
                let last = secret.chars().next_back();
                rest.starts_with(secret.as_str())
                    && !(next.is_some_and(char::is_alphanumeric)
                        && last.is_some_and(char::is_alphanumeric))
            };
            if let Some(secret) = texts.iter().find(whole) {
                behind = at + secret.len();
                found.push(at..behind);
            }
        }
        found
    }

    /// The text with every private value in it put out, if there is one.
    #[must_use]
    pub fn put_out(&self, text: &str) -> Option<String> {
        let found = self.stands_in(text);
        if found.is_empty() {
            return None;
        }
        let mut anew = String::with_capacity(text.len());
        let mut at = 0;
        for range in found {
            anew.push_str(&text[at..range.start]);
            anew.push_str("[left out]");
            at = range.end;
        }
        anew.push_str(&text[at..]);
        Some(anew)
    }
}
