//! The figures that arithmetic takes and gives: each is of a type that says what it
//! measures, so that a length can't stand where a torque belongs.
//!
//! They are the unit library's quantities under their plain names, with one short maker for
//! each unit that tables are printed in. [`super::unit::Amount`] is for what people write,
//! where only the text says what is measured; this is for formulas, which know it.

use std::ops::{Add, Div};
pub use uom::si::f64::{Angle, Area, Force, Length, Pressure, Ratio, Time, Torque};

use uom::si::{angle, area, force, length, pressure, ratio, time, torque};

use super::quantity::Quantity;
use super::unit::Amount;

macro_rules! units {
    ($($(#[doc = $doc:literal])+ $make:ident, $take:ident: $of:ident in $unit:ty;)+) => {$(
        $(#[doc = $doc])+
        #[must_use]
        pub fn $make(value: f64) -> $of {
            $of::new::<$unit>(value)
        }

        #[doc = concat!("The figure of [`", stringify!($make), "`].")]
        #[must_use]
        pub fn $take(quantity: $of) -> f64 {
            quantity.get::<$unit>()
        }
    )+};
}

units! {
    /// A length of so many millimetres.
    mm, in_mm: Length in length::millimeter;
    /// A length of so many inches.
    inches, in_inches: Length in length::inch;
    /// A length of so many thousandths of a millimetre.
    microns, in_microns: Length in length::micrometer;
    /// An area of so many square millimetres.
    mm2, in_mm2: Area in area::square_millimeter;
    /// A force of so many newtons.
    newtons, in_newtons: Force in force::newton;
    /// A torque of so many newton metres.
    newton_metres, in_newton_metres: Torque in torque::newton_meter;
    /// A pressure, or a strength, of so many megapascals: newtons to the square millimetre.
    megapascals, in_megapascals: Pressure in pressure::megapascal;
    /// An angle of so many degrees.
    degrees, in_degrees: Angle in angle::degree;
    /// A time of so many hours.
    hours, in_hours: Time in time::hour;
    /// A share of the whole: 1 is all of it. Also a coefficient, such as that of friction.
    share, as_share: Ratio in ratio::ratio;
    /// A share of so many per cent.
    percent, in_percent: Ratio in ratio::percent;
}

/// The torque of a force at the end of an arm.
#[must_use]
pub fn moment(force: Force, arm: Length) -> Torque {
    Torque::new::<torque::newton_meter>(force.get::<force::newton>() * arm.get::<length::meter>())
}

/// The force that a torque has at the end of an arm; more than can be for no arm at all.
#[must_use]
pub fn force_at(torque: Torque, arm: Length) -> Force {
    newtons(in_newton_metres(torque) / arm.get::<length::meter>())
}

/// The least and the most of something: a band, as the trade knows most of its figures no
/// closer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band<T> {
    /// The least.
    pub least: T,
    /// The most.
    pub most: T,
}

impl<T: Copy> Band<T> {
    /// The band between two ends, the least first.
    #[must_use]
    pub fn new(least: T, most: T) -> Self {
        Self { least, most }
    }

    /// The same worked out at both ends.
    #[must_use]
    pub fn map<U>(self, work_out: impl Fn(T) -> U) -> Band<U> {
        Band {
            least: work_out(self.least),
            most: work_out(self.most),
        }
    }
}

impl<T: Copy + Add<Output = T> + Div<f64, Output = T>> Band<T> {
    /// Half way between the ends.
    #[must_use]
    pub fn middle(self) -> T {
        (self.least + self.most) / 2.0
    }
}

macro_rules! written {
    ($($(#[doc = $doc:literal])+ $name:ident: $of:ident;)+) => {$(
        $(#[doc = $doc])+
        #[must_use]
        pub fn $name(quantity: &Quantity) -> Option<Band<$of>> {
            let one = |amount| match amount {
                Amount::$of(value) => Some(value),
                _ => None,
            };
            Some(Band::new(one(quantity.low())?, one(quantity.high())?))
        }
    )+};
}

written! {
    /// What is written as a length, from its least to its most; none of anything else.
    length_of: Length;
    /// What is written as a torque, from its least to its most; none of anything else.
    torque_of: Torque;
    /// What is written as a force, from its least to its most; none of anything else.
    force_of: Force;
    /// What is written as a share, from its least to its most; none of anything else.
    ratio_of: Ratio;
    /// What is written as an angle, from its least to its most; none of anything else.
    angle_of: Angle;
    /// What is written as a time, from its least to its most; none of anything else.
    time_of: Time;
}
