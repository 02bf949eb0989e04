//! The text of a merge, put together from the lines of its versions.
//!
//! What only one side changed is taken from it as it is written there. Where both changed
//! something, it is taken apart: a map by its keys, a list by its items, what stands on a
//! line by its value and its comment, brackets by what is in them. Where the layouts differ
//! too much for that, what one side means is set by edits in the text of the other.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

use serde_json::Value;

use super::meaning::{self, Meaning, Values};
use super::pages::{self, Entry, Lines, Part};
use super::weave::{self, Id};
use super::{Clash, How, Piece, Three, Version};
use crate::schema::shape::Shape;
use crate::source::Source;
use crate::yaml::blame::line_start;
use crate::yaml::edit::{self, Edit, Page};
use crate::yaml::{self, Node, NodeKind, Reading, Route};

/// Puts the text together.
pub(super) struct Merger<'a> {
    pub(super) pages: Three<Page<'a>>,
    pub(super) meaning: Meaning<'a>,
    pub(super) clashes: Vec<Clash>,
    /// Records in which the versions differ by more than what clashes in meaning.
    pub(super) loose: BTreeSet<String>,
}

type Ways = Three<Route>;
type Entries<'e, 'a> = Three<Option<&'e Entry<'a>>>;
type Nodes<'a> = Three<Option<&'a Node>>;
type Texts = Three<Option<String>>;

/// What becomes of something that one side may have taken out.
enum Gone {
    /// It stays, as far as that goes.
    No,
    /// It is gone.
    Yes,
    /// One side took it out, and the other changed it.
    Clash(Version),
}

/// A layout that can't be taken apart.
struct Odd;

impl<'a> Merger<'a> {
    /// The whole file.
    pub(super) fn file(&mut self) -> Vec<Piece> {
        let top = self.meaning.shapes.top();
        let lines = self.pages.map(|page| match &page.reading.tree.root {
            Some(root) => pages::lines(page, root, 0..page.text.len(), None),
            None => Some(pages::no_lines(page.text)),
        });
        let ways = Three::all(Route::default());
        let columns = lines.as_ref().map(|lines| lines.as_ref()?.column);
        if let Three {
            base: Some(base),
            ours: Some(ours),
            theirs: Some(theirs),
        } = &lines
            && same_column([columns.base, columns.ours, columns.theirs])
        {
            let lines = Three {
                base: Some(base),
                ours: Some(ours),
                theirs: Some(theirs),
            };
            if let Some(pieces) = self.block(&ways, Some(top), lines) {
                return pieces;
            }
        }
        let frames = self.pages.map(|page| {
            Some(Frame {
                page,
                way: Route::default(),
                node: page.reading.tree.root.as_ref(),
            })
        });
        self.framed(&ways, Some(top), frames)
    }

