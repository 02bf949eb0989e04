//! A page for a terminal, a pipe, or paper: two columns where things are told, the second
//! going on below itself. Colour only adds.

use anstyle::{AnsiColor, Style};
use unicode_width::UnicodeWidthStr;

use super::{is_alone, mark, signed, table};
use crate::render::grid::{GAP, pieces, seen};
use crate::render::text::{Colour, painted};
use crate::report::page::{Block, Item, Line, Page};

/// What stands under a heading is set in by this.
const INDENT: usize = 4;
/// No narrower page is laid out.
const NARROWEST: usize = 20;

/// The page in lines of at most so many columns.
#[must_use]
pub fn text(page: &Page, width: usize, colour: Colour) -> String {
    let mut sheet = Sheet {
        width: width.max(NARROWEST),
        colour,
        text: String::new(),
    };
    sheet.paragraph(&page.title, 0, Style::new().bold());
    for lead in &page.lead {
        sheet.paragraph(lead, 0, Style::new());
    }
    for section in &page.sections {
        sheet.text.push('\n');
        sheet.paragraph(&section.head, 0, Style::new().bold());
        sheet.blocks(&section.blocks, INDENT);
    }
    sheet.text
}

struct Sheet {
    width: usize,
    colour: Colour,
    text: String,
}

impl Sheet {
    fn line(&mut self, indent: usize, text: &str, style: Style) {
        let plain = format!("{:indent$}{text}", "");
        let plain = plain.trim_end();
        let shown = if style.is_plain() || plain.is_empty() {
            plain.to_owned()
        } else {
            painted(plain, style, self.colour)
        };
        self.text.push_str(&shown);
        self.text.push('\n');
    }

    fn room(&self, indent: usize) -> usize {
        self.width.saturating_sub(indent).max(1)
    }

    fn paragraph(&mut self, text: &str, indent: usize, style: Style) {
        for part in pieces(&seen(text), self.room(indent)) {
            self.line(indent, &part, style);
        }
    }

    fn blocks(&mut self, blocks: &[Block], indent: usize) {
        for block in blocks {
            match block {
                Block::Text(text) => self.paragraph(text, indent, Style::new()),
                Block::Items(items) => self.items(items, indent),
                Block::Table {
                    heads,
                    rows,
                    figures,
                } => {
                    for line in table(heads, rows, figures, self.room(indent)).lines() {
                        self.line(indent, line, Style::new());
                    }
                }
                Block::Lines(lines) => self.lines(lines, indent),
                Block::Sign(labels) => {
                    self.text.push('\n');
                    self.sign(labels, indent);
                }
            }
        }
    }

    /// The names in one column, as wide as the page allows, and what is said in the other.
    /// A name that is longer has its lines for itself.
    fn items(&mut self, items: &[Item], indent: usize) {
        let room = self.room(indent);
        let most = room / 3;
        let names = items.iter().filter(|item| !is_alone(item));
        let widths = names.map(|item| seen(&item.about).width());
        let column = widths.filter(|width| *width <= most).max().unwrap_or(0);
        let column = column.max(most.min(INDENT));
        for item in items {
            let about = seen(&item.about);
            let says = pieces(&seen(&item.says), room.saturating_sub(column + GAP).max(1));
            let mut says = says.iter();
            if is_alone(item) || about.width() > column {
                self.paragraph(&about, indent, Style::new());
            } else if let Some(first) = says.next() {
                let pad = column - about.width() + GAP;
                self.line(indent, &format!("{about}{:pad$}{first}", ""), Style::new());
            }
            for part in says {
                self.line(indent + column + GAP, part, Style::new());
            }
            // Words go on in their column; what is wide takes the room that there is.
            let beside = if is_alone(item) { INDENT } else { column + GAP };
            for inner in &item.under {
                let set_in = match inner {
                    Block::Text(_) => beside,
                    _ => INDENT,
                };
                self.blocks(std::slice::from_ref(inner), indent + set_in);
            }
        }
    }

    /// As many beside each other as there is room for; what is to be written stays on the
    /// line of what is written there.
    fn sign(&mut self, labels: &[String], indent: usize) {
        let mut line = String::new();
        for one in signed(labels) {
            let room = self.room(indent);
            if !line.is_empty() && line.width() + 1 + one.width() > room {
                self.paragraph(&line, indent, Style::new());
                line.clear();
            }
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(&one);
        }
        self.paragraph(&line, indent, Style::new());
    }

    fn lines(&mut self, lines: &[Line], indent: usize) {
        for line in lines {
            let (sign, text) = mark(line);
            let style = match line {
                Line::Kept(_) => Style::new(),
                Line::Gone(_) => AnsiColor::Red.on_default(),
                Line::New(_) => AnsiColor::Green.on_default(),
            };
            // What a line of the text is set in by belongs to it.
            let room = self.room(indent + GAP);
            let own = text.len() - text.trim_start_matches(' ').len();
            let own = own.min(room / 2);
            let mut parts = pieces(&text, room - own).into_iter();
            let first = parts.next().unwrap_or_default();
            self.line(indent, &format!("{sign} {:own$}{first}", ""), style);
            for part in parts {
                self.line(indent + GAP + own, &part, style);
            }
        }
    }
}
