//! Where hardware lies, and which holes still want it.

use crate::folder::Folder;
use crate::model::assembly::Holds;
use crate::model::common::{Critical, FastenerRef, FittedAs, Stage};
use crate::present::joints::Hole;
use crate::present::sent::Thing;
use crate::present::{Present, is_away};

/// Where hardware of one sort lies, and how much there is of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lies<'a> {
    /// Where it is kept.
    pub kept_in: Option<&'a str>,
    /// The plating batch that it came back with.
    pub plated_in: Option<&'a str>,
    /// What of it is away.
    pub away: Vec<Away<'a>>,
    /// How many there are.
    pub have: Option<u32>,
    /// How many of them have been used.
    pub used: Option<u32>,
    /// In how many holes it is tight.
    pub in_holes: usize,
}

/// What is away with a send-out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Away<'a> {
    /// The job.
    pub job: &'a str,
    /// How many; none where nobody wrote that down.
    pub count: Option<u32>,
}

/// What hardware is in a hole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// What goes into it.
    In,
    /// The nut that goes on after.
    Nut,
    /// A washer under it.
    Washer,
}

/// A hole that calls for some hardware and is not tight for good.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Open {
    /// The joint, from outside: `engine/bracket`.
    pub joint: String,
    /// What people's safety hangs on there.
    pub critical: Option<Critical>,
    /// The hole in it.
    pub hole: String,
    /// As what.
    pub part: Part,
    /// Whether something is tight in it for now.
    pub for_now: bool,
    /// What it holds other than what belongs there.
    pub holds: Option<Holds>,
}

fn is(of: Option<&FastenerRef>, id: &str) -> bool {
    of.is_some_and(|of| of.as_str() == id)
}

/// Where some hardware lies.
#[must_use]
pub fn lies<'a>(folder: &'a Folder, present: &Present<'a>, id: &str) -> Lies<'a> {
    let Some(record) = folder.model.fastener.get(id) else {
        return Lies::default();
    };
    let record = &record.data;
    let mut away = Vec::new();
    let open = present.send_outs.iter().filter(|sent| is_away(sent.job));
    for sent in open {
        let things = sent.things(present).into_iter();
        let of_it = things.filter(|(lines, _)| {
            matches!(lines[0].thing, Some(Thing::Fastener(fastener)) if fastener.id == id)
        });
        let away_of_it = of_it.map(|(_, counts)| counts.away());
        let some = away_of_it.filter(|count| *count != Some(0));
        away.extend(some.map(|count| Away {
            job: sent.id,
            count,
        }));
    }
    let holds_it = |hole: &&Hole<'_>| {
        let all = [hole.went_in, hole.nut].into_iter().flatten();
        let mut all = all.chain(hole.washers.iter().copied());
        hole.tight.is_some() && all.any(|one| one.id == id)
    };
    let holes = present.joints.iter().flat_map(|joint| &joint.holes);
    Lies {
        kept_in: record.kept_in.as_deref(),
        plated_in: record.plated_in.as_ref().map(|job| job.as_str()),
        away,
        have: record.have,
        used: record.used,
        in_holes: holes.filter(holds_it).count(),
    }
}

/// The holes that call for some hardware and are not tight for good.
#[must_use]
pub fn open_holes(present: &Present<'_>, id: &str) -> Vec<Open> {
    let mut open = Vec::new();
    for joint in &present.joints {
        for hole in joint.holes.iter().filter(|one| one.claim != Stage::Final) {
            let record = hole.record;
            let washer = record.washers.iter().any(|one| is(Some(one), id));
            let part = match () {
                () if is(record.calls_for.as_ref(), id) => Part::In,
                () if is(record.then.as_ref(), id) => Part::Nut,
                () if washer => Part::Washer,
                () => continue,
            };
            open.push(Open {
                joint: joint.name.clone(),
                critical: present.hangs_on(joint),
                hole: hole.name.to_owned(),
                part,
                for_now: hole.tight == Some(FittedAs::MockUp),
                holds: record.holds,
            });
        }
    }
    open
}
