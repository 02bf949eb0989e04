//! What follows from several records together, and stands in none of them.

use std::collections::{BTreeMap, BTreeSet};

use super::{Deed, Told};
use crate::folder::Folder;
use crate::model::Kind;
use crate::model::common::Stage;
use crate::near::spoken;
use crate::present::joints::{Joint, Off};
use crate::present::{Present, Worked};

/// What came of the changes: joints that are loose because something they clamp came off
/// after they were tightened, and assemblies whose last place is filled for good. Nothing
/// where parts or assemblies can't all be read: what is missing may stand there.
#[must_use]
pub fn derived(since: Worked<'_>, until: Worked<'_>) -> Vec<Told> {
    let is_whole = |folder: &Folder| {
        let mut kinds = [Kind::Parts, Kind::Assemblies].iter();
        kinds.all(|kind| folder.is_whole(*kind))
    };
    if !is_whole(since.folder) || !is_whole(until.folder) {
        return Vec::new();
    }
    let (was, is) = (since.present, until.present);
    let mut told = loosened(&was.joints, &is.joints);
    told.extend(full(was, is));
    told
}

fn told(deed: Deed, about: &str, says: String, when: Option<String>) -> Told {
    Told {
        deed,
        about: about.to_owned(),
        says,
        when,
        short: String::new(),
        many: 1,
        lines: Vec::new(),
        change: None,
        leaves: Vec::new(),
    }
}

fn loosened(was: &[Joint<'_>], is: &[Joint<'_>]) -> Vec<Told> {
    let names: BTreeSet<&str> = is.iter().map(|joint| joint.name.as_str()).collect();
    let by_name: BTreeMap<&str, &Joint<'_>> = was
        .iter()
        .map(|joint| (joint.name.as_str(), joint))
        .collect();
    let holes = |joint: &Joint<'_>| -> Vec<String> {
        joint
            .holes
            .iter()
            .map(|hole| hole.name.to_owned())
            .collect()
    };
    let mut all = Vec::new();
    for joint in is {
        let mut off: BTreeMap<&Off, Vec<&str>> = BTreeMap::new();
        for hole in &joint.holes {
            if let Some(by) = &hole.loosened {
                off.entry(by).or_default().push(hole.name);
            }
        }
        if off.is_empty() {
            continue;
        }
        // One that is called otherwise now was loose before under its old name.
        let renamed = || {
            was.iter()
                .find(|old| !names.contains(old.name.as_str()) && holes(old) == holes(joint))
        };
        let before = by_name.get(joint.name.as_str()).copied().or_else(renamed);
        for (by, mut holes) in off {
            let was_loose = |name: &&str| {
                let old = before.into_iter().flat_map(|old| &old.holes);
                old.filter(|old| old.name == *name)
                    .any(|old| old.loosened.as_ref().is_some_and(|old| old.when == by.when))
            };
            holes.retain(|name| !was_loose(name));
            if holes.is_empty() {
                continue;
            }
            let which = match holes.len() == joint.holes.len() {
                true => String::new(),
                false => format!(" at {} of {} holes", holes.len(), joint.holes.len()),
            };
            let says = format!("loose again{which}: {}", by.what);
            let when = Some(by.when.to_string());
            all.push(told(Deed::Loosened, &joint.name, says, when));
        }
    }
    all
}

/// What places there are in an assembly that is full, and which of them may stay empty, and do.
#[derive(Default)]
struct Full<'a> {
    places: Vec<&'a str>,
    empty: Vec<&'a str>,
}

/// The assemblies whose every place is filled for good, but for those that may stay empty.
fn full_ones<'a>(present: &'a Present<'_>) -> BTreeMap<&'a str, Full<'a>> {
    let mut all = BTreeMap::new();
    for assembly in &present.assemblies {
        let mut full = Full::default();
        let mut is_full = true;
        for place in assembly.places.iter().map(|place| &present.places[*place]) {
            let stays = place.stays.iter().map(|stay| &present.stays[*stay]);
            let for_good = stays.filter(|stay| stay.is_on() && stay.stage == Stage::Final);
            let count = for_good.fold(0_u32, |sum, stay| sum.saturating_add(stay.count));
            full.places.push(&place.name);
            if count == 0 && place.record.optional == Some(true) {
                full.empty.push(&place.name);
            } else {
                is_full &= count >= place.room();
            }
        }
        if is_full && full.places.len() > full.empty.len() {
            all.insert(assembly.id, full);
        }
    }
    all
}

fn full(was: &Present<'_>, is: &Present<'_>) -> Vec<Told> {
    let (old, new) = (full_ones(was), full_ones(is));
    let inner = |names: &[&str]| -> Vec<String> {
        let names = names.iter().filter_map(|name| name.split_once('/'));
        names.map(|(_, place)| place.to_owned()).collect()
    };
    let mut all = Vec::new();
    for (id, full) in &new {
        let was_full = match was.assembly_named(id) {
            Some(_) => old.contains_key(id),
            // It may have been called otherwise.
            None => old.iter().any(|(old, one)| {
                is.assembly_named(old).is_none() && inner(&one.places) == inner(&full.places)
            }),
        };
        if was_full {
            continue;
        }
        let but = match full.empty.as_slice() {
            [] => String::new(),
            names => format!(", but for {}", spoken(names, "and")),
        };
        let says = format!("complete: every place is filled for good{but}");
        all.push(told(Deed::Complete, id, says, None));
    }
    all
}
