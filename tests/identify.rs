//! `identify`: one piece, as it is asked at the bench, and whole buckets with known answers.
//!
//! The assignment is held against trying every way on small buckets, and against another
//! algorithm of another library on larger ones (`kuhn_munkres` of the crate `pathfinding`:
//! H. W. Kuhn, Naval Research Logistics Quarterly 2 (1955) 83).
//!
//! `cargo test --test identify accuracy -- --nocapture` prints how many of seeded buckets are
//! told right.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod dice;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::time::Instant;

use assert_cmd::Command;
use dice::Dice;
use matchmark::folder::{Content, Folder, RawFile};
use matchmark::identify::{
    Bucket, Measure, Piece, Reading, Slots, Tolerances, Why, known, match_bucket,
};
use matchmark::render::bucket_sheet;
use pathfinding::kuhn_munkres::kuhn_munkres_min;
use pathfinding::matrix::Matrix;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed, TestRunner};

/// The cases of `tests/identify/cases.txt`: files, what is typed, and what is answered.
#[test]
fn what_is_asked_is_answered() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/identify/cases.txt");
    let text = std::fs::read_to_string(&path).unwrap();
    let schemas = [
        include_str!("../schema/identify.json"),
        include_str!("../schema/bucket.json"),
    ]
    .map(|text| jsonschema::validator_for(&serde_json::from_str(text).unwrap()).unwrap());
    let mut new = String::new();
    let mut bench = None;
    let mut file: Option<std::path::PathBuf> = None;
    let mut asked = 0;
    for line in text.lines().filter(|line| !line.starts_with('>')) {
        new.push_str(&format!("{line}\n"));
        if line.starts_with("= ") {
            let folder = tempfile::tempdir().unwrap();
            std::fs::write(folder.path().join("build.yaml"), "name: Case\n").unwrap();
            bench = Some(folder);
            file = None;
        } else if let Some(name) = line.strip_prefix("@ ") {
            let path = bench.as_ref().unwrap().path().join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(&path, "").unwrap();
            file = Some(path);
        } else if let Some(typed) = line.strip_prefix("$ ") {
            asked += 1;
            let run = |format: Option<&str>| {
                let mut command = Command::cargo_bin("matchmark").unwrap();
                command.current_dir(bench.as_ref().unwrap().path());
                command.arg("identify").args(words(typed));
                command.args(format.into_iter().flat_map(|one| ["--format", one]));
                command.output().unwrap()
            };
            let output = run(None);
            for text in [&output.stdout, &output.stderr] {
                let text = String::from_utf8(text.clone()).unwrap();
                new.extend(
                    text.lines()
                        .map(|line| format!("> {line}").trim_end().to_owned() + "\n"),
                );
            }
            if !output.status.success() {
                new.push_str(&format!("> exit {}\n", output.status.code().unwrap()));
            } else if !typed.contains("--format") {
                let answer = run(Some("json")).stdout;
                let answer: serde_json::Value = serde_json::from_slice(&answer).unwrap();
                let schema = &schemas[usize::from(typed.contains("--bucket"))];
                assert!(schema.is_valid(&answer), "{typed}: {answer:#}");
            }
            file = None;
        } else if let Some(path) = &file {
            let before = std::fs::read_to_string(path).unwrap();
            std::fs::write(path, format!("{before}{line}\n")).unwrap();
        }
    }
    assert!(asked > 20);
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(&path, &new).unwrap();
    }
    assert!(
        text == new,
        "`UPDATE=1 cargo test --test identify` fills in the answers; read them before they are kept\n{new}"
    );
}

