//! `matchmark trail`.

use std::collections::BTreeMap;
use std::path::PathBuf;

use clap::Args;
use rayon::prelude::*;

use super::Outcome;
use super::changes::Place;
use super::sessions::{Format, History, print};
use crate::changes::commit::{Commit, oldest_first};
use crate::changes::records::{self, Held, Seen};
use crate::changes::tell::tell;
use crate::changes::trail::{self, Spot, Subject, last_seen, leads_to, names_in};
use crate::folder::{RawFile, kind_of};
use crate::model::Kind;
use crate::near;
use crate::render;
use crate::report::trail::{self as report, Life, Step};
use crate::shell::disk;
use crate::shell::git::Repo;
use crate::shell::history::{TreeAt, Walked};

/// Tell one record's life: each change with its day, session and who
///
/// A record is called as references call it: `parts/injector`, or `injector` where no
/// other kind has one. What has a name of its own in it can be asked for as well: a piece
/// (`injector/P1`), a place or a joint (`engine/head`), a hole (`engine/bracket/top`), a
/// wire. One that is gone is found in the history.
///
/// It is followed across another id, another file and merges; a merge is told for what
/// it holds and neither side did. What is not committed comes last.
#[derive(Debug, Args)]
pub struct Trail {
    /// The record, or what has a name in it
    record: String,
    /// Show each field that changed, old and new, in full
    #[arg(long)]
    fields: bool,
    /// How it is printed
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
}

/// What was asked for, as far as its words tell.
struct Asked {
    /// The kinds that it may be of.
    kinds: Vec<Kind>,
    subject: Subject,
}

/// What was found, and where.
struct Found {
    kind: Kind,
    spot: Spot,
    /// What it holds now; none if it is gone.
    value: Option<serde_json::Value>,
}

impl Trail {
    /// Tells the life.
    ///
    /// # Errors
    /// When there is no build, no repository, or no such record, or it can't be read.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let asked = Asked::read(&self.record);
        let place = Place::of(self.folder.as_deref())?;
        let repo = &place.repo;
        let head = repo.head();
        let files = match (&place.folder, &head) {
            (Some(folder), _) => disk::yaml_files(folder)?,
            (None, Some(head)) => held(repo, &place.prefix, head)?,
            (None, None) => Vec::new(),
        };
        let history = match &head {
            Some(head) => History::of(repo, head, gap(&files))?,
            None => History::default(),
        };
        let now = asked.find(&files)?;
        let mut commits = history.commits.clone();
        let mut walked = Walked::of(repo, &commits, &place.prefix, files.clone())?;
        // The working folder comes after the last commit, as if it were one.
        if place.folder.is_some() {
            commits.push(Commit {
                parents: head.iter().map(|head| head.id.clone()).collect(),
                ..Commit::default()
            });
        }
        let order = oldest_first(&commits);
        let found = match now {
            Some(found) => found,
            None => {
                let wanted = (asked.kinds.as_slice(), asked.subject.id.as_str());
                let Some((kind, path)) = last_seen(&commits, &order, wanted, &mut walked)? else {
                    return Err(asked.unknown(&self.record, files));
                };
                let subject = asked.subject.clone();
                Found {
                    kind,
                    spot: Spot { path, subject },
                    value: None,
                }
            }
        };
        let Some(last) = order.last().copied() else {
            return Err(asked.unknown(&self.record, files));
        };
        let start = (found.kind, last, found.spot.clone());
        let trail = trail::trail(&commits, &order, &history.cut_off, start, &mut walked)?;
        let is_there = |value: &serde_json::Value| leads_to(value, &found.spot.subject.inner);
        let is_now = found.value.as_ref().is_some_and(is_there);
        if trail.events.is_empty() && !is_now {
            return Err(found.unknown_inside(&self.record));
        }
        let mut sessions: BTreeMap<&str, usize> = BTreeMap::new();
        for session in &history.sessions {
            sessions.extend(
                session
                    .commits
                    .iter()
                    .map(|id| (id.as_str(), session.number)),
            );
        }
        let committed = |number: usize| history.commits.get(number);
        let steps = trail.events.into_iter().map(|event| {
            let commit = committed(event.commit);
            Step {
                session: commit.and_then(|commit| sessions.get(commit.id.as_str()).copied()),
                commit: commit.cloned(),
                told: tell(event.change.as_slice()),
                change: event.change,
                moved: event.moved,
            }
        });
        let torn = trail.torn.iter().map(|number| match committed(*number) {
            Some(commit) => commit.short().to_owned(),
            None => "the working folder".to_owned(),
        });
        let life = Life {
            about: found.name(),
            name: found.calls_itself(),
            steps: steps.collect(),
            cut_off: trail.cut_off,
            torn: torn.collect(),
            torn_now: trail.torn.contains(&last),
            file: is_now.then_some(found.spot.path),
        };
        let page = report::page(&life, self.fields);
        print(&page, self.format, || render::trail::json(&life))?;
        Ok(Outcome::Clean)
    }
}

