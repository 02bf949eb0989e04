//! History: what differs between two trees, and how commits follow one another.
//!
//! What is the same in both trees is neither listed nor fetched: a folder that git calls by
//! the same name holds the same.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use git2::{
    Delta, DiffOptions, ErrorCode, IndexEntryExtendedFlag, ObjectType, Oid, Repository, Tree,
};

use rayon::prelude::*;

use super::git::{Commit, GitError, LINK, Listed, Repo, plain_file};
use super::states::named;
use crate::changes::records::{self, Beside, Files, Held, Readings, Seen};
use crate::changes::report::FileChange;
use crate::changes::trail::{Other, Past};
use crate::folder::{Content, RawFile, kind_of};
use crate::model::Kind;

/// What git holds of a build: a tree, and the folder in it that the build lies in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TreeAt {
    /// The tree's name.
    pub tree: String,
    /// The folder from the top, with a `/` at its end; empty at the top.
    pub prefix: String,
}

/// A file that is not the same in two trees.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Differs {
    /// From the build folder.
    pub path: String,
    /// What it was; none if it is new.
    pub was: Option<Entry>,
    /// What it is; none if it is gone.
    pub is: Option<Entry>,
}

/// What stands at a path in a tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Git's name for it.
    pub id: String,
    /// How git takes it: a file, a link, another repository.
    pub(super) mode: u32,
}

/// What differs between two states of a build in its files.
#[derive(Debug, Clone, Default)]
pub struct Differing {
    /// The files of records that differ, as they were.
    pub since: Files,
    /// The same as they are.
    pub until: Files,
    /// Other files that differ.
    pub others: Vec<FileChange>,
}

impl Differs {
    /// The kind of its records, if it holds any.
    #[must_use]
    pub fn kind(&self) -> Option<Kind> {
        kind_of(&self.path)
    }

    /// Git's names for what it was and is.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        let both = [&self.was, &self.is].into_iter().flatten();
        both.map(|entry| entry.id.as_str())
    }
}

impl Repo {
    /// What the index holds as a tree: what a commit made now would.
    ///
    /// # Errors
    /// When it can't be read, or a merge in it is not done.
    pub fn index_tree(&self) -> Result<String, GitError> {
        let library = self.library.as_ref().and_then(|library| {
            let mut index = library.index().ok()?;
            index.read(false).ok()?;
            // Git leaves out what is only meant to be added; the library does not.
            let meant = index.iter().any(|entry| {
                IndexEntryExtendedFlag::from_bits_truncate(entry.flags_extended).is_intent_to_add()
            });
            if meant || index.has_conflicts() {
                return None;
            }
            Some(index.write_tree().ok()?.to_string())
        });
        match library {
            Some(tree) => Ok(tree),
            None => self.ask_line(&["write-tree"]),
        }
    }

    /// The files that are not the same in two states of a build, by their paths; hidden
    /// ones are left alone. No state is an empty one.
    ///
    /// # Errors
    /// When git can't read a tree.
    pub fn differs(
        &self,
        since: Option<&TreeAt>,
        until: Option<&TreeAt>,
    ) -> Result<Vec<Differs>, GitError> {
        let mut differs = self.differs_with_hidden(since, until)?;
        let hidden = |path: &str| path.split('/').any(|part| part.starts_with('.'));
        differs.retain(|one| !hidden(&one.path));
        Ok(differs)
    }

    /// The same, with the hidden ones.
    pub(super) fn differs_with_hidden(
        &self,
        since: Option<&TreeAt>,
        until: Option<&TreeAt>,
    ) -> Result<Vec<Differs>, GitError> {
        let library = self.library.as_ref();
        for state in [since, until].into_iter().flatten() {
            if let (Some(_), Ok(tree)) = (library, Oid::from_str(&state.tree)) {
                self.weighed(tree)?;
            }
        }
        let found = match library.map(|library| library_differs(library, since, until)) {
            Some(Ok(found)) => found,
            _ => self.git_differs(since, until)?,
        };
        let differs = found.into_iter();
        let differs = differs.map(|(path, (was, is))| Differs { path, was, is });
        Ok(differs.collect())
    }

