//! Tree against JSON Schema: each fault at the spot it is about, in a sentence
//! that a mechanic understands.
//!
//! The validator is the `jsonschema` crate. Its errors say which keyword failed
//! and where in the JSON; from these come our own place and our own words:
//!
//! | keyword | place |
//! | --- | --- |
//! | additionalProperties, propertyNames | that key |
//! | required, minProperties, maxProperties, dependentRequired | the key that holds the map |
//! | anyOf, oneOf | the fault in the branch that came deepest; of missing keys, as for `required` |
//! | all others (type, enum, const, format, pattern, minimum, items …) | the value |

pub mod habits;
pub mod shape;
pub mod walk;

use std::collections::BTreeSet;
use std::sync::OnceLock;

use jsonschema::error::TypeKind;
use jsonschema::{JsonType, PatternCache, PatternOptions, ValidationError, Validator};
use serde_json::Value;

use crate::model::Kind;
use crate::near;
use crate::reckon::cavities::Cavities;
use crate::reckon::quantity::Quantity;
use crate::reckon::thread::Thread;
use crate::reckon::unit::Dimension;
use crate::source::{Source, Span};
use crate::yaml::{Entry, Node, NodeKind, Route, Step, Style, Tree, blame};
use shape::{Meaning, Shape, Shapes};

/// A schema, ready to use.
pub struct Schema {
    validator: Validator,
    /// The same as a guide through a tree.
    pub shapes: Shapes,
}

/// Where a record leaves its schema.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The way to what is wrong.
    pub route: Route,
    /// Where it stands.
    pub span: Span,
    /// The keyword that failed.
    pub keyword: String,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub remedy: String,
    /// Of a missing key, what would do; of an unknown one, what it may be meant as.
    keys: Vec<String>,
    /// Whether another fault says it already.
    pub told: bool,
}

impl Fault {
    /// Whether what is wrong is only that a key is not there.
    #[must_use]
    pub fn lacks(&self) -> bool {
        match self.keyword.as_str() {
            "required" | "minProperties" => true,
            "anyOf" | "oneOf" => !self.keys.is_empty(),
            _ => false,
        }
    }
}

/// A schema that is none: a fault of ours, never of a build folder.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the schema itself can't be used: {0}")]
pub struct BadSchema(String);

/// The kinds' schemas share most of their patterns; making one ready takes longer than
/// judging a file by it.
static PATTERNS: OnceLock<PatternCache> = OnceLock::new();

impl Schema {
    /// Makes a schema ready.
    ///
    /// # Errors
    /// When it is no schema of draft 2020-12.
    pub fn new(schema: &Value) -> Result<Self, BadSchema> {
        let validator = jsonschema::options()
            .with_draft(jsonschema::Draft::Draft202012)
            .should_validate_formats(true)
            .with_pattern_options(PatternOptions::regex())
            .with_pattern_cache(PATTERNS.get_or_init(PatternCache::new).clone())
            .offline()
            .build(schema)
            .map_err(|error| BadSchema(error.to_string()))?;
        Ok(Self {
            validator,
            shapes: Shapes::of(schema),
        })
    }

    /// The published schema of a kind.
    ///
    /// # Errors
    /// When the file in `schema/` is no schema.
    pub fn of(kind: Kind) -> Result<Self, BadSchema> {
        let schema = serde_json::from_str(kind.schema_text())
            .map_err(|error| BadSchema(error.to_string()))?;
        Self::new(&schema)
    }

    /// Whether a value is right. Quicker than [`Schema::faults`].
    #[must_use]
    pub fn accepts(&self, value: &Value) -> bool {
        self.validator.is_valid(value)
    }

    /// All faults of a file, in the order they stand.
    #[must_use]
    pub fn faults(&self, value: &Value, tree: &Tree, source: &Source) -> Vec<Fault> {
        let place = Place {
            shapes: &self.shapes,
            tree,
            source,
        };
        let mut faults: Vec<Fault> = self
            .validator
            .iter_errors(value)
            .flat_map(|error| place.faults(&error))
            .collect();
        faults.sort_by(|a, b| (a.span, &a.message).cmp(&(b.span, &b.message)));
        faults.dedup();
        // Where only some words are right, their list says all about the type too.
        let listed: Vec<Route> = faults
            .iter()
            .filter(|fault| fault.keyword == "enum")
            .map(|fault| fault.route.clone())
            .collect();
        faults.retain(|fault| fault.keyword != "type" || !listed.contains(&fault.route));
        let bare: Vec<Route> = faults
            .iter()
            .filter(|fault| fault.keyword == "propertyNames")
            .filter(
                |fault| matches!(fault.route.0.last(), Some(Step::Key(key)) if key.contains(" {")),
            )
            .map(|fault| fault.route.clone())
            .collect();
        for fault in faults.iter_mut().filter(|fault| fault.keyword == "type") {
            fault.told = bare.contains(&fault.route);
        }
        place.misspelt(&mut faults);
        place.fallen(&mut faults);
        faults
    }
}

