//! What YAML makes of a text without quotes.
//!
//! Readers of YAML 1.1 and 1.2 disagree: `NO` is a word to one and false to
//! another, `0123` is 83, 123 or text. Only what all of them read alike counts
//! as a number or a truth value here; the rest is named, so that it can be
//! quoted. Sources: YAML 1.2.2 chapter 10.2.1.2 (core schema); YAML 1.1 type
//! repository (bool, int, float, null, timestamp).

use serde_json::{Number, Value};

/// What some reader takes a plain text for.
#[derive(Debug, Clone, PartialEq)]
pub enum ReadAs {
    /// A number, as it then comes out.
    Number(String),
    /// True or false.
    Truth(bool),
    /// A day, or a day with a time.
    Date,
    /// A time of day, which some count in sixties: the number it becomes.
    Sixties(String),
    /// Nothing at all.
    Nothing,
}

/// The value of a plain text, where all readers agree; text elsewhere.
#[must_use]
pub fn value(text: &str) -> Value {
    match text {
        "" | "~" | "null" | "Null" | "NULL" => Value::Null,
        "true" => Value::Bool(true),
        "false" => Value::Bool(false),
        _ if is_plain_number(text) => number(text).map_or_else(|| text.into(), Value::Number),
        _ => Value::String(text.to_owned()),
    }
}

fn number(text: &str) -> Option<Number> {
    if let Ok(whole) = text.parse::<i64>() {
        return Some(whole.into());
    }
    let value = text.parse::<f64>().ok().filter(|value| value.is_finite())?;
    // JSON Schema counts 1971.0 as whole, and so do the types then.
    #[allow(clippy::cast_possible_truncation)]
    if value.fract() == 0.0 {
        return Some((value as i64).into());
    }
    Number::from_f64(value)
}

/// Digits with at most one decimal point: a number to everybody.
fn is_plain_number(text: &str) -> bool {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (whole, part) = match digits.split_once('.') {
        Some((whole, part)) => (whole, Some(part)),
        None => (digits, None),
    };
    let all_digits = |run: &str| !run.is_empty() && run.bytes().all(|b| b.is_ascii_digit());
    let leading_zero = whole.len() > 1 && whole.starts_with('0');
    // Above 15 digits a reader that counts in floating point loses some.
    all_digits(whole)
        && !leading_zero
        && part.is_none_or(all_digits)
        && digits.len() <= 15
        && !(whole == "0" && part.is_none() && text.starts_with('-'))
}

/// What some reader takes a plain text for, if not for text.
#[must_use]
pub fn reads_as(text: &str) -> Option<ReadAs> {
    let first = *text.as_bytes().first()?;
    // Nearly every text starts with a letter that opens none of the traps.
    if !matches!(first, b'0'..=b'9' | b'+' | b'-' | b'.' | b'~')
        && !matches!(first | 0x20, b'y' | b'n' | b't' | b'f' | b'o')
    {
        return None;
    }
    if text.len() > 64 {
        return None;
    }
    if let Some(truth) = truth(text) {
        return Some(ReadAs::Truth(truth));
    }
    if matches!(text, "~" | "null" | "Null" | "NULL") {
        return Some(ReadAs::Nothing);
    }
    if is_date(text) {
        return Some(ReadAs::Date);
    }
    if let Some(sixties) = sixties(text) {
        return Some(ReadAs::Sixties(sixties));
    }
    numeric(text).map(ReadAs::Number)
}

/// Whether all readers take the text for the same number or truth value.
#[must_use]
pub fn agreed(text: &str) -> bool {
    matches!(text, "true" | "false") || is_plain_number(text)
}

fn truth(text: &str) -> Option<bool> {
    let lower = text.to_ascii_lowercase();
    // YAML 1.1 knows a word in small letters, with a capital, and in capitals.
    let known_case = text == lower
        || text == text.to_ascii_uppercase()
        || (text[..1] == text[..1].to_ascii_uppercase() && text[1..] == lower[1..]);
    match lower.as_str() {
        "y" | "yes" | "true" | "on" if known_case => Some(true),
        "n" | "no" | "false" | "off" if known_case => Some(false),
        _ => None,
    }
}

