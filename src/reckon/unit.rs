//! Units in bench spellings, and amounts that know what they measure.
//!
//! A [`Unit`] is a handle to one line of a fixed table: its name, every
//! spelling under which it is read, its [`Dimension`], and the way to an
//! [`Amount`] and back. Conversion factors come from the unit library `uom`,
//! whose factors carry seven significant digits for the customary units;
//! [`Amount::compare`] allows for that. What the library does not hold is
//! composed from what it does (a week from days), or computed from the
//! published formula (wire gauges, ASTM B258).
//!
//! This module does not read numbers; `quantity` does.

use std::cmp::Ordering;
use std::f64::consts::PI;
use std::fmt;
use std::hash::{Hash, Hasher};

use iso_currency::Currency;
use thiserror::Error;

/// The unit library's quantities under the names of our dimensions.
///
/// Torque and energy, angle and ratio, speed of rotation and frequency are
/// kept apart by the library, so that one can't stand in for the other.
mod kind {
    pub use uom::si::f64::AngularVelocity as RotationalSpeed;
    pub use uom::si::f64::{
        Angle, Area, Capacitance, ElectricCharge as Charge, ElectricCurrent as Current,
        ElectricPotential as Voltage, ElectricalResistance as Resistance, Force, Inductance,
        Length, Mass, MassRate as MassFlow, Power, Pressure, Ratio,
        ThermodynamicTemperature as Temperature, Time, Torque, Velocity as Speed, Volume,
        VolumeRate as VolumeFlow,
    };
}

/// What a quantity measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Dimension {
    /// A turning moment, as on a fastener.
    Torque,
    /// A length, gap, travel or distance driven.
    Length,
    /// An area, above all the cross-section of a wire.
    Area,
    /// A volume, as of oil or of a cylinder.
    Volume,
    /// A mass, which the bench calls weight.
    Mass,
    /// A force, as a preload or a spring's load.
    Force,
    /// A span of time; not a date.
    Time,
    /// A road speed or the speed of a flow.
    Speed,
    /// A speed of rotation.
    RotationalSpeed,
    /// An electric current.
    Current,
    /// An electric charge, as the capacity of a battery.
    Charge,
    /// A voltage.
    Voltage,
    /// An electric resistance.
    Resistance,
    /// A capacitance.
    Capacitance,
    /// An inductance.
    Inductance,
    /// A power.
    Power,
    /// A pressure, or the strength of a material.
    Pressure,
    /// A temperature as read from a thermometer; not a difference.
    Temperature,
    /// An angle.
    Angle,
    /// A flow by volume, as of an injector.
    VolumeFlow,
    /// A flow by mass.
    MassFlow,
    /// A share, in per cent.
    Ratio,
    /// A hardness on one of the scales of [`HardnessScale`].
    Hardness,
    /// A sum of money in one currency.
    Money,
}

impl Dimension {
    /// Every dimension, in the order in which they are listed to the reader.
    pub const ALL: [Dimension; 24] = [
        Dimension::Torque,
        Dimension::Length,
        Dimension::Area,
        Dimension::Volume,
        Dimension::Mass,
        Dimension::Force,
        Dimension::Time,
        Dimension::Speed,
        Dimension::RotationalSpeed,
        Dimension::Current,
        Dimension::Charge,
        Dimension::Voltage,
        Dimension::Resistance,
        Dimension::Capacitance,
        Dimension::Inductance,
        Dimension::Power,
        Dimension::Pressure,
        Dimension::Temperature,
        Dimension::Angle,
        Dimension::VolumeFlow,
        Dimension::MassFlow,
        Dimension::Ratio,
        Dimension::Hardness,
        Dimension::Money,
    ];

    /// The mechanic's noun, without article: `torque`, `cross-section`.
    pub fn name(self) -> &'static str {
        self.words().0
    }

    /// The noun with its article, for a sentence: `a torque`, `an angle`.
    pub fn with_article(self) -> &'static str {
        self.words().1
    }

    /// A quantity of this dimension as it would be written at the bench.
    pub fn example(self) -> &'static str {
        self.words().2
    }

    /// Reads a name in kebab case, as `rotational-speed`.
    ///
    /// `area` is read beside `cross-section`. `None` for any other word.
    pub fn from_name(name: &str) -> Option<Dimension> {
        if name == "area" {
            return Some(Dimension::Area);
        }
        Dimension::ALL
            .into_iter()
            .find(|d| d.name().replace(' ', "-") == name)
    }

    fn words(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Dimension::Torque => ("torque", "a torque", "24 N·m"),
            Dimension::Length => ("length", "a length", "94 mm"),
            Dimension::Area => ("cross-section", "a cross-section", "0.5 mm2"),
            Dimension::Volume => ("volume", "a volume", "4.5 l"),
            Dimension::Mass => ("mass", "a mass", "12 kg"),
            Dimension::Force => ("force", "a force", "25 kN"),
            Dimension::Time => ("time", "a time", "2 h"),
            Dimension::Speed => ("speed", "a speed", "90 km/h"),
            Dimension::RotationalSpeed => ("rotational speed", "a rotational speed", "850 rpm"),
            Dimension::Current => ("current", "a current", "5 mA"),
            Dimension::Charge => ("charge", "a charge", "60 Ah"),
            Dimension::Voltage => ("voltage", "a voltage", "12 V"),
            Dimension::Resistance => ("resistance", "a resistance", "2.5 kΩ"),
            Dimension::Capacitance => ("capacitance", "a capacitance", "0.22 µF"),
            Dimension::Inductance => ("inductance", "an inductance", "3 mH"),
            Dimension::Power => ("power", "a power", "55 W"),
            Dimension::Pressure => ("pressure", "a pressure", "3 bar"),
            Dimension::Temperature => ("temperature", "a temperature", "20 degC"),
            Dimension::Angle => ("angle", "an angle", "90 deg"),
            Dimension::VolumeFlow => ("volume flow", "a volume flow", "182 cc/min"),
            Dimension::MassFlow => ("mass flow", "a mass flow", "140 kg/h"),
            Dimension::Ratio => ("ratio", "a ratio", "2 %"),
            Dimension::Hardness => ("hardness", "a hardness", "39 HRC"),
            Dimension::Money => ("money", "a sum of money", "310 EUR"),
        }
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// The scale of a hardness. No scale is converted into another: the published
/// tables hold for one material each, and Shore and Rockwell never meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HardnessScale {
    /// Shore A, soft rubber.
    ShoreA,
    /// Shore D, hard rubber and plastics.
    ShoreD,
    /// Rockwell C, hardened steel.
    RockwellC,
    /// Rockwell B, soft steel and brass.
    RockwellB,
    /// Vickers.
    Vickers,
    /// Brinell.
    Brinell,
}

