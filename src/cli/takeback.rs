//! `matchmark takeback`.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use clap::Args;
use jiff::civil::Date;
use serde_json::Value;

use super::Outcome;
use super::changes::{Place, report_of};
use super::check::colour;
use super::sessions::PAGE;
use super::state::{Seen, Which};
use crate::changes::records;
use crate::changes::report::{FileChange, Report};
use crate::changes::tell::tell;
use crate::finding::Finding;
use crate::folder::{self, Content, kind_of};
use crate::handover::private::Private;
use crate::merge::{Marks, Three};
use crate::model::Kind;
use crate::model::build::Message;
use crate::near;
use crate::picture::Picture;
use crate::picture::named::Wanted;
use crate::present::Present;
use crate::render::draft::{Habits, Part, drafted};
use crate::render::job_sheet::{Sheet, Slip};
use crate::render::safe::{safe, shell_word};
use crate::render::{page, text};
use crate::report::changes as pages;
use crate::report::page::{Block, Item, Page, Section};
use crate::shell::disk::Put;
use crate::shell::handed::{Handed, Held};
use crate::shell::unpack::{self, Came, Form};
use crate::shell::{disk, terminal};
use crate::source::Source;
use crate::takeback::others::{Moments, Verdict, begin_as_a_picture, verdict};
use crate::takeback::sheet;
use crate::takeback::{Files, Said, States, Taken, take};
use crate::yaml;

/// Take in what comes back from somebody whom the build was handed to
///
/// Only what they changed is taken, record by record, into what the build has become
/// since. What was kept back from them is as it was. It shows what will change and what
/// the check says of it, and writes nothing unless it is told to.
///
/// What was changed in two ways, here and there, is a clash: `--write` puts both between
/// marks into the file, to be settled by hand.
#[derive(Debug, Args)]
pub struct Takeback {
    /// What came back: a folder, a zip archive, a git bundle, or the filled-in job sheet
    path: PathBuf,
    /// The handover that it answers, where it does not tell: a job sheet never does
    #[arg(long, value_name = "NAME")]
    handed: Option<String>,
    /// Write it into the working folder
    #[arg(long)]
    write: bool,
    /// Write it, and commit what was written and nothing else
    #[arg(long)]
    commit: bool,
    /// The day that it is checked as of, as in 2026-03-01 [default: today]
    #[arg(long, value_name = "DAY")]
    as_of: Option<String>,
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
}

/// What is read of a pack's own file, for the most.
const ABOUT: usize = 1 << 20;
/// From so many files on of which the same is said, they are counted.
const NAMED: usize = 6;

/// What came back, and what it was given as.
struct Back {
    handed: Handed,
    /// What the pack says of itself.
    about: Value,
    /// What came; nothing of it if it is a job sheet.
    came: Option<Came>,
    /// The job sheet.
    sheet: Option<Vec<u8>>,
}

/// What is to be written.
struct Plan {
    puts: Vec<Put>,
    pictures: Vec<FileChange>,
    /// What is said of files that hold no records.
    said: Vec<Said>,
    clashes: Vec<Said>,
}

