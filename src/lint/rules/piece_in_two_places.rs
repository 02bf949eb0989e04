//! # piece-in-two-places
//!
//! One piece is in two places at one time, or is on while it is away or lost.
//!
//! A piece can be in only one place. A plan for another place than where it is on
//! is no conflict: that is how it moves. What came off on the day on which it
//! went on elsewhere follows it. Of a lot there can be no more on and away than
//! there are.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Pump
//!   pieces:
//!     P1: {condition: serviceable, goes: [cooling/pump, cooling/booster]}
//!     P2:
//!       condition: serviceable
//!       fitted:
//!         - {as: mock-up, when: 2026-01-10, until: 2026-01-20, at: cooling/spare}
//!         - {as: mock-up, when: 2026-01-15, at: cooling/heater}
//!     P3:
//!       condition: serviceable
//!       goes: cooling/tank
//!       fitted: [{as: mock-up, when: 2026-02-01}]
//!     P4: {condition: serviceable, goes: cooling/fan,
//!       fitted: [{as: mock-up, when: 2026-01-10}]}
//! clip:
//!   name: Clip
//!   pieces:
//!     L1:
//!       count: 4
//!       condition: serviceable
//!       fitted: [{as: final, when: 2026-02-03, at: cooling/clips, count: 3}]
//! ```
//!
//! ```yaml jobs/all.yaml
//! plating-1:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-02-10
//!   lines: [{what: parts/pump/P3}, {what: parts/clip/L1, out: 2}]
//! plating-0:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-01-20
//!   came-back: 2026-02-02
//!   lines: [{what: parts/pump/P4, lost: 1}]
//! ```
//!
//! ```yaml assemblies/all.yaml
//! cooling:
//!   in: car
//!   places: {pump: {}, booster: {}, spare: {}, heater: {}, tank: {},
//!     fan: {}, clips: {count: 4}}
//! ```
//!
//! ```text
//! parts/all.yaml:4:55: error: `pump/P1` is one piece, and is meant for cooling/pump and cooling/booster [piece-in-two-places]
//!     assemblies/all.yaml:3:12: the place cooling/pump
//!     assemblies/all.yaml:3:22: the place cooling/booster
//!     to do: leave in `goes` the one place; give a lot of several its `count`
//! parts/all.yaml:9:11: error: `pump/P2` was on in cooling/spare and in cooling/heater at one time [piece-in-two-places]
//!     parts/all.yaml:8:11: on in cooling/spare from 2026-01-10 until 2026-01-20
//!     to do: write into the earlier fitting `until`, the day it came off, or mend `at`
//! parts/all.yaml:13:16: error: `pump/P3` is on in cooling/tank, and away with plating-1 [piece-in-two-places]
//!     jobs/all.yaml:5:11: sent out here
//!     to do: write into the fitting `until`, the day it came off, or into the job that it is back
//! parts/all.yaml:15:16: error: `pump/P4` is on in cooling/fan, and lost with plating-0 [piece-in-two-places]
//!     jobs/all.yaml:11:39: lost here
//!     to do: write into the fitting `until`, the day it came off, or, if it turned up, `back` for `lost` into the job
//! parts/all.yaml:22:16: error: `clip/L1` is a lot of 4, and 3 are on and 2 away with plating-1 [piece-in-two-places]
//!     jobs/all.yaml:5:34: sent out here
//!     to do: write into a fitting `until` or how many (`count`), or mend the `count` of the lot
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Pump
//!   pieces:
//!     P1: {condition: serviceable, goes: cooling/pump,
//!       fitted: [{as: mock-up, when: 2026-01-10, at: cooling/booster}]}
//!     P2:
//!       condition: serviceable
//!       fitted:
//!         - {as: mock-up, when: 2026-01-10, until: 2026-01-20, at: cooling/spare}
//!         - {as: mock-up, when: 2026-01-20, at: cooling/heater}
//!     P3: {condition: serviceable, goes: cooling/tank,
//!       fitted: [{as: mock-up, when: 2026-02-01, until: 2026-02-10}]}
//!     P4: {condition: serviceable,
//!       fitted: [{as: mock-up, when: 2026-01-10, until: 2026-01-19}]}
//! clip:
//!   name: Clip
//!   pieces:
//!     L1: {count: 4, condition: serviceable, goes: [cooling/spare,
//!       cooling/booster]}
//! ```
//!
//! ```yaml jobs/all.yaml
//! plating-1:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-02-10
//!   lines: [{what: parts/pump/P3}]
//! plating-0:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-01-20
//!   came-back: 2026-02-02
//!   lines: [{what: parts/pump/P4, lost: 1}]
//! ```
//!
//! ```yaml assemblies/all.yaml
//! cooling:
//!   in: car
//!   places: {pump: {}, booster: {}, spare: {count: 2}, heater: {}, tank: {}}
//! ```

