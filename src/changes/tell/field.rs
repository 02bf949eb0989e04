//! What no kind has words for, field by field; and what two readings of one figure, or a
//! reference to something renamed, come to.

use serde_json::Value;
use similar::{ChangeTag, TextDiff};

use super::view::View;
use super::{Deed, Teller, Told};
use crate::changes::diff::{Diff, Leaf};
use crate::changes::{RecordChange, alike};
use crate::folder::schema_of;
use crate::model::Kind;
use crate::reckon::quantity::Quantity;
use crate::reckon::step::Step as Tightening;
use crate::report::page::Line;
use crate::schema::shape::{Meaning, Shape};
use crate::yaml::{Route, Step};

/// Texts that are longer show their difference line by line.
const LONG: usize = 60;

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
            teller.tell(
                Deed::Followed,
                named(teller.change, &way),
                format!("{} → {}", shown(was), shown(is)),
                None,
                vec![leaf.number],
            );
        }
    }
}

/// Tells what is left.
pub(super) fn rest(teller: &mut Teller<'_>) {
    let change = teller.change;
    let view = View::of(change);
    if (view.is_new() || view.is_gone()) && !teller.left.is_empty() {
        let deed = if view.is_new() { Deed::New } else { Deed::Gone };
        let one = change.name.kind.one();
        let value = view.after.or(view.before);
        let name = value.and_then(|value| value.get("name").or_else(|| value.get("does")));
        let says = match name.and_then(Value::as_str) {
            Some(name) => format!("{one}: {name}"),
            None => one.to_owned(),
        };
        teller.tell(deed, change.name.to_string(), says, None, view.leaves());
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

/// A way as people read it: `parts/injector/pieces/P1/note`, items counted from 1.
fn named(change: &RecordChange, way: &[Step]) -> String {
    let mut text = change.name.to_string();
    for step in way {
        match step {
            Step::Key(key) => text.push_str(&format!("/{key}")),
            Step::Index(number) => text.push_str(&format!("/{}", number + 1)),
        }
    }
    text
}

/// A value in a few words.
fn shown(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Array(items) => items.iter().map(shown).collect::<Vec<_>>().join(", "),
        Value::Object(map) => {
            let all = map.iter().map(|(key, value)| match value {
                Value::Array(_) | Value::Object(_) => format!("{key}: ({})", shown(value)),
                _ => format!("{key}: {}", shown(value)),
            });
            all.collect::<Vec<_>>().join(", ")
        }
        other => other.to_string(),
    }
}

fn one(teller: &Teller<'_>, way: &[Step], leaf: &Leaf) -> Told {
    let change = teller.change;
    let mut told = Told {
        deed: Deed::Field,
        about: named(change, way),
        says: String::new(),
        when: None,
        lines: Vec::new(),
        change: Some(teller.number),
        leaves: vec![leaf.number],
    };
    match (&leaf.was, &leaf.is) {
        (None, Some(is)) => told.says = format!("new: {}", shown(is)),
        (Some(was), None) => told.says = format!("gone: {}", shown(was)),
        (Some(was), Some(is)) => match same_figure(change, way, was, is) {
            Some(true) => {
                told.deed = Deed::SameFigure;
                told.says = format!("{} → {}: the same within rounding", shown(was), shown(is));
            }
            _ if is_long(was) || is_long(is) => {
                told.says = "text changed".to_owned();
                told.lines = lines(&shown(was), &shown(is));
            }
            _ if was.is_array() && is.is_array() => {
                told.says = format!("in another order: {}", shown(is));
            }
            _ => told.says = format!("{} → {}", shown(was), shown(is)),
        },
        (None, None) => {}
    }
    told
}

fn is_long(value: &Value) -> bool {
    let text = value.as_str().unwrap_or_default();
    text.chars().count() > LONG || text.contains('\n')
}

/// The lines of two texts put beside each other.
fn lines(was: &str, is: &str) -> Vec<Line> {
    TextDiff::from_lines(was, is)
        .iter_all_changes()
        .map(|change| {
            let text = change.value().trim_end_matches('\n').to_owned();
            match change.tag() {
                ChangeTag::Equal => Line::Kept(text),
                ChangeTag::Delete => Line::Gone(text),
                ChangeTag::Insert => Line::New(text),
            }
        })
        .collect()
}

/// Whether a figure was only written otherwise; none where no figure stands.
fn same_figure(change: &RecordChange, way: &[Step], was: &Value, is: &Value) -> Option<bool> {
    let (was, is) = (was.as_str()?, is.as_str()?);
    let schema = schema_of(change.name.kind).ok()?;
    let mut route = Route(way.to_vec());
    if change.name.kind != Kind::Build {
        route.0.insert(0, Step::Key(change.name.id.clone()));
    }
    let shape: &Shape = schema.shapes.at(&route)?;
    match shape.meaning {
        Meaning::Figure { .. } => {
            let (was, is) = (Quantity::parse(was).ok()?, Quantity::parse(is).ok()?);
            Some(was.rounds_to(&is))
        }
        Meaning::Step => match (Tightening::parse(was).ok()?, Tightening::parse(is).ok()?) {
            (Tightening::Torque(was), Tightening::Torque(is)) => Some(was.rounds_to(&is)),
            _ => None,
        },
        _ => None,
    }
}

impl Teller<'_> {
    /// Whether a text is another only because it names what was renamed.
    fn follows(&self, was: &Value, is: &Value) -> bool {
        match (was, is) {
            (Value::String(was), Value::String(is)) => self.renamed.iter().any(|(old, new)| {
                let with_kind = (format!("{old}"), format!("{}/{new}", old.kind));
                [(old.id.clone(), new.clone()), with_kind]
                    .iter()
                    .any(|(old, new)| {
                        let rest = was.strip_prefix(old.as_str());
                        let rest = rest.filter(|rest| rest.is_empty() || rest.starts_with('/'));
                        rest.is_some_and(|rest| *is == format!("{new}{rest}"))
                    })
            }),
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
