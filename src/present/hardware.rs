//! What hardware is and does at its hole: what the records say, read into the figures that
//! the arithmetic takes. Whoever judges, answers or prints a sheet asks here, so that all
//! reckon from the same.
//!
//! What is not written, or can't be read, is none: nobody is judged by a guess.

use jiff::civil::Date;

use super::date;
use super::joints::{Hardware, Hole, Joint};
use crate::model::assembly::{Adapter, RepairKind, Tightening};
use crate::model::build::{Engagement, Figures, Wrench};
use crate::model::common::{Duration, Length, Stage, StepText, ThreadState, Torque};
use crate::model::fastener::{Fastener, Finish, Form};
use crate::model::part::Material;
use crate::reckon::class::Class;
use crate::reckon::friction::Surface;
use crate::reckon::measure::{self, Band, Ratio, length_of, mm, percent, share, torque_of};
use crate::reckon::plating::{self, Risk};
use crate::reckon::quantity::Quantity;
use crate::reckon::step::Step;
use crate::reckon::stripping::{Reach, Tapped};
use crate::reckon::thread::Thread;
use crate::reckon::unit::Amount;
use crate::reckon::wrench;

/// A length as it is written, from its least to its most.
#[must_use]
pub fn length(written: &Length) -> Option<Band<measure::Length>> {
    length_of(&written.quantity().ok()?)
}

/// A torque as it is written, from its least to its most.
#[must_use]
pub fn torque(written: &Torque) -> Option<Band<measure::Torque>> {
    torque_of(&written.quantity().ok()?)
}

impl Fastener {
    /// The thread that goes into the hole; of a nut its own.
    #[must_use]
    pub fn hole_thread(&self) -> Option<Thread> {
        self.thread.as_ref()?.thread().ok()
    }

    /// The thread that a nut goes on.
    #[must_use]
    pub fn nut_thread(&self) -> Option<Thread> {
        match &self.other_end {
            Some(end) => end.thread().ok(),
            None => self.hole_thread(),
        }
    }

    /// The class that it is marked with, if it is one that is known.
    #[must_use]
    pub fn known_class(&self) -> Option<Class> {
        Class::parse(self.class.as_deref()?).ok()
    }

    /// Whether it is of stainless steel, by its material or its class.
    #[must_use]
    pub fn is_stainless(&self) -> bool {
        self.material == Some(Material::Stainless)
            || matches!(self.known_class(), Some(Class::Stainless(..)))
    }

    /// Whether it is a bolt, a screw or a stud: what carries the load of a joint.
    #[must_use]
    pub fn carries(&self) -> bool {
        matches!(self.form, Some(Form::Bolt | Form::Screw | Form::Stud))
    }

    /// What is on its thread and under its head as it lies there, with nothing added.
    #[must_use]
    pub fn bare_surface(&self) -> Option<Surface> {
        if self.is_stainless() {
            return Some(Surface::Stainless);
        }
        surface_of(self.finish?)
    }

    /// What is on its thread once that state has been made.
    #[must_use]
    pub fn surface(&self, threads: Option<ThreadState>) -> Option<Surface> {
        match threads {
            Some(ThreadState::Oiled) => Some(Surface::Oiled),
            Some(ThreadState::Greased) => Some(Surface::Greased),
            Some(ThreadState::AntiSeize) => Some(Surface::AntiSeize),
            Some(ThreadState::LockingCompound | ThreadState::Sealant) => {
                Some(Surface::LockingCompound)
            }
            Some(ThreadState::Dry | ThreadState::AsSupplied) | None => self.bare_surface(),
        }
    }
}

/// How a coat rubs, with nothing added; none of those that no table was found for.
#[must_use]
pub fn surface_of(finish: Finish) -> Option<Surface> {
    match finish {
        Finish::Plain => Some(Surface::Dry),
        Finish::Black | Finish::Phosphate => Some(Surface::Black),
        Finish::Zinc => Some(Surface::Zinc),
        Finish::ZincNickel => Some(Surface::ZincNickel),
        Finish::ZincFlake => Some(Surface::ZincFlake),
        Finish::Cadmium => Some(Surface::Cadmium),
        Finish::HotDip | Finish::NickelChrome | Finish::Paint => None,
    }
}

/// What a thread is cut in, as far as it is one of the materials that have figures.
#[must_use]
pub fn tapped(material: Material) -> Option<Tapped> {
    match material {
        Material::Steel | Material::HardenedSteel | Material::SpringSteel | Material::Stainless => {
            Some(Tapped::Steel)
        }
        Material::CastIron => Some(Tapped::CastIron),
        Material::Brass => Some(Tapped::Brass),
        Material::Aluminium => Some(Tapped::Aluminium),
        Material::Magnesium => Some(Tapped::Magnesium),
        Material::Zinc => Some(Tapped::Zinc),
        Material::Plastic => Some(Tapped::Plastic),
        Material::Copper
        | Material::Rubber
        | Material::Glass
        | Material::Bearing
        | Material::Mixed => None,
    }
}

