//! Jobs: bench work, checks, trials, power-up and start-up; what is sent out and what is
//! ordered.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;

use super::view::View;
use super::words::{Saying, bare_all, fitted_as, shown};
use super::{Deed, Teller};
use crate::near::spoken;
use crate::reckon::quantity::{Form, Quantity};
use crate::reckon::unit::Unit;

/// What the modules for other things tell of a job.
const MONEY: &[&str] = &["price", "carriage"];

/// What was done, on which day, and what is said of it.
struct Fact<'a> {
    deed: Deed,
    when: Option<&'a str>,
    saying: Saying<'a>,
    short: String,
}

pub(super) fn tell(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    let id = teller.id();
    let kind = view.is("kind").or(view.was("kind")).unwrap_or("bench");
    let mut facts: Vec<Fact<'_>> = Vec::new();
    match kind {
        "order" => {
            ordered(view, &mut facts);
            arrived(id, view, &mut facts);
        }
        "send-out" => {
            sent(view, &mut facts);
            came_back(view, &mut facts);
            counted(view, &mut facts);
        }
        "trial" => tried(view, &mut facts),
        _ => {}
    }
    state(id, kind, view, &mut facts);
    left(view, &mut facts);
    lines(view, &mut facts);
    spent(view, &mut facts);
    looked_at(view, "checks", None, &mut facts);
    measured(view, &mut facts);
    dates(view, &mut facts);
    if view.is_new() {
        new(kind, view, &mut facts);
    }
    for fact in facts {
        fact.saying.tell(teller, fact.deed, id, fact.when);
        teller.briefly(fact.short);
    }
}

fn fact<'a>(deed: Deed, when: Option<&'a str>, saying: Saying<'a>) -> Fact<'a> {
    Fact {
        deed,
        when,
        saying,
        short: String::new(),
    }
}

/// A new job: what it is leads what was done on it, and the rest follows.
fn new<'a>(kind: &str, view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let told = |key: &str| facts.iter().any(|fact| fact.saying.has_said(key));
    let all = view.after.and_then(Value::as_object);
    let keys: Vec<&String> = all.into_iter().flat_map(|map| map.keys()).collect();
    let elsewhere: BTreeSet<&str> = keys
        .iter()
        .map(|key| key.as_str())
        .filter(|key| told(key) || MONEY.contains(key))
        .collect();
    let mut others: Vec<&str> = elsewhere.into_iter().collect();
    others.extend(["kind", "does", "lines"]);
    let mut lead = Saying::of(view);
    let does = lead.new_text("does");
    let what = match kind {
        "bench" => "job",
        "send-out" => "send-out",
        other => other,
    };
    let mut rest = Saying::of(view);
    if view.is("kind").is_none() {
        others.retain(|key| *key != "kind");
    }
    if view.is("does").is_none() {
        others.retain(|key| *key != "does");
    }
    let items = view.after.and_then(|job| job.get("lines"));
    match items.and_then(Value::as_array) {
        Some(items) if !told("lines") => {
            let all: Vec<String> = items.iter().map(|line| line_text(line, None)).collect();
            if !all.is_empty() {
                rest.say(all.join(", "));
            }
        }
        Some(_) => {}
        None => others.retain(|key| *key != "lines"),
    }
    rest.say_rest(&others);
    if let Some(first) = facts.iter_mut().find(|fact| is_main(fact.deed)) {
        if let Some(does) = does {
            first.saying.parts.insert(0, does);
        }
        first.saying.parts.append(&mut rest.parts);
    } else {
        let says = does.map_or(what.to_owned(), |does| format!("{what}: {does}"));
        rest.parts.insert(0, says);
        facts.insert(0, fact(Deed::JobNew, None, rest));
    }
}

/// Whether it says so much of a new job that nobody need be told that it is new.
fn is_main(deed: Deed) -> bool {
    !matches!(
        deed,
        Deed::JobSpent | Deed::JobChecked | Deed::JobHandedOut | Deed::Promised
    )
}

