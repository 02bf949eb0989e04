//! What comes back from a helper: a folder, a zip archive or a git bundle, read and never
//! let do anything.
//!
//! It was made by somebody else. Nothing of it is checked out or laid out, links are not
//! followed, and of a folder's own repository nothing is read at all: its settings could
//! name programs. A bundle holds no settings; git takes it into a bare repository of our
//! own, looks at every object, and knows of nobody's settings meanwhile. All that is read
//! has a limit: so many files, so deep, so large.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::rc::Rc;

use git2::{ObjectType, Oid};
use walkdir::WalkDir;

use super::disk::plain;
use super::git::{GitError, Repo};
use super::handed::Handed;
use super::states::named;
use crate::folder::{Content, kind_of};
use crate::near::hides;
use crate::picture::LARGEST;
use crate::render::safe::safe;
use crate::source::{Budget, LIMIT};
use crate::takeback::{Files, Said};

/// No more files than that are looked at.
const MOST: usize = 50_000;
/// A folder further in than that is not looked into.
const DEEPEST: usize = 16;
/// A name with all its folders is no longer than that.
const LONGEST: usize = 1024;
/// All that is read comes to no more than that, in bytes.
const ALL: u64 = 4 << 30;
/// An archive or a bundle is no larger than that, in bytes.
const PACK: u64 = 2 << 30;
/// What an archive says of its files comes to no more than that, in bytes.
const LISTED: u64 = 16 << 20;
/// What git may ask of the memory at a time.
const GIT_MEMORY: &str = "512m";

/// Why what came back can't be read.
#[derive(Debug, thiserror::Error)]
pub enum UnpackError {
    /// Nothing is there, or it can't be opened.
    #[error("{0} can't be read: {1}")]
    Unread(String, String),
    /// It is no form that is known.
    #[error("{0} is no folder, no zip archive, no git bundle and no job sheet (.csv)")]
    NoForm(String),
    /// It is too much.
    #[error("{0} is not read: {1}")]
    TooMuch(String, String),
    /// There is no build in it.
    #[error("{0} holds no build.yaml, so it is no build that came back")]
    NoBuild(String),
    /// There are several.
    #[error("{0} holds several builds: {1}")]
    Several(String, String),
    /// Git does not take it.
    #[error("git does not take {0}: {1}")]
    Refused(String, String),
    /// Git does not answer.
    #[error(transparent)]
    Git(#[from] GitError),
}

/// The form that something came back in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A folder.
    Folder,
    /// A zip archive.
    Archive,
    /// A git bundle.
    Bundle,
    /// A job sheet as CSV.
    Sheet,
}

/// What came back.
pub struct Came {
    /// Its files of records.
    pub records: Files,
    /// Git's names for its other files.
    pub others: BTreeMap<String, String>,
    /// What the pack says of itself.
    pub handed: Option<Vec<u8>>,
    /// The job sheet in it.
    pub sheet: Option<Vec<u8>>,
    /// What is not looked at, and why.
    pub passed: Vec<Said>,
    /// Who made the commits that came with it: name and address.
    pub authors: Vec<(String, String)>,
    /// The handover that its commits build upon.
    pub builds_on: Option<String>,
    shown: String,
    pack: Pack,
    spots: BTreeMap<String, Spot>,
}

/// Where the bytes are taken from.
enum Pack {
    Folder,
    Archive(std::cell::RefCell<zip::ZipArchive<BufReader<Measured>>>),
    Bundle(
        Box<Repo>,
        #[expect(dead_code, reason = "it goes when it is dropped")] tempfile::TempDir,
    ),
}

/// Where one file's bytes are.
#[derive(Debug, Clone)]
enum Spot {
    At(PathBuf),
    Number(usize),
    Blob(Oid),
}

/// A file that was found.
struct Found {
    name: String,
    size: u64,
    spot: Spot,
}

