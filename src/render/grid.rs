//! Cells in rows and columns, for people: figures under each other on the decimal point,
//! no boxes. What is seen of a text is measured as a terminal shows it: a wide character
//! takes two columns, an accent none.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::safe::safe;

/// What becomes of a text that its column has no room for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    /// It is cut off with `…`, so that a row stays a line: a terminal so many columns wide.
    Cut(usize),
    /// It goes on below in its column, so that nothing is lost: a page so many wide.
    Fold(usize),
}

impl Room {
    pub(super) fn width(self) -> usize {
        match self {
            Self::Cut(width) | Self::Fold(width) => width,
        }
    }
}

/// Between two columns.
pub(super) const GAP: usize = 2;
/// A column of texts is not made narrower than this while another can give.
const NARROW: usize = 8;

/// A text as it is shown: on one line, with nothing in it that hides.
pub(super) fn seen(text: &str) -> String {
    safe(text).replace('\n', " ")
}

/// What stands in a cell: a text, or a figure in three parts that line up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Shown {
    /// A text.
    Text(String),
    /// Before the decimal point, behind it, and the unit.
    Figure(String, String, String),
}

impl Shown {
    /// A figure, taken apart.
    pub(super) fn figure(text: &str) -> Self {
        let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
        // What was worked out stands under what is printed.
        let signs = ["-", "≈ "].into_iter();
        let sign = signs
            .filter(|sign| text.starts_with(sign))
            .map(str::len)
            .sum();
        let (whole, rest) = text.split_at(sign + digits(&text[sign..]));
        let part = match rest.strip_prefix('.').map(digits) {
            Some(more) if more > 0 => more + 1,
            _ => 0,
        };
        let (part, unit) = rest.split_at(part);
        Self::Figure(whole.to_owned(), part.to_owned(), unit.to_owned())
    }

    /// The unit of a figure.
    pub(super) fn unit(&self) -> &str {
        match self {
            Self::Text(_) => "",
            Self::Figure(_, _, unit) => unit,
        }
    }

    /// Whether nothing stands there.
    pub(super) fn is_empty(&self) -> bool {
        match self {
            Self::Text(text) => text.is_empty(),
            Self::Figure(whole, part, unit) => {
                whole.is_empty() && part.is_empty() && unit.is_empty()
            }
        }
    }
}

/// A column.
#[derive(Debug, Clone)]
pub(super) struct Column {
    /// What stands above it.
    pub head: String,
    /// Whether its cells are figures.
    pub figures: bool,
    /// Whether its cells stay whole while another column can give.
    pub firm: bool,
}

/// How rows are laid out.
pub(super) struct Grid {
    columns: Vec<Column>,
    rows: Vec<Vec<Shown>>,
    room: Room,
    /// For each column its width, and in a column of figures the widths of the three parts.
    widths: Vec<(usize, [usize; 3])>,
}

impl Grid {
    /// Lays out rows, a cell for each column, and what they come to, if that stands below.
    pub(super) fn of(
        columns: Vec<Column>,
        rows: Vec<Vec<Shown>>,
        sums: Option<&[Shown]>,
        room: Room,
    ) -> Self {
        let mut widths = Vec::new();
        for (number, column) in columns.iter().enumerate() {
            let mut parts = [0; 3];
            let mut width = column.head.width();
            for row in rows.iter().map(Vec::as_slice).chain(sums) {
                match &row[number] {
                    Shown::Text(text) => width = width.max(text.width()),
                    Shown::Figure(whole, part, unit) => {
                        for (most, text) in parts.iter_mut().zip([whole, part, unit]) {
                            *most = text.width().max(*most);
                        }
                    }
                }
            }
            widths.push((width.max(parts.iter().sum()), parts));
        }
        let mut grid = Self {
            columns,
            rows,
            room,
            widths,
        };
        grid.narrow();
        grid
    }

