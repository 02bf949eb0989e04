//! The torque sheet: a joint after the other, with what to set the wrench to, boxes to tick
//! and a line to sign.
//!
//! Joints stand by their assembly and name, as in the index of a book: somebody stands at the
//! car with the name of a joint, and looks for it on paper. In which order joints are done
//! hangs on what goes on first, and is no matter of this sheet. Inside a joint all goes by the
//! order of the work: steps from first to last, holes as they are tightened.
//!
//! What the book prints is shown letter by letter, with its ranges, tolerances and second
//! printings. What is worked out stands beside it behind `≈`, so that nobody takes it for the
//! book's. A box is ticked beforehand only where the record claims that step for good and
//! nothing has come off since.

use jiff::civil::Date;

use super::{NoSuch, Sheet, called, item, many, section, stamped};
use crate::model::Model;
use crate::model::assembly::{self, Holds, RepairKind, StepsDone, Tightening};
use crate::model::build::{Build, TorqueUnit, Wrench};
use crate::model::common::{
    CheckResult, Critical, Day, FittedAs, Name, Person, Source, StepText, ThreadState,
};
use crate::near::{in_order, spoken};
use crate::present::age::end;
use crate::present::hardware::{calibration, used_part};
use crate::present::joints::{Hole, Joint};
use crate::present::{Worked, date};
use crate::reckon::measure::torque_of;
use crate::reckon::quantity::{Form, Quantity};
use crate::reckon::step::Step;
use crate::reckon::unit::Unit;
use crate::reckon::wrench::Covers;
use crate::report::handover::is_good;
use crate::report::page::{Block, Entry, Item, Page};

/// What is said before all else. The signal words are those of ANSI Z535.6 (from memory).
const WARNING: &str = "WARNING: a joint that is tightened wrongly can come apart, and somebody \
    can be hurt. The maker's manual for these very parts comes first, then local rules and \
    licensed people, then this sheet. A second look at a critical joint is somebody else's.";
const LEGEND: &str = "What stands under \"printed\" is letter by letter what the records have from the \
    source that they name, under \"written\" what they have from none. What stands behind ≈ is worked out here and \
    printed nowhere. A box with an x is done for good.";

/// So many boxes go side by side; more steps than that go into a table of their own.
const SIDE_BY_SIDE: usize = 8;
/// A joint that nowhere asks for more is shown in pound-inches: below that a figure in
/// pound-feet has one digit before its point (common practice, no source).
const SMALL: &str = "10 lb-ft";
/// What stands for the same as in the row above.
const AS_ABOVE: &str = "as above";

/// The torque sheet of all joints, of an assembly with what goes into it, or of one joint.
///
/// # Errors
/// When nothing is called so.
pub fn sheet(worked: Worked<'_>, asked: Option<&str>, as_of: Date) -> Result<Sheet, NoSuch> {
    let model = &worked.folder.model;
    let build = &model.build;
    let asked = asked.map(|asked| asked.strip_prefix("assemblies/").unwrap_or(asked));
    let joints = chosen(worked, asked)?;
    let mut lines = vec![HEADS.map(str::to_owned).to_vec()];
    let mut sections = Vec::new();
    if !build.wrenches.is_empty() {
        sections.push(wrenches(build, as_of));
    }
    for joint in &joints {
        let shown = Shown::of(model, joint, worked.present.hangs_on(joint), as_of);
        sections.push(section(shown.head(), shown.blocks()));
        lines.extend(shown.lines());
    }
    let title = match asked {
        Some(asked) => format!("Torque sheet for {asked}: {}", build.name),
        None => format!("Torque sheet: {}", build.name),
    };
    let lead = vec![counted(&joints), WARNING.to_owned(), LEGEND.to_owned()];
    let page = Page {
        title,
        lead,
        sections,
    };
    Ok(Sheet {
        page: stamped(page, as_of),
        lines,
    })
}

/// The joints that were asked for, by assembly and name.
fn chosen<'w>(worked: Worked<'w>, asked: Option<&str>) -> Result<Vec<&'w Joint<'w>>, NoSuch> {
    let present = worked.present;
    let assembly = asked.and_then(|asked| present.assembly_named(asked));
    let is_asked = |joint: &&Joint<'_>| match (asked, assembly) {
        (None | Some("car"), _) => true,
        (_, Some(assembly)) => present.around(joint.assembly).contains(&assembly),
        (Some(name), None) => joint.name == name,
    };
    let mut joints: Vec<&Joint<'_>> = present.joints.iter().filter(is_asked).collect();
    joints.sort_by(|a, b| in_order(&a.name, &b.name));
    if let Some(asked) = asked
        && joints.is_empty()
    {
        if assembly.is_some() {
            return Err(NoSuch {
                what: format!("`{asked}` has no joints, nor has anything that goes into it"),
                remedy: "write them under `joints`, or name another assembly".to_owned(),
            });
        }
        let ids = present.assemblies.iter().map(|one| one.id);
        let names = present.joints.iter().map(|joint| joint.name.as_str());
        let ending = |name: &&str| name.split_once('/').is_some_and(|(_, own)| own == asked);
        let mut known: Vec<&str> = names.clone().filter(ending).collect();
        // A joint called by its own name alone is one of few.
        if known.is_empty() {
            known = ids.chain(names).collect();
        }
        return Err(NoSuch::named("assembly and no joint", asked, &known));
    }
    Ok(joints)
}

