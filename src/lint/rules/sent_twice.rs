//! # sent-twice
//!
//! One piece is away with two send-outs, or more of one sort of hardware is away,
//! or away and tight in holes, than there is.
//!
//! What is with the plater can't be with the machine shop. One of the two records
//! was left as it was planned, or nobody wrote that the bag came back.
//!
//! A piece with a mark can be with one shop alone, also where its own `out-with`
//! names another than the line does. Of hardware and of lots some may be here and
//! some there: what is still out with all open send-outs, and of hardware the
//! bolts, studs and nuts in holes that are tight now, must not come to more than
//! `have` or the `count` of the lot. Hardware that does not say how many there
//! are is not judged. What is back, lost or rejected is away no longer, even if
//! the job is open.
//!
//! A piece that is on while it is away is told by piece-in-two-places.
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
//!   lines:
//!     - {what: parts/bracket/B1, out: 1}
//!     - {what: fasteners/bolt-m8-30, out: 8, back: 2}
//!     - {what: parts/clip/L1, out: 4}
//! blasting-1:
//!   kind: send-out
//!   process: soft blast
//!   sent: 2026-02-09
//!   lines:
//!     - {what: parts/bracket/B1, out: 1}
//!     - {what: fasteners/bolt-m8-30, out: 4}
//!     - {what: parts/clip/L1, out: 4}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8-30: {thread: M8x1.25, length: 30 mm, have: 11}
//! ```
//!
//! ```yaml parts/all.yaml
//! bracket: {name: Bracket, pieces: {B1: {condition: serviceable}}}
//! clip: {name: Clip, pieces: {L1: {count: 6, condition: serviceable}}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover:
//!       holes:
//!         left: {calls-for: bolt-m8-30, done: [{as: mock-up, when: 2026-01-20}]}
//!         right: {calls-for: bolt-m8-30, done: [{as: mock-up, when: 2026-01-20}]}
//! ```
//!
//! ```text
//! jobs/all.yaml:14:7: error: `bracket/B1` is one piece, and is away with `plating-1` and `blasting-1` [sent-twice]
//!     jobs/all.yaml:6:7: away with `plating-1`
//!     to do: write into the send-out that it is not with that it is back (`back: 1`, or the day under `came-back`), or take it out of that one's lines
//! jobs/all.yaml:15:7: error: there are 11 of `bolt-m8-30`, and away are 6 with `plating-1` and 4 with `blasting-1`; in engine/cover 2 are tight [sent-twice]
//!     jobs/all.yaml:7:7: 6 away with `plating-1`
//!     assemblies/all.yaml:6:46: tight here
//!     to do: write `until` into the holes that they came out of, write what is back into its send-out, or mend `out` or `have`, which counts all there are
//! jobs/all.yaml:16:7: error: `clip/L1` is a lot of 6, and away are 4 with `plating-1` and 4 with `blasting-1` [sent-twice]
//!     jobs/all.yaml:8:7: 4 away with `plating-1`
//!     to do: write what is back into its send-out, mend `out`, or mend the `count` of the lot
//! ```
//!
//! ## Right
//!
//! Half of the bolts are with each; the bracket is back from the one before it
//! went to the other; the bolts came out before they went.
//!
//! ```yaml jobs/all.yaml
//! plating-1:
//!   kind: send-out
//!   process: zinc
//!   sent: 2026-02-02
//!   lines:
//!     - {what: parts/bracket/B1, out: 1, back: 1}
//!     - {what: fasteners/bolt-m8-30, out: 8}
//! blasting-1:
//!   kind: send-out
//!   process: soft blast
//!   sent: 2026-02-09
//!   lines:
//!     - {what: parts/bracket/B1, out: 1}
//!     - {what: fasteners/bolt-m8-30, out: 4}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8-30: {thread: M8x1.25, length: 30 mm, have: 12}
//! ```
//!
//! ```yaml parts/all.yaml
//! bracket:
//!   name: Bracket
//!   pieces: {B1: {condition: serviceable, out-with: blasting-1}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover:
//!       holes:
//!         left: {calls-for: bolt-m8-30,
//!           done: [{as: mock-up, when: 2026-01-20, until: 2026-02-01}]}
//! ```

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::{Finding, Level};
use crate::lint::at::Spot;
use crate::lint::{Context, Rule};
use crate::near::spoken;
use crate::present::joints::{Hole, Joint};
use crate::present::sent::{SendOut, Thing};
use crate::present::{Piece, date, is_away};

