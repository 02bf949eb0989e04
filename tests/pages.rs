//! Pages as a person reads them (text, Markdown, HTML) and what changed as programs do.
//!
//! `tests/pages/` holds one report in every form, to be judged by eye:
//! `UPDATE=1 cargo test --test pages` writes it anew.

#![allow(clippy::disallowed_methods)]

use std::path::Path;

use matchmark::changes::report::{
    Between, Cleared, FileChange, Moment, Progress, Report, Side, Uncompared,
};
use matchmark::changes::{Name, Records, compare, tell};
use matchmark::finding::{Finding, Level, Place};
use matchmark::model::Kind;
use matchmark::render::page::{html, markdown, text};
use matchmark::render::text::Colour;
use matchmark::render::{changes, safe};
use matchmark::report::page::{Block, Entry, Item, Line, Page, Section};
use matchmark::source::Position;
use pulldown_cmark::{Event, Parser, Tag};
use serde_json::Value;
use unicode_width::UnicodeWidthStr;

fn item(about: &str, says: &str, under: Vec<Block>) -> Item {
    Item {
        about: about.to_owned(),
        says: says.to_owned(),
        under,
    }
}

/// A page with every form of block in it.
fn all(words: &str) -> Page {
    let w = || words.to_owned();
    let inner = Block::Items(vec![item(words, words, Vec::new())]);
    let lines = Block::Lines(vec![Line::Kept(w()), Line::Gone(w()), Line::New(w())]);
    Page {
        title: w(),
        lead: vec![w(), w()],
        sections: vec![Section {
            head: w(),
            blocks: vec![
                Block::Text(w()),
                Block::Items(vec![
                    item(words, words, vec![Block::Text(w()), inner]),
                    item(words, "", vec![lines]),
                ]),
                Block::Table {
                    heads: vec![w(), w()],
                    rows: vec![
                        vec![w().into(), w().into()],
                        vec![w().into(), "24.50 EUR".into()],
                    ],
                    figures: vec![false, true],
                },
                Block::Lines(vec![Line::New(w())]),
                Block::Table {
                    heads: vec![w(), w(), w()],
                    rows: vec![vec![Entry::Box(false), Entry::Box(true), Entry::Blank]],
                    figures: vec![false, false, true],
                },
                Block::Sign(vec![w(), w()]),
            ],
        }],
    }
}

/// A form to fill in.
#[test]
fn what_is_ticked_and_signed_in_every_form() {
    let text_of = |text: &str| Entry::Text(text.to_owned());
    let page = Page {
        title: "Bracket".to_owned(),
        lead: vec!["CAUTION: hot. As of 2026-03-01.".to_owned()],
        sections: vec![Section {
            head: "Holes".to_owned(),
            blocks: vec![
                Block::Table {
                    heads: ["hole", "1", "2", "count", "torque"]
                        .map(str::to_owned)
                        .to_vec(),
                    rows: vec![
                        vec![
                            text_of("front"),
                            Entry::Box(true),
                            Entry::Box(false),
                            Entry::Blank,
                            text_of("46 N·m"),
                        ],
                        vec![
                            text_of("rear"),
                            Entry::Box(false),
                            text_of("–"),
                            text_of("12"),
                            text_of("≈ 33.9 N·m"),
                        ],
                    ],
                    figures: vec![false, false, false, true, true],
                },
                Block::Sign(vec!["second check by".to_owned(), "day".to_owned()]),
            ],
        }],
    };
    kept("form.txt", &text(&page, 80, Colour::No));
    kept("form-narrow.txt", &text(&page, 40, Colour::No));
    kept("form.md", &markdown(&page));
    let html = html(&page);
    assert!(
        html.contains("<p class=\"signal\"><strong>CAUTION:</strong> hot. As of"),
        "{html}"
    );
    assert_eq!(html.matches("<span class=\"box\">x</span>").count(), 1);
    assert_eq!(html.matches("<span class=\"box\"></span>").count(), 2);
    assert_eq!(html.matches("<span class=\"blank\"></span>").count(), 3);
}

