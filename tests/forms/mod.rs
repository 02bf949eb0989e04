//! Picture files put together by hand from the published standards.

#![allow(dead_code)]

// Field types of TIFF 6.0, section 2 (from memory).
pub const ASCII: u16 = 2;
pub const SHORT: u16 = 3;
pub const LONG: u16 = 4;
pub const RATIONAL: u16 = 5;

// Tags of Exif 2.3, CIPA DC-008-2012, sections 4.6.3 to 4.6.6 (numbers checked against the
// published tag tables of another reader of the format).
pub const ORIENTATION: u16 = 0x0112;
pub const EXIF_IFD: u16 = 0x8769;
pub const GPS_IFD: u16 = 0x8825;
pub const DATE_TIME: u16 = 0x0132;
pub const DATE_TIME_ORIGINAL: u16 = 0x9003;
pub const DATE_TIME_DIGITIZED: u16 = 0x9004;
pub const LATITUDE_REF: u16 = 1;
pub const LATITUDE: u16 = 2;
pub const LONGITUDE: u16 = 4;

#[derive(Clone, Copy)]
pub enum Order {
    Little,
    Big,
}

impl Order {
    pub fn short(self, number: u16) -> Vec<u8> {
        match self {
            Self::Little => number.to_le_bytes().to_vec(),
            Self::Big => number.to_be_bytes().to_vec(),
        }
    }

    pub fn long(self, number: u32) -> Vec<u8> {
        match self {
            Self::Little => number.to_le_bytes().to_vec(),
            Self::Big => number.to_be_bytes().to_vec(),
        }
    }

    pub fn rationals(self, parts: &[(u32, u32)]) -> Vec<u8> {
        let parts = parts.iter().flat_map(|(num, denom)| [*num, *denom]);
        parts.flat_map(|part| self.long(part)).collect()
    }
}

/// A field: tag, type, how many, and its value.
pub type Field = (u16, u16, u32, Vec<u8>);

pub fn day(tag: u16, text: &str) -> Field {
    let value = format!("{text}\0").into_bytes();
    (tag, ASCII, value.len() as u32, value)
}

/// A directory that begins at an offset, with the values behind it that are longer than
/// four bytes.
pub fn directory(order: Order, at: usize, fields: &[Field]) -> Vec<u8> {
    let mut own = order.short(fields.len() as u16);
    let mut values = Vec::new();
    let behind = at + 2 + 12 * fields.len() + 4;
    for (tag, kind, count, value) in fields {
        own.extend(order.short(*tag));
        own.extend(order.short(*kind));
        own.extend(order.long(*count));
        if value.len() <= 4 {
            own.extend(value);
            own.extend(vec![0; 4 - value.len()]);
        } else {
            own.extend(order.long((behind + values.len()) as u32));
            values.extend(value);
            values.extend(vec![0; value.len() % 2]);
        }
    }
    own.extend(order.long(0));
    own.extend(values);
    own
}

/// The TIFF structure that EXIF is: header, first directory, and the two that hang on it.
pub fn exif(order: Order, first: &[Field], own: &[Field], gps: &[Field]) -> Vec<u8> {
    let mut marks = match order {
        Order::Little => b"II*\0".to_vec(),
        Order::Big => b"MM\0*".to_vec(),
    };
    marks.extend(order.long(8));
    let mut first = first.to_vec();
    let pointers = [(EXIF_IFD, own), (GPS_IFD, gps)];
    let pointers = pointers.iter().filter(|(_, fields)| !fields.is_empty());
    let pointers: Vec<_> = pointers.collect();
    for (tag, _) in &pointers {
        first.push((*tag, LONG, 1, order.long(0)));
    }
    let mut at = 8 + directory(order, 8, &first).len();
    let mut others = Vec::new();
    for (tag, fields) in pointers {
        let pointer = first.iter_mut().find(|field| field.0 == *tag).unwrap();
        pointer.3 = order.long(at as u32);
        let held = directory(order, at, fields);
        at += held.len();
        others.extend(held);
    }
    marks.extend(directory(order, 8, &first));
    marks.extend(others);
    marks
}

