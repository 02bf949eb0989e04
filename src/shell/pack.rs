//! Packing a build for somebody else.
//!
//! All is made in a bare repository of its own beside the target, which borrows the objects
//! of the real one: git's own `fast-import` writes there what is handed over. When the pack
//! is whole, its new objects and two refs go into the real repository, and the pack is moved
//! to its place. Whatever stops it before leaves nothing behind.

mod draft;
mod target;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use rayon::prelude::*;

pub use draft::Draft;
pub use target::{Form, Target};

use draft::Import;

use super::disk::DiskError;
use super::git::{Commit, GitError, Listed, Repo, batch_entry};
use super::history::{Differs, Entry, TreeAt};
use super::states::named;
use super::terminal::Progress;
use crate::folder::Content;
use crate::handover::history::{
    HANDED_OVER, LeftOut, Part, Why, Written, lines_that_tell, may_tell_where, part,
};
use crate::handover::private::{Private, Secrets, Texts};
use crate::handover::strip::strip;
use crate::model::Kind;
use crate::picture::named::path_of;
use crate::picture::position::without_position;
use crate::picture::{LARGEST, pointer};
use crate::source::Source;
use crate::yaml::{self, Node, NodeKind};

/// Where in a repository it is kept what was handed over.
pub const HANDED: &str = "refs/matchmark/handed/";

/// Why nothing was packed.
#[derive(Debug, thiserror::Error)]
pub enum PackError {
    /// Git did not answer.
    #[error(transparent)]
    Git(#[from] GitError),
    /// The disk did not do it.
    #[error(transparent)]
    Disk(#[from] DiskError),
    /// Git does not have a file here.
    #[error("git does not have {0} here, so it can't be handed over")]
    Missing(String),
    /// A file is more than is read.
    #[error("{0} can't be handed over: {1}")]
    TooLarge(String, String),
    /// What is to be remembered would be written elsewhere.
    #[error("the repository keeps its {0} behind a link, and nothing is written through one")]
    LedAway(String),
    /// The pack would lie in what it is made of.
    #[error("{0} lies in the build folder itself, or in what git keeps for it")]
    Inside(String),
    /// An archive can't be written.
    #[error("the archive can't be written: {0}")]
    Archive(String),
    /// The published schemas are none.
    #[error(transparent)]
    Schema(#[from] crate::schema::BadSchema),
}

impl PackError {
    /// What to do about it, where git does not say that itself.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::Git(error) => error.remedy(),
            Self::Disk(DiskError::Taken(_)) => "name another file or folder",
            Self::Disk(_) | Self::Archive(_) => {
                "name a place that can be written, with room enough"
            }
            Self::Missing(_) => "fetch it first: `git fetch --refetch --no-filter`",
            Self::TooLarge(..) => "take it out of git, and hand it over by itself",
            Self::LedAway(_) => "see where it leads: `ls -lR .git`; a clone of it has no such link",
            Self::Inside(_) => "name a place beside it, as in `../for-the-helper.bundle`",
            Self::Schema(_) => "this is a fault of the program",
        }
    }
}

/// How much of the history goes along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// The last commit alone.
    Last,
    /// All that led to it.
    All,
}

/// A build as it is handed over, before its first page is written.
pub struct Packed {
    /// What was left out.
    pub left_out: LeftOut,
    /// How many commits there are.
    pub commits: usize,
    /// How many commits say nothing of the build, and are not among them.
    pub dropped: usize,
    /// Whether the history is cut off in this clone.
    pub cut_off: bool,
}

/// What becomes of a content.
#[derive(Debug, Clone)]
enum Fate {
    /// It is handed over under this name of git's.
    As(String),
    /// It is left out.
    Out(Why),
}

/// A commit, and where it differs from the one that it is written upon.
struct Step {
    /// The parents that are handed over, by their numbers.
    upon: Vec<usize>,
    differs: Vec<Differs>,
    /// The commit that stands for this one, where it says nothing of the build.
    same_as: Option<Option<usize>>,
}

/// What was gone through so far.
struct Packing<'a> {
    repo: &'a Repo,
    private: &'a Private,
    import: Import,
    records: BTreeMap<(Kind, String), Fate>,
    others: BTreeMap<String, Fate>,
    /// What was taken out of a file of records, by pattern.
    taken: BTreeMap<(Kind, String), BTreeMap<String, usize>>,
    positions: BTreeSet<String>,
    pointers: BTreeSet<String>,
    /// The files that private fields name, now or ever.
    named: BTreeSet<String>,
    texts: Texts,
    secrets: Secrets,
}

