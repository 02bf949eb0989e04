//! Torque and clamp load: what a torque comes to, and what torque a clamp load wants.
//!
//! MIL-HDBK-60 (1990) appendix B, 100.5:
//!
//! T = F · (P/2π + d2·µ/(2 cos 30°) + (d + b)·µ/4)
//!
//! with the pitch P, the pitch diameter d2, friction µ in the thread and under the head, the
//! diameter d and b across the face under the head, which is 1.5 d unless it is known. With
//! d2 = 0.92 d that is T = F·(0.159 P + 1.156 µ d).
//!
//! Of a torque only a tenth or so stretches the bolt; the rest rubs. The same torque comes
//! to clamp loads that lie as two to one, so what is answered is a band.

use std::f64::consts::PI;

use super::geometry::Geometry;
use super::measure::{Band, Force, Length, Ratio, Torque, as_share, force_at, moment, share};

/// The share of its proof load that a bolt is tightened to where nothing else is printed
/// (common practice, no source).
#[must_use]
pub fn usual_share() -> Ratio {
    share(0.75)
}

/// A thread that is tightened, and what it turns on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    geometry: Geometry,
    face: Length,
}

impl Turned {
    /// A thread whose head or nut turns on a face; 1.5 times the thread's diameter across
    /// unless it is known.
    #[must_use]
    pub fn new(geometry: Geometry, face: Option<Length>) -> Self {
        Self {
            geometry,
            face: face.unwrap_or(geometry.diameter * 1.5),
        }
    }

    /// The arm that a clamp load turns at, at a coefficient of friction.
    fn arm(&self, friction: Ratio) -> Length {
        let Geometry {
            diameter,
            pitch,
            pitch_diameter,
            ..
        } = self.geometry;
        let friction = as_share(friction);
        pitch / (2.0 * PI)
            + pitch_diameter * friction / (2.0 * (PI / 6.0).cos())
            + (diameter + self.face) * friction / 4.0
    }

    /// The torque that a clamp load wants.
    #[must_use]
    pub fn torque(&self, load: Force, friction: Ratio) -> Torque {
        moment(load, self.arm(friction))
    }

    /// The clamp load that a torque comes to.
    #[must_use]
    pub fn load(&self, torque: Torque, friction: Ratio) -> Force {
        force_at(torque, self.arm(friction))
    }

    /// The torques for a clamp load, over a band of friction: the least where it is slippery.
    #[must_use]
    pub fn torques(&self, load: Force, friction: Band<Ratio>) -> Band<Torque> {
        friction.map(|friction| self.torque(load, friction))
    }

    /// The clamp loads of a torque, over a band of friction: the least where it is rough.
    #[must_use]
    pub fn loads(&self, torque: Torque, friction: Band<Ratio>) -> Band<Force> {
        Band::new(
            self.load(torque, friction.most),
            self.load(torque, friction.least),
        )
    }

    /// The nut factor K of T = K·d·F at a coefficient of friction.
    #[must_use]
    pub fn nut_factor(&self, friction: Ratio) -> Ratio {
        self.arm(friction) / self.geometry.diameter
    }
}
