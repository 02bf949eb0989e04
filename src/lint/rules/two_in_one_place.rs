//! # two-in-one-place
//!
//! More pieces are in a place than it takes, or more are placed than there are.
//!
//! Two pieces that are planned for one place, or are on in one at one time, can't
//! both be right. A piece that holds the place for mock-up while another is
//! planned for it is no conflict. Nor is one that came off on the day on which
//! the next went on.
//!
//! What is over counts too. But a fitting that is over and has no `at` of its own
//! stands for the place that `goes` names today, which may be another than on
//! that day: then it is a warning.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   pieces:
//!     N1: {condition: serviceable, goes: fuel/injector-1}
//!     N2: {condition: serviceable, goes: fuel/injector-1}
//!     N3: {condition: serviceable, fitted: [
//!       {as: mock-up, when: 2026-02-01, until: 2026-02-10, at: fuel/injector-2}]}
//!     N4: {condition: serviceable, fitted: [
//!       {as: mock-up, when: 2026-02-08, at: fuel/injector-2}]}
//! clip:
//!   name: Clip
//!   pieces:
//!     L1: {count: 2, condition: serviceable, goes: [fuel/clip, fuel/tie,
//!       fuel/strap]}
//!     L2: {count: 6, condition: serviceable, fitted: [
//!       {as: mock-up, when: 2026-02-08, count: 5, at: fuel/clips}]}
//! ```
//!
//! ```yaml build.yaml
//! name: Example
//! cylinders: 2
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel:
//!   in: car
//!   places: {injector: {each: cylinder}, clip: {}, tie: {}, strap: {},
//!     clips: {count: 4}}
//! ```
//!
//! ```text
//! parts/all.yaml:5:40: error: fuel/injector-1 takes one piece, and `injector/N1` and `injector/N2` are meant for it [two-in-one-place]
//!     parts/all.yaml:4:40: `injector/N1` is meant for fuel/injector-1
//!     assemblies/all.yaml:3:12: the place
//!     to do: leave the place in one `goes` only
//! parts/all.yaml:9:7: error: fuel/injector-2 takes one piece, and `injector/N3` and `injector/N4` were on in it at one time [two-in-one-place]
//!     parts/all.yaml:7:7: `injector/N3` from 2026-02-01 until 2026-02-10
//!     assemblies/all.yaml:3:12: the place
//!     to do: mend the days, or write `at` into the fitting that was elsewhere
//! parts/all.yaml:14:7: error: `clip/L1` is a lot of 2, and is meant for 3 places: fuel/clip, fuel/tie and fuel/strap [two-in-one-place]
//!     parts/all.yaml:13:17: how many there are
//!     to do: take out of `goes` what it does not fill, or mend the `count` of the lot
//! parts/all.yaml:16:7: error: fuel/clips takes 4 pieces, and 5 of `clip/L2` are on in it [two-in-one-place]
//!     assemblies/all.yaml:4:5: the place
//!     to do: write `until`, the day it came off, and `at` into the fitting of the one that is off, and take the place out of its `goes`; or mend `at` or `count`
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   pieces:
//!     N1: {condition: serviceable, goes: fuel/injector-1}
//!     N2: {condition: serviceable, fitted: [
//!       {as: mock-up, when: 2026-02-01, at: fuel/injector-1}]}
//!     N3: {condition: serviceable, fitted: [
//!       {as: mock-up, when: 2026-02-01, until: 2026-02-08, at: fuel/injector-2}]}
//!     N4: {condition: serviceable, fitted: [
//!       {as: mock-up, when: 2026-02-08, at: fuel/injector-2}]}
//! clip:
//!   name: Clip
//!   pieces:
//!     L1: {count: 6, condition: serviceable, goes: fuel/clips}
//! ```
//!
//! ```yaml build.yaml
//! name: Example
//! cylinders: 2
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel: {in: car, places: {injector: {each: cylinder}, clips: {count: 4}}}
//! ```

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::common::Stage;
use crate::near::spoken;
use crate::present::{Event, Piece, Stay};

