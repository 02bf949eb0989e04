//! What is found between two states of a build is all that differs and nothing else: for
//! thousands of edits as people make them, on the text of the files.
//!
//! What the states hold is said by another reader of YAML (serde_yaml, over libyaml); what
//! the steps come to by another implementation of RFC 6902 (the crate json-patch).

#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

mod dice;
mod hand;

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use dice::Dice;
use hand::edits::{
    self, EDITS, File, Meant, TO_OTHER, is_scalar, library, one_edit, pointers, put, records,
    some_files,
};
use json_patch::PatchOperation;
use matchmark::changes::diff::{Diff, Edit};
use matchmark::changes::tell::{self, Deed};
use matchmark::changes::{Name, RecordChange, Records, compare};
use matchmark::folder::kind_of;
use matchmark::model::Kind;
use serde_json::{Map, Value, json};

// ---------------------------------------------------------------- the judge

/// Takes the steps of one record, one after another, by json-patch; each `was` is what
/// stands there.
fn stepped(before: &Value, edits: &[Edit]) -> Value {
    let mut value = before.clone();
    for edit in edits {
        let (operation, stood) = match edit {
            Edit::Add { path, value } => (json!({"op": "add", "path": path, "value": value}), None),
            Edit::Remove { path, was } => (
                json!({"op": "remove", "path": path, "was": was}),
                Some((path, was)),
            ),
            Edit::Replace { path, value, was } => (
                json!({"op": "replace", "path": path, "value": value, "was": was}),
                Some((path, was)),
            ),
            Edit::Move { path, from } => {
                assert_ne!(path, from);
                (json!({"op": "move", "path": path, "from": from}), None)
            }
        };
        if let Some((path, was)) = stood {
            assert_eq!(value.pointer(path), Some(was), "what stood at {path}");
        }
        if let Edit::Replace { path, value, was } = edit {
            assert_ne!(was, value, "nothing changed at {path}");
        }
        let before = value.clone();
        let operation: PatchOperation = serde_json::from_value(operation).unwrap();
        json_patch::patch(&mut value, &[operation]).unwrap();
        assert_ne!(before, value, "a step that changes nothing: {edit:?}");
    }
    value
}

/// The new state, made of the old one and what was found.
fn applied(old: &Records, changes: &[RecordChange]) -> Records {
    let mut new = old.clone();
    let mut put = Vec::new();
    for change in changes {
        let from = Name {
            kind: change.name.kind,
            id: change.was_id.clone().unwrap_or(change.name.id.clone()),
        };
        let edits = change.diff.as_ref().map(Diff::edits).unwrap_or_default();
        match (&change.before, &change.after) {
            (None, Some(after)) => {
                assert!(!old.contains_key(&from), "{from} is not new");
                assert_eq!(change.was_id, None);
                assert_eq!(
                    edits,
                    [Edit::Add {
                        path: String::new(),
                        value: after.clone()
                    }]
                );
                put.push((change.name.clone(), after.clone()));
            }
            (Some(before), after) => {
                let stood = new.remove(&from);
                assert_eq!(stood.as_ref(), Some(before), "{from} before");
                let Some(after) = after else {
                    assert_eq!(change.was_id, None);
                    assert_eq!(
                        edits,
                        [Edit::Remove {
                            path: String::new(),
                            was: before.clone()
                        }]
                    );
                    continue;
                };
                assert!(change.was_id.is_some() || !edits.is_empty());
                let made = stepped(before, &edits);
                assert_eq!(&made, after, "{} after {edits:?}", change.name);
                put.push((change.name.clone(), made));
            }
            (None, None) => panic!("{} was never there", change.name),
        }
    }
    for (name, value) in put {
        let had = new.insert(name.clone(), value);
        assert!(had.is_none(), "{name} was there already");
    }
    new
}

/// All names that a comparison speaks of.
fn named(changes: &[RecordChange]) -> BTreeSet<Name> {
    let was = changes.iter().filter_map(|change| {
        Some(Name {
            kind: change.name.kind,
            id: change.was_id.clone()?,
        })
    });
    let is = changes.iter().map(|change| change.name.clone());
    was.chain(is).collect()
}

