//! `build.yaml`: the car, its traits, units, tools, sources, policy.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{
    Angle, Day, Duration, Gap, Grade, Length, Name, Newness, Numbering, Pattern, Resistance,
    Torque, TraitWord, Traits, Voltage, words,
};
use crate::reckon::quantity::{Quantity, QuantityError};
use crate::reckon::unit::Unit;

/// The car and what holds for the whole build.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["name"]))]
pub struct Build {
    /// What the build is called.
    pub name: String,
    /// The car that everything goes into.
    pub car: Option<Car>,
    /// The words that a trait can have, so that a slip of the pen is seen.
    pub trait_words: BTreeMap<Name, Vec<TraitWord>>,
    /// What the car itself gives to what is fitted in it.
    #[schemars(extend("x-traits" = "gives"))]
    pub gives: Traits,
    /// The units that sheets and answers use.
    pub units: Option<Units>,
    /// How many cylinders the engine has.
    #[schemars(range(min = 1, max = 16))]
    pub cylinders: Option<u32>,
    /// How many banks the engine has; 1 for an engine in line.
    #[schemars(range(min = 1, max = 4))]
    pub banks: Option<u32>,
    /// The cylinders in the order that they fire.
    #[schemars(inner(range(min = 1, max = 16)), extend("uniqueItems" = true, "x-in-order" = true))]
    pub firing_order: Vec<u32>,
    /// Torque wrenches, each with its range.
    pub wrenches: BTreeMap<Name, Wrench>,
    /// Tools that jobs ask for.
    pub tools: BTreeMap<Name, Tool>,
    /// Spots on the car that no assembly stands for, each with what it is.
    pub spots: BTreeMap<Name, String>,
    /// What the build wants of its parts; else a decision must settle it.
    pub policy: Option<Policy>,
    /// Books, sheets and people that figures come from.
    pub sources: BTreeMap<Name, BuildSource>,
    /// Who works on the build, by role. Without it: builder and helper.
    pub people: Vec<String>,
    /// How long a break must be to end a session.
    pub session_gap: Option<Duration>,
    /// Which errors stop a commit.
    pub stops: Option<Stops>,
    /// What a drafted commit message holds under its first line.
    pub message: Option<Message>,
    /// How loud a rule is in this build. The rules about what can be read at all keep their level.
    #[schemars(extend("x-key-refers" = "rule"))]
    pub levels: BTreeMap<Name, LevelWord>,
    /// The figures that rules judge by, where this build wants others.
    pub figures: Option<Figures>,
    /// What is left out when the folder is handed to somebody: patterns of kind/id/field.
    pub private: Vec<Pattern>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// The car that everything goes into.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Car {
    /// Who made it.
    pub maker: Option<String>,
    /// What it is called.
    pub model: Option<String>,
    /// The year it was made.
    #[schemars(range(min = 1880, max = 2200))]
    pub year: Option<u32>,
    /// The chassis number as it is stamped; text.
    pub chassis_number: Option<String>,
    /// The engine number that the papers name; text.
    pub engine_number: Option<String>,
    /// The gearbox number that the papers name; text.
    pub gearbox_number: Option<String>,
    /// How the chassis number is built.
    pub numbering: Option<Numbering>,
    /// Which side the wheel is on.
    pub wheel: Option<super::common::Hand>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// Which errors stop a commit.
    Stops {
        /// every error in the folder
        All = "all",
        /// only errors that the commit adds
        Added = "added",
    }
    /// What a drafted commit message holds under its first line.
    Message {
        /// the list of what changed, as comments that git takes out
        Comments = "comments",
        /// the list of what changed, to be kept
        Body = "body",
        /// no message is drafted
        None = "none",
    }
    /// How loud a rule is.
    LevelWord {
        /// stops a commit
        Error = "error",
        /// is said, and stops nothing
        Warning = "warning",
        /// is said in passing
        Note = "note",
        /// is not said
        None = "none",
    }
    /// The unit that torques are shown in.
    TorqueUnit {
        /// newton metre
        NewtonMetre = "N·m",
        /// pound-foot
        PoundFoot = "lb-ft",
        /// kilogram-force metre
        KilogramMetre = "kgf·m",
    }
    /// The unit that lengths are shown in.
    LengthUnit {
        /// millimetre
        Millimetre = "mm",
        /// inch
        Inch = "in",
    }
    /// The unit that temperatures are shown in.
    TemperatureUnit {
        /// degree Celsius
        Celsius = "degC",
        /// degree Fahrenheit
        Fahrenheit = "degF",
    }
}

