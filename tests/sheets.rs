//! Sheets as they are printed: torque, send-out, orders.
//!
//! `tests/sheets/build` is an invented build with every sort of joint, line and order;
//! `tests/sheets/` holds its sheets in every form, to be judged by eye: `UPDATE=1 cargo test
//! --test sheets` writes them anew. What stands on a sheet is held to the records by another
//! YAML reader, and to the factors of NIST SP 811 by arithmetic of its own.

#![allow(clippy::disallowed_methods)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use matchmark::render::safe;
use pulldown_cmark::{Event, Parser, Tag};
use serde_json::Value;
use unicode_width::UnicodeWidthStr;

/// Exit code, standard output, standard error.
type Ran = (i32, String, String);

const AS_OF: &str = "2026-03-08";
const FORMS: [(&str, &str); 4] = [
    ("text", "txt"),
    ("markdown", "md"),
    ("html", "html"),
    ("csv", "csv"),
];
/// What is typed for each sheet of the build of this test.
const SHEETS: [&[&str]; 3] = [&["torque"], &["send-out", "plating-1"], &["orders"]];

fn root(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn sheet(folder: &Path, args: &[&str]) -> Ran {
    let output = Command::cargo_bin("matchmark")
        .unwrap()
        .arg("sheet")
        .args(args)
        .args(["--as-of", AS_OF])
        .current_dir(folder)
        .output()
        .unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

/// What is printed when all is well.
fn shown(folder: &Path, args: &[&str]) -> String {
    let (code, out, err) = sheet(folder, args);
    assert_eq!((code, err.as_str()), (0, ""), "{args:?}");
    out
}

fn shown_as(folder: &Path, args: &[&str], form: &str) -> String {
    let args: Vec<&str> = args.iter().copied().chain(["--format", form]).collect();
    shown(folder, &args)
}

/// A copy of a build folder, to be changed.
fn copied(from: &Path) -> tempfile::TempDir {
    fn copy(from: &Path, to: &Path) {
        std::fs::create_dir_all(to).unwrap();
        for entry in std::fs::read_dir(from).unwrap() {
            let path = entry.unwrap().path();
            let to = to.join(path.file_name().unwrap());
            match path.is_dir() {
                true => copy(&path, &to),
                false => drop(std::fs::copy(&path, &to).unwrap()),
            }
        }
    }
    let folder = tempfile::tempdir().unwrap();
    copy(from, folder.path());
    folder
}

fn change(folder: &Path, file: &str, from: &str, to: &str) {
    let path = folder.join(file);
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.contains(from), "{file}: {from}");
    std::fs::write(path, text.replacen(from, to, 1)).unwrap();
}

/// Compares with what is kept, or keeps it.
fn kept(name: &str, made: &str) {
    let path = root("tests/sheets").join(name);
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(&path, made.replace('\r', "")).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap();
    let made = made.replace('\r', "");
    assert!(kept == made, "tests/sheets/{name} is another:\n{made}");
}

/// With `PAGES_TO` the HTML goes to that folder, for a validator and a browser.
#[test]
fn every_sheet_in_every_form() {
    let build = root("tests/sheets/build");
    for args in SHEETS {
        for (form, ending) in FORMS {
            let made = shown_as(&build, args, form);
            kept(&format!("{}.{ending}", args[0]), &made);
            if let (Some(folder), "html") = (std::env::var_os("PAGES_TO"), form) {
                std::fs::create_dir_all(&folder).unwrap();
                let path = Path::new(&folder).join(format!("sheet-{}.html", args[0]));
                std::fs::write(path, made).unwrap();
            }
        }
    }
}

/// The README shows a sheet of the example build. `UPDATE=1` takes it over.
#[test]
fn the_readme_shows_a_sheet_as_it_is() {
    let readme = std::fs::read_to_string(root("README.md")).unwrap();
    let (before, rest) = readme.split_once("<!-- sheet: ").unwrap();
    let (typed, rest) = rest.split_once(" -->\n```text\n").unwrap();
    let (_, after) = rest.split_once("```\n").unwrap();
    let typed: Vec<&str> = typed.split(' ').collect();
    let page = shown(&root("example-build"), &typed);
    let typed = typed.join(" ");
    let anew = format!("{before}<!-- sheet: {typed} -->\n```text\n{page}```\n{after}");
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(root("README.md"), &anew).unwrap();
    }
    let kept = std::fs::read_to_string(root("README.md")).unwrap();
    assert!(kept == anew, "the sheet in README.md is another:\n{page}");
}

#[test]
fn no_line_is_wider_than_a_page() {
    for (folder, job) in [
        ("tests/sheets/build", "plating-1"),
        ("example-build", "plating-1"),
    ] {
        for args in [&["torque"][..], &["send-out", job], &["orders"]] {
            let text = shown(&root(folder), args);
            for line in text.lines() {
                assert!(line.width() <= 80, "{folder} {args:?}: {line}");
            }
        }
    }
}

/// The files of a kind, by another reader.
fn records(folder: &Path, kind: &str) -> BTreeMap<String, Value> {
    let mut all = BTreeMap::new();
    for entry in std::fs::read_dir(folder.join(kind)).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|ending| ending != "yaml") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let of: BTreeMap<String, Value> = serde_yaml::from_str(&text).unwrap();
        all.extend(of);
    }
    all
}

