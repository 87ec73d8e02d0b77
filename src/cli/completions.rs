//! `layrule completions` and `layrule man`: what shells and readers of manuals need, made from the commands' own definitions.

use clap::{Args, CommandFactory as _};
use clap_complete::Shell;
use roff::{Inline, Roff, bold, italic, roman};

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
    let shell = arguments.shell.to_string();
    let script = super::completing::script(&shell)
        .ok_or_else(|| vec![Problem::new(format!("there is no script for the shell `{shell}`"))])?;
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
    manual_page(command, arguments.command.is_none(), &mut page)
        .map_err(|error| vec![Problem::new(format!("the page can't be made: {error}"))])?;
    console.print(&page).map_err(|problem| vec![problem])?;
    Ok(SOUND)
}

/// The exit codes of commands that say nothing else of theirs.
const EXIT_CODES: &[(&str, &str)] = &[
    ("0", "done; of a check: nothing at or above the failing severity"),
    ("1", "done, and something is to be mended: findings, or a plan that could not be read whole"),
    ("2", "not done: bad arguments, a file that can't be read or written, a broken rule pack"),
    ("130", "ended by Ctrl-C; what was being written is taken away, what was there before stays"),
];

/// The files that commands look for by themselves.
const FILES: &[(&str, &str)] = &[
    ("layrule.toml", "in the project's folder: what holds for all its plans"),
    (".gitignore", "what it names is passed over where folders are walked"),
    (
        "$XDG_CONFIG_HOME/layrule/trusted-folders",
        "the folders whose project files may name outputs, one a line; $HOME/.config where the variable isn't set",
    ),
];

/// The page of a command, or of the program as a whole.
fn manual_page(command: clap::Command, whole: bool, page: &mut Vec<u8>) -> std::io::Result<()> {
    let others: Vec<String> =
        Arguments::command().get_subcommands().map(|one| format!("layrule-{}", one.get_name())).collect();
    let own = format!("layrule-{}", command.get_name());
    clap_mangen::Man::new(command).render(page)?;
    let mut rest = Roff::new();
    rest.control("SH", ["EXIT STATUS"]);
    listed(&mut rest, EXIT_CODES, bold);
    rest.control("SH", ["FILES"]);
    listed(&mut rest, FILES, italic);
    rest.control("SH", ["SEE ALSO"]);
    let mut also: Vec<Inline> = Vec::new();
    let program = "layrule".to_string();
    for name in others.iter().filter(|name| whole || **name != own).chain((!whole).then_some(&program)) {
        if !also.is_empty() {
            also.push(roman(", "));
        }
        also.extend([bold(name.as_str()), roman("(1)")]);
    }
    rest.text(also);
    rest.to_writer(page)
}

/// A list of words, each with what it means.
fn listed(page: &mut Roff, entries: &[(&str, &str)], style: impl Fn(String) -> Inline) {
    for (word, meaning) in entries {
        page.control("TP", []);
        page.text([style((*word).to_string())]);
        page.text([roman(*meaning)]);
    }
}
