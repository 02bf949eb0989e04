//! An assembly: places to fill, joints to tighten, the order they go on.

use std::borrow::Cow;
use std::collections::BTreeMap;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer};

use super::common::{
    Angle, AnyRef, AssemblyRef, BatchRef, Critical, Day, FastenerRef, Filling, FitRef, FittedAs,
    Fitting, Hand, JobRef, Length, Limit, Mass, Name, OwnHole, PartNumber, Person, PhotoRef,
    PieceRef, PlaceRef, Reading, SecondCheck, Source, SpotRef, StepText, ThreadState, ThreadText,
    Torque, Traits, Usage, WrenchRef, words,
};
use super::part::Material;

/// Places to fill, joints to tighten, the order they go on.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Assembly {
    /// What a mechanic calls it.
    pub name: Option<String>,
    /// The assembly that it goes into, or `car`. What it gives flows up that way.
    #[serde(rename = "in")]
    pub in_: Option<AssemblyRef>,
    /// What must be on before.
    pub after: Vec<FitRef>,
    /// What can't be reached once it is on.
    pub buries: Vec<FitRef>,
    /// Traits that it gives to what is around it.
    #[schemars(extend("x-traits" = "gives"))]
    pub gives: Traits,
    /// Traits that it needs around it.
    #[schemars(extend("x-traits" = "suits"))]
    pub suits: Traits,
    /// When it was in the car, and how; apart from how far it is put together.
    pub mounted: Vec<Fitting>,
    /// When it was closed: nothing inside can be reached any more. A claim.
    pub closed: Vec<Closing>,
    /// The places to fill, by name.
    pub places: BTreeMap<Name, Place>,
    /// The joints to tighten, by name.
    pub joints: BTreeMap<Name, Joint>,
    /// Rags, plugs and caps that were put in, each until it was taken out.
    pub blanks: Vec<Blank>,
    /// Anything else that is on only for now: tack welds, dummy gaskets, straps.
    pub temporary: Vec<Temporary>,
    /// Fluids and greases that it is filled with.
    pub fills: Vec<Filling>,
    /// What was measured on it as a whole.
    pub readings: Vec<Reading>,
    /// What these readings may be.
    pub limits: BTreeMap<Name, Limit>,
    /// The angles at its driveline joints.
    pub driveline: Vec<DrivelineAngle>,
    /// What people's safety hangs on.
    pub critical: Option<Critical>,
    /// What it weighs with everything on it, for lifting.
    pub weight: Option<Mass>,
    /// Pictures of it.
    pub photos: Vec<PhotoRef>,
    /// What to do otherwise next time.
    pub next_time: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// A place that a piece fills.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Place {
    /// What a mechanic calls it.
    pub name: Option<String>,
    /// The part numbers that belong here.
    pub takes: Vec<PartNumber>,
    /// One such place for each of these; the places are then `injector-1`, `injector-2` and so on, or `-left` and `-right`.
    pub each: Option<Each>,
    /// Whether the pieces in these places must be alike.
    pub set: Option<bool>,
    /// Which hand it is.
    pub hand: Option<Hand>,
    /// The bank it is on.
    #[schemars(range(min = 1, max = 4))]
    pub bank: Option<u32>,
    /// The cylinder it is on.
    #[schemars(range(min = 1, max = 16))]
    pub cylinder: Option<u32>,
    /// How the piece must sit.
    pub way_round: Option<String>,
    /// Match marks across it and its neighbours.
    pub marks: Vec<MatchMark>,
    /// How many pieces it takes; 1 unless it says.
    #[schemars(range(min = 1))]
    pub count: Option<u32>,
    /// Whether it may stay empty.
    pub optional: Option<bool>,
    /// What must be on before.
    pub after: Vec<FitRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// For what there is one place each.
    Each {
        /// one for each cylinder
        Cylinder = "cylinder",
        /// one for each bank
        Bank = "bank",
        /// a left and a right one
        Hand = "hand",
    }
}

/// A scribe or paint line across two parts.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["with"]))]
pub struct MatchMark {
    /// The place that the line runs across to.
    pub with: Option<PlaceRef>,
    /// What the mark looks like.
    pub how: Option<String>,
    /// A picture of it.
    pub photo: Option<PhotoRef>,
}

