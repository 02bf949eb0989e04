//! The check: rules over a build folder, the levels that the build gives them,
//! and the decisions that settle what they find.
//!
//! A rule is one file under `lint/rules/` and one line in the list there. It is a
//! pure function over the folder and a few facts handed in, and it can't fail.

pub mod at;
pub mod due;
pub mod faults;
pub mod holes;
pub mod page;
pub mod ruins;
pub mod rules;

use std::collections::BTreeMap;
use std::sync::OnceLock;

use jiff::civil::Date;
use rayon::prelude::*;
use serde::Deserialize;

use crate::finding::{Finding, Level, Place};
use crate::folder::{Folder, Spot};
use crate::model::build::LevelWord;
use crate::model::common::{Duration, Stage};
use crate::model::decision::DecisionState;
use crate::picture::Picture;
use crate::present::Present;
use crate::source::Span;
use rules::RULES;

/// What a rule may know that the folder does not hold.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Facts {
    /// The day that the check speaks of.
    pub as_of: Date,
    /// Commits that no hook saw and that hold errors, oldest first.
    #[serde(default)]
    pub past_the_check: Vec<PastTheCheck>,
    /// How many more commits no hook saw; they were not looked at.
    #[serde(default)]
    pub not_looked_at: usize,
    /// Record files that differ from the last commit.
    #[serde(default)]
    pub uncommitted: Vec<Uncommitted>,
    /// The picture files, in the order of their paths; none where nobody looked.
    #[serde(default)]
    pub pictures: Option<Vec<Picture>>,
    /// What syncing did to the repository.
    #[serde(default)]
    pub synced: Synced,
}

/// Where a repository lies that a cloud service carries between computers, and what it did.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", default)]
pub struct Synced {
    /// By what that is told.
    pub trace: Option<String>,
    /// Copies among git's own files, from the repository's folder.
    pub copies: Vec<String>,
    /// Files of git's that came over with nothing in them.
    pub torn: Vec<String>,
}

/// A commit that no hook saw and that holds errors.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct PastTheCheck {
    /// Its name, shortened.
    pub commit: String,
    /// The day it was made.
    pub when: Date,
    /// The first line of its message.
    pub title: String,
    /// How many errors it holds.
    pub errors: usize,
    /// The first of them, as a line of the check.
    pub first: String,
}

/// A record file that differs from the last commit.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Uncommitted {
    /// The file, from the build folder.
    pub file: String,
    /// How long ago it was last written.
    pub age: Duration,
}

impl Facts {
    /// A day, and nothing known of git.
    #[must_use]
    pub fn on(day: Date) -> Self {
        Self {
            as_of: day,
            past_the_check: Vec::new(),
            not_looked_at: 0,
            uncommitted: Vec::new(),
            pictures: None,
            synced: Synced::default(),
        }
    }
}

/// A rule of the check.
pub struct Rule {
    /// Its name, in kebab-case.
    pub name: &'static str,
    /// How much its findings weigh unless the build says otherwise.
    pub level: Level,
    /// Whether the level is fixed and no decision can settle it: what can't be
    /// read, or leads to nothing, hides everything else.
    pub firm: bool,
    /// Whether it looks at what decisions settled, and so comes last.
    pub last: bool,
    /// Finds.
    pub find: fn(&Context<'_>, &mut Vec<Finding>),
    /// The file it stands in, whose opening comment is its page.
    pub file: &'static str,
}

/// All that a rule looks at.
pub struct Context<'a> {
    /// The folder.
    pub folder: &'a Folder,
    /// What the folder does not hold.
    pub facts: &'a Facts,
    /// For the rules that come last: what each settlement settled.
    pub settlements: &'a [SettlementUse],
    present: Asked<'a>,
    rule: &'a Rule,
}

/// The present state: known already, or worked out when a rule first asks for it, while
/// others that don't are running.
#[derive(Clone, Copy)]
enum Asked<'a> {
    Known(&'a Present<'a>),
    Late(&'a OnceLock<Present<'a>>),
}

/// A settlement of a decision, and what it met.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SettlementUse {
    /// The decision's id.
    pub decision: String,
    /// The number of the settlement in its list.
    pub number: usize,
    /// What it met.
    pub met: Met,
}