/// The records of one state: kinds, in them ids, in them what each holds.
fn records(yaml: &str) -> Records {
    let all: Value = serde_yaml::from_str(yaml).unwrap();
    let mut records = Records::new();
    for (folder, of) in all.as_object().unwrap() {
        let kind = Kind::ALL.iter().find(|kind| kind.folder() == folder);
        for (id, value) in of.as_object().unwrap() {
            let name = Name {
                kind: *kind.unwrap(),
                id: id.clone(),
            };
            records.insert(name, value.clone());
        }
    }
    records
}

fn report(since: &str, until: &str) -> Report {
    let changes = compare(&records(since), &records(until));
    let told = tell::tell(&changes);
    Report {
        since: Side::Nothing,
        until: Side::Folder,
        between: None,
        remark: None,
        changes,
        told,
        files: Vec::new(),
        uncompared: Vec::new(),
        opened: Vec::new(),
        cleared: Vec::new(),
        progress: Vec::new(),
    }
}

fn finding(rule: &'static str, level: Level, record: &str, message: &str) -> Finding {
    let at = |column| Position { line: 3, column };
    Finding {
        rule,
        level,
        message: message.to_owned(),
        place: Place {
            file: "parts/all.yaml".to_owned(),
            start: at(5),
            end: at(9),
        },
        record: Some(record.to_owned()),
        stage: None,
        related: Vec::new(),
        remedy: "measure it, or take it off".to_owned(),
        settled_by: None,
        older: false,
    }
}

const SINCE: &str = r#"
parts:
  injector:
    name: Injector
    number: QX-1180
    note: |
      Bench at 3 bar.
      Two runs each.
      Filter baskets are new.
      Pintle caps from the kit.
      O-rings on dry.
    pieces:
      N1: {donor: pell-van, condition: unchecked}
      N2: {donor: pell-van, condition: unchecked}
      N3: {donor: pell-van, condition: unchecked}
  thermostat: {name: Thermostat, number: TH-82}
fasteners:
  bolt-m6-20: {form: bolt, length: 20 mm, have: 12}
  bolt-m6-25: {form: bolt, length: 25 mm, have: 8}
  bolt-m8-30: {form: bolt, length: 30 mm, have: 31}
  bolt-m8-40: {form: bolt, length: 40 mm, have: 6}
  bolt-m10-70: {form: bolt, length: 70 mm, have: 1}
  bolt-m10-35: {form: bolt, length: 35 mm, have: 3}
  nut-m10: {form: nut, have: 2}
jobs:
  bleed: {kind: bench, does: bleed the brakes, takes: 1 h}
"#;

const UNTIL: &str = r#"
parts:
  injector:
    name: Injector
    number: QX-1180
    note: |
      Bench at 3 bar.
      Two runs each.
      Filter baskets are new.
      Pintle caps from the kit.
      O-rings oiled before they go in, or they tear at the edge of the bore and nobody sees it.
    pieces:
      N1: {donor: pell-van, condition: unchecked, kept-in: box 4}
      N2: {donor: pell-van, condition: unchecked, kept-in: box 4}
      N3: {donor: pell-van, condition: unchecked, kept-in: box 4}
  thermostat-82: {name: Thermostat, number: TH-82}
fasteners:
  bolt-m6-20: {form: bolt, length: 20.5 mm, have: 10}
  bolt-m6-25: {form: bolt, length: 24.8 mm, have: 7}
  bolt-m8-30: {form: bolt, length: 30.25 mm, have: 130}
  bolt-m8-40: {form: bolt, length: 39 mm, have: 5}
  bolt-m10-70: {form: bolt, length: 110 mm, have: 0}
  bolt-m10-35: {form: bolt, length: 35.5 mm, have: 2}
  nut-m10: {form: nut, have: 9}