/// So many files are gone through at once.
const AT_ONCE: usize = 8;

/// Writes what is handed over of a commit, and of what led to it, into a draft.
///
/// # Errors
/// When git can't read or write it.
pub fn rewrite(
    repo: &Repo,
    prefix: &str,
    tip: &Commit,
    depth: Depth,
    private: &Private,
    draft: &Draft,
) -> Result<Packed, PackError> {
    let commits = match depth {
        Depth::Last => vec![tip.clone()],
        Depth::All => repo.between(&[], &tip.id)?,
    };
    let trees: Vec<&str> = commits.iter().map(|commit| commit.tree.as_str()).collect();
    let places = repo.places(&trees, prefix)?;
    let mut progress = Progress::of(commits.len(), "commit");
    let steps = steps(repo, &commits, &places)?;

    let mut packing = Packing {
        repo,
        private,
        import: draft.import()?,
        records: BTreeMap::new(),
        others: BTreeMap::new(),
        taken: BTreeMap::new(),
        positions: BTreeSet::new(),
        pointers: BTreeSet::new(),
        named: BTreeSet::new(),
        texts: Texts::default(),
        secrets: Secrets::default(),
    };
    packing.strip_records(&steps)?;
    packing.secrets = packing.texts.secrets();
    packing.look_at_others(&steps)?;

    let mut left_out = LeftOut::default();
    let raw = repo.raw_commits(&commits)?;
    for (number, step) in steps.iter().enumerate() {
        progress.step();
        if step.same_as.is_some() {
            continue;
        }
        let written = Written::of(&raw[number]);
        let anew = written.put_out(&packing.secrets);
        // Of the last commit alone the message does not go along.
        left_out.messages += usize::from(depth == Depth::All && anew.is_some());
        let message = anew.as_deref().unwrap_or(written.message);
        // What stands in a message that was put out is UTF-8, whatever it was before.
        let encoding = written.encoding.filter(|_| anew.is_none());
        let changes = packing.changes(&step.differs);
        packing
            .import
            .commit(number, &written, encoding, message, &step.upon, &changes)?;
    }
    progress.end();
    let kept = steps.iter().filter(|step| step.same_as.is_none()).count();

    let tip_place = TreeAt {
        tree: tip.tree.clone(),
        prefix: prefix.to_owned(),
    };
    let held = repo.differs_with_hidden(None, Some(&tip_place))?;
    let told = packing.tell(&steps, &held, &mut left_out);
    let Packing {
        import, secrets, ..
    } = packing;
    let last = steps.last().and_then(|step| match step.same_as {
        None => Some(steps.len() - 1),
        Some(same_as) => same_as,
    });
    import.end(last)?;
    still_there(&draft.repo()?, told, &secrets, &mut left_out)?;
    Ok(Packed {
        left_out,
        commits: kept,
        dropped: steps.len() - kept,
        cut_off: depth == Depth::All && !repo.cut_off().is_empty(),
    })
}

/// Each commit with where it differs from its first parent that is handed over.
fn steps(repo: &Repo, commits: &[Commit], places: &[TreeAt]) -> Result<Vec<Step>, GitError> {
    let number_of: BTreeMap<&str, usize> = commits
        .iter()
        .enumerate()
        .map(|(number, commit)| (commit.id.as_str(), number))
        .collect();
    // Of a build at the top every commit is one of the build.
    let all_are = places.iter().all(|place| place.prefix.is_empty());
    let mut steps: Vec<Step> = Vec::with_capacity(commits.len());
    for (number, commit) in commits.iter().enumerate() {
        let mut upon: Vec<usize> = Vec::new();
        for parent in &commit.parents {
            // Where the history is cut off, the parent is named and not there.
            let Some(parent) = number_of.get(parent.as_str()).copied() else {
                continue;
            };
            let stands_for = match steps[parent].same_as {
                None => Some(parent),
                Some(same_as) => same_as,
            };
            if let Some(one) = stands_for
                && !upon.contains(&one)
            {
                upon.push(one);
            }
        }
        let base = upon.first().map(|base| &places[*base]);
        let differs = repo.differs_with_hidden(base, Some(&places[number]))?;
        let says_nothing = !all_are && differs.is_empty() && upon.len() < 2;
        steps.push(Step {
            same_as: says_nothing.then(|| upon.first().copied()),
            upon,
            differs,
        });
    }
    Ok(steps)
}

