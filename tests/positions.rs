//! Pictures without their position: nothing of it is left in the bytes, nothing else is
//! another, and an independent reader of EXIF (kamadak-exif) still finds all other tags.

mod forms;

use std::collections::BTreeMap;
use std::io::Cursor;

use forms::{
    DATE_TIME_ORIGINAL, EXIF_IFD, Field, GPS_IFD, LATITUDE, LATITUDE_REF, LONG, LONGITUDE,
    ORIENTATION, Order, RATIONAL, SHORT, app1, boxed, chunk, day, directory, exif, heif, jpeg, png,
    webp,
};
use matchmark::picture::Picture;
use matchmark::picture::position::without_position;
use proptest::prelude::*;

/// Figures that stand nowhere else.
const PLACE: [(u32, u32); 3] = [
    (0x1a2b_3c4d, 0x0051_5253),
    (0x6162_7374, 0x0031_4159),
    (0x7778_7a7b, 3),
];

fn gps(order: Order) -> Vec<Field> {
    vec![
        (0, 1, 4, vec![2, 3, 0, 0]),
        (LATITUDE_REF, 2, 2, b"N\0".to_vec()),
        (LATITUDE, RATIONAL, 3, order.rationals(&PLACE)),
        (3, 2, 2, b"E\0".to_vec()),
        (LONGITUDE, RATIONAL, 3, order.rationals(&PLACE)),
    ]
}

fn others(order: Order) -> (Vec<Field>, Vec<Field>) {
    let maker = b"Oriel works\0".to_vec();
    (
        vec![
            (0x010f, 2, maker.len() as u32, maker),
            (ORIENTATION, SHORT, 1, order.short(6)),
        ],
        vec![
            day(DATE_TIME_ORIGINAL, "2026:03:01 20:15:00"),
            (0x829a, RATIONAL, 1, order.rationals(&[(1, 125)])),
        ],
    )
}

fn marks(order: Order) -> Vec<u8> {
    let (first, own) = others(order);
    exif(order, &first, &own, &gps(order))
}

/// What the other reader finds: directory and tag, and what stands there.
fn tags(file: &[u8]) -> BTreeMap<String, String> {
    let mut reader = exif_reader();
    reader.continue_on_error(true);
    let found = reader
        .read_from_container(&mut Cursor::new(file))
        .or_else(|error| error.distill_partial_result(|_| ()))
        .unwrap();
    let fields = found.fields();
    fields
        .map(|field| {
            (
                format!("{} {}", field.ifd_num, field.tag),
                format!("{:?}", field.value),
            )
        })
        .collect()
}

fn exif_reader() -> ::exif::Reader {
    ::exif::Reader::new()
}

fn holds(file: &[u8], wanted: &[u8]) -> bool {
    file.windows(wanted.len()).any(|window| window == wanted)
}

fn tells_nothing(form: &str, file: &[u8]) {
    for (num, denom) in PLACE {
        for bytes in [
            [num.to_le_bytes(), denom.to_le_bytes()].concat(),
            [num.to_be_bytes(), denom.to_be_bytes()].concat(),
        ] {
            assert!(!holds(file, &bytes), "{form}: the figures are still there");
        }
    }
    for word in ["GPS", "48,27", "11,35", "atitude", "ongitude"] {
        assert!(
            !holds(file, word.as_bytes()),
            "{form}: `{word}` is still there"
        );
    }
    assert!(!Picture::of_bytes(file).position, "{form}");
}

fn cleared(form: &str, file: &[u8]) -> Vec<u8> {
    let made = without_position(file).unwrap_or_else(|error| panic!("{form}: {error}"));
    let made = made.unwrap_or_else(|| panic!("{form}: nothing was found"));
    assert_eq!(made.len(), file.len(), "{form}");
    tells_nothing(form, &made);
    assert_eq!(without_position(&made), Ok(None), "{form}: once more");
    made
}

/// The XMP of a camera and of two programs, in each way that RDF allows (ISO 16684-1, 7.9,
/// from memory).
const XMP: &str = r#"<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:exif="http://ns.adobe.com/exif/1.0/" xmlns:drone="http://example.com/d/"
 exif:GPSLatitude="48,27.19N" exif:GPSLongitude = '11,35.2E' xmp:Rating="3" drone:GpsLatitude="48,27"
 drone:Label="a > b"/>
