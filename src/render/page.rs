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
use crate::report::page::{Item, Line};

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
    rows: &[Vec<String>],
    figures: &[bool],
) -> (Vec<Column>, Vec<Vec<Shown>>) {
    let is_figure = |number: usize| figures.get(number).copied().unwrap_or(false);
    let text = |row: &[String], number: usize| seen(row.get(number).map_or("", String::as_str));
    let units = |number: usize| -> BTreeSet<String> {
        let cells = rows.iter().map(|row| Shown::figure(&text(row, number)));
        let cells = cells.filter(|cell| !cell.is_empty());
        cells.map(|cell| cell.unit().to_owned()).collect()
    };
    let lines_up: Vec<bool> = (0..heads.len())
        .map(|number| is_figure(number) && units(number).len() < 2)
        .collect();
    let columns = heads.iter().enumerate().map(|(number, head)| Column {
        head: seen(head),
        figures: is_figure(number),
        firm: is_figure(number),
    });
    let rows = rows.iter().map(|row| {
        let cells = lines_up.iter().enumerate().map(|(number, lines_up)| {
            let text = text(row, number);
            match is_figure(number) {
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
fn table(heads: &[String], rows: &[Vec<String>], figures: &[bool], room: usize) -> String {
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
