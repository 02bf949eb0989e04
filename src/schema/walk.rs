//! One walk over a file's tree beside its shape: every reference, figure, trait
//! and every text that YAML changes, each at its own position.

use glob::Pattern;
use serde::{Deserialize, Serialize};

use super::shape::{Meaning, Shape, Shapes, Target, TraitSide};
use crate::reckon::cavities::{Cavities, CavitiesError};
use crate::reckon::day::days;
use crate::reckon::quantity::{Quantity, QuantityError};
use crate::reckon::step::{Step, StepError};
use crate::reckon::thread::{Thread, ThreadError};
use crate::reckon::unit::Dimension;
use crate::source::{Source, Span};
use crate::yaml::traps::{self, ReadAs};
use crate::yaml::{Key, Node, NodeKind, Style, Tree};

/// A reference where it stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reference {
    /// What it leads to.
    pub target: Target,
    /// What is written.
    pub text: Box<str>,
    /// Where.
    pub span: Span,
    /// The number of its record in the file.
    pub entry: usize,
    /// For a name of its own record: the names that there are; for the places of a piece
    /// how many it is, if it says.
    pub own: Vec<Box<str>>,
}

/// A trait where it is stated.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TraitUse {
    /// Given or needed.
    pub side: TraitSide,
    /// The trait.
    pub name: Box<str>,
    /// Where its name stands.
    pub name_span: Span,
    /// Its word.
    pub word: Box<str>,
    /// Where its word stands.
    pub word_span: Span,
}

/// A text that YAML changes, or that stops where nobody meant it to.
#[derive(Debug, Clone)]
pub struct Misread {
    /// Where.
    pub span: Span,
    /// How.
    pub how: Misreading,
}

/// How YAML changes a text.
#[derive(Debug, Clone, PartialEq)]
pub enum Misreading {
    /// A plain text that some reader takes for something else.
    Plain(ReadAs),
    /// A plain key that some reader takes for something else.
    Key(ReadAs),
    /// A word for true or false where one is wanted, but not the one all readers know.
    Truth(bool),
    /// A number where one is wanted, in a form that readers disagree about.
    Number(String),
    /// A text in quotes that are none to YAML, and so belong to it; the text without them.
    Quotes(String),
    /// A text that ends at ` #`.
    Cut {
        /// The whole as it was probably meant.
        whole: String,
        /// What is read as a comment.
        dropped: String,
        /// Whether it is hardly a comment: nothing before the `#` or no space after it.
        surely: bool,
    },
}

/// A figure that can't be used.
#[derive(Debug, Clone)]
pub struct BadFigure {
    /// Where.
    pub span: Span,
    /// What is written.
    pub text: Box<str>,
    /// What is wrong.
    pub why: FigureFault,
}

/// What is wrong with a figure.
#[derive(Debug, Clone, PartialEq)]
pub enum FigureFault {
    /// It can't be read.
    Unread {
        /// Why.
        why: QuantityError,
        /// The dimensions that belong here; empty for any.
        wants: Vec<String>,
    },
    /// The step can't be read.
    Step(StepError),
    /// It has another dimension than belongs here.
    Dimension {
        /// What it has.
        is: Dimension,
        /// What belongs here.
        wants: Vec<String>,
    },
    /// It lies below nothing where that can't be.
    Negative,
    /// The thread can't be read.
    Thread(ThreadError),
    /// The list of cavities can't be read.
    Cavities(CavitiesError),
    /// It lies before or below what it should follow.
    Falls {
        /// Its own key.
        key: String,
        /// The key of what it should follow.
        after: String,
        /// What is written there.
        written: String,
        /// Whether both are days.
        days: bool,
    },
    /// It can't be compared with what it belongs to.
    Unlike {
        /// What it has.
        is: Dimension,
        /// What it belongs to, in words.
        beside: String,
        /// What that has.
        wants: Dimension,
    },
}

/// All that one walk found.
#[derive(Debug, Clone, Default)]
pub struct Uses {
    /// References.
    pub references: Vec<Reference>,
    /// Traits.
    pub traits: Vec<TraitUse>,
    /// Texts that YAML changes.
    pub misread: Vec<Misread>,
    /// Figures that can't be used.
    pub figures: Vec<BadFigure>,
    /// Patterns that can't be read: where.
    pub patterns: Vec<Span>,
}

impl Uses {
    /// Whether a value's form is spoken of already, so that nothing is said twice.
    #[must_use]
    pub fn speaks_of(&self, span: Span) -> bool {
        self.misread.iter().any(|misread| misread.span == span) || self.holds_figure(span)
    }

