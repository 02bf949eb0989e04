//! # uncleaned-after-failure
//!
//! A piece that intake air or oil runs through is from a donor that failed inside,
//! and nothing says that it was cleaned.
//!
//! Chips of a bearing or a piston lie in the oil cooler, the manifold, the rocker
//! cover, and ruin the next engine in its first minutes. So what comes from a donor
//! with `failed-inside: true` wants a treatment `cleaned` or `overhauled` before it
//! goes on for good; a piece that is remanufactured, or came back from a hot tank,
//! an ultrasonic bath or an overhaul, counts as cleaned. What the seller cleaned
//! before the donor was bought counts too, if it is written down.
//!
//! Planned or on for mock-up it is a warning, on for good or closed over an error.
//! Some things can't be cleaned with certainty, an oil cooler with many narrow
//! passages among them: if the maker's manual says to renew it after such a
//! failure, keep to the manual.
//!
//! ## Wrong
//!
//! ```yaml donors/all.yaml
//! coupe: {maker: Pell, failed-inside: true, died-of: a big-end bearing let go}
//! ```
//!
//! ```yaml parts/all.yaml
//! oil-cooler:
//!   name: Oil cooler
//!   carries: oil
//!   pieces:
//!     C1: {donor: coupe, goes: engine/oil-cooler,
//!       treated: [{what: painted, when: 2026-02-01}],
//!       fitted: [{as: final, when: 2026-02-20}]}
//! manifold:
//!   name: Intake manifold
//!   carries: intake air
//!   pieces: {M1: {donor: coupe, goes: engine/manifold}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {oil-cooler: {}, manifold: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:7:16: error: `oil-cooler/C1` is on in engine/oil-cooler for good and carries oil; its donor `coupe` failed inside (a big-end bearing let go), and nothing says that it was cleaned [uncleaned-after-failure]
//!     donors/all.yaml:1:37: that the donor failed inside
//!     to do: clean it inside and write that under `treated` with the day, or plan another piece
//! parts/all.yaml:11:37: warning: `manifold/M1` is meant for engine/manifold and carries intake air; its donor `coupe` failed inside (a big-end bearing let go), and nothing says that it was cleaned [uncleaned-after-failure]
//!     donors/all.yaml:1:37: that the donor failed inside
//!     to do: clean it inside and write that under `treated` with the day, or plan another piece
//! ```
//!
//! ## Right
//!
//! ```yaml donors/all.yaml
//! coupe: {maker: Pell, failed-inside: true, died-of: a big-end bearing let go}
//! ```
//!
//! ```yaml parts/all.yaml
//! manifold:
//!   name: Intake manifold
//!   carries: intake air
//!   pieces:
//!     M1: {donor: coupe, condition: serviceable, goes: engine/manifold,
//!       treated: [{what: cleaned, when: 2026-02-01, how: hot tank and brushes}]}
//! oil-cooler:
//!   name: Oil cooler
//!   carries: oil
//!   pieces: {C1: {donor: coupe, keep: pattern}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {manifold: {}}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::present::clean::uncleaned;

/// The rule.
pub const RULE: Rule = Rule {
    name: "uncleaned-after-failure",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for piece in &present.pieces {
        let (Some(stay), Some(dirt)) =
            (present.foremost(piece), uncleaned(&cx.folder.model, piece))
        else {
            continue;
        };
        let died_of = match &dirt.record.died_of {
            Some(died_of) => format!(" ({died_of})"),
            None => String::new(),
        };
        let message = format!(
            "`{}` {} and carries {}; its donor `{}` failed inside{died_of}, and nothing says that it was cleaned",
            piece.name(),
            how(present, stay),
            dirt.carries.word(),
            dirt.donor
        );
        let remedy = "clean it inside and write that under `treated` with the day, or plan another piece";
        let finding = cx.finding_in(cx.stay_at(stay), message, remedy);
        findings.extend(finding.map(|finding| {
            let failed = &["failed-inside".into()];
            finding.by_claim(stay.claim, Level::Warning).see_at(
                cx,
                cx.value_at(Kind::Donors, dirt.donor, failed),
                "that the donor failed inside",
            )
        }));
    }
}
