//! Widths across the flats, by the standard that a head or nut is made to.
//!
//! One width belongs to several threads, so it names a thread only together with the
//! standard, and nobody can see the standard on a bolt. Copies of the standards' tables
//! were seen; the small hexagons of Japanese makers are practice, on which the service
//! manuals of three makers agree.

use super::measure::{Length, in_mm, mm};

/// A standard that fixes the width across the flats.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HeadStandard {
    /// ISO 4014 and ISO 4017: hexagon bolts and screws of today.
    Iso,
    /// DIN 931 and DIN 933: the hexagon bolts before these.
    Din,
    /// ISO 4162, ISO 15071, JIS B 1189: hexagon with a small flange.
    SmallFlange,
    /// EN 1662: hexagon with a small flange, of other width at M12.
    SmallFlangeEn,
    /// EN 1665: hexagon with a heavy flange.
    HeavyFlange,
    /// ISO 4161: hexagon nut with a flange.
    FlangeNut,
    /// Small hexagons, as Japanese car makers use them.
    SmallHex,
    /// ASME B18.2.1: inch hexagon bolts (from memory).
    Inch,
}

/// Metric sizes with their widths in the order of the standards above, in millimetres; 0
/// where none is known.
const METRIC: &[(f64, [f64; 7])] = &[
    (3.0, [5.5, 5.5, 0.0, 0.0, 0.0, 0.0, 0.0]),
    (4.0, [7.0, 7.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
    (5.0, [8.0, 8.0, 7.0, 7.0, 8.0, 8.0, 8.0]),
    (6.0, [10.0, 10.0, 8.0, 8.0, 10.0, 10.0, 10.0]),
    (8.0, [13.0, 13.0, 10.0, 10.0, 13.0, 13.0, 12.0]),
    (10.0, [16.0, 17.0, 13.0, 13.0, 16.0, 15.0, 14.0]),
    (12.0, [18.0, 19.0, 15.0, 16.0, 18.0, 18.0, 17.0]),
    (14.0, [21.0, 22.0, 18.0, 18.0, 21.0, 21.0, 19.0]),
    (16.0, [24.0, 24.0, 21.0, 21.0, 24.0, 24.0, 22.0]),
    (18.0, [27.0, 27.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
    (20.0, [30.0, 30.0, 0.0, 0.0, 30.0, 30.0, 0.0]),
    (22.0, [34.0, 32.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
    (24.0, [36.0, 36.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
];

/// Inch sizes with their widths, in sixteenths of an inch.
const INCH: &[(&str, f64)] = &[
    ("1/4", 7.0),
    ("5/16", 8.0),
    ("3/8", 9.0),
    ("7/16", 10.0),
    ("1/2", 12.0),
    ("9/16", 13.0),
    ("5/8", 15.0),
    ("3/4", 18.0),
];

const STANDARDS: [HeadStandard; 7] = [
    HeadStandard::Iso,
    HeadStandard::Din,
    HeadStandard::SmallFlange,
    HeadStandard::SmallFlangeEn,
    HeadStandard::HeavyFlange,
    HeadStandard::FlangeNut,
    HeadStandard::SmallHex,
];

impl HeadStandard {
    /// What it is called at the bench and in print.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Iso => "ISO 4014, 4017",
            Self::Din => "DIN 931, 933",
            Self::SmallFlange => "ISO 4162, 15071, JIS B 1189, small flange",
            Self::SmallFlangeEn => "EN 1662, small flange",
            Self::HeavyFlange => "EN 1665, heavy flange",
            Self::FlangeNut => "ISO 4161, flange nut",
            Self::SmallHex => "small hexagon, practice of Japanese makers",
            Self::Inch => "ASME B18.2.1, inch",
        }
    }
}

/// A size whose head or nut has a width by a standard.
#[derive(Debug, Clone, PartialEq)]
pub struct Width {
    /// The standard.
    pub standard: HeadStandard,
    /// The size, as it is called: `M8`, `3/8`.
    pub size: String,
    /// The width across the flats.
    pub width: Length,
}

/// Widths of all sizes by all standards, by size.
fn all() -> impl Iterator<Item = Width> {
    let metric = METRIC.iter().flat_map(|(size, widths)| {
        let known = STANDARDS
            .iter()
            .zip(widths)
            .filter(|(_, width)| **width > 0.0);
        known.map(move |(standard, width)| Width {
            standard: *standard,
            size: format!("M{size}"),
            width: mm(*width),
        })
    });
    let inch = INCH.iter().map(|(size, sixteenths)| Width {
        standard: HeadStandard::Inch,
        size: (*size).to_owned(),
        width: super::measure::inches(sixteenths / 16.0),
    });
    metric.chain(inch)
}

/// The widths across the flats that a thread of a diameter has, by standard: metric ones at a
/// metric size, inch ones at an inch size.
#[must_use]
pub fn widths(diameter: Length) -> Vec<Width> {
    let near = |size: &str| {
        let metric = size.strip_prefix('M').and_then(|size| size.parse().ok());
        let inch = size.split_once('/').and_then(|(above, below)| {
            let (above, below): (f64, f64) = (above.parse().ok()?, below.parse().ok()?);
            Some(above / below * 25.4)
        });
        let size = metric.or(inch);
        size.is_some_and(|size: f64| (size - in_mm(diameter)).abs() < 1e-6)
    };
    all().filter(|one| near(&one.size)).collect()
}

/// All sizes whose heads or nuts may measure so much across the flats: never one thread
/// alone. `within` is how far the measuring may be off.
#[must_use]
pub fn threads_with(width: Length, within: Length) -> Vec<Width> {
    all()
        .filter(|one| (one.width - width).abs() <= within)
        .collect()
}
