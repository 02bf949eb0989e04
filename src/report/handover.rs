//! The first page for somebody who is handed the folder: what state the car is in, what to
//! do, what not to touch.
//!
//! It is made of the records that are handed over, so nothing private can stand on it.

use super::page::Page;
use crate::present::Worked;

/// What the page is for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct For {
    /// What this handover is called: `2026-03-01-1`.
    pub name: String,
    /// Whom it is for, by role; none where it is nobody in particular.
    pub to: Option<String>,
    /// What was left out, in words, a line each.
    pub left_out: Vec<String>,
}

/// The first page.
#[must_use]
pub fn page(worked: Worked<'_>, purpose: &For) -> Page {
    let _ = purpose;
    Page {
        title: worked.folder.model.build.name.clone(),
        ..Page::default()
    }
}
