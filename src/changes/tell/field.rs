//! What no kind has words for, field by field; and what two readings of one figure, or a
//! reference to something renamed, come to.

use serde_json::Value;
use similar::{ChangeTag, DiffTag, TextDiff};
use unicode_width::UnicodeWidthStr;

use super::view::View;
use super::words::{bare, label, said, shown};
use super::{Deed, Teller, Told, others};
use crate::changes::diff::{Diff, Leaf, NAMED};
use crate::changes::{RecordChange, alike};
use crate::folder::schema_of;
use crate::model::Kind;
use crate::reckon::quantity::Quantity;
use crate::reckon::step::Step as Tightening;
use crate::report::page::Line;
use crate::schema::shape::{Meaning, Shape};
use crate::yaml::{Route, Step};

/// The steps that lead to something in a record.
pub type Way = Vec<Step>;

/// Texts that are longer show their difference.
const LONG: usize = 60;
/// Lines of a text that are shown around those that differ.
const AROUND: usize = 2;
/// Words that are shown before and behind those that differ.
const WORDS_AROUND: usize = 5;
/// As few words between two differences belong to both.
const BETWEEN: usize = 2;
/// Texts that have less in common than this are shown whole, one after the other.
const ALIKE: f32 = 0.4;
/// What a headline says of a field may be so wide.
const SHORT: usize = 64;

/// Maps of `build.yaml` whose keys are names, by which references call what is in them.
const NAMED_IN_BUILD: &[&str] = &["wrenches", "tools", "spots", "sources", "levels"];

/// Tells the fields that changed only because what they refer to is called otherwise.
pub(super) fn followed(teller: &mut Teller<'_>) {
    if teller.renamed.is_empty() {
        return;
    }
    for (way, leaf) in leaves(teller.change) {
        let (Some(was), Some(is)) = (&leaf.was, &leaf.is) else {
            continue;
        };
        if teller.follows(was, is) {
            let (about, field) = named(teller.change, &way);
            let says = format!("{}{} → {}", before(&field), shown(was), shown(is));
            teller.tell(Deed::Followed, about, says, None, vec![leaf.number]);
        }
    }
}

/// Tells what is left.
pub(super) fn rest(teller: &mut Teller<'_>) {
    let change = teller.change;
    let view = View::of(change);
    if (view.is_new() || view.is_gone()) && !teller.left.is_empty() {
        whole(teller, &view, &[]);
    }
    for (way, leaf) in leaves(change) {
        if !teller.left.contains(&leaf.number) {
            continue;
        }
        teller.left.remove(&leaf.number);
        let told = one(teller, &way, &leaf);
        teller.told.push(told);
    }
}

/// A record that is new or gone: what it is, and of a new one what else it says but for
/// what is told apart.
pub(super) fn whole(teller: &mut Teller<'_>, view: &View<'_>, apart: &[&str]) {
    let name = &teller.change.name;
    let deed = if view.is_new() { Deed::New } else { Deed::Gone };
    let value = view.after.or(view.before);
    let mut says = name.kind.one().to_owned();
    let told = value.and_then(|value| others::described(name.kind, value));
    if let Some(text) = &told {
        says.push_str(&format!(": {text}"));
    }
    let skipped = told.map_or(&[][..], |_| others::describing(name.kind));
    match value {
        Some(Value::Object(map)) if view.is_new() => {
            let is_told = |key: &str| skipped.contains(&key) || apart.contains(&key);
            let rest = map.iter().filter(|(key, _)| !is_told(key.as_str()));
            for (key, value) in rest {
                says.push_str(&format!("; {}", said(key, value)));
            }
        }
        Some(Value::Object(_)) | None => {}
        Some(odd) => says.push_str(&format!(": {}", shown(odd))),
    }
    teller.tell(deed, name.to_string(), says, None, view.leaves());
}

