//! Three versions merged into one: for thousands of files and edits as people make them,
//! against a model that knows what stands in the versions and nothing of how they are
//! merged (`hand/verdict.rs`), and case by case, to judge by eye (`merging/`).
//!
//! What a text holds is said by another reader of YAML (serde_yaml, over libyaml). What
//! git's own merge by lines makes of the same versions is said by libgit2.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod dice;
#[path = "hand/sheet.rs"]
mod sheet;
#[path = "hand/verdict.rs"]
mod verdict;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use matchmark::folder::kind_of;
use matchmark::merge::{self, Marks, Merged, Three, Unread, Version};
use matchmark::yaml::{Route, Step};
use serde_json::Value;
use sheet::{Deed, Done, Is, Pen, Shape, Sheet, numbers};
use verdict::{Spot, Verdict, inside, judge, plain};

// ---------------------------------------------------------------- how it is asked

fn merged(path: &str, base: &str, ours: &str, theirs: &str) -> Result<Merged, Unread> {
    let kind = kind_of(path).unwrap();
    let bytes = |text: &str| text.as_bytes().to_vec();
    merge::merge(
        kind,
        path,
        Three {
            base: bytes(base),
            ours: bytes(ours),
            theirs: bytes(theirs),
        },
    )
}

fn marks() -> Marks {
    Marks {
        size: 7,
        names: Three {
            base: "base".to_owned(),
            ours: "ours".to_owned(),
            theirs: "theirs".to_owned(),
        },
    }
}

/// A text with markers, read back: what agrees, and the regions as base, ours, theirs
/// have them.
#[derive(Debug, PartialEq)]
enum Part {
    Agreed(String),
    Region([String; 3]),
}

fn parts(text: &str) -> Result<Vec<Part>, String> {
    let mut all = vec![Part::Agreed(String::new())];
    let mut within: Option<(usize, [String; 3])> = None;
    for line in text.split_inclusive('\n') {
        let bare = line.trim_end_matches(['\n', '\r']);
        let mark = |sign: &str, name: &str| match name {
            "" => bare == sign.repeat(7),
            name => bare == format!("{} {name}", sign.repeat(7)),
        };
        let next = match &within {
            None if mark("<", "ours") => Some(1),
            Some((1, _)) if mark("|", "base") => Some(0),
            Some((0, _)) if mark("=", "") => Some(2),
            Some((2, _)) if mark(">", "theirs") => None,
            state => {
                let is_marker = ["<", "|", "=", ">"]
                    .iter()
                    .any(|sign| bare.starts_with(&sign.repeat(7)));
                if is_marker {
                    return Err(format!("a marker out of place: {bare}"));
                }
                match (state.is_some(), &mut within) {
                    (true, Some((now, region))) => region[*now].push_str(line),
                    _ => match all.last_mut() {
                        Some(Part::Agreed(text)) => text.push_str(line),
                        _ => all.push(Part::Agreed(line.to_owned())),
                    },
                }
                continue;
            }
        };
        within = match (next, within.take()) {
            (Some(next), within) => Some((next, within.map_or_else(Default::default, |one| one.1))),
            (None, within) => {
                all.extend(within.map(|one| Part::Region(one.1)));
                None
            }
        };
    }
    match within {
        Some(_) => Err("a region without an end".to_owned()),
        None => Ok(all),
    }
}

fn taken(parts: &[Part], version: usize) -> String {
    let all = parts.iter().map(|part| match part {
        Part::Agreed(text) => text.as_str(),
        Part::Region(texts) => texts[version].as_str(),
    });
    all.collect()
}

fn read(text: &str) -> Result<Value, String> {
    let value = serde_yaml::from_str(text.trim_start_matches('\u{FEFF}'));
    match value.map_err(|why| why.to_string())? {
        Value::Null => Ok(Value::Object(serde_json::Map::new())),
        value => Ok(value),
    }
}

