//! Which pieces go to which places, as text and as JSON (`schema/allot.json`).

use std::collections::BTreeSet;

use schemars::JsonSchema;
use serde::Serialize;

use super::safe::safe_json;
use super::text::{TIE, columns, line, number};
use crate::allot::{Answer, Choice, ChoiceOption, Line, Standing};

/// More places than fit a page are shown only where something is to be done.
const MANY: usize = 40;

/// The answer for people, in lines of at most 80 characters where words allow it.
#[must_use]
pub fn text(answer: &Answer) -> String {
    let mut text = String::new();
    for choice in &answer.choices {
        text.push_str(&chosen(choice));
    }
    if !answer.choices.is_empty() {
        text.push('\n');
    }
    // Of many places those that stay as they are would hide the others.
    let many = answer.lines.len() > MANY;
    let stays = |line: &&Line| {
        let stays = matches!(
            line.stands,
            Standing::ForGood | Standing::On | Standing::Planned | Standing::MayStayEmpty
        );
        many && stays && line.first.is_empty()
    };
    let rows: Vec<[String; 3]> = answer
        .lines
        .iter()
        .filter(|line| !stays(line))
        .map(row)
        .collect();
    if !rows.is_empty() {
        text.push_str(&columns(["place", "piece", ""], &rows));
    }
    let left = answer.lines.iter().filter(stays).count();
    if left > 0 {
        text.push_str(&line(&format!(
            "{} as planned or on; ask for one assembly to see them",
            match left {
                1 => "1 more stays".to_owned(),
                left => format!("{left} more stay"),
            }
        )));
    }
    let first = answer
        .lines
        .iter()
        .filter(|line| !line.first.is_empty() && line.piece.is_some());
    let mut first: Vec<[String; 2]> = first
        .map(|line| {
            [
                line.piece.clone().unwrap_or_default(),
                line.first.join("; "),
            ]
        })
        .collect();
    first.dedup();
    text.push_str(&section("To do before it counts", &first));
    let buy = answer
        .lines
        .iter()
        .filter(|line| line.stands == Standing::ToBuy);
    let buy: Vec<[String; 2]> = buy
        .map(|line| {
            let takes = match line.takes.as_slice() {
                [] => "nothing says what the place takes".to_owned(),
                takes => takes.join(" or "),
            };
            let count = if line.count > 1 {
                format!("{} of ", line.count)
            } else {
                String::new()
            };
            let mut said = vec![format!("{count}{takes}")];
            said.extend(line.first.iter().cloned());
            [line.place.clone(), said.join("; ")]
        })
        .collect();
    text.push_str(&section("To buy", &buy));
    let out = answer
        .out
        .iter()
        .map(|out| [out.piece.clone(), out.why.clone()]);
    text.push_str(&section("Stays out", &out.collect::<Vec<_>>()));
    let beyond = answer
        .beyond
        .iter()
        .map(|what| [what.clone(), String::new()]);
    text.push_str(&section(
        "Not to be mended here",
        &beyond.collect::<Vec<_>>(),
    ));
    text
}

fn chosen(choice: &Choice) -> String {
    let mut text = String::new();
    let mut options = choice.options.iter();
    // Parts for one side each leave no number to choose.
    if options.len() == 0 {
        text.push_str(&line(&choice.of));
    }
    if let Some(first) = options.next() {
        text.push_str(&line(&format!(
            "{}, by {}: {}, {}",
            choice.of,
            choice.by,
            first.name,
            counted(first)
        )));
    }
    for other in options {
        text.push_str(&line(&format!(
            "    {} would be {}",
            other.name,
            counted(other)
        )));
    }
    for spread in &choice.spread {
        text.push_str(&line(&format!("    {spread}")));
    }
    text
}

fn counted(option: &ChoiceOption) -> String {
    let mut parts = Vec::new();
    for (count, what) in [
        (option.proven, "proven"),
        (option.unproven, "to prove"),
        (option.to_buy, "to buy"),
    ] {
        if count > 0 {
            parts.push(format!("{count} {what}"));
        }
    }
    parts.join(", ")
}

fn row(line: &Line) -> [String; 3] {
    let mut said = vec![match &line.stands {
        Standing::ForGood => "stays: on for good".to_owned(),
        Standing::On => "stays: on for mock-up".to_owned(),
        Standing::Planned => "as planned".to_owned(),
        Standing::MayStayEmpty => "may stay empty".to_owned(),
        Standing::ToBuy => "to buy".to_owned(),
        Standing::New { instead_of, from } => {
            let mut said = "new here".to_owned();
            if !instead_of.is_empty() {
                said.push_str(&format!(", instead of {}", instead_of.join(", ")));
            }
            if !from.is_empty() {
                said.push_str(&format!(", from {}", from.join(", ")));
            }
            said
        }
    }];
    said.extend(line.known.iter().map(|known| known.replace(' ', TIE)));
    let piece = match (&line.piece, line.count) {
        (None, _) => "-".to_owned(),
        (Some(piece), 1) => piece.clone(),
        (Some(piece), count) => format!("{count} of {piece}"),
    };
    [line.place.clone(), piece, said.join("; ")]
}

