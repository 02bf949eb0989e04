//! The repository that a pack is made in.

use std::io::{BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, Stdio};

use tempfile::TempDir;

use super::super::disk::{plain, unwritten};
use super::{HANDED, PackError};
use crate::handover::history::Written;
use crate::shell::git::{Commit, GitError, Repo};

/// A bare repository of its own, which borrows the objects of the real one. It goes when it
/// is dropped.
pub struct Draft {
    folder: TempDir,
}

/// Where the history stands before the first page is put upon it.
const BEFORE: &str = "refs/heads/before";
/// Where it stands in the end.
const MAIN: &str = "refs/heads/main";

impl Draft {
    /// Begins one in a folder, for a pack of this repository.
    ///
    /// # Errors
    /// When it can't be made there.
    pub fn begin(repo: &Repo, above: &Path) -> Result<Self, PackError> {
        std::fs::create_dir_all(above).map_err(|error| unwritten(above, &error))?;
        // Git is started elsewhere, where a path from here would lead astray.
        let folder = above
            .canonicalize()
            .and_then(|above| {
                let mut folder = tempfile::Builder::new();
                folder.prefix(".matchmark-").tempdir_in(above)
            })
            .map_err(|error| unwritten(above, &error))?;
        let draft = Self { folder };
        let format = repo.ask_line(&["rev-parse", "--show-object-format"]);
        let format = format.unwrap_or_else(|_| "sha1".to_owned());
        let format = format!("--object-format={format}");
        let bare = draft.bare();
        let bare = bare.to_string_lossy();
        let mut begin = Command::new("git");
        begin.args(["init", "--quiet", "--bare", "--template=", &format, &bare]);
        done(draft.alone(&mut begin))?;
        done(&mut draft.git(&["symbolic-ref", "HEAD", MAIN]))?;
        let objects = repo.ask_line(&["rev-parse", "--git-path", "objects"])?;
        let objects = repo.folder().join(objects);
        let objects = objects
            .canonicalize()
            .map_err(|error| unwritten(&objects, &error))?;
        let borrowed = draft.bare().join("objects/info");
        let line = format!("{}\n", quoted(&objects.to_string_lossy()));
        std::fs::create_dir_all(&borrowed)
            .and_then(|()| std::fs::write(borrowed.join("alternates"), line))
            .map_err(|error| unwritten(&borrowed, &error))?;
        Ok(draft)
    }

    fn bare(&self) -> PathBuf {
        self.folder.path().join("pack.git")
    }

    /// A place in it for what is to be moved out.
    #[must_use]
    pub fn place(&self) -> PathBuf {
        self.folder.path().join("pack")
    }

