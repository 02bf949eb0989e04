//! A picture: what its bytes tell of it, and what stands for it in large-file storage.
//!
//! Nothing is drawn or measured here. A picture may come from anywhere and may end
//! anywhere: what can't be read of it is not known, and the rest is. However long its
//! parts say they are, no more is held at once than the limits below.

pub mod named;
pub mod position;

use std::fmt::Write;
use std::io::{self, BufRead, Read, Seek, SeekFrom};

use exif::{DateTime, Exif, In, Reader, Tag, Value};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// The largest file that is looked into, or held.
pub const LARGEST: u64 = 64 << 20;
/// How much of one part of a file is read.
const PART: u64 = 1 << 20;
/// How many parts of a file are gone through.
const PARTS: usize = 10_000;
/// A pointer is shorter than this (the specification's reader takes the first 100 bytes;
/// the limit is common practice, no source).
pub const LONGEST_POINTER: usize = 1024;

/// A picture file, as far as it is known.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Picture {
    /// From the build folder; empty while only what is in it is spoken of.
    pub file: String,
    /// How large it is; where something stands for it, the picture itself.
    pub bytes: Option<u64>,
    /// How it is there.
    pub stored: Stored,
    /// The SHA-256 of the picture, in hexadecimal.
    pub sha256: Option<String>,
    /// The day it was taken, as it says itself.
    pub taken: Option<Date>,
    /// Whether it says where it was taken.
    pub position: bool,
    /// How it must be turned to stand upright: 1 to 8, as EXIF counts.
    pub orientation: Option<u8>,
}

/// How a picture is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stored {
    /// Whole.
    #[default]
    Whole,
    /// In large-file storage, whether it or its pointer lies here.
    LargeFile,
    /// A link; it is not followed.
    Link,
    /// A folder, a device or the like.
    Other,
}

impl Picture {
    /// What a file of these bytes holds, its hash with it.
    #[must_use]
    pub fn of_bytes(bytes: &[u8]) -> Self {
        if let Some(picture) = pointer(bytes) {
            return picture;
        }
        let mut picture = Self {
            bytes: Some(bytes.len() as u64),
            sha256: sha256(bytes).ok(),
            ..Self::default()
        };
        picture.look_into(&mut io::Cursor::new(bytes));
        picture
    }

    /// A file of this size that is not looked into.
    #[must_use]
    pub fn of_size(bytes: u64) -> Self {
        Self {
            bytes: Some(bytes),
            ..Self::default()
        }
    }

    /// What lies at a picture's place and is no file.
    #[must_use]
    pub fn no_file(stored: Stored) -> Self {
        Self {
            stored,
            ..Self::default()
        }
    }

    /// Takes up what the picture's own marks tell: day, position, orientation.
    pub fn look_into<R: BufRead + Seek>(&mut self, file: &mut R) {
        let marks = Marks::of(file);
        if let Some(exif) = marks.exif.and_then(read_exif) {
            self.taken = [Tag::DateTimeOriginal, Tag::DateTimeDigitized]
                .into_iter()
                .find_map(|tag| day(&exif, tag));
            self.orientation = exif
                .get_field(Tag::Orientation, In::PRIMARY)
                .and_then(|field| field.value.get_uint(0))
                .and_then(|number| u8::try_from(number).ok())
                .filter(|number| (1..=8).contains(number));
            self.position = [Tag::GPSLatitude, Tag::GPSLongitude]
                .into_iter()
                .any(|tag| is_somewhere(&exif, tag));
        }
        self.position |= marks.xmp.is_some_and(|text| {
            let key = b"exif:GPSLatitude";
            text.windows(key.len()).any(|window| window == key)
        });
    }

    /// The same, as this file.
    #[must_use]
    pub fn at(mut self, file: &str) -> Self {
        file.clone_into(&mut self.file);
        self
    }
}

