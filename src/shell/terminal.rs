//! The terminal: standard output and error, with colour only where a person
//! looks and has not refused it (`NO_COLOR`, a pipe).

use std::io::{IsTerminal, Write};
use std::time::{Duration, Instant};

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
    print_bytes(text.as_bytes())
}

/// Prints what may be no text, as it is.
///
/// # Errors
/// When the output takes nothing more.
pub fn print_bytes(bytes: &[u8]) -> Result<(), PrintError> {
    let mut out = std::io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(PrintError(error)),
        _ => Ok(()),
    }
}

/// Prints to standard error.
pub fn complain(text: &str) {
    let mut out = std::io::stderr().lock();
    let _ = out.write_all(text.as_bytes());
}

/// Standard input, line by line.
pub fn input() -> std::io::StdinLock<'static> {
    std::io::stdin().lock()
}

/// How far long work has come; said on a terminal only.
pub struct Progress {
    all: usize,
    done: usize,
    noun: &'static str,
    begun: Instant,
    shown: bool,
    terminal: bool,
}

impl Progress {
    /// So many steps, each of them such a thing.
    #[must_use]
    pub fn of(all: usize, noun: &'static str) -> Self {
        Self {
            all,
            done: 0,
            noun,
            begun: Instant::now(),
            shown: false,
            terminal: std::io::stderr().is_terminal(),
        }
    }

    /// One step is done.
    pub fn step(&mut self) {
        self.done += 1;
        // Short work needs no word.
        if self.terminal && self.begun.elapsed() > Duration::from_millis(500) {
            self.shown = true;
            complain(&format!("\r{} of {} {}s", self.done, self.all, self.noun));
        }
    }

    /// All is done; the line goes.
    pub fn end(self) {
        if self.shown {
            complain("\r\x1b[2K");
        }
    }
}
