//! # unmeasured-return
//!
//! A piece is back from a shop and taken for ready, and a check that was ordered
//! on its return was not made, or was found bad.
//!
//! A block comes back bored and washed, and one gallery plug is still out. The
//! oil tells it at the first start. So whoever sends a piece out writes under
//! `checks`, of its line or of the job, what is to be looked at on its return:
//! `dimensions`, `plugs`, `broken studs`, `threads`, `clean`. Each wants `found:
//! good` before the piece is called ready.
//!
//! It is a warning as soon as the piece is back and `serviceable`, or on for
//! mock-up, and an error once it is on for good or closed over. A later check of
//! the same sort stands for an earlier one, also one of another send-out, but not
//! for one that nobody has looked at and whose `should` is another; a reading of
//! the piece after its return stands for `dimensions`, and a cleaning for `clean`.
//! Where no check was ordered, nothing is missing. What to measure, and its limits,
//! is in the maker's manual.
//!
//! Common practice, no source.
//!
//! ## Wrong
//!
//! ```yaml jobs/all.yaml
//! shop-1:
//!   kind: send-out
//!   process: machine
//!   sent: 2026-01-10
//!   came-back: 2026-02-07
//!   lines:
//!     - what: parts/block/B1
//!       out: 1
//!       back: 1
//!       checks:
//!         - {what: dimensions, should: bores 84.00 to 84.02 mm, found: good}
//!         - {what: plugs, should: all seven gallery plugs in}
//!         - {what: plugs, should: core plugs dry, found: good}
//!         - {what: broken studs, found: bad, note: one at the rear mount}
//!     - {what: parts/head/H1, out: 1, back: 1}
//!   checks: [{what: clean, at: parts/head/H1}]
//! ```
//!
//! ```yaml parts/all.yaml
//! block:
//!   name: Block
//!   pieces:
//!     B1: {condition: serviceable, goes: engine/block,
//!       fitted: [{as: final, when: 2026-02-14}]}
//! head: {name: Head, pieces: {H1: {condition: serviceable, goes: engine/head}}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {block: {}, head: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:5:16: error: `block/B1` is on in engine/block for good, back from `shop-1` with `broken studs` found bad and `plugs` not looked at [unmeasured-return]
//!     jobs/all.yaml:14:11: found bad
//!     jobs/all.yaml:12:11: not looked at
//!     to do: have it put right, look again, and write a new check with `found: good`; until then the piece is `repairable`
//! parts/all.yaml:6:45: warning: `head/H1` is called serviceable, back from `shop-1` with `clean` not looked at [unmeasured-return]
//!     jobs/all.yaml:16:12: not looked at
//!     to do: look, and write `found` into the check; until then the piece is `unchecked`
//! ```
//!
//! ## Right
//!
//! The block was measured, and what was bad was put right and looked at again;
//! the head is back and nobody calls it ready.
//!
//! ```yaml jobs/all.yaml
//! shop-1:
//!   kind: send-out
//!   process: machine
//!   sent: 2026-01-10
//!   came-back: 2026-02-07
//!   lines:
//!     - what: parts/block/B1
//!       out: 1
//!       back: 1
//!       checks:
//!         - {what: dimensions}
//!         - {what: plugs, found: bad, when: 2026-02-07}
//!         - {what: plugs, found: good, when: 2026-02-09}
//!     - {what: parts/head/H1, out: 1, back: 1, checks: [{what: dimensions}]}
//! ```
//!
//! ```yaml parts/all.yaml
//! block:
//!   name: Block
//!   pieces:
//!     B1: {condition: serviceable, goes: engine/block,
//!       readings: [{what: bore, is: 84.01 mm, when: 2026-02-08}],
//!       fitted: [{as: final, when: 2026-02-14}]}
//! head: {name: Head, pieces: {H1: {condition: unchecked, goes: engine/head}}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {block: {}, head: {}}}
//! ```

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::finding::{Finding, Level};
use crate::lint::at::{Spot, how};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::{CheckResult, Condition, Stage};
use crate::model::job::{Check, CheckKind};
use crate::model::part::TreatmentKind;
use crate::near::spoken;
use crate::present::sent::{SendOut, back_on, is_back, is_unfit};
use crate::present::{Piece, date};
use crate::yaml::Step;

/// The rule.
pub const RULE: Rule = Rule {
    name: "unmeasured-return",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

/// A check that was ordered for a piece on its return, and where it stands.
#[derive(Clone, Copy)]
struct Ordered<'a> {
    sent: &'a SendOut<'a>,
    check: &'a Check,
    line: Option<usize>,
    number: usize,
}

