//! What a mechanic can measure of a piece, and what a record states of the same.

use std::collections::BTreeMap;

use super::{Slip, write_one_of};
use crate::model::common;
use crate::model::fastener::{Fastener, Finish, Form, Head};
use crate::near;
use crate::reckon::class::Class;
use crate::reckon::measure::{Band, Length, in_mm, length_of, mm};
use crate::reckon::quantity::{self, Quantity};
use crate::reckon::thread::Thread;
use crate::reckon::unit::Amount;

/// What a vernier in an owner's hand may be off (common practice, no source).
const VERNIER: f64 = 0.1;
/// What is written in whole millimetres may be off by half of one, whatever the unit: a
/// spanner of one inch fits closer than to half an inch.
const WHOLE: f64 = 0.5;
/// What is written as a fraction of an inch: half of 1/32.
const FRACTION: f64 = 25.4 / 64.0;

/// Something that can be measured or seen of a piece.
///
/// They stand in the order of how easily that is done, and so of what is asked for first
/// where two fit alike: what is seen, what is read, what is measured from outside, what needs
/// a gauge. A coat comes last, as it may have come off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measure {
    /// What form it has.
    Form,
    /// What head it has.
    Head,
    /// Under the head where the head stands proud; of a stud the whole.
    Length,
    /// Across the flats of head or nut.
    AcrossFlats,
    /// How thick a nut or washer is.
    Thickness,
    /// Across the flange, head or washer.
    Outside,
    /// Across the crests of the outer thread.
    Diameter,
    /// The property class or grade as it is marked.
    Class,
    /// The marks on its head.
    HeadMarks,
    /// Across the hole of a washer or spacer.
    Inside,
    /// The threaded part.
    Threaded,
    /// The plain part of the shank.
    Shank,
    /// The thread, by a gauge or by a nut that goes on.
    Thread,
    /// Its coat.
    Finish,
}

impl Measure {
    /// All there are.
    pub const ALL: [Self; 14] = [
        Self::Form,
        Self::Head,
        Self::Length,
        Self::AcrossFlats,
        Self::Thickness,
        Self::Outside,
        Self::Diameter,
        Self::Class,
        Self::HeadMarks,
        Self::Inside,
        Self::Threaded,
        Self::Shank,
        Self::Thread,
        Self::Finish,
    ];

    /// What it is called: `across flats`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Form => "form",
            Self::Head => "head",
            Self::Length => "length",
            Self::AcrossFlats => "across flats",
            Self::Thickness => "thickness",
            Self::Outside => "outside",
            Self::Diameter => "diameter",
            Self::Class => "class",
            Self::HeadMarks => "head marks",
            Self::Inside => "inside",
            Self::Threaded => "threaded",
            Self::Shank => "shank",
            Self::Thread => "thread",
            Self::Finish => "finish",
        }
    }

    /// How it is asked for: `the width across the flats`.
    #[must_use]
    pub fn asked(self) -> &'static str {
        match self {
            Self::Form => "the form",
            Self::Head => "the head",
            Self::Length => "the length",
            Self::AcrossFlats => "the width across the flats",
            Self::Thickness => "the thickness",
            Self::Outside => "the width outside",
            Self::Diameter => "the diameter across the crests of the thread",
            Self::Class => "the class",
            Self::HeadMarks => "the marks on the head",
            Self::Inside => "the width of the hole",
            Self::Threaded => "the length of the threaded part",
            Self::Shank => "the length of the plain shank",
            Self::Thread => "the thread",
            Self::Finish => "the coat",
        }
    }

    /// The measure that a word names, however its parts are joined: `across_flats`.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        let word = word.to_lowercase().replace(['-', '_'], " ");
        let mut word = word.split_whitespace().collect::<Vec<_>>().join(" ");
        if matches!(word.as_str(), "af" | "a f" | "a/f") {
            word = Self::AcrossFlats.word().to_owned();
        }
        Self::ALL.into_iter().find(|one| one.word() == word)
    }

    /// Whether it is a length in millimetres or inches.
    #[must_use]
    pub fn is_figure(self) -> bool {
        !matches!(
            self,
            Self::Form | Self::Head | Self::Class | Self::HeadMarks | Self::Thread | Self::Finish
        )
    }

    /// How far pieces themselves may lie off the figure that their record states, as made,
    /// worn or plated: the flats of an M8 head may be 0.27 mm below 13 mm, a length of 94 mm
    /// 0.7 mm off, the crests of an M8 0.24 mm below 8 mm (grade A of ISO 4759-1 and 6g of
    /// ISO 965, from memory). Wear adds to it.
    fn made(self) -> f64 {
        match self {
            Self::Length => 0.5,
            Self::Threaded | Self::Shank => 1.0,
            _ => 0.3,
        }
    }

    /// Whether a piece of this form can have it at all. What a record states it has, of
    /// course.
    fn is_on(self, form: Option<Form>, head: Option<Head>) -> bool {
        use Measure as M;
        // What is turned from inside, or by nothing, has no flats to measure across.
        let inside = matches!(
            head,
            Some(
                Head::Socket
                    | Head::LowSocket
                    | Head::SixLobe
                    | Head::Cross
                    | Head::Slot
                    | Head::Countersunk
                    | Head::Dome
                    | Head::Headless
            )
        );
        if inside && self == M::AcrossFlats {
            return false;
        }
        let lacks: &[Self] = match form {
            Some(Form::Bolt | Form::Screw | Form::Banjo) => &[M::Thickness, M::Inside],
            Some(Form::Stud) => &[M::AcrossFlats, M::Thickness, M::Outside, M::Inside, M::Head],
            Some(Form::Nut) => &[M::Length, M::Diameter, M::Inside, M::Threaded, M::Shank],
            Some(Form::Washer) => &[
                M::Length,
                M::AcrossFlats,
                M::Thread,
                M::Diameter,
                M::Threaded,
                M::Shank,
                M::Head,
            ],
            Some(Form::Spacer | Form::Pin | Form::Clip) => &[
                M::AcrossFlats,
                M::Thread,
                M::Diameter,
                M::Threaded,
                M::Shank,
                M::Head,
            ],
            Some(Form::Insert) => &[M::AcrossFlats, M::Head, M::Thickness, M::Shank],
            _ => &[],
        };
        !lacks.contains(&self)
    }
}

