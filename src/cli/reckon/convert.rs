//! `matchmark reckon convert`.

use clap::Args;

use super::{MAKER_FIRST, brackets, quantity, refused};
use crate::reckon::convert::told_in;
use crate::reckon::measure::Band;
use crate::reckon::quantity::{Form, Quantity};
use crate::reckon::unit::{Amount, Dimension, Unit};
use crate::report::answer::{Answer, Fact, Line, Part};

/// Tell a quantity in all units that the trade uses for it
///
/// A range stays a range and a tolerance a tolerance. A second figure in brackets, as in
/// `"46 N·m (34 lb-ft)"`, is held against the first.
#[derive(Debug, Args)]
pub struct Convert {
    /// The quantity, as `"18 lb-ft"`, `"37–43 N·m"` or `"44 ±10 N·m"`
    #[arg(allow_hyphen_values = true)]
    quantity: String,
}

impl Convert {
    pub(super) fn answer(&self) -> anyhow::Result<Answer> {
        let given = quantity(&self.quantity, "18 lb-ft")?;
        let units = told_in(given.unit());
        let turns = units.len() > 1;
        if !turns {
            return Err(refused(
                format!(
                    "`{}` is {} and can't be turned into another unit: no rule holds for all of them",
                    self.quantity,
                    given.dimension().with_article()
                ),
                "look into the table that holds for the material, or the day's rate",
            ));
        }
        let mut answer = Answer::about(given.text(), &[]);
        let mut part = Part::default();
        for unit in units {
            if let Some(line) = told(&given, unit) {
                part.line(line);
            }
        }
        brackets(&given, &mut part, &mut answer);
        answer.parts.push(part);
        answer.source("Factors of NIST SP 811, appendix B.8; to four digits");
        if given.dimension() == Dimension::Torque {
            answer.caution(
                "Where the manual prints the figure in the wrench's own unit, that printing counts.",
            );
            answer.caution(MAKER_FIRST);
        }
        Ok(answer)
    }
}

/// A quantity in a unit, in the form in which it is written.
fn told(given: &Quantity, unit: Unit) -> Option<Line> {
    let figure = |amount: Amount| {
        let figure = amount.figure(unit)?;
        let text = figure.to_string();
        let number = text.strip_suffix(unit.name()).unwrap_or(&text);
        Some((figure.value, number.trim_end().to_owned()))
    };
    let (low, low_text) = figure(given.low())?;
    let (high, high_text) = figure(given.high())?;
    let (middle, text) = figure(given.nominal())?;
    let (name, key) = (slug(given.dimension().name()), slug(unit.name()));
    // A wire gauge falls as the wire grows.
    let (least, most) = if low <= high {
        (low, high)
    } else {
        (high, low)
    };
    let shown = match given.form() {
        Form::Single(_) => format!("{text} {unit}"),
        Form::Range { .. } => format!("{low_text}–{high_text} {unit}"),
        Form::Tolerance { .. } if unit.is_gauge() => format!("{low_text}–{high_text} {unit}"),
        Form::Tolerance { .. } => {
            let (over, under) = (high - middle, middle - low);
            let (over, under) = (super::digits(over, 3), super::digits(under, 3));
            if over == under {
                format!("{text} ±{over} {unit}")
            } else {
                format!("{text} +{over}/-{under} {unit}")
            }
        }
    };
    // A range has no figure that is aimed at.
    let aimed = match given.form() {
        Form::Range { .. } => Fact::Nothing,
        _ => Fact::Number(middle),
    };
    let line = Line::told("", shown).fact(&format!("{name}_{key}"), aimed);
    Some(line.band(&name, &key, Band::new(least, most)))
}

/// A name as a key has it: `lb_ft`, `kgf_m`, `nm`.
fn slug(name: &str) -> String {
    // These differ in a capital only, or would be no letters at all.
    match name {
        "N·m" => return "nm".to_owned(),
        "mΩ" => return "milliohm".to_owned(),
        "MΩ" => return "megohm".to_owned(),
        "%" => return "percent".to_owned(),
        _ => {}
    }
    name.to_lowercase()
        .replace('/', "_per_")
        .replace('µ', "u")
        .replace('ω', "ohm")
        .replace([' ', '-', '·'], "_")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_is_kept() {
        let told = |text: &str, unit: &str| {
            let given = Quantity::parse(text).ok()?;
            let unit = Unit::read(unit).ok()?;
            told(&given, unit).map(|line| line.figure)
        };
        for (text, unit, wanted) in [
            ("18 lb-ft", "N·m", "24.4 N·m"),
            ("18 lb-ft", "lb-in", "216 lb-in"),
            ("37–43 N·m", "lb-ft", "27.29–31.72 lb-ft"),
            ("44 ±10 N·m", "lb-ft", "32.45 ±7.38 lb-ft"),
            ("44 +2/-0 mm", "in", "1.732 +0.0787/-0 in"),
            ("20 ±5 degC", "degF", "68 ±9 degF"),
            ("18 AWG", "mm2", "0.823 mm2"),
        ] {
            assert_eq!(told(text, unit).as_deref(), Some(wanted), "{text}");
        }
    }

    #[test]
    fn no_two_units_have_one_key() {
        for unit in Unit::all() {
            let keys = told_in(unit).into_iter().map(|one| slug(one.name()));
            let mut keys: Vec<String> = keys.collect();
            let count = keys.len();
            keys.sort();
            keys.dedup();
            assert_eq!(keys.len(), count, "{keys:?}");
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
            assert!(keys.iter().all(|key| key.chars().all(plain)), "{keys:?}");
        }
    }
}
