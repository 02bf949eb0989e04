//! Words for assemblies: when they went into the car and were closed over, what is in them
//! only for now, what they are filled with; their places, and their joints with what was
//! tightened and loosened.

use std::collections::BTreeMap;

use serde_json::Value;

use super::events::{
    Spell, Words, fills, measured, new_ones, one_line, sentence, spells, stage, text_of,
};
use super::view::{Named, View};
use super::{Deed, Teller};
use crate::near::spoken;

/// What is told by itself of an assembly, so that a new one's line leaves it out.
const APART: &[&str] = &[
    "mounted",
    "closed",
    "blanks",
    "temporary",
    "fills",
    "readings",
    "driveline",
];

/// Tells what an assembly's record has words for.
pub(super) fn tell(teller: &mut Teller<'_>) {
    let view = teller.view();
    let id = teller.id();
    if view.is_new() || view.is_gone() {
        whole(teller, &view);
    } else if !view.is_map() {
        return;
    }
    if view.is_gone() {
        return;
    }
    mounted(teller, id, &view);
    closed(teller, id, &view);
    for_now(teller, id, &view);
    fills(teller, id, &view);
    measured(
        teller,
        id,
        &view,
        ("readings", "what", ""),
        Deed::AssemblyMeasured,
    );
    measured(
        teller,
        id,
        &view,
        ("driveline", "at", "driveline angle, "),
        Deed::AssemblyMeasured,
    );
    if !view.is_new() {
        places(teller, &view);
    }
    for joint in view.entries("joints") {
        self::joint(teller, &joint);
    }
}

/// An assembly that is new or gone, with what its places and joints are called.
fn whole(teller: &mut Teller<'_>, view: &View<'_>) {
    let mut words = Words::of(view.after.or(view.before));
    let mut lead = match words.text("name") {
        Some(name) => format!("assembly: {}", one_line(name)),
        None => "assembly".to_owned(),
    };
    if let Some(outer) = words.text("in") {
        lead.push_str(&format!(", in {outer}"));
    }
    for key in APART {
        words.told_apart(key);
    }
    let mut more = Vec::new();
    more.extend(all_of(words.entries("places"), "place", "places", place));
    // A new joint has a line of its own.
    let no_more = |_: Option<&Value>| Vec::new();
    more.extend(all_of(words.entries("joints"), "joint", "joints", no_more));
    words.told_apart("places");
    words.told_apart("joints");
    more.extend(words.rest());
    let deed = if view.is_new() { Deed::New } else { Deed::Gone };
    let about = teller.change.name.to_string();
    teller.tell(deed, about, sentence(lead, &more), None, view.leaves());
}

fn mounted(teller: &mut Teller<'_>, id: &str, view: &View<'_>) {
    let spell = Spell {
        began: "when",
        ended: "until",
        end: Deed::Dismounted,
    };
    let (was, is) = (view.was("in"), view.is("in"));
    spells(teller, id, view.items("mounted"), &spell, |event| {
        // What came out was in what it was said to lie in before.
        let outer = match event.has("until") {
            true => was.or(is),
            false => is.or(was),
        };
        let outer = match outer.unwrap_or("car") {
            "car" => "the car",
            other => other,
        };
        let on = format!("in {outer}{}", stage(event));
        let over = format!("out again; was {on}");
        (Deed::Mounted, on, over)
    });
}

fn closed(teller: &mut Teller<'_>, id: &str, view: &View<'_>) {
    let spell = Spell {
        began: "when",
        ended: "until",
        end: Deed::Opened,
    };
    spells(teller, id, view.items("closed"), &spell, |_| {
        (
            Deed::Closed,
            "closed".to_owned(),
            "opened again; was closed".to_owned(),
        )
    });
}

/// Rags, plugs, straps and whatever else is in or on only for now.
fn for_now(teller: &mut Teller<'_>, id: &str, view: &View<'_>) {
    let spell = Spell {
        began: "put-in",
        ended: "taken-out",
        end: Deed::TakenOut,
    };
    for list in ["blanks", "temporary"] {
        spells(teller, id, view.items(list), &spell, |event| {
            let what = event.text("what").map_or("something".to_owned(), one_line);
            let at = event.text("where").map(one_line);
            let at = at.map(|at| format!(", {at}")).unwrap_or_default();
            let on = format!("for now: {what}{at}");
            let over = format!("taken out: {what}{at}; was in");
            (Deed::PutIn, on, over)
        });
    }
}

