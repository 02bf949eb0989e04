//! Files of records, and edits of them as people make them.

use std::path::Path;

use matchmark::changes::diff::Edit;
use matchmark::changes::{Name, Records};
use matchmark::folder::kind_of;
use matchmark::model::Kind;
use matchmark::source::Source;
use matchmark::yaml::{self, Route, edit};
use serde_json::{Map, Value, json};

use super::Hand;
use crate::dice::Dice;

/// A file of records, and what each of two readers makes of it.
#[derive(Debug, Clone)]
pub struct File {
    pub path: String,
    pub text: String,
    pub ours: Map<String, Value>,
    pub theirs: Map<String, Value>,
    /// In somebody's own hand still, so that a change is made in its text.
    as_written: bool,
}

pub fn theirs(text: &str) -> Option<Map<String, Value>> {
    match serde_yaml::from_str(text.trim_start_matches('\u{FEFF}')).ok()? {
        Value::Null => Some(Map::new()),
        Value::Object(map) => Some(map),
        _ => None,
    }
}

fn ours(path: &str, text: &str) -> Option<Map<String, Value>> {
    let reading = yaml::read(Source::new(path, text));
    let root = match &reading.tree.root {
        Some(root) => root.to_json(&reading.source),
        None => json!({}),
    };
    match root {
        Value::Object(map) if reading.problems.is_empty() => Some(map),
        Value::Null => Some(Map::new()),
        _ => None,
    }
}

impl File {
    pub fn new(path: &str, text: String, as_written: bool) -> Option<Self> {
        let (ours, theirs) = (ours(path, &text)?, theirs(&text)?);
        assert_eq!(ours, theirs, "two readers of\n{text}");
        Some(Self {
            path: path.to_owned(),
            text,
            ours,
            theirs,
            as_written,
        })
    }

    pub fn kind(&self) -> Kind {
        kind_of(&self.path).unwrap()
    }

    /// The file with other records, in the hand of somebody.
    fn rewritten(&self, path: &str, records: &Map<String, Value>, dice: &mut Dice) -> Self {
        let text = Hand::any(dice).writes(records, dice);
        let file = Self::new(path, text, false);
        let file = file.unwrap_or_else(|| panic!("no YAML came of {records:?}"));
        assert_eq!(&file.theirs, records, "written as\n{}", file.text);
        file
    }

    /// The file with one value changed in its text, or rewritten where that is not safe.
    fn set(&mut self, pointer: &str, value: Option<Value>, dice: &mut Dice) {
        let mut records = Value::Object(self.theirs.clone());
        put(&mut records, pointer, value.clone());
        let Value::Object(records) = records else {
            return;
        };
        if self.as_written {
            let reading = yaml::read(Source::new(&*self.path, &*self.text));
            let way = Route::from_pointer(pointer, &reading.tree);
            let edit = match value {
                Some(value) => edit::Edit::Set { way, value },
                None => edit::Edit::Remove { way },
            };
            if let Ok(text) = edit::apply(&reading, &[edit])
                && let Some(file) = Self::new(&self.path, text, true)
                && file.theirs == records
            {
                *self = file;
                return;
            }
        }
        *self = self.rewritten(&self.path.clone(), &records, dice);
    }
}

fn step(key: &str) -> String {
    format!("/{}", key.replace('~', "~0").replace('/', "~1"))
}

fn unstep(step: &str) -> String {
    step.replace("~1", "/").replace("~0", "~")
}

/// Puts a value into a map or list, or takes it out.
pub fn put(root: &mut Value, pointer: &str, value: Option<Value>) {
    let (above, last) = pointer.rsplit_once('/').unwrap();
    match (root.pointer_mut(above).unwrap(), value) {
        (Value::Object(map), Some(value)) => {
            map.insert(unstep(last), value);
        }
        (Value::Object(map), None) => {
            map.shift_remove(&unstep(last));
        }
        (Value::Array(items), Some(value)) => items[last.parse::<usize>().unwrap()] = value,
        (Value::Array(items), None) => {
            items.remove(last.parse().unwrap());
        }
        _ => panic!("nothing lies at {pointer}"),
    }
}

pub fn records(files: &[File], of: impl Fn(&File) -> &Map<String, Value>) -> Records {
    let mut all = Records::new();
    for file in files {
        let kind = file.kind();
        if kind == Kind::Build {
            let id = "build".to_owned();
            all.insert(Name { kind, id }, Value::Object(of(file).clone()));
            continue;
        }
        for (id, value) in of(file) {
            let id = id.clone();
            let had = all.insert(Name { kind, id }, value.clone());
            assert!(had.is_none(), "an id stands twice");
        }
    }
    all
}

