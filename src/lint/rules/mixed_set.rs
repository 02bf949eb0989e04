//! # mixed-set
//!
//! The pieces of a set are not alike.
//!
//! Places with `set: true` want alike pieces: one part number, and readings that
//! lie no further apart than the `spread` of the part's limits. Parts that are
//! made for one hand, bank or cylinder may well differ in number among
//! themselves. Where the pieces are of several parts whose limits differ, the
//! least spread counts. What was not measured is not held against it, nor is what
//! was measured on a piece that is planned and still to be repaired: it comes back
//! another.
//!
//! What is on and what is planned are both looked at. It is an error once both of
//! those that differ are on for good or closed over; before, it is a warning.
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
//!   number: "QX-1180"
//!   limits: {flow: {spread: 2 %}}
//!   pieces:
//!     N1: {condition: serviceable, goes: fuel/injector-1,
//!       readings: [{what: flow, is: 182 cc/min}]}
//!     N2: {condition: serviceable, goes: fuel/injector-2,
//!       readings: [{what: flow, is: 189 cc/min}]}
//! plug:
//!   name: Spark plug
//!   number: "TZ-6"
//!   pieces:
//!     K1: {newness: new, goes: fuel/plug-1, fitted: [{as: final,
//!       when: 2026-02-14}]}
//! plug-hot:
//!   name: Spark plug, hotter
//!   number: "TZ-5"
//!   pieces:
//!     K1: {newness: new, goes: fuel/plug-2, fitted: [{as: final,
//!       when: 2026-02-14}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel:
//!   in: car
//!   places:
//!     injector: {each: cylinder, set: true}
//!     plug: {each: cylinder, set: true}
//! ```
//!
//! ```text
//! parts/all.yaml:9:35: warning: `injector/N1` with a flow of 182 cc/min and `injector/N2` with 189 cc/min are of one set, fuel/injector, and 3.85 % apart, more than 2 % [mixed-set]
//!     parts/all.yaml:8:40: `injector/N2` is meant for fuel/injector-2
//!     parts/all.yaml:7:35: the reading of `injector/N1`
//!     parts/all.yaml:6:40: `injector/N1` is meant for fuel/injector-1
//!     parts/all.yaml:4:27: the spread that is allowed
//!     to do: put a piece there that is closer to the others, or measure again
//! parts/all.yaml:20:52: error: `plug-hot/K1` is on in fuel/plug-2 for good, one of a set, and is TZ-5, where `plug/K1` is TZ-6 [mixed-set]
//!     parts/all.yaml:14:52: `plug/K1` is on in fuel/plug-1 for good
//!     assemblies/all.yaml:5:5: the set fuel/plug
//!     to do: put pieces of one number there
//! ```
//!
//! ## Right
//!
//! ```yaml build.yaml
//! name: Example
//! cylinders: 3
//! ```
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   number: "QX-1180"
//!   limits: {flow: {spread: 2 %}}
//!   pieces:
//!     N1: {condition: serviceable, goes: fuel/injector-1,
//!       readings: [{what: flow, is: 182 cc/min}]}
//!     N2: {condition: serviceable, goes: fuel/injector-2,
//!       readings: [{what: flow, is: 185 cc/min}]}
//!     N3: {condition: repairable, because: clogged, goes: fuel/injector-3,
//!       readings: [{what: flow, is: 158 cc/min}]}
//! mount-left:
//!   name: Mount, left
//!   number: "MT-1"
//!   hand: left
//!   pieces: {M1: {condition: serviceable, goes: fuel/mount-left}}
//! mount-right:
//!   name: Mount, right
//!   number: "MT-2"
//!   hand: right
//!   pieces: {M2: {condition: serviceable, goes: fuel/mount-right}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel:
//!   in: car
//!   places:
//!     injector: {each: cylinder, set: true}
//!     mount: {each: hand, set: true}
//! ```

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::{Condition, Limit, Name, Reading, Stage};
use crate::model::part::Part;
use crate::present::measure::{alike, apart, last_readings};
use crate::present::{Piece, Stay};
use crate::reckon::quantity::Quantity;
use crate::reckon::unit::Amount;