/// How many there are, and how far they have come.
fn counted(joints: &[&Joint<'_>]) -> String {
    let holes = joints
        .iter()
        .flat_map(|joint| joint.holes.iter().map(move |hole| (*joint, hole)));
    let done = holes
        .clone()
        .filter(|(joint, hole)| is_good(joint, hole))
        .count();
    let blocked: Vec<String> = joints
        .iter()
        .flat_map(|joint| {
            let blocked = joint.holes.iter().filter(|hole| is_blocked(hole));
            blocked.map(|hole| format!("{}/{}", joint.name, hole.name))
        })
        .collect();
    let mut says = format!(
        "{} with {}: {done} tight for good",
        many(joints.len(), "joint", "joints"),
        many(holes.count(), "hole", "holes")
    );
    if !blocked.is_empty() {
        says.push_str(&format!(
            ", {} that can't be tightened ({})",
            blocked.len(),
            blocked.join(", ")
        ));
    }
    says + "."
}

fn is_done(hole: &Hole<'_>) -> bool {
    hole.tight == Some(FittedAs::Final)
}

/// Whether nothing can be tightened in a hole until it is put right.
fn is_blocked(hole: &Hole<'_>) -> bool {
    let holds = hole.record.holds;
    matches!(holds, Some(Holds::BrokenBolt | Holds::StrippedThread))
}

/// The owned wrenches, and whether each can be trusted.
fn wrenches(build: &Build, as_of: Date) -> super::Section {
    let items = build.wrenches.iter().map(|(name, wrench)| {
        let ends = [&wrench.from, &wrench.to].map(|end| end.as_ref().map(|end| end.as_str()));
        let mut says = vec![match ends {
            [Some(from), Some(to)] => format!("{from} to {to}"),
            [None, Some(to)] => format!("up to {to}"),
            _ => "nothing is written of its range".to_owned(),
        }];
        let calibrated = wrench.calibrated.as_ref().and_then(date);
        says.push(match calibrated {
            Some(day) => format!("calibrated {day}"),
            None => "nothing is written of its calibration".to_owned(),
        });
        says.extend(doubts(build, wrench, as_of));
        item(name.as_str(), says.join(", "))
    });
    section("Wrenches".to_owned(), vec![Block::Items(items.collect())])
}

/// Why a wrench can't be trusted as it is.
fn doubts(build: &Build, wrench: &Wrench, as_of: Date) -> Vec<String> {
    let mut doubts = Vec::new();
    let calibrated = wrench.calibrated.as_ref().and_then(date);
    let holds = calibration(build.figures.as_ref());
    if let Some(ended) = calibrated.and_then(|day| end(day, &holds))
        && ended < as_of
    {
        doubts.push(format!("OUT OF CALIBRATION since {ended}"));
    }
    if let Some(day) = wrench.fell() {
        doubts.push(format!("DROPPED on {day} and not calibrated since"));
    }
    doubts
}

/// The owned wrenches that cover a torque in the part of their range that is used: those that
/// can be trusted before those that can't, those that cover all that it may be before those
/// that cover some of it, the finest first.
fn covering<'a>(build: &'a Build, torque: &Quantity, as_of: Date) -> Vec<(&'a str, &'a Wrench)> {
    let part = used_part(build.figures.as_ref());
    let Some(aim) = torque_of(torque) else {
        return Vec::new();
    };
    let covers = |(name, wrench): (&'a Name, &'a Wrench)| {
        let marked = wrench.marked()?;
        let in_part = match marked.covers(aim, part) {
            Covers::Fully => false,
            Covers::Partly => true,
            Covers::TooSmall | Covers::TooLarge => return None,
        };
        let rank = (!doubts(build, wrench, as_of).is_empty(), in_part);
        Some(((rank, marked.marked.most), (name.as_str(), wrench)))
    };
    let mut found: Vec<_> = build.wrenches.iter().filter_map(covers).collect();
    found.sort_by(|((a_rank, a), _), ((b_rank, b), _)| {
        a_rank.cmp(b_rank).then(a.value.total_cmp(&b.value))
    });
    found.into_iter().map(|(_, wrench)| wrench).collect()
}

fn unit(of: TorqueUnit) -> Option<Unit> {
    Unit::read(of.word()).ok()
}

/// A figure in a unit.
#[derive(Debug, Clone, Default)]
struct Figure {
    /// `46`, `37–43`, `44 ±10`.
    figure: String,
    /// `N·m`.
    unit: &'static str,
    /// What stands behind the unit: `±10 %`.
    share: String,
    /// Whether it was worked out; else it stands in the records.
    worked_out: bool,
}

