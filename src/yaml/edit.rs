//! Changes of a file by its spans: what is set or taken out, and not a byte
//! besides.
//!
//! Comments, order, layout, line ends, a byte-order mark and a missing last line
//! end stay. Nothing is believed of the splicing: after each change the text is
//! read again, and has to say what was meant, with all the comments that should
//! still be there. Otherwise the change is refused, and the person makes it. So
//! the splicing need not know every corner of YAML.
//!
//! A comment behind an entry is the entry's, and so are those straight below that
//! are set in deeper. A comment above an entry is left when the entry goes: it may
//! speak of more than that.

use std::fmt;
use std::ops::Range;

use jiff::civil::Date;
use serde_json::{Map, Value};

use super::blame::{line_end, line_start, next_line};
use super::parse::{Reading, read};
use super::traps;
use super::tree::{Entry, Node, NodeKind, Route, Step, Style};
use crate::source::Source;

/// One change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    /// A value is put at the end of a way. What the way leads through has to be
    /// there; an entry that is not is added at the end of its map.
    Set {
        /// The way.
        way: Route,
        /// The value. What is already so stays as it is written.
        value: Value,
    },
    /// An entry is taken out of its map.
    Remove {
        /// The way to it.
        way: Route,
    },
}

/// A change that was not made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EditError {
    /// The file.
    pub path: String,
    /// Which of the changes, from 0.
    pub number: usize,
    /// The change.
    pub edit: Edit,
    /// Why.
    pub why: Refusal,
}

impl fmt::Display for EditError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (way, done) = match &self.edit {
            Edit::Set { way, .. } => (way, "set"),
            Edit::Remove { way } => (way, "taken out"),
        };
        let way = way.to_string();
        let way = way.strip_prefix('/').unwrap_or(&way);
        write!(f, "{}: `{way}` can't be {done}: {}", self.path, self.why)
    }
}

impl std::error::Error for EditError {}

/// Why a change was not made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// The file has faults, and what is meant by it is not sure.
    #[error("the file can't be read as it stands; mend it first")]
    Unread,
    /// The way leads nowhere.
    #[error("what it belongs to is not there")]
    NoPlace,
    /// There is nothing to take out.
    #[error("it is not there")]
    NotThere,
    /// Not every reader would make the same of the value.
    #[error("not every reader would make the same of the new value; write it by hand")]
    Unwritable,
    /// A comment stands in the middle of what would go.
    #[error("a comment stands inside the old value, and would be lost; change it by hand")]
    Comment,
    /// The file would say something else than was meant.
    #[error("it is written in a way that makes this unsafe; change it by hand")]
    Unsafe,
}

/// The text with the changes made in it, one after the other: all of them or none.
///
/// # Errors
/// When one of them can't be made; it says which.
pub fn apply(reading: &Reading, edits: &[Edit]) -> Result<String, EditError> {
    let mut anew: Option<Reading> = None;
    for (number, edit) in edits.iter().enumerate() {
        let before = anew.as_ref().unwrap_or(reading);
        match made(before, edit) {
            Ok(Some(after)) => anew = Some(after),
            Ok(None) => {}
            Err(why) => {
                return Err(EditError {
                    path: reading.source.path.clone(),
                    number,
                    edit: edit.clone(),
                    why,
                });
            }
        }
    }
    Ok(anew.map_or_else(|| reading.source.text.clone(), |after| after.source.text))
}

/// One change, made and read again; nothing where all is so already.
fn made(before: &Reading, edit: &Edit) -> Result<Option<Reading>, Refusal> {
    if !before.problems.is_empty() {
        return Err(Refusal::Unread);
    }
    let is = json(before);
    let mut meant = is.clone();
    let page = Page::of(before);
    let change = match edit {
        Edit::Set { way, value } => {
            put(&mut meant, way, value).ok_or(Refusal::NoPlace)?;
            if meant == is {
                return Ok(None);
            }
            // What a list holds already stays as it is written, where that can be.
            let added = page.add_items(way, value);
            if let Some(after) = added.and_then(|change| kept_to(before, &change, &meant).ok()) {
                return Ok(Some(after));
            }
            page.set(way, value)?
        }
        Edit::Remove { way } => {
            way.take_out_of(&mut meant);
            if meant == is {
                return Err(Refusal::NotThere);
            }
            page.remove(way)?
        }
    };
    kept_to(before, &change, &meant).map(Some)
}

