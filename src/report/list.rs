//! Tables of records, pieces and places.
//!
//! A kind's table is a list of columns, each a function of a row; everything else (which
//! rows are wanted, how they are put together, what they come to) is the same for all.
//! What a folder leaves out is left empty: nothing here judges.

use std::collections::BTreeMap;
use std::fmt;

use glob::{MatchOptions, Pattern};

use super::{Cell, Column, Form, Group, Money, Row, Seen, Table, Total, Totals, group_word, sums};
use crate::folder::Folder;
use crate::model::assembly::Assembly;
use crate::model::circuit::WireState;
use crate::model::common::{Condition, Fitting, Stage};
use crate::model::decision::DecisionState;
use crate::model::job::{Job, JobKind, JobState, Line};
use crate::model::part::TreatmentKind;
use crate::model::{Kind, common, plug};
use crate::near;
use crate::present::{self, Piece, Place, Present, Stay};
use crate::reckon::quantity::{Form as Written, Quantity};
use crate::reckon::unit::{Amount, Unit};

/// What can be listed, and what one of it is called: every kind of record, and what people
/// ask for most though it is no kind.
pub const KINDS: &[(&str, &str)] = &[
    ("pieces", "piece"),
    ("places", "place"),
    ("donors", "donor"),
    ("parts", "part"),
    ("assemblies", "assembly"),
    ("fasteners", "fastener"),
    ("plugs", "plug"),
    ("routes", "route"),
    ("circuits", "circuit"),
    ("clearances", "clearance"),
    ("jobs", "job"),
    ("decisions", "decision"),
    ("photos", "photo"),
];

/// Which rows are wanted, and how they are put together.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Only what is called so.
    pub pattern: Option<String>,
    /// Only what has such a word in such a column.
    pub only: Vec<(String, String)>,
    /// Put together by the words of this column.
    pub by: Option<String>,
}

/// Why there is no table, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unlisted {
    /// Why.
    pub why: String,
    /// What to do.
    pub remedy: String,
}

impl fmt::Display for Unlisted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.why)
    }
}

/// What a word names that can be listed, and what one of it is called: `pieces`, `piece`,
/// `parts/`.
///
/// # Errors
/// When nothing is called so.
pub fn named(kind: &str) -> Result<(&'static str, &'static str), Unlisted> {
    let word = kind.trim_end_matches('/');
    let mut kinds = KINDS.iter();
    let found = kinds.find(|(what, one)| *what == word || *one == word);
    found.copied().ok_or_else(|| {
        let all: Vec<&str> = KINDS.iter().map(|(what, _)| *what).collect();
        let remedy = match near::nearest(word, &all).first() {
            Some(near) => format!("write `{near}`"),
            None => {
                let all: Vec<String> = all.iter().map(|what| format!("`{what}`")).collect();
                format!("write one of {}", all.join(", "))
            }
        };
        Unlisted {
            why: format!("there is no list of `{word}`"),
            remedy,
        }
    })
}

/// A table of what a word names.
///
/// # Errors
/// When there is nothing of that name, or a pattern, a column or a word leads nowhere.
pub fn table(folder: &Folder, kind: &str, wanted: &Wanted) -> Result<Table, Unlisted> {
    let (what, one) = named(kind)?;
    let present = Present::of(folder);
    let cx = Cx {
        folder,
        present: &present,
    };
    let (columns, rows) = match what {
        "pieces" => pieces(&cx),
        "places" => places(&cx),
        "donors" => donors(&cx),
        "parts" => parts(&cx),
        "assemblies" => assemblies(&cx),
        "fasteners" => fasteners(&cx),
        "plugs" => plugs(&cx),
        "routes" => routes(&cx),
        "circuits" => circuits(&cx),
        "clearances" => clearances(&cx),
        "jobs" => jobs(&cx),
        "decisions" => decisions(&cx),
        _ => photos(&cx),
    };
    let choosing = Choosing {
        folder,
        what,
        one,
        columns: &columns,
    };
    let rows = choosing.called(rows, wanted.pattern.as_deref())?;
    let rows = choosing.only(rows, &wanted.only)?;
    let by = match &wanted.by {
        Some(name) => Some(choosing.column(name)?),
        None => None,
    };
    Ok(Table {
        what,
        one,
        by,
        totals: Totals::of(&columns, rows.iter()),
        groups: grouped(&columns, rows, by),
        columns,
    })
}

/// The rows under the words of a column, the settled words in their order, what lacks one
/// last.
fn grouped(columns: &[Column], rows: Vec<Row>, by: Option<usize>) -> Vec<Group> {
    let mut groups: BTreeMap<(usize, Option<String>), Vec<Row>> = BTreeMap::new();
    for row in rows {
        let word = by.and_then(|by| group_word(&columns[by], &row.cells[by]));
        let rank = match (by, &word) {
            (Some(by), Some(word)) => {
                let words = columns[by].words;
                let place = words.iter().position(|known| known == word);
                place.unwrap_or(words.len())
            }
            _ => usize::MAX,
        };
        groups.entry((rank, word)).or_default().push(row);
    }
    let groups = groups.into_iter().map(|((_, word), rows)| Group {
        word,
        totals: Totals::of(columns, rows.iter()),
        rows,
    });
    groups.collect()
}

const OPTIONS: MatchOptions = MatchOptions {
    case_sensitive: true,
    require_literal_separator: true,
    require_literal_leading_dot: false,
};

struct Choosing<'a> {
    folder: &'a Folder,
    what: &'static str,
    one: &'static str,
    columns: &'a [Column],
}

