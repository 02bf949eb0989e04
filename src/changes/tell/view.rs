//! A record, or something in it, before and after, with what differs: what the words are
//! made of.

use serde_json::Value;

use crate::changes::RecordChange;
use crate::changes::diff::Diff;

/// Something before and after.
#[derive(Debug, Clone, Copy)]
pub struct View<'a> {
    /// What it was; none if it is new.
    pub before: Option<&'a Value>,
    /// What it is; none if it is gone.
    pub after: Option<&'a Value>,
    differs: Differs<'a>,
}

/// How it differs.
#[derive(Debug, Clone, Copy)]
enum Differs<'a> {
    /// Not at all.
    No,
    /// It lies in something that is new or gone, or is another whole: this leaf.
    Whole(usize),
    /// In this.
    In(&'a Diff),
}

/// An entry of a map of names that differs.
#[derive(Debug, Clone)]
pub struct Named<'a> {
    /// Its name; if it is gone, what that was.
    pub name: &'a str,
    /// What its name was, if that is another now, and the leaf that this is.
    pub was: Option<(&'a str, usize)>,
    /// What it holds.
    pub view: View<'a>,
}

impl<'a> View<'a> {
    /// A whole record.
    #[must_use]
    pub fn of(change: &'a RecordChange) -> Self {
        Self {
            before: change.before.as_ref(),
            after: change.after.as_ref(),
            differs: Differs::of(change.diff.as_ref()),
        }
    }

    /// Whether it is new.
    #[must_use]
    pub fn is_new(&self) -> bool {
        self.before.is_none() && self.after.is_some()
    }

    /// Whether it is gone.
    #[must_use]
    pub fn is_gone(&self) -> bool {
        self.before.is_some() && self.after.is_none()
    }

    /// Whether it is new or gone.
    fn is_one_sided(&self) -> bool {
        self.before.is_some() != self.after.is_some()
    }

    /// Whether it is a map on each side that there is.
    #[must_use]
    pub fn is_map(&self) -> bool {
        let sides = self.before.into_iter().chain(self.after);
        sides.fold(true, |all, value| all && value.is_object())
    }

    /// Whether anything differs in it.
    #[must_use]
    pub fn differs(&self) -> bool {
        !matches!(self.differs, Differs::No)
    }

    /// The numbers of the leaves in it.
    #[must_use]
    pub fn leaves(&self) -> Vec<usize> {
        match self.differs {
            Differs::No => Vec::new(),
            Differs::Whole(number) => vec![number],
            Differs::In(diff) => diff.numbers(),
        }
    }

    /// What stands under a key.
    #[must_use]
    pub fn under(&self, key: &str) -> Self {
        let before = self.before.and_then(|value| value.get(key));
        let after = self.after.and_then(|value| value.get(key));
        let differs = match self.differs {
            // What was a map and is a text now has nothing under it to tell apart.
            Differs::Whole(number) if before != after && self.is_one_sided() => {
                Differs::Whole(number)
            }
            Differs::In(diff) => Differs::of(diff.under(key).and_then(|one| one.diff.as_ref())),
            _ => Differs::No,
        };
        Self {
            before,
            after,
            differs,
        }
    }

    /// The entries that differ of the map under a key, by their names.
    #[must_use]
    pub fn entries(&self, key: &str) -> Vec<Named<'a>> {
        let map = self.under(key);
        let entry = |value: Option<&'a Value>, name: &str| value.and_then(|map| map.get(name));
        match map.differs {
            Differs::No => Vec::new(),
            Differs::In(Diff::Map(changed)) => {
                let named = changed.iter().map(|one| {
                    let was = one.was_key.as_deref().zip(one.renaming);
                    Named {
                        name: &one.key,
                        was,
                        view: Self {
                            before: entry(map.before, was.map_or(&one.key, |(was, _)| was)),
                            after: entry(map.after, &one.key),
                            differs: Differs::of(one.diff.as_ref()),
                        },
                    }
                });
                named.collect()
            }
            Differs::Whole(_) | Differs::In(_) if !map.is_one_sided() => Vec::new(),
            Differs::Whole(_) | Differs::In(_) => {
                let leaf = map.leaves();
                let keys = |value: Option<&'a Value>| {
                    let map = value.and_then(Value::as_object);
                    map.into_iter().flat_map(|map| map.keys())
                };
                let old = keys(map.before);
                let new = keys(map.after).filter(|key| entry(map.before, key).is_none());
                let named = old.chain(new).filter_map(|name| {
                    let (before, after) = (entry(map.before, name), entry(map.after, name));
                    (before != after).then_some(Named {
                        name,
                        was: None,
                        view: Self {
                            before,
                            after,
                            differs: Differs::Whole(*leaf.first()?),
                        },
                    })
                });
                named.collect()
            }
        }
    }

    /// The items that differ of the list under a key.
    #[must_use]
    pub fn items(&self, key: &str) -> Vec<Self> {
        let list = self.under(key);
        let item = |value: Option<&'a Value>, number: Option<usize>| value?.get(number?);
        match list.differs {
            Differs::No => Vec::new(),
            Differs::In(Diff::List(items)) => items
                .iter()
                .filter(|one| one.diff.is_some())
                .map(|one| Self {
                    before: item(list.before, one.was),
                    after: item(list.after, one.is),
                    differs: Differs::of(one.diff.as_ref()),
                })
                .collect(),
            Differs::Whole(_) | Differs::In(_) => {
                let Some(leaf) = list.leaves().first().copied() else {
                    return Vec::new();
                };
                // A list in another order has the same items; only the whole differs.
                if !list.is_one_sided() {
                    return Vec::new();
                }
                let all = |value: Option<&'a Value>| value.and_then(Value::as_array);
                let made = |before: Option<&'a Value>, after: Option<&'a Value>| Self {
                    before,
                    after,
                    differs: Differs::Whole(leaf),
                };
                let old = all(list.before).into_iter().flatten();
                let new = all(list.after).into_iter().flatten();
                old.map(|one| made(Some(one), None))
                    .chain(new.map(|one| made(None, Some(one))))
                    .collect()
            }
        }
    }

    /// A text under a key, before.
    #[must_use]
    pub fn was(&self, key: &str) -> Option<&'a str> {
        self.before?.get(key)?.as_str()
    }

    /// A text under a key, after.
    #[must_use]
    pub fn is(&self, key: &str) -> Option<&'a str> {
        self.after?.get(key)?.as_str()
    }
}

impl<'a> Differs<'a> {
    fn of(diff: Option<&'a Diff>) -> Self {
        match diff {
            None => Self::No,
            Some(Diff::Leaf(leaf)) => Self::Whole(leaf.number),
            Some(diff) => Self::In(diff),
        }
    }
}
