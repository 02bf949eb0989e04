//! `matchmark reckon thread`.

use clap::Args;

use super::{digits, ends, in_inch, loads, millimetres, refused};
use crate::reckon::class::{Class, Strength};
use crate::reckon::geometry::{Geometry, Limits};
use crate::reckon::heads;
use crate::reckon::measure::{
    Band, Length, as_share, in_inches, in_megapascals, in_mm, in_mm2, in_newtons,
};
use crate::reckon::repair;
use crate::reckon::stripping::{Pair, TAPPED, Tapped, engagement_of_equals};
use crate::reckon::thread::Thread;
use crate::reckon::unit::HardnessScale;
use crate::report::answer::{Answer, Fact, Line, Part};

/// What programs find in every answer.
const KEYS: &[&str] = &[
    "diameter_mm",
    "pitch_mm",
    "threads_per_inch",
    "pitch_diameter_mm",
    "minor_diameter_mm",
    "root_diameter_mm",
    "stress_area_mm2",
    "bolt_diameter_min_mm",
    "bolt_diameter_max_mm",
    "bolt_pitch_diameter_min_mm",
    "bolt_pitch_diameter_max_mm",
    "nut_minor_diameter_min_mm",
    "nut_minor_diameter_max_mm",
    "nut_pitch_diameter_min_mm",
    "nut_pitch_diameter_max_mm",
    "tap_drill_mm",
    "tap_drill_name",
    "clearance_fine_mm",
    "clearance_medium_mm",
    "clearance_coarse_mm",
    "across_flats",
    "proof_load_n",
    "proof_stress_mpa",
    "tensile_load_n",
    "tensile_strength_mpa",
    "yield_strength_mpa",
    "hardness_min_hv",
    "hardness_max_hv",
    "hardness_min_hrc",
    "hardness_max_hrc",
    "hardness_min_hrb",
    "hardness_max_hrb",
    "nut_class",
    "engagement_mm",
    "engagement_rule_of_thumb_mm",
    "engagement_meets_rule_of_thumb",
    "shear_strength_min_mpa",
    "shear_strength_max_mpa",
    "engagement_basic_min_mm",
    "engagement_basic_max_mm",
    "engagement_slackest_min_mm",
    "engagement_slackest_max_mm",
    "engagement_enough_mm",
    "engagement_is_enough",
    "insert_drill_mm",
    "insert_tap_mm",
    "insert_lengths",
    "next_larger",
];

/// Tell what a thread measures, what it stands, and what is drilled for it
///
/// With `--class` it tells the loads that a bolt, stud or nut of that class stands; with
/// `--into` how much thread must be engaged so that the bolt breaks before the hole strips.
#[derive(Debug, Args)]
pub struct ThreadArgs {
    /// The thread, as `M8x1.25`, `M16` (its coarse pitch) or `3/8-16UNC`
    thread: String,
    /// The class or grade that is stamped: `8.8`, `10.9`, `"grade 5"`; `10` for a nut
    #[arg(long, value_name = "CLASS")]
    class: Option<String>,
    /// What it goes into: `steel`, `"cast iron"`, `brass`, `aluminium`, `magnesium`, `zinc`,
    /// `plastic`
    #[arg(long, value_name = "MATERIAL")]
    into: Option<String>,
    /// How much thread is in thread, as `12mm`
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    engagement: Option<String>,
}

