//! Words for parts and their pieces: what a piece is found to be, where it is meant to go,
//! when it went on and came off, what was measured on it and done to it.

use serde_json::Value;

use super::events::{
    Spell, Words, fills, measured, new_ones, one_line, sentence, spells, stage, text_of, texts,
};
use super::view::{Named, View};
use super::{Deed, Teller};
use crate::near::spoken;

/// The most places that are named one by one.
const FEW: usize = 4;

/// What is told by itself of a piece, so that a new piece's line leaves it out.
const APART: &[&str] = &["fitted", "readings", "treated", "paired", "fills"];

/// Tells what a part's record has words for.
pub(super) fn tell(teller: &mut Teller<'_>) {
    let view = teller.view();
    if view.is_new() || view.is_gone() {
        let mut words = Words::of(view.after.or(view.before));
        let name = words.text("name").map(one_line);
        let number = words.text("number").map(one_line);
        let maker = words.text("maker").map(one_line);
        let named: Vec<String> = [name, number, maker].into_iter().flatten().collect();
        let lead = match named.is_empty() {
            true => "part".to_owned(),
            false => format!("part: {}", named.join(", ")),
        };
        words.told_apart("pieces");
        let deed = if view.is_new() { Deed::New } else { Deed::Gone };
        let says = sentence(lead, &words.rest());
        teller.tell(
            deed,
            teller.change.name.to_string(),
            says,
            None,
            view.leaves(),
        );
    }
    for piece in view.entries("pieces") {
        self::piece(teller, &piece);
    }
}

fn piece(teller: &mut Teller<'_>, piece: &Named<'_>) {
    let about = format!("{}/{}", teller.id(), piece.name);
    let view = &piece.view;
    if let Some((was, leaf)) = piece.was {
        let says = format!("was marked {was}");
        teller.tell(Deed::Renamed, &about, says, None, vec![leaf]);
    }
    if view.is_new() {
        new_piece(teller, &about, view);
    } else if view.is_gone() {
        let lead = match standing(view.before) {
            Some(on) => format!("struck out; was {on}"),
            None => "struck out".to_owned(),
        };
        let says = sentence(lead, &described(view.before));
        teller.tell(Deed::PieceGone, &about, says, None, view.leaves());
        return;
    } else if !view.is_map() {
        // Something stands there that is no piece: as a whole it is told best.
        return;
    } else {
        condition(teller, &about, view);
        plan(teller, &about, view);
        lies(teller, &about, view);
    }
    events(teller, &about, view);
    measured(
        teller,
        &about,
        view,
        ("readings", "what", ""),
        Deed::Measured,
    );
    treated(teller, &about, view);
    paired(teller, &about, view);
    fills(teller, &about, view);
}

fn new_piece(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    let says = match described(view.after).as_slice() {
        [] => "new here".to_owned(),
        all => format!("new here: {}", all.join("; ")),
    };
    teller.tell(Deed::PieceNew, about, says, None, view.leaves());
}

/// What a piece is, apart from what is told by itself.
fn described(piece: Option<&Value>) -> Vec<String> {
    let mut words = Words::of(piece);
    for key in APART {
        words.told_apart(key);
    }
    let mut first: Vec<String> = Vec::new();
    if let Some(count) = words.count("count") {
        first.push(format!("a lot of {count}"));
    }
    for key in ["condition", "newness", "grade"] {
        first.extend(words.text(key).map(one_line));
    }
    if let Some(donor) = words.text("donor") {
        first.push(format!("from {donor}"));
    }
    let mut all = match first.is_empty() {
        true => Vec::new(),
        false => vec![first.join(", ")],
    };
    all.extend(words.text("because").map(one_line));
    let goes = words.texts("goes");
    if !goes.is_empty() {
        all.push(format!("meant for {}", spoken(&goes, "and")));
    }
    if let Some(kept) = words.text("kept-in") {
        all.push(format!("kept in {}", one_line(kept)));
    }
    all.extend(words.map_under("bought").map(bought));
    all.extend(words.rest());
    all
}

/// How a piece was bought: `bought from Quay Parts for 80 EUR on 2026-03-02`.
fn bought(mut words: Words<'_>) -> String {
    let mut says = "bought".to_owned();
    for (key, word) in [("from", "from"), ("price", "for"), ("when", "on")] {
        if let Some(text) = words.text(key) {
            says.push_str(&format!(" {word} {}", one_line(text)));
        }
    }
    match words.rest() {
        rest if rest.is_empty() => says,
        rest => format!("{says} ({})", rest.join(", ")),
    }
}

/// What a piece is on as, and where, by the last event that still stands.
fn standing(piece: Option<&Value>) -> Option<String> {
    let events = piece?.get("fitted")?.as_array()?;
    let on = |event: &&Value| event.is_object() && event.get("until").is_none();
    let event = events.iter().rev().find(on)?;
    Some(on_where(&mut Words::of(Some(event)), piece))
}

/// `on for good in fuel/injector-1`: what an event says of its piece.
fn on_where(event: &mut Words<'_>, piece: Option<&Value>) -> String {
    let stage = stage(event);
    let place = match event.text("at") {
        Some(at) => vec![at],
        // Without a place it is where the plan says.
        None => texts(piece.and_then(|piece| piece.get("goes"))).unwrap_or_default(),
    };
    let place = match place.as_slice() {
        [] => String::new(),
        few if few.len() <= FEW => format!(" in {}", spoken(few, "and")),
        many => format!(" in {} places", many.len()),
    };
    let of = piece.and_then(|piece| piece.get("count"));
    let count = match (event.count("count"), of.and_then(Value::as_u64)) {
        (Some(count), Some(of)) if count < of => format!("{count} of {of} "),
        (Some(count), _) if count > 1 => format!("{count} "),
        _ => String::new(),
    };
    format!("{count}on{stage}{place}")
}

