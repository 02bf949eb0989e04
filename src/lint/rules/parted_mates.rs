//! # parted-mates
//!
//! Pieces that were machined together are placed with others than their own.
//!
//! A head and its caps, a rod and its cap were bored as one. A part names such
//! parts as its `mates`; it is enough if one of the two does, and a part may name
//! itself. All pieces of them that are planned or on must have one origin: what
//! they were `machined-with`, or else their donor. Where one place is on another
//! hand, bank or cylinder than the other, the two have nothing to do with each
//! other, so that each rod needs only its own cap.
//!
//! Where the origin of a piece is not known but that of its mate is, it is a
//! warning.
//!
//! ## Wrong
//!
//! ```yaml donors/all.yaml
//! van: {name: The van}
//! hatch: {name: The hatch}
//! ```
//!
//! ```yaml parts/all.yaml
//! head:
//!   name: Cylinder head
//!   mates: [caps, shaft-bridge]
//!   pieces: {H1: {donor: van, condition: serviceable, goes: engine/head}}
//! caps:
//!   name: Camshaft caps
//!   pieces: {C2: {donor: hatch, condition: serviceable, goes: engine/caps}}
//! shaft-bridge:
//!   name: Bridge
//!   pieces: {B1: {condition: serviceable, goes: engine/bridge}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {head: {}, caps: {}, bridge: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:7:61: error: `caps/C2` is meant for engine/caps, and is from hatch, where its mate `head/H1` is from van [parted-mates]
//!     parts/all.yaml:4:59: `head/H1` is meant for engine/head
//!     parts/all.yaml:3:11: machined together by this
//!     to do: put its own mate with it; if the two were machined together since, write `machined-with` in both
//! parts/all.yaml:10:47: warning: `shaft-bridge/B1` is meant for engine/bridge, and nothing says where it is from, where its mate `head/H1` is from van [parted-mates]
//!     parts/all.yaml:4:59: `head/H1` is meant for engine/head
//!     parts/all.yaml:3:17: machined together by this
//!     to do: write its `donor`, or what it was `machined-with`
//! ```
//!
//! ## Right
//!
//! ```yaml build.yaml
//! name: Example
//! cylinders: 2
//! ```
//!
//! ```yaml donors/all.yaml
//! van: {name: The van}
//! hatch: {name: The hatch}
//! ```
//!
//! ```yaml parts/all.yaml
//! head:
//!   name: Cylinder head
//!   mates: [caps]
//!   pieces:
//!     H1: {donor: van, condition: serviceable, goes: engine/head}
//!     H2: {donor: hatch, condition: scrap, because: cracked}
//! caps:
//!   name: Camshaft caps
//!   pieces:
//!     C1: {donor: van, condition: serviceable, goes: engine/caps}
//! rod:
//!   name: Rod
//!   mates: [rod-cap]
//!   pieces:
//!     R1: {donor: van, condition: serviceable, goes: engine/rod-1}
//!     R2: {donor: hatch, condition: serviceable, goes: engine/rod-2}
//! rod-cap:
//!   name: Cap of a rod
//!   pieces:
//!     R1: {donor: van, condition: serviceable, goes: engine/rod-cap-1}
//!     R2: {donor: hatch, condition: serviceable, goes: engine/rod-cap-2}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   places:
//!     head: {}
//!     caps: {}
//!     rod: {each: cylinder}
//!     rod-cap: {each: cylinder}
//! ```

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::Stage;
use crate::present::{Mates, Stay, View};

/// The rule.
pub const RULE: Rule = Rule {
    name: "parted-mates",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let mated = Mates::of(&cx.folder.model.part);
    if mated.is_empty() {
        return;
    }
    let mut told = BTreeSet::new();
    for view in cx.present().views() {
        for (piece, finding) in parted(cx, *view, &mated) {
            if told.insert(piece) {
                findings.push(finding);
            }
        }
    }
}

