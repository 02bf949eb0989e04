//! `matchmark explain`.

use clap::Args;

use super::Outcome;
use crate::lint::page::page;
use crate::lint::rules::RULES;
use crate::lint::{self};
use crate::near;
use crate::render::text;
use crate::shell::terminal;

/// Explain a rule: why it exists, its examples, its source
///
/// Without a rule it lists them all.
#[derive(Debug, Args)]
pub struct Explain {
    /// The rule, as it stands in brackets behind a finding
    rule: Option<String>,
}

impl Explain {
    /// Prints the page, or the list.
    ///
    /// # Errors
    /// When there is no such rule.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let Some(name) = &self.rule else {
            terminal::print(&list())?;
            return Ok(Outcome::Clean);
        };
        // People copy the brackets with the name.
        let name = name.trim_matches(['[', ']']);
        let Some(rule) = lint::rule(name) else {
            let near = near::nearest(name, &lint::names());
            let advice = if near.is_empty() {
                "see `matchmark explain` for all rules".to_owned()
            } else {
                near::write_one_of(name, &near)
            };
            return Err(anyhow::anyhow!(advice).context(format!("there is no rule `{name}`")));
        };
        terminal::print(&shown(&page(rule).text, rule.level.word(), rule.firm))?;
        Ok(Outcome::Clean)
    }
}

fn list() -> String {
    let width = RULES.iter().map(|rule| rule.name.len()).max().unwrap_or(0);
    let mut text = String::new();
    for rule in RULES {
        let room = 80 - width - 12;
        let summary = page(rule).summary;
        for (number, line) in text::wrapped(&summary, room).iter().enumerate() {
            let (name, level) = match number {
                0 => (rule.name, rule.level.word()),
                _ => ("", ""),
            };
            text.push_str(&format!("{name:width$}  {level:8}  {line}\n"));
        }
    }
    text
}

/// A page for a terminal: fences become set-in blocks under their file's path.
fn shown(page: &str, level: &str, firm: bool) -> String {
    let mut text = String::new();
    let mut inside = false;
    for line in page.lines() {
        if let Some(fence) = line.strip_prefix("```") {
            inside = !inside;
            if let Some(path) = fence.strip_prefix("yaml ") {
                text.push_str(&format!("  {path}\n"));
            } else if fence == "text" {
                text.push_str("  prints\n");
            }
        } else if inside {
            text.push_str(&format!("      {line}\n"));
        } else if let Some(name) = line.strip_prefix("# ") {
            let fixed = if firm { ", fixed" } else { "" };
            text.push_str(&format!("{name} ({level}{fixed})\n"));
        } else if let Some(heading) = line.strip_prefix("## ") {
            text.push_str(&format!("{heading}:\n"));
        } else {
            text.push_str(&format!("{line}\n"));
        }
    }
    text
}
