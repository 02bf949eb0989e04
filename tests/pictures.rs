//! What is read from pictures, in files put together by hand from the published standards.
//!
//! Where a standard was not seen itself, the check says so.

#![allow(clippy::disallowed_methods)]

mod forms;

use std::io::{self, BufRead, Cursor, Read, Seek, SeekFrom};

use forms::{
    ASCII, DATE_TIME, DATE_TIME_DIGITIZED, DATE_TIME_ORIGINAL, Field, LATITUDE, LONGITUDE,
    ORIENTATION, Order, RATIONAL, SHORT, app1, chunk, day, exif, heif, jpeg, png, webp, whole,
};
use jiff::civil::date;
use matchmark::picture::{self, Picture, Stored};
use proptest::prelude::*;

fn told(file: &[u8]) -> (Option<jiff::civil::Date>, bool, Option<u8>) {
    let picture = Picture::of_bytes(file);
    (picture.taken, picture.position, picture.orientation)
}

const ALL: (Option<jiff::civil::Date>, bool, Option<u8>) = (Some(date(2026, 3, 1)), true, Some(6));
const NOTHING: (Option<jiff::civil::Date>, bool, Option<u8>) = (None, false, None);

/// A file of each form that holds all three.
fn one_of_each() -> Vec<(&'static str, Vec<u8>)> {
    let (little, big) = (whole(Order::Little), whole(Order::Big));
    vec![
        ("jpeg", jpeg(&[(0xe1, &app1(&little))])),
        (
            "jpeg, big-endian",
            jpeg(&[(0xfe, b"a comment"), (0xe1, &app1(&big))]),
        ),
        (
            "png",
            png(&[chunk(b"tEXt", b"Title\0x"), chunk(b"eXIf", &little)]),
        ),
        ("png, with the code", png(&[chunk(b"eXIf", &app1(&big))])),
        ("webp", webp(b"EXIF", &little)),
        ("webp, with the code", webp(b"EXIF", &app1(&big))),
        ("tiff", little.clone()),
        ("heif", heif(&big)),
    ]
}

#[test]
fn day_position_and_orientation_are_read_from_each_form() {
    for (form, file) in one_of_each() {
        assert_eq!(told(&file), ALL, "{form}");
        let picture = Picture::of_bytes(&file);
        assert_eq!(picture.stored, Stored::Whole);
        assert_eq!(picture.bytes, Some(file.len() as u64));
    }
    for file in [jpeg(&[]), png(&[]), webp(b"ICCP", b""), b"GIF89a".to_vec()] {
        assert_eq!(told(&file), NOTHING);
    }
}

#[test]
fn each_of_the_eight_orientations_and_no_other() {
    for number in 0..12 {
        let order = Order::Little;
        let fields = [(ORIENTATION, SHORT, 1, order.short(number))];
        let (_, _, read) = told(&exif(order, &fields, &[], &[]));
        let counts = (1..=8).contains(&number);
        assert_eq!(read, counts.then_some(number as u8));
    }
}

#[test]
fn the_day_is_that_of_the_picture_and_not_of_its_last_change() {
    let read = |first: &[Field], own: &[Field]| told(&exif(Order::Big, first, own, &[])).0;
    let changed = day(DATE_TIME, "2026:03:09 08:00:00");
    let scanned = day(DATE_TIME_DIGITIZED, "2026:03:02 08:00:00");
    let taken = day(DATE_TIME_ORIGINAL, "2026:03:01 23:59:59");
    assert_eq!(read(std::slice::from_ref(&changed), &[]), None);
    let both = [taken, scanned.clone()];
    assert_eq!(read(&[changed], &both), Some(date(2026, 3, 1)));
    assert_eq!(read(&[], &[scanned]), Some(date(2026, 3, 2)));
    // A clock that was never set.
    for unset in [
        "    :  :     :  :  ",
        "0000:00:00 00:00:00",
        "2026:13:01 00:00:00",
        "2026",
    ] {
        assert_eq!(
            read(&[], &[day(DATE_TIME_ORIGINAL, unset)]),
            None,
            "{unset}"
        );
    }
}

