//! What three versions come to, by what they say: the same whatever their layout.

use std::collections::{BTreeMap, BTreeSet};

use serde_json::{Map, Value};

use super::weave::{self, Id};
use super::{Clash, How, Three, Version};
use crate::changes::alike;
use crate::schema::shape::{Shape, Shapes};
use crate::yaml::{Route, Step};

/// Takes out of a value what the others were never given.
pub(super) type Strip<'a> = &'a dyn Fn(&Route, &mut Value);

/// What merging by meaning goes by.
#[derive(Clone, Copy)]
pub(super) struct Meaning<'a> {
    pub(super) shapes: &'a Shapes,
    pub(super) strip: Strip<'a>,
}

/// A value in three versions; none where it is not there.
pub(super) type Values<'a> = Three<Option<&'a Value>>;

impl<'a> Meaning<'a> {
    /// The merged value as each version has it: the same in all three but for what clashes,
    /// and there the version's own.
    pub(super) fn of(
        self,
        way: &Route,
        shape: Option<&Shape>,
        values: Values<'_>,
        clashes: &mut Vec<Clash>,
    ) -> Three<Option<Value>> {
        let none_if_null = |value: Option<&'_ Value>| value.is_none_or(Value::is_null);
        let Three { base, ours, theirs } = values;
        if ours == theirs || theirs == base {
            return Three::all(ours.cloned());
        }
        if ours == base {
            return Three::all(theirs.cloned());
        }
        let clash = |clashes: &mut Vec<Clash>, how: How| {
            clashes.push(Clash {
                way: way.clone(),
                how,
            });
            values.map(Option::<&Value>::cloned)
        };
        match (ours, theirs) {
            (None, _) => clash(
                clashes,
                How::GoneAndChanged {
                    gone: Version::Ours,
                },
            ),
            (Some(ours), None) if base == Some(&self.seen(way, ours)) => Three::all(None),
            (Some(_), None) => clash(
                clashes,
                How::GoneAndChanged {
                    gone: Version::Theirs,
                },
            ),
            (Some(Value::Object(ours)), Some(Value::Object(theirs))) => {
                let nothing = Map::new();
                let base = match base {
                    Some(Value::Object(base)) => base,
                    was if none_if_null(was) && is_keyed(shape) => &nothing,
                    _ => return clash(clashes, new_or_two(way, base, shape, self.shapes)),
                };
                let maps = Three { base, ours, theirs };
                Three::from_maps(self.map(way, shape, maps, clashes))
            }
            (Some(Value::Array(ours)), Some(Value::Array(theirs)))
                if is_set(shape) && (base.is_some_and(Value::is_array) || none_if_null(base)) =>
            {
                let nothing = Vec::new();
                let base = base.and_then(Value::as_array).unwrap_or(&nothing);
                let lists = Three { base, ours, theirs };
                match self.list(way, shape, lists, clashes) {
                    Some(lists) => lists.map(|list| Some(Value::Array(list))),
                    None => clash(clashes, How::TwoValues),
                }
            }
            _ => clash(clashes, new_or_two(way, base, shape, self.shapes)),
        }
    }

    /// A value of ours as the others may have been given it.
    pub(super) fn seen(self, way: &Route, ours: &Value) -> Value {
        let mut seen = ours.clone();
        (self.strip)(way, &mut seen);
        seen
    }

    /// Whether anything stays of a value, if only to clash.
    pub(super) fn lives(self, way: &Route, values: Values<'_>) -> bool {
        match (values.ours, values.theirs) {
            (None, None) => false,
            (None, theirs) => theirs != values.base,
            (Some(ours), None) => values.base != Some(&self.seen(way, ours)),
            (Some(_), Some(_)) => true,
        }
    }

    fn map(
        self,
        way: &Route,
        shape: Option<&Shape>,
        maps: Three<&Map<String, Value>>,
        clashes: &mut Vec<Clash>,
    ) -> Three<Map<String, Value>> {
        let mut merged = Three::<Map<String, Value>>::default();
        let mut keys: BTreeSet<&String> = [maps.base, maps.ours, maps.theirs]
            .into_iter()
            .flat_map(Map::keys)
            .collect();
        let rows = maps.map(|map| map.keys().map(String::as_str).collect());
        let value = |version: Version, key: &str| maps.of(version).get(key).cloned();
        for names in two_names(shape, &rows, value) {
            clashes.push(Clash {
                way: way.then(names.base.as_str()),
                how: How::TwoNames,
            });
            for name in [&names.base, &names.ours, &names.theirs] {
                keys.remove(name);
            }
            let own = names.both(maps, |name, map| {
                Some((name.clone(), map.get(name)?.clone()))
            });
            merged.with(own, |map, entry| map.extend(entry));
        }
        for key in keys {
            let under = shape.and_then(|shape| self.shapes.under(shape, key));
            let values = maps.map(|map| map.get(key));
            let of = self.of(&way.then(key.as_str()), under, values, clashes);
            merged.with(of, |map, value| {
                map.extend(value.map(|value| (key.clone(), value)));
            });
        }
        merged
    }

