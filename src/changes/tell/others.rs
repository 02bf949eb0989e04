//! The build itself with its tools, donors, fasteners, ends of wires and runs; and what a
//! record of each kind is, in a line.

use serde_json::Value;

use super::view::Named;
use super::words::{Saying, bare, bare_all, fitted_as, shown};
use super::{Deed, Teller, field};
use crate::model::Kind;
use crate::near::spoken;

/// The build's tools and wrenches; all else in `build.yaml` is told field by field.
pub(super) fn build(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    if view.is_new() {
        let says = view.is("name").map(|name| shown(&name.into()));
        let says = says.map(|name| format!("the build is begun: {name}"));
        let says = says.unwrap_or_else(|| "the build is begun".to_owned());
        teller.tell(Deed::BuildBegun, "build", says, None, view.leaves());
        return;
    }
    for wrench in view.entries("wrenches") {
        if !wrench.view.is_map() || wrench.view.is_gone() {
            continue;
        }
        let about = format!("wrenches/{}", wrench.name);
        for (key, deed, word) in [
            ("dropped", Deed::WrenchDropped, "dropped"),
            ("calibrated", Deed::WrenchCalibrated, "calibrated"),
        ] {
            let under = wrench.view.under(key);
            if let (true, Some(day)) = (under.differs(), wrench.view.is(key)) {
                let says = match under.before {
                    Some(was) => format!("{word}, last time was {}", shown(was)),
                    None => word.to_owned(),
                };
                teller.tell(deed, about.clone(), says, Some(day), under.leaves());
                teller.briefly(format!("{} wrench {word}", wrench.name));
            }
        }
    }
    for tool in view.entries("tools") {
        tell_tool(teller, &tool);
    }
}

fn tell_tool(teller: &mut Teller<'_>, tool: &Named<'_>) {
    let view = tool.view;
    let state = view.under("state");
    let (Some(is), true, true) = (view.is("state"), state.differs(), view.is_map()) else {
        return;
    };
    let about = format!("tools/{}", tool.name);
    let mut saying = Saying::of(view);
    if view.is_new() {
        saying.say_new("", "name");
    }
    saying.cover("state");
    match view.was("state") {
        Some(was) => saying.say(format!("{is}, was {was}")),
        None => saying.say(is),
    }
    saying.say_new("kept in: ", "kept-in");
    saying.say_rest(&[]);
    saying.tell(teller, Deed::ToolState, &about, None);
    teller.briefly(format!("{about} {is}"));
}

/// Donors that came, and that left again.
pub(super) fn donor(teller: &mut Teller<'_>) {
    let view = teller.view();
    let id = teller.id();
    if view.is_new() {
        let mut new = Saying::of(view);
        new.say_new("", "name");
        new.say_new("ran ", "ran");
        new.say_new("died of ", "died-of");
        new.say_rest(&["price"]);
        new.tell(teller, Deed::DonorNew, id, None);
    }
    let gone = view.under("gone");
    if !view.is_new()
        && gone.differs()
        && gone.before.is_none()
        && let Some(day) = view.is("gone")
    {
        let says = view.is("name").map(|name| shown(&name.into()));
        let says = format!(
            "{} left again",
            says.unwrap_or_else(|| "the donor".to_owned())
        );
        teller.tell(Deed::DonorLeft, id, says, Some(day), gone.leaves());
    }
}

