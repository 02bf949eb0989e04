//! Circuits: wires drawn, cut, crimped, laid in, tested, gone back, struck out, re-routed.
//!
//! Wires of one circuit that came equally far on one day are one sentence.

use std::collections::BTreeMap;

use serde_json::Value;

use super::view::{Named, View};
use super::words::{Saying, bare_all, shown};
use super::{Deed, Teller};

/// How far a wire can have come, in that order.
const STATES: &[(&str, Deed, &str)] = &[
    ("planned", Deed::WirePlanned, "drawn"),
    ("cut", Deed::WireCut, "cut"),
    ("crimped", Deed::WireCrimped, "crimped"),
    ("fitted", Deed::WireFitted, "laid in"),
    ("tested", Deed::WireTested, "tested"),
];

/// What is told of one wire.
struct One<'a> {
    deed: Deed,
    wire: &'a str,
    /// What was done, which other wires may share.
    done: String,
    /// What is so of this wire alone.
    own: String,
    when: Option<String>,
    leaves: Vec<usize>,
}

pub(super) fn tell(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    let mut all: Vec<One<'_>> = Vec::new();
    for wire in view.entries("wires") {
        if wire.view.is_map() {
            one(teller, &wire, &mut all);
        }
    }
    let id = teller.id();
    let mut lead = view.is_new().then(|| {
        let mut circuit = Saying::of(view);
        circuit.say_new("", "does");
        circuit.say_rest(&["wires"]);
        circuit.text()
    });
    // In the order of the first wire of each.
    let mut alike: Vec<Vec<One<'_>>> = Vec::new();
    let mut places: BTreeMap<(Deed, String, Option<String>), usize> = BTreeMap::new();
    for one in all {
        let like = (one.deed, one.done.clone(), one.when.clone());
        let place = *places.entry(like).or_insert(alike.len());
        match alike.get_mut(place) {
            Some(these) => these.push(one),
            None => alike.push(vec![one]),
        }
    }
    for these in alike {
        let Some(first) = these.first() else {
            continue;
        };
        let (deed, when) = (first.deed, first.when.clone());
        let mut says = first.done.clone();
        let own: Vec<&str> = these.iter().map(|one| one.own.as_str()).collect();
        let names: Vec<&str> = these.iter().map(|one| one.wire).collect();
        if own.iter().all(|text| text.is_empty()) {
        } else if own.iter().all(|text| *text == own[0]) {
            says.push_str(&format!(" {}", own[0]));
        } else {
            let each = these.iter().filter(|one| !one.own.is_empty());
            let each: Vec<String> = each
                .map(|one| format!("{} {}", one.wire, one.own))
                .collect();
            says.push_str(&format!(": {}", each.join("; ")));
        }
        if let Some(lead) = lead.take().filter(|lead| !lead.is_empty()) {
            says = format!("{lead}; {says}");
        }
        let leaves = these.iter().flat_map(|one| one.leaves.clone()).collect();
        let many = names.len();
        let about = format!("{id}/{}", names.join(", "));
        teller.tell(deed, about, says, when.as_deref(), leaves);
        if let Some(told) = teller.told.last_mut() {
            told.many = many;
        }
    }
}

fn one<'a>(teller: &Teller<'_>, wire: &Named<'a>, all: &mut Vec<One<'a>>) {
    let view = wire.view;
    let mut add = |deed, done: &str, own: String, when: Option<&str>, leaves: Vec<usize>| {
        all.push(One {
            deed,
            wire: wire.name,
            done: done.to_owned(),
            own,
            when: when.map(str::to_owned),
            leaves,
        });
    };
    if view.is_gone() {
        let was = view.was("state").filter(|state| *state != "planned");
        let own = was.map(|state| format!("(it was {state})"));
        add(
            Deed::WireGone,
            "struck out",
            own.unwrap_or_default(),
            None,
            view.leaves(),
        );
        return;
    }
    // What says nothing is only drawn; what says something else has no words here.
    let rank = |wire: Option<&Value>| {
        let state = wire?.get("state").map_or(Some("planned"), Value::as_str)?;
        STATES.iter().position(|(word, _, _)| *word == state)
    };
    let (before, after) = (rank(view.before), rank(view.after));
    let (tests, when) = tests(&view);
    let mut leaves: Vec<usize> = tests
        .iter()
        .flat_map(|(_, leaves)| leaves.clone())
        .collect();
    let mut own: Vec<String> = Vec::new();
    if view.is_new() {
        own.push(course(&view));
    }
    let cut = view.under("cut");
    let is_cut = cut.differs() && cut.before.is_none();
    let length = cut.after.filter(|_| is_cut).map(shown);
    // Crimped in the same evening that it was cut in.
    let as_well = |after: usize, done: &str| match &length {
        Some(length) if after == 1 => format!("cut at {length}"),
        Some(length) => format!("cut at {length} and {done}"),
        None => done.to_owned(),
    };
    let measured = tests.iter().map(|(text, _)| text.clone());
    let when = when.as_deref();
    match (before, after) {
        (None, Some(after)) if view.is_new() => {
            let (_, deed, done) = STATES[after];
            own.extend(measured);
            own.push(rest(&view));
            own.retain(|text| !text.is_empty());
            let done = match after {
                0 => done.to_owned(),
                _ => format!("drawn, {}", as_well(after, done)),
            };
            add(deed, &done, own.join(", "), when, view.leaves());
        }
        (Some(before), Some(after)) if after > before => {
            let (_, deed, done) = STATES[after];
            leaves.extend(view.under("state").leaves());
            if is_cut {
                leaves.extend(cut.leaves());
            }
            own.extend(measured);
            add(deed, &as_well(after, done), own.join(", "), when, leaves);
        }
        (Some(before), Some(after)) if after < before => {
            let done = format!("gone back from {} to {}", STATES[before].0, STATES[after].0);
            let back = view.under("state").leaves();
            add(Deed::WireBack, &done, String::new(), None, back);
            if !tests.is_empty() {
                let own = measured.collect::<Vec<_>>().join("; ");
                add(Deed::WireTested, "measured", own, when, leaves);
            }
        }
        _ if view.is_new() => {
            // How far it has come has no word here; it stands with the rest.
            own.push(rest(&view));
            own.retain(|text| !text.is_empty());
            add(
                Deed::WirePlanned,
                "drawn",
                own.join(", "),
                when,
                view.leaves(),
            );
        }
        _ => {
            if !tests.is_empty() {
                let own = measured.collect::<Vec<_>>().join("; ");
                add(Deed::WireTested, "measured again", own, when, leaves);
            }
            if let Some(length) = cut.after.filter(|_| is_cut) {
                let own = format!("at {}", shown(length));
                add(Deed::WireCut, "cut", own, None, cut.leaves());
            }
        }
    }
    if !view.is_new() {
        rerouted(teller, &view, &mut add);
    }
}

