//! The trade's arithmetic: pure values in, values out.
//!
//! Nothing here reads a file, a clock or the build's tree, and nothing here
//! prints: what is reckoned can then be checked against the published tables
//! it comes from. No figure leaves this module without its unit.

pub mod cavities;
pub mod class;
pub mod convert;
pub mod day;
pub mod friction;
pub mod geometry;
pub mod heads;
pub mod measure;
pub mod plating;
pub mod printed;
pub mod quantity;
pub mod repair;
pub mod step;
pub mod stripping;
pub mod thread;
pub mod tightening;
pub mod unit;
pub mod vin;
pub mod wrench;