/// What the README shows of the example build is what is printed. `UPDATE=1` takes it over.
#[test]
fn the_readme_shows_what_is_printed() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut anew = String::new();
    let mut lines = readme.lines();
    let mut shown = 0;
    while let Some(line) = lines.next() {
        anew.push_str(&format!("{line}\n"));
        if line == "```csv" {
            let sheet: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            let sheet = sheet.join("\n") + "\n";
            std::fs::write(folder.path().join("bucket.csv"), &sheet).unwrap();
            anew.push_str(&format!("{sheet}```\n"));
        }
        let Some(typed) = line.strip_prefix("matchmark identify ") else {
            continue;
        };
        shown += 1;
        for is in ["```", "", "```text"] {
            assert_eq!(lines.next(), Some(is));
            anew.push_str(&format!("{is}\n"));
        }
        lines.by_ref().find(|line| *line == "```").unwrap();
        let mut command = Command::cargo_bin("matchmark").unwrap();
        command.current_dir(folder.path()).arg("identify");
        command.args(words(typed)).arg("--folder");
        let output = command.arg(root.join("example-build")).output().unwrap();
        anew.push_str(&format!(
            "{}```\n",
            String::from_utf8(output.stdout).unwrap()
        ));
    }
    assert_eq!(shown, 2);
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(root.join("README.md"), &anew).unwrap();
    }
    assert!(
        readme == anew,
        "`UPDATE=1 cargo test --test identify` takes over what is printed"
    );
}

/// Words as a shell takes them apart.
fn words(typed: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in typed.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words
}

/// One sort of hardware of a test: its id, thread, length and width in millimetres, and
/// whether its record states the width.
#[derive(Debug, Clone)]
struct Sort {
    id: String,
    thread: &'static str,
    length: f64,
    flats: f64,
    states_flats: bool,
    count: u32,
}

fn folder(sorts: &[Sort]) -> Folder {
    let mut text = String::new();
    for one in sorts {
        let flats = match one.states_flats {
            true => format!("across-flats: {} mm, ", one.flats),
            false => String::new(),
        };
        text.push_str(&format!(
            "{}: {{form: bolt, thread: {}, length: {} mm, {flats}have: {}}}\n",
            one.id, one.thread, one.length, one.count
        ));
    }
    let file = |path: &str, text: &str| RawFile {
        path: path.to_owned(),
        content: Content::Bytes(text.as_bytes().to_vec()),
    };
    let files = vec![
        file("build.yaml", "name: Case\n"),
        file("fasteners/all.yaml", &text),
    ];
    Folder::read(files).unwrap()
}

fn piece(label: &str, line: usize, readings: &[(Measure, String)]) -> Piece {
    let readings = readings.iter();
    Piece {
        label: label.to_owned(),
        line,
        readings: readings
            .map(|(measure, text)| Reading::read(*measure, text).unwrap())
            .collect(),
        note: None,
    }
}

/// A figure of a normal spread, by the central limit of twelve even ones.
fn normal(dice: &mut Dice) -> f64 {
    let even = (0..12).map(|_| dice.below(1_000_001) as f64 / 1e6);
    even.sum::<f64>() - 6.0
}

/// Threads with the widths that their heads have by one standard or another (the table of
/// `src/reckon/heads.rs`).
const HEADS: [(&str, f64); 13] = [
    ("M5", 8.0),
    ("M6", 10.0),
    ("M6", 8.0),
    ("M8", 13.0),
    ("M8", 12.0),
    ("M8", 10.0),
    ("M10", 16.0),
    ("M10", 17.0),
    ("M10x1.25", 14.0),
    ("M10x1.25", 13.0),
    ("M12x1.25", 17.0),
    ("M12", 18.0),
    ("M12", 19.0),
];

/// A tool: what is read off it is so far off as a rule, and in steps of this.
struct Tool {
    name: &'static str,
    spread: f64,
    step: f64,
    tolerance: Option<&'static str>,
}

const VERNIER: Tool = Tool {
    name: "vernier",
    spread: 0.03,
    step: 0.05,
    tolerance: Some("0.1mm"),
};
const VERNIER_AS_IT_IS: Tool = Tool {
    name: "vernier, no tolerance given",
    tolerance: None,
    ..VERNIER
};
const RULER: Tool = Tool {
    name: "ruler to 0.5 mm",
    spread: 0.4,
    step: 0.5,
    tolerance: Some("1mm"),
};
const ROUGH: Tool = Tool {
    name: "ruler to 1 mm",
    spread: 0.4,
    step: 1.0,
    tolerance: Some("1mm"),
};

