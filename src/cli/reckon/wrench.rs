//! `matchmark reckon wrench`.

use std::path::PathBuf;

use clap::Args;
use jiff::civil::Date;

use super::{MAKER_FIRST, brackets, digits, millimetres, refused, torques};
use crate::folder::{self, Folder};
use crate::model::Kind;
use crate::present::date;
use crate::present::hardware::{length, used_part};
use crate::reckon::measure::{
    Angle, Band, Length, Ratio, Torque, angle_of, as_share, degrees, in_degrees, in_mm,
    in_newton_metres, in_percent, mm, newton_metres,
};
use crate::reckon::quantity::{Form, Quantity};
use crate::reckon::unit::Amount;
use crate::reckon::wrench::{Adapter, Covers, Wrench, usual_part};
use crate::report::answer::{Answer, Fact, Line, Part};
use crate::shell::disk;

/// What programs find in every answer.
const KEYS: &[&str] = &[
    "torque_nm",
    "torque_min_nm",
    "torque_max_nm",
    "lever_mm",
    "extension_mm",
    "angle_deg",
    "setting_nm",
    "setting_min_nm",
    "setting_max_nm",
    "wrench_most_min_nm",
    "wrench_most_max_nm",
    "wrenches",
];

/// Tell what a torque wrench is set to, and which one covers it
///
/// With an extension or a crowfoot on its end a wrench is set to another figure than the
/// bolt gets. In a build folder the wrenches of `build.yaml` are gone through, each with
/// its own length.
#[derive(Debug, Args)]
pub struct WrenchArgs {
    /// The torque at the bolt, as `"24 N·m"` or `"18 lb-ft"`
    torque: String,
    /// From the middle of the wrench's drive to the mark on its grip, as `380mm`
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    lever: Option<String>,
    /// From the middle of the drive to the middle of the bolt, as `55mm`
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    extension: Option<String>,
    /// Between the two: `0deg` straight on, `90deg` square to it, `180deg` folded back
    /// [default: 0deg]
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true)]
    angle: Option<String>,
    /// The least that the wrench can be set to
    #[arg(
        long,
        value_name = "TORQUE",
        allow_hyphen_values = true,
        requires = "to"
    )]
    from: Option<String>,
    /// The most that the wrench can be set to
    #[arg(long, value_name = "TORQUE", allow_hyphen_values = true)]
    to: Option<String>,
    /// The build folder whose wrenches are meant [default: the one that the working folder
    /// lies in, if it lies in one]
    #[arg(long, value_name = "FOLDER", conflicts_with = "to")]
    folder: Option<PathBuf>,
}

/// A wrench that is gone through.
struct Owned {
    name: String,
    wrench: Wrench,
    lever: Option<Length>,
    /// The day that it was last calibrated.
    calibrated: Option<Date>,
    /// The day that it fell on, with no calibration since.
    fell: Option<Date>,
}

impl Owned {
    /// What is written of how far it can be trusted.
    fn trust(&self) -> String {
        match (self.fell, self.calibrated) {
            (Some(day), _) => format!("; dropped {day}, and not calibrated since"),
            (None, Some(day)) => format!("; calibrated {day}"),
            (None, None) => String::new(),
        }
    }
}

/// What hangs on the end of the wrench.
#[derive(Clone, Copy)]
struct End {
    extension: Length,
    angle: Angle,
}

