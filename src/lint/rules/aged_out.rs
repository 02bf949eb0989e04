//! # aged-out
//!
//! Rubber, fluid or sealant is older than the life that its part states.
//!
//! A hose hardens on the shelf, brake fluid draws water out of the air. How long a
//! thing lasts is what its maker says: the check only reckons. Months and years
//! are those of the calendar; what is known to the month or the year counts from
//! the last day of it. What is planned or on counts, and what something is filled
//! with; a piece in a box does not.
//!
//! Planned or on for mock-up it is a warning, on for good or closed over an error.
//! On brakes and fuel it is an error from the start. What was fresh when it was
//! filled in and grew old there is a warning until it is closed over or on for
//! good in the car, on brakes too: time passes by itself, and `until` says when it
//! was drained.
//!
//! Where nothing says when a life began, that is a warning. A life counted from
//! when it was `opened` has not begun in a closed tin, nor has one from when it
//! was `fitted`, until the piece is on for good.
//!
//! Old hoses and fluids in brakes and fuel can kill. A date that is still good
//! does not make a cracked or swollen hose good: look, and keep to what its maker
//! and the maker of the car say, whichever is shorter.
//!
//! ## Wrong
//!
//! ```yaml parts/all.yaml
//! top-hose:
//!   name: Top hose
//!   life: {lasts: 8 years, from: made, rule: {in: hose-sheet, page: "2"}}
//!   pieces:
//!     H1: {made: 2009-05, goes: cooling/top-hose}
//!     H2: {goes: cooling/heater-hose, bought: {when: 2025-11-04}}
//! brake-hose:
//!   name: Brake hose, front
//!   critical: brakes
//!   life: {lasts: 10 years, from: made}
//!   pieces: {B1: {made: "2014", goes: brakes/hose}}
//! brake-fluid:
//!   name: Brake fluid
//!   carries: brake fluid
//!   life: {lasts: 1 year, from: opened}
//!   pieces: {T1: {opened: 2024-11-10}}
//! coolant:
//!   name: Coolant
//!   life: {lasts: 3 years, from: fitted}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! cooling:
//!   in: car
//!   places: {top-hose: {}, heater-hose: {}}
//!   fills: [{what: coolant, when: 2022-09-01}]
//! brakes:
//!   in: car
//!   places: {hose: {}}
//!   fills: [{what: brake-fluid, from: brake-fluid/T1, when: 2026-02-14}]
//! ```
//!
//! ```yaml build.yaml
//! name: Example
//! sources: {hose-sheet: {title: Hose maker's sheet}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:4:11: warning: `cooling` was filled with `coolant` on 2022-09-01, 3 years ago; that lasts 3 years, and was over on 2025-09-01 [aged-out]
//!     parts/all.yaml:19:17: how long it lasts
//!     to do: change it, and write `until` the day that the old was drained
//! assemblies/all.yaml:8:11: error: `brakes` was filled on 2026-02-14 out of `brake-fluid/T1`, which was past its life of 1 year by then: opened 2024-11-10; it was over on 2025-11-10 [aged-out]
//!     parts/all.yaml:16:25: its date
//!     parts/all.yaml:15:17: how long it lasts
//!     to do: drain it and fill it out of a fresh tin; if a date is wrong, mend it
//! parts/all.yaml:5:31: warning: `top-hose/H1` is meant for cooling/top-hose, and is past its life of 8 years: made 2009-05, at least 16 years ago; it was over on 2017-05-31 [aged-out]
//!     parts/all.yaml:5:16: its date
//!     parts/all.yaml:3:17: how long it lasts, by hose-sheet, page 2
//!     to do: put a fresh one there; if a date is wrong, mend it
//! parts/all.yaml:6:16: warning: `top-hose/H2` is meant for cooling/heater-hose and lasts 8 years, and nothing says when it was made [aged-out]
//!     parts/all.yaml:3:17: how long it lasts, by hose-sheet, page 2
//!     to do: read the date on it and write it under `made`
//! parts/all.yaml:11:37: error: `brake-hose/B1` is meant for brakes/hose, and is past its life of 10 years: made 2014, at least 11 years ago; it was over on 2024-12-31 [aged-out]
//!     parts/all.yaml:11:23: its date
//!     parts/all.yaml:10:17: how long it lasts
//!     to do: put a fresh one there; if a date is wrong, mend it
//! ```
//!
//! ## Right
//!
//! The old hose is kept to copy from, the new one is on, and the fluid came out of
//! a fresh tin.
//!
//! ```yaml parts/all.yaml
//! top-hose:
//!   name: Top hose
//!   life: {lasts: 8 years, from: made}
//!   pieces:
//!     H1: {made: "2009", keep: pattern}
//!     H2: {condition: serviceable, made: 2018-03-02, goes: cooling/top-hose}
//! coolant:
//!   name: Coolant
//!   life: {lasts: 2 years, from: opened}
//!   pieces: {C1: {opened: 2025-06}}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! cooling:
//!   in: car
//!   places: {top-hose: {}}
//!   fills: [{what: coolant, from: coolant/C1, when: 2025-09-01}]
//! ```

