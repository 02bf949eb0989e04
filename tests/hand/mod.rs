//! Writes values as YAML the way people do, each in another hand: as a block or in one
//! line, with quotes or without, with comments, in any order of keys.
//!
//! What is meant is only what both YAML 1.1 and 1.2 read as the value that was given.

pub mod edits;

use serde_json::{Map, Value};

use crate::dice::Dice;

/// How somebody writes; shares are of a hundred.
#[derive(Debug, Clone, Copy)]
pub struct Hand {
    indent: usize,
    dashes_set_in: bool,
    flow: usize,
    quoted: usize,
    folded: usize,
    comments: usize,
    shuffled: bool,
    crlf: bool,
    mark: bool,
}

impl Hand {
    pub fn any(dice: &mut Dice) -> Self {
        Self {
            indent: [2, 2, 4, 3][dice.below(4)],
            dashes_set_in: dice.below(2) == 0,
            flow: [0, 20, 50, 90][dice.below(4)],
            quoted: [0, 10, 60][dice.below(3)],
            folded: [0, 30][dice.below(2)],
            comments: [0, 0, 20][dice.below(3)],
            shuffled: dice.below(3) == 0,
            crlf: dice.below(4) == 0,
            mark: dice.below(8) == 0,
        }
    }

    /// A file of these records.
    pub fn writes(self, records: &Map<String, Value>, dice: &mut Dice) -> String {
        let mut lines = vec!["# records".to_owned()];
        if records.is_empty() {
            lines.extend(dice.below(2).eq(&0).then(|| "{}".to_owned()));
        } else {
            lines.extend(self.map(records, true, dice));
        }
        // A last block keeps its line end only if there is one.
        let ends = lines.iter().any(|line| line.ends_with(" |")) || dice.below(8) > 0;
        let mut text = lines.join("\n") + if ends { "\n" } else { "" };
        if self.crlf {
            text = text.replace('\n', "\r\n");
        }
        if self.mark {
            text.insert(0, '\u{FEFF}');
        }
        text
    }

    fn order<'a>(
        self,
        map: &'a Map<String, Value>,
        dice: &mut Dice,
    ) -> Vec<(&'a String, &'a Value)> {
        let mut all: Vec<_> = map.iter().collect();
        if self.shuffled {
            for at in (1..all.len()).rev() {
                all.swap(at, dice.below(at + 1));
            }
        }
        all
    }

    fn map(self, map: &Map<String, Value>, may_comment: bool, dice: &mut Dice) -> Vec<String> {
        let mut lines = Vec::new();
        for (number, (key, value)) in self.order(map, dice).into_iter().enumerate() {
            if (may_comment || number > 0) && dice.below(100) < self.comments {
                lines.push("# as it came off: see {the book}".to_owned());
                if dice.below(3) == 0 {
                    lines.push(String::new());
                }
            }
            let head = format!("{}:", self.text(key, false, dice));
            let first = lines.len();
            self.put(&mut lines, &head, value, dice);
            let sole = lines.len() == first + 1;
            if sole && dice.below(100) < self.comments {
                lines[first].push_str("  # so far");
            }
        }
        lines
    }

    fn list(self, items: &[Value], dice: &mut Dice) -> Vec<String> {
        let mut lines = Vec::new();
        for item in items {
            match item {
                Value::Object(map) if !map.is_empty() && dice.below(100) >= self.flow => {
                    let inner = self.map(map, false, dice);
                    lines.extend(behind("- ", &inner));
                }
                Value::Array(items) if !items.is_empty() && dice.below(100) >= self.flow => {
                    let inner = self.list(items, dice);
                    lines.extend(behind("- ", &inner));
                }
                _ => self.put(&mut lines, "-", item, dice),
            }
        }
        lines
    }

    fn put(self, lines: &mut Vec<String>, head: &str, value: &Value, dice: &mut Dice) {
        let pad = " ".repeat(self.indent);
        match value {
            Value::Object(map)
                if head != "-" && !map.is_empty() && dice.below(100) >= self.flow =>
            {
                lines.push(head.to_owned());
                let inner = self.map(map, true, dice);
                lines.extend(inner.iter().map(|line| set_in(&pad, line)));
            }
            Value::Array(items)
                if head != "-" && !items.is_empty() && dice.below(100) >= self.flow =>
            {
                lines.push(head.to_owned());
                let pad = if self.dashes_set_in { pad.as_str() } else { "" };
                let inner = self.list(items, dice);
                lines.extend(inner.iter().map(|line| set_in(pad, line)));
            }
            Value::String(text) if text.contains('\n') && can_be_literal(text) => {
                let sign = if text.ends_with('\n') { "|" } else { "|-" };
                lines.push(format!("{head} {sign}"));
                let inner = text.trim_end_matches('\n').split('\n');
                lines.extend(inner.map(|line| set_in(&pad, line)));
            }
            Value::String(text) if can_be_folded(text) && dice.below(100) < self.folded => {
                lines.push(format!("{head} >-"));
                let mut line = pad.clone();
                for word in text.split(' ') {
                    if line.len() > pad.len() {
                        if dice.below(4) == 0 {
                            lines.push(std::mem::replace(&mut line, pad.clone()));
                        } else {
                            line.push(' ');
                        }
                    }
                    line.push_str(word);
                }
                lines.push(line);
            }
            Value::Null if dice.below(2) == 0 => lines.push(head.to_owned()),
            other => {
                let text = format!("{head} {}", self.flow(other, false, dice));
                let mut broken = text.split('\n');
                lines.extend(broken.next().map(str::to_owned));
                lines.extend(broken.map(|line| format!("{pad}{pad}{line}")));
            }
        }
    }

    fn flow(self, value: &Value, inside: bool, dice: &mut Dice) -> String {
        let comma = if dice.below(6) == 0 { ",\n" } else { ", " };
        match value {
            Value::Object(map) => {
                let all: Vec<String> = self
                    .order(map, dice)
                    .into_iter()
                    .map(|(key, value)| {
                        let key = self.text(key, true, dice);
                        format!("{key}: {}", self.flow(value, true, dice))
                    })
                    .collect();
                format!("{{{}}}", all.join(comma))
            }
            Value::Array(items) => {
                let all: Vec<String> = items
                    .iter()
                    .map(|item| self.flow(item, true, dice))
                    .collect();
                format!("[{}]", all.join(comma))
            }
            Value::String(text) => self.text(text, inside, dice),
            Value::Null => ["null", "~"][dice.below(2)].to_owned(),
            other => other.to_string(),
        }
    }

    fn text(self, text: &str, inside: bool, dice: &mut Dice) -> String {
        if can_be_plain(text, inside) && dice.below(100) >= self.quoted {
            return text.to_owned();
        }
        let plain_signs = text.chars().all(|c| c == ' ' || is_shown(c));
        if plain_signs && dice.below(2) == 0 {
            return format!("'{}'", text.replace('\'', "''"));
        }
        let json = Value::from(text).to_string();
        let signs = json.chars().map(|c| match c {
            c if c == ' ' || is_shown(c) => c.to_string(),
            c => format!("\\U{:08X}", u32::from(c)),
        });
        signs.collect()
    }
}

