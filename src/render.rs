//! What people and programs read: text, JSON and SARIF. The only markup.

pub mod json;
pub mod safe;
pub mod sarif;
pub mod text;
