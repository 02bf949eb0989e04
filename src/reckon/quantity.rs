//! Quantities as they are written at the bench and printed in manuals.
//!
//! A [`Quantity`] is read from text and keeps that text: what was written is
//! what is shown and written back, to the blank. Beside the amount it keeps
//! how finely each figure was printed, because a printed pair such as
//! `46 N·m (34 lb-ft)` can only be judged to half of the last printed digit.
//!
//! The reader is strict where two mechanics could read two different amounts
//! (a comma, a gallon, a minus in a range) and free where they could not
//! (spelling, blanks). Whether a quantity suits its place, may be negative or
//! is sensible is for the caller to say.

use std::fmt;
use std::ops::Range;
use std::str::FromStr;

use thiserror::Error;

use super::unit::{self, Amount, Dimension, SAME_CONVERTED, Unit, UnitError};

/// Further apart, as a share, two printings of one figure can't be rounding: of 85 printed
/// pairs of torques the worst differed by 5.5 per cent.
const SLIP: f64 = 0.06;

/// The longest text that is read as a quantity, in characters.
pub const LONGEST: usize = 200;

/// One figure as printed, without its unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Printed {
    text: String,
    value: f64,
    half_last_digit: f64,
}

impl Printed {
    /// The figure as written, sign included: `7.5`, `1 1/2`, `2/0`.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The figure in the unit it was printed with; always finite.
    ///
    /// A wire gauge `1/0` is 0, `2/0` is -1 and so on (ASTM B258).
    pub fn value(&self) -> f64 {
        self.value
    }

    /// Half a unit of the last printed digit, in the same unit: 0.05 for
    /// `7.5`, 0.5 for `24` and for `1500`, whose zeros may or may not be
    /// rounded. 0 for a fraction and for a wire gauge, which are exact.
    pub fn half_last_digit(&self) -> f64 {
        self.half_last_digit
    }
}

/// How a quantity is written.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// `24 N·m`
    Single(Printed),
    /// `37–43 N·m`, both ends included, in the order in which they are written.
    /// Only wire gauges may fall.
    Range {
        /// The first figure.
        from: Printed,
        /// The second figure.
        to: Printed,
    },
    /// `44 ±10 N·m`, `44 +2/-0 mm`, `24 N·m ±10 %`.
    Tolerance {
        /// The figure aimed at.
        nominal: Printed,
        /// How much more is allowed; never negative.
        plus: Printed,
        /// How much less is allowed; never negative, the minus is not part of it.
        minus: Printed,
        /// Whether `plus` and `minus` are per cent of the nominal figure and
        /// not in its unit. A share with a tolerance in per cent, `60 ±5 %`,
        /// is in points and so in its own unit.
        percent: bool,
    },
}

/// An amount as written, with its unit, its form and its other printings.
///
/// `==` compares what is written; [`Quantity::same_as`] compares what is meant.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantity {
    text: String,
    unit: Unit,
    form: Form,
    also: Vec<Quantity>,
}

impl Quantity {
    /// Reads a quantity.
    ///
    /// # Errors
    ///
    /// One plain sentence for each way to go wrong; see [`QuantityError`].
    pub fn parse(text: &str) -> Result<Quantity, QuantityError> {
        read(text).map_err(|mut error| {
            // A suggestion is only made if it would itself be accepted.
            if let Some(instead) = error.instead_mut()
                && instead.as_deref().is_some_and(|s| read(s).is_err())
            {
                *instead = None;
            }
            error
        })
    }

    /// The text as written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What is measured.
    pub fn dimension(&self) -> Dimension {
        self.unit.dimension()
    }

    /// The unit of the first printing.
    pub fn unit(&self) -> Unit {
        self.unit
    }

    /// How the first printing is written.
    pub fn form(&self) -> &Form {
        &self.form
    }

    /// The same quantity as printed again in brackets, in the order written:
    /// `46 N·m (34 lb-ft)`, `46 N·m (4.7 kgf·m, 34 lb-ft)`. Of the same
    /// dimension, hardness scale or currency; whether the figures agree is not
    /// looked at here.
    pub fn also(&self) -> &[Quantity] {
        &self.also
    }

    /// The least that is allowed. Of a single figure, the figure.
    pub fn low(&self) -> Amount {
        self.unit.amount(self.ends().0)
    }

    /// The most that is allowed. Of a single figure, the figure.
    pub fn high(&self) -> Amount {
        self.unit.amount(self.ends().1)
    }

    /// What is aimed at: the figure before a tolerance, the middle of a range.
    pub fn nominal(&self) -> Amount {
        self.unit.amount(match &self.form {
            Form::Single(figure) => figure.value,
            Form::Range { from, to } => (from.value + to.value) / 2.0,
            Form::Tolerance { nominal, .. } => nominal.value,
        })
    }

    /// Whether some allowed value is below zero in the unit as written; so
    /// `-5 degC` is negative and `268 K` is not. A wire gauge never is.
    pub fn is_negative(&self) -> bool {
        !self.unit.is_gauge() && self.ends().0 < 0.0
    }

    /// Whether both allow the same and aim at the same, whatever the unit and
    /// the form: `24 N·m` and `24 Nm`, `44 ±10 N·m` and `34–54 N·m`. The
    /// printings in brackets don't count.
    pub fn same_as(&self, other: &Quantity) -> bool {
        let same = |a: Amount, b: Amount| a.compare(&b).is_some_and(|o| o.is_eq());
        same(self.low(), other.low())
            && same(self.high(), other.high())
            && same(self.nominal(), other.nominal())
    }

    /// Whether one is the other in another unit, rounded as it is printed: 18 lb-ft are
    /// 24.4 N·m, so `24 N·m` and `18 lb-ft` are the same. In one unit only the same figures
    /// are, and where few digits are printed nothing further apart than printings of one
    /// torque are: `12 N·m` is no `1 kgf·m`. The printings in brackets don't count.
    pub fn rounds_to(&self, other: &Quantity) -> bool {
        let rounded = |from: &Quantity, to: &Quantity| {
            let ends = to.ends();
            let aims = [
                (from.low(), ends.0),
                (from.high(), ends.1),
                (
                    from.nominal(),
                    to.nominal().in_unit(to.unit).unwrap_or(f64::NAN),
                ),
            ];
            let near = |(amount, printed): &(Amount, f64)| {
                let half = to.half_last_digit().min(printed.abs() * SLIP);
                let half = half + printed.abs() * SAME_CONVERTED;
                let value = amount.in_unit(to.unit);
                value.is_some_and(|value| (value - printed).abs() <= half)
            };
            aims.iter().all(near)
        };
        self.same_as(other)
            || self.unit != other.unit && (rounded(self, other) || rounded(other, self))
    }

    /// Half a unit of the last digit of its coarsest figure, in the unit as written.
    pub(super) fn half_last_digit(&self) -> f64 {
        match &self.form {
            Form::Single(figure) => figure.half_last_digit,
            Form::Range { from, to } => from.half_last_digit.max(to.half_last_digit),
            Form::Tolerance { nominal, .. } => nominal.half_last_digit,
        }
    }

