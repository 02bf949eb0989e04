//! `matchmark reckon`.

mod convert;
mod plating;
mod thread;
mod torque;
mod vin;
mod wrench;

use clap::{Args, Subcommand, ValueEnum};

use super::Outcome;
use crate::reckon::class::Class;
use crate::reckon::friction::{SURFACES, Surface};
use crate::reckon::geometry::Geometry;
use crate::reckon::measure::{self, Band, Force, Length, Torque, in_inches, in_mm};
use crate::reckon::quantity::Quantity;
use crate::reckon::thread::Thread;
use crate::reckon::unit::{Amount, Unit};
use crate::render::answer;
use crate::report::answer::Answer;
use crate::shell::terminal;

/// A page has so many columns where there is no terminal to say.
const PAGE: usize = 80;
/// No answer is made narrower.
const NARROWEST: usize = 40;

/// Work out what the bench asks: units, threads, torques, wrenches, plating
///
/// Each answer shows its figures, how far they may be off, where they come from,
/// and what to be careful of. The maker's service manual comes first.
#[derive(Debug, Args)]
pub struct Reckon {
    #[command(subcommand)]
    what: What,
    /// How the answer is printed
    #[arg(long, value_enum, default_value_t = Format::Text, global = true)]
    format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people
    Text,
    /// For programs: one object, each figure's key ending in its unit
    Json,
}

#[derive(Debug, Subcommand)]
enum What {
    Convert(convert::Convert),
    Thread(thread::ThreadArgs),
    Torque(torque::TorqueArgs),
    Wrench(wrench::WrenchArgs),
    Plating(plating::PlatingArgs),
    Vin(vin::Vin),
}

impl Reckon {
    /// Works it out and prints it.
    ///
    /// # Errors
    /// When what was written can't be reckoned with.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let answer = match &self.what {
            What::Convert(asked) => asked.answer()?,
            What::Thread(asked) => asked.answer()?,
            What::Torque(asked) => asked.answer()?,
            What::Wrench(asked) => asked.answer()?,
            What::Plating(asked) => asked.answer()?,
            What::Vin(asked) => asked.answer(),
        };
        terminal::print(&self.shown(&answer))?;
        Ok(Outcome::Clean)
    }

    fn shown(&self, answer: &Answer) -> String {
        match self.format {
            Format::Json => answer::json(answer),
            Format::Text => {
                let width = terminal::width().unwrap_or(PAGE).max(NARROWEST);
                answer::text(answer, width.min(100))
            }
        }
    }
}

/// What can't be reckoned with, and what to write instead.
fn refused(why: impl ToString, write: impl ToString) -> anyhow::Error {
    anyhow::anyhow!(write.to_string()).context(why.to_string())
}

/// A quantity as it was typed.
fn quantity(written: &str, example: &str) -> anyhow::Result<Quantity> {
    Quantity::parse(written).map_err(|error| {
        let write = error.suggestion().unwrap_or_else(|| example.to_owned());
        refused(error, format!("write `{write}`"))
    })
}

/// A quantity of a kind, from its least to its most; never less than nothing.
fn of_kind<T: Copy>(
    option: &str,
    written: &str,
    example: &str,
    kind: &str,
    read: impl Fn(&Quantity) -> Option<Band<T>>,
) -> anyhow::Result<(Quantity, Band<T>)> {
    let quantity = quantity(written, example)?;
    let Some(band) = read(&quantity) else {
        return Err(refused(
            format!(
                "`{written}` is {} and not {kind}",
                quantity.dimension().with_article()
            ),
            format!("write {option} as in `{example}`"),
        ));
    };
    if quantity.is_negative() {
        return Err(refused(
            format!("`{written}` is less than nothing"),
            format!("write {option} as in `{example}`"),
        ));
    }
    Ok((quantity, band))
}

