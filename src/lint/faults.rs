//! What is wrong at a hole, before it is a finding: holes of one joint with one and the same
//! fault make one.

use std::collections::BTreeMap;

use super::Context;
use super::at::Spot;
use super::holes::alike;
use crate::finding::{Finding, Level};
use crate::model::Kind;
use crate::model::common::Stage;
use crate::present::joints::{Hole, Joint};
use crate::reckon::measure::{Force, Length, Torque, in_mm, in_newton_metres, in_newtons};
use crate::yaml::Step;

/// Where something about a hole is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum At<'a> {
    /// In the hole.
    Hole(Vec<Step>),
    /// In the tightening that counts.
    Done(Vec<Step>),
    /// In the joint.
    Joint(Vec<Step>),
    /// In a fastener.
    Fastener(&'a str, &'static str),
    /// In a wrench.
    Wrench(&'a str, &'static str),
    /// In the figures of the build.
    Figure(&'static str),
}

/// What is wrong at a hole.
#[derive(Debug, Clone)]
pub struct Fault<'a> {
    /// Where it stands.
    pub at: At<'a>,
    /// What is wrong: the sentence that the hole's name begins.
    pub says: String,
    /// What to do.
    pub remedy: String,
    /// The stage that counts.
    pub claim: Stage,
    /// The level of the claim; none for an error once something is final, and a warning
    /// before.
    pub level: Option<Level>,
    /// What else has to do with it.
    pub see: Vec<(At<'a>, String)>,
}

/// The same of two holes: said in the same words, and as loud. What is only planned and what
/// is in for mock-up are one slip where both are told alike.
impl PartialEq for Fault<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.at == other.at
            && self.says == other.says
            && self.remedy == other.remedy
            && self.see == other.see
            && self.is_as_loud_as(other)
    }
}

impl Fault<'_> {
    /// Whether both are told at one level.
    #[must_use]
    pub fn is_as_loud_as(&self, other: &Self) -> bool {
        let is_final = |fault: &Self| fault.claim == Stage::Final;
        self.level == other.level && (self.level.is_some() || is_final(self) == is_final(other))
    }
}

impl<'a> Context<'a> {
    /// Where something about a hole stands.
    #[must_use]
    pub fn fault_at(&self, joint: &Joint<'a>, hole: &Hole<'a>, at: &At<'a>) -> Option<Spot> {
        match at {
            At::Hole(way) => self.in_hole_at(joint, hole, way),
            At::Done(way) => self.in_done_at(joint, hole, way),
            At::Joint(way) => self.in_joint_at(joint, way),
            At::Fastener(id, field) => match *field {
                "" => self.key_at(Kind::Fasteners, id, &[]),
                field => self.in_fastener_at(id, &[field.into()]),
            },
            At::Wrench(name, field) => {
                let way: [Step; 3] = ["wrenches".into(), (*name).into(), (*field).into()];
                self.build_at(&way).or_else(|| self.build_at(&way[..2]))
            }
            At::Figure(field) => self.build_at(&["figures".into(), (*field).into()]),
        }
    }

    /// Judges the holes of a joint, and makes one finding of those judged alike.
    pub fn tell_faults(
        &self,
        joint: &Joint<'a>,
        findings: &mut Vec<Finding>,
        mut judge: impl FnMut(&Hole<'a>) -> Option<Fault<'a>>,
    ) {
        let mut claims: BTreeMap<&str, Stage> = BTreeMap::new();
        let all = alike(joint, |hole| {
            let fault = judge(hole)?;
            claims.insert(hole.name, fault.claim);
            Some(fault)
        });
        for one in all {
            let fault = &one.fault;
            let message = one.told(format!("`{}` {}", one.name(), fault.says));
            let spot = self.fault_at(joint, one.first, &fault.at);
            let Some(finding) = self.finding_in(spot, message, fault.remedy.clone()) else {
                continue;
            };
            let holes = one.others.iter().chain([&one.first]);
            let foremost = holes.filter_map(|hole| claims.get(hole.name)).max();
            let claim = foremost.copied().unwrap_or(fault.claim);
            let mut finding = finding.by_claim(claim, Level::Warning);
            if let Some(level) = fault.level {
                finding = finding.at_level(level);
                finding.stage = None;
            }
            for (at, what) in &fault.see {
                finding = finding.see_at(self, self.fault_at(joint, one.first, at), what);
            }
            findings.push(finding);
        }
    }
}

/// A length as a message has it: to a tenth of a millimetre.
#[must_use]
pub fn long(length: Length) -> String {
    format!("{} mm", tenths(in_mm(length)))
}

/// A torque as a message has it: to a tenth of a newton metre.
#[must_use]
pub fn torque(torque: Torque) -> String {
    format!("{} N·m", tenths(in_newton_metres(torque)))
}

/// A load as a message has it: to a tenth of a kilonewton.
#[must_use]
pub fn load(force: Force) -> String {
    format!("{} kN", tenths(in_newtons(force) / 1000.0))
}

/// A figure to its first decimal, with none where that is nought.
#[must_use]
pub fn tenths(figure: f64) -> String {
    let text = format!("{figure:.1}");
    let text = text.strip_suffix(".0").unwrap_or(&text);
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}
