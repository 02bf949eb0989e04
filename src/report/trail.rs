//! One record's life as a page.

use super::changes::{clock, record, said};
use super::page::{Block, Item, Page, Section};
use crate::changes::commit::Commit;
use crate::changes::tell::Told;
use crate::changes::{Name, RecordChange};

/// A record's life, with all that is said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Life {
    /// What it is about, as a reference calls it: `parts/injector/P1`.
    pub about: String,
    /// What the record calls itself.
    pub name: Option<String>,
    /// The file that it stands in; none if it is gone.
    pub file: Option<String>,
    /// What became of it, oldest first.
    pub steps: Vec<Step>,
    /// Whether the history is cut off before all this.
    pub cut_off: bool,
    /// The commits in which its file can't be read.
    pub torn: Vec<String>,
    /// Whether its file can't be read as it is now.
    pub torn_now: bool,
}

/// What became of it in one commit.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The commit; none for what is not committed.
    pub commit: Option<Commit>,
    /// The number of its session.
    pub session: Option<usize>,
    /// What changed; none if it only went to another file.
    pub change: Option<RecordChange>,
    /// The same in words.
    pub told: Vec<Told>,
    /// From which file to which it went, if it did.
    pub moved: Option<(String, String)>,
}

/// The page; `fields` says whether each field is shown as well.
#[must_use]
pub fn page(life: &Life, fields: bool) -> Page {
    let mut lead = Vec::new();
    match &life.file {
        Some(file) => lead.push(format!("It stands in {file}.")),
        None if life.torn_now => {
            lead.push("Whether it is there now can't be told: its file can't be read.".to_owned());
        }
        None => match called_now(life) {
            Some(now) => lead.push(format!(
                "It is called {now} now, and its trail goes on there."
            )),
            None => lead.push("It is not in the build any more.".to_owned()),
        },
    }
    if life.cut_off {
        lead.push(
            "The history is cut off before this: what was earlier is not in this clone.".to_owned(),
        );
    }
    if !life.torn.is_empty() {
        lead.push(format!(
            "Its file can't be read as it was in {}.",
            life.torn.join(", ")
        ));
    }
    if life.steps.is_empty() {
        lead.push("Nothing has changed in it.".to_owned());
    }
    let sections = life.steps.iter().map(|step| section(step, fields));
    Page {
        title: match &life.name {
            Some(name) => format!("{}: {name}", life.about),
            None => life.about.clone(),
        },
        lead,
        sections: sections.collect(),
    }
}

/// What the record is called now, if the last that became of it is another id.
fn called_now(life: &Life) -> Option<String> {
    let change = life.steps.last()?.change.as_ref()?;
    let was = Name {
        kind: change.name.kind,
        id: change.was_id.clone()?,
    };
    let was = was.to_string();
    let inner = life.about.strip_prefix(&was)?;
    Some(format!("{}{inner}", change.name))
}

fn section(step: &Step, fields: bool) -> Section {
    let mut blocks = Vec::new();
    let head = match &step.commit {
        None => "not committed yet".to_owned(),
        Some(commit) => {
            let session = step.session.map(|number| format!("session {number}"));
            let words = [
                commit.written.map(clock),
                session,
                Some(commit.by.0.clone()),
                Some(commit.short().to_owned()),
            ];
            if !commit.title.is_empty() {
                blocks.push(Block::Text(format!("\u{201c}{}\u{201d}", commit.title)));
            }
            let words: Vec<String> = words.into_iter().flatten().collect();
            words.join(", ")
        }
    };
    let mut items: Vec<Item> = step.told.iter().map(said).collect();
    if let Some((from, to)) = &step.moved {
        items.push(Item {
            about: "in another file".to_owned(),
            says: format!("{from} → {to}"),
            under: Vec::new(),
        });
    }
    if !items.is_empty() {
        blocks.push(Block::Items(items));
    }
    if let Some(change) = step.change.as_ref().filter(|_| fields) {
        blocks.push(Block::Items(vec![record(change)]));
    }
    Section { head, blocks }
}
