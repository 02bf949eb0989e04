//! Matchmark keeps the record of a car built out of several donors.
//!
//! The house, from the bottom up; arrows point one way:
//!
//! `source ← yaml ← {schema, model} ← folder ← names ← present ← lint ← render ← cli → shell`
//!
//! `reckon` depends on nothing of ours. Only `shell` touches the world: the
//! disk, the clock, the terminal.

pub mod allot;
pub mod changes;
pub mod cli;
pub mod example;
pub mod finding;
pub mod folder;
pub mod handover;
pub mod identify;
pub mod kept;
pub mod lint;
pub mod merge;
pub mod model;
pub mod names;
pub mod near;
pub mod patch;
pub mod picture;
pub mod present;
pub mod reckon;
pub mod render;
pub mod report;
pub mod schema;
pub mod shell;
pub mod source;
pub mod takeback;
pub mod yaml;

/// Trees are many small pieces, made on all cores at once.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
