//! `matchmark identify`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use super::Outcome;
use crate::folder::Folder;
use crate::identify::{Measure, Reading, Slip, Slots, Tolerances, identify, known, match_bucket};
use crate::model::Kind;
use crate::present::{Present, Worked};
use crate::render::bucket_sheet;
use crate::render::identify as render;
use crate::render::safe::safe;
use crate::shell::{disk, terminal, unpack};

/// Find out which bolt this is, or what came back in a bucket
///
/// Looks for the hardware that fits what was measured, best first: why, where it lies,
/// and which holes call for it and are still open. Where two fit alike it names the one
/// further measure that parts them; where nothing fits, the nearest and by how much it
/// misses. What a record does not state speaks neither for nor against it. Figures are
/// in millimetres, inches or thou: `94mm`, `3 11/16in`, `12thou`.
///
/// With a bucket it matches a sheet with a line for each piece to what went out, so that
/// the misfits together come to the least.
///
/// It knows no more than the records say. Before a bolt goes in where somebody could be
/// hurt, look at the marks on its head, and in the maker's manual.
#[derive(Debug, Args)]
pub struct Identify {
    /// Under the head; of a stud, or with a head that sinks in, the whole
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    length: Option<String>,
    /// Across the flats of head or nut. It never stands for a thread
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    across_flats: Option<String>,
    /// The thread, as in M8x1.25 or 3/8-16UNC
    #[arg(long)]
    thread: Option<String>,
    /// Across the crests of the outer thread
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    diameter: Option<String>,
    /// The class or grade as it is marked, as in 8.8 or "grade 5"
    #[arg(long)]
    class: Option<String>,
    /// The marks on its head
    #[arg(long, value_name = "MARKS")]
    head_marks: Option<String>,
    /// What head it has: hex, flange, socket, twelve point …
    #[arg(long)]
    head: Option<String>,
    /// What form it has: bolt, stud, nut, washer … A screw is a bolt here
    #[arg(long)]
    form: Option<String>,
    /// How thick a nut or washer is
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    thickness: Option<String>,
    /// Across the flange, head or washer
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    outside: Option<String>,
    /// Across the hole of a washer or spacer
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    inside: Option<String>,
    /// The threaded part
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    threaded: Option<String>,
    /// The plain part of the shank
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    shank: Option<String>,
    /// Its coat: plain, zinc, black …
    #[arg(long)]
    finish: Option<String>,
    /// How far a figure may lie off what a record states: 1mm suits a ruler, 0.1mm a
    /// vernier; `across-flats=0.3mm` is for that measure alone. May stand there several
    /// times [default: what a vernier may be off, or half of the last figure that is
    /// written, and what pieces themselves may be off: a head of 13 mm may measure 12.8]
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true)]
    tolerance: Vec<String>,
    /// A sheet (CSV) of a whole bucket, a line for each piece. Its first line names the
    /// columns: `piece`, `note`, and the measures by the names above, with their unit, as
    /// `length mm`
    #[arg(long, value_name = "FILE")]
    bucket: Option<PathBuf>,
    /// The send-out that the bucket came back from [default: all hardware with `have`]
    #[arg(long, value_name = "JOB", requires = "bucket")]
    batch: Option<String>,
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    #[arg(long)]
    folder: Option<PathBuf>,
    /// How the answer is printed
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

/// The kinds of record that an answer is worked out from.
const READ_FROM: [Kind; 5] = [
    Kind::Build,
    Kind::Parts,
    Kind::Assemblies,
    Kind::Fasteners,
    Kind::Jobs,
];

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people
    Text,
    /// For programs
    Json,
    /// A bucket as a table: a line for each piece and for what is missing
    Csv,
}

