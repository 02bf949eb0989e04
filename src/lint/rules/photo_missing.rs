//! # photo-missing
//!
//! A photo names a picture that is not there, or is not the same any more.
//!
//! A picture is evidence: how a thing sat before it came apart, what went out to be
//! plated. What is lost is found out years later, when it is wanted. A name whose
//! capitals differ is found on one computer and not on the next. And a picture that
//! was changed since its hash was written down may show something else by now.
//! The picture of a record is looked for from the folder of the record's file, and
//! never outside the build folder or behind a link, where it would not go along
//! with the build.
//!
//! ## Wrong
//!
//! ```yaml facts
//! as-of: 2026-03-08
//! pictures:
//!   - {file: photos/P-002.JPG, bytes: 812000}
//!   - {file: photos/p-003.jpg, stored: link}
//!   - {file: photos/p-005.jpg, bytes: 790000, taken: 2026-03-07,
//!      sha256: ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad}
//!   - {file: photos/p-006.jpeg, bytes: 655000}
//!   - {file: photos/p-007.jpg, bytes: 655000,
//!      sha256: 248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1}
//! ```
//!
//! ```yaml photos/all.yaml
//! p-001: {file: p-001.jpg, shows: [engine/bracket]}
//! p-002: {file: p-002.jpg, shows: [engine/bracket]}
//! p-003: {file: p-003.jpg, shows: [engine/bracket]}
//! p-004: {file: ../../pictures/p-004.jpg, shows: [engine/bracket]}
//! p-005:
//!   file: p-005.jpg
//!   taken: 2026-02-14
//!   shows: [engine/bracket]
//!   sha256: 248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1
//! p-006: {file: p-006.jpg, shows: [engine/bracket]}
//! p-007:
//!   file: p-007.jpg
//!   shows: [engine/bracket]
//!   sha256: cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   places:
//!     bracket: {marks: [{with: engine/head, how: two lines, photo: p-001}]}
//!     head: {}
//! ```
//!
//! ```text
//! photos/all.yaml:1:15: warning: the picture of `p-001` is not there: photos/p-001.jpg [photo-missing]
//!     assemblies/all.yaml:4:66: assemblies/engine/bracket relies on it
//!     to do: put it there and `git add` it, or write under `file` what it is called
//! photos/all.yaml:2:15: warning: the picture of `p-002` is called photos/P-002.JPG, not photos/p-002.jpg [photo-missing]
//!     to do: write `file: P-002.JPG`; not every computer finds it otherwise
//! photos/all.yaml:3:15: warning: the picture of `p-003` is a link, and links are not followed: photos/p-003.jpg [photo-missing]
//!     to do: put the picture itself there
//! photos/all.yaml:4:15: warning: the picture of `p-004` lies outside the build folder: ../../pictures/p-004.jpg [photo-missing]
//!     to do: put it beside this file, and write `file: p-004.jpg`
//! photos/all.yaml:9:11: warning: photos/p-005.jpg is not the picture that `p-005` was written for (2026-02-14): it has changed, and proves nothing since; the one there says that it was taken on 2026-03-07 [photo-missing]
//!     to do: put back the picture that is now photos/p-007.jpg; if the new one is meant, write `sha256: ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad`
//! photos/all.yaml:10:15: warning: the picture of `p-006` is not there: photos/p-006.jpg [photo-missing]
//!     to do: write `file: p-006.jpeg` if that is meant, or put it there and `git add` it
//! photos/all.yaml:14:11: warning: photos/p-007.jpg is not the picture that `p-007` was written for: it has changed, and proves nothing since [photo-missing]
//!     to do: put back the picture whose hash begins with cdc76e5c9914; if the new one is meant, write `sha256: 248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1`
//! ```
//!
//! ## Right
//!
//! ```yaml facts
//! as-of: 2026-03-08
//! pictures:
//!   - {file: photos/bench/p-001.jpg, bytes: 812000,
//!      sha256: ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad}
//!   - {file: scans/receipt.pdf, bytes: 90000}
//! ```
//!
//! ```yaml photos/bench/all.yaml
//! p-001:
//!   file: p-001.jpg
//!   also-shows: [the bench as it was left]
//!   sha256: ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad
//! p-002: {file: ../../scans/receipt.pdf, also-shows: [the receipt]}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::near;
use crate::picture::named::{self, Named};
use crate::picture::{Picture, Stored};

/// The rule.
pub const RULE: Rule = Rule {
    name: "photo-missing",
    level: Level::Warning,
    firm: false,
    last: false,
    find,
    file: "",
};