/// When an assembly was closed.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["when"], "x-rising" = [["when", "until"]]))]
pub struct Closing {
    /// The day.
    pub when: Option<Day>,
    /// The day it was opened again.
    pub until: Option<Day>,
    /// Who.
    pub by: Option<Person>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// A rag, plug or cap that keeps dirt out for now.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["what", "where"], "x-rising" = [["put-in", "taken-out"]]))]
pub struct Blank {
    /// What: rag, plug, cap, tape.
    pub what: String,
    /// Where it sits.
    #[serde(rename = "where")]
    pub where_: String,
    /// The day it went in.
    pub put_in: Option<Day>,
    /// The day it came out.
    pub taken_out: Option<Day>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// Something that is on only for now.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["what"], "x-rising" = [["put-in", "taken-out"]]))]
pub struct Temporary {
    /// What sort of thing.
    pub what: Option<TemporaryKind>,
    /// Where it is.
    #[serde(rename = "where")]
    pub where_: Option<String>,
    /// The day it went on.
    pub put_in: Option<Day>,
    /// The day it came off.
    pub taken_out: Option<Day>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What sort of thing is on only for now.
    TemporaryKind {
        /// hardware that is not the right one
        Hardware = "mock-up hardware",
        /// tack weld
        Tack = "tack weld",
        /// gasket or seal that only stands in
        DummyGasket = "dummy gasket",
        /// strap, rope, cable tie
        Strap = "strap",
        /// block, stand, prop
        Prop = "prop",
        /// hose or pipe that only stands in
        Hose = "stand-in hose",
        /// wire that only stands in
        Wire = "stand-in wire",
        /// anything else
        Other = "other",
    }
}

/// The angle at one joint of the driveline.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["at", "is"]))]
pub struct DrivelineAngle {
    /// Which joint: front, centre, rear.
    pub at: String,
    /// The angle between the two shafts.
    pub is: Option<Angle>,
    /// The day.
    pub when: Option<Day>,
    /// How it was measured, and how the car was loaded.
    pub how: Option<String>,
    /// For now or for good.
    #[serde(rename = "as")]
    pub as_: Option<FittedAs>,
}

/// A joint: what it clamps, how it is tightened, its holes.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Joint {
    /// What a mechanic calls it.
    pub name: Option<String>,
    /// What it clamps together: assemblies, places or joints, spots on the car.
    pub clamps: Vec<SpotRef>,
    /// How thick the stack under the heads is, washers not counted.
    pub grip: Option<Length>,
    /// What the threads go into.
    pub into: Option<ThreadedInto>,
    /// What people's safety hangs on; leave it out, or say `false`, where it does not.
    pub critical: Option<CriticalJoint>,
    /// The tightening steps in their order, as printed.
    #[schemars(extend("x-in-order" = true))]
    pub steps: Vec<StepText>,
    /// The steps for new bolts, where they differ.
    #[schemars(extend("x-in-order" = true))]
    pub steps_for_new: Vec<StepText>,
    /// The maker's least torque that still counts at a re-check.
    pub least: Option<Torque>,
    /// What belongs on the threads.
    pub threads: Option<ThreadState>,
    /// Where the figures are printed.
    pub source: Option<Source>,
    /// The order that the holes are tightened in; it may run across unlike bolts.
    #[schemars(extend("uniqueItems" = true, "x-in-order" = true))]
    pub order: Vec<OwnHole>,
    /// After what distance or time in use it must be tightened again.
    pub again_after: Option<Usage>,
    /// After how many heat cycles, hot and cold again, it must be tightened again.
    #[schemars(range(min = 1, max = 20))]
    pub again_after_heat_cycles: Option<u32>,
    /// Sealant, and any gasket that has no place of its own, that went in, each until it was broken open.
    pub sealed: Vec<Sealing>,
    /// The holes, by name.
    pub holes: BTreeMap<Name, Hole>,
    /// What to do otherwise next time.
    pub next_time: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// What seals a joint.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["with"], "x-rising" = [["when", "until"]]))]
pub struct Sealing {
    /// The tube, gasket or lot, so that its age is known.
    #[serde(rename = "with")]
    pub with_: Option<PieceRef>,
    /// The day it went in.
    pub when: Option<Day>,
    /// The day the joint was broken open again.
    pub until: Option<Day>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// What people's safety hangs on at a joint, or nothing (`false`).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CriticalJoint {
    /// Nobody's safety hangs on it.
    NotCritical,
    /// This hangs on it.
    For(Critical),
}

impl<'de> Deserialize<'de> for CriticalJoint {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged)]
        enum Written {
            Flag(bool),
            Word(Critical),
        }
        match Written::deserialize(input)? {
            Written::Flag(false) => Ok(Self::NotCritical),
            Written::Flag(true) => Err(serde::de::Error::custom("say what hangs on it")),
            Written::Word(word) => Ok(Self::For(word)),
        }
    }
}

impl JsonSchema for CriticalJoint {
    fn schema_name() -> Cow<'static, str> {
        "CriticalJoint".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "What people's safety hangs on at a joint, or `false`.",
            "enum": ["brakes", "steering", "suspension", "restraints", "driveline", "fuel", false],
        })
    }
}

/// What the threads of a joint go into.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("x-rising" = [["threaded", "depth"]]))]
pub struct ThreadedInto {
    /// The material.
    pub material: Option<Material>,
    /// The thread that is cut in it.
    pub thread: Option<ThreadText>,
    /// How deep the hole is.
    pub depth: Option<Length>,
    /// How deep the thread is cut.
    pub threaded: Option<Length>,
    /// Whether the hole has a bottom.
    pub blind: Option<bool>,
    /// The strength class of the material, if it is marked; text.
    pub class: Option<String>,
}

