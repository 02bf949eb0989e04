//! Which holes are tight now, and as what: by what was done to them, and by what they
//! clamp. A piece that came off after a hole was tightened has loosened it, whether
//! somebody wrote that down at the joint or not.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{Present, date};
use crate::model::assembly;
use crate::model::common::FittedAs;

/// A joint as it stands now.
#[derive(Debug, Clone)]
pub struct Joint<'a> {
    /// What it is called from outside: `engine/head-bolts`.
    pub name: String,
    /// Its record.
    pub record: &'a assembly::Joint,
    /// Its holes, in the order of their names.
    pub holes: Vec<Hole<'a>>,
}

/// A hole as it stands now.
#[derive(Debug, Clone)]
pub struct Hole<'a> {
    /// Its name in the joint.
    pub name: &'a str,
    /// As what it is tight; none if it is loose.
    pub tight: Option<FittedAs>,
    /// What has come off since it was tightened, if that is why it is loose.
    pub loosened: Option<Off>,
}

/// Something that came off, or out.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Off {
    /// The day.
    pub when: Date,
    /// What, in words: `head/H1 came off engine/head`, `gearbox came out`.
    pub what: String,
}

/// All joints, by assembly and name.
#[must_use]
pub fn joints<'a>(present: &Present<'a>) -> Vec<Joint<'a>> {
    let off = Offs::of(present);
    let mut joints = Vec::new();
    for assembly in &present.assemblies {
        for (name, record) in &assembly.record.joints {
            let clamped = off.of_joint(present, record);
            let hole = |(name, hole): (&'a _, &'a assembly::Hole)| {
                let name: &'a crate::model::common::Name = name;
                let mut standing = hole.done.iter().rev().filter(|one| one.until.is_none());
                let last = standing.next();
                let day = last.and_then(|one| one.when.as_ref()).and_then(date);
                let loosened = day.and_then(|day| {
                    let since = clamped.iter().filter(|off| off.loosens(day));
                    since.map(|off| &off.off).min().cloned()
                });
                Hole {
                    name: name.as_str(),
                    tight: last
                        .filter(|_| loosened.is_none())
                        .map(|one| one.as_.unwrap_or(FittedAs::MockUp)),
                    loosened,
                }
            };
            joints.push(Joint {
                name: format!("{}/{}", assembly.id, name.as_str()),
                record,
                holes: record.holes.iter().map(hole).collect(),
            });
        }
    }
    joints
}

/// Something that came off, and whether it, or another in its stead, is on again.
#[derive(Debug)]
struct Came {
    off: Off,
    on_again: bool,
}

impl Came {
    /// Whether it loosened what was tightened on a day. On one and the same day the hole
    /// was tightened last, unless nothing has gone on since.
    fn loosens(&self, tightened: Date) -> bool {
        self.off.when > tightened || (self.off.when == tightened && !self.on_again)
    }
}

/// What came off, by place.
struct Offs(BTreeMap<usize, Vec<Off>>);

impl Offs {
    fn of(present: &Present<'_>) -> Self {
        let mut offs: BTreeMap<usize, Vec<Off>> = BTreeMap::new();
        for event in &present.events {
            let Some(when) = event.until else {
                continue;
            };
            for place in &event.places {
                let piece = present.pieces[event.piece].name();
                let what = format!("{piece} came off {}", present.places[*place].name);
                offs.entry(*place).or_default().push(Off { when, what });
            }
        }
        Self(offs)
    }

    /// What came off of all that a joint clamps.
    fn of_joint(&self, present: &Present<'_>, joint: &assembly::Joint) -> Vec<Came> {
        let mut all = Vec::new();
        for clamped in &joint.clamps {
            let name = clamped.as_str();
            for place in present.places_named(name) {
                let stays = present.places[*place].stays.iter();
                let on_again = stays.clone().any(|stay| present.stays[*stay].is_on());
                let offs = self.0.get(place).into_iter().flatten();
                all.extend(offs.map(|off| Came {
                    off: off.clone(),
                    on_again,
                }));
            }
            let Some(assembly) = present.assembly_named(name) else {
                continue;
            };
            let mounted = &present.assemblies[assembly].record.mounted;
            let on_again = mounted.iter().any(|event| event.until.is_none());
            let outs = mounted.iter().filter_map(|event| event.until.as_ref());
            all.extend(outs.filter_map(date).map(|when| Came {
                off: Off {
                    when,
                    what: format!("{name} came out"),
                },
                on_again,
            }));
        }
        all
    }
}
