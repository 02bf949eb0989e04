//! # deposit-at-risk
//!
//! A deposit is open, and its old unit is not as it must go back.
//!
//! An exchange firm takes the old unit back whole, and by a day. Taken apart,
//! altered, scrapped, planned for a place, on again, sent elsewhere or kept for
//! something else, it may be worth nothing to them. It is said two weeks before the
//! last day too (`return-warning` under `figures` sets another time; the two weeks
//! are our choice), and while the money has not come back after it.
//!
//! What the seller agreed to stands under `on-condition`. The money is out of sight
//! once `returned` or `kept` says how it ended; `handed-in` says that the old unit
//! went back.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! starter:
//!   name: Starter
//!   pieces:
//!     S1:
//!       condition: repairable
//!       keep: core
//!       treated: [{what: taken apart, when: 2026-02-21}]
//!       fitted: [{as: mock-up, when: 2026-02-25, at: engine/starter}]
//!     S2:
//!       newness: remanufactured
//!       bought:
//!         from: the exchange firm
//!         deposit: {amount: 30 EUR, for: starter/S1, back-by: 2026-03-12}
//! alternator:
//!   name: Alternator
//!   pieces:
//!     A1: {condition: repairable, keep: core}
//!     A2:
//!       newness: remanufactured
//!       bought:
//!         deposit: {amount: 55 EUR, for: alternator/A1, back-by: 2026-02-20,
//!           handed-in: 2026-02-14}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {starter: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:13:18: warning: the deposit of 30 EUR on `starter/S2` is at risk: its old unit `starter/S1` was taken apart on 2026-02-21, and is on in engine/starter for mock-up, and must be back by 2026-03-12, which is in 11 days [deposit-at-risk]
//!     parts/all.yaml:7:17: what is written of the old unit
//!     parts/all.yaml:8:16: what is written of the old unit
//!     to do: hand the old unit in and write `handed-in` into this `deposit`, ask the seller, or write the day under `kept` if you keep it
//! parts/all.yaml:21:18: warning: the deposit of 55 EUR on `alternator/A2` has not come back: the old unit was handed in on 2026-02-14, and the last day was 2026-02-20 [deposit-at-risk]
//!     to do: ask the seller for it, then write the day under `returned`, or under `kept` if it is lost
//! ```
//!
//! ## Right
//!
//! The old unit lies in its box as it came off, and there is time.
//!
//! ```yaml parts/all.yaml
//! starter:
//!   name: Starter
//!   pieces:
//!     S1: {condition: repairable, keep: core}
//!     S2:
//!       newness: remanufactured
//!       bought: {deposit: {amount: 30 EUR, for: starter/S1, back-by: 2026-04-12}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::at::{Spot, how};
use crate::lint::due::{is_near, until};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::{Bought, Condition, Deposit};
use crate::model::part::{Keep, TreatmentKind};
use crate::present::age::how_long;
use crate::present::{Piece, date};
use crate::yaml::Step;

/// The rule.
pub const RULE: Rule = Rule {
    name: "deposit-at-risk",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let way: &[Step] = &["bought".into(), "deposit".into()];
    for piece in &cx.present().pieces {
        if let Some(deposit) = open(piece.record.bought.as_ref()) {
            let name = piece.name();
            findings.extend(finding(cx, deposit, &name, cx.in_piece_at(piece, way)));
        }
    }
    for (id, donor) in &cx.folder.model.donor {
        if let Some(deposit) = open(donor.data.bought.as_ref()) {
            let spot = cx.value_at(Kind::Donors, id, way);
            findings.extend(finding(cx, deposit, id, spot));
        }
    }
}

fn open(bought: Option<&Bought>) -> Option<&Deposit> {
    let deposit = bought?.deposit.as_ref()?;
    (deposit.returned.is_none() && deposit.kept.is_none()).then_some(deposit)
}

