//! The answers of `reckon`, whole: to judge by eye, and by the keys that programs read.
//!
//! `tests/reckon/answers.txt` holds each line that was typed with what it prints;
//! `UPDATE=1 cargo test --test reckon` fills the answers in, to be read before they are kept.

#![allow(clippy::disallowed_methods)]

use std::path::PathBuf;

use assert_cmd::Command;
use serde_json::Value;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The words of a line, those in quotes together.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (number, part) in line.split('"').enumerate() {
        if number % 2 == 1 {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}

/// What a line prints, on standard output and on the other, and how it ends.
fn typed(line: &str, at: &str) -> (String, String, Option<i32>) {
    let nowhere = tempfile::tempdir().unwrap();
    let mut command = Command::cargo_bin("matchmark").unwrap();
    let folder = if at.is_empty() {
        nowhere.path().to_owned()
    } else {
        root().join(at)
    };
    let output = command
        .args(words(line))
        .current_dir(folder)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (
        text(output.stdout),
        text(output.stderr),
        output.status.code(),
    )
}

#[test]
fn answers_read_as_they_should() {
    let path = root().join("tests/reckon/answers.txt");
    let kept = std::fs::read_to_string(&path).unwrap();
    let mut anew = String::new();
    let mut count = 0;
    let head: Vec<&str> = kept
        .lines()
        .take_while(|line| !line.starts_with("$ "))
        .collect();
    anew.push_str(&format!("{}\n", head.join("\n")));
    for line in kept.lines().filter_map(|line| line.strip_prefix("$ ")) {
        count += 1;
        let (out, err, code) = typed(line.strip_prefix("matchmark ").unwrap(), "");
        anew.push_str(&format!("$ {line}\n{out}{err}"));
        if code != Some(0) {
            anew.push_str(&format!("(exit {})\n", code.unwrap()));
        }
        anew.push('\n');
    }
    assert!(count > 15);
    if std::env::var_os("UPDATE").is_some() {
        std::fs::write(path, anew).unwrap();
        return;
    }
    assert!(
        kept == anew,
        "`UPDATE=1 cargo test --test reckon` shows what changed:\n{anew}"
    );
}

/// The questions that are asked most, with the keys that their answers have, as numbers but
/// for those named otherwise.
#[test]
fn programs_find_the_figures_by_their_keys() {
    for (line, keys) in [
        (
            "reckon convert \"18 lb-ft\"",
            "torque_nm torque_lb_in torque_kgf_m",
        ),
        (
            "reckon thread M8x1.25 --class 10.9 --into aluminium --engagement 12mm",
            "pitch_mm minor_diameter_mm stress_area_mm2 tap_drill_mm proof_load_n tensile_load_n engagement_enough_mm insert_drill_mm",
        ),
        (
            "reckon thread M16 --class 8.8",
            "pitch_mm minor_diameter_mm stress_area_mm2 tap_drill_mm proof_load_n",
        ),
        (
            "reckon thread 3/8-16UNC --class \"grade 5\"",
            "pitch_mm minor_diameter_mm stress_area_mm2 tap_drill_mm proof_load_n threads_per_inch",
        ),
        (
            "reckon torque M10x1.5 --class 8.8 --surface zinc",
            "torque_min_nm torque_max_nm preload_n proof_load_n nut_factor_min nut_factor_max",
        ),
        (
            "reckon torque M10x1.5 --class 8.8 --surface zinc --torque \"44 N·m\"",
            "preload_min_n preload_max_n share_of_proof_min_percent share_of_proof_max_percent",
        ),
        (
            "reckon wrench \"24 N·m\" --lever 380mm --extension 55mm --angle 0deg",
            "setting_nm torque_nm",
        ),
        (
            "reckon plating M8 --class 12.9 --layer 5µm --process zinc",
            "layer_max_mm allowance_mm pitch_diameter_growth_mm baking_min_h",
        ),
    ] {
        let (out, err, code) = typed(&format!("{line} --format json"), "");
        assert_eq!((err.as_str(), code), ("", Some(0)), "{line}");
        let answer: Value = serde_json::from_str(&out).unwrap();
        for key in keys.split(' ') {
            assert!(answer[key].is_number(), "{line}: {key} in {answer}");
        }
        for key in ["sources", "cautions", "notes"] {
            assert!(answer[key].is_array(), "{line}: {key}");
        }
        assert!(!answer["sources"].as_array().unwrap().is_empty(), "{line}");
    }
    let (out, _, _) = typed("reckon vin 1M8GDM9AXKP042788 --format json", "");
    let answer: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(
        (&answer["check_digit"], &answer["valid"]),
        (&Value::from("X"), &Value::from(true))
    );
}

/// 24 N·m at a lever of 380 mm and 55 mm in line are 24 × 380/435; the band of M10 8.8 in dry
/// zinc lies about MIL-HDBK-60's friction of 0.17, 20 % more or less.
#[test]
fn figures_are_what_is_worked_out_by_hand() {
    let told = |line: &str, key: &str| {
        let (out, _, _) = typed(&format!("{line} --format json"), "");
        let answer: Value = serde_json::from_str(&out).unwrap();
        answer[key].as_f64().unwrap()
    };
    let wrench = "reckon wrench \"24 N·m\" --lever 380mm --extension 55mm --angle";
    for (angle, wanted) in [
        ("0deg", 24.0 * 380.0 / 435.0),
        ("90deg", 24.0),
        ("180deg", 24.0 * 380.0 / 325.0),
        ("45deg", 24.0 * 380.0 / (380.0 + 55.0 * 0.5f64.sqrt())),
    ] {
        let ours = told(&format!("{wrench} {angle}"), "setting_nm");
        assert!((ours - wanted).abs() < 1e-5, "{angle}: {ours}");
    }
    let torque = "reckon torque M10x1.5 --class 8.8 --surface zinc";
    // The handbook's short form, T = F (0.159 P + 1.156 µ d), which is at most 1 % above.
    for (key, friction) in [("torque_min_nm", 0.136), ("torque_max_nm", 0.204)] {
        let load = told(torque, "preload_n");
        let wanted = load * (0.159 * 1.5 + 1.156 * friction * 10.0) / 1000.0;
        let ours = told(torque, key);
        assert!(
            ours < wanted && ours > wanted * 0.99,
            "{key}: {ours}, {wanted}"
        );
    }
}

/// In a build folder the wrenches are those of `build.yaml`, each with its own length.
#[test]
fn a_build_folder_has_its_wrenches() {
    let (out, err, code) = typed("reckon wrench \"24 N·m\" --format json", "example-build");
    assert_eq!((err.as_str(), code), ("", Some(0)));
    let answer: Value = serde_json::from_str(&out).unwrap();
    let wrenches = answer["wrenches"].as_array().unwrap();
    assert!(wrenches.len() > 1, "{answer}");
    assert!(wrenches.iter().any(|one| one["covers"] == true));
}

/// A wrench that fell and was not calibrated since is told of as one, though it covers.
#[test]
fn a_wrench_that_fell_is_doubted() {
    let folder = tempfile::tempdir().unwrap();
    let build = "name: Bench\nwrenches:\n  fell: {from: 5 N·m, to: 25 N·m, calibrated: 2026-01-09, dropped: 2026-02-01}\n  mended: {from: 5 N·m, to: 25 N·m, calibrated: 2026-03-01, dropped: 2026-02-01}\n";
    std::fs::write(folder.path().join("build.yaml"), build).unwrap();
    let run = |format: &[&str]| {
        let mut command = Command::cargo_bin("matchmark").unwrap();
        command.current_dir(folder.path());
        command.args(["reckon", "wrench", "24 N·m"]).args(format);
        String::from_utf8(command.output().unwrap().stdout).unwrap()
    };
    let text = run(&[]);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("dropped 2026-02-01, and not calibrated since"),
        "{text}"
    );
    assert!(text.contains("; calibrated 2026-03-01"), "{text}");
    let answer: Value = serde_json::from_str(&run(&["--format", "json"])).unwrap();
    let fell = |at: usize| answer["wrenches"][at]["dropped_since"].clone();
    assert_eq!(fell(0), "2026-02-01");
    assert_eq!(fell(1), Value::Null);
}
