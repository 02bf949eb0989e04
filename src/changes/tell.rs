//! The changes in words of the build: what was fitted, scrapped, tightened, ordered, decided.
//!
//! A kind's own module (`tell/<kind>.rs`) says what it has words for. What it leaves is told
//! field by field (`field`), so that each leaf of each record is told by something.

mod assemblies;
mod circuits;
mod clearances;
mod decisions;
mod derived;
mod events;
mod field;
mod headline;
mod jobs;
mod money;
mod others;
mod parts;
mod photos;
pub mod view;
mod words;

use std::collections::{BTreeMap, BTreeSet};

use super::RecordChange;
use crate::model::Kind;
use crate::near;
use crate::report::page::Line;
pub use derived::derived;
pub use field::leaves;
pub use headline::headline;
use view::View;

/// What a change is about, as a page has headings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Topic {
    /// Pieces: their state, their places.
    Pieces,
    /// Assemblies as wholes.
    Assemblies,
    /// Joints and their holes.
    Joints,
    /// Wires, their ends and the runs they lie along.
    Wires,
    /// Bench work, trials, checks, power-up and start-up.
    Jobs,
    /// What is sent away to be worked on.
    SendOuts,
    /// What is ordered.
    Orders,
    /// Measured gaps.
    Gaps,
    /// Decisions.
    Decisions,
    /// Photos.
    Photos,
    /// Money.
    Money,
    /// Bolts, nuts and washers: how many there are.
    Fasteners,
    /// Tools and torque wrenches.
    Tools,
    /// Records that are new, gone or renamed.
    Records,
    /// Fields that nothing else tells of.
    Fields,
}

impl Topic {
    /// One of what stands under the heading.
    #[must_use]
    pub fn one(self) -> &'static str {
        match self {
            Self::Pieces => "piece",
            Self::Assemblies => "assembly",
            Self::Joints => "joint",
            Self::Wires => "wire",
            Self::Jobs => "job",
            Self::SendOuts => "send-out",
            Self::Orders => "order",
            Self::Gaps => "gap",
            Self::Decisions => "decision",
            Self::Photos => "photo",
            Self::Money => "sum",
            Self::Fasteners => "fastener",
            Self::Tools => "tool",
            Self::Records => "record",
            Self::Fields => "thing",
        }
    }

    /// The heading.
    #[must_use]
    pub fn head(self) -> &'static str {
        match self {
            Self::Pieces => "Pieces",
            Self::Assemblies => "Assemblies",
            Self::Joints => "Joints",
            Self::Wires => "Wires",
            Self::Jobs => "Jobs",
            Self::SendOuts => "Send-outs",
            Self::Orders => "Orders",
            Self::Gaps => "Gaps",
            Self::Decisions => "Decisions",
            Self::Photos => "Photos",
            Self::Money => "Money",
            Self::Fasteners => "Fasteners",
            Self::Tools => "Tools",
            Self::Records => "Records",
            Self::Fields => "Other fields",
        }
    }
}

/// The list of deeds: what each is called in an answer, its topic, its weight, and how a
/// headline tells one and several of them.
macro_rules! deeds {
    ($($variant:ident $word:literal $topic:ident $weight:literal $one:literal $many:literal;)+) => {
        /// What was done, or came of it.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Deed {
            $(
                #[doc = concat!("`", $word, "`")]
                $variant,
            )+
        }

        impl Deed {
            /// All of them.
            pub const ALL: &[Self] = &[$(Self::$variant),+];

            /// What an answer calls it.
            #[must_use]
            pub fn word(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }

            /// What it is about.
            #[must_use]
            pub fn topic(self) -> Topic {
                match self { $(Self::$variant => Topic::$topic),+ }
            }

            /// How much it weighs where not all can be told: most is 100.
            #[must_use]
            pub fn weight(self) -> u32 {
                match self { $(Self::$variant => $weight),+ }
            }

            /// A headline of one; `{}` is what it is about.
            #[must_use]
            pub fn one(self) -> &'static str {
                match self { $(Self::$variant => $one),+ }
            }

            /// A headline of several; `{}` is how many.
            #[must_use]
            pub fn many(self) -> &'static str {
                match self { $(Self::$variant => $many),+ }
            }
        }
    };
}

