//! # bad-quantity
//!
//! A figure has no unit, an unknown unit, the wrong dimension, or can't be; a
//! thread, a run of cavities or a pair of days can't be.
//!
//! A figure without its unit can't be checked by anybody: 24 may be N·m or
//! lb-ft. Units are written as at the bench: `24 N·m`, `18 lb-ft`, `94 mm`,
//! `12 thou`, `0.5 mm2`, `18 AWG`, `37–43 N·m`, `44 ±10 N·m`.
//!
//! Threads are written as on the bag: `M10x1.25`, `M10` for the coarse pitch,
//! `3/8-16UNC`, `1/4-28 UNF`, `G1/4`, `Rp 1/8`, `1/8-27NPT`, `1/2 BSW`, `2 BA`,
//! with `-LH` behind a left-hand one. A pitch that no such size has is a slip,
//! and so is 24 threads to the inch in 3/8 UNC. Sizes and pitches are those of
//! ISO 261, ASME B1.1, ISO 228-1, ISO 7-1, ASME B1.20.1, BS 84 and BS 93, as
//! copies of their tables print them; what no copy showed is from memory.
//!
//! What ends before it begins can't be either, nor can a least that lies above
//! its most, nor a reading in millimetres where its limit is in newton metres.
//!
//! ## Wrong
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-70: {form: bolt, length: 70}
//! bolt-m10-35: {form: bolt, length: 35 N·m}
//! bolt-m8-20: {form: bolt, length: -20 mm}
//! bolt-m8-25: {form: bolt, length: "25,5 mm"}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   joints: {head: {steps: [30 Nmm, turn 90]}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:2:27: error: `Nmm` is not a unit that is known here [bad-quantity]
//!     to do: write one such as `N·m`, `mm` or `degC`
//! assemblies/all.yaml:2:35: error: `90` has no unit [bad-quantity]
//!     to do: write `turn 90 deg`
//! fasteners/all.yaml:1:35: error: `70` has no unit [bad-quantity]
//!     to do: write a number and its unit, as in `94 mm`
//! fasteners/all.yaml:2:35: error: `35 N·m` is a torque, and a length belongs here [bad-quantity]
//!     to do: write a number and its unit, as in `94 mm`
//! fasteners/all.yaml:3:34: error: `-20 mm` is below nothing, and that can't be here [bad-quantity]
//!     to do: take the sign out
//! fasteners/all.yaml:4:34: error: `25,5` has a comma [bad-quantity]
//!     to do: write `25.5 mm`
//! ```
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-70: {form: bolt, thread: M1Ox1.25}
//! bolt-m10-35: {form: bolt, thread: M10x}
//! bolt-m10-20: {form: bolt, thread: banana}
//! bolt-3-8: {form: bolt, thread: 3/8-24UNC}
//! ```
//!
//! ```yaml plugs/all.yaml
//! unit-b: {cavities: 40-1}
//! ```
//!
//! ```yaml parts/all.yaml
//! piston:
//!   name: Piston
//!   limits: {height: {least: 41.2 mm, most: 40.9 mm}}
//!   pieces:
//!     "1":
//!       readings: [{what: height, is: 0.4 kg}]
//!       goes: engine/piston-1
//!       fitted: [{as: mock-up, when: 2026-03-01, until: 2026-02-27}]
//! ```
//!
//! ```text
//! fasteners/all.yaml:1:35: error: `M1Ox1.25` is no thread [bad-quantity]
//!     to do: write `M10x1.25`
//! fasteners/all.yaml:2:35: error: `M10x` has no pitch behind the x [bad-quantity]
//!     to do: write it as in `M10x1.25`, or no x for the coarse one
//! fasteners/all.yaml:3:35: error: `banana` is no thread [bad-quantity]
//!     to do: write it as in `M10x1.25`, `3/8-16UNC` or `G1/4`
//! fasteners/all.yaml:4:32: error: `3/8 UNC` has 16 threads to the inch, and not 24 [bad-quantity]
//!     to do: mend one of them
//! parts/all.yaml:3:43: error: `most` 40.9 mm is below `least` 41.2 mm [bad-quantity]
//!     to do: mend `most` or `least`
//! parts/all.yaml:6:37: error: `0.4 kg` is a mass, and the limit of `height` is a length [bad-quantity]
//!     to do: state both alike, or mend one of them
//! parts/all.yaml:8:55: error: `until` 2026-02-27 is before `when` 2026-03-01 [bad-quantity]
//!     to do: mend `until` or `when`
//! plugs/all.yaml:1:20: error: `40-1` runs backwards [bad-quantity]
//!     to do: write `1-40`
//! ```
//!
//! A comma parts the items of a list, also inside brackets: there a torque that is
//! printed in three units wants quotes.
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   joints: {head: {steps: [20 N·m, 8.7 kgf·m (85 N·m, 63 lb-ft)]}}
//! ```
//!
//! ```text
//! assemblies/all.yaml:2:35: error: the list cuts `8.7 kgf·m (85 N·m, 63 lb-ft)` up at its comma [bad-quantity]
//!     to do: put it in quotes: `"8.7 kgf·m (85 N·m, 63 lb-ft)"`
//! ```
//!
//! ## Right
//!
//! ```yaml fasteners/all.yaml
//! bolt-m10-70: {form: bolt, thread: M10x1.25, length: 70 mm}
//! stud-3-8: {form: stud, thread: 3/8-16UNC, other-end: 3/8-24 UNF}
//! drain-plug: {form: plug, thread: G1/4}
//! ```
//!
//! ```yaml plugs/all.yaml
//! unit-b: {cavities: "1-40, A1-A4"}
//! ```
//!
//! ```yaml assemblies/all.yaml
//! engine:
//!   joints: {head: {steps: [30 N·m, turn 90 deg]}}
//! ```