/// A bucket of which the test knows what each piece is; none of a stranger.
struct Known {
    sorts: Vec<Sort>,
    pieces: Vec<Piece>,
    is: Vec<Option<usize>>,
    lost: usize,
}

/// So many sorts and pieces; of a hundred pieces three are lost, and two come that are none.
fn bucket(dice: &mut Dice, sorts: usize, pieces: usize, tool: &Tool, threads: bool) -> Known {
    let mut seen = BTreeSet::new();
    let mut all = Vec::new();
    while all.len() < sorts {
        let (thread, flats) = HEADS[dice.below(HEADS.len())];
        let length = 10 + 5 * dice.below(20);
        if seen.insert((thread, flats as u32, length)) {
            all.push(Sort {
                id: format!("bolt-{}", all.len()),
                thread,
                length: length as f64,
                flats,
                states_flats: dice.below(10) > 0,
                count: 0,
            });
        }
    }
    let read = |dice: &mut Dice, figure: f64| {
        let figure = figure + tool.spread * normal(dice);
        let decimals = if tool.step < 0.1 { 2 } else { 1 };
        let decimals = if tool.step < 1.0 { decimals } else { 0 };
        format!("{:.decimals$} mm", (figure / tool.step).round() * tool.step)
    };
    let mut known = Known {
        sorts: Vec::new(),
        pieces: Vec::new(),
        is: Vec::new(),
        lost: 0,
    };
    while known.pieces.len() < pieces {
        let sort = dice.below(all.len());
        let stray = dice.below(100) < 2;
        if !stray {
            all[sort].count += 1;
            if dice.below(100) < 3 {
                known.lost += 1;
                continue;
            }
        }
        // Half of the strangers have a length that none of the sorts has; the other half could
        // have been of the bucket, by the standards.
        let one = &all[sort];
        let (mut thread, mut flats, mut length) = (one.thread, one.flats, one.length);
        if stray && dice.below(2) == 0 {
            length += 2.5;
        } else if stray {
            (thread, flats) = HEADS[dice.below(HEADS.len())];
            length = (10 + 5 * dice.below(20)) as f64;
            if seen.contains(&(thread, flats as u32, length as usize)) {
                continue;
            }
        }
        let mut readings = vec![
            (Measure::Length, read(dice, length)),
            (Measure::AcrossFlats, read(dice, flats)),
        ];
        if threads {
            readings.push((Measure::Thread, thread.to_owned()));
        }
        let number = known.pieces.len() + 1;
        let label = format!("p{}", dice.below(1_000_000_000));
        known.pieces.push(piece(&label, number + 1, &readings));
        known.is.push((!stray).then_some(sort));
    }
    known.sorts = all;
    known
}

fn matched<'a>(folder: &'a Folder, pieces: &[Piece], tolerances: &Tolerances) -> Bucket<'a> {
    let slots = Slots::of_all(folder).unwrap();
    match_bucket(&known(folder), &slots, pieces, tolerances)
}

/// What a bucket must hold to whatever it holds: each piece in one place, counts kept.
fn is_sound(sorts: &[Sort], pieces: &[Piece], bucket: &Bucket<'_>) {
    let matched = bucket.matched.iter().map(|one| one.piece);
    let mut all: Vec<usize> = matched
        .chain(bucket.strangers.iter().map(|one| one.piece))
        .collect();
    all.sort_unstable();
    assert_eq!(all, (0..pieces.len()).collect::<Vec<_>>());
    for sort in sorts {
        let here = bucket.matched.iter().filter(|one| one.id == sort.id);
        let missing = bucket.missing.iter().filter(|one| one.id == sort.id);
        let missing: u32 = missing.map(|one| one.count).sum();
        assert_eq!(here.count(), (sort.count - missing) as usize, "{}", sort.id);
    }
}