deeds! {
    FittedForGood "fitted for good" Pieces 80 "{} on for good" "{} pieces on for good";
    FittedForMockUp "fitted for mock-up" Pieces 60 "{} on for mock-up" "{} pieces on for mock-up";
    TakenOff "taken off" Pieces 58 "{} off again" "{} pieces off again";
    Scrapped "scrapped" Pieces 70 "{} is scrap" "{} pieces are scrap";
    Proven "proven" Pieces 56 "{} proven" "{} pieces proven";
    Judged "condition changed" Pieces 40 "{} judged anew" "{} pieces judged anew";
    Planned "planned" Pieces 36 "{} planned" "{} pieces planned";
    PlanDropped "plan dropped" Pieces 34 "{} no longer planned" "{} pieces no longer planned";
    Measured "measured" Pieces 32 "{} measured" "{} pieces measured";
    Treated "treated" Pieces 38 "{} worked on" "{} pieces worked on";
    Paired "paired" Pieces 37 "{} paired" "{} pieces paired";
    Moved "moved" Pieces 14 "{} lies elsewhere" "{} pieces lie elsewhere";
    PieceNew "new piece" Pieces 24 "{} is new here" "{} new pieces";
    PieceGone "piece gone" Pieces 25 "{} struck out" "{} pieces struck out";

    Mounted "mounted" Assemblies 85 "{} mounted" "{} assemblies mounted";
    Dismounted "taken out" Assemblies 84 "{} taken out" "{} assemblies taken out";
    Closed "closed" Assemblies 90 "{} closed" "{} assemblies closed";
    Opened "opened" Assemblies 88 "{} opened again" "{} assemblies opened again";
    Complete "complete" Assemblies 82 "{} complete" "{} assemblies complete";
    Filled "filled" Assemblies 54 "{} filled" "{} fillings";
    Drained "drained" Assemblies 53 "{} drained" "{} drained";
    AssemblyMeasured "assembly measured" Assemblies 31 "{} measured" "{} assemblies measured";
    PlaceNew "new place" Assemblies 26 "place {} is new" "{} new places";
    PlaceGone "place gone" Assemblies 25 "place {} struck out" "{} places struck out";
    PutIn "put in for now" Assemblies 28 "{} plugged or held for now" "{} blanks and props put in";
    TakenOut "taken out again" Assemblies 29 "{} rid of a blank or prop" "{} blanks and props taken out";

    Tightened "tightened for good" Joints 68 "{} tightened for good" "{} joints tightened for good";
    TightenedInPart "tightened in part" Joints 67 "{} tightened in part" "{} joints tightened in part";
    HeldForNow "tightened for mock-up" Joints 46 "{} tightened for mock-up" "{} joints tightened for mock-up";
    Loosened "loosened" Joints 57 "{} loosened" "{} joints loosened";
    LookedAt "checked" Joints 44 "{} checked" "{} joints checked";
    Sealed "sealed" Joints 47 "{} sealed" "{} joints sealed";
    SealBroken "seal broken" Joints 48 "{} broken open" "{} joints broken open";
    Repaired "thread repaired" Joints 45 "thread repaired at {}" "{} threads repaired";
    Hole "hole changed" Joints 30 "hole {} is otherwise" "{} holes are otherwise";
    JointNew "new joint" Joints 28 "joint {} is new" "{} new joints";
    JointGone "joint gone" Joints 27 "joint {} struck out" "{} joints struck out";

    WireTested "wire tested" Wires 55 "{} tested" "{} wires tested";
    WireFitted "wire fitted" Wires 51 "{} laid in" "{} wires laid in";
    WireCrimped "wire crimped" Wires 50 "{} crimped" "{} wires crimped";
    WireCut "wire cut" Wires 49 "{} cut to length" "{} wires cut to length";
    WireBack "wire gone back" Wires 47 "{} gone back" "{} wires gone back";
    WireRerouted "wire re-routed" Wires 46 "{} runs another way" "{} wires run another way";
    WirePlanned "wire drawn" Wires 30 "{} drawn" "{} wires drawn";
    WireGone "wire gone" Wires 26 "{} struck out" "{} wires struck out";
    EndProved "end proved" Wires 54 "{} has its path" "{} ends have their path";
    EndFitted "end fitted" Wires 50 "{} plugged in" "{} ends plugged in";
    EndOff "end taken off" Wires 49 "{} unplugged" "{} ends unplugged";
    RunMeasured "run measured" Wires 34 "{} measured" "{} runs measured";

    Started "engine started" Jobs 100 "{}: the engine has run" "{} starts of the engine";
    Powered "battery on" Jobs 96 "{}: the battery is on" "{} times battery on";
    FoundBad "found bad" Jobs 67 "{} found something bad" "{} things found bad";
    JobDone "job done" Jobs 62 "{} done" "{} jobs done";
    JobTried "tried" Jobs 61 "{} tried" "{} trials";
    JobReopened "job open again" Jobs 60 "{} open again" "{} jobs open again";
    JobBegun "left half done" Jobs 45 "{} left half done" "{} jobs left half done";
    JobLeft "left as" Jobs 44 "{} left otherwise" "{} jobs left otherwise";
    JobDropped "job dropped" Jobs 43 "{} dropped" "{} jobs dropped";
    JobWaits "job waits" Jobs 42 "{} waits" "{} jobs wait";
    JobChecked "looked at" Jobs 41 "{} looked at" "{} things looked at";
    JobHandedOut "handed out" Jobs 34 "{} handed out" "{} jobs handed out";
    JobNew "new job" Jobs 33 "{} to do" "{} new jobs";
    JobSpent "time spent" Jobs 31 "{} worked on" "{} jobs worked on";

    CameBack "came back" SendOuts 66 "{} came back" "{} lots came back";
    Counted "counted" SendOuts 65 "{} counted and put away" "{} lots counted and put away";
    Sent "sent out" SendOuts 64 "{} sent out" "{} lots sent out";
    Baked "baked" SendOuts 56 "{} baked" "{} lots baked";
    Retried "tried on again" SendOuts 53 "{} tried on again" "{} things tried on again";

    Arrived "arrived" Orders 63 "{} arrived" "{} orders arrived";
    Ordered "ordered" Orders 59 "{} ordered" "{} orders out";
    Promised "promised" Orders 37 "{} promised" "{} orders promised";

    GapMeasured "gap measured" Gaps 48 "{} measured" "{} gaps measured";

    Overturned "overturned" Decisions 78 "{} overturned" "{} decisions overturned";
    Chosen "decided" Decisions 75 "{} decided" "{} decisions made";
    Withdrawn "decision withdrawn" Decisions 74 "{} withdrawn" "{} decisions withdrawn";
    Reopened "decision open again" Decisions 73 "{} is open again" "{} decisions open again";
    Asked "asked" Decisions 39 "{} to be decided" "{} open questions";
    Unsettled "no longer settled" Decisions 36 "{} no longer settles a conflict" "{} conflicts no longer settled";
    Settled "settled" Decisions 35 "{} settles a conflict" "{} conflicts settled";

    PhotoNew "photo added" Photos 22 "photo {}" "{} photos";
    PhotoChanged "picture changed" Photos 21 "another picture {}" "{} other pictures";
    PhotoGone "photo gone" Photos 21 "photo {} taken away" "{} photos taken away";

    DepositBack "deposit back" Money 52 "deposit of {} back" "{} deposits back";
    HandedIn "core handed in" Money 51 "core of {} handed in" "{} cores handed in";
    DepositKept "deposit given up" Money 50 "deposit of {} given up" "{} deposits given up";
    Paid "paid" Money 27 "paid for {}" "{} sums paid";
    Priced "priced" Money 23 "{} has a price" "{} prices";
    PriceChanged "price changed" Money 23 "{} costs otherwise" "{} prices changed";

    FastenersPlated "plated" Fasteners 35 "{} plated" "{} sorts of fasteners plated";
    FastenersUsed "used" Fasteners 17 "{} used" "{} sorts of fasteners used";
    FastenersCounted "count changed" Fasteners 16 "{} counted" "{} sorts of fasteners counted";

    WrenchDropped "wrench dropped" Tools 33 "{} was dropped" "{} wrenches dropped";
    WrenchCalibrated "wrench calibrated" Tools 24 "{} calibrated" "{} wrenches calibrated";
    ToolState "tool" Tools 21 "{} changed" "{} tools changed";

    DonorNew "new donor" Records 57 "{} is here" "{} new donors";
    DonorLeft "donor gone" Records 29 "{} is gone" "{} donors gone";
    BuildBegun "build begun" Records 110 "the build is begun" "{} builds begun";
    New "new" Records 20 "{} is new" "{} new records";
    Gone "gone" Records 19 "{} is gone" "{} records gone";
    Renamed "renamed" Records 18 "{} renamed" "{} records renamed";

    SameFigure "the same figure" Fields 3 "{} in another unit" "{} figures in other units";
    Followed "follows a renaming" Fields 2 "{} follows a renaming" "{} references follow";
    Field "field changed" Fields 10 "{} changed" "{} fields changed";
}

