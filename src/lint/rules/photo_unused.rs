//! # photo-unused
//!
//! A photo shows nothing, or a picture has no record.
//!
//! A picture is found by what it shows. One that says nothing of it is not there
//! when somebody asks how the bracket sat, and nobody remembers a year later.
//! A photo is of use where it `shows` or `proves` something, says in words what it
//! `also-shows`, or another record names it.
//!
//! ## Wrong
//!
//! ```yaml facts
//! as-of: 2026-03-08
//! pictures:
//!   - {file: photos/p-001.jpg, bytes: 812000}
//!   - {file: photos/p-002.jpg, bytes: 790000}
//! ```
//!
//! ```yaml photos/all.yaml
//! p-001: {file: p-001.jpg, caption: Left side}
//! ```
//!
//! ```text
//! photos/all.yaml:1:1: note: `p-001` shows nothing, and nothing relies on it [photo-unused]
//!     to do: say what is on it, as in `shows: [engine/head]`; where no record stands for it, under `also-shows`
//! photos/p-002.jpg:1:1: note: no record says what this picture shows [photo-unused]
//!     to do: write one into photos/all.yaml, as in `p-002: {file: p-002.jpg, shows: [engine/head]}`
//! ```
//!
//! ```yaml facts
//! as-of: 2026-03-08
//! pictures:
//!   - {file: photos/20260301 left.jpg}
//!   - {file: photos/a.jpg}
//!   - {file: photos/b.jpg}
//!   - {file: photos/c.jpg}
//!   - {file: photos/d.jpg}
//!   - {file: photos/e.jpg}
//!   - {file: photos/f.jpg}
//! ```
//!
//! ```text
//! photos/20260301 left.jpg:1:1: note: no record says what 7 pictures show: `photos/20260301 left.jpg`, `photos/a.jpg`, `photos/b.jpg`, `photos/c.jpg`, `photos/d.jpg` and 2 more [photo-unused]
//!     to do: write a record for each into photos/all.yaml, as in `p-20260301-left: {file: "20260301 left.jpg", shows: [engine/head]}`
//! ```
//!
//! ## Right
//!
//! ```yaml facts
//! as-of: 2026-03-08
//! pictures:
//!   - {file: photos/p-001.jpg, bytes: 812000}
//!   - {file: photos/p-002.jpg, bytes: 790000}
//! ```
//!
//! ```yaml photos/all.yaml
//! p-001: {file: p-001.jpg}
//! p-002: {file: p-002.jpg, also-shows: [the shed door]}
//! ```
//!
//! ```yaml donors/all.yaml
//! pell-van: {maker: Pell, photo: p-001}
//! ```

use crate::finding::{Finding, Level};
use crate::folder::Folder;
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::near;
use crate::picture::Picture;
use crate::picture::named;

/// The rule.
pub const RULE: Rule = Rule {
    name: "photo-unused",
    level: Level::Note,
    firm: false,
    last: false,
    find,
    file: "",
};

/// So many pictures without a record are told one by one.
const FEW: usize = 5;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    // What can't be read may be what relies on a photo.
    let unread = |file: &std::sync::Arc<crate::folder::RecordFile>| !file.reading.problems.is_empty();
    if !cx.folder.strays.is_empty() || cx.folder.files.iter().any(unread) {
        return;
    }
    let relied_on = named::relied_on(cx.folder);
    for (id, record) in &cx.folder.model.photo {
        let photo = &record.data;
        let shows = !(photo.shows.is_empty() && photo.also_shows.is_empty() && photo.proves.is_empty());
        if shows || relied_on.contains_key(id.as_str()) {
            continue;
        }
        let spots = cx.folder.spots(Kind::Photos, id).iter();
        let key = spots
            .filter(|spot| spot.file == record.file)
            .find_map(|spot| Some(cx.folder.record(*spot)?.key.span));
        if let Some(span) = key {
            findings.push(cx.finding(
                record.file,
                span,
                format!("`{id}` shows nothing, and nothing relies on it"),
                "say what is on it, as in `shows: [engine/head]`; where no record stands for it, under `also-shows`"
                    .to_owned(),
            ));
        }
    }
    let pictures = cx.facts.pictures.as_deref().unwrap_or_default();
    let unrecorded = named::unrecorded(cx.folder, pictures);
    match &*unrecorded {
        [] => {}
        few if few.len() <= FEW => {
            for picture in few {
                let (file, record) = record_for(cx.folder, picture);
                findings.push(cx.finding_at(
                    Folder::top_of(&picture.file),
                    "no record says what this picture shows".to_owned(),
                    format!("write one into {file}, as in `{record}`"),
                ));
            }
        }
        many => {
            let names: Vec<&str> = many.iter().map(|one| one.file.as_str()).collect();
            let (file, record) = record_for(cx.folder, many[0]);
            findings.push(cx.finding_at(
                Folder::top_of(names[0]),
                format!(
                    "no record says what {} pictures show: {}",
                    names.len(),
                    near::listed(&names)
                ),
                format!("write a record for each into {file}, as in `{record}`"),
            ));
        }
    }
}

/// The file that a picture's record would stand in, and the record.
fn record_for(folder: &Folder, picture: &Picture) -> (String, String) {
    let (beside, name) = picture
        .file
        .rsplit_once('/')
        .unwrap_or(("photos", &picture.file));
    let files = folder.files.iter().filter(|file| file.kind == Kind::Photos);
    let mut paths = files.map(|file| file.reading.source.path.as_str());
    let file = paths.find(|path| path.rsplit_once('/').is_some_and(|(own, _)| own == beside));
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    let id: String = stem
        .chars()
        .map(|letter| match letter.to_ascii_lowercase() {
            letter @ ('a'..='z' | '0'..='9') => letter,
            _ => '-',
        })
        .collect();
    let id = id.trim_matches('-');
    let id = match id.starts_with(|letter: char| letter.is_ascii_lowercase()) {
        true => id.to_owned(),
        // What begins with a figure may be a number or a day to YAML.
        false => format!("p-{}", if id.is_empty() { "001" } else { id }),
    };
    let name = named::in_yaml(name);
    (
        file.map_or_else(|| format!("{beside}/all.yaml"), str::to_owned),
        format!("{id}: {{file: {name}, shows: [engine/head]}}"),
    )
}
