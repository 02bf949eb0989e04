//! Record files that the schemas take or refuse, each for one reason.
//!
//! A file in `tests/schema/valid` or `tests/schema/invalid` belongs to the kind
//! that its name begins with. Its first line says why it is right or wrong; for a
//! wrong one the keyword that refuses it stands in brackets. Only the schemas
//! judge here: a reference may lead nowhere, a figure may have an odd unit.
//!
//! No scalar is one that readers of YAML disagree about, so days stand in quotes,
//! which they need not in a build. `PARSED_TO=FOLDER cargo test --test fixtures`
//! writes data and verdicts to `FOLDER/fixtures.json`, which the validators of
//! other houses in `tests/peers` judge again.

#![allow(clippy::disallowed_methods)]

use std::collections::BTreeSet;
use std::path::Path;

use matchmark::folder::schema_of;
use matchmark::model::{Kind, Model};
use matchmark::schema::Fault;
use matchmark::source::Source;
use matchmark::yaml::{self, Reading, traps};
use serde_json::{Value, json};

struct Fixture {
    file: String,
    kind: Kind,
    valid: bool,
    reading: Reading,
    data: Value,
}

impl Fixture {
    fn accepted(&self) -> bool {
        schema_of(self.kind).unwrap().accepts(&self.data)
    }

    fn faults(&self) -> Vec<Fault> {
        schema_of(self.kind)
            .unwrap()
            .faults(&self.data, &self.reading.tree, &self.reading.source)
    }

    fn first_line(&self) -> &str {
        self.reading.source.text.lines().next().unwrap_or_default()
    }

    /// The keyword that the first line of an invalid file names.
    fn keyword(&self) -> Option<&str> {
        let rest = self.first_line().strip_prefix("# Invalid (")?;
        rest.split_once("): ").map(|(keyword, _)| keyword)
    }
}

fn fixtures() -> Vec<Fixture> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/schema");
    let mut all = Vec::new();
    for verdict in ["valid", "invalid"] {
        let mut names: Vec<String> = std::fs::read_dir(folder.join(verdict))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        for name in names {
            let file = format!("{verdict}/{name}");
            assert!(name.ends_with(".yaml"), "{file}");
            let text = std::fs::read_to_string(folder.join(&file)).unwrap();
            let kind = name.split_once('-').and_then(|(first, _)| {
                Kind::ALL
                    .iter()
                    .copied()
                    .find(|kind| kind.folder() == first)
            });
            let kind = kind.unwrap_or_else(|| panic!("{file} begins with no kind's folder"));
            let reading = yaml::read(Source::new(&*file, &*text));
            assert!(
                reading.problems.is_empty(),
                "{file}: {:?}",
                reading.problems
            );
            let root = reading.tree.root.as_ref();
            let root = root.unwrap_or_else(|| panic!("{file} holds nothing"));
            let data = root.to_json(&reading.source);
            all.push(Fixture {
                file,
                kind,
                valid: verdict == "valid",
                reading,
                data,
            });
        }
    }
    all
}

#[test]
fn the_schemas_judge_as_the_fixtures_say() {
    for fixture in fixtures() {
        let file = &fixture.file;
        let faults = fixture.faults();
        assert_eq!(fixture.accepted(), fixture.valid, "{file}: {faults:#?}");
        if fixture.valid {
            assert!(
                fixture.first_line().starts_with("# Valid: "),
                "{file} does not say why it is right"
            );
            assert!(faults.is_empty(), "{file}: {faults:#?}");
            continue;
        }
        let keyword = fixture.keyword();
        let keyword = keyword.unwrap_or_else(|| panic!("{file} does not say what refuses it"));
        // Where a word is wanted, what is no text breaks both `type` and `enum`.
        assert!(
            faults.iter().any(|fault| fault.keyword == keyword),
            "{file}: {faults:#?}"
        );
        let text = &fixture.reading.source.text;
        let comment = fixture.first_line().len();
        for fault in &faults {
            assert_eq!(fault.span, faults[0].span, "{file} has two things wrong");
            assert!(
                text.get(fault.span.range()).is_some() && fault.span.range().start > comment,
                "{file}: outside of the records: {fault:#?}"
            );
        }
    }
}