/// A hole of a joint.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Hole {
    /// The hardware that belongs in it.
    pub calls_for: Option<FastenerRef>,
    /// What goes on after: the nut of a stud.
    pub then: Option<FastenerRef>,
    /// Washers, from the head down.
    pub washers: Vec<FastenerRef>,
    /// What is in it now, other than what belongs there.
    pub holds: Option<Holds>,
    /// The job that will put it right.
    pub wants: Option<AnyRef>,
    /// How deep this hole is, if not as the joint says.
    pub depth: Option<Length>,
    /// How thick the stack is at this hole, if not as the joint says.
    pub grip: Option<Length>,
    /// How its thread was repaired.
    pub repaired: Option<ThreadRepair>,
    /// When it was tightened, and how.
    pub done: Vec<Tightening>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What a hole holds now.
    Holds {
        /// nothing
        Nothing = "nothing",
        /// hardware that is not the right one
        MockUpHardware = "mock-up hardware",
        /// what is left of a bolt
        BrokenBolt = "broken bolt",
        /// a thread that will not hold
        StrippedThread = "stripped thread",
        /// a thread that nobody has proved
        UnprovenThread = "unproven thread",
        /// dirt, paint or sealant in the thread
        Dirt = "dirt",
    }
    /// How a thread was repaired.
    RepairKind {
        /// wire coil insert
        Coil = "coil insert",
        /// solid bush
        Bush = "solid bush",
        /// the next larger thread
        Oversize = "oversize thread",
        /// welded up and cut again
        Welded = "welded and cut",
        /// cleaned with a tap
        Chased = "chased",
    }
}

/// How a thread was repaired.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct ThreadRepair {
    /// The sort of repair.
    pub kind: Option<RepairKind>,
    /// The thread that it has now.
    pub thread: Option<ThreadText>,
    /// How deep the new thread goes.
    pub depth: Option<Length>,
    /// The day.
    pub when: Option<Day>,
    /// The torque that it was proved with.
    pub proved: Option<Torque>,
    /// The job it was part of.
    pub job: Option<JobRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// A hole tightened on a day.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["as", "when"], "x-rising" = [["when", "until"]]))]
pub struct Tightening {
    /// For now (`mock-up`) or for good (`final`, a claim).
    #[serde(rename = "as")]
    pub as_: Option<FittedAs>,
    /// The day.
    pub when: Option<Day>,
    /// The day it was loosened again.
    pub until: Option<Day>,
    /// How many of the steps were done, in their order as printed; or the steps as they were really done.
    pub steps: Option<StepsDone>,
    /// The wrench.
    pub with: Option<WrenchRef>,
    /// What the wrench was set to.
    pub set: Option<Torque>,
    /// An extension or crowfoot on the wrench.
    pub adapter: Option<Adapter>,
    /// What was on the threads.
    pub threads: Option<ThreadState>,
    /// The send-out, lot or bag that the hardware came out of.
    pub hardware: Option<BatchRef>,
    /// The hardware that went in, if not what the hole calls for.
    pub fastener: Option<FastenerRef>,
    /// The nut that went on after, if not what the hole calls for.
    pub then: Option<FastenerRef>,
    /// The washers that went under, from the head down, if not what the hole calls for.
    pub washers: Vec<FastenerRef>,
    /// Whether the hardware was new.
    pub new: Option<bool>,
    /// Whether the nut was new, where it and its stud or bolt differ.
    pub new_nut: Option<bool>,
    /// What was measured before the hardware was used again: what `reuse` of the fastener asks for.
    pub measured: Option<Length>,
    /// Whether this was a re-tightening after heat or distance.
    pub again: Option<bool>,
    /// Who did it.
    pub by: Option<Person>,
    /// Who looked at it on the same day; a look on another day goes into `checked`.
    pub checked_by: Option<Person>,
    /// Second looks at it, each with its day.
    pub checked: Vec<SecondCheck>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// The steps that were done: how many, or which.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(untagged)]
pub enum StepsDone {
    /// So many of the joint's steps, in their order.
    Count(u32),
    /// These, in this order.
    Each(Vec<StepText>),
}

impl JsonSchema for StepsDone {
    fn schema_name() -> Cow<'static, str> {
        "StepsDone".into()
    }
    fn json_schema(types: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "How many of the steps were done, in their order as printed; or the steps as they were really done.",
            "type": ["integer", "array"],
            "minimum": 0,
            "maximum": 100,
            "items": types.subschema_for::<StepText>(),
            "x-in-order": true,
            "examples": [3],
        })
    }
}

/// An extension or crowfoot on a torque wrench.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["extension"]))]
pub struct Adapter {
    /// From the middle of the drive to the middle of the bolt.
    pub extension: Option<Length>,
    /// Between the lever and the adapter; 0 deg is straight on.
    pub angle: Option<Angle>,
    /// The corrected setting that was used.
    pub corrected: Option<Torque>,
}