/// A line of an order or a send-out: `11 of 12 bolt-m8-30`.
fn line_text(line: &Value, of: Option<&str>) -> String {
    let Some(map) = line.as_object() else {
        return shown(line);
    };
    let number = |key: &str| map.get(key).filter(|value| value.is_number()).map(shown);
    let what = map.get("what").map(bare_all).unwrap_or_default();
    let amount = map.get("amount").map(shown);
    let all = number("out").or(number("count"));
    match of.and_then(number) {
        Some(part) if all.is_none() || all.as_ref() == Some(&part) => format!("{part} {what}"),
        Some(part) => format!("{part} of {} {what}", all.unwrap_or_default()),
        None => match number("count").or(number("out")).or(amount) {
            Some(many) => format!("{many} {what}"),
            None => what,
        },
    }
}

/// What else a new line says, in brackets.
fn line_rest(item: View<'_>, told: &[&str]) -> String {
    let mut line = Saying::of(item);
    line.say_rest(told);
    match line.parts.is_empty() {
        true => String::new(),
        false => format!(" ({})", line.text()),
    }
}

/// What of a line is told by its number of things, or by other sentences.
const LINE: &[&str] = &[
    "what",
    "count",
    "amount",
    "price",
    "out",
    "back",
    "lost",
    "rejected",
    "came",
    "arrived",
    "baked",
    "baked-at",
    "tried-again",
    "checks",
];

fn line_items(view: View<'_>) -> Vec<View<'_>> {
    let items = view.items("lines");
    items.into_iter().filter(View::is_map).collect()
}

/// All lines there are now, whether they differ or not.
fn all_lines<'a>(view: View<'a>) -> impl Iterator<Item = &'a Value> {
    let lines = view.after.and_then(|job| job.get("lines"));
    lines.and_then(Value::as_array).into_iter().flatten()
}

/// Says what is in an order or a send-out: every line, and what is new of each.
fn what_is_in(saying: &mut Saying<'_>) {
    let view = saying.view;
    let mut all: Vec<String> = Vec::new();
    let new: Vec<View<'_>> = line_items(view).into_iter().filter(View::is_new).collect();
    for line in all_lines(view) {
        let own = new
            .iter()
            .find(|item| item.after.is_some_and(|own| std::ptr::eq(own, line)));
        let rest = own.map(|item| line_rest(*item, LINE)).unwrap_or_default();
        all.push(line_text(line, None) + &rest);
    }
    for item in &new {
        saying.cover_all(item);
    }
    for item in line_items(view) {
        let out = item.under("out");
        if !item.is_new() && out.before.is_none() {
            saying.cover_all(&out);
        }
    }
    if !all.is_empty() {
        saying.say(all.join(", "));
    }
    if new.len() == all_lines(view).count() {
        saying.mark("lines");
    }
}

fn ordered<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    if let Some(when) = saying.new_day("ordered") {
        saying.say_new("from ", "from");
        what_is_in(&mut saying);
        saying.say_new("promised for ", "promised");
        saying.say_new("can go back until ", "return-by");
        facts.push(fact(Deed::Ordered, Some(when), saying));
        return;
    }
    // A line that came to an order which is out already.
    let is_out = view.was("ordered").is_some();
    let new = line_items(view).into_iter().filter(View::is_new);
    let new: Vec<View<'_>> = new.filter(|_| is_out).collect();
    if !new.is_empty() {
        let texts = new.iter().filter_map(|item| {
            let rest = line_rest(*item, LINE);
            Some(line_text(item.after?, None) + &rest)
        });
        let text = texts.collect::<Vec<_>>().join(", ");
        saying.say(format!("also {text}"));
        new.iter().for_each(|item| saying.cover_all(item));
        facts.push(fact(Deed::Ordered, None, saying));
    }
}

