//! # counts-differ
//!
//! What came back of a send-out is not what went, and the job is closed; or more
//! came back than went.
//!
//! A bucket for the plater goes out with a hundred others. Once the job is
//! `closed` or done, `back`, `lost` and `rejected` of a line come to its `out`:
//! what the shop did not find is written as lost, and can be told to the shop
//! while it remembers. `back` counts what is fit for use, and `rejected` what is
//! not. Where `out` is not written, `count` stands for it; a piece with a mark is
//! one. Lines that name one thing count together.
//!
//! Before that, a line may say as little as it likes: the bag may be half
//! counted. Only more back than went can't be so: then the count before was
//! wrong, or somebody else's hardware is in the bag. What is not yours belongs
//! into `note`, and back to the shop. A line with no figure at all is not judged.
//!
//! Common practice, no source.
//!
//! ## Wrong
//!
//! ```yaml jobs/all.yaml
//! plating-1:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-02-02
//!   came-back: 2026-02-13
//!   closed: 2026-02-14
//!   lines:
//!     - {what: fasteners/bolt-m8-30, out: 12, back: 11}
//!     - {what: fasteners/bolt-m10-30, out: 6, back: 6}
//!     - {what: fasteners/nut-m8, out: 9}
//!     - {what: fasteners/washer-m8, count: 9}
//!     - {what: parts/bracket/B1}
//! plating-2:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-02-20
//!   lines:
//!     - {what: fasteners/bolt-m8-30, out: 8, back: 8}
//!     - {what: fasteners/bolt-m8-30, rejected: 1}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8-30: {thread: M8x1.25, length: 30 mm}
//! bolt-m10-30: {thread: M10x1.5, length: 30 mm}
//! nut-m8: {form: nut, thread: M8x1.25}
//! washer-m8: {form: washer, inside: 8.4 mm}
//! ```
//!
//! ```yaml parts/all.yaml
//! bracket: {name: Bracket, pieces: {B1: {condition: serviceable}}}
//! ```
//!
//! ```text
//! jobs/all.yaml:8:7: error: `plating-1` is closed, and of 12 `bolt-m8-30` it counts 11 back: 1 is missing [counts-differ]
//!     jobs/all.yaml:6:11: that it is closed
//!     to do: count again and ask the shop; write what can't be found under `lost` and what is unfit under `rejected`, or leave the job open until it is settled
//! jobs/all.yaml:10:7: error: `plating-1` is closed, and does not say what came back of 9 `nut-m8` and 9 `washer-m8` [counts-differ]
//!     jobs/all.yaml:6:11: that it is closed
//!     jobs/all.yaml:11:7: not counted either
//!     to do: count, and write `back`, `lost` and `rejected` into each line; or leave the job open until somebody has counted
//! jobs/all.yaml:18:7: error: `plating-2` sent 8 `bolt-m8-30` out, and counts 8 back and 1 rejected [counts-differ]
//!     jobs/all.yaml:19:7: another line of it
//!     to do: count again and mend `out` or the others; what came back unfit counts under `rejected` and not under `back`, and what is another customer's under none of them: write it as `note`
//! ```
//!
//! ## Right
//!
//! One is lost, and that is written; the other bag is half counted.
//!
//! ```yaml jobs/all.yaml
//! plating-1:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-02-02
//!   came-back: 2026-02-13
//!   closed: 2026-02-14
//!   lines:
//!     - {what: fasteners/bolt-m8-30, out: 12, back: 10, lost: 1, rejected: 1}
//!     - {what: fasteners/bolt-m10-30, out: 6, back: 4}
//!     - {what: fasteners/bolt-m10-30, back: 2, note: in the painter's bag}
//! plating-2:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-02-20
//!   came-back: 2026-02-27
//!   lines: [{what: fasteners/bolt-m8-30, out: 8, back: 5}]
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8-30: {thread: M8x1.25, length: 30 mm}
//! bolt-m10-30: {thread: M10x1.5, length: 30 mm}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::at::Spot;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::near::spoken;
use crate::present::sent::{Counts, SendOut, SentLine, is_over};

