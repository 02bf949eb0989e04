//! # identity-disagrees
//!
//! A chassis, engine or gearbox number is not the same in two records that speak of
//! one thing, is the same in two that don't, or can't be such a number.
//!
//! These are the numbers that papers name. A slip in one costs an inspection; two
//! engines with one number are a question that nobody wants to be asked. Blanks,
//! dots, hyphens and the size of letters don't count.
//!
//! - A piece of a part that `bears` such a number, and its donor.
//! - Two donors, or two pieces, with one number.
//! - The car and a donor with one chassis number; a donor of the same maker, model
//!   and year is taken for the car itself.
//! - The car and the body or chassis that is in it: a warning until that is on for
//!   good.
//! - A number built as `vin` says: seventeen letters and digits without I, O and Q
//!   (ISO 3779, from memory). With `vin with check digit` the ninth must be the
//!   one that the others come to (49 CFR 565.15).
//! - A number of seventeen letters and digits that says nothing of how it is
//!   built. I, O and Q stand in none, and one that begins with 1 to 5 is of North
//!   America (ISO 3780, from memory) and has a check digit. One of Europe or
//!   Japan may have any character there, and a car of before 1980 has its maker's
//!   own number (seventeen came with model year 1981, from memory): these are let
//!   be. Write `numbering: vin` for a car that was built in North America for
//!   sale elsewhere and has no check digit, and `maker's own` for what is no such
//!   number at all.
//!
//! An engine or gearbox with another number than the papers name is what a swap is
//! about. So this is said as a warning, once it is on for good: the papers want to
//! follow before the car is on the road. What the authority asks for differs from
//! country to country: ask it before the work, and never alter a stamped number.
//!
//! ## Wrong
//!
//! ```yaml build.yaml
//! name: Example
//! car: {maker: Oriel, model: Wren, chassis-number: "OW 1971-204",
//!   engine-number: "OR-3310"}
//! ```
//!
//! ```yaml donors/all.yaml
//! van: {maker: Pell, engine-number: "P16-88120", chassis-number: "OW1971204"}
//! coupe: {maker: Pell, engine-number: "p16 88120",
//!   chassis-number: "ZZ9PC16AXT2042878", numbering: vin with check digit}
//! estate: {maker: Pell, chassis-number: "ZZ9PC16AZTO392124", numbering: vin}
//! pickup: {maker: Tarn, year: 1996, chassis-number: "1ZZPC16A4T2042788"}
//! shell: {maker: Tarn, chassis-number: "ZZ9PC16AZT2O92124"}
//! ```
//!
//! ```yaml parts/all.yaml
//! short-block:
//!   name: Short block
//!   bears: engine number
//!   pieces:
//!     B1: {donor: van, stamped: "P16-88210"}
//!     B2: {stamped: "P16-4471", goes: engine/block,
//!       fitted: [{as: final, when: 2026-02-20}]}
//! gearbox:
//!   name: Gearbox
//!   bears: gearbox number
//!   pieces: {X1: {stamped: "G5-7703"}, X2: {stamped: "G5 7703"}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {block: {}}}
//! ```
//!
//! ```text
//! donors/all.yaml:1:35: error: `van` has the engine number `P16-88120`, and so has `coupe` (there written `p16 88120`) [identity-disagrees]
//!     donors/all.yaml:2:37: the other donor's number
//!     to do: mend the one that is wrong; if both are one donor, make one record of them
//! donors/all.yaml:1:64: error: `van` has the chassis number `OW1971204`, and so has the car (there written `OW 1971-204`) [identity-disagrees]
//!     build.yaml:2:50: the car's number
//!     to do: mend the one that is wrong; if that donor is the car itself, give it the car's `maker`, `model` and `year`
//! donors/all.yaml:3:19: error: `ZZ9PC16AXT2042878` can't be the chassis number of `coupe`: its check digit, the ninth character, is X, and the others come to 0 [identity-disagrees]
//!     to do: read it again from the car or its papers; if its maker built it in another way, write that as `numbering`
//! donors/all.yaml:4:39: error: `ZZ9PC16AZTO392124` can't be the chassis number of `estate`: its character 11 is O, and I, O and Q are never used, being too like 1 and 0 [identity-disagrees]
//!     to do: read it again from the car or its papers; if its maker built it in another way, write that as `numbering`
//! donors/all.yaml:5:51: error: `1ZZPC16A4T2042788` can't be the chassis number of `pickup`: its check digit, the ninth character, is 4, and the others come to 1; it begins as one of North America, which has a check digit [identity-disagrees]
//!     to do: read it again from the car or its papers; if the car was built for sale elsewhere and has no check digit, write `numbering: vin`
//! donors/all.yaml:6:38: error: `ZZ9PC16AZT2O92124` can't be the chassis number of `shell`: its character 12 is O, and I, O and Q are never used, being too like 1 and 0 [identity-disagrees]
//!     to do: read it again from the car or its papers; if its maker built it in another way, write that as `numbering`
//! parts/all.yaml:5:31: error: `short-block/B1` is stamped `P16-88210`, and its donor `van` has the engine number `P16-88120` [identity-disagrees]
//!     donors/all.yaml:1:35: the donor's number
//!     to do: read the stamp again and mend what is wrong: `stamped`, `donor`, or the donor's number
//! parts/all.yaml:7:16: warning: `short-block/B2` is on in engine/block for good and is stamped `P16-4471`, and the car's papers name the engine number `OR-3310` [identity-disagrees]
//!     parts/all.yaml:6:19: what is stamped
//!     build.yaml:3:18: what the papers name
//!     to do: ask the authority that registers the car what it wants and have the papers changed, then write the new number in build.yaml
//! parts/all.yaml:11:52: error: `gearbox/X2` is stamped `G5 7703`, and so is `gearbox/X1` (there written `G5-7703`) [identity-disagrees]
//!     parts/all.yaml:11:26: the other piece's number
//!     to do: read both stamps again and mend the one that is wrong; if it is one piece, keep one mark
//! ```
//!
//! ## Right
//!
//! The engine is planned and the papers still name the old one; the numbers are
//! written in two ways and are the same.
//!
//! ```yaml build.yaml
//! name: Example
//! car: {maker: Oriel, model: Wren, year: 1971, engine-number: "OR-3310"}
//! ```
//!
//! ```yaml donors/all.yaml
//! van: {maker: Pell, engine-number: "P16-88120",
//!   chassis-number: "ZZ9PC16AXT2042788", numbering: vin with check digit}
//! estate: {maker: Pell, chassis-number: "ZZ9PC16AZT2392124"}
//! pickup: {maker: Tarn, year: 1996, chassis-number: "1ZZPC16A1T2042788"}
//! pickup-for-export: {maker: Tarn, year: 1996, numbering: vin,
//!   chassis-number: "1ZZPC16AZT2042799"}
//! roadster: {maker: Oriel, year: 1962, chassis-number: "OIQ 1962/14"}
//! ```
//!
//! ```yaml parts/all.yaml
//! short-block:
//!   name: Short block
//!   bears: engine number
//!   pieces:
//!     B1: {donor: van, stamped: "P16 88120", condition: serviceable,
//!       goes: engine/block}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {block: {}}}
//! ```

