//! The command line program.

fn main() -> std::process::ExitCode {
    layrule::cli::run()
}