/// The lines of a sheet for a spreadsheet, each by its heads.
fn lines(csv: &str) -> Vec<BTreeMap<String, String>> {
    let text = csv.strip_prefix('\u{feff}').expect("a byte-order mark");
    let mut reader = csv::ReaderBuilder::new().from_reader(text.as_bytes());
    let heads = reader.headers().unwrap().clone();
    let rows = reader.records().map(|row| {
        let row = row.unwrap();
        heads
            .iter()
            .map(str::to_owned)
            .zip(row.iter().map(str::to_owned))
            .collect()
    });
    rows.collect()
}

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_default()
}

fn list(value: &Value) -> Vec<Value> {
    value.as_array().cloned().unwrap_or_default()
}

/// Each joint, hole and step of the records, and nothing else.
#[test]
fn every_joint_hole_and_step_is_on_the_torque_sheet() {
    for folder in ["tests/sheets/build", "example-build"] {
        let folder = root(folder);
        let page = shown(&folder, &["torque"]);
        let csv = lines(&shown_as(&folder, &["torque"], "csv"));
        let mut wanted = BTreeSet::new();
        let (mut joints, mut holes) = (0, 0);
        for (id, assembly) in records(&folder, "assemblies") {
            for (name, joint) in assembly["joints"].as_object().into_iter().flatten() {
                joints += 1;
                let whole = format!("{id}/{name}");
                let mut heads = page.lines().filter(|line| {
                    let head = line.split([' ', ':']).next();
                    !line.starts_with(' ') && head == Some(whole.as_str())
                });
                assert!(heads.next().is_some() && heads.next().is_none(), "{whole}");
                let section = page.split(&format!("\n{whole}")).nth(1).unwrap();
                let section = section.split("\n\n").next().unwrap();
                let of_joint = joint["holes"].as_object().into_iter().flatten();
                if joint["holes"].is_null() {
                    wanted.insert((whole.clone(), String::new(), String::new(), String::new()));
                }
                for (hole, record) in of_joint {
                    holes += 1;
                    let calls_for = text(record, "calls-for");
                    assert!(section.contains(calls_for), "{whole}/{hole}: {section}");
                    let row = section.lines().filter(|line| {
                        let mut words = line.split_whitespace();
                        let first = words.next();
                        let second = words.next();
                        let boxed =
                            line.contains("[ ]") || line.contains("[x]") || line.contains('–');
                        boxed && (first == Some(hole) || second == Some(hole))
                    });
                    assert_eq!(row.count(), 1, "{whole}/{hole}: {section}");
                    for (key, wanted_for) in [
                        ("steps", "used hardware"),
                        ("steps-for-new", "new hardware"),
                    ] {
                        let differ = !joint["steps-for-new"].is_null()
                            && joint["steps"] != joint["steps-for-new"];
                        let wanted_for = if differ { wanted_for } else { "" };
                        if key == "steps-for-new" && !differ {
                            continue;
                        }
                        for (number, step) in list(&joint[key]).iter().enumerate() {
                            let step = step.as_str().unwrap();
                            // A long one goes on below.
                            let mut words = step.split(' ');
                            assert!(words.all(|word| section.contains(word)), "{whole}: {step}");
                            wanted.insert((
                                whole.clone(),
                                hole.clone(),
                                format!("{} {wanted_for}", number + 1),
                                step.to_owned(),
                            ));
                        }
                        if joint[key].is_null() {
                            wanted.insert((
                                whole.clone(),
                                hole.clone(),
                                String::new(),
                                String::new(),
                            ));
                        }
                    }
                }
            }
        }
        let got = csv.iter().map(|line| {
            let step = match line["step"].as_str() {
                "" => String::new(),
                step => format!("{step} {}", line["steps for"]),
            };
            let (joint, hole) = (line["joint"].clone(), line["hole"].clone());
            (joint, hole, step, line["as printed"].clone())
        });
        let got: Vec<_> = got.collect();
        assert_eq!(got.len(), wanted.len());
        assert_eq!(got.into_iter().collect::<BTreeSet<_>>(), wanted);
        assert!(
            page.contains(&format!("{joints} joints with {holes} holes")),
            "{page}"
        );
        assert!(joints > 6);
    }
}

/// A torque in newton metres, by the factors of NIST SP 811, appendix B.8 (seen as coded in
/// CRAN NISTunits 1.0.1); those of the pounds are exact by 0.3048 m and 4.4482216152605 N.
fn factor(unit: &str) -> f64 {
    match unit {
        "N·m" => 1.0,
        "lb-ft" => 0.3048 * 4.448_221_615_260_5,
        "lb-in" => 0.0254 * 4.448_221_615_260_5,
        "kgf·m" => 9.80665,
        other => panic!("{other}"),
    }
}

/// The figures of a torque: one, or the two ends, or one and its tolerance.
fn figures(text: &str) -> Vec<f64> {
    let parts = text.split(['–', '±', ' ']).filter(|part| !part.is_empty());
    parts
        .map(|part| part.parse().unwrap_or_else(|_| panic!("{text}")))
        .collect()
}

