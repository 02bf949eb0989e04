//! A page as one HTML file that fetches nothing and runs nothing.

use minijinja::syntax::SyntaxConfig;
use minijinja::value::{Serde, Value};
use minijinja::{Environment, Error, UndefinedBehavior, escape_formatter};
use serde::Serialize;

use unicode_width::UnicodeWidthStr;

use super::{cells, mark};
use crate::render::grid::{Column, Shown as InCell, seen, unbroken};
use crate::report::page::{Block, Entry, Item, Page};

/// Its name ends in `.html`, which is what switches escaping on.
const NAME: &str = "page.html";
const TEMPLATE: &str = include_str!("page.html");

/// The signal words of ANSI Z535.6 (from memory), as our sheets begin a paragraph with them.
const SIGNALS: [&str; 4] = ["DANGER:", "WARNING:", "CAUTION:", "NOTICE:"];
/// A day as ISO 8601 has it.
const DAY: &str = "2026-03-01";
/// Units that have a hyphen: broken there they are read as two.
const UNITS: [&str; 4] = ["lb-ft", "lb-in", "ft-lb", "in-lb"];
/// Figures in a row stay on one line while they take no more room than a phone has.
const WHOLE: usize = 24;
/// Words stay whole while the longest of all columns fit beside each other on a phone, and
/// while they do on paper.
const ON_A_PHONE: usize = 40;
const ON_PAPER: usize = 80;
/// How many figures a line to write on takes the room of, on a phone.
const BLANK: usize = 3;

/// The page in HTML.
#[must_use]
pub fn html(page: &Page) -> String {
    let sections = page.sections.iter().map(|section| Section {
        head: &section.head,
        blocks: blocks(&section.blocks),
    });
    let sheet = Sheet {
        title: &page.title,
        lead: page.lead.iter().map(|lead| Paragraph::of(lead)).collect(),
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
    lead: Vec<Paragraph<'a>>,
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
        text: Paragraph<'a>,
    },
    Items {
        items: Vec<Thing<'a>>,
    },
    Table {
        room: Room,
        heads: Vec<Cell>,
        rows: Vec<Vec<Cell>>,
    },
    Lines {
        lines: Vec<Marked>,
    },
    Sign {
        labels: &'a [String],
    },
}

#[derive(Serialize)]
struct Thing<'a> {
    about: &'a str,
    says: Vec<Run>,
    under: Vec<Shown<'a>>,
}

/// A paragraph, and the signal word that it begins with.
#[derive(Serialize)]
struct Paragraph<'a> {
    signal: Option<&'a str>,
    runs: Vec<Run>,
}

impl<'a> Paragraph<'a> {
    fn of(text: &'a str) -> Self {
        let signal = SIGNALS.into_iter().find(|word| text.starts_with(word));
        let (signal, rest) = text.split_at(signal.map_or(0, str::len));
        Self {
            signal: Some(signal).filter(|signal| !signal.is_empty()),
            runs: runs(rest),
        }
    }
}

/// A run of a text: a browser would break a day, and a unit, at its hyphens.
#[derive(Serialize)]
struct Run {
    text: String,
    /// What it is, where it stays on one line.
    whole: Option<&'static str>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
enum Form {
    Text,
    Box,
    Ticked,
    Blank,
}

#[derive(Serialize)]
struct Cell {
    form: Form,
    runs: Vec<Run>,
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
        Block::Text(text) => Shown::Text {
            text: Paragraph::of(text),
        },
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
        Block::Sign(labels) => Shown::Sign { labels },
    }
}

fn table<'a>(heads: &[String], entries: &[Vec<Entry>], figures: &[bool]) -> Shown<'a> {
    let (columns, rows) = cells(heads, entries, figures);
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
        .zip(&widths)
        .filter(|(column, _)| column.figures);
    let narrow = wide.map(|(_, width)| *width).sum::<usize>() <= WHOLE;
    let made = |text: String, column: &Column| Cell {
        form: Form::Text,
        runs: runs(&text),
        figure: column.figures,
        whole: column.figures && narrow,
    };
    let longest = (0..columns.len()).map(|number| {
        let texts = rows
            .iter()
            .zip(entries)
            .map(|(row, entries)| match &row[number] {
                InCell::Text(_) if matches!(entries.get(number), Some(Entry::Blank)) => BLANK,
                InCell::Text(text) => unbroken(text, &[' ']),
                InCell::Figure(..) if narrow => 0,
                InCell::Figure(whole, part, unit) => {
                    unbroken(&format!("{whole}{part}{unit}"), &[' '])
                }
            });
        let head = unbroken(&columns[number].head, &[' ']);
        let figures = if columns[number].figures && narrow {
            widths[number]
        } else {
            0
        };
        texts.max().unwrap_or(0).max(head).max(figures)
    });
    let room = match longest.sum::<usize>() {
        words if words <= ON_A_PHONE => Room::Phone,
        words if words <= ON_PAPER => Room::Paper,
        _ => Room::None,
    };
    let heads = columns
        .iter()
        .map(|column| made(column.head.clone(), column));
    let rows = rows.into_iter().zip(entries).map(|(row, entries)| {
        let cells = row.into_iter().zip(&columns).zip(&parts).enumerate();
        let cells = cells.map(|(number, ((cell, column), most))| match cell {
            InCell::Text(text) => Cell {
                form: form(entries.get(number)),
                ..made(text, column)
            },
            InCell::Figure(whole, part, unit) => {
                let padded = behind_point(&part, *most);
                made(format!("{whole}{padded}{unit}"), column)
            }
        });
        cells.collect()
    });
    Shown::Table {
        room,
        heads: heads.collect(),
        rows: rows.collect(),
    }
}

/// Where the words of a table can stay whole.
#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
enum Room {
    /// Anywhere.
    Phone,
    /// On paper, and in a window as wide.
    Paper,
    /// Nowhere.
    None,
}

/// What a cell is.
fn form(entry: Option<&Entry>) -> Form {
    match entry {
        Some(Entry::Box(false)) => Form::Box,
        Some(Entry::Box(true)) => Form::Ticked,
        Some(Entry::Blank) => Form::Blank,
        Some(Entry::Text(_)) | None => Form::Text,
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

/// A text with its days and the units of torque apart.
fn runs(text: &str) -> Vec<Run> {
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
        let day = text.get(at..at + DAY.len()).filter(|text| is_day(text));
        let left = text.get(at..).unwrap_or_default();
        let unit = UNITS.into_iter().find(|unit| left.starts_with(unit));
        let kept = day
            .map(|day| (day, "day"))
            .or(unit.map(|unit| (unit, "unit")));
        let Some((kept, what)) = kept else {
            at += 1;
            continue;
        };
        let before = &text[begun..at];
        runs.extend((!before.is_empty()).then_some(Run {
            text: before.to_owned(),
            whole: None,
        }));
        runs.push(Run {
            text: kept.to_owned(),
            whole: Some(what),
        });
        at += kept.len();
        begun = at;
    }
    let rest = &text[begun..];
    runs.extend((!rest.is_empty()).then_some(Run {
        text: rest.to_owned(),
        whole: None,
    }));
    runs
}
