//! The first page for somebody who is handed the folder, and the job sheet.
//!
//! `tests/first_page/` holds the example build's page and sheet, to be judged by eye:
//! `UPDATE=1 cargo test --test first_page` writes them anew.

#![allow(clippy::disallowed_methods)]

use std::path::Path;

use jiff::civil::date;
use matchmark::folder::{Content, Folder, RawFile};
use matchmark::model::job::JobState;
use matchmark::present::{Present, Worked};
use matchmark::render::job_sheet::{JobLine, Sheet, csv};
use matchmark::render::page::{html, markdown, text};
use matchmark::render::text::Colour;
use matchmark::report::handover::{For, page};
use matchmark::report::page::Page;

fn folder(files: &[(&str, &str)]) -> Folder {
    let raw = files.iter().map(|(path, text)| RawFile {
        path: (*path).to_owned(),
        content: Content::Bytes(text.as_bytes().to_vec()),
    });
    Folder::read(raw.collect()).unwrap()
}

fn example() -> Folder {
    let mut files = Vec::new();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("example-build");
    for kind in std::fs::read_dir(&root).unwrap() {
        let path = kind.unwrap().path();
        let all = match path.is_dir() {
            true => std::fs::read_dir(&path)
                .unwrap()
                .map(|file| file.unwrap().path())
                .collect(),
            false => vec![path],
        };
        let yaml = all
            .into_iter()
            .filter(|path| path.extension().is_some_and(|ext| ext == "yaml"));
        files.extend(yaml.map(|path| {
            let name = path
                .strip_prefix(&root)
                .unwrap()
                .to_str()
                .unwrap()
                .replace('\\', "/");
            (name, std::fs::read_to_string(path).unwrap())
        }));
    }
    files.sort();
    let files: Vec<(&str, &str)> = files
        .iter()
        .map(|(name, text)| (&**name, &**text))
        .collect();
    folder(&files)
}

fn page_of(folder: &Folder, to: Option<&str>) -> Page {
    let present = Present::of(folder);
    let worked = Worked {
        folder,
        present: &present,
    };
    page(
        worked,
        &For {
            name: "2026-04-12-1".to_owned(),
            to: to.map(str::to_owned),
            left_out: vec!["prices of 4 donors".to_owned()],
        },
    )
}

fn sheet_of(folder: &Folder) -> String {
    let present = Present::of(folder);
    csv(Worked {
        folder,
        present: &present,
    })
}

/// The page of a small folder in one line, so that a sentence can be looked for.
fn said(files: &[(&str, &str)]) -> String {
    let text = text(&page_of(&folder(files), Some("helper")), 80, Colour::No);
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn is_as_kept(name: &str, made: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/first_page")
        .join(name);
    if std::env::var_os("UPDATE").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, made).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(made, kept, "{name}: read what changed, then UPDATE=1");
}

#[test]
fn the_example_builds_page() {
    let page = page_of(&example(), Some("helper"));
    let made = text(&page, 80, Colour::No);
    is_as_kept("example.txt", &made);
    is_as_kept("example.md", &markdown(&page));
    // Two sheets of paper at 66 lines each, a common printer's page.
    let lines = made.lines().count();
    assert!(lines <= 132, "{lines} lines");
    if let Some(folder) = std::env::var_os("PAGES_TO") {
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(Path::new(&folder).join("first.html"), html(&page)).unwrap();
    }
}

#[test]
fn of_what_nothing_says_it_is_said_that_nothing_says_it() {
    let said = said(&[("build.yaml", "name: Wren\n")]);
    for words in [
        "Read this first: Wren",
        "nothing is written of when it is connected",
        "nothing is written of stands",
        "nothing is written of any: take it that none is in and nothing is bled",
        "nothing is written of an assembly that is in it",
        "nothing is written of any; look into every opening",
        "No joint is written down: take every one for loose.",
        "No job is open.",
        "Nothing is written of parts that are out.",
        "no joint of these is written",
        "WARNING: brakes, steering, fuel",
        "prices of 4 donors",
    ] {
        assert!(said.contains(words), "`{words}` is not in:\n{said}");
    }
}

