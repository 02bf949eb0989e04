//! `matchmark reckon`.

mod convert;
mod plating;
mod thread;
mod torque;
mod vin;
mod wrench;

use clap::{Args, Subcommand, ValueEnum};

use super::Outcome;
use crate::reckon::class::Class;
use crate::reckon::friction::{SURFACES, Surface};
use crate::reckon::geometry::Geometry;
use crate::reckon::measure::{self, Band, Force, Length, Torque, in_inches, in_mm, in_percent};
use crate::reckon::printed::{self, Printings, Slip};
use crate::reckon::quantity::Quantity;
use crate::reckon::thread::Thread;
use crate::reckon::unit::{Amount, Unit};
use crate::render::answer;
use crate::report::answer::{Answer, Part};
use crate::shell::terminal;

/// A page has so many columns where there is no terminal to say.
const PAGE: usize = 80;
/// No answer is made narrower.
const NARROWEST: usize = 40;

/// Work out what the bench asks: units, threads, torques, wrenches, plating
///
/// Each answer shows its figures, how far they may be off, where they come from,
/// and what to be careful of. The maker's service manual comes first.
#[derive(Debug, Args)]
pub struct Reckon {
    #[command(subcommand)]
    what: What,
    /// How the answer is printed
    #[arg(long, value_enum, default_value_t = Format::Text, global = true)]
    format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people
    Text,
    /// For programs: one object, each figure's key ending in its unit
    Json,
}

#[derive(Debug, Subcommand)]
enum What {
    Convert(convert::Convert),
    Thread(thread::ThreadArgs),
    Torque(torque::TorqueArgs),
    Wrench(wrench::WrenchArgs),
    Plating(plating::PlatingArgs),
    Vin(vin::Vin),
}

impl Reckon {
    /// Works it out and prints it.
    ///
    /// # Errors
    /// When what was written can't be reckoned with.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let answer = match &self.what {
            What::Convert(asked) => asked.answer()?,
            What::Thread(asked) => asked.answer()?,
            What::Torque(asked) => asked.answer()?,
            What::Wrench(asked) => asked.answer()?,
            What::Plating(asked) => asked.answer()?,
            What::Vin(asked) => asked.answer(),
        };
        terminal::print(&self.shown(&answer))?;
        Ok(Outcome::Clean)
    }

    fn shown(&self, answer: &Answer) -> String {
        match self.format {
            Format::Json => answer::json(answer),
            Format::Text => {
                let width = terminal::width().unwrap_or(PAGE).max(NARROWEST);
                answer::text(answer, width.min(100))
            }
        }
    }
}

/// What can't be reckoned with, and what to write instead.
fn refused(why: impl ToString, write: impl ToString) -> anyhow::Error {
    anyhow::anyhow!(write.to_string()).context(why.to_string())
}

/// A quantity as it was typed.
fn quantity(written: &str, example: &str) -> anyhow::Result<Quantity> {
    Quantity::parse(written).map_err(|error| {
        let write = error.suggestion().map_or_else(
            || format!("write a number and its unit, as in `{example}`"),
            |write| format!("write `{write}`"),
        );
        refused(error, write)
    })
}

/// A quantity of a kind, from its least to its most; never less than nothing.
fn of_kind<T: Copy>(
    option: &str,
    written: &str,
    example: &str,
    kind: &str,
    read: impl Fn(&Quantity) -> Option<Band<T>>,
) -> anyhow::Result<(Quantity, Band<T>)> {
    let quantity = quantity(written, example)?;
    let Some(band) = read(&quantity) else {
        return Err(refused(
            format!(
                "`{written}` is {} and not {kind}",
                quantity.dimension().with_article()
            ),
            format!("write {option} as in `{example}`"),
        ));
    };
    if quantity.is_negative() {
        return Err(refused(
            format!("`{written}` is less than nothing"),
            format!("write {option} as in `{example}`"),
        ));
    }
    Ok((quantity, band))
}

/// What was typed where one figure is asked for.
fn one_figure<T: Copy + PartialEq>(
    option: &str,
    written: &str,
    band: Band<T>,
) -> anyhow::Result<T> {
    if band.least == band.most {
        return Ok(band.least);
    }
    Err(refused(
        format!("`{written}` is a range, and {option} takes one figure"),
        "ask for each end by itself",
    ))
}

