//! SARIF output against the standard: "Static Analysis Results Interchange Format
//! (SARIF) Version 2.1.0 Plus Errata 01", OASIS, 28 August 2023. Its section
//! numbers stand beside what each test holds to, as the contents of the committee
//! specification of the same version have them. What its schema says is judged in
//! `.ci/run`, by the schema itself and by a second validator (`tests/peers/sarif.py`).

#![allow(clippy::disallowed_methods)]

use assert_cmd::Command;
use matchmark::finding::Finding;
use matchmark::folder::{Content, Folder, RawFile};
use matchmark::lint::page::page;
use matchmark::lint::rules::RULES;
use matchmark::lint::{self, Facts};
use matchmark::render::sarif;
use serde_json::{Value, json};

const BUILD: &[(&str, &str)] = &[
    (
        "build.yaml",
        "name: Brindlet\nlevels: {changed-by-yaml: note}\n",
    ),
    ("donors/all.yaml", "pell-van: {maker: Pell}\n"),
    (
        "parts/größe 2.yaml",
        "ö: 1\ninjector: {name: I, pieces: {P1: {donor: pel-van, condition: \"{0} [x](http://y)\"}}}\n\
         unit: {name: Unit, number: 0123}\n",
    ),
    ("a:b/all.yaml", "x: {}\n"),
    (
        "decisions/all.yaml",
        "leave: {asks: Quote it?, options: {leave: {}}, chosen: leave, because: stamped so,\n  \
         settles: [{rule: changed-by-yaml, at: parts/unit}]}\n",
    ),
];

fn check(files: &[(&str, &str)]) -> Vec<Finding> {
    let raw = files.iter().map(|(path, text)| RawFile {
        path: (*path).to_owned(),
        content: Content::Bytes(text.as_bytes().to_vec()),
    });
    let folder = Folder::read(raw.collect()).unwrap();
    let as_of = jiff::civil::date(2026, 3, 1);
    lint::check(&folder, &Facts::on(as_of))
}