struct Place<'a> {
    shapes: &'a Shapes,
    tree: &'a Tree,
    source: &'a Source,
}

impl Place<'_> {
    fn faults(&self, error: &ValidationError<'_>) -> Vec<Fault> {
        use jsonschema::error::ValidationErrorKind as K;
        let route = Route::from_pointer(error.instance_path().as_str(), self.tree);
        let shape = self.shapes.at(&route);
        let keyword = error.kind().keyword().to_owned();
        let name = called(&route);
        let value = error.instance();
        let at_value = |message: String, remedy: String| {
            vec![Fault {
                span: self.value_span(&route),
                route: route.clone(),
                keyword: keyword.clone(),
                message,
                remedy,
                keys: Vec::new(),
                told: false,
            }]
        };
        let at_holder = |message: String, remedy: String| {
            vec![Fault {
                span: self.holder_span(&route),
                route: route.clone(),
                keyword: keyword.clone(),
                message,
                remedy,
                keys: Vec::new(),
                told: false,
            }]
        };
        match error.kind() {
            K::AdditionalProperties { unexpected } | K::UnevaluatedProperties { unexpected } => {
                unexpected
                    .iter()
                    .map(|key| self.unknown_key(&route, key, shape, &keyword))
                    .collect()
            }
            K::PropertyNames { error } => {
                let key = error.instance().as_str().unwrap_or_default().to_owned();
                let capitals = match error.kind() {
                    K::Pattern { pattern } => pattern.contains("A-Z"),
                    _ => false,
                };
                vec![self.bad_name(&route.then(key.as_str()), &key, &keyword, capitals)]
            }
            K::Required { property } => {
                let missing = property.as_str().unwrap_or_default();
                let what = self.kind_of(shape, &name);
                let mut faults = at_holder(
                    format!("{what} needs `{missing}`"),
                    format!("add `{missing}:`{}", self.hint(shape, missing)),
                );
                faults[0].keys = vec![missing.to_owned()];
                faults
            }
            K::AnyOf { context } | K::OneOfNotValid { context } => {
                self.alternatives(error, context, &route, shape, &keyword)
            }
            K::Type { kind } => {
                let wants = types_of(kind);
                if value.is_null() {
                    at_value(
                        format!("{name} is empty"),
                        format!("give it {}, or take the key out", article_of(&wants)),
                    )
                } else {
                    at_value(
                        format!(
                            "{name} wants {}, and this is {}",
                            article_of(&wants),
                            what_is(value)
                        ),
                        self.type_remedy(&wants, value, &route, shape),
                    )
                }
            }
            K::Enum { .. } if value.is_null() => {
                at_value(format!("{name} is empty"), form_of(shape))
            }
            K::Enum { options } => {
                let words: Vec<&str> = options
                    .as_array()
                    .map(|all| all.iter().filter_map(Value::as_str).collect())
                    .unwrap_or_default();
                let written = shown(value);
                at_value(
                    format!("`{written}` is no word for {name}"),
                    word_for(&written, &words),
                )
            }
            K::Constant { expected_value } => at_value(
                format!("{name} must be `{}`", shown(expected_value)),
                format!("write `{}`", shown(expected_value)),
            ),
            K::Format { format } if format == "date" => at_value(
                format!("`{}` is no day in the calendar", shown(value)),
                "write year-month-day, as in 2026-03-01".to_owned(),
            ),
            K::Pattern { .. } => at_value(
                format!("`{}` can't be {name}", shown(value)),
                match value.as_str() {
                    Some(written) if name == "`colour`" => habits::colour(written),
                    _ => form_of(shape),
                },
            ),
            K::Minimum { limit } => at_value(
                format!("{name} must be {} or more", shown(limit)),
                format!("write a number from {} up", shown(limit)),
            ),
            K::Maximum { limit } => at_value(
                format!("{name} must be {} or less", shown(limit)),
                format!("write a number up to {}", shown(limit)),
            ),
            K::ExclusiveMinimum { limit } => at_value(
                format!("{name} must be more than {}", shown(limit)),
                format!("write a number above {}", shown(limit)),
            ),
            K::ExclusiveMaximum { limit } => at_value(
                format!("{name} must be less than {}", shown(limit)),
                format!("write a number below {}", shown(limit)),
            ),
            K::MinItems { limit } => at_value(
                format!("{name} must list at least {limit}"),
                "add what is missing".to_owned(),
            ),
            K::MaxItems { limit } => at_value(
                format!("{name} must list {limit} at most"),
                "take the others out, or give them a record of their own".to_owned(),
            ),
            K::UniqueItems => at_value(
                format!("{name} lists one thing twice"),
                "take one of them out".to_owned(),
            ),
            K::MinLength { .. } => at_value(
                format!("{name} is an empty text"),
                "write something, or take the key out".to_owned(),
            ),
            K::MaxLength { limit } => at_value(
                format!("{name} is longer than {limit} characters"),
                "put the rest into `note`".to_owned(),
            ),
            K::MinProperties { .. } => at_holder(
                format!("{name} says nothing"),
                format!("say at least one thing: {}", known_keys(shape)),
            ),
            K::MaxProperties { limit } => at_holder(
                format!("{name} may have {limit} keys at most"),
                "take the others out".to_owned(),
            ),
            _ => at_value(
                format!("`{}` is not what belongs in {name}", shown(value)),
                form_of(shape),
            ),
        }
    }

    fn unknown_key(&self, route: &Route, key: &str, shape: Option<&Shape>, keyword: &str) -> Fault {
        let own = route.then(key);
        let what = self.kind_of(shape, &called(route));
        let known: Vec<&str> = shape
            .map(|shape| shape.order.iter().map(String::as_str).collect())
            .unwrap_or_default();
        let near = match habits::meant_by(key) {
            None => near::nearest(key, &known),
            Some(_) => Vec::new(),
        };
        let mut keys: Vec<String> = near.iter().map(|near| (*near).to_owned()).collect();
        let glued = blame::glued_key(key).filter(|end| known.contains(&&key[..end - 1]));
        let uncoloned = key.split_once(' ').filter(|(first, _)| {
            let value = self.tree.node(&own);
            known.contains(first) && value.is_some_and(|node| node.span.range().is_empty())
        });
        let remedy = if let Some(end) = glued {
            keys.push(key[..end - 1].to_owned());
            format!(
                "put a space after the colon: `{} {}`",
                &key[..end],
                &key[end..]
            )
        } else if let Some((first, rest)) = uncoloned {
            keys.push(first.to_owned());
            format!("put a colon behind `{first}`: `{first}: {rest}`")
        } else if let Some(broken) = self.broken_by_comma(route, key) {
            broken
        } else if let Some(elsewhere) = self.by_habit(&own, key, shape, near.is_empty()) {
            elsewhere
        } else {
            let remedy = near::write_one_of(key, if near.is_empty() { &known } else { &near });
            if known.contains(&"note") && !near.contains(&"note") {
                format!("{remedy}; a remark goes into `note`")
            } else {
                remedy
            }
        };
        Fault {
            span: self.key_span(&own),
            route: own,
            keyword: keyword.to_owned(),
            message: format!("{what} has no key `{key}`"),
            remedy,
            keys,
            told: false,
        }
    }

    /// Where a key belongs that people write here by habit: another key of the map,
    /// or one further in.
    fn by_habit(
        &self,
        own: &Route,
        key: &str,
        shape: Option<&Shape>,
        lost: bool,
    ) -> Option<String> {
        let shape = shape?;
        let written = self.tree.node(own);
        let mut offers = Vec::new();
        let itself = [key];
        let meant_keys = habits::meant_by(key).unwrap_or(&itself);
        for meant in meant_keys {
            if let Some(target) = shape
                .keys
                .get(*meant)
                .and_then(|_| self.shapes.under(shape, meant))
            {
                // With a foreign example a line would say something untrue.
                let text = written.and_then(|node| node.text(self.source));
                let fitting = text.is_none_or(|text| fits(target, text) > 0);
                let example = self.example(target, written, 0);
                let example = example.filter(|_| fitting || !target.wants_text());
                offers.push(match (example, meant_keys.len()) {
                    (Some(example), 1) => format!("`{meant}: {example}`"),
                    (Some(example), _) => {
                        format!("`{meant}: {example}`{}", self.hint(Some(shape), meant))
                    }
                    (None, _) => format!("`{meant}`{}", self.hint(Some(shape), meant)),
                });
            } else if !matches!(*meant, "when" | "note")
                && let Some(inside) = self.further_in(shape, meant, written)
            {
                offers.push(format!("`{inside}`"));
            }
        }
        // A mark at the record's level: whatever it holds is known under free names.
        if offers.is_empty()
            && lost
            && let Some(node) = written.filter(|node| !node.entries().is_empty())
        {
            let mut holders = shape.order.iter();
            let holder = holders.find(|holder| {
                let holder = self.shapes.under(shape, holder);
                holder.is_some_and(|holder| self.is_one_of(holder, node))
            });
            if let Some(holder) = holder {
                return Some(format!(
                    "put it under `{holder}`, set in further than `{holder}:`"
                ));
            }
        }
        // A key of the file itself that is set in.
        let top = self.shapes.top();
        let of_file = top.keys.contains_key(key) && {
            // `name` and `note` stand nearly everywhere.
            let target = self.shapes.under(top, key);
            target.is_some_and(|target| !target.wants_text())
        };
        if offers.is_empty() && lost && own.0.len() > 1 && of_file {
            return Some(format!(
                "do not set `{key}` in, nor its lines so far: it is a key of the file itself"
            ));
        }
        // A record that is set in and so lies inside the one before it.
        if offers.is_empty()
            && own.0.len() == 2
            && lost
            && written.is_some_and(|node| {
                !node.entries().is_empty() && self.is_one_of(self.shapes.top(), node)
            })
        {
            return Some(format!(
                "do not set `{key}` in, if it is a record of its own"
            ));
        }
        (!offers.is_empty()).then(|| format!("write {}", offers.join(" or ")))
    }

    /// `pieces: {P1: {donor: pell-van}}`: the way to a key further in.
    fn further_in(&self, shape: &Shape, key: &str, written: Option<&Node>) -> Option<String> {
        let inner = |shape: &Shape| -> Option<String> {
            let target = shape
                .keys
                .get(key)
                .and_then(|_| self.shapes.under(shape, key))?;
            let example = self
                .example(target, written, 0)
                .unwrap_or_else(|| "…".to_owned());
            Some(format!("{{{key}: {example}}}"))
        };
        let through = |shape: &Shape| -> Option<String> {
            shape.order.iter().find_map(|holder| {
                let inside = inner(self.shapes.under(shape, holder)?)?;
                Some(format!("{holder}: {inside}"))
            })
        };
        let free = |with: &dyn Fn(&Shape) -> Option<String>| -> Option<String> {
            shape.order.iter().find_map(|holder| {
                let free = self.shapes.free(self.shapes.under(shape, holder)?)?;
                let mark = if holder == "pieces" { "P1" } else { "name" };
                Some(format!("{holder}: {{{mark}: {}}}", with(free)?))
            })
        };
        free(&inner)
            .or_else(|| through(shape))
            .or_else(|| free(&|shape| through(shape).map(|inside| format!("{{{inside}}}"))))
    }

    /// What may stand at a spot, as YAML in one line; with what is written there
    /// already, if it fits.
    fn example(&self, shape: &Shape, written: Option<&Node>, depth: usize) -> Option<String> {
        if depth > 3 {
            return None;
        }
        let item = self.shapes.item(shape);
        // A list or a map that somebody wrote is kept as it is, or not shown at all:
        // with an example in its place somebody's figures would be swapped for ours.
        let as_written = match written.map(|node| (&node.kind, node)) {
            Some((NodeKind::Seq(_), node)) => Some((node, item.is_some())),
            Some((NodeKind::Map(_), node)) => Some((node, item.is_none())),
            _ => None,
        };
        if let Some((node, true)) = as_written {
            let text = self.source.slice(node.span);
            let whole = near::shortened(text) == text && text.starts_with(['[', '{']);
            return Some(if whole { text } else { "…" }.to_owned());
        }
        if let Some(item) = item {
            return Some(format!("[{}]", self.example(item, written, depth + 1)?));
        }
        let text = written.and_then(|node| node.text(self.source));
        if shape.keys.is_empty() {
            let fits = text.filter(|text| fits(shape, text) > 0);
            let shown = |text: &str| {
                near::shortened(written.map_or(text, |node| self.source.slice(node.span)))
            };
            if written.is_some_and(|node| !node.span.range().is_empty()) && fits.is_none() {
                return Some("…".to_owned());
            }
            return fits
                .map(shown)
                .or_else(|| shape.examples.first().cloned())
                .or_else(|| {
                    shape
                        .words
                        .first()
                        .and_then(Value::as_str)
                        .map(str::to_owned)
                })
                .or_else(|| (shape.meaning == Meaning::Day).then(|| "2026-03-01".to_owned()))
                .or_else(|| {
                    shape
                        .types
                        .contains(&"integer".to_owned())
                        .then(|| "1".to_owned())
                });
        }
        // The key that takes what is written: a figure before a day before a text,
        // and of several the one that must be there.
        let rank = |key: &String| -> Option<(usize, bool)> {
            let rank = fits(self.shapes.under(shape, key)?, text?);
            let required = shape.required.contains(key);
            // Any text fits nearly anywhere: it says where it belongs only by need.
            (rank > 1 || rank == 1 && required).then_some((rank, required))
        };
        let mut taken: Option<(&String, (usize, bool))> = None;
        for key in &shape.order {
            if let Some(rank) = rank(key)
                && taken.is_none_or(|(_, best)| rank > best)
            {
                taken = Some((key, rank));
            }
        }
        let taken = taken.map(|(key, _)| key);
        let mut keys: Vec<&String> = shape
            .order
            .iter()
            .filter(|key| shape.required.contains(key) || Some(*key) == taken)
            .collect();
        let more = |key: &&String| {
            let inner = self.shapes.under(shape, key);
            inner.is_some_and(|inner| !inner.examples.is_empty())
        };
        let says_nothing = match keys.as_slice() {
            [] => true,
            // A day alone is hardly what somebody wanted to write down.
            [only] => self
                .shapes
                .under(shape, only)
                .is_some_and(|inner| inner.meaning == Meaning::Day),
            _ => false,
        };
        if says_nothing
            && let Some(next) = shape
                .order
                .iter()
                .filter(|key| !keys.contains(key))
                .find(more)
        {
            keys.push(next);
        }
        let fields: Vec<String> = keys
            .into_iter()
            .map(|key| {
                if text.is_some() && Some(key) != taken {
                    return format!("{key}: …");
                }
                let inner = self.shapes.under(shape, key);
                let inner = inner.and_then(|inner| self.example(inner, written, depth + 1));
                format!("{key}: {}", inner.unwrap_or_else(|| "…".to_owned()))
            })
            .collect();
        (!fields.is_empty()).then(|| format!("{{{}}}", fields.join(", ")))
    }

    /// A key that is missing and stands there misspelt is told once.
    fn misspelt(&self, faults: &mut [Fault]) {
        let meant: BTreeSet<(Vec<Step>, String)> = faults
            .iter()
            .filter(|fault| !fault.lacks())
            .filter_map(|fault| Some((fault.route.0.split_last()?.1.to_vec(), &fault.keys)))
            .flat_map(|(map, keys)| keys.iter().map(move |key| (map.clone(), key.clone())))
            .collect();
        for fault in faults.iter_mut().filter(|fault| fault.lacks()) {
            let map = &fault.route.0;
            let mut keys = fault.keys.iter();
            fault.told = keys.any(|key| meant.contains(&(map.clone(), key.clone())));
        }
    }

    /// Lines that have lost their setting-in: a key that holds nothing, and beside it
    /// what belongs in it. To take either out would lose what is written.
    fn fallen(&self, faults: &mut Vec<Fault>) {
        let Some(root) = &self.tree.root else {
            return;
        };
        let mut found = Vec::new();
        self.look_for_fallen(root, self.shapes.top(), &Route::default(), &mut found);
        let holders: BTreeSet<&[Step]> = found.iter().map(|one| &*one.holder.0).collect();
        let out = found.iter().flat_map(|one| &one.out);
        let out: BTreeSet<&[Step]> = out.map(|route| &*route.0).collect();
        for fault in faults.iter_mut() {
            let way = &*fault.route.0;
            let mut ways = (0..=way.len()).map(|length| &way[..length]);
            fault.told |= holders.contains(way) || ways.any(|way| out.contains(way));
        }
        for fallen in &found {
            let (Some(first), holder) = (fallen.out.first(), called(&fallen.holder)) else {
                continue;
            };
            let key = called(first);
            let lines = match fallen.out.len() {
                1 => "it".to_owned(),
                _ => "it, and the lines after it that belong there,".to_owned(),
            };
            faults.push(Fault {
                span: self.key_span(first),
                route: first.clone(),
                keyword: "type".to_owned(),
                message: format!("{key} stands beside {holder} and belongs inside it"),
                remedy: format!("set {lines} in further than {holder}"),
                keys: Vec::new(),
                told: false,
            });
        }
        faults.sort_by(|a, b| (a.span, &a.message).cmp(&(b.span, &b.message)));
    }

    /// Whether a map is what belongs under the free keys of another: it has no keys
    /// but those.
    fn is_one_of(&self, holder: &Shape, node: &Node) -> bool {
        let NodeKind::Map(fields) = &node.kind else {
            return false;
        };
        self.shapes.free(holder).is_some_and(|free| {
            let mut known = fields
                .iter()
                .map(|field| free.keys.contains_key(&*field.key.text));
            known.all(|known| known)
        })
    }

    fn look_for_fallen(&self, node: &Node, shape: &Shape, route: &Route, found: &mut Vec<Fallen>) {
        if let Some(item) = self.shapes.item(shape) {
            for (number, inner) in node.items().iter().enumerate() {
                self.look_for_fallen(inner, item, &route.then(number), found);
            }
        }
        let fallen = |holder: Option<(Fallen, &Shape)>| {
            let found = holder.map(|(fallen, _)| fallen);
            found.filter(|fallen| !fallen.out.is_empty())
        };
        let mut holder: Option<(Fallen, &Shape)> = None;
        let mut before: Option<(Route, &Shape)> = None;
        for entry in node.entries() {
            let key = &*entry.key.text;
            let way = route.then(key);
            let own = self.shapes.under(shape, key);
            // A field among names: it belongs in what stands before it.
            if holder.is_none()
                && self
                    .shapes
                    .free(shape)
                    .is_some_and(|free| strays_from(free, entry))
                && let Some((route, shape)) = before.take()
            {
                let out = Vec::new();
                holder = Some((Fallen { holder: route, out }, shape));
            }
            if let Some((fallen, inside)) = &mut holder
                && !shape.keys.contains_key(key)
                && (inside.keys.contains_key(key) || self.is_one_of(inside, &entry.value))
            {
                fallen.out.push(way);
                continue;
            }
            found.extend(fallen(holder.take()));
            let Some(own) = own else {
                continue;
            };
            before = Some((way.clone(), own));
            if entry.value.span.range().is_empty() {
                let out = Vec::new();
                holder = Some((Fallen { holder: way, out }, own));
            } else {
                self.look_for_fallen(&entry.value, own, &way, found);
            }
        }
        found.extend(fallen(holder));
    }

    /// `{how: feeler, in water}`: a comma has ended the text before, and its rest
    /// stands there as a key with no value.
    fn broken_by_comma(&self, map: &Route, key: &str) -> Option<String> {
        let entries = self.tree.node(map)?.entries();
        let at = entries.iter().position(|entry| &*entry.key.text == key)?;
        let before = entries.get(at.checked_sub(1)?)?;
        let empty = entries[at].value.span.range().is_empty();
        let between = before.value.span.range().end..entries[at].key.span.range().start;
        let comma = self.source.text.get(between)?.contains(',');
        (empty && comma).then(|| {
            format!(
                "the comma has ended `{}`: put its whole text in quotes if the comma belongs to it",
                before.key.text
            )
        })
    }

    fn bad_name(&self, route: &Route, key: &str, keyword: &str, capitals: bool) -> Fault {
        let remedy = match plain_name(key, capitals) {
            Some(name) => format!("write `{name}`"),
            None => "use letters, digits and hyphens".to_owned(),
        };
        let what = match (capitals, route.0.len()) {
            (true, _) => "a mark",
            (false, 2..) => "a name",
            (false, _) => "an id",
        };
        // `van {maker: Pell}` is read as the key `van {maker`.
        let bare = key.split_once(" {").map(|(name, _)| name);
        let remedy = match bare {
            Some(name) => format!("put a colon behind `{name}`"),
            None => remedy,
        };
        let why = if bare.is_some() {
            "its colon is missing"
        } else if key.starts_with('-') {
            "it begins with a hyphen"
        } else if key.ends_with('-') {
            "it ends with a hyphen"
        } else if key.contains("--") && plain_name(key, capitals).is_some() {
            "it has two hyphens together"
        } else if capitals {
            "letters, digits, hyphens and points only"
        } else {
            "lower-case letters, digits and hyphens only"
        };
        Fault {
            span: self.key_span(route),
            route: route.clone(),
            keyword: keyword.to_owned(),
            message: format!("`{key}` can't be {what}: {why}"),
            remedy,
            keys: Vec::new(),
            told: false,
        }
    }

    /// Of several ways that a value could have been right, the one that it came
    /// closest to.
    fn alternatives(
        &self,
        error: &ValidationError<'_>,
        context: &[Vec<ValidationError<'static>>],
        route: &Route,
        shape: Option<&Shape>,
        keyword: &str,
    ) -> Vec<Fault> {
        use jsonschema::error::ValidationErrorKind as K;
        let missing: Option<Vec<&str>> = context
            .iter()
            .map(|branch| match branch.as_slice() {
                [only] => match only.kind() {
                    K::Required { property } => property.as_str(),
                    _ => None,
                },
                _ => None,
            })
            .collect();
        if let Some(missing) = missing.filter(|all| !all.is_empty()) {
            let either = missing
                .iter()
                .map(|key| format!("`{key}`"))
                .collect::<Vec<_>>()
                .join(" or ");
            return vec![Fault {
                span: self.holder_span(route),
                route: route.clone(),
                keyword: keyword.to_owned(),
                message: format!("{} needs {either}", self.kind_of(shape, &called(route))),
                remedy: format!("add `{}:`{}", missing[0], self.hint(shape, missing[0])),
                keys: missing.iter().map(|key| (*key).to_owned()).collect(),
                told: false,
            }];
        }
        let deepest = context
            .iter()
            .flatten()
            .max_by_key(|inner| inner.instance_path().as_str().matches('/').count());
        match deepest {
            Some(inner) if inner.instance_path() != error.instance_path() => self.faults(inner),
            _ => vec![Fault {
                span: self.value_span(route),
                route: route.clone(),
                keyword: keyword.to_owned(),
                message: format!(
                    "`{}` is not what belongs in {}",
                    shown(error.instance()),
                    called(route)
                ),
                remedy: form_of(shape),
                keys: Vec::new(),
                told: false,
            }],
        }
    }

    /// "a part", "a thread repair", or the key's own name.
    fn kind_of(&self, shape: Option<&Shape>, name: &str) -> String {
        match shape.map(|shape| shape.called.as_str()) {
            Some(called) if !called.is_empty() => near::with_article(called),
            _ => name.to_owned(),
        }
    }

    fn hint(&self, shape: Option<&Shape>, key: &str) -> String {
        let about = shape.and_then(|shape| {
            let own = shape.abouts.get(key);
            own.or_else(|| self.shapes.under(shape, key).map(|inner| &inner.about))
        });
        match about.map(|about| first_sentence(about)) {
            Some(about) if !about.is_empty() => format!(" ({about})"),
            _ => String::new(),
        }
    }

    fn type_remedy(
        &self,
        wants: &[JsonType],
        value: &Value,
        route: &Route,
        shape: Option<&Shape>,
    ) -> String {
        let written = self.tree.node(route);
        let example = || shape.and_then(|shape| self.example(shape, written, 0));
        let of_maps = shape
            .and_then(|shape| self.shapes.item(shape))
            .is_some_and(|item| !item.keys.is_empty());
        match wants {
            [JsonType::Array] if value.is_object() => {
                "put `[` before its `{` and `]` behind its `}`, or a dash before its first key"
                    .to_owned()
            }
            [JsonType::Array] if of_maps => match example() {
                Some(example) => format!("write each in braces, as in `{example}`"),
                None => form_of(shape),
            },
            [JsonType::Array] => format!("put it in brackets: `[{}]`", shown(value)),
            [JsonType::Object] => {
                let glued = value.as_str().and_then(|text| {
                    let end = blame::glued_key(text)?;
                    shape?.keys.contains_key(&text[..end - 1]).then(|| {
                        let text = near::shortened(text);
                        format!(
                            "put a space after the colon: `{}`",
                            text.replacen(':', ": ", 1)
                        )
                    })
                });
                let taken = shape.is_some_and(|shape| {
                    let keys = shape.keys.keys();
                    let text = value.as_str();
                    text.is_some_and(|text| {
                        keys.filter_map(|key| self.shapes.under(shape, key))
                            .any(|own| fits(own, text) > 1)
                    })
                });
                let names = value.as_array().and_then(|items| {
                    let free = self.shapes.free(shape?)?;
                    let names: Option<Vec<&str>> = items.iter().map(Value::as_str).collect();
                    let each = |name: &str| format!("{}: {{}}", near::shortened(name));
                    let names: Vec<String> = names?.into_iter().map(each).collect();
                    let few = !free.keys.is_empty() && (1..=5).contains(&names.len());
                    few.then(|| format!("write each with what it is: `{{{}}}`", names.join(", ")))
                });
                match (glued.or(names), shape.map(known_keys_of)) {
                    (Some(own), _) => own,
                    (_, Some(keys)) if !keys.is_empty() => match example() {
                        Some(example) if taken => format!("write it as `{example}`"),
                        _ => format!("use its keys: {keys}"),
                    },
                    _ => "write a map, name: value".to_owned(),
                }
            }
            [JsonType::String] if shape.is_some_and(|shape| shape.meaning == Meaning::Day) => {
                form_of(shape)
            }
            [JsonType::String] if !(value.is_array() || value.is_object()) => {
                format!("put it in quotes: `\"{}\"`", shown(value))
            }
            [JsonType::Integer | JsonType::Number] => match value.as_str() {
                Some(text) if text.parse::<u32>().is_ok() && written.is_some_and(in_quotes) => {
                    format!("take the quotes off: `{text}`")
                }
                _ => "write digits only, with no unit".to_owned(),
            },
            [JsonType::Boolean] => "write true or false".to_owned(),
            _ => form_of(shape),
        }
    }

    fn key_span(&self, route: &Route) -> Span {
        self.tree
            .key(route)
            .map_or_else(|| self.value_span(route), |key| key.span)
    }

    fn value_span(&self, route: &Route) -> Span {
        self.tree
            .node(route)
            .map_or_else(|| self.top_span(), |node| node.span)
    }

    /// The key that holds a map; in a list, the map's own beginning.
    fn holder_span(&self, route: &Route) -> Span {
        if let Some(key) = self.tree.key(route) {
            return key.span;
        }
        let whole = self.value_span(route);
        let end = self.source.slice(whole).chars().next();
        let start = whole.range().start;
        Span::new(start..start + end.map_or(0, char::len_utf8))
    }

    fn top_span(&self) -> Span {
        let start = self
            .tree
            .root
            .as_ref()
            .map_or(0, |root| root.span.range().start);
        Span::new(start..start)
    }
}

