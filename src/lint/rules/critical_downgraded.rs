//! # critical-downgraded
//!
//! Where people's safety hangs on it, a weaker bolt is in, or planned, than is
//! called for.
//!
//! Of lower class, of stainless steel, or of no class that is known: a bolt that
//! looks the same holds the brake caliper until it is needed most. Stainless bolts
//! of the usual A2-70 and A4-80 are weaker than 10.9, gall, and give no warning
//! before they break. The hardware that a hole calls for is told only if it is
//! stainless and no `source` says that it is right.
//!
//! What counts is `critical` of the joint, or of an assembly around it. It is an
//! error for good, closed over or planned; another bolt that is in for mock-up only
//! is a warning. Classes of two standards are set beside each other by what they
//! stand (ISO 898-1, SAE J429, ISO 3506). Follow the maker's manual: a decision
//! here can't make a bolt stronger.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! caliper-bolt: {form: bolt, thread: M12x1.25, length: 30 mm, class: "10.9"}
//! shop-bolt: {form: bolt, thread: M12x1.25, length: 30 mm, class: "8.8"}
//! shiny-bolt: {form: bolt, thread: M12x1.25, length: 30 mm,
//!   material: stainless steel}
//! bare-bolt: {form: bolt, thread: M12x1.25, length: 30 mm}
//! shiny-nut: {form: nut, thread: M12x1.25, material: stainless steel}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! front-axle:
//!   in: car
//!   critical: brakes
//!   joints:
//!     caliper:
//!       holes:
//!         c1: {calls-for: caliper-bolt,
//!           done: [{as: final, when: 2026-02-20, fastener: shop-bolt}]}
//!         c2: {calls-for: caliper-bolt,
//!           done: [{as: mock-up, when: 2026-02-20, fastener: bare-bolt}]}
//!         c3: {calls-for: shiny-bolt}
//!         c4: {calls-for: caliper-bolt, then: shiny-nut}
//!     bracket:
//!       holes:
//!         b1: {calls-for: caliper-bolt,
//!           done: [{as: final, when: 2026-02-20, fastener: bare-bolt}]}
//!         b2: {calls-for: caliper-bolt,
//!           done: [{as: final, when: 2026-02-20, fastener: bare-bolt}]}
//! ```
//!
//! ```text
//! assemblies/all.yaml:8:58: error: `front-axle/caliper/c1` holds `shop-bolt`, which is of class 8.8, and not 10.9, where safety hangs on it (brakes) [critical-downgraded]
//!     fasteners/all.yaml:2:65: what is in it
//!     assemblies/all.yaml:7:25: what it calls for
//!     to do: put `caliper-bolt` in, or one that stands as much and is marked so
//! assemblies/all.yaml:10:60: warning: `front-axle/caliper/c2` holds `bare-bolt`, which is of no known class, and not 10.9, where safety hangs on it (brakes) [critical-downgraded]
//!     fasteners/all.yaml:5:1: what is in it
//!     assemblies/all.yaml:9:25: what it calls for
//!     to do: put `caliper-bolt` in, or one that stands as much and is marked so
//! assemblies/all.yaml:11:25: error: `front-axle/caliper/c3` calls for `shiny-bolt`, which is stainless, where safety hangs on it (brakes), and no source says that it may be [critical-downgraded]
//!     fasteners/all.yaml:4:13: what it is
//!     to do: take a bolt of the class that the maker's manual names, or write the `source` of the fastener where it says stainless
//! assemblies/all.yaml:12:45: error: `front-axle/caliper/c4` calls for `shiny-nut`, which is stainless, where safety hangs on it (brakes), and no source says that it may be [critical-downgraded]
//!     fasteners/all.yaml:6:52: what it is
//!     to do: take a nut of the class that the maker's manual names, or write the `source` of the fastener where it says stainless
//! assemblies/all.yaml:16:58: error: `front-axle/bracket/b1` holds `bare-bolt`, which is of no known class, and not 10.9, where safety hangs on it (brakes); the same at b2 [critical-downgraded]
//!     fasteners/all.yaml:5:1: what is in it
//!     assemblies/all.yaml:15:25: what it calls for
//!     to do: put `caliper-bolt` in, or one that stands as much and is marked so
//! ```
//!
//! ## Right
//!
//! ```yaml fasteners/all.yaml
//! caliper-bolt: {form: bolt, thread: M12x1.25, class: "10.9"}
//! harder-bolt: {form: bolt, thread: M12x1.25, class: "12.9"}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! front-axle:
//!   in: car
//!   joints:
//!     caliper:
//!       critical: brakes
//!       steps: [60 N·m]
//!       holes: {c1: {calls-for: caliper-bolt,
//!         done: [{as: final, when: 2026-02-20, fastener: harder-bolt, steps: 1,
//!           by: builder, checked-by: helper}]}}
//! ```