/// The files of the example and of `tests/schema/valid`, as the two readers read them.
pub fn library() -> Vec<File> {
    fn walk(folder: &Path, found: &mut Vec<std::path::PathBuf>) {
        let mut inside: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .collect();
        inside.sort();
        for path in inside {
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "yaml") {
                found.push(path);
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    for folder in ["example-build", "tests/schema/valid"] {
        walk(&root.join(folder), &mut found);
    }
    let mut files = Vec::new();
    for path in found {
        let text = std::fs::read_to_string(&path).unwrap();
        let file = match path.strip_prefix(root.join("example-build")) {
            Ok(inner) => inner.to_str().unwrap().to_owned(),
            Err(_) => {
                let name = path.file_name().unwrap().to_str().unwrap();
                let (kind, rest) = name.split_once('-').unwrap();
                match kind {
                    "build" => "build.yaml".to_owned(),
                    _ => format!("{kind}/{rest}"),
                }
            }
        };
        // What the two read as something else is for `tests/reading.rs`.
        if let (Some(a), Some(b)) = (ours(&file, &text), theirs(&text))
            && a == b
        {
            files.extend(File::new(&file, text, true));
        }
    }
    assert!(files.len() > 100, "only {} files", files.len());
    files
}

/// A few files that make one state: no path and no id of a kind twice.
pub fn some_files(library: &[File], dice: &mut Dice) -> Vec<File> {
    let mut files: Vec<File> = Vec::new();
    for _ in 0..3 + dice.below(5) {
        let file = &library[dice.below(library.len())];
        let clash = files.iter().any(|other| {
            other.path == file.path
                || other.kind() == file.kind()
                    && other.theirs.keys().any(|id| file.theirs.contains_key(id))
        });
        if !clash {
            files.push(file.clone());
        }
    }
    files
}

// ---------------------------------------------------------------- edits

/// What an edit comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Meant {
    /// Nothing: the build is the same.
    Nothing,
    /// This one step, in this record.
    One(Name, Edit),
    /// Something.
    Something,
    /// This or that, and it may be nothing.
    Anything,
}

fn texts(dice: &mut Dice) -> Value {
    let all = [
        json!("engine/head"),
        json!("box #3: the \"long\" one"),
        json!("no"),
        json!("0123"),
        json!("24 N·m"),
        json!("größer\u{85}\u{2028}"),
        json!(""),
        json!("- x"),
        json!("~1/~0/a"),
        json!("2026-03-01"),
        json!("as it came off, with the old gasket still on the face of the block and oil in it"),
        json!("first line\nsecond line\n\nfourth: line\n"),
        json!("\u{1b}[31m{flow}, [too]"),
        json!(12),
        json!(-1.5),
        json!(true),
        json!(null),
    ];
    all[dice.below(all.len())].clone()
}

fn any_value(dice: &mut Dice) -> Value {
    match dice.below(8) {
        0 => json!([]),
        1 => json!({}),
        2 => json!([texts(dice), texts(dice)]),
        3 => json!({"is": texts(dice), "when": "2026-03-01"}),
        4 => json!([{"as": "mock-up", "on": ["a/b", texts(dice)]}, {"as": texts(dice)}]),
        _ => texts(dice),
    }
}

pub fn pointers(value: &Value, at: &str, all: &mut Vec<String>) {
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                let at = format!("{at}{}", step(key));
                all.push(at.clone());
                pointers(value, &at, all);
            }
        }
        Value::Array(items) => {
            for (number, value) in items.iter().enumerate() {
                let at = format!("{at}/{number}");
                all.push(at.clone());
                pointers(value, &at, all);
            }
        }
        _ => {}
    }
}

/// A value somewhere in a file that passes, by its pointer.
fn some_pointer(
    file: &File,
    dice: &mut Dice,
    passes: impl Fn(&str, &Value) -> bool,
) -> Option<String> {
    let root = Value::Object(file.theirs.clone());
    let mut all = Vec::new();
    pointers(&root, "", &mut all);
    all.retain(|at| passes(at, root.pointer(at).unwrap()));
    (!all.is_empty()).then(|| all[dice.below(all.len())].clone())
}

pub fn is_scalar(value: &Value) -> bool {
    !value.is_object() && !value.is_array()
}