/// The YAML files of a build that a commit holds.
fn held(repo: &Repo, prefix: &str, commit: &Commit) -> anyhow::Result<Vec<RawFile>> {
    let at = TreeAt {
        tree: commit.tree.clone(),
        prefix: prefix.to_owned(),
    };
    Ok(repo.record_files(&at)?)
}

/// The break that ends a session, in seconds.
fn gap(files: &[RawFile]) -> f64 {
    let build = files.iter().find(|file| file.path == "build.yaml");
    let held = build.map(|file| Held::read(&file.path, Kind::Build, file.content.clone()));
    let said = held.as_ref().and_then(|held| {
        let said = held.get("build")?.get("session-gap")?.as_str()?;
        Some(crate::model::common::Duration(said.to_owned()))
    });
    let build = crate::model::build::Build {
        session_gap: said,
        ..Default::default()
    };
    build.gap_seconds()
}

impl Asked {
    fn read(words: &str) -> Self {
        let mut steps = words.split('/').filter(|step| !step.is_empty());
        let mut steps: Vec<&str> = steps.by_ref().collect();
        let first = steps.first().copied().unwrap_or_default();
        let build = |inner: &[&str]| Self {
            kinds: vec![Kind::Build],
            subject: Subject {
                id: "build".to_owned(),
                inner: inner.iter().map(|step| (*step).to_owned()).collect(),
            },
        };
        match first {
            "build" => return build(&steps[1..]),
            // What `build.yaml` lists is called by its list.
            "tools" | "wrenches" | "sources" | "spots" if steps.len() == 2 => {
                return build(&steps[1..]);
            }
            _ => {}
        }
        let kinds = match Kind::of_folder(first) {
            Some(kind) if steps.len() > 1 => {
                steps.remove(0);
                vec![kind]
            }
            _ => Kind::ALL[1..].to_vec(),
        };
        let mut steps = steps.into_iter().map(str::to_owned);
        Self {
            kinds,
            subject: Subject {
                id: steps.next().unwrap_or_default(),
                inner: steps.collect(),
            },
        }
    }

    /// Where it stands now.
    fn find(&self, files: &[RawFile]) -> anyhow::Result<Option<Found>> {
        let Subject { id, inner } = &self.subject;
        let own = files.par_iter().filter_map(|file| {
            let kind = kind_of(&file.path).filter(|kind| self.kinds.contains(kind))?;
            match records::one(&file.path, kind, file.content.clone(), id) {
                Seen::There(value) => Some(Found {
                    kind,
                    spot: Spot {
                        path: file.path.clone(),
                        subject: self.subject.clone(),
                    },
                    value: Some((*value).clone()),
                }),
                _ => None,
            }
        });
        let mut found: Vec<Found> = own.collect();
        found.sort_by(|a, b| (a.kind, &a.spot.path).cmp(&(b.kind, &b.spot.path)));
        // Of an id that stands twice the first counts.
        found.dedup_by_key(|one| one.kind);
        let leads = |one: &Found| {
            one.value
                .as_ref()
                .is_some_and(|value| leads_to(value, inner))
        };
        if found.len() > 1 && found.iter().any(leads) {
            found.retain(leads);
        }
        if found.len() > 1 {
            let names: Vec<String> = found
                .iter()
                .map(|one| format!("`{}`", one.name()))
                .collect();
            let one_of = near::spoken(&names, "or");
            let why = format!("`{id}` is the id of {} records", found.len());
            return Err(anyhow::anyhow!("ask for {one_of}").context(why));
        }
        let mut found = found.pop();
        if let Some(one) = &mut found {
            one.by_its_record();
        }
        Ok(found)
    }

