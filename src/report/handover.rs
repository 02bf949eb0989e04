//! The first page for somebody who is handed the folder: what state the car is in, what to
//! do, what not to touch.
//!
//! It is made of the records that are handed over, so nothing private can stand on it. What
//! the records do not say is said to be unwritten and never guessed: whoever reads this stands
//! at the car with a spanner.

use std::collections::BTreeMap;

use super::list::job_state;
use super::page::{Block, Item, Page, Section};
use crate::model::assembly::{Holds, StepsDone, TemporaryKind, Tightening};
use crate::model::build::ToolState;
use crate::model::common::{CheckResult, Critical, Day, Filling, FittedAs, Stage};
use crate::model::job::{Job, JobKind, JobState};
use crate::near::spoken;
use crate::present::joints::{Hole, Joint};
use crate::present::{Present, Worked, is_away};

/// What the page is for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct For {
    /// What this handover is called: `2026-03-01-1`.
    pub name: String,
    /// Whom it is for, by role; none where it is nobody in particular.
    pub to: Option<String>,
    /// What was left out, in words, a line each.
    pub left_out: Vec<String>,
}

/// How many things of a sort stand on the page; the rest is counted.
const MOST: usize = 6;

/// What is said before all else. The signal words are those of ANSI Z535.6 (from memory).
const CAUTIONS: [&str; 3] = [
    "WARNING: brakes, steering, fuel, lifting, electrics and airbags can kill. The maker's \
     manual for these parts comes first, then local rules and licensed people, then this page.",
    "WARNING: what is not said to be tight for good is loose. Nothing here says that the car \
     may be driven, rolled, lifted, fuelled, started or connected to a battery.",
    "CAUTION: this page tells what is written down. Look at the car before you rely on it.",
];

/// The first page.
#[must_use]
pub fn page(worked: Worked<'_>, purpose: &For) -> Page {
    let build = &worked.folder.model.build;
    let car = build.car.as_ref().map(|car| {
        let year = car.year.map(|year| year.to_string());
        let words = [car.maker.clone(), car.model.clone(), year];
        words.into_iter().flatten().collect::<Vec<_>>().join(" ")
    });
    let to = purpose.to.as_deref();
    let mut about = vec![match to {
        Some(to) => format!("Handover {} for {to}.", purpose.name),
        None => format!("Handover {}.", purpose.name),
    }];
    about.extend(
        car.filter(|car| !car.is_empty())
            .map(|car| format!("The car: {car}.")),
    );
    let mut lead = vec![about.join(" ")];
    lead.extend(CAUTIONS.map(str::to_owned));
    let mut sections = vec![
        section("What state the car is in", state(worked)),
        section("What people's safety hangs on", vec![critical(worked)]),
        section("Joints that are not tight for good", loose(worked.present)),
        section("What to do", to_do(worked, to)),
        section("What not to touch", leave_alone(worked)),
        section("What is not here", away(worked)),
    ];
    if !purpose.left_out.is_empty() {
        let lines = purpose.left_out.iter();
        let lines = lines.map(|line| item(line, String::new())).collect();
        // All of it: no record tells of what is not there.
        sections.push(section(
            "What was left out of this folder",
            vec![Block::Items(lines)],
        ));
    }
    sections.push(section(
        "How it comes back",
        vec![Block::Text(
            "Fill in jobs.csv, or write into the records themselves, and hand back the file or \
             the whole folder. What you leave blank changes nothing."
                .to_owned(),
        )],
    ));
    Page {
        title: format!("Read this first: {}", build.name),
        lead,
        sections,
    }
}

fn section(head: &str, blocks: Vec<Block>) -> Section {
    Section {
        head: head.to_owned(),
        blocks,
    }
}

fn item(about: &str, says: String) -> Item {
    Item {
        about: about.to_owned(),
        says,
        under: Vec::new(),
    }
}

/// As many as there is room for, and how many more there are.
fn shown(mut items: Vec<Item>, most: usize, what: &str) -> Vec<Block> {
    let more = items.len().saturating_sub(most);
    items.truncate(most);
    let mut blocks = vec![Block::Items(items)];
    if more > 0 {
        blocks.push(Block::Text(format!(
            "And {more} more {what}; the records tell of them."
        )));
    }
    blocks
}