/// The rule.
pub const RULE: Rule = Rule {
    name: "mixed-set",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for (name, places) in sets(cx) {
        let mut told = BTreeSet::new();
        for view in present.views() {
            let stays = places.iter().flat_map(|place| present.in_place(*place, *view));
            // A bag that fills several places is in the set once, where it is furthest on.
            let mut members: BTreeMap<usize, &Stay> = BTreeMap::new();
            for stay in stays {
                let member = members.entry(stay.piece).or_insert(stay);
                if stay.claim > member.claim {
                    *member = stay;
                }
            }
            let members: Vec<&Stay> = members.into_values().collect();
            let odd = unlike(cx, &name, &members);
            for (pair, finding) in odd.into_iter().chain(spread_out(cx, &name, &members)) {
                if told.insert(pair) {
                    findings.push(finding);
                }
            }
        }
    }
}

/// What a finding is about: the two pieces, and the reading; none for their numbers.
type Pair = (usize, usize, Option<String>);

/// The sets: the places of one record, under the name that the record has.
fn sets(cx: &Context<'_>) -> BTreeMap<String, Vec<usize>> {
    let present = cx.present();
    let mut sets: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (number, place) in present.places.iter().enumerate() {
        if place.record.set == Some(true) {
            let name = format!("{}/{}", present.assemblies[place.assembly].id, place.key);
            sets.entry(name).or_default().push(number);
        }
    }
    sets
}

/// What a part is ordered by, or else called.
fn number<'a>(piece: &Piece<'a>) -> &'a str {
    match &piece.of.number {
        Some(number) => number.as_str(),
        None => piece.part,
    }
}

/// Whether two parts are made for different sides.
fn of_other_sides(a: &Part, b: &Part) -> bool {
    let differ = |a: Option<u32>, b: Option<u32>| matches!((a, b), (Some(a), Some(b)) if a != b);
    let hands = |part: &Part| part.hand.map(|hand| hand as u32);
    differ(hands(a), hands(b)) || differ(a.bank, b.bank) || differ(a.cylinder, b.cylinder)
}

fn pairs<'m>(members: &[&'m Stay]) -> impl Iterator<Item = (&'m Stay, &'m Stay)> {
    let all = members.iter().enumerate();
    all.flat_map(|(at, one)| members[at + 1..].iter().map(move |other| (*one, *other)))
}

fn lower(a: &Stay, b: &Stay) -> Stage {
    a.claim.min(b.claim)
}

/// Pieces of one set with unlike numbers: of those that differ the two furthest on.
fn unlike(cx: &Context<'_>, name: &str, members: &[&Stay]) -> Option<(Pair, Finding)> {
    let present = cx.present();
    let differ = |a: &Stay, b: &Stay| {
        let (a, b) = (present.piece(a), present.piece(b));
        number(a) != number(b) && !of_other_sides(a.of, b.of)
    };
    let differing = pairs(members).filter(|(a, b)| differ(a, b));
    let (a, b) = differing.rev_max(|(a, b)| lower(a, b))?;
    // The odd one is that of which there are fewer.
    let alike_to = |one: &Stay| {
        let own = number(present.piece(one));
        members.iter().filter(|other| number(present.piece(other)) == own).count()
    };
    let (odd, other) = if alike_to(a) < alike_to(b) { (a, b) } else { (b, a) };
    let (piece, beside) = (present.piece(odd), present.piece(other));
    let message = format!(
        "`{}` {}, one of a set, and is {}, where `{}` is {}",
        piece.name(),
        how(present, odd),
        number(piece),
        beside.name(),
        number(beside)
    );
    let remedy = "put pieces of one number there";
    let finding = cx.finding_in(cx.stay_at(odd), message, remedy)?;
    let words = format!("`{}` {}", beside.name(), how(present, other));
    let finding = finding
        .by_claim(lower(odd, other), Level::Warning)
        .see_at(cx, cx.stay_at(other), words)
        .see_at(cx, cx.place_at(odd.place), format!("the set {name}"));
    Some(((odd.piece, other.piece, None), finding))
}

/// The first of the greatest, where `max_by_key` gives the last.
trait FirstMax: Iterator + Sized {
    fn rev_max<K: Ord>(self, key: impl Fn(&Self::Item) -> K) -> Option<Self::Item> {
        self.fold(None, |best, one| match best {
            Some(best) if key(&best) >= key(&one) => Some(best),
            _ => Some(one),
        })
    }
}

impl<I: Iterator> FirstMax for I {}

/// A piece of a set with its reading.
struct Measured<'a> {
    stay: &'a Stay,
    number: usize,
    reading: &'a Reading,
    is: Amount,
    limit: Option<&'a Limit>,
    spread: Option<Quantity>,
}

