//! The directories of TIFF, which EXIF is made of, without those that tell a position.

use std::collections::BTreeSet;
use std::ops::Range;

use super::super::PARTS;
use super::{NotTaken, jpeg, not, resources, speaks_of_one, xmp};

/// Whether these bytes begin as TIFF does.
pub fn is_tiff(bytes: &[u8]) -> bool {
    bytes.starts_with(b"II*\0") || bytes.starts_with(b"MM\0*")
}

/// The directory of positions.
const GPS: u16 = 0x8825;
/// Directories that hang on another: EXIF's own, what suits other makers, parts of a picture.
const INNER: [u16; 3] = [0x8769, 0xa005, 0x014a];
/// Where a map's corners lie on the ground (GeoTIFF 1.1, and what a wide-spread library adds).
const ON_THE_GROUND: [u16; 7] = [33550, 33922, 34264, 34735, 34736, 34737, 42112];
/// XMP, and the blocks of a layout program.
const XMP: u16 = 700;
const RESOURCES: u16 = 0x8649;
/// Where the image's strips and tiles lie, and how long they are.
const IMAGE: [(u16, u16); 2] = [(0x0111, 0x0117), (0x0144, 0x0145)];
/// The small picture: where it lies, and how long it is.
const SMALL: (u16, u16) = (0x0201, 0x0202);
/// The most strips and tiles that are gone through.
const MOST_TOLD: usize = 1 << 20;
/// Notes in a maker's own form.
const MAKERS: u16 = 0x927c;

/// Takes all positions out.
pub fn clear(bytes: &mut [u8], depth: usize) -> Result<(), NotTaken> {
    if !is_tiff(bytes) {
        return if bytes.iter().all(|byte| *byte == 0) {
            Ok(())
        } else {
            not("its EXIF can't be read")
        };
    }
    let mut walk = Walk {
        big: bytes[0] == b'M',
        ..Walk::default()
    };
    walk.all(bytes)?;
    walk.take_out(bytes)?;
    for (tag, range) in walk.inner {
        let part = &mut bytes[range];
        match tag {
            XMP => xmp::blank(part)?,
            RESOURCES => resources(part, depth + 1)?,
            _ if part.starts_with(&[0xff, 0xd8]) => jpeg(part, depth + 1)?,
            _ => {}
        }
    }
    if walk
        .texts
        .iter()
        .any(|range| speaks_of_one(&bytes[range.clone()]))
    {
        return not("a text in it speaks of one");
    }
    Ok(())
}

#[derive(Default)]
struct Walk {
    big: bool,
    seen: BTreeSet<usize>,
    entries: usize,
    /// How many strips, tiles and inner directories were told.
    told: usize,
    /// Entries that go: the directory, the number in it.
    goes: Vec<(usize, usize)>,
    /// What is overwritten with nought.
    gone: Vec<Range<usize>>,
    /// What must not be.
    kept: Vec<Range<usize>>,
    /// What has marks of its own inside, by its tag.
    inner: Vec<(u16, Range<usize>)>,
    texts: Vec<Range<usize>>,
}

struct Field {
    tag: u16,
    kind: u16,
    count: usize,
    /// Where its value lies, as much as is there.
    value: Range<usize>,
    /// Whether the value lies in the entry itself.
    own: bool,
}

impl Walk {
    fn short(&self, bytes: &[u8], at: usize) -> Option<u16> {
        let two: [u8; 2] = bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(match self.big {
            true => u16::from_be_bytes(two),
            false => u16::from_le_bytes(two),
        })
    }

    fn long(&self, bytes: &[u8], at: usize) -> Option<usize> {
        let four: [u8; 4] = bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        let number = match self.big {
            true => u32::from_be_bytes(four),
            false => u32::from_le_bytes(four),
        };
        usize::try_from(number).ok()
    }

    fn all(&mut self, bytes: &[u8]) -> Result<(), NotTaken> {
        self.kept.push(0..8.min(bytes.len()));
        let mut wanted = vec![(self.long(bytes, 4).unwrap_or(0), false)];
        while let Some((at, gps)) = wanted.pop() {
            if at == 0 || !self.seen.insert(at) {
                continue;
            }
            let Some(count) = self.short(bytes, at).map(usize::from) else {
                continue;
            };
            self.entries += count;
            if self.entries > PARTS {
                return not("it has too many marks");
            }
            let end = at + 2 + 12 * count;
            let table = at..(end + 4).min(bytes.len());
            if gps {
                self.gone.push(at..end.min(bytes.len()));
                self.positions(bytes, at, count)?;
                continue;
            }
            self.kept.push(table);
            self.directory(bytes, at, count, &mut wanted)?;
            wanted.push((self.long(bytes, end).unwrap_or(0), false));
        }
        Ok(())
    }

    fn positions(&mut self, bytes: &[u8], at: usize, count: usize) -> Result<(), NotTaken> {
        for number in 0..count {
            if let Some(field) = self.field(bytes, at + 2 + 12 * number)?
                && !field.own
            {
                self.gone.push(field.value);
            }
        }
        Ok(())
    }

