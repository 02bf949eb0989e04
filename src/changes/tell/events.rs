//! What a map says, taken out key by key, so that what nobody has words for is said too;
//! and what is told alike of pieces, assemblies and joints: what began on a day and ended
//! on another, and what was measured.

use std::collections::BTreeSet;

use serde_json::{Map, Value};

use super::view::View;
use super::words::{said, shown};
use super::{Deed, Teller};

/// A map that words are made of. What is not taken out of it is its rest.
#[derive(Debug)]
pub(super) struct Words<'a> {
    map: Option<&'a Map<String, Value>>,
    /// What stands there instead, if it is no map.
    odd: Option<&'a Value>,
    taken: BTreeSet<&'static str>,
}

impl<'a> Words<'a> {
    /// All that a value says.
    pub(super) fn of(value: Option<&'a Value>) -> Self {
        let map = value.and_then(Value::as_object);
        Self {
            map,
            odd: value.filter(|value| map.is_none() && !value.is_null()),
            taken: BTreeSet::new(),
        }
    }

    fn get(&self, key: &str) -> Option<&'a Value> {
        self.map?.get(key)
    }

    /// Whether it has such a key.
    pub(super) fn has(&self, key: &str) -> bool {
        self.get(key).is_some()
    }

    /// Whether such a text stands there.
    pub(super) fn is(&self, key: &str, text: &str) -> bool {
        self.get(key).and_then(Value::as_str) == Some(text)
    }

    /// Takes a text out; what is no text stays for the rest.
    pub(super) fn text(&mut self, key: &'static str) -> Option<&'a str> {
        let text = self.get(key)?.as_str()?;
        self.taken.insert(key);
        Some(text)
    }

    /// Takes a whole number out.
    pub(super) fn count(&mut self, key: &'static str) -> Option<u64> {
        let count = self.get(key)?.as_u64()?;
        self.taken.insert(key);
        Some(count)
    }

    /// Takes a list of texts out, or a text as a list of one.
    pub(super) fn texts(&mut self, key: &'static str) -> Vec<&'a str> {
        let texts = texts(self.get(key));
        if let Some(texts) = &texts
            && !texts.is_empty()
        {
            self.taken.insert(key);
        }
        texts.unwrap_or_default()
    }

    /// Takes out a flag that is up.
    pub(super) fn flag(&mut self, key: &'static str) -> bool {
        let is_up = self.get(key) == Some(&Value::Bool(true));
        if is_up {
            self.taken.insert(key);
        }
        is_up
    }

    /// Takes a map out.
    pub(super) fn map_under(&mut self, key: &'static str) -> Option<Words<'a>> {
        let map = self.get(key).filter(|value| value.is_object())?;
        self.taken.insert(key);
        Some(Words::of(Some(map)))
    }

    /// The entries of a map.
    pub(super) fn entries(&self, key: &str) -> impl Iterator<Item = (&'a str, &'a Value)> {
        let map = self.get(key).and_then(Value::as_object);
        let entries = map.into_iter().flatten();
        entries.map(|(name, value)| (name.as_str(), value))
    }

    /// Leaves out what is told by itself: a list of maps, or a map of anything.
    pub(super) fn told_apart(&mut self, key: &'static str) {
        let is_told = match self.get(key) {
            Some(Value::Array(items)) => items.iter().all(Value::is_object),
            Some(Value::Object(_)) => true,
            _ => false,
        };
        if is_told {
            self.taken.insert(key);
        }
    }

    /// What was not taken out, each in a few words.
    pub(super) fn rest(&self) -> Vec<String> {
        let all = self.map.into_iter().flatten();
        let left = all.filter(|(key, _)| !self.taken.contains(key.as_str()));
        let mut rest: Vec<String> = left.map(|(key, value)| said(key, value)).collect();
        rest.extend(self.odd.map(shown));
        rest
    }
}

/// A text without its line ends.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The beginning of a sentence, and what else there is to say.
pub(super) fn sentence(lead: impl Into<String>, more: &[String]) -> String {
    let mut said = lead.into();
    for one in more {
        if !said.is_empty() {
            said.push_str("; ");
        }
        said.push_str(one);
    }
    said
}

/// The items of a list that are new.
pub(super) fn new_ones<'a>(view: &View<'a>, key: &str) -> Vec<View<'a>> {
    let mut items = view.items(key);
    items.retain(|item| item.before.is_none() && item.after.is_some_and(Value::is_object));
    items
}