/// A value with what it measures, free of the unit it was written in.
///
/// Values are finite as long as the number they were made from is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// A torque.
    Torque(kind::Torque),
    /// A length.
    Length(kind::Length),
    /// An area.
    Area(kind::Area),
    /// A volume.
    Volume(kind::Volume),
    /// A mass.
    Mass(kind::Mass),
    /// A force.
    Force(kind::Force),
    /// A span of time.
    Time(kind::Time),
    /// A speed.
    Speed(kind::Speed),
    /// A speed of rotation.
    RotationalSpeed(kind::RotationalSpeed),
    /// A current.
    Current(kind::Current),
    /// A charge.
    Charge(kind::Charge),
    /// A voltage.
    Voltage(kind::Voltage),
    /// A resistance.
    Resistance(kind::Resistance),
    /// A capacitance.
    Capacitance(kind::Capacitance),
    /// An inductance.
    Inductance(kind::Inductance),
    /// A power.
    Power(kind::Power),
    /// A pressure.
    Pressure(kind::Pressure),
    /// A temperature.
    Temperature(kind::Temperature),
    /// An angle.
    Angle(kind::Angle),
    /// A flow by volume.
    VolumeFlow(kind::VolumeFlow),
    /// A flow by mass.
    MassFlow(kind::MassFlow),
    /// A share.
    Ratio(kind::Ratio),
    /// A hardness, comparable on its own scale only.
    Hardness {
        /// The reading on the scale.
        value: f64,
        /// The scale.
        scale: HardnessScale,
    },
    /// A sum of money, comparable in its own currency only.
    Money {
        /// Whole units of the currency, with the minor unit as decimals.
        value: f64,
        /// The currency.
        currency: Currency,
    },
}

/// How far two amounts may lie apart and still be the same amount.
///
/// The library's customary factors are rounded to seven significant digits, so
/// a converted amount may be off by half of that last digit: 5e-7 for a factor
/// that begins with 1. No manual prints a figure to that depth.
pub(super) const SAME_CONVERTED: f64 = 5e-7;
/// The same for what is never converted by a rounded factor.
const SAME_EXACT: f64 = 1e-9;

impl Amount {
    /// What is measured.
    pub fn dimension(&self) -> Dimension {
        match self {
            Amount::Torque(_) => Dimension::Torque,
            Amount::Length(_) => Dimension::Length,
            Amount::Area(_) => Dimension::Area,
            Amount::Volume(_) => Dimension::Volume,
            Amount::Mass(_) => Dimension::Mass,
            Amount::Force(_) => Dimension::Force,
            Amount::Time(_) => Dimension::Time,
            Amount::Speed(_) => Dimension::Speed,
            Amount::RotationalSpeed(_) => Dimension::RotationalSpeed,
            Amount::Current(_) => Dimension::Current,
            Amount::Charge(_) => Dimension::Charge,
            Amount::Voltage(_) => Dimension::Voltage,
            Amount::Resistance(_) => Dimension::Resistance,
            Amount::Capacitance(_) => Dimension::Capacitance,
            Amount::Inductance(_) => Dimension::Inductance,
            Amount::Power(_) => Dimension::Power,
            Amount::Pressure(_) => Dimension::Pressure,
            Amount::Temperature(_) => Dimension::Temperature,
            Amount::Angle(_) => Dimension::Angle,
            Amount::VolumeFlow(_) => Dimension::VolumeFlow,
            Amount::MassFlow(_) => Dimension::MassFlow,
            Amount::Ratio(_) => Dimension::Ratio,
            Amount::Hardness { .. } => Dimension::Hardness,
            Amount::Money { .. } => Dimension::Money,
        }
    }

    /// Which of the two is more.
    ///
    /// Amounts closer than the rounding of the conversion factors (5 parts in
    /// ten million) are equal, so that `1 in` is `25.4 mm` and `16 oz` is
    /// `1 lb`; temperatures, hardness and money, whose conversion is exact or
    /// absent, are held to 1 part in a thousand million. `None` for another
    /// dimension, hardness scale or currency.
    pub fn compare(&self, other: &Amount) -> Option<Ordering> {
        match (self, other) {
            (Amount::Hardness { scale: a, .. }, Amount::Hardness { scale: b, .. }) if a != b => {
                return None;
            }
            (Amount::Money { currency: a, .. }, Amount::Money { currency: b, .. }) if a != b => {
                return None;
            }
            _ if self.dimension() != other.dimension() => return None,
            _ => {}
        }
        let (a, b) = (self.base(), other.base());
        let same = match self.dimension() {
            Dimension::Temperature | Dimension::Hardness | Dimension::Money => SAME_EXACT,
            _ => SAME_CONVERTED,
        };
        if a == b || (a - b).abs() <= same * a.abs().max(b.abs()) {
            return Some(Ordering::Equal);
        }
        a.partial_cmp(&b)
    }

    /// Whether this lies between two limits, limits included, by
    /// [`Amount::compare`]. `None` where either can't be compared.
    pub fn within(&self, low: &Amount, high: &Amount) -> Option<bool> {
        Some(self.compare(low)?.is_ge() && self.compare(high)?.is_le())
    }

    /// The number of `unit`s in this amount.
    ///
    /// `None` where the unit measures something else, is of another hardness
    /// scale or currency, or where no number can be given (the gauge of a
    /// cross-section of nothing).
    pub fn in_unit(&self, unit: Unit) -> Option<f64> {
        let value = match unit.0 {
            Entry::Row(row) => (row.read)(self),
            Entry::Money(wanted) => match *self {
                Amount::Money { value, currency } if currency == wanted => Some(value),
                _ => None,
            },
        };
        value.filter(|v| v.is_finite())
    }

    /// This amount as a figure in `unit`; `None` as for [`Amount::in_unit`].
    pub fn figure(&self, unit: Unit) -> Option<Figure> {
        let value = self.in_unit(unit)?;
        Some(Figure { value, unit })
    }

    /// SI base units; the bare value where there are none.
    fn base(&self) -> f64 {
        match self {
            Amount::Torque(q) => q.value,
            Amount::Length(q) => q.value,
            Amount::Area(q) => q.value,
            Amount::Volume(q) => q.value,
            Amount::Mass(q) => q.value,
            Amount::Force(q) => q.value,
            Amount::Time(q) => q.value,
            Amount::Speed(q) => q.value,
            Amount::RotationalSpeed(q) => q.value,
            Amount::Current(q) => q.value,
            Amount::Charge(q) => q.value,
            Amount::Voltage(q) => q.value,
            Amount::Resistance(q) => q.value,
            Amount::Capacitance(q) => q.value,
            Amount::Inductance(q) => q.value,
            Amount::Power(q) => q.value,
            Amount::Pressure(q) => q.value,
            Amount::Temperature(q) => q.value,
            Amount::Angle(q) => q.value,
            Amount::VolumeFlow(q) => q.value,
            Amount::MassFlow(q) => q.value,
            Amount::Ratio(q) => q.value,
            Amount::Hardness { value, .. } | Amount::Money { value, .. } => *value,
        }
    }
}