/// A key that holds nothing, and the ways to what stands beside it and belongs in it.
struct Fallen {
    holder: Route,
    out: Vec<Route>,
}

/// Whether an entry is a field of a record, where the id or name of one belongs: it is
/// called so, and holds nothing that a record has.
fn strays_from(record: &Shape, entry: &Entry) -> bool {
    let mut fields = entry.value.entries().iter();
    !entry.value.span.range().is_empty()
        && record.keys.contains_key(&*entry.key.text)
        && !fields.any(|field| record.keys.contains_key(&*field.key.text))
        && !matches!(&entry.value.kind, NodeKind::Map(fields) if fields.is_empty())
}

fn in_quotes(node: &Node) -> bool {
    matches!(
        node.kind,
        NodeKind::Scalar {
            style: Style::Quoted,
            ..
        }
    )
}

/// How surely a text belongs at a spot: 0 not at all, 1 as any text, 2 as a day, 3 as
/// a figure.
fn fits(shape: &Shape, text: &str) -> usize {
    let day = || text.parse::<jiff::civil::Date>().is_ok();
    match &shape.meaning {
        Meaning::Figure { dimensions, .. } => match Quantity::parse(text) {
            Ok(quantity) => {
                let is = Some(quantity.dimension());
                let mut names = dimensions.iter().map(|name| Dimension::from_name(name));
                if dimensions.is_empty() || names.any(|one| one == is) {
                    3
                } else {
                    0
                }
            }
            Err(_) => 0,
        },
        Meaning::Step => usize::from(crate::reckon::step::Step::parse(text).is_ok()) * 3,
        Meaning::Thread => usize::from(Thread::parse(text).is_ok()) * 3,
        Meaning::Cavities => usize::from(Cavities::parse(text).is_ok()),
        Meaning::Day | Meaning::RoughDay => usize::from(day()) * 2,
        _ if !shape.words.is_empty() => {
            usize::from(shape.words.iter().any(|word| word == text)) * 2
        }
        Meaning::Pattern => 0,
        _ if !shape.wants_text() => {
            let whole = shape.types.iter().any(|name| name == "integer");
            usize::from(whole && text.parse::<u32>().is_ok()) * 2
        }
        Meaning::Text | Meaning::Reference(_) => {
            usize::from(!day() && Quantity::parse(text).is_err())
        }
    }
}