/// What form a thing has, by its beginning.
///
/// # Errors
/// When nothing is there, or it is none of them.
pub fn form(path: &Path) -> Result<Form, UnpackError> {
    let shown = path.display().to_string();
    let unread = |error: std::io::Error| UnpackError::Unread(shown.clone(), plain(&error));
    let about = fs::metadata(path).map_err(unread)?;
    if about.is_dir() {
        return Ok(Form::Folder);
    }
    if !about.is_file() {
        return Err(UnpackError::NoForm(shown));
    }
    if about.len() > PACK {
        let why = format!("it is larger than {} GiB", PACK >> 30);
        return Err(UnpackError::TooMuch(shown, why));
    }
    let mut first = Vec::new();
    let file = File::open(path).map_err(unread)?;
    file.take(32).read_to_end(&mut first).map_err(unread)?;
    let ending = path.extension().map(|end| end.to_ascii_lowercase());
    if first.starts_with(b"PK\x03\x04") || first.starts_with(b"PK\x05\x06") {
        Ok(Form::Archive)
    } else if first.starts_with(b"# v2 git bundle") || first.starts_with(b"# v3 git bundle") {
        Ok(Form::Bundle)
    } else if ending.is_some_and(|end| ["csv", "tsv", "txt"].iter().any(|one| end == *one)) {
        Ok(Form::Sheet)
    } else {
        Err(UnpackError::NoForm(shown))
    }
}

/// The bytes of a job sheet.
///
/// # Errors
/// When it can't be read, or is too large to be one.
pub fn sheet(path: &Path) -> Result<Vec<u8>, UnpackError> {
    let shown = path.display().to_string();
    let file = File::open(path);
    let read = file.and_then(|file| limited(file, LIMIT as u64));
    read.map_err(|error| UnpackError::Unread(shown, plain(&error)))
}

/// Reads what came back. `repo` is the one that it was handed over from.
///
/// # Errors
/// When it can't be read, is too much, or holds no build.
pub fn unpack(path: &Path, form: Form, repo: &Repo, known: &[Handed]) -> Result<Came, UnpackError> {
    let shown = path.display().to_string();
    let mut passed = Vec::new();
    let mut authors = Vec::new();
    let mut builds_on = None;
    let (pack, found) = match form {
        Form::Folder | Form::Sheet => (Pack::Folder, in_folder(path, &shown, &mut passed)?),
        Form::Archive => {
            let (archive, found) = in_archive(path, &shown, &mut passed)?;
            (Pack::Archive(archive.into()), found)
        }
        Form::Bundle => {
            let (bundle, folder, tip) = fetched(path, &shown, repo, known)?;
            let tip = bundle.commit(&tip)?;
            let found = in_tree(&bundle, &tip.tree, &shown, &mut passed)?;
            let based: Vec<&Handed> = known
                .iter()
                .filter(|one| one.given == tip.id || bundle.descends(&tip.id, &one.given))
                .collect();
            builds_on = based.last().map(|one| one.name.clone());
            let from: Vec<String> = based.iter().map(|one| one.given.clone()).collect();
            if !from.is_empty() {
                for commit in bundle.between(&from, &tip.id)? {
                    if !authors.contains(&commit.by) {
                        authors.push(commit.by);
                    }
                }
            }
            (Pack::Bundle(Box::new(bundle), folder), found)
        }
    };
    let mut came = Came {
        records: Files::new(),
        others: BTreeMap::new(),
        handed: None,
        sheet: None,
        passed,
        authors,
        builds_on,
        shown,
        pack,
        spots: BTreeMap::new(),
    };
    came.read(found, repo)?;
    Ok(came)
}

impl Came {
    /// Reads all that was found and may be looked at.
    fn read(&mut self, found: Vec<Found>, repo: &Repo) -> Result<(), UnpackError> {
        let too_much = |why: String| UnpackError::TooMuch(self.shown.clone(), why);
        let mut files: Vec<Found> = Vec::new();
        for one in found {
            if one
                .name
                .split('/')
                .any(|part| part.starts_with('.') && part != "..")
            {
                // As everywhere; git's own folder is among them.
                continue;
            }
            match barred(&one.name) {
                Some(why) => self.passed.push(Said::of(one.name, why)),
                None => files.push(one),
            }
        }
        let top = top_of(&files, &self.shown)?;
        files.retain(|one| one.name.starts_with(&top));
        files.sort_by(|a, b| a.name.cmp(&b.name));
        let mut called: BTreeMap<String, usize> = BTreeMap::new();
        for one in &files {
            *called.entry(one.name.to_lowercase()).or_default() += 1;
        }
        let (mut all, mut budget) = (0_u64, Budget::default());
        for one in files {
            let name = one.name[top.len()..].to_owned();
            // Some disks would take them for one, and nobody could say which it is.
            if called
                .get(&one.name.to_lowercase())
                .is_some_and(|count| *count > 1)
            {
                let why = "another one is called so, but for capitals";
                self.passed.push(Said::of(name, why));
                continue;
            }
            let limit = if kind_of(&name).is_some() {
                LIMIT as u64
            } else {
                LARGEST
            };
            if one.size > limit {
                let why = format!("it is larger than {} MiB", limit >> 20);
                self.passed.push(Said::of(name, why));
                continue;
            }
            let bytes = match self.fetch(&one.spot, limit) {
                Ok(bytes) => bytes,
                Err(why) => {
                    self.passed
                        .push(Said::of(name, format!("it can't be read: {why}")));
                    continue;
                }
            };
            all += bytes.len() as u64;
            if all > ALL {
                return Err(too_much(format!("it holds more than {} GiB", ALL >> 30)));
            }
            match name.as_str() {
                "handed-over.yaml" => self.handed = Some(bytes),
                "jobs.csv" => self.sheet = Some(bytes),
                _ if kind_of(&name).is_some() => {
                    // As wherever a build is read.
                    match budget.refuses(bytes.len() as u64) {
                        Some(why) => self.passed.push(Said::of(name, why)),
                        None => {
                            self.records.insert(name, bytes);
                        }
                    }
                }
                _ => {
                    if let Content::Blob(_, id) = named(bytes, repo.format()) {
                        self.others.insert(name.clone(), id);
                    }
                    self.spots.insert(name, one.spot);
                }
            }
        }
        Ok(())
    }

