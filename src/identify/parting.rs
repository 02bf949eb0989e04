//! The one further measure that parts what fits alike.

use super::fit::{Known, SAME};
use super::measure::{Measure, Reading, Stated, Tolerances, agree, apart};
use crate::reckon::measure::mm;

/// A measure that parts what fits alike, and what each states of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parting<'a> {
    /// What to measure.
    pub measure: Measure,
    /// Whether it was measured already, only not as finely as a vernier does.
    pub again: bool,
    /// What each states, by id; none where one does not.
    pub says: Vec<(&'a str, Option<String>)>,
    /// Whether it parts each from every other.
    pub all: bool,
}

/// The measure that parts most of them; of equals one that was not taken yet before one that
/// was taken coarsely, and the one that is taken most easily. None where nothing that is
/// written parts any two.
#[must_use]
pub fn further<'a>(
    among: &[&Known<'a>],
    taken: &[Reading],
    tolerances: &Tolerances,
) -> Option<Parting<'a>> {
    let open = |measure: &Measure| !taken.iter().any(|one| one.measure == *measure);
    let coarse = |measure: &Measure| {
        let mut readings = taken.iter().filter(|one| one.measure == *measure);
        readings.any(|one| one.is_coarse(tolerances))
    };
    let all = Measure::ALL.into_iter();
    let open = all.clone().filter(open).chain(all.filter(coarse));
    let parts = |measure: Measure| {
        let pairs = among.iter().enumerate().flat_map(|(number, one)| {
            let others = among[number + 1..].iter();
            others.map(|other| (one.states(measure), other.states(measure)))
        });
        pairs
            .filter(|(one, other)| differ(measure, one, other, tolerances))
            .count()
    };
    let mut best: Option<(usize, Measure)> = None;
    for measure in open {
        let count = parts(measure);
        if count > best.map_or(0, |(count, _)| count) {
            best = Some((count, measure));
        }
    }
    let (count, measure) = best?;
    let says = among
        .iter()
        .map(|one| (one.id, one.states(measure).text()))
        .collect();
    Some(Parting {
        measure,
        again: taken.iter().any(|one| one.measure == measure),
        says,
        all: count == among.len() * among.len().saturating_sub(1) / 2,
    })
}

/// Whether a reading would surely speak for one of two only.
fn differ(measure: Measure, one: &Stated<'_>, other: &Stated<'_>, tolerances: &Tolerances) -> bool {
    match (one, other) {
        (Stated::Threads(one), Stated::Threads(other)) => {
            let goes = |thread| other.iter().any(|other| other.goes_with(thread));
            !one.iter().any(goes)
        }
        (Stated::Word(one), Stated::Word(other)) => !agree(measure, one, other),
        (one, other) => match (one.band(), other.band()) {
            (Some(one), Some(other)) => apart(one, other) > tolerances.of(measure, None) + mm(SAME),
            _ => false,
        },
    }
}