use jiff::civil::Date;

use crate::finding::{Finding, Level};
use crate::lint::at::{Spot, how};
use crate::lint::{Context, Rule};
use crate::model::Kind;
use crate::model::common::{Critical, Filling, Stage};
use crate::model::part::{self, Carries, Life, LifeFrom, Part};
use crate::present::age::{Age, Began, age, began, end, how_long};
use crate::present::{Piece, date};
use crate::yaml::Step;

/// The rule.
pub const RULE: Rule = Rule {
    name: "aged-out",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    let present = cx.present();
    for piece in &present.pieces {
        findings.extend(of_piece(cx, piece));
        let stay = present.foremost(piece);
        for (number, fill) in piece.record.fills.iter().enumerate() {
            let way: &[Step] = &["fills".into(), number.into()];
            let filled = Filled {
                fill,
                name: format!("`{}`", piece.name()),
                spot: cx.in_piece_at(piece, way),
                claim: stay.map_or(Stage::Bench, |stay| stay.claim),
                early: is_early(piece.of),
            };
            findings.extend(filled.finding(cx));
        }
    }
    for (number, assembly) in present.assemblies.iter().enumerate() {
        for (at, fill) in assembly.record.fills.iter().enumerate() {
            let way: &[Step] = &["fills".into(), at.into()];
            let critical = assembly.record.critical;
            let filled = Filled {
                fill,
                name: format!("`{}`", assembly.id),
                spot: cx.value_at(Kind::Assemblies, assembly.id, way),
                claim: present.stage_of_assembly(number),
                early: matches!(critical, Some(Critical::Brakes | Critical::Fuel)),
            };
            findings.extend(filled.finding(cx));
        }
    }
}

/// Whether it is one of brakes or fuel.
fn is_early(part: &Part) -> bool {
    matches!(part.critical, Some(Critical::Brakes | Critical::Fuel))
        || matches!(part.carries, Some(Carries::BrakeFluid | Carries::Fuel))
}

fn of_piece(cx: &Context<'_>, piece: &Piece<'_>) -> Option<Finding> {
    let present = cx.present();
    let stay = present.foremost(piece)?;
    let life = piece.of.life.as_ref()?;
    let lasts = life.lasts.as_ref()?.as_str();
    let Age { from, began, ends, outlived } = age(piece, cx.facts.as_of)?;
    let where_ = format!("`{}` {}", piece.name(), how(present, stay));
    // In a closed tin a life has not begun; what is on was opened, whatever is written.
    let unsaid = match began {
        Began::Unknown | Began::Before(_) => true,
        Began::NotYet => from == LifeFrom::Opened && stay.is_on(),
        Began::On { .. } => false,
    };
    let (message, remedy, unknown) = if let Some(ends) = ends.filter(|_| outlived) {
        let since = since(piece.record, from, began)?;
        let ago = ago(began, cx.facts.as_of)?;
        let message = format!("{where_}, and is past its life of {lasts}: {since}, {ago}; it was over on {ends}");
        (message, "put a fresh one there; if a date is wrong, mend it".to_owned(), false)
    } else if unsaid {
        let (what, key) = match from {
            LifeFrom::Made => ("made", "made"),
            LifeFrom::Opened | LifeFrom::Fitted => ("opened", "opened"),
        };
        // A day that is none is told as such.
        let way = ["pieces".into(), piece.mark.into(), key.into()];
        if cx.value_at(Kind::Parts, piece.part, &way).is_some() {
            return None;
        }
        let message = format!("{where_} and lasts {lasts}, and nothing says when it was {what}");
        (message, format!("read the date on it and write it under `{key}`"), true)
    } else {
        return None;
    };
    let early = is_early(piece.of) || in_early_assembly(cx, stay.place);
    let light = if early && !unknown { Level::Error } else { Level::Warning };
    let finding = cx.finding_in(cx.stay_at(stay), message, remedy)?;
    let mut finding = finding.by_claim(stay.claim, light);
    if unknown {
        finding.level = Level::Warning;
    }
    let key = match from {
        LifeFrom::Made => "made",
        LifeFrom::Opened => "opened",
        LifeFrom::Fitted => "fitted",
    };
    if !unknown && matches!(began, Began::On { .. }) && from != LifeFrom::Fitted {
        finding = finding.see_at(cx, cx.in_piece_at(piece, &[key.into()]), "its date");
    }
    Some(see_life(finding, cx, piece.part, life))
}

