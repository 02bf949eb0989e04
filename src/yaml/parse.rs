//! From text to tree, over the events of granit-parser. The only file that
//! knows that crate.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry as Slot;

use granit_parser::{ErrorKind, Event, Marker, Parser, ScalarStyle, ScanError, StructureStyle};

use super::blame;
use super::tree::{Comment, Entry, Key, Node, NodeKind, Style, Tree};
use crate::source::{Source, Span};

/// How deep maps and lists may lie in one another. Records need about ten.
pub const DEPTH: usize = 64;

/// Something in a file that can't be read, or that readers disagree about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where.
    pub span: Span,
    /// What.
    pub kind: ProblemKind,
}

/// What can't be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ProblemKind {
    /// The text is no YAML from here on.
    Syntax(Fault),
    /// Two versions of a merge stand side by side.
    MergeMarker,
    /// `&name`.
    Anchor,
    /// `*name`.
    Alias,
    /// `!tag`.
    Tag,
    /// `<<`.
    MergeKey,
    /// `---` or text after the end of the record map.
    SecondDocument,
    /// `%YAML` and the like.
    Directive,
    /// A key that is a list or a map.
    KeyNotText,
    /// A key that stands in the same map before.
    RepeatedKey {
        /// The key's first place.
        first: Span,
    },
    /// A key that holds nothing, with the keys of its map once more behind it: a record
    /// whose id is set in as far as its fields.
    SetInTooFar,
    /// The file's top is no map of records.
    NotAMap,
}

/// What is wrong with text that is no YAML.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// A tab where a line is set in.
    Tab,
    /// `{` or `[` with no end.
    Unclosed(char),
    /// A bracket whose closing half stands in a comment on its line.
    InComment(char),
    /// A quote with no end.
    UnclosedQuote,
    /// A comma or closing bracket is missing.
    MissingComma(char),
    /// The line is set in unlike the lines around it.
    Indentation {
        /// The line above that it could stand beside.
        like: Option<Span>,
        /// How many spaces that line is set in by.
        by: u16,
    },
    /// An item of a list where the line before it is a key of a map.
    ItemAmongKeys,
    /// A colon with a space inside a text.
    ColonInText,
    /// A key without its colon.
    MissingColon,
    /// A key whose colon has no space behind it.
    NoSpace,
    /// A comma with nothing before it.
    StrayComma,
    /// A closing bracket that closes nothing.
    StrayClose(char),
    /// A character that no plain text may start with.
    StartsWith(char),
    /// A character that no text file should hold.
    Character(char),
    /// A backslash that means nothing in double quotes.
    Escape,
    /// Text straight after this closing quote or bracket.
    AfterValue(char),
    /// Maps and lists too deep in one another.
    TooDeep,
    /// A comment straight after text.
    CommentTooClose,
    /// Anything else.
    Other,
}

/// One file, read.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The file.
    pub source: Source,
    /// What it holds; empty if it can't be read.
    pub tree: Tree,
    /// What can't be read in it.
    pub problems: Vec<Problem>,
    /// Ids that a file which can't be read seems to hold, so that references to
    /// them are not called unknown as well.
    pub lost_ids: Vec<String>,
}

/// Reads one file. Never fails: what can't be read is a problem in the answer.
#[must_use]
pub fn read(source: Source) -> Reading {
    let markers = merge_markers(&source);
    if !markers.is_empty() {
        return unreadable(source, markers);
    }
    let mut builder = Builder::new(&source);
    match builder.run() {
        Ok(()) => {
            let Builder {
                root,
                comments,
                problems,
                ..
            } = builder;
            let lost_ids = problems
                .iter()
                .filter(|problem| problem.kind == ProblemKind::SetInTooFar)
                .map(|problem| source.slice(problem.span).to_owned())
                .collect();
            Reading {
                tree: Tree { root, comments },
                problems,
                lost_ids,
                source,
            }
        }
        Err(problem) => {
            let mut problems = builder.problems;
            problems.push(problem);
            unreadable(source, problems)
        }
    }
}

