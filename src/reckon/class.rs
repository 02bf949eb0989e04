//! Property classes and grades: what a bolt, stud or nut stands.
//!
//! | written | standard | seen |
//! | --- | --- | --- |
//! | `4.6` … `12.9` | ISO 898-1 (2009, 2013), bolts, screws and studs | copies of its tables |
//! | `grade 2`, `grade 5`, `grade 8` | SAE J429, inch bolts | copies of its table |
//! | `5`, `6`, `8`, `10`, `12`, `04`, `05` | ISO 898-2 (1992), nuts | copies of its tables |
//! | `9` | ISO 898-2 (1992), nuts | from memory |
//! | `A2-70`, `A4-80` … | ISO 3506-1, stainless bolts | from memory |
//!
//! A copy on the web may have a slip in it; these are figures on which several agree. What
//! is stamped on the head counts, and what its maker says of it. A class that is not
//! stamped is not known.

use std::fmt;

use thiserror::Error;

use super::measure::{Area, Band, Force, Length, Pressure, in_inches, in_mm, inches, megapascals};
use super::unit::HardnessScale;

/// The class or grade that hardware is marked with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Class {
    /// A metric bolt, screw or stud (ISO 898-1): 8 and 8 for `8.8`.
    Bolt(u8, u8),
    /// An inch bolt (SAE J429): 5 for `grade 5`.
    Grade(u8),
    /// A metric nut (ISO 898-2): 8.
    Nut(u8),
    /// A thin metric nut (ISO 898-2): 4 for `04`.
    ThinNut(u8),
    /// A stainless bolt or nut (ISO 3506): the steel's number and a tenth of its strength in
    /// megapascals, 2 and 70 for `A2-70`.
    Stainless(u8, u8),
}

/// Why a text is no class.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "`{written}` is no class or grade that is known here; write it as it is marked, such as `8.8`, `10` for a nut, `grade 5` or `A2-70`"
)]
pub struct ClassError {
    /// The text.
    pub written: String,
}

/// What hardware of a class stands at least, and how hard it may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strength {
    /// The stress that it takes with no lasting stretch.
    pub proof: Pressure,
    /// The stress at which it begins to yield.
    pub yields: Pressure,
    /// The stress at which it breaks, at least.
    pub tensile: Pressure,
    /// How hard it is at its core, where that is known.
    pub hardness: Option<Hardness>,
}

impl Strength {
    /// The load that a thread of an area takes with no lasting stretch.
    #[must_use]
    pub fn proof_load(&self, area: Area) -> Force {
        area * self.proof
    }

    /// The load that breaks a thread of an area, at least.
    #[must_use]
    pub fn tensile_load(&self, area: Area) -> Force {
        area * self.tensile
    }
}

/// How hard something may be, on a scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hardness {
    /// The scale.
    pub scale: HardnessScale,
    /// The readings on it.
    pub reads: Band<u16>,
}

/// A row of ISO 898-1: class, then proof, yield and tensile stress in MPa, then hardness HV.
type BoltRow = ((u8, u8), [f64; 3], (u16, u16));

const BOLTS: &[BoltRow] = &[
    ((4, 6), [225.0, 240.0, 400.0], (120, 220)),
    ((4, 8), [310.0, 340.0, 420.0], (130, 220)),
    ((5, 6), [280.0, 300.0, 500.0], (155, 220)),
    ((5, 8), [380.0, 420.0, 520.0], (160, 220)),
    ((6, 8), [440.0, 480.0, 600.0], (190, 250)),
    ((8, 8), [580.0, 640.0, 800.0], (250, 320)),
    ((9, 8), [650.0, 720.0, 900.0], (290, 360)),
    ((10, 9), [830.0, 940.0, 1040.0], (320, 380)),
    ((12, 9), [970.0, 1100.0, 1220.0], (385, 435)),
];

/// The diameter in millimetres above which 8.8 is another steel (ISO 898-1).
const THICK: f64 = 16.0;
const THICK_8_8: ([f64; 3], (u16, u16)) = ([600.0, 660.0, 830.0], (255, 335));

