//! Evenings at the bench: what is typed and what comes, with real git, in folders of
//! their own and with nobody's settings.
//!
//! An evening is a text file in `tests/evenings/`. `@ 2026-03-01 20:15` sets the clock of
//! what git writes. `$ ` is typed into a shell; a `$ ` line that ends in `<<` is
//! followed by what the file of that name holds, each line after `| `. After `> ` stands
//! what came: standard output and error together, and `(exit 1)` if it was not 0.
//! `UPDATE=1 cargo test --test evenings` writes it anew, to be read before it is kept.
//!
//! What is typed is for the tools of GNU, so that the evenings pass on Linux only.

#![cfg(target_os = "linux")]
#![allow(clippy::disallowed_methods)]

mod bench;

use std::path::{Path, PathBuf};
use std::process::Command;

use bench::Bench;

/// An evening as it goes when its lines are typed.
fn replayed(evening: &str) -> String {
    let mut bench = Bench::new();
    let mut text = String::new();
    let mut lines = evening.lines().peekable();
    while let Some(line) = lines.next() {
        if let Some(file) = line.strip_prefix("$ ").and_then(|l| l.strip_suffix(" <<")) {
            text.push_str(&format!("{line}\n"));
            let mut held = String::new();
            while let Some(inner) = lines.next_if(|line| line.starts_with('|')) {
                text.push_str(&format!("{inner}\n"));
                held.push_str(inner.strip_prefix("| ").unwrap_or_default());
                held.push('\n');
            }
            bench.writes(file, &held);
        } else if let Some(typed) = line.strip_prefix("$ ") {
            text.push_str(&format!("{line}\n{}", bench.types(typed)));
            // What came when it was last told goes.
            while lines.next_if(|line| line.starts_with('>')).is_some() {}
        } else {
            if let Some(clock) = line.strip_prefix("@ ") {
                clock.clone_into(&mut bench.clock);
            }
            text.push_str(&format!("{line}\n"));
        }
    }
    text
}

#[test]
fn every_evening_goes_as_it_is_told() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/evenings");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.sort();
    assert!(files.len() > 5, "{files:?}");
    let evening = |file: &PathBuf| -> String {
        let told = std::fs::read_to_string(file).unwrap();
        assert!(told.starts_with("# "), "{}", file.display());
        if !git_is_new_enough(&told) {
            return String::new();
        }
        let went = replayed(&told);
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(file, went).unwrap();
        } else if went != told {
            let differs = similar::TextDiff::from_lines(&told, &went);
            return format!(
                "== {}\n{}\n",
                file.file_name().unwrap().to_string_lossy(),
                differs.unified_diff().context_radius(2)
            );
        }
        String::new()
    };
    let wrong: String = std::thread::scope(|scope| {
        let going: Vec<_> = files
            .iter()
            .map(|file| scope.spawn(|| evening(file)))
            .collect();
        going.into_iter().map(|one| one.join().unwrap()).collect()
    });
    assert!(wrong.is_empty(), "{wrong}");
}

/// Whether the second line, `# Needs git 2.45.`, is met.
fn git_is_new_enough(told: &str) -> bool {
    let Some(needs) = told
        .lines()
        .find_map(|line| line.strip_prefix("# Needs git "))
    else {
        return true;
    };
    let version = |text: &str| -> Vec<u32> {
        let numbers = text.split(|c: char| !c.is_ascii_digit());
        numbers
            .filter_map(|number| number.parse().ok())
            .take(2)
            .collect()
    };
    let has = Command::new("git").arg("--version").output().unwrap();
    version(&String::from_utf8_lossy(&has.stdout)) >= version(needs)
}
