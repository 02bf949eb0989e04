//! # unmatched-private
//!
//! A pattern under `private` matches nothing, so it keeps nothing back.
//!
//! What is private is left out when the folder is handed to somebody. A slip in
//! a pattern would let prices leave with it, and nobody would notice. A pattern
//! is kind, id and field with slashes between, as in `donors/pell-van/price`;
//! `*` stands for any name and `**` for any depth. The items of a list have no
//! names, so the price in a line of an order is `jobs/order-9/lines/price`.
//!
//! ## Wrong
//!
//! ```yaml build.yaml
//! name: Brindlet
//! private:
//!   - donors/*/prise
//!   - donors/pel-van/price
//!   - jobs/**/price
//! ```
//!
//! ```yaml donors/all.yaml
//! pell-van: {maker: Pell, price: 310 EUR}
//! ```
//!
//! ```text
//! build.yaml:3:5: warning: `donors/*/prise` matches nothing, so it keeps nothing back [unmatched-private]
//!     to do: write `donors/*/price`
//! build.yaml:4:5: warning: `donors/pel-van/price` matches nothing, so it keeps nothing back [unmatched-private]
//!     to do: write `donors/pell-van/price`
//! build.yaml:5:5: warning: `jobs/**/price` matches nothing, so it keeps nothing back [unmatched-private]
//!     to do: write it as kind/id/field, or take it out until there is something to keep back
//! ```
//!
//! ## Right
//!
//! ```yaml build.yaml
//! name: Brindlet
//! car: {chassis-number: "OW-20114"}
//! private: [donors/*/price, jobs/**/price, build/car/chassis-number]
//! ```
//!
//! ```yaml donors/all.yaml
//! pell-van: {maker: Pell, price: 310 EUR}
//! ```
//!
//! ```yaml jobs/all.yaml
//! order-9: {kind: order, lines: [{what: donors/pell-van, price: 24 EUR}]}
//! ```

use std::collections::BTreeSet;

use crate::finding::{Finding, Level};
use crate::folder::Folder;
use crate::handover::private::Private;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::near;
use crate::source::Span;
use crate::yaml::Node;

/// The rule.
pub const RULE: Rule = Rule {
    name: "unmatched-private",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    // There it was left out.
    if cx.folder.is_handed_over {
        return;
    }
    let Some(number) = cx.folder.build_file() else {
        return;
    };
    let Some((build, source)) = cx.folder.build() else {
        return;
    };
    let written = build.get("private").map_or(&[][..], Node::items);
    for node in written {
        let Some(text) = node.text(source) else {
            continue;
        };
        // `off-schema` tells of one that can't be read.
        let Ok(private) = Private::by([text]) else {
            continue;
        };
        if matches(cx.folder, &private) {
            continue;
        }
        let span: Span = node.span;
        findings.push(
            cx.finding(
                number,
                span,
                format!("`{text}` matches nothing, so it keeps nothing back"),
                remedy(text, &names(cx.folder, &private)),
            )
            .of("build".to_owned()),
        );
    }
}

/// Whether a pattern matches anything, or may match what can't be read.
fn matches(folder: &Folder, private: &Private) -> bool {
    // Most patterns name their kind: the other kinds need no look.
    let kind = private.kind();
    if kind.is_some_and(|kind| folder.may_be_lost(kind, "")) {
        return true;
    }
    let mut files = folder.files.iter();
    files.any(|file| {
        let reading = &file.reading;
        let lost = reading.tree.root.is_none() && !reading.problems.is_empty();
        kind.is_none_or(|kind| kind == file.kind)
            && (lost || private.chooses_any(file.kind, reading))
    })
}

/// The names that a pattern could have meant.
fn names<'a>(folder: &'a Folder, private: &Private) -> BTreeSet<&'a str> {
    fn gather<'a>(node: &'a Node, names: &mut BTreeSet<&'a str>) {
        for item in node.items() {
            gather(item, names);
        }
        for entry in node.entries() {
            names.insert(&entry.key.text);
            gather(&entry.value, names);
        }
    }
    let kind = private.kind();
    let mut names = BTreeSet::new();
    for file in &folder.files {
        if let Some(root) = &file.reading.tree.root
            && kind.is_none_or(|kind| kind == file.kind)
        {
            gather(root, &mut names);
        }
    }
    names
}

/// The pattern with the names in it that are a slip of the pen put right.
fn remedy(text: &str, names: &BTreeSet<&str>) -> String {
    let mut names: Vec<&str> = names.iter().copied().collect();
    names.extend(Kind::ALL.iter().map(|kind| kind.folder()));
    let mended: Vec<&str> = text
        .split('/')
        .map(|name| {
            let free = name.contains(['*', '?', '[']) || names.contains(&name);
            match near::nearest(name, &names).first() {
                Some(near) if !free => near,
                _ => name,
            }
        })
        .collect();
    let mended = mended.join("/");
    if mended == text {
        "write it as kind/id/field, or take it out until there is something to keep back".to_owned()
    } else {
        format!("write `{mended}`")
    }
}
