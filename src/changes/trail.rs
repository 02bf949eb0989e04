//! One record's life: what was changed in it, commit by commit, across renamings, moves
//! between files and merges.
//!
//! The commits are walked from the newest back. Of each it is known in which file and
//! under which id the record stands, if it stands there; only where that file is another
//! one in a parent is anything read. A merge is told for what it holds and none of its
//! parents did: what was made on either side is told where it was made.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use serde_json::{Map, Value};

use super::commit::Commit;
use super::diff::{self, Changed, Diff};
use super::records::{Beside, Seen};
use super::{Name, RecordChange, compare};
use crate::model::Kind;

/// The maps in a record whose entries have names of their own.
const NAMED: &[&str] = &[
    "pieces", "places", "joints", "wires", "options", "fuses", "idle", "tools", "wrenches",
    "spots", "sources",
];
/// The map in such an entry.
const INNER: &str = "holes";

/// A record, or something with a name of its own in it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Subject {
    /// The record's id.
    pub id: String,
    /// The names that lead to something in it; none for the whole record.
    pub inner: Vec<String>,
}

/// A subject, and the file that it stands in, if it is there at all.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// The file, from the build folder.
    pub path: String,
    /// The subject.
    pub subject: Subject,
}

/// A file of records that is not the same in two commits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Other {
    /// The file, from the build folder.
    pub path: String,
    /// The kind of its records.
    pub kind: Kind,
    /// Git's name for what it was; none if it is new.
    pub was: Option<String>,
}

/// What a trail asks of a history, whose commits go by their numbers.
pub trait Past {
    /// Why it could not answer.
    type Error;

    /// A name for what stands at a path in a commit: git's, if it is a file that can be read.
    ///
    /// # Errors
    /// When it can't be told.
    fn at(&mut self, commit: usize, path: &str) -> Result<Option<String>, Self::Error>;

    /// What is to be seen of a record in a content, that of the file at this path.
    ///
    /// # Errors
    /// When the content can't be read.
    fn seen(&mut self, path: &str, blob: &str, kind: Kind, id: &str) -> Result<Seen, Self::Error>;

    /// The files of records that are not the same in two commits.
    ///
    /// # Errors
    /// When that can't be told.
    fn others(&mut self, since: usize, until: usize) -> Result<Vec<Other>, Self::Error>;

    /// All records that are not the same in two commits.
    ///
    /// # Errors
    /// When a file can't be read.
    fn beside(&mut self, since: usize, until: usize) -> Result<Beside, Self::Error>;
}

/// Something that became of the record in a commit.
#[derive(Debug, Clone, PartialEq)]
pub struct Event {
    /// The number of the commit.
    pub commit: usize,
    /// What changed; none if it only went to another file.
    pub change: Option<RecordChange>,
    /// From which file to which it went, if it did.
    pub moved: Option<(String, String)>,
}

/// A trail.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Trail {
    /// What became of the record, oldest first.
    pub events: Vec<Event>,
    /// Whether it was there where the history is cut off.
    pub cut_off: bool,
    /// The commits in which its file can't be read, by their numbers.
    pub torn: BTreeSet<usize>,
}

/// Follows a record back from where it was last. `order` is the numbers of the commits,
/// oldest first; `cut_off` says which have parents that nobody knows here.
///
/// # Errors
/// When the history does not answer.
pub fn trail<P: Past>(
    commits: &[Commit],
    order: &[usize],
    cut_off: &BTreeSet<String>,
    (kind, from, spot): (Kind, usize, Spot),
    past: &mut P,
) -> Result<Trail, P::Error> {
    let numbers: BTreeMap<&str, usize> = commits
        .iter()
        .enumerate()
        .map(|(number, commit)| (commit.id.as_str(), number))
        .collect();
    let mut walk = Walk {
        kind,
        past,
        numbers: &numbers,
        commits,
        trail: Trail::default(),
    };
    let mut open: BTreeMap<usize, BTreeSet<Spot>> = BTreeMap::new();
    open.entry(from).or_default().insert(spot);
    for commit in order.iter().rev() {
        let parents = commits[*commit].parents.iter();
        let parents: Vec<usize> = parents
            .filter_map(|id| numbers.get(id.as_str()).copied())
            .collect();
        for spot in open.remove(commit).unwrap_or_default() {
            if parents.is_empty() {
                walk.end(*commit, &spot, cut_off.contains(&commits[*commit].id))?;
                continue;
            }
            let before = walk.step(*commit, &spot, &parents)?;
            for (parent, spot) in parents.iter().zip(before) {
                open.entry(*parent).or_default().insert(spot);
            }
        }
        if open.is_empty() {
            break;
        }
    }
    let mut trail = walk.trail;
    trail.events.reverse();
    trail.events.dedup();
    Ok(trail)
}