impl Choosing<'_> {
    /// The rows that a pattern calls by their names, or that lie inside what it calls.
    fn called(&self, rows: Vec<Row>, pattern: Option<&str>) -> Result<Vec<Row>, Unlisted> {
        let Some(text) = pattern else {
            return Ok(rows);
        };
        // As it is called where any kind will do.
        let text = match text.split_once('/') {
            Some((kind, rest)) if KINDS.iter().any(|(what, _)| *what == kind) => rest,
            _ => text,
        };
        let pattern = read(text)?;
        let names: Vec<String> = rows.iter().flat_map(|row| row.names.clone()).collect();
        let (fits, _): (Vec<Row>, Vec<Row>) = rows
            .into_iter()
            .partition(|row| row.names.iter().any(|name| calls(&pattern, name)));
        if !fits.is_empty() {
            return Ok(fits);
        }
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        if names.is_empty() {
            return Err(Unlisted {
                why: format!(
                    "this build has no {} yet, so none is called `{text}`",
                    self.what
                ),
                remedy: format!(
                    "leave out `{text}`, or add {}",
                    near::with_article(self.one)
                ),
            });
        }
        Err(Unlisted {
            why: format!("no {} is called `{text}`", self.one),
            remedy: called_nearly(text, &names),
        })
    }

    /// The rows that have the words asked for.
    fn only(&self, mut rows: Vec<Row>, only: &[(String, String)]) -> Result<Vec<Row>, Unlisted> {
        let all = rows.clone();
        for (name, word) in only {
            let number = self.column(name)?;
            let column = &self.columns[number];
            let pattern = read(word)?;
            let has = |row: &Row| {
                let words = row.cells[number].words();
                match words.is_empty() {
                    true => word == "none" || word == column.lacks,
                    false => words.iter().any(|one| one == word || calls(&pattern, one)),
                }
            };
            if !all.iter().any(has) {
                self.seems_meant(column, number, word, &all)?;
            }
            rows.retain(has);
        }
        Ok(rows)
    }

    /// That nothing has a word is an answer, unless it is a slip for a word that is known.
    fn seems_meant(
        &self,
        column: &Column,
        number: usize,
        word: &str,
        rows: &[Row],
    ) -> Result<(), Unlisted> {
        let here = rows.iter().flat_map(|row| row.cells[number].words());
        let here: Vec<String> = here.collect();
        let ids = self.folder.all_ids().map(|(_, id, _)| id);
        let mut known: Vec<&str> = column.words.to_vec();
        known.extend(here.iter().map(String::as_str));
        if column.words.is_empty() {
            known.extend(ids);
        }
        known.extend(["none", column.lacks]);
        known.sort_unstable();
        known.dedup();
        if known.contains(&word) {
            return Ok(());
        }
        let settled = !column.words.is_empty();
        if !settled && near::nearest(word, &known).is_empty() {
            return Ok(());
        }
        Err(Unlisted {
            why: format!("no {} has `{word}` under `{}`", self.one, column.key),
            remedy: near::write_one_of(word, if settled { column.words } else { &known }),
        })
    }

    /// The column of a name.
    fn column(&self, name: &str) -> Result<usize, Unlisted> {
        let key = name.replace(['-', ' '], "_");
        let columns = || self.columns.iter();
        let found = columns().position(|column| column.key == key && column.seen != Seen::People);
        // What people read above a column will do as well.
        let found = found.or_else(|| columns().position(|column| column.head == name));
        found.ok_or_else(|| {
            let known = columns().filter(|column| column.seen != Seen::People);
            let known: Vec<&str> = known.map(|column| column.key).collect();
            let near = near::nearest(&key, &known);
            let remedy = match near.is_empty() {
                false => near::write_one_of(&key, &near),
                true => {
                    let known: Vec<String> = known.iter().map(|key| format!("`{key}`")).collect();
                    format!("write one of {}", known.join(", "))
                }
            };
            Unlisted {
                why: format!("the list of {} has no column `{name}`", self.what),
                remedy,
            }
        })
    }
}

fn read(text: &str) -> Result<Pattern, Unlisted> {
    Pattern::new(text).map_err(|error| Unlisted {
        why: format!("`{text}` is no pattern: {}", error.msg),
        remedy: "write `*` for any name, `**` between slashes for any depth, `[*]` for a star"
            .to_owned(),
    })
}

/// Whether a pattern calls a thing, or something that the thing lies in.
fn calls(pattern: &Pattern, name: &str) -> bool {
    let ends = name.match_indices('/').map(|(at, _)| at);
    ends.chain([name.len()])
        .any(|end| pattern.matches_with(&name[..end], OPTIONS))
}

/// The pattern with the slips in it put right, or else names that are there.
fn called_nearly(text: &str, names: &[&str]) -> String {
    let mut words: Vec<&str> = names.iter().flat_map(|name| name.split('/')).collect();
    words.sort_unstable();
    words.dedup();
    let mended: Vec<&str> = text
        .split('/')
        .map(|word| {
            let free = word.contains(['*', '?', '[']) || words.contains(&word);
            match near::nearest(word, &words).first() {
                Some(near) if !free => near,
                _ => word,
            }
        })
        .collect();
    let mended = mended.join("/");
    let leads = |text: &str| {
        Pattern::new(text).is_ok_and(|pattern| names.iter().any(|name| calls(&pattern, name)))
    };
    if mended != text && leads(&mended) {
        return format!("write `{mended}`");
    }
    let mut names = names.to_vec();
    names.dedup();
    near::write_one_of(text, &names)
}

struct Cx<'a> {
    folder: &'a Folder,
    present: &'a Present<'a>,
}

/// A column, and what stands under it as a function of a row.
type Made<R> = (Column, fn(&R) -> Cell);

fn column(key: &'static str, head: &'static str, form: Form) -> Column {
    Column {
        key,
        head,
        form,
        seen: Seen::Both,
        total: Total::Nothing,
        lacks: "none",
        by_first: false,
        told_by: "",
        words: &[],
    }
}

impl Column {
    const fn seen_by(mut self, seen: Seen) -> Self {
        self.seen = seen;
        self
    }
    const fn summed(mut self) -> Self {
        self.total = Total::Sum;
        self
    }
    const fn tallied(mut self) -> Self {
        self.total = Total::Tally;
        self
    }
    const fn lacking(mut self, lacks: &'static str) -> Self {
        self.lacks = lacks;
        self
    }
    const fn worded(mut self, words: &'static [&'static str]) -> Self {
        self.words = words;
        self
    }
    const fn told_by(mut self, key: &'static str) -> Self {
        self.told_by = key;
        self
    }
    const fn by_first(mut self) -> Self {
        self.by_first = true;
        self
    }
}

