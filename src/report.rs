//! Plain pages and tables, worked out from a build. What they look like is said by
//! `render` alone.

pub mod answer;
pub mod changes;
pub mod handover;
pub mod list;
pub mod page;
pub mod progress;
pub mod sessions;
pub mod sheet;
pub mod trail;

use std::collections::BTreeMap;

/// A table with its totals.
#[derive(Debug, Clone)]
pub struct Table {
    /// What its rows are: `pieces`.
    pub what: &'static str,
    /// One of them: `piece`.
    pub one: &'static str,
    /// Its columns.
    pub columns: Vec<Column>,
    /// The number of the column whose words the rows stand under, if any.
    pub by: Option<usize>,
    /// The rows under their words; all in one where nothing divides them.
    pub groups: Vec<Group>,
    /// What all rows come to.
    pub totals: Totals,
}

/// Rows that stand together.
#[derive(Debug, Clone)]
pub struct Group {
    /// The word that they have in common; none where they lack it.
    pub word: Option<String>,
    /// The rows.
    pub rows: Vec<Row>,
    /// What they come to.
    pub totals: Totals,
}

/// One row.
#[derive(Debug, Clone)]
pub struct Row {
    /// What it is called, the innermost name first: a place for each cylinder is called
    /// by the name of them all as well.
    pub names: Vec<String>,
    /// How many things it stands for.
    pub count: u64,
    /// A cell for each column.
    pub cells: Vec<Cell>,
}

/// A column.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// What programs call it.
    pub key: &'static str,
    /// What people read above it.
    pub head: &'static str,
    /// What its cells hold.
    pub form: Form,
    /// Who sees it.
    pub seen: Seen,
    /// What stands for it in the totals.
    pub total: Total,
    /// What is said of a row that has nothing there.
    pub lacks: &'static str,
    /// Whether what stands before the first slash is enough to put rows together.
    pub by_first: bool,
    /// The column that says the same to people, who then need not see this one.
    pub told_by: &'static str,
    /// The words that it can have, where they are settled.
    pub words: &'static [&'static str],
}

/// What the cells of a column hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A text.
    Text,
    /// Several texts.
    Several,
    /// A number of things.
    Count,
    /// Whether something is so.
    Flag,
    /// A length.
    Length,
    /// A sum of money.
    Money,
}

/// Who sees a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    /// People and programs.
    Both,
    /// People: programs find the same in other columns.
    People,
    /// Programs: it would make the page too wide.
    Programs,
}

/// What stands for a column in the totals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Total {
    /// Nothing.
    Nothing,
    /// The sum; of money for each currency by itself.
    Sum,
    /// How many there are of each word.
    Tally,
}

/// What stands in a row under a column.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Nothing,
    /// A text.
    Text(String),
    /// Several texts.
    Several(Vec<String>),
    /// A number of things.
    Count(u64),
    /// Whether something is so.
    Flag(bool),
    /// A length as it is written, and in millimetres if it is one figure.
    Length(String, Option<f64>),
    /// Money.
    Money(Money),
}

/// Money, in millionths of the currency's unit, so that sums come out even.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Money {
    /// How many millionths.
    pub millionths: i128,
    /// The currency's code.
    pub currency: String,
}

/// What rows come to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Totals {
    /// How many things there are.
    pub count: u64,
    /// For columns that are summed or told by their words: the column's number and what
    /// it comes to.
    pub of: Vec<(usize, Sum)>,
}

/// What a column comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sum {
    /// So many.
    Count(u64),
    /// So many of each word, the settled words in their order; none for what lacks it.
    Tally(Vec<(Option<String>, u64)>),
    /// So much of each currency, and how many things have no price.
    Money {
        /// The sums.
        sums: Vec<Money>,
        /// How many have none.
        without: u64,
    },
}

