//! # torque-implausible
//!
//! A torque is beyond what the bolt stands, or far below what makes it hold.
//!
//! Nobody knows the friction of one bolt, so a torque is only called too much if it
//! stretches the bolt for good even where all rubs as much as it can: above the
//! proof load of its class (ISO 898-1, SAE J429, in copies) at the highest friction
//! (`friction-most` under `figures` in `build.yaml`, or else that of what is on the
//! thread; MIL-HDBK-60 appendix B and table II). It is called far too little below
//! 15 per cent of the proof load at the lowest friction (our choice). Most often it
//! is a slip with units, and which one is named where it fits.
//!
//! A bolt that is meant to stretch, or whose class is not written, is not judged as
//! too much. Not judged as too little are steps that go on with an angle, threads
//! in plastic, what a pin or wire locks, and joints that clamp rubber or plastic.
//! Too little is always a warning. A step that is wrong for several sorts of bolt
//! is told once. The maker's manual comes first: look there.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8: {form: bolt, thread: M8x1.25, class: "8.8", finish: zinc}
//! bolt-m10: {form: bolt, thread: M10x1.25, class: "10.9", finish: black}
//! bolt-m8-hard: {form: bolt, thread: M8x1.25, class: "12.9", finish: black}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover:
//!       steps: [10 N·m, 216 lb-ft]
//!       threads: oiled
//!       holes:
//!         c1: {calls-for: bolt-m8, done: [{as: final, when: 2026-02-20,
//!           set: 216 lb-ft}]}
//!         c2: {calls-for: bolt-m8, done: [{as: final, when: 2026-02-20,
//!           set: 216 lb-ft}]}
//!         c3: {calls-for: bolt-m8}
//!     bracket: {steps: [34 lb-in], threads: oiled,
//!       holes: {b1: {calls-for: bolt-m10}, b2: {calls-for: bolt-m8-hard}}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:5:23: error: `engine/cover/c1` is tightened to 216 lb-ft, and `bolt-m8`, M8x1.25 of class 8.8, stands 21.2 kN: 39.2 N·m even where it rubs most; a tenth or a twelfth of it would do, so a point may stand in the wrong place, or inches have been taken for feet; the same at c2 [torque-implausible]
//!     fasteners/all.yaml:1:47: the class of the bolt
//!     to do: look the torque and the class up in the maker's manual; what was tightened so far is stretched, and wants a new bolt
//! assemblies/all.yaml:5:23: warning: `engine/cover/c3` is tightened to 216 lb-ft, and `bolt-m8`, M8x1.25 of class 8.8, stands 21.2 kN: 39.2 N·m even where it rubs most; a tenth or a twelfth of it would do, so a point may stand in the wrong place, or inches have been taken for feet [torque-implausible]
//!     fasteners/all.yaml:1:47: the class of the bolt
//!     to do: look the torque and the class up in the maker's manual; what was tightened so far is stretched, and wants a new bolt
//! assemblies/all.yaml:13:23: warning: `engine/bracket/b1` is tightened to 34 lb-in, which loads `bolt-m10`, M10x1.25 of class 10.9, to 7 % of its proof load at the most; twelve times as much would be usual, so feet may have been taken for inches; the same at b2 [torque-implausible]
//!     fasteners/all.yaml:2:49: the class of the bolt
//!     to do: look the torque up in the maker's manual; if it is printed so, a decision says that it is meant
//! ```
//!
//! ## Right
//!
//! A stretch bolt is meant to go beyond its proof load; 30 N·m is only where its
//! angle begins.
//!
//! ```yaml fasteners/all.yaml
//! bolt-m8: {form: bolt, thread: M8x1.25, class: "8.8", finish: zinc}
//! bolt-head: {form: bolt, thread: M10x1.25, class: "10.9", stretch: true}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   in: car
//!   joints:
//!     cover: {steps: [24 N·m], holes: {c1: {calls-for: bolt-m8}}}
//!     head: {steps: [5 N·m, turn 90 deg, turn 90 deg],
//!       holes: {h1: {calls-for: bolt-head}}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault, load, torque as shown};
use crate::lint::{Context, Rule};
use crate::model::common::Stage;
use crate::model::fastener::Locking;
use crate::model::part::Material;
use crate::present::Present;
use crate::present::hardware::{friction, greatest, torque, torques, turns};
use crate::present::joints::{Hole, Joint};
use crate::reckon::geometry::Geometry;
use crate::reckon::measure::{Band, Force, Ratio, Torque, torque_of};
use crate::reckon::tightening::Turned;