/// Contents that are wanted, by git's names for them, with the paths they stood at.
type WantedAt<K> = BTreeMap<K, BTreeSet<String>>;

/// A text in the pack: the path and git's name for it.
type Told = (String, String);

impl Packing<'_> {
    /// All entries that any commit brought in.
    fn entries(steps: &[Step]) -> impl Iterator<Item = (&str, &Entry)> {
        let all = steps.iter().flat_map(|step| &step.differs);
        all.filter_map(|one| Some((one.path.as_str(), one.is.as_ref()?)))
    }

    fn read(&self, wanted: &[(&str, &str)]) -> Result<Vec<Vec<u8>>, PackError> {
        let listed: Vec<Listed> = wanted
            .iter()
            .map(|(path, id)| Listed {
                path: (*path).to_owned(),
                mode: 0o100_644,
                id: (*id).to_owned(),
            })
            .collect();
        let contents = contents(self.repo, &listed)?;
        let contents = contents.into_iter().zip(wanted);
        contents
            .map(|(content, (path, _))| bytes_of(content, path))
            .collect()
    }

    /// Takes what is private out of every version of every file of records.
    fn strip_records(&mut self, steps: &[Step]) -> Result<(), PackError> {
        let mut wanted: WantedAt<(Kind, String)> = BTreeMap::new();
        for (path, entry) in Self::entries(steps) {
            if let Ok(Part::Records(kind)) = part(path, entry.mode) {
                let key = (kind, entry.id.clone());
                wanted.entry(key).or_default().insert(path.to_owned());
            }
        }
        if self.private.is_empty() {
            let all = wanted.into_keys();
            self.records
                .extend(all.map(|(kind, id)| ((kind, id.clone()), Fate::As(id))));
            return Ok(());
        }
        let format = self.repo.format();
        let wanted: Vec<((Kind, String), BTreeSet<String>)> = wanted.into_iter().collect();
        let mut progress = Progress::of(wanted.len(), "file");
        for some in wanted.chunks(AT_ONCE) {
            let asked = some.iter().map(|((_, id), paths)| {
                let path = paths.first().map_or("", String::as_str);
                (path, id.as_str())
            });
            let asked: Vec<(&str, &str)> = asked.collect();
            let bytes = self.read(&asked)?;
            let private = self.private;
            let done: Vec<_> = some
                .par_iter()
                .zip(bytes)
                .map(|(((kind, _), paths), bytes)| Outcome::of(*kind, paths, bytes, private))
                .collect();
            for (((kind, id), _), outcome) in some.iter().zip(done) {
                progress.step();
                self.texts.join(outcome.texts);
                self.named.extend(outcome.named);
                let key = (*kind, id.clone());
                let fate = match outcome.came {
                    Err(why) => Fate::Out(why),
                    Ok(None) => Fate::As(id.clone()),
                    Ok(Some(bytes)) => {
                        self.taken.insert(key.clone(), outcome.taken);
                        self.put(bytes, format)?
                    }
                };
                self.records.insert(key, fate);
            }
        }
        progress.end();
        Ok(())
    }

    /// Writes a content anew.
    fn put(&mut self, bytes: Vec<u8>, format: git2::ObjectFormat) -> Result<Fate, PackError> {
        self.import.blob(&bytes)?;
        match named(bytes, format) {
            Content::Blob(_, id) => Ok(Fate::As(id)),
            _ => Err(GitError::Refused("a content has no name".to_owned()).into()),
        }
    }

    /// Looks at all that is no file of records: positions go, and what a private field
    /// names or a private value stands in stays here.
    fn look_at_others(&mut self, steps: &[Step]) -> Result<(), PackError> {
        let mut wanted: WantedAt<String> = BTreeMap::new();
        for (path, entry) in Self::entries(steps) {
            if part(path, entry.mode) == Ok(Part::Other) {
                let paths = wanted.entry(entry.id.clone()).or_default();
                paths.insert(path.to_owned());
            }
        }
        let format = self.repo.format();
        let wanted: Vec<(String, BTreeSet<String>)> = wanted.into_iter().collect();
        for some in wanted.chunks(AT_ONCE) {
            let asked = some.iter().map(|(id, paths)| {
                let path = paths.first().map_or("", String::as_str);
                (path, id.as_str())
            });
            let bytes = self.read(&asked.collect::<Vec<_>>())?;
            let (named, secrets) = (&self.named, &self.secrets);
            let done: Vec<_> = some
                .par_iter()
                .zip(&bytes)
                .map(|((_, paths), bytes)| {
                    if !bytes.is_empty() && paths.iter().any(|path| named.contains(path)) {
                        return Err(Why::Named);
                    }
                    of_other(paths, bytes, secrets)
                })
                .collect();
            for (((id, paths), bytes), came) in some.iter().zip(&bytes).zip(done) {
                if pointer(bytes).is_some() {
                    self.pointers.extend(paths.iter().cloned());
                }
                let fate = match came {
                    Err(why) => Fate::Out(why),
                    Ok(None) => Fate::As(id.clone()),
                    Ok(Some(anew)) => {
                        self.positions.insert(id.clone());
                        self.put(anew, format)?
                    }
                };
                self.others.insert(id.clone(), fate);
            }
        }
        Ok(())
    }

    /// What becomes of a file.
    fn fate(&self, path: &str, entry: &Entry) -> Fate {
        let found = match part(path, entry.mode) {
            Err(why) => return Fate::Out(why),
            Ok(Part::Records(kind)) => self.records.get(&(kind, entry.id.clone())),
            Ok(Part::Other) => self.others.get(&entry.id),
        };
        // All that any commit holds was gone through.
        found.cloned().unwrap_or(Fate::Out(Why::Name))
    }

    /// The files of a commit that are written, and those that go.
    fn changes<'s>(&self, differs: &'s [Differs]) -> Vec<(&'s str, Option<(String, bool)>)> {
        let held = |path: &str, entry: Option<&Entry>| {
            let entry = entry?;
            match self.fate(path, entry) {
                Fate::As(id) => Some((id, entry.mode & 0o111 != 0)),
                Fate::Out(_) => None,
            }
        };
        let mut changes = Vec::new();
        for one in differs {
            let was = held(&one.path, one.was.as_ref());
            let is = held(&one.path, one.is.as_ref());
            if was != is {
                changes.push((one.path.as_str(), is));
            }
        }
        // A file that takes the place of a folder, and a folder that of a file.
        changes.sort_by_key(|(_, is)| is.is_some());
        changes
    }

    /// Tells what was left out; gives the files of records that are handed over, those of
    /// the last commit first and how many these are.
    fn tell(&self, steps: &[Step], held: &[Differs], left_out: &mut LeftOut) -> (Vec<Told>, usize) {
        let mut now: BTreeSet<(&str, &str)> = BTreeSet::new();
        let mut told = Vec::new();
        let mut seen: BTreeSet<String> = BTreeSet::new();
        for one in held {
            let Some(entry) = &one.is else { continue };
            let path = one.path.as_str();
            now.insert((path, entry.id.as_str()));
            let part = part(path, entry.mode);
            match self.fate(path, entry) {
                Fate::Out(why) => {
                    left_out.files.insert(path.to_owned(), why);
                }
                Fate::As(id) => {
                    if let Ok(Part::Records(kind)) = part {
                        let taken = self.taken.get(&(kind, entry.id.clone()));
                        for (pattern, count) in taken.into_iter().flatten() {
                            *left_out.values.entry(pattern.clone()).or_default() += count;
                        }
                        seen.insert(id.clone());
                        told.push((path.to_owned(), id));
                        continue;
                    }
                    if self.positions.contains(&entry.id) {
                        left_out.positions.insert(path.to_owned());
                    }
                    if self.pointers.contains(path) {
                        left_out.pointers.insert(path.to_owned());
                    }
                    if may_tell_where(path) {
                        left_out.unseen.insert(path.to_owned());
                    }
                }
            }
        }
        let of_now = told.len();
        let now_ids: BTreeSet<&str> = now.iter().map(|(_, id)| *id).collect();
        let mut older: BTreeSet<&str> = BTreeSet::new();
        let mut older_positions: BTreeSet<&str> = BTreeSet::new();
        for (path, entry) in Self::entries(steps) {
            if now.contains(&(path, entry.id.as_str())) {
                continue;
            }
            match (self.fate(path, entry), part(path, entry.mode)) {
                (Fate::Out(why), _) => {
                    if !left_out.files.contains_key(path) {
                        left_out.older_files.insert(path.to_owned(), why);
                    }
                }
                (Fate::As(id), Ok(Part::Records(kind))) => {
                    if self.taken.contains_key(&(kind, entry.id.clone())) {
                        older.insert(&entry.id);
                    }
                    if seen.insert(id.clone()) {
                        told.push((path.to_owned(), id));
                    }
                }
                (Fate::As(_), _) => {
                    let id = entry.id.as_str();
                    if self.positions.contains(id) && !now_ids.contains(id) {
                        older_positions.insert(id);
                    }
                }
            }
        }
        left_out.older = older.len();
        left_out.older_positions = older_positions.len();
        (told, of_now)
    }
}