/// As many words as there is room for.
fn some(words: &[String], most: usize) -> String {
    let more = words.len().saturating_sub(most);
    let mut words: Vec<String> = words.iter().take(most).cloned().collect();
    if more > 0 {
        words.push(format!("{more} more"));
    }
    spoken(&words, "and")
}

fn many(count: usize, one: &str, several: &str) -> String {
    match count {
        1 => format!("1 {one}"),
        count => format!("{count} {several}"),
    }
}

fn since(day: Option<&Day>) -> String {
    day.map_or_else(String::new, |day| format!(" since {}", day.as_str()))
}

/// What state the car is in, one thing after the other.
fn state(worked: Worked<'_>) -> Vec<Block> {
    let Worked { folder, present } = worked;
    let mut items = vec![
        item("battery", battery(worked)),
        item("how it stands", stands(present)),
    ];
    items.extend(fluids(present));
    let mounted = present.assemblies.iter().filter_map(|assembly| {
        let standing = assembly.record.mounted.iter().rev();
        let standing = standing.filter(|event| event.until.is_none());
        let last = standing.clone().next()?;
        let how = match last.as_ {
            Some(FittedAs::Final) => "for good",
            _ => "for mock-up only",
        };
        Some(format!(
            "{} {how}{}",
            assembly.id,
            since(last.when.as_ref())
        ))
    });
    let mounted: Vec<String> = mounted.collect();
    items.push(item(
        "in the car",
        match mounted.is_empty() {
            true => "nothing is written of an assembly that is in it".to_owned(),
            false => some(&mounted, MOST),
        },
    ));
    let mock_up = present
        .stays
        .iter()
        .filter(|stay| stay.stage == Stage::MockUp);
    let mock_up: Vec<String> = mock_up
        .map(|stay| present.place(stay).name.clone())
        .collect();
    if !mock_up.is_empty() {
        let many = many(mock_up.len(), "place", "places");
        items.push(item(
            "on for mock-up only",
            format!("{many}: {}", some(&mock_up, 4)),
        ));
    }
    items.extend(open_places(present));
    let blanks = present.assemblies.iter().flat_map(|assembly| {
        let blanks = assembly.record.blanks.iter();
        let still = blanks.filter(|blank| blank.taken_out.is_none());
        still.map(move |blank| format!("{} at {} ({})", blank.what, blank.where_, assembly.id))
    });
    let blanks: Vec<String> = blanks.collect();
    items.push(item(
        "rags, plugs and caps still in",
        match blanks.is_empty() {
            true => "nothing is written of any; look into every opening".to_owned(),
            false => some(&blanks, MOST),
        },
    ));
    let spoilt = present.assemblies.iter().flat_map(|assembly| {
        let joints = assembly.record.joints.iter();
        joints.flat_map(move |(joint, record)| {
            record.holes.iter().filter_map(move |(hole, record)| {
                let holds = record.holds.filter(|holds| *holds != Holds::Nothing)?;
                let name = format!("{}/{}/{}", assembly.id, joint.as_str(), hole.as_str());
                Some(format!("{name} ({})", holds.word()))
            })
        })
    });
    let spoilt: Vec<String> = spoilt.collect();
    if !spoilt.is_empty() {
        items.push(item("holes that hold something else", some(&spoilt, MOST)));
    }
    if !folder.is_readable() {
        items.push(item(
            "NOTICE",
            "some records can't be read, and are not told of here".to_owned(),
        ));
    }
    vec![Block::Items(items)]
}

fn battery(worked: Worked<'_>) -> String {
    let jobs = worked.folder.model.job.iter();
    let mut jobs = jobs.filter(|(_, job)| job.data.kind == Some(JobKind::PowerUp));
    let Some((id, job)) = jobs.next() else {
        return "nothing is written of when it is connected: look, and take it off".to_owned();
    };
    match (job_state(&job.data), &job.data.done) {
        (JobState::Done, Some(day)) => format!(
            "has been on since {} ({id}); whether it is on today is not written",
            day.as_str()
        ),
        (JobState::Done, None) => {
            format!("has been on ({id}); whether it is on today is not written")
        }
        _ => format!("off as far as is written, and not to be connected: {id} is not done"),
    }
}

