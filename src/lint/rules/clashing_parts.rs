//! # clashing-parts
//!
//! Two parts that can't live with each other are both planned or on.
//!
//! It is enough that the record of one names the other under `clashes-with`.
//! Until both are on for good it is a warning: while the one is tried, the other
//! may still be planned. Once both are on for good, or closed over, it is an error.
//! A piece that takes the place of another is no clash with it.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! long-studs:
//!   name: Long manifold studs
//!   clashes-with: [cast-manifold]
//!   pieces:
//!     L1: {goes: engine/studs, fitted: [{as: final, when: 2026-02-20}]}
//! cast-manifold:
//!   name: Cast exhaust manifold
//!   pieces:
//!     C1: {goes: engine/manifold, fitted: [{as: final, when: 2026-02-21}]}
//! wide-pulley:
//!   name: Wide belt pulley
//!   clashes-with: [fan]
//!   pieces: {W1: {goes: engine/pulley, fitted: [{as: final, when: 2026-02-20}]}}
//! fan: {name: Engine fan, pieces: {F1: {goes: engine/fan}}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {studs: {}, manifold: {}, pulley: {}, fan: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:5:39: error: `long-studs/L1` is on in engine/studs for good, and can't live with `cast-manifold/C1`, which is on in engine/manifold for good [clashing-parts]
//!     parts/all.yaml:3:18: that they clash
//!     parts/all.yaml:9:42: where `cast-manifold/C1` is
//!     to do: take one of the two out of the plan, or off; if they do get on, mend `clashes-with`
//! parts/all.yaml:13:47: warning: `wide-pulley/W1` is on in engine/pulley for good, and can't live with `fan/F1`, which is meant for engine/fan [clashing-parts]
//!     parts/all.yaml:12:18: that they clash
//!     parts/all.yaml:14:45: where `fan/F1` is
//!     to do: take one of the two out of the plan, or off; if they do get on, mend `clashes-with`
//! ```
//!
//! ## Right
//!
//! The pieces are in the build, and only one of the two is meant for it.
//!
//! ```yaml parts/all.yaml
//! wide-pulley:
//!   name: Wide belt pulley
//!   clashes-with: [fan]
//!   pieces: {W1: {condition: serviceable, goes: engine/pulley}}
//! fan: {name: Engine fan, pieces: {F1: {keep: pass on}}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {pulley: {}}}
//! ```

use std::cmp::Reverse;
use std::collections::BTreeSet;

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::present::Stay;

/// The rule.
pub const RULE: Rule = Rule {
    name: "clashing-parts",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let parts = &cx.folder.model.part;
    let mut told = BTreeSet::new();
    for view in present.views() {
        let stays: Vec<&Stay> = present.stays_in(*view).collect();
        for (part, record) in parts {
            for (number, other) in record.data.clashes_with.iter().enumerate() {
                let other = other.as_str();
                // Where each names the other, the first of them is told.
                let named_before = other < part.as_str()
                    && parts.get(other).is_some_and(|other| {
                        let mut clashes = other.data.clashes_with.iter();
                        clashes.any(|one| one.as_str() == part)
                    });
                if named_before || other == part {
                    continue;
                }
                let of = |part: &str| {
                    let mut found: Vec<&Stay> = stays
                        .iter()
                        .filter(|stay| present.piece(stay).part == part)
                        .copied()
                        .collect();
                    found.sort_by_key(|stay| Reverse((stay.claim, stay.stage)));
                    found.dedup_by_key(|stay| stay.piece);
                    found
                };
                let others = of(other);
                let Some(worst) = others.first() else {
                    continue;
                };
                for stay in of(part) {
                    if told.insert((stay.piece, other)) {
                        let clash = Clash { part, number, stay, worst, others: &others };
                        findings.extend(clash.finding(cx));
                    }
                }
            }
        }
    }
}

struct Clash<'a> {
    part: &'a str,
    number: usize,
    stay: &'a Stay,
    worst: &'a Stay,
    others: &'a [&'a Stay],
}

impl Clash<'_> {
    fn finding(&self, cx: &Context<'_>) -> Option<Finding> {
        let present = cx.present();
        let (stay, worst) = (self.stay, self.worst);
        let message = format!(
            "`{}` {}, and can't live with `{}`, which {}",
            present.piece(stay).name(),
            how(present, stay),
            present.piece(worst).name(),
            how(present, worst)
        );
        let remedy = "take one of the two out of the plan, or off; if they do get on, mend `clashes-with`";
        let clashes = &["clashes-with".into(), self.number.into()];
        let mut finding = cx
            .finding_in(cx.stay_at(stay), message, remedy)?
            .by_claim(stay.claim.min(worst.claim), Level::Warning)
            .see_at(cx, cx.value_at(Kind::Parts, self.part, clashes), "that they clash");
        for other in self.others {
            let words = format!("where `{}` is", present.piece(other).name());
            finding = finding.see_at(cx, cx.stay_at(other), words);
        }
        Some(finding)
    }
}