/// How many of seeded buckets are told right, by tool and by what is measured.
#[test]
fn accuracy_of_seeded_buckets() {
    println!(
        "{:<40} {:>7} {:>8} {:>7} {:>10} {:>9} {:>9} {:>8}",
        "length and flats by",
        "pieces",
        "certain",
        "wrong",
        "ambiguous",
        "truth not",
        "taken for",
        "strange:"
    );
    println!(
        "{:<40} {:>7} {:>8} {:>7} {:>10} {:>9} {:>9} {:>8}",
        "", "", "", "", "", "among", "strange", "found"
    );
    for (tool, threads, bounds) in [
        (&VERNIER, false, [0.001, 0.001, 0.001]),
        (&VERNIER, true, [0.0, 0.001, 0.001]),
        (&VERNIER_AS_IT_IS, true, [0.0, 0.0, 0.0]),
        (&RULER, false, [0.005, 0.005, 0.01]),
        (&RULER, true, [0.005, 0.005, 0.01]),
        (&ROUGH, true, [0.005, 0.005, 0.01]),
    ] {
        let (mut certain, mut wrong, mut ambiguous, mut not_among) = (0, 0, 0, 0);
        let (mut taken_for_strange, mut strange, mut found, mut pieces) = (0, 0, 0, 0);
        for seed in 1..=10_u64 {
            let mut dice = Dice(seed * 7919);
            let case = bucket(&mut dice, 40, 300, tool, threads);
            let tolerances = Tolerances::read(tool.tolerance).unwrap();
            let folder = folder(&case.sorts);
            let bucket = matched(&folder, &case.pieces, &tolerances);
            is_sound(&case.sorts, &case.pieces, &bucket);
            pieces += case.pieces.len();
            for one in &bucket.matched {
                let truth = case.is[one.piece].map(|sort| case.sorts[sort].id.as_str());
                let Some(truth) = truth else {
                    strange += 1;
                    continue;
                };
                if one.or.is_empty() {
                    certain += 1;
                    wrong += usize::from(one.id != truth);
                } else {
                    ambiguous += 1;
                    not_among += usize::from(one.id != truth && !one.or.contains(&truth));
                }
            }
            for one in &bucket.strangers {
                let is_strange = case.is[one.piece].is_none();
                let fits_nothing = matches!(one.why, Why::FitsNothing(_));
                strange += usize::from(is_strange);
                // Of one too many it is told that it came, and never which it is.
                found += usize::from(is_strange || !fits_nothing);
                taken_for_strange += usize::from(!is_strange && fits_nothing);
            }
        }
        let with = if threads { ", thread too" } else { "" };
        println!(
            "{:<40} {pieces:>7} {certain:>8} {wrong:>7} {ambiguous:>10} {not_among:>9} \
             {taken_for_strange:>9} {:>8}",
            format!("{}{with}", tool.name),
            format!("{found}/{strange}")
        );
        let share = |count: usize| count as f64 / pieces as f64;
        assert!(share(wrong) <= bounds[0], "{}: {wrong} wrong", tool.name);
        assert!(share(not_among) <= bounds[1], "{}: {not_among}", tool.name);
        assert!(
            share(taken_for_strange) <= bounds[2],
            "{}: {taken_for_strange}",
            tool.name
        );
        // What fits a slot of which the piece is lost is no stranger to anybody.
        assert!(
            found * 10 >= strange * 8,
            "{}: {found} of {strange}",
            tool.name
        );
        assert!(
            certain * 2 > pieces || !threads,
            "{}: {certain} certain",
            tool.name
        );
    }
}

/// Two thousand pieces of two hundred sorts, unoptimised.
#[test]
fn two_thousand_pieces() {
    let mut dice = Dice(2_000);
    let case = bucket(&mut dice, 200, 2_000, &RULER, false);
    let folder = folder(&case.sorts);
    let tolerances = Tolerances::read(["1mm"]).unwrap();
    let began = Instant::now();
    let bucket = matched(&folder, &case.pieces, &tolerances);
    println!("2000 pieces, 200 sorts: {:?}", began.elapsed());
    is_sound(&case.sorts, &case.pieces, &bucket);
    assert!(began.elapsed().as_secs() < 60);
}

