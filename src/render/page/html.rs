//! A page as one HTML file that fetches nothing and runs nothing.

use minijinja::syntax::SyntaxConfig;
use minijinja::value::{Serde, Value};
use minijinja::{Environment, Error, UndefinedBehavior, escape_formatter};
use serde::Serialize;

use unicode_width::UnicodeWidthStr;

use super::{cells, mark};
use crate::render::grid::{Column, Shown as InCell, seen};
use crate::report::page::{Block, Item, Page};

/// Its name ends in `.html`, which is what switches escaping on.
const NAME: &str = "page.html";
const TEMPLATE: &str = include_str!("page.html");

/// A day as ISO 8601 has it.
const DAY: &str = "2026-03-01";
/// Figures in a row stay on one line while they take no more room than a phone has.
const WHOLE: usize = 24;

/// The page in HTML.
#[must_use]
pub fn html(page: &Page) -> String {
    let sections = page.sections.iter().map(|section| Section {
        head: &section.head,
        blocks: blocks(&section.blocks),
    });
    let sheet = Sheet {
        title: &page.title,
        lead: page.lead.iter().map(|lead| runs(lead)).collect(),
        sections: sections.collect(),
    };
    // The template is part of the program, and a test fills in all of it.
    filled(&sheet).unwrap_or_default()
}

fn filled(sheet: &Sheet<'_>) -> Result<String, Error> {
    let syntax = SyntaxConfig::builder()
        .trim_blocks(true)
        .lstrip_blocks(true)
        .keep_trailing_newline(true)
        .build()?;
    let mut made = Environment::new();
    made.set_syntax(syntax);
    made.set_undefined_behavior(UndefinedBehavior::Strict);
    // Whatever is put in goes through here, so no text can be forgotten.
    made.set_formatter(|out, state, value| match value.as_str() {
        Some(text) if !value.is_safe() => escape_formatter(out, state, &Value::from(seen(text))),
        _ => escape_formatter(out, state, value),
    });
    made.add_template(NAME, TEMPLATE)?;
    made.get_template(NAME)?.render(Value::from(Serde(sheet)))
}

#[derive(Serialize)]
struct Sheet<'a> {
    title: &'a str,
    lead: Vec<Vec<Run<'a>>>,
    sections: Vec<Section<'a>>,
}

#[derive(Serialize)]
struct Section<'a> {
    head: &'a str,
    blocks: Vec<Shown<'a>>,
}

#[derive(Serialize)]
#[serde(tag = "form", rename_all = "kebab-case")]
enum Shown<'a> {
    Text {
        text: Vec<Run<'a>>,
    },
    Items {
        items: Vec<Thing<'a>>,
    },
    Table {
        heads: Vec<Cell>,
        rows: Vec<Vec<Cell>>,
    },
    Lines {
        lines: Vec<Marked>,
    },
}

#[derive(Serialize)]
struct Thing<'a> {
    about: &'a str,
    says: Vec<Run<'a>>,
    under: Vec<Shown<'a>>,
}

/// A run of a text: a browser would break a day at its hyphens.
#[derive(Serialize)]
struct Run<'a> {
    text: &'a str,
    day: bool,
}

#[derive(Serialize)]
struct Cell {
    text: String,
    figure: bool,
    /// Whether it stays on one line.
    whole: bool,
}

#[derive(Serialize)]
struct Marked {
    sign: &'static str,
    text: String,
}

fn blocks(all: &[Block]) -> Vec<Shown<'_>> {
    all.iter().map(block).collect()
}

fn block(block: &Block) -> Shown<'_> {
    match block {
        Block::Text(text) => Shown::Text { text: runs(text) },
        Block::Items(items) => Shown::Items {
            items: items.iter().map(thing).collect(),
        },
        Block::Table {
            heads,
            rows,
            figures,
        } => table(heads, rows, figures),
        Block::Lines(lines) => {
            let lines = lines.iter().map(|line| {
                let (sign, text) = mark(line);
                Marked { sign, text }
            });
            Shown::Lines {
                lines: lines.collect(),
            }
        }
    }
}

fn table<'a>(heads: &[String], rows: &[Vec<String>], figures: &[bool]) -> Shown<'a> {
    let (columns, rows) = cells(heads, rows, figures);
    let mut parts = vec![0; columns.len()];
    let mut widths: Vec<usize> = columns.iter().map(|column| column.head.width()).collect();
    for row in &rows {
        for (number, cell) in row.iter().enumerate() {
            if let InCell::Figure(whole, part, unit) = cell {
                let width = whole.width() + part.width() + unit.width();
                parts[number] = part.chars().count().max(parts[number]);
                widths[number] = width.max(widths[number]);
            }
        }
    }
    let wide = columns
        .iter()
        .zip(widths)
        .filter(|(column, _)| column.figures);
    let narrow = wide.map(|(_, width)| width).sum::<usize>() <= WHOLE;
    let made = |text: String, column: &Column| Cell {
        text,
        figure: column.figures,
        whole: column.figures && narrow,
    };
    let heads = columns
        .iter()
        .map(|column| made(column.head.clone(), column));
    let rows = rows.into_iter().map(|row| {
        let cells = row.into_iter().zip(&columns).zip(&parts);
        let cells = cells.map(|((cell, column), most)| match cell {
            InCell::Text(text) => made(text, column),
            InCell::Figure(whole, part, unit) => {
                let padded = behind_point(&part, *most);
                made(format!("{whole}{padded}{unit}"), column)
            }
        });
        cells.collect()
    });
    Shown::Table {
        heads: heads.collect(),
        rows: rows.collect(),
    }
}

/// What stands behind the point, as wide as the most that does: spaces as wide as a point
/// and as a figure (Unicode 16, chapter 6.2: U+2008 and U+2007).
fn behind_point(part: &str, most: usize) -> String {
    let mut padded = part.to_owned();
    let mut has = part.chars().count();
    if has == 0 && most > 0 {
        padded.push('\u{2008}');
        has = 1;
    }
    padded.extend(std::iter::repeat_n('\u{2007}', most.saturating_sub(has)));
    padded
}

fn thing(item: &Item) -> Thing<'_> {
    Thing {
        about: &item.about,
        says: runs(&item.says),
        under: blocks(&item.under),
    }
}

/// A text with its days apart.
fn runs(text: &str) -> Vec<Run<'_>> {
    let is_day = |text: &str| {
        let mut bytes = text.bytes().zip(DAY.bytes());
        bytes.all(|(byte, form)| match form {
            b'-' => byte == b'-',
            _ => byte.is_ascii_digit(),
        })
    };
    let mut runs = Vec::new();
    let (mut begun, mut at) = (0, 0);
    while at < text.len() {
        match text.get(at..at + DAY.len()) {
            Some(day) if is_day(day) => {
                let before = &text[begun..at];
                runs.extend((!before.is_empty()).then_some(Run {
                    text: before,
                    day: false,
                }));
                runs.push(Run {
                    text: day,
                    day: true,
                });
                at += DAY.len();
                begun = at;
            }
            _ => at += 1,
        }
    }
    let rest = &text[begun..];
    runs.extend((!rest.is_empty()).then_some(Run {
        text: rest,
        day: false,
    }));
    runs
}
