//! A whole bucket at once: each piece to the slot that it came out of.
//!
//! What went out gives the slots: so many of each sort. Any piece may take any slot that it
//! fits within the tolerance, and no other. Of all ways to fill slots those are looked for that
//! place the most pieces; of these, those in which the records leave least of what was measured
//! unsaid; of these, the one whose misfits come to the least. That is a flow of least cost
//! through pieces and sorts, solved by a library (successive shortest paths: R. K. Ahuja, T. L.
//! Magnanti, J. B. Orlin, Network Flows (1993), 9.7). Slots of one sort are one node with a
//! count, so that a thousand alike ones cost no more than one.
//!
//! Where pieces could change places, or one could take a slot that stays empty, with all still
//! within the tolerance and no less stated in all, nothing that was measured tells which is
//! which. Such a piece is matched, and said to be ambiguous.

use std::collections::BTreeMap;

use ac_library::MinCostFlowGraph;
use pathfinding::directed::strongly_connected_components::strongly_connected_components;

use super::fit::{Candidate, Known, weigh};
use super::measure::{Measure, Reading, Tolerances};
use super::parting::{Parting, further};
use super::{NEAREST, Slip};
use crate::folder::Folder;
use crate::model::job::JobKind;
use crate::near;

/// More pieces than this are no bucket.
pub const MOST_PIECES: usize = 10_000;

/// So finely misfits are told apart: the library counts in whole numbers.
const FINE: f64 = 1e6;
/// One reading that a record does not state outweighs all that can be off in the others.
const UNSTATED: i64 = (Measure::ALL.len() as i64 + 1) * FINE as i64;

/// A piece of a bucket.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// What it is called.
    pub label: String,
    /// The line that it was written on, from 1.
    pub line: usize,
    /// What was measured of it.
    pub readings: Vec<Reading>,
    /// What was noted of it.
    pub note: Option<String>,
}

/// What pieces there should be.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Slots {
    /// How many there should be of each sort, by id.
    pub count: BTreeMap<String, u32>,
    /// How many of them are written down as lost.
    pub lost: BTreeMap<String, u32>,
    /// What could not be asked for, and why.
    pub left_out: Vec<String>,
}

impl Slots {
    /// What went out with a job.
    ///
    /// # Errors
    /// When there is no such job, it sends nothing out, or no hardware went with it.
    pub fn of_job(folder: &Folder, id: &str) -> Result<Self, Slip> {
        let bare = id.strip_prefix("jobs/").unwrap_or(id);
        let jobs = &folder.model.job;
        let sends = |id: &str| {
            let job = jobs.get(id);
            job.is_some_and(|job| job.data.kind == Some(JobKind::SendOut))
        };
        let Some(job) = jobs.get(bare) else {
            let known: Vec<&str> = jobs.keys().map(String::as_str).collect();
            let known: Vec<&str> = known.into_iter().filter(|id| sends(id)).collect();
            return Err(Slip::of(
                format!("there is no job `{}`", near::shortened(bare)),
                match known.is_empty() {
                    true => "write the send-out into a file in jobs/ first".to_owned(),
                    false => near::write_one_of(&near::shortened(bare), &known),
                },
            ));
        };
        if !sends(bare) {
            return Err(Slip::of(
                format!("the job `{bare}` is no send-out"),
                "name the send-out that the bucket came back with, or leave `--batch` out to \
                 look among all hardware",
            ));
        }
        let mut slots = Self::default();
        let mut out: BTreeMap<&str, Option<u32>> = BTreeMap::new();
        for line in &job.data.lines {
            let Some(what) = line.what.as_ref().map(|what| what.as_str()) else {
                continue;
            };
            let Some(fastener) = what.strip_prefix("fasteners/") else {
                slots.left_out.push(format!("{what}: it is no fastener"));
                continue;
            };
            if !folder.model.fastener.contains_key(fastener) {
                slots.left_out.push(format!("{what}: it has no record"));
                continue;
            }
            // One line may say how many went, and another what became of them.
            let sum = out.entry(fastener).or_insert(None);
            if let Some(count) = line.out.or(line.count) {
                *sum = Some(sum.unwrap_or(0_u32).saturating_add(count));
            }
            let lost = slots.lost.entry(fastener.to_owned()).or_default();
            *lost = lost.saturating_add(line.lost.unwrap_or(0));
        }
        for (fastener, count) in out {
            match count {
                Some(count) => _ = slots.count.insert(fastener.to_owned(), count),
                None => {
                    let why = "nobody wrote down how many went out";
                    slots.left_out.push(format!("fasteners/{fastener}: {why}"));
                }
            }
        }
        if slots.count.is_empty() {
            return Err(Slip::of(
                format!("no fasteners went out with `{bare}` by its lines"),
                "write a line for each sort, as {what: fasteners/bolt-m8-30, out: 12}",
            ));
        }
        Ok(slots)
    }

