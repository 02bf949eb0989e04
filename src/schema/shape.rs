//! A schema as a guide through a tree: which keys a map knows, which words a
//! text may be, and what a text means (a reference, a figure, a day).
//!
//! The validator says whether a record is right. The guide says what stands
//! where, which no validator does, and it is what the nearest known key or word
//! is taken from.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::yaml::{Route, Step};

/// What a text means.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Meaning {
    /// Words for people, a code, a name: anything.
    #[default]
    Text,
    /// A day.
    Day,
    /// A day as far as it is known.
    RoughDay,
    /// A reference.
    Reference(Target),
    /// A figure with a unit.
    Figure {
        /// The dimensions that belong here, by their names; empty for any.
        dimensions: Vec<String>,
        /// Whether it may lie below nothing.
        negative: bool,
    },
    /// A tightening step.
    Step,
    /// A thread.
    Thread,
    /// A list of cavities.
    Cavities,
    /// A pattern that chooses records.
    Pattern,
}

/// What a reference leads to.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[allow(missing_docs)]
pub enum Target {
    Donor,
    Part,
    Piece,
    Assembly,
    Place,
    /// A place, or for a lot all the places of one name.
    Places,
    Spot,
    Fit,
    Fastener,
    Plug,
    End,
    Route,
    Circuit,
    Job,
    /// A job, or anything with its kind in front that hardware comes out of.
    Batch,
    Decision,
    Photo,
    Source,
    Wrench,
    Person,
    Rule,
    /// Any record, with its kind in front.
    Any,
    /// Any record, or an assembly's place with no kind in front.
    Shown,
    /// A cavity of the same plug, or a run of them.
    OwnCavity,
    /// What a limit in the nearest map of limits around it is for, or anything that is
    /// not nearly one of them.
    OwnLimit,
    /// A name in the nearest map of this key around it.
    Own(String),
}

impl Target {
    fn from_word(word: &str) -> Option<Self> {
        Some(match word {
            "donor" => Self::Donor,
            "part" => Self::Part,
            "piece" => Self::Piece,
            "assembly" => Self::Assembly,
            "place" => Self::Place,
            "places" => Self::Places,
            "spot" => Self::Spot,
            "fit" => Self::Fit,
            "fastener" => Self::Fastener,
            "plug" => Self::Plug,
            "end" => Self::End,
            "route" => Self::Route,
            "circuit" => Self::Circuit,
            "job" => Self::Job,
            "batch" => Self::Batch,
            "decision" => Self::Decision,
            "photo" => Self::Photo,
            "source" => Self::Source,
            "wrench" => Self::Wrench,
            "person" => Self::Person,
            "rule" => Self::Rule,
            "any" => Self::Any,
            "shown" => Self::Shown,
            "cavity" => Self::OwnCavity,
            "limit" => Self::OwnLimit,
            _ => Self::Own(word.strip_prefix("own ")?.to_owned()),
        })
    }
}

/// Which side of a trait a map states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum TraitSide {
    /// What is given.
    Gives,
    /// What is needed.
    Suits,
}

/// What belongs at one spot.
#[derive(Debug, Clone, Default)]
pub struct Shape {
    /// What it is called: `part`, `thread repair`.
    pub called: String,
    /// What the schema says of it, in words.
    pub about: String,
    /// The types that may stand here, in JSON Schema's names; empty for any.
    pub types: Vec<String>,
    /// The known keys.
    pub keys: BTreeMap<String, usize>,
    /// The same in the order that the schema tells them: what is used most comes first.
    pub order: Vec<String>,
    /// What the schema says of each key, where it says more than of its type.
    pub abouts: BTreeMap<String, String>,
    /// The keys that must be there.
    pub required: Vec<String>,
    /// What stands under keys that are free.
    pub values: Option<usize>,
    /// What stands in a list.
    pub items: Option<usize>,
    /// The words that may stand here.
    pub words: Vec<Value>,
    /// Examples.
    pub examples: Vec<String>,
    /// What a text here means.
    pub meaning: Meaning,
    /// What the keys mean, if they are references.
    pub key_meaning: Option<Target>,
    /// Which side of a trait it states, if it does.
    pub traits: Option<TraitSide>,
    /// Pairs of keys whose second may not lie before or below the first.
    pub rising: Vec<(String, String)>,
    /// Whether it is a reading, whose figure must be of its limit's dimension.
    pub limited: bool,
    /// Whether it is a list that is one value, because the order of its items says
    /// something, or their number: steps, a pair.
    pub in_order: bool,
}

impl Shape {
    /// Whether a text is wanted.
    #[must_use]
    pub fn wants_text(&self) -> bool {
        self.types.iter().any(|name| name == "string")
    }
}

/// A whole schema as a guide.
#[derive(Debug, Default)]
pub struct Shapes {
    all: Vec<Shape>,
}

impl Shapes {
    /// The guide of a schema whose references all lead into its own `$defs`.
    #[must_use]
    pub fn of(schema: &Value) -> Self {
        let mut shapes = Self::default();
        let mut known = BTreeMap::new();
        shapes.add(schema, schema, &mut known);
        shapes
    }

