//! How well a record fits what was measured.

use std::cmp::Ordering;

use super::measure::{Measure, Reading, Stated, Taken, Tolerances, agree, apart};
use crate::model::fastener::Fastener;
use crate::reckon::measure::{Length, in_mm, mm};

/// Two figures in floating point that are the same on paper, in millimetres.
pub(super) const SAME: f64 = 1e-6;

/// One sort of hardware, with what its record states read once.
#[derive(Debug, Clone)]
pub struct Known<'a> {
    /// Its id.
    pub id: &'a str,
    /// Its record.
    pub record: &'a Fastener,
    states: Vec<Stated<'a>>,
}

impl<'a> Known<'a> {
    /// Reads what a record states.
    #[must_use]
    pub fn of(id: &'a str, record: &'a Fastener) -> Self {
        let states = Measure::ALL.map(|measure| Stated::of(record, measure));
        Self {
            id,
            record,
            states: states.into(),
        }
    }

    /// What it states of a measure.
    #[must_use]
    pub fn states(&self, measure: Measure) -> &Stated<'a> {
        // `ALL` lists them in the order of the enum.
        &self.states[measure as usize]
    }
}

/// What a record has to say to one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Verdict {
    /// It states it, and the reading lies within the tolerance.
    Fits,
    /// It states something else.
    Misses,
    /// It does not state it.
    NotStated,
    /// No piece of its form has it.
    Never,
}

/// One reading beside what a record states.
#[derive(Debug, Clone)]
pub struct Seen<'a> {
    /// Of what.
    pub measure: Measure,
    /// What the record states.
    pub is: Stated<'a>,
    /// What was measured.
    pub reading: Reading,
    /// How the two stand to each other.
    pub verdict: Verdict,
    /// Of a figure that is stated, how far off the reading lies.
    pub off: Option<Length>,
    /// Of a figure, how far off it may lie.
    pub tolerance: Option<Length>,
}

/// A record beside all that was measured.
#[derive(Debug, Clone)]
pub struct Candidate<'a> {
    /// Its id.
    pub id: &'a str,
    /// Its record.
    pub record: &'a Fastener,
    /// Each reading beside it.
    pub seen: Vec<Seen<'a>>,
    /// How many readings it does not state.
    pub unstated: usize,
    /// The sum of the squares of how far each figure is off, in tolerances.
    pub misfit: f64,
}

impl<'a> Candidate<'a> {
    /// Puts a record beside readings.
    #[must_use]
    pub fn of(known: &Known<'a>, readings: &[Reading], tolerances: &Tolerances) -> Self {
        let seen: Vec<Seen<'a>> = readings
            .iter()
            .map(|reading| seen(known, reading, tolerances))
            .collect();
        let not_stated = seen.iter().filter(|one| one.verdict == Verdict::NotStated);
        Self {
            id: known.id,
            record: known.record,
            unstated: not_stated.count(),
            misfit: seen.iter().filter_map(Seen::misfit).sum(),
            seen,
        }
    }

    /// Whether all that it states fits, and it states something.
    #[must_use]
    pub fn fits(&self) -> bool {
        let against = |one: &Seen<'_>| matches!(one.verdict, Verdict::Misses | Verdict::Never);
        self.states_any() && !self.seen.iter().any(against)
    }

    /// Whether it states any of what was measured.
    #[must_use]
    pub fn states_any(&self) -> bool {
        let states = |one: &Seen<'_>| matches!(one.verdict, Verdict::Fits | Verdict::Misses);
        self.seen.iter().any(states)
    }

    /// What misses in a way that no figure says: another thread, another head.
    fn otherwise(&self) -> usize {
        let otherwise = |one: &&Seen<'_>| match one.verdict {
            Verdict::Misses => one.off.is_none(),
            Verdict::Never => true,
            Verdict::Fits | Verdict::NotStated => false,
        };
        self.seen.iter().filter(otherwise).count()
    }

    /// The better one first: what fits, what states more, what is less off.
    #[must_use]
    pub fn order(one: &Self, other: &Self) -> Ordering {
        other
            .fits()
            .cmp(&one.fits())
            .then(one.otherwise().cmp(&other.otherwise()))
            .then(one.unstated.cmp(&other.unstated))
            .then(one.misfit.total_cmp(&other.misfit))
            .then(one.id.cmp(other.id))
    }
}

impl Seen<'_> {
    fn misfit(&self) -> Option<f64> {
        Some(squared(self.off?, self.tolerance?))
    }
}

fn seen<'a>(known: &Known<'a>, reading: &Reading, tolerances: &Tolerances) -> Seen<'a> {
    let (verdict, off, tolerance) = compare(known, reading, tolerances);
    Seen {
        measure: reading.measure,
        is: known.states(reading.measure).clone(),
        reading: reading.clone(),
        verdict,
        off,
        tolerance,
    }
}

fn compare(
    known: &Known<'_>,
    reading: &Reading,
    tolerances: &Tolerances,
) -> (Verdict, Option<Length>, Option<Length>) {
    let measure = reading.measure;
    let tolerance = match &reading.taken {
        Taken::Figure(quantity, _) => Some(tolerances.of(measure, Some(quantity))),
        _ => None,
    };
    let fits = |fits: bool| match fits {
        true => Verdict::Fits,
        false => Verdict::Misses,
    };
    let is = known.states(measure);
    let mut off = None;
    let verdict = match (&reading.taken, is) {
        (_, Stated::Nothing) => Verdict::NotStated,
        (_, Stated::Never) => Verdict::Never,
        (Taken::Thread(taken), Stated::Threads(all)) => {
            fits(all.iter().any(|one| one.goes_with(taken)))
        }
        (Taken::Word(taken), Stated::Word(word)) => fits(agree(measure, taken, word)),
        (Taken::Figure(_, taken), is) => match (is.band(), tolerance) {
            (Some(band), Some(tolerance)) => {
                let lies = apart(*taken, band);
                off = Some(lies);
                fits(lies <= tolerance + mm(SAME))
            }
            _ => Verdict::NotStated,
        },
        _ => Verdict::NotStated,
    };
    (verdict, off, tolerance)
}

fn squared(off: Length, tolerance: Length) -> f64 {
    let share = in_mm(off) / in_mm(tolerance);
    share * share
}

/// How many readings a record that fits does not state, and its misfit; none where it does
/// not fit. [`Candidate`] tells the same with all that is to be shown of it.
#[must_use]
pub fn weigh(
    known: &Known<'_>,
    readings: &[Reading],
    tolerances: &Tolerances,
) -> Option<(usize, f64)> {
    let (mut states, mut unstated, mut misfit) = (false, 0, 0.0);
    for reading in readings {
        match compare(known, reading, tolerances) {
            (Verdict::Misses | Verdict::Never, ..) => return None,
            (Verdict::NotStated, ..) => unstated += 1,
            (Verdict::Fits, Some(off), Some(tolerance)) => {
                states = true;
                misfit += squared(off, tolerance);
            }
            (Verdict::Fits, ..) => states = true,
        }
    }
    states.then_some((unstated, misfit))
}
