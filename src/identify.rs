//! Which hardware it is, by what was measured of it: one piece, or a whole bucket.
//!
//! A reading fits a record where the two lie no further apart than the tolerance of that
//! measure. What a record does not state neither fits nor speaks against it, and ranks below
//! one that states it and fits. How far apart they lie is scaled by the tolerance and squared,
//! so that a little in each of two measures counts less than much in one; the sum is the
//! misfit. Whatever lies within the tolerance may be the piece: two that fit are told apart by
//! one more measure, never by which of them fits a little better.
//!
//! The width across the flats never stands for a thread here: each standard gives the same
//! width to another one. Nothing is looked up for a reading but what the records state.

mod bucket;
mod fit;
mod lies;
mod measure;
mod parting;

use crate::folder::Folder;
use crate::near;
use crate::reckon::heads::{Width, threads_with};
use crate::reckon::measure::mm;

pub use bucket::{
    Bucket, MOST_PIECES, Matched, Missing, Piece, Slots, Stranger, Why, match_bucket,
};
pub use fit::{Candidate, Known, Seen, Verdict};
pub use lies::{Away, Lies, Open, Part, lies, open_holes};
pub use measure::{Measure, Reading, Stated, Taken, Tolerances, shown};
pub use parting::{Parting, further};

/// So many of the nearest are told where nothing fits.
const NEAREST: usize = 3;

/// What was typed or written that can't be taken, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct Slip {
    /// What is wrong, in a sentence.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

impl Slip {
    fn of(what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            remedy: remedy.into(),
        }
    }
}

/// What to write for a word that is not known: the nearest, or else all that are.
#[must_use]
pub fn write_one_of(word: &str, known: &[&str]) -> String {
    match near::nearest(word, known).is_empty() {
        true => format!("known here: {}", known.join(", ")),
        false => near::write_one_of(word, known),
    }
}

/// Which hardware one piece may be.
#[derive(Debug, Clone)]
pub struct Answer<'a> {
    /// What fits all that was measured and that it states, best first.
    pub fits: Vec<Candidate<'a>>,
    /// Where nothing fits: the nearest, best first.
    pub nearest: Vec<Candidate<'a>>,
    /// What fits as well as the best does, the best among it; none where it stands alone.
    pub alike: Vec<&'a str>,
    /// The one further measure that parts these, if one does.
    pub parting: Option<Parting<'a>>,
    /// Whose heads and nuts have the width across the flats that was measured, by standard.
    pub widths: Vec<Width>,
}

/// All hardware of a folder, with what its records state.
#[must_use]
pub fn known(folder: &Folder) -> Vec<Known<'_>> {
    let all = folder.model.fastener.iter();
    all.map(|(id, record)| Known::of(id, &record.data))
        .collect()
}

/// Finds out which hardware a piece may be.
#[must_use]
pub fn identify<'a>(
    known: &[Known<'a>],
    readings: &[Reading],
    tolerances: &Tolerances,
) -> Answer<'a> {
    let mut all: Vec<Candidate<'a>> = known
        .iter()
        .map(|one| Candidate::of(one, readings, tolerances))
        .filter(Candidate::states_any)
        .collect();
    all.sort_by(Candidate::order);
    let (fits, others): (Vec<_>, Vec<_>) = all.into_iter().partition(Candidate::fits);
    let best = fits.first().map(|one| one.unstated);
    let as_well = fits.iter().filter(|one| Some(one.unstated) == best);
    let mut alike: Vec<&'a str> = as_well.map(|one| one.id).collect();
    if alike.len() < 2 {
        alike.clear();
    }
    let parting = {
        let among = known.iter().filter(|one| alike.contains(&one.id));
        further(&among.collect::<Vec<_>>(), readings, tolerances)
    };
    let nearest = match fits.is_empty() {
        true => others.into_iter().take(NEAREST).collect(),
        false => Vec::new(),
    };
    Answer {
        fits,
        nearest,
        alike,
        parting,
        widths: widths(readings, tolerances),
    }
}

fn widths(readings: &[Reading], tolerances: &Tolerances) -> Vec<Width> {
    let flats = readings.iter().filter_map(|one| match &one.taken {
        Taken::Figure(quantity, band) if one.measure == Measure::AcrossFlats => {
            Some((quantity, *band))
        }
        _ => None,
    });
    let of = flats.map(|(quantity, band)| {
        let half = (band.most - band.least) / 2.0;
        let within = half + tolerances.of(Measure::AcrossFlats, Some(quantity));
        threads_with(band.least + half, within + mm(fit::SAME))
    });
    of.flatten().collect()
}