/// Readings of one set that lie too far apart, one finding for each name.
fn spread_out(cx: &Context<'_>, set: &str, members: &[&Stay]) -> Vec<(Pair, Finding)> {
    let present = cx.present();
    let limits = members.iter().flat_map(|stay| &present.piece(stay).of.limits);
    let limits = limits.filter(|(_, limit)| limit.spread.is_some());
    let names: BTreeSet<&str> = limits.map(|(name, _)| name.as_str()).collect();
    let found = names.into_iter().filter_map(|name| {
        let measured = members.iter().filter_map(|stay| {
            let piece = present.piece(stay);
            // What was measured is why it is repaired, and no word on what comes back.
            if !stay.is_on() && piece.record.condition == Some(Condition::Repairable) {
                return None;
            }
            let (number, reading) = *last_readings(piece.record).get(name)?;
            let limit = piece.of.limits.get(&Name(name.to_owned()));
            let spread = limit.and_then(|limit| limit.spread.as_ref());
            Some(Measured {
                stay,
                number,
                reading,
                is: reading.is.as_ref()?.quantity().ok()?.nominal(),
                limit,
                spread: spread.and_then(|spread| spread.quantity().ok()),
            })
        });
        too_far_apart(cx, set, name, &measured.collect::<Vec<_>>())
    });
    found.collect()
}

/// Of the pairs that lie too far apart the two furthest on, and of those the furthest apart.
fn too_far_apart(
    cx: &Context<'_>,
    set: &str,
    name: &str,
    all: &[Measured<'_>],
) -> Option<(Pair, Finding)> {
    let present = cx.present();
    let mut worst: Option<(Stage, f64, &Measured<'_>, &Measured<'_>, &Quantity)> = None;
    for (at, a) in all.iter().enumerate() {
        for b in &all[at + 1..] {
            for spread in [a, b].into_iter().filter_map(|one| one.spread.as_ref()) {
                if alike(&a.is, &b.is, spread) != Some(false) {
                    continue;
                }
                let far = apart(&a.is, &b.is, spread).map_or(0.0, |far| far.value);
                let claim = lower(a.stay, b.stay);
                let is_worse = worst.as_ref().is_none_or(|(stage, by, ..)| {
                    (claim, far.total_cmp(by).is_gt()) > (*stage, false)
                });
                if is_worse {
                    worst = Some((claim, far, a, b, spread));
                }
            }
        }
    }
    let (claim, _, a, b, spread) = worst?;
    let (least, most) = match a.is.compare(&b.is)? {
        std::cmp::Ordering::Greater => (b, a),
        _ => (a, b),
    };
    let (piece, beside) = (present.piece(most.stay), present.piece(least.stay));
    let far = match apart(&a.is, &b.is, spread).filter(|far| far.value.is_finite()) {
        Some(far) => format!("{far:.2} apart, more than {}", spread.text()),
        None => format!("further apart than {}", spread.text()),
    };
    let message = format!(
        "`{}` with a {name} of {} and `{}` with {} are of one set, {set}, and {far}",
        beside.name(),
        least.reading.is.as_ref()?.as_str(),
        piece.name(),
        most.reading.is.as_ref()?.as_str()
    );
    let remedy = "put a piece there that is closer to the others, or measure again";
    let at = |one: &Measured<'_>| {
        let way = ["readings".into(), one.number.into(), "is".into()];
        cx.in_piece_at(present.piece(one.stay), &way)
    };
    let part = if most.limit.is_some_and(|limit| limit.spread.is_some()) {
        piece.part
    } else {
        beside.part
    };
    let limit = cx.value_at(
        Kind::Parts,
        part,
        &["limits".into(), name.into(), "spread".into()],
    );
    let words = |one: &Measured<'_>| {
        let name = present.piece(one.stay).name();
        format!("`{name}` {}", how(present, one.stay))
    };
    let finding = cx
        .finding_in(at(most), message, remedy)?
        .by_claim(claim, Level::Warning)
        .see_at(cx, cx.stay_at(most.stay), words(most))
        .see_at(cx, at(least), format!("the reading of `{}`", beside.name()))
        .see_at(cx, cx.stay_at(least.stay), words(least))
        .see_at(cx, limit, "the spread that is allowed");
    let pair = (least.stay.piece, most.stay.piece, Some(name.to_owned()));
    Some((pair, finding))
}