impl Deed {
    /// What a sentence begins with where it does not say by itself what was done.
    #[must_use]
    pub fn lead(self) -> &'static str {
        match self {
            Self::Arrived => "arrived: ",
            Self::Asked => "open: ",
            Self::CameBack => "back: ",
            Self::Chosen => "decided: ",
            Self::DonorNew => "new donor; ",
            Self::Gone => "struck out; ",
            Self::JobTried => "tried: ",
            Self::New => "new ",
            Self::Ordered => "ordered: ",
            Self::Overturned => "overturned: ",
            Self::Paid => "paid ",
            Self::Sent => "sent ",
            _ => "",
        }
    }
}

/// One thing that is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// What was done.
    pub deed: Deed,
    /// What it is about, as a reference calls it at the bench: `injector/P1`.
    pub about: String,
    /// The rest of the sentence.
    pub says: String,
    /// The day it was done, where the record has one.
    pub when: Option<String>,
    /// What a headline says of it, where its deed's own words say less; else empty.
    pub short: String,
    /// How many things it is about: several wires of one circuit are one sentence.
    pub many: usize,
    /// The difference of a long text, line by line.
    pub lines: Vec<Line>,
    /// The number of the record's change; none where it follows from several.
    pub change: Option<usize>,
    /// The numbers of the leaves that it tells of.
    pub leaves: Vec<usize>,
}

