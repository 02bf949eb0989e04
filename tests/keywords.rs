//! The place of each schema keyword: what is underlined when it fails.
//!
//! Unknown key: that key. Missing key: the key of the map that lacks it. Bad
//! value: the value. Failed alternatives: the deepest branch. Each file begins
//! with a byte-order mark, a comment with letters beyond ASCII, and a CR LF, and
//! has a tab before the place, so that a column that counts bytes is caught.

use matchmark::schema::Schema;
use matchmark::source::Source;
use matchmark::yaml;
use serde_json::{Value, json};

/// The keyword that failed, the text underlined, its place, and the sentence.
fn faults(schema: &Value, text: &str) -> Vec<String> {
    let text = format!("\u{FEFF}# größer ·\r\n{text}");
    let reading = yaml::read(Source::new("x.yaml", text));
    assert!(reading.problems.is_empty(), "{:?}", reading.problems);
    let json = reading.tree.root.as_ref().unwrap().to_json(&reading.source);
    let schema = Schema::new(schema).unwrap();
    let faults = schema.faults(&json, &reading.tree, &reading.source);
    assert_eq!(faults.is_empty(), schema.accepts(&json));
    faults
        .iter()
        .map(|fault| {
            let range = fault.span.range();
            format!(
                "{} at {}-{} `{}`: {} | {}",
                if fault.told { "(told)" } else { &fault.keyword },
                reading.source.position(range.start),
                reading.source.position(range.end),
                reading.source.slice(fault.span),
                fault.message,
                fault.remedy
            )
        })
        .collect()
}

#[track_caller]
fn says(schema: Value, text: &str, expected: &[&str]) {
    assert_eq!(faults(&schema, text), expected);
}

#[test]
fn an_unknown_key_is_that_key() {
    says(
        json!({"properties": {"name": {}, "note": {}}, "additionalProperties": false}),
        "name: \t\"·\"\r\nnmae: \tx\r\n",
        &[
            "additionalProperties at 3:1-3:5 `nmae`: the file has no key `nmae` | write `name`; a remark goes into `note`",
        ],
    );
    says(
        json!({"properties": {"a": {"properties": {"b": {}}, "additionalProperties": false}}}),
        "a: {\"ö\": 1, \"c/d\": 2}",
        &[
            "additionalProperties at 2:5-2:8 `\"ö\"`: `a` has no key `ö` | write `b`",
            "additionalProperties at 2:13-2:18 `\"c/d\"`: `a` has no key `c/d` | write `b`",
        ],
    );
    says(
        json!({"properties": {"a": {}}, "unevaluatedProperties": false}),
        "a:\t·\r\nb:\tx",
        &["unevaluatedProperties at 3:1-3:2 `b`: the file has no key `b` | write `a`"],
    );
}

#[test]
fn a_bad_name_is_that_key() {
    says(
        json!({"propertyNames": {"pattern": "^[a-z]+$"}}),
        "ok:\t·\r\nUnit B: x",
        &[
            "propertyNames at 3:1-3:7 `Unit B`: `Unit B` can't be an id: lower-case letters, digits and hyphens only | write `unit-b`",
        ],
    );
}

#[test]
fn a_missing_key_is_its_parents_key() {
    says(
        json!({"additionalProperties": {"required": ["name"], "properties": {"name": {"description": "What it is called."}}}}),
        "\"ö\": {}\r\nb:\t{x: ·}",
        &[
            "required at 2:1-2:4 `\"ö\"`: `ö` needs `name` | add `name:` (what it is called)",
            "required at 3:1-3:2 `b`: `b` needs `name` | add `name:` (what it is called)",
        ],
    );
    says(
        json!({"properties": {"list": {"items": {"required": ["what"]}}}}),
        "list:\t[{what: ·}, {x: 1}]",
        &["required at 2:19-2:20 `{`: `list` number 2 needs `what` | add `what:`"],
    );
    says(
        json!({"required": ["name"]}),
        "x:\t·",
        &["required at 2:1-2:2 `x`: the file needs `name` | add `name:`"],
    );
    says(
        json!({"properties": {"a": {"minProperties": 1, "properties": {"least": {}, "most": {}}}}}),
        "\"·\":\t1\r\na:\t{}",
        &[
            "minProperties at 3:1-3:2 `a`: `a` says nothing | say at least one thing: `least`, `most`",
        ],
    );
    says(
        json!({"properties": {"a": {"maxProperties": 1}}}),
        "a:\t{x: ·, y: 1}",
        &["maxProperties at 2:1-2:2 `a`: `a` may have 1 keys at most | take the others out"],
    );
}