/// How thick everything under a head is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stack {
    /// At least so thick.
    pub least: measure::Length,
    /// At most so thick; none while a washer's thickness is not written.
    pub most: Option<measure::Length>,
}

/// The hole that the threads go into.
#[derive(Debug, Clone, PartialEq)]
pub struct Bore {
    /// Its thread as it is now: after a repair, the new one.
    pub thread: Option<Thread>,
    /// How deep it is.
    pub depth: Option<Band<measure::Length>>,
    /// How deep its thread goes.
    pub threaded: Option<Band<measure::Length>>,
    /// Whether it is said to have a bottom.
    pub blind: bool,
    /// What the thread is cut in.
    pub tapped: Option<Tapped>,
}

impl<'a> Hole<'a> {
    /// What is judged here, and at which stage: what is tight in it, or else what is meant
    /// for it, which is a plan.
    #[must_use]
    pub fn judged(&self) -> Option<(Hardware<'a>, Stage)> {
        match self.went_in.filter(|_| self.tight.is_some()) {
            Some(inside) => Some((inside, self.claim)),
            None => Some((self.meant?, Stage::Bench)),
        }
    }

    /// The tightening that counts, if the hole is tight.
    #[must_use]
    pub fn tightening(&self) -> Option<&'a Tightening> {
        let (_, one) = self.standing?;
        self.tight.map(|_| one)
    }

    /// The stack under the head here, washers counted.
    #[must_use]
    pub fn stack(&self, joint: &Joint<'a>) -> Option<Stack> {
        let grip = length(self.grip(joint)?)?;
        let mut stack = Stack {
            least: grip.least,
            most: Some(grip.most),
        };
        for washer in &self.washers {
            let thick = washer.record.thickness.as_ref().and_then(length);
            stack.least += thick.map_or(mm(0.0), |thick| thick.least);
            stack.most = thick.and_then(|thick| Some(stack.most? + thick.most));
        }
        Some(stack)
    }

    /// The hole that the threads go into here.
    #[must_use]
    pub fn bore(&self, joint: &Joint<'a>) -> Bore {
        let into = joint.record.into.as_ref();
        let repaired = self.record.repaired.as_ref();
        let new = repaired.and_then(|repair| repair.thread.as_ref());
        // A hole that was cut to a larger thread has another one, whichever that is.
        let larger = repaired.is_some_and(|repair| repair.kind == Some(RepairKind::Oversize));
        let old = into
            .and_then(|into| into.thread.as_ref())
            .filter(|_| !larger);
        // Below what was only cleaned the old thread goes on.
        let anew = repaired.filter(|repair| repair.kind != Some(RepairKind::Chased));
        let threaded = anew.and_then(|repair| repair.depth.as_ref());
        let threaded = threaded.or(into.and_then(|into| into.threaded.as_ref()));
        Bore {
            thread: new.or(old).and_then(|thread| thread.thread().ok()),
            depth: self.depth(joint).and_then(length),
            threaded: threaded.and_then(length),
            blind: into.is_some_and(|into| into.blind == Some(true)),
            tapped: into.and_then(|into| tapped(into.material?)),
        }
    }

    /// How far what is to be judged reaches into the hole: first the least, then the most
    /// that the records leave open; the least is none while a washer's thickness is not
    /// written. None for what has a nut on it and is no stud.
    #[must_use]
    pub fn reach(&self, joint: &Joint<'a>, bolt: &Fastener) -> Option<(Option<Reach>, Reach)> {
        let bore = self.bore(joint);
        let blind = bore.depth.filter(|_| bore.blind).map(|depth| depth.most);
        let through = bore.depth.filter(|_| !bore.blind).map(|depth| depth.most);
        let threaded = bore.threaded.map(|threaded| threaded.most).or(through);
        if bolt.form == Some(Form::Stud) {
            let set_in = length(bolt.set_in.as_ref()?)?;
            let reach = |set_in| Reach::of(set_in, mm(0.0), blind, threaded);
            return Some((Some(reach(set_in.least)), reach(set_in.most)));
        }
        if self.nut.is_some() {
            return None;
        }
        let long = length(bolt.length.as_ref()?)?;
        let stack = self.stack(joint)?;
        let least = stack
            .most
            .map(|most| Reach::of(long.least, most, blind, threaded));
        Some((least, Reach::of(long.most, stack.least, blind, threaded)))
    }

    /// How far what is to be judged stands out of the stack on the nut's side, at most.
    #[must_use]
    pub fn stands_out(&self, joint: &Joint<'a>, bolt: &Fastener) -> Option<measure::Length> {
        let long = length(bolt.length.as_ref()?)?;
        let set_in = match bolt.form {
            Some(Form::Stud) => length(bolt.set_in.as_ref()?)?.least,
            _ => mm(0.0),
        };
        Some(long.most - set_in - self.stack(joint)?.least)
    }
}

