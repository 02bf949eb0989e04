//! # embrittlement-risk
//!
//! Hard steel was electroplated, and nothing says that it was baked.
//!
//! Acid and electroplating drive hydrogen into steel. The harder it is, the surer a
//! bolt breaks hours or days after it was tightened, with no warning. Baking soon
//! after plating drives most of it out; a coat that is not electroplated (zinc
//! flake) brings none in. The editions of the standards differ in where it begins:
//!
//! - ISO 4042:2018 and 2022, from memory: above 390 HV, which is 12.9: an error for
//!   good, a warning before. `bake-from` under `figures` sets another class.
//! - ISO 4042:1999, seen in an extract: above 320 HV, which is 10.9: a warning.
//!   `bake-advised-from` sets another class.
//! - ASTM B850-98(2009), seen in a plater's chart, says how long by strength, at
//!   190 to 220 °C; baking shorter or cooler than that is a warning. It begins
//!   within four hours of plating (from memory), which is not recorded here: ask
//!   the plater.
//!
//! Judged is what was plated again: what its `plated-in`, or a send-out for zinc,
//! zinc-nickel, cadmium, nickel or chrome, names, or what has a `finish-before`.
//! What was bought with its coat was its maker's to bake. Spring and hardened steel
//! count as 12.9, as does what is measured above 390 HV or 39 HRC. Where somebody
//! could be hurt, take new bolts; the maker's manual comes first.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-hard: {form: bolt, thread: M10, class: "12.9", finish: zinc,
//!   plated-in: plating-1}
//! bolt-m10: {form: bolt, thread: M10, class: "10.9", finish: zinc,
//!   plated-in: plating-1}
//! bolt-m8-hard: {form: bolt, thread: M8, class: "12.9", finish: zinc,
//!   plated-in: plating-1}
//! clip: {form: clip, material: spring steel}
//! ```
//!
//! ```yaml jobs/all.yaml
//! plating-1: {kind: send-out, process: zinc, to: the plater, sent: 2026-02-02,
//!   came-back: 2026-02-12,
//!   lines: [
//!     {what: fasteners/bolt-m10-hard, out: 4, back: 4},
//!     {what: fasteners/bolt-m10, out: 4, back: 4},
//!     {what: fasteners/bolt-m8-hard, out: 4, back: 4, baked: 4 h},
//!     {what: fasteners/clip, out: 2, back: 2}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints: {bracket: {holes: {b1: {calls-for: bolt-m10-hard, done: [{as: final,
//!     when: 2026-02-20}]}}}}
//! ```
//!
//! ```text
//! fasteners/all.yaml:1:1: error: `bolt-m10-hard`, of class 12.9, was electroplated in `plating-1`, and no baking is written: every edition of ISO 4042 asks for measures [embrittlement-risk]
//!     jobs/all.yaml:4:12: how it went out
//!     to do: ask the plater, and write `baked` in the line of the send-out (ASTM B850-98(2009): 12 to 16 h at 190 to 220 degC, begun within 4 h); if it was not baked, do not use it where somebody could be hurt
//! fasteners/all.yaml:3:1: warning: `bolt-m10`, of class 10.9, was electroplated in `plating-1`, and no baking is written: ISO 4042:1999 asks for proof, and the edition of 2018 for nothing [embrittlement-risk]
//!     jobs/all.yaml:5:12: how it went out
//!     to do: ask the plater, and write `baked` in the line of the send-out (ASTM B850-98(2009): 8 to 12 h at 190 to 220 degC, begun within 4 h); if it was not baked, do not use it where somebody could be hurt
//! fasteners/all.yaml:7:1: warning: `clip`, of spring steel, was electroplated in `plating-1`, and no baking is written: every edition of ISO 4042 asks for measures [embrittlement-risk]
//!     jobs/all.yaml:7:12: how it went out
//!     to do: ask the plater, and write `baked` in the line of the send-out (ASTM B850-98(2009): at 190 to 220 degC, for as long as the plater's chart says, begun within 4 h); if it was not baked, do not use it where somebody could be hurt
//! jobs/all.yaml:6:60: warning: `bolt-m8-hard`, of class 12.9, was electroplated in `plating-1` and baked for 4 h, and ASTM B850-98(2009) asks for 12 to 16 h at 190 to 220 degC [embrittlement-risk]
//!     fasteners/all.yaml:5:1: what was baked
//!     to do: ask the plater how it was baked; later baking mends little, so take other bolts where somebody could be hurt
//! ```
//!
//! ## Right
//!
//! One batch was baked long enough, one came with its coat from the shop, one is
//! soft enough, and one got a coat that is not electroplated.
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-hard: {form: bolt, thread: M10, class: "12.9", finish: zinc,
//!   plated-in: plating-1}
//! bolt-m10-new: {form: bolt, thread: M10, class: "12.9", finish: zinc,
//!   newness: new}
//! bolt-m10-soft: {form: bolt, thread: M10, class: "8.8", finish: zinc,
//!   plated-in: plating-1}
//! bolt-m8-hard: {form: bolt, thread: M8, class: "12.9", finish: zinc flake,
//!   finish-before: black}
//! ```
//!
//! ```yaml jobs/all.yaml
//! plating-1: {kind: send-out, process: zinc, to: the plater, sent: 2026-02-02,
//!   came-back: 2026-02-12,
//!   lines: [
//!     {what: fasteners/bolt-m10-hard, out: 4, back: 4},
//!     {what: fasteners/bolt-m10-hard, baked: 14 h, baked-at: 200 degC},
//!     {what: fasteners/bolt-m10-soft, out: 4, back: 4}]}
//! ```

use std::collections::BTreeMap;

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::Stage;
use crate::model::fastener::{Fastener, Finish};
use crate::model::job::{Job, Line, Process};
use crate::present::hardware::{brittle, hours_in_words};
use crate::reckon::measure::time_of;
use crate::reckon::plating::{BAKED_AT, Risk};
use crate::reckon::unit::Unit;

/// The rule.
pub const RULE: Rule = Rule {
    name: "embrittlement-risk",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let plated = plated(cx);
    let claims = claims(cx);
    for (id, record) in &cx.folder.model.fastener {
        let found = plated.get(id.as_str()).copied();
        let claim = claims.get(id.as_str()).copied().unwrap_or(Stage::Bench);
        findings.extend(judge(cx, id, &record.data, found, claim));
    }
}

/// A line of a send-out that came back electroplated.
#[derive(Clone, Copy)]
struct Plated<'a> {
    job: &'a str,
    number: usize,
    line: &'a Line,
}