impl WrenchArgs {
    pub(super) fn answer(&self) -> anyhow::Result<Answer> {
        let (given, band) = super::torque("the torque", &self.torque)?;
        if band.most <= newton_metres(0.0) {
            return Err(refused(
                format!("`{}` is no torque to set", self.torque),
                "write what the bolt is to get, as in `24 N·m`",
            ));
        }
        let lever = self.lever.as_deref();
        let lever = lever
            .map(|written| super::length("`--lever`", written, "380mm"))
            .transpose()?;
        let end = self.end()?;
        let (owned, part_of) = self.wrenches()?;
        let levers = owned.iter().filter(|one| one.lever.is_some()).count();
        if end.is_some() && lever.is_none() && levers == 0 {
            return Err(refused(
                "the setting depends on how long the wrench is",
                "add the length from drive to grip, as in `--lever 380mm`",
            ));
        }
        let mut answer = Answer::about(given.text(), KEYS);
        let mut part = Part::default();
        part.line(
            Line::told("at the bolt", torques(band, "N·m"))
                .beside(torques(band, "lb-ft"))
                .fact("torque_nm", or_nothing(aimed_at(&given)))
                .band("torque", "nm", band.map(in_newton_metres)),
        );
        brackets(&given, &mut part, &mut answer);
        if let Some(lever) = lever {
            part.line(Line::told("lever", millimetres(lever)).number("lever_mm", in_mm(lever)));
        }
        if let Some(end) = end {
            part.line(
                Line::told("extension", millimetres(end.extension))
                    .number("extension_mm", in_mm(end.extension)),
            );
            part.line(
                Line::told("angle", format!("{} deg", digits(in_degrees(end.angle), 3)))
                    .number("angle_deg", in_degrees(end.angle)),
            );
        }
        let settings = match (lever, end) {
            (Some(lever), Some(end)) => Some(set(band, lever, end)?),
            (_, None) => Some(band),
            (None, Some(_)) => None,
        };
        if let Some(settings) = settings {
            part.line(setting(settings, &given, band));
        }
        if let Some(end) = end {
            sketch(&mut part, lever, end);
            answer.source(
                "Statics: setting = torque × L / (L + E·cos α); wrench makers print the same",
            );
            answer.caution(
                "Printed pages disagree on which way the angle is counted; go by the sketch. Pull at the mark on the grip, square to the wrench: held elsewhere, the setting is wrong.",
            );
        }
        answer.parts.push(part);
        answer.parts.push(self.covering(
            &owned,
            part_of,
            settings,
            (&given, band),
            lever,
            end,
            &mut answer.sources,
        ));
        answer.caution(
            "A wrench is trusted only in that part of its range, and only while its calibration holds; a dropped one is tested first.",
        );
        answer.caution(MAKER_FIRST);
        Ok(answer)
    }

    fn end(&self) -> anyhow::Result<Option<End>> {
        let angle = match &self.angle {
            Some(written) => {
                let example = "45deg";
                let quantity = super::quantity(written, example)?;
                let band = angle_of(&quantity).ok_or_else(|| {
                    refused(
                        format!(
                            "`{written}` is {} and not an angle",
                            quantity.dimension().with_article()
                        ),
                        "write `--angle` as in `90deg`",
                    )
                })?;
                super::one_figure("`--angle`", written, band)?
            }
            None => degrees(0.0),
        };
        match &self.extension {
            Some(written) => {
                let extension = super::length("`--extension`", written, "55mm")?;
                Ok(Some(End { extension, angle }))
            }
            None if self.angle.is_some() => Err(refused(
                "an angle alone says nothing: on the drive itself the bolt gets what is set",
                "add how far the bolt lies from the drive, as in `--extension 55mm`",
            )),
            None => Ok(None),
        }
    }

    /// The wrenches that are gone through, and what part of their range is used.
    fn wrenches(&self) -> anyhow::Result<(Vec<Owned>, Band<Ratio>)> {
        if let Some(most) = &self.to {
            let (_, most) = super::torque("`--to`", most)?;
            let least = match &self.from {
                Some(least) => super::torque("`--from`", least)?.1.least,
                None => newton_metres(0.0),
            };
            if most.most <= least {
                return Err(refused(
                    "the wrench's range begins at or above its end",
                    "write the lesser figure at `--from`, as in `--from \"10 N·m\" --to \"100 N·m\"`",
                ));
            }
            let owned = Owned {
                name: "this wrench".to_owned(),
                wrench: Wrench {
                    marked: Band::new(least, most.most),
                },
                lever: None,
                calibrated: None,
                fell: None,
            };
            return Ok((vec![owned], usual_part()));
        }
        let path = match &self.folder {
            Some(folder) => crate::cli::build_folder(Some(folder))?,
            None => match disk::build_folder(None) {
                Ok(path) => path,
                // Nobody said that there was one.
                Err(_) => return Ok((Vec::new(), usual_part())),
            },
        };
        folder::make_ready();
        let folder = Folder::read(disk::yaml_files(&path)?)?;
        crate::cli::complain_of("list of wrenches", &folder.left_out(&[Kind::Build]));
        Ok(owned(&folder))
    }