jobs:
  bleed: {kind: bench, does: bleed the brakes, takes: 60 min}
  flush: {kind: bench, does: flush the heater, takes: 1 h}
"#;

/// A report with something in every place.
fn full() -> Report {
    let mut report = report(SINCE, UNTIL);
    let at: jiff::Timestamp = "2026-03-01T20:10:00Z".parse().unwrap();
    report.since = Side::Commit {
        id: "4be2f1c0a8d94b6e8f0d5a3c2b1e0f9d8c7b6a59".to_owned(),
        title: "Hang the front brackets for mock-up".to_owned(),
        when: Some(Moment {
            at,
            local: "2026-03-01T21:10:00".parse().unwrap(),
        }),
        by: "builder".to_owned(),
    };
    report.between = Some(Between {
        commits: 5,
        sessions: 1,
    });
    report.opened = vec![finding(
        "unproven-fitted",
        Level::Error,
        "parts/injector/N1",
        "injector N1 is on in fuel/injector-1 for good, and nothing says that it works",
    )];
    report.cleared = vec![
        Cleared {
            finding: finding(
                "wrong-number",
                Level::Warning,
                "parts/thermostat/T1",
                "thermostat T1 is no TH-88",
            ),
            settled_by: Some("decisions/keep-82".to_owned()),
            by: Vec::new(),
        },
        Cleared {
            finding: finding(
                "empty-place",
                Level::Error,
                "assemblies/fuel/rail",
                "fuel/rail is empty",
            ),
            settled_by: None,
            by: vec!["rail/R1: on for good in fuel/rail, 2026-03-02".to_owned()],
        },
    ];
    let measures = [
        ("places filled for good", "9 of 31", "13 of 31"),
        ("joints tightened for good", "4 of 22", "4 of 22"),
        ("money paid", "1204.50 EUR", "1229 EUR"),
    ];
    report.progress = measures
        .map(|(what, before, after)| Progress {
            what: what.to_owned(),
            before: before.to_owned(),
            after: after.to_owned(),
        })
        .to_vec();
    let file = |path: &str, was: Option<&str>, is: Option<&str>| FileChange {
        path: path.to_owned(),
        was: was.map(str::to_owned),
        is: is.map(str::to_owned),
    };
    report.files = vec![
        file("photos/p-014.jpg", None, Some("9c1e0d2b")),
        file("photos/p-015.jpg", None, Some("77ab10f3")),
        file("photos/p-002.jpg", Some("10ff22aa"), Some("10ff22ab")),
    ];
    report.uncompared = vec![Uncompared {
        file: "jobs/old.yaml".to_owned(),
        why: "line 4 can't be read".to_owned(),
    }];
    report
}

/// Compares with what is kept, or keeps it.
fn kept(name: &str, made: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/pages")
        .join(name);
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(&path, made).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap();
    assert!(kept == made, "tests/pages/{name} is another:\n{made}");
}

fn page(report: &Report, fields: bool) -> Page {
    matchmark::report::changes::page(report, fields)
}

#[test]
fn what_changed_in_every_form() {
    let report = full();
    kept("changes.txt", &text(&page(&report, false), 80, Colour::No));
    kept("fields.txt", &text(&page(&report, true), 80, Colour::No));
    kept("narrow.txt", &text(&page(&report, false), 40, Colour::No));
    kept("changes.md", &markdown(&page(&report, false)));
    kept("changes.html", &html(&page(&report, false)));
    kept("changes.json", &changes::json(&report));
}