    /// Git, with nothing of the real repository or of the user that has a say here.
    fn alone<'c>(&self, git: &'c mut Command) -> &'c mut Command {
        for (name, _) in std::env::vars_os() {
            if name.to_string_lossy().starts_with("GIT_") {
                git.env_remove(name);
            }
        }
        git.current_dir(self.folder.path())
            .env("GIT_CONFIG_GLOBAL", "/dev/null")
            .env("GIT_CONFIG_NOSYSTEM", "1")
            .env("GIT_DEFAULT_REF_FORMAT", "files")
            .env("LC_ALL", "C")
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
    }

    fn git(&self, words: &[&str]) -> Command {
        let mut git = Command::new("git");
        // It is new and our own, whoever the disk says owns it.
        git.args(["-c", "safe.directory=*", "-c", "core.fsync=none"])
            .arg("--git-dir")
            .arg(self.bare())
            .args(words);
        self.alone(&mut git);
        git
    }

    /// The repository, to be read.
    ///
    /// # Errors
    /// When it can't be.
    pub fn repo(&self) -> Result<Repo, GitError> {
        Repo::open(Some(&self.bare()))
    }

    /// The last commit, before the first page is put upon it.
    ///
    /// # Errors
    /// When it can't be read.
    pub fn before(&self) -> Result<Commit, GitError> {
        self.repo()?.commit(BEFORE)
    }

    pub(super) fn import(&self) -> Result<Import, PackError> {
        let mut git = self.git(&["fast-import", "--quiet", "--date-format=raw-permissive"]);
        let mut child = git
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .map_err(|error| GitError::NoGit(plain(&error)))?;
        let Some(pipe) = child.stdin.take() else {
            return Err(GitError::Refused("it takes nothing".to_owned()).into());
        };
        Ok(Import {
            child,
            pipe: BufWriter::new(pipe),
            tip: None,
        })
    }

    /// Puts the last commit upon what is there: these files beside all others. Without
    /// `upon` it is a commit without parents.
    ///
    /// # Errors
    /// When it can't be written.
    pub fn put_upon(
        &self,
        before: &Commit,
        upon: bool,
        who: &str,
        message: &str,
        files: &[(&str, Vec<u8>)],
    ) -> Result<Commit, PackError> {
        let mut import = self.import()?;
        let head = format!("commit {MAIN}\nauthor {who}\ncommitter {who}\n");
        import.write(head.as_bytes())?;
        import.data(message.as_bytes())?;
        let upon = match upon {
            true => format!("from {}\n", before.id),
            false => String::new(),
        };
        // Without parents it begins with nothing, and is given the whole tree.
        import.write(format!("{upon}M 040000 {} \n", before.tree).as_bytes())?;
        for (path, bytes) in files {
            import.write(format!("M 100644 inline {path}\n").as_bytes())?;
            import.data(bytes)?;
        }
        import.close()?;
        Ok(self.repo()?.commit(MAIN)?)
    }

    /// Writes the bundle.
    ///
    /// # Errors
    /// When git can't.
    pub fn bundle(&self) -> Result<(), PackError> {
        let place = self.place();
        let place = place.to_string_lossy();
        done(&mut self.git(&["bundle", "create", "--quiet", &place, "HEAD", MAIN]))
    }

    /// Takes what is new in here into the real repository, and remembers what was handed
    /// over.
    ///
    /// # Errors
    /// When git can't.
    pub fn keep_in(
        &self,
        repo: &Repo,
        name: &str,
        whole: &str,
        given: &str,
    ) -> Result<(), PackError> {
        let ways = [
            "objects/pack".to_owned(),
            format!("{HANDED}{name}"),
            format!("logs/{HANDED}{name}"),
        ];
        if let Some(way) = ways.iter().find(|way| !repo.keeps_itself(way)) {
            let way = way.clone();
            return Err(PackError::LedAway(way));
        }
        // In a folder below the top it would lay the pack down there.
        let real = repo.ask_line(&["rev-parse", "--absolute-git-dir"])?;
        // Only what is not borrowed.
        let words = ["pack-objects", "--quiet", "--revs", "--local", "--stdout"];
        let mut packs = self.git(&words);
        let mut packs = packs
            .stdin(Stdio::piped())
            .spawn()
            .map_err(|error| GitError::NoGit(plain(&error)))?;
        if let Some(mut pipe) = packs.stdin.take() {
            let _ = pipe.write_all(format!("{given}\n").as_bytes());
        }
        let Some(pack) = packs.stdout.take() else {
            return Err(GitError::Refused("it packs nothing".to_owned()).into());
        };
        let mut takes = Command::new("git");
        takes.args(["--git-dir", &real, "index-pack", "--stdin"]);
        repo.shut(&mut takes);
        takes
            .current_dir(repo.folder())
            .stdin(pack)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        let taken = done(&mut takes);
        let packed = packs.wait_with_output();
        let packed = packed.map_err(|error| GitError::Refused(error.to_string()))?;
        if !packed.status.success() {
            return Err(said(&packed.stderr).into());
        }
        taken?;
        let refs =
            format!("create {HANDED}{name}/whole {whole}\ncreate {HANDED}{name}/given {given}\n");
        repo.ask(&["update-ref", "--stdin"], Some(refs.as_bytes()))?;
        Ok(())
    }

    /// Forgets that it was handed over.
    pub fn forget(repo: &Repo, name: &str) {
        let refs = format!("delete {HANDED}{name}/whole\ndelete {HANDED}{name}/given\n");
        let _ = repo.ask(&["update-ref", "--stdin"], Some(refs.as_bytes()));
    }
}

/// A line of `objects/info/alternates`: in quotes where git would take it for something else.
fn quoted(path: &str) -> String {
    if !path.starts_with(['"', '#']) && !path.contains(char::is_control) {
        return path.to_owned();
    }
    in_quotes(path)
}

fn in_quotes(path: &str) -> String {
    let mut text = String::from("\"");
    for c in path.chars() {
        match c {
            '"' | '\\' => text.extend(['\\', c]),
            '\n' => text.push_str("\\n"),
            c => text.push(c),
        }
    }
    text.push('"');
    text
}