    /// The same of git itself.
    fn git_differs(
        &self,
        since: Option<&TreeAt>,
        until: Option<&TreeAt>,
    ) -> Result<Differences, GitError> {
        let empty = || {
            let name = self.ask(&["hash-object", "-t", "tree", "--stdin"], Some(b""))?;
            Ok(String::from_utf8_lossy(&name).trim().to_owned())
        };
        let tree = |state: Option<&TreeAt>| match state {
            None => empty(),
            Some(TreeAt { tree, prefix }) if prefix.is_empty() => Ok(tree.clone()),
            Some(TreeAt { tree, prefix }) => {
                // A folder that is not there holds nothing.
                let listed = ["ls-tree", "-d", "-z", "--full-tree", tree];
                let folder = prefix.trim_end_matches('/');
                let answer = self.ask(&[&listed[..], &["--", folder]].concat(), None)?;
                let answer = String::from_utf8_lossy(&answer).into_owned();
                let id = answer.split(['\t', ' ']).nth(2);
                id.map_or_else(empty, |id| Ok(id.to_owned()))
            }
        };
        let (since, until) = (tree(since)?, tree(until)?);
        let question = ["diff-tree", "-r", "-z", "--no-renames", "--no-abbrev"];
        let answer = self.ask(&[&question[..], &[&since, &until]].concat(), None)?;
        let mut fields = answer.split(|byte| *byte == 0);
        let mut found = Differences::new();
        while let (Some(about), Some(path)) = (fields.next(), fields.next()) {
            let about = String::from_utf8_lossy(about);
            let mut about = about.trim_start_matches(':').split(' ');
            let mut mode = || u32::from_str_radix(about.next().unwrap_or_default(), 8);
            let (Ok(was), Ok(is)) = (mode(), mode()) else {
                return Err(GitError::Refused("its answer is cut short".to_owned()));
            };
            let mut entry = |mode: u32| {
                let id = about.next().unwrap_or_default().to_owned();
                (mode != 0).then_some(Entry { id, mode })
            };
            let path = String::from_utf8_lossy(path).into_owned();
            found.insert(path, (entry(was), entry(is)));
        }
        Ok(found)
    }

    /// What the files of records among these hold on each side. What was read in this run
    /// is not read again.
    ///
    /// # Errors
    /// When git can't read one.
    pub fn read_differs(
        &self,
        differs: &[Differs],
        readings: &mut Readings,
    ) -> Result<Differing, GitError> {
        self.read_into(differs, readings)?;
        let mut differing = Differing::default();
        for one in differs {
            let Some(kind) = one.kind() else {
                let id = |entry: &Option<Entry>| entry.as_ref().map(|entry| entry.id.clone());
                differing.others.push(FileChange {
                    path: one.path.clone(),
                    was: id(&one.was),
                    is: id(&one.is),
                });
                continue;
            };
            for (entry, files) in [
                (&one.was, &mut differing.since),
                (&one.is, &mut differing.until),
            ] {
                let Some(entry) = entry else { continue };
                let held = match entry.is_file() {
                    true => readings.find(kind, &entry.id).unwrap_or_default(),
                    false => Held::read(&one.path, kind, Content::Link).into(),
                };
                files.insert(one.path.clone(), held);
            }
        }
        Ok(differing)
    }