// ---------------------------------------------------------------- what is held to what

/// Takes out what stands at ways that more than one value is right for.
fn without(value: &Value, spots: &[Spot]) -> Value {
    let mut value = value.clone();
    for spot in spots.iter().filter(|spot| spot.open) {
        let keys: Vec<&String> = spot
            .way
            .iter()
            .take_while(|key| !key.starts_with('#'))
            .collect();
        let Some((last, above)) = keys.split_last() else {
            continue;
        };
        let mut at = Some(&mut value);
        for key in above {
            at = at.and_then(|value| value.get_mut(key.as_str()));
        }
        if let Some(Value::Object(map)) = at {
            map.shift_remove(last.as_str());
        }
    }
    value
}

/// How many lines the smallest thing takes up that has lines of its own and holds a spot.
fn extent(sheet: &Sheet, way: &[String]) -> usize {
    let mut node = &sheet.root;
    let mut lines = sheet.text().lines().count();
    for step in way {
        if node.flow {
            break;
        }
        let is_item = matches!(node.is, Is::List(_));
        let next = node
            .nodes()
            .iter()
            .find(|inner| match step.strip_prefix('#') {
                Some(number) => is_item && inner.number.to_string() == number,
                None => inner.key == *step,
            });
        match next {
            Some(next) => {
                lines = sheet.entry(next, is_item).len();
                node = next;
            }
            None => return 0,
        }
    }
    lines
}

/// The keys of a map and the items of a list, in their order.
fn sequence(value: &Value, shape: &Shape) -> Vec<String> {
    match (value, shape) {
        (Value::Object(map), _) => map.keys().cloned().collect(),
        (Value::Array(items), Shape::Items(inner)) => {
            items.iter().map(|item| plain(item, inner)).collect()
        }
        _ => Vec::new(),
    }
}

/// What is no loss of a field or a record: a stop where there was room, a region with a line
/// too many, a base that is not the merged one beside a clash, keys in another order, the same
/// in another layout. And what is known of items of lists, which have no names: one that was
/// made another by half or more beside its removal is taken for a new one, and one that both
/// changed may not be known when it is merged again.
const LIGHT: [&str; 7] = [
    "clashed, but both have room",
    "lines in regions of version",
    "as Base has it",
    "not in this order any more",
    "again, written otherwise",
    "merged, but it clashes",
    "merged with",
];

/// Whether both sides moved something.
fn both_moved(case: &Case) -> bool {
    let moved = |done: &Vec<Done>| done.iter().any(|(deed, _)| *deed == Deed::MoveRecord);
    case.done.iter().all(moved)
}

/// What stands in an order in a side still does so in what came of it, unless a side has
/// moved things there.
fn keeps_order(values: [&Value; 3], made: &Value, shape: &Shape) -> Result<(), String> {
    let [base, ours, theirs] = values.map(|value| sequence(value, shape));
    let is = sequence(made, shape);
    let only = |of: &[String], others: &[&[String]]| -> Vec<String> {
        let all = of
            .iter()
            .filter(|one| others.iter().all(|other| other.contains(*one)));
        all.cloned().collect()
    };
    let stayed = |side: &[String]| only(side, &[&base]) == only(&base, &[side]);
    if stayed(&ours) && stayed(&theirs) {
        // What both put in has the place of the one or of the other.
        let by_both =
            |one: &String| !base.contains(one) && ours.contains(one) && theirs.contains(one);
        for side in [&ours, &theirs] {
            let (mut a, mut b) = (only(side, &[&is]), only(&is, &[side]));
            a.retain(|one| !by_both(one));
            b.retain(|one| !by_both(one));
            if a != b {
                return Err(format!("not in this order any more: {a:?} but {b:?}"));
            }
        }
    }
    if let Value::Object(map) = made {
        for (key, made) in map {
            if let (Some(shape), Some(base), Some(ours), Some(theirs)) = (
                inside(shape, key),
                values[0].get(key),
                values[1].get(key),
                values[2].get(key),
            ) {
                keeps_order([base, ours, theirs], made, shape)?;
            }
        }
    }
    Ok(())
}

