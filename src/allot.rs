//! Which pieces go to which places.
//!
//! In this order: no conflict; sets alike and within their spread; proven pieces before
//! unproven ones; as little to buy as may be; as little change as may be to what is planned
//! and on; what is kept for something stays kept. The first two are never given up: where
//! nothing keeps them a place stays empty, and something must be bought. What is on for
//! good stays, and what is planned or on outside of what is asked for stays too.
//!
//! `pool` finds the seats, the pieces that may take them and why others may not; `solve`
//! finds the best, exactly.

mod pool;
pub mod solve;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::folder::Folder;
use crate::near;
use crate::present::{Present, Stay};
use crate::yaml::edit::Edit;
use pool::Pool;
use solve::{Allotment, Bond};

/// What was asked for that is not there.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}")]
pub struct NoSuch {
    /// What is wrong, in a sentence.
    pub what: String,
    /// What to do.
    pub remedy: String,
}

/// The places that a text asks for: an assembly with all that goes into it, a place, the
/// places for each cylinder, bank or hand by their common name, or one of these by its name
/// alone where only one assembly has it. Without a text all places.
///
/// # Errors
/// When there is no such thing, or several.
pub fn scope(present: &Present<'_>, asked: Option<&str>) -> Result<Vec<usize>, NoSuch> {
    let Some(asked) = asked else {
        return Ok((0..present.places.len()).collect());
    };
    if let Some(assembly) = present.assembly_named(asked) {
        let inside = |place: &usize| {
            let assembly_of = present.places[*place].assembly;
            present.around(assembly_of).contains(&assembly)
        };
        return Ok((0..present.places.len()).filter(inside).collect());
    }
    if !present.places_named(asked).is_empty() {
        return Ok(present.places_named(asked).to_vec());
    }
    let named: BTreeSet<String> = present
        .places
        .iter()
        .filter(|place| place.key == asked)
        .map(|place| format!("{}/{}", present.assemblies[place.assembly].id, place.key))
        .collect();
    let mut all = named.iter();
    match (all.next(), all.next()) {
        (Some(one), None) => Ok(present.places_named(one).to_vec()),
        (Some(one), Some(other)) => Err(NoSuch {
            what: format!("`{asked}` is in several assemblies"),
            remedy: format!("name one with its assembly, as in `{one}` or `{other}`"),
        }),
        _ => {
            let ids = present.assemblies.iter().map(|one| one.id.to_owned());
            let keys = present.places.iter().map(|place| place.key.to_owned());
            let names = present.places.iter().map(|place| place.name.clone());
            let known: BTreeSet<String> = ids.chain(keys).chain(names).collect();
            let known: Vec<&str> = known.iter().map(String::as_str).collect();
            Err(NoSuch {
                what: format!("there is no assembly and no place `{asked}`"),
                remedy: match near::slip_of(asked, &known) {
                    Some(near) => format!("write `{near}` if that was meant"),
                    None => "name an assembly, or a place as assembly/place".to_owned(),
                },
            })
        }
    }
}

/// What goes to a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The place.
    pub place: String,
    /// The piece; none where something must be bought, or the place may stay empty.
    pub piece: Option<String>,
    /// How many of it.
    pub count: u32,
    /// How that stands to what is planned and on.
    pub stands: Standing,
    /// What is known of it: its condition, its readings.
    pub known: Vec<String>,
    /// What must be done with it before it counts.
    pub first: Vec<String>,
    /// For a place that stays empty, the numbers that it takes.
    pub takes: Vec<String>,
}

/// How what goes to a place stands to what is planned and on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// It is on for good, and stays.
    ForGood,
    /// It is on for mock-up, and stays.
    On,
    /// It is planned so.
    Planned,
    /// It is new there; what was planned or on there before, and where it was meant to go.
    New {
        /// What was planned or on there.
        instead_of: Vec<String>,
        /// Where it was planned or on.
        from: Vec<String>,
    },
    /// Nothing goes there, and the place may stay empty.
    MayStayEmpty,
    /// Nothing goes there: something must be bought.
    ToBuy,
}

/// A piece that stays out, and why.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Out {
    /// The piece.
    pub piece: String,
    /// Why.
    pub why: String,
}

/// A set, or mates, with what was chosen for it out of several.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// What it is chosen for: the places' common name, or the parts that are mates.
    pub of: String,
    /// Number or origin.
    pub by: &'static str,
    /// What could be chosen, the chosen one first.
    pub options: Vec<ChoiceOption>,
    /// How far apart the pieces lie, in words, where that was measured.
    pub spread: Vec<String>,
}

/// What choosing one number or origin comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChoiceOption {
    /// The number or the origin.
    pub name: String,
    /// How many places it fills with proven pieces.
    pub proven: usize,
    /// How many with pieces that must first be proven.
    pub unproven: usize,
    /// How many stay empty.
    pub to_buy: usize,
}

