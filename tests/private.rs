//! What is private: which fields the patterns choose, a record file without them, and
//! whether anything of it still stands somewhere.
//!
//! What a file must say afterwards is judged by a second YAML reader (`serde_yaml`).

#![allow(clippy::disallowed_methods)]

use matchmark::handover::private::{Private, Texts};
use matchmark::handover::strip::{Stripped, strip};
use matchmark::model::Kind;
use matchmark::source::Source;
use matchmark::yaml::{Reading, Route, read};
use proptest::prelude::*;
use serde_json::{Value, json};

fn private(patterns: &[&str]) -> Private {
    Private::by(patterns.iter().copied()).unwrap()
}

fn reading(text: &str) -> Reading {
    read(Source::new("x/all.yaml", text))
}

fn stripped(kind: Kind, text: &str, patterns: &[&str]) -> Stripped {
    strip(kind, &reading(text), &private(patterns)).unwrap()
}

fn second(text: &str) -> Value {
    let value: Value = serde_yaml::from_str(text.trim_start_matches('\u{feff}')).unwrap();
    if value.is_null() { json!({}) } else { value }
}

/// Kind, patterns, the file, the file without what they choose.
type Case = (Kind, &'static [&'static str], &'static str, &'static str);

const CASES: &[Case] = &[
    // A field, in braces and on lines.
    (
        Kind::Donors,
        &["donors/*/price"],
        "pell-van: {maker: Pell, price: 310 EUR}\ntarn: {price: 5 EUR, maker: Tarn}\n",
        "pell-van: {maker: Pell}\ntarn: {maker: Tarn}\n",
    ),
    (
        Kind::Donors,
        &["donors/*/price"],
        "pell-van:\n  maker: Pell  # not dear\n  price: 310 EUR  # paid in cash\n  year: 1996\n",
        "pell-van:\n  maker: Pell  # not dear\n  year: 1996\n",
    ),
    // Nothing is private: not a byte is another.
    (
        Kind::Donors,
        &["donors/*/price", "jobs/**/price"],
        "\u{feff}pell-van :   {maker:    Pell}   # x\r\n\r\n",
        "\u{feff}pell-van :   {maker:    Pell}   # x\r\n\r\n",
    ),
    // The last field of a map, and of a record.
    (
        Kind::Donors,
        &["donors/*/price"],
        "pell-van: {price: 310 EUR}\ntarn:\n  price: 5 EUR\n",
        "pell-van: {}\ntarn: {}\n",
    ),
    // A whole record, with what stands straight above it; the next one keeps its own.
    (
        Kind::Donors,
        &["donors/tarn"],
        "# Donors.\n\npell-van: {maker: Pell}\n\n# from the neighbour\ntarn:\n  maker: Tarn\n  # rust\n\n# the third\nlast: {maker: Oriel}\n",
        "# Donors.\n\npell-van: {maker: Pell}\n\n\n# the third\nlast: {maker: Oriel}\n",
    ),
    // The only record.
    (
        Kind::Donors,
        &["donors/tarn"],
        "# Donors.\n\ntarn: {maker: Tarn}\n",
        "# Donors.\n\n",
    ),
    (
        Kind::Donors,
        &["donors/**"],
        "tarn: {maker: Tarn}\nb: {year: 1990}",
        "",
    ),
    (
        Kind::Donors,
        &["donors/*"],
        "{tarn: {maker: Tarn}, b: {year: 1990}}\n",
        "{}\n",
    ),
    // In list items.
    (
        Kind::Jobs,
        &["jobs/**/price"],
        "order-9:\n  kind: order\n  price: 30 EUR\n  lines:\n    - {what: parts/a, price: 24 EUR}\n    - what: parts/b\n      price: 6 EUR\n      count: 2\n    - price: 9 EUR\n      what: parts/c\n    - price: 7 EUR\n",
        "order-9:\n  kind: order\n  lines:\n    - {what: parts/a}\n    - what: parts/b\n      count: 2\n    - what: parts/c\n    - {}\n",
    ),
    (
        Kind::Jobs,
        &["jobs/order-9/lines"],
        "order-9:\n  kind: order\n  lines:\n    - {what: parts/a, price: 24 EUR}\n    - what: parts/b\n  note: x\n",
        "order-9:\n  kind: order\n  note: x\n",
    ),
    // In build.yaml.
    (
        Kind::Build,
        &["build/car/chassis-number", "build/note"],
        "name: Wren\ncar: {maker: Oriel, chassis-number: \"OW-20114\"}\nnote: |\n  bought in\n  the spring\ncylinders: 4\n",
        "name: Wren\ncar: {maker: Oriel}\ncylinders: 4\n",
    ),
    // Comments: above, beside, in the braces, and one further off that says it again.
    (
        Kind::Donors,
        &["donors/*/price"],
        "# prices are in the book: 310 EUR\n\npell-van:\n  maker: Pell\n  # what it cost\n  # in the end\n  price: 310 EUR\n  year: 1996  # 310 EUR for that year!\n  note: runs  # still\n",
        "\npell-van:\n  maker: Pell\n  year: 1996\n  note: runs  # still\n",
    ),
    (
        Kind::Donors,
        &["donors/*/price"],
        "pell-van: {maker: Pell, # a friend's\n  price: 310 EUR, # he wanted more\n  year: 1996} # dear\nb: {year: 1990} # stays\n",
        "pell-van: {maker: Pell,\n  year: 1996}\nb: {year: 1990} # stays\n",
    ),
    // Line ends, a byte-order mark, no last line end.
    (
        Kind::Donors,
        &["donors/*/price"],
        "\u{feff}a:\r\n  price: 10 EUR\r\n  year: 1990\r\nb:\r\n  year: 1991\r\n  price: 11 EUR",
        "\u{feff}a:\r\n  year: 1990\r\nb:\r\n  year: 1991",
    ),
];