/// The rule.
pub const RULE: Rule = Rule {
    name: "sent-twice",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

/// Some of a thing that are away with a send-out, and the first line that names them.
struct Gone<'a> {
    job: &'a str,
    at: Option<Spot>,
    count: u32,
}

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let mut open: Vec<&SendOut<'_>> = present
        .send_outs
        .iter()
        .filter(|sent| is_away(sent.job))
        .collect();
    open.sort_by_key(|sent| (sent.job.sent.as_ref().and_then(date), sent.id));
    let mut away: BTreeMap<&str, (Thing<'_>, Vec<Gone<'_>>)> = BTreeMap::new();
    let mut named: BTreeSet<(usize, &str)> = BTreeSet::new();
    for sent in open {
        for (lines, counts) in sent.things(present) {
            let Some(thing) = lines[0].thing else {
                continue;
            };
            let count = match thing {
                Thing::Piece(piece) => {
                    named.insert((piece, sent.id));
                    let all = present.pieces[piece].count();
                    counts
                        .away()
                        .unwrap_or(all.saturating_sub(counts.accounted().unwrap_or(0)))
                }
                Thing::Part(_) | Thing::Fastener(_) => counts.away().unwrap_or(0),
            };
            if count > 0 {
                let at = cx.in_line_at(sent.id, lines[0].number, &[]);
                let (_, gone) = away.entry(lines[0].what).or_insert((thing, Vec::new()));
                gone.push(Gone {
                    job: sent.id,
                    at,
                    count,
                });
            }
        }
    }
    let mut tight = None;
    for (what, (thing, gone)) in &away {
        let name = what.split_once('/').map_or(*what, |(_, name)| name);
        findings.extend(match thing {
            Thing::Piece(number) => {
                let piece = &present.pieces[*number];
                match piece.count() {
                    1 => piece_twice(cx, piece, gone, &named, *number),
                    _ => lot_twice(cx, piece, gone),
                }
            }
            Thing::Part(part) if part.pieces.is_empty() => part
                .have
                .and_then(|have| too_many(cx, name, have, gone, &[])),
            Thing::Part(_) => None,
            Thing::Fastener(fastener) => {
                let tight = tight.get_or_insert_with(|| tight_holes(cx));
                let holes = tight.get(fastener.id).map_or(&[][..], Vec::as_slice);
                fastener
                    .record
                    .have
                    .and_then(|have| too_many(cx, name, have, gone, holes))
            }
        });
    }
}

/// Holes in which hardware is tight now, by what it is.
type Tight<'a> = BTreeMap<&'a str, Vec<(&'a Joint<'a>, &'a Hole<'a>)>>;

fn tight_holes<'a>(cx: &Context<'a>) -> Tight<'a> {
    let mut tight: Tight<'a> = BTreeMap::new();
    for joint in &cx.present().joints {
        for hole in joint.holes.iter().filter(|hole| hole.tight.is_some()) {
            // Where something stands in for the bolt, nobody knows whether its nut is on.
            let nut = hole.nut.filter(|_| hole.went_in.is_some());
            for one in hole.went_in.into_iter().chain(nut) {
                tight.entry(one.id).or_default().push((joint, hole));
            }
        }
    }
    tight
}