    /// The bytes of one of its other files.
    ///
    /// # Errors
    /// When they can't be read any more.
    pub fn bytes(&self, path: &str) -> Result<Vec<u8>, UnpackError> {
        let spot = self.spots.get(path);
        let bytes = spot.ok_or_else(|| "it is not there".to_owned());
        let bytes = bytes.and_then(|spot| self.fetch(spot, LARGEST));
        bytes.map_err(|why| UnpackError::Unread(format!("{path} in {}", self.shown), why))
    }

    fn fetch(&self, spot: &Spot, limit: u64) -> Result<Vec<u8>, String> {
        let said = |error: std::io::Error| plain(&error);
        match (&self.pack, spot) {
            (_, Spot::At(path)) => {
                let about = path.symlink_metadata().map_err(said)?;
                if !about.is_file() {
                    return Err("it is no ordinary file".to_owned());
                }
                limited(File::open(path).map_err(said)?, limit).map_err(said)
            }
            (Pack::Archive(archive), Spot::Number(number)) => {
                let mut archive = archive.borrow_mut();
                let file = archive.by_index(*number);
                let file = file.map_err(|error| error.to_string())?;
                limited(file, limit).map_err(said)
            }
            (Pack::Bundle(repo, _), Spot::Blob(id)) => {
                let library = repo.library.as_ref().ok_or("git's library can't read it")?;
                let blob = library.find_blob(*id);
                let blob = blob.map_err(|error| error.message().to_owned())?;
                Ok(blob.content().to_vec())
            }
            _ => Err("it is not there".to_owned()),
        }
    }
}

/// All bytes, unless there are more than may be.
fn limited(file: impl Read, limit: u64) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    file.take(limit + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit {
        return Err(std::io::Error::other("it is larger than it says"));
    }
    Ok(bytes)
}

/// Why a file of that name is not looked at, if it is not: the name leads out of the folder,
/// means something to one system or other, or hides what it is.
fn barred(name: &str) -> Option<&'static str> {
    let parts = || name.split('/');
    if name.is_empty() || name.len() > LONGEST || parts().any(|part| part.len() > 255) {
        return Some("its name is too long");
    }
    if parts().count() > DEEPEST {
        return Some("it lies too deep");
    }
    if name.contains(['\\', ':']) || parts().any(|part| part.is_empty() || part == "..") {
        return Some("its name leads out of the folder, or may");
    }
    if name.chars().any(|c| hides(c) || "<>\"|?*".contains(c)) {
        return Some("there are characters in its name that hide something, or that no name has");
    }
    let device = |part: &str| {
        let stem = part.split('.').next().unwrap_or_default().trim_end();
        let stem = stem.to_ascii_lowercase();
        let numbered = |of: &str| {
            let rest = stem.strip_prefix(of);
            rest.is_some_and(|rest| rest.len() == 1 && rest.bytes().all(|b| b.is_ascii_digit()))
        };
        ["con", "prn", "aux", "nul"].contains(&stem.as_str())
            || numbered("com")
            || numbered("lpt")
            || stem.starts_with("git~")
    };
    if parts().any(|part| part.ends_with(['.', ' ']) || device(part)) {
        return Some("its name means something else to some systems");
    }
    None
}