use super::wrong_hardware::is_lower;
use crate::finding::{Finding, Level};
use crate::lint::faults::{At, Fault};
use crate::lint::{Context, Rule};
use crate::model::common::Stage;
use crate::model::fastener::Form;
use crate::present::joints::{Hardware, Hole};

/// The rule.
pub const RULE: Rule = Rule {
    name: "critical-downgraded",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for joint in &present.joints {
        let Some(critical) = present.hangs_on(joint) else {
            continue;
        };
        let hangs = critical.word();
        cx.tell_faults(joint, findings, |hole| {
            bolt(hole, hangs).or_else(|| nut(cx, hole, hangs))
        });
    }
}

fn bolt<'a>(hole: &Hole<'a>, hangs: &str) -> Option<Fault<'a>> {
    let meant = hole.meant?;
    let (inside, claim) = hole.judged()?;
    if !holds(meant) {
        return None;
    }
    if inside.id == meant.id {
        return stainless(meant, hangs, claim, ("calls-for", "bolt"));
    }
    let why = weaker(meant, inside)?;
    Some(fault(
        hole,
        hangs,
        (meant, inside),
        why,
        "fastener",
        "calls-for",
    ))
}

fn nut<'a>(cx: &Context<'a>, hole: &Hole<'a>, hangs: &str) -> Option<Fault<'a>> {
    let (id, record) = {
        let called = hole.record.then.as_ref()?;
        let (id, record) = cx.folder.model.fastener.get_key_value(called.as_str())?;
        (id.as_str(), &record.data)
    };
    let meant = Hardware { id, record };
    let nut = hole.nut?;
    if nut.id == id {
        return stainless(meant, hangs, hole.claim, ("then", "nut"));
    }
    hole.tightening()?;
    let why = weaker(meant, nut)?;
    Some(fault(hole, hangs, (meant, nut), why, "then", "then"))
}

/// Stainless hardware that a hole itself calls for, with nothing to say that it may be.
fn stainless<'a>(
    meant: Hardware<'a>,
    hangs: &str,
    claim: Stage,
    (field, what): (&'static str, &str),
) -> Option<Fault<'a>> {
    if !meant.record.is_stainless() || meant.record.source.is_some() {
        return None;
    }
    Some(Fault {
        at: At::Hole(vec![field.into()]),
        says: format!(
            "calls for `{}`, which is stainless, where safety hangs on it ({hangs}), and no source says that it may be",
            meant.id
        ),
        remedy: format!("take a {what} of the class that the maker's manual names, or write the `source` of the fastener where it says stainless"),
        claim,
        level: Some(Level::Error),
        see: vec![(At::Fastener(meant.id, "material"), "what it is".to_owned())],
    })
}

/// Whether a joint is held by the strength of it: a clip or a hose clamp of stainless steel
/// is as good as any.
fn holds(hardware: Hardware<'_>) -> bool {
    let form = hardware.record.form;
    hardware.record.carries() || matches!(form, None | Some(Form::Nut | Form::Banjo))
}

/// Why hardware is weaker than what is meant, if it is.
fn weaker(meant: Hardware<'_>, inside: Hardware<'_>) -> Option<String> {
    let named = meant.record.class.as_deref();
    if inside.record.is_stainless() && !meant.record.is_stainless() {
        return Some("is stainless".to_owned());
    }
    match (meant.record.known_class(), inside.record.known_class()) {
        (Some(a), Some(b)) if is_lower(b, a) => Some(format!("is of class {b}, and not {a}")),
        (_, Some(_)) => None,
        (_, None) => named.map(|class| match inside.record.class.as_deref() {
            None => format!("is of no known class, and not {class}"),
            Some(other) => format!("is of class `{other}`, which nobody knows, and not {class}"),
        }),
    }
}

fn fault<'a>(
    hole: &Hole<'a>,
    hangs: &str,
    (meant, inside): (Hardware<'a>, Hardware<'a>),
    why: String,
    done: &'static str,
    field: &'static str,
) -> Fault<'a> {
    let at = match inside.record.class {
        Some(_) => At::Fastener(inside.id, "class"),
        None => At::Fastener(inside.id, ""),
    };
    Fault {
        at: At::Done(vec![done.into()]),
        says: format!(
            "holds `{}`, which {why}, where safety hangs on it ({hangs})",
            inside.id
        ),
        remedy: format!(
            "put `{}` in, or one that stands as much and is marked so",
            meant.id
        ),
        claim: hole.claim,
        level: (hole.claim == Stage::Bench).then_some(Level::Warning),
        see: vec![
            (at, "what is in it".to_owned()),
            (At::Hole(vec![field.into()]), "what it calls for".to_owned()),
        ],
    }
}