/// Where a record of one of these kinds was before it went, the newest such commit first:
/// the kind, and the file.
///
/// # Errors
/// When the history does not answer.
pub fn last_seen<P: Past>(
    commits: &[Commit],
    order: &[usize],
    (kinds, id): (&[Kind], &str),
    past: &mut P,
) -> Result<Option<(Kind, String)>, P::Error> {
    let numbers: BTreeMap<&str, usize> = commits
        .iter()
        .enumerate()
        .map(|(number, commit)| (commit.id.as_str(), number))
        .collect();
    for commit in order.iter().rev() {
        for parent in &commits[*commit].parents {
            let Some(parent) = numbers.get(parent.as_str()) else {
                continue;
            };
            for other in past.others(*parent, *commit)? {
                if let Some(was) = &other.was
                    && kinds.contains(&other.kind)
                    && past
                        .seen(&other.path, was, other.kind, id)?
                        .value()
                        .is_some()
                {
                    return Ok(Some((other.kind, other.path)));
                }
            }
        }
    }
    Ok(None)
}

struct Walk<'p, P> {
    kind: Kind,
    past: &'p mut P,
    commits: &'p [Commit],
    numbers: &'p BTreeMap<&'p str, usize>,
    trail: Trail,
}

/// What a record was in a parent.
struct Before {
    spot: Spot,
    seen: Seen,
}

