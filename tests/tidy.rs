//! What the documents say is so: paths exist, help is copied right, the two
//! commands stand in the README.

#![allow(clippy::disallowed_methods)]

use std::path::{Path, PathBuf};

use assert_cmd::Command;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn text(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap()
}

/// Every path in backticks that DEVELOPERS.md names is there.
#[test]
fn the_guides_paths_exist() {
    let guide = text("DEVELOPERS.md");
    let mut seen = 0;
    for quoted in guide.split('`').skip(1).step_by(2) {
        let is_path = quoted.contains('/')
            && !quoted.contains([' ', '<', '*', '{', ':', '←'])
            && [
                "src/",
                "tests/",
                "schema/",
                "benches/",
                "example-build",
                ".ci/",
            ]
            .iter()
            .any(|top| quoted.starts_with(top));
        if is_path {
            seen += 1;
            assert!(root().join(quoted).exists(), "DEVELOPERS.md names {quoted}");
        }
    }
    assert!(seen > 25, "only {seen} paths");
}

/// Every module is named in the guide's view of the house, and every dependency has its reason.
#[test]
fn the_guide_names_every_module_and_dependency() {
    let guide = text("DEVELOPERS.md");
    for entry in std::fs::read_dir(root().join("src")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.ends_with(".rs") {
            assert!(
                guide.contains(&name),
                "DEVELOPERS.md does not name src/{name}"
            );
        }
    }
    let manifest = text("Cargo.toml");
    let mut inside = false;
    for line in manifest.lines() {
        if line.starts_with('[') {
            inside = line.ends_with("dependencies]");
        } else if inside && let Some((name, _)) = line.split_once(" = ") {
            assert!(
                guide.contains(&format!("| {name} |")),
                "DEVELOPERS.md does not say why {name}"
            );
        }
    }
}

/// The README's copies of `--help` are what the program prints. `UPDATE=1` takes
/// them over.
#[test]
fn the_readmes_help_is_the_programs() {
    let readme = text("README.md");
    let mut anew = String::new();
    let mut lines = readme.lines();
    let mut copies = 0;
    while let Some(line) = lines.next() {
        anew.push_str(&format!("{line}\n"));
        let Some(command) = line
            .strip_prefix("<!-- help:")
            .and_then(|rest| rest.strip_suffix("-->"))
        else {
            continue;
        };
        copies += 1;
        assert_eq!(lines.next(), Some("```text"));
        lines.by_ref().find(|line| *line == "```").unwrap();
        let output = Command::cargo_bin("matchmark")
            .unwrap()
            .args(command.split_whitespace())
            .arg("--help")
            .env("COLUMNS", "80")
            .output()
            .unwrap();
        let help = String::from_utf8(output.stdout).unwrap();
        let help: String = help
            .lines()
            .map(|l| format!("{}\n", l.trim_end()))
            .collect();
        anew.push_str(&format!("```text\n{help}```\n"));
    }
    assert_eq!(copies, 25);
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(root().join("README.md"), &anew).unwrap();
        return;
    }
    assert!(
        readme == anew,
        "the help in README.md is not the program's; `UPDATE=1 cargo test --test tidy` takes it over"
    );
}

#[test]
fn the_readme_shows_the_two_commands() {
    let readme = text("README.md");
    assert!(readme.contains("\ncargo run --release -- demo lark\n"));
    assert!(readme.contains("\ncargo test\n"));
    let ci = text(".ci/run");
    assert!(ci.contains("cargo test"), "the slow checks run the same");
}

/// Nothing speaks of a machine, and lines end with LF.
#[test]
fn files_are_portable() {
    fn walk(folder: &Path, all: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if path.is_dir() {
                if !matches!(name.as_str(), "target" | ".git" | "node_modules") {
                    walk(&path, all);
                }
            } else {
                all.push(path);
            }
        }
    }
    let mut files = Vec::new();
    walk(&root(), &mut files);
    for path in files {
        let Ok(text) = std::fs::read_to_string(&path) else {
            continue;
        };
        let shown = path.display();
        assert!(!text.contains('\r'), "{shown} has a carriage return");
        for machine in ["/home/", "/root/", "/Users/", "C:\\"] {
            let own = path.ends_with("tests/tidy.rs");
            assert!(own || !text.contains(machine), "{shown} names {machine}");
        }
    }
}

/// Only `shell` touches the world: `clippy.toml` bans it, and nothing but `shell`
/// lifts the ban.
#[test]
fn only_the_shell_lifts_the_ban() {
    fn walk(folder: &Path, lifted: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, lifted);
            } else if std::fs::read_to_string(&path)
                .unwrap()
                .contains("allow(clippy::disallowed")
            {
                lifted.push(path.strip_prefix(root()).unwrap().display().to_string());
            }
        }
    }
    let mut lifted = Vec::new();
    walk(&root().join("src"), &mut lifted);
    assert_eq!(lifted, ["src/shell.rs"]);
}