/// Whether a way leads to a list, or into one.
fn at_a_list(way: &Route, value: &Value) -> bool {
    let mut at = Some(value);
    for step in &way.0 {
        let Step::Key(key) = step else { return true };
        at = at.and_then(|value| value.get(key));
    }
    at.is_some_and(Value::is_array)
}

struct Case {
    sheets: [Sheet; 3],
    texts: [String; 3],
    done: [Vec<Done>; 2],
}

/// Spots that layout and comments make: both touched how one record is written.
fn touched_twice(case: &Case) -> Vec<Spot> {
    let records = |sheet: &Sheet| -> BTreeMap<String, String> {
        let all = sheet.root.nodes().iter();
        all.map(|node| (node.key.clone(), sheet.entry(node, false).join("\n")))
            .collect()
    };
    let [base, ours, theirs] = [0, 1, 2].map(|version| records(&case.sheets[version]));
    let mut spots = Vec::new();
    let sorts = |side: usize, key: &str, passes: fn(Deed) -> bool| {
        case.done[side]
            .iter()
            .any(|(deed, record)| passes(*deed) && record.as_deref().is_none_or(|one| one == key))
    };
    for key in base.keys() {
        let (was, here, there) = (base.get(key), ours.get(key), theirs.get(key));
        let has_moved = [0, 1].map(|side| {
            let moved = |(deed, _): &Done| *deed == Deed::MoveRecord;
            case.done[side].iter().any(moved)
        });
        let is_touched = [was != here || has_moved[0], was != there || has_moved[1]];
        for (side, other) in [(0, 1), (1, 0)] {
            let mut why = |why| {
                spots.push(Spot {
                    way: vec![key.clone()],
                    why,
                    must: false,
                    open: false,
                });
            };
            if !is_touched[other] {
                continue;
            }
            if sorts(side, key, |deed| deed == Deed::Reflow) {
                why("one wrote it another way");
            }
            if sorts(side, key, |deed| deed == Deed::Reindent) {
                why("one set it in otherwise");
            }
            if sorts(side, key, |deed| deed == Deed::Requote) {
                why("one wrote it in other quotes");
            }
            if sorts(side, key, Deed::is_comment) {
                why("one changed a comment");
            }
            if has_moved[side] && has_moved[other] {
                why("both moved records");
            }
        }
    }
    spots
}

