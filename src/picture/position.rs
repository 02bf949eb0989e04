//! A picture without its position.
//!
//! Nothing moves: a directory of positions loses its entry, and it and its values are
//! overwritten; what XMP says in words is overwritten with blanks. So the image stays byte
//! for byte what it was, and every offset, size and other mark with it. What a maker writes
//! in notes of a form of his own is not looked into, beyond words that speak of a position.
//!
//! Where the forms are told: JPEG in ITU-T T.81 annex B, EXIF in CIPA DC-008, TIFF in its
//! revision 6.0, XMP in ISO 16684-1 and Adobe's part 3, PNG in its third edition, WebP in
//! RFC 9649, HEIF in ISO/IEC 14496-12 and 23008-12 (all but the RFC from memory).

mod boxes;
mod tiff;
mod xmp;

use std::ops::Range;

use super::{EXIF_CODE, PARTS, Picture, XMP_CODE, XMP_KEYWORD};

/// A picture that may tell where it was taken, and that nothing can be taken out of surely.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("it may tell where it was taken, and that can't be taken out: {why}")]
pub struct NotTaken {
    /// Why.
    pub why: String,
}

fn not<T>(why: &str) -> Result<T, NotTaken> {
    Err(NotTaken {
        why: why.to_owned(),
    })
}

/// The bytes of a picture without its position, of the same length and with the image itself
/// untouched; nothing where it tells none, or is no picture.
///
/// # Errors
/// When it may tell a position that can't be taken out: such a picture is left out.
pub fn without_position(bytes: &[u8]) -> Result<Option<Vec<u8>>, NotTaken> {
    let mut anew = bytes.to_vec();
    if bytes.starts_with(&[0xff, 0xd8]) {
        jpeg(&mut anew, 0)?;
    } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        png(&mut anew)?;
    } else if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        webp(&mut anew)?;
    } else if tiff::is_tiff(bytes) {
        tiff::clear(&mut anew, 0)?;
    } else if bytes.get(4..8) == Some(b"ftyp") {
        match boxes::form(bytes) {
            boxes::Form::Picture => boxes::clear(&mut anew)?,
            boxes::Form::Raw => return not("it is in a camera's own form"),
            boxes::Form::Other => return Ok(None),
        }
    } else if RAW.iter().any(|head| bytes.starts_with(head)) {
        return not("it is in a camera's own form");
    } else if OTHERS.iter().any(|head| bytes.starts_with(head)) {
        if has_marks(bytes) {
            return not("it has marks in a form that is not known here");
        }
    } else {
        return Ok(None);
    }
    if Picture::of_bytes(&anew).position || speaks_of_one(&anew) {
        return not("something in it still speaks of one");
    }
    Ok((anew != bytes).then_some(anew))
}

/// How pictures begin that cameras write in forms of their own, and TIFF with wide offsets.
const RAW: &[&[u8]] = &[
    b"FUJIFILMCCD-RAW",
    b"IIU\0",
    b"IIRO",
    b"IIRS",
    b"MMOR",
    b"II+\0",
    b"MM\0+",
    b"\0MRM",
    b"FOVb",
];

/// How other pictures begin whose marks are not taken apart here: GIF, JPEG XL, JPEG 2000,
/// layered pictures, BMP.
const OTHERS: &[&[u8]] = &[
    b"GIF8",
    &[0xff, 0x0a],
    b"\0\0\0\x0cJXL ",
    b"\0\0\0\x0cjP  ",
    &[0xff, 0x4f, 0xff, 0x51],
    b"8BPS",
    b"BM",
];

/// Whether there seem to be marks of any sort.
fn has_marks(bytes: &[u8]) -> bool {
    let signs: [&[u8]; 8] = [
        b"Exif",
        b"II*\0",
        b"MM\0*",
        b"://ns.adobe.com/",
        b"brob",
        b"ftyp",
        b"\xa9xyz",
        b"loci",
    ];
    signs.iter().any(|sign| find(bytes, sign, 0).is_some()) || speaks_of_one(bytes)
}

/// Whether words stand there that tell of a position.
fn speaks_of_one(bytes: &[u8]) -> bool {
    const WORDS: [&[u8]; 3] = [b"latitude", b"longitude", b"gpsposition"];
    let starts = bytes.iter().enumerate();
    let mut starts = starts.filter(|(_, byte)| matches!(byte.to_ascii_lowercase(), b'l' | b'g'));
    starts.any(|(at, _)| {
        // Plain, and with two bytes a letter.
        let stands = |word: &&[u8], wide: usize| {
            let letter = |(number, letter): (usize, &u8)| {
                let byte = bytes.get(at + number * wide);
                byte.is_some_and(|byte| byte.eq_ignore_ascii_case(letter))
            };
            word.iter().enumerate().all(letter)
        };
        WORDS
            .iter()
            .any(|word| stands(word, 1) || (bytes.get(at + 1) == Some(&0) && stands(word, 2)))
    })
}

