//! Who sits where: the best allotment of units to seats, exactly.
//!
//! A seat takes one unit, a unit one seat, and each pair has its price. That alone is the
//! assignment problem, which a library solves (`kuhn_munkres`: H. W. Kuhn, Naval Research
//! Logistics Quarterly 2 (1955) 83; J. Munkres, J. SIAM 5 (1957) 32). Bonds say which
//! units may not sit together: those of one set must be of one class and within a spread.
//! Without its bonds a problem can only get cheaper. So where the cheapest meets all bonds
//! it is the best; where one is broken the problem is divided into all ways of keeping it,
//! and a way that can't get cheaper than what was found is left. A bond that is kept by what
//! is still open ties nothing any more: the problem falls apart into smaller ones, each
//! solved by itself. Without that the ways of one set would be tried with all the ways of
//! each other set, and ten sets would never end.

use std::collections::{BTreeMap, BTreeSet};

use pathfinding::kuhn_munkres::kuhn_munkres_min;
use pathfinding::matrix::Matrix;
use pathfinding::undirected::connected_components::components;

/// What an allotment costs, the weightiest first. Sums are compared in this order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Price {
    /// Seats that are not filled by something proven.
    pub unproven: u32,
    /// Seats that stay empty, so that something must be bought.
    pub empty: u32,
    /// Changes to what is planned; what is on counts twice.
    pub changes: u32,
    /// How much is taken of what is kept for something.
    pub kept: u32,
}

/// The most that one seat may add to any one figure of a price.
const MOST: u32 = 8;

/// More than so many seats can add to any one figure of a price.
fn base(seats: usize) -> i128 {
    i128::from(MOST) * (seats as i128 + 1) + 1
}

impl Price {
    /// One figure in which each of the four outweighs all that come after it.
    fn figure(self, seats: usize) -> i128 {
        [self.unproven, self.empty, self.changes, self.kept]
            .into_iter()
            .fold(0, |sum, one| sum * base(seats) + i128::from(one.min(MOST)))
    }

    /// The price that the figures of so many seats add up to.
    fn of_figure(mut figure: i128, seats: usize) -> Self {
        let mut next = || {
            let one = figure % base(seats);
            figure /= base(seats);
            u32::try_from(one).unwrap_or(u32::MAX)
        };
        let (kept, changes, empty, unproven) = (next(), next(), next(), next());
        Self {
            unproven,
            empty,
            changes,
            kept,
        }
    }
}

impl std::ops::Add for Price {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            unproven: self.unproven + other.unproven,
            empty: self.empty + other.empty,
            changes: self.changes + other.changes,
            kept: self.kept + other.kept,
        }
    }
}

/// A unit that may take a seat.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Offer {
    /// The seat.
    pub seat: usize,
    /// The unit.
    pub unit: usize,
    /// What it costs.
    pub price: Price,
}

/// Which units may not sit together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bond {
    /// The units in these seats are of one class; those of none may sit with any.
    Alike {
        /// The seats.
        seats: BTreeSet<usize>,
        /// The class of each unit.
        class: Vec<Option<u32>>,
        /// The class that is settled already by what can't be changed.
        settled: Option<u32>,
    },
    /// The units in these seats lie no further apart than allowed; those not measured may
    /// sit with any.
    Within {
        /// The seats.
        seats: BTreeSet<usize>,
        /// The measured units from the least up, each with the number of the last in this
        /// list that it may sit with.
        order: Vec<(usize, usize)>,
    },
    /// Of the first units and the second not both sit anywhere.
    Apart(BTreeSet<usize>, BTreeSet<usize>),
}

/// Seats to fill, and what may fill them.
#[derive(Debug, Clone, Default)]
pub struct Problem {
    /// What each seat costs if it stays empty.
    pub seats: Vec<Price>,
    /// How many units there are.
    pub units: usize,
    /// Who may sit where.
    pub offers: Vec<Offer>,
    /// Who may not sit together.
    pub bonds: Vec<Bond>,
}

/// The unit in each seat.
pub type Allotment = Vec<Option<usize>>;

/// A problem in parts that have nothing to do with each other, each with its cheapest
/// allotment, whatever the bonds.
struct Parted {
    parts: Vec<Part>,
    /// What the whole can't get cheaper than.
    least: Price,
}

struct Part {
    problem: Problem,
    seats: Vec<usize>,
    units: Vec<usize>,
    price: Price,
    sits: Allotment,
}

impl Problem {
    /// The best allotment: there is always one, as a seat may stay empty.
    #[must_use]
    pub fn solve(&self) -> Allotment {
        let mut open = self.clone();
        for bond in &self.bonds {
            if let Bond::Alike {
                settled: Some(settled),
                ..
            } = bond
            {
                open.offers.retain(|offer| bond.is_of(offer, *settled));
            }
        }
        let seats = self.seats.len();
        let best = open.parted().best(seats, Price::default(), None);
        best.map_or_else(|| vec![None; seats], |(_, sits)| sits)
    }