/// A length as it was typed.
fn length(option: &str, written: &str, example: &str) -> anyhow::Result<Length> {
    let (_, band) = of_kind(option, written, example, "a length", measure::length_of)?;
    one_figure(option, written, band)
}

/// A torque as it was typed.
fn torque(option: &str, written: &str) -> anyhow::Result<(Quantity, Band<Torque>)> {
    of_kind(option, written, "24 N·m", "a torque", measure::torque_of)
}

/// A thread as it was typed, with what it measures.
fn thread(written: &str) -> anyhow::Result<(Thread, Geometry)> {
    let thread = Thread::parse(written).map_err(|error| {
        let write = error.suggestion();
        let write = write.map_or_else(
            || "write a thread as in `M10x1.25` or `3/8-16UNC`".to_owned(),
            |write| format!("write `{write}`"),
        );
        refused(error, write)
    })?;
    let geometry = Geometry::of(&thread).ok_or_else(|| {
        refused(
            format!("`{written}` is neither a metric nor a unified inch thread, and only these are reckoned here"),
            "ask for one as in `M10x1.25` or `3/8-16UNC`; for the other look into its standard",
        )
    })?;
    Ok((thread, geometry))
}

/// A class as it was typed.
fn class(written: &str) -> anyhow::Result<Class> {
    Class::parse(written)
        .map_err(|error| refused(error, "write `--class 8.8`, or `--class \"grade 5\"`"))
}

/// A surface as it was typed.
fn surface(written: &str) -> anyhow::Result<Surface> {
    Surface::named(written).ok_or_else(|| {
        refused(
            format!("`{written}` is no state of a surface that is known here"),
            format!("write one of {}", listed(SURFACES.map(Surface::word))),
        )
    })
}

/// Words to choose from.
fn listed<'a>(words: impl IntoIterator<Item = &'a str>) -> String {
    let words: Vec<String> = words.into_iter().map(|word| format!("`{word}`")).collect();
    words.join(", ")
}

