//! A file of records as somebody keeps it: what stands in it, and how each thing in it is
//! written. An edit changes the one or the other of one thing; all else stays as it is
//! written, byte for byte. Every value and every comment that is written bears a number of
//! its own, so that it can be looked for.

use std::collections::BTreeSet;

use serde_json::{Map, Value};

use crate::dice::Dice;

// ---------------------------------------------------------------- what may stand where

/// What may stand in a field, as a builder means it. This is our own table: it was
/// written from what the fields mean, not from the schema.
#[derive(Debug)]
pub enum Shape {
    /// A text.
    Text,
    /// A thing with these fields.
    Fields(&'static [(&'static str, &'static Shape)]),
    /// Things by names that somebody gives them.
    Named(&'static [&'static str], &'static Shape),
    /// Any number of things, in no order that means something.
    Items(&'static Shape),
    /// Things whose order says something: one value.
    InOrder(&'static Shape),
}

use Shape::{Fields, InOrder, Items, Named, Text};

static TEXT: Shape = Text;
static TEXTS: Shape = Items(&TEXT);
static ORDER: Shape = InOrder(&TEXT);
static SOURCE: Shape = Fields(&[("in", &TEXT), ("page", &TEXT)]);
static TRAITS: Shape = Named(&["ignition", "fuel-return", "supply"], &TEXT);
static READINGS: Shape = Items(&Fields(&[
    ("what", &TEXT),
    ("is", &TEXT),
    ("when", &TEXT),
    ("at", &TEXT),
    ("how", &TEXT),
    ("by", &TEXT),
    ("between", &ORDER),
]));
static FITTED: Shape = Items(&Fields(&[
    ("as", &TEXT),
    ("when", &TEXT),
    ("until", &TEXT),
    ("by", &TEXT),
    ("at", &TEXT),
    ("note", &TEXT),
]));
static LIMITS: Shape = Named(
    &["flow", "wear", "runout"],
    &Fields(&[
        ("least", &TEXT),
        ("most", &TEXT),
        ("spread", &TEXT),
        ("source", &SOURCE),
    ]),
);
static PART: Shape = Fields(&[
    ("name", &TEXT),
    ("number", &TEXT),
    ("maker", &TEXT),
    (
        "also",
        &Named(
            &["QX-1181", "QX-1182"],
            &Fields(&[("way", &TEXT), ("source", &SOURCE), ("only-with", &TRAITS)]),
        ),
    ),
    ("suits", &TRAITS),
    ("mates", &TEXTS),
    ("limits", &LIMITS),
    (
        "pieces",
        &Named(
            &["P1", "P2", "T3", "H1"],
            &Fields(&[
                ("donor", &TEXT),
                ("condition", &TEXT),
                ("because", &TEXT),
                ("goes", &TEXT),
                ("kept-in", &TEXT),
                ("readings", &READINGS),
                (
                    "treated",
                    &Items(&Fields(&[("what", &TEXT), ("when", &TEXT), ("how", &TEXT)])),
                ),
                ("fitted", &FITTED),
                (
                    "bought",
                    &Fields(&[
                        ("when", &TEXT),
                        ("price", &TEXT),
                        (
                            "deposit",
                            &Fields(&[("amount", &TEXT), ("for", &TEXT), ("back-by", &TEXT)]),
                        ),
                    ]),
                ),
                ("note", &TEXT),
            ]),
        ),
    ),
    ("source", &SOURCE),
    ("note", &TEXT),
]);
static ASSEMBLY: Shape = Fields(&[
    ("name", &TEXT),
    ("in", &TEXT),
    ("after", &TEXTS),
    (
        "places",
        &Named(
            &["head", "block", "sump", "mount"],
            &Fields(&[
                ("takes", &TEXTS),
                ("way-round", &TEXT),
                ("note", &TEXT),
                (
                    "marks",
                    &Items(&Fields(&[
                        ("with", &TEXT),
                        ("how", &TEXT),
                        ("photo", &TEXT),
                    ])),
                ),
            ]),
        ),
    ),
    (
        "joints",
        &Named(
            &["bracket", "cover"],
            &Fields(&[
                ("clamps", &TEXTS),
                ("into", &Fields(&[("material", &TEXT), ("depth", &TEXT)])),
                ("steps", &ORDER),
                ("steps-for-new", &ORDER),
                ("threads", &TEXT),
                ("order", &ORDER),
                ("source", &SOURCE),
                (
                    "holes",
                    &Named(
                        &["front", "top", "rear"],
                        &Fields(&[
                            ("calls-for", &TEXT),
                            ("holds", &TEXT),
                            ("note", &TEXT),
                            (
                                "done",
                                &Items(&Fields(&[
                                    ("as", &TEXT),
                                    ("when", &TEXT),
                                    ("set", &TEXT),
                                    ("by", &TEXT),
                                    ("steps", &ORDER),
                                ])),
                            ),
                        ]),
                    ),
                ),
            ]),
        ),
    ),
    ("mounted", &FITTED),
    (
        "blanks",
        &Items(&Fields(&[
            ("what", &TEXT),
            ("where", &TEXT),
            ("put-in", &TEXT),
        ])),
    ),
    ("limits", &LIMITS),
    ("readings", &READINGS),
    ("note", &TEXT),
]);
static JOB: Shape = Fields(&[
    ("kind", &TEXT),
    ("does", &TEXT),
    ("state", &TEXT),
    ("left-as", &TEXT),
    ("needs", &TEXTS),
    (
        "spent",
        &Items(&Fields(&[("when", &TEXT), ("for", &TEXT), ("by", &TEXT)])),
    ),
    (
        "lines",
        &Items(&Fields(&[
            ("what", &TEXT),
            ("count", &TEXT),
            ("price", &TEXT),
            ("note", &TEXT),
        ])),
    ),
    ("readings", &READINGS),
    ("note", &TEXT),
]);
static CIRCUIT: Shape = Fields(&[
    ("does", &TEXT),
    ("carries", &TEXT),
    ("suits", &TRAITS),
    (
        "wires",
        &Named(
            &["a", "b", "c"],
            &Fields(&[
                ("from", &TEXT),
                ("to", &TEXT),
                ("along", &ORDER),
                ("size", &TEXT),
                ("colour", &TEXT),
                ("state", &TEXT),
            ]),
        ),
    ),
    ("note", &TEXT),
]);
static ROUTE: Shape = Fields(&[
    ("from", &TEXT),
    ("to", &TEXT),
    ("length", &TEXT),
    (
        "through",
        &InOrder(&Fields(&[
            ("hole", &TEXT),
            ("diameter", &TEXT),
            ("grommet", &TEXT),
        ])),
    ),
    (
        "near",
        &Items(&Fields(&[("what", &TEXT), ("gap", &TEXT), ("note", &TEXT)])),
    ),
    ("note", &TEXT),
]);
static CLEARANCE: Shape = Fields(&[
    ("between", &ORDER),
    ("least", &TEXT),
    ("with", &TEXTS),
    (
        "readings",
        &Items(&Fields(&[("is", &TEXT), ("when", &TEXT), ("how", &TEXT)])),
    ),
    ("note", &TEXT),
]);
static BUILD: Shape = Fields(&[
    ("name", &TEXT),
    (
        "car",
        &Fields(&[
            ("maker", &TEXT),
            ("model", &TEXT),
            ("chassis-number", &TEXT),
            ("note", &TEXT),
        ]),
    ),
    ("gives", &TRAITS),
    ("firing-order", &ORDER),
    (
        "sources",
        &Named(
            &["pell-16", "wren-book"],
            &Fields(&[("title", &TEXT), ("edition", &TEXT), ("covers", &TRAITS)]),
        ),
    ),
    (
        "tools",
        &Named(
            &["tap-m10", "gauge"],
            &Fields(&[("state", &TEXT), ("note", &TEXT)]),
        ),
    ),
    ("spots", &Named(&["rail", "bulkhead"], &TEXT)),
    ("people", &TEXTS),
    ("private", &TEXTS),
    ("note", &TEXT),
]);

const IDS: &[&str] = &["pump", "head", "crank", "bay-run", "unit-b", "sensor-5v"];

static FILES: [(&str, Shape); 7] = [
    ("parts/all.yaml", Named(IDS, &PART)),
    ("assemblies/all.yaml", Named(IDS, &ASSEMBLY)),
    ("jobs/all.yaml", Named(IDS, &JOB)),
    ("circuits/all.yaml", Named(IDS, &CIRCUIT)),
    ("routes/all.yaml", Named(IDS, &ROUTE)),
    ("clearances/all.yaml", Named(IDS, &CLEARANCE)),
    ("build.yaml", Fields(&[])),
];

/// Every field that one of our shapes gives an order that says something, as the way of
/// keys to it; `*` stands for a name or an item.
pub fn ordered_fields() -> BTreeSet<(&'static str, String)> {
    fn walk(shape: &Shape, way: &str, found: &mut impl FnMut(String)) {
        match shape {
            Text => {}
            Fields(fields) => {
                for (key, inner) in *fields {
                    walk(inner, &format!("{way}/{key}"), found);
                }
            }
            Named(_, inner) | Items(inner) => walk(inner, &format!("{way}/*"), found),
            InOrder(inner) => {
                found(way.to_owned());
                walk(inner, &format!("{way}/*"), found);
            }
        }
    }
    let mut all = BTreeSet::new();
    for (path, shape) in files() {
        walk(shape, "", &mut |way| {
            all.insert((path, way));
        });
    }
    all
}

/// Every list that our shapes know, likewise.
pub fn list_fields() -> BTreeSet<(&'static str, String)> {
    fn walk(shape: &Shape, way: &str, found: &mut impl FnMut(String)) {
        match shape {
            Text => {}
            Fields(fields) => {
                for (key, inner) in *fields {
                    walk(inner, &format!("{way}/{key}"), found);
                }
            }
            Named(_, inner) => walk(inner, &format!("{way}/*"), found),
            Items(inner) | InOrder(inner) => {
                found(way.to_owned());
                walk(inner, &format!("{way}/*"), found);
            }
        }
    }
    let mut all = BTreeSet::new();
    for (path, shape) in files() {
        walk(shape, "", &mut |way| {
            all.insert((path, way));
        });
    }
    all
}

fn files() -> impl Iterator<Item = (&'static str, &'static Shape)> {
    FILES.iter().map(|(path, shape)| {
        let shape = if *path == "build.yaml" { &BUILD } else { shape };
        (*path, shape)
    })
}

// ---------------------------------------------------------------- what stands in a file

/// How a text is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    Plain,
    Single,
    Double,
    Literal,
}

/// What stands at a key or as an item.
#[derive(Debug, Clone)]
pub enum Is {
    Text(String, Style),
    Map(Vec<Node>),
    List(Vec<Node>),
}

/// One thing, and how it is written.
#[derive(Debug, Clone)]
pub struct Node {
    /// Tells items of a list apart, whatever becomes of them.
    pub number: u64,
    /// Empty for an item.
    pub key: String,
    pub shape: &'static Shape,
    /// Comments and empty lines over it.
    pub above: Vec<String>,
    /// A comment behind it.
    pub behind: Option<String>,
    pub is: Is,
    /// In one line, between brackets.
    pub flow: bool,
    /// Between brackets: whether it begins a line of its own.
    pub breaks: bool,
}

/// A file.
#[derive(Debug, Clone)]
pub struct Sheet {
    pub path: &'static str,
    pub root: Node,
    pub head: Vec<String>,
    pub foot: Vec<String>,
    pub indent: usize,
    pub dashes_set_in: bool,
    pub crlf: bool,
    pub mark: bool,
    pub ends: bool,
}

/// Numbers what is written.
pub struct Pen {
    pub dice: Dice,
    next: u64,
}

impl Pen {
    pub fn new(seed: u64) -> Self {
        let mut dice = Dice(0x9E37_79B9_7F4A_7C15 ^ ((seed + 1) << 20));
        (0..8).for_each(|_| {
            dice.below(2);
        });
        Self { dice, next: 1 }
    }

    fn number(&mut self) -> u64 {
        self.next += 1;
        self.next
    }

    fn comment(&mut self) -> String {
        let number = self.number();
        let words = [
            "as it came off",
            "see {the book}: page 3",
            "[sic] 'quoted\"",
            "- no item",
        ];
        format!("# {} c{number}c", words[self.dice.below(words.len())])
    }

    fn text(&mut self, key: &str) -> (String, Style) {
        let number = self.number();
        match (key, self.dice.below(3)) {
            ("when" | "until" | "put-in", 0 | 1) => {
                let day = format!("2026-03-{:02}", 1 + self.dice.below(28));
                return (day, Style::Plain);
            }
            ("as", _) => {
                let words = ["mock-up", "final"];
                return (words[self.dice.below(2)].to_owned(), Style::Plain);
            }
            ("by", _) => {
                let words = ["builder", "helper"];
                return (words[self.dice.below(2)].to_owned(), Style::Plain);
            }
            _ => {}
        }
        match self.dice.below(12) {
            0 => (format!("it's \"v{number}v\": so, {{no}}"), Style::Double),
            1 => (format!("0{number} # v{number}v [x]"), Style::Single),
            2 => (format!("größer v{number}v"), Style::Plain),
            3 if key == "note" || key == "because" => (
                format!("first v{number}v\n\n# second: line\n  set in\n"),
                Style::Literal,
            ),
            4 => (format!("engine/v{number}v"), Style::Plain),
            5 => (format!("as found on the bench v{number}v"), Style::Single),
            _ => (format!("{number} mm v{number}v"), Style::Plain),
        }
    }

    fn some(&mut self, key: &str, shape: &'static Shape, rich: usize) -> Node {
        let number = self.number();
        let is = match shape {
            Text => {
                let (text, style) = self.text(key);
                Is::Text(text, style)
            }
            Fields(fields) => {
                let mut nodes = Vec::new();
                for (place, (key, inner)) in fields.iter().enumerate() {
                    if place == 0 || self.dice.below(100) < rich {
                        nodes.push(self.some(key, inner, rich));
                    }
                }
                Is::Map(nodes)
            }
            Named(names, inner) => {
                let mut nodes: Vec<Node> = Vec::new();
                for _ in 0..=self.dice.below(3) {
                    let key = names[self.dice.below(names.len())];
                    if nodes.iter().all(|node| node.key != key) {
                        nodes.push(self.some(key, inner, rich));
                    }
                }
                Is::Map(nodes)
            }
            Items(inner) | InOrder(inner) => {
                let mut nodes = Vec::new();
                for _ in 0..=self.dice.below(3) {
                    self.add_item(&mut nodes, inner, rich);
                }
                Is::List(nodes)
            }
        };
        let is_small = matches!(shape, InOrder(_)) || key.is_empty() || key == "source";
        Node {
            number,
            key: key.to_owned(),
            shape,
            above: Vec::new(),
            behind: None,
            is,
            flow: self.dice.below(100) < if is_small { 70 } else { 25 },
            breaks: self.dice.below(6) == 0,
        }
    }

    /// An item more at the end, like none that is there.
    fn add_item(&mut self, nodes: &mut Vec<Node>, inner: &'static Shape, rich: usize) {
        let item = self.some("", inner, rich.max(40));
        if nodes.iter().all(|node| node.value() != item.value()) {
            nodes.push(item);
        }
    }

    /// A file in somebody's hand.
    pub fn sheet(&mut self) -> Sheet {
        let all: Vec<_> = files().collect();
        let (path, shape) = all[self.dice.below(all.len())];
        let rich = [20, 35, 50][self.dice.below(3)];
        let mut root = self.some("", shape, rich);
        root.flow = false;
        if let (Named(names, inner), Is::Map(nodes)) = (shape, &mut root.is) {
            for _ in 0..self.dice.below(5) {
                let key = names[self.dice.below(names.len())];
                if nodes.iter().all(|node| node.key != key) {
                    nodes.push(self.some(key, inner, rich));
                }
            }
        }
        let mut sheet = Sheet {
            path,
            root,
            head: vec!["# records".to_owned()],
            foot: Vec::new(),
            indent: [2, 2, 4, 3][self.dice.below(4)],
            dashes_set_in: self.dice.below(2) == 0,
            crlf: self.dice.below(8) == 0,
            mark: self.dice.below(12) == 0,
            ends: self.dice.below(8) > 0,
        };
        if self.dice.below(3) == 0 {
            let gaps = self.dice.below(2) == 0;
            let share = [5, 20][self.dice.below(2)];
            self.comments(&mut sheet.root, true, gaps, share);
        }
        sheet
    }

    fn comments(&mut self, node: &mut Node, top: bool, gaps: bool, share: usize) {
        let (nodes, in_item) = match &mut node.is {
            Is::Text(..) => return,
            Is::Map(nodes) => (nodes, node.key.is_empty() && !top),
            Is::List(nodes) => (nodes, false),
        };
        for (place, inner) in nodes.iter_mut().enumerate() {
            if top && gaps && place > 0 {
                inner.above.push(String::new());
            }
            if !in_item && self.dice.below(100) < share {
                let comment = self.comment();
                inner.above.push(comment);
            }
            if self.dice.below(100) < share {
                inner.behind = Some(self.comment());
            }
            self.comments(inner, false, gaps, share);
        }
    }
}

impl Node {
    pub fn value(&self) -> Value {
        match &self.is {
            Is::Text(text, _) => Value::from(text.as_str()),
            Is::Map(nodes) => {
                let all = nodes.iter().map(|node| (node.key.clone(), node.value()));
                Value::Object(all.collect::<Map<_, _>>())
            }
            Is::List(nodes) => Value::Array(nodes.iter().map(Self::value).collect()),
        }
    }

    pub fn nodes(&self) -> &[Self] {
        match &self.is {
            Is::Text(..) => &[],
            Is::Map(nodes) | Is::List(nodes) => nodes,
        }
    }

    pub fn nodes_mut(&mut self) -> Option<&mut Vec<Self>> {
        match &mut self.is {
            Is::Text(..) => None,
            Is::Map(nodes) | Is::List(nodes) => Some(nodes),
        }
    }
}

// ---------------------------------------------------------------- how it is written

fn written(text: &str, style: Style) -> String {
    match style {
        Style::Plain => text.to_owned(),
        Style::Single => format!("'{}'", text.replace('\'', "''")),
        Style::Double | Style::Literal => Value::from(text).to_string(),
    }
}

fn is_flow(node: &Node) -> bool {
    node.flow || node.nodes().is_empty()
}

impl Sheet {
    /// The lines of what stands in a block map or list.
    fn block(&self, node: &Node) -> Vec<String> {
        let mut lines = Vec::new();
        let is_list = matches!(node.is, Is::List(_));
        for inner in node.nodes() {
            lines.extend(self.entry(inner, is_list));
        }
        lines
    }

    /// The lines of one key with its value, or of one item.
    pub fn entry(&self, node: &Node, is_item: bool) -> Vec<String> {
        let mut lines = node.above.clone();
        let behind = match &node.behind {
            Some(comment) => format!("  {comment}"),
            None => String::new(),
        };
        let head = if is_item {
            "-".to_owned()
        } else {
            format!("{}:", node.key)
        };
        let pad = " ".repeat(self.indent);
        match &node.is {
            Is::Text(text, Style::Literal) => {
                lines.push(format!("{head} |{behind}"));
                lines.extend(text.lines().map(|line| set_in(&pad, line)));
            }
            Is::Text(text, style) => {
                lines.push(format!("{head} {}{behind}", written(text, *style)))
            }
            Is::Map(_) if !is_flow(node) && is_item => {
                let inner = self.block(node);
                for (place, line) in inner.iter().enumerate() {
                    lines.push(set_in(if place == 0 { "- " } else { "  " }, line));
                }
            }
            Is::List(_) if !is_flow(node) && is_item => unreachable!("no list lies in a list"),
            Is::Map(_) if !is_flow(node) => {
                lines.push(format!("{head}{behind}"));
                lines.extend(self.block(node).iter().map(|line| set_in(&pad, line)));
            }
            Is::List(_) if !is_flow(node) => {
                lines.push(format!("{head}{behind}"));
                let pad = if self.dashes_set_in { pad.as_str() } else { "" };
                lines.extend(self.block(node).iter().map(|line| set_in(pad, line)));
            }
            _ => {
                let text = format!("{head} {}{behind}", flow(node));
                let mut broken = text.split('\n');
                lines.extend(broken.next().map(str::to_owned));
                lines.extend(broken.map(|line| format!("{pad}{pad}{line}")));
            }
        }
        lines
    }

    pub fn text(&self) -> String {
        let mut lines = self.head.clone();
        if self.root.nodes().is_empty() {
            lines.push("{}".to_owned());
        }
        lines.extend(self.block(&self.root));
        lines.extend(self.foot.clone());
        let mut text = lines.join("\n");
        // The end of a block's last line is a part of it.
        let mut last = &self.root;
        while let Some(inner) = last.nodes().last() {
            last = inner;
        }
        let is_literal = matches!(last.is, Is::Text(_, Style::Literal));
        if self.ends || (is_literal && self.foot.is_empty()) {
            text.push('\n');
        }
        if self.crlf {
            text = text.replace('\n', "\r\n");
        }
        if self.mark {
            text.insert(0, '\u{FEFF}');
        }
        text
    }
}

fn flow(node: &Node) -> String {
    let (open, close) = match &node.is {
        Is::Text(text, style) => return written(text, *style),
        Is::Map(_) => ('{', '}'),
        Is::List(_) => ('[', ']'),
    };
    let mut text = open.to_string();
    let mut comment = None;
    for (place, inner) in node.nodes().iter().enumerate() {
        if place > 0 {
            text.push(',');
            match (inner.breaks, comment) {
                (true, Some(comment)) => text.push_str(&format!("  {comment}\n")),
                (true, None) => text.push('\n'),
                (false, _) => text.push(' '),
            }
        }
        if !inner.key.is_empty() {
            text.push_str(&format!("{}: ", inner.key));
        }
        text.push_str(&flow(inner));
        comment = inner.behind.as_ref();
    }
    text.push(close);
    text
}

fn set_in(pad: &str, line: &str) -> String {
    if line.is_empty() {
        String::new()
    } else {
        format!("{pad}{line}")
    }
}

/// The numbers of values (`v12v`) or comments (`c12c`) in a text.
pub fn numbers(text: &str, sign: char) -> BTreeSet<u64> {
    let parts: Vec<&str> = text.split(sign).collect();
    let inner = parts.iter().skip(1).take(parts.len().saturating_sub(2));
    inner.filter_map(|part| part.parse().ok()).collect()
}

// ---------------------------------------------------------------- edits

/// What people do to a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Deed {
    Change,
    AddField,
    TakeField,
    AddName,
    TakeName,
    Rename,
    AddItem,
    TakeItem,
    Order,
    AddRecord,
    TakeRecord,
    MoveRecord,
    AddComment,
    ChangeComment,
    TakeComment,
    Reflow,
    Reindent,
    Requote,
    Gap,
    LineEnds,
    FinalLine,
    ByteOrderMark,
}

impl Deed {
    /// Whether it changes nothing but how things are written.
    pub fn is_layout(self) -> bool {
        self >= Self::Reflow || self == Self::MoveRecord
    }