/// A row of SAE J429: grade, largest diameter in inches, then proof, yield and tensile stress
/// in thousands of pounds to the square inch, then the core's hardness.
type GradeRow = (u8, f64, [f64; 3], HardnessScale, (u16, u16));

const GRADES: &[GradeRow] = &[
    (
        1,
        1.5,
        [33.0, 36.0, 60.0],
        HardnessScale::RockwellB,
        (70, 100),
    ),
    (
        2,
        0.75,
        [55.0, 57.0, 74.0],
        HardnessScale::RockwellB,
        (80, 100),
    ),
    (
        2,
        1.5,
        [33.0, 36.0, 60.0],
        HardnessScale::RockwellB,
        (70, 100),
    ),
    (
        5,
        1.0,
        [85.0, 92.0, 120.0],
        HardnessScale::RockwellC,
        (25, 34),
    ),
    (
        5,
        1.5,
        [74.0, 81.0, 105.0],
        HardnessScale::RockwellC,
        (19, 30),
    ),
    (
        8,
        1.5,
        [120.0, 130.0, 150.0],
        HardnessScale::RockwellC,
        (33, 39),
    ),
];
const LEAST_INCH: f64 = 0.25;

/// ISO 3506-1: a tenth of the tensile stress in MPa, then the stress at 0.2 per cent.
const STAINLESS: &[(u8, f64)] = &[(50, 210.0), (70, 450.0), (80, 600.0), (100, 800.0)];

/// The largest diameters, in millimetres, between which ISO 898-2 gives nuts one stress.
const NUT_SIZES: [f64; 5] = [4.0, 7.0, 10.0, 16.0, 39.0];
/// ISO 898-2 (1992): the stress in MPa, in a mandrel of the bolt's area, that a nut stands by
/// class and diameter; of class 12 that of the lesser of its two styles.
const NUTS: &[(u8, [f64; 5])] = &[
    (5, [520.0, 580.0, 590.0, 610.0, 630.0]),
    (6, [600.0, 670.0, 680.0, 700.0, 720.0]),
    (8, [800.0, 855.0, 870.0, 880.0, 920.0]),
    (9, [900.0, 915.0, 940.0, 950.0, 920.0]),
    (10, [1040.0, 1040.0, 1040.0, 1050.0, 1060.0]),
    (12, [1140.0, 1140.0, 1140.0, 1170.0, 1200.0]),
];
const THIN_NUTS: [u8; 2] = [4, 5];

/// The pressure of a thousand pounds on a square inch, in megapascals (NIST SP 811).
const KSI: f64 = 6.894_757;

impl Class {
    /// Reads a class as it is marked or spoken of: `8.8`, `grade 5`, `gr 8`, `10`, `A2-70`.
    ///
    /// # Errors
    /// Where it is none that is known.
    pub fn parse(text: &str) -> Result<Self, ClassError> {
        let plain = text.trim().to_ascii_lowercase();
        let known = || {
            for word in ["sae grade", "grade", "gr.", "gr"] {
                if let Some(rest) = plain.strip_prefix(word) {
                    let number = rest.trim().parse().ok()?;
                    let is_one = GRADES.iter().any(|grade| grade.0 == number);
                    return is_one.then_some(Self::Grade(number));
                }
            }
            let plain = plain.strip_prefix("class").unwrap_or(&plain).trim();
            if let Some(steel) = plain.strip_prefix('a') {
                let (steel, strength) = steel.split_once('-')?;
                let (steel, strength) = (steel.parse().ok()?, strength.parse().ok()?);
                let is_one =
                    (1..=8).contains(&steel) && STAINLESS.iter().any(|one| one.0 == strength);
                return is_one.then_some(Self::Stainless(steel, strength));
            }
            // A decimal comma makes no other class of it, wherever a spreadsheet puts it.
            if let Some((first, second)) = plain.split_once(['.', ',']) {
                let class = (first.parse().ok()?, second.parse().ok()?);
                let is_one = BOLTS.iter().any(|bolt| bolt.0 == class);
                return is_one.then_some(Self::Bolt(class.0, class.1));
            }
            let number = plain.parse().ok()?;
            if plain.starts_with('0') {
                return THIN_NUTS.contains(&number).then_some(Self::ThinNut(number));
            }
            let is_one = NUTS.iter().any(|nut| nut.0 == number);
            is_one.then_some(Self::Nut(number))
        };
        known().ok_or_else(|| ClassError {
            written: text.trim().to_owned(),
        })
    }

