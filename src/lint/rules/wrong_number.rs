//! # wrong-number
//!
//! A place takes other part numbers than the piece has.
//!
//! What looks alike need not be alike. A number that may stand for another counts,
//! in its own direction only: that B may be used for A does not say that A may be
//! used for B. A maker's successors are followed from one to the next; that two
//! numbers may stand for each other is somebody's word on these two and is not
//! followed further. Where the word holds only with certain traits, the place must
//! be given these traits.
//!
//! Until the piece is on for good it is a warning: a part of the wrong number may
//! well hold a place for mock-up.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   number: "QX-1180"
//!   also: {"QX-1181": {way: it may stand for}}
//!   pieces:
//!     P1: {goes: fuel/injector}
//! hose:
//!   name: Return hose
//!   number: "S20-50O"
//!   pieces: {R1: {goes: fuel/hose}}
//! injector-late:
//!   name: Injector, late pattern
//!   number: "QX-1190"
//!   also: {"QX-1181": {way: may stand for it}}
//!   pieces: {L1: {goes: fuel/spare, fitted: [{as: final, when: 2026-02-20}]}}
//! plate:
//!   name: Adapter plate
//!   pieces: {A1: {goes: fuel/plate}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel:
//!   places:
//!     injector: {takes: ["QX-1190"]}
//!     spare: {takes: ["QX-1181"]}
//!     plate: {takes: ["AP-4"]}
//!     hose: {takes: ["S20-500"]}
//! ```
//!
//! ```text
//! parts/all.yaml:6:16: warning: `injector/P1` is meant for fuel/injector, which takes QX-1190, and its number is QX-1180 [wrong-number]
//!     assemblies/all.yaml:3:5: the place
//!     to do: put another piece there, or write what may stand for what under `also`
//! parts/all.yaml:10:23: warning: `hose/R1` is meant for fuel/hose, which takes S20-500, and its number is S20-50O [wrong-number]
//!     assemblies/all.yaml:6:5: the place
//!     to do: S20-50O and S20-500 look alike: read the number again, and mend `number` or `takes`
//! parts/all.yaml:15:44: error: `injector-late/L1` is on in fuel/spare for good, which takes QX-1181, and its number is QX-1190 [wrong-number]
//!     assemblies/all.yaml:4:5: the place
//!     parts/all.yaml:14:10: QX-1181 may be used for QX-1190, not the other way round
//!     to do: put another piece there, or write what may stand for what under `also`
//! parts/all.yaml:18:23: warning: `plate/A1` is meant for fuel/plate, which takes AP-4, and has no number [wrong-number]
//!     assemblies/all.yaml:5:5: the place
//!     to do: give its part the `number` that it has, or widen what the place `takes`
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   number: "QX-1180"
//!   also: {"QX-1181": {way: may stand for it}}
//! injector-new:
//!   name: Injector, successor
//!   number: "QX-1185"
//!   also: {"QX-1180": {way: it replaces}}
//!   pieces: {N1: {goes: fuel/injector}}
//! injector-other:
//!   name: Injector
//!   number: "QX-1181"
//!   pieces: {O1: {goes: fuel/spare}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel:
//!   places:
//!     injector: {takes: ["QX-1180"]}
//!     spare: {takes: ["QX-1180"]}
//! ```

use std::cell::OnceCell;

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::present::{Stand, Step, View};

/// The rule.
pub const RULE: Rule = Rule {
    name: "wrong-number",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

/// A number as a tired eye reads it: one character for those that look alike, and nothing
/// between them.
fn as_read(number: &str) -> String {
    let alike = |c: char| match c.to_ascii_uppercase() {
        'O' | 'Q' | 'D' => '0',
        'I' | 'L' => '1',
        'S' => '5',
        'B' => '8',
        'Z' => '2',
        other => other,
    };
    let read = number.chars().filter(|c| c.is_alphanumeric());
    read.map(alike).collect()
}

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let flow = OnceCell::new();
    for stay in &present.stays {
        let (piece, place) = (present.piece(stay), present.place(stay));
        let takes = &place.record.takes;
        if takes.is_empty() {
            continue;
        }
        let mut all = takes.iter().map(|one| one.as_str());
        let wanted = all.clone().collect::<Vec<_>>().join(", ");
        let Some(number) = piece.of.number.as_ref().map(|number| number.as_str()) else {
            let message = format!(
                "`{}` {}, which takes {wanted}, and has no number",
                piece.name(),
                how(present, stay)
            );
            let remedy = "give its part the `number` that it has, or widen what the place `takes`";
            let finding = cx.finding_in(cx.stay_at(stay), message, remedy);
            findings.extend(finding.map(|finding| {
                finding.by_claim(stay.claim, Level::Warning).see_at(
                    cx,
                    cx.place_at(stay.place),
                    "the place",
                )
            }));
            continue;
        };
        if all.clone().any(|asked| asked == number) {
            continue;
        }
        let mut failed = None;
        let mut back = None;
        let fits = all.any(|asked| {
            let stand = present.interchanges.stand(number, asked, |step| {
                let flow = flow.get_or_init(|| present.flow(View::Now));
                let holds = present.holds(flow, place.assembly, &step.says.only_with);
                if !holds {
                    failed = Some(*step);
                }
                holds
            });
            if let Stand::OnlyTheOtherWay(step) = &stand {
                back = Some(*step);
            }
            matches!(stand, Stand::Same | Stand::ByWayOf(_))
        });
        if fits {
            continue;
        }
        let message = format!(
            "`{}` {}, which takes {wanted}, and its number is {number}",
            piece.name(),
            how(present, stay)
        );
        let near = takes.iter().find(|one| as_read(one.as_str()) == as_read(number));
        let remedy = match near {
            Some(near) => format!(
                "{number} and {} look alike: read the number again, and mend `number` or `takes`",
                near.as_str()
            ),
            None => "put another piece there, or write what may stand for what under `also`".to_owned(),
        };
        let Some(finding) = cx.finding_in(cx.stay_at(stay), message, remedy) else {
            continue;
        };
        let mut finding = finding
            .by_claim(stay.claim, Level::Warning)
            .see_at(cx, cx.place_at(stay.place), "the place");
        let also = |step: &Step<'_>| {
            cx.key_at(Kind::Parts, step.part, &["also".into(), step.key.into()])
        };
        if let Some(step) = failed {
            let traits: Vec<String> = step.says.only_with.iter()
                .map(|(name, word)| format!("{}: {}", name.as_str(), word.as_str()))
                .collect();
            let says = format!(
                "{} may be used for {} only with {}, which the place is not given",
                step.used,
                step.asked,
                traits.join(", ")
            );
            finding = finding.see_at(cx, also(&step), says);
        } else if let Some(step) = back {
            let says = format!("{} may be used for {}, not the other way round", step.used, step.asked);
            finding = finding.see_at(cx, also(&step), says);
        }
        findings.push(finding);
    }
}