/// What was measured or seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Of what.
    pub measure: Measure,
    /// What came of it.
    pub taken: Taken,
}

impl Reading {
    /// Whether a vernier would tell more.
    pub(super) fn is_coarse(&self, tolerances: &Tolerances) -> bool {
        let of = |reading| tolerances.of(self.measure, reading);
        matches!(&self.taken, Taken::Figure(figure, _) if of(Some(figure)) > of(None))
    }
}

/// What came of measuring.
#[derive(Debug, Clone, PartialEq)]
pub enum Taken {
    /// A figure as it was written.
    Figure(Quantity, Band<Length>),
    /// A thread.
    Thread(Thread),
    /// A word.
    Word(String),
}

impl Reading {
    /// Takes a reading from how it was written.
    ///
    /// # Errors
    /// When it is none of that measure.
    pub fn read(measure: Measure, written: &str) -> Result<Self, Slip> {
        let taken = match measure {
            Measure::Thread => Taken::Thread(Thread::parse(written).map_err(|error| {
                let remedy = error.suggestion().map(|text| format!("write `{text}`"));
                let remedy = remedy.unwrap_or_else(|| "look at the thread again".to_owned());
                Slip::of(error.to_string(), remedy)
            })?),
            Measure::Form => word_of(written, Form::ALL.iter().map(|one| one.word()), "form")?,
            Measure::Head => word_of(written, Head::ALL.iter().map(|one| one.word()), "head")?,
            Measure::Finish => {
                word_of(written, Finish::ALL.iter().map(|one| one.word()), "finish")?
            }
            Measure::Class | Measure::HeadMarks => match near::plain(written) {
                text if text.is_empty() => {
                    let what = format!("nothing is written for {}", measure.asked());
                    return Err(Slip::of(what, "write what is on it, or leave it out"));
                }
                text => Taken::Word(text),
            },
            _ => of_a_piece(written)?,
        };
        Ok(Self { measure, taken })
    }

    /// It as it was written.
    #[must_use]
    pub fn text(&self) -> &str {
        match &self.taken {
            Taken::Figure(quantity, _) => quantity.text(),
            Taken::Thread(thread) => thread.text(),
            Taken::Word(word) => word,
        }
    }

    /// The figure as it was written, if it is one.
    #[must_use]
    pub fn quantity(&self) -> Option<&Quantity> {
        match &self.taken {
            Taken::Figure(quantity, _) => Some(quantity),
            _ => None,
        }
    }

    /// From its least to its most, if it is a figure.
    #[must_use]
    pub fn figure(&self) -> Option<Band<Length>> {
        match &self.taken {
            Taken::Figure(_, band) => Some(*band),
            _ => None,
        }
    }
}

