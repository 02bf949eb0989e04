//! What git's driver could not do, as it sees one file: a merge that stopped, looked at as
//! a whole.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::driver::Bytes;
use super::moved::{self, Held, Moved, State};
use super::words;
use crate::cli::{Outcome, check, fitted, state};
use crate::merge::{self, Marks, Merged, Three};
use crate::model::Kind;
use crate::render::safe::{safe, shell_word};
use crate::render::text::{self, number};
use crate::shell::git::Repo;
use crate::shell::merging::{self, Unmerged};
use crate::shell::terminal;

/// Settles what can be settled, and says what is left.
pub(super) fn run(folder: Option<&Path>) -> anyhow::Result<Outcome> {
    let repo = Repo::open(Some(folder.unwrap_or(Path::new("."))))?;
    if repo.unmerged()?.is_empty() && !repo.is_stopped() {
        terminal::print("git has stopped at no file here\n")?;
        return Ok(Outcome::Clean);
    }
    let mut said = Said::default();
    let mut tried = BTreeSet::new();
    // What one record's move brought about may be what the next one is part of.
    while let Some(moved) = next(&repo, &tried)? {
        tried.insert((moved.from.clone(), moved.id.clone()));
        settle(&repo, &moved, &mut said)?;
    }
    take_in_clean(&repo, &mut said)?;
    terminal::print(&fitted(safe(&said.done)))?;
    let left = left(&repo, &said)?;
    if !left.is_empty() {
        terminal::print(&fitted(left))?;
        return Ok(Outcome::Conflicts);
    }
    let states = state::staged(&repo, None, false)?;
    let findings = state::findings(&states);
    terminal::print(&text::brief(
        &findings,
        &text::Refusal::Nothing,
        check::colour(),
    ))?;
    let outcome = check::outcome(&findings);
    terminal::print(match outcome {
        Outcome::Clean => "All is merged; `git status` tells how to go on.\n",
        Outcome::Conflicts => {
            "All is merged, and contradicts itself: mend it and `git add` it before you go on.\n"
        }
    })?;
    Ok(outcome)
}

/// What came of it so far.
#[derive(Default)]
struct Said {
    /// What was done.
    done: String,
    /// Why a file was left alone.
    left: BTreeMap<String, String>,
}

/// The files of records of a merge that stopped.
fn files(repo: &Repo) -> anyhow::Result<BTreeMap<String, Held>> {
    let top = repo.top()?;
    let held = |path: &str, state: State| {
        let (build, kind) = merging::build_at(path, &top)?;
        let build = build.to_owned();
        Some((path.to_owned(), Held { build, kind, state }))
    };
    let mut files = BTreeMap::new();
    for file in repo.unmerged()?.into_iter().filter(Unmerged::is_file) {
        files.extend(held(&file.path, State::Stopped(file.versions)));
    }
    for (path, bytes) in repo.merged()? {
        files.extend(held(&path, State::Merged(bytes)));
    }
    Ok(files)
}

/// The next record that one side moved and the other changed, of those not tried yet.
fn next(repo: &Repo, tried: &BTreeSet<(String, String)>) -> anyhow::Result<Option<Moved>> {
    let all = moved::all(&files(repo)?);
    let mut new = all
        .into_iter()
        .filter(|moved| !tried.contains(&(moved.from.clone(), moved.id.clone())));
    Ok(new.next())
}