/// A page and the sentences that must stand on it.
const SAID: &[(&str, &str, &[&str])] = &[
    (
        "assemblies/all.yaml",
        "brakes:\n  in: car\n  critical: brakes\n  fills:\n    - {what: fluid, when: 2026-03-01, filled: 1 L}\n    - {what: old-fluid, when: 2026-01-01, until: 2026-02-01}\n  joints:\n    pipe:\n      clamps: [brakes]\n      steps: [8 N·m, 12 N·m]\n      holes:\n        a: {done: [{as: final, when: 2026-03-01, steps: 1}]}\n        b: {done: [{as: final, when: 2026-03-01, steps: 2, by: builder, checked-by: helper}]}\n        c: {done: [{as: mock-up, when: 2026-03-01}]}\n        d: {holds: stripped thread}\n",
        &[
            "critical (brakes): of 4 holes 1 tightened for mock-up only, 1 half tightened (1 of 2 steps), 1 never tightened",
            "brakes: 1 L of fluid since 2026-03-01, nothing is written of bleeding",
            "brakes: no old-fluid, drained on 2026-02-01",
            "brakes of 4 holes 1 tight for good, 1 of them checked twice; not finished, do not rely on it",
            "brakes/pipe/d (stripped thread)",
        ],
    ),
    (
        "assemblies/all.yaml",
        "engine:\n  in: car\n  mounted: [{as: mock-up, when: 2026-03-01}]\n  closed: [{when: 2026-03-02}]\n  blanks: [{what: rag, where: port 2, put-in: 2026-03-01}, {what: cap, where: sump, taken-out: 2026-03-01}]\n  temporary: [{what: prop, where: under the sump}, {what: tack weld, where: bracket}]\n  places: {head: {}, cover: {optional: true}}\n  fills: [{what: oil, when: 2026-03-01, bled: false}]\n",
        &[
            "prop under the sump (engine)",
            "tack weld bracket (engine)",
            "rag at port 2 (engine)",
            "engine for mock-up only since 2026-03-01",
            "closed, not to be opened engine",
            "1 place is empty: engine 1",
            "engine: oil since 2026-03-01, NOT bled",
        ],
    ),
    (
        "jobs/all.yaml",
        "a-last: {does: paint it, needs: [jobs/b-half]}\nb-half: {does: tap the hole, state: half done, left-as: drilled only}\nc-mine: {does: fit the lamp, for: helper}\nd-done: {does: no more, state: done}\npower: {kind: power-up, does: battery on}\nplate: {kind: send-out, to: the plater, sent: 2026-03-01, due: 2026-03-09, lines: [{what: fasteners/bolt}]}\nnew: {kind: order, from: Quay Parts, ordered: 2026-03-01, does: seals}\n",
        &[
            "off as far as is written, and not to be connected: power is not done",
            "c-mine fit the lamp",
            "b-half tap the hole; HALF DONE, left as: drilled only",
            "a-last paint it; waits for b-half",
            "plate fasteners/bolt, with the plater, due 2026-03-09",
            "new seals, with Quay Parts",
        ],
    ),
    (
        "decisions/all.yaml",
        "old: {asks: Which fan?, options: {a: {}, b: {}}, chosen: a}\nnew: {asks: Which fan now?, options: {a: {}, b: {}}, chosen: b, instead-of: old}\nopen: {asks: Which hose?, state: open}\n",
        &["Which fan now? b, not a"],
    ),
];

