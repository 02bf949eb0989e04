//! Git, typed as at the bench: the real command, with all that it and its hooks say.
//!
//! Settings of the user and the system are shut out, and who commits when is given,
//! so that the same is said, and the same commit made, on every machine.

use std::path::Path;
use std::process::{Command, Stdio};

/// Who types, and when.
#[derive(Debug, Clone, Copy)]
pub struct Typist<'a> {
    /// The name.
    pub who: &'a str,
    /// The address.
    pub address: &'a str,
    /// The time as git writes it: `2026-03-21T20:10:00+0100`.
    pub when: &'a str,
}

/// What came of it.
#[derive(Debug)]
pub struct Said {
    /// Whether git did it.
    pub done: bool,
    /// Everything that was said.
    pub text: String,
}

/// Runs git in a folder.
///
/// # Errors
/// When there is no git to run.
pub fn git(folder: &Path, words: &[&str], typist: Typist<'_>) -> std::io::Result<Said> {
    let mut command = Command::new("git");
    // Run from a hook of another repository, git would be told of that one.
    for (name, _) in std::env::vars_os() {
        if name.to_string_lossy().starts_with("GIT_") {
            command.env_remove(name);
        }
    }
    for role in ["AUTHOR", "COMMITTER"] {
        command
            .env(format!("GIT_{role}_NAME"), typist.who)
            .env(format!("GIT_{role}_EMAIL"), typist.address)
            .env(format!("GIT_{role}_DATE"), typist.when);
    }
    let output = command
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("GIT_PAGER", "cat")
        .env("LC_ALL", "C")
        // The repository is new and our own, whoever the disk says owns it.
        .args(["-c", "safe.directory=*"])
        .args(["-c", "commit.gpgsign=false", "-c", "core.editor=true"])
        .args(words)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()?;
    let mut text = String::from_utf8_lossy(&output.stderr).into_owned();
    text.push_str(&String::from_utf8_lossy(&output.stdout));
    Ok(Said {
        done: output.status.success(),
        text,
    })
}
