//! A part: a part number, and the physical pieces of it.

use std::borrow::Cow;
use std::collections::BTreeMap;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer};

use super::common::{
    Bought, Condition, Critical, Day, DonorRef, Duration, Filling, Fitting, Grade, Hand, JobRef,
    Limit, Mark, Mass, Name, Newness, PartNumber, PartRef, Person, PhotoRef, PieceRef, PlacesRef,
    Reading, RoughDay, Source, Traits, words,
};

/// A part number, and the physical pieces of it.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["name"]))]
pub struct Part {
    /// What a mechanic calls it.
    pub name: String,
    /// The number it is ordered by.
    pub number: Option<PartNumber>,
    /// Who made it.
    pub maker: Option<String>,
    /// Other numbers, each with the direction in which one may stand for the other.
    pub also: BTreeMap<String, Interchange>,
    /// Which hand it is.
    pub hand: Option<Hand>,
    /// The bank it belongs to.
    #[schemars(range(min = 1, max = 4))]
    pub bank: Option<u32>,
    /// The cylinder it belongs to.
    #[schemars(range(min = 1, max = 16))]
    pub cylinder: Option<u32>,
    /// Traits that it needs around it.
    #[schemars(extend("x-traits" = "suits"))]
    pub suits: Traits,
    /// Traits that it gives to what is around it.
    #[schemars(extend("x-traits" = "gives"))]
    pub gives: Traits,
    /// Parts that must be there with it.
    pub needs: Vec<PartRef>,
    /// Parts that it can't live with.
    pub clashes_with: Vec<PartRef>,
    /// Parts machined together with it: all pieces must come from one origin.
    pub mates: Vec<PartRef>,
    /// Parts that must be taught to each other: control unit, immobiliser, key, throttle.
    pub pairs_with: Vec<PartRef>,
    /// What readings of it may be.
    pub limits: BTreeMap<Name, Limit>,
    /// What it is made of, where that decides what may be done to it.
    pub material: Option<Material>,
    /// What else is in it that would not stand what the rest stands: a rubber seat, a bearing.
    pub contains: Vec<Material>,
    /// How long it lasts, whether used or not.
    pub life: Option<Life>,
    /// What people's safety hangs on.
    pub critical: Option<Critical>,
    /// What runs through it, so that dirt in it goes on from there.
    pub carries: Option<Carries>,
    /// The number stamped on it that papers name.
    pub bears: Option<Bears>,
    /// Whether it can be used once only.
    pub once: Option<bool>,
    /// What sort of stuff it is, if it is used up.
    pub consumable: Option<Consumable>,
    /// What one weighs.
    pub weight: Option<Mass>,
    /// How many there are that carry no mark.
    pub have: Option<u32>,
    /// The pieces by their marks.
    pub pieces: BTreeMap<Mark, Piece>,
    /// Where it is printed that this is the right part.
    pub source: Option<Source>,
    /// Pictures of it.
    pub photos: Vec<PhotoRef>,
    /// What to do otherwise next time.
    pub next_time: Option<String>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// How another number stands to this one.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["way"]))]
pub struct Interchange {
    /// In which direction.
    pub way: Option<InterchangeWay>,
    /// Only where these traits hold.
    #[schemars(extend("x-traits" = "suits"))]
    pub only_with: Traits,
    /// Only on this condition, in words.
    pub provided: Option<String>,
    /// Where it is printed.
    pub source: Option<Source>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// In which direction one number may stand for another.
    InterchangeWay {
        /// the other number may be used in place of this part
        MayStandForIt = "may stand for it",
        /// this part may be used in place of the other number
        ItMayStandFor = "it may stand for",
        /// each may be used in place of the other
        EitherWay = "either way",
        /// the maker has put the other number in this part's stead
        Replaces = "replaces it",
        /// the maker has put this part in the other number's stead
        ReplacedBy = "it replaces",
    }
    /// What a part is made of, where that decides what may be done to it.
    Material {
        /// plain steel
        Steel = "steel",
        /// hardened steel
        HardenedSteel = "hardened steel",
        /// spring steel
        SpringSteel = "spring steel",
        /// stainless steel
        Stainless = "stainless steel",
        /// cast iron
        CastIron = "cast iron",
        /// aluminium
        Aluminium = "aluminium",
        /// magnesium
        Magnesium = "magnesium",
        /// zinc casting
        Zinc = "zinc",
        /// brass or bronze
        Brass = "brass",
        /// copper
        Copper = "copper",
        /// rubber
        Rubber = "rubber",
        /// plastic
        Plastic = "plastic",
        /// glass
        Glass = "glass",
        /// a bearing, with its grease or its white metal
        Bearing = "bearing",
        /// several of these
        Mixed = "mixed",
    }
    /// What runs through a part.
    Carries {
        /// what the engine breathes in
        IntakeAir = "intake air",
        /// engine oil
        Oil = "oil",
        /// coolant
        Coolant = "coolant",
        /// fuel
        Fuel = "fuel",
        /// exhaust gas
        Exhaust = "exhaust",
        /// brake or clutch fluid
        BrakeFluid = "brake fluid",
        /// gearbox or axle oil
        GearOil = "gear oil",
    }
    /// The stamped number that papers name.
    Bears {
        /// the chassis number
        Chassis = "chassis number",
        /// the engine number
        Engine = "engine number",
        /// the gearbox number
        Gearbox = "gearbox number",
        /// the control unit's number
        Unit = "unit number",
    }
    /// Stuff that is used up.
    Consumable {
        /// gasket
        Gasket = "gasket",
        /// seal or O-ring
        Seal = "seal",
        /// fluid
        Fluid = "fluid",
        /// sealant
        Sealant = "sealant",
        /// grease, paste, thread compound
        Paste = "paste",
        /// filter
        Filter = "filter",
        /// anything else
        Other = "other",
    }
}

/// How long a part lasts, whether used or not.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["lasts"]))]
pub struct Life {
    /// How long.
    pub lasts: Option<Duration>,
    /// Counted from when.
    pub from: Option<LifeFrom>,
    /// The polymer, as moulded on it or stated by its maker: NBR, EPDM, FKM.
    pub polymer: Option<String>,
    /// The rule the life is taken from.
    pub rule: Option<Source>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// When a life begins.
    LifeFrom {
        /// when it was made or cured
        Made = "made",
        /// when its tin or bag was opened
        Opened = "opened",
        /// when it went on
        Fitted = "fitted",
    }
}

/// One physical piece, or a lot of alike ones that are not told apart.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("x-rising" = [["made", "opened"]]))]
pub struct Piece {
    /// The donor it came from.
    pub donor: Option<DonorRef>,
    /// How many are in the lot; 1 unless it says.
    #[schemars(range(min = 1))]
    pub count: Option<u32>,
    /// Whose part it is.
    pub grade: Option<Grade>,
    /// How new it is.
    pub newness: Option<Newness>,
    /// What state it is in.
    pub condition: Option<Condition>,
    /// Why it is in that state.
    pub because: Option<String>,
    /// The number stamped on it; text.
    pub stamped: Option<String>,
    /// The set that it was machined in, if that is more than its donor.
    pub machined_with: Option<String>,
    /// The day it was made or cured.
    pub made: Option<RoughDay>,
    /// The day its tin or bag was opened.
    pub opened: Option<RoughDay>,
    /// What was measured on it.
    pub readings: Vec<Reading>,
    /// What was done to it.
    pub treated: Vec<Treatment>,
    /// How it was bought.
    pub bought: Option<Bought>,
    /// Which other pieces it has been taught to.
    pub paired: Vec<Pairing>,
    /// The place it is meant for: a plan. A lot may go to several, in a list.
    pub goes: Goes,
    /// When it was on, and how: what happened.
    pub fitted: Vec<Fitting>,
    /// Fluids and greases that it is filled with and keeps when it comes off.
    pub fills: Vec<Filling>,
    /// What it is kept for.
    pub keep: Option<Keep>,
    /// Where it lies.
    pub kept_in: Option<String>,
    /// The job that it is out with.
    pub out_with: Option<JobRef>,
    /// Pictures of it.
    pub photos: Vec<PhotoRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

words! {
    /// What a piece is kept for.
    Keep {
        /// if the other one fails
        Spare = "spare",
        /// to hand in for its deposit
        Core = "core",
        /// to measure or copy from
        Pattern = "pattern",
        /// to sell or give away
        PassOn = "pass on",
    }
}

/// The places that a piece or a lot is meant for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Goes(pub Vec<PlacesRef>);

impl<'de> Deserialize<'de> for Goes {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(untagged)]
        enum Written {
            One(PlacesRef),
            Several(Vec<PlacesRef>),
        }
        Ok(Self(match Written::deserialize(input)? {
            Written::One(place) => vec![place],
            Written::Several(places) => places,
        }))
    }
}