    /// The ends in the unit as written, the lesser amount first.
    fn ends(&self) -> (f64, f64) {
        match &self.form {
            Form::Single(figure) => (figure.value, figure.value),
            Form::Range { from, to } if self.unit.is_gauge() => {
                (from.value.max(to.value), from.value.min(to.value))
            }
            Form::Range { from, to } => (from.value, to.value),
            Form::Tolerance {
                nominal,
                plus,
                minus,
                percent,
            } => {
                let share = if *percent {
                    nominal.value.abs() / 100.0
                } else {
                    1.0
                };
                (
                    nominal.value - minus.value * share,
                    nominal.value + plus.value * share,
                )
            }
        }
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

impl FromStr for Quantity {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Quantity, QuantityError> {
        Quantity::parse(text)
    }
}

/// Why a text is not a quantity.
///
/// `instead` holds the whole text as it should be written, where that can be
/// told.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum QuantityError {
    /// Nothing but blanks.
    #[error("nothing is written here; a number and its unit belong here, such as `24 N·m`")]
    Empty,
    /// More than [`LONGEST`] characters.
    #[error("this is too long for a quantity; write the number and its unit only")]
    TooLong,
    /// The text, or a part of it, should begin with a number and does not.
    #[error("`{written}` does not begin with a number; write the number first, then its unit")]
    NoNumber {
        /// The part that should have begun with a number.
        written: String,
        /// The text with the number put first.
        instead: Option<String>,
    },
    /// A number that can't be read one way only: `1e3`, `24.`, `1.2.3`, `3/0`.
    #[error("`{written}` is not a number as written at the bench; write it out in digits")]
    BadNumber {
        /// The number.
        written: String,
        /// The text with a readable number.
        instead: Option<String>,
    },
    /// A comma as the decimal sign.
    #[error("`{written}` has a comma; write the decimal point")]
    DecimalComma {
        /// The number.
        written: String,
        /// The text with decimal points.
        instead: Option<String>,
    },
    /// A comma that may be a decimal sign or part the thousands.
    #[error(
        "`{written}` has a comma that one reader takes for thousands and another for the decimal point; write neither thousands nor decimals with a comma"
    )]
    ThousandsComma {
        /// The number.
        written: String,
        /// The text with the commas taken as thousands and left out.
        instead: Option<String>,
    },
    /// Two numbers with a blank between them.
    #[error("`{written}` has a blank inside the number; write it without, or a range with a dash")]
    SpacedNumber {
        /// Both numbers.
        written: String,
        /// The text with the blank left out, where it parts thousands.
        instead: Option<String>,
    },
    /// No unit.
    #[error("`{number}` has no unit; write the unit after the number, such as `24 N·m`")]
    NoUnit {
        /// The number.
        number: String,
    },
    /// No such unit.
    #[error("`{written}` is not a unit that is known here{}", unit::did_you_mean(.nearest))]
    UnknownUnit {
        /// The unit as written.
        written: String,
        /// Names of units that differ in capitals or punctuation only.
        nearest: Vec<String>,
        /// The text with the only such unit.
        instead: Option<String>,
    },
    /// A unit that means two things: a US or an imperial gallon.
    #[error("`{written}` can be read in more than one way; write {}", unit::one_of(.could_be))]
    AmbiguousUnit {
        /// The unit as written.
        written: String,
        /// The spelling for each meaning.
        could_be: &'static [&'static str],
        /// The text with the only sensible one.
        instead: Option<String>,
    },
    /// The two figures of a range or a tolerance have two units.
    #[error("`{first}` and `{second}` stand in one quantity; give both figures in one unit")]
    MixedUnits {
        /// The unit of the first figure.
        first: String,
        /// The unit of the second figure.
        second: String,
    },
    /// The second printing measures something else than the first.
    #[error(
        "the printing in brackets is {second} and the first is {first}; both must measure the same"
    )]
    MixedDimensions {
        /// What the first printing measures, with its article; for hardness
        /// and money the scale or the currency.
        first: String,
        /// The same of the printing in brackets.
        second: String,
    },
    /// A range that falls.
    #[error("the range runs from {from} down to {to}; write the lesser figure first")]
    ReversedRange {
        /// The first figure.
        from: String,
        /// The second figure.
        to: String,
        /// The text with the figures exchanged.
        instead: Option<String>,
    },
    /// A dash beside a sign, or a hyphen that hangs on the second figure.
    #[error("the dash in `{written}` can be taken for a minus; write the range with `to`")]
    UnclearRange {
        /// The two figures and the dash.
        written: String,
        /// The range with `to`.
        instead: Option<String>,
    },
    /// Only one side of a tolerance.
    #[error("`{written}` gives one side of the tolerance only; write both, such as `+2/-0`")]
    HalfTolerance {
        /// The side that is written.
        written: String,
        /// The text with 0 for the other side.
        instead: Option<String>,
    },
    /// Both limits of the tolerance lie above, or below, the figure.
    #[error("both limits of `{written}` lie on one side of the figure; write the range instead")]
    OneSided {
        /// The tolerance.
        written: String,
        /// The range.
        instead: Option<String>,
    },
    /// A tolerance in per cent of a temperature, which would depend on where
    /// the scale has its zero.
    #[error("`{written}` is per cent of a temperature; write the tolerance in degrees")]
    PercentOfTemperature {
        /// The temperature and its tolerance.
        written: String,
    },
    /// A wire gauge that does not exist, or with a tolerance.
    #[error(
        "`{written}` is not a wire gauge; gauges run from 4/0, 1/0, 1, 2 up to 56, whole numbers only"
    )]
    NotAGauge {
        /// The number.
        written: String,
    },
    /// Something stands after the quantity.
    #[error(
        "`{written}` stands after the quantity and is no part of it; leave it out or write it as a note"
    )]
    TrailingText {
        /// What stands there.
        written: String,
        /// The text without it, or with it in brackets where it is a second printing.
        instead: Option<String>,
    },
    /// A temperature that can't be.
    #[error(
        "`{written}` is colder than absolute zero, -273.15 degC; look at the sign and the unit"
    )]
    BelowAbsoluteZero {
        /// The quantity.
        written: String,
    },
}

impl QuantityError {
    /// The whole text to write instead, where it can be told; it is itself a
    /// quantity that is accepted.
    pub fn suggestion(&self) -> Option<String> {
        self.clone().instead_mut().and_then(|i| i.take())
    }

    fn instead_mut(&mut self) -> Option<&mut Option<String>> {
        match self {
            QuantityError::NoNumber { instead, .. }
            | QuantityError::BadNumber { instead, .. }
            | QuantityError::DecimalComma { instead, .. }
            | QuantityError::ThousandsComma { instead, .. }
            | QuantityError::SpacedNumber { instead, .. }
            | QuantityError::UnknownUnit { instead, .. }
            | QuantityError::AmbiguousUnit { instead, .. }
            | QuantityError::ReversedRange { instead, .. }
            | QuantityError::UnclearRange { instead, .. }
            | QuantityError::HalfTolerance { instead, .. }
            | QuantityError::OneSided { instead, .. }
            | QuantityError::TrailingText { instead, .. } => Some(instead),
            QuantityError::Empty
            | QuantityError::TooLong
            | QuantityError::NoUnit { .. }
            | QuantityError::MixedUnits { .. }
            | QuantityError::MixedDimensions { .. }
            | QuantityError::NotAGauge { .. }
            | QuantityError::PercentOfTemperature { .. }
            | QuantityError::BelowAbsoluteZero { .. } => None,
        }
    }
}

fn read(text: &str) -> Result<Quantity, QuantityError> {
    if text.trim().is_empty() {
        return Err(QuantityError::Empty);
    }
    if text.chars().nth(LONGEST).is_some() {
        return Err(QuantityError::TooLong);
    }
    let mut reader = Reader {
        text,
        at: 0,
        end: text.len(),
    };
    let (form, unit) = reader.body()?;
    let mut quantity = Quantity {
        text: text.to_owned(),
        unit,
        form,
        also: Vec::new(),
    };
    reader.warm_enough(&quantity)?;
    loop {
        reader.blanks();
        if reader.rest().is_empty() {
            return Ok(quantity);
        }
        reader.brackets(&mut quantity)?;
    }
}

/// Fractions in one character that a tape or a drawing of inches shows.
const VULGAR: [(char, f64); 7] = [
    ('¼', 0.25),
    ('½', 0.5),
    ('¾', 0.75),
    ('⅛', 0.125),
    ('⅜', 0.375),
    ('⅝', 0.625),
    ('⅞', 0.875),
];

fn is_vulgar(c: char) -> bool {
    VULGAR.iter().any(|(known, _)| *known == c)
}

/// A number before its unit is known.
struct Raw {
    span: Range<usize>,
    value: f64,
    half_last_digit: f64,
    signed: bool,
    /// `1/0` to `4/0`: a number for a wire gauge only.
    aught: bool,
    decimals: usize,
}

