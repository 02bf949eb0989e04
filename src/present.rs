//! The present state of a build, worked out from its records: which places there are,
//! which pieces, what is planned where and what is on.
//!
//! `goes` is a plan, `fitted` a list of events; an event without `until` still stands.
//! The record's last word is the present: a day only orders things. Nothing here judges,
//! and nothing fails: what leads to nothing is left out, because it is told as an unknown
//! reference.

pub mod age;
pub mod clean;
pub mod hardware;
mod interchange;
pub mod joints;
mod mates;
pub mod measure;
pub mod proof;
pub mod sent;
mod traits;
pub mod uses;

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::folder::Folder;
use crate::model::assembly::{self, Each};
use crate::model::common::{Day, FittedAs, Fitting, Hand, Stage};
use crate::model::fastener::Fastener;
use crate::model::job::{Job, JobKind};
use crate::model::{build, part};
use crate::yaml::Step as Way;

use joints::Joint;
use sent::{SendOut, Thing};

pub use interchange::{Interchanges, Stand, Step};
pub use mates::Mates;
pub use traits::{Flow, Given, Giver, Suit};

/// Most cylinders and banks that a place is spelt out for; the schemas say the same.
const CYLINDERS: u32 = 16;
const BANKS: u32 = 4;

/// An assembly as it stands in the car.
#[derive(Debug, Clone)]
pub struct Assembly<'a> {
    /// Its id.
    pub id: &'a str,
    /// Its record.
    pub record: &'a assembly::Assembly,
    /// The number of its file.
    pub file: usize,
    /// The assembly that it goes into; none if that is the car.
    pub outer: Option<usize>,
    /// The assembly that is closed over what is in this one: itself or one around it.
    pub closed_by: Option<usize>,
    /// Its places.
    pub places: Vec<usize>,
    /// The assemblies that go into it.
    pub inner: Vec<usize>,
}

/// A place; one for each cylinder, bank or hand is spelt out.
#[derive(Debug, Clone)]
pub struct Place<'a> {
    /// The number of its assembly.
    pub assembly: usize,
    /// What it is called from outside: `fuel/injector-1`.
    pub name: String,
    /// What its record is called in the assembly: `injector`.
    pub key: &'a str,
    /// Its record.
    pub record: &'a assembly::Place,
    /// Which hand it is.
    pub hand: Option<Hand>,
    /// The bank it is on.
    pub bank: Option<u32>,
    /// The cylinder it is on.
    pub cylinder: Option<u32>,
    /// What is planned for it or on in it.
    pub stays: Vec<usize>,
}

impl Place<'_> {
    /// How many pieces it takes.
    #[must_use]
    pub fn room(&self) -> u32 {
        self.record.count.unwrap_or(1)
    }
}

/// A piece, or a lot of alike ones.
#[derive(Debug, Clone)]
pub struct Piece<'a> {
    /// The id of its part.
    pub part: &'a str,
    /// Its part's record.
    pub of: &'a part::Part,
    /// Its mark.
    pub mark: &'a str,
    /// Its record.
    pub record: &'a part::Piece,
    /// The number of its file.
    pub file: usize,
    /// Where it is planned or on.
    pub stays: Vec<usize>,
    /// All that happened to it, also what is over.
    pub events: Vec<usize>,
    /// The send-out that it is away with.
    pub away: Option<Away<'a>>,
}

impl Piece<'_> {
    /// What it is called from a job or a decision without its kind: `injector/P1`.
    #[must_use]
    pub fn name(&self) -> String {
        format!("{}/{}", self.part, self.mark)
    }

    /// How many it is; 1 unless it is a lot.
    #[must_use]
    pub fn count(&self) -> u32 {
        self.record.count.unwrap_or(1)
    }

    /// Where it was made or machined: what it was machined with, or else its donor.
    #[must_use]
    pub fn origin(&self) -> Option<&str> {
        let record = self.record;
        let donor = record.donor.as_ref().map(|donor| donor.as_str());
        record.machined_with.as_deref().or(donor)
    }
}

/// A piece that is away.
#[derive(Debug, Clone, Copy)]
pub struct Away<'a> {
    /// The job's id.
    pub job: &'a str,
    /// The line of the job that names it, if one does.
    pub line: Option<usize>,
    /// How many are away.
    pub count: u32,
}

