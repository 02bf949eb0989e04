//! How far a build has come, in figures: places filled, holes tightened, wires made, jobs
//! done, money paid.
//!
//! A measure is there only where the build has what it counts. What can't be read is not
//! counted as missing: a measure of a kind with an unreadable file is left out.

use super::list::{job_state, job_sums, money};
use super::{Money, sums};
use crate::changes::report::Progress;
use crate::folder::Folder;
use crate::model::Kind;
use crate::model::circuit::WireState;
use crate::model::common::{FittedAs, Stage};
use crate::model::decision::DecisionState;
use crate::model::job::{Job, JobKind, JobState};
use crate::present::{Present, Worked, is_away};
use crate::reckon::quantity::Quantity;
use crate::reckon::unit::Unit;

/// One figure of how far a build has come.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Measure {
    /// What is counted: `places filled for good`.
    what: String,
    /// How many, or how much: `12 of 80`.
    figure: String,
    /// Its rank among all there may be.
    rank: usize,
}

/// The kinds that a group of measures is worked out of, and its function.
type Group = (&'static [Kind], fn(Worked<'_>) -> Vec<(String, String)>);

/// All groups, in the order of a page.
const GROUPS: &[Group] = &[
    (&[Kind::Build, Kind::Parts, Kind::Assemblies], on_the_car),
    (&[Kind::Circuits], wires),
    (&[Kind::Jobs], jobs),
    (&[Kind::Clearances], gaps),
    (&[Kind::Decisions], decisions),
    (&[Kind::Jobs], hours),
    (&[Kind::Donors, Kind::Parts, Kind::Jobs], paid),
];

/// The most measures that a group can have; money has one for each currency.
const MOST: usize = 1000;

/// How far it has come between two states: every measure that one of them has, whether it
/// moved or not.
#[must_use]
pub fn between(since: Worked<'_>, until: Worked<'_>) -> Vec<Progress> {
    let both = [since.folder, until.folder];
    let (before, after) = (measures(&both, since), measures(&both, until));
    let key = |one: &Measure| (one.rank / MOST, one.rank % MOST, one.what.clone());
    let mut all: Vec<&Measure> = after.iter().collect();
    let is_new = |one: &&Measure| !after.iter().any(|other| other.what == one.what);
    all.extend(before.iter().filter(is_new));
    all.sort_by_key(|one| key(one));
    let figure = |measures: &[Measure], what: &str| {
        let found = measures.iter().find(|one| one.what == what);
        found.map_or("0".to_owned(), |one| one.figure.clone())
    };
    let all = all.into_iter().map(|one| Progress {
        what: one.what.clone(),
        before: figure(&before, &one.what),
        after: figure(&after, &one.what),
    });
    all.collect()
}

/// The measures of a folder that all of these folders can be read for.
fn measures(all: &[&Folder], one: Worked<'_>) -> Vec<Measure> {
    let is_whole = |kinds: &[Kind]| {
        let mut kinds = kinds.iter();
        kinds.all(|kind| all.iter().all(|folder| folder.is_whole(*kind)))
    };
    let groups = GROUPS.iter().enumerate();
    let groups = groups.filter(|(_, (kinds, _))| is_whole(kinds));
    let measures = groups.flat_map(|(group, (_, of))| {
        let measures = of(one).into_iter().enumerate();
        measures.map(move |(at, (what, figure))| Measure {
            what,
            figure,
            rank: group * MOST + at.min(MOST - 1),
        })
    });
    measures.collect()
}

/// So many of all, under each word; nothing where there are none at all.
fn shares<T: PartialEq>(words: &[(T, &str)], all: &[T]) -> Vec<(String, String)> {
    if all.is_empty() {
        return Vec::new();
    }
    let share = |(word, what): &(T, &str)| {
        let count = all.iter().filter(|one| *one == word).count();
        ((*what).to_owned(), format!("{count} of {}", all.len()))
    };
    words.iter().map(share).collect()
}

/// Places and holes: what is on, and what is tight.
fn on_the_car(of: Worked<'_>) -> Vec<(String, String)> {
    let mut all = places(of.present);
    all.extend(holes(of.present));
    all
}

fn places(present: &Present<'_>) -> Vec<(String, String)> {
    // None for a place that is empty, and must not be.
    let places: Vec<Option<Stage>> = present
        .places
        .iter()
        .filter(|place| !(place.stays.is_empty() && place.record.optional == Some(true)))
        .map(|place| {
            let stays = place.stays.iter().map(|stay| &present.stays[*stay]);
            let count = |stage: Stage| {
                let stays = stays.clone().filter(|stay| stay.stage >= stage);
                stays.fold(0_u32, |sum, stay| sum.saturating_add(stay.count))
            };
            // A place for several is filled when all are on.
            let mut stages = [Stage::Final, Stage::MockUp].into_iter();
            let filled = stages.find(|stage| count(*stage) >= place.room());
            filled.or((!place.stays.is_empty()).then_some(Stage::Bench))
        })
        .collect();
    let words = [
        (Some(Stage::Final), "places filled for good"),
        (Some(Stage::MockUp), "places filled for mock-up"),
        (Some(Stage::Bench), "places planned for, or filled in part"),
        (None, "places empty"),
    ];
    shares(&words, &places)
}