    /// The lines of a map or a list; none where the whole list clashes.
    fn block(
        &mut self,
        ways: &Ways,
        shape: Option<&Shape>,
        lines: Three<Option<&Lines<'a>>>,
    ) -> Option<Vec<Piece>> {
        let mut known = [lines.ours, lines.theirs, lines.base].into_iter().flatten();
        let first = known.find_map(|lines| lines.entries().next());
        let is_list = first.is_some_and(|first| first.key.is_none());
        let mut twice = BTreeSet::new();
        let rows = if is_list {
            let values = self.pages.both(lines, |page, lines| -> Vec<Value> {
                let entries = lines.into_iter().flat_map(Lines::entries);
                entries
                    .map(|entry| entry.node.to_json(&page.reading.source))
                    .collect()
            });
            self.meaning
                .rows(&ways.ours, values.as_ref().map(Vec::as_slice))?
        } else {
            let is_file = ways.ours.0.is_empty();
            let mut rows = lines.map(|lines| names(lines, is_file));
            let keys = lines.map(|lines| {
                let entries = lines.into_iter().flat_map(Lines::entries);
                entries.filter_map(|entry| entry.key).collect()
            });
            let value = |version: Version, key: &str| {
                let mut entries = lines.of(version).iter().flat_map(|lines| lines.entries());
                self.value(version, entries.find(|entry| entry.key == Some(key)))
            };
            for names in meaning::two_names(shape, &keys, value) {
                twice.insert(one_name(&mut rows, names));
            }
            rows
        };
        let parts = rows.both(lines, |row, lines| -> BTreeMap<&Id, &Part<'a>> {
            let parts = lines.into_iter().flat_map(|lines| &lines.parts);
            row.iter().zip(parts).collect()
        });
        let entries = |id: &Id| -> Entries<'_, 'a> {
            parts.as_ref().map(|parts| match parts.get(id) {
                Some(Part::Entry(entry)) => Some(entry),
                _ => None,
            })
        };
        let here = |id: &Id| parts.as_ref().map(|parts| parts.get(id).copied());
        let note = |part: Option<&Part<'a>>| match part {
            Some(Part::Note { text, .. }) => *text,
            _ => "",
        };
        let ways_to = |entries: Entries<'_, 'a>| {
            ways.both(entries, |way, entry| match entry {
                Some(Entry { key: Some(key), .. }) => way.then(*key),
                Some(Entry { number, .. }) => way.then(*number),
                None => way.clone(),
            })
        };
        let mut order = weave::woven(&rows, |id| match id {
            Id::Note(..) => *id == top_note() || stays(&here(id)),
            _ => !matches!(self.gone(&ways_to(entries(id)), entries(id)), Gone::Yes),
        });
        order.sort_by_key(|id| *id != top_note());
        let mut pieces = Vec::new();
        for id in &order {
            if *id == top_note() {
                pieces.push(Piece::Agreed(remarks_merged(here(id).map(note))));
                continue;
            }
            if let Id::Note(text, _) = id {
                let gap = gap(here(id).map(|part| match part {
                    Some(Part::Note { gap, .. }) => Some(*gap),
                    _ => None,
                }));
                pieces.push(Piece::Agreed(format!("{gap}{text}")));
                continue;
            }
            let entries = entries(id);
            if twice.contains(id) {
                let way = ways_to(entries).base;
                self.clashes.push(Clash {
                    way,
                    how: How::TwoNames,
                });
                let gap = gap(entries.map(|entry| entry.map(|entry| entry.gap)));
                let texts = self.texts(entries).map(Option::unwrap_or_default);
                pieces.push(Piece::Parted(texts.map(|text| format!("{gap}{text}"))));
                continue;
            }
            let shape = shape.and_then(|shape| match id {
                Id::Key(key) => self.meaning.shapes.under(shape, key),
                _ => self.meaning.shapes.item(shape),
            });
            pieces.extend(self.entry(&ways_to(entries), shape, entries));
        }
        let tail = lines.map(|lines| lines.map_or("", |lines| lines.tail));
        pieces.push(Piece::Agreed(remarks_merged(tail)));
        Some(pieces)
    }

    /// Whether something stays that one side may have taken out.
    fn gone(&self, ways: &Ways, entries: Entries<'_, 'a>) -> Gone {
        let texts = self.texts(entries);
        let value = |version: Version| self.value(version, *entries.of(version));
        // A comment above that a side took away to somewhere else is not lost by this.
        let remarked = |version: Version| {
            let entry = *entries.of(version);
            let was = self.remarks(Version::Base, entries.base);
            let is = self.remarks(version, entry);
            self.remarks_of_line(version, entry)
                != self.remarks_of_line(Version::Base, entries.base)
                || is.iter().any(|remark| !was.contains(remark))
        };
        match (texts.base, texts.ours, texts.theirs) {
            (_, None, None) => Gone::Yes,
            (None, _, _) | (_, Some(_), Some(_)) => Gone::No,
            (Some(base), Some(left), None) | (Some(base), None, Some(left)) if base == left => {
                Gone::Yes
            }
            (Some(_), None, Some(_)) => {
                let same = value(Version::Theirs) == value(Version::Base);
                if same && !remarked(Version::Theirs) {
                    Gone::Yes
                } else {
                    Gone::Clash(Version::Ours)
                }
            }
            (Some(_), Some(_), None) => {
                let ours = value(Version::Ours);
                let seen = ours
                    .as_ref()
                    .map(|ours| self.meaning.seen(&ways.ours, ours));
                let same = seen == value(Version::Base);
                if same && (seen != ours || !remarked(Version::Ours)) {
                    Gone::Yes
                } else {
                    Gone::Clash(Version::Theirs)
                }
            }
        }
    }

    /// A key with its value, or an item, with what stands above it.
    fn entry(
        &mut self,
        ways: &Ways,
        shape: Option<&Shape>,
        entries: Entries<'_, 'a>,
    ) -> Vec<Piece> {
        let gap = gap(entries.map(|entry| entry.map(|entry| entry.gap)));
        let whole = |text: &str| vec![Piece::Agreed(format!("{gap}{text}"))];
        let texts = self.texts(entries);
        let parted = |texts: Texts| {
            let texts = texts.map(|text| text.map(|text| format!("{gap}{text}")));
            vec![Piece::Parted(texts.map(Option::unwrap_or_default))]
        };
        match self.gone(ways, entries) {
            Gone::Yes => return Vec::new(),
            Gone::Clash(gone) => {
                self.clash(ways, How::GoneAndChanged { gone });
                let values = Three {
                    base: self.value(Version::Base, entries.base),
                    ours: self.value(Version::Ours, entries.ours),
                    theirs: self.value(Version::Theirs, entries.theirs),
                };
                if !self
                    .meaning
                    .lives(&ways.ours, values.as_ref().map(Option::as_ref))
                {
                    // Only a comment of it was changed.
                    self.loosen(ways);
                }
                return parted(texts);
            }
            Gone::No => {}
        }
        let picked = texts.as_ref().map(Option::as_deref).picked();
        if let Some(Some(text)) = picked {
            return whole(text);
        }
        let (ours, theirs) = match (&texts.ours, &texts.theirs) {
            (Some(ours), Some(theirs)) => (ours, theirs),
            (ours, theirs) => return whole(ours.as_ref().or(theirs.as_ref()).map_or("", |s| s)),
        };
        if entries.base.is_none() {
            let value = |version: Version| self.value(version, *entries.of(version));
            if value(Version::Ours) == value(Version::Theirs) {
                let remarks = |version: Version| self.remarks(version, *entries.of(version));
                let (our, their) = (remarks(Version::Ours), remarks(Version::Theirs));
                if our == their {
                    return whole(ours.min(theirs));
                } else if our.is_empty() {
                    return whole(theirs);
                } else if their.is_empty() {
                    return whole(ours);
                }
                self.clash(ways, How::Comment);
                return parted(texts);
            }
            if !meaning::is_keyed(shape) && !meaning::is_set(shape) {
                let how = meaning::new_or_two(&ways.ours, None, shape, self.meaning.shapes);
                self.clash(ways, how);
                return parted(texts);
            }
        }
        let above = remarks_merged(entries.map(|entry| entry.map_or("", |entry| entry.above)));
        let mut pieces = whole(&above);
        pieces.extend(self.body(ways, shape, entries));
        pieces
    }

    /// The lines of a key with its value that both sides changed.
    fn body(&mut self, ways: &Ways, shape: Option<&Shape>, entries: Entries<'_, 'a>) -> Vec<Piece> {
        let nodes: Nodes<'a> = entries.map(|entry| entry.map(|entry| entry.node));
        let block = self.pages.both(nodes, |page, node| {
            node.map(|node| pages::is_block(*page, node))
        });
        let blocks = [block.base, block.ours, block.theirs];
        if !blocks.contains(&Some(true)) {
            if let Ok(pieces) = self.line(ways, shape, entries) {
                return pieces;
            }
        } else if !blocks.contains(&Some(false))
            && let Some(pieces) = self.inner_lines(ways, shape, entries)
        {
            return pieces;
        }
        self.by_itself(ways, shape, entries)
    }

    /// The same where the layouts are not the same: each version read by itself, so that its
    /// lines can be set in otherwise, and changed.
    fn by_itself(
        &mut self,
        ways: &Ways,
        shape: Option<&Shape>,
        entries: Entries<'_, 'a>,
    ) -> Vec<Piece> {
        let own = self.own(entries);
        let read = own.as_ref().map(|text| text.as_deref().map(alone));
        if let Three {
            base: base @ (None | Some(Some(_))),
            ours: Some(Some(ours)),
            theirs: Some(Some(theirs)),
        } = &read
        {
            let base = base.as_ref().and_then(Option::as_ref);
            let alone = Three {
                base,
                ours: Some(ours),
                theirs: Some(theirs),
            };
            if let Some(set_in) = set_in_alike(alone)
                && let Some(pieces) = self.set_in(ways, shape, &set_in)
            {
                return pieces;
            }
            return self.framed(ways, shape, alone.map(|read| read.map(Frame::of)));
        }
        self.loosen(ways);
        self.clash(ways, How::Layout);
        vec![Piece::Parted(own.map(Option::unwrap_or_default))]
    }

    /// What was set in alike, merged line by line.
    fn set_in(
        &mut self,
        ways: &Ways,
        shape: Option<&Shape>,
        alone: &Three<Option<Reading>>,
    ) -> Option<Vec<Piece>> {
        let empty = yaml::read(Source::new("", ""));
        let pages = alone
            .as_ref()
            .map(|reading| Page::of(reading.as_ref().unwrap_or(&empty)));
        let lines = pages.both(alone.as_ref(), |page, reading| {
            let root = reading.as_ref()?.tree.root.as_ref()?;
            pages::lines(*page, root, 0..page.text.len(), None)
        });
        let entries = lines
            .as_ref()
            .map(|lines| lines.as_ref().and_then(|lines| lines.entries().next()));
        if entries.ours.is_none() || entries.theirs.is_none() {
            return None;
        }
        let mut inner = Merger {
            pages,
            meaning: self.meaning,
            clashes: Vec::new(),
            loose: BTreeSet::new(),
        };
        let pieces = inner.inner_lines(ways, shape, entries)?;
        self.clashes.append(&mut inner.clashes);
        self.loose.append(&mut inner.loose);
        Some(pieces)
    }

    /// The same where the value stands on lines of its own in each version.
    fn inner_lines(
        &mut self,
        ways: &Ways,
        shape: Option<&Shape>,
        entries: Entries<'_, 'a>,
    ) -> Option<Vec<Piece>> {
        let kinds =
            entries.map(|entry| entry.map(|entry| std::mem::discriminant(&entry.node.kind)));
        if [kinds.base, kinds.ours, kinds.theirs]
            .into_iter()
            .flatten()
            .any(|k| Some(k) != kinds.ours)
        {
            return None;
        }
        let is_list = matches!(entries.ours?.node.kind, NodeKind::Seq(_));
        if is_list && !meaning::is_set(shape) {
            // One value; but where one side only left it as it was, its comments may differ.
            let value = |version: Version| self.value(version, *entries.of(version));
            let was = value(Version::Base);
            if value(Version::Ours) != was && value(Version::Theirs) != was {
                return None;
            }
        }
        let parted = self.pages.both(entries, |page, entry| {
            let entry = entry?;
            Some(match entry.key {
                Some(_) => {
                    let node = entry.node.span.range().start;
                    let own = line_start(page.text, node);
                    // Comments between a key and its value belong to what comes first.
                    let head = entry.start
                        + page.text[entry.start..own]
                            .find('\n')
                            .map_or(own - entry.start, |end| end + 1);
                    let lines = pages::lines(*page, entry.node, head..entry.end, None);
                    (entry.start..head, lines, None)
                }
                None => {
                    let text = &page.text[entry.start..entry.end];
                    let dash = entry.start + text.find('-')?;
                    let range = entry.start..entry.end;
                    let lines = pages::lines(*page, entry.node, range, Some(dash));
                    (entry.start..entry.start, lines, Some(dash - entry.start))
                }
            })
        });
        let read = |one: &Option<(Range<usize>, Option<Lines<'a>>, Option<usize>)>| match one {
            None => Some(None),
            Some((_, lines, dash)) => Some(Some((lines.as_ref()?.column?, *dash))),
        };
        let columns = parted.as_ref().map(read);
        let columns = [columns.base?, columns.ours?, columns.theirs?];
        let (_, dash) = columns[1]?;
        if !same_column(columns.map(|column| column.map(|(column, _)| column)))
            || !same_column(columns.map(|column| column.and_then(|(_, dash)| dash)))
        {
            return None;
        }
        let heads = self.pages.both(parted.as_ref(), |page, part| {
            let (head, ..) = part.as_ref()?;
            Some(page.text[head.clone()].to_owned())
        });
        let heads = heads.both(entries, |head, entry| {
            let (head, entry) = (head.as_ref()?, entry?);
            Some(masked(head.clone(), entry.start, entry.dash))
        });
        let lines = parted.as_ref().map(|part| part.as_ref()?.1.as_ref());
        let before = self.clashes.len();
        let Some(inner) = self.block(ways, shape, lines) else {
            self.clashes.truncate(before);
            self.clash(ways, How::TwoValues);
            let texts = self.own(entries);
            return Some(vec![Piece::Parted(texts.map(Option::unwrap_or_default))]);
        };
        let empty = |version: Version| {
            let text: String = inner.iter().map(|piece| piece.of(version)).collect();
            !holds(&text)
        };
        if empty(Version::Ours) || empty(Version::Theirs) {
            // What is left has to be written as an empty map.
            self.clashes.truncate(before);
            return None;
        }
        let inner = match dash {
            Some(dash) => dashed(inner, dash)?,
            None => inner,
        };
        let mut pieces = match heads.as_ref().map(Option::as_deref).picked() {
            Some(head) => vec![Piece::Agreed(head.unwrap_or_default().to_owned())],
            None if heads.base.is_none() => {
                let (ours, theirs) = (
                    heads.ours.unwrap_or_default(),
                    heads.theirs.unwrap_or_default(),
                );
                vec![Piece::Agreed(longest(ours, theirs))]
            }
            None => {
                self.clash(ways, How::Comment);
                vec![Piece::Parted(heads.map(Option::unwrap_or_default))]
            }
        };
        pieces.extend(inner);
        Some(pieces)
    }

    /// A key with a value that stands on its line, or in brackets, and its comment.
    fn line(
        &mut self,
        ways: &Ways,
        shape: Option<&Shape>,
        entries: Entries<'_, 'a>,
    ) -> Result<Vec<Piece>, Odd> {
        let nodes: Nodes<'a> = entries.map(|entry| entry.map(|entry| entry.node));
        let odd = self.pages.both(nodes, |page, node| {
            node.is_some_and(|node| {
                page.is_flow(node) && page.comments(&node.span.range()).next().is_some()
            })
        });
        let long = self.pages.both(nodes, |page, node| {
            node.is_some_and(|node| pages::is_long(*page, node))
        });
        if odd.base || odd.ours || odd.theirs {
            return Err(Odd);
        }
        let long = long.base || long.ours || long.theirs;
        let before = self.clashes.len();
        let values = self.brackets(ways, shape, nodes)?;
        let parts = self.pages.both(entries, |page, entry| {
            let entry = entry?;
            let span = entry.node.span.range();
            let head = page.text.get(entry.start..span.start)?;
            let head = masked(head.to_owned(), entry.start, entry.dash);
            Some((
                head,
                page.text.get(span.start..span.end)?,
                page.text.get(span.end..entry.end)?,
            ))
        });
        let whole = |texts: Texts| Piece::Parted(texts.map(Option::unwrap_or_default));
        let clashes = self.clashes.len() > before;
        // Whose value it is, if it is one side's own.
        let taken = |version: Version| {
            let own = parts.of(version).as_ref().map(|(_, own, _)| *own);
            !clashes && own == values.ours.as_deref()
        };
        let (ours, theirs) = (taken(Version::Ours), taken(Version::Theirs));
        if long {
            let remarks = |version: Version| self.remarks_of_line(version, *entries.of(version));
            let was = remarks(Version::Base);
            let (our, their) = (remarks(Version::Ours), remarks(Version::Theirs));
            let own = self.own(entries);
            return Ok(vec![if clashes {
                whole(own)
            } else if ours && (their == was || their == our) {
                Piece::Agreed(own.ours.unwrap_or_default())
            } else if theirs && (our == was || their == our) {
                Piece::Agreed(own.theirs.unwrap_or_default())
            } else {
                return Err(Odd);
            }]);
        }
        let heads = parts
            .as_ref()
            .map(|part| part.as_ref().map(|(head, ..)| head.as_str()));
        let head = match (ours, theirs) {
            (true, false) => heads.ours,
            (false, true) => heads.theirs,
            _ => heads.picked().unwrap_or(heads.ours.min(heads.theirs)),
        };
        // A key without a value has no blank behind its colon.
        let heads = match values.agree() {
            true => Three::all(head.unwrap_or_default()),
            false => heads.map(|own| own.or(head).unwrap_or_default()),
        };
        let rests = parts
            .as_ref()
            .map(|part| part.as_ref().map(|(_, _, rest)| *rest));
        let rest = match rests.picked() {
            Some(rest) => Three::all(rest.unwrap_or_default()),
            None => {
                let (ours, theirs) = (rests.ours.unwrap_or("\n"), rests.theirs.unwrap_or("\n"));
                match (ours.trim().is_empty(), theirs.trim().is_empty(), rests.base) {
                    (true, true, _) => Three::all(ours.min(theirs)),
                    (true, false, None) => Three::all(theirs),
                    (false, true, None) => Three::all(ours),
                    _ => {
                        self.clash(ways, How::Comment);
                        rests.map(|rest| rest.unwrap_or("\n"))
                    }
                }
            }
        };
        let rests = heads.both(rest, |head, rest| (*head, rest));
        let lines = values.both(rests, |value, (head, rest)| match value {
            Some(value) => format!("{head}{value}{rest}"),
            None => String::new(),
        });
        Ok(by_lines(lines))
    }

    /// A value on a line, or in brackets: how each version has it.
    fn brackets(
        &mut self,
        ways: &Ways,
        shape: Option<&Shape>,
        nodes: Nodes<'a>,
    ) -> Result<Texts, Odd> {
        let texts = self.pages.both(nodes, |page, node| {
            node.map(|node| &page.text[node.span.range()])
        });
        let owned = |text: Option<&str>| text.map(str::to_owned);
        if let Some(picked) = texts.picked() {
            return Ok(Three::all(owned(picked)));
        }
        let json = self.pages.both(nodes, |page, node| {
            node.map(|node| node.to_json(&page.reading.source))
        });
        let values: Values<'_> = json.as_ref().map(Option::as_ref);
        if values.ours.is_none() || values.theirs.is_none() {
            return Ok(if !self.meaning.lives(&ways.ours, values) {
                Three::all(None)
            } else if values.base.is_none() {
                Three::all(owned(texts.ours.or(texts.theirs)))
            } else {
                let gone = match values.ours {
                    None => Version::Ours,
                    Some(_) => Version::Theirs,
                };
                self.clash(ways, How::GoneAndChanged { gone });
                texts.map(owned)
            });
        }
        if values.ours == values.theirs {
            return Ok(Three::all(owned(texts.ours.min(texts.theirs))));
        } else if values.ours == values.base {
            return Ok(Three::all(owned(texts.theirs)));
        } else if values.theirs == values.base {
            return Ok(Three::all(owned(texts.ours)));
        }
        let empty = |value: Option<&Value>| value.is_none_or(Value::is_null);
        let both =
            |is: fn(&Value) -> bool| values.ours.is_some_and(is) && values.theirs.is_some_and(is);
        let is_map = both(Value::is_object);
        let apart = if is_map {
            values.base.is_some_and(Value::is_object)
                || empty(values.base) && meaning::is_keyed(shape)
        } else {
            both(Value::is_array)
                && meaning::is_set(shape)
                && (values.base.is_some_and(Value::is_array) || empty(values.base))
        };
        let inside = if apart {
            self.inside(ways, shape, nodes, is_map)?
        } else {
            None
        };
        Ok(match inside {
            Some(texts) => texts.map(Some),
            None => {
                let how = meaning::new_or_two(&ways.ours, values.base, shape, self.meaning.shapes);
                self.clash(ways, how);
                texts.map(owned)
            }
        })
    }

    /// What stands in brackets; none where a list clashes as a whole.
    fn inside(
        &mut self,
        ways: &Ways,
        shape: Option<&Shape>,
        nodes: Nodes<'a>,
        is_map: bool,
    ) -> Result<Option<Three<String>>, Odd> {
        let read = self.pages.both(nodes, |page, node| match node {
            Some(node) if page.is_flow(node) => in_brackets(*page, node).map(Some),
            Some(node) if !matches!(node.kind, NodeKind::Scalar { .. }) => Err(Odd),
            _ => Ok(None),
        });
        let read = Three {
            base: read.base?,
            ours: read.ours?,
            theirs: read.theirs?,
        };
        let bits = read
            .as_ref()
            .map(|read| read.as_ref().map_or(&[][..], |read| &read.bits));
        let mut twice = BTreeSet::new();
        let rows = if is_map {
            let mut rows = bits.map(|bits| {
                let key = |bit: &Bit<'_>| Id::Key(bit.key.unwrap_or_default().to_owned());
                bits.iter().map(key).collect::<Vec<_>>()
            });
            let keys = bits.map(|bits| bits.iter().filter_map(|bit| bit.key).collect());
            let value = |version: Version, key: &str| {
                let bit = bits.of(version).iter().find(|bit| bit.key == Some(key))?;
                Some(bit.node.to_json(&self.pages.of(version).reading.source))
            };
            for names in meaning::two_names(shape, &keys, value) {
                twice.insert(one_name(&mut rows, names));
            }
            rows
        } else {
            let values = self.pages.both(bits, |page, bits| -> Vec<Value> {
                let values = bits
                    .iter()
                    .map(|bit| bit.node.to_json(&page.reading.source));
                values.collect()
            });
            let values = values.as_ref().map(Vec::as_slice);
            match self.meaning.rows(&ways.ours, values) {
                Some(rows) => rows,
                None => return Ok(None),
            }
        };
        let found = |id: &Id| {
            rows.both(bits, |row, bits| {
                row.iter()
                    .position(|one| one == id)
                    .map(|at| (at, &bits[at]))
            })
        };
        let order = weave::woven(&rows, |id| {
            let json = self.pages.both(found(id), |page, bit| {
                bit.map(|(_, bit)| bit.node.to_json(&page.reading.source))
            });
            let way = match id {
                Id::Key(key) => ways.ours.then(key.as_str()),
                _ => ways.ours.then(0),
            };
            self.meaning.lives(&way, json.as_ref().map(Option::as_ref))
        });
        let firsts = bits.map(|bits| bits.first().map(|bit| bit.lead));
        let first = agreed_or_least(firsts).unwrap_or_default();
        let mut texts = Three::all(Vec::<(String, String)>::new());
        for id in &order {
            let here = found(id);
            let ways = ways.both(here, |way, bit| match (id, bit) {
                (Id::Key(key), _) => way.then(key.as_str()),
                (_, Some((at, _))) => way.then(at),
                (_, None) => way.clone(),
            });
            let shape = shape.and_then(|shape| match id {
                Id::Key(key) => self.meaning.shapes.under(shape, key),
                _ => self.meaning.shapes.item(shape),
            });
            if twice.contains(id) {
                self.clash(&ways, How::TwoNames);
                let own = self.pages.both(here, |page, bit| {
                    let (_, bit) = bit?;
                    Some(format!("{}{}", bit.head, &page.text[bit.node.span.range()]))
                });
                texts.with(own, |all, text| {
                    all.extend(text.map(|text| (" ".to_owned(), text)));
                });
                continue;
            }
            let nodes = here.map(|bit| bit.map(|(_, bit)| bit.node));
            let values = self.brackets(&ways, shape, nodes)?;
            let head = agreed_or_least(here.map(|bit| bit.map(|(_, bit)| bit.head)));
            let lead = agreed_or_least(here.both(bits, |bit, bits| match bit {
                // The first in its brackets has nothing before it that another could have.
                Some((0, _)) => bits.get(1).map(|next| next.lead),
                Some((_, bit)) => Some(bit.lead),
                None => None,
            }));
            let lead = lead.filter(|lead| !lead.is_empty()).unwrap_or(" ");
            texts.with(values, |all, value| {
                let text = value.map(|value| format!("{}{value}", head.unwrap_or_default()));
                all.extend(text.map(|text| (lead.to_owned(), text)));
            });
        }
        let tail = agreed_or_least(
            read.as_ref()
                .map(|read| read.as_ref().map(|read| read.tail)),
        );
        let (open, close) = if is_map { ('{', '}') } else { ('[', ']') };
        Ok(Some(texts.map(|bits| {
            if bits.is_empty() {
                return format!("{open}{close}");
            }
            let mut text = String::from(open);
            for (number, (lead, bit)) in bits.iter().enumerate() {
                if number > 0 {
                    text.push(',');
                }
                text.push_str(if number == 0 { first } else { lead });
                text.push_str(bit);
            }
            text.push_str(tail.unwrap_or_default());
            text.push(close);
            text
        })))
    }

    /// Layouts that can't be put together: what is meant, set by edits in the text of one
    /// side. The side that has its own comments or its own layout gives the text.
    fn framed(
        &mut self,
        ways: &Ways,
        shape: Option<&Shape>,
        frames: Three<Option<Frame<'_>>>,
    ) -> Vec<Piece> {
        let own = frames
            .as_ref()
            .map(|frame| frame.as_ref().map(|frame| frame.page.text.to_owned()));
        let remarks = frames.as_ref().map(|frame| -> Vec<&str> {
            let all = frame.as_ref().map(|frame| {
                let whole = 0..frame.page.text.len();
                let comments = frame.page.comments(&whole);
                let texts = comments.map(|at| frame.page.text[at].trim_end());
                texts.collect::<Vec<_>>()
            });
            all.unwrap_or_default()
        });
        let json = frames.as_ref().map(|frame| {
            let frame = frame.as_ref()?;
            Some(frame.node?.to_json(&frame.page.reading.source))
        });
        let mut clashes = Vec::new();
        let meant = self.meaning.of(
            &ways.ours,
            shape,
            json.as_ref().map(Option::as_ref),
            &mut clashes,
        );
        let layout = |version: Version| {
            let frame = frames.of(version).as_ref()?;
            let node = frame.node?;
            let column = frame.page.column(node.span.range().start);
            Some((pages::is_block(frame.page, node), column))
        };
        let both = remarks.ours == remarks.theirs;
        let (we, they) = (
            !both && remarks.ours != remarks.base,
            !both && remarks.theirs != remarks.base,
        );
        let frame = match (we, they) {
            (true, true) => None,
            (true, false) => Some(Version::Ours),
            (false, true) => Some(Version::Theirs),
            (false, false) => {
                let other = |version: Version| layout(version) != layout(Version::Base);
                match (other(Version::Ours), other(Version::Theirs)) {
                    (true, false) => Some(Version::Ours),
                    (false, true) => Some(Version::Theirs),
                    _ if own.ours <= own.theirs => Some(Version::Ours),
                    _ => Some(Version::Theirs),
                }
            }
        };
        let texts = frame.and_then(|version| {
            let frame = frames.of(version).as_ref()?;
            let is = json.of(version).as_ref()?;
            let set = |meant: &Option<Value>| {
                let mut edits = Vec::new();
                towards(&frame.way, is, meant.as_ref()?, &mut edits);
                edit::apply(frame.page.reading, &edits).ok()
            };
            let texts = Three {
                base: set(&meant.base).or_else(|| own.base.clone()),
                ours: set(&meant.ours),
                theirs: set(&meant.theirs),
            };
            (texts.ours.is_some() && texts.theirs.is_some()).then_some(texts)
        });
        match texts {
            Some(texts) => {
                self.clashes.extend(clashes);
                by_lines(texts.map(Option::unwrap_or_default))
            }
            None => {
                self.loosen(ways);
                if clashes.is_empty() {
                    self.clash(ways, How::Layout);
                } else {
                    self.clashes.extend(clashes);
                }
                vec![Piece::Parted(own.map(Option::unwrap_or_default))]
            }
        }
    }

    fn loosen(&mut self, ways: &Ways) {
        let ids = [&ways.ours, &ways.theirs].map(|way| way.record_id());
        let ids = ids.into_iter().map(|id| id.unwrap_or_default().to_owned());
        self.loose.extend(ids);
    }

    fn clash(&mut self, ways: &Ways, how: How) {
        let way = if ways.ours.0.len() >= ways.theirs.0.len() {
            &ways.ours
        } else {
            &ways.theirs
        };
        self.clashes.push(Clash {
            way: way.clone(),
            how,
        });
    }

    /// The lines of an entry with those above it.
    fn texts(&self, entries: Entries<'_, 'a>) -> Texts {
        let own = self.own(entries);
        own.both(entries, |own, entry| {
            Some(format!("{}{}", entry?.above, own.as_ref()?))
        })
    }

    /// The lines of an entry alone.
    fn own(&self, entries: Entries<'_, 'a>) -> Texts {
        self.pages.both(entries, |page, entry| {
            let entry = entry?;
            let text = page.text[entry.start..entry.end].to_owned();
            Some(masked(text, entry.start, entry.dash))
        })
    }

    fn value(&self, version: Version, entry: Option<&Entry<'a>>) -> Option<Value> {
        let page = self.pages.of(version);
        entry.map(|entry| entry.node.to_json(&page.reading.source))
    }

    /// The comments of an entry, above it and in it.
    fn remarks(&self, version: Version, entry: Option<&Entry<'a>>) -> Vec<&'a str> {
        let above = entry.map_or("", |entry| entry.above).lines().map(str::trim);
        above.chain(self.remarks_of_line(version, entry)).collect()
    }

    /// The comments in an entry.
    fn remarks_of_line(&self, version: Version, entry: Option<&Entry<'a>>) -> Vec<&'a str> {
        let page = *self.pages.of(version);
        let Some(entry) = entry else {
            return Vec::new();
        };
        let range = entry.start..entry.end;
        let comments = page.comments(&range);
        comments.map(|at| page.text[at].trim_end()).collect()
    }
}

/// Whether a comment that belongs to nothing stays.
fn stays(here: &Three<Option<&Part<'_>>>) -> bool {
    let Three { base, ours, theirs } = here.map(|part| part.is_some());
    (ours && theirs) || (!base && (ours || theirs))
}

/// What the comment at the very top of a file is called, whatever it says.
fn top_note() -> Id {
    Id::Note(String::new(), 0)
}

/// The names of what stands in a map.
fn names(lines: Option<&Lines<'_>>, is_file: bool) -> Vec<Id> {
    let mut notes: BTreeMap<&str, usize> = BTreeMap::new();
    let parts = lines.into_iter().flat_map(|lines| &lines.parts);
    let named = parts.enumerate().map(|(number, part)| match part {
        Part::Note { gap: "", .. } if number == 0 && is_file => top_note(),
        Part::Entry(entry) => Id::Key(entry.key.unwrap_or_default().to_owned()),
        Part::Note { text, .. } => {
            let number = notes.entry(text).or_default();
            *number += 1;
            Id::Note((*text).to_owned(), *number)
        }
    });
    named.collect()
}

/// Has rows call what was given two names as it was called before.
fn one_name(rows: &mut Three<Vec<Id>>, names: Three<String>) -> Id {
    let was = Id::Key(names.base.clone());
    rows.with(names, |row, name| {
        for id in row.iter_mut() {
            if matches!(id, Id::Key(key) if *key == name) {
                *id = was.clone();
            }
        }
    });
    was
}

/// Empty lines: what one side made of them, or the more of them.
fn gap(gaps: Three<Option<&str>>) -> String {
    let picked = match (gaps.ours, gaps.theirs) {
        (Some(ours), Some(theirs)) => gaps.picked().flatten().unwrap_or(ours.max(theirs)),
        (ours, theirs) => ours.or(theirs).unwrap_or_default(),
    };
    picked.to_owned()
}

fn longest(one: String, two: String) -> String {
    if (one.len(), &one) >= (two.len(), &two) {
        one
    } else {
        two
    }
}

/// What one side made of a text that says nothing by itself, or the lesser of the two.
fn agreed_or_least(texts: Three<Option<&str>>) -> Option<&str> {
    match (texts.ours, texts.theirs) {
        (Some(ours), Some(theirs)) => match texts.picked() {
            Some(picked) => picked,
            None => Some(ours.min(theirs)),
        },
        (ours, theirs) => ours.or(theirs),
    }
}

/// Lines of comments: those that neither side took out, and those that either put in.
fn remarks_merged(texts: Three<&str>) -> String {
    if let Some(picked) = texts.picked() {
        return picked.to_owned();
    }
    let lines = texts.map(|text| text.split_inclusive('\n').collect::<Vec<_>>());
    let rows = lines.as_ref().map(|lines| {
        let mut numbers: BTreeMap<&str, usize> = BTreeMap::new();
        let named = lines.iter().map(|line| {
            let number = numbers.entry(line).or_default();
            *number += 1;
            Id::Note((*line).to_owned(), *number)
        });
        named.collect::<Vec<_>>()
    });
    let has = |row: &[Id], id: &Id| row.contains(id);
    let order = weave::woven(&rows, |id| {
        let (base, ours, theirs) = (
            has(&rows.base, id),
            has(&rows.ours, id),
            has(&rows.theirs, id),
        );
        (ours && theirs) || (!base && (ours || theirs))
    });
    let texts = order.iter().map(|id| match id {
        Id::Note(text, _) => text.as_str(),
        _ => "",
    });
    texts.collect()
}

fn same_column<T: PartialEq + Copy>(columns: [Option<T>; 3]) -> bool {
    let mut known = columns.into_iter().flatten();
    let first = known.next();
    known.all(|column| Some(column) == first)
}

/// An entry's text with a blank where its item's dash stands.
fn masked(mut text: String, start: usize, dash: Option<usize>) -> String {
    if let Some(at) = dash.and_then(|dash| dash.checked_sub(start))
        && text.as_bytes().get(at) == Some(&b'-')
    {
        text.replace_range(at..=at, " ");
    }
    text
}

/// A version by itself, for edits.
struct Frame<'f> {
    page: Page<'f>,
    /// The way to the value in it.
    way: Route,
    node: Option<&'f Node>,
}

