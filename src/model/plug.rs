//! A plug, and every other end that a wire can have: splices, earths, posts,
//! fuse boxes.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{
    Current, Day, DonorRef, EndRef, Fitting, Length, Mark, PartRef, Person, PhotoRef, PlaceRef,
    PlugRef, RouteRef, Source, SpotRef, words,
};

/// An end that a wire can have: a plug, a splice, an earth, a post, a fuse box.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
pub struct Plug {
    /// What a mechanic calls it.
    pub name: Option<String>,
    /// What sort of end; a plug unless it says.
    pub kind: Option<EndKind>,
    /// Where it sits.
    pub at: Option<SpotRef>,
    /// The place whose piece it belongs to.
    pub of: Option<PlaceRef>,
    /// Its cavities or slots: single ones and runs, with commas between. Quote a single number.
    #[schemars(regex(
        pattern = "^[A-Za-z0-9.]+(-[A-Za-z0-9.]+)?( *, *[A-Za-z0-9.]+(-[A-Za-z0-9.]+)?)*$"
    ))]
    #[schemars(extend("examples" = ["1-40", "A1-A4, B1-B4"]))]
    pub cavities: Option<String>,
    /// The plug that it goes together with, cavity by cavity.
    pub mates: Option<PlugRef>,
    /// What keeps it out of its twin: colour or shape of the key.
    pub keyed: Option<String>,
    /// How it is marked.
    pub marked: Option<String>,
    /// Plugs that look alike and lie within reach.
    pub alike: Vec<PlugRef>,
    /// From which side its cavities are numbered: the wires' side, the open side.
    pub seen_from: Option<String>,
    /// Cavities with nothing in them, singly or in runs (`"12-36"`), and what keeps them shut.
    #[schemars(extend("x-key-refers" = "cavity"))]
    pub idle: BTreeMap<Mark, Disposal>,
    /// The fuses by slot.
    #[schemars(extend("x-key-refers" = "cavity"))]
    pub fuses: BTreeMap<Mark, Fuse>,
    /// Where a fuse box gets its current from.
    pub fed_by: Option<EndRef>,
    /// The part that it is, for ordering.
    pub part: Option<PartRef>,
    /// The donor it came from.
    pub donor: Option<DonorRef>,
    /// What an earth serves.
    #[serde(rename = "for")]
    pub for_: Option<EarthFor>,
    /// The stud that an earth's ring sits on, where several share one.
    pub stud: Option<String>,
    /// The route that a splice lies along.
    pub along: Option<RouteRef>,
    /// How far from the route's start a splice lies.
    pub from_start: Option<Length>,
    /// How a splice is made.
    pub made: Option<SpliceKind>,
    /// When it was plugged in or screwed down, and how.
    pub fitted: Vec<Fitting>,
    /// When it was checked to have a path to where it should.
    pub proved: Vec<EndProof>,
    /// Where its cavities are printed.
    pub source: Option<Source>,
    /// Pictures of it.
    pub photos: Vec<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What sort of end a wire can have.
    EndKind {
        /// a plug with cavities
        Plug = "plug",
        /// a joint of wires inside the loom
        Splice = "splice",
        /// a ring on metal
        Earth = "earth",
        /// a battery post or a power stud
        Post = "post",
        /// a box of fuses or relays
        FuseBox = "fuse-box",
    }
    /// What keeps an idle cavity or wire safe.
    Disposal {
        /// taken out
        Removed = "removed",
        /// its end covered
        Capped = "capped",
        /// its hole filled
        Plugged = "plugged",
        /// folded back and tied
        TiedBack = "tied back",
    }
    /// What an earth serves.
    EarthFor {
        /// sensors
        Sensors = "sensors",
        /// loads and the starter
        Power = "power",
        /// screens
        Screens = "screens",
        /// everything
        All = "all",
    }
    /// How a splice is made.
    SpliceKind {
        /// crimped
        Crimped = "crimped",
        /// soldered
        Soldered = "soldered",
        /// crimped and soldered
        CrimpedAndSoldered = "crimped and soldered",
        /// welded
        Welded = "welded",
    }
    /// How a fuse is built.
    FuseKind {
        /// blade
        Blade = "blade",
        /// small blade
        SmallBlade = "small blade",
        /// large blade
        LargeBlade = "large blade",
        /// glass tube
        Glass = "glass",
        /// bolted in
        Bolted = "bolted",
        /// a wire that melts
        Link = "fusible link",
        /// a breaker
        Breaker = "breaker",
    }
}

/// A fuse in its slot.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["rating"]))]
pub struct Fuse {
    /// What it is rated for.
    pub rating: Option<Current>,
    /// How it is built.
    pub kind: Option<FuseKind>,
    /// What is written beside it.
    pub label: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// A check that an end has a path to where it should.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["when"]))]
pub struct EndProof {
    /// The day.
    pub when: Option<Day>,
    /// The resistance found.
    pub is: Option<super::common::Resistance>,
    /// Who.
    pub by: Option<Person>,
    /// How.
    pub how: Option<String>,
}
