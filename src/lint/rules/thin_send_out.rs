//! # thin-send-out
//!
//! Something is away, and what is written down would not prove a loss.
//!
//! Ten bolts come back of a bag that was never counted, and nobody can say
//! whether that is all. So while a send-out is away:
//!
//! - each line wants how many went (`out`); a piece with a mark is one;
//! - where more than one thing went, a picture of them laid out: `photos` of the
//!   job, a `photo` in a line, or a picture that `shows` the job or what it
//!   sends;
//! - what is coated or blasted wants `masking`, in its line or the job, where
//!   there is something to cover: what the part `contains`, what runs through it
//!   (`carries`), the number it `bears`.
//!
//! All that is missing is said once for a job, and no more once it is back: then
//! it is too late to help.
//!
//! Common practice, no source.
//!
//! ## Wrong
//!
//! ```yaml jobs/all.yaml
//! coating-1:
//!   kind: send-out
//!   process: powder coat
//!   sent: 2026-02-20
//!   lines:
//!     - {what: parts/block/B1}
//!     - {what: fasteners/bolt-m8-30}
//!     - {what: fasteners/nut-m8}
//! shop-1: {kind: send-out, process: machine, sent: 2026-02-21}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8-30: {thread: M8x1.25, length: 30 mm}
//! nut-m8: {form: nut, thread: M8x1.25}
//! ```
//!
//! ```yaml parts/all.yaml
//! block: {name: Block, carries: oil, bears: engine number,
//!   pieces: {B1: {condition: serviceable}}}
//! ```
//!
//! ```text
//! jobs/all.yaml:4:9: warning: `coating-1` is away, and nobody wrote how many of `bolt-m8-30` and `nut-m8`; there is no picture of it; nothing is said to be masked of `block/B1`, which carries oil and bears the engine number [thin-send-out]
//!     jobs/all.yaml:7:7: not counted
//!     jobs/all.yaml:8:7: not counted
//!     jobs/all.yaml:6:7: nothing masked
//!     to do: write how many went under `out`, or ask the shop to count; name the picture under `photos`, or have the shop send one; tell the shop what to cover, and write it under `masking`
//! jobs/all.yaml:9:50: warning: `shop-1` is away, and nothing says what [thin-send-out]
//!     to do: write a line for each thing, with how many went under `out`
//! ```
//!
//! ## Right
//!
//! ```yaml jobs/all.yaml
//! coating-1:
//!   kind: send-out
//!   process: powder coat
//!   sent: 2026-02-20
//!   lines:
//!     - {what: parts/block/B1, masking: [all openings plugged, the number taped]}
//!     - {what: fasteners/bolt-m8-30, out: 12}
//! shop-1: {kind: send-out, process: machine, sent: 2026-02-21,
//!   lines: [{what: parts/head/H1}]}
//! plating-1: {kind: send-out, process: zinc, sent: 2026-01-05,
//!   came-back: 2026-01-19, lines: [{what: fasteners/nut-m8}]}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8-30: {thread: M8x1.25, length: 30 mm}
//! nut-m8: {form: nut, thread: M8x1.25}
//! ```
//!
//! ```yaml parts/all.yaml
//! block: {name: Block, carries: oil, bears: engine number,
//!   pieces: {B1: {condition: serviceable}}}
//! head: {name: Head, pieces: {H1: {condition: serviceable}}}
//! ```
//!
//! ```yaml photos/all.yaml
//! p-020: {file: p-020.jpg, shows: [jobs/coating-1]}
//! ```

use std::collections::BTreeSet;

use crate::finding::{Finding, Level};
use crate::lint::ruins::ruins;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::job::Process;
use crate::model::part::Bears;
use crate::near::spoken;
use crate::present::is_away;
use crate::present::sent::{SendOut, SentLine, coats, is_apart};

/// The rule.
pub const RULE: Rule = Rule {
    name: "thin-send-out",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let photos = cx.folder.model.photo.values();
    let shown = photos.flat_map(|photo| photo.data.shows.iter().map(|shows| shows.as_str()));
    let shown: BTreeSet<&str> = shown.collect();
    for sent in &cx.present().send_outs {
        if is_away(sent.job) {
            findings.extend(finding(cx, sent, &shown));
        }
    }
}