/// Holds what is found between two states to what differs.
fn judge(old: &[File], new: &[File], meant: &Meant, tally: &mut Tally) {
    let (since, until) = (
        records(old, |file| &file.ours),
        records(new, |file| &file.ours),
    );
    let changes = compare(&since, &until);

    // The old state and the changes make the new one, by the other reader too.
    let (was, is) = (
        records(old, |file| &file.theirs),
        records(new, |file| &file.theirs),
    );
    assert_eq!(applied(&was, &changes), is);
    let names: BTreeSet<&Name> = was.keys().chain(is.keys()).collect();
    let differ: BTreeSet<Name> = names
        .into_iter()
        .filter(|name| was.get(*name) != is.get(*name))
        .cloned()
        .collect();
    assert_eq!(named(&changes), differ);
    tally.renamed += changes.iter().filter(|one| one.was_id.is_some()).count();

    // Nothing where nothing changed; one step where one was made.
    match meant {
        Meant::Nothing => assert_eq!(changes, []),
        Meant::One(name, edit) => {
            assert_eq!(changes.len(), 1);
            assert_eq!(&changes[0].name, name);
            let edits = changes[0].diff.as_ref().unwrap().edits();
            assert_eq!(edits, std::slice::from_ref(edit));
        }
        Meant::Something => assert_ne!(changes, []),
        Meant::Anything => {}
    }

    // Only what differs is needed to tell it.
    let only = |state: &Records| -> Records {
        let some = state.iter().filter(|(name, _)| differ.contains(name));
        some.map(|(name, value)| (name.clone(), value.clone()))
            .collect()
    };
    assert_eq!(compare(&only(&since), &only(&until)), changes);

    // The other way round, and with itself.
    let back = compare(&until, &since);
    assert_eq!(named(&back), differ);
    assert_eq!(applied(&is, &back), was);
    assert_eq!(compare(&until, &until), []);

    told(&changes, tally);
}

/// Every leaf is told, and what is told is a leaf.
fn told(changes: &[RecordChange], tally: &mut Tally) {
    let told = tell::tell(changes);
    let mut left: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for (number, change) in changes.iter().enumerate() {
        let numbers = change.numbers();
        let all: BTreeSet<usize> = numbers.iter().copied().collect();
        assert_eq!(all.len(), numbers.len(), "a number twice");
        assert_eq!(all, (0..numbers.len()).collect(), "numbers in their order");
        left.insert(number, all);
    }
    let leaves = left.clone();
    let mut spoken: BTreeSet<usize> = BTreeSet::new();
    for one in &told {
        *tally.deeds.entry(one.deed.word()).or_default() += 1;
        assert!(!one.about.is_empty(), "{one:?}");
        let Some(number) = one.change else { continue };
        spoken.insert(number);
        for leaf in &one.leaves {
            assert!(leaves[&number].contains(leaf), "no leaf: {one:?}");
            left.get_mut(&number).unwrap().remove(leaf);
        }
        match one.deed {
            Deed::Renamed => {
                let change = &changes[number];
                let is_renaming = |leaf: &usize| change.diff.as_ref().unwrap().is_renaming(*leaf);
                // The record itself, or something in it that has a name.
                let is_so = match one.leaves.as_slice() {
                    [] => change.was_id.is_some(),
                    leaves => leaves.iter().all(is_renaming),
                };
                assert!(is_so, "{one:?}");
            }
            Deed::SameFigure => {
                let [leaf] = one.leaves.as_slice() else {
                    panic!("one figure at a time: {one:?}");
                };
                let diff = changes[number].diff.as_ref().unwrap();
                let (was, is) = texts_at(diff, *leaf).unwrap();
                assert!(is_rounded(&was, &is), "{was} is not {is}");
            }
            _ => {}
        }
    }
    for (number, left) in &left {
        assert!(
            left.is_empty(),
            "not told of {:?}: {left:?}",
            changes[*number]
        );
        assert!(spoken.contains(number), "not told: {:?}", changes[*number]);
    }
    // A headline of anything is a line, and of the width that was asked for if there is room.
    let line = tell::headline(&told, 72);
    assert_eq!(line.is_empty(), told.is_empty());
    assert!(!line.contains('\n'), "{line:?}");
}

/// The texts before and after of a leaf.
fn texts_at(diff: &Diff, number: usize) -> Option<(String, String)> {
    match diff {
        Diff::Leaf(leaf) if leaf.number == number => {
            let text = |value: &Option<Value>| Some(value.as_ref()?.as_str()?.to_owned());
            Some((text(&leaf.was)?, text(&leaf.is)?))
        }
        Diff::Leaf(_) => None,
        Diff::Map(changed) => {
            let inner = changed.iter().filter_map(|one| one.diff.as_ref());
            inner.into_iter().find_map(|diff| texts_at(diff, number))
        }
        Diff::List(items) => {
            let inner = items.iter().filter_map(|one| one.diff.as_ref());
            inner.into_iter().find_map(|diff| texts_at(diff, number))
        }
    }
}

