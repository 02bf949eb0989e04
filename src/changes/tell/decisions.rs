//! Decisions: asked, made, overturned, withdrawn, open again; and what they settle.

use super::view::View;
use super::words::{Saying, bare, shown};
use super::{Deed, Teller};
use crate::near::spoken;

pub(super) fn tell(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    settlements(teller, &view);
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
    } else if made && view.under("chosen").differs() && view.is("chosen").is_some() {
        Deed::Overturned
    } else if state_differs && is == Some("withdrawn") {
        Deed::Withdrawn
    } else if was_made && !made && !view.is_new() {
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
    if is.is_some() && state_differs {
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
        _ => {
            let options = view.after.and_then(|value| value.get("options"));
            let options = options.and_then(serde_json::Value::as_object);
            if let Some(options) = options.filter(|options| !options.is_empty()) {
                let names: Vec<&str> = options.keys().map(String::as_str).collect();
                saying.say(spoken(&names, "or"));
            }
        }
    }
    saying.say_new("because ", "because");
    let when = saying.new_day("when");
    saying.say_new("by ", "by");
    saying.say_rest(&["settles"]);
    saying.tell(teller, deed, &about, when);
    if !short.is_empty() {
        teller.briefly(short);
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