impl ThreadArgs {
    pub(super) fn answer(&self) -> anyhow::Result<Answer> {
        let (thread, geometry) = super::thread(&self.thread)?;
        let class = self.class.as_deref().map(super::class).transpose()?;
        let into = self.into.as_deref().map(tapped).transpose()?;
        let engaged = self.engagement.as_deref();
        let engaged = engaged
            .map(|written| super::length("`--engagement`", written, "12mm"))
            .transpose()?;
        if engaged.is_some() && into.is_none() {
            return Err(refused(
                "an engagement is enough or not by what the thread is cut in",
                "add what that is, as in `--into aluminium`",
            ));
        }
        let strength = class
            .map(|class| strength(class, &geometry).map(|strength| (class, strength)))
            .transpose()?;

        let mut answer = Answer::about(thread.text(), KEYS);
        answer.parts.push(sizes(&geometry, &mut answer.sources));
        if thread.left_hand()
            && let Some(part) = answer.parts.first_mut()
        {
            part.note(
                "Left-hand: it is tightened against the clock; its tap, its nut and an insert for it are left-hand too.",
            );
        }
        if let Some(limits) = Limits::of(&thread) {
            let part = tolerance(&geometry, &limits, &mut answer.sources);
            answer.parts.push(part);
        }
        answer.parts.push(holes(&geometry, &mut answer.sources));
        answer.parts.extend(flats(&geometry, &mut answer.sources));
        if let Some((class, strength)) = strength {
            answer.parts.push(stands(class, &strength, &geometry));
            answer.source(&format!("Strength: {}", standard(class)));
            answer.caution(
                "A class counts where it is stamped on that head. A bolt with no mark, or whose mark nobody knows, is of no class.",
            );
        }
        if let Some(tapped) = into {
            let part = engagement(&thread, &geometry, strength, tapped, engaged);
            answer.parts.push(part);
            answer.source(
                "Stripping: FED-STD-H28/2B tables II.B.1 and II.B.2; sizes of tolerance 6g/6H (ISO 965-1) or 2A/2B (ASME B1.1)",
            );
            answer.source("Rule of thumb: common practice, no source");
            answer.caution(
                "Nobody knows the strength of a casting by its look. What is told is a band of textbook figures, from memory; a worn, corroded or often used thread stands less.",
            );
        }
        if let Some(part) = repairs(&thread) {
            answer.parts.push(part);
            answer.source("Inserts: ASME B18.29.2M and DIN 8140, in copies");
        }
        Ok(answer)
    }
}

fn tapped(written: &str) -> anyhow::Result<Tapped> {
    Tapped::named(written).ok_or_else(|| {
        refused(
            format!("`{written}` is no material that is known here"),
            format!(
                "write `--into` with one of {}",
                super::listed(TAPPED.map(Tapped::word))
            ),
        )
    })
}

/// What a class stands at this diameter.
pub(super) fn strength(class: Class, geometry: &Geometry) -> anyhow::Result<Strength> {
    if geometry.is_inch() && class.is_nut() {
        return Err(refused(
            format!("{class} is the class of a metric nut, and the thread is an inch one"),
            format!("write the grade, as in `--class \"grade {class}\"`, or a metric thread"),
        ));
    }
    if !geometry.is_inch() && matches!(class, Class::Grade(_)) {
        return Err(refused(
            format!("{class} is of inch bolts (SAE J429), and the thread is metric"),
            "write the class that is stamped on the head, as in `--class 8.8`, or an inch thread",
        ));
    }
    class.strength(geometry.diameter).ok_or_else(|| {
        refused(
            format!(
                "{} has no class {class} at {}",
                standard(class),
                millimetres(geometry.diameter)
            ),
            "look at the mark on the head and at the thread again",
        )
    })
}

/// Where the figures of a class are from.
pub(super) fn standard(class: Class) -> &'static str {
    match class {
        Class::Bolt(..) => "ISO 898-1 (2009, 2013), in copies of its tables",
        Class::Grade(_) => "SAE J429, in copies of its table",
        Class::Nut(9) | Class::Stainless(..) => match class {
            Class::Nut(_) => "ISO 898-2 (1992), from memory",
            _ => "ISO 3506-1, from memory",
        },
        Class::Nut(_) | Class::ThinNut(_) => "ISO 898-2 (1992), in copies of its tables",
    }
}

fn sized(label: &str, key: &str, length: Length, geometry: &Geometry) -> Line {
    let line = Line::told(label, millimetres(length)).number(key, in_mm(length));
    if geometry.is_inch() {
        line.beside(in_inch(length))
    } else {
        line
    }
}