fn text_of(key: &'static str, head: &'static str) -> Column {
    column(key, head, Form::Text)
}
fn more(key: &'static str) -> Column {
    column(key, key, Form::Text).seen_by(Seen::Programs)
}
fn several(key: &'static str, head: &'static str) -> Column {
    column(key, head, Form::Several)
}
fn count_of(key: &'static str, head: &'static str) -> Column {
    column(key, head, Form::Count).summed()
}
fn price() -> Column {
    column("price", "price", Form::Money)
        .summed()
        .lacking("no price")
}

/// Lays rows out by their columns.
fn laid<R>(
    made: Vec<Made<R>>,
    rows: impl IntoIterator<Item = (Vec<String>, u64, R)>,
) -> (Vec<Column>, Vec<Row>) {
    let cells = |row: &R| made.iter().map(|(_, cell)| cell(row)).collect();
    let rows = rows.into_iter().map(|(names, count, row)| Row {
        names,
        count,
        cells: cells(&row),
    });
    let rows = rows.collect();
    (made.into_iter().map(|(column, _)| column).collect(), rows)
}

/// Lays records out: one row each, by its id.
fn records<R>(
    made: Vec<Made<R>>,
    rows: impl IntoIterator<Item = (String, R)>,
) -> (Vec<Column>, Vec<Row>) {
    laid(made, rows.into_iter().map(|(id, row)| (vec![id], 1, row)))
}

fn word(text: Option<impl Into<String>>) -> Cell {
    text.map_or(Cell::Nothing, |text| Cell::Text(text.into()))
}
fn list<T: Into<String>>(texts: impl IntoIterator<Item = T>) -> Cell {
    let texts: Vec<String> = texts.into_iter().map(Into::into).collect();
    match texts.is_empty() {
        true => Cell::Nothing,
        false => Cell::Several(texts),
    }
}
fn count(number: impl TryInto<u64>) -> Cell {
    Cell::Count(number.try_into().unwrap_or(u64::MAX))
}

/// A sum of money, if it is one figure.
pub(crate) fn money(text: &common::Money) -> Option<Money> {
    let quantity = Quantity::parse(text.as_str()).ok()?;
    let (Written::Single(_), Amount::Money { value, currency }) =
        (quantity.form(), quantity.nominal())
    else {
        return None;
    };
    let millionths = (value * 1e6).round() as i128;
    Some(Money {
        millionths,
        currency: currency.code().to_owned(),
    })
}
fn price_cell(price: Option<Money>) -> Cell {
    price.map_or(Cell::Nothing, Cell::Money)
}

/// A length as it is written, and in millimetres if it is one figure.
fn length(text: Option<&str>) -> Cell {
    let Some(text) = text else {
        return Cell::Nothing;
    };
    let figure = || {
        let quantity = Quantity::parse(text).ok()?;
        let Written::Single(_) = quantity.form() else {
            return None;
        };
        let figure = quantity.nominal().in_unit(Unit::read("mm").ok()?)?;
        // What is printed has no more figures than what was measured.
        Some((figure * 1e6).round() / 1e6)
    };
    Cell::Length(text.to_owned(), figure())
}

/// The stage of what stands now, if anything does.
fn standing(fittings: &[Fitting]) -> Option<Stage> {
    let now = fittings.iter().filter(|fitting| fitting.until.is_none());
    now.map(present::stage_of).max()
}

const STAGES: &[&str] = &["bench", "mock-up", "final"];
const ON: &[&str] = &["mock-up", "final"];
const CONDITIONS: &[&str] = &["serviceable", "repairable", "unchecked", "scrap"];
const NEWNESS: &[&str] = &["new", "old stock", "remanufactured", "used"];

/// A piece, or as many of a lot as stand alike: at one stage in one assembly.
struct PieceRow<'a> {
    piece: &'a Piece<'a>,
    count: u64,
    stage: Stage,
    places: Vec<String>,
    price: Option<Money>,
}

fn pieces(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    let made: Vec<Made<PieceRow<'_>>> = vec![
        (text_of("called", "piece").seen_by(Seen::People), |row| {
            let name = row.piece.name();
            Cell::Text(match row.piece.record.count {
                Some(_) => format!("{name} × {}", row.count),
                None => name,
            })
        }),
        (more("piece"), |row| Cell::Text(row.piece.name())),
        (more("part"), |row| Cell::Text(row.piece.part.to_owned())),
        (more("name"), |row| Cell::Text(row.piece.of.name.clone())),
        (more("number"), |row| {
            word(row.piece.of.number.as_ref().map(|number| number.as_str()))
        }),
        (
            column("count", "of", Form::Count).seen_by(Seen::Programs),
            |row| Cell::Count(row.count),
        ),
        (
            text_of("from", "from")
                .seen_by(Seen::People)
                .told_by("donor"),
            |row| {
                let bought = row.piece.record.bought.as_ref();
                let seller = bought.and_then(|bought| bought.from.as_deref());
                let donor = row.piece.record.donor.as_ref().map(|donor| donor.as_str());
                word(donor.or(seller))
            },
        ),
        (more("donor").lacking("no donor"), |row| {
            word(row.piece.record.donor.as_ref().map(|donor| donor.as_str()))
        }),
        (more("seller").lacking("no seller"), |row| {
            let bought = row.piece.record.bought.as_ref();
            word(bought.and_then(|bought| bought.from.as_deref()))
        }),
        (
            text_of("condition", "condition")
                .tallied()
                .lacking("not stated")
                .worded(CONDITIONS),
            |row| word(row.piece.record.condition.map(Condition::word)),
        ),
        (
            text_of("newness", "newness")
                .seen_by(Seen::Programs)
                .lacking("not stated")
                .worded(NEWNESS),
            |row| word(row.piece.record.newness.map(common::Newness::word)),
        ),
        (more("grade").lacking("not stated"), |row| {
            word(row.piece.record.grade.map(common::Grade::word))
        }),
        (
            several("place", "place")
                .seen_by(Seen::Programs)
                .lacking("no place")
                .by_first(),
            |row| list(row.places.clone()),
        ),
        (text_of("stage", "stage").tallied().worded(STAGES), |row| {
            Cell::Text(row.stage.word().to_owned())
        }),
        (
            several("goes", "goes")
                .seen_by(Seen::Programs)
                .lacking("no place")
                .by_first(),
            |row| list(row.piece.record.goes.0.iter().map(|place| place.as_str())),
        ),
        (
            text_of("where", "place (kept in)").seen_by(Seen::People),
            |row| {
                let place = row.places.join(", ");
                let lies = match &row.piece.away {
                    Some(away) => Some(format!("out with {}", away.job)),
                    None => row.piece.record.kept_in.clone(),
                };
                match lies {
                    Some(lies) if place.is_empty() => Cell::Text(format!("({lies})")),
                    Some(lies) => Cell::Text(format!("{place} ({lies})")),
                    None => word((!place.is_empty()).then_some(place)),
                }
            },
        ),
        (more("kept_in").lacking("not stated"), |row| {
            word(row.piece.record.kept_in.as_deref())
        }),
        (more("out_with").lacking("not out"), |row| {
            word(row.piece.away.as_ref().map(|away| away.job))
        }),
        (price().seen_by(Seen::Programs), |row| {
            price_cell(row.price.clone())
        }),
    ];
    let rows = cx.present.pieces.iter().flat_map(|piece| {
        let rows = spread(cx.present, piece);
        rows.into_iter()
            .map(|row| (vec![row.piece.name()], row.count, row))
    });
    laid(made, rows)
}