    /// That there is none, and never was.
    fn unknown(&self, words: &str, files: Vec<RawFile>) -> anyhow::Error {
        let files = records::read(files);
        let mut names = Vec::new();
        for (path, held) in &files {
            let Some(kind) = kind_of(path).filter(|kind| self.kinds.contains(kind)) else {
                continue;
            };
            names.extend(held.records.iter().map(|(id, _)| (id.as_str(), kind)));
        }
        let ids: Vec<&str> = names.iter().map(|(id, _)| *id).collect();
        let near = near::nearest(&self.subject.id, &ids);
        let near: Vec<String> = near
            .iter()
            .flat_map(|near| {
                let same = names.iter().filter(move |(id, _)| id == near);
                same.map(|(id, kind)| format!("`{kind}/{id}`"))
            })
            .collect();
        let remedy = match near.as_slice() {
            [] => "`matchmark list` shows what there is, `matchmark list jobs` the jobs".to_owned(),
            near => format!("ask for {}", near::spoken(near, "or")),
        };
        let why = format!("there is no record `{words}`, and there was none in the history");
        anyhow::anyhow!(remedy).context(why)
    }
}

impl Found {
    /// As a reference calls it.
    fn name(&self) -> String {
        let Subject { id, inner } = &self.spot.subject;
        let mut name = match self.kind {
            Kind::Build => "build".to_owned(),
            kind => format!("{kind}/{id}"),
        };
        for step in inner {
            name.push('/');
            name.push_str(step);
        }
        name
    }

    /// A place for each cylinder, bank or hand stands in one record for them all.
    fn by_its_record(&mut self) {
        let [asked] = self.spot.subject.inner.as_slice() else {
            return;
        };
        let places = self.value.as_ref().and_then(|value| value.get("places"));
        let places = places.and_then(serde_json::Value::as_object);
        let is_one = |(key, place): &(&String, &serde_json::Value)| {
            let which = asked.strip_prefix(key.as_str());
            let which = which.and_then(|rest| rest.strip_prefix('-'));
            place.get("each").is_some()
                && which.is_some_and(|which| {
                    matches!(which, "left" | "right") || which.parse::<u32>().is_ok()
                })
        };
        let known = places.is_some_and(|places| places.contains_key(asked));
        let found = places.and_then(|places| places.iter().find(is_one));
        if let (false, Some((key, _))) = (known, found) {
            self.spot.subject.inner = vec![key.clone()];
        }
    }

    fn calls_itself(&self) -> Option<String> {
        let value = self.value.as_ref()?;
        let name = value.get("name").or_else(|| value.get("does"))?;
        name.as_str().map(str::to_owned)
    }

    /// That it never held what was asked for in it.
    fn unknown_inside(&self, words: &str) -> anyhow::Error {
        let record = match self.kind {
            Kind::Build => "build.yaml".to_owned(),
            kind => format!("{kind}/{}", self.spot.subject.id),
        };
        let names = self.value.as_ref().map(names_in).unwrap_or_default();
        let asked = self.spot.subject.inner.first().map_or("", String::as_str);
        let near = near::nearest(asked, &names);
        let remedy = match (near.as_slice(), names.as_slice()) {
            ([], []) => format!("ask for `{record}`"),
            ([], names) => format!("known in it: {}", near::listed(names)),
            (near, _) => format!("known in it: {}", near::listed(near)),
        };
        anyhow::anyhow!(remedy).context(format!(
            "there is nothing called `{words}`: {record} does not hold it, and never did"
        ))
    }
}
