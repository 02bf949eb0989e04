//! What changed between two states, as a page.
//!
//! Things of which the very same is told stand together; so does a field that changed in
//! many records. Nothing is left out by it.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::page::{Block, Entry, Item, Line, Page, Section};
use crate::changes::RecordChange;
use crate::changes::diff::Leaf;
use crate::changes::report::{Cleared, FileChange, Moment, Progress, Report, Side};
use crate::changes::tell::{Deed, Told, Topic, leaves};
use crate::finding::Finding;
use crate::model::Kind;
use crate::yaml::Step;

/// From so many records on whose same field changed, each to something else, they stand in
/// a table.
const MANY: usize = 6;

/// From so many things on of which the same is said, their names stand below it.
const NAMES: usize = 12;
/// Longer texts stand on lines of their own.
const LONG: usize = 60;
/// So much of a commit's name tells it from others.
const SHORT: usize = 7;

/// The page; `fields` says whether each field of each record is shown as well, and what
/// did not move of the progress.
#[must_use]
pub fn page(report: &Report, fields: bool) -> Page {
    let mut sections = told(&report.told, &report.changes);
    if fields {
        let items = report.changes.iter().map(record).collect();
        add(&mut sections, "All fields", items);
    }
    let opened = report.opened.iter().map(opened);
    add(&mut sections, "Conflicts opened", opened.collect());
    let cleared = report.cleared.iter().map(cleared);
    add(&mut sections, "Conflicts cleared", cleared.collect());
    sections.extend(progress(&report.progress, fields));
    let files = report.files.iter().map(|one| file(one, fields)).collect();
    add(&mut sections, "Files", gathered(files, "file"));
    let uncompared = report.uncompared.iter();
    let uncompared = uncompared.map(|one| item(&one.file, &one.why));
    add(&mut sections, "Not compared", uncompared.collect());
    let mut lead: Vec<String> = report.remark.iter().cloned().collect();
    lead.push(format!("since {}", side(&report.since)));
    lead.push(format!("until {}", side(&report.until)));
    if let Some(between) = report.between.filter(|between| between.commits > 0) {
        lead.push(format!(
            "{} in {} between them",
            counted(between.commits, "commit"),
            counted(between.sessions, "session")
        ));
    }
    let same = report.changes.is_empty() && report.told.is_empty() && report.files.is_empty();
    if same {
        lead.push(match report.uncompared.is_empty() {
            true => "Nothing has changed in the records.".to_owned(),
            false => "Nothing has changed in what could be compared.".to_owned(),
        });
    }
    Page {
        title: "What changed".to_owned(),
        lead,
        sections,
    }
}

fn counted(count: usize, noun: &str) -> String {
    match count {
        1 => format!("1 {noun}"),
        _ => format!("{count} {noun}s"),
    }
}

/// A state in words.
#[must_use]
pub fn side(side: &Side) -> String {
    match side {
        Side::Nothing => "an empty build, before the first commit".to_owned(),
        Side::Staged => "what is staged".to_owned(),
        Side::Folder => "the working folder".to_owned(),
        Side::Commit {
            id,
            title,
            when,
            by,
        } => {
            let when = when.map(|when| format!("{}, ", clock(when)));
            let id = id.get(..SHORT).unwrap_or(id);
            format!("{}{by}: {title} ({id})", when.unwrap_or_default())
        }
    }
}

/// Day and time as the clock there said: `2026-03-01 21:40`.
pub(super) fn clock(moment: Moment) -> String {
    moment.local.strftime("%Y-%m-%d %H:%M").to_string()
}

/// What is told of changes, a section for each topic.
#[must_use]
pub fn told(told: &[Told], changes: &[RecordChange]) -> Vec<Section> {
    let mut topics: BTreeMap<Topic, Vec<&Told>> = BTreeMap::new();
    for one in told {
        topics.entry(one.deed.topic()).or_default().push(one);
    }
    let sections = topics.into_iter().map(|(topic, told)| {
        let items = match topic {
            Topic::Fields => by_field(&told, changes),
            _ => gathered(told.into_iter().map(said).collect(), topic.one()),
        };
        Section {
            head: topic.head().to_owned(),
            blocks: vec![Block::Items(items)],
        }
    });
    sections.collect()
}

/// One thing that is told, with its day at the end.
pub(super) fn said(told: &Told) -> Item {
    let mut under = Vec::new();
    if !told.lines.is_empty() {
        under.push(Block::Lines(told.lines.clone()));
    }
    Item {
        about: told.about.clone(),
        says: told.sentence(),
        under,
    }
}