fn find(bytes: &[u8], wanted: &[u8], from: usize) -> Option<usize> {
    let rest = bytes.get(from..)?;
    let first = wanted.first()?;
    let mut at = 0;
    while let Some(next) = rest[at..].iter().position(|byte| byte == first) {
        at += next;
        if rest[at..].starts_with(wanted) {
            return Some(from + at);
        }
        at += 1;
    }
    None
}

/// What lies behind the end of a picture: nothing, or what tells of nothing.
fn trailer(bytes: &[u8]) -> Result<(), NotTaken> {
    if has_marks(bytes) {
        return not("something with marks of its own is hung on behind its end");
    }
    Ok(())
}

/// How deep pictures may lie in each other: a small one in the marks of a large one.
const DEEPEST: usize = 2;

const EXTENSION_CODE: &[u8] = b"http://ns.adobe.com/xmp/extension/\0";
/// The code, what the parts are called, the length of the whole, where the part belongs.
const EXTENSION_HEAD: usize = EXTENSION_CODE.len() + 32 + 4 + 4;

/// One picture, and those that follow behind it.
fn jpeg(bytes: &mut [u8], depth: usize) -> Result<(), NotTaken> {
    if depth > DEEPEST {
        return not("pictures lie in each other");
    }
    let mut at = 2;
    // What is too long for one segment goes on in the next.
    let mut extension: Vec<Range<usize>> = Vec::new();
    let mut parts = 0;
    while let Some(mark) = bytes.get(at..at + 2) {
        parts += 1;
        if parts > PARTS {
            return not("it has too many parts");
        }
        let code = mark[1];
        if mark[0] != 0xff {
            // What is no mark is no picture any more.
            trailer(&bytes[at..])?;
            break;
        }
        match code {
            0xff => {
                at += 1;
                continue;
            }
            0x01 | 0xd0..=0xd8 => {
                at += 2;
                continue;
            }
            0xd9 => {
                at += 2;
                let Some(next) = find(bytes, &[0xff, 0xd8, 0xff], at) else {
                    trailer(&bytes[at..])?;
                    break;
                };
                // The pictures that cameras put behind one another.
                trailer(&bytes[at..next])?;
                at = next + 2;
                continue;
            }
            _ => {}
        }
        let size = bytes.get(at + 2..at + 4);
        let size = size.map_or(0, |size| {
            usize::from(u16::from_be_bytes([size[0], size[1]]))
        });
        let held = at + 4..at + 2 + size;
        if size < 2 || held.end > bytes.len() {
            trailer(&bytes[at..])?;
            break;
        }
        segment(bytes, code, held.clone(), depth, &mut extension)?;
        at = held.end;
        if code == 0xda {
            at = behind_scan(bytes, at);
        }
    }
    let mut whole: Vec<u8> = Vec::new();
    extension
        .iter()
        .for_each(|range| whole.extend_from_slice(&bytes[range.clone()]));
    xmp::blank(&mut whole)?;
    scatter(bytes, &extension, &whole);
    Ok(())
}

/// Writes back what was put together out of several ranges.
fn scatter(bytes: &mut [u8], ranges: &[Range<usize>], whole: &[u8]) {
    let mut at = 0;
    for range in ranges {
        bytes[range.clone()].copy_from_slice(&whole[at..at + range.len()]);
        at += range.len();
    }
}

/// Where the next mark stands behind the lines of an image.
fn behind_scan(bytes: &[u8], mut at: usize) -> usize {
    while let Some(found) = find(bytes, &[0xff], at) {
        match bytes.get(found + 1) {
            Some(0 | 0xd0..=0xd7) => at = found + 2,
            Some(0xff) => at = found + 1,
            _ => return found,
        }
    }
    bytes.len()
}

fn segment(
    bytes: &mut [u8],
    code: u8,
    held: Range<usize>,
    depth: usize,
    extension: &mut Vec<Range<usize>>,
) -> Result<(), NotTaken> {
    let part = &mut bytes[held.clone()];
    if code == 0xe1 && part.starts_with(EXIF_CODE) {
        tiff::clear(&mut part[EXIF_CODE.len()..], depth)
    } else if code == 0xe1 && part.starts_with(XMP_CODE) {
        xmp::blank(&mut part[XMP_CODE.len()..])
    } else if code == 0xe1 && part.starts_with(EXTENSION_CODE) && part.len() >= EXTENSION_HEAD {
        extension.push(held.start + EXTENSION_HEAD..held.end);
        Ok(())
    } else if code == 0xed {
        resources(part, depth)
    } else if (0xe0..=0xef).contains(&code) && find(part, b"Exif\0", 0).is_some() {
        not("it has marks in a form that is not known here")
    } else {
        Ok(())
    }
}

