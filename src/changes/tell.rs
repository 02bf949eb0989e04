//! The changes in words of the build: what was fitted, scrapped, tightened, ordered, decided.
//!
//! A kind's own module (`tell/<kind>.rs`) says what it has words for. What it leaves is told
//! field by field ([`field`]), so that each leaf of each record is told by something.

mod field;
pub mod view;

use std::collections::{BTreeMap, BTreeSet};

use super::{Name, RecordChange};
use crate::model::Kind;
use crate::report::page::Line;
pub use field::leaves;
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
    /// Wires.
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
    /// Records that are new, gone or renamed.
    Records,
    /// Fields that nothing else tells of.
    Fields,
}

impl Topic {
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
    PieceNew "new piece" Pieces 24 "{} is new here" "{} new pieces";
    PieceGone "piece gone" Pieces 25 "{} struck out" "{} pieces struck out";

    Mounted "mounted" Assemblies 85 "{} in the car" "{} assemblies in the car";
    Dismounted "taken out" Assemblies 84 "{} out of the car" "{} assemblies out of the car";
    Closed "closed" Assemblies 90 "{} closed" "{} assemblies closed";
    Opened "opened" Assemblies 88 "{} opened again" "{} assemblies opened again";
    Filled "filled" Assemblies 54 "{} filled" "{} fillings";
    Drained "drained" Assemblies 53 "{} drained" "{} drained";
    PutIn "put in for now" Assemblies 28 "{} plugged or held for now" "{} blanks and props put in";
    TakenOut "taken out again" Assemblies 29 "{} rid of a blank or prop" "{} blanks and props taken out";

    Tightened "tightened for good" Joints 68 "{} tightened for good" "{} joints tightened for good";
    HeldForNow "tightened for mock-up" Joints 46 "{} tightened for mock-up" "{} joints tightened for mock-up";
    Loosened "loosened" Joints 57 "{} loosened" "{} joints loosened";
    LookedAt "checked" Joints 44 "{} checked" "{} joints checked";

    WireTested "tested" Wires 55 "wire {} tested" "{} wires tested";
    WireFitted "fitted" Wires 51 "wire {} laid in" "{} wires laid in";
    WireCrimped "crimped" Wires 50 "wire {} crimped" "{} wires crimped";
    WireCut "cut" Wires 49 "wire {} cut" "{} wires cut";
    WirePlanned "drawn" Wires 30 "wire {} drawn" "{} wires drawn";
    WireBack "gone back" Wires 47 "wire {} gone back" "{} wires gone back";
    WireGone "wire gone" Wires 26 "wire {} struck out" "{} wires struck out";

    Started "started" Jobs 100 "{}: the engine has run" "{}: the engine has run";
    Powered "powered" Jobs 96 "{}: the battery is on" "{}: the battery is on";
    JobDone "done" Jobs 62 "{} done" "{} jobs done";
    JobTried "tried" Jobs 61 "{} tried" "{} trials";
    JobBegun "begun" Jobs 45 "{} begun" "{} jobs begun";
    JobWaits "waits" Jobs 42 "{} waits" "{} jobs wait";
    JobDropped "dropped" Jobs 43 "{} dropped" "{} jobs dropped";
    JobNew "new job" Jobs 33 "{} to do" "{} new jobs";
    JobSpent "worked on" Jobs 31 "{} worked on" "{} jobs worked on";
    JobChecked "looked at" Jobs 41 "{} looked at" "{} checks made";

    Sent "sent out" SendOuts 64 "{} sent out" "{} lots sent out";
    CameBack "came back" SendOuts 66 "{} came back" "{} lots came back";
    Counted "counted" SendOuts 65 "{} counted and put away" "{} lots counted and put away";

    Ordered "ordered" Orders 59 "{} ordered" "{} orders out";
    Arrived "arrived" Orders 63 "{} arrived" "{} orders arrived";
    SentBack "sent back" Orders 52 "{} goes back" "{} orders go back";

    GapMeasured "gap measured" Gaps 48 "gap {} measured" "{} gaps measured";

    Chosen "decided" Decisions 75 "decided {}" "{} decisions";
    Overturned "overturned" Decisions 78 "{} overturned" "{} decisions overturned";
    Withdrawn "withdrawn" Decisions 74 "{} withdrawn" "{} decisions withdrawn";
    Asked "asked" Decisions 39 "{} is open" "{} open questions";
    Settled "settles" Decisions 35 "{} settles a conflict" "{} conflicts settled";