#[test]
fn what_the_records_say_is_said() {
    for (path, records, words) in SAID {
        let said = said(&[("build.yaml", "name: Wren\n"), (path, records)]);
        for words in *words {
            assert!(said.contains(words), "`{words}` is not in:\n{said}");
        }
        for never in ["d-done", "cap at sump", "Which fan? ", "Which hose"] {
            assert!(!said.contains(never), "`{never}` is in:\n{said}");
        }
    }
    let (path, records, _) = SAID[2];
    let said = said(&[("build.yaml", "name: Wren\n"), (path, records)]);
    let at = |word: &str| said.find(word).unwrap();
    assert!(at("c-mine fit") < at("b-half tap") && at("b-half tap") < at("a-last paint"));
}

#[test]
fn the_example_builds_sheet() {
    let made = sheet_of(&example());
    // Kept with the line ends of the other files here.
    is_as_kept("jobs.csv", &made.replace("\r\n", "\n"));
    assert!(made.starts_with('\u{feff}'));
    assert_eq!(made.matches("\r\n").count(), made.matches('\n').count());
    // Read by the csv crate: as many cells in every line.
    let mut rows = csv_reader(&made);
    let heads = rows.headers().unwrap().len();
    assert!(rows.records().all(|row| row.unwrap().len() == heads));
    assert_eq!(Sheet::read(made.as_bytes()), Ok(Sheet::default()));
}

fn csv_reader(text: &str) -> ::csv::Reader<&[u8]> {
    ::csv::Reader::from_reader(text.trim_start_matches('\u{feff}').as_bytes())
}

#[test]
fn formulas_do_nothing_and_come_back() {
    let made = sheet_of(&folder(&[
        ("build.yaml", "name: Wren\n"),
        (
            "jobs/all.yaml",
            "a: {does: \"=HYPERLINK(1)\", left-as: \"-1, \\\"x\\\"\"}\n",
        ),
    ]));
    assert!(made.contains("'=HYPERLINK(1)"), "{made}");
    assert!(made.contains("\"'-1, \"\"x\"\"\""), "{made}");
    let filled = made.replace(
        "\"'-1, \"\"x\"\"\",,,",
        "\"'-1, \"\"x\"\"\",,,done,'=left,2026-03-01,",
    );
    let read = Sheet::read(filled.as_bytes()).unwrap();
    assert_eq!(read.lines[0].left_as.as_deref(), Some("=left"), "{filled}");
}

const HEAD: &str = "job,what to do,is now,was left as,waits for,takes,state (x),left as,done (day),worked,hours,by,note";

fn whole() -> JobLine {
    JobLine {
        line: 2,
        job: "insert-rear".to_owned(),
        state: Some(JobState::HalfDone),
        left_as: Some("drilled; not tapped".to_owned()),
        done: None,
        worked: Some(date(2026, 3, 1)),
        spent: Some("1.5 h".to_owned()),
        by: Some("helper".to_owned()),
        note: Some("größer".to_owned()),
    }
}

#[test]
fn a_sheet_comes_back_as_any_program_writes_it() {
    let row = "insert-rear,x,open,,,,half done,drilled; not tapped,,2026-03-01,1.5,helper,größer";
    let plain = format!("{HEAD}\n{row}\n");
    let cells = |with: &str, quote: bool| {
        let lines = plain.lines().map(|line| {
            let cells = line
                .split(',')
                .map(|cell| match quote || cell.contains(with) {
                    true => format!("\"{cell}\""),
                    false => cell.to_owned(),
                });
            cells.collect::<Vec<_>>().join(with)
        });
        lines.collect::<Vec<_>>().join("\r\n")
    };
    let utf16: Vec<u8> = format!("\u{feff}{}", cells("\t", false))
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    for bytes in [
        plain.clone().into_bytes(),
        format!("\u{feff}{plain}").into_bytes(),
        cells(";", false).into_bytes(),
        cells("\t", false).into_bytes(),
        cells(",", true).into_bytes(),
        cells(";", true).into_bytes(),
        utf16,
        plain.replace("half done", "Half-Done ").into_bytes(),
        plain.replace("1.5", "\"1,5\"").into_bytes(),
        plain.replace("1.5,", "1.5 h,").into_bytes(),
        plain.replace("2026-03-01", "1.3.2026").into_bytes(),
        plain
            .replace("2026-03-01", "2026-03-01 00:00:00")
            .into_bytes(),
        plain.replace("2026-03-01", "1-Mar-2026").into_bytes(),
        plain.replace("2026-03-01", "2026/3/1").into_bytes(),
    ] {
        let read = Sheet::read(&bytes).unwrap();
        assert_eq!(read.slips, [], "{}", String::from_utf8_lossy(&bytes));
        assert_eq!(read.lines, [whole()]);
    }
    let read = Sheet::read(format!("sep=;\r\n{}", cells(";", true)).as_bytes()).unwrap();
    assert_eq!(read.lines, [JobLine { line: 3, ..whole() }]);
    // Only what is filled in, whatever order its columns have.
    let read = Sheet::read(b"state;job\ndone;a\n;b\n;;\n").unwrap();
    assert_eq!((read.lines.len(), &*read.lines[0].job), (1, "a"));
}