/// The torques among steps, each with its number.
pub fn torques(steps: &[StepText]) -> impl DoubleEndedIterator<Item = (usize, Quantity)> + '_ {
    let numbered = steps.iter().enumerate();
    numbered.filter_map(|(number, step)| match step.step() {
        Ok(Step::Torque(torque)) => Some((number, torque)),
        _ => None,
    })
}

/// Whether there are turns among steps: then a torque is only where they begin.
#[must_use]
pub fn turns(steps: &[StepText]) -> bool {
    let mut steps = steps.iter().filter_map(|step| step.step().ok());
    steps.any(|step| matches!(step, Step::Turn(_)))
}

/// The greatest torque among steps, with its number: what the wrench must reach.
#[must_use]
pub fn greatest(steps: &[StepText]) -> Option<(usize, Quantity)> {
    torques(steps).max_by(|(_, a), (_, b)| {
        let order = a.nominal().compare(&b.nominal());
        order.unwrap_or(std::cmp::Ordering::Equal)
    })
}

/// The coefficients of friction that are reckoned with: those that the build sets, or else
/// those of a surface, or else the widest that the tables have.
#[must_use]
pub fn friction(figures: Option<&Figures>, surface: Option<Surface>) -> Band<Ratio> {
    let usual = surface.map_or(Band::new(share(0.07), share(0.2)), Surface::friction);
    let least = figures
        .and_then(|figures| figures.friction_least)
        .map(share);
    let most = figures.and_then(|figures| figures.friction_most).map(share);
    // An end that is set moves the other where it would pass it.
    Band::new(
        least.unwrap_or(usual.least.min(most.unwrap_or(usual.least))),
        most.unwrap_or(usual.most.max(least.unwrap_or(usual.most))),
    )
}

/// The least engagement by rule of thumb, in diameters: what the build sets, or else what is
/// common.
#[must_use]
pub fn engagement(figures: Option<&Figures>, tapped: Tapped) -> Ratio {
    let set = figures.and_then(|figures| figures.engagement.as_ref());
    let field = |of: &Engagement| match tapped {
        Tapped::Steel => of.steel,
        Tapped::CastIron => of.cast_iron,
        Tapped::Brass => of.brass,
        Tapped::Aluminium => of.aluminium,
        Tapped::Magnesium => of.magnesium,
        Tapped::Zinc => of.zinc,
        Tapped::Plastic => of.plastic,
    };
    set.and_then(field)
        .map_or_else(|| tapped.rule_of_thumb(), share)
}

/// The share of a figure that two printings may differ by before it is a slip.
#[must_use]
pub fn slip(figures: Option<&Figures>) -> Ratio {
    let set = figures.and_then(|figures| figures.torque_slip);
    set.map_or_else(crate::reckon::printed::usual_slip, |of| percent(of.into()))
}

/// The part of its range that a wrench is used in.
#[must_use]
pub fn used_part(figures: Option<&Figures>) -> Band<Ratio> {
    let usual = wrench::usual_part();
    let low = figures.and_then(|figures| figures.wrench_low);
    let high = figures.and_then(|figures| figures.wrench_high);
    Band::new(
        low.map_or(usual.least, |of| percent(of.into())),
        high.map_or(usual.most, |of| percent(of.into())),
    )
}

/// How long a wrench's calibration holds: what the build sets, or else 12 months (ISO 6789-1
/// as commonly applied, from memory).
#[must_use]
pub fn calibration(figures: Option<&Figures>) -> Duration {
    let set = figures.and_then(|figures| figures.calibration.clone());
    set.unwrap_or_else(|| Duration("12 months".to_owned()))
}

impl Wrench {
    /// The day that it fell on, if it was not calibrated since it did.
    #[must_use]
    pub fn fell(&self) -> Option<Date> {
        let calibrated = self.calibrated.as_ref().and_then(date);
        let dropped = self.dropped.as_ref().and_then(date)?;
        calibrated
            .is_none_or(|day| day <= dropped)
            .then_some(dropped)
    }

