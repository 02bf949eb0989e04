//! `matchmark reckon plating`.

use clap::Args;

use super::thread::{standard, strength};
use super::{digits, refused};
use crate::present::hardware::hours_in_words;
use crate::reckon::class::{Class, Strength};
use crate::reckon::geometry::Limits;
use crate::reckon::measure::{Length, in_hours, in_microns, in_mm};
use crate::reckon::plating::{
    BAKED_AT, COATS, Coat, Risk, baking, diameter_grows, nominal_layer, pitch_diameter_grows, risk,
    says, thickest,
};
use crate::report::answer::{Answer, Fact, Line, Part};

/// What programs find in every answer.
const KEYS: &[&str] = &[
    "process",
    "layer_mm",
    "pitch_diameter_growth_mm",
    "diameter_growth_mm",
    "allowance_mm",
    "layer_max_mm",
    "layer_nominal_max_mm",
    "layer_fits",
    "hardness_min_hv",
    "hardness_max_hv",
    "hardness_min_hrc",
    "hardness_max_hrc",
    "hardness_min_hrb",
    "hardness_max_hrb",
    "embrittlement",
    "editions",
    "baking_min_h",
    "baking_max_h",
    "baking_min_degc",
    "baking_max_degc",
];

/// Tell how much a thread grows under a layer, and whether plating makes the bolt brittle
///
/// Hydrogen from pickling and electroplating breaks hard bolts days after they were
/// tightened. Editions of the standards differ in where that begins, so each is named
/// with what it says.
#[derive(Debug, Args)]
pub struct PlatingArgs {
    /// The thread, as `M8x1.25`
    thread: String,
    /// The class or grade of the hardware, as `10.9` or `"grade 8"`
    #[arg(long, value_name = "CLASS")]
    class: Option<String>,
    /// How thick the layer is, as `8µm`
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    layer: Option<String>,
    /// What is laid on: `zinc`, `zinc-nickel`, `cadmium`, `nickel`, `chrome`, all
    /// electroplated; `phosphate`, `"zinc flake"`, `"hot-dip zinc"`
    #[arg(long, value_name = "COAT", default_value = "zinc")]
    process: String,
}

impl PlatingArgs {
    pub(super) fn answer(&self) -> anyhow::Result<Answer> {
        let (thread, geometry) = super::thread(&self.thread)?;
        let coat = Coat::named(&self.process).ok_or_else(|| {
            refused(
                format!("`{}` is no coat that is known here", self.process),
                format!(
                    "write `--process` with one of {}",
                    super::listed(COATS.map(Coat::word))
                ),
            )
        })?;
        let class = self.class.as_deref().map(super::class).transpose()?;
        let hardware = class
            .map(|class| strength(class, &geometry).map(|strength| (class, strength)))
            .transpose()?;
        let layer = self.layer.as_deref();
        let layer = layer
            .map(|written| super::length("`--layer`", written, "8µm"))
            .transpose()?;

        let mut answer = Answer::about(thread.text(), KEYS);
        let limits = Limits::of(&thread);
        let growth = growth(
            coat,
            layer,
            limits.as_ref(),
            geometry.is_inch(),
            &mut answer,
        );
        answer.parts.push(growth);
        if let Some((class, strength)) = hardware {
            answer.source(&format!("Strength: {}", standard(class)));
            let part = brittleness(coat, class, &strength, &mut answer);
            answer.parts.push(part);
        } else {
            answer.caution(
                "Whether plating makes it brittle depends on how hard it is: add its class as in `--class 10.9`.",
            );
        }
        answer.caution(
            "Surface-hardened hardware, such as screws that tap their own thread, and springs and spring washers are brittle after plating whatever their class. Springs, brake, steering and restraint hardware are not sent to a home or jobbing plater.",
        );
        answer.caution(
            "Ask the plater, in writing, before the lot goes out: to which standard and edition the lot is plated, and when and how long it is baked.",
        );
        Ok(answer)
    }
}

fn microns(length: Length) -> String {
    format!("{} µm", digits(in_microns(length), 3))
}

