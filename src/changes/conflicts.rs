//! Which conflicts opened and which were cleared between two states, and what cleared them.
//!
//! A finding is the same in both as it is where `stops: added` tells the older ones: by its
//! rule, its record and what it is related to. Where only figures in its sentences moved on,
//! as a count of days does, it is the same too. A renamed record is followed.
//!
//! What is settled is no open conflict: a decision that settles one clears it, and one
//! that is withdrawn opens it again. One that weighs otherwise now is cleared as what it
//! was, and opened as what it is.

use std::collections::{BTreeMap, BTreeSet};

use super::diff::Diff;
use super::report::Cleared;
use super::tell::{Deed, Told, Topic};
use super::{Name, RecordChange};
use crate::finding::{Finding, Place};
use crate::folder::Folder;
use crate::lint;
use crate::model::Kind;
use crate::model::build::LevelWord;
use crate::near;

/// How many sentences tell what cleared a conflict.
const MOST: usize = 3;

/// A state of a build that was checked.
#[derive(Debug, Clone, Copy)]
pub struct Checked<'a> {
    /// It, as it was read.
    pub folder: &'a Folder,
    /// What was found.
    pub findings: &'a [Finding],
}

/// What became of the conflicts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Conflicts {
    /// Those that are open now and were not.
    pub opened: Vec<Finding>,
    /// Those that were open and are no more.
    pub cleared: Vec<Cleared>,
    /// How many are not found any more, and may only be hidden by what can't be read now.
    pub hidden: usize,
}

/// Compares what was found in two states, between which these records changed.
#[must_use]
pub fn conflicts(
    since: Checked<'_>,
    until: Checked<'_>,
    changes: &[RecordChange],
    told: &[Told],
) -> Conflicts {
    let renamed = Renamed::of(changes);
    let was_at = paired(since.findings, until.findings, &renamed);
    let mut found = Conflicts::default();
    let mut gone = vec![true; since.findings.len()];
    for (now, was) in until.findings.iter().zip(&was_at) {
        let was = was.map(|number| {
            gone[number] = false;
            &since.findings[number]
        });
        let open = |finding: &&Finding| finding.settled_by.is_none();
        match (was.filter(open), now.settled_by.as_ref()) {
            (Some(was), None) if was.level != now.level => {
                let is = near::with_article(now.level.word());
                found
                    .cleared
                    .push(cleared(was, None, vec![format!("it is {is} now")]));
                found.opened.push(now.clone());
            }
            (Some(was), Some(decision)) => {
                let by = Some(decision.clone());
                found.cleared.push(cleared(was, by, Vec::new()));
            }
            (None, None) => found.opened.push(now.clone()),
            (Some(_), None) | (None, Some(_)) => {}
        }
    }
    let because = Because {
        since: since.folder,
        renamed: &renamed,
        changes,
        told,
    };
    let readable = until.folder.is_readable();
    for (was, _) in since.findings.iter().zip(gone).filter(|(_, gone)| *gone) {
        if was.settled_by.is_some() {
            continue;
        }
        let mut by = because.of(was);
        if by.is_empty() && told_nothing(until.folder, was) {
            by.push("the build has this rule tell nothing now".to_owned());
        }
        if by.is_empty() && !readable {
            found.hidden += 1;
        } else {
            found.cleared.push(cleared(was, None, by));
        }
    }
    let order = |finding: &Finding| (std::cmp::Reverse(finding.level), finding.place.clone());
    found.opened.sort_by_key(order);
    found.cleared.sort_by_key(|one| order(&one.finding));
    found
}

fn cleared(was: &Finding, settled_by: Option<String>, by: Vec<String>) -> Cleared {
    Cleared {
        finding: was.clone(),
        settled_by,
        by,
    }
}

/// Whether the build gives the rule of a finding no level any more.
fn told_nothing(folder: &Folder, finding: &Finding) -> bool {
    let levels = &folder.model.build.levels;
    let mut own = levels
        .iter()
        .filter(|(rule, _)| rule.as_str() == finding.rule);
    own.any(|(_, level)| *level == LevelWord::None)
}