fn figure(written: &str) -> Result<(Quantity, Band<Length>), Slip> {
    let quantity = Quantity::parse(written).map_err(|error| {
        let remedy = match (error.suggestion(), &error) {
            (Some(text), _) => format!("write `{text}`"),
            (None, quantity::QuantityError::NoUnit { number }) => {
                format!("write `{number} mm`, `{number} in` or `{number} thou`")
            }
            _ => "write a length as in `94 mm`, `3 11/16 in` or `12 thou`".to_owned(),
        };
        Slip::of(error.to_string(), remedy)
    })?;
    let band = length_of(&quantity).ok_or_else(|| {
        let what = format!(
            "`{written}` is {} and no length",
            quantity.dimension().with_article()
        );
        Slip::of(what, "write a length as in `94 mm`")
    })?;
    Ok((quantity, band))
}

/// A figure that a piece can have.
fn of_a_piece(written: &str) -> Result<Taken, Slip> {
    let (quantity, band) = figure(written)?;
    if band.least <= mm(0.0) {
        let what = format!("`{written}` is no length that a piece can have");
        return Err(Slip::of(what, "measure it again"));
    }
    Ok(Taken::Figure(quantity, band))
}

fn word_of(
    written: &str,
    known: impl Iterator<Item = &'static str>,
    what: &str,
) -> Result<Taken, Slip> {
    let known: Vec<&str> = known.collect();
    let plain = near::plain(written).to_lowercase();
    match known.iter().find(|one| **one == plain) {
        Some(word) => Ok(Taken::Word((*word).to_owned())),
        None => Err(Slip::of(
            format!(
                "`{}` is no {what} that is known here",
                near::shortened(written)
            ),
            write_one_of(&near::shortened(&plain), &known),
        )),
    }
}

/// How far a reading may lie off what a record states and still fit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tolerances {
    all: Option<Length>,
    of: BTreeMap<Measure, Length>,
}

impl Tolerances {
    /// Reads them as they were typed: `1mm` for all, `across flats=0.2mm` for one.
    ///
    /// # Errors
    /// When one is no length, is for no measure, or stands there twice.
    pub fn read<'a>(written: impl IntoIterator<Item = &'a str>) -> Result<Self, Slip> {
        let mut read = Self::default();
        for text in written {
            let (name, width) = match text.split_once('=') {
                Some((name, width)) => (Some(name.trim()), width.trim()),
                None => (None, text.trim()),
            };
            let width = figure(width)?.1;
            if width.most <= mm(0.0) {
                return Err(Slip::of(
                    format!("`{text}` is no tolerance: nothing is measured so exactly"),
                    "write how far a figure may lie off, as in `--tolerance 0.1mm`",
                ));
            }
            let before = match name {
                None => read.all.replace(width.most),
                Some(name) => {
                    let figures = Measure::ALL.into_iter().filter(|one| one.is_figure());
                    let words: Vec<&str> = figures.map(Measure::word).collect();
                    let measure = Measure::named(name).filter(|one| one.is_figure());
                    let measure = measure.ok_or_else(|| {
                        Slip::of(
                            format!("`{}` has no tolerance", near::shortened(name)),
                            write_one_of(&near::shortened(name), &words),
                        )
                    })?;
                    read.of.insert(measure, width.most)
                }
            };
            if before.is_some() {
                let of = name.map_or_else(|| "all".to_owned(), |name| format!("`{name}`"));
                let what = format!("the tolerance of {of} is given twice");
                return Err(Slip::of(what, "give it once"));
            }
        }
        Ok(read)
    }

    /// That of a reading. Where none is given it is what the tool may be off, told by how
    /// finely the figure is written, and what pieces themselves may be off.
    #[must_use]
    pub fn of(&self, measure: Measure, reading: Option<&Quantity>) -> Length {
        let given = self.of.get(&measure).copied().or(self.all);
        given.unwrap_or_else(|| {
            let tool = reading.map_or(VERNIER, tool);
            mm(tool + measure.made())
        })
    }
}

/// What the tool that a figure was read from may be off, in millimetres.
fn tool(reading: &Quantity) -> f64 {
    let printed = match reading.form() {
        quantity::Form::Single(figure) => figure,
        quantity::Form::Range { from, .. } => from,
        quantity::Form::Tolerance { nominal, .. } => nominal,
    };
    let half = match reading.unit().amount(printed.half_last_digit()) {
        Amount::Length(half) => in_mm(half),
        _ => 0.0,
    };
    if half <= 0.0 {
        return FRACTION;
    }
    half.clamp(VERNIER, WHOLE)
}