fn finding(
    cx: &Context<'_>,
    deposit: &Deposit,
    name: &str,
    spot: Option<Spot>,
) -> Option<Finding> {
    let present = cx.present();
    let today = cx.facts.as_of;
    let amount = deposit.amount.as_ref()?.as_str();
    let back_by = deposit.back_by.as_ref().and_then(date);
    if let Some(handed_in) = &deposit.handed_in {
        let back_by = back_by.filter(|day| *day < today)?;
        let message = format!(
            "the deposit of {amount} on `{name}` has not come back: the old unit was handed in on {}, and the last day was {back_by}",
            handed_in.as_str()
        );
        let remedy = "ask the seller for it, then write the day under `returned`, or under `kept` if it is lost";
        return cx.finding_in(spot, message, remedy);
    }
    let old = deposit.for_.as_ref().and_then(|old| present.piece_named(old.as_str()));
    let old = old.map(|old| &present.pieces[old]);
    let mut risks = old.map(|old| risks(cx, old)).unwrap_or_default();
    if let Some(day) = back_by {
        if day < today {
            let late = how_long(day, today);
            let says = format!("had to be back by {day}, which was {late} ago");
            risks.push((says, None));
        } else if is_near(cx, day) {
            let says = format!("must be back by {day}, which is {}", until(today, day));
            risks.push((says, None));
        }
    }
    if risks.is_empty() {
        return None;
    }
    let says: Vec<&str> = risks.iter().map(|(says, _)| says.as_str()).collect();
    let unit = match old {
        Some(old) => format!("its old unit `{}`", old.name()),
        None => "its old unit".to_owned(),
    };
    let message = format!(
        "the deposit of {amount} on `{name}` is at risk: {unit} {}",
        says.join(", and ")
    );
    let agreed = match &deposit.on_condition {
        Some(agreed) => format!(" (agreed: {agreed})"),
        None => String::new(),
    };
    let remedy = format!(
        "hand the old unit in and write `handed-in` into this `deposit`, ask the seller{agreed}, or write the day under `kept` if you keep it"
    );
    let mut finding = cx.finding_in(spot, message, remedy)?;
    if risks.iter().all(|(_, spot)| spot.is_none()) {
        finding = finding.see_at(cx, old.and_then(|old| cx.piece_at(old)), "the old unit");
    }
    let see = |finding: Finding, (_, spot): (String, Option<Spot>)| {
        finding.see_at(cx, spot, "what is written of the old unit")
    };
    Some(risks.into_iter().fold(finding, see))
}

/// What has become of an old unit, beyond lying there to be handed in.
fn risks(cx: &Context<'_>, old: &Piece<'_>) -> Vec<(String, Option<Spot>)> {
    let present = cx.present();
    let mut all = Vec::new();
    // What was put together again goes back whole.
    let together = old.record.treated.iter().rposition(|one| one.what == Some(TreatmentKind::PutTogether));
    for (number, one) in old.record.treated.iter().enumerate() {
        let done = match one.what {
            Some(TreatmentKind::TakenApart) if together.is_none_or(|at| at < number) => "taken apart",
            Some(TreatmentKind::Altered) => "altered",
            Some(TreatmentKind::Welded) => "welded",
            Some(TreatmentKind::Machined) => "machined",
            _ => continue,
        };
        let when = one.when.as_ref().map(|when| format!(" on {}", when.as_str()));
        let way: &[Step] = &["treated".into(), number.into()];
        let says = format!("was {done}{}", when.unwrap_or_default());
        all.push((says, cx.in_piece_at(old, way)));
    }
    if old.record.condition == Some(Condition::Scrap) {
        let spot = cx.in_piece_at(old, &["condition".into()]);
        all.push(("is scrap".to_owned(), spot));
    }
    if let Some(stay) = present.foremost(old) {
        all.push((how(present, stay), cx.stay_at(stay)));
    }
    if let Some(away) = old.away {
        let spot = cx.key_at(Kind::Jobs, away.job, &[]);
        all.push((format!("is away with `{}`", away.job), spot));
    }
    let keep = match old.record.keep {
        Some(Keep::Spare) => Some("a spare"),
        Some(Keep::Pattern) => Some("a pattern"),
        Some(Keep::PassOn) => Some("something to pass on"),
        Some(Keep::Core) | None => None,
    };
    if let Some(keep) = keep {
        let spot = cx.in_piece_at(old, &["keep".into()]);
        all.push((format!("is kept as {keep}"), spot));
    }
    all
}