/// One piece with two shops; the one that its own `out-with` names counts as well.
fn piece_twice(
    cx: &Context<'_>,
    piece: &Piece<'_>,
    gone: &[Gone<'_>],
    named: &BTreeSet<(usize, &str)>,
    number: usize,
) -> Option<Finding> {
    let mut places: Vec<(&str, Option<Spot>)> =
        gone.iter().map(|gone| (gone.job, gone.at)).collect();
    if let Some(job) = &piece.record.out_with
        && !named.contains(&(number, job.as_str()))
        && let Some(job) = cx.folder.model.job.get_key_value(job.as_str())
        && is_away(&job.1.data)
    {
        places.push((job.0, cx.in_piece_at(piece, &["out-with".into()])));
    }
    let ((_, at), before) = places
        .split_last()
        .filter(|(_, before)| !before.is_empty())?;
    let jobs: Vec<String> = places.iter().map(|(job, _)| format!("`{job}`")).collect();
    let message = format!(
        "`{}` is one piece, and is away with {}",
        piece.name(),
        spoken(&jobs, "and")
    );
    let remedy = "write into the send-out that it is not with that it is back (`back: 1`, or the day under `came-back`), or take it out of that one's lines";
    let finding = cx.finding_in(*at, message, remedy)?;
    Some(before.iter().fold(finding, |finding, (job, at)| {
        finding.see_at(cx, *at, format!("away with `{job}`"))
    }))
}

fn lot_twice(cx: &Context<'_>, piece: &Piece<'_>, gone: &[Gone<'_>]) -> Option<Finding> {
    let has = piece.count();
    let away = sum(gone);
    let stays = piece.stays.iter().map(|stay| &cx.present().stays[*stay]);
    let on = stays.filter(|stay| stay.is_on()).map(|stay| stay.count);
    let on = on.fold(0, u32::saturating_add);
    // Those of one send-out and those that are on are told by piece-in-two-places.
    let last = piece.away.map_or(0, |away| away.count);
    if on > 0 && on.saturating_add(last) > has {
        return None;
    }
    let message = if away > has {
        format!("`{}` is a lot of {has}, and {}", piece.name(), told(gone))
    } else if away.saturating_add(on) > has {
        format!(
            "`{}` is a lot of {has}, {on} of it on, and {}",
            piece.name(),
            told(gone)
        )
    } else {
        return None;
    };
    let remedy = "write what is back into its send-out, mend `out`, or mend the `count` of the lot";
    at_the_last(cx, message, remedy, gone)
}

/// Of what is only counted: more away, and tight in holes, than there is.
fn too_many(
    cx: &Context<'_>,
    name: &str,
    have: u32,
    gone: &[Gone<'_>],
    holes: &[(&Joint<'_>, &Hole<'_>)],
) -> Option<Finding> {
    let fitted = u32::try_from(holes.len()).unwrap_or(u32::MAX);
    if sum(gone).saturating_add(fitted) <= have {
        return None;
    }
    let mut joints: Vec<String> = holes.iter().map(|(joint, _)| joint.name.clone()).collect();
    joints.dedup();
    let tight = match fitted {
        0 => String::new(),
        _ => format!(
            "; in {} {fitted} {} tight",
            spoken(&joints, "and"),
            if fitted == 1 { "is" } else { "are" }
        ),
    };
    let message = format!("there are {have} of `{name}`, and {}{tight}", told(gone));
    let remedy = match fitted {
        0 => {
            "write what is back into its send-out, mend `out`, or mend `have`, which counts all there are"
        }
        _ => {
            "write `until` into the holes that they came out of, write what is back into its send-out, or mend `out` or `have`, which counts all there are"
        }
    };
    let finding = at_the_last(cx, message, remedy, gone)?;
    let hole = holes
        .first()
        .map(|(joint, hole)| cx.in_done_at(joint, hole, &[]));
    Some(finding.see_at(cx, hole.flatten(), "tight here"))
}

fn sum(gone: &[Gone<'_>]) -> u32 {
    gone.iter()
        .fold(0, |sum, gone| sum.saturating_add(gone.count))
}

/// How many are away with which.
fn told(gone: &[Gone<'_>]) -> String {
    let with: Vec<String> = gone
        .iter()
        .map(|gone| format!("{} with `{}`", gone.count, gone.job))
        .collect();
    let are = match gone {
        [Gone { count: 1, .. }] => "is",
        _ => "are",
    };
    format!("away {are} {}", spoken(&with, "and"))
}

fn at_the_last(
    cx: &Context<'_>,
    message: String,
    remedy: &str,
    gone: &[Gone<'_>],
) -> Option<Finding> {
    let (last, before) = gone.split_last()?;
    let finding = cx.finding_in(last.at, message, remedy)?;
    Some(before.iter().fold(finding, |finding, gone| {
        finding.see_at(
            cx,
            gone.at,
            format!("{} away with `{}`", gone.count, gone.job),
        )
    }))
}