/// A piece as one row, or a lot as several where it is spread over stages or assemblies.
/// The price of a lot is shared out, so that sums stay what was paid.
fn spread<'a>(present: &'a Present<'a>, piece: &'a Piece<'a>) -> Vec<PieceRow<'a>> {
    let mut left = u64::from(piece.count());
    let mut rows: Vec<(Option<usize>, Stage, u64, Vec<usize>)> = Vec::new();
    let stays = || piece.stays.iter().map(|stay| &present.stays[*stay]);
    let on = stays().filter(|stay| stay.is_on());
    let planned = stays().filter(|stay| !stay.is_on());
    for stay in on.chain(planned) {
        let here = u64::from(stay.count).min(left);
        // What is on in more places than there are pieces is shown, and told by the check;
        // a plan for what is on elsewhere is no second place.
        if here == 0 && !stay.is_on() {
            continue;
        }
        left -= here;
        let assembly = Some(present.place(stay).assembly);
        let alike = |row: &&mut (Option<usize>, Stage, u64, Vec<usize>)| {
            row.0 == assembly && row.1 == stay.stage
        };
        match rows.iter_mut().find(alike) {
            Some(row) => {
                row.2 += here;
                row.3.push(stay.place);
            }
            None => rows.push((assembly, stay.stage, here, vec![stay.place])),
        }
    }
    if left > 0 {
        // One may be on though nothing says where.
        let nowhere = piece.events.iter().map(|event| &present.events[*event]);
        let nowhere = nowhere.filter(|event| !event.over && event.places.is_empty());
        let stages = nowhere.map(|event| present::stage_of(&piece.record.fitted[event.number]));
        rows.push((None, stages.max().unwrap_or(Stage::Bench), left, Vec::new()));
    }
    let bought = piece.record.bought.as_ref();
    let paid = bought
        .and_then(|bought| bought.price.as_ref())
        .and_then(money);
    let all = i128::from(piece.count().max(1));
    let mut before = 0;
    let rows = rows.into_iter().map(|(_, stage, count, places)| {
        let share = paid.as_ref().map(|paid| {
            let upto = |count: i128| paid.millionths.saturating_mul(count) / all;
            Money {
                millionths: upto(before + i128::from(count)) - upto(before),
                currency: paid.currency.clone(),
            }
        });
        before += i128::from(count);
        PieceRow {
            piece,
            count,
            stage,
            places: place_names(present, &places),
            price: share,
        }
    });
    rows.collect()
}

/// What places are called; all for each cylinder, bank or hand by their one name.
fn place_names(present: &Present<'_>, places: &[usize]) -> Vec<String> {
    let mut names = Vec::new();
    let mut told: Vec<usize> = Vec::new();
    for place in places {
        if told.contains(place) {
            continue;
        }
        let group = group_of(present, *place);
        match group {
            Some((name, all)) if all.len() > 1 && all.iter().all(|one| places.contains(one)) => {
                names.push(name);
                told.extend(all);
            }
            _ => {
                names.push(present.places[*place].name.clone());
                told.push(*place);
            }
        }
    }
    names
}

/// The name of all places that are spelt out of the record of one, and these.
fn group_of(present: &Present<'_>, place: usize) -> Option<(String, Vec<usize>)> {
    let place = &present.places[place];
    place.record.each?;
    let name = format!("{}/{}", present.assemblies[place.assembly].id, place.key);
    let all = present.places_named(&name).to_vec();
    Some((name, all))
}

/// A place, and what is on in it or planned for it.
struct PlaceRow<'a> {
    place: &'a Place<'a>,
    on: Vec<String>,
    planned: Vec<String>,
    stage: Option<Stage>,
}

fn places(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    let made: Vec<Made<PlaceRow<'_>>> = vec![
        (text_of("place", "place").by_first(), |row| {
            Cell::Text(row.place.name.clone())
        }),
        (more("name"), |row| word(row.place.record.name.as_deref())),
        (several("takes", "takes"), |row| {
            list(row.place.record.takes.iter().map(|number| number.as_str()))
        }),
        (
            column("room", "room", Form::Count).seen_by(Seen::Programs),
            |row| count(row.place.room()),
        ),
        (several("on", "on"), |row| list(row.on.clone())),
        (several("planned", "planned"), |row| {
            list(row.planned.clone())
        }),
        (
            text_of("stage", "stage")
                .tallied()
                .lacking("empty")
                .worded(STAGES),
            |row| word(row.stage.map(Stage::word)),
        ),
        (
            column("optional", "optional", Form::Flag).seen_by(Seen::Programs),
            |row| Cell::Flag(row.place.record.optional == Some(true)),
        ),
    ];
    let rows = cx.present.places.iter().enumerate().map(|(number, place)| {
        let stays = || place.stays.iter().map(|stay| &cx.present.stays[*stay]);
        let named = |wanted: fn(&Stay) -> bool| {
            let stays = stays().filter(|stay| wanted(stay));
            stays.map(|stay| cx.present.piece(stay).name()).collect()
        };
        let mut names = vec![place.name.clone()];
        names.extend(group_of(cx.present, number).map(|(name, _)| name));
        let row = PlaceRow {
            place,
            on: named(Stay::is_on),
            planned: named(|stay| stay.planned.is_some()),
            stage: stays().map(|stay| stay.stage).max(),
        };
        (names, 1, row)
    });
    laid(made, rows)
}