/// The units that sheets and answers use.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Units {
    /// For torques.
    pub torque: Option<TorqueUnit>,
    /// For lengths.
    pub length: Option<LengthUnit>,
    /// For temperatures.
    pub temperature: Option<TemperatureUnit>,
    /// The currency that sums are shown in, by its code (ISO 4217).
    #[schemars(regex(pattern = "^[A-Z]{3}$"))]
    pub money: Option<String>,
}

/// A torque wrench.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("x-rising" = [["from", "to"]]))]
pub struct Wrench {
    /// The least it can be set to.
    pub from: Option<Torque>,
    /// The most it can be set to.
    pub to: Option<Torque>,
    /// From the middle of the drive to the mark on the grip.
    pub length: Option<Length>,
    /// The drive square.
    pub drive: Option<Length>,
    /// The day it was last calibrated.
    pub calibrated: Option<Day>,
    /// The day it was last dropped.
    pub dropped: Option<Day>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// A tool that jobs ask for.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Tool {
    /// What it is.
    pub name: Option<String>,
    /// Whether it is to hand.
    pub state: Option<ToolState>,
    /// Where it is kept, or who has it.
    pub kept_in: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// Whether a tool is to hand.
    ToolState {
        /// here and working
        ToHand = "to hand",
        /// somebody else has it
        LentOut = "lent out",
        /// must be bought, borrowed or made
        Wanted = "wanted",
        /// here and not working
        Broken = "broken",
    }
}

/// What the build wants of its parts.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Policy {
    /// The grades that are wanted.
    pub grade: Vec<Grade>,
    /// How new pieces should be.
    pub newness: Vec<Newness>,
    /// The reason, in a sentence.
    pub because: Option<String>,
}

/// A book, sheet or person that figures come from.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct BuildSource {
    /// What it is called.
    pub title: Option<String>,
    /// Which edition; text.
    pub edition: Option<String>,
    /// The variant that it speaks of, by traits.
    #[schemars(extend("x-traits" = "suits"))]
    pub covers: Traits,
    /// Where it lies.
    pub kept_in: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// The figures that rules judge by, where this build wants others.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("x-rising" = [
    ["driveline-angle-least", "driveline-angle"], ["wrench-low", "wrench-high"],
    ["friction-least", "friction-most"],
]))]
pub struct Figures {
    /// The voltage that loads are reckoned at (14 V unless set; common practice, no source).
    pub system_voltage: Option<Voltage>,
    /// Voltage drop allowed under a load that stays (0.5 V unless set; common practice, no source).
    pub voltage_drop: Option<Voltage>,
    /// Voltage drop allowed under a short load (1 V unless set; common practice, no source).
    pub voltage_drop_intermittent: Option<Voltage>,
    /// Resistance allowed from an earth to the battery.
    pub earth_resistance: Option<Resistance>,
    /// Most load that a fuse carries for long, in percent of its rating (75 unless set; fuse makers' advice, from memory).
    #[schemars(range(min = 1, max = 100))]
    pub fuse_load: Option<u32>,
    /// Gap between a route and heat or fuel where the route sets none.
    pub heat_gap: Option<Gap>,
    /// Least distance of a splice from a branch, a plug or another splice (40 mm unless set; common practice, no source).
    pub splice_gap: Option<Length>,
    /// Spare length in a wire beyond its routes.
    pub wire_slack: Option<Length>,
    /// How long a wrench's calibration holds (12 months unless set; ISO 6789-1 as commonly applied, from memory).
    pub calibration: Option<Duration>,
    /// Least part of a wrench's range that is used, in percent (20 unless set; common practice, no source).
    #[schemars(range(min = 0, max = 100))]
    pub wrench_low: Option<u32>,
    /// Most part of a wrench's range that is used, in percent (100 unless set; common practice, no source).
    #[schemars(range(min = 1, max = 100))]
    pub wrench_high: Option<u32>,
    /// Beyond how many percent two printings of one torque can't be rounding (6 unless set; of 85 printed pairs the worst differed by 5.5).
    #[schemars(range(min = 1, max = 50))]
    pub torque_slip: Option<u32>,
    /// Least friction in a thread, as a coefficient (0.07 unless set; MIL-HDBK-60 table II, graphite in oil).
    #[schemars(range(min = 0.01, max = 1))]
    pub friction_least: Option<f64>,
    /// Most friction in a thread, as a coefficient (0.2 unless set; MIL-HDBK-60 table II, dry zinc with its 20 % more).
    #[schemars(range(min = 0.01, max = 1))]
    pub friction_most: Option<f64>,
    /// Least thread engagement by what the thread is cut in.
    pub engagement: Option<Engagement>,
    /// The property class from which electroplated hardware must have been baked (12.9 unless set; ISO 4042:2018, from memory).
    #[schemars(regex(pattern = "^[0-9]{1,2}\\.[0-9]$"), extend("examples" = ["12.9"]))]
    pub bake_from: Option<String>,
    /// The property class from which baking is advised (10.9 unless set; ISO 4042:1999, seen in an extract).
    #[schemars(regex(pattern = "^[0-9]{1,2}\\.[0-9]$"), extend("examples" = ["10.9"]))]
    pub bake_advised_from: Option<String>,
    /// Most rings on one earth stud (4 unless set; common practice, no source).
    #[schemars(range(min = 1, max = 20))]
    pub rings: Option<u32>,
    /// Largest picture kept outside large-file storage, in kilobytes (2000 unless set; our choice).
    #[schemars(range(min = 1))]
    pub photo_kilobytes: Option<u32>,
    /// How long before the last day to send something back it is said (14 days unless set; our choice).
    pub return_warning: Option<Duration>,
    /// Largest angle at a driveline joint (3 deg unless set; common practice, no source).
    pub driveline_angle: Option<Angle>,
    /// Least angle at a driveline joint, so that its needles turn (0.5 deg unless set; common practice, no source).
    pub driveline_angle_least: Option<Angle>,
    /// Most difference between the angles at the two ends of a shaft (1 deg unless set; common practice, no source).
    pub driveline_angle_difference: Option<Angle>,
}