/// What came back electroplated, by the fastener: of two the one that `plated-in` names, or
/// else the later; of two lines of one job the one that says how it was baked.
fn plated<'a>(cx: &Context<'a>) -> BTreeMap<&'a str, Plated<'a>> {
    let mut all: BTreeMap<&str, ((bool, &str, bool), Plated<'_>)> = BTreeMap::new();
    for (job, record) in &cx.folder.model.job {
        let record: &Job = &record.data;
        if !record.process.is_some_and(Process::electroplates) {
            continue;
        }
        for (number, line) in record.lines.iter().enumerate() {
            let what = line.what.as_ref().map_or("", |what| what.as_str());
            let Some(id) = what.strip_prefix("fasteners/") else {
                continue;
            };
            // While it is away the plater may still bake it.
            if record.came_back.is_none() && record.closed.is_none() && line.back.is_none() {
                continue;
            }
            let fastener = cx.folder.model.fastener.get(id);
            let named = fastener.and_then(|one| one.data.plated_in.as_ref());
            let named = named.is_some_and(|named| named.as_str() == job.as_str());
            let when = record.came_back.as_ref().or(record.sent.as_ref());
            let when = when.map_or("", |when| when.as_str());
            let key = (named, when, line.baked.is_some());
            let one = Plated { job, number, line };
            let kept = all.entry(id).or_insert((key, one));
            if key > kept.0 {
                *kept = (key, one);
            }
        }
    }
    all.into_iter().map(|(id, (_, one))| (id, one)).collect()
}

/// The foremost stage at which each sort of hardware is in a hole.
fn claims<'a>(cx: &Context<'a>) -> BTreeMap<&'a str, Stage> {
    let mut claims: BTreeMap<&str, Stage> = BTreeMap::new();
    for hole in cx.present().joints.iter().flat_map(|joint| &joint.holes) {
        let inside = hole
            .went_in
            .into_iter()
            .chain(hole.nut)
            .chain(hole.washers.iter().copied());
        for hardware in inside.filter(|_| hole.tight.is_some()) {
            let claim = claims.entry(hardware.id).or_insert(hole.claim);
            *claim = hole.claim.max(*claim);
        }
    }
    claims
}