#[test]
fn a_file_is_what_it_was_without_what_is_private() {
    for (kind, patterns, text, expected) in CASES {
        let made = stripped(*kind, text, patterns);
        assert_eq!(made.text, *expected, "{patterns:?} of\n{text}");
        let mut meant = second(text);
        let all = private(patterns);
        let ways = all.ways(*kind, &reading(text));
        assert_eq!(made.taken.len(), ways.len());
        all.strip(*kind, &Route::default(), &mut meant);
        assert_eq!(second(&made.text), meant, "{text}");
        // Once more takes nothing more.
        let again = stripped(*kind, &made.text, patterns);
        assert_eq!((again.text, again.taken), (made.text, Vec::new()));
    }
}

#[test]
fn what_was_taken_is_told_as_patterns_call_it() {
    let text = "order-9: {kind: order, lines: [{what: parts/a, price: 24 EUR}]}\ntarn: {does: x}\n";
    let made = stripped(Kind::Jobs, text, &["jobs/tarn", "jobs/**/price"]);
    let told: Vec<_> = made
        .taken
        .iter()
        .map(|one| {
            (
                &*one.record,
                &*one.field,
                &*one.pattern,
                one.way.to_string(),
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            (
                "jobs/order-9",
                "lines/price",
                "jobs/**/price",
                "/order-9/lines/0/price".to_owned()
            ),
            ("jobs/tarn", "", "jobs/tarn", "/tarn".to_owned()),
        ]
    );
    let made = stripped(
        Kind::Build,
        "car: {chassis-number: \"12\"}\n",
        &["build/car/*"],
    );
    assert_eq!(
        (&*made.taken[0].record, &*made.taken[0].field),
        ("build", "car/chassis-number")
    );
}

#[test]
fn json_loses_the_same() {
    let all = private(&["donors/*/price", "donors/tarn", "jobs/**/price"]);
    let way = |keys: &[&str]| Route(keys.iter().map(|key| (*key).into()).collect());
    let strip = |kind, keys: &[&str], value: Value| {
        let mut value = value;
        all.strip(kind, &way(keys), &mut value);
        value
    };
    assert_eq!(
        strip(
            Kind::Donors,
            &["pell-van"],
            json!({"price": "310 EUR", "year": 1996})
        ),
        json!({"year": 1996})
    );
    assert_eq!(
        strip(Kind::Donors, &["tarn"], json!({"year": 1996})),
        Value::Null
    );
    assert_eq!(
        strip(Kind::Donors, &["tarn", "year"], json!(1996)),
        Value::Null
    );
    assert_eq!(
        strip(Kind::Parts, &["tarn"], json!({"price": 1})),
        json!({"price": 1})
    );
    let lines = json!([{"what": "parts/a", "price": "1 EUR"}, {"what": "parts/b"}]);
    assert_eq!(
        strip(Kind::Jobs, &["order-9", "lines"], lines),
        json!([{"what": "parts/a"}, {"what": "parts/b"}])
    );
}

#[test]
fn what_cant_be_taken_out_surely_is_refused() {
    let all = private(&["donors/*/price"]);
    for text in [
        "a: {price: 1 EUR\n",
        "a: {price: 310 EUR, price: 320 EUR}\n",
        "a: &x {price: 310 EUR}\nb: *x\n",
        "a:\n  price: 310 EUR\n<<<<<<< ours\n  year: 1990\n=======\n>>>>>>> theirs\n",
    ] {
        let refused = strip(Kind::Donors, &reading(text), &all);
        assert!(refused.is_err(), "{text}: {refused:?}");
    }
    let bad = Private::by(["donors/[a/price"]).unwrap_err();
    assert!(bad.to_string().contains("donors/[a/price"), "{bad}");
}

#[test]
fn private_values_are_found_where_people_write() {
    let text = "pell-van: {maker: Pell, price: 310 EUR, engine-number: \"P16-88120\", bought: {from: a friend, receipt: \"17\"}}\n";
    let all = private(&["donors/*/price", "donors/*/bought", "donors/*/maker"]);
    let mut texts = Texts::default();
    texts.add(Kind::Donors, &reading(text), &all);
    // It stands in the open elsewhere, and is no secret then.
    texts.add(Kind::Parts, &reading("a: {name: Pell}\n"), &all);
    let secrets = texts.secrets();
    let found = |text: &str| -> Vec<String> {
        let found = secrets.stands_in(text).into_iter();
        found.map(|range| text[range].to_owned()).collect()
    };
    assert_eq!(found("paid 310 EUR to a friend"), ["310 EUR", "a friend"]);
    assert_eq!(found("310 EUR"), ["310 EUR"]);
    assert_eq!(found("ü310 EUR, 1310 EUR, 310 EURO, Pell, 17, 31"), [""; 0]);
    assert_eq!(found("(310 EUR)310 EUR."), ["310 EUR", "310 EUR"]);
    assert_eq!(
        secrets.put_out("paid 310 EUR, é").as_deref(),
        Some("paid [left out], é")
    );
    assert_eq!(secrets.put_out("nothing"), None);
}

/// A thousand records with a thing to be taken out of each: once through, not once for each.
#[test]
fn a_large_file_takes_no_long_time() {
    let record = |number: usize| format!("d-{number}:\n  maker: Pell\n  price: {number} EUR # x\n");
    let text: String = (0..4000).map(record).collect();
    let begun = std::time::Instant::now();
    let made = stripped(Kind::Donors, &text, &["donors/*/price"]);
    assert_eq!(made.taken.len(), 4000);
    assert!(!made.text.contains("EUR"));
    // A tenth of what one reading for each would take.
    assert!(begun.elapsed().as_secs() < 20, "{:?}", begun.elapsed());
}

/// A value, in braces or on lines, whose keys are few so that patterns fit often.
fn value(depth: u32) -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(json!("310 EUR")),
        Just(json!("x: y # z")),
        Just(json!("two\nlines\n")),
        Just(json!(12)),
        Just(json!(true)),
    ];
    leaf.prop_recursive(depth, 24, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4).prop_map(Value::Array),
            prop::collection::btree_map("[a-d]|price", inner, 0..4)
                .prop_map(|map| Value::Object(map.into_iter().collect())),
        ]
    })
}