/// A small case: sorts, and pieces as length and width in whole millimetres.
type Small = (Vec<(u8, Option<u8>, u8)>, Vec<(u8, u8)>);

fn small() -> impl Strategy<Value = Small> {
    let sort = (20_u8..26, prop::option::weighted(0.8, 8_u8..12), 0_u8..3);
    let piece = (18_u8..28, 7_u8..13);
    (
        prop::collection::vec(sort, 1..5),
        prop::collection::vec(piece, 1..7),
    )
}

fn of_small((sorts, pieces): &Small) -> (Vec<Sort>, Vec<Piece>) {
    let sorts = sorts
        .iter()
        .enumerate()
        .map(|(number, (length, flats, count))| Sort {
            id: format!("bolt-{number}"),
            thread: "M6",
            length: f64::from(*length),
            flats: f64::from(flats.unwrap_or_default()),
            states_flats: flats.is_some(),
            count: u32::from(*count),
        });
    let pieces = pieces.iter().enumerate().map(|(number, (length, flats))| {
        let readings = [
            (Measure::Length, format!("{length} mm")),
            (Measure::AcrossFlats, format!("{flats} mm")),
        ];
        piece(&format!("p{number}"), number + 2, &readings)
    });
    (sorts.collect(), pieces.collect())
}

/// What a piece costs in a sort where 2 mm is the tolerance, reckoned by itself: what is not
/// stated, and the misfit. None where it does not fit.
fn cost(sort: (u8, Option<u8>), piece: (u8, u8)) -> Option<(usize, f64)> {
    let off = |a: u8, b: u8| f64::from(a.abs_diff(b)) / 2.0;
    let length = off(sort.0, piece.0);
    let flats = sort.1.map(|flats| off(flats, piece.1));
    let fits = length <= 1.0 && flats.is_none_or(|flats| flats <= 1.0);
    let misfit = length.powi(2) + flats.map_or(0.0, |flats| flats.powi(2));
    fits.then_some((usize::from(flats.is_none()), misfit))
}

/// The most pieces, the least unstated, the least misfit, by trying every way.
fn best(small: &Small, at: usize, left: &mut [u8]) -> (i64, i64, f64) {
    let (sorts, pieces) = small;
    let Some(piece) = pieces.get(at) else {
        return (0, 0, 0.0);
    };
    let better = |one: (i64, i64, f64), other: (i64, i64, f64)| {
        let key = |x: (i64, i64, f64)| (-x.0, x.1);
        match key(one).cmp(&key(other)) {
            std::cmp::Ordering::Less => one,
            std::cmp::Ordering::Greater => other,
            std::cmp::Ordering::Equal if one.2 <= other.2 => one,
            std::cmp::Ordering::Equal => other,
        }
    };
    let mut found = best(small, at + 1, left);
    for (number, (length, flats, _)) in sorts.iter().enumerate() {
        if left[number] > 0
            && let Some((unstated, misfit)) = cost((*length, *flats), *piece)
        {
            left[number] -= 1;
            let rest = best(small, at + 1, left);
            left[number] += 1;
            let here = (rest.0 + 1, rest.1 + unstated as i64, rest.2 + misfit);
            found = better(found, here);
        }
    }
    found
}

fn runner(cases: u32) -> TestRunner {
    TestRunner::new(Config {
        cases,
        rng_seed: RngSeed::Fixed(6),
        failure_persistence: None,
        ..Config::default()
    })
}

