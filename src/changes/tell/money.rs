//! Money: sums paid, prices, deposits on old units.
//!
//! What is money is told by the schema, so that no price is forgotten, whichever record it
//! stands in.

use serde_json::Value;

use super::field::{Way, leaves};
use super::view::View;
use super::words::{bare_all, label, shown};
use super::{Deed, Teller};
use crate::changes::diff::Leaf;
use crate::folder::schema_of;
use crate::model::job::Job;
use crate::model::{Kind, common};
use crate::reckon::quantity::Quantity;
use crate::reckon::unit::Dimension;
use crate::report::Money;
use crate::report::list::{job_price, money};
use crate::schema::shape::{Meaning, Shape, Shapes};
use crate::yaml::{Route, Step};

/// Tells all money of a record.
pub(super) fn tell(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_gone() {
        return;
    }
    if teller.change.name.kind == Kind::Jobs {
        job(teller, &view);
    }
    for (way, leaf) in leaves(teller.change) {
        if leaf.was.is_none() {
            new(teller, &way, &leaf);
        } else if teller.left.contains(&leaf.number) {
            changed(teller, &way, &leaf);
        }
    }
}

/// An order or a send-out: its lines, its carriage and what the whole comes to.
fn job(teller: &mut Teller<'_>, view: &View<'_>) {
    let Some(record) = view.after.cloned() else {
        return;
    };
    let mut leaves = Vec::new();
    let mut parts = Vec::new();
    let mut is_new = |view: View<'_>| {
        let new = view.differs() && view.before.is_none() && view.after.is_some_and(is_money);
        if new {
            leaves.extend(view.leaves());
        }
        new
    };
    for line in view.items("lines") {
        let price = line.under("price");
        if is_new(price) {
            let text = |key: &str| line.after.and_then(|line| line.get(key));
            let count = text("count").or(text("came")).or(text("out"));
            let what = text("what").map(bare_all).unwrap_or_default();
            let price = price.after.map(shown).unwrap_or_default();
            parts.push(match count.and_then(Value::as_u64) {
                Some(1) | None => format!("{what} {price}"),
                Some(many) => format!("{many} {what} at {price}"),
            });
        }
    }
    let carriage = view.under("carriage");
    if is_new(carriage) {
        let sum = carriage.after.map(shown).unwrap_or_default();
        parts.push(format!("carriage {sum}"));
    }
    let whole = is_new(view.under("price"));
    if leaves.is_empty() {
        return;
    }
    let sum = serde_json::from_value::<Job>(record);
    let sum = sum.ok().and_then(|job| job_price(&job));
    let sum = sum.map(|sum| written(&sum));
    let sum = match (sum, view.after.and_then(|job| job.get("price"))) {
        (Some(sum), _) => Some(sum),
        (None, price) => price.filter(|_| whole).map(shown),
    };
    let is_out = ["ordered", "sent", "arrived", "came-back", "closed", "done"];
    let is_out = is_out.iter().any(|key| view.is(key).is_some());
    let deed = if is_out { Deed::Paid } else { Deed::Priced };
    let says = match (sum, parts.is_empty()) {
        (Some(sum), true) => sum,
        (Some(sum), false) => format!("{sum} in all: {}", parts.join(", ")),
        (None, _) => parts.join(", "),
    };
    let id = teller.id();
    leaves.sort_unstable();
    leaves.dedup();
    teller.tell(deed, id, says, None, leaves);
}

/// A sum as records write it.
fn written(sum: &Money) -> String {
    format!("{} {}", sum.amount(), sum.currency)
}

/// Whether a text is one figure of money, as sums are made of.
fn is_money(value: &Value) -> bool {
    let text = value.as_str();
    text.is_some_and(|text| money(&common::Money(text.to_owned())).is_some())
}

/// Prices in something new, wherever they lie in it.
fn new(teller: &mut Teller<'_>, way: &Way, leaf: &Leaf) {
    let Some(is) = &leaf.is else {
        return;
    };
    let kind = teller.change.name.kind;
    let Ok(schema) = schema_of(kind) else {
        return;
    };
    let mut found = Vec::new();
    if let Some(shape) = shape_at(&schema.shapes, teller, way) {
        gather(&schema.shapes, shape, is, &mut way.clone(), &mut found);
    }
    for (way, text) in found {
        let is_of_job = kind == Kind::Jobs
            && matches!(
                way.last(),
                Some(Step::Key(key)) if key == "price" || key == "carriage"
            );
        if is_of_job {
            continue;
        }
        let record = teller.change.after.as_ref();
        let (deed, says) = spoken(record, &way, &text);
        let about = teller.about(&way);
        teller.tell(deed, about, says, day(record, &way), vec![leaf.number]);
        if let [before @ .., Step::Key(_)] = way.as_slice()
            && matches!(before.last(), Some(Step::Key(key)) if key == "deposit")
        {
            for key in ["handed-in", "returned", "kept"] {
                let day = at(record, before).and_then(|deposit| deposit.get(key)?.as_str());
                if let Some(day) = day {
                    became(teller, &way, key, day, leaf.number);
                }
            }
        }
    }
    // What became of a deposit.
    if let [.., Step::Key(deposit), Step::Key(key)] = way.as_slice()
        && deposit == "deposit"
        && let Some(day) = is.as_str()
    {
        became(teller, way, key, day, leaf.number);
    }
}

