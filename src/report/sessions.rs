//! Sessions: who worked on the build, when, and what came of it.

use super::page::{Block, Item, Page, Section};
use crate::changes::report::Moment;
use crate::changes::sessions::Session;

/// How many columns the line of what happened may take: a page less what it is set in by.
pub const ROOM: usize = 68;

/// A session, and what happened in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The session.
    pub session: Session,
    /// What happened in it, in a line; empty if no record changed.
    pub what: String,
    /// Whether the history is cut off before it: it may have begun earlier, and what its
    /// first commit brought is not known.
    pub cut_off: bool,
}

/// The page, the newest session last.
#[must_use]
pub fn page(rows: &[Row]) -> Page {
    let items = rows.iter().map(|row| {
        let session = &row.session;
        let mut says = vec![span(session.from, session.to)];
        says.push(match session.who.as_slice() {
            [(one, _)] => one.clone(),
            several => several
                .iter()
                .map(|(name, commits)| format!("{name} ({commits})"))
                .collect::<Vec<_>>()
                .join(", "),
        });
        says.push(match session.commits.len() {
            1 => "1 commit".to_owned(),
            commits => format!("{commits} commits"),
        });
        says.retain(|word| !word.is_empty());
        let mut under = Vec::new();
        if row.cut_off {
            under.push("the history is cut off here: what was before is not in this clone");
        }
        under.push(match row.what.as_str() {
            "" => "no record changed",
            what => what,
        });
        Item {
            about: session.number.to_string(),
            says: says.join(", "),
            under: under
                .into_iter()
                .map(|text| Block::Text(text.to_owned()))
                .collect(),
        }
    });
    let items: Vec<Item> = items.collect();
    let lead = match items.as_slice() {
        [] => vec!["No session: nothing was committed.".to_owned()],
        _ => Vec::new(),
    };
    let section = Section {
        head: "By number".to_owned(),
        blocks: vec![Block::Items(items)],
    };
    Page {
        title: "Sessions".to_owned(),
        sections: if lead.is_empty() {
            vec![section]
        } else {
            Vec::new()
        },
        lead,
    }
}

/// `2026-03-01 20:00 to 22:15`.
fn span(from: Option<Moment>, to: Option<Moment>) -> String {
    let (Some(from), Some(to)) = (from, to) else {
        return String::new();
    };
    let (from, to) = (from.local, to.local);
    let time = |moment: jiff::civil::DateTime| moment.strftime("%H:%M").to_string();
    let begun = format!("{} {}", from.date(), time(from));
    if from.date() != to.date() {
        format!("{begun} to {} {}", to.date(), time(to))
    } else if time(from) == time(to) {
        begun
    } else {
        format!("{begun} to {}", time(to))
    }
}