<rdf:Description rdf:about="">
<exif:GPSAltitude>48,27/1</exif:GPSAltitude><exif:GPSStatus/>
<exif:GPSSatellites><rdf:Alt><exif:GPSSatellites>11,35</exif:GPSSatellites></rdf:Alt></exif:GPSSatellites>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">bracket</rdf:li></rdf:Alt></dc:title>
</rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end="w"?>"#;

fn xmp_segment(text: &str) -> Vec<u8> {
    [b"http://ns.adobe.com/xap/1.0/\0", text.as_bytes()].concat()
}

/// Extended XMP in two segments that part a word (XMP part 3, section 1.1.3.1, from memory).
fn extended(text: &str) -> Vec<Vec<u8>> {
    let middle = text.find("GPSLatitude").unwrap() + 5;
    let part = |from: usize, to: usize| {
        let head = b"http://ns.adobe.com/xmp/extension/\0";
        let own = [
            &head[..],
            &[b'A'; 32],
            &(text.len() as u32).to_be_bytes(),
            &(from as u32).to_be_bytes(),
            &text.as_bytes()[from..to],
        ];
        own.concat()
    };
    vec![part(0, middle), part(middle, text.len())]
}

fn xml_item(marks: &[u8], text: &[u8]) -> Vec<u8> {
    // As `heif` of the forms, with a second item of XMP (ISO/IEC 23008-12 annex A, from memory).
    let item = [&[0, 0, 0, 0][..], marks].concat();
    let first = boxed(b"infe", b"\x02\0\0\0\0\x01\0\0Exif\0");
    let second = boxed(
        b"infe",
        b"\x02\0\0\0\0\x02\0\0mime\0application/rdf+xml\0\0",
    );
    let list = [&[0, 0, 0, 0, 0, 2][..], &first, &second].concat();
    let list = boxed(b"iinf", &list);
    let kind = boxed(b"ftyp", b"avif\0\0\0\0mif1avif");
    let meta = |at: u32| {
        let middle = text.len() as u32 / 2;
        let behind = at + item.len() as u32;
        let numbers =
            |all: &[u32]| -> Vec<u8> { all.iter().flat_map(|one| one.to_be_bytes()).collect() };
        let place = [
            b"\0\0\0\0\x44\0\0\x02".to_vec(),
            b"\0\x01\0\0\0\x01".to_vec(),
            numbers(&[at, item.len() as u32]),
            // In two runs.
            b"\0\x02\0\0\0\x02".to_vec(),
            numbers(&[behind, middle, behind + middle, text.len() as u32 - middle]),
        ];
        let place = boxed(b"iloc", &place.concat());
        boxed(b"meta", &[&[0; 4][..], &list, &place].concat())
    };
    let at = kind.len() + meta(0).len() + 8;
    let image = b"the image itself";
    [
        kind,
        meta(at as u32),
        boxed(b"mdat", &[&item, text, image].concat()),
    ]
    .concat()
}

fn tiff_with_image() -> Vec<u8> {
    let order = Order::Little;
    let fields = |at: u32| -> Vec<Field> {
        vec![
            (ORIENTATION, SHORT, 1, order.short(6)),
            (0x0111, LONG, 1, order.long(at)),
            (0x0117, LONG, 1, order.long(16)),
            (700, 1, XMP.len() as u32, XMP.as_bytes().to_vec()),
            (33922, 12, 1, 48.27_f64.to_le_bytes().to_vec()),
        ]
    };
    let at = exif(order, &fields(0), &[], &gps(order)).len() as u32;
    let mut file = exif(order, &fields(at), &[], &gps(order));
    file.extend(b"the image itself");
    file
}