/// What is wrong with a merge; nothing if it is as it must be.
#[allow(clippy::too_many_lines)]
fn wrong(case: &Case, verdict: &Verdict, light: &[Spot], tally: &mut Tally) -> Result<(), String> {
    let [base, ours, theirs] = &case.texts;
    let path = case.sheets[0].path;
    let shape = case.sheets[0].root.shape;
    let ask = |a: &str, b: &str, c: &str| {
        merged(path, a, b, c).map_err(|why| format!("can't be read: {why:?}"))
    };
    let made = ask(base, ours, theirs)?;
    let text = made.text(&marks());
    let parts = parts(&text)?;

    // Clean or not.
    let must = verdict.spots.iter().filter(|spot| spot.must).count();
    let may = verdict.spots.len() - must + light.len();
    if made.is_clean() && must > 0 {
        return Err(format!("merged, but it clashes: {:?}", verdict.spots));
    }
    if !made.is_clean() && must == 0 && may == 0 {
        return Err(format!("clashed, but both have room: {:?}", made.clashes));
    }
    let regions: Vec<&[String; 3]> = parts
        .iter()
        .filter_map(|part| match part {
            Part::Region(region) => Some(region),
            Part::Agreed(_) => None,
        })
        .collect();
    if regions.is_empty() != made.is_clean() {
        return Err(format!("{} regions, {:?}", regions.len(), made.clashes));
    }

    // Each version of what clashes is there, and all else is merged.
    for (number, version) in [Version::Base, Version::Ours, Version::Theirs]
        .into_iter()
        .enumerate()
    {
        let settled = made.settled(version);
        let value =
            read(&settled).map_err(|why| format!("{version:?} can't be read: {why}\n{settled}"))?;
        let (is, meant) = (
            plain(&without(&value, &verdict.spots), shape),
            plain(&without(&verdict.values[number], &verdict.spots), shape),
        );
        if is != meant {
            return Err(format!("as {version:?} has it\nis    {is}\nmeant {meant}"));
        }
        // As somebody would settle it by hand, who takes one side of each region.
        let by_hand = taken(&parts, number);
        // No marker stands behind a byte order mark, so that a clash in the first line has none.
        let bare = |text: &str| text.trim_start_matches('\u{FEFF}').trim_end().to_owned();
        if bare(&by_hand) != bare(&settled) {
            return Err(format!(
                "{version:?} between the markers:\n{by_hand}\nsettled:\n{settled}"
            ));
        }
    }

    // Nothing that was written is lost, nothing that was taken out comes again.
    for sign in ['v', 'c'] {
        let [base, ours, theirs] = case.texts.each_ref().map(|text| numbers(text, sign));
        let left = &(&base & &ours) & &theirs;
        let new = &(&ours - &base) | &(&theirs - &base);
        let meant = &left | &new;
        let is = numbers(&text, sign);
        let lost: Vec<_> = meant.difference(&is).collect();
        if !lost.is_empty() {
            return Err(format!("lost: {sign}{lost:?}"));
        }
        // What one side took out comes again under the name that the other gave it: a new
        // name is a thing gone and a thing come.
        let renamed = case
            .done
            .iter()
            .flatten()
            .any(|(deed, _)| *deed == Deed::Rename);
        if made.is_clean() && is != meant && may == 0 && !renamed {
            return Err(format!("came again: {sign}{:?}", is.difference(&meant)));
        }
    }

    // The other way round.
    let back = ask(base, theirs, ours)?;
    let back_parts = self::parts(&back.text(&marks()))?;
    let swapped: Vec<Part> = back_parts
        .into_iter()
        .map(|part| match part {
            Part::Region([base, ours, theirs]) => Part::Region([base, theirs, ours]),
            agreed @ Part::Agreed(_) => agreed,
        })
        .collect();
    if swapped != parts {
        return Err(format!("the other way round:\n{}", back.text(&marks())));
    }

    // One side alone, and again.
    for (a, b, c, is, what) in [
        (base, base, theirs, theirs, "theirs alone"),
        (base, ours, base, ours, "ours alone"),
        (base, ours, ours, ours, "the same twice"),
        (ours, ours, theirs, theirs, "from ours to theirs"),
    ] {
        let one = ask(a, b, c)?;
        if !one.is_clean() || one.settled(Version::Ours) != *is {
            return Err(format!("{what}:\n{}", one.text(&marks())));
        }
    }
    if made.is_clean() {
        let value = read(&text)?;
        for (side, what) in [(theirs, "theirs"), (ours, "ours")] {
            let again = ask(base, &text, side)?;
            // Items of lists have no names. One that both changed may be too unlike what it
            // was to be known again: then it is asked about, and nothing else comes of it.
            let is_at_lists = again
                .clashes
                .iter()
                .all(|clash| at_a_list(&clash.way, &value));
            let anew = again.settled(Version::Ours);
            // Of keys that both moved, and moved otherwise, there is no order to keep.
            let lines = |text: &str| {
                let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
                lines.sort_unstable();
                lines
            };
            let moved = anew != text && lines(&anew) == lines(&text);
            if moved && both_moved(case) {
                tally.again_in_order += 1;
            } else if again.is_clean()
                && read(&anew)? == value
                && numbers(&anew, 'c') == numbers(&text, 'c')
                && anew != text
            {
                return Err(format!("again, written otherwise:\n{anew}"));
            } else if anew != text || !is_at_lists {
                return Err(format!(
                    "merged with {what} again:\n{}",
                    again.text(&marks())
                ));
            }
            tally.again += 1;
            tally.again_stopped += usize::from(!again.is_clean());
        }
        let values = [base, ours, theirs].map(|text| read(text).unwrap());
        // Where one wrote it another way, no line shows the other's order.
        let is_other = |(deed, _): &Done| matches!(deed, Deed::Reflow | Deed::Reindent);
        if !case.done.iter().flatten().any(is_other) {
            keeps_order([&values[0], &values[1], &values[2]], &value, shape)?;
        }
        let ends = case.texts.each_ref().map(|text| text.contains("\r\n"));
        let ends_meant = if ends[1] == ends[2] {
            ends[1]
        } else {
            !ends[0]
        };
        let bare = text.replace("\r\n", "");
        if (text.contains("\r\n") && bare.contains('\n')) || text.contains("\r\n") != ends_meant {
            return Err("line ends of two sorts".to_owned());
        }
    }

    // Small regions, of nothing but what clashes.
    let spots: Vec<&Spot> = verdict.spots.iter().chain(light).collect();
    for (number, sheet) in case.sheets.iter().enumerate() {
        let is: usize = regions
            .iter()
            .map(|region| region[number].lines().count())
            .sum();
        let light_most = light
            .iter()
            .map(|spot| extent(sheet, &spot.way))
            .sum::<usize>();
        let most = verdict
            .spots
            .iter()
            .map(|spot| extent(sheet, &spot.way))
            .sum::<usize>()
            + light_most;
        if is > most + 2 * spots.len() {
            return Err(format!(
                "{is} lines in regions of version {number}, at most {most} clash:\n{text}"
            ));
        }
        for line in regions.iter().flat_map(|region| region[number].lines()) {
            let key = line
                .trim_start_matches('\u{FEFF}')
                .split(':')
                .next()
                .unwrap_or_default();
            let is_record = sheet.root.nodes().iter().any(|node| node.key == key);
            if is_record
                && !spots
                    .iter()
                    .any(|spot| spot.way.first().is_some_and(|first| first == key))
            {
                return Err(format!("`{key}` has nothing to do with it:\n{text}"));
            }
        }
    }

    // Beside git's own merge by lines.
    let by_lines = by_lines(base, ours, theirs);
    let is_right = by_lines.as_deref().is_some_and(|text| {
        let right = &verdict.values[1];
        must == 0 && read(text).is_ok_and(|value| plain(&value, shape) == plain(right, shape))
    });
    match (is_right, made.is_clean()) {
        (true, true) if by_lines.as_deref() == Some(&text) => tally.same_as_git += 1,
        (true, true) => tally.other_than_git += 1,
        (true, false) => {
            tally.worse_than_git += 1;
            if light.is_empty() && verdict.spots.is_empty() {
                return Err("git merges it".to_owned());
            }
        }
        (false, true) if by_lines.is_none() => tally.better_than_git += 1,
        (false, true) => tally.git_was_wrong += 1,
        (false, false) if by_lines.is_some() => tally.git_was_silent += 1,
        _ => tally.neither += 1,
    }
    match (must > 0, may > 0, made.is_clean()) {
        (true, _, _) => tally.clashed += 1,
        (false, false, _) => tally.merged += 1,
        (false, true, true) => tally.may_merged += 1,
        (false, true, false) => {
            tally.may_clashed += 1;
            for why in spots.iter().map(|spot| spot.why).collect::<BTreeSet<_>>() {
                *tally.may_why.entry(why).or_default() += 1;
            }
        }
    }
    for why in verdict
        .spots
        .iter()
        .filter(|spot| spot.must)
        .map(|spot| spot.why)
    {
        *tally.why.entry(why).or_default() += 1;
    }
    Ok(())
}

