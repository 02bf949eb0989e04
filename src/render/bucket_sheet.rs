//! A bucket as a sheet: a line for each piece, with what was measured of it.
//!
//! The first line names the columns, in any order: `piece`, `note`, and any of the measures.
//! The unit of a figure stands in its cell or in its column's head: `length mm`,
//! `across flats (in)`. A comma is a decimal sign where semicolons or tabs part the cells, as
//! spreadsheet programs write it there. A sheet with a cell that can't be read is refused as a
//! whole, and all such cells are told: without that piece, another would be called missing.

use std::collections::BTreeMap;

use super::cells::{Cells, Slip, slip};
use crate::identify::{MOST_PIECES, Measure, Piece, Reading, write_one_of};
use crate::near;
use crate::reckon::unit::{Dimension, Unit};

/// A sheet larger than this is none of a bucket, in bytes: 800 for each of the most pieces.
const LARGEST: usize = 8 << 20;
/// So many cells that can't be read are told; more than that is another sort of file.
const MOST_SLIPS: usize = 20;

/// What a column is called that names the piece.
const PIECE: &str = "piece";
/// What a column is called that is only carried along.
const NOTE: &str = "note";
/// What stands in a cell of what was not measured.
const NOT_TAKEN: &[&str] = &["-", "–", "?", "n/a"];

/// What a column holds.
enum Column {
    Piece,
    Note,
    Measure(Measure, Option<String>),
    Blank,
}

/// Reads the pieces of a bucket.
///
/// # Errors
/// All that can't be read, with line and column.
pub fn read(bytes: &[u8]) -> Result<Vec<Piece>, Vec<Slip>> {
    if bytes.len() > LARGEST {
        let what = format!(
            "it is larger than {} MiB, and no bucket's sheet",
            LARGEST >> 20
        );
        let remedy = "save the one sheet with a line for each piece as CSV";
        return Err(vec![slip(1, what, remedy)]);
    }
    let cells = Cells::of(bytes).map_err(|slip| vec![slip])?;
    let decimal = cells.commas_are_decimal();
    let mut slips = Vec::new();
    let mut pieces = Vec::new();
    let mut labels = BTreeMap::new();
    let mut columns: Option<Vec<Column>> = None;
    let read = cells.rows(|line, row| {
        let Some(columns) = &columns else {
            columns = Some(columns_of(line, row)?);
            return Ok(());
        };
        if pieces.len() >= MOST_PIECES {
            let what = format!("it has more than {MOST_PIECES} pieces");
            return Err(slip(line, what, "match the bucket in parts"));
        }
        let before = slips.len();
        let piece = piece_of(line, columns, row, decimal, &mut slips);
        if slips.len() > MOST_SLIPS {
            slips.truncate(MOST_SLIPS);
            let what = "there is more that can't be read".to_owned();
            return Err(slip(line, what, "mend the lines above first"));
        }
        if slips.len() == before && piece.readings.is_empty() {
            let what = format!("nothing was measured of the piece `{}`", piece.label);
            slips.push(slip(line, what, "measure it, or take the line out"));
        }
        // A line that was pasted twice would hide a piece that is missing.
        let twice = labels.insert(piece.label.clone(), line);
        if let Some(before) = twice.filter(|_| slips.len() == before) {
            let what = format!("the piece `{}` stands in line {before} too", piece.label);
            slips.push(slip(
                line,
                what,
                "take one of the lines out, or give the piece its own name",
            ));
        }
        pieces.push(piece);
        Ok(())
    });
    if let Err(last) = read {
        slips.push(last);
    } else if pieces.is_empty() && slips.is_empty() {
        let what = "there is no piece in it".to_owned();
        slips.push(slip(
            1,
            what,
            "write a line for each piece below the columns",
        ));
    }
    match slips.is_empty() {
        true => Ok(pieces),
        false => Err(slips),
    }
}

