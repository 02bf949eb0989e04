//! `matchmark handover`.

use std::collections::BTreeSet;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Outcome;
use super::changes::Place;
use super::state::{self, State};
use crate::finding::{Finding, Level};
use crate::folder::Folder;
use crate::handover::history::{
    FIRST_PAGE, FIRST_PAGE_HTML, HANDED_OVER, JOB_SHEET, LeftOut, Slip, Why,
};
use crate::handover::private::Private;
use crate::lint;
use crate::near;
use crate::present::{Present, Worked};
use crate::render::job_sheet;
use crate::render::page;
use crate::render::safe::{safe, shell_word};
use crate::render::text::number;
use crate::report::handover::{self as first_page, For};
use crate::shell::disk;
use crate::shell::git::Commit;
use crate::shell::pack::{self, Depth, Draft, Form, PackError, Packed, Target};
use crate::shell::terminal;

/// Pack the build folder for a helper, without what is private
///
/// `*.bundle` is a bundle that `git clone` takes, `*.zip` an archive, anything else a plain
/// folder for somebody without git. What the last commit holds is packed, with a first page
/// that says what state the car is in, and a job sheet to fill in. What `private` in
/// build.yaml names is left out, and where pictures were taken; so it is in the history too,
/// which is written anew for that: yours stays as it is.
#[derive(Debug, Args)]
pub struct Handover {
    /// The file or folder to make
    #[arg(value_name = "DIR|FILE")]
    target: PathBuf,
    /// How much of the history goes along, in a bundle
    #[arg(long, value_enum, default_value_t = History::None)]
    history: History,
    /// Whom it is for, by role
    #[arg(long, value_name = "ROLE")]
    to: Option<String>,
    /// The build folder, or anything in it [default: the one that the working folder lies in]
    #[arg(long, value_name = "FOLDER")]
    folder: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum History {
    /// The last commit alone
    None,
    /// All commits that led to it
    All,
}

/// So many are named; the rest is counted.
const MOST: usize = 20;

impl Handover {
    /// Packs the folder, and says what was left out.
    ///
    /// # Errors
    /// When nothing is committed, what is private can't be told, or it can't be written.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let place = Place::of(self.folder.as_deref())?;
        let repo = &place.repo;
        let Some(head) = repo.head() else {
            return Err(
                anyhow::anyhow!("commit first: `git add -A`, then `git commit`")
                    .context("nothing is committed yet, so there is nothing to hand over"),
            );
        };
        let target = Target::of(&self.target, repo, place.folder.as_deref()).map_err(told)?;
        if self.history == History::All && target.form != Form::Bundle {
            return Err(anyhow::anyhow!(
                "name a file that ends in `.bundle`, or leave `--history` out"
            )
            .context("only a bundle holds a history"));
        }
        let whole = only(state::at(repo, &head, None)?)?;
        let private = private_of(&whole)?;
        let working = place.folder.as_deref().map(disk::yaml_files).transpose()?;
        if let Some(files) = working {
            private_is_committed(files, &private)?;
        }
        self.known_role(&whole.folder)?;

        let (who, day) = repo.whoever_commits()?;
        let draft = Draft::begin(repo, target.above()).map_err(told)?;
        let depth = match self.history {
            History::None => Depth::Last,
            History::All => Depth::All,
        };
        let packed = pack::rewrite(repo, &place.prefix, &head, depth, &private, &draft);
        let packed = packed.map_err(told)?;
        let before = draft.before()?;
        // As of the same day, so that a day alone makes no difference.
        let mut given = only(state::at(&draft.repo()?, &before, head.day)?)?;
        lint::mark_older(&mut given.findings, std::slice::from_ref(&whole.findings));