impl Cell {
    /// The words that rows are chosen and put together by.
    #[must_use]
    pub fn words(&self) -> Vec<String> {
        match self {
            Self::Nothing => Vec::new(),
            Self::Text(text) | Self::Length(text, _) => vec![text.clone()],
            Self::Several(texts) => texts.clone(),
            Self::Count(count) => vec![count.to_string()],
            Self::Flag(flag) => vec![if *flag { "yes" } else { "no" }.to_owned()],
            Self::Money(money) => vec![format!("{} {}", money.amount(), money.currency)],
        }
    }
}

impl Money {
    /// The amount in figures: whole where it is whole, else with two decimals or more.
    #[must_use]
    pub fn amount(&self) -> String {
        let (whole, part) = (self.millionths / 1_000_000, self.millionths % 1_000_000);
        if part == 0 {
            return whole.to_string();
        }
        let part = format!("{:06}", part.abs());
        let end = part.trim_end_matches('0').len().max(2);
        format!("{whole}.{}", &part[..end])
    }
}

impl Totals {
    /// Adds rows up.
    #[must_use]
    pub fn of<'a>(columns: &[Column], rows: impl Iterator<Item = &'a Row> + Clone) -> Self {
        let mut of = Vec::new();
        for (number, column) in columns.iter().enumerate() {
            let cells = rows.clone().map(|row| (&row.cells[number], row.count));
            match (column.total, column.form) {
                (Total::Nothing, _) => {}
                (Total::Sum, Form::Money) => of.push((number, money(cells))),
                (Total::Sum, _) => of.push((number, Sum::Count(counts(cells)))),
                (Total::Tally, _) => of.push((number, tally(column, cells))),
            }
        }
        let count = rows.map(|row| row.count).sum();
        Self { count, of }
    }
}

fn counts<'a>(cells: impl Iterator<Item = (&'a Cell, u64)>) -> u64 {
    let count = |(cell, _): (&Cell, u64)| match cell {
        Cell::Count(count) => *count,
        _ => 0,
    };
    cells.map(count).sum()
}

fn money<'a>(cells: impl Iterator<Item = (&'a Cell, u64)> + Clone) -> Sum {
    let money = cells.clone().filter_map(|(cell, _)| match cell {
        Cell::Money(money) => Some(money.clone()),
        _ => None,
    });
    let without = cells.filter(|(cell, _)| !matches!(cell, Cell::Money(_)));
    Sum::Money {
        sums: sums(money),
        without: without.map(|(_, count)| count).sum(),
    }
}

/// What sums of money come to, each currency by itself.
fn sums(all: impl Iterator<Item = Money>) -> Vec<Money> {
    let mut sums: BTreeMap<String, i128> = BTreeMap::new();
    for one in all {
        let sum = sums.entry(one.currency).or_default();
        *sum = sum.saturating_add(one.millionths);
    }
    let sums = sums.into_iter().map(|(currency, millionths)| Money {
        millionths,
        currency,
    });
    sums.collect()
}

fn tally<'a>(column: &Column, cells: impl Iterator<Item = (&'a Cell, u64)>) -> Sum {
    let mut counts: BTreeMap<(usize, Option<String>), u64> = BTreeMap::new();
    for (cell, count) in cells {
        let word = group_word(column, cell);
        let settled = |word: &String| column.words.iter().position(|known| known == word);
        let rank = match &word {
            Some(word) => settled(word).unwrap_or(column.words.len()),
            None => usize::MAX,
        };
        *counts.entry((rank, word)).or_default() += count;
    }
    // A row that stands for nothing more, as a piece that is on twice, adds no word.
    let counts = counts.into_iter().filter(|(_, count)| *count > 0);
    Sum::Tally(counts.map(|((_, word), count)| (word, count)).collect())
}

/// The word under which a row stands.
#[must_use]
pub fn group_word(column: &Column, cell: &Cell) -> Option<String> {
    let words = cell.words();
    if column.by_first {
        let first = words.first()?;
        return Some(first.split('/').next().unwrap_or_default().to_owned());
    }
    (!words.is_empty()).then(|| words.join(", "))
}