/// What is written of stands and blocks.
fn stands(present: &Present<'_>) -> String {
    let props = temporary(present, |kind| kind == Some(TemporaryKind::Prop));
    match props.is_empty() {
        true => "nothing is written of stands, blocks or a lift: look before you loosen \
                 anything or get under it"
            .to_owned(),
        false => some(&props, MOST),
    }
}

/// What is on only for now, of some sorts.
fn temporary(present: &Present<'_>, wanted: fn(Option<TemporaryKind>) -> bool) -> Vec<String> {
    let all = present.assemblies.iter().flat_map(|assembly| {
        let all = assembly.record.temporary.iter();
        let still = all.filter(|one| one.taken_out.is_none() && wanted(one.what));
        still.map(move |one| {
            let what = one.what.map_or("something", TemporaryKind::word);
            let place = one.where_.as_deref().unwrap_or(assembly.id);
            format!("{what} {place} ({})", assembly.id)
        })
    });
    all.collect()
}

/// What is filled, drained, not bled; and that nothing is written of the rest.
fn fluids(present: &Present<'_>) -> Vec<Item> {
    let of_assemblies = present.assemblies.iter().flat_map(|assembly| {
        assembly
            .record
            .fills
            .iter()
            .map(|fill| (assembly.id.to_owned(), fill))
    });
    let of_pieces = present
        .pieces
        .iter()
        .flat_map(|piece| piece.record.fills.iter().map(|fill| (piece.name(), fill)));
    // Only the last word on a fluid counts, wherever it is in.
    let mut last: BTreeMap<(String, &str), &Filling> = BTreeMap::new();
    for (place, fill) in of_assemblies.chain(of_pieces) {
        let what = fill.what.as_ref().map_or("a fluid", |what| what.as_str());
        last.insert((place, what), fill);
    }
    let mut missing = Vec::new();
    let mut inside = Vec::new();
    for ((place, what), fill) in last {
        if let Some(until) = &fill.until {
            missing.push(format!("{place}: no {what}, drained on {}", until.as_str()));
        } else if fill.when.is_none() && fill.filled.is_none() {
            missing.push(format!("{place}: no {what} yet"));
        } else {
            let much = fill.filled.as_ref().map_or("", |filled| filled.as_str());
            let bled = match fill.bled {
                Some(true) => ", bled",
                Some(false) => ", NOT bled",
                None => ", nothing is written of bleeding",
            };
            let day = since(fill.when.as_ref());
            let much = if much.is_empty() {
                String::new()
            } else {
                format!("{much} of ")
            };
            inside.push(format!("{place}: {much}{what}{day}{bled}"));
        }
    }
    let mut items = Vec::new();
    if !missing.is_empty() {
        items.push(item("not filled", some(&missing, MOST)));
    }
    if !inside.is_empty() {
        items.push(item("filled", some(&inside, MOST)));
    }
    items.push(item(
        "oil, coolant, brake fluid, fuel",
        match items.is_empty() {
            true => "nothing is written of any: take it that none is in and nothing is bled, and \
                 that the tank may hold fuel"
                .to_owned(),
            false => "of what does not stand above nothing is written: take it that it is not in, \
                  and that the tank may hold fuel"
                .to_owned(),
        },
    ));
    items
}

fn open_places(present: &Present<'_>) -> Option<Item> {
    let mut open: BTreeMap<&str, usize> = BTreeMap::new();
    for place in &present.places {
        let on = place.stays.iter().any(|stay| present.stays[*stay].is_on());
        if !on && place.record.optional != Some(true) {
            *open
                .entry(present.assemblies[place.assembly].id)
                .or_default() += 1;
        }
    }
    let sum: usize = open.values().sum();
    let open = open.iter().map(|(id, count)| format!("{id} {count}"));
    let open: Vec<String> = open.collect();
    (sum > 0).then(|| {
        let many = many(sum, "place is", "places are");
        item("open", format!("{many} empty: {}", some(&open, 10)))
    })
}

/// The tightening that a hole's state comes from.
fn tightening<'a>(joint: &Joint<'a>, hole: &Hole<'_>) -> Option<&'a Tightening> {
    let mut holes = joint.record.holes.iter();
    let (_, record) = holes.find(|(name, _)| name.as_str() == hole.name)?;
    record.done.iter().rev().find(|one| one.until.is_none())
}