#[test]
fn an_empty_report_says_so() {
    let mut empty = report("parts: {}", "parts: {}");
    let said = |report: &Report, fields| text(&page(report, fields), 80, Colour::No);
    let nothing = "What changed\n\
                   since an empty build, before the first commit\n\
                   until the working folder\n\
                   Nothing has changed in the records.\n";
    assert_eq!(said(&empty, false), nothing);
    assert_eq!(said(&empty, true), nothing);
    empty.uncompared = full().uncompared;
    assert!(said(&empty, false).contains("Nothing has changed in what could be compared."));
    assert!(said(&empty, false).contains("jobs/old.yaml  line 4 can't be read"));
}

#[test]
fn a_field_that_changed_in_500_records_is_told_whole_and_short() {
    let all = |of: &dyn Fn(usize) -> String| {
        let records = (0..500).map(|at| format!("  bolt-{at:03}: {{form: bolt, {}}}\n", of(at)));
        format!("fasteners:\n{}", records.collect::<String>())
    };
    // To the same.
    let same = report(
        &all(&|_| "finish: zinc".into()),
        &all(&|_| "finish: plain".into()),
    );
    let told = text(&page(&same, false), 80, Colour::No);
    assert_eq!(told.matches("zinc → plain").count(), 1, "{told}");
    // To another in each.
    let each = report(
        &all(&|at| format!("length: {at} mm")),
        &all(&|at| format!("length: {}.5 mm", at * 7 + 1)),
    );
    let counted = text(&page(&each, false), 80, Colour::No);
    assert!(counted.contains("length, 500 times"), "{counted}");
    for at in 0..500 {
        let name = format!("bolt-{at:03}");
        assert!(told.contains(&name) && counted.contains(&name), "{name}");
        let line = counted.lines().find(|line| line.contains(&name)).unwrap();
        assert!(line.ends_with(&format!(" {}.5 mm", at * 7 + 1)), "{line}");
    }
    assert!(counted.lines().count() < 520);
}

/// The day of what was done stands at its end, even where another day in the sentence is
/// the same.
#[test]
fn what_went_on_and_came_off_on_one_day_has_both_days() {
    let on = "parts:\n  fan:\n    name: Fan\n    pieces: {A: {donor: pell-van}}\n";
    let off = "parts:\n  fan:\n    name: Fan\n    pieces: {A: {donor: pell-van, fitted: \
               [{as: mock-up, when: 2026-03-01, until: 2026-03-01}]}}\n";
    let shown = text(&page(&report(on, off), false), 80, Colour::No);
    let line = "fan/A  off again; was on for mock-up since 2026-03-01 (2026-03-01)\n";
    assert!(shown.contains(line), "{shown}");
}

/// Every value of every record, before and after, stands on the page of all fields.
#[test]
fn all_fields_are_there_with_their_values() {
    let report = report(SINCE, UNTIL);
    let shown = text(&page(&report, true), 400, Colour::No);
    let all = &shown[shown.find("\nAll fields\n").unwrap()..];
    for said in [
        "parts/injector\n",
        "pieces/N2/kept-in  new: box 4",
        "- O-rings on dry.",
        "+ O-rings oiled before they go in, or they tear at the edge of the bore and nobody sees it.",
        "was called thermostat",
        "have    31 → 130",
        "takes  1 h → 60 min",
        "does   new: flush the heater",
    ] {
        let said = said.trim_end();
        assert!(all.contains(said), "{said}\n{all}");
    }
}

