//! What git calls for each file that both sides changed.

use std::borrow::Cow;
use std::path::{Path, PathBuf};

use clap::Args;

use super::{ancestor, words};
use crate::cli::Outcome;
use crate::merge::{self, Marks, Three, Unread, Version};
use crate::render::safe::safe;
use crate::shell::{merging, terminal};

/// Three versions of a file as it lies in git.
pub(super) type Bytes = Three<Vec<u8>>;

/// What to do with each of three.
pub(super) trait Sides<T> {
    /// The three.
    fn each(self) -> [T; 3];
}

impl<T> Sides<T> for Three<T> {
    fn each(self) -> [T; 3] {
        [self.base, self.ours, self.theirs]
    }
}

/// The file that git asks for.
#[derive(Debug, Args)]
pub(super) struct OneFile {
    /// What both sides began from
    #[arg(long, hide = true, value_name = "FILE", requires_all = ["ours", "theirs", "path"])]
    base: Option<PathBuf>,
    /// What is here, and where the result goes
    #[arg(long, hide = true, value_name = "FILE", requires = "base")]
    ours: Option<PathBuf>,
    /// What comes in
    #[arg(long, hide = true, value_name = "FILE", requires = "base")]
    theirs: Option<PathBuf>,
    /// Its path from the top of the repository
    #[arg(long, hide = true, requires = "base")]
    path: Option<PathBuf>,
    /// How many characters a mark is long
    #[arg(long, hide = true, value_name = "N", default_value_t = 7)]
    marker_size: usize,
    /// What the common version is called
    #[arg(long, hide = true, value_name = "NAME", default_value = "")]
    name_base: String,
    /// What the version here is called
    #[arg(long, hide = true, value_name = "NAME", default_value = "")]
    name_ours: String,
    /// What the version that comes in is called
    #[arg(long, hide = true, value_name = "NAME", default_value = "")]
    name_theirs: String,
}

impl OneFile {
    /// The file, if git asks for one at all.
    pub(super) fn asked(&self) -> Option<Asked<'_>> {
        let files = Three {
            base: self.base.as_deref()?,
            ours: self.ours.as_deref()?,
            theirs: self.theirs.as_deref()?,
        };
        Some(Asked {
            files,
            path: self.path.as_deref()?.to_string_lossy(),
            size: self.marker_size,
            names: self.names(),
        })
    }

    /// What the versions are called. A git that has no names for its driver leaves the
    /// letters as they stand.
    fn names(&self) -> Three<String> {
        let name = |given: &str, letters: &str, usual: &str| {
            let given = safe(given).replace('\n', " ");
            match given.as_str() {
                "" => usual.to_owned(),
                given if given == letters => usual.to_owned(),
                given => given.to_owned(),
            }
        };
        Three {
            base: name(&self.name_base, "%S", "base"),
            ours: name(&self.name_ours, "%X", "ours"),
            theirs: name(&self.name_theirs, "%Y", "theirs"),
        }
    }
}

/// The same, whole.
pub(super) struct Asked<'a> {
    files: Three<&'a Path>,
    path: Cow<'a, str>,
    size: usize,
    names: Three<String>,
}

impl Asked<'_> {
    /// Merges it; the result takes the place of ours.
    pub(super) fn merge(&self) -> anyhow::Result<Outcome> {
        let versions = Three {
            base: merging::read(self.files.base)?,
            ours: merging::read(self.files.ours)?,
            theirs: merging::read(self.files.theirs)?,
        };
        let path = &self.path;
        let Some(kind) = merging::kind_at(path) else {
            return self.by_lines(&versions, false);
        };
        let merged = match merge::merge(kind, path, versions.clone()) {
            Err(unread) if unread.version == Version::Base => {
                ancestor::merged(kind, path, &versions).unwrap_or(Err(unread))
            }
            merged => merged,
        };
        let merged = match merged {
            Ok(merged) => merged,
            Err(unread) => {
                self.say(&by_lines_because(path, &unread));
                return self.by_lines(&versions, true);
            }
        };
        let marks = Marks {
            size: self.size,
            names: self.names.clone(),
        };
        merging::write(self.files.ours, merged.text(&marks).as_bytes())?;
        if merged.is_clean() {
            return Ok(Outcome::Clean);
        }
        let told = words::told(kind, path, &versions, &merged.clashes);
        self.say(&format!(
            "{}{told}{}",
            words::head(path, merged.clashes.len()),
            words::to_do(kind, &merged.clashes)
        ));
        Ok(Outcome::Conflicts)
    }

    /// Says something of what is merged; not of versions that git makes up on its way,
    /// which nobody is to settle.
    fn say(&self, text: &str) {
        if self.names.ours != "Temporary merge branch 1" {
            terminal::complain(text);
        }
    }

    /// Leaves it to git's own merge.
    fn by_lines(&self, versions: &Bytes, are_records: bool) -> anyhow::Result<Outcome> {
        let came = merging::by_lines(&self.files, self.size, &self.names, are_records);
        let came = came.map_err(|error| {
            anyhow::anyhow!("see that git is there, and merge again")
                .context(format!("{} can't be merged: {error}", safe(&self.path)))
        })?;
        let (bytes, clean) = match came {
            Some(came) => came,
            None => (self.whole(versions), versions.ours == versions.theirs),
        };
        merging::write(self.files.ours, &bytes)?;
        Ok(match clean {
            true => Outcome::Clean,
            false => Outcome::Conflicts,
        })
    }

    /// What git won't look into, marked as a whole: git itself would leave one side alone.
    fn whole(&self, versions: &Bytes) -> Vec<u8> {
        if versions.ours == versions.theirs {
            return versions.ours.clone();
        }
        let mark = |c: &str, name: &str| format!("{} {name}", c.repeat(self.size));
        let mut bytes = Vec::new();
        for (mark, version) in [
            (mark("<", &self.names.ours), &versions.ours),
            (mark("|", &self.names.base), &versions.base),
            (mark("=", ""), &versions.theirs),
        ] {
            bytes.extend(mark.trim_end().bytes());
            bytes.push(b'\n');
            bytes.extend(version);
            if version.last().is_some_and(|last| *last != b'\n') {
                bytes.push(b'\n');
            }
        }
        bytes.extend(mark(">", &self.names.theirs).bytes());
        bytes.push(b'\n');
        bytes
    }
}

/// That a file is merged by lines, and why.
fn by_lines_because(path: &str, unread: &Unread) -> String {
    let version = match unread.version {
        Version::Base => "what both sides began from",
        Version::Ours => "what is here",
        Version::Theirs => "what comes in",
    };
    let text = format!(
        "{path}: merged by lines, not by records: in {version}, {}",
        unread.why
    );
    format!(
        "matchmark: {}\n    to do: look at the whole file before you commit it\n",
        safe(&text).replace('\n', " ")
    )
}