/// The folder that the build lies in, with a `/` at its end.
fn top_of(files: &[Found], shown: &str) -> Result<String, UnpackError> {
    let tops = files.iter().filter_map(|one| {
        let top = one.name.strip_suffix("build.yaml")?;
        (top.is_empty() || top.ends_with('/')).then_some(top)
    });
    let depth = |top: &str| top.matches('/').count();
    let mut tops: Vec<&str> = tops.collect();
    tops.sort_by_key(|top| (depth(top), *top));
    match tops.as_slice() {
        [] => Err(UnpackError::NoBuild(shown.to_owned())),
        [one, other, ..] if depth(one) == depth(other) => {
            let all = format!("{one}build.yaml, {other}build.yaml");
            Err(UnpackError::Several(shown.to_owned(), all))
        }
        [one, ..] => Ok((*one).to_owned()),
    }
}

const LINK: &str = "it is a link, and links are not followed";

fn in_folder(
    folder: &Path,
    shown: &str,
    passed: &mut Vec<Said>,
) -> Result<Vec<Found>, UnpackError> {
    let hidden = |name: &std::ffi::OsStr| name.to_string_lossy().starts_with('.');
    // One step further than a name may go, so that what lies too deep is told.
    let walk = WalkDir::new(folder)
        .follow_links(false)
        .max_depth(DEEPEST + 1);
    let walk = walk.sort_by_file_name().into_iter();
    let walk = walk.filter_entry(|entry| entry.depth() == 0 || !hidden(entry.file_name()));
    let mut found = Vec::new();
    for (number, entry) in walk.enumerate() {
        if number > MOST {
            return Err(too_many(shown));
        }
        let entry = match entry {
            Ok(entry) => entry,
            Err(error) => {
                let why = error
                    .io_error()
                    .map_or_else(|| "it does not end".to_owned(), plain);
                let path = error.path().and_then(|path| path.strip_prefix(folder).ok());
                let Some(path) = path.filter(|path| !path.as_os_str().is_empty()) else {
                    return Err(UnpackError::Unread(shown.to_owned(), why));
                };
                let name = path.to_string_lossy().into_owned();
                passed.push(Said::of(name, format!("it can't be read: {why}")));
                continue;
            }
        };
        let Ok(inner) = entry.path().strip_prefix(folder) else {
            continue;
        };
        let parts = inner
            .components()
            .map(|part| part.as_os_str().to_string_lossy());
        let name = parts.collect::<Vec<_>>().join("/");
        if entry.depth() > 0 && entry.path_is_symlink() {
            passed.push(Said::of(name, LINK));
        } else if entry.file_type().is_file() {
            let size = entry.metadata().map_or(0, |about| about.len());
            let spot = Spot::At(entry.path().to_owned());
            found.push(Found { name, size, spot });
        } else if entry.file_type().is_dir() {
            if entry.depth() > DEEPEST {
                passed.push(Said::of(name, "it lies too deep"));
            }
        } else {
            passed.push(Said::of(name, "it is no ordinary file"));
        }
    }
    Ok(found)
}

fn in_archive(
    path: &Path,
    shown: &str,
    passed: &mut Vec<Said>,
) -> Result<(zip::ZipArchive<BufReader<Measured>>, Vec<Found>), UnpackError> {
    let unread = |why: String| UnpackError::Unread(shown.to_owned(), why);
    let file = File::open(path).map_err(|error| unread(plain(&error)))?;
    let left = Rc::new(Cell::new(LISTED));
    let measured = Measured {
        file,
        left: Rc::clone(&left),
    };
    let archive = zip::ZipArchive::new(BufReader::new(measured));
    let mut archive = archive.map_err(|error| unread(error.to_string()))?;
    left.set(u64::MAX);
    if archive.len() > MOST {
        return Err(too_many(shown));
    }
    let mut found = Vec::new();
    for number in 0..archive.len() {
        let file = archive.by_index_raw(number);
        let file = file.map_err(|error| unread(error.to_string()))?;
        let Ok(name) = file.name().map(|name| name.into_owned()) else {
            let name = String::from_utf8_lossy(file.name_raw()).into_owned();
            passed.push(Said::of(name, "its name can't be read"));
            continue;
        };
        // Some programs write each name from the folder on.
        let name = name.strip_prefix("./").map_or(name.clone(), str::to_owned);
        if file.is_symlink() {
            passed.push(Said::of(name, LINK));
        } else if !file.is_dir() {
            let size = file.size();
            let spot = Spot::Number(number);
            found.push(Found { name, size, spot });
        }
    }
    Ok((archive, found))
}

