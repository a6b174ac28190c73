//! The `oddleg` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    oddleg::command::main()
}
