//! A route: one harness run, its length, its holes, what lies beside it.

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{Day, FittedAs, Gap, Length, PhotoRef, RouteRef, SpotRef, Temperature, words};

/// One harness run: its length, its holes, what lies beside it.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Route {
    /// What a mechanic calls it.
    pub name: Option<String>,
    /// Where it starts.
    pub from: Option<SpotRef>,
    /// Where it ends.
    pub to: Option<SpotRef>,
    /// How long it is.
    pub length: Option<Length>,
    /// Spare length to leave in every wire along it.
    pub slack: Option<Length>,
    /// How the length was found.
    pub measured: Option<Measured>,
    /// The holes that it goes through, from its start.
    #[schemars(extend("x-in-order" = true))]
    pub through: Vec<Passage>,
    /// What it runs beside.
    pub near: Vec<Neighbour>,
    /// Where other routes leave it.
    pub branches: Vec<Branch>,
    /// The hottest air along it.
    pub hottest: Option<Temperature>,
    /// What it is wrapped in.
    pub sleeve: Option<String>,
    /// How thick the wall of its sleeve is, heat sleeve or other.
    pub sleeve_wall: Option<Length>,
    /// The room inside its sleeve or tube, across.
    pub inside: Option<Length>,
    /// Pictures of it.
    pub photos: Vec<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// How a length was found.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Measured {
    /// The day.
    pub when: Option<Day>,
    /// With what was fitted: for now or for good.
    #[serde(rename = "as")]
    pub as_: Option<FittedAs>,
    /// With what: cord, tape, the old loom.
    pub how: Option<String>,
}

/// A hole that a route goes through.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["hole"], "x-rising" = [["grommet", "diameter"]]))]
pub struct Passage {
    /// The hole: a spot that `build.yaml` names, or an assembly.
    pub hole: Option<SpotRef>,
    /// Across the hole in the metal.
    pub diameter: Option<Length>,
    /// Across the inside of its grommet.
    pub grommet: Option<Length>,
    /// How far from the route's start.
    pub from_start: Option<Length>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// Something that a route runs beside.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["what"]))]
pub struct Neighbour {
    /// What a mechanic calls it.
    pub what: String,
    /// What makes it a danger to the route.
    pub danger: Option<Danger>,
    /// The gap to it.
    pub gap: Option<Gap>,
    /// The least gap, where somebody states one.
    pub least: Option<Gap>,
    /// What stands between.
    pub shield: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What makes a neighbour a danger to a route.
    Danger {
        /// it is hot
        Heat = "heat",
        /// it holds fuel
        Fuel = "fuel",
        /// it moves
        Moves = "moves",
        /// it has an edge
        Edge = "edge",
        /// it disturbs signals
        Sparks = "sparks",
    }
}

/// Where another route leaves this one.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["to"]))]
pub struct Branch {
    /// The route that leaves.
    pub to: Option<RouteRef>,
    /// How far from this route's start.
    pub from_start: Option<Length>,
}