/// Every figure on the sheet is the book's, or the book's in another unit to half of the last
/// digit that is shown.
#[test]
fn figures_are_the_books_or_its_own_in_another_unit() {
    let (mut printed, mut worked_out) = (0, 0);
    for folder in ["tests/sheets/build", "example-build"] {
        for line in lines(&shown_as(&root(folder), &["torque"], "csv")) {
            let step = &line["as printed"];
            let plain = |text: &str| {
                text.trim()
                    .strip_suffix(')')
                    .unwrap_or(text.trim())
                    .to_owned()
            };
            // `46 N·m (34 lb-ft)`: a figure and a unit each.
            let printings: Vec<(String, String)> = step
                .split(['(', ','])
                .map(plain)
                .filter_map(|one| {
                    let (figure, unit) = one.rsplit_once(' ')?;
                    let known = ["N·m", "lb-ft", "lb-in", "kgf·m"].contains(&unit);
                    known.then(|| (figure.to_owned(), unit.to_owned()))
                })
                .collect();
            for (what, unit) in [("set to", "unit"), ("other", "other unit")] {
                let unit = &line[unit];
                let (as_printed, made) = (
                    &line[&format!("{what} (printed)")],
                    &line[&format!("{what} (worked out)")],
                );
                let own = printings.iter().find(|(_, printed)| printed == unit);
                if printings.is_empty() {
                    assert!(as_printed.is_empty() && made.is_empty(), "{line:?}");
                } else if let Some((figure, _)) = own {
                    assert_eq!((as_printed, made.as_str()), (figure, ""), "{line:?}");
                    printed += 1;
                } else {
                    assert!(as_printed.is_empty(), "{line:?}");
                    let (figure, from) = &printings[0];
                    let (given, shown) = (figures(figure), figures(made));
                    assert_eq!(given.len(), shown.len(), "{line:?}");
                    let digits = made.split(['–', '±', ' ']).next().unwrap();
                    let decimals = digits.split_once('.').map_or(0, |(_, part)| part.len());
                    let half = 0.5 / 10_f64.powi(i32::try_from(decimals).unwrap());
                    for (given, shown) in given.iter().zip(&shown) {
                        let exact = given * factor(from) / factor(unit);
                        assert!((exact - shown).abs() <= half + 1e-6, "{line:?}: {exact}");
                    }
                    worked_out += 1;
                }
            }
        }
    }
    assert!(printed > 30 && worked_out > 30, "{printed} {worked_out}");
}

/// Which wrenches cover a step, worked out from build.yaml by another reader.
#[test]
fn a_wrench_is_named_where_it_covers_the_step() {
    for folder in ["tests/sheets/build", "example-build"] {
        let folder = root(folder);
        let build = std::fs::read_to_string(folder.join("build.yaml")).unwrap();
        let build: Value = serde_yaml::from_str(&build).unwrap();
        let torque = |text: &str| {
            let (figure, unit) = text.rsplit_once(' ').unwrap();
            figure.parse::<f64>().unwrap() * factor(unit)
        };
        for line in lines(&shown_as(&folder, &["torque"], "csv")) {
            let figure = match line["set to (printed)"].as_str() {
                "" => &line["set to (worked out)"],
                _ => &line["set to (printed)"],
            };
            if figure.is_empty() {
                assert_eq!(line["wrench"], "");
                continue;
            }
            let given = figures(figure);
            let aim = match (figure.contains('–'), given.as_slice()) {
                (true, [from, to]) => (from + to) / 2.0,
                (_, all) => all[0],
            };
            let aim = aim * factor(&line["unit"]);
            let named = |wrench: &str| line["wrench"].split([' ', ',']).any(|word| word == wrench);
            let mut any = false;
            for (name, wrench) in build["wrenches"].as_object().unwrap() {
                let (from, to) = (torque(text(wrench, "from")), torque(text(wrench, "to")));
                let covers = aim >= from.max(to * 0.2) - 1e-3 && aim <= to + 1e-3;
                assert_eq!(named(name), covers, "{name}: {line:?}");
                any |= covers;
            }
            assert_eq!(line["wrench"] == "NONE COVERS IT", !any);
        }
    }
}

/// Every line of a send-out, and each check that was ordered.
#[test]
fn every_line_of_a_send_out_is_on_its_sheet() {
    for folder in ["tests/sheets/build", "example-build"] {
        let folder = root(folder);
        let args = &["send-out", "plating-1"];
        let job = &records(&folder, "jobs")["plating-1"];
        let page = shown(&folder, args);
        let csv = lines(&shown_as(&folder, args, "csv"));
        let of_job = list(&job["lines"]);
        assert_eq!(csv.len(), of_job.len());
        for (line, record) in csv.iter().zip(&of_job) {
            let name = text(record, "what").split_once('/').unwrap().1;
            assert_eq!(line["what"], name);
            assert!(page.contains(&format!("{name}:")), "{page}");
            for (head, key) in [
                ("out", "out"),
                ("back", "back"),
                ("lost", "lost"),
                ("unfit", "rejected"),
            ] {
                let count = record[key]
                    .as_u64()
                    .map_or(String::new(), |count| count.to_string());
                assert_eq!(line[head], count, "{name} {head}");
            }
        }
        let ordered: usize = of_job
            .iter()
            .chain([job])
            .map(|one| list(&one["checks"]).len())
            .sum();
        let ticks = page.lines().filter(|line| line.trim_end().ends_with("[ ]"));
        assert_eq!(ticks.count(), ordered);
    }
}