/// A number with its unit: the result of a conversion, ready to be printed.
///
/// Printed to four significant digits, whole digits never cut, trailing zeros
/// dropped; money to the currency's own decimals. A precision in the format
/// (`{:.1}`) overrides that. A wire gauge prints as it is marked (`2/0 AWG`)
/// where it is a whole gauge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// How many units.
    pub value: f64,
    /// The unit.
    pub unit: Unit,
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let whole = self.value.round();
        let number = match (f.precision(), self.unit.0) {
            (Some(places), _) => format!("{:.places$}", self.value),
            (None, Entry::Money(currency)) => {
                let places = usize::from(currency.exponent().unwrap_or(2));
                format!("{:.places$}", self.value)
            }
            (None, Entry::Row(_))
                if self.unit.is_gauge()
                    && (self.value - whole).abs() < 0.005
                    && (-3.0..=0.0).contains(&whole) =>
            {
                format!("{}/0", 1.0 - whole)
            }
            (None, Entry::Row(_)) => four_digits(self.value),
        };
        let number = match number.strip_prefix('-') {
            Some(digits) if digits.chars().all(|c| c == '0' || c == '.') => digits,
            _ => &number,
        };
        write!(f, "{number} {}", self.unit)
    }
}

fn four_digits(value: f64) -> String {
    let magnitude = value.abs().log10().floor();
    let places = (3.0 - magnitude).clamp(0.0, 15.0) as usize;
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A unit: a small copyable handle to one line of the table, or a currency.
#[derive(Clone, Copy)]
pub struct Unit(Entry);

#[derive(Clone, Copy)]
enum Entry {
    Row(&'static Row),
    Money(Currency),
}

impl Unit {
    /// Reads a unit as it is written at the bench.
    ///
    /// Both micro signs, both ohm signs, raised `²` and `³`, and the several
    /// dots and hyphens are taken as one. Capitals count in symbols (`mW` and
    /// `MW`), not in words and customary abbreviations (`RPM`, `Psi`).
    /// Currencies are the ISO 4217 codes in capitals.
    ///
    /// # Errors
    ///
    /// [`UnitError::Ambiguous`] for a spelling that stands for several units,
    /// [`UnitError::Unknown`] for any other text.
    pub fn read(text: &str) -> Result<Unit, UnitError> {
        let plain = plain(text);
        if let Some(row) = TABLE.iter().find(|row| row.is_written(&plain)) {
            return Ok(Unit(Entry::Row(row)));
        }
        if let Some((_, could_be)) = AMBIGUOUS
            .iter()
            .find(|(spellings, _)| spellings.iter().any(|s| same_letters(s, &plain)))
        {
            return Err(UnitError::Ambiguous {
                written: text.trim().to_owned(),
                could_be,
            });
        }
        if let Some(currency) = currency(&plain) {
            return Ok(Unit(Entry::Money(currency)));
        }
        Err(UnitError::Unknown {
            written: text.trim().to_owned(),
            nearest: nearest(&plain),
        })
    }

    /// Every unit but the currencies, by dimension.
    pub fn all() -> impl Iterator<Item = Unit> {
        TABLE.iter().map(|row| Unit(Entry::Row(row)))
    }

    /// The name under which the unit is printed; it is read back as itself.
    pub fn name(self) -> &'static str {
        match self.0 {
            Entry::Row(row) => row.name,
            Entry::Money(currency) => currency.code(),
        }
    }

    /// Every spelling, the name first. Of a product of two units all the ways
    /// to join them are given.
    pub fn spellings(self) -> Vec<String> {
        let row = match self.0 {
            Entry::Row(row) => row,
            Entry::Money(currency) => return vec![currency.code().to_owned()],
        };
        let mut all = vec![row.name.to_owned()];
        let single = row.exact.iter().chain(row.words).map(|s| (*s).to_owned());
        let joined = row
            .products
            .iter()
            .chain(row.word_products)
            .flat_map(|p| JOINS.iter().map(|join| p.replace('·', join)));
        for spelling in single.chain(joined) {
            if !all.contains(&spelling) {
                all.push(spelling);
            }
        }
        all
    }

    /// What the unit measures.
    pub fn dimension(self) -> Dimension {
        match self.0 {
            Entry::Row(row) => row.dimension,
            Entry::Money(_) => Dimension::Money,
        }
    }

    /// The amount of `value` of these units.
    ///
    /// Wire gauges are numbered downward past 0, as in ASTM B258: 1/0 is 0,
    /// 2/0 is -1, 4/0 is -3.
    pub fn amount(self, value: f64) -> Amount {
        match self.0 {
            Entry::Row(row) => (row.make)(value),
            Entry::Money(currency) => Amount::Money { value, currency },
        }
    }

    /// Whether this is the wire gauge, whose numbers fall as the wire grows
    /// and can't be added or shared out.
    pub fn is_gauge(self) -> bool {
        self.name() == GAUGE
    }
}

impl PartialEq for Unit {
    fn eq(&self, other: &Unit) -> bool {
        self.name() == other.name()
    }
}

impl Eq for Unit {}

impl Hash for Unit {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.name().hash(state);
    }
}

impl fmt::Debug for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Unit({})", self.name())
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// Why a text is not a unit.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum UnitError {
    /// No unit has this spelling.
    #[error("`{written}` is not a unit that is known here{}", did_you_mean(.nearest))]
    Unknown {
        /// The text as written.
        written: String,
        /// Names of the units that differ in capitals or punctuation only.
        nearest: Vec<String>,
    },
    /// The spelling stands for several units.
    #[error("`{written}` can be read in more than one way; write {}", one_of(.could_be))]
    Ambiguous {
        /// The text as written.
        written: String,
        /// What to write instead, one for each meaning.
        could_be: &'static [&'static str],
    },
}

impl UnitError {
    /// The spelling to write instead, where there is only one.
    pub fn suggestion(&self) -> Option<String> {
        match self {
            UnitError::Unknown { nearest, .. } => match nearest.as_slice() {
                [only] => Some(only.clone()),
                _ => None,
            },
            UnitError::Ambiguous { could_be, .. } => match could_be {
                [only] => Some((*only).to_owned()),
                _ => None,
            },
        }
    }
}

pub(super) fn did_you_mean(nearest: &[String]) -> String {
    if nearest.is_empty() {
        "; write one such as `N·m`, `mm` or `degC`".to_owned()
    } else {
        format!("; did you mean {}?", one_of(nearest))
    }
}

pub(super) fn one_of<S: AsRef<str>>(spellings: &[S]) -> String {
    let quoted: Vec<String> = spellings
        .iter()
        .map(|s| format!("`{}`", s.as_ref()))
        .collect();
    match quoted.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
        None => String::new(),
    }
}

/// Gauges of ASTM B258: 4/0 is numbered -3, the finest is 56 (the latter from
/// memory).
pub(super) const GAUGES: std::ops::RangeInclusive<f64> = -3.0..=56.0;

const GAUGE: &str = "AWG";