/// All leaves of a record with the way to each, in the names after; a renaming is a leaf
/// as well.
#[must_use]
pub fn leaves(change: &RecordChange) -> Vec<(Vec<Step>, Leaf)> {
    fn add(diff: &Diff, way: &mut Vec<Step>, all: &mut Vec<(Vec<Step>, Leaf)>) {
        match diff {
            Diff::Leaf(leaf) => all.push((way.clone(), leaf.clone())),
            Diff::Map(changed) => {
                for one in changed {
                    way.push(Step::Key(one.key.clone()));
                    if let (Some(number), Some(was)) = (one.renaming, &one.was_key) {
                        let renaming = Leaf {
                            number,
                            was: Some(was.as_str().into()),
                            is: Some(one.key.as_str().into()),
                        };
                        all.push((way.clone(), renaming));
                    }
                    if let Some(diff) = &one.diff {
                        add(diff, way, all);
                    }
                    way.pop();
                }
            }
            Diff::List(items) => {
                for item in items {
                    if let (Some(diff), Some(number)) = (&item.diff, item.is.or(item.was)) {
                        way.push(Step::Index(number));
                        add(diff, way, all);
                        way.pop();
                    }
                }
            }
        }
    }
    let mut all = Vec::new();
    if let Some(diff) = &change.diff {
        add(diff, &mut Vec::new(), &mut all);
    }
    all
}

/// The innermost thing on the way that has a name of its own, as a reference calls it, and
/// what of it the way leads to: `injector/P1`, "kept in". Items are counted from 1.
fn named(change: &RecordChange, way: &[Step]) -> (String, String) {
    let (kind, id) = (change.name.kind, &change.name.id);
    let mut about = match kind {
        Kind::Parts | Kind::Assemblies => id.clone(),
        _ => change.name.to_string(),
    };
    let mut rest = way;
    while let [Step::Key(map), Step::Key(name), inner @ ..] = rest {
        if kind == Kind::Build && NAMED_IN_BUILD.contains(&map.as_str()) {
            about = format!("{map}/{name}");
        } else if kind != Kind::Build && NAMED.contains(&map.as_str()) {
            about.push_str(&format!("/{name}"));
        } else {
            break;
        }
        rest = inner;
    }
    let mut field = String::new();
    for step in rest {
        match step {
            Step::Key(key) if field.is_empty() => field = label(key),
            Step::Key(key) => field.push_str(&format!(", {}", label(key))),
            Step::Index(number) => field.push_str(&format!(" {}", number + 1)),
        }
    }
    (about, field.trim_start().to_owned())
}

fn before(field: &str) -> String {
    match field {
        "" => String::new(),
        field => format!("{field}: "),
    }
}

fn one(teller: &Teller<'_>, way: &[Step], leaf: &Leaf) -> Told {
    let change = teller.change;
    let (about, field) = named(change, way);
    let lead = before(&field);
    let mut told = Told {
        deed: Deed::Field,
        about,
        says: String::new(),
        when: None,
        short: String::new(),
        many: 1,
        lines: Vec::new(),
        change: Some(teller.number),
        leaves: vec![leaf.number],
    };
    let mut brief = String::new();
    match (&leaf.was, &leaf.is) {
        (None, Some(is)) if field.is_empty() => told.says = format!("new: {}", shown(is)),
        (None, Some(is)) => {
            told.says = format!("{lead}{}", shown(is));
            brief = format!("{field} {}", shown(is));
        }
        (Some(was), None) if field.is_empty() => told.says = format!("gone: {}", shown(was)),
        (Some(was), None) => {
            told.says = format!("{field} taken out: {}", shown(was));
            brief = format!("{field} taken out");
        }
        (Some(was), Some(is)) => {
            if change
                .diff
                .as_ref()
                .is_some_and(|diff| diff.is_renaming(leaf.number))
            {
                told.deed = Deed::Renamed;
                told.says = format!("was called {}", shown(was));
            } else {
                changed(&mut told, change, way, (was, is), &lead);
                brief = match is {
                    _ if told.deed != Deed::Field => String::new(),
                    Value::Object(_) | Value::Array(_) => String::new(),
                    _ if matches!(way.last(), Some(Step::Index(_))) => String::new(),
                    _ => format!("{field} {}", shown(is)),
                };
            }
        }
        (None, None) => {}
    }
    if !field.is_empty() && told.deed == Deed::Field {
        let short = format!("{}: {brief}", told.about);
        told.short = match brief.is_empty() || short.width() > SHORT {
            false => short,
            true if leaf.was.is_none() => format!("{}: {field} added", told.about),
            true => format!("{}: {field} changed", told.about),
        };
    }
    told
}