/// The edition that each sentence on hydrogen stands on is named; an ordinary bolt has none.
#[test]
fn hard_hardware_has_its_caution_with_the_edition() {
    let csv = lines(&shown_as(&root("tests/sheets/build"), SHEETS[1], "csv"));
    let of = |name: &str| {
        let line = csv.iter().find(|line| line["what"] == name);
        line.unwrap()["baking"].clone()
    };
    assert!(of("bolt-m10-35").starts_with("NOTICE: class 10.9. ISO 4042:1999"));
    for (name, why) in [("bolt-caliper", "class 12.9"), ("clip-12", "spring steel")] {
        let says = of(name);
        assert!(says.starts_with(&format!("CAUTION: {why}")), "{says}");
        assert!(
            says.contains("ISO 4042:2018") && says.contains("B850-98(2009)"),
            "{says}"
        );
    }
    assert_eq!(of("caliper-left/K1"), "");
    let folder = copied(&root("tests/sheets/build"));
    let class = |class: &str| {
        change(
            folder.path(),
            "fasteners/all.yaml",
            "across-flats: 14 mm, class: \"10.9\", finish: zinc, have: 3",
            &format!("class: {class}, have: 3"),
        );
        let csv = lines(&shown_as(folder.path(), SHEETS[1], "csv"));
        change(
            folder.path(),
            "fasteners/all.yaml",
            &format!("class: {class}, have: 3"),
            "across-flats: 14 mm, class: \"10.9\", finish: zinc, have: 3",
        );
        csv[0]["baking"].split(':').next().unwrap().to_owned()
    };
    // Risk by class as printed in ISO 898-1 (320, 380 and 435 HV at most; seen in a copy).
    assert_eq!(class("\"8.8\""), "");
    assert_eq!(class("\"12.9\""), "CAUTION");
    assert_eq!(class("\"8.8\", hardness: 400 HV"), "CAUTION");
    assert_eq!(class("\"8.8\", hardness: 330 HV"), "");
    assert_eq!(class("grade 8"), "NOTICE");
    assert_eq!(class("grade 5"), "");
    // A build may want another line, and blasting brings no hydrogen.
    change(
        folder.path(),
        "build.yaml",
        "private:",
        "figures: {bake-from: \"8.8\"}\nprivate:",
    );
    assert_eq!(class("\"8.8\""), "CAUTION");
    change(
        folder.path(),
        "jobs/all.yaml",
        "process: zinc",
        "process: soft blast",
    );
    assert_eq!(class("\"12.9\""), "");
}

/// What is private, and on the plater's copy whatever is none of a stranger's business.
#[test]
fn what_is_private_is_on_no_sheet() {
    let build = root("tests/sheets/build");
    for args in SHEETS {
        for (form, _) in FORMS {
            let made = shown_as(&build, args, form);
            for secret in ["THE-COMBINATION", "99 EUR", "310 EUR", "14 EUR"] {
                assert!(!made.contains(secret), "{args:?} {form}: {secret}");
            }
            if args[0] == "send-out" {
                for other in ["EUR", "pell-van"] {
                    assert!(!made.contains(other), "{form}: {other}");
                }
            }
        }
    }
    // Not private, and so on the sheet of orders.
    assert!(shown(&build, &["orders"]).contains("24.50 EUR"));
    let folder = copied(&build);
    change(
        folder.path(),
        "build.yaml",
        "jobs/order-11/**/price",
        "jobs/**/price",
    );
    let made = shown(folder.path(), &["orders"]);
    assert!(
        !made.contains("24.50") && !made.contains("GBP") && made.contains("at least  5 EUR"),
        "{made}"
    );
    assert!(made.contains("(not written, or"), "{made}");
    // A record that is private as a whole is not there.
    change(
        folder.path(),
        "build.yaml",
        "jobs/**/price",
        "jobs/order-9, assemblies/brakes",
    );
    assert!(!shown(folder.path(), &["orders"]).contains("order-9:"));
    assert!(!shown(folder.path(), &["torque"]).contains("brakes"));
}

#[test]
fn where_what_is_private_cant_be_told_nothing_is_printed() {
    let folder = copied(&root("tests/sheets/build"));
    change(
        folder.path(),
        "build.yaml",
        "donors/*/price",
        "\"donors/[a\"",
    );
    for args in SHEETS {
        let (code, out, err) = sheet(folder.path(), args);
        assert_eq!((code, out.as_str()), (2, ""), "{err}");
        assert!(err.contains("can't be read as a pattern"), "{err}");
    }
    change(
        folder.path(),
        "build.yaml",
        "private: [\"donors/[a\"",
        "privat: [",
    );
    let (code, out, err) = sheet(folder.path(), SHEETS[1]);
    assert_eq!((code, out.as_str()), (2, ""), "{err}");
    assert!(
        err.contains("what is private can't be told surely"),
        "{err}"
    );
    assert!(
        err.contains("to do: `matchmark check` says what is wrong in it"),
        "{err}"
    );
}