fn judge(
    cx: &Context<'_>,
    id: &str,
    fastener: &Fastener,
    plated: Option<Plated<'_>>,
    claim: Stage,
) -> Option<Finding> {
    let electroplated = matches!(
        fastener.finish,
        Some(Finish::Zinc | Finish::ZincNickel | Finish::Cadmium | Finish::NickelChrome)
    );
    let again = electroplated && fastener.finish_before.is_some();
    let named = fastener.plated_in.as_ref().map(|job| job.as_str());
    // A coat of another sort was put on since, unless nobody has written the new one down.
    let coated_since = fastener.finish.is_some() && !electroplated;
    let plated = plated.filter(|plated| !coated_since || named == Some(plated.job));
    if plated.is_none() && !again {
        return None;
    }
    let figures = cx.folder.model.build.figures.as_ref();
    let (risk, known) = brittle(figures, Some(fastener), fastener.material)?;
    let wants = fastener.baking();
    let baked = plated.and_then(|plated| plated.line.baked.as_ref());
    let spot = match &plated {
        Some(plated) if baked.is_some() => {
            cx.in_line_at(plated.job, plated.number, &["baked".into()])
        }
        _ => cx.key_at(Kind::Fasteners, id, &[]),
    };
    let by = match plated {
        Some(plated) => format!("electroplated in `{}`", plated.job),
        None => "electroplated anew".to_owned(),
    };
    let long = wants.map_or_else(
        || "at 190 to 220 degC, for as long as the plater's chart says".to_owned(),
        |wants| format!("{} at 190 to 220 degC", hours_in_words(wants)),
    );
    let (says, remedy, light) = match baked {
        Some(written) => {
            let baked = written.quantity().ok().and_then(|time| time_of(&time));
            let short = wants
                .zip(baked)
                .is_some_and(|(wants, baked)| baked.most < wants.least * (1.0 - 1e-6));
            let cool = plated.and_then(|plated| cool(plated.line));
            if !short && cool.is_none() {
                return None;
            }
            let at = cool.map_or_else(String::new, |at| format!(" at {at}"));
            (
                format!("`{id}`, {known}, was {by} and baked for {}{at}, and ASTM B850-98(2009) asks for {long}", written.as_str()),
                "ask the plater how it was baked; later baking mends little, so take other bolts where somebody could be hurt".to_owned(),
                true,
            )
        }
        None => {
            let edition = match risk {
                Risk::Every => "every edition of ISO 4042 asks for measures",
                _ => "ISO 4042:1999 asks for proof, and the edition of 2018 for nothing",
            };
            (
                format!("`{id}`, {known}, was {by}, and no baking is written: {edition}"),
                format!(
                    "ask the plater, and write `baked` in the line of the send-out (ASTM B850-98(2009): {long}, begun within 4 h); if it was not baked, do not use it where somebody could be hurt"
                ),
                risk < Risk::Every,
            )
        }
    };
    let finding = cx.finding_in(spot, says, remedy)?;
    let finding = if light {
        finding.at_level(Level::Warning)
    } else {
        finding.by_claim(claim, Level::Warning)
    };
    Some(match plated {
        Some(plated) if baked.is_none() => finding.see_at(
            cx,
            cx.in_line_at(plated.job, plated.number, &["what".into()]),
            "how it went out",
        ),
        Some(_) => finding.see_at(cx, cx.key_at(Kind::Fasteners, id, &[]), "what was baked"),
        None => finding,
    })
}

/// The heat that it was baked at, where that was too little.
fn cool(line: &Line) -> Option<&str> {
    let written = line.baked_at.as_ref()?;
    let heat = written.quantity().ok()?;
    let reads = heat.high().in_unit(Unit::read("degC").ok()?)?;
    (reads < f64::from(BAKED_AT.least)).then(|| written.as_str())
}
