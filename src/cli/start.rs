//! `matchmark start`.

use std::path::{Path, PathBuf};

use clap::Args;
use include_dir::{Dir, include_dir};

use super::{Outcome, guard};
use crate::model::Kind;
use crate::render::safe::{safe, shell_word};
use crate::render::text::number;
use crate::shell::disk::DiskError;
use crate::shell::init::InitError;
use crate::shell::lay::{self, Laid};
use crate::shell::{init, terminal};
use crate::yaml::traps;

/// Begin a build folder: git repository, hooks, editor schemas, samples
///
/// In a folder that is there already it adds what is missing and overwrites
/// nothing. A second run changes nothing.
#[derive(Debug, Args)]
pub struct Start {
    /// The build folder
    #[arg(default_value = ".")]
    folder: PathBuf,
}

/// What is laid out, each file under its own path; a leading `dot-` stands for the
/// dot, so that git does not heed these files here.
static LAYOUT: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/src/cli/start/layout");

/// The line in the laid-out `build.yaml` that the build's name goes into.
const NAME_LINE: &str = "name: NAME\n";

/// What was made and what was left, a line each.
#[derive(Default)]
struct Report {
    text: String,
    changed: bool,
}

impl Report {
    fn line(&mut self, verb: &str, what: &str) {
        self.text.push_str(&format!("    {verb:5}  {what}\n"));
    }

    fn made(&mut self, what: &str) {
        self.changed = true;
        self.line("made", what);
    }

    fn left(&mut self, what: &str) {
        self.line("left", what);
    }

    fn laid(&mut self, path: &str, laid: &Laid) {
        match laid {
            Laid::Made => self.made(path),
            Laid::Added(count) => {
                self.changed = true;
                self.line("added", &format!("{} to {path}", number(*count, "line")));
            }
            Laid::Same | Laid::Other => self.left(&format!("{path}: it is there")),
            Laid::Barred(by) => self.left(&format!("{path}: {by} is a link or a file")),
        }
    }
}

impl Start {
    /// Lays out what is missing, and says so.
    ///
    /// # Errors
    /// When no build can lie there, or it can't be written.
    pub fn run(&self) -> anyhow::Result<Outcome> {
        let elsewhere = || anyhow::anyhow!("name another folder: `matchmark start DIR`");
        let (folder, nearest) =
            lay::ground(&self.folder).map_err(|error| elsewhere().context(error))?;
        let shown = folder.display().to_string();
        let repository = init::lies_in_one(&nearest, &shown).map_err(|error| match error {
            // What to do about git is git's to say.
            InitError::Git(error) => error.into(),
            error => elsewhere().context(error),
        })?;
        let name = lay::make_folder(&folder).map_err(|error| elsewhere().context(error))?;
        let mut report = Report::default();
        if repository {
            report.left("git repository: it is there");
        } else {
            let branch = init::init(&folder)
                .map_err(|error| anyhow::anyhow!("see to it, and run it again").context(error))?;
            report.made(&format!("git repository, branch {branch}"));
        }
        lay_all(&folder, name.as_deref(), &mut report)
            .map_err(|error| anyhow::anyhow!("see to it, and run it again").context(error))?;
        let hooks = match guard::put_in_force(&folder) {
            Ok(told) => told,
            // The folder is whole without them, and a check by hand needs none.
            Err(error) => format!("no hooks: {error}\n    to do: `matchmark guard`\n"),
        };
        terminal::print(&said(&shown, &report, &safe(&hooks)))?;
        Ok(Outcome::Clean)
    }
}