/// What a settlement met at its spot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Met {
    /// Its conflict, which is settled.
    Conflict,
    /// Its conflict, but nothing is chosen yet.
    Undecided,
    /// Its conflict, at the stage at which it is one again.
    StageCame,
    /// Nothing; the conflict stands at this other spot of the record, if at any.
    Nothing(Option<String>),
}

impl Context<'_> {
    /// A new finding of this rule at a span of a file, about what stands there.
    #[must_use]
    pub fn finding(&self, file: usize, span: Span, message: String, remedy: String) -> Finding {
        let place = self.folder.place(file, span);
        self.finding_at(place, message, remedy)
            .of(self.folder.name_at(file, span))
    }

    /// A new finding of this rule at a place, about no record yet.
    #[must_use]
    pub fn finding_at(&self, place: Place, message: String, remedy: String) -> Finding {
        Finding {
            rule: self.rule.name,
            level: self.rule.level,
            message,
            place,
            record: None,
            stage: None,
            related: Vec::new(),
            remedy,
            settled_by: None,
            older: false,
        }
    }

    /// The place of a record's id.
    #[must_use]
    pub fn id_place(&self, spot: Spot) -> Option<Place> {
        let record = self.folder.record(spot)?;
        Some(self.folder.place(spot.file, record.key.span))
    }
}

/// The rule of a name.
#[must_use]
pub fn rule(name: &str) -> Option<&'static Rule> {
    RULES.iter().find(|rule| rule.name == name).copied()
}

/// The names of all rules, in their order.
#[must_use]
pub fn names() -> Vec<&'static str> {
    RULES.iter().map(|rule| rule.name).collect()
}

/// Checks a folder: all findings, in the order they stand.
#[must_use]
pub fn check(folder: &Folder, facts: &Facts) -> Vec<Finding> {
    check_with(folder, facts, RULES)
}

/// Checks a folder with some of the rules.
#[must_use]
pub fn check_with(folder: &Folder, facts: &Facts, rules: &[&Rule]) -> Vec<Finding> {
    check_present(folder, facts, rules, None)
}

/// Checks a folder whose present state may be known already.
#[must_use]
pub fn check_present<'a>(
    folder: &'a Folder,
    facts: &'a Facts,
    rules: &[&'a Rule],
    present: Option<&'a Present<'a>>,
) -> Vec<Finding> {
    let late = OnceLock::new();
    let present = match present {
        Some(known) => Asked::Known(known),
        None => Asked::Late(&late),
    };
    let settlements = OnceLock::new();
    let mut findings = Vec::new();
    // Each rule for itself, on all cores: what they find is put in order in the end.
    let run = |last: bool, findings: &mut Vec<Finding>| {
        let found = rules
            .par_iter()
            .filter(|rule| rule.last == last)
            .map(|rule| {
                let context = Context {
                    folder,
                    facts,
                    settlements: settlements.get().map_or(&[][..], Vec::as_slice),
                    present,
                    rule,
                };
                let mut found = Vec::new();
                (rule.find)(&context, &mut found);
                found
            });
        findings.extend(found.collect::<Vec<_>>().into_iter().flatten());
    };
    run(false, &mut findings);
    let settled = settle(folder, &mut findings);
    settlements.get_or_init(|| settled);
    run(true, &mut findings);
    set_levels(folder, &mut findings);
    findings.sort_by(|a, b| (&a.place, a.rule, &a.message).cmp(&(&b.place, b.rule, &b.message)));
    findings.dedup();
    findings
}

