//! What was sent out: what each line of a send-out names, how many of it went, and how many
//! are accounted for.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::joints::Hardware;
use super::{Piece, Present, date};
use crate::folder::Folder;
use crate::model::common::Condition;
use crate::model::job::{Job, JobKind, JobState, Line, Process};
use crate::model::part::{Part, TreatmentKind};

/// A send-out.
#[derive(Debug, Clone)]
pub struct SendOut<'a> {
    /// The job's id.
    pub id: &'a str,
    /// The job.
    pub job: &'a Job,
    /// Its lines, as they are written.
    pub lines: Vec<SentLine<'a>>,
}

/// A line of a send-out.
#[derive(Debug, Clone, Copy)]
pub struct SentLine<'a> {
    /// Its number in the job.
    pub number: usize,
    /// The line.
    pub record: &'a Line,
    /// What it names, as it is written: `parts/bracket/B1`. Empty where it names nothing.
    pub what: &'a str,
    /// What that is; none where it leads to nothing that can be sent.
    pub thing: Option<Thing<'a>>,
}

/// What a line names.
#[derive(Debug, Clone, Copy)]
pub enum Thing<'a> {
    /// A piece or a lot, by its number.
    Piece(usize),
    /// Pieces of a part that carry no mark.
    Part(&'a Part),
    /// One sort of hardware.
    Fastener(Hardware<'a>),
}

impl<'a> SendOut<'a> {
    /// The things that it sends, each with all lines that name it and with what these come
    /// to, in the order of their first lines. One piece may stand in several lines, for
    /// several works upon it, and is one all the same.
    #[must_use]
    pub fn things<'s>(&'s self, present: &Present<'_>) -> Vec<(Vec<&'s SentLine<'a>>, Counts)> {
        let mut things: BTreeMap<&str, Vec<&'s SentLine<'a>>> = BTreeMap::new();
        for line in self.lines.iter().filter(|line| !line.what.is_empty()) {
            things.entry(line.what).or_default().push(line);
        }
        let mut things: Vec<_> = things.into_values().collect();
        things.sort_by_key(|lines| lines[0].number);
        let total = |lines: &[&SentLine<'a>]| {
            let is_one = lines[0].is_one(present);
            let put = |a: u32, b: u32| match is_one {
                true => a.max(b),
                false => a.saturating_add(b),
            };
            let counts = lines.iter().map(|line| line.counts(present));
            counts.fold(Counts::default(), |sum, one| sum.with(one, put))
        };
        let with_total = |lines: Vec<&'s SentLine<'a>>| {
            let counts = total(&lines);
            (lines, counts)
        };
        things.into_iter().map(with_total).collect()
    }
}

/// How many went and what became of them, of one line or of several that name one thing.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// How many went out; none where nobody wrote it.
    pub out: Option<u32>,
    /// How many came back as they should.
    pub back: Option<u32>,
    /// How many were lost.
    pub lost: Option<u32>,
    /// How many came back unfit.
    pub rejected: Option<u32>,
}

impl Counts {
    /// How many are accounted for; none where nobody has counted.
    #[must_use]
    pub fn accounted(&self) -> Option<u32> {
        [self.back, self.lost, self.rejected]
            .into_iter()
            .flatten()
            .reduce(u32::saturating_add)
    }

    /// How many are still to be accounted for; none where nobody wrote how many went.
    #[must_use]
    pub fn away(&self) -> Option<u32> {
        let accounted = self.accounted().unwrap_or(0);
        Some(self.out?.saturating_sub(accounted))
    }

    /// Those of two lines that name one thing.
    fn with(self, other: Self, put: impl Fn(u32, u32) -> u32) -> Self {
        let both = |a: Option<u32>, b: Option<u32>| match (a, b) {
            (Some(a), Some(b)) => Some(put(a, b)),
            (a, b) => a.or(b),
        };
        Self {
            out: both(self.out, other.out),
            back: both(self.back, other.back),
            lost: both(self.lost, other.lost),
            rejected: both(self.rejected, other.rejected),
        }
    }
}

impl<'a> SentLine<'a> {
    /// What was counted. What went is how many were meant to, unless the line says
    /// otherwise; a piece with a mark is one.
    #[must_use]
    pub fn counts(&self, present: &Present<'_>) -> Counts {
        let line = self.record;
        let one = self.is_one(present).then_some(1);
        Counts {
            out: line.out.or(line.count).or(one),
            back: line.back,
            lost: line.lost,
            rejected: line.rejected,
        }
    }

