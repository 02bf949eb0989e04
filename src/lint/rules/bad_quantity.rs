//! # bad-quantity
//!
//! A figure has no unit, an unknown unit, the wrong dimension, or can't be.
//!
//! A figure without its unit can't be checked by anybody: 24 may be N·m or
//! lb-ft. Units are written as at the bench: `24 N·m`, `18 lb-ft`, `94 mm`,
//! `12 thou`, `0.5 mm2`, `18 AWG`, `37–43 N·m`, `44 ±10 N·m`.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-70: {form: bolt, length: 70}
//! bolt-m10-35: {form: bolt, length: 35 N·m}
//! bolt-m8-20: {form: bolt, length: -20 mm}
//! bolt-m8-25: {form: bolt, length: "25,5 mm"}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   joints: {head: {steps: [30 Nmm, turn 90]}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:2:27: error: `Nmm` is not a unit that is known here [bad-quantity]
//!     to do: write one such as `N·m`, `mm` or `degC`
//! assemblies/all.yaml:2:35: error: `90` has no unit [bad-quantity]
//!     to do: write `turn 90 deg`
//! fasteners/all.yaml:1:35: error: `70` has no unit [bad-quantity]
//!     to do: write a number and its unit, as in `94 mm`
//! fasteners/all.yaml:2:35: error: `35 N·m` is a torque, and a length belongs here [bad-quantity]
//!     to do: write a number and its unit, as in `94 mm`
//! fasteners/all.yaml:3:34: error: `-20 mm` is below nothing, and that can't be here [bad-quantity]
//!     to do: take the sign out
//! fasteners/all.yaml:4:34: error: `25,5` has a comma [bad-quantity]
//!     to do: write `25.5 mm`
//! ```
//!
//! ## Right
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-70: {form: bolt, length: 70 mm}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   joints: {head: {steps: [30 N·m, turn 90 deg]}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::reckon::quantity::QuantityError;
use crate::reckon::step::StepError;
use crate::reckon::unit::Dimension;
use crate::schema::walk::{BadFigure, FigureFault};

/// The rule.
pub const RULE: Rule = Rule {
    name: "bad-quantity",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for (number, file) in cx.folder.files.iter().enumerate() {
        for figure in &file.uses.figures {
            let (what, remedy) = words(figure);
            findings.push(cx.finding(number, figure.span, what, remedy));
        }
    }
}

fn words(figure: &BadFigure) -> (String, String) {
    match &figure.why {
        FigureFault::Unread { why, wants } => {
            let (what, advice) = parted(&why.to_string());
            let remedy = match (why.suggestion(), wants.is_empty()) {
                (Some(text), _) => format!("write `{text}`"),
                (None, true) => advice,
                (None, false) => as_in(&dimensions(wants)),
            };
            (what, remedy)
        }
        FigureFault::Step(error) => {
            let (what, advice) = parted(&error.to_string());
            let remedy = match error {
                // A step that turns by a bare number can only mean degrees.
                StepError::Quantity {
                    because: QuantityError::NoUnit { .. },
                    ..
                } if figure.text.starts_with(|c: char| c.is_alphabetic()) => {
                    format!("write `{} deg`", figure.text)
                }
                _ => match error.suggestion() {
                    Some(text) => format!("write `{text}`"),
                    None if advice.is_empty() => as_in(&[Dimension::Torque]),
                    None => advice,
                },
            };
            (what, remedy)
        }
        FigureFault::Dimension { is, wants } => {
            let wanted = dimensions(wants);
            let names: Vec<&str> = wanted.iter().map(|one| one.with_article()).collect();
            (
                format!(
                    "`{}` is {}, and {} belongs here",
                    figure.text,
                    is.with_article(),
                    names.join(" or ")
                ),
                as_in(&wanted),
            )
        }
        FigureFault::Negative => (
            format!("`{}` is below nothing, and that can't be here", figure.text),
            "take the sign out".to_owned(),
        ),
    }
}

fn dimensions(names: &[String]) -> Vec<Dimension> {
    names
        .iter()
        .filter_map(|name| Dimension::from_name(name))
        .collect()
}

fn as_in(wanted: &[Dimension]) -> String {
    let examples: Vec<String> = wanted
        .iter()
        .map(|one| format!("`{}`", one.example()))
        .collect();
    format!("write a number and its unit, as in {}", examples.join(" or "))
}

/// A figure's fault is told as what is wrong, a semicolon, and what to write.
fn parted(sentence: &str) -> (String, String) {
    let (what, advice) = sentence.split_once("; ").unwrap_or((sentence, ""));
    (what.to_owned(), advice.to_owned())
}
