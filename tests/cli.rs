//! Whole runs, as a builder types them: what is printed, and the exit code.

#![allow(clippy::disallowed_methods)]

use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new(files: &[(&str, &str)]) -> Self {
        let bench = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        for (path, text) in files {
            bench.write(path, text);
        }
        bench
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn write(&self, path: &str, text: &str) {
        let path = self.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
    }

    /// Exit code, then standard output, then standard error.
    fn run(&self, args: &[&str]) -> (i32, String, String) {
        self.run_in("", args)
    }

    fn run_in(&self, inner: &str, args: &[&str]) -> (i32, String, String) {
        let output = Command::cargo_bin("matchmark")
            .unwrap()
            .args(args)
            .current_dir(self.path().join(inner))
            .env_remove("NO_COLOR")
            .env_remove("CLICOLOR_FORCE")
            .output()
            .unwrap();
        (
            output.status.code().unwrap(),
            String::from_utf8(output.stdout).unwrap(),
            String::from_utf8(output.stderr).unwrap(),
        )
    }
}

const SLIP: &[(&str, &str)] = &[
    ("build.yaml", "name: Brindlet\n"),
    ("donors/all.yaml", "pell-van: {maker: Pell}\n"),
    (
        "parts/fuel.yaml",
        "injector:\n  name: Injector\n  pieces: {P1: {donor: pel-van}}\n  note: long # short\n",
    ),
];

#[test]
fn a_slip_is_told_at_its_line() {
    let bench = Bench::new(SLIP);
    let (code, out, err) = bench.run(&["check"]);
    assert_eq!(
        out,
        "\
parts/fuel.yaml:3:24: error: there is no donor `pel-van` [unknown-reference]
    donors/all.yaml:1:1: donors/pell-van
    to do: write `pell-van`
parts/fuel.yaml:4:9: warning: the text stops at ` #`: YAML reads `long` and drops `# short` as a comment [changed-by-yaml]
    to do: write `\"long # short\"` if it belongs to the text; before a comment put two spaces
2 records in 3 files: 1 error, 1 warning, no notes
"
    );
    assert_eq!((code, err.as_str()), (1, ""));
    // From inside the folder, and from outside by name, the same.
    assert_eq!(bench.run_in("parts", &["check"]).1, out);
    let other = Bench::new(&[]);
    let named = bench.path().to_str().unwrap();
    assert_eq!(other.run(&["check", named]).1, out);
    // Whoever names something inside is told which build was checked.
    bench.write("lark/build.yaml", "name: Brindlet\n");
    bench.write("lark/parts/all.yaml", "seal: {name: Seal}\n");
    for (inner, named) in [
        ("", "lark/parts"),
        ("", "lark/build.yaml"),
        ("", "lark/parts/all.yaml"),
        ("lark", "parts"),
        ("lark/parts", "."),
    ] {
        let (code, out, _) = bench.run_in(inner, &["check", named]);
        let says = "1 record in 2 files of lark: no errors, no warnings, no notes\n";
        assert_eq!((code, out.as_str()), (0, says), "{named}");
    }
    assert_eq!(bench.run(&["check", "lark/part"]).0, 2);
}

#[test]
fn a_level_hides_lines_and_not_the_exit_code() {
    let bench = Bench::new(SLIP);
    let (code, out, _) = bench.run(&["check", "--level", "error"]);
    assert_eq!(code, 1);
    assert!(!out.contains("warning:"), "{out}");
    assert!(out.ends_with("1 error, 1 warning, no notes\n"), "{out}");
    bench.write("donors/all.yaml", "pel-van: {maker: Pell}\n");
    let (code, out, _) = bench.run(&["check", "--level", "error"]);
    assert_eq!(
        (code, out.as_str()),
        (0, "2 records in 3 files: no errors, 1 warning, no notes\n")
    );
}