/// Taken on 2026-03-01, somewhere, and to be turned a quarter.
pub fn whole(order: Order) -> Vec<u8> {
    exif(
        order,
        &[(ORIENTATION, SHORT, 1, order.short(6))],
        &[day(DATE_TIME_ORIGINAL, "2026:03:01 20:15:00")],
        &[
            (LATITUDE_REF, ASCII, 2, b"N\0".to_vec()),
            (
                LATITUDE,
                RATIONAL,
                3,
                order.rationals(&[(12, 1), (34, 1), (567, 10)]),
            ),
        ],
    )
}

/// JPEG: SOI, an APP0 of JFIF, what is given, then the scan (Exif 2.3, section 4.5.4 and
/// 4.7; ITU-T T.81 annex B, from memory).
pub fn jpeg(segments: &[(u8, &[u8])]) -> Vec<u8> {
    let mut file = vec![0xff, 0xd8];
    let jfif: &[u8] = b"JFIF\0\x01\x02\0\0\x01\0\x01\0\0";
    for (code, held) in std::iter::once(&(0xe0, jfif)).chain(segments) {
        file.extend([0xff, 0xff, *code]);
        file.extend((held.len() as u16 + 2).to_be_bytes());
        file.extend(*held);
    }
    file.extend(b"\xff\xda\0\x0c\x03\x01\0\x02\x11\x03\x11\0\x3f\0 scan \xff\0 scan \xff\xd9");
    file
}

pub fn app1(marks: &[u8]) -> Vec<u8> {
    [b"Exif\0\0", marks].concat()
}

pub fn chunk(name: &[u8; 4], held: &[u8]) -> Vec<u8> {
    // The check sum is not looked at.
    [&(held.len() as u32).to_be_bytes(), &name[..], held, b"sum!"].concat()
}

/// PNG with chunks between header and image (PNG third edition, section 5; the `eXIf` chunk
/// as in the extension's proposal of 2017-03-03: the EXIF without its code).
pub fn png(chunks: &[Vec<u8>]) -> Vec<u8> {
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    file.extend(chunk(b"IHDR", b"\0\0\0\x01\0\0\0\x01\x08\0\0\0\0"));
    file.extend(chunk(b"IDAT", b"image"));
    file.extend(chunks.concat());
    file.extend(chunk(b"IEND", b""));
    file
}

/// WebP: RIFF chunks, padded to an even length, the metadata behind the image (RFC 9649,
/// section 2.7, from memory).
pub fn webp(name: &[u8; 4], held: &[u8]) -> Vec<u8> {
    let mut inner = b"WEBP".to_vec();
    for (name, held) in [
        (b"VP8X", &b"\x08\0\0\0\0\0\0\0\0\0"[..]),
        (b"VP8 ", b"odd"),
        (name, held),
    ] {
        inner.extend(name);
        inner.extend((held.len() as u32).to_le_bytes());
        inner.extend(held);
        inner.extend(vec![0; held.len() % 2]);
    }
    [b"RIFF", &(inner.len() as u32).to_le_bytes()[..], &inner].concat()
}

pub fn boxed(name: &[u8; 4], held: &[u8]) -> Vec<u8> {
    [&(held.len() as u32 + 8).to_be_bytes(), &name[..], held].concat()
}

/// HEIF: the file type, the item list with one item of type `Exif`, where it lies, and the
/// item with the length of what stands before its EXIF in front (ISO/IEC 14496-12 and
/// 23008-12 annex A, from memory).
pub fn heif(marks: &[u8]) -> Vec<u8> {
    let item = [&[0, 0, 0, 6][..], b"Exif\0\0", marks].concat();
    let entry = boxed(b"infe", b"\x02\0\0\0\0\x01\0\0Exif\0");
    let list = boxed(b"iinf", &[&[0, 0, 0, 0, 0, 1], &entry[..]].concat());
    let kind = boxed(b"ftyp", b"mif1\0\0\0\0mif1heic");
    let meta = |at: u32| {
        let place = [
            &b"\0\0\0\0\x44\0\0\x01\0\x01\0\0\0\x01"[..],
            &at.to_be_bytes(),
            &(item.len() as u32).to_be_bytes(),
        ];
        let place = boxed(b"iloc", &place.concat());
        boxed(b"meta", &[&[0; 4][..], &list, &place].concat())
    };
    let at = kind.len() + meta(0).len() + 8;
    [kind, meta(at as u32), boxed(b"mdat", &item)].concat()
}