/// Looks for private values in the files of records that are handed over.
fn still_there(
    pack: &Repo,
    (told, of_now): (Vec<Told>, usize),
    secrets: &Secrets,
    left_out: &mut LeftOut,
) -> Result<(), PackError> {
    for (number, some) in told.chunks(AT_ONCE).enumerate() {
        let listed: Vec<Listed> = some
            .iter()
            .map(|(path, id)| Listed {
                path: path.clone(),
                mode: 0o100_644,
                id: id.clone(),
            })
            .collect();
        let contents = contents(pack, &listed)?;
        let found: Vec<Vec<(usize, String)>> = contents
            .par_iter()
            .map(|content| match content {
                Content::Blob(bytes, _) | Content::Bytes(bytes) => {
                    lines_that_tell(&String::from_utf8_lossy(bytes), secrets)
                }
                _ => Vec::new(),
            })
            .collect();
        for (inner, ((path, _), lines)) in some.iter().zip(found).enumerate() {
            if number * AT_ONCE + inner < of_now {
                let lines = lines.into_iter();
                let still = lines.map(|(line, value)| (path.clone(), line, value));
                left_out.still.extend(still);
            } else {
                left_out.older_still += usize::from(!lines.is_empty());
            }
        }
    }
    Ok(())
}

/// What is in files. Of several, what goes beyond what is read at once is read by itself.
fn contents(repo: &Repo, files: &[Listed]) -> Result<Vec<Content>, GitError> {
    let mut contents = repo.blobs(files.iter())?;
    for (content, file) in contents.iter_mut().zip(files) {
        if matches!(content, Content::Refused(_))
            && let Some(alone) = repo.blobs(std::iter::once(file))?.pop()
        {
            *content = alone;
        }
    }
    Ok(contents)
}

