//! What several kinds of record share: references, measured figures, events,
//! readings, words. A type here says in its schema what a text means
//! (`x-refers`, `x-quantity`), so that one walk over the tree finds every
//! reference and every figure at its own position.

use std::borrow::Cow;
use std::collections::BTreeMap;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;

use crate::reckon::cavities::{Cavities, CavitiesError};
use crate::reckon::quantity::{Quantity, QuantityError};
use crate::reckon::step::{Step, StepError};
use crate::reckon::thread::{Thread, ThreadError};

/// What an id, a place, a hole or a wire may be called.
pub const NAME_PATTERN: &str = "^[a-z0-9]+(-[a-z0-9]+)*$";
/// What a piece mark or a cavity may be called: capitals are allowed, because
/// they are what is stamped or moulded there.
pub const MARK_PATTERN: &str = "^[A-Za-z0-9]+([-.][A-Za-z0-9]+)*$";

/// Makes a text type that carries its meaning into the schema.
macro_rules! texts {
    ($($(#[doc = $doc:literal])+ $name:ident { $($key:literal : $value:tt),+ $(,)? })+) => {$(
        $(#[doc = $doc])+
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub String);

        impl $name {
            /// The text as it was written.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl JsonSchema for $name {
            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({
                    "type": "string",
                    "description": ([$($doc),+].concat().trim()),
                    $($key: $value),+
                })
            }
        }
    )+};
}