impl<'f> Frame<'f> {
    /// Of the lines of one entry.
    fn of(reading: &'f Reading) -> Self {
        let root = reading.tree.root.as_ref();
        let (way, node) = match root.map(|root| &root.kind) {
            Some(NodeKind::Map(entries)) => {
                let entry = entries.first();
                let way = entry.map(|entry| Route::default().then(&*entry.key.text));
                (way, entry.map(|entry| &entry.value))
            }
            Some(NodeKind::Seq(items)) => (Some(Route::default().then(0)), items.first()),
            _ => (None, None),
        };
        Self {
            page: Page::of(reading),
            way: way.unwrap_or_default(),
            node,
        }
    }
}

/// The lines of one entry, read by themselves; none if they are not what they were.
fn alone(text: &str) -> Option<Reading> {
    let reading = yaml::read(Source::new("", text));
    let root = reading.tree.root.as_ref()?;
    let one = root.entries().len() + root.items().len() == 1;
    (one && reading.problems.is_empty()).then_some(reading)
}

/// The same entry with its inner lines set in as far in all versions; none where they are
/// that already, or have no such lines.
fn set_in_alike(alone: Three<Option<&Reading>>) -> Option<Three<Option<Reading>>> {
    let inner = |reading: &Reading| {
        let page = Page::of(reading);
        let [entry] = reading.tree.root.as_ref()?.entries() else {
            return None;
        };
        let node = &entry.value;
        let head = reading.source.text.find('\n')? + 1;
        let first = node.span.range().start;
        let line = line_start(page.text, first);
        let set_in = page.text[line..].len() - page.text[line..].trim_start_matches(' ').len();
        (pages::is_block(page, node) && line >= head).then_some((head, set_in))
    };
    let inner = alone.map(|reading| reading.map(inner));
    let columns = inner.map(|inner| inner.map(|inner| inner.map(|(_, column)| column)));
    let known = [columns.base, columns.ours, columns.theirs];
    if known.contains(&Some(None)) || same_column(known) {
        return None;
    }
    let column = columns
        .picked()
        .unwrap_or(columns.ours.min(columns.theirs))??;
    let shifted = inner.both(alone, |inner, reading| {
        let (Some(Some((head, was))), Some(reading)) = (inner, reading) else {
            return Some(None);
        };
        let text = &reading.source.text;
        let mut anew = text[..*head].to_owned();
        for line in text[*head..].split_inclusive('\n') {
            let rest = line.trim_start_matches(' ');
            let blanks = line.len() - rest.len();
            if !rest.trim().is_empty() {
                let blanks = (blanks + column).saturating_sub(*was);
                anew.extend(std::iter::repeat_n(' ', blanks));
            }
            anew.push_str(rest);
        }
        let anew = self::alone(&anew)?;
        let root = |reading: &Reading| {
            let root = reading.tree.root.as_ref();
            root.map(|root| root.to_json(&reading.source))
        };
        (root(&anew) == root(reading)).then_some(Some(anew))
    });
    Some(Three {
        base: shifted.base?,
        ours: shifted.ours?,
        theirs: shifted.theirs?,
    })
}

