//! The twin that acknowledges before it commits, built for one test only: a test of "nothing lost" that
//! does not catch it proves nothing.

use std::process::ExitCode;

fn main() -> ExitCode {
    oddleg::command::main()
}