/// One spelling for characters that look alike and mean the same.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            'μ' => out.push('µ'),
            '\u{2126}' => out.push('Ω'),
            'º' | '˚' => out.push('°'),
            '²' => out.push('2'),
            '³' => out.push('3'),
            '″' | '”' => out.push('"'),
            '⋅' | '•' | '∙' | '‧' | '・' => out.push('·'),
            '\u{2010}' | '\u{2011}' | '–' => out.push('-'),
            c if c.is_whitespace() => {
                if !out.ends_with(' ') {
                    out.push(' ');
                }
            }
            c => out.push(c),
        }
    }
    out.replace("^2", "2").replace("^3", "3")
}

/// How the two units of a product are joined; blanks around them are free.
const JOINS: [&str; 5] = ["·", ".", "-", " ", ""];

fn is_product(product: &str, plain: &str, any_case: bool) -> bool {
    let Some((first, second)) = product.split_once('·') else {
        return false;
    };
    let (Some(head), Some(tail_at)) = (
        plain.get(..first.len()),
        plain.len().checked_sub(second.len()),
    ) else {
        return false;
    };
    let Some(tail) = plain.get(tail_at..) else {
        return false;
    };
    // A head and a tail that overlap leave no middle.
    let Some(middle) = plain.get(first.len()..tail_at) else {
        return false;
    };
    let same = |a: &str, b: &str| {
        if any_case { same_letters(a, b) } else { a == b }
    };
    same(first, head) && same(second, tail) && matches!(middle.trim(), "" | "·" | "." | "-" | "*")
}

fn same_letters(a: &str, b: &str) -> bool {
    a.eq_ignore_ascii_case(b)
}

fn currency(code: &str) -> Option<Currency> {
    if code.len() != 3 || !code.bytes().all(|b| b.is_ascii_uppercase()) {
        return None;
    }
    // The special codes are metals, test codes and "no currency".
    Currency::from_code(code).filter(|c| !c.is_special())
}

/// Letters and digits alone, in lower case. A blank before a digit stays: the
/// digit then is no power of the unit before it.
fn squash(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let parted = c == ' ' && chars.peek().is_some_and(char::is_ascii_digit);
        if c.is_alphanumeric() || matches!(c, '°' | '%') || parted {
            out.extend(c.to_lowercase());
        }
    }
    out
}

fn nearest(plain: &str) -> Vec<String> {
    let wanted = squash(plain);
    let mut names: Vec<String> = Vec::new();
    if !wanted.is_empty() {
        names.extend(
            Unit::all()
                .filter(|unit| unit.spellings().iter().any(|s| squash(s) == wanted))
                .map(|unit| unit.name().to_owned()),
        );
    }
    if names.is_empty() {
        let sign = match plain {
            "€" => Some("EUR".to_owned()),
            "£" => Some("GBP".to_owned()),
            _ => currency(&plain.to_ascii_uppercase()).map(|c| c.code().to_owned()),
        };
        names.extend(sign);
    }
    names
}

/// Spellings that stand for several units, and what to write instead.
const AMBIGUOUS: &[(&[&str], &[&str])] = &[
    (&["gal", "gals", "gallon", "gallons"], &["US gal", "UK gal"]),
    (&["qt", "qts", "quart", "quarts"], &["US qt", "UK qt"]),
    (&["pt", "pts", "pint", "pints"], &["US pt", "UK pt"]),
    (&["fl oz", "fl. oz", "fl. oz."], &["US fl oz", "UK fl oz"]),
    // A coulomb and a farad are never what a bench means by these.
    (&["C"], &["degC"]),
    (&["F"], &["degF"]),
    (&["Shore", "Sh"], &["Shore A", "Shore D"]),
    (&["Rockwell", "HR"], &["HRC", "HRB"]),
    (&["$"], &["USD", "CAD", "AUD"]),
];

struct Row {
    name: &'static str,
    dimension: Dimension,
    make: fn(f64) -> Amount,
    read: fn(&Amount) -> Option<f64>,
    /// Spellings in which capitals count.
    exact: &'static [&'static str],
    /// Spellings in any capitals.
    words: &'static [&'static str],
    /// Two units joined by one of [`JOINS`], capitals counting.
    products: &'static [&'static str],
    /// The same in any capitals.
    word_products: &'static [&'static str],
}

impl Row {
    const fn exact(mut self, spellings: &'static [&'static str]) -> Row {
        self.exact = spellings;
        self
    }

    const fn words(mut self, spellings: &'static [&'static str]) -> Row {
        self.words = spellings;
        self
    }

    const fn products(mut self, spellings: &'static [&'static str]) -> Row {
        self.products = spellings;
        self
    }

    const fn word_products(mut self, spellings: &'static [&'static str]) -> Row {
        self.word_products = spellings;
        self
    }

    fn is_written(&self, plain: &str) -> bool {
        self.name == plain
            || self.exact.contains(&plain)
            || self.words.iter().any(|s| same_letters(s, plain))
            || self.products.iter().any(|p| is_product(p, plain, false))
            || self
                .word_products
                .iter()
                .any(|p| is_product(p, plain, true))
    }
}

const fn row(
    name: &'static str,
    dimension: Dimension,
    make: fn(f64) -> Amount,
    read: fn(&Amount) -> Option<f64>,
) -> Row {
    Row {
        name,
        dimension,
        make,
        read,
        exact: &[],
        words: &[],
        products: &[],
        word_products: &[],
    }
}

/// A row whose factor is the library's, times a whole number where the library
/// lacks the multiple.
macro_rules! row {
    ($name:literal, $kind:ident, $module:ident :: $unit:ident) => {
        row!($name, $kind, 1.0, $module::$unit)
    };
    ($name:literal, $kind:ident, $times:expr, $module:ident :: $unit:ident) => {
        row(
            $name,
            Dimension::$kind,
            |v| Amount::$kind(kind::$kind::new::<uom::si::$module::$unit>(v * $times)),
            |a| match a {
                Amount::$kind(q) => Some(q.get::<uom::si::$module::$unit>() / $times),
                _ => None,
            },
        )
    };
}

macro_rules! hardness {
    ($name:literal, $scale:ident) => {
        row(
            $name,
            Dimension::Hardness,
            |value| Amount::Hardness {
                value,
                scale: HardnessScale::$scale,
            },
            |a| match a {
                Amount::Hardness {
                    value,
                    scale: HardnessScale::$scale,
                } => Some(*value),
                _ => None,
            },
        )
    };
}

/// The solid conductor's cross-section: d = 0.005 in · 92^((36 − n)/39),
/// ASTM B258. A strand's own area differs by its maker's lay.
fn gauge_area(gauge: f64) -> Amount {
    let diameter =
        kind::Length::new::<uom::si::length::inch>(0.005 * 92f64.powf((36.0 - gauge) / 39.0));
    Amount::Area(diameter * diameter * (PI / 4.0))
}

fn area_gauge(amount: &Amount) -> Option<f64> {
    match amount {
        Amount::Area(area) => {
            let square_inches = area.get::<uom::si::area::square_inch>();
            let diameter = (square_inches * 4.0 / PI).sqrt();
            Some(36.0 - 39.0 * (diameter / 0.005).ln() / 92f64.ln())
        }
        _ => None,
    }
}

