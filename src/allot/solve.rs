//! Who sits where: the best allotment of units to seats, exactly.
//!
//! A seat takes one unit, a unit one seat, and each pair has its price. That alone is the
//! assignment problem, which a library solves (`kuhn_munkres`: H. W. Kuhn, Naval Research
//! Logistics Quarterly 2 (1955) 83; J. Munkres, J. SIAM 5 (1957) 32). Bonds say which
//! units may not sit together: those of one set must be of one class and within a spread.
//! Without its bonds a problem can only get cheaper. So whatever meets all bonds and is
//! the cheapest of what is left open is the best; where a bond is broken the problem is
//! divided into all ways of keeping it, and the cheapest of these is looked at next.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

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

impl Price {
    /// One figure in which each of the four outweighs all that come after it.
    fn figure(self, seats: usize) -> i128 {
        let base = i128::from(MOST) * (seats as i128 + 1) + 1;
        [self.unproven, self.empty, self.changes, self.kept]
            .into_iter()
            .fold(0, |sum, one| sum * base + i128::from(one.min(MOST)))
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

/// Which offers are still open.
type Open = Vec<bool>;

impl Problem {
    /// The best allotment: there is always one, as a seat may stay empty. Seats that
    /// neither a unit nor a bond has in common are allotted by themselves.
    #[must_use]
    pub fn solve(&self) -> Allotment {
        let mut allotment = vec![None; self.seats.len()];
        for seats in self.apart() {
            let (part, units) = self.part(&seats);
            for (seat, unit) in seats.iter().zip(part.solve_whole()) {
                allotment[*seat] = unit.map(|unit| units[unit]);
            }
        }
        allotment
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

    fn solve_whole(&self) -> Allotment {
        let mut open = vec![true; self.offers.len()];
        for bond in &self.bonds {
            if let Bond::Alike {
                settled: Some(settled),
                ..
            } = bond
            {
                self.keep_class(bond, *settled, &mut open);
            }
        }
        let mut queue = BinaryHeap::new();
        let mut waiting = Vec::new();
        let mut ways = vec![open];
        loop {
            for open in ways.drain(..) {
                let (figure, allotment) = self.cheapest(&open);
                // Of equals the one that was divided furthest comes first.
                queue.push((Reverse(figure), waiting.len()));
                waiting.push((open, allotment));
            }
            let Some((_, number)) = queue.pop() else {
                // Not reached: the ways of keeping a bond are all ways.
                return vec![None; self.seats.len()];
            };
            let (open, allotment) = std::mem::take(&mut waiting[number]);
            match self.bonds.iter().find(|bond| !bond.is_met(&allotment)) {
                None => return allotment,
                Some(bond) => ways = self.ways_to_keep(bond, &open),
            }
        }
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

    /// The cheapest allotment by the open offers, whatever the bonds.
    fn cheapest(&self, open: &Open) -> (i128, Allotment) {
        let seats = self.seats.len();
        if seats == 0 {
            return (0, Vec::new());
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
        for (offer, open) in self.offers.iter().zip(open) {
            if *open {
                prices[(offer.seat, offer.unit)] = offer.price.figure(seats);
            }
        }
        for (seat, price) in self.seats.iter().enumerate() {
            prices[(seat, self.units + seat)] = price.figure(seats);
        }
        let (figure, taken) = kuhn_munkres_min(&prices);
        let units = taken.into_iter();
        (
            figure,
            units
                .map(|unit| (unit < self.units).then_some(unit))
                .collect(),
        )
    }

    /// All ways of keeping a bond that an allotment broke. Whatever keeps it is in one.
    fn ways_to_keep(&self, bond: &Bond, open: &Open) -> Vec<Open> {
        let mut ways = Vec::new();
        match bond {
            Bond::Alike { class, .. } => {
                let classes: BTreeSet<u32> = class.iter().flatten().copied().collect();
                for one in classes {
                    let mut way = open.clone();
                    self.keep_class(bond, one, &mut way);
                    ways.push(way);
                }
            }
            Bond::Within { seats, order } => {
                for (place, (_, last)) in order.iter().enumerate() {
                    let together: BTreeSet<usize> =
                        order[place..=*last].iter().map(|(unit, _)| *unit).collect();
                    let measured: BTreeSet<usize> = order.iter().map(|(unit, _)| *unit).collect();
                    let mut way = open.clone();
                    for (offer, open) in self.offers.iter().zip(&mut way) {
                        *open &= !seats.contains(&offer.seat)
                            || !measured.contains(&offer.unit)
                            || together.contains(&offer.unit);
                    }
                    ways.push(way);
                }
            }
            Bond::Apart(one, other) => {
                for side in [one, other] {
                    let mut way = open.clone();
                    for (offer, open) in self.offers.iter().zip(&mut way) {
                        *open &= !side.contains(&offer.unit);
                    }
                    ways.push(way);
                }
            }
        }
        ways
    }

    fn keep_class(&self, bond: &Bond, kept: u32, open: &mut Open) {
        let Bond::Alike { seats, class, .. } = bond else {
            return;
        };
        for (offer, open) in self.offers.iter().zip(open) {
            *open &=
                !seats.contains(&offer.seat) || class[offer.unit].is_none_or(|one| one == kept);
        }
    }
}

impl Bond {
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
