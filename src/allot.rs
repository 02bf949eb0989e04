//! Which pieces go to which places.
pub mod solve;
