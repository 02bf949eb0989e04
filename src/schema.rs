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

pub mod shape;
pub mod walk;

use jsonschema::{JsonType, ValidationError, Validator, error::TypeKind};
use serde_json::Value;

use crate::model::Kind;
use crate::near;
use crate::source::{Source, Span};
use crate::yaml::{Route, Tree};
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
}

/// A schema that is none: a fault of ours, never of a build folder.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the schema itself can't be used: {0}")]
pub struct BadSchema(String);

impl Schema {
    /// Makes a schema ready.
    ///
    /// # Errors
    /// When it is no schema of draft 2020-12.
    pub fn new(schema: &Value) -> Result<Self, BadSchema> {
        let validator = jsonschema::options()
            .with_draft(jsonschema::Draft::Draft202012)
            .should_validate_formats(true)
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
            }]
        };
        let at_holder = |message: String, remedy: String| {
            vec![Fault {
                span: self.holder_span(&route),
                route: route.clone(),
                keyword: keyword.clone(),
                message,
                remedy,
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
                at_holder(
                    format!("{what} needs `{missing}`"),
                    format!("add `{missing}:`{}", self.hint(shape, missing)),
                )
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
                        self.type_remedy(&wants, value, shape),
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
                    near::write_one_of(&written, &words),
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
                form_of(shape),
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
            .map(|shape| shape.keys.keys().map(String::as_str).collect())
            .unwrap_or_default();
        let remedy = self.broken_by_comma(route, key).unwrap_or_else(|| {
            let remedy = near::write_one_of(key, &known);
            if known.contains(&"note") {
                format!("{remedy}; a remark goes into `note`")
            } else {
                remedy
            }
        });
        Fault {
            span: self.key_span(&own),
            route: own,
            keyword: keyword.to_owned(),
            message: format!("{what} has no key `{key}`"),
            remedy,
        }
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
        Fault {
            span: self.key_span(route),
            route: route.clone(),
            keyword: keyword.to_owned(),
            message: if capitals {
                format!("`{key}` can't be a mark: letters, digits, hyphens and points only")
            } else if route.0.len() > 1 {
                format!("`{key}` can't be a name: lower-case letters, digits and hyphens only")
            } else {
                format!("`{key}` can't be an id: lower-case letters, digits and hyphens only")
            },
            remedy,
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
        let inner = shape.and_then(|shape| self.shapes.under(shape, key));
        match inner.map(|inner| first_sentence(&inner.about)) {
            Some(about) if !about.is_empty() => format!(" ({about})"),
            _ => String::new(),
        }
    }

    fn type_remedy(&self, wants: &[JsonType], value: &Value, shape: Option<&Shape>) -> String {
        match wants {
            [JsonType::Array] if !value.is_object() => {
                format!("put it in brackets: `[{}]`", shown(value))
            }
            [JsonType::Object] => match shape.map(known_keys_of) {
                Some(keys) if !keys.is_empty() => format!("use its keys: {keys}"),
                _ => "write a map, name: value".to_owned(),
            },
            [JsonType::String] if shape.is_some_and(|shape| shape.meaning == Meaning::Day) => {
                form_of(shape)
            }
            [JsonType::String] if !(value.is_array() || value.is_object()) => {
                format!("put it in quotes: `\"{}\"`", shown(value))
            }
            [JsonType::Integer] => "write digits only, with no unit".to_owned(),
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

/// `have`, or `pieces` of a list's item.
fn called(route: &Route) -> String {
    use crate::yaml::Step;
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
    let keys: Vec<&str> = shape.keys.keys().map(String::as_str).collect();
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
