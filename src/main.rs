//! The program: hands its arguments to the library and turns the outcome into an exit status.

use std::process::ExitCode;

fn main() -> ExitCode {
    weephole::cli::run(std::env::args_os())
}