/// Whether only some of the steps were done.
fn half(joint: &Joint<'_>, hole: &Hole<'_>) -> Option<(u32, usize)> {
    let all = joint.record.steps.len();
    match tightening(joint, hole)?.steps.as_ref()? {
        StepsDone::Count(done) if (*done as usize) < all => Some((*done, all)),
        _ => None,
    }
}

/// Whether a hole is tight for good, to the last step.
pub(super) fn is_good(joint: &Joint<'_>, hole: &Hole<'_>) -> bool {
    hole.tight == Some(FittedAs::Final) && half(joint, hole).is_none()
}

fn is_checked(joint: &Joint<'_>, hole: &Hole<'_>) -> bool {
    tightening(joint, hole).is_some_and(|one| {
        let last = one.last_look().and_then(|look| look.found);
        let bad = last == Some(CheckResult::Bad);
        (one.checked_by.is_some() || !one.checked.is_empty()) && !bad
    })
}

/// The holes that people's safety hangs on: how many there are, how many are tight for good,
/// how many somebody has looked at a second time.
fn critical(worked: Worked<'_>) -> Block {
    const ALL: [Critical; 6] = [
        Critical::Brakes,
        Critical::Steering,
        Critical::Suspension,
        Critical::Restraints,
        Critical::Driveline,
        Critical::Fuel,
    ];
    let joints = &worked.present.joints;
    let mut items = Vec::new();
    let mut unwritten = Vec::new();
    for what in ALL {
        let mine = joints.iter();
        let mine = mine.filter(|joint| worked.present.hangs_on(joint) == Some(what));
        let holes: Vec<(&Joint<'_>, &Hole<'_>)> = mine
            .flat_map(|joint| joint.holes.iter().map(move |hole| (joint, hole)))
            .collect();
        if holes.is_empty() {
            unwritten.push(what.word());
            continue;
        }
        let good = holes.iter().filter(|(joint, hole)| is_good(joint, hole));
        let checked = good.clone().filter(|(joint, hole)| is_checked(joint, hole));
        let (all, good, checked) = (holes.len(), good.count(), checked.count());
        let so = match (all == good, good == checked) {
            (true, true) => "",
            (true, false) => "; wants a second check",
            (false, _) => "; not finished, do not rely on it",
        };
        let holes = many(all, "hole", "holes");
        let says = format!("of {holes} {good} tight for good, {checked} of them checked twice{so}");
        items.push(item(what.word(), says));
    }
    if !unwritten.is_empty() {
        let all = spoken(&unwritten, "and");
        items.push(item(&all, "no joint of these is written".to_owned()));
    }
    Block::Items(items)
}

/// Joints that are not tight for good: what people's safety hangs on first, then those that
/// look tight and are not.
fn loose(present: &Present<'_>) -> Vec<Block> {
    let mut items = Vec::new();
    let mut untouched: BTreeMap<&str, usize> = BTreeMap::new();
    let mut all = 0;
    let joints = &present.joints;
    for joint in joints {
        all += joint.holes.len();
        let (mut mock_up, mut steps, mut off, mut never) = (0, Vec::new(), Vec::new(), 0);
        for hole in &joint.holes {
            match (hole.tight, &hole.loosened, half(joint, hole)) {
                (Some(_), _, Some((done, of))) => steps.push(format!("{done} of {of} steps")),
                (Some(FittedAs::Final), _, None) => {}
                (Some(FittedAs::MockUp), _, None) => mock_up += 1,
                (None, Some(loosened), _) => off.push(loosened.clone()),
                (None, None, _) => never += 1,
            }
        }
        let touched = mock_up + steps.len() + off.len();
        let hangs = present.hangs_on(joint);
        if touched == 0 {
            if never == 0 {
                continue;
            }
            let assembly = joint.name.split('/').next().unwrap_or_default();
            *untouched.entry(assembly).or_default() += never;
            continue;
        }
        let mut says = Vec::new();
        if mock_up > 0 {
            says.push(format!("{mock_up} tightened for mock-up only"));
        }
        if let Some(first) = steps.first() {
            says.push(format!("{} half tightened ({first})", steps.len()));
        }
        if let Some(first) = off.first() {
            let when = first.when;
            says.push(format!(
                "{} loose again: {} on {when}",
                off.len(),
                first.what
            ));
        }
        if never > 0 {
            says.push(format!("{never} never tightened"));
        }
        let of = many(joint.holes.len(), "hole", "holes");
        let says = format!("of {of} {}", says.join(", "));
        items.push(match hangs {
            Some(hangs) => (
                false,
                item(&joint.name, format!("critical ({}): {says}", hangs.word())),
            ),
            None => (true, item(&joint.name, says)),
        });
    }
    if all == 0 {
        return vec![Block::Text(
            "No joint is written down: take every one for loose.".to_owned(),
        )];
    }
    items.sort_by_key(|(rank, _)| *rank);
    let items: Vec<Item> = items.into_iter().map(|(_, item)| item).collect();
    let mut blocks = match items.is_empty() {
        true => Vec::new(),
        false => shown(items, MOST + 2, "joints like these"),
    };
    let sum: usize = untouched.values().sum();
    if sum > 0 {
        let by = untouched.iter().map(|(id, count)| format!("{id} {count}"));
        let by: Vec<String> = by.collect();
        let holes = many(sum, "hole has", "holes have");
        blocks.push(Block::Text(format!(
            "Besides, {holes} never been tightened as far as is written: {}.",
            some(&by, 10)
        )));
    }
    if blocks.is_empty() {
        blocks.push(Block::Text(
            "Every hole that is written down is tight for good.".to_owned(),
        ));
    }
    blocks
}

