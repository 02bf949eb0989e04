//! One step of tightening or loosening, as a joint lists them.
//!
//! `46 N·m` tightens to a torque, `turn 90 deg` turns on by an angle,
//! `back 180 deg` turns back by an angle, `loosen` takes the load off. A step
//! is one action of one tool: `46 N·m + 90 deg` is two steps.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use super::quantity::{Quantity, QuantityError};
use super::unit::Dimension;

/// A step; it prints exactly as it was written.
#[derive(Debug, Clone, PartialEq)]
pub enum Step {
    /// Tighten to a torque, more than zero.
    Torque(Quantity),
    /// Turn on by an angle, more than zero.
    Turn(Quantity),
    /// Turn back by an angle, more than zero.
    Back(Quantity),
    /// Take the load off.
    Loosen,
}

impl Step {
    /// Reads a step. Only the first blank after `turn` and `back` belongs to
    /// the word; further ones are kept with the angle.
    ///
    /// # Errors
    ///
    /// [`StepError`], one plain sentence each.
    pub fn parse(text: &str) -> Result<Step, StepError> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return Err(StepError::Empty);
        }
        if trimmed == "loosen" && text == trimmed {
            return Ok(Step::Loosen);
        }
        for (word, step) in [
            ("turn", Step::Turn as fn(Quantity) -> Step),
            ("back", Step::Back),
        ] {
            if let Some(angle) = text.strip_prefix(word).and_then(|t| t.strip_prefix(' ')) {
                return turned(word, angle).map(step);
            }
        }
        // Capitals and blanks are overlooked here only to name the right spelling.
        let lower = trimmed.to_ascii_lowercase();
        for word in ["turn", "back", "loosen"] {
            let Some(rest) = lower.strip_prefix(word) else {
                continue;
            };
            if rest.starts_with(|c: char| c.is_alphabetic()) {
                continue;
            }
            let rest = trimmed.get(word.len()..).unwrap_or("").trim();
            let instead = match word {
                "loosen" => Some(word.to_owned()),
                _ if rest.is_empty() => return Err(StepError::NoAngle { word }),
                _ => accepted(format!("{word} {rest}")),
            };
            return Err(StepError::Word {
                written: trimmed.to_owned(),
                instead,
            });
        }
        torque(text)
    }
}

fn turned(word: &'static str, text: &str) -> Result<Quantity, StepError> {
    if text.trim().is_empty() {
        return Err(StepError::NoAngle { word });
    }
    let angle = Quantity::parse(text).map_err(|because| StepError::Quantity {
        instead: because
            .suggestion()
            .and_then(|s| accepted(format!("{word} {s}"))),
        because,
    })?;
    if angle.dimension() != Dimension::Angle {
        return Err(StepError::NotAnAngle {
            word,
            written: text.trim().to_owned(),
            is: angle.dimension().with_article(),
        });
    }
    if !positive(&angle) {
        let other = if word == "turn" { "back" } else { "turn" };
        let instead = text.trim().strip_prefix(['-', '−']);
        return Err(StepError::NotPositive {
            written: format!("{word} {}", text.trim()),
            instead: instead.and_then(|s| accepted(format!("{other} {s}"))),
        });
    }
    Ok(angle)
}

/// Two steps in one text: `46 N·m + 90 deg`, `45 Nm then 90 deg`.
fn two(text: &str) -> Option<StepError> {
    let parts = [" then ", "+", ";", ","];
    let (first, second) = parts.iter().find_map(|part| {
        let (first, second) = text.split_once(part)?;
        let first = accepted(first.trim().to_owned())?;
        let second = second.trim();
        let second = accepted(second.to_owned()).or_else(|| accepted(format!("turn {second}")))?;
        Some((first, second))
    })?;
    Some(StepError::Two {
        written: text.trim().to_owned(),
        first,
        second,
    })
}