fn all_forms() -> Vec<(&'static str, Vec<u8>)> {
    let (little, big) = (marks(Order::Little), marks(Order::Big));
    let xmp = xmp_segment(XMP);
    let parts = extended(XMP);
    let png_xmp = [b"XML:com.adobe.xmp\0\0\0\0\0", XMP.as_bytes()].concat();
    let second = [
        jpeg(&[(0xe1, &app1(&little))]),
        jpeg(&[(0xe1, &app1(&big))]),
    ]
    .concat();
    let block = |number: u8, held: &[u8]| {
        let size = (held.len() as u32).to_be_bytes();
        [
            b"8BIM\x04",
            &[number, 0, 0][..],
            &size,
            held,
            &vec![0; held.len() % 2],
        ]
        .concat()
    };
    let layout = [
        b"Photoshop 3.0\0".to_vec(),
        block(0x04, b"other"),
        block(0x22, &big),
        block(0x24, XMP.as_bytes()),
    ];
    vec![
        ("jpeg", jpeg(&[(0xe1, &app1(&little))])),
        (
            "jpeg, big-endian",
            jpeg(&[(0xfe, b"a comment"), (0xe1, &app1(&big))]),
        ),
        ("jpeg, both", jpeg(&[(0xe1, &app1(&little)), (0xe1, &xmp)])),
        ("jpeg, XMP", jpeg(&[(0xe1, &xmp)])),
        (
            "jpeg, extended XMP",
            jpeg(&[(0xe1, &parts[0]), (0xe1, &parts[1])]),
        ),
        (
            "jpeg, EXIF twice",
            jpeg(&[(0xe1, &app1(&little)), (0xe1, &app1(&big))]),
        ),
        ("jpeg, a second picture behind", second),
        (
            "jpeg, blocks of a layout program",
            jpeg(&[(0xed, &layout.concat())]),
        ),
        (
            "png",
            png(&[chunk(b"tEXt", b"Title\0x"), chunk(b"eXIf", &little)]),
        ),
        ("png, XMP", png(&[chunk(b"iTXt", &png_xmp)])),
        (
            "png, words",
            png(&[chunk(b"tEXt", b"exif:GPSLatitude\0 48,27")]),
        ),
        ("webp", webp(b"EXIF", &little)),
        ("webp, with the code", webp(b"EXIF", &app1(&big))),
        ("webp, XMP", webp(b"XMP ", XMP.as_bytes())),
        ("tiff", big.clone()),
        ("tiff with an image", tiff_with_image()),
        ("heif", heif(&big)),
        ("avif with XMP", xml_item(&little, XMP.as_bytes())),
    ]
}

#[test]
fn no_form_keeps_its_position() {
    for (form, file) in all_forms() {
        let made = cleared(form, &file);
        // The other reader does not look behind the code, which should not stand there.
        let is_read = !form.contains("XMP") && !form.contains("with the code");
        if is_read && !form.contains("words") && !form.contains("blocks") {
            let mut before = tags(&file);
            before.retain(|tag, _| !tag.contains("GPS"));
            // What a map says of the ground is a position too.
            before.retain(|tag, _| !tag.contains("33922"));
            let xmp = |tags: &mut BTreeMap<String, String>| {
                tags.retain(|tag, _| !tag.contains("700"));
            };
            let mut after = tags(&made);
            xmp(&mut before);
            xmp(&mut after);
            assert_eq!(after, before, "{form}");
            assert!(!after.is_empty(), "{form}");
        }
        if holds(&file, b"bracket") {
            let words = [
                "bracket",
                "xmp:Rating=\"3\"",
                "drone:Label=\"a > b\"",
                "<dc:title>",
                "</x:xmpmeta>",
            ];
            for word in words.iter().filter(|word| holds(&file, word.as_bytes())) {
                assert!(holds(&made, word.as_bytes()), "{form}: `{word}` is gone");
            }
        }
        for image in ["the image itself", " scan \u{0}", "IDAT", "VP8 "] {
            assert_eq!(
                holds(&made, image.as_bytes()),
                holds(&file, image.as_bytes()),
                "{form}"
            );
        }
    }
}

/// Most readers follow a way that is told in two bytes as well.
#[test]
fn a_short_way_to_the_position_is_followed() {
    for (order, long, short) in [
        (Order::Little, [0x25, 0x88, 4, 0], [0x25, 0x88, 3, 0]),
        (Order::Big, [0x88, 0x25, 0, 4], [0x88, 0x25, 0, 3]),
    ] {
        let mut marks = marks(order);
        let at = marks.windows(4).position(|window| window == long).unwrap();
        marks[at..at + 4].copy_from_slice(&short);
        if matches!(order, Order::Big) {
            marks.copy_within(at + 10..at + 12, at + 8);
        }
        cleared("a short way", &jpeg(&[(0xe1, &app1(&marks))]));
    }
    let odd = [b"Exif\0\xff", &marks(Order::Little)[..]].concat();
    assert!(without_position(&jpeg(&[(0xe1, &odd)])).is_err());
}

/// The image of a JPEG, and what stands behind its marks, is byte for byte the same.
#[test]
fn only_the_marks_change() {
    let file = jpeg(&[(0xe1, &app1(&marks(Order::Little))), (0xe2, b"a profile")]);
    let made = cleared("jpeg", &file);
    let end = file
        .windows(9)
        .position(|window| window == b"a profile")
        .unwrap();
    assert_eq!(file[end..], made[end..]);
    assert_eq!(file[..20], made[..20]);
}