#[test]
fn the_answer_is_what_its_schema_says() {
    let schema = |name: &str| -> Value {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema");
        let text = std::fs::read_to_string(folder.join(name)).unwrap();
        serde_json::from_str(&text).unwrap()
    };
    let of = jsonschema::validator_for(&schema("changes.json")).unwrap();
    let answer: Value = serde_json::from_str(&changes::json(&full())).unwrap();
    let faults: Vec<String> = of.iter_errors(&answer).map(|one| one.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    assert_eq!(answer["since"]["when"], "2026-03-01T21:10:00+01:00");
    // A conflict is what `check` finds, in the very same form.
    let mut findings = schema("findings.json");
    findings["$ref"] = "#/$defs/Finding".into();
    for key in ["type", "required", "properties", "additionalProperties"] {
        findings.as_object_mut().unwrap().remove(key);
    }
    let of = jsonschema::validator_for(&findings).unwrap();
    for one in [
        &answer["conflicts"]["opened"][0],
        &answer["conflicts"]["cleared"][0]["finding"],
    ] {
        assert!(one.is_object() && of.is_valid(one), "{one}");
    }
    assert!(!of.is_valid(&answer));
}

/// Texts that would be markup, move a cursor, hide, or run on.
const HOSTILE: &[&str] = &[
    "# <b>*x*",
    "- one",
    "1. one",
    "12) one",
    "> said",
    "---",
    "===",
    "```sh",
    "~~~",
    "    code",
    "a\n\n# b\n",
    "a  \nb",
    "[x](javascript:alert(1))",
    "![x](http://example.org/x.png)",
    "[x]: http://example.org",
    "<script>alert(1)</script>",
    "</style></title><img src=x onerror=alert(1)>",
    "<!-- x",
    "&lt;b&gt; &amp; &#35;",
    "a\\",
    "\\*x*",
    "`x` ``y`` ```z```",
    "__x__ _y_ ~~z~~",
    "<http://example.org>",
    "{{ title }} {% for x in y %}",
    "|a|b|\n|-|-|",
    "\u{1b}[2J\u{1b}]0;x\u{7}",
    "a\u{202e}b\u{200b}c",
    "\"'/ onload='x'",
    "#",
    "x #",
    "x ##",
    "+",
    "*",
    "箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱",
    "unbreakableunbreakableunbreakableunbreakableunbreakableunbreakableunbreakableunbreakableunbreakable",
];

#[test]
fn hostile_words_show_as_themselves_in_text() {
    for words in HOSTILE {
        for width in [40, 63, 80, 120] {
            let shown = text(&all(words), width, Colour::No);
            for line in shown.lines() {
                assert!(line.width() <= width, "{width}: {line}");
                assert_eq!(safe::safe(line), line);
            }
            let squeezed = |text: &str| text.replace([' ', '\n'], "");
            let count = squeezed(&shown)
                .matches(&squeezed(&safe::safe(words)))
                .count();
            assert!(count >= 12, "{words:?}: {count} in\n{shown}");
        }
    }
}

#[test]
fn a_line_of_a_text_keeps_what_it_is_set_in_by() {
    let lines = ["- one", "    two and three", ""].map(|line| Line::New(line.to_owned()));
    let page = Page {
        title: "x".to_owned(),
        lead: Vec::new(),
        sections: vec![Section {
            head: "y".to_owned(),
            blocks: vec![Block::Lines(lines.to_vec())],
        }],
    };
    let shown = text(&page, 20, Colour::No);
    assert_eq!(
        shown,
        "x\n\ny\n    + - one\n    +     two and\n          three\n    +\n"
    );
}

/// Colour only adds: without it the same words stand in the same lines.
#[test]
fn colour_only_adds() {
    for words in HOSTILE.iter().chain(&["one two"]) {
        let coloured = text(&all(words), 60, Colour::Yes);
        assert!(coloured.contains('\u{1b}'));
        let plain = anstream::adapter::strip_str(&coloured).to_string();
        assert_eq!(plain, text(&all(words), 60, Colour::No));
    }
}

/// What a reader of CommonMark sees: the words of each block, and those in fences.
fn read_back(markdown: &str) -> (Vec<String>, Vec<String>) {
    let (mut words, mut fences) = (vec![String::new()], Vec::new());
    let mut in_fence = false;
    for event in Parser::new(markdown) {
        match event {
            Event::Start(Tag::CodeBlock(_)) => {
                in_fence = true;
                fences.push(String::new());
            }
            Event::End(pulldown_cmark::TagEnd::CodeBlock) => in_fence = false,
            Event::Start(Tag::Heading { .. } | Tag::Paragraph | Tag::Item | Tag::List(None))
            | Event::End(_) => words.push(String::new()),
            Event::Text(text) if in_fence => fences.last_mut().unwrap().push_str(&text),
            Event::Text(text) => words.last_mut().unwrap().push_str(&text),
            other => panic!("{other:?} in\n{markdown}"),
        }
    }
    words.retain(|text| !text.is_empty());
    (words, fences)
}

fn holds_in_markdown(words: &str) {
    let shown = safe::safe(words).replace('\n', " ");
    let shown = shown.trim();
    let made = markdown(&all(words));
    let (found, fences) = read_back(&made);
    let both = format!("{shown}: {shown}");
    let blank = "_".repeat(14);
    let line = safe::safe(words).replace('\n', " ");
    let signed = format!("{line} {blank} {line} {blank}");
    let expected = [
        shown,
        shown,
        shown,
        shown,
        shown,
        &both,
        shown,
        &both,
        shown,
        signed.trim(),
    ];
    assert_eq!(found, expected, "{words:?} in\n{made}");
    let line = line.trim_end();
    let trimmed = |text: String| text.trim_end().to_owned();
    assert_eq!(fences.len(), 4, "{made}");
    assert_eq!(
        fences[0],
        format!(
            "{}\n{}\n{}\n",
            trimmed(format!("  {line}")),
            trimmed(format!("- {line}")),
            trimmed(format!("+ {line}"))
        )
    );
    assert_eq!(fences[2], trimmed(format!("+ {line}")) + "\n");
}

/// By pulldown-cmark, which follows CommonMark (spec.commonmark.org).
#[test]
fn hostile_words_show_as_themselves_in_markdown() {
    HOSTILE.iter().for_each(|words| holds_in_markdown(words));
}

proptest::proptest! {
    #[test]
    fn any_words_show_as_themselves_in_markdown(
        words in "[!-~é \u{3000}]{0,6}[-+*_`#<>&\\[\\]()!~|=:.0-9a \\\\\n]{1,24}[!-~]"
    ) {
        holds_in_markdown(&words);
    }
}

/// The tags of a page, in their order; none of them holds words of a record.
fn tags(html: &str) -> Vec<&str> {
    let tags = html.split('<').skip(1);
    tags.map(|tag| tag.split('>').next().unwrap()).collect()
}

/// With `PAGES_TO` the pages go to that folder, for a validator and a browser.
#[test]
fn hostile_words_are_no_markup_in_html() {
    // Only how figures and words break hangs on their length.
    let whole = |html: String| {
        let html = html.replace("\"figure\"", "\"figure whole\"");
        [" class=\"phone\"", " class=\"paper\""]
            .iter()
            .fold(html, |html, class| html.replace(class, ""))
    };
    let harmless = whole(html(&all("one two")));
    if let Some(folder) = std::env::var_os("PAGES_TO") {
        std::fs::create_dir_all(&folder).unwrap();
        for (number, words) in HOSTILE.iter().enumerate() {
            let path = Path::new(&folder).join(format!("hostile-{number}.html"));
            std::fs::write(path, html(&all(words))).unwrap();
        }
    }
    for words in HOSTILE {
        let made = whole(html(&all(words)));
        assert_eq!(tags(&made), tags(&harmless), "{words:?}");
        assert_eq!(made.lines().next(), Some("<!DOCTYPE html>"));
        let shown = safe::safe(words).replace('\n', " ");
        let escaped = |text: &str| {
            let text = text
                .replace('&', "&amp;")
                .replace('<', "&lt;")
                .replace('>', "&gt;");
            text.replace('"', "&quot;")
                .replace('\'', "&#x27;")
                .replace('/', "&#x2f;")
        };
        assert!(
            made.matches(&escaped(&shown)).count() >= 16,
            "{words:?}\n{made}"
        );
    }
}