use std::collections::{BTreeMap, BTreeSet};

use crate::finding::{Finding, Level};
use crate::lint::at::{Spot, how};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::build::Car;
use crate::model::common::{Numbering, Stage};
use crate::model::donor::Donor;
use crate::model::part::Bears;
use crate::present::Piece;
use crate::reckon::vin::{Fault, has_seventeen, is_north_american, look, plain};

/// The rule.
pub const RULE: Rule = Rule {
    name: "identity-disagrees",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

/// A number that papers name, and its key in the records of the car and of donors.
const NUMBERS: [(Bears, &str); 3] = [
    (Bears::Chassis, "chassis-number"),
    (Bears::Engine, "engine-number"),
    (Bears::Gearbox, "gearbox-number"),
];

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for (bears, key) in NUMBERS {
        let number = Number { cx, bears, key };
        number.of_donors(findings);
        number.of_pieces(findings);
        number.of_pieces_and_donors(findings);
        number.of_the_car(findings);
    }
    forms(cx, findings);
}

fn of_donor(donor: &Donor, bears: Bears) -> Option<&str> {
    let number = match bears {
        Bears::Chassis => &donor.chassis_number,
        Bears::Engine => &donor.engine_number,
        Bears::Gearbox => &donor.gearbox_number,
        Bears::Unit => &None,
    };
    number.as_deref().filter(|number| !plain(number).is_empty())
}