/// PNG, annex D; the sum of an empty IEND is printed in many places, as ae426082.
#[test]
fn check_sums_are_right_where_a_chunk_changed() {
    let made = cleared("png", &png(&[chunk(b"eXIf", &marks(Order::Big))]));
    let at = made
        .windows(4)
        .position(|window| window == b"eXIf")
        .unwrap();
    let size = u32::from_be_bytes(made[at - 4..at].try_into().unwrap()) as usize;
    let sum = u32::from_be_bytes(made[at + 4 + size..at + 8 + size].try_into().unwrap());
    assert_eq!(sum, by_table(&made[at..at + 4 + size]));
    assert_eq!(by_table(b"IEND"), 0xae42_6082);
    // Those of other chunks are left as they were, right or wrong.
    assert!(holds(&made, b"IDATimagesum!"));
}

/// The same sum in the other way that the standard's annex shows.
fn by_table(bytes: &[u8]) -> u32 {
    let table: Vec<u32> = (0..256_u32)
        .map(|number| {
            (0..8).fold(number, |sum, _| {
                if sum & 1 == 1 {
                    0xedb8_8320 ^ (sum >> 1)
                } else {
                    sum >> 1
                }
            })
        })
        .collect();
    let step = |sum: u32, byte: &u8| table[((sum ^ u32::from(*byte)) & 255) as usize] ^ (sum >> 8);
    bytes.iter().fold(u32::MAX, step) ^ u32::MAX
}

#[test]
fn what_tells_no_position_stays_as_it_is() {
    let (first, own) = others(Order::Little);
    let plain = exif(Order::Little, &first, &own, &[]);
    for file in [
        jpeg(&[]),
        jpeg(&[(0xe1, &app1(&plain))]),
        png(&[chunk(b"eXIf", &plain), chunk(b"tEXt", b"Title\0bracket")]),
        webp(b"EXIF", &plain),
        plain.clone(),
        heif(&plain),
        b"GIF89a and so on".to_vec(),
        b"%PDF-1.7 latitude".to_vec(),
        b"\0\0\0\x14ftypisom\0\0\0\0isom a film, latitude".to_vec(),
        Vec::new(),
        b"a text".to_vec(),
    ] {
        assert_eq!(without_position(&file), Ok(None));
    }
}

#[test]
fn a_small_picture_inside_is_cleared_too() {
    let order = Order::Little;
    let small = jpeg(&[(0xe1, &app1(&marks(Order::Big)))]);
    // The second directory of EXIF tells where the small picture lies (DC-008, 4.5.8).
    let first = directory(order, 8, &[(ORIENTATION, SHORT, 1, order.short(6))]);
    let at = 8 + first.len();
    let fields = |small_at: u32| -> Vec<Field> {
        vec![
            (0x0201, LONG, 1, order.long(small_at)),
            (0x0202, LONG, 1, order.long(small.len() as u32)),
        ]
    };
    let second = directory(order, at, &fields(0)).len();
    let second = directory(order, at, &fields((at + second) as u32));
    let mut first = first;
    let end = first.len() - 4;
    first[end..].copy_from_slice(&order.long(at as u32));
    let whole = [b"II*\0\x08\0\0\0".to_vec(), first, second, small].concat();
    cleared("a small picture inside", &jpeg(&[(0xe1, &app1(&whole))]));
}

