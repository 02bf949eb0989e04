//! # scrap-fitted
//!
//! A piece that is scrap, or wants repair, is planned for a place or on in it.
//!
//! What was put aside as scrap comes back out of the wrong box, and what wanted a
//! repair is forgotten once it is on. For mock-up either will do, so until then it
//! is a note. Fitted for good, or closed over, it is an error: put right, the piece
//! gets another `condition`, and the record then says so.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! head:
//!   name: Cylinder head
//!   number: "16-HD-2"
//!   pieces:
//!     H1: {condition: scrap, because: cracked inside, goes: engine/head}
//! mount:
//!   name: Engine mount
//!   number: "MT-1"
//!   pieces:
//!     M1: {condition: repairable, goes: engine/mount,
//!       fitted: [{as: final, when: 2026-02-20}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   places: {head: {takes: ["16-HD-2"]}, mount: {takes: ["MT-1"]}}
//! ```
//!
//! ```text
//! parts/all.yaml:5:59: note: `head/H1` is meant for engine/head, and is scrap: cracked inside [scrap-fitted]
//!     parts/all.yaml:5:21: its condition
//!     assemblies/all.yaml:3:12: the place
//!     to do: plan another piece, or keep it to mock-up
//! parts/all.yaml:11:16: error: `mount/M1` is on in engine/mount for good, and is still to be repaired [scrap-fitted]
//!     parts/all.yaml:10:21: its condition
//!     assemblies/all.yaml:3:40: the place
//!     to do: repair it and change its `condition`, or plan another piece
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! head:
//!   name: Cylinder head
//!   number: "16-HD-2"
//!   pieces:
//!     H1: {condition: scrap, because: cracked inside, keep: pattern}
//!     H2: {condition: serviceable, goes: engine/head}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {head: {takes: ["16-HD-2"]}}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::common::Condition;

/// The rule.
pub const RULE: Rule = Rule {
    name: "scrap-fitted",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for stay in &present.stays {
        let piece = present.piece(stay);
        let (is, remedy) = match piece.record.condition {
            Some(Condition::Scrap) => ("scrap", "plan another piece, or keep it to mock-up"),
            Some(Condition::Repairable) => (
                "still to be repaired",
                "repair it and change its `condition`, or plan another piece",
            ),
            _ => continue,
        };
        let why = match &piece.record.because {
            Some(because) => format!(": {because}"),
            None => String::new(),
        };
        let message = format!("`{}` {}, and is {is}{why}", piece.name(), how(present, stay));
        let finding = cx.finding_in(cx.stay_at(stay), message, remedy);
        findings.extend(finding.map(|finding| {
            finding
                .by_claim(stay.claim, Level::Note)
                .see_at(
                    cx,
                    cx.in_piece_at(piece, &["condition".into()]),
                    "its condition",
                )
                .see_at(cx, cx.place_at(stay.place), "the place")
        }));
    }
}