impl File {
    /// The record that a pointer leads into, and where in it.
    fn inside(&self, pointer: &str) -> (Name, String) {
        let kind = self.kind();
        if kind == Kind::Build {
            let id = "build".to_owned();
            return (Name { kind, id }, pointer.to_owned());
        }
        let rest = &pointer[1..];
        let (id, inner) = rest.split_at(rest.find('/').unwrap_or(rest.len()));
        let id = unstep(id);
        (Name { kind, id }, inner.to_owned())
    }

    fn at(&self, pointer: &str) -> Value {
        match pointer.is_empty() {
            true => Value::Object(self.theirs.clone()),
            false => {
                let (first, rest) = pointer[1..].split_once('/').unwrap_or((&pointer[1..], ""));
                let inner = &self.theirs[&unstep(first)];
                let rest = if rest.is_empty() && !pointer[1..].contains('/') {
                    String::new()
                } else {
                    format!("/{rest}")
                };
                inner.pointer(&rest).unwrap().clone()
            }
        }
    }

    /// Whether a list lies on the way: items are told by what they hold, so that it is
    /// not known beforehand which step it will be.
    fn through_list(&self, pointer: &str) -> bool {
        let ends = pointer.match_indices('/').map(|(at, _)| at);
        ends.skip(1).any(|end| self.at(&pointer[..end]).is_array())
    }
}

pub const EDITS: usize = 23;

