//! How much friction a thread and its head have, by what is on them: always a band.
//!
//! Nobody knows the friction of one bolt. MIL-HDBK-60 (1990) table II gives a coefficient
//! for each pairing and says 20 per cent more or less of it; where it has none, trade tables
//! of nut factors K do, turned into coefficients for M10x1.5 by its appendix B
//! (K = 0.159 P/d + 1.156 µ). NASA-STD-5020B measured 30 bolts as they came out of the bag:
//! their clamp loads lay between 3054 and 7760 lbf at one torque.

use super::measure::{Band, Ratio, share};

/// What is on thread and head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Surface {
    /// Bare steel, clean and dry.
    Dry,
    /// Engine oil.
    Oiled,
    /// Grease.
    Greased,
    /// Anti-seize paste.
    AntiSeize,
    /// Electroplated zinc, dry.
    Zinc,
    /// Electroplated zinc-nickel, dry.
    ZincNickel,
    /// Zinc flake, dry.
    ZincFlake,
    /// Cadmium, dry.
    Cadmium,
    /// Blackened or phosphated, and oiled.
    Black,
    /// Stainless steel, dry.
    Stainless,
    /// Thread-locking compound or sealant, wet.
    LockingCompound,
}

/// Every surface, in the order that they are listed to the reader.
pub const SURFACES: [Surface; 11] = [
    Surface::Dry,
    Surface::Oiled,
    Surface::Greased,
    Surface::AntiSeize,
    Surface::Zinc,
    Surface::ZincNickel,
    Surface::ZincFlake,
    Surface::Cadmium,
    Surface::Black,
    Surface::Stainless,
    Surface::LockingCompound,
];

impl Surface {
    /// The word that it is asked for by.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Dry => "dry",
            Self::Oiled => "oiled",
            Self::Greased => "greased",
            Self::AntiSeize => "anti-seize",
            Self::Zinc => "zinc",
            Self::ZincNickel => "zinc-nickel",
            Self::ZincFlake => "zinc flake",
            Self::Cadmium => "cadmium",
            Self::Black => "black",
            Self::Stainless => "stainless",
            Self::LockingCompound => "locking compound",
        }
    }

    /// Reads the word; a hyphen is as good as a blank.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        let plain = |text: &str| text.trim().to_ascii_lowercase().replace('-', " ");
        let word = plain(word);
        SURFACES.into_iter().find(|one| plain(one.word()) == word)
    }

    /// The coefficient of friction, from the least to the most.
    #[must_use]
    pub fn friction(self) -> Band<Ratio> {
        let (least, most) = match self {
            Self::Dry => (0.135, 0.213),
            Self::Oiled => (0.075, 0.18),
            Self::Greased => (0.088, 0.18),
            Self::AntiSeize => (0.056, 0.132),
            // Nothing of its own was found for zinc-nickel; makers coat it to zinc's figures.
            Self::Zinc | Self::ZincNickel => (0.136, 0.204),
            Self::ZincFlake => (0.118, 0.256),
            Self::Cadmium => (0.096, 0.144),
            Self::Black => (0.109, 0.17),
            Self::Stainless => (0.239, 0.412),
            Self::LockingCompound => (0.1, 0.2),
        };
        Band::new(share(least), share(most))
    }

    /// Where the band is from.
    #[must_use]
    pub fn source(self) -> &'static str {
        match self {
            Self::Dry => {
                "K 0.18 to 0.27 in a trade table; NASA TM-106943 has about 0.2 unlubricated"
            }
            Self::Oiled => {
                "K 0.11 lubricated (NASA TM-106943) up to machine oil, 0.15 and 20 % (MIL-HDBK-60 table II)"
            }
            Self::Greased => {
                "MoS2 grease, 0.11 less 20 %, up to machine oil, 0.15 and 20 % (MIL-HDBK-60 table II)"
            }
            Self::AntiSeize => {
                "graphite in petrolatum, 0.07 less 20 %, up to MoS2 grease, 0.11 and 20 % (MIL-HDBK-60 table II)"
            }
            Self::Zinc => {
                "zinc plated steel, nothing added: 0.17, 20 % more or less (MIL-HDBK-60 table II)"
            }
            Self::ZincNickel => "as zinc, from memory",
            Self::ZincFlake => "K 0.16 to 0.32 in a trade table",
            Self::Cadmium => {
                "cadmium plated steel, nothing added: 0.12, 20 % more or less (MIL-HDBK-60 table II)"
            }
            Self::Black => "phosphated and oiled, K 0.15 to 0.22 in a trade table",
            Self::Stainless => "stainless steel, K 0.30 to 0.50 in a trade table",
            Self::LockingCompound => "no table found: 0.10 to 0.20 from memory; ask its maker",
        }
    }
}
