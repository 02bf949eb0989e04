//! The index of names: what a reference leads to, and what it might have meant.

use std::cell::{Cell, OnceCell};
use std::collections::BTreeSet;

use crate::folder::Folder;
use crate::model::Kind;
use crate::near::{self, with_article};
use crate::reckon::cavities::Cavities;
use crate::schema::shape::{Target, TraitSide};
use crate::schema::walk::Reference;
use crate::source::Source;
use crate::yaml::{Entry, Node, NodeKind, Step};

/// A reference that leads to nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Missing {
    /// What is missing, in a sentence.
    pub what: String,
    /// The part of the reference that is missing, to find the nearest name by; empty
    /// where nothing was written that a name could be near to.
    pub written: String,
    /// The names that there are.
    pub known: Vec<String>,
    /// What stands before each of them in a whole reference.
    pub before: String,
    /// The kind of record whose id is missing, if it is an id.
    pub kind: Option<Kind>,
    /// What to do if none of them was meant.
    pub otherwise: String,
    /// The record that was found on the way, if the fault lies inside it.
    pub inside: Option<(Kind, String)>,
    /// Whether what is written may be right as it stands.
    pub mild: bool,
}

/// The names of a build folder.
pub struct Names<'a> {
    folder: &'a Folder,
    rules: &'a [&'a str],
    /// How many more names are looked at for the nearest ones. With thousands of
    /// slips at once nobody reads what each might have meant.
    patience: Cell<usize>,
    /// Names that stand at a wrong spot: kind, id, name. Gathered when first asked for.
    strays: OnceCell<BTreeSet<(Kind, &'a str, &'a str)>>,
}

/// Names looked at for the nearest ones in one check.
const PATIENCE: usize = 300_000;

type Lookup = Result<(), Missing>;

