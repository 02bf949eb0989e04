//! Reading: what holds for any text, and what each trap of YAML prints.

#![allow(clippy::disallowed_methods)]

use jiff::civil::date;
use matchmark::finding::{Finding, Level};
use matchmark::folder::{Content, Folder, RawFile};
use matchmark::lint::{self, Facts};
use matchmark::render::text::{self, Colour};
use matchmark::source::{Source, Span};
use matchmark::yaml::{self, Node, NodeKind, Reading, Style};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

/// Every span lies in the file, on character borders, inside its parent, and
/// holds what it claims.
fn spans_are_true(reading: &Reading) {
    let text = &reading.source.text;
    let inside = |span: Span| {
        let range = span.range();
        assert!(range.start <= range.end && range.end <= text.len());
        assert!(text.is_char_boundary(range.start) && text.is_char_boundary(range.end));
    };
    for comment in &reading.tree.comments {
        inside(comment.span);
        assert!(reading.source.slice(comment.span).starts_with('#'));
        assert!(!reading.source.slice(comment.span).contains('\n'));
    }
    for problem in &reading.problems {
        inside(problem.span);
    }
    if let Some(root) = &reading.tree.root {
        node_is_true(root, &reading.source, &inside);
    }
}

fn node_is_true(node: &Node, source: &Source, inside: &impl Fn(Span)) {
    inside(node.span);
    let within = |span: Span| {
        assert!(
            node.span.start <= span.start && span.end <= node.span.end,
            "{:?} in {:?}: {:?}",
            source.slice(span),
            source.slice(node.span),
            source.text
        );
    };
    match &node.kind {
        NodeKind::Scalar { style, .. } => {
            scalar_is_true(source.slice(node.span), node.text(source).unwrap(), *style)
        }
        NodeKind::Seq(items) => {
            for item in items {
                within(item.span);
                node_is_true(item, source, inside);
            }
        }
        NodeKind::Map(entries) => {
            for entry in entries {
                inside(entry.key.span);
                within(entry.key.span);
                within(entry.value.span);
                scalar_is_true(
                    source.slice(entry.key.span),
                    &entry.key.text,
                    entry.key.style,
                );
                node_is_true(&entry.value, source, inside);
            }
        }
    }
}

fn scalar_is_true(shown: &str, text: &str, style: Style) {
    match style {
        Style::Plain => {
            // On one line a plain text is what it shows; over several its lines are joined.
            if !shown.contains(['\n', '\r']) {
                assert_eq!(shown, text);
            }
            assert!(!shown.starts_with([' ', '\n', '#']), "{shown:?}");
        }
        Style::Quoted if shown.starts_with('*') => {}
        Style::Quoted => {
            let quoted = shown.len() >= 2
                && ((shown.starts_with('"') && shown.ends_with('"'))
                    || (shown.starts_with('\'') && shown.ends_with('\'')));
            let bracket = shown.starts_with(['{', '[']);
            assert!(quoted || bracket, "{shown:?}");
        }
        Style::Block => {
            assert!(shown.starts_with(['|', '>']), "{shown:?}");
            for word in text.split_whitespace().take(3) {
                assert!(shown.contains(word), "{shown:?} has no {word:?}");
            }
        }
    }
}

fn read(text: &str) -> Reading {
    yaml::read(Source::new("parts/all.yaml", text))
}

