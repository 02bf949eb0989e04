//! A table for people: thin rules, figures under each other on the decimal point, no
//! boxes. What is seen of a text is measured as a terminal shows it: a wide character
//! takes two columns, an accent none.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::safe::safe;
use super::text::folded;
use crate::report::{Cell, Column, Form, Group, Row, Seen, Sum, Table, Total, Totals};

/// What becomes of a text that its column has no room for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    /// It is cut off with `…`, so that a row stays a line: a terminal so many columns wide.
    Cut(usize),
    /// It goes on below in its column, so that nothing is lost: a page so many wide.
    Fold(usize),
}

impl Room {
    fn width(self) -> usize {
        match self {
            Self::Cut(width) | Self::Fold(width) => width,
        }
    }
}

/// Between two columns.
const GAP: usize = 2;
/// A column of texts is not made narrower than this while another can give.
const NARROW: usize = 8;

/// The table, and under it what it comes to.
#[must_use]
pub fn table(table: &Table, room: Room) -> String {
    if table.groups.iter().all(|group| group.rows.is_empty()) {
        return format!("no {}\n", table.what);
    }
    let page = Page::of(table, room);
    let mut text = page.line(&page.heads());
    text.push_str(&page.rule());
    for group in &table.groups {
        if let Some(by) = table.by {
            let column = &table.columns[by];
            let word = group.word.as_deref().unwrap_or(column.lacks);
            for line in pieces(&seen(word), room.width()) {
                text.push_str(&line);
                text.push('\n');
            }
        }
        for row in &group.rows {
            text.push_str(&page.line(&page.cells(row)));
        }
        text.push_str(&page.rule());
        if table.by.is_some() {
            text.push_str(&page.sums(&group.totals));
            text.push('\n');
        }
    }
    if table.by.is_some() {
        text.push_str("in all\n");
    }
    text.push_str(&page.sums(&table.totals));
    text
}

/// A text as it is shown: on one line, with nothing in it that hides.
fn seen(text: &str) -> String {
    safe(text).replace('\n', " ")
}

/// What stands in a cell: a text, or a figure in three parts that line up.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Shown {
    Text(String),
    Figure(String, String, String),
}

impl Shown {
    fn of(column: &Column, cell: &Cell) -> Self {
        let text = match cell {
            Cell::Several(texts) => seen(&texts.join(", ")),
            other => seen(&other.words().concat()),
        };
        match column.form {
            Form::Count | Form::Length | Form::Money => Self::figure(&text),
            _ => Self::Text(text),
        }
    }

    /// Before the decimal point, behind it, and the unit.
    fn figure(text: &str) -> Self {
        let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
        let sign = usize::from(text.starts_with('-'));
        let (whole, rest) = text.split_at(sign + digits(&text[sign..]));
        let part = match rest.strip_prefix('.').map(digits) {
            Some(more) if more > 0 => more + 1,
            _ => 0,
        };
        let (part, unit) = rest.split_at(part);
        Self::Figure(whole.to_owned(), part.to_owned(), unit.to_owned())
    }

    fn is_empty(&self) -> bool {
        match self {
            Self::Text(text) => text.is_empty(),
            Self::Figure(whole, part, unit) => {
                whole.is_empty() && part.is_empty() && unit.is_empty()
            }
        }
    }
}

/// How a table is laid out.
struct Page<'a> {
    table: &'a Table,
    room: Room,
    /// The columns that are shown, their widths, and in a column of figures the widths of
    /// the three parts.
    columns: Vec<(usize, usize, [usize; 3])>,
}

impl<'a> Page<'a> {
    fn of(table: &'a Table, room: Room) -> Self {
        let by = table.by.map(|by| table.columns[by].key);
        let told = |column: &Column| {
            // What the headings say need not stand in each row again, nor what nobody has.
            let heads = column.key != table.columns[0].key
                && by.is_some_and(|by| column.key == by || column.told_by == by);
            column.seen == Seen::Programs || heads && !column.by_first
        };
        let rows = || table.groups.iter().flat_map(|group: &Group| &group.rows);
        let mut columns = Vec::new();
        for (number, column) in table.columns.iter().enumerate() {
            let all = rows().map(|row| Shown::of(column, &row.cells[number]));
            let all: Vec<Shown> = all.collect();
            if told(column) || all.iter().all(Shown::is_empty) {
                continue;
            }
            let mut parts = [0; 3];
            let mut width = column.head.width();
            let summed = (column.total == Total::Sum && column.form == Form::Count)
                .then(|| table.totals.of.iter().find(|(of, _)| *of == number))
                .flatten();
            let sum = match summed {
                Some((_, Sum::Count(count))) => Some(Shown::figure(&count.to_string())),
                _ => None,
            };
            for shown in all.iter().chain(&sum) {
                match shown {
                    Shown::Text(text) => width = width.max(text.width()),
                    Shown::Figure(whole, part, unit) => {
                        for (most, text) in parts.iter_mut().zip([whole, part, unit]) {
                            *most = text.width().max(*most);
                        }
                    }
                }
            }
            width = width.max(parts.iter().sum());
            columns.push((number, width, parts));
        }
        let mut page = Self {
            table,
            room,
            columns,
        };
        if let Some((_, width, _)) = page.columns.first_mut() {
            *width = (*width).max(things(table, table.totals.count).width());
        }
        page.narrow();
        page
    }

