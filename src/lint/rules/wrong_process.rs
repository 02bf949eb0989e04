//! # wrong-process
//!
//! Something goes out for a process that ruins it.
//!
//! A bucket for the tank or the plater is filled in a hurry, and an alloy cover
//! comes back as a grey sponge. What ruins what, by what part and fastener say
//! under `material`, `contains` and `locking`:
//!
//! - hot tank: aluminium and zinc castings (hot caustic dissolves both), rubber
//!   and plastic, bearings (grease washed out, white metal eaten), nylon lock
//!   rings;
//! - electroplating (zinc, zinc-nickel, cadmium, nickel, chrome): spring steel
//!   and hardened steel unless they are `baked` (hydrogen; ISO 4042 and ISO 9588,
//!   from memory), bearings, nylon lock rings; and in zinc, zinc-nickel and
//!   cadmium, whose baths are for steel, aluminium and magnesium;
//! - phosphate: bearings, nylon lock rings;
//! - hot-dip zinc: all of these, and zinc itself (the bath is at about 450 °C:
//!   ISO 1461, from memory);
//! - anodising: whatever is not light metal, steel inserts and studs among it;
//! - powder coat: rubber, plastic, bearings, nylon lock rings (the oven is at
//!   about 200 °C);
//! - blasting: bearings, with soft grain too; glass, with grit;
//! - heat treatment: rubber, plastic, bearings, nylon lock rings.
//!
//! What names no source is common practice, no source. Shops differ: one that
//! plates aluminium says so, and a decision can say it here. Of springs and
//! hardened parts of brakes, steering and suspension the maker's manual says
//! whether they may be plated at all.
//!
//! What a part only `contains`, such as the rubber seat of a bracket, may be
//! masked or taken out: with `masking` in the line or the job, or the piece
//! `taken apart` and not put together again, nothing is said. Nor is it of what
//! is written down as ruined: rejected, scrap or repairable. Hard hardware that
//! is back is told by embrittlement-risk.
//!
//! ## Wrong
//!
//! ```yaml jobs/all.yaml
//! tank-1:
//!   kind: send-out
//!   process: hot tank
//!   sent: 2026-02-02
//!   lines: [{what: parts/block/B1}, {what: parts/cover/C1}, {what: parts/sump/S1},
//!     {what: parts/hub/H1}]
//! plating-1:
//!   kind: send-out
//!   process: zinc
//!   lines:
//!     - {what: fasteners/nut-m10, count: 4}
//!     - {what: parts/return-spring, count: 2}
//! ```
//!
//! ```yaml parts/all.yaml
//! block: {name: Block, material: cast iron,
//!   pieces: {B1: {condition: serviceable}}}
//! cover: {name: Cover, material: aluminium,
//!   pieces: {C1: {condition: serviceable}}}
//! sump: {name: Sump, material: aluminium, pieces: {S1: {condition: serviceable}}}
//! hub: {name: Hub, material: cast iron, contains: [bearing],
//!   pieces: {H1: {condition: serviceable}}}
//! return-spring: {name: Return spring, material: spring steel}
//! ```
//!
//! ```yaml fasteners/all.yaml
//! nut-m10: {form: nut, thread: M10x1.5, locking: nylon}
//! ```
//!
//! ```text
//! jobs/all.yaml:5:42: error: `cover/C1` and `sump/S1` are of aluminium, and `tank-1` is for `hot tank`: hot caustic dissolves it [wrong-process]
//!     jobs/all.yaml:5:66: `sump/S1`
//!     parts/all.yaml:3:32: what it says of itself
//!     to do: ring the shop before any of them goes in; or write in a decision why this shop can do it
//! jobs/all.yaml:6:12: error: `hub/H1` contains a bearing, and `tank-1` is for `hot tank`: the bath washes its grease out and eats its white metal [wrong-process]
//!     parts/all.yaml:6:49: what it says of itself
//!     to do: ring the shop before it goes in; or have what does not stand it taken out (`taken apart`) or covered (`masking`)
//! jobs/all.yaml:11:14: error: `nut-m10` locks with a ring of nylon, and `plating-1` is for `zinc`: the pickling acid and the baking spoil nylon [wrong-process]
//!     fasteners/all.yaml:1:48: what it says of itself
//!     to do: take it out of this job; or write in a decision why this shop can do it
//! jobs/all.yaml:12:14: error: `return-spring` is of spring steel, and `plating-1` is for `zinc`: pickling and plating charge hard steel with hydrogen, and unbaked it breaks days later [wrong-process]
//!     parts/all.yaml:8:48: what it says of itself
//!     to do: take it out of this job; or have it baked and write `baked`, or coated without current (`zinc flake`)
//! ```
//!
//! ## Right
//!
//! The bearing is out, the seat is masked, the springs are to be baked.
//!
//! ```yaml jobs/all.yaml
//! tank-1:
//!   kind: send-out
//!   process: hot tank
//!   sent: 2026-02-02
//!   lines: [{what: parts/block/B1}, {what: parts/hub/H1}]
//! coating-1:
//!   kind: send-out
//!   process: powder coat
//!   lines: [{what: parts/bracket/B1, masking: [rubber seat pressed out]}]
//! plating-1:
//!   kind: send-out
//!   process: zinc
//!   lines: [{what: parts/return-spring, count: 2, baked: 8 h}]
//! ```
//!
//! ```yaml parts/all.yaml
//! block: {name: Block, material: cast iron,
//!   pieces: {B1: {condition: serviceable}}}
//! hub:
//!   name: Hub
//!   material: cast iron
//!   contains: [bearing]
//!   pieces:
//!     H1: {condition: serviceable,
//!       treated: [{what: taken apart, when: 2026-02-01}]}
//! bracket: {name: Bracket, material: steel, contains: [rubber],
//!   pieces: {B1: {condition: serviceable}}}
//! return-spring: {name: Return spring, material: spring steel}
//! ```

