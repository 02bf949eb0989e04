//! HEIF and AVIF: which items are marks, and where their bytes lie.

use std::collections::BTreeMap;
use std::ops::Range;

use super::super::PARTS;
use super::{EXIF_CODE, NotTaken, big, find, has_marks, not, scatter, tiff, xmp};

/// What a file of boxes is.
pub enum Form {
    /// A picture.
    Picture,
    /// A camera's own form.
    Raw,
    /// A film, or something else that is no picture.
    Other,
}

/// What a file is, by the names it gives itself.
pub fn form(bytes: &[u8]) -> Form {
    const PICTURES: [&[u8]; 14] = [
        b"mif1", b"mif2", b"msf1", b"miaf", b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx",
        b"avif", b"avis", b"jpeg", b"j2ki",
    ];
    let end = big(bytes, 0).unwrap_or(0).clamp(8, bytes.len().max(8));
    let names = bytes.get(8..end).unwrap_or_default();
    let mut names = names.chunks_exact(4);
    if names.clone().any(|name| name == b"crx ") {
        Form::Raw
    } else if names.any(|name| PICTURES.contains(&name)) {
        Form::Picture
    } else {
        Form::Other
    }
}

/// A box: its name and what it holds.
type Boxed = ([u8; 4], Range<usize>);

/// The boxes in a range, one behind the other.
fn boxes(bytes: &[u8], within: Range<usize>) -> Result<Vec<Boxed>, NotTaken> {
    let mut all = Vec::new();
    let mut at = within.start;
    while at + 8 <= within.end {
        let size = big(bytes, at).unwrap_or(0);
        let name = [bytes[at + 4], bytes[at + 5], bytes[at + 6], bytes[at + 7]];
        let (head, size) = match size {
            0 => (8, within.end - at),
            1 => {
                let wide = bytes
                    .get(at + 8..at + 16)
                    .and_then(|wide| wide.try_into().ok());
                let wide = u64::from_be_bytes(wide.unwrap_or_default());
                (16, usize::try_from(wide).unwrap_or(0))
            }
            size => (8, size),
        };
        if size < head || size > within.end - at {
            return not("its boxes are torn");
        }
        all.push((name, at + head..at + size));
        if all.len() > PARTS {
            return not("it has too many parts");
        }
        at += size;
    }
    Ok(all)
}

fn named(all: &[Boxed], wanted: &[u8; 4]) -> Option<Range<usize>> {
    let found = all.iter().find(|(name, _)| name == wanted);
    found.map(|(_, held)| held.clone())
}

/// Takes all positions out.
pub fn clear(bytes: &mut [u8]) -> Result<(), NotTaken> {
    let top = boxes(bytes, 0..bytes.len())?;
    let mut is_told = false;
    for (name, held) in &top {
        match name {
            b"meta" => {
                is_told = true;
                items(bytes, held.clone())?;
            }
            b"ftyp" | b"mdat" | b"free" | b"skip" => {}
            _ if has_marks(&bytes[held.clone()]) => {
                return not("it has marks in a form that is not known here");
            }
            _ => {}
        }
    }
    if !is_told && find(bytes, EXIF_CODE, 0).is_some() {
        return not("it does not say where its marks are");
    }
    Ok(())
}

/// Which item is what: EXIF, XMP, or of no matter.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Item {
    Exif,
    Xmp,
}

fn items(bytes: &mut [u8], meta: Range<usize>) -> Result<(), NotTaken> {
    // Its version and flags come first.
    let inner = boxes(bytes, (meta.start + 4).min(meta.end)..meta.end)?;
    let Some(list) = named(&inner, b"iinf") else {
        return Ok(());
    };
    let kinds = kinds(bytes, list)?;
    if kinds.is_empty() {
        return Ok(());
    }
    let Some(places) = named(&inner, b"iloc") else {
        return not("it does not say where its marks are");
    };
    let own = named(&inner, b"idat");
    let places = places_of(bytes, places, own)?;
    for (id, kind) in kinds {
        let Some(ranges) = places.get(&id) else {
            return not("it does not say where its marks are");
        };
        let mut whole: Vec<u8> = Vec::new();
        for range in ranges {
            let Some(part) = bytes.get(range.clone()) else {
                return not("its marks lie outside of it");
            };
            // However often it tells of one and the same bytes.
            if whole.len() + part.len() > bytes.len() {
                return not("its marks lie over each other");
            }
            whole.extend_from_slice(part);
        }
        match kind {
            Item::Xmp => xmp::blank(&mut whole)?,
            Item::Exif => {
                let before = big(&whole, 0).unwrap_or(0).saturating_add(4);
                let Some(marks) = whole.get_mut(before..) else {
                    return not("its EXIF can't be read");
                };
                tiff::clear(marks, 0)?;
            }
        }
        scatter(bytes, ranges, &whole);
    }
    Ok(())
}