/// The rule.
pub const RULE: Rule = Rule {
    name: "counts-differ",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for sent in &cx.present().send_outs {
        let mut uncounted: Vec<(&SentLine<'_>, u32)> = Vec::new();
        for (lines, counts) in &sent.things(cx.present()) {
            let Some(out) = counts.out else {
                continue;
            };
            match counts.accounted() {
                Some(accounted) if accounted > out => {
                    findings.extend(more_than_went(cx, sent, lines, counts, out));
                }
                Some(accounted) if accounted < out && is_over(sent.job) => {
                    findings.extend(some_missing(cx, sent, lines, counts, out - accounted));
                }
                // Of a piece that is one by itself nobody wrote a figure.
                None if is_over(sent.job) && lines.iter().any(|line| wrote(line)) => {
                    uncounted.push((lines[0], out));
                }
                _ => {}
            }
        }
        findings.extend(nothing_counted(cx, sent, uncounted));
    }
}

fn wrote(line: &SentLine<'_>) -> bool {
    line.record.out.or(line.record.count).is_some()
}

/// What became of those that went, in words: `10 back, 1 lost and 1 rejected`.
fn told(counts: &Counts) -> String {
    let told = [
        (counts.back, "back"),
        (counts.lost, "lost"),
        (counts.rejected, "rejected"),
    ];
    let told = told.iter().filter_map(|(count, word)| {
        let count = (*count)?;
        Some(format!("{count} {word}"))
    });
    spoken(&told.collect::<Vec<_>>(), "and")
}

fn see_lines(
    cx: &Context<'_>,
    finding: Finding,
    sent: &SendOut<'_>,
    lines: &[&SentLine<'_>],
) -> Finding {
    let others = lines.iter().skip(1);
    others.fold(finding, |finding, line| {
        finding.see_at(
            cx,
            cx.in_line_at(sent.id, line.number, &[]),
            "another line of it",
        )
    })
}

fn more_than_went(
    cx: &Context<'_>,
    sent: &SendOut<'_>,
    lines: &[&SentLine<'_>],
    counts: &Counts,
    out: u32,
) -> Option<Finding> {
    let message = format!(
        "`{}` sent {out} `{}` out, and counts {}",
        sent.id,
        lines[0].name(),
        told(counts)
    );
    let remedy = "count again and mend `out` or the others; what came back unfit counts under `rejected` and not under `back`, and what is another customer's under none of them: write it as `note`";
    let spot = cx.in_line_at(sent.id, lines[0].number, &[]);
    let finding = cx.finding_in(spot, message, remedy)?;
    Some(see_lines(cx, finding, sent, lines))
}

fn some_missing(
    cx: &Context<'_>,
    sent: &SendOut<'_>,
    lines: &[&SentLine<'_>],
    counts: &Counts,
    missing: u32,
) -> Option<Finding> {
    let (claim, spot) = claim(cx, sent)?;
    let message = format!(
        "`{}` is {claim}, and of {} `{}` it counts {}: {missing} {} missing",
        sent.id,
        counts.out.unwrap_or(0),
        lines[0].name(),
        told(counts),
        if missing == 1 { "is" } else { "are" }
    );
    let remedy = "count again and ask the shop; write what can't be found under `lost` and what is unfit under `rejected`, or leave the job open until it is settled";
    let at = cx.in_line_at(sent.id, lines[0].number, &[]);
    let finding = cx.finding_in(at, message, remedy)?;
    let finding = finding.see_at(cx, spot, format!("that it is {claim}"));
    Some(see_lines(cx, finding, sent, lines))
}

/// A job that is claimed to be over, and things of which nobody wrote that they are back:
/// one slip, however many lines there are.
fn nothing_counted(
    cx: &Context<'_>,
    sent: &SendOut<'_>,
    uncounted: Vec<(&SentLine<'_>, u32)>,
) -> Option<Finding> {
    let names: Vec<String> = uncounted
        .iter()
        .map(|(line, out)| format!("{out} `{}`", line.name()))
        .collect();
    let (first, _) = *uncounted.first()?;
    let (claim, spot) = claim(cx, sent)?;
    let message = format!(
        "`{}` is {claim}, and does not say what came back of {}",
        sent.id,
        spoken(&names, "and")
    );
    let remedy = "count, and write `back`, `lost` and `rejected` into each line; or leave the job open until somebody has counted";
    let at = cx.in_line_at(sent.id, first.number, &[]);
    let mut finding = cx.finding_in(at, message, remedy)?;
    finding = finding.see_at(cx, spot, format!("that it is {claim}"));
    for (line, _) in uncounted.iter().skip(1) {
        finding = finding.see_at(
            cx,
            cx.in_line_at(sent.id, line.number, &[]),
            "not counted either",
        );
    }
    Some(finding)
}

/// The word by which a job is claimed to be over, and where it stands.
fn claim(cx: &Context<'_>, sent: &SendOut<'_>) -> Option<(&'static str, Option<Spot>)> {
    let (word, key) = if sent.job.closed.is_some() {
        ("closed", "closed")
    } else if sent.job.done.is_some() {
        ("done", "done")
    } else if is_over(sent.job) {
        ("done", "state")
    } else {
        return None;
    };
    Some((word, cx.value_at(Kind::Jobs, sent.id, &[key.into()])))
}