    fn parted(mut self) -> Parted {
        let offers = &self.offers;
        self.bonds.retain(|bond| bond.may_break(offers));
        let parts: Vec<Part> = self
            .apart()
            .into_iter()
            .map(|seats| {
                let (mut problem, units) = self.part(&seats);
                let offers = &problem.offers;
                problem.bonds.retain(|bond| bond.may_break(offers));
                let (price, sits) = problem.cheapest();
                Part {
                    problem,
                    seats,
                    units,
                    price,
                    sits,
                }
            })
            .collect();
        let prices = parts.iter().map(|part| part.price);
        let least = prices.fold(Price::default(), |sum, one| sum + one);
        Parted { parts, least }
    }

    /// The best allotment that keeps all bonds and is cheaper, with what is spent besides,
    /// than the limit, where the cheapest does not keep them; none if there is none.
    fn divided(
        &self,
        sits: &[Option<usize>],
        spent: Price,
        mut limit: Option<Price>,
    ) -> Option<(Price, Allotment)> {
        let bond = self.to_divide(sits)?;
        let mut ways: Vec<Parted> = self.ways_to_keep(bond).map(Self::parted).collect();
        // Of equals the first stays the first.
        ways.sort_by_key(|way| way.least);
        let mut best = None;
        for way in ways {
            if let Some(found) = way.best(self.seats.len(), spent, limit) {
                limit = Some(spent + found.0);
                best = Some(found);
            }
        }
        best
    }

    /// The bond to divide by. What must be alike ties together what lies far apart, and
    /// has few ways: it comes first even where it happens to be kept.
    fn to_divide(&self, sits: &[Option<usize>]) -> Option<usize> {
        let all = self.bonds.iter().enumerate().filter_map(|(number, bond)| {
            let is_met = bond.is_met(sits);
            match bond {
                Bond::Alike { seats, .. } => Some((2, !is_met, seats.len(), number)),
                Bond::Apart(..) => (!is_met).then_some((1, true, 0, number)),
                Bond::Within { seats, .. } => (!is_met).then_some((0, true, seats.len(), number)),
            }
        });
        all.max_by_key(|(kind, broken, seats, number)| {
            (*kind, *broken, *seats, std::cmp::Reverse(*number))
        })
        .map(|(.., number)| number)
    }

    /// The seats in groups that have nothing to do with each other.
    fn apart(&self) -> Vec<Vec<usize>> {
        let unit = |unit: &usize| self.seats.len() + unit;
        let mut ties: Vec<Vec<usize>> = (0..self.seats.len()).map(|seat| vec![seat]).collect();
        ties.extend(
            self.offers
                .iter()
                .map(|offer| vec![offer.seat, unit(&offer.unit)]),
        );
        ties.extend(self.bonds.iter().map(|bond| match bond {
            Bond::Alike { seats, .. } | Bond::Within { seats, .. } => {
                seats.iter().copied().collect()
            }
            Bond::Apart(one, other) => one.iter().chain(other).map(unit).collect(),
        }));
        let groups = components(&ties).into_iter().map(|group| {
            let seats = group.into_iter().filter(|one| *one < self.seats.len());
            let mut seats: Vec<usize> = seats.collect();
            seats.sort_unstable();
            seats
        });
        let mut groups: Vec<Vec<usize>> = groups.filter(|seats| !seats.is_empty()).collect();
        groups.sort_unstable();
        groups
    }

    /// The problem of some of its seats, and the units that it is about.
    fn part(&self, seats: &[usize]) -> (Self, Vec<usize>) {
        let seat_of: BTreeMap<usize, usize> = seats
            .iter()
            .enumerate()
            .map(|(new, old)| (*old, new))
            .collect();
        let mut offers: Vec<Offer> = self.offers.clone();
        offers.retain(|offer| seat_of.contains_key(&offer.seat));
        let units: BTreeSet<usize> = offers.iter().map(|offer| offer.unit).collect();
        let units: Vec<usize> = units.into_iter().collect();
        let unit_of: BTreeMap<usize, usize> = units
            .iter()
            .enumerate()
            .map(|(new, old)| (*old, new))
            .collect();
        for offer in &mut offers {
            (offer.seat, offer.unit) = (seat_of[&offer.seat], unit_of[&offer.unit]);
        }
        let some = |all: &BTreeSet<usize>, of: &BTreeMap<usize, usize>| -> BTreeSet<usize> {
            all.iter().filter_map(|one| of.get(one).copied()).collect()
        };
        let bonds = self.bonds.iter().map(|bond| match bond {
            Bond::Alike {
                seats,
                class,
                settled,
            } => Bond::Alike {
                seats: some(seats, &seat_of),
                class: units.iter().map(|unit| class[*unit]).collect(),
                settled: *settled,
            },
            Bond::Within { seats, order } => {
                // A unit that is no longer there takes its step with it.
                let steps: Vec<usize> = (0..order.len())
                    .filter(|step| unit_of.contains_key(&order[*step].0))
                    .collect();
                let order = steps.iter().map(|step| {
                    let (unit, last) = order[*step];
                    let reach = steps.iter().filter(|step| **step <= last).count() - 1;
                    (unit_of[&unit], reach)
                });
                Bond::Within {
                    seats: some(seats, &seat_of),
                    order: order.collect(),
                }
            }
            Bond::Apart(one, other) => Bond::Apart(some(one, &unit_of), some(other, &unit_of)),
        });
        let part = Self {
            seats: seats.iter().map(|seat| self.seats[*seat]).collect(),
            units: units.len(),
            offers,
            bonds: bonds.collect(),
        };
        (part, units)
    }

