//! # decided-twice
//!
//! Two decisions that stand answer one question, or one was overturned out of turn.
//!
//! The second forgot the first, and the next reader follows whichever is found
//! first. A decision that takes the place of another says so under `instead-of`;
//! then the earlier one is history and does not count, nor does one that is
//! `withdrawn` or still open. Two decisions are on one question if they ask the
//! same, or are about the same things and choose among the same options; or if they
//! are about the same things, and each chose otherwise among options of the other.
//!
//! It is also said if a decision is older than the one that it overturns. Decisions
//! that overturn each other in a ring are an error: none of them stands.
//!
//! ## Wrong
//!
//! ```yaml decisions/all.yaml
//! keep-unit-a:
//!   asks: Which control unit?
//!   options: {unit-a: {}, unit-b: {}}
//!   chosen: unit-a
//!   because: it was on the shelf
//!   when: 2026-01-10
//! take-unit-b:
//!   asks: which control unit
//!   options: {unit-a: {}, unit-b: {}}
//!   chosen: unit-b
//!   because: it reads this head's coils
//!   when: 2026-02-14
//! paint-early:
//!   asks: When do we paint?
//!   chosen: early
//!   options: {early: {}, late: {}}
//!   because: it is dry now
//!   instead-of: paint-late
//!   when: 2026-01-20
//! paint-late:
//!   asks: When is the paint done?
//!   chosen: late
//!   options: {early: {}, late: {}}
//!   because: less gets scratched
//!   when: 2026-02-02
//! long-rods:
//!   asks: Which rods?
//!   chosen: long
//!   options: {long: {}, short: {}}
//!   because: they are here
//!   instead-of: short-rods
//! short-rods:
//!   asks: Which rods are used?
//!   chosen: short
//!   options: {long: {}, short: {}}
//!   because: they are lighter
//!   instead-of: long-rods
//! ```
//!
//! ```text
//! decisions/all.yaml:10:11: warning: `take-unit-b` asks the same as `keep-unit-a`, and both stand: this one chose `unit-b`, that one `unit-a` [decided-twice]
//!     decisions/all.yaml:4:11: the earlier one
//!     to do: write `instead-of: keep-unit-a` here if it takes its place, or set one of them to `state: withdrawn`
//! decisions/all.yaml:18:15: warning: `paint-early` of 2026-01-20 stands instead of `paint-late`, which was decided later, on 2026-02-02 [decided-twice]
//!     decisions/all.yaml:25:9: the later day
//!     to do: mend the day that is wrong, or turn `instead-of` round
//! decisions/all.yaml:37:15: error: `short-rods` stands instead of `long-rods`, which stands instead of `short-rods`, so that none stands [decided-twice]
//!     decisions/all.yaml:31:15: the next
//!     to do: take `instead-of` out of the one that was decided first
//! ```
//!
//! ```yaml decisions/all.yaml
//! quick-gasket:
//!   asks: Which head gasket?
//!   about: [parts/head-gasket]
//!   options: {thick: {}, thin: {}}
//!   chosen: thin
//!   because: more compression
//!   when: 2026-01-10
//! gasket-for-good:
//!   asks: Do we skim the head and take the thick gasket?
//!   about: [parts/head-gasket]
//!   options: {thick: {}, thin: {}, copper: {}}
//!   chosen: thick
//!   because: the head was skimmed
//!   when: 2026-02-10
//! ```
//!
//! ```yaml parts/all.yaml
//! head-gasket: {name: Head gasket}
//! ```
//!
//! ```text
//! decisions/all.yaml:12:11: warning: `gasket-for-good` is about the same and chose otherwise than `quick-gasket`, and both stand: this one chose `thick`, that one `thin` [decided-twice]
//!     decisions/all.yaml:5:11: the earlier one
//!     to do: write `instead-of: quick-gasket` here if it takes its place, or set one of them to `state: withdrawn`
//! ```
//!
//! ## Right
//!
//! ```yaml decisions/all.yaml
//! keep-unit-a:
//!   asks: Which control unit?
//!   options: {unit-a: {}, unit-b: {}}
//!   chosen: unit-a
//!   because: it was on the shelf
//!   when: 2026-01-10
//! take-unit-b:
//!   asks: Which control unit?
//!   options: {unit-a: {}, unit-b: {}}
//!   chosen: unit-b
//!   because: it reads this head's coils
//!   instead-of: keep-unit-a
//!   when: 2026-02-14
//! unit-again:
//!   asks: Which control unit?
//!   options: {unit-a: {}, unit-c: {}}
//! ```

use std::collections::BTreeSet;

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::decision::Decision;
use crate::present::date;

/// The rule.
pub const RULE: Rule = Rule {
    name: "decided-twice",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let decisions = &cx.folder.model.decision;
    let mut made: Vec<(&str, &Decision)> = decisions
        .iter()
        .map(|(id, record)| (id.as_str(), &*record.data))
        .filter(|(_, decision)| decision.is_made())
        .collect();
    made.sort_by_key(|(id, decision)| (decision.when.as_ref().and_then(date), *id));
    let mut overturned = BTreeSet::new();
    for (id, _) in &made {
        let chain = overturns(cx, id);
        // Of a ring the last decision is told.
        let last = made.iter().rev().find(|(one, _)| chain.contains(one));
        if chain.contains(id) && last.is_some_and(|(last, _)| last == id) {
            findings.extend(ring(cx, id, &chain));
        }
        overturned.extend(chain);
    }
    for (id, decision) in &made {
        findings.extend(out_of_turn(cx, id, decision));
    }
    made.retain(|(id, _)| !overturned.contains(id));
    for (number, (id, decision)) in made.iter().enumerate() {
        let mut before = made[..number].iter().rev();
        let earlier = before.find_map(|(other, earlier)| Some((*other, *earlier, one_question(earlier, decision)?)));
        if let Some((other, earlier, on)) = earlier {
            findings.extend(twice(cx, (id, decision), (other, earlier), on));
        }
    }
}

