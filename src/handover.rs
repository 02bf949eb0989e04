//! Handing the folder to somebody else: what is private in it, and a record file without it.

pub mod history;
pub mod private;
pub mod strip;