#[test]
fn a_position_is_one_that_leads_somewhere() {
    let order = Order::Little;
    let read = |gps: &[Field]| told(&exif(order, &[], &[], gps)).1;
    let at =
        |tag, parts: &[(u32, u32)]| (tag, RATIONAL, parts.len() as u32, order.rationals(parts));
    assert!(read(&[at(LONGITUDE, &[(0, 1), (7, 1), (0, 1)])]));
    // No satellites were found: nought, or no number at all.
    assert!(!read(&[
        at(LATITUDE, &[(0, 1); 3]),
        at(LONGITUDE, &[(0, 1); 3])
    ]));
    assert!(!read(&[at(LATITUDE, &[(0, 0); 3])]));
    assert!(!read(&[(0, 1, 4, vec![2, 3, 0, 0])]));
    // XMP, part 2, the EXIF schema (from memory): the same in words.
    let words = br#"<rdf:Description exif:GPSLatitude="12,34.5N" exif:GPSLongitude="1,2.3E"/>"#;
    let xmp = [b"http://ns.adobe.com/xap/1.0/\0", &words[..]].concat();
    assert!(told(&jpeg(&[(0xe1, &xmp)])).1);
    assert!(told(&webp(b"XMP ", words)).1);
    let text = [b"XML:com.adobe.xmp\0\0\0\0\0", &words[..]].concat();
    assert!(told(&png(&[chunk(b"iTXt", &text)])).1);
    assert!(
        !told(&png(&[chunk(
            b"iTXt",
            b"Comment\0\0\0\0\0exif:GPSLatitude"
        )]))
        .1
    );
}

/// A field that leads out of the file is lost, and no other.
#[test]
fn one_odd_field_loses_no_other() {
    let order = Order::Little;
    let odd = (0x010e, ASCII, 9999, b"long".repeat(4));
    let fields = [odd, (ORIENTATION, SHORT, 1, order.short(8))];
    let own = [day(DATE_TIME_ORIGINAL, "2026:03:01 20:15:00")];
    let read = told(&exif(order, &fields, &own, &[]));
    assert_eq!(read, (Some(date(2026, 3, 1)), false, Some(8)));
}

/// FIPS 180-4; the vectors are those of NIST's "SHA256" examples and of the Secure Hash
/// Standard's appendix B of 2002 (from memory; `sha256sum` agrees).
#[test]
fn hashes_are_those_of_the_standard() {
    let hash = |bytes: &[u8]| picture::sha256(bytes).unwrap();
    assert_eq!(
        hash(b"abc"),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
    assert_eq!(
        hash(b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"
    );
    assert_eq!(
        hash(&vec![b'a'; 1_000_000]),
        "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"
    );
    assert_eq!(
        hash(b""),
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    );
    assert_eq!(Picture::of_bytes(b"abc").sha256, Some(hash(b"abc")));
}

/// The pointer of the specification, docs/spec.md of git-lfs.
#[test]
fn a_pointer_stands_for_its_picture() {
    const OID: &str = "4d7a214614ab2935c943f9e0ff69d22eadbb8f32b1258daaa5e2ca24d17e2393";
    let text = |version: &str, rest: &str| format!("version https://{version}\n{rest}");
    let usual = format!("oid sha256:{OID}\nsize 12345\n");
    let first = "git-lfs.github.com/spec/v1";
    let more = format!("ext-0-foo sha256:{OID}\n{usual}");
    for pointer in [
        text(first, &usual),
        text("hawser.github.com/spec/v1", &usual),
        // Keys that nobody here knows.
        text(first, &more),
    ] {
        let picture = Picture::of_bytes(pointer.as_bytes());
        assert_eq!(picture.stored, Stored::LargeFile, "{pointer}");
        assert_eq!(picture.bytes, Some(12345));
        assert_eq!(picture.sha256.as_deref(), Some(OID));
    }
    for other in [
        text("git-lfs.github.com/spec/v2", &usual),
        text(first, &format!("oid sha256:{OID}\n")),
        text(first, "size 12345\n"),
        text(first, &format!("oid md5:{OID}\nsize 12345\n")),
        text(first, &format!("oid sha256:{}\nsize 12345\n", &OID[1..])),
        text(first, &format!("oid sha256:{OID}\nsize -1\n")),
        format!("{}{}", text(first, &usual), " ".repeat(1024)),
        usual.clone(),
    ] {
        let picture = Picture::of_bytes(other.as_bytes());
        assert_eq!(picture.stored, Stored::Whole, "{other}");
        assert_eq!(picture.bytes, Some(other.len() as u64));
    }
}

/// A file with no end: a beginning, and then one byte over and over. Counts what is read.
struct Endless {
    beginning: Vec<u8>,
    filler: u8,
    at: u64,
    read: u64,
    buffer: [u8; 4096],
}

const LENGTH: u64 = 1 << 40;

impl Endless {
    fn of(beginning: &[u8], filler: u8) -> Self {
        Self {
            beginning: beginning.to_vec(),
            filler,
            at: 0,
            read: 0,
            buffer: [0; 4096],
        }
    }
}

impl Read for Endless {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let held = self.fill_buf()?;
        let length = held.len().min(into.len());
        into[..length].copy_from_slice(&held[..length]);
        self.consume(length);
        Ok(length)
    }
}

impl BufRead for Endless {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        let left = LENGTH.saturating_sub(self.at).min(4096) as usize;
        self.buffer.fill(self.filler);
        let at = usize::try_from(self.at).unwrap();
        if let Some(left) = self.beginning.get(at..) {
            let length = left.len().min(4096);
            self.buffer[..length].copy_from_slice(&left[..length]);
        }
        Ok(&self.buffer[..left])
    }

    fn consume(&mut self, length: usize) {
        self.at += length as u64;
        self.read += length as u64;
    }
}

