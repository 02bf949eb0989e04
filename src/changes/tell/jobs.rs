//! Jobs: bench work, checks, trials, power-up and start-up; what is sent out and what is
//! ordered.

use std::collections::BTreeMap;

use serde_json::Value;
use unicode_width::UnicodeWidthStr;

use super::money::is_money;
use super::view::View;
use super::words::{Saying, bare_all, fitted_as, said, shown};
use super::{Deed, Teller};
use crate::near::spoken;
use crate::reckon::quantity::{Form, Quantity};
use crate::reckon::unit::Unit;

/// What sorts of jobs there are, and what each is called in a sentence.
const KINDS: &[(&str, &str)] = &[
    ("bench", "job"),
    ("send-out", "send-out"),
    ("order", "order"),
    ("trial", "trial"),
    ("check", "check"),
    ("power-up", "power-up"),
    ("start-up", "start-up"),
];

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
            ordered(id, view, &mut facts);
            arrived(id, view, &mut facts);
        }
        "send-out" => {
            sent(id, view, &mut facts);
            came_back(id, view, &mut facts);
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

/// A thing and what is so of it, for a headline; empty where that would be long.
fn brief(about: &str, what: &str) -> String {
    const MOST: usize = 60;
    let text = format!("{about}: {what}");
    match text.width() <= MOST {
        true => text,
        false => String::new(),
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
    let mut others: Vec<&str> = Vec::new();
    let told = |key: &str| facts.iter().any(|fact| fact.saying.has_said(key));
    for (key, value) in view.after.and_then(Value::as_object).into_iter().flatten() {
        let is_told = match key.as_str() {
            "kind" => KINDS.iter().any(|(word, _)| value == word),
            "price" | "carriage" => is_money(value),
            // What is new is open.
            "state" => told(key) || value == "open",
            "lines" => value.is_array(),
            "does" => true,
            _ => told(key),
        };
        if is_told {
            others.push(key);
        }
    }
    let mut lead = Saying::of(view);
    let does = lead.new_text("does");
    let what = KINDS.iter().find(|(word, _)| *word == kind);
    let what = what.map_or("job", |(_, name)| *name);
    let mut rest = Saying::of(view);
    let items = view.after.and_then(|job| job.get("lines"));
    match items.and_then(Value::as_array) {
        Some(items) if !told("lines") => {
            let all: Vec<String> = items.iter().map(line_whole).collect();
            if !all.is_empty() {
                rest.say(all.join(", "));
            }
        }
        _ => {}
    }
    let of = |key: &str| {
        let all = view.after.and_then(|job| job.get(key));
        let all = all.and_then(Value::as_array)?;
        all.iter().all(Value::is_object).then_some(all)
    };
    if let Some(uses) = of("uses") {
        let all: Vec<String> = uses.iter().map(line_whole).collect();
        rest.say(format!("uses {}", all.join(", ")));
        others.push("uses");
    }
    if let Some(checks) = of("checks").filter(|_| !others.contains(&"checks")) {
        let left = checks.iter().filter(|check| !is_looked_at(check));
        let all: Vec<String> = left.map(check_text).collect();
        if !all.is_empty() {
            rest.say(format!("to look at: {}", all.join(", ")));
        }
        others.push("checks");
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
        Deed::JobSpent | Deed::JobChecked | Deed::FoundBad | Deed::JobHandedOut | Deed::Promised
    )
}

/// A line of an order or a send-out: `11 of 12 bolt-m8-30`.
fn line_text(line: &Value, of: Option<&str>) -> String {
    let Some(map) = line.as_object() else {
        return shown(line);
    };
    let number = |key: &str| map.get(key).filter(|value| value.is_number()).map(shown);
    let what = map.get("what").filter(|what| what.is_string());
    let what = what.map(bare_all).unwrap_or_default();
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

/// All that a line says: what it is of, and in brackets what nothing else tells.
fn line_whole(line: &Value) -> String {
    let told = |key: &str, value: &Value| match key {
        "count" | "out" | "back" | "lost" | "rejected" | "came" => value.is_number(),
        "price" => is_money(value),
        "what" | "amount" | "arrived" | "baked" | "baked-at" | "tried-again" => value.is_string(),
        "checks" => value
            .as_array()
            .is_some_and(|all| all.iter().all(is_looked_at)),
        _ => false,
    };
    let map = line.as_object().into_iter().flatten();
    let rest = map.filter(|(key, value)| !told(key, value));
    let rest: Vec<String> = rest.map(|(key, value)| said(key, value)).collect();
    let text = line_text(line, None);
    match rest.is_empty() {
        true => text,
        false => format!("{text} ({})", rest.join("; "))
            .trim_start()
            .to_owned(),
    }
}

/// Counts as told a number of things that is new or another, and gives what it was before.
fn new_count(line: &mut Saying<'_>, key: &str) -> Option<Option<String>> {
    let under = line.view.under(key);
    let are_numbers = [under.before, under.after].into_iter().flatten();
    if !under.differs() || under.after.is_none() || !are_numbers.clone().all(Value::is_number) {
        return None;
    }
    line.cover(key);
    Some(under.before.map(shown))
}

/// What stands under a key now.
fn of(view: &View<'_>, key: &str) -> String {
    let value = view.after.and_then(|value| value.get(key));
    value.map(shown).unwrap_or_default()
}

fn in_brackets(notes: Vec<String>) -> String {
    match notes.is_empty() {
        true => String::new(),
        false => format!(" ({})", notes.join(", ")),
    }
}

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
    let all: Vec<String> = all_lines(view).map(line_whole).collect();
    for item in line_items(view) {
        let out = item.under("out");
        if item.is_new() {
            saying.cover_all(&item);
        } else if out.before.is_none() && out.after.is_some_and(Value::is_number) {
            saying.cover_all(&out);
        }
    }
    if !all.is_empty() {
        saying.say(all.join(", "));
    }
    if view.under("lines").before.is_none() {
        saying.mark("lines");
    }
}

fn ordered<'a>(id: &str, view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    if let Some(when) = saying.new_day("ordered") {
        saying.say_new("from ", "from");
        what_is_in(&mut saying);
        saying.say_new("promised for ", "promised");
        saying.say_new("can go back until ", "return-by");
        let what: Vec<String> = all_lines(view)
            .filter_map(|line| line.get("what"))
            .map(bare_all)
            .collect();
        let mut told = fact(Deed::Ordered, Some(when), saying);
        if !what.is_empty() {
            told.short = brief(&format!("{id} ordered"), &what.join(", "));
        }
        facts.push(told);
        return;
    }
    // A line that came to an order which is out already.
    let is_out = view.was("ordered").is_some();
    let new = line_items(view).into_iter().filter(View::is_new);
    let new: Vec<View<'_>> = new.filter(|_| is_out).collect();
    if !new.is_empty() {
        let texts = new.iter().filter_map(|item| item.after).map(line_whole);
        let text = texts.collect::<Vec<_>>().join(", ");
        saying.say(format!("also {text}"));
        new.iter().for_each(|item| saying.cover_all(item));
        let mut told = fact(Deed::Ordered, None, saying);
        told.short = brief(id, &format!("also {text}"));
        facts.push(told);
    }
}

