//! Git's settings for showing and merging record files: which attributes give a file to
//! which of our drivers, and what a driver does.
//!
//! A driver a kind to show them, because it is told nothing of a file but what is in it,
//! and the kind of a record is known by its folder alone; one to merge them all, which is
//! told the path. Attributes say which files are whose;
//! where they do not, lines in the clone's own `info/attributes` do. What somebody set
//! otherwise is theirs.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::disk::{draft, draft_like, plain};
use super::git::{GitError, Repo};
use super::hooks::quoted;
use crate::folder::kind_of;
use crate::model::Kind;

/// What the setting of a driver begins with, if it is ours.
const OURS: &str = "matchmark_lines() { ";

/// What the setting of the driver that merges begins with, if it is ours.
const OURS_MERGING: &str = "matchmark_merge() { ";

/// What the driver that merges is called in attributes and settings.
const MERGING: &str = "matchmark";

/// What git calls it where it tells of drivers.
const MERGING_NAME: &str = "matchmark: by record and by field";

/// The first line of what we put into `info/attributes`.
const HEAD: &str = "# Put here by `matchmark guard`, taken out by `matchmark guard --remove`.";

/// The name behind a line, as `src/render/lines.rs` puts it there; where the program did
/// not run, a record's id.
const NAMES: &str = "^.*  #: (.*)$\n^([a-z0-9][a-z0-9-]*):";

/// What git does with record files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Does {
    /// Shows them.
    Shows,
    /// Merges them.
    Merges,
}

impl Does {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Shows, Self::Merges];

    /// The attribute that names the driver for it.
    fn attribute(self) -> &'static str {
        match self {
            Self::Shows => "diff",
            Self::Merges => "merge",
        }
    }

    /// The driver that a kind's files go to.
    fn driver(self, kind: Kind) -> String {
        match self {
            Self::Shows => name(kind),
            Self::Merges => MERGING.to_owned(),
        }
    }

    /// Whether attributes that say this of a file leave it to us.
    fn leaves(self, said: &str) -> bool {
        match self {
            Self::Shows => matches!(said, "unspecified" | "set" | "matchmark"),
            Self::Merges => said == "unspecified",
        }
    }
}

/// What was left alone or could not be done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Left {
    /// For what it was; for both, if it says neither.
    pub of: Option<Does>,
    /// What it is.
    pub what: String,
    /// Why.
    pub why: String,
    /// What to do.
    pub to_do: String,
}

/// What git shows of record files and how it merges them, and what came of asking for it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Drivers {
    /// What was left alone or could not be done.
    pub left: Vec<Left>,
    /// How many lines went into `info/attributes`, or out of it.
    pub lines: usize,
    /// Whether some setting was there to be taken out.
    pub was_there: bool,
}

/// What a driver is called in attributes and settings.
fn name(kind: Kind) -> String {
    format!("matchmark-{kind}")
}

/// The files of a kind, as a pattern of git's attributes; from the build folder.
fn pattern(kind: Kind) -> String {
    match kind {
        Kind::Build => "/build.yaml".to_owned(),
        kind => format!("/{kind}/**/*.yaml"),
    }
}

/// What a driver runs. Git gives the file as an argument behind it. Where the program is
/// gone, or fails, git has the file as it is.
fn command(kind: Kind, program: &str) -> String {
    format!(
        "{OURS}program={program}; [ -x \"$program\" ] || program=matchmark; \
         \"$program\" lines {kind} -- \"$1\" 2>/dev/null || cat -- \"$1\"; }}; matchmark_lines"
    )
}