/// No way of filling slots is better than the one that is found, and ambiguous is what another
/// way, with as many matched and as much stated, puts elsewhere.
#[test]
fn no_way_is_better_on_small_buckets() {
    let tolerances = Tolerances::read(["2mm"]).unwrap();
    let result = runner(600).run(&small(), |case| {
        prop_assume!(case.0.iter().any(|(.., count)| *count > 0));
        let (sorts, pieces) = of_small(&case);
        let folder = folder(&sorts);
        let bucket = matched(&folder, &pieces, &tolerances);
        is_sound(&sorts, &pieces, &bucket);
        let mut left: Vec<u8> = case.0.iter().map(|(.., count)| *count).collect();
        let (count, unstated, misfit) = best(&case, 0, &mut left);
        prop_assert_eq!(bucket.matched.len() as i64, count);
        prop_assert_eq!(bucket.unstated as i64, unstated);
        prop_assert!(
            (bucket.misfit - misfit).abs() < 1e-4,
            "{} {misfit}",
            bucket.misfit
        );
        // It may as well be of another sort if the rest can then be matched as well.
        for one in &bucket.matched {
            for other in 0..sorts.len() {
                let sort = |id: &str| sorts.iter().position(|sort| sort.id == id).unwrap();
                let (here, piece) = (sort(one.id), case.1[one.piece]);
                let of = |number: usize| cost((case.0[number].0, case.0[number].1), piece);
                let Some(would) = of(other) else {
                    prop_assert!(!one.or.contains(&sorts[other].id.as_str()));
                    continue;
                };
                let says = one.or.contains(&sorts[other].id.as_str());
                if other == here || case.0[other].2 == 0 {
                    prop_assert!(!says);
                    continue;
                }
                let mut rest = case.clone();
                rest.1.remove(one.piece);
                let mut left: Vec<u8> = case.0.iter().map(|(.., count)| *count).collect();
                left[other] -= 1;
                let best = best(&rest, 0, &mut left);
                let as_well = best.0 + 1 == count && best.1 + would.0 as i64 == unstated;
                prop_assert_eq!(as_well, says, "{} {}", one.piece, other);
            }
        }
        Ok(())
    });
    if let Err(error) = result {
        panic!("{error}");
    }
}

/// On larger buckets another algorithm of another library comes to the same sums.
#[test]
fn another_library_comes_to_the_same() {
    for seed in 1..=12_u64 {
        let mut dice = Dice(seed * 104_729);
        let sorts: Vec<(u8, Option<u8>, u8)> = (0..12)
            .map(|_| {
                let flats = (dice.below(8) > 0).then(|| 8 + dice.below(9) as u8);
                (10 + dice.below(30) as u8, flats, 1 + dice.below(12) as u8)
            })
            .collect();
        let pieces: Vec<(u8, u8)> = (0..90)
            .map(|_| (9 + dice.below(32) as u8, 7 + dice.below(11) as u8))
            .collect();
        let case = (sorts, pieces);
        let (sorts, pieces) = of_small(&case);
        let folder = folder(&sorts);
        let bucket = matched(&folder, &pieces, &Tolerances::read(["2mm"]).unwrap());
        is_sound(&sorts, &pieces, &bucket);
        // A column for each slot, and one beside them for each piece, that costs more than
        // all else can come to.
        let slots: Vec<usize> = case
            .0
            .iter()
            .enumerate()
            .flat_map(|(number, sort)| vec![number; usize::from(sort.2)])
            .collect();
        let (out, never, unstated) = (1_000_000_000_000_i64, 1_000_000_000_000_000, 10_000_000_i64);
        let mut costs = Matrix::new(pieces.len(), slots.len() + pieces.len(), never);
        for (row, piece) in case.1.iter().enumerate() {
            for (column, sort) in slots.iter().enumerate() {
                let sort = case.0[*sort];
                if let Some((not, misfit)) = cost((sort.0, sort.1), *piece) {
                    costs[(row, column)] = not as i64 * unstated + (misfit * 1000.0) as i64;
                }
            }
            costs[(row, slots.len() + row)] = out;
        }
        let (sum, _) = kuhn_munkres_min(&costs);
        assert_eq!(sum / out, bucket.strangers.len() as i64);
        assert_eq!(sum % out / unstated, bucket.unstated as i64);
        let misfit = (sum % unstated) as f64 / 1000.0;
        assert!(
            (bucket.misfit - misfit).abs() < 1e-4,
            "{} {misfit}",
            bucket.misfit
        );
    }
}