#[test]
fn of_a_line_with_a_slip_nothing_is_taken_and_the_others_are() {
    for (row, what) in [
        ("a,,,,,,finished,,,,,,", "`finished` is no state of a job"),
        (
            "a,,,,,,,,03/04/2026,,,,",
            "`03/04/2026` may be 2026-04-03 or 2026-03-04",
        ),
        (
            "a,,,,,,,,2026-02-30,,,,",
            "`2026-02-30` is no day of the calendar",
        ),
        (
            "a,,,,,,,,1.3.26,,,,",
            "`1.3.26` has no year of four figures",
        ),
        ("a,,,,,,,,soon,,,,", "`soon` is no day"),
        ("a,,,,,,,,,,2,,", "the hours have no day"),
        (
            "a,,,,,,,,2026-03-01,,two,,",
            "`two` is no time that somebody worked",
        ),
        (
            "a,,,,,,,,2026-03-01,,24 N·m,,",
            "`24 N·m` is no time that somebody worked",
        ),
        (
            "a,,,,,,,,2026-03-01,,0,,",
            "`0` is no time that somebody worked",
        ),
        (",,,,,,done,,,,,,", "it does not say for which job"),
        ("b,,,,,,done,,,,,,", "`b` stands on two lines"),
        ("a,,,,,,done,,,,,,,more", "`more` stands beside the sheet"),
    ] {
        let sheet = format!("{HEAD}\nb,,,,,,open,,,,,,\n\n{row}\nc,,,,,,,,13/04/2026,,1:30,,\n");
        let read = Sheet::read(sheet.as_bytes()).unwrap();
        let slips: Vec<_> = read
            .slips
            .iter()
            .map(|slip| (slip.line, &*slip.what))
            .collect();
        assert_eq!(slips, [(4, what)]);
        assert!(!read.slips[0].remedy.is_empty());
        let jobs: Vec<&str> = read.lines.iter().map(|line| &*line.job).collect();
        assert_eq!(jobs, ["b", "c"], "{row}");
        assert_eq!(read.lines[1].done, Some(date(2026, 4, 13)));
        assert_eq!(read.lines[1].spent.as_deref(), Some("90 min"));
    }
    for none in [
        "",
        "a,b\n1,2\n",
        "job,what to do\na,x\n",
        "job,state,state\n",
    ] {
        assert!(Sheet::read(none.as_bytes()).is_err(), "{none}");
    }
    assert!(
        Sheet::read(b"job,state\na,d\xf6ne\n")
            .unwrap_err()
            .what
            .contains("UTF-8")
    );
    let read = Sheet::read(b"job,state,colour\na,,red\nb,,\n").unwrap();
    assert_eq!(
        read.slips[0].what,
        "the column `colour` is none of a job sheet"
    );
}