/// The text with a change made in it, if it says what is meant and lacks no comment.
fn kept_to(before: &Reading, change: &Change, meant: &Value) -> Result<Reading, Refusal> {
    let text = change.made_in(&before.source.text);
    let after = read(Source::new(&*before.source.path, text));
    let comments = |reading: &Reading, but: &Range<usize>| {
        let kept = reading.tree.comments.iter().map(|comment| comment.span);
        let kept = kept.filter(|span| !but.contains(&span.range().start));
        let mut texts: Vec<String> = kept
            .map(|span| reading.source.slice(span).trim_end().to_owned())
            .collect();
        texts.sort_unstable();
        texts
    };
    let as_meant = after.problems.is_empty()
        && json(&after) == *meant
        && comments(&after, &(0..0)) == comments(before, &change.takes);
    if as_meant {
        Ok(after)
    } else {
        Err(Refusal::Unsafe)
    }
}

fn json(reading: &Reading) -> Value {
    let root = reading.tree.root.as_ref();
    root.map_or_else(
        || Value::Object(Map::new()),
        |root| root.to_json(&reading.source),
    )
}

/// Puts a value at the end of a way in JSON, if the way leads there.
fn put(whole: &mut Value, way: &Route, value: &Value) -> Option<()> {
    let (last, before) = way.0.split_last()?;
    let holder = before.iter().try_fold(whole, |at, step| match step {
        Step::Key(key) => at.get_mut(key),
        Step::Index(index) => at.get_mut(index),
    })?;
    match (holder, last) {
        (Value::Object(map), Step::Key(key)) => {
            map.insert(key.clone(), value.clone());
        }
        (Value::Array(items), Step::Index(index)) => *items.get_mut(*index)? = value.clone(),
        (empty @ Value::Null, Step::Key(key)) => {
            *empty = Value::Object(Map::from_iter([(key.clone(), value.clone())]));
        }
        _ => return None,
    }
    Some(())
}

/// Texts to put in the place of others.
#[derive(Default)]
struct Change {
    splices: Vec<(Range<usize>, String)>,
    /// Comments that start in here go.
    takes: Range<usize>,
}

impl Change {
    fn splice(mut self, range: Range<usize>, text: impl Into<String>) -> Self {
        self.splices.push((range, text.into()));
        self
    }

    fn insert(self, at: usize, text: impl Into<String>) -> Self {
        self.splice(at..at, text)
    }

    fn takes(mut self, range: Range<usize>) -> Self {
        self.takes = range;
        self
    }

    fn made_in(&self, text: &str) -> String {
        let mut splices: Vec<_> = self.splices.iter().collect();
        splices.sort_by_key(|(range, _)| (range.start, range.end));
        let mut anew = String::with_capacity(text.len() + 64);
        let mut at = 0;
        for (range, put) in splices {
            anew.push_str(text.get(at..range.start).unwrap_or_default());
            anew.push_str(put);
            at = range.end.max(at);
        }
        anew.push_str(text.get(at..).unwrap_or_default());
        anew
    }
}

/// A file and where its lines and comments are.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Page<'a> {
    pub(crate) text: &'a str,
    pub(crate) reading: &'a Reading,
}

impl<'a> Page<'a> {
    pub(crate) fn of(reading: &'a Reading) -> Self {
        Self {
            text: &reading.source.text,
            reading,
        }
    }
}