/// The last words of what stands before the first heading.
fn stamp(folder: &Path, args: &[&str]) -> String {
    let page = shown(folder, args);
    let line = page
        .lines()
        .find(|line| line.starts_with("As of "))
        .unwrap();
    let (day, stamp) = line.split_once(". Sheet ").unwrap();
    assert_eq!(day, format!("As of {AS_OF}"));
    stamp.to_owned()
}

#[test]
fn a_stamp_is_that_of_the_words_alone() {
    let folder = copied(&root("tests/sheets/build"));
    let all = |args: &[&str]| stamp(folder.path(), args);
    let before = SHEETS.map(all);
    // Another machine has it in another place, in other files.
    let other = copied(folder.path());
    std::fs::rename(
        other.path().join("jobs/all.yaml"),
        other.path().join("jobs/away.yaml"),
    )
    .unwrap();
    assert_eq!(SHEETS.map(|args| stamp(other.path(), args)), before);
    // Nothing that is on the sheet can change and leave the stamp.
    change(
        folder.path(),
        "assemblies/all.yaml",
        "steps: [85 lb-ft]",
        "steps: [86 lb-ft]",
    );
    let after = SHEETS.map(all);
    assert_ne!(after[0], before[0]);
    assert_eq!(after[1..], before[1..]);
    // What is on no sheet leaves all of them.
    change(
        folder.path(),
        "jobs/all.yaml",
        "note: THE-COMBINATION",
        "note: another",
    );
    assert_eq!(SHEETS.map(all), after);
}

#[test]
fn an_assembly_or_a_joint_can_be_asked_for() {
    let build = root("tests/sheets/build");
    let joints = |args: &[&str]| -> BTreeSet<String> {
        let csv = lines(&shown_as(&build, args, "csv"));
        csv.into_iter().map(|line| line["joint"].clone()).collect()
    };
    assert_eq!(joints(&["torque"]).len(), 7);
    assert_eq!(joints(&["torque", "car"]).len(), 7);
    assert_eq!(joints(&["torque", "engine"]).len(), 5);
    let one = joints(&["torque", "brakes/hub-nut"]);
    assert_eq!(one, BTreeSet::from(["brakes/hub-nut".to_owned()]));
    // With what goes into it.
    let inner = joints_of("example-build", "engine");
    assert!(
        inner.iter().any(|joint| !joint.starts_with("engine/")),
        "{inner:?}"
    );
    assert_eq!(
        shown(&build, &["torque", "assemblies/engine"]),
        shown(&build, &["torque", "engine"])
    );
    for (args, says) in [
        (&["torque", "engin"][..], "write `engine`"),
        (&["torque", "hub-nut"], "write `brakes/hub-nut`"),
        (&["torque", "brakes/hub-nuts"], "write `brakes/hub-nut`"),
        (&["send-out", "plating"], "write `plating-1`"),
        (
            &["send-out", "order-9"],
            "`order-9` is no send-out: its kind is `order`",
        ),
    ] {
        let (code, out, err) = sheet(&build, args);
        assert_eq!((code, out.as_str()), (2, ""), "{args:?}");
        assert!(err.contains(says) && err.contains("to do: "), "{err}");
    }
    assert_eq!(
        shown(&build, &["send-out", "jobs/plating-1"]),
        shown(&build, SHEETS[1])
    );
}

fn joints_of(folder: &str, asked: &str) -> BTreeSet<String> {
    let csv = lines(&shown_as(&root(folder), &["torque", asked], "csv"));
    csv.into_iter().map(|line| line["joint"].clone()).collect()
}