/// What git makes of it, line by line; none where it finds a conflict.
fn by_lines(base: &str, ours: &str, theirs: &str) -> Option<String> {
    // The library has to be awake first.
    let _ = git2::Config::new();
    let (mut a, mut b, mut c) = (
        git2::MergeFileInput::new(),
        git2::MergeFileInput::new(),
        git2::MergeFileInput::new(),
    );
    a.content(base.as_bytes());
    b.content(ours.as_bytes());
    c.content(theirs.as_bytes());
    let made = git2::merge_file(&a, &b, &c, None).unwrap();
    made.is_automergeable()
        .then(|| String::from_utf8(made.content().to_vec()).unwrap())
}

#[derive(Debug, Default)]
struct Tally {
    deeds: BTreeMap<Deed, usize>,
    merged: usize,
    clashed: usize,
    may_merged: usize,
    may_clashed: usize,
    why: BTreeMap<&'static str, usize>,
    may_why: BTreeMap<&'static str, usize>,
    same_as_git: usize,
    other_than_git: usize,
    worse_than_git: usize,
    better_than_git: usize,
    git_was_wrong: usize,
    git_was_silent: usize,
    neither: usize,
    again: usize,
    again_stopped: usize,
    again_in_order: usize,
}

/// How many random cases, at least so many: `PROPTEST_CASES` asks for more.
fn many(least: usize) -> usize {
    let cases = std::env::var("PROPTEST_CASES").ok();
    let cases = cases.and_then(|cases| cases.parse().ok()).unwrap_or(0);
    least.max(cases)
}