impl<P: Past> Walk<'_, P> {
    fn name(&self, id: &str) -> Name {
        Name {
            kind: self.kind,
            id: id.to_owned(),
        }
    }

    fn seen(&mut self, commit: usize, spot: &Spot) -> Result<Seen, P::Error> {
        match self.past.at(commit, &spot.path)? {
            Some(blob) => self
                .past
                .seen(&spot.path, &blob, self.kind, &spot.subject.id),
            None => Ok(Seen::NotThere),
        }
    }

    /// The first commit, or the last that is known.
    fn end(&mut self, commit: usize, spot: &Spot, cut_off: bool) -> Result<(), P::Error> {
        let seen = self.seen(commit, spot)?;
        if cut_off {
            self.trail.cut_off |= seen != Seen::NotThere;
            return Ok(());
        }
        if let Some(value) = seen.value() {
            let name = self.name(&spot.subject.id);
            self.tell(
                commit,
                (name, None),
                (None, &[]),
                (Some(value), &spot.subject.inner),
                None,
            );
        }
        Ok(())
    }

    /// Tells what became of the record in a commit, and where it is in each parent.
    fn step(
        &mut self,
        commit: usize,
        spot: &Spot,
        parents: &[usize],
    ) -> Result<Vec<Spot>, P::Error> {
        let blob = self.past.at(commit, &spot.path)?;
        let here = self.seen(commit, spot)?;
        if here == Seen::Torn {
            self.trail.torn.insert(commit);
        }
        let mut before = Vec::with_capacity(parents.len());
        for parent in parents {
            let was = self.past.at(*parent, &spot.path)?;
            let same = was == blob;
            let seen = if same {
                here.clone()
            } else {
                self.seen(*parent, spot)?
            };
            before.push(match seen {
                Seen::NotThere => None,
                seen => Some(Before {
                    spot: spot.clone(),
                    seen,
                }),
            });
        }
        // In a merge one parent has it as a rule, and then it came from there.
        let came = |one: &Option<Before>| one.as_ref().is_some_and(|one| one.seen == here);
        let known = before.iter().any(came);
        let mut followed = Vec::with_capacity(parents.len());
        for (parent, one) in parents.iter().zip(before) {
            let one = match one {
                Some(one) => one,
                None => self.elsewhere(*parent, commit, spot, &here, !known)?,
            };
            followed.push(one);
        }
        for (parent, one) in parents.iter().zip(&mut followed) {
            if let (Some(was), Some(is)) = (one.seen.value(), here.value()) {
                one.spot.subject.inner = across(was, is, &spot.subject.inner, true);
            }
            // What can't be read is as it was before.
            if one.seen == Seen::Torn {
                self.trail.torn.insert(*parent);
            }
        }
        if here != Seen::Torn {
            self.compare(commit, spot, &here, &followed, parents)?;
        }
        Ok(followed.into_iter().map(|one| one.spot).collect())
    }

    /// Where a record is in a parent that does not have it in the same file: in another
    /// one, under another id, or not at all.
    fn elsewhere(
        &mut self,
        parent: usize,
        commit: usize,
        spot: &Spot,
        here: &Seen,
        by_likeness: bool,
    ) -> Result<Before, P::Error> {
        let id = &spot.subject.id;
        for other in self.past.others(parent, commit)? {
            let Some(was) = other.was.filter(|_| other.kind == self.kind) else {
                continue;
            };
            let seen = self.past.seen(&other.path, &was, self.kind, id)?;
            if seen.value().is_some() {
                return Ok(Before {
                    spot: Spot {
                        path: other.path,
                        subject: spot.subject.clone(),
                    },
                    seen,
                });
            }
        }
        if here.value().is_some() && by_likeness {
            let both = self.past.beside(parent, commit)?;
            let name = self.name(id);
            let changes = compare(&both.since, &both.until);
            let change = changes.into_iter().find(|change| change.name == name);
            if let Some((was, value)) = change.and_then(|one| one.was_id.zip(one.before)) {
                let was_name = self.name(&was);
                let path = both.since_files.get(&was_name).unwrap_or(&spot.path);
                return Ok(Before {
                    spot: Spot {
                        path: path.clone(),
                        subject: Subject {
                            id: was,
                            inner: spot.subject.inner.clone(),
                        },
                    },
                    seen: Seen::There(Arc::new(value)),
                });
            }
        }
        Ok(Before {
            spot: spot.clone(),
            seen: Seen::NotThere,
        })
    }

    fn compare(
        &mut self,
        commit: usize,
        spot: &Spot,
        here: &Seen,
        before: &[Before],
        parents: &[usize],
    ) -> Result<(), P::Error> {
        let mut values = Vec::with_capacity(before.len());
        for (one, parent) in before.iter().zip(parents) {
            let seen = match one.seen {
                Seen::Torn => self.last_whole(*parent, &one.spot)?,
                _ => one.seen.clone(),
            };
            values.push(seen);
        }
        if values.contains(&Seen::Torn) {
            return Ok(());
        }
        let is = here.value();
        let was: Vec<Option<&Value>> = values.iter().map(Seen::value).collect();
        let Some(first) = before.first() else {
            return Ok(());
        };
        let id = &spot.subject.id;
        // With a parent that has it under this id, it was renamed on that side.
        let renamed = before
            .iter()
            .zip(&was)
            .all(|(one, was)| was.is_none() || one.spot.subject.id != *id);
        let mut other = before.iter().filter(|one| one.spot.subject.id != *id);
        let was_id = other
            .next()
            .filter(|_| renamed)
            .map(|one| one.spot.subject.id.clone());
        let moved = before
            .iter()
            .zip(&was)
            .all(|(one, was)| was.is_some() && one.spot.path != spot.path);
        let moved = (moved && is.is_some()).then(|| (first.spot.path.clone(), spot.path.clone()));
        let same = was.contains(&is);
        if is.is_none() && !same {
            // Gone from here, and perhaps there under another id.
            if let [parent] = parents
                && let Some(change) = self.renamed_to(*parent, commit, id)?
            {
                self.trail.events.push(Event {
                    commit,
                    change: Some(change),
                    moved: None,
                });
                return Ok(());
            }
        }
        if same && was_id.is_none() {
            let is_there = is.is_some_and(|is| leads_to(is, &spot.subject.inner));
            if moved.is_some() && is_there {
                self.trail.events.push(Event {
                    commit,
                    change: None,
                    moved,
                });
            }
            return Ok(());
        }
        let base = settled(&was, is);
        let inner = &spot.subject.inner;
        // A merge may have what one side marked otherwise, and the first side did not.
        let was_inner = match (parents, &base) {
            ([_, _, ..], Some(base)) if leads_to(base, inner) => inner,
            _ => &first.spot.subject.inner,
        };
        self.tell(
            commit,
            (self.name(id), was_id),
            (base.as_ref(), was_inner),
            (is, inner),
            moved,
        );
        Ok(())
    }

    /// What the record last was in a commit or before it where its file could be read.
    fn last_whole(&mut self, commit: usize, spot: &Spot) -> Result<Seen, P::Error> {
        let mut at = commit;
        loop {
            let seen = self.seen(at, spot)?;
            let parent = self.commits[at].parents.first();
            match parent.and_then(|id| self.numbers.get(id.as_str())) {
                Some(parent) if seen == Seen::Torn => at = *parent,
                _ => return Ok(seen),
            }
        }
    }

    /// What a record that went from a commit became there, if it got another id.
    fn renamed_to(
        &mut self,
        parent: usize,
        commit: usize,
        id: &str,
    ) -> Result<Option<RecordChange>, P::Error> {
        let both = self.past.beside(parent, commit)?;
        let mut changes = compare(&both.since, &both.until).into_iter();
        Ok(changes
            .find(|change| change.name.kind == self.kind && change.was_id.as_deref() == Some(id)))
    }

    fn tell(
        &mut self,
        commit: usize,
        (name, was_id): (Name, Option<String>),
        (was, was_inner): (Option<&Value>, &[String]),
        (is, inner): (Option<&Value>, &[String]),
        moved: Option<(String, String)>,
    ) {
        let had = |value: Option<&Value>, inner: &[String]| {
            value.is_some_and(|value| leads_to(value, inner))
        };
        // What was asked for in the record was not there yet, or no more.
        if !had(was, was_inner) && !had(is, inner) {
            return;
        }
        // Gone from here, and perhaps there under another name.
        let later = match (was, is) {
            (Some(was), Some(is)) if !leads_to(is, inner) => across(was, is, was_inner, false),
            _ => inner.to_vec(),
        };
        let (before, after) = match later.as_slice() {
            [] => (was.cloned(), is.cloned()),
            inner => framed((was, was_inner), (is, inner)),
        };
        let diff = match (&before, &after) {
            (Some(before), Some(after)) => diff::diff(before, after),
            (None, Some(after)) => diff::new(after),
            (Some(before), None) => diff::gone(before),
            (None, None) => None,
        };
        let change = (diff.is_some() || was_id.is_some()).then_some(RecordChange {
            name,
            was_id,
            before,
            after,
            diff,
        });
        if change.is_some() || moved.is_some() {
            self.trail.events.push(Event {
                commit,
                change,
                moved,
            });
        }
    }
}