impl Page<'_> {
    fn set(&self, way: &Route, value: &Value) -> Result<Change, Refusal> {
        let (last, before) = way.0.split_last().ok_or(Refusal::NoPlace)?;
        let above = Route(before.to_vec());
        let Some(holder) = self.reading.tree.node(&above) else {
            // An empty file: the way has one step then.
            let Step::Key(key) = last else {
                return Err(Refusal::NoPlace);
            };
            let line = entry_text(key, &written(value)?);
            return Ok(self.new_line(Change::default(), self.text.len(), 0, &line));
        };
        match (&holder.kind, last) {
            (NodeKind::Map(entries), Step::Key(key)) => {
                if holder.entry(key).is_some() {
                    self.replace(way, value)
                } else if self.is_flow(holder) {
                    self.add_in_braces(holder, key, value)
                } else {
                    let first = entries.first().ok_or(Refusal::Unsafe)?;
                    let last = entries.last().ok_or(Refusal::Unsafe)?;
                    let column = self.column(first.key.span.range().start);
                    let end = self.lines_below(self.last_line(&last.value), column);
                    let line = entry_text(key, &written(value)?);
                    Ok(self.new_line(Change::default(), end, column, &line))
                }
            }
            (NodeKind::Seq(_), _) => self.replace(way, value),
            // A key that holds nothing yet.
            (NodeKind::Scalar { .. }, Step::Key(key)) => {
                let map = Map::from_iter([(key.clone(), value.clone())]);
                self.replace(&above, &Value::Object(map))
            }
            _ => Err(Refusal::NoPlace),
        }
    }

    /// More items behind those that a list has; none where it is not that.
    fn add_items(&self, way: &Route, value: &Value) -> Option<Change> {
        let list = self.reading.tree.node(way)?;
        let (items, value) = (list.items(), value.as_array()?);
        let json = |item: &Node| item.to_json(&self.reading.source);
        let last = items.last()?;
        let same = items.len() < value.len()
            && items
                .iter()
                .zip(value)
                .all(|(item, value)| json(item) == *value);
        if !same {
            return None;
        }
        let added = value[items.len()..].iter().map(written);
        let added: Vec<String> = added.collect::<Result<_, _>>().ok()?;
        if self.is_flow(list) {
            let end = last.span.range().end;
            let close = list.span.range().end.saturating_sub(1);
            let added = added.join(", ");
            return Some(match self.comma(end..close) {
                Some(comma) => Change::default().insert(comma + 1, format!(" {added},")),
                None => Change::default().insert(end, format!(", {added}")),
            });
        }
        let start = items[0].span.range().start;
        let before = &self.text[line_start(self.text, start)..start];
        let column = before.len() - before.trim_start_matches(' ').len();
        if before[column..].trim_end_matches(' ') != "-" {
            return None;
        }
        let end = self.lines_below(self.last_line(last), column + 1);
        let lines = added.iter();
        Some(lines.fold(Change::default(), |change, item| {
            self.new_line(change, end, column, &format!("- {item}"))
        }))
    }

    /// Another value in the place of one.
    fn replace(&self, way: &Route, value: &Value) -> Result<Change, Refusal> {
        let node = self.reading.tree.node(way).ok_or(Refusal::NoPlace)?;
        let span = node.span.range();
        let style = match &node.kind {
            NodeKind::Scalar { style, .. } => Some(*style),
            _ => None,
        };
        let was_plain =
            style == Some(Style::Plain) && node.to_json(&self.reading.source).is_string();
        let change = Change::default();
        if let (None, false, Some(key)) = (style, self.is_flow(node), self.reading.tree.key(way)) {
            // A list or map on the lines below its key.
            let colon = self.behind_colon(key.span.range().end)?;
            let text = self.before_comment(colon, value, false)?;
            let lines = line_end(self.text, colon)..line_end(self.text, span.end);
            let kept = self.comments_below(&lines, span.start);
            return Ok(change.insert(colon, format!(" {text}")).splice(lines, kept));
        }
        if style == Some(Style::Block) {
            let head = self.text[span.clone()]
                .find(|c: char| c.is_ascii_whitespace())
                .map_or(span.end, |end| span.start + end);
            let text = self.before_comment(head, value, false)?;
            let lines = line_end(self.text, head)..line_end(self.text, span.end);
            return Ok(change.splice(span.start..head, text).splice(lines, ""));
        }
        if self.comments(&span).next().is_some() {
            return Err(Refusal::Comment);
        }
        let text = self.before_comment(span.end, value, was_plain)?;
        let before = self.text[..span.start].chars().next_back();
        let lead = match (before, self.reading.tree.key(way)) {
            (Some(':'), _) => " ",
            // `{sealed}`: a key that has no colon.
            (_, Some(key)) if span.is_empty() && key.span.end == node.span.start => ": ",
            _ => "",
        };
        Ok(change.splice(span, format!("{lead}{text}")))
    }

    fn add_in_braces(&self, map: &Node, key: &str, value: &Value) -> Result<Change, Refusal> {
        let span = map.span.range();
        let close = span.end.saturating_sub(1);
        let line = entry_text(key, &written(value)?);
        let change = Change::default();
        let Some(last) = map.entries().last() else {
            let commented = self.comments(&span).next().is_some();
            return Ok(if commented {
                change.insert(span.start + 1, format!("{line} "))
            } else {
                change.splice(span, format!("{{{line}}}"))
            });
        };
        let end = entry_end(last);
        let comma = self.comma(end..close);
        let behind = comma.map_or(end, |comma| comma + 1);
        let line_end = line_end(self.text, behind);
        let start = last.key.span.range().start;
        if line_end < close && self.opens_line(start) {
            // Each entry has a line of its own, and so does the new one.
            let (change, line) = match comma {
                Some(_) => (change, format!("{line},")),
                None => (change.insert(end, ","), line),
            };
            return Ok(self.new_line(change, line_end, self.column(start), &line));
        }
        let line = entry_text(key, &self.before_comment(behind, value, false)?);
        let Some(behind) = comma.map(|comma| comma + 1) else {
            // Not close behind a colon, where the comma might seem to be a value's.
            let rest = &self.text[end..close];
            let blanks = rest.len() - rest.trim_start_matches([' ', '\t']).len();
            let colon = self.text[..end].ends_with(':');
            let at = if colon { end + blanks } else { end };
            return Ok(change.insert(at, format!(", {line}")));
        };
        Ok(change.insert(behind, format!(" {line},")))
    }

    fn remove(&self, way: &Route) -> Result<Change, Refusal> {
        let Some((Step::Key(key), before)) = way.0.split_last() else {
            return Err(Refusal::NotThere);
        };
        let above = Route(before.to_vec());
        let map = self.reading.tree.node(&above).ok_or(Refusal::NotThere)?;
        let mut entries = map.entries().iter();
        let place = entries.position(|entry| &*entry.key.text == key);
        let place = place.ok_or(Refusal::NotThere)?;
        if self.is_flow(map) {
            Ok(self.remove_in_braces(map, place))
        } else {
            self.remove_lines(&above, map, place)
        }
    }

    fn remove_in_braces(&self, map: &Node, place: usize) -> Change {
        let entries = map.entries();
        let entry = &entries[place];
        let (start, end) = (entry.key.span.range().start, entry_end(entry));
        let close = map.span.range().end.saturating_sub(1);
        let next = entries.get(place + 1);
        let reach = next.map_or(close, |next| next.key.span.range().start);
        let comma = self.comma(end..reach);
        let behind = comma.map_or(end, |comma| comma + 1);
        let before = place.checked_sub(1).and_then(|before| {
            let from = entry_end(entries.get(before)?);
            self.comma(from..start)
        });
        let line = line_start(self.text, start)..line_end(self.text, behind);
        let rest = self.text[behind..line.end].trim_start();
        let alone = self.opens_line(start)
            && line.end < close
            && (rest.is_empty() || rest.starts_with('#'));
        let takes = start..if alone { line.end } else { end };
        let change = Change::default().takes(takes.clone());
        let inside = |at: &Range<usize>| takes.contains(&at.start);
        if entries.len() == 1 && self.comments(&map.span.range()).all(|at| inside(&at)) {
            return change.splice(map.span.range(), "{}");
        }
        if alone {
            let change = change.splice(line.start..next_line(self.text, line.end), "");
            // A comma was behind the last one, or is not now.
            return match before {
                Some(before) if next.is_none() && comma.is_none() => {
                    change.splice(before..before + 1, "")
                }
                _ => change,
            };
        }
        match before {
            Some(before) if next.is_none() => {
                if self.text[before + 1..start]
                    .trim_matches([' ', '\t'])
                    .is_empty()
                {
                    change.splice(before..end, "")
                } else {
                    change.splice(before..before + 1, "").splice(start..end, "")
                }
            }
            _ => {
                let blanks = self.text[behind..].trim_start_matches([' ', '\t']);
                // A comment needs a blank before it.
                let end = match blanks.starts_with('#') {
                    true => behind,
                    false => self.text.len() - blanks.len(),
                };
                // The last of a line takes the blank before it along.
                let start = match blanks.starts_with(['\n', '\r']) && !self.opens_line(start) {
                    true => self.text[..start].trim_end_matches([' ', '\t']).len(),
                    false => start,
                };
                change.splice(start..end, "")
            }
        }
    }

    fn remove_lines(&self, above: &Route, map: &Node, place: usize) -> Result<Change, Refusal> {
        let entry = &map.entries()[place];
        let start = entry.key.span.range().start;
        let end = self.lines_below(self.last_line(&entry.value), self.column(start) + 1);
        let mut change = Change::default().takes(start..end);
        if map.entries().len() == 1 && !above.0.is_empty() {
            let Some(key) = self.reading.tree.key(above) else {
                // An item of a list: it opens the dash's line, and stays.
                let span = map.span.range();
                return Ok(change.takes(span.clone()).splice(span, "{}"));
            };
            let colon = self.behind_colon(key.span.range().end)?;
            change = change.insert(colon, " {}");
        }
        let line = line_start(self.text, start);
        if !self.opens_line(start) {
            // Behind a dash, where the next entry moves up.
            let rest = self.text[end..].trim_start_matches([' ', '\t', '\n', '\r']);
            return Ok(change.splice(start..self.text.len() - rest.len(), ""));
        }
        let own = &self.text[line..];
        let line = self.text.len() - own.trim_start_matches('\u{FEFF}').len();
        let below = next_line(self.text, end);
        Ok(if below > end || end == line_start(self.text, end) {
            change.splice(line..below, "")
        } else {
            // The last line has no end, and the one above has none then.
            let above = &self.text[..line];
            let above = above
                .strip_suffix("\r\n")
                .or_else(|| above.strip_suffix(['\n', '\r']))
                .unwrap_or(above);
            change.splice(above.len()..end, "")
        })
    }

    /// A new line below the line that ends at a spot.
    fn new_line(&self, change: Change, end: usize, column: usize, line: &str) -> Change {
        let text = self.text;
        let blanks = " ".repeat(column);
        let ending = self.ending(end);
        let open = text[..end].trim_end_matches('\u{FEFF}').is_empty()
            || text[..end].ends_with(['\n', '\r']);
        if end == text.len() && open {
            change.insert(end, format!("{blanks}{line}{ending}"))
        } else {
            change.insert(end, format!("{ending}{blanks}{line}"))
        }
    }

    /// How lines end around a spot.
    fn ending(&self, at: usize) -> &str {
        let end = line_end(self.text, at);
        let own = &self.text[end..next_line(self.text, end)];
        if !own.is_empty() {
            return own;
        }
        let above = &self.text[..line_start(self.text, at)];
        if above.ends_with("\r\n") {
            "\r\n"
        } else if above.ends_with('\r') {
            "\r"
        } else {
            "\n"
        }
    }

    /// The end of a value's last line.
    pub(crate) fn last_line(&self, value: &Node) -> usize {
        let mut last = value;
        while !self.is_flow(last) {
            last = match &last.kind {
                NodeKind::Map(entries) if !entries.is_empty() => &entries[entries.len() - 1].value,
                NodeKind::Seq(items) if !items.is_empty() => &items[items.len() - 1],
                _ => break,
            };
        }
        let span = last.span.range();
        let mut end = line_end(self.text, span.end);
        let NodeKind::Scalar { style, .. } = &last.kind else {
            return end;
        };
        if *style != Style::Block {
            return end;
        }
        // Empty lines below a text that keeps them are its own, and such of blanks are.
        let head = self.text[span].split_ascii_whitespace().next();
        let keeps = head.is_some_and(|head| head.contains('+'));
        let mut look = end;
        loop {
            let start = next_line(self.text, look);
            let line = &self.text[start..line_end(self.text, start)];
            if start == look || !line.trim_matches([' ', '\t']).is_empty() {
                return end;
            }
            look = start + line.len();
            if keeps || !line.is_empty() {
                end = look;
            }
        }
    }

    /// The end of the comments straight below a line that are set in so far, or of
    /// the line itself.
    fn lines_below(&self, end: usize, column: usize) -> usize {
        let mut end = end;
        loop {
            let start = next_line(self.text, end);
            let stop = line_end(self.text, start);
            let line = &self.text[start..stop];
            let set_in = line.len() - line.trim_start_matches([' ', '\t']).len();
            let hash = start + set_in;
            let comment = self.comments(&(hash..hash + 1)).next().is_some();
            if start == end || !comment || set_in < column {
                return end;
            }
            end = stop;
        }
    }

    /// The comments inside a value's lines, each on a line of its own.
    fn comments_below(&self, lines: &Range<usize>, beside: usize) -> String {
        let ending = self.ending(lines.start);
        let blanks = " ".repeat(self.column(beside).max(1));
        self.comments(lines)
            .map(|at| format!("{ending}{blanks}{}", self.text[at].trim_end()))
            .collect()
    }

    /// The comments that start in a range.
    pub(crate) fn comments(&self, range: &Range<usize>) -> impl Iterator<Item = Range<usize>> {
        let comments = &self.reading.tree.comments;
        let first = comments.partition_point(|comment| comment.span.range().start < range.start);
        let end = range.end;
        comments[first..]
            .iter()
            .map(|comment| comment.span.range())
            .take_while(move |at| at.start < end)
    }

    /// The first comma in a range that holds nothing else but blanks and comments.
    fn comma(&self, range: Range<usize>) -> Option<usize> {
        let mut at = range.start;
        for comment in self.comments(&range) {
            if let Some(found) = self.text[at..comment.start].find(',') {
                return Some(at + found);
            }
            at = comment.end;
        }
        let found = self.text.get(at..range.end)?.find(',')?;
        Some(at + found)
    }

    /// A value as it is written before what follows a spot: a plain text with a comment
    /// close behind it might seem to go on in the comment.
    fn before_comment(&self, at: usize, value: &Value, plain: bool) -> Result<String, Refusal> {
        let rest = &self.text[at..];
        let after = rest.trim_start_matches([' ', '\t']);
        let close = rest.len() - after.len() < 2 || !after.starts_with("# ");
        match value {
            Value::String(text) if !plain && close && after.starts_with('#') => Ok(quoted(text)),
            _ => written(value),
        }
    }

    fn behind_colon(&self, key_end: usize) -> Result<usize, Refusal> {
        let rest = self.text[key_end..].trim_start_matches([' ', '\t']);
        let colon = self.text.len() - rest.len();
        if rest.starts_with(':') {
            Ok(colon + 1)
        } else {
            Err(Refusal::Unsafe)
        }
    }

    pub(crate) fn is_flow(&self, node: &Node) -> bool {
        let start = node.span.range().start;
        let opens = self.text[start..].starts_with(['{', '[']);
        match &node.kind {
            NodeKind::Scalar { .. } => false,
            NodeKind::Map(_) => opens,
            // A list on lines may begin with its first item, which may be in brackets itself.
            NodeKind::Seq(items) => {
                let first = items.first().map(|item| item.span.range().start);
                opens && first.is_none_or(|first| first > start)
            }
        }
    }

    /// How many characters stand before a spot on its line.
    pub(crate) fn column(&self, at: usize) -> usize {
        let before = &self.text[line_start(self.text, at)..at];
        before.trim_start_matches('\u{FEFF}').chars().count()
    }

    /// Whether a spot is the first on its line.
    pub(crate) fn opens_line(&self, at: usize) -> bool {
        let before = &self.text[line_start(self.text, at)..at];
        before.trim_matches(['\u{FEFF}', ' ', '\t']).is_empty()
    }
}

