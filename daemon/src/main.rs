//! The program `endarc`; everything is in the library of the same name.

use std::process::ExitCode;

fn main() -> ExitCode {
    endarc::cli::main()
}
