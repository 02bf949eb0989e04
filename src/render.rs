//! What people and programs read: text and JSON. The only markup.

pub mod json;
pub mod safe;
pub mod text;