/// What the driver that merges runs; git gives what it is to merge behind it. Git takes any
/// end from 1 to 128 for a conflict that it finds marked in the file, and goes on with one
/// side alone where nothing is marked. So whatever is neither a clean merge nor a marked one
/// has to end with more.
fn merging(program: &str) -> String {
    format!(
        "{OURS_MERGING}program={program}; \
         [ -x \"$program\" ] || program=$(command -v matchmark) || {{ \
         echo \"matchmark: the program that merges the records is not where it was\" >&2; \
         echo \"    to do: install it anew, type matchmark guard here, and merge again\" >&2; \
         exit 129; }}; \
         \"$program\" merge --base \"$1\" --ours \"$2\" --theirs \"$3\" --marker-size=\"$4\" \
         --path=\"$5\" --name-base=\"$6\" --name-ours=\"$7\" --name-theirs=\"$8\"; \
         case $? in 0) exit 0 ;; 1) exit 1 ;; *) exit 129 ;; esac; }}; \
         matchmark_merge %O %A %B %L %P %S %X %Y"
    )
}

/// The settings of all drivers, each with what it is set to; those of a driver together.
fn settings(program: &str) -> Vec<(Does, [(String, String); 2])> {
    let shows = Kind::ALL.iter().map(|kind| {
        let name = name(*kind);
        let settings = [
            (format!("diff.{name}.textconv"), command(*kind, program)),
            (format!("diff.{name}.xfuncname"), NAMES.to_owned()),
        ];
        (Does::Shows, settings)
    });
    let merges = [
        (format!("merge.{MERGING}.name"), MERGING_NAME.to_owned()),
        (format!("merge.{MERGING}.driver"), merging(program)),
    ];
    shows.chain([(Does::Merges, merges)]).collect()
}

/// A setting as git has it.
struct Set {
    scope: String,
    key: String,
    value: String,
}

/// What is set of our drivers, by whomever.
fn all_set(repo: &Repo) -> Vec<Set> {
    // That nothing is set is an error to git.
    let question = [
        "config",
        "-z",
        "--show-scope",
        "--get-regexp",
        "^(diff\\.matchmark-|merge\\.matchmark\\.)",
    ];
    let answer = repo.ask(&question, None).unwrap_or_default();
    let text = String::from_utf8_lossy(&answer).into_owned();
    let mut parts = text.split('\0');
    let mut all = Vec::new();
    while let (Some(scope), Some(set)) = (parts.next(), parts.next()) {
        let (key, value) = set.split_once('\n').unwrap_or((set, ""));
        all.push(Set {
            scope: scope.to_owned(),
            key: key.to_owned(),
            value: value.to_owned(),
        });
    }
    all
}

fn is_ours(key: &str, value: &str) -> bool {
    if key.ends_with(".textconv") {
        value.starts_with(OURS)
    } else if key.ends_with(".driver") {
        value.starts_with(OURS_MERGING)
    } else {
        value == NAMES || value == MERGING_NAME
    }
}

/// Puts our drivers in force in a clone.
///
/// # Errors
/// When git is not there to be asked.
pub fn put(repo: &Repo) -> Result<Drivers, GitError> {
    let program = std::env::current_exe().unwrap_or_else(|_| PathBuf::from("matchmark"));
    let program = quoted(&program.to_string_lossy());
    let mut came = Drivers::default();
    if let Some(left) = leads_out(repo)? {
        came.left.push(left);
        return Ok(came);
    }
    let there = all_set(repo);
    for (does, settings) in settings(&program) {
        let is_own = |set: &&Set| settings.iter().any(|(key, _)| set.key == *key);
        let theirs = there.iter().filter(is_own);
        let theirs = theirs.filter(|set| !is_ours(&set.key, &set.value));
        let theirs: Vec<&Set> = theirs.collect();
        for set in &theirs {
            let Set { scope, key, .. } = set;
            came.left.push(Left {
                of: Some(does),
                what: format!("`{key}`"),
                why: format!("somebody set it ({scope} settings)"),
                to_do: format!(
                    "to have ours, `git config --{scope} --unset-all {key}`, then `matchmark guard`"
                ),
            });
        }
        // Half of theirs and half of ours would be neither.
        for (key, value) in settings.iter().filter(|_| theirs.is_empty()) {
            let is_so = |set: &Set| set.scope == "local" && set.key == *key && set.value == *value;
            if !there.iter().any(is_so)
                && let Err(error) = repo.ask(&["config", "--local", key, value], None)
            {
                came.left.push(unset(key, &error));
            }
        }
    }
    // Of the versions that two crossing merges began from it would give one alone.
    let recursive = format!("merge.{MERGING}.recursive");
    for Set { scope, key, value } in there.iter().filter(|set| set.key == recursive) {
        came.left.push(Left {
            of: Some(Does::Merges),
            what: format!("`{key}`"),
            why: format!("somebody set it to `{value}` ({scope} settings)"),
            to_do: format!("to have ours, `git config --{scope} --unset-all {key}`"),
        });
    }
    match attributes_wanted(repo, &mut came)? {
        wanted if wanted.is_empty() => {}
        wanted => match add_lines(&info(repo)?, &wanted) {
            Ok(()) => came.lines = wanted.len(),
            Err(error) => came.left.push(unwritten(&error)),
        },
    }
    Ok(came)
}