/// A piece in a place: planned for it, on in it, or both.
#[derive(Debug, Clone)]
pub struct Stay {
    /// Its own number.
    pub number: usize,
    /// The piece.
    pub piece: usize,
    /// The place.
    pub place: usize,
    /// How many of a lot.
    pub count: u32,
    /// The number of the plan among what `goes` names.
    pub planned: Option<usize>,
    /// The number of the event among `fitted`, if it is on.
    pub event: Option<usize>,
    /// `bench` if it is only planned.
    pub stage: Stage,
    /// The stage that counts: on, and closed over, is as good as final.
    pub claim: Stage,
}

impl Stay {
    /// Whether it is on.
    #[must_use]
    pub fn is_on(&self) -> bool {
        self.event.is_some()
    }
}

/// A piece that was or is on in a place.
#[derive(Debug, Clone)]
pub struct Event {
    /// The piece.
    pub piece: usize,
    /// The number of the event among `fitted`.
    pub number: usize,
    /// The places; none where nothing says which.
    pub places: Vec<usize>,
    /// How many of a lot.
    pub count: u32,
    /// The day it went on.
    pub from: Option<Date>,
    /// The day it came off.
    pub until: Option<Date>,
    /// Whether it came off, whatever the day.
    pub over: bool,
}

impl Event {
    /// Whether two events were at one time. Two that touch on a day follow each other;
    /// of a day that is not known nothing is said.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        if !self.over && !other.over {
            return true;
        }
        let before = |a: &Self, b: &Self| match (a.until, b.from) {
            (Some(until), Some(from)) => !a.over || from >= until,
            _ => true,
        };
        let follows = |a: &Self, b: &Self| a.over && before(a, b);
        !(follows(self, other) || follows(other, self))
    }
}

/// Which of several answers to "what is in this place" is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum View {
    /// What is on; where nothing is, what is planned.
    Now,
    /// What is planned; where nothing is, what is on.
    Plan,
}

/// The stays made so far, by piece and place. Which places are taken is kept beside them:
/// asked of all stays for each piece, it is what a big folder would wait for.
#[derive(Default)]
struct Made {
    stays: BTreeMap<(usize, usize), Stay>,
    on: BTreeSet<usize>,
    planned: BTreeSet<usize>,
}

/// The present state of a build.
#[derive(Debug, Default)]
pub struct Present<'a> {
    /// The assemblies, by their ids.
    pub assemblies: Vec<Assembly<'a>>,
    /// The places, by assembly and as they are written.
    pub places: Vec<Place<'a>>,
    /// The pieces, by part and mark.
    pub pieces: Vec<Piece<'a>>,
    /// Where pieces are planned or on.
    pub stays: Vec<Stay>,
    /// All that happened to pieces.
    pub events: Vec<Event>,
    /// Which number may be used for which other.
    pub interchanges: Interchanges<'a>,
    /// Whether a piece goes, or is on, where there is no place.
    pub astray: bool,
    /// The joints, by assembly and name.
    pub joints: Vec<Joint<'a>>,
    /// The send-outs, by their ids.
    pub send_outs: Vec<SendOut<'a>>,
    assembly_of: BTreeMap<&'a str, usize>,
    place_of: BTreeMap<String, usize>,
    group_of: BTreeMap<String, Vec<usize>>,
    piece_of: BTreeMap<String, usize>,
    part_pieces: BTreeMap<&'a str, Vec<usize>>,
    build: Option<&'a build::Build>,
    donors: BTreeMap<&'a str, &'a crate::model::common::Traits>,
    fasteners: BTreeMap<&'a str, &'a Fastener>,
}

/// A folder, and what was worked out of it.
#[derive(Debug, Clone, Copy)]
pub struct Worked<'a> {
    /// The folder.
    pub folder: &'a Folder,
    /// Its present state.
    pub present: &'a Present<'a>,
}

