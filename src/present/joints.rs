//! Which holes are tight now, and as what: by what was done to them, and by what they
//! clamp. A piece that came off after a hole was tightened has loosened it, whether
//! somebody wrote that down at the joint or not.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{Present, date};
use crate::model::assembly::{self, CriticalJoint, Tightening};
use crate::model::common::{Critical, FastenerRef, FittedAs, SecondCheck, Stage};
use crate::model::fastener::Fastener;

/// A joint as it stands now.
#[derive(Debug, Clone)]
pub struct Joint<'a> {
    /// What it is called from outside: `engine/head-bolts`.
    pub name: String,
    /// The number of its assembly.
    pub assembly: usize,
    /// What it is called in its assembly: `head-bolts`.
    pub key: &'a str,
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
    /// Its record.
    pub record: &'a assembly::Hole,
    /// The last time it was tightened, if that is not written down as over, and its number
    /// among `done`; it may have been loosened since.
    pub standing: Option<(usize, &'a Tightening)>,
    /// As what it is tight; none if it is loose.
    pub tight: Option<FittedAs>,
    /// What has come off since it was tightened, if that is why it is loose.
    pub loosened: Option<Off>,
    /// The stage that counts: tight, and closed over, is as good as final. `bench` if
    /// nothing is tight in it.
    pub claim: Stage,
    /// The hardware that is meant for it: the bolt, the screw or the stud.
    pub meant: Option<Hardware<'a>>,
    /// The hardware that went in when it was last tightened; what is meant, unless that says
    /// otherwise. None where nothing was tightened, or something stands in for it.
    pub went_in: Option<Hardware<'a>>,
    /// The nut on it: what went on, or else what is meant.
    pub nut: Option<Hardware<'a>>,
    /// The washers under it, from the head down: what went under, or else what is meant.
    pub washers: Vec<Hardware<'a>>,
}

impl<'a> Hole<'a> {
    /// What is in it, or else what is meant for it.
    #[must_use]
    pub fn hardware(&self) -> Option<Hardware<'a>> {
        self.went_in.or(self.meant)
    }

    /// How thick the stack is here.
    #[must_use]
    pub fn grip(&self, joint: &Joint<'a>) -> Option<&'a crate::model::common::Length> {
        self.record.grip.as_ref().or(joint.record.grip.as_ref())
    }

    /// How deep it is here.
    #[must_use]
    pub fn depth(&self, joint: &Joint<'a>) -> Option<&'a crate::model::common::Length> {
        let into = joint.record.into.as_ref();
        let depth = into.and_then(|into| into.depth.as_ref());
        self.record.depth.as_ref().or(depth)
    }
}

/// One sort of hardware, by its id.
#[derive(Debug, Clone, Copy)]
pub struct Hardware<'a> {
    /// Its id.
    pub id: &'a str,
    /// Its record.
    pub record: &'a Fastener,
}

/// Something that came off, or out.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Off {
    /// The day.
    pub when: Date,
    /// What, in words: `head/H1 came off engine/head`, `gearbox came out`.
    pub what: String,
}

impl Tightening {
    /// The last look at it that came to anything. A look without its day was on the day of
    /// the work.
    #[must_use]
    pub fn last_look(&self) -> Option<&SecondCheck> {
        let looks = self.checked.iter().filter(|look| look.found.is_some());
        let day = |look: &&SecondCheck| {
            let day = look.when.as_ref().or(self.when.as_ref());
            day.map(|day| day.as_str().to_owned())
        };
        looks.max_by_key(day)
    }
}

impl Present<'_> {
    /// What people's safety hangs on at a joint: what it says itself, or else what its
    /// assembly says, or the first around it that says anything.
    #[must_use]
    pub fn hangs_on(&self, joint: &Joint<'_>) -> Option<Critical> {
        match joint.record.critical {
            Some(CriticalJoint::For(what)) => Some(what),
            Some(CriticalJoint::NotCritical) => None,
            None => {
                let around = self.around(joint.assembly).into_iter();
                let mut said = around.map(|one| self.assemblies[one].record.critical);
                said.find(Option::is_some).flatten()
            }
        }
    }
}

/// All joints, by assembly and name: what `Present` keeps.
pub(super) fn joints<'a>(present: &Present<'a>) -> Vec<Joint<'a>> {
    let off = Offs::of(present);
    let mut joints = Vec::new();
    let named = |id: &'a FastenerRef| {
        let (id, record) = present.fasteners.get_key_value(id.as_str())?;
        Some(Hardware { id, record })
    };
    for (number, assembly) in present.assemblies.iter().enumerate() {
        for (name, record) in &assembly.record.joints {
            let clamped = off.of_joint(present, record);
            let hole = |(name, hole): (&'a _, &'a assembly::Hole)| {
                let name: &'a crate::model::common::Name = name;
                // What came last is how it stands: one that is over, over an older one too.
                let done = hole.done.iter().enumerate();
                let latest =
                    done.max_by_key(|(number, one)| (one.when.as_ref().and_then(date), *number));
                let standing = latest.filter(|(_, one)| one.until.is_none());
                let last = standing.map(|(_, one)| one);
                let day = last.and_then(|one| one.when.as_ref()).and_then(date);
                let loosened = day.and_then(|day| {
                    let since = clamped.iter().filter(|off| off.loosens(day));
                    since.map(|off| &off.off).min().cloned()
                });
                let tight = last
                    .filter(|_| loosened.is_none())
                    .map(|one| one.as_.unwrap_or(FittedAs::MockUp));
                let claim = match tight {
                    None => Stage::Bench,
                    Some(FittedAs::MockUp) if assembly.closed_by.is_none() => Stage::MockUp,
                    Some(_) => Stage::Final,
                };
                let meant = hole.calls_for.as_ref().and_then(named);
                let stands_in = hole.holds == Some(assembly::Holds::MockUpHardware);
                let nut = last
                    .and_then(|one| one.then.as_ref())
                    .or(hole.then.as_ref());
                let washers = match last {
                    Some(one) if !one.washers.is_empty() => &one.washers,
                    _ => &hole.washers,
                };
                Hole {
                    name: name.as_str(),
                    record: hole,
                    standing,
                    tight,
                    loosened,
                    claim,
                    meant,
                    went_in: last.and_then(|one| match &one.fastener {
                        Some(other) => named(other),
                        None => meant.filter(|_| !stands_in),
                    }),
                    nut: nut.and_then(named),
                    washers: washers.iter().filter_map(named).collect(),
                }
            };
            joints.push(Joint {
                name: format!("{}/{}", assembly.id, name.as_str()),
                assembly: number,
                key: name.as_str(),
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
