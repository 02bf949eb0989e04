//! Clashes in words.

use super::driver::Bytes;
use crate::merge::{Clash, How, Three, Version};
use crate::model::Kind;
use crate::near::shortened;
use crate::render::safe::safe;
use crate::render::text::number;
use crate::source::Source;
use crate::yaml::{self, Node, NodeKind, Reading, Step};

/// How many clashes of a file are told; the others are counted.
const TOLD: usize = 10;

/// Where each clash is and how it came about, a line each, set in.
pub(super) fn told(kind: Kind, path: &str, versions: &Bytes, clashes: &[Clash]) -> String {
    let read = |bytes: &Vec<u8>| {
        let source = Source::from_bytes(path, bytes.clone()).ok()?;
        Some(yaml::read(source))
    };
    let read = Three {
        base: read(&versions.base),
        ours: read(&versions.ours),
        theirs: read(&versions.theirs),
    };
    let lines = clashes.iter().take(TOLD).map(|clash| {
        let line = format!("{}: {}", place(kind, clash), how(&read, clash));
        format!("    {}\n", safe(&line).replace('\n', " "))
    });
    let mut text: String = lines.collect();
    if clashes.len() > TOLD {
        text.push_str(&format!("    and {} more\n", clashes.len() - TOLD));
    }
    text
}

/// What to do about a record that one side took out: the driver sees one file.
pub(super) fn to_do(kind: Kind, clashes: &[Clash]) -> &'static str {
    let gone = |clash: &Clash| {
        let is_record = kind != Kind::Build && clash.way.0.len() == 1;
        is_record && matches!(clash.how, How::GoneAndChanged { .. })
    };
    match clashes.iter().any(gone) {
        true => "    to do: if it went to another file, `matchmark merge` merges it there\n",
        false => "",
    }
}

/// A head for them.
pub(super) fn head(path: &str, clashes: usize) -> String {
    let path = safe(path).replace('\n', " ");
    let things = number(clashes, "thing");
    format!("matchmark: {path}: {things} left to you, as the two sides differ\n")
}

/// The record, or what is not in one.
fn place(kind: Kind, clash: &Clash) -> String {
    let (id, rest) = match kind {
        Kind::Build => ("build".to_owned(), clash.way.0.as_slice()),
        kind => match clash.way.0.split_first() {
            Some((Step::Key(id), rest)) => (format!("{kind}/{id}"), rest),
            _ => return "the whole file".to_owned(),
        },
    };
    if rest.is_empty() {
        return id;
    }
    let steps: Vec<String> = rest
        .iter()
        .map(|step| match step {
            Step::Key(key) => key.clone(),
            Step::Index(index) => format!("{}", index + 1),
        })
        .collect();
    format!("{id}: `{}`", shortened(&steps.join("/")))
}

fn how(read: &Three<Option<Reading>>, clash: &Clash) -> String {
    match clash.how {
        How::TwoValues => {
            // The number of an item may be another one in each version.
            let is_sure = clash.way.0.iter().all(|step| matches!(step, Step::Key(_)));
            let shown = |reading: &Option<Reading>| {
                let reading = reading.as_ref().filter(|_| is_sure)?;
                shown(reading, reading.tree.node(&clash.way)?)
            };
            match (shown(&read.ours), shown(&read.theirs)) {
                (Some(here), Some(there)) if here != there => {
                    format!("`{here}` here, `{there}` there")
                }
                _ => "changed in two ways, one here and one there".to_owned(),
            }
        }
        How::GoneAndChanged {
            gone: Version::Ours,
        } => "taken out here, changed there".to_owned(),
        How::GoneAndChanged { .. } => "changed here, taken out there".to_owned(),
        How::TwoThings => "one new name for two things, one here and one there".to_owned(),
        How::TwoNames => "given one name here and another one there".to_owned(),
        How::Comment => "its comment was changed in two ways".to_owned(),
        How::Layout => "written anew in two ways, and no layout can hold both".to_owned(),
    }
}

fn shown(reading: &Reading, node: &Node) -> Option<String> {
    match node.kind {
        NodeKind::Scalar { .. } => node.text(&reading.source).map(shortened),
        _ => None,
    }
}