texts! {
    /// A name inside its record: lower-case letters, digits and hyphens.
    Name { "pattern": NAME_PATTERN }
    /// A mark on a piece, or a cavity's name: letters, digits, hyphens and full stops.
    Mark { "pattern": MARK_PATTERN }
    /// A day, as ISO 8601 writes it: year-month-day.
    Day { "format": "date", "examples": ["2026-03-01"] }
    /// A day as far as it is known: a day, a month (`2019-05`), a year (`"2019"`, in quotes) or a week (`2019-W31`).
    RoughDay {
        "x-rough-day": true,
        "anyOf": [
            {"format": "date"},
            {"pattern": "^[0-9]{4}(-(0[1-9]|1[0-2])|-W(0[1-9]|[1-4][0-9]|5[0-3]))?$"},
        ],
        "examples": ["2019", "2019-05", "2019-05-14", "2019-W31"],
    }
    /// A part number as the maker prints it. It is text: quote one that YAML would take for a number or a date.
    PartNumber { "minLength": 1, "examples": ["QX-1180", "0123"] }

    /// The id of a donor.
    DonorRef { "x-refers": "donor", "pattern": "[a-z0-9]", "examples": ["pell-van"] }
    /// The id of a part.
    PartRef { "x-refers": "part", "pattern": "[a-z0-9]", "examples": ["injector"] }
    /// A piece: the part's id, a slash, the piece's mark.
    PieceRef { "x-refers": "piece", "pattern": "[a-z0-9]", "examples": ["injector/P1"] }
    /// The id of an assembly, or `car`.
    AssemblyRef { "x-refers": "assembly", "pattern": "[a-z0-9]", "examples": ["engine", "car"] }
    /// A place in an assembly: the assembly's id, a slash, the place's name.
    PlaceRef { "x-refers": "place", "pattern": "[a-z0-9]", "examples": ["engine/head", "fuel/injector-1"] }
    /// A place in an assembly; for a lot also all the places of one name for each cylinder, bank or hand.
    PlacesRef { "x-refers": "places", "pattern": "[a-z0-9]", "examples": ["engine/head", "fuel/injector"] }
    /// Where something is: an assembly, a place or joint of one, a spot that `build.yaml` names, or `car/` and a spot.
    SpotRef { "x-refers": "spot", "pattern": "[a-z0-9]", "examples": ["cabin", "engine/head", "car/bulkhead"] }
    /// What a joint clamps or a job takes off: an assembly, or a place or joint in one.
    FitRef { "x-refers": "fit", "pattern": "[a-z0-9]", "examples": ["gearbox", "engine/head"] }
    /// The id of a fastener.
    FastenerRef { "x-refers": "fastener", "pattern": "[a-z0-9]", "examples": ["bolt-m10-35"] }
    /// The id of a plug, splice, earth, post or fuse box.
    PlugRef { "x-refers": "plug", "pattern": "[a-z0-9]", "examples": ["unit-b"] }
    /// Where a wire ends: a cavity (`unit-b/21`), or a splice, earth or post by its id alone.
    EndRef { "x-refers": "end", "pattern": "[a-z0-9]", "examples": ["unit-b/21", "s-5v"] }
    /// The id of a route.
    RouteRef { "x-refers": "route", "pattern": "[a-z0-9]", "examples": ["bay-run"] }
    /// The id of a circuit.
    CircuitRef { "x-refers": "circuit", "pattern": "[a-z0-9]", "examples": ["coolant-signal"] }
    /// The id of a job.
    JobRef { "x-refers": "job", "pattern": "[a-z0-9]", "examples": ["plating-1"] }
    /// Where hardware comes out of: a send-out by its id, or a lot, a fastener or a donor with its kind in front.
    BatchRef { "x-refers": "batch", "pattern": "[a-z0-9]", "examples": ["plating-1", "parts/bolt-set/L1"] }
    /// The id of a decision.
    DecisionRef { "x-refers": "decision", "pattern": "[a-z0-9]", "examples": ["keep-unit-b"] }
    /// The id of a photo.
    PhotoRef { "x-refers": "photo", "pattern": "[a-z0-9]", "examples": ["p-014"] }
    /// A source that `build.yaml` lists.
    SourceRef { "x-refers": "source", "pattern": "[a-z0-9]", "examples": ["pell-16"] }
    /// A wrench that `build.yaml` lists.
    WrenchRef { "x-refers": "wrench", "pattern": "[a-z0-9]", "examples": ["small"] }
    /// A person by role, as `build.yaml` lists them.
    Person { "x-refers": "person", "pattern": "\\S", "examples": ["builder", "helper"] }
    /// The name of a rule of the check.
    RuleRef { "x-refers": "rule", "pattern": "[a-z0-9]", "examples": ["changed-by-yaml"] }
    /// Anything in the build: the kind, a slash, the id, and what lies inside after another slash.
    AnyRef { "x-refers": "any", "pattern": "[a-z0-9]", "examples": ["parts/injector", "parts/unit-b/U1", "tools/insert-tap-m10"] }
    /// What a picture shows: any record with its kind in front, or an assembly's place, a joint or a spot.
    ShownRef { "x-refers": "shown", "pattern": "[a-z0-9]", "examples": ["engine/bracket", "parts/injector/P1"] }
    /// A pattern that chooses what is private: kind, id and field, with `*` for any name and `**` for any depth.
    Pattern { "x-pattern": true, "minLength": 1, "examples": ["donors/*/price", "jobs/**/price"] }
    /// A hole of the same joint.
    OwnHole { "x-refers": "own holes", "pattern": "[a-z0-9]", "examples": ["front"] }
    /// One of this decision's options.
    OwnOption { "x-refers": "own options", "pattern": "[a-z0-9]", "examples": ["unit-b"] }
    /// A cavity of the same plug. Quote a number.
    OwnCavity { "x-refers": "cavity", "pattern": "[A-Za-z0-9]", "examples": ["30", "87a"] }
    /// A wire of the same circuit.
    OwnWire { "x-refers": "own wires", "pattern": "[a-z0-9]", "examples": ["a"] }
    /// A word of a trait; `build.yaml` may list the words that a trait can have.
    TraitWord { "pattern": "\\S", "examples": ["coil-per-cylinder"] }
}