    /// All hardware that there is.
    ///
    /// # Errors
    /// When no record says how many there are.
    pub fn of_all(folder: &Folder) -> Result<Self, Slip> {
        let mut slots = Self::default();
        for (id, record) in &folder.model.fastener {
            if let Some(have) = record.data.have {
                slots.count.insert(id.clone(), have);
            }
        }
        if slots.count.is_empty() {
            return Err(Slip::of(
                "no fastener's record says how many there are",
                "write `have` into the records, or name the send-out with `--batch`",
            ));
        }
        Ok(slots)
    }
}

/// What became of a bucket.
#[derive(Debug, Clone)]
pub struct Bucket<'a> {
    /// The pieces that were matched, in the order of their lines.
    pub matched: Vec<Matched<'a>>,
    /// What is missing, by id.
    pub missing: Vec<Missing<'a>>,
    /// The pieces that have no slot, in the order of their lines.
    pub strangers: Vec<Stranger<'a>>,
    /// What all misfits of the matched pieces come to.
    pub misfit: f64,
    /// How many readings the records of the matched pieces do not state.
    pub unstated: usize,
}

/// A piece and the sort that it is of.
#[derive(Debug, Clone)]
pub struct Matched<'a> {
    /// The number of the piece.
    pub piece: usize,
    /// The sort.
    pub id: &'a str,
    /// How far off it is, as a sum of squares in tolerances.
    pub misfit: f64,
    /// How many readings the record does not state.
    pub unstated: usize,
    /// The other sorts that it may as well be of: it is ambiguous where there are any.
    pub or: Vec<&'a str>,
    /// The one further measure that parts these, if one does.
    pub parting: Option<Parting<'a>>,
}

/// Slots that stay empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing<'a> {
    /// The sort.
    pub id: &'a str,
    /// How many are missing.
    pub count: u32,
    /// How many there should be.
    pub of: u32,
    /// How many are written down as lost.
    pub lost: u32,
}

/// A piece that has no slot.
#[derive(Debug, Clone)]
pub struct Stranger<'a> {
    /// The number of the piece.
    pub piece: usize,
    /// Why it has none.
    pub why: Why<'a>,
    /// Hardware beside what was asked for that it fits.
    pub elsewhere: Vec<&'a str>,
}

