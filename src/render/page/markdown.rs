//! A page as CommonMark 0.31.2 (spec.commonmark.org). It has no tables, so a table stands as
//! it does in text, in a fence; so does the difference of a text.
//!
//! Whatever a record says shows as itself: what the form would take for markup is escaped,
//! and so is what well-known readers of it make links and struck-out words of (`#3`, `~~`).

use super::{mark, signed, table};
use crate::render::grid::seen;
use crate::report::page::{Block, Item, Page};

/// A table is as wide as a page of text.
const WIDTH: usize = 80;

/// The page in Markdown.
#[must_use]
pub fn markdown(page: &Page) -> String {
    let mut parts = vec![format!("# {}", escaped(&page.title))];
    parts.extend(page.lead.iter().map(|lead| escaped(lead)));
    for section in &page.sections {
        parts.push(format!("## {}", escaped(&section.head)));
        parts.extend(section.blocks.iter().map(block));
    }
    parts.retain(|part| !part.is_empty());
    parts.join("\n\n") + "\n"
}

fn block(block: &Block) -> String {
    match block {
        Block::Text(text) => escaped(text),
        Block::Items(items) => items.iter().map(item).collect::<Vec<_>>().join("\n"),
        Block::Table {
            heads,
            rows,
            figures,
        } => fenced("", &table(heads, rows, figures, WIDTH)),
        Block::Lines(lines) => {
            let lines = lines.iter().map(|line| {
                let (sign, text) = mark(line);
                format!("{sign} {text}").trim_end().to_owned() + "\n"
            });
            fenced("diff", &lines.collect::<String>())
        }
        Block::Sign(labels) => escaped(&signed(labels).join(" ")),
    }
}

/// A line of a list, and what is set in under it.
fn item(item: &Item) -> String {
    let said = [escaped(&item.about), escaped(&item.says)];
    let said: Vec<String> = said.into_iter().filter(|text| !text.is_empty()).collect();
    let mut text = format!("- {}", said.join(": "));
    for inner in &item.under {
        // A paragraph needs an empty line before it, or it would go on in this one.
        let gap = if matches!(inner, Block::Text(_)) {
            "\n\n"
        } else {
            "\n"
        };
        text.push_str(gap);
        let set_in = block(inner);
        let lines = set_in.lines().map(|line| match line {
            "" => String::new(),
            line => format!("  {line}"),
        });
        text.push_str(&lines.collect::<Vec<_>>().join("\n"));
    }
    text
}

/// Lines as they stand, between fences longer than any in them.
fn fenced(kind: &str, lines: &str) -> String {
    let (mut longest, mut run) = (0, 0);
    for c in lines.chars() {
        run = if c == '`' { run + 1 } else { 0 };
        longest = longest.max(run);
    }
    let fence = "`".repeat(longest.max(2) + 1);
    format!("{fence}{kind}\n{lines}{fence}")
}

/// A text on one line that shows as itself.
fn escaped(text: &str) -> String {
    let text = seen(text);
    let text = text.trim();
    let mut shown = String::with_capacity(text.len());
    let mut before = ' ';
    // Digits at the beginning and a point would begin a numbered list.
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    for (at, c) in text.char_indices() {
        let marks = match c {
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '~' | '$' => true,
            '&' => true,
            '#' => before == ' ' || before == '#',
            '+' | '-' | '=' | '>' => at == 0,
            '.' | ')' => digits > 0 && at == digits,
            _ => false,
        };
        if marks {
            shown.push('\\');
        }
        shown.push(c);
        before = c;
    }
    shown
}