use std::collections::BTreeMap;

use crate::finding::{Finding, Level};
use crate::lint::at::Spot;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::near::spoken;
use crate::present::sent::SentLine;
use crate::present::{Event, Piece, Present};

/// The rule.
pub const RULE: Rule = Rule {
    name: "piece-in-two-places",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for piece in &present.pieces {
        if piece.count() == 1 {
            findings.extend(planned_twice(cx, piece));
            findings.extend(on_twice(cx, piece));
            findings.extend(on_and_away(cx, piece));
        } else {
            findings.extend(more_on_than_there_are(cx, piece));
        }
    }
    for sent in &present.send_outs {
        for line in sent.lines.iter().filter(|line| line.is_one(present)) {
            findings.extend(on_and_lost(cx, sent.id, line));
        }
    }
}

fn planned_twice(cx: &Context<'_>, piece: &Piece<'_>) -> Option<Finding> {
    let present = cx.present();
    let goes = piece.record.goes.0.iter().enumerate();
    // Of one piece, what stands for many places or for none is an unknown reference.
    let goes = goes.filter(|(_, place)| present.place_named(place.as_str()).is_some());
    let goes: Vec<(usize, &str)> = goes.map(|(number, place)| (number, place.as_str())).collect();
    let (number, _) = *goes.get(1)?;
    let names: Vec<&str> = goes.iter().map(|(_, name)| *name).collect();
    let message = format!(
        "`{}` is one piece, and is meant for {}",
        piece.name(),
        spoken(&names, "and")
    );
    let remedy = "leave in `goes` the one place; give a lot of several its `count`";
    let spot = cx.in_piece_at(piece, &["goes".into(), number.into()]);
    let mut finding = cx.finding_in(spot, message, remedy)?;
    for (_, name) in &goes {
        for place in present.places_named(name).iter().take(1) {
            finding = finding.see_at(cx, cx.place_at(*place), format!("the place {name}"));
        }
    }
    Some(finding)
}

/// The first pair of events that had one piece in two places. What names several places
/// may have been in any of them.
fn on_twice(cx: &Context<'_>, piece: &Piece<'_>) -> Option<Finding> {
    let present = cx.present();
    let mut events: Vec<&Event> = piece.events.iter().map(|at| &present.events[*at]).collect();
    events.retain(|event| !event.places.is_empty());
    events.sort_by_key(|event| (event.from, event.number));
    let apart = |a: &Event, b: &Event| !a.places.iter().any(|place| b.places.contains(place));
    let pair = events.iter().enumerate().find_map(|(at, later)| {
        let earlier = events[..at].iter().find(|one| one.meets(later) && apart(one, later))?;
        Some((*earlier, *later))
    });
    let (earlier, later) = pair?;
    let both_stand = !earlier.over && !later.over;
    let message = format!(
        "`{}` {} in {} and in {} at one time",
        piece.name(),
        if both_stand { "is on" } else { "was on" },
        names(present, earlier),
        names(present, later)
    );
    let remedy = "write into the earlier fitting `until`, the day it came off, or mend `at`";
    let finding = cx.finding_in(cx.event_at(later), message, remedy)?;
    Some(finding.see_at(
        cx,
        cx.event_at(earlier),
        format!("on in {}{}", names(present, earlier), lasted(earlier)),
    ))
}

fn names(present: &Present<'_>, event: &Event) -> String {
    let names = event.places.iter().map(|place| &*present.places[*place].name);
    spoken(&names.collect::<Vec<_>>(), "or")
}

fn lasted(event: &Event) -> String {
    let from = event.from.map_or_else(String::new, |day| format!(" from {day}"));
    match event.until {
        Some(until) => format!("{from} until {until}"),
        None => from,
    }
}