/// What arrived, a sentence for each day.
fn arrived<'a>(id: &str, view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut days: BTreeMap<Option<&str>, (Saying<'a>, Vec<String>)> = BTreeMap::new();
    let whole = Saying::of(view).new_day("arrived");
    for item in line_items(view) {
        let mut line = Saying::of(item);
        let came = line.is_added("came")
            && item
                .after
                .is_some_and(|line| line.get("came").is_some_and(Value::is_number));
        let own_day = line.new_day("arrived");
        if !came && own_day.is_none() {
            continue;
        }
        if came {
            line.cover("came");
        }
        let unfit = line
            .new_text("rejected")
            .map(|many| format!(" ({many} unfit)"));
        let day = own_day.or(item.is("arrived")).or(whole);
        let (saying, texts) = days
            .entry(day)
            .or_insert_with(|| (Saying::of(view), Vec::new()));
        line.hand_over(saying);
        if let Some(line) = item.after {
            texts.push(line_text(line, Some("came")) + &unfit.unwrap_or_default());
        }
    }
    if let Some(day) = whole
        && !days.contains_key(&Some(day))
    {
        days.insert(Some(day), (Saying::of(view), Vec::new()));
    }
    let awaited: Vec<&Value> = all_lines(view)
        .filter(|line| {
            let number = |key: &str| line.get(key).and_then(Value::as_u64);
            match (number("came"), number("count")) {
                (Some(came), Some(count)) => came < count,
                (came, _) => came.is_none(),
            }
        })
        .collect();
    let many = days.len();
    for (number, (day, (mut saying, texts))) in days.into_iter().enumerate() {
        let is_last = number + 1 == many;
        if whole.is_some() && day == whole {
            saying.cover("arrived");
        }
        if !texts.is_empty() {
            saying.say(texts.join(", "));
        } else {
            saying.say("arrived");
        }
        let in_part = whole.is_none() && !awaited.is_empty();
        if is_last && !awaited.is_empty() && awaited.len() < all_lines(view).count() {
            let rest = awaited
                .iter()
                .map(|line| line.get("what").map(bare_all).unwrap_or_default());
            let rest: Vec<String> = rest.collect();
            saying.say(format!("still awaited: {}", rest.join(", ")));
        }
        let mut told = fact(Deed::Arrived, day, saying);
        if in_part {
            told.short = format!("{id} arrived in part");
        }
        facts.push(told);
    }
}

fn sent<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    let Some(when) = saying.new_day("sent") else {
        return;
    };
    let process = saying
        .new_text("process")
        .or(view.is("process").map(str::to_owned));
    let to = saying.new_text("to").or(view.is("to").map(str::to_owned));
    let where_to = to.map(|to| format!("to {to}"));
    let both: Vec<String> = where_to
        .into_iter()
        .chain(process.map(|word| format!("for {word}")))
        .collect();
    if !both.is_empty() {
        saying.say(both.join(" "));
    }
    what_is_in(&mut saying);
    saying.say_new("due ", "due");
    facts.push(fact(Deed::Sent, Some(when), saying));
}

/// What came back of what went out, line by line.
fn came_back<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    let when = saying.new_day("came-back");
    let mut texts = Vec::new();
    for item in line_items(view) {
        let mut line = Saying::of(item);
        let back = line.new("back").is_some();
        let mut own = Vec::new();
        for (key, word) in [("lost", "lost"), ("rejected", "unfit")] {
            if let Some(many) = line.new_text(key) {
                own.push(format!("{many} {word}"));
            }
        }
        if !back && own.is_empty() {
            continue;
        }
        line.hand_over(&mut saying);
        let own = match own.is_empty() {
            true => String::new(),
            false => format!(" ({})", own.join(", ")),
        };
        if let Some(line) = item.after {
            texts.push(line_text(line, Some("back")) + &own);
        }
    }
    if when.is_none() && texts.is_empty() {
        return;
    }
    match texts.is_empty() {
        true => saying.say("came back"),
        false => saying.say(texts.join(", ")),
    }
    facts.push(fact(Deed::CameBack, when, saying));
}

fn counted<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    if let Some(when) = saying.new_day("closed") {
        saying.say("counted and put away");
        facts.push(fact(Deed::Counted, Some(when), saying));
    }
}

fn tried<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    let what_came = saying.new_text("found");
    let so = saying.new_text("so");
    let day = saying.new_day("when");
    if what_came.is_none() && so.is_none() && day.is_none() {
        return;
    }
    if let Some(found) = what_came {
        saying.say(found);
    }
    if let Some(so) = so {
        saying.say(format!("so {so}"));
    }
    saying.say_new("expected: ", "expect");
    if let Some(word) = saying.new_text("as") {
        saying.say(format!("tried {}", fitted_as(&word)));
    } else if saying.parts.is_empty() {
        saying.say("tried");
    }
    let when = day.or(view.is("when"));
    facts.push(fact(Deed::JobTried, when, saying));
}