/// Marks what decisions settle. A settlement is for its very spot: what the same rule
/// finds at a piece is not settled at its part.
fn settle(folder: &Folder, findings: &mut [Finding]) -> Vec<SettlementUse> {
    let mut uses = Vec::new();
    for (id, decision) in &folder.model.decision {
        if decision.data.state == Some(DecisionState::Withdrawn) {
            continue;
        }
        let made = decision.data.is_made();
        for (number, settlement) in decision.data.settles.iter().enumerate() {
            let (Some(rule), Some(at)) = (&settlement.rule, &settlement.at) else {
                continue;
            };
            let mut met = Met::Nothing(None);
            for finding in findings.iter_mut() {
                if finding.rule != rule.as_str()
                    || self::rule(finding.rule).is_some_and(|rule| rule.firm)
                {
                    continue;
                }
                let Some(record) = finding.record.as_deref() else {
                    continue;
                };
                if record != at.as_str() {
                    if met == Met::Nothing(None) && same_record(record, at.as_str()) {
                        met = Met::Nothing(Some(record.to_owned()));
                    }
                } else if !made {
                    met = Met::Undecided;
                } else if past(settlement.until, finding.stage) {
                    if met != Met::Conflict {
                        met = Met::StageCame;
                    }
                } else {
                    met = Met::Conflict;
                    finding
                        .settled_by
                        .get_or_insert_with(|| format!("decisions/{id}"));
                }
            }
            uses.push(SettlementUse {
                decision: id.clone(),
                number,
                met,
            });
        }
    }
    uses
}

/// Whether two spots lie in one record.
fn same_record(a: &str, b: &str) -> bool {
    a.split('/').take(2).eq(b.split('/').take(2))
}

/// Whether a finding's stage has reached the one until which a settlement holds.
fn past(until: Option<Stage>, stage: Option<Stage>) -> bool {
    matches!((until, stage), (Some(until), Some(stage)) if stage >= until)
}

fn set_levels(folder: &Folder, findings: &mut Vec<Finding>) {
    let levels = &folder.model.build.levels;
    if levels.is_empty() {
        return;
    }
    findings.retain_mut(|finding| {
        let wanted = levels
            .iter()
            .find(|(name, _)| name.as_str() == finding.rule)
            .map(|(_, level)| *level);
        let firm = rule(finding.rule).is_some_and(|rule| rule.firm);
        match wanted {
            Some(_) | None if firm => true,
            None => true,
            Some(LevelWord::None) => false,
            Some(LevelWord::Error) => {
                finding.level = Level::Error;
                true
            }
            Some(LevelWord::Warning) => {
                finding.level = Level::Warning;
                true
            }
            Some(LevelWord::Note) => {
                finding.level = Level::Note;
                true
            }
        }
    });
}

/// What a finding is known by in another state: its rule, its record or else its file, and
/// what it is related to.
pub type Same<'a> = (&'a str, &'a str, Vec<&'a str>);

/// What a finding is known by in another state.
#[must_use]
pub fn same(finding: &Finding) -> Same<'_> {
    let record = finding.record.as_deref();
    let related = finding.related.iter();
    (
        finding.rule,
        record.unwrap_or(&finding.place.file),
        related.map(|related| related.message.as_str()).collect(),
    )
}

/// Marks the errors that one of the states before held already. A finding is the same
/// if its rule, its record and what it is related to are the same, wherever its line
/// went; of three alike where two were before, one is new.
pub fn mark_older(findings: &mut [Finding], before: &[Vec<Finding>]) {
    let mut known: BTreeMap<Same<'_>, usize> = BTreeMap::new();
    for state in before {
        let mut here: BTreeMap<Same<'_>, usize> = BTreeMap::new();
        for finding in state.iter().filter(|finding| finding.stops()) {
            *here.entry(same(finding)).or_default() += 1;
        }
        for (finding, count) in here {
            let most = known.entry(finding).or_default();
            *most = count.max(*most);
        }
    }
    let mut older = Vec::new();
    for (number, finding) in findings.iter().enumerate() {
        if finding.stops()
            && let Some(left) = known.get_mut(&same(finding))
            && *left > 0
        {
            *left -= 1;
            older.push(number);
        }
    }
    for number in older {
        findings[number].older = true;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_settlement_holds_until_its_stage() {
        assert!(!past(Some(Stage::Final), Some(Stage::MockUp)));
        assert!(past(Some(Stage::Final), Some(Stage::Final)));
        assert!(past(Some(Stage::MockUp), Some(Stage::Final)));
        assert!(!past(None, Some(Stage::Final)));
        assert!(!past(Some(Stage::Final), None));
    }
}