/// Marks in the blocks of a layout program: EXIF and XMP lie in blocks of their own.
fn resources(bytes: &mut [u8], depth: usize) -> Result<(), NotTaken> {
    let mut at = 0;
    while let Some(found) = find(bytes, b"8BIM", at) {
        // The number, a name of even length with its own length in front, the size.
        let name = bytes.get(found + 6).map_or(0, |size| usize::from(*size));
        let head = found + 6 + (name + 2) / 2 * 2;
        let size = bytes.get(head..head + 4).map(|size| {
            let size = [size[0], size[1], size[2], size[3]];
            u32::from_be_bytes(size) as usize
        });
        let Some(size) = size else { break };
        let number = [bytes[found + 4], bytes[found + 5]];
        let end = (head + 4).saturating_add(size).min(bytes.len());
        let part = &mut bytes[head + 4..end];
        match number {
            [0x04, 0x22 | 0x23] if tiff::is_tiff(part) => tiff::clear(part, depth)?,
            [0x04, 0x22 | 0x23] if !part.is_empty() => {
                return not("it has marks in a form that is not known here");
            }
            [0x04, 0x24] => xmp::blank(part)?,
            _ => {}
        }
        at = end.max(found + 4);
    }
    Ok(())
}

fn big(bytes: &[u8], at: usize) -> Option<usize> {
    let four = bytes.get(at..at.checked_add(4)?)?;
    usize::try_from(u32::from_be_bytes(four.try_into().ok()?)).ok()
}

fn png(bytes: &mut [u8]) -> Result<(), NotTaken> {
    let mut at = 8;
    for _ in 0..PARTS {
        let Some(size) = big(bytes, at) else {
            return Ok(());
        };
        let name = at + 4..at + 8;
        let held = at + 8..(at + 8).saturating_add(size);
        if held.end.saturating_add(4) > bytes.len() {
            // The rest of it is not there.
            return trailer(bytes.get(at + 4..).unwrap_or_default());
        }
        let kind = [bytes[at + 4], bytes[at + 5], bytes[at + 6], bytes[at + 7]];
        let before = bytes[held.clone()].to_vec();
        let part = &mut bytes[held.clone()];
        match &kind {
            b"eXIf" => tiff::clear(without_code(part), 0)?,
            b"iTXt" if part.starts_with(XMP_KEYWORD) => {
                let packed = part.get(XMP_KEYWORD.len()).copied();
                if packed.unwrap_or_default() != 0 {
                    return not("its XMP is packed");
                }
                xmp::blank(&mut part[XMP_KEYWORD.len()..])?;
            }
            b"tEXt" | b"zTXt" | b"iTXt" => words(part, kind == *b"tEXt")?,
            b"IEND" => return trailer(&bytes[held.end + 4..]),
            _ => {}
        }
        if bytes[held.clone()] != before {
            let sum = check_sum(&bytes[name.start..held.end]);
            bytes[held.end..held.end + 4].copy_from_slice(&sum.to_be_bytes());
        }
        at = held.end + 4;
    }
    not("it has too many parts")
}

/// A text with its keyword: marks that a program has put into one, or a position.
fn words(part: &mut [u8], is_plain: bool) -> Result<(), NotTaken> {
    let end = part.iter().position(|byte| *byte == 0);
    let end = end.unwrap_or(part.len());
    let keyword = part[..end].to_ascii_lowercase();
    let is = |word: &[u8]| find(&keyword, word, 0).is_some();
    let profile = is(b"raw profile") && (is(b"exif") || is(b"app1") || is(b"xmp"));
    let position = is(b"gps") || speaks_of_one(&keyword) || speaks_of_one(&part[end..]);
    if profile || (position && !is_plain) {
        return not("it has marks in a form that is not known here");
    }
    if position {
        // A keyword of nothing but a letter is allowed, and leading blanks are not.
        part.iter_mut().for_each(|byte| *byte = b'-');
        if let Some(separator) = part.get_mut(end) {
            *separator = 0;
        }
    }
    Ok(())
}

/// The check sum of a chunk's name and what it holds (PNG, annex D; ISO 3309).
fn check_sum(bytes: &[u8]) -> u32 {
    let mut sum = u32::MAX;
    for byte in bytes {
        sum ^= u32::from(*byte);
        for _ in 0..8 {
            let low = sum & 1;
            sum = (sum >> 1) ^ (0xedb8_8320 * low);
        }
    }
    !sum
}

fn webp(bytes: &mut [u8]) -> Result<(), NotTaken> {
    let mut at = 12;
    for _ in 0..PARTS {
        let Some(head) = bytes.get(at..at + 8) else {
            return Ok(());
        };
        let size = u32::from_le_bytes([head[4], head[5], head[6], head[7]]) as usize;
        let name = [head[0], head[1], head[2], head[3]];
        let end = (at + 8).saturating_add(size).min(bytes.len());
        let part = &mut bytes[at + 8..end];
        match &name {
            b"EXIF" => tiff::clear(without_code(part), 0)?,
            b"XMP " => xmp::blank(part)?,
            b"VP8X" | b"VP8 " | b"VP8L" | b"ALPH" | b"ANIM" | b"ANMF" | b"ICCP" => {}
            _ => trailer(part)?,
        }
        at = end + size % 2;
    }
    not("it has too many parts")
}

fn without_code(marks: &mut [u8]) -> &mut [u8] {
    let code = if marks.starts_with(EXIF_CODE) {
        EXIF_CODE.len()
    } else {
        0
    };
    &mut marks[code..]
}