fn finding(cx: &Context<'_>, sent: &SendOut<'_>, shown: &BTreeSet<&str>) -> Option<Finding> {
    let things = sent.things(cx.present());
    let mut lacks: Vec<String> = Vec::new();
    let mut remedies: Vec<&str> = Vec::new();
    let mut related = Vec::new();
    let uncounted = things.iter().filter(|(_, counts)| counts.out.is_none());
    let uncounted: Vec<&SentLine<'_>> = uncounted.map(|(lines, _)| lines[0]).collect();
    if things.is_empty() {
        lacks.push("nothing says what".to_owned());
        remedies.push("write a line for each thing, with how many went under `out`");
    } else if !uncounted.is_empty() {
        lacks.push(format!("nobody wrote how many of {}", names(&uncounted)));
        remedies.push("write how many went under `out`, or ask the shop to count");
        related.extend(uncounted.into_iter().map(|line| (line, "not counted")));
    }
    let out = things.iter().map(|(_, counts)| counts.out.unwrap_or(2));
    let several = out.fold(0, u32::saturating_add) > 1;
    if several && !has_picture(sent, shown) {
        lacks.push("there is no picture of it".to_owned());
        remedies.push("name the picture under `photos`, or have the shop send one");
    }
    let mut bare = Vec::new();
    for (lines, _) in &things {
        if let Some(why) = unmasked(cx, sent, lines) {
            bare.push(format!("`{}`, which {why}", lines[0].name()));
            related.push((lines[0], "nothing masked"));
        }
    }
    if !bare.is_empty() {
        lacks.push(format!(
            "nothing is said to be masked of {}",
            spoken(&bare, "and of ")
        ));
        remedies.push("tell the shop what to cover, and write it under `masking`");
    }
    if lacks.is_empty() {
        return None;
    }
    let message = format!("`{}` is away, and {}", sent.id, lacks.join("; "));
    let spot = cx.value_at(Kind::Jobs, sent.id, &["sent".into()]);
    let finding = cx.finding_in(spot, message, remedies.join("; "))?;
    Some(related.into_iter().fold(finding, |finding, (line, words)| {
        finding.see_at(cx, cx.in_line_at(sent.id, line.number, &[]), words)
    }))
}

fn names(lines: &[&SentLine<'_>]) -> String {
    let names: Vec<String> = lines
        .iter()
        .map(|line| format!("`{}`", line.name()))
        .collect();
    spoken(&names, "and")
}

fn has_picture(sent: &SendOut<'_>, shown: &BTreeSet<&str>) -> bool {
    !sent.job.photos.is_empty()
        || sent
            .lines
            .iter()
            .any(|line| line.record.photo.is_some() || shown.contains(line.what))
        || shown.contains(&*format!("jobs/{}", sent.id))
}

/// What there is to mask of a thing of which nothing is said to be masked.
fn unmasked(cx: &Context<'_>, sent: &SendOut<'_>, lines: &[&SentLine<'_>]) -> Option<String> {
    let process = sent.job.process?;
    let covers = coats(process) || matches!(process, Process::Blast | Process::SoftBlast);
    let masked =
        !sent.job.masking.is_empty() || lines.iter().any(|line| !line.record.masking.is_empty());
    if !covers || masked {
        return None;
    }
    let present = cx.present();
    let part = lines[0].part(present)?;
    let apart = lines[0].piece(present).is_some_and(is_apart);
    let mut all = Vec::new();
    // What the process would ruin is told by wrong-process.
    let mut contained = part
        .contains
        .iter()
        .filter(|one| !apart && ruins(process, **one).is_none());
    if let Some(one) = contained.next() {
        all.push(format!("contains {}", one.word()));
    }
    if let Some(carries) = part.carries {
        all.push(format!("carries {}", carries.word()));
    }
    if let Some(bears) = part.bears.filter(|bears| *bears != Bears::Unit) {
        all.push(format!("bears the {}", bears.word()));
    }
    (!all.is_empty()).then(|| spoken(&all, "and"))
}