    #[allow(clippy::too_many_arguments)]
    fn covering(
        &self,
        owned: &[Owned],
        part_of: Band<Ratio>,
        settings: Option<Band<Torque>>,
        (given, band): (&Quantity, Band<Torque>),
        lever: Option<Length>,
        end: Option<End>,
        sources: &mut Vec<String>,
    ) -> Part {
        let used = format!(
            "{}–{} %",
            digits(in_percent(part_of.least), 3),
            digits(in_percent(part_of.most), 3)
        );
        sources.push(format!(
            "{used} of the most that is marked on a wrench: ISO 6789-1, from memory"
        ));
        if owned.is_empty() {
            let mut part = Part::under("Which wrench");
            let Some(settings) = settings else {
                return part;
            };
            let least = settings.most / as_share(part_of.most);
            let most = settings.least / as_share(part_of.least).max(f64::EPSILON);
            let range = Band::new(least, most);
            if least <= most {
                part.line(
                    Line::told("its most, as marked", torques(range, "N·m"))
                        .beside(torques(range, "lb-ft"))
                        .band("wrench_most", "nm", range.map(in_newton_metres)),
                );
            }
            part.note(format!(
                "A wrench covers it whose range goes up to a figure between these, as it is used at {used} of that. With `--from` and `--to`, or in a build folder, it is told of the wrench itself."
            ));
            return part;
        }
        let mut part = Part::under("Which wrench covers it");
        let mut rows = Vec::new();
        for one in owned {
            let of_its_own = one.lever.or(lever);
            let wanted = match (end, of_its_own) {
                (None, _) => Ok(band),
                (Some(end), Some(its)) => set(band, lever.unwrap_or(its), end),
                (Some(_), None) => Err(anyhow::anyhow!("")),
            };
            let used = one.wrench.used_for(part_of);
            let mut row = vec![
                ("wrench".to_owned(), Fact::Word(one.name.clone())),
                (
                    "used_min_nm".to_owned(),
                    Fact::Number(in_newton_metres(used.least)),
                ),
                (
                    "used_max_nm".to_owned(),
                    Fact::Number(in_newton_metres(used.most)),
                ),
                ("calibrated".to_owned(), day(one.calibrated)),
                ("dropped_since".to_owned(), day(one.fell)),
            ];
            let Ok(wanted) = wanted else {
                part.line(
                    Line::told(&one.name, "not known")
                        .beside("its length is not written, or it is too short for this"),
                );
                row.push(("covers".to_owned(), Fact::Nothing));
                row.push(("setting_nm".to_owned(), Fact::Nothing));
                rows.push(row);
                continue;
            };
            let covers = one.wrench.covers(wanted, part_of);
            let set = |to| format!("set {}", torques(to, "N·m"));
            let (figure, why) = match covers {
                Covers::Fully => (set(wanted), ""),
                Covers::Partly => {
                    let (least, most) = (wanted.least.max(used.least), wanted.most.min(used.most));
                    (set(Band::new(least, most)), "no more of the range: it is ")
                }
                Covers::TooSmall => ("no".to_owned(), "too small a torque: it is "),
                Covers::TooLarge => ("no".to_owned(), "too great a torque: it is "),
            };
            let why = format!("{why}used for {}{}", torques(used, "N·m"), one.trust());
            row.push(("covers".to_owned(), Fact::Flag(covers == Covers::Fully)));
            let nominal = aimed_at(given).map(|torque| torque * as_share(wanted.most / band.most));
            row.push(("setting_nm".to_owned(), or_nothing(nominal)));
            rows.push(row);
            part.line(Line::told(&one.name, figure).beside(why));
        }
        if let Some(first) = part.lines.first_mut() {
            first.facts.push(("wrenches".to_owned(), Fact::Rows(rows)));
        }
        part
    }
}