/// What became of a deposit on a day.
fn became(teller: &mut Teller<'_>, way: &Way, key: &str, day: &str, leaf: usize) {
    let about = teller.about(way);
    let deposit = at(teller.change.after.as_ref(), &way[..way.len() - 1]);
    let text = |key: &str| deposit.and_then(|deposit| deposit.get(key));
    let amount = text("amount").map(shown);
    let (deed, says) = match key {
        "handed-in" => {
            let unit = text("for").map(bare_all);
            let unit = unit.unwrap_or_else(|| "the old unit".to_owned());
            (Deed::HandedIn, format!("{unit} handed in"))
        }
        "returned" => (
            Deed::DepositBack,
            format!("deposit of {} paid back", amount.as_deref().unwrap_or("?")),
        ),
        "kept" => (
            Deed::DepositKept,
            format!(
                "deposit of {} given up, the old unit stays",
                amount.as_deref().unwrap_or("?")
            ),
        ),
        _ => return,
    };
    teller.tell(deed, about, says, Some(day), vec![leaf]);
}

/// A price that is another, or is there no longer.
fn changed(teller: &mut Teller<'_>, way: &Way, leaf: &Leaf) {
    let Ok(schema) = schema_of(teller.change.name.kind) else {
        return;
    };
    let money = shape_at(&schema.shapes, teller, way).is_some_and(is_money_shape);
    let Some(was) = leaf.was.as_ref().filter(|_| money) else {
        return;
    };
    let about = teller.about(way);
    let named = label_of(way);
    let says = match &leaf.is {
        Some(is) => {
            let read = |value: &Value| Quantity::parse(value.as_str()?).ok();
            if let (Some(was), Some(is)) = (read(was), read(is))
                && was.same_as(&is)
            {
                // The same sum, written otherwise: no money moved.
                return;
            }
            format!("{named}: {} → {}", shown(was), shown(is))
        }
        None => format!("{named} of {} taken out", shown(was)),
    };
    teller.tell(Deed::PriceChanged, about, says, None, vec![leaf.number]);
}

/// What a new sum is told as.
fn spoken(record: Option<&Value>, way: &Way, text: &str) -> (Deed, String) {
    let from = at(record, &way[..way.len().saturating_sub(1)]);
    let from = from.and_then(|bought| bought.get("from")).map(shown);
    let from = from
        .map(|from| format!(", from {from}"))
        .unwrap_or_default();
    match way.as_slice() {
        [.., Step::Key(deposit), Step::Key(_)] if deposit == "deposit" => {
            (Deed::Paid, format!("deposit of {text}"))
        }
        _ => match label_of(way).as_str() {
            "price" => (Deed::Paid, format!("{text}{from}")),
            named => (Deed::Paid, format!("{named} {text}{from}")),
        },
    }
}

fn label_of(way: &Way) -> String {
    match way.last() {
        Some(Step::Key(key)) => label(key),
        _ => "sum".to_owned(),
    }
}

/// The day that stands beside a sum.
fn day<'a>(record: Option<&'a Value>, way: &Way) -> Option<&'a str> {
    let beside = at(record, &way[..way.len().saturating_sub(1)])?;
    beside.get("when")?.as_str()
}

fn at<'a>(record: Option<&'a Value>, way: &[Step]) -> Option<&'a Value> {
    way.iter().try_fold(record?, |value, step| match step {
        Step::Key(key) => value.get(key),
        Step::Index(number) => value.get(*number),
    })
}

fn shape_at<'a>(shapes: &'a Shapes, teller: &Teller<'_>, way: &Way) -> Option<&'a Shape> {
    let mut route = Route(way.clone());
    if teller.change.name.kind != Kind::Build {
        route.0.insert(0, Step::Key(teller.change.name.id.clone()));
    }
    shapes.at(&route)
}

fn is_money_shape(shape: &Shape) -> bool {
    let Meaning::Figure { dimensions, .. } = &shape.meaning else {
        return false;
    };
    dimensions.iter().any(|one| one == Dimension::Money.name())
}

fn gather(
    shapes: &Shapes,
    shape: &Shape,
    value: &Value,
    way: &mut Way,
    found: &mut Vec<(Way, String)>,
) {
    match value {
        Value::String(text) if is_money_shape(shape) => found.push((way.clone(), text.clone())),
        Value::Object(map) => {
            for (key, value) in map {
                if let Some(inner) = shapes.under(shape, key) {
                    way.push(Step::Key(key.clone()));
                    gather(shapes, inner, value, way, found);
                    way.pop();
                }
            }
        }
        Value::Array(items) => {
            if let Some(inner) = shapes.item(shape) {
                for (number, value) in items.iter().enumerate() {
                    way.push(Step::Index(number));
                    gather(shapes, inner, value, way, found);
                    way.pop();
                }
            }
        }
        _ => {}
    }
}
