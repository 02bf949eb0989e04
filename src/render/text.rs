//! Findings as text: the GNU error format, so that editors can jump to them.
//!
//! ```text
//! parts/all.yaml:4:17: error: there is no donor `pel-van` [unknown-reference]
//!     donors/all.yaml:1:1: donors/pell-van
//!     to do: write `pell-van`
//! ```

use std::fmt::Write;

use super::Counts;
use super::safe::safe;
use crate::finding::{Finding, Level, Place};
use crate::lint;
use crate::lint::rules::{photo_heavy, photo_tells_where};

/// Whether words are coloured as well.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colour {
    /// As a person at a terminal sees them.
    Yes,
    /// As a pipe gets them.
    No,
}

pub(super) fn painted(text: &str, style: anstyle::Style, colour: Colour) -> String {
    match colour {
        Colour::Yes => format!("{style}{text}{style:#}"),
        Colour::No => text.to_owned(),
    }
}

fn style_of(level: Level) -> anstyle::Style {
    use anstyle::AnsiColor;
    let colour = match level {
        Level::Error => AnsiColor::Red,
        Level::Warning => AnsiColor::Yellow,
        Level::Note => AnsiColor::Cyan,
    };
    colour.on_default().bold()
}

/// One finding.
#[must_use]
pub fn finding(finding: &Finding, colour: Colour) -> String {
    let mut text = String::new();
    let level = painted(finding.level.word(), style_of(finding.level), colour);
    let _ = writeln!(
        text,
        "{}: {level}: {} [{}]",
        place(&finding.place),
        safe(&finding.message).replace('\n', " "),
        finding.rule
    );
    for related in &finding.related {
        let _ = writeln!(
            text,
            "    {}: {}",
            place(&related.place),
            safe(&related.message).replace('\n', " ")
        );
    }
    match &finding.settled_by {
        Some(decision) => {
            let _ = writeln!(text, "    settled by {}", safe(decision));
        }
        None if finding.older => {
            let _ = writeln!(text, "    there before, so it does not stop this commit");
        }
        None if !finding.remedy.is_empty() => {
            let _ = writeln!(
                text,
                "    to do: {}",
                safe(&finding.remedy).replace('\n', " ")
            );
        }
        None => {}
    }
    text
}

fn place(place: &Place) -> String {
    format!("{}:{}", safe(&place.file).replace('\n', "\\n"), place.start)
}

/// All findings, and how many there are.
#[must_use]
pub fn findings(findings: &[Finding], colour: Colour) -> String {
    findings.iter().map(|one| finding(one, colour)).collect()
}

/// What a check stops, for what it says at the end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refusal {
    /// Nothing: somebody only asked.
    Nothing,
    /// A commit, and whether it is the first.
    Commit {
        /// Whether there is none before it.
        first: bool,
    },
    /// Nothing any more: a merge, a pull or a rebase left it checked out.
    Arrived,
    /// A push to this branch, at this commit.
    Push {
        /// What the branch is called.
        name: String,
        /// The commit's name, shortened.
        commit: String,
    },
}

/// The width that a screen is reckoned with, in characters.
const SCREEN_WIDTH: usize = 80;
/// The lines of a screen that findings may take; what to do takes the rest.
const SCREEN_LINES: usize = 16;

/// Warnings that are shown where others are only counted: a commit can't be taken back by
/// the next one.
const LASTING: [&str; 2] = [photo_heavy::RULE.name, photo_tells_where::RULE.name];
/// How many of them.
const SHOWN: usize = 3;

