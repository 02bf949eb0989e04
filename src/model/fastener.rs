//! A fastener: one sort of hardware, and how many there are.

use schemars::JsonSchema;
use serde::Deserialize;

use super::common::{
    AnyFigure, Bought, DonorRef, Grade, JobRef, Length, Newness, PartNumber, PhotoRef, Source,
    ThreadText, words,
};
use super::part::Material;

/// One sort of hardware: bolt, stud, nut, washer, and how many there are.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend(
    "minProperties" = 1,
    "x-rising" = [["shank", "length"], ["threaded", "length"], ["inside", "outside"],
        ["used", "have"]],
))]
pub struct Fastener {
    /// What a mechanic calls it.
    pub name: Option<String>,
    /// The number it is ordered by.
    pub number: Option<PartNumber>,
    /// What form it has.
    pub form: Option<Form>,
    /// What head it has.
    pub head: Option<Head>,
    /// The thread: diameter and pitch (`M10x1.25`), or inch size and threads per inch (`3/8-16UNC`).
    pub thread: Option<ThreadText>,
    /// A stud's other thread, at the nut's end.
    pub other_end: Option<ThreadText>,
    /// How far a stud goes into its hole.
    pub set_in: Option<Length>,
    /// The length: under the head where the head stands proud; of a stud the whole.
    pub length: Option<Length>,
    /// The plain part of the shank.
    pub shank: Option<Length>,
    /// The threaded part.
    pub threaded: Option<Length>,
    /// How thick a nut or washer is.
    pub thickness: Option<Length>,
    /// Across the flats of head or nut.
    pub across_flats: Option<Length>,
    /// Across the flange, head or washer.
    pub outside: Option<Length>,
    /// Across the hole of a washer or spacer.
    pub inside: Option<Length>,
    /// The property class or grade as it is marked; text.
    #[schemars(extend("examples" = ["8.8", "10.9", "grade 5"]))]
    pub class: Option<String>,
    /// The marks on its head.
    pub head_marks: Option<String>,
    /// The standard it is made to.
    pub standard: Option<String>,
    /// What it is made of.
    pub material: Option<Material>,
    /// Its coat.
    pub finish: Option<Finish>,
    /// The coat it had before it was coated anew: what its torque was printed for.
    pub finish_before: Option<Finish>,
    /// How it locks.
    pub locking: Option<Locking>,
    /// Whether it can be used once only.
    pub once: Option<bool>,
    /// Whether it is tightened until it stretches.
    pub stretch: Option<bool>,
    /// What must be measured before it is used again.
    pub reuse: Option<Reuse>,
    /// Its hardness.
    pub hardness: Option<AnyFigure>,
    /// Whose part it is.
    pub grade: Option<Grade>,
    /// How new they are.
    pub newness: Option<Newness>,
    /// The donor they came from.
    pub donor: Option<DonorRef>,
    /// How many there are, used ones among them.
    pub have: Option<u32>,
    /// How many of them have been used.
    pub used: Option<u32>,
    /// The plating batch that they came back with.
    pub plated_in: Option<JobRef>,
    /// Where they lie.
    pub kept_in: Option<String>,
    /// How they were bought.
    pub bought: Option<Bought>,
    /// Where it is printed that these are right.
    pub source: Option<Source>,
    /// Pictures of them.
    pub photos: Vec<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// What must be measured before a fastener is used again.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["measure"], "x-rising" = [["least", "most"]]))]
pub struct Reuse {
    /// What: length, neck diameter.
    pub measure: String,
    /// The least allowed.
    pub least: Option<Length>,
    /// The most allowed.
    pub most: Option<Length>,
    /// Where it is printed.
    pub source: Option<Source>,
}

words! {
    /// What form a fastener has.
    Form {
        /// bolt
        Bolt = "bolt",
        /// screw, threaded up to its head
        Screw = "screw",
        /// stud
        Stud = "stud",
        /// nut
        Nut = "nut",
        /// washer
        Washer = "washer",
        /// spacer or sleeve
        Spacer = "spacer",
        /// thread insert
        Insert = "insert",
        /// dowel or pin
        Pin = "pin",
        /// spring clip or circlip
        Clip = "clip",
        /// plug or drain screw
        Plug = "plug",
        /// banjo bolt
        Banjo = "banjo",
        /// clamp round a hose
        HoseClamp = "hose clamp",
        /// rivet
        Rivet = "rivet",
        /// a form that is not listed
        Other = "other",
    }
    /// What head a fastener has.
    Head {
        /// six sides
        Hex = "hex",
        /// six sides with a flange
        Flange = "flange",
        /// socket in a cylinder head
        Socket = "socket",
        /// socket in a low head
        LowSocket = "low socket",
        /// twelve points
        TwelvePoint = "twelve point",
        /// six-lobe socket
        SixLobe = "six-lobe",
        /// six-lobe outside
        SixLobeOutside = "six-lobe outside",
        /// cross recess
        Cross = "cross",
        /// slot
        Slot = "slot",
        /// countersunk
        Countersunk = "countersunk",
        /// dome
        Dome = "dome",
        /// none
        Headless = "headless",
    }
    /// The coat of a fastener.
    Finish {
        /// bare
        Plain = "plain",
        /// blackened or phosphated, oiled
        Black = "black",
        /// electroplated zinc
        Zinc = "zinc",
        /// electroplated zinc-nickel
        ZincNickel = "zinc-nickel",
        /// zinc flake, not electroplated
        ZincFlake = "zinc flake",
        /// hot-dip galvanised
        HotDip = "hot-dip zinc",
        /// cadmium
        Cadmium = "cadmium",
        /// nickel or chrome
        NickelChrome = "nickel or chrome",
        /// phosphate
        Phosphate = "phosphate",
        /// painted
        Paint = "paint",
    }
    /// How a fastener locks.
    Locking {
        /// nylon ring
        Nylon = "nylon",
        /// squeezed or distorted thread
        AllMetal = "all metal",
        /// coating put on by its maker
        PreCoated = "pre-coated",
        /// split pin or wire
        Wired = "pin or wire",
        /// tab washer
        Tab = "tab",
        /// spring or toothed washer
        SpringWasher = "spring washer",
        /// ribs under the flange
        Ribbed = "ribbed flange",
    }
}
