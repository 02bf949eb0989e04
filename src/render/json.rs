//! Findings as JSON, for programs. `schema/findings.json` describes it.

use schemars::JsonSchema;
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

#[derive(Serialize, JsonSchema)]
struct At<'a> {
    /// The file, from the build folder, with `/` on every system.
    file: &'a str,
    /// The line that it begins in, from 1.
    line: usize,
    /// The column that it begins in, from 1. It counts characters.
    column: usize,
    /// The line that it ends in.
    end_line: usize,
    /// The column after its last character.
    end_column: usize,
}

/// Another place that has to do with a finding.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Related")]
struct Other<'a> {
    /// What is there.
    message: &'a str,
    #[serde(flatten)]
    at: At<'a>,
}

/// What is wrong, where, and what to do, as in `findings.json`.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "Finding")]
pub(super) struct One<'a> {
    /// The rule that found it; `matchmark explain RULE` tells more.
    rule: &'a str,
    /// How much it weighs in that build: `error`, `warning` or `note`.
    level: &'a str,
    /// What is wrong, in one sentence.
    message: &'a str,
    #[serde(flatten)]
    at: At<'a>,
    /// What it is about: kind, slash, id, and inside that the innermost thing with a name
    /// of its own, as in parts/injector/P1; null where it is about a file.
    record: Option<&'a str>,
    /// Other places that have to do with it.
    related: Vec<Other<'a>>,
    /// What to do.
    remedy: &'a str,
    /// The decision that settles it, as `decisions/ID`; null if none does.
    settled_by: Option<&'a str>,
    /// Whether it was there before the commit that is checked.
    older: bool,
}

impl<'a> One<'a> {
    pub(super) fn of(finding: &'a Finding) -> Self {
        Self {
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
        }
    }
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
        findings: findings.iter().map(One::of).collect(),
    };
    let text = serde_json::to_string_pretty(&report).unwrap_or_default();
    format!("{}\n", safe_json(&text))
}