    /// Whether it touches comments alone.
    pub fn is_comment(self) -> bool {
        matches!(
            self,
            Self::AddComment | Self::ChangeComment | Self::TakeComment
        )
    }

    fn random(dice: &mut Dice) -> Self {
        match dice.below(100) {
            0..27 => Self::Change,
            27..36 => Self::AddField,
            36..42 => Self::TakeField,
            42..47 => Self::AddName,
            47..50 => Self::TakeName,
            50..52 => Self::Rename,
            52..64 => Self::AddItem,
            64..68 => Self::TakeItem,
            68..72 => Self::Order,
            72..78 => Self::AddRecord,
            78..80 => Self::TakeRecord,
            80..83 => Self::MoveRecord,
            83..88 => Self::AddComment,
            88..90 => Self::ChangeComment,
            90..92 => Self::TakeComment,
            92..94 => Self::Reflow,
            94 => Self::Reindent,
            95 => Self::Requote,
            96 => Self::Gap,
            97 => Self::LineEnds,
            98 => Self::FinalLine,
            _ => Self::ByteOrderMark,
        }
    }
}

/// What was done, and in which record; none for the file as a whole.
pub type Done = (Deed, Option<String>);

type Way = Vec<usize>;

fn ways(node: &Node, at: &mut Way, all: &mut Vec<Way>) {
    for (place, inner) in node.nodes().iter().enumerate() {
        at.push(place);
        all.push(at.clone());
        ways(inner, at, all);
        at.pop();
    }
}

impl Sheet {
    fn at(&mut self, way: &[usize]) -> &mut Node {
        let mut node = &mut self.root;
        for place in way {
            node = &mut node.nodes_mut().unwrap()[*place];
        }
        node
    }

