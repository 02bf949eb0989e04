//! # unreadable-file
//!
//! A file can't be read, so the records in it are lost at the bench.
//!
//! The file is no YAML, no UTF-8, has the marks of a merge left in it, or uses
//! a part of YAML that readers disagree about: anchors, tags, merge keys, a
//! second document. Or it would never be looked at: it ends in `.yml`, lies in
//! no folder of a kind, or in a copy of a build inside the build. The other
//! files are judged all the same, and a reference to an id that the broken file
//! seems to hold is not called unknown.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   suits: {fuel-return: without
//! ```
//!
//! ```text
//! parts/all.yaml:3:10: error: a `{` has no closing `}` [unreadable-file]
//!     to do: close the bracket where the list or map ends
//! ```
//!
//! ```yaml parts/all.yaml
//! injector:
//! <<<<<<< HEAD
//!   name: Injector
//! =======
//!   name: Fuel injector
//! >>>>>>> helper
//! ```
//!
//! ```text
//! parts/all.yaml:2:1: error: the marks of a merge are still in the file [unreadable-file]
//!     to do: choose between the two versions and take the marks out
//! ```
//!
//! ```yaml parts/all.yaml
//! injector: &injector
//!   name: Injector
//! ```
//!
//! ```text
//! parts/all.yaml:1:11: error: `&injector` is an anchor, which records do not use [unreadable-file]
//!     parts/all.yaml:1:1: in this record
//!     to do: write the text out where it belongs
//! ```
//!
//! ```yaml parts/all.yml
//! injector: {name: Injector}
//! ```
//!
//! ```text
//! parts/all.yml:1:1: error: the file's name does not end in `.yaml`, so nothing in it is read [unreadable-file]
//!     to do: rename it to parts/all.yaml
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! injector:
//!   name: Injector
//!   suits: {fuel-return: without}
//! ```
//!
//! ```yaml build.yaml
//! name: Example
//! trait-words: {fuel-return: [with, without]}
//! ```

use crate::finding::{Finding, Level, Place};
use crate::folder::{Folder, RecordFile, Stray, StrayWhy};
use crate::lint::{Context, Rule};
use crate::source::NotText;
use crate::yaml::blame::closing;
use crate::yaml::parse::{DEPTH, Fault};
use crate::yaml::{Problem, ProblemKind};

/// The rule.
pub const RULE: Rule = Rule {
    name: "unreadable-file",
    level: Level::Error,
    firm: true,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for stray in &cx.folder.strays {
        findings.push(of_stray(cx, stray));
    }
    for (number, file) in cx.folder.files.iter().enumerate() {
        for problem in &file.reading.problems {
            let Some((what, remedy)) = words(file, problem) else {
                continue;
            };
            let mut finding = cx.finding(number, problem.span, what, remedy);
            let records = file.records();
            if let ProblemKind::Syntax(Fault::Indentation { like: Some(like), by }) = problem.kind {
                let how = match by {
                    0 => "not set in".to_owned(),
                    1 => "set in by 1 space".to_owned(),
                    _ => format!("set in by {by} spaces"),
                };
                let message = format!("this line is {how}");
                finding = finding.see(cx.folder.place(number, like), message);
            }
            if let Some(entry) = file.record_at(problem.span.range().start) {
                finding = finding
                    .see(cx.folder.place(number, records[entry].key.span), "in this record");
            }
            findings.push(finding);
        }
    }
}

