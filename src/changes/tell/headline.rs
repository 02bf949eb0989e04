//! What the most of it comes to, in one line: the first line of a commit message, a session
//! in a list.
//!
//! The weightiest goes first. One thing is named by what a builder calls it, several of a
//! sort are counted; what there is no room for is counted at the end.

use std::collections::{BTreeMap, BTreeSet};

use unicode_width::UnicodeWidthStr;

use super::words::bare;
use super::{Deed, Told, Topic};
use crate::model::Kind;
use crate::near::{in_order, plain, spoken};

/// What weighs less is left out where what it is about was named.
const DETAIL: u32 = 50;
/// So many names stand for more of them.
const NAMES: usize = 3;
/// Where this was done, all else is records that are new.
const BEGUN: Deed = Deed::BuildBegun;

/// All that was told of one deed.
struct Group<'a> {
    deed: Deed,
    told: Vec<&'a Told>,
    /// What it is about, each once.
    about: BTreeSet<&'a str>,
}

/// What the most of it comes to, in one line of at most so many columns. Empty if nothing
/// is told.
#[must_use]
pub fn headline(told: &[Told], room: usize) -> String {
    if told.iter().any(|one| one.deed == BEGUN) {
        return begun(told, room);
    }
    let mut of: BTreeMap<Deed, Vec<&Told>> = BTreeMap::new();
    for one in told {
        of.entry(one.deed).or_default().push(one);
    }
    let groups = of.into_iter().map(|(deed, told)| Group {
        deed,
        about: told.iter().map(|one| one.about.as_str()).collect(),
        told,
    });
    let mut groups: Vec<Group<'_>> = groups.collect();
    groups.sort_by_key(|group| (std::cmp::Reverse(group.deed.weight()), group.deed));
    let mut line = String::new();
    let mut named: BTreeSet<&str> = BTreeSet::new();
    // What the line ended with, if that was one thing.
    let mut last: Option<&str> = None;
    for (number, group) in groups.iter().enumerate() {
        if group.is_detail_of(&named) {
            continue;
        }
        let left = |named: &BTreeSet<&str>| -> usize {
            let rest = groups[number + 1..].iter();
            let rest = rest.filter(|group| !group.is_detail_of(named));
            rest.map(|group| group.told.len()).sum()
        };
        let mut with = named.clone();
        with.extend(&group.about);
        let end = behind(left(&with));
        let fits = |text: &str| {
            let width = match line.is_empty() {
                true => text.width(),
                false => line.width() + 2 + text.width(),
            };
            width + end.width() <= room
        };
        let Some(text) = group.forms(last).into_iter().find(|text| fits(text)) else {
            if line.is_empty() {
                return number_of(told, room);
            }
            let not_told: usize = group.told.len() + left(&named);
            return line + &behind(not_told);
        };
        if !line.is_empty() {
            line.push_str(", ");
        }
        line.push_str(&text);
        last = match group.about.first() {
            Some(about) if group.about.len() == 1 && text.starts_with(about) => Some(*about),
            _ => None,
        };
        named = with;
    }
    line
}

impl Group<'_> {
    /// How many things it is about.
    fn things(&self) -> usize {
        let mut most: BTreeMap<&str, usize> = BTreeMap::new();
        for one in &self.told {
            let many = most.entry(&one.about).or_default();
            *many = one.many.max(*many);
        }
        most.into_values().sum()
    }

    /// Whether a line that names these things may leave it out: it is a lesser matter of
    /// theirs.
    fn is_detail_of(&self, named: &BTreeSet<&str>) -> bool {
        self.deed.weight() < DETAIL && self.about.is_subset(named)
    }

    /// What it can be told as, the fullest first. Behind a line that ends with the one thing
    /// that it is about it need not name that again.
    fn forms(&self, last: Option<&str>) -> Vec<String> {
        let mut forms = Vec::new();
        if let (Some(about), true) = (self.about.first(), self.about.len() == 1) {
            let said = self.deed.one().strip_prefix("{} ");
            if let (Some(said), true, 1) = (said, last == Some(*about), self.things()) {
                forms.push(said.to_owned());
            }
            let shorts: BTreeSet<&str> = self.told.iter().map(|one| one.short.as_str()).collect();
            if let (Some(short), 1) = (shorts.first(), shorts.len())
                && !short.is_empty()
            {
                forms.push(plain(short));
            }
            if self.things() == 1 {
                forms.push(self.deed.one().replace("{}", &plain(about)));
                return forms;
            }
        }
        let many = match self.deed {
            Deed::New | Deed::Gone => self.by_kind(),
            deed => deed.many().replace("{}", &self.things().to_string()),
        };
        let names = names(&self.about);
        forms.push(format!("{many} ({})", plain(&names.join(", "))));
        let fewer = (1..=NAMES).rev().filter(|few| *few < names.len());
        forms.extend(fewer.map(|few| format!("{many} ({}, …)", plain(&names[..few].join(", ")))));
        forms.push(many);
        forms
    }

    /// Records that are new or gone, by their kinds: "3 new parts and 1 new job".
    fn by_kind(&self) -> String {
        let mut of: BTreeMap<&str, usize> = BTreeMap::new();
        for about in &self.about {
            *of.entry(about.split('/').next().unwrap_or(about))
                .or_default() += 1;
        }
        let mut of: Vec<(&str, usize)> = of.into_iter().collect();
        of.sort_by_key(|(folder, many)| (std::cmp::Reverse(*many), *folder));
        let new = if self.deed == Deed::New { "new " } else { "" };
        let each = of.into_iter().map(|(folder, many)| {
            let word = match (many, Kind::of_folder(folder)) {
                (1, Some(kind)) => kind.one(),
                _ => folder,
            };
            format!("{many} {new}{word}")
        });
        let all = spoken(&each.collect::<Vec<_>>(), "and");
        match self.deed {
            Deed::New => all,
            _ => format!("{all} struck out"),
        }
    }
}

