//! # empty-place
//!
//! Nothing is on in a place.
//!
//! As long as a build is under way that is no matter: only where nothing is even
//! planned it is a note, one for each place, or for each name of places that are
//! there once for each cylinder, bank or hand, or for an assembly in which
//! nothing is planned at all. Once the assembly is closed, or one around it, it
//! is an error: then the part itself must be on, and as many as the place takes.
//! A place that is `optional` may stay empty.
//!
//! ## Wrong
//!
//! ```yaml build.yaml
//! name: Example
//! cylinders: 2
//! ```
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   pieces: {N1: {condition: serviceable, goes: fuel/injector-1}}
//! piston:
//!   name: Piston
//!   pieces:
//!     S1: {condition: serviceable, goes: block/piston-1, fitted: [{as: final,
//!       when: 2026-02-14}]}
//!     S2: {condition: serviceable, goes: block/piston-2}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel:
//!   in: car
//!   places: {injector: {each: cylinder}, rail: {}, bracket: {optional: true}}
//! block:
//!   in: car
//!   closed: [{when: 2026-02-20}]
//!   places: {piston: {each: cylinder}}
//! cabin:
//!   in: car
//!   places: {unit: {}, heater: {}}
//! oiling:
//!   in: car
//!   places: {squirter: {each: bank}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:3:12: note: nothing is on in fuel/injector-2, and nothing is planned [empty-place]
//!     to do: let the piece that belongs there say so with `goes`
//! assemblies/all.yaml:3:40: note: nothing is on in fuel/rail, and nothing is planned [empty-place]
//!     to do: let the piece that belongs there say so with `goes`
//! assemblies/all.yaml:7:12: error: nothing is on in block/piston-2, and it is closed [empty-place]
//!     assemblies/all.yaml:6:12: closed here
//!     parts/all.yaml:9:40: `piston/S2` is only planned for block/piston-2
//!     to do: write what is on in it as `fitted`; or if it was opened, write `until` and the day into that `closed`
//! assemblies/all.yaml:8:1: note: nothing is on in any place of `cabin`, and nothing is planned [empty-place]
//!     to do: let the pieces that belong there say so with `goes`
//! assemblies/all.yaml:13:12: note: there is one `oiling/squirter` for each bank, and build.yaml does not say how many banks there are [empty-place]
//!     to do: write `banks` into build.yaml
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! rail:
//!   name: Rail
//!   pieces: {R1: {condition: serviceable, goes: fuel/rail}}
//! piston:
//!   name: Piston
//!   pieces:
//!     S1: {count: 2, condition: serviceable, goes: block/piston,
//!       fitted: [{as: final, when: 2026-02-14}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel:
//!   in: car
//!   places: {rail: {}, bracket: {optional: true}}
//! block:
//!   in: car
//!   closed: [{when: 2026-02-20}]
//!   places: {piston: {count: 2}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::assembly::Each;
use crate::model::common::Stage;
use crate::near::spoken;
use crate::present::{Present, Stay};

/// The rule.
pub const RULE: Rule = Rule {
    name: "empty-place",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    if !cx.knows_all() {
        return;
    }
    let present = cx.present();
    for (number, assembly) in present.assemblies.iter().enumerate() {
        let must = assembly.record.places.values();
        let must = must.filter(|place| place.optional != Some(true)).count();
        let has_any = assembly.places.iter().any(|place| !present.places[*place].stays.is_empty());
        let spelt_out = assembly.record.places.keys().all(|key| {
            assembly.places.iter().any(|place| present.places[*place].key == key.as_str())
        });
        if must > 1 && !has_any && spelt_out {
            findings.extend(bare(cx, number));
            continue;
        }
        for (key, place) in &assembly.record.places {
            let key = key.as_str();
            let own = assembly.places.iter().copied();
            let own: Vec<usize> = own.filter(|place| present.places[*place].key == key).collect();
            if own.is_empty() {
                findings.extend(unspelt(cx, number, key, place.each));
            } else if place.optional != Some(true) {
                findings.extend(empty(cx, number, &own));
            }
        }
    }
}

/// How many are on in a place.
fn on(present: &Present<'_>, place: usize) -> u32 {
    let stays = present.places[place].stays.iter();
    let stays = stays.map(|stay| &present.stays[*stay]);
    stays.filter(|stay| stay.is_on()).fold(0, |sum, stay: &Stay| sum.saturating_add(stay.count))
}