impl Figure {
    /// A torque in a unit: as it is printed there, or else worked out.
    fn of(torque: &Quantity, unit: Unit) -> Option<Self> {
        let mut printings = std::iter::once(torque).chain(torque.also());
        if let Some(printed) = printings.find(|printed| printed.unit() == unit) {
            return Some(Self {
                figure: as_printed(printed.form()),
                unit: unit.name(),
                share: share(printed.form()),
                worked_out: false,
            });
        }
        let from = torque.unit();
        let convert = |value: f64| from.amount(value).in_unit(unit);
        let nominal = torque.nominal().in_unit(unit)?;
        let decimals = decimals(unit, nominal);
        let shown = |value: f64| Some(format!("{:.decimals$}", convert(value)?));
        let figure = match torque.form() {
            Form::Single(figure) => shown(figure.value())?,
            Form::Range { from, to } => format!("{}–{}", shown(from.value())?, shown(to.value())?),
            Form::Tolerance {
                nominal,
                percent: true,
                ..
            } => shown(nominal.value())?,
            Form::Tolerance {
                nominal,
                plus,
                minus,
                percent: false,
            } => {
                let around = sides(&shown(plus.value())?, &shown(minus.value())?);
                format!("{} {around}", shown(nominal.value())?)
            }
        };
        Some(Self {
            figure,
            unit: unit.name(),
            share: share(torque.form()),
            worked_out: true,
        })
    }

    fn shown(&self) -> String {
        match (self.figure.as_str(), self.worked_out) {
            ("", _) => String::new(),
            (figure, true) => format!("≈ {figure} {}{}", self.unit, self.share),
            (figure, false) => format!("{figure} {}{}", self.unit, self.share),
        }
    }
}

fn as_printed(form: &Form) -> String {
    match form {
        Form::Single(figure) => figure.text().to_owned(),
        Form::Range { from, to } => format!("{}–{}", from.text(), to.text()),
        Form::Tolerance {
            nominal,
            percent: true,
            ..
        } => nominal.text().to_owned(),
        Form::Tolerance {
            nominal,
            plus,
            minus,
            percent: false,
        } => format!("{} {}", nominal.text(), sides(plus.text(), minus.text())),
    }
}

/// A tolerance in per cent, which is the same in each unit and stands behind it.
fn share(form: &Form) -> String {
    match form {
        Form::Tolerance {
            plus,
            minus,
            percent: true,
            ..
        } => format!(" {} %", sides(plus.text(), minus.text())),
        _ => String::new(),
    }
}

fn sides(plus: &str, minus: &str) -> String {
    match plus == minus {
        true => format!("±{plus}"),
        false => format!("+{plus}/-{minus}"),
    }
}

/// As many decimals as a wrench can be set to, so that all figures of a column have the same
/// while they are below a hundred; one more below one, of which little would be left.
fn decimals(unit: Unit, value: f64) -> usize {
    let fine = if unit.name() == TorqueUnit::KilogramMetre.word() {
        2
    } else {
        1
    };
    fine + usize::from(value.abs() < 0.95) - usize::from(value.abs() >= 99.95)
}

/// One step as the sheet shows it.
struct StepShown<'a> {
    printed: &'a str,
    set: Figure,
    other: Figure,
    /// The wrenches that cover it, on a page that tells of each above.
    wrench: String,
    /// The same where nothing stands above.
    wrench_alone: String,
}

/// A list of steps.
struct Steps<'a> {
    /// For which hardware: none where all are done so.
    wanted_for: Option<&'static str>,
    steps: Vec<StepShown<'a>>,
}

/// What lists of steps are for, where those for new hardware are others.
const USED: &str = "used hardware";
const NEW: &str = "new hardware";

impl<'a> Steps<'a> {
    fn of(
        build: &'a Build,
        texts: &'a [StepText],
        wanted_for: Option<&'static str>,
        as_of: Date,
    ) -> Self {
        let read = |text: &StepText| match text.step() {
            Ok(Step::Torque(torque)) => Some(torque),
            _ => None,
        };
        let torques: Vec<Quantity> = texts.iter().filter_map(read).collect();
        let small = Quantity::parse(SMALL).ok().map(|small| small.low());
        let below = |torque: &Quantity| {
            small.is_some_and(|small| torque.high().compare(&small).is_some_and(|one| one.is_lt()))
        };
        let is_small = torques.iter().all(below);
        let steps = texts.iter().map(|text| {
            let mut shown = StepShown {
                printed: text.as_str(),
                set: Figure::default(),
                other: Figure::default(),
                wrench: String::new(),
                wrench_alone: String::new(),
            };
            if let Some(torque) = read(text) {
                let wrenches = covering(build, &torque, as_of);
                let first = wrenches.first().and_then(|(_, wrench)| scale(wrench));
                let (set, other) = units(build, &torque, first, is_small);
                let figure = |unit: Option<Unit>| Figure::of(&torque, unit?);
                shown.set = figure(set).unwrap_or_default();
                shown.other = figure(other).unwrap_or_default();
                let named = |(name, wrench): &(&str, &Wrench),
                             doubted: &dyn Fn(String) -> String| {
                    let own = scale(wrench);
                    // One that is marked in neither unit has its figure beside its name.
                    let at = match own == set || own == other {
                        true => String::new(),
                        false => figure(own)
                            .map_or_else(String::new, |figure| format!(" at {}", figure.shown())),
                    };
                    let doubts = doubts(build, wrench, as_of);
                    let doubts = match doubts.is_empty() {
                        true => String::new(),
                        false => format!(" ({})", doubted(doubts.join(", "))),
                    };
                    format!("{name}{at}{doubts}")
                };
                let told = |doubted: &dyn Fn(String) -> String| {
                    let names = wrenches.iter().map(|wrench| named(wrench, doubted));
                    let names: Vec<String> = names.collect();
                    match (names.is_empty(), build.wrenches.is_empty()) {
                        (true, true) => String::new(),
                        (true, false) => "NONE COVERS IT".to_owned(),
                        (false, _) => spoken(&names, "or"),
                    }
                };
                shown.wrench = told(&|_| "see above".to_owned());
                shown.wrench_alone = told(&|doubts| doubts);
            }
            shown
        });
        Self {
            wanted_for,
            steps: steps.collect(),
        }
    }

