//! # unproven-fitted
//!
//! A piece that nobody has looked at is planned for a place or on in it.
//!
//! What came off a donor has a history that nobody wrote down. Such a piece is
//! `condition: unchecked`, or is used, or from a donor, with no condition stated.
//! What never ran, a bag of clips from the counter, has no history to be proved.
//! For a plan or for mock-up an unproven piece may well do, so until then it is a
//! warning; fitted for good, or closed over, it is an error.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Fuel pump
//!   pieces:
//!     P1: {newness: used, condition: unchecked, goes: fuel/pump}
//!     P2: {newness: used, goes: fuel/booster, fitted: [{as: final,
//!       when: 2026-02-20}]}
//!     P3: {donor: van, goes: fuel/spare}
//! ```
//!
//! ```yaml donors/all.yaml
//! van: {maker: Pell}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel: {in: car, places: {pump: {}, booster: {}, spare: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:4:53: warning: `pump/P1` is meant for fuel/pump, and nobody has looked at it yet [unproven-fitted]
//!     parts/all.yaml:4:36: its condition
//!     assemblies/all.yaml:1:26: the place
//!     to do: look it over and write its `condition`, or put a proven piece there
//! parts/all.yaml:5:54: error: `pump/P2` is on in fuel/booster for good, and its condition is not stated [unproven-fitted]
//!     assemblies/all.yaml:1:36: the place
//!     to do: look it over and write its `condition`, or put a proven piece there
//! parts/all.yaml:7:28: warning: `pump/P3` is meant for fuel/spare, and its condition is not stated [unproven-fitted]
//!     assemblies/all.yaml:1:49: the place
//!     to do: look it over and write its `condition`; if it is new, write `newness: new`
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Fuel pump
//!   pieces:
//!     P1: {newness: used, condition: serviceable, goes: fuel/pump}
//!     P2: {newness: new, goes: fuel/booster}
//!     P3: {newness: used, condition: unchecked, kept-in: box 4}
//!     P4: {newness: old stock, goes: fuel/spare}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel: {in: car, places: {pump: {}, booster: {}, spare: {}}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::present::proof::unproven;

/// The rule.
pub const RULE: Rule = Rule {
    name: "unproven-fitted",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for piece in &present.pieces {
        let stays = piece.stays.iter().map(|stay| &present.stays[*stay]);
        // A lot may be in many places: what is furthest on says it for all.
        let Some(stay) = stays.rev().max_by_key(|stay| (stay.claim, stay.is_on())) else {
            continue;
        };
        let Some(why) = unproven(piece) else {
            continue;
        };
        // A word that is none is told as such.
        let way = ["pieces".into(), piece.mark.into(), "condition".into()];
        let is_written = cx.value_at(Kind::Parts, piece.part, &way).is_some();
        if is_written && piece.record.condition.is_none() {
            continue;
        }
        let message = format!("`{}` {}, and {why}", piece.name(), how(present, stay));
        let remedy = match (piece.record.condition, piece.record.newness) {
            (None, None) => {
                "look it over and write its `condition`; if it is new, write `newness: new`"
            }
            _ => "look it over and write its `condition`, or put a proven piece there",
        };
        let finding = cx.finding_in(cx.stay_at(stay), message, remedy);
        findings.extend(finding.map(|finding| {
            let finding = finding.by_claim(stay.claim, Level::Warning);
            let finding = match piece.record.condition {
                Some(_) => {
                    let condition = cx.in_piece_at(piece, &["condition".into()]);
                    finding.see_at(cx, condition, "its condition")
                }
                None => finding,
            };
            finding.see_at(cx, cx.place_at(stay.place), "the place")
        }));
    }
}