/// What came of each piece, by what it is called.
fn by_label(pieces: &[Piece], bucket: &Bucket<'_>) -> BTreeMap<String, (String, Vec<String>)> {
    let own = |ids: &[&str]| ids.iter().map(|id| (*id).to_owned()).collect::<Vec<_>>();
    let matched = bucket.matched.iter().map(|one| {
        let label = pieces[one.piece].label.clone();
        (label, (one.id.to_owned(), own(&one.or)))
    });
    let strangers = bucket.strangers.iter().map(|one| {
        let label = pieces[one.piece].label.clone();
        (label, (String::new(), own(&one.elsewhere)))
    });
    matched.chain(strangers).collect()
}

#[test]
fn the_order_of_the_lines_does_not_matter() {
    for (seed, tool) in [(1_u64, &VERNIER), (2, &RULER), (3, &ROUGH), (4, &ROUGH)] {
        let mut dice = Dice(seed * 15_485_863);
        let case = bucket(&mut dice, 30, 120, tool, seed == 4);
        let folder = folder(&case.sorts);
        let tolerances = Tolerances::read(tool.tolerance).unwrap();
        let first = matched(&folder, &case.pieces, &tolerances);
        let mut mixed = case.pieces.clone();
        for at in (1..mixed.len()).rev() {
            mixed.swap(at, dice.below(at + 1));
        }
        for (number, piece) in mixed.iter_mut().enumerate() {
            piece.line = number + 2;
        }
        let second = matched(&folder, &mixed, &tolerances);
        assert_eq!(by_label(&case.pieces, &first), by_label(&mixed, &second));
        assert_eq!(first.missing, second.missing);
    }
}

fn readings(bytes: &[u8]) -> Vec<(String, Vec<String>)> {
    let pieces = bucket_sheet::read(bytes).unwrap();
    let pieces = pieces.into_iter();
    pieces
        .map(|one| {
            let read = one.readings.iter().map(|one| one.text().to_owned());
            (one.label, read.collect())
        })
        .collect()
}