    /// Whether a span is a bad figure, or a piece of one that a comma has cut.
    #[must_use]
    pub fn holds_figure(&self, span: Span) -> bool {
        self.figures
            .iter()
            .any(|figure| figure.span.start <= span.start && span.end <= figure.span.end)
    }
}

/// Walks over a file.
#[must_use]
pub fn walk(tree: &Tree, source: &Source, shapes: &Shapes, one_record: bool) -> Uses {
    let mut walker = Walker {
        source,
        shapes,
        uses: Uses::default(),
        above: Vec::new(),
        entry: 0,
    };
    let Some(root) = &tree.root else {
        return walker.uses;
    };
    let top = shapes.top();
    for (number, entry) in root.entries().iter().enumerate() {
        walker.entry = if one_record { 0 } else { number };
        walker.key(&entry.key);
        walker.above.push(root);
        if let Some(shape) = shapes.under(top, &entry.key.text) {
            walker.node(&entry.value, shape);
        }
        walker.above.pop();
    }
    walker.uses
}

/// What stands in typographic quotes, if all of a text does.
fn in_other_quotes(text: &str) -> Option<&str> {
    let inner = text.strip_prefix(['“', '”', '„', '‘', '’', '«', '»'])?;
    let inner = inner.strip_suffix(['“', '”', '‘', '’', '«', '»', '"'])?;
    (!inner.is_empty()).then_some(inner)
}

struct Walker<'a> {
    source: &'a Source,
    shapes: &'a Shapes,
    uses: Uses,
    above: Vec<&'a Node>,
    entry: usize,
}

impl<'a> Walker<'a> {
    fn node(&mut self, node: &'a Node, shape: &'a Shape) {
        match &node.kind {
            NodeKind::Map(entries) => {
                self.above.push(node);
                let mut entries = entries.iter().peekable();
                while let Some(entry) = entries.next() {
                    self.key(&entry.key);
                    if let Some(next) = entries.peek()
                        && next.value.span.range().is_empty()
                        && let Some(own) = self.shapes.under(shape, &entry.key.text)
                        && self.decimal_comma(&entry.value, next.key.span, own)
                    {
                        entries.next();
                        continue;
                    }
                    if let Some(target) = &shape.key_meaning {
                        self.reference(target, &entry.key.text, entry.key.span);
                    }
                    if let Some(side) = shape.traits {
                        self.uses.traits.push(TraitUse {
                            side,
                            name: entry.key.text.clone(),
                            name_span: entry.key.span,
                            word: entry.value.text(self.source).unwrap_or_default().into(),
                            word_span: entry.value.span,
                        });
                    }
                    if let Some(shape) = self.shapes.under(shape, &entry.key.text) {
                        self.node(&entry.value, shape);
                    }
                }
                for (first, second) in &shape.rising {
                    let meaning = self.shapes.under(shape, second).map(|shape| &shape.meaning);
                    self.rises(node, first, second, meaning);
                }
                if shape.limited {
                    self.against_limit(node);
                }
                self.above.pop();
            }
            NodeKind::Seq(items) => {
                if let Some(shape) = self.shapes.item(shape) {
                    let mut items = items.iter().peekable();
                    while let Some(item) = items.next() {
                        if let Some(next) = items.peek()
                            && self.decimal_comma(item, next.span, shape)
                        {
                            items.next();
                            continue;
                        }
                        self.node(item, shape);
                    }
                }
            }
            NodeKind::Scalar { style, .. } => {
                let text = node.text(self.source).unwrap_or_default();
                self.scalar(node.span, *style, text, shape);
            }
        }
    }

    fn key(&mut self, key: &Key) {
        if key.style == Style::Plain
            && let Some(read_as) = traps::reads_as(&key.text)
        {
            self.misread(key.span, Misreading::Key(read_as));
        }
    }

    fn misread(&mut self, span: Span, how: Misreading) {
        self.uses.misread.push(Misread { span, how });
    }

    fn scalar(&mut self, span: Span, style: Style, text: &str, shape: &Shape) {
        if style == Style::Plain && self.changed(span, text, shape) {
            return;
        }
        if !shape.wants_text() || text.is_empty() {
            return;
        }
        if style == Style::Plain
            && shape.meaning == Meaning::Text
            && let Some(meant) = in_other_quotes(text)
        {
            self.misread(span, Misreading::Quotes(meant.to_owned()));
        }
        match &shape.meaning {
            Meaning::Reference(target) => self.reference(target, text, span),
            Meaning::Figure {
                dimensions,
                negative,
            } => self.figure(span, text, dimensions, *negative),
            Meaning::Step => self.step(span, text),
            Meaning::Thread => {
                if let Err(error) = Thread::parse(text) {
                    self.bad_figure(span, text, FigureFault::Thread(error));
                }
            }
            Meaning::Cavities => {
                if let Err(error) = Cavities::parse(text) {
                    self.bad_figure(span, text, FigureFault::Cavities(error));
                }
            }
            Meaning::Pattern => {
                if Pattern::new(text).is_err() {
                    self.uses.patterns.push(span);
                }
            }
            Meaning::Text | Meaning::Day | Meaning::RoughDay => {}
        }
    }