    /// What hardware of this class and diameter stands; none of a diameter for which the
    /// standard has no such class.
    #[must_use]
    pub fn strength(self, diameter: Length) -> Option<Strength> {
        let of = |[proof, yields, tensile]: [f64; 3], unit: f64, hardness| Strength {
            proof: megapascals(proof * unit),
            yields: megapascals(yields * unit),
            tensile: megapascals(tensile * unit),
            hardness,
        };
        let hard = |scale, (least, most)| {
            Some(Hardness {
                scale,
                reads: Band::new(least, most),
            })
        };
        match self {
            Self::Bolt(8, 8) if in_mm(diameter) > THICK => {
                let (stress, hv) = THICK_8_8;
                Some(of(stress, 1.0, hard(HardnessScale::Vickers, hv)))
            }
            Self::Bolt(9, 8) if in_mm(diameter) > THICK => None,
            Self::Bolt(first, second) => {
                let bolt = BOLTS.iter().find(|bolt| bolt.0 == (first, second))?;
                Some(of(bolt.1, 1.0, hard(HardnessScale::Vickers, bolt.2)))
            }
            Self::Grade(number) => {
                let grade = GRADES
                    .iter()
                    .find(|grade| grade.0 == number && in_inches(diameter) <= grade.1 + 1e-9)?;
                let is_one = in_inches(diameter) >= LEAST_INCH - 1e-9;
                is_one.then(|| of(grade.2, KSI, hard(grade.3, grade.4)))
            }
            Self::Stainless(_, tenth) => {
                let (_, yields) = *STAINLESS.iter().find(|one| one.0 == tenth)?;
                let tensile = f64::from(tenth) * 10.0;
                Some(of([yields, yields, tensile], 1.0, None))
            }
            // A nut is tested with a bolt: it must carry what the bolt of its class does.
            Self::Nut(number) => {
                let (_, stresses) = NUTS.iter().find(|nut| nut.0 == number)?;
                let sizes = NUT_SIZES.iter().zip(stresses);
                let (_, stress) = sizes
                    .into_iter()
                    .find(|(most, _)| in_mm(diameter) <= **most + 1e-9)?;
                Some(of([*stress; 3], 1.0, None))
            }
            Self::ThinNut(number) => {
                let stress = if number == 4 { 380.0 } else { 500.0 };
                Some(of([stress, stress, stress], 1.0, None))
            }
        }
    }

    /// Whether it is the class of a nut.
    #[must_use]
    pub fn is_nut(self) -> bool {
        matches!(self, Self::Nut(_) | Self::ThinNut(_))
    }

    /// The least class of a nut that carries all that this bolt does, so that the bolt breaks
    /// before the thread strips (ISO 898-2, from memory); none for nuts, and where no rule is
    /// known.
    #[must_use]
    pub fn nut(self) -> Option<Self> {
        match self {
            Self::Bolt(first @ (8 | 9 | 10 | 12), _) => Some(Self::Nut(first)),
            Self::Bolt(6, _) => Some(Self::Nut(6)),
            Self::Bolt(..) => Some(Self::Nut(5)),
            _ => None,
        }
    }

    /// The stress by whose size classes are set beside each other, of whatever standard: the
    /// tensile stress of a bolt of an ordinary diameter. None for nuts.
    #[must_use]
    pub fn rank(self) -> Option<Pressure> {
        if self.is_nut() {
            return None;
        }
        let strength = self.strength(inches(0.5))?;
        Some(strength.tensile)
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bolt(first, second) => write!(f, "{first}.{second}"),
            Self::Grade(number) => write!(f, "grade {number}"),
            Self::Nut(number) => write!(f, "{number}"),
            Self::ThinNut(number) => write!(f, "0{number}"),
            Self::Stainless(steel, tenth) => write!(f, "A{steel}-{tenth}"),
        }
    }
}