fn places(teller: &mut Teller<'_>, view: &View<'_>) {
    for place in view.entries("places") {
        let about = format!("{}/{}", teller.id(), place.name);
        renamed(teller, &about, "place", &place);
        let (deed, lead) = match (place.view.before, place.view.after) {
            (None, Some(_)) => (Deed::PlaceNew, "a new place"),
            (Some(_), None) => (Deed::PlaceGone, "the place is struck out"),
            // What is other about a place is told field by field.
            _ => continue,
        };
        let says = sentence(lead, &self::place(place.view.after.or(place.view.before)));
        teller.tell(deed, about, says, None, place.view.leaves());
    }
}

/// What a place is.
fn place(place: Option<&Value>) -> Vec<String> {
    let mut words = Words::of(place);
    let takes = words.texts("takes");
    let takes = (!takes.is_empty()).then(|| format!("takes {}", spoken(&takes, "or")));
    takes.into_iter().chain(words.rest()).collect()
}

/// Tells that a place, a joint or a hole is called otherwise; a place and the joint there
/// often have the same name.
fn renamed(teller: &mut Teller<'_>, about: &str, what: &str, one: &Named<'_>) {
    if let Some((was, leaf)) = one.was {
        let says = format!("{what}, was called {was}");
        teller.tell(Deed::Renamed, about, says, None, vec![leaf]);
    }
}

fn joint(teller: &mut Teller<'_>, joint: &Named<'_>) {
    let about = format!("{}/{}", teller.id(), joint.name);
    let view = &joint.view;
    renamed(teller, &about, "joint", joint);
    if view.is_new() || view.is_gone() {
        let (deed, lead) = match view.is_new() {
            true => (Deed::JointNew, "a new joint"),
            false => (Deed::JointGone, "the joint is struck out"),
        };
        let says = sentence(lead, &described(view.after.or(view.before)));
        teller.tell(deed, &about, says, None, view.leaves());
        if view.is_gone() {
            return;
        }
    } else if !view.is_map() {
        return;
    }
    sealed(teller, &about, view);
    holes(teller, &about, view);
}

/// What a joint is, apart from what happened to it.
fn described(joint: Option<&Value>) -> Vec<String> {
    let mut words = Words::of(joint);
    let mut all: Vec<String> = words.text("name").map(one_line).into_iter().collect();
    let clamps = words.texts("clamps");
    if !clamps.is_empty() {
        all.push(format!("clamps {}", spoken(&clamps, "and")));
    }
    let steps = words.texts("steps");
    if !steps.is_empty() {
        all.push(format!("steps {}", steps.join(", ")));
    }
    words.told_apart("sealed");
    all.extend(all_of(words.entries("holes"), "hole", "holes", hole));
    words.told_apart("holes");
    all.extend(words.rest());
    all
}

/// What the places, joints or holes of something are called, and what each is: once where
/// all are alike.
fn all_of<'a>(
    entries: impl Iterator<Item = (&'a str, &'a Value)>,
    one: &str,
    many: &str,
    what: impl Fn(Option<&Value>) -> Vec<String>,
) -> Option<String> {
    let all: Vec<(&str, String)> = entries
        .map(|(name, value)| (name, what(Some(value)).join(", ")))
        .collect();
    let (_, first) = all.first()?;
    let names: Vec<&str> = all.iter().map(|(name, _)| *name).collect();
    let word = if names.len() == 1 { one } else { many };
    if all.iter().all(|(_, said)| said == first) {
        let each = match (first.as_str(), names.len()) {
            ("", _) => String::new(),
            (said, 1) => format!(" ({said})"),
            (said, _) => format!(" (each {said})"),
        };
        return Some(format!("{word} {}{each}", spoken(&names, "and")));
    }
    let each = all.iter().map(|(name, said)| match said.as_str() {
        "" => (*name).to_owned(),
        said => format!("{name} ({said})"),
    });
    let each: Vec<String> = each.collect();
    Some(format!("{word} {}", spoken(&each, "and")))
}

/// What a hole is, apart from when it was tightened.
fn hole(hole: Option<&Value>) -> Vec<String> {
    let mut words = Words::of(hole);
    words.told_apart("done");
    let mut all: Vec<String> = words
        .text("calls-for")
        .map(str::to_owned)
        .into_iter()
        .collect();
    all.extend(words.text("then").map(|then| format!("then {then}")));
    all.extend(words.text("holds").map(|holds| format!("holds {holds}")));
    all.extend(words.rest());
    all
}

fn sealed(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    let spell = Spell {
        began: "when",
        ended: "until",
        end: Deed::SealBroken,
    };
    spells(teller, about, view.items("sealed"), &spell, |event| {
        let with = event.text("with").map(|with| format!(" with {with}"));
        let on = format!("sealed{}", with.unwrap_or_default());
        let over = format!("seal broken open; was {on}");
        (Deed::Sealed, on, over)
    });
}

