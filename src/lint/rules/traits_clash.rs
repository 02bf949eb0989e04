//! # traits-clash
//!
//! Parts of different variants meet: one gives what another does not suit.
//!
//! A trait says how variants differ: ignition by distributor or a coil for each
//! cylinder, fuel with a return pipe or without. Parts, assemblies and the car give
//! traits (`gives`), and others need them around them (`suits`). What is given goes
//! up from an assembly into the one it goes into; what suits looks at its own
//! assembly first, then upward, and the first that is given the trait decides.
//!
//! Two that give different words clash, and so does what suits another word than
//! the one given. What suits a trait that nothing gives is told too. It is a
//! warning until both are on for good: at mock-up variants may well be mixed.
//!
//! A part without a number is known by its donor alone, so it is taken to suit its
//! donor's `variant`, unless it says otherwise. That only makes it likely, and is a
//! note until it is on for good.
//!
//! ## Wrong
//!
//! ```yaml donors/all.yaml
//! tarn-estate: {maker: Tarn, variant: {fuel-return: with}}
//! ```
//!
//! ```yaml parts/all.yaml
//! head:
//!   name: Cylinder head
//!   number: "16-HD-2"
//!   gives: {ignition: coil-per-cylinder}
//!   pieces: {H1: {goes: engine/head, fitted: [{as: final, when: 2026-02-20}]}}
//! front-cover:
//!   name: Front cover with distributor drive
//!   number: "16-FC-1"
//!   gives: {ignition: distributor}
//!   pieces: {F1: {goes: engine/cover}}
//! control-unit:
//!   name: Control unit
//!   number: "0412"
//!   suits: {ignition: coil-per-cylinder, trigger-wheel: 58-tooth}
//!   pieces: {U1: {goes: cabin/unit, fitted: [{as: final, when: 2026-02-20}]}}
//! rail:
//!   name: Fuel rail
//!   number: "16-FR-1"
//!   gives: {fuel-return: without}
//!   pieces: {R1: {goes: fuel/rail, fitted: [{as: mock-up, when: 2026-02-20}]}}
//! regulator:
//!   name: Pressure regulator
//!   pieces: {G1: {donor: tarn-estate, goes: fuel/regulator}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {head: {}, cover: {}}}
//! fuel: {in: engine, places: {rail: {}, regulator: {}}}
//! cabin: {in: car, places: {unit: {}}}
//! ```
//!
//! ```text
//! parts/all.yaml:10:23: warning: `front-cover/F1`, which is meant for engine/cover, gives ignition: distributor, and `head/H1`, which is on in engine/head for good, gives coil-per-cylinder [traits-clash]
//!     parts/all.yaml:9:21: what it gives
//!     parts/all.yaml:4:21: what the other gives
//!     to do: only one of them can be right: plan another piece, or mend `gives`
//! parts/all.yaml:15:44: warning: `control-unit/U1`, which is on in cabin/unit for good, suits ignition: coil-per-cylinder, and `front-cover/F1`, which is meant for engine/cover, gives ignition: distributor [traits-clash]
//!     parts/all.yaml:14:21: what it suits
//!     parts/all.yaml:9:21: what is given
//!     to do: put a piece of the right variant there, or mend `suits` or `gives`
//! parts/all.yaml:15:44: error: `control-unit/U1`, which is on in cabin/unit for good, suits trigger-wheel: 58-tooth, and nothing around it gives `trigger-wheel` [traits-clash]
//!     parts/all.yaml:14:55: what it suits
//!     to do: plan the part that gives it, or write what gives it under `gives`
//! parts/all.yaml:23:43: note: `regulator/G1`, which is meant for fuel/regulator, suits fuel-return: with, as its donor is that variant and it has no number, and `rail/R1`, which is on in fuel/rail for mock-up, gives fuel-return: without [traits-clash]
//!     donors/all.yaml:1:51: what it suits
//!     parts/all.yaml:19:24: what is given
//!     to do: give its part its `number` if it fits both, or put another piece there
//! ```
//!
//! ## Right
//!
//! ```yaml parts/all.yaml
//! head:
//!   name: Cylinder head
//!   number: "16-HD-2"
//!   gives: {ignition: coil-per-cylinder}
//!   pieces: {H1: {condition: serviceable, goes: engine/head}}
//! unit:
//!   name: Control unit
//!   number: "0412"
//!   suits: {ignition: coil-per-cylinder}
//!   pieces: {U1: {condition: serviceable, goes: cabin/unit}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine: {in: car, places: {head: {}}}
//! cabin: {in: car, places: {unit: {}}}
//! ```

use std::collections::BTreeSet;

use crate::finding::{Finding, Level};
use crate::lint::at::{Spot, how};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::Stage;
use crate::present::{Given, Giver, Present};