/// A build folder of these files, each with its text.
fn folder_of(files: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (path, text) in files {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    folder
}

/// The figure to set is that of the wrench named first, so that is one which can be trusted;
/// whoever takes another has its figure too.
#[test]
fn each_wrench_has_its_figure_and_a_trusted_one_stands_first() {
    let folder = folder_of(&[
        (
            "build.yaml",
            "name: Wren
wrenches:
  fine: {from: 10 N·m, to: 50 N·m, calibrated: 2024-01-01}
  feet: {from: 10 lb-ft, to: 80 lb-ft, calibrated: 2026-02-01}
  kilo: {from: 1 kgf·m, to: 12 kgf·m, calibrated: 2026-02-01}
",
        ),
        (
            "assemblies/all.yaml",
            "engine: {joints: {lid: {steps: [40 N·m, 40 N·m ±10 %, 0.5 N·m]}}}\n",
        ),
    ]);
    // 40 N·m is 29.502 lb-ft and 4.0789 kgf·m, 0.5 N·m is 0.36878 lb-ft (NIST SP 811, B.8).
    let text = shown(folder.path(), &["torque"]);
    let words: Vec<&str> = text.split_whitespace().collect();
    let words = words.join(" ");
    for row in [
        "1 40 N·m ≈ 29.5 lb-ft 40 N·m feet, kilo at ≈ 4.08 kgf·m or fine (see above)",
        "2 40 N·m ±10 % ≈ 29.5 lb-ft ±10 % 40 N·m ±10 % feet, kilo at",
        "3 0.5 N·m 0.5 N·m ≈ 0.37 lb-ft NONE COVERS IT",
    ] {
        assert!(words.contains(row), "{row}: {text}");
    }
    // A spreadsheet has the steps of a joint without holes, and nothing stands above them.
    let csv = lines(&shown_as(folder.path(), &["torque"], "csv"));
    let wrenches: Vec<&str> = csv.iter().map(|line| line["wrench"].as_str()).collect();
    let covers = "feet, kilo at ≈ 4.08 kgf·m or fine (OUT OF CALIBRATION since 2025-01-01)";
    let wide = covers.replace("kgf·m", "kgf·m ±10 %");
    assert_eq!(wrenches, [covers, &wide, "NONE COVERS IT"]);
    assert_eq!(csv[1]["other (printed)"], "40 ±10 %");
}

#[test]
fn what_a_hole_calls_for_is_told_whatever_went_in() {
    let folder = folder_of(&[
        ("build.yaml", "name: Wren\n"),
        (
            "fasteners/all.yaml",
            "stud: {form: stud, thread: M10x1.5}
nut: {form: nut, thread: M10x1.5, class: \"8\"}
other-nut: {form: nut, thread: M10x1.5, class: \"10\"}
",
        ),
        (
            "assemblies/all.yaml",
            "engine: {joints: {lid: {steps: [40 N·m], steps-for-new: [30 N·m], holes: {a: {calls-for: stud, then: nut, depth: 22 mm,
  done: [{as: final, when: 2026-03-01, steps: 1, with: small, set: 36 N·m, new: true, then: other-nut,
    adapter: {extension: 55 mm, angle: 0 deg}}]}}}}}
",
        ),
    ]);
    let text = shown(folder.path(), &["torque"]);
    let words: Vec<&str> = text.split_whitespace().collect();
    let words = words.join(" ");
    for says in [
        "with nut: nut M10x1.5, class 8",
        "other-nut went on",
        "22 mm deep here",
        "with small on an extension of 55 mm at 0 deg set to 36 N·m",
    ] {
        assert!(words.contains(says), "{says}: {text}");
    }
    // The steps that were done are those of what went in.
    let csv = lines(&shown_as(folder.path(), &["torque"], "csv"));
    let done = csv.iter().map(|line| (&*line["steps for"], &*line["done"]));
    let done: Vec<(&str, &str)> = done.collect();
    assert_eq!(done, [("used hardware", ""), ("new hardware", "x")]);
}

/// A line has come by its own day, by that of the order, or by its count.
#[test]
fn what_came_of_an_order_is_not_asked_for_again() {
    let folder = folder_of(&[
        ("build.yaml", "name: Wren\n"),
        (
            "jobs/all.yaml",
            "begun: {does: begun, needs: [jobs/part]}
over: {does: over, done: 2026-03-01}
part: {kind: order, ordered: 2026-02-01, promised: 2026-02-20, needed-by: [jobs/over], lines: [{what: parts/oil, amount: 5 l, arrived: 2026-02-15},
  {what: parts/hose, arrived: 2026-02-15}, {what: parts/nut, count: 3}]}
rest: {kind: order, state: waiting, ordered: 2026-02-01, promised: 2026-02-20, arrived: 2026-02-25, lines: [{what: parts/oil, count: 3},
  {what: parts/nut, count: 10, came: 4}]}
whole: {kind: order, ordered: 2026-02-01, promised: 2026-02-20, lines: [{what: parts/nut, count: 2, came: 2}]}
",
        ),
    ]);
    let csv = lines(&shown_as(folder.path(), &["orders"], "csv"));
    let rows = csv.iter().map(|line| {
        ["order", "count", "came", "to come", "overdue"].map(|head| line[head].as_str())
    });
    let rows: Vec<[&str; 5]> = rows.collect();
    let wanted = [
        ["part", "5 l", "5 l", "0", "16 days"],
        ["part", "1", "1", "0", "16 days"],
        ["part", "3", "0", "3", "16 days"],
        ["rest", "3", "3", "0", "16 days"],
        ["rest", "10", "4", "6", "16 days"],
        ["whole", "2", "2", "0", ""],
    ];
    assert_eq!(rows, wanted);
    assert_eq!(csv[0]["waits for it"], "begun");
    let text = shown(folder.path(), &["orders"]);
    assert!(
        text.contains("3 open orders, 2 overdue.") && text.contains("arrived   2026-02-25"),
        "{text}"
    );
    assert_eq!(text.matches("[x]").count(), 4);
}

#[test]
fn a_send_out_says_what_lacks_and_what_is_looked_for() {
    let folder = folder_of(&[
        ("build.yaml", "name: Wren\n"),
        (
            "jobs/all.yaml",
            "out: {kind: send-out, note: SECRET, lines: [{what: parts/pump, note: SECRET,
  checks: [{what: other, note: grit in the seal seat}, {what: threads, note: SECRET}]}]}
",
        ),
    ]);
    let text = shown(folder.path(), &["send-out", "out"]);
    assert!(text.contains("process  not written"), "{text}");
    assert!(
        text.contains("other: grit in the seal seat") && !text.contains("SECRET"),
        "{text}"
    );
}