    fn add(&mut self, schema: &Value, whole: &Value, known: &mut BTreeMap<String, usize>) -> usize {
        if let Some(reference) = schema.get("$ref").and_then(Value::as_str) {
            if let Some(number) = known.get(reference) {
                return *number;
            }
            let pointer = reference.trim_start_matches('#');
            let number = self.all.len();
            known.insert(reference.to_owned(), number);
            let called = spaced(pointer.rsplit('/').next().unwrap_or_default());
            return match whole.pointer(pointer) {
                Some(target) => {
                    let made = self.add(target, whole, known);
                    self.all[made].called = called;
                    made
                }
                None => number,
            };
        }
        let number = self.all.len();
        self.all.push(Shape::default());
        let text = |key: &str| schema.get(key).and_then(Value::as_str);
        let list = |key: &str| {
            schema
                .get(key)
                .and_then(Value::as_array)
                .cloned()
                .unwrap_or_default()
        };
        let texts = |key: &str| -> Vec<String> {
            let all = list(key);
            all.iter()
                .filter_map(|one| one.as_str().map(str::to_owned))
                .collect()
        };
        let mut shape = Shape {
            about: text("description").unwrap_or_default().to_owned(),
            types: match schema.get("type") {
                Some(Value::String(one)) => vec![one.clone()],
                Some(Value::Array(many)) => many
                    .iter()
                    .filter_map(|name| name.as_str().map(str::to_owned))
                    .collect(),
                _ => Vec::new(),
            },
            words: list("enum"),
            examples: texts("examples"),
            required: texts("required"),
            key_meaning: text("x-key-refers").and_then(Target::from_word),
            traits: match text("x-traits") {
                Some("gives") => Some(TraitSide::Gives),
                Some("suits") => Some(TraitSide::Suits),
                _ => None,
            },
            rising: list("x-rising")
                .iter()
                .filter_map(|pair| {
                    let key = |at: usize| pair.get(at)?.as_str().map(str::to_owned);
                    Some((key(0)?, key(1)?))
                })
                .collect(),
            limited: schema.get("x-limited") == Some(&Value::Bool(true)),
            in_order: schema.get("x-in-order") == Some(&Value::Bool(true)),
            ..Shape::default()
        };
        shape.meaning = if let Some(target) = text("x-refers").and_then(Target::from_word) {
            Meaning::Reference(target)
        } else if schema.get("x-quantity").is_some() {
            let mut dimensions = texts("x-quantity");
            dimensions.retain(|name| name != "any");
            Meaning::Figure {
                dimensions,
                negative: schema.get("x-negative") != Some(&Value::Bool(false)),
            }
        } else if schema.get("x-step").is_some() {
            Meaning::Step
        } else if schema.get("x-thread").is_some() {
            Meaning::Thread
        } else if schema.get("x-cavities").is_some() {
            Meaning::Cavities
        } else if schema.get("x-pattern").is_some() {
            Meaning::Pattern
        } else if schema.get("x-rough-day").is_some() {
            Meaning::RoughDay
        } else if text("format") == Some("date") {
            Meaning::Day
        } else {
            Meaning::Text
        };
        if let Some(Value::Object(properties)) = schema.get("properties") {
            for (key, value) in properties {
                let child = self.add(value, whole, known);
                shape.keys.insert(key.clone(), child);
                shape.order.push(key.clone());
                if let Some(about) = value.get("description").and_then(Value::as_str) {
                    shape.abouts.insert(key.clone(), about.to_owned());
                }
            }
        }
        if let Some(values) = schema.get("additionalProperties")
            && values.is_object()
        {
            shape.values = Some(self.add(values, whole, known));
        }
        if let Some(items) = schema.get("items") {
            shape.items = Some(self.add(items, whole, known));
        }
        self.all[number] = shape;
        number
    }

    /// What belongs at the top.
    #[must_use]
    pub fn top(&self) -> &Shape {
        &self.all[0]
    }

    /// What belongs under a key.
    #[must_use]
    pub fn under(&self, shape: &Shape, key: &str) -> Option<&Shape> {
        let number = shape.keys.get(key).copied().or(shape.values)?;
        self.all.get(number)
    }

    /// What belongs under the free keys of a map.
    #[must_use]
    pub fn free(&self, shape: &Shape) -> Option<&Shape> {
        self.all.get(shape.values?)
    }

    /// What belongs in a list.
    #[must_use]
    pub fn item(&self, shape: &Shape) -> Option<&Shape> {
        self.all.get(shape.items?)
    }

    /// What belongs at the end of a way.
    #[must_use]
    pub fn at(&self, route: &Route) -> Option<&Shape> {
        route
            .0
            .iter()
            .try_fold(self.top(), |shape, step| match step {
                Step::Key(key) => self.under(shape, key),
                Step::Index(_) => self.item(shape),
            })
    }
}

/// `ThreadRepair` as people write it.
fn spaced(name: &str) -> String {
    let mut text = String::new();
    for c in name.chars() {
        if c.is_uppercase() && !text.is_empty() {
            text.push(' ');
        }
        text.extend(c.to_lowercase());
    }
    text
}