fn sizes(geometry: &Geometry, sources: &mut Vec<String>) -> Part {
    let mut part = Part::default();
    let mut pitch = sized("pitch", "pitch_mm", geometry.pitch, geometry);
    if geometry.is_inch() {
        let count = 1.0 / in_inches(geometry.pitch);
        pitch = pitch
            .beside(format!("{} to the inch", digits(count, 4)))
            .number("threads_per_inch", count);
    }
    part.line(sized(
        "diameter",
        "diameter_mm",
        geometry.diameter,
        geometry,
    ));
    part.line(pitch);
    for (label, key, length) in [
        (
            "pitch diameter",
            "pitch_diameter_mm",
            geometry.pitch_diameter,
        ),
        (
            "minor diameter, nut",
            "minor_diameter_mm",
            geometry.minor_diameter,
        ),
        ("root, bolt", "root_diameter_mm", geometry.root_diameter),
    ] {
        part.line(sized(label, key, length, geometry));
    }
    let area = in_mm2(geometry.stress_area);
    let mut stress = Line::told("stress area", format!("{} mm2", digits(area, 3)));
    if geometry.is_inch() {
        stress = stress.beside(format!("{:.4} in2", area / 25.4 / 25.4));
    }
    part.line(stress.number("stress_area_mm2", area));
    sources.push(if geometry.is_inch() {
        "Sizes: ASME B1.1 and FED-STD-H28/2B table II.B.1".to_owned()
    } else {
        "Sizes: ISO 68-1, ISO 724; stress area: ISO 898-1".to_owned()
    });
    part
}

/// How far a real thread may be off the basic profile.
fn tolerance(geometry: &Geometry, limits: &Limits, sources: &mut Vec<String>) -> Part {
    let (class, source) = if geometry.is_inch() {
        (
            "2A and 2B",
            "Tolerance: ASME B1.1, formulas from memory, copies of its tables agree",
        )
    } else {
        ("6g and 6H", "Tolerance: ISO 965-1, in copies of its tables")
    };
    let mut part = Part::under(&format!("Real threads: bolt and nut of {class}, uncoated"));
    let told = |band: Band<Length>| {
        let one = |length| format!("{:.3}", in_mm(length));
        ends(&one(band.least), &one(band.most), "mm")
    };
    for (label, key, least, most) in [
        (
            "bolt, diameter",
            "bolt_diameter",
            limits.least_diameter,
            geometry.diameter - limits.allowance,
        ),
        (
            "bolt, pitch diameter",
            "bolt_pitch_diameter",
            limits.least_pitch_diameter,
            geometry.pitch_diameter - limits.allowance,
        ),
        (
            "nut, minor diameter",
            "nut_minor_diameter",
            geometry.minor_diameter,
            limits.most_nut_minor_diameter,
        ),
        (
            "nut, pitch diameter",
            "nut_pitch_diameter",
            geometry.pitch_diameter,
            limits.most_nut_pitch_diameter,
        ),
    ] {
        let band = Band::new(least, most);
        part.line(Line::told(label, told(band)).band(key, "mm", band.map(in_mm)));
    }
    sources.push(source.to_owned());
    part
}

fn holes(geometry: &Geometry, sources: &mut Vec<String>) -> Part {
    let mut part = Part::under("Holes");
    if let Some(tap) = geometry.tap_drill() {
        let line = Line::told("tap drill", millimetres(tap.drill));
        let line = line.number("tap_drill_mm", in_mm(tap.drill));
        part.line(match tap.name {
            Some(name) => line
                .beside(name)
                .fact("tap_drill_name", Fact::Word(name.to_owned())),
            None => line,
        });
        sources.push(if geometry.is_inch() {
            "Tap drill: charts of tap makers, about 75 % of thread".to_owned()
        } else {
            "Tap drill: diameter less pitch, as ISO 2306 in copies".to_owned()
        });
    } else {
        part.line(Line::told("tap drill", "none listed").fact("tap_drill_mm", Fact::Nothing));
    }
    if let Some(clearance) = geometry.clearance() {
        for (label, key, hole) in [
            ("clearance, fine", "clearance_fine_mm", clearance.fine),
            ("clearance, medium", "clearance_medium_mm", clearance.medium),
            ("clearance, coarse", "clearance_coarse_mm", clearance.coarse),
        ] {
            part.line(sized(label, key, hole, geometry));
        }
        sources.push("Clearance: ISO 273, in a copy of its table".to_owned());
    }
    part
}