/// What is told in one sentence of several holes: the deed, the day, what was done, and
/// what was before.
type Told = (Deed, Option<String>, String, String);

/// The same words for several holes, and the leaves that they tell.
#[derive(Default)]
struct Alike {
    of: BTreeMap<String, Vec<String>>,
    leaves: Vec<usize>,
}

/// What was done to the holes of a joint: the same on one day is one sentence.
fn holes(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    let holes = |joint: Option<&Value>| joint?.get("holes")?.as_object().map(serde_json::Map::len);
    let all = holes(view.after).or(holes(view.before)).unwrap_or(0);
    let mut groups: BTreeMap<Told, Alike> = BTreeMap::new();
    for hole in view.entries("holes") {
        let at = format!("{about}/{}", hole.name);
        renamed(teller, &at, "hole", &hole);
        if !view.is_new() {
            changed(teller, &at, &hole);
        }
        if hole.view.is_gone() || !hole.view.is_map() {
            continue;
        }
        let mut add = |told: Told, said: &[String], leaves: Vec<usize>| {
            let alike = groups.entry(told).or_default();
            let names = alike.of.entry(said.join(", ")).or_default();
            names.push(hole.name.to_owned());
            alike.leaves.extend(leaves);
        };
        for event in hole.view.items("done") {
            done(teller, &event, &mut add);
        }
    }
    for ((deed, when, lead, was), alike) in groups {
        let names: Vec<&String> = alike.of.values().flatten().collect();
        // A joint counts as tight where all its holes are.
        let deed = match deed {
            Deed::Tightened if names.len() < all && !all_for_good(view.after) => {
                Deed::TightenedInPart
            }
            other => other,
        };
        let mut leaves = alike.leaves;
        leaves.sort_unstable();
        leaves.dedup();
        let says = match alike.of.iter().next() {
            Some((said, _)) if alike.of.len() == 1 => {
                let lead = format!("{lead}: {}{was}", which(&names, all));
                match said.as_str() {
                    "" => lead,
                    said => format!("{lead}; {said}"),
                }
            }
            _ => {
                let each = alike.of.iter().map(|(said, names)| match said.as_str() {
                    "" => spoken(names, "and"),
                    said => format!("{}: {said}", names.join(", ")),
                });
                let each: Vec<String> = each.collect();
                let lead = format!("{lead}: {}{was}", count(names.len(), all));
                sentence(lead, &each)
            }
        };
        teller.tell(deed, about, says, when.as_deref(), leaves);
    }
}

/// Which holes, of how many.
fn which(names: &[&String], all: usize) -> String {
    match names {
        names if names.len() == all && all > 1 => count(all, all),
        [one] if all <= 1 => format!("its hole {one}"),
        [one] => format!("hole {one} (of {all})"),
        names => format!("holes {} (of {all})", spoken(names, "and")),
    }
}

fn count(some: usize, all: usize) -> String {
    match (some, all) {
        (2, 2) => "both holes".to_owned(),
        (some, all) if some == all => format!("all {all} holes"),
        (some, all) => format!("{some} of {all} holes"),
    }
}

/// Whether every hole of a joint has been tightened for good, and not loosened since.
fn all_for_good(joint: Option<&Value>) -> bool {
    let holes = joint.and_then(|joint| joint.get("holes"));
    let mut holes = holes.and_then(Value::as_object).into_iter().flatten();
    holes.all(|(_, hole)| {
        let done = hole.get("done").and_then(Value::as_array);
        let mut done = done.into_iter().flatten();
        done.any(|one| {
            one.get("as").and_then(Value::as_str) == Some("final") && one.get("until").is_none()
        })
    })
}