/// Takes our drivers out.
///
/// # Errors
/// When git is not there to be asked.
pub fn remove(repo: &Repo) -> Result<Drivers, GitError> {
    let mut came = Drivers::default();
    if let Some(left) = leads_out(repo)? {
        came.left.push(left);
        return Ok(came);
    }
    for set in all_set(repo) {
        if set.scope != "local" || !is_ours(&set.key, &set.value) {
            continue;
        }
        came.was_there = true;
        if let Err(error) = repo.ask(&["config", "--local", "--unset-all", &set.key], None) {
            came.left.push(unset(&set.key, &error));
        }
    }
    match take_lines(&info(repo)?) {
        Ok(lines) => came.lines = lines,
        Err(error) => came.left.push(unwritten(&error)),
    }
    came.was_there |= came.lines > 0;
    Ok(came)
}

/// What leads out of the repository where we would write: settings, or attributes.
fn leads_out(repo: &Repo) -> Result<Option<Left>, GitError> {
    let config = repo.ask_line(&["rev-parse", "--git-path", "config"])?;
    for (what, path) in [
        ("`config`", repo.folder().join(config)),
        ("`info`", info(repo)?),
    ] {
        if !repo.holds(&path) {
            return Ok(Some(Left {
                of: None,
                what: what.to_owned(),
                why: "a link leads from there out of the repository".to_owned(),
                to_do: "put what it leads to in the place of the link, then `matchmark guard`"
                    .to_owned(),
            }));
        }
    }
    Ok(None)
}

fn unset(key: &str, error: &GitError) -> Left {
    Left {
        of: None,
        what: format!("`{key}`"),
        why: error.to_string(),
        to_do: "see that the clone's settings can be written".to_owned(),
    }
}

fn unwritten(error: &io::Error) -> Left {
    Left {
        of: None,
        what: "`info/attributes`".to_owned(),
        why: plain(error),
        to_do: "see that it is a file, and can be written".to_owned(),
    }
}

/// Where the clone's own attributes lie.
fn info(repo: &Repo) -> Result<PathBuf, GitError> {
    let path = repo.ask_line(&["rev-parse", "--git-path", "info/attributes"])?;
    Ok(repo.folder().join(path))
}