fn bytes_of(content: Content, path: &str) -> Result<Vec<u8>, PackError> {
    match content {
        Content::Blob(bytes, _) | Content::Bytes(bytes) => Ok(bytes),
        Content::Refused(why) => Err(PackError::TooLarge(path.to_owned(), why)),
        _ => Err(PackError::Missing(path.to_owned())),
    }
}

/// What came of one version of a file of records.
struct Outcome {
    /// Its new bytes; none where it stays as it is.
    came: Result<Option<Vec<u8>>, Why>,
    taken: BTreeMap<String, usize>,
    texts: Texts,
    named: BTreeSet<String>,
}

impl Outcome {
    fn of(kind: Kind, paths: &BTreeSet<String>, bytes: Vec<u8>, private: &Private) -> Self {
        let mut outcome = Self {
            came: Ok(None),
            taken: BTreeMap::new(),
            texts: Texts::default(),
            named: BTreeSet::new(),
        };
        let path = paths.first().map_or("", String::as_str);
        let source = match Source::from_bytes(path.to_owned(), bytes.clone()) {
            Ok(source) => source,
            Err(_) => {
                outcome.came = Err(Why::Unsure("it is no text".to_owned()));
                return outcome;
            }
        };
        let reading = yaml::read(source);
        outcome.texts.add(kind, &reading, private);
        for way in private.ways(kind, &reading) {
            if let Some(node) = reading.tree.node(&way) {
                files_named(node, &reading.source, paths, &mut outcome.named);
            }
        }
        match strip(kind, &reading, private) {
            Err(error) => outcome.came = Err(Why::Unsure(error.why)),
            Ok(stripped) if stripped.taken.is_empty() => {}
            Ok(stripped) => {
                for one in stripped.taken {
                    *outcome.taken.entry(one.pattern).or_default() += 1;
                }
                // The mark at the beginning is no part of the text that was read.
                let mark: &[u8] = b"\xEF\xBB\xBF";
                let had = bytes.starts_with(mark) && !stripped.text.starts_with('\u{feff}');
                let mark = if had { mark } else { b"" };
                outcome.came = Ok(Some([mark, stripped.text.as_bytes()].concat()));
            }
        }
        outcome
    }
}