/// What to write where only some words are right.
fn word_for(written: &str, words: &[&str]) -> String {
    // A rule is silenced by a word that no reader takes for false.
    if matches!(written.to_lowercase().as_str(), "off" | "no" | "false") && words.contains(&"none")
    {
        return "write `none`".to_owned();
    }
    // A list of words is closed: there is nowhere else to look them up.
    if near::nearest(written, words).is_empty() && words.len() > 5 {
        return format!("write one of: {}", words.join(", "));
    }
    near::write_one_of(written, words)
}

/// `have`, or `pieces` of a list's item.
fn called(route: &Route) -> String {
    let key = route.0.iter().rev().find_map(|step| match step {
        Step::Key(key) => Some(key.as_str()),
        Step::Index(_) => None,
    });
    match (key, route.0.last()) {
        (Some(key), Some(Step::Index(number))) => format!("`{key}` number {}", number + 1),
        (Some(key), _) => format!("`{key}`"),
        (None, _) => "the file".to_owned(),
    }
}

fn types_of(kind: &TypeKind) -> Vec<JsonType> {
    match kind {
        TypeKind::Single(one) => vec![*one],
        TypeKind::Multiple(many) => many.iter().collect(),
    }
}

fn article_of(types: &[JsonType]) -> String {
    let names: Vec<&str> = types
        .iter()
        .map(|one| match one {
            JsonType::Array => "a list",
            JsonType::Boolean => "true or false",
            JsonType::Integer => "a whole number",
            JsonType::Null => "nothing",
            JsonType::Number => "a number",
            JsonType::Object => "a map of keys",
            JsonType::String => "a text",
        })
        .collect();
    names.join(" or ")
}