fn a_case(seed: u64, tally: &mut Tally) -> Case {
    let mut pen = Pen::new(seed);
    let mut base = pen.sheet();
    let mut both = base.clone();
    let near = base.root.nodes().first().map(|node| node.key.clone());
    let near = near.filter(|_| pen.dice.below(3) > 0);
    // What both did alike.
    if pen.dice.below(5) == 0 {
        let done = both.edit(&mut pen, near.as_deref());
        // A change of the whole file's layout that both made is as if it had stood so.
        if done.as_ref().is_some_and(|(deed, _)| deed.is_layout()) {
            base = both.clone();
        }
    }
    let mut done = [Vec::new(), Vec::new()];
    let sides = [0, 1].map(|side| {
        let mut sheet = both.clone();
        let many = [1, 1, 1, 2, 2, 3, 5, 8][pen.dice.below(8)];
        for _ in 0..4 * many {
            if done[side].len() == many {
                break;
            }
            if let Some(one) = sheet.edit(&mut pen, near.as_deref()) {
                *tally.deeds.entry(one.0).or_default() += 1;
                done[side].push(one);
            }
        }
        sheet
    });
    let [ours, theirs] = sides;
    let sheets = [base, ours, theirs];
    let texts = sheets.each_ref().map(Sheet::text);
    Case {
        sheets,
        texts,
        done,
    }
}

/// A case by its number, what is wrong with it, and what it is.
type Failure = (u64, String, Case);

