//! A file cut up into the lines of what it holds, so that each thing keeps its own.
//!
//! A comment straight above a key belongs to it, and so do the empty lines above that. A
//! comment with an empty line below it belongs to nothing, and keeps its place. Comments
//! below a value that are set in deeper than its key are the value's.

use std::ops::Range;

use crate::yaml::blame::{line_end, line_start, next_line};
use crate::yaml::edit::Page;
use crate::yaml::{Node, NodeKind, Style};

/// Something in a map or a list that is written line by line.
#[derive(Debug, Clone, Copy)]
pub(super) enum Part<'a> {
    /// A comment that belongs to nothing.
    Note {
        /// The empty lines above it.
        gap: &'a str,
        /// Its lines.
        text: &'a str,
    },
    /// A key with its value, or an item.
    Entry(Entry<'a>),
}

/// A key with its value, or an item.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entry<'a> {
    /// The empty lines above it.
    pub(super) gap: &'a str,
    /// The comments straight above it.
    pub(super) above: &'a str,
    /// Where its own lines begin.
    pub(super) start: usize,
    /// Where they end.
    pub(super) end: usize,
    /// Its key; an item has none.
    pub(super) key: Option<&'a str>,
    /// Its value.
    pub(super) node: &'a Node,
    /// Its number.
    pub(super) number: usize,
    /// The dash of an item that its first key stands behind: for the lines, a blank.
    pub(super) dash: Option<usize>,
}

/// What a map or a list holds, line by line.
#[derive(Debug, Clone)]
pub(super) struct Lines<'a> {
    /// How far its lines are set in; none where there is nothing but comments.
    pub(super) column: Option<usize>,
    /// What stands in it, in order.
    pub(super) parts: Vec<Part<'a>>,
    /// Comments at the end of a list.
    pub(super) tail: &'a str,
}

impl<'a> Lines<'a> {
    /// The entries alone.
    pub(super) fn entries(&self) -> impl Iterator<Item = &Entry<'a>> {
        self.parts.iter().filter_map(|part| match part {
            Part::Entry(entry) => Some(entry),
            Part::Note { .. } => None,
        })
    }
}

/// Whether a value stands on lines of its own, not in brackets.
pub(super) fn is_block(page: Page<'_>, node: &Node) -> bool {
    let some = !node.entries().is_empty() || !node.items().is_empty();
    some && !page.is_flow(node)
}

/// Whether a text runs over lines, with blanks that may be its own.
pub(super) fn is_long(page: Page<'_>, node: &Node) -> bool {
    match &node.kind {
        NodeKind::Scalar { style, .. } => {
            *style == Style::Block || page.text[node.span.range()].contains('\n')
        }
        _ => false,
    }
}

/// Cuts up what lies in a stretch of lines; none where its layout is an odd one. The first
/// entry may stand behind a dash.
pub(super) fn lines<'a>(
    page: Page<'a>,
    node: &'a Node,
    within: Range<usize>,
    dash: Option<usize>,
) -> Option<Lines<'a>> {
    if !is_block(page, node) {
        return None;
    }
    match &node.kind {
        NodeKind::Map(entries) => {
            let mut starts = Vec::new();
            let column = page.column(entries.first()?.key.span.range().start);
            for (number, entry) in entries.iter().enumerate() {
                let key = entry.key.span.range().start;
                let start = line_start(page.text, key);
                let before = &page.text[start.max(within.start)..key];
                let opens = match dash {
                    Some(dash) if number == 0 => {
                        let blanks = before.replacen('-', " ", 1);
                        (start..key).contains(&dash) && blanks.trim_matches(' ').is_empty()
                    }
                    _ => before.trim_matches(' ').is_empty(),
                };
                if !opens || page.column(key) != column {
                    return None;
                }
                starts.push((start.max(within.start), &*entry.key.text, &entry.value));
            }
            let named = starts.iter().map(|(start, key, value)| Start {
                at: *start,
                key: Some(key),
                value,
                deeper_than: column,
            });
            cut(page, within, column, named.collect(), dash)
        }
        NodeKind::Seq(items) => {
            let mut starts = Vec::new();
            let mut column = None;
            for item in items {
                // The parser has looked: what stands before an item on its line is its dash.
                let at = item.span.range().start;
                let start = line_start(page.text, at).max(within.start);
                let before = page.text.get(start..at)?;
                let set_in = before.len() - before.trim_start_matches(' ').len();
                let rest = &before[set_in..];
                let is_dash = rest.strip_prefix('-')?;
                if !is_dash.trim_matches(' ').is_empty() || *column.get_or_insert(set_in) != set_in
                {
                    return None;
                }
                starts.push(Start {
                    at: start,
                    key: None,
                    value: item,
                    deeper_than: set_in,
                });
            }
            cut(page, within, column?, starts, None)
        }
        NodeKind::Scalar { .. } => None,
    }
}

