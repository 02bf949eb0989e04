//! The published schemas, made from the types: JSON Schema draft 2020-12, one
//! file a kind, each complete in itself so that an editor needs no network.

use schemars::generate::SchemaSettings;
use serde_json::{Map, Value, json};

use super::Kind;
use super::common::NAME_PATTERN;

/// Where the schemas say that they live. Nothing is fetched from there: the
/// name only tells one schema from another (RFC 2606 keeps `.example` free).
pub const BASE: &str = "https://matchmark.example/schema/";

/// The schema of a kind's files.
///
/// # Panics
/// Never: the example of a kind is a constant that a test reads.
#[must_use]
pub fn schema(kind: Kind) -> Value {
    let mut types = SchemaSettings::draft2020_12().into_generator();
    let record = kind.record_schema(&mut types);
    let mut definitions = Value::Object(types.take_definitions(true));
    tidy(&mut definitions);
    let example = serde_yaml_example(kind);
    let head = json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": format!("{BASE}{}.json", kind.folder()),
    });
    let body = if kind == Kind::Build {
        let Some(Value::Object(mut own)) =
            definitions.as_object_mut().and_then(|d| d.remove("Build"))
        else {
            return Value::Null;
        };
        own.insert("title".into(), "build.yaml".into());
        own.insert("examples".into(), json!([example]));
        Value::Object(own)
    } else {
        json!({
            "title": format!("{}/*.yaml", kind.folder()),
            "description": format!("A file of {}: each id with its record.", kind.folder()),
            "type": "object",
            "propertyNames": {
                "pattern": NAME_PATTERN,
                "description": "An id: lower-case letters, digits and hyphens.",
            },
            "additionalProperties": record.to_value(),
            "examples": [example],
        })
    };
    let mut whole = Map::new();
    for part in [head, body, json!({ "$defs": definitions })] {
        if let Value::Object(part) = part {
            whole.extend(part);
        }
    }
    Value::Object(whole)
}

/// The text of a schema file.
#[must_use]
pub fn schema_text(kind: Kind) -> String {
    let mut text = format!("{:#}", schema(kind));
    text.push('\n');
    text
}

/// The text of the schema of what a command prints as JSON; `name` is the schema's.
#[must_use]
pub fn answer_text<T: schemars::JsonSchema>(name: &str, command: &str) -> String {
    let types = SchemaSettings::draft2020_12().into_generator();
    let mut schema = types.into_root_schema_for::<T>();
    schema.insert("$id".into(), format!("{BASE}{name}.json").into());
    let title = format!("What `matchmark {command} --format json` prints");
    schema.insert("title".into(), title.into());
    let mut schema = schema.to_value();
    without_formats(&mut schema);
    format!("{schema:#}\n")
}

/// Takes out the names that Rust has for numbers: no other validator knows them.
fn without_formats(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(without_formats),
        Value::Object(map) => {
            map.remove("format");
            map.values_mut().for_each(without_formats);
        }
        _ => {}
    }
}

fn serde_yaml_example(kind: Kind) -> Value {
    let source = crate::source::Source::new("example", kind.example());
    let reading = crate::yaml::read(source);
    reading
        .tree
        .root
        .map_or(Value::Null, |root| root.to_json(&reading.source))
}

/// Takes out what the generator adds and a person who reads a schema does not
/// need: `null` for a field that may be missing, defaults, Rust's number names.
/// A list of words becomes `enum`, with what each means in its description.
fn tidy(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(tidy),
        Value::Object(map) => {
            map.remove("default");
            if map.get("format").is_some_and(|format| format == "uint32") {
                // More than a million of anything is a slip.
                map.entry("maximum").or_insert(1_000_000.into());
            }
            if map.get("format").is_some_and(|format| format != "date") {
                map.remove("format");
            }
            if let Some(Value::Array(types)) = map.get_mut("type") {
                types.retain(|name| name != "null");
                if let [only] = types.as_slice() {
                    let only = only.clone();
                    map.insert("type".into(), only);
                }
            }
            without_null(map);
            words(map);
            names(map);
            let plain = ["format", "pattern", "enum", "minLength"]
                .iter()
                .all(|key| !map.contains_key(*key));
            if plain && map.get("type").is_some_and(|kind| kind == "string") {
                map.insert("minLength".into(), 1.into());
            }
            for child in map.values_mut() {
                tidy(child);
            }
        }
        _ => {}
    }
}

/// `anyOf: [X, null]` is X: a field that may be missing is simply not required.
fn without_null(map: &mut Map<String, Value>) {
    let Some(Value::Array(branches)) = map.get_mut("anyOf") else {
        return;
    };
    branches.retain(|branch| branch.get("type") != Some(&Value::String("null".into())));
    if let [Value::Object(only)] = branches.as_slice() {
        let only = only.clone();
        if only.contains_key("required") {
            return;
        }
        map.remove("anyOf");
        for (key, value) in only {
            map.entry(key).or_insert(value);
        }
    }
}

fn words(map: &mut Map<String, Value>) {
    let Some(Value::Array(branches)) = map.get("oneOf") else {
        return;
    };
    let all: Option<Vec<(Value, String)>> = branches
        .iter()
        .map(|branch| {
            let word = branch.get("const")?.clone();
            let means = branch.get("description").and_then(Value::as_str);
            Some((word, means.unwrap_or_default().to_owned()))
        })
        .collect();
    let Some(all) = all else { return };
    let about = map
        .get("description")
        .and_then(Value::as_str)
        .unwrap_or_default();
    let mut lines = vec![about.to_owned()];
    lines.extend(
        all.iter()
            .map(|(word, means)| format!("- `{}`: {means}", word.as_str().unwrap_or_default())),
    );
    let words: Vec<Value> = all.into_iter().map(|(word, _)| word).collect();
    map.insert("description".into(), lines.join("\n").into());
    map.remove("oneOf");
    map.insert("type".into(), "string".into());
    map.insert("enum".into(), Value::Array(words));
}

/// A map whose keys follow a pattern says so with `propertyNames`, so that a bad
/// name is told from an unknown key.
fn names(map: &mut Map<String, Value>) {
    let Some(Value::Object(patterns)) = map.get("patternProperties") else {
        return;
    };
    if patterns.len() != 1 || map.get("additionalProperties") != Some(&Value::Bool(false)) {
        return;
    }
    let Some((pattern, values)) = patterns.iter().next().map(|(p, v)| (p.clone(), v.clone()))
    else {
        return;
    };
    map.remove("patternProperties");
    map.insert("propertyNames".into(), json!({ "pattern": pattern }));
    map.insert("additionalProperties".into(), values);
}