/// What stands between the first number and what follows.
enum Join {
    /// A range; `dash` where a sign beside it could be overlooked, `hangs`
    /// where the dash itself could be a sign.
    Range { dash: bool, hangs: bool },
    /// `±`
    Either,
    /// `+a/-b` or `-b/+a`; the sign is not yet read.
    Sides,
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
    end: usize,
}

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..self.end).unwrap_or("")
    }

    fn slice(&self, span: &Range<usize>) -> &'a str {
        self.text.get(span.clone()).unwrap_or("")
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn blanks(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
    }

    fn eat(&mut self, token: &str) -> bool {
        let found = self.rest().starts_with(token);
        if found {
            self.at += token.len();
        }
        found
    }

    fn digits(&mut self) -> &'a str {
        let rest = self.rest();
        let length = rest.bytes().take_while(u8::is_ascii_digit).count();
        self.at += length;
        rest.get(..length).unwrap_or("")
    }

    /// The whole text with one part of it replaced.
    fn with(&self, span: &Range<usize>, new: &str) -> Option<String> {
        let before = self.text.get(..span.start)?;
        let after = self.text.get(span.end..)?;
        Some(format!("{before}{new}{after}"))
    }

    fn starts_number(text: &str) -> bool {
        let text = text.strip_prefix('.').unwrap_or(text);
        text.starts_with(|c: char| c.is_ascii_digit() || is_vulgar(c))
    }

    fn starts_signed_number(text: &str) -> bool {
        Self::starts_number(text.strip_prefix(SIGNS).unwrap_or(text))
    }

    fn number(&mut self) -> Result<Raw, QuantityError> {
        self.blanks();
        let start = self.at;
        let sign = self.peek().filter(|c| SIGNS.contains(c));
        if let Some(c) = sign {
            self.at += c.len_utf8();
        }
        let whole = self.digits();
        let point_at = self.at;
        let mut decimals = "";
        if self.eat(".") {
            decimals = self.digits();
            if decimals.is_empty() {
                self.at = point_at;
            }
        }
        let vulgar = decimals.is_empty() && self.peek().is_some_and(is_vulgar);
        if whole.is_empty() && decimals.is_empty() && !vulgar {
            return Err(self.no_number(start));
        }
        self.number_ends(start)?;
        let mut raw = Raw {
            span: start..self.at,
            value: parse_float(&format!("0{whole}.{decimals}0")),
            half_last_digit: 0.5 / 10f64.powi(i32::try_from(decimals.len()).unwrap_or(i32::MAX)),
            signed: sign.is_some(),
            aught: false,
            decimals: decimals.len(),
        };
        if decimals.is_empty() {
            self.fraction(start, whole, &mut raw)?;
        }
        if sign.is_some_and(|c| c != '+') {
            raw.value = -raw.value;
        }
        raw.span.end = self.at;
        Ok(raw)
    }

    /// Refuses what would go on as a number in some other notation.
    fn number_ends(&self, start: usize) -> Result<(), QuantityError> {
        let rest = self.rest();
        let mut next = rest.chars();
        match next.next() {
            Some(',') if Self::starts_number(next.as_str()) => Err(self.comma(start)),
            // Three dots are a range.
            Some('.') if !rest.starts_with("...") => Err(self.bad_number(start)),
            Some('e' | 'E') if Self::starts_signed_number(next.as_str()) => {
                Err(self.bad_number(start))
            }
            _ => Ok(()),
        }
    }

    /// `3/8`, `1 1/2` and the customary `1-1/2`, which can't be a range because
    /// it would fall.
    fn fraction(&mut self, start: usize, whole: &str, raw: &mut Raw) -> Result<(), QuantityError> {
        if let Some(below) = self.over() {
            self.number_ends(start)?;
            if self
                .rest()
                .strip_prefix('/')
                .is_some_and(Self::starts_number)
            {
                return Err(self.bad_number(start));
            }
            let divisor = parse_float(below);
            if divisor != 0.0 {
                raw.value /= divisor;
                raw.half_last_digit = 0.0;
                return Ok(());
            }
            if below == "0" && matches!(whole, "1" | "2" | "3" | "4") {
                raw.value = 1.0 - raw.value;
                raw.half_last_digit = 0.0;
                raw.aught = true;
                return Ok(());
            }
            return Err(self.bad_number(start));
        }
        let before = self.at;
        let dash = self.eat("-");
        if !dash {
            self.blanks();
        }
        if !dash && let Some(share) = self.vulgar() {
            self.number_ends(start)?;
            raw.value += share;
            raw.half_last_digit = 0.0;
            return Ok(());
        }
        if self.at == before || (dash && raw.value < 1.0) {
            self.at = before;
            return Ok(());
        }
        let above = self.digits();
        match self.over() {
            Some(below) if !above.is_empty() && parse_float(above) < parse_float(below) => {
                self.number_ends(start)?;
                raw.value += parse_float(above) / parse_float(below);
                raw.half_last_digit = 0.0;
            }
            _ => self.at = before,
        }
        Ok(())
    }

    /// `½`: a fraction in one character.
    fn vulgar(&mut self) -> Option<f64> {
        let next = self.peek()?;
        let (_, share) = VULGAR.iter().find(|(c, _)| *c == next)?;
        self.at += next.len_utf8();
        Some(*share)
    }

    /// `/8` after the digits of a fraction.
    fn over(&mut self) -> Option<&'a str> {
        let before = self.at;
        if self.eat("/") {
            let below = self.digits();
            if !below.is_empty() {
                return Some(below);
            }
        }
        self.at = before;
        None
    }

    /// The span of the unit; the reader then stands at what follows it.
    fn unit_span(&mut self) -> Result<Range<usize>, QuantityError> {
        self.blanks();
        let start = self.at;
        let rest = self.rest();
        let length = rest
            .char_indices()
            .find(|&(i, _)| ends_unit(rest, i))
            .map_or(rest.len(), |(i, _)| i);
        let written = rest.get(..length).unwrap_or("").trim_end();
        let span = start..start + written.len();
        self.at = start + length;
        if Self::starts_number(written) && Unit::read(written).is_err() {
            return Err(self.spaced_number(start, written));
        }
        Ok(span)
    }

    fn join(&mut self) -> Result<Option<Join>, QuantityError> {
        self.blanks();
        let start = self.at;
        for sign in ["±", "+/-", "+/−", "+-"] {
            if self.eat(sign) {
                return Ok(Some(Join::Either));
            }
        }
        let rest = self.rest();
        if rest.starts_with('+') && Self::starts_signed_number(rest) {
            return Ok(Some(Join::Sides));
        }
        for dots in ["...", "…"] {
            if self.eat(dots) {
                return Ok(Some(Join::Range {
                    dash: false,
                    hangs: false,
                }));
            }
        }
        if self.eat("to") {
            let spaced = self.text.get(..start).is_some_and(ends_blank)
                && self.peek().is_some_and(char::is_whitespace);
            if spaced {
                return Ok(Some(Join::Range {
                    dash: false,
                    hangs: false,
                }));
            }
            self.at = start;
        }
        for dash in DASHES {
            if rest.starts_with(dash) {
                if self.minus_side_first() {
                    return Ok(Some(Join::Sides));
                }
                self.at = start + dash.len_utf8();
                // `44 -2`: a hyphen that hangs on the second figure.
                let hangs = SIGNS.contains(&dash)
                    && self.text.get(..start).is_some_and(ends_blank)
                    && !self.peek().is_some_and(char::is_whitespace);
                return Ok(Some(Join::Range { dash: true, hangs }));
            }
        }
        Ok(None)
    }

    /// Whether `-1/+2` stands here, and not the dash of a range.
    fn minus_side_first(&mut self) -> bool {
        let start = self.at;
        let found = self.rest().starts_with(SIGNS)
            && self.number().is_ok()
            && {
                self.blanks();
                self.eat("/")
            }
            && {
                self.blanks();
                self.rest().starts_with(SIGNS)
            };
        self.at = start;
        found
    }

    fn body(&mut self) -> Result<(Form, Unit), QuantityError> {
        let first = self.number()?;
        let first_unit = self.unit_span()?;
        let (form, unit) = match self.join()? {
            None => {
                let unit = self.unit(&first_unit, &first)?;
                (Form::Single(self.printed(&first, unit)?), unit)
            }
            Some(Join::Range { dash, hangs }) => self.range(&first, &first_unit, dash, hangs)?,
            Some(Join::Either) => {
                let sides = self.number()?;
                if sides.signed {
                    return Err(self.bad_number(sides.span.start));
                }
                self.tolerance(&first, &first_unit, &sides, &sides)?
            }
            Some(Join::Sides) => {
                let (plus, minus) = self.sides(&first)?;
                self.tolerance(&first, &first_unit, &plus, &minus)?
            }
        };
        Ok((form, unit))
    }

    fn range(
        &mut self,
        first: &Raw,
        first_unit: &Range<usize>,
        dash: bool,
        hangs: bool,
    ) -> Result<(Form, Unit), QuantityError> {
        let second = self.number()?;
        if hangs || (dash && (first.signed || second.signed)) {
            let span = first.span.start..second.span.end;
            let to = format!(
                "{} to {}",
                self.slice(&(first.span.start..first_unit.end)).trim_end(),
                self.slice(&second.span)
            );
            return Err(QuantityError::UnclearRange {
                written: self.slice(&span).to_owned(),
                instead: self.with(&span, &to),
            });
        }
        let second_unit = self.unit_span()?;
        if first_unit.is_empty() && second_unit.is_empty() {
            return Err(self.no_unit(first.span.start..second.span.end));
        }
        let unit = self.unit(&second_unit, &second)?;
        self.same_unit(first_unit, first, &second_unit, unit)?;
        let from = self.printed(first, unit)?;
        let to = self.printed(&second, unit)?;
        if from.value > to.value && !unit.is_gauge() {
            let exchanged = format!(
                "{}{}{}",
                to.text,
                self.text
                    .get(first.span.end..second.span.start)
                    .unwrap_or(" to "),
                from.text
            );
            return Err(QuantityError::ReversedRange {
                instead: self.with(&(first.span.start..second.span.end), &exchanged),
                from: from.text,
                to: to.text,
            });
        }
        Ok((Form::Range { from, to }, unit))
    }

    /// `+a/-b` or `-b/+a`.
    fn sides(&mut self, nominal: &Raw) -> Result<(Raw, Raw), QuantityError> {
        let first = self.number()?;
        let start = first.span.start;
        self.blanks();
        let slash = self.eat("/");
        self.blanks();
        if first.aught && !slash {
            let minus = self.slice(&first.span).replace("/0", "/-0");
            return Err(QuantityError::BadNumber {
                written: self.slice(&first.span).to_owned(),
                instead: self.with(&first.span, &minus),
            });
        }
        if !slash || !self.rest().starts_with(SIGNS) {
            let written = self.slice(&first.span);
            let instead = if !slash && self.rest().starts_with(SIGNS) {
                self.with(&(first.span.end..self.at), "/")
            } else {
                self.with(&first.span, &format!("{written}/-0"))
            };
            return Err(QuantityError::HalfTolerance {
                written: written.to_owned(),
                instead,
            });
        }
        let second = self.number()?;
        let positive = |raw: &Raw| self.slice(&raw.span).starts_with('+');
        match (positive(&first), positive(&second)) {
            (true, false) => Ok((first, second)),
            (false, true) => Ok((second, first)),
            _ => {
                let span = start..second.span.end;
                let (a, b) = (nominal.value + first.value, nominal.value + second.value);
                let places = nominal.decimals.max(first.decimals).max(second.decimals);
                let whole = nominal.span.start..span.end;
                let range = format!("{:.places$} to {:.places$}", a.min(b), a.max(b));
                // A unit between the figure and its limits would be lost.
                let plain = self
                    .text
                    .get(nominal.span.end..start)
                    .is_some_and(|between| between.trim().is_empty());
                let exact = [nominal, &first, &second]
                    .iter()
                    .all(|raw| raw.half_last_digit > 0.0);
                Err(QuantityError::OneSided {
                    written: self.slice(&span).to_owned(),
                    instead: self.with(&whole, &range).filter(|_| plain && exact),
                })
            }
        }
    }

    fn tolerance(
        &mut self,
        first: &Raw,
        first_unit: &Range<usize>,
        plus: &Raw,
        minus: &Raw,
    ) -> Result<(Form, Unit), QuantityError> {
        let mut second_unit = self.unit_span()?;
        let mut percent = false;
        if let Some(after) = self.slice(&second_unit).strip_prefix('%') {
            let after = after.trim_start();
            let own = !first_unit.is_empty() && !self.is_percent(first_unit);
            if own || !after.is_empty() {
                percent = true;
                second_unit.start = second_unit.end - after.len();
            }
        }
        if first_unit.is_empty() && second_unit.is_empty() {
            let last = plus.span.end.max(minus.span.end);
            return Err(self.no_unit(first.span.start..last));
        }
        let unit = if second_unit.is_empty() {
            self.unit(first_unit, first)?
        } else {
            let unit = self.unit(&second_unit, plus)?;
            self.same_unit(first_unit, first, &second_unit, unit)?;
            unit
        };
        if unit.is_gauge() {
            let last = plus.span.end.max(minus.span.end);
            return Err(QuantityError::NotAGauge {
                written: self.slice(&(first.span.start..last)).to_owned(),
            });
        }
        if percent && unit.dimension() == Dimension::Temperature {
            return Err(QuantityError::PercentOfTemperature {
                written: self.slice(&(first.span.start..self.at)).trim().to_owned(),
            });
        }
        let nominal = self.printed(first, unit)?;
        let plus = self.allowed(plus, unit)?;
        let minus = self.allowed(minus, unit)?;
        Ok((
            Form::Tolerance {
                nominal,
                plus,
                minus,
                percent,
            },
            unit,
        ))
    }

    fn is_percent(&self, span: &Range<usize>) -> bool {
        Unit::read(self.slice(span)).is_ok_and(|u| u.dimension() == Dimension::Ratio)
    }

    /// One side of a tolerance, freed of its sign.
    fn allowed(&self, raw: &Raw, unit: Unit) -> Result<Printed, QuantityError> {
        let mut printed = self.printed(raw, unit)?;
        printed.value = printed.value.abs();
        if let Some(bare) = printed.text.strip_prefix(SIGNS) {
            printed.text = bare.to_owned();
        }
        Ok(printed)
    }

    fn printed(&self, raw: &Raw, unit: Unit) -> Result<Printed, QuantityError> {
        let text = self.slice(&raw.span).to_owned();
        if unit.is_gauge() {
            return gauge(&text, raw)
                .map(|value| Printed {
                    text: text.clone(),
                    value,
                    half_last_digit: 0.0,
                })
                .ok_or(QuantityError::NotAGauge { written: text });
        }
        if raw.aught {
            return Err(self.bad_number(raw.span.start));
        }
        Ok(Printed {
            text,
            value: raw.value,
            half_last_digit: raw.half_last_digit,
        })
    }

    fn unit(&self, span: &Range<usize>, number: &Raw) -> Result<Unit, QuantityError> {
        let written = self.slice(span);
        if written.is_empty() {
            return Err(self.no_unit(number.span.clone()));
        }
        let error = match Unit::read(written) {
            Ok(unit) => return Ok(unit),
            Err(error) => error,
        };
        let instead = error
            .suggestion()
            .and_then(|s| self.with(span, &blank_before(&s, self.text, span.start)));
        match error {
            UnitError::Ambiguous { written, could_be } => Err(QuantityError::AmbiguousUnit {
                written,
                could_be,
                instead,
            }),
            UnitError::Unknown { written, nearest } => {
                if nearest.is_empty()
                    && let Some(known) = known_start(&written)
                {
                    return Err(self.trailing(span.start + known));
                }
                Err(QuantityError::UnknownUnit {
                    written,
                    nearest,
                    instead,
                })
            }
        }
    }

    fn no_unit(&self, figures: Range<usize>) -> QuantityError {
        QuantityError::NoUnit {
            number: self.slice(&figures).to_owned(),
        }
    }

    /// A unit may stand at both figures, if it is the same.
    fn same_unit(
        &self,
        first: &Range<usize>,
        number: &Raw,
        second: &Range<usize>,
        unit: Unit,
    ) -> Result<(), QuantityError> {
        if first.is_empty() || self.unit(first, number)? == unit {
            return Ok(());
        }
        Err(QuantityError::MixedUnits {
            first: self.slice(first).to_owned(),
            second: self.slice(second).to_owned(),
        })
    }

    /// The other printings, in brackets after the first.
    fn brackets(&mut self, quantity: &mut Quantity) -> Result<(), QuantityError> {
        let open = self.at;
        if !self.eat("(") {
            return Err(self.trailing(open));
        }
        let Some(length) = self.rest().find(')') else {
            return Err(self.trailing(open));
        };
        let close = self.at + length;
        if !Self::starts_signed_number(self.rest().trim_start()) {
            return Err(self.trailing(open));
        }
        while self.at < close {
            let part_end = self.part_end(close);
            let mut part = Reader {
                text: self.text,
                at: self.at,
                end: part_end,
            };
            let (form, unit) = part.body()?;
            part.blanks();
            if !part.rest().is_empty() {
                return Err(part.trailing(part.at));
            }
            let also = Quantity {
                text: self.slice(&(self.at..part_end)).trim().to_owned(),
                unit,
                form,
                also: Vec::new(),
            };
            part.warm_enough(&also)?;
            if also.low().compare(&quantity.low()).is_none() {
                return Err(mixed(quantity, &also));
            }
            quantity.also.push(also);
            // The separators are one byte long.
            self.at = (part_end + 1).min(close);
        }
        self.at = close + 1;
        Ok(())
    }

    /// Where the printing that begins here ends: at a comma or semicolon that
    /// a blank follows, since a comma inside a number has none.
    fn part_end(&self, close: usize) -> usize {
        let inside = self.slice(&(self.at..close));
        inside
            .char_indices()
            .filter(|&(_, c)| c == ',' || c == ';')
            .map(|(i, _)| i)
            .find(|&i| {
                inside
                    .get(i + 1..)
                    .is_some_and(|after| after.starts_with(char::is_whitespace))
            })
            .map_or(close, |i| self.at + i)
    }

    fn warm_enough(&self, quantity: &Quantity) -> Result<(), QuantityError> {
        match quantity.low() {
            Amount::Temperature(t) if t.value < 0.0 => Err(QuantityError::BelowAbsoluteZero {
                written: quantity.text.trim().to_owned(),
            }),
            _ => Ok(()),
        }
    }

    fn no_number(&self, start: usize) -> QuantityError {
        let written = self.text.get(start..self.end).unwrap_or("").trim();
        // `AWG 18`, `HRC 39`, `EUR 310`: the unit was written first.
        let instead = written
            .find(|c: char| c.is_ascii_digit())
            .and_then(|i| Some((written.get(..i)?.trim(), written.get(i..)?.trim())))
            .filter(|(unit, _)| !unit.is_empty())
            .and_then(|(unit, number)| {
                let unit = match Unit::read(unit) {
                    Ok(_) => unit.to_owned(),
                    Err(error) => error.suggestion()?,
                };
                self.with(&(start..start + written.len()), &format!("{number} {unit}"))
            });
        QuantityError::NoNumber {
            written: written.to_owned(),
            instead,
        }
    }

    /// The run of characters that was meant as one number.
    fn token(&self, start: usize) -> Range<usize> {
        let from = self.text.get(start..self.end).unwrap_or("");
        let length = from
            .char_indices()
            .find(|&(i, c)| {
                let exponent = matches!(c, 'e' | 'E')
                    && Self::starts_signed_number(from.get(i + 1..).unwrap_or(""));
                let sign = SIGNS.contains(&c)
                    && (i == 0 || from.get(..i).is_some_and(|s| s.ends_with(['e', 'E'])));
                !(c.is_ascii_digit() || matches!(c, '.' | ',' | '/') || exponent || sign)
            })
            .map_or(from.len(), |(i, _)| i);
        start..start + length
    }

    fn bad_number(&self, start: usize) -> QuantityError {
        let span = self.token(start);
        let written = self.slice(&span);
        // `1.234,5`: points between thousands, a decimal comma.
        if written.contains(',') {
            return self.comma(start);
        }
        QuantityError::BadNumber {
            instead: written
                .strip_suffix('.')
                .and_then(|bare| self.with(&span, bare)),
            written: written.to_owned(),
        }
    }

    fn comma(&self, start: usize) -> QuantityError {
        let span = self.token(start);
        let written = self.slice(&span);
        let instead = Some(without_commas(self.text));
        let thousands = is_thousands(written.trim_start_matches(SIGNS));
        let written = written.to_owned();
        if thousands {
            QuantityError::ThousandsComma { written, instead }
        } else {
            QuantityError::DecimalComma { written, instead }
        }
    }

    fn spaced_number(&self, start: usize, written: &str) -> QuantityError {
        let head = self.text.get(..start).unwrap_or("").trim_end();
        let from = head.trim_end_matches(|c: char| c.is_ascii_digit()).len();
        let digits = written.bytes().take_while(u8::is_ascii_digit).count();
        let joined = without_parted_thousands(self.text);
        QuantityError::SpacedNumber {
            written: self.slice(&(from..start + digits)).to_owned(),
            instead: Some(joined).filter(|s| s != self.text),
        }
    }

    fn trailing(&self, from: usize) -> QuantityError {
        let after = self.text.get(from..self.end).unwrap_or("");
        let written = after.trim();
        let before = self.text.get(..from).unwrap_or("").trim_end();
        // `46 N·m / 34 lb-ft`: a second printing, which belongs in brackets.
        let pair = written
            .strip_prefix(['/', '=', ',', ';'])
            .map(str::trim)
            .filter(|second| Self::starts_signed_number(second))
            .map(|second| format!("{before} ({second})"));
        // `6 ft 2 in`: to leave a number out would change the amount.
        let amount = written.contains(|c: char| c.is_ascii_digit());
        QuantityError::TrailingText {
            instead: pair.or_else(|| self.with(&(before.len()..self.end), "").filter(|_| !amount)),
            written: written.to_owned(),
        }
    }
}

