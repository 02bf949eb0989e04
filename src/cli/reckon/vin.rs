//! `matchmark reckon vin`.

use clap::Args;

use crate::reckon::vin::{self, Fault};
use crate::report::answer::{Answer, Fact, Line, Part};

/// What programs find in every answer.
const KEYS: &[&str] = &[
    "valid",
    "check_digit",
    "ninth_character",
    "check_digit_matches",
    "check_digit_applies",
];

/// Look whether a chassis number of seventeen characters can be one
///
/// The check digit is law on cars for North America, whose numbers begin with 1 to 5.
/// Elsewhere any character may stand there. I, O and Q stand nowhere.
#[derive(Debug, Args)]
pub struct Vin {
    /// The number, as it is stamped; blanks, hyphens and stars do not count
    number: String,
}

impl Vin {
    pub(super) fn answer(&self) -> Answer {
        let plain = vin::plain(&self.number);
        let mut answer = Answer::about(&plain, KEYS);
        let mut part = Part::default();
        let form = vin::look(&self.number, false).err();
        let applies = vin::is_north_american(&plain);
        let is = plain.chars().nth(8).filter(|_| form.is_none());
        let wanted = vin::check_digit(&self.number).ok();
        let matches = is.is_some() && is == wanted;
        let valid = form.is_none() && (matches || !applies);
        let letter = |one: Option<char>| one.map_or(Fact::Nothing, |one| Fact::Word(one.into()));
        let yes = |so: bool| if so { "yes" } else { "no" };
        part.line(
            Line::told("can be a number", yes(valid))
                .beside(match (&form, valid) {
                    (Some(fault), _) => fault.to_string(),
                    (None, false) => is
                        .zip(wanted)
                        .map(|(is, wanted)| Fault::CheckDigit(is, wanted).to_string())
                        .unwrap_or_default(),
                    (None, true) => "seventeen characters, and none that never stands there".into(),
                })
                .fact("valid", Fact::Flag(valid)),
        );
        if let Some(wanted) = wanted {
            part.line(
                Line::told("check digit", wanted.to_string())
                    .beside("what the other characters come to")
                    .fact("check_digit", letter(Some(wanted))),
            );
            part.line(
                Line::told("ninth character", is.map(String::from).unwrap_or_default())
                    .beside(match (matches, applies) {
                        (true, _) => "it is the check digit",
                        (false, true) => "it is not the check digit",
                        (false, false) => "no check digit, and none is called for",
                    })
                    .fact("ninth_character", letter(is))
                    .fact("check_digit_matches", Fact::Flag(matches)),
            );
        } else {
            part.lines.extend([Line::told("check digit", "none")
                .beside("there is none to a text that can be no number")
                .fact("check_digit", Fact::Nothing)]);
        }
        part.line(
            Line::told("check digit is law", yes(applies))
                .beside(if applies {
                    "it begins with 1 to 5, as numbers for North America do"
                } else {
                    "only seventeen characters that begin with 1 to 5, as for North America, must have one"
                })
                .fact("check_digit_applies", Fact::Flag(applies)),
        );
        if let Some(Fault::Length(_)) = form {
            part.note("Before 1981 makers had forms of their own, of other lengths; of these nothing is told here.");
        }
        answer.parts.push(part);
        answer.source("49 CFR 565.15, tables III to V: values, weights, remainder");
        answer.source("ISO 3779 for the form, from memory");
        answer.caution(
            "A number that can be one is not yet the car's own. Read it off the body, not off the papers.",
        );
        if form.is_none() && matches {
            answer.caution(
                "The check digit sees one wrong character and most that were changed over, not all: letters and digits that count the same pass.",
            );
        }
        answer
    }
}
