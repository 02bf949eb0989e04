//! What becomes of the files and messages of a commit that is handed over.
//!
//! Nothing is read here but names and single contents: a file is judged by its path and by
//! how git takes it, so that what is the same in a thousand commits is judged once.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use super::private::Secrets;
pub use crate::folder::HANDED_OVER;
use crate::folder::{is_yaml, kind_of};
use crate::model::Kind;

/// The first page for who reads Markdown, or plain text.
pub const FIRST_PAGE: &str = "READ-FIRST.md";
/// The first page for a browser.
pub const FIRST_PAGE_HTML: &str = "READ-FIRST.html";
/// The job sheet.
pub const JOB_SHEET: &str = "jobs.csv";

/// What a file is to whoever packs it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Records of this kind.
    Records(Kind),
    /// A picture, a paper, whatever else lies there.
    Other,
}

/// Why a file is left out.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// It is a link.
    Link,
    /// It is another repository, or tells of one.
    Repository,
    /// Its name can't be on every disk, or hides what it is.
    Name,
    /// It is YAML, and not where records are read, so nothing can be taken out of it.
    Stray,
    /// Nothing can be taken out of it surely, and why.
    Unsure(String),
    /// It may tell where it was taken, and that can't be taken out.
    Position(String),
    /// A private field names it.
    Named,
    /// A private value stands in it, on this line.
    Tells(usize),
}

impl fmt::Display for Why {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Link => out.write_str("it is a link"),
            Self::Repository => out.write_str("it is another repository, or tells of one"),
            Self::Name => out.write_str("its name can't stand on every disk"),
            Self::Stray => out.write_str("it is YAML, and not where records are read"),
            Self::Unsure(why) => write!(out, "what is private can't be taken out of it: {why}"),
            Self::Position(why) => write!(out, "it may tell where it was taken: {why}"),
            Self::Named => out.write_str("a private field names it"),
            Self::Tells(line) => write!(out, "a private value stands in its line {line}"),
        }
    }
}

const LINK: u32 = 0o120_000;
const REPOSITORY: u32 = 0o160_000;

/// What a file is, by its path in the build and how git takes it.
///
/// # Errors
/// Why it is left out.
pub fn part(path: &str, mode: u32) -> Result<Part, Why> {
    match mode {
        LINK => return Err(Why::Link),
        REPOSITORY => return Err(Why::Repository),
        _ => {}
    }
    if !path.split('/').all(is_plain_name) {
        return Err(Why::Name);
    }
    let name = path.rsplit('/').next().unwrap_or_default();
    if name.eq_ignore_ascii_case(".gitmodules") {
        return Err(Why::Repository);
    }
    if let Some(kind) = kind_of(path) {
        return Ok(Part::Records(kind));
    }
    // `all.yaml.orig` and `all.yml~` hold records as much as what they are copies of.
    let lower = name.to_ascii_lowercase();
    let like_yaml = is_yaml(name) || lower.contains(".yaml") || lower.contains(".yml");
    if like_yaml && path != HANDED_OVER {
        return Err(Why::Stray);
    }
    Ok(Part::Other)
}

/// Whether a step of a path is a name on every disk, and leads nowhere else.
fn is_plain_name(name: &str) -> bool {
    let odd = |c: char| c.is_control() || matches!(c, '\\' | ':' | '\u{fffd}');
    // Other disks take these for `.git`: blanks and dots at the end do not count, nor do
    // signs that nobody sees.
    let seen = name.chars().filter(|c| !crate::near::hides(*c));
    let seen = seen.collect::<String>().to_ascii_lowercase();
    let trimmed = seen.trim_end_matches([' ', '.']);
    !trimmed.is_empty() && !matches!(trimmed, ".git" | "git~1") && !name.contains(odd)
}

/// A commit as git keeps it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Written<'a> {
    /// Who wrote it and when, as it stands there.
    pub author: &'a [u8],
    /// Who committed it and when.
    pub committer: &'a [u8],
    /// How its message is encoded, where that is not UTF-8.
    pub encoding: Option<&'a [u8]>,
    /// The message.
    pub message: &'a [u8],
}

