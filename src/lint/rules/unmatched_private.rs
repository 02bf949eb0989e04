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

use glob::{MatchOptions, Pattern};

use crate::finding::{Finding, Level};
use crate::folder::{Folder, RecordFile};
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

const OPTIONS: MatchOptions = MatchOptions {
    case_sensitive: true,
    require_literal_separator: true,
    require_literal_leading_dot: false,
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
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
        let Ok(pattern) = Pattern::new(text) else {
            continue;
        };
        let mut names = BTreeSet::new();
        if matches(cx.folder, text, &pattern, &mut names) {
            continue;
        }
        let span: Span = node.span;
        findings.push(
            cx.finding(
                number,
                span,
                format!("`{text}` matches nothing, so it keeps nothing back"),
                remedy(text, &names),
            )
            .of("build".to_owned()),
        );
    }
}

/// Whether a pattern matches anything, or may match what can't be read. Gathers the
/// names that it could have meant.
fn matches<'a>(
    folder: &'a Folder,
    text: &str,
    pattern: &Pattern,
    names: &mut BTreeSet<&'a str>,
) -> bool {
    // Most patterns name their kind: the other kinds need no look.
    let first = text.split('/').next().unwrap_or_default();
    let kind = Kind::ALL.iter().find(|kind| kind.folder() == first);
    if kind.is_some_and(|kind| folder.may_be_lost(*kind, "")) {
        return true;
    }
    let files = folder
        .files
        .iter()
        .filter(|file| kind.is_none_or(|kind| *kind == file.kind));
    for file in files {
        if file.reading.tree.root.is_none() && !file.reading.problems.is_empty() {
            return true;
        }
        if in_file(file, pattern, names) {
            return true;
        }
    }
    false
}

fn in_file<'a>(file: &'a RecordFile, pattern: &Pattern, names: &mut BTreeSet<&'a str>) -> bool {
    let mut path = file.kind.folder().to_owned();
    file.reading
        .tree
        .root
        .as_ref()
        .is_some_and(|root| inside(root, pattern, &mut path, names))
}

fn inside<'a>(
    node: &'a Node,
    pattern: &Pattern,
    path: &mut String,
    names: &mut BTreeSet<&'a str>,
) -> bool {
    for item in node.items() {
        if inside(item, pattern, path, names) {
            return true;
        }
    }
    for entry in node.entries() {
        let length = path.len();
        path.push('/');
        path.push_str(&entry.key.text);
        names.insert(&entry.key.text);
        if pattern.matches_with(path, OPTIONS) || inside(&entry.value, pattern, path, names) {
            return true;
        }
        path.truncate(length);
    }
    false
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
