//! A clearance: a gap between two things, measured.

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{Critical, Day, FittedAs, Gap, Person, PhotoRef, Source, SpotRef};

/// A gap between two things, measured.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["between"]))]
pub struct Clearance {
    /// The two things.
    #[schemars(length(min = 2, max = 2), extend("uniqueItems" = true, "x-in-order" = true))]
    pub between: Vec<SpotRef>,
    /// The least gap allowed.
    pub least: Option<Gap>,
    /// What must be so when it is measured: full lock, alternator at full travel.
    #[serde(rename = "with")]
    pub with_: Vec<String>,
    /// What people's safety hangs on.
    pub critical: Option<Critical>,
    /// Why that much.
    pub because: Option<String>,
    /// What was measured.
    pub readings: Vec<GapReading>,
    /// Where the least gap is printed.
    pub source: Option<Source>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// A gap measured on a day.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["is"]))]
pub struct GapReading {
    /// The gap.
    pub is: Option<Gap>,
    /// The day.
    pub when: Option<Day>,
    /// With what was fitted: for now or for good.
    #[serde(rename = "as")]
    pub as_: Option<FittedAs>,
    /// How: feeler, putty, calliper.
    pub how: Option<String>,
    /// Who.
    pub by: Option<Person>,
    /// A picture of it.
    pub photo: Option<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}