/// Whether two figures are the same to the last digit of the coarser (ISO 80000-1, annex
/// B, on rounding).
fn is_rounded(was: &str, is: &str) -> bool {
    let parsed = |text: &str| {
        let (figure, unit) = text.split_once(' ')?;
        let digits = figure.split_once('.').map_or(0, |(_, part)| part.len());
        let to_base = TO_OTHER.iter().find_map(|(from, times, to)| match unit {
            _ if unit == *from => Some(1.0),
            _ if unit == *to => Some(1.0 / times),
            _ => None,
        })?;
        let last = 10_f64.powi(-i32::try_from(digits).ok()?);
        Some((figure.parse::<f64>().ok()? * to_base, last * to_base))
    };
    match (parsed(was), parsed(is)) {
        (Some((was, one)), Some((is, other))) => (was - is).abs() <= one.max(other) * 0.500_001,
        _ => false,
    }
}

#[derive(Debug, Default)]
struct Tally {
    edits: [usize; EDITS],
    nothing: usize,
    one: usize,
    several: usize,
    renamed: usize,
    deeds: BTreeMap<&'static str, usize>,
}

/// How many random cases, at least so many: `PROPTEST_CASES` asks for more.
fn many(least: usize) -> usize {
    let cases = std::env::var("PROPTEST_CASES").ok();
    let cases = cases.and_then(|cases| cases.parse().ok()).unwrap_or(0);
    least.max(cases)
}

#[test]
fn what_is_told_makes_the_new_state_of_the_old() {
    let library = library();
    let mut tally = Tally::default();
    let cases = many(250);
    for case in 0..cases {
        // Each case for itself, so that one can be looked at alone.
        let mut dice = Dice(0x9E37_79B9_7F4A_7C15 ^ ((case as u64 + 1) << 20));
        (0..8).for_each(|_| {
            dice.below(2);
        });
        let old = some_files(&library, &mut dice);
        let mut new = old.clone();
        let many = [1, 1, 1, 1, 2, 3, 5, 20][dice.below(8)];
        let mut meant = Vec::new();
        let mut made = Vec::new();
        while meant.len() < many {
            let what = dice.below(EDITS);
            if let Some(one) = one_edit(what, &mut new, &mut dice) {
                tally.edits[what] += 1;
                meant.push(one);
                made.push(what);
            }
            // With its last field a `build.yaml` goes as a whole.
            let all = new.len();
            new.retain(|file| !file.theirs.is_empty() || file.kind() != Kind::Build);
            if let (true, Some(last)) = (new.len() < all, meant.last_mut()) {
                *last = Meant::Something;
            }
            if new.iter().all(|file| file.theirs.is_empty()) {
                break;
            }
        }
        let meant = match meant.as_slice() {
            [one] => one.clone(),
            all if all.iter().all(|one| *one == Meant::Nothing) => Meant::Nothing,
            _ => Meant::Anything,
        };
        match &meant {
            Meant::Nothing => tally.nothing += 1,
            Meant::One(..) => tally.one += 1,
            _ => tally.several += 1,
        }
        let caught = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
            judge(&old, &new, &meant, &mut tally);
        }));
        assert!(
            caught.is_ok(),
            "case {case}: edits {made:?}, meant {meant:?}"
        );
    }
    println!("{cases} cases: {tally:?}");
    assert!(tally.edits.iter().all(|many| *many > 0), "{tally:?}");
    for many in [tally.nothing, tally.one, tally.several, tally.renamed] {
        assert!(many > cases / 30, "{tally:?}");
    }
    for deed in [Deed::SameFigure, Deed::Followed, Deed::Renamed] {
        assert!(tally.deeds.contains_key(deed.word()), "{tally:?}");
    }
}

// ---------------------------------------------------------------- renamings

/// Of one kind: renamings that were found, those not found of records that stayed as they
/// were and of others, and records taken for another one.
#[derive(Debug, Default, Clone, Copy)]
struct Renamings {
    found: usize,
    missed: usize,
    missed_changed: usize,
    wrong: usize,
}

/// Changes one field of a record to what another record has there, or takes it out.
fn touch(record: &mut Value, other: &Value, dice: &mut Dice) {
    let mut all = Vec::new();
    pointers(record, "", &mut all);
    all.retain(|at| {
        let above = at.rsplit_once('/').unwrap().0;
        is_scalar(record.pointer(at).unwrap()) && record.pointer(above).unwrap().is_object()
    });
    if all.is_empty() {
        return;
    }
    let at = &all[dice.below(all.len())];
    let value = other.pointer(at).cloned();
    put(record, at, value.filter(|_| dice.below(3) > 0));
}

