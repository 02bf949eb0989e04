//! What three versions of a file must come to when they are merged: worked out of what
//! stands in them and of the numbers of their items, not of their texts. It knows nothing
//! of how the program reads, compares or merges.

use std::collections::BTreeSet;

use serde_json::{Map, Value};

use super::sheet::{Is, Node, Shape, Sheet, numbers};

/// One thing in the three versions: base, ours, theirs.
pub type Three<T> = [T; 3];

/// Somewhere that both sides touched.
#[derive(Debug, Clone)]
pub struct Spot {
    /// The keys to it; an item is called by its number, `#12`.
    pub way: Vec<String>,
    /// Why it can't be merged, or could be held for such.
    pub why: &'static str,
    /// It clashes; else it may, or may not.
    pub must: bool,
    /// More than one value would be right.
    pub open: bool,
}

/// What it comes to.
#[derive(Debug)]
pub struct Verdict {
    /// The values, with what clashes as each version has it.
    pub values: Three<Value>,
    pub spots: Vec<Spot>,
}

/// The text of a value that is the same for all orders that mean the same.
pub fn plain(value: &Value, shape: &Shape) -> String {
    match (value, shape) {
        (Value::Object(map), _) => {
            let mut all: Vec<String> = map
                .iter()
                .map(|(key, value)| {
                    let shape = inside(shape, key).unwrap_or(&Shape::Text);
                    format!("{key:?}: {}", plain(value, shape))
                })
                .collect();
            all.sort();
            format!("{{{}}}", all.join(", "))
        }
        (Value::Array(items), Shape::Items(inner) | Shape::InOrder(inner)) => {
            let mut all: Vec<String> = items.iter().map(|item| plain(item, inner)).collect();
            if matches!(shape, Shape::Items(_)) {
                all.sort();
            }
            format!("[{}]", all.join(", "))
        }
        _ => value.to_string(),
    }
}

pub fn inside(shape: &Shape, key: &str) -> Option<&'static Shape> {
    match shape {
        Shape::Fields(fields) => fields
            .iter()
            .find(|(name, _)| *name == key)
            .map(|one| one.1),
        Shape::Named(_, inner) => Some(inner),
        _ => None,
    }
}

struct Judge<'a> {
    sheets: Three<&'a Sheet>,
    way: Vec<String>,
    spots: Vec<Spot>,
}

pub fn judge(base: &Sheet, ours: &Sheet, theirs: &Sheet) -> Verdict {
    let mut judge = Judge {
        sheets: [base, ours, theirs],
        way: Vec::new(),
        spots: Vec::new(),
    };
    let roots = [Some(&base.root), Some(&ours.root), Some(&theirs.root)];
    let views = judge.inner(roots);
    Verdict {
        values: views.map(Option::unwrap_or_default),
        spots: judge.spots,
    }
}