    PhotoNew "photo added" Photos 22 "photo {}" "{} photos";
    PhotoGone "photo gone" Photos 21 "photo {} taken away" "{} photos taken away";

    Paid "paid" Money 27 "{} paid" "{} sums paid";
    PriceChanged "price changed" Money 23 "{} costs otherwise" "{} prices changed";

    New "new" Records 20 "{} is new" "{} new records";
    Gone "gone" Records 19 "{} is gone" "{} records gone";
    Renamed "renamed" Records 18 "{} renamed" "{} records renamed";

    SameFigure "the same figure" Fields 3 "{} in another unit" "{} figures in other units";
    Followed "follows a renaming" Fields 2 "{} follows a renaming" "{} references follow";
    Field "field changed" Fields 10 "{} changed" "{} fields changed";
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
    /// The difference of a long text, line by line.
    pub lines: Vec<Line>,
    /// The number of the record's change; none where it follows from several.
    pub change: Option<usize>,
    /// The numbers of the leaves that it tells of.
    pub leaves: Vec<usize>,
}

/// What one record's change is told with.
#[derive(Debug)]
pub struct Teller<'a> {
    /// The change.
    pub change: &'a RecordChange,
    /// Which records were renamed, from what to what.
    renamed: &'a BTreeMap<Name, String>,
    number: usize,
    left: BTreeSet<usize>,
    told: Vec<Told>,
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
            lines: Vec::new(),
            change: Some(self.number),
            leaves,
        });
    }
}

/// Tells all changes, in the order of topics, then of weight, then of names.
#[must_use]
pub fn tell(changes: &[RecordChange]) -> Vec<Told> {
    let renamed: BTreeMap<Name, String> = changes
        .iter()
        .filter_map(|change| {
            let was = Name {
                kind: change.name.kind,
                id: change.was_id.clone()?,
            };
            Some((was, change.name.id.clone()))
        })
        .collect();
    let mut all: Vec<Told> = changes
        .iter()
        .enumerate()
        .flat_map(|(number, change)| {
            let mut teller = Teller {
                change,
                renamed: &renamed,
                number,
                left: change.numbers().into_iter().collect(),
                told: Vec::new(),
            };
            record(&mut teller);
            teller.told
        })
        .collect();
    all.sort_by(|a, b| {
        let key = |told: &Told| (told.deed.topic(), std::cmp::Reverse(told.deed.weight()));
        (key(a), a.deed, &a.about, &a.when).cmp(&(key(b), b.deed, &b.about, &b.when))
    });
    all
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
    }
    field::followed(teller);
    match teller.change.name.kind {
        Kind::Build
        | Kind::Donors
        | Kind::Parts
        | Kind::Assemblies
        | Kind::Fasteners
        | Kind::Plugs
        | Kind::Routes
        | Kind::Circuits
        | Kind::Clearances
        | Kind::Jobs
        | Kind::Decisions
        | Kind::Photos => {}
    }
    field::rest(teller);
}

/// What the most of it comes to, in one line of at most so many columns: the first line of
/// a commit message, a session in a list. Empty if nothing is told.
#[must_use]
pub fn headline(told: &[Told], room: usize) -> String {
    let mut of: BTreeMap<Deed, Vec<&Told>> = BTreeMap::new();
    for one in told {
        of.entry(one.deed).or_default().push(one);
    }
    let mut deeds: Vec<(Deed, Vec<&Told>)> = of.into_iter().collect();
    deeds.sort_by_key(|(deed, _)| (std::cmp::Reverse(deed.weight()), *deed));
    let said: Vec<String> = deeds
        .iter()
        .map(|(deed, told)| {
            let mut about: Vec<&str> = told.iter().map(|one| one.about.as_str()).collect();
            about.sort_unstable();
            about.dedup();
            match about.as_slice() {
                [one] => deed.one().replace("{}", &crate::near::shortened(one)),
                more => deed.many().replace("{}", &more.len().to_string()),
            }
        })
        .collect();
    let width = |text: &str| text.chars().count();
    let rest = |shown: usize| {
        let left: usize = deeds[shown..].iter().map(|(_, told)| told.len()).sum();
        match left {
            0 => String::new(),
            1 => ", 1 more change".to_owned(),
            left => format!(", {left} more changes"),
        }
    };
    let mut line = String::new();
    for (shown, one) in said.iter().enumerate() {
        let next = match shown {
            0 => one.clone(),
            _ => format!("{line}, {one}"),
        };
        if shown > 0 && width(&next) + width(&rest(shown + 1)) > room {
            return line.clone() + &rest(shown);
        }
        line = next;
    }
    line
}
