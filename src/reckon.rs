//! The trade's arithmetic: pure values in, values out.
//!
//! Nothing here reads a file, a clock or the build's tree, and nothing here
//! prints: what is reckoned can then be checked against the published tables
//! it comes from. No figure leaves this module without its unit.

pub mod cavities;
pub mod day;
pub mod measure;
pub mod quantity;
pub mod step;
pub mod thread;
pub mod unit;
pub mod vin;