/// What stops, on one screen, and what to do about it. What stops nothing is counted, but
/// for what a commit would keep for ever.
#[must_use]
pub fn brief(findings: &[Finding], refusal: &Refusal, colour: Colour) -> String {
    let stopping: Vec<&Finding> = findings.iter().filter(|one| one.stops()).collect();
    if stopping.is_empty() {
        let quiet = findings.iter().all(|one| one.settled_by.is_some());
        let mut text = String::new();
        let lasting = findings.iter().filter(|one| LASTING.contains(&one.rule));
        for one in lasting.filter(|one| one.settled_by.is_none()).take(SHOWN) {
            text.push_str(&finding(one, colour));
        }
        if !text.is_empty() && matches!(refusal, Refusal::Commit { .. }) {
            text.push_str(
                "this stays in the history; mend it and `git commit --amend` before it is pushed\n",
            );
        }
        if !quiet {
            let _ = writeln!(text, "matchmark: {}", count(findings));
        }
        return text;
    }
    let mut text = String::new();
    let mut lines = 0;
    let mut shown = 0;
    for one in &stopping {
        let plain = finding(one, Colour::No);
        let width = |line: &str| line.chars().count().div_ceil(SCREEN_WIDTH).max(1);
        lines += plain.lines().map(width).sum::<usize>();
        if shown > 0 && lines > SCREEN_LINES {
            break;
        }
        text.push_str(&finding(one, colour));
        shown += 1;
    }
    let all = match refusal {
        Refusal::Nothing => "matchmark check".to_owned(),
        Refusal::Commit { .. } => "matchmark check --staged".to_owned(),
        Refusal::Arrived => "matchmark check --at HEAD".to_owned(),
        Refusal::Push { commit, .. } => format!("matchmark check --at {commit}"),
    };
    if shown < stopping.len() {
        let _ = writeln!(
            text,
            "and {} more: `{all}` shows all",
            stopping.len() - shown
        );
    }
    let again = match refusal {
        Refusal::Nothing => {
            let _ = writeln!(text, "{}", count(findings));
            return text;
        }
        Refusal::Arrived => {
            let _ = write!(
                text,
                "\nWhat is checked out now contradicts itself, and git could not be stopped: {}.\n\
                 One of these:\n    mend what is wrong, and commit it before anything else\n    \
                 go back to what was here before, with `git reset --keep ORIG_HEAD`\n",
                number(stopping.len(), "error")
            );
            return text;
        }
        Refusal::Commit { .. } => {
            let _ = write!(text, "\nThe commit is refused: ");
            "commit again"
        }
        Refusal::Push { name, commit } => {
            let _ = write!(
                text,
                "\nThe push of {} is refused at {commit}: ",
                safe(name)
            );
            "commit and push again"
        }
    };
    let older = findings.iter().filter(|one| one.older).count();
    let before = match older {
        0 => String::new(),
        _ => format!(", beside {older} there before"),
    };
    let _ = writeln!(
        text,
        "{}{before}.\nOne of these, then {again}:\n    mend what is wrong, and `git add` the file",
        number(stopping.len(), "error")
    );
    // What can't be read, or leads to nothing, no decision can settle.
    if stopping
        .iter()
        .any(|one| !lint::rule(one.rule).is_some_and(|rule| rule.firm))
    {
        let _ = writeln!(
            text,
            "    record a decision that settles it: `matchmark explain unreasoned-settlement`"
        );
    }
    let leave = match refusal {
        Refusal::Commit { first: true } => ", with `git rm --cached FILE`",
        Refusal::Commit { first: false } => ", with `git restore --staged FILE`",
        _ => "",
    };
    let _ = writeln!(text, "    leave out what is not so yet{leave}");
    text
}

/// "2 errors, 1 warning, no notes".
#[must_use]
pub fn count(findings: &[Finding]) -> String {
    let counts = Counts::of(findings);
    let mut parts = vec![
        number(counts.errors, "error"),
        number(counts.warnings, "warning"),
        number(counts.notes, "note"),
    ];
    if counts.older > 0 {
        parts.push(format!("{} there before", counts.older));
    }
    if counts.settled > 0 {
        parts.push(format!("{} settled", counts.settled));
    }
    parts.join(", ")
}

/// "no files", "1 file", "24 files".
#[must_use]
pub fn number(count: usize, noun: &str) -> String {
    match count {
        0 => format!("no {noun}s"),
        1 => format!("1 {noun}"),
        _ => format!("{count} {noun}s"),
    }
}

/// How many characters are seen: what only colours takes no room.
pub(super) fn width_of(text: &str) -> usize {
    let mut inside = false;
    text.chars()
        .filter(|c| {
            let seen = !inside && *c != '\u{1b}';
            inside = *c == '\u{1b}' || inside && *c != 'm';
            seen
        })
        .count()
}

