//! A job: bench work, send-outs, orders, trials, checks, power-up, start-up.

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{
    AnyRef, CheckResult, Day, Duration, Fill, FitRef, FittedAs, Money, Person, PhotoRef, Reading,
    Source, words,
};

/// Work to do or done, at the bench or away from it.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend(
    "anyOf" = [{"required": ["does"]}, {"required": ["kind"]}],
    "x-rising" = [
        ["sent", "due"], ["sent", "came-back"], ["came-back", "closed"],
        ["ordered", "promised"], ["ordered", "arrived"], ["ordered", "return-by"],
    ],
))]
pub struct Job {
    /// What sort of job; bench work unless it says.
    pub kind: Option<JobKind>,
    /// What is to be done.
    pub does: Option<String>,
    /// How far it has come.
    pub state: Option<JobState>,
    /// What state things were left in, in words that somebody else can go on from.
    pub left_as: Option<String>,
    /// The day it was done. A claim.
    pub done: Option<Day>,
    /// What must be there or done before.
    pub needs: Vec<AnyRef>,
    /// What must come off again for it.
    pub undoes: Vec<FitRef>,
    /// What it is about.
    pub about: Vec<AnyRef>,
    /// How long it takes.
    pub takes: Option<Duration>,
    /// How many people it takes.
    #[schemars(range(min = 1, max = 9))]
    pub hands: Option<u32>,
    /// When people worked on it.
    pub spent: Vec<Spent>,
    /// The person it is for.
    #[serde(rename = "for")]
    pub for_: Option<Person>,
    /// The day it was handed to that person.
    pub handed_out: Option<Day>,
    /// The day it is wanted.
    pub wanted: Option<Day>,
    /// Consumables that it uses.
    pub uses: Vec<Line>,
    /// What was looked at, and what came of it.
    pub checks: Vec<Check>,
    /// What was measured.
    pub readings: Vec<Reading>,
    /// What to do otherwise next time.
    pub next_time: Option<String>,

    /// A send-out's process.
    pub process: Option<Process>,
    /// Where it went.
    pub to: Option<String>,
    /// The day it went.
    pub sent: Option<Day>,
    /// The day it should be back.
    pub due: Option<Day>,
    /// The day it came back.
    pub came_back: Option<Day>,
    /// The day it was counted and put away. A claim.
    pub closed: Option<Day>,
    /// What must be covered, plugged or left bare.
    pub masking: Vec<String>,

    /// Whom it was ordered from.
    pub from: Option<String>,
    /// The day it was ordered.
    pub ordered: Option<Day>,
    /// The day it was promised for.
    pub promised: Option<Day>,
    /// The day it arrived.
    pub arrived: Option<Day>,
    /// The last day to send it back.
    pub return_by: Option<Day>,
    /// What sending it cost.
    pub carriage: Option<Money>,
    /// What the whole came to.
    pub price: Option<Money>,
    /// The receipt: its number, a file, or where it lies.
    pub receipt: Option<String>,
    /// The jobs that wait for it.
    pub needed_by: Vec<AnyRef>,
    /// What went out or was ordered, a line each.
    pub lines: Vec<Line>,

    /// For a trial: with what was fitted, for now or for good.
    #[serde(rename = "as")]
    pub as_: Option<FittedAs>,
    /// The day of a trial, a check, a power-up or a start-up.
    pub when: Option<Day>,
    /// For a trial: what should happen.
    pub expect: Option<String>,
    /// For a trial: what happened.
    pub found: Option<String>,
    /// For a trial: what follows from it.
    pub so: Option<String>,