    /// Whether it names one piece by its mark.
    #[must_use]
    pub fn is_one(&self, present: &Present<'_>) -> bool {
        matches!(self.thing, Some(Thing::Piece(piece)) if present.pieces[piece].count() == 1)
    }

    /// The piece or the lot that it names.
    #[must_use]
    pub fn piece<'p>(&self, present: &'p Present<'a>) -> Option<&'p Piece<'a>> {
        match self.thing {
            Some(Thing::Piece(piece)) => Some(&present.pieces[piece]),
            _ => None,
        }
    }

    /// The part of what it names.
    #[must_use]
    pub fn part(&self, present: &Present<'a>) -> Option<&'a Part> {
        match self.thing {
            Some(Thing::Piece(piece)) => Some(present.pieces[piece].of),
            Some(Thing::Part(part)) => Some(part),
            _ => None,
        }
    }

    /// What it names, as a message calls it.
    #[must_use]
    pub fn name(&self) -> &'a str {
        self.what
            .split_once('/')
            .map_or(self.what, |(_, name)| name)
    }
}

/// All send-outs, by their ids: what `Present` keeps.
pub(super) fn send_outs<'a>(present: &Present<'a>, folder: &'a Folder) -> Vec<SendOut<'a>> {
    let model = &folder.model;
    let thing = |what: &str| {
        if let Some(id) = what.strip_prefix("fasteners/") {
            let (id, record) = present.fasteners.get_key_value(id)?;
            return Some(Thing::Fastener(Hardware { id, record }));
        }
        let name = what.strip_prefix("parts/")?;
        match present.piece_of.get(name) {
            Some(piece) => Some(Thing::Piece(*piece)),
            None => Some(Thing::Part(&model.part.get(name)?.data)),
        }
    };
    let jobs = model.job.iter().map(|(id, job)| (id.as_str(), &job.data));
    jobs.filter(|(_, job)| job.kind == Some(JobKind::SendOut))
        .map(|(id, job)| {
            let lines = job.lines.iter().enumerate().map(|(number, record)| {
                let what = record.what.as_ref().map_or("", |what| what.as_str());
                SentLine {
                    number,
                    record,
                    what,
                    thing: thing(what),
                }
            });
            let lines = lines.collect();
            SendOut { id, job, lines }
        })
        .collect()
}

/// Whether a job is claimed to be over: counted and put away, or done.
#[must_use]
pub fn is_over(job: &Job) -> bool {
    job.closed.is_some() || job.done.is_some() || job.state == Some(JobState::Done)
}

/// Whether what was sent came back, as far as the job as a whole says.
#[must_use]
pub fn is_back(job: &Job) -> bool {
    job.came_back.is_some() || is_over(job)
}

/// The day on which it was back, or by which it was.
#[must_use]
pub fn back_on(job: &Job) -> Option<Date> {
    let days = [&job.came_back, &job.closed, &job.done];
    days.into_iter().flatten().find_map(date)
}

/// Whether a process puts something upon what is sent, be it metal or paint.
#[must_use]
pub fn coats(process: Process) -> bool {
    matches!(
        process,
        Process::Zinc
            | Process::ZincNickel
            | Process::Cadmium
            | Process::Nickel
            | Process::Chrome
            | Process::Phosphate
            | Process::ZincFlake
            | Process::HotDip
            | Process::Anodise
            | Process::PowderCoat
            | Process::Paint
    )
}

/// Whether a piece lies apart: what else is in it may be taken to be out.
#[must_use]
pub fn is_apart(piece: &Piece<'_>) -> bool {
    let treated = piece.record.treated.iter().rev();
    let mut last = treated.filter_map(|one| match one.what {
        Some(TreatmentKind::TakenApart) => Some(true),
        Some(TreatmentKind::PutTogether) => Some(false),
        _ => None,
    });
    last.next().unwrap_or(false)
}

/// Whether a piece is called unfit for use, so that nobody takes it for ready.
#[must_use]
pub fn is_unfit(piece: &Piece<'_>) -> bool {
    matches!(
        piece.record.condition,
        Some(Condition::Scrap | Condition::Repairable | Condition::Unchecked)
    )
}