/// What arrived, a sentence for each day.
fn arrived<'a>(id: &str, view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut days: BTreeMap<Option<&str>, (Saying<'a>, Vec<String>)> = BTreeMap::new();
    let whole = Saying::of(view).new_day("arrived");
    for item in line_items(view) {
        let mut line = Saying::of(item);
        let came = new_count(&mut line, "came");
        let own_day = line.new_day("arrived");
        if came.is_none() && own_day.is_none() {
            continue;
        }
        let notes = [
            came.and_then(|before| before.map(|before| format!("{before} before"))),
            new_count(&mut line, "rejected").map(|_| format!("{} unfit", of(&item, "rejected"))),
        ];
        let notes = in_brackets(notes.into_iter().flatten().collect());
        let day = own_day.or(item.is("arrived")).or(whole);
        let (saying, texts) = days
            .entry(day)
            .or_insert_with(|| (Saying::of(view), Vec::new()));
        line.hand_over(saying);
        if let Some(line) = item.after {
            texts.push(line_text(line, Some("came")) + &notes);
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
                (came, _) => came.is_none() && line.get("arrived").is_none(),
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

fn sent<'a>(id: &str, view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    let Some(when) = saying.new_day("sent") else {
        return;
    };
    let process = saying
        .new_text("process")
        .or(view.is("process").map(str::to_owned));
    let to = saying.new_text("to").or(view.is("to").map(str::to_owned));
    let mut short = String::new();
    if let Some(to) = &to {
        short = format!("{id} sent to {to}");
    }
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
    let mut told = fact(Deed::Sent, Some(when), saying);
    told.short = short;
    facts.push(told);
}