impl<'a> Written<'a> {
    /// Reads it; what else stands in it, as a signature, counts for the old commit only.
    #[must_use]
    pub fn of(raw: &'a [u8]) -> Self {
        let mut written = Self::default();
        let mut rest = raw;
        while let Some(end) = rest.iter().position(|byte| *byte == b'\n') {
            let (line, after) = (&rest[..end], &rest[end + 1..]);
            rest = after;
            if line.is_empty() {
                break;
            }
            // A line that begins with a blank goes on with the one before it.
            if let Some(author) = line.strip_prefix(b"author ") {
                written.author = author;
            } else if let Some(committer) = line.strip_prefix(b"committer ") {
                written.committer = committer;
            } else if let Some(encoding) = line.strip_prefix(b"encoding ") {
                written.encoding = Some(encoding);
            }
        }
        written.message = rest;
        written
    }

    /// The message with every private value put out; none if there is none in it.
    #[must_use]
    pub fn put_out(&self, secrets: &Secrets) -> Option<Vec<u8>> {
        let text = String::from_utf8_lossy(self.message);
        secrets.put_out(&text).map(String::into_bytes)
    }
}

/// The lines of a text that a private value stands in, counted from 1, each with the
/// first value there.
#[must_use]
pub fn lines_that_tell(text: &str, secrets: &Secrets) -> Vec<(usize, String)> {
    let mut lines: Vec<(usize, String)> = Vec::new();
    let (mut line, mut at) = (1, 0);
    for found in secrets.stands_in(text) {
        line += text[at..found.start].matches('\n').count();
        at = found.start;
        if lines.last().is_none_or(|(last, _)| *last != line) {
            lines.push((line, text[found].to_owned()));
        }
    }
    lines
}

/// What was left out of a pack, and what still stands in it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LeftOut {
    /// How many values each pattern chose in the last commit.
    pub values: BTreeMap<String, usize>,
    /// How many versions of files in older commits lost something that is private.
    pub older: usize,
    /// The pictures of the last commit that lost their position.
    pub positions: BTreeSet<String>,
    /// How many older pictures lost theirs.
    pub older_positions: usize,
    /// The files of the last commit that are left out, and why.
    pub files: BTreeMap<String, Why>,
    /// The files of older commits that are left out, where the last does not hold them.
    pub older_files: BTreeMap<String, Why>,
    /// How many messages of commits had a private value put out.
    pub messages: usize,
    /// Where private values still stand in records that are handed over: file,
    /// line, and the value, which is for whoever hands over alone.
    pub still: Vec<(String, usize, String)>,
    /// In how many older versions of files they do.
    pub older_still: usize,
    /// Pointers of large-file storage, which are handed over as they are.
    pub pointers: BTreeSet<String>,
    /// Files that may tell where they were taken, and are not looked into.
    pub unseen: BTreeSet<String>,
}

impl LeftOut {
    /// What was left out, in words, a line each. It goes into the pack, so a file that a
    /// private field names is not called by its name.
    #[must_use]
    pub fn words(&self) -> Vec<String> {
        let mut words: Vec<String> = Vec::new();
        for (pattern, count) in &self.values {
            words.push(format!("{} under {pattern}", number(*count, "value")));
        }
        if self.older > 0 {
            let versions = number(self.older, "older version");
            words.push(format!("what is private in {versions} of files"));
        }
        let pictures = self.positions.len() + self.older_positions;
        if pictures > 0 {
            let pictures = number(pictures, "picture");
            words.push(format!("where it was taken, out of {pictures}"));
        }
        let mut by_why: BTreeMap<&Why, usize> = BTreeMap::new();
        for why in self.files.values().chain(self.older_files.values()) {
            let why = match why {
                // The line is no help to who does not have the file.
                Why::Tells(_) => &Why::Tells(0),
                why => why,
            };
            *by_why.entry(why).or_default() += 1;
        }
        for (why, count) in by_why {
            let why = match why {
                Why::Tells(_) => "a private value stands in it".to_owned(),
                why => why.to_string(),
            };
            words.push(format!("{}: {why}", number(count, "file")));
        }
        words.extend(self.in_messages());
        words
    }