/// What a job still waits for, in words.
#[must_use]
pub fn waits_for(worked: Worked<'_>, job: &Job) -> Vec<String> {
    let model = &worked.folder.model;
    let needs = job.needs.iter().filter_map(|need| {
        let need = need.as_str();
        let (kind, rest) = need.split_once('/')?;
        match kind {
            "jobs" => {
                let job = model.job.get(rest)?;
                let over = matches!(job_state(&job.data), JobState::Done | JobState::Dropped);
                (!over).then(|| rest.to_owned())
            }
            "decisions" => {
                let decision = model.decision.get(rest)?;
                (!decision.data.is_made()).then(|| format!("the decision {rest}"))
            }
            "tools" => {
                let mut tools = model.build.tools.iter();
                let (_, tool) = tools.find(|(name, _)| name.as_str() == rest)?;
                let state = tool.state.filter(|state| *state != ToolState::ToHand)?;
                Some(format!("{rest} ({})", state.word()))
            }
            "parts" => {
                let piece = worked.present.piece_named(rest)?;
                let away = worked.present.pieces[piece].away?;
                Some(format!("{rest} (away with {})", away.job))
            }
            _ => None,
        }
    });
    needs.collect()
}

fn to_do(worked: Worked<'_>, to: Option<&str>) -> Vec<Block> {
    let mut jobs = Vec::new();
    for (id, record) in &worked.folder.model.job {
        let job = &record.data;
        let state = job_state(job);
        if !matches!(state, JobState::Open | JobState::HalfDone) {
            continue;
        }
        let waits = waits_for(worked, job);
        let mut says: Vec<String> = job.does.iter().cloned().collect();
        if state == JobState::HalfDone {
            says.push(match &job.left_as {
                Some(left) => format!("HALF DONE, left as: {left}"),
                None => "HALF DONE; nothing is written of how it was left".to_owned(),
            });
        }
        if !waits.is_empty() {
            says.push(format!("waits for {}", some(&waits, 4)));
        }
        if let Some(takes) = &job.takes {
            says.push(format!("takes {}", takes.as_str()));
        }
        if let Some(hands) = job.hands.filter(|hands| *hands > 1) {
            says.push(format!("{hands} people"));
        }
        let mine = to.is_some() && job.for_.as_ref().map(|one| one.as_str()) == to;
        let rank = (!mine, state != JobState::HalfDone, !waits.is_empty());
        jobs.push((rank, item(id, says.join("; "))));
    }
    if jobs.is_empty() {
        return vec![Block::Text("No job is open.".to_owned())];
    }
    jobs.sort_by_key(|(rank, _)| *rank);
    let items = jobs.into_iter().map(|(_, item)| item).collect();
    shown(items, 10, "jobs")
}