macro_rules! measures {
    ($($(#[doc = $doc:literal])+ $name:ident { $($key:literal : $value:tt),+ $(,)? })+) => {
        texts! {$($(#[doc = $doc])+ $name { "pattern": "[0-9¼½¾⅛⅜⅝⅞]", $($key: $value),+ })+}
        $(impl $name {
            /// The figure with its unit.
            ///
            /// # Errors
            /// What is wrong with the text, as `bad-quantity` reports it.
            pub fn quantity(&self) -> Result<Quantity, QuantityError> {
                Quantity::parse(&self.0)
            }
        })+
    };
}

measures! {
    /// A torque with its unit.
    Torque { "x-quantity": ["torque"], "examples": ["24 N·m", "18 lb-ft", "37–43 N·m"] }
    /// A length with its unit, never below nothing.
    Length { "x-quantity": ["length"], "x-negative": false, "examples": ["94 mm", "12 thou", "3/8 in"] }
    /// A gap with its unit; below nothing is an overlap.
    Gap { "x-quantity": ["length"], "examples": ["12 mm", "0.5 mm"] }
    /// A wire's size: its cross-section, its gauge, or (less well) its outside diameter.
    WireSize { "x-quantity": ["area", "length"], "x-negative": false, "examples": ["0.5 mm2", "18 AWG"] }
    /// A current with its unit.
    Current { "x-quantity": ["current"], "x-negative": false, "examples": ["5 mA", "7.5 A"] }
    /// A voltage with its unit.
    Voltage { "x-quantity": ["voltage"], "x-negative": false, "examples": ["0.5 V"] }
    /// An electrical resistance with its unit.
    Resistance { "x-quantity": ["resistance"], "x-negative": false, "examples": ["120 ohm"] }
    /// A temperature with its unit.
    Temperature { "x-quantity": ["temperature"], "examples": ["20 degC", "90 degC"] }
    /// An angle with its unit.
    Angle { "x-quantity": ["angle"], "examples": ["90 deg"] }
    /// A length of time with its unit.
    Duration { "x-quantity": ["time"], "x-negative": false, "examples": ["2 h", "8 h", "10 years"] }
    /// An amount of money with the currency's code (ISO 4217).
    Money { "x-quantity": ["money"], "x-negative": false, "examples": ["310 EUR"] }
    /// A volume or a mass with its unit.
    Fill { "x-quantity": ["volume", "mass"], "x-negative": false, "examples": ["3.5 L", "250 g"] }
    /// A weight with its unit.
    Mass { "x-quantity": ["mass"], "x-negative": false, "examples": ["112 kg"] }
    /// A share of a hundred, or a difference in the reading's own unit.
    Spread { "x-quantity": ["any"], "x-negative": false, "examples": ["2 %", "0.02 mm"] }
    /// A distance or a time in use.
    Usage { "x-quantity": ["length", "time"], "x-negative": false, "examples": ["500 km", "1 h"] }
    /// Any measured figure with its unit.
    AnyFigure { "x-quantity": ["any"], "examples": ["182 cc/min", "65 Shore A", "0.04 mm"] }
}

texts! {
    /// One tightening step: a torque, a turn (`turn 90 deg`), a loosening (`back 180 deg`, `loosen`).
    StepText { "x-step": true, "minLength": 1, "examples": ["46 N·m", "turn 90 deg", "back 180 deg"] }
}

texts! {
    /// A thread: metric (`M10x1.25`; `M10` for the coarse pitch), inch (`3/8-16UNC`, `1/2 BSW`, `2 BA`), pipe (`G1/4`, `Rp 1/8`, `1/8-27NPT`); `-LH` behind a left-hand one.
    ThreadText { "x-thread": true, "minLength": 1, "examples": ["M10x1.25", "M8", "3/8-16UNC", "G1/4"] }
    /// Cavities: single ones and runs, with commas between. Quote a single number.
    CavityList {
        "x-cavities": true,
        "pattern": "^[A-Za-z0-9.]+(-[A-Za-z0-9.]+)?( *, *[A-Za-z0-9.]+(-[A-Za-z0-9.]+)?)*$",
        "examples": ["1-40", "A1-A4, B1-B4"],
    }
}

impl ThreadText {
    /// The thread, read.
    ///
    /// # Errors
    /// What is wrong with the text, as `bad-quantity` reports it.
    pub fn thread(&self) -> Result<Thread, ThreadError> {
        Thread::parse(&self.0)
    }
}

impl CavityList {
    /// The cavities, read.
    ///
    /// # Errors
    /// What is wrong with the text, as `bad-quantity` reports it.
    pub fn cavities(&self) -> Result<Cavities, CavitiesError> {
        Cavities::parse(&self.0)
    }
}

impl StepText {
    /// The step, read.
    ///
    /// # Errors
    /// What is wrong with the text, as `bad-quantity` reports it.
    pub fn step(&self) -> Result<Step, StepError> {
        Step::parse(&self.0)
    }
}

/// Traits and their words: what something gives, or what it suits.
pub type Traits = BTreeMap<Name, TraitWord>;

macro_rules! words {
    ($($(#[doc = $doc:literal])+ $name:ident { $($(#[doc = $vdoc:literal])+ $variant:ident = $word:literal),+ $(,)? })+) => {$(
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, JsonSchema)]
        pub enum $name {
            $($(#[doc = $vdoc])+ #[serde(rename = $word)] $variant),+
        }

        impl $name {
            /// All there are, as they are listed.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word as it stands in a record.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }
    )+};
}
pub(crate) use words;

words! {
    /// How far something has come.
    Stage {
        /// lying on the bench
        Bench = "bench",
        /// on for now, to come off again
        MockUp = "mock-up",
        /// on for good; a claim that the record must support
        Final = "final",
    }
    /// The stage of something that is on.
    FittedAs {
        /// on for now, to come off again
        MockUp = "mock-up",
        /// on for good; a claim that the record must support
        Final = "final",
    }
    /// What state a piece is in.
    Condition {
        /// nobody has looked or measured yet
        Unchecked = "unchecked",
        /// looked over and fit for use
        Serviceable = "serviceable",
        /// good again after work
        Repairable = "repairable",
        /// good for nothing but a pattern
        Scrap = "scrap",
    }
    /// How new a piece is.
    Newness {
        /// from current production
        New = "new",
        /// never used, but old
        OldStock = "old stock",
        /// taken off a car
        Used = "used",
        /// worked over by a trade firm
        Remanufactured = "remanufactured",
    }
    /// Whose part it is.
    Grade {
        /// the car maker's own
        Genuine = "genuine",
        /// from the firm that supplied the car maker
        Supplier = "maker's supplier",
        /// from somebody else
        Aftermarket = "aftermarket",
        /// made for this build
        MadeHere = "made here",
    }
    /// Which hand a part or a place is.
    Hand {
        /// left, seen from the driver's seat
        Left = "left",
        /// right, seen from the driver's seat
        Right = "right",
    }
    /// What people's safety hangs on.
    Critical {
        /// the brakes
        Brakes = "brakes",
        /// the steering
        Steering = "steering",
        /// the suspension
        Suspension = "suspension",
        /// belts and seats
        Restraints = "restraints",
        /// what turns between engine and wheels
        Driveline = "driveline",
        /// what holds fuel
        Fuel = "fuel",
    }
    /// What is on a thread.
    ThreadState {
        /// clean and dry
        Dry = "dry",
        /// engine oil
        Oiled = "oiled",
        /// grease
        Greased = "greased",
        /// anti-seize paste
        AntiSeize = "anti-seize",
        /// thread-locking compound
        LockingCompound = "locking compound",
        /// sealant
        Sealant = "sealant",
        /// as the maker coated it
        AsSupplied = "as supplied",
    }
}

/// Where a statement is printed.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["in"]))]
pub struct Source {
    /// The source, by its name in `build.yaml`.
    #[serde(rename = "in")]
    pub in_: Option<SourceRef>,
    /// The page as it is numbered there; text.
    pub page: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// Something measured on the bench.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["what", "is"], "x-limited" = true))]
pub struct Reading {
    /// What was measured: flow, resistance, runout, wear, hardness, thread pull, anything. Where `limits` names it, by that name.
    #[schemars(extend("x-refers" = "limit"))]
    pub what: String,
    /// The figure with its unit.
    pub is: Option<AnyFigure>,
    /// The day.
    pub when: Option<Day>,
    /// The temperature, where it matters.
    pub at: Option<Temperature>,
    /// The method or the instrument.
    pub how: Option<String>,
    /// Who measured.
    pub by: Option<Person>,
    /// A picture of it.
    pub photo: Option<PhotoRef>,
    /// Where on the piece, or between which two things.
    #[schemars(extend("x-in-order" = true))]
    pub between: Vec<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// What a reading may be.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("minProperties" = 1, "x-rising" = [["least", "most"]]))]
pub struct Limit {
    /// The least allowed.
    pub least: Option<AnyFigure>,
    /// The most allowed.
    pub most: Option<AnyFigure>,
    /// How far apart the pieces of one set may be.
    pub spread: Option<Spread>,
    /// The temperature that it holds at.
    pub at: Option<Temperature>,
    /// What a reading must state to be judged.
    pub needs: Vec<Basis>,
    /// Where the limit is printed.
    pub source: Option<Source>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What a reading must state to be judged.
    Basis {
        /// the temperature it was measured at
        Temperature = "temperature",
        /// how it was measured
        Method = "method",
        /// when it was measured
        Day = "day",
        /// who measured it
        Person = "person",
    }
}

/// Being fitted or mounted: it begins on a day and ends with `until`.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["as", "when"], "x-rising" = [["when", "until"]]))]
pub struct Fitting {
    /// For now (`mock-up`) or for good (`final`, a claim).
    #[serde(rename = "as")]
    pub as_: Option<FittedAs>,
    /// The day it went on.
    pub when: Option<Day>,
    /// The day it came off again.
    pub until: Option<Day>,
    /// Where, if not where `goes` plans it.
    pub at: Option<PlacesRef>,
    /// How many of a lot.
    #[schemars(range(min = 1))]
    pub count: Option<u32>,
    /// What was done about match marks or the way round.
    pub way_round: Option<WayRound>,
    /// Who did it.
    pub by: Option<Person>,
    /// A picture of it.
    pub photo: Option<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What was done about match marks or the way round.
    WayRound {
        /// seen to be as marked or described
        Checked = "checked",
        /// found right and marked anew
        MarkedAnew = "marked anew",
    }
    /// Where a check of work already done comes in.
    CheckResult {
        /// as it should be
        Good = "good",
        /// not as it should be
        Bad = "bad",
    }
}

/// A second look at work that somebody did.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["by"]))]
pub struct SecondCheck {
    /// Who looked.
    pub by: Option<Person>,
    /// The day; the day of the work unless it says.
    pub when: Option<Day>,
    /// How: torque mark seen, click felt, measured.
    pub how: Option<String>,
    /// What came of it.
    pub found: Option<CheckResult>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// How a chassis number is built.
    Numbering {
        /// the maker's own way
        Own = "maker's own",
        /// seventeen characters (ISO 3779)
        Vin = "vin",
        /// seventeen characters with a check digit (49 CFR 565)
        VinChecked = "vin with check digit",
    }
}

/// What something is filled with.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["what"], "x-rising" = [["when", "until"]]))]
pub struct Filling {
    /// The fluid or grease, as a part.
    pub what: Option<PartRef>,
    /// The tin or can that it came out of, so that its age is known.
    pub from: Option<PieceRef>,
    /// How much it takes.
    pub takes: Option<Fill>,
    /// How much is in it.
    pub filled: Option<Fill>,
    /// The day it was filled.
    pub when: Option<Day>,
    /// The day it was drained.
    pub until: Option<Day>,
    /// Whether air has been bled out.
    pub bled: Option<bool>,
    /// Where the amount is printed.
    pub source: Option<Source>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// How a thing was bought, and what can still go back.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("x-rising" = [["when", "return-by"]]))]
pub struct Bought {
    /// The seller, as the receipt calls them.
    pub from: Option<String>,
    /// The day.
    pub when: Option<Day>,
    /// What it cost.
    pub price: Option<Money>,
    /// The receipt: its number, a file, or where it lies.
    pub receipt: Option<String>,
    /// The last day to send it back.
    pub return_by: Option<Day>,
    /// The deposit on the old unit.
    pub deposit: Option<Deposit>,
    /// The order it came with.
    pub order: Option<JobRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// Money that comes back with the old unit.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["amount"]))]
pub struct Deposit {
    /// How much.
    pub amount: Option<Money>,
    /// The old unit that it stands for.
    #[serde(rename = "for")]
    pub for_: Option<PieceRef>,
    /// The last day to bring the old unit.
    pub back_by: Option<Day>,
    /// The day the old unit was handed in.
    pub handed_in: Option<Day>,
    /// The day the money was paid back.
    pub returned: Option<Day>,
    /// The day it was settled that the old unit is kept, and the money with the seller.
    pub kept: Option<Day>,
    /// What must not be done to the old unit.
    pub on_condition: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}