    /// Whether these are the steps of what went in.
    fn goes_for(&self, one: Option<&Tightening>) -> bool {
        let new = one.is_some_and(|one| one.new == Some(true));
        self.wanted_for.is_none_or(|what| (what == NEW) == new)
    }

    /// `has_source` says whether the figures are printed anywhere, as far as is known.
    fn table(&self, has_source: bool) -> Block {
        let as_written = if has_source { "printed" } else { "written" };
        let heads = ["step", as_written, "set to", "the same in", "wrench"];
        let rows = self.steps.iter().enumerate().map(|(number, step)| {
            let cells = [
                (number + 1).to_string(),
                step.printed.to_owned(),
                step.set.shown(),
                step.other.shown(),
                step.wrench.clone(),
            ];
            cells.map(Entry::Text).to_vec()
        });
        Block::Table {
            heads: heads.map(str::to_owned).to_vec(),
            rows: rows.collect(),
            figures: vec![true, false, true, true, false],
        }
    }
}

/// The unit of a wrench's scale.
fn scale(wrench: &Wrench) -> Option<Unit> {
    let end = wrench.to.as_ref().or(wrench.from.as_ref())?;
    Some(end.quantity().ok()?.unit())
}

/// The unit to set a wrench in, that of its scale or else what the build says, and the other
/// one: newton metres beside pounds, pounds beside newton metres.
fn units(
    build: &Build,
    torque: &Quantity,
    scale: Option<Unit>,
    is_small: bool,
) -> (Option<Unit>, Option<Unit>) {
    let metric = unit(TorqueUnit::NewtonMetre);
    let feet = unit(TorqueUnit::PoundFoot);
    let inches = Unit::read("lb-in").ok();
    let pounds = if is_small { inches } else { feet };
    let said = build.units.as_ref().and_then(|units| units.torque);
    let usual = match said.unwrap_or(TorqueUnit::NewtonMetre) {
        TorqueUnit::PoundFoot => pounds,
        other => unit(other),
    };
    let set = scale.or(usual);
    let other = match set == metric {
        true => {
            // The book's own pounds before any that are worked out.
            let printings = std::iter::once(torque).chain(torque.also());
            let printed = printings.map(Quantity::unit);
            let mut in_pounds = printed.filter(|unit| [feet, inches].contains(&Some(*unit)));
            in_pounds.next().or(pounds)
        }
        false => metric,
    };
    (set, other)
}

/// A joint, with its holes in the order of the work and its steps worked out.
struct Shown<'a, 'b> {
    model: &'a Model,
    joint: &'b Joint<'a>,
    holes: Vec<(Option<usize>, &'b Hole<'a>)>,
    steps: Vec<Steps<'a>>,
    /// What people's safety hangs on here.
    critical: Option<Critical>,
}

impl<'a, 'b> Shown<'a, 'b> {
    fn of(model: &'a Model, joint: &'b Joint<'a>, critical: Option<Critical>, as_of: Date) -> Self {
        let build = &model.build;
        let record = joint.record;
        let place = |hole: &Hole<'_>| {
            record
                .order
                .iter()
                .position(|one| one.as_str() == hole.name)
        };
        let mut holes: Vec<(Option<usize>, &Hole<'_>)> =
            joint.holes.iter().map(|hole| (place(hole), hole)).collect();
        // What the order does not name comes last.
        holes.sort_by(|a, b| {
            let rank = |place: Option<usize>| place.unwrap_or(usize::MAX);
            rank(a.0)
                .cmp(&rank(b.0))
                .then_with(|| in_order(a.1.name, b.1.name))
        });
        let differ = !record.steps_for_new.is_empty() && record.steps_for_new != record.steps;
        let mut steps = vec![Steps::of(
            build,
            &record.steps,
            differ.then_some(USED),
            as_of,
        )];
        if differ {
            steps.push(Steps::of(build, &record.steps_for_new, Some(NEW), as_of));
            steps.retain(|steps| !steps.steps.is_empty());
        }
        Self {
            model,
            joint,
            holes,
            steps,
            critical,
        }
    }

    fn head(&self) -> String {
        let name = self.joint.record.name.as_deref();
        let name = name.map_or_else(String::new, |name| format!(": {name}"));
        let critical = self
            .critical
            .map_or_else(String::new, |what| format!(" (critical: {})", what.word()));
        format!("{}{name}{critical}", self.joint.name)
    }

    fn blocks(&self) -> Vec<Block> {
        let mut blocks = vec![Block::Items(self.about())];
        blocks.extend(self.caution());
        if self.steps.iter().all(|steps| steps.steps.is_empty()) {
            blocks.push(Block::Text("No steps are written.".to_owned()));
        }
        let source = self.joint.record.source.as_ref();
        let has_source = source.is_some_and(|source| source.in_.is_some());
        for steps in self.steps.iter().filter(|steps| !steps.steps.is_empty()) {
            if let Some(wanted_for) = steps.wanted_for {
                blocks.push(Block::Text(format!("Steps for {wanted_for}:")));
            }
            blocks.push(steps.table(has_source));
        }
        if self.holes.is_empty() {
            blocks.push(Block::Text("No holes are written.".to_owned()));
        } else {
            blocks.extend(self.boxes());
        }
        if self.critical.is_some() {
            let labels = ["second check by", "day"];
            blocks.push(Block::Sign(labels.map(str::to_owned).to_vec()));
        }
        blocks
    }

