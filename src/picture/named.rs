//! Which pictures the records name, and which files count as pictures.

use std::collections::{BTreeMap, BTreeSet};

use crate::folder::Folder;
use crate::model::photo::Photo;
use crate::model::{Kind, Record};
use crate::schema::shape::Target;
use crate::source::Span;

use super::Picture;

/// The endings of picture files.
const ENDINGS: [&str; 9] = [
    "avif", "gif", "heic", "jpeg", "jpg", "png", "tif", "tiff", "webp",
];

/// A photo record and the picture that it names.
#[derive(Debug, Clone)]
pub struct Named<'a> {
    /// The record's id.
    pub id: &'a str,
    /// The record.
    pub record: &'a Record<Photo>,
    /// The picture's file from the build folder; none where it would lie outside.
    pub path: Option<String>,
}

/// The photo records that name a picture.
pub fn named(folder: &Folder) -> impl Iterator<Item = Named<'_>> {
    let photos = folder.model.photo.iter();
    photos.filter_map(|(id, record)| {
        let file = record.data.file.as_str();
        let beside = &folder.files.get(record.file)?.reading.source.path;
        (!file.is_empty()).then(|| Named {
            id,
            record,
            path: path_of(beside, file),
        })
    })
}

impl Named<'_> {
    /// Where a field of the record stands.
    #[must_use]
    pub fn span(&self, folder: &Folder, field: &str) -> Option<Span> {
        let spots = folder.spots(Kind::Photos, self.id).iter();
        let spot = spots.copied().find(|spot| spot.file == self.record.file)?;
        Some(folder.record(spot)?.value.get(field)?.span)
    }
}

/// The path from the build folder of a file that is named in another; none if it leads
/// out of the folder, or begins anywhere else.
#[must_use]
pub fn path_of(named_in: &str, file: &str) -> Option<String> {
    let drive = file.as_bytes().get(1) == Some(&b':');
    if drive || file.starts_with(['/', '\\']) {
        return None;
    }
    let mut parts: Vec<&str> = named_in.split('/').collect();
    parts.pop();
    for part in file.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                parts.pop()?;
            }
            part => parts.push(part),
        }
    }
    Some(parts.join("/"))
}

/// How a record in one file names another file of the build folder.
#[must_use]
pub fn written_in(named_in: &str, path: &str) -> String {
    let own: Vec<&str> = named_in.split('/').collect();
    let own = &own[..own.len() - 1];
    let parts: Vec<&str> = path.split('/').collect();
    let common = own.iter().zip(&parts).take_while(|(a, b)| a == b).count();
    let up = std::iter::repeat_n("..", own.len() - common);
    let way: Vec<&str> = up.chain(parts[common..].iter().copied()).collect();
    way.join("/")
}

/// A file's name as a value in a record: in quotes where YAML might take it apart.
#[must_use]
pub fn in_yaml(name: &str) -> String {
    let plain = |letter: char| letter.is_ascii_alphanumeric() || "-_./".contains(letter);
    if name.chars().all(plain)
        && name.starts_with(|letter: char| letter.is_ascii_alphabetic() || letter == '.')
    {
        return name.to_owned();
    }
    format!("\"{}\"", name.replace('\\', "\\\\").replace('"', "\\\""))
}

/// Whether a file counts as a picture that wants a record: it lies in `photos/`, not
/// hidden, and has a picture's ending.
#[must_use]
pub fn is_picture(path: &str) -> bool {
    let Some(inner) = path.strip_prefix("photos/") else {
        return false;
    };
    let ending = inner
        .rsplit_once('.')
        .map(|(_, ending)| ending.to_ascii_lowercase());
    let hidden = inner.split('/').any(|part| part.starts_with('.'));
    !hidden && ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str()))
}

/// Whether two paths differ by no more than the case of letters.
#[must_use]
pub fn same_but_for_case(one: &str, other: &str) -> bool {
    one == other || one.to_lowercase() == other.to_lowercase()
}

/// What the records want to know of pictures.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// The pictures that records name, and whether one states a hash.
    pub paths: BTreeMap<String, bool>,
    lower: BTreeSet<String>,
}