/// A number to so many significant digits, with no zeros behind; whole digits are kept.
fn digits(value: f64, count: i32) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let places = (f64::from(count) - 1.0 - value.abs().log10().floor()).clamp(0.0, 9.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let text = format!("{value:.*}", places as usize);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// Both ends of a band as one, and one figure where they come to the same.
fn ends(least: &str, most: &str, unit: &str) -> String {
    if least == most {
        format!("{least} {unit}")
    } else {
        format!("{least}–{most} {unit}")
    }
}

/// A band of torques as the bench writes it.
fn torques(band: Band<Torque>, unit: &str) -> String {
    let one = |torque| {
        let unit = Unit::read(unit).ok();
        let value = unit.and_then(|unit| Amount::Torque(torque).in_unit(unit));
        let value = value.unwrap_or_default();
        digits(value, if value.abs() < 10.0 { 2 } else { 3 })
    };
    ends(&one(band.least), &one(band.most), unit)
}

/// A band of loads as the bench writes it.
fn loads(band: Band<Force>) -> String {
    let one = |load| digits(measure::in_newtons(load) / 1000.0, 3);
    ends(&one(band.least), &one(band.most), "kN")
}

/// A length in millimetres, to a thousandth.
fn millimetres(length: Length) -> String {
    // Half a thousandth goes up, as on paper: 1.5875 to 1.588.
    let text = format!("{:.3}", in_mm(length) + 1e-9);
    format!("{} mm", text.trim_end_matches('0').trim_end_matches('.'))
}

/// A length in inches, to a tenth of a thou.
fn in_inch(length: Length) -> String {
    format!("{:.4} in", in_inches(length))
}

/// Holds what stands in brackets against the figure in front of them. Whoever reckons with
/// the first alone may reckon with the slip.
fn brackets(given: &Quantity, part: &mut Part, answer: &mut Answer) {
    let mut same = true;
    for also in given.also() {
        let told = match printed::compare(given, also, printed::usual_slip()) {
            Some(Printings::Agree) => "the same, to the last printed digit".to_owned(),
            Some(Printings::Rough(apart)) => format!(
                "{:.1} % apart, more than rounding and no more than manuals are",
                in_percent(apart)
            ),
            Some(Printings::Slip(apart, slip)) => {
                same = false;
                let likely = match slip {
                    Some(Slip::Twelve) => "; feet and inches are mixed up, by a factor of 12",
                    Some(Slip::Ten) => {
                        "; a point is in the wrong place, or kgf·cm stands for kgf·m"
                    }
                    Some(Slip::Swapped) => "; the figures stand at each other's unit",
                    None => "",
                };
                let apart = in_percent(apart);
                let apart = if apart < 100.0 {
                    format!("{apart:.0} % apart")
                } else {
                    format!("{:.1} times apart", 1.0 + apart / 100.0)
                };
                format!("{apart}: not the same{likely}")
            }
            None => {
                same = false;
                "it measures something else".to_owned()
            }
        };
        part.note(format!("In brackets: {}: {told}.", also.text()));
    }
    if !same {
        answer.caution(
            "What stands in brackets is not the same as what stands before them, which alone is reckoned with. Find out which of them holds before anything is set by it.",
        );
    }
}

/// What is said wherever a torque is told.
const MAKER_FIRST: &str = "The maker's figure comes first. This is an aid where none is printed; on brakes, steering, suspension, restraints and fuel ask who may say.";

#[cfg(test)]
mod tests {
    use clap::Parser;
    use proptest::prelude::*;
    use serde_json::Value;

    use super::*;

    #[derive(Debug, Parser)]
    struct Typed {
        #[command(flatten)]
        reckon: Reckon,
    }

    /// What comes of words as they are typed; `None` where they are refused.
    fn asked(words: &[&str]) -> Option<Answer> {
        let words = ["reckon"].into_iter().chain(words.iter().copied());
        let typed = Typed::try_parse_from(words).ok()?;
        match &typed.reckon.what {
            What::Convert(asked) => asked.answer().ok(),
            What::Thread(asked) => asked.answer().ok(),
            What::Torque(asked) => asked.answer().ok(),
            What::Wrench(asked) => asked.answer().ok(),
            What::Plating(asked) => asked.answer().ok(),
            What::Vin(asked) => Some(asked.answer()),
        }
    }

    /// What programs read of it.
    fn told(words: &[&str]) -> Value {
        let answer = asked(words);
        assert!(answer.is_some(), "{words:?} is refused");
        let json = answer.map(|answer| answer::json(&answer));
        serde_json::from_str(&json.unwrap_or_default()).unwrap_or_default()
    }

    fn number(of: &Value, key: &str) -> f64 {
        assert!(of[key].is_number(), "{key} in {of}");
        of[key].as_f64().unwrap_or(f64::NAN)
    }

    const THREADS: [&str; 8] = [
        "M5",
        "M6",
        "M8x1.25",
        "M8x1",
        "M10x1.5",
        "M12",
        "M16",
        "3/8-16UNC",
    ];

    proptest! {
        /// Whatever is typed is answered or refused, in both forms, and hides nothing.
        #[test]
        fn any_text_is_answered_or_refused(text in ".{0,40}", figure in "[-0-9.]{1,9} ?(N·m|mm|deg|µm|in|lb-ft|%)") {
            for given in [text.as_str(), figure.as_str()] {
                for words in [
                    vec!["convert", given],
                    vec!["thread", given],
                    vec!["thread", "M8", "--class", given],
                    vec!["thread", "M8", "--class", "8.8", "--into", given],
                    vec!["thread", "M8", "--class", "8.8", "--into", "steel", "--engagement", given],
                    vec!["torque", "M8", "--class", "8.8", "--surface", given],
                    vec!["torque", "M8", "--class", "8.8", "--surface", "dry", "--torque", given],
                    vec!["torque", "M8", "--class", "8.8", "--surface", "dry", "--share", given],
                    vec!["torque", "M8", "--surface", "dry", "--load", given],
                    vec!["wrench", given, "--from", "1 N·m", "--to", "9 N·m"],
                    vec!["wrench", "24 N·m", "--to", given],
                    vec!["wrench", "24 N·m", "--to", "90 N·m", "--lever", given, "--extension", "55mm"],
                    vec!["wrench", "24 N·m", "--to", "90 N·m", "--lever", "380mm", "--extension", given],
                    vec!["wrench", "24 N·m", "--to", "90 N·m", "--lever", "380mm", "--extension", "55mm", "--angle", given],
                    vec!["plating", "M8", "--layer", given],
                    vec!["plating", "M8", "--process", given],
                    vec!["vin", given],
                ] {
                    if let Some(found) = asked(&words) {
                        let text = answer::text(&found, 80);
                        let hides = text.contains(['\u{1b}', '\u{202e}', '\r']);
                        prop_assert!(!hides);
                        prop_assert!(!text.contains("NaN") && !text.contains(" inf"), "{words:?}: {text}");
                        let json: Result<Value, _> = serde_json::from_str(&answer::json(&found));
                        prop_assert!(json.is_ok());
                    }
                }
            }
        }

        /// A torque that was worked out for a load comes to that load, at the friction that it
        /// was worked out for.
        #[test]
        fn a_torque_goes_there_and_back(
            thread in prop::sample::select(&THREADS[..]),
            kilonewtons in 1u32..60,
            surface in prop::sample::select(&SURFACES[..]),
        ) {
            let load = format!("{kilonewtons} kN");
            let wanted = told(&["torque", thread, "--surface", surface.word(), "--load", &load]);
            let (least, most) = (number(&wanted, "torque_min_nm"), number(&wanted, "torque_max_nm"));
            prop_assert!(least < most);
            let back = |torque: f64, key| {
                let torque = format!("{torque:.4} N·m");
                let told = told(&["torque", thread, "--surface", surface.word(), "--torque", &torque]);
                number(&told, key)
            };
            let load = f64::from(kilonewtons) * 1000.0;
            prop_assert!((back(least, "preload_max_n") / load - 1.0).abs() < 1e-3);
            prop_assert!((back(most, "preload_min_n") / load - 1.0).abs() < 1e-3);
        }

        /// More load wants more torque, a longer extension a lower setting, more engagement
        /// is never worse.
        #[test]
        fn more_is_more(first in 1u32..200, second in 1u32..200) {
            let (less, more) = (first.min(second), first.max(second));
            prop_assume!(less < more);
            let torque = |load: u32| {
                let load = format!("{load} kN");
                number(&told(&["torque", "M12", "--surface", "oiled", "--load", &load]), "torque_max_nm")
            };
            prop_assert!(torque(less) < torque(more));
            let setting = |extension: u32, angle| {
                let extension = format!("{extension} mm");
                let words = ["wrench", "24 N·m", "--to", "90 N·m", "--lever", "500mm", "--extension", &extension, "--angle", angle];
                number(&told(&words), "setting_nm")
            };
            prop_assert!(setting(less, "0deg") > setting(more, "0deg"));
            prop_assert!(setting(less, "180deg") < setting(more, "180deg"));
            prop_assert!((setting(more, "90deg") - 24.0).abs() < 1e-6);
            prop_assert!((setting(more, "30deg") - setting(more, "-30deg")).abs() < 1e-6);
            let enough = |engaged: u32| {
                let engaged = format!("{engaged} mm");
                let words = ["thread", "M10", "--class", "8.8", "--into", "aluminium", "--engagement", &engaged];
                told(&words)["engagement_is_enough"].as_bool()
            };
            prop_assert!(enough(less) <= enough(more));
        }
    }

    #[test]
    fn harder_and_thicker_stands_more() {
        for thread in THREADS.iter().filter(|thread| thread.starts_with('M')) {
            let loads: Vec<f64> = ["4.6", "5.8", "8.8", "9.8", "10.9", "12.9"]
                .map(|class| number(&told(&["thread", thread, "--class", class]), "proof_load_n"))
                .into();
            assert!(loads.is_sorted(), "{thread}: {loads:?}");
        }
        let areas = [
            "M3", "M4", "M5", "M6", "M8", "M8x1", "M10", "M12", "M16", "M24",
        ]
        .map(|thread| number(&told(&["thread", thread]), "stress_area_mm2"));
        assert!(areas.is_sorted(), "{areas:?}");
    }

    #[test]
    fn programs_find_the_same_keys_in_every_answer() {
        let keys = |line: &str| -> Vec<String> {
            let told = told(&line.split('|').collect::<Vec<_>>());
            let object = told.as_object().cloned().unwrap_or_default();
            object.into_iter().map(|(key, _)| key).collect()
        };
        for asked in [
            &[
                "thread|M8",
                "thread|M9",
                "thread|M30",
                "thread|M8|--class|10",
                "thread|M8|--into|plastic|--engagement|16mm",
                "thread|M8|--class|10.9|--into|aluminium|--engagement|12mm",
                "thread|M8|--class|A2-70|--into|steel",
                "thread|3/8-16UNC|--class|grade 5|--into|cast iron",
                "thread|10-32UNF",
            ][..],
            &[
                "torque|M8|--class|8.8|--surface|dry",
                "torque|M8|--surface|dry|--load|9kN",
                "torque|M8|--surface|dry|--torque|20Nm",
                "torque|M8|--class|8.8|--surface|dry|--torque|20-25Nm",
            ],
            &[
                "wrench|24Nm",
                "wrench|20-30Nm|--from|5Nm|--to|100Nm",
                "wrench|24Nm|--lever|380mm|--extension|55mm|--angle|45deg",
            ],
            &[
                "plating|M8",
                "plating|M30|--layer|5um",
                "plating|M8|--class|10.9|--layer|8um",
                "plating|3/8-16UNC|--class|grade 2",
                "plating|M8|--class|A2-70|--process|zinc flake",
            ],
            &["vin|1M8GDM9AXKP042788", "vin|WP0ZZZ99ZTS392124", "vin|I"],
            &[
                "convert|24Nm",
                "convert|20-30Nm",
                "convert|44 ±10 Nm (32 lb-ft)",
            ],
        ] {
            for one in asked {
                assert_eq!(keys(one), keys(asked[0]), "{one}");
            }
        }
    }

    #[test]
    fn a_wrench_says_whether_it_covers_what_is_set_on_it() {
        let covers = |words: &[&str]| {
            let told = told(words);
            told["wrenches"][0]["covers"].as_bool()
        };
        let range = ["--from", "5 N·m", "--to", "25 N·m"];
        assert_eq!(
            covers(&[&["wrench", "24 N·m"], &range[..]].concat()),
            Some(true)
        );
        assert_eq!(
            covers(&[&["wrench", "26 N·m"], &range[..]].concat()),
            Some(false)
        );
        assert_eq!(
            covers(&[&["wrench", "4.9 N·m"], &range[..]].concat()),
            Some(false)
        );
        assert_eq!(
            covers(&[&["wrench", "20–30 N·m"], &range[..]].concat()),
            Some(false)
        );
        // With a long extension less is set.
        let long = ["--lever", "300mm", "--extension", "60mm"];
        let words = [&["wrench", "28 N·m"], &range[..], &long[..]].concat();
        assert_eq!(covers(&words), Some(true));
        assert!(asked(&["wrench", "24 N·m", "--to", "9 N·m", "--extension", "55mm"]).is_none());
        assert!(asked(&["wrench", "24 N·m", "--to", "9 N·m", "--angle", "5deg"]).is_none());
    }

    #[test]
    fn a_number_of_elsewhere_is_not_wrong_for_want_of_a_check_digit() {
        for (given, valid, applies, digit) in [
            ("1M8GDM9AXKP042788", true, true, Some("X")),
            ("1M8GDM9A1KP042788", false, true, Some("X")),
            ("WP0ZZZ99ZTS392124", true, false, Some("8")),
            ("1M8GDM9AXKPO42788", false, true, None),
            ("DM441877", false, false, None),
        ] {
            let told = told(&["vin", given]);
            assert_eq!(told["valid"].as_bool(), Some(valid), "{given}");
            assert_eq!(
                told["check_digit_applies"].as_bool(),
                Some(applies),
                "{given}"
            );
            assert_eq!(told["check_digit"].as_str(), digit, "{given}");
        }
    }
}