/// A length as it was typed: one figure, or the middle of what is allowed.
fn length(option: &str, written: &str, example: &str) -> anyhow::Result<Length> {
    let (_, band) = of_kind(option, written, example, "a length", measure::length_of)?;
    Ok((band.least + band.most) / 2.0)
}

/// A torque as it was typed.
fn torque(option: &str, written: &str) -> anyhow::Result<(Quantity, Band<Torque>)> {
    of_kind(option, written, "24 N·m", "a torque", measure::torque_of)
}

/// A thread as it was typed, with what it measures.
fn thread(written: &str) -> anyhow::Result<(Thread, Geometry)> {
    let thread = Thread::parse(written).map_err(|error| {
        let write = error.suggestion();
        let write = write.map_or_else(
            || "write a thread as in `M10x1.25` or `3/8-16UNC`".to_owned(),
            |write| format!("write `{write}`"),
        );
        refused(error, write)
    })?;
    let geometry = Geometry::of(&thread).ok_or_else(|| {
        refused(
            format!("`{written}` is neither a metric nor a unified inch thread, and only these are reckoned here"),
            "ask for one as in `M10x1.25` or `3/8-16UNC`; for the other look into its standard",
        )
    })?;
    Ok((thread, geometry))
}

/// A class as it was typed.
fn class(written: &str) -> anyhow::Result<Class> {
    Class::parse(written)
        .map_err(|error| refused(error, "write `--class 8.8`, or `--class \"grade 5\"`"))
}

/// A surface as it was typed.
fn surface(written: &str) -> anyhow::Result<Surface> {
    Surface::named(written).ok_or_else(|| {
        refused(
            format!("`{written}` is no state of a surface that is known here"),
            format!("write one of {}", listed(SURFACES.map(Surface::word))),
        )
    })
}

/// Words to choose from.
fn listed<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let words: Vec<String> = words.into_iter().map(|word| format!("`{word}`")).collect();
    words.join(", ")
}

/// An amount in a unit, to so many significant digits.
fn in_unit(amount: Amount, unit: &str) -> String {
    let unit = Unit::read(unit).ok();
    let figure = unit.and_then(|unit| amount.figure(unit));
    figure.map(|figure| figure.to_string()).unwrap_or_default()
}

/// A number to so many significant digits, with no zeros behind; whole digits are kept.
fn digits(value: f64, count: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let places = (f64::from(count) - 1.0 - value.abs().log10().floor()).clamp(0.0, 9.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let text = format!("{value:.*}", places as usize);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// Both ends of a band as one, and one figure where they come to the same.
fn ends(least: &str, most: &str, unit: &str) -> String {
    if least == most {
        format!("{least} {unit}")
    } else {
        format!("{least}–{most} {unit}")
    }
}

/// A band of torques as the bench writes it.
fn torques(band: Band<Torque>, unit: &str) -> String {
    let one = |torque| {
        let unit = Unit::read(unit).ok();
        let value = unit.and_then(|unit| Amount::Torque(torque).in_unit(unit));
        let value = value.unwrap_or_default();
        digits(value, if value.abs() < 10.0 { 2 } else { 3 })
    };
    ends(&one(band.least), &one(band.most), unit)
}

/// A band of loads as the bench writes it.
fn loads(band: Band<Force>) -> String {
    let one = |load| digits(measure::in_newtons(load) / 1000.0, 3);
    ends(&one(band.least), &one(band.most), "kN")
}

/// A length in millimetres, to a thousandth.
fn millimetres(length: Length) -> String {
    let text = format!("{:.3}", in_mm(length));
    format!("{} mm", text.trim_end_matches('0').trim_end_matches('.'))
}

/// A length in inches, to a tenth of a thou.
fn in_inch(length: Length) -> String {
    format!("{:.4} in", in_inches(length))
}

/// What is said wherever a torque is told.
const MAKER_FIRST: &str = "The maker's figure comes first. This is an aid where none is printed; on brakes, steering, suspension and restraints ask who may say.";