#[test]
fn the_build_sets_levels_and_decisions_settle() {
    let bench = Bench::new(&[
        (
            "build.yaml",
            "name: Brindlet\nlevels: {changed-by-yaml: note}\n",
        ),
        (
            "parts/all.yaml",
            "unit: {name: Unit, number: 0123}\nkey: {name: Key, number: 0456}\n",
        ),
    ]);
    let (code, out, _) = bench.run(&["check"]);
    assert_eq!(code, 0);
    assert!(out.contains("parts/all.yaml:1:28: note: "), "{out}");
    bench.write(
        "build.yaml",
        "name: Brindlet\nlevels: {changed-by-yaml: none}\n",
    );
    let (_, out, _) = bench.run(&["check"]);
    assert_eq!(
        out,
        "2 records in 2 files: no errors, no warnings, no notes\n"
    );

    bench.write("build.yaml", "name: Brindlet\n");
    bench.write(
        "decisions/all.yaml",
        "leave-it: {asks: Quote it?, options: {leave: {}}, chosen: leave, because: it is stamped so,\n  \
         settles: [{rule: changed-by-yaml, at: parts/unit}]}\n",
    );
    let (code, out, _) = bench.run(&["check"]);
    assert_eq!(code, 1);
    assert!(!out.contains("parts/all.yaml:1:"), "{out}");
    assert!(out.contains("parts/all.yaml:2:"), "{out}");
    assert!(
        out.ends_with("1 error, no warnings, no notes, 1 settled\n"),
        "{out}"
    );
    let (_, out, _) = bench.run(&["check", "--settled"]);
    assert!(out.contains("    settled by decisions/leave-it\n"), "{out}");
    let (_, out, _) = bench.run(&["check", "--format", "json"]);
    let report: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(report["findings"][0]["settled_by"], "decisions/leave-it");
    assert_eq!(report["findings"][1]["settled_by"], Value::Null);
}

/// The JSON is what its published schema says, whatever is found.
#[test]
fn json_is_as_published() {
    let schema: Value = serde_json::from_str(include_str!("../schema/findings.json")).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let bench = Bench::new(SLIP);
    bench.write("parts/x.yml", "");
    bench.write("jobs/all.yaml", "a: {does: x, takes: 2}\na: [\n");
    let (code, out, _) = bench.run(&["check", "--format", "json"]);
    assert_eq!(code, 1);
    let report: Value = serde_json::from_str(&out).unwrap();
    let faults: Vec<String> = validator
        .iter_errors(&report)
        .map(|error| error.to_string())
        .collect();
    assert!(faults.is_empty(), "{faults:?}");
    let slip = report["findings"]
        .as_array()
        .unwrap()
        .iter()
        .find(|one| one["rule"] == "unknown-reference")
        .unwrap();
    assert_eq!(
        slip,
        &serde_json::json!({
            "rule": "unknown-reference", "level": "error",
            "message": "there is no donor `pel-van`",
            "file": "parts/fuel.yaml", "line": 3, "column": 24, "end_line": 3, "end_column": 31,
            "record": "parts/injector/P1",
            "related": [{
                "message": "donors/pell-van",
                "file": "donors/all.yaml", "line": 1, "column": 1, "end_line": 1, "end_column": 9,
            }],
            "remedy": "write `pell-van`",
            "settled_by": null,
            "older": false,
        })
    );
    // The counts are of all, whatever is shown.
    let counts = |report: &Value| {
        ["errors", "warnings", "notes", "settled"].map(|count| report[count].as_u64().unwrap())
    };
    assert_eq!(counts(&report), [3, 1, 0, 0], "{out}");
    let (_, out, _) = bench.run(&["check", "--format", "json", "--level", "error"]);
    let loud: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(counts(&loud), counts(&report));
    let clean = Bench::new(&[("build.yaml", "name: Brindlet\n")]);
    let (code, out, _) = clean.run(&["check", "--format", "json"]);
    let nothing = "{\n  \"errors\": 0,\n  \"warnings\": 0,\n  \"notes\": 0,\n  \"settled\": 0,\n  \"older\": 0,\n  \"findings\": []\n}\n";
    assert_eq!((code, out.as_str()), (0, nothing));
}