/// The rule.
pub const RULE: Rule = Rule {
    name: "two-in-one-place",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let mut events_in: BTreeMap<usize, Vec<&Event>> = BTreeMap::new();
    for event in &present.events {
        // Which of several places somebody means is anybody's guess.
        if let [place] = event.places.as_slice() {
            events_in.entry(*place).or_default().push(event);
        }
    }
    for place in 0..present.places.len() {
        let stays = present.places[place].stays.iter();
        let stays: Vec<&Stay> = stays.map(|stay| &present.stays[*stay]).collect();
        let on: Vec<&Stay> = stays.iter().copied().filter(|stay| stay.is_on()).collect();
        let planned = stays.iter().copied().filter(|stay| stay.planned.is_some());
        let planned: Vec<&Stay> = planned.collect();
        let too_many_on = too_many(cx, place, &on, false);
        let told = |stay: &&Stay| too_many_on.is_some() && stay.is_on();
        if !planned.iter().all(told) {
            findings.extend(too_many(cx, place, &planned, true));
        }
        findings.extend(too_many_on);
        let events = events_in.remove(&place).unwrap_or_default();
        findings.extend(met(cx, place, events));
    }
    for piece in &present.pieces {
        findings.extend(more_than_there_are(cx, piece));
        findings.extend(no_room(cx, piece));
    }
}

fn takes(room: u32) -> String {
    match room {
        1 => "one piece".to_owned(),
        _ => format!("{room} pieces"),
    }
}

/// Pieces that are in a place, or planned for it, beyond what it takes.
fn too_many(cx: &Context<'_>, place: usize, stays: &[&Stay], plan: bool) -> Option<Finding> {
    let present = cx.present();
    let room = present.places[place].room();
    let count = stays.iter().fold(0, |sum: u32, stay| sum.saturating_add(stay.count));
    // What only one bag is planned for, it fills, and the rest stays over.
    if count <= room || (plan && stays.len() < 2) {
        return None;
    }
    let name = &present.places[place].name;
    let named = |stay: &Stay| {
        let name = present.piece(stay).name();
        match stay.count {
            1 => format!("`{name}`"),
            count => format!("{count} of `{name}`"),
        }
    };
    let pieces: Vec<String> = stays.iter().map(|stay| named(stay)).collect();
    let pieces: Vec<&str> = pieces.iter().map(String::as_str).collect();
    let many = pieces.len() > 1 || count > 1;
    let message = format!(
        "{name} takes {}, and {} {} {} it",
        takes(room),
        spoken(&pieces, "and"),
        if many { "are" } else { "is" },
        if plan { "meant for" } else { "on in" }
    );
    let remedy = if plan {
        "leave the place in one `goes` only"
    } else {
        "write `until`, the day it came off, and `at` into the fitting of the one that is off, and take the place out of its `goes`; or mend `at` or `count`"
    };
    let (last, before) = stays.split_last()?;
    // What is told of the plan is shown as it is planned, though it may be on as well.
    let as_told = |stay: &Stay| {
        let mut stay = stay.clone();
        if plan {
            (stay.event, stay.stage) = (None, Stage::Bench);
        }
        stay
    };
    let mut finding = cx.finding_in(cx.stay_at(&as_told(last)), message, remedy)?;
    for stay in before {
        let stay = as_told(stay);
        let words = format!("`{}` {}", present.piece(&stay).name(), how(present, &stay));
        finding = finding.see_at(cx, cx.stay_at(&stay), words);
    }
    Some(finding.see_at(cx, cx.place_at(place), "the place"))
}