fn columns_of(line: usize, heads: &[&str]) -> Result<Vec<Column>, Slip> {
    let mut seen: Vec<&str> = Vec::new();
    let mut columns = Vec::new();
    for head in heads {
        let column = column_of(line, head)?;
        let name = match &column {
            Column::Piece => Some(PIECE),
            Column::Note => Some(NOTE),
            Column::Measure(measure, _) => Some(measure.word()),
            Column::Blank => None,
        };
        if let Some(name) = name {
            if seen.contains(&name) {
                let what = format!("the column `{name}` stands there twice");
                return Err(slip(line, what, "leave one of them"));
            }
            seen.push(name);
        }
        columns.push(column);
    }
    let measures = |column: &Column| matches!(column, Column::Measure(..));
    if columns.iter().any(measures) {
        return Ok(columns);
    }
    Err(slip(
        line,
        "no column says what was measured".to_owned(),
        "name the columns in the first line, as in `piece;length mm;across flats mm;thread`",
    ))
}

fn column_of(line: usize, head: &str) -> Result<Column, Slip> {
    let plain = head
        .to_lowercase()
        .replace(['_', '-', '(', ')', '[', ']', '/'], " ");
    let words: Vec<&str> = plain.split_whitespace().collect();
    let name = words.join(" ");
    match name.as_str() {
        "" => return Ok(Column::Blank),
        PIECE => return Ok(Column::Piece),
        NOTE => return Ok(Column::Note),
        _ => {}
    }
    // The unit stands behind the name, if it stands there at all.
    for behind in 0..=1 {
        let Some((name, unit)) = words.split_at_checked(words.len() - behind) else {
            continue;
        };
        let Some(measure) = Measure::named(&name.join(" ")) else {
            continue;
        };
        let Some(unit) = unit.first() else {
            return Ok(Column::Measure(measure, None));
        };
        if measure.is_figure()
            && Unit::read(unit).is_ok_and(|unit| unit.dimension() == Dimension::Length)
        {
            return Ok(Column::Measure(measure, Some((*unit).to_owned())));
        }
    }
    let mut known = vec![PIECE];
    known.extend(Measure::ALL.map(Measure::word));
    known.push(NOTE);
    Err(Slip {
        line,
        what: format!("the column `{}` is none of a bucket", near::shortened(head)),
        remedy: format!(
            "{}; what else is to be kept goes under `note`",
            write_one_of(&near::shortened(&name), &known)
        ),
    })
}

fn piece_of(
    line: usize,
    columns: &[Column],
    row: &[&str],
    decimal: bool,
    slips: &mut Vec<Slip>,
) -> Piece {
    let mut piece = Piece {
        label: String::new(),
        line,
        readings: Vec::new(),
        note: None,
    };
    for (number, text) in row.iter().enumerate().filter(|(_, text)| !text.is_empty()) {
        if slips.len() > MOST_SLIPS {
            break;
        }
        match columns.get(number) {
            Some(Column::Piece) => piece.label = near::plain(text),
            Some(Column::Note) => piece.note = Some((*text).to_owned()),
            Some(Column::Measure(..)) if NOT_TAKEN.contains(text) => {}
            Some(Column::Measure(measure, unit)) => {
                let text = written(text, *measure, unit.as_deref(), decimal);
                match Reading::read(*measure, &text) {
                    Ok(reading) => piece.readings.push(reading),
                    Err(wrong) => slips.push(Slip {
                        line,
                        what: format!("column `{}`: {}", measure.word(), wrong.what),
                        remedy: wrong.remedy,
                    }),
                }
            }
            Some(Column::Blank) | None => {
                let what = format!(
                    "column {}: `{}` stands under no head",
                    number + 1,
                    near::shortened(text)
                );
                slips.push(slip(line, what, "give the column a name, or take it out"));
            }
        }
    }
    if piece.label.is_empty() {
        piece.label = format!("line {line}");
    }
    piece
}

/// A cell as it would be written at the bench: with a decimal point, and with the unit that
/// its column's head has, where it has none.
fn written(text: &str, measure: Measure, unit: Option<&str>, decimal: bool) -> String {
    if !measure.is_figure() {
        return text.to_owned();
    }
    let mut text = text.to_owned();
    let comma = text
        .match_indices(',')
        .map(|(at, _)| at)
        .collect::<Vec<_>>();
    if let (true, [at]) = (decimal, comma.as_slice())
        && !text.contains('.')
    {
        text.replace_range(*at..=*at, ".");
    }
    let is_bare = !text.contains(|c: char| c.is_alphabetic() || matches!(c, '"' | '″' | '\''));
    match unit {
        Some(unit) if is_bare => format!("{text} {unit}"),
        _ => text,
    }
}
