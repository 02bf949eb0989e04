//! # late-for-job
//!
//! Something ordered or sent out will be there after the day on which a job that
//! needs it is wanted, or should be there by now and is not.
//!
//! Two people stand in the garage on Saturday, and the clutch plate comes on
//! Tuesday. A job needs an order or a send-out where its `needs` name that, or a
//! piece that is out with it, or something on order of which there is none; where
//! the order's `needed-by` names the job; and where a job that it needs does. Its
//! day is `wanted`; the parcel's is `promised` or `due`. Jobs that are done or
//! dropped wait for nothing.
//!
//! What has arrived or is back is not late, whatever was promised; where single
//! lines have `arrived`, the rest is waited for.
//!
//! Common practice, no source.
//!
//! ## Wrong
//!
//! ```yaml jobs/all.yaml
//! order-7:
//!   kind: order
//!   from: a dealer
//!   ordered: 2026-02-20
//!   promised: 2026-03-20
//!   lines: [{what: parts/clutch-plate, count: 1}]
//! plating-2:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-02-02
//!   due: 2026-02-16
//!   lines: [{what: parts/bracket/B1, out: 1}]
//! box-on: {does: gearbox on for good, needs: [jobs/order-7, parts/bracket/B1]}
//! first-start: {kind: start-up, needs: [jobs/box-on], wanted: 2026-03-14}
//! ```
//!
//! ```yaml parts/all.yaml
//! clutch-plate: {name: Clutch plate}
//! bracket: {name: Bracket, pieces: {B1: {condition: serviceable}}}
//! ```
//!
//! ```text
//! jobs/all.yaml:5:13: warning: `order-7` is promised for 2026-03-20, in 19 days; `first-start`, which needs it, is wanted by 2026-03-14 [late-for-job]
//!     jobs/all.yaml:14:61: wanted by then
//!     to do: have it sooner, or put off what needs it: mend this day or `wanted`
//! jobs/all.yaml:11:8: warning: `plating-2` was due on 2026-02-16, 13 days ago, and is not back; `first-start`, which needs it, is wanted by 2026-03-14 [late-for-job]
//!     jobs/all.yaml:14:61: wanted by then
//!     to do: ask the shop and write the new day under `due`; if it is back, write `came-back`
//! ```
//!
//! ## Right
//!
//! One came before it was promised, one is promised in time, the job that a third
//! would be too late for is done, and of the fourth what is needed has come.
//!
//! ```yaml jobs/all.yaml
//! order-6: {kind: order, ordered: 2026-02-01, promised: 2026-02-14,
//!   arrived: 2026-02-12}
//! order-7: {kind: order, ordered: 2026-02-20, promised: 2026-03-13}
//! order-8: {kind: order, ordered: 2026-02-20, promised: 2026-03-30}
//! box-on: {does: gearbox on for good, needs: [jobs/order-6, jobs/order-7],
//!   wanted: 2026-03-14}
//! brakes: {does: brakes on for good, needs: [jobs/order-8], wanted: 2026-03-14,
//!   state: dropped}
//! order-9: {kind: order, ordered: 2026-02-20, promised: 2026-03-30,
//!   lines: [{what: fasteners/nut-m8, count: 4, came: 4},
//!     {what: fasteners/bolt-m8-30, count: 4}]}
//! cover: {does: cover on for good, needs: [fasteners/nut-m8], wanted: 2026-03-14}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! nut-m8: {form: nut, thread: M8x1.25}
//! bolt-m8-30: {form: bolt, thread: M8x1.25, length: 30 mm}
//! ```

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::finding::{Finding, Level};
use crate::lint::due::until;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::job::{Job, JobKind, JobState, Line};
use crate::present::age::how_long;
use crate::present::date;
use crate::present::sent::{is_back, is_over};

/// The rule.
pub const RULE: Rule = Rule {
    name: "late-for-job",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// The job that waits for a thing and is wanted first, and its day.
type Waits<'a> = BTreeMap<&'a str, (Date, &'a str)>;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let waits = waits(cx);
    for (id, job) in &cx.folder.model.job {
        findings.extend(finding(cx, id, &job.data, &waits));
    }
}

fn is_open(job: &Job) -> bool {
    !is_over(job) && job.state != Some(JobState::Dropped)
}

/// What each job that is wanted waits for, and what that waits for in turn, by what a
/// reference calls it. The job wanted first comes first, so that each is looked at once.
fn waits<'a>(cx: &Context<'a>) -> Waits<'a> {
    let jobs = &cx.folder.model.job;
    let mut needed: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (id, job) in jobs {
        for by in job
            .data
            .needed_by
            .iter()
            .filter_map(|by| by.as_str().strip_prefix("jobs/"))
        {
            needed.entry(by).or_default().push(id);
        }
    }
    let wanted = jobs
        .iter()
        .filter(|(_, job)| is_open(&job.data))
        .filter_map(|(id, job)| Some((job.data.wanted.as_ref().and_then(date)?, id.as_str())));
    let mut wanted: Vec<(Date, &str)> = wanted.collect();
    wanted.sort_unstable();
    let mut waits: Waits<'a> = BTreeMap::new();
    let mut walked: BTreeMap<&str, (Date, &str)> = BTreeMap::new();
    for first in wanted {
        let mut ahead = vec![first.1];
        while let Some(id) = ahead.pop() {
            let Some((id, job)) = jobs.get_key_value(id).filter(|(_, job)| is_open(&job.data))
            else {
                continue;
            };
            if walked.contains_key(id.as_str()) {
                continue;
            }
            walked.insert(id, first);
            for need in &job.data.needs {
                match need.as_str().strip_prefix("jobs/") {
                    Some(id) => ahead.push(id),
                    None => {
                        waits.entry(need.as_str()).or_insert(first);
                    }
                }
            }
            ahead.extend(needed.get(id.as_str()).into_iter().flatten());
        }
    }
    waits.extend(walked);
    waits
}

