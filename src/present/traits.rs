//! Traits: what gives them, what suits them, and how they flow up the assemblies.

use std::collections::BTreeMap;

use super::{Present, Stay, View};
use crate::model::common::{Stage, Traits};

/// What gives a trait.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Giver {
    /// The car itself, by `build.yaml`.
    Car,
    /// An assembly, by its record.
    Assembly(usize),
    /// A piece in a place.
    Stay(usize),
}

/// A trait that is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Given<'a> {
    /// The trait.
    pub name: &'a str,
    /// Its word.
    pub word: &'a str,
    /// What gives it.
    pub by: Giver,
    /// How far that has come.
    pub claim: Stage,
}

/// A trait that something suits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Suit<'a> {
    /// The trait.
    pub name: &'a str,
    /// The word that it suits.
    pub word: &'a str,
    /// What suits it: an assembly or a piece in a place.
    pub by: Giver,
    /// How far that has come.
    pub claim: Stage,
    /// Whether only its donor's variant says so.
    pub by_donor: bool,
}

/// The traits given in each assembly, what flows up from inside it too, and in the car.
#[derive(Debug, Clone)]
pub struct Flow<'a> {
    of: Vec<Vec<Given<'a>>>,
    /// What is given in the car as a whole.
    pub car: Vec<Given<'a>>,
}

impl<'a> Flow<'a> {
    /// What is given in an assembly.
    #[must_use]
    pub fn in_assembly(&self, assembly: usize) -> &[Given<'a>] {
        &self.of[assembly]
    }
}

fn pairs(traits: &Traits) -> impl Iterator<Item = (&str, &str)> {
    traits
        .iter()
        .map(|(name, word)| (name.as_str(), word.as_str()))
}

impl<'a> Present<'a> {
    /// How far an assembly has come: closed is as good as final.
    #[must_use]
    pub fn stage_of_assembly(&self, assembly: usize) -> Stage {
        let one = &self.assemblies[assembly];
        let on = one.record.mounted.iter().filter(|on| on.until.is_none());
        let stage = on.map(super::stage_of).max().unwrap_or(Stage::Bench);
        if one.closed_by.is_some() {
            Stage::Final
        } else {
            stage
        }
    }

    /// The traits that are given, in a view.
    #[must_use]
    pub fn flow(&self, view: View) -> Flow<'a> {
        let mut flow = Flow {
            of: vec![Vec::new(); self.assemblies.len()],
            car: Vec::new(),
        };
        for (name, word) in self.build.into_iter().flat_map(|build| pairs(&build.gives)) {
            flow.car.push(Given {
                name,
                word,
                by: Giver::Car,
                claim: Stage::Final,
            });
        }
        for (number, assembly) in self.assemblies.iter().enumerate() {
            let claim = self.stage_of_assembly(number);
            let own = pairs(&assembly.record.gives).map(|(name, word)| Given {
                name,
                word,
                by: Giver::Assembly(number),
                claim,
            });
            let stays = assembly.places.iter();
            let stays = stays.flat_map(|place| self.in_place(*place, view));
            let pieces = stays.flat_map(|stay| {
                pairs(&self.piece(stay).of.gives).map(|(name, word)| Given {
                    name,
                    word,
                    by: Giver::Stay(stay.number),
                    claim: stay.claim,
                })
            });
            let all: Vec<Given<'a>> = own.chain(pieces).collect();
            if all.is_empty() {
                continue;
            }
            for outer in self.around(number) {
                flow.of[outer].extend(&all);
            }
            flow.car.extend(&all);
        }
        flow
    }

    /// What decides a trait for something in an assembly: what is given in the first
    /// assembly on the way up that is given it at all, or else in the car.
    #[must_use]
    pub fn decides(&self, flow: &Flow<'a>, assembly: usize, name: &str) -> Vec<Given<'a>> {
        let of = |given: &[Given<'a>]| -> Vec<Given<'a>> {
            let found = given.iter().filter(|given| given.name == name);
            found.copied().collect()
        };
        let around = self.around(assembly);
        let found = around.into_iter().map(|one| of(&flow.of[one]));
        found
            .chain([of(&flow.car)])
            .find(|found| !found.is_empty())
            .unwrap_or_default()
    }

    /// Whether traits hold for something in an assembly: each is given, and as wanted.
    #[must_use]
    pub fn holds(&self, flow: &Flow<'a>, assembly: usize, wanted: &Traits) -> bool {
        pairs(wanted).all(|(name, word)| {
            let given = self.decides(flow, assembly, name);
            !given.is_empty() && given.iter().all(|given| given.word == word)
        })
    }

    /// What a piece suits. Where nothing but its donor tells its variant, because its part
    /// has no number, that is the donor's.
    #[must_use]
    pub fn suits_of(&self, piece: usize) -> BTreeMap<&'a str, (&'a str, bool)> {
        let piece = &self.pieces[piece];
        let own = pairs(&piece.of.suits).map(|(name, word)| (name, (word, false)));
        let mut all: BTreeMap<&str, (&str, bool)> = own.collect();
        let donor = piece.record.donor.as_ref();
        let variant = donor.and_then(|donor| self.donors.get(donor.as_str()).copied());
        if let Some(variant) = variant.filter(|_| piece.of.number.is_none()) {
            let gives = &piece.of.gives;
            for (name, word) in pairs(variant) {
                if !gives.keys().any(|given| given.as_str() == name) {
                    all.entry(name).or_insert((word, true));
                }
            }
        }
        all
    }

    /// All that pieces in places and assemblies suit, in a view.
    #[must_use]
    pub fn suits(&self, view: View) -> Vec<(usize, Suit<'a>)> {
        let mut all = Vec::new();
        for (number, assembly) in self.assemblies.iter().enumerate() {
            let claim = self.stage_of_assembly(number);
            for (name, word) in pairs(&assembly.record.suits) {
                let by = Giver::Assembly(number);
                let suit = Suit {
                    name,
                    word,
                    by,
                    claim,
                    by_donor: false,
                };
                all.push((number, suit));
            }
            let stays = assembly.places.iter();
            for stay in stays.flat_map(|place| self.in_place(*place, view)) {
                all.extend(self.suits_of_stay(stay).map(|suit| (number, suit)));
            }
        }
        all
    }

    fn suits_of_stay(&self, stay: &Stay) -> impl Iterator<Item = Suit<'a>> {
        let (by, claim) = (Giver::Stay(stay.number), stay.claim);
        let suits = self.suits_of(stay.piece).into_iter();
        suits.map(move |(name, (word, by_donor))| Suit {
            name,
            word,
            by,
            claim,
            by_donor,
        })
    }
}
