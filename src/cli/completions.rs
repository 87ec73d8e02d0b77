//! `layrule completions` and `layrule man`: what shells and readers of manuals need, made from the commands' own definitions.

use clap::{Args, CommandFactory as _};
use clap_complete::Shell;

use super::problem::Problem;
use super::{Arguments, Console, SOUND};
use crate::text::{nearest, quoted};

const SHELL_EXAMPLES: &str = "Examples:
  layrule completions bash > /etc/bash_completion.d/layrule
  layrule completions zsh  > ~/.zfunc/_layrule
  layrule completions fish > ~/.config/fish/completions/layrule.fish";

const MAN_EXAMPLES: &str = "Examples:
  layrule man > layrule.1                 the page of the program
  layrule man check > layrule-check.1     the page of a command
  layrule man check | man -l -            read it at once";

#[derive(Debug, Args)]
#[command(after_help = SHELL_EXAMPLES)]
pub(super) struct CompletionsArguments {
    /// The shell that shall complete
    #[arg(value_enum, value_name = "SHELL")]
    shell: Shell,
}

#[derive(Debug, Args)]
#[command(after_help = MAN_EXAMPLES)]
pub(super) struct ManArguments {
    /// The command whose page is wanted
    #[arg(value_name = "COMMAND")]
    command: Option<String>,
}

pub(super) fn completions(arguments: &CompletionsArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "layrule", &mut script);
    console.print(&script).map_err(|problem| vec![problem])?;
    Ok(SOUND)
}

pub(super) fn man(arguments: &ManArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let mut whole = Arguments::command();
    whole.build();
    let command = match &arguments.command {
        None => whole,
        Some(name) => match whole.find_subcommand(name) {
            Some(found) => found.clone().version(env!("CARGO_PKG_VERSION")),
            None => {
                let words = || whole.get_subcommands().map(clap::Command::get_name).filter(|name| *name != "help");
                let help = match nearest(name, words()) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("there are {}", quoted(words(), "and")),
                };
                return Err(vec![Problem::new(format!("no command is called `{name}`")).help(help)]);
            }
        },
    };
    let mut page = Vec::new();
    clap_mangen::Man::new(command)
        .render(&mut page)
        .map_err(|error| vec![Problem::new(format!("the page can't be made: {error}"))])?;
    console.print(&page).map_err(|problem| vec![problem])?;
    Ok(SOUND)
}