    /// That private values were put out of messages, where they were.
    #[must_use]
    pub fn in_messages(&self) -> Option<String> {
        match self.messages {
            0 => None,
            1 => Some("private values in the message of 1 commit".to_owned()),
            more => Some(format!("private values in the messages of {more} commits")),
        }
    }
}

fn number(count: usize, noun: &str) -> String {
    format!("{count} {noun}{}", if count == 1 { "" } else { "s" })
}

/// A handover, as the pack itself tells of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slip<'a> {
    /// What it is called: `2026-03-01-1`.
    pub name: &'a str,
    /// The day.
    pub when: jiff::civil::Date,
    /// Whom it is for, by role.
    pub to: Option<&'a str>,
    /// Git's name for the files that were handed over. The giver's own commit is not named:
    /// from its name a guess at what is private could be proved.
    pub state: &'a str,
    /// Whether the history goes along.
    pub history: bool,
    /// The patterns of what is private.
    pub private: &'a [String],
    /// What was left out, in words.
    pub left_out: &'a [String],
}

impl Slip<'_> {
    /// The text of `handed-over.yaml`.
    #[must_use]
    pub fn text(&self) -> String {
        let list = |name: &str, items: &[String]| match items {
            [] => format!("{name}: []\n"),
            items => {
                let items = items.iter().map(|item| format!("  - {}\n", quoted(item)));
                format!("{name}:\n{}", items.collect::<String>())
            }
        };
        let mut text = format!(
            "# Leave this file as it is: by it the folder is known again when it comes back.\n\
             name: {}\nwhen: {}\n",
            quoted(self.name),
            self.when
        );
        if let Some(to) = self.to {
            text.push_str(&format!("to: {}\n", quoted(to)));
        }
        text.push_str(&format!("state: {}\n", quoted(self.state)));
        text.push_str(match self.history {
            true => "history: all\n",
            false => "history: none\n",
        });
        text.push_str(&list("private", self.private));
        text.push_str(&list("left-out", self.left_out));
        text
    }
}

/// A text as YAML reads it back whatever is in it.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// Whether a file is of a form that may tell where it was taken, and is no picture.
#[must_use]
pub fn may_tell_where(path: &str) -> bool {
    const ENDINGS: [&str; 12] = [
        "mp4", "mov", "m4v", "avi", "mkv", "3gp", "webm", "pdf", "zip", "docx", "gpx", "kml",
    ];
    let ending = path
        .rsplit_once('.')
        .map(|(_, ending)| ending.to_ascii_lowercase());
    ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_file_is() {
        let file = |path: &str| part(path, 0o100_644);
        assert_eq!(file("donors/all.yaml"), Ok(Part::Records(Kind::Donors)));
        assert_eq!(file("build.yaml"), Ok(Part::Records(Kind::Build)));
        for other in ["README.md", ".gitattributes", "photos/a.jpg", HANDED_OVER] {
            assert_eq!(file(other), Ok(Part::Other), "{other}");
        }
        for stray in [
            "all.yaml",
            "donors/all.yml",
            "donors/all.yaml.orig",
            ".x/a.yaml~",
        ] {
            assert_eq!(file(stray), Err(Why::Stray), "{stray}");
        }
        for odd in [
            "../a",
            "a/.GIT/config",
            "a/.git /x",
            "a//b",
            "c:a",
            "a\\b",
            "a\u{7}",
        ] {
            assert_eq!(file(odd), Err(Why::Name), "{odd:?}");
        }
        assert_eq!(part("a", LINK), Err(Why::Link));
        assert_eq!(part("a", REPOSITORY), Err(Why::Repository));
        assert_eq!(file(".gitmodules"), Err(Why::Repository));
    }

    #[test]
    fn a_signed_commit_is_read_without_its_signature() {
        let raw = b"tree 1\nparent 2\nauthor A <a> 1 +0100\ncommitter B <b> 2 +0000\n\
            gpgsig -----BEGIN\n author no\n -----END\nencoding latin-1\n\nTitle\n\nauthor x\n";
        let written = Written::of(raw);
        assert_eq!(written.author, b"A <a> 1 +0100");
        assert_eq!(written.committer, b"B <b> 2 +0000");
        assert_eq!(written.encoding, Some(&b"latin-1"[..]));
        assert_eq!(written.message, b"Title\n\nauthor x\n");
    }
}