/// The pieces that are with others than their own, in a view.
fn parted(cx: &Context<'_>, view: View, mated: &Mates<'_>) -> Vec<(usize, Finding)> {
    let present = cx.present();
    let stays = present.stays_in(view);
    let stays = stays.filter(|stay| mated.has(present.piece(stay).part));
    let stays: Vec<&Stay> = stays.collect();
    let mates = |a: &Stay, b: &Stay| {
        let (part, other) = (present.piece(a).part, present.piece(b).part);
        let (place, beside) = (present.place(a), present.place(b));
        a.piece != b.piece
            && mated.says(part, other).is_some()
            && place.may_mate(beside, part == other)
    };
    let mut found = Vec::new();
    for group in groups(&stays, mates) {
        let own = anchor(cx, &group);
        for stay in &group {
            let piece = present.piece(stay);
            let origin = piece.origin();
            if origin.is_some() && origin == own {
                continue;
            }
            // The furthest on of those it does not go with; its own kind says it best.
            let others = group.iter().filter(|other| mates(stay, other));
            let others = others.filter(|other| {
                let other = present.piece(other).origin();
                other.is_some() && other != origin
            });
            let other = others.max_by_key(|other| {
                (present.piece(other).origin() == own, other.claim, std::cmp::Reverse(other.number))
            });
            if let Some(other) = other {
                let finding = tell(cx, stay, other, mated);
                found.extend(finding.map(|finding| (stay.piece, finding)));
            }
        }
    }
    found
}

/// Stays that hang together by mates, directly or through others.
fn groups<'s>(stays: &[&'s Stay], mates: impl Fn(&Stay, &Stay) -> bool) -> Vec<Vec<&'s Stay>> {
    let mut left: Vec<&Stay> = stays.to_vec();
    let mut groups = Vec::new();
    while let Some(first) = left.first().copied() {
        left.remove(0);
        let mut group = vec![first];
        let mut at = 0;
        while let Some(one) = group.get(at).copied() {
            let (near, far) = left.into_iter().partition(|other| mates(one, other));
            let near: Vec<&Stay> = near;
            group.extend(near);
            left = far;
            at += 1;
        }
        group.sort_by_key(|stay| stay.number);
        groups.push(group);
    }
    groups
}

/// The origin that the others are held against: of what is furthest on, then of most
/// pieces, then of the part that names its mates.
fn anchor<'a>(cx: &Context<'a>, group: &[&Stay]) -> Option<&'a str> {
    let present = cx.present();
    let mut origins: BTreeMap<&str, (Stage, usize, bool)> = BTreeMap::new();
    for stay in group {
        let piece = present.piece(stay);
        let Some(origin) = piece.origin() else {
            continue;
        };
        let names_them = !piece.of.mates.is_empty();
        let (claim, count, names) = origins.entry(origin).or_insert((Stage::Bench, 0, false));
        *claim = stay.claim.max(*claim);
        *count += 1;
        *names |= names_them;
    }
    let best = origins.into_iter().rev().max_by_key(|(_, weight)| *weight);
    best.map(|(origin, _)| origin)
}

fn tell(cx: &Context<'_>, stay: &Stay, other: &Stay, mated: &Mates<'_>) -> Option<Finding> {
    let present = cx.present();
    let (piece, mate) = (present.piece(stay), present.piece(other));
    let its = mate.origin()?;
    let by = |origin: &str, machined: bool| match machined {
        true => format!("was machined with {origin}"),
        false => format!("is from {origin}"),
    };
    let other_is = by(its, mate.record.machined_with.is_some());
    let (message, remedy) = match piece.origin() {
        Some(own) => (
            format!(
                "`{}` {}, and {}, where its mate `{}` {other_is}",
                piece.name(),
                how(present, stay),
                by(own, piece.record.machined_with.is_some()),
                mate.name()
            ),
            "put its own mate with it; if the two were machined together since, write \
             `machined-with` in both",
        ),
        None => (
            format!(
                "`{}` {}, and nothing says where it is from, where its mate `{}` {other_is}",
                piece.name(),
                how(present, stay),
                mate.name()
            ),
            "write its `donor`, or what it was `machined-with`",
        ),
    };
    let mut finding = cx.finding_in(cx.stay_at(stay), message, remedy)?;
    finding.stage = Some(stay.claim.min(other.claim));
    if piece.origin().is_none() {
        finding = finding.at_level(Level::Warning);
    }
    let finding = finding.see_at(
        cx,
        cx.stay_at(other),
        format!("`{}` {}", mate.name(), how(present, other)),
    );
    Some(match mated.says(piece.part, mate.part) {
        Some((part, number)) => {
            let says = cx.value_at(Kind::Parts, part, &["mates".into(), number.into()]);
            finding.see_at(cx, says, "machined together by this")
        }
        None => finding,
    })
}
