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
//! selector:
//!   name: Selector rod
//!   pieces:
//!     R1: {condition: scrap, because: bent, goes: gearbox/selector,
//!       fitted: [{as: mock-up, when: 2026-02-20}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   places: {head: {takes: ["16-HD-2"]}, mount: {takes: ["MT-1"]}}
//! gearbox:
//!   in: car
//!   closed: [{when: 2026-02-22}]
//!   places: {selector: {}}
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
//!     to do: repair it and change its `condition`, or put another piece there
//! parts/all.yaml:16:16: error: `selector/R1` is on in gearbox/selector for mock-up, with gearbox closed over it, and is scrap: bent [scrap-fitted]
//!     parts/all.yaml:15:21: its condition
//!     assemblies/all.yaml:7:12: the place
//!     to do: open `gearbox` again and put a sound piece there, and write both down
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
use crate::model::common::{Condition, Stage};
use crate::present::{Present, Stay};

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
            Some(Condition::Scrap) => ("scrap", scrapped(present, stay)),
            Some(Condition::Repairable) => (
                "still to be repaired",
                "repair it and change its `condition`, or put another piece there".to_owned(),
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

/// What to do with a piece that is scrap where it is.
fn scrapped(present: &Present<'_>, stay: &Stay) -> String {
    let by = present.assemblies[present.place(stay).assembly].closed_by;
    match (stay.stage, by) {
        (Stage::Final, _) => "take it off and put a sound piece there, and write both down".to_owned(),
        (Stage::MockUp, Some(by)) => format!(
            "open `{}` again and put a sound piece there, and write both down",
            present.assemblies[by].id
        ),
        _ => "plan another piece, or keep it to mock-up".to_owned(),
    }
}
