//! Clearances: gaps measured, and how they stand to the least that is allowed.

use std::cmp::Ordering;

use serde_json::Value;

use super::events::earlier;
use super::view::View;
use super::words::{Saying, bare, fitted_as};
use super::{Deed, Teller};
use crate::near::spoken;
use crate::reckon::quantity::Quantity;

pub(super) fn tell(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    let about = teller.id();
    let least = view.is("least");
    let known = view.before.and_then(|gap| gap.get("readings"));
    let known = known.and_then(Value::as_array);
    let mut known: Vec<&Value> = known.into_iter().flatten().collect();
    for item in view.items("readings") {
        if !item.is_new() || !item.is_map() {
            continue;
        }
        let mut reading = Saying::of(item);
        let gap = reading.new_text("is");
        let mut said = gap.clone().unwrap_or_else(|| "no figure".to_owned());
        if let Some(least) = least {
            said.push_str(&against(gap.as_deref(), least));
        }
        if let Some(word) = reading.new_text("as") {
            said.push_str(&format!(", {}", fitted_as(&word)));
        }
        reading.say(said);
        if let Some(this) = item.after {
            let was = earlier(&known, this).and_then(|one| one.get("is")?.as_str());
            if let Some(was) = was {
                reading.say(format!("was {was}"));
            }
            known.push(this);
        }
        let when = reading.new_day("when");
        reading.say_new("", "how");
        reading.say_rest(&[]);
        reading.tell(teller, Deed::GapMeasured, about, when);
        if let Some(gap) = gap {
            let many = view.items("readings").len();
            if many == 1 {
                teller.briefly(format!("{about} {gap}"));
            }
        }
    }
    if view.is_new() {
        let mut new = Saying::of(view);
        let between = view.after.and_then(|value| value.get("between"));
        let two: Option<Vec<&str>> = between
            .and_then(Value::as_array)
            .and_then(|all| all.iter().map(Value::as_str).collect());
        if let Some(two) = two {
            let two: Vec<&str> = two.into_iter().map(bare).collect();
            new.say(format!("gap between {}", spoken(&two, "and")));
            new.cover("between");
        }
        new.say_new("least ", "least");
        let readings = between_items(&view);
        new.say_rest(if readings { &["readings"] } else { &[] });
        new.tell(teller, Deed::New, &teller.change.name.to_string(), None);
    }
}

/// Whether all readings are maps, and so were told.
fn between_items(view: &View<'_>) -> bool {
    let items = view.after.and_then(|value| value.get("readings"));
    let items = items.and_then(Value::as_array);
    items.is_some_and(|items| items.iter().all(Value::is_object))
}

/// How a gap stands to the least that is allowed.
fn against(gap: Option<&str>, least: &str) -> String {
    let read = |text: &str| Quantity::parse(text).ok();
    let order = || {
        let (gap, least) = (read(gap?)?, read(least)?);
        gap.low().compare(&least.low())
    };
    match order() {
        Some(Ordering::Less) => format!(", less than the {least} needed"),
        _ => format!(", at least {least} needed"),
    }
}