    /// Whether YAML changes the text; says so if it does.
    fn changed(&mut self, span: Span, text: &str, shape: &Shape) -> bool {
        if shape.wants_text() {
            if let Some(cut) = self.cut(span, text, shape) {
                self.misread(span, cut);
                return true;
            }
            // A figure without a unit is a figure's fault, and said as such.
            if matches!(
                shape.meaning,
                Meaning::Figure { .. } | Meaning::Step | Meaning::Thread
            ) {
                return false;
            }
        }
        let Some(read_as) = traps::reads_as(text) else {
            return false;
        };
        let wants = |name: &str| shape.types.iter().any(|own| own == name);
        let boolean = wants("boolean") || shape.words.contains(&serde_json::Value::Bool(false));
        let how = match (&read_as, shape) {
            (ReadAs::Date, shape) if matches!(shape.meaning, Meaning::Day | Meaning::RoughDay) => {
                return false;
            }
            // No quotes make a day of a number: its form is the fault.
            (_, shape) if shape.meaning == Meaning::Day => return false,
            (ReadAs::Nothing, _) => return false,
            (ReadAs::Truth(truth), _) if boolean => {
                if traps::agreed(text) {
                    return false;
                }
                Misreading::Truth(*truth)
            }
            (ReadAs::Number(number), _) if wants("integer") || wants("number") => {
                if traps::agreed(text) {
                    return false;
                }
                Misreading::Number(number.clone())
            }
            // Quotes make no known word of it: the words that are say what to do.
            _ if !shape.words.is_empty() && !shape.words.iter().any(|word| word == text) => {
                return false;
            }
            _ if shape.wants_text() => Misreading::Plain(read_as.clone()),
            _ => return false,
        };
        self.misread(span, how);
        true
    }

    /// A plain text with a comment close behind it, which may be the rest of it.
    fn cut(&self, span: Span, text: &str, shape: &Shape) -> Option<Misreading> {
        let rest = &self.source.text[span.range().end..];
        if !rest.starts_with([' ', '\t']) {
            return None;
        }
        let after = rest.trim_start_matches([' ', '\t']);
        let comment = after.strip_prefix('#')?;
        let blanks = rest.len() - after.len();
        let line = after.split(['\n', '\r']).next().unwrap_or_default();
        let line = line.trim_end();
        if text.is_empty() {
            return None;
        }
        let glued = !comment.starts_with([' ', '\t', '\n', '\r', '#']) && !comment.is_empty();
        let (suspect, surely) = match &shape.meaning {
            // What reads as a whole figure was hardly longer.
            Meaning::Figure { .. } => (Quantity::parse(text).is_err(), true),
            Meaning::Step => (Step::parse(text).is_err(), true),
            Meaning::Thread => (Thread::parse(text).is_err(), true),
            Meaning::Text if shape.words.is_empty() => (
                glued || blanks == 1,
                glued || matches!(traps::reads_as(text), Some(ReadAs::Number(_))),
            ),
            _ => return None,
        };
        suspect.then(|| Misreading::Cut {
            whole: format!("{text}{}{line}", &rest[..blanks]),
            dropped: line.to_owned(),
            surely,
        })
    }

    fn figure(&mut self, span: Span, text: &str, dimensions: &[String], negative: bool) {
        match Quantity::parse(text) {
            Err(why) => {
                let wants = dimensions.to_vec();
                self.bad_figure(span, text, FigureFault::Unread { why, wants });
            }
            Ok(quantity) => {
                let is = quantity.dimension();
                if !dimensions.is_empty()
                    && !dimensions
                        .iter()
                        .any(|name| Dimension::from_name(name) == Some(is))
                {
                    let wants = dimensions.to_vec();
                    self.bad_figure(span, text, FigureFault::Dimension { is, wants });
                } else if !negative && quantity.is_negative() {
                    self.bad_figure(span, text, FigureFault::Negative);
                }
            }
        }
    }