/// One tightening: done, loosened, or looked at.
fn done(teller: &Teller<'_>, event: &View<'_>, add: &mut impl FnMut(Told, &[String], Vec<usize>)) {
    if !event.after.is_some_and(Value::is_object) {
        return;
    }
    let mut words = Words::of(event.after);
    let stage = stage(&mut words);
    let deed = match stage {
        " for good" => Deed::Tightened,
        _ => Deed::HeldForNow,
    };
    let when = words.text("when").map(str::to_owned);
    let until = words.text("until").map(str::to_owned);
    let loosened = |since: &Option<String>| {
        let since = since.as_ref().map(|day| format!(" since {day}"));
        let since = since.unwrap_or_default();
        format!("; was tight{stage}{since}")
    };
    let now = String::new;
    if event.before.is_none() {
        let said = how(&mut words);
        let told = match &until {
            Some(_) => (
                Deed::Loosened,
                until,
                "loosened".to_owned(),
                loosened(&when),
            ),
            None => (deed, when, format!("tightened{stage}"), now()),
        };
        add(told, &said, event.leaves());
        return;
    }
    let ended = event.under("until");
    if ended.before.is_none() && until.is_some() && teller.is_news(&ended) {
        add(
            (
                Deed::Loosened,
                until,
                "loosened".to_owned(),
                loosened(&when),
            ),
            &[],
            ended.leaves(),
        );
    }
    for check in new_ones(event, "checked") {
        let mut words = Words::of(check.after);
        let (day, said) = second_look(&mut words);
        let told = (Deed::LookedAt, day, "looked at again".to_owned(), now());
        add(told, &said, check.leaves());
    }
    let by = event.under("checked-by");
    if let Some((None, Some(who))) = text_of(&by) {
        let told = (Deed::LookedAt, when, "looked at again".to_owned(), now());
        add(told, &[format!("by {}", one_line(who))], by.leaves());
    }
}

/// How a hole was tightened: steps, torque, wrench, threads, hardware, and whatever else
/// was written down.
fn how(words: &mut Words<'_>) -> Vec<String> {
    let mut said = Vec::new();
    match words.count("steps") {
        Some(1) => said.push("1 step".to_owned()),
        Some(steps) => said.push(format!("{steps} steps")),
        None => {
            let steps = words.texts("steps");
            if !steps.is_empty() {
                said.push(steps.join(" then "));
            }
        }
    }
    said.extend(words.text("set").map(|set| format!("set to {set}")));
    said.extend(words.text("with").map(|with| format!("with {with}")));
    said.extend(
        words
            .text("threads")
            .map(|state| format!("threads {state}")),
    );
    said.extend(words.text("hardware").map(|from| format!("out of {from}")));
    if words.flag("new") {
        said.push("new hardware".to_owned());
    }
    if words.flag("new-nut") {
        said.push("new nut".to_owned());
    }
    if words.flag("again") {
        said.push("a re-tightening".to_owned());
    }
    said.extend(words.text("by").map(|who| format!("by {}", one_line(who))));
    let checked = words.text("checked-by");
    said.extend(checked.map(|who| format!("checked by {}", one_line(who))));
    said.extend(words.rest());
    said
}

/// A second look: its day, and what there is to say of it.
fn second_look(words: &mut Words<'_>) -> (Option<String>, Vec<String>) {
    let day = words.text("when").map(str::to_owned);
    let mut said = Vec::new();
    said.extend(words.text("by").map(|who| format!("by {}", one_line(who))));
    said.extend(words.text("how").map(one_line));
    said.extend(words.text("found").map(|found| format!("found {found}")));
    said.extend(words.rest());
    (day, said)
}

/// A hole that is new or gone, holds something else, or has its thread repaired.
fn changed(teller: &mut Teller<'_>, at: &str, hole: &Named<'_>) {
    let view = &hole.view;
    if view.is_new() || view.is_gone() {
        let lead = match view.is_new() {
            true => "a new hole",
            false => "the hole is struck out",
        };
        let says = sentence(lead, &self::hole(view.after.or(view.before)));
        teller.tell(Deed::Hole, at, says, None, view.leaves());
        return;
    }
    if !view.is_map() {
        return;
    }
    let holds = view.under("holds");
    if let Some(texts) = text_of(&holds).filter(|_| teller.is_news(&holds)) {
        let says = match texts {
            (None, Some(is)) => format!("holds {is} now"),
            (Some(was), Some(is)) => format!("holds {is} now, held {was}"),
            (Some(was), None) => format!("as it should be again, held {was}"),
            (None, None) => return,
        };
        let says = one_line(&says);
        let brief = format!("{at} {says}");
        teller.tell(Deed::Hole, at, says, None, holds.leaves());
        teller.briefly(brief);
    }
    let repaired = view.under("repaired");
    if repaired.is_new() && repaired.after.is_some_and(Value::is_object) {
        let mut words = Words::of(repaired.after);
        let kind = words.text("kind").map(one_line);
        let kind = kind.map(|kind| format!(": {kind}")).unwrap_or_default();
        let mut says = format!("thread repaired{kind}");
        if let Some(thread) = words.text("thread") {
            says.push_str(&format!(", {thread} now"));
        }
        if let Some(proved) = words.text("proved") {
            says.push_str(&format!(", proved with {proved}"));
        }
        let when = words.text("when");
        let says = sentence(says, &words.rest());
        teller.tell(Deed::Repaired, at, says, when, repaired.leaves());
    }
}