fn unreadable(source: Source, problems: Vec<Problem>) -> Reading {
    // Whatever is amiss, an id may have lost its colon, or stand too far in.
    let lost_ids = source
        .lines()
        .filter_map(|(_, line)| {
            let line = line.trim_start_matches(['\u{FEFF}', ' ', '\t']).trim_end();
            let line = line.trim_start_matches(['"', '\'']);
            let letter = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
            let rest = line.trim_start_matches(letter);
            let id = &line[..line.len() - rest.len()];
            let ends = rest.trim_start_matches(['"', '\'', ' ', '\t']);
            let is_id = !id.is_empty() && (ends.is_empty() || ends.starts_with([':', '{']));
            is_id.then(|| id.to_owned())
        })
        .collect();
    Reading {
        source,
        tree: Tree::default(),
        problems,
        lost_ids,
    }
}

/// The marks that git leaves around two versions, one problem a place.
fn merge_markers(source: &Source) -> Vec<Problem> {
    let mut problems = Vec::new();
    let mut inside = false;
    for (start, line) in source.lines() {
        let opens = line.starts_with("<<<<<<< ");
        let closes = line.starts_with(">>>>>>> ");
        let between = line == "=======" || line.starts_with("||||||| ");
        if opens || (closes || between) && !inside {
            problems.push(Problem {
                span: Span::new(start..start + line.len()),
                kind: ProblemKind::MergeMarker,
            });
        }
        inside = (inside || opens || between) && !closes;
    }
    problems
}

enum Frame {
    Seq {
        start: usize,
        flow: bool,
        items: Vec<Node>,
    },
    Map {
        start: usize,
        flow: bool,
        entries: Vec<Entry>,
        key: Option<Key>,
    },
}

struct Builder<'s> {
    source: &'s Source,
    frames: Vec<Frame>,
    root: Option<Node>,
    comments: Vec<Comment>,
    problems: Vec<Problem>,
}

impl<'s> Builder<'s> {
    fn new(source: &'s Source) -> Self {
        Self {
            source,
            frames: Vec::new(),
            root: None,
            comments: Vec::new(),
            problems: Vec::new(),
        }
    }

    fn run(&mut self) -> Result<(), Problem> {
        let options = granit_parser::options! {
            flow_nesting_limit: DEPTH,
            block_nesting_limit: DEPTH,
            emit_unresolved_aliases: true,
            emit_anchor_events: true,
            block_scalar_eof_without_line_feed: true,
            max_buffered_comment_events: 1 << 16,
        };
        let text: &'s str = &self.source.text;
        let mut documents = 0;
        for next in Parser::new_from_str_with_options(text, options) {
            let (event, span) = next.map_err(|error| self.fault(&error))?;
            let range = span.byte_range().unwrap_or(0..0);
            match event {
                Event::DocumentStart(_, version) => {
                    documents += 1;
                    if documents > 1 {
                        self.report(self.divider(range.start), ProblemKind::SecondDocument);
                        return Ok(());
                    }
                    if version.is_some() || text.trim_start_matches('\u{FEFF}').starts_with('%') {
                        self.report(Span::new(0..1), ProblemKind::Directive);
                    }
                }
                Event::Comment(..) => self.comments.push(Comment {
                    span: Span::new(range),
                }),
                Event::Anchor(..) => self.report(Span::new(range), ProblemKind::Anchor),
                Event::Alias(_) | Event::UnresolvedAlias(_) => {
                    self.report(Span::new(range.clone()), ProblemKind::Alias);
                    let text = self.source.slice(Span::new(range.clone())).into();
                    self.put(scalar(Span::new(range), Style::Quoted, Some(text)));
                }
                Event::Scalar(value, style, _, tag) => {
                    if tag.is_some() {
                        self.report(tag_span(&span, &range), ProblemKind::Tag);
                    }
                    self.scalar(&value, style, range);
                }
                Event::SequenceStart(style, _, tag) => {
                    if tag.is_some() {
                        self.report(tag_span(&span, &range), ProblemKind::Tag);
                    }
                    self.open(Frame::Seq {
                        start: range.start,
                        flow: style == StructureStyle::Flow,
                        items: Vec::new(),
                    })?;
                }
                Event::MappingStart(style, _, tag) => {
                    if tag.is_some() {
                        self.report(tag_span(&span, &range), ProblemKind::Tag);
                    }
                    self.open(Frame::Map {
                        start: range.start,
                        flow: style == StructureStyle::Flow,
                        entries: Vec::new(),
                        key: None,
                    })?;
                }
                Event::SequenceEnd | Event::MappingEnd => self.close(range.end),
                _ => {}
            }
        }
        if let Some(root) = &self.root
            && !matches!(root.kind, NodeKind::Map(_))
            && !root.span.range().is_empty()
        {
            let span = root.span;
            self.root = None;
            self.report(span, ProblemKind::NotAMap);
        } else if self
            .root
            .as_ref()
            .is_some_and(|root| root.span.range().is_empty())
        {
            self.root = None;
        }
        Ok(())
    }