const SIGNS: [char; 3] = ['+', '-', '−'];
const DASHES: [char; 6] = ['-', '–', '—', '−', '\u{2010}', '\u{2011}'];

fn ends_blank(text: &str) -> bool {
    text.ends_with(char::is_whitespace)
}

/// Whether the unit ends at byte `at`, because a second figure, a tolerance or
/// a bracket begins there.
fn ends_unit(text: &str, at: usize) -> bool {
    let (Some(before), Some(here)) = (text.get(..at), text.get(at..)) else {
        return false;
    };
    if here.starts_with(['(', '±', '+', '…']) || here.starts_with("...") {
        return true;
    }
    if let Some(after) = here.strip_prefix(DASHES) {
        return Reader::starts_signed_number(after.trim_start());
    }
    if let Some(after) = here.strip_prefix("to") {
        return (before.is_empty() || ends_blank(before))
            && after.starts_with(char::is_whitespace)
            && Reader::starts_signed_number(after.trim_start());
    }
    false
}

/// The length of the longest unit that other text follows.
///
/// `None` where that text would change what is measured: `100 Ω/m`, `5 N m s`.
fn known_start(written: &str) -> Option<usize> {
    let (head, after) = written
        .char_indices()
        .rev()
        .filter(|&(_, c)| c.is_whitespace() || matches!(c, '/' | ',' | ';' | '='))
        .filter_map(|(i, _)| Some((written.get(..i)?.trim_end(), written.get(i..)?.trim())))
        .find(|(head, _)| Unit::read(head).is_ok())?;
    let per = after
        .strip_prefix('/')
        .is_some_and(|below| !Reader::starts_signed_number(below.trim_start()));
    (!per && Unit::read(after).is_err()).then_some(head.len())
}

