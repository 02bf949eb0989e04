//! A list for people: its rows under thin rules, and under them what they come to.

use super::grid::{self, Grid, Shown, pieces, seen};
use super::text::folded;
use crate::report::{Cell, Column, Form, Group, Row, Seen, Sum, Table, Totals};

pub use super::grid::Room;

/// The table, and under it what it comes to.
#[must_use]
pub fn table(table: &Table, room: Room) -> String {
    if table.groups.iter().all(|group| group.rows.is_empty()) {
        return format!("no {}\n", table.what);
    }
    let page = Page::of(table, room);
    let mut text = page.grid.heads();
    text.push_str(&page.grid.rule());
    let mut rows = page.grid.rows().iter();
    for group in &table.groups {
        if let Some(by) = table.by {
            let column = &table.columns[by];
            let word = group.word.as_deref().unwrap_or(column.lacks);
            for line in pieces(&seen(word), room.width()) {
                text.push_str(&line);
                text.push('\n');
            }
        }
        for row in rows.by_ref().take(group.rows.len()) {
            text.push_str(&page.grid.line(row));
        }
        text.push_str(&page.grid.rule());
        if table.by.is_some() {
            text.push_str(&page.sums(&group.totals));
            text.push('\n');
        }
    }
    if table.by.is_some() {
        text.push_str("in all\n");
    }
    text.push_str(&page.sums(&table.totals));
    text
}

/// What is shown of a cell.
fn shown(column: &Column, cell: &Cell) -> Shown {
    let text = match cell {
        Cell::Several(texts) => seen(&texts.join(", ")),
        other => seen(&other.words().concat()),
    };
    match is_figure(column) {
        true => Shown::figure(&text),
        false => Shown::Text(text),
    }
}

fn is_figure(column: &Column) -> bool {
    matches!(column.form, Form::Count | Form::Length | Form::Money)
}

/// How a table is laid out.
struct Page<'a> {
    table: &'a Table,
    room: Room,
    /// The numbers of the columns that are shown.
    columns: Vec<usize>,
    grid: Grid,
}

impl<'a> Page<'a> {
    fn of(table: &'a Table, room: Room) -> Self {
        let by = table.by.map(|by| table.columns[by].key);
        let told = |column: &Column| {
            // What the headings say need not stand in each row again, nor what nobody has.
            let heads = column.key != table.columns[0].key
                && by.is_some_and(|by| column.key == by || column.told_by == by);
            column.seen == Seen::Programs || heads && !column.by_first
        };
        let all = || table.groups.iter().flat_map(|group: &Group| &group.rows);
        let columns: Vec<usize> = table
            .columns
            .iter()
            .enumerate()
            .filter(|(number, column)| {
                let mut cells = all().map(|row| shown(column, &row.cells[*number]));
                !told(column) && cells.any(|cell| !cell.is_empty())
            })
            .map(|(number, _)| number)
            .collect();
        let heads = columns.iter().map(|number| {
            let column = &table.columns[*number];
            let is_text = matches!(column.form, Form::Text | Form::Several);
            grid::Column {
                head: column.head.to_owned(),
                figures: is_figure(column),
                firm: !(is_text && column.words.is_empty()),
            }
        });
        let cells = |row: &Row| {
            let cells = columns.iter().map(|number| {
                let column = &table.columns[*number];
                shown(column, &row.cells[*number])
            });
            cells.collect()
        };
        let sums = counted(table, &columns, &table.totals);
        let grid = Grid::of(
            heads.collect(),
            all().map(cells).collect(),
            Some(&sums),
            room,
        );
        Self {
            table,
            room,
            columns,
            grid,
        }
    }

    /// What rows come to: a line under the columns, then the words and the money.
    fn sums(&self, totals: &Totals) -> String {
        let counted = counted(self.table, &self.columns, totals);
        let mut text = self.grid.line(&counted);
        for (number, sum) in &totals.of {
            let column = &self.table.columns[*number];
            let told = self.table.by == Some(*number);
            let said = match sum {
                Sum::Tally(words) if !told => {
                    let words = words.iter().map(|(word, count)| {
                        let word = word.as_deref().unwrap_or(column.lacks);
                        format!("{count} {}", seen(word))
                    });
                    words.collect::<Vec<String>>().join(", ")
                }
                Sum::Money { sums, without } if !sums.is_empty() => {
                    let sums = sums
                        .iter()
                        .map(|money| format!("{} {}", money.amount(), seen(&money.currency)));
                    let sums = sums.collect::<Vec<String>>().join(" and ");
                    match without {
                        0 => sums,
                        _ => format!("{sums}; {without} without a price"),
                    }
                }
                _ => continue,
            };
            text.push_str(&folded(
                &format!("{}: {said}", column.head),
                self.room.width(),
            ));
        }
        text
    }
}

/// How many things there are, and under the columns of counts what these come to.
fn counted(table: &Table, columns: &[usize], totals: &Totals) -> Vec<Shown> {
    let sum_of = |number: usize| totals.of.iter().find(|(of, _)| *of == number);
    let mut cells = vec![Shown::Text(things(table, totals.count))];
    let sums = columns.iter().skip(1).map(|number| match sum_of(*number) {
        Some((_, Sum::Count(count))) => Shown::figure(&count.to_string()),
        _ => Shown::Text(String::new()),
    });
    cells.extend(sums);
    cells
}

/// "1 piece", "12 assemblies".
fn things(table: &Table, count: u64) -> String {
    let noun = if count == 1 { table.one } else { table.what };
    format!("{count} {noun}")
}