    /// What holds for the whole joint.
    fn about(&self) -> Vec<Item> {
        let record = self.joint.record;
        let clamps: Vec<&str> = record.clamps.iter().map(|spot| spot.as_str()).collect();
        let mut items = vec![item(
            "clamps",
            match clamps.is_empty() {
                true => "not written".to_owned(),
                false => clamps.join(", "),
            },
        )];
        items.extend(self.hardware());
        if let Some(into) = record.into.as_ref() {
            items.push(item("into", into_words(into)));
        }
        items.push(item(
            "threads",
            record.threads.map_or("not written", ThreadState::word),
        ));
        let order: Vec<&str> = record.order.iter().map(|hole| hole.as_str()).collect();
        if self.holes.len() > 1 || !order.is_empty() {
            items.push(item(
                "order",
                match order.is_empty() {
                    true => "no order is written".to_owned(),
                    false => order.join(", "),
                },
            ));
        }
        items.push(item(
            "source",
            source(&self.model.build, record.source.as_ref()),
        ));
        let least = record.least.as_ref();
        items.extend(least.map(|least| item("least at a re-check", least.as_str())));
        let again = [
            record
                .again_after
                .as_ref()
                .map(|after| after.as_str().to_owned()),
            record.again_after_heat_cycles.map(|cycles| {
                let cycles = usize::try_from(cycles).unwrap_or(usize::MAX);
                let cycles = many(cycles, "heat cycle", "heat cycles");
                format!("{cycles}, hot and cold again")
            }),
        ];
        let again: Vec<String> = again.into_iter().flatten().collect();
        if !again.is_empty() {
            items.push(item(
                "tighten again",
                format!("after {}", again.join("; after ")),
            ));
        }
        items.extend(record.note.as_ref().map(|note| item("note", note.as_str())));
        items.extend(
            record
                .next_time
                .as_ref()
                .map(|note| item("next time", note.as_str())),
        );
        items
    }

    /// What goes into the holes: how many of which, and into which holes where they differ.
    fn hardware(&self) -> Vec<Item> {
        let mut lots: Vec<(Vec<String>, Vec<&str>)> = Vec::new();
        for (_, hole) in &self.holes {
            let pieces = pieces(self.model, hole);
            match lots.iter_mut().find(|(known, _)| *known == pieces) {
                Some((_, holes)) => holes.push(hole.name),
                None => lots.push((pieces, vec![hole.name])),
            }
        }
        let alone = lots.len() == 1;
        let items = lots.into_iter().map(|(pieces, holes)| {
            let mut says = match pieces.is_empty() {
                true => "no hardware is written".to_owned(),
                false => pieces.join("; with "),
            };
            if !alone {
                says.push_str(&format!(" ({})", holes.join(", ")));
            }
            item(&many(holes.len(), "hole", "holes"), says)
        });
        items.collect()
    }

    /// What stands against tightening it.
    fn caution(&self) -> Option<Block> {
        let blocked = self.holes.iter().filter(|(_, hole)| is_blocked(hole));
        let blocked: Vec<String> = blocked
            .map(|(_, hole)| {
                let holds = hole.record.holds.map_or("", Holds::word);
                let wants = hole.record.wants.as_ref();
                let wants = wants.map_or_else(
                    || ", and nothing is written of how it is put right".to_owned(),
                    |job| format!(", to be put right by {}", job.as_str()),
                );
                format!("{} ({holds}{wants})", hole.name)
            })
            .collect();
        if blocked.is_empty() {
            return None;
        }
        let word = match self.critical {
            Some(_) => "WARNING",
            None => "CAUTION",
        };
        Some(Block::Text(format!(
            "{word}: this joint can't be tightened for good: {}.",
            blocked.join("; ")
        )))
    }

    /// The most steps that any hardware has.
    fn most(&self) -> usize {
        let counts = self.steps.iter().map(|steps| steps.steps.len());
        counts.max().unwrap_or(0)
    }

