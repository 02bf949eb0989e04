//! Hooks: putting ours in force in a clone, and taking them out again.
//!
//! Git says where its hooks lie. What somebody else put there is kept beside ours,
//! which calls it first; ours is known by its whole text, so that nothing that
//! somebody changed is ever lost.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::git::{GitError, Repo};

/// The hooks that check and draft, in a clone that people commit in and in one they push to.
const COMMIT_HOOKS: &[&str] = &[
    "pre-commit",
    "pre-merge-commit",
    "pre-applypatch",
    "prepare-commit-msg",
    "post-merge",
    "post-rewrite",
];
const PUSH_HOOKS: &[&str] = &["pre-receive"];

/// What stands in a hook for the program's place.
const PROGRAM: &str = "@program@";

/// The text of a hook, with the program's place still to be filled in.
fn script(hook: &str) -> &'static str {
    match hook {
        "prepare-commit-msg" => include_str!("../../hooks/prepare-commit-msg"),
        "pre-receive" => include_str!("../../hooks/pre-receive"),
        "post-merge" | "post-rewrite" => include_str!("../../hooks/post-merge"),
        _ => include_str!("../../hooks/pre-commit"),
    }
}

/// A hook, and what came of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hook {
    /// What git calls it.
    pub name: &'static str,
    /// What came of it.
    pub came: Came,
}

/// What came of putting a hook in force or taking it out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Came {
    /// It is in force; with another hook that is kept beside it and called, if any.
    InForce {
        /// Whether another's hook is called before it.
        with_kept: bool,
    },
    /// As before, but what somebody made of our hook lies beside it now.
    Renewed,
    /// It is out; the other's hook is back, if there was one.
    Out {
        /// Whether another's hook stands there again.
        back: bool,
    },
    /// It was not in force.
    WasOut,
    /// It was left alone, for this reason; then what to do.
    Left(String, String),
}

/// The hooks of a clone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hooks {
    /// Where they lie.
    pub folder: PathBuf,
    /// Whether that is in the work tree, where a commit would take them in.
    pub in_work_tree: bool,
    /// Whether the clone is bare: one that people push to.
    pub bare: bool,
    /// Each hook.
    pub hooks: Vec<Hook>,
}

/// Where the hooks of a clone lie, or why ours can't lie there.
enum Lie {
    Here(PathBuf),
    Not(PathBuf, String, String),
}

fn place(repo: &Repo) -> Result<Lie, GitError> {
    let folder = PathBuf::from(repo.ask_line(&["rev-parse", "--git-path", "hooks"])?);
    let folder = match repo.folder() {
        here if here == Path::new(".") => folder,
        other => other.join(folder),
    };
    // No such setting is git's usual answer, and an error to it.
    let set = repo.ask_line(&["config", "--show-scope", "--get", "core.hooksPath"]);
    let set = set.unwrap_or_default();
    let (scope, value) = set.split_once('\t').unwrap_or_default();
    let own = matches!(scope, "" | "local" | "worktree");
    if !own {
        return Ok(Lie::Not(
            folder,
            format!("`core.hooksPath` is {value} for all repositories here ({scope} settings), and a hook put there would guard them all"),
            "to guard this one alone, and use no other hook in it: `git config core.hooksPath \"$(git rev-parse --git-common-dir)/hooks\"`, then `matchmark guard`".to_owned(),
        ));
    }
    if !scope.is_empty() && value.is_empty() {
        return Ok(Lie::Not(
            folder,
            "`core.hooksPath` is set to nothing, so git calls no hook".to_owned(),
            "`git config --unset core.hooksPath`, then `matchmark guard`".to_owned(),
        ));
    }
    if folder.is_dir() && !repo.holds(&folder) {
        return Ok(Lie::Not(
            folder.clone(),
            format!(
                "{} lies outside this repository, and may be somebody's other hooks",
                folder.display()
            ),
            "to have hooks here: `git config --unset core.hooksPath`, or take away the link in their place, then `matchmark guard`".to_owned(),
        ));
    }
    if folder.symlink_metadata().is_ok() && !folder.is_dir() {
        return Ok(Lie::Not(
            folder,
            format!("`core.hooksPath` is {value}, which is no folder, so git calls no hook"),
            "`git config --unset core.hooksPath`, then `matchmark guard`".to_owned(),
        ));
    }
    Ok(Lie::Here(folder))
}