fn block(value: &Value, column: usize, flow: &mut u32, into: &mut String) {
    let blanks = " ".repeat(column);
    *flow = flow.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
    let braces = *flow >> 30 == 0;
    let ending = if *flow >> 28 & 1 == 0 {
        " # a comment\n"
    } else {
        "\n"
    };
    match value {
        Value::Object(map) if !map.is_empty() && !braces => {
            into.push_str(ending);
            for (key, value) in map {
                into.push_str(&format!("{blanks}{key}:"));
                block(value, column + 2, flow, into);
            }
        }
        Value::Array(items) if !items.is_empty() && !braces => {
            into.push_str(ending);
            for item in items {
                into.push_str(&format!("{blanks}-"));
                block(item, column + 2, flow, into);
            }
        }
        Value::String(text) if text.ends_with('\n') && !braces => {
            into.push_str(" |\n");
            for line in text.lines() {
                into.push_str(&format!("{blanks}{line}\n"));
            }
        }
        other => into.push_str(&format!(" {other}{ending}")),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    #[test]
    fn any_file_loses_what_is_private_and_nothing_else(
        records in prop::collection::btree_map("[a-c]{1,2}", value(3), 0..5),
        pattern in "donors/(\\*|\\*\\*|[a-c])/(price|[a-d]|\\*\\*/price)|donors/[a-c]|donors/\\*\\*/(price|a)",
        mut seed in any::<u32>(),
    ) {
        let mut text = String::new();
        for (id, record) in &records {
            text.push_str(&format!("# of {id}\n{id}:"));
            block(record, 2, &mut seed, &mut text);
        }
        let all = private(&[&pattern]);
        let before = reading(&text);
        prop_assume!(before.problems.is_empty());
        let made = strip(Kind::Donors, &before, &all);
        prop_assert!(made.is_ok(), "{made:?}\n{text}");
        let made = made.unwrap();
        let mut meant = second(&text);
        all.strip(Kind::Donors, &Route::default(), &mut meant);
        prop_assert_eq!(second(&made.text), meant, "{}\n{}", text, made.text);
        if made.taken.is_empty() {
            prop_assert_eq!(made.text, text);
        }
    }
}