impl JsonSchema for Goes {
    fn schema_name() -> Cow<'static, str> {
        "Goes".into()
    }
    fn json_schema(types: &mut SchemaGenerator) -> Schema {
        let one = types.root_schema_for::<PlacesRef>();
        let mut schema = json_schema!({
            "description": "The place it is meant for: a plan. A lot may go to several, in a list.",
            "type": ["string", "array"],
            "items": types.subschema_for::<PlacesRef>(),
            "uniqueItems": true,
        });
        for key in ["x-refers", "pattern", "examples"] {
            if let Some(value) = one.get(key) {
                schema.insert(key.to_owned(), value.clone());
            }
        }
        schema
    }
}

words! {
    /// What sort of work was done to a piece.
    TreatmentKind {
        /// dirt, debris and old coats taken off, inside where it has one
        Cleaned = "cleaned",
        /// taken apart
        TakenApart = "taken apart",
        /// put together again
        PutTogether = "put together",
        /// machined, ground, skimmed, bored
        Machined = "machined",
        /// welded, brazed or soldered
        Welded = "welded",
        /// bent, cut or drilled to fit
        Altered = "altered",
        /// plated or otherwise coated with metal
        Plated = "plated",
        /// painted or powder coated
        Painted = "painted",
        /// run, flowed, pressed, powered or crack tested
        Tested = "tested",
        /// worn parts of it put right
        Overhauled = "overhauled",
        /// work that is not listed; `how` says
        Other = "other",
    }
}

/// Something that was done to a piece.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["what"]))]
pub struct Treatment {
    /// What sort of work.
    pub what: Option<TreatmentKind>,
    /// The day.
    pub when: Option<Day>,
    /// How.
    pub how: Option<String>,
    /// Who.
    pub by: Option<Person>,
    /// The job it was part of.
    pub job: Option<JobRef>,
    /// Anything worth adding.
    pub note: Option<String>,
}

/// Two electronic pieces taught to each other.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields, rename_all = "kebab-case")]
#[schemars(extend("required" = ["with"]))]
pub struct Pairing {
    /// The other piece.
    pub with: Option<PieceRef>,
    /// The day.
    pub when: Option<Day>,
    /// How.
    pub how: Option<String>,
    /// Who.
    pub by: Option<Person>,
    /// Anything worth adding.
    pub note: Option<String>,
}
