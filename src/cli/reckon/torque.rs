//! `matchmark reckon torque`.

use clap::Args;

use super::thread::{standard, strength};
use super::{MAKER_FIRST, brackets, digits, loads, of_kind, one_figure, refused, torques};
use crate::reckon::class::Class;
use crate::reckon::friction::Surface;
use crate::reckon::measure::{
    Band, Force, Torque, as_share, force_of, in_newton_metres, in_newtons, in_percent, ratio_of,
};
use crate::reckon::tightening::{Turned, usual_share};
use crate::report::answer::{Answer, Fact, Line, Part};

/// What a band does not say.
const STRAY: &str = "Single bolts stray further: of 30 that NASA-STD-5020B tightened as they came out of the bag, the loads at one torque lay from 65 to 164 % of their mean.";

/// What programs find in every answer.
const KEYS: &[&str] = &[
    "class",
    "surface",
    "friction_min",
    "friction_max",
    "nut_factor_min",
    "nut_factor_max",
    "proof_load_n",
    "preload_n",
    "torque_min_nm",
    "torque_max_nm",
    "preload_min_n",
    "preload_max_n",
    "share_of_proof_min_percent",
    "share_of_proof_max_percent",
];

/// Work out the torque for a clamp load, or the clamp load of a torque: always a band
///
/// Nobody knows the friction of one bolt, and most of a torque only rubs: one torque
/// comes to clamp loads that lie nearly as two to one. Without `--torque` it tells the
/// torques for 75 % of the bolt's proof load.
#[derive(Debug, Args)]
pub struct TorqueArgs {
    /// The thread, as `M10x1.5` or `3/8-16UNC`
    thread: String,
    /// The class or grade of the bolt, as `8.8` or `"grade 5"`
    #[arg(long, value_name = "CLASS")]
    class: Option<String>,
    /// What is on thread and head: `dry`, `oiled`, `greased`, `anti-seize`, `zinc`,
    /// `zinc-nickel`, `"zinc flake"`, `cadmium`, `black`, `stainless`, `"locking compound"`
    #[arg(long, value_name = "STATE")]
    surface: String,
    /// Tell what clamp load this torque comes to
    #[arg(long, value_name = "TORQUE", allow_hyphen_values = true, conflicts_with_all = ["share", "load"])]
    torque: Option<String>,
    /// Share of the proof load that is wanted, as `65%`
    #[arg(
        long,
        value_name = "SHARE",
        allow_hyphen_values = true,
        conflicts_with = "load"
    )]
    share: Option<String>,
    /// The clamp load that is wanted, as `20 kN`
    #[arg(long, value_name = "FORCE", allow_hyphen_values = true)]
    load: Option<String>,
}

impl TorqueArgs {
    pub(super) fn answer(&self) -> anyhow::Result<Answer> {
        let (thread, geometry) = super::thread(&self.thread)?;
        let surface = super::surface(&self.surface)?;
        let class = self.class.as_deref().map(super::class).transpose()?;
        if let Some(nut) = class.filter(|class| class.is_nut()) {
            return Err(refused(
                format!("{nut} is the class of a nut, and the bolt is what stretches"),
                "write the class of the bolt, as in `--class 8.8`",
            ));
        }
        let strength = class
            .map(|class| strength(class, &geometry).map(|strength| (class, strength)))
            .transpose()?;
        let stands = strength.map(|(_, strength)| Stands {
            proof: strength.proof_load(geometry.stress_area),
            breaks: strength.tensile_load(geometry.stress_area),
        });

        let turned = Turned::new(geometry, None);
        let friction = surface.friction();
        let mut answer = Answer::about(thread.text(), KEYS);
        let mut part = Part::default();
        if let Some((class, _)) = strength {
            part.line(
                Line::told("bolt", called(class)).fact("class", Fact::Word(class.to_string())),
            );
            answer.source(&format!("Strength: {}", standard(class)));
        }
        part.line(
            Line::told("surface", surface.word())
                .fact("surface", Fact::Word(surface.word().to_owned())),
        );
        let factor = friction.map(|one| as_share(turned.nut_factor(one)));
        let hundredths = |band: Band<f64>| format!("{:.2}–{:.2}", band.least, band.most);
        part.line(
            Line::told("friction", hundredths(friction.map(as_share)))
                .beside("in the thread and under the head")
                .band("friction", "", friction.map(as_share)),
        );
        part.line(
            Line::told("nut factor K", hundredths(factor))
                .beside("of torque = K × diameter × load")
                .band("nut_factor", "", factor),
        );
        if let Some(Stands { proof, .. }) = stands {
            part.line(
                Line::told("proof load", loads(Band::new(proof, proof)))
                    .number("proof_load_n", in_newtons(proof)),
            );
        }
        match &self.torque {
            Some(written) => {
                let (given, band) = super::torque("`--torque`", written)?;
                if band.least <= Torque::default() {
                    return Err(refused(
                        format!("`{written}` turns nothing"),
                        "write a torque of more than nothing, as in `--torque \"24 N·m\"`",
                    ));
                }
                let loads_of = Band::new(
                    turned.loads(band.least, friction).least,
                    turned.loads(band.most, friction).most,
                );
                part.line(
                    Line::told("torque", torques(band, "N·m"))
                        .beside(torques(band, "lb-ft"))
                        .band("torque", "nm", band.map(in_newton_metres)),
                );
                brackets(&given, &mut part, &mut answer);
                answer.about = format!("{} at {}", thread.text(), given.text());
                clamps(&mut part, loads_of, stands, &mut answer);
            }
            None => self.wants(&mut part, &turned, surface, stands, &mut answer)?,
        }
        part.note(STRAY);
        answer.parts.push(part);
        answer.source("MIL-HDBK-60 appendix B, 100.5: torque and load");
        answer.source(&format!(
            "Friction, {}: {}",
            surface.word(),
            surface.source()
        ));
        let greased = matches!(surface, Surface::Greased | Surface::AntiSeize);
        let stainless = matches!(class, Some(Class::Stainless(..))) && !greased;
        if stainless || surface == Surface::Stainless {
            answer
                .caution("Stainless thread seizes as it is turned; grease it, and reckon greased.");
        }
        if matches!(surface, Surface::LockingCompound) {
            answer
                .caution("Compounds differ more than this band; their makers print the friction.");
        }
        answer.caution(
            "Oil on a thread that is to be dry raises the load by a third and more at the same torque. A thread that turns stiffly, a prevailing-torque nut or a damaged face puts all of it in doubt.",
        );
        answer.caution(MAKER_FIRST);
        Ok(answer)
    }

