//! A page: headings, and under them what is told. It knows no markup; `render` makes text,
//! Markdown or HTML of it.

/// A page.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Page {
    /// What it is, in a line.
    pub title: String,
    /// What stands before the first heading, a paragraph each.
    pub lead: Vec<String>,
    /// The rest.
    pub sections: Vec<Section>,
}

/// A heading and what stands under it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Section {
    /// The heading.
    pub head: String,
    /// What stands under it, in its order.
    pub blocks: Vec<Block>,
}

/// A block of a section.
#[derive(Debug, Clone, PartialEq, Eq)]
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
        rows: Vec<Vec<String>>,
        /// Whether a column's cells are figures, for each column.
        figures: Vec<bool>,
    },
    /// The difference of a text, line by line.
    Lines(Vec<Line>),
}

/// A thing, and what is said of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// The thing.
    pub about: String,
    /// What is said of it.
    pub says: String,
    /// What is set in under that.
    pub under: Vec<Block>,
}

/// A line of a text, and what became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Line {
    /// It stayed.
    Kept(String),
    /// It is gone.
    Gone(String),
    /// It is new.
    New(String),
}
