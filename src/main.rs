//! The `matchmark` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    matchmark::cli::main()
}