fn of_stray(cx: &Context<'_>, stray: &Stray) -> Finding {
    let path = &stray.path;
    let mut place = Folder::top_of(path);
    let mut level = Level::Error;
    let (what, remedy) = match &stray.why {
        StrayWhy::NotText(NotText::NotUtf8(at)) => {
            place = Place {
                start: *at,
                end: *at,
                ..place
            };
            (
                "the file is not UTF-8 from here on".to_owned(),
                "save it again in UTF-8".to_owned(),
            )
        }
        StrayWhy::NotText(NotText::OtherEncoding(name)) => (
            format!("the file is {name}, and records are UTF-8"),
            "save it again in UTF-8".to_owned(),
        ),
        StrayWhy::NotText(NotText::TooLarge(bytes)) => (
            format!("the file is too large to be records: {} MiB", bytes >> 20),
            "split it into several files of the same folder".to_owned(),
        ),
        StrayWhy::Link => (
            "this is a link, and links are not followed".to_owned(),
            "put what it leads to here".to_owned(),
        ),
        StrayWhy::Refused(why) => (
            format!("this can't be opened: {why}"),
            "put a file here that you may read".to_owned(),
        ),
        StrayWhy::Ending => (
            "the file's name does not end in `.yaml`, so nothing in it is read".to_owned(),
            format!("rename it to {}", renamed(path)),
        ),
        StrayWhy::OtherBuild(folder) => {
            level = Level::Warning;
            (
                format!(
                    "{folder}/ is a build folder of its own, and {} not read here",
                    match stray.files {
                        1 => "the file in it is".to_owned(),
                        files => format!("the {files} files in it are"),
                    }
                ),
                "move it out of this build; git keeps what was".to_owned(),
            )
        }
        StrayWhy::NoKind(near) if stray.files > 1 => {
            let folder = path.split('/').next().unwrap_or_default();
            if near.is_none() {
                level = Level::Warning;
            }
            (
                format!(
                    "{folder}/ is no kind's folder, so none of the {} files in it is read",
                    stray.files
                ),
                match near {
                    Some(near) => format!("move what is in it to {near}/"),
                    None => "move them into the folders of their kinds, if they hold records".to_owned(),
                },
            )
        }
        StrayWhy::NoKind(Some(near)) => {
            let rest = path.split_once('/').map_or("", |(_, rest)| rest);
            (
                "the file lies in no folder of a kind, so nothing in it is read".to_owned(),
                format!("move it to {near}/{rest}"),
            )
        }
        StrayWhy::NoKind(None) => {
            // A build folder may hold other people's YAML; it is said, not refused.
            level = Level::Warning;
            (
                "the file lies in no folder of a kind, so nothing in it is read".to_owned(),
                "move it into the folder of its kind, if it holds records".to_owned(),
            )
        }
    };
    cx.finding_at(place, what, remedy).at_level(level)
}

/// The name that a file should have; `Build.yml` is meant as `build.yaml`.
fn renamed(path: &str) -> String {
    let stem = path.rsplit_once('.').map_or(path, |(stem, _)| stem);
    if stem.eq_ignore_ascii_case("build") {
        "build.yaml".to_owned()
    } else {
        format!("{stem}.yaml")
    }
}

fn words(file: &RecordFile, problem: &Problem) -> Option<(String, String)> {
    let written = file.reading.source.slice(problem.span);
    let (what, remedy): (String, &str) = match &problem.kind {
        ProblemKind::RepeatedKey { .. } => return None,
        ProblemKind::MergeMarker => (
            "the marks of a merge are still in the file".to_owned(),
            "choose between the two versions and take the marks out",
        ),
        ProblemKind::Anchor => (
            format!("`{written}` is an anchor, which records do not use"),
            "write the text out where it belongs",
        ),
        ProblemKind::Alias => (
            format!("`{written}` stands for an anchor, which records do not use"),
            "write the text out, or put it in quotes if the star belongs to it",
        ),
        ProblemKind::Tag => (
            format!("`{written}` is a tag, which records do not use"),
            "take it out, or put the text in quotes if the `!` belongs to it",
        ),
        ProblemKind::MergeKey => (
            "`<<` merges maps in some readers and is a plain key to others".to_owned(),
            "write the keys out",
        ),
        ProblemKind::SecondDocument => (
            format!("a line of `{written}` ends the records here, and nothing behind it is read"),
            "take that line out, or put the rest into a file of its own",
        ),
        ProblemKind::Directive => (
            "the file begins with a `%` line, which records do not use".to_owned(),
            "take the line out",
        ),
        ProblemKind::KeyNotText => (
            "a list or a map stands where a key belongs".to_owned(),
            "write the key as a plain name; a text with brackets goes into quotes",
        ),
        ProblemKind::SetInTooFar => (
            format!("`{written}` holds nothing, and the keys before it come again behind it"),
            "set it in less than the lines that belong to it",
        ),
        ProblemKind::NotAMap => (
            if file.kind == crate::model::Kind::Build {
                "build.yaml holds no map of keys".to_owned()
            } else {
                "the file holds no map of records".to_owned()
            },
            "write each record as its id, a colon, and its fields",
        ),
        ProblemKind::Syntax(fault) => return Some(syntax(*fault, written)),
    };
    Some((what, remedy.to_owned()))
}