impl Seek for Endless {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let to = match to {
            SeekFrom::Start(at) => Some(at),
            SeekFrom::Current(way) => self.at.checked_add_signed(way),
            SeekFrom::End(way) => LENGTH.checked_add_signed(way),
        };
        self.at = to.ok_or(io::ErrorKind::InvalidInput)?;
        Ok(self.at)
    }
}

/// However long a file is, and its parts say they are, little of it is read.
#[test]
fn files_without_end_are_left() {
    let longest = [0xff; 4];
    let png = b"\x89PNG\r\n\x1a\n";
    let beginnings: [(&str, Vec<u8>, u64); 8] = [
        ("jpeg", vec![0xff, 0xd8], 1 << 20),
        (
            "jpeg segments",
            b"\xff\xd8\xff\xe1\0\x02".repeat(40_000),
            1 << 20,
        ),
        ("png chunk", [png, &longest[..], b"eXIf"].concat(), 4 << 20),
        ("png chunks", png.to_vec(), 4 << 20),
        (
            "webp chunk",
            [b"RIFF", &longest[..], b"WEBPEXIF", &longest].concat(),
            4 << 20,
        ),
        ("webp chunks", b"RIFF\0\0\0\0WEBP".to_vec(), 4 << 20),
        (
            "tiff",
            b"MM\0*\0\0\0\x08\xff\xff".to_vec(),
            (64 << 20) + 100,
        ),
        (
            "heif",
            b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic\0\0\0\x01meta".to_vec(),
            1 << 20,
        ),
    ];
    for (form, beginning, most) in beginnings {
        for filler in [0x00, 0xff] {
            let mut file = Endless::of(&beginning, filler);
            let mut picture = Picture::default();
            picture.look_into(&mut file);
            assert!(file.read <= most, "{form}, {filler}: {} read", file.read);
            assert!(!picture.position, "{form}");
        }
    }
}

#[test]
fn pictures_that_end_anywhere_are_read_as_far_as_they_go() {
    for (form, file) in one_of_each() {
        let mut all = 0;
        for end in 0..file.len() {
            let (day, position, orientation) = told(&file[..end]);
            assert!(day.is_none() || day == ALL.0, "{form}: {end}");
            assert!(
                orientation.is_none() || orientation == ALL.2,
                "{form}: {end}"
            );
            all += usize::from((day, position, orientation) == ALL);
        }
        // The image behind the marks, or its check sums, may be gone.
        let behind = matches!(
            form,
            "jpeg" | "jpeg, big-endian" | "png" | "png, with the code"
        );
        assert!(all > 0 || !behind, "{form}");
    }
}

proptest! {
    #[test]
    fn no_bytes_panic(number in 0..9_usize, mut bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        let heads: [&[u8]; 9] = [
            b"", b"\xff\xd8\xff\xe1\0\xffExif\0\0II*\0\x08\0\0\0", b"\x89PNG\r\n\x1a\n",
            b"RIFF\xff\0\0\0WEBP", b"II*\0\x08\0\0\0", b"MM\0*\0\0\0\x08",
            b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic\0\0\x01\0meta\0\0\0\0",
            b"version https://git-lfs.github.com/spec/v1\n", b"\xff\xd8",
        ];
        bytes.splice(0..0, heads[number].iter().copied());
        let picture = Picture::of_bytes(&bytes);
        prop_assert!(picture.orientation.is_none_or(|number| (1..=8).contains(&number)));
    }

    /// A picture in which some bytes are others.
    #[test]
    fn no_damage_panics(
        number in 0..8_usize,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8),
    ) {
        let (_, mut file) = one_of_each().swap_remove(number);
        for (at, byte) in changes {
            let at = at.index(file.len());
            file[at] = byte;
        }
        let mut picture = Picture::default();
        picture.look_into(&mut Cursor::new(&file));
        prop_assert!(picture.orientation.is_none_or(|number| (1..=8).contains(&number)));
    }
}
