//! The commit message that git is about to show: what git makes of it, and writing it.

use std::path::Path;

use super::disk::{DiskError, draft_like, unread, unwritten};
use super::git::{self, Repo};

/// Reads a message; nothing where it is no text in UTF-8, which a draft could not be
/// written into.
///
/// # Errors
/// When it can't be read.
pub fn read(repo: &Repo, file: &Path) -> Result<Option<String>, DiskError> {
    let encoding = setting(repo, "i18n\\.commitencoding");
    let plain = |name: String| name.to_ascii_lowercase().replace('-', "") == "utf8";
    let bytes = std::fs::read(file).map_err(|error| unread(file, &error))?;
    Ok(String::from_utf8(bytes)
        .ok()
        .filter(|_| encoding.is_none_or(plain)))
}

/// Writes a message whole, or leaves it as it is.
///
/// # Errors
/// When it can't be written.
pub fn write(file: &Path, text: &str) -> Result<(), DiskError> {
    draft_like(file, text.as_bytes())
        .and_then(|draft| draft.persist(file).map_err(|error| error.error))
        .map_err(|error| unwritten(file, &error))?;
    Ok(())
}

/// What git makes of a message: what a comment begins with, and whether comments are taken
/// out in the end. `caller` is the number of the process of `git commit`.
#[must_use]
pub fn habits(repo: &Repo, caller: Option<u32>) -> (String, bool) {
    // With `auto` git takes another mark only where the message has this one in it.
    let comment = setting(repo, "core\\.comment(char|string)");
    let comment = comment.filter(|mark| !mark.is_empty() && mark != "auto");
    let cleanup = caller
        .and_then(git::cleanup)
        .or_else(|| setting(repo, "commit\\.cleanup"));
    let kept = matches!(
        cleanup.as_deref(),
        Some("verbatim" | "whitespace" | "scissors")
    );
    // What git tells a hook where no editor opens; then comments stay in as well.
    let unseen = std::env::var_os("GIT_EDITOR").is_some_and(|editor| editor == ":");
    (comment.unwrap_or_else(|| "#".to_owned()), !kept && !unseen)
}

/// The last word on a setting, by a pattern of its name.
fn setting(repo: &Repo, name: &str) -> Option<String> {
    let pattern = format!("^{name}$");
    // That nothing is set is an error to git.
    let answer = repo
        .ask(&["config", "-z", "--get-regexp", &pattern], None)
        .ok()?;
    let text = String::from_utf8_lossy(&answer).into_owned();
    let last = text.split_terminator('\0').next_back()?;
    last.split_once('\n').map(|(_, value)| value.to_owned())
}