        let name = name(&repo.handed(&format!("{day}-"))?, &day.to_string());
        let left_out = packed.left_out.words();
        let patterns: Vec<String> = private.patterns().map(str::to_owned).collect();
        let slip = Slip {
            name: &name,
            when: day,
            to: self.to.as_deref(),
            state: &before.tree,
            history: depth == Depth::All,
            private: &patterns,
            left_out: &left_out,
        };
        let files = self.beside(&given.folder, &slip)?;
        let message = match &self.to {
            Some(to) => format!("Handed over to {to}: {name}\n"),
            None => format!("Handed over: {name}\n"),
        };
        let upon = depth == Depth::All;
        let tip = draft.put_upon(&before, upon, &who, &message, &files);
        let tip = tip.map_err(told)?;
        target.make(&draft, &tip).map_err(told)?;
        draft
            .keep_in(repo, &name, &head.id, &tip.id)
            .map_err(told)?;
        if let Err(error) = target.put(&draft) {
            Draft::forget(repo, &name);
            return Err(told(error));
        }
        let uncommitted = place
            .folder
            .as_deref()
            .map(|folder| repo.differs_in(folder));
        let told = Told {
            handover: self,
            form: target.form,
            name: &name,
            head: &head,
            packed: &packed,
            whole: &whole,
            given: &given,
            uncommitted: &uncommitted.unwrap_or_default(),
            inner: &place.prefix,
        };
        terminal::print(&told.text())?;
        Ok(match given.findings.iter().any(Finding::stops) {
            true => Outcome::Conflicts,
            false => Outcome::Clean,
        })
    }

    /// What lies in the pack beside the build.
    fn beside(
        &self,
        folder: &Folder,
        slip: &Slip<'_>,
    ) -> anyhow::Result<Vec<(&'static str, Vec<u8>)>> {
        let present = Present::of(folder);
        let worked = Worked {
            folder,
            present: &present,
        };
        let purpose = For {
            name: slip.name.to_owned(),
            to: self.to.clone(),
            left_out: slip.left_out.to_vec(),
        };
        let first = first_page::page(worked, &purpose);
        Ok(vec![
            (FIRST_PAGE, page::markdown(&first).into_bytes()),
            (FIRST_PAGE_HTML, page::html(&first).into_bytes()),
            (HANDED_OVER, slip.text().into_bytes()),
            (JOB_SHEET, job_sheet::csv(worked).into_bytes()),
        ])
    }

    /// That the role is one of the build's, if it names any.
    fn known_role(&self, folder: &Folder) -> anyhow::Result<()> {
        let people = &folder.model.build.people;
        let people: Vec<&str> = people.iter().map(|one| one.as_str()).collect();
        match &self.to {
            Some(to) if !people.is_empty() && !people.contains(&to.as_str()) => {
                let known = near::write_one_of(to, &people);
                let why = format!("`people` in build.yaml does not name `{to}`");
                Err(anyhow::anyhow!("{known}").context(why))
            }
            _ => Ok(()),
        }
    }
}

/// An error with what to do about it.
fn told(error: PackError) -> anyhow::Error {
    match error {
        PackError::Git(error) => error.into(),
        error => anyhow::anyhow!(error.remedy()).context(error.to_string()),
    }
}

/// The one build that a commit holds.
fn only(states: Vec<State>) -> anyhow::Result<State> {
    states.into_iter().next().ok_or_else(|| {
        anyhow::anyhow!("commit it first: `git add -A`, then `git commit`")
            .context("the last commit holds no build here")
    })
}

/// The name of a handover: the day, and which of that day it is.
fn name(taken: &[String], day: &str) -> String {
    let numbers = taken.iter().filter_map(|name| {
        let number = name.strip_prefix(day)?.strip_prefix('-')?;
        number.parse::<usize>().ok()
    });
    format!("{day}-{}", numbers.max().unwrap_or(0) + 1)
}