/// Evenings on which some records get another id, some of these a changed field or two,
/// some go and others come.
fn evenings(kind: Kind, all: &[Value], many: usize, dice: &mut Dice) -> Renamings {
    let mut tally = Renamings::default();
    for _ in 0..many {
        let (mut since, mut until) = (Records::new(), Records::new());
        let mut at = dice.below(all.len());
        let mut next = |dice: &mut Dice| {
            // Most that are touched together stand together; no record comes twice.
            let far = if all.len() < 150 { 1 } else { 9 };
            at = (at + 1 + dice.below(2) * dice.below(far)) % all.len();
            all[at].clone()
        };
        let name = |id: String| Name { kind, id };
        let mut renamed = BTreeMap::new();
        for number in 0..1 + dice.below(3) {
            let mut record = next(dice);
            let (was, is) = (format!("{number}-old"), format!("{number}-other"));
            since.insert(name(was.clone()), record.clone());
            let touched = [0, 0, 1, 2][dice.below(4)];
            for _ in 0..touched {
                touch(&mut record, &all[dice.below(all.len())], dice);
            }
            until.insert(name(is.clone()), record);
            renamed.insert(is, (was, touched));
        }
        for number in 0..dice.below(4) {
            since.insert(name(format!("{number}-gone")), next(dice));
        }
        for number in 0..dice.below(6) {
            until.insert(name(format!("{number}-new")), next(dice));
        }
        for change in compare(&since, &until) {
            let Some(was) = change.was_id else { continue };
            match renamed.remove(&change.name.id) {
                Some((truly, _)) if truly == was => tally.found += 1,
                // Nor is the right one found then.
                _ => tally.wrong += 1,
            }
        }
        for (_, touched) in renamed.values() {
            match touched {
                0 => tally.missed += 1,
                _ => tally.missed_changed += 1,
            }
        }
    }
    tally
}

/// Most renamings are found and hardly any two records are taken for one. `RENAMED_IN`
/// names another build folder to look at.
#[test]
fn renamed_records_are_told_from_new_ones() {
    let mut of: BTreeMap<Kind, Vec<Value>> = BTreeMap::new();
    if let Some(folder) = std::env::var_os("RENAMED_IN") {
        for file in matchmark::shell::disk::yaml_files(Path::new(&folder)).unwrap() {
            let matchmark::folder::Content::Bytes(bytes) = file.content else {
                continue;
            };
            let (Some(kind), Ok(text)) = (kind_of(&file.path), String::from_utf8(bytes)) else {
                continue;
            };
            of.entry(kind)
                .or_default()
                .extend(edits::theirs(&text).unwrap().into_values());
        }
    } else {
        for file in library() {
            of.entry(file.kind())
                .or_default()
                .extend(file.theirs.into_values());
        }
    }
    for all in of.values_mut() {
        // Nobody could tell which of two twins it is.
        let mut seen = BTreeSet::new();
        all.retain(|value| {
            !value.as_object().is_none_or(Map::is_empty) && seen.insert(value.to_string())
        });
    }
    let mut dice = Dice(77);
    let mut sum = Renamings::default();
    // Fewer can't be drawn from without drawing one twice.
    for (kind, all) in of
        .iter()
        .filter(|(kind, all)| all.len() > 11 && **kind != Kind::Build)
    {
        let tally = evenings(*kind, all, many(100).min(2000), &mut dice);
        println!("{:12} of {:5}: {tally:?}", kind.folder(), all.len());
        sum.found += tally.found;
        sum.missed += tally.missed;
        sum.missed_changed += tally.missed_changed;
        sum.wrong += tally.wrong;
    }
    println!("{sum:?}");
    assert_eq!(sum.missed, 0, "{sum:?}");
    // Fixtures of two or three fields are the hard case; in a build of ten thousand records
    // it was one of two hundred that was wrong, and none in four hundred that was missed.
    assert!(sum.wrong * 20 < sum.found, "{sum:?}");
    assert!(sum.missed_changed * 5 < sum.found, "{sum:?}");
}

/// Many gone and as many new: each is compared with a few, not with all.
#[test]
fn thousands_of_renamings_are_found_at_once() {
    let (mut since, mut until) = (Records::new(), Records::new());
    let kind = Kind::Fasteners;
    for number in 0..many(2000).min(10_000) {
        let bolt = json!({
            "form": "bolt",
            "thread": format!("M{}", 4 + number % 9),
            "length": format!("{} mm", 10 + number % 40),
            "have": number % 7,
            "kept-in": format!("box {}", number / 20),
            "note": format!("from lot {number}"),
        });
        let name = |id: String| Name { kind, id };
        since.insert(name(format!("a-{number}")), bolt.clone());
        until.insert(name(format!("b-{number}")), bolt);
    }
    let begun = std::time::Instant::now();
    let changes = compare(&since, &until);
    println!("{} in {:?}", changes.len(), begun.elapsed());
    assert!(changes.iter().all(|one| one.was_id.is_some()));
}