#[test]
fn what_can_not_run_says_so_and_what_to_do() {
    let empty = Bench::new(&[]);
    let (code, out, err) = empty.run(&["check", "nowhere"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert_eq!(
        err,
        "matchmark: there is no file or folder nowhere\n    to do: name a build folder, begin one with `matchmark start DIR`, or see `matchmark demo DIR`\n"
    );
    let (code, _, err) = empty.run(&["check", "."]);
    assert_eq!(code, 2);
    assert!(err.starts_with("matchmark: there is no build.yaml in . or in a folder above it\n"));
    let build = Bench::new(SLIP);
    assert_eq!(
        build.run(&["check", "--as-of", "2026-02-30"]),
        (
            2,
            String::new(),
            "matchmark: `2026-02-30` is no day in the calendar\n    \
             to do: write year-month-day, as in `--as-of 2026-03-01`\n"
                .to_owned()
        )
    );
    assert_eq!(empty.run(&["check", "--level", "loud"]).0, 2);
    let (code, _, err) = empty.run(&["explain", "unknown-referense"]);
    assert_eq!(code, 2);
    assert_eq!(
        err,
        "matchmark: there is no rule `unknown-referense`\n    to do: write `unknown-reference`\n"
    );
}

#[test]
fn each_rule_is_explained() {
    let bench = Bench::new(&[]);
    let (code, list, _) = bench.run(&["explain"]);
    assert_eq!(code, 0);
    assert!(
        list.lines().all(|line| line.chars().count() <= 80),
        "{list}"
    );
    for name in matchmark::lint::names() {
        assert!(list.contains(name), "{name}");
        let (code, page, _) = bench.run(&["explain", name]);
        assert_eq!(code, 0);
        assert!(page.starts_with(&format!("{name} (")), "{page}");
        assert!(
            page.contains("\nWrong:\n") && page.contains("\nRight:\n"),
            "{page}"
        );
        assert!(!page.contains("```"), "{page}");
    }
}

#[test]
fn the_demonstration_is_laid_out_and_clean() {
    let bench = Bench::new(&[]);
    let (code, out, err) = bench.run(&["demo", "deep/lark"]);
    assert_eq!((code, err.as_str()), (0, ""), "{out}");
    let typed = "$ matchmark check deep/lark --level error --as-of 2026-04-18\n";
    assert!(out.contains(typed), "{out}");
    assert!(out.contains("files: no errors, "), "{out}");
    assert!(!out.contains(" warning: "), "{out}");
    let (code, _, _) = bench.run(&["check", "deep/lark"]);
    assert_eq!(code, 0);
    // Nothing is overwritten, and nothing is left beside it.
    bench.write("deep/lark/parts/mine.yaml", "mine: {name: Mine}\n");
    let (code, out, err) = bench.run(&["demo", "deep/lark"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(err.contains("deep/lark is there already"), "{err}");
    assert!(bench.path().join("deep/lark/parts/mine.yaml").exists());
    assert_eq!(
        std::fs::read_dir(bench.path().join("deep"))
            .unwrap()
            .count(),
        1
    );
    // What is shown as typed can be typed.
    let (_, out, _) = bench.run(&["demo", "Carl's build"]);
    assert!(
        out.contains("$ matchmark check 'Carl'\\''s build' --level error"),
        "{out}"
    );
    // An empty folder may be used.
    std::fs::create_dir(bench.path().join("empty")).unwrap();
    assert_eq!(bench.run(&["demo", "empty"]).0, 0);
    assert_eq!(bench.run(&["demo"]).0, 0);
    assert!(bench.path().join("matchmark-demo/build.yaml").exists());
}

/// In a pipe nothing is coloured; the same bytes come twice.
#[test]
fn a_pipe_gets_plain_text() {
    let bench = Bench::new(SLIP);
    let first = bench.run(&["check"]);
    assert!(!first.1.contains('\u{1b}'));
    assert_eq!(first, bench.run(&["check"]));
    // Asked for, it colours; refused, it does not, whatever else is asked.
    let coloured = |refuse: bool| {
        let mut command = Command::cargo_bin("matchmark").unwrap();
        command
            .arg("check")
            .current_dir(bench.path())
            .env("CLICOLOR_FORCE", "1");
        if refuse {
            command.env("NO_COLOR", "1").env_remove("CLICOLOR_FORCE");
        }
        String::from_utf8(command.output().unwrap().stdout).unwrap()
    };
    assert!(coloured(false).contains("\u{1b}[1m\u{1b}[31merror"));
    assert_eq!(coloured(true), first.1);
}

/// A folder from somebody else reads nothing outside itself and can't write to
/// the terminal what it likes.
#[cfg(unix)]
#[test]
fn a_hostile_folder_does_nothing() {
    use std::os::unix::fs::symlink;
    let outside = Bench::new(&[("secret.yaml", "secret: {name: the combination is 1234}\n")]);
    let bench = Bench::new(&[
        ("build.yaml", "name: \"Brindlet\\u001b[2J\\u202e\"\n"),
        (
            "parts/all.yaml",
            "a: {name: A, pieces: {P1: {donor: \"\\e[31mx\\u202ey\\r\\nz\"}}}\n\"b\\u001bc\": {name: B}\n",
        ),
        ("parts/.hidden/all.yaml", "c: {nmae: C}\n"),
    ]);
    symlink(
        outside.path().join("secret.yaml"),
        bench.path().join("parts/link.yaml"),
    )
    .unwrap();
    symlink(outside.path(), bench.path().join("donors")).unwrap();
    symlink("..", bench.path().join("loop")).unwrap();
    bench.write("jobs/\u{1b}[31m.yaml", "x: {nmae: y}\n");
    let (code, out, err) = bench.run(&["check"]);
    assert_eq!((code, err.as_str()), (1, ""));
    let shown = |c: char| c == '\n' || !c.is_control() && c != '\u{202e}';
    assert!(out.chars().all(shown), "{out:?}");
    assert!(!out.contains(".hidden") && !out.contains("secret"), "{out}");
    assert_eq!(out.matches("this is a link").count(), 2, "{out}");
    for link in ["parts/link.yaml", "donors"] {
        let said = format!("{link}:1:1: error: this is a link");
        assert!(out.contains(&said), "{out}");
    }
    // Nothing behind the links or in the hidden folder was read.
    assert!(out.contains("\n3 records in 3 files: "), "{out}");
    let (_, json, _) = bench.run(&["check", "--format", "json"]);
    assert!(json.chars().all(shown), "{json:?}");
}

#[cfg(unix)]
#[test]
fn odd_files_are_said_and_the_rest_is_judged() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new(SLIP);
    bench.write("parts/größe 2.yaml", "seal: {nmae: Seal}\n");
    bench.write("jobs/shut.yaml", "x: {}\n");
    std::fs::create_dir_all(bench.path().join("photos/folder.yaml")).unwrap();
    let shut = bench.path().join("jobs/shut.yaml");
    std::fs::set_permissions(&shut, std::fs::Permissions::from_mode(0o000)).unwrap();
    let (code, out, err) = bench.run(&["check"]);
    assert_eq!((code, err.as_str()), (1, ""));
    assert!(
        out.contains("parts/größe 2.yaml:1:8: error: a part has no key `nmae`"),
        "{out}"
    );
    assert!(out.contains("there is no donor `pel-van`"), "{out}");
    // Root reads any file.
    if std::fs::read(&shut).is_err() {
        assert!(
            out.contains("jobs/shut.yaml:1:1: error: the file can't be opened"),
            "{out}"
        );
    }
}

/// An output that takes nothing more is no clean check.
#[cfg(target_os = "linux")]
#[test]
fn a_full_output_is_said() {
    let bench = Bench::new(&[("build.yaml", "name: Brindlet\n")]);
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_matchmark"))
        .arg("check")
        .current_dir(bench.path())
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    let err = String::from_utf8(output.stderr).unwrap();
    assert!(err.contains("can't be printed"), "{err}");
}

/// One wrong field costs that field, and nothing else in its record or build.
#[test]
fn the_rest_of_a_record_still_stands() {
    let bench = Bench::new(&[
        (
            "build.yaml",
            "cylinders: four\npeople: [carl]\nlevels: {changed-by-yaml: note}\n",
        ),
        (
            "jobs/all.yaml",
            "x: {does: x, spent: [{when: 2026-01-01, by: carl}]}\n",
        ),
        (
            "parts/all.yaml",
            "unit: {name: Unit, number: 0123, have: [1, two]}\n",
        ),
    ]);
    let (_, out, _) = bench.run(&["check"]);
    assert!(!out.contains("carl"), "{out}");
    assert!(out.contains("parts/all.yaml:1:28: note: "), "{out}");
    assert!(out.contains("build.yaml:1:12: error: `cylinders`"), "{out}");
    // A decision with one wrong field still settles.
    bench.write(
        "decisions/all.yaml",
        "leave: {asks: Quote it?, options: {leave: {}}, chosen: leave, because: stamped so, when: soon,\n  \
         settles: [{rule: changed-by-yaml, at: parts/unit}]}\n",
    );
    let (_, out, _) = bench.run(&["check"]);
    assert!(!out.contains("0123"), "{out}");
    assert!(out.contains("1 settled"), "{out}");
    // A build of nothing has no name.
    bench.write("build.yaml", "# later\n");
    let (code, out, _) = bench.run(&["check"]);
    assert_eq!(code, 1);
    assert!(
        out.contains("build.yaml:1:1: error: the file needs `name`"),
        "{out}"
    );
}

/// What is offered is near, or it is a list to choose from: never another part.
#[test]
fn a_remedy_does_not_make_the_record_wrong() {
    let bench = Bench::new(&[
        ("build.yaml", "name: Brindlet\n"),
        (
            "assemblies/all.yaml",
            "engine: {places: {head: {}, block: {}}}\ngearbox: {places: {box: {}}}\n",
        ),
    ]);
    for (goes, says) in [
        (
            "engine",
            "name a place of `engine`; known here: `engine/head`, `engine/block`",
        ),
        ("engine/", "known here: `engine/head`, `engine/block`"),
        ("gearbox/lock", "known here: `gearbox/box`"),
        ("engine/blok", "write `engine/block`"),
    ] {
        let part = format!("b: {{name: B, pieces: {{A: {{goes: {goes}}}}}}}\n");
        bench.write("parts/all.yaml", &part);
        let (_, out, _) = bench.run(&["check"]);
        assert!(out.contains(says), "{goes}: {out}");
    }
}

/// Of many places none is picked at random; the one that takes the part's number is.
#[test]
fn a_part_that_goes_into_an_assembly_is_told_its_places() {
    let bench = Bench::new(&[
        ("build.yaml", "name: Brindlet\ncylinders: 4\n"),
        (
            "assemblies/all.yaml",
            "engine: {places: {block: {}, sump: {}, cover: {}, head: {takes: [\"16-HD-2\"]},\n  \
             coil: {each: cylinder, takes: [QX]}}}\n",
        ),
        (
            "parts/all.yaml",
            "head: {name: H, number: \"16-HD-2\", pieces: {A: {goes: engine}}}\n\
             coil: {name: C, number: QX, pieces: {A: {goes: engine}}}\n\
             rail: {name: R, pieces: {A: {goes: engine}}}\n",
        ),
    ]);
    let (_, out, _) = bench.run(&["check"]);
    let remedies: Vec<&str> = out
        .lines()
        .filter(|line| line.contains("to do: "))
        .collect();
    assert_eq!(
        remedies,
        [
            "    to do: write `engine/head`",
            "    to do: name a place of `engine`; known here: `engine/coil-1`, `engine/coil-2`, `engine/coil-3`, `engine/coil-4`, `engine/block` and 3 more",
            "    to do: name a place of `engine`; known here: `engine/block`, `engine/sump`, `engine/cover`, `engine/head`, `engine/coil-1` and 3 more",
        ]
    );
}

/// One slip with a folder is one finding: the cause, and none of what follows from it.
#[test]
fn a_folder_in_the_wrong_place_is_no_flood() {
    let files = [
        (
            "build.yaml",
            "name: Brindlet\nspots: {bay: the engine bay}\nsources: {book: {title: B}}\n",
        ),
        ("donors/all.yaml", "van: {maker: Pell}\n"),
        (
            "parts/a.yaml",
            "a: {name: A, source: {in: book}, pieces: {P: {donor: van}}}\n",
        ),
        ("parts/b.yaml", "b: {name: B}\n"),
        (
            "plugs/all.yaml",
            "u: {kind: plug, at: bay, cavities: 1-4}\n",
        ),
    ];
    let said = |moved: &dyn Fn(&str) -> Vec<String>| {
        let bench = Bench::new(&[]);
        for (path, text) in files {
            for path in moved(path) {
                bench.write(&path, text);
            }
        }
        let out = bench.run(&["check"]).1;
        let kept = out.lines().filter(|line| !line.starts_with("    "));
        kept.map(str::to_owned).collect::<Vec<_>>()
    };
    for (moved, says) in [
        (
            (&|path: &str| vec![path.replace("build.yaml", "build.yml")])
                as &dyn Fn(&str) -> Vec<String>,
            "build.yml:1:1: error: the file's name does not end in `.yaml`, so nothing in it is read",
        ),
        (
            &|path: &str| vec![path.replace("build.yaml", "build.yaml/all.yaml")],
            "build.yaml:1:1: error: this can't be opened: it is a folder",
        ),
        (
            &|path: &str| vec![path.replace("parts/", "part/")],
            "part/a.yaml:1:1: error: part/ is no kind's folder, so none of the 2 files in it is read",
        ),
        (
            &|path: &str| vec![path.to_owned(), format!("copy/{path}")],
            "copy/build.yaml:1:1: warning: copy/ is a build folder of its own, and the 5 files in it are not read here",
        ),
        (
            &|path: &str| vec![path.to_owned(), format!("parts/old/{path}")],
            "parts/old/build.yaml:1:1: warning: parts/old/ is a build folder of its own, and the 5 files in it are not read here",
        ),
    ] {
        let out = said(moved);
        assert_eq!(out.len(), 2, "{out:?}");
        assert!(out[0].starts_with(says), "{out:?}");
    }
}

/// A file or folder that is not read is said once, and what it may hold is not
/// called unknown.
#[test]
fn what_is_not_read_is_no_false_alarm() {
    let bench = Bench::new(&[
        ("build.yaml", "name: Brindlet\n"),
        ("donor/all.yaml", "van: {maker: Pell}\n"),
        ("notes/all.yaml", "a: b\n"),
        (
            "parts/all.yaml",
            "p: {name: P, suits: {gearbox: manual}, pieces: {A: {donor: van}}}\n",
        ),
    ]);
    let (code, out, _) = bench.run(&["check", "--level", "error"]);
    assert_eq!(code, 1);
    assert_eq!(
        out,
        "donor/all.yaml:1:1: error: the file lies in no folder of a kind, so nothing in it is read [unreadable-file]\n    \
         to do: move it to donors/all.yaml\n\
         1 record in 2 files: 1 error, 1 warning, no notes\n"
    );
}

/// The README's sample is what a newcomer sees who does what it says.
#[test]
fn the_readmes_slip_prints_what_it_shows() {
    let readme = include_str!("../README.md");
    let bench = Bench::new(&[]);
    assert_eq!(bench.run(&["demo", "lark"]).0, 0);
    let path = bench.path().join("lark/parts/engine.yaml");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replacen("dunmarsh-van", "dunmarsh-vam", 1)).unwrap();
    let typed = "check lark --level error --as-of 2026-04-18";
    assert!(readme.contains(typed));
    let (_, out, _) = bench.run(&typed.split(' ').collect::<Vec<_>>());
    assert!(readme.contains(&format!("```text\n{out}```\n")), "{out}");
    std::fs::write(&path, text).unwrap();
    let path = bench.path().join("lark/parts/electrical.yaml");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replacen("\"0412\"", "0412", 1)).unwrap();
    let (_, out, _) = bench.run(&["check", "lark"]);
    assert!(out.contains("write `\"0412\"`"), "{out}");
}