/// The rule.
pub const RULE: Rule = Rule {
    name: "torque-implausible",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

/// The share of its proof load below which a bolt is as good as loose.
const FAR_BELOW: f64 = 0.15;

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for joint in &cx.present().joints {
        let soft = is_soft(cx.present(), joint);
        let mut told: Vec<Fault<'_>> = Vec::new();
        cx.tell_faults(joint, findings, |hole| {
            let fault = judge(cx, joint, hole, soft)?;
            // A printed torque is one slip, whatever bolts it is for.
            let same = |one: &&Fault<'_>| one.at == fault.at && one.is_as_loud_as(&fault);
            if matches!(fault.at, At::Joint(_))
                && let Some(one) = told.iter().find(same)
            {
                return Some(Fault {
                    claim: fault.claim,
                    ..one.clone()
                });
            }
            told.push(fault.clone());
            Some(fault)
        });
    }
}

/// Whether a joint clamps, or is cut in, something that gives way.
fn is_soft(present: &Present<'_>, joint: &Joint<'_>) -> bool {
    let gives_way =
        |material: Option<Material>| matches!(material, Some(Material::Plastic | Material::Rubber));
    let clamped = joint.record.clamps.iter();
    let places = clamped.flat_map(|name| present.places_named(name.as_str()));
    let mut stays = places.flat_map(|place| &present.places[*place].stays);
    let into = joint.record.into.as_ref();
    gives_way(into.and_then(|into| into.material))
        || stays.any(|stay| gives_way(present.piece(&present.stays[*stay]).of.material))
}

/// A bolt under a torque.
struct Loaded {
    turned: Turned,
    friction: Band<Ratio>,
    proof: Force,
}

impl Loaded {
    /// The share of its proof load that a torque comes to, at least and at most.
    fn share(&self, torque: Torque) -> (f64, f64) {
        let loads = self.turned.loads(torque, self.friction);
        let share = |load: Force| (load / self.proof).value;
        (share(loads.least), share(loads.most))
    }

    /// Whether a torque is one that somebody may have meant.
    fn is_usual(&self, torque: Torque) -> bool {
        let (least, most) = self.share(torque);
        least < 0.9 && most > 0.4
    }
}

fn judge<'a>(
    cx: &Context<'a>,
    joint: &Joint<'a>,
    hole: &Hole<'a>,
    soft: bool,
) -> Option<Fault<'a>> {
    let (bolt, stage) = hole.judged()?;
    let record = bolt.record;
    if !record.carries() {
        return None;
    }
    let thread = record.nut_thread()?;
    let class = record.known_class().filter(|class| !class.is_nut())?;
    let geometry = Geometry::of(&thread)?;
    let proof = class
        .strength(geometry.diameter)?
        .proof_load(geometry.stress_area);
    let one = hole.tightening();
    let threads = one.and_then(|one| one.threads).or(joint.record.threads);
    let figures = cx.folder.model.build.figures.as_ref();
    let loaded = Loaded {
        turned: Turned::new(geometry, None),
        friction: friction(figures, record.surface(threads)),
        proof,
    };
    let names = (bolt.id, format!("{} of class {class}", thread.text()));
    if record.stretch != Some(true) {
        // Where a torque is printed, what was set is held to it by torque-figures-disagree.
        let set = one
            .filter(|one| one.adapter.is_none() && !printed_torques(joint))
            .and_then(|one| one.set.as_ref());
        let set = set.and_then(|set| {
            Some((
                torque(set)?,
                set.as_str().to_owned(),
                At::Done(vec!["set".into()]),
            ))
        });
        let steps = [
            ("steps", &joint.record.steps),
            ("steps-for-new", &joint.record.steps_for_new),
        ];
        let printed = steps.into_iter().filter_map(|(name, steps)| {
            let (number, step) = greatest(steps)?;
            let way = vec![name.into(), number.into()];
            Some((torque_of(&step)?, step.text().to_owned(), At::Joint(way)))
        });
        let mut all = set.into_iter().chain(printed);
        let beyond =
            |figure: &(Band<Torque>, String, At<'static>)| loaded.share(figure.0.least).0 > 1.0;
        if let Some((figure, written, at)) = all.find(beyond) {
            return Some(too_much(&loaded, figure.least, &written, at, stage, &names));
        }
    }
    let steps = joint.record.steps.as_slice();
    if soft || turns(steps) || record.locking == Some(Locking::Wired) {
        return None;
    }
    let (number, last) = torques(steps).last()?;
    let figure = torque_of(&last)?;
    if loaded.share(figure.most).1 >= FAR_BELOW {
        return None;
    }
    Some(too_little(
        &loaded,
        figure.most,
        last.text(),
        number,
        &names,
    ))
}