/// How far the job has come; where a sentence tells of the same already, it goes there.
fn state<'a>(id: &str, kind: &str, view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    let (was, is) = (view.was("state"), view.is("state"));
    let differs = view.under("state").differs();
    let day = saying.new_day("done");
    let mut short = String::new();
    let (deed, text) = match is.filter(|_| differs) {
        Some("half done") => {
            let left = saying.new_text("left-as");
            let left = left.map(|left| format!(": {left}"));
            (
                Deed::JobBegun,
                format!("left half done{}", left.unwrap_or_default()),
            )
        }
        Some("waiting") => {
            let needs = view.after.and_then(|job| job.get("needs"));
            let needs = needs
                .and_then(Value::as_array)
                .filter(|all| !all.is_empty());
            if let Some(needs) = needs {
                let names: Vec<String> = needs.iter().map(bare_all).collect();
                if view.under("needs").before.is_none() {
                    saying.cover("needs");
                }
                (
                    Deed::JobWaits,
                    format!("waits for {}", spoken(&names, "and")),
                )
            } else {
                (Deed::JobWaits, "waits".to_owned())
            }
        }
        Some("dropped") => (Deed::JobDropped, "dropped".to_owned()),
        Some("open") if was.is_some_and(|was| was != "open") => {
            let was = was.unwrap_or_default();
            (Deed::JobReopened, format!("open again, was {was}"))
        }
        Some("open") => {
            if view.is_new() {
                // What is new is open.
                let mut quiet = Saying::of(view);
                quiet.mark("state");
                if let Some(first) = facts.first_mut() {
                    first.saying.mark("state");
                }
            }
            return;
        }
        Some("done") => (Deed::JobDone, "done".to_owned()),
        None if day.is_some() && !differs => (Deed::JobDone, "done".to_owned()),
        _ => return,
    };
    if differs {
        saying.cover("state");
    }
    let deed = match (deed, kind) {
        (Deed::JobDone, "power-up") => Deed::Powered,
        (Deed::JobDone, "start-up") => Deed::Started,
        (deed, _) => deed,
    };
    if let Some(found) = saying.new_text("found") {
        saying.say(format!("found: {found}"));
    }
    let mut day = day;
    if kind != "trial" && matches!(deed, Deed::JobDone | Deed::Powered | Deed::Started) {
        let when = saying.new_day("when");
        if day.is_none() {
            day = when;
        } else if let Some(when) = when.filter(|when| Some(*when) != day) {
            saying.say(format!("begun {when}"));
        }
        saying.say_new("next time: ", "next-time");
    }
    saying.parts.insert(0, text.clone());
    // A parcel that arrived and is put away is one sentence.
    let in_one = facts.iter_mut().rev().find(|fact| {
        matches!(
            (deed, fact.deed),
            (
                Deed::JobDone,
                Deed::Arrived | Deed::Counted | Deed::CameBack | Deed::JobTried
            ) | (
                Deed::JobWaits,
                Deed::Ordered | Deed::Sent | Deed::Arrived | Deed::JobTried
            ) | (Deed::JobBegun, Deed::CameBack)
        )
    });
    if let Some(other) = in_one {
        if deed == Deed::JobDone {
            let same = day.is_none() || day == other.when;
            if !(same && other.deed == Deed::Counted) {
                let on = day.filter(|day| Some(*day) != other.when);
                let on = on.map(|day| format!(" on {day}")).unwrap_or_default();
                saying.parts[0] = format!("done{on}");
            } else {
                saying.parts.remove(0);
            }
        } else if deed == Deed::JobWaits && text == "waits" {
            // Whoever reads that it is out knows that it waits.
            saying.parts.remove(0);
        }
        saying.append_to(&mut other.saying);
        return;
    }
    if deed == Deed::JobDone
        && let Some(does) = view.is("does").filter(|_| !view.is_new())
    {
        saying.parts[0] = format!("done: {}", shown(&does.into()));
    }
    if matches!(deed, Deed::JobDone) {
        short = format!("{id} done");
    }
    let mut told = fact(deed, day, saying);
    told.short = short;
    facts.push(told);
}