    /// Reads what these files hold, on each side, if it was not read in this run.
    ///
    /// # Errors
    /// When git can't read one.
    pub fn read_into<'a>(
        &self,
        differs: impl IntoIterator<Item = &'a Differs>,
        readings: &mut Readings,
    ) -> Result<(), GitError> {
        let mut unread: BTreeMap<(Kind, &str), Listed> = BTreeMap::new();
        for one in differs {
            let Some(kind) = one.kind() else { continue };
            for entry in [&one.was, &one.is].into_iter().flatten() {
                if entry.is_file() && readings.find(kind, &entry.id).is_none() {
                    unread.entry((kind, &entry.id)).or_insert_with(|| Listed {
                        path: one.path.clone(),
                        mode: entry.mode,
                        id: entry.id.clone(),
                    });
                }
            }
        }
        let contents = self.blobs(unread.values())?;
        let unread = unread.into_iter().zip(contents);
        let raw = unread.map(|(((kind, _), file), content)| {
            let path = file.path;
            (kind, file.id, RawFile { path, content })
        });
        readings.read(raw.collect());
        Ok(())
    }

    /// The files of records that a build holds in a tree.
    ///
    /// # Errors
    /// When git can't read one.
    pub fn record_files(&self, at: &TreeAt) -> Result<Vec<RawFile>, GitError> {
        let mut files = self.differs(None, Some(at))?;
        files.retain(|one| one.kind().is_some() && one.is.as_ref().is_some_and(Entry::is_file));
        let listed = files.into_iter().filter_map(|one| {
            let Entry { id, mode } = one.is?;
            let path = one.path;
            Some(Listed { path, mode, id })
        });
        let listed: Vec<Listed> = listed.collect();
        let contents = self.blobs(listed.iter())?;
        let files = listed.into_iter().map(|file| file.path).zip(contents);
        Ok(files
            .map(|(path, content)| RawFile { path, content })
            .collect())
    }

    /// What differs between two states of a build, with what the files of records hold on
    /// each side. No state is an empty one.
    ///
    /// # Errors
    /// When git can't read a tree or a file.
    pub fn differing(
        &self,
        since: Option<&TreeAt>,
        until: Option<&TreeAt>,
        readings: &mut Readings,
    ) -> Result<Differing, GitError> {
        self.read_differs(&self.differs(since, until)?, readings)
    }

    /// A commit and its first parents, newest first, one after another as they are asked
    /// for.
    #[must_use]
    pub fn main_line(&self, from: &Commit) -> MainLine<'_> {
        MainLine {
            repo: self,
            next: Some(from.clone()),
            listed: None,
        }
    }

    /// What stands at paths in trees, in the order asked: each time a tree, and a path from
    /// its top.
    ///
    /// # Errors
    /// When git can't read a tree.
    pub fn entries(&self, asked: &[(&str, &str)]) -> Result<Vec<Option<Entry>>, GitError> {
        let library = self.library.as_ref();
        if let Some(Ok(found)) = library.map(|library| library_entries(library, asked)) {
            return Ok(found);
        }
        let lines = asked.iter().map(|(tree, path)| {
            // Of a name with a line break git can't be asked in lines.
            let path = if path.contains('\n') { "" } else { path };
            format!("{tree}:{path}\n")
        });
        let input: String = lines.collect();
        let question = ["cat-file", "--batch-check=%(objectname) %(objecttype)"];
        let answer = self.ask(&question, Some(input.as_bytes()))?;
        let answer = String::from_utf8_lossy(&answer);
        let entries = answer.lines().map(|line| {
            let id = line.strip_suffix(" blob")?.to_owned();
            Some(Entry { id, mode: FILE })
        });
        let mut entries: Vec<Option<Entry>> = entries.collect();
        entries.resize(asked.len(), None);
        Ok(entries)
    }

    /// Where the build that lies in this folder now lies in each of these trees. Where
    /// nothing of it is there and one other build is, which is not there now, the folder
    /// was moved.
    ///
    /// # Errors
    /// When git can't read a tree.
    pub fn places(&self, trees: &[&str], prefix: &str) -> Result<Vec<TreeAt>, GitError> {
        let build = format!("{prefix}build.yaml");
        let asked: Vec<(&str, &str)> = trees.iter().map(|tree| (*tree, &*build)).collect();
        let now = self.head().map(|head| head.tree);
        let mut others: Vec<String> = Vec::new();
        let mut builds = BTreeMap::new();
        let mut places = Vec::with_capacity(trees.len());
        for (tree, found) in trees.iter().zip(self.entries(&asked)?) {
            let mut place = prefix.to_owned();
            if found.is_none() {
                let asked: Vec<_> = others.iter().map(|one| (*tree, one.as_str())).collect();
                let known = self.entries(&asked)?.iter().position(Option::is_some);
                let other = match known {
                    Some(known) => Some(others[known].clone()),
                    None => self.moved_from(tree, prefix, &mut builds)?,
                };
                let is_now = |other: &String| {
                    let now = now.as_deref().map(|now| self.entries(&[(now, other)]));
                    now.is_some_and(|now| now.is_ok_and(|now| now[0].is_some()))
                };
                if let Some(other) = other.filter(|other| !is_now(other)) {
                    other.trim_end_matches("build.yaml").clone_into(&mut place);
                    if known.is_none() {
                        others.push(other);
                    }
                }
            }
            places.push(TreeAt {
                tree: (*tree).to_owned(),
                prefix: place,
            });
        }
        Ok(places)
    }

    /// The `build.yaml` of the one build in a tree that has nothing in this folder.
    fn moved_from(
        &self,
        tree: &str,
        prefix: &str,
        known: &mut BTreeMap<Oid, Vec<String>>,
    ) -> Result<Option<String>, GitError> {
        let at = |prefix: String| TreeAt {
            tree: tree.to_owned(),
            prefix,
        };
        if let (Some(_), Ok(tree)) = (&self.library, Oid::from_str(tree)) {
            self.weighed(tree)?;
        }
        let library = self.library.as_ref().and_then(|library| {
            let tree = Oid::from_str(tree).ok()?;
            library_builds(library, tree, known).ok()
        });
        let builds = match library {
            Some(builds) => builds,
            None => {
                let whole = self.differs(None, Some(&at(String::new())))?;
                let paths = whole.into_iter().map(|one| one.path);
                let is_build = |path: &String| path == BUILD || path.ends_with("/build.yaml");
                paths.filter(is_build).collect()
            }
        };
        let [only] = builds.as_slice() else {
            return Ok(None);
        };
        // Records count even without a `build.yaml`.
        let own = self.differs(None, Some(&at(prefix.to_owned())))?;
        let is_here = own.iter().any(|one| one.kind().is_some());
        Ok((!is_here).then(|| only.clone()))
    }

    /// The commits whose parents a shallow clone left behind: there the history is cut off,
    /// and has not begun.
    #[must_use]
    pub fn cut_off(&self) -> BTreeSet<String> {
        let folder = self.common_folder();
        let listed = folder.and_then(|folder| plain_file(&folder.join("shallow")));
        let listed = String::from_utf8_lossy(&listed.unwrap_or_default()).into_owned();
        listed.lines().map(str::to_owned).collect()
    }
}

