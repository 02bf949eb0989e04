//! Plating: how much it makes a thread grow, and when it makes a bolt brittle.
//!
//! A layer lies on both flanks. Square to a flank of 60° it is one thickness; across the
//! thread's axis it shows as twice that on each side, so the pitch diameter grows by four
//! thicknesses, and the diameter over the crests by two (ISO 4042; geometry). A bolt of
//! tolerance 6g leaves a gap to the basic profile; a quarter of that gap is the thickest
//! layer with which it still screws in by right.
//!
//! Hydrogen that goes into hard steel in pickling and electroplating breaks a bolt days after
//! it was tightened. The editions of the standards differ in where that begins:
//!
//! | edition | says | seen |
//! | --- | --- | --- |
//! | ISO 4042:1999, 6 | above 320 HV the process is to be proved by test, above 365 HV by agreement | in an extract |
//! | ISO 4042:2018 and 2022 | quenched and tempered up to 390 HV needs no baking; above, measures | from memory |
//! | ASTM F1941 (2015 on) | baking above 39 HRC | from memory |
//! | ASTM B850-98(2009) | how long, by strength, at 190 to 220 °C | in a plater's chart |
//!
//! Baking begins within four hours of plating (common text of B633 and B850, from memory),
//! and does not promise that all hydrogen is out.

use super::class::{Class, Strength};
use super::geometry::Limits;
use super::measure::{Band, Length, Time, hours, in_megapascals};
use super::unit::HardnessScale;

/// The growth of the pitch diameter under a layer.
#[must_use]
pub fn pitch_diameter_grows(layer: Length) -> Length {
    layer * 4.0
}

/// The growth of the diameter under a layer.
#[must_use]
pub fn diameter_grows(layer: Length) -> Length {
    layer * 2.0
}

/// The thickest layer that the gap of a bolt of the usual tolerance takes up.
#[must_use]
pub fn thickest(limits: &Limits) -> Length {
    limits.allowance / 4.0
}

/// How much electroplating endangers a bolt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Risk {
    /// No edition asks for anything.
    None,
    /// An older edition asks for proof of the process; the newer ones ask for nothing.
    Older,
    /// Every edition asks for measures: baking, or a coat that is not electroplated.
    Every,
}

/// ISO 4042:1999: above this the process is proved by test; above the second, by agreement.
const OLDER: [u16; 2] = [320, 365];
/// ISO 4042:2018: above this measures are taken.
const NEWER: u16 = 390;
/// ASTM F1941: the same on the Rockwell scale.
const NEWER_ROCKWELL: u16 = 39;

/// How much electroplating endangers hardware of a strength, by how hard it may be.
#[must_use]
pub fn risk(strength: &Strength) -> Risk {
    let Some(hardness) = strength.hardness else {
        return Risk::None;
    };
    let most = hardness.reads.most;
    match hardness.scale {
        HardnessScale::Vickers if most > NEWER => Risk::Every,
        HardnessScale::Vickers if most > OLDER[0] => Risk::Older,
        HardnessScale::RockwellC if most > NEWER_ROCKWELL => Risk::Every,
        // 320 HV is about 32 HRC (ISO 18265, from memory).
        HardnessScale::RockwellC if most > 32 => Risk::Older,
        _ => Risk::None,
    }
}

/// ASTM B850-98(2009): tensile stress in MPa up to which a baking holds, and its hours.
const BAKING: [(f64, f64); 8] = [
    (1100.0, 8.0),
    (1200.0, 10.0),
    (1300.0, 12.0),
    (1400.0, 14.0),
    (1500.0, 16.0),
    (1600.0, 18.0),
    (1700.0, 20.0),
    (1800.0, 22.0),
];
const BAKED_FROM: f64 = 1000.0;

/// How hot it is baked, in degrees Celsius (ASTM B850).
pub const BAKED_AT: Band<u16> = Band {
    least: 190,
    most: 220,
};

/// How long hardware of a strength is baked at least; none up to 1000 MPa, and beyond the
/// table.
#[must_use]
pub fn baking(strength: &Strength) -> Option<Time> {
    let tensile = in_megapascals(strength.tensile);
    if tensile <= BAKED_FROM {
        return None;
    }
    let row = BAKING.iter().find(|(most, _)| tensile <= *most)?;
    Some(hours(row.1))
}

/// The risk of a class, at an ordinary diameter.
#[must_use]
pub fn risk_of(class: Class) -> Option<Risk> {
    let strength = class.strength(super::measure::mm(10.0))?;
    Some(risk(&strength))
}
