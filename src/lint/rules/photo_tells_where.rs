//! # photo-tells-where
//!
//! A picture carries the position where it was taken.
//!
//! Telephones write it into every picture, unseen, to a few metres. Whoever is
//! handed the build learns from it where the car and the tools stand; and what is
//! committed once stays in the history. So it is taken out before. Where it may be
//! known, as at a breaker's yard, `keeps-position: true` in the record says so.
//! Where only a pointer to large-file storage is there, the position is not seen.
//!
//! ## Wrong
//!
//! ```yaml facts
//! as-of: 2026-03-08
//! pictures:
//!   - {file: photos/p-001.jpg, bytes: 812000, position: true}
//!   - {file: photos/p-002.jpg, bytes: 790000, position: true}
//! ```
//!
//! ```yaml photos/all.yaml
//! p-001: {file: p-001.jpg, shows: [engine/bracket]}
//! ```
//!
//! ```text
//! photos/all.yaml:1:15: warning: photos/p-001.jpg carries the position where it was taken [photo-tells-where]
//!     to do: save it without its position before it is committed, or write `keeps-position: true` if everybody may know it
//! photos/p-002.jpg:1:1: warning: photos/p-002.jpg carries the position where it was taken [photo-tells-where]
//!     to do: save it without its position before it is committed, or write a record for it with `keeps-position: true` if everybody may know it
//! ```
//!
//! ## Right
//!
//! ```yaml facts
//! as-of: 2026-03-08
//! pictures:
//!   - {file: photos/p-001.jpg, bytes: 812000, position: true}
//!   - {file: photos/p-002.jpg, bytes: 790000}
//! ```
//!
//! ```yaml photos/all.yaml
//! p-001: {file: p-001.jpg, also-shows: [the breaker's yard], keeps-position: true}
//! p-002: {file: p-002.jpg, also-shows: [the shed door]}
//! ```

use crate::finding::{Finding, Level};
use crate::folder::Folder;
use crate::lint::{Context, Rule};
use crate::near;
use crate::picture::Picture;
use crate::picture::named::{self, Named};

/// The rule.
pub const RULE: Rule = Rule {
    name: "photo-tells-where",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// So many pictures without a record are told one by one.
const FEW: usize = 5;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let pictures = cx.facts.pictures.as_deref().unwrap_or_default();
    let message = |picture: &Picture| {
        format!("{} carries the position where it was taken", picture.file)
    };
    for picture in pictures.iter().filter(|picture| picture.position) {
        let photos: Vec<Named<'_>> = named::named(cx.folder)
            .filter(|photo| photo.path.as_ref() == Some(&picture.file))
            .collect();
        let may = |photo: &Named<'_>| photo.record.data.keeps_position == Some(true);
        let Some(photo) = photos.first().filter(|_| !photos.iter().any(may)) else {
            continue;
        };
        if let Some(span) = photo.span(cx.folder, "file") {
            // What is saved anew is another file to its hash.
            let hash = match photo.record.data.sha256 {
                Some(_) => ", with its new hash under `sha256`",
                None => "",
            };
            findings.push(cx.finding(
                photo.record.file,
                span,
                message(picture),
                format!(
                    "save it without its position before it is committed{hash}, or write `keeps-position: true` if everybody may know it"
                ),
            ));
        }
    }
    let unrecorded = named::unrecorded(cx.folder, pictures).into_iter();
    let unrecorded: Vec<&Picture> = unrecorded.filter(|picture| picture.position).collect();
    if unrecorded.len() <= FEW {
        findings.extend(unrecorded.iter().map(|picture| {
            cx.finding_at(
                Folder::top_of(&picture.file),
                message(picture),
                "save it without its position before it is committed, or write a record for it with `keeps-position: true` if everybody may know it"
                    .to_owned(),
            )
        }));
        return;
    }
    let names: Vec<&str> = unrecorded.iter().map(|one| one.file.as_str()).collect();
    findings.push(cx.finding_at(
        Folder::top_of(names[0]),
        format!(
            "{} pictures carry the position where they were taken: {}",
            names.len(),
            near::listed(&names)
        ),
        "save each without its position before it is committed, or write a record for it with `keeps-position: true` if everybody may know it"
            .to_owned(),
    ));
}
