//! Where a person would look for what makes a text no YAML.
//!
//! The parser stops where it can't go on, which may lie lines behind the slip: a
//! quote that was never closed ends at the next quote, a bracket at the next
//! record. This looks at the text again, loosely, only once it is known to be
//! wrong, and finds the slip itself.

use std::ops::Range;

use super::parse::{DEPTH, Fault};
use crate::source::Span;

/// The fault and its place, as a person sees them.
#[must_use]
pub fn pinned(text: &str, fault: Fault, at: usize) -> (Fault, Range<usize>) {
    if let Fault::Character(bad) = fault {
        let at = text[at..].find(bad).map_or(at, |found| at + found);
        return (fault, at..at);
    }
    if fault == Fault::Tab {
        let at = tab(text, at);
        return (fault, at..at);
    }
    let line = line_start(text, at);
    let seen = Seen::of(text, at);
    if let Some(quote) = seen
        .quotes
        .iter()
        .find(|quote| quote.end > line && goes_on_by_mistake(text, quote))
    {
        return (Fault::UnclosedQuote, quote.start..quote.start);
    }
    if text[at..].starts_with(',') && ends_open(&text[..at]) {
        return (Fault::StrayComma, at..at + 1);
    }
    if matches!(
        fault,
        Fault::Unclosed(_)
            | Fault::StrayClose(_)
            | Fault::MissingComma(_)
            | Fault::Indentation { .. }
            | Fault::ColonInText
            | Fault::MissingColon
            | Fault::Other
    ) && let Some(found) = bracket(text, fault, at)
    {
        return found;
    }
    match fault {
        Fault::ColonInText | Fault::MissingColon | Fault::Indentation { .. } => {
            of_lines(text, fault, at)
        }
        // The comma belongs before the key that the parser was already in.
        Fault::MissingComma(_) if text[at..].starts_with(':') => {
            let word = text[line..at].rfind([' ', '\t', ',', '{', '[']);
            let start = word.map_or(line, |found| line + found + 1);
            (fault, start..start)
        }
        _ => (fault, at..at),
    }
}

/// What stands open before a spot.
struct Seen {
    /// The brackets that are open, with where each stands.
    brackets: Vec<(usize, char)>,
    /// A closing bracket that closes nothing, or closes another one's.
    wrong: Option<(usize, char)>,
    /// The quoted texts that go over a line's end.
    quotes: Vec<Range<usize>>,
}

impl Seen {
    /// Goes through a text up to a spot.
    fn of(text: &str, until: usize) -> Self {
        let bytes = text.as_bytes();
        let mut seen = Self {
            brackets: Vec::new(),
            wrong: None,
            quotes: Vec::new(),
        };
        let mut at = 0;
        // Whether a value may begin here: only then is a quote or bracket one.
        let mut begins = true;
        while at < until {
            let byte = bytes[at];
            let flow = !seen.brackets.is_empty();
            let before = at.checked_sub(1).map(|before| bytes[before]);
            let apart = before.is_none_or(|b| b.is_ascii_whitespace());
            match byte {
                b'\n' | b'\r' => begins = true,
                b' ' | b'\t' => {}
                b'#' if apart => {
                    at = line_end(text, at);
                    continue;
                }
                b'"' | b'\'' if begins => {
                    let end = quote_end(bytes, at);
                    if text[at..end].contains(['\n', '\r']) {
                        seen.quotes.push(at..end);
                    }
                    at = end;
                    begins = false;
                    continue;
                }
                b'{' | b'[' if begins => seen.brackets.push((at, char::from(byte))),
                b'}' | b']' if flow || matches!(before, Some(b'}' | b']')) => {
                    let close = char::from(byte);
                    match seen.brackets.last() {
                        Some((_, open)) if closing(*open) == close => {
                            seen.brackets.pop();
                        }
                        _ => {
                            seen.wrong = Some((at, close));
                            return seen;
                        }
                    }
                    begins = false;
                }
                b',' if flow => begins = true,
                b':' | b'-' | b'?' => {
                    let spaced = bytes.get(at + 1).is_none_or(u8::is_ascii_whitespace);
                    begins = spaced && (byte == b':' || begins);
                }
                b'|' | b'>' if begins && !flow => {
                    at = block_end(text, at);
                    begins = true;
                    continue;
                }
                _ => begins = false,
            }
            at += 1;
        }
        seen
    }
}