    /// What an allotment costs.
    #[must_use]
    pub fn price(&self, allotment: &[Option<usize>]) -> Price {
        let of = |(seat, unit): (usize, &Option<usize>)| match unit {
            None => self.seats[seat],
            Some(unit) => self
                .offers
                .iter()
                .find(|offer| offer.seat == seat && offer.unit == *unit)
                .map_or(self.seats[seat], |offer| offer.price),
        };
        let prices = allotment.iter().enumerate().map(of);
        prices.fold(Price::default(), |sum, one| sum + one)
    }

    /// The cheapest allotment, whatever the bonds.
    fn cheapest(&self) -> (Price, Allotment) {
        let seats = self.seats.len();
        if seats == 0 {
            return (Price::default(), Vec::new());
        }
        // Each seat has an empty chair of its own beside the units.
        let never = Price {
            unproven: MOST,
            empty: MOST,
            changes: MOST,
            kept: MOST,
        };
        let never = (never.figure(seats) + 1) * (seats as i128 + 1);
        let mut prices = Matrix::new(seats, self.units + seats, never);
        for offer in &self.offers {
            prices[(offer.seat, offer.unit)] = offer.price.figure(seats);
        }
        for (seat, price) in self.seats.iter().enumerate() {
            prices[(seat, self.units + seat)] = price.figure(seats);
        }
        let (figure, taken) = kuhn_munkres_min(&prices);
        let sits = taken.into_iter();
        let sits = sits.map(|unit| (unit < self.units).then_some(unit));
        (Price::of_figure(figure, seats), sits.collect())
    }

    /// The problems that keep a bond, in all ways: whatever keeps it is in one.
    fn ways_to_keep(&self, number: usize) -> impl Iterator<Item = Self> {
        let bond = &self.bonds[number];
        let mut ways: Vec<Vec<Offer>> = Vec::new();
        let mut add = |open: &dyn Fn(&Offer) -> bool| {
            let offers = self.offers.iter().filter(|offer| open(offer));
            ways.push(offers.copied().collect());
        };
        match bond {
            Bond::Alike { .. } => {
                for one in bond.classes(&self.offers) {
                    add(&|offer| bond.is_of(offer, one));
                }
            }
            Bond::Within { seats, order } => {
                let here = bond.measured(&self.offers);
                let mut reached = None;
                for step in &here {
                    let (_, last) = order[*step];
                    let furthest = here.iter().rev().find(|other| **other <= last);
                    // What begins later and reaches no further is in the way before it.
                    if furthest <= reached {
                        continue;
                    }
                    reached = furthest;
                    let units = |steps: &[(usize, usize)]| -> BTreeSet<usize> {
                        steps.iter().map(|(unit, _)| *unit).collect()
                    };
                    let (together, all) = (units(&order[*step..=last]), units(order));
                    add(&|offer| {
                        !seats.contains(&offer.seat)
                            || !all.contains(&offer.unit)
                            || together.contains(&offer.unit)
                    });
                }
            }
            Bond::Apart(one, other) => {
                // One that can't live with many leaves it to two ways for all of them.
                let strangers = |of: &BTreeSet<usize>| -> Vec<&BTreeSet<usize>> {
                    let pairs = self.bonds.iter().filter_map(|bond| match bond {
                        Bond::Apart(one, other) if one == of => Some(other),
                        Bond::Apart(one, other) if other == of => Some(one),
                        _ => None,
                    });
                    pairs.collect()
                };
                let (of_one, of_other) = (strangers(one), strangers(other));
                // Of equals what is named first stays.
                let ways = if of_other.len() > of_one.len() {
                    [vec![other], of_other]
                } else {
                    [of_one, vec![one]]
                };
                for out in ways {
                    add(&|offer| !out.iter().any(|units| units.contains(&offer.unit)));
                }
            }
        }
        ways.into_iter().map(move |offers| {
            let mut bonds = self.bonds.clone();
            bonds.remove(number);
            Self {
                seats: self.seats.clone(),
                units: self.units,
                offers,
                bonds,
            }
        })
    }
}

