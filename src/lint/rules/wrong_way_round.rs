//! # wrong-way-round
//!
//! A place where a part goes one way only is filled for good, with nothing said.
//!
//! Match marks (`marks`) and the way a part must sit (`way-round`) are forgotten
//! in the one moment in which they count. Seen to be right, it is one word in the
//! fitting: `way-round: checked`, or `marked anew` where the marks were made
//! again. For mock-up nothing is asked, unless the assembly is closed over it.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! flywheel:
//!   name: Flywheel
//!   pieces:
//!     F1: {condition: serviceable, goes: engine/flywheel,
//!       fitted: [{as: final, when: 2026-02-14}]}
//! gasket:
//!   name: Head gasket
//!   pieces:
//!     G1: {newness: new, goes: engine/gasket,
//!       fitted: [{as: final, when: 2026-02-14}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   places:
//!     flywheel: {marks: [{with: engine/crank, how: yellow line}]}
//!     crank: {}
//!     gasket: {way-round: TOP upward}
//! ```
//!
//! ```text
//! parts/all.yaml:5:16: warning: `flywheel/F1` is on in engine/flywheel for good, where match marks run across to engine/crank, and its fitting says nothing of that [wrong-way-round]
//!     assemblies/all.yaml:4:5: the place
//!     to do: look, and write `way-round: checked` or `way-round: marked anew` there
//! parts/all.yaml:10:16: warning: `gasket/G1` is on in engine/gasket for good, where the way round matters (TOP upward), and its fitting says nothing of that [wrong-way-round]
//!     assemblies/all.yaml:6:5: the place
//!     to do: look, and write `way-round: checked` or `way-round: marked anew` there
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! flywheel:
//!   name: Flywheel
//!   pieces:
//!     F1: {condition: serviceable, goes: engine/flywheel,
//!       fitted: [{as: final, when: 2026-02-14, way-round: checked}]}
//! gasket:
//!   name: Head gasket
//!   pieces:
//!     G1: {newness: new, goes: engine/gasket,
//!       fitted: [{as: mock-up, when: 2026-02-14}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   places:
//!     flywheel: {marks: [{with: engine/crank, how: yellow line}]}
//!     crank: {}
//!     gasket: {way-round: TOP upward}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::common::Stage;

/// The rule.
pub const RULE: Rule = Rule {
    name: "wrong-way-round",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for stay in &present.stays {
        let (piece, place) = (present.piece(stay), present.place(stay));
        let Some(event) = stay.event.filter(|_| stay.claim == Stage::Final) else {
            continue;
        };
        if piece.record.fitted[event].way_round.is_some() {
            continue;
        }
        let asks = match (&place.record.way_round, place.record.marks.first()) {
            (Some(way), _) => format!("where the way round matters ({way})"),
            (None, Some(mark)) => match &mark.with {
                Some(with) => format!("where match marks run across to {}", with.as_str()),
                None => "which has match marks".to_owned(),
            },
            (None, None) => continue,
        };
        let message = format!(
            "`{}` {}, {asks}, and its fitting says nothing of that",
            piece.name(),
            how(present, stay)
        );
        let remedy = "look, and write `way-round: checked` or `way-round: marked anew` there";
        let Some(mut finding) = cx.finding_in(cx.stay_at(stay), message, remedy) else {
            continue;
        };
        finding.stage = Some(stay.claim);
        findings.push(finding.see_at(cx, cx.place_at(stay.place), "the place"));
    }
}