/// What was one thing and is another.
fn changed(
    told: &mut Told,
    change: &RecordChange,
    way: &[Step],
    (was, is): (&Value, &Value),
    lead: &str,
) {
    let words = |value: &Value| -> Option<Vec<String>> {
        Some(
            value
                .as_str()?
                .split_whitespace()
                .map(str::to_owned)
                .collect(),
        )
    };
    if words(was).is_some() && words(was) == words(is) {
        told.says = format!("{lead}the same words, with other blanks or lines");
    } else if let Some((was, is)) = figures(change, way, was, is) {
        told.says = format!("{lead}{} → {}", was.text(), is.text());
        if let Some(same) = same(&was, &is) {
            told.deed = Deed::SameFigure;
            told.says.push_str(&format!(": {same}"));
        } else if was.unit() != is.unit() {
            told.says.push_str(&converted(&is, &was));
        }
    } else if is_long(was) || is_long(is) {
        let both = (was, is);
        let (was, is) = (was.as_str(), is.as_str());
        told.says = format!("{lead}text changed").trim_start().to_owned();
        match (was, is) {
            (Some(was), Some(is)) => told.lines = lines(was, is),
            _ => told.says = format!("{lead}{} → {}", shown(both.0), shown(both.1)),
        }
    } else if was.is_array() && is.is_array() {
        told.says = format!("{lead}in another order: {}", shown(is));
    } else if shown(was) == shown(is) {
        // The number 5 and the text 5.
        told.says = format!("{lead}{was} → {is}");
    } else {
        told.says = format!("{lead}{} → {}", shown(was), shown(is));
    }
}

fn is_long(value: &Value) -> bool {
    let text = value.as_str().unwrap_or_default();
    text.chars().count() > LONG || text.trim_end().contains('\n')
}

/// The difference of two texts: line by line, or by words where each is one paragraph.
fn lines(was: &str, is: &str) -> Vec<Line> {
    let has_lines = |text: &str| text.trim_end().contains('\n');
    if has_lines(was) || has_lines(is) {
        by_lines(was, is)
    } else {
        by_words(was.trim_end(), is.trim_end())
    }
}

fn by_lines(was: &str, is: &str) -> Vec<Line> {
    let diff = TextDiff::from_lines(was, is);
    let mut all = Vec::new();
    let mut next = 0;
    for ops in diff.grouped_ops(AROUND) {
        if ops.first().is_some_and(|op| op.old_range().start > next) {
            all.push(Line::Kept("…".to_owned()));
        }
        for op in &ops {
            next = op.old_range().end;
            for change in diff.iter_changes(op) {
                let text = change.value().trim_end_matches('\n').to_owned();
                all.push(match change.tag() {
                    ChangeTag::Equal => Line::Kept(text),
                    ChangeTag::Delete => Line::Gone(text),
                    ChangeTag::Insert => Line::New(text),
                });
            }
        }
    }
    if next < diff.old_len() {
        all.push(Line::Kept("…".to_owned()));
    }
    all
}

/// A stretch of a text, and what of it was and is.
#[derive(Default)]
struct Stretch {
    kept: Vec<String>,
    was: Vec<String>,
    is: Vec<String>,
}

fn by_words(was: &str, is: &str) -> Vec<Line> {
    let split =
        |text: &str| -> Vec<String> { text.split_whitespace().map(str::to_owned).collect() };
    let (old, new) = (split(was), split(is));
    let (old_words, new_words): (Vec<&str>, Vec<&str>) = (
        old.iter().map(String::as_str).collect(),
        new.iter().map(String::as_str).collect(),
    );
    let diff = TextDiff::from_slices(&old_words, &new_words);
    if diff.ratio() < ALIKE {
        return vec![Line::Gone(old.join(" ")), Line::New(new.join(" "))];
    }
    let mut all: Vec<Stretch> = Vec::new();
    for op in diff.ops() {
        let (old, new) = (&old[op.old_range()], &new[op.new_range()]);
        if op.tag() == DiffTag::Equal {
            all.push(Stretch {
                kept: old.to_vec(),
                ..Stretch::default()
            });
            continue;
        }
        // A word or two between two differences would only tear them apart.
        let few = matches!(all.as_slice(), [_, last] | [.., _, last] if last.is_few());
        if few
            && let Some(between) = all.pop()
            && let Some(last) = all.last_mut()
        {
            last.was.extend(between.kept.clone());
            last.is.extend(between.kept);
        } else if all.last().is_none_or(|last| !last.kept.is_empty()) {
            all.push(Stretch::default());
        }
        if let Some(last) = all.last_mut() {
            last.was.extend(old.to_vec());
            last.is.extend(new.to_vec());
        }
    }
    let many = all.len();
    let mut lines = Vec::new();
    for (number, stretch) in all.into_iter().enumerate() {
        let (first, last) = (number == 0, number + 1 == many);
        if !stretch.kept.is_empty() {
            lines.push(Line::Kept(stretch.around(first, last)));
        }
        if !stretch.was.is_empty() {
            lines.push(Line::Gone(stretch.was.join(" ")));
        }
        if !stretch.is.is_empty() {
            lines.push(Line::New(stretch.is.join(" ")));
        }
    }
    lines
}