/// A record file as people write it, with all that makes positions hard.
fn record_text() -> impl Strategy<Value = String> {
    let word = prop_oneof![
        "[a-z]{1,8}(-[a-z]{1,4})?",
        Just("24 N·m".to_owned()),
        Just("ø8·5 größer".to_owned()),
        Just("\"P16-88\\u00e9120\"".to_owned()),
        Just("'it''s'".to_owned()),
        Just("12 thou".to_owned()),
        Just("螺栓".to_owned()),
        Just("\"0123\"".to_owned()),
        Just("7".to_owned()),
        Just("true".to_owned()),
    ];
    let value = prop_oneof![
        4 => word.clone(),
        1 => prop::collection::vec(word.clone(), 0..4).prop_map(|w| format!("[{}]", w.join(", "))),
        1 => prop::collection::vec(word.clone(), 0..4).prop_map(|w| {
            let pairs: Vec<String> =
                w.iter().enumerate().map(|(n, w)| format!("k{n}: {w}")).collect();
            format!("{{{}}}", pairs.join(", "))
        }),
        1 => prop::collection::vec(word.clone(), 1..4)
            .prop_map(|w| format!("|\n    {}", w.join("\n    "))),
        1 => prop::collection::vec(word.clone(), 1..4)
            .prop_map(|w| format!("\n    - {}", w.join("\n    - "))),
        // A text that goes on over the next line must be text on both.
        1 => ("[a-z]{1,8}", "[a-z]{1,8}").prop_map(|(a, b)| format!("{a}\n        {b}")),
        1 => Just(String::new()),
    ];
    let comment = prop_oneof![
        3 => Just(String::new()),
        1 => Just("  # für später".to_owned()),
        1 => Just("\t# tab before".to_owned()),
    ];
    let field = (value, comment).prop_map(|(value, comment)| {
        if value.contains('\n') || value.is_empty() {
            value
        } else {
            format!("{value}{comment}")
        }
    });
    let record = prop::collection::vec(field, 1..5).prop_map(|fields| {
        let lines: Vec<String> = fields
            .iter()
            .enumerate()
            .map(|(n, field)| format!("  f{n}: {field}"))
            .collect();
        lines.join("\n")
    });
    (
        prop::collection::vec(record, 1..5),
        any::<bool>(),
        any::<bool>(),
        any::<bool>(),
    )
        .prop_map(|(records, crlf, bom, newline)| {
            let mut text = String::new();
            for (n, record) in records.iter().enumerate() {
                text.push_str(&format!("# record {n} ·\nr{n}:\n{record}\n"));
            }
            if !newline {
                text.pop();
            }
            if crlf {
                text = text.replace('\n', "\r\n");
            }
            if bom {
                text.insert(0, '\u{FEFF}');
            }
            text
        })
}

/// The same texts in each run, so that a failure is the change's own;
/// `PROPTEST_CASES` asks for more of them, `PROPTEST_RNG_SEED` for others.
fn config() -> ProptestConfig {
    let mut config = ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::default()
    };
    config.cases = config.cases.max(1500);
    if config.rng_seed == RngSeed::Random {
        config.rng_seed = RngSeed::Fixed(1);
    }
    config
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn any_text_is_read_without_a_panic(text in any::<String>()) {
        spans_are_true(&read(&text));
    }

    #[test]
    fn any_yaml_like_text_is_read_without_a_panic(
        text in "([a-c\\-:#{}\\[\\],'\"|>&*!%@`~ \t\r\nä·\u{FEFF}0-9.]|: |\n  |- ){0,60}"
    ) {
        spans_are_true(&read(&text));
    }

    #[test]
    fn any_bytes_are_taken_without_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let raw = RawFile { path: "parts/all.yaml".into(), content: Content::Bytes(bytes) };
        let folder = Folder::read(vec![raw]).unwrap();
        let _ = lint::check(&folder, &Facts::on(date(2026, 3, 1)));
    }

    #[test]
    fn a_records_spans_are_true(text in record_text()) {
        let reading = read(&text);
        prop_assert!(
            reading.problems.is_empty(),
            "{:?} in {:?}", reading.problems, text
        );
        spans_are_true(&reading);
        let records = reading.tree.root.as_ref().unwrap().entries().len();
        prop_assert_eq!(records, text.matches("# record ").count());
        prop_assert!(reading.tree.comments.len() >= records);
    }

    /// The whole check on records, with a comment close behind each line as well.
    #[test]
    fn a_record_is_checked_without_a_panic(text in record_text(), kind in 0..11_usize) {
        let folders = matchmark::model::Kind::ALL;
        for text in [text.clone(), text.replace("  # für", " #für"), text.replace('\n', " # ö\n")] {
            let raw = RawFile {
                path: format!("{}/all.yaml", folders[kind + 1].folder()),
                content: Content::Bytes(text.into_bytes()),
            };
            let folder = Folder::read(vec![raw]).unwrap();
            let found = lint::check(&folder, &Facts::on(date(2026, 3, 1)));
            let _ = text::findings(&found, Colour::No);
        }
    }

    /// Another reader, the kept fork of serde_yaml over libyaml, makes the same of
    /// what we accept. (It takes a byte-order mark and two keys for two documents,
    /// so it gets the text without the mark.)
    #[test]
    fn a_second_reader_agrees(text in record_text()) {
        let reading = read(&text);
        let ours = reading.tree.root.as_ref().unwrap().to_json(&reading.source);
        let plain = text.trim_start_matches('\u{FEFF}');
        let theirs: serde_json::Value = serde_yaml::from_str(plain).unwrap();
        prop_assert_eq!(ours, theirs);
    }
}

