//! # checker-did-it
//!
//! The second look at a joint was by who had done the work.
//!
//! Who has just tightened a bolt sees what he meant to do. On another day the same
//! eyes see more, and many builders work alone, so a look by oneself on another day
//! is a warning only; on the same day it is hardly a second one, and an error
//! (common practice, no source). `checked-by` speaks of the day of the work, and so
//! does a look under `checked` that has no day. If anybody else has looked as well,
//! or nothing says who did the work, nothing is said. For mock-up nothing is.
//!
//! ## Wrong
//!
//! ```yaml assemblies/all.yaml
//! brakes:
//!   in: car
//!   critical: brakes
//!   joints:
//!     caliper-bolts:
//!       holes:
//!         low: {done: [{as: final, when: 2026-02-28, set: 68 N·m, by: builder,
//!           checked-by: builder}]}
//!         top: {done: [{as: final, when: 2026-02-28, set: 68 N·m, by: builder,
//!           checked-by: builder}]}
//!     disc:
//!       holes:
//!         only: {done: [{as: final, when: 2026-02-28, set: 9 N·m, by: builder,
//!           checked: [{by: builder, when: 2026-02-28, found: bad},
//!             {by: builder, when: 2026-03-01, found: good,
//!             how: paint mark unbroken}]}]}
//! ```
//!
//! ```text
//! assemblies/all.yaml:8:23: error: `brakes/caliper-bolts/low` is tight for good, and builder, who tightened it, is written to have looked at it a second time on the same day; the same at top [checker-did-it]
//!     to do: let somebody else look at it, or look again yourself on another day, and write that under `checked`
//! assemblies/all.yaml:14:20: warning: `brakes/disc/only` is tight for good, and builder, who tightened it, looked at it a second time, on 2026-03-01 [checker-did-it]
//!     to do: let somebody else look at it too, and add that to `checked`
//! ```
//!
//! ## Right
//!
//! ```yaml assemblies/all.yaml
//! brakes:
//!   in: car
//!   critical: brakes
//!   joints:
//!     caliper-bolts:
//!       holes:
//!         low: {done: [{as: final, when: 2026-02-28, set: 68 N·m, by: builder,
//!           checked-by: helper}]}
//!         top: {done: [{as: final, when: 2026-02-28, set: 68 N·m, by: builder,
//!           checked: [{by: builder, when: 2026-03-01}, {by: helper,
//!             when: 2026-03-01}]}]}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::holes::{Alike, alike, how};
use crate::lint::{Context, Rule};
use crate::model::assembly::Tightening;
use crate::model::common::Stage;
use crate::present::joints::{Hole, Joint};

/// The rule.
pub const RULE: Rule = Rule {
    name: "checker-did-it",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        for alike in alike(joint, |hole| fault(cx, joint, hole)) {
            findings.extend(finding(cx, &alike));
        }
    }
}

#[derive(Debug, PartialEq)]
struct Fault<'a> {
    by: &'a str,
    /// The other day, if it was one.
    later: Option<&'a str>,
    how: String,
}

fn fault<'a>(cx: &Context<'_>, joint: &Joint<'a>, hole: &Hole<'a>) -> Option<Fault<'a>> {
    let (_, one) = hole.standing.filter(|_| hole.claim == Stage::Final)?;
    let by = one.by.as_ref()?.as_str();
    let looks = looks(one);
    // What was found bad is no claim of being right.
    if one.found_bad().is_some() || looks.is_empty() || looks.iter().any(|(who, _)| *who != Some(by)) {
        return None;
    }
    let later = looks.iter().filter_map(|(_, later)| *later).next_back();
    let how = how(cx.present(), joint, hole);
    Some(Fault { by, later, how })
}

/// Who looked, and the day if it was another than that of the work.
fn looks(one: &Tightening) -> Vec<(Option<&str>, Option<&str>)> {
    let done = one.when.as_ref();
    let same_day = one.checked_by.iter().map(|who| (Some(who.as_str()), None));
    let looks = one.checked.iter().map(|look| {
        let later = look.when.as_ref().filter(|day| Some(*day) != done);
        (look.by.as_ref().map(|who| who.as_str()), later.map(|day| day.as_str()))
    });
    same_day.chain(looks).collect()
}

fn finding(cx: &Context<'_>, alike: &Alike<'_, '_, Fault<'_>>) -> Option<Finding> {
    let (joint, hole, fault) = (alike.joint, alike.first, &alike.fault);
    let says = match fault.later {
        Some(day) => format!("looked at it a second time, on {day}"),
        None => "is written to have looked at it a second time on the same day".to_owned(),
    };
    let message = alike.told(format!(
        "`{}` {}, and {}, who tightened it, {says}",
        alike.name(),
        fault.how,
        fault.by
    ));
    let remedy = match fault.later {
        Some(_) => "let somebody else look at it too, and add that to `checked`",
        None => "let somebody else look at it, or look again yourself on another day, and write that under `checked`",
    };
    let key = if hole.standing?.1.checked_by.is_some() { "checked-by" } else { "checked" };
    let finding = cx.finding_in(cx.in_done_at(joint, hole, &[key.into()]), message, remedy)?;
    let level = if fault.later.is_some() { Level::Warning } else { Level::Error };
    Some(finding.by_claim(hole.claim, level).at_level(level))
}