impl Stretch {
    fn is_few(&self) -> bool {
        !self.kept.is_empty() && self.kept.len() <= BETWEEN
    }

    /// The words that stayed, as far as they stand beside a difference.
    fn around(&self, is_first: bool, is_last: bool) -> String {
        let words = &self.kept;
        let head = if is_first { 0 } else { WORDS_AROUND };
        let tail = if is_last { 0 } else { WORDS_AROUND };
        if words.len() <= head + tail {
            return words.join(" ");
        }
        let (head, tail) = (&words[..head], &words[words.len() - tail..]);
        let dots = ["…".to_owned()];
        [head, &dots, tail].concat().join(" ")
    }
}

/// Two figures in one place; none where no figure stands.
fn figures(
    change: &RecordChange,
    way: &[Step],
    was: &Value,
    is: &Value,
) -> Option<(Quantity, Quantity)> {
    let (was, is) = (was.as_str()?, is.as_str()?);
    let schema = schema_of(change.name.kind).ok()?;
    let mut route = Route(way.to_vec());
    if change.name.kind != Kind::Build {
        route.0.insert(0, Step::Key(change.name.id.clone()));
    }
    let shape: &Shape = schema.shapes.at(&route)?;
    match shape.meaning {
        Meaning::Figure { .. } => Some((Quantity::parse(was).ok()?, Quantity::parse(is).ok()?)),
        Meaning::Step => match (Tightening::parse(was).ok()?, Tightening::parse(is).ok()?) {
            (Tightening::Torque(was), Tightening::Torque(is)) => Some((was, is)),
            _ => None,
        },
        _ => None,
    }
}

/// In what way two figures are the same; none if they are not.
fn same(was: &Quantity, is: &Quantity) -> Option<&'static str> {
    // What stands in brackets must not say something else than it did.
    let agrees = |one: &Quantity| one.also().iter().all(|also| also.rounds_to(one));
    let brackets = was.also() == is.also() || agrees(was) && agrees(is);
    if !brackets {
        return None;
    }
    if was.unit() == is.unit() {
        was.same_as(is).then_some("the same, written otherwise")
    } else if was.rounds_to(is) {
        Some("the same within rounding")
    } else {
        None
    }
}

/// A figure in the unit of another, in brackets.
fn converted(figure: &Quantity, other: &Quantity) -> String {
    let unit = other.unit();
    let ends = (figure.low().figure(unit), figure.high().figure(unit));
    match ends {
        (Some(low), Some(high)) if low == high => format!(" ({low})"),
        (Some(low), Some(high)) => format!(" ({low} to {high})"),
        _ => String::new(),
    }
}

impl Teller<'_> {
    /// What something in the record is called at the bench.
    pub(super) fn about(&self, way: &[Step]) -> String {
        bare(&named(self.change, way).0).to_owned()
    }

    /// Whether a text is another only because it names what was renamed.
    fn follows(&self, was: &Value, is: &Value) -> bool {
        match (was, is) {
            (Value::String(was), Value::String(is)) => {
                let ends = was.match_indices('/').map(|(at, _)| at);
                ends.chain([was.len()]).any(|end| {
                    let (old, rest) = was.split_at(end);
                    let new = is.strip_suffix(rest);
                    let now = self.renamed.get(old);
                    new.is_some_and(|new| now.is_some_and(|now| now.contains(new)))
                })
            }
            (Value::Array(was), Value::Array(is)) => {
                was.len() == is.len()
                    && was.iter().zip(is).all(|(was, is)| {
                        alike::text_of(was) == alike::text_of(is) || self.follows(was, is)
                    })
            }
            _ => false,
        }
    }
}
