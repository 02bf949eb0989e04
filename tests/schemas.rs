//! The published schemas: the same as the types, schemas at all, and with
//! examples that are right.

#![allow(clippy::disallowed_methods)]

use std::path::Path;

use matchmark::folder::schema_of;
use matchmark::model::{Kind, Model, schemas};
use matchmark::source::Source;
use matchmark::yaml;

/// `schema/` is written from the types: `UPDATE=1 cargo test --test schemas`
/// writes it anew after a type has changed.
#[test]
fn the_published_schemas_are_the_types() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("schema");
    for kind in Kind::ALL {
        let path = folder.join(format!("{}.json", kind.folder()));
        let made = schemas::schema_text(*kind);
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(&path, &made).unwrap();
        }
        let published = std::fs::read_to_string(&path).unwrap();
        assert!(
            published == made,
            "{} is not what the types say; run `UPDATE=1 cargo test --test schemas`",
            path.display()
        );
    }
    let answers = [
        (
            "allot",
            schemas::answer_text::<matchmark::render::allot::Report>("allot", "allot"),
        ),
        (
            "identify",
            schemas::answer_text::<matchmark::render::identify::Report>("identify", "identify"),
        ),
        (
            "bucket",
            schemas::answer_text::<matchmark::render::identify::BucketReport>(
                "bucket",
                "identify --bucket FILE",
            ),
        ),
        (
            "sessions",
            schemas::answer_text::<matchmark::render::sessions::Report>(
                "sessions",
                "changes --sessions",
            ),
        ),
        (
            "trail",
            schemas::answer_text::<matchmark::render::trail::Report>("trail", "trail"),
        ),
        (
            "changes",
            schemas::answer_text::<matchmark::render::changes::Report>("changes", "changes"),
        ),
    ];
    for (name, made) in &answers {
        let path = folder.join(format!("{name}.json"));
        if std::env::var_os("UPDATE").is_some() {
            std::fs::write(&path, made).unwrap();
        }
        assert_eq!(&std::fs::read_to_string(&path).unwrap(), made, "{name}");
    }
    let files = std::fs::read_dir(&folder).unwrap().count();
    let known = Kind::ALL.len() + answers.len() + 1;
    assert_eq!(files, known, "and findings.json, no more");
}

/// Each is a schema by the draft's own meta-schema.
#[test]
fn the_published_schemas_are_schemas() {
    for kind in Kind::ALL {
        let schema: serde_json::Value = serde_json::from_str(kind.schema_text()).unwrap();
        assert!(jsonschema::meta::is_valid(&schema), "{kind}");
        assert_eq!(
            schema["$id"],
            format!("{}{}.json", schemas::BASE, kind.folder())
        );
        assert_described(&schema, kind.folder());
    }
}

/// An editor shows the description of each field.
fn assert_described(schema: &serde_json::Value, at: &str) {
    if let Some(properties) = schema.get("properties").and_then(|p| p.as_object()) {
        for (key, value) in properties {
            let described = value.get("description").and_then(|text| text.as_str());
            assert!(
                described.is_some_and(|text| text.len() >= 3),
                "{at}/{key} has no description"
            );
            assert_described(value, &format!("{at}/{key}"));
        }
    }
    for inside in ["$defs", "items", "additionalProperties"] {
        match schema.get(inside) {
            Some(serde_json::Value::Object(map)) if inside == "$defs" => {
                for (name, value) in map {
                    assert_described(value, name);
                }
            }
            Some(value) => assert_described(value, &format!("{at}/{inside}")),
            None => {}
        }
    }
}

#[test]
fn the_examples_in_the_schemas_are_right() {
    for kind in Kind::ALL {
        let reading = yaml::read(Source::new("example.yaml", kind.example()));
        assert!(
            reading.problems.is_empty(),
            "{kind}: {:?}",
            reading.problems
        );
        let json = reading.tree.root.as_ref().unwrap().to_json(&reading.source);
        let schema = schema_of(*kind).unwrap();
        let faults = schema.faults(&json, &reading.tree, &reading.source);
        assert!(faults.is_empty(), "{kind}: {faults:#?}");
        let mut model = Model::default();
        match (kind, &json) {
            (Kind::Build, _) => model.add(*kind, "build", 0, &json).unwrap(),
            (_, serde_json::Value::Object(records)) => {
                for (id, record) in records {
                    model.add(*kind, id, 0, record).unwrap();
                }
            }
            _ => unreachable!(),
        }
    }
}