impl Takeback {
    /// Takes it back.
    ///
    /// # Errors
    /// When it can't be read, answers no handover that is known, or can't be written.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let as_of = super::day(self.as_of.as_deref())?;
        let path = super::build_folder(self.folder.as_deref())?;
        folder::make_ready();
        let place = Place::of(Some(&path))?;
        let back = self.back(&place, &path)?;
        let whole = place.repo.held(&back.handed.whole, &place.prefix)?;
        let given = place.repo.held(&back.handed.given, "")?;
        let private = private(&whole)?;
        let now = now(&path)?;
        let mut states = States {
            returned: match &back.came {
                Some(came) => returned(came, &given.records),
                None => given.records.clone(),
            },
            given: given.records,
            whole: whole.records.clone(),
            now: now.clone(),
        };
        let sheet = filled_in(&back, &mut states);
        let marks = Marks {
            size: 7,
            names: Three {
                base: format!("handed over {}", back.handed.name),
                ours: "here".to_owned(),
                theirs: "came back".to_owned(),
            },
        };
        let strip = |kind: Kind, way: &yaml::Route, value: &mut Value| {
            private.strip(kind, way, value);
        };
        let taken = take(states, strip, &marks);
        let until = self.seen(&place, &path, as_of)?;
        let files: BTreeMap<String, Option<Vec<u8>>> = taken
            .files
            .iter()
            .map(|file| (file.path.clone(), file.is.clone()))
            .collect();
        let meant = until.with(&path, &files, Vec::new())?;
        let plan = plan(&place, &path, &back, &whole, given.others, &meant, &taken)?;
        let pictures = plan.puts.iter().filter_map(|put| {
            let picture = Picture::of_bytes(put.is.as_deref()?);
            Some(picture.at(&put.path))
        });
        let meant = until.with(&path, &files, pictures.collect())?;
        let report = report_of(&until, &meant, plan.pictures.clone());
        let findings = meant.findings(&Present::of(&meant.folder));
        let is_new = |finding: &Finding| {
            report
                .opened
                .iter()
                .any(|new| new.stops() && new == finding)
        };
        let stopping = findings.iter().filter(|finding| is_new(finding)).count();
        let mut files: Vec<Put> = taken.files.iter().map(put_of).collect();
        files.extend(plan.puts.iter().cloned());
        self.show(&back, &report, &taken, &plan, &sheet, &findings)?;
        let clash = !taken.clashes.is_empty() || !plan.clashes.is_empty();
        let ended = match clash || !taken.left.is_empty() || !sheet.is_empty() {
            true => Outcome::Conflicts,
            false if stopping > 0 => Outcome::Conflicts,
            false => Outcome::Clean,
        };
        if files.is_empty() || !(self.write || self.commit) {
            if !files.is_empty() {
                terminal::print(
                    "\nNothing is written yet: `--write` writes it, `--commit` commits it too.\n",
                )?;
            }
            return Ok(ended);
        }
        let names: Vec<&str> = files.iter().map(|file| file.path.as_str()).collect();
        self.may_write(&place, &path, &names, clash, stopping)?;
        disk::put(&path, &files)?;
        terminal::print(&format!(
            "\nwritten: {}\n",
            safe(&near::listed(&names)).replace('\n', " ")
        ))?;
        if self.commit {
            commit(&place, &path, &back, &report, &files)?;
        }
        Ok(ended)
    }

    /// What came back, and which handover it answers.
    fn back(&self, place: &Place, folder: &Path) -> anyhow::Result<Back> {
        let known = place.repo.handovers()?;
        if known.is_empty() {
            return Err(anyhow::anyhow!(
                "take it back in the repository that it was handed over from"
            )
            .context("nothing was handed over from this repository"));
        }
        let form = unpack::form(&self.path)?;
        if form == Form::Folder && disk::same(&self.path, folder) {
            return Err(anyhow::anyhow!("name what came back")
                .context(format!("{} is this build itself", self.path.display())));
        }
        if form == Form::Sheet {
            let handed = match (&self.handed, known.as_slice()) {
                (Some(name), _) => named(name, &known)?,
                (None, [only]) => only.clone(),
                (None, _) => return Err(ask("a job sheet does not tell", &known)),
            };
            return Ok(Back {
                handed,
                about: Value::Null,
                came: None,
                sheet: Some(unpack::sheet(&self.path)?),
            });
        }
        let mut came = unpack::unpack(&self.path, form, &place.repo, &known)?;
        let about = came
            .handed
            .take()
            .map_or(Value::Null, |bytes| about(&bytes));
        let told = about.get("name").and_then(Value::as_str);
        let handed = match (&self.handed, &came.builds_on, told) {
            (Some(name), ..) | (None, Some(name), _) => named(name, &known)?,
            (None, None, Some(name)) => {
                let handed = named(name, &known)?;
                // Whoever hands a build on counts from one as well.
                let own = place.repo.slip_of(&handed);
                let own = own.map_or(Value::Null, |bytes| self::about(&bytes));
                if about.get("state") != own.get("state") {
                    return Err(ask(
                        &format!(
                            "what was handed over as `{name}` elsewhere is another state; it does not tell"
                        ),
                        &known,
                    ));
                }
                handed
            }
            (None, None, None) => return Err(ask("it does not tell", &known)),
        };
        Ok(Back {
            handed,
            about,
            sheet: came.sheet.take(),
            came: Some(came),
        })
    }

    fn seen(&self, place: &Place, path: &Path, as_of: Option<Date>) -> anyhow::Result<Seen> {
        let which = Which::Folder(path.to_owned());
        Seen::read(&place.repo, which, &place.prefix, None, as_of)
    }

    /// Shows what will change, what clashes, what is left, and what the check says.
    fn show(
        &self,
        back: &Back,
        report: &Report,
        taken: &Taken,
        plan: &Plan,
        sheet: &[Said],
        findings: &[Finding],
    ) -> anyhow::Result<()> {
        let mut whole = pages::page(report, false);
        "What came back".clone_into(&mut whole.title);
        whole.lead = vec![format!("handed over as {}", back.handed.name)];
        let clashes: Vec<Said> = taken.clashes.iter().chain(&plan.clashes).cloned().collect();
        let nothing_to_do = taken.files.is_empty() && plan.puts.is_empty() && clashes.is_empty();
        let left_over = !taken.left.is_empty() || !sheet.is_empty();
        whole.lead.push(match (taken.edited, nothing_to_do) {
            (false, true) => "Nothing was changed in the records.".to_owned(),
            (true, true) if left_over => "Nothing of it is taken.".to_owned(),
            (true, true) => "All of it is in already.".to_owned(),
            _ => format!("With it the check finds {}.", text::count(findings)),
        });
        let mut sections = Vec::new();
        section(&mut sections, "Clashes", &clashes);
        let mut left = taken.left.clone();
        left.extend(sheet.iter().cloned());
        left.extend(plan.said.iter().cloned());
        let passed = back
            .came
            .iter()
            .flat_map(|came| came.passed.iter().cloned());
        left.extend(passed);
        section(&mut sections, "Not taken", &left);
        whole.sections.extend(sections);
        print(&whole)
    }

    /// That it may be written and committed, or why not.
    fn may_write(
        &self,
        place: &Place,
        path: &Path,
        names: &[&str],
        clash: bool,
        stopping: usize,
    ) -> anyhow::Result<()> {
        let refused = |why: String, remedy: &'static str| {
            Err(anyhow::anyhow!(remedy).context(format!("nothing is written: {why}")))
        };
        let conflict = place.repo.in_conflict()?;
        if let Some(file) = conflict.iter().find(|file| names.contains(&file.as_str())) {
            return refused(
                format!("a merge in {file} is not settled"),
                "settle it, `git add` the file, and take it back then",
            );
        }
        if !self.commit {
            return Ok(());
        }
        if clash {
            return refused(
                "what clashes can't be committed".to_owned(),
                "take it back with `--write`, settle what clashes, and commit",
            );
        }
        if stopping > 0 {
            return refused(
                format!(
                    "with it the check finds {}",
                    text::number(stopping, "new error")
                ),
                "take it back with `--write`, mend what is wrong, and commit",
            );
        }
        let changed = place.repo.differs_in(path);
        if let Some(file) = changed.iter().find(|file| names.contains(&file.as_str())) {
            return refused(
                format!("{file} holds changes of your own that are not committed"),
                "commit them first, or take it back with `--write`",
            );
        }
        Ok(())
    }
}

