//! # unknown-reference
//!
//! A reference leads to nothing: a record, a piece, a place, a cavity, a source
//! or a person that is not there.
//!
//! It is a slip of the pen, or the record was taken out while others still
//! speak of it. References are looked at wherever one can stand, each at its
//! own position. A trait that is nearly the name of one that something gives,
//! and a word that a trait can't have, count as well. A reading may be of
//! anything; where what was measured is nearly the name of a limit it is a
//! warning, because the reading would not be held against that limit.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   pieces:
//!     P1: {donor: pel-van, goes: fuel/injector-5}
//! ```
//!
//! ```yaml donors/all.yaml
//! pell-van: {maker: Pell}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel: {in: car, places: {injector: {each: cylinder}}}
//! ```
//!
//! ```yaml build.yaml
//! name: Brindlet
//! cylinders: 4
//! ```
//!
//! ```text
//! parts/all.yaml:4:17: error: there is no donor `pel-van` [unknown-reference]
//!     donors/all.yaml:1:1: donors/pell-van
//!     to do: write `pell-van`
//! parts/all.yaml:4:32: error: the assembly `fuel` has no place `injector-5` [unknown-reference]
//!     assemblies/all.yaml:1:1: assemblies/fuel
//!     to do: write `fuel/injector-1` or `fuel/injector-2` or `fuel/injector-3`
//! ```
//!
//! ```yaml build.yaml
//! name: Brindlet
//! trait-words: {ignition: [distributor, coil-per-cylinder]}
//! ```
//!
//! ```yaml parts/all.yaml
//! unit-b: {name: Control unit, suits: {igniton: distributor}}
//! head: {name: Head, gives: {ignition: coil-per-cyl}}
//! ```
//!
//! ```text
//! parts/all.yaml:1:38: error: nothing gives a trait `igniton`, so nothing can suit it [unknown-reference]
//!     to do: write `ignition`
//! parts/all.yaml:2:38: error: `coil-per-cyl` is no word that build.yaml lists for `ignition` [unknown-reference]
//!     to do: write `coil-per-cylinder`
//! ```
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   limits: {flow: {least: 175 cc/min}}
//!   pieces:
//!     P1: {goes: fuel/injector, readings: [{what: flows, is: 182 cc/min}]}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel: {in: car, places: {injector: {each: cylinder}}}
//! ```
//!
//! ```yaml build.yaml
//! name: Brindlet
//! cylinders: 2
//! ```
//!
//! ```text
//! parts/all.yaml:5:16: error: `fuel/injector` is a place for each cylinder, and a single piece fills only one of them [unknown-reference]
//!     assemblies/all.yaml:1:1: assemblies/fuel
//!     to do: name one of them, or say its `count` if it is a lot; known here: `fuel/injector-1`, `fuel/injector-2`
//! parts/all.yaml:5:49: warning: no limit is stated for `flows`, though one is for `flow` [unknown-reference]
//!     to do: write `flow`
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   pieces:
//!     P1: {donor: pell-van, goes: fuel/injector-4}
//! ring: {name: Ring, pieces: {L1: {count: 4, goes: fuel/injector}}}
//! ```
//!
//! ```yaml donors/all.yaml
//! pell-van: {maker: Pell}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! fuel: {in: car, places: {injector: {each: cylinder}}}
//! ```
//!
//! ```yaml build.yaml
//! name: Brindlet
//! cylinders: 4
//! ```

use crate::finding::{Finding, Level};
use crate::folder::RecordFile;
use crate::lint::{self, Context, Rule};
use crate::names::{Missing, Names};
use crate::near;
use crate::schema::shape::{Target, TraitSide};
use crate::schema::walk::Reference;