/// Whether lines hold more than comments.
fn holds(text: &str) -> bool {
    text.lines().any(|line| {
        let line = line.trim();
        !line.is_empty() && !line.starts_with('#')
    })
}

/// Puts an item's dash back before the first of its keys.
fn dashed(mut pieces: Vec<Piece>, at: usize) -> Option<Vec<Piece>> {
    fn put(text: &mut String, at: usize) -> bool {
        let mut start = 0;
        for line in text.split_inclusive('\n') {
            let own = line.trim();
            if !own.is_empty() && !own.starts_with('#') {
                if line.as_bytes().get(at) != Some(&b' ') {
                    return false;
                }
                text.replace_range(start + at..=start + at, "-");
                return true;
            }
            start += line.len();
        }
        false
    }
    let first = pieces.iter_mut().find(|piece| match piece {
        Piece::Agreed(text) => holds(text),
        Piece::Parted(_) => true,
    });
    if let Some(Piece::Agreed(text)) = first {
        return put(text, at).then_some(pieces);
    }
    let mut all = Three::all(String::new());
    for piece in &pieces {
        match piece {
            Piece::Agreed(text) => all.with(Three::all(text), |all, text| all.push_str(text)),
            Piece::Parted(texts) => all.with(texts.as_ref(), |all, text| all.push_str(text)),
        }
    }
    let mut good = true;
    all.with(Three::all(()), |text, ()| {
        good &= put(text, at);
    });
    good.then(|| vec![Piece::Parted(all)])
}

