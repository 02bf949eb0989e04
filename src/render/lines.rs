//! A file's text for git to show: each line that opens something has its full name behind
//! it, so that the head of a hunk can say what the lines below belong to.
//!
//! Git heads a hunk with one line of the text above it and nothing else. A record's id, a
//! piece's mark and a field stand on lines of their own, so the line that is nearest must
//! hold all three. What a line gets hangs on nothing but what it lies in: a record that is
//! added, gone or torn changes no line of another, and a text that differs in one line
//! differs in that line here too. No line is added or taken away.

use std::collections::BTreeMap;

use super::safe::safe;
use crate::folder::name_in;
use crate::model::Kind;
use crate::source::{Source, Span};
use crate::yaml::{self, Entry, Node};

/// What stands before a name.
pub const MARK: &str = "  #: ";

/// The text with names behind its lines.
#[must_use]
pub fn named(kind: Kind, text: &str) -> String {
    let mut whole = String::with_capacity(text.len() + text.len() / 4);
    for record in records(text) {
        let names = Names::of(kind, record);
        for (number, line) in record.split_inclusive('\n').enumerate() {
            let inner = line.trim_end_matches(['\r', '\n']);
            whole.push_str(inner);
            if let Some(name) = names.0.get(&number) {
                whole.push_str(MARK);
                whole.push_str(&safe(name).replace('\n', "\\u{a}"));
            }
            whole.push_str(&line[inner.len()..]);
        }
    }
    whole
}

/// The text in pieces, a record each: one that can't be read leaves the others theirs.
/// What stands before the first record is a piece of its own.
fn records(text: &str) -> Vec<&str> {
    let mut starts = vec![0];
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let first = line.trim_start_matches('\u{FEFF}').chars().next();
        let begins = first.is_some_and(|c| c.is_alphanumeric() || matches!(c, '"' | '\'' | '_'));
        if begins && at > 0 {
            starts.push(at);
        }
        at += line.len();
    }
    let ends = starts[1..].iter().copied().chain([text.len()]);
    let pairs = starts.iter().zip(ends);
    pairs.map(|(start, end)| &text[*start..end]).collect()
}

/// Names by the numbers of their lines.
struct Names(BTreeMap<usize, String>);

/// What a walk through one record carries along.
struct Walk<'a> {
    kind: Kind,
    record: &'a Entry,
    source: &'a Source,
    /// Where each line ends, as git counts them.
    ends: &'a [usize],
    names: &'a mut BTreeMap<usize, String>,
}

impl Names {
    fn of(kind: Kind, text: &str) -> Self {
        let reading = yaml::read(Source::new("", text));
        let mut names = BTreeMap::new();
        if !reading.problems.is_empty() {
            // Its id can mostly be read all the same.
            let id = text.trim_start_matches('\u{FEFF}').split(':').next();
            let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_');
            if let Some(id) = id.filter(|id| !id.is_empty() && id.chars().all(plain)) {
                names.insert(0, format!("{kind}/{id}"));
            }
            return Self(names);
        }
        let source = &reading.source;
        let ends: Vec<usize> = text.match_indices('\n').map(|(at, _)| at).collect();
        for record in reading.tree.root.as_ref().map_or(&[][..], Node::entries) {
            let mut walk = Walk {
                kind,
                record,
                source,
                ends: &ends,
                names: &mut names,
            };
            let name = name_in(kind, record, record.key.span);
            walk.put(record.key.span, name.clone());
            walk.inside(&record.value, &name, "");
        }
        Self(names)
    }
}