fn of_car(car: &Car, bears: Bears) -> Option<&str> {
    let number = match bears {
        Bears::Chassis => &car.chassis_number,
        Bears::Engine => &car.engine_number,
        Bears::Gearbox => &car.gearbox_number,
        Bears::Unit => &None,
    };
    number.as_deref().filter(|number| !plain(number).is_empty())
}

fn same(a: &str, b: &str) -> bool {
    plain(a) == plain(b)
}

/// Two ways of writing, where they differ.
fn also_written(a: &str, b: &str) -> String {
    if a == b {
        String::new()
    } else {
        format!(" (there written `{b}`)")
    }
}

/// One of the numbers, through all records.
struct Number<'a, 'b> {
    cx: &'a Context<'b>,
    bears: Bears,
    key: &'static str,
}

impl Number<'_, '_> {
    fn donor_at(&self, id: &str) -> Option<Spot> {
        self.cx.value_at(Kind::Donors, id, &[self.key.into()])
    }

    fn stamp_at(&self, piece: &Piece<'_>) -> Option<Spot> {
        self.cx.in_piece_at(piece, &["stamped".into()])
    }

    fn donors(&self) -> impl Iterator<Item = (&str, &str, &Donor)> {
        self.cx.folder.model.donor.iter().filter_map(|(id, donor)| {
            let data = &*donor.data;
            Some((id.as_str(), of_donor(data, self.bears)?, data))
        })
    }

    fn pieces(&self) -> impl Iterator<Item = (&Piece<'_>, &str)> {
        let pieces = self.cx.present().pieces.iter();
        let bearing = pieces.filter(|piece| piece.of.bears == Some(self.bears));
        bearing.filter_map(|piece| {
            let stamped = piece.record.stamped.as_deref()?;
            (!plain(stamped).is_empty()).then_some((piece, stamped))
        })
    }

    fn of_donors(&self, findings: &mut Vec<Finding>) {
        let (cx, word) = (self.cx, self.bears.word());
        let mut seen: BTreeMap<String, (&str, &str)> = BTreeMap::new();
        for (id, number, _) in self.donors() {
            let Some((other, theirs)) = seen.get(&plain(number)).copied() else {
                seen.insert(plain(number), (id, number));
                continue;
            };
            let message = format!(
                "`{id}` has the {word} `{number}`, and so has `{other}`{}",
                also_written(number, theirs)
            );
            let remedy =
                "mend the one that is wrong; if both are one donor, make one record of them";
            let finding = cx.finding_in(self.donor_at(id), message, remedy);
            findings.extend(finding.map(|finding| {
                finding.see_at(cx, self.donor_at(other), "the other donor's number")
            }));
        }
    }