fn leave_alone(worked: Worked<'_>) -> Vec<Block> {
    let Worked { folder, present } = worked;
    let model = &folder.model;
    let mut items = Vec::new();
    let closed = present.assemblies.iter();
    let closed = closed.filter(|one| {
        one.record
            .closed
            .iter()
            .any(|closing| closing.until.is_none())
    });
    let closed: Vec<String> = closed.map(|one| one.id.to_owned()).collect();
    if !closed.is_empty() {
        items.push(item("closed, not to be opened", some(&closed, MOST)));
    }
    let on_for_now = temporary(present, |kind| kind != Some(TemporaryKind::Prop));
    if !on_for_now.is_empty() {
        items.push(item(
            "on for now, to stay until somebody says",
            some(&on_for_now, MOST),
        ));
    }
    let trials = model.job.iter().filter(|(_, job)| {
        let over = matches!(job_state(&job.data), JobState::Done | JobState::Dropped);
        job.data.kind == Some(JobKind::Trial) && !over
    });
    let trials: Vec<String> = trials.map(|(id, _)| id.clone()).collect();
    if !trials.is_empty() {
        items.push(item("trials that are not over", some(&trials, MOST)));
    }
    let kept = present.pieces.iter().filter_map(|piece| {
        let keep = piece.record.keep?;
        Some(format!("{} ({})", piece.name(), keep.word()))
    });
    let kept: Vec<String> = kept.collect();
    if !kept.is_empty() {
        items.push(item(
            "kept, not to be used or thrown away",
            some(&kept, MOST),
        ));
    }
    let overturned: Vec<&str> = model
        .decision
        .values()
        .filter_map(|one| one.data.instead_of.as_ref().map(|one| one.as_str()))
        .collect();
    let decided = model.decision.iter();
    let decided =
        decided.filter(|(id, one)| one.data.is_made() && !overturned.contains(&id.as_str()));
    let mut decided: Vec<_> = decided.collect();
    // The newest first: they are the likeliest not to be known yet.
    decided.sort_by_key(|(_, one)| std::cmp::Reverse(one.data.when.clone()));
    let decided = decided.into_iter().map(|(_, one)| {
        let one = &one.data;
        let against = one.options.iter().filter(|(name, _)| {
            one.chosen.as_ref().map(|chosen| chosen.as_str()) != Some(name.as_str())
        });
        let against: Vec<String> = against.map(|(name, _)| name.as_str().to_owned()).collect();
        let chosen = one.chosen.as_ref().map_or("", |chosen| chosen.as_str());
        let not = match against.is_empty() {
            true => String::new(),
            false => format!(", not {}", spoken(&against, "or")),
        };
        item(&one.asks, format!("{chosen}{not}"))
    });
    let decided: Vec<Item> = decided.collect();
    let mut blocks = match items.is_empty() {
        true => Vec::new(),
        false => vec![Block::Items(items)],
    };
    if !decided.is_empty() {
        blocks.push(Block::Text(
            "Decided, and not to be decided again:".to_owned(),
        ));
        blocks.extend(shown(decided, MOST - 1, "decisions"));
    }
    if blocks.is_empty() {
        blocks.push(Block::Text("Nothing is written that says so.".to_owned()));
    }
    blocks
}

/// What is out with somebody, or ordered and not there.
fn away(worked: Worked<'_>) -> Vec<Block> {
    let items = worked.folder.model.job.iter().filter_map(|(id, record)| {
        let job = &record.data;
        let over = matches!(job_state(job), JobState::Done | JobState::Dropped);
        let (whom, due) = if is_away(job) {
            (job.to.as_ref(), job.due.as_ref())
        } else if job.kind == Some(JobKind::Order) && job.ordered.is_some() && !over {
            (job.from.as_ref(), job.promised.as_ref())
        } else {
            return None;
        };
        let lines = job.lines.iter().filter_map(|line| line.what.as_ref());
        let lines: Vec<String> = lines.map(|what| what.as_str().to_owned()).collect();
        let mut says = vec![match lines.is_empty() {
            true => job.does.clone().unwrap_or_default(),
            false => some(&lines, 4),
        }];
        says.extend(whom.map(|whom| format!("with {whom}")));
        says.extend(due.map(|due| format!("due {}", due.as_str())));
        says.retain(|word| !word.is_empty());
        Some(item(id, says.join(", ")))
    });
    let items: Vec<Item> = items.collect();
    match items.is_empty() {
        true => vec![Block::Text(
            "Nothing is written of parts that are out.".to_owned(),
        )],
        false => shown(items, MOST, "send-outs and orders"),
    }
}
