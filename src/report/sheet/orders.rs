//! The orders sheet: what is on its way, what of it has come, what is overdue, what waits for
//! it, and until when a thing can go back.
//!
//! Orders stand by the day they are promised for, the earliest first, so that what should be
//! here already heads the sheet; those that nobody promised a day for come last. Sums are as
//! the records have them, each currency by itself. Where prices are `private` there are none
//! here, and the sheet says that they lack, not that it costs nothing.

use jiff::civil::Date;

use super::{Sheet, item, many, section, stamped};
use crate::model::job::{Job, JobKind, JobState, Line};
use crate::near::{in_order, spoken};
use crate::present::age::how_long;
use crate::present::{Worked, date};
use crate::report::list::{how_many, job_state, job_sums, money};
use crate::report::page::{Block, Entry, Item, Page, Section};
use crate::report::{Money, sums};

/// The orders sheet.
#[must_use]
pub fn sheet(worked: Worked<'_>, as_of: Date) -> Sheet {
    let jobs = worked.folder.model.job.iter();
    let orders = jobs.filter(|(_, job)| job.data.kind == Some(JobKind::Order));
    let orders: Vec<(&str, &Job)> = orders.map(|(id, job)| (id.as_str(), &*job.data)).collect();
    let is_open = |job: &Job| !matches!(job_state(job), JobState::Done | JobState::Dropped);
    let mut open: Vec<(&str, &Job)> = orders
        .iter()
        .copied()
        .filter(|(_, job)| is_open(job))
        .collect();
    open.sort_by(|a, b| {
        let promised = |job: &Job| job.promised.as_ref().and_then(date).unwrap_or(Date::MAX);
        promised(a.1)
            .cmp(&promised(b.1))
            .then_with(|| in_order(a.0, b.0))
    });
    let mut sections = Vec::new();
    for (id, job) in &open {
        sections.push(section(
            match &job.does {
                Some(does) => format!("{id}: {does}"),
                None => (*id).to_owned(),
            },
            order(worked, id, job, as_of),
        ));
    }
    sections.extend(returns(worked, &orders, as_of));
    sections.extend(money_of(&open));
    let overdue = open
        .iter()
        .filter(|(_, job)| overdue(job, as_of).is_some())
        .count();
    let lead = match open.len() {
        0 => "No order is open.".to_owned(),
        count => format!(
            "{}, {overdue} overdue.",
            many(count, "open order", "open orders")
        ),
    };
    let page = Page {
        title: format!("Orders: {}", worked.folder.model.build.name),
        lead: vec![lead],
        sections,
    };
    let mut lines = vec![HEADS.map(str::to_owned).to_vec()];
    for (id, job) in &open {
        lines.extend(cells(worked, id, job, as_of));
    }
    Sheet {
        page: stamped(page, as_of),
        lines,
    }
}

/// The day an open order was promised for, if that is over and not all of it is here.
fn overdue(job: &Job, as_of: Date) -> Option<Date> {
    let all_here = job.lines.iter().all(|line| Count::of(job, line).is_here());
    let nothing_written = job.lines.is_empty() && job.arrived.is_none();
    job.promised
        .as_ref()
        .and_then(date)
        .filter(|day| *day < as_of && (!all_here || nothing_written))
}

/// How much of a line was ordered, and how much of that has come.
enum Count<'a> {
    /// So many; one where no number is written.
    Pieces { ordered: u32, came: u32 },
    /// What is poured or squeezed, and whether it came.
    Amount { ordered: &'a str, came: bool },
}

impl<'a> Count<'a> {
    fn of(job: &Job, line: &'a Line) -> Self {
        // A day alone says that all of it came: its own, or else that of the whole order.
        let arrived = line.arrived.is_some() || job.arrived.is_some();
        match &line.amount {
            Some(amount) if line.count.is_none() => Self::Amount {
                ordered: amount.as_str(),
                came: arrived || line.came.is_some_and(|came| came > 0),
            },
            _ => {
                let ordered = how_many(line);
                let came = line.came.unwrap_or(if arrived { ordered } else { 0 });
                Self::Pieces { ordered, came }
            }
        }
    }

    fn is_here(&self) -> bool {
        match self {
            Self::Pieces { ordered, came } => came >= ordered,
            Self::Amount { came, .. } => *came,
        }
    }

    /// What was ordered, what came, what is to come.
    fn shown(&self) -> [String; 3] {
        match self {
            Self::Pieces { ordered, came } => {
                [*ordered, *came, ordered.saturating_sub(*came)].map(|count| count.to_string())
            }
            Self::Amount {
                ordered,
                came: true,
            } => [ordered, ordered, "0"].map(str::to_owned),
            Self::Amount { ordered, .. } => [ordered, "0", ordered].map(str::to_owned),
        }
    }
}