    /// Takes from the widest columns of texts what the page has no room for: first what
    /// leaves words whole, then what breaks names at their hyphens, and only then more. The
    /// first column, by which a row is found, gives last.
    fn narrow(&mut self) {
        let room = self.room.width();
        let table = self.table;
        let least_of = |breaks: &[char], number: usize| {
            let column = &table.columns[number];
            let rows = table.groups.iter().flat_map(|group| &group.rows);
            let longest = rows.map(|row| match Shown::of(column, &row.cells[number]) {
                Shown::Text(text) => unbroken(&text, breaks),
                Shown::Figure(..) => usize::MAX,
            });
            let head = column.head.split(' ').map(UnicodeWidthStr::width);
            longest.chain(head).max().unwrap_or(0)
        };
        let is_text = |number: usize| {
            let form = table.columns[number].form;
            let words = table.columns[number].words;
            words.is_empty() && matches!(form, Form::Text | Form::Several)
        };
        let whole = |columns: &[(usize, usize, [usize; 3])]| {
            let widths: usize = columns.iter().map(|(_, width, _)| width).sum();
            widths + GAP * columns.len().saturating_sub(1)
        };
        let words: &[char] = &[' ', '/'];
        let hyphens: &[char] = &[' ', '/', '-'];
        for (first, breaks, floor) in [
            (1, Some(words), 0),
            (1, Some(hyphens), 0),
            (0, Some(hyphens), 0),
            (1, None, NARROW),
            (0, None, NARROW),
            (0, None, 1),
        ] {
            let columns = self.columns.iter().map(|(number, _, _)| *number);
            let least: Vec<usize> = columns
                .map(|number| match breaks {
                    // Figures and settled words stay whole while anything else can give.
                    _ if !is_text(number) && floor != 1 => usize::MAX,
                    Some(breaks) => least_of(breaks, number),
                    None => floor,
                })
                .collect();
            while whole(&self.columns) > room {
                let can_give = self.columns.iter_mut().zip(&least).skip(first);
                let can_give = can_give.filter(|((_, width, _), least)| width > least);
                let Some(((_, widest, _), _)) = can_give.max_by_key(|((_, width, _), _)| *width)
                else {
                    break;
                };
                *widest -= 1;
            }
        }
    }

    fn heads(&self) -> Vec<Shown> {
        let heads = self.columns.iter().map(|(number, width, _)| {
            let column = &self.table.columns[*number];
            let head = column.head;
            // A head stands over its figures at their right.
            let right = matches!(column.form, Form::Count | Form::Length | Form::Money);
            let before = if right {
                width.saturating_sub(head.width())
            } else {
                0
            };
            Shown::Text(format!("{:before$}{head}", ""))
        });
        heads.collect()
    }

    fn cells(&self, row: &Row) -> Vec<Shown> {
        let cells = self.columns.iter().map(|(number, _, _)| {
            let column = &self.table.columns[*number];
            Shown::of(column, &row.cells[*number])
        });
        cells.collect()
    }

    fn rule(&self) -> String {
        let widths: usize = self.columns.iter().map(|(_, width, _)| width).sum();
        let whole = widths + GAP * self.columns.len().saturating_sub(1);
        format!("{}\n", "─".repeat(whole.min(self.room.width())))
    }

    /// One row, on as many lines as its texts need.
    fn line(&self, cells: &[Shown]) -> String {
        let laid: Vec<Vec<String>> = cells
            .iter()
            .zip(&self.columns)
            .map(|(cell, (_, width, parts))| {
                let text = match cell {
                    Shown::Text(text) => text.clone(),
                    Shown::Figure(whole, part, unit) => {
                        let [_, behind, units] = *parts;
                        let end = format!("{}{}", padded(part, behind), padded(unit, units));
                        let before = width.saturating_sub(end.width() + whole.width());
                        format!("{:before$}{whole}{end}", "")
                    }
                };
                match self.room {
                    _ if text.width() <= *width => vec![text],
                    Room::Cut(_) => vec![cut(&text, *width)],
                    Room::Fold(_) => pieces(&text, *width),
                }
            })
            .collect();
        let mut whole = String::new();
        for number in 0..laid.iter().map(Vec::len).max().unwrap_or(0) {
            let mut line = String::new();
            for (texts, (_, width, _)) in laid.iter().zip(&self.columns) {
                let text = texts.get(number).map_or("", String::as_str);
                line.push_str(&padded(text, *width));
                line.push_str(&" ".repeat(GAP));
            }
            whole.push_str(&cut(line.trim_end(), self.room.width()));
            whole.push('\n');
        }
        whole
    }