impl Entry {
    fn is_file(&self) -> bool {
        // A repository in the build is as little looked into as what a link leads to.
        self.mode & LINK == FILE & LINK
    }
}

/// What stands for git's name where a link, another repository or what can't be read takes
/// the place of a file.
const NO_FILE: &str = "no file";

/// The file that makes a folder a build.
const BUILD: &str = "build.yaml";

/// How git takes a plain file.
const FILE: u32 = 0o100_644;

/// By path, what was and what is.
type Differences = BTreeMap<String, (Option<Entry>, Option<Entry>)>;

fn library_differs(
    library: &Repository,
    since: Option<&TreeAt>,
    until: Option<&TreeAt>,
) -> Result<Differences, git2::Error> {
    let tree = |state: Option<&TreeAt>| -> Result<Option<Tree<'_>>, git2::Error> {
        let Some(TreeAt { tree, prefix }) = state else {
            return Ok(None);
        };
        let top = library.find_tree(Oid::from_str(tree)?)?;
        if prefix.is_empty() {
            return Ok(Some(top));
        }
        match top.get_path(Path::new(prefix.trim_end_matches('/'))) {
            Ok(folder) => Ok(folder.to_object(library)?.into_tree().ok()),
            Err(error) if error.code() == ErrorCode::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    };
    let (since, until) = (tree(since)?, tree(until)?);
    let mut options = DiffOptions::new();
    options.skip_binary_check(true);
    let diff = library.diff_tree_to_tree(since.as_ref(), until.as_ref(), Some(&mut options))?;
    let mut found = Differences::new();
    for delta in diff.deltas() {
        let entry = |file: git2::DiffFile<'_>| Entry {
            id: file.id().to_string(),
            mode: file.mode().into(),
        };
        let (old, new) = (delta.old_file(), delta.new_file());
        let path = new.path_bytes().or(old.path_bytes()).unwrap_or_default();
        let path = String::from_utf8_lossy(path).into_owned();
        // A file that became a link is told as two.
        let (was, is) = found.entry(path).or_default();
        if delta.status() != Delta::Added {
            *was = Some(entry(old));
        }
        if delta.status() != Delta::Deleted {
            *is = Some(entry(new));
        }
    }
    Ok(found)
}