/// One edit; none where these files have nothing for it.
#[allow(clippy::too_many_lines)]
pub fn one_edit(what: usize, files: &mut Vec<File>, dice: &mut Dice) -> Option<Meant> {
    let number = dice.below(files.len());
    let is_build = files[number].kind() == Kind::Build;
    let exact = |file: &File, pointer: &str, edit: fn(String, Value, Value) -> Edit, was, is| {
        let (name, path) = file.inside(pointer);
        if path.is_empty() || file.through_list(pointer) {
            return Meant::Something;
        }
        Meant::One(name, edit(path, was, is))
    };
    Some(match what {
        // A text or figure changed.
        0 | 1 => {
            let file = &mut files[number];
            let at = some_pointer(file, dice, |_, value| is_scalar(value))?;
            let (was, is) = (file.at(&at), texts(dice));
            if was == is {
                return None;
            }
            let meant = exact(
                file,
                &at,
                |path, was, value| Edit::Replace { path, value, was },
                was,
                is.clone(),
            );
            file.set(&at, Some(is), dice);
            meant
        }
        // A value of any form replaced by one of any form.
        2 => {
            let file = &mut files[number];
            let at = some_pointer(file, dice, |_, _| true)?;
            let (was, is) = (file.at(&at), any_value(dice));
            file.set(&at, Some(is.clone()), dice);
            if was == is {
                Meant::Nothing
            } else {
                Meant::Something
            }
        }
        // A field more.
        3 | 4 => {
            let file = &mut files[number];
            let map = some_pointer(file, dice, |_, value| value.is_object())?;
            let key = ["goes", "on", "a: b", "x~/y", "note", "P9", "1", "ä"][dice.below(8)];
            let at = format!("{map}{}", step(key));
            if file.at(&map).get(key).is_some() {
                return None;
            }
            let is = any_value(dice);
            let meant = exact(
                file,
                &at,
                |path, _, value| Edit::Add { path, value },
                Value::Null,
                is.clone(),
            );
            file.set(&at, Some(is), dice);
            meant
        }
        // A field less.
        5 => {
            let file = &mut files[number];
            let at = some_pointer(file, dice, |at, _| is_build || at.matches('/').count() > 1)?;
            let was = file.at(&at);
            let meant = exact(
                file,
                &at,
                |path, was, _| Edit::Remove { path, was },
                was,
                Value::Null,
            );
            let parent = at.rsplit_once('/')?.0.to_owned();
            let in_list = !parent.is_empty() && file.at(&parent).is_array();
            file.set(&at, None, dice);
            if in_list { Meant::Something } else { meant }
        }
        // Items of a list: one more, one less, another order.
        6..=8 => {
            let file = &mut files[number];
            let at = some_pointer(file, dice, |_, value| value.is_array())?;
            let was = file.at(&at);
            let mut items = was.as_array()?.clone();
            let place = dice.below(items.len() + 1);
            match what {
                6 => {
                    let twin = items.get(dice.below(items.len().max(1))).cloned();
                    let new = twin.filter(|_| dice.below(3) == 0);
                    items.insert(place, new.unwrap_or_else(|| any_value(dice)));
                }
                7 => {
                    (place < items.len()).then(|| items.remove(place))?;
                }
                _ => {
                    let item = (place < items.len()).then(|| items.remove(place))?;
                    items.insert(dice.below(items.len() + 1), item);
                }
            }
            let is = Value::Array(items);
            let same = was == is;
            file.set(&at, Some(is), dice);
            if same {
                Meant::Nothing
            } else {
                Meant::Something
            }
        }
        // A name inside a record: a mark, a place, a hole.
        9 => {
            let file = &mut files[number];
            let at = some_pointer(file, dice, |at, value| {
                value.as_object().is_some_and(|map| !map.is_empty())
                    && (is_build || at.matches('/').count() > 1)
            })?;
            let map = file.at(&at).as_object()?.clone();
            let old = map.keys().nth(dice.below(map.len()))?.clone();
            let new = format!("{old}-2");
            if map.contains_key(&new) {
                return None;
            }
            let renamed: Map<String, Value> = map
                .into_iter()
                .map(|(key, value)| (if key == old { new.clone() } else { key }, value))
                .collect();
            file.set(&at, Some(Value::Object(renamed)), dice);
            Meant::Something
        }
        // A record more, taken from another or made up.
        10 if !is_build => {
            let id = format!("new-{}", dice.below(1000));
            let kind = files[number].kind();
            let taken = |file: &File| file.kind() == kind && file.theirs.contains_key(&id);
            if files.iter().any(taken) {
                return None;
            }
            let file = &mut files[number];
            let like = file.theirs.values().nth(dice.below(file.theirs.len()));
            let like = like.cloned().filter(|_| dice.below(2) == 0);
            let is = like.unwrap_or_else(|| json!({"name": "Shim", "note": texts(dice)}));
            file.set(&step(&id), Some(is), dice);
            Meant::Something
        }
        // A record less.
        11 if !is_build => {
            let file = &mut files[number];
            let id = file.theirs.keys().nth(dice.below(file.theirs.len()))?;
            file.set(&step(&id.clone()), None, dice);
            Meant::Something
        }
        // A record called otherwise, and what names it with it or not; it may differ too.
        12 | 13 if !is_build => {
            let kind = files[number].kind();
            let old = files[number].theirs.keys();
            let old = old.clone().nth(dice.below(old.len()))?.clone();
            let new = format!("{old}-of-{}", dice.below(100));
            if files
                .iter()
                .any(|file| file.kind() == kind && file.theirs.contains_key(&new))
            {
                return None;
            }
            let all: Map<String, Value> = files[number]
                .theirs
                .iter()
                .map(|(id, value)| {
                    let id = if *id == old { &new } else { id };
                    (id.clone(), value.clone())
                })
                .collect();
            let path = files[number].path.clone();
            files[number] = files[number].rewritten(&path, &all, dice);
            if what == 13 {
                for file in files.iter_mut() {
                    let mut root = Value::Object(file.theirs.clone());
                    if follow(&mut root, kind, &old, &new) {
                        let path = file.path.clone();
                        *file = file.rewritten(&path, root.as_object()?, dice);
                    }
                }
            }
            Meant::Something
        }
        // Files: a record moved, a file called otherwise, split, joined.
        14 if !is_build => {
            let kind = files[number].kind();
            let others: Vec<usize> = (0..files.len())
                .filter(|at| *at != number && files[*at].kind() == kind)
                .collect();
            let id = files[number].theirs.keys();
            let id = id.clone().nth(dice.below(id.len()))?.clone();
            let record = files[number].theirs[&id].clone();
            let to = match others.get(dice.below(others.len())) {
                Some(to) => *to,
                None => {
                    let path = format!("{}/deep/moved-{}.yaml", kind.folder(), files.len());
                    let none = files[number].rewritten(&path, &Map::new(), dice);
                    files.push(none);
                    files.len() - 1
                }
            };
            files[number].set(&step(&id), None, dice);
            files[to].set(&step(&id), Some(record), dice);
            Meant::Nothing
        }
        15 if !is_build => {
            let folder = files[number].kind().folder();
            let path = format!("{folder}/named/anew-{}.yaml", dice.below(1000));
            files[number].path = path;
            Meant::Nothing
        }
        16 if !is_build => {
            let file = files.remove(number);
            let place = dice.below(file.theirs.len() + 1);
            for (part, some) in ["a", "b"].iter().enumerate() {
                let path = format!("{}/split-{}-{some}.yaml", file.kind().folder(), files.len());
                let all = file.theirs.iter().enumerate();
                let half: Map<String, Value> = all
                    .filter(|(at, _)| (*at < place) == (part == 0))
                    .map(|(_, (id, value))| (id.clone(), value.clone()))
                    .collect();
                files.push(file.rewritten(&path, &half, dice));
            }
            Meant::Nothing
        }
        17 if !is_build => {
            let kind = files[number].kind();
            let other = (0..files.len()).find(|at| *at != number && files[*at].kind() == kind)?;
            let mut all = files[other].theirs.clone();
            all.extend(files[number].theirs.clone());
            let path = files[other].path.clone();
            files[other] = files[other].rewritten(&path, &all, dice);
            files.remove(number);
            Meant::Nothing
        }
        // Written in another hand: order of records and keys, layout, quotes, comments.
        18 => {
            let file = &files[number];
            let mut all: Vec<_> = file.theirs.clone().into_iter().collect();
            for at in (1..all.len()).rev() {
                all.swap(at, dice.below(at + 1));
            }
            let all = all.into_iter().collect();
            files[number] = file.rewritten(&file.path.clone(), &all, dice);
            Meant::Nothing
        }
        // In its own hand, with other line ends and comments.
        19 => {
            let file = &files[number];
            let mut text = file.text.trim_start_matches('\u{FEFF}').to_owned();
            text = text.replace("\r\n", "\n");
            text = format!(
                "# what is here\n\n{}\n# the end",
                text.trim_end_matches('\n')
            );
            if dice.below(2) == 0 {
                text = text.replace('\n', "\r\n");
            }
            let anew = File::new(&file.path, text, file.as_written)?;
            if anew.theirs != file.theirs {
                return None;
            }
            files[number] = anew;
            Meant::Nothing
        }
        // Files in another order.
        20 => {
            let file = files.remove(number);
            let place = dice.below(files.len() + 1);
            files.insert(place, file);
            Meant::Nothing
        }
        // A figure in another unit.
        21 => {
            let file = &mut files[number];
            let at = some_pointer(file, dice, |_, value| {
                value
                    .as_str()
                    .is_some_and(|text| other_unit(text, 1).is_some())
            })?;
            let was = file.at(&at);
            let is = other_unit(was.as_str()?, dice.below(4))?;
            file.set(&at, Some(is.into()), dice);
            Meant::Something
        }
        // The build itself.
        22 => {
            let build = files.iter().position(|file| file.kind() == Kind::Build)?;
            let file = &mut files[build];
            let at = some_pointer(file, dice, |_, _| true)?;
            file.set(&at, Some(any_value(dice)), dice);
            Meant::Anything
        }
        _ => return None,
    })
}