/// What is kept back from whoever gets the build.
fn private(whole: &Held) -> anyhow::Result<Private> {
    let held = whole
        .records
        .get("build.yaml")
        .map(|bytes| records::Held::read("build.yaml", Kind::Build, Content::Bytes(bytes.clone())));
    let patterns = held
        .as_ref()
        .and_then(|held| held.get("build")?.get("private")?.as_array());
    let patterns = patterns.into_iter().flatten().filter_map(Value::as_str);
    Ok(Private::by(patterns)?)
}

/// The files of records that are here.
fn now(path: &Path) -> anyhow::Result<Files> {
    let raw = disk::yaml_files(path)?.into_iter();
    let files = raw.filter_map(|file| match file.content {
        Content::Bytes(bytes) if kind_of(&file.path).is_some() => Some((file.path, bytes)),
        _ => None,
    });
    Ok(files.collect())
}

/// The files of records that came back. One that may not be looked at counts as it was given:
/// that it can't be read does not say that its records are gone.
fn returned(came: &Came, given: &Files) -> Files {
    let mut files = came.records.clone();
    for (path, bytes) in given {
        let inside = format!("/{path}");
        let is_this = |one: &Said| one.what == *path || one.what.ends_with(&inside);
        if !files.contains_key(path) && came.passed.iter().any(is_this) {
            files.insert(path.clone(), bytes.clone());
        }
    }
    files
}

