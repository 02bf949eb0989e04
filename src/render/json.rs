//! Findings as JSON, for programs. `schema/findings.json` describes it.

use serde::Serialize;

use super::Counts;
use super::safe::safe_json;
use crate::finding::{Finding, Place};

#[derive(Serialize)]
struct Report<'a> {
    errors: usize,
    warnings: usize,
    notes: usize,
    settled: usize,
    older: usize,
    findings: Vec<One<'a>>,
}

#[derive(Serialize)]
struct At<'a> {
    file: &'a str,
    line: usize,
    column: usize,
    end_line: usize,
    end_column: usize,
}

#[derive(Serialize)]
struct Other<'a> {
    message: &'a str,
    #[serde(flatten)]
    at: At<'a>,
}

#[derive(Serialize)]
struct One<'a> {
    rule: &'a str,
    level: &'a str,
    message: &'a str,
    #[serde(flatten)]
    at: At<'a>,
    record: Option<&'a str>,
    related: Vec<Other<'a>>,
    remedy: &'a str,
    settled_by: Option<&'a str>,
    older: bool,
}

fn at(place: &Place) -> At<'_> {
    At {
        file: &place.file,
        line: place.start.line,
        column: place.start.column,
        end_line: place.end.line,
        end_column: place.end.column,
    }
}

/// Findings as one JSON object, with a newline at its end. The counts are of all that
/// was found, whatever is shown.
#[must_use]
pub fn findings(findings: &[Finding], counts: Counts) -> String {
    let report = Report {
        errors: counts.errors,
        warnings: counts.warnings,
        notes: counts.notes,
        settled: counts.settled,
        older: counts.older,
        findings: findings
            .iter()
            .map(|finding| One {
                rule: finding.rule,
                level: finding.level.word(),
                message: &finding.message,
                at: at(&finding.place),
                record: finding.record.as_deref(),
                related: finding
                    .related
                    .iter()
                    .map(|related| Other {
                        message: &related.message,
                        at: at(&related.place),
                    })
                    .collect(),
                remedy: &finding.remedy,
                settled_by: finding.settled_by.as_deref(),
                older: finding.older,
            })
            .collect(),
    };
    let text = serde_json::to_string_pretty(&report).unwrap_or_default();
    format!("{}\n", safe_json(&text))
}
