//! Torque wrenches: which one covers a torque, and what it is set to with something on its
//! end.
//!
//! A click wrench is tested from 20 to 100 per cent of the most that it can be set to
//! (ISO 6789-1, from memory; makers print it too). Below that nobody vouches for its reading.
//!
//! With an extension in line, or a crowfoot, the hand's force turns on a longer arm than the
//! wrench knows of. From the bolt to the hand, measured along the wrench, it is L + E·cos α,
//! and the setting is T·L/(L + E·cos α): statics, and what wrench makers print.
//!
//! ```text
//!   α = 0°    bolt o--E--[drive]----------L----------(hand)   set it lower
//!   α = 90°              o
//!                        |E
//!                     [drive]----------L----------(hand)      set the torque itself
//!   α = 180°         [drive]--E--o-------L------(hand)        set it higher
//! ```
//!
//! Printed pages disagree on which way to count the angle, so it is said in words: 0° is
//! straight on, the bolt farther from the hand than the drive; 180° is folded back under the
//! wrench. The hand pulls at the mark on the grip, square to the wrench.

use super::measure::{Angle, Band, Length, Ratio, Torque, as_share};

/// The part of its range in which a wrench is used, unless a build sets another.
#[must_use]
pub fn usual_part() -> Band<Ratio> {
    Band::new(super::measure::share(0.2), super::measure::share(1.0))
}

/// What a wrench can be set to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wrench {
    /// What is marked on it, from the least to the most.
    pub marked: Band<Torque>,
}

/// How a torque stands to what a wrench covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Covers {
    /// It covers it.
    Fully,
    /// It covers a part of what the torque may be.
    Partly,
    /// The torque is too small for it.
    TooSmall,
    /// The torque is too large for it.
    TooLarge,
}

impl Wrench {
    /// The torques that it is used for: a part of the most it can be set to, and nothing that
    /// is not marked on it.
    #[must_use]
    pub fn used_for(&self, part: Band<Ratio>) -> Band<Torque> {
        let least = self.marked.most * as_share(part.least);
        let most = self.marked.most * as_share(part.most);
        Band::new(least.max(self.marked.least), most.min(self.marked.most))
    }

    /// Whether it covers a torque, or what that may be. A figure at the very end of its range
    /// is covered.
    #[must_use]
    pub fn covers(&self, torque: Band<Torque>, part: Band<Ratio>) -> Covers {
        let used = self.used_for(part);
        // A torque that was printed in another unit may be off in the seventh digit.
        let slack = 1e-6;
        let used = Band::new(used.least * (1.0 - slack), used.most * (1.0 + slack));
        if torque.most < used.least {
            Covers::TooSmall
        } else if torque.least > used.most {
            Covers::TooLarge
        } else if torque.least >= used.least && torque.most <= used.most {
            Covers::Fully
        } else {
            Covers::Partly
        }
    }
}

/// Something on the end of a wrench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adapter {
    /// From the middle of the wrench's drive to the mark on its grip.
    pub lever: Length,
    /// From the middle of the drive to the middle of the bolt.
    pub extension: Length,
    /// Between lever and extension: none is straight on, away from the hand.
    pub angle: Angle,
}

impl Adapter {
    /// What the wrench is set to for a torque at the bolt. None where bolt and hand come so
    /// close together that nothing sensible can be set.
    #[must_use]
    pub fn setting(&self, torque: Torque) -> Option<Torque> {
        let share = self.share()?;
        Some(torque * as_share(share))
    }

    fn share(&self) -> Option<Ratio> {
        let reach = self.lever + self.extension * self.angle.cos();
        // Half the lever is twice the torque: past that it is another tool's job.
        (self.lever.value > 0.0 && reach >= self.lever * 0.5).then(|| self.lever / reach)
    }
}