/// What a pack says of itself.
fn about(bytes: &[u8]) -> Value {
    let bytes = bytes.get(..ABOUT).unwrap_or(bytes).to_vec();
    let Ok(source) = Source::from_bytes("handed-over.yaml", bytes) else {
        return Value::Null;
    };
    let reading = yaml::read(source);
    let root = reading.tree.root.as_ref();
    root.map_or(Value::Null, |root| root.to_json(&reading.source))
}

fn named(name: &str, known: &[Handed]) -> anyhow::Result<Handed> {
    let found = known.iter().find(|one| one.name == name);
    found.cloned().ok_or_else(|| {
        let names: Vec<&str> = known.iter().map(|one| one.name.as_str()).collect();
        let known = near::listed(&names);
        let name = near::shortened(name);
        anyhow::anyhow!("name one with `--handed`; known here: {known}")
            .context(format!("nothing was handed over from here as `{name}`"))
    })
}

fn ask(why: &str, known: &[Handed]) -> anyhow::Error {
    let names: Vec<&str> = known.iter().map(|one| one.name.as_str()).collect();
    anyhow::anyhow!(
        "name it with `--handed`; known here: {}",
        near::listed(&names)
    )
    .context(format!("{why} which handover it answers"))
}

/// What the filled-in job sheet changes; what of it is not taken is said.
fn filled_in(back: &Back, states: &mut States) -> Vec<Said> {
    let Some(bytes) = &back.sheet else {
        return Vec::new();
    };
    let slip = |slip: &Slip| {
        let what = format!("job sheet, line {}", slip.line);
        Said::of(what, format!("{}: {}", slip.what, slip.remedy))
    };
    match Sheet::read(bytes) {
        Ok(sheet) => {
            let mut said: Vec<Said> = sheet.slips.iter().map(slip).collect();
            let given = states.given.clone();
            said.extend(sheet::put(&mut states.returned, &given, &sheet.lines));
            said
        }
        Err(unread) => vec![slip(&unread)],
    }
}

/// What is done with the files that hold no records.
fn plan(
    place: &Place,
    path: &Path,
    back: &Back,
    whole: &Held,
    given: BTreeMap<String, String>,
    meant: &Seen,
    taken: &Taken,
) -> anyhow::Result<Plan> {
    let mut plan = Plan {
        puts: Vec::new(),
        pictures: Vec::new(),
        said: Vec::new(),
        clashes: Vec::new(),
    };
    let Some(came) = &back.came else {
        return Ok(plan);
    };
    let _ = taken;
    let wanted = Wanted::by(&meant.folder);
    let committed = match place.repo.head() {
        Some(head) => place.repo.held(&head.id, &place.prefix)?.others,
        None => BTreeMap::new(),
    };
    let differing: BTreeSet<String> = place.repo.differs_in(path).into_iter().collect();
    let paths: BTreeSet<&String> = given.keys().chain(came.others.keys()).collect();
    for file in paths {
        let own = match differing.contains(file) {
            // What git has of it is not what lies there.
            true => place.repo.name_of(path, file),
            false => committed.get(file).cloned(),
        };
        let moments = Moments {
            given: given.get(file).map(String::as_str),
            whole: whole.others.get(file).map(String::as_str),
            returned: came.others.get(file).map(String::as_str),
            now: own.as_deref(),
        };
        match verdict(file, moments, wanted.has(file)) {
            Verdict::Same => {}
            Verdict::Missing => {
                plan.said
                    .push(Said::of(file, "it did not come back; what is here stays"));
            }
            Verdict::Left(why) => plan.said.push(Said::of(file, why)),
            Verdict::Clash => plan.clashes.push(Said::of(
                file,
                "another picture is here than was handed over, and another came back; what is \
                 here stays",
            )),
            Verdict::Take => {
                let bytes = came.bytes(file)?;
                if !begin_as_a_picture(&bytes) {
                    let why = "it is called a picture and is none";
                    plan.said.push(Said::of(file, why));
                    continue;
                }
                let was = match own {
                    Some(_) => Some(disk::bytes_of(path, file)?),
                    None => None,
                };
                plan.pictures.push(FileChange {
                    path: file.clone(),
                    was: own.clone(),
                    is: moments.returned.map(str::to_owned),
                });
                plan.puts.push(Put {
                    path: file.clone(),
                    was,
                    is: Some(bytes),
                });
            }
        }
    }
    Ok(plan)
}