#[test]
fn every_merge_is_what_the_model_says() {
    let mut tally = Tally::default();
    let mut failures: Vec<Failure> = Vec::new();
    let only = std::env::var("CASE")
        .ok()
        .and_then(|case| case.parse().ok());
    let cases = match only {
        Some(case) => case..case + 1,
        None => 0..many(250) as u64,
    };
    for seed in cases.clone() {
        let case = a_case(seed, &mut tally);
        for (sheet, text) in case.sheets.iter().zip(&case.texts) {
            let (is, meant) = (read(text).unwrap(), sheet.root.value());
            let shape = sheet.root.shape;
            assert_eq!(plain(&is, shape), plain(&meant, shape), "{text}");
        }
        let verdict = judge(&case.sheets[0], &case.sheets[1], &case.sheets[2]);
        let light = touched_twice(&case);
        if let Err(why) = wrong(&case, &verdict, &light, &mut tally) {
            failures.push((seed, why, case));
        }
    }
    println!(
        "{} merges, {} wrong: {tally:#?}",
        cases.end - cases.start,
        failures.len()
    );
    let size = |(_, _, case): &Failure| case.texts.iter().map(String::len).sum::<usize>();
    failures.sort_by_key(size);
    // The smallest of each sort; `ALL=1` tells all.
    let most = if std::env::var("ALL").is_ok() {
        failures.len()
    } else {
        2
    };
    let mut sorts: BTreeMap<String, Vec<&Failure>> = BTreeMap::new();
    for failure in &failures {
        let sort = failure.1.split([':', '\n']).next().unwrap_or_default();
        sorts.entry(sort.to_owned()).or_default().push(failure);
    }
    let mut told = String::new();
    for (sort, all) in &sorts {
        for (seed, why, case) in all.iter().take(most) {
            let [base, ours, theirs] = &case.texts;
            let _ = writeln!(
                told,
                "==== {sort}: {}; CASE={seed} {} {:?}\n--- base\n{base}\n--- ours\n{ours}\n--- theirs\n{theirs}\n--- {why}",
                all.len(),
                case.sheets[0].path,
                case.done,
            );
        }
    }
    // What costs a look and loses nothing may be, rarely: it is counted and bounded.
    let light = |sort: &String| LIGHT.iter().any(|light| sort.contains(light));
    let heavy = sorts.keys().any(|sort| !light(sort));
    println!("{} of {}: {told}", failures.len(), cases.end - cases.start);
    assert!(!heavy, "{told}");
    assert!(
        failures.len() * 100 <= (cases.end - cases.start) as usize,
        "{told}"
    );
    assert!(
        only.is_some() || tally.again_stopped * 50 < tally.again,
        "{} of {} could not be merged again",
        tally.again_stopped,
        tally.again
    );
}

// ---------------------------------------------------------------- case by case

/// What is said of a merge: each clash, its way and how; or which version can't be read.
fn said(made: &Result<Merged, Unread>) -> String {
    match made {
        Err(unread) => format!("{:?} can't be read: {}\n", unread.version, unread.why),
        Ok(made) if made.is_clean() => "clean\n".to_owned(),
        Ok(made) => {
            let lines = made.clashes.iter().map(|clash| {
                let steps = clash.way.0.iter().map(|step| match step {
                    Step::Key(key) => format!("/{key}"),
                    Step::Index(index) => format!("/{index}"),
                });
                format!("{}: {:?}\n", steps.collect::<String>(), clash.how)
            });
            lines.collect()
        }
    }
}

fn folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/merging");
    let mut all: Vec<PathBuf> = std::fs::read_dir(root)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    all.sort();
    assert!(all.len() > 40);
    all
}