fn syntax(fault: Fault, written: &str) -> (String, String) {
    let (what, remedy) = match fault {
        Fault::Tab => (
            "a tab stands where the line is set in".to_owned(),
            "set lines in with spaces".to_owned(),
        ),
        Fault::Unclosed(open) => (
            format!("a `{open}` has no closing `{}`", closing(open)),
            "close the bracket where the list or map ends".to_owned(),
        ),
        Fault::InComment(open) => (
            format!(
                "a comment begins at this `#`, and the closing `{}` is lost in it",
                closing(open)
            ),
            "put the text with the `#` in quotes, or the comment behind the bracket".to_owned(),
        ),
        Fault::UnclosedQuote => (
            "a quote is opened and not closed".to_owned(),
            "close the quote where the text ends".to_owned(),
        ),
        Fault::MissingComma(close) => (
            format!("a comma or a closing `{close}` is missing before this"),
            "put the comma or the bracket in; a text with a comma or bracket in it goes into quotes".to_owned(),
        ),
        Fault::Indentation { like: Some(_), by } => (
            "the line is set in unlike the lines around it".to_owned(),
            match by {
                0 => "do not set it in, if it belongs beside that line".to_owned(),
                1 => "set it in by 1 space, if it belongs beside that line".to_owned(),
                _ => format!("set it in by {by} spaces, if it belongs beside that line"),
            },
        ),
        Fault::Indentation { like: None, .. } => (
            "the line is set in unlike the lines around it".to_owned(),
            "set it in as far as the lines it belongs to".to_owned(),
        ),
        Fault::ItemAmongKeys => (
            "an item of a list stands where the next key belongs".to_owned(),
            "set it in under its key, or take the dash out".to_owned(),
        ),
        Fault::NoSpace => (
            format!("no space follows the colon of `{}`", written.trim_end_matches(':')),
            format!("write `{written} ` and then the value"),
        ),
        Fault::StrayComma => (
            "a comma stands where a value belongs".to_owned(),
            "take it out, or write what belongs before it".to_owned(),
        ),
        Fault::StrayClose(close) => (
            format!("this `{close}` closes nothing"),
            "take it out, or open its bracket where the list or map begins".to_owned(),
        ),
        Fault::ColonInText => (
            "a second colon stands in one line".to_owned(),
            "put the text in quotes if the colon belongs to it, or begin a new line".to_owned(),
        ),
        Fault::MissingColon => (
            "a key has no colon".to_owned(),
            "write the key, a colon, a space, and the value".to_owned(),
        ),
        Fault::StartsWith(c) => (
            format!("a text without quotes can't begin with `{c}`"),
            "put the text in quotes".to_owned(),
        ),
        Fault::Character(c) if c.is_control() => (
            format!("a control character (U+{:04X}) stands in the file", u32::from(c)),
            "take it out".to_owned(),
        ),
        Fault::Character(c) => (
            format!("`{c}` can't stand here"),
            "put the text in quotes".to_owned(),
        ),
        Fault::Escape => (
            "a backslash in double quotes is followed by a letter that means nothing".to_owned(),
            "use single quotes, or write the backslash twice".to_owned(),
        ),
        Fault::AfterValue(close @ (']' | '}')) => (
            format!("text follows after a closing `{close}`"),
            format!("put it in before the `{close}`, or take it out"),
        ),
        Fault::AfterValue(_) => (
            "text follows straight after a closing quote".to_owned(),
            "put the whole text inside the quotes".to_owned(),
        ),
        Fault::TooDeep => (
            format!("maps and lists lie more than {DEPTH} deep in one another"),
            "a record needs about ten: look for a bracket too many".to_owned(),
        ),
        Fault::CommentTooClose => (
            "a `#` follows straight after a bracket or quote".to_owned(),
            "put a space before the comment".to_owned(),
        ),
        Fault::Other => (
            "the file is no YAML from here on".to_owned(),
            "look at this line and the one before: a quote, a bracket, a colon or the setting-in is amiss".to_owned(),
        ),
    };
    (what, remedy)
}