    fn of_pieces(&self, findings: &mut Vec<Finding>) {
        let cx = self.cx;
        let mut seen: BTreeMap<String, (&Piece<'_>, &str)> = BTreeMap::new();
        for (piece, number) in self.pieces() {
            let Some((other, theirs)) = seen.get(&plain(number)).copied() else {
                seen.insert(plain(number), (piece, number));
                continue;
            };
            let message = format!(
                "`{}` is stamped `{number}`, and so is `{}`{}",
                piece.name(),
                other.name(),
                also_written(number, theirs)
            );
            let remedy =
                "read both stamps again and mend the one that is wrong; if it is one piece, keep one mark";
            let finding = cx.finding_in(self.stamp_at(piece), message, remedy);
            findings.extend(finding.map(|finding| {
                finding.see_at(cx, self.stamp_at(other), "the other piece's number")
            }));
        }
    }

    fn of_pieces_and_donors(&self, findings: &mut Vec<Finding>) {
        let (cx, word) = (self.cx, self.bears.word());
        for (piece, stamped) in self.pieces() {
            let Some(id) = piece.record.donor.as_ref().map(|donor| donor.as_str()) else {
                continue;
            };
            let Some(donor) = cx.folder.model.donor.get(id) else {
                continue;
            };
            let others = || self.donors().find(|(_, number, _)| same(number, stamped));
            let (message, spot, words) = match of_donor(&donor.data, self.bears) {
                Some(number) if same(number, stamped) => continue,
                Some(number) => {
                    let whose = match others() {
                        Some((other, ..)) => format!(", and `{other}` has the one that is stamped"),
                        None => String::new(),
                    };
                    let message = format!(
                        "`{}` is stamped `{stamped}`, and its donor `{id}` has the {word} `{number}`{whose}",
                        piece.name()
                    );
                    (message, self.donor_at(id), "the donor's number")
                }
                None => {
                    let Some((other, number, _)) = others() else {
                        continue;
                    };
                    let message = format!(
                        "`{}` is stamped `{stamped}` and comes from `{id}`, and that is the {word} of `{other}`{}",
                        piece.name(),
                        also_written(stamped, number)
                    );
                    (message, self.donor_at(other), "the other donor's number")
                }
            };
            let remedy = "read the stamp again and mend what is wrong: `stamped`, `donor`, or the donor's number";
            let finding = cx.finding_in(self.stamp_at(piece), message, remedy);
            findings.extend(finding.map(|finding| finding.see_at(cx, spot, words)));
        }
    }

    fn of_the_car(&self, findings: &mut Vec<Finding>) {
        let (cx, word) = (self.cx, self.bears.word());
        let Some(car) = &cx.folder.model.build.car else {
            return;
        };
        let Some(number) = of_car(car, self.bears) else {
            return;
        };
        let of_the_car = cx.build_at(&["car".into(), self.key.into()]);
        if self.bears == Bears::Chassis {
            for (id, theirs, donor) in self.donors() {
                if !same(number, theirs) || is_the_car(car, donor) {
                    continue;
                }
                let message = format!(
                    "`{id}` has the {word} `{theirs}`, and so has the car{}",
                    also_written(theirs, number)
                );
                let remedy = "mend the one that is wrong; if that donor is the car itself, give it the car's `maker`, `model` and `year`";
                let finding = cx.finding_in(self.donor_at(id), message, remedy);
                findings.extend(
                    finding.map(|finding| finding.see_at(cx, of_the_car, "the car's number")),
                );
            }
        }
        let present = cx.present();
        for (piece, stamped) in self.pieces() {
            let Some(stay) = present.foremost(piece).filter(|_| !same(stamped, number)) else {
                continue;
            };
            let is_chassis = self.bears == Bears::Chassis;
            if !is_chassis && stay.claim != Stage::Final {
                continue;
            }
            let message = format!(
                "`{}` {} and is stamped `{stamped}`, and the car's papers name the {word} `{number}`",
                piece.name(),
                how(present, stay)
            );
            let remedy = if is_chassis {
                "read the stamp again and mend the number that is wrong; if the body was changed, ask the authority that registers the car"
            } else {
                "ask the authority that registers the car what it wants and have the papers changed, then write the new number in build.yaml"
            };
            let finding = cx.finding_in(cx.stay_at(stay), message, remedy);
            findings.extend(finding.map(|finding| {
                let finding = if is_chassis {
                    finding.by_claim(stay.claim, Level::Warning)
                } else {
                    finding.at_level(Level::Warning)
                };
                finding
                    .see_at(cx, self.stamp_at(piece), "what is stamped")
                    .see_at(cx, of_the_car, "what the papers name")
            }));
        }
    }
}

/// Whether a donor is the car that is built: what it was is the same, as far as it is said.
fn is_the_car(car: &Car, donor: &Donor) -> bool {
    let agree = |a: &Option<String>, b: &Option<String>| match (a, b) {
        (Some(a), Some(b)) => plain(a) == plain(b),
        _ => true,
    };
    car.maker.is_some()
        && donor.maker.is_some()
        && agree(&car.maker, &donor.maker)
        && agree(&car.model, &donor.model)
        && (car.year.is_none() || donor.year.is_none() || car.year == donor.year)
}

/// The first year of a car that may have seventeen characters without saying so: model year
/// 1981, from September 1980 on (49 CFR 565 and what it took the place of, from memory).
const SEVENTEEN_SINCE: u32 = 1980;

/// How much of a number is judged; none where it may be built in any way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Judged {
    /// The characters.
    Form,
    /// The check digit too, as `numbering` says.
    CheckDigit,
    /// The check digit too, because of where it begins.
    NorthAmerican,
}