/// Why a piece has no slot.
#[derive(Debug, Clone)]
pub enum Why<'a> {
    /// It fits nothing that was asked for; the nearest.
    FitsNothing(Option<Box<Candidate<'a>>>),
    /// It fits these, and there are more pieces than slots.
    TooMany(Vec<&'a str>),
}

/// A slot's worth to a piece.
struct Fit {
    sort: usize,
    unstated: usize,
    misfit: f64,
}

impl Fit {
    fn unstated(&self) -> i64 {
        // There are no more readings than measures.
        i64::try_from(self.unstated).unwrap_or_default()
    }

    fn cost(&self) -> i64 {
        // It is a fit, and so at most one for each reading.
        self.unstated() * UNSTATED + (self.misfit * FINE).round() as i64
    }
}

/// Matches the pieces of a bucket to slots.
#[must_use]
pub fn match_bucket<'a>(
    known: &[Known<'a>],
    slots: &Slots,
    pieces: &[Piece],
    tolerances: &Tolerances,
) -> Bucket<'a> {
    let (sorts, others): (Vec<&Known<'a>>, Vec<&Known<'a>>) = known
        .iter()
        .partition(|one| slots.count.contains_key(one.id));
    let counts: Vec<u32> = sorts.iter().map(|one| slots.count[one.id]).collect();
    let fits: Vec<Vec<Fit>> = pieces
        .iter()
        .map(|piece| {
            let all = sorts.iter().enumerate().filter_map(|(sort, one)| {
                let (unstated, misfit) = weigh(one, &piece.readings, tolerances)?;
                Some(Fit {
                    sort,
                    unstated,
                    misfit,
                })
            });
            all.collect()
        })
        .collect();
    let goes = assign(&counts, pieces, &fits);
    let exchanges = Exchanges::of(&counts, &fits, &goes);
    let mut partings = BTreeMap::new();
    let mut bucket = Bucket {
        matched: Vec::new(),
        missing: Vec::new(),
        strangers: Vec::new(),
        misfit: 0.0,
        unstated: 0,
    };
    for (number, piece) in pieces.iter().enumerate() {
        let Some(fit) = goes[number].map(|at| &fits[number][at]) else {
            bucket.strangers.push(stranger(
                number,
                piece,
                (&sorts, &others),
                &fits,
                tolerances,
            ));
            continue;
        };
        let as_well = fits[number]
            .iter()
            .filter(|other| exchanges.allow(fit, other));
        let or: Vec<usize> = as_well.map(|other| other.sort).collect();
        let parting = (!or.is_empty())
            .then(|| {
                let mut among: Vec<usize> = or.iter().copied().chain([fit.sort]).collect();
                among.sort_unstable();
                let taken: Vec<Measure> = piece.readings.iter().map(|one| one.measure).collect();
                let of = || {
                    let among = among.iter().map(|sort| sorts[*sort]);
                    further(&among.collect::<Vec<_>>(), &piece.readings, tolerances)
                };
                partings
                    .entry((among.clone(), taken))
                    .or_insert_with(of)
                    .clone()
            })
            .flatten();
        bucket.misfit += fit.misfit;
        bucket.unstated += fit.unstated;
        bucket.matched.push(Matched {
            piece: number,
            id: sorts[fit.sort].id,
            misfit: fit.misfit,
            unstated: fit.unstated,
            or: or.into_iter().map(|sort| sorts[sort].id).collect(),
            parting,
        });
    }
    let mut filled: BTreeMap<&str, u32> = BTreeMap::new();
    for one in &bucket.matched {
        *filled.entry(one.id).or_default() += 1;
    }
    for (sort, of) in sorts.iter().zip(counts) {
        let count = of - filled.get(sort.id).copied().unwrap_or(0);
        if count > 0 {
            bucket.missing.push(Missing {
                id: sort.id,
                count,
                of,
                lost: slots.lost.get(sort.id).copied().unwrap_or(0),
            });
        }
    }
    bucket
}

/// Which of its fits each piece takes.
fn assign(counts: &[u32], pieces: &[Piece], fits: &[Vec<Fit>]) -> Vec<Option<usize>> {
    // The library settles ties by the order of the pieces: let that not be the order of the
    // lines.
    let mut order: Vec<usize> = (0..pieces.len()).collect();
    order.sort_by_cached_key(|number| {
        let piece = &pieces[*number];
        let mut read: Vec<(Measure, String)> = piece
            .readings
            .iter()
            .map(|one| (one.measure, one.text().to_owned()))
            .collect();
        read.sort();
        (read, piece.label.clone(), piece.line)
    });
    let (source, sink) = (pieces.len() + counts.len(), pieces.len() + counts.len() + 1);
    let mut flow = MinCostFlowGraph::<i64>::new(sink + 1);
    for (sort, count) in counts.iter().enumerate() {
        flow.add_edge(pieces.len() + sort, sink, i64::from(*count), 0);
    }
    let mut edges = Vec::new();
    for (node, number) in order.into_iter().enumerate() {
        flow.add_edge(source, node, 1, 0);
        for (at, fit) in fits[number].iter().enumerate() {
            let edge = flow.add_edge(node, pieces.len() + fit.sort, 1, fit.cost());
            edges.push((edge, number, at));
        }
    }
    flow.flow(source, sink, i64::MAX);
    let mut goes = vec![None; pieces.len()];
    for (edge, number, at) in edges {
        if flow.get_edge(edge).flow > 0 {
            goes[number] = Some(at);
        }
    }
    goes
}

