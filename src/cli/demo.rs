//! `matchmark demo`.

use std::ffi::OsStr;
use std::path::PathBuf;

use clap::{Args, Parser};

use super::changes::Changes;
use super::check::{colour, summary};
use super::{Cli, Outcome};
use super::{guard, state};
use crate::allot;
use crate::example;
use crate::finding::Level;
use crate::folder::Folder;
use crate::present::Present;
use crate::render::allot as answers;
use crate::render::safe::{safe, shell_word};
use crate::render::text;
use crate::shell::bench::{self, Typist};
use crate::shell::{clock, disk, replay, terminal};

/// Lay out the example build with its history, and see a slip refused
///
/// The new folder is a git repository. An evening's entry with a slip in it is
/// committed there, refused, mended, and committed again; what it changed is told; then
/// questions from the bench are answered.
#[derive(Debug, Args)]
pub struct Demo {
    /// The folder to make
    #[arg(default_value = "matchmark-demo")]
    folder: PathBuf,
}

/// The evening that the demonstration goes on with.
const EVENING: Typist<'_> = Typist {
    who: "helper",
    address: "helper@example.invalid",
    when: "2026-04-18T20:10:00+0200",
};
/// The set of places that it asks about in the end.
const SET: &str = "injector";
const SUBJECT: &str = "Crimp the bay side of the sensor earth";
/// The file that it changes, and the wire as it stands there.
const FILE: &str = "circuits/sensors.yaml";
const DRAWN: &str = concat!(
    "    b: {from: bulkhead-bay/2, to: coolant-sensor/2, along: [bay-run], ",
    "size: 0.5 mm2, colour: BN}\n"
);
/// As it was made, with a slip of the pen in the cavity.
const SLIP: &str = concat!(
    "    b: {from: bulkhead-bay/5, to: coolant-sensor/2, along: [bay-run],\n",
    "      size: 0.5 mm2, colour: BN, state: crimped, cut: 830 mm}\n"
);
const MENDED: &str = concat!(
    "    b: {from: bulkhead-bay/2, to: coolant-sensor/2, along: [bay-run],\n",
    "      size: 0.5 mm2, colour: BN, state: crimped, cut: 830 mm}\n"
);

impl Demo {
    /// Lays the example out, lets a slip be refused, and mends it.
    ///
    /// # Errors
    /// When the folder is there already, or can't be written.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let files = example::files();
        let history = example::history()?;
        disk::lay_out(&self.folder, files.iter().copied(), |draft| {
            replay::replay(draft, &history, &files)?;
            replay::take_as_checked_out(draft, &files)
        })
        .map_err(|error| {
            anyhow::anyhow!("name another folder: `matchmark demo DIR`").context(error)
        })?;
        let shown = shell_word(&self.folder.display().to_string());
        say(&format!(
            "{} laid out in {shown}, with the {} that led to them\n\n",
            text::number(files.len(), "file"),
            text::number(history.len(), "commit")
        ))?;
        let git = self.git(&["--version"]).is_ok();
        if git {
            let told = guard::put_in_force(&self.folder)?;
            say(&format!("$ matchmark guard {shown}\n{}", safe(&told)))?;
        }
        self.check(&format!("$ matchmark check {shown}"))?;

        say(&format!(
            "\nA week later a wire is crimped, and {FILE} says so:\n{SLIP}\n$ cd {shown}\n"
        ))?;
        self.write(DRAWN, SLIP)?;
        if git {
            anyhow::ensure!(!self.commit()?, "the guard let a slip go in");
        } else {
            say(
                "Git is not installed: nothing can be committed here, and the check says \
                 what a commit would be refused for.\n",
            )?;
            self.check("$ matchmark check")?;
        }
        say(&format!(
            "\nThe plug has four cavities, and the wire is in the second:\n{MENDED}\n"
        ))?;
        self.write(SLIP, MENDED)?;
        if git {
            anyhow::ensure!(self.commit()?, "the mended evening does not go in");
            say("\nWhat did that evening change?\n$ matchmark changes HEAD~1 HEAD\n")?;
            Changes::between(&self.folder, "HEAD~1", "HEAD").run()?;
        } else {
            self.check("$ matchmark check")?;
        }
        say("\nAn injector of the third cylinder weeps. What may go in its place?\n")?;
        self.allot()?;
        say("\nA bolt lies on the bench. Which is it, and where does it go?\n")?;
        self.ask(&["identify", "--length", "70mm", "--across-flats", "13mm"])?;
        say(&format!(
            "\nMake a slip of your own in {shown}. What is looked for: `matchmark explain`.\n"
        ))?;
        Ok(Outcome::Clean)
    }

    /// Checks, under the command that does the same. The warnings are only counted:
    /// the slip is to be seen, on one page.
    fn check(&self, typed: &str) -> anyhow::Result<()> {
        let state = state::of_folder(&self.folder, None)?;
        say(&format!("{typed} --level error\n"))?;
        let errors = state.findings.iter();
        let errors = errors.filter(|finding| finding.level == Level::Error);
        say(&text::findings(
            &errors.cloned().collect::<Vec<_>>(),
            colour(),
        ))?;
        say(&summary(
            std::slice::from_ref(&state),
            None,
            &state.findings,
        ))
    }

    /// Asks something, as it would be typed in the folder; in words that a shell takes as they are.
    fn ask(&self, words: &[&str]) -> anyhow::Result<()> {
        say(&format!("$ matchmark {}\n", words.join(" ")))?;
        let folder = self.folder.as_os_str();
        let words = words.iter().map(OsStr::new);
        let all = [OsStr::new("matchmark")].into_iter().chain(words);
        let cli = Cli::try_parse_from(all.chain([OsStr::new("--folder"), folder]))?;
        cli.command.run()?;
        Ok(())
    }

    /// Asks which injectors go where.
    fn allot(&self) -> anyhow::Result<()> {
        say(&format!("$ matchmark allot {SET}\n"))?;
        let folder = Folder::read(disk::yaml_files(&self.folder)?)?;
        let present = Present::of(&folder);
        let places = allot::scope(&present, Some(SET))?;
        let day = EVENING.when.get(..10).and_then(|day| day.parse().ok());
        let answer = allot::allot(&folder, &present, &places, day.unwrap_or_else(clock::today));
        say(&answers::text(&answer))
    }

    /// Puts what was written in the place of what stands there.
    fn write(&self, was: &str, is: &str) -> anyhow::Result<()> {
        disk::mend(&self.folder, FILE, was, is)?;
        Ok(())
    }

    fn git(&self, words: &[&str]) -> std::io::Result<bench::Said> {
        bench::git(&self.folder, words, EVENING)
    }

    /// Commits, and shows what git and its hooks say. Tells whether it went in.
    fn commit(&self) -> anyhow::Result<bool> {
        let said = self.git(&["commit", "--all", "--message", SUBJECT])?;
        say(&format!(
            "$ git commit --all --message \"{SUBJECT}\"\n{}",
            safe(&said.text)
        ))?;
        Ok(said.done)
    }
}

/// Prints, within the width of a page.
fn say(words: &str) -> anyhow::Result<()> {
    terminal::print(&text::folded(words, 80))?;
    Ok(())
}
