//! The answer to a question at the bench: figures under headings, what is to be known with
//! them, where they are from, and what to be careful of. What it looks like is said by
//! `render` alone.

use crate::reckon::measure::Band;

/// An answer.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Answer {
    /// What was asked about, as it was written.
    pub about: String,
    /// The keys that programs find in every answer to such a question: with nothing where
    /// nothing is known or it was not asked for.
    pub keys: &'static [&'static str],
    /// The figures, in parts.
    pub parts: Vec<Part>,
    /// Where the figures are from.
    pub sources: Vec<String>,
    /// What to be careful of.
    pub cautions: Vec<String>,
}

/// Figures that belong together.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Part {
    /// What stands above them; the first part may have nothing there.
    pub heading: Option<String>,
    /// The figures.
    pub lines: Vec<Line>,
    /// What is to be known with them.
    pub notes: Vec<String>,
}

/// One figure, or several that people read as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What it is.
    pub label: String,
    /// The figure with its unit, as it is written at the bench; or words.
    pub figure: String,
    /// The same in another unit, or where it comes from.
    pub beside: String,
    /// What programs read: each with its key, whose end is the unit.
    pub facts: Vec<(String, Fact)>,
}

/// What a program reads.
#[derive(Debug, Clone, PartialEq)]
pub enum Fact {
    /// There is none.
    Nothing,
    /// A number in the unit that the key ends with.
    Number(f64),
    /// Words.
    Word(String),
    /// Whether something is so.
    Flag(bool),
    /// Several alike, each with facts of its own.
    Rows(Vec<Vec<(String, Fact)>>),
}

impl Answer {
    /// An answer about something, with nothing in it yet.
    #[must_use]
    pub fn about(what: &str, keys: &'static [&'static str]) -> Self {
        Self {
            about: what.to_owned(),
            keys,
            ..Self::default()
        }
    }

    /// Adds a source, unless it is there already.
    pub fn source(&mut self, text: &str) {
        if !self.sources.iter().any(|known| known == text) {
            self.sources.push(text.to_owned());
        }
    }

    /// Adds a caution.
    pub fn caution(&mut self, text: impl Into<String>) {
        self.cautions.push(text.into());
    }
}

impl Part {
    /// A part under a heading.
    #[must_use]
    pub fn under(heading: &str) -> Self {
        Self {
            heading: Some(heading.to_owned()),
            ..Self::default()
        }
    }

    /// Adds a line.
    pub fn line(&mut self, line: Line) {
        self.lines.push(line);
    }

    /// Adds what is to be known with the figures.
    pub fn note(&mut self, text: impl Into<String>) {
        self.notes.push(text.into());
    }
}

impl Line {
    /// A line that says nothing to programs.
    #[must_use]
    pub fn told(label: &str, figure: impl Into<String>) -> Self {
        Self {
            label: label.to_owned(),
            figure: figure.into(),
            beside: String::new(),
            facts: Vec::new(),
        }
    }

    /// The same with something beside it.
    #[must_use]
    pub fn beside(mut self, text: impl Into<String>) -> Self {
        self.beside = text.into();
        self
    }

    /// The same with a fact for programs.
    #[must_use]
    pub fn fact(mut self, key: &str, fact: Fact) -> Self {
        self.facts.push((key.to_owned(), fact));
        self
    }

    /// The same with a number for programs.
    #[must_use]
    pub fn number(self, key: &str, number: f64) -> Self {
        self.fact(key, Fact::Number(number))
    }

    /// The same with both ends of a band for programs: `NAME_min_UNIT` and `NAME_max_UNIT`.
    #[must_use]
    pub fn band(self, name: &str, unit: &str, band: Band<f64>) -> Self {
        let end = if unit.is_empty() {
            String::new()
        } else {
            format!("_{unit}")
        };
        self.number(&format!("{name}_min{end}"), band.least)
            .number(&format!("{name}_max{end}"), band.most)
    }
}
