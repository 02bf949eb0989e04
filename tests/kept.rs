//! Readings kept between runs: with them a check says the same as without.

#![allow(clippy::disallowed_methods)]

use std::path::Path;
use std::sync::Arc;

use jiff::civil::date;
use matchmark::folder::{Content, Folder, RawFile, RecordFile, kind_of};
use matchmark::kept::{Kept, KeptPictures};
use matchmark::lint::{self, Facts};
use matchmark::picture::{Picture, Stored};
use matchmark::render::text::{self, Colour};
use walkdir::WalkDir;

const STAMP: &str = "this program";

/// The YAML files of a folder of this project, by their paths in it.
fn files(folder: &str) -> Vec<(String, Vec<u8>)> {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut files = Vec::new();
    for entry in WalkDir::new(&top).sort_by_file_name() {
        let entry = entry.unwrap();
        let path = entry.path().strip_prefix(&top).unwrap().to_str().unwrap();
        if path.ends_with(".yaml") {
            files.push((path.to_owned(), std::fs::read(entry.path()).unwrap()));
        }
    }
    files
}

/// As git would hand them over: by the names of their contents, or packed where kept.
fn handed_over(files: &[(String, Vec<u8>)], kept: &Kept) -> Vec<RawFile> {
    let one = |(path, bytes): &(String, Vec<u8>)| {
        let name = format!("{:?}", bytes);
        let packed = kind_of(path).and_then(|kind| kept.find(&name, kind));
        RawFile {
            path: path.clone(),
            content: match packed {
                Some(packed) => Content::Kept(packed, name),
                None => Content::Blob(bytes.clone(), name),
            },
        }
    };
    files.iter().map(one).collect()
}

/// What the check says, and what it made of the records.
fn said(folder: &Folder) -> (String, String) {
    let found = lint::check(folder, &Facts::on(date(2026, 3, 1)));
    (
        text::findings(&found, Colour::No),
        format!("{:?}", folder.model),
    )
}

/// Checks without readings, with fresh ones, and with those that a file brought; how
/// many of the files were kept.
fn checked_three_ways(files: &[(String, Vec<u8>)], others: &[(String, Vec<u8>)]) -> usize {
    let plain: Vec<RawFile> = handed_over(files, &Kept::default());
    let without = said(&Folder::read(plain).unwrap());

    let kept = Kept::default();
    Folder::read_with(handed_over(others, &kept), &kept).unwrap();
    let kept = Kept::from_bytes(&kept.to_bytes(STAMP).unwrap_or_default(), STAMP);
    let raw = handed_over(files, &kept);
    let packed = |file: &&RawFile| matches!(file.content, Content::Kept(..));
    let number = raw.iter().filter(packed).count();
    assert_eq!(said(&Folder::read_with(raw, &kept).unwrap()), without);

    // Beside another state only what differs is handed over.
    let other = Folder::read(handed_over(others, &Kept::default())).unwrap();
    let mut raw = handed_over(files, &Kept::default());
    for file in &mut raw {
        let Content::Blob(_, name) = &file.content else {
            continue;
        };
        if other.has(&file.path, name) {
            file.content = Content::Named(name.clone());
        }
    }
    let beside = Folder::read_beside(raw, &Kept::default(), &other).unwrap();
    assert_eq!(said(&beside), without);
    let same = |file: &Arc<RecordFile>| other.files.iter().any(|one| Arc::ptr_eq(one, file));
    let shared = beside.files.iter().filter(|file| same(file)).count();
    let changed = files.iter().filter(|file| !others.contains(file)).count();
    assert_eq!(shared + changed, files.len());
    number
}

#[test]
fn the_example_is_the_same_either_way() {
    let files = files("example-build");
    assert_eq!(checked_three_ways(&files, &files), files.len());
}

/// An id that is there twice counts where it stands first. What one state has twice the
/// other may have once, in the file that came second.
#[test]
fn what_was_second_may_be_first() {
    let file = |path: &str, text: &str| (path.to_owned(), text.as_bytes().to_vec());
    let first = file("parts/a.yaml", "pump: {name: A}\n");
    let second = file("parts/b.yaml", "pump: {name: B}\n");
    let both = [first.clone(), second.clone()];
    let other = Folder::read(handed_over(&both, &Kept::default())).unwrap();
    let alone = handed_over(std::slice::from_ref(&second), &Kept::default());
    let Content::Blob(_, name) = &alone[0].content else {
        panic!("{alone:?}");
    };
    assert!(!other.has("parts/b.yaml", name));
    let beside = Folder::read_beside(alone, &Kept::default(), &other).unwrap();
    assert_eq!(beside.model.part["pump"].data.name, "B");
    let once = Folder::read(handed_over(&[second], &Kept::default())).unwrap();
    let beside = handed_over(&both, &Kept::default());
    let beside = Folder::read_beside(beside, &Kept::default(), &once).unwrap();
    assert_eq!(beside.model.part["pump"].data.name, "A");
}

