//! # missing-companion
//!
//! A part that is planned or on needs another part, and none of that is there.
//!
//! An idler without its spacer runs out of line, a gearbox without its adapter
//! fits nothing. A companion is there if a piece of it is planned or on anywhere
//! in the build, or one of a number that may be used for it, or if the part has
//! unmarked ones (`have`).
//!
//! While the piece is planned or on for mock-up it is a warning: the companion may
//! still be on its way. It is an error once the piece is on for good or closed
//! over. Where the companion is there but not on for good yet, and the piece is,
//! an evening may have ended between the two: that is a warning until the assembly
//! is closed.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! idler:
//!   name: Belt idler
//!   needs: [idler-spacer]
//!   pieces:
//!     I1: {goes: engine/idler, fitted: [{as: final, when: 2026-02-20}]}
//! idler-spacer: {name: Spacer for the belt idler, pieces: {S1: {kept-in: box 4}}}
//! gearbox:
//!   name: Gearbox
//!   needs: [adapter]
//!   pieces: {X1: {goes: gearbox/box}}
//! adapter: {name: Adapter plate}
//! pump:
//!   name: Oil pump
//!   needs: [pump-key]
//!   pieces:
//!     P1: {goes: engine/pump, fitted: [{as: final, when: 2026-02-20}]}
//! pump-key: {name: Key for the oil pump, pieces: {K1: {goes: engine/key}}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {idler: {}, pump: {}, key: {}}}
//! gearbox: {in: car, places: {box: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:5:39: error: `idler/I1` is on in engine/idler for good, and needs `idler-spacer`, of which none is planned or on [missing-companion]
//!     parts/all.yaml:3:11: that it needs it
//!     to do: say where a piece of it `goes`, such as `idler-spacer/S1`, or fit it
//! parts/all.yaml:10:23: warning: `gearbox/X1` is meant for gearbox/box, and needs `adapter`, of which none is planned or on [missing-companion]
//!     parts/all.yaml:9:11: that it needs it
//!     to do: get one and write it under the `pieces` of parts/adapter, or as `have`
//! parts/all.yaml:16:38: warning: `pump/P1` is on in engine/pump for good, and `pump-key/K1`, which it needs, is meant for engine/key [missing-companion]
//!     parts/all.yaml:14:11: that it needs it
//!     parts/all.yaml:17:60: how far its companion is
//!     to do: fit `pump-key/K1` for good too
//! ```
//!
//! ## Right
//!
//! The companion is planned, of a number that may be used for it, or unmarked.
//!
//! ```yaml parts/all.yaml
//! idler:
//!   name: Belt idler
//!   needs: [idler-spacer, idler-washer]
//!   pieces:
//!     I1: {condition: serviceable, goes: engine/idler,
//!       fitted: [{as: mock-up, when: 2026-02-20}]}
//! idler-spacer: {name: Spacer for the belt idler, number: "SP-20"}
//! idler-spacer-late:
//!   name: Spacer for the belt idler, later
//!   number: "SP-21"
//!   also: {"SP-20": {way: it replaces}}
//!   pieces: {S1: {condition: serviceable, goes: engine/spacer}}
//! idler-washer: {name: Washer under the idler, have: 2}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {idler: {}, spacer: {}}}
//! ```

use std::collections::BTreeSet;

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::Stage;
use crate::present::{Present, Stand, Stay, View};

/// The rule.
pub const RULE: Rule = Rule {
    name: "missing-companion",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    if !cx.knows_all() {
        return;
    }
    let present = cx.present();
    // What is told of a piece as it is now is not told again of the plan.
    let mut told = BTreeSet::new();
    for view in present.views() {
        let mut stays: Vec<&Stay> = present.stays_in(*view).collect();
        // Of a lot, where it has come furthest.
        stays.sort_by_key(|stay| (stay.piece, std::cmp::Reverse((stay.claim, stay.stage))));
        for stay in stays {
            let needs = &present.piece(stay).of.needs;
            for (number, needed) in needs.iter().enumerate() {
                if told.contains(&(stay.piece, number)) {
                    continue;
                }
                let finding = missing(cx, stay, *view, number, needed.as_str());
                if finding.is_some() {
                    told.insert((stay.piece, number));
                }
                findings.extend(finding);
            }
        }
    }
}

fn missing(
    cx: &Context<'_>,
    stay: &Stay,
    view: View,
    number: usize,
    needed: &str,
) -> Option<Finding> {
    let present = cx.present();
    let part = &cx.folder.model.part.get(needed)?.data;
    if part.pieces.is_empty() && part.have.is_some_and(|have| have > 0) {
        return None;
    }
    let piece = present.piece(stay);
    // What is only planned can't be claimed.
    let claim = if view == View::Plan { Stage::Bench } else { stay.claim };
    let companion = present
        .stays_in(view)
        .filter(|other| serves(cx, other, needed))
        .max_by_key(|other| (other.claim, other.stage));
    let closed_by = present.assemblies[present.place(stay).assembly].closed_by;
    let (message, remedy, light, see) = match companion {
        None => {
            let replaced = if view == View::Plan { " once all is as planned" } else { "" };
            let message = format!(
                "`{}` {}, and needs `{needed}`, of which none is planned or on{replaced}",
                piece.name(),
                how(present, stay)
            );
            let remedy = match present.pieces_of(needed).first() {
                Some(first) => format!(
                    "say where a piece of it `goes`, such as `{}`, or fit it",
                    present.pieces[*first].name()
                ),
                None => format!(
                    "get one and write it under the `pieces` of parts/{needed}, or as `have`"
                ),
            };
            (message, remedy, Level::Warning, None)
        }
        Some(companion) => {
            if claim != Stage::Final || companion.claim == Stage::Final {
                return None;
            }
            let what = present.piece(companion);
            let message = format!(
                "`{}` {}, and `{}`, which it needs, {}",
                piece.name(),
                how(present, stay),
                what.name(),
                how(present, companion)
            );
            let remedy = format!("fit `{}` for good too", what.name());
            (message, remedy, Level::Warning, Some(companion))
        }
    };
    // Between the two an evening may end; over both nothing may be closed.
    let claim = match see {
        Some(_) if closed_by.is_none() => Stage::MockUp,
        _ => claim,
    };
    let finding = cx.finding_in(cx.stay_at(stay), message, remedy)?;
    let needs = &["needs".into(), number.into()];
    let mut finding = finding
        .by_claim(claim, light)
        .see_at(cx, cx.value_at(Kind::Parts, piece.part, needs), "that it needs it");
    if let Some(companion) = see {
        finding = finding.see_at(cx, cx.stay_at(companion), "how far its companion is");
    }
    if let Some(closed) = closed_by.filter(|_| claim == Stage::Final) {
        finding = finding.see_at(cx, cx.closing_at(closed), "closed over it");
    }
    Some(finding)
}

/// Whether a piece in a place is of a part, or of a number that may be used for it.
fn serves(cx: &Context<'_>, stay: &Stay, needed: &str) -> bool {
    let present: &Present<'_> = cx.present();
    let piece = present.piece(stay);
    if piece.part == needed {
        return true;
    }
    let asked = cx.folder.model.part.get(needed).and_then(|part| part.data.number.as_ref());
    let (Some(used), Some(asked)) = (&piece.of.number, asked) else {
        return false;
    };
    let stand = present.interchanges.stand(used.as_str(), asked.as_str(), |_| true);
    matches!(stand, Stand::Same | Stand::ByWayOf(_))
}
