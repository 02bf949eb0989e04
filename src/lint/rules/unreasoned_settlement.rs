//! # unreasoned-settlement
//!
//! A decision settles a conflict without a reason, or settles nothing.
//!
//! A settled conflict is one that nobody sees any more. So it needs a reason
//! for the day when somebody asks, and a settlement that no longer meets its
//! conflict must go: the next conflict at that spot would be settled unseen.
//! What can't be read, or leads to nothing, can't be settled at all. A settlement
//! is for its very spot: what a rule finds at a piece is settled at
//! `parts/unit-b/U1`, not at `parts/unit-b`, so that it can't cover the next
//! conflict in the same record.
//!
//! ## Wrong
//!
//! ```yaml decisions/all.yaml
//! keep-as-is:
//!   asks: Quote the number?
//!   chosen: leave-it
//!   options: {leave-it: {}}
//!   settles:
//!     - {rule: changed-by-yaml, at: parts/unit-b}
//!     - {rule: bad-quantity, at: parts/unit-b, because: it is stamped so}
//!     - {rule: off-schema, at: parts/unit-b, because: I like it}
//!     - {rule: changed-by-yaml, at: parts/key-b, because: plain text}
//! ```
//!
//! ```yaml parts/all.yaml
//! unit-b: {name: Control unit}
//! key-b: {name: Key, pieces: {K1: {kept-in: 1e5}}}
//! ```
//!
//! ```text
//! decisions/all.yaml:6:7: error: `keep-as-is` settles `changed-by-yaml` without a reason [unreasoned-settlement]
//!     to do: say why under `because`
//! decisions/all.yaml:6:7: error: `keep-as-is` settles nothing: there is no `changed-by-yaml` at parts/unit-b [unreasoned-settlement]
//!     to do: take the settlement out, or mend its `rule` and `at`
//! decisions/all.yaml:7:7: error: `keep-as-is` settles nothing: there is no `bad-quantity` at parts/unit-b [unreasoned-settlement]
//!     to do: take the settlement out, or mend its `rule` and `at`
//! decisions/all.yaml:8:7: error: `off-schema` can't be settled by a decision [unreasoned-settlement]
//!     to do: mend the record; what can't be read, or leads to nothing, hides all else
//! decisions/all.yaml:9:7: error: `keep-as-is` settles nothing: `changed-by-yaml` is not at parts/key-b but at parts/key-b/K1 [unreasoned-settlement]
//!     to do: write `at: parts/key-b/K1` if that was meant
//! ```
//!
//! ## Right
//!
//! ```yaml decisions/all.yaml
//! keep-as-is:
//!   asks: Quote the number?
//!   chosen: leave-it
//!   because: the helper's reader wants it plain
//!   options: {leave-it: {}}
//!   settles: [{rule: changed-by-yaml, at: parts/unit-b}]
//! ```
//!
//! ```yaml parts/all.yaml
//! unit-b: {name: Control unit, maker: NO}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{self, Context, Met, Rule};
use crate::model::Kind;

/// The rule.
pub const RULE: Rule = Rule {
    name: "unreasoned-settlement",
    level: Level::Error,
    firm: true,
    last: true,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for use_ in cx.settlements {
        let Some(record) = cx.folder.model.decision.get(&use_.decision) else {
            continue;
        };
        let Some(settlement) = record.data.settles.get(use_.number) else {
            continue;
        };
        let span = cx
            .folder
            .node(Kind::Decisions, &use_.decision)
            .and_then(|(node, _)| node.get("settles")?.items().get(use_.number))
            .map(|node| node.span);
        let (Some(span), Some(rule), Some(at)) = (span, &settlement.rule, &settlement.at) else {
            continue;
        };
        let (rule, at, id) = (rule.as_str(), at.as_str(), &use_.decision);
        // A record that is missing is an unknown reference, and one in a file that
        // can't be read may still have its conflict.
        let mut parts = at.split('/');
        let kind = parts.next().and_then(Kind::of_folder);
        let id_at = parts.next().unwrap_or_default();
        if kind.is_some_and(|kind| cx.folder.spots(kind, id_at).is_empty()) {
            continue;
        }
        let mut say = |what: String, remedy: &str| {
            findings.push(cx.finding(record.file, span, what, remedy.to_owned()));
        };
        match lint::rule(rule) {
            // The name itself is an unknown reference, and told as such.
            None => continue,
            Some(known) if known.firm => {
                say(
                    format!("`{rule}` can't be settled by a decision"),
                    "mend the record; what can't be read, or leads to nothing, hides all else",
                );
                continue;
            }
            Some(_) => {}
        }
        if record.data.because.is_none() && settlement.because.is_none() {
            say(
                format!("`{id}` settles `{rule}` without a reason"),
                "say why under `because`",
            );
        }
        match &use_.met {
            Met::Conflict => {}
            Met::Undecided => findings.push(
                cx.finding(
                    record.file,
                    span,
                    format!("`{id}` settles nothing yet: nothing is chosen"),
                    "name the option under `chosen` once it is decided".to_owned(),
                )
                .at_level(Level::Note),
            ),
            Met::StageCame => say(
                format!("`{id}` settles `{rule}` at {at} no longer: its stage has come"),
                "mend the conflict and take the settlement out, or decide anew",
            ),
            Met::Nothing(Some(spot)) => say(
                format!("`{id}` settles nothing: `{rule}` is not at {at} but at {spot}"),
                &format!("write `at: {spot}` if that was meant"),
            ),
            // The conflict may be with what stands in a file that can't be read.
            Met::Nothing(None) if !cx.folder.is_readable() => {}
            Met::Nothing(None) => say(
                format!("`{id}` settles nothing: there is no `{rule}` at {at}"),
                "take the settlement out, or mend its `rule` and `at`",
            ),
        }
    }
}
