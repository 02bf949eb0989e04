//! A photo: what a picture shows.

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{AnyRef, Day, Person, ShownRef, words};

/// What a picture shows; the picture lies beside the record's file.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["file"]))]
pub struct Photo {
    /// The picture's file, from the folder of this record's file.
    pub file: String,
    /// What it shows, in a line.
    pub caption: Option<String>,
    /// The day it was taken.
    pub taken: Option<Day>,
    /// Who took it.
    pub by: Option<Person>,
    /// What it shows: any record or what lies inside one; kind and id, or assembly and place.
    pub shows: Vec<ShownRef>,
    /// Where it is seen from.
    pub seen_from: Option<String>,
    /// Whether it was taken before, during or after.
    pub taken_at: Option<Moment>,
    /// The content's hash, so that a changed picture is seen (SHA-256 in hexadecimal).
    #[schemars(regex(pattern = "^[0-9a-f]{64}$"))]
    pub sha256: Option<String>,
    /// Whether the position in it may stay.
    pub keeps_position: Option<bool>,
    /// Things it shows that no record stands for, as words.
    pub also_shows: Vec<String>,
    /// What it is evidence of.
    pub proves: Vec<AnyRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// When in the work a picture was taken.
    Moment {
        /// before things came apart
        Before = "before",
        /// while they were apart
        During = "during",
        /// when they were together again
        After = "after",
    }
}