#[test]
fn a_bad_value_is_the_value() {
    let one = |keyword: Value| json!({"properties": {"a": keyword}});
    let table: &[(Value, &str, &str)] = &[
        (
            one(json!({"type": "integer"})),
            "a:\t\"·\"",
            "type at 2:4-2:7 `\"·\"`: `a` wants a whole number, and this is a text | write digits only, with no unit",
        ),
        (
            one(json!({"type": "string"})),
            "a:\t12.5",
            "type at 2:4-2:8 `12.5`: `a` wants a text, and this is a number with a fraction | put it in quotes: `\"12.5\"`",
        ),
        (
            one(json!({"type": "string"})),
            "a:\r\n\"·\": 1",
            "type at 2:3-2:3 ``: `a` is empty | give it a text, or take the key out",
        ),
        (
            one(json!({"type": "array"})),
            "\"·\":\t1\r\na:\tx",
            "type at 3:4-3:5 `x`: `a` wants a list, and this is a text | put it in brackets: `[x]`",
        ),
        (
            one(json!({"type": "object", "properties": {"by": {}, "when": {}}})),
            "a:\t[\"·\"]",
            "type at 2:4-2:9 `[\"·\"]`: `a` wants a map of keys, and this is a list | use its keys: `by`, `when`",
        ),
        (
            one(json!({"type": "boolean"})),
            "a:\tja",
            "type at 2:4-2:6 `ja`: `a` wants true or false, and this is a text | write true or false",
        ),
        (
            one(json!({"enum": ["serviceable", "scrap"]})),
            "a:\tservicable",
            "enum at 2:4-2:14 `servicable`: `servicable` is no word for `a` | write `serviceable`",
        ),
        (
            one(json!({"enum": ["x", "y"]})),
            "a:\t·größer",
            "enum at 2:4-2:11 `·größer`: `·größer` is no word for `a` | known here: `x`, `y`",
        ),
        (
            one(json!({"const": 1})),
            "a:\t2",
            "const at 2:4-2:5 `2`: `a` must be `1` | write `1`",
        ),
        (
            one(json!({"type": "string", "format": "date"})),
            "a:\t2026-02-30",
            "format at 2:4-2:14 `2026-02-30`: `2026-02-30` is no day in the calendar | write year-month-day, as in 2026-03-01",
        ),
        (
            one(
                json!({"pattern": "^[A-Z]+$", "description": "Its letters. More.", "examples": ["BU"]}),
            ),
            "a:\tbü",
            "pattern at 2:4-2:6 `bü`: `bü` can't be `a` | what belongs here: its letters, as in `BU`",
        ),
        (
            one(json!({"minimum": 3})),
            "\"·\":\t1\r\na:\t2",
            "minimum at 3:4-3:5 `2`: `a` must be 3 or more | write a number from 3 up",
        ),
        (
            one(json!({"maximum": 3})),
            "a:\t4",
            "maximum at 2:4-2:5 `4`: `a` must be 3 or less | write a number up to 3",
        ),
        (
            one(json!({"exclusiveMinimum": 3})),
            "a:\t3",
            "exclusiveMinimum at 2:4-2:5 `3`: `a` must be more than 3 | write a number above 3",
        ),
        (
            one(json!({"exclusiveMaximum": 3})),
            "a:\t3",
            "exclusiveMaximum at 2:4-2:5 `3`: `a` must be less than 3 | write a number below 3",
        ),
        (
            one(json!({"multipleOf": 2})),
            "a:\t3",
            "multipleOf at 2:4-2:5 `3`: `3` is not what belongs in `a` | see the kind's schema for what belongs here",
        ),
        (
            one(json!({"minItems": 2})),
            "a:\t[\"·\"]",
            "minItems at 2:4-2:9 `[\"·\"]`: `a` must list at least 2 | add what is missing",
        ),
        (
            one(json!({"maxItems": 1})),
            "a:\t[\"·\", x]",
            "maxItems at 2:4-2:12 `[\"·\", x]`: `a` must list 1 at most | take the others out, or give them a record of their own",
        ),
        (
            one(json!({"uniqueItems": true})),
            "a:\t[x, \"·\", x]",
            "uniqueItems at 2:4-2:15 `[x, \"·\", x]`: `a` lists one thing twice | take one of them out",
        ),
        (
            one(json!({"contains": {"const": 1}})),
            "a:\t[\"·\"]",
            "contains at 2:4-2:9 `[\"·\"]`: `[…]` is not what belongs in `a` | see the kind's schema for what belongs here",
        ),
        (
            one(json!({"minLength": 1})),
            "a:\t\"\"",
            "minLength at 2:4-2:6 `\"\"`: `a` is an empty text | write something, or take the key out",
        ),
        (
            one(json!({"maxLength": 1})),
            "a:\t·ö",
            "maxLength at 2:4-2:6 `·ö`: `a` is longer than 1 characters | put the rest into `note`",
        ),
        (
            one(json!({"items": {"type": "integer"}})),
            "a:\t[1, \"·\"]",
            "type at 2:8-2:11 `\"·\"`: `a` number 2 wants a whole number, and this is a text | write digits only, with no unit",
        ),
        (
            one(json!({"prefixItems": [{"type": "integer"}]})),
            "a:\t[\"·\"]",
            "type at 2:5-2:8 `\"·\"`: `a` number 1 wants a whole number, and this is a text | write digits only, with no unit",
        ),
        (
            one(json!({"not": {"const": 1}})),
            "a:\t1",
            "not at 2:4-2:5 `1`: `1` is not what belongs in `a` | see the kind's schema for what belongs here",
        ),
        (
            one(json!({"$ref": "#/$defs/n"}))
                .as_object()
                .map(|map| {
                    let mut map = map.clone();
                    map.insert("$defs".into(), json!({"n": {"type": "integer"}}));
                    Value::Object(map)
                })
                .unwrap(),
            "a:\t·",
            "type at 2:4-2:5 `·`: `a` wants a whole number, and this is a text | write digits only, with no unit",
        ),
    ];
    for (schema, text, expected) in table {
        assert_eq!(faults(schema, text), [*expected], "{schema}");
    }
}

