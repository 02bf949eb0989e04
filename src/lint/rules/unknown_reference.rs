//! # unknown-reference
//!
//! A reference leads to nothing: a record, a piece, a place, a cavity, a source
//! or a person that is not there.
//!
//! It is a slip of the pen, or the record was taken out while others still
//! speak of it. References are looked at wherever one can stand, each at its
//! own position. A trait that nothing gives, and a word that a trait can't
//! have, count as well.
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
//! name: Lark
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
//! name: Lark
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
//! ## Right
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   pieces:
//!     P1: {donor: pell-van, goes: fuel/injector-4}
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
//! name: Lark
//! cylinders: 4
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{self, Context, Rule};
use crate::names::{Missing, Names};
use crate::near;
use crate::schema::shape::TraitSide;

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
            let Err(missing) = names.look_up(reference) else {
                continue;
            };
            let finding = cx
                .finding(
                    number,
                    reference.span,
                    missing.what.clone(),
                    remedy(&missing, &reference.text),
                )
                .of(cx.folder.record_name(number, reference.entry));
            findings.push(with_near_record(cx, finding, &missing, &reference.text));
        }
    }
    traits(cx, &names, findings);
}

fn remedy(missing: &Missing, written: &str) -> String {
    let known: Vec<&str> = missing.known.iter().map(String::as_str).collect();
    let near = near::nearest(written, &known);
    if !near.is_empty() {
        return near::write_one_of(written, &near);
    }
    if missing.otherwise.is_empty() {
        return near::write_one_of(written, &known);
    }
    // A list that the eye takes in is worth showing; a longer one is not.
    match known.len() {
        1..=8 => format!("{}; known here: {}", missing.otherwise, near::listed(&known)),
        _ => missing.otherwise.clone(),
    }
}

/// Shows the record that was probably meant, or the one that the name is missing in.
fn with_near_record(
    cx: &Context<'_>,
    finding: Finding,
    missing: &Missing,
    written: &str,
) -> Finding {
    let (kind, id) = match &missing.inside {
        Some((kind, id)) => (*kind, id.clone()),
        None => {
            let known: Vec<&str> = missing.known.iter().map(String::as_str).collect();
            let near = near::nearest(written, &known);
            let Some(id) = near.first() else {
                return finding;
            };
            let Some(kind) = crate::model::Kind::ALL[1..]
                .iter()
                .find(|kind| missing.what.contains(kind.one()))
            else {
                return finding;
            };
            (*kind, (*id).to_owned())
        }
    };
    let spot = cx.folder.spots(kind, &id).first().copied();
    match spot.and_then(|spot| cx.id_place(spot)) {
        Some(place) => finding.see(place, format!("{}/{id}", kind.folder())),
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
            let record = cx.folder.record_name(number, use_.entry);
            if use_.side == TraitSide::Suits && !given.contains(&&*use_.name) {
                let near = near::nearest(&use_.name, &given);
                let remedy = if near.is_empty() {
                    "add it to `trait-words` in build.yaml, or to what something `gives`".to_owned()
                } else {
                    near::write_one_of(&use_.name, &near)
                };
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
                    .of(record),
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
                    .of(record),
                );
            }
        }
    }
}