/// The jobs that wait for an order: those that it names, and those that name it.
fn waiting(worked: Worked<'_>, id: &str, job: &Job) -> Vec<String> {
    let jobs = &worked.folder.model.job;
    let reference = format!("jobs/{id}");
    let own = |one: &str| one.strip_prefix("jobs/").map(str::to_owned);
    let named = job.needed_by.iter().map(|one| one.as_str());
    let mut all: Vec<String> = named
        .map(|one| own(one).unwrap_or_else(|| one.to_owned()))
        .collect();
    let need = jobs.iter().filter(|(_, other)| {
        let mut needs = other.data.needs.iter();
        needs.any(|need| need.as_str() == reference)
    });
    all.extend(need.map(|(other, _)| other.clone()));
    // What is over waits no longer.
    let over = |id: &str| {
        let job = jobs.get(id).map(|record| job_state(&record.data));
        matches!(job, Some(JobState::Done | JobState::Dropped))
    };
    all.retain(|id| !over(id));
    all.sort_by(|a, b| in_order(a, b));
    all.dedup();
    all
}

fn shown(money: &Money) -> String {
    format!("{} {}", money.amount(), money.currency)
}

fn order(worked: Worked<'_>, id: &str, job: &Job, as_of: Date) -> Vec<Block> {
    let day =
        |day: &Option<crate::model::common::Day>| day.as_ref().map(|day| day.as_str().to_owned());
    let late = overdue(job, as_of).map(|day| format!("OVERDUE by {}", how_long(day, as_of)));
    let promised = match (day(&job.promised), late) {
        (Some(day), Some(late)) => Some(format!("{day}, {late}")),
        (promised, _) => promised,
    };
    let waits = waiting(worked, id, job);
    let sums: Vec<String> = job_sums(job).iter().map(shown).collect();
    let all = [
        ("from", job.from.clone()),
        ("state", Some(job_state(job).word().to_owned())),
        (
            "ordered",
            Some(day(&job.ordered).unwrap_or_else(|| "NOT ORDERED YET".to_owned())),
        ),
        (
            "promised",
            Some(promised.unwrap_or_else(|| "no day is written".to_owned())),
        ),
        ("arrived", day(&job.arrived)),
        ("can go back until", day(&job.return_by)),
        (
            "waits for it",
            Some(waits.join(", ")).filter(|text| !text.is_empty()),
        ),
        (
            if lacks_prices(job) {
                "comes to at least"
            } else {
                "comes to"
            },
            Some(spoken(&sums, "and")).filter(|text| !text.is_empty()),
        ),
    ];
    let items = all
        .into_iter()
        .filter_map(|(about, says)| Some(item(about, says?)));
    let mut blocks = vec![Block::Items(items.collect())];
    if job.lines.is_empty() {
        blocks.push(Block::Text("No lines are written.".to_owned()));
        return blocks;
    }
    let priced = job.lines.iter().any(|line| line.price.is_some());
    let mut heads = vec!["what", "count", "came", "to come", "here"];
    let mut figures = vec![false, true, true, true, false];
    if priced {
        heads.push("each");
        figures.push(true);
    }
    let rows = job.lines.iter().map(|line| {
        let count = Count::of(job, line);
        let mut row: Vec<Entry> = vec![what(worked, line).into()];
        row.extend(count.shown().map(Entry::Text));
        row.push(match count.is_here() {
            true => Entry::Box(true),
            false => Entry::Blank,
        });
        if priced {
            let each = line.price.as_ref();
            row.push(each.map_or("", |each| each.as_str()).into());
        }
        row
    });
    blocks.push(Block::Table {
        rows: rows.collect(),
        heads: heads.into_iter().map(str::to_owned).collect(),
        figures,
    });
    blocks
}

/// What is ordered: what it is called, and its number.
fn what(worked: Worked<'_>, line: &Line) -> String {
    let reference = line.what.as_ref().map_or("", |what| what.as_str());
    let (kind, rest) = reference.split_once('/').unwrap_or(("", reference));
    let id = rest.split('/').next().unwrap_or_default();
    let model = &worked.folder.model;
    let number = match kind {
        "parts" => model
            .part
            .get(id)
            .and_then(|part| part.data.number.as_ref()),
        "fasteners" => model
            .fastener
            .get(id)
            .and_then(|one| one.data.number.as_ref()),
        _ => None,
    };
    match number {
        Some(number) => format!("{rest} ({})", number.as_str()),
        None => rest.to_owned(),
    }
}