fn set_in(pad: &str, line: &str) -> String {
    if line.is_empty() {
        String::new()
    } else {
        format!("{pad}{line}")
    }
}

fn behind(dash: &str, inner: &[String]) -> Vec<String> {
    let rest = " ".repeat(dash.len());
    let all = inner.iter().enumerate();
    all.map(|(at, line)| set_in(if at == 0 { dash } else { &rest }, line))
        .collect()
}

/// A character that stands for itself in every reader.
fn is_shown(c: char) -> bool {
    !c.is_control()
        && !c.is_whitespace()
        && !matches!(
            c,
            '\u{FEFF}' | '\u{FFFE}' | '\u{FFFF}' | '\u{2028}' | '\u{2029}'
        )
}

fn can_be_plain(text: &str, inside: bool) -> bool {
    let signs = |c: char| c.is_alphanumeric() || " -_./·()%°".contains(c);
    let outside = |c: char| !inside && ",;[]{}'\"".contains(c);
    let word = text.to_ascii_lowercase();
    let first = text.chars().next().is_some_and(char::is_alphabetic);
    let figure = text.starts_with(|c: char| c.is_ascii_digit())
        && text
            .split_once(' ')
            .is_some_and(|(_, unit)| unit.starts_with(|c: char| c.is_ascii_alphabetic()));
    let day = text.len() == 10
        && text.char_indices().all(|(at, c)| match at {
            4 | 7 => c == '-',
            _ => c.is_ascii_digit(),
        });
    text.trim() == text
        && text.chars().all(|c| signs(c) || outside(c))
        && (first || figure || day)
        && !["y", "yes", "n", "no", "true", "false", "on", "off", "null"].contains(&word.as_str())
}

/// Whether a text of several lines can stand as a block, as it is.
fn can_be_literal(text: &str) -> bool {
    !text.ends_with("\n\n")
        && text.trim_end_matches('\n').split('\n').all(|line| {
            !line.starts_with([' ', '\t'])
                && (line.is_empty() || !line.trim().is_empty())
                && line.chars().all(|c| c == ' ' || is_shown(c))
        })
        && text.starts_with(is_shown)
}

/// Whether a line can be broken at its blanks.
fn can_be_folded(text: &str) -> bool {
    text.contains(' ')
        && text
            .split(' ')
            .all(|word| !word.is_empty() && word.chars().all(is_shown))
}