/// Which pieces go to which places, and why.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Answer {
    /// What was chosen for sets and mates, where there was a choice.
    pub choices: Vec<Choice>,
    /// What goes where, in the order of the places.
    pub lines: Vec<Line>,
    /// What stays out, and why.
    pub out: Vec<Out>,
    /// What can't be mended by allotting, because it is settled elsewhere.
    pub beyond: Vec<String>,
    /// The changes to the records that write it down.
    pub edits: Vec<(usize, Edit)>,
}

/// Allots pieces to places.
#[must_use]
pub fn allot(folder: &Folder, present: &Present<'_>, places: &[usize], today: Date) -> Answer {
    let pool = Pool::of(folder, present, places, today);
    let sits = pool.problem.solve();
    Answer {
        choices: choices(&pool, &sits),
        lines: lines(&pool, &sits),
        out: out(&pool, &sits),
        beyond: pool.beyond.clone(),
        edits: edits(&pool, &sits),
    }
}

/// What goes where: what is on for good, then the seats.
fn lines(pool: &Pool<'_, '_>, sits: &Allotment) -> Vec<Line> {
    let present = pool.present;
    let mut lines = Vec::new();
    for place in &pool.places {
        for stay in pool.fixed_in(*place) {
            lines.push(Line {
                place: present.places[*place].name.clone(),
                piece: Some(present.piece(stay).name()),
                count: stay.count,
                stands: Standing::ForGood,
                known: pool.known_of(stay.piece),
                first: Vec::new(),
                takes: Vec::new(),
            });
        }
        let mut here: BTreeMap<Option<usize>, u32> = BTreeMap::new();
        for (seat, unit) in sits.iter().enumerate() {
            if pool.seats[seat] == *place {
                *here.entry(unit.map(|unit| pool.units[unit])).or_default() += 1;
            }
        }
        // What fills the place comes before what is missing.
        let empty = here.remove(&None);
        let pieces = here
            .into_iter()
            .filter_map(|(piece, count)| Some((piece?, count)));
        for (piece, count) in pieces {
            lines.push(Line {
                place: present.places[*place].name.clone(),
                piece: Some(present.pieces[piece].name()),
                count,
                stands: standing(pool, sits, *place, piece),
                known: pool.known_of(piece),
                first: pool.first_of(piece, *place),
                takes: Vec::new(),
            });
        }
        if let Some(count) = empty {
            let record = present.places[*place].record;
            let optional = record.optional == Some(true);
            lines.push(Line {
                place: present.places[*place].name.clone(),
                piece: None,
                count,
                stands: if optional {
                    Standing::MayStayEmpty
                } else {
                    Standing::ToBuy
                },
                known: Vec::new(),
                first: pool.unmarked_for(*place),
                takes: record
                    .takes
                    .iter()
                    .map(|one| one.as_str().to_owned())
                    .collect(),
            });
        }
    }
    lines
}

fn standing(pool: &Pool<'_, '_>, sits: &Allotment, place: usize, piece: usize) -> Standing {
    let present = pool.present;
    let here = present.places[place].stays.iter();
    let here: Vec<&Stay> = here.map(|stay| &present.stays[*stay]).collect();
    match here.iter().find(|stay| stay.piece == piece) {
        Some(stay) if stay.is_on() => return Standing::On,
        Some(_) => return Standing::Planned,
        None => {}
    }
    let stays_here = |one: usize| {
        let seats = sits
            .iter()
            .enumerate()
            .filter(|(seat, _)| pool.seats[*seat] == place);
        seats
            .filter_map(|(_, unit)| *unit)
            .any(|unit| pool.units[unit] == one)
    };
    let gone = here.iter().filter(|stay| !stays_here(stay.piece));
    let from = present.pieces[piece].stays.iter();
    Standing::New {
        instead_of: gone.map(|stay| present.piece(stay).name()).collect(),
        from: from
            .map(|stay| present.place(&present.stays[*stay]).name.clone())
            .collect(),
    }
}

fn out(pool: &Pool<'_, '_>, sits: &Allotment) -> Vec<Out> {
    let present = pool.present;
    let placed: BTreeSet<usize> = sits
        .iter()
        .flatten()
        .map(|unit| pool.units[*unit])
        .collect();
    let mut all: Vec<Out> = Vec::new();
    for (piece, why) in &pool.out {
        all.push(Out {
            piece: present.pieces[*piece].name(),
            why: why.clone(),
        });
    }
    let waiting: BTreeSet<usize> = pool.units.iter().copied().collect();
    for piece in waiting.difference(&placed) {
        all.push(Out {
            piece: present.pieces[*piece].name(),
            why: pool.why_not(*piece, sits),
        });
    }
    for out in &mut all {
        let piece = present.piece_named(&out.piece);
        let mut stays = piece
            .into_iter()
            .flat_map(|piece| &present.pieces[piece].stays);
        let on = stays.find(|stay| {
            let stay = &present.stays[**stay];
            stay.is_on() && pool.asks_for(stay.place)
        });
        if let Some(stay) = on {
            let place = &present.place(&present.stays[*stay]).name;
            out.why.push_str(&format!("; take it off {place}"));
        }
    }
    all.sort();
    all.dedup();
    all
}