/// The paths of the `build.yaml` below a folder, hidden folders apart. A folder that is
/// `known` is not looked into again: most of a commit's are those of the one before it.
fn library_builds(
    library: &Repository,
    folder: Oid,
    known: &mut BTreeMap<Oid, Vec<String>>,
) -> Result<Vec<String>, git2::Error> {
    if let Some(found) = known.get(&folder) {
        return Ok(found.clone());
    }
    let mut found = Vec::new();
    for entry in &library.find_tree(folder)? {
        let name = String::from_utf8_lossy(entry.name_bytes()).into_owned();
        if entry.kind() != Some(ObjectType::Tree) {
            found.extend((name == BUILD).then_some(name));
        } else if !name.starts_with('.') {
            let inner = library_builds(library, entry.id(), known)?;
            found.extend(inner.iter().map(|inner| format!("{name}/{inner}")));
        }
    }
    known.insert(folder, found.clone());
    Ok(found)
}

fn library_entries(
    library: &Repository,
    asked: &[(&str, &str)],
) -> Result<Vec<Option<Entry>>, git2::Error> {
    // Most folders of a commit are those of the one before it.
    let mut known: BTreeMap<(Oid, &str), Option<(Oid, u32)>> = BTreeMap::new();
    let mut entries = Vec::with_capacity(asked.len());
    for (tree, path) in asked {
        let mut at = Some((Oid::from_str(tree)?, 0));
        for step in path.split('/') {
            let Some((folder, _)) = at else { break };
            at = match known.get(&(folder, step)) {
                Some(found) => *found,
                None => {
                    let found = match library.find_tree(folder) {
                        Ok(tree) => tree.get_name(step).map(|entry| {
                            let mode = u32::try_from(entry.filemode()).unwrap_or_default();
                            (entry.id(), mode)
                        }),
                        // A file stands where the path has a folder.
                        Err(error) if error.code() == ErrorCode::NotFound => None,
                        Err(error) => return Err(error),
                    };
                    known.insert((folder, step), found);
                    found
                }
            };
        }
        let entry = at.map(|(id, mode)| Entry {
            id: id.to_string(),
            mode,
        });
        entries.push(entry.filter(|entry| entry.mode & 0o170_000 != 0o040_000));
    }
    Ok(entries)
}

/// Commits, each the first parent of the one before it.
pub struct MainLine<'r> {
    repo: &'r Repo,
    next: Option<Commit>,
    /// What git itself told of the commits that come, the next one last; it is asked once.
    listed: Option<Vec<Commit>>,
}

