//! `matchmark allot`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use jiff::civil::Date;

use super::Outcome;
use crate::allot::{Answer, allot, scope};
use crate::finding::Finding;
use crate::folder::{Content, Folder, RawFile};
use crate::lint::{self, Facts};
use crate::model::Kind;
use crate::near;
use crate::present::Present;
use crate::render::allot as render;
use crate::render::safe::safe;
use crate::shell::disk::Rewrite;
use crate::shell::{clock, disk, terminal};
use crate::yaml::edit::{self, Edit};

/// Work out which pieces go to which places
///
/// In this order: no conflict; sets alike and within their spread; proven pieces
/// before unproven ones; least to buy; least change to what is planned and on; what is
/// kept for something stays kept. The number or the origin of a set is chosen with it.
/// What is on for good stays. Says of each piece why it goes where, or why it stays
/// out, and what must be bought or proven first.
///
/// It knows no more than the records say. The maker's manual and the look of the piece
/// in your hand come first.
#[derive(Debug, Args)]
pub struct Allot {
    /// An assembly (`engine`), a set of places (`fuel/injector`, or `injector` where one
    /// assembly has it) or one place (`engine/head`) [default: all places]
    what: Option<String>,
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    #[arg(long)]
    folder: Option<PathBuf>,
    /// How the answer is printed
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Write it down: change `goes` of the pieces in their files, write where they were on
    /// into `at` where only the old `goes` told, and touch nothing else
    #[arg(long)]
    write: bool,
    /// The day that ages count to, as in 2026-03-01 [default: today]
    #[arg(long, value_name = "DAY")]
    as_of: Option<String>,
}

/// The kinds of record that an answer is worked out from.
const READ_FROM: [Kind; 6] = [
    Kind::Build,
    Kind::Donors,
    Kind::Parts,
    Kind::Assemblies,
    Kind::Jobs,
    Kind::Decisions,
];

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people
    Text,
    /// For programs
    Json,
}

impl Allot {
    /// Works it out, prints it, and writes it where that was asked for.
    ///
    /// # Errors
    /// When there is no build folder or no such place, or a file can't be written.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let path = super::build_folder(self.folder.as_deref())?;
        let today = super::day(self.as_of.as_deref())?.unwrap_or_else(clock::today);
        let folder = Folder::read(disk::yaml_files(&path)?)?;
        let left_out = folder.left_out(&READ_FROM);
        let present = Present::of(&folder);
        let places = match scope(&present, self.what.as_deref()) {
            Ok(places) => places,
            Err(error) => {
                // What was asked for may stand where it can't be read.
                super::complain_of("answer", &left_out);
                return Err(anyhow::anyhow!(error.remedy.clone()).context(error));
            }
        };
        let answer = allot(&folder, &present, &places, today);
        match self.format {
            Format::Text => {
                terminal::print(&render::text(&answer))?;
                terminal::print(&format!("\n{}", render::summary(&answer)))?;
            }
            Format::Json => terminal::print(&render::json(&answer))?,
        }
        if self.write && !left_out.is_empty() {
            let files: Vec<&str> = left_out.iter().map(String::as_str).collect();
            return Err(anyhow::anyhow!(
                "`matchmark check` says why; mend that first, and ask again"
            )
            .context(format!(
                "nothing is written, as not all of {} can be read",
                near::listed(&files)
            )));
        }
        super::complain_of("answer", &left_out);
        if self.write {
            let written = write(&path, &folder, &answer, today)?;
            if self.format == Format::Text && !written.is_empty() {
                terminal::print(&format!(
                    "written: {}\n",
                    safe(&written.join(", ")).replace('\n', " ")
                ))?;
            }
        }
        Ok(Outcome::Clean)
    }
}

/// Writes the answer down, if the check has no more against the build with it than without.
fn write(
    path: &Path,
    folder: &Folder,
    answer: &Answer,
    today: Date,
) -> anyhow::Result<Vec<String>> {
    let mut files = Vec::new();
    for (number, file) in folder.files.iter().enumerate() {
        let edits = answer.edits.iter().filter(|(of, _)| *of == number);
        let edits: Vec<Edit> = edits.map(|(_, edit)| edit.clone()).collect();
        let source = &file.reading.source;
        let is = edit::apply(&file.reading, &edits).map_err(|error| {
            anyhow::anyhow!("change `goes` there by hand, as the answer says").context(error)
        })?;
        if is != source.text {
            files.push(Rewrite {
                path: source.path.clone(),
                was: source.text.clone().into_bytes(),
                is: is.into_bytes(),
            });
        }
    }
    let stopping = |folder: &Folder| {
        let findings = lint::check(folder, &Facts::on(today));
        let stopping = findings.into_iter().filter(Finding::stops);
        stopping.collect::<Vec<_>>()
    };
    let after = folder.files.iter().map(|file| {
        let source = &file.reading.source;
        let new = files.iter().find(|one| one.path == source.path);
        let bytes = new.map_or_else(|| source.text.clone().into_bytes(), |one| one.is.clone());
        RawFile {
            path: source.path.clone(),
            content: Content::Bytes(bytes),
        }
    });
    let (before, after) = (stopping(folder), stopping(&Folder::read(after.collect())?));
    let same = |a: &Finding, b: &Finding| (a.rule, &a.record) == (b.rule, &b.record);
    let new = after
        .iter()
        .find(|one| !before.iter().any(|old| same(old, one)));
    if let Some(new) = new {
        return Err(
            anyhow::anyhow!("mend that first, and ask again").context(format!(
                "nothing is written, as with it {} [{}]",
                new.message, new.rule
            )),
        );
    }
    disk::rewrite(path, &files)?;
    Ok(files.into_iter().map(|file| file.path).collect())
}