/// What the check prints on one file, the rest of the build being empty.
fn printed(path: &str, text: &[u8]) -> String {
    let mut files = vec![RawFile {
        path: path.to_owned(),
        content: Content::Bytes(text.to_vec()),
    }];
    if path != "build.yaml" {
        files.push(RawFile {
            path: "build.yaml".to_owned(),
            content: Content::Bytes(b"name: Brindlet\n".to_vec()),
        });
    }
    let folder = Folder::read(files).unwrap();
    let facts = Facts::on(date(2026, 3, 1));
    text::findings(&lint::check(&folder, &facts), Colour::No)
}

/// The table of traps: what is written, and just what is printed.
#[test]
fn each_trap_says_what_it_is() {
    let table = include_str!("reading/traps.txt");
    let mut anew = String::new();
    for case in table.split_inclusive("----\n") {
        let (head, _) = case.split_once("----\n").unwrap_or((case, ""));
        let Some((written, _)) = head.split_once("prints:\n") else {
            anew.push_str(case);
            continue;
        };
        let (path, body) = written.split_once('\n').unwrap();
        let text = body
            .replace("<TAB>", "\t")
            .replace("<CR>", "\r")
            .replace("<BOM>", "\u{FEFF}")
            .replace("<ESC>", "\u{1b}");
        let prints = printed(path.trim_start_matches("file: "), text.as_bytes());
        anew.push_str(&format!("{written}prints:\n{prints}----\n"));
    }
    if std::env::var_os("UPDATE").is_some() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reading/traps.txt");
        std::fs::write(path, &anew).unwrap();
        return;
    }
    let differs = similar::TextDiff::from_lines(table, &anew)
        .unified_diff()
        .to_string();
    assert!(
        differs.is_empty(),
        "{differs}\nread each change; `UPDATE=1 cargo test --test reading` takes them over"
    );
}

#[test]
fn bytes_that_are_no_text_are_said() {
    assert_eq!(
        printed("parts/all.yaml", b"a: {name: x}\nb: {name: \xFF}\n"),
        "parts/all.yaml:2:11: error: the file is not UTF-8 from here on [unreadable-file]\n    \
         to do: save it again in UTF-8\n"
    );
    assert_eq!(
        printed("parts/all.yaml", b"\xFF\xFEa\0:\0"),
        "parts/all.yaml:1:1: error: the file is UTF-16, and records are UTF-8 [unreadable-file]\n    \
         to do: save it again in UTF-8\n"
    );
}

/// A file that can't be read hides neither the findings in the others nor makes
/// false ones there.
#[test]
fn a_broken_file_hides_nothing_else() {
    let raw = |path: &str, text: &str| RawFile {
        path: path.to_owned(),
        content: Content::Bytes(text.as_bytes().to_vec()),
    };
    let folder = Folder::read(vec![
        raw("build.yaml", "name: Brindlet\n"),
        raw(
            "donors/all.yaml",
            "pell-van: {maker: Pell\ntarn: {maker: Tarn}\n",
        ),
        raw(
            "parts/all.yaml",
            "a: {name: A, pieces: {P1: {donor: pell-van}, P2: {donor: nobody}}}\nb: {nmae: B}\n",
        ),
    ])
    .unwrap();
    let facts = Facts::on(date(2026, 3, 1));
    let rules: Vec<(&str, String)> = lint::check(&folder, &facts)
        .iter()
        .map(|finding| (finding.rule, finding.place.start.to_string()))
        .collect();
    assert_eq!(
        rules,
        [
            ("unreadable-file", "1:11".to_owned()),
            ("unknown-reference", "1:58".to_owned()),
            ("off-schema", "2:5".to_owned()),
        ]
    );
}