fn said(stderr: &[u8]) -> GitError {
    let text = String::from_utf8_lossy(stderr);
    let mut lines = text.lines();
    let line = lines.find(|line| line.starts_with("fatal: ") || line.starts_with("error: "));
    let line = line.or_else(|| text.lines().next());
    let line = line.unwrap_or("it does not say why");
    let line = line
        .trim_start_matches("fatal: ")
        .trim_start_matches("error: ");
    GitError::Refused(line.to_owned())
}

fn done(git: &mut Command) -> Result<(), PackError> {
    let output = git
        .output()
        .map_err(|error| GitError::NoGit(plain(&error)))?;
    match output.status.success() {
        true => Ok(()),
        false => Err(said(&output.stderr).into()),
    }
}

/// `git fast-import`, while it is told.
pub(super) struct Import {
    child: Child,
    pipe: BufWriter<ChildStdin>,
    /// The commit that was written last.
    tip: Option<usize>,
}

/// The files of a commit: git's name for what a path holds and whether it can be run; none
/// where the file goes.
pub(super) type Changes<'a> = [(&'a str, Option<(String, bool)>)];

impl Import {
    fn write(&mut self, bytes: &[u8]) -> Result<(), PackError> {
        if self.pipe.write_all(bytes).is_ok() {
            return Ok(());
        }
        // It has ended, and says why.
        let mut text = Vec::new();
        if let Some(mut stderr) = self.child.stderr.take() {
            let _ = stderr.read_to_end(&mut text);
        }
        Err(said(&text).into())
    }

    fn data(&mut self, bytes: &[u8]) -> Result<(), PackError> {
        self.write(format!("data {}\n", bytes.len()).as_bytes())?;
        self.write(bytes)?;
        self.write(b"\n")
    }

    /// A content.
    pub(super) fn blob(&mut self, bytes: &[u8]) -> Result<(), PackError> {
        self.write(b"blob\n")?;
        self.data(bytes)
    }

    /// A commit under its number, upon those that were written before it.
    pub(super) fn commit(
        &mut self,
        number: usize,
        written: &Written<'_>,
        encoding: Option<&[u8]>,
        message: &[u8],
        upon: &[usize],
        changes: &Changes<'_>,
    ) -> Result<(), PackError> {
        if upon.is_empty() {
            // A second beginning stands upon nothing.
            self.write(format!("reset {BEFORE}\n").as_bytes())?;
        }
        self.write(format!("commit {BEFORE}\nmark :{}\n", number + 1).as_bytes())?;
        for (role, who) in [("author", written.author), ("committer", written.committer)] {
            self.write(format!("{role} ").as_bytes())?;
            self.write(who)?;
            self.write(b"\n")?;
        }
        if let Some(encoding) = encoding {
            self.write(b"encoding ")?;
            self.write(encoding)?;
            self.write(b"\n")?;
        }
        self.data(message)?;
        for (at, parent) in upon.iter().enumerate() {
            let word = if at == 0 { "from" } else { "merge" };
            // What was written last stands there as it is.
            if at > 0 || self.tip != Some(*parent) {
                self.write(format!("{word} :{}\n", parent + 1).as_bytes())?;
            }
        }
        for (path, is) in changes {
            let path = match path.starts_with('"') || path.contains('\n') {
                true => in_quotes(path),
                false => (*path).to_owned(),
            };
            let line = match is {
                None => format!("D {path}\n"),
                Some((id, false)) => format!("M 100644 {id} {path}\n"),
                Some((id, true)) => format!("M 100755 {id} {path}\n"),
            };
            self.write(line.as_bytes())?;
        }
        self.tip = Some(number);
        Ok(())
    }

    /// All is told; this commit is the last of the history.
    pub(super) fn end(mut self, last: Option<usize>) -> Result<(), PackError> {
        if let Some(last) = last.filter(|last| self.tip != Some(*last)) {
            self.write(format!("reset {BEFORE}\nfrom :{}\n", last + 1).as_bytes())?;
        }
        self.close()
    }

    fn close(mut self) -> Result<(), PackError> {
        let flushed = self.pipe.flush();
        drop(self.pipe);
        let output = self.child.wait_with_output();
        let output = output.map_err(|error| GitError::Refused(error.to_string()))?;
        match flushed.is_ok() && output.status.success() {
            true => Ok(()),
            false => Err(said(&output.stderr).into()),
        }
    }
}
