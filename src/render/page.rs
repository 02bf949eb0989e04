//! A page as text, as Markdown and as HTML.
//!
//! All three take each text through [`seen`], so that nothing in it moves a cursor or hides,
//! and each escapes what its own form would take for markup.

mod html;
mod markdown;
mod text;

pub use html::html;
pub use markdown::markdown;
pub use text::text;

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

/// A table with its rules, in lines.
fn table(heads: &[String], rows: &[Vec<String>], figures: &[bool], room: usize) -> String {
    let is_figure = |number: usize| figures.get(number).copied().unwrap_or(false);
    let columns = heads.iter().enumerate().map(|(number, head)| Column {
        head: seen(head),
        figures: is_figure(number),
        firm: is_figure(number),
    });
    let cell = |number: usize, row: &Vec<String>| {
        let text = seen(row.get(number).map_or("", String::as_str));
        match is_figure(number) {
            true => Shown::figure(&text),
            false => Shown::Text(text),
        }
    };
    let cells = rows
        .iter()
        .map(|row| (0..heads.len()).map(|number| cell(number, row)).collect());
    let grid = Grid::of(columns.collect(), cells.collect(), None, Room::Fold(room));
    let rows: String = grid.rows().iter().map(|row| grid.line(row)).collect();
    let rule = grid.rule();
    format!("{}{rule}{rows}{rule}", grid.heads())
}

/// Whether nothing is said of a thing but what is set in under it.
fn is_alone(item: &Item) -> bool {
    item.says.is_empty()
}
