//! # off-schema
//!
//! A record does not have the form of its kind: an unknown key, a missing key,
//! a value of the wrong type, a word that is not known.
//!
//! A slip in a key would vanish without a word otherwise: `goess` plans
//! nothing. Little is required of a record, so that something found can be
//! written down in ten seconds; but what is written must be what it says. The
//! schemas in `schema/` are the same that an editor uses.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! injector:
//!   nmae: Injector
//!   have: four
//!   pieces:
//!     P1: {condition: servicable}
//! ```
//!
//! ```text
//! parts/all.yaml:2:3: error: a part has no key `nmae` [off-schema]
//!     parts/all.yaml:1:1: in parts/injector
//!     to do: write `name`; a remark goes into `note`
//! parts/all.yaml:3:9: error: `have` wants a whole number, and this is a text [off-schema]
//!     parts/all.yaml:1:1: in parts/injector
//!     to do: write digits only, with no unit
//! parts/all.yaml:5:21: error: `servicable` is no word for `condition` [off-schema]
//!     parts/all.yaml:1:1: in parts/injector
//!     to do: write `serviceable`
//! ```
//!
//! ```yaml parts/all.yaml
//! head:
//!   number: "16-HD-2"
//!   pieces:
//!     H1:
//!     donor: pell-van
//!     condition: unchecked
//! seal: {name: Seal, donor: pell-van}
//! ```
//!
//! ```text
//! parts/all.yaml:1:1: error: a part needs `name` [off-schema]
//!     to do: add `name:` (what a mechanic calls it)
//! parts/all.yaml:5:5: error: `donor` stands beside `H1` and belongs inside it [off-schema]
//!     parts/all.yaml:1:1: in parts/head
//!     to do: set it, and the lines after it that belong there, in further than `H1`
//! parts/all.yaml:7:20: error: a part has no key `donor` [off-schema]
//!     parts/all.yaml:7:1: in parts/seal
//!     to do: write `pieces: {P1: {donor: pell-van}}`
//! ```
//!
//! ```yaml build.yaml
//! name: Brindlet
//! levels: {unknown-reference: note}
//! private: ["donors/[/price"]
//! ```
//!
//! ```text
//! build.yaml:2:10: error: the level of `unknown-reference` can't be changed [off-schema]
//!     to do: take it out: what can't be read, or leads to nothing, hides all else
//! build.yaml:3:11: error: `donors/[/price` can't be used as a pattern [off-schema]
//!     to do: write it as in `donors/*/price`; a `[` needs its `]`
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   have: 4
//!   pieces:
//!     P1: {condition: serviceable}
//! ```

use std::collections::BTreeSet;

use crate::finding::{Finding, Level};
use crate::folder::RecordFile;
use crate::lint::{self, Context, Rule};
use crate::model::Kind;
use crate::schema::Fault;
use crate::schema::shape::Meaning;
use crate::source::Span;
use crate::yaml::ProblemKind;

/// The rule.
pub const RULE: Rule = Rule {
    name: "off-schema",
    level: Level::Error,
    firm: true,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for (number, file) in cx.folder.files.iter().enumerate() {
        let half_read = half_read(file);
        for fault in &file.faults {
            let entry = file.record_at(fault.span.range().start);
            if fault.told || said_better(file, fault) || half_read.contains(&entry) {
                continue;
            }
            findings.push(in_record(
                cx,
                number,
                fault.span,
                fault.message.clone(),
                fault.remedy.clone(),
            ));
        }
        for (entry, misfit) in &file.misfits {
            let span = file
                .records()
                .get(*entry)
                .map_or(Span::default(), |record| record.key.span);
            findings.push(in_record(
                cx,
                number,
                span,
                format!("`{}` can't be taken in: {}", misfit.path, misfit.message),
                "write it as its schema says".to_owned(),
            ));
        }
        for span in &file.uses.patterns {
            let written = file.reading.source.slice(*span).trim_matches(['"', '\'']);
            findings.push(in_record(
                cx,
                number,
                *span,
                format!("`{written}` can't be used as a pattern"),
                "write it as in `donors/*/price`; a `[` needs its `]`".to_owned(),
            ));
        }
    }
    fixed_levels(cx, findings);
}

/// Whether another rule speaks of the same text: a figure, a reference, a text
/// that YAML changes. Theirs are the better words.
fn said_better(file: &RecordFile, fault: &Fault) -> bool {
    let of_form = matches!(
        fault.keyword.as_str(),
        "type" | "enum" | "pattern" | "format" | "minLength" | "propertyNames"
    );
    if !of_form {
        return fault.keyword == "additionalProperties" && file.uses.holds_figure(fault.span);
    }
    if file.uses.speaks_of(fault.span) {
        return true;
    }
    let meaning = crate::folder::schema_of(file.kind)
        .ok()
        .and_then(|schema| schema.shapes.at(&fault.route))
        .map(|shape| &shape.meaning);
    fault.keyword == "pattern"
        && matches!(
            meaning,
            Some(Meaning::Reference(_) | Meaning::Figure { .. } | Meaning::Step)
        )
}

/// The records that use a part of YAML that is refused as such, or have another one in
/// them: what they lack may stand behind the anchor, and is no second fault.
fn half_read(file: &RecordFile) -> BTreeSet<Option<usize>> {
    let refused = file.reading.problems.iter().filter(|problem| {
        matches!(
            problem.kind,
            ProblemKind::Alias
                | ProblemKind::MergeKey
                | ProblemKind::KeyNotText
                | ProblemKind::SetInTooFar
        )
    });
    refused
        .map(|problem| file.record_at(problem.span.range().start))
        .collect()
}

fn in_record(cx: &Context<'_>, number: usize, span: Span, what: String, remedy: String) -> Finding {
    let file = &cx.folder.files[number];
    let finding = cx.finding(number, span, what, remedy);
    let records = file.records();
    let Some(entry) = file.record_at(span.range().start) else {
        return finding;
    };
    let key = records[entry].key.span;
    if key == span || file.kind == Kind::Build {
        return finding;
    }
    let record = format!("in {}/{}", file.kind.folder(), records[entry].key.text);
    finding.see(cx.folder.place(number, key), record)
}

fn fixed_levels(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(number) = cx.folder.build_file() else {
        return;
    };
    let Some((build, _)) = cx.folder.build() else {
        return;
    };
    for entry in build.get("levels").map_or(&[][..], |levels| levels.entries()) {
        if lint::rule(&entry.key.text).is_some_and(|rule| rule.firm) {
            findings.push(in_record(
                cx,
                number,
                entry.key.span,
                format!("the level of `{}` can't be changed", entry.key.text),
                "take it out: what can't be read, or leads to nothing, hides all else".to_owned(),
            ));
        }
    }
}