    /// None where the whole list clashes.
    fn list(
        self,
        way: &Route,
        shape: Option<&Shape>,
        lists: Three<&Vec<Value>>,
        clashes: &mut Vec<Clash>,
    ) -> Option<Three<Vec<Value>>> {
        let rows = self.rows(way, lists.map(Vec::as_slice))?;
        let item = shape.and_then(|shape| self.shapes.item(shape));
        let mut merged = Three::<Vec<Value>>::default();
        let values = |id: &Id| {
            rows.both(lists, |row, list| {
                let at = row.iter().position(|one| one == id)?;
                list.get(at)
            })
        };
        for id in weave::woven(&rows, |id| self.lives(&way.then(number(id)), values(id))) {
            let values = values(&id);
            let of = self.of(&way.then(number(&id)), item, values, clashes);
            merged.with(of, |list, value| list.extend(value));
        }
        Some(merged)
    }

    /// The items of three lists by their names; none where no merging can be done.
    pub(super) fn rows(self, way: &Route, lists: Three<&[Value]>) -> Option<Three<Vec<Id>>> {
        let item = way.then(0);
        let ours = lists.ours.iter().map(|value| self.seen(&item, value));
        let ours: Vec<Value> = ours.collect();
        let rows = weave::items(&Three {
            ours: &ours,
            ..lists
        });
        (!weave::replaced_by_both(&rows)).then_some(rows)
    }
}

/// The step to an item, by what it is called; to find it in a file takes the file.
fn number(id: &Id) -> Step {
    match id {
        Id::Item(number) => Step::Index(*number),
        _ => Step::Index(0),
    }
}

/// What each side gave another name to, a different one: the name that each version has for
/// it.
pub(super) fn two_names(
    shape: Option<&Shape>,
    keys: &Three<Vec<&str>>,
    value: impl Fn(Version, &str) -> Option<Value>,
) -> Vec<Three<String>> {
    if !is_keyed(shape) {
        return Vec::new();
    }
    let only = |version: Version, others: [&Vec<&str>; 2]| -> Vec<String> {
        let others: BTreeSet<&str> = others.into_iter().flatten().copied().collect();
        let own = keys.of(version).iter().filter(|key| !others.contains(*key));
        own.map(|key| (*key).to_owned()).collect()
    };
    let gone = only(Version::Base, [&keys.ours, &keys.theirs]);
    let ours = only(Version::Ours, [&keys.base, &keys.theirs]);
    let theirs = only(Version::Theirs, [&keys.base, &keys.ours]);
    if gone.is_empty() || ours.is_empty() || theirs.is_empty() {
        return Vec::new();
    }
    let with = |version: Version, keys: &[String]| -> Vec<Value> {
        let values = keys.iter().map(|key| value(version, key));
        values.map(Option::unwrap_or_default).collect()
    };
    let was = with(Version::Base, &gone);
    let pairs = |version: Version, keys: &[String]| -> BTreeMap<usize, usize> {
        let is = with(version, keys);
        let was: Vec<(&str, &Value)> = gone.iter().map(String::as_str).zip(&was).collect();
        let is: Vec<(&str, &Value)> = keys.iter().map(String::as_str).zip(&is).collect();
        alike::pairs(&was, &is, |_, _| false).into_iter().collect()
    };
    let (our, their) = (pairs(Version::Ours, &ours), pairs(Version::Theirs, &theirs));
    let both = our.iter().filter_map(|(was, here)| {
        let there = their.get(was)?;
        Some(Three {
            base: gone[*was].clone(),
            ours: ours[*here].clone(),
            theirs: theirs[*there].clone(),
        })
    });
    both.collect()
}

/// Whether the keys of a map are names that people gave.
pub(super) fn is_keyed(shape: Option<&Shape>) -> bool {
    shape.is_some_and(|shape| shape.values.is_some() && shape.keys.is_empty())
}

/// Whether a list is no more than its items.
pub(super) fn is_set(shape: Option<&Shape>) -> bool {
    shape.is_some_and(|shape| shape.items.is_some() && !shape.in_order)
}

/// How two values of one name clash: whether one thing is meant, or two.
pub(super) fn new_or_two(
    way: &Route,
    base: Option<&Value>,
    shape: Option<&Shape>,
    shapes: &Shapes,
) -> How {
    let named = |way: &Route| {
        let (_, above) = way.0.split_last()?;
        let above = shapes.at(&Route(above.to_vec()))?;
        Some(is_keyed(Some(above)))
    };
    let is_thing = shape.is_some_and(|shape| !shape.keys.is_empty());
    if base.is_none() && is_thing && named(way) == Some(true) {
        How::TwoThings
    } else {
        How::TwoValues
    }
}
