//! Sheets for the bench, the plater and the door of the shed: what is printed, ticked and
//! signed.
//!
//! Paper goes astray, and a sheet is handed to whoever does the work. So all sheets are made
//! of the records without what `private` in build.yaml chooses, as a handover is; the
//! send-out sheet goes to a stranger, and leaves out more.
//!
//! No sheet says when it was printed. It says the day that its ages and last days count to,
//! and a stamp made of all its words: the same folder and the same day make the same sheet
//! with the same stamp, on any machine.

pub mod orders;
pub mod send_out;
pub mod torque;

use jiff::civil::Date;
use sha2::{Digest, Sha256};

use super::page::{Block, Item, Page, Section};
use crate::model::Model;
use crate::model::common::Length;
use crate::model::fastener::{Fastener, Form, Head};
use crate::near;

/// A sheet: a page for people, and lines for a spreadsheet program.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// The page.
    pub page: Page,
    /// What stands above the columns, and the lines under it.
    pub lines: Vec<Vec<String>>,
}

/// Why there is no such sheet.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct NoSuch {
    /// What is not there.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

impl NoSuch {
    /// That something is called by no known name.
    fn named(what: &str, asked: &str, known: &[&str]) -> Self {
        Self {
            what: format!("there is no {what} `{asked}`"),
            remedy: match known {
                [] => format!("the build has no {what} yet"),
                known => near::write_one_of(asked, known),
            },
        }
    }
}

/// How many characters of a stamp are printed: enough that two sheets of one build never
/// share one, few enough to read over the telephone.
const STAMP: usize = 8;

/// Puts the day and the stamp at the end of what stands before the first heading.
fn stamped(mut page: Page, as_of: Date) -> Page {
    page.lead.push(format!("As of {as_of}."));
    // A page is plain data, which always has a JSON.
    let words = serde_json::to_vec(&page).unwrap_or_default();
    let digest = Sha256::digest(words);
    let mut stamp: String = digest.iter().map(|byte| format!("{byte:02x}")).collect();
    stamp.truncate(STAMP);
    if let Some(last) = page.lead.last_mut() {
        *last = format!("As of {as_of}. Sheet {stamp}.");
    }
    page
}

fn section(head: String, blocks: Vec<Block>) -> Section {
    Section { head, blocks }
}

fn item(about: &str, says: impl Into<String>) -> Item {
    Item {
        about: about.to_owned(),
        says: says.into(),
        under: Vec::new(),
    }
}

fn many(count: usize, one: &str, several: &str) -> String {
    match count {
        1 => format!("1 {one}"),
        count => format!("{count} {several}"),
    }
}

/// A fastener in the words of whoever looks for it in the tray: `flange bolt M10x1.25 × 70 mm,
/// class 10.9, 14 mm across flats, zinc`.
fn hardware(of: &Fastener) -> String {
    let head = of.head.filter(|head| *head != Head::Headless);
    let form = of.form.map(Form::word);
    // A bolt is a hex bolt unless it says otherwise, and so are nuts.
    let head = head.filter(|head| *head != Head::Hex).map(Head::word);
    let what: Vec<&str> = head.into_iter().chain(form).collect();
    let ends = [&of.thread, &of.other_end];
    let ends: Vec<&str> = ends
        .into_iter()
        .flatten()
        .map(|end| end.0.as_str())
        .collect();
    let size: Vec<String> = [ends.join(" and "), written(of.length.as_ref())]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect();
    let mut words = vec![
        [what.join(" "), size.join(" × ")]
            .join(" ")
            .trim()
            .to_owned(),
    ];
    let class = of
        .class
        .as_deref()
        .map(|class| match class.starts_with("grade") {
            true => class.to_owned(),
            false => format!("class {class}"),
        });
    words.extend(class);
    words.extend(
        of.across_flats
            .as_ref()
            .map(|flats| format!("{} across flats", flats.as_str())),
    );
    words.extend(
        of.set_in
            .as_ref()
            .map(|depth| format!("{} set in", depth.as_str())),
    );
    let size = |length: &Option<Length>, what: &str| {
        length
            .as_ref()
            .map(|length| format!("{} {what}", length.as_str()))
    };
    words.extend(size(&of.inside, "hole"));
    words.extend(size(&of.thickness, "thick"));
    words.extend(of.material.map(|material| material.word().to_owned()));
    words.extend(of.finish.map(|finish| match of.finish_before {
        Some(before) if before != finish => {
            format!("{}, coated anew: it was {}", finish.word(), before.word())
        }
        _ => finish.word().to_owned(),
    }));
    words.extend(
        of.locking
            .map(|locking| format!("locks by {}", locking.word())),
    );
    if of.once == Some(true) {
        words.push("used once only".to_owned());
    }
    if of.stretch == Some(true) {
        words.push("tightened until it stretches".to_owned());
    }
    words.retain(|word| !word.is_empty());
    words.join(", ")
}

fn written(length: Option<&Length>) -> String {
    length.map_or_else(String::new, |length| length.as_str().to_owned())
}

/// What is called for, with what it is; an id that leads to no record stands by itself.
fn called(model: &Model, id: &str) -> String {
    let Some(found) = model.fastener.get(id) else {
        return format!("{id} (no such fastener is written)");
    };
    let name = found.data.name.as_deref();
    let name = name.map_or_else(String::new, |name| format!(" ({name})"));
    match hardware(&found.data).as_str() {
        "" => format!("{id}{name}"),
        what => format!("{id}{name}: {what}"),
    }
}