fn judged(number: &str, numbering: Option<Numbering>, year: Option<u32>) -> Option<Judged> {
    match numbering {
        Some(Numbering::Own) => None,
        Some(Numbering::Vin) => Some(Judged::Form),
        Some(Numbering::VinChecked) => Some(Judged::CheckDigit),
        None if year.is_some_and(|year| year < SEVENTEEN_SINCE) => None,
        None if is_north_american(number) => Some(Judged::NorthAmerican),
        None => has_seventeen(number).then_some(Judged::Form),
    }
}

/// Numbers that can't be what they are said to be.
fn forms(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let mut judge = |whose: String, number: &str, numbering, year, spot| {
        let Some(judged) = judged(number, numbering, year) else {
            return;
        };
        let Err(fault) = look(number, judged != Judged::Form) else {
            return;
        };
        let begins = match fault {
            Fault::CheckDigit(..) if judged == Judged::NorthAmerican => {
                "; it begins as one of North America, which has a check digit"
            }
            _ => "",
        };
        let message = format!("`{number}` can't be the chassis number of {whose}: {fault}{begins}");
        let remedy = if begins.is_empty() {
            "read it again from the car or its papers; if its maker built it in another way, write that as `numbering`"
        } else {
            "read it again from the car or its papers; if the car was built for sale elsewhere and has no check digit, write `numbering: vin`"
        };
        findings.extend(cx.finding_in(spot, message, remedy));
    };
    let mut told: BTreeSet<String> = BTreeSet::new();
    let car = cx.folder.model.build.car.as_ref();
    if let Some(car) = car
        && let Some(number) = of_car(car, Bears::Chassis)
    {
        told.insert(plain(number));
        let spot = cx.build_at(&["car".into(), "chassis-number".into()]);
        judge("the car".to_owned(), number, car.numbering, car.year, spot);
    }
    for (id, donor) in &cx.folder.model.donor {
        let donor = &*donor.data;
        if let Some(number) = of_donor(donor, Bears::Chassis) {
            told.insert(plain(number));
            let spot = cx.value_at(Kind::Donors, id, &["chassis-number".into()]);
            judge(format!("`{id}`"), number, donor.numbering, donor.year, spot);
        }
    }
    let bearing = cx.present().pieces.iter().filter(|piece| piece.of.bears == Some(Bears::Chassis));
    for piece in bearing {
        // What the car or a donor has as well is told there.
        let Some(number) = piece.record.stamped.as_deref().filter(|number| !told.contains(&plain(number))) else {
            continue;
        };
        let of_donor = |donor: &str| {
            let donor = &cx.folder.model.donor.get(donor)?.data;
            Some((donor.numbering, donor.year))
        };
        let (numbering, year) = match &piece.record.donor {
            Some(donor) => of_donor(donor.as_str()).unwrap_or_default(),
            None => car.map(|car| (car.numbering, car.year)).unwrap_or_default(),
        };
        let spot = cx.in_piece_at(piece, &["stamped".into()]);
        judge(format!("`{}`", piece.name()), number, numbering, year, spot);
    }
}