fn is_date(text: &str) -> bool {
    let bytes = text.as_bytes();
    let digits = |range: std::ops::Range<usize>| {
        bytes
            .get(range)
            .is_some_and(|run| run.iter().all(u8::is_ascii_digit))
    };
    if !(digits(0..4) && bytes.get(4) == Some(&b'-')) {
        return false;
    }
    let mut rest = text[5..].splitn(2, '-');
    let month = rest.next().unwrap_or_default();
    let Some(day) = rest.next() else { return false };
    let day_digits = day.bytes().take_while(u8::is_ascii_digit).count();
    (1..=2).contains(&month.len())
        && month.bytes().all(|b| b.is_ascii_digit())
        && (1..=2).contains(&day_digits)
        && day[day_digits..]
            .chars()
            .next()
            .is_none_or(|c| matches!(c, 'T' | 't' | ' ' | '\t'))
        && (day.len() == day_digits || day.contains(':'))
}

fn sixties(text: &str) -> Option<String> {
    let (sign, digits) = match text.strip_prefix(['-', '+']) {
        Some(rest) => (if text.starts_with('-') { -1.0 } else { 1.0 }, rest),
        None => (1.0, text),
    };
    let mut parts = digits.split(':');
    let first = parts.next()?;
    let rest: Vec<&str> = parts.collect();
    if rest.is_empty()
        || first.is_empty()
        || !first.bytes().all(|b| b.is_ascii_digit() || b == b'_')
        || !first.starts_with(|c: char| c.is_ascii_digit())
    {
        return None;
    }
    let mut total: f64 = first.replace('_', "").parse().ok()?;
    for (number, part) in rest.iter().enumerate() {
        let (whole, fraction) = part.split_once('.').unwrap_or((part, ""));
        let last = number + 1 == rest.len();
        if !(1..=2).contains(&whole.len())
            || !whole.bytes().all(|b| b.is_ascii_digit())
            || whole.len() == 2 && whole.as_bytes()[0] > b'5'
            || !fraction.bytes().all(|b| b.is_ascii_digit())
            || (part.contains('.') && !last)
        {
            return None;
        }
        total = total * 60.0 + part.parse::<f64>().ok()?;
    }
    Some(shown(sign * total))
}

/// A number as a reader would give it back.
fn shown(value: f64) -> String {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        format!("{value:.0}")
    } else {
        format!("{value}")
    }
}

/// A whole number of any length; beyond 2^53 as near as a reader would have it.
fn in_radix(digits: &str, radix: u32) -> Option<f64> {
    if digits.is_empty() {
        return None;
    }
    digits.chars().try_fold(0.0, |total, c| {
        Some(total * f64::from(radix) + f64::from(c.to_digit(radix)?))
    })
}