    /// The boxes to tick: a row a hole.
    fn boxes(&self) -> Vec<Block> {
        let record = self.joint.record;
        let again = record.again_after.is_some() || record.again_after_heat_cycles.is_some();
        let critical = self.critical.is_some();
        let ordered = !record.order.is_empty();
        let all: Vec<usize> = (0..self.most()).collect();
        let parts: Vec<&[usize]> = match all.is_empty() {
            true => vec![&all],
            false => all.chunks(SIDE_BY_SIDE).collect(),
        };
        let last = parts.len() - 1;
        let tables = parts.into_iter().enumerate().map(|(part, steps)| {
            let is_last = part == last;
            let mut heads = vec!["hole".to_owned()];
            if ordered {
                heads.insert(0, "no.".to_owned());
            }
            heads.extend(steps.iter().map(|step| self.step_head(*step)));
            if all.is_empty() {
                heads.push("done".to_owned());
            }
            if is_last && critical {
                heads.push("2nd".to_owned());
            }
            if is_last && again {
                heads.push("again".to_owned());
            }
            if is_last {
                heads.push("as it stands".to_owned());
            }
            let mut above = String::new();
            let rows = self.holes.iter().map(|(place, hole)| {
                let number = place.map_or_else(String::new, |place| (place + 1).to_string());
                let mut row: Vec<Entry> = vec![hole.name.into()];
                if ordered {
                    row.insert(0, number.into());
                }
                let boxed = |ticked: bool| match is_blocked(hole) {
                    true => Entry::Text("–".to_owned()),
                    false => Entry::Box(ticked && is_done(hole)),
                };
                row.extend(steps.iter().map(|step| boxed(self.ticked(hole) > *step)));
                if all.is_empty() {
                    row.push(boxed(true));
                }
                if is_last && critical {
                    row.push(boxed(hole.standing.is_some_and(|(_, one)| is_checked(one))));
                }
                if is_last && again {
                    let again = |one: &Tightening| one.again == Some(true) && one.until.is_none();
                    row.push(boxed(hole.record.done.iter().any(again)));
                }
                if is_last {
                    let stands = stands(hole);
                    row.push(match stands.len() > AS_ABOVE.len() && stands == above {
                        true => AS_ABOVE.into(),
                        false => stands.as_str().into(),
                    });
                    above = stands;
                }
                row
            });
            let mut figures = vec![false; heads.len()];
            figures[0] = ordered;
            Block::Table {
                rows: rows.collect(),
                heads,
                figures,
            }
        });
        tables.collect()
    }

    /// What stands above a step's boxes: its number, and for which hardware it is where it is
    /// not for all.
    fn step_head(&self, step: usize) -> String {
        let of = |steps: &&Steps<'_>| steps.steps.len() > step;
        let mut have = self.steps.iter().filter(of);
        match (have.next(), have.next(), self.steps.len()) {
            (Some(one), None, 2..) => {
                let word = one.wanted_for.unwrap_or_default();
                let word = word.split(' ').next().unwrap_or_default();
                format!("{} {word}", step + 1)
            }
            _ => (step + 1).to_string(),
        }
    }

    /// How many of the steps have been done, as far as that is written.
    fn ticked(&self, hole: &Hole<'_>) -> usize {
        let record = self.joint.record;
        // Tightening once more after heat takes back no step.
        let standing = hole.went_in_at().map(|(_, one)| one);
        match standing.and_then(|one| one.steps.as_ref()) {
            Some(StepsDone::Count(count)) => usize::try_from(*count).unwrap_or(usize::MAX),
            Some(StepsDone::Each(steps)) => {
                let new = standing.is_some_and(|one| one.new == Some(true));
                let wanted = match new && !record.steps_for_new.is_empty() {
                    true => &record.steps_for_new,
                    false => &record.steps,
                };
                // What was done again from the first on counts, whatever went before.
                match steps.ends_with(wanted) {
                    true => wanted.len(),
                    false => 0,
                }
            }
            None => 0,
        }
    }