fn growth(
    coat: Coat,
    layer: Option<Length>,
    limits: Option<&Limits>,
    inch: bool,
    answer: &mut Answer,
) -> Part {
    let mut part = Part::default();
    part.line(Line::told("coat", coat.word()).fact("process", Fact::Word(coat.word().to_owned())));
    if let Some(layer) = layer {
        part.line(Line::told("layer", microns(layer)).number("layer_mm", in_mm(layer)));
        part.line(
            Line::told("pitch diameter grows", microns(pitch_diameter_grows(layer)))
                .beside("four layers")
                .number(
                    "pitch_diameter_growth_mm",
                    in_mm(pitch_diameter_grows(layer)),
                ),
        );
        part.line(
            Line::told("diameter grows", microns(diameter_grows(layer)))
                .beside("two layers")
                .number("diameter_growth_mm", in_mm(diameter_grows(layer))),
        );
    }
    let tolerance = if inch { "2A" } else { "6g" };
    if let Some(limits) = limits {
        part.line(
            Line::told("gap in the tolerance", microns(limits.allowance))
                .beside(format!("of a bolt of {tolerance}, before it is plated"))
                .number("allowance_mm", in_mm(limits.allowance)),
        );
        part.line(
            Line::told("thickest layer", microns(thickest(limits)))
                .beside("a quarter of the gap")
                .number("layer_max_mm", in_mm(thickest(limits))),
        );
        if let Some(nominal) = nominal_layer(thickest(limits)) {
            part.line(
                Line::told("that is, nominally", microns(nominal))
                    .beside("the standard's layers are 3, 5, 8, 10, 12 µm and up")
                    .number("layer_nominal_max_mm", in_mm(nominal)),
            );
        }
        if let Some(layer) = layer {
            let fits = layer <= thickest(limits) * (1.0 + 1e-9);
            part.line(
                Line::told("does it fit", if fits { "yes" } else { "no" })
                    .beside(if fits {
                        "it still screws into a thread of the basic size"
                    } else {
                        "it may bind: less layer, or hardware that was cut for plating"
                    })
                    .fact("layer_fits", Fact::Flag(fits)),
            );
        }
        part.note("Layers are thicker at the ends of a bolt: one longer than five diameters takes up a quarter more of the gap, longer than ten half more (ISO 4042, batch average).");
    } else {
        part.note(format!(
            "No gap of {tolerance} is known for this thread, so how thick a layer it takes can't be told."
        ));
    }
    if coat == Coat::HotDip {
        part.note("A hot-dip layer is 50 µm and more: its nuts are cut oversize, or its bolts undersize (ISO 10684), and M8 and M10 stand less.");
    }
    answer.source(if inch {
        "Growth: geometry of a 60° thread; allowance of 2A, ASME B1.1, which gives a quarter of it to the layer"
    } else {
        "Growth: geometry of a 60° thread; gap g of ISO 965-1; thickest layer: ISO 4042, in a copy of its table"
    });
    part
}

fn brittleness(coat: Coat, class: Class, strength: &Strength, answer: &mut Answer) -> Part {
    let mut part = Part::under(&format!("Hydrogen, in class {class}"));
    if let Class::Grade(_) = class {
        part.heading = Some(format!("Hydrogen, in {class}"));
    }
    let Some(hardness) = strength.hardness else {
        part.note("How hard it is, is not known for this class, so nothing can be said.");
        return part;
    };
    let scale = match hardness.scale {
        crate::reckon::unit::HardnessScale::Vickers => ("HV", "hv"),
        crate::reckon::unit::HardnessScale::RockwellB => ("HRB", "hrb"),
        _ => ("HRC", "hrc"),
    };
    let reads = hardness.reads;
    part.line(
        Line::told(
            "hardness",
            format!("{}–{} {}", reads.least, reads.most, scale.0),
        )
        .band("hardness", scale.1, reads.map(f64::from)),
    );
    let danger = risk(strength);
    let (word, beside) = match (coat.brings_hydrogen(), danger) {
        (false, _) => (
            "none",
            "this coat brings no hydrogen of its own; acid before it does",
        ),
        (true, Risk::None) => ("none", "no edition asks for anything"),
        (true, Risk::Older) => (
            "by edition",
            "the older edition asks for proof, the newer does not",
        ),
        (true, Risk::Every) => ("yes", "every edition asks for measures"),
    };
    part.line(
        Line::told("made brittle", word)
            .beside(beside)
            .fact("embrittlement", Fact::Word(word.to_owned())),
    );
    if !coat.brings_hydrogen() {
        if danger != Risk::None {
            part.note("Have it blasted and not pickled: acid is a source of hydrogen by itself.");
        }
        return part;
    }
    let mut rows = Vec::new();
    for (edition, said) in says(strength) {
        part.line(Line::told(edition, "").beside(said.clone()));
        rows.push(vec![
            ("edition".to_owned(), Fact::Word(edition.to_owned())),
            ("says".to_owned(), Fact::Word(said)),
        ]);
    }
    if let Some(last) = part.lines.last_mut() {
        last.facts.push(("editions".to_owned(), Fact::Rows(rows)));
    }
    match baking(strength) {
        Some(time) if danger != Risk::None => {
            part.line(
                Line::told("if it is baked", hours_in_words(time))
                    .beside(format!(
                        "at {}–{} °C, begun within 4 h of plating; the first by the least strength that it may have, the last by the highest hardness",
                        BAKED_AT.least, BAKED_AT.most
                    ))
                    .number("baking_min_h", in_hours(time.least))
                    .number("baking_max_h", in_hours(time.most))
                    .number("baking_min_degc", f64::from(BAKED_AT.least))
                    .number("baking_max_degc", f64::from(BAKED_AT.most)),
            );
            answer.source("Baking: ASTM B850-98(2009), in a plater's chart, a partial list; the 4 h from memory");
            answer.caution("Baking does not promise that all hydrogen is out.");
        }
        _ => {
            part.line(
                Line::told("if it is baked", "not called for").fact("baking_min_h", Fact::Nothing),
            );
        }
    }
    if danger == Risk::Every {
        answer.caution(
            "Hardware of this class is better bought new with its coat, or given one that is not electroplated (zinc flake).",
        );
    }
    answer
        .source("ISO 4042:1999 clause 6, in an extract; ISO 4042:2018 and ASTM F1941 from memory");
    part
}