impl Ordered<'_> {
    fn at(&self, cx: &Context<'_>) -> Option<Spot> {
        let way: [Step; 2] = ["checks".into(), self.number.into()];
        match self.line {
            Some(line) => cx.in_line_at(self.sent.id, line, &way),
            None => cx.value_at(Kind::Jobs, self.sent.id, &way),
        }
    }

    /// Whether it stands for an earlier one: of the same sort, unless that was not looked at
    /// and says that something else should be.
    fn stands_for(&self, earlier: &Self) -> bool {
        let (one, other) = (&self.check.should, &earlier.check.should);
        let unlike = one.is_some() && other.is_some() && one != other;
        self.says() == earlier.says() && !(unlike && earlier.check.found.is_none())
    }

    /// What is to be looked at, in words: a word of the list, or what is written instead.
    fn says(&self) -> String {
        let kind = self.check.what.unwrap_or(CheckKind::Other);
        let own = self.check.note.as_ref().or(self.check.should.as_ref());
        match own {
            Some(own) if kind == CheckKind::Other => own.clone(),
            _ => kind.word().to_owned(),
        }
    }
}

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let mut sent: Vec<&SendOut<'_>> = present.send_outs.iter().collect();
    sent.sort_by_key(|sent| (sent.job.sent.as_ref().and_then(date), sent.id));
    let mut ordered: BTreeMap<usize, Vec<Ordered<'_>>> = BTreeMap::new();
    for sent in sent {
        for line in &sent.lines {
            let counts = line.counts(present);
            let back = counts.back.map_or(is_back(sent.job), |back| back > 0);
            let Some(piece) = line.piece(present).filter(|_| back) else {
                continue;
            };
            let Some(number) = present.piece_named(&piece.name()) else {
                continue;
            };
            let of_the_job = sent.job.checks.iter().enumerate().filter(|(_, check)| {
                // A check that names nothing is meant for all that went.
                check.at.as_ref().is_none_or(|at| at.as_str() == line.what)
            });
            let of_the_line = line.record.checks.iter().enumerate();
            let all = of_the_job
                .map(|(at, check)| (None, at, check))
                .chain(of_the_line.map(|(at, check)| (Some(line.number), at, check)));
            for (line, number_of_check, check) in all {
                let one = Ordered {
                    sent,
                    check,
                    line,
                    number: number_of_check,
                };
                let before = ordered.entry(number).or_default();
                before.retain(|before| !one.stands_for(before));
                before.push(one);
            }
        }
    }
    for (number, checks) in &ordered {
        let piece = &present.pieces[*number];
        let open = checks.iter().filter(|one| !is_passed(piece, one));
        let mut checks: Vec<&Ordered<'_>> = open.collect();
        checks.sort_by_key(|one| one.says());
        findings.extend(finding(cx, piece, checks));
    }
}

/// Whether a check was made and found good, or the piece's own record stands for it.
fn is_passed(piece: &Piece<'_>, ordered: &Ordered<'_>) -> bool {
    match ordered.check.found {
        Some(CheckResult::Good) => return true,
        Some(CheckResult::Bad) => return false,
        None => {}
    }
    let Some(back) = back_on(ordered.sent.job) else {
        return false;
    };
    let since = |day: Option<Date>| day.is_some_and(|day| day >= back);
    let record = piece.record;
    match ordered.check.what {
        Some(CheckKind::Dimensions) => {
            let mut days = record
                .readings
                .iter()
                .map(|one| one.when.as_ref().and_then(date));
            days.any(since)
        }
        Some(CheckKind::Clean) => record.treated.iter().any(|one| {
            one.what == Some(TreatmentKind::Cleaned) && since(one.when.as_ref().and_then(date))
        }),
        _ => false,
    }
}

fn finding(cx: &Context<'_>, piece: &Piece<'_>, checks: Vec<&Ordered<'_>>) -> Option<Finding> {
    // Whatever is called unfit nobody takes for ready; that it is on is told by others.
    if checks.is_empty() || is_unfit(piece) {
        return None;
    }
    let present = cx.present();
    let stay = present.foremost(piece).filter(|stay| stay.is_on());
    let serviceable = piece.record.condition == Some(Condition::Serviceable);
    if stay.is_none() && !serviceable {
        return None;
    }
    let (ready, spot, claim) = match stay {
        Some(stay) => (how(present, stay), cx.stay_at(stay), stay.claim),
        None => {
            let spot = cx.in_piece_at(piece, &["condition".into()]);
            ("is called serviceable".to_owned(), spot, Stage::Bench)
        }
    };
    let found = |one: &Ordered<'_>| match one.check.found {
        Some(CheckResult::Bad) => "found bad",
        _ => "not looked at",
    };
    let mut jobs: Vec<String> = checks
        .iter()
        .map(|one| format!("`{}`", one.sent.id))
        .collect();
    jobs.sort_unstable();
    jobs.dedup();
    let checked = checks
        .iter()
        .map(|one| format!("`{}` {}", one.says(), found(one)));
    let mut checked: Vec<String> = checked.collect();
    checked.dedup();
    let message = format!(
        "`{}` {ready}, back from {} with {}",
        piece.name(),
        spoken(&jobs, "and"),
        spoken(&checked, "and")
    );
    let bad = checks
        .iter()
        .any(|one| one.check.found == Some(CheckResult::Bad));
    let remedy = match (bad, stay) {
        (false, None) => {
            "look, and write `found` into the check; until then the piece is `unchecked`"
        }
        (false, Some(_)) => "take it off and look, and write `found` into the check",
        (true, _) => {
            "have it put right, look again, and write a new check with `found: good`; until then the piece is `repairable`"
        }
    };
    let mut finding = cx
        .finding_in(spot, message, remedy)?
        .by_claim(claim, Level::Warning);
    for one in checks {
        finding = finding.see_at(cx, one.at(cx), found(one));
    }
    Some(finding)
}
