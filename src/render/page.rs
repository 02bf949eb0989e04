//! A page as text, as Markdown and as HTML.
//!
//! All three take each text through `seen`, so that nothing in it moves a cursor or hides,
//! and each escapes what its own form would take for markup.

mod html;
mod markdown;
mod text;

pub use html::html;
pub use markdown::markdown;
pub use text::text;

use std::collections::BTreeSet;

use super::grid::{Column, Grid, Room, Shown, seen};
use crate::report::page::{Entry, Item, Line};

/// How long a line in a table is, to write a number or a mark on.
const BLANK: usize = 5;
/// How long a line for a name or a day is.
const LONG_BLANK: usize = 14;

/// Lines to write on, each behind what belongs on it.
fn signed(labels: &[String]) -> Vec<String> {
    let line = "_".repeat(LONG_BLANK);
    labels
        .iter()
        .map(|label| format!("{} {line}", seen(label)))
        .collect()
}

/// What a difference puts before a line: what was, what is, and what stayed.
fn mark(line: &Line) -> (&'static str, String) {
    match line {
        Line::Gone(text) => ("-", seen(text)),
        Line::New(text) => ("+", seen(text)),
        Line::Kept(text) => (" ", seen(text)),
    }
}

/// A table's cells as they are shown, with the columns that they stand under.
///
/// Figures line up on the decimal point where they are of one unit; else, as `9 of 31` and
/// `4 of 22`, at their end.
fn cells(
    heads: &[String],
    rows: &[Vec<Entry>],
    figures: &[bool],
) -> (Vec<Column>, Vec<Vec<Shown>>) {
    let is_figure = |number: usize| figures.get(number).copied().unwrap_or(false);
    let text = |row: &[Entry], number: usize| match row.get(number) {
        Some(Entry::Text(text)) => seen(text),
        Some(Entry::Box(false)) => "[ ]".to_owned(),
        Some(Entry::Box(true)) => "[x]".to_owned(),
        Some(Entry::Blank) => "_".repeat(BLANK),
        None => String::new(),
    };
    let is_filled_in = |number: usize| {
        let mut cells = rows.iter().filter_map(|row| row.get(number));
        cells.any(|cell| !matches!(cell, Entry::Text(_)))
    };
    let units = |number: usize| -> BTreeSet<String> {
        let written = rows
            .iter()
            .filter(|row| matches!(row.get(number), Some(Entry::Text(_))));
        let cells = written.map(|row| Shown::figure(&text(row, number)));
        let cells = cells.filter(|cell| !cell.is_empty());
        cells.map(|cell| cell.unit().to_owned()).collect()
    };
    let lines_up: Vec<bool> = (0..heads.len())
        .map(|number| is_figure(number) && units(number).len() < 2)
        .collect();
    let columns = heads.iter().enumerate().map(|(number, head)| Column {
        head: seen(head),
        figures: is_figure(number),
        firm: is_figure(number) || is_filled_in(number),
    });
    let rows = rows.iter().map(|row| {
        let cells = lines_up.iter().enumerate().map(|(number, lines_up)| {
            let text = text(row, number);
            let is_text = matches!(row.get(number), Some(Entry::Text(_)));
            match is_figure(number) && is_text {
                true if *lines_up => Shown::figure(&text),
                true => Shown::Figure(text, String::new(), String::new()),
                false => Shown::Text(text),
            }
        });
        cells.collect()
    });
    (columns.collect(), rows.collect())
}

/// A table with its rules, in lines.
fn table(heads: &[String], rows: &[Vec<Entry>], figures: &[bool], room: usize) -> String {
    let (columns, cells) = cells(heads, rows, figures);
    let grid = Grid::of(columns, cells, None, Room::Fold(room));
    let rows: String = grid.rows().iter().map(|row| grid.line(row)).collect();
    let rule = grid.rule();
    format!("{}{rule}{rows}{rule}", grid.heads())
}

/// Whether nothing is said of a thing but what is set in under it.
fn is_alone(item: &Item) -> bool {
    item.says.is_empty()
}