/// The other files are kept, and what they refer to is gone: each is told at its place.
#[test]
fn what_kept_files_refer_to_may_go() {
    let all = files("example-build");
    for gone in ["donors/", "assemblies/", "plugs/", "build.yaml"] {
        let files: Vec<_> = all
            .iter()
            .filter(|(path, _)| !path.starts_with(gone))
            .cloned()
            .collect();
        assert_eq!(checked_three_ways(&files, &all), files.len());
        let kept = Kept::default();
        let found = said(&Folder::read_with(handed_over(&files, &kept), &kept).unwrap()).0;
        assert!(found.contains("[unknown-reference]"), "{gone}: {found}");
    }
}

/// What is wrong with a file by itself is told each time: such a file is not kept.
#[test]
fn only_what_is_clean_is_kept() {
    let mut kept = 0;
    let mut all = 0;
    for judged in ["valid", "invalid"] {
        for (path, bytes) in files(&format!("tests/schema/{judged}")) {
            let folder = path.split(['-', '.']).next().unwrap();
            let path = match folder {
                "build" => "build.yaml".to_owned(),
                folder => format!("{folder}/all.yaml"),
            };
            let file = [(path, bytes)];
            let number = checked_three_ways(&file, &file);
            if judged == "invalid" {
                assert_eq!(number, 0, "{}", file[0].0);
            }
            kept += number;
            all += 1;
        }
    }
    assert!(kept > 50 && all > 200, "{kept} of {all}");
}

#[test]
fn what_is_not_ours_or_is_broken_is_not_believed() {
    let files = files("example-build");
    let kept = Kept::default();
    Folder::read_with(handed_over(&files, &kept), &kept).unwrap();
    let bytes = kept.to_bytes(STAMP).unwrap();
    assert!(!Kept::from_bytes(&bytes, STAMP).is_empty());
    assert!(Kept::from_bytes(&bytes, "another program").is_empty());
    assert!(Kept::from_bytes(&bytes[..bytes.len() - 1], STAMP).is_empty());
    assert!(Kept::from_bytes(b"", STAMP).is_empty());
    // Nothing new, or little: not worth writing.
    let again = Kept::from_bytes(&bytes, STAMP);
    Folder::read_with(handed_over(&files, &again), &again).unwrap();
    assert!(again.to_bytes(STAMP).is_none());

    let broken = RawFile {
        path: "donors/all.yaml".to_owned(),
        content: Content::Kept(b"\x09broken".as_slice().into(), "broken".to_owned()),
    };
    let folder = Folder::read(vec![broken]).unwrap();
    let found = said(&folder).0;
    assert!(found.contains("what is kept of it is broken"), "{found}");
}

/// Every field comes back; one new picture is worth writing, none is not.
#[test]
fn pictures_are_kept_by_what_is_in_them() {
    let large = Picture {
        file: String::new(),
        bytes: Some(5_312_400),
        stored: Stored::LargeFile,
        sha256: Some("ba78".repeat(16)),
        taken: Some(date(2026, 3, 1)),
        position: true,
        orientation: Some(6),
    };
    let small = Picture::of_bytes(b"small");
    let kept = KeptPictures::default();
    kept.put("large", &large);
    kept.put("small", &small);
    let bytes = kept.to_bytes(STAMP).unwrap();

    let again = KeptPictures::from_bytes(&bytes, STAMP);
    assert_eq!(again.find("large"), Some(large));
    assert_eq!(again.find("other"), None);
    assert!(again.to_bytes(STAMP).is_none());
    // What was of no use goes.
    again.put("other", &small);
    let bytes = again.to_bytes(STAMP).unwrap();
    let third = KeptPictures::from_bytes(&bytes, STAMP);
    assert_eq!(third.find("other"), Some(small));
    assert!(third.find("large").is_some());
    assert_eq!(third.find("small"), None);

    for (bytes, stamp) in [
        (&bytes[..], "another program"),
        (&bytes[1..], STAMP),
        (b"", STAMP),
    ] {
        assert_eq!(KeptPictures::from_bytes(bytes, stamp).find("other"), None);
    }
}
