//! A plug, and every other end that a wire can have: splices, earths, posts,
//! fuse boxes.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{
    CavityList, Current, Day, DonorRef, EndRef, Fitting, Length, Mark, OwnCavity, PartRef, Person,
    PhotoRef, PlaceRef, PlugRef, RouteRef, Source, SpotRef, words,
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
    pub cavities: Option<CavityList>,
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
    /// What feeds the slots of a fuse box; a wire from a slot hangs behind that slot's fuse.
    pub fed_by: Option<EndRef>,
    /// What joins its cavities inside: a switch, a relay, a bridge, a load.
    pub joins: Vec<Join>,
    /// Which pole of the battery a post is; a power stud has none.
    pub pole: Option<Pole>,
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
    /// Which pole of the battery a post is.
    Pole {
        /// the plus pole: what comes from it wants a fuse
        Plus = "plus",
        /// the minus pole
        Minus = "minus",
    }
    /// What joins two cavities inside a plug's component.
    JoinKind {
        /// always joined
        Bridge = "bridge",
        /// joined while a switch is closed
        Switch = "switch",
        /// contacts that a relay closes or opens
        Contacts = "contacts",
        /// the winding that works a relay
        Winding = "winding",
        /// lets current through one way only, from the first to the second
        Diode = "diode",
        /// a motor, lamp, heater, valve or sensor
        Load = "load",
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
    /// What feeds this slot, if not what feeds the box.
    pub fed_by: Option<EndRef>,
    /// What is written beside it.
    pub label: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// Cavities that are joined inside the component that a plug belongs to.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["cavities", "by"]))]
pub struct Join {
    /// The cavities.
    #[schemars(length(min = 2), extend("uniqueItems" = true))]
    pub cavities: Vec<OwnCavity>,
    /// What joins them.
    pub by: Option<JoinKind>,
    /// While what: ignition on, pedal down, at rest.
    #[serde(rename = "while")]
    pub while_: Option<String>,
    /// The most current that it stands.
    pub rating: Option<Current>,
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