    /// Where the work is described.
    pub source: Option<Source>,
    /// Pictures of it.
    pub photos: Vec<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What sort of job it is.
    JobKind {
        /// work at the bench or on the car
        Bench = "bench",
        /// work sent to a plater, a machine shop, a painter
        SendOut = "send-out",
        /// something ordered
        Order = "order",
        /// trying whether something fits
        Trial = "trial",
        /// a first check before power or fuel
        Check = "check",
        /// the first time the battery is connected
        PowerUp = "power-up",
        /// the first time the engine runs
        StartUp = "start-up",
    }
    /// How far a job has come.
    JobState {
        /// not begun
        Open = "open",
        /// begun and left
        HalfDone = "half done",
        /// waits for something
        Waiting = "waiting",
        /// done; a claim
        Done = "done",
        /// not to be done any more
        Dropped = "dropped",
    }
    /// What is done to a thing that is sent out.
    Process {
        /// electroplated zinc
        Zinc = "zinc",
        /// electroplated zinc-nickel
        ZincNickel = "zinc-nickel",
        /// cadmium
        Cadmium = "cadmium",
        /// nickel
        Nickel = "nickel",
        /// chrome
        Chrome = "chrome",
        /// phosphate
        Phosphate = "phosphate",
        /// zinc flake
        ZincFlake = "zinc flake",
        /// hot-dip galvanising
        HotDip = "hot-dip zinc",
        /// anodising
        Anodise = "anodise",
        /// powder coat
        PowderCoat = "powder coat",
        /// paint
        Paint = "paint",
        /// blasting with grit
        Blast = "blast",
        /// blasting with soft grain or vapour
        SoftBlast = "soft blast",
        /// hot or acid cleaning
        HotTank = "hot tank",
        /// ultrasonic cleaning
        Ultrasonic = "ultrasonic",
        /// machining: boring, grinding, skimming
        Machine = "machine",
        /// crack test
        CrackTest = "crack test",
        /// balancing
        Balance = "balance",
        /// hardening or tempering
        HeatTreat = "heat treat",
        /// welding
        Weld = "weld",
        /// testing or overhauling a unit
        Overhaul = "overhaul",
        /// a process that is not listed
        Other = "other",
    }
}

impl Process {
    /// Whether metal is put on by current, after a pickling acid: what charges hard steel with
    /// hydrogen.
    #[must_use]
    pub fn electroplates(self) -> bool {
        matches!(
            self,
            Self::Zinc | Self::ZincNickel | Self::Cadmium | Self::Nickel | Self::Chrome
        )
    }
}

/// Time that somebody worked on a job.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["when"]))]
pub struct Spent {
    /// The day.
    pub when: Option<Day>,
    /// How long.
    #[serde(rename = "for")]
    pub for_: Option<Duration>,
    /// Who.
    pub by: Option<Person>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// One line of an order, a send-out or a list of what a job uses.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["what"]))]
pub struct Line {
    /// The part, the piece or the fastener.
    pub what: Option<AnyRef>,
    /// How many are meant to be ordered, sent or used.
    #[schemars(range(min = 1))]
    pub count: Option<u32>,
    /// How much, of what is poured or squeezed and not counted.
    pub amount: Option<Fill>,
    /// What one costs.
    pub price: Option<Money>,
    /// How many went out, once they have gone.
    pub out: Option<u32>,
    /// How many came back fit for use.
    pub back: Option<u32>,
    /// How many were lost.
    pub lost: Option<u32>,
    /// How many came back unfit.
    pub rejected: Option<u32>,
    /// How many arrived.
    pub came: Option<u32>,
    /// The day they arrived, if not with the rest.
    pub arrived: Option<Day>,
    /// How long they were baked after plating.
    pub baked: Option<Duration>,
    /// How hot they were baked.
    pub baked_at: Option<super::common::Temperature>,
    /// What must be covered, plugged or left bare.
    pub masking: Vec<String>,
    /// What was ordered to be checked on return, and what came of it.
    pub checks: Vec<Check>,
    /// The day it was tried on again after it came back.
    pub tried_again: Option<Day>,
    /// A picture taken before it went.
    pub photo: Option<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What a check looks for.
    CheckKind {
        /// before power: a path to the battery's minus pole
        Earth = "earth",
        /// before power: a wire is whole from end to end
        Continuity = "continuity",
        /// before power: nothing touches that must not
        Shorts = "shorts",
        /// before power: plus and minus are where they belong
        Polarity = "polarity",
        /// nothing drips or blows
        Leaks = "leaks",
        /// oil, coolant, brake fluid and fuel are in
        Fluids = "fluids",
        /// sizes are as ordered
        Dimensions = "dimensions",
        /// gallery and core plugs are in place
        Plugs = "plugs",
        /// no bolt or stud is broken off in a hole
        BrokenStuds = "broken studs",
        /// threads take their bolts
        Threads = "threads",
        /// no chips, grit or paint are left inside
        Clean = "clean",
        /// what `note` says
        Other = "other",
    }
}

/// Something that was looked at, and what came of it.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["what"]))]
pub struct Check {
    /// What is looked for.
    pub what: Option<CheckKind>,
    /// What is looked at.
    pub at: Option<AnyRef>,
    /// What it should be.
    pub should: Option<String>,
    /// What came of it.
    pub found: Option<CheckResult>,
    /// The figure found.
    pub is: Option<super::common::AnyFigure>,
    /// The day.
    pub when: Option<Day>,
    /// Who.
    pub by: Option<Person>,
    /// Anything worth adding.
    pub note: Option<String>,
}
