//! The command line: the effects around the pure core.

mod cli;

use std::process::ExitCode;

use clap::Parser;

fn main() -> ExitCode {
    match cli::run(&cli::Arguments::parse_from(cli::figures(std::env::args_os()))) {
        Ok(code) => ExitCode::from(code),
        Err(error) => {
            eprintln!("muster: {error:#}");
            ExitCode::from(cli::BAD_INPUT)
        }
    }
}
