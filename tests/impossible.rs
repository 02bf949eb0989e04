//! What can't be is told where it stands, and once: threads, runs of cavities,
//! what ends before it begins, a reading unlike its limit. Each file begins with
//! a byte-order mark, letters beyond ASCII and a CR LF, and has a tab before the
//! place, so that a column that counts bytes is caught.

use jiff::civil::date;
use matchmark::folder::{Content, Folder, RawFile};
use matchmark::lint::{self, Facts};

/// All findings, as `line:column rule: message | remedy`.
fn found(path: &str, text: &str) -> Vec<String> {
    let text = format!("\u{FEFF}# größer ·\r\n{text}\r\n");
    let mut files = vec![(path, text)];
    if path != "build.yaml" {
        files.push(("build.yaml", "name: Brindlet\n".to_owned()));
    }
    let raw = files.into_iter().map(|(path, text)| RawFile {
        path: path.to_owned(),
        content: Content::Bytes(text.into_bytes()),
    });
    let folder = Folder::read(raw.collect()).unwrap();
    let facts = Facts::on(date(2026, 3, 1));
    lint::check(&folder, &facts)
        .iter()
        .map(|one| {
            let start = one.place.start;
            format!("{start} {}: {} | {}", one.rule, one.message, one.remedy)
        })
        .collect()
}

#[track_caller]
fn says(path: &str, text: &str, expected: &[&str]) {
    assert_eq!(found(path, text), expected, "{text}");
}

#[test]
fn threads() {
    let path = "fasteners/all.yaml";
    for good in [
        "M10x1.25",
        "\"#10-32 UNF\"",
        "3/8\"-16 UNC",
        "G1/4",
        "2 BA",
        "M10  # coarse",
    ] {
        says(path, &format!("a:\r\n  thread: {good}"), &[]);
    }
    says(
        path,
        "a:\r\n  name: \"·\"\r\n  thread: \tM1Ox1.25",
        &["4:12 bad-quantity: `M1Ox1.25` is no thread | write `M10x1.25`"],
    );
    says(
        path,
        "a: {name: ß, other-end: \"banana\"}",
        &[
            "2:25 bad-quantity: `banana` is no thread | write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`",
        ],
    );
    // A bare number and a list have the wrong form, whatever they were meant as.
    says(
        path,
        "a:\r\n  thread: 10",
        &[
            "3:11 bad-quantity: `10` does not say whose thread it is | write it as in `3/8-16UNC` or `3/8 BSW`",
        ],
    );
    says(
        path,
        "a:\r\n  thread: [M10]",
        &[
            "3:11 off-schema: `thread` wants a text, and this is a list | what belongs here: a thread: metric (`M10x1.25`; `M10` for the coarse pitch), inch (`3/8-16UNC`, `1/2 BSW`, `2 BA`), pipe (`G1/4`, `Rp 1/8`, `1/8-27NPT`); `-LH` behind a left-hand one, as in `M10x1.25`",
        ],
    );
    says(
        path,
        "a:\r\n  thread: 3/8 #16 UNC",
        &[
            "3:11 changed-by-yaml: the text stops at ` #`: YAML reads `3/8` and drops `#16 UNC` as a comment | write `\"3/8 #16 UNC\"` with what belongs to it, or put a comment on a line of its own",
        ],
    );
    says(
        "assemblies/all.yaml",
        "a: {joints: {j: {into: {thread: M8x}, holes: {h: {repaired: {thread: M9x1.3, kind: coil insert, depth: 9 mm}}}}}}",
        &[
            "2:33 bad-quantity: `M8x` has no pitch behind the x | write it as in `M10x1.25`, or no x for the coarse one",
            "2:70 bad-quantity: `1.3` is no pitch of `M9` | write the pitch in millimetres, as in `M10x1.25`",
        ],
    );
}