use crate::finding::{Finding, Level};
use crate::lint::{Context, Rule};
use crate::reckon::quantity::QuantityError;
use crate::reckon::step::StepError;
use crate::reckon::unit::Dimension;
use crate::schema::walk::{BadFigure, FigureFault};
use crate::source::{Source, Span};

/// The rule.
pub const RULE: Rule = Rule {
    name: "bad-quantity",
    level: Level::Error,
    firm: false,
    last: false,
    find,
    file: "",
};

fn find(cx: &Context<'_>, findings: &mut Vec<Finding>) {
    for (number, file) in cx.folder.files.iter().enumerate() {
        let mut figures = file.uses.figures.as_slice();
        while let Some((figure, rest)) = figures.split_first() {
            let (skipped, (what, remedy)) = match cut_in_two(&file.reading.source, figure, rest) {
                Some((skipped, whole)) => (skipped, in_quotes(&whole)),
                None => (0, words(figure)),
            };
            findings.push(cx.finding(number, figure.span, what, remedy));
            figures = &rest[skipped..];
        }
    }
}

/// A figure with other printings in brackets, which the commas between them cut up in a list,
/// and how many of the next figures are what was cut off.
fn cut_in_two(source: &Source, figure: &BadFigure, rest: &[BadFigure]) -> Option<(usize, String)> {
    let opens = |text: &str| text.contains('(') && !text.contains(')');
    if !opens(&figure.text) {
        return None;
    }
    let end = rest.iter().position(|next| next.text.contains(')'))?;
    let all = figure.span.range().start..rest[end].span.range().end;
    let whole = source.slice(Span::new(all));
    let is_one = !whole.contains(['[', ']', '{', '}', '"', '\'', ':', '#'])
        && whole.ends_with(')')
        && whole.matches('(').count() == 1;
    let whole = whole.split_whitespace().collect::<Vec<&str>>().join(" ");
    (is_one && whole.contains(',')).then_some((end + 1, whole))
}

fn in_quotes(whole: &str) -> (String, String) {
    (
        format!("the list cuts `{whole}` up at its comma"),
        format!("put it in quotes: `\"{whole}\"`"),
    )
}

fn words(figure: &BadFigure) -> (String, String) {
    match &figure.why {
        FigureFault::Unread { why, wants } => {
            let (what, advice) = parted(&why.to_string());
            let remedy = match (why.suggestion(), wants.is_empty()) {
                (Some(text), _) => format!("write `{text}`"),
                (None, true) => advice,
                (None, false) => as_in(&dimensions(wants)),
            };
            (what, remedy)
        }
        FigureFault::Step(error) => {
            let (what, advice) = parted(&error.to_string());
            let remedy = match error {
                // A step that turns by a bare number can only mean degrees.
                StepError::Quantity {
                    because: QuantityError::NoUnit { .. },
                    ..
                } if figure.text.starts_with(|c: char| c.is_alphabetic()) => {
                    format!("write `{} deg`", figure.text)
                }
                _ => match error.suggestion() {
                    Some(text) => format!("write `{text}`"),
                    None if advice.is_empty() => as_in(&[Dimension::Torque]),
                    None => advice,
                },
            };
            (what, remedy)
        }
        FigureFault::Dimension { is, wants } => {
            let wanted = dimensions(wants);
            let names: Vec<&str> = wanted.iter().map(|one| one.with_article()).collect();
            (
                format!(
                    "`{}` is {}, and {} belongs here",
                    figure.text,
                    is.with_article(),
                    names.join(" or ")
                ),
                as_in(&wanted),
            )
        }
        FigureFault::Negative => (
            format!("`{}` is below nothing, and that can't be here", figure.text),
            "take the sign out".to_owned(),
        ),
        FigureFault::Thread(error) => told(&error.to_string(), error.suggestion()),
        FigureFault::Cavities(error) => told(&error.to_string(), error.suggestion()),
        FigureFault::Falls {
            key,
            after,
            written,
            days,
        } => (
            format!(
                "`{key}` {} is {} `{after}` {written}",
                figure.text,
                if *days { "before" } else { "below" },
            ),
            format!("mend `{key}` or `{after}`"),
        ),
        FigureFault::Unlike { is, beside, wants } => (
            format!(
                "`{}` is {}, and {beside} is {}",
                figure.text,
                is.with_article(),
                wants.with_article()
            ),
            "state both alike, or mend one of them".to_owned(),
        ),
    }
}

fn dimensions(names: &[String]) -> Vec<Dimension> {
    names
        .iter()
        .filter_map(|name| Dimension::from_name(name))
        .collect()
}

fn as_in(wanted: &[Dimension]) -> String {
    let examples: Vec<String> = wanted
        .iter()
        .map(|one| format!("`{}`", one.example()))
        .collect();
    format!("write a number and its unit, as in {}", examples.join(" or "))
}

fn told(sentence: &str, suggestion: Option<String>) -> (String, String) {
    let (what, advice) = parted(sentence);
    let remedy = suggestion.map_or(advice, |text| format!("write `{text}`"));
    (what, remedy)
}

/// A figure's fault is told as what is wrong, a semicolon, and what to write.
fn parted(sentence: &str) -> (String, String) {
    // What is written may hold a semicolon too, so the last one parts.
    let (what, advice) = sentence.rsplit_once("; ").unwrap_or((sentence, ""));
    (what.to_owned(), advice.to_owned())
}
