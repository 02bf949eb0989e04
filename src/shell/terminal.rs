//! The terminal: standard output and error, with colour only where a person
//! looks and has not refused it (`NO_COLOR`, a pipe).

use std::io::Write;

/// Whether standard output may be coloured.
#[must_use]
pub fn colour() -> bool {
    anstream::AutoStream::choice(&std::io::stdout()) != anstream::ColorChoice::Never
}

/// How many characters a line of standard output has, if it is a terminal.
#[must_use]
pub fn width() -> Option<usize> {
    let (width, _) = terminal_size::terminal_size_of(std::io::stdout())?;
    Some(usize::from(width.0))
}

/// Standard output did not take what was printed.
#[derive(Debug, thiserror::Error)]
#[error("what was found can't be printed: {0}")]
pub struct PrintError(std::io::Error);

/// Prints to standard output. A reader that went away is no fault of ours.
///
/// # Errors
/// When the output takes nothing more, as a full disk does.
pub fn print(text: &str) -> Result<(), PrintError> {
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(PrintError(error)),
        _ => Ok(()),
    }
}

/// Prints to standard error.
pub fn complain(text: &str) {
    let mut out = std::io::stderr().lock();
    let _ = out.write_all(text.as_bytes());
}
