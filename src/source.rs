//! A file's text and its places: byte offsets inside, lines and columns for
//! people.
//!
//! Everything inside works with byte offsets, because they slice the text
//! without counting. Lines and columns are made at the very end, for a person
//! or an editor to read.

use std::fmt;
use std::ops::Range;

use serde::{Deserialize, Serialize};

/// A run of bytes in one file. Both ends lie on character borders.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// A span from byte offsets.
    ///
    /// Files above [`LIMIT`] are refused before they are read, so that an offset
    /// always fits.
    #[must_use]
    #[allow(clippy::cast_possible_truncation)]
    pub fn new(range: Range<usize>) -> Self {
        Self {
            start: range.start as u32,
            end: range.end.max(range.start) as u32,
        }
    }

    /// The same as a range of bytes.
    #[must_use]
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// The largest file that is read: 32 MiB. A record file of that size is a slip.
pub const LIMIT: usize = 32 << 20;

/// What all files of a build may take together. The typed records of a build take many
/// times what their text does.
pub const LIMIT_OF_ALL: u64 = 64 << 20;

/// What is left of [`LIMIT_OF_ALL`] while files are read, so that no number of files fills
/// the memory.
#[derive(Debug, Default)]
pub struct Budget {
    spent: u64,
}

impl Budget {
    /// Why a file of this size is not read, or nothing where it may be; then it counts.
    pub fn refuses(&mut self, size: u64) -> Option<String> {
        if size > LIMIT as u64 {
            return Some(format!("it is too large: {} MiB", size >> 20));
        }
        if self.spent + size > LIMIT_OF_ALL {
            let most = LIMIT_OF_ALL >> 20;
            return Some(format!(
                "with those before it the build is too large: over {most} MiB"
            ));
        }
        self.spent += size;
        None
    }
}

/// A line and a column, both from 1. A column counts characters (Unicode scalar
/// values), so a tab is one and `·` is one; a byte-order mark counts as none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    /// The line.
    pub line: usize,
    /// The column.
    pub column: usize,
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.line, self.column)
    }
}

/// A file's path in the build folder and its text.
#[derive(Debug, Clone)]
pub struct Source {
    /// From the build folder, with `/` on every system.
    pub path: String,
    /// The text as it is in the file, byte-order mark and all.
    pub text: String,
    line_starts: Vec<u32>,
}

/// Why bytes are no text that we read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotText {
    /// A byte that is not UTF-8, at this place.
    NotUtf8(Position),
    /// UTF-16 or UTF-32, by its first bytes.
    OtherEncoding(&'static str),
    /// Larger than [`LIMIT`].
    TooLarge(usize),
}

impl Source {
    /// A source from text.
    #[must_use]
    pub fn new(path: impl Into<String>, text: impl Into<String>) -> Self {
        let text = text.into();
        let mut line_starts = vec![0];
        let bytes = text.as_bytes();
        let mut at = 0;
        // A carriage return alone ends a line too, as it does for YAML.
        while let Some(found) = bytes[at..].iter().position(|b| matches!(b, b'\n' | b'\r')) {
            at += found + 1;
            if bytes[at - 1] == b'\r' && bytes.get(at) == Some(&b'\n') {
                at += 1;
            }
            line_starts.push(Span::new(at..at).start);
        }
        Self {
            path: path.into(),
            text,
            line_starts,
        }
    }

    /// A source from a file's bytes.
    ///
    /// # Errors
    /// When they are not UTF-8, or too many.
    pub fn from_bytes(path: impl Into<String>, bytes: Vec<u8>) -> Result<Self, NotText> {
        if bytes.len() > LIMIT {
            return Err(NotText::TooLarge(bytes.len()));
        }
        match bytes.get(..2) {
            Some([0xFF, 0xFE]) => return Err(NotText::OtherEncoding("UTF-16")),
            Some([0xFE, 0xFF]) => return Err(NotText::OtherEncoding("UTF-16")),
            _ => {}
        }
        match String::from_utf8(bytes) {
            Ok(text) => Ok(Self::new(path, text)),
            Err(error) => {
                let good = error.utf8_error().valid_up_to();
                let head = String::from_utf8_lossy(&error.as_bytes()[..good]).into_owned();
                let head = Self::new("", head);
                Err(NotText::NotUtf8(head.position(good)))
            }
        }
    }

    /// The text of a span.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.range()).unwrap_or_default()
    }

    /// Where a byte offset is, for a person.
    #[must_use]
    pub fn position(&self, offset: usize) -> Position {
        let offset = offset.min(self.text.len());
        let line = self
            .line_starts
            .partition_point(|start| *start as usize <= offset);
        let start = self.line_starts[line - 1] as usize;
        let before = self.text.get(start..offset).unwrap_or_default();
        Position {
            line,
            column: before.chars().filter(|c| *c != '\u{FEFF}').count() + 1,
        }
    }

    /// The lines with where each starts, without their ends.
    pub fn lines(&self) -> impl Iterator<Item = (usize, &str)> + '_ {
        let starts = self.line_starts.iter().map(|start| *start as usize);
        let ends = self.line_starts[1..]
            .iter()
            .map(|start| *start as usize)
            .chain([self.text.len()]);
        starts
            .zip(ends)
            .map(|(start, end)| (start, self.text[start..end].trim_end_matches(['\n', '\r'])))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_counts_characters() {
        let source = Source::new("x", "\u{FEFF}a: 1\r\nb:\t24 N·m # x\n");
        let at = |text: &str| source.position(source.text.find(text).unwrap());
        assert_eq!(at("a").to_string(), "1:1");
        assert_eq!(at("b").to_string(), "2:1");
        assert_eq!(at("24").to_string(), "2:4");
        assert_eq!(at("# x").to_string(), "2:11");
        assert_eq!(source.position(usize::MAX).to_string(), "3:1");
    }

    #[test]
    fn bytes_that_are_no_text_say_where() {
        let bad = Source::from_bytes("x", b"a: 1\nb: \xFF".to_vec()).unwrap_err();
        assert_eq!(bad, NotText::NotUtf8(Position { line: 2, column: 4 }));
        let wide = Source::from_bytes("x", b"\xFF\xFEa\0".to_vec()).unwrap_err();
        assert_eq!(wide, NotText::OtherEncoding("UTF-16"));
    }
}