fn torque(text: &str) -> Result<Step, StepError> {
    if let Some(error) = two(text) {
        return Err(error);
    }
    let torque = Quantity::parse(text).map_err(|because| StepError::Quantity {
        instead: because.suggestion().and_then(accepted),
        because,
    })?;
    match torque.dimension() {
        Dimension::Torque if positive(&torque) => Ok(Step::Torque(torque)),
        Dimension::Torque => Err(StepError::NotPositive {
            written: text.trim().to_owned(),
            instead: None,
        }),
        other => Err(StepError::NotATorque {
            written: text.trim().to_owned(),
            is: other.with_article(),
            instead: match other {
                Dimension::Angle => accepted(format!("turn {}", text.trim())),
                _ => None,
            },
        }),
    }
}

fn positive(quantity: &Quantity) -> bool {
    let zero = quantity.unit().amount(0.0);
    quantity.low().compare(&zero).is_some_and(|o| o.is_gt())
}

fn accepted(instead: String) -> Option<String> {
    Step::parse(&instead).is_ok().then_some(instead)
}

impl fmt::Display for Step {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Step::Torque(torque) => write!(f, "{torque}"),
            Step::Turn(angle) => write!(f, "turn {angle}"),
            Step::Back(angle) => write!(f, "back {angle}"),
            Step::Loosen => f.write_str("loosen"),
        }
    }
}

impl FromStr for Step {
    type Err = StepError;

    fn from_str(text: &str) -> Result<Step, StepError> {
        Step::parse(text)
    }
}

/// Why a text is not a step. `instead` holds the whole step as it should be
/// written, where that can be told.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StepError {
    /// Two steps in one text.
    #[error("`{written}` is two steps; write each as an item of the list: `[{first}, {second}]`")]
    Two {
        /// The text.
        written: String,
        /// The first step.
        first: String,
        /// The second.
        second: String,
    },
    /// Nothing but blanks.
    #[error(
        "nothing is written here; a step is a torque, `turn` or `back` with an angle, or `loosen`"
    )]
    Empty,
    /// One of the words in other capitals, with other blanks, or with
    /// something after it.
    #[error("`{written}` is not a step; write `turn 90 deg`, `back 180 deg` or `loosen`")]
    Word {
        /// The step.
        written: String,
        /// The step as it should be written.
        instead: Option<String>,
    },
    /// `turn` or `back` alone.
    #[error("`{word}` has no angle; write how far, such as `{word} 90 deg`")]
    NoAngle {
        /// The word.
        word: &'static str,
    },
    /// `turn` or `back` with something else than an angle.
    #[error("`{written}` is {is}, and `{word}` takes an angle, such as `{word} 90 deg`")]
    NotAnAngle {
        /// The word.
        word: &'static str,
        /// What follows it.
        written: String,
        /// What that measures.
        is: &'static str,
    },
    /// A quantity that is not a torque, without a word before it.
    #[error(
        "`{written}` is {is}, and a step without a word is a torque; an angle follows `turn` or `back`"
    )]
    NotATorque {
        /// The quantity.
        written: String,
        /// What it measures.
        is: &'static str,
        /// The angle with `turn`.
        instead: Option<String>,
    },
    /// A torque or an angle that is zero or less.
    #[error(
        "`{written}` is not more than zero, and so is no step; to turn back, write `back` and the angle"
    )]
    NotPositive {
        /// The step.
        written: String,
        /// The step the other way round.
        instead: Option<String>,
    },
    /// The torque or the angle is not a quantity.
    #[error("{because}")]
    Quantity {
        /// Why not.
        because: QuantityError,
        /// The whole step with a readable quantity.
        instead: Option<String>,
    },
}

