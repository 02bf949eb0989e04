//! # short-engagement
//!
//! Less of a thread is in its hole than holds by rule of thumb.
//!
//! With too few turns in soft metal the hole's thread strips before the bolt is
//! tight, or on the road. The least is a number of diameters: 1 in steel, 1.5 in
//! cast iron, brass and aluminium, 2 in magnesium, zinc casting and plastic (common
//! practice; for aluminium 1.5 to 2 is printed); `engagement` under `figures` in
//! `build.yaml` sets others. What a bolt of its class wants by FED-STD-H28/2B in
//! the weaker sorts of that metal is named beside it, and not judged by. A nut is
//! held to 0.8 of a diameter, which is what is enough where both are of one
//! strength.
//!
//! Counted is what reaches beyond grip and washers, as far as the hole is threaded;
//! of a stud how far it is set in. What only stands in for mock-up is not judged.
//! The maker's manual comes first: a maker may know that less holds.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-25: {form: bolt, thread: M10x1.5, length: 25 mm, class: "8.8"}
//! stud-m8: {form: stud, thread: M8x1.25, set-in: 8 mm, length: 40 mm}
//! nut-m8: {form: nut, thread: M8x1.25, thickness: 6.8 mm}
//! washer-m8: {form: washer, inside: 8.4 mm, thickness: 1.6 mm}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     bracket:
//!       grip: 14 mm
//!       into: {material: aluminium, depth: 28 mm, blind: true}
//!       holes: {top: {calls-for: bolt-m10-25}, low: {calls-for: bolt-m10-25,
//!         done: [{as: mock-up, when: 2026-02-20}]}}
//!     manifold:
//!       grip: 27 mm
//!       into: {material: steel}
//!       holes: {m1: {calls-for: stud-m8, then: nut-m8, washers: [washer-m8]}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:7:63: warning: `engine/bracket/low` holds 11 mm of `bolt-m10-25` in aluminium, and 1.5 diameters are 15 mm; by reckoning one of 8.8 wants 19.6 mm in the weaker sorts of it; the same at top [short-engagement]
//!     fasteners/all.yaml:1:52: how long it is
//!     to do: take a longer bolt, or measure grip and depth again; what the maker's manual says comes first
//! assemblies/all.yaml:12:46: warning: `engine/manifold/m1` holds 3.4 mm of `stud-m8` in its nut, and 0.8 diameters are 6.4 mm [short-engagement]
//!     fasteners/all.yaml:2:62: how long it is
//!     to do: take a longer one, or measure the grip again; a thread should come out of its nut
//! ```
//!
//! ## Right
//!
//! Eleven millimetres are enough for M10 in steel.
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-25: {form: bolt, thread: M10x1.5, length: 25 mm, class: "8.8"}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     flywheel:
//!       grip: 14 mm
//!       into: {material: steel, depth: 20 mm, blind: false}
//!       holes: {f1: {calls-for: bolt-m10-25}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault, long, tenths};
use crate::lint::{Context, Rule};
use crate::model::build::Figures;
use crate::model::common::Stage;
use crate::model::fastener::{Fastener, Form};
use crate::present::hardware::{engagement, length};
use crate::present::joints::{Hardware, Hole, Joint};
use crate::reckon::geometry::{Geometry, Limits};
use crate::reckon::measure::{Length, as_share, mm};
use crate::reckon::stripping::{Pair, Tapped};
use crate::reckon::thread::Thread;

/// The rule.
pub const RULE: Rule = Rule {
    name: "short-engagement",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// Of the diameter, how much of a nut must be filled.
const NUT: f64 = 0.8;

/// What a rule may be off by and nobody's thread strips of it.
const SLACK: f64 = 0.05;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let figures = cx.folder.model.build.figures.as_ref();
    for joint in &cx.present().joints {
        cx.tell_faults(joint, findings, |hole| {
            let (bolt, stage) = counts(hole)?;
            in_hole(joint, hole, bolt, stage, figures).or_else(|| in_nut(joint, hole, bolt, stage))
        });
    }
}

/// What is judged: what is in for good, or else what is meant.
fn counts<'a>(hole: &Hole<'a>) -> Option<(Hardware<'a>, Stage)> {
    let (bolt, stage) = hole.judged()?;
    let stands_in = stage == Stage::MockUp && hole.meant.is_some_and(|meant| meant.id != bolt.id);
    if stands_in {
        return Some((hole.meant?, Stage::Bench));
    }
    Some((bolt, stage))
}