/// What is called otherwise, as a reference calls it with its kind and without, and what
/// it is called now: without kinds one name may have been that of several.
type Renamed = BTreeMap<String, BTreeSet<String>>;

/// What one record's change is told with.
#[derive(Debug)]
pub struct Teller<'a> {
    /// The change.
    pub change: &'a RecordChange,
    renamed: &'a Renamed,
    number: usize,
    left: BTreeSet<usize>,
    /// What differs only because it names something renamed.
    followed: BTreeSet<usize>,
    told: Vec<Told>,
}

impl Told {
    /// The whole sentence: what was done where `says` does not say it, and the day.
    #[must_use]
    pub fn sentence(&self) -> String {
        let lead = self.deed.lead();
        let word = lead.trim_end_matches([' ', ':', ';']);
        let mut text = match (lead, self.says.as_str()) {
            (_, "") => word.to_owned(),
            (_, says) if says.starts_with(word) => says.to_owned(),
            (lead, says) => format!("{lead}{says}"),
        };
        if let Some(when) = &self.when {
            text.push_str(if text.is_empty() { "" } else { " " });
            text.push_str(&format!("({when})"));
        }
        text
    }
}

impl<'a> Teller<'a> {
    /// The record before and after, with what differs.
    #[must_use]
    pub fn view(&self) -> View<'a> {
        View::of(self.change)
    }

    /// The record's id.
    #[must_use]
    pub fn id(&self) -> &'a str {
        &self.change.name.id
    }

    /// Whether something differs in more than that it names what was renamed.
    #[must_use]
    pub fn is_news(&self, view: &View<'_>) -> bool {
        let mut leaves = view.leaves().into_iter();
        leaves.any(|leaf| !self.followed.contains(&leaf))
    }

    /// Tells one thing, and with it these leaves.
    pub fn tell(
        &mut self,
        deed: Deed,
        about: impl Into<String>,
        says: impl Into<String>,
        when: Option<&str>,
        leaves: Vec<usize>,
    ) {
        for leaf in &leaves {
            self.left.remove(leaf);
        }
        self.told.push(Told {
            deed,
            about: about.into(),
            says: says.into(),
            when: when.map(str::to_owned),
            short: String::new(),
            many: 1,
            lines: Vec::new(),
            change: Some(self.number),
            leaves,
        });
    }

    /// Has a headline say this of what was told last.
    fn briefly(&mut self, short: impl Into<String>) {
        if let Some(last) = self.told.last_mut() {
            last.short = short.into();
        }
    }
}

