//! The seats, the pieces that may take them, and why others may not.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use pathfinding::undirected::connected_components::components;

use super::ChoiceOption;
use super::solve::{Allotment, Bond, Offer, Price, Problem};
use crate::folder::Folder;
use crate::model::common::{Condition, Limit, Name, Stage};
use crate::model::part::Keep;
use crate::present::measure::{Stands, alike, apart, judge, last_readings};
use crate::present::{Flow, Mates, Piece, Present, Stand, Stay, View, age, clean, how, proof};
use crate::reckon::quantity::Quantity;
use crate::reckon::unit::{Amount, Dimension};

/// The most pieces in one place that are weighed against all others. No set is that big, and
/// what lies in a bag of so many is alike.
const ROOM: u32 = 200;

/// What a bond of the problem means, for people.
pub(super) struct Meaning {
    /// What is chosen by it, where that is worth saying.
    pub choice: Option<String>,
    /// Number, origin, or a trait's name.
    pub by: &'static str,
    /// What each class is called.
    names: Vec<String>,
    /// What a unit of another class is told.
    told: Told,
}

enum Told {
    Number,
    Origin,
    Trait(String),
    Spread(String),
    Clash,
}

/// Everything that an allotment is made of.
pub(super) struct Pool<'p, 'a> {
    pub present: &'p Present<'a>,
    folder: &'a Folder,
    today: Date,
    /// The places that are asked for, in their order.
    pub places: Vec<usize>,
    /// The place of each seat.
    pub seats: Vec<usize>,
    /// The piece of each unit.
    pub units: Vec<usize>,
    pub problem: Problem,
    /// What each bond means.
    pub meanings: Vec<Meaning>,
    /// Pieces that would fit by their number, and why they may not.
    pub out: Vec<(usize, String)>,
    /// What can't be mended by allotting.
    pub beyond: Vec<String>,
    flow: OnceCell<Flow<'a>>,
}

/// Whether a piece may go to a place.
enum May {
    /// It may; and whether it is proven.
    Go(bool),
    /// It may not, though its number or its plan speaks for it.
    Not(String),
    /// It has nothing to do with the place.
    Stranger,
}

impl<'p, 'a> Pool<'p, 'a> {
    pub(super) fn of(
        folder: &'a Folder,
        present: &'p Present<'a>,
        places: &[usize],
        today: Date,
    ) -> Self {
        let mut pool = Self {
            present,
            folder,
            today,
            places: places.to_vec(),
            seats: Vec::new(),
            units: Vec::new(),
            problem: Problem::default(),
            meanings: Vec::new(),
            out: Vec::new(),
            beyond: Vec::new(),
            flow: OnceCell::new(),
        };
        pool.leave_bags();
        pool.add_seats();
        pool.add_units();
        pool.bind_sets();
        pool.bind_mates();
        pool.bind_traits();
        pool.bind_clashes();
        pool
    }

    /// Whether a place is asked for.
    pub(super) fn asks_for(&self, place: usize) -> bool {
        self.places.binary_search(&place).is_ok()
    }

    /// Whether a stay is for good.
    pub(super) fn is_fixed(&self, stay: &Stay) -> bool {
        stay.claim == Stage::Final
    }