/// The decisions that one overturns, from one to the next; itself too in a ring.
fn overturns<'a>(cx: &Context<'a>, id: &str) -> Vec<&'a str> {
    let decisions = &cx.folder.model.decision;
    let before = |id: &str| {
        let earlier = decisions.get(id)?.data.instead_of.as_ref()?;
        let (earlier, _) = decisions.get_key_value(earlier.as_str())?;
        Some(earlier.as_str())
    };
    let mut found: Vec<&str> = Vec::new();
    let mut seen = BTreeSet::new();
    let mut at = before(id);
    while let Some(one) = at.filter(|one| seen.insert(*one)) {
        found.push(one);
        at = before(one);
    }
    found
}

/// What makes two decisions ones on the same question.
fn one_question(a: &Decision, b: &Decision) -> Option<&'static str> {
    if plain(&a.asks) == plain(&b.asks) && !plain(&a.asks).is_empty() {
        return Some("asks the same as");
    }
    let about = |decision: &Decision| -> BTreeSet<String> {
        decision.about.iter().map(|one| one.as_str().to_owned()).collect()
    };
    if a.about.is_empty() || about(a) != about(b) {
        return None;
    }
    let (ours, theirs): (BTreeSet<_>, BTreeSet<_>) = (a.options.keys().collect(), b.options.keys().collect());
    // Yes and no answer any question.
    let says_more = ours.iter().any(|one| !matches!(one.as_str(), "yes" | "no"));
    if says_more && ours == theirs {
        return Some("is about the same, with the same options, as");
    }
    let (a_chose, b_chose) = (a.chosen.as_ref()?.as_str(), b.chosen.as_ref()?.as_str());
    let crosses = ours.iter().any(|one| one.as_str() == b_chose)
        && theirs.iter().any(|one| one.as_str() == a_chose);
    (says_more && a_chose != b_chose && crosses).then_some("is about the same and chose otherwise than")
}

/// A question as it is compared: its letters and digits, small.
fn plain(text: &str) -> String {
    let letters = text.chars().filter(|one| one.is_alphanumeric());
    letters.flat_map(char::to_lowercase).collect()
}

fn twice(
    cx: &Context<'_>,
    (id, decision): (&str, &Decision),
    (other, earlier): (&str, &Decision),
    on: &str,
) -> Option<Finding> {
    let chose = |decision: &Decision| match &decision.chosen {
        Some(chosen) => format!("`{}`", chosen.as_str()),
        None => "nothing that is named".to_owned(),
    };
    let (ours, theirs) = (chose(decision), chose(earlier));
    let choices = if ours == theirs {
        format!("both chose {ours}")
    } else {
        format!("this one chose {ours}, that one {theirs}")
    };
    let message = format!("`{id}` {on} `{other}`, and both stand: {choices}");
    let remedy = format!(
        "write `instead-of: {other}` here if it takes its place, or set one of them to `state: withdrawn`"
    );
    let spot = cx
        .value_at(Kind::Decisions, id, &["chosen".into()])
        .or_else(|| cx.key_at(Kind::Decisions, id, &[]));
    let finding = cx.finding_in(spot, message, remedy)?;
    let earlier = cx
        .value_at(Kind::Decisions, other, &["chosen".into()])
        .or_else(|| cx.key_at(Kind::Decisions, other, &[]));
    Some(finding.see_at(cx, earlier, "the earlier one"))
}

fn ring(cx: &Context<'_>, id: &str, chain: &[&str]) -> Option<Finding> {
    let others: Vec<String> = chain.iter().map(|one| format!("`{one}`")).collect();
    let message = format!("`{id}` stands instead of {}, so that none stands", others.join(", which stands instead of "));
    let remedy = "take `instead-of` out of the one that was decided first";
    let key = &["instead-of".into()];
    let mut finding = cx
        .finding_in(cx.value_at(Kind::Decisions, id, key), message, remedy)?
        .at_level(Level::Error);
    for one in chain.iter().filter(|one| **one != id) {
        finding = finding.see_at(cx, cx.value_at(Kind::Decisions, one, key), "the next");
    }
    Some(finding)
}

/// A decision that is older than the one that it overturns.
fn out_of_turn(cx: &Context<'_>, id: &str, decision: &Decision) -> Option<Finding> {
    let other = decision.instead_of.as_ref()?.as_str();
    let overturned = &cx.folder.model.decision.get(other)?.data;
    let (ours, theirs) = (decision.when.as_ref()?, overturned.when.as_ref()?);
    if date(ours)? >= date(theirs)? {
        return None;
    }
    let message = format!(
        "`{id}` of {} stands instead of `{other}`, which was decided later, on {}",
        ours.as_str(),
        theirs.as_str()
    );
    let remedy = "mend the day that is wrong, or turn `instead-of` round";
    let spot = cx.value_at(Kind::Decisions, id, &["instead-of".into()]);
    let finding = cx.finding_in(spot, message, remedy)?;
    let when = cx.value_at(Kind::Decisions, other, &["when".into()]);
    Some(finding.see_at(cx, when, "the later day"))
}
