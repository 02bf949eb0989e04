//! Findings as text: the GNU error format, so that editors can jump to them.
//!
//! ```text
//! parts/all.yaml:4:17: error: there is no donor `pel-van` [unknown-reference]
//!     donors/all.yaml:1:1: donors/pell-van
//!     to do: write `pell-van`
//! ```

use std::fmt::Write;

use super::Counts;
use super::safe::safe;
use crate::finding::{Finding, Level, Place};

/// Whether words are coloured as well.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colour {
    /// As a person at a terminal sees them.
    Yes,
    /// As a pipe gets them.
    No,
}

fn painted(text: &str, style: anstyle::Style, colour: Colour) -> String {
    match colour {
        Colour::Yes => format!("{style}{text}{style:#}"),
        Colour::No => text.to_owned(),
    }
}

fn style_of(level: Level) -> anstyle::Style {
    use anstyle::AnsiColor;
    let colour = match level {
        Level::Error => AnsiColor::Red,
        Level::Warning => AnsiColor::Yellow,
        Level::Note => AnsiColor::Cyan,
    };
    colour.on_default().bold()
}

/// One finding.
#[must_use]
pub fn finding(finding: &Finding, colour: Colour) -> String {
    let mut text = String::new();
    let level = painted(finding.level.word(), style_of(finding.level), colour);
    let _ = writeln!(
        text,
        "{}: {level}: {} [{}]",
        place(&finding.place),
        safe(&finding.message).replace('\n', " "),
        finding.rule
    );
    for related in &finding.related {
        let _ = writeln!(
            text,
            "    {}: {}",
            place(&related.place),
            safe(&related.message).replace('\n', " ")
        );
    }
    match &finding.settled_by {
        Some(decision) => {
            let _ = writeln!(text, "    settled by {}", safe(decision));
        }
        None if !finding.remedy.is_empty() => {
            let _ = writeln!(
                text,
                "    to do: {}",
                safe(&finding.remedy).replace('\n', " ")
            );
        }
        None => {}
    }
    text
}

fn place(place: &Place) -> String {
    format!("{}:{}", safe(&place.file).replace('\n', "\\n"), place.start)
}

/// All findings, and how many there are.
#[must_use]
pub fn findings(findings: &[Finding], colour: Colour) -> String {
    findings.iter().map(|one| finding(one, colour)).collect()
}

/// "2 errors, 1 warning, no notes".
#[must_use]
pub fn count(findings: &[Finding]) -> String {
    let counts = Counts::of(findings);
    let mut parts = vec![
        number(counts.errors, "error"),
        number(counts.warnings, "warning"),
        number(counts.notes, "note"),
    ];
    if counts.settled > 0 {
        parts.push(format!("{} settled", counts.settled));
    }
    parts.join(", ")
}

/// The text with its set-in lines broken at a width, each going on under its
/// beginning. A finding's own line stays whole: editors read it.
#[must_use]
pub fn wrapped(text: &str, width: usize) -> String {
    const SET_IN: &str = "    ";
    let mut out = String::with_capacity(text.len());
    for line in text.lines() {
        let fits = line.chars().count() <= width;
        let Some(inner) = line.strip_prefix(SET_IN).filter(|_| !fits && width > 24) else {
            out.push_str(line);
            out.push('\n');
            continue;
        };
        let mut room = 0;
        for (number, word) in inner.split(' ').enumerate() {
            let length = word.chars().count();
            if number == 0 {
                out.push_str(SET_IN);
                room = width - SET_IN.len();
            } else if length < room {
                out.push(' ');
                room -= 1;
            } else {
                out.push_str("\n      ");
                room = width - SET_IN.len() - 2;
            }
            out.push_str(word);
            room = room.saturating_sub(length);
        }
        out.push('\n');
    }
    out
}

/// "no files", "1 file", "24 files".
#[must_use]
pub fn number(count: usize, noun: &str) -> String {
    match count {
        0 => format!("no {noun}s"),
        1 => format!("1 {noun}"),
        _ => format!("{count} {noun}s"),
    }
}

#[cfg(test)]
mod tests {
    use super::wrapped;

    #[test]
    fn only_what_is_set_in_is_broken() {
        let text = "parts/all.yaml:1:1: error: one line that stays as long as it is [rule]\n    \
                    to do: write `größer` and then go on over the next line of it\n";
        assert_eq!(
            wrapped(text, 40),
            "parts/all.yaml:1:1: error: one line that stays as long as it is [rule]\n    \
             to do: write `größer` and then go on\n      over the next line of it\n"
        );
        assert_eq!(wrapped(text, 80), text);
    }
}