/// One sheet, in all the forms that spreadsheet programs write it in.
#[test]
fn a_sheet_is_read_as_spreadsheet_programs_write_it() {
    let plain =
        "piece,length mm,across flats mm,thread,note\n1,94.05,12.9,M8x1.25,\n2,30,13,,worn\n";
    let is = readings(plain.as_bytes());
    assert_eq!(
        is,
        [
            (
                "1".to_owned(),
                vec![
                    "94.05 mm".to_owned(),
                    "12.9 mm".to_owned(),
                    "M8x1.25".to_owned()
                ]
            ),
            ("2".to_owned(), vec!["30 mm".to_owned(), "13 mm".to_owned()]),
        ]
    );
    let commas = "piece;Length (mm);Across-Flats [mm];thread;note\r\n1;94,05;12,9;M8x1.25;\r\n2;30;13;;worn\r\n";
    assert_eq!(readings(commas.as_bytes()), is);
    assert_eq!(readings(format!("\u{feff}{commas}").as_bytes()), is);
    assert_eq!(readings(format!("sep=;\r\n{commas}").as_bytes()), is);
    assert_eq!(readings(commas.replace(';', "\t").as_bytes()), is);
    let quoted = commas
        .replace("94,05", "\"94,05\"")
        .replace(";thread", ";\"thread\"");
    assert_eq!(readings(quoted.as_bytes()), is);
    for nothing in ["-", "–", "?", "n/a"] {
        let filled = plain.replace(",,worn", &format!(",{nothing},worn"));
        assert_eq!(readings(filled.as_bytes()), is, "{nothing}");
    }
    let wide: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain(commas.encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    assert_eq!(readings(&wide), is);
    let in_cells = "thread,note,across_flats,piece,length\nM8x1.25,,12.9 mm,1,94.05 mm\n,worn,13mm,2,30 mm\n\n,,,,\n";
    let mut cells = readings(in_cells.as_bytes());
    for (_, read) in &mut cells {
        read.sort();
    }
    assert_eq!(cells[0].1, ["12.9 mm", "94.05 mm", "M8x1.25"]);
    let inches = readings("length in,across flats thou,class\n3 11/16,512,grade 5\n".as_bytes());
    assert_eq!(
        inches[0],
        (
            "line 2".to_owned(),
            vec![
                "3 11/16 in".to_owned(),
                "512 thou".to_owned(),
                "grade 5".to_owned()
            ]
        )
    );
}

/// What can't be read is told by line and column, all of it, and nothing is matched.
#[test]
fn a_bad_sheet_is_told_by_line_and_column() {
    let told = |text: &str| -> Vec<String> {
        let slips = bucket_sheet::read(text.as_bytes()).unwrap_err();
        slips.iter().map(ToString::to_string).collect()
    };
    let two = told("piece,length mm,across flats mm\na,94,13\nb,9x4,13\nc,94,-13\nd,,\n");
    assert_eq!(two.len(), 3, "{two:?}");
    assert!(two[0].starts_with("line 3: column `length`: "), "{two:?}");
    assert!(
        two[1].starts_with("line 4: column `across flats`: "),
        "{two:?}"
    );
    assert!(
        two[2].starts_with("line 5: nothing was measured of the piece `d`"),
        "{two:?}"
    );
    for (text, is) in [
        ("", "line 1: there is no piece in it"),
        (
            "piece,note\n1,x\n",
            "line 1: no column says what was measured",
        ),
        (
            "piece,length mm\n1,20\n2,30\n1,20\n",
            "line 4: the piece `1` stands in line 2 too",
        ),
        (
            "length mm,length in\n1,2\n",
            "line 1: the column `length` stands there twice",
        ),
        (
            "piece,lenght mm\n1,2\n",
            "line 1: the column `lenght mm` is none of a bucket",
        ),
        (
            "length kg\n1\n",
            "line 1: the column `length kg` is none of a bucket",
        ),
        ("length\n94\n", "line 2: column `length`: `94` has no unit"),
        ("length mm\n1e400\n", "line 2: column `length`: "),
        ("length mm\nNaN\n", "line 2: column `length`: "),
        (
            "length mm\n0\n",
            "line 2: column `length`: `0 mm` is no length that a piece can have",
        ),
        (
            "length mm\n5 kg\n",
            "line 2: column `length`: `5 kg` is a mass and no length",
        ),
        ("length mm\n\"94,05\"\n", "line 2: column `length`: "),
        (
            "length mm;thread\n1.234,5;M8\n",
            "line 2: column `length`: ",
        ),
        (
            "length mm\n94,13\n",
            "line 2: column 2: `13` stands under no head",
        ),
        ("length mm,thread\n94,M8x7\n", "line 2: column `thread`: "),
        (
            "length mm,head\n94,hexagonal\n",
            "line 2: column `head`: `hexagonal` is no head",
        ),
    ] {
        let told = told(text);
        assert!(told[0].starts_with(is), "{text:?}: {told:?}");
    }
    let many = format!("length mm\n{}", "94\n".repeat(10_001));
    assert_eq!(told(&many), ["line 10002: it has more than 10000 pieces"]);
    let bad = told(&format!("length mm\n{}", "x\n".repeat(500_000)));
    assert_eq!(bad.len(), 21);
    let huge = told(&"9".repeat(9 << 20));
    assert_eq!(
        huge,
        ["line 1: it is larger than 8 MiB, and no bucket's sheet"]
    );
    let not_text = bucket_sheet::read(&[0xff, 0xfe, 0x00, 0xd8]).unwrap_err();
    assert_eq!(not_text.len(), 1);
}

#[test]
fn any_bytes_are_read_or_refused() {
    let text = "((piece|length mm|thread|head|note|;|,|\t|\"|\n|-|=1|94,5|M8|1/2 in|\\PC)){0,30}";
    let result = runner(2_000).run(&text, |text| {
        match bucket_sheet::read(text.as_bytes()) {
            Ok(pieces) => prop_assert!(pieces.iter().all(|one| !one.readings.is_empty())),
            Err(slips) => prop_assert!(!slips.is_empty()),
        }
        Ok(())
    });
    if let Err(error) = result {
        panic!("{error}");
    }
}