fn blank_before(unit: &str, text: &str, at: usize) -> String {
    if text.get(..at).is_some_and(ends_blank) {
        unit.to_owned()
    } else {
        format!(" {unit}")
    }
}

/// The number of a gauge as ASTM B258 counts it, downward past 0.
fn gauge(text: &str, raw: &Raw) -> Option<f64> {
    if raw.signed || raw.decimals > 0 {
        return None;
    }
    if raw.aught {
        return Some(raw.value);
    }
    match text {
        "0" => return Some(0.0),
        "00" => return Some(-1.0),
        "000" => return Some(-2.0),
        "0000" => return Some(-3.0),
        _ => {}
    }
    let whole = text.bytes().all(|b| b.is_ascii_digit()) && !text.starts_with('0');
    Some(raw.value).filter(|value| whole && unit::GAUGES.contains(value))
}

fn mixed(first: &Quantity, second: &Quantity) -> QuantityError {
    let (a, b) = (first.dimension(), second.dimension());
    let describe = |quantity: &Quantity| {
        let noun = quantity.dimension().with_article();
        if a == b {
            format!("{noun} in {}", quantity.unit)
        } else {
            noun.to_owned()
        }
    };
    QuantityError::MixedDimensions {
        first: describe(first),
        second: describe(second),
    }
}

