//! # changed-by-yaml
//!
//! A code without quotes is read as a number, as true or false, or as a date,
//! or a text is cut at ` #`.
//!
//! The wrong part gets ordered: `0123` becomes 83 or 123, `1.10` becomes 1.1,
//! `NO` becomes false, `12:30` becomes 750. Readers disagree, so all of it is
//! named, with the quoted form. A `#` after a space begins a comment: what
//! looks like the rest of a text is an error, and what may well be a comment,
//! one space behind a text, a warning; with two spaces it is taken for one.
//!
//! Sources: YAML 1.2.2, chapters 6.6 and 10.2.1.2; YAML 1.1 types bool, float,
//! int, null, timestamp.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! unit-b:
//!   name: Engine control unit
//!   number: 0123
//!   maker: NO
//!   pieces:
//!     1e3: {stamped: 1.10}
//!     U2:
//!       stamped: 12:30
//!       note: 2026-03-01
//!       kept-in: box #3
//! ```
//!
//! ```text
//! parts/all.yaml:3:11: error: `0123` is read as the number 83 or 123, not as text [changed-by-yaml]
//!     to do: write `"0123"`
//! parts/all.yaml:4:10: error: `NO` is read as false, not as text [changed-by-yaml]
//!     to do: write `"NO"`
//! parts/all.yaml:6:5: error: the key `1e3` is read as the number 1000, not as text [changed-by-yaml]
//!     to do: write `"1e3":`
//! parts/all.yaml:6:20: error: `1.10` is read as the number 1.1, not as text [changed-by-yaml]
//!     to do: write `"1.10"`
//! parts/all.yaml:8:16: error: `12:30` is read as the number 750, counted in sixties, not as text [changed-by-yaml]
//!     to do: write `"12:30"`
//! parts/all.yaml:9:13: error: `2026-03-01` is read as a date, not as text [changed-by-yaml]
//!     to do: write `"2026-03-01"`
//! parts/all.yaml:10:16: error: the text stops at ` #`: YAML reads `box` and drops `#3` as a comment [changed-by-yaml]
//!     to do: write `"box #3"` with what belongs to it, or put a comment on a line of its own
//! ```
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector # the short one
//! ```
//!
//! ```text
//! parts/all.yaml:2:9: warning: the text stops at ` #`: YAML reads `Injector` and drops `# the short one` as a comment [changed-by-yaml]
//!     to do: write `"Injector # the short one"` if it belongs to the text; before a comment put two spaces
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! unit-b:
//!   name: Engine control unit  # the later one
//!   number: "0123"
//!   maker: "NO"
//!   pieces:
//!     U1: {stamped: "1.10", kept-in: "box #3"}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::near;
use crate::schema::walk::{Misread, Misreading};
use crate::yaml::traps::ReadAs;

/// The rule.
pub const RULE: Rule = Rule {
    name: "changed-by-yaml",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for (number, file) in cx.folder.files.iter().enumerate() {
        for misread in &file.uses.misread {
            let written = file.reading.source.slice(misread.span);
            let (what, remedy, level) = words(misread, written);
            findings.push(
                cx.finding(number, misread.span, what, remedy)
                    .at_level(level),
            );
        }
    }
}

fn words(misread: &Misread, written: &str) -> (String, String, Level) {
    let error = |what: String, remedy: String| (what, remedy, Level::Error);
    match &misread.how {
        Misreading::Plain(read_as) => error(
            format!("`{written}` is read as {}, not as text", outcome(read_as)),
            format!("write `{}`", quoted(written)),
        ),
        Misreading::Key(read_as) => error(
            format!(
                "the key `{written}` is read as {}, not as text",
                outcome(read_as)
            ),
            format!("write `{}:`", quoted(written)),
        ),
        Misreading::Truth(truth) => error(
            format!("`{written}` is {truth} to some readers and a text to others"),
            format!("write `{truth}`"),
        ),
        Misreading::Number(number) => error(
            format!("`{written}` is not the same number to all readers: {number}"),
            "write the number in plain digits".to_owned(),
        ),
        Misreading::Quotes(meant) => (
            format!("the quotes of `{written}` are none to YAML, and so part of the text"),
            format!("write `{}`, or take them out", quoted(meant)),
            Level::Warning,
        ),
        Misreading::Cut {
            whole,
            dropped,
            surely,
        } => {
            let dropped = near::shortened(dropped);
            let what = format!(
                "the text stops at ` #`: YAML reads `{}` and drops `{dropped}` as a comment",
                near::shortened(written)
            );
            if *surely {
                error(
                    what,
                    format!(
                        "{} with what belongs to it, or put a comment on a line of its own",
                        quote_it(whole)
                    ),
                )
            } else {
                let remedy = format!(
                    "{} if it belongs to the text; before a comment put two spaces",
                    quote_it(whole)
                );
                (what, remedy, Level::Warning)
            }
        }
    }
}

fn outcome(read_as: &ReadAs) -> String {
    match read_as {
        ReadAs::Number(number) => format!("the number {number}"),
        ReadAs::Truth(truth) => truth.to_string(),
        ReadAs::Date => "a date".to_owned(),
        ReadAs::Sixties(number) => format!("the number {number}, counted in sixties"),
        ReadAs::Nothing => "nothing".to_owned(),
    }
}

/// How to write a text; a long one is not printed by halves, lest it is copied so.
fn quote_it(text: &str) -> String {
    if near::shortened(text) == text {
        format!("write `{}`", quoted(text))
    } else {
        "put the whole text in quotes".to_owned()
    }
}

/// The text in double quotes, as JSON and YAML both read it.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}