#[test]
fn cavities() {
    let path = "plugs/all.yaml";
    for good in ["1-40", "\"1\"", "A-H", "A1-A4, 87a, in"] {
        says(
            path,
            &format!("a: {{cavities: \"{}\"}}", good.trim_matches('"')),
            &[],
        );
    }
    for (bad, says_) in [
        ("40-1", "`40-1` runs backwards | write `1-40`"),
        (
            "1 to 10",
            "`1 to 10` is no cavity and no run of them | write `1-10`",
        ),
        (
            "1–10; 12",
            "`1–10; 12` is no cavity and no run of them | write `1-10, 12`",
        ),
        (
            "A1-B4",
            "the ends of `A1-B4` make no run | write the same letters at both ends, as in `A1-A4`",
        ),
    ] {
        let text = format!("a:\r\n  note: ·\r\n  cavities: \t{bad}");
        says(path, &text, &[&format!("4:14 bad-quantity: {says_}")]);
    }
    says(
        path,
        "a: {cavities: 1-10, idle: {\"9-8\": plugged, \"2-4\": plugged}}",
        &[
            "2:28 unknown-reference: there is no cavity `9-8` here: the plug has 1-10 | write one of 1-10, or mend `cavities`",
        ],
    );
}

#[test]
fn what_ends_before_it_begins() {
    says(
        "parts/all.yaml",
        "p:\r\n  name: \"·\"\r\n  pieces: {A: {made: 2019-W31, opened: \t\"2018\"}, B: {made: \"2019\", opened: 2019-01-01}}",
        &["4:41 bad-quantity: `opened` 2018 is before `made` 2019-W31 | mend `opened` or `made`"],
    );
    // Off and on again on one day is no contradiction.
    says(
        "assemblies/all.yaml",
        "a: {mounted: [{as: mock-up, when: 2026-01-02, until: 2026-01-02}], closed: [{when: 2026-01-03, until: 2026-01-01}]}",
        &[
            "2:103 bad-quantity: `until` 2026-01-01 is before `when` 2026-01-03 | mend `until` or `when`",
        ],
    );
    // A day that is none is told as that, and only that.
    says(
        "parts/all.yaml",
        "p: {name: P, pieces: {A: {fitted: [{as: mock-up, when: 2026-02-20, until: 2026-01-41}]}}}",
        &[
            "2:75 off-schema: `2026-01-41` is no day in the calendar | write year-month-day, as in 2026-03-01",
        ],
    );
    says(
        "jobs/all.yaml",
        "j: {kind: send-out, sent: 2026-02-10, due: 2026-02-24, came-back: 2026-02-01}",
        &[
            "2:67 bad-quantity: `came-back` 2026-02-01 is before `sent` 2026-02-10 | mend `came-back` or `sent`",
        ],
    );
}

#[test]
fn least_above_most() {
    says(
        "build.yaml",
        "name: Brindlet\r\nwrenches: {small: {from: 25 N·m, to: 5 N·m}, big: {from: 15 lb-ft, to: 100 N·m}}\r\nfigures: {friction-least: 0.2, friction-most: 0.1}",
        &[
            "3:38 bad-quantity: `to` 5 N·m is below `from` 25 N·m | mend `to` or `from`",
            "4:47 bad-quantity: `friction-most` 0.1 is below `friction-least` 0.2 | mend `friction-most` or `friction-least`",
        ],
    );
    says(
        "parts/all.yaml",
        "p: {name: P, limits: {wear: {least: 1 mm, most: 2 kg}, bore: {most: 1 mm, at: 20 degC}, flow: {spread: 2 %}},\r\n  pieces: {A: {readings: [{what: bore, is: \t3 kg, at: 20 degC}, {what: wear, is: 60 thou}, {what: flow, is: 3 kg}]}}}",
        &[
            "2:49 bad-quantity: `2 kg` is a mass, and `least` is a length | state both alike, or mend one of them",
            "3:45 bad-quantity: `3 kg` is a mass, and the limit of `bore` is a length | state both alike, or mend one of them",
        ],
    );
    says(
        "fasteners/all.yaml",
        "a: {have: 3, used: 5, shank: 30 mm, length: 1 in}",
        &[
            "2:11 bad-quantity: `have` 3 is below `used` 5 | mend `have` or `used`",
            "2:45 bad-quantity: `length` 1 in is below `shank` 30 mm | mend `length` or `shank`",
        ],
    );
}