impl Walk<'_> {
    fn line(&self, offset: usize) -> usize {
        self.ends.partition_point(|end| *end < offset)
    }

    fn put(&mut self, key: Span, name: String) {
        let line = self.line(key.range().start);
        self.names.insert(line, name);
    }

    /// Names what opens inside a value: where several do on one line, the innermost.
    fn inside(&mut self, value: &Node, name: &str, field: &str) {
        for item in value.items() {
            self.inside(item, name, field);
        }
        for entry in value.entries() {
            let span = entry.value.span;
            let end = span.range().start + self.source.slice(span).trim_end().len();
            if self.line(end) == self.line(entry.key.span.range().start) {
                continue;
            }
            let its = name_in(self.kind, self.record, entry.key.span);
            let field = match field {
                _ if its != name => String::new(),
                "" => entry.key.text.to_string(),
                field => format!("{field}/{}", entry.key.text),
            };
            let shown = match &*field {
                "" => its.clone(),
                field => format!("{its} {field}"),
            };
            self.put(entry.key.span, shown);
            self.inside(&entry.value, &its, &field);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What stands behind the lines, by their numbers from 1.
    fn names(kind: Kind, text: &str) -> Vec<(usize, String)> {
        let shown = named(kind, text);
        assert_eq!(text.matches('\n').count(), shown.matches('\n').count());
        assert_eq!(plain(&shown), text);
        let lines = shown.split('\n').enumerate();
        let named = lines.filter_map(|(number, line)| {
            let (_, name) = line.trim_end_matches('\r').rsplit_once(MARK)?;
            Some((number + 1, name.to_owned()))
        });
        named.collect()
    }

    /// The text without the names again.
    fn plain(shown: &str) -> String {
        let lines = shown.split_inclusive('\n');
        let lines = lines.map(|line| {
            let inner = line.trim_end_matches(['\r', '\n']);
            let end = &line[inner.len()..];
            let inner = inner.rsplit_once(MARK).map_or(inner, |(inner, _)| inner);
            format!("{inner}{end}")
        });
        lines.collect()
    }

    fn expect(kind: Kind, text: &str, names_there: &[(usize, &str)]) {
        let there: Vec<(usize, String)> = names_there
            .iter()
            .map(|(line, name)| (*line, (*name).to_owned()))
            .collect();
        assert_eq!(names(kind, text), there, "{text}");
    }

    const INJECTOR: &str = "# Fuel side\ninjector:\n  name: Injector\n  pieces:\n    # weeps\n    P1:\n      donor: van\n      fitted:\n        - as: mock-up\n          when: 2026-03-01\n    P2: {donor: van}\n\nrail: {name: Rail}\n";

    const THERE: &[(usize, &str)] = &[
        (2, "parts/injector"),
        (4, "parts/injector pieces"),
        (6, "parts/injector/P1"),
        (8, "parts/injector/P1 fitted"),
        (13, "parts/rail"),
    ];

    #[test]
    fn what_opens_has_its_whole_name() {
        expect(Kind::Parts, INJECTOR, THERE);
        expect(
            Kind::Build,
            "name: Wren\ncar:\n  maker: Oriel\nwrenches:\n  small:\n    from: 5 N·m\n",
            &[
                (1, "build/name"),
                (2, "build/car"),
                (4, "build/wrenches"),
                (5, "wrenches/small"),
            ],
        );
    }

    #[test]
    fn line_ends_and_marks_of_the_file_stay() {
        expect(Kind::Parts, &INJECTOR.replace('\n', "\r\n"), THERE);
        expect(Kind::Parts, &format!("\u{FEFF}{INJECTOR}"), THERE);
        expect(Kind::Parts, INJECTOR.trim_end(), THERE);
        expect(Kind::Parts, "", &[]);
        expect(Kind::Parts, "\u{FEFF}rail: {}", &[(1, "parts/rail")]);
    }

    #[test]
    fn of_what_opens_on_one_line_the_innermost_is_named() {
        expect(
            Kind::Assemblies,
            "engine: {in: car, joints: {head: {holes: {\n    front: {calls-for: bolt,\n      done: [\n      {as: final}]}}}}}\n",
            &[
                (1, "assemblies/engine/head holes"),
                (2, "assemblies/engine/head/front"),
                (3, "assemblies/engine/head/front done"),
            ],
        );
        expect(
            Kind::Jobs,
            "order-9:\n  lines:\n    - what: parts/rail\n      note: |\n        left:\n          right\n  note: >-\n    two\n    lines\n",
            &[
                (1, "jobs/order-9"),
                (2, "jobs/order-9 lines"),
                (4, "jobs/order-9 lines/note"),
                (7, "jobs/order-9 note"),
            ],
        );
    }

    #[test]
    fn a_torn_record_leaves_the_others_theirs() {
        let torn = INJECTOR.replace("    P2: {donor: van}", "\t  P2: {donor");
        expect(
            Kind::Parts,
            &torn,
            &[(2, "parts/injector"), (13, "parts/rail")],
        );
        let merged = format!("{INJECTOR}<<<<<<< ours\na: {{}}\n=======\nb: {{}}\n>>>>>>> theirs\n");
        assert!(names(Kind::Parts, &merged).starts_with(&names(Kind::Parts, INJECTOR)[..4]));
        expect(Kind::Parts, "no records here\n", &[]);
        expect(Kind::Parts, "{a: {}, b: {}}\n", &[(1, "parts/b")]);
    }

    #[test]
    fn an_id_that_hides_something_is_shown_as_a_number() {
        let shown = named(Kind::Parts, "\"a\\u001b[2J\\nb\": {}\n");
        assert!(
            shown.ends_with("  #: parts/a\\u{1b}[2J\\u{a}b\n"),
            "{shown}"
        );
    }
}