impl Identify {
    /// Works it out and prints it.
    ///
    /// # Errors
    /// When there is no build folder, or what was measured can't be read.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let readings = self.readings().map_err(told)?;
        let tolerances = self.tolerance.iter().map(String::as_str);
        let tolerances = Tolerances::read(tolerances).map_err(told)?;
        if self.bucket.is_none() && readings.is_empty() {
            return Err(anyhow::anyhow!(
                "measure the piece, as in `matchmark identify --length 94mm --across-flats 13mm`, \
                 or name a sheet with `--bucket`"
            )
            .context("nothing was measured"));
        }
        if self.bucket.is_some() && !readings.is_empty() {
            return Err(anyhow::anyhow!("ask for the one piece without `--bucket`")
                .context("what was measured of a bucket stands in its sheet"));
        }
        if self.bucket.is_none() && self.format == Format::Csv {
            return Err(anyhow::anyhow!("choose `--format text` or `--format json`")
                .context("only a bucket is a table"));
        }
        let path = super::build_folder(self.folder.as_deref())?;
        let folder = Folder::read(disk::yaml_files(&path)?)?;
        let left_out = folder.left_out(&READ_FROM);
        let answer = match &self.bucket {
            None => {
                let present = Present::of(&folder);
                let worked = Worked {
                    folder: &folder,
                    present: &present,
                };
                let answer = identify(&known(&folder), &readings, &tolerances);
                match self.format {
                    Format::Json => Ok(render::json(worked, &readings, &tolerances, &answer)),
                    _ => Ok(render::text(worked, &readings, &tolerances, &answer)),
                }
            }
            Some(sheet) => self.bucket(&folder, sheet, &tolerances),
        };
        super::complain_of("answer", &left_out);
        terminal::print(&answer?)?;
        Ok(Outcome::Clean)
    }

    fn readings(&self) -> Result<Vec<Reading>, Slip> {
        let written = |measure: Measure| match measure {
            Measure::Form => &self.form,
            Measure::Head => &self.head,
            Measure::Length => &self.length,
            Measure::AcrossFlats => &self.across_flats,
            Measure::Thickness => &self.thickness,
            Measure::Outside => &self.outside,
            Measure::Diameter => &self.diameter,
            Measure::Class => &self.class,
            Measure::HeadMarks => &self.head_marks,
            Measure::Inside => &self.inside,
            Measure::Threaded => &self.threaded,
            Measure::Shank => &self.shank,
            Measure::Thread => &self.thread,
            Measure::Finish => &self.finish,
        };
        let all = Measure::ALL.into_iter();
        let all = all.filter_map(|measure| Some((measure, written(measure).as_deref()?)));
        all.map(|(measure, text)| Reading::read(measure, text))
            .collect()
    }

    fn bucket(
        &self,
        folder: &Folder,
        sheet: &Path,
        tolerances: &Tolerances,
    ) -> anyhow::Result<String> {
        let bytes = unpack::sheet(sheet)?;
        let pieces = match bucket_sheet::read(&bytes) {
            Ok(pieces) => pieces,
            Err(slips) => {
                let line = |text: &str| safe(text).replace('\n', " ");
                let lines = slips.iter().map(|slip| {
                    format!(
                        "{}\n    to do: {}\n",
                        line(&slip.to_string()),
                        line(&slip.remedy)
                    )
                });
                terminal::complain(&super::fitted(lines.collect()));
                return Err(
                    anyhow::anyhow!("mend the lines above, and ask again").context(format!(
                        "nothing is matched, as {} can't be read whole",
                        sheet.display()
                    )),
                );
            }
        };
        let slots = match &self.batch {
            Some(job) => Slots::of_job(folder, job),
            None => Slots::of_all(folder),
        };
        let slots = slots.map_err(told)?;
        let all = known(folder);
        let bucket = match_bucket(&all, &slots, &pieces, tolerances);
        Ok(match self.format {
            Format::Text => render::bucket_text(&pieces, &slots, &bucket),
            Format::Json => render::bucket_json(&pieces, &slots, &bucket),
            Format::Csv => render::bucket_csv(&pieces, &bucket)?,
        })
    }
}

/// A slip as a command tells it.
fn told(slip: Slip) -> anyhow::Error {
    anyhow::anyhow!(slip.remedy.clone()).context(slip)
}