/// Texts of as many lines each: only the lines that differ are parted.
fn by_lines(texts: Three<String>) -> Vec<Piece> {
    if texts.agree() {
        return vec![Piece::Agreed(texts.ours)];
    }
    let lines = texts
        .as_ref()
        .map(|text| text.split_inclusive('\n').collect::<Vec<_>>());
    if lines.ours.len() != lines.theirs.len() || lines.ours.len() != lines.base.len() {
        return vec![Piece::Parted(texts)];
    }
    let all = lines.base.iter().zip(&lines.ours).zip(&lines.theirs);
    let pieces = all.map(|((base, ours), theirs)| {
        if base == ours && base == theirs {
            Piece::Agreed((*ours).to_owned())
        } else {
            Piece::Parted(Three { base, ours, theirs }.map(|line| (*line).to_owned()))
        }
    });
    pieces.collect()
}

/// The edits that make one value of another.
fn towards(way: &Route, is: &Value, meant: &Value, edits: &mut Vec<Edit>) {
    if is == meant {
        return;
    }
    if let (Value::Array(is), Value::Array(meant)) = (is, meant)
        && is.len() == meant.len()
    {
        for (number, (is, meant)) in is.iter().zip(meant).enumerate() {
            towards(&way.then(number), is, meant, edits);
        }
        return;
    }
    let (Value::Object(is), Value::Object(meant)) = (is, meant) else {
        edits.push(Edit::Set {
            way: way.clone(),
            value: meant.clone(),
        });
        return;
    };
    for key in is.keys().filter(|key| !meant.contains_key(*key)) {
        edits.push(Edit::Remove {
            way: way.then(key.as_str()),
        });
    }
    for (key, meant) in meant {
        let way = way.then(key.as_str());
        match is.get(key) {
            Some(is) => towards(&way, is, meant, edits),
            None => edits.push(Edit::Set {
                way,
                value: meant.clone(),
            }),
        }
    }
}

