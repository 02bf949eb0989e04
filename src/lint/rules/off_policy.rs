//! # off-policy
//!
//! A piece is placed that the policy of the build does not want.
//!
//! `policy` in `build.yaml` says which grades are wanted and how new pieces
//! should be. A list that is empty, or not there, wants nothing in particular,
//! and a piece that does not say its grade or how new it is is not against it. A
//! good reason for the one exception belongs in a decision, which then settles it
//! for that piece.
//!
//! ## Wrong
//!
//! ```yaml build.yaml
//! name: Example
//! policy: {grade: [genuine, maker's supplier], because: it shall stay repairable}
//! ```
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Water pump
//!   pieces:
//!     P1: {grade: aftermarket, newness: new, goes: cooling/pump}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! cooling: {in: car, places: {pump: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:4:50: warning: `pump/P1` is meant for cooling/pump, and its grade is aftermarket, where the build wants genuine or maker's supplier [off-policy]
//!     assemblies/all.yaml:1:29: the place
//!     build.yaml:2:9: the policy
//!     to do: put another piece there, or give the reason in a decision that settles it at parts/pump/P1
//! ```
//!
//! ## Right
//!
//! ```yaml build.yaml
//! name: Example
//! policy: {grade: [genuine, maker's supplier], because: it shall stay repairable}
//! ```
//!
//! ```yaml parts/all.yaml
//! pump:
//!   name: Water pump
//!   pieces:
//!     P1: {grade: aftermarket, newness: new, goes: cooling/pump}
//!     P2: {newness: used, goes: cooling/spare}
//!     P3: {grade: aftermarket, keep: spare}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! cooling: {in: car, places: {pump: {}, spare: {}}}
//! ```
//!
//! ```yaml decisions/all.yaml
//! other-pump:
//!   asks: which water pump
//!   options: {aftermarket: {}, none: {}}
//!   chosen: aftermarket
//!   because: no other is to be had
//!   settles: [{rule: off-policy, at: parts/pump/P1}]
//! ```

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::present::proof::off_policy;

/// The rule.
pub const RULE: Rule = Rule {
    name: "off-policy",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let Some(policy) = &cx.folder.model.build.policy else {
        return;
    };
    for piece in &present.pieces {
        let stays = piece.stays.iter().map(|stay| &present.stays[*stay]);
        let Some(stay) = stays.rev().max_by_key(|stay| (stay.claim, stay.is_on())) else {
            continue;
        };
        let Some(against) = off_policy(piece, policy) else {
            continue;
        };
        let message = format!("`{}` {}, and {against}", piece.name(), how(present, stay));
        let remedy = format!(
            "put another piece there, or give the reason in a decision that settles it at parts/{}",
            piece.name()
        );
        let Some(mut finding) = cx.finding_in(cx.stay_at(stay), message, remedy) else {
            continue;
        };
        finding.stage = Some(stay.claim);
        findings.push(
            finding
                .see_at(cx, cx.place_at(stay.place), "the place")
                .see_at(cx, cx.build_at(&["policy".into()]), "the policy"),
        );
    }
}