/// A bracket that has no other half, if that is what is wrong.
fn bracket(text: &str, fault: Fault, at: usize) -> Option<(Fault, Range<usize>)> {
    // `{kept-in: box #3}`: the comment has taken the closing half along.
    let unclosed = |at: usize, open: char| {
        let line = &text[at..line_end(text, at)];
        let comment = line
            .find(" #")
            .filter(|hash| line[*hash..].contains(closing(open)));
        match comment {
            Some(hash) => (Fault::InComment(open), at + hash + 1..at + hash + 2),
            None => (Fault::Unclosed(open), at..at + 1),
        }
    };
    let whole = Seen::of(text, text.len());
    let reach = match fault {
        Fault::Unclosed(_) => text.len(),
        _ => (at + 1).min(text.len()),
    };
    if let Some((wrong, close)) = whole.wrong
        && (wrong < reach)
    {
        // Further out its own half may wait, behind one that was never closed.
        return Some(match whole.brackets.last() {
            Some((open_at, open))
                if whole
                    .brackets
                    .iter()
                    .any(|(_, open)| closing(*open) == close) =>
            {
                unclosed(*open_at, *open)
            }
            _ => (Fault::StrayClose(close), wrong..wrong + 1),
        });
    }
    let here = Seen::of(text, at);
    let open = match fault {
        Fault::Unclosed(_) => whole.brackets,
        _ => here.brackets,
    };
    // The reader gives up at its depth; what lies deeper is not worth a look.
    let fallen = open.iter().rev().take(DEPTH).find(|(open_at, _)| {
        let level = set_in(text, *open_at);
        let next = line_end(text, *open_at);
        let after = next..line_end(text, at.max(next).min(text.len()));
        text[after].lines().any(|line| {
            let inner = line.trim_start_matches(' ');
            line.len() - inner.len() <= level && inner.starts_with(|c: char| c.is_alphanumeric())
        })
    });
    match (fault, fallen) {
        (_, Some((open_at, open))) => Some(unclosed(*open_at, *open)),
        (Fault::Unclosed(_), None) => open.last().map(|(open_at, open)| unclosed(*open_at, *open)),
        _ => None,
    }
}

/// Whether a quoted text over several lines was never meant to go on.
fn goes_on_by_mistake(text: &str, quote: &Range<usize>) -> bool {
    let inner = &text[quote.start + 1..quote.end];
    let Some(quoted) = inner.strip_suffix(&text[quote.start..=quote.start]) else {
        return true;
    };
    // What seems to close it opens the next text, or a key stands inside it.
    ends_open(quoted)
        || quoted
            .lines()
            .skip(1)
            .any(|line| is_field(line.trim_start()))
}

/// Whether the next thing after a text begins a value.
fn ends_open(before: &str) -> bool {
    let last = before.trim_end_matches([' ', '\t', '\n', '\r']);
    last.ends_with(['[', '{', ',']) || last.len() < before.len() && last.ends_with([':', '-'])
}

/// The line itself, or the one above it, as the slip of a block's lines.
fn of_lines(text: &str, fault: Fault, at: usize) -> (Fault, Range<usize>) {
    let line = line_start(text, at);
    let own = content(text, line);
    let above = line_above(text, line);
    for start in [Some(line), above].into_iter().flatten() {
        let content = content(text, start);
        if let Some(key) = glued_key(&text[content.clone()]) {
            return (Fault::NoSpace, content.start..content.start + key);
        }
    }
    let named = text[own.clone()].trim_start_matches(|c: char| c.is_alphanumeric() || c == '-');
    if fault == Fault::ColonInText && named.starts_with(" {") && named.len() < own.len() {
        return (Fault::MissingColon, own.start..own.start);
    }
    if own.start < at && text[..at].trim_end().ends_with([']', '}', '"', '\'']) {
        let last = text[..at].trim_end().chars().last().unwrap_or(']');
        return (Fault::AfterValue(last), at..at);
    }
    let Some(above) = above else {
        return (fault, at..at);
    };
    let upper = content(text, above);
    if matches!(fault, Fault::ColonInText) && text[line..at].contains(": ") {
        return (fault, at..at);
    }
    let written = &text[upper.clone()];
    if fault == Fault::MissingColon && at >= own.start && !is_field(&text[own.clone()]) {
        return (fault, own.start..own.start);
    }
    if !written.is_empty() && !written.contains([':', '#']) && !written.starts_with("- ") {
        return (Fault::MissingColon, upper.start..upper.start);
    }
    let (own_in, upper_in) = (own.start - line, upper.start - above);
    if own_in == upper_in && text[own.clone()].starts_with("- ") {
        return (Fault::ItemAmongKeys, own.start..own.start + 1);
    }
    // Of the lines above the nearest that this one could stand beside: the last
    // one that is set in no more than what the line before this belongs to.
    let mut beside = above;
    let mut look = above;
    while own_in < upper_in && content(text, beside).start - beside > own_in {
        let Some(next) = line_above(text, look) else {
            break;
        };
        look = next;
        let next_in = content(text, next).start - next;
        if next_in <= own_in {
            break;
        }
        if next_in < content(text, beside).start - beside {
            beside = next;
        }
    }
    let like = content(text, beside);
    (
        Fault::Indentation {
            like: Some(Span::new(like)),
            by: u16::try_from(content(text, beside).start - beside).unwrap_or(u16::MAX),
        },
        own.start..own.start,
    )
}