/// What is private in a state. What can't be read of it surely might have to stay here, so
/// then nothing is handed over.
fn private_of(state: &State) -> anyhow::Result<Private> {
    let mut errors = state.findings.iter();
    let error = errors.find(|one| one.level == Level::Error && one.place.file == "build.yaml");
    if let Some(error) = error {
        let place = format!("{}:{}", error.place.file, error.place.start);
        return Err(
            anyhow::anyhow!("{}; then commit", error.remedy).context(format!(
                "what is private can't be told surely while build.yaml holds an error; {place}: {}",
                error.message
            )),
        );
    }
    Ok(Private::of(&state.folder.model.build)?)
}

/// That the working folder keeps nothing back that the last commit would hand over.
fn private_is_committed(
    mut files: Vec<crate::folder::RawFile>,
    private: &Private,
) -> anyhow::Result<()> {
    files.retain(|file| file.path == "build.yaml");
    let folder = Folder::read(files)?;
    let committed: BTreeSet<&str> = private.patterns().collect();
    let here = folder.model.build.private.iter();
    let torn = folder.files.iter().any(|file| file.is_torn());
    if torn
        || here
            .into_iter()
            .any(|one| !committed.contains(one.as_str()))
    {
        return Err(anyhow::anyhow!(
            "commit build.yaml first: the last commit is what is handed over"
        )
        .context("build.yaml keeps more back than the last commit does"));
    }
    Ok(())
}

/// What is said of a handover.
struct Told<'a> {
    handover: &'a Handover,
    form: Form,
    name: &'a str,
    head: &'a Commit,
    packed: &'a Packed,
    whole: &'a State,
    given: &'a State,
    uncommitted: &'a [String],
    /// Where the build lies in the repository.
    inner: &'a str,
}