/// A list of texts, or a text as a list of one; none where anything else stands.
pub(super) fn texts(value: Option<&Value>) -> Option<Vec<&str>> {
    match value {
        None => Some(Vec::new()),
        Some(Value::String(text)) => Some(vec![text]),
        Some(Value::Array(items)) => items.iter().map(Value::as_str).collect(),
        Some(_) => None,
    }
}

/// A text before and after; nothing where something else than a text stands.
pub(super) fn text_of<'a>(view: &View<'a>) -> Option<(Option<&'a str>, Option<&'a str>)> {
    let text = |value: Option<&'a Value>| match value {
        None => Some(None),
        Some(value) => value.as_str().map(Some),
    };
    Some((text(view.before)?, text(view.after)?))
}

/// ` for good`, ` for mock-up`; any other word stays for the rest.
pub(super) fn stage(words: &mut Words<'_>) -> &'static str {
    let stage = match words.get("as").and_then(Value::as_str) {
        Some("final") => " for good",
        Some("mock-up") => " for mock-up",
        _ => return "",
    };
    words.taken.insert("as");
    stage
}

/// What began on a day and may have ended on another.
pub(super) struct Spell {
    /// The key of the day it began.
    pub(super) began: &'static str,
    /// The key of the day it ended.
    pub(super) ended: &'static str,
    /// The deed that ended it.
    pub(super) end: Deed,
}

/// What is said of one: the deed that began it, how it is told, and how its end.
pub(super) type Said = (Deed, String, String);

/// Tells of a list what began and what ended. What was struck out is no deed, and told as
/// a field; what was corrected after the fact is left.
pub(super) fn spells<'a>(
    teller: &mut Teller<'_>,
    about: &str,
    items: Vec<View<'a>>,
    spell: &Spell,
    say: impl Fn(&mut Words<'a>) -> Said,
) {
    for item in items {
        if !item.is_map() {
            continue;
        }
        let ended = item.under(spell.ended);
        if item.is_gone() {
            let mut words = Words::of(item.before);
            let (_, begun, _) = say(&mut words);
            let day = words.text(spell.began).map(|day| format!(" of {day}"));
            let lead = format!("entry{} struck out: {begun}", day.unwrap_or_default());
            let says = sentence(lead, &words.rest());
            teller.tell(Deed::Field, about, says, None, item.leaves());
            continue;
        }
        let mut words = Words::of(item.after);
        let (deed, begun, over) = say(&mut words);
        let (began, until) = (words.text(spell.began), words.text(spell.ended));
        let since = began.map(|day| format!(" since {day}"));
        let over = format!("{over}{}", since.unwrap_or_default());
        match item.before {
            None => {
                let (deed, says, when) = match until {
                    Some(until) => (spell.end, over, Some(until)),
                    None => (deed, begun, began),
                };
                let says = sentence(says, &words.rest());
                teller.tell(deed, about, says, when, item.leaves());
            }
            Some(_) if ended.before.is_none() && until.is_some() && teller.is_news(&ended) => {
                // What was written down with the end is told with it.
                let (mut more, mut leaves) = (Vec::new(), ended.leaves());
                for (key, value) in item.after.and_then(Value::as_object).into_iter().flatten() {
                    let one = item.under(key);
                    if key != spell.ended && one.before.is_none() && one.differs() {
                        more.push(said(key, value));
                        leaves.extend(one.leaves());
                    }
                }
                teller.tell(spell.end, about, sentence(over, &more), until, leaves);
            }
            Some(_) if ended.is_gone() && ended.before.is_some_and(Value::is_string) => {
                let day = ended.before.map(shown).unwrap_or_default();
                let says = format!("{begun} after all: that it ended on {day} is struck out");
                teller.tell(Deed::Field, about, says, None, ended.leaves());
            }
            Some(_) => {}
        }
    }
}

/// The last of some readings that was not taken on a later day than this one, in whatever
/// order they were written down.
pub(super) fn earlier<'a>(known: &[&'a Value], reading: &Value) -> Option<&'a Value> {
    fn day(reading: &Value) -> Option<&str> {
        reading.get("when")?.as_str()
    }
    let this = day(reading);
    let is_later = |one: &&Value| day(one).zip(this).is_some_and(|(one, this)| one > this);
    let before = known.iter().filter(|one| !is_later(one));
    before.max_by_key(|one| day(one)).copied()
}