/// How many of the places that rely on a picture are named.
const SHOWN: usize = 4;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let Some(pictures) = &cx.facts.pictures else {
        return;
    };
    let unrecorded = named::unrecorded(cx.folder, pictures);
    let relied_on = named::relied_on(cx.folder);
    for photo in named::named(cx.folder) {
        let Some((field, message, remedy)) = wrong(cx, &photo, pictures, &unrecorded) else {
            continue;
        };
        let Some(span) = photo.span(cx.folder, field) else {
            continue;
        };
        let mut finding = cx.finding(photo.record.file, span, message, remedy);
        let places = relied_on.get(photo.id).into_iter().flatten();
        for (file, at) in places.take(SHOWN) {
            let place = cx.folder.place(*file, *at);
            let name = cx.folder.name_at(*file, *at).unwrap_or_default();
            finding = finding.see(place, format!("{name} relies on it"));
        }
        findings.push(finding);
    }
}

/// The field that is wrong, what is, and what to do.
fn wrong(
    cx: &Context<'_>,
    photo: &Named<'_>,
    pictures: &[Picture],
    unrecorded: &[&Picture],
) -> Option<(&'static str, String, String)> {
    let id = photo.id;
    let record = &photo.record.data;
    let own = cx.folder.files[photo.record.file].reading.source.path.as_str();
    let Some(path) = &photo.path else {
        let file = &record.file;
        let name = file.rsplit(['/', '\\', ':']).next().unwrap_or_default();
        return Some((
            "file",
            format!("the picture of `{id}` lies outside the build folder: {file}"),
            format!("put it beside this file, and write `file: {}`", named::in_yaml(name)),
        ));
    };
    let Some(picture) = pictures.iter().find(|one| one.file == *path) else {
        let mut alike = pictures.iter();
        let called = alike.find(|one| named::same_but_for_case(&one.file, path));
        return Some(match called {
            Some(Picture { file, .. }) => (
                "file",
                format!("the picture of `{id}` is called {file}, not {path}"),
                format!(
                    "write `file: {}`; not every computer finds it otherwise",
                    named::in_yaml(&named::written_in(own, file))
                ),
            ),
            None => (
                "file",
                format!(
                    "the picture of `{id}` is not there: {}",
                    if path.is_empty() { &record.file } else { path }
                ),
                remedy(own, path, unrecorded),
            ),
        });
    };
    let itself = "put the picture itself there".to_owned();
    match picture.stored {
        Stored::Link => {
            let what = format!("the picture of `{id}` is a link, and links are not followed: {path}");
            return Some(("file", what, itself));
        }
        Stored::Other => {
            let what = format!("the picture of `{id}` is no ordinary file: {path}");
            return Some(("file", what, itself));
        }
        Stored::Whole | Stored::LargeFile => {}
    }
    let (stated, is) = (record.sha256.as_ref()?, picture.sha256.as_ref()?);
    if stated == is {
        return None;
    }
    let when = match &record.taken {
        Some(day) => format!(" ({})", day.0),
        None => String::new(),
    };
    let now = match picture.taken {
        Some(day) if record.taken.as_ref().is_none_or(|taken| taken.0 != day.to_string()) => {
            format!("; the one there says that it was taken on {day}")
        }
        _ => String::new(),
    };
    let mut others = pictures.iter();
    let moved = others.find(|one| one.sha256.as_ref() == Some(stated));
    let back = match moved {
        Some(moved) => format!("put back the picture that is now {}", moved.file),
        None => format!("put back the picture whose hash begins with {}", &stated[..12]),
    };
    Some((
        "sha256",
        format!(
            "{path} is not the picture that `{id}` was written for{when}: it has changed, and proves nothing since{now}"
        ),
        format!("{back}; if the new one is meant, write `sha256: {is}`"),
    ))
}

/// What to do about one that is not there; one that no record names may be it.
fn remedy(own: &str, path: &str, unrecorded: &[&Picture]) -> String {
    let folder = |path: &str| path.rsplit_once('/').map(|(folder, _)| folder.to_owned());
    let beside: Vec<&str> = unrecorded
        .iter()
        .map(|one| one.file.as_str())
        .filter(|file| folder(file) == folder(path))
        .collect();
    let stem = |path: &str| path.rsplit_once('.').map(|(stem, _)| stem.to_lowercase());
    // The same name with another ending, or nearly the same. Another number is another
    // picture, however alike the names are.
    let ending = beside.iter().copied().find(|file| stem(file) == stem(path));
    let digits = |text: &str| text.replace(|letter: char| !letter.is_ascii_digit(), "");
    let mut alike = beside.clone();
    alike.retain(|file| digits(file) == digits(path));
    match ending.or_else(|| near::slip_of(path, &alike)) {
        Some(near) => format!(
            "write `file: {}` if that is meant, or put it there and `git add` it",
            named::in_yaml(&named::written_in(own, near))
        ),
        None => "put it there and `git add` it, or write under `file` what it is called".to_owned(),
    }
}