/// The measurements that are new, each with its leaves, and the day of the last.
fn tests(view: &View<'_>) -> (Vec<(String, Vec<usize>)>, Option<String>) {
    let mut all = Vec::new();
    let mut day = None;
    for item in view.items("tested") {
        if !item.is_new() || !item.is_map() {
            continue;
        }
        let mut test = Saying::of(item);
        test.say_new("", "is");
        if let Some(when) = test.view.is("when").filter(|_| test.is_added("when")) {
            day = Some(when.to_owned());
            test.cover("when");
        }
        test.say_new("", "how");
        test.say_rest(&[]);
        all.push((test.parts.join(", "), item.leaves()));
    }
    if all.len() > 1 {
        // Several days: each is said with its own.
        let days = view.items("tested");
        let days = days.iter().filter(|item| item.is_new() && item.is_map());
        for ((text, _), item) in all.iter_mut().zip(days) {
            if let Some(when) = item.is("when") {
                text.push_str(&format!(", {when}"));
            }
        }
        day = None;
    }
    (all, day)
}

/// Where a new wire runs.
fn course(view: &View<'_>) -> String {
    let text = |key: &str| view.after.and_then(|wire| wire.get(key)).map(bare_all);
    let all = [
        text("from").map(|end| format!("from {end}")),
        text("to").map(|end| format!("to {end}")),
        text("along").map(|routes| format!("along {routes}")),
    ];
    let all: Vec<String> = all.into_iter().flatten().collect();
    all.join(" ")
}

/// What else a new wire says.
fn rest(view: &View<'_>) -> String {
    let mut wire = Saying::of(*view);
    for key in ["from", "to", "along", "cut"] {
        wire.cover(key);
    }
    let state = view.is("state");
    if STATES.iter().any(|(word, _, _)| state == Some(*word)) {
        wire.cover("state");
    }
    let items = view.after.and_then(|wire| wire.get("tested"));
    let items = items.and_then(Value::as_array);
    if items.is_some_and(|items| items.iter().all(Value::is_object)) {
        wire.cover("tested");
    }
    wire.say_new("", "size");
    wire.say_new("", "colour");
    wire.say_rest(&[]);
    wire.parts.join(", ")
}

/// A wire that has other ends or lies along other runs.
fn rerouted<'a>(
    teller: &Teller<'_>,
    view: &View<'a>,
    add: &mut impl FnMut(Deed, &str, String, Option<&str>, Vec<usize>),
) {
    let mut parts = Vec::new();
    let mut leaves = Vec::new();
    for key in ["from", "to", "along"] {
        let (before, after) = (view.before, view.after);
        let sides = (
            before.and_then(|wire| wire.get(key)),
            after.and_then(|wire| wire.get(key)),
        );
        if !teller.is_news(&view.under(key)) {
            continue;
        }
        let part = match sides {
            (Some(was), Some(is)) => format!("{key} {} instead of {}", bare_all(is), bare_all(was)),
            (None, Some(is)) => format!("{key} {}", bare_all(is)),
            (Some(was), None) => format!("no longer {key} {}", bare_all(was)),
            (None, None) => continue,
        };
        parts.push(part);
        leaves.extend(view.under(key).leaves());
    }
    if !parts.is_empty() {
        add(Deed::WireRerouted, "runs", parts.join(", "), None, leaves);
    }
}
