//! Whether a piece may hold debris from an engine that failed inside.

use super::Piece;
use crate::model::Model;
use crate::model::common::Newness;
use crate::model::donor::Donor;
use crate::model::job::{JobKind, Process};
use crate::model::part::{Carries, TreatmentKind};

/// Why a piece may hold debris.
#[derive(Debug, Clone, Copy)]
pub struct Uncleaned<'a> {
    /// The id of the donor that failed inside.
    pub donor: &'a str,
    /// Its record.
    pub record: &'a Donor,
    /// What runs through the piece.
    pub carries: Carries,
}

/// Whether intake air or oil runs through a piece, it is from a donor that failed inside,
/// and nothing says that it was cleaned since. A piece that was worked over was cleaned.
#[must_use]
pub fn uncleaned<'a>(model: &'a Model, piece: &Piece<'_>) -> Option<Uncleaned<'a>> {
    let carries = piece.of.carries?;
    if !matches!(carries, Carries::IntakeAir | Carries::Oil) {
        return None;
    }
    let donor = piece.record.donor.as_ref()?;
    let (donor, record) = model.donor.get_key_value(donor.as_str())?;
    let cleaned = piece.record.treated.iter().any(|one| {
        matches!(
            one.what,
            Some(TreatmentKind::Cleaned | TreatmentKind::Overhauled)
        )
    });
    let remade = piece.record.newness == Some(Newness::Remanufactured);
    if record.data.failed_inside != Some(true) || cleaned || remade || was_sent(model, piece) {
        return None;
    }
    Some(Uncleaned {
        donor,
        record: &record.data,
        carries,
    })
}

/// Whether it came back from a send-out that cleans what it works on.
fn was_sent(model: &Model, piece: &Piece<'_>) -> bool {
    let name = format!("parts/{}", piece.name());
    model.job.values().map(|job| &job.data).any(|job| {
        let cleans = matches!(
            job.process,
            Some(Process::HotTank | Process::Ultrasonic | Process::Overhaul)
        );
        let mut lines = job.lines.iter();
        let came_back = job.came_back.is_some() || job.closed.is_some();
        job.kind == Some(JobKind::SendOut)
            && cleans
            && lines.any(|line| {
                let named = line.what.as_ref().is_some_and(|what| what.as_str() == name);
                named && line.back.map_or(came_back, |back| back > 0)
            })
    })
}