    /// What rows come to: a line under the columns, then the words and the money.
    fn sums(&self, totals: &Totals) -> String {
        let sum_of = |number: usize| totals.of.iter().find(|(of, _)| *of == number);
        let count = things(self.table, totals.count);
        let mut cells = vec![Shown::Text(count)];
        cells.extend(
            self.columns
                .iter()
                .skip(1)
                .map(|(number, _, _)| match sum_of(*number) {
                    Some((_, Sum::Count(count))) => Shown::figure(&count.to_string()),
                    _ => Shown::Text(String::new()),
                }),
        );
        let mut text = self.line(&cells);
        for (number, sum) in &totals.of {
            let column = &self.table.columns[*number];
            let told = self.table.by == Some(*number);
            let said = match sum {
                Sum::Tally(words) if !told => {
                    let words = words.iter().map(|(word, count)| {
                        let word = word.as_deref().unwrap_or(column.lacks);
                        format!("{count} {}", seen(word))
                    });
                    words.collect::<Vec<String>>().join(", ")
                }
                Sum::Money { sums, without } if !sums.is_empty() => {
                    let sums = sums
                        .iter()
                        .map(|money| format!("{} {}", money.amount(), seen(&money.currency)));
                    let sums = sums.collect::<Vec<String>>().join(" and ");
                    match without {
                        0 => sums,
                        _ => format!("{sums}; {without} without a price"),
                    }
                }
                _ => continue,
            };
            text.push_str(&folded(
                &format!("{}: {said}", column.head),
                self.room.width(),
            ));
        }
        text
    }
}

/// "1 piece", "12 assemblies".
fn things(table: &Table, count: u64) -> String {
    let noun = if count == 1 { table.one } else { table.what };
    format!("{count} {noun}")
}

fn padded(text: &str, width: usize) -> String {
    let behind = width.saturating_sub(text.width());
    format!("{text}{:behind$}", "")
}

/// As much of a text as there is room for, with `…` where it is cut.
fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_owned();
    }
    let mut kept = upto(text, width.saturating_sub(1)).trim_end().to_owned();
    kept.push('…');
    kept
}

/// The beginning of a text that fits a width.
fn upto(text: &str, width: usize) -> &str {
    let mut seen = 0;
    for (at, c) in text.char_indices() {
        seen += c.width().unwrap_or(0);
        if seen > width {
            return &text[..at];
        }
    }
    text
}

/// How wide the widest piece of a text is that has none of these inside.
fn unbroken(text: &str, breaks: &[char]) -> usize {
    let pieces = text.split_inclusive(breaks);
    pieces
        .map(|piece| piece.trim_end().width())
        .max()
        .unwrap_or(0)
}

/// A text in pieces that fit a width, broken behind spaces, slashes and hyphens where it
/// has them.
fn pieces(text: &str, width: usize) -> Vec<String> {
    let mut left = text.trim_start();
    let mut found = Vec::new();
    while left.width() > width {
        let mut head = upto(left, width);
        if head.is_empty() {
            // Not even one character fits: it stands out rather than get lost.
            let one = left.chars().next().map_or(left.len(), char::len_utf8);
            head = &left[..one];
        }
        // Behind a space rather than a slash, behind a slash rather than a hyphen.
        let next_is_space = left[head.len()..].starts_with(' ');
        let breaks = [' ', '/', '-'].into_iter();
        let end = match breaks.filter_map(|one| head.rfind(one)).next() {
            Some(at) if !next_is_space => at + 1,
            _ => head.len(),
        };
        found.push(left[..end].trim_end().to_owned());
        left = left[end..].trim_start();
    }
    if !left.is_empty() {
        found.push(left.to_owned());
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_cut_and_broken_by_what_is_seen_of_it() {
        assert_eq!(cut("box four", 6), "box f…");
        assert_eq!(cut("box four", 8), "box four");
        // Two columns each, as East Asian Width says (UAX 11).
        assert_eq!(cut("箱箱箱", 5), "箱箱…");
        assert_eq!(cut("箱箱箱", 4), "箱…");
        // An accent by itself takes none.
        assert_eq!(cut("e\u{301}e\u{301}", 2), "e\u{301}e\u{301}");
        assert_eq!(
            pieces("intake/injector-1, fuel", 12),
            ["intake/", "injector-1,", "fuel"]
        );
        assert_eq!(unbroken("intake/injector-1, fuel", &[' ', '/']), 11);
        assert_eq!(pieces("unbreakable", 4), ["unbr", "eaka", "ble"]);
        assert_eq!(pieces("箱", 1), ["箱"]);
    }

    #[test]
    fn figures_come_apart_at_the_point() {
        let parts = |text: &str| match Shown::figure(text) {
            Shown::Figure(whole, part, unit) => (whole, part, unit),
            Shown::Text(text) => (text, String::new(), String::new()),
        };
        let three = |a: &str, b: &str, c: &str| (a.to_owned(), b.to_owned(), c.to_owned());
        assert_eq!(parts("24.50 EUR"), three("24", ".50", " EUR"));
        assert_eq!(parts("310 EUR"), three("310", "", " EUR"));
        assert_eq!(parts("37–43 mm"), three("37", "", "–43 mm"));
        assert_eq!(parts("-2 mm"), three("-2", "", " mm"));
        assert_eq!(parts(""), three("", "", ""));
    }
}
