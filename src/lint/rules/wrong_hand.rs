//! # wrong-hand
//!
//! A part of one hand, bank or cylinder is in a place of another.
//!
//! Left and right, and what belongs to one bank or one cylinder, are told by
//! `hand`, `bank` and `cylinder` of the part and of the place; a place that is
//! there for each of them has its own. Only these fields count, never the part
//! number: a maker gives the two hands two numbers, or one. A part that says
//! nothing goes anywhere. So does any part in a place that says nothing.
//!
//! A bank or cylinder that the engine does not have, by `banks` and `cylinders`
//! of `build.yaml`, is a slip too.
//!
//! ## Wrong
//!
//! ```yaml build.yaml
//! name: Example
//! cylinders: 4
//! ```
//!
//! ```yaml parts/all.yaml
//! bracket-left:
//!   name: Bracket, left
//!   hand: left
//!   pieces: {B1: {condition: serviceable, goes: engine/mount-right}}
//! rod:
//!   name: Rod
//!   cylinder: 6
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   places: {mount: {each: hand}, plug: {cylinder: 5}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:3:50: error: `engine/plug` is for cylinder 5, and this engine has 4 cylinders [wrong-hand]
//!     build.yaml:2:12: the cylinders of the engine
//!     to do: mend `cylinder` here, or `cylinders` in build.yaml
//! parts/all.yaml:4:47: error: `bracket-left/B1` is meant for engine/mount-right, which is a right-hand place, and the part is left-hand [wrong-hand]
//!     parts/all.yaml:3:9: what the part says
//!     assemblies/all.yaml:3:12: the place
//!     to do: write engine/mount-left if that is where it is, or put a part for this side there
//! parts/all.yaml:7:13: error: `rod` is for cylinder 6, and this engine has 4 cylinders [wrong-hand]
//!     build.yaml:2:12: the cylinders of the engine
//!     to do: mend `cylinder` here, or `cylinders` in build.yaml
//! ```
//!
//! ## Right
//!
//! ```yaml build.yaml
//! name: Example
//! cylinders: 4
//! ```
//!
//! ```yaml parts/all.yaml
//! bracket-left:
//!   name: Bracket, left
//!   hand: left
//!   pieces: {B1: {condition: serviceable, goes: engine/mount-left}}
//! bracket:
//!   name: Bracket for either side
//!   pieces: {B2: {condition: serviceable, goes: engine/mount-right}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   places: {mount: {each: hand}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::near::spoken;

/// The rule.
pub const RULE: Rule = Rule {
    name: "wrong-hand",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    crossed(cx, findings);
    let model = &cx.folder.model;
    for (id, part) in &model.part {
        let name = format!("`{id}`");
        let (bank, cylinder) = (part.data.bank, part.data.cylinder);
        lacking(cx, findings, Kind::Parts, id, &[], &name, bank, cylinder);
    }
    for (id, assembly) in &model.assembly {
        for (key, place) in &assembly.data.places {
            let name = format!("`{id}/{}`", key.as_str());
            let way = ["places", key.as_str()];
            let (bank, cylinder) = (place.bank, place.cylinder);
            lacking(cx, findings, Kind::Assemblies, id, &way, &name, bank, cylinder);
        }
    }
}

/// Parts that went to the other side.
fn crossed(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for stay in &present.stays {
        let (piece, place) = (present.piece(stay), present.place(stay));
        let mut part_is = Vec::new();
        let mut place_is = Vec::new();
        let mut first = None;
        if let (Some(own), Some(wanted)) = (piece.of.hand, place.hand)
            && own != wanted
        {
            part_is.push(format!("{}-hand", own.word()));
            place_is.push(format!("a {}-hand place", wanted.word()));
            first.get_or_insert("hand");
        }
        for (what, own, wanted) in [
            ("bank", piece.of.bank, place.bank),
            ("cylinder", piece.of.cylinder, place.cylinder),
        ] {
            if let (Some(own), Some(wanted)) = (own, wanted)
                && own != wanted
            {
                part_is.push(format!("for {what} {own}"));
                place_is.push(format!("on {what} {wanted}"));
                first.get_or_insert(what);
            }
        }
        let Some(first) = first else {
            continue;
        };
        let words = |all: &[String]| {
            let all: Vec<&str> = all.iter().map(String::as_str).collect();
            spoken(&all, "and")
        };
        let message = format!(
            "`{}` {}, which is {}, and the part is {}",
            piece.name(),
            how(present, stay),
            words(&place_is),
            words(&part_is)
        );
        let beside = present.places.iter().find(|one| {
            one.assembly == place.assembly
                && one.key == place.key
                && [
                    (piece.of.hand.map(|hand| hand as u32), one.hand.map(|hand| hand as u32)),
                    (piece.of.bank, one.bank),
                    (piece.of.cylinder, one.cylinder),
                ]
                .iter()
                .all(|(own, wanted)| own.is_none() || wanted.is_none() || own == wanted)
        });
        let remedy = match beside {
            Some(beside) => format!(
                "write {} if that is where it is, or put a part for this side there",
                beside.name
            ),
            None => format!("put a part for this side there, or mend `{first}` of the part or of the place"),
        };
        let Some(mut finding) = cx.finding_in(cx.stay_at(stay), message, remedy) else {
            continue;
        };
        finding.stage = Some(stay.claim);
        let says = cx.value_at(Kind::Parts, piece.part, &[first.into()]);
        findings.push(
            finding
                .see_at(cx, says, "what the part says")
                .see_at(cx, cx.place_at(stay.place), "the place"),
        );
    }
}

/// Banks and cylinders that the engine does not have.
#[allow(clippy::too_many_arguments)]
fn lacking(
    cx: &Context<'_>,
    findings: &mut Vec<Finding>,
    kind: Kind,
    id: &str,
    way: &[&str],
    name: &str,
    bank: Option<u32>,
    cylinder: Option<u32>,
) {
    let build = &cx.folder.model.build;
    for (what, all, is, has) in [
        ("bank", "banks", bank, build.banks),
        ("cylinder", "cylinders", cylinder, build.cylinders),
    ] {
        let (Some(is), Some(has)) = (is, has) else {
            continue;
        };
        if is <= has {
            continue;
        }
        let have = match has {
            1 => format!("one {what}"),
            _ => format!("{has} {all}"),
        };
        let message = format!("{name} is for {what} {is}, and this engine has {have}");
        let remedy = format!("mend `{what}` here, or `{all}` in build.yaml");
        let mut whole: Vec<crate::yaml::Step> = way.iter().map(|key| (*key).into()).collect();
        whole.push(what.into());
        let finding = cx.finding_in(cx.value_at(kind, id, &whole), message, remedy);
        findings.extend(finding.map(|finding| {
            let says = cx.build_at(&[all.into()]);
            finding.see_at(cx, says, format!("the {all} of the engine"))
        }));
    }
}