/// Names in a row; what they begin with alike is said once: `injector/N1, N2`.
fn names<'a>(all: &BTreeSet<&'a str>) -> Vec<&'a str> {
    let mut before = "";
    let mut all: Vec<&str> = all.iter().copied().collect();
    all.sort_by(|a, b| in_order(a, b));
    let short = all.into_iter().map(|name| {
        let name = bare(name);
        let (thing, own) = name.split_once('/').unwrap_or((name, ""));
        let own = if thing == before && !own.is_empty() {
            own
        } else {
            name
        };
        before = thing;
        own
    });
    short.collect()
}

/// What is not told, by its number.
fn behind(left: usize) -> String {
    match left {
        0 => String::new(),
        1 => ", 1 more change".to_owned(),
        left => format!(", {left} more changes"),
    }
}

/// All of it as a mere number, for what has no room.
fn number_of(told: &[Told], room: usize) -> String {
    let text = match told.len() {
        1 => "1 change".to_owned(),
        many => format!("{many} changes"),
    };
    if text.width() <= room {
        text
    } else {
        String::new()
    }
}

/// What a build begins with: how many records of each kind.
fn begun(told: &[Told], room: usize) -> String {
    let mut kinds: BTreeMap<usize, Kind> = BTreeMap::new();
    for one in told {
        if let (Some(change), Some(kind)) = (one.change, kind_of(one)) {
            kinds.entry(change).or_insert(kind);
        }
    }
    let mut of: BTreeMap<Kind, usize> = BTreeMap::new();
    for kind in kinds.into_values() {
        *of.entry(kind).or_default() += 1;
    }
    let mut of: Vec<(Kind, usize)> = of.into_iter().collect();
    of.sort_by_key(|(kind, many)| (std::cmp::Reverse(*many), *kind));
    let mut words: Vec<String> = of
        .into_iter()
        .map(|(kind, many)| match many {
            1 => format!("1 {}", kind.one()),
            many => format!("{many} {}", kind.folder()),
        })
        .collect();
    let mut cut = false;
    loop {
        let line = match (words.is_empty(), cut) {
            (true, _) => BEGUN.one().to_owned(),
            (_, false) => format!("{}: {}", BEGUN.one(), spoken(&words, "and")),
            (_, true) => format!("{}: {} and more", BEGUN.one(), words.join(", ")),
        };
        if line.width() <= room || words.pop().is_none() {
            return line;
        }
        cut = true;
    }
}

/// The kind of the record that something tells of.
fn kind_of(told: &Told) -> Option<Kind> {
    Some(match (told.deed, told.deed.topic()) {
        (Deed::DonorNew, _) => Kind::Donors,
        (Deed::EndFitted | Deed::EndProved, _) => Kind::Plugs,
        (Deed::RunMeasured, _) => Kind::Routes,
        (_, Topic::Pieces) => Kind::Parts,
        (_, Topic::Assemblies | Topic::Joints) => Kind::Assemblies,
        (_, Topic::Wires) => Kind::Circuits,
        (_, Topic::Jobs | Topic::SendOuts | Topic::Orders) => Kind::Jobs,
        (_, Topic::Gaps) => Kind::Clearances,
        (_, Topic::Decisions) => Kind::Decisions,
        (_, Topic::Photos) => Kind::Photos,
        (Deed::New, _) => Kind::of_folder(told.about.split('/').next()?)?,
        _ => return None,
    })
}