/// A file of which no more is read than is left: an archive is listed whole before anybody
/// can count, and a small name takes much more room in memory than in it.
struct Measured {
    file: File,
    left: Rc<Cell<u64>>,
}

impl Read for Measured {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let count = self.file.read(into)?;
        let left = self.left.get().checked_sub(count as u64);
        let left = left.ok_or_else(|| std::io::Error::other("what it lists has no end"))?;
        self.left.set(left);
        Ok(count)
    }
}

impl Seek for Measured {
    fn seek(&mut self, to: SeekFrom) -> std::io::Result<u64> {
        self.file.seek(to)
    }
}

fn too_many(shown: &str) -> UnpackError {
    UnpackError::TooMuch(shown.to_owned(), format!("it holds more than {MOST} files"))
}

/// Takes a bundle into a bare repository of its own, beside what is here.
fn fetched(
    path: &Path,
    shown: &str,
    repo: &Repo,
    known: &[Handed],
) -> Result<(Repo, tempfile::TempDir, String), UnpackError> {
    let unread = |error: std::io::Error| UnpackError::Unread(shown.to_owned(), plain(&error));
    let refused = |why: String| UnpackError::Refused(shown.to_owned(), why);
    let whole = fs::canonicalize(path).map_err(unread)?;
    let whole = whole
        .to_str()
        .ok_or_else(|| refused("its path is no UTF-8".to_owned()))?;
    let folder = tempfile::Builder::new()
        .prefix("matchmark-")
        .tempdir()
        .map_err(unread)?;
    let alone = Alone(folder.path());
    let format = match repo.format() {
        git2::ObjectFormat::Sha256 => "--object-format=sha256",
        _ => "--object-format=sha1",
    };
    alone
        .ask(&["init", "-q", "--bare", "--template=", format, "."])
        .map_err(refused)?;
    // What was handed over may be left out of a bundle that builds upon it.
    let ours = repo.ask_line(&[
        "rev-parse",
        "--path-format=absolute",
        "--git-path",
        "objects",
    ])?;
    let alternates = folder.path().join("objects/info/alternates");
    fs::create_dir_all(folder.path().join("objects/info")).map_err(unread)?;
    fs::write(alternates, format!("{ours}\n")).map_err(unread)?;
    for one in known {
        let name = format!("refs/handed/{}", one.name);
        alone
            .ask(&["update-ref", &name, &one.given])
            .map_err(refused)?;
    }
    let heads = alone
        .ask(&["bundle", "list-heads", whole])
        .map_err(refused)?;
    let heads: Vec<(&str, &str)> = heads
        .lines()
        .filter_map(|line| line.split_once(' '))
        .collect();
    let branches = || {
        heads
            .iter()
            .filter(|(_, name)| name.starts_with("refs/heads/"))
    };
    let (tip, name) = match (
        heads.iter().find(|(_, name)| *name == "HEAD"),
        branches().count(),
    ) {
        (Some(head), _) => *head,
        (None, 1) => *branches().next().unwrap_or(&("", "")),
        (None, count) => {
            return Err(refused(format!(
                "it names no HEAD, and {count} branches; `git bundle create FILE HEAD` makes one \
                 that does"
            )));
        }
    };
    if name.contains([':', '*', '^', '+', '\\']) || !tip.bytes().all(|b| b.is_ascii_hexdigit()) {
        return Err(refused("the name of its branch is none".to_owned()));
    }
    let wanted = format!("+{name}:refs/came");
    alone
        .ask(&[
            "fetch",
            "-q",
            "--no-tags",
            "--no-write-fetch-head",
            whole,
            &wanted,
        ])
        .map_err(refused)?;
    Ok((Repo::open(Some(folder.path()))?, folder, tip.to_owned()))
}

/// Git in a folder of ours that knows of nobody's settings.
struct Alone<'a>(&'a Path);