/// Whether what a line orders has come.
fn is_there(line: &Line) -> bool {
    let all = |came| came >= line.count.unwrap_or(1);
    line.arrived.is_some() || line.came.is_some_and(all)
}

/// What is still waited for, in words; none if all is there.
fn outstanding(job: &Job) -> Option<(&'static str, &'static str)> {
    match job.kind {
        Some(JobKind::Order) => {
            let all = !job.lines.is_empty() && job.lines.iter().all(is_there);
            let there = job.arrived.is_some() || all || !is_open(job);
            (!there).then_some(("promised for", "has not arrived"))
        }
        Some(JobKind::SendOut) => {
            let there = is_back(job) || !is_open(job);
            (!there).then_some(("due on", "is not back"))
        }
        _ => None,
    }
}

fn finding(cx: &Context<'_>, id: &str, job: &Job, waits: &Waits<'_>) -> Option<Finding> {
    let (word, missing) = outstanding(job)?;
    let (key, day, gone) = match job.kind {
        Some(JobKind::Order) => ("promised", job.promised.as_ref(), true),
        _ => ("due", job.due.as_ref(), job.sent.is_some()),
    };
    let day = day.and_then(date)?;
    let today = cx.facts.as_of;
    let waiting = waiting(cx, id, job, waits);
    let overdue = gone && day < today;
    let late = waiting.filter(|(wanted, _)| day > *wanted || overdue);
    if !overdue && late.is_none() {
        return None;
    }
    let says = if overdue {
        format!(
            "`{id}` was {word} {day}, {} ago, and {missing}",
            how_long(day, today)
        )
    } else {
        format!("`{id}` is {word} {day}, {}", until(today, day))
    };
    let needs = match late {
        Some((wanted, by)) if by == id => format!("; it is wanted by {wanted}"),
        Some((wanted, by)) => format!("; `{by}`, which needs it, is wanted by {wanted}"),
        None => String::new(),
    };
    let remedy = match (overdue, job.kind) {
        (true, Some(JobKind::Order)) => {
            "ask where it is and write the new day under `promised`; if it is there, write `arrived`"
        }
        (true, _) => {
            "ask the shop and write the new day under `due`; if it is back, write `came-back`"
        }
        (false, _) => "have it sooner, or put off what needs it: mend this day or `wanted`",
    };
    let spot = cx.value_at(Kind::Jobs, id, &[key.into()]);
    let finding = cx.finding_in(spot, format!("{says}{needs}"), remedy)?;
    let wanted = late.and_then(|(_, by)| cx.value_at(Kind::Jobs, by, &["wanted".into()]));
    Some(finding.see_at(cx, wanted, "wanted by then"))
}

/// The job wanted first of those that wait for an order or a send-out, or for what it
/// brings.
fn waiting<'a>(
    cx: &Context<'_>,
    id: &str,
    job: &Job,
    waits: &Waits<'a>,
) -> Option<(Date, &'a str)> {
    let itself = waits.get(id);
    let lines = job.lines.iter().filter(|line| !is_there(line));
    let brings = lines.filter_map(|line| {
        let what = line.what.as_ref()?.as_str();
        waits.get(what).filter(|_| is_only_there(cx, what, job))
    });
    itself.into_iter().chain(brings).min().copied()
}

/// Whether nothing else can be taken in the stead of what a line brings.
fn is_only_there(cx: &Context<'_>, what: &str, job: &Job) -> bool {
    let (model, present) = (&cx.folder.model, cx.present());
    let none = |have: Option<u32>| have.unwrap_or(0) == 0;
    if let Some(id) = what.strip_prefix("fasteners/") {
        return model
            .fastener
            .get(id)
            .is_some_and(|one| none(one.data.have));
    }
    let Some(name) = what.strip_prefix("parts/") else {
        return false;
    };
    if present.piece_named(name).is_some() {
        return job.kind == Some(JobKind::SendOut);
    }
    model
        .part
        .get(name)
        .is_some_and(|part| part.data.pieces.is_empty() && none(part.data.have))
}