impl<'a> Present<'a> {
    /// Works it out.
    #[must_use]
    pub fn of(folder: &'a Folder) -> Self {
        let model = &folder.model;
        let mut present = Self {
            build: Some(&model.build),
            interchanges: Interchanges::of(&model.part),
            ..Self::default()
        };
        for (id, donor) in &model.donor {
            present.donors.insert(id, &donor.data.variant);
        }
        for (id, fastener) in &model.fastener {
            present.fasteners.insert(id, &fastener.data);
        }
        present.add_assemblies(folder);
        present.add_pieces(folder);
        present.send_outs = sent::send_outs(&present, folder);
        present.send_away(folder);
        present.astray = present.pieces.iter().any(|piece| {
            let ats = piece
                .record
                .fitted
                .iter()
                .filter_map(|fitting| fitting.at.as_ref());
            let mut names = piece.record.goes.0.iter().chain(ats);
            names.any(|name| present.places_named(name.as_str()).is_empty())
        });
        for piece in 0..present.pieces.len() {
            present.add_events(folder, piece);
        }
        present.add_stays();
        present.joints = joints::joints(&present);
        present
    }

    fn add_assemblies(&mut self, folder: &'a Folder) {
        for (number, (id, record)) in folder.model.assembly.iter().enumerate() {
            self.assembly_of.insert(id, number);
            self.assemblies.push(Assembly {
                id,
                record: &record.data,
                file: record.file,
                outer: None,
                closed_by: None,
                places: Vec::new(),
                inner: Vec::new(),
            });
        }
        for number in 0..self.assemblies.len() {
            let outer = self.assemblies[number].record.in_.as_ref();
            let outer = outer.and_then(|outer| self.assembly_of.get(outer.as_str()).copied());
            self.assemblies[number].outer = outer;
        }
        self.cut_rings();
        for number in 0..self.assemblies.len() {
            if let Some(outer) = self.assemblies[number].outer {
                self.assemblies[outer].inner.push(number);
            }
            let is_closed = |one: &usize| {
                let closed = &self.assemblies[*one].record.closed;
                closed.iter().any(|closing| closing.until.is_none())
            };
            self.assemblies[number].closed_by = self.around(number).into_iter().find(is_closed);
            self.add_places(number, &folder.model.build);
        }
    }

    /// Assemblies in a ring are in no car: the last that leads back is cut off, so that
    /// every way outwards has an end.
    fn cut_rings(&mut self) {
        let mut walked_from: Vec<Option<usize>> = vec![None; self.assemblies.len()];
        for number in 0..self.assemblies.len() {
            let mut at = number;
            while walked_from[at].is_none() {
                walked_from[at] = Some(number);
                let Some(outer) = self.assemblies[at].outer else {
                    break;
                };
                if walked_from[outer] == Some(number) {
                    self.assemblies[at].outer = None;
                    break;
                }
                at = outer;
            }
        }
    }

    /// An assembly and those around it, from the inside out.
    #[must_use]
    pub fn around(&self, assembly: usize) -> Vec<usize> {
        let outwards = |at: &usize| self.assemblies[*at].outer;
        std::iter::successors(Some(assembly), outwards).collect()
    }

    fn add_places(&mut self, assembly: usize, build: &build::Build) {
        let record = self.assemblies[assembly].record;
        let id = self.assemblies[assembly].id;
        for (key, place) in &record.places {
            let key = key.as_str();
            let mut add = |name: String, hand, bank, cylinder| {
                let number = self.places.len();
                self.place_of.insert(name.clone(), number);
                self.assemblies[assembly].places.push(number);
                if place.each.is_some() {
                    let group = format!("{id}/{key}");
                    self.group_of.entry(group).or_default().push(number);
                }
                self.places.push(Place {
                    assembly,
                    name,
                    key,
                    record: place,
                    hand,
                    bank,
                    cylinder,
                    stays: Vec::new(),
                });
            };
            let (hand, bank, cylinder) = (place.hand, place.bank, place.cylinder);
            match place.each {
                None => add(format!("{id}/{key}"), hand, bank, cylinder),
                Some(Each::Hand) => {
                    for one in [Hand::Left, Hand::Right] {
                        let name = format!("{id}/{key}-{}", one.word());
                        add(name, Some(one), bank, cylinder);
                    }
                }
                Some(Each::Bank) => {
                    for one in 1..=build.banks.unwrap_or(0).min(BANKS) {
                        add(format!("{id}/{key}-{one}"), hand, Some(one), cylinder);
                    }
                }
                Some(Each::Cylinder) => {
                    for one in 1..=build.cylinders.unwrap_or(0).min(CYLINDERS) {
                        add(format!("{id}/{key}-{one}"), hand, bank, Some(one));
                    }
                }
            }
        }
    }