    /// The `---` or `...` that ends the records before a spot.
    fn divider(&self, at: usize) -> Span {
        let lines = self.source.lines();
        let found = lines
            .take_while(|(start, _)| *start <= at)
            .filter(|(_, line)| line.starts_with("---") || line.starts_with("..."))
            .last();
        let start = found.map_or(at, |(start, _)| start);
        Span::new(start..found.map_or(at, |_| start + 3))
    }

    fn report(&mut self, span: Span, kind: ProblemKind) {
        self.problems.push(Problem { span, kind });
    }

    fn scalar(&mut self, value: &str, style: ScalarStyle, range: std::ops::Range<usize>) {
        let text = &self.source.text;
        let (style, range) = match style {
            ScalarStyle::Plain => (Style::Plain, range),
            ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted => (Style::Quoted, range),
            _ => (Style::Block, self.block(range)),
        };
        // The parser gives `~` for a value that is not there, with an empty span.
        let (value, range) = if style == Style::Plain && range.is_empty() {
            ("", self.place_of_nothing())
        } else {
            (value, range)
        };
        let shown = match style {
            Style::Quoted => text.get(range.start + 1..range.end.saturating_sub(1)),
            _ => text.get(range.clone()),
        };
        let cooked = (shown != Some(value)).then(|| value.into());
        self.put(scalar(Span::new(range), style, cooked));
    }

    /// A block of text with its `|` or `>`. The parser's span begins behind the
    /// header and runs on into the next line's indentation.
    fn block(&self, content: std::ops::Range<usize>) -> std::ops::Range<usize> {
        let text = &self.source.text;
        let before = self.end_before();
        let before = before.min(content.start);
        let header = text[before..content.start]
            .find(['|', '>'])
            .map_or(content.start, |found| before + found);
        let kept = text[content.clone()].trim_end_matches([' ', '\t', '\n', '\r']);
        let end = if kept.is_empty() {
            let marks = text[header..].trim_start_matches(['|', '>', '+', '-']);
            let marks =
                marks.trim_start_matches(|c: char| c.is_ascii_digit() || c == '+' || c == '-');
            text.len() - marks.len()
        } else {
            content.start + kept.len()
        };
        header..end
    }

    /// Where the last thing that was read ends: a key, or a value before.
    fn end_before(&self) -> usize {
        match self.frames.last() {
            Some(Frame::Map { key: Some(key), .. }) => key.span.range().end,
            Some(Frame::Map { entries, start, .. }) => entries
                .last()
                .map_or(*start, |entry| entry.value.span.range().end),
            Some(Frame::Seq { items, start, .. }) => {
                items.last().map_or(*start, |item| item.span.range().end)
            }
            None => 0,
        }
    }

    /// Where a value that is not there would begin: after its key's colon.
    fn place_of_nothing(&self) -> std::ops::Range<usize> {
        let end = self.end_before();
        let rest = &self.source.text[end..];
        let blanks = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        let after_key = matches!(self.frames.last(), Some(Frame::Map { key: Some(_), .. }));
        let at = match rest[blanks..].starts_with(':') {
            true if after_key => end + blanks + 1,
            _ => end,
        };
        at..at
    }

