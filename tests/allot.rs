//! `allot`: the best allotment of pieces to places, against trying them all.

#![allow(clippy::disallowed_methods)]

use std::collections::BTreeSet;

use matchmark::allot::solve::{Bond, Offer, Price, Problem};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngSeed, TestRunner};

/// A bond, as the test itself understands it: no orders and reaches, only values.
#[derive(Debug, Clone)]
enum Rule {
    Alike(BTreeSet<usize>, Vec<Option<u32>>, Option<u32>),
    Within(BTreeSet<usize>, Vec<Option<u32>>, u32),
    Apart(BTreeSet<usize>, BTreeSet<usize>),
}

impl Rule {
    fn bond(&self) -> Bond {
        match self {
            Self::Alike(seats, class, settled) => Bond::Alike {
                seats: seats.clone(),
                class: class.clone(),
                settled: *settled,
            },
            Self::Within(seats, values, spread) => {
                let mut measured: Vec<(u32, usize)> = values
                    .iter()
                    .enumerate()
                    .filter_map(|(unit, value)| Some(((*value)?, unit)))
                    .collect();
                measured.sort_unstable();
                let order = measured.iter().map(|(value, unit)| {
                    let reach = measured
                        .iter()
                        .filter(|(other, _)| *other <= value + spread);
                    (*unit, reach.count() - 1)
                });
                Bond::Within {
                    seats: seats.clone(),
                    order: order.collect(),
                }
            }
            Self::Apart(one, other) => Bond::Apart(one.clone(), other.clone()),
        }
    }

    fn allows(&self, allotment: &[Option<usize>]) -> bool {
        let pairs = |seats: &BTreeSet<usize>| -> Vec<usize> {
            let sits = allotment.iter().enumerate();
            sits.filter(|(seat, _)| seats.contains(seat))
                .filter_map(|(_, unit)| *unit)
                .collect()
        };
        match self {
            Self::Alike(seats, class, settled) => {
                let sits = pairs(seats);
                let mut known: Vec<u32> = sits.iter().filter_map(|unit| class[*unit]).collect();
                known.extend(settled);
                known.iter().all(|one| *one == known[0])
            }
            Self::Within(seats, values, spread) => {
                let sits = pairs(seats);
                let known: Vec<u32> = sits.iter().filter_map(|unit| values[*unit]).collect();
                known
                    .iter()
                    .all(|one| known.iter().all(|other| one.abs_diff(*other) <= *spread))
            }
            Self::Apart(one, other) => {
                let any = |set: &BTreeSet<usize>| {
                    allotment.iter().flatten().any(|unit| set.contains(unit))
                };
                !any(one) || !any(other)
            }
        }
    }
}

/// The best price there is, by trying every allotment.
fn best_of_all(problem: &Problem, rules: &[Rule]) -> Price {
    fn go(
        problem: &Problem,
        rules: &[Rule],
        sits: &mut Vec<Option<usize>>,
        sum: Price,
        best: &mut Option<Price>,
    ) {
        let seat = sits.len();
        if seat == problem.seats.len() {
            if rules.iter().all(|rule| rule.allows(sits)) && best.is_none_or(|best| sum < best) {
                *best = Some(sum);
            }
            return;
        }
        sits.push(None);
        go(problem, rules, sits, sum + problem.seats[seat], best);
        sits.pop();
        for offer in problem.offers.iter().filter(|offer| offer.seat == seat) {
            if !sits.contains(&Some(offer.unit)) {
                sits.push(Some(offer.unit));
                go(problem, rules, sits, sum + offer.price, best);
                sits.pop();
            }
        }
    }
    let mut best = None;
    go(problem, rules, &mut Vec::new(), Price::default(), &mut best);
    best.unwrap()
}

fn price() -> impl Strategy<Value = Price> {
    (0..2_u32, 0..3_u32, 0..5_u32).prop_map(|(unproven, changes, kept)| Price {
        unproven,
        empty: 0,
        changes,
        kept,
    })
}

fn some_of(most: usize) -> impl Strategy<Value = BTreeSet<usize>> {
    proptest::collection::btree_set(0..most.max(1), 0..=most)
}

fn rule(seats: usize, units: usize) -> impl Strategy<Value = Rule> {
    let class = || proptest::collection::vec(proptest::option::weighted(0.8, 0..3_u32), units);
    let value = proptest::collection::vec(proptest::option::weighted(0.8, 0..9_u32), units);
    prop_oneof![
        3 => (some_of(seats), class(), proptest::option::weighted(0.2, 0..3_u32))
            .prop_map(|(seats, class, settled)| Rule::Alike(seats, class, settled)),
        3 => (some_of(seats), value, 0..5_u32)
            .prop_map(|(seats, values, spread)| Rule::Within(seats, values, spread)),
        1 => (some_of(units), some_of(units)).prop_map(|(one, other)| {
            let other = other.difference(&one).copied().collect();
            Rule::Apart(one, other)
        }),
    ]
}

fn case() -> impl Strategy<Value = (Problem, Vec<Rule>)> {
    (1..=5_usize, 1..=6_usize).prop_flat_map(|(seats, units)| {
        let empty = proptest::collection::vec((0..2_u32, 0..3_u32), seats);
        let pairs =
            proptest::collection::vec(proptest::option::weighted(0.7, price()), seats * units);
        let rules = proptest::collection::vec(rule(seats, units), 0..4);
        (empty, pairs, rules).prop_map(move |(empty, pairs, rules)| {
            let seats = empty.iter().map(|(optional, changes)| Price {
                unproven: 1 - optional,
                empty: 1 - optional,
                changes: *changes,
                kept: 0,
            });
            let offers = pairs.iter().enumerate().filter_map(|(number, price)| {
                Some(Offer {
                    seat: number / units,
                    unit: number % units,
                    price: (*price)?,
                })
            });
            let problem = Problem {
                seats: seats.collect(),
                units,
                offers: offers.collect(),
                bonds: rules.iter().map(Rule::bond).collect(),
            };
            (problem, rules)
        })
    })
}

/// How many random cases are tried against all allotments.
const CASES: u32 = 4000;

#[test]
fn no_allotment_is_better_than_the_one_that_is_found() {
    let config = Config {
        cases: CASES,
        rng_seed: RngSeed::Fixed(4),
        failure_persistence: None,
        ..Config::default()
    };
    let result = TestRunner::new(config).run(&case(), |(problem, rules)| {
        let found = problem.solve();
        let mut seen = BTreeSet::new();
        for (seat, unit) in found.iter().enumerate() {
            let Some(unit) = unit else { continue };
            prop_assert!(seen.insert(*unit), "unit {unit} sits twice");
            prop_assert!(
                problem
                    .offers
                    .iter()
                    .any(|offer| offer.seat == seat && offer.unit == *unit),
                "unit {unit} was not offered seat {seat}"
            );
        }
        prop_assert!(rules.iter().all(|rule| rule.allows(&found)), "{found:?}");
        prop_assert_eq!(problem.price(&found), best_of_all(&problem, &rules));
        Ok(())
    });
    if let Err(error) = result {
        panic!("{error}");
    }
}