/// What a slip has moved to another level is not called unknown elsewhere as well.
#[test]
fn what_has_slipped_is_told_once() {
    let build = "name: Brindlet\nsources: {book: {title: B}}\nspots: {bay: b}\n";
    let engine = "engine:\n  in: car\n  places:\n    head: {}\n";
    let away = "box: {name: Box}\n";
    let uses = "seal: {name: Seal, source: {in: book}, pieces: {A: {goes: engine/head, donor: van, condition: serviceable}}}\n";
    let donors = "hatch:\n  maker: Tarn\nvan:\n  maker: Pell\n";
    for (file, from, to) in [
        ("build.yaml", "\nsources:", "\npolicy:\n  sources:"),
        ("assemblies/all.yaml", "    head", "  head"),
        ("assemblies/all.yaml", "engine:", "  engine:"),
        ("assemblies/all.yaml", "engine:", "engine"),
        (
            "assemblies/all.yaml",
            "    head: {}",
            "    sump: {}\n  head: {takes: [H]}",
        ),
        (
            "donors/all.yaml",
            "van:\n  maker: Pell",
            "van {maker: Pell}",
        ),
        ("donors/all.yaml", "van:", "  van:"),
        (
            "donors/all.yaml",
            "van:\n  maker: Pell",
            "  van: {maker: Pell}",
        ),
        (
            "donors/all.yaml",
            "van:\n  maker: Pell",
            " van:\n  maker: Pell",
        ),
    ] {
        let raw = [
            ("build.yaml", build),
            ("assemblies/all.yaml", engine),
            ("donors/all.yaml", donors),
            ("parts/all.yaml", uses),
            ("parts/box.yaml", away),
        ];
        let raw = raw.map(|(path, text)| {
            let text = if path == file {
                text.replace(from, to)
            } else {
                text.to_owned()
            };
            assert!(path != file || text.contains(to));
            RawFile {
                path: path.to_owned(),
                content: Content::Bytes(text.into_bytes()),
            }
        });
        let folder = Folder::read(raw.to_vec()).unwrap();
        let found = lint::check(&folder, &Facts::on(date(2026, 3, 1)));
        // That a place is still empty is no slip.
        let found: Vec<Finding> = found
            .into_iter()
            .filter(|one| one.level > Level::Note)
            .collect();
        let said = text::findings(&found, Colour::No);
        assert_eq!(found.len(), 1, "{to:?}:\n{said}");
        assert_eq!(found[0].place.file, file, "{said}");
    }
}

/// A text over several lines with a `#` behind it, and a count beyond all engines:
/// both once ended the check itself.
#[test]
fn odd_but_readable_records_do_not_end_the_check() {
    let text = format!(
        "seal:\n  name: Seal\n  note: one\n{}two # x\n",
        " ".repeat(60)
    );
    let said = printed("parts/all.yaml", text.as_bytes());
    assert!(said.contains("and drops `# x` as a comment"), "{said}");
    let said = printed("parts/all.yaml", "seal:\n  name: ö\n    ö # ö\n".as_bytes());
    assert!(said.contains("drops `# ö` as a comment"), "{said}");
    let raw = |path: &str, text: &str| RawFile {
        path: path.to_owned(),
        content: Content::Bytes(text.as_bytes().to_vec()),
    };
    let folder = Folder::read(vec![
        raw(
            "build.yaml",
            "name: Brindlet\ncylinders: 3000000000\nbanks: 3000000000\n",
        ),
        raw(
            "assemblies/all.yaml",
            "e: {places: {coil: {each: cylinder}, cam: {each: bank}}}\n",
        ),
        raw(
            "parts/all.yaml",
            "c: {name: C, pieces: {A: {goes: e/coil-17}, B: {goes: e/cam-9}}}\n",
        ),
    ])
    .unwrap();
    let facts = Facts::on(date(2026, 3, 1));
    let found = lint::check(&folder, &facts);
    assert_eq!(
        found
            .iter()
            .filter(|one| one.rule == "unknown-reference")
            .count(),
        2
    );
}

/// Depth, aliases and length have limits: nothing blows up memory.
#[test]
fn limits_hold() {
    let deep = format!("a: {}{}", "[".repeat(5000), "]".repeat(5000));
    assert!(printed("parts/all.yaml", deep.as_bytes()).contains("more than 64 deep"));
    let deep = (0..3000).fold(String::new(), |text, n| {
        format!("{text}{}k:\n", " ".repeat(n))
    });
    assert!(printed("parts/all.yaml", deep.as_bytes()).contains("unreadable-file"));
    let mut bomb = String::from("a: &a [x, x]\n");
    for n in 1..40 {
        let before = if n == 1 {
            "a".to_owned()
        } else {
            format!("a{}", n - 1)
        };
        bomb.push_str(&format!("b{n}: &a{n} [*{before}, *{before}]\n"));
    }
    assert!(printed("parts/all.yaml", bomb.as_bytes()).contains("stands for an anchor"));
}