fn what_is(value: &Value) -> &'static str {
    match value {
        Value::Null => "empty",
        Value::Bool(_) => "true or false",
        Value::Number(number) if number.is_f64() => "a number with a fraction",
        Value::Number(_) => "a number",
        Value::String(_) => "a text",
        Value::Array(_) => "a list",
        Value::Object(_) => "a map of keys",
    }
}

/// A value in a sentence, shortened.
fn shown(value: &Value) -> String {
    let text = match value {
        Value::String(text) => text.clone(),
        Value::Array(_) => "[…]".to_owned(),
        Value::Object(_) => "{…}".to_owned(),
        other => other.to_string(),
    };
    near::shortened(&text)
}

fn form_of(shape: Option<&Shape>) -> String {
    let Some(shape) = shape else {
        return "see the kind's schema for what belongs here".to_owned();
    };
    let example = shape
        .examples
        .first()
        .map(|example| format!(", as in `{example}`"))
        .unwrap_or_default();
    if !shape.words.is_empty() {
        let words: Vec<String> = shape.words.iter().map(shown).collect();
        return format!("write one of: {}", words.join(", "));
    }
    match (&shape.meaning, first_sentence(&shape.about)) {
        (Meaning::Day, _) => "write year-month-day, as in 2026-03-01".to_owned(),
        (_, about) if !about.is_empty() => format!("what belongs here: {about}{example}"),
        _ if !example.is_empty() => format!("write it{example}"),
        _ => "see the kind's schema for what belongs here".to_owned(),
    }
}

fn first_sentence(about: &str) -> String {
    let line = about.lines().next().unwrap_or_default();
    let end = line.find(". ").unwrap_or(line.len());
    let mut sentence = line[..end].trim_end_matches('.').to_owned();
    if let Some(first) = sentence.get(..1) {
        sentence.replace_range(..1, &first.to_lowercase());
    }
    sentence
}

fn known_keys(shape: Option<&Shape>) -> String {
    shape.map(known_keys_of).unwrap_or_default()
}

fn known_keys_of(shape: &Shape) -> String {
    let keys: Vec<&str> = shape.order.iter().map(String::as_str).collect();
    near::listed(&keys)
}

/// The nearest text that can be an id.
fn plain_name(text: &str, capitals: bool) -> Option<String> {
    let mut name = String::new();
    for c in text.chars() {
        if c.is_ascii_alphanumeric() {
            name.push(if capitals { c } else { c.to_ascii_lowercase() });
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
    }
    let name = name.trim_end_matches('-').to_owned();
    (!name.is_empty()).then_some(name)
}