struct Start<'a> {
    at: usize,
    key: Option<&'a str>,
    value: &'a Node,
    deeper_than: usize,
}

fn cut<'a>(
    page: Page<'a>,
    within: Range<usize>,
    column: usize,
    starts: Vec<Start<'a>>,
    dash: Option<usize>,
) -> Option<Lines<'a>> {
    let text = page.text;
    let is_list = starts.iter().all(|start| start.key.is_none());
    let mut parts = Vec::new();
    let mut at = within.start;
    for (number, start) in starts.iter().enumerate() {
        let limit = starts.get(number + 1).map_or(within.end, |next| next.at);
        if start.at < at || limit < start.at {
            return None;
        }
        let before = text.get(at..start.at)?;
        let end = own_end(page, start, limit)?;
        let (gap, above) = if is_list {
            ("", before)
        } else {
            notes(before, &mut parts)
        };
        parts.push(Part::Entry(Entry {
            gap,
            above,
            start: start.at,
            end,
            key: start.key,
            node: start.value,
            number,
            dash: dash.filter(|_| number == 0),
        }));
        at = end;
    }
    let rest = text.get(at..within.end)?;
    let tail = if is_list {
        rest
    } else {
        let (gap, last) = notes(rest, &mut parts);
        if !gap.is_empty() || !last.is_empty() {
            parts.push(Part::Note { gap, text: last });
        }
        ""
    };
    Some(Lines {
        column: Some(column),
        parts,
        tail,
    })
}

/// A file that holds nothing but comments.
pub(super) fn no_lines(text: &str) -> Lines<'_> {
    let mut parts = Vec::new();
    let (gap, last) = notes(text, &mut parts);
    if !gap.is_empty() || !last.is_empty() {
        parts.push(Part::Note { gap, text: last });
    }
    Lines {
        column: None,
        parts,
        tail: "",
    }
}

/// Where the lines of an entry end: behind its value, and the comments below that are set
/// in deeper than it.
fn own_end(page: Page<'_>, start: &Start<'_>, limit: usize) -> Option<usize> {
    let text = page.text;
    let last = page.last_line(start.value);
    let mut end = next_line(text, line_end(text, last));
    if end > limit {
        return None;
    }
    let mut look = end;
    while look < limit {
        let stop = line_end(text, look);
        let line = &text[look..stop];
        let set_in = line.len() - line.trim_start_matches(' ').len();
        let next = next_line(text, stop);
        if line[set_in..].starts_with('#') {
            if set_in <= start.deeper_than {
                break;
            }
            end = next;
        } else if !line.trim().is_empty() {
            break;
        }
        look = next;
    }
    Some(end)
}

/// Puts the comments of a stretch that belong to nothing among the parts; the empty lines
/// and the comments that are left belong to what comes next.
fn notes<'a>(stretch: &'a str, parts: &mut Vec<Part<'a>>) -> (&'a str, &'a str) {
    let mut gap = 0..0;
    let mut own = 0..0;
    let mut at = 0;
    for line in stretch.split_inclusive('\n') {
        let end = at + line.len();
        if line.trim().is_empty() {
            if own.is_empty() {
                gap.end = end;
            } else {
                parts.push(Part::Note {
                    gap: &stretch[gap],
                    text: &stretch[own],
                });
                gap = at..end;
                own = end..end;
            }
        } else {
            if own.is_empty() {
                own.start = at;
            }
            own.end = end;
        }
        at = end;
    }
    (&stretch[gap], &stretch[own])
}
