//! Text from a build folder, made safe to show.
//!
//! A record may come from somebody else. What would move a terminal's cursor,
//! turn the writing direction or hide letters is shown as its number instead.

use crate::near::hides;

/// The text with every character that is not plainly seen shown as `\u{…}`.
#[must_use]
pub fn safe(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if c == '\n' || !hides(c) {
            shown.push(c);
        } else {
            shown.extend(c.escape_unicode());
        }
    }
    shown
}

/// A word as a shell must be given it, safe to show.
#[must_use]
pub fn shell_word(word: &str) -> String {
    // What begins with a dash would be taken for an option.
    let dash = if word.starts_with('-') { "./" } else { "" };
    let word = safe(&format!("{dash}{word}")).replace('\n', "\\u{a}");
    let plain = |c: char| c.is_alphanumeric() || "./-_".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

/// JSON text made safe as well; its own escapes mean the same characters. Control
/// characters are escaped there already.
#[must_use]
pub fn safe_json(json: &str) -> String {
    let mut shown = String::with_capacity(json.len());
    for c in json.chars() {
        if c == '\n' || !hides(c) {
            shown.push(c);
            continue;
        }
        for unit in c.encode_utf16(&mut [0; 2]) {
            shown.push_str(&format!("\\u{unit:04x}"));
        }
    }
    shown
}

#[cfg(test)]
mod tests {
    use super::{safe, safe_json, shell_word};

    #[test]
    fn a_shell_takes_a_word_for_one() {
        for (word, given) in [
            ("lark", "lark"),
            ("../größe/lark-2", "../größe/lark-2"),
            ("my lark", "'my lark'"),
            ("it's $HOME", "'it'\\''s $HOME'"),
            ("-rf", "./-rf"),
            ("", "''"),
            ("a\u{1b}[2J\n", "'a\\u{1b}[2J\\u{a}'"),
        ] {
            assert_eq!(shell_word(word), given);
        }
    }

    #[test]
    fn nothing_hides() {
        assert_eq!(safe("24 N·m, ±10 °C"), "24 N·m, ±10 °C");
        assert_eq!(safe("a\u{1b}[31mb"), "a\\u{1b}[31mb");
        assert_eq!(safe("a\u{202e}b\tc\r"), "a\\u{202e}b\\u{9}c\\u{d}");
        assert_eq!(safe("one\ntwo"), "one\ntwo");
        let text = "a\u{202e}b\u{e0041}·";
        let json = safe_json(&serde_json::to_string(text).unwrap_or_default());
        assert_eq!(json, "\"a\\u202eb\\udb40\\udc41·\"");
        assert_eq!(
            serde_json::from_str::<String>(&json).ok().as_deref(),
            Some(text)
        );
    }
}