    fn open(&mut self, frame: Frame) -> Result<(), Problem> {
        if self.frames.len() >= DEPTH {
            let start = match frame {
                Frame::Seq { start, .. } | Frame::Map { start, .. } => start,
            };
            return Err(Problem {
                span: Span::new(start..start),
                kind: ProblemKind::Syntax(Fault::TooDeep),
            });
        }
        self.frames.push(frame);
        Ok(())
    }

    fn close(&mut self, end: usize) {
        let node = match self.frames.pop() {
            Some(Frame::Seq { start, flow, items }) => {
                let (start, end) = match (flow, items.first(), items.last()) {
                    (false, Some(_), Some(last)) => (start, last.span.range().end),
                    (false, _, _) => (start, start),
                    (true, _, _) => (start, end),
                };
                Node {
                    span: Span::new(start..end),
                    kind: NodeKind::Seq(items),
                }
            }
            Some(Frame::Map {
                start,
                flow,
                entries,
                ..
            }) => {
                let (start, end) = match (flow, entries.first(), entries.last()) {
                    (false, Some(first), Some(last)) => (
                        first.key.span.range().start,
                        last.value.span.range().end.max(last.key.span.range().end),
                    ),
                    (false, _, _) => (start, start),
                    // A pair inside a list, `[a: b]`, has no braces of its own.
                    (true, Some(first), Some(last))
                        if !self.source.text[start..].starts_with('{') =>
                    {
                        (
                            first.key.span.range().start,
                            last.value.span.range().end.max(last.key.span.range().end),
                        )
                    }
                    (true, _, _) => (start, end),
                };
                Node {
                    span: Span::new(start..end),
                    kind: NodeKind::Map(entries),
                }
            }
            None => return,
        };
        self.repeated(&node);
        self.put(node);
    }

    fn repeated(&mut self, node: &Node) {
        let entries = node.entries();
        let mut found = Vec::new();
        // Most maps are small, and then looking is quicker than sorting.
        if entries.len() <= 12 {
            for (number, entry) in entries.iter().enumerate() {
                let mut before = entries[..number].iter();
                if let Some(first) = before.position(|one| one.key.text == entry.key.text) {
                    found.push((number, first));
                }
            }
        } else {
            let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
            for (number, entry) in entries.iter().enumerate() {
                match seen.entry(&entry.key.text) {
                    Slot::Vacant(slot) => {
                        slot.insert(number);
                    }
                    Slot::Occupied(slot) => found.push((number, *slot.get())),
                }
            }
        }
        // Told once, at the key behind which they come again.
        let mut told = None;
        for (number, first) in found {
            let between = entries[first..number].iter().rev();
            let mut empty = between.filter(|entry| entry.value.span.range().is_empty());
            let (span, kind) = match empty.next() {
                Some(holder) if told == Some(holder.key.span) => continue,
                Some(holder) => {
                    told = Some(holder.key.span);
                    (holder.key.span, ProblemKind::SetInTooFar)
                }
                None => {
                    let first = entries[first].key.span;
                    (entries[number].key.span, ProblemKind::RepeatedKey { first })
                }
            };
            self.problems.push(Problem { span, kind });
        }
    }

    fn put(&mut self, node: Node) {
        let source = self.source;
        match self.frames.last_mut() {
            None => {
                if self.root.is_none() {
                    self.root = Some(node);
                }
            }
            Some(Frame::Seq { items, .. }) => items.push(node),
            Some(Frame::Map { entries, key, .. }) => {
                if let Some(key) = key.take() {
                    entries.push(Entry { key, value: node });
                    return;
                }
                let text: Box<str> = match node.text(source) {
                    Some(text) => text.into(),
                    None => {
                        self.problems.push(Problem {
                            span: node.span,
                            kind: ProblemKind::KeyNotText,
                        });
                        source.slice(node.span).into()
                    }
                };
                let style = match node.kind {
                    NodeKind::Scalar { style, .. } => style,
                    _ => Style::Quoted,
                };
                if &*text == "<<" && style == Style::Plain {
                    self.problems.push(Problem {
                        span: node.span,
                        kind: ProblemKind::MergeKey,
                    });
                }
                *key = Some(Key {
                    span: node.span,
                    text,
                    style,
                });
            }
        }
    }

