//! A table for programs: JSON, and CSV as RFC 4180 has it.
//!
//! Both have the same fields: the column's key; of a length what is written and its
//! millimetres (`length`, `length_mm`), of money the amount and its currency (`price`,
//! `price_currency`). Neither is ever cut.

use serde_json::{Map, Number, Value};

use super::safe::{safe, safe_json};
use crate::report::{Cell, Column, Form, Seen, Sum, Table, Totals};

/// The fields that a column has for programs.
fn fields(column: &Column) -> Vec<String> {
    let key = column.key;
    match (column.seen, column.form) {
        (Seen::People, _) => Vec::new(),
        (_, Form::Length) => vec![key.to_owned(), format!("{key}_mm")],
        (_, Form::Money) => vec![key.to_owned(), format!("{key}_currency")],
        _ => vec![key.to_owned()],
    }
}

/// What stands in these fields.
fn values(column: &Column, cell: &Cell) -> Vec<Value> {
    let number = |text: String| text.parse::<Number>().map_or(Value::Null, Value::Number);
    match cell {
        _ if column.seen == Seen::People => Vec::new(),
        Cell::Nothing => match column.form {
            Form::Several => vec![Value::Array(Vec::new())],
            Form::Length | Form::Money => vec![Value::Null, Value::Null],
            _ => vec![Value::Null],
        },
        Cell::Text(text) => vec![Value::from(text.as_str())],
        Cell::Several(texts) => vec![Value::from(texts.as_slice())],
        Cell::Count(count) => vec![Value::from(*count)],
        Cell::Flag(flag) => vec![Value::from(*flag)],
        Cell::Length(written, figure) => {
            let figure = figure.map(|figure| number(figure.to_string()));
            vec![Value::from(written.as_str()), figure.unwrap_or_default()]
        }
        Cell::Money(money) => {
            let currency = Value::from(money.currency.as_str());
            vec![number(money.amount()), currency]
        }
    }
}

/// A table as one JSON object, with a newline at its end. `whole` says whether all records
/// could be read.
#[must_use]
pub fn json(table: &Table, whole: bool) -> String {
    let by = table.by.map(|by| table.columns[by].key);
    let mut rows = Vec::new();
    let mut groups = Vec::new();
    for group in &table.groups {
        for row in &group.rows {
            let mut object = Map::new();
            for (column, cell) in table.columns.iter().zip(&row.cells) {
                object.extend(fields(column).into_iter().zip(values(column, cell)));
            }
            rows.push(Value::Object(object));
        }
        if let Some(by) = by {
            let mut object = Map::new();
            object.insert(by.to_owned(), Value::from(group.word.clone()));
            object.insert("rows".to_owned(), Value::from(group.rows.len()));
            object.insert("totals".to_owned(), totals(table, &group.totals));
            groups.push(Value::Object(object));
        }
    }
    let whole = serde_json::json!({
        "list": table.what,
        "whole": whole,
        "by": by,
        "rows": rows,
        "groups": groups,
        "totals": totals(table, &table.totals),
    });
    let text = serde_json::to_string_pretty(&whole).unwrap_or_default();
    format!("{}\n", safe_json(&text))
}

fn totals(table: &Table, totals: &Totals) -> Value {
    let mut object = Map::new();
    object.insert(table.what.to_owned(), Value::from(totals.count));
    for (number, sum) in &totals.of {
        let column = &table.columns[*number];
        // What is counted under the name of the rows themselves is told already.
        object.entry(column.key).or_insert(match sum {
            Sum::Count(count) => Value::from(*count),
            Sum::Tally(words) => {
                let words = words.iter().map(|(word, count)| {
                    let word = word.as_deref().unwrap_or(column.lacks);
                    (word.to_owned(), Value::from(*count))
                });
                Value::Object(words.collect())
            }
            Sum::Money { sums, without } => {
                let sums = sums.iter().map(|money| {
                    let amount = money.amount().parse::<Number>();
                    let amount = amount.map_or(Value::Null, Value::Number);
                    (money.currency.clone(), amount)
                });
                serde_json::json!({"sums": Value::Object(sums.collect()), "without": without})
            }
        });
    }
    Value::Object(object)
}

