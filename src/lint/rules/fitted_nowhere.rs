//! # fitted-nowhere
//!
//! A piece is on, and the record does not say where.
//!
//! A fitting stands for the place that `goes` names, or for its own `at`. Where a
//! piece has neither, or `goes` names several places for a single piece, nobody
//! can tell what it was on, and none of the other rules can look. That happens
//! too when `goes` is changed or taken out later: write `at` into what happened
//! before.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Pump
//!   pieces:
//!     P1: {condition: serviceable, fitted: [{as: mock-up, when: 2026-02-14}]}
//! injector:
//!   name: Injector
//!   pieces:
//!     N1:
//!       condition: serviceable
//!       goes: [fuel/injector-1, fuel/injector-2]
//!       fitted: [{as: mock-up, when: 2026-02-14}]
//! ```
//!
//! ```yaml build.yaml
//! name: Example
//! cylinders: 2
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel: {in: car, places: {injector: {each: cylinder}}}
//! ```
//!
//! ```text
//! parts/all.yaml:4:43: warning: `pump/P1` is on, and nothing says where: it has no `at`, and `goes` names no place [fitted-nowhere]
//!     to do: write into this fitting `at` and the one place
//! parts/all.yaml:11:16: warning: `injector/N1` is on, and nothing says where: it has no `at`, and `goes` names fuel/injector-1 and fuel/injector-2 [fitted-nowhere]
//!     to do: write into this fitting `at` and the one place
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Pump
//!   pieces:
//!     P1: {condition: serviceable, fitted: [{as: mock-up, when: 2026-02-14,
//!       at: fuel/pump}]}
//! cushion:
//!   name: Cushion
//!   pieces:
//!     L1: {count: 2, condition: serviceable, goes: fuel/cushion,
//!       fitted: [{as: mock-up, when: 2026-02-14}]}
//! ```
//!
//! ```yaml build.yaml
//! name: Example
//! cylinders: 2
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel: {in: car, places: {pump: {}, cushion: {each: cylinder}}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::near::spoken;

/// The rule.
pub const RULE: Rule = Rule {
    name: "fitted-nowhere",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for event in &present.events {
        let piece = &present.pieces[event.piece];
        let fitting = &piece.record.fitted[event.number];
        let goes = &piece.record.goes.0;
        let names = || {
            let names = event.places.iter().map(|place| &*present.places[*place].name);
            spoken(&names.collect::<Vec<_>>(), "and")
        };
        // A place that is not there is told as an unknown reference, and one that is no
        // text as such. So is a single piece at a name that stands for several places.
        let names_many = |name: &str| present.places_named(name).len() > 1;
        let why = match (&fitting.at, event.places.len()) {
            (Some(_), _) | (None, 1) => continue,
            (None, 0) if !goes.is_empty() || cx.goes_at(piece).is_some() => continue,
            (None, 0) => "it has no `at`, and `goes` names no place".to_owned(),
            _ if piece.count() > 1 => continue,
            _ if goes.iter().any(|name| names_many(name.as_str())) => continue,
            _ => format!("it has no `at`, and `goes` names {}", names()),
        };
        let was = match (event.over, event.from) {
            (false, _) => "is on".to_owned(),
            (true, Some(from)) => format!("was on from {from}"),
            (true, None) => "was on".to_owned(),
        };
        let message = format!("`{}` {was}, and nothing says where: {why}", piece.name());
        let remedy = "write into this fitting `at` and the one place";
        findings.extend(cx.finding_in(cx.event_at(event), message, remedy));
    }
}