    /// The lines for a spreadsheet: a line for each step of each hole, in the order of the work.
    fn lines(&self) -> Vec<Vec<String>> {
        let mut holes: Vec<(Option<usize>, Option<&Hole<'a>>)> = self
            .holes
            .iter()
            .map(|(place, hole)| (*place, Some(*hole)))
            .collect();
        // What is written of a joint without holes has its lines as well.
        if holes.is_empty() {
            holes.push((None, None));
        }
        let mut lines = Vec::new();
        for steps in &self.steps {
            let mut each: Vec<(usize, Option<&StepShown<'_>>)> = (1..)
                .zip(&steps.steps)
                .map(|(number, step)| (number, Some(step)))
                .collect();
            if each.is_empty() {
                each.push((0, None));
            }
            for (number, step) in each {
                for (place, hole) in &holes {
                    lines.push(self.cells(steps, number, step, *place, *hole));
                }
            }
        }
        lines
    }

    fn cells(
        &self,
        steps: &Steps<'_>,
        number: usize,
        step: Option<&StepShown<'_>>,
        place: Option<usize>,
        hole: Option<&Hole<'_>>,
    ) -> Vec<String> {
        let record = self.joint.record;
        let book = record.source.as_ref();
        let (title, edition) = book_of(&self.model.build, book);
        let word = |text: Option<&str>| text.unwrap_or_default().to_owned();
        let clamps: Vec<&str> = record.clamps.iter().map(|spot| spot.as_str()).collect();
        let washers = hole.map_or(&[][..], |hole| &hole.record.washers);
        let washers: Vec<&str> = washers.iter().map(|washer| washer.as_str()).collect();
        let meant = hole.and_then(|hole| hole.meant);
        let meant = meant.map(|meant| meant.record);
        let last = hole.and_then(|hole| Some(hole.standing?.1));
        let is_ticked = hole.is_some_and(|hole| is_done(hole) && self.ticked(hole) >= number)
            && steps.goes_for(last);
        let figure = |figure: Option<&Figure>| {
            let figure = figure.cloned().unwrap_or_default();
            let (written, unit) = (figure.figure + &figure.share, figure.unit.to_owned());
            match figure.worked_out {
                true => [String::new(), written, unit],
                false => [written, String::new(), unit],
            }
        };
        let mut line = vec![
            self.joint.name.clone(),
            word(record.name.as_deref()),
            clamps.join("; "),
            word(self.critical.map(Critical::word)),
            word(hole.map(|hole| hole.name)),
            place.map_or_else(String::new, |place| (place + 1).to_string()),
            word(hole.and_then(|hole| Some(hole.record.calls_for.as_ref()?.as_str()))),
            word(meant.and_then(|one| Some(one.form?.word()))),
            word(meant.and_then(|one| Some(one.thread.as_ref()?.0.as_str()))),
            word(meant.and_then(|one| Some(one.length.as_ref()?.as_str()))),
            word(meant.and_then(|one| one.class.as_deref())),
            word(meant.and_then(|one| Some(one.across_flats.as_ref()?.as_str()))),
            word(hole.and_then(|hole| Some(hole.record.then.as_ref()?.as_str()))),
            washers.join("; "),
            word(steps.wanted_for),
            step.map_or_else(String::new, |_| number.to_string()),
            word(step.map(|step| step.printed)),
        ];
        line.extend(figure(step.map(|step| &step.set)));
        line.extend(figure(step.map(|step| &step.other)));
        line.extend([
            word(step.map(|step| step.wrench_alone.as_str())),
            word(record.threads.map(ThreadState::word)),
            title,
            edition,
            word(book.and_then(|book| book.page.as_deref())),
            word(
                hole.filter(|hole| is_blocked(hole))
                    .map(|_| "can't be tightened"),
            ),
            word(hole.and_then(|hole| hole.record.holds.map(Holds::word))),
            if is_ticked { "x" } else { "" }.to_owned(),
            word(hole.and_then(|hole| hole.tight.map(FittedAs::word))),
            word(last.and_then(|one| Some(one.when.as_ref()?.as_str()))),
            word(last.and_then(|one| Some(one.by.as_ref()?.as_str()))),
            last.map_or_else(String::new, |one| checkers(one).join("; ")),
        ]);
        line
    }
}

/// The columns for a spreadsheet. What is printed and what was worked out never share one.
const HEADS: [&str; 35] = [
    "joint",
    "name",
    "clamps",
    "critical",
    "hole",
    "order",
    "hardware",
    "form",
    "thread",
    "length",
    "class",
    "across flats",
    "nut",
    "washers",
    "steps for",
    "step",
    "as printed",
    "set to (printed)",
    "set to (worked out)",
    "unit",
    "other (printed)",
    "other (worked out)",
    "other unit",
    "wrench",
    "threads",
    "book",
    "edition",
    "page",
    "stands against it",
    "holds",
    "done",
    "tight as",
    "tightened on",
    "by",
    "checked by",
];

/// What goes into a hole, from the bolt to the washers; what went in instead is told of the
/// tightening.
fn pieces(model: &Model, hole: &Hole<'_>) -> Vec<String> {
    let record = hole.record;
    let ids = record
        .calls_for
        .iter()
        .chain(&record.then)
        .chain(&record.washers);
    ids.map(|id| called(model, id.as_str())).collect()
}

fn into_words(into: &assembly::ThreadedInto) -> String {
    let mut words: Vec<String> = Vec::new();
    words.extend(into.material.map(|material| material.word().to_owned()));
    words.extend(into.class.as_ref().map(|class| format!("class {class}")));
    words.extend(into.thread.as_ref().map(|thread| thread.0.clone()));
    let depth = |what: &str, length: &Option<crate::model::common::Length>| {
        length
            .as_ref()
            .map(|length| format!("{} {what}", length.as_str()))
    };
    words.extend(depth("deep", &into.depth));
    words.extend(depth("threaded", &into.threaded));
    words.extend(
        into.blind
            .map(|blind| if blind { "blind" } else { "right through" }.to_owned()),
    );
    words.join(", ")
}

/// The title and the edition of a book.
fn book_of(build: &Build, source: Option<&Source>) -> (String, String) {
    let Some(id) = source.and_then(|source| source.in_.as_ref()) else {
        return (String::new(), String::new());
    };
    let mut books = build.sources.iter();
    let book = books.find(|(name, _)| name.as_str() == id.as_str());
    let book = book.map(|(_, book)| book);
    let title = book.and_then(|book| book.title.as_deref());
    let edition = book.and_then(|book| book.edition.as_deref());
    (
        title.unwrap_or(id.as_str()).to_owned(),
        edition.unwrap_or_default().to_owned(),
    )
}

fn source(build: &Build, source: Option<&Source>) -> String {
    let (title, edition) = book_of(build, source);
    let Some(source) = source.filter(|_| !title.is_empty()) else {
        return "NO SOURCE WRITTEN: look the figures up before they are used".to_owned();
    };
    let mut words = vec![title];
    if !edition.is_empty() {
        words.push(format!("edition {edition}"));
    }
    words.push(match &source.page {
        Some(page) => format!("page {page}"),
        None => "no page is written".to_owned(),
    });
    words.extend(source.note.clone());
    words.join(", ")
}

fn is_checked(one: &Tightening) -> bool {
    // A look of one's own on the day is none (checker-did-it).
    let by_another = |who: Option<&Person>| who.is_none() || who != one.by.as_ref();
    let later = |day: Option<&Day>| day.is_some() && day != one.when.as_ref();
    let looked = one
        .checked_by
        .as_ref()
        .is_some_and(|who| by_another(Some(who)))
        || (one.checked.iter())
            .any(|look| by_another(look.by.as_ref()) || later(look.when.as_ref()));
    looked && one.found_bad().is_none()
}

/// Who looked at it, when, and what came of it.
fn checkers(one: &Tightening) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    all.extend(one.checked_by.as_ref().map(|who| who.as_str().to_owned()));
    all.extend(one.checked.iter().map(|look| {
        let mut words = look
            .by
            .as_ref()
            .map_or("somebody", |who| who.as_str())
            .to_owned();
        if let Some(day) = &look.when {
            words.push_str(&format!(" {}", day.as_str()));
        }
        if look.found == Some(CheckResult::Bad) {
            words.push_str(" and found BAD");
        }
        words
    }));
    all
}

/// What is written of a hole: what is in it, what was done, by whom.
fn stands(hole: &Hole<'_>) -> String {
    let record = hole.record;
    let mut says: Vec<String> = Vec::new();
    if let Some(holds) = record.holds {
        let word = holds.word();
        let wants = record.wants.as_ref();
        let wants = wants.map_or_else(String::new, |job| format!(", see {}", job.as_str()));
        says.push(match holds {
            Holds::BrokenBolt | Holds::StrippedThread => format!("CAN'T BE DONE: {word}{wants}"),
            Holds::UnprovenThread | Holds::Dirt => format!("first: {word}{wants}"),
            Holds::MockUpHardware | Holds::Nothing => format!("holds {word}{wants}"),
        });
    } else if let Some(wants) = &record.wants {
        says.push(format!("see {}", wants.as_str()));
    }
    if let Some(repair) = &record.repaired {
        let kind = repair.kind.map_or("repaired", RepairKind::word);
        let proved = repair.proved.as_ref();
        let proved = proved.map_or_else(
            || "not proved".to_owned(),
            |torque| format!("proved with {}", torque.as_str()),
        );
        says.push(format!("thread repaired: {kind}, {proved}"));
    }
    if let Some(off) = &hole.loosened {
        says.push(format!("LOOSE since {}: {}", off.when, off.what));
    }
    match hole.standing {
        Some((_, one)) => says.push(tightened(one, hole)),
        None => {
            let all = record.by_day();
            let over = all.last().and_then(|(_, one)| one.until.as_ref());
            says.extend(over.map(|day| format!("loosened {}", day.as_str())));
        }
    }
    // What stands for the whole joint is not so here.
    let depth = record.depth.as_ref();
    says.extend(depth.map(|depth| format!("{} deep here", depth.as_str())));
    says.extend(record.note.clone());
    says.join("; ")
}

/// What was put on the end of the wrench: without it what it was set to looks wrong.
fn reached(one: &Tightening) -> String {
    let Some(adapter) = one.adapter.as_ref() else {
        return String::new();
    };
    let length = adapter.extension.as_ref().map(|length| length.as_str());
    let angle = adapter.angle.as_ref();
    let angle = angle.map_or_else(String::new, |angle| format!(" at {}", angle.as_str()));
    match length {
        Some(length) => format!(" on an extension of {length}{angle}"),
        None => format!(" on an extension{angle}"),
    }
}

fn tightened(one: &Tightening, hole: &Hole<'_>) -> String {
    let was = if hole.loosened.is_some() {
        "was tight"
    } else {
        "tight"
    };
    let stage = match one.as_ {
        Some(FittedAs::Final) => "for good",
        _ => "for mock-up",
    };
    let day = one.when.as_ref().map_or("", |day| day.as_str());
    let mut words = vec![format!("{was} {stage} {day}").trim().to_owned()];
    words.push(match &one.steps {
        Some(StepsDone::Count(count)) => many(
            usize::try_from(*count).unwrap_or(usize::MAX),
            "step",
            "steps",
        ),
        Some(StepsDone::Each(steps)) => {
            let steps: Vec<&str> = steps.iter().map(|step| step.as_str()).collect();
            format!("steps {}", steps.join(", "))
        }
        None => "steps not written".to_owned(),
    });
    let set = one
        .set
        .as_ref()
        .map(|set| format!("set to {}", set.as_str()));
    let with = one
        .with
        .as_ref()
        .map(|with| format!("with {}{}", with.as_str(), reached(one)));
    let set: Vec<String> = with.into_iter().chain(set).collect();
    if !set.is_empty() {
        words.push(set.join(" "));
    }
    words.extend(one.threads.map(|threads| threads.word().to_owned()));
    if let (Some(went_in), Some(meant)) = (hole.went_in, hole.meant)
        && went_in.id != meant.id
    {
        words.push(format!("{} went in", went_in.id));
    }
    let other = one.then.as_ref();
    let other = other.filter(|nut| Some(*nut) != hole.record.then.as_ref());
    words.extend(other.map(|nut| format!("{} went on", nut.as_str())));
    if !one.washers.is_empty() && one.washers != hole.record.washers {
        let under: Vec<&str> = one.washers.iter().map(|washer| washer.as_str()).collect();
        words.push(format!("{} went under", spoken(&under, "and")));
    }
    if one.new == Some(true) {
        words.push("new".to_owned());
    }
    if one.again == Some(true) {
        words.push("tightened again".to_owned());
    }
    words.extend(one.by.as_ref().map(|who| format!("by {}", who.as_str())));
    let checkers = checkers(one);
    if !checkers.is_empty() {
        words.push(format!("checked by {}", checkers.join(" and ")));
    }
    words.join(", ")
}