fn flats(geometry: &Geometry, sources: &mut Vec<String>) -> Option<Part> {
    let widths = heads::widths(geometry.diameter);
    if widths.is_empty() {
        return None;
    }
    let mut part = Part::under("Across flats, by the standard of the head");
    // Standards that agree stand together.
    let mut lines: Vec<(Length, Vec<&str>)> = Vec::new();
    for one in &widths {
        match lines.iter_mut().find(|line| line.0 == one.width) {
            Some(line) => line.1.push(one.standard.name()),
            None => lines.push((one.width, vec![one.standard.name()])),
        }
    }
    let rows = widths.iter().map(|one| {
        vec![
            (
                "standard".to_owned(),
                Fact::Word(one.standard.name().to_owned()),
            ),
            ("across_flats_mm".to_owned(), Fact::Number(in_mm(one.width))),
        ]
    });
    let mut rows = Some(Fact::Rows(rows.collect()));
    for (width, standards) in lines {
        let mut line = Line::told(&width_of(width, geometry), "").beside(standards.join("; "));
        // Programs get them all at once.
        if let Some(rows) = rows.take() {
            line = line.fact("across_flats", rows);
        }
        part.line(line);
    }
    part.note(
        "A width never stands for a thread: the same width belongs to others by another standard.",
    );
    sources.push(if geometry.is_inch() {
        "Across flats: ASME B18.2.1, from memory".to_owned()
    } else {
        "Across flats: copies of the tables of the standards named".to_owned()
    });
    Some(part)
}

fn width_of(width: Length, geometry: &Geometry) -> String {
    if geometry.is_inch() {
        let sixteenths = in_inches(width) * 16.0;
        let mut parts = (sixteenths.round(), 16.0);
        while parts.0 % 2.0 == 0.0 && parts.1 > 1.0 {
            parts = (parts.0 / 2.0, parts.1 / 2.0);
        }
        let (above, below) = parts;
        let (whole, rest) = ((above / below).floor(), above % below);
        let whole = if whole > 0.0 {
            format!("{whole} ")
        } else {
            String::new()
        };
        return if rest > 0.0 {
            format!("{whole}{rest}/{below} in")
        } else {
            format!("{whole}in")
        };
    }
    millimetres(width)
}