/// The SHA-256 of all that follows, in hexadecimal.
///
/// # Errors
/// When it can't be read.
pub fn sha256(mut file: impl Read) -> io::Result<String> {
    let mut hasher = Sha256::new();
    let mut part = vec![0; 1 << 16];
    loop {
        match file.read(&mut part) {
            Ok(0) => break,
            Ok(length) => hasher.update(&part[..length]),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    let mut text = String::with_capacity(64);
    for byte in hasher.finalize() {
        let _ = write!(text, "{byte:02x}");
    }
    Ok(text)
}

/// The picture that a pointer of large-file storage stands for, if these bytes are one.
#[must_use]
pub fn pointer(bytes: &[u8]) -> Option<Picture> {
    // The second is what the format was called before its first edition.
    const VERSIONS: [&str; 2] = [
        "version https://git-lfs.github.com/spec/v1",
        "version https://hawser.github.com/spec/v1",
    ];
    if bytes.len() >= LONGEST_POINTER {
        return None;
    }
    let mut lines = std::str::from_utf8(bytes).ok()?.lines();
    if !VERSIONS.contains(&lines.next()?) {
        return None;
    }
    let mut picture = Picture {
        stored: Stored::LargeFile,
        ..Picture::default()
    };
    for line in lines {
        match line.split_once(' ')? {
            ("oid", name) => {
                let hash = name.strip_prefix("sha256:")?;
                let digits = |digit| matches!(digit, b'0'..=b'9' | b'a'..=b'f');
                if hash.len() != 64 || !hash.bytes().all(digits) {
                    return None;
                }
                picture.sha256 = Some(hash.to_owned());
            }
            ("size", size) => picture.bytes = Some(size.parse().ok()?),
            _ => {}
        }
    }
    (picture.sha256.is_some() && picture.bytes.is_some()).then_some(picture)
}

fn read_exif(marks: Vec<u8>) -> Option<Exif> {
    let mut reader = Reader::new();
    reader.continue_on_error(true);
    // One odd field must not lose the others.
    reader
        .read_raw(marks)
        .or_else(|error| error.distill_partial_result(|_| ()))
        .ok()
}

fn day(exif: &Exif, tag: Tag) -> Option<Date> {
    let Value::Ascii(texts) = &exif.get_field(tag, In::PRIMARY)?.value else {
        return None;
    };
    let time = DateTime::from_ascii(texts.first()?).ok()?;
    Date::new(
        i16::try_from(time.year).ok()?,
        i8::try_from(time.month).ok()?,
        i8::try_from(time.day).ok()?,
    )
    .ok()
}

/// Whether a degree is given that leads somewhere: a camera that found no satellites
/// leaves it empty, or writes nought.
fn is_somewhere(exif: &Exif, tag: Tag) -> bool {
    match exif.get_field(tag, In::PRIMARY).map(|field| &field.value) {
        Some(Value::Rational(parts)) => parts.iter().any(|one| one.num != 0 && one.denom != 0),
        Some(Value::SRational(parts)) => parts.iter().any(|one| one.num != 0 && one.denom != 0),
        _ => false,
    }
}

/// The parts of a picture file that tell of the picture.
#[derive(Debug, Default)]
struct Marks {
    exif: Option<Vec<u8>>,
    xmp: Option<Vec<u8>>,
}

/// What stands before the EXIF of a JPEG, and by a wide-spread slip in other files too.
const EXIF_CODE: &[u8] = b"Exif\0\0";
const XMP_CODE: &[u8] = b"http://ns.adobe.com/xap/1.0/\0";
const XMP_KEYWORD: &[u8] = b"XML:com.adobe.xmp\0";

impl Marks {
    fn of<R: BufRead + Seek>(file: &mut R) -> Self {
        let mut marks = Self::default();
        // A file that ends too early has told what it has told.
        let _ = marks.gather(file);
        marks
    }

    fn gather<R: BufRead + Seek>(&mut self, file: &mut R) -> io::Result<()> {
        file.rewind()?;
        let mut head = Vec::new();
        file.by_ref().take(12).read_to_end(&mut head)?;
        if head.starts_with(&[0xff, 0xd8]) {
            file.seek(SeekFrom::Start(2))?;
            self.of_jpeg(file)
        } else if head.starts_with(b"\x89PNG\r\n\x1a\n") {
            file.seek(SeekFrom::Start(8))?;
            self.of_png(file)
        } else if head.starts_with(b"RIFF") && head.ends_with(b"WEBP") {
            self.of_webp(file)
        } else if head.starts_with(b"II*\0") || head.starts_with(b"MM\0*") {
            // A TIFF file is what EXIF is made of, with its parts anywhere.
            file.rewind()?;
            let mut whole = Vec::new();
            file.by_ref().take(LARGEST).read_to_end(&mut whole)?;
            self.exif = Some(whole);
            Ok(())
        } else if head.get(4..8) == Some(b"ftyp") && file.seek(SeekFrom::End(0))? <= LARGEST {
            file.rewind()?;
            let mut reader = Reader::new();
            reader.continue_on_error(true);
            let read = reader.read_from_container(file);
            let read = read.or_else(|error| error.distill_partial_result(|_| ()));
            self.exif = read.ok().map(|exif| exif.buf().to_vec());
            Ok(())
        } else {
            Ok(())
        }
    }

    /// Goes through the segments before the image itself.
    fn of_jpeg<R: BufRead + Seek>(&mut self, file: &mut R) -> io::Result<()> {
        for _ in 0..PARTS {
            let [mark, code] = next(file)?;
            match code {
                _ if mark != 0xff => break,
                // Marks may be led in by any number of these.
                0xff => {
                    file.seek_relative(-1)?;
                    continue;
                }
                0x01 | 0xd0..=0xd8 => continue,
                // The image, or the end.
                0xd9 | 0xda => break,
                _ => {}
            }
            let Some(size) = u16::from_be_bytes(next(file)?).checked_sub(2) else {
                break;
            };
            if code != 0xe1 {
                file.seek_relative(size.into())?;
                continue;
            }
            let part = part(file, size.into())?;
            if let Some(exif) = part.strip_prefix(EXIF_CODE) {
                self.exif.get_or_insert_with(|| exif.to_vec());
            } else if let Some(xmp) = part.strip_prefix(XMP_CODE) {
                self.xmp.get_or_insert_with(|| xmp.to_vec());
            }
        }
        Ok(())
    }

    fn of_png<R: BufRead + Seek>(&mut self, file: &mut R) -> io::Result<()> {
        for _ in 0..PARTS {
            let size = u32::from_be_bytes(next(file)?);
            match &next(file)? {
                b"IEND" => break,
                b"eXIf" => self.exif = Some(without_code(part(file, size)?)),
                b"iTXt" => {
                    let text = part(file, size)?;
                    if text.starts_with(XMP_KEYWORD) {
                        self.xmp = Some(text);
                    }
                }
                _ => file.seek_relative(size.into())?,
            }
            // Its check sum.
            file.seek_relative(4)?;
        }
        Ok(())
    }

    fn of_webp<R: BufRead + Seek>(&mut self, file: &mut R) -> io::Result<()> {
        for _ in 0..PARTS {
            let name: [u8; 4] = next(file)?;
            let size = u32::from_le_bytes(next(file)?);
            match &name {
                b"EXIF" => self.exif = Some(without_code(part(file, size)?)),
                b"XMP " => self.xmp = Some(part(file, size)?),
                _ => file.seek_relative(size.into())?,
            }
            file.seek_relative((size % 2).into())?;
        }
        Ok(())
    }
}

fn next<const SIZE: usize>(file: &mut impl Read) -> io::Result<[u8; SIZE]> {
    let mut bytes = [0; SIZE];
    file.read_exact(&mut bytes)?;
    Ok(bytes)
}

/// A part of this size, or its beginning; the file stands behind it then.
fn part<R: BufRead + Seek>(file: &mut R, size: u32) -> io::Result<Vec<u8>> {
    let size = u64::from(size);
    let mut bytes = Vec::new();
    file.by_ref().take(size.min(PART)).read_to_end(&mut bytes)?;
    if size > PART {
        file.seek_relative((size - PART).cast_signed())?;
    }
    Ok(bytes)
}

fn without_code(mut marks: Vec<u8>) -> Vec<u8> {
    if marks.starts_with(EXIF_CODE) {
        marks.drain(..EXIF_CODE.len());
    }
    marks
}