/// The log's one run.
fn run_of(findings: &[Finding]) -> Value {
    let log: Value = serde_json::from_str(&sarif::findings(findings)).unwrap();
    log["runs"][0].clone()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

/// §3.13: the version, the schema's address, the runs.
#[test]
fn the_log_says_what_it_is() {
    let text = sarif::findings(&check(BUILD));
    let log: Value = serde_json::from_str(&text).unwrap();
    let keys: Vec<&String> = log.as_object().unwrap().keys().collect();
    assert_eq!(keys, ["$schema", "version", "runs"]);
    assert_eq!(log["version"], "2.1.0"); // §3.13.2
    assert_eq!(
        log["$schema"], // §3.13.3
        "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
    );
    assert_eq!(list(&log["runs"]).len(), 1); // §3.13.4
    assert!(text.ends_with("}\n"));
    // §3.14.27: a column counts characters. §3.14.26: what ends a line.
    assert_eq!(log["runs"][0]["columnKind"], "unicodeCodePoints");
    assert_eq!(
        log["runs"][0]["newlineSequences"],
        json!(["\r\n", "\n", "\r"])
    );
}

/// §3.14.23: results are there, even when there is nothing to tell.
#[test]
fn a_clean_build_has_no_results() {
    let run = run_of(&check(&BUILD[..2]));
    assert_eq!(run["results"], json!([]));
    assert_eq!(list(&run["tool"]["driver"]["rules"]).len(), RULES.len());
}

/// §3.19 the tool, §3.49 its rules, §3.50 their levels.
#[test]
fn each_rule_is_described() {
    let driver = &run_of(&[])["tool"]["driver"];
    assert_eq!(driver["name"], "matchmark"); // §3.19.8
    assert_eq!(driver["semanticVersion"], env!("CARGO_PKG_VERSION")); // §3.19.12
    assert_eq!(driver["version"], env!("CARGO_PKG_VERSION")); // §3.19.13
    for (rule, said) in RULES.iter().zip(list(&driver["rules"])) {
        let page = page(rule);
        assert_eq!(said["id"], rule.name); // §3.49.3
        assert_eq!(said["shortDescription"]["text"], page.summary); // §3.49.9
        assert_eq!(said["help"]["markdown"], page.text); // §3.49.13
        assert_eq!(said["defaultConfiguration"]["level"], rule.level.word()); // §3.50.3
        // §3.12.3: a plain text, and §3.11.3: with no layout in it.
        let text = said["help"]["text"].as_str().unwrap();
        assert!(text.starts_with(&page.summary), "{text}");
        assert!(!text.contains("```") && !text.contains("  "), "{text}");
        assert!(!text.contains("\n\n\n") && !text.contains("\n "), "{text}");
        assert!(text.ends_with(&format!(
            "`matchmark explain {}` shows examples.",
            rule.name
        )));
        // §3.11.4.2: no HTML, in text outside code.
        let mut fenced = false;
        for line in page.text.lines() {
            fenced ^= line.starts_with("```");
            let bare: String = line.split('`').step_by(2).collect();
            assert!(fenced || !bare.contains('<'), "{}: {line}", rule.name);
        }
    }
}

/// §3.27: a result names its rule twice, in step; §3.27.10 its level; §3.27.11 says it.
#[test]
fn a_result_says_what_the_finding_says() {
    let findings = check(BUILD);
    let run = run_of(&findings);
    assert_eq!(list(&run["results"]).len(), findings.len());
    let mut levels = Vec::new();
    for (finding, result) in findings.iter().zip(list(&run["results"])) {
        assert_eq!(result["ruleId"], finding.rule); // §3.27.5
        let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap(); // §3.27.6
        assert_eq!(run["tool"]["driver"]["rules"][index]["id"], finding.rule);
        assert_eq!(result["level"], finding.level.word());
        levels.push(finding.level.word());
        let text = result["message"]["text"].as_str().unwrap(); // §3.11.8
        assert!(text.ends_with('.') && text.contains(". To do: "), "{text}");
        // §3.11.5: a brace alone is a placeholder; §3.11.6: `](` is a link.
        let rest = text.replace("{{", "").replace("}}", "");
        assert!(!rest.contains(['{', '}']) && !text.contains("]("), "{text}");
    }
    for level in ["error", "warning", "note"] {
        assert!(levels.contains(&level), "no {level}");
    }
    let odd = list(&run["results"])
        .iter()
        .find(|result| result["message"]["text"].to_string().contains("[x]"));
    let odd = odd.unwrap()["message"]["text"].as_str().unwrap();
    assert!(
        odd.starts_with("`{{0}} [x] (http://y)` is no word"),
        "{odd}"
    );
}

/// §3.28 to §3.33: one place each, as the finding has it.
#[test]
fn a_result_stands_where_the_finding_stands() {
    let findings = check(BUILD);
    let run = run_of(&findings);
    // §3.4.4 and §3.14.14: where the build folder lies is the reader's to say.
    assert_eq!(
        run["originalUriBaseIds"],
        json!({"BUILD": {"description": {
            "text": "The build folder; of what git holds, the top of the repository."
        }}})
    );
    for (finding, result) in findings.iter().zip(list(&run["results"])) {
        let [location] = list(&result["locations"]) else {
            panic!("§3.27.12: {result}");
        };
        let physical = &location["physicalLocation"];
        assert_eq!(physical["artifactLocation"]["uriBaseId"], "BUILD");
        let region = &physical["region"];
        let place = &finding.place;
        assert_eq!(region["startLine"], place.start.line); // §3.30.5
        assert_eq!(region["startColumn"], place.start.column); // §3.30.6
        assert_eq!(region["endLine"], place.end.line); // §3.30.7
        assert_eq!(region["endColumn"], place.end.column); // §3.30.8: one past the last
        match &finding.record {
            // §3.33.5
            Some(record) => assert_eq!(
                location["logicalLocations"],
                json!([{"fullyQualifiedName": record}])
            ),
            None => assert_eq!(location.get("logicalLocations"), None),
        }
        // §3.27.22, with §3.28.2: an id is there once in a result.
        let related = list(&result["relatedLocations"]);
        assert_eq!(related.len(), finding.related.len());
        for (number, (other, said)) in finding.related.iter().zip(related).enumerate() {
            assert_eq!(said["id"], number + 1);
            assert_eq!(said["message"]["text"], other.message); // §3.28.5
            assert_eq!(
                said["physicalLocation"]["region"]["startLine"],
                other.place.start.line
            );
        }
        // §3.27.22: not there rather than empty.
        assert_eq!(
            result.get("relatedLocations").is_some(),
            !related.is_empty()
        );
    }
    let text = run.to_string();
    // §3.10.4: no letters beyond ASCII; §3.10.1 with RFC 3986, 4.2: no scheme.
    assert!(text.contains(r#""uri":"parts/gr%C3%B6%C3%9Fe%202.yaml""#));
    assert!(text.contains(r#""uri":"./a:b/all.yaml""#));
    assert!(text.contains(r#""relatedLocations""#));
}

/// §3.27.23: all results have suppressions, or none has. §3.35: who settled it.
#[test]
fn settled_findings_are_suppressed() {
    let findings = check(BUILD);
    let run = run_of(&findings);
    let mut settled = 0;
    for (finding, result) in findings.iter().zip(list(&run["results"])) {
        let Some(decision) = &finding.settled_by else {
            assert_eq!(result["suppressions"], json!([]));
            continue;
        };
        settled += 1;
        assert_eq!(
            result["suppressions"],
            json!([{
                "kind": "external",     // §3.35.2
                "status": "accepted",   // §3.35.3
                "location": {"logicalLocations": [{"fullyQualifiedName": decision}]}, // §3.35.4
                "justification": "settled by decisions/leave", // §3.35.6
            }])
        );
    }
    assert_eq!(settled, 1);
}

/// §3.8: what was there before the commit, where that does not stop it.
#[test]
fn older_findings_say_so() {
    let mut findings = check(BUILD);
    findings[1].older = true;
    for (number, result) in list(&run_of(&findings)["results"]).iter().enumerate() {
        let older = (number == 1).then(|| json!({"older": true}));
        assert_eq!(result.get("properties"), older.as_ref());
        assert_eq!(result.get("baselineState"), None); // §3.27.24
    }
}

/// Appendix F: the same bytes wherever the folder lies, and no path to it.
#[test]
fn the_same_folder_elsewhere_prints_the_same_bytes() {
    let print = || {
        let folder = tempfile::tempdir().unwrap();
        for (path, text) in BUILD {
            let path = folder.path().join(path);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
        let output = Command::cargo_bin("matchmark")
            .unwrap()
            .args(["check", "--format", "sarif"])
            .arg(folder.path())
            .output()
            .unwrap();
        assert_eq!(output.status.code(), Some(1));
        let text = String::from_utf8(output.stdout).unwrap();
        assert!(!text.contains(folder.path().to_str().unwrap()));
        text
    };
    let first = print();
    assert_eq!(first, print());
    assert_eq!(first, sarif::findings(&check(BUILD)));
}