/// Things of which the very same is said, put together in the place of the first; of many
/// what is said stands first.
fn gathered(items: Vec<Item>, one: &str) -> Vec<Item> {
    let mut all: Vec<(Vec<String>, Item)> = Vec::new();
    let mut places: BTreeMap<String, usize> = BTreeMap::new();
    for one in items {
        let alone = one.says.is_empty() || !one.under.is_empty();
        match places.get(&one.says).filter(|_| !alone) {
            Some(place) => all[*place].0.push(one.about),
            None => {
                if !alone {
                    places.insert(one.says.clone(), all.len());
                }
                all.push((vec![one.about.clone()], one));
            }
        }
    }
    let items = all.into_iter().map(|(about, mut item)| {
        let names = together(&about);
        if about.len() < NAMES {
            item.about = names;
        } else {
            item.about = counted(about.len(), one);
            item.under.push(Block::Text(names));
        }
        item
    });
    items.collect()
}

/// Names in a row, what they begin with said once: `injector/N1, N2, head/H1`.
fn together(names: &[String]) -> String {
    let mut text = String::new();
    let mut before: Option<&str> = None;
    for name in names {
        let (within, own) = match name.rsplit_once('/') {
            Some((within, own)) => (Some(within), own),
            None => (None, name.as_str()),
        };
        if !text.is_empty() {
            text.push_str(", ");
        }
        // A name with a blank in it would not be seen to go on with the same.
        let same = within.is_some() && within == before;
        text.push_str(if same { own } else { name });
        before = within;
    }
    text
}

/// Fields. One that changed in many records of a kind, in each to something else, stands
/// in a table.
fn by_field(told: &[&Told], changes: &[RecordChange]) -> Vec<Item> {
    let mut found: BTreeMap<usize, Vec<(Vec<Step>, Leaf)>> = BTreeMap::new();
    let mut lots: BTreeMap<(Kind, String), Vec<Row>> = BTreeMap::new();
    for (number, one) in told.iter().enumerate() {
        let [leaf] = one.leaves.as_slice() else {
            continue;
        };
        let Some((of, change)) = one.change.and_then(|of| Some((of, changes.get(of)?))) else {
            continue;
        };
        if one.deed != Deed::Field || !one.lines.is_empty() {
            continue;
        }
        let all = found.entry(of).or_insert_with(|| leaves(change));
        if let Some((way, leaf)) = all.iter().find(|(_, one)| one.number == *leaf)
            && let Some(Step::Key(key)) = way.last()
        {
            let row = Row {
                number,
                was: leaf.was.as_ref().map(plain).unwrap_or_default(),
                is: leaf.is.as_ref().map(plain).unwrap_or_default(),
            };
            let lot = lots.entry((change.name.kind, key.clone()));
            lot.or_default().push(row);
        }
    }
    lots.retain(|_, lot| {
        let says: BTreeSet<(&str, &str)> = lot.iter().map(|row| (&*row.was, &*row.is)).collect();
        lot.len() >= MANY && says.len() * 2 > lot.len()
    });
    let in_table: BTreeSet<usize> = lots.values().flatten().map(|row| row.number).collect();
    let others = told.iter().enumerate();
    let others = others.filter(|(number, _)| !in_table.contains(number));
    let mut items = gathered(
        others.map(|(_, told)| said(told)).collect(),
        Topic::Fields.one(),
    );
    for ((kind, key), lot) in lots {
        let figure = |text: &str| text.is_empty() || text.starts_with(|c: char| c.is_ascii_digit());
        let figures = [
            false,
            lot.iter().all(|row| figure(&row.was)),
            lot.iter().all(|row| figure(&row.is)),
        ];
        let heads = [kind.folder(), "before", "after"];
        let about = format!("{}, {}", key.replace('-', " "), counted(lot.len(), "time"));
        let rows = lot.into_iter().map(|row| {
            let about = told[row.number].about.clone();
            vec![about.into(), row.was.into(), row.is.into()]
        });
        items.push(Item {
            about,
            says: String::new(),
            under: vec![Block::Table {
                heads: heads.map(str::to_owned).to_vec(),
                rows: rows.collect(),
                figures: figures.to_vec(),
            }],
        });
    }
    items
}

/// A field in a table of such.
struct Row {
    /// The number of what tells it.
    number: usize,
    was: String,
    is: String,
}

/// A record with all that differs in it, nothing shortened.
pub(super) fn record(change: &RecordChange) -> Item {
    let mut says = match (&change.before, &change.after) {
        (None, _) => "new",
        (_, None) => "gone",
        _ if change.diff.is_none() => "renamed",
        _ if change.was_id.is_some() => "renamed and changed",
        _ => "changed",
    }
    .to_owned();
    if let Some(was) = &change.was_id {
        says.push_str(&format!("; was called {was}"));
    }
    let mut items = Vec::new();
    for (way, leaf) in leaves(change) {
        let way = spelt(&way);
        match (&leaf.was, &leaf.is) {
            (Some(was), Some(is)) => items.push(other(&way, was, is, change, &leaf)),
            (Some(was), None) => each(&way, was, &mut |way, value| {
                items.push(whole(way, "gone", value, Line::Gone));
            }),
            (None, Some(is)) => each(&way, is, &mut |way, value| {
                items.push(whole(way, "new", value, Line::New));
            }),
            (None, None) => {}
        }
    }
    let under = match items.is_empty() {
        true => Vec::new(),
        false => vec![Block::Items(items)],
    };
    Item {
        about: change.name.to_string(),
        says,
        under,
    }
}

