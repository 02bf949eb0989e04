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

use super::class::Strength;
use super::geometry::Limits;
use super::measure::{Band, Length, Time, hours, in_megapascals, in_microns, microns};
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

/// The nominal layers of ISO 4042, in thousandths of a millimetre.
const LAYERS: [f64; 9] = [3.0, 5.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0];

/// The thickest nominal layer that is no thicker than this; none where not even the thinnest is.
#[must_use]
pub fn nominal_layer(thickest: Length) -> Option<Length> {
    let fits = |layer: &&f64| **layer <= in_microns(thickest) + 1e-6;
    LAYERS.iter().rev().find(fits).map(|layer| microns(*layer))
}

/// What is laid on hardware.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coat {
    /// Electroplated zinc.
    Zinc,
    /// Electroplated zinc-nickel.
    ZincNickel,
    /// Electroplated cadmium.
    Cadmium,
    /// Electroplated nickel.
    Nickel,
    /// Electroplated chrome.
    Chrome,
    /// Phosphate, which the bath lays on with hydrogen as well.
    Phosphate,
    /// Zinc flake, painted on and baked.
    ZincFlake,
    /// Dipped in molten zinc.
    HotDip,
}

/// Every coat, in the order that they are listed to the reader.
pub const COATS: [Coat; 8] = [
    Coat::Zinc,
    Coat::ZincNickel,
    Coat::Cadmium,
    Coat::Nickel,
    Coat::Chrome,
    Coat::Phosphate,
    Coat::ZincFlake,
    Coat::HotDip,
];

impl Coat {
    /// The word that it is asked for by.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Zinc => "zinc",
            Self::ZincNickel => "zinc-nickel",
            Self::Cadmium => "cadmium",
            Self::Nickel => "nickel",
            Self::Chrome => "chrome",
            Self::Phosphate => "phosphate",
            Self::ZincFlake => "zinc flake",
            Self::HotDip => "hot-dip zinc",
        }
    }

    /// Reads the word; a hyphen is as good as a blank.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        let plain = |text: &str| text.trim().to_ascii_lowercase().replace('-', " ");
        let word = plain(word);
        COATS.into_iter().find(|one| plain(one.word()) == word)
    }

    /// Whether laying it on brings hydrogen into the steel. The acid that cleans before it
    /// does so whatever the coat.
    #[must_use]
    pub fn brings_hydrogen(self) -> bool {
        !matches!(self, Self::ZincFlake | Self::HotDip)
    }
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

/// 320 and 365 HV on the Rockwell scale (ISO 18265, from memory).
const OLDER_ROCKWELL: [u16; 2] = [32, 37];

/// What each edition says of electroplating hardware of a strength; nothing where its hardness
/// is not known.
#[must_use]
pub fn says(strength: &Strength) -> Vec<(&'static str, String)> {
    let Some(hardness) = strength.hardness else {
        return Vec::new();
    };
    let most = hardness.reads.most;
    // On the soft scale nothing reaches any of these.
    let (older, newer, unit) = match hardness.scale {
        HardnessScale::Vickers => (OLDER, NEWER, "HV"),
        HardnessScale::RockwellC => (OLDER_ROCKWELL, NEWER_ROCKWELL, "HRC"),
        _ => ([u16::MAX; 2], u16::MAX, ""),
    };
    let first = if most > older[1] {
        format!(
            "up to {most} {unit}, above {}: only by agreement of maker and customer, and no promise that it is whole",
            older[1]
        )
    } else if most > older[0] {
        format!(
            "up to {most} {unit}, above {}: the process is to be proved by test",
            older[0]
        )
    } else {
        "asks for nothing".to_owned()
    };
    let above = most > newer;
    let newest = |does: &str| {
        if above {
            format!("up to {most} {unit}, above {newer}: {does}")
        } else {
            "asks for nothing".to_owned()
        }
    };
    vec![
        ("ISO 4042:1999", first),
        ("ISO 4042:2018, 2022", newest("measures are taken")),
        ("ASTM F1941, from 2015", {
            // It counts on the Rockwell scale: 390 HV is about 39 HRC.
            newest("it is baked")
        }),
    ]
}

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
        HardnessScale::RockwellC if most > OLDER_ROCKWELL[0] => Risk::Older,
        _ => Risk::None,
    }
}

/// ASTM B850-98(2009): tensile stress in MPa and hardness HRC up to which a baking holds, and
/// its hours.
const BAKING: [(f64, u16, f64); 8] = [
    (1100.0, 33, 8.0),
    (1200.0, 36, 10.0),
    (1300.0, 39, 12.0),
    (1400.0, 43, 14.0),
    (1500.0, 45, 16.0),
    (1600.0, 47, 18.0),
    (1700.0, 49, 20.0),
    (1800.0, 51, 22.0),
];
const BAKED_FROM: f64 = 1000.0;

/// What ISO 898-1 gives as the highest hardness of its classes on both scales: HV, HRC.
const BOTH_SCALES: [(u16, u16); 6] = [
    (320, 32),
    (335, 34),
    (360, 37),
    (380, 39),
    (435, 44),
    (u16::MAX, u16::MAX),
];

/// How hot it is baked, in degrees Celsius (ASTM B850).
pub const BAKED_AT: Band<u16> = Band {
    least: 190,
    most: 220,
};

/// How long hardware of a strength is baked: no less than its least tensile stress asks for,
/// and surely long enough by its highest hardness. None up to 1000 MPa, and beyond the table.
#[must_use]
pub fn baking(strength: &Strength) -> Option<Band<Time>> {
    let tensile = in_megapascals(strength.tensile);
    if tensile <= BAKED_FROM {
        return None;
    }
    let (_, _, least) = BAKING.iter().find(|row| tensile <= row.0)?;
    let hardest = strength.hardness.and_then(|hardness| {
        let most = hardness.reads.most;
        match hardness.scale {
            HardnessScale::Vickers => Some(BOTH_SCALES.iter().find(|row| most <= row.0)?.1),
            HardnessScale::RockwellC => Some(most),
            _ => None,
        }
    });
    let most = match hardest {
        Some(hardest) => BAKING.iter().find(|row| hardest <= row.1)?.2,
        None => *least,
    };
    Some(Band::new(*least, most.max(*least)).map(hours))
}

/// Whether a hardness by itself is one at which every edition asks for measures.
#[must_use]
pub fn is_brittle_at(scale: HardnessScale, reads: f64) -> bool {
    match scale {
        HardnessScale::Vickers => reads > f64::from(NEWER),
        HardnessScale::RockwellC => reads > f64::from(NEWER_ROCKWELL),
        _ => false,
    }
}