/// A missing key that stands there misspelt is told once, at what is written.
#[test]
fn a_misspelt_key_is_not_missing_too() {
    let part = json!({"properties": {"name": {}, "maker": {}}, "additionalProperties": false,
        "anyOf": [{"required": ["name"]}, {"required": ["maker"]}]});
    let one =
        json!({"properties": {"name": {}}, "required": ["name"], "additionalProperties": false});
    for (schema, written, says) in [
        (one.clone(), "naem: x", "write `name`"),
        (part, "makr: x", "write `maker`"),
        (one, "\"name:x\":", "put a space after the colon: `name: x`"),
    ] {
        let found = faults(
            &json!({"properties": {"d": schema}}),
            &format!("d:\r\n\t# ·\r\n  {written}"),
        );
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].starts_with("(told) at 2:1-2:2 `d`"), "{found:?}");
        assert!(
            found[1].starts_with("additionalProperties at 4:3-4:"),
            "{found:?}"
        );
        assert!(found[1].ends_with(says), "{found:?}");
    }
}

/// A remedy is what makes the record right, not the next error.
#[test]
fn a_remedy_shows_the_whole_form() {
    let spent = json!({"type": "array", "items": {"type": "object", "required": ["when"], "properties": {
        "when": {"type": "string", "format": "date", "examples": ["2026-03-01"]},
        "for": {"type": "string", "x-quantity": ["time"], "examples": ["2 h"]},
        "by": {"type": "string"},
    }}});
    let whole = |schema: &Value| json!({"properties": {"a": schema}});
    for (schema, text, says) in [
        (
            &spent,
            "3 h",
            "write each in braces, as in `[{when: …, for: 3 h}]`",
        ),
        (
            &spent,
            "2026-02-02",
            "write each in braces, as in `[{when: 2026-02-02, for: …}]`",
        ),
        (
            &spent,
            "soon",
            "write each in braces, as in `[{when: …, for: …}]`",
        ),
        (
            &spent,
            "{when: 2026-02-02}",
            "put `[` before its `{` and `]` behind its `}`, or a dash before its first key",
        ),
        (
            &json!({"type": "integer"}),
            "\"1994\"",
            "take the quotes off: `1994`",
        ),
        (&json!({"enum": ["error", "none"]}), "off", "write `none`"),
    ] {
        let found = faults(&whole(schema), &format!("a:\t{text}"));
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(found[0].contains(" at 2:4-2:"), "{found:?}");
        assert!(found[0].ends_with(&format!(" | {says}")), "{found:?}");
    }
}