    fn seen(&self, way: &[usize]) -> &Node {
        way.iter()
            .fold(&self.root, |node, place| &node.nodes()[*place])
    }

    /// Whether what lies there is written in lines of its own.
    fn is_block_there(&self, way: &[usize]) -> bool {
        (0..way.len()).all(|end| !is_flow(self.seen(&way[..end])))
    }

    fn is_in_order(&self, way: &[usize]) -> bool {
        (0..way.len()).any(|end| matches!(self.seen(&way[..end]).shape, InOrder(_)))
    }

    fn is_in_item(&self, way: &[usize]) -> bool {
        let (_, above) = way.split_last().unwrap();
        let above = self.seen(above);
        matches!(above.is, Is::Map(_)) && above.key.is_empty() && way.len() > 1
    }

    /// Something in the file that passes; of the record `near` in half of the cases.
    fn some_way(
        &self,
        pen: &mut Pen,
        near: Option<&str>,
        passes: impl Fn(&[usize], &Node) -> bool,
    ) -> Option<Way> {
        let mut all = Vec::new();
        ways(&self.root, &mut Vec::new(), &mut all);
        all.retain(|way| passes(way, self.seen(way)));
        let is_near = |way: &Way| Some(self.root.nodes()[way[0]].key.as_str()) == near;
        if all.iter().any(is_near) && pen.dice.below(4) > 0 {
            all.retain(is_near);
        }
        (!all.is_empty()).then(|| all[pen.dice.below(all.len())].clone())
    }

