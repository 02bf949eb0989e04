//! A rule's page: the opening comment of its file, and the examples in it.
//!
//! The page is Markdown. Under `## Wrong` each example is one fence for each
//! file (`yaml` and the file's path), then one `text` fence with just what the
//! rule prints on it; a fence of the path `facts` holds what the rule is told beside
//! the folder ([`super::Facts`]). Under `## Right` each example is one fence for each file.
//! A test runs them all.

use super::Rule;

/// One example of a page.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Example {
    /// The files: path and text.
    pub files: Vec<(String, String)>,
    /// What the rule prints on a wrong one.
    pub prints: Option<String>,
}

/// A page, taken apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Page {
    /// The first heading: the rule's name.
    pub title: String,
    /// The first paragraph, in one line.
    pub summary: String,
    /// The whole page in Markdown.
    pub text: String,
    /// Examples of the conflict.
    pub wrong: Vec<Example>,
    /// Examples without it.
    pub right: Vec<Example>,
}

/// The page of a rule.
#[must_use]
pub fn page(rule: &Rule) -> Page {
    let text: String = rule
        .file
        .lines()
        .map_while(|line| line.strip_prefix("//!"))
        .map(|line| format!("{}\n", line.strip_prefix(' ').unwrap_or(line)))
        .collect();
    let title = text
        .lines()
        .find_map(|line| line.strip_prefix("# "))
        .unwrap_or_default()
        .to_owned();
    let summary: Vec<&str> = text
        .lines()
        .skip_while(|line| line.starts_with("# ") || line.is_empty())
        .take_while(|line| !line.is_empty())
        .collect();
    let mut page = Page {
        title,
        summary: summary.join(" "),
        wrong: Vec::new(),
        right: Vec::new(),
        text: String::new(),
    };
    let mut heading = "";
    let mut example = Example::default();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if let Some(fence) = line.strip_prefix("```") {
            let body: String = lines
                .by_ref()
                .take_while(|line| *line != "```")
                .map(|line| format!("{line}\n"))
                .collect();
            if let Some(path) = fence.strip_prefix("yaml ") {
                example.files.push((path.to_owned(), body));
            } else if fence == "text" && heading == "Wrong" {
                example.prints = Some(body);
                page.wrong.push(std::mem::take(&mut example));
            }
        } else if !line.is_empty() {
            if heading == "Right" && !example.files.is_empty() {
                page.right.push(std::mem::take(&mut example));
            }
            heading = line.strip_prefix("## ").unwrap_or(heading);
        }
    }
    if !example.files.is_empty() && heading == "Right" {
        page.right.push(example);
    }
    page.text = text;
    page
}