/// What a merge found: where it holds what one of its parents did, that; else what the
/// first of them has there.
fn settled(parents: &[Option<&Value>], is: Option<&Value>) -> Option<Value> {
    if parents.contains(&is) {
        return is.cloned();
    }
    let known: Vec<&Value> = parents.iter().copied().flatten().collect();
    let (first, rest) = known.split_first()?;
    if rest.is_empty() {
        return Some((*first).clone());
    }
    match is {
        Some(Value::Object(map)) if known.iter().all(|one| one.is_object()) => {
            let mut settled_map = Map::new();
            let others = first.as_object().into_iter().flat_map(Map::keys);
            for key in map.keys().chain(others) {
                let under: Vec<Option<&Value>> = known.iter().map(|one| one.get(key)).collect();
                if let Some(value) = settled(&under, map.get(key)) {
                    settled_map.insert(key.clone(), value);
                }
            }
            Some(Value::Object(settled_map))
        }
        Some(Value::Array(items)) if known.iter().all(|one| one.is_array()) => {
            let lists: Vec<&Vec<Value>> = known.iter().filter_map(|one| one.as_array()).collect();
            // The order that none of them had is the merge's own.
            if !lists.iter().any(|list| in_the_order_of(list, items)) {
                return Some((*first).clone());
            }
            let mut list: Vec<Value> = items
                .iter()
                .filter(|item| lists.iter().any(|list| list.contains(item)))
                .cloned()
                .collect();
            // What all of them had, the merge took out.
            for (at, item) in lists.first().into_iter().copied().flatten().enumerate() {
                if !items.contains(item) && lists.iter().all(|list| list.contains(item)) {
                    list.insert(at.min(list.len()), item.clone());
                }
            }
            Some(Value::Array(list))
        }
        _ => Some((*first).clone()),
    }
}

/// Whether what both lists hold stands in both in the same order, as many times.
fn in_the_order_of(list: &[Value], items: &[Value]) -> bool {
    let of_list = list.iter().filter(|one| items.contains(one));
    of_list.eq(items.iter().filter(|one| list.contains(one)))
}