/// Whether any torque is printed for a joint.
fn printed_torques(joint: &Joint<'_>) -> bool {
    let record = joint.record;
    [&record.steps, &record.steps_for_new]
        .into_iter()
        .any(|steps| greatest(steps).is_some())
}

fn too_much<'a>(
    loaded: &Loaded,
    figure: Torque,
    written: &str,
    at: At<'static>,
    claim: Stage,
    (id, named): &(&'a str, String),
) -> Fault<'a> {
    let most = loaded.turned.torques(loaded.proof, loaded.friction);
    let (twelfth, tenth) = (figure / 12.0, figure / 10.0);
    let slip = match (loaded.is_usual(twelfth), loaded.is_usual(tenth)) {
        (true, true) => {
            "; a tenth or a twelfth of it would do, so a point may stand in the wrong place, or inches have been taken for feet"
        }
        (true, false) => "; a twelfth of it would do, so inches may have been taken for feet",
        (false, true) => {
            "; a tenth of it would do, so a point may stand in the wrong place, or kgf·cm have been taken for N·m"
        }
        (false, false) => "",
    };
    let tightened = if matches!(at, At::Done(_)) {
        "was tightened"
    } else {
        "is tightened"
    };
    Fault {
        at,
        says: format!(
            "{tightened} to {written}, and `{id}`, {named}, stands {}: {} even where it rubs most{slip}",
            load(loaded.proof),
            shown(most.most)
        ),
        remedy: "look the torque and the class up in the maker's manual; what was tightened so far is stretched, and wants a new bolt".to_owned(),
        claim,
        level: None,
        see: vec![(At::Fastener(id, "class"), "the class of the bolt".to_owned())],
    }
}

fn too_little<'a>(
    loaded: &Loaded,
    figure: Torque,
    written: &str,
    number: usize,
    (id, named): &(&'a str, String),
) -> Fault<'a> {
    let slip = if loaded.is_usual(figure * 12.0) {
        "; twelve times as much would be usual, so feet may have been taken for inches"
    } else if loaded.is_usual(figure * 10.0) {
        "; ten times as much would be usual, so a point may stand in the wrong place, or kgf·m have been taken for N·m"
    } else {
        ""
    };
    let (_, most) = loaded.share(figure);
    Fault {
        at: At::Joint(vec!["steps".into(), number.into()]),
        says: format!(
            "is tightened to {written}, which loads `{id}`, {named}, to {:.0} % of its proof load at the most{slip}",
            most * 100.0
        ),
        remedy: "look the torque up in the maker's manual; if it is printed so, a decision says that it is meant".to_owned(),
        claim: Stage::Bench,
        level: Some(Level::Warning),
        see: vec![(At::Fastener(id, "class"), "the class of the bolt".to_owned())],
    }
}