    fn add_pieces(&mut self, folder: &'a Folder) {
        for (part, record) in &folder.model.part {
            for (mark, piece) in &record.data.pieces {
                let number = self.pieces.len();
                self.piece_of
                    .insert(format!("{part}/{}", mark.as_str()), number);
                self.part_pieces.entry(part).or_default().push(number);
                self.pieces.push(Piece {
                    part,
                    of: &record.data,
                    mark: mark.as_str(),
                    record: piece,
                    file: record.file,
                    stays: Vec::new(),
                    events: Vec::new(),
                    away: None,
                });
            }
        }
    }

    /// What is away with a send-out, by the job's lines or by the piece's own word.
    fn send_away(&mut self, folder: &'a Folder) {
        let send_outs = std::mem::take(&mut self.send_outs);
        for SendOut { id, job, lines } in &send_outs {
            if !is_away(job) {
                continue;
            }
            for line in lines {
                let Some(Thing::Piece(piece)) = line.thing else {
                    continue;
                };
                let (number, counts) = (line.number, line.counts(self));
                let gone = counts.accounted().unwrap_or(0);
                let piece = &mut self.pieces[piece];
                let out = counts.out.unwrap_or(piece.count());
                if out > gone {
                    // Of a lot some may stand in one line and some in the next.
                    let before = piece.away.filter(|before| before.job == *id);
                    let before = before.map_or(0, |before| before.count);
                    let count = before.saturating_add(out - gone);
                    piece.away = Some(Away {
                        job: id,
                        line: Some(number),
                        count,
                    });
                }
            }
        }
        self.send_outs = send_outs;
        for piece in &mut self.pieces {
            let Some(job) = &piece.record.out_with else {
                continue;
            };
            let found = folder.model.job.get_key_value(job.as_str());
            if let Some((id, record)) = found
                && is_away(&record.data)
                && piece.away.is_none()
            {
                let count = piece.count();
                piece.away = Some(Away {
                    job: id,
                    line: None,
                    count,
                });
            }
        }
    }

    /// The places that a name leads to: one, or all for each cylinder, bank or hand.
    #[must_use]
    pub fn places_named(&self, name: &str) -> &[usize] {
        match self.place_of.get(name) {
            Some(place) => std::slice::from_ref(place),
            None => self.group_of.get(name).map_or(&[], Vec::as_slice),
        }
    }

    /// The places that are spelt out of one record: for each cylinder, bank or hand.
    pub fn groups(&self) -> impl Iterator<Item = (&str, &[usize])> {
        let groups = self.group_of.iter();
        groups.map(|(name, places)| (name.as_str(), places.as_slice()))
    }

    /// The place of a name.
    #[must_use]
    pub fn place_named(&self, name: &str) -> Option<usize> {
        self.place_of.get(name).copied()
    }

    /// The piece of a name (`injector/P1`).
    #[must_use]
    pub fn piece_named(&self, name: &str) -> Option<usize> {
        self.piece_of.get(name).copied()
    }

    /// The assembly of an id.
    #[must_use]
    pub fn assembly_named(&self, id: &str) -> Option<usize> {
        self.assembly_of.get(id).copied()
    }

    /// The pieces of a part.
    #[must_use]
    pub fn pieces_of(&self, part: &str) -> &[usize] {
        self.part_pieces.get(part).map_or(&[], Vec::as_slice)
    }

    fn add_events(&mut self, folder: &Folder, number: usize) {
        let piece = &self.pieces[number];
        let faults = &folder.files[piece.file].faults;
        // An event whose day is none may be over or not: nothing is concluded from it.
        let is_faulty = |event: usize| {
            let way = [
                Way::from(piece.part),
                "pieces".into(),
                piece.mark.into(),
                "fitted".into(),
                event.into(),
            ];
            faults.iter().any(|fault| fault.route.0.starts_with(&way))
        };
        let record = piece.record;
        let goes = record.goes.0.iter();
        let planned: BTreeSet<usize> = goes
            .flat_map(|place| self.places_named(place.as_str()))
            .copied()
            .collect();
        let planned: Vec<usize> = planned.into_iter().collect();
        let mut events = Vec::new();
        for (at, fitting) in record.fitted.iter().enumerate() {
            if is_faulty(at) {
                continue;
            }
            let places = match &fitting.at {
                Some(place) => self.places_named(place.as_str()).to_vec(),
                None => planned.clone(),
            };
            // What says no number is as many as find room, not the whole bag.
            let room = places.iter().map(|place| self.places[*place].room());
            let room = room.reduce(u32::saturating_add).unwrap_or(piece.count());
            let count = fitting.count.unwrap_or(piece.count().min(room));
            events.push(Event {
                piece: number,
                number: at,
                places,
                count,
                from: fitting.when.as_ref().and_then(date),
                until: fitting.until.as_ref().and_then(date),
                over: fitting.until.is_some(),
            });
        }
        for event in events {
            self.pieces[number].events.push(self.events.len());
            self.events.push(event);
        }
    }

