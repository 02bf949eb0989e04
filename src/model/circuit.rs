//! A circuit: one electrical node, of one or more wires.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{
    CircuitRef, Current, Day, DonorRef, EndRef, Length, Name, OwnWire, Person, RouteRef, Source,
    Temperature, Traits, Voltage, WireSize, words,
};
use super::plug::Disposal;

/// One electrical node, of one or more wires.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("anyOf" = [{"required": ["does"]}, {"required": ["wires"]}]))]
pub struct Circuit {
    /// What it does.
    pub does: Option<String>,
    /// What sort of circuit it is.
    pub kind: Option<CircuitKind>,
    /// The current in it.
    pub carries: Option<Current>,
    /// Whether the current stays.
    pub duty: Option<Duty>,
    /// The voltage it may lose from end to end, if not as the build says.
    pub drop: Option<Voltage>,
    /// Traits that it needs around it.
    #[schemars(extend("x-traits" = "suits"))]
    pub suits: Traits,
    /// The pair that it belongs to; both circuits of a pair name the same one.
    pub pair: Option<String>,
    /// The screen around it.
    pub screen: Option<Screen>,
    /// The wires by name.
    pub wires: BTreeMap<Name, Wire>,
    /// Where it is printed.
    pub source: Option<Source>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What sort of circuit it is.
    CircuitKind {
        /// a feed
        Power = "power",
        /// a return to earth for loads
        PowerEarth = "power earth",
        /// a return to earth for sensors
        SensorEarth = "sensor earth",
        /// a supply for sensors
        SensorFeed = "sensor feed",
        /// a signal
        Signal = "signal",
        /// a wire that switches a load to earth
        Switched = "switched",
        /// data
        Data = "data",
        /// a screen's drain
        Drain = "drain",
    }
    /// Whether a current stays.
    Duty {
        /// as long as the car runs
        Continuous = "continuous",
        /// for a short time
        Intermittent = "intermittent",
    }
    /// How far a wire has come.
    WireState {
        /// drawn, not made
        Planned = "planned",
        /// cut to length
        Cut = "cut",
        /// its terminals are on
        Crimped = "crimped",
        /// laid in the car and plugged in
        Fitted = "fitted",
        /// measured from end to end; a claim
        Tested = "tested",
    }
}

/// A screen around a circuit's wires.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Screen {
    /// Where it is earthed.
    pub earthed_at: Option<EndRef>,
    /// Where else it is earthed, if it is.
    pub also_earthed_at: Vec<EndRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// One wire from end to end.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Wire {
    /// Where it starts.
    pub from: Option<EndRef>,
    /// Where it ends.
    pub to: Option<EndRef>,
    /// The routes that it lies along, from its start.
    #[schemars(extend("x-in-order" = true))]
    pub along: Vec<RouteRef>,
    /// Its size: cross-section or gauge.
    pub size: Option<WireSize>,
    /// The current in it, if not the circuit's.
    pub carries: Option<Current>,
    /// Across its insulation.
    pub outside: Option<Length>,
    /// How thick the wall of a sleeve on this wire alone is, heat sleeve or other.
    pub sleeve_wall: Option<Length>,
    /// Its colour by the letters of IEC 60757, main colour first: `BU/WH`.
    #[schemars(regex(pattern = "^[A-Z]{2,3}(/[A-Z]{2,3}){0,2}$"), extend("examples" = ["BU/WH", "RD"]))]
    pub colour: Option<String>,
    /// The hottest that its insulation stands.
    pub stands: Option<Temperature>,
    /// How far it has come.
    pub state: Option<WireState>,
    /// The length it was cut to.
    pub cut: Option<Length>,
    /// Wires of this circuit that share a crimp with it.
    pub crimped_with: Vec<OwnWire>,
    /// The circuit that shares its cavity in one joint crimp.
    pub shares_crimp_with: Option<CircuitRef>,
    /// The wire that it is twisted with, by circuit.
    pub twisted_with: Option<CircuitRef>,
    /// The marker on it.
    pub marker: Option<String>,
    /// The donor whose loom it is from.
    pub donor: Option<DonorRef>,
    /// What became of it, if nothing uses it.
    pub idle: Option<Disposal>,
    /// When it was measured from end to end, and by whom.
    pub tested: Vec<WireTest>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// A measurement of a wire from end to end.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["when"]))]
pub struct WireTest {
    /// The day.
    pub when: Option<Day>,
    /// The resistance found.
    pub is: Option<super::common::Resistance>,
    /// How.
    pub how: Option<String>,
    /// Who.
    pub by: Option<Person>,
}