    /// The torques for the load that is wanted.
    fn wants(
        &self,
        part: &mut Part,
        turned: &Turned,
        surface: Surface,
        stands: Option<Stands>,
        answer: &mut Answer,
    ) -> anyhow::Result<()> {
        let (load, from) = match (&self.load, stands) {
            (Some(written), _) => {
                let (_, band) = of_kind("`--load`", written, "20 kN", "a force", force_of)?;
                (
                    one_figure("`--load`", written, band)?,
                    "as asked".to_owned(),
                )
            }
            (None, Some(Stands { proof, .. })) => {
                let wanted = match &self.share {
                    Some(written) => {
                        let (_, band) = of_kind("`--share`", written, "65%", "a share", ratio_of)?;
                        one_figure("`--share`", written, band)?
                    }
                    None => {
                        answer.source("75 % of the proof load: common practice, no source");
                        usual_share()
                    }
                };
                let per_cent = digits(in_percent(wanted), 3);
                (proof * wanted, format!("{per_cent} % of the proof load"))
            }
            (None, None) => {
                return Err(refused(
                    "how tight it may be depends on what the bolt stands",
                    "add its class as in `--class 8.8`, a load as in `--load 20kN`, or a torque as in `--torque \"24 N·m\"`",
                ));
            }
        };
        if load <= Force::default() {
            return Err(refused(
                "a clamp load of nothing holds nothing",
                "write more than nothing, as in `--share 65%` or `--load \"20 kN\"`",
            ));
        }
        let band = turned.torques(load, surface.friction());
        part.line(
            Line::told("clamp load", loads(Band::new(load, load)))
                .beside(from)
                .number("preload_n", in_newtons(load)),
        );
        part.line(
            Line::told("torque", torques(band, "N·m"))
                .beside(torques(band, "lb-ft"))
                .band("torque", "nm", band.map(in_newton_metres)),
        );
        part.note(
            "The low end is for the most slippery friction of the band: set there, a bolt within the band gets no more than this load, and the roughest is left looser. A bolt that strays beyond the band can get more.",
        );
        if let Some(Stands { proof, breaks }) = stands {
            let loosest = turned.loads(band.least, surface.friction()).least;
            part.note(format!(
                "At the low end the clamp load lies between {} % and {} % of the proof load.",
                digits(in_percent(loosest / proof), 2),
                digits(in_percent(load / proof), 2)
            ));
            if load >= breaks {
                answer.caution(format!(
                    "This breaks a bolt of this class: at {} it need hold no longer. The torques are arithmetic, and nothing to set.",
                    loads(Band::new(breaks, breaks))
                ));
            } else if load >= proof {
                answer.caution("This is the proof load or more: the bolt may stretch for good.");
            }
        }
        Ok(())
    }
}

/// What the bolt stands.
#[derive(Clone, Copy)]
struct Stands {
    /// The load that it is tested with, and comes back from.
    proof: Force,
    /// The least load that breaks it.
    breaks: Force,
}

/// A class as it is spoken of.
fn called(class: Class) -> String {
    match class {
        Class::Grade(_) => class.to_string(),
        _ => format!("class {class}"),
    }
}

/// The clamp loads that a torque comes to.
fn clamps(part: &mut Part, band: Band<Force>, stands: Option<Stands>, answer: &mut Answer) {
    part.line(Line::told("clamp load", loads(band)).band("preload", "n", band.map(in_newtons)));
    let Some(Stands { proof, breaks }) = stands else {
        part.note("With `--class` it is told as a share of the proof load as well.");
        return;
    };
    let shares = band.map(|load| in_percent(load / proof));
    part.line(
        Line::told(
            "of the proof load",
            format!("{}–{} %", digits(shares.least, 2), digits(shares.most, 2)),
        )
        .band("share_of_proof", "percent", shares),
    );
    let breaking = loads(Band::new(breaks, breaks));
    if band.least >= breaks {
        answer.caution(format!(
            "Whatever the friction, this breaks a bolt of this class: at {breaking} it need hold no longer. The loads are arithmetic."
        ));
    } else if band.most >= breaks {
        answer.caution(format!(
            "With the least friction of the band this breaks a bolt of this class: at {breaking} it need hold no longer."
        ));
    } else if shares.least > 100.0 {
        answer.caution(
            "Whatever the friction, this is more than the proof load: the bolt stretches for good.",
        );
    } else if shares.most > 100.0 {
        answer.caution(
            "With the least friction of the band this passes the proof load: the bolt may stretch for good.",
        );
    }
}
