//! The world: the disk, the clock, the terminal. The only place that touches it;
//! `clippy.toml` bans the calls elsewhere.

#![allow(clippy::disallowed_methods, clippy::disallowed_macros)]

pub mod bench;
pub mod clock;
pub mod disk;
pub mod driver;
pub mod git;
pub mod handed;
pub mod history;
pub mod hooks;
pub mod init;
pub mod lay;
pub mod merging;
pub mod message;
pub mod pack;
pub mod replay;
pub mod states;
pub mod synced;
pub mod terminal;
pub mod unpack;
pub mod weight;