/// A field that is another now.
fn other(way: &str, was: &Value, is: &Value, change: &RecordChange, leaf: &Leaf) -> Item {
    let renaming = change
        .diff
        .as_ref()
        .is_some_and(|diff| diff.is_renaming(leaf.number));
    if renaming {
        return item(way, &format!("was called {}", plain(was)));
    }
    let (mut before, mut after) = (plain(was), plain(is));
    if before == after {
        // A figure that became a text reads the same.
        (before, after) = (was.to_string(), is.to_string());
    }
    if is_long(&before) || is_long(&after) {
        // The end of the last line shows only where the other text has none.
        if before.ends_with('\n') && after.ends_with('\n') {
            before.pop();
            after.pop();
        }
        let lines = before.split('\n').map(|line| Line::Gone(line.to_owned()));
        let new = after.split('\n').map(|line| Line::New(line.to_owned()));
        return Item {
            about: way.to_owned(),
            says: String::new(),
            under: vec![Block::Lines(lines.chain(new).collect())],
        };
    }
    item(way, &format!("{before} → {after}"))
}

/// A field that is new or gone.
fn whole(way: &str, became: &str, value: &Value, line: fn(String) -> Line) -> Item {
    let text = plain(value);
    if !is_long(&text) {
        return item(way, &format!("{became}: {text}"));
    }
    let lines = text.lines().map(|one| line(one.to_owned()));
    Item {
        about: way.to_owned(),
        says: became.to_owned(),
        under: vec![Block::Lines(lines.collect())],
    }
}

fn is_long(text: &str) -> bool {
    text.chars().count() > LONG || text.contains('\n')
}

/// Each single value in a value, with the way to it.
fn each<'a>(way: &str, value: &'a Value, found: &mut impl FnMut(&str, &'a Value)) {
    let further = |step: &str| match way {
        "" => step.to_owned(),
        way => format!("{way}/{step}"),
    };
    match value {
        Value::Object(map) if !map.is_empty() => {
            for (key, value) in map {
                each(&further(key), value, found);
            }
        }
        Value::Array(items) if !items.is_empty() => {
            for (number, value) in items.iter().enumerate() {
                each(&further(&(number + 1).to_string()), value, found);
            }
        }
        value => found(way, value),
    }
}

/// A way inside a record as people read it: `pieces/P1/note`, items counted from 1.
fn spelt(way: &[Step]) -> String {
    let steps = way.iter().map(|step| match step {
        Step::Key(key) => key.clone(),
        Step::Index(number) => (number + 1).to_string(),
    });
    steps.collect::<Vec<_>>().join("/")
}

/// A value as it is written: a text as it stands, anything else as JSON.
fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

fn opened(finding: &Finding) -> Item {
    let mut one = conflict(finding);
    if !finding.remedy.is_empty() {
        one.under
            .push(Block::Text(format!("to do: {}", finding.remedy)));
    }
    one
}

fn cleared(cleared: &Cleared) -> Item {
    let mut one = conflict(&cleared.finding);
    let settled = cleared.settled_by.iter();
    let settled = settled.map(|decision| format!("settled by {decision}"));
    let by = cleared.by.iter().map(|by| format!("cleared by {by}"));
    let texts = settled.chain(by);
    one.under.extend(texts.map(Block::Text));
    one
}

/// A conflict: what it is about, how much it weighs, what is wrong, and the rule.
fn conflict(finding: &Finding) -> Item {
    let about = finding.record.as_deref().unwrap_or(&finding.place.file);
    let level = finding.level.word();
    item(
        about,
        &format!("{level}: {} [{}]", finding.message, finding.rule),
    )
}

fn progress(all: &[Progress], fields: bool) -> Option<Section> {
    let moved = |one: &&Progress| fields || one.before != one.after;
    let rows = all.iter().filter(moved);
    let rows = rows.map(|one| {
        let cells = [&one.what, &one.before, &one.after];
        cells.map(|cell| cell.as_str().into()).to_vec()
    });
    let rows: Vec<Vec<Entry>> = rows.collect();
    (!rows.is_empty()).then(|| Section {
        head: "Progress".to_owned(),
        blocks: vec![Block::Table {
            heads: vec![String::new(), "before".to_owned(), "after".to_owned()],
            rows,
            figures: vec![false, true, true],
        }],
    })
}

fn file(file: &FileChange, fields: bool) -> Item {
    let (was, is) = (file.was.as_deref(), file.is.as_deref());
    let says = match (was, is) {
        (None, _) => "new",
        (_, None) => "gone",
        _ => "changed",
    };
    let mut one = item(&file.path, says);
    if fields {
        let named = |name: Option<&str>| name.unwrap_or("nothing").to_owned();
        let text = format!("{} → {}", named(was), named(is));
        one.under.push(Block::Text(text));
    }
    one
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