/// What has lost its setting-in is told where it stands, once for all its lines.
#[test]
fn what_stands_beside_its_holder_is_told_once() {
    let piece = json!({"type": "object", "additionalProperties": false,
        "properties": {"donor": {"type": "string"}, "keep": {"type": "string"}}});
    let part = json!({"additionalProperties": {"type": "object", "additionalProperties": false,
        "properties": {"pieces": {"type": "object", "additionalProperties": piece}}}});
    for (text, says) in [
        (
            "p:\r\n  pieces:\r\n    P1:\r\n    donor: ö\r\n    keep: ö",
            "type at 5:5-5:10 `donor`: `donor` stands beside `P1` and belongs inside it | \
             set it, and the lines after it that belong there, in further than `P1`",
        ),
        (
            "p:\r\n  pieces:\r\n  P1: {donor: ö}",
            "type at 4:3-4:5 `P1`: `P1` stands beside `pieces` and belongs inside it | \
             set it in further than `pieces`",
        ),
    ] {
        let found = faults(&part, text);
        let told: Vec<&String> = found
            .iter()
            .filter(|one| !one.starts_with("(told)"))
            .collect();
        assert_eq!(told, [says], "{found:?}");
    }
    says(
        part,
        "p:\r\n  P1: {donor: ö}",
        &[
            "additionalProperties at 3:3-3:5 `P1`: `p` has no key `P1` | put it under `pieces`, set in further than `pieces:`",
        ],
    );
}

#[test]
fn failed_alternatives_are_the_deepest_branch() {
    // Alternatives of missing keys are told together, at the parent's key.
    says(
        json!({"properties": {"d": {"anyOf": [{"required": ["name"]}, {"required": ["maker"]}]}}}),
        "\"·\":\t1\r\nd:\t{x: 1}",
        &["anyOf at 3:1-3:2 `d`: `d` needs `name` or `maker` | add `name:`"],
    );
    // The branch that came furthest is the one that was meant.
    says(
        json!({"properties": {"a": {"anyOf": [
            {"type": "string"},
            {"type": "object", "properties": {"b": {"type": "object", "properties": {"c": {"type": "integer"}}}}},
        ]}}}),
        "a:\t{b: {\"·\": 1, c: x}}",
        &[
            "type at 2:20-2:21 `x`: `c` wants a whole number, and this is a text | write digits only, with no unit",
        ],
    );
    says(
        json!({"properties": {"a": {"oneOf": [
            {"type": "string"},
            {"items": {"enum": ["left", "right"]}, "type": "array"},
        ]}}}),
        "a:\t[·, left]",
        &["enum at 2:5-2:6 `·`: `·` is no word for `a` number 1 | known here: `left`, `right`"],
    );
    // None came further than the value itself.
    says(
        json!({"properties": {"a": {"oneOf": [{"type": "string"}, {"type": "array"}]}}}),
        "\"·\":\t1\r\na:\t7",
        &[
            "oneOf at 3:4-3:5 `7`: `7` is not what belongs in `a` | see the kind's schema for what belongs here",
        ],
    );
}
