//! `matchmark sheet`.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::Outcome;
use super::check::colour;
use super::sessions::PAGE;
use crate::folder::{self, Folder};
use crate::handover::without_private;
use crate::model::Kind;
use crate::present::{Present, Worked};
use crate::render::{page, rows};
use crate::report::sheet::{NoSuch, orders, send_out, torque};
use crate::shell::{clock, disk, terminal};

/// Print a sheet for the bench: to read, to tick, to sign
///
/// No sheet holds what `private` in build.yaml chooses. Each says the day that it counts to
/// and has a stamp made of all its words: the same folder gives the same sheet with the same
/// stamp. Of the HTML a browser makes paper.
#[derive(Debug, Args)]
pub struct Sheet {
    #[command(subcommand)]
    which: Which,
}

#[derive(Debug, Subcommand)]
enum Which {
    Torque(Torque),
    SendOut(SendOut),
    Orders(Orders),
}

/// What to set the wrench to, joint by joint, with boxes to tick
///
/// What is printed in the book stands there as it is printed. What stands behind `≈` was worked
/// out. The maker's manual for your own parts comes first.
#[derive(Debug, Args)]
struct Torque {
    /// An assembly (`engine`), with what goes into it, or one joint (`engine/head-bolts`)
    /// [default: all joints]
    what: Option<String>,
    #[command(flatten)]
    printed: Printed,
}

/// What goes to the plater or another shop, to be counted out and back
///
/// It goes to a stranger: no prices, no receipts and no notes are on it.
#[derive(Debug, Args)]
struct SendOut {
    /// The job of the kind `send-out`
    job: String,
    #[command(flatten)]
    printed: Printed,
}

/// Open orders: what has come, what is overdue, what waits, what can still go back
#[derive(Debug, Args)]
struct Orders {
    #[command(flatten)]
    printed: Printed,
}

/// How and of what a sheet is printed.
#[derive(Debug, Args)]
struct Printed {
    /// How the sheet is printed
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// The day that ages and last days count to, as in 2026-03-01 [default: today]
    #[arg(long, value_name = "DAY")]
    as_of: Option<String>,
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people: 80 columns
    Text,
    /// For a note or a web page: CommonMark
    Markdown,
    /// For a browser, or paper: one file that needs no other
    Html,
    /// For spreadsheets
    Csv,
}

/// The kinds of record that sheets are made from.
const READ_FROM: [Kind; 6] = [
    Kind::Build,
    Kind::Parts,
    Kind::Assemblies,
    Kind::Fasteners,
    Kind::Jobs,
    Kind::Photos,
];

impl Sheet {
    /// Prints the sheet.
    ///
    /// # Errors
    /// When there is no build folder, or nothing is called what was asked for, or what is
    /// private can't be told.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let printed = match &self.which {
            Which::Torque(torque) => &torque.printed,
            Which::SendOut(send_out) => &send_out.printed,
            Which::Orders(orders) => &orders.printed,
        };
        let path = super::build_folder(printed.folder.as_deref())?;
        let as_of = super::day(printed.as_of.as_deref())?.unwrap_or_else(clock::today);
        folder::make_ready();
        let mut folder = Folder::read(disk::yaml_files(&path)?)?;
        folder.model = without_private(&folder).map_err(|error| {
            anyhow::anyhow!("`matchmark check` says what is wrong in it; mend that first")
                .context(error)
        })?;
        let left_out = folder.left_out(&READ_FROM);
        let present = Present::of(&folder);
        let worked = Worked {
            folder: &folder,
            present: &present,
        };
        let sheet = match &self.which {
            Which::Torque(torque) => torque::sheet(worked, torque.what.as_deref(), as_of),
            Which::SendOut(send_out) => send_out::sheet(worked, &send_out.job, as_of),
            Which::Orders(_) => Ok(orders::sheet(worked, as_of)),
        };
        let sheet = match sheet {
            Ok(sheet) => sheet,
            Err(NoSuch { what, remedy }) => {
                // What was asked for may stand where it can't be read.
                super::complain_of("sheet", &left_out);
                return Err(anyhow::anyhow!(remedy).context(what));
            }
        };
        terminal::print(&match printed.format {
            Format::Text => {
                let width = terminal::width().map_or(PAGE, |width| width.min(PAGE));
                page::text(&sheet.page, width, colour())
            }
            Format::Markdown => page::markdown(&sheet.page),
            Format::Html => page::html(&sheet.page),
            Format::Csv => rows::spreadsheet(&sheet.lines),
        })?;
        super::complain_of("sheet", &left_out);
        Ok(Outcome::Clean)
    }
}