    /// Spreads pieces and lots over the places that they are planned for and on in: what
    /// names one place goes there, what names many fills those that nothing else is for.
    fn add_stays(&mut self) {
        let mut made = Made::default();
        for broad in [false, true] {
            for number in 0..self.pieces.len() {
                self.add_on(number, broad, &mut made);
            }
            for number in 0..self.pieces.len() {
                self.add_planned(number, broad, &mut made);
            }
        }
        for (number, ((piece, place), stay)) in made.stays.into_iter().enumerate() {
            self.pieces[piece].stays.push(number);
            self.places[place].stays.push(number);
            self.stays.push(Stay { number, ..stay });
        }
    }

    fn add_on(&self, number: usize, broad: bool, made: &mut Made) {
        let piece = &self.pieces[number];
        for event in piece.events.iter().map(|event| &self.events[*event]) {
            if event.over || (event.places.len() > 1) != broad {
                continue;
            }
            let fitting = &piece.record.fitted[event.number];
            let stage = stage_of(fitting);
            // The whole of it again is where it was.
            let whole = event.count >= piece.count();
            let is_taken = |place: usize| {
                made.on.contains(&place) && !(whole && made.stays.contains_key(&(number, place)))
            };
            for (place, count) in self.spread(&event.places, event.count, is_taken) {
                let closed = self.assemblies[self.places[place].assembly].closed_by;
                let claim = if closed.is_some() {
                    Stage::Final
                } else {
                    stage
                };
                made.on.insert(place);
                let stay = made.stays.entry((number, place)).or_insert(Stay {
                    number: 0,
                    piece: number,
                    place,
                    count,
                    planned: None,
                    event: None,
                    stage,
                    claim,
                });
                stay.count = stay.count.max(count);
                if stay.event.is_none() || stage > stay.stage {
                    (stay.event, stay.stage, stay.claim) = (Some(event.number), stage, claim);
                }
            }
        }
    }

    fn add_planned(&self, number: usize, broad: bool, made: &mut Made) {
        let piece = &self.pieces[number];
        let goes = &piece.record.goes.0;
        let named: Vec<&[usize]> = goes
            .iter()
            .map(|place| self.places_named(place.as_str()))
            .collect();
        if (named.len() > 1 || named.iter().any(|places| places.len() > 1)) != broad {
            return;
        }
        let mut left = piece.count();
        for (plan, places) in named.into_iter().enumerate() {
            // Each place that is named by itself is a plan, whether the lot lasts or not:
            // that it does not is a conflict, and told. What is left over stays over.
            let count = match places {
                [place] => left.max(1).min(self.places[*place].room()),
                _ => left,
            };
            let is_planned = |place: &&usize| {
                let stay = made.stays.get(&(number, **place));
                stay.is_some_and(|stay| stay.planned.is_some())
            };
            // Where it is on already, there it goes.
            let (mut own, mut others): (Vec<usize>, Vec<usize>) = places
                .iter()
                .filter(|place| !is_planned(place))
                .partition(|place| made.stays.contains_key(&(number, **place)));
            own.append(&mut others);
            let is_taken = |place: usize| made.planned.contains(&place);
            for (place, count) in self.spread(&own, count, is_taken) {
                left = left.saturating_sub(count);
                made.planned.insert(place);
                let stay = made.stays.entry((number, place)).or_insert(Stay {
                    number: 0,
                    piece: number,
                    place,
                    count,
                    planned: Some(plan),
                    event: None,
                    stage: Stage::Bench,
                    claim: Stage::Bench,
                });
                stay.planned.get_or_insert(plan);
                stay.count = stay.count.max(count);
            }
        }
    }