fn section(head: &str, rows: &[[String; 2]]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let rows: Vec<[String; 2]> = rows
        .iter()
        .map(|[name, what]| [format!("    {name}"), what.clone()])
        .collect();
    format!("\n{head}\n{}", columns(["", ""], &rows))
}

/// What is left to do, in one line.
#[must_use]
pub fn summary(answer: &Answer) -> String {
    let lines = answer.lines.iter();
    let count = |is: fn(&&Line) -> bool| -> BTreeSet<&str> {
        lines.clone().filter(is).map(|line| &*line.place).collect()
    };
    format!(
        "{} filled, {} to prove first, {} to buy for; {} to write\n",
        number(count(|line| line.piece.is_some()).len(), "place"),
        count(|line| line.piece.is_some() && !line.first.is_empty()).len(),
        count(|line| line.stands == Standing::ToBuy).len(),
        number(answer.edits.len(), "change")
    )
}

/// Which pieces go to which places.
#[derive(Serialize, JsonSchema)]
pub struct Report<'a> {
    /// What was chosen for sets and for parts that are mates.
    choices: Vec<ReportChoice<'a>>,
    /// What goes where.
    places: Vec<ReportLine<'a>>,
    /// What stays out, and why.
    out: Vec<ReportOut<'a>>,
    /// What can't be mended by allotting, because it is settled elsewhere.
    beyond: &'a [String],
}

/// What was chosen for a set or for mates.
#[derive(Serialize, JsonSchema)]
struct ReportChoice<'a> {
    /// The places' common name, or the parts that are mates.
    of: &'a str,
    /// `number` or `origin`.
    by: &'a str,
    /// What could be chosen, the chosen one first.
    options: Vec<ReportOption<'a>>,
    /// How far apart the chosen pieces lie, in words.
    spread: &'a [String],
}

/// What one choice comes to.
#[derive(Serialize, JsonSchema)]
struct ReportOption<'a> {
    /// The number or the origin.
    name: &'a str,
    /// Places filled with proven pieces.
    proven: usize,
    /// Places filled with pieces that must first be proven.
    to_prove: usize,
    /// Places that stay empty.
    to_buy: usize,
}

/// What goes to one place.
#[derive(Serialize, JsonSchema)]
struct ReportLine<'a> {
    /// The place.
    place: &'a str,
    /// The piece; none where something must be bought, or the place may stay empty.
    piece: Option<&'a str>,
    /// How many.
    count: u32,
    /// `for good`, `on`, `planned`, `new`, `may stay empty` or `to buy`.
    stands: &'a str,
    /// For a new one, what was planned or on there.
    instead_of: &'a [String],
    /// For a new one, where it was planned or on.
    from: &'a [String],
    /// What is known of it.
    known: &'a [String],
    /// What must be done before it counts.
    first: &'a [String],
    /// For an empty place, the numbers that it takes.
    takes: &'a [String],
}

/// What stays out.
#[derive(Serialize, JsonSchema)]
struct ReportOut<'a> {
    /// The piece.
    piece: &'a str,
    /// Why.
    why: &'a str,
}

/// The answer as one JSON object, with a newline at its end.
#[must_use]
pub fn json(answer: &Answer) -> String {
    let report = Report {
        choices: answer.choices.iter().map(report_choice).collect(),
        places: answer.lines.iter().map(report_line).collect(),
        out: answer
            .out
            .iter()
            .map(|out| ReportOut {
                piece: &out.piece,
                why: &out.why,
            })
            .collect(),
        beyond: &answer.beyond,
    };
    let json = serde_json::to_string_pretty(&report).unwrap_or_default();
    safe_json(&json) + "\n"
}

fn report_choice(choice: &Choice) -> ReportChoice<'_> {
    let options = choice.options.iter().map(|option| ReportOption {
        name: &option.name,
        proven: option.proven,
        to_prove: option.unproven,
        to_buy: option.to_buy,
    });
    ReportChoice {
        of: &choice.of,
        by: choice.by,
        options: options.collect(),
        spread: &choice.spread,
    }
}

fn report_line(line: &Line) -> ReportLine<'_> {
    let (stands, instead_of, from): (_, &[String], &[String]) = match &line.stands {
        Standing::ForGood => ("for good", &[], &[]),
        Standing::On => ("on", &[], &[]),
        Standing::Planned => ("planned", &[], &[]),
        Standing::New { instead_of, from } => ("new", instead_of, from),
        Standing::MayStayEmpty => ("may stay empty", &[], &[]),
        Standing::ToBuy => ("to buy", &[], &[]),
    };
    ReportLine {
        place: &line.place,
        piece: line.piece.as_deref(),
        count: line.count,
        stands,
        instead_of,
        from,
        known: &line.known,
        first: &line.first,
        takes: &line.takes,
    }
}
