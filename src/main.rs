//! Arguments and exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    witnessmark::command::run(std::env::args_os()).into()
}