use std::collections::BTreeMap;

use crate::finding::{Finding, Level};
use crate::lint::at::Spot;
use crate::lint::ruins::{ruins, unlocks};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::Condition;
use crate::model::job::{JobState, Process};
use crate::model::part::Material;
use crate::near::spoken;
use crate::present::is_away;
use crate::present::sent::{Counts, SendOut, SentLine, Thing, is_apart, is_back};
use crate::yaml::Step;

/// The rule.
pub const RULE: Rule = Rule {
    name: "wrong-process",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

/// What of a thing does not stand the process.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Weak {
    /// What it is made of.
    Is(Material),
    /// Something in it.
    Contains(Material),
    /// What locks it.
    Nylon,
}

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for sent in &cx.present().send_outs {
        let Some(process) = sent.job.process else {
            continue;
        };
        if sent.job.state == Some(JobState::Dropped) && sent.job.sent.is_none() {
            continue;
        }
        let mut clashes: BTreeMap<(Weak, &str), Vec<&SentLine<'_>>> = BTreeMap::new();
        for (lines, counts) in sent.things(cx.present()) {
            if let Some(clash) = clash(cx, sent, &lines, &counts, process) {
                clashes.entry(clash).or_default().push(lines[0]);
            }
        }
        for ((weak, why), lines) in clashes {
            findings.extend(finding(cx, sent, process, weak, why, &lines));
        }
    }
}