/// How many pieces there are, and what became of them. Every one is counted once: what is
/// on or planned is placed, and of the rest what is scrap is scrap, and the others spare.
#[derive(Default)]
struct Pieces {
    all: u64,
    placed: u64,
    scrap: u64,
    spare: u64,
    uncleaned: u64,
}

impl Pieces {
    fn add(&mut self, present: &Present<'_>, piece: &Piece<'_>) {
        let all = u64::from(piece.count());
        let rows = spread(present, piece);
        let loose = rows
            .iter()
            .filter(|row| row.places.is_empty() && row.stage == Stage::Bench);
        let loose: u64 = loose.map(|row| row.count).sum();
        self.all += all;
        self.placed += all - loose;
        match piece.record.condition {
            Some(Condition::Scrap) => self.scrap += loose,
            _ => self.spare += loose,
        }
        let treated = &piece.record.treated;
        if !treated
            .iter()
            .any(|one| one.what == Some(TreatmentKind::Cleaned))
        {
            self.uncleaned += all;
        }
    }
}

fn donors(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    type R<'a> = (&'a str, &'a crate::model::donor::Donor, Pieces);
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("donor", "donor"), |(id, _, _)| {
            Cell::Text((*id).to_owned())
        }),
        (
            text_of("what", "what").seen_by(Seen::People),
            |(_, donor, _)| {
                let year = donor.year.map(|year| year.to_string());
                let built = [donor.maker.clone(), donor.model.clone(), year];
                let built: Vec<String> = built.into_iter().flatten().collect();
                word(
                    donor
                        .name
                        .clone()
                        .or((!built.is_empty()).then(|| built.join(" "))),
                )
            },
        ),
        (more("name"), |(_, donor, _)| word(donor.name.as_deref())),
        (more("kind").lacking("not stated"), |(_, donor, _)| {
            word(donor.kind.map(crate::model::donor::DonorKind::word))
        }),
        (more("maker"), |(_, donor, _)| word(donor.maker.as_deref())),
        (more("model"), |(_, donor, _)| word(donor.model.as_deref())),
        (
            column("year", "year", Form::Count).seen_by(Seen::Programs),
            |(_, donor, _)| donor.year.map_or(Cell::Nothing, count),
        ),
        (more("died_of"), |(_, donor, _)| {
            word(donor.died_of.as_deref())
        }),
        (count_of("pieces", "pieces"), |(_, _, pieces)| {
            Cell::Count(pieces.all)
        }),
        (count_of("placed", "placed"), |(_, _, pieces)| {
            Cell::Count(pieces.placed)
        }),
        (count_of("spare", "spare"), |(_, _, pieces)| {
            Cell::Count(pieces.spare)
        }),
        (count_of("scrap", "scrap"), |(_, _, pieces)| {
            Cell::Count(pieces.scrap)
        }),
        (count_of("uncleaned", "uncleaned"), |(_, _, pieces)| {
            Cell::Count(pieces.uncleaned)
        }),
        (price(), |(_, donor, _)| {
            let bought = donor
                .bought
                .as_ref()
                .and_then(|bought| bought.price.as_ref());
            price_cell(donor.price.as_ref().or(bought).and_then(money))
        }),
        (more("gone"), |(_, donor, _)| {
            word(donor.gone.as_ref().map(|day| day.as_str()))
        }),
        (more("kept_in"), |(_, donor, _)| {
            word(donor.kept_in.as_deref())
        }),
    ];
    let rows = cx.folder.model.donor.iter().map(|(id, record)| {
        let mut pieces = Pieces::default();
        for piece in &cx.present.pieces {
            if piece
                .record
                .donor
                .as_ref()
                .is_some_and(|donor| donor.as_str() == id)
            {
                pieces.add(cx.present, piece);
            }
        }
        (id.clone(), (id.as_str(), &*record.data, pieces))
    });
    records(made, rows)
}

fn parts(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    type R<'a> = (&'a str, &'a crate::model::part::Part, Pieces);
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("part", "part"), |(id, _, _)| {
            Cell::Text((*id).to_owned())
        }),
        (text_of("name", "name"), |(_, part, _)| {
            Cell::Text(part.name.clone())
        }),
        (text_of("number", "number"), |(_, part, _)| {
            word(part.number.as_ref().map(|number| number.as_str()))
        }),
        (
            text_of("maker", "maker").lacking("not stated"),
            |(_, part, _)| word(part.maker.as_deref()),
        ),
        (more("critical"), |(_, part, _)| {
            word(part.critical.map(common::Critical::word))
        }),
        (count_of("pieces", "pieces"), |(_, _, pieces)| {
            Cell::Count(pieces.all)
        }),
        (count_of("placed", "placed"), |(_, _, pieces)| {
            Cell::Count(pieces.placed)
        }),
        (count_of("spare", "spare"), |(_, _, pieces)| {
            Cell::Count(pieces.spare)
        }),
        (count_of("scrap", "scrap"), |(_, _, pieces)| {
            Cell::Count(pieces.scrap)
        }),
        (count_of("unmarked", "unmarked"), |(_, part, _)| {
            part.have.map_or(Cell::Nothing, count)
        }),
    ];
    let rows = cx.folder.model.part.iter().map(|(id, record)| {
        let mut pieces = Pieces::default();
        for piece in cx.present.pieces_of(id) {
            pieces.add(cx.present, &cx.present.pieces[*piece]);
        }
        (id.clone(), (id.as_str(), &*record.data, pieces))
    });
    records(made, rows)
}