    /// Whether all items of a list that a way leads through differ still.
    fn items_differ(&self) -> bool {
        fn differ(node: &Node) -> bool {
            let values: Vec<_> = match &node.is {
                Is::List(nodes) => nodes.iter().map(|node| node.value().to_string()).collect(),
                _ => Vec::new(),
            };
            let all: BTreeSet<_> = values.iter().collect();
            all.len() == values.len() && node.nodes().iter().all(differ)
        }
        differ(&self.root)
    }

    /// One edit; none where there is nothing here for it.
    pub fn edit(&mut self, pen: &mut Pen, near: Option<&str>) -> Option<Done> {
        let deed = Deed::random(&mut pen.dice);
        let was = (self.text(), self.root.value());
        let old = self.clone();
        let record = self.does(deed, pen, near);
        let is_sound = self.items_differ()
            && (deed.is_layout() || deed.is_comment() || self.root.value() != was.1);
        if record.is_none() || self.text() == was.0 || !is_sound {
            *self = old;
            return None;
        }
        Some((deed, record?))
    }

    #[allow(clippy::too_many_lines)]
    fn does(&mut self, deed: Deed, pen: &mut Pen, near: Option<&str>) -> Option<Option<String>> {
        let is_named = |sheet: &Self, way: &[usize]| {
            let (_, above) = way.split_last().unwrap();
            matches!(sheet.seen(above).shape, Named(..))
        };
        let is_item = |sheet: &Self, way: &[usize]| {
            let (_, above) = way.split_last().unwrap();
            matches!(sheet.seen(above).shape, Items(_))
        };
        let goes_on = |sheet: &Self, way: &[usize]| {
            let (_, above) = way.split_last().unwrap();
            sheet.seen(above).nodes().len() > 1
        };
        let root_shape = self.root.shape;
        let is_build = matches!(root_shape, Fields(_));
        let way = match deed {
            Deed::Change => {
                let way = self.some_way(pen, near, |way, node| {
                    matches!(node.is, Is::Text(..)) && !self.is_in_order(way)
                })?;
                let key = self.seen(&way).key.clone();
                let (text, style) = pen.text(&key);
                self.at(&way).is = Is::Text(text, style);
                way
            }
            Deed::AddField | Deed::AddName => {
                let way = self.some_way(pen, near, |way, node| {
                    (match node.shape {
                        Fields(_) => deed == Deed::AddField,
                        Named(..) => deed == Deed::AddName,
                        _ => false,
                    }) && !self.is_in_order(way)
                })?;
                let missing: Vec<(&str, &'static Shape)> = {
                    let node = self.seen(&way);
                    let has = |key: &str| node.nodes().iter().any(|inner| inner.key == key);
                    match node.shape {
                        Fields(fields) => fields.iter().copied().filter(|(k, _)| !has(k)).collect(),
                        Named(names, inner) => {
                            let names = names.iter().filter(|name| !has(name));
                            names.map(|name| (*name, *inner)).collect()
                        }
                        _ => Vec::new(),
                    }
                };
                if missing.is_empty() {
                    return None;
                }
                let (key, shape) = missing[pen.dice.below(missing.len())];
                let node = pen.some(key, shape, 30);
                let at_end = pen.dice.below(2) == 0;
                let nodes = self.at(&way).nodes_mut().unwrap();
                let place = if at_end || nodes.is_empty() {
                    nodes.len()
                } else {
                    1 + pen.dice.below(nodes.len())
                };
                nodes.insert(place, node);
                way
            }
            Deed::TakeField | Deed::TakeName | Deed::TakeItem => {
                let way = self.some_way(pen, near, |way, _| {
                    (match deed {
                        Deed::TakeField => !is_named(self, way) && !is_item(self, way),
                        Deed::TakeName => is_named(self, way),
                        _ => is_item(self, way),
                    }) && (way.len() > 1 || is_build)
                        && goes_on(self, way)
                        && !self.is_in_order(way)
                })?;
                let (last, above) = way.split_last().unwrap();
                let place = *last;
                self.at(above).nodes_mut().unwrap().remove(place);
                above.to_vec()
            }
            Deed::Rename => {
                let way =
                    self.some_way(pen, near, |way, _| is_named(self, way) && way.len() > 1)?;
                let (_, above) = way.split_last().unwrap();
                let Named(names, _) = self.seen(above).shape else {
                    return None;
                };
                let name = names[pen.dice.below(names.len())];
                if self.seen(above).nodes().iter().any(|node| node.key == name) {
                    return None;
                }
                name.clone_into(&mut self.at(&way).key);
                way
            }
            Deed::AddItem => {
                let way = self.some_way(pen, near, |_, node| matches!(node.shape, Items(_)))?;
                let Items(inner) = self.seen(&way).shape else {
                    return None;
                };
                let item = pen.some("", inner, 50);
                let at_end = pen.dice.below(4) > 0;
                let nodes = self.at(&way).nodes_mut().unwrap();
                let place = if at_end {
                    nodes.len()
                } else {
                    pen.dice.below(nodes.len() + 1)
                };
                nodes.insert(place, item);
                way
            }
            Deed::Order => {
                let way = self.some_way(pen, near, |_, node| matches!(node.shape, InOrder(_)))?;
                let InOrder(inner) = self.seen(&way).shape else {
                    return None;
                };
                let item = pen.some("", inner, 50);
                let what = pen.dice.below(3);
                let nodes = self.at(&way).nodes_mut().unwrap();
                let place = pen.dice.below(nodes.len());
                match what {
                    0 if nodes.len() > 1 => {
                        nodes.remove(place);
                    }
                    1 if nodes.len() > 1 => nodes.rotate_left(1),
                    _ => nodes.insert(place, item),
                }
                way
            }
            Deed::AddRecord => {
                let Named(names, inner) = root_shape else {
                    return None;
                };
                let key = if pen.dice.below(3) == 0 {
                    names[pen.dice.below(names.len())].to_owned()
                } else {
                    format!("new-{}", pen.number())
                };
                if self.root.nodes().iter().any(|node| node.key == key) {
                    return None;
                }
                let rich = 30;
                let mut node = pen.some(&key, inner, rich);
                if pen.dice.below(2) == 0 {
                    node.above.push(String::new());
                }
                if pen.dice.below(4) == 0 {
                    node.above.push(pen.comment());
                }
                let at_end = pen.dice.below(2) == 0;
                let nodes = self.root.nodes_mut().unwrap();
                let place = if at_end {
                    nodes.len()
                } else {
                    pen.dice.below(nodes.len() + 1)
                };
                nodes.insert(place, node);
                return Some(Some(key));
            }
            Deed::TakeRecord => {
                if is_build || self.root.nodes().len() < 2 {
                    return None;
                }
                let place = pen.dice.below(self.root.nodes().len());
                let node = self.root.nodes_mut().unwrap().remove(place);
                return Some(Some(node.key));
            }
            Deed::MoveRecord => {
                let all = self.root.nodes().len();
                let (from, to) = (pen.dice.below(all), pen.dice.below(all));
                let nodes = self.root.nodes_mut().unwrap();
                let node = nodes.remove(from);
                let key = node.key.clone();
                nodes.insert(to, node);
                return Some(Some(key));
            }
            Deed::AddComment => {
                let is_above = pen.dice.below(2) == 0;
                let way = self.some_way(pen, near, |way, _| {
                    self.is_block_there(way) && !(is_above && self.is_in_item(way))
                })?;
                let comment = pen.comment();
                let node = self.at(&way);
                if is_above {
                    node.above.push(comment);
                } else if node.behind.is_none() {
                    node.behind = Some(comment);
                }
                way
            }
            Deed::ChangeComment | Deed::TakeComment => {
                let way = self.some_way(pen, near, |way, node| {
                    self.is_block_there(way)
                        && (node.behind.is_some() || node.above.iter().any(|line| !line.is_empty()))
                })?;
                let comment = pen.comment();
                let is_change = deed == Deed::ChangeComment;
                let node = self.at(&way);
                if node.behind.is_some() {
                    node.behind = is_change.then_some(comment);
                } else {
                    let at = node.above.iter().position(|line| !line.is_empty())?;
                    if is_change {
                        node.above[at] = comment;
                    } else {
                        node.above.remove(at);
                    }
                }
                way
            }
            Deed::Reflow => {
                let way = self.some_way(pen, near, |way, node| {
                    !matches!(node.is, Is::Text(..)) && way.len() > 1 && self.is_block_there(way)
                })?;
                let node = self.at(&way);
                if node.flow && pen.dice.below(2) == 0 {
                    for inner in node.nodes_mut().unwrap() {
                        inner.breaks = !inner.breaks;
                    }
                } else {
                    node.flow = !node.flow;
                }
                way
            }
            Deed::Reindent => {
                if pen.dice.below(2) == 0 {
                    self.dashes_set_in = !self.dashes_set_in;
                } else {
                    self.indent = if self.indent == 2 { 4 } else { 2 };
                }
                return Some(None);
            }
            Deed::Requote => {
                let way = self.some_way(pen, near, |_, node| {
                    matches!(
                        node.is,
                        Is::Text(_, Style::Plain | Style::Single | Style::Double)
                    )
                })?;
                if let Is::Text(_, style) = &mut self.at(&way).is {
                    *style = match *style {
                        Style::Single => Style::Double,
                        _ => Style::Single,
                    };
                }
                way
            }
            Deed::Gap => {
                let way = self.some_way(pen, near, |way, _| way.len() == 1)?;
                let node = self.at(&way);
                if node.above.first().is_some_and(String::is_empty) {
                    node.above.remove(0);
                } else {
                    node.above.insert(0, String::new());
                }
                way
            }
            Deed::LineEnds => {
                self.crlf = !self.crlf;
                return Some(None);
            }
            Deed::FinalLine => {
                self.ends = !self.ends;
                return Some(None);
            }
            Deed::ByteOrderMark => {
                self.mark = !self.mark;
                return Some(None);
            }
        };
        Some(
            way.first()
                .map(|place| self.root.nodes()[*place].key.clone()),
        )
    }
}
