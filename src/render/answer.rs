//! An answer for people and for programs.

use serde_json::{Map, Value};

use super::grid::{Column, Grid, Room, Shown, pieces, seen};
use super::safe::safe_json;
use crate::report::answer::{Answer, Fact, Part};

/// How far the figures stand in.
const INDENT: usize = 4;

/// An answer as text on a page so many columns wide.
#[must_use]
pub fn text(answer: &Answer, width: usize) -> String {
    let mut text = format!("{}\n", seen(&answer.about));
    for part in &answer.parts {
        text.push('\n');
        if let Some(heading) = &part.heading {
            text.push_str(&format!("{}\n", seen(heading)));
        }
        text.push_str(&figures(part, width));
        for note in &part.notes {
            text.push_str(&paragraph(note, INDENT, width));
        }
    }
    for (heading, lines) in [("Sources", &answer.sources), ("Caution", &answer.cautions)] {
        if !lines.is_empty() {
            text.push_str(&format!("\n{heading}\n"));
        }
        for line in lines {
            text.push_str(&paragraph(line, INDENT, width));
        }
    }
    text
}

/// The figures of a part, under each other on the decimal point.
fn figures(part: &Part, width: usize) -> String {
    let column = |figures, firm| Column {
        head: String::new(),
        figures,
        firm,
    };
    let rows: Vec<Vec<Shown>> = part
        .lines
        .iter()
        .map(|line| {
            vec![
                Shown::Text(seen(&line.label)),
                figure(&line.figure),
                Shown::Text(seen(&line.beside)),
            ]
        })
        .collect();
    let columns = vec![
        column(false, false),
        column(true, false),
        column(false, false),
    ];
    let room = Room::Fold(width.saturating_sub(INDENT));
    let grid = Grid::of(columns, rows, None, room);
    let lines: String = grid.rows().iter().map(|row| grid.line(row)).collect();
    lines
        .lines()
        .map(|line| format!("{:INDENT$}{line}\n", ""))
        .collect()
}

/// A figure, in the parts that line up; words stay words. A range lines up on the point of
/// its second figure. A number that nothing says more of is a mark: a class, a digit.
fn figure(text: &str) -> Shown {
    let text = seen(text);
    let is_number = text.starts_with(|c: char| c.is_ascii_digit() || c == '-');
    let is_mark = text.chars().all(|c| c.is_ascii_digit());
    if !is_number || is_mark || text.contains(", ") {
        return Shown::Text(text);
    }
    let second = text.find('–').map_or(0, |dash| dash + '–'.len_utf8());
    let (first, rest) = text.split_at(second);
    match Shown::figure(rest) {
        Shown::Figure(whole, part, unit) => Shown::Figure(format!("{first}{whole}"), part, unit),
        words @ Shown::Text(_) => words,
    }
}

/// A sentence, its further lines set in like its first.
fn paragraph(text: &str, indent: usize, width: usize) -> String {
    pieces(&seen(text), width.saturating_sub(indent))
        .iter()
        .map(|line| format!("{:indent$}{line}\n", ""))
        .collect()
}

/// An answer as one JSON object, flat, with a newline at its end.
#[must_use]
pub fn json(answer: &Answer) -> String {
    let mut object = Map::new();
    object.insert("about".to_owned(), Value::from(answer.about.as_str()));
    for key in answer.keys {
        object.insert((*key).to_owned(), Value::Null);
    }
    let mut notes = Vec::new();
    for part in &answer.parts {
        notes.extend(part.notes.iter().map(String::as_str));
        for (key, fact) in part.lines.iter().flat_map(|line| &line.facts) {
            object.insert(key.clone(), value(fact));
        }
    }
    object.insert("notes".to_owned(), Value::from(notes));
    object.insert("sources".to_owned(), Value::from(answer.sources.clone()));
    object.insert("cautions".to_owned(), Value::from(answer.cautions.clone()));
    let text = serde_json::to_string_pretty(&Value::Object(object)).unwrap_or_default();
    format!("{}\n", safe_json(&text))
}

fn value(fact: &Fact) -> Value {
    match fact {
        Fact::Nothing => Value::Null,
        Fact::Number(number) => rounded(*number),
        Fact::Word(word) => Value::from(word.as_str()),
        Fact::Flag(flag) => Value::from(*flag),
        Fact::Rows(rows) => rows
            .iter()
            .map(|row| {
                let facts = row.iter().map(|(key, fact)| (key.clone(), value(fact)));
                Value::Object(facts.collect())
            })
            .collect(),
    }
}

/// A number to seven significant digits: beyond them stands only how it was reckoned.
fn rounded(number: f64) -> Value {
    let text = format!("{number:.6e}");
    Value::from(text.parse::<f64>().unwrap_or(number))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::answer::Line;

    fn sample() -> Answer {
        let mut part = Part::under("Loads");
        part.line(Line::told("proof load", "21.2 kN").number("proof_load_n", 21_233.999_999_99));
        part.line(Line::told("hardness", "320–380 HV").beside("ISO 898-1"));
        part.line(Line::told("made by", "\u{1b}[2J"));
        part.note("A note.");
        let mut answer = Answer::about("M8", &["proof_load_n", "yield_n"]);
        answer.parts.push(part);
        answer.source("one");
        answer.source("one");
        answer.caution("Take care.");
        answer
    }

    #[test]
    fn figures_stand_under_each_other() {
        let text = text(&sample(), 60);
        let wanted =
            "M8\n\nLoads\n    proof load       21.2 kN\n    hardness    320–380   HV  ISO 898-1\n";
        assert!(text.starts_with(wanted), "{text}");
        assert!(!text.contains('\u{1b}'), "{text:?}");
        assert!(text.ends_with("\nSources\n    one\n\nCaution\n    Take care.\n"));
    }

    #[test]
    fn numbers_are_numbers_at_the_top() {
        let object: Value = serde_json::from_str(&json(&sample())).unwrap_or_default();
        assert_eq!(object["proof_load_n"], Value::from(21_234.0));
        assert_eq!(object["sources"], Value::from(vec!["one"]));
        assert_eq!(object["notes"], Value::from(vec!["A note."]));
    }
}