fn holes(present: &Present<'_>) -> Vec<(String, String)> {
    let joints = &present.joints;
    let holes = joints.iter().flat_map(|joint| &joint.holes);
    let holes: Vec<Option<FittedAs>> = holes.map(|hole| hole.tight).collect();
    let words = [
        (Some(FittedAs::Final), "holes tightened for good"),
        (Some(FittedAs::MockUp), "holes tightened for mock-up"),
    ];
    shares(&words, &holes)
}

fn wires(Worked { folder, .. }: Worked<'_>) -> Vec<(String, String)> {
    let circuits = folder.model.circuit.values();
    let wires = circuits.flat_map(|circuit| circuit.data.wires.values());
    let wires: Vec<WireState> = wires
        .map(|wire| wire.state.unwrap_or(WireState::Planned))
        .collect();
    let words = [
        (WireState::Tested, "wires tested"),
        (WireState::Fitted, "wires laid in"),
        (WireState::Crimped, "wires crimped"),
        (WireState::Cut, "wires cut to length"),
        (WireState::Planned, "wires drawn"),
    ];
    shares(&words, &wires)
}

fn jobs(Worked { folder, .. }: Worked<'_>) -> Vec<(String, String)> {
    let jobs = || folder.model.job.values().map(|job| &*job.data);
    let is_away_kind =
        |kind: Option<JobKind>| matches!(kind, Some(JobKind::SendOut | JobKind::Order));
    let own: Vec<bool> = jobs()
        .filter(|job| !is_away_kind(job.kind))
        .map(job_state)
        .filter(|state| *state != JobState::Dropped)
        .map(|state| state == JobState::Done)
        .collect();
    let mut all = shares(&[(true, "jobs done")], &own);
    let mut of = |kind: JobKind, what: &str, count: usize| {
        if jobs().any(|job| job.kind == Some(kind)) {
            all.push((what.to_owned(), count.to_string()));
        }
    };
    let away = jobs().filter(|job| is_away(job)).count();
    of(JobKind::SendOut, "send-outs away", away);
    let orders = jobs().filter(|job| job.kind == Some(JobKind::Order));
    let awaited = orders.filter(|job| {
        let is_out = job.ordered.is_some() && job.arrived.is_none();
        is_out && !matches!(job_state(job), JobState::Done | JobState::Dropped)
    });
    let awaited = awaited.count();
    of(JobKind::Order, "orders awaited", awaited);
    all
}

fn gaps(Worked { folder, .. }: Worked<'_>) -> Vec<(String, String)> {
    let gaps = folder.model.clearance.values();
    let gaps: Vec<bool> = gaps.map(|gap| !gap.data.readings.is_empty()).collect();
    shares(&[(true, "gaps measured")], &gaps)
}

fn decisions(Worked { folder, .. }: Worked<'_>) -> Vec<(String, String)> {
    let decisions = folder.model.decision.values().map(|one| &one.data);
    let decisions: Vec<bool> = decisions
        .filter(|one| one.state != Some(DecisionState::Withdrawn))
        .map(|one| one.is_made())
        .collect();
    shares(&[(true, "decisions made")], &decisions)
}

fn hours(Worked { folder, .. }: Worked<'_>) -> Vec<(String, String)> {
    let Ok(hour) = Unit::read("h") else {
        return Vec::new();
    };
    let jobs = folder.model.job.values();
    let spent = jobs.flat_map(|job| &job.data.spent);
    let spent = spent.filter_map(|spent| {
        let time = Quantity::parse(spent.for_.as_ref()?.as_str()).ok()?;
        time.nominal().in_unit(hour)
    });
    let spent: Vec<f64> = spent.collect();
    if spent.is_empty() {
        return Vec::new();
    }
    // To the minute: a third of an hour thrice is an hour.
    let hours = (spent.iter().sum::<f64>() * 60.0).round() / 60.0;
    let figure = hour.amount(hours).figure(hour);
    let figure = figure.map(|figure| figure.to_string());
    let figure = figure.unwrap_or_else(|| "too many to add up".to_owned());
    vec![("time spent".to_owned(), figure)]
}

/// The prices of donors, of pieces, and of jobs that are under way or done; what came with
/// an order that states its own is not counted twice.
fn paid(Worked { folder, .. }: Worked<'_>) -> Vec<(String, String)> {
    let model = &folder.model;
    // What is only thought of is not paid, nor what is not to be done any more.
    let of_job = |job: &Job| match job_state(job) {
        JobState::Open | JobState::Dropped => Vec::new(),
        JobState::HalfDone | JobState::Waiting | JobState::Done => job_sums(job),
    };
    let of_jobs = |id: &str| {
        let job = model.job.get(id);
        job.map(|job| of_job(&job.data)).unwrap_or_default()
    };
    let donors = model.donor.values();
    let donors = donors.filter_map(|donor| money(donor.data.price.as_ref()?));
    let parts = model.part.values();
    let pieces = parts.flat_map(|part| part.data.pieces.values());
    let pieces = pieces.filter_map(|piece| {
        let bought = piece.bought.as_ref()?;
        let order = bought.order.as_ref().map(|order| of_jobs(order.as_str()));
        let price = bought
            .price
            .as_ref()
            .filter(|_| order.is_none_or(|sums| sums.is_empty()))?;
        money(price)
    });
    let jobs = model.job.values().flat_map(|job| of_job(&job.data));
    let all: Vec<Money> = sums(donors.chain(pieces).chain(jobs));
    let all = all.iter().map(|sum| {
        let what = format!("paid, in {}", sum.currency);
        (what, sum.amount())
    });
    all.collect()
}