/// What state things were left in, where the job was half done before.
fn left<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let under = view.under("left-as");
    if !under.differs() || facts.iter().any(|fact| fact.saying.has_said("left-as")) {
        return;
    }
    let mut saying = Saying::of(view);
    match (under.before, under.after) {
        (_, Some(Value::String(text))) => {
            saying.say(format!("left as: {}", shown(&text.as_str().into())));
            if let Some(was) = under.before {
                saying.say(format!("before: {}", shown(was)));
            }
            saying.cover("left-as");
            facts.push(fact(Deed::JobLeft, None, saying));
        }
        // Done, and so nobody need go on from there.
        (Some(was), None) => {
            saying.cover("left-as");
            saying.say(format!("no longer: {}", shown(was)));
            match facts.iter_mut().find(|fact| is_main(fact.deed)) {
                Some(main) => saying.append_to(&mut main.saying),
                None => facts.push(fact(Deed::JobLeft, None, saying)),
            }
        }
        _ => {}
    }
}

/// What was done with single lines: baked, tried on again, checked on return.
fn lines<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    for item in line_items(view) {
        let what = item.after.and_then(|line| line.get("what")).map(bare_all);
        let what = what.unwrap_or_else(|| "a line".to_owned());
        let mut line = Saying::of(item);
        if let Some(long) = line.new_text("baked") {
            let hot = line.new_text("baked-at").map(|hot| format!(" at {hot}"));
            let hot = hot.unwrap_or_default();
            line.say(format!("{what} baked {long}{hot}"));
            facts.push(fact(Deed::Baked, None, line));
        }
        let mut line = Saying::of(item);
        if let Some(day) = line.new_day("tried-again") {
            line.say(format!("{what} tried on again"));
            facts.push(fact(Deed::Retried, Some(day), line));
        }
        looked_at(item, "checks", Some(&what), facts);
    }
}

/// Time spent: the sum, and by whom.
fn spent<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    let mut of: BTreeMap<String, (f64, Vec<String>)> = BTreeMap::new();
    let mut last: Option<&str> = None;
    let hour = Unit::read("h").ok();
    for item in view.items("spent") {
        if !item.is_new() || !item.is_map() {
            continue;
        }
        let mut time = Saying::of(item);
        let by = time.new_text("by").map(|who| format!(" by {who}"));
        let long = time.new_text("for");
        last = last.max(time.new_day("when"));
        time.say_rest(&[]);
        saying.cover_all(&item);
        let (sum, others) = of.entry(by.unwrap_or_default()).or_default();
        let read = long.as_deref().and_then(|text| Quantity::parse(text).ok());
        let hours = read
            .filter(|time| matches!(time.form(), Form::Single(_)))
            .and_then(|time| time.nominal().in_unit(hour?));
        match (hours, long) {
            (Some(hours), _) => *sum += hours,
            (None, Some(long)) => others.push(long),
            (None, None) => {}
        }
        if !time.parts.is_empty() {
            others.push(format!("({})", time.text()));
        }
    }
    if of.is_empty() {
        return;
    }
    let each = of.iter().map(|(by, (sum, others))| {
        let figure = hour
            .filter(|_| *sum > 0.0)
            .and_then(|hour| hour.amount(*sum).figure(hour));
        let figure = figure.map(|figure| figure.to_string());
        let all: Vec<String> = figure.into_iter().chain(others.iter().cloned()).collect();
        match all.split_first() {
            Some((first, [])) => format!("{first}{by}"),
            Some((first, rest)) => format!("{first}{by} {}", rest.join(" ")),
            None => format!("worked on{by}"),
        }
    });
    let text = spoken(&each.collect::<Vec<_>>(), "and");
    saying.say(text);
    saying.mark("spent");
    facts.push(fact(Deed::JobSpent, last, saying));
}