/// For each finding of the later state the number of the same one in the earlier state.
fn paired(since: &[Finding], until: &[Finding], renamed: &Renamed) -> Vec<Option<usize>> {
    type Key = (&'static str, String, Vec<String>);
    // What is alike to the letter first, so that of several alike the right one is left.
    let to_the_letter = |finding: &Finding, old: bool| -> Key {
        let (rule, mut record, mut texts) = owned(finding, old, renamed);
        texts.insert(0, finding.message.clone());
        record.push(' ');
        record.push_str(finding.level.word());
        (rule, record, texts)
    };
    let as_older_ones = |finding: &Finding, old: bool| -> Key { owned(finding, old, renamed) };
    let but_for_figures = |finding: &Finding, old: bool| -> Key {
        let (rule, record, mut texts) = owned(finding, old, renamed);
        texts.insert(0, finding.message.clone());
        let texts = texts.iter().map(|text| without_figures(text, old, renamed));
        (rule, record, texts.collect())
    };
    type Way<'a> = &'a dyn Fn(&Finding, bool) -> Key;
    let ways: [Way<'_>; 3] = [&to_the_letter, &as_older_ones, &but_for_figures];
    let mut was_at: Vec<Option<usize>> = vec![None; until.len()];
    let mut left: BTreeSet<usize> = (0..since.len()).collect();
    for way in ways {
        let mut known: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
        for number in left.iter().rev() {
            let key = way(&since[*number], true);
            known.entry(key).or_default().push(*number);
        }
        for (finding, was) in until.iter().zip(&mut was_at) {
            if was.is_some() || known.is_empty() {
                continue;
            }
            if let Some(number) = known.get_mut(&way(finding, false)).and_then(Vec::pop) {
                *was = Some(number);
                left.remove(&number);
            }
        }
    }
    was_at
}

/// What a finding is known by, with the record as it is called now.
fn owned(finding: &Finding, old: bool, renamed: &Renamed) -> (&'static str, String, Vec<String>) {
    let (_, record, related) = lint::same(finding);
    let record = match old {
        true => renamed.now(record),
        false => record.to_owned(),
    };
    let related = related.into_iter().map(str::to_owned).collect();
    (finding.rule, record, related)
}

/// A sentence without its figures, and with names as they are now: what stays of it from
/// day to day.
fn without_figures(text: &str, old: bool, renamed: &Renamed) -> String {
    let of_a_name = |c: char| c.is_alphanumeric() || matches!(c, '-' | '/' | '.');
    let mut out = String::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let end = rest.find(|c| of_a_name(c) != of_a_name(first));
        let (word, after) = rest.split_at(end.unwrap_or(rest.len()));
        rest = after;
        let figure = word.starts_with(|c: char| c.is_ascii_digit())
            && word
                .chars()
                .all(|c| c.is_ascii_digit() || matches!(c, '-' | '.'));
        match (figure, old) {
            (true, _) => out.push('0'),
            (false, true) => out.push_str(&renamed.now_anywhere(word)),
            (false, false) => out.push_str(word),
        }
    }
    out
}

/// Names that are others now: of records, and of what lies in them.
#[derive(Debug, Default)]
struct Renamed {
    /// From `parts/pump`, `parts/pump/P1` to what it is called now, the inner ones too.
    whole: BTreeMap<String, String>,
    /// From a step of a name to what it is now.
    steps: BTreeMap<String, String>,
}

impl Renamed {
    fn of(changes: &[RecordChange]) -> Self {
        let mut renamed = Self::default();
        for change in changes {
            let is = change.name.to_string();
            let was = match &change.was_id {
                Some(was) => {
                    renamed.steps.insert(was.clone(), change.name.id.clone());
                    let kind = change.name.kind;
                    Name {
                        kind,
                        id: was.clone(),
                    }
                    .to_string()
                }
                None => is.clone(),
            };
            if was != is {
                renamed.whole.insert(was.clone(), is.clone());
            }
            if let Some(diff) = &change.diff {
                renamed.inside(diff, &was, &is);
            }
        }
        renamed
    }

    /// What is renamed in a record: a piece, a joint, a hole of it. The maps that they lie
    /// in are no step of their names.
    fn inside(&mut self, diff: &Diff, was: &str, is: &str) {
        for list in diff.changed() {
            let Some(map) = &list.diff else { continue };
            for one in map.changed() {
                let old = one.was_key.as_ref().unwrap_or(&one.key);
                let (was, is) = (format!("{was}/{old}"), format!("{is}/{}", one.key));
                if one.was_key.is_some() {
                    self.whole.insert(was.clone(), is.clone());
                    self.steps.insert(old.clone(), one.key.clone());
                }
                if let Some(diff) = &one.diff {
                    self.inside(diff, &was, &is);
                }
            }
        }
    }

    /// What is called so now that was called so.
    fn now(&self, name: &str) -> String {
        let ends = name.match_indices('/').map(|(at, _)| at);
        let mut ends: Vec<usize> = ends.chain([name.len()]).collect();
        ends.reverse();
        for end in ends {
            if let Some(is) = self.whole.get(&name[..end]) {
                return format!("{is}{}", &name[end..]);
            }
        }
        name.to_owned()
    }

    /// The same of a name in a sentence, where its kind may be left out.
    fn now_anywhere(&self, name: &str) -> String {
        let steps = name.split('/');
        let steps = steps.map(|step| self.steps.get(step).map_or(step, String::as_str));
        steps.collect::<Vec<_>>().join("/")
    }
}

/// What a sentence names, but for the piece that it is about. A place that it is about
/// counts: what went on there stands in another record.
fn mentioned<'a>(message: &'a str, own: &str) -> BTreeSet<&'a str> {
    let words = message.split_whitespace().map(|word| {
        let bare = word.trim_matches([',', ';', ':', '.', '`']);
        (bare, word.starts_with('`'))
    });
    let names = words.filter(|(bare, quoted)| *quoted || bare.contains('/'));
    let is_place = own.starts_with(Kind::Assemblies.folder());
    let others = names.filter(|(bare, _)| !bare.is_empty() && (is_place || !own.ends_with(bare)));
    others.map(|(bare, _)| bare).collect()
}