/// A text broken at its spaces into lines of at most `room` characters, where its
/// words allow it.
#[must_use]
pub fn wrapped(text: &str, room: usize) -> Vec<String> {
    let mut line = String::new();
    let mut lines = Vec::new();
    for word in text.split_ascii_whitespace() {
        if !line.is_empty() && width_of(&line) + 1 + width_of(word) > room {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        line.push_str(word);
    }
    lines.push(line);
    lines
}

/// Lines that are longer than `width` go on in further lines, set in below the
/// first; the others stay as they are.
#[must_use]
pub fn folded(text: &str, width: usize) -> String {
    let mut whole = String::new();
    for line in text.lines() {
        if width_of(line) <= width {
            whole.push_str(&format!("{line}\n"));
            continue;
        }
        let inner = line.trim_start();
        let indent = line.len() - inner.len();
        let first = wrapped(inner, width.saturating_sub(indent)).swap_remove(0);
        whole.push_str(&format!("{:indent$}{first}\n", ""));
        let taken = first.split(' ').count();
        let rest: Vec<&str> = inner.split_ascii_whitespace().skip(taken).collect();
        if rest.is_empty() {
            continue;
        }
        let indent = indent + 4;
        for part in wrapped(&rest.join(" "), width.saturating_sub(indent)) {
            whole.push_str(&format!("{:indent$}{part}\n", ""));
        }
    }
    whole
}

/// Findings with what is set in under them folded; a finding's own line stays whole,
/// because editors read it.
#[must_use]
pub fn set_in_folded(text: &str, width: usize) -> String {
    let line = |line: &str| match line.starts_with("    ") {
        true => folded(line, width),
        false => format!("{line}\n"),
    };
    text.lines().map(line).collect()
}

/// What a terminal of old shows in a line, and a page of paper.
const WIDTH: usize = 80;

/// What stands for a blank where no line may end: a figure stays with its unit.
pub(super) const TIE: &str = "\u{a0}";

/// A text from a folder as a line of a page.
pub(super) fn line(text: &str) -> String {
    folded(&safe(text), WIDTH)
}

/// Rows under their heads; the last column goes on below where it is long.
pub(super) fn columns<const N: usize>(heads: [&str; N], rows: &[[String; N]]) -> String {
    let mut text = String::new();
    let mut widths = heads.map(width_of);
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = width_of(&safe(cell)).max(*width);
        }
    }
    let before: usize = widths[..N - 1].iter().map(|width| width + 2).sum();
    let room = WIDTH.saturating_sub(before).max(WIDTH / 4);
    let mut add = |cells: &[String; N]| {
        let mut start = String::new();
        for (cell, width) in cells[..N - 1].iter().zip(widths) {
            let cell = safe(cell);
            let pad = (width + 2).saturating_sub(width_of(&cell));
            start.push_str(&cell);
            start.push_str(&" ".repeat(pad));
        }
        let parts = wrapped(&safe(&cells[N - 1]), room).into_iter();
        let mut parts = parts.map(|part| part.replace(TIE, " "));
        start.push_str(&parts.next().unwrap_or_default());
        text.push_str(start.trim_end());
        text.push('\n');
        for part in parts {
            text.push_str(&" ".repeat(before));
            text.push_str(&part);
            text.push('\n');
        }
    };
    if heads.iter().any(|head| !head.is_empty()) {
        add(&heads.map(str::to_owned));
    }
    rows.iter().for_each(&mut add);
    text
}

#[cfg(test)]
mod tests {
    use super::{folded, set_in_folded};

    #[test]
    fn a_findings_own_line_stays_whole() {
        let text = "parts/all.yaml:1:1: error: one line that stays as long as it is [rule]\n    \
                    to do: write `größer` and then go on over the next line of it\n";
        assert_eq!(
            set_in_folded(text, 44),
            "parts/all.yaml:1:1: error: one line that stays as long as it is [rule]\n    \
             to do: write `größer` and then go on\n        over the next line of it\n"
        );
        assert_eq!(set_in_folded(text, 80), text);
    }

    #[test]
    fn long_lines_go_on_below_and_short_ones_stay() {
        assert_eq!(
            folded("a  b\n\n  one two three four\nunbreakable\n", 9),
            "a  b\n\n  one two\n      three\n      four\nunbreakable\n"
        );
        let coloured = "an \u{1b}[1m\u{1b}[31merror\u{1b}[0m\n";
        assert_eq!(folded(coloured, 8), coloured);
    }
}
