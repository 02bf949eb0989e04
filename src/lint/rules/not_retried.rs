//! # not-retried
//!
//! A part went on for good straight from the plater or the machine shop, and its
//! fit was proved only before it went there.
//!
//! A coat has a thickness, on both sides of a hole and all round a spigot;
//! welding and hardening move metal; a skimmed face changes what sits on it. What
//! went on by hand when it was bare may now go on with a hammer, or stand on a
//! run of paint. So a piece that was on before it was sent out, and came back
//! coated, machined, welded or hardened, wants to be tried once more before it is
//! on for good.
//!
//! `tried-again` in its line of the send-out says the day; a fitting for mock-up
//! after its return says the same, and so does a `trial` that is `about` the
//! piece or its place. A piece of which nobody knows whether it ever fitted is
//! not judged.
//!
//! Common practice, no source.
//!
//! ## Wrong
//!
//! ```yaml jobs/all.yaml
//! coating-1:
//!   kind: send-out
//!   process: powder coat
//!   sent: 2026-02-01
//!   came-back: 2026-02-14
//!   closed: 2026-02-14
//!   lines: [{what: parts/crossmember/C1, out: 1, back: 1}]
//! ```
//!
//! ```yaml parts/all.yaml
//! crossmember:
//!   name: Crossmember
//!   pieces:
//!     C1: {condition: serviceable, goes: engine/crossmember,
//!       fitted: [{as: mock-up, when: 2026-01-10, until: 2026-01-31},
//!         {as: final, when: 2026-02-15}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {crossmember: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:6:9: warning: `crossmember/C1` is on in engine/crossmember for good, and was last tried on 2026-01-10, before `coating-1` (powder coat) [not-retried]
//!     jobs/all.yaml:7:11: sent out and back
//!     to do: see whether it still fits with no force, and write the day under `tried-again` in that line
//! ```
//!
//! ## Right
//!
//! One was tried on and taken off again, the other only for a moment.
//!
//! ```yaml jobs/all.yaml
//! coating-1:
//!   kind: send-out
//!   process: powder coat
//!   sent: 2026-02-01
//!   came-back: 2026-02-14
//!   closed: 2026-02-14
//!   lines:
//!     - {what: parts/crossmember/C1, out: 1, back: 1}
//!     - {what: parts/bracket/B1, out: 1, back: 1}
//!     - {what: parts/bracket/B1, note: plugs, tried-again: 2026-02-14}
//! ```
//!
//! ```yaml parts/all.yaml
//! crossmember:
//!   name: Crossmember
//!   pieces:
//!     C1: {condition: serviceable, goes: engine/crossmember,
//!       fitted: [{as: mock-up, when: 2026-01-10, until: 2026-01-31},
//!         {as: mock-up, when: 2026-02-14, until: 2026-02-15},
//!         {as: final, when: 2026-02-15}]}
//! bracket:
//!   name: Bracket
//!   pieces:
//!     B1: {condition: serviceable, goes: engine/bracket,
//!       fitted: [{as: mock-up, when: 2026-01-10, until: 2026-01-31},
//!         {as: final, when: 2026-02-15}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {crossmember: {}, bracket: {}}}
//! ```

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::finding::{Finding, Level};
use crate::lint::at::how;
use crate::lint::{Context, Rule};
use crate::model::common::Stage;
use crate::model::job::{JobKind, Process};
use crate::present::sent::{SendOut, SentLine, back_on, coats, is_back};
use crate::present::{Piece, date};

/// The rule.
pub const RULE: Rule = Rule {
    name: "not-retried",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let tried = trials(cx);
    // Only the last time that a piece was worked over counts, and each piece once.
    let mut last: BTreeMap<usize, (Date, &SendOut<'_>, &SentLine<'_>)> = BTreeMap::new();
    for sent in &present.send_outs {
        let (Some(process), Some(went)) = (sent.job.process, sent.job.sent.as_ref().and_then(date))
        else {
            continue;
        };
        if !changes_fit(process) {
            continue;
        }
        for line in &sent.lines {
            let back = line.record.back.map_or(is_back(sent.job), |back| back > 0);
            let piece = line.piece(present).filter(|_| back);
            let Some(number) = piece.and_then(|piece| present.piece_named(&piece.name())) else {
                continue;
            };
            if last.get(&number).is_none_or(|(before, ..)| *before < went) {
                last.insert(number, (went, sent, line));
            }
        }
    }
    for (number, (went, sent, line)) in last {
        findings.extend(finding(
            cx,
            &present.pieces[number],
            went,
            sent,
            line,
            &tried,
        ));
    }
}

/// Whether a process may change how a part fits.
fn changes_fit(process: Process) -> bool {
    coats(process)
        || matches!(
            process,
            Process::Machine | Process::Weld | Process::HeatTreat
        )
}

/// The last day on which a trial was about a thing, by the thing's name.
fn trials<'a>(cx: &Context<'a>) -> BTreeMap<&'a str, Date> {
    let mut tried: BTreeMap<&str, Date> = BTreeMap::new();
    for job in cx.folder.model.job.values().map(|job| &job.data) {
        let Some(day) = job
            .when
            .as_ref()
            .and_then(date)
            .filter(|_| job.kind == Some(JobKind::Trial))
        else {
            continue;
        };
        for about in &job.about {
            let before = tried.entry(about.as_str()).or_insert(day);
            *before = day.max(*before);
        }
    }
    tried
}

fn finding(
    cx: &Context<'_>,
    piece: &Piece<'_>,
    went: Date,
    sent: &SendOut<'_>,
    line: &SentLine<'_>,
    tried: &BTreeMap<&str, Date>,
) -> Option<Finding> {
    let present = cx.present();
    let stay = present
        .foremost(piece)
        .filter(|stay| stay.is_on() && stay.stage == Stage::Final)?;
    // One piece may stand in several lines, for several works upon it.
    let mut lines = sent.lines.iter().filter(|one| one.what == line.what);
    if lines.any(|one| one.record.tried_again.is_some()) {
        return None;
    }
    let back = back_on(sent.job).unwrap_or(went);
    let events = || piece.events.iter().map(|at| &present.events[*at]);
    let bare = events()
        .filter_map(|event| event.from)
        .filter(|day| *day <= went)
        .max()?;
    let on = events().find(|event| Some(event.number) == stay.event)?;
    // On for good before it went: that it is on while away is told by others.
    if on.from.is_some_and(|day| day <= went) {
        return None;
    }
    let again = events()
        .any(|event| event.number != on.number && event.from.is_some_and(|day| day >= back));
    let place = &present.place(stay).name;
    let names = [line.what.to_owned(), format!("assemblies/{place}")];
    let trial = names
        .iter()
        .any(|name| tried.get(name.as_str()).is_some_and(|day| *day >= back));
    if again || trial {
        return None;
    }
    let message = format!(
        "`{}` {}, and was last tried on {bare}, before `{}` ({})",
        piece.name(),
        how(present, stay),
        sent.id,
        sent.job.process.map_or("", Process::word)
    );
    let remedy = "see whether it still fits with no force, and write the day under `tried-again` in that line";
    let finding = cx.finding_in(cx.stay_at(stay), message, remedy)?;
    let at = cx.in_line_at(sent.id, line.number, &[]);
    Some(finding.see_at(cx, at, "sent out and back"))
}