fn choices(pool: &Pool<'_, '_>, sits: &Allotment) -> Vec<Choice> {
    let mut all = Vec::new();
    for (number, meaning) in pool.meanings.iter().enumerate() {
        let (Some(of), Bond::Alike { seats, class, .. }) =
            (&meaning.choice, &pool.problem.bonds[number])
        else {
            continue;
        };
        let offered: BTreeSet<u32> = pool
            .problem
            .offers
            .iter()
            .filter(|offer| seats.contains(&offer.seat))
            .filter_map(|offer| class[offer.unit])
            .collect();
        let chosen = seats.iter().filter_map(|seat| class[sits[*seat]?]).next();
        let spread = pool.spread_of(seats, sits);
        if offered.len() < 2 && spread.is_empty() {
            continue;
        }
        let mut options: Vec<(u32, ChoiceOption)> = offered
            .into_iter()
            .map(|one| {
                let sits = if Some(one) == chosen {
                    sits.clone()
                } else {
                    pool.with_class(number, one).solve()
                };
                (one, pool.counted(meaning, one, seats, class, &sits))
            })
            .collect();
        options.sort_by_key(|(one, _)| (Some(*one) != chosen, *one));
        all.push(Choice {
            of: of.clone(),
            by: meaning.by,
            options: options.into_iter().map(|(_, option)| option).collect(),
            spread,
        });
    }
    all
}

/// What must be written for the records to say so: `goes` of each piece that goes elsewhere
/// than it is planned. Where an event leans on the old `goes` for its place, the place is
/// written to the event, so that what happened stays what it was.
fn edits(pool: &Pool<'_, '_>, sits: &Allotment) -> Vec<(usize, Edit)> {
    let present = pool.present;
    let mut wanted: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (seat, unit) in sits.iter().enumerate() {
        if let Some(unit) = unit {
            let places = wanted.entry(pool.units[*unit]).or_default();
            if places.last() != Some(&pool.seats[seat]) {
                places.push(pool.seats[seat]);
            }
        }
    }
    let mut all = Vec::new();
    for (number, piece) in present.pieces.iter().enumerate() {
        let planned: Vec<&Stay> = piece
            .stays
            .iter()
            .map(|stay| &present.stays[*stay])
            .filter(|stay| stay.planned.is_some())
            .collect();
        let in_scope = |place: &usize| pool.asks_for(*place);
        let is_fixed = |stay: &&&Stay| !in_scope(&stay.place) || pool.is_fixed(stay);
        let kept: Vec<usize> = planned
            .iter()
            .filter(is_fixed)
            .map(|stay| stay.place)
            .collect();
        let before: BTreeSet<usize> = planned.iter().map(|stay| stay.place).collect();
        let new = wanted.get(&number).map_or(&[][..], Vec::as_slice);
        let after: BTreeSet<usize> = kept.iter().chain(new).copied().collect();
        // What is on, and stays, needs no plan.
        let on = piece.stays.iter().map(|stay| &present.stays[*stay]);
        let on: BTreeSet<usize> = on
            .filter(|stay| stay.is_on())
            .map(|stay| stay.place)
            .collect();
        if before == after || (before.is_empty() && after.is_subset(&on)) {
            continue;
        }
        let route = |steps: &[crate::yaml::Step]| {
            let mut way: Vec<crate::yaml::Step> =
                vec![piece.part.into(), "pieces".into(), piece.mark.into()];
            way.extend_from_slice(steps);
            crate::yaml::Route(way)
        };
        for event in piece.events.iter().map(|event| &present.events[*event]) {
            let fitting = &piece.record.fitted[event.number];
            if let (None, [place]) = (&fitting.at, event.places.as_slice()) {
                all.push((
                    piece.file,
                    Edit::Set {
                        way: route(&["fitted".into(), event.number.into(), "at".into()]),
                        value: present.places[*place].name.clone().into(),
                    },
                ));
            }
        }
        let way = route(&["goes".into()]);
        let edit = match pool.written(&after).as_slice() {
            [] => Edit::Remove { way },
            [one] => Edit::Set {
                way,
                value: one.clone().into(),
            },
            several => Edit::Set {
                way,
                value: several.to_vec().into(),
            },
        };
        all.push((piece.file, edit));
    }
    all
}