    /// Takes from the widest columns of texts what the page has no room for: first what
    /// leaves words whole, then what breaks names at their hyphens, and only then more. The
    /// first column, by which a row is found, gives last.
    fn narrow(&mut self) {
        let room = self.room.width();
        let (columns, rows) = (&self.columns, &self.rows);
        let least_of = |breaks: &[char], number: usize| {
            let longest = rows.iter().map(|row| match &row[number] {
                Shown::Text(text) => unbroken(text, breaks),
                Shown::Figure(..) => usize::MAX,
            });
            let head = columns[number].head.split(' ').map(UnicodeWidthStr::width);
            longest.chain(head).max().unwrap_or(0)
        };
        let whole = |widths: &[(usize, [usize; 3])]| {
            let sum: usize = widths.iter().map(|(width, _)| width).sum();
            sum + GAP * widths.len().saturating_sub(1)
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
            let least: Vec<usize> = (0..columns.len())
                .map(|number| match breaks {
                    // Figures and settled words stay whole while anything else can give.
                    _ if columns[number].firm && floor != 1 => usize::MAX,
                    Some(breaks) => least_of(breaks, number),
                    None => floor,
                })
                .collect();
            while whole(&self.widths) > room {
                let can_give = self.widths.iter_mut().zip(&least).skip(first);
                let can_give = can_give.filter(|((width, _), least)| width > least);
                let Some(((widest, _), _)) = can_give.max_by_key(|((width, _), _)| *width) else {
                    break;
                };
                *widest -= 1;
            }
        }
    }

    /// What stands above the columns.
    pub(super) fn heads(&self) -> String {
        let heads = self.columns.iter().zip(&self.widths);
        let heads = heads.map(|(column, (width, _))| {
            let head = &column.head;
            // A head stands over its figures at their right.
            let before = match column.figures {
                true => width.saturating_sub(head.width()),
                false => 0,
            };
            Shown::Text(format!("{:before$}{head}", ""))
        });
        self.line(&heads.collect::<Vec<_>>())
    }

    /// A thin rule across all columns.
    pub(super) fn rule(&self) -> String {
        let widths: usize = self.widths.iter().map(|(width, _)| width).sum();
        let whole = widths + GAP * self.widths.len().saturating_sub(1);
        format!("{}\n", "─".repeat(whole.min(self.room.width())))
    }

    /// The rows that were laid out.
    pub(super) fn rows(&self) -> &[Vec<Shown>] {
        &self.rows
    }

    /// One row, on as many lines as its texts need.
    pub(super) fn line(&self, cells: &[Shown]) -> String {
        let laid: Vec<Vec<String>> = cells
            .iter()
            .zip(&self.widths)
            .map(|(cell, (width, parts))| {
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
            for (texts, (width, _)) in laid.iter().zip(&self.widths) {
                let text = texts.get(number).map_or("", String::as_str);
                line.push_str(&padded(text, *width));
                line.push_str(&" ".repeat(GAP));
            }
            whole.push_str(&cut(line.trim_end(), self.room.width()));
            whole.push('\n');
        }
        whole
    }
}

pub(super) fn padded(text: &str, width: usize) -> String {
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
pub(super) fn unbroken(text: &str, breaks: &[char]) -> usize {
    let pieces = text.split_inclusive(breaks);
    pieces
        .map(|piece| piece.trim_end().width())
        .max()
        .unwrap_or(0)
}

/// A text in pieces that fit a width, broken behind spaces, slashes and hyphens where it
/// has them.
pub(super) fn pieces(text: &str, width: usize) -> Vec<String> {
    let mut left = text.trim_start();
    let mut found = Vec::new();
    loop {
        let mut head = upto(left, width);
        if head.len() == left.len() {
            break;
        }
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
        assert_eq!(pieces("", 4), [""; 0]);
    }

    #[test]
    fn a_text_as_long_as_a_book_is_broken_in_one_go() {
        let text = "word ".repeat(400_000);
        assert_eq!(pieces(&text, 4).len(), 400_000);
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
        assert_eq!(parts("≈ 33.9 lb-ft"), three("≈ 33", ".9", " lb-ft"));
        assert_eq!(parts(""), three("", "", ""));
    }
}