fn entry_end(entry: &Entry) -> usize {
    let value = entry.value.span.range().end;
    value.max(entry.key.span.range().end)
}

fn entry_text(key: &str, value: &str) -> String {
    format!("{}: {value}", scalar(key))
}

/// A value on one line.
fn written(value: &Value) -> Result<String, Refusal> {
    Ok(match value {
        // A day stands as people write it; a reader that knows days means the same one.
        Value::String(text) if text.len() == 10 && text.parse::<Date>().is_ok() => text.clone(),
        Value::String(text) => scalar(text),
        Value::Bool(truth) => truth.to_string(),
        Value::Number(number) if traps::agreed(&number.to_string()) => number.to_string(),
        Value::Number(_) | Value::Null => return Err(Refusal::Unwritable),
        Value::Array(items) => {
            let items: Result<Vec<_>, _> = items.iter().map(written).collect();
            format!("[{}]", items?.join(", "))
        }
        Value::Object(map) => {
            let entries = map
                .iter()
                .map(|(key, value)| Ok(entry_text(key, &written(value)?)));
            let entries: Result<Vec<_>, _> = entries.collect();
            format!("{{{}}}", entries?.join(", "))
        }
    })
}

/// A text, plain where nobody could take it for anything else.
fn scalar(text: &str) -> String {
    let word =
        |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/' | '·' | '+' | ' ');
    let plain = text.len() <= 64
        && text.starts_with(char::is_alphanumeric)
        && !text.ends_with(' ')
        && text.chars().all(word)
        && traps::reads_as(text).is_none();
    if plain { text.to_owned() } else { quoted(text) }
}

/// A text in double quotes, as JSON and every YAML read it.
fn quoted(text: &str) -> String {
    let json = Value::from(text).to_string();
    let mut all = String::with_capacity(json.len());
    for c in json.chars() {
        // JSON lets these stand; YAML breaks lines at some and bans the others.
        let told = c.is_control()
            || matches!(
                c,
                '\u{2028}' | '\u{2029}' | '\u{FEFF}' | '\u{FFFE}' | '\u{FFFF}'
            );
        if told {
            all.push_str(&format!("\\u{:04x}", u32::from(c)));
        } else {
            all.push(c);
        }
    }
    all
}