/// What of a thing does not stand the process, and why.
fn clash(
    cx: &Context<'_>,
    sent: &SendOut<'_>,
    lines: &[&SentLine<'_>],
    counts: &Counts,
    process: Process,
) -> Option<(Weak, &'static str)> {
    let (present, line) = (cx.present(), lines[0]);
    let piece = line.piece(present);
    let ruined = piece.is_some_and(|piece| {
        matches!(
            piece.record.condition,
            Some(Condition::Scrap | Condition::Repairable)
        )
    });
    let unfit = counts
        .rejected
        .unwrap_or(0)
        .saturating_add(counts.lost.unwrap_or(0));
    if unfit > 0 && counts.back.unwrap_or(0) == 0 || (ruined && is_back(sent.job)) {
        return None;
    }
    let hard = |material| matches!(material, Material::SpringSteel | Material::HardenedSteel);
    let baked = lines.iter().any(|line| line.record.baked.is_some());
    let is_hardware = matches!(line.thing, Some(Thing::Fastener(_)));
    let told_there = is_hardware && (is_back(sent.job) || counts.back.is_some_and(|back| back > 0));
    let weak = |material: Material| {
        let let_go = process.electroplates() && hard(material) && (baked || told_there);
        ruins(process, material).filter(|_| !let_go)
    };
    if let Some(Thing::Fastener(fastener)) = line.thing {
        let record = fastener.record;
        let material = record
            .material
            .and_then(|one| Some((Weak::Is(one), weak(one)?)));
        return material.or_else(|| Some((Weak::Nylon, unlocks(process, record.locking?)?)));
    }
    let part = line.part(present)?;
    let material = part
        .material
        .and_then(|one| Some((Weak::Is(one), weak(one)?)));
    let kept_off = !sent.job.masking.is_empty()
        || lines.iter().any(|line| !line.record.masking.is_empty())
        || piece.is_some_and(is_apart);
    material.or_else(|| {
        let mut contained = part.contains.iter().filter(|_| !kept_off);
        contained.find_map(|one| Some((Weak::Contains(*one), weak(*one)?)))
    })
}

fn finding(
    cx: &Context<'_>,
    sent: &SendOut<'_>,
    process: Process,
    weak: Weak,
    why: &str,
    lines: &[&SentLine<'_>],
) -> Option<Finding> {
    let names: Vec<String> = lines
        .iter()
        .map(|line| format!("`{}`", line.name()))
        .collect();
    let many = lines.len() > 1;
    let what = match (weak, many) {
        (Weak::Is(Material::Bearing), false) => "is a bearing".to_owned(),
        (Weak::Is(Material::Bearing), true) => "are bearings".to_owned(),
        (Weak::Is(material), false) => format!("is of {}", material.word()),
        (Weak::Is(material), true) => format!("are of {}", material.word()),
        (Weak::Contains(Material::Bearing), false) => "contains a bearing".to_owned(),
        (Weak::Contains(Material::Bearing), true) => "contain bearings".to_owned(),
        (Weak::Contains(material), false) => format!("contains {}", material.word()),
        (Weak::Contains(material), true) => format!("contain {}", material.word()),
        (Weak::Nylon, false) => "locks with a ring of nylon".to_owned(),
        (Weak::Nylon, true) => "lock with a ring of nylon".to_owned(),
    };
    let message = format!(
        "{} {what}, and `{}` is for `{}`: {why}",
        spoken(&names, "and"),
        sent.id,
        process.word()
    );
    let it = if many { "them" } else { "it" };
    let first = if is_back(sent.job) {
        format!(
            "look {it} over and write what is ruined under `rejected`, and of a piece as its `condition`"
        )
    } else if is_away(sent.job) {
        format!(
            "ring the shop before {it} goes in",
            it = if many { "any of them" } else { "it" }
        )
    } else {
        format!("take {it} out of this job")
    };
    let or = match weak {
        Weak::Contains(_) => {
            "; or have what does not stand it taken out (`taken apart`) or covered (`masking`)"
        }
        Weak::Is(Material::SpringSteel | Material::HardenedSteel) if process.electroplates() => {
            "; or have it baked and write `baked`, or coated without current (`zinc flake`)"
        }
        _ => "; or write in a decision why this shop can do it",
    };
    let spot = cx.in_line_at(sent.id, lines[0].number, &["what".into()]);
    let mut finding = cx.finding_in(spot, message, format!("{first}{or}"))?;
    for line in lines.iter().skip(1) {
        let spot = cx.in_line_at(sent.id, line.number, &["what".into()]);
        finding = finding.see_at(cx, spot, format!("`{}`", line.name()));
    }
    let key: Step = match weak {
        Weak::Is(_) => "material".into(),
        Weak::Contains(_) => "contains".into(),
        Weak::Nylon => "locking".into(),
    };
    Some(finding.see_at(cx, said_at(cx, lines[0], key), "what it says of itself"))
}

/// Where a part or a fastener says what it is made of.
fn said_at(cx: &Context<'_>, line: &SentLine<'_>, key: Step) -> Option<Spot> {
    match line.thing? {
        Thing::Fastener(fastener) => cx.in_fastener_at(fastener.id, &[key]),
        Thing::Piece(_) | Thing::Part(_) => {
            let part = line.name().split('/').next()?;
            cx.value_at(Kind::Parts, part, &[key])
        }
    }
}