/// Events in one place that were at one time, of which not all still stand.
fn met(cx: &Context<'_>, place: usize, mut events: Vec<&Event>) -> Option<Finding> {
    let present = cx.present();
    let room = present.places[place].room();
    events.retain(|event| event.from.is_some());
    events.sort_by_key(|event| (event.from, event.piece, event.number));
    for (at, last) in events.iter().enumerate() {
        let stood = events[..at].iter().copied().filter(|event| event.meets(last));
        // A piece whose first fitting was never ended is still one piece.
        let mut most: BTreeMap<usize, &Event> = BTreeMap::from([(last.piece, *last)]);
        for event in stood {
            let before = most.entry(event.piece).or_insert(event);
            if event.count > before.count {
                *before = event;
            }
        }
        let count = most.values().fold(0, |sum: u32, event| sum.saturating_add(event.count));
        if count <= room || most.len() < 2 || most.values().all(|event| !event.over) {
            continue;
        }
        let names: Vec<String> = most.keys().map(|piece| format!("`{}`", present.pieces[*piece].name())).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let message = format!(
            "{} takes {}, and {} were on in it at one time",
            present.places[place].name,
            takes(room),
            spoken(&names, "and")
        );
        let remedy = "mend the days, or write `at` into the fitting that was elsewhere";
        let mut finding = cx.finding_in(cx.event_at(last), message, remedy)?;
        for event in most.values().filter(|event| event.piece != last.piece) {
            let from = event.from.map_or_else(String::new, |day| format!(" from {day}"));
            let until = event.until.map_or_else(String::new, |day| format!(" until {day}"));
            let words = format!("`{}`{from}{until}", present.pieces[event.piece].name());
            finding = finding.see_at(cx, cx.event_at(event), words);
        }
        let by_plan = |event: &&&Event| {
            event.over && present.pieces[event.piece].record.fitted[event.number].at.is_none()
        };
        if most.values().any(|event| by_plan(&event)) {
            finding = finding.at_level(Level::Warning);
        }
        return Some(finding.see_at(cx, cx.place_at(place), "the place"));
    }
    None
}

/// A lot that names more places than there are pieces in it.
fn more_than_there_are(cx: &Context<'_>, piece: &Piece<'_>) -> Option<Finding> {
    let present = cx.present();
    let has = piece.count();
    if has == 1 {
        return None;
    }
    let goes = piece.record.goes.0.iter().enumerate();
    let single = goes.filter_map(|(number, name)| match present.places_named(name.as_str()) {
        [place] => Some((number, *place)),
        _ => None,
    });
    let single: Vec<(usize, usize)> = single.collect();
    let places: BTreeSet<usize> = single.iter().map(|(_, place)| *place).collect();
    if places.len() <= has as usize {
        return None;
    }
    let (number, _) = *single.get(has as usize)?;
    let names = single.iter().map(|(_, place)| &*present.places[*place].name);
    let message = format!(
        "`{}` is a lot of {has}, and is meant for {} places: {}",
        piece.name(),
        places.len(),
        spoken(&names.collect::<Vec<_>>(), "and")
    );
    let remedy = "take out of `goes` what it does not fill, or mend the `count` of the lot";
    let spot = cx.in_piece_at(piece, &["goes".into(), number.into()]);
    let finding = cx.finding_in(spot, message, remedy)?;
    let count = cx.in_piece_at(piece, &["count".into()]);
    Some(finding.see_at(cx, count, "how many there are"))
}

/// A lot whose fitting counts more than found room among its places.
fn no_room(cx: &Context<'_>, piece: &Piece<'_>) -> Option<Finding> {
    let present = cx.present();
    let stands = piece.events.iter().map(|event| &present.events[*event]);
    let stands: Vec<&Event> = stands.filter(|event| !event.over).collect();
    // Several events of one lot are told apart by nobody.
    let [event] = stands.as_slice() else {
        return None;
    };
    let counted = piece.record.fitted[event.number].count?;
    if event.places.len() < 2 || counted > piece.count() {
        return None;
    }
    let stays = piece.stays.iter().map(|stay| &present.stays[*stay]);
    let on = stays.filter(|stay| stay.is_on()).fold(0, |sum: u32, stay| sum.saturating_add(stay.count));
    if on >= counted {
        return None;
    }
    let names = event.places.iter().map(|place| &*present.places[*place].name);
    let names = spoken(&names.collect::<Vec<_>>(), "and");
    let message = format!(
        "of `{}` {counted} are on in {names}, and there is room for {on} of them",
        piece.name()
    );
    let remedy = "mend the `count` of this fitting, or end the fitting of what is there";
    let mut finding = cx.finding_in(cx.event_at(event), message, remedy)?;
    for place in &event.places {
        let stays = present.places[*place].stays.iter().map(|stay| &present.stays[*stay]);
        for stay in stays.filter(|stay| stay.is_on()) {
            let other = present.piece(stay);
            if !std::ptr::eq(other, piece) {
                let words = format!("`{}` {}", other.name(), how(present, stay));
                finding = finding.see_at(cx, cx.stay_at(stay), words);
            }
        }
    }
    Some(finding)
}