/// What a record states of one measure.
#[derive(Debug, Clone, PartialEq)]
pub enum Stated<'a> {
    /// A figure, as it is written.
    Figure(&'a str, Band<Length>),
    /// The diameter of a thread.
    Crests(&'a str, Length),
    /// A thread; of a stud there may be two.
    Threads(Vec<Thread>),
    /// A word.
    Word(&'a str),
    /// Nothing, though it may have it.
    Nothing,
    /// Nothing, as no piece of its form has it.
    Never,
}

impl<'a> Stated<'a> {
    /// What a record states.
    #[must_use]
    pub fn of(record: &'a Fastener, measure: Measure) -> Self {
        let length = |of: &'a Option<common::Length>| {
            let of = of.as_ref()?;
            let band = length_of(&of.quantity().ok()?)?;
            Some(Self::Figure(of.as_str(), band))
        };
        let threads = || -> Vec<Thread> {
            let written = [&record.thread, &record.other_end].into_iter().flatten();
            written.filter_map(|one| one.thread().ok()).collect()
        };
        let word = |of: Option<&'a str>| of.map(Self::Word);
        let stated = match measure {
            Measure::Form => word(record.form.map(Form::word)),
            Measure::Head => word(record.head.map(Head::word)),
            Measure::Length => length(&record.length),
            Measure::AcrossFlats => length(&record.across_flats),
            Measure::Thickness => length(&record.thickness),
            Measure::Outside => length(&record.outside),
            Measure::Inside => length(&record.inside),
            Measure::Threaded => length(&record.threaded),
            Measure::Shank => length(&record.shank),
            Measure::Class => word(record.class.as_deref()),
            Measure::HeadMarks => word(record.head_marks.as_deref()),
            Measure::Finish => word(record.finish.map(Finish::word)),
            Measure::Thread => Some(threads())
                .filter(|all| !all.is_empty())
                .map(Self::Threads),
            Measure::Diameter if !measure.is_on(record.form, record.head) => None,
            Measure::Diameter => record.thread.as_ref().and_then(|written| {
                let thread = written.thread().ok()?;
                Some(Self::Crests(written.as_str(), thread.diameter()))
            }),
        };
        stated.unwrap_or_else(|| match measure.is_on(record.form, record.head) {
            true => Self::Nothing,
            false => Self::Never,
        })
    }

    /// It as it is written, if it is stated.
    #[must_use]
    pub fn text(&self) -> Option<String> {
        match self {
            Self::Figure(text, _) | Self::Word(text) => Some((*text).to_owned()),
            Self::Crests(thread, diameter) => Some(format!("{} of {thread}", shown(*diameter))),
            Self::Threads(all) => {
                let texts: Vec<&str> = all.iter().map(Thread::text).collect();
                let twice = all.windows(2).all(|two| two[0].text() == two[1].text());
                Some(texts[..if twice { 1 } else { texts.len() }].join(" and "))
            }
            Self::Nothing | Self::Never => None,
        }
    }

    /// The figure, if it is one.
    #[must_use]
    pub fn band(&self) -> Option<Band<Length>> {
        match self {
            Self::Figure(_, band) => Some(*band),
            Self::Crests(_, diameter) => Some(Band::new(*diameter, *diameter)),
            _ => None,
        }
    }
}

/// A length in millimetres to a hundredth, which is all that a vernier tells.
#[must_use]
pub fn shown(length: Length) -> String {
    format!("{} mm", (in_mm(length) * 100.0).round() / 100.0)
}

/// How far two bands lie apart; nothing where they meet.
pub(super) fn apart(one: Band<Length>, other: Band<Length>) -> Length {
    let gap = (one.least - other.most).max(other.least - one.most);
    gap.max(mm(0.0))
}

/// Whether two words of a measure are the same. A screw is a bolt that is threaded up to its
/// head, and called either at the bench; `Gr 5` is `grade 5`.
pub(super) fn agree(measure: Measure, one: &str, other: &str) -> bool {
    if measure == Measure::Class
        && let (Ok(one), Ok(other)) = (Class::parse(one), Class::parse(other))
    {
        return one == other;
    }
    let plain = |text: &str| -> String {
        let text = text.to_lowercase();
        let text = match measure {
            Measure::Form if text == Form::Screw.word() => Form::Bolt.word(),
            _ => text.as_str(),
        };
        text.split_whitespace().collect()
    };
    plain(one) == plain(other)
}