    /// What is on for good in a place.
    pub(super) fn fixed_in(&self, place: usize) -> impl Iterator<Item = &'p Stay> {
        let present = self.present;
        let stays = present.places[place].stays.iter();
        stays
            .map(|stay| &present.stays[*stay])
            .filter(|stay| stay.claim == Stage::Final)
    }

    /// All that stays where it is: for good, or outside of what is asked for.
    fn standing(&self) -> impl Iterator<Item = &'p Stay> {
        let present = self.present;
        present
            .stays
            .iter()
            .filter(|stay| stay.claim == Stage::Final || !self.asks_for(stay.place))
    }

    /// Leaves out places for more pieces than can be weighed; what is planned for them stays.
    fn leave_bags(&mut self) {
        let present = self.present;
        let is_bag = |place: &usize| present.places[*place].room() > ROOM;
        self.beyond
            .extend(self.places.iter().filter(|one| is_bag(one)).map(|place| {
                let place = &present.places[*place];
                let (name, room) = (&place.name, place.room());
                format!("{name} takes {room} pieces, too many to weigh: plan it by hand")
            }));
        self.places.retain(|place| !is_bag(place));
    }

    fn add_seats(&mut self) {
        for place in self.places.clone() {
            let taken: u32 = self.fixed_in(place).map(|stay| stay.count).sum();
            let record = self.present.places[place].record;
            let free = self.present.places[place].room().saturating_sub(taken);
            let optional = record.optional == Some(true);
            for number in 0..free {
                self.seats.push(place);
                self.problem.seats.push(Price {
                    unproven: u32::from(!optional),
                    empty: u32::from(!optional),
                    changes: self.change(place, None, number),
                    kept: 0,
                });
            }
        }
    }

    /// What it changes if this piece, or none, takes a seat: what is planned there and goes
    /// elsewhere counts once, what is on twice.
    fn change(&self, place: usize, piece: Option<usize>, seat: u32) -> u32 {
        let stays = self.present.places[place].stays.iter();
        let stays = stays.map(|stay| &self.present.stays[*stay]);
        let mut here: Vec<&Stay> = stays.filter(|stay| stay.claim != Stage::Final).collect();
        if here.iter().any(|stay| Some(stay.piece) == piece) {
            return 0;
        }
        here.sort_by_key(|stay| !stay.is_on());
        // Of a place for many only so many seats are taken as there are pieces for them.
        let mut before = 0;
        for stay in here {
            before += stay.count;
            if seat < before {
                return if stay.is_on() { 2 } else { 1 };
            }
        }
        0
    }

    fn add_units(&mut self) {
        for number in 0..self.present.pieces.len() {
            let piece = &self.present.pieces[number];
            let mut may = BTreeMap::new();
            let mut why = None;
            for place in &self.places {
                match self.may(number, *place) {
                    May::Go(proven) => {
                        may.insert(*place, proven);
                    }
                    May::Not(reason) => {
                        why.get_or_insert(reason);
                    }
                    May::Stranger => {}
                }
            }
            let stands = self.standing().filter(|stay| stay.piece == number);
            let taken: u32 = stays_once(stands);
            let left = piece.count().saturating_sub(taken);
            if left == 0 {
                let elsewhere = self.standing().find(|stay| stay.piece == number);
                let elsewhere = elsewhere.filter(|stay| !self.asks_for(stay.place));
                if let Some(stay) = elsewhere.filter(|_| !may.is_empty() || why.is_some()) {
                    self.out.push((number, how(self.present, stay)));
                }
                continue;
            }
            if may.is_empty() {
                self.out.extend(why.map(|why| (number, why)));
                continue;
            }
            let wanted = self.seats.iter().filter(|place| may.contains_key(place));
            let left = usize::try_from(left)
                .unwrap_or(usize::MAX)
                .min(wanted.count());
            for _ in 0..left {
                let unit = self.units.len();
                self.units.push(number);
                let mut in_place: BTreeMap<usize, u32> = BTreeMap::new();
                for (seat, place) in self.seats.iter().enumerate() {
                    let slot = in_place.entry(*place).or_default();
                    let Some(proven) = may.get(place) else {
                        continue;
                    };
                    let optional = self.present.places[*place].record.optional == Some(true);
                    self.problem.offers.push(Offer {
                        seat,
                        unit,
                        price: Price {
                            unproven: u32::from(!proven && !optional),
                            empty: 0,
                            changes: self.change(*place, Some(number), *slot),
                            kept: kept(piece.record.keep),
                        },
                    });
                    *slot += 1;
                }
            }
        }
        self.problem.units = self.units.len();
    }

    /// Whether a piece may go to a place, by itself.
    fn may(&self, number: usize, place: usize) -> May {
        let piece = &self.present.pieces[number];
        let here = &self.present.places[place];
        let is_there = piece
            .stays
            .iter()
            .any(|stay| self.present.stays[*stay].place == place);
        let takes = &here.record.takes;
        let own = piece.of.number.as_ref().map(|number| number.as_str());
        let mut reason = None;
        let settled = is_there && Self::is_settled(self.folder, "wrong-number", piece);
        let mut fits = (takes.is_empty() && is_there) || settled;
        for asked in takes {
            let Some(own) = own else { break };
            let (stand, fails) = self.stand(own, asked.as_str(), here.assembly);
            match stand {
                Stand::Same | Stand::ByWayOf(_) => fits = true,
                Stand::OnlyTheOtherWay(step) => {
                    reason.get_or_insert(format!(
                        "{} may be used for {}, not the other way round",
                        step.used, step.asked
                    ));
                }
                Stand::Nothing => {
                    if let Some(fails) = fails {
                        reason.get_or_insert(fails);
                    }
                }
            }
        }
        if !fits {
            return match reason {
                Some(reason) => May::Not(reason),
                None if is_there => May::Not(match own {
                    Some(own) => format!("{} does not take {own}", here.name),
                    None => format!("it has no number, and {} asks for one", here.name),
                }),
                None => May::Stranger,
            };
        }
        if let Some(why) = self.unfit(piece) {
            return May::Not(why);
        }
        for (what, own, wanted) in [
            (
                "hand",
                piece.of.hand.map(|one| one.word().to_owned()),
                here.hand.map(|one| one.word().to_owned()),
            ),
            (
                "bank",
                piece.of.bank.map(|one| one.to_string()),
                here.bank.map(|one| one.to_string()),
            ),
            (
                "cylinder",
                piece.of.cylinder.map(|one| one.to_string()),
                here.cylinder.map(|one| one.to_string()),
            ),
        ] {
            if let (Some(own), Some(wanted)) = (own, wanted)
                && own != wanted
            {
                return May::Not(format!(
                    "{what} {own}, and {} is {what} {wanted}",
                    here.name
                ));
            }
        }
        May::Go(self.to_prove(piece).is_empty())
    }

    /// Why a piece may go nowhere.
    fn unfit(&self, piece: &Piece<'a>) -> Option<String> {
        let because = piece.record.because.as_deref();
        match piece.record.condition {
            Some(Condition::Scrap) => {
                return Some(because.map_or_else(|| "scrap".to_owned(), str::to_owned));
            }
            Some(Condition::Repairable) => {
                let why = because.map(|because| format!(": {because}"));
                return Some(format!("must be repaired first{}", why.unwrap_or_default()));
            }
            _ => {}
        }
        let readings = last_readings(piece.record);
        for (name, limit) in &piece.of.limits {
            let Some((_, reading)) = readings.get(name.as_str()) else {
                continue;
            };
            let is = reading.is.as_ref().map_or("", |is| is.as_str());
            let edge = |edge: &Option<crate::model::common::AnyFigure>| {
                edge.as_ref()
                    .map_or_else(String::new, |one| one.as_str().to_owned())
            };
            match judge(limit, reading) {
                Some(Stands::Below) => {
                    let least = edge(&limit.least);
                    return Some(format!("{} {is} is below {least}", name.as_str()));
                }
                Some(Stands::Above) => {
                    let most = edge(&limit.most);
                    return Some(format!("{} {is} is above {most}", name.as_str()));
                }
                _ => {}
            }
        }
        let age = age::age(piece, self.today).filter(|age| age.outlived);
        if let Some(age) = age.filter(|_| !Self::is_settled(self.folder, "aged-out", piece)) {
            let ended = age.ends.map(|day| format!(" on {day}"));
            return Some(format!("its life ended{}", ended.unwrap_or_default()));
        }
        let policy = self.folder.model.build.policy.as_ref();
        if let Some(why) = policy.and_then(|policy| proof::off_policy(piece, policy))
            && !Self::is_settled(self.folder, "off-policy", piece)
        {
            return Some(why);
        }
        if self.owes_deposit(piece) {
            return Some("goes back for its deposit".to_owned());
        }
        None
    }

    /// Whether a piece is the old unit that an open deposit stands for.
    fn owes_deposit(&self, piece: &Piece<'a>) -> bool {
        let name = piece.name();
        self.present.pieces.iter().any(|one| {
            let deposit = one
                .record
                .bought
                .as_ref()
                .and_then(|bought| bought.deposit.as_ref());
            deposit.is_some_and(|deposit| {
                deposit
                    .for_
                    .as_ref()
                    .is_some_and(|old| old.as_str() == name)
                    && deposit.kept.is_none()
                    && deposit.returned.is_none()
            })
        })
    }

    /// Whether a decision settles what a rule finds at a piece.
    fn is_settled(folder: &Folder, rule: &str, piece: &Piece<'_>) -> bool {
        let spot = format!("parts/{}", piece.name());
        folder.model.decision.values().any(|record| {
            record.data.is_made()
                && record.data.settles.iter().any(|one| {
                    one.rule.as_ref().is_some_and(|one| one.as_str() == rule)
                        && one.at.as_ref().is_some_and(|at| at.as_str() == spot)
                })
        })
    }

    /// What must be done before a piece is proven.
    fn to_prove(&self, piece: &Piece<'a>) -> Vec<String> {
        let mut first = Vec::new();
        if let Some(why) = proof::unproven(piece) {
            first.push(format!("check it, as {why}"));
        }
        if let Some(dirt) = clean::uncleaned(&self.folder.model, piece) {
            first.push(format!("clean it, as `{}` failed inside", dirt.donor));
        }
        let readings = last_readings(piece.record);
        for (name, _) in self.limited(piece) {
            if !readings.contains_key(name.as_str()) {
                first.push(format!("measure its {}", name.as_str()));
            }
        }
        if let Some(away) = piece.away {
            first.push(format!("wait for {}", away.job));
        }
        first
    }

    /// The limits that speak of the pieces of a set.
    fn limited(&self, piece: &Piece<'a>) -> impl Iterator<Item = (&'a Name, &'a Limit)> + use<'a> {
        let part: &'a crate::model::part::Part = piece.of;
        part.limits
            .iter()
            .filter(|(_, limit)| limit.spread.is_some())
    }

    /// What must be done with a piece before it counts in a place: what proves it, and the
    /// condition on which its number may be used there.
    pub(super) fn first_of(&self, piece: usize, place: usize) -> Vec<String> {
        let mut first = self.to_prove(&self.present.pieces[piece]);
        let here = &self.present.places[place];
        let own = self.present.pieces[piece].of.number.as_ref();
        let asked = own.into_iter().flat_map(|_| &here.record.takes);
        let steps = asked.filter_map(|asked| {
            match self.stand(own?.as_str(), asked.as_str(), here.assembly).0 {
                Stand::Same => Some(Vec::new()),
                Stand::ByWayOf(steps) => Some(steps),
                _ => None,
            }
        });
        // The way with the fewest steps is the one that is gone.
        let steps = steps.min_by_key(Vec::len).unwrap_or_default();
        let provided = steps
            .iter()
            .filter_map(|step| step.says.provided.as_deref());
        first.extend(provided.map(|provided| format!("see that {provided}")));
        first
    }

    /// How one number stands to another in an assembly, and the traits that are missing
    /// there for it to stand better.
    fn stand(&self, used: &str, asked: &str, assembly: usize) -> (Stand<'a>, Option<String>) {
        let mut fails = None;
        let stand = self.present.interchanges.stand(used, asked, |step| {
            let flow = self.flow.get_or_init(|| self.present.flow(View::Plan));
            let holds = self.present.holds(flow, assembly, &step.says.only_with);
            if !holds {
                fails = Some(format!(
                    "{} may be used for {} only with {}",
                    step.used,
                    step.asked,
                    traits(&step.says.only_with)
                ));
            }
            holds
        });
        (stand, fails)
    }

    /// What is known of a piece: its condition and its limited readings.
    pub(super) fn known_of(&self, piece: usize) -> Vec<String> {
        let piece = &self.present.pieces[piece];
        let mut known = Vec::new();
        known.extend(piece.record.condition.map(|one| one.word().to_owned()));
        let readings = last_readings(piece.record);
        for name in piece.of.limits.keys() {
            if let Some(is) = readings
                .get(name.as_str())
                .and_then(|(_, one)| one.is.as_ref())
            {
                known.push(format!("{} {}", name.as_str(), is.as_str()));
            }
        }
        known
    }

    /// Pieces without a mark that would fill a place.
    pub(super) fn unmarked_for(&self, place: usize) -> Vec<String> {
        let takes = &self.present.places[place].record.takes;
        let parts = self.folder.model.part.iter();
        parts
            .filter_map(|(id, record)| {
                let have = record.data.have.filter(|have| *have > 0)?;
                let own = record.data.number.as_ref()?;
                takes
                    .contains(own)
                    .then(|| format!("{have} of `{id}` lie here without a mark: give one a mark"))
            })
            .collect()
    }

    fn bind(&mut self, bond: Bond, meaning: Meaning) {
        self.problem.bonds.push(bond);
        self.meanings.push(meaning);
    }

    /// Classes by what a unit is called for this bond, and the one that is settled by what
    /// stands already; what stands and is unlike itself settles nothing.
    fn classes(
        &mut self,
        of: impl Fn(usize) -> Option<String>,
        settled: BTreeSet<String>,
        what: &str,
    ) -> (Vec<Option<u32>>, Vec<String>, Option<u32>) {
        let names: BTreeSet<String> = self.units.iter().filter_map(|piece| of(*piece)).collect();
        let names: Vec<String> = names.union(&settled).cloned().collect();
        let number = |name: &String| {
            let at = names.iter().position(|one| one == name)?;
            u32::try_from(at).ok()
        };
        let class = self
            .units
            .iter()
            .map(|piece| number(&of(*piece)?))
            .collect();
        let mut all = settled.iter();
        let one = match (all.next(), all.next()) {
            (Some(one), None) => number(one),
            (Some(one), Some(other)) => {
                self.beyond
                    .push(format!("{what}: {one} and {other} stand already"));
                None
            }
            _ => None,
        };
        (class, names, one)
    }

    fn bind_sets(&mut self) {
        let present = self.present;
        let mut sets: Vec<(String, Vec<usize>)> = present
            .groups()
            .map(|(name, places)| (name.to_owned(), places.to_vec()))
            .collect();
        let single = present.places.iter().enumerate();
        sets.extend(
            single
                .filter(|(_, place)| place.record.each.is_none())
                .map(|(number, place)| (place.name.clone(), vec![number])),
        );
        for (name, places) in sets {
            let is_set = places
                .first()
                .is_some_and(|place| present.places[*place].record.set == Some(true));
            let seats: BTreeSet<usize> = (0..self.seats.len())
                .filter(|seat| places.contains(&self.seats[*seat]))
                .collect();
            if !is_set || seats.is_empty() {
                continue;
            }
            let fixed: Vec<usize> = self
                .standing()
                .filter(|stay| places.contains(&stay.place))
                .map(|stay| stay.piece)
                .collect();
            // Made for one side each, parts may well differ in number.
            let of = |piece: usize| {
                let piece = &present.pieces[piece];
                let sided = piece.of.hand.is_some() || piece.of.bank.is_some();
                (!sided && piece.of.cylinder.is_none()).then(|| number_of(piece))
            };
            let settled = fixed.iter().filter_map(|piece| of(*piece)).collect();
            let (class, names, settled) = self.classes(of, settled, &name);
            self.bind(
                Bond::Alike {
                    seats: seats.clone(),
                    class,
                    settled,
                },
                Meaning {
                    choice: Some(name.clone()),
                    by: "number",
                    names,
                    told: Told::Number,
                },
            );
            self.bind_spreads(&seats, &fixed);
        }
    }

    /// What was measured on the pieces of a set must lie within its spread, of whatever part
    /// each is: those of the left and of the right are of two. Where the parts of one set
    /// allow unlike spreads, all are held to each of them.
    fn bind_spreads(&mut self, seats: &BTreeSet<usize>, fixed: &[usize]) {
        let present = self.present;
        let here = self.problem.offers.iter();
        let here = here.filter(|offer| seats.contains(&offer.seat));
        let here: BTreeSet<usize> = here.map(|offer| offer.unit).collect();
        let pieces = here.iter().map(|unit| self.units[*unit]);
        let mut spreads: BTreeMap<(&str, &str), Quantity> = BTreeMap::new();
        for piece in pieces.chain(fixed.iter().copied()) {
            for (name, limit) in self.limited(&present.pieces[piece]) {
                if let (Some(written), Some(spread)) = (&limit.spread, spread(limit)) {
                    spreads.insert((name.as_str(), written.as_str()), spread);
                }
            }
        }
        for ((name, _), spread) in spreads {
            let value = |piece: usize| reading_of(&present.pieces[piece], name);
            let standing: Vec<Amount> = fixed.iter().filter_map(|piece| value(*piece)).collect();
            let mut measured: Vec<(usize, Amount)> = here
                .iter()
                .filter_map(|unit| Some((*unit, value(self.units[*unit])?)))
                .collect();
            measured.sort_by(|(one, a), (other, b)| {
                let order = a.compare(b).unwrap_or(std::cmp::Ordering::Equal);
                order.then(one.cmp(other))
            });
            // What stands already can't be changed: the others go by it.
            let fits = |amount: &Amount| {
                standing
                    .iter()
                    .all(|one| alike(one, amount, &spread) != Some(false))
            };
            let unfit: BTreeSet<usize> = measured
                .iter()
                .filter(|(_, amount)| !fits(amount))
                .map(|(unit, _)| *unit)
                .collect();
            self.problem
                .offers
                .retain(|offer| !(seats.contains(&offer.seat) && unfit.contains(&offer.unit)));
            let order = measured.iter().enumerate().map(|(place, (unit, amount))| {
                let reach = measured[place..]
                    .iter()
                    .take_while(|(_, other)| alike(amount, other, &spread) != Some(false));
                (*unit, place + reach.count() - 1)
            });
            let order = order.collect();
            self.bind(
                Bond::Within {
                    seats: seats.clone(),
                    order,
                },
                Meaning {
                    choice: None,
                    by: "spread",
                    names: Vec::new(),
                    told: Told::Spread(name.to_owned()),
                },
            );
        }
    }

    /// Parts that were machined together must come from one origin, as far as their places
    /// may be of one set of mates.
    fn bind_mates(&mut self) {
        let present = self.present;
        let mates = Mates::of(&self.folder.model.part);
        if mates.is_empty() {
            return;
        }
        let part = |piece: usize| present.pieces[piece].part;
        let standing = self.standing().map(|stay| (stay.place, part(stay.piece)));
        let offers = self.problem.offers.iter();
        let offered = offers.map(|offer| (self.seats[offer.seat], part(self.units[offer.unit])));
        let nodes: BTreeSet<(usize, &str)> = standing
            .chain(offered)
            .filter(|(_, part)| mates.has(part))
            .collect();
        let mut ties: Vec<Vec<(usize, &str)>> = nodes.iter().map(|node| vec![*node]).collect();
        for one in &nodes {
            for other in nodes.range(one..) {
                let (place, beside) = (&present.places[one.0], &present.places[other.0]);
                if mates.says(one.1, other.1).is_some() && place.may_mate(beside, one.1 == other.1)
                {
                    ties.push(vec![*one, *other]);
                }
            }
        }
        let mut families: Vec<BTreeSet<(usize, &str)>> = components(&ties)
            .into_iter()
            .map(|family| family.into_iter().collect())
            .collect();
        families.sort();
        for family in families {
            let parts: BTreeSet<&str> = family.iter().map(|(_, part)| *part).collect();
            let of = |piece: usize| {
                let one = &present.pieces[piece];
                let origin = one.origin().unwrap_or("nobody knows where");
                parts.contains(one.part).then(|| origin.to_owned())
            };
            let seats: BTreeSet<usize> = self
                .problem
                .offers
                .iter()
                .filter(|offer| {
                    let piece = part(self.units[offer.unit]);
                    family.contains(&(self.seats[offer.seat], piece))
                })
                .map(|offer| offer.seat)
                .collect();
            if seats.is_empty() {
                continue;
            }
            let standing = self
                .standing()
                .filter(|stay| family.contains(&(stay.place, part(stay.piece))));
            let settled = standing.filter_map(|stay| of(stay.piece)).collect();
            let name = parts.iter().copied().collect::<Vec<_>>().join(" and ");
            let (class, names, settled) = self.classes(of, settled, &name);
            self.bind(
                Bond::Alike {
                    seats,
                    class,
                    settled,
                },
                Meaning {
                    choice: Some(name),
                    by: "origin",
                    names,
                    told: Told::Origin,
                },
            );
        }
    }

    /// All that gives or suits a trait must say the same word of it.
    fn bind_traits(&mut self) {
        let present = self.present;
        let folder = self.folder;
        let words = |piece: usize| -> BTreeMap<String, String> {
            let gives = present.pieces[piece].of.gives.iter();
            let gives = gives.map(|(name, word)| (name.as_str(), word.as_str()));
            if Self::is_settled(folder, "traits-clash", &present.pieces[piece]) {
                return BTreeMap::new();
            }
            let suits = present.suits_of(piece).into_iter();
            let all = suits.map(|(name, (word, _))| (name, word)).chain(gives);
            all.map(|(name, word)| (name.to_owned(), word.to_owned()))
                .collect()
        };
        let mut spoken: BTreeMap<usize, BTreeMap<String, String>> = BTreeMap::new();
        for piece in self.units.iter().copied() {
            spoken.entry(piece).or_insert_with(|| words(piece));
        }
        let names: BTreeSet<String> = spoken
            .values()
            .flat_map(|all| all.keys().cloned())
            .collect();
        for name in names {
            let mut settled: BTreeSet<String> = self
                .standing()
                .filter_map(|stay| words(stay.piece).get(&name).cloned())
                .collect();
            let assemblies = present
                .assemblies
                .iter()
                .flat_map(|assembly| assembly.record.gives.iter().chain(&assembly.record.suits));
            let car = self.folder.model.build.gives.iter();
            settled.extend(
                assemblies
                    .chain(car)
                    .filter(|(one, _)| one.as_str() == name)
                    .map(|(_, word)| word.as_str().to_owned()),
            );
            let of = |piece: usize| spoken.get(&piece)?.get(&name).cloned();
            let (class, names, settled) = self.classes(of, settled, &name);
            let offers = self.problem.offers.iter();
            let seats = offers
                .filter(|offer| class[offer.unit].is_some())
                .map(|offer| offer.seat)
                .collect();
            self.bind(
                Bond::Alike {
                    seats,
                    class,
                    settled,
                },
                Meaning {
                    choice: None,
                    by: "trait",
                    names,
                    told: Told::Trait(name),
                },
            );
        }
    }

    fn bind_clashes(&mut self) {
        let present = self.present;
        for (id, record) in &self.folder.model.part {
            for other in &record.data.clashes_with {
                let units = |part: &str| -> BTreeSet<usize> {
                    let units = self.units.iter().enumerate();
                    units
                        .filter(|(_, piece)| present.pieces[**piece].part == part)
                        .map(|(unit, _)| unit)
                        .collect()
                };
                let (one, two) = (units(id), units(other.as_str()));
                // What stands already leaves no choice to the other.
                for (mine, theirs) in [(&one, other.as_str()), (&two, id.as_str())] {
                    let stands = self
                        .standing()
                        .find(|stay| present.pieces[stay.piece].part == theirs);
                    if let Some(stay) = stands {
                        self.problem
                            .offers
                            .retain(|offer| !mine.contains(&offer.unit));
                        let why = format!(
                            "can't live with `{}`, which {}",
                            present.piece(stay).name(),
                            how(present, stay)
                        );
                        let pieces: BTreeSet<usize> =
                            mine.iter().map(|unit| self.units[*unit]).collect();
                        self.out
                            .extend(pieces.into_iter().map(|piece| (piece, why.clone())));
                    }
                }
                self.bind(
                    Bond::Apart(one, two),
                    Meaning {
                        choice: None,
                        by: "clash",
                        names: Vec::new(),
                        told: Told::Clash,
                    },
                );
            }
        }
    }

    /// Why a piece that might sit somewhere does not.
    pub(super) fn why_not(&self, piece: usize, sits: &Allotment) -> String {
        let Some(unit) = self.units.iter().position(|one| *one == piece) else {
            return "not needed".to_owned();
        };
        let offers: Vec<&Offer> = self
            .problem
            .offers
            .iter()
            .filter(|offer| offer.unit == unit)
            .collect();
        for (bond, meaning) in self.problem.bonds.iter().zip(&self.meanings) {
            // It would break this bond wherever it may sit.
            let breaks = |offer: &&Offer| {
                let mut sits = sits.clone();
                sits[offer.seat] = Some(unit);
                !bond.is_met(&sits)
            };
            if offers.is_empty() || !offers.iter().all(breaks) {
                continue;
            }
            return self.told(bond, meaning, unit, sits);
        }
        let record = self.present.pieces[piece].record;
        let kept = record.keep.map(|keep| format!("kept: {}", keep.word()));
        if offers.is_empty() {
            return kept.unwrap_or_else(|| "does not go with what is on for good".to_owned());
        }
        let first = self.to_prove(&self.present.pieces[piece]);
        match (kept, first.is_empty()) {
            (Some(kept), true) => format!("{kept}, and not needed"),
            (Some(kept), false) => format!("{kept}; before it counts, {}", first.join(", ")),
            (None, true) => "not needed".to_owned(),
            (None, false) => format!("not needed; before it counts, {}", first.join(", ")),
        }
    }

    fn told(&self, bond: &Bond, meaning: &Meaning, unit: usize, sits: &Allotment) -> String {
        let piece = &self.present.pieces[self.units[unit]];
        let (own, chosen) = match bond {
            Bond::Alike {
                seats,
                class,
                settled,
            } => {
                let sits = seats.iter().filter_map(|seat| class[sits[*seat]?]);
                let chosen = settled.or_else(|| sits.into_iter().next());
                let name = |one: Option<u32>| {
                    let one = one.and_then(|one| usize::try_from(one).ok());
                    one.and_then(|one| meaning.names.get(one))
                        .map_or("", String::as_str)
                };
                (name(class[unit]), name(chosen))
            }
            _ => ("", ""),
        };
        match &meaning.told {
            Told::Number => format!("its number is {own}, and the set is of {chosen}"),
            Told::Origin => format!("it is from {own}, and its mates are from {chosen}"),
            Told::Trait(name) => format!("it is for {name}: {own}, and the rest for {chosen}"),
            Told::Spread(name) => {
                let is = last_readings(piece.record)
                    .get(&**name)
                    .and_then(|(_, one)| one.is.as_ref());
                let is = is.map_or("", |is| is.as_str());
                format!("its {name} of {is} is too far from the others of the set")
            }
            Told::Clash => "can't live with what goes in instead".to_owned(),
        }
    }

    /// How far the pieces of a set lie apart, where that was measured.
    pub(super) fn spread_of(&self, seats: &BTreeSet<usize>, sits: &Allotment) -> Vec<String> {
        let places: BTreeSet<usize> = seats.iter().map(|seat| self.seats[*seat]).collect();
        let fixed = places
            .iter()
            .flat_map(|place| self.fixed_in(*place))
            .map(|stay| stay.piece);
        let sits = seats
            .iter()
            .filter_map(|seat| Some(self.units[sits[*seat]?]));
        let pieces: BTreeSet<usize> = sits.chain(fixed).collect();
        let Some(first) = pieces.first() else {
            return Vec::new();
        };
        let mut said = Vec::new();
        for (name, limit) in self.limited(&self.present.pieces[*first]) {
            let Some(spread) = spread(limit) else {
                continue;
            };
            let mut all: Vec<(Amount, String)> = pieces
                .iter()
                .filter_map(|piece| {
                    let piece = &self.present.pieces[*piece];
                    let readings = last_readings(piece.record);
                    let text = readings
                        .get(name.as_str())?
                        .1
                        .is
                        .as_ref()?
                        .as_str()
                        .to_owned();
                    Some((reading_of(piece, name.as_str())?, text))
                })
                .collect();
            all.sort_by(|(a, _), (b, _)| a.compare(b).unwrap_or(std::cmp::Ordering::Equal));
            if let [(least, from), .., (most, to)] = all.as_slice()
                && let Some(apart) = apart(least, most, &spread)
            {
                let apart = match spread.dimension() {
                    Dimension::Ratio => format!("{apart:.1}"),
                    _ => apart.to_string(),
                };
                said.push(format!(
                    "{} from {from} to {to}: {apart} apart, {} allowed",
                    name.as_str(),
                    spread.text()
                ));
            }
        }
        said
    }

    /// The problem with a class chosen beforehand.
    pub(super) fn with_class(&self, bond: usize, chosen: u32) -> Problem {
        let mut problem = self.problem.clone();
        if let Some(Bond::Alike { settled, .. }) = problem.bonds.get_mut(bond) {
            *settled = Some(chosen);
        }
        problem
    }

    /// What a class comes to in the seats of its bond.
    pub(super) fn counted(
        &self,
        meaning: &Meaning,
        chosen: u32,
        seats: &BTreeSet<usize>,
        class: &[Option<u32>],
        sits: &Allotment,
    ) -> ChoiceOption {
        let mut option = ChoiceOption {
            name: usize::try_from(chosen)
                .ok()
                .and_then(|one| meaning.names.get(one).cloned())
                .unwrap_or_default(),
            proven: 0,
            unproven: 0,
            to_buy: 0,
        };
        for seat in seats {
            let of_class = sits[*seat].filter(|unit| class[*unit] == Some(chosen));
            match of_class {
                None => option.to_buy += 1,
                Some(unit)
                    if self
                        .to_prove(&self.present.pieces[self.units[unit]])
                        .is_empty() =>
                {
                    option.proven += 1;
                }
                Some(_) => option.unproven += 1,
            }
        }
        option
    }

    /// Places as `goes` names them: all for each cylinder, bank or hand at once where all
    /// are meant.
    pub(super) fn written(&self, places: &BTreeSet<usize>) -> Vec<String> {
        let mut left = places.clone();
        let mut names = Vec::new();
        for (name, group) in self.present.groups() {
            if group.len() > 1 && group.iter().all(|place| left.contains(place)) {
                names.push(name.to_owned());
                left.retain(|place| !group.contains(place));
            }
        }
        names.extend(
            left.iter()
                .map(|place| self.present.places[*place].name.clone()),
        );
        names.sort();
        names
    }
}

