//! Every rule: its file and its line in the list, its page, and the examples on
//! it, run as they stand.

#![allow(clippy::disallowed_methods)]

use std::path::Path;

use jiff::civil::date;
use matchmark::finding::Finding;
use matchmark::folder::{Content, Folder, RawFile};
use matchmark::lint::page::{Example, page};
use matchmark::lint::rules::RULES;
use matchmark::lint::{self, Facts, Rule};
use matchmark::render::text::{self, Colour};

fn folder(example: &Example) -> Folder {
    let mut files: Vec<RawFile> = example
        .files
        .iter()
        .filter(|(path, _)| path != FACTS)
        .map(|(path, text)| RawFile {
            path: path.clone(),
            content: Content::Bytes(text.clone().into_bytes()),
        })
        .collect();
    if !files.iter().any(|file| file.path == "build.yaml") {
        files.push(RawFile {
            path: "build.yaml".to_owned(),
            content: Content::Bytes(b"name: Example\n".to_vec()),
        });
    }
    Folder::read(files).unwrap()
}

/// What a page calls the fence that holds what the folder does not.
const FACTS: &str = "facts";

fn facts(example: &Example) -> Facts {
    match example.files.iter().find(|(path, _)| path == FACTS) {
        Some((_, text)) => serde_yaml::from_str(text).unwrap(),
        None => Facts::on(date(2026, 3, 1)),
    }
}

/// A rule's test runs that rule alone, so that a new rule never changes what the
/// others' examples print. What decisions settle needs the others.
fn alone(rule: &'static Rule, example: &Example) -> Vec<Finding> {
    let (folder, facts) = (folder(example), facts(example));
    let mut findings = if rule.last {
        lint::check(&folder, &facts)
    } else {
        lint::check_with(&folder, &facts, &[rule])
    };
    findings.retain(|finding| finding.rule == rule.name);
    findings
}

#[test]
fn each_rule_is_its_file_and_its_line() {
    let here = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lint/rules");
    let mut files: Vec<String> = std::fs::read_dir(here)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .map(|name| name.trim_end_matches(".rs").replace('_', "-"))
        .collect();
    files.sort();
    let mut names = lint::names();
    names.sort_unstable();
    assert_eq!(files, names);
}

#[test]
fn each_rule_has_a_page() {
    for rule in RULES {
        let page = page(rule);
        assert_eq!(page.title, rule.name, "the page's heading");
        assert!(
            page.summary.ends_with('.'),
            "{}: {}",
            rule.name,
            page.summary
        );
        assert!(!page.wrong.is_empty(), "{} has no wrong example", rule.name);
        assert!(!page.right.is_empty(), "{} has no right example", rule.name);
        for line in page.text.lines() {
            assert!(
                line.chars().count() <= 80 || !line.contains(' ') || page_quotes(line),
                "{}: too wide for a terminal: {line}",
                rule.name
            );
        }
    }
}

/// What a rule prints is as long as it is; prose is not.
fn page_quotes(line: &str) -> bool {
    [": error: ", ": warning: ", ": note: "]
        .iter()
        .any(|level| line.contains(level))
        || line.starts_with("    to do: ")
        || (line.starts_with("    ") && line.contains(".yaml:"))
}

#[test]
fn wrong_examples_print_just_what_their_page_says() {
    let mut wrong = String::new();
    for rule in RULES {
        if std::env::var_os("UPDATE").is_some() {
            fill_in(rule);
            continue;
        }
        for example in page(rule).wrong {
            let found = text::findings(&alone(rule, &example), Colour::No);
            let said = example.prints.unwrap();
            if found != said {
                wrong.push_str(&format!(
                    "== {}\n-- the page says\n{said}-- the rule prints\n{found}\n",
                    rule.name
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// Puts what the rules print into their pages, to be read before it is kept.
fn fill_in(rule: &'static Rule) {
    let name = rule.name.replace('-', "_");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("src/lint/rules/{name}.rs"));
    let source = std::fs::read_to_string(&path).unwrap();
    let mut new = String::new();
    let mut examples = page(rule).wrong.into_iter();
    let mut inside = false;
    for line in source.lines() {
        inside &= line != "//! ```";
        if !inside {
            new.push_str(&format!("{line}\n"));
        }
        if line == "//! ```text" {
            inside = true;
            let found = alone(rule, &examples.next().unwrap());
            for line in text::findings(&found, Colour::No).lines() {
                new.push_str(&format!("//! {line}\n"));
            }
        }
    }
    std::fs::write(path, new).unwrap();
}

#[test]
fn right_examples_have_no_conflict() {
    for rule in RULES {
        for example in page(rule).right {
            let folder = folder(&example);
            let found: Vec<Finding> = lint::check(&folder, &facts(&example))
                .into_iter()
                .filter(|one| one.settled_by.is_none())
                .filter(|one| one.stops() || one.rule == rule.name)
                .collect();
            assert!(
                found.is_empty(),
                "{}: {}",
                rule.name,
                text::findings(&found, Colour::No)
            );
        }
    }
}

/// What, why, what to do: one sentence that starts small and has no full stop,
/// and always a way out.
#[test]
fn messages_have_one_form() {
    for rule in RULES {
        for example in page(rule).wrong {
            for finding in alone(rule, &example) {
                let message = &finding.message;
                let first = message.chars().next().unwrap();
                let after_quote = message.starts_with('`');
                assert!(after_quote || first.is_lowercase(), "{message}");
                assert!(!message.ends_with('.'), "{message}");
                assert!(!message.contains('\n'), "{message}");
                assert!(!finding.remedy.is_empty(), "{message}");
                assert!(!finding.remedy.ends_with('.'), "{}", finding.remedy);
            }
        }
    }
}
