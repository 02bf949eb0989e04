//! XMP without what it says of a position: blanks of the same length in its stead.

use std::ops::Range;

use super::{NotTaken, find, not};

/// Whether a name speaks of a position: `exif:GPSLatitude`, and what other makers call it.
fn tells(name: &[u8]) -> bool {
    let local = name.iter().rposition(|byte| *byte == b':');
    let local = name[local.map_or(0, |colon| colon + 1)..].to_ascii_lowercase();
    let words: [&[u8]; 4] = [b"gps", b"latitude", b"longitude", b"geotag"];
    !name.starts_with(b"xmlns") && words.iter().any(|word| find(&local, word, 0).is_some())
}

/// Overwrites every property that tells of a position.
pub fn blank(bytes: &mut [u8]) -> Result<(), NotTaken> {
    let mut gone: Vec<Range<usize>> = Vec::new();
    let mut at = 0;
    while let Some(open) = find(bytes, b"<", at) {
        at = open + 1;
        let rest = &bytes[open..];
        let skipped: Option<&[u8]> = if rest.starts_with(b"<!--") {
            Some(b"-->")
        } else if rest.starts_with(b"<![CDATA[") {
            Some(b"]]>")
        } else if rest.starts_with(b"<?") {
            Some(b"?>")
        } else {
            None
        };
        if let Some(end) = skipped {
            at = find(bytes, end, at).unwrap_or(bytes.len());
            continue;
        }
        if rest.starts_with(b"</") || rest.starts_with(b"<!") {
            continue;
        }
        let tag = Tag::read(bytes, open);
        if tells(&bytes[tag.name.clone()]) {
            let end = if tag.closed {
                Some(tag.end)
            } else {
                end_of(bytes, &tag)
            };
            let Some(end) = end else {
                return not("its XMP is torn");
            };
            gone.push(open..end);
            at = end;
            continue;
        }
        let told = tag.attributes.into_iter();
        gone.extend(
            told.filter(|(name, _)| tells(&bytes[name.clone()]))
                .map(|(_, whole)| whole),
        );
        at = tag.end.max(at);
    }
    for range in gone {
        bytes[range].fill(b' ');
    }
    Ok(())
}

/// A tag that opens something.
struct Tag {
    name: Range<usize>,
    /// Each with its name, and the whole of it.
    attributes: Vec<(Range<usize>, Range<usize>)>,
    end: usize,
    /// Whether it closes at once.
    closed: bool,
}

impl Tag {
    fn read(bytes: &[u8], open: usize) -> Self {
        let is_name = |byte: &u8| !byte.is_ascii_whitespace() && !b"=/<>\"'\0".contains(byte);
        let word = |at: usize| {
            let rest = bytes.get(at..).unwrap_or_default();
            at..at
                + rest
                    .iter()
                    .position(|byte| !is_name(byte))
                    .unwrap_or(rest.len())
        };
        let blanks = |at: usize| {
            let rest = bytes.get(at..).unwrap_or_default();
            let blank = |byte: &u8| byte.is_ascii_whitespace();
            at + rest
                .iter()
                .position(|byte| !blank(byte))
                .unwrap_or(rest.len())
        };
        let name = word(open + 1);
        let mut tag = Self {
            attributes: Vec::new(),
            end: bytes.len(),
            closed: false,
            name: name.clone(),
        };
        let mut at = name.end;
        while let Some(byte) = bytes.get(at) {
            match byte {
                b'>' => {
                    tag.end = at + 1;
                    tag.closed = bytes[at - 1] == b'/';
                    break;
                }
                b'"' | b'\'' => at = find(bytes, &[*byte], at + 1).unwrap_or(bytes.len()) + 1,
                _ if is_name(byte) => {
                    let name = word(at);
                    let equals = blanks(name.end);
                    at = name.end;
                    if bytes.get(equals) != Some(&b'=') {
                        continue;
                    }
                    let value = blanks(equals + 1);
                    let Some(quote @ (b'"' | b'\'')) = bytes.get(value) else {
                        continue;
                    };
                    let close = find(bytes, &[*quote], value + 1);
                    at = close.map_or(bytes.len(), |close| close + 1);
                    tag.attributes.push((name.clone(), name.start..at));
                }
                _ => at += 1,
            }
        }
        tag
    }
}

/// The end of the tag that closes another; one of the same name may lie in it.
fn end_of(bytes: &[u8], tag: &Tag) -> Option<usize> {
    let name = &bytes[tag.name.clone()];
    let mut depth = 1;
    let mut at = tag.end;
    while let Some(found) = find(bytes, name, at) {
        at = found + name.len();
        let ends = !matches!(bytes.get(at), Some(byte) if byte.is_ascii_alphanumeric() || b"-_.:".contains(byte));
        let before = bytes[..found].last();
        if !ends {
            continue;
        }
        if before == Some(&b'<') {
            let inner = Tag::read(bytes, found - 1);
            at = inner.end;
            depth += usize::from(!inner.closed);
        } else if before == Some(&b'/') && bytes.get(found.wrapping_sub(2)) == Some(&b'<') {
            at = find(bytes, b">", at)? + 1;
            depth -= 1;
            if depth == 0 {
                return Some(at);
            }
        }
    }
    None
}