/// Which moves of a piece from one sort to another are part of a row of moves that ends where
/// it began, leaves as many pieces matched, and as much stated.
///
/// A move costs what the record states less of the piece. No row costs less than nothing, or
/// the assignment was not the best. So there is a level for each sort from which no move leads
/// down, and the rows that cost nothing are those along which all moves stay level.
struct Exchanges {
    level: Vec<i64>,
    group: Vec<usize>,
}

impl Exchanges {
    fn of(counts: &[u32], fits: &[Vec<Fit>], goes: &[Option<usize>]) -> Self {
        // An empty slot and a piece without one each close a row of moves.
        let (empty, out) = (counts.len(), counts.len() + 1);
        let mut moves: BTreeMap<(usize, usize), i64> = BTreeMap::new();
        let mut add = |from, to, cost: i64| {
            let least = moves.entry((from, to)).or_insert(cost);
            *least = cost.min(*least);
        };
        let mut filled = vec![0_u32; counts.len()];
        for (all, at) in fits.iter().zip(goes) {
            match at.map(|at| &all[at]) {
                None => {
                    for fit in all {
                        add(out, fit.sort, fit.unstated());
                    }
                }
                Some(here) => {
                    filled[here.sort] += 1;
                    for fit in all.iter().filter(|fit| fit.sort != here.sort) {
                        add(here.sort, fit.sort, fit.unstated() - here.unstated());
                    }
                    add(here.sort, out, -here.unstated());
                    add(empty, here.sort, 0);
                }
            }
        }
        for (sort, count) in counts.iter().enumerate() {
            if filled[sort] < *count {
                add(sort, empty, 0);
            }
        }
        let nodes: Vec<usize> = (0..counts.len() + 2).collect();
        let mut level = vec![0_i64; nodes.len()];
        // With no row that costs less than nothing this ends after as many rounds as there are
        // nodes.
        for _ in &nodes {
            let before = level.clone();
            for ((from, to), cost) in &moves {
                level[*to] = level[*to].min(level[*from] + cost);
            }
            if level == before {
                break;
            }
        }
        let mut stays: Vec<Vec<usize>> = vec![Vec::new(); nodes.len()];
        for ((from, to), cost) in &moves {
            if level[*from] + cost == level[*to] {
                stays[*from].push(*to);
            }
        }
        let mut group = vec![0; nodes.len()];
        let groups = strongly_connected_components(&nodes, |node| stays[*node].clone());
        for (number, nodes) in groups.into_iter().enumerate() {
            for node in nodes {
                group[node] = number;
            }
        }
        Self { level, group }
    }

    /// Whether a piece may as well be elsewhere.
    fn allow(&self, here: &Fit, there: &Fit) -> bool {
        let cost = there.unstated() - here.unstated();
        here.sort != there.sort
            && self.group[here.sort] == self.group[there.sort]
            && self.level[here.sort] + cost == self.level[there.sort]
    }
}

fn stranger<'a>(
    number: usize,
    piece: &Piece,
    (sorts, others): (&[&Known<'a>], &[&Known<'a>]),
    fits: &[Vec<Fit>],
    tolerances: &Tolerances,
) -> Stranger<'a> {
    let candidates = |among: &[&Known<'a>]| -> Vec<Candidate<'a>> {
        let all = among.iter();
        let mut all: Vec<Candidate<'a>> = all
            .map(|one| Candidate::of(one, &piece.readings, tolerances))
            .filter(Candidate::states_any)
            .collect();
        all.sort_by(Candidate::order);
        all
    };
    let why = match fits[number].as_slice() {
        [] => Why::FitsNothing(candidates(sorts).into_iter().next().map(Box::new)),
        some => Why::TooMany(some.iter().map(|fit| sorts[fit.sort].id).collect()),
    };
    let elsewhere = candidates(others).into_iter().filter(Candidate::fits);
    Stranger {
        piece: number,
        why,
        elsewhere: elsewhere.take(NEAREST).map(|one| one.id).collect(),
    }
}