struct AssemblyRow<'a> {
    id: &'a str,
    record: &'a Assembly,
    places: usize,
    on: usize,
    planned: usize,
    inside: Option<&'a str>,
}

fn assemblies(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    let made: Vec<Made<AssemblyRow<'_>>> = vec![
        (text_of("assembly", "assembly"), |row| {
            Cell::Text(row.id.to_owned())
        }),
        (more("name"), |row| word(row.record.name.as_deref())),
        (text_of("in", "in").lacking("not stated"), |row| {
            word(row.record.in_.as_ref().map(|outer| outer.as_str()))
        }),
        (count_of("places", "places"), |row| count(row.places)),
        (count_of("filled", "filled"), |row| count(row.on)),
        (count_of("planned", "planned"), |row| count(row.planned)),
        (count_of("empty", "empty"), |row| {
            count(row.places - row.on - row.planned)
        }),
        (
            column("joints", "joints", Form::Count)
                .summed()
                .seen_by(Seen::Programs),
            |row| count(row.record.joints.len()),
        ),
        (
            text_of("mounted", "mounted")
                .tallied()
                .lacking("not mounted")
                .worded(ON),
            |row| word(standing(&row.record.mounted).map(Stage::word)),
        ),
        (text_of("closed", "closed").lacking("open"), |row| {
            let now = row.record.closed.iter().find(|one| one.until.is_none());
            word(
                now.and_then(|one| one.when.as_ref())
                    .map(|day| day.as_str()),
            )
        }),
        (more("closed_by"), |row| word(row.inside)),
    ];
    let rows = cx.present.assemblies.iter().map(|assembly| {
        let stays = |place: usize| {
            let stays = cx.present.places[place].stays.iter();
            stays.map(|stay| &cx.present.stays[*stay])
        };
        let places = assembly.places.iter();
        let on = places
            .clone()
            .filter(|place| stays(**place).any(Stay::is_on));
        let any = places.filter(|place| stays(**place).next().is_some());
        let on = on.count();
        let row = AssemblyRow {
            id: assembly.id,
            record: assembly.record,
            places: assembly.places.len(),
            on,
            planned: any.count() - on,
            inside: assembly
                .closed_by
                .map(|outer| cx.present.assemblies[outer].id),
        };
        (assembly.id.to_owned(), row)
    });
    records(made, rows)
}

fn fasteners(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    type R<'a> = (&'a str, &'a crate::model::fastener::Fastener, u64);
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("fastener", "fastener"), |(id, _, _)| {
            Cell::Text((*id).to_owned())
        }),
        (more("name"), |(_, one, _)| word(one.name.as_deref())),
        (more("number"), |(_, one, _)| {
            word(one.number.as_ref().map(|number| number.as_str()))
        }),
        (
            text_of("form", "form").lacking("not stated"),
            |(_, one, _)| word(one.form.map(crate::model::fastener::Form::word)),
        ),
        (
            text_of("size", "size").seen_by(Seen::People),
            |(_, one, _)| {
                let thread = one.thread.as_ref().map(|thread| thread.as_str());
                let length = one.length.as_ref().map(|length| length.as_str());
                let size: Vec<&str> = [thread, length].into_iter().flatten().collect();
                word((!size.is_empty()).then(|| size.join(" × ")))
            },
        ),
        (more("thread"), |(_, one, _)| {
            word(one.thread.as_ref().map(|thread| thread.as_str()))
        }),
        (
            column("length", "length", Form::Length).seen_by(Seen::Programs),
            |(_, one, _)| length(one.length.as_ref().map(|length| length.as_str())),
        ),
        (
            text_of("class", "class").lacking("not stated"),
            |(_, one, _)| word(one.class.as_deref()),
        ),
        (
            text_of("finish", "finish").lacking("not stated"),
            |(_, one, _)| word(one.finish.map(crate::model::fastener::Finish::word)),
        ),
        (count_of("have", "have"), |(_, one, _)| {
            one.have.map_or(Cell::Nothing, count)
        }),
        (count_of("called_for", "called for"), |(_, _, holes)| {
            Cell::Count(*holes)
        }),
        (text_of("kept_in", "kept in"), |(_, one, _)| {
            word(one.kept_in.as_deref())
        }),
        (more("donor").lacking("no donor"), |(_, one, _)| {
            word(one.donor.as_ref().map(|donor| donor.as_str()))
        }),
        (price().seen_by(Seen::Programs), |(_, one, _)| {
            let bought = one.bought.as_ref().and_then(|bought| bought.price.as_ref());
            price_cell(bought.and_then(money))
        }),
    ];
    let mut holes: BTreeMap<&str, u64> = BTreeMap::new();
    for record in cx.folder.model.assembly.values() {
        for hole in record
            .data
            .joints
            .values()
            .flat_map(|joint| joint.holes.values())
        {
            let named = hole.calls_for.iter().chain(&hole.then).chain(&hole.washers);
            for fastener in named {
                *holes.entry(fastener.as_str()).or_default() += 1;
            }
        }
    }
    let rows = cx.folder.model.fastener.iter().map(|(id, record)| {
        let holes = holes.get(id.as_str()).copied().unwrap_or(0);
        (id.clone(), (id.as_str(), &*record.data, holes))
    });
    records(made, rows)
}