impl Alone<'_> {
    fn ask(&self, words: &[&str]) -> Result<String, String> {
        let mut command = Command::new("git");
        for (name, _) in std::env::vars_os() {
            if name.to_string_lossy().starts_with("GIT_") {
                command.env_remove(name);
            }
        }
        let settings = [
            "fetch.fsckObjects=true",
            "transfer.fsckObjects=true",
            // The pack stays packed, so that it takes no more room than it has.
            "fetch.unpackLimit=1",
            "transfer.unpackLimit=1",
            "core.bigFileThreshold=64m",
            "pack.threads=1",
            "core.hooksPath=/dev/null",
            "core.fsmonitor=false",
            "gc.auto=0",
            "maintenance.auto=false",
            "protocol.allow=never",
            "protocol.file.allow=always",
            "fetch.recurseSubmodules=false",
        ];
        for setting in settings {
            command.args(["-c", setting]);
        }
        let output = command
            .env("GIT_CONFIG_GLOBAL", "/dev/null")
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("GIT_ALLOC_LIMIT", GIT_MEMORY)
            .env("GIT_NO_LAZY_FETCH", "1")
            .env("GIT_TERMINAL_PROMPT", "0")
            .env("GIT_DIR", ".")
            .env("LC_ALL", "C")
            .args(words)
            .current_dir(self.0)
            .stdin(Stdio::null())
            .output()
            .map_err(|_| "the `git` command is not found".to_owned())?;
        if output.status.success() {
            return Ok(String::from_utf8_lossy(&output.stdout).into_owned());
        }
        let said = String::from_utf8_lossy(&output.stderr);
        let lines: Vec<&str> = said
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty())
            .collect();
        let lines = lines.iter().map(|line| {
            let line = line
                .trim_start_matches("fatal: ")
                .trim_start_matches("error: ");
            safe(line)
        });
        let lines: Vec<String> = lines.take(3).collect();
        Err(match lines.is_empty() {
            true => "it does not say why".to_owned(),
            false => lines.join("; "),
        })
    }
}

/// The files of a tree, a step at a time: a small one can name itself over and over and come
/// to more files than there is room for.
fn in_tree(
    repo: &Repo,
    tree: &str,
    shown: &str,
    passed: &mut Vec<Said>,
) -> Result<Vec<Found>, UnpackError> {
    let refused =
        |error: git2::Error| UnpackError::Refused(shown.to_owned(), error.message().to_owned());
    let Some(library) = &repo.library else {
        let why = "git's library can't read it".to_owned();
        return Err(UnpackError::Refused(shown.to_owned(), why));
    };
    let odb = library.odb().map_err(refused)?;
    let top = library.revparse_single(tree).map_err(refused)?.id();
    let mut found = Vec::new();
    let mut seen = 0;
    let mut open = vec![(String::new(), top, 1)];
    while let Some((above, id, depth)) = open.pop() {
        let tree = library.find_tree(id).map_err(refused)?;
        for entry in &tree {
            seen += 1;
            if seen > MOST {
                return Err(too_many(shown));
            }
            let name = format!("{above}{}", String::from_utf8_lossy(entry.name_bytes()));
            match (entry.kind(), entry.filemode()) {
                (_, 0o120_000) => passed.push(Said::of(name, LINK)),
                (_, 0o160_000) => {
                    passed.push(Said::of(
                        name,
                        "it is another repository, and is not fetched",
                    ));
                }
                (Some(ObjectType::Tree), _) if depth >= DEEPEST => {
                    passed.push(Said::of(name, "it lies too deep"));
                }
                (Some(ObjectType::Tree), _) => {
                    open.push((format!("{name}/"), entry.id(), depth + 1))
                }
                (Some(ObjectType::Blob), _) => {
                    let (size, _) = odb.read_header(entry.id()).map_err(refused)?;
                    found.push(Found {
                        name,
                        size: size as u64,
                        spot: Spot::Blob(entry.id()),
                    });
                }
                _ => {}
            }
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::barred;

    #[test]
    fn a_name_stays_in_the_folder() {
        for name in [
            "../up.yaml",
            "parts/../../up.yaml",
            "/etc/passwd",
            "C:/up.yaml",
            "C:up.yaml",
            "parts\\..\\up.yaml",
            "parts//up.yaml",
            "parts/a.yaml:stream",
            "parts/nul",
            "parts/COM1.yaml",
            "GIT~1/config",
            "parts/a.yaml.",
            "parts /a.yaml",
            "parts/\u{202e}lmay.a",
            "parts/a\u{200b}.yaml",
            "parts/a\n.yaml",
            "a/b/c/d/e/f/g/h/i/j/k/l/m/n/o/p/q.yaml",
        ] {
            assert!(barred(name).is_some(), "{name}");
        }
        for name in ["build.yaml", "parts/größe.yaml", "photos/p 1 (2).jpg"] {
            assert_eq!(barred(name), None, "{name}");
        }
    }
}