/// Whether something is told of what is called so.
fn speaks_of(told: &Told, name: &str) -> bool {
    let inside = told.about.strip_prefix(name);
    let about = inside.is_some_and(|rest| rest.is_empty() || rest.starts_with('/'));
    let words = || told.says.split([' ', ',', ';']);
    about || name.contains('/') && words().any(|word| word == name)
}

/// What may have cleared a conflict.
struct Because<'a> {
    since: &'a Folder,
    renamed: &'a Renamed,
    changes: &'a [RecordChange],
    told: &'a [Told],
}

impl Because<'_> {
    /// What is told of what the finding's sentence names beside what it is about; else of
    /// that itself; else of the record that it lies in; else of what it is related to.
    fn of(&self, finding: &Finding) -> Vec<String> {
        let spot = finding.record.as_deref().map(|name| self.renamed.now(name));
        let own = spot.as_deref().map(record_of).unwrap_or_default();
        let about = |told: &&Told| {
            let inner = format!("/{}", told.about);
            spot.as_deref()
                .is_some_and(|spot| spot == told.about || spot.ends_with(&inner))
        };
        let mentioned = mentioned(&finding.message, spot.as_deref().unwrap_or_default());
        let names = self.sentences(|told| mentioned.iter().any(|name| speaks_of(told, name)));
        if !names.is_empty() {
            return names;
        }
        let exact = self.sentences(about);
        if !exact.is_empty() {
            return exact;
        }
        let of_record = self.sentences(|told| self.record(told).as_deref() == Some(own));
        if !of_record.is_empty() {
            return of_record;
        }
        let related: BTreeSet<String> = finding
            .related
            .iter()
            .filter_map(|one| self.record_at(&one.place))
            .collect();
        self.sentences(|told| {
            let record = self.record(told);
            record.is_some_and(|record| related.contains(&record))
        })
    }

    fn sentences(&self, wanted: impl Fn(&&Told) -> bool) -> Vec<String> {
        let mut all: Vec<String> = Vec::new();
        // Where something lies, what it cost and that it was photographed clears nothing.
        let clears_nothing = |topic| matches!(topic, Topic::Money | Topic::Photos);
        let may = |told: &&Told| told.deed != Deed::Moved && !clears_nothing(told.deed.topic());
        let mut spoken_of = BTreeSet::new();
        for told in self.told.iter().filter(may).filter(wanted) {
            // The weightiest comes first, and one of each is enough.
            if spoken_of.insert(told.about.as_str()) {
                all.push(format!("{} {}", told.about, told.sentence()));
            }
        }
        let more = all.len().saturating_sub(MOST);
        if more > 1 {
            all.truncate(MOST);
            all.push(format!("{more} changes more"));
        }
        all
    }

    /// The record that something is told of.
    fn record(&self, told: &Told) -> Option<String> {
        Some(self.changes.get(told.change?)?.name.to_string())
    }

    /// The record that a place in the earlier state lies in, as it is called now.
    fn record_at(&self, place: &Place) -> Option<String> {
        let mut files = self.since.files.iter().enumerate();
        let (number, file) = files.find(|(_, file)| file.reading.source.path == place.file)?;
        let source = &file.reading.source;
        let begins_before = |record: &&crate::yaml::Entry| {
            source.position(record.key.span.range().start) <= place.start
        };
        let record = file.records().iter().rev().find(begins_before)?;
        let name = self.since.name_at(number, record.key.span)?;
        Some(record_of(&self.renamed.now(&name)).to_owned())
    }
}