fn plugs(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    type R<'a> = (&'a str, &'a plug::Plug, u64);
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("plug", "plug"), |(id, _, _)| {
            Cell::Text((*id).to_owned())
        }),
        (more("name"), |(_, plug, _)| word(plug.name.as_deref())),
        (text_of("kind", "kind").tallied(), |(_, plug, _)| {
            word(Some(plug.kind.unwrap_or(plug::EndKind::Plug).word()))
        }),
        (
            text_of("at", "at").by_first().lacking("not stated"),
            |(_, plug, _)| word(plug.at.as_ref().map(|at| at.as_str())),
        ),
        (more("of"), |(_, plug, _)| {
            word(plug.of.as_ref().map(|of| of.as_str()))
        }),
        (text_of("cavities", "cavities"), |(_, plug, _)| {
            word(plug.cavities.as_ref().map(|all| all.as_str()))
        }),
        (count_of("wire_ends", "wire ends"), |(_, _, ends)| {
            Cell::Count(*ends)
        }),
        (text_of("mates", "mates"), |(_, plug, _)| {
            word(plug.mates.as_ref().map(|mate| mate.as_str()))
        }),
        (more("donor").lacking("no donor"), |(_, plug, _)| {
            word(plug.donor.as_ref().map(|donor| donor.as_str()))
        }),
        (
            text_of("fitted", "fitted")
                .tallied()
                .lacking("not fitted")
                .worded(ON),
            |(_, plug, _)| word(standing(&plug.fitted).map(Stage::word)),
        ),
    ];
    let mut ends: BTreeMap<&str, u64> = BTreeMap::new();
    let circuits = cx.folder.model.circuit.values();
    for wire in circuits.flat_map(|circuit| circuit.data.wires.values()) {
        for end in wire.from.iter().chain(&wire.to) {
            let plug = end.as_str().split('/').next().unwrap_or_default();
            *ends.entry(plug).or_default() += 1;
        }
    }
    let rows = cx.folder.model.plug.iter().map(|(id, record)| {
        let ends = ends.get(id.as_str()).copied().unwrap_or(0);
        (id.clone(), (id.as_str(), &*record.data, ends))
    });
    records(made, rows)
}

fn routes(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    type R<'a> = (&'a str, &'a crate::model::route::Route, u64);
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("route", "route"), |(id, _, _)| {
            Cell::Text((*id).to_owned())
        }),
        (more("name"), |(_, route, _)| word(route.name.as_deref())),
        (text_of("from", "from"), |(_, route, _)| {
            word(route.from.as_ref().map(|from| from.as_str()))
        }),
        (text_of("to", "to"), |(_, route, _)| {
            word(route.to.as_ref().map(|to| to.as_str()))
        }),
        (column("length", "length", Form::Length), |(_, route, _)| {
            length(route.length.as_ref().map(|length| length.as_str()))
        }),
        (text_of("measured", "measured"), |(_, route, _)| {
            let measured = route.measured.as_ref().and_then(|one| one.when.as_ref());
            word(measured.map(|day| day.as_str()))
        }),
        (column("holes", "holes", Form::Count), |(_, route, _)| {
            count(route.through.len())
        }),
        (column("wires", "wires", Form::Count), |(_, _, wires)| {
            Cell::Count(*wires)
        }),
    ];
    let rows = cx.folder.model.route.iter().map(|(id, record)| {
        let circuits = cx.folder.model.circuit.values();
        let wires = circuits.flat_map(|circuit| circuit.data.wires.values());
        let along = wires.filter(|wire| wire.along.iter().any(|route| route.as_str() == id));
        let along = u64::try_from(along.count()).unwrap_or(u64::MAX);
        (id.clone(), (id.as_str(), &*record.data, along))
    });
    records(made, rows)
}

fn circuits(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    type R<'a> = (&'a str, &'a crate::model::circuit::Circuit);
    /// A wire that does not say is drawn, and no more.
    fn at((_, circuit): &R<'_>, state: WireState) -> Cell {
        let states = circuit.wires.values().map(|wire| wire.state);
        let states = states.map(|one| one.unwrap_or(WireState::Planned));
        count(states.filter(|one| *one == state).count())
    }
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("circuit", "circuit"), |(id, _)| {
            Cell::Text((*id).to_owned())
        }),
        (text_of("does", "does"), |(_, circuit)| {
            word(circuit.does.as_deref())
        }),
        (more("kind").lacking("not stated"), |(_, circuit)| {
            word(circuit.kind.map(crate::model::circuit::CircuitKind::word))
        }),
        (count_of("wires", "wires"), |(_, circuit)| {
            count(circuit.wires.len())
        }),
        (count_of("planned", "planned"), |row| {
            at(row, WireState::Planned)
        }),
        (count_of("cut", "cut"), |row| at(row, WireState::Cut)),
        (count_of("crimped", "crimped"), |row| {
            at(row, WireState::Crimped)
        }),
        (count_of("fitted", "fitted"), |row| {
            at(row, WireState::Fitted)
        }),
        (count_of("tested", "tested"), |row| {
            at(row, WireState::Tested)
        }),
    ];
    let all = cx.folder.model.circuit.iter();
    records(
        made,
        all.map(|(id, record)| (id.clone(), (id.as_str(), &*record.data))),
    )
}

fn clearances(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    use crate::model::clearance::{Clearance, GapReading};
    type R<'a> = (&'a str, &'a Clearance, Option<&'a GapReading>);
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("clearance", "clearance"), |(id, _, _)| {
            Cell::Text((*id).to_owned())
        }),
        (several("between", "between"), |(_, gap, _)| {
            list(gap.between.iter().map(|spot| spot.as_str()))
        }),
        (column("least", "least", Form::Length), |(_, gap, _)| {
            length(gap.least.as_ref().map(|gap| gap.as_str()))
        }),
        (column("is", "is", Form::Length), |(_, _, last)| {
            length(
                last.and_then(|last| last.is.as_ref())
                    .map(|gap| gap.as_str()),
            )
        }),
        (
            text_of("when", "when").lacking("not measured"),
            |(_, _, last)| {
                word(
                    last.and_then(|last| last.when.as_ref())
                        .map(|day| day.as_str()),
                )
            },
        ),
        (
            text_of("stage", "stage")
                .tallied()
                .lacking("not stated")
                .worded(ON),
            |(_, _, last)| word(last.and_then(|last| last.as_).map(common::FittedAs::word)),
        ),
    ];
    let rows = cx.folder.model.clearance.iter().map(|(id, record)| {
        let last = record.data.readings.iter();
        // The last one in the list, of those of one day.
        let last = last.max_by_key(|one| one.when.as_ref().and_then(present::date));
        (id.clone(), (id.as_str(), &*record.data, last))
    });
    records(made, rows)
}

/// How far a job has come: as it says, or else as its days tell.
pub(crate) fn job_state(job: &Job) -> JobState {
    let over = job.done.is_some() || job.closed.is_some() || job.arrived.is_some();
    match job.state {
        Some(state) => state,
        None if over || job.found.is_some() => JobState::Done,
        // Back, and still to be counted and put away.
        None if job.came_back.is_some() => JobState::HalfDone,
        None if job.sent.is_some() || job.ordered.is_some() => JobState::Waiting,
        None if !job.spent.is_empty() => JobState::HalfDone,
        None => JobState::Open,
    }
}