/// What came back of what went out, line by line.
fn came_back<'a>(id: &str, view: View<'a>, facts: &mut Vec<Fact<'a>>) {
    let mut saying = Saying::of(view);
    let when = saying.new_day("came-back");
    let mut texts = Vec::new();
    let mut missing: Vec<String> = Vec::new();
    for item in line_items(view) {
        let mut line = Saying::of(item);
        let back = new_count(&mut line, "back");
        let mut own = Vec::new();
        for (key, word) in [("lost", "lost"), ("rejected", "unfit")] {
            if new_count(&mut line, key).is_some() {
                own.push(format!("{} {word}", of(&item, key)));
            }
        }
        if back.is_none() && own.is_empty() {
            continue;
        }
        line.hand_over(&mut saying);
        missing.extend(own.iter().cloned());
        let before = back.and_then(|before| before.map(|before| format!("{before} before")));
        let own = in_brackets(before.into_iter().chain(own).collect());
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
    let mut told = fact(Deed::CameBack, when, saying);
    if !missing.is_empty() {
        told.short = brief(&format!("{id} came back"), &missing.join(", "));
    }
    facts.push(told);
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
    if kind != "trial" {
        saying.say_new("found: ", "found");
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
            ) | (Deed::JobBegun, Deed::CameBack | Deed::JobTried)
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
    if matches!(deed, Deed::JobDone | Deed::Powered | Deed::Started)
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
            saying.say(format!("had been left as: {}", shown(was)));
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
    if view.under("spent").is_list() {
        saying.mark("spent");
    }
    facts.push(fact(Deed::JobSpent, last, saying));
}

/// What was looked at on a day and came out alike.
struct Looked<'a> {
    is_bad: bool,
    came: String,
    when: Option<&'a str>,
    places: Vec<String>,
    saying: Saying<'a>,
}

/// What was looked at and what came of it: what came out alike on one day is one sentence.
fn looked_at<'a>(view: View<'a>, key: &str, of: Option<&str>, facts: &mut Vec<Fact<'a>>) {
    let mut alike: Vec<Looked<'a>> = Vec::new();
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
        let same = |one: &&mut Looked<'_>| one.came == came && one.when == when;
        match alike.iter_mut().find(same) {
            Some(one) => {
                one.places.extend(at);
                own.hand_over(&mut one.saying);
            }
            None => alike.push(Looked {
                is_bad: item.is("found") == Some("bad"),
                came,
                when,
                places: at.into_iter().collect(),
                saying: own,
            }),
        }
    }
    for one in alike {
        let Looked {
            is_bad,
            came,
            when,
            places,
            saying,
        } = one;
        let at = match (places.is_empty(), of) {
            (false, _) => format!(" at {}", spoken(&places, "and")),
            (true, Some(of)) => format!(" at {of}"),
            (true, None) => String::new(),
        };
        let text = match came.split_once(": ") {
            Some((what, came)) => format!("{what}{at}: {came}"),
            None => came,
        };
        let deed = match is_bad {
            true => Deed::FoundBad,
            false => Deed::JobChecked,
        };
        let mut told = fact(deed, when, saying);
        if is_bad {
            told.short = text.split(", ").next().unwrap_or_default().to_owned();
        }
        told.saying.say(text);
        facts.push(told);
    }
    if view.is_new() && of.is_none() {
        let all = view
            .after
            .and_then(|job| job.get(key))
            .and_then(Value::as_array);
        if all.is_some_and(|all| all.iter().all(is_looked_at))
            && let Some(last) = facts.last_mut()
        {
            last.saying.mark(key);
        }
    }
}

/// Whether something came of a check.
fn is_looked_at(check: &Value) -> bool {
    check.is_object() && (check.get("found").is_some() || check.get("is").is_some())
}

/// A check still to be made: `shorts at box-feed (open to the body)`.
fn check_text(check: &Value) -> String {
    let text = |key: &str| check.get(key).map(bare_all);
    let mut text_of_it = text("what").unwrap_or_default();
    if let Some(at) = text("at") {
        text_of_it.push_str(&format!(" at {at}"));
    }
    let map = check.as_object().into_iter().flatten();
    let rest = map.filter(|(key, _)| !["what", "at"].contains(&key.as_str()));
    let rest: Vec<String> = rest
        .map(|(key, value)| match key.as_str() {
            "should" => shown(value),
            key => said(key, value),
        })
        .collect();
    match rest.is_empty() {
        true => text_of_it,
        false => format!("{text_of_it} ({})", rest.join("; ")),
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
