//! Decisions: asked, made, overturned, withdrawn, open again; and what they settle.

use serde_json::Value;

use super::view::View;
use super::words::{Saying, bare, said, shown};
use super::{Deed, Teller};
use crate::near::spoken;

pub(super) fn tell(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    settlements(teller, &view);
    follows(teller, &view);
    let is_made = |state: Option<&str>, chosen: Option<&str>| match state {
        Some(state) => state == "chosen",
        None => chosen.is_some(),
    };
    let was_made = is_made(view.was("state"), view.was("chosen"));
    let made = is_made(view.is("state"), view.is("chosen"));
    let (was, is) = (view.was("state"), view.is("state"));
    let state_differs = view.under("state").differs();
    let mut saying = Saying::of(view);
    let id = teller.id();
    let deed = if made && !was_made {
        Deed::Chosen
    } else if made && is_other_choice(&view) {
        Deed::Overturned
    } else if state_differs && is == Some("withdrawn") {
        Deed::Withdrawn
    } else if was_made && !made && matches!(is, None | Some("open")) {
        Deed::Reopened
    } else if view.is_new() {
        Deed::Asked
    } else if state_differs && was == Some("withdrawn") && is == Some("open") {
        Deed::Reopened
    } else {
        return;
    };
    if let Some(asks) = view.is("asks") {
        saying.say(shown(&asks.into()));
        if saying.is_added("asks") {
            saying.cover("asks");
        }
    }
    if state_differs && matches!(is, Some("open" | "chosen" | "withdrawn")) {
        saying.cover("state");
    }
    let mut about = id.to_owned();
    let mut deed = deed;
    let mut short = String::new();
    match deed {
        Deed::Chosen => {
            if let Some(chosen) = saying.view.is("chosen") {
                let earlier = view.is("instead-of");
                let earlier = earlier.filter(|_| saying.is_added("instead-of"));
                if let Some(earlier) = earlier {
                    // What was decided before is what is overturned; its record stays.
                    deed = Deed::Overturned;
                    about = bare(earlier).to_owned();
                    saying.say(format!("{chosen} now, by {id}"));
                    short = format!("{about} overturned by {id}");
                    saying.cover("instead-of");
                } else {
                    saying.say(chosen.to_owned());
                    short = format!("{id} decided: {chosen}");
                }
                if view.under("chosen").differs() && view.was("chosen").is_none() {
                    saying.cover("chosen");
                }
            }
        }
        Deed::Overturned => {
            let now = view.is("chosen").unwrap_or_default();
            match view.was("chosen") {
                Some(was) => saying.say(format!("{now} instead of {was}")),
                None => saying.say(now),
            }
            // The reason and the day are those of the new choice.
            let why = view.under("because");
            if let (true, Some(was), Some(is)) = (why.differs(), why.before, why.after) {
                saying.say(format!(
                    "because {}, before because {}",
                    shown(is),
                    shown(was)
                ));
                saying.cover("because");
            }
            short = format!("{id} overturned: {now}");
            saying.cover("chosen");
        }
        Deed::Withdrawn => saying.say("withdrawn"),
        Deed::Reopened => {
            let was = match view.was("chosen") {
                Some(chosen) => {
                    if view.under("chosen").is_gone() {
                        saying.cover("chosen");
                    }
                    format!(", was {chosen}")
                }
                None => was.map(|was| format!(", was {was}")).unwrap_or_default(),
            };
            if view.under("state").is_gone() {
                saying.cover("state");
            }
            saying.say(format!("open again{was}"));
        }
        _ => {}
    }
    saying.say_new("because ", "because");
    let when = saying.new_day("when");
    saying.say_new("by ", "by");
    let options = view.after.and_then(|value| value.get("options"));
    let options = options.and_then(Value::as_object);
    if let Some(options) = options.filter(|_| saying.is_added("options")) {
        saying.cover("options");
        let all: Vec<String> = options
            .iter()
            .map(|(name, value)| option(name, value))
            .collect();
        let lead = match deed {
            Deed::Asked => "",
            _ => "the choice was ",
        };
        saying.say(format!("{lead}{}", spoken(&all, "or")));
    }
    // Conflicts that are settled have sentences of their own.
    let settles = view.after.and_then(|value| value.get("settles"));
    let settles = settles.and_then(Value::as_array);
    if settles.is_some_and(|all| all.iter().all(Value::is_object)) {
        saying.mark("settles");
    }
    saying.say_rest(&[]);
    saying.tell(teller, deed, &about, when);
    if !short.is_empty() {
        teller.briefly(short);
    }
}

/// Whether what is chosen is one of the options under another name: from what to what.
fn renamed<'a>(view: &View<'a>) -> Option<(&'a str, &'a str)> {
    let (was, is) = (view.was("chosen")?, view.is("chosen")?);
    let options = view.entries("options");
    let mut options = options.iter().filter(|one| one.name == is);
    let is_it = options.any(|one| one.was.is_some_and(|(old, _)| old == was));
    is_it.then_some((was, is))
}

/// Whether something else is chosen than before.
fn is_other_choice(view: &View<'_>) -> bool {
    let chosen = view.under("chosen");
    chosen.differs() && view.is("chosen").is_some() && renamed(view).is_none()
}

/// The choice is the same, and called otherwise.
fn follows(teller: &mut Teller<'_>, view: &View<'_>) {
    if let Some((was, is)) = renamed(view) {
        let says = format!("chosen: {was} → {is}");
        let leaves = view.under("chosen").leaves();
        let about = teller.change.name.to_string();
        teller.tell(Deed::Followed, about, says, None, leaves);
    }
}

/// One way that it could go: `electric (for: radiator can sit lower)`.
fn option(name: &str, value: &Value) -> String {
    let Some(map) = value.as_object() else {
        return format!("{name} ({})", shown(value));
    };
    let all: Vec<String> = map.iter().map(|(key, value)| said(key, value)).collect();
    match all.is_empty() {
        true => name.to_owned(),
        false => format!("{name} ({})", all.join("; ")),
    }
}

/// Which conflicts it settles now, or no longer.
fn settlements(teller: &mut Teller<'_>, view: &View<'_>) {
    let id = teller.id();
    for item in view.items("settles") {
        if !item.is_map() || !(item.is_new() || item.is_gone()) {
            continue;
        }
        let value = item.after.or(item.before);
        let text = |key: &str| value.and_then(|value| value.get(key)).map(shown);
        let mut says = text("rule").unwrap_or_else(|| "a conflict".to_owned());
        if let Some(at) = text("at") {
            says.push_str(&format!(" at {at}"));
        }
        if let Some(until) = text("until") {
            says.push_str(&format!(", until {until}"));
        }
        if let Some(because) = text("because") {
            says.push_str(&format!("; because {because}"));
        }
        let (deed, says) = match item.is_new() {
            true => (Deed::Settled, format!("settles {says}")),
            false => (Deed::Unsettled, format!("no longer settles {says}")),
        };
        teller.tell(deed, id, says, None, item.leaves());
    }
}