    /// Two values of one map whose second may not lie before or below the first.
    fn rises(&mut self, map: &Node, first: &str, second: &str, meaning: Option<&Meaning>) {
        let text = |key: &str| map.text_of(key, self.source);
        let (Some(from), Some(to), Some(value)) = (text(first), text(second), map.get(second))
        else {
            return;
        };
        let falls = |days| FigureFault::Falls {
            key: second.to_owned(),
            after: first.to_owned(),
            written: from.to_owned(),
            days,
        };
        if matches!(meaning, Some(Meaning::Day | Meaning::RoughDay)) {
            if let (Some((earliest, _)), Some((_, latest))) = (days(from), days(to))
                && latest < earliest
            {
                self.bad_figure(value.span, to, falls(true));
            }
            return;
        }
        if let (Ok(low), Ok(high)) = (from.parse::<f64>(), to.parse::<f64>()) {
            if high < low {
                self.bad_figure(value.span, to, falls(false));
            }
            return;
        }
        let (Ok(low), Ok(high)) = (Quantity::parse(from), Quantity::parse(to)) else {
            return;
        };
        if low.dimension() != high.dimension() {
            let fault = FigureFault::Unlike {
                is: high.dimension(),
                beside: format!("`{first}`"),
                wants: low.dimension(),
            };
            self.bad_figure(value.span, to, fault);
        } else if high.high().compare(&low.low()).is_some_and(|o| o.is_lt()) {
            self.bad_figure(value.span, to, falls(false));
        }
    }

    /// A reading beside the limit that is stated for it.
    fn against_limit(&mut self, reading: &Node) {
        let (Some(what), Some(is), Some(value)) = (
            reading.text_of("what", self.source),
            reading.text_of("is", self.source),
            reading.get("is"),
        ) else {
            return;
        };
        let limit = self.above.iter().rev().find_map(|map| map.get("limits"));
        let Some(limit) = limit.and_then(|limits| limits.get(what)) else {
            return;
        };
        let wanted = ["least", "most"]
            .iter()
            .find_map(|key| Quantity::parse(limit.text_of(key, self.source)?).ok());
        if let (Ok(found), Some(wanted)) = (Quantity::parse(is), wanted)
            && found.dimension() != wanted.dimension()
        {
            let fault = FigureFault::Unlike {
                is: found.dimension(),
                beside: format!("the limit of `{what}`"),
                wants: wanted.dimension(),
            };
            self.bad_figure(value.span, is, fault);
        }
    }

    /// `0,5 mm2` in brackets: the comma has cut a figure in two. Says so of the whole.
    fn decimal_comma(&mut self, first: &Node, rest: Span, shape: &Shape) -> bool {
        let whole = Span::new(first.span.range().start..rest.range().end);
        let source = self.source;
        let digits = |span: Span| {
            let text = source.slice(span);
            !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
        };
        let cut = digits(first.span)
            && source.slice(rest).starts_with(|c: char| c.is_ascii_digit())
            && source.text.get(first.span.range().end..rest.range().start) == Some(",");
        if !cut {
            return false;
        }
        let text = source.slice(whole);
        match &shape.meaning {
            Meaning::Figure {
                dimensions,
                negative,
            } => {
                self.figure(whole, text, dimensions, *negative);
            }
            Meaning::Step => self.step(whole, text),
            _ => return false,
        }
        true
    }

    fn step(&mut self, span: Span, text: &str) {
        if let Err(error) = Step::parse(text) {
            self.bad_figure(span, text, FigureFault::Step(error));
        }
    }

    fn bad_figure(&mut self, span: Span, text: &str, why: FigureFault) {
        self.uses.figures.push(BadFigure {
            span,
            text: text.into(),
            why,
        });
    }

    fn reference(&mut self, target: &Target, text: &str, span: Span) {
        let nearest = |key: &str| self.above.iter().rev().find_map(|map| map.get(key));
        let names = |key: &str| -> Vec<Box<str>> {
            let entries = nearest(key).map_or(&[][..], Node::entries).iter();
            entries.map(|entry| entry.key.text.clone()).collect()
        };
        let nearest_text = |key: &str| -> Vec<Box<str>> {
            let mut maps = self.above.iter().rev();
            let text = maps.find_map(|map| map.text_of(key, self.source));
            text.map(Into::into).into_iter().collect()
        };
        let own = match target {
            Target::Own(key) => names(key),
            Target::OwnLimit => names("limits"),
            Target::OwnCavity => nearest_text("cavities"),
            Target::Places => nearest_text("count"),
            _ => Vec::new(),
        };
        self.uses.references.push(Reference {
            target: target.clone(),
            text: text.into(),
            span,
            entry: self.entry,
            own,
        });
    }
}