/// How many fasteners there are, how many were used, and what they were plated in.
pub(super) fn fastener(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    if view.is_new() {
        // Before its price is told, which would count for the whole of it.
        field::whole(teller, &view, &[]);
        return;
    }
    let id = teller.id();
    let number = |value: Option<&Value>| value.and_then(Value::as_i64);
    let (used, have) = (view.under("used"), view.under("have"));
    let (was_used, is_used) = (number(used.before), number(used.after));
    let (was_have, is_have) = (number(have.before), number(have.after));
    let left = match (is_have, is_used) {
        (Some(have), used) if have >= used.unwrap_or(0) => {
            format!("; {} of {have} left", have - used.unwrap_or(0))
        }
        _ => String::new(),
    };
    if used.differs() && (is_used.is_some() || used.after.is_none()) {
        let (was, is) = (was_used.unwrap_or(0), is_used.unwrap_or(0));
        if is > was {
            let says = format!("{} used{left}", is - was);
            teller.tell(Deed::FastenersUsed, id, says, None, used.leaves());
        } else if is < was {
            let says = format!("{} fewer used{left}", was - is);
            teller.tell(Deed::FastenersUsed, id, says, None, used.leaves());
        }
    }
    if have.differs()
        && let Some(is) = is_have
        && (was_have.is_some() || have.before.is_none())
    {
        let says = match was_have {
            Some(was) => format!("{is} there, were {was}"),
            None => format!("{is} there"),
        };
        teller.tell(Deed::FastenersCounted, id, says, None, have.leaves());
    }
    let plated = view.under("plated-in");
    if let (true, Some(job)) = (teller.is_news(&plated), view.is("plated-in")) {
        let mut saying = Saying::of(view);
        saying.say(format!("plated with {}", bare(job)));
        if let Some(was) = view.was("plated-in") {
            saying.say(format!("before that with {}", bare(was)));
        }
        let finish = view.under("finish");
        if let (true, Some(is)) = (finish.differs(), view.is("finish")) {
            match view.was("finish") {
                Some(was) => saying.say(format!("{is} now, was {was}")),
                None => saying.say(is),
            }
            saying.cover("finish");
        }
        saying.cover("plated-in");
        saying.tell(teller, Deed::FastenersPlated, id, None);
    }
}

/// Ends of wires: plugged in or screwed down, taken off again, and shown to have a path.
pub(super) fn plug(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    if view.is_new() {
        let events = ["fitted", "proved"].into_iter();
        let told: Vec<&str> = events.filter(|key| view.under(key).is_list()).collect();
        field::whole(teller, &view, &told);
    }
    let id = teller.id();
    for item in view.items("fitted") {
        if !item.is_map() || item.is_gone() {
            continue;
        }
        let mut event = Saying::of(item);
        if item.is_new() {
            let stage = event.new_text("as").map(|word| fitted_as(&word));
            let on = format!("on {}", stage.unwrap_or_default());
            let when = event.new_day("when");
            // What is off again by now is told as that.
            let (deed, day) = match event.new_day("until") {
                Some(until) => {
                    let since = when.map(|day| format!(" since {day}"));
                    let on = on.trim_end();
                    event.say(format!("off again, was {on}{}", since.unwrap_or_default()));
                    (Deed::EndOff, Some(until))
                }
                None => {
                    event.say(on.trim_end());
                    (Deed::EndFitted, when)
                }
            };
            event.say_rest(&[]);
            event.tell(teller, deed, id, day);
        } else if let Some(until) = event.new_day("until") {
            let since = item.is("when").map(|day| format!(", was on since {day}"));
            event.say(format!("off again{}", since.unwrap_or_default()));
            event.tell(teller, Deed::EndOff, id, Some(until));
        }
    }
    for item in view.items("proved") {
        if !item.is_map() || !item.is_new() {
            continue;
        }
        let mut proof = Saying::of(item);
        proof.say_new("", "is");
        let when = proof.new_day("when");
        proof.say_new("", "how");
        proof.say_rest(&[]);
        if proof.parts.is_empty() {
            proof.say("has a path to where it should");
        }
        proof.tell(teller, Deed::EndProved, id, when);
    }
}