/// Puts a new id into what refers to a record; whether anything did.
fn follow(value: &mut Value, kind: Kind, old: &str, new: &str) -> bool {
    match value {
        Value::String(text) => {
            for lead in ["".to_owned(), format!("{kind}/")] {
                let rest = text.strip_prefix(&format!("{lead}{old}"));
                let rest = rest.filter(|rest| rest.is_empty() || rest.starts_with('/'));
                if let Some(rest) = rest {
                    *text = format!("{lead}{new}{rest}");
                    return true;
                }
            }
            false
        }
        // The list first: all of them are to follow.
        Value::Array(items) => {
            let followed = items.iter_mut().map(|item| follow(item, kind, old, new));
            followed.fold(false, |any, one| any | one)
        }
        Value::Object(map) => {
            let followed = map.values_mut().map(|item| follow(item, kind, old, new));
            followed.fold(false, |any, one| any | one)
        }
        _ => false,
    }
}

/// Units, and how many of another one they are (NIST SP 811, appendix B).
pub const TO_OTHER: [(&str, f64, &str); 4] = [
    ("N·m", 0.737_562_149, "lbf·ft"),
    ("mm", 1.0 / 25.4, "in"),
    ("bar", 14.503_773_8, "psi"),
    ("kg", 2.204_622_62, "lb"),
];

/// The same figure in another unit, to so many digits.
pub fn other_unit(text: &str, digits: usize) -> Option<String> {
    let (figure, unit) = text.split_once(' ')?;
    let figure: f64 = figure.parse().ok()?;
    let (_, times, other) = TO_OTHER.iter().find(|(from, ..)| *from == unit)?;
    Some(format!("{:.digits$} {other}", figure * times))
}