fn lay_all(folder: &Path, name: Option<&str>, report: &mut Report) -> Result<(), DiskError> {
    let ours = "For Matchmark; what stands below has the last word.";
    for (path, from) in [
        (".gitattributes", "dot-gitattributes"),
        (".gitignore", "dot-gitignore"),
    ] {
        let laid = lay::lay_lines(folder, path, layout(from), ours)?;
        report.laid(path, &laid);
    }
    lay_schemas(folder, report)?;
    if lay::has_build(folder) {
        report.left("build.yaml: it is there");
    } else {
        let line = format!("name: {}\n", yaml_text(name.unwrap_or("My build")));
        let text = layout("build.yaml").replacen(NAME_LINE, &line, 1);
        report.laid(
            "build.yaml",
            &lay::lay(folder, "build.yaml", text.as_bytes())?,
        );
    }
    for kind in &Kind::ALL[1..] {
        let path = format!("{kind}/all.yaml");
        if lay::holds_records(&folder.join(kind.folder())) {
            report.left(&format!("{kind}: there are files in it"));
        } else {
            report.laid(&path, &lay::lay(folder, &path, layout(&path).as_bytes())?);
        }
    }
    Ok(())
}

/// The schemas that the first line of each file leads an editor to.
fn lay_schemas(folder: &Path, report: &mut Report) -> Result<(), DiskError> {
    let place = ".matchmark/schema";
    let (mut made, mut same) = (0, 0);
    let mut others = Vec::new();
    for kind in Kind::ALL {
        let path = format!("{place}/{}.json", kind.folder());
        match lay::lay(folder, &path, kind.schema_text().as_bytes())? {
            Laid::Made => made += 1,
            Laid::Same => same += 1,
            Laid::Barred(by) => {
                report.left(&format!("{place}: {by} is a link or a file"));
                return Ok(());
            }
            _ => others.push(path),
        }
    }
    if made > 0 {
        report.made(&format!("{place}: {} for editors", number(made, "schema")));
    }
    if same > 0 {
        report.left(&format!(
            "{place}: {} there already",
            number(same, "schema")
        ));
    }
    for path in &others {
        report.left(&format!("{path}: of another version"));
    }
    if !others.is_empty() {
        report.line(
            "",
            "Take those away, and run this again, to have this version's.",
        );
    }
    Ok(())
}

/// A file of the layout.
fn layout(path: &str) -> &'static str {
    LAYOUT
        .get_file(path)
        .and_then(|file| file.contents_utf8())
        .unwrap_or_default()
}

/// A text as YAML: as it is where every reader takes it for text, else in quotes.
fn yaml_text(text: &str) -> String {
    let text = safe(text);
    let starts = text.starts_with(char::is_alphabetic);
    let plain = |c: char| c.is_alphanumeric() || c == ' ' || c == '-' || c == '_';
    let sure = starts
        && text.chars().all(plain)
        && text.trim() == text
        && traps::value(&text).is_string()
        && traps::reads_as(&text).is_none();
    if sure {
        text
    } else {
        serde_json::Value::from(text).to_string()
    }
}

fn said(shown: &str, report: &Report, hooks: &str) -> String {
    let word = shell_word(shown);
    let mut text = format!("In {word}:\n{}\n{hooks}", report.text);
    if !report.changed {
        text.push_str("\nNo file here was changed: all of them are there.\n");
        return text;
    }
    text.push_str("\nEach file says what belongs in it. Then:\n\n");
    if shown != "." {
        text.push_str(&format!("    cd {word}\n"));
    }
    text.push_str("    matchmark check\n    git add -A .\n    git commit\n");
    text
}

#[cfg(test)]
mod tests {
    use super::yaml_text;

    #[test]
    fn a_name_is_a_text_to_every_reader() {
        for (name, text) in [
            ("lark", "lark"),
            ("Größe 2", "Größe 2"),
            ("no", "\"no\""),
            ("1e5", "\"1e5\""),
            ("null", "\"null\""),
            ("a: b #c", "\"a: b #c\""),
            ("say \"hi\"\\", "\"say \\\"hi\\\"\\\\\""),
            ("two\nlines", "\"two\\nlines\""),
            ("\u{1b}[2J", "\"\\\\u{1b}[2J\""),
            ("", "\"\""),
        ] {
            assert_eq!(yaml_text(name), text);
            let file = format!("name: {text}\n");
            let reading = crate::yaml::read(crate::source::Source::new("x", file));
            assert!(reading.problems.is_empty(), "{text}");
        }
    }
}