/// `donor:x`: how long the key is, with its colon, where no space follows.
#[must_use]
pub fn glued_key(line: &str) -> Option<usize> {
    let colon = line.find(':')?;
    let key = &line[..colon];
    let name = !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
    let rest = &line[colon + 1..];
    let glued = !rest.is_empty()
        && !rest.starts_with([' ', '\t', '/', ':'])
        // `12:30` is a time.
        && key.bytes().any(|b| b.is_ascii_alphabetic());
    (name && glued).then_some(colon + 1)
}

/// `key: value`, or a key alone.
fn is_field(line: &str) -> bool {
    let Some((key, rest)) = line.split_once(':') else {
        return false;
    };
    !key.is_empty()
        && key.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-')
        && (rest.is_empty() || rest.starts_with([' ', '\t']))
}

fn tab(text: &str, at: usize) -> usize {
    let before = &text[line_start(text, at)..at];
    let blank = before.len() - before.trim_end_matches([' ', '\t']).len();
    before[before.len() - blank..]
        .find('\t')
        .map(|found| at - blank + found)
        .or_else(|| text[at..].find('\t').map(|found| at + found))
        .unwrap_or(at)
}

/// The end of a quoted text, its quote included; the text's end if it has none.
fn quote_end(bytes: &[u8], open: usize) -> usize {
    let quote = bytes[open];
    let mut at = open + 1;
    while let Some(byte) = bytes.get(at) {
        match byte {
            b'\\' if quote == b'"' => at += 1,
            _ if *byte == quote => {
                if quote == b'\'' && bytes.get(at + 1) == Some(&b'\'') {
                    at += 1;
                } else {
                    return at + 1;
                }
            }
            _ => {}
        }
        at += 1;
    }
    bytes.len()
}

/// The end of a text block after `|` or `>`: the first line that is set in no more
/// than the line that opens it.
fn block_end(text: &str, at: usize) -> usize {
    let level = set_in(text, at);
    let mut end = line_end(text, at);
    loop {
        let start = next_line(text, end);
        if start >= text.len() {
            return text.len();
        }
        let content = content(text, start);
        if !content.is_empty() && content.start - start <= level {
            return start;
        }
        end = line_end(text, start);
    }
}

pub(crate) fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind(['\n', '\r']).map_or(0, |end| end + 1)
}

pub(crate) fn line_end(text: &str, at: usize) -> usize {
    text[at..]
        .find(['\n', '\r'])
        .map_or(text.len(), |end| at + end)
}

/// Where the line behind a line's end begins.
pub(crate) fn next_line(text: &str, end: usize) -> usize {
    match &text.as_bytes()[end..] {
        [b'\r', b'\n', ..] => end + 2,
        [_, ..] => end + 1,
        [] => end,
    }
}

/// How far the line of a spot is set in.
fn set_in(text: &str, at: usize) -> usize {
    let start = line_start(text, at);
    content(text, start).start - start
}

/// A line without what it is set in by and without blanks at its end.
fn content(text: &str, start: usize) -> Range<usize> {
    let line = &text[start..line_end(text, start)];
    let inner = line.trim_start_matches(' ');
    let first = start + line.len() - inner.len();
    first..first + inner.trim_end().len()
}

/// The nearest line above that says something.
fn line_above(text: &str, line: usize) -> Option<usize> {
    let mut start = line;
    loop {
        let end = text[..start].trim_end_matches(['\n', '\r']).len();
        if end == 0 {
            return None;
        }
        start = line_start(text, end);
        let content = &text[content(text, start)];
        if !content.is_empty() && !content.starts_with('#') {
            return Some(start);
        }
    }
}

/// The bracket that closes another.
#[must_use]
pub fn closing(open: char) -> char {
    if open == '[' { ']' } else { '}' }
}