impl Iterator for MainLine<'_> {
    type Item = Result<Commit, GitError>;

    fn next(&mut self) -> Option<Self::Item> {
        let commit = self.next.take()?;
        if self.repo.library.is_some() {
            match commit.parents.first().map(|id| self.repo.commit(id)) {
                Some(Ok(parent)) => self.next = Some(parent),
                // Where the history is cut off, the parent is named and not there.
                Some(Err(GitError::NoCommit(_))) | None => {}
                Some(Err(error)) => return Some(Err(error)),
            }
            return Some(Ok(commit));
        }
        if self.listed.is_none() {
            match self.repo.log(&["--first-parent", &commit.id]) {
                Ok(mut all) => {
                    all.reverse();
                    all.pop();
                    self.listed = Some(all);
                }
                Err(error) => return Some(Err(error)),
            }
        }
        self.next = self.listed.as_mut().and_then(Vec::pop);
        Some(Ok(commit))
    }
}

/// A history as a trail walks it: commits by their numbers, and after them the working
/// folder, if there is one.
pub struct Walked<'r> {
    repo: &'r Repo,
    /// Where the build lies in each commit.
    places: Vec<TreeAt>,
    /// The files of records in the working folder.
    folder: BTreeMap<String, Content>,
    /// Git's name for what stands at a path in each commit.
    entries: BTreeMap<String, Vec<Option<String>>>,
    /// What was seen of records.
    seen: BTreeMap<(Kind, String, String), Seen>,
    readings: Readings,
}

/// So many contents are read ahead: those that stand at the same path in older commits.
const AHEAD: usize = 64;

impl<'r> Walked<'r> {
    /// The history of these commits, and the files of the working folder.
    ///
    /// # Errors
    /// When git can't read a tree.
    pub fn of(
        repo: &'r Repo,
        commits: &[Commit],
        prefix: &str,
        folder: Vec<RawFile>,
    ) -> Result<Self, GitError> {
        let trees: Vec<&str> = commits.iter().map(|commit| commit.tree.as_str()).collect();
        let format = repo.format();
        let records = folder
            .into_par_iter()
            .filter(|file| kind_of(&file.path).is_some());
        let named = records.map(|file| {
            let content = match file.content {
                Content::Bytes(bytes) => named(bytes, format),
                other => other,
            };
            (file.path, content)
        });
        let folder: Vec<(String, Content)> = named.collect();
        Ok(Self {
            repo,
            places: repo.places(&trees, prefix)?,
            folder: folder.into_iter().collect(),
            entries: BTreeMap::new(),
            seen: BTreeMap::new(),
            readings: Readings::default(),
        })
    }

    /// The files of the working folder whose content is not that of a commit, and what
    /// that has in their place.
    fn folder_differs(&self, since: usize) -> Result<Vec<Differs>, GitError> {
        let held = self.repo.differs(None, Some(&self.places[since]))?;
        let held = held.into_iter().filter(|one| one.kind().is_some());
        let mut all: BTreeMap<String, Differs> = held
            .map(|one| {
                let was = Differs {
                    path: one.path.clone(),
                    was: one.is,
                    is: None,
                };
                (one.path, was)
            })
            .collect();
        for (path, content) in &self.folder {
            let one = all.entry(path.clone()).or_insert_with(|| Differs {
                path: path.clone(),
                was: None,
                is: None,
            });
            one.is = blob_of(content).map(|id| Entry {
                id: id.to_owned(),
                mode: FILE,
            });
        }
        let id = |entry: &Option<Entry>| entry.as_ref().map(|entry| entry.id.clone());
        let mut all: Vec<Differs> = all.into_values().collect();
        all.retain(|one| id(&one.was) != id(&one.is));
        Ok(all)
    }