impl<'a> Names<'a> {
    /// The names of a folder, with those of the rules.
    #[must_use]
    pub fn new(folder: &'a Folder, rules: &'a [&'a str]) -> Self {
        Self {
            folder,
            rules,
            patience: Cell::new(PATIENCE),
            strays: OnceCell::new(),
        }
    }

    /// Whether a reference leads to something.
    ///
    /// # Errors
    /// What is missing.
    pub fn look_up(&self, reference: &Reference) -> Lookup {
        let text = &*reference.text;
        match &reference.target {
            Target::Donor => self.record(Kind::Donors, text),
            Target::Part => self.record(Kind::Parts, text),
            Target::Fastener => self.record(Kind::Fasteners, text),
            Target::Plug => self.record(Kind::Plugs, text),
            Target::Route => self.record(Kind::Routes, text),
            Target::Circuit => self.record(Kind::Circuits, text),
            Target::Job => self.record(Kind::Jobs, text),
            Target::Batch if text.contains('/') => self.any(text),
            Target::Batch => self.record(Kind::Jobs, text),
            Target::Decision => self.record(Kind::Decisions, text),
            Target::Photo => self.record(Kind::Photos, text),
            Target::Piece => self.piece(text),
            Target::Assembly if text == "car" => Ok(()),
            Target::Assembly => self.record(Kind::Assemblies, text),
            Target::Place => self.place(text),
            Target::Places => self.places_of(text, &reference.own),
            Target::Fit => self.fit(text),
            Target::Spot => self.spot(text),
            Target::End => self.end(text),
            Target::Source => self.listed("sources", "source", text),
            Target::Wrench => self.listed("wrenches", "wrench", text),
            Target::Person => self.person(text),
            Target::Rule => self.rule(text),
            Target::Any => self.any(text),
            Target::Shown => self.shown(text),
            Target::Own(key) => own(key, reference),
            Target::OwnCavity => own_cavity(reference),
            Target::OwnLimit => own_limit(reference),
        }
    }

    fn record(&self, kind: Kind, id: &str) -> Lookup {
        if !self.folder.spots(kind, id).is_empty() || self.folder.may_be_lost(kind, id) {
            return Ok(());
        }
        if let Some((first, _)) = id.split_once('/')
            && !self.folder.spots(kind, first).is_empty()
        {
            return Err(Missing {
                what: format!(
                    "`{id}` names something inside a {}, and only the {} itself belongs here",
                    kind.one(),
                    kind.one()
                ),
                known: vec![first.to_owned()],
                otherwise: String::new(),
                inside: Some((kind, first.to_owned())),
                ..Missing::default()
            });
        }
        let elsewhere = Kind::ALL[1..]
            .iter()
            .find(|other| !self.folder.spots(**other, id).is_empty());
        let but = elsewhere
            .map(|other| {
                format!(
                    ", though there is {} of that name",
                    with_article(other.one())
                )
            })
            .unwrap_or_default();
        Err(Missing {
            what: format!("there is no {} `{id}`{but}", kind.one()),
            written: id.to_owned(),
            known: self.ids(kind),
            kind: Some(kind),
            otherwise: format!("make a record of it in {}/", kind.folder()),
            ..Missing::default()
        })
    }

    /// The ids of a kind, as long as there is patience to look through them.
    fn ids(&self, kind: Kind) -> Vec<String> {
        let ids: Vec<String> = match self.patience.get() {
            0 => return Vec::new(),
            _ => self.folder.ids(kind).map(str::to_owned).collect(),
        };
        self.patience
            .set(self.patience.get().saturating_sub(ids.len()));
        ids
    }

    /// A record's tree, or that it is lost.
    fn inside(&self, kind: Kind, id: &str) -> Result<Option<(&'a Node, &'a Source)>, Missing> {
        self.record(kind, id)?;
        // One that is no map is told as such; what it was meant to hold is lost.
        let node = self.folder.node(kind, id);
        Ok(node.filter(|(node, _)| matches!(node.kind, NodeKind::Map(_))))
    }

    fn piece(&self, text: &str) -> Lookup {
        let Some((part, mark)) = text.split_once('/') else {
            let known = self
                .folder
                .node(Kind::Parts, text)
                .map(|(node, _)| keys(node, "pieces"))
                .unwrap_or_default();
            return Err(Missing {
                what: format!(
                    "`{text}` names no piece: a piece is its part, a slash, and its mark"
                ),
                known,
                before: format!("{text}/"),
                otherwise: "write it as part/mark".to_owned(),
                ..Missing::default()
            });
        };
        let Some((node, _)) = self.inside(Kind::Parts, part)? else {
            return Ok(());
        };
        if spoilt(node, "pieces") || self.strayed(Kind::Parts, part, mark) {
            return Ok(());
        }
        among(Kind::Parts, part, "piece", mark, &keys(node, "pieces"))
    }

    /// The places of an assembly, those for each cylinder spelt out.
    fn places(&self, node: &Node, source: &Source) -> Vec<String> {
        let entries = node.get("places").map_or(&[][..], Node::entries);
        let all = entries
            .iter()
            .flat_map(|entry| self.spelt_out(entry, source));
        all.collect()
    }

    /// One place, or those that it stands for.
    fn spelt_out(&self, entry: &Entry, source: &Source) -> Vec<String> {
        let name = &entry.key.text;
        let numbered = |count| (1..=count).map(|n| format!("{name}-{n}")).collect();
        match entry.value.text_of("each", source) {
            Some("cylinder") => numbered(self.count("cylinders", 16)),
            Some("bank") => numbered(self.count("banks", 4)),
            Some("hand") => vec![format!("{name}-left"), format!("{name}-right")],
            _ => vec![name.to_string()],
        }
    }

    /// The places of an assembly that take a part of this number.
    #[must_use]
    pub fn takers(&self, assembly: &str, number: &str) -> Vec<String> {
        let Some((node, source)) = self.folder.node(Kind::Assemblies, assembly) else {
            return Vec::new();
        };
        let takes = |entry: &&Entry| {
            let takes = entry.value.get("takes").map_or(&[][..], Node::items);
            takes.iter().any(|one| one.text(source) == Some(number))
        };
        let entries = node.get("places").map_or(&[][..], Node::entries);
        let takers = entries.iter().filter(takes);
        takers
            .flat_map(|entry| self.spelt_out(entry, source))
            .collect()
    }

    /// A count that `build.yaml` states; without it any that may be.
    fn count(&self, key: &str, most: usize) -> usize {
        self.folder
            .build()
            .and_then(|(node, source)| node.text_of(key, source)?.parse().ok())
            .unwrap_or(most)
            // A slip in the count must not fill the memory; the schema tells of it.
            .min(most)
    }

    fn place(&self, text: &str) -> Lookup {
        let Some((assembly, place)) = text.split_once('/') else {
            let known = self
                .folder
                .node(Kind::Assemblies, text)
                .map(|(node, source)| self.places(node, source))
                .unwrap_or_default();
            return Err(Missing {
                what: format!(
                    "`{text}` names no place: a place is its assembly, a slash, and its name"
                ),
                otherwise: if known.is_empty() {
                    "write it as assembly/place".to_owned()
                } else {
                    format!("name a place of `{text}`")
                },
                known,
                before: format!("{text}/"),
                ..Missing::default()
            });
        };
        let Some((node, source)) = self.inside(Kind::Assemblies, assembly)? else {
            return Ok(());
        };
        if spoilt(node, "places") || self.strayed(Kind::Assemblies, assembly, place) {
            return Ok(());
        }
        among(
            Kind::Assemblies,
            assembly,
            "place",
            place,
            &self.places(node, source),
        )
    }

    /// A place; a lot may name all the places for each cylinder, bank or hand at once.
    fn places_of(&self, text: &str, count: &[Box<str>]) -> Lookup {
        let missing = match self.place(text) {
            Err(missing) => missing,
            found => return found,
        };
        let found = text.split_once('/').and_then(|(assembly, place)| {
            let (node, source) = self.folder.node(Kind::Assemblies, assembly)?;
            let each = node.get("places")?.get(place)?.text_of("each", source)?;
            Some((place, each))
        });
        let lot = count.first().is_some_and(|count| **count != *"1");
        match found {
            None => Err(missing),
            Some(_) if lot => Ok(()),
            Some((place, each)) => Err(Missing {
                what: format!(
                    "`{text}` is a place for each {each}, and a single piece fills only one of them"
                ),
                written: String::new(),
                known: missing
                    .known
                    .into_iter()
                    .filter(|one| one.starts_with(&format!("{place}-")))
                    .collect(),
                otherwise: "name one of them, or say its `count` if it is a lot".to_owned(),
                ..missing
            }),
        }
    }

    /// That a reference begins with a kind or with `car`, where neither belongs.
    fn misplaced(&self, text: &str, wanted: &str) -> Lookup {
        let (first, rest) = text.split_once('/').unwrap_or((text, ""));
        let is = match Kind::of_folder(first) {
            _ if rest.is_empty() || !self.folder.spots(Kind::Assemblies, first).is_empty() => {
                return Ok(());
            }
            Some(Kind::Assemblies) => {
                return Err(Missing {
                    what: format!("the kind is known here, so `{first}/` is too much"),
                    known: vec![rest.to_owned()],
                    otherwise: String::new(),
                    ..Missing::default()
                });
            }
            Some(kind) => with_article(kind.one()),
            None if first == "car" => "a spot on the car".to_owned(),
            None => return Ok(()),
        };
        Err(Missing {
            what: format!("`{text}` is {is}, and {wanted} belongs here"),
            known: Vec::new(),
            otherwise: format!("name {wanted}"),
            ..Missing::default()
        })
    }

    /// An assembly, or a place, a joint or a hole in one.
    fn fit(&self, text: &str) -> Lookup {
        self.misplaced(text, "an assembly, or a place or joint in one,")?;
        let Some((assembly, inner)) = text.split_once('/') else {
            return self.record(Kind::Assemblies, text);
        };
        let Some((node, source)) = self.inside(Kind::Assemblies, assembly)? else {
            return Ok(());
        };
        let first = inner.split('/').next().unwrap_or_default();
        if spoilt(node, "places")
            || spoilt(node, "joints")
            || self.strayed(Kind::Assemblies, assembly, first)
        {
            return Ok(());
        }
        let mut known = self.places(node, source);
        // All the places for each cylinder at once.
        known.extend(keys(node, "places"));
        for joint in node.get("joints").map_or(&[][..], Node::entries) {
            known.push(joint.key.text.to_string());
            known.extend(under(&joint.key.text, keys(&joint.value, "holes")));
        }
        known.sort();
        known.dedup();
        among(Kind::Assemblies, assembly, "place or joint", inner, &known)
    }

    /// Whether what `build.yaml` lists under a key can't be known.
    fn build_lost(&self, key: &str) -> bool {
        let build = self.folder.build();
        self.folder.may_be_lost(Kind::Build, "")
            || build.is_some_and(|(node, _)| spoilt(node, key))
            || self.strayed(Kind::Build, key, key)
    }

    /// Whether a name is told to stand at a wrong spot of its record: it is known, then,
    /// and only not there. In `build.yaml` a key stands for its record.
    fn strayed(&self, kind: Kind, id: &str, name: &str) -> bool {
        let strays = self.strays.get_or_init(|| {
            let files = self.folder.files.iter();
            let faults = files.flat_map(|file| file.faults.iter().map(|fault| (file.kind, fault)));
            let names = faults.filter_map(|(kind, fault)| match fault.route.0.as_slice() {
                [Step::Key(id), .., Step::Key(name)] => {
                    let id = if kind == Kind::Build { name } else { id };
                    Some((kind, id.as_str(), name.as_str()))
                }
                _ => None,
            });
            names.collect()
        });
        strays.contains(&(kind, id, name))
    }

    fn spots(&self) -> Vec<String> {
        self.folder
            .build()
            .map(|(node, _)| keys(node, "spots"))
            .unwrap_or_default()
    }

    /// Somewhere in the car: a spot that `build.yaml` names, or as [`Names::fit`].
    fn spot(&self, text: &str) -> Lookup {
        let spots = self.spots();
        let lost = self.build_lost("spots");
        let name = text.strip_prefix("car/").unwrap_or(text);
        if text == "car" || lost || spots.iter().any(|spot| spot == name) {
            return Ok(());
        }
        if text.starts_with("car/") {
            return Err(Missing {
                what: format!("`build.yaml` names no spot `{name}` on the car"),
                written: name.to_owned(),
                known: spots,
                before: "car/".to_owned(),
                otherwise: "add it to `spots` in build.yaml".to_owned(),
                ..Missing::default()
            });
        }
        self.misplaced(text, "an assembly, a place or a spot")?;
        if text.contains('/') {
            return self.fit(text);
        }
        self.fit(text).map_err(|_| Missing {
            what: format!("there is no assembly and no spot `{text}`"),
            written: text.to_owned(),
            kind: Some(Kind::Assemblies),
            known: self
                .folder
                .ids(Kind::Assemblies)
                .map(str::to_owned)
                .chain(spots)
                .collect(),
            otherwise: "add it to `spots` in build.yaml, or make an assembly of it".to_owned(),
            ..Missing::default()
        })
    }

    /// Where a wire ends.
    fn end(&self, text: &str) -> Lookup {
        let Some((plug, cavity)) = text.split_once('/') else {
            return self.record(Kind::Plugs, text);
        };
        let Some((node, source)) = self.inside(Kind::Plugs, plug)? else {
            return Ok(());
        };
        self.cavity(plug, node, source, cavity)
    }

    fn cavity(&self, plug: &str, node: &Node, source: &Source, cavity: &str) -> Lookup {
        let kind = node.text_of("kind", source).unwrap_or("plug");
        if matches!(kind, "splice" | "earth" | "post") {
            return Err(Missing {
                what: format!("`{plug}` is {} and has no cavities", with_article(kind)),
                known: vec![plug.to_owned()],
                otherwise: String::new(),
                inside: Some((Kind::Plugs, plug.to_owned())),
                ..Missing::default()
            });
        }
        let Some(written) = node.text_of("cavities", source) else {
            return Ok(());
        };
        // What can't be read is told where it stands.
        if Cavities::parse(written).map_or(true, |all| all.has(cavity)) {
            return Ok(());
        }
        Err(Missing {
            what: format!("the {kind} `{plug}` has no cavity `{cavity}`; it has {written}"),
            known: Vec::new(),
            otherwise: format!("write one of {written}, or mend `cavities` of `{plug}`"),
            inside: Some((Kind::Plugs, plug.to_owned())),
            ..Missing::default()
        })
    }

    /// `build.yaml`, or one of its keys.
    fn of_build(&self, key: &str) -> Lookup {
        let Some((node, _)) = self.folder.build() else {
            return Ok(());
        };
        if key.is_empty() || node.get(key).is_some() {
            return Ok(());
        }
        Err(Missing {
            what: format!("`build.yaml` has no key `{key}`"),
            written: key.to_owned(),
            known: node
                .entries()
                .iter()
                .map(|entry| entry.key.text.to_string())
                .collect(),
            before: "build/".to_owned(),
            otherwise: "name a key that stands in build.yaml".to_owned(),
            ..Missing::default()
        })
    }

    /// Something that `build.yaml` lists under a key.
    fn listed(&self, key: &str, one: &str, text: &str) -> Lookup {
        if self.build_lost(key) {
            return Ok(());
        }
        let known = self
            .folder
            .build()
            .map(|(node, _)| keys(node, key))
            .unwrap_or_default();
        if known.iter().any(|name| name == text) {
            return Ok(());
        }
        Err(Missing {
            what: format!("`build.yaml` lists no {one} `{text}`"),
            written: text.to_owned(),
            known,
            otherwise: format!("add it to `{key}` in build.yaml"),
            ..Missing::default()
        })
    }

    fn person(&self, text: &str) -> Lookup {
        let people = self.folder.model.build.people();
        if people.contains(&text) || self.folder.may_be_lost(Kind::Build, "") {
            return Ok(());
        }
        Err(Missing {
            what: format!("`build.yaml` lists nobody called `{text}`"),
            written: text.to_owned(),
            known: people.iter().map(|name| (*name).to_owned()).collect(),
            otherwise: "add the role to `people` in build.yaml".to_owned(),
            ..Missing::default()
        })
    }

    fn rule(&self, text: &str) -> Lookup {
        if self.rules.contains(&text) {
            return Ok(());
        }
        Err(Missing {
            what: format!("there is no rule `{text}`"),
            written: text.to_owned(),
            known: self.rules.iter().map(|name| (*name).to_owned()).collect(),
            otherwise: "see `matchmark explain` for all rules".to_owned(),
            ..Missing::default()
        })
    }

    /// Any record with its kind in front, and what lies inside it.
    fn any(&self, text: &str) -> Lookup {
        let (first, rest) = text.split_once('/').unwrap_or((text, ""));
        match first {
            "tools" => return self.listed("tools", "tool", rest),
            "wrenches" => return self.listed("wrenches", "wrench", rest),
            "sources" => return self.listed("sources", "source", rest),
            "build" => return self.of_build(rest),
            "car" => return self.spot(text),
            _ => {}
        }
        let Some(kind) = Kind::of_folder(first) else {
            let mut known: Vec<String> = Kind::ALL[1..]
                .iter()
                .map(|kind| format!("{}/{rest}", kind.folder()))
                .collect();
            known.push(format!("tools/{rest}"));
            let holders: Vec<String> = Kind::ALL[1..]
                .iter()
                .filter(|kind| !self.folder.spots(**kind, first).is_empty())
                .map(|kind| format!("{}/{text}", kind.folder()))
                .collect();
            return Err(Missing {
                what: format!("`{text}` does not say which kind of record it is"),
                written: text.to_owned(),
                known: if holders.is_empty() { known } else { holders },
                otherwise: "put the kind in front, as in `parts/injector`".to_owned(),
                ..Missing::default()
            });
        };
        let (id, inner) = match rest.split_once('/') {
            Some((id, inner)) => (id, Some(inner)),
            None => (rest, None),
        };
        let with_kind = |missing: Missing| Missing {
            before: format!("{first}/{}", missing.before),
            ..missing
        };
        let Some((node, source)) = self.inside(kind, id).map_err(with_kind)? else {
            return Ok(());
        };
        let Some(inner) = inner else { return Ok(()) };
        match kind {
            Kind::Parts => among(kind, id, "piece", inner, &keys(node, "pieces")),
            Kind::Assemblies => self.fit(rest),
            Kind::Plugs => self.cavity(id, node, source, inner),
            Kind::Circuits => among(kind, id, "wire", inner, &keys(node, "wires")),
            Kind::Decisions => among(kind, id, "option", inner, &keys(node, "options")),
            _ => Err(Missing {
                what: format!(
                    "nothing inside {} has a name of its own",
                    with_article(kind.one())
                ),
                known: vec![id.to_owned()],
                otherwise: String::new(),
                inside: Some((kind, id.to_owned())),
                ..Missing::default()
            }),
        }
        .map_err(with_kind)
    }

    /// What a picture shows: any record, or a place of an assembly as it is called elsewhere.
    fn shown(&self, text: &str) -> Lookup {
        let first = text.split('/').next().unwrap_or_default();
        let kind = Kind::of_folder(first).is_some()
            || matches!(first, "tools" | "wrenches" | "sources" | "build");
        if kind {
            self.any(text)
        } else {
            self.spot(text)
        }
    }

    /// The traits that something gives, and those that have their words listed.
    #[must_use]
    pub fn traits(&self) -> Vec<String> {
        let mut all: Vec<String> = self
            .folder
            .files
            .iter()
            .flat_map(|file| &file.uses.traits)
            .filter(|use_| use_.side == TraitSide::Gives)
            .map(|use_| use_.name.to_string())
            .collect();
        if let Some((node, _)) = self.folder.build() {
            all.extend(keys(node, "trait-words"));
        }
        all.sort();
        all.dedup();
        all
    }

    /// The words that a trait can have, if they are listed.
    #[must_use]
    pub fn words_of(&self, name: &str) -> Option<Vec<String>> {
        let (node, source) = self.folder.build()?;
        let words = node.get("trait-words")?.get(name)?.items();
        Some(
            words
                .iter()
                .filter_map(|word| word.text(source).map(str::to_owned))
                .collect(),
        )
    }
}

fn own(key: &str, reference: &Reference) -> Lookup {
    if reference.own.contains(&reference.text) {
        return Ok(());
    }
    let one = key.trim_end_matches('s');
    Err(Missing {
        what: format!("there is no {one} `{}` here", reference.text),
        written: reference.text.to_string(),
        known: reference.own.iter().map(ToString::to_string).collect(),
        otherwise: format!("add it to `{key}`"),
        ..Missing::default()
    })
}

/// A cavity, or a run of them, of the plug around it; a plug that lists none has any.
fn own_cavity(reference: &Reference) -> Lookup {
    let Some(written) = reference.own.first() else {
        return Ok(());
    };
    let text = &reference.text;
    let Ok(all) = Cavities::parse(written) else {
        return Ok(());
    };
    if Cavities::parse(text).is_ok_and(|some| all.hold(&some)) {
        return Ok(());
    }
    Err(Missing {
        what: format!("there is no cavity `{text}` here: the plug has {written}"),
        known: Vec::new(),
        otherwise: format!("write one of {written}, or mend `cavities`"),
        ..Missing::default()
    })
}

/// What is measured may be anything; but what is nearly the name of a limit was meant
/// as that, and would not be held against it.
fn own_limit(reference: &Reference) -> Lookup {
    let known: Vec<&str> = reference.own.iter().map(|name| &**name).collect();
    if known.contains(&&*reference.text) {
        return Ok(());
    }
    let Some(near) = near::slip_of(&reference.text, &known) else {
        return Ok(());
    };
    Err(Missing {
        what: format!(
            "no limit is stated for `{}`, though one is for `{near}`",
            reference.text
        ),
        written: reference.text.to_string(),
        known: vec![near.to_owned()],
        otherwise: "call it something less alike".to_owned(),
        mild: true,
        ..Missing::default()
    })
}

fn among(kind: Kind, id: &str, what: &str, name: &str, known: &[String]) -> Lookup {
    if known.iter().any(|one| one == name) {
        return Ok(());
    }
    Err(Missing {
        what: format!("the {} `{id}` has no {what} `{name}`", kind.one()),
        written: name.to_owned(),
        known: known.to_vec(),
        before: format!("{id}/"),
        otherwise: format!("add it to the {}", kind.one()),
        inside: Some((kind, id.to_owned())),
        ..Missing::default()
    })
}

/// Whether a key of names holds something else than a map: the names are lost then.
fn spoilt(node: &Node, key: &str) -> bool {
    node.get(key)
        .is_some_and(|inner| !matches!(inner.kind, NodeKind::Map(_)))
}

fn keys(node: &Node, key: &str) -> Vec<String> {
    node.get(key)
        .map_or(&[][..], Node::entries)
        .iter()
        .map(|entry| entry.key.text.to_string())
        .collect()
}

fn under(id: &str, names: Vec<String>) -> Vec<String> {
    names
        .into_iter()
        .map(|name| format!("{id}/{name}"))
        .collect()
}
