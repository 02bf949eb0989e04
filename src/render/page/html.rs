//! A page as one HTML file that fetches nothing and runs nothing.

use minijinja::syntax::SyntaxConfig;
use minijinja::value::{Serde, Value};
use minijinja::{Environment, Error, UndefinedBehavior, escape_formatter};
use serde::Serialize;

use super::mark;
use crate::render::grid::seen;
use crate::report::page::{Block, Item, Page};

/// Its name ends in `.html`, which is what switches escaping on.
const NAME: &str = "page.html";
const TEMPLATE: &str = include_str!("page.html");

/// The page in HTML.
#[must_use]
pub fn html(page: &Page) -> String {
    let sections = page.sections.iter().map(|section| Section {
        head: &section.head,
        blocks: blocks(&section.blocks),
    });
    let sheet = Sheet {
        title: &page.title,
        lead: &page.lead,
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
    lead: &'a [String],
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
        text: &'a str,
    },
    Items {
        items: Vec<Thing<'a>>,
    },
    Table {
        heads: Vec<Cell<'a>>,
        rows: Vec<Vec<Cell<'a>>>,
    },
    Lines {
        lines: Vec<Marked>,
    },
}

#[derive(Serialize)]
struct Thing<'a> {
    about: &'a str,
    says: &'a str,
    under: Vec<Shown<'a>>,
}

#[derive(Serialize)]
struct Cell<'a> {
    text: &'a str,
    figure: bool,
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
        Block::Text(text) => Shown::Text { text },
        Block::Items(items) => Shown::Items {
            items: items.iter().map(thing).collect(),
        },
        Block::Table {
            heads,
            rows,
            figures,
        } => Shown::Table {
            heads: cells(heads, figures),
            rows: rows.iter().map(|row| cells(row, figures)).collect(),
        },
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

fn cells<'a>(row: &'a [String], figures: &[bool]) -> Vec<Cell<'a>> {
    let figures = figures.iter().copied().chain(std::iter::repeat(false));
    let cells = row.iter().zip(figures);
    cells.map(|(text, figure)| Cell { text, figure }).collect()
}

fn thing(item: &Item) -> Thing<'_> {
    Thing {
        about: &item.about,
        says: &item.says,
        under: blocks(&item.under),
    }
}