    /// Reads a content, and ahead of it what stood at the same path before.
    fn look(&mut self, path: &str, blob: &str, kind: Kind, id: &str) -> Result<(), GitError> {
        let in_folder = self
            .folder
            .get(path)
            .filter(|content| blob_of(content) == Some(blob));
        let mut contents = Vec::new();
        if let Some(content) = in_folder {
            contents.push((blob.to_owned(), content.clone()));
        } else {
            let mut wanted = vec![blob.to_owned()];
            let entries = self.entries.get(path).map_or(&[][..], Vec::as_slice);
            let older = entries.iter().rev().flatten();
            let older = older.filter(|one| *one != NO_FILE);
            let older = older.skip_while(|one| *one != blob).skip(1);
            for one in older {
                let key = (kind, one.clone(), id.to_owned());
                if wanted.len() == AHEAD {
                    break;
                }
                if wanted.last() != Some(one) && !self.seen.contains_key(&key) {
                    wanted.push(one.clone());
                }
            }
            wanted.dedup();
            let files: Vec<Listed> = wanted
                .into_iter()
                .map(|id| Listed {
                    path: path.to_owned(),
                    mode: FILE,
                    id,
                })
                .collect();
            let read = self.repo.blobs(files.iter())?;
            contents.extend(files.into_iter().map(|file| file.id).zip(read));
        }
        let seen = contents.into_par_iter().map(|(blob, content)| {
            let seen = records::one(path, kind, content, id);
            ((kind, blob, id.to_owned()), seen)
        });
        self.seen.extend(seen.collect::<Vec<_>>());
        Ok(())
    }
}

fn blob_of(content: &Content) -> Option<&str> {
    match content {
        Content::Blob(_, name) | Content::Kept(_, name) => Some(name),
        _ => None,
    }
}

impl Past for Walked<'_> {
    type Error = GitError;

    fn at(&mut self, commit: usize, path: &str) -> Result<Option<String>, GitError> {
        if commit == self.places.len() {
            let content = self.folder.get(path);
            return Ok(content.map(|content| blob_of(content).unwrap_or(NO_FILE).to_owned()));
        }
        if !self.entries.contains_key(path) {
            let places = self.places.iter();
            let paths: Vec<String> = places.map(|at| format!("{}{path}", at.prefix)).collect();
            let asked = self.places.iter().zip(&paths);
            let asked: Vec<_> = asked.map(|(at, path)| (&*at.tree, &**path)).collect();
            let found = self.repo.entries(&asked)?.into_iter();
            let name = |entry: Entry| match entry.is_file() {
                true => entry.id,
                false => NO_FILE.to_owned(),
            };
            let found = found.map(|entry| entry.map(name));
            self.entries.insert(path.to_owned(), found.collect());
        }
        let entries = self.entries.get(path).and_then(|all| all.get(commit));
        Ok(entries.cloned().flatten())
    }

    fn seen(&mut self, path: &str, blob: &str, kind: Kind, id: &str) -> Result<Seen, GitError> {
        if blob == NO_FILE {
            return Ok(Seen::Torn);
        }
        let key = (kind, blob.to_owned(), id.to_owned());
        if !self.seen.contains_key(&key) {
            self.look(path, blob, kind, id)?;
        }
        Ok(self.seen.get(&key).cloned().unwrap_or_default())
    }

    fn others(&mut self, since: usize, until: usize) -> Result<Vec<Other>, GitError> {
        let differs = if until == self.places.len() {
            self.folder_differs(since)?
        } else {
            let (since, until) = (&self.places[since], &self.places[until]);
            self.repo.differs(Some(since), Some(until))?
        };
        let others = differs.into_iter().filter_map(|one| {
            Some(Other {
                kind: one.kind()?,
                was: one.was.filter(Entry::is_file).map(|entry| entry.id),
                path: one.path,
            })
        });
        Ok(others.collect())
    }

    fn beside(&mut self, since: usize, until: usize) -> Result<Beside, GitError> {
        if until != self.places.len() {
            let (since, until) = (&self.places[since], &self.places[until]);
            let both = self
                .repo
                .differing(Some(since), Some(until), &mut self.readings)?;
            return Ok(records::beside(&both.since, &both.until));
        }
        let mut differs = self.folder_differs(since)?;
        let is = differs.iter().filter_map(|one| {
            let content = self.folder.get(&one.path)?.clone();
            let path = one.path.clone();
            Some(RawFile { path, content })
        });
        let is = records::read(is.collect());
        for one in &mut differs {
            one.is = None;
        }
        let was = self.repo.read_differs(&differs, &mut self.readings)?;
        Ok(records::beside(&was.since, &is))
    }
}