/// Merges both files of a move anew.
fn settle(repo: &Repo, moved: &Moved, said: &mut Said) -> anyhow::Result<()> {
    let files = files(repo)?;
    let (Some(from), Some(to)) = (files.get(&moved.from), files.get(&moved.to)) else {
        return Ok(());
    };
    let State::Stopped(versions) = &from.state else {
        return Ok(());
    };
    let name = format!("{}/{}", from.kind, moved.id);
    let mut leave = |path: &str, why: &str| {
        let why = format!("{name} went to {}, and {why}", moved.to);
        said.left.insert(path.to_owned(), why);
    };
    let (Some(lies_from), Some(lies_to)) = (repo.lies(&moved.from), repo.lies(&moved.to)) else {
        leave(&moved.from, "one of the two files is not there");
        return Ok(());
    };
    let Some(whole) = moved::rehomed(moved, versions, &to.state) else {
        leave(&moved.from, "it has no lines of its own");
        return Ok(());
    };
    for (path, lies, held) in [(&moved.from, &lies_from, from), (&moved.to, &lies_to, to)] {
        if !is_as_left(path, lies, held, repo)? {
            leave(path, &format!("{path} was edited since git stopped"));
            return Ok(());
        }
    }
    let Three { base, ours, theirs } = whole;
    let parted = [
        (
            &moved.from,
            from.kind,
            &lies_from,
            Three {
                base: base.from,
                ours: ours.from,
                theirs: theirs.from,
            },
        ),
        (
            &moved.to,
            to.kind,
            &lies_to,
            Three {
                base: base.to,
                ours: ours.to,
                theirs: theirs.to,
            },
        ),
    ];
    // Where git merged the one with no clash, the other tells what the sides are called.
    let is_marked = |lies: &[u8]| lies.windows(7).any(|seven| seven == b"<<<<<<<");
    let marks = match is_marked(&lies_to) {
        true => marks_in(&lies_to),
        false => marks_in(&lies_from),
    };
    let mut outcomes = Vec::new();
    for (path, kind, lies, versions) in parted {
        let Ok(merged) = merge::merge(kind, path, versions.clone()) else {
            leave(path, "the two can't be merged by record");
            return Ok(());
        };
        let unmerged = repo
            .unmerged()?
            .into_iter()
            .find(|file| file.path == **path);
        let there = unmerged.map(|file| file.named);
        outcomes.push(outcome(path, lies, &marks, &versions, &merged, there));
    }
    repo.settle(&outcomes)?;
    let clashes = outcomes.iter().any(|outcome| outcome.clashing.is_some());
    said.done.push_str(&format!(
        "{name} went from {} to {} on one side and was changed on the other: {}\n",
        moved.from,
        moved.to,
        match clashes {
            false => "both are kept",
            true => "merged where it went",
        }
    ));
    Ok(())
}

type Names = Option<(u32, String)>;

fn outcome(
    path: &str,
    lies: &[u8],
    marks: &Marks,
    versions: &Bytes,
    merged: &Merged,
    there: Option<Three<Names>>,
) -> merging::Outcome {
    let text = merged.text(marks);
    let crlf = lies.windows(2).any(|two| two == b"\r\n") && !text.contains("\r\n");
    let is = match crlf {
        true => text.replace('\n', "\r\n"),
        false => text,
    };
    // A version that is not there stays away, unless it holds something now.
    let there = there.map_or([true; 3], |there| {
        [there.base, there.ours, there.theirs].map(|named| named.is_some())
    });
    let version =
        |bytes: &Vec<u8>, there: bool| (there || !bytes.is_empty()).then(|| bytes.clone());
    let clashing = (!merged.is_clean()).then(|| Three {
        base: version(&versions.base, there[0]),
        ours: version(&versions.ours, there[1]),
        theirs: version(&versions.theirs, there[2]),
    });
    let goes = merged.is_clean() && is.trim().is_empty() && !(there[1] && there[2]);
    merging::Outcome {
        path: path.to_owned(),
        was: lies.to_vec(),
        is: (!goes).then(|| is.into_bytes()),
        clashing,
    }
}

/// The marks that stand in a file, as git had them called.
fn marks_in(lies: &[u8]) -> Marks {
    let text = String::from_utf8_lossy(lies);
    let found = |c: char| {
        let mut lines = text.lines();
        lines.find_map(|line| {
            let size = line.chars().take_while(|found| *found == c).count();
            let name = line[size..].strip_prefix(' ')?;
            (size >= 7).then(|| (size, name.to_owned()))
        })
    };
    let name = |c: char, usual: &str| found(c).map_or_else(|| usual.to_owned(), |(_, name)| name);
    Marks {
        size: found('<').map_or(7, |(size, _)| size),
        names: Three {
            base: name('|', "base"),
            ours: name('<', "ours"),
            theirs: name('>', "theirs"),
        },
    }
}

