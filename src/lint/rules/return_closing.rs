//! # return-closing
//!
//! The last day to send something back is near, and it has not been tried.
//!
//! A part that turns out wrong after that day is paid for. Tried is what was on at
//! any time, was tested, or has a reading; a fluid, sealant or paste is not tried.
//! It is said two weeks before the last day (`return-warning` under `figures` sets
//! another time; the two weeks are our choice) and no more when the day is past,
//! because nothing can be done then. The day stands with the piece
//! (`bought: {return-by: …}`) or with the order that it came with.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! coil:
//!   name: Ignition coil
//!   pieces:
//!     C1: {bought: {when: 2026-02-08, return-by: 2026-03-10}}
//! sensor:
//!   name: Coolant sensor
//!   pieces:
//!     T1: {bought: {order: order-3}}
//!     T2: {bought: {order: order-3}, readings: [{what: resistance, is: 2.5 kohm}]}
//! thermostat:
//!   name: Thermostat
//!   pieces: {H1: {bought: {order: order-3}}}
//! ```
//!
//! ```yaml jobs/all.yaml
//! order-3:
//!   kind: order
//!   ordered: 2026-02-03
//!   arrived: 2026-02-09
//!   return-by: 2026-03-02
//!   lines: [{what: parts/sensor, count: 2}, {what: parts/thermostat}]
//! ```
//!
//! ```text
//! jobs/all.yaml:5:14: warning: what came with `order-3` can go back until 2026-03-02, which is tomorrow, and `sensor/T1` and `thermostat/H1` have not been tried [return-closing]
//!     parts/all.yaml:8:5: not tried yet
//!     parts/all.yaml:12:12: not tried yet
//!     to do: try it on, test or measure it before then and write that down, or send it back
//! parts/all.yaml:4:48: warning: `coil/C1` can go back until 2026-03-10, which is in 9 days, and has not been tried [return-closing]
//!     to do: try it on, test or measure it before then and write that down, or send it back
//! ```
//!
//! ## Right
//!
//! The coil was on for mock-up, and the sensor's day is past.
//!
//! ```yaml parts/all.yaml
//! coil:
//!   name: Ignition coil
//!   pieces:
//!     C1: {bought: {return-by: 2026-03-10}, condition: serviceable,
//!       fitted: [{as: mock-up, when: 2026-02-20, until: 2026-02-20}]}
//! sensor:
//!   name: Coolant sensor
//!   pieces: {T1: {bought: {when: 2026-01-02, return-by: 2026-02-02}}}
//! ```

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::finding::{Finding, Level};
use crate::lint::due::{is_near, until};
use crate::lint::{Context, Rule};
use crate::near::spoken;
use crate::model::Kind;
use crate::model::common::Day;
use crate::model::job::{JobKind, JobState};
use crate::model::part::{Consumable, TreatmentKind};
use crate::present::{Piece, date};
use crate::yaml::Step;

/// The rule.
pub const RULE: Rule = Rule {
    name: "return-closing",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let today = cx.facts.as_of;
    let mut orders: BTreeMap<&str, Vec<&Piece<'_>>> = BTreeMap::new();
    for piece in present.pieces.iter().filter(|piece| !is_tried(piece)) {
        let Some(bought) = &piece.record.bought else {
            continue;
        };
        if let Some(day) = near(cx, bought.return_by.as_ref()) {
            let message = format!(
                "`{}` can go back until {day}, which is {}, and has not been tried",
                piece.name(),
                until(today, day)
            );
            let remedy = "try it on, test or measure it before then and write that down, or send it back";
            let way: &[Step] = &["bought".into(), "return-by".into()];
            findings.extend(cx.finding_in(cx.in_piece_at(piece, way), message, remedy));
        } else if bought.return_by.is_none()
            && let Some(order) = &bought.order
        {
            orders.entry(order.as_str()).or_default().push(piece);
        }
    }
    for (id, pieces) in orders {
        let Some(job) = cx.folder.model.job.get(id).map(|job| &job.data) else {
            continue;
        };
        if job.kind != Some(JobKind::Order) || job.state == Some(JobState::Dropped) {
            continue;
        }
        let Some(day) = near(cx, job.return_by.as_ref()) else {
            continue;
        };
        let names: Vec<String> = pieces.iter().map(|piece| format!("`{}`", piece.name())).collect();
        let have = if names.len() == 1 { "has" } else { "have" };
        let message = format!(
            "what came with `{id}` can go back until {day}, which is {}, and {} {have} not been tried",
            until(today, day),
            spoken(&names, "and")
        );
        let remedy = "try it on, test or measure it before then and write that down, or send it back";
        let spot = cx.value_at(Kind::Jobs, id, &["return-by".into()]);
        let Some(mut finding) = cx.finding_in(spot, message, remedy) else {
            continue;
        };
        for piece in pieces {
            finding = finding.see_at(cx, cx.piece_at(piece), "not tried yet");
        }
        findings.push(finding);
    }
}

/// Whether a piece was on at any time, tested or measured, or is nothing to be tried.
fn is_tried(piece: &Piece<'_>) -> bool {
    let record = piece.record;
    let tested = |what| what == Some(TreatmentKind::Tested);
    let used_up = matches!(
        piece.of.consumable,
        Some(Consumable::Fluid | Consumable::Sealant | Consumable::Paste)
    );
    used_up
        || !record.fitted.is_empty()
        || !record.readings.is_empty()
        || record.treated.iter().any(|one| tested(one.what))
}

fn near(cx: &Context<'_>, day: Option<&Day>) -> Option<Date> {
    day.and_then(date).filter(|day| is_near(cx, *day))
}