fn numeric(text: &str) -> Option<String> {
    let (negative, rest) = match text.as_bytes()[0] {
        b'-' => (true, &text[1..]),
        b'+' => (false, &text[1..]),
        _ => (false, text),
    };
    let signed = |value: f64| shown(if negative { -value } else { value });
    match rest {
        ".inf" | ".Inf" | ".INF" => return Some("infinity".into()),
        ".nan" | ".NaN" | ".NAN" if rest.len() == text.len() => return Some("no number".into()),
        _ => {}
    }
    let radix = |prefix: &str, radix: u32| {
        let digits = rest.strip_prefix(prefix)?.replace('_', "");
        in_radix(&digits, radix)
    };
    if let Some(value) = radix("0x", 16)
        .or_else(|| radix("0o", 8))
        .or_else(|| radix("0b", 2))
    {
        return Some(signed(value));
    }
    if !rest.starts_with(|c: char| c.is_ascii_digit() || c == '.')
        || !rest.contains(|c: char| c.is_ascii_digit())
        || !rest
            .bytes()
            .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'_' | b'e' | b'E' | b'+' | b'-'))
    {
        return None;
    }
    let digits = rest.replace('_', "");
    // Octal to YAML 1.1, decimal to YAML 1.2.
    if digits.len() > 1
        && digits.starts_with('0')
        && digits.bytes().all(|b| (b'0'..=b'7').contains(&b))
    {
        let (octal, decimal) = (shown(in_radix(&digits, 8)?), shown(digits.parse().ok()?));
        return Some(if octal == decimal {
            octal
        } else {
            format!("{octal} or {decimal}")
        });
    }
    let value: f64 = digits.parse().ok()?;
    if value.is_finite() {
        Some(signed(value))
    } else {
        Some("infinity".into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn as_number(text: &str) -> Option<String> {
        match reads_as(text) {
            Some(ReadAs::Number(value)) => Some(value),
            _ => None,
        }
    }

    /// YAML 1.2.2 example 10.9 and the YAML 1.1 type repository's examples for
    /// int, float, bool, null and timestamp.
    #[test]
    fn published_examples_are_known() {
        for (text, value) in [
            ("685230", "685230"),
            ("+685_230", "685230"),
            ("02472256", "685230 or 2472256"),
            ("0x_0A_74_AE", "685230"),
            ("0b1010_0111_0100_1010_1110", "685230"),
            ("0o7", "7"),
            ("0x3A", "58"),
            ("-19", "-19"),
            ("0.", "0"),
            ("-0.0", "-0"),
            ("6.8523015e+5", "685230.15"),
            ("685.230_15e+03", "685230.15"),
            ("685_230.15", "685230.15"),
            ("12e03", "12000"),
            ("-2E+05", "-200000"),
            (".inf", "infinity"),
            ("-.Inf", "infinity"),
            (".NAN", "no number"),
            ("1.10", "1.1"),
            ("0xFFFFFFFFFFFFFFFFFFFF", "1208925819614629200000000"),
        ] {
            assert_eq!(as_number(text).as_deref(), Some(value), "{text}");
        }
        assert_eq!(
            reads_as("190:20:30"),
            Some(ReadAs::Sixties("685230".into()))
        );
        assert_eq!(
            reads_as("190:20:30.15"),
            Some(ReadAs::Sixties("685230.15".into()))
        );
        for text in [
            "y", "Y", "yes", "Yes", "YES", "on", "On", "ON", "True", "TRUE",
        ] {
            assert_eq!(reads_as(text), Some(ReadAs::Truth(true)), "{text}");
        }
        for text in [
            "n", "N", "no", "No", "NO", "off", "Off", "OFF", "False", "FALSE",
        ] {
            assert_eq!(reads_as(text), Some(ReadAs::Truth(false)), "{text}");
        }
        for text in ["~", "null", "Null", "NULL"] {
            assert_eq!(reads_as(text), Some(ReadAs::Nothing), "{text}");
        }
        for text in [
            "2001-12-15T02:59:43.1Z",
            "2001-12-14t21:59:43.10-05:00",
            "2001-12-14 21:59:43.10 -5",
            "2002-12-14",
        ] {
            assert_eq!(reads_as(text), Some(ReadAs::Date), "{text}");
        }
    }

    #[test]
    fn bench_text_is_text() {
        for text in [
            "24 N·m",
            "P16-88120",
            "16-HD-2",
            "1-40",
            "M10x1.25",
            "nO",
            "yEs",
            "BU/WH",
            "3/8 in",
            "OW-20114",
            "12:75",
            "2001-12",
            "north",
            "0.5 mm2",
            "37-43 N·m",
            "-",
            "--",
            "1.2.3",
            "2026-03-01x",
            "é",
            "12·5",
        ] {
            assert_eq!(reads_as(text), None, "{text}");
        }
    }

    #[test]
    fn only_what_all_agree_on_is_a_number() {
        assert_eq!(value("12"), serde_json::json!(12));
        assert_eq!(value("-1.5"), serde_json::json!(-1.5));
        for text in [
            "0123",
            "1e3",
            "1_000",
            "0x1F",
            ".5",
            "+4",
            "1234567890123456",
            "-0",
        ] {
            assert_eq!(value(text), serde_json::json!(text), "{text}");
        }
    }
}