impl Wanted {
    /// What the records of a folder want to know.
    #[must_use]
    pub fn by(folder: &Folder) -> Self {
        let mut wanted = Self::default();
        for one in named(folder) {
            if let Some(path) = one.path {
                wanted.lower.insert(path.to_lowercase());
                *wanted.paths.entry(path).or_default() |= one.record.data.sha256.is_some();
            }
        }
        wanted
    }

    /// Whether a file is to be told of.
    #[must_use]
    pub fn has(&self, path: &str) -> bool {
        is_picture(path) || self.lower.contains(&path.to_lowercase())
    }
}

/// The pictures that no record names, in their order; none where a file of photo records
/// can't be read whole, which may name them.
#[must_use]
pub fn unrecorded<'a>(folder: &Folder, pictures: &'a [Picture]) -> Vec<&'a Picture> {
    let mut photos = folder.files.iter().filter(|file| file.kind == Kind::Photos);
    let unread = photos.any(|file| !file.reading.problems.is_empty() || !file.faults.is_empty());
    if unread || folder.may_be_lost(Kind::Photos, "") {
        return Vec::new();
    }
    let known = Wanted::by(folder);
    pictures
        .iter()
        .filter(|one| is_picture(&one.file) && !known.lower.contains(&one.file.to_lowercase()))
        .collect()
}

/// Where other records name photos, by the photos' ids. A decision that settles what is
/// found at a photo does not rely on it.
#[must_use]
pub fn relied_on(folder: &Folder) -> BTreeMap<&str, Vec<(usize, Span)>> {
    let mut places: BTreeMap<&str, Vec<(usize, Span)>> = BTreeMap::new();
    for (number, file) in folder.files.iter().enumerate() {
        for reference in &file.uses.references {
            let named = match &reference.target {
                Target::Photo => Some(&*reference.text),
                Target::Any | Target::Shown => reference.text.strip_prefix("photos/"),
                _ => None,
            };
            let Some(id) = named else { continue };
            let record = file.records().get(reference.entry);
            let settles = record
                .filter(|_| file.kind == Kind::Decisions)
                .and_then(|record| record.value.get("settles"));
            let (at, span) = (reference.span, settles.map(|node| node.span));
            if span.is_none_or(|span| at.start < span.start || span.end < at.end) {
                places.entry(id).or_default().push((number, at));
            }
        }
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_leads_from_its_file_and_never_out_of_the_build() {
        let from = |file| path_of("photos/bench/all.yaml", file);
        assert_eq!(from("p.jpg").as_deref(), Some("photos/bench/p.jpg"));
        assert_eq!(from("./a//p.jpg").as_deref(), Some("photos/bench/a/p.jpg"));
        assert_eq!(from("../../scans/p.jpg").as_deref(), Some("scans/p.jpg"));
        for out in ["../../../p.jpg", "/p.jpg", "C:/p.jpg", "C:p.jpg", "\\p.jpg"] {
            assert_eq!(from(out), None, "{out}");
        }
        assert_eq!(in_yaml("../a/P_1.jpg"), "../a/P_1.jpg");
        assert_eq!(in_yaml("12.1e3"), "\"12.1e3\"");
        assert_eq!(in_yaml("a: \"b\".jpg"), "\"a: \\\"b\\\".jpg\"");
        for file in ["p.jpg", "a/p.jpg", "../p.jpg", "../../scans/p.jpg"] {
            let path = from(file).unwrap();
            assert_eq!(written_in("photos/bench/all.yaml", &path), file);
        }
    }

    #[test]
    fn what_counts_as_a_picture() {
        for picture in ["photos/p.jpg", "photos/a/b/P.JPEG", "photos/a.b.HEIC"] {
            assert!(is_picture(picture), "{picture}");
        }
        for other in [
            "p.jpg",
            "photos/p",
            "photos/.p.jpg",
            "photos/.a/p.jpg",
            "photos/a.yaml",
        ] {
            assert!(!is_picture(other), "{other}");
        }
    }
}