fn in_hole<'a>(
    joint: &Joint<'a>,
    hole: &Hole<'a>,
    bolt: Hardware<'a>,
    stage: Stage,
    figures: Option<&Figures>,
) -> Option<Fault<'a>> {
    let tapped = hole.bore(joint).tapped?;
    let thread = bolt.record.hole_thread()?;
    let (_, reach) = hole.reach(joint, bolt.record)?;
    let wants = engagement(figures, tapped);
    let enough = thread.diameter() * as_share(wants);
    if reach.engaged >= enough - mm(SLACK) {
        return None;
    }
    // One that runs on the bottom is told as too long: no longer one would help.
    if reach.to_spare.is_some_and(|spare| spare < mm(0.0)) {
        return None;
    }
    let goes = if reach.beyond < mm(0.0) {
        format!("gets `{}`, which does not reach its thread", bolt.id)
    } else {
        let engaged = long(reach.engaged);
        format!("holds {engaged} of `{}` in {}", bolt.id, tapped.word())
    };
    let stripping = match stripping(bolt.record, &thread, tapped) {
        Some((class, least)) => format!(
            "; by reckoning one of {class} wants {} in the weaker sorts of it",
            long(least)
        ),
        None => String::new(),
    };
    Some(Fault {
        at: At::Hole(vec!["calls-for".into()]),
        says: format!(
            "{goes}, and {} diameters are {}{stripping}",
            tenths(as_share(wants)),
            long(enough)
        ),
        remedy: remedy(bolt.record).to_owned(),
        claim: stage,
        level: Some(Level::Warning),
        see: vec![(
            At::Fastener(bolt.id, ends(bolt.record)),
            "how long it is".to_owned(),
        )],
    })
}

fn ends(bolt: &Fastener) -> &'static str {
    if bolt.form == Some(Form::Stud) {
        "set-in"
    } else {
        "length"
    }
}

fn remedy(bolt: &Fastener) -> &'static str {
    if bolt.form == Some(Form::Stud) {
        "set the stud in further, or measure again; what the maker's manual says comes first"
    } else {
        "take a longer bolt, or measure grip and depth again; what the maker's manual says comes first"
    }
}

/// How much a bolt of a class wants in the weaker sorts of a metal, so that it breaks before
/// the hole strips.
fn stripping(bolt: &Fastener, thread: &Thread, tapped: Tapped) -> Option<(String, Length)> {
    let class = bolt.known_class().filter(|class| !class.is_nut())?;
    let geometry = Geometry::of(thread)?;
    let strength = class.strength(geometry.diameter)?;
    let load = strength.tensile_load(geometry.stress_area);
    let pair = Pair::slackest(&geometry, &Limits::of(thread)?);
    let least = pair.engagement_for(load, tapped.shears_at()?.least);
    Some((class.to_string(), least))
}

fn in_nut<'a>(
    joint: &Joint<'a>,
    hole: &Hole<'a>,
    bolt: Hardware<'a>,
    stage: Stage,
) -> Option<Fault<'a>> {
    let nut = hole.nut?;
    let thread = bolt.record.nut_thread()?;
    let out = hole.stands_out(joint, bolt.record)?;
    let thick = nut.record.thickness.as_ref().and_then(length);
    let inside = thick.map_or(out, |thick| out.min(thick.most));
    let enough = thread.diameter() * NUT;
    // A nut that is thin by itself is a lock nut; only a bolt that ends inside is a slip.
    if inside >= enough - mm(SLACK) || thick.is_some_and(|thick| out >= thick.least - mm(SLACK)) {
        return None;
    }
    let fills = if out < mm(0.0) {
        format!("gets `{}`, which does not reach its nut", bolt.id)
    } else {
        format!("holds {} of `{}` in its nut", long(inside), bolt.id)
    };
    Some(Fault {
        at: At::Hole(vec!["then".into()]),
        says: format!("{fills}, and {NUT} diameters are {}", long(enough)),
        remedy: "take a longer one, or measure the grip again; a thread should come out of its nut"
            .to_owned(),
        claim: stage,
        level: Some(Level::Warning),
        see: vec![(At::Fastener(bolt.id, "length"), "how long it is".to_owned())],
    })
}