/// The files that the texts of a value may name, from the file they stand in or from the top.
fn files_named(
    node: &Node,
    source: &Source,
    paths: &BTreeSet<String>,
    named: &mut BTreeSet<String>,
) {
    match &node.kind {
        NodeKind::Scalar { .. } => {
            let text = node.text(source).unwrap_or_default();
            let tops = paths.iter().map(String::as_str).chain([""]);
            named.extend(tops.filter_map(|path| path_of(path, text)));
        }
        NodeKind::Seq(items) => {
            for item in items {
                files_named(item, source, paths, named);
            }
        }
        NodeKind::Map(entries) => {
            for entry in entries {
                files_named(&entry.value, source, paths, named);
            }
        }
    }
}

/// What becomes of a content that is no record: its new bytes, or none where it stays.
fn of_other(
    paths: &BTreeSet<String>,
    bytes: &[u8],
    secrets: &Secrets,
) -> Result<Option<Vec<u8>>, Why> {
    if pointer(bytes).is_some() {
        return Ok(None);
    }
    let text = std::str::from_utf8(bytes);
    let ours = paths
        .iter()
        .all(|path| path.starts_with(".matchmark/") || path == HANDED_OVER);
    if let (Ok(text), false) = (text, ours)
        && let Some((line, _)) = lines_that_tell(text, secrets).first()
    {
        return Err(Why::Tells(*line));
    }
    if bytes.len() as u64 > LARGEST {
        return Err(Why::Position(
            "it is too large to be looked into".to_owned(),
        ));
    }
    without_position(bytes).map_err(|error| Why::Position(error.why))
}

impl Repo {
    /// Commits as git keeps them.
    fn raw_commits(&self, commits: &[Commit]) -> Result<Vec<Vec<u8>>, GitError> {
        let library = self.library.as_ref().map(|library| {
            let objects = library.odb()?;
            let raw = commits.iter().map(|commit| {
                let id = git2::Oid::from_str(&commit.id)?;
                Ok(objects.read(id)?.data().to_vec())
            });
            raw.collect::<Result<Vec<_>, git2::Error>>()
        });
        if let Some(Ok(raw)) = library {
            return Ok(raw);
        }
        let ids: String = commits.iter().map(|one| format!("{}\n", one.id)).collect();
        let answer = self.ask(&["cat-file", "--batch"], Some(ids.as_bytes()))?;
        let mut rest = answer.as_slice();
        let raw = commits.iter().map(|commit| {
            let (content, after) = batch_entry(rest)?;
            rest = after;
            match content {
                Content::Blob(bytes, _) => Ok(bytes),
                _ => Err(GitError::NoCommit(commit.id.clone())),
            }
        });
        raw.collect()
    }

    /// The names of what was handed over before, as far as they begin so.
    ///
    /// # Errors
    /// When git can't tell.
    pub fn handed(&self, beginning: &str) -> Result<Vec<String>, GitError> {
        let answer = self.ask(&["for-each-ref", "--format=%(refname)", HANDED], None)?;
        let text = String::from_utf8_lossy(&answer);
        let names = text.lines().filter_map(|name| {
            let name = name.strip_prefix(HANDED)?.split('/').next()?;
            name.starts_with(beginning).then(|| name.to_owned())
        });
        let mut names: Vec<String> = names.collect();
        names.dedup();
        Ok(names)
    }

    /// Who commits here now, as git writes it, and the day by that clock.
    ///
    /// # Errors
    /// When git does not know who it is.
    pub fn whoever_commits(&self) -> Result<(String, Date), GitError> {
        let said = self.ask_line(&["var", "GIT_COMMITTER_IDENT"])?;
        let odd = || GitError::Refused(format!("`{said}` names nobody"));
        let (_, when) = said.rsplit_once("> ").ok_or_else(odd)?;
        let (seconds, zone) = when.split_once(' ').ok_or_else(odd)?;
        let zone: i32 = zone.parse().map_err(|_| odd())?;
        let offset = (zone / 100 * 60 + zone % 100) * 60;
        let at = jiff::Timestamp::from_second(seconds.parse().map_err(|_| odd())?);
        let zone = jiff::tz::Offset::from_seconds(offset).unwrap_or(jiff::tz::Offset::UTC);
        let day = zone.to_datetime(at.map_err(|_| odd())?).date();
        Ok((said, day))
    }
}