/// Runs whose length was measured.
pub(super) fn route(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    let id = teller.id();
    let measured = view.under("measured");
    if !measured.is_map() || !measured.differs() || measured.after.is_none() {
        return;
    }
    let mut how = Saying::of(measured);
    let Some(when) = measured
        .is("when")
        .filter(|_| measured.under("when").differs())
    else {
        return;
    };
    if view.is_new() {
        field::whole(teller, &view, &["measured"]);
    }
    // A run that was measured before: what that was is told field by field.
    let again = measured.before.is_some();
    if again {
        how.say(match measured.was("when") {
            Some(was) => format!("measured again, last time was {was}"),
            None => "measured again".to_owned(),
        });
    }
    how.cover("when");
    let length = view.under("length");
    let mut saying = Saying::of(view);
    match (length.before, length.after) {
        (Some(was), Some(is)) if length.differs() => {
            saying.say(format!("{}, was {}", shown(is), shown(was)));
            saying.cover("length");
        }
        (_, Some(is)) => {
            saying.say(shown(is));
            saying.cover("length");
        }
        _ => {}
    }
    if let Some(stage) = how.new_text("as") {
        how.say(fitted_as(&stage));
    }
    how.say_new("", "how");
    how.say_rest(&[]);
    how.append_to(&mut saying);
    let says = saying.text();
    saying.tell(teller, Deed::RunMeasured, id, Some(when));
    teller.briefly(match says.split("; ").next() {
        Some(length) => format!("{id} measured, {length}"),
        None => String::new(),
    });
}

/// What a record is, in a line.
pub(super) fn described(kind: Kind, value: &Value) -> Option<String> {
    let text = |key: &str| value.get(key).map(bare_all).filter(|text| !text.is_empty());
    let joined = |keys: &[&str]| {
        let all: Vec<String> = keys.iter().filter_map(|key| text(key)).collect();
        (!all.is_empty()).then(|| all.join(" "))
    };
    match kind {
        Kind::Fasteners => {
            let form = joined(&["form", "thread"]);
            let length = text("length").map(|length| format!("x {length}"));
            let class = text("class").map(|class| format!("class {class}"));
            let all = [form, length, class].into_iter().flatten();
            let sizes = all.collect::<Vec<_>>().join(" ");
            let have = text("have").map(|have| format!("{have} there"));
            let all = [text("name"), Some(sizes), have].into_iter().flatten();
            let all: Vec<String> = all.filter(|text| !text.is_empty()).collect();
            (!all.is_empty()).then(|| all.join(", "))
        }
        Kind::Donors => text("name").or_else(|| joined(&["maker", "model"])),
        Kind::Plugs => {
            let at = text("at").map(|at| format!("at {at}"));
            let kind = text("kind").filter(|kind| kind != Kind::Plugs.one());
            let all = [text("name"), kind, at].into_iter().flatten();
            let all: Vec<String> = all.collect();
            (!all.is_empty()).then(|| all.join(", "))
        }
        Kind::Routes => {
            let course = match (text("from"), text("to")) {
                (Some(from), Some(to)) => Some(format!("from {from} to {to}")),
                (Some(from), None) => Some(format!("from {from}")),
                (None, to) => to.map(|to| format!("to {to}")),
            };
            let all = [text("name"), course, text("length")].into_iter().flatten();
            let all: Vec<String> = all.collect();
            (!all.is_empty()).then(|| all.join(", "))
        }
        Kind::Clearances => {
            let two = value.get("between").and_then(Value::as_array);
            let two: Vec<String> = two.into_iter().flatten().map(bare_all).collect();
            (!two.is_empty()).then(|| format!("between {}", spoken(&two, "and")))
        }
        Kind::Decisions => text("asks"),
        Kind::Photos => text("caption"),
        Kind::Jobs | Kind::Circuits => text("does").or_else(|| text("kind")),
        Kind::Parts => {
            let number = text("number");
            let all = [text("name"), number].into_iter().flatten();
            let all: Vec<String> = all.collect();
            (!all.is_empty()).then(|| all.join(", "))
        }
        Kind::Assemblies | Kind::Build => text("name"),
    }
}

/// The keys that [`described`] makes its line of.
pub(super) fn describing(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::Fasteners => &["name", "form", "thread", "length", "class", "have"],
        Kind::Donors => &["name"],
        Kind::Plugs => &["name", "kind", "at"],
        Kind::Routes => &["name", "from", "to", "length"],
        Kind::Clearances => &["between"],
        Kind::Decisions => &["asks"],
        Kind::Photos => &["caption"],
        Kind::Jobs | Kind::Circuits => &["does"],
        Kind::Parts => &["name", "number"],
        Kind::Assemblies | Kind::Build => &["name"],
    }
}
