//! The terminal: standard output and error, with colour only where a person
//! looks and has not refused it (`NO_COLOR`, a pipe).

use std::io::Write;

/// Whether standard output may be coloured.
#[must_use]
pub fn colour() -> bool {
    anstream::AutoStream::choice(&std::io::stdout()) != anstream::ColorChoice::Never
}

/// Prints to standard output. A reader that went away is no fault of ours.
pub fn print(text: &str) {
    let mut out = std::io::stdout().lock();
    let _ = out.write_all(text.as_bytes());
    let _ = out.flush();
}

/// Prints to standard error.
pub fn complain(text: &str) {
    let mut out = std::io::stderr().lock();
    let _ = out.write_all(text.as_bytes());
}