fn parse_float(digits: &str) -> f64 {
    // Digits and one point only, and fewer than would overflow.
    digits.parse().unwrap_or_default()
}

/// `1,200`, `1,200,000.5`: groups of three, the first without a leading 0.
fn is_thousands(number: &str) -> bool {
    let whole = number.split_once('.').map_or(number, |(whole, _)| whole);
    let mut groups = whole.split(',');
    let first = groups.next().unwrap_or("");
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    whole.contains(',')
        && (1..=3).contains(&first.len())
        && digits(first)
        && !first.starts_with('0')
        && groups.all(|g| g.len() == 3 && digits(g))
}

/// Every number of the text freed of commas, each read on its own.
fn without_commas(text: &str) -> String {
    let of_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let mut out = String::with_capacity(text.len());
    for (i, part) in text.split("...").enumerate() {
        if i > 0 {
            out.push_str("...");
        }
        let mut rest = part;
        while let Some(first) = rest.chars().next() {
            let run = rest.find(|c| !of_number(c)).unwrap_or(rest.len());
            let (number, after) = if run == 0 {
                rest.split_at(first.len_utf8())
            } else {
                rest.split_at(run)
            };
            rest = after;
            let bare = number.trim_end_matches(['.', ',']);
            if is_thousands(bare) {
                out.push_str(&bare.replace(',', ""));
            } else if bare.contains(',') {
                out.push_str(&bare.replace('.', "").replace(',', "."));
            } else {
                out.push_str(bare);
            }
            out.push_str(&number[bare.len()..]);
        }
    }
    out
}