    fn directory(
        &mut self,
        bytes: &[u8],
        at: usize,
        count: usize,
        wanted: &mut Vec<(usize, bool)>,
    ) -> Result<(), NotTaken> {
        let mut fields = Vec::new();
        for number in 0..count {
            let entry = at + 2 + 12 * number;
            let tag = self.short(bytes, entry);
            if tag == Some(GPS) {
                let inner = match self.short(bytes, entry + 2) {
                    Some(3) => self.short(bytes, entry + 8).map(usize::from),
                    _ => self.long(bytes, entry + 8),
                };
                let inner = inner.unwrap_or(0);
                if self.seen.contains(&inner)
                    && inner != 0
                    && !self.gone.iter().any(|one| one.start == inner)
                {
                    return not("its directories run into each other");
                }
                wanted.push((inner, true));
                self.goes.push((at, number));
                continue;
            }
            let field = match self.field(bytes, entry) {
                // Of another field it need not be known how long it is.
                Err(_) if !tag.is_some_and(|tag| ON_THE_GROUND.contains(&tag)) => continue,
                field => field?,
            };
            let Some(field) = field else { continue };
            if ON_THE_GROUND.contains(&field.tag) {
                self.goes.push((at, number));
                if !field.own {
                    self.gone.push(field.value);
                }
                continue;
            }
            if INNER.contains(&field.tag) {
                let all = self.numbers(bytes, &field)?;
                wanted.extend(all.into_iter().map(|inner| (inner, false)));
            }
            if matches!(field.tag, XMP | RESOURCES) {
                self.inner.push((field.tag, field.value.clone()));
            }
            if matches!(field.kind, 2 | 7) || field.tag == MAKERS {
                self.texts.push(field.value.clone());
            }
            if !field.own {
                self.kept.push(field.value.clone());
            }
            fields.push(field);
        }
        let of = |tag: u16| fields.iter().find(|field| field.tag == tag);
        for (starts, sizes) in IMAGE.into_iter().chain([SMALL]) {
            let Some((starts, sizes)) = of(starts).zip(of(sizes)) else {
                continue;
            };
            let is_small = starts.tag == SMALL.0;
            let sizes = self.numbers(bytes, sizes)?;
            let starts = self.numbers(bytes, starts)?;
            for (start, size) in starts.into_iter().zip(sizes) {
                let range = start.min(bytes.len())..start.saturating_add(size).min(bytes.len());
                if is_small {
                    self.inner.push((SMALL.0, range.clone()));
                }
                self.kept.push(range);
            }
        }
        Ok(())
    }

    /// The field of an entry; nothing where the file ends before.
    fn field(&self, bytes: &[u8], entry: usize) -> Result<Option<Field>, NotTaken> {
        let (Some(tag), Some(kind), Some(count)) = (
            self.short(bytes, entry),
            self.short(bytes, entry + 2),
            self.long(bytes, entry + 4),
        ) else {
            return Ok(None);
        };
        let Some(at) = self.long(bytes, entry + 8) else {
            return Ok(None);
        };
        let one: usize = match kind {
            1 | 2 | 6 | 7 => 1,
            3 | 8 => 2,
            4 | 9 | 11 | 13 => 4,
            5 | 10 | 12 => 8,
            _ if count == 0 => 0,
            _ => return not("a field of it is of a sort that is not known"),
        };
        let size = one.saturating_mul(count);
        let own = size <= 4;
        let start = if own { entry + 8 } else { at };
        let start = start.min(bytes.len());
        Ok(Some(Field {
            tag,
            kind,
            count,
            value: start..start.saturating_add(size).min(bytes.len()),
            own,
        }))
    }

    /// The whole numbers of a field.
    fn numbers(&mut self, bytes: &[u8], field: &Field) -> Result<Vec<usize>, NotTaken> {
        let width = if field.kind == 3 { 2 } else { 4 };
        let count = field.count.min(field.value.len() / width);
        self.told += count;
        if self.told > MOST_TOLD {
            return not("it has too many marks");
        }
        let number = |number: usize| {
            let at = field.value.start + number * width;
            match width {
                2 => self.short(bytes, at).map(usize::from),
                _ => self.long(bytes, at),
            }
        };
        Ok((0..count).filter_map(number).collect())
    }

    /// Overwrites what goes, and closes the gaps in the directories.
    fn take_out(&mut self, bytes: &mut [u8]) -> Result<(), NotTaken> {
        self.kept.sort_by_key(|range| range.start);
        // The furthest that anything kept reaches, up to each.
        let mut reach = 0;
        let reaches: Vec<usize> = self
            .kept
            .iter()
            .map(|range| {
                reach = reach.max(range.end);
                reach
            })
            .collect();
        for gone in &self.gone {
            let before = self.kept.partition_point(|kept| kept.start < gone.end);
            let meets = before
                .checked_sub(1)
                .is_some_and(|last| reaches[last] > gone.start);
            if meets && !gone.is_empty() {
                return not("its position runs into something else");
            }
        }
        for gone in &self.gone {
            bytes[gone.clone()].fill(0);
        }
        // The later entries first, so that the numbers of the others stay.
        self.goes.sort_unstable();
        for (at, number) in self.goes.iter().rev() {
            let Some(count) = self.short(bytes, *at) else {
                continue;
            };
            let entry = at + 2 + 12 * number;
            let end = (at + 2 + 12 * usize::from(count) + 4).min(bytes.len());
            if entry + 12 > end {
                bytes[entry.min(end)..end].fill(0);
                continue;
            }
            bytes.copy_within(entry + 12..end, entry);
            bytes[end - 12..end].fill(0);
            let less = count.saturating_sub(1);
            bytes[*at..at + 2].copy_from_slice(&match self.big {
                true => less.to_be_bytes(),
                false => less.to_le_bytes(),
            });
        }
        Ok(())
    }
}