/// How many of a lot some stays take, each place counted once.
fn stays_once<'s>(stays: impl Iterator<Item = &'s Stay>) -> u32 {
    stays.map(|stay| stay.count).sum()
}

/// How reluctantly a piece is taken from what it is kept for.
fn kept(keep: Option<Keep>) -> u32 {
    match keep {
        None => 0,
        Some(Keep::Spare) => 1,
        Some(Keep::PassOn) => 2,
        Some(Keep::Pattern) => 3,
        Some(Keep::Core) => 4,
    }
}

/// What a set goes by: the number, or for a part without one its id.
fn number_of(piece: &Piece<'_>) -> String {
    match &piece.of.number {
        Some(number) => number.as_str().to_owned(),
        None => piece.part.to_owned(),
    }
}

fn traits(traits: &crate::model::common::Traits) -> String {
    let all = traits.iter();
    let all = all.map(|(name, word)| format!("{}: {}", name.as_str(), word.as_str()));
    all.collect::<Vec<_>>().join(", ")
}

fn spread(limit: &Limit) -> Option<Quantity> {
    limit.spread.as_ref()?.quantity().ok()
}

fn reading_of(piece: &Piece<'_>, name: &str) -> Option<Amount> {
    let readings = last_readings(piece.record);
    let (_, reading) = readings.get(name)?;
    Some(reading.is.as_ref()?.quantity().ok()?.nominal())
}