fn stands(class: Class, strength: &Strength, geometry: &Geometry) -> Part {
    let nut = class.is_nut();
    let what = match class {
        Class::Grade(_) => format!("What {class} stands"),
        Class::Nut(_) | Class::ThinNut(_) => format!("What a nut of class {class} stands"),
        _ => format!("What class {class} stands"),
    };
    let mut part = Part::under(&what);
    let load = |load| format!("{} kN", digits(in_newtons(load) / 1000.0, 3));
    let stress = |stress| format!("{} MPa", digits(in_megapascals(stress), 3));
    let proof = strength.proof_load(geometry.stress_area);
    part.line(
        Line::told("proof load", load(proof))
            .beside(format!("at {}", stress(strength.proof)))
            .number("proof_load_n", in_newtons(proof))
            .number("proof_stress_mpa", in_megapascals(strength.proof)),
    );
    if nut {
        part.note(match class {
            Class::ThinNut(_) => {
                "A thin nut strips before the bolt breaks: it is no full nut, and takes no full torque."
            }
            _ => "It is tested on a hardened mandrel: a bolt of its class is to break before it strips.",
        });
    } else {
        let tensile = strength.tensile_load(geometry.stress_area);
        part.line(
            Line::told("breaks at, least", load(tensile))
                .beside(format!("at {}", stress(strength.tensile)))
                .number("tensile_load_n", in_newtons(tensile))
                .number("tensile_strength_mpa", in_megapascals(strength.tensile)),
        );
        part.line(
            Line::told("yields at, least", stress(strength.yields))
                .number("yield_strength_mpa", in_megapascals(strength.yields)),
        );
    }
    if geometry.is_inch() && matches!(class, Class::Bolt(..)) {
        part.note(
            "ISO 898-1 is written for metric threads: these loads are its stresses on the area of this one.",
        );
    }
    if let Some(hardness) = strength.hardness {
        let (scale, key) = match hardness.scale {
            HardnessScale::RockwellB => ("HRB", "hrb"),
            HardnessScale::RockwellC => ("HRC", "hrc"),
            _ => ("HV", "hv"),
        };
        let Band { least, most } = hardness.reads;
        part.line(
            Line::told("hardness", format!("{least}–{most} {scale}")).band(
                "hardness",
                key,
                hardness.reads.map(f64::from),
            ),
        );
    }
    if let Some(nut) = class.nut() {
        part.line(
            Line::told("its nut", format!("class {nut}"))
                .beside("or higher")
                .fact("nut_class", Fact::Word(nut.to_string())),
        );
    }
    if matches!(class, Class::Bolt(8, 8)) && in_mm(geometry.diameter) > 16.0 {
        part.note("Above 16 mm, 8.8 is of a steel that stands a little more than below.");
    }
    if matches!(class, Class::Bolt(..)) {
        part.note("Of standards' rounded tables these loads differ by up to 0.7 %.");
    }
    part
}

