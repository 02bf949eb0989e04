//! What changed between two states, as a page.

use super::page::{Block, Item, Page, Section};
use crate::changes::report::{Cleared, Moment, Report, Side};
use crate::changes::tell::Told;
use crate::finding::Finding;

/// The page; `fields` says whether each field of each record is shown as well.
#[must_use]
pub fn page(report: &Report, _fields: bool) -> Page {
    let mut sections = told(&report.told);
    let opened = report.opened.iter().map(opened);
    add(&mut sections, "Conflicts opened", opened.collect());
    let cleared = report.cleared.iter().map(cleared);
    add(&mut sections, "Conflicts cleared", cleared.collect());
    let rows = report.progress.iter().filter(|one| one.before != one.after);
    let rows = rows.map(|one| vec![one.what.clone(), one.before.clone(), one.after.clone()]);
    let rows: Vec<Vec<String>> = rows.collect();
    if !rows.is_empty() {
        sections.push(Section {
            head: "Progress".to_owned(),
            blocks: vec![Block::Table {
                heads: ["", "before", "after"].map(str::to_owned).to_vec(),
                rows,
                figures: vec![false, true, true],
            }],
        });
    }
    let files = report.files.iter().map(|file| {
        let says = match (&file.was, &file.is) {
            (None, _) => "new",
            (_, None) => "gone",
            _ => "changed",
        };
        item(&file.path, says)
    });
    add(&mut sections, "Files", files.collect());
    let uncompared = report.uncompared.iter();
    let uncompared = uncompared.map(|one| item(&one.file, &one.why));
    add(&mut sections, "Not compared", uncompared.collect());
    let mut lead = vec![
        format!("since {}", side(&report.since)),
        format!("until {}", side(&report.until)),
    ];
    if sections.is_empty() {
        lead.push("Nothing has changed.".to_owned());
    }
    Page {
        title: "What changed".to_owned(),
        lead,
        sections,
    }
}

/// A state in words.
#[must_use]
pub fn side(side: &Side) -> String {
    match side {
        Side::Nothing => "nothing at all".to_owned(),
        Side::Staged => "what is staged".to_owned(),
        Side::Folder => "the working folder".to_owned(),
        Side::Commit {
            id,
            title,
            when,
            by,
        } => {
            let when = when.map(day).unwrap_or_default();
            let id = id.get(..7).unwrap_or(id);
            format!("commit {id} of {when} by {by}: {title}")
        }
    }
}

fn day(moment: Moment) -> String {
    moment.local.date().to_string()
}

/// What is told, a section for each topic.
#[must_use]
pub fn told(told: &[Told]) -> Vec<Section> {
    let mut sections: Vec<Section> = Vec::new();
    for one in told {
        let head = one.deed.topic().head();
        if sections.last().is_none_or(|section| section.head != head) {
            sections.push(Section {
                head: head.to_owned(),
                blocks: vec![Block::Items(Vec::new())],
            });
        }
        let mut new = item(&one.about, &one.says);
        if let Some(when) = &one.when {
            new.says.push_str(&format!(", {when}"));
        }
        if !one.lines.is_empty() {
            new.under.push(Block::Lines(one.lines.clone()));
        }
        if let Some(Block::Items(items)) = sections
            .last_mut()
            .and_then(|section| section.blocks.last_mut())
        {
            items.push(new);
        }
    }
    sections
}

fn add(sections: &mut Vec<Section>, head: &str, items: Vec<Item>) {
    if !items.is_empty() {
        sections.push(Section {
            head: head.to_owned(),
            blocks: vec![Block::Items(items)],
        });
    }
}

fn item(about: &str, says: &str) -> Item {
    Item {
        about: about.to_owned(),
        says: says.to_owned(),
        under: Vec::new(),
    }
}

fn opened(finding: &Finding) -> Item {
    let about = finding.record.as_deref().unwrap_or(&finding.place.file);
    let level = finding.level.word();
    item(
        about,
        &format!("{level}: {} [{}]", finding.message, finding.rule),
    )
}

fn cleared(cleared: &Cleared) -> Item {
    let mut one = opened(&cleared.finding);
    if let Some(decision) = &cleared.settled_by {
        one.under
            .push(Block::Text(format!("settled by {decision}")));
    }
    for by in &cleared.by {
        one.under.push(Block::Text(by.clone()));
    }
    one
}
