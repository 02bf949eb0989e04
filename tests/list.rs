//! Lists as a builder reads them, and as programs do.

#![allow(clippy::disallowed_methods)]

use std::collections::BTreeMap;
use std::process::Stdio;

use assert_cmd::Command;
use matchmark::folder::{Content, Folder, RawFile};
use matchmark::render::table::{self, Room};
use matchmark::report::list::{self, Wanted};
use serde_json::Value;
use tempfile::TempDir;
use unicode_width::UnicodeWidthStr;

/// Exit code, standard output, standard error.
type Ran = (i32, String, String);

struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new(files: &[(&str, &str)]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        for (path, text) in files {
            let path = folder.path().join(path);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
        Self { folder }
    }

    fn list(&self, args: &[&str]) -> Ran {
        let output = Command::cargo_bin("matchmark")
            .unwrap()
            .arg("list")
            .args(args)
            .current_dir(self.folder.path())
            .output()
            .unwrap();
        (
            output.status.code().unwrap(),
            String::from_utf8(output.stdout).unwrap(),
            String::from_utf8(output.stderr).unwrap(),
        )
    }

    /// What is printed when all is well.
    fn shown(&self, args: &[&str]) -> String {
        let (code, out, err) = self.list(args);
        assert_eq!((code, err.as_str()), (0, ""), "{args:?}");
        out
    }

    fn json(&self, args: &[&str]) -> Value {
        let args: Vec<&str> = args.iter().copied().chain(["--format", "json"]).collect();
        serde_json::from_str(&self.shown(&args)).unwrap()
    }
}