impl Told<'_> {
    fn text(&self) -> String {
        let mut lines = self.head_lines();
        self.left_out(&self.packed.left_out, &mut lines);
        self.warnings(&mut lines);
        self.at_the_other_end(&mut lines);
        // What a name breaks into lines stays one.
        let lines = lines.iter().map(|line| line.replace('\n', " "));
        let text: String = lines.map(|line| format!("{line}\n")).collect();
        super::fitted(safe(&text))
    }

    fn head_lines(&self) -> Vec<String> {
        let shown = shell_word(&self.handover.target.display().to_string());
        let to = self.handover.to.as_ref();
        let to = to.map_or_else(String::new, |to| format!(", for {to}"));
        let form = match self.form {
            Form::Bundle => "a bundle for git",
            Form::Archive => "an archive, for somebody without git",
            Form::Folder => "a plain folder, for somebody without git",
        };
        let mut lines = vec![format!("{} handed over in {shown}: {form}{to}", self.name)];
        let day = self
            .head
            .day
            .map_or_else(String::new, |day| format!(" of {day}"));
        lines.push(format!(
            "    what the last commit holds: {}{day}, \"{}\"",
            self.head.short(),
            near::shortened(&self.head.title)
        ));
        let Packed {
            commits,
            dropped,
            cut_off,
            ..
        } = self.packed;
        if self.handover.history == History::All {
            let mut line = format!("    with a history of {}", number(*commits, "commit"));
            if *dropped > 0 {
                let more = number(*dropped, "commit");
                line.push_str(&format!(
                    "; {more} in which nothing of the build changed left out"
                ));
            }
            if *cut_off {
                line.push_str("; it is cut off in this clone");
            }
            lines.push(line);
        }
        if !self.inner.is_empty() {
            let inner = self.inner.trim_end_matches('/');
            lines.push(format!(
                "    of the repository nothing but the folder {inner}"
            ));
        }
        lines
    }

    fn left_out(&self, left_out: &LeftOut, lines: &mut Vec<String>) {
        let mut said: Vec<String> = Vec::new();
        for (pattern, count) in &left_out.values {
            said.push(format!("{pattern}: {}", number(*count, "value")));
        }
        if left_out.older > 0 {
            let older = number(left_out.older, "older version");
            said.push(format!("what is private in {older} of files"));
        }
        for picture in left_out.positions.iter().take(MOST) {
            said.push(format!("{picture}: where it was taken"));
        }
        let more = left_out.positions.len().saturating_sub(MOST);
        if more > 0 {
            said.push(format!("where {} more were taken", number(more, "picture")));
        }
        if left_out.older_positions > 0 {
            let older = number(left_out.older_positions, "older picture");
            said.push(format!("where they were taken, out of {older}"));
        }
        let files = |files: &std::collections::BTreeMap<String, Why>, old: &str| {
            let mut said: Vec<String> = files
                .iter()
                .take(MOST)
                .map(|(path, why)| format!("{path}{old}: {why}"))
                .collect();
            let more = files.len().saturating_sub(MOST);
            if more > 0 {
                said.push(format!("{}{old}", number(more, "more file")));
            }
            said
        };
        said.extend(files(&left_out.files, ""));
        said.extend(files(&left_out.older_files, ", in older commits"));
        said.extend(left_out.in_messages());
        if said.is_empty() {
            let why = match self.whole.folder.model.build.private.is_empty() {
                true => "nothing is `private` in build.yaml",
                false => "nothing that is private was found",
            };
            lines.push(format!("left out: nothing; {why}"));
        } else {
            lines.push("left out:".to_owned());
            lines.extend(said.into_iter().map(|line| format!("    {line}")));
        }
    }

    fn warnings(&self, lines: &mut Vec<String>) {
        let mut block = |head: &str, all: Vec<String>| {
            if all.is_empty() {
                return;
            }
            lines.push(head.to_owned());
            let more = all.len().saturating_sub(MOST);
            lines.extend(all.iter().take(MOST).map(|line| format!("    {line}")));
            if more > 0 {
                lines.push(format!("    and {more} more"));
            }
        };
        let left_out = &self.packed.left_out;
        let unmatched = self.whole.findings.iter();
        let unmatched = unmatched.filter(|one| one.rule == "unmatched-private");
        block(
            "patterns that keep nothing back:",
            unmatched
                .map(|one| format!("{}:{}: {}", one.place.file, one.place.start, one.message))
                .collect(),
        );
        let mut still: Vec<String> = left_out
            .still
            .iter()
            .map(|(file, line, value)| format!("{file}:{line}: `{}`", near::shortened(value)))
            .collect();
        if left_out.older_still > 0 {
            still.push(number(left_out.older_still, "older version"));
        }
        block(
            "private values that still stand in lines that are handed over; read these:",
            still,
        );
        block(
            "not looked into, and may tell where they were taken:",
            left_out.unseen.iter().cloned().collect(),
        );
        block(
            "only pointers, the files themselves are in large-file storage:",
            left_out.pointers.iter().cloned().collect(),
        );
        block(
            "not committed, and so not in it:",
            self.uncommitted.to_vec(),
        );
        let stops = self.given.findings.iter().filter(|one| one.stops());
        block(
            "errors that only what is left out brings about; the helper's guard stops at them:",
            stops
                .map(|one| format!("{}:{}: {}", one.place.file, one.place.start, one.message))
                .collect(),
        );
    }

    fn at_the_other_end(&self, lines: &mut Vec<String>) {
        let target = &self.handover.target;
        let file = target.file_name().unwrap_or_default().to_string_lossy();
        let stem = target.file_stem().unwrap_or_default().to_string_lossy();
        let (file, stem) = (shell_word(&file), shell_word(&stem));
        lines.push("at the other end:".to_owned());
        match self.form {
            Form::Bundle => {
                lines.push(format!("    git clone {file} {stem}"));
                lines.push(format!("    matchmark guard {stem}"));
                lines.push(format!("    read {stem}/{FIRST_PAGE} first"));
            }
            Form::Archive => lines.push(format!("    unpack it, and read {FIRST_PAGE_HTML} first")),
            Form::Folder => lines.push(format!("    read {FIRST_PAGE_HTML} first")),
        }
        lines.push("when it comes back:".to_owned());
        lines.push("    matchmark takeback PATH".to_owned());
    }
}