fn number(bytes: &[u8], at: &mut usize, width: usize) -> Option<usize> {
    let held = bytes.get(*at..at.checked_add(width)?)?;
    *at += width;
    let add = |sum: usize, byte: &u8| sum.checked_mul(256)?.checked_add(usize::from(*byte));
    held.iter().try_fold(0, add)
}

/// The items that are marks, by their numbers.
fn kinds(bytes: &[u8], list: Range<usize>) -> Result<Vec<(usize, Item)>, NotTaken> {
    let version = bytes.get(list.start).copied().unwrap_or(0);
    let first = list.start + 4 + if version == 0 { 2 } else { 4 };
    let mut kinds = Vec::new();
    for (name, held) in boxes(bytes, first.min(list.end)..list.end)? {
        let version = bytes.get(held.start).copied().unwrap_or(0);
        if &name != b"infe" {
            continue;
        }
        if version < 2 {
            return not("it tells of its marks in an old way");
        }
        let own = &bytes[..held.end];
        let mut at = held.start + 4;
        let width = if version == 2 { 2 } else { 4 };
        let id = number(own, &mut at, width);
        at += 2;
        let kind = own.get(at..at + 4);
        let rest = own.get(at + 4..).unwrap_or_default();
        match (id, kind) {
            (Some(id), Some(b"Exif")) => kinds.push((id, Item::Exif)),
            (Some(id), Some(b"mime")) if find(rest, b"xml", 0).is_some() => {
                kinds.push((id, Item::Xmp));
            }
            _ => {}
        }
    }
    Ok(kinds)
}

/// Where the bytes of each item lie.
fn places_of(
    bytes: &[u8],
    list: Range<usize>,
    own: Option<Range<usize>>,
) -> Result<BTreeMap<usize, Vec<Range<usize>>>, NotTaken> {
    let torn = || NotTaken {
        why: "it does not say where its marks are".to_owned(),
    };
    let held = &bytes[..list.end];
    let version = held.get(list.start).copied().unwrap_or(0);
    let mut at = list.start + 4;
    let widths = number(held, &mut at, 2).ok_or_else(torn)?;
    let width = |shift: usize| (widths >> shift) & 15;
    let index = if version == 0 { 0 } else { width(0) };
    let wide = if version < 2 { 2 } else { 4 };
    let count = number(held, &mut at, wide).ok_or_else(torn)?;
    let mut places: BTreeMap<usize, Vec<Range<usize>>> = BTreeMap::new();
    let mut parts = 0;
    for _ in 0..count {
        let mut next = |width: usize| number(held, &mut at, width).ok_or_else(torn);
        let id = next(wide)?;
        let method = if version == 0 { 0 } else { next(2)? & 15 };
        next(2)?;
        let base = next(width(4))?;
        for _ in 0..next(2)? {
            parts += 1;
            if parts > PARTS {
                return not("it has too many parts");
            }
            next(index)?;
            let offset = next(width(12))?;
            let size = next(width(8))?;
            let start = match (method, &own) {
                (0, _) => Some(0),
                (1, Some(own)) => Some(own.start),
                _ => None,
            };
            let start = start.and_then(|start| start.checked_add(base)?.checked_add(offset));
            // What can't be told is only missed where it is a mark; nought is all the rest.
            let range = start.filter(|_| size > 0);
            let range = range.and_then(|start| Some(start..start.checked_add(size)?));
            let range = range.unwrap_or(usize::MAX..usize::MAX);
            places.entry(id).or_default().push(range);
        }
    }
    Ok(places)
}