/// More steps than go side by side have their boxes all the same, in an order that the names
/// do not give away.
#[test]
fn a_joint_of_many_steps_has_a_box_for_each() {
    let folder = tempfile::tempdir().unwrap();
    let steps: Vec<String> = (1..=20).map(|step| format!("{step} N·m")).collect();
    std::fs::write(folder.path().join("build.yaml"), "name: Wren\n").unwrap();
    std::fs::create_dir(folder.path().join("assemblies")).unwrap();
    let joint = format!(
        "gearbox: {{joints: {{lid: {{critical: driveline, order: [c, a], steps: [{}], holes: {{a: {{}}, b: {{}}, c: {{}}}}}}}}}}\n",
        steps.join(", ")
    );
    std::fs::write(folder.path().join("assemblies/all.yaml"), joint).unwrap();
    let text = shown(folder.path(), &["torque"]);
    // The second check has its box as well.
    assert_eq!(text.matches("[ ]").count(), 3 * (20 + 1));
    assert!(text.lines().all(|line| line.width() <= 80), "{text}");
    let holes: Vec<&str> = text
        .lines()
        .filter(|line| line.contains("[ ]"))
        .map(|line| line.split("[ ]").next().unwrap().trim())
        .collect();
    assert_eq!(holes[..3], ["1  c", "2  a", "b"]);
    assert_eq!(
        lines(&shown_as(folder.path(), &["torque"], "csv")).len(),
        60
    );
}

/// A look of one's own on the day of the work is no second look, and its box stays empty.
#[test]
fn the_second_look_is_somebody_elses_or_another_days() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("build.yaml"), "name: Wren\n").unwrap();
    std::fs::create_dir(folder.path().join("assemblies")).unwrap();
    for (look, boxes) in [
        ("checked-by: builder", 1),
        ("checked-by: helper", 2),
        ("checked: [{by: builder, when: 2026-03-02}]", 2),
        ("checked: [{by: helper, found: bad}]", 1),
        // The last one counts.
        (
            "checked: [{by: helper, found: bad}, {by: helper, when: 2026-03-03, found: good}]",
            2,
        ),
        (
            "checked: [{by: helper, when: 2026-03-03, found: bad}, {by: helper, found: good}]",
            1,
        ),
    ] {
        let joint = format!(
            "arm: {{joints: {{end: {{critical: steering, steps: [40 N·m], holes: {{a: {{done: [{{as: final, when: 2026-03-01, steps: 1, by: builder, {look}}}]}}}}}}}}}}\n"
        );
        std::fs::write(folder.path().join("assemblies/all.yaml"), joint).unwrap();
        let text = shown(folder.path(), &["torque"]);
        assert_eq!(text.matches("[x]").count(), boxes, "{look}: {text}");
    }
}

/// A field that is wrong takes nothing else of its record away.
#[test]
fn a_wrong_field_leaves_the_rest_of_its_joint() {
    let folder = copied(&root("tests/sheets/build"));
    change(
        folder.path(),
        "assemblies/all.yaml",
        "again-after: 500 km",
        "again-after: some time",
    );
    let (code, out, err) = sheet(folder.path(), &["torque", "engine/head-bolts"]);
    assert_eq!(code, 0, "{err}");
    assert!(
        out.contains("after 1 heat cycle") && !out.contains("some time"),
        "{out}"
    );
    assert!(!out.contains("THE-COMBINATION"));
}

#[test]
fn a_torn_file_is_said() {
    let folder = copied(&root("tests/sheets/build"));
    change(
        folder.path(),
        "fasteners/all.yaml",
        "bolt-head: {",
        "bolt-head: {{",
    );
    let (code, out, err) = sheet(folder.path(), &["torque"]);
    assert_eq!(code, 0);
    assert!(
        out.contains("engine/head-bolts") && err.contains("the sheet is not whole"),
        "{err}"
    );
}

/// Texts that would be markup, move a cursor, hide, run on, or be a formula.
const HOSTILE: &[&str] = &[
    "# <b>*x*",
    "</style></title><img src=x onerror=alert(1)>",
    "[x](javascript:alert(1)) ![y](http://example.org/x.png)",
    "\u{1b}[2J\u{1b}]0;x\u{7}",
    "a\u{202e}b\u{200b}c",
    "=HYPERLINK(\"http://example.org\")",
    "+1;=1+1",
    "@SUM(A1)\t=2",
    "-2+3\",\"=4",
    "```\n<script>alert(1)</script>\n[x] ticked",
    "unbreakableunbreakableunbreakableunbreakableunbreakableunbreakableunbreakableunbreakable",
    "箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱箱",
];

