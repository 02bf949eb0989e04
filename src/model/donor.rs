//! A donor: a vehicle or a lot that parts come from.

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{Bought, Day, Money, Numbering, PhotoRef, RoughDay, Traits, Usage, words};

/// A vehicle, an engine or a lot that parts come from.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("anyOf" = [{"required": ["name"]}, {"required": ["maker"]}]))]
pub struct Donor {
    /// What it is called in the workshop.
    pub name: Option<String>,
    /// What sort of donor it is.
    pub kind: Option<DonorKind>,
    /// Who made it.
    pub maker: Option<String>,
    /// Its model.
    pub model: Option<String>,
    /// The year it was made.
    #[schemars(range(min = 1880, max = 2200))]
    pub year: Option<u32>,
    /// The chassis number as it is stamped; text.
    pub chassis_number: Option<String>,
    /// How the chassis number is built: whether it has a check digit.
    pub numbering: Option<Numbering>,
    /// The engine number as it is stamped; text.
    pub engine_number: Option<String>,
    /// The gearbox number as it is stamped; text.
    pub gearbox_number: Option<String>,
    /// The variant it is, by traits; its parts are of that variant unless they say otherwise.
    #[schemars(extend("x-traits" = "suits"))]
    pub variant: Traits,
    /// How far or how long it had run.
    pub ran: Option<Usage>,
    /// What failed, if it failed.
    pub died_of: Option<String>,
    /// Whether the failure was inside the engine, so that debris may be anywhere in it.
    pub failed_inside: Option<bool>,
    /// What is known of its life.
    pub history: Vec<Happening>,
    /// What it cost.
    pub price: Option<Money>,
    /// How it was bought.
    pub bought: Option<Bought>,
    /// Where it stands.
    pub kept_in: Option<String>,
    /// The day it left again.
    pub gone: Option<Day>,
    /// A picture of it.
    pub photo: Option<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What sort of donor it is.
    DonorKind {
        /// a whole car or van
        Vehicle = "vehicle",
        /// an engine, with or without its gearbox
        Engine = "engine",
        /// a box of parts
        Lot = "lot",
        /// a dealer or shop
        Dealer = "dealer",
        /// a breaker's yard
        Breaker = "breaker",
    }
}

/// Something that happened to a donor.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["what"]))]
pub struct Happening {
    /// The day, as far as it is known.
    pub when: Option<RoughDay>,
    /// What happened.
    pub what: String,
    /// Who says so.
    pub according_to: Option<String>,
}