fn events(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    let spell = Spell {
        began: "when",
        ended: "until",
        end: Deed::TakenOff,
    };
    let (before, after) = (view.before, view.after);
    spells(teller, about, view.items("fitted"), &spell, |event| {
        let is_final = event.is("as", "final");
        let deed = match is_final {
            true => Deed::FittedForGood,
            false => Deed::FittedForMockUp,
        };
        // What came off was where it was meant to go before.
        let piece = match event.has("until") {
            true => before.filter(|piece| piece.get("goes").is_some()).or(after),
            false => after,
        };
        let on = on_where(event, piece);
        let over = format!("off again; was {on}");
        let on = match event.text("way-round") {
            Some(way) => format!("{on}, {}", way_round(way)),
            None => on,
        };
        (deed, on, over)
    });
}

/// What was done about match marks or the way round, as a sentence has it.
fn way_round(word: &str) -> String {
    format!("way round: {}", one_line(word))
}

fn condition(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    let (state, why) = (view.under("condition"), view.under("because"));
    let Some((was, is)) = text_of(&state).filter(|_| teller.is_news(&state)) else {
        return;
    };
    let deed = match (was, is) {
        (_, Some("scrap")) => Deed::Scrapped,
        (None | Some("unchecked" | "repairable"), Some("serviceable")) => Deed::Proven,
        _ => Deed::Judged,
    };
    let mut says = match is {
        Some("serviceable") if deed == Deed::Proven => "proven serviceable".to_owned(),
        Some(is) => one_line(is),
        None => "its condition is struck out".to_owned(),
    };
    let mut leaves = state.leaves();
    let mut reason = (None, None);
    if let Some(texts) = text_of(&why).filter(|_| why.differs()) {
        reason = texts;
        leaves.extend(why.leaves());
    }
    if let Some(because) = reason.1 {
        says.push_str(&format!(": {}", one_line(because)));
    }
    let was = was.map_or("not judged".to_owned(), one_line);
    says.push_str(&format!("; was {was}"));
    if let Some(because) = reason.0 {
        says.push_str(&format!(" ({})", one_line(because)));
    }
    teller.tell(deed, about, says, None, leaves);
}

fn plan(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    let goes = view.under("goes");
    let (Some(was), Some(is)) = (texts(goes.before), texts(goes.after)) else {
        return;
    };
    if !teller.is_news(&goes) {
        return;
    }
    let only = |these: &[&str], those: &[&str]| {
        let only: Vec<String> = these
            .iter()
            .filter(|one| !those.contains(one))
            .map(|one| one_line(one))
            .collect();
        spoken(&only, "and")
    };
    let (new, gone) = (only(&is, &was), only(&was, &is));
    let (deed, says) = match (new.as_str(), gone.as_str()) {
        // Written otherwise, or in another order.
        ("", "") => return,
        (new, "") if was.is_empty() => (Deed::Planned, format!("planned for {new}")),
        (new, "") => (Deed::Planned, format!("planned for {new} as well")),
        ("", gone) => (Deed::PlanDropped, format!("no longer planned for {gone}")),
        (new, gone) => (Deed::Planned, format!("planned for {new}, not for {gone}")),
    };
    teller.tell(deed, about, says, None, goes.leaves());
}

/// Where it lies, and what it is out with.
fn lies(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    for (key, word) in [("kept-in", "in"), ("out-with", "out with")] {
        let one = view.under(key);
        let Some(texts) = text_of(&one).filter(|_| teller.is_news(&one)) else {
            continue;
        };
        let says = match texts {
            (None, Some(is)) => format!("now {word} {}", one_line(is)),
            (Some(was), Some(is)) => {
                let (was, is) = (one_line(was), one_line(is));
                format!("now {word} {is}, was {word} {was}")
            }
            (Some(was), None) => format!("no longer {word} {}", one_line(was)),
            (None, None) => continue,
        };
        teller.tell(Deed::Moved, about, says, None, one.leaves());
    }
}

fn treated(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    for item in new_ones(view, "treated") {
        let mut words = Words::of(item.after);
        // `other` is said by how it was done.
        let what = words.text("what").filter(|what| *what != "other");
        let what = what.map(one_line);
        let how = words.text("how").map(one_line);
        let says = match (what, how) {
            (Some(what), Some(how)) => format!("{what}: {how}"),
            (what, how) => what.or(how).unwrap_or_else(|| "worked on".to_owned()),
        };
        let when = words.text("when");
        let says = sentence(says, &words.rest());
        teller.tell(Deed::Treated, about, says, when, item.leaves());
    }
}

fn paired(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    for item in new_ones(view, "paired") {
        let mut words = Words::of(item.after);
        let mut says = match words.text("with") {
            Some(with) => format!("paired with {with}"),
            None => "paired".to_owned(),
        };
        if let Some(how) = words.text("how") {
            says.push_str(&format!(" ({})", one_line(how)));
        }
        let when = words.text("when");
        let says = sentence(says, &words.rest());
        teller.tell(Deed::Paired, about, says, when, item.leaves());
    }
}