/// The lines that attributes lack, so that each file of records has its driver.
fn attributes_wanted(repo: &Repo, came: &mut Drivers) -> Result<Vec<String>, GitError> {
    let question = [
        "ls-files",
        "-z",
        "--full-name",
        "--",
        ":(top,glob)**/*.yaml",
    ];
    let answer = repo.ask(&question, None)?;
    let text = String::from_utf8_lossy(&answer).into_owned();
    let files: Vec<&str> = text.split_terminator('\0').collect();
    let mut builds: BTreeSet<&str> = files
        .iter()
        .filter_map(|file| file.strip_suffix("build.yaml"))
        .filter(|folder| folder.is_empty() || folder.ends_with('/'))
        .collect();
    // One that is still to be committed, or to come.
    let here = repo.inner();
    let top = PathBuf::from(repo.ask_line(&["rev-parse", "--show-toplevel"])?);
    if top.join(here).join("build.yaml").is_file() {
        builds.insert(here);
    } else if builds.is_empty() {
        builds.insert("");
    }
    let mut wanted = Vec::new();
    for build in builds {
        let own = files.iter().filter_map(|file| {
            let kind = kind_of(file.strip_prefix(build)?)?;
            Some((kind, (*file).to_owned()))
        });
        let sample = |kind: Kind| match kind {
            Kind::Build => format!("{build}build.yaml"),
            kind => format!("{build}{kind}/all.yaml"),
        };
        let mut asked: Vec<(Kind, String)> = own.collect();
        asked.extend(Kind::ALL.iter().map(|kind| (*kind, sample(*kind))));
        let mut said = Vec::new();
        for does in Does::ALL {
            let files = asked.iter().map(|(_, file)| file);
            said.push((does, named_by(repo, &top, does, files)?));
        }
        for kind in Kind::ALL {
            let mut lacking = String::new();
            for (does, named) in &said {
                let driver = does.driver(*kind);
                let said = asked.iter().zip(named).filter(|((of, _), _)| of == kind);
                let other = said
                    .clone()
                    .find(|(_, said)| !does.leaves(said) && **said != driver);
                let attribute = does.attribute();
                if let Some(((_, file), said)) = other {
                    came.left.push(Left {
                        of: Some(*does),
                        what: file.clone(),
                        why: match said.as_str() {
                            "unset" => format!("attributes say `-{attribute}` of it"),
                            "set" => format!("attributes say `{attribute}` of it"),
                            said => format!("attributes give it to the driver `{said}`"),
                        },
                        to_do: format!("to have ours, write `{attribute}={driver}` there"),
                    });
                } else if said.clone().any(|(_, said)| **said != driver) {
                    lacking.push_str(&format!(" {attribute}={driver}"));
                }
            }
            if !lacking.is_empty() {
                let files = as_pattern(&format!("/{build}"), &pattern(*kind));
                wanted.push(format!("{files}{lacking}"));
            }
        }
    }
    Ok(wanted)
}

/// The driver that attributes give each file to.
fn named_by<'a>(
    repo: &Repo,
    top: &Path,
    does: Does,
    files: impl Iterator<Item = &'a String>,
) -> Result<Vec<String>, GitError> {
    let top = top.to_string_lossy();
    let attribute = does.attribute();
    let question = ["-C", &top, "check-attr", "-z", "--stdin", attribute];
    let input: String = files.map(|file| format!("{file}\0")).collect();
    let answer = repo.ask(&question, Some(input.as_bytes()))?;
    // Path, attribute, value.
    let values = answer.split(|byte| *byte == 0).skip(2).step_by(3);
    Ok(values
        .map(|value| String::from_utf8_lossy(value).into_owned())
        .collect())
}

/// A folder and a pattern in it as one pattern, in quotes where git asks for them.
fn as_pattern(folder: &str, pattern: &str) -> String {
    let mut whole = String::new();
    for c in folder.trim_end_matches('/').chars() {
        if matches!(c, '*' | '?' | '[' | ']' | '\\') {
            whole.push('\\');
        }
        whole.push(c);
    }
    whole.push_str(pattern);
    let plain = |c: char| !c.is_whitespace() && !c.is_control() && c != '"';
    if whole.chars().all(plain) {
        return whole;
    }
    let mut text = String::from("\"");
    for c in whole.chars() {
        match c {
            '"' | '\\' => text.extend(['\\', c]),
            c if c.is_control() => text.push_str(&format!("\\{:03o}", u32::from(c))),
            c => text.push(c),
        }
    }
    text.push('"');
    text
}

