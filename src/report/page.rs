//! A page: headings, and under them what is told. It knows no markup; `render` makes text,
//! Markdown or HTML of it.

use serde::Serialize;

/// A page.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Page {
    /// What it is, in a line.
    pub title: String,
    /// What stands before the first heading, a paragraph each.
    pub lead: Vec<String>,
    /// The rest.
    pub sections: Vec<Section>,
}

/// A heading and what stands under it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Section {
    /// The heading.
    pub head: String,
    /// What stands under it, in its order.
    pub blocks: Vec<Block>,
}

/// A block of a section.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub enum Block {
    /// A paragraph.
    Text(String),
    /// Things, and what is said of each.
    Items(Vec<Item>),
    /// A table of texts and figures; a figure lines up with those above it.
    Table {
        /// What stands above the columns.
        heads: Vec<String>,
        /// The rows, a cell for each column.
        rows: Vec<Vec<Entry>>,
        /// Whether a column's cells are figures, for each column.
        figures: Vec<bool>,
    },
    /// The difference of a text, line by line.
    Lines(Vec<Line>),
    /// Lines to write on, each behind what belongs on it: who looked, the day.
    Sign(Vec<String>),
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub enum Entry {
    /// A text or a figure.
    Text(String),
    /// A box to tick, and whether it is ticked already.
    Box(bool),
    /// A line to write on.
    Blank,
}

impl From<String> for Entry {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<&str> for Entry {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

/// A thing, and what is said of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Item {
    /// The thing.
    pub about: String,
    /// What is said of it.
    pub says: String,
    /// What is set in under that.
    pub under: Vec<Block>,
}

/// A line of a text, and what became of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub enum Line {
    /// It stayed.
    Kept(String),
    /// It is gone.
    Gone(String),
    /// It is new.
    New(String),
}
