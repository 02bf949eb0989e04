//! # missing-provenance
//!
//! An engine, gearbox, body or control unit is on, and its record does not say
//! where it came from, when, or its number.
//!
//! Whoever inspects or registers the car asks where these came from, and years
//! later nobody remembers. So a part that `bears` a number wants, once a piece of
//! it is on: a donor or a seller, the day it was bought (its own, its donor's or
//! its order's), and the number that is stamped on it. Which papers are asked for
//! differs from country to country: ask the authority that registers the car.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! short-block:
//!   name: Short block
//!   bears: engine number
//!   pieces:
//!     B1: {goes: engine/block, fitted: [{as: mock-up, when: 2026-02-20}]}
//! gearbox:
//!   name: Gearbox
//!   bears: gearbox number
//!   pieces:
//!     X1: {donor: van, stamped: "KS5-77", goes: gearbox/box,
//!       fitted: [{as: final, when: 2026-02-20}]}
//! ```
//!
//! ```yaml donors/all.yaml
//! van: {maker: Pell, year: 1996}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {block: {}}}
//! gearbox: {in: car, places: {box: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:5:39: warning: `short-block/B1` is on in engine/block for mock-up, and nothing says where it came from, when it was bought or its engine number [missing-provenance]
//!     to do: write its `donor`, or the seller as `bought: {from: …}`, the day as `bought: {when: …}` and its number as `stamped`
//! parts/all.yaml:11:16: warning: `gearbox/X1` is on in gearbox/box for good, and nothing says when it was bought [missing-provenance]
//!     donors/all.yaml:1:1: its donor
//!     to do: write the day as `bought: {when: …}` here or in donors/van
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! short-block:
//!   name: Short block
//!   bears: engine number
//!   pieces:
//!     B1: {donor: van, stamped: "DM4-418", goes: engine/block,
//!       condition: serviceable,
//!       fitted: [{as: final, when: 2026-02-20}]}
//! ```
//!
//! ```yaml donors/all.yaml
//! van: {maker: Pell, year: 1996, bought: {from: a farmer, when: 2025-06-01}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {block: {}}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::near::spoken;
use crate::model::Kind;
use crate::present::Piece;

/// The rule.
pub const RULE: Rule = Rule {
    name: "missing-provenance",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for piece in &present.pieces {
        let (Some(bears), Some(stay)) = (piece.of.bears, present.foremost(piece)) else {
            continue;
        };
        if !stay.is_on() {
            continue;
        }
        let (source, mut day) = origin(cx, piece);
        let donor = piece.record.donor.as_ref().map(|donor| donor.as_str());
        // A donor that is not there may well say when, and is told as such.
        day |= donor.is_some_and(|donor| !cx.folder.model.donor.contains_key(donor));
        let mut lacks = Vec::new();
        let mut write = Vec::new();
        if !source {
            lacks.push("where it came from".to_owned());
            write.push("its `donor`, or the seller as `bought: {from: …}`".to_owned());
        }
        if !day {
            lacks.push("when it was bought".to_owned());
            write.push(match donor {
                Some(donor) => format!("the day as `bought: {{when: …}}` here or in donors/{donor}"),
                None => "the day as `bought: {when: …}`".to_owned(),
            });
        }
        if piece.record.stamped.is_none() {
            lacks.push(format!("its {}", bears.word()));
            write.push("its number as `stamped`".to_owned());
        }
        if lacks.is_empty() {
            continue;
        }
        let message = format!(
            "`{}` {}, and nothing says {}",
            piece.name(),
            how(present, stay),
            spoken(&lacks, "or")
        );
        let remedy = format!("write {}", spoken(&write, "and"));
        let finding = cx.finding_in(cx.stay_at(stay), message, remedy);
        findings.extend(finding.map(|finding| {
            let donor = donor.filter(|_| !day);
            let spot = donor.and_then(|donor| cx.key_at(Kind::Donors, donor, &[]));
            finding.see_at(cx, spot, "its donor")
        }));
    }
}

/// Whether it is known where a piece came from, and when.
fn origin(cx: &Context<'_>, piece: &Piece<'_>) -> (bool, bool) {
    let model = &cx.folder.model;
    let bought = piece.record.bought.as_ref();
    let donor = piece.record.donor.as_ref();
    let from_donor = donor.and_then(|donor| model.donor.get(donor.as_str()));
    let from_donor = from_donor.and_then(|donor| donor.data.bought.as_ref());
    let order = [bought, from_donor].into_iter().flatten().find_map(|one| one.order.as_ref());
    let order = order.and_then(|order| model.job.get(order.as_str())).map(|order| &order.data);
    let source = donor.is_some()
        || bought.is_some_and(|bought| bought.from.is_some())
        || order.is_some_and(|order| order.from.is_some());
    let day = [bought, from_donor].into_iter().flatten().any(|one| one.when.is_some())
        || order.is_some_and(|order| order.ordered.is_some() || order.arrived.is_some());
    (source, day)
}