/// How much thread is enough, and whether what is engaged is.
fn engagement(
    thread: &Thread,
    geometry: &Geometry,
    strength: Option<(Class, Strength)>,
    tapped: Tapped,
    engaged: Option<Length>,
) -> Part {
    let word = tapped.word();
    let mut part = Part::under(&format!("Engaged in {word}"));
    if let Some(engaged) = engaged {
        part.line(
            Line::told("engaged", millimetres(engaged))
                .beside(format!(
                    "{} diameters",
                    digits(in_mm(engaged) / in_mm(geometry.diameter), 3)
                ))
                .number("engagement_mm", in_mm(engaged)),
        );
    }
    let thumb = geometry.diameter * tapped.rule_of_thumb();
    part.line(
        Line::told("rule of thumb", millimetres(thumb))
            .beside(format!(
                "{} diameters in {word}",
                digits(as_share(tapped.rule_of_thumb()), 2)
            ))
            .number("engagement_rule_of_thumb_mm", in_mm(thumb)),
    );
    let mut enough = thumb;
    let bolt = strength.filter(|(class, _)| !class.is_nut());
    match (bolt, tapped.shears_at()) {
        (None, _) => part.note(format!(
            "With `--class` it is also reckoned when the bolt in {} breaks before the thread strips.",
            thread.text()
        )),
        (Some(_), None) => part.note(format!(
            "What thread in {word} stands nobody can say in general."
        )),
        (Some((class, strength)), Some(shears_at)) => {
            let load = strength.tensile_load(geometry.stress_area);
            // The strong material needs the least.
            let needs = |pair: &Pair| {
                Band::new(
                    pair.engagement_for(load, shears_at.most),
                    pair.engagement_for(load, shears_at.least),
                )
            };
            let basic = needs(&Pair::basic(geometry));
            let slack = Limits::of(thread)
                .map(|limits| needs(&Pair::slackest(geometry, &limits)));
            let told = |band: Band<Length>| {
                ends(
                    &format!("{:.1}", in_mm(band.least)),
                    &format!("{:.1}", in_mm(band.most)),
                    "mm",
                )
            };
            let stresses = ends(
                &digits(in_megapascals(shears_at.least), 3),
                &digits(in_megapascals(shears_at.most), 3),
                "MPa",
            );
            part.line(
                Line::told("breaks before it strips", told(basic))
                    .beside(format!("{word} that shears at {stresses}"))
                    .band("engagement_basic", "mm", basic.map(in_mm))
                    .band("shear_strength", "mpa", shears_at.map(in_megapascals)),
            );
            let worst = slack.unwrap_or(basic);
            if let Some(slack) = slack {
                part.line(
                    Line::told("the same, slackest fit", told(slack))
                        .beside("smallest bolt, widest hole of the tolerance")
                        .band("engagement_slackest", "mm", slack.map(in_mm)),
                );
            }
            // Weak material and slack threads together; the bolt's own thread strips at less
            // than this in none but material as strong as itself.
            enough = enough.max(worst.most).max(engagement_of_equals(geometry));
            part.note(format!(
                "Reckoned against the least that breaks {class}: {}. Real bolts of a class are often a tenth stronger.",
                loads(Band::new(load, load))
            ));
        }
    }
    part.line(
        Line::told("enough is", format!("{:.1} mm", in_mm(enough)))
            .number("engagement_enough_mm", in_mm(enough)),
    );
    if let Some(engaged) = engaged {
        // The rule of thumb alone knows neither the bolt nor the casting.
        let reckoned = bolt.is_some() && tapped.shears_at().is_some();
        let is = reckoned && engaged >= enough;
        let (word, beside) = if is {
            ("yes", "by these figures the bolt breaks first")
        } else if engaged >= thumb && !reckoned {
            (
                "not surely",
                "it is by the rule of thumb; which gives way first is not reckoned",
            )
        } else if engaged >= thumb {
            (
                "not surely",
                "it is by the rule of thumb, and not in the weakest material with the slackest fit",
            )
        } else {
            ("no", "less than the rule of thumb")
        };
        part.line(
            Line::told("is it enough", word)
                .beside(beside)
                .fact("engagement_is_enough", Fact::Flag(is))
                .fact(
                    "engagement_meets_rule_of_thumb",
                    Fact::Flag(engaged >= thumb),
                ),
        );
    }
    part
}

/// Inserts, and the next thread up.
fn repairs(thread: &Thread) -> Option<Part> {
    let insert = repair::insert(thread)?;
    let mut part = Part::under("If it strips");
    part.line(
        Line::told("wire insert, drill", millimetres(insert.drill))
            .number("insert_drill_mm", in_mm(insert.drill)),
    );
    part.line(
        Line::told("its own tap, across", millimetres(insert.tap))
            .beside("no ordinary tap will do")
            .number("insert_tap_mm", in_mm(insert.tap)),
    );
    let lengths: Vec<String> = insert
        .lengths
        .iter()
        .map(|length| digits(in_mm(*length), 3))
        .collect();
    let rows = insert
        .lengths
        .iter()
        .map(|length| vec![("length_mm".to_owned(), Fact::Number(in_mm(*length)))]);
    part.line(
        Line::told("insert lengths", "")
            .beside(format!("{} mm", lengths.join(", ")))
            .fact("insert_lengths", Fact::Rows(rows.collect())),
    );
    let larger = repair::next_larger(thread);
    if !larger.is_empty() {
        let told = larger
            .iter()
            .map(|(name, drill)| format!("{name} (drill {})", millimetres(*drill)));
        let rows = larger.iter().map(|(name, drill)| {
            vec![
                ("thread".to_owned(), Fact::Word((*name).to_owned())),
                ("tap_drill_mm".to_owned(), Fact::Number(in_mm(*drill))),
            ]
        });
        part.line(
            Line::told("next larger", "")
                .beside(told.collect::<Vec<_>>().join(", "))
                .fact("next_larger", Fact::Rows(rows.collect())),
        );
    }
    part.note("The insert's maker knows its drill better; tables differ by 0.2 mm.");
    Some(part)
}