/// What can still go back: orders, and pieces that say so themselves.
fn returns(worked: Worked<'_>, orders: &[(&str, &Job)], as_of: Date) -> Option<Section> {
    let mut all: Vec<(Date, String, String)> = Vec::new();
    for (id, job) in orders
        .iter()
        .filter(|(_, job)| job_state(job) != JobState::Dropped)
    {
        if let Some(day) = job.return_by.as_ref().and_then(date) {
            let from = job.from.as_deref().unwrap_or_default();
            all.push((day, (*id).to_owned(), from.to_owned()));
        }
    }
    for piece in &worked.present.pieces {
        let Some(bought) = piece.record.bought.as_ref() else {
            continue;
        };
        if let Some(day) = bought.return_by.as_ref().and_then(date) {
            let from = bought.from.as_deref().unwrap_or_default();
            all.push((day, piece.name(), from.to_owned()));
        }
    }
    all.retain(|(day, _, _)| *day >= as_of);
    all.sort();
    if all.is_empty() {
        return None;
    }
    let rows = all.into_iter().map(|(day, what, from)| {
        let left = match day == as_of {
            true => "today".to_owned(),
            false => how_long(as_of, day),
        };
        vec![
            day.to_string().into(),
            left.into(),
            what.into(),
            from.into(),
        ]
    });
    let heads = ["until", "left", "what", "to"];
    let table = Block::Table {
        heads: heads.map(str::to_owned).to_vec(),
        rows: rows.collect(),
        figures: vec![false; 4],
    };
    Some(section("What can still go back".to_owned(), vec![table]))
}

/// Whether an order costs more than what is written here comes to.
fn lacks_prices(job: &Job) -> bool {
    let lacks = |line: &Line| line.price.as_ref().and_then(money).is_none();
    job.price.is_none() && (job.lines.is_empty() || job.lines.iter().any(lacks))
}

/// What the open orders come to.
fn money_of(open: &[(&str, &Job)]) -> Option<Section> {
    if open.is_empty() {
        return None;
    }
    let all = sums(open.iter().flat_map(|(_, job)| job_sums(job)));
    let lacks = open.iter().filter(|(_, job)| lacks_prices(job));
    let lacks: Vec<&str> = lacks.map(|(id, _)| *id).collect();
    let all: Vec<String> = all.iter().map(shown).collect();
    let mut items: Vec<Item> = Vec::new();
    if !all.is_empty() {
        let about = if lacks.is_empty() {
            "together"
        } else {
            "together at least"
        };
        items.push(item(about, spoken(&all, "and")));
    }
    if !lacks.is_empty() {
        let says = format!("{} (not written, or private)", lacks.join(", "));
        items.push(item("not all prices are here", says));
    }
    Some(section(
        "What the open orders come to".to_owned(),
        vec![Block::Items(items)],
    ))
}

/// The columns for a spreadsheet.
const HEADS: [&str; 16] = [
    "order",
    "what for",
    "from",
    "state",
    "ordered",
    "promised",
    "overdue",
    "can go back until",
    "waits for it",
    "what",
    "count",
    "came",
    "to come",
    "arrived",
    "price each",
    "currency",
];

fn cells(worked: Worked<'_>, id: &str, job: &Job, as_of: Date) -> Vec<Vec<String>> {
    let day = |day: &Option<crate::model::common::Day>| {
        day.as_ref()
            .map_or_else(String::new, |day| day.as_str().to_owned())
    };
    let of_order = [
        id.to_owned(),
        job.does.clone().unwrap_or_default(),
        job.from.clone().unwrap_or_default(),
        job_state(job).word().to_owned(),
        day(&job.ordered),
        day(&job.promised),
        overdue(job, as_of).map_or_else(String::new, |day| how_long(day, as_of)),
        day(&job.return_by),
        waiting(worked, id, job).join("; "),
    ];
    let lines = job.lines.iter().map(|line| {
        let price = line.price.as_ref().and_then(money);
        let arrived = match line.arrived {
            Some(_) => &line.arrived,
            None => &job.arrived,
        };
        let mut cells = vec![what(worked, line)];
        cells.extend(Count::of(job, line).shown());
        cells.extend([
            day(arrived),
            price.as_ref().map_or_else(String::new, Money::amount),
            price.map_or_else(String::new, |price| price.currency),
        ]);
        cells
    });
    let mut lines: Vec<Vec<String>> = lines.collect();
    if lines.is_empty() {
        lines.push(vec![String::new(); HEADS.len() - of_order.len()]);
    }
    let whole = lines
        .into_iter()
        .map(|line| of_order.iter().cloned().chain(line).collect());
    whole.collect()
}