/// What a job cost: as it says, or else what its lines and the carriage come to, if they
/// are of one currency.
pub(crate) fn job_price(job: &Job) -> Option<Money> {
    match job_sums(job).as_slice() {
        [one] => Some(one.clone()),
        _ => None,
    }
}

/// How many a line is of: as it says, or else as many as came or went; one if nothing does.
pub(crate) fn how_many(line: &Line) -> u32 {
    line.count.or(line.came).or(line.out).unwrap_or(1)
}

/// What a job cost, in each currency.
pub(crate) fn job_sums(job: &Job) -> Vec<Money> {
    if let Some(price) = &job.price {
        return money(price).into_iter().collect();
    }
    let lines = job.lines.iter().filter_map(|line| {
        let one = money(line.price.as_ref()?)?;
        let many = i128::from(how_many(line));
        Some(Money {
            millionths: one.millionths.saturating_mul(many),
            ..one
        })
    });
    sums(lines.chain(job.carriage.as_ref().and_then(money)))
}

const JOB_STATES: &[&str] = &["open", "half done", "waiting", "done", "dropped"];

fn jobs(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    type R<'a> = (&'a str, &'a Job);
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("job", "job"), |(id, _)| {
            Cell::Text((*id).to_owned())
        }),
        (text_of("kind", "kind"), |(_, job)| {
            word(Some(job.kind.unwrap_or(JobKind::Bench).word()))
        }),
        (text_of("what", "what").seen_by(Seen::People), |(_, job)| {
            let process = job.process.map(|process| process.word().to_owned());
            let expect = job.expect.clone();
            word(job.does.clone().or(process).or(expect))
        }),
        (more("does"), |(_, job)| word(job.does.as_deref())),
        (more("process"), |(_, job)| {
            word(job.process.map(crate::model::job::Process::word))
        }),
        (more("to"), |(_, job)| word(job.to.as_deref())),
        (more("from"), |(_, job)| word(job.from.as_deref())),
        (
            text_of("state", "state").tallied().worded(JOB_STATES),
            |(_, job)| word(Some(job_state(job).word())),
        ),
        (text_of("due", "due"), |(_, job)| {
            let due = job
                .due
                .as_ref()
                .or(job.promised.as_ref())
                .or(job.wanted.as_ref());
            word(due.map(|day| day.as_str()))
        }),
        (price(), |(_, job)| price_cell(job_price(job))),
    ];
    let all = cx.folder.model.job.iter();
    records(
        made,
        all.map(|(id, record)| (id.clone(), (id.as_str(), &*record.data))),
    )
}

const DECISION_STATES: &[&str] = &["open", "chosen", "withdrawn"];

fn decisions(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    type R<'a> = (&'a str, &'a crate::model::decision::Decision);
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("decision", "decision"), |(id, _)| {
            Cell::Text((*id).to_owned())
        }),
        (text_of("asks", "asks"), |(_, one)| {
            Cell::Text(one.asks.clone())
        }),
        (
            text_of("state", "state").tallied().worded(DECISION_STATES),
            |(_, one)| {
                let told = match one.chosen {
                    Some(_) => DecisionState::Chosen,
                    None => DecisionState::Open,
                };
                word(Some(one.state.unwrap_or(told).word()))
            },
        ),
        (text_of("chosen", "chosen"), |(_, one)| {
            word(one.chosen.as_ref().map(|chosen| chosen.as_str()))
        }),
        (more("because"), |(_, one)| word(one.because.as_deref())),
        (text_of("when", "when"), |(_, one)| {
            word(one.when.as_ref().map(|day| day.as_str()))
        }),
        (several("settles", "settles"), |(_, one)| {
            let settles = one.settles.iter().filter_map(|one| {
                Some(format!(
                    "{} at {}",
                    one.rule.as_ref()?.as_str(),
                    one.at.as_ref()?.as_str()
                ))
            });
            list(settles)
        }),
    ];
    let all = cx.folder.model.decision.iter();
    records(
        made,
        all.map(|(id, record)| (id.clone(), (id.as_str(), &*record.data))),
    )
}

fn photos(cx: &Cx<'_>) -> (Vec<Column>, Vec<Row>) {
    type R<'a> = (&'a str, &'a crate::model::photo::Photo);
    let made: Vec<Made<R<'_>>> = vec![
        (text_of("photo", "photo"), |(id, _)| {
            Cell::Text((*id).to_owned())
        }),
        (text_of("file", "file"), |(_, photo)| {
            Cell::Text(photo.file.clone())
        }),
        (text_of("taken", "taken"), |(_, photo)| {
            word(photo.taken.as_ref().map(|day| day.as_str()))
        }),
        (several("shows", "shows"), |(_, photo)| {
            list(photo.shows.iter().map(|shown| shown.as_str()))
        }),
        (more("caption"), |(_, photo)| word(photo.caption.as_deref())),
    ];
    let all = cx.folder.model.photo.iter();
    records(
        made,
        all.map(|(id, record)| (id.clone(), (id.as_str(), &*record.data))),
    )
}

/// The kinds of record that a list is worked out from.
fn read_from(what: &str) -> Vec<Kind> {
    use Kind::{Assemblies, Build, Circuits, Donors, Fasteners, Jobs, Parts, Plugs, Routes};
    match what {
        "pieces" => vec![Parts, Assemblies, Jobs, Build],
        "places" | "parts" | "assemblies" => vec![Parts, Assemblies, Build],
        "donors" => vec![Donors, Parts, Assemblies, Build],
        "fasteners" => vec![Fasteners, Assemblies],
        "plugs" => vec![Plugs, Circuits],
        "routes" => vec![Routes, Circuits],
        own => Kind::of_folder(own).into_iter().collect(),
    }
}

/// The files that are left out of a list, wholly or in part.
#[must_use]
pub fn left_out(folder: &Folder, what: &str) -> Vec<String> {
    folder.left_out(&read_from(what))
}