#[test]
fn what_may_tell_one_and_cant_be_read_is_refused() {
    let order = Order::Little;
    let at = exif(order, &[], &[], &gps(order));
    let mut odd = at.clone();
    let place = odd
        .windows(4)
        .position(|window| window == [2, 0, 5, 0])
        .unwrap();
    odd[place + 2] = 77;
    let mut over = at.clone();
    // Its value lies over the first directory.
    let place = over
        .windows(4)
        .position(|window| window == [2, 0, 5, 0])
        .unwrap();
    over[place + 8..place + 12].copy_from_slice(&order.long(8));
    let packed = [b"XML:com.adobe.xmp\0\x01\0\0\0", &b"packed"[..]].concat();
    let behind = |tail: &[u8]| [jpeg(&[]), tail.to_vec()].concat();
    let wide: Vec<u8> = XMP.encode_utf16().flat_map(u16::to_be_bytes).collect();
    let comment = XMP.replace("<dc:title>", "<!-- latitude 48 --><dc:title>");
    for (what, file) in [
        ("a field of no sort", jpeg(&[(0xe1, &app1(&odd))])),
        ("a value over a directory", jpeg(&[(0xe1, &app1(&over))])),
        (
            "EXIF that is none",
            jpeg(&[(0xe1, &app1(b"something else"))]),
        ),
        ("packed XMP", png(&[chunk(b"iTXt", &packed)])),
        (
            "a packed profile",
            png(&[chunk(b"zTXt", b"Raw profile type exif\0\0packed")]),
        ),
        ("a film behind", behind(b"\0\0\0\x18ftypmp42 and so on")),
        ("XMP with two bytes a letter", webp(b"XMP ", &wide)),
        ("a comment in XMP", webp(b"XMP ", comment.as_bytes())),
        ("torn XMP", webp(b"XMP ", b"<a><exif:GPSLatitude>48,27</a>")),
        ("a camera's own form", b"FUJIFILMCCD-RAW 0201".to_vec()),
        (
            "a camera's boxes",
            b"\0\0\0\x18ftypcrx \0\0\0\x01crx isom".to_vec(),
        ),
        (
            "a description",
            jpeg(&[(
                0xe1,
                &app1(&exif(order, &[day(0x010e, "Latitude 48.27")], &[], &[])),
            )]),
        ),
        (
            "GIF with XMP",
            b"GIF89a!\xff\x0bXMP DataXMP<x exif:GPSLatitude='1'/>".to_vec(),
        ),
    ] {
        assert!(without_position(&file).is_err(), "{what}");
    }
}

/// Directories that lead to themselves, to each other and nowhere, with counts beyond reason.
#[test]
fn hostile_marks_end() {
    let order = Order::Little;
    let mut ring = exif(order, &[], &[], &gps(order));
    let end = ring.len();
    ring[4..8].copy_from_slice(&order.long(8));
    ring[22..26].copy_from_slice(&order.long(8));
    let huge: Vec<Field> = vec![
        (0x014a, LONG, u32::MAX, order.long(8)),
        (GPS_IFD, LONG, 1, order.long(u32::MAX)),
        (EXIF_IFD, LONG, 1, order.long(8)),
        (GPS_IFD, LONG, 1, order.long(8)),
    ];
    let huge = [b"II*\0\x08\0\0\0".to_vec(), directory(order, 8, &huge)].concat();
    for marks in [
        ring[..end].to_vec(),
        huge,
        b"II*\0\xff\xff\xff\xff".to_vec(),
        b"II*\0".to_vec(),
    ] {
        for file in [
            jpeg(&[(0xe1, &app1(&marks))]),
            png(&[chunk(b"eXIf", &marks)]),
            webp(b"EXIF", &marks),
            heif(&marks),
            marks.clone(),
        ] {
            let _ = without_position(&file);
        }
    }
    // Thousands of runs that all tell of the same bytes.
    let runs = |count: u16| {
        let run = [&order_big(60)[..], &order_big(4000)]
            .concat()
            .repeat(usize::from(count));
        let place = [
            &b"\0\0\0\0\x44\0\0\x01\0\x01\0\0"[..],
            &count.to_be_bytes(),
            &run,
        ]
        .concat();
        let entry = boxed(b"infe", b"\x02\0\0\0\0\x01\0\0Exif\0");
        let list = boxed(b"iinf", &[&[0, 0, 0, 0, 0, 1], &entry[..]].concat());
        let meta = boxed(
            b"meta",
            &[&[0; 4][..], &list, &boxed(b"iloc", &place)].concat(),
        );
        [boxed(b"ftyp", b"mif1\0\0\0\0mif1heic"), meta, vec![0; 4000]].concat()
    };
    assert!(without_position(&runs(9000)).is_err());
}

fn order_big(number: u32) -> [u8; 4] {
    number.to_be_bytes()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]
    /// Whatever is changed in a file, it ends, and what it lets through tells nothing.
    #[test]
    fn torn_files_end_and_tell_nothing(
        form in 0..18_usize,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
        cut in any::<Option<prop::sample::Index>>(),
    ) {
        let (form, mut file) = all_forms().swap_remove(form);
        for (at, byte) in changes {
            let at = at.index(file.len());
            file[at] = byte;
        }
        if let Some(cut) = cut {
            file.truncate(cut.index(file.len()));
        }
        if let Ok(made) = without_position(&file) {
            let made = made.unwrap_or(file);
            prop_assert!(!Picture::of_bytes(&made).position, "{form}");
        }
    }
}