/// What was looked at and what came of it: what came out alike on one day is one sentence.
fn looked_at<'a>(view: View<'a>, key: &str, of: Option<&str>, facts: &mut Vec<Fact<'a>>) {
    let mut alike: Vec<(String, Option<&str>, Vec<String>, Saying<'a>)> = Vec::new();
    for item in view.items(key) {
        if !item.is_map() {
            continue;
        }
        let mut check = Saying::of(item);
        let came = check.new_text("found");
        let figure = check.new_text("is");
        if came.is_none() && figure.is_none() {
            continue;
        }
        let when = check.new_day("when");
        let text = |key: &str| item.after.and_then(|check| check.get(key));
        let what = text("what").map(shown).unwrap_or_default();
        let at = text("at").map(bare_all);
        check.cover_if_new(&["what", "at"]);
        for part in [came, figure].into_iter().flatten() {
            check.say(part);
        }
        check.say_new("should be: ", "should");
        check.say_new("by ", "by");
        check.say_rest(&[]);
        if item.is_new() {
            check.cover_all(&item);
        }
        let came = format!("{what}: {}", check.parts.join(", "));
        let mut own = Saying::of(view);
        check.hand_over(&mut own);
        match alike
            .iter_mut()
            .find(|(text, day, ..)| *text == came && *day == when)
        {
            Some((_, _, places, saying)) => {
                places.extend(at);
                own.hand_over(saying);
            }
            None => alike.push((came, when, at.into_iter().collect(), own)),
        }
    }
    for (came, when, places, mut saying) in alike {
        let at = match (places.is_empty(), of) {
            (false, _) => format!(" at {}", spoken(&places, "and")),
            (true, Some(of)) => format!(" at {of}"),
            (true, None) => String::new(),
        };
        let text = match came.split_once(": ") {
            Some((what, came)) => format!("{what}{at}: {came}"),
            None => came,
        };
        saying.say(text);
        facts.push(fact(Deed::JobChecked, when, saying));
    }
    if view.is_new() {
        let all = view
            .after
            .and_then(|job| job.get(key))
            .and_then(Value::as_array);
        let looked = |check: &Value| {
            check.is_object() && (check.get("found").is_some() || check.get("is").is_some())
        };
        if all.is_some_and(|all| all.iter().all(looked))
            && let Some(last) = facts.last_mut()
        {
            last.saying.mark(key);
        }
    }
}

/// What was measured for the job.
fn measured<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    for item in view.items("readings") {
        if !item.is_map() || !item.is_new() {
            continue;
        }
        let mut reading = Saying::of(item);
        let what = reading.new_text("what").unwrap_or_default();
        let figure = reading.new_text("is").unwrap_or_default();
        reading.say(format!("{what} {figure}").trim().to_owned());
        reading.say_new("at ", "at");
        let when = reading.new_day("when");
        reading.say_new("", "how");
        reading.say_rest(&[]);
        facts.push(fact(Deed::JobChecked, when, reading));
    }
    let all = view.after.and_then(|job| job.get("readings"));
    if view.is_new()
        && all
            .and_then(Value::as_array)
            .is_some_and(|all| all.iter().all(Value::is_object))
        && let Some(last) = facts.last_mut()
    {
        last.saying.mark("readings");
    }
}

/// What was promised otherwise, and what was handed to somebody.
fn dates<'a>(view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let told = |facts: &[Fact<'_>], key: &str| facts.iter().any(|fact| fact.saying.has_said(key));
    let under = view.under("promised");
    if under.differs()
        && !told(facts, "promised")
        && let Some(day) = under.after.map(shown)
    {
        let mut saying = Saying::of(view);
        saying.cover("promised");
        match under.before.map(shown) {
            Some(was) => saying.say(format!("promised for {day}, was {was}")),
            None => saying.say(format!("promised for {day}")),
        }
        facts.push(fact(Deed::Promised, None, saying));
    }
    let mut saying = Saying::of(view);
    if let Some(when) = saying.new_day("handed-out") {
        let to = saying.new_text("for").or(view.is("for").map(str::to_owned));
        match to {
            Some(to) => saying.say(format!("handed to {to}")),
            None => saying.say("handed out"),
        }
        saying.say_new("wanted by ", "wanted");
        facts.push(fact(Deed::JobHandedOut, Some(when), saying));
    }
}