/// The wrenches of a build, and the part of their range that it uses.
fn owned(folder: &Folder) -> (Vec<Owned>, Band<Ratio>) {
    let build = &folder.model.build;
    let wrenches = build.wrenches.iter().filter_map(|(name, one)| {
        let lever = one.length.as_ref().and_then(length).map(Band::middle);
        Some(Owned {
            name: name.0.clone(),
            wrench: one.marked()?,
            lever: lever.filter(|lever| *lever > mm(0.0)),
            calibrated: one.calibrated.as_ref().and_then(date),
            fell: one.fell(),
        })
    });
    (wrenches.collect(), used_part(build.figures.as_ref()))
}

/// A day as programs read it.
fn day(of: Option<Date>) -> Fact {
    of.map_or(Fact::Nothing, |day| Fact::Word(day.to_string()))
}

/// What is set for what the bolt is to get.
fn set(band: Band<Torque>, lever: Length, end: End) -> anyhow::Result<Band<Torque>> {
    let adapter = Adapter {
        lever,
        extension: end.extension,
        angle: end.angle,
    };
    let both = adapter.setting(band.least).zip(adapter.setting(band.most));
    let (least, most) = both.ok_or_else(|| {
        refused(
            "bolt and hand come so close together that no setting makes sense",
            "turn the extension outward, or use a longer wrench",
        )
    })?;
    Ok(Band::new(least, most))
}

/// The one torque that is aimed at; of a range nobody printed one.
fn aimed_at(given: &Quantity) -> Option<Torque> {
    match (given.form(), given.nominal()) {
        (Form::Single(_) | Form::Tolerance { .. }, Amount::Torque(torque)) => Some(torque),
        _ => None,
    }
}

fn or_nothing(torque: Option<Torque>) -> Fact {
    torque.map_or(Fact::Nothing, |torque| {
        Fact::Number(in_newton_metres(torque))
    })
}

fn setting(settings: Band<Torque>, given: &Quantity, band: Band<Torque>) -> Line {
    let share = settings.most / band.most;
    let nominal = aimed_at(given).map(|torque| torque * as_share(share));
    Line::told("set the wrench to", torques(settings, "N·m"))
        .beside(torques(settings, "lb-ft"))
        .fact("setting_nm", or_nothing(nominal))
        .band("setting", "nm", settings.map(in_newton_metres))
}

/// Where bolt, drive and hand lie, in words.
fn sketch(part: &mut Part, lever: Option<Length>, end: End) {
    let turned = in_degrees(end.angle).rem_euclid(360.0);
    let turned = if turned > 180.0 {
        360.0 - turned
    } else {
        turned
    };
    let extension = millimetres(end.extension);
    let hand = lever.map_or_else(
        || "the hand at the mark on the grip".to_owned(),
        |lever| format!("the hand {} from the drive", millimetres(lever)),
    );
    let square = (89.0..=91.0).contains(&turned);
    let place = if end.extension <= mm(0.0) {
        "right under the drive".to_owned()
    } else if turned < 1.0 {
        format!("{extension} beyond the drive, in line, away from the hand")
    } else if square {
        format!("{extension} from the drive, square to the wrench, on either side")
    } else if turned < 89.0 {
        format!("{extension} from the drive, ahead of it and {turned:.0} deg off the line")
    } else if turned < 179.0 {
        format!(
            "{extension} from the drive, back towards the hand and {:.0} deg off the wrench",
            180.0 - turned
        )
    } else {
        format!("{extension} back from the drive, under the wrench, towards the hand")
    };
    let set = if square || end.extension <= mm(0.0) {
        "Set it to what the bolt gets."
    } else if turned < 89.0 {
        "Set it lower than the bolt gets."
    } else {
        "Set it higher than the bolt gets."
    };
    let words = format!("the bolt lies {place}; {hand}. {set}");
    part.note(format!("Sketch: {words}"));
}