impl StepError {
    /// The whole step to write instead, where it can be told; it is itself a
    /// step that is accepted.
    pub fn suggestion(&self) -> Option<String> {
        match self {
            StepError::Word { instead, .. }
            | StepError::NotATorque { instead, .. }
            | StepError::NotPositive { instead, .. }
            | StepError::Quantity { instead, .. } => instead.clone(),
            StepError::Empty
            | StepError::Two { .. }
            | StepError::NoAngle { .. }
            | StepError::NotAnAngle { .. } => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn step(text: &str) -> Step {
        Step::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"))
    }

    #[test]
    fn the_four_kinds_are_told_apart() {
        assert!(matches!(step("46 N·m"), Step::Torque(q) if q.text() == "46 N·m"));
        assert!(matches!(step("37–43 N·m (27–32 lb-ft)"), Step::Torque(_)));
        assert!(matches!(step("turn 90 deg"), Step::Turn(q) if q.text() == "90 deg"));
        assert!(matches!(step("turn 1/4 turn"), Step::Turn(_)));
        assert!(matches!(step("back 180°"), Step::Back(_)));
        assert_eq!(step("loosen"), Step::Loosen);
    }

    #[test]
    fn a_step_prints_as_it_was_written() {
        for text in [
            "46 N·m",
            " 46  Nm",
            "turn 90 deg",
            "turn  90  deg ",
            "back 1/2 turn",
            "turn 90 ±5 deg",
            "loosen",
        ] {
            assert_eq!(step(text).to_string(), text);
        }
    }

    #[test]
    fn a_mistake_is_one_sentence_and_a_correction() {
        for (text, message, instead) in [
            (
                " ",
                "nothing is written here; a step is a torque, `turn` or `back` with an angle, or `loosen`",
                None,
            ),
            (
                "Turn 90 deg",
                "`Turn 90 deg` is not a step; write `turn 90 deg`, `back 180 deg` or `loosen`",
                Some("turn 90 deg"),
            ),
            (
                "turn90deg",
                "`turn90deg` is not a step; write `turn 90 deg`, `back 180 deg` or `loosen`",
                Some("turn 90deg"),
            ),
            (
                "loosen fully",
                "`loosen fully` is not a step; write `turn 90 deg`, `back 180 deg` or `loosen`",
                Some("loosen"),
            ),
            (
                "turn",
                "`turn` has no angle; write how far, such as `turn 90 deg`",
                None,
            ),
            (
                "turn 90 N·m",
                "`90 N·m` is a torque, and `turn` takes an angle, such as `turn 90 deg`",
                None,
            ),
            (
                "90 deg",
                "`90 deg` is an angle, and a step without a word is a torque; an angle follows `turn` or `back`",
                Some("turn 90 deg"),
            ),
            (
                "turn -90 deg",
                "`turn -90 deg` is not more than zero, and so is no step; to turn back, write `back` and the angle",
                Some("back 90 deg"),
            ),
            (
                "0 N·m",
                "`0 N·m` is not more than zero, and so is no step; to turn back, write `back` and the angle",
                None,
            ),
            (
                "turn 7,5 deg",
                "`7,5` has a comma; write the decimal point",
                Some("turn 7.5 deg"),
            ),
            (
                "46 N·m + 90 deg",
                "`46 N·m + 90 deg` is two steps; write each as an item of the list: `[46 N·m, turn 90 deg]`",
                None,
            ),
            (
                "45 Nm then turn 90 deg",
                "`45 Nm then turn 90 deg` is two steps; write each as an item of the list: `[45 Nm, turn 90 deg]`",
                None,
            ),
        ] {
            let error = Step::parse(text).expect_err(text);
            assert_eq!(error.to_string(), message, "{text}");
            assert_eq!(error.suggestion().as_deref(), instead, "{text}");
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in "(turn|back|loosen|Turn)?\\PC{0,30}") {
            match Step::parse(&text) {
                Ok(step) => prop_assert_eq!(step.to_string(), text),
                Err(error) => if let Some(instead) = error.suggestion() {
                    prop_assert!(Step::parse(&instead).is_ok(), "{} -> {}", text, instead);
                },
            }
        }
    }
}