fn put_of(file: &crate::takeback::New) -> Put {
    Put {
        path: file.path.clone(),
        was: file.was.clone(),
        is: file.marked.clone().or_else(|| file.is.clone()),
    }
}

/// Adds a section, if there is anything to say; of many files of which the very same is said
/// only the number and the first are named.
fn section(sections: &mut Vec<Section>, head: &str, all: &[Said]) {
    if all.is_empty() {
        return;
    }
    let mut by_words: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for one in all {
        by_words.entry(&one.says).or_default().push(&one.what);
    }
    let mut items = Vec::new();
    for (says, whats) in by_words {
        let item = |about: String| Item {
            about,
            says: says.to_owned(),
            under: Vec::new(),
        };
        match whats.as_slice() {
            [first, ..] if whats.len() > NAMED => {
                items.push(item(format!("{first} and {} more", whats.len() - 1)));
            }
            whats => items.extend(whats.iter().map(|what| item((*what).to_owned()))),
        }
    }
    sections.push(Section {
        head: head.to_owned(),
        blocks: vec![Block::Items(items)],
    });
}

fn print(whole: &Page) -> anyhow::Result<()> {
    let width = terminal::width().map_or(PAGE, |width| width.min(PAGE));
    terminal::print(&page::text(whole, width, colour()))?;
    Ok(())
}

/// Commits what was written.
fn commit(
    place: &Place,
    path: &Path,
    back: &Back,
    report: &Report,
    files: &[Put],
) -> anyhow::Result<()> {
    let names: Vec<&str> = files.iter().map(|file| file.path.as_str()).collect();
    let new = files.iter().filter(|file| file.was.is_none());
    let new: Vec<&str> = new.map(|file| file.path.as_str()).collect();
    let part = Part {
        folder: String::new(),
        changes: report.changes.clone(),
        told: tell(&report.changes),
        uncompared: Vec::new(),
        wants: Message::Body,
    };
    let habits = Habits {
        comment: "#".to_owned(),
        strips: false,
    };
    let name = &back.handed.name;
    let message = drafted("", &[part], &habits)
        .unwrap_or_else(|| format!("Take back what was handed over as {name}\n"));
    let message = format!("{}\n\nHanded over as {name}.\n", message.trim_end());
    let by = author(back);
    let by = by
        .as_ref()
        .map(|(name, address)| (name.as_str(), address.as_str()));
    let made = place.repo.commit_only(path, &names, &new, &message, by)?;
    let said = safe(made.said.trim_end());
    if !made.done {
        let files: Vec<String> = names.iter().map(|name| shell_word(name)).collect();
        return Err(anyhow::anyhow!(
            "mend what it says, then `git add {}` and `git commit`",
            files.join(" ")
        )
        .context(format!("it is written, and git did not commit it:\n{said}")));
    }
    if !said.is_empty() {
        terminal::print(&format!("{said}\n"))?;
    }
    if let Some(head) = place.repo.head() {
        let by = safe(&head.by.0).replace('\n', " ");
        terminal::print(&format!("committed: {} by {by}\n", head.short()))?;
    }
    Ok(())
}

/// Who did it: whoever made its commits, where that was one; else whom it was handed to.
fn author(back: &Back) -> Option<(String, String)> {
    let plain = |text: &str| -> String {
        let plain = text
            .chars()
            .filter(|c| !near::hides(*c) && !"<>\n".contains(*c));
        plain.take(100).collect::<String>().trim().to_owned()
    };
    let by = match back.came.as_ref().map(|came| came.authors.as_slice()) {
        Some([(name, address)]) => (plain(name), plain(address)),
        _ => (plain(back.about.get("to")?.as_str()?), String::new()),
    };
    (!by.0.is_empty()).then_some(by)
}
