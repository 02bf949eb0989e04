//! # repeated-key
//!
//! One key stands twice in a map, or one id in two files.
//!
//! Most readers take the last one without a word, so half of what was written
//! is lost. A merge that git found clean can bring it about: each side added
//! the same id at another spot.
//!
//! ## Wrong
//!
//! ```yaml parts/fuel.yaml
//! injector:
//!   name: Injector
//!   have: 4
//!   have: 6
//! ```
//!
//! ```yaml parts/spares.yaml
//! injector: {name: Injector}
//! ```
//!
//! ```text
//! parts/fuel.yaml:4:3: error: the key `have` stands here for the second time [repeated-key]
//!     parts/fuel.yaml:3:3: it stands here first
//!     to do: keep one of the two
//! parts/spares.yaml:1:1: error: there are two parts called `injector` [repeated-key]
//!     parts/fuel.yaml:1:1: the other one
//!     to do: put the two together, or give one of them another id
//! ```
//!
//! ## Right
//!
//! ```yaml parts/fuel.yaml
//! injector:
//!   name: Injector
//!   have: 4
//! ```
//!
//! ```yaml parts/spares.yaml
//! injector-spare: {name: Injector}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::yaml::ProblemKind;

/// The rule.
pub const RULE: Rule = Rule {
    name: "repeated-key",
    level: Level::Error,
    firm: true,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for (number, file) in cx.folder.files.iter().enumerate() {
        for problem in &file.reading.problems {
            let ProblemKind::RepeatedKey { first } = problem.kind else {
                continue;
            };
            let key = file.reading.source.slice(problem.span);
            let key = key.trim_matches(['"', '\'']);
            findings.push(
                cx.finding(
                    number,
                    problem.span,
                    format!("the key `{key}` stands here for the second time"),
                    "keep one of the two".to_owned(),
                )
                .see(cx.folder.place(number, first), "it stands here first"),
            );
        }
    }
    for (kind, id, spots) in cx.folder.all_ids() {
        let Some((first, others)) = spots.split_first() else {
            continue;
        };
        for spot in others {
            let (Some(place), Some(other)) = (cx.id_place(*spot), cx.id_place(*first)) else {
                continue;
            };
            findings.push(
                cx.finding_at(
                    place,
                    format!("there are two {} called `{id}`", kind.folder()),
                    "put the two together, or give one of them another id".to_owned(),
                )
                .of(format!("{}/{id}", kind.folder()))
                .see(other, "the other one"),
            );
        }
    }
}