    fn fault(&self, error: &ScanError) -> Problem {
        let at = error
            .marker()
            .byte_offset()
            .unwrap_or_else(|| self.offset_of(error.marker()));
        let at = self.on_border(at);
        let (fault, range) = blame::pinned(&self.source.text, fault_of(error.kind()), at);
        Problem {
            span: Span::new(range),
            kind: ProblemKind::Syntax(fault),
        }
    }

    fn offset_of(&self, marker: &Marker) -> usize {
        let text = &self.source.text;
        text.char_indices()
            .nth(marker.index())
            .map_or(text.len(), |(offset, _)| offset)
    }

    fn on_border(&self, at: usize) -> usize {
        let text = &self.source.text;
        let mut at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    }
}

fn scalar(span: Span, style: Style, cooked: Option<Box<str>>) -> Node {
    Node {
        span,
        kind: NodeKind::Scalar { style, cooked },
    }
}

fn tag_span(span: &granit_parser::Span, range: &std::ops::Range<usize>) -> Span {
    let tag = span.tag_span().and_then(|tag| tag.byte_range());
    Span::new(tag.unwrap_or_else(|| range.clone()))
}

fn fault_of(kind: &ErrorKind) -> Fault {
    use ErrorKind as K;
    match kind {
        K::TabNotAllowed
        | K::TabInBlockIndentation
        | K::TabAtBlockScalarStart
        | K::TabInIndentation
        | K::TabInPlainScalar => Fault::Tab,
        K::UnexpectedEofFlowSequence => Fault::Unclosed('['),
        K::UnexpectedEofFlowMapping | K::UnexpectedEofImplicitFlowMapping => Fault::Unclosed('{'),
        K::UnclosedFlowCollection { open } | K::MismatchedFlowCollectionEnd { open, .. } => {
            Fault::Unclosed(*open)
        }
        K::MisplacedFlowCollectionEnd => Fault::StrayClose(']'),
        K::UnclosedQuotedScalar | K::DocumentIndicatorInQuotedScalar => Fault::UnclosedQuote,
        K::InvalidTrailingSingleQuotedScalar => Fault::AfterValue('\''),
        K::InvalidTrailingDoubleQuotedScalar => Fault::AfterValue('"'),
        K::UnknownQuotedScalarEscape
        | K::InvalidQuotedScalarHexEscape
        | K::InvalidLowSurrogateHexEscape
        | K::InvalidLowSurrogate
        | K::MissingLowSurrogate
        | K::UnpairedLowSurrogate
        | K::InvalidUnicodeEscape => Fault::Escape,
        K::ExpectedFlowMappingSeparator => Fault::MissingComma('}'),
        K::ExpectedFlowSequenceSeparator => Fault::MissingComma(']'),
        K::MappingValueNotAllowed | K::InvalidColonPlacement | K::InvalidMappingValueWhitespace => {
            Fault::ColonInText
        }
        K::SimpleKeyExpected | K::InvalidSimpleKey => Fault::MissingColon,
        K::InvalidIndentation
        | K::InvalidQuotedScalarIndent
        | K::InvalidFlowScalarIndent
        | K::InvalidBlockScalarIndent
        | K::BlockSequenceEntryNotAllowed
        | K::ExpectedBlockMappingKey
        | K::ExpectedBlockSequenceEntry
        | K::MappingKeyNotAllowed => Fault::Indentation { like: None, by: 0 },
        K::CommentNotSeparated => Fault::CommentTooClose,
        K::RecursionLimitExceeded => Fault::TooDeep,
        K::UnexpectedCharacter { character } => match character {
            '@' | '`' | '%' | '|' | '>' | '&' | '*' | '!' | '-' | '?' => {
                Fault::StartsWith(*character)
            }
            '\t' => Fault::Tab,
            _ => Fault::Character(*character),
        },
        _ => Fault::Other,
    }
}