/// Something in brackets.
struct Bit<'a> {
    key: Option<&'a str>,
    /// What stands between the comma before it and itself.
    lead: &'a str,
    /// Its key as it is written, with the colon.
    head: &'a str,
    node: &'a Node,
}

struct InBrackets<'a> {
    bits: Vec<Bit<'a>>,
    /// What stands before the closing bracket.
    tail: &'a str,
}

fn in_brackets<'a>(page: Page<'a>, node: &'a Node) -> Result<InBrackets<'a>, Odd> {
    let text = page.text;
    let span = node.span.range();
    let close = span.end.checked_sub(1).ok_or(Odd)?;
    let mut bits = Vec::new();
    let mut at = span.start + 1;
    let mut add = |key: Option<&'a str>, start: usize, node: &'a Node| -> Result<(), Odd> {
        let before = text.get(at..start).ok_or(Odd)?;
        let lead = if bits.is_empty() {
            before
        } else {
            let (left, lead) = before.split_once(',').ok_or(Odd)?;
            if !left.trim().is_empty() {
                return Err(Odd);
            }
            lead
        };
        if !lead.trim().is_empty() {
            return Err(Odd);
        }
        let own = node.span.range();
        let head = text.get(start..own.start.max(start)).ok_or(Odd)?;
        at = own.end.max(start + head.len());
        bits.push(Bit {
            key,
            lead,
            head,
            node,
        });
        Ok(())
    };
    match &node.kind {
        NodeKind::Map(entries) => {
            for entry in entries {
                add(
                    Some(&entry.key.text),
                    entry.key.span.range().start,
                    &entry.value,
                )?;
            }
        }
        NodeKind::Seq(items) => {
            for item in items {
                add(None, item.span.range().start, item)?;
            }
        }
        NodeKind::Scalar { .. } => return Err(Odd),
    }
    let tail = text.get(at..close).ok_or(Odd)?;
    let inner = tail.trim();
    if inner.is_empty() || (inner == "," && !bits.is_empty()) {
        Ok(InBrackets { bits, tail })
    } else {
        Err(Odd)
    }
}