fn on_and_away(cx: &Context<'_>, piece: &Piece<'_>) -> Option<Finding> {
    let away = piece.away?;
    let remedy = "write into the fitting `until`, the day it came off, or into the job that it \
                  is back";
    let finding = on_and(cx, piece, &format!("away with {}", away.job), remedy)?;
    Some(finding.see_at(cx, away_at(cx, piece), "sent out here"))
}

fn on_and_lost(cx: &Context<'_>, job: &str, line: &SentLine<'_>) -> Option<Finding> {
    let present = cx.present();
    line.counts(present).lost.filter(|lost| *lost > 0)?;
    let remedy = "write into the fitting `until`, the day it came off, or, if it turned up, \
                  `back` for `lost` into the job";
    let finding = on_and(cx, line.piece(present)?, &format!("lost with {job}"), remedy)?;
    let way = ["lines".into(), line.number.into(), "lost".into()];
    let lost = cx.value_at(Kind::Jobs, job, &way);
    Some(finding.see_at(cx, lost, "lost here"))
}

/// That a piece is on, and somewhere else as well.
fn on_and(cx: &Context<'_>, piece: &Piece<'_>, elsewhere: &str, remedy: &str) -> Option<Finding> {
    let present = cx.present();
    let mut events = piece.events.iter().map(|at| &present.events[*at]);
    let event = events.rfind(|event| !event.over)?;
    let place = match event.places.as_slice() {
        [] => String::new(),
        _ => format!(" in {}", names(present, event)),
    };
    let message = format!("`{}` is on{place}, and {elsewhere}", piece.name());
    cx.finding_in(cx.event_at(event), message, remedy)
}

/// Where it is written that a piece is away.
fn away_at(cx: &Context<'_>, piece: &Piece<'_>) -> Option<Spot> {
    let away = piece.away?;
    match away.line {
        Some(line) => cx.value_at(Kind::Jobs, away.job, &["lines".into(), line.into()]),
        None => cx.in_piece_at(piece, &["out-with".into()]),
    }
}

/// Of a lot, how many are on at the time at which one of its events began, or now.
fn more_on_than_there_are(cx: &Context<'_>, piece: &Piece<'_>) -> Option<Finding> {
    let present = cx.present();
    let events: Vec<&Event> = piece.events.iter().map(|at| &present.events[*at]).collect();
    // What is on anew where it is on already is the same pieces.
    let sum = |on: &[&Event]| {
        let mut most: BTreeMap<&[usize], u32> = BTreeMap::new();
        for event in on {
            let count = most.entry(&event.places).or_default();
            *count = event.count.max(*count);
        }
        most.values().fold(0, |sum: u32, count| sum.saturating_add(*count))
    };
    let has = piece.count();
    let now: Vec<&Event> = events.iter().copied().filter(|event| !event.over).collect();
    let away = piece.away.map_or(0, |away| away.count);
    let on = sum(&now);
    if on > has || (on > 0 && on.saturating_add(away) > has) {
        let away_with = match piece.away {
            Some(away) => format!(" and {} away with {}", away.count, away.job),
            None => String::new(),
        };
        let message = format!(
            "`{}` is a lot of {has}, and {on} are on{away_with}",
            piece.name()
        );
        let remedy = "write into a fitting `until` or how many (`count`), or mend the `count` of \
                      the lot";
        let mut finding = cx.finding_in(cx.event_at(now.last()?), message, remedy)?;
        for event in now.iter().rev().skip(1) {
            finding = finding.see_at(cx, cx.event_at(event), format!("{} on", event.count));
        }
        return Some(finding.see_at(cx, away_at(cx, piece), "sent out here"));
    }
    events.iter().find_map(|event| {
        let day = event.from?;
        let stood = |one: &&Event| {
            let begun = one.from.is_some_and(|from| from <= day);
            let ended = one.over && one.until.is_none_or(|until| until <= day);
            std::ptr::eq::<Event>(*one, *event) || (begun && !ended)
        };
        let on_then: Vec<&Event> = events.iter().copied().filter(stood).collect();
        let on = sum(&on_then);
        if on <= has {
            return None;
        }
        let message = format!(
            "`{}` is a lot of {has}, and {on} were on on {day}",
            piece.name()
        );
        let remedy = "mend `until` or `count` of a fitting, or the `count` of the lot";
        cx.finding_in(cx.event_at(event), message, remedy)
    })
}
