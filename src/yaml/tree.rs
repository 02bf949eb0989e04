//! The tree: what a file holds, each thing with its span.

use std::fmt;

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::traps;
use crate::source::{Source, Span};

/// How a text was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Style {
    /// With no quotes.
    Plain,
    /// In single or double quotes.
    Quoted,
    /// As a block after `|` or `>`.
    Block,
}

/// A value and where it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Node {
    /// Where it stands, quotes and brackets included.
    pub span: Span,
    /// What it is.
    pub kind: NodeKind,
}

/// What a value is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum NodeKind {
    /// A text, a number, a word.
    Scalar {
        /// How it was written.
        style: Style,
        /// The text it stands for, where that is not what the span holds.
        cooked: Option<Box<str>>,
    },
    /// A list.
    Seq(Vec<Node>),
    /// A map.
    Map(Vec<Entry>),
}

/// A key with its value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// The key.
    pub key: Key,
    /// The value.
    pub value: Node,
}

/// A key and where it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Key {
    /// Where it stands, quotes included.
    pub span: Span,
    /// The text it stands for.
    pub text: Box<str>,
    /// How it was written.
    pub style: Style,
}

/// A comment, from its `#` to the end of its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Comment {
    /// Where it stands.
    pub span: Span,
}

/// All that one file holds.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tree {
    /// The value at the top; none in an empty file.
    pub root: Option<Node>,
    /// The comments in their order.
    pub comments: Vec<Comment>,
}

/// A step on the way into a tree.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// Into a map, by key.
    Key(String),
    /// Into a list, by number from 0.
    Index(usize),
}

impl From<&str> for Step {
    fn from(key: &str) -> Self {
        Self::Key(key.to_owned())
    }
}

impl From<usize> for Step {
    fn from(index: usize) -> Self {
        Self::Index(index)
    }
}

/// A way into a tree: the steps from the top.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Route(pub Vec<Step>);

impl Route {
    /// A way from a JSON pointer (RFC 6901). A number is a list's index where the
    /// tree has a list there, and a key otherwise, as the RFC has it.
    #[must_use]
    pub fn from_pointer(pointer: &str, tree: &Tree) -> Self {
        let mut steps = Vec::new();
        let mut at = tree.root.as_ref();
        for raw in pointer.split('/').skip(1) {
            let text = raw.replace("~1", "/").replace("~0", "~");
            let step = match (at.map(|node| &node.kind), text.parse::<usize>()) {
                (Some(NodeKind::Seq(_)), Ok(index)) => Step::Index(index),
                _ => Step::Key(text),
            };
            at = at.and_then(|node| node.step(&step));
            steps.push(step);
        }
        Self(steps)
    }

    /// The same way and one step more.
    #[must_use]
    pub fn then(&self, step: impl Into<Step>) -> Self {
        let mut steps = self.0.clone();
        steps.push(step.into());
        Self(steps)
    }

    /// Takes what stands at its end out of a value. Longer and later ways go first
    /// where several are taken out.
    pub fn take_out_of(&self, value: &mut Value) {
        let Some((last, before)) = self.0.split_last() else {
            return;
        };
        let holder = before.iter().try_fold(value, |at, step| match step {
            Step::Key(key) => at.get_mut(key),
            Step::Index(index) => at.get_mut(index),
        });
        match (holder, last) {
            (Some(Value::Object(map)), Step::Key(key)) => {
                map.shift_remove(key);
            }
            (Some(Value::Array(items)), Step::Index(index)) if *index < items.len() => {
                items.remove(*index);
            }
            _ => {}
        }
    }

    /// The first step's key: in a record file, the record's id.
    #[must_use]
    pub fn record_id(&self) -> Option<&str> {
        match self.0.first() {
            Some(Step::Key(id)) => Some(id),
            _ => None,
        }
    }
}

impl fmt::Display for Route {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for step in &self.0 {
            match step {
                Step::Key(key) => write!(f, "/{}", key.replace('~', "~0").replace('/', "~1"))?,
                Step::Index(index) => write!(f, "/{index}")?,
            }
        }
        Ok(())
    }
}

impl Node {
    /// The entries, if it is a map.
    #[must_use]
    pub fn entries(&self) -> &[Entry] {
        match &self.kind {
            NodeKind::Map(entries) => entries,
            _ => &[],
        }
    }

    /// The items, if it is a list.
    #[must_use]
    pub fn items(&self) -> &[Node] {
        match &self.kind {
            NodeKind::Seq(items) => items,
            _ => &[],
        }
    }

    /// The entry of a key; the first one, if the key stands there twice.
    #[must_use]
    pub fn entry(&self, key: &str) -> Option<&Entry> {
        self.entries().iter().find(|entry| &*entry.key.text == key)
    }

    /// The value of a key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Node> {
        self.entry(key).map(|entry| &entry.value)
    }

    /// One step into it.
    #[must_use]
    pub fn step(&self, step: &Step) -> Option<&Node> {
        match step {
            Step::Key(key) => self.get(key),
            Step::Index(index) => self.items().get(*index),
        }
    }

    /// The text, if it is a scalar.
    #[must_use]
    pub fn text<'a>(&'a self, source: &'a Source) -> Option<&'a str> {
        match &self.kind {
            NodeKind::Scalar {
                cooked: Some(text), ..
            } => Some(text),
            NodeKind::Scalar {
                style: Style::Quoted,
                cooked: None,
            } => {
                let inner = self.span.range();
                source.text.get(inner.start + 1..inner.end - 1)
            }
            NodeKind::Scalar { cooked: None, .. } => Some(source.slice(self.span)),
            _ => None,
        }
    }

    /// The text of a child, if it is a scalar.
    #[must_use]
    pub fn text_of<'a>(&'a self, key: &str, source: &'a Source) -> Option<&'a str> {
        self.get(key)?.text(source)
    }

    /// The same as JSON, for the schemas and the typed model.
    ///
    /// A plain scalar becomes a number or `true`/`false` only where every reader
    /// agrees; anything else is text, and `changed-by-yaml` speaks of the rest.
    #[must_use]
    pub fn to_json(&self, source: &Source) -> Value {
        match &self.kind {
            NodeKind::Scalar { style, .. } => {
                let text = self.text(source).unwrap_or_default();
                if *style == Style::Plain {
                    traps::value(text)
                } else {
                    Value::String(text.to_owned())
                }
            }
            NodeKind::Seq(items) => {
                Value::Array(items.iter().map(|item| item.to_json(source)).collect())
            }
            NodeKind::Map(entries) => {
                let mut map = serde_json::Map::with_capacity(entries.len());
                for entry in entries {
                    // Of a key that stands there twice the first counts; `repeated-key` tells.
                    map.entry(&*entry.key.text)
                        .or_insert_with(|| entry.value.to_json(source));
                }
                Value::Object(map)
            }
        }
    }
}

impl Tree {
    /// The value at the end of a way.
    #[must_use]
    pub fn node(&self, route: &Route) -> Option<&Node> {
        route
            .0
            .iter()
            .try_fold(self.root.as_ref()?, |node, step| node.step(step))
    }

    /// The key at the end of a way, if its last step goes into a map.
    #[must_use]
    pub fn key(&self, route: &Route) -> Option<&Key> {
        let (Step::Key(last), before) = route.0.split_last()? else {
            return None;
        };
        let parent = before
            .iter()
            .try_fold(self.root.as_ref()?, |node, step| node.step(step))?;
        parent.entry(last).map(|entry| &entry.key)
    }
}
