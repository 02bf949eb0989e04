//! The nearest known word to one that is not known, and how words are shown in
//! a sentence.

use std::cmp::Ordering;

use similar::TextDiff;

/// How alike two words must be to be offered, from 0 to 1. With 0.7 a letter
/// lost, doubled or swapped in a word of four is still found.
const ALIKE: f32 = 0.7;
/// How much less alike than the best one a second offer may be.
const BEHIND: f32 = 0.08;

/// The known words nearest to a word, best first, three at most.
#[must_use]
pub fn nearest<'a>(word: &str, known: &[&'a str]) -> Vec<&'a str> {
    let lower = word.to_lowercase();
    let length = lower.chars().count();
    let mut alike: Vec<(f32, &str)> = known
        .iter()
        .filter(|candidate| {
            // Words of very unlike length can't reach the ratio: spare the work.
            let other = candidate.chars().count();
            other.max(length) <= 2 * other.min(length) + 2
        })
        .filter_map(|candidate| {
            let ratio = TextDiff::from_chars(lower.as_str(), candidate.to_lowercase()).ratio();
            (ratio >= ALIKE).then_some((ratio, *candidate))
        })
        .collect();
    alike.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    alike.dedup();
    let best = alike.first().map_or(0.0, |(ratio, _)| *ratio);
    alike.retain(|(ratio, _)| best - ratio <= BEHIND);
    alike.into_iter().take(3).map(|(_, word)| word).collect()
}

/// The one known word that a word is surely a slip of: a letter too many or too few.
#[must_use]
pub fn slip_of<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    let lower = word.to_lowercase();
    let near = nearest(word, known);
    let first = near.first().copied()?;
    (TextDiff::from_chars(lower.as_str(), first).ratio() >= 0.85).then_some(first)
}

/// "write `serviceable`", or all the words where none is near.
#[must_use]
pub fn write_one_of(word: &str, known: &[&str]) -> String {
    let near = nearest(word, known);
    if let Some((first, others)) = near.split_first() {
        let mut text = format!("write `{first}`");
        for other in others {
            text.push_str(&format!(" or `{other}`"));
        }
        return text;
    }
    match known {
        [] => "take it out".to_owned(),
        [only] => format!("write `{only}`"),
        _ => format!("known here: {}", listed(known)),
    }
}

/// Words in a row: the first few, and how many more there are.
#[must_use]
pub fn listed(words: &[&str]) -> String {
    const MOST: usize = 5;
    let quoted = |words: &[&str]| -> String {
        let quoted: Vec<String> = words.iter().map(|word| format!("`{word}`")).collect();
        quoted.join(", ")
    };
    if words.len() <= MOST + 1 {
        return quoted(words);
    }
    format!("{} and {} more", quoted(&words[..MOST]), words.len() - MOST)
}

/// Words as a sentence has them: "a, b and c".
#[must_use]
pub fn spoken(words: &[impl AsRef<str>], and: &str) -> String {
    let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    match words.as_slice() {
        [before @ .., last] if !before.is_empty() => {
            format!("{} {and} {last}", before.join(", "))
        }
        few => few.concat(),
    }
}

/// "a part", "an assembly".
#[must_use]
pub fn with_article(noun: &str) -> String {
    let an = noun.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {noun}", if an { "an" } else { "a" })
}

/// A text short enough for a sentence.
#[must_use]
pub fn shortened(text: &str) -> String {
    const MOST: usize = 60;
    let line = text.split(['\n', '\r']).next().unwrap_or_default();
    if line.chars().count() <= MOST && line.len() == text.len() {
        return line.to_owned();
    }
    let kept: String = line.chars().take(MOST - 1).collect();
    format!("{kept}…")
}

/// A text on one line, in which nothing hides or turns the writing.
#[must_use]
pub fn plain(text: &str) -> String {
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    line.replace(hides, "\u{FFFD}")
}

/// Control characters, and those that turn or hide writing (Unicode 16, general
/// categories Cc and Cf, as far as they do that; TR36 and TR55).
#[must_use]
pub fn hides(c: char) -> bool {
    c.is_control()
        || matches!(
            c,
            '\u{00AD}'
                | '\u{061C}'
                | '\u{180E}'
                | '\u{200B}'..='\u{200F}'
                | '\u{2028}'..='\u{202E}'
                | '\u{2060}'..='\u{206F}'
                | '\u{FE00}'..='\u{FE0F}'
                | '\u{FEFF}'
                | '\u{FFF9}'..='\u{FFFB}'
                | '\u{E0000}'..='\u{E0FFF}'
        )
}

/// The order of two names for people: figures in them count as numbers, so that `N2` stands
/// before `N10`.
#[must_use]
pub fn in_order(a: &str, b: &str) -> Ordering {
    let (mut left, mut right) = (a, b);
    loop {
        let (one, other) = (part(&mut left), part(&mut right));
        let is_number = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
        let order = if is_number(one) && is_number(other) {
            let (one, other) = (one.trim_start_matches('0'), other.trim_start_matches('0'));
            one.len().cmp(&other.len()).then_with(|| one.cmp(other))
        } else {
            one.cmp(other)
        };
        if order.is_ne() {
            return order;
        }
        if one.is_empty() && other.is_empty() {
            return a.cmp(b);
        }
    }
}

/// Takes the next run of digits, or of anything else, off a text.
fn part<'a>(text: &mut &'a str) -> &'a str {
    let digit = |c: char| c.is_ascii_digit();
    let is_number = text.starts_with(digit);
    let end = text.find(|c: char| digit(c) != is_number);
    let (part, rest) = text.split_at(end.unwrap_or(text.len()));
    *text = rest;
    part
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_in_names_count_as_numbers() {
        let mut names = ["N10", "N2", "N02", "a/b-9", "a/b-10", "N", "10", "9"];
        names.sort_by(|a, b| super::in_order(a, b));
        assert_eq!(
            names,
            ["9", "10", "N", "N02", "N2", "N10", "a/b-9", "a/b-10"]
        );
    }

    #[test]
    fn a_slip_of_the_pen_is_found() {
        let known = ["serviceable", "unchecked", "repairable", "scrap"];
        assert_eq!(nearest("servicable", &known), ["serviceable"]);
        assert_eq!(nearest("Scrap", &known), ["scrap"]);
        assert!(nearest("rubber", &known).is_empty());
        assert_eq!(write_one_of("rubber", &["a", "b"]), "known here: `a`, `b`");
    }
}