/// Whether a file still lies as git left it, and nobody has begun to settle it.
fn is_as_left(path: &str, lies: &[u8], held: &Held, repo: &Repo) -> anyhow::Result<bool> {
    let same = |left: &[u8]| {
        let ends = |bytes: &[u8]| String::from_utf8_lossy(bytes).replace("\r\n", "\n");
        ends(lies) == ends(left)
    };
    Ok(match &held.state {
        State::Merged(bytes) => same(bytes),
        State::Stopped(versions) => {
            let named = repo.unmerged()?.into_iter().find(|file| file.path == path);
            let named = named.map(|file| file.named).unwrap_or_default();
            match (named.ours, named.theirs) {
                // Git calls no driver where one side has no such file any more.
                (Some(_), None) if same(&versions.ours) => true,
                (None, Some(_)) if same(&versions.theirs) => true,
                _ => merge::merge(held.kind, path, versions.clone())
                    .is_ok_and(|merged| same(merged.text(&marks_in(lies)).as_bytes())),
            }
        }
    })
}

/// Takes in the files that need nobody, as they lie.
fn take_in_clean(repo: &Repo, said: &mut Said) -> anyhow::Result<()> {
    let top = repo.top()?;
    for file in repo.unmerged()?.into_iter().filter(Unmerged::is_file) {
        let Some((build, kind)) = merging::build_at(&file.path, &top) else {
            continue;
        };
        let all_there = file.named.ours.is_some() && file.named.theirs.is_some();
        let Some(lies) = repo.lies(&file.path).filter(|_| all_there) else {
            continue;
        };
        let Ok(merged) = merge::merge(kind, &file.path, file.versions.clone()) else {
            continue;
        };
        let state = State::Stopped(file.versions.clone());
        let build = build.to_owned();
        let held = Held { build, kind, state };
        if merged.is_clean() && is_as_left(&file.path, &lies, &held, repo)? {
            let outcome = outcome(
                &file.path,
                &lies,
                &marks_in(&lies),
                &file.versions,
                &merged,
                Some(file.named),
            );
            repo.settle(&[outcome])?;
            said.done.push_str(&format!("{} is merged\n", file.path));
        }
    }
    Ok(())
}

/// What is left to a person, in words; nothing if nothing is.
fn left(repo: &Repo, said: &Said) -> anyhow::Result<String> {
    let top: PathBuf = repo.top()?;
    let mut text = String::new();
    let mut others = Vec::new();
    let mut marked = false;
    for file in repo.unmerged()? {
        let path = safe(&file.path).replace('\n', " ");
        let kind: Option<Kind> = merging::build_at(&file.path, &top).map(|(_, kind)| kind);
        let Some(kind) = kind.filter(|_| file.is_file()) else {
            others.push(path);
            continue;
        };
        // Git asks no driver where one side has no such file, and marks nothing in it.
        let whole = match (&file.named.ours, &file.named.theirs) {
            (Some(_), None) => Some((&file.versions.ours, "here", "there")),
            (None, Some(_)) => Some((&file.versions.theirs, "there", "here")),
            _ => None,
        };
        if let Some((kept, stays, gone)) = whole
            && !said.left.contains_key(&file.path)
            && repo.lies(&file.path).as_ref() == Some(kept)
        {
            text.push_str(&format!(
                "{path}: the whole file is gone {gone}, and changed or renamed {stays}\n    \
                 to do: `git add` it to keep it, `git rm` it to let it go\n"
            ));
            continue;
        }
        marked = true;
        if let Some(why) = said.left.get(&file.path) {
            text.push_str(&format!(
                "{path}: left as it is: {}\n",
                safe(why).replace('\n', " ")
            ));
            continue;
        }
        match merge::merge(kind, &file.path, file.versions.clone()) {
            Ok(merged) if merged.is_clean() => {
                text.push_str(&format!(
                    "{path}: edited since git stopped, and left as it is\n"
                ));
            }
            Ok(merged) => {
                let clashes = number(merged.clashes.len(), "thing");
                text.push_str(&format!("{path}: {clashes} left to you\n"));
                text.push_str(&words::told(
                    kind,
                    &file.path,
                    &file.versions,
                    &merged.clashes,
                ));
            }
            Err(unread) => {
                text.push_str(&format!("{path}: merged by lines: {}\n", safe(&unread.why)));
            }
        }
    }
    if !others.is_empty() {
        marked = true;
        let files: Vec<String> = others.iter().map(|path| shell_word(path)).collect();
        text.push_str(&format!(
            "not of records, left to you: {}\n",
            files.join(", ")
        ));
    }
    if marked {
        text.push_str(
            "    to do: choose between the marks, take them out, `git add` the file, \
             then `matchmark merge` again\n",
        );
    }
    Ok(text)
}