/// A build in which all free text is these words.
fn hostile(words: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let w = serde_json::to_string(words).unwrap();
    let files = [
        ("build.yaml", format!("name: {w}\nsources: {{book: {{title: {w}, edition: {w}}}}}\n")),
        (
            "assemblies/all.yaml",
            format!(
                "engine: {{critical: fuel, joints: {{cover: {{name: {w}, note: {w}, next-time: {w}, steps: [10 N·m, {w}, 20 N·m],
  source: {{in: book, page: {w}, note: {w}}}, into: {{class: {w}}}, clamps: [{w}], again-after: {w},
  holes: {{a: {{calls-for: bolt, note: {w}, holds: dirt, wants: {w}, done: [{{as: final, when: 2026-03-01, steps: [{w}], set: {w}, by: {w},
  checked: [{{by: {w}}}]}}]}}, b: {{calls-for: bolt, note: {w}}}}}}}}}}}\n"
            ),
        ),
        (
            "fasteners/all.yaml",
            format!("bolt: {{name: {w}, class: {w}, form: bolt, length: {w}, thread: {w}}}\n"),
        ),
        ("parts/all.yaml", format!("pump: {{name: {w}, number: {w}, material: steel}}\n")),
        ("photos/all.yaml", format!("p-1: {{file: {w}}}\n")),
        (
            "jobs/all.yaml",
            format!(
                "out: {{kind: send-out, process: zinc, does: {w}, to: {w}, masking: [{w}], lines: [{{what: fasteners/bolt, photo: p-1, masking: [{w}],
  checks: [{{what: other, should: {w}}}]}}, {{what: parts/pump}}, {{what: {w}}}]}}
buy: {{kind: order, does: {w}, from: {w}, return-by: 2027-01-01, promised: 2026-01-01, needed-by: [{w}], lines: [{{what: {w}, price: {w}}}, {{what: parts/pump, count: 2}}]}}\n"
            ),
        ),
    ];
    for (path, text) in files {
        let path = folder.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }
    folder
}

/// What is printed, whatever is said on standard error.
fn hostile_sheet(folder: &Path, args: &[&str], form: &str) -> String {
    let args: Vec<&str> = args.iter().copied().chain(["--format", form]).collect();
    let (code, out, err) = sheet(folder, &args);
    assert_eq!(code, 0, "{args:?}: {err}");
    assert_eq!(safe::safe(&err), err);
    out
}

/// The tags of a page, in their order; only how figures and words break hangs on their length.
fn tags(html: &str) -> Vec<String> {
    let tags = html.split('<').skip(1);
    let tags = tags.map(|tag| tag.split('>').next().unwrap());
    let plain = |tag: &str| tag.split(" class=").next().unwrap().to_owned();
    tags.map(plain).collect()
}

#[test]
fn hostile_words_show_as_themselves() {
    for words in HOSTILE {
        // A field that a schema refuses is not there; what refuses is a letter or figure
        // too few.
        let any = |wanted: fn(char) -> bool| words.contains(wanted);
        let harmless = hostile(
            match (any(|c| c.is_ascii_digit()), any(|c| c.is_ascii_lowercase())) {
                (true, _) => "one 2",
                (false, true) => "one two",
                (false, false) => "ONE TWO",
            },
        );
        let folder = hostile(words);
        for args in [&["torque"][..], &["send-out", "out"], &["orders"]] {
            let text = hostile_sheet(folder.path(), args, "text");
            for line in text.lines() {
                assert!(line.width() <= 80, "{args:?}: {line}");
                assert_eq!(safe::safe(line), line);
            }
            let squeezed = |text: &str| text.replace([' ', '\n'], "");
            let count = squeezed(&text)
                .matches(&squeezed(&safe::safe(words)))
                .count();
            assert!(count >= 4, "{args:?} {words:?}: {count} in\n{text}");

            let html = hostile_sheet(folder.path(), args, "html");
            let plain = hostile_sheet(harmless.path(), args, "html");
            let (html, plain) = (tags(&html), tags(&plain));
            let differ = html
                .iter()
                .zip(&plain)
                .position(|(one, other)| one != other);
            let at = |all: &[String]| {
                differ.map(|at| {
                    all[at.saturating_sub(9)..]
                        .iter()
                        .take(12)
                        .cloned()
                        .collect::<Vec<_>>()
                })
            };
            assert!(
                html == plain,
                "{args:?} {words:?} {:?} {:?} {:?}",
                differ,
                at(&html),
                at(&plain)
            );

            // By pulldown-cmark, which follows CommonMark (spec.commonmark.org).
            let markdown = hostile_sheet(folder.path(), args, "markdown");
            for event in Parser::new(&markdown) {
                let live = matches!(
                    event,
                    Event::Html(_)
                        | Event::InlineHtml(_)
                        | Event::Code(_)
                        | Event::Start(Tag::Link { .. } | Tag::Image { .. } | Tag::Emphasis)
                );
                assert!(!live, "{args:?} {words:?}: {event:?}\n{markdown}");
            }

            let csv = hostile_sheet(folder.path(), args, "csv");
            for line in lines(&csv) {
                for cell in line.values() {
                    let formula = ['=', '+', '-', '@', '\t', '\r', '\n'];
                    assert!(!cell.starts_with(formula), "{args:?} {words:?}: {cell:?}");
                    assert_eq!(&safe::safe(cell), cell);
                }
            }
        }
    }
}
