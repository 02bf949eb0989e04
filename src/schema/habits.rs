//! What people write by habit, and what it is called here: keys of other lists
//! and sheets, colours of wires in words. One place, so that a new habit is a line.

/// A key as it is often written, and the keys that it may be meant as.
const KEYS: &[(&str, &[&str])] = &[
    ("color", &["colour"]),
    ("comment", &["note"]),
    ("date", &["when"]),
    ("decided", &["chosen", "when"]),
    ("hours", &["takes", "spent"]),
    ("length", &["cut"]),
    ("notes", &["note"]),
    ("qty", &["count", "have"]),
    ("quantity", &["count", "have"]),
    ("remark", &["note"]),
    ("serial", &["stamped"]),
    ("serial-number", &["stamped"]),
    ("torque", &["steps"]),
    ("vin", &["chassis-number"]),
];

/// The keys that a written one may be meant as: often itself, at another spot.
#[must_use]
pub fn meant_by(key: &str) -> Option<&'static [&'static str]> {
    let lower = key.to_lowercase();
    KEYS.iter()
        .find(|(written, _)| *written == lower)
        .map(|(_, meant)| *meant)
}

/// The letters of colours (IEC 60757), each with its words.
const COLOURS: &[(&str, &[&str])] = &[
    ("BK", &["black"]),
    ("BN", &["brown"]),
    ("RD", &["red"]),
    ("OG", &["orange"]),
    ("YE", &["yellow"]),
    ("GN", &["green"]),
    ("BU", &["blue"]),
    ("VT", &["violet", "purple"]),
    ("GY", &["grey", "gray"]),
    ("WH", &["white"]),
    ("PK", &["pink"]),
    ("TQ", &["turquoise"]),
];

/// A wire's colour in letters, if it can be told; all the letters elsewhere.
#[must_use]
pub fn colour(written: &str) -> String {
    let letters: Option<Vec<&str>> = written
        .split(['/', '-', ' ', '_'])
        .filter(|word| !word.is_empty())
        .map(|word| {
            let lower = word.to_lowercase();
            COLOURS
                .iter()
                .find(|(code, words)| code.to_lowercase() == lower || words.contains(&&*lower))
                .map(|(code, _)| *code)
        })
        .collect();
    match letters {
        Some(letters) if (1..=3).contains(&letters.len()) => {
            format!("write `{}`", letters.join("/"))
        }
        _ => {
            let all: Vec<String> = COLOURS
                .iter()
                .map(|(code, words)| format!("{code} {}", words[0]))
                .collect();
            format!(
                "write its letters with a slash between, as in `BU/WH`: {}",
                all.join(", ")
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_in_words_becomes_letters() {
        assert_eq!(colour("black"), "write `BK`");
        assert_eq!(colour("Green-yellow"), "write `GN/YE`");
        assert_eq!(colour("bu/wh"), "write `BU/WH`");
        assert!(colour("bl-ck").contains("BK black, BN brown"));
    }
}