    /// What it can be set to; none while its most is not written.
    #[must_use]
    pub fn marked(&self) -> Option<wrench::Wrench> {
        let most = torque(self.to.as_ref()?)?.most;
        let least = self.from.as_ref().and_then(torque);
        let least = least.map_or_else(|| measure::newton_metres(0.0), |from| from.least);
        Some(wrench::Wrench {
            marked: Band::new(least, most),
        })
    }

    /// It with what was put on its end; none while its length, or how far that reaches, is
    /// not written.
    #[must_use]
    pub fn with(&self, adapter: &Adapter) -> Option<wrench::Adapter> {
        let angle = match &adapter.angle {
            Some(angle) => measure::angle_of(&angle.quantity().ok()?)?.middle(),
            None => measure::degrees(0.0),
        };
        Some(wrench::Adapter {
            lever: length(self.length.as_ref()?)?.middle(),
            extension: length(adapter.extension.as_ref()?)?.middle(),
            angle,
        })
    }
}

/// How far one figure lies from another, as a share of that.
#[must_use]
pub fn off(one: measure::Torque, other: measure::Torque) -> measure::Ratio {
    ((one - other) / other).abs()
}

/// How much electroplating endangers hardware, and by what that is known, in words that follow
/// its name: `of class 12.9`. From which class on is for `figures` to set; none where nothing is
/// to be feared, or nothing known.
#[must_use]
pub fn brittle(
    figures: Option<&Figures>,
    fastener: Option<&Fastener>,
    material: Option<Material>,
) -> Option<(Risk, String)> {
    let hard = match material {
        Some(Material::SpringSteel) => Some("of spring steel"),
        Some(Material::HardenedSteel) => Some("of hardened steel"),
        None if fastener.is_some_and(|one| one.form == Some(Form::Clip)) => Some("a spring"),
        _ => None,
    };
    if let Some(hard) = hard {
        return Some((Risk::Every, hard.to_owned()));
    }
    let fastener = fastener?;
    if let Some(written) = &fastener.hardness
        && let Ok(figure) = written.quantity()
        && let Amount::Hardness { value, scale } = figure.low()
        && plating::is_brittle_at(scale, value)
    {
        return Some((Risk::Every, format!("measured at {}", written.as_str())));
    }
    let class = fastener.known_class()?;
    let as_metric = match class {
        Class::Bolt(..) => class,
        // 150,000 psi at least, which is 1034 MPa, and as hard (SAE J429).
        Class::Grade(8) => Class::Bolt(10, 9),
        _ => return None,
    };
    let from = |set: Option<&String>, usual| {
        let set = set.and_then(|set| Class::parse(set).ok());
        set.unwrap_or(usual)
    };
    let every = figures.and_then(|figures| figures.bake_from.as_ref());
    let older = figures.and_then(|figures| figures.bake_advised_from.as_ref());
    let risk = if as_metric >= from(every, Class::Bolt(12, 9)) {
        Risk::Every
    } else if as_metric >= from(older, Class::Bolt(10, 9)) {
        Risk::Older
    } else {
        return None;
    };
    Some((risk, format!("of class {class}")))
}

impl Fastener {
    /// How long it is baked after electroplating by ASTM B850, by what its class stands; none
    /// where the chart asks for nothing, or has nothing.
    #[must_use]
    pub fn baking(&self) -> Option<Band<measure::Time>> {
        plating::baking(&self.known_class()?.strength(measure::mm(10.0))?)
    }
}

/// `12 h`, `12 to 16 h`.
#[must_use]
pub fn hours_in_words(band: Band<measure::Time>) -> String {
    let Band { least, most } = band.map(measure::in_hours);
    if least < most {
        format!("{least} to {most} h")
    } else {
        format!("{least} h")
    }
}

impl Adapter {
    /// Whether it stands square to the wrench: then nothing is to be corrected.
    #[must_use]
    pub fn is_square(&self) -> bool {
        let angle = self.angle.as_ref().and_then(|angle| angle.quantity().ok());
        let angle = angle.and_then(|angle| measure::angle_of(&angle));
        angle.is_some_and(|angle| {
            (angle.least - measure::degrees(90.0)).abs() < measure::degrees(1.0)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_end_of_friction_that_is_set_moves_the_other() {
        let set = |least, most| {
            let figures = Figures {
                friction_least: least,
                friction_most: most,
                ..Figures::default()
            };
            friction(Some(&figures), None)
        };
        let band = |least, most| Band::new(share(least), share(most));
        assert_eq!(set(None, None), band(0.07, 0.2));
        assert_eq!(set(Some(0.1), None), band(0.1, 0.2));
        assert_eq!(set(Some(0.3), None), band(0.3, 0.3));
        assert_eq!(set(None, Some(0.05)), band(0.05, 0.05));
        assert_eq!(set(Some(0.1), Some(0.4)), band(0.1, 0.4));
    }
}
