//! Reading YAML: one pass to one tree, a span on every key, value and comment.
//!
//! Records use a small part of YAML: maps, lists, text, whole numbers, `true`
//! and `false`. Anchors, aliases, merge keys, tags, directives and second
//! documents are refused: readers disagree about them, and a mechanic never
//! needs them.

pub mod blame;
pub mod edit;
pub mod parse;
pub mod traps;
pub mod tree;

pub use parse::{Problem, ProblemKind, Reading, read};
pub use tree::{Comment, Entry, Key, Node, NodeKind, Route, Step, Style, Tree};