const WREN: &[(&str, &str)] = &[
    (
        "build.yaml",
        "name: Wren with a Pell engine\ncylinders: 4\nspots: {bay: Engine bay, rail: Chassis rail}\n",
    ),
    (
        "donors/all.yaml",
        "pell-van: {maker: Pell, model: Drover, year: 1996, price: 310 EUR}\n\
         tarn-hatch: {name: the hatch, price: 80.50 GBP, failed-inside: true}\n",
    ),
    (
        "parts/all.yaml",
        "injector:
  name: Injector
  number: QX-1180
  maker: Halden
  pieces:
    P1: {donor: pell-van, newness: used, condition: serviceable, goes: fuel/injector-1,
         fitted: [{as: mock-up, when: 2026-03-01}], treated: [{what: cleaned, when: 2026-01-30}]}
    P2: {donor: pell-van, newness: used, condition: unchecked, goes: fuel/injector-2}
    T3: {donor: tarn-hatch, newness: used, condition: scrap, kept-in: box 4}
cushion:
  name: Injector cushion
  number: QX-77
  pieces:
    L1: {count: 6, newness: new, condition: serviceable, goes: fuel/cushion,
         bought: {from: Quay Parts, price: 9.60 EUR}}
head:
  name: Cylinder head
  number: \"0412\"
  pieces:
    H1: {donor: pell-van, newness: used, condition: serviceable, goes: engine/head,
         fitted: [{as: final, when: 2026-03-08}]}
    H2: {donor: tarn-hatch, newness: used, condition: repairable, out-with: skim-1, kept-in: shelf}
seal: {name: Seal, pieces: {S1: {newness: old stock, bought: {from: Quay Parts, price: 4 GBP}}}}
",
    ),
    (
        "assemblies/all.yaml",
        "engine:
  in: car
  mounted: [{as: mock-up, when: 2026-03-10}]
  places: {head: {takes: [\"0412\"]}, bracket: {takes: [BR-7]}}
  joints:
    head: {holes: {a: {calls-for: bolt-m10-70, washers: [washer-m10]}, b: {calls-for: bolt-m10-70}}}
fuel:
  in: engine
  places:
    injector: {each: cylinder, takes: [QX-1180]}
    cushion: {each: cylinder, takes: [QX-77]}
",
    ),
    (
        "fasteners/all.yaml",
        "bolt-m10-70: {form: bolt, thread: M10x1.25, length: 70 mm, class: \"10.9\", finish: zinc, have: 10}\n\
         washer-m10: {form: washer, have: 3, kept-in: tray 1}\n",
    ),
    (
        "routes/all.yaml",
        "bay-run: {from: bay, to: engine/head, length: 900 mm}\n\
         short-run: {from: bay, to: rail, length: 3/8 in}\n",
    ),
    (
        "circuits/all.yaml",
        "coolant-signal: {does: coolant temperature, wires: {a: {state: crimped}, b: {}, c: {state: tested}}}\n",
    ),
    (
        "clearances/all.yaml",
        "bracket-to-rail: {between: [engine/bracket, car/rail], least: 10 mm,
  readings: [{is: 12.5 mm, when: 2026-03-09, as: mock-up}, {is: 9 mm, when: 2026-03-01}]}\n",
    ),
    (
        "jobs/all.yaml",
        "skim-1: {kind: send-out, process: machine, to: the machine shop, sent: 2026-03-01, due: 2026-03-20}
order-9: {kind: order, from: Quay Parts, ordered: 2026-03-02, arrived: 2026-03-05, carriage: 5 EUR,
  lines: [{what: parts/seal, count: 3, price: 4.20 EUR}]}
wash: {does: wash the block, takes: 1 h}\n",
    ),
    (
        "decisions/all.yaml",
        "keep-head: {asks: Which head?, options: {ours: {}, theirs: {}}, chosen: ours, because: it is whole,
  when: 2026-02-20, settles: [{rule: changed-by-yaml, at: parts/injector/P1}]}
which-fan: {asks: Which fan?, options: {belt: {}, motor: {}}}\n",
    ),
    (
        "photos/all.yaml",
        "p-001: {file: p-001.png, taken: 2026-03-01, shows: [engine/head, parts/injector/P1]}\n",
    ),
    (
        "plugs/all.yaml",
        "unit-b: {at: bay, cavities: 1-40}\ne-head: {kind: earth, at: engine/head}\n",
    ),
];

#[test]
fn pieces_with_where_they_are_and_what_they_come_to() {
    let bench = Bench::new(WREN);
    let whole = "\
piece           from        condition    stage    place (kept in)
───────────────────────────────────────────────────────────────────
cushion/L1 × 4  Quay Parts  serviceable  bench    fuel/cushion
cushion/L1 × 2  Quay Parts  serviceable  bench
head/H1         pell-van    serviceable  final    engine/head
head/H2         tarn-hatch  repairable   bench    (out with skim-1)
injector/P1     pell-van    serviceable  mock-up  fuel/injector-1
injector/P2     pell-van    unchecked    bench    fuel/injector-2
injector/T3     tarn-hatch  scrap        bench    (box 4)
seal/S1         Quay Parts               bench
───────────────────────────────────────────────────────────────────
12 pieces
condition: 8 serviceable, 1 repairable, 1 unchecked, 1 scrap, 1 not stated
stage: 10 bench, 1 mock-up, 1 final
price: 9.60 EUR and 4 GBP; 5 without a price
";
    for kind in ["pieces", "piece", "pieces/"] {
        assert_eq!(bench.shown(&[kind]), whole);
    }
    assert_eq!(
        bench.shown(&["pieces", "injector", "--by", "donor"]),
        "\
piece        condition    stage    place (kept in)
──────────────────────────────────────────────────
pell-van
injector/P1  serviceable  mock-up  fuel/injector-1
injector/P2  unchecked    bench    fuel/injector-2
──────────────────────────────────────────────────
2 pieces
condition: 1 serviceable, 1 unchecked
stage: 1 bench, 1 mock-up

tarn-hatch
injector/T3  scrap        bench    (box 4)
──────────────────────────────────────────────────
1 piece
condition: 1 scrap
stage: 1 bench

in all
3 pieces
condition: 1 serviceable, 1 unchecked, 1 scrap
stage: 2 bench, 1 mock-up
"
    );
}

#[test]
fn places_with_what_is_empty() {
    let bench = Bench::new(WREN);
    assert_eq!(
        bench.shown(&["place"]),
        "\
place            takes    on           planned      stage
───────────────────────────────────────────────────────────
engine/bracket   BR-7
engine/head      0412     head/H1      head/H1      final
fuel/cushion-1   QX-77                 cushion/L1   bench
fuel/cushion-2   QX-77                 cushion/L1   bench
fuel/cushion-3   QX-77                 cushion/L1   bench
fuel/cushion-4   QX-77                 cushion/L1   bench
fuel/injector-1  QX-1180  injector/P1  injector/P1  mock-up
fuel/injector-2  QX-1180               injector/P2  bench
fuel/injector-3  QX-1180
fuel/injector-4  QX-1180
───────────────────────────────────────────────────────────
10 places
stage: 5 bench, 1 mock-up, 1 final, 3 empty
"
    );
    // All of a name for each cylinder, and what is still to be found.
    assert_eq!(
        bench.json(&["places", "fuel/injector"])["totals"]["places"],
        4
    );
    let empty = bench.json(&["places", "--only", "stage=empty"]);
    let empty: Vec<&Value> = empty["rows"].as_array().unwrap().iter().collect();
    let names: Vec<&str> = empty
        .iter()
        .map(|row| row["place"].as_str().unwrap())
        .collect();
    assert_eq!(
        names,
        ["engine/bracket", "fuel/injector-3", "fuel/injector-4"]
    );
}

#[test]
fn every_kind_has_its_table() {
    let bench = Bench::new(WREN);
    let all: Vec<String> = list::KINDS
        .iter()
        .filter(|(what, _)| !matches!(*what, "pieces" | "places"))
        .map(|(what, one)| {
            let text = bench.shown(&[what]);
            assert_eq!(bench.shown(&[one]), text);
            text
        })
        .collect();
    assert_eq!(
        all.join("\n"),
        "\
donor       what             pieces  placed  spare  scrap  uncleaned       price
────────────────────────────────────────────────────────────────────────────────
pell-van    Pell Drover           3       3      0      0          2  310    EUR
            1996
tarn-hatch  the hatch             2       0      1      1          2   80.50 GBP
────────────────────────────────────────────────────────────────────────────────
2 donors                          5       3      1      1          4
price: 310 EUR and 80.50 GBP

part      name              number   maker   pieces  placed  spare  scrap
─────────────────────────────────────────────────────────────────────────
cushion   Injector cushion  QX-77                 6       4      2      0
head      Cylinder head     0412                  2       1      1      0
injector  Injector          QX-1180  Halden       3       2      0      1
seal      Seal                                    1       0      1      0
─────────────────────────────────────────────────────────────────────────
4 parts                                          12       7      4      1

assembly      in      places  filled  planned  empty  mounted
─────────────────────────────────────────────────────────────
engine        car          2       1        0      1  mock-up
fuel          engine       8       1        5      2
─────────────────────────────────────────────────────────────
2 assemblies              10       2        5      3
mounted: 1 mock-up, 1 not mounted

fastener     form    size              class  finish  have  called for  kept in
───────────────────────────────────────────────────────────────────────────────
bolt-m10-70  bolt    M10x1.25 × 70 mm  10.9   zinc      10           2
washer-m10   washer                                      3           1  tray 1
───────────────────────────────────────────────────────────────────────────────
2 fasteners                                             13           3

plug     kind   at           cavities  wire ends
────────────────────────────────────────────────
e-head   earth  engine/head                    0
unit-b   plug   bay          1-40              0
────────────────────────────────────────────────
2 plugs                                        0
kind: 1 earth, 1 plug
fitted: 2 not fitted

route      from  to             length  holes  wires
────────────────────────────────────────────────────
bay-run    bay   engine/head  900 mm        0      0
short-run  bay   rail           3/8 in      0      0
────────────────────────────────────────────────────
2 routes

circuit         does                wires  planned  cut  crimped  fitted  tested
────────────────────────────────────────────────────────────────────────────────
coolant-signal  coolant                 3        1    0        1       0       1
                temperature
────────────────────────────────────────────────────────────────────────────────
1 circuit                               3        1    0        1       0       1

clearance        between                   least       is  when        stage
──────────────────────────────────────────────────────────────────────────────
bracket-to-rail  engine/bracket, car/rail  10 mm  12.5 mm  2026-03-09  mock-up
──────────────────────────────────────────────────────────────────────────────
1 clearance
stage: 1 mock-up

job      kind      what            state    due             price
─────────────────────────────────────────────────────────────────
order-9  order                     done                 17.60 EUR
skim-1   send-out  machine         waiting  2026-03-20
wash     bench     wash the block  open
─────────────────────────────────────────────────────────────────
3 jobs
state: 1 open, 1 waiting, 1 done
price: 17.60 EUR; 2 without a price

decision     asks         state   chosen  when        settles
────────────────────────────────────────────────────────────────────────────────
keep-head    Which head?  chosen  ours    2026-02-20  changed-by-yaml at
                                                      parts/injector/P1
which-fan    Which fan?   open
────────────────────────────────────────────────────────────────────────────────
2 decisions
state: 1 open, 1 chosen

photo    file       taken       shows
──────────────────────────────────────────────────────────────
p-001    p-001.png  2026-03-01  engine/head, parts/injector/P1
──────────────────────────────────────────────────────────────
1 photo
"
    );
}

/// Every folder has its list, and nothing else but pieces and places.
#[test]
fn the_lists_are_the_folders() {
    use matchmark::model::Kind;
    let mut folders: Vec<(&str, &str)> = vec![("pieces", "piece"), ("places", "place")];
    folders.extend(
        Kind::ALL[1..]
            .iter()
            .map(|kind| (kind.folder(), kind.one())),
    );
    assert_eq!(list::KINDS, folders);
}

#[test]
fn json_holds_rows_groups_and_totals() {
    let bench = Bench::new(WREN);
    let all = bench.json(&["pieces", "--by", "condition", "--only", "place=fuel"]);
    assert_eq!(all["list"], "pieces");
    assert_eq!(
        (&all["whole"], &all["by"]),
        (&Value::Bool(true), &Value::from("condition"))
    );
    assert_eq!(
        all["rows"][0],
        serde_json::json!({
            "piece": "cushion/L1", "part": "cushion", "name": "Injector cushion",
            "number": "QX-77", "count": 4, "donor": null, "seller": "Quay Parts",
            "condition": "serviceable", "newness": "new", "grade": null,
            "place": ["fuel/cushion"], "stage": "bench", "goes": ["fuel/cushion"],
            "kept_in": null, "out_with": null, "price": 6.4, "price_currency": "EUR",
        })
    );
    assert_eq!(
        all["groups"][0],
        serde_json::json!({"condition": "serviceable", "rows": 2, "totals": {
            "pieces": 5, "condition": {"serviceable": 5}, "stage": {"bench": 4, "mock-up": 1},
            "price": {"sums": {"EUR": 6.4}, "without": 1},
        }})
    );
    assert_eq!(all["totals"]["pieces"], 6);
    // Lengths in millimetres beside what is written (an inch is 25.4 mm: ISO 31-1, 1959).
    let routes = bench.json(&["routes"]);
    assert_eq!(routes["rows"][1]["length"], "3/8 in");
    assert_eq!(routes["rows"][1]["length_mm"], 9.525);
    assert_eq!(routes["rows"][0]["length_mm"], 900);
}

/// Read by another reader the CSV says what the JSON says.
#[test]
fn csv_says_what_json_says() {
    let bench = Bench::new(WREN);
    let mut rows = 0;
    for (what, _) in list::KINDS {
        let text = bench.shown(&[what, "--format", "csv"]);
        assert_eq!(text.matches("\r\n").count(), text.matches('\n').count());
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let keys: Vec<String> = reader
            .headers()
            .unwrap()
            .iter()
            .map(str::to_owned)
            .collect();
        let json = bench.json(&[what]);
        let objects = json["rows"].as_array().unwrap();
        let lines: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(lines.len(), objects.len(), "{what}");
        for (line, object) in lines.iter().zip(objects) {
            rows += 1;
            let object = object.as_object().unwrap();
            assert!(object.keys().eq(keys.iter()), "{what}: {keys:?}");
            for (cell, value) in line.iter().zip(object.values()) {
                match value {
                    Value::Null => assert_eq!(cell, ""),
                    Value::String(text) => assert_eq!(cell, text),
                    Value::Array(texts) => {
                        let texts: Vec<&str> = texts.iter().map(|t| t.as_str().unwrap()).collect();
                        assert_eq!(cell, texts.join("; "));
                    }
                    Value::Number(number) => {
                        assert_eq!(cell.parse::<f64>().unwrap(), number.as_f64().unwrap());
                    }
                    other => assert_eq!(cell, other.to_string()),
                }
            }
        }
    }
    assert!(rows > 30, "only {rows} rows");
}

/// Totals and subtotals, added up here by themselves; cents come out even.
#[test]
fn totals_are_sums() {
    let conditions = ["serviceable", "unchecked", "scrap", "repairable", ""];
    let currencies = ["EUR", "GBP", "USD"];
    let mut parts = String::from("bolt-set:\n  name: Bolt set\n  pieces:\n");
    let mut cents: BTreeMap<&str, u64> = BTreeMap::new();
    let mut by_condition: BTreeMap<&str, u64> = BTreeMap::new();
    let (mut pieces, mut on, mut without) = (0, 0, 0);
    for number in 0..200_u64 {
        let condition = conditions[(number * 7 % 5) as usize];
        let count = number % 4 + 1;
        let fitted = number % 3 == 0;
        parts.push_str(&format!("    P{number}: {{count: {count}"));
        if !condition.is_empty() {
            parts.push_str(&format!(", condition: {condition}"));
        }
        if number % 5 == 0 {
            without += count;
        } else {
            let price = number * number * 37 % 9973 + 1;
            let currency = currencies[(number / 3 % 3) as usize];
            *cents.entry(currency).or_default() += price;
            let (whole, part) = (price / 100, price % 100);
            parts.push_str(&format!(
                ", bought: {{price: {whole}.{part:02} {currency}}}"
            ));
        }
        if fitted {
            // One of each lot is on; the rest of it lies at the bench.
            on += 1;
            parts.push_str(&format!(
                ", fitted: [{{as: mock-up, when: 2026-03-01, at: box/n{number}, count: 1}}]"
            ));
        }
        parts.push_str("}\n");
        pieces += count;
        let condition = if condition.is_empty() {
            "not stated"
        } else {
            condition
        };
        *by_condition.entry(condition).or_default() += count;
    }
    let places: Vec<String> = (0..200).map(|number| format!("n{number}: {{}}")).collect();
    let assemblies = format!("box: {{places: {{{}}}}}\n", places.join(", "));
    let bench = Bench::new(&[
        ("build.yaml", "name: Brindlet\n"),
        ("parts/all.yaml", &parts),
        ("assemblies/all.yaml", &assemblies),
    ]);
    let all = bench.json(&["pieces", "--by", "stage"]);
    let totals = &all["totals"];
    assert_eq!(totals["pieces"], pieces);
    assert_eq!(totals["condition"], serde_json::json!(by_condition));
    assert_eq!(
        totals["stage"],
        serde_json::json!({"bench": pieces - on, "mock-up": on})
    );
    assert_eq!(totals["price"]["without"], without);
    let groups = all["groups"].as_array().unwrap();
    assert_eq!(groups.len(), 2);
    for (currency, cents) in &cents {
        let paid = *cents as f64 / 100.0;
        assert_eq!(totals["price"]["sums"][currency].as_f64().unwrap(), paid);
        let shares = groups.iter().map(|group| {
            let sums = &group["totals"]["price"]["sums"];
            sums[currency].as_f64().unwrap()
        });
        assert!((shares.sum::<f64>() - paid).abs() < 1e-6);
    }
    assert_eq!(totals["price"]["sums"].as_object().unwrap().len(), 3);
}

#[test]
fn a_pattern_and_a_word_choose() {
    let bench = Bench::new(WREN);
    let pieces = |args: &[&str]| -> Vec<String> {
        let args: Vec<&str> = std::iter::once("pieces")
            .chain(args.iter().copied())
            .collect();
        let rows = bench.json(&args);
        let rows = rows["rows"].as_array().unwrap().iter();
        rows.map(|row| row["piece"].as_str().unwrap().to_owned())
            .collect()
    };
    let three = ["injector/P1", "injector/P2", "injector/T3"];
    for pattern in ["injector", "injector/*", "inj*/**", "parts/injector"] {
        assert_eq!(pieces(&[pattern]), three, "{pattern}");
    }
    assert_eq!(pieces(&["*/H1"]), ["head/H1"]);
    assert_eq!(
        pieces(&["--only", "donor=tarn-hatch"]),
        ["head/H2", "injector/T3"]
    );
    assert_eq!(
        pieces(&["--only", "place=fuel/injector-*"]),
        ["injector/P1", "injector/P2"]
    );
    assert_eq!(
        pieces(&["--only", "donor=tarn-hatch", "--only", "condition=scrap"]),
        ["injector/T3"]
    );
    assert_eq!(pieces(&["--only", "condition=none"]), ["seal/S1"]);
    assert_eq!(pieces(&["--only", "kept in=box 4"]), ["injector/T3"]);
    // None is an answer too, where the word is known.
    assert_eq!(
        bench.shown(&["pieces", "--only", "newness=remanufactured"]),
        "no pieces\n"
    );
}

#[test]
fn a_slip_is_told() {
    let bench = Bench::new(WREN);
    for (args, says) in [
        (
            &["pices"][..],
            "there is no list of `pices`\n    to do: write `pieces`\n",
        ),
        (
            &["build"],
            "there is no list of `build`\n    to do: write one of `pieces`, `places`, `donors`, \
             `parts`, `assemblies`, `fasteners`, `plugs`, `routes`, `circuits`, `clearances`, \
             `jobs`, `decisions`, `photos`\n",
        ),
        (
            &["pieces", "injektor/*"],
            "no piece is called `injektor/*`\n    to do: write `injector/*`\n",
        ),
        (
            &["donors", "van"],
            "no donor is called `van`\n    to do: known here: `pell-van`, `tarn-hatch`\n",
        ),
        (
            &["pieces", "inj[ector"],
            "`inj[ector` is no pattern: invalid range pattern\n    to do: write `*` for any name, \
             `**` between slashes for any depth, `[*]` for a star\n",
        ),
        (
            &["pieces", "--by", "donr"],
            "the list of pieces has no column `donr`\n    to do: write `donor`\n",
        ),
        (
            &["pieces", "--only", "donor=pel-van"],
            "no piece has `pel-van` under `donor`\n    to do: write `pell-van`\n",
        ),
        (
            &["pieces", "--only", "condition=broken"],
            "no piece has `broken` under `condition`\n    to do: known here: `serviceable`, \
             `repairable`, `unchecked`, `scrap`\n",
        ),
        (
            &["pieces", "--only", "scrap"],
            "`--only scrap` does not say in which column\n    to do: write a column and a word, \
             as in `--only condition=scrap`\n",
        ),
    ] {
        let (code, out, err) = bench.list(args);
        assert_eq!((code, out.as_str()), (2, ""), "{args:?}");
        assert_eq!(err, format!("matchmark: {says}"));
    }
}

#[test]
fn an_empty_build_has_nothing_to_list() {
    let bench = Bench::new(&[("build.yaml", "name: Brindlet\n")]);
    for (what, _) in list::KINDS {
        assert_eq!(bench.shown(&[what]), format!("no {what}\n"));
        assert_eq!(bench.json(&[what])["rows"], serde_json::json!([]));
        let csv = bench.shown(&[what, "--format", "csv"]);
        assert_eq!(csv.lines().count(), 1, "{csv}");
    }
    let (code, _, err) = bench.list(&["parts", "seal"]);
    assert_eq!(code, 2);
    assert_eq!(
        err,
        "matchmark: this build has no parts yet, so none is called `seal`\n    \
         to do: leave out `seal`, or add a part\n"
    );
}

#[test]
fn what_can_t_be_read_is_said_to_be_left_out() {
    let bench = Bench::new(&[
        ("build.yaml", "name: Brindlet\n"),
        ("parts/a.yaml", "seal: {name: Seal}\n"),
        ("parts/b.yaml", "pump: {name: Pump}\nhose: [\n"),
        ("parts/c.yaml", "seal: {name: Another seal}\n"),
    ]);
    let (code, out, err) = bench.list(&["parts", "--format", "json"]);
    assert_eq!(code, 0);
    assert_eq!(
        err,
        "matchmark: the list is not whole: not all of `parts/b.yaml`, `parts/c.yaml` can be read\n    \
         to do: `matchmark check` says why\n"
    );
    let out: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(out["whole"], false);
    assert_eq!(out["rows"][0]["part"], "seal");
    // A list that is worked out from other files is whole.
    assert_eq!(bench.shown(&["fasteners"]), "no fasteners\n");
    // What is asked for may stand where it can't be read.
    let (code, _, err) = bench.list(&["parts", "hose"]);
    assert_eq!(code, 2);
    assert!(err.starts_with("matchmark: the list is not whole"), "{err}");
    assert!(err.contains("no part is called `hose`"), "{err}");
    let elsewhere = tempfile::tempdir().unwrap();
    let lost = Command::cargo_bin("matchmark")
        .unwrap()
        .args(["list", "parts"])
        .current_dir(elsewhere.path())
        .output()
        .unwrap();
    assert_eq!(lost.status.code(), Some(2));
}

/// What a stranger wrote starts no formula, moves no cursor and hides nothing.
#[test]
fn hostile_texts_do_nothing() {
    let bench = Bench::new(&[
        ("build.yaml", "name: Brindlet\n"),
        (
            "parts/all.yaml",
            "a: {name: \"=SUM(A1)\", maker: \"-5 \\e[2J\\u202ex\", number: '@x'}\n\
             b: {name: \"one\\ntwo\", maker: \"'=1\", number: \"say \\\"so\\\", then\"}\n\
             c: {name: \"'tis\", number: \"\\tx\"}\n",
        ),
    ]);
    let text = bench.shown(&["parts"]);
    assert!(!text.contains(['\u{1b}', '\u{202e}']), "{text}");
    assert!(text.contains("one two"), "{text}");
    let csv = bench.shown(&["parts", "--format", "csv"]);
    assert_eq!(
        csv,
        "part,name,number,maker,critical,pieces,placed,spare,scrap,unmarked\r\n\
         a,'=SUM(A1),'@x,'-5 \\u{1b}[2J\\u{202e}x,,0,0,0,0,\r\n\
         b,\"one\ntwo\",\"say \"\"so\"\", then\",''=1,,0,0,0,0,\r\n\
         c,'tis,\\u{9}x,,,0,0,0,0,\r\n"
    );
    let json = bench.json(&["parts"]);
    assert_eq!(json["rows"][0]["maker"], "-5 \u{1b}[2J\u{202e}x");
    assert_eq!(matchmark::render::rows::as_it_was("''=1"), "'=1");
}

/// Whatever the texts, no line is wider than the page or the terminal, as they are seen.
#[test]
fn no_line_is_too_wide() {
    let long = "wide ".repeat(40) + &"箱".repeat(90) + &"x".repeat(120);
    let record = format!(
        "{}: {{name: \"{long}\", maker: \"{long}\", number: \"{long}\"}}\nbox-seal: {{name: 箱箱 sealé}}\n",
        "very-long-".repeat(9) + "id"
    );
    let raw = |path: &str, text: &str| RawFile {
        path: path.to_owned(),
        content: Content::Bytes(text.as_bytes().to_vec()),
    };
    let mut files: Vec<RawFile> = WREN.iter().map(|(path, text)| raw(path, text)).collect();
    files.push(raw("parts/long.yaml", &record));
    let folder = Folder::read(files).unwrap();
    let mut looked = 0;
    for (what, _) in list::KINDS {
        let table = list::table(&folder, what, &Wanted::default()).unwrap();
        for width in [20, 33, 60, 80, 132, 300] {
            for room in [Room::Cut(width), Room::Fold(width)] {
                for line in table::table(&table, room).lines() {
                    // A word of the totals may be longer than the narrowest terminal.
                    assert!(line.width() <= width, "{what} {room:?}: {line}");
                    looked += 1;
                }
            }
        }
        // One line a row where it is cut, and everything said where it is not.
        let rows: usize = table.groups.iter().map(|group| group.rows.len()).sum();
        let cut = table::table(&table, Room::Cut(40));
        let body = cut.split("─\n").nth(1).unwrap();
        assert_eq!(body.trim_end_matches('─').lines().count(), rows, "{cut}");
    }
    assert!(looked > 1000);
    let parts = list::table(&folder, "parts", &Wanted::default()).unwrap();
    let folded = table::table(&parts, Room::Fold(80));
    assert_eq!(folded.matches('箱').count(), 3 * 90 + 2);
    assert!(!folded.contains('…'));
    assert!(table::table(&parts, Room::Cut(80)).contains('…'));
}

/// Whoever reads on the other side of a pipe may leave, as `head` does.
#[test]
fn a_reader_may_leave() {
    let many: String = (0..3000)
        .map(|number| format!("part-{number}: {{name: Part {number}}}\n"))
        .collect();
    let bench = Bench::new(&[
        ("build.yaml", "name: Brindlet\n"),
        ("parts/all.yaml", &many),
    ]);
    let mut child = std::process::Command::new(assert_cmd::cargo::cargo_bin("matchmark"))
        .args(["list", "parts"])
        .current_dir(bench.folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let ended = child.wait_with_output().unwrap();
    assert_eq!(ended.status.code(), Some(0));
    assert_eq!(String::from_utf8(ended.stderr).unwrap(), "");
}

/// A piece that is on twice, which the check refuses, is shown twice and counted once; one
/// that is on elsewhere than planned is where it is on.
#[test]
fn a_piece_counts_once() {
    let bench = Bench::new(&[
        ("build.yaml", "name: Brindlet\n"),
        ("assemblies/all.yaml", "engine: {places: {a: {}, b: {}}}\nspare: {places: {c: {}}}\n"),
        (
            "parts/all.yaml",
            "pump:
  name: Pump
  pieces:
    P1: {fitted: [{as: mock-up, when: 2026-03-01, at: engine/a}, {as: final, when: 2026-03-01, at: spare/c}],
         bought: {price: 30 EUR}}
    P2: {goes: engine/a, fitted: [{as: mock-up, when: 2026-03-01, at: engine/b}], bought: {price: 10–12 EUR}}
",
        ),
    ]);
    assert_eq!(
        bench.shown(&["pieces"]),
        "\
piece     stage    place (kept in)
──────────────────────────────────
pump/P1   mock-up  engine/a
pump/P1   final    spare/c
pump/P2   mock-up  engine/b
──────────────────────────────────
2 pieces
condition: 2 not stated
stage: 2 mock-up
price: 30 EUR; 1 without a price
"
    );
    let p2 = &bench.json(&["pieces", "pump/P2"])["rows"][0];
    assert_eq!(p2["place"], serde_json::json!(["engine/b"]));
    assert_eq!(p2["goes"], serde_json::json!(["engine/a"]));
}
