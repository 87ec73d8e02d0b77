//! `layrule language-server`: what an editor talks to.

use std::sync::Arc;

use clap::Args;

use super::check::parse_date;
use super::problem::Problem;
use super::{Console, FOUND, SOUND, rule_set};
use crate::language_server::{Options, remove_written, run as serve};

const EXAMPLES: &str = "Examples:
  layrule language-server                     started by an editor, which talks to it
  layrule language-server --date 2026-11-25   judge deviations as on that day

It speaks the Language Server Protocol 3.17 on standard input and output, for plans (`.lay`),
rule packs (`.rule`) and the project file (`layrule.toml`). README shows how editors are told of it.

Exit codes: 0 after the editor asked for a shutdown, 1 where it left without, 2 not begun.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct LanguageServerArguments {
    /// The day on which deviations are judged to hold; today where not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = parse_date)]
    date: Option<jiff::civil::Date>,
    /// Taken for editors that give it; there is no other way to talk
    #[arg(long, hide = true)]
    stdio: bool,
}

pub(super) fn run(arguments: &LanguageServerArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    // Without rules there would be nothing to serve but silence.
    let built_in = Arc::new(rule_set(&[])?);
    let options = Options { built_in, date: arguments.date, folder: std::env::current_dir().unwrap_or_default() };
    // Ended by a signal it leaves nothing behind. Where signals can't be heeded it serves all the same.
    let _ = ctrlc::set_handler(|| {
        remove_written();
        std::process::exit(FOUND.into());
    });
    let served = serve(std::io::stdin(), std::io::stdout(), options);
    // The thread that checks may still be at it.
    remove_written();
    match served {
        Ok(true) => Ok(SOUND),
        Ok(false) => Ok(FOUND),
        Err(error) => {
            console.tell(&Problem::new(format!("the editor can't be written to: {error}")));
            Ok(FOUND)
        }
    }
}