/// Why a table can't be written as CSV.
#[derive(Debug, thiserror::Error)]
#[error("the table can't be written as CSV: {0}")]
pub struct CsvError(String);

/// A table as CSV: a line of keys, then one for each row; no totals. Lines end as RFC 4180
/// says, several texts in a cell have `; ` between them, and what lacks is empty.
///
/// # Errors
/// When memory is short.
pub fn csv(table: &Table) -> Result<String, CsvError> {
    let heads: Vec<String> = table.columns.iter().flat_map(fields).collect();
    let rows = table.groups.iter().flat_map(|group| &group.rows);
    let rows = rows.map(|row| {
        let cells = table.columns.iter().zip(&row.cells);
        let cells = cells.flat_map(|(column, cell)| values(column, cell));
        let cells = cells.map(|value| match value {
            Value::Null => String::new(),
            Value::String(text) => harmless(&safe(&text)),
            Value::Array(texts) => {
                let texts: Vec<&str> = texts.iter().filter_map(Value::as_str).collect();
                harmless(&safe(&texts.join("; ")))
            }
            other => other.to_string(),
        });
        cells.collect()
    });
    written(std::iter::once(heads).chain(rows))
}

/// Rows as CSV, as they are.
pub(super) fn written<Row: IntoIterator<Item = String>>(
    rows: impl IntoIterator<Item = Row>,
) -> Result<String, CsvError> {
    let failed = |error: &dyn std::error::Error| CsvError(error.to_string());
    let mut lines = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    for row in rows {
        lines.write_record(row).map_err(|error| failed(&error))?;
    }
    let bytes = lines.into_inner().map_err(|error| failed(&error))?;
    String::from_utf8(bytes).map_err(|error| failed(&error))
}

/// Lines for a spreadsheet program, the first of them the heads. A byte-order mark comes
/// first, as such programs else take the letters for those of an older code; and a cell is
/// quoted wherever one of them would part it, not only at commas.
#[must_use]
pub fn spreadsheet(lines: &[Vec<String>]) -> String {
    let quoted = |text: String| match text.contains(['"', ',', ';', '\t', '\n', '\r']) {
        true => format!("\"{}\"", text.replace('"', "\"\"")),
        false => text,
    };
    let mut sheet = "\u{feff}".to_owned();
    for line in lines {
        let cells = line.iter().map(|text| quoted(harmless(&safe(text))));
        sheet.push_str(&cells.collect::<Vec<_>>().join(","));
        sheet.push_str("\r\n");
    }
    sheet
}

/// A text that a spreadsheet does not take for a formula: where `=`, `+`, `-`, `@` or a
/// tab begins it, or stands behind apostrophes that do, one apostrophe more goes in front.
/// Whoever reads it back takes one away there, and nowhere else. (The signs: OWASP's page
/// on CSV injection, from memory.)
#[must_use]
pub fn harmless(text: &str) -> String {
    let apostrophe = if formula(text) { "'" } else { "" };
    format!("{apostrophe}{text}")
}

/// The text that [`harmless`] made this of.
#[must_use]
pub fn as_it_was(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(text) if formula(text) => text,
        _ => cell,
    }
}

fn formula(text: &str) -> bool {
    let inner = text.trim_start_matches('\'');
    // The wide forms too: some spreadsheets take them for the same.
    inner.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'])
}

#[cfg(test)]
mod tests {
    use super::{as_it_was, harmless};

    #[test]
    fn a_formula_is_made_harmless_and_comes_back() {
        for (text, cell) in [
            ("=1+1", "'=1+1"),
            ("-5 degC", "'-5 degC"),
            ("'=1", "''=1"),
            ("'tis worn", "'tis worn"),
            ("", ""),
            ("'", "'"),
            ("''", "''"),
            ("a=b", "a=b"),
            ("\tx", "'\tx"),
            ("＠sum", "'＠sum"),
        ] {
            assert_eq!(harmless(text), cell);
            assert_eq!(as_it_was(cell), text);
        }
    }

    proptest::proptest! {
        #[test]
        fn any_text_comes_back(text in "['=+@\\-\ta0]{0,6}") {
            let cell = harmless(&text);
            proptest::prop_assert_eq!(as_it_was(&cell), text);
        }
    }
}