static TABLE: &[Row] = &[
    row!("N·m", Torque, torque::newton_meter)
        .products(&["N·m"])
        .words(&["newton metre", "newton metres", "newton meters"]),
    row!("cN·m", Torque, torque::centinewton_meter).products(&["cN·m"]),
    row!("N·cm", Torque, torque::newton_centimeter).products(&["N·cm"]),
    row!("daN·m", Torque, torque::decanewton_meter).products(&["daN·m", "m·daN"]),
    row!("lb-ft", Torque, torque::pound_force_foot).word_products(&[
        "lb·ft",
        "lbs·ft",
        "lbf·ft",
        "ft·lb",
        "ft·lbs",
        "ft·lbf",
        "foot·lb",
        "foot·lbs",
        "foot·pound",
        "foot·pounds",
        "pound·foot",
        "pound·feet",
    ]),
    row!("lb-in", Torque, torque::pound_force_inch).word_products(&[
        "lb·in",
        "lbs·in",
        "lbf·in",
        "in·lb",
        "in·lbs",
        "in·lbf",
        "inch·lb",
        "inch·lbs",
        "inch·pound",
        "inch·pounds",
        "pound·inch",
        "pound·inches",
    ]),
    row!("oz-in", Torque, torque::ounce_force_inch)
        .word_products(&["oz·in", "ozf·in", "in·oz", "in·ozf"]),
    row!("kgf·m", Torque, torque::kilogram_force_meter)
        .products(&["kgf·m", "kg·m", "m·kgf", "m·kg", "kp·m", "m·kp"]),
    // 1 kgf·cm = 0.01 kgf·m; the library has no such unit.
    row!("kgf·cm", Torque, 0.01, torque::kilogram_force_meter)
        .products(&["kgf·cm", "kg·cm", "cm·kgf", "cm·kg", "kp·cm", "cm·kp"]),
    row!("mm", Length, length::millimeter).words(&["millimetre", "millimetres"]),
    row!("cm", Length, length::centimeter).words(&["centimetre", "centimetres"]),
    row!("m", Length, length::meter).words(&["metre", "metres", "meter", "meters"]),
    row!("km", Length, length::kilometer).words(&["kilometre", "kilometres"]),
    row!("µm", Length, length::micrometer)
        .exact(&["um"])
        .words(&["micron", "microns"]),
    row!("in", Length, length::inch)
        .exact(&["\""])
        .words(&["in", "in.", "inch", "inches"]),
    row!("ft", Length, length::foot).words(&["ft", "ft.", "foot", "feet"]),
    row!("thou", Length, length::mil).words(&["thou", "mil", "mils"]),
    row!("mi", Length, length::mile).words(&["mi", "mile", "miles"]),
    row!("mm2", Area, area::square_millimeter).words(&["sq mm", "sqmm", "sq. mm"]),
    row!("cm2", Area, area::square_centimeter).words(&["sq cm", "sq. cm"]),
    row!("m2", Area, area::square_meter).words(&["sq m", "sq. m"]),
    row!("in2", Area, area::square_inch).words(&["sq in", "sq. in", "sq. in."]),
    row!("kcmil", Area, 1000.0, area::circular_mil).words(&["kcmil", "MCM"]),
    row("AWG", Dimension::Area, gauge_area, area_gauge).words(&["AWG"]),
    row!("l", Volume, volume::liter)
        .exact(&["L"])
        .words(&["litre", "litres", "liter", "liters"]),
    row!("ml", Volume, volume::milliliter)
        .exact(&["mL"])
        .words(&["millilitre", "millilitres"]),
    row!("cc", Volume, volume::cubic_centimeter).words(&["cc", "ccm", "cm3", "cu cm"]),
    row!("mm3", Volume, volume::cubic_millimeter).words(&["cu mm"]),
    row!("m3", Volume, volume::cubic_meter).words(&["cu m"]),
    row!("in3", Volume, volume::cubic_inch).words(&["cu in", "cu. in", "cu. in."]),
    row!("US gal", Volume, volume::gallon).words(&["US gal", "US gallon", "US gallons"]),
    row!("UK gal", Volume, volume::gallon_imperial).words(&[
        "UK gal",
        "UK gallon",
        "UK gallons",
        "imp gal",
        "imp. gal",
        "imperial gallon",
        "imperial gallons",
    ]),
    row!("US qt", Volume, volume::quart_liquid).words(&["US qt", "US quart", "US quarts"]),
    // Four quarts and eight pints to the imperial gallon; the library has neither.
    row!("UK qt", Volume, 0.25, volume::gallon_imperial).words(&[
        "UK qt",
        "UK quart",
        "UK quarts",
        "imp qt",
        "imp. qt",
    ]),
    row!("US pt", Volume, volume::pint_liquid).words(&["US pt", "US pint", "US pints"]),
    row!("UK pt", Volume, 0.125, volume::gallon_imperial)
        .words(&["UK pt", "UK pint", "UK pints", "imp pt", "imp. pt"]),
    row!("US fl oz", Volume, volume::fluid_ounce).words(&["US fl oz", "US fl. oz"]),
    row!("UK fl oz", Volume, volume::fluid_ounce_imperial).words(&[
        "UK fl oz",
        "UK fl. oz",
        "imp fl oz",
    ]),
    row!("mg", Mass, mass::milligram),
    row!("g", Mass, mass::gram).words(&["gram", "grams"]),
    row!("kg", Mass, mass::kilogram).words(&["kg", "kilogram", "kilograms"]),
    row!("lb", Mass, mass::pound).words(&["lb", "lbs", "lb.", "lbs.", "pound", "pounds"]),
    row!("oz", Mass, mass::ounce).words(&["oz", "oz.", "ounce", "ounces"]),
    row!("N", Force, force::newton).words(&["newton", "newtons"]),
    row!("kN", Force, force::kilonewton),
    row!("daN", Force, force::decanewton),
    row!("lbf", Force, force::pound_force).words(&["lbf"]),
    row!("kgf", Force, force::kilogram_force).exact(&["kp"]),
    row!("µs", Time, time::microsecond).exact(&["us"]),
    row!("ms", Time, time::millisecond),
    row!("s", Time, time::second).words(&["sec", "secs", "second", "seconds"]),
    row!("min", Time, time::minute).words(&["min", "mins", "minute", "minutes"]),
    row!("h", Time, time::hour).words(&["hr", "hrs", "hour", "hours"]),
    row!("days", Time, time::day).words(&["day", "days"]),
    row!("weeks", Time, 7.0, time::day).words(&["week", "weeks"]),
    // Lives of rubber and fluids, not the calendar: a year is 365.25 days and
    // a month the twelfth part. The library's year is 365 days.
    row!("months", Time, 365.25 / 12.0, time::day).words(&["month", "months"]),
    row!("years", Time, 365.25, time::day).words(&["year", "years", "yr", "yrs"]),
    row!("km/h", Speed, velocity::kilometer_per_hour).words(&["kph", "kmh"]),
    row!("mph", Speed, velocity::mile_per_hour).words(&["mph", "mi/h"]),
    row!("m/s", Speed, velocity::meter_per_second),
    row!(
        "rpm",
        RotationalSpeed,
        angular_velocity::revolution_per_minute
    )
    .words(&["rpm", "1/min", "r/min", "rev/min"]),
    row!("µA", Current, electric_current::microampere).exact(&["uA"]),
    row!("mA", Current, electric_current::milliampere),
    row!("A", Current, electric_current::ampere).words(&["amp", "amps", "ampere", "amperes"]),
    row!("Ah", Charge, electric_charge::ampere_hour).products(&["A·h"]),
    row!("mAh", Charge, electric_charge::milliampere_hour).products(&["mA·h"]),
    row!("mV", Voltage, electric_potential::millivolt),
    row!("V", Voltage, electric_potential::volt).words(&["volt", "volts"]),
    row!("kV", Voltage, electric_potential::kilovolt),
    row!("mΩ", Resistance, electrical_resistance::milliohm).exact(&["mohm", "mohms"]),
    row!("Ω", Resistance, electrical_resistance::ohm).words(&["ohm", "ohms"]),
    row!("kΩ", Resistance, electrical_resistance::kiloohm).exact(&["kohm", "kohms"]),
    row!("MΩ", Resistance, electrical_resistance::megaohm).exact(&["Mohm", "Mohms"]),
    row!("pF", Capacitance, capacitance::picofarad),
    row!("nF", Capacitance, capacitance::nanofarad),
    row!("µF", Capacitance, capacitance::microfarad).exact(&["uF"]),
    row!("µH", Inductance, inductance::microhenry).exact(&["uH"]),
    row!("mH", Inductance, inductance::millihenry),
    row!("H", Inductance, inductance::henry),
    row!("mW", Power, power::milliwatt),
    row!("W", Power, power::watt).words(&["watt", "watts"]),
    row!("kW", Power, power::kilowatt),
    row!("MW", Power, power::megawatt),
    // The mechanical horsepower, 550 ft·lbf/s (NIST SP 811 Appendix B.8).
    row!("hp", Power, power::horsepower).words(&["hp", "horsepower"]),
    // The metric horsepower, 75 kgf·m/s (from memory).
    row!("PS", Power, power::horsepower_metric),
    row!("Pa", Pressure, pressure::pascal),
    row!("hPa", Pressure, pressure::hectopascal),
    row!("kPa", Pressure, pressure::kilopascal),
    row!("MPa", Pressure, pressure::megapascal),
    row!("GPa", Pressure, pressure::gigapascal),
    row!("mbar", Pressure, pressure::millibar),
    row!("bar", Pressure, pressure::bar).words(&["bar", "bars"]),
    row!("psi", Pressure, pressure::psi).words(&["psi", "lb/in2", "lbf/in2"]),
    row!("N/mm2", Pressure, pressure::newton_per_square_millimeter),
    row!("inHg", Pressure, pressure::inch_of_mercury).words(&["in Hg", "inHg", "in. Hg"]),
    row!("mmHg", Pressure, pressure::millimeter_of_mercury).words(&["mm Hg", "mmHg"]),
    row!(
        "kgf/cm2",
        Pressure,
        pressure::kilogram_force_per_square_centimeter
    )
    .exact(&["kg/cm2", "kp/cm2"]),
    row!(
        "degC",
        Temperature,
        thermodynamic_temperature::degree_celsius
    )
    .words(&["°C", "deg C", "degC", "° C", "℃"]),
    row!(
        "degF",
        Temperature,
        thermodynamic_temperature::degree_fahrenheit
    )
    .words(&["°F", "deg F", "degF", "° F", "℉"]),
    row!("K", Temperature, thermodynamic_temperature::kelvin),
    row!("deg", Angle, angle::degree)
        .exact(&["°"])
        .words(&["deg", "degs", "degree", "degrees"]),
    row!("rad", Angle, angle::radian),
    row!("turn", Angle, angle::revolution).words(&["turn", "turns", "rev", "revs"]),
    row!(
        "cc/min",
        VolumeFlow,
        1.0 / 60.0,
        volume_rate::cubic_centimeter_per_second
    )
    .words(&["cc/min", "cm3/min"])
    .exact(&["ml/min", "mL/min"]),
    row!("cc/s", VolumeFlow, volume_rate::cubic_centimeter_per_second)
        .words(&["cc/s", "cc/sec", "cm3/s"])
        .exact(&["ml/s", "mL/s"]),
    row!("l/min", VolumeFlow, volume_rate::liter_per_minute).words(&["l/min", "lpm"]),
    row!("l/h", VolumeFlow, 0.001, volume_rate::cubic_meter_per_hour).words(&["l/h", "l/hr"]),
    row!("m3/h", VolumeFlow, volume_rate::cubic_meter_per_hour).words(&["m3/h", "m3/hr"]),
    row!("g/s", MassFlow, mass_rate::gram_per_second),
    row!("g/min", MassFlow, mass_rate::gram_per_minute),
    row!("kg/h", MassFlow, mass_rate::kilogram_per_hour).exact(&["kg/hr"]),
    row!("lb/h", MassFlow, mass_rate::pound_per_hour).words(&["lb/h", "lb/hr", "lbs/hr"]),
    row!("%", Ratio, ratio::percent).words(&["percent", "per cent"]),
    hardness!("Shore A", ShoreA).words(&["Shore A", "ShA", "Sh A"]),
    hardness!("Shore D", ShoreD).words(&["Shore D", "ShD", "Sh D"]),
    hardness!("HRC", RockwellC),
    hardness!("HRB", RockwellB),
    hardness!("HV", Vickers),
    // HBW is Brinell with the carbide ball, the only one still in use (from
    // memory).
    hardness!("HB", Brinell).exact(&["HBW"]),
];

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(text: &str) -> Unit {
        Unit::read(text).unwrap_or_else(|e| panic!("{text}: {e}"))
    }

    fn convert(value: f64, from: &str, to: &str) -> f64 {
        unit(from)
            .amount(value)
            .in_unit(unit(to))
            .unwrap_or_else(|| panic!("{from} to {to}"))
    }

    #[test]
    fn every_spelling_is_read_as_its_own_unit_alone() {
        for unit in Unit::all() {
            assert_eq!(unit.spellings()[0], unit.name());
            for spelling in unit.spellings() {
                let read = Unit::read(&spelling).expect(&spelling);
                assert_eq!(read, unit, "{spelling}");
                assert_eq!(read.dimension(), unit.dimension(), "{spelling}");
                let plain = plain(&spelling);
                let rows = TABLE.iter().filter(|row| row.is_written(&plain));
                assert_eq!(rows.count(), 1, "{spelling} is written in two rows");
            }
        }
    }

    #[test]
    fn every_dimension_has_a_name_an_example_and_a_unit() {
        for dimension in Dimension::ALL {
            let kebab = dimension.name().replace(' ', "-");
            assert_eq!(Dimension::from_name(&kebab), Some(dimension));
            let (_, written) = dimension.example().split_once(' ').expect("a blank");
            assert_eq!(unit(written).dimension(), dimension);
        }
        assert_eq!(Dimension::from_name("area"), Some(Dimension::Area));
        assert_eq!(
            Dimension::from_name("rotational-speed"),
            Some(Dimension::RotationalSpeed)
        );
        assert_eq!(Dimension::from_name("rotational speed"), None);
    }

    #[test]
    fn the_spellings_of_the_bench() {
        for (name, spellings) in [
            (
                "N·m",
                "N·m|Nm|N.m|N m|N-m|N · m|N - m|N⋅m|newton metres".to_owned(),
            ),
            (
                "lb-ft",
                "lb-ft|lb·ft|lb ft|lb.ft|lbf-ft|lbf·ft|lbf ft|ft-lb|ft·lb|ft lb|ft-lbf|ft-lbs|ftlb|LB-FT|Ft-Lbs|foot-pounds|lb–ft".to_owned(),
            ),
            (
                "lb-in",
                "lb-in|in-lb|lbf-in|in-lbf|lb·in|in·lb|in lb|in-lbs|inch-pounds".to_owned(),
            ),
            ("oz-in", "oz-in|in-oz|ozf-in|oz·in".to_owned()),
            ("kgf·m", "kgf·m|kgf-m|kgf m|kg-m|kg·m|kgm|m-kg|mkg|mkp".to_owned()),
            ("kgf·cm", "kgf·cm|kg-cm|kgf-cm|kg·cm|cm-kg".to_owned()),
            ("cN·m", "cN·m|cNm|cN-m".to_owned()),
            ("daN·m", "daN·m|daNm|m·daN|m.daN".to_owned()),
            ("µm", "µm|μm|um".to_owned()),
            ("in", "in|in.|inch|inches|\"|″|IN".to_owned()),
            ("ft", "ft|foot|feet".to_owned()),
            ("thou", "thou|mil|mils|Thou".to_owned()),
            ("mi", "mi|mile|miles".to_owned()),
            ("mm2", "mm2|mm²|sq mm|mm^2".to_owned()),
            ("in2", "in2|in²|sq in".to_owned()),
            ("AWG", "AWG|awg".to_owned()),
            ("l", "l|L|litre|litres|liter".to_owned()),
            ("ml", "ml|mL".to_owned()),
            ("cc", "cc|cm3|cm³|CC".to_owned()),
            ("US gal", "US gal|us gal|US gallons".to_owned()),
            ("UK gal", "UK gal|imp gal|Imperial gallons".to_owned()),
            ("kg", "kg|Kg|KG".to_owned()),
            ("lb", "lb|lbs|LB".to_owned()),
            ("h", "h|hr|hour|hours".to_owned()),
            ("months", "month|months".to_owned()),
            ("km/h", "km/h|kph|kmh".to_owned()),
            ("rpm", "rpm|RPM|1/min|r/min".to_owned()),
            ("Ah", "Ah|A·h".to_owned()),
            ("mΩ", "mΩ|m\u{2126}|mohm".to_owned()),
            ("Ω", "Ω|\u{2126}|ohm|ohms|Ohm".to_owned()),
            ("kΩ", "kΩ|kohm".to_owned()),
            ("MΩ", "MΩ|Mohm".to_owned()),
            ("µF", "µF|μF|uF".to_owned()),
            ("hp", "hp|HP".to_owned()),
            ("psi", "psi|PSI|lb/in2|lbf/in²".to_owned()),
            ("N/mm2", "N/mm2|N/mm²".to_owned()),
            ("kgf/cm2", "kgf/cm2|kgf/cm²|kg/cm2".to_owned()),
            ("inHg", "inHg|in Hg".to_owned()),
            ("degC", "degC|°C|deg C|° C|℃".to_owned()),
            ("degF", "degF|°F".to_owned()),
            ("deg", "deg|°|º|degree|degrees".to_owned()),
            ("cc/min", "cc/min|ml/min|cm³/min".to_owned()),
            ("l/min", "l/min|L/min".to_owned()),
            ("m3/h", "m3/h|m³/h".to_owned()),
            ("%", "%|per cent".to_owned()),
            ("Shore A", "Shore A|shore A|ShA".to_owned()),
            ("EUR", "EUR".to_owned()),
        ] {
            for spelling in spellings.split('|') {
                assert_eq!(unit(spelling).name(), name, "{spelling}");
            }
        }
    }

    #[test]
    fn capitals_count_where_they_tell_units_apart() {
        assert_ne!(unit("mW"), unit("MW"));
        assert_ne!(unit("mΩ"), unit("MΩ"));
        assert_eq!(unit("h").dimension(), Dimension::Time);
        assert_eq!(unit("H").dimension(), Dimension::Inductance);
        for (written, instead) in [
            ("NM", Some("N·m")),
            ("nm", Some("N·m")),
            ("KPA", Some("kPa")),
            ("mpa", Some("MPa")),
            ("v", Some("V")),
            ("eur", Some("EUR")),
            ("€", Some("EUR")),
            ("mw", None),
            ("furlong", None),
            ("mm 3", None),
            ("", None),
            ("-", None),
            ("XXX", None),
        ] {
            let error = Unit::read(written).expect_err(written);
            assert!(matches!(error, UnitError::Unknown { .. }), "{written}");
            assert_eq!(error.suggestion().as_deref(), instead, "{written}");
        }
        assert_eq!(
            Unit::read("mw").map_err(|e| e.to_string()),
            Err("`mw` is not a unit that is known here; did you mean `mW` or `MW`?".to_owned())
        );
    }

    #[test]
    fn a_spelling_with_two_meanings_is_refused() {
        for (written, message, instead) in [
            (
                "gal",
                "`gal` can be read in more than one way; write `US gal` or `UK gal`",
                None,
            ),
            (
                "Pints",
                "`Pints` can be read in more than one way; write `US pt` or `UK pt`",
                None,
            ),
            (
                "C",
                "`C` can be read in more than one way; write `degC`",
                Some("degC"),
            ),
        ] {
            let error = Unit::read(written).expect_err(written);
            assert_eq!(error.to_string(), message);
            assert_eq!(error.suggestion().as_deref(), instead);
        }
        for (_, could_be) in AMBIGUOUS {
            for spelling in *could_be {
                assert_eq!(unit(spelling).name(), *spelling);
            }
        }
    }

    /// NIST SP 811 Appendix B.8, quoted from transcriptions; those of the
    /// pound-force, the pound and the derived litres are products of exact
    /// definitions. The library rounds to seven digits, hence 2e-7.
    #[test]
    fn factors_agree_with_the_published_ones() {
        for (from, to, factor) in [
            ("lb-ft", "N·m", 1.355_817_948_331_400_4),
            ("lb-in", "N·m", 0.112_984_829_027_616_7),
            ("oz-in", "N·m", 0.007_061_552),
            ("kgf·m", "N·m", 9.80665),
            ("kgf·cm", "N·m", 0.098_066_5),
            ("daN·m", "N·m", 10.0),
            ("in", "mm", 25.4),
            ("ft", "mm", 304.8),
            ("thou", "mm", 0.0254),
            ("mi", "km", 1.609_344),
            ("in2", "mm2", 645.16),
            ("kcmil", "mm2", 0.506_707_5),
            ("US gal", "l", 3.785_412),
            ("UK gal", "l", 4.546_09),
            ("US qt", "l", 0.946_352_9),
            ("UK pt", "l", 0.568_261_25),
            ("in3", "cc", 16.387_06),
            ("lb", "kg", 0.453_592_37),
            ("oz", "g", 28.349_52),
            ("lbf", "N", 4.448_222),
            ("kgf", "N", 9.80665),
            ("weeks", "h", 168.0),
            ("years", "days", 365.25),
            ("years", "months", 12.0),
            ("mph", "km/h", 1.609_344),
            ("Ah", "mAh", 1000.0),
            ("hp", "W", 745.699_9),
            ("PS", "W", 735.498_8),
            ("psi", "kPa", 6.894_757),
            ("bar", "kPa", 100.0),
            ("inHg", "kPa", 3.386_389),
            ("mmHg", "Pa", 133.322_4),
            ("kgf/cm2", "kPa", 98.0665),
            ("N/mm2", "MPa", 1.0),
            ("turn", "deg", 360.0),
            ("l/min", "cc/min", 1000.0),
            ("l/h", "cc/min", 1000.0 / 60.0),
            ("cc/s", "cc/min", 60.0),
            ("kg/h", "g/min", 1000.0 / 60.0),
            ("g/s", "kg/h", 3.6),
        ] {
            let got = convert(1.0, from, to);
            assert!(
                ((got - factor) / factor).abs() < 2e-7,
                "{from} is {got} {to}, published {factor}"
            );
            let back = convert(got, to, from);
            assert!((back - 1.0).abs() < 1e-12, "{from} there and back: {back}");
        }
    }

    #[test]
    fn temperatures_have_their_offsets() {
        for (value, from, to, expected) in [
            (100.0, "degC", "degF", 212.0),
            (-40.0, "degF", "degC", -40.0),
            (20.0, "degC", "K", 293.15),
        ] {
            assert!((convert(value, from, to) - expected).abs() < 1e-9);
        }
    }

    /// d = 0.005 in · 92^((36 − n)/39), ASTM B258: diameter in mm, area in
    /// mm2 and in circular mils, to the digits given.
    #[test]
    fn gauges_follow_the_published_formula() {
        for (gauge, area, circular_mils) in [
            (-3.0, 107.2193, 211_600.0),
            (-1.0, 67.4309, 133_076.5),
            (0.0, 53.4751, 105_534.5),
            (2.0, 33.6308, 66_371.3),
            (4.0, 21.1506, 41_741.3),
            (6.0, 13.3018, 26_251.4),
            (8.0, 8.3656, 16_509.7),
            (10.0, 5.2612, 10_383.0),
            (12.0, 3.3088, 6_529.9),
            (14.0, 2.0809, 4_106.7),
            (16.0, 1.3087, 2_583.0),
            (18.0, 0.8230, 1_624.3),
            (20.0, 0.5176, 1_021.5),
            (22.0, 0.3255, 642.4),
            (24.0, 0.2047, 404.0),
        ] {
            let got = convert(gauge, "AWG", "mm2");
            assert!((got - area).abs() < 6e-5, "{gauge} AWG: {got} mm2");
            let got = convert(gauge, "AWG", "kcmil") * 1000.0;
            assert!(
                ((got - circular_mils) / circular_mils).abs() < 2e-4,
                "{gauge} AWG: {got} cmil"
            );
            assert!((convert(area, "mm2", "AWG") - gauge).abs() < 2e-3);
        }
        assert_eq!(unit("mm2").amount(0.0).in_unit(unit("AWG")), None);
        assert_eq!(unit("mm2").amount(-1.0).in_unit(unit("AWG")), None);
    }

    #[test]
    fn only_like_amounts_are_compared() {
        let a = unit("N·m").amount(24.0);
        assert_eq!(a.compare(&unit("Nm").amount(24.0)), Some(Ordering::Equal));
        assert_eq!(a.compare(&unit("lb-ft").amount(18.0)), Some(Ordering::Less));
        assert_eq!(a.compare(&unit("mm").amount(24.0)), None);
        assert_eq!(
            unit("in").amount(1.0).compare(&unit("mm").amount(25.4)),
            Some(Ordering::Equal)
        );
        assert_eq!(
            unit("oz").amount(16.0).compare(&unit("lb").amount(1.0)),
            Some(Ordering::Equal)
        );
        let euro = unit("EUR").amount(310.0);
        assert_eq!(euro.compare(&unit("SEK").amount(1.0)), None);
        assert_eq!(
            euro.compare(&unit("EUR").amount(309.99)),
            Some(Ordering::Greater)
        );
        assert_eq!(euro.in_unit(unit("SEK")), None);
        let shore = unit("Shore A").amount(70.0);
        assert_eq!(shore.compare(&unit("Shore D").amount(70.0)), None);
        assert_eq!(shore.in_unit(unit("HRC")), None);
        assert_eq!(
            unit("AWG").amount(18.0).compare(&unit("AWG").amount(22.0)),
            Some(Ordering::Greater)
        );
        let (low, high) = (unit("N·m").amount(5.0), unit("N·m").amount(25.0));
        assert_eq!(a.within(&low, &high), Some(true));
        assert_eq!(high.within(&low, &high), Some(true));
        assert_eq!(euro.within(&low, &high), None);
    }

    #[test]
    fn figures_print_four_digits() {
        for (value, from, to, text) in [
            (46.0, "N·m", "lb-ft", "33.93 lb-ft"),
            (18.0, "lb-ft", "N·m", "24.4 N·m"),
            (1.0, "in", "mm", "25.4 mm"),
            (123_456.7, "mi", "mi", "123457 mi"),
            (0.0, "mm", "in", "0 in"),
            (-0.0, "mm", "in", "0 in"),
            (0.000_4, "mm", "mm", "0.0004 mm"),
            (310.0, "EUR", "EUR", "310.00 EUR"),
            (1200.0, "JPY", "JPY", "1200 JPY"),
            (67.4309, "mm2", "AWG", "2/0 AWG"),
            (53.4751, "mm2", "AWG", "1/0 AWG"),
            (0.823, "mm2", "AWG", "18 AWG"),
        ] {
            let amount = unit(from).amount(value);
            let figure = amount.figure(unit(to)).expect(text);
            assert_eq!(figure.to_string(), text);
        }
        let figure = unit("N·m")
            .amount(46.0)
            .figure(unit("lb-ft"))
            .expect("a torque");
        assert_eq!(format!("{figure:.0}"), "34 lb-ft");
    }
}