/// Tells all changes, in the order of topics, then of weight, then of names.
#[must_use]
pub fn tell(changes: &[RecordChange]) -> Vec<Told> {
    let mut renamed = Renamed::new();
    for change in changes {
        for (was, is) in change.renamings() {
            let kind = change.name.kind;
            let with_kind = (format!("{kind}/{was}"), format!("{kind}/{is}"));
            for (was, is) in [(was, is), with_kind] {
                renamed.entry(was).or_default().insert(is);
            }
        }
    }
    let mut all: Vec<Told> = changes
        .iter()
        .enumerate()
        .flat_map(|(number, change)| {
            let mut teller = Teller {
                change,
                renamed: &renamed,
                number,
                left: change.numbers().into_iter().collect(),
                followed: BTreeSet::new(),
                told: Vec::new(),
            };
            record(&mut teller);
            teller.told
        })
        .collect();
    in_order(&mut all);
    all
}

/// Puts what is told in the order of topics, then of weight, then of names.
pub fn in_order(told: &mut [Told]) {
    told.sort_by(|a, b| {
        let key = |told: &Told| (told.deed.topic(), std::cmp::Reverse(told.deed.weight()));
        (key(a), a.deed)
            .cmp(&(key(b), b.deed))
            .then_with(|| near::in_order(&a.about, &b.about))
            .then_with(|| a.when.cmp(&b.when))
    });
}

fn record(teller: &mut Teller<'_>) {
    if let Some(was) = &teller.change.was_id {
        let says = format!("was called {was}");
        teller.tell(
            Deed::Renamed,
            teller.change.name.to_string(),
            says,
            None,
            Vec::new(),
        );
        teller.briefly(format!("{was} is {} now", teller.change.name.id));
    }
    let all: BTreeSet<usize> = teller.left.clone();
    field::followed(teller);
    teller.followed = all.difference(&teller.left).copied().collect();
    if !teller.view().is_map() {
        field::rest(teller);
        return;
    }
    match teller.change.name.kind {
        Kind::Build => others::build(teller),
        Kind::Donors => others::donor(teller),
        Kind::Parts => parts::tell(teller),
        Kind::Assemblies => assemblies::tell(teller),
        Kind::Fasteners => others::fastener(teller),
        Kind::Plugs => others::plug(teller),
        Kind::Routes => others::route(teller),
        Kind::Circuits => circuits::tell(teller),
        Kind::Clearances => clearances::tell(teller),
        Kind::Jobs => jobs::tell(teller),
        Kind::Decisions => decisions::tell(teller),
        Kind::Photos => photos::tell(teller),
    }
    money::tell(teller);
    field::rest(teller);
}