/// The rule.
pub const RULE: Rule = Rule {
    name: "traits-clash",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    let whole = cx.knows_all();
    for view in present.views() {
        let flow = present.flow(*view);
        let mut told = BTreeSet::new();
        for given in (0..present.assemblies.len())
            .map(|assembly| flow.in_assembly(assembly))
            .chain([flow.car.as_slice()])
        {
            two_words(cx, given, &mut told, findings);
        }
        for (assembly, suit) in present.suits(*view) {
            let decides = present.decides(&flow, assembly, suit.name);
            let is = described(present, suit.by);
            let because = if suit.by_donor {
                ", as its donor is that variant and it has no number"
            } else {
                ""
            };
            let wants = format!("{is} suits {}: {}{because}", suit.name, suit.word);
            let spot = spot_of(cx, suit.by);
            if decides.is_empty() {
                if suit.by_donor || !whole {
                    continue;
                }
                let message = format!("{wants}, and nothing around it gives `{}`", suit.name);
                let remedy = "plan the part that gives it, or write what gives it under `gives`";
                let finding = cx.finding_in(spot, message, remedy);
                findings.extend(finding.map(|one| {
                    one.by_claim(suit.claim, Level::Warning)
                        .see_at(cx, word_of(cx, suit.by, "suits", suit.name), "what it suits")
                }));
            }
            let Some(other) = decides.into_iter().find(|one| one.word != suit.word) else {
                continue;
            };
            let gives = described(present, other.by);
            let message = format!("{wants}, and {gives} gives {}: {}", other.name, other.word);
            let remedy = if suit.by_donor {
                "give its part its `number` if it fits both, or put another piece there"
            } else {
                "put a piece of the right variant there, or mend `suits` or `gives`"
            };
            let finding = cx.finding_in(spot, message, remedy);
            findings.extend(finding.map(|one| {
                let claim = suit.claim.min(other.claim);
                let one = one.by_claim(claim, Level::Warning);
                // Its donor only makes it likely.
                let one = match (suit.by_donor, claim) {
                    (true, Stage::Bench | Stage::MockUp) => one.at_level(Level::Note),
                    _ => one,
                };
                one
                    .see_at(cx, word_of(cx, suit.by, "suits", suit.name), "what it suits")
                    .see_at(cx, word_of(cx, other.by, "gives", other.name), "what is given")
            }));
        }
    }
}

/// Two that give different words of one trait in one assembly: each pair where they meet
/// first, the later against the first.
fn two_words(
    cx: &Context<'_>,
    given: &[Given<'_>],
    told: &mut BTreeSet<Giver>,
    findings: &mut Vec<Finding>,
) {
    let present = cx.present();
    for (number, one) in given.iter().enumerate() {
        let first = given[..number].iter().find(|first| first.name == one.name);
        let Some(first) = first.filter(|first| first.word != one.word) else {
            continue;
        };
        // What is less far is the easier to mend, and the car is no piece at all.
        let (one, first) = if one.by == Giver::Car || one.claim > first.claim {
            (first, one)
        } else {
            (one, first)
        };
        if told.contains(&one.by) || told.contains(&first.by) {
            continue;
        }
        told.insert(one.by);
        let message = format!(
            "{} gives {}: {}, and {} gives {}",
            described(present, one.by),
            one.name,
            one.word,
            described(present, first.by),
            first.word
        );
        let remedy = "only one of them can be right: plan another piece, or mend `gives`";
        let finding = cx.finding_in(spot_of(cx, one.by), message, remedy);
        findings.extend(finding.map(|finding| {
            finding
                .by_claim(one.claim.min(first.claim), Level::Warning)
                .see_at(cx, word_of(cx, one.by, "gives", one.name), "what it gives")
                .see_at(cx, word_of(cx, first.by, "gives", first.name), "what the other gives")
        }));
    }
}

/// What gives or suits, in a message.
fn described(present: &Present<'_>, by: Giver) -> String {
    match by {
        Giver::Car => "the car".to_owned(),
        Giver::Assembly(number) => format!("assembly `{}`", present.assemblies[number].id),
        Giver::Stay(number) => {
            let stay = &present.stays[number];
            format!("`{}`, which {},", present.piece(stay).name(), how(present, stay))
        }
    }
}

/// Where it stands.
fn spot_of(cx: &Context<'_>, by: Giver) -> Option<Spot> {
    match by {
        Giver::Car => cx.build_at(&["gives".into()]),
        Giver::Assembly(number) => {
            cx.key_at(Kind::Assemblies, cx.present().assemblies[number].id, &[])
        }
        Giver::Stay(number) => cx.stay_at(&cx.present().stays[number]),
    }
}

/// Where its trait stands: in the part, the assembly, the car, or the donor's variant.
fn word_of(cx: &Context<'_>, by: Giver, side: &str, name: &str) -> Option<Spot> {
    let way = [side.into(), name.into()];
    match by {
        Giver::Car => cx.build_at(&way),
        Giver::Assembly(number) => {
            cx.value_at(Kind::Assemblies, cx.present().assemblies[number].id, &way)
        }
        Giver::Stay(number) => {
            let piece = cx.present().piece(&cx.present().stays[number]);
            let donor = || {
                let donor = piece.record.donor.as_ref()?.as_str();
                cx.value_at(Kind::Donors, donor, &["variant".into(), name.into()])
            };
            cx.value_at(Kind::Parts, piece.part, &way).or_else(donor)
        }
    }
}