/// The rule.
pub const RULE: Rule = Rule {
    name: "unknown-reference",
    level: Level::Error,
    firm: true,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let rules = lint::names();
    let names = Names::new(cx.folder, &rules);
    for (number, file) in cx.folder.files.iter().enumerate() {
        for reference in &file.uses.references {
            let Err(mut missing) = names.look_up(reference) else {
                continue;
            };
            if matches!(reference.target, Target::Place | Target::Places) && !reference.text.contains('/') {
                prefer_takers(file, reference, &names, &mut missing);
            }
            let known: Vec<&str> = missing.known.iter().map(String::as_str).collect();
            let near = near::nearest(&missing.written, &known);
            let mut finding = cx
                .finding(
                    number,
                    reference.span,
                    missing.what.clone(),
                    remedy(&missing, &known, &near),
                );
            if missing.mild {
                finding = finding.at_level(Level::Warning);
            }
            findings.push(with_near_record(cx, finding, &missing, &near));
        }
    }
    traits(cx, &names, findings);
}

/// Of the places of an assembly those that take the part's own number come first;
/// the only one that does is what was meant.
fn prefer_takers(
    file: &RecordFile,
    reference: &Reference,
    names: &Names<'_>,
    missing: &mut Missing,
) {
    let source = &file.reading.source;
    let record = file.records().get(reference.entry);
    let Some(number) = record.and_then(|record| record.value.text_of("number", source)) else {
        return;
    };
    let takers = names.takers(&reference.text, number);
    missing.known.sort_by_key(|place| !takers.contains(place));
    if let [only] = takers.as_slice() {
        missing.known = vec![only.clone()];
        missing.otherwise = String::new();
    }
}

fn remedy(missing: &Missing, known: &[&str], near: &[&str]) -> String {
    let whole = |names: &[&str]| -> Vec<String> {
        let each = names.iter().map(|name| format!("{}{name}", missing.before));
        each.collect()
    };
    if !near.is_empty() {
        let names: Vec<String> = whole(near).iter().map(|name| format!("`{name}`")).collect();
        return format!("write {}", names.join(" or "));
    }
    let all = whole(known);
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    match (missing.otherwise.as_str(), all.len()) {
        ("", _) => near::write_one_of("", &all),
        (otherwise, 0) => otherwise.to_owned(),
        (otherwise, _) => format!("{otherwise}; known here: {}", near::listed(&all)),
    }
}

/// Shows the record that was probably meant, or the one that the name is missing in.
fn with_near_record(
    cx: &Context<'_>,
    finding: Finding,
    missing: &Missing,
    near: &[&str],
) -> Finding {
    let shown = match (&missing.inside, missing.kind, near.first()) {
        (Some((kind, id)), _, _) => Some((*kind, id.as_str())),
        (None, Some(kind), Some(id)) => Some((kind, *id)),
        _ => None,
    };
    let place = shown.and_then(|(kind, id)| {
        let spot = cx.folder.spots(kind, id).first()?;
        Some((cx.id_place(*spot)?, format!("{}/{id}", kind.folder())))
    });
    match place {
        Some((place, name)) => finding.see(place, name),
        None => finding,
    }
}

fn traits(cx: &Context<'_>, names: &Names<'_>, findings: &mut Vec<Finding>) {
    if cx.folder.may_be_lost(crate::model::Kind::Build, "") {
        return;
    }
    let given = names.traits();
    let given: Vec<&str> = given.iter().map(String::as_str).collect();
    for (number, file) in cx.folder.files.iter().enumerate() {
        for use_ in &file.uses.traits {
            if use_.side == TraitSide::Suits && !given.contains(&&*use_.name) {
                // A trait that nothing is near to may be written down before what
                // gives it; only a slip of the pen is surely wrong.
                let near = near::nearest(&use_.name, &given);
                if near.is_empty() {
                    continue;
                }
                let remedy = near::write_one_of(&use_.name, &near);
                findings.push(
                    cx.finding(
                        number,
                        use_.name_span,
                        format!(
                            "nothing gives a trait `{}`, so nothing can suit it",
                            use_.name
                        ),
                        remedy,
                    )
                );
                continue;
            }
            let Some(words) = names.words_of(&use_.name) else {
                continue;
            };
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            if !words.contains(&&*use_.word) {
                findings.push(
                    cx.finding(
                        number,
                        use_.word_span,
                        format!(
                            "`{}` is no word that build.yaml lists for `{}`",
                            use_.word, use_.name
                        ),
                        near::write_one_of(&use_.word, &words),
                    )
                );
            }
        }
    }
}