impl Parted {
    /// The best allotment of so many seats that is cheaper, with what is spent besides, than
    /// the limit; none if there is none.
    fn best(self, seats: usize, spent: Price, limit: Option<Price>) -> Option<(Price, Allotment)> {
        let is_dear = |price: Price| limit.is_some_and(|limit| spent + price >= limit);
        if is_dear(self.least) {
            return None;
        }
        let mut sits = vec![None; seats];
        let mut parts = self.parts;
        for number in 0..parts.len() {
            let part = &parts[number];
            if part
                .problem
                .bonds
                .iter()
                .all(|bond| bond.is_met(&part.sits))
            {
                continue;
            }
            let others = parts.iter().enumerate();
            let others = others.filter(|(other, _)| *other != number);
            let others = others.fold(Price::default(), |sum, (_, one)| sum + one.price);
            let found = part.problem.divided(&part.sits, spent + others, limit)?;
            (parts[number].price, parts[number].sits) = found;
        }
        for part in &parts {
            for (seat, unit) in part.seats.iter().zip(&part.sits) {
                sits[*seat] = unit.map(|unit| part.units[unit]);
            }
        }
        let prices = parts.iter().map(|part| part.price);
        let price = prices.fold(Price::default(), |sum, one| sum + one);
        Some((price, sits))
    }
}

impl Bond {
    /// Whether an offer may stay open where this is the class; always for other bonds.
    fn is_of(&self, offer: &Offer, chosen: u32) -> bool {
        match self {
            Self::Alike { seats, class, .. } => {
                !seats.contains(&offer.seat) || class[offer.unit].is_none_or(|one| one == chosen)
            }
            _ => true,
        }
    }

    /// The classes that are offered in its seats.
    fn classes(&self, offers: &[Offer]) -> BTreeSet<u32> {
        let Self::Alike { seats, class, .. } = self else {
            return BTreeSet::new();
        };
        let here = offers.iter().filter(|offer| seats.contains(&offer.seat));
        here.filter_map(|offer| class[offer.unit]).collect()
    }

    /// The measured units that are offered in its seats, by their steps in its order.
    fn measured(&self, offers: &[Offer]) -> Vec<usize> {
        let Self::Within { seats, order } = self else {
            return Vec::new();
        };
        let here = offers.iter().filter(|offer| seats.contains(&offer.seat));
        let here: BTreeSet<usize> = here.map(|offer| offer.unit).collect();
        let steps = 0..order.len();
        steps
            .filter(|step| here.contains(&order[*step].0))
            .collect()
    }

    /// Whether any allotment by these offers breaks it.
    fn may_break(&self, offers: &[Offer]) -> bool {
        match self {
            Self::Alike { settled, .. } => {
                let classes = self.classes(offers).into_iter().chain(*settled);
                classes.collect::<BTreeSet<u32>>().len() > 1
            }
            Self::Within { order, .. } => match self.measured(offers).as_slice() {
                [least, .., most] => *most > order[*least].1,
                _ => false,
            },
            Self::Apart(one, other) => {
                let offered = |units: &BTreeSet<usize>| {
                    offers.iter().any(|offer| units.contains(&offer.unit))
                };
                offered(one) && offered(other)
            }
        }
    }

    /// Whether an allotment keeps it.
    #[must_use]
    pub fn is_met(&self, allotment: &[Option<usize>]) -> bool {
        let in_seats = |seats: &BTreeSet<usize>| -> Vec<usize> {
            seats.iter().filter_map(|seat| allotment[*seat]).collect()
        };
        match self {
            Self::Alike {
                seats,
                class,
                settled,
            } => {
                let classes = in_seats(seats).into_iter().filter_map(|unit| class[unit]);
                let classes: BTreeSet<u32> = classes.chain(*settled).collect();
                classes.len() < 2
            }
            Self::Within { seats, order } => {
                let units = in_seats(seats);
                let mut places = (0..order.len()).filter(|place| units.contains(&order[*place].0));
                match (places.next(), places.next_back()) {
                    (Some(least), Some(most)) => most <= order[least].1,
                    _ => true,
                }
            }
            Self::Apart(one, other) => {
                let sits = |units: &BTreeSet<usize>| {
                    allotment.iter().flatten().any(|unit| units.contains(unit))
                };
                !(sits(one) && sits(other))
            }
        }
    }
}