fn in_early_assembly(cx: &Context<'_>, place: usize) -> bool {
    let present = cx.present();
    let around = present.around(present.places[place].assembly);
    let mut critical = around.into_iter().map(|one| present.assemblies[one].record.critical);
    critical.any(|one| matches!(one, Some(Critical::Brakes | Critical::Fuel)))
}

/// When a life began, in words, as it is written where it is written.
fn since(piece: &part::Piece, from: LifeFrom, began: Began) -> Option<String> {
    let written = match from {
        LifeFrom::Made => piece.made.as_ref(),
        LifeFrom::Opened => piece.opened.as_ref(),
        LifeFrom::Fitted => None,
    };
    let did = match from {
        LifeFrom::Made => "made",
        LifeFrom::Opened => "opened",
        LifeFrom::Fitted => "on for good since",
    };
    Some(match (began, written) {
        (Began::On { .. }, Some(written)) => format!("{did} {}", written.as_str()),
        (Began::On { day, .. }, None) => format!("{did} {day}"),
        (Began::Before(day), _) => format!("here since {day}"),
        (Began::Unknown | Began::NotYet, _) => return None,
    })
}

/// How long ago a life began.
fn ago(began: Began, today: Date) -> Option<String> {
    Some(match began {
        Began::On { day, exact: true } => format!("{} ago", how_long(day, today)),
        Began::On { day, exact: false } | Began::Before(day) => {
            format!("at least {} ago", how_long(day, today))
        }
        Began::Unknown | Began::NotYet => return None,
    })
}

fn see_life(finding: Finding, cx: &Context<'_>, part: &str, life: &Life) -> Finding {
    let source = life.rule.as_ref().and_then(|rule| {
        let page = rule.page.as_ref().map(|page| format!(", page {page}"));
        Some(format!("{}{}", rule.in_.as_ref()?.as_str(), page.unwrap_or_default()))
    });
    let words = match source {
        Some(source) => format!("how long it lasts, by {source}"),
        None => "how long it lasts".to_owned(),
    };
    let way: &[Step] = &["life".into(), "lasts".into()];
    finding.see_at(cx, cx.value_at(Kind::Parts, part, way), words)
}

/// Something that is filled with a fluid or grease.
struct Filled<'a> {
    fill: &'a Filling,
    name: String,
    spot: Option<Spot>,
    claim: Stage,
    early: bool,
}

impl Filled<'_> {
    fn finding(&self, cx: &Context<'_>) -> Option<Finding> {
        let fill = self.fill;
        if fill.until.is_some() {
            return None;
        }
        let what = fill.what.as_ref()?.as_str();
        let (id, part) = cx.folder.model.part.get_key_value(what)?;
        let life = part.data.life.as_ref()?;
        let lasts = life.lasts.as_ref()?;
        let when = fill.when.as_ref().and_then(date)?;
        let from = life.from.unwrap_or(LifeFrom::Made);
        let early = self.early || is_early(&part.data);
        if from == LifeFrom::Fitted {
            let ends = end(when, lasts).filter(|ends| *ends < cx.facts.as_of)?;
            let message = format!(
                "{} was filled with `{what}` on {when}, {} ago; that lasts {}, and was over on {ends}",
                self.name,
                how_long(when, cx.facts.as_of),
                lasts.as_str()
            );
            let remedy = "change it, and write `until` the day that the old was drained";
            let finding = cx.finding_in(self.spot, message, remedy)?;
            let finding = finding.by_claim(self.claim, Level::Warning);
            return Some(see_life(finding, cx, id, life));
        }
        let present = cx.present();
        let tin = present.piece_named(fill.from.as_ref()?.as_str())?;
        let tin = &present.pieces[tin];
        let began = began(tin.record, from);
        let (Began::On { day, .. } | Began::Before(day)) = began else {
            return None;
        };
        let ends = end(day, lasts).filter(|ends| *ends < when)?;
        let message = format!(
            "{} was filled on {when} out of `{}`, which was past its life of {} by then: {}; it was over on {ends}",
            self.name,
            tin.name(),
            lasts.as_str(),
            since(tin.record, from, began)?
        );
        let remedy = "drain it and fill it out of a fresh tin; if a date is wrong, mend it";
        let light = if early { Level::Error } else { Level::Warning };
        let key = if from == LifeFrom::Made { "made" } else { "opened" };
        let finding = cx
            .finding_in(self.spot, message, remedy)?
            .by_claim(self.claim, light)
            .see_at(cx, cx.in_piece_at(tin, &[key.into()]), "its date");
        Some(see_life(finding, cx, id, life))
    }
}
