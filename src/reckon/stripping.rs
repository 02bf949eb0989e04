//! How much thread must be engaged so that the bolt breaks before the thread strips, and how
//! much is engaged in a hole.
//!
//! FED-STD-H28/2B (1991) tables II.B.1 and II.B.2. Over an engagement of length L with n
//! threads to the length:
//!
//! - the bolt's thread shears over π·n·L·D1max·(1/(2n) + 0.57735·(d2min − D1max));
//! - the hole's thread shears over π·n·L·dmin·(1/(2n) + 0.57735·(dmin − D2max)).
//!
//! Where both are of one strength, the bolt's thread is the weaker, and an engagement of
//! 4·As/(π·d2) is enough. In weaker material the hole's strips first: the load that breaks
//! the bolt must be less than what the hole's thread stands.

use std::f64::consts::PI;

use super::geometry::{Geometry, Limits};
use super::measure::{Area, Band, Force, Length, Pressure, Ratio, megapascals};

/// What a thread is cut in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tapped {
    /// Plain steel.
    Steel,
    /// Cast iron.
    CastIron,
    /// Brass or bronze.
    Brass,
    /// Aluminium, cast or wrought.
    Aluminium,
    /// Magnesium.
    Magnesium,
    /// Zinc casting.
    Zinc,
    /// Plastic.
    Plastic,
}

/// Everything a thread is cut in, in the order that it is listed to the reader.
pub const TAPPED: [Tapped; 7] = [
    Tapped::Steel,
    Tapped::CastIron,
    Tapped::Brass,
    Tapped::Aluminium,
    Tapped::Magnesium,
    Tapped::Zinc,
    Tapped::Plastic,
];

impl Tapped {
    /// What it is called.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Steel => "steel",
            Self::CastIron => "cast iron",
            Self::Brass => "brass",
            Self::Aluminium => "aluminium",
            Self::Magnesium => "magnesium",
            Self::Zinc => "zinc",
            Self::Plastic => "plastic",
        }
    }

    /// Reads the word; a hyphen is as good as a blank.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        let word = word.trim().to_ascii_lowercase().replace('-', " ");
        let word = if word == "aluminum" {
            "aluminium"
        } else {
            &word
        };
        TAPPED.into_iter().find(|one| one.word() == word)
    }

    /// The least engagement by rule of thumb, in diameters of the thread: common practice,
    /// printed in many places; aluminium is given as 1.5 to 2.
    #[must_use]
    pub fn rule_of_thumb(self) -> Ratio {
        super::measure::share(match self {
            Self::Steel => 1.0,
            Self::CastIron | Self::Brass | Self::Aluminium => 1.5,
            Self::Magnesium | Self::Zinc | Self::Plastic => 2.0,
        })
    }

    /// The stress at which the thread in it shears, for the weaker and the stronger of the
    /// usual sorts; none where nothing can be said in general. Textbook figures from memory
    /// (0.6 of the tensile stress of steel and aluminium, 0.9 of that of cast iron): the
    /// casting's own maker knows better.
    #[must_use]
    pub fn shears_at(self) -> Option<Band<Pressure>> {
        let (weak, strong) = match self {
            Self::Steel => (220.0, 360.0),
            Self::CastIron => (170.0, 230.0),
            Self::Brass => (180.0, 250.0),
            Self::Aluminium => (110.0, 190.0),
            Self::Magnesium => (90.0, 140.0),
            Self::Zinc => (130.0, 200.0),
            Self::Plastic => return None,
        };
        Some(Band::new(megapascals(weak), megapascals(strong)))
    }
}

/// The sizes that a stripping area is reckoned from: of one pair of threads, or the worst of
/// a tolerance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// From crest to crest.
    pub pitch: Length,
    /// Across the bolt's crests.
    pub diameter: Length,
    /// The bolt's pitch diameter.
    pub pitch_diameter: Length,
    /// The hole's pitch diameter.
    pub nut_pitch_diameter: Length,
    /// The hole's minor diameter.
    pub nut_minor_diameter: Length,
}

/// 1/√3, the slope of a flank of 60°.
const SLOPE: f64 = 0.577_350_269;

impl Pair {
    /// Bolt and hole as the basic profile has them.
    #[must_use]
    pub fn basic(geometry: &Geometry) -> Self {
        Self {
            pitch: geometry.pitch,
            diameter: geometry.diameter,
            pitch_diameter: geometry.pitch_diameter,
            nut_pitch_diameter: geometry.pitch_diameter,
            nut_minor_diameter: geometry.minor_diameter,
        }
    }

    /// The slackest pair of a tolerance: smallest bolt, widest hole.
    #[must_use]
    pub fn slackest(geometry: &Geometry, limits: &Limits) -> Self {
        Self {
            pitch: geometry.pitch,
            diameter: limits.least_diameter,
            pitch_diameter: limits.least_pitch_diameter,
            nut_pitch_diameter: limits.most_nut_pitch_diameter,
            nut_minor_diameter: limits.most_nut_minor_diameter,
        }
    }

    /// The area over which the bolt's thread shears.
    #[must_use]
    pub fn bolt_area(&self, engaged: Length) -> Area {
        let teeth = engaged / self.pitch;
        let width = self.pitch / 2.0 + SLOPE * (self.pitch_diameter - self.nut_minor_diameter);
        PI * teeth * self.nut_minor_diameter * width
    }

    /// The area over which the hole's thread shears.
    #[must_use]
    pub fn hole_area(&self, engaged: Length) -> Area {
        let teeth = engaged / self.pitch;
        let width = self.pitch / 2.0 + SLOPE * (self.diameter - self.nut_pitch_diameter);
        PI * teeth * self.diameter * width
    }

    /// The engagement at which the hole's thread stands a load, if it shears at a stress.
    #[must_use]
    pub fn engagement_for(&self, load: Force, shears_at: Pressure) -> Length {
        let unit = super::measure::mm(1.0);
        let per_unit: Force = self.hole_area(unit) * shears_at;
        unit * (load / per_unit)
    }
}

/// The engagement that is enough where bolt and hole are of one strength
/// (FED-STD-H28/2B formula 13).
#[must_use]
pub fn engagement_of_equals(geometry: &Geometry) -> Length {
    4.0 * geometry.stress_area / (PI * geometry.pitch_diameter)
}

/// A bolt in a hole: how far it reaches, and how much of that is thread in thread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// How far its end stands beyond the stack; less than nothing if it does not reach.
    pub beyond: Length,
    /// How much of it is engaged.
    pub engaged: Length,
    /// How far it stands off the bottom of a blind hole; less than nothing if it runs on
    /// the bottom before it clamps.
    pub to_spare: Option<Length>,
}

impl Reach {
    /// A bolt of a length under the head through a stack, washers counted, in a hole of a
    /// depth, which is none that counts if the hole goes through, and that is threaded so
    /// far. What a hole is not said to be, it is not held to.
    #[must_use]
    pub fn of(
        length: Length,
        stack: Length,
        blind: Option<Length>,
        threaded: Option<Length>,
    ) -> Self {
        let beyond = length - stack;
        let none = super::measure::mm(0.0);
        let ends = [threaded, blind].into_iter().flatten();
        let engaged = ends.fold(beyond, |least, end| least.min(end)).max(none);
        Self {
            beyond,
            engaged,
            to_spare: blind.map(|depth| depth - beyond),
        }
    }
}