/// The record that a name leads to: `parts/injector` of `parts/injector/P1`.
fn record_of(name: &str) -> &str {
    let end = name.match_indices('/').nth(1).map(|(at, _)| at);
    &name[..end.unwrap_or(name.len())]
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::changes::records::{self, beside};
    use crate::changes::{compare, tell};
    use crate::folder::{Content, RawFile};
    use crate::lint::Facts;

    const BUILD: &str = "name: Brindlet\n";
    const DONORS: &str = "pell-van: {kind: vehicle, maker: Pell}\n";

    fn raw(files: &[(&str, &str)]) -> Vec<RawFile> {
        let files = files.iter();
        files
            .map(|(path, text)| RawFile {
                path: (*path).to_owned(),
                content: Content::Bytes(text.as_bytes().to_vec()),
            })
            .collect()
    }

    fn between(since: &[(&str, &str)], until: &[(&str, &str)]) -> Conflicts {
        let common = [("build.yaml", BUILD), ("donors/all.yaml", DONORS)];
        let with = |own: &[(&'static str, &'static str)]| {
            let rest = common
                .iter()
                .filter(|(path, _)| own.iter().all(|(o, _)| o != path));
            let mut all: Vec<(&str, &str)> = rest.copied().collect();
            all.extend(own);
            all
        };
        fn leaked(all: &[(&str, &str)]) -> Vec<(&'static str, &'static str)> {
            let leak = |text: &str| -> &'static str { text.to_owned().leak() };
            all.iter()
                .map(|(path, text)| (leak(path), leak(text)))
                .collect()
        }
        let (since, until) = (with(&leaked(since)), with(&leaked(until)));
        let both = beside(&records::read(raw(&since)), &records::read(raw(&until)));
        let changes = compare(&both.since, &both.until);
        let told = tell::tell(&changes);
        let (since, until) = (raw(&since), raw(&until));
        let (since, until) = (Folder::read(since).unwrap(), Folder::read(until).unwrap());
        let found = |folder: &Folder, day| lint::check(folder, &Facts::on(day));
        let (was, is) = (
            found(&since, date(2026, 3, 1)),
            found(&until, date(2026, 3, 9)),
        );
        let checked = |folder, findings| Checked { folder, findings };
        conflicts(checked(&since, &was), checked(&until, &is), &changes, &told)
    }

    fn names(found: &Conflicts) -> (Vec<String>, Vec<String>) {
        let name = |finding: &Finding| {
            let record = finding.record.as_deref().unwrap_or("-");
            format!("{} {} {record}", finding.level, finding.rule)
        };
        let cleared = found.cleared.iter().map(|one| {
            let by = one.settled_by.iter().chain(&one.by);
            let by: Vec<&str> = by.map(String::as_str).collect();
            format!("{}: {}", name(&one.finding), by.join("; "))
        });
        (found.opened.iter().map(name).collect(), cleared.collect())
    }

    #[test]
    fn a_slip_is_mended_and_another_made() {
        let found = between(
            &[(
                "parts/all.yaml",
                "injector: {name: Injector, pieces: {P1: {donor: pel-van}}}\n",
            )],
            &[(
                "parts/all.yaml",
                "injector: {name: Injector, pieces: {P1: {donor: pell-van}, P2: {donor: pell-vann}}}\n",
            )],
        );
        let (opened, cleared) = names(&found);
        assert!(
            opened.contains(&"error unknown-reference parts/injector/P2".to_owned()),
            "{opened:?}"
        );
        assert!(
            cleared.iter().any(|one| {
                one.starts_with("error unknown-reference parts/injector/P1: ")
                    && one.contains("pell-van")
            }),
            "{cleared:?}"
        );
    }

    #[test]
    fn a_renamed_record_keeps_its_conflict() {
        let found = between(
            &[(
                "parts/all.yaml",
                "pump: {name: Pump, number: \"WP-1\", maker: Halden, pieces: {P1: {donor: pel-van, kept-in: box 3}}}\n",
            )],
            &[(
                "parts/all.yaml",
                "water-pump: {name: Pump, number: \"WP-1\", maker: Halden, pieces: {P7: {donor: pel-van, kept-in: box 3}}}\n",
            )],
        );
        assert_eq!(found, Conflicts::default());
    }

    #[test]
    fn a_conflict_that_weighs_otherwise_is_told_as_both() {
        let parts = "a: {name: A, number: 0123}\n";
        let files = |build| [("build.yaml", build), ("parts/all.yaml", parts)];
        let found = between(
            &files(BUILD),
            &files("name: Brindlet\nlevels: {changed-by-yaml: warning}\n"),
        );
        let (opened, cleared) = names(&found);
        assert_eq!(opened, ["warning changed-by-yaml parts/a"]);
        assert_eq!(
            cleared,
            ["error changed-by-yaml parts/a: it is a warning now"]
        );
        let same = between(&[("parts/all.yaml", parts)], &[("parts/all.yaml", parts)]);
        assert_eq!(same, Conflicts::default());
    }

    #[test]
    fn what_can_not_be_read_is_not_said_to_be_cleared() {
        let slip = "injector: {name: Injector, pieces: {P1: {donor: pel-van}}}\n";
        let found = between(
            &[("parts/all.yaml", slip)],
            &[(
                "parts/all.yaml",
                "injector: {name: Injector, pieces: {P1: {donor: pel-van}}\n",
            )],
        );
        assert!(found.hidden > 0, "{found:?}");
        assert_eq!(found.cleared, []);
    }

    #[test]
    fn figures_move_on() {
        let none = Renamed::default();
        let plain = |text| without_figures(text, true, &none);
        assert_eq!(
            plain("12 days past 2026-03-01"),
            plain("3 days past 2025-12-31")
        );
        assert_ne!(plain("P1 is on"), plain("P2 is on"));
    }
}
