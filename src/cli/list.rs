//! `matchmark list`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Outcome;
use crate::folder::{self, Folder};
use crate::render::{rows, table};
use crate::report::list::{self, Wanted};
use crate::shell::{disk, terminal};

/// A page has so many columns where there is no terminal to say.
const PAGE: usize = 80;
/// No table is made narrower.
const NARROWEST: usize = 20;

/// List pieces, places or records of any kind, with totals
///
/// `matchmark list pieces` lists all pieces with where each came from, its
/// condition, its place and how far it has come. A lot that lies in several
/// assemblies, or is on only in part, has a row for each. Money is added up
/// for each currency by itself, and only what these rows say was paid.
///
/// On a terminal a long text is cut off with `…`; in a file or a pipe it goes
/// on below, 80 columns wide. CSV and JSON are never cut, and hold more columns.
#[derive(Debug, Args)]
pub struct List {
    /// What to list: `pieces`, `places`, or a folder's name, as `donors` or `jobs`
    kind: String,
    /// Only what is called so, or lies in what is called so: `injector`,
    /// `'injector/*'`, `'*/P1'`, `'fuel/**'`; quote a `*` for the shell
    pattern: Option<String>,
    /// Only what has this word in this column, as in `--only donor=pell-van`; a pattern
    /// will do, and `none` finds what has nothing there; several narrow it down
    #[arg(long, value_name = "COLUMN=WORD")]
    only: Vec<String>,
    /// Put rows together that have the same word in this column, as in `--by donor`, with
    /// what each lot comes to; of places the assembly counts
    #[arg(long, value_name = "COLUMN")]
    by: Option<String>,
    /// How the list is printed
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
}

/// How a list is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// For people
    Text,
    /// For spreadsheets: a line of column names, then one a row (RFC 4180)
    Csv,
    /// For programs: `rows`, `groups` and `totals`
    Json,
}

impl List {
    /// Prints the list.
    ///
    /// # Errors
    /// When there is no build folder, or nothing is called what was asked for.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let path = super::build_folder(self.folder.as_deref())?;
        folder::make_ready();
        let folder = Folder::read(disk::yaml_files(&path)?)?;
        let wanted = self.wanted()?;
        let refused =
            |unlisted: list::Unlisted| anyhow::anyhow!(unlisted.remedy).context(unlisted.why);
        let (what, _) = list::named(&self.kind).map_err(refused)?;
        let left_out = list::left_out(&folder, what);
        let table = match list::table(&folder, what, &wanted) {
            Ok(table) => table,
            Err(unlisted) => {
                // What was asked for may stand where it can't be read.
                super::complain_of("list", &left_out);
                return Err(refused(unlisted));
            }
        };
        terminal::print(&match self.format {
            Format::Csv => rows::csv(&table)?,
            Format::Json => rows::json(&table, left_out.is_empty()),
            Format::Text => table::table(
                &table,
                match terminal::width() {
                    // A terminal that does not know its width says none.
                    Some(width) => table::Room::Cut(width.max(NARROWEST)),
                    None => table::Room::Fold(PAGE),
                },
            ),
        })?;
        super::complain_of("list", &left_out);
        // The process ends here; `check` says why that is quicker.
        std::mem::forget(folder);
        Ok(Outcome::Clean)
    }

    fn wanted(&self) -> anyhow::Result<Wanted> {
        let mut only = Vec::new();
        for text in &self.only {
            let Some((column, word)) = text.split_once('=') else {
                return Err(anyhow::anyhow!(
                    "write a column and a word, as in `--only condition=scrap`"
                )
                .context(format!("`--only {text}` does not say in which column")));
            };
            only.push((column.to_owned(), word.to_owned()));
        }
        Ok(Wanted {
            pattern: self.pattern.clone(),
            only,
            by: self.by.clone(),
        })
    }
}