#[test]
fn the_types_take_what_the_schemas_take() {
    for fixture in fixtures().iter().filter(|fixture| fixture.valid) {
        let mut model = Model::default();
        let mut add = |id: &str, record: &Value| {
            if let Err(misfit) = model.add(fixture.kind, id, 0, record) {
                panic!("{}: {id}: {misfit:?}", fixture.file);
            }
        };
        if fixture.kind == Kind::Build {
            add("build", &fixture.data);
        } else {
            for (id, record) in fixture.data.as_object().unwrap() {
                add(id, record);
            }
        }
    }
}

#[test]
fn every_kind_and_every_keyword_has_its_fixtures() {
    let all = fixtures();
    let count = |valid: bool| all.iter().filter(|fixture| fixture.valid == valid).count();
    assert!(count(true) >= 40, "only {} valid ones", count(true));
    assert!(count(false) >= 40, "only {} invalid ones", count(false));
    for kind in Kind::ALL {
        for valid in [true, false] {
            assert!(
                all.iter()
                    .any(|fixture| fixture.kind == *kind && fixture.valid == valid),
                "{kind} has no fixture with the verdict {valid}"
            );
        }
    }
    let covered: BTreeSet<&str> = all.iter().filter_map(Fixture::keyword).collect();
    for kind in Kind::ALL {
        let schema: Value = serde_json::from_str(kind.schema_text()).unwrap();
        for keyword in refusing(&schema) {
            assert!(
                covered.contains(keyword.as_str()),
                "`{keyword}` of {kind} refuses no fixture"
            );
        }
    }
}

/// The keywords of a schema that can refuse a value.
fn refusing(schema: &Value) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for (keyword, value) in schema.as_object().into_iter().flatten() {
        match keyword.as_str() {
            "properties" | "$defs" => {
                found.extend(value.as_object().unwrap().values().flat_map(refusing));
            }
            "items" => found.extend(refusing(value)),
            "additionalProperties" => match value {
                Value::Bool(_) => {
                    found.insert(keyword.clone());
                }
                _ => found.extend(refusing(value)),
            },
            // Branches and names are refused under these keywords' own names.
            "$schema" | "$id" | "$ref" | "title" | "description" | "examples" | "default" => {}
            _ if keyword.starts_with("x-") => {}
            _ => {
                found.insert(keyword.clone());
            }
        }
    }
    found
}

/// Another reader of YAML must get the same data, or the peers judge what nobody wrote.
#[test]
fn no_fixture_holds_what_readers_disagree_about() {
    fn plain_texts(node: &yaml::Node, source: &Source, found: &mut Vec<String>) {
        match &node.kind {
            yaml::NodeKind::Scalar {
                style: yaml::Style::Plain,
                ..
            } => found.extend(node.text(source).map(str::to_owned)),
            yaml::NodeKind::Scalar { .. } => {}
            yaml::NodeKind::Seq(items) => {
                for item in items {
                    plain_texts(item, source, found);
                }
            }
            yaml::NodeKind::Map(entries) => {
                for entry in entries {
                    if entry.key.style == yaml::Style::Plain {
                        // A key is always text to us, so it may not be a number to anybody.
                        let key = entry.key.text.to_string();
                        assert_eq!(traps::reads_as(&key), None, "{}: {key}", source.path);
                    }
                    plain_texts(&entry.value, source, found);
                }
            }
        }
    }
    for fixture in fixtures() {
        let source = &fixture.reading.source;
        let mut texts = Vec::new();
        plain_texts(
            fixture.reading.tree.root.as_ref().unwrap(),
            source,
            &mut texts,
        );
        for text in texts {
            assert!(
                traps::agreed(&text) || traps::reads_as(&text).is_none(),
                "{}: `{text}` wants quotes",
                fixture.file
            );
        }
    }
}

#[test]
fn written_out_for_other_validators() {
    let Some(folder) = std::env::var_os("PARSED_TO") else {
        return;
    };
    let list: Vec<Value> = fixtures()
        .iter()
        .map(|fixture| {
            json!({
                "file": fixture.file,
                "schema": format!("{}.json", fixture.kind.folder()),
                "data": fixture.data,
                "accepted": fixture.accepted(),
            })
        })
        .collect();
    let folder = Path::new(&folder);
    std::fs::create_dir_all(folder).unwrap();
    let text = serde_json::to_string_pretty(&list).unwrap();
    std::fs::write(folder.join("fixtures.json"), text + "\n").unwrap();
}