/// What closed an assembly, in words.
fn closed_by(present: &Present<'_>, assembly: usize) -> Option<(usize, String)> {
    let by = present.assemblies[assembly].closed_by?;
    let words = match by == assembly {
        true => "it is closed".to_owned(),
        false => format!("{} is closed over it", present.assemblies[by].id),
    };
    Some((by, words))
}

/// An assembly with nothing in it at all.
fn bare(cx: &Context<'_>, assembly: usize) -> Option<Finding> {
    let present = cx.present();
    let id = present.assemblies[assembly].id;
    let spot = cx.key_at(Kind::Assemblies, id, &[]);
    Some(match closed_by(present, assembly) {
        Some((by, closed)) => cx
            .finding_in(
                spot,
                format!("nothing is on in any place of `{id}`, and {closed}"),
                "write what is on in it as `fitted`, or take the closing back",
            )?
            .by_claim(Stage::Final, Level::Note)
            .see_at(cx, cx.closing_at(by), "closed here"),
        None => cx
            .finding_in(
                spot,
                format!("nothing is on in any place of `{id}`, and nothing is planned"),
                "let the pieces that belong there say so with `goes`",
            )?
            .by_claim(Stage::Bench, Level::Note),
    })
}

/// Places for each cylinder or bank of an engine that does not say how many it has.
fn unspelt(
    cx: &Context<'_>,
    assembly: usize,
    key: &str,
    each: Option<Each>,
) -> Option<Finding> {
    let (what, field) = match each? {
        Each::Cylinder => ("cylinder", "cylinders"),
        Each::Bank => ("bank", "banks"),
        Each::Hand => return None,
    };
    let id = cx.present().assemblies[assembly].id;
    let spot = cx.key_at(Kind::Assemblies, id, &["places".into(), key.into()]);
    let message = format!(
        "there is one `{id}/{key}` for each {what}, and build.yaml does not say how many {field} \
         there are"
    );
    let finding = cx.finding_in(spot, message, format!("write `{field}` into build.yaml"))?;
    Some(finding.by_claim(Stage::Bench, Level::Note))
}

fn empty(cx: &Context<'_>, assembly: usize, places: &[usize]) -> Option<Finding> {
    let present = cx.present();
    let names = |places: &[usize]| {
        let names = places.iter().map(|place| &*present.places[*place].name);
        spoken(&names.collect::<Vec<_>>(), "and")
    };
    let room = |place: usize| present.places[place].room();
    let spot = cx.place_at(*places.first()?);
    let Some((by, closed)) = closed_by(present, assembly) else {
        let bare = |place: &usize| present.places[*place].stays.is_empty();
        let bare: Vec<usize> = places.iter().copied().filter(bare).collect();
        if bare.is_empty() {
            return None;
        }
        let message = format!("nothing is on in {}, and nothing is planned", names(&bare));
        let remedy = "let the piece that belongs there say so with `goes`";
        let finding = cx.finding_in(spot, message, remedy)?;
        return Some(finding.by_claim(Stage::Bench, Level::Note));
    };
    let lacking: Vec<usize> = places
        .iter()
        .copied()
        .filter(|place| on(present, *place) < room(*place))
        .collect();
    let bare: Vec<usize> = lacking
        .iter()
        .copied()
        .filter(|place| on(present, *place) == 0)
        .collect();
    let first = *lacking.first()?;
    let message = if bare.is_empty() {
        format!(
            "{} takes {}, only {} are on in it, and {closed}",
            names(&[first]),
            room(first),
            on(present, first)
        )
    } else {
        format!("nothing is on in {}, and {closed}", names(&bare))
    };
    let remedy = "write what is on in it as `fitted`; or if it was opened, write `until` and the day into that `closed`";
    let mut finding = cx
        .finding_in(spot, message, remedy)?
        .by_claim(Stage::Final, Level::Note)
        .see_at(cx, cx.closing_at(by), "closed here");
    for place in &lacking {
        for stay in present.places[*place].stays.iter().map(|stay| &present.stays[*stay]) {
            if !stay.is_on() {
                let piece = present.piece(stay);
                let name = &present.places[*place].name;
                let events = piece.events.iter().map(|event| &present.events[*event]);
                let off = events.filter(|event| event.over && event.places.contains(place));
                let words = match off.filter_map(|event| event.until).max() {
                    Some(day) => format!("`{}` came off {name} on {day}", piece.name()),
                    None => format!("`{}` is only planned for {name}", piece.name()),
                };
                finding = finding.see_at(cx, cx.stay_at(stay), words);
            }
        }
    }
    Some(finding)
}