/// Tells what was measured, beside what it was before: the list, the key that names what
/// was measured, and what stands before that name.
pub(super) fn measured(
    teller: &mut Teller<'_>,
    about: &str,
    view: &View<'_>,
    (list, what, lead): (&str, &'static str, &str),
    deed: Deed,
) {
    let old = view.before.and_then(|value| value.get(list));
    let old: Vec<&Value> = old
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .collect();
    for item in new_ones(view, list) {
        let mut words = Words::of(item.after);
        let name = words.text(what).map(one_line).unwrap_or_default();
        let figure = words.text("is").map(one_line);
        let mut says = match &figure {
            Some(figure) if name.is_empty() => format!("{lead}{figure}"),
            Some(figure) => format!("{lead}{name} {figure}"),
            None => format!("{lead}{name}"),
        };
        let brief = figure.is_some().then(|| format!("{about}: {says}"));
        says.push_str(stage(&mut words));
        if what != "at"
            && let Some(at) = words.text("at")
        {
            says.push_str(&format!(" at {at}"));
        }
        if let Some(how) = words.text("how") {
            says.push_str(&format!(" ({})", one_line(how)));
        }
        // What was measured elsewhere on it is no earlier figure of this.
        let spot = item.after.and_then(|one| one.get("between"));
        let of_it = |one: &&&Value| {
            one.get(what).and_then(Value::as_str) == Some(&name) && one.get("between") == spot
        };
        let of_it: Vec<&Value> = old.iter().filter(of_it).copied().collect();
        let last = item.after.and_then(|reading| earlier(&of_it, reading));
        if let Some(was) = last.and_then(|one| one.get("is")).and_then(Value::as_str) {
            says.push_str(&format!(", was {}", one_line(was)));
            if let Some(day) = last.and_then(|one| one.get("when")).and_then(Value::as_str) {
                says.push_str(&format!(" on {day}"));
            }
        }
        let when = words.text("when");
        let says = sentence(says, &words.rest());
        teller.tell(deed, about, says, when, item.leaves());
        teller.briefly(brief.unwrap_or_default());
    }
}

/// Tells fluids and greases filled in and drained.
pub(super) fn fills(teller: &mut Teller<'_>, about: &str, view: &View<'_>) {
    let spell = Spell {
        began: "when",
        ended: "until",
        end: Deed::Drained,
    };
    spells(teller, about, view.items("fills"), &spell, |words| {
        let much = words.text("filled").map(|much| format!(" {much} of"));
        let mut says = "filled".to_owned();
        if let Some(what) = words.text("what") {
            says.push_str(&format!(" with{} {what}", much.unwrap_or_default()));
        } else if let Some(much) = much {
            says.push_str(much.trim_end_matches(" of"));
        }
        if let Some(from) = words.text("from") {
            says.push_str(&format!(" from {from}"));
        }
        let over = format!("drained; was {says}");
        (Deed::Filled, says, over)
    });
}