/// Adds our lines at the end of a file, where they have the last word.
fn add_lines(path: &Path, lines: &[String]) -> io::Result<()> {
    let mut text = read_own(path)?;
    if !text.is_empty() && !text.ends_with(b"\n") {
        text.push(b'\n');
    }
    if !text
        .split(|b| *b == b'\n')
        .any(|line| line == HEAD.as_bytes())
    {
        text.extend(format!("{HEAD}\n").bytes());
    }
    text.extend(
        lines
            .iter()
            .flat_map(|line| format!("{line}\n").into_bytes()),
    );
    write_own(path, &text)
}

/// Takes our lines out of a file; tells how many.
fn take_lines(path: &Path) -> io::Result<usize> {
    let text = read_own(path)?;
    let ours = |line: &[u8]| {
        let line = String::from_utf8_lossy(line);
        let line = line.trim_end();
        let [shows, merges] = Does::ALL
            .map(|does| move |kind: Kind| format!(" {}={}", does.attribute(), does.driver(kind)));
        let named = Kind::ALL.iter().any(|kind| {
            let both = format!("{}{}", shows(*kind), merges(*kind));
            [shows(*kind), merges(*kind), both].iter().any(|given| {
                let files = line.strip_suffix(given.as_str()).unwrap_or_default();
                files.trim_end_matches('"').ends_with(&pattern(*kind))
            })
        });
        named || line == HEAD
    };
    let lines = text.split_inclusive(|b| *b == b'\n');
    let kept: Vec<u8> = lines
        .filter(|line| !ours(line))
        .flatten()
        .copied()
        .collect();
    let taken = text
        .split_inclusive(|b| *b == b'\n')
        .filter(|line| ours(line));
    let taken = taken
        .filter(|line| !line.starts_with(HEAD.as_bytes()))
        .count();
    if kept.len() == text.len() {
        return Ok(0);
    }
    if kept.is_empty() {
        fs::remove_file(path)?;
    } else {
        write_own(path, &kept)?;
    }
    Ok(taken)
}

/// A file of the clone's own; nothing if it is not there yet.
fn read_own(path: &Path) -> io::Result<Vec<u8>> {
    match path.symlink_metadata() {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Vec::new()),
        Err(error) => Err(error),
        Ok(about) if !about.is_file() => Err(io::Error::other("it is a link or a folder")),
        Ok(_) => fs::read(path),
    }
}

fn write_own(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let draft = match path.symlink_metadata() {
        Ok(_) => draft_like(path, bytes)?,
        Err(_) => draft(path, bytes)?,
    };
    draft.persist(path)?;
    Ok(())
}

/// What a file holds that git wants shown.
///
/// # Errors
/// When it can't be read.
pub fn read(path: &Path) -> io::Result<Vec<u8>> {
    fs::read(path)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::lines::MARK;

    #[test]
    fn what_start_lays_out_gives_each_kind_its_driver() {
        let laid = include_str!("../cli/start/layout/dot-gitattributes");
        for kind in Kind::ALL {
            let line = format!("{} diff={}", pattern(*kind), name(*kind));
            assert!(laid.lines().any(|laid| laid == line), "{line}");
        }
    }

    #[test]
    fn what_start_lays_out_gives_each_file_to_the_driver_that_merges() {
        let laid = include_str!("../cli/start/layout/dot-gitattributes");
        let line = format!("*.yaml merge={MERGING}");
        assert!(laid.lines().any(|laid| laid == line), "{line}");
    }

    #[test]
    fn names_are_found_by_what_stands_before_them() {
        assert!(NAMES.contains(MARK));
    }

    #[test]
    fn a_folder_of_any_name_can_stand_in_a_pattern() {
        assert_eq!(as_pattern("/", "/parts/**/*.yaml"), "/parts/**/*.yaml");
        assert_eq!(as_pattern("/a[1]/", "/x"), "/a\\[1\\]/x");
        assert_eq!(as_pattern("/my \"car\"/", "/x"), "\"/my \\\"car\\\"/x\"");
    }
}