    /// Spreads so many over places, each to its room; those that are taken come last.
    fn spread(
        &self,
        places: &[usize],
        mut count: u32,
        is_taken: impl Fn(usize) -> bool,
    ) -> Vec<(usize, u32)> {
        let mut found = Vec::new();
        let (free, full): (Vec<usize>, Vec<usize>) =
            places.iter().partition(|place| !is_taken(**place));
        let wanted = if places.len() > 1 {
            free
        } else {
            full.into_iter().chain(free).collect()
        };
        for place in wanted {
            if count == 0 {
                break;
            }
            let here = if places.len() == 1 {
                count
            } else {
                count.min(self.places[place].room())
            };
            count -= here;
            found.push((place, here));
        }
        found
    }

    /// What is in a place. Several only where several are on, or planned, at once.
    pub fn in_place(&self, place: usize, view: View) -> impl Iterator<Item = &Stay> {
        let stays = || {
            self.places[place]
                .stays
                .iter()
                .map(|stay| &self.stays[*stay])
        };
        let first = match view {
            View::Now => |stay: &Stay| stay.is_on(),
            View::Plan => |stay: &Stay| stay.planned.is_some(),
        };
        let any = stays().any(first);
        stays().filter(move |stay| !any || first(stay))
    }

    /// The views that differ: where all that is on is planned as well, one says it all.
    #[must_use]
    pub fn views(&self) -> &'static [View] {
        let differ = self.places.iter().any(|place| {
            let mut stays = place.stays.iter().map(|stay| &self.stays[*stay]);
            let on = stays.clone().any(Stay::is_on);
            let planned = stays.clone().any(|stay| stay.planned.is_some());
            on && planned && stays.any(|stay| !stay.is_on() || stay.planned.is_none())
        });
        if differ {
            &[View::Now, View::Plan]
        } else {
            &[View::Now]
        }
    }

    /// All stays of a view.
    pub fn stays_in(&self, view: View) -> impl Iterator<Item = &Stay> {
        (0..self.places.len()).flat_map(move |place| self.in_place(place, view))
    }

    /// Where a piece has come furthest, of all that it is planned for or on in.
    #[must_use]
    pub fn foremost(&self, piece: &Piece<'_>) -> Option<&Stay> {
        let stays = piece.stays.iter().map(|stay| &self.stays[*stay]);
        stays.rev().max_by_key(|stay| (stay.claim, stay.stage))
    }

    /// The piece of a stay.
    #[must_use]
    pub fn piece(&self, stay: &Stay) -> &Piece<'a> {
        &self.pieces[stay.piece]
    }

    /// The place of a stay.
    #[must_use]
    pub fn place(&self, stay: &Stay) -> &Place<'a> {
        &self.places[stay.place]
    }
}

/// What a stay is, in a message: `is meant for`, `is on in … for mock-up`, `is on in … for
/// good`. Where it counts as final because something is closed over it, that is said, or
/// nobody would see why mock-up is an error.
#[must_use]
pub fn how(present: &Present<'_>, stay: &Stay) -> String {
    let place = present.place(stay);
    let closed_by = present.assemblies[place.assembly].closed_by;
    let place = &place.name;
    match stay.stage {
        Stage::Bench => format!("is meant for {place}"),
        Stage::MockUp => match closed_by {
            Some(by) => {
                let by = present.assemblies[by].id;
                format!("is on in {place} for mock-up, with {by} closed over it")
            }
            None => format!("is on in {place} for mock-up"),
        },
        Stage::Final => format!("is on in {place} for good"),
    }
}

/// The stage of an event.
#[must_use]
pub fn stage_of(fitting: &Fitting) -> Stage {
    match fitting.as_ {
        Some(FittedAs::Final) => Stage::Final,
        Some(FittedAs::MockUp) | None => Stage::MockUp,
    }
}

/// Whether what a job sent out is still away.
pub(crate) fn is_away(job: &Job) -> bool {
    job.kind == Some(JobKind::SendOut) && job.sent.is_some() && !sent::is_back(job)
}

/// A day in the calendar.
#[must_use]
pub fn date(day: &Day) -> Option<Date> {
    day.as_str().parse().ok()
}