/// Each folder of `tests/merging` is a case: `base.yaml`, `ours.yaml`, `theirs.yaml`, what
/// they come to in `merged.yaml` (none where one can't be read), what is said of it in
/// `said.txt`, and in `why.txt` the kind of the records and what the case is about.
/// The sign `␍` stands for a carriage return.
/// `UPDATE=1` fills in `merged.yaml` and `said.txt`, to be read before they are kept.
#[test]
fn cases() {
    let update = std::env::var("UPDATE").is_ok_and(|value| value == "1");
    let mut wrong = String::new();
    for folder in folders() {
        let file = |name: &str| {
            let text = std::fs::read_to_string(folder.join(name)).unwrap_or_default();
            text.replace('\u{240D}', "\r")
        };
        let why = file("why.txt");
        let (kind, _) = why
            .split_once(": ")
            .expect("`why.txt` begins with the kind");
        let path = match kind {
            "build" => "build.yaml".to_owned(),
            kind => format!("{kind}/all.yaml"),
        };
        let [base, ours, theirs] = ["base.yaml", "ours.yaml", "theirs.yaml"].map(file);
        let made = merged(&path, &base, &ours, &theirs);
        let text = made
            .as_ref()
            .map(|made| made.text(&marks()))
            .unwrap_or_default();
        let said = said(&made);
        let name = folder.file_name().unwrap().to_str().unwrap();
        if update {
            if made.is_ok() {
                let text = text.replace('\r', "\u{240D}");
                std::fs::write(folder.join("merged.yaml"), text).unwrap();
            }
            std::fs::write(folder.join("said.txt"), &said).unwrap();
            continue;
        }
        if (&text, &said) != (&file("merged.yaml"), &file("said.txt")) {
            let _ = writeln!(
                wrong,
                "==== {name}: {why}---- is\n{text}{said}---- meant\n{}{}",
                file("merged.yaml"),
                file("said.txt")
            );
        }
        // The other way round it clashes at the same ways, and a clean text is the same.
        let back = merged(&path, &base, &theirs, &ours);
        match (&made, &back) {
            (Ok(made), Ok(back)) => {
                let ways = |merged: &Merged| -> BTreeSet<Route> {
                    merged.clashes.iter().map(|one| one.way.clone()).collect()
                };
                let turned = [
                    (Version::Base, Version::Base),
                    (Version::Ours, Version::Theirs),
                    (Version::Theirs, Version::Ours),
                ];
                if ways(made) != ways(back)
                    || turned
                        .iter()
                        .any(|(here, there)| made.settled(*here) != back.settled(*there))
                {
                    let back = back.text(&marks());
                    let _ = writeln!(wrong, "==== {name}, the other way round: {why}{back}");
                }
            }
            (Err(_), Err(_)) => {}
            _ => panic!("{name}: only one way round can be read"),
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

// ---------------------------------------------------------------- the schema

/// What the schema says of the field that a way of keys leads to.
fn in_schema<'a>(root: &'a Value, way: &str) -> Vec<&'a Value> {
    fn followed<'a>(root: &'a Value, mut at: &'a Value) -> Vec<&'a Value> {
        let mut all = Vec::new();
        while let Some(to) = at.get("$ref").and_then(Value::as_str) {
            all.push(at);
            at = root.pointer(to.trim_start_matches('#')).unwrap();
        }
        all.push(at);
        for choice in ["anyOf", "oneOf", "allOf"] {
            for one in at
                .get(choice)
                .and_then(Value::as_array)
                .into_iter()
                .flatten()
            {
                all.extend(followed(root, one));
            }
        }
        all
    }
    let mut at = root;
    for step in way.split('/').skip(1) {
        at = followed(root, at)
            .into_iter()
            .find_map(|at| match step {
                "*" => at
                    .get("items")
                    .or_else(|| at.get("additionalProperties").filter(|one| one.is_object())),
                key => at.get("properties")?.get(key),
            })
            .unwrap_or_else(|| panic!("no schema for `{step}` of {way}"));
    }
    followed(root, at)
}

/// Which lists are one value is written in the schema; our own table was made without it.
#[test]
fn the_schema_says_the_same_of_lists() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema");
    let ordered = sheet::ordered_fields();
    let mut differ = Vec::new();
    for (path, way) in sheet::list_fields() {
        let kind = path.split(['/', '.']).next().unwrap();
        let text = std::fs::read_to_string(folder.join(format!("{kind}.json"))).unwrap();
        let schema: Value = serde_json::from_str(&text).unwrap();
        let is_so = |at: &&Value| at.get("x-in-order") == Some(&Value::Bool(true));
        let says = in_schema(&schema, &way).iter().any(is_so);
        if says != ordered.contains(&(path, way.clone())) {
            differ.push(format!("{path} {way}: the schema says {says}"));
        }
    }
    assert!(differ.is_empty(), "{differ:#?}");
}