/// A record with nothing in it that differs but one thing with a name: before, after.
fn framed(
    (was, was_inner): (Option<&Value>, &[String]),
    (is, inner): (Option<&Value>, &[String]),
) -> (Option<Value>, Option<Value>) {
    let Some(mut frame) = is.or(was).cloned() else {
        return (None, None);
    };
    put(&mut frame, None, inner);
    put(&mut frame, None, was_inner);
    let with = |value: Option<&Value>, inner: &[String]| {
        let mut framed = frame.clone();
        if let Some(value) = value {
            put(&mut framed, Some(value), inner);
        }
        Some(framed)
    };
    (with(was, was_inner), with(is, inner))
}

/// Puts what these names lead to in one record into another, or takes it out there.
fn put(frame: &mut Value, from: Option<&Value>, inner: &[String]) {
    let Some((name, rest)) = inner.split_first() else {
        return;
    };
    for key in NAMED {
        let entry = from.and_then(|from| from.get(key)?.get(name));
        if let (Some(from), Some(_)) = (from, entry) {
            let map = frame.as_object_mut().filter(|_| from.is_object());
            let map = map.map(|map| map.entry(*key).or_insert_with(|| Map::new().into()));
            set(map, entry, name, rest);
        } else {
            set(frame.get_mut(*key), None, name, rest);
        }
    }
}

fn set(map: Option<&mut Value>, entry: Option<&Value>, name: &str, rest: &[String]) {
    let Some(map) = map.and_then(Value::as_object_mut) else {
        return;
    };
    match (rest.first(), entry) {
        (None, Some(entry)) => {
            map.insert(name.to_owned(), entry.clone());
        }
        (None, None) => {
            map.remove(name);
        }
        (Some(hole), Some(entry)) => {
            let own = map.entry(name).or_insert_with(|| entry.clone());
            let holes = own.as_object_mut().map(|own| {
                let holes = own.entry(INNER);
                holes.or_insert_with(|| Map::new().into())
            });
            let hole_entry = entry.get(INNER).and_then(|holes| holes.get(hole));
            set(holes, hole_entry, hole, &[]);
        }
        (Some(hole), None) => {
            let own = map.get_mut(name).and_then(Value::as_object_mut);
            set(own.and_then(|own| own.get_mut(INNER)), None, hole, &[]);
        }
    }
}

/// Whether these names lead to something in a record.
#[must_use]
pub fn leads_to(record: &Value, inner: &[String]) -> bool {
    let Some((name, rest)) = inner.split_first() else {
        return true;
    };
    NAMED.iter().any(|key| {
        let entry = record.get(key).and_then(|map| map.get(name));
        entry.is_some_and(|entry| match rest {
            [] => true,
            [hole] => entry
                .get(INNER)
                .is_some_and(|holes| holes.get(hole).is_some()),
            _ => false,
        })
    })
}

/// The names of what a record holds that has names of its own.
#[must_use]
pub fn names_in(record: &Value) -> Vec<&str> {
    let maps = NAMED.iter().filter_map(|key| record.get(key)?.as_object());
    maps.flat_map(|map| map.keys().map(String::as_str))
        .collect()
}

/// What the names that lead to something are on the other side of a change: `before` it, or
/// after.
fn across(was: &Value, is: &Value, inner: &[String], before: bool) -> Vec<String> {
    let mut names = inner.to_vec();
    if inner.is_empty() || was == is {
        return names;
    }
    let diff = diff::diff(was, is);
    let mut level: Vec<&Diff> = diff.iter().collect();
    for (name, depth) in names.iter_mut().zip(0..) {
        let maps: &[&str] = if depth == 0 { NAMED } else { &[INNER] };
        let sides = |one: &Changed| {
            let was = one.was_key.as_ref().unwrap_or(&one.key);
            let both = (one.key.clone(), was.clone());
            if before { both } else { (both.1, both.0) }
        };
        let entries: Vec<&Changed> = level
            .iter()
            .flat_map(|diff| maps.iter().filter_map(|key| diff.under(key)?.diff.as_ref()))
            .filter_map(|diff| match diff {
                Diff::Map(changed) => Some(changed),
                _ => None,
            })
            .flatten()
            .filter(|one| sides(one).0 == *name)
            .collect();
        if let Some(renamed) = entries.iter().find(|one| one.was_key.is_some()) {
            *name = sides(renamed).1;
        }
        level = entries.iter().filter_map(|one| one.diff.as_ref()).collect();
    }
    names
}