impl Judge<'_> {
    fn spot(&mut self, why: &'static str, must: bool, open: bool) {
        self.spots.push(Spot {
            way: self.way.clone(),
            why,
            must,
            open,
        });
    }

    /// The comments of a thing: those inside it, and those over or behind it.
    fn comments(&self, version: usize, node: &Node) -> (BTreeSet<u64>, BTreeSet<u64>) {
        let mut bare = node.clone();
        bare.above = Vec::new();
        let inner = self.sheets[version]
            .entry(&bare, node.key.is_empty())
            .join("\n");
        let over = node.above.join("\n");
        (numbers(&inner, 'c'), numbers(&over, 'c'))
    }

    /// One thing: the same key, or the same item.
    fn thing(&mut self, nodes: Three<Option<&Node>>) -> Three<Option<Value>> {
        let values = nodes.map(|node| node.map(Node::value));
        let [base, ours, theirs] = nodes;
        let same = |a: &Node, b: &Node| plain(&a.value(), a.shape) == plain(&b.value(), b.shape);
        let all = |one: Option<Value>| [one.clone(), one.clone(), one];
        match (base, ours, theirs) {
            (None, one, None) | (None, None, one) => all(one.map(Node::value)),
            (_, None, None) => all(None),
            (Some(base), None, Some(left)) | (Some(base), Some(left), None) => {
                let version = if ours.is_some() { 1 } else { 2 };
                let ((was_in, was_over), (is_in, is_over)) =
                    (self.comments(0, base), self.comments(version, left));
                if !same(base, left) {
                    self.spot("gone and changed", true, false);
                    values
                } else if was_in != is_in {
                    self.spot("gone and its comment changed", true, false);
                    values
                } else {
                    if was_over != is_over {
                        self.spot("gone and the comment over it changed", false, true);
                    }
                    all(None)
                }
            }
            (None, Some(ours), Some(theirs)) => {
                if same(ours, theirs) {
                    return all(Some(ours.value()));
                }
                match ours.shape {
                    Shape::Named(..) | Shape::Items(_) => {
                        self.inner([None, Some(ours), Some(theirs)])
                    }
                    Shape::Fields(_) => {
                        self.spot("two things", true, false);
                        values
                    }
                    Shape::Text | Shape::InOrder(_) => {
                        self.spot("two new values", true, false);
                        values
                    }
                }
            }
            (Some(base), Some(ours), Some(theirs)) => match base.shape {
                Shape::Text | Shape::InOrder(_) => {
                    if same(base, ours) || same(ours, theirs) {
                        all(Some(theirs.value()))
                    } else if same(base, theirs) {
                        all(Some(ours.value()))
                    } else {
                        self.spot("two values", true, false);
                        values
                    }
                }
                _ => self.inner([Some(base), Some(ours), Some(theirs)]),
            },
        }
    }

    /// What lies inside a map or a list.
    fn inner(&mut self, nodes: Three<Option<&Node>>) -> Three<Option<Value>> {
        let shape = nodes[1].unwrap().shape;
        let is_map = matches!(nodes[1].unwrap().is, Is::Map(_));
        let insides = nodes.map(|node| node.map_or(&[][..], Node::nodes));
        if is_map {
            let mut keys: Vec<&str> = Vec::new();
            for node in insides.iter().flat_map(|nodes| nodes.iter()) {
                if !keys.contains(&node.key.as_str()) {
                    keys.push(&node.key);
                }
            }
            let mut made: Three<Map<String, Value>> = Default::default();
            for key in keys {
                self.way.push(key.to_owned());
                let one = insides.map(|nodes| nodes.iter().find(|node| node.key == key));
                let views = self.thing(one);
                for (made, view) in made.iter_mut().zip(views) {
                    if let Some(view) = view {
                        made.insert(key.to_owned(), view);
                    }
                }
                self.way.pop();
            }
            if made.iter().any(Map::is_empty) && !self.way.is_empty() {
                self.spot("both took out what was left", false, true);
            }
            return made.map(|map| Some(Value::Object(map)));
        }
        let Shape::Items(of) = shape else {
            unreachable!("lists in order are one value");
        };
        if matches!(of, Shape::Text) {
            return self.texts(insides);
        }
        let mut numbers: Vec<u64> = Vec::new();
        for node in insides.iter().flat_map(|nodes| nodes.iter()) {
            if !numbers.contains(&node.number) {
                numbers.push(node.number);
            }
        }
        let mut made: Three<Vec<Value>> = Default::default();
        let [base, ours, theirs] = insides;
        let has = |nodes: &[Node], number: u64| nodes.iter().any(|node| node.number == number);
        let takes = |side: &[Node]| base.iter().any(|node| !has(side, node.number));
        let adds = |side: &[Node]| side.iter().any(|node| !has(base, node.number));
        let differs = |side: &[Node]| {
            side.len() != base.len()
                || side
                    .iter()
                    .zip(base)
                    .any(|(a, b)| a.number != b.number || a.value() != b.value())
        };
        // Whether one item went and another came, or one became the other, only the numbers tell.
        let is_unclear = (takes(ours) && adds(ours) && differs(theirs))
            || (takes(theirs) && adds(theirs) && differs(ours))
            || (takes(ours) && takes(theirs) && (adds(ours) || adds(theirs)));
        for number in numbers {
            self.way.push(format!("#{number}"));
            let one = insides.map(|nodes| nodes.iter().find(|node| node.number == number));
            let views = self.thing(one);
            let is_new = one[0].is_none();
            for (made, view) in made.iter_mut().zip(views) {
                if let Some(view) = view
                    && !(is_new && made.contains(&view))
                {
                    made.push(view);
                }
            }
            self.way.pop();
        }
        if is_unclear {
            self.spot("an item gone and one come", false, true);
        }
        if made.iter().any(Vec::is_empty) {
            self.spot("both took out what was left", false, true);
        }
        made.map(|items| Some(Value::Array(items)))
    }

    /// Texts are told apart by what they say.
    fn texts(&mut self, insides: Three<&[Node]>) -> Three<Option<Value>> {
        let sets = insides.map(|nodes| {
            let all = nodes.iter().map(|node| node.value().to_string());
            all.collect::<BTreeSet<String>>()
        });
        let [base, ours, theirs] = &sets;
        let (gone_here, gone_there) = (base - ours, base - theirs);
        let (new_here, new_there) = (ours - base, theirs - base);
        let both = &gone_here & &gone_there;
        let list = |set: &BTreeSet<String>| {
            let all = set.iter().map(|text| serde_json::from_str(text).unwrap());
            Some(Value::Array(all.collect()))
        };
        let only_here = &new_here - &new_there;
        let only_there = &new_there - &new_here;
        if !both.is_empty() && !only_here.is_empty() && !only_there.is_empty() {
            let is_plain = gone_here == gone_there
                && both.len() == 1
                && new_here.len() == 1
                && new_there.len() == 1;
            self.spot("one text became two", is_plain, true);
        } else if (!gone_here.is_empty() && !new_here.is_empty() && !gone_there.is_empty())
            || (!gone_there.is_empty() && !new_there.is_empty() && !gone_here.is_empty())
        {
            self.spot("a text gone and one come", false, true);
        }
        let mut made: BTreeSet<String> = base - &gone_here;
        made = &made - &gone_there;
        made.extend(new_here);
        made.extend(new_there);
        if made.is_empty() {
            self.spot("both took out what was left", false, true);
        }
        [list(&made), list(&made), list(&made)]
    }
}
