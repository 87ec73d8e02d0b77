//! What a shell is told of what may stand where its user is typing: commands, options, their values, and the rooms of the plan that the line
//! names. A shell asks by its script, which `layrule completions` prints, each time that somebody presses a key: nothing is said of what can't
//! be answered, and what is read for it is bounded.

use std::collections::BTreeSet;
use std::ffi::{OsStr, OsString};
use std::io::Write as _;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use clap::builder::ValueHint;
use clap::{Arg, Command, CommandFactory as _};
use clap_complete::engine::{ArgValueCompleter, CompletionCandidate, PathCompleter, ValueCompleter as _};
use clap_complete::env::{EnvCompleter, Shells};

use super::{Arguments, FAILED, SOUND, outline};
use crate::layout;
use crate::layout::tree::Statement;
use crate::source::{printable, read_at_most};

/// The variable by which a script asks; its value is the shell's name.
pub(super) const ASKED: &str = "LAYRULE_COMPLETE";

const SHELLS: Shells<'static> = Shells::builtins();

/// The largest plan, and the largest drawing, model or map, that is read for its rooms, bytes: more than most have, and read before a finger
/// is lifted.
const LARGEST_PLAN: u64 = 1024 * 1024;
const LARGEST_DRAWING: u64 = 8 * 1024 * 1024;

/// How many words of a line are tried as files.
const MOST_FILES: usize = 8;

/// How many rooms are offered.
const MOST_ROOMS: usize = 1_000;

/// The script by which a shell of that name asks.
pub(super) fn script(shell: &str) -> Option<Vec<u8>> {
    let mut script = Vec::new();
    SHELLS.completer(shell)?.write_registration(ASKED, "layrule", "layrule", "layrule", &mut script).ok()?;
    Some(script)
}

/// Answers a shell: `arguments` are the process's own, of which the words of the line stand behind `--`.
pub(super) fn answer(shell: &OsStr, arguments: impl Iterator<Item = OsString>) -> ExitCode {
    let words: Vec<OsString> = arguments.skip_while(|word| word != "--").skip(1).collect();
    let told = shell.to_str().and_then(|name| told(SHELLS.completer(name)?, words));
    match told.map(|told| std::io::stdout().write_all(&told)) {
        Some(Ok(())) => ExitCode::from(SOUND),
        _ => ExitCode::from(FAILED),
    }
}

fn told(shell: &dyn EnvCompleter, words: Vec<OsString>) -> Option<Vec<u8>> {
    // Of a line that is empty no shell asks, and the library counts on that.
    words.first()?;
    let mut command = command(words.as_slice().into());
    let mut told = Vec::new();
    shell.write_complete(&mut command, words, std::env::current_dir().ok().as_deref(), &mut told).ok()?;
    Some(told)
}

/// The commands, with what completes their arguments on a line of these words.
fn command(words: Arc<[OsString]>) -> Command {
    Arguments::command().mut_subcommands(|subcommand| {
        let read: fn(&Path) -> Vec<String> =
            if subcommand.get_name() == "outline" { rooms_of_drawing } else { rooms_of_plan };
        subcommand.mut_args(|argument| completed(argument, read, &words))
    })
}

fn completed(argument: Arg, rooms: fn(&Path) -> Vec<String>, words: &Arc<[OsString]>) -> Arg {
    if argument.get_id() == "room" {
        let words = Arc::clone(words);
        return argument.add(ArgValueCompleter::new(move |begun: &OsStr| rooms_named(&words, rooms, begun)));
    }
    match argument.get_value_hint() {
        ValueHint::AnyPath => argument.add(ArgValueCompleter::new(paths)),
        _ => argument,
    }
}

/// The rooms of the files among some words whose names begin as what is being written.
fn rooms_named(words: &[OsString], read: fn(&Path) -> Vec<String>, begun: &OsStr) -> Vec<CompletionCandidate> {
    let Some(begun) = begun.to_str() else { return Vec::new() };
    // The first is the program itself, the second the command.
    let files = words.iter().skip(2).map(Path::new).filter(|path| path.is_file());
    let rooms: BTreeSet<String> = files.take(MOST_FILES).flat_map(read).collect();
    rooms.into_iter().filter(|name| name.starts_with(begun)).take(MOST_ROOMS).map(CompletionCandidate::new).collect()
}

fn rooms_of_plan(path: &Path) -> Vec<String> {
    let text = read_at_most(path, LARGEST_PLAN).ok().filter(|bytes| bytes.len() as u64 <= LARGEST_PLAN);
    let Some(text) = text.and_then(|bytes| String::from_utf8(bytes).ok()) else { return Vec::new() };
    let statements = layout::parse(&printable(text)).statements;
    let rooms = statements.into_iter().filter_map(|statement| match statement {
        Statement::Room(room) => Some(room.name.text),
        _ => None,
    });
    rooms.collect()
}

fn rooms_of_drawing(path: &Path) -> Vec<String> {
    outline::names_in(path, LARGEST_DRAWING)
}

/// Paths, but for those that a shell would take for something else than a name once they stand on its line: strangers name files too.
fn paths(begun: &OsStr) -> Vec<CompletionCandidate> {
    let harmless = |path: &CompletionCandidate| {
        let text = path.get_value().to_str();
        text.is_some_and(|text| text.chars().all(|c| c.is_alphanumeric() || "/\\._-+,:@%=~".contains(c)))
    };
    PathCompleter::any().complete(begun).into_iter().filter(harmless).collect()
}
