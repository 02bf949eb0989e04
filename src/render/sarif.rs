//! Findings as SARIF, for viewers of code and for services that show what a
//! check found beside the lines of a change.
//!
//! The form is "Static Analysis Results Interchange Format (SARIF) Version
//! 2.1.0", an OASIS Standard; section numbers here and in the tests are its.
//! Written by hand, because the part of it that a check needs is small. There is
//! no clock in it and no absolute path (appendix F), so that two machines print
//! the same bytes.

use std::fmt::Write;

use serde_json::{Map, Value, json};

use super::safe::safe_json;
use crate::finding::{Finding, Place};
use crate::lint::page::page;
use crate::lint::rules::RULES;

/// Where the schema of the format is published, with the standard's errata.
const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// What the files' addresses start from. It stands for the build folder, and
/// where that lies is the reader's business (§3.4.4).
const BASE: &str = "BUILD";
const BASE_IS: &str = "The build folder; of what git holds, the top of the repository.";

/// All findings as one SARIF log, with a newline at its end.
#[must_use]
pub fn findings(findings: &[Finding]) -> String {
    let version = env!("CARGO_PKG_VERSION");
    let log = json!({
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [{
            "tool": {"driver": {
                "name": "matchmark",
                "version": version,
                "semanticVersion": version,
                "rules": RULES.iter().map(|rule| descriptor(rule)).collect::<Vec<_>>(),
            }},
            "originalUriBaseIds": {BASE: {"description": {"text": BASE_IS}}},
            // As `src/source.rs` counts.
            "newlineSequences": ["\r\n", "\n", "\r"],
            "columnKind": "unicodeCodePoints",
            "results": findings.iter().map(result).collect::<Vec<_>>(),
        }],
    });
    format!("{}\n", safe_json(&format!("{log:#}")))
}

/// A rule (§3.49). Its help is text of ours that no argument is put into, so
/// braces stand in it as they are.
fn descriptor(rule: &crate::lint::Rule) -> Value {
    let page = page(rule);
    json!({
        "id": rule.name,
        "shortDescription": {"text": page.summary},
        "help": {"text": prose(&page.text, rule.name), "markdown": page.text},
        "defaultConfiguration": {"level": rule.level.word()},
    })
}

/// The paragraphs of a page before its examples, each on a line: a plain text has
/// no layout (§3.11.3).
fn prose(page: &str, name: &str) -> String {
    let mut text = String::new();
    let before = page.lines().take_while(|line| !line.starts_with("## "));
    for line in before.filter(|line| !line.starts_with("# ")) {
        if line.is_empty() {
            text.truncate(text.trim_end().len());
            if !text.is_empty() {
                text.push_str("\n\n");
            }
        } else {
            // The items of a list are sentences, and go on from each other.
            let line = line.trim_start();
            text.push_str(line.strip_prefix("- ").unwrap_or(line));
            text.push(' ');
        }
    }
    let _ = write!(text, "`matchmark explain {name}` shows examples.");
    text
}

fn result(finding: &Finding) -> Value {
    let mut whole = Map::new();
    let mut add = |key: &str, value| whole.insert(key.to_owned(), value);
    add("ruleId", finding.rule.into());
    let index = RULES.iter().position(|rule| rule.name == finding.rule);
    if let Some(index) = index {
        add("ruleIndex", index.into());
    }
    add("level", finding.level.word().into());
    let mut said = format!("{}.", finding.message);
    if !finding.remedy.is_empty() {
        let _ = write!(said, " To do: {}.", finding.remedy);
    }
    add("message", message(&said));
    let mut location = json!({"physicalLocation": physical(&finding.place)});
    if let Some(record) = &finding.record {
        location["logicalLocations"] = logical(record);
    }
    add("locations", json!([location]));
    if !finding.related.is_empty() {
        let related = finding.related.iter().zip(1..).map(|(related, id)| {
            json!({
                "id": id,
                "physicalLocation": physical(&related.place),
                "message": message(&related.message),
            })
        });
        add("relatedLocations", related.collect());
    }
    // An empty list says "not settled". All results have one or none has (§3.27.23).
    let settled = finding.settled_by.iter().map(|decision| {
        json!({
            "kind": "external",
            "status": "accepted",
            "location": {"logicalLocations": logical(decision)},
            "justification": format!("settled by {decision}"),
        })
    });
    add("suppressions", settled.collect());
    // No `baselineState` (§3.27.24): all results would need one, and only what stops is
    // compared with what was there before.
    if finding.older {
        add("properties", json!({"older": true}));
    }
    Value::Object(whole)
}

/// A plain text (§3.11.3). Braces would be placeholders and are doubled (§3.11.5).
/// Text from a folder makes no links (§3.11.6): a space keeps the address apart,
/// because the standard has no escape for it.
fn message(text: &str) -> Value {
    let text = text.replace('{', "{{").replace('}', "}}");
    json!({"text": text.replace("](", "] (")})
}

fn physical(place: &Place) -> Value {
    json!({
        "artifactLocation": {"uri": uri(&place.file), "uriBaseId": BASE},
        "region": {
            "startLine": place.start.line,
            "startColumn": place.start.column,
            "endLine": place.end.line,
            "endColumn": place.end.column,
        },
    })
}

fn logical(name: &str) -> Value {
    json!([{"fullyQualifiedName": name}])
}

/// A path from the build folder as a relative reference (RFC 3986, 4.2). What a
/// path segment can't hold goes as the bytes of its UTF-8 (§3.10.4).
fn uri(path: &str) -> String {
    let first = path.split('/').next().unwrap_or_default();
    // Else what stands before the colon would be a scheme.
    let mut uri = String::from(if first.contains(':') { "./" } else { "" });
    for byte in path.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~!$&'()*+,;=:@/".contains(&byte) {
            uri.push(char::from(byte));
        } else {
            let _ = write!(uri, "%{byte:02X}");
        }
    }
    uri
}

#[cfg(test)]
mod tests {
    use super::{message, uri};

    #[test]
    fn a_path_is_a_relative_reference() {
        for (path, expected) in [
            ("parts/all.yaml", "parts/all.yaml"),
            ("parts/größe 2.yaml", "parts/gr%C3%B6%C3%9Fe%202.yaml"),
            ("jobs/a#b?c%d.yaml", "jobs/a%23b%3Fc%25d.yaml"),
            ("a:b/all.yaml", "./a:b/all.yaml"),
            ("parts/a:b.yaml", "parts/a:b.yaml"),
            (
                "a\\b[1]|\"<>^`{}.yaml",
                "a%5Cb%5B1%5D%7C%22%3C%3E%5E%60%7B%7D.yaml",
            ),
            ("\u{1b}\u{202e}.yaml", "%1B%E2%80%AE.yaml"),
        ] {
            assert_eq!(uri(path), expected);
        }
    }

    #[test]
    fn a_text_holds_no_placeholder_and_no_link() {
        assert_eq!(
            message("write `{a: [x](file:///y)}`")["text"],
            "write `{{a: [x] (file:///y)}}`"
        );
    }
}
