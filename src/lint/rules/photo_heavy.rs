//! # photo-heavy
//!
//! A picture is large, and not in large-file storage.
//!
//! Git keeps each version of a picture for ever, and every clone carries all of
//! them: a build folder that has swallowed a few hundred pictures as they come out
//! of a telephone is slow for good, whatever is taken out later. So before it is
//! committed a picture is saved smaller, or sent to git's large-file storage, where
//! a line of text stands for it. `photo-kilobytes` under `figures` in build.yaml
//! sets another limit than 2000 kB (our choice).
//!
//! ## Wrong
//!
//! ```yaml facts
//! as-of: 2026-03-08
//! pictures:
//!   - {file: photos/p-001.jpg, bytes: 5312400}
//!   - {file: photos/p-002.jpg, bytes: 2000001}
//! ```
//!
//! ```yaml photos/all.yaml
//! p-001: {file: p-001.jpg, shows: [donors/pell-van]}
//! ```
//!
//! ```text
//! photos/all.yaml:1:15: warning: photos/p-001.jpg takes 5313 kB, over the 2000 kB for a picture that git keeps whole [photo-heavy]
//!     to do: save it smaller, or send it to large-file storage (`git lfs install`, `git lfs track "*.jpg"`, `git add --renormalize .`), before it is committed
//! photos/p-002.jpg:1:1: warning: photos/p-002.jpg takes 2001 kB, over the 2000 kB for a picture that git keeps whole [photo-heavy]
//!     to do: save it smaller, or send it to large-file storage (`git lfs install`, `git lfs track "*.jpg"`, `git add --renormalize .`), before it is committed
//! ```
//!
//! ## Right
//!
//! ```yaml facts
//! as-of: 2026-03-08
//! pictures:
//!   - {file: photos/p-001.jpg, bytes: 5312400, stored: large-file}
//!   - {file: photos/p-002.jpg, bytes: 2400000}
//! ```
//!
//! ```yaml build.yaml
//! name: Brindlet
//! figures: {photo-kilobytes: 2500}
//! ```
//!
//! ```yaml photos/all.yaml
//! p-001: {file: p-001.jpg, also-shows: [the van]}
//! p-002: {file: p-002.jpg, also-shows: [the van]}
//! ```

use crate::finding::{Finding, Level};
use crate::folder::Folder;
use crate::lint::{Context, Rule};
use crate::near;
use crate::picture::named;
use crate::picture::{Picture, Stored};

/// The rule.
pub const RULE: Rule = Rule {
    name: "photo-heavy",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// The largest picture, in kilobytes, unless the build says otherwise.
const MOST: u32 = 2000;

/// So many pictures without a record are told one by one.
const FEW: usize = 5;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let figures = cx.folder.model.build.figures.as_ref();
    let most = figures.and_then(|figures| figures.photo_kilobytes);
    let most = u64::from(most.unwrap_or(MOST));
    let pictures = cx.facts.pictures.as_deref().unwrap_or_default();
    let heavy = |picture: &&Picture| {
        picture.stored == Stored::Whole && picture.bytes.is_some_and(|bytes| bytes > most * 1000)
    };
    let message = |picture: &Picture| {
        format!(
            "{} takes {} kB, over the {most} kB for a picture that git keeps whole",
            picture.file,
            picture.bytes.unwrap_or_default().div_ceil(1000)
        )
    };
    for picture in pictures.iter().filter(heavy) {
        let mut photos = named::named(cx.folder);
        let photo = photos.find(|photo| photo.path.as_ref() == Some(&picture.file));
        let Some(photo) = photo else { continue };
        if let Some(span) = photo.span(cx.folder, "file") {
            let file = photo.record.file;
            findings.push(cx.finding(file, span, message(picture), remedy(picture)));
        }
    }
    let unrecorded = named::unrecorded(cx.folder, pictures).into_iter();
    let unrecorded: Vec<&Picture> = unrecorded.filter(heavy).collect();
    if unrecorded.len() <= FEW {
        findings.extend(unrecorded.iter().map(|picture| {
            let place = Folder::top_of(&picture.file);
            cx.finding_at(place, message(picture), remedy(picture))
        }));
        return;
    }
    let names: Vec<&str> = unrecorded.iter().map(|one| one.file.as_str()).collect();
    findings.push(cx.finding_at(
        Folder::top_of(names[0]),
        format!(
            "{} pictures take more than the {most} kB for one that git keeps whole: {}",
            names.len(),
            near::listed(&names)
        ),
        remedy(unrecorded[0]).replace("save it", "save each"),
    ));
}

fn remedy(picture: &Picture) -> String {
    let ending = picture.file.rsplit_once('.').map(|(_, ending)| ending);
    let plain = |ending: &&str| ending.chars().all(|letter| letter.is_ascii_alphanumeric());
    let which = match ending.filter(plain) {
        Some(ending) => format!("*.{ending}"),
        None => "photos/**".to_owned(),
    };
    format!(
        "save it smaller, or send it to large-file storage (`git lfs install`, `git lfs track \"{which}\"`, `git add --renormalize .`), before it is committed"
    )
}
