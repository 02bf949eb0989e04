//! The rows and cells of a CSV that came from people: as any spreadsheet program writes it,
//! with semicolons or tabs, quoted or not, as UTF-16, with the apostrophe that keeps a text
//! from being a formula.

use super::rows::as_it_was;

/// A line that can't be taken in, and why.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("line {line}: {what}")]
pub struct Slip {
    /// The line of the file, from 1.
    pub line: usize,
    /// What is wrong, in a sentence.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

/// A CSV, before its rows are read.
#[derive(Debug, Clone)]
pub struct Cells {
    text: String,
    skipped: usize,
    between: u8,
}

impl Cells {
    /// Looks at what stands between its cells.
    ///
    /// # Errors
    /// When its letters can't be read.
    pub fn of(bytes: &[u8]) -> Result<Self, Slip> {
        let text = decoded(bytes)?;
        // Some programs say first what stands between their cells.
        let (skipped, text) = match text.split_once('\n') {
            Some((first, rest)) if first.to_ascii_lowercase().starts_with("sep=") => {
                (1, rest.to_owned())
            }
            _ => (0, text),
        };
        let first = text.lines().next().unwrap_or_default();
        let between = [',', ';', '\t'];
        let between = between.into_iter().max_by_key(|sign| {
            let count = first.matches(*sign).count();
            (count, *sign == ',')
        });
        Ok(Self {
            text,
            skipped,
            between: between.map_or(b',', |sign| sign as u8),
        })
    }

    /// Whether a comma may be the decimal sign: where it does not part the cells.
    #[must_use]
    pub fn commas_are_decimal(&self) -> bool {
        self.between != b','
    }

    /// Hands over each row that is not blank, with the line that it begins on, until one is
    /// refused.
    ///
    /// # Errors
    /// When it is no CSV, or a row is refused.
    pub fn rows(
        &self,
        mut take: impl FnMut(usize, &[&str]) -> Result<(), Slip>,
    ) -> Result<(), Slip> {
        let mut rows = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(self.between)
            .from_reader(self.text.as_bytes());
        let mut lines = Lines {
            text: &self.text,
            at: 0,
            line: 1,
        };
        for row in rows.records() {
            let row =
                row.map_err(|error| slip(1, error.to_string(), "save the sheet anew as CSV"))?;
            let line = lines.of(row.position()) + self.skipped;
            let cells: Vec<&str> = row.iter().map(|cell| as_it_was(cell.trim())).collect();
            if cells.iter().any(|cell| !cell.is_empty()) {
                take(line, &cells)?;
            }
        }
        Ok(())
    }
}

/// Counts the lines of a text from one place to the next.
struct Lines<'a> {
    text: &'a str,
    at: usize,
    line: usize,
}

impl Lines<'_> {
    /// The line that a row begins on: its position is still before the ends of lines, and
    /// empty lines, that stand above it.
    fn of(&mut self, position: Option<&csv::Position>) -> usize {
        let at = position.and_then(|position| usize::try_from(position.byte()).ok());
        let bytes = self.text.as_bytes();
        let mut at = at.unwrap_or(bytes.len()).min(bytes.len());
        while matches!(bytes.get(at), Some(b'\r' | b'\n')) {
            at += 1;
        }
        let passed = bytes.get(self.at..at).unwrap_or_default();
        let alone = |pair: &&[u8]| pair[0] == b'\r' && pair[1] != b'\n';
        self.line += passed.iter().filter(|byte| **byte == b'\n').count();
        self.line += passed.windows(2).filter(alone).count();
        self.at = self.at.max(at);
        self.line
    }
}

pub(super) fn slip(line: usize, what: String, remedy: &str) -> Slip {
    Slip {
        line,
        what,
        remedy: remedy.to_owned(),
    }
}

fn decoded(bytes: &[u8]) -> Result<String, Slip> {
    let wide = |bytes: &[u8], number: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes
            .chunks_exact(2)
            .map(|pair| number([pair[0], pair[1]]))
            .collect();
        String::from_utf16(&units).ok()
    };
    let text = match bytes {
        [0xff, 0xfe, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => wide(rest, u16::from_be_bytes),
        [0xef, 0xbb, 0xbf, rest @ ..] => String::from_utf8(rest.to_vec()).ok(),
        all => String::from_utf8(all.to_vec()).ok(),
    };
    text.ok_or_else(|| {
        slip(
            1,
            "its letters can't be read: it is no UTF-8".to_owned(),
            "save the sheet again, and choose CSV with UTF-8",
        )
    })
}
