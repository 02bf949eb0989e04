//! Parts that were machined together.

use std::collections::BTreeMap;

use super::Place;
use crate::model::Record;
use crate::model::common::Hand;
use crate::model::part::Part;

/// Which parts were machined with which.
#[derive(Debug, Clone, Default)]
pub struct Mates<'a> {
    pairs: BTreeMap<(&'a str, &'a str), (&'a str, usize)>,
}

impl<'a> Mates<'a> {
    /// What the parts say of each other; what one says holds for both.
    #[must_use]
    pub fn of(parts: &'a BTreeMap<String, Record<Part>>) -> Self {
        let mut pairs = BTreeMap::new();
        for (id, part) in parts {
            for (number, mate) in part.data.mates.iter().enumerate() {
                let Some((mate, _)) = parts.get_key_value(mate.as_str()) else {
                    continue;
                };
                let (id, mate) = (id.as_str(), mate.as_str());
                pairs.insert((id, mate), (id, number));
                pairs.entry((mate, id)).or_insert((id, number));
            }
        }
        Self { pairs }
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.pairs.is_empty()
    }

    /// Whether a part has mates.
    #[must_use]
    pub fn has(&self, part: &str) -> bool {
        let mut from = self.pairs.range((part, "")..);
        from.next().is_some_and(|((one, _), _)| *one == part)
    }

    /// The part that says that these two are mates, and the number in its list.
    #[must_use]
    pub fn says(&self, part: &str, other: &str) -> Option<(&'a str, usize)> {
        self.pairs.get(&(part, other)).copied()
    }
}

impl Place<'_> {
    /// Whether pieces in two places may be of one set of mates: neither place says another
    /// side than the other. Among the pieces of one part a cylinder is only a place in the
    /// row.
    #[must_use]
    pub fn may_mate(&self, other: &Self, one_part: bool) -> bool {
        fn differ<T: PartialEq>(a: Option<T>, b: Option<T>) -> bool {
            matches!((a, b), (Some(a), Some(b)) if a != b)
        }
        let cylinders = !one_part && differ(self.cylinder, other.cylinder);
        let hands = differ::<Hand>(self.hand, other.hand);
        !(cylinders || hands || differ(self.bank, other.bank))
    }
}