/// Every `1 200` of the text as `1200`.
fn without_parted_thousands(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let after = rest.trim_start();
        let ahead = after.bytes().take_while(u8::is_ascii_digit).count();
        let behind = out.bytes().rev().take_while(u8::is_ascii_digit).count();
        let whole = !out[..out.len() - behind].ends_with(['.', ',', '/']);
        if c.is_whitespace() && ahead == 3 && behind > 0 && whole {
            rest = after;
            continue;
        }
        out.push(c);
        rest = &rest[c.len_utf8()..];
    }
    out
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn quantity(text: &str) -> Quantity {
        Quantity::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"))
    }

    /// Low, nominal and high in the quantity's own unit.
    fn span(text: &str) -> [f64; 3] {
        let q = quantity(text);
        [q.low(), q.nominal(), q.high()].map(|amount| {
            let value = amount.in_unit(q.unit()).expect("its own unit");
            (value * 1e9).round() / 1e9
        })
    }

    #[test]
    fn quantities_of_the_bench_are_read() {
        for (text, unit, value) in [
            ("24 N·m", "N·m", 24.0),
            ("24 Nm", "N·m", 24.0),
            ("24N·m", "N·m", 24.0),
            ("18 lb-ft", "lb-ft", 18.0),
            ("18 ft-lb", "lb-ft", 18.0),
            ("80 in-lb", "lb-in", 80.0),
            ("1.5 kgf·m", "kgf·m", 1.5),
            ("94 mm", "mm", 94.0),
            ("12 thou", "thou", 12.0),
            (".012 in", "in", 0.012),
            ("0.5 mm2", "mm2", 0.5),
            ("18 AWG", "AWG", 18.0),
            ("1/0 AWG", "AWG", 0.0),
            ("4/0 AWG", "AWG", -3.0),
            ("0000 AWG", "AWG", -3.0),
            ("0 AWG", "AWG", 0.0),
            ("90 deg", "deg", 90.0),
            ("90°", "deg", 90.0),
            ("5 mA", "mA", 5.0),
            ("12 V", "V", 12.0),
            ("20 degC", "degC", 20.0),
            ("-40 °C", "degC", -40.0),
            ("−40 degC", "degC", -40.0),
            ("+5 degC", "degC", 5.0),
            ("182 cc/min", "cc/min", 182.0),
            ("310 EUR", "EUR", 310.0),
            ("24.50 EUR", "EUR", 24.5),
            ("2 h", "h", 2.0),
            ("3/8 in", "in", 0.375),
            ("1 1/2 in", "in", 1.5),
            ("1-1/2 in", "in", 1.5),
            ("½ in", "in", 0.5),
            ("1½ in", "in", 1.5),
            ("2 ¾ in", "in", 2.75),
            ("-1/2 deg", "deg", -0.5),
            ("3000 1/min", "rpm", 3000.0),
            ("2 %", "%", 2.0),
            ("70 Shore A", "Shore A", 70.0),
            ("39 HRC", "HRC", 39.0),
            ("5 US gal", "US gal", 5.0),
            (" 24\u{a0}N·m ", "N·m", 24.0),
        ] {
            let q = quantity(text);
            assert_eq!(q.unit().name(), unit, "{text}");
            assert!(
                matches!(q.form(), Form::Single(f) if f.value() == value),
                "{text}"
            );
            assert_eq!(q.to_string(), text);
            assert_eq!(q.text(), text);
        }
    }

    #[test]
    fn every_unit_is_read_after_a_number_and_before_brackets() {
        for unit in Unit::all() {
            for spelling in unit.spellings() {
                for text in [
                    format!("7 {spelling}"),
                    format!("5–7 {spelling}"),
                    format!("5 to 7 {spelling} (5 - 7 {spelling})"),
                ] {
                    assert_eq!(quantity(&text).unit(), unit, "{text}");
                }
            }
        }
    }

    #[test]
    fn ranges_and_tolerances_have_their_ends() {
        for (text, ends) in [
            ("24 N·m", [24.0, 24.0, 24.0]),
            ("37–43 N·m", [37.0, 40.0, 43.0]),
            ("37-43 N·m", [37.0, 40.0, 43.0]),
            ("37 - 43 N·m", [37.0, 40.0, 43.0]),
            ("37 to 43 N·m", [37.0, 40.0, 43.0]),
            ("37...43 N·m", [37.0, 40.0, 43.0]),
            ("37…43 N·m", [37.0, 40.0, 43.0]),
            ("37 N·m – 43 Nm", [37.0, 40.0, 43.0]),
            ("1.5...2.5 mm", [1.5, 2.0, 2.5]),
            ("0-1/2 in", [0.0, 0.25, 0.5]),
            ("-5 to -2 mm", [-5.0, -3.5, -2.0]),
            ("-5...2 mm", [-5.0, -1.5, 2.0]),
            ("44 ±10 N·m", [34.0, 44.0, 54.0]),
            ("44±10N·m", [34.0, 44.0, 54.0]),
            ("44 +/-10 N·m", [34.0, 44.0, 54.0]),
            ("44 +/- 10 N·m", [34.0, 44.0, 54.0]),
            ("44 N·m ±10 N·m", [34.0, 44.0, 54.0]),
            ("44 N·m ± 10", [34.0, 44.0, 54.0]),
            ("44 +2/-0 mm", [44.0, 44.0, 46.0]),
            ("44 +0/-2 mm", [42.0, 44.0, 44.0]),
            ("44 -1 / +2 mm", [43.0, 44.0, 46.0]),
            ("44 mm +2/-1", [43.0, 44.0, 46.0]),
            ("24 N·m ±10 %", [21.6, 24.0, 26.4]),
            ("24 ±10 % N·m", [21.6, 24.0, 26.4]),
            ("24 N·m ±10%", [21.6, 24.0, 26.4]),
            ("24 N·m +10/-5 %", [22.8, 24.0, 26.4]),
            ("-20 mm ±10 %", [-22.0, -20.0, -18.0]),
            ("60 ±5 %", [55.0, 60.0, 65.0]),
            ("60 % ±5 %", [55.0, 60.0, 65.0]),
        ] {
            assert_eq!(span(text), ends, "{text}");
            assert_eq!(quantity(text).to_string(), text);
        }
    }

    #[test]
    fn a_range_of_gauges_runs_from_the_thin_wire_to_the_thick() {
        for text in ["22–18 AWG", "18-22 AWG", "22 to 18 AWG"] {
            assert_eq!(span(text), [22.0, 20.0, 18.0], "{text}");
            let q = quantity(text);
            assert!(q.low().compare(&q.high()).is_some_and(|o| o.is_lt()));
        }
        assert_eq!(span("2/0–2 AWG"), [2.0, 0.5, -1.0]);
        assert_eq!(span("4-2/0 AWG"), [4.0, 1.5, -1.0]);
    }

    #[test]
    fn a_figure_knows_how_finely_it_was_printed() {
        for (text, half) in [
            ("7.5 A", 0.05),
            ("24 N·m", 0.5),
            ("24.00 mm", 0.005),
            ("1500 rpm", 0.5),
            ("3/8 in", 0.0),
            ("1 1/2 in", 0.0),
            ("1½ in", 0.0),
            ("18 AWG", 0.0),
        ] {
            match quantity(text).form() {
                Form::Single(figure) => assert_eq!(figure.half_last_digit(), half, "{text}"),
                other => panic!("{text}: {other:?}"),
            }
        }
        match quantity("44 +2.5/-0 mm").form() {
            Form::Tolerance {
                nominal,
                plus,
                minus,
                percent,
            } => {
                assert_eq!(
                    (nominal.text(), plus.text(), minus.text(), *percent),
                    ("44", "2.5", "0", false)
                );
                assert_eq!(plus.half_last_digit(), 0.05);
            }
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_second_printing_stands_in_brackets() {
        let q = quantity("37–43 N·m (27–32 lb-ft)");
        let [also] = q.also() else {
            panic!("{:?}", q.also())
        };
        assert_eq!(also.text(), "27–32 lb-ft");
        assert_eq!(also.unit().name(), "lb-ft");
        let q = quantity("46 N·m (4.7 kgf·m, 34 lb-ft)");
        assert_eq!(q.also().len(), 2);
        assert_eq!(quantity("46 N·m (4.7 kgf·m) ( 34 lb-ft )").also().len(), 2);
        assert_eq!(quantity("20 degC (68 degF)").also().len(), 1);
    }

    #[test]
    fn what_is_meant_is_compared_and_not_what_is_written() {
        for (a, b, same) in [
            ("24 N·m", "24 Nm", true),
            ("24 N·m", "24.0 N.m (18 lb-ft)", true),
            ("44 ±10 N·m", "34–54 N·m", true),
            ("34–54 N·m", "44 N·m", false),
            ("25.4 mm", "1 in", true),
            ("1/0 AWG", "0 AWG", true),
            ("24 N·m", "18 lb-ft", false),
            ("24 N·m", "24 mm", false),
            ("24 EUR", "24 SEK", false),
        ] {
            assert_eq!(quantity(a).same_as(&quantity(b)), same, "{a}, {b}");
        }
        assert_ne!(quantity("24 N·m"), quantity("24 Nm"));
    }

    #[test]
    fn below_zero_is_told_in_the_unit_as_written() {
        assert!(quantity("-5 degC").is_negative());
        assert!(quantity("1 ±2 mm").is_negative());
        assert!(!quantity("268 K").is_negative());
        assert!(!quantity("4/0 AWG").is_negative());
        assert!(!quantity("-0 mm").is_negative());
    }

    #[test]
    fn a_mistake_is_one_sentence_and_a_correction() {
        for (text, message, instead) in [
            (
                "",
                "nothing is written here; a number and its unit belong here, such as `24 N·m`",
                None,
            ),
            (
                "tight",
                "`tight` does not begin with a number; write the number first, then its unit",
                None,
            ),
            (
                "AWG 18",
                "`AWG 18` does not begin with a number; write the number first, then its unit",
                Some("18 AWG"),
            ),
            (
                "EUR 310",
                "`EUR 310` does not begin with a number; write the number first, then its unit",
                Some("310 EUR"),
            ),
            (
                "€310",
                "`€310` does not begin with a number; write the number first, then its unit",
                Some("310 EUR"),
            ),
            (
                "24",
                "`24` has no unit; write the unit after the number, such as `24 N·m`",
                None,
            ),
            (
                "37–43",
                "`37–43` has no unit; write the unit after the number, such as `24 N·m`",
                None,
            ),
            (
                "24 NM",
                "`NM` is not a unit that is known here; did you mean `N·m`?",
                Some("24 N·m"),
            ),
            (
                "24nm",
                "`nm` is not a unit that is known here; did you mean `N·m`?",
                Some("24 N·m"),
            ),
            (
                "24 furlong",
                "`furlong` is not a unit that is known here; write one such as `N·m`, `mm` or `degC`",
                None,
            ),
            (
                "5 gal",
                "`gal` can be read in more than one way; write `US gal` or `UK gal`",
                None,
            ),
            (
                "20 C",
                "`C` can be read in more than one way; write `degC`",
                Some("20 degC"),
            ),
            (
                "7,5 A",
                "`7,5` has a comma; write the decimal point",
                Some("7.5 A"),
            ),
            (
                "37,5–43,2 N·m",
                "`37,5` has a comma; write the decimal point",
                Some("37.5–43.2 N·m"),
            ),
            (
                "1.234,5 km",
                "`1.234,5` has a comma; write the decimal point",
                Some("1234.5 km"),
            ),
            (
                "1,200 rpm",
                "`1,200` has a comma that one reader takes for thousands and another for the decimal point; write neither thousands nor decimals with a comma",
                Some("1200 rpm"),
            ),
            (
                "1 200–1 400 rpm",
                "`1 200` has a blank inside the number; write it without, or a range with a dash",
                Some("1200–1400 rpm"),
            ),
            (
                "5 7 mm",
                "`5 7` has a blank inside the number; write it without, or a range with a dash",
                None,
            ),
            (
                "1e3 mm",
                "`1e3` is not a number as written at the bench; write it out in digits",
                None,
            ),
            (
                "24. N·m",
                "`24.` is not a number as written at the bench; write it out in digits",
                Some("24 N·m"),
            ),
            (
                "1.2.3 mm",
                "`1.2.3` is not a number as written at the bench; write it out in digits",
                None,
            ),
            (
                "1/0 mm",
                "`1/0` is not a number as written at the bench; write it out in digits",
                None,
            ),
            (
                "5/0 AWG",
                "`5/0` is not a number as written at the bench; write it out in digits",
                None,
            ),
            (
                "43–37 N·m",
                "the range runs from 43 down to 37; write the lesser figure first",
                Some("37–43 N·m"),
            ),
            (
                "-5--2 mm",
                "the dash in `-5--2` can be taken for a minus; write the range with `to`",
                Some("-5 to -2 mm"),
            ),
            (
                "-5–2 mm",
                "the dash in `-5–2` can be taken for a minus; write the range with `to`",
                Some("-5 to 2 mm"),
            ),
            (
                "44 +2 mm",
                "`+2` gives one side of the tolerance only; write both, such as `+2/-0`",
                Some("44 +2/-0 mm"),
            ),
            (
                "44 +2 -0 mm",
                "`+2` gives one side of the tolerance only; write both, such as `+2/-0`",
                Some("44 +2/-0 mm"),
            ),
            (
                "44 +2/0 mm",
                "`+2/0` is not a number as written at the bench; write it out in digits",
                Some("44 +2/-0 mm"),
            ),
            (
                "25 -0.01/-0.03 mm",
                "both limits of `-0.01/-0.03` lie on one side of the figure; write the range instead",
                Some("24.97 to 24.99 mm"),
            ),
            (
                "5 mm–7 in",
                "`mm` and `in` stand in one quantity; give both figures in one unit",
                None,
            ),
            (
                "46 N·m (34 mm)",
                "the printing in brackets is a length and the first is a torque; both must measure the same",
                None,
            ),
            (
                "310 EUR (3400 SEK)",
                "the printing in brackets is a sum of money in SEK and the first is a sum of money in EUR; both must measure the same",
                None,
            ),
            (
                "46 N·m dry",
                "`dry` stands after the quantity and is no part of it; leave it out or write it as a note",
                Some("46 N·m"),
            ),
            (
                "46 N·m (oiled)",
                "`(oiled)` stands after the quantity and is no part of it; leave it out or write it as a note",
                Some("46 N·m"),
            ),
            (
                "46 N·m / 34 lb-ft",
                "`/ 34 lb-ft` stands after the quantity and is no part of it; leave it out or write it as a note",
                Some("46 N·m (34 lb-ft)"),
            ),
            (
                "46 N·m (34 lb-ft",
                "`(34 lb-ft` stands after the quantity and is no part of it; leave it out or write it as a note",
                None,
            ),
            (
                "6 ft 2 in",
                "`2 in` stands after the quantity and is no part of it; leave it out or write it as a note",
                None,
            ),
            (
                "100 Ω/m",
                "`Ω/m` is not a unit that is known here; write one such as `N·m`, `mm` or `degC`",
                None,
            ),
            (
                "44 -2 mm",
                "the dash in `44 -2` can be taken for a minus; write the range with `to`",
                None,
            ),
            (
                "2 -5 mm",
                "the dash in `2 -5` can be taken for a minus; write the range with `to`",
                Some("2 to 5 mm"),
            ),
            (
                "20 degC ±10 %",
                "`20 degC ±10 %` is per cent of a temperature; write the tolerance in degrees",
                None,
            ),
            (
                "-300 degC",
                "`-300 degC` is colder than absolute zero, -273.15 degC; look at the sign and the unit",
                None,
            ),
            (
                "18.5 AWG",
                "`18.5` is not a wire gauge; gauges run from 4/0, 1/0, 1, 2 up to 56, whole numbers only",
                None,
            ),
            (
                "18 ±1 AWG",
                "`18 ±1` is not a wire gauge; gauges run from 4/0, 1/0, 1, 2 up to 56, whole numbers only",
                None,
            ),
        ] {
            let error = Quantity::parse(text).expect_err(text);
            assert_eq!(error.to_string(), message, "{text}");
            assert_eq!(error.suggestion().as_deref(), instead, "{text}");
        }
        assert_eq!(
            Quantity::parse(&"1".repeat(LONGEST + 1)),
            Err(QuantityError::TooLong)
        );
        assert!(Quantity::parse(&format!("{} mm", "9".repeat(LONGEST - 3))).is_ok());
    }

    /// A number as text, with what it should come to.
    fn number() -> impl Strategy<Value = (String, f64)> {
        prop_oneof![
            (0u32..100_000).prop_map(|n| (n.to_string(), f64::from(n))),
            (0u32..1000, 1usize..4, 0u32..1000).prop_map(|(n, places, decimals)| {
                let text = format!("{n}.{:0places$}", decimals % 10u32.pow(places as u32));
                let value = text.parse().unwrap_or_default();
                (text, value)
            }),
            (1u32..64, 2u32..65)
                .prop_map(|(a, b)| { (format!("{a}/{b}"), f64::from(a) / f64::from(b)) }),
            (1u32..20, 1u32..8).prop_map(|(whole, a)| {
                (
                    format!("{whole} {a}/8"),
                    f64::from(whole) + f64::from(a) / 8.0,
                )
            }),
        ]
    }

    /// A unit other than the gauge, in one of its spellings.
    fn spelled() -> impl Strategy<Value = (Unit, String)> {
        let all: Vec<(Unit, String)> = Unit::all()
            .filter(|unit| !unit.is_gauge())
            .flat_map(|unit| unit.spellings().into_iter().map(move |s| (unit, s)))
            .collect();
        proptest::sample::select(all)
    }

    fn blank() -> impl Strategy<Value = &'static str> {
        proptest::sample::select(vec!["", " ", "  ", "\t", "\u{a0}"])
    }

    fn values(form: &Form) -> Vec<f64> {
        match form {
            Form::Single(f) => vec![f.value()],
            Form::Range { from, to } => vec![from.value(), to.value()],
            Form::Tolerance {
                nominal,
                plus,
                minus,
                ..
            } => {
                vec![nominal.value(), plus.value(), minus.value()]
            }
        }
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text in any::<String>()) {
            let _ = Quantity::parse(&text).map_err(|e| (e.to_string(), e.suggestion()));
        }

        #[test]
        fn text_like_a_quantity_is_read_or_refused_and_corrections_hold(
            text in "[0-9 .,/+±–()eN·mft%°C-]{0,16}( ?(to|N·m|mm|in-lb|AWG|degC|EUR|NM|C)){0,3}",
        ) {
            match Quantity::parse(&text) {
                Ok(q) => {
                    prop_assert_eq!(q.to_string(), text);
                    prop_assert!(q.low().compare(&q.high()).is_some_and(|o| o.is_le()));
                }
                Err(error) => if let Some(instead) = error.suggestion() {
                    prop_assert!(Quantity::parse(&instead).is_ok(), "{} -> {}", text, instead);
                },
            }
        }

        #[test]
        fn what_is_built_from_parts_is_read_as_these_parts(
            (a, b) in (number(), number()),
            (unit, spelling) in spelled(),
            form in 0usize..9,
            blanks in (blank(), blank(), blank()),
        ) {
            let ((low, least), (high, most)) = if a.1 <= b.1 { (a, b) } else { (b, a) };
            let (x, y, z) = blanks;
            // Without a blank a spelling that begins with a figure would join the number.
            let z = if spelling.starts_with('1') { " " } else { z };
            let (text, expected) = match form {
                0 => (format!("{x}{high}{z}{spelling}{y}"), vec![most]),
                1 => (format!("{low}{x}–{y}{high}{z}{spelling}"), vec![least, most]),
                2 => (format!("{low} to {high}{z}{spelling}"), vec![least, most]),
                3 => (format!("{low}{x}...{y}{high}{z}{spelling}"), vec![least, most]),
                4 => (format!("{high}{x}±{y}{low}{z}{spelling}"), vec![most, least, least]),
                5 => (format!("{high}{x}+/-{y}{low}{z}{spelling}"), vec![most, least, least]),
                6 => (format!("{high}{x}+{low}/-{low}{z}{spelling}"), vec![most, least, least]),
                7 => (format!("{low}{z}{spelling}{x}–{y}{high}{z}{spelling}"), vec![least, most]),
                _ => (format!("{high}{z}{spelling}{x}({low}{z}{spelling})"), vec![most]),
            };
            let q = Quantity::parse(&text);
            prop_assert!(q.is_ok(), "{:?}: {}", text, q.unwrap_err());
            let q = quantity(&text);
            prop_assert_eq!(q.unit(), unit, "{:?}", text);
            let got = values(q.form());
            prop_assert_eq!(got.len(), expected.len());
            for (g, e) in got.iter().zip(&expected) {
                prop_assert!((g - e).abs() < 1e-9, "{:?}: {:?}, not {:?}", text, got, expected);
            }
            prop_assert_eq!(q.to_string(), text);
        }
    }
}