/// Least thread engagement by what the thread is cut in, as so many times the thread's diameter.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Engagement {
    /// In steel (1 unless set; common practice).
    #[schemars(range(min = 0.5, max = 5))]
    pub steel: Option<f64>,
    /// In cast iron (1.5 unless set; common practice).
    #[schemars(range(min = 0.5, max = 5))]
    pub cast_iron: Option<f64>,
    /// In brass or bronze (1.5 unless set; common practice).
    #[schemars(range(min = 0.5, max = 5))]
    pub brass: Option<f64>,
    /// In aluminium (1.5 unless set; common practice asks for 1.5 to 2).
    #[schemars(range(min = 0.5, max = 5))]
    pub aluminium: Option<f64>,
    /// In magnesium (2 unless set; as for the softest aluminium, no source).
    #[schemars(range(min = 0.5, max = 5))]
    pub magnesium: Option<f64>,
    /// In zinc casting (2 unless set; common practice).
    #[schemars(range(min = 0.5, max = 5))]
    pub zinc: Option<f64>,
    /// In plastic (2 unless set; common practice).
    #[schemars(range(min = 0.5, max = 5))]
    pub plastic: Option<f64>,
}

/// The break that ends a session, unless the build says otherwise.
const GAP: &str = "8 h";

impl Build {
    /// How long a break must be to end a session.
    ///
    /// # Errors
    /// When it can't be read; `bad-quantity` tells that.
    pub fn gap(&self) -> Result<Quantity, QuantityError> {
        let said = self.session_gap.as_ref().map(Duration::as_str);
        Quantity::parse(said.unwrap_or(GAP))
    }

    /// The same in seconds; the usual break where it can't be read.
    #[must_use]
    pub fn gap_seconds(&self) -> f64 {
        let gap = self.gap().or_else(|_| Quantity::parse(GAP));
        let seconds = || gap.ok()?.low().in_unit(Unit::read("s").ok()?);
        seconds().unwrap_or_default()
    }

    /// Who works on the build, by role.
    #[must_use]
    pub fn people(&self) -> Vec<&str> {
        if self.people.is_empty() {
            vec!["builder", "helper"]
        } else {
            self.people.iter().map(String::as_str).collect()
        }
    }
}