fn all(
    repo: &Repo,
    each: impl Fn(&Path, &'static str) -> io::Result<Came>,
) -> Result<Hooks, GitError> {
    let bare = repo.ask_line(&["rev-parse", "--is-bare-repository"])? == "true";
    let names = if bare { PUSH_HOOKS } else { COMMIT_HOOKS };
    let lie = place(repo)?;
    let hooks = names.iter().map(|name| {
        let came = match &lie {
            Lie::Not(_, why, to_do) => Came::Left(why.clone(), to_do.clone()),
            Lie::Here(folder) => each(folder, name).unwrap_or_else(|error| {
                Came::Left(
                    super::disk::plain(&error),
                    "see that the folder can be written, then `matchmark guard`".to_owned(),
                )
            }),
        };
        Hook { name, came }
    });
    let hooks = hooks.collect();
    let (Lie::Here(folder) | Lie::Not(folder, ..)) = lie;
    let in_work_tree = !bare && repo.in_work_tree(&folder);
    Ok(Hooks {
        folder,
        in_work_tree,
        bare,
        hooks,
    })
}

/// Puts our hooks in force.
///
/// # Errors
/// When git does not say where hooks lie.
pub fn put(repo: &Repo) -> Result<Hooks, GitError> {
    let program = std::env::current_exe().unwrap_or_else(|_| PathBuf::from("matchmark"));
    let program = quoted(&program.to_string_lossy());
    all(repo, |folder, name| put_one(folder, name, &program))
}

/// Takes our hooks out.
///
/// # Errors
/// When git does not say where hooks lie.
pub fn remove(repo: &Repo) -> Result<Hooks, GitError> {
    all(repo, remove_one)
}

/// What lies at a hook's place.
enum There {
    Nothing,
    /// Ours, as we put it.
    Ours,
    /// Ours, and changed since, or by another version of the program.
    Changed,
    Theirs,
}

fn there(path: &Path, name: &str) -> io::Result<There> {
    // A link is somebody's, wherever it leads; and no pipe or folder is read.
    match path.symlink_metadata() {
        Ok(about) if !about.is_file() => return Ok(There::Theirs),
        _ => {}
    }
    let text = match fs::read(path) {
        Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            // A link that leads nowhere is somebody's too.
            return Ok(match path.symlink_metadata() {
                Ok(_) => There::Theirs,
                Err(_) => There::Nothing,
            });
        }
        Err(error) => return Err(error),
    };
    let without_program = |text: &str| -> String {
        let kept = text
            .lines()
            .filter(|line| !line.starts_with("program='") && *line != "program=@program@");
        kept.map(|line| format!("{line}\n")).collect()
    };
    let second = |text: &str| text.lines().nth(1).map(str::to_owned);
    Ok(if without_program(&text) == without_program(script(name)) {
        There::Ours
    } else if second(&text) == second(script(name)) {
        There::Changed
    } else {
        There::Theirs
    })
}

fn put_one(folder: &Path, name: &'static str, program: &str) -> io::Result<Came> {
    fs::create_dir_all(folder)?;
    let path = folder.join(name);
    let kept = folder.join(format!("{name}.kept"));
    let has_kept = kept.symlink_metadata().is_ok();
    let lies = there(&path, name)?;
    let mut draft = tempfile::NamedTempFile::new_in(folder)?;
    draft.write_all(script(name).replace(PROGRAM, program).as_bytes())?;
    draft.as_file().sync_all()?;
    executable(draft.path())?;
    match lies {
        There::Nothing => {
            draft.persist_noclobber(&path)?;
        }
        There::Ours => {
            draft.persist(&path)?;
        }
        There::Changed => {
            let beside = folder.join(format!("{name}.before"));
            if beside.symlink_metadata().is_ok() {
                return Ok(Came::Left(
                    format!("somebody changed it, and {name}.before is there already"),
                    format!(
                        "look at {name} and {name}.before, move one away, then `matchmark guard`"
                    ),
                ));
            }
            fs::rename(&path, &beside)?;
            draft.persist_noclobber(&path)?;
            return Ok(Came::Renewed);
        }
        // Kept under another name it would lead to ours.
        There::Theirs if leads_to_a_hook(&path) => {
            return Ok(Came::Left(
                "it is a link to another hook here".to_owned(),
                format!("put a script of its own in the place of {name}, then `matchmark guard`"),
            ));
        }
        There::Theirs if has_kept => {
            return Ok(Came::Left(
                format!("another hook is there, and {name}.kept as well"),
                format!("look at {name} and {name}.kept, move one away, then `matchmark guard`"),
            ));
        }
        There::Theirs => {
            fs::rename(&path, &kept)?;
            if let Err(error) = draft.persist_noclobber(&path) {
                fs::rename(&kept, &path)?;
                return Err(error.error);
            }
            return Ok(Came::InForce { with_kept: true });
        }
    }
    Ok(Came::InForce {
        with_kept: has_kept,
    })
}

/// Whether a hook is a link to one of those that we put.
fn leads_to_a_hook(path: &Path) -> bool {
    let Ok(target) = fs::read_link(path) else {
        return false;
    };
    let beside = target
        .parent()
        .is_none_or(|above| above.as_os_str().is_empty() || above == Path::new("."));
    let name = target.file_name().and_then(|name| name.to_str());
    beside && name.is_some_and(|name| COMMIT_HOOKS.contains(&name) || PUSH_HOOKS.contains(&name))
}

fn remove_one(folder: &Path, name: &'static str) -> io::Result<Came> {
    let path = folder.join(name);
    match there(&path, name)? {
        There::Nothing | There::Theirs => Ok(Came::WasOut),
        There::Changed => Ok(Came::Left(
            "somebody changed it since".to_owned(),
            format!("look at {name} in there, and take it out by hand"),
        )),
        There::Ours => {
            let kept = folder.join(format!("{name}.kept"));
            let back = kept.symlink_metadata().is_ok();
            if back {
                // One step: at no time is neither of the two in force.
                fs::rename(&kept, &path)?;
            } else {
                fs::remove_file(&path)?;
            }
            Ok(Came::Out { back })
        }
    }
}

/// In single quotes, as a shell reads it back.
pub(super) fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', "'\\''"))
}

#[cfg(unix)]
fn executable(path: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(path, fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn executable(_: &Path) -> io::Result<()> {
    Ok(())
}
