//! The command line: the only place that reads arguments, prints and exits.

mod apply;
mod bundle;
mod check;
mod compare;
mod completing;
mod completions;
mod draw;
mod exercise;
mod handover;
mod init;
mod jobs;
mod language_server;
mod licences;
mod mark;
mod measure;
mod new_file;
mod one_plan;
mod outline;
mod outputs;
mod picture;
mod problem;
mod route;
mod rule_examples;
mod rules;
mod settings;
mod size;
mod terminal;
mod tidy;
mod values;
mod watch;

use std::io::{IsTerminal as _, Write as _};
use std::path::PathBuf;
use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{Parser, Subcommand, ValueEnum};

use crate::CAUTION;
use crate::rules::packs::{Pack, RuleSet, built_in};
use crate::source::{Disk, Reader as _, printable, shown};
use problem::{Problem, pack_problems};

/// Exit code where nothing was found that fails the run.
const SOUND: u8 = 0;
/// Exit code where something was.
const FOUND: u8 = 1;
/// Exit code where the check could not be made.
const FAILED: u8 = 2;

const EXAMPLES: &str = "Examples:
  layrule init                begin a project: a plan, kits, settings
  layrule check plans/        check every plan below a folder
  layrule rules spacing       show a rule in full
  layrule tidy plans/         lay plans out in one way
  layrule measure bath.lay    areas, cables, loads and materials
  layrule route bath.lay      lay the cables that it names
  layrule completions bash    a script for the shell
  layrule man check           a manual page";

/// Checks plans for electric floor heating, written as plain text, against rules in plain text.
#[derive(Debug, Parser)]
#[command(name = "layrule", version, about, after_help = format!("{EXAMPLES}\n\n{CAUTION}"), max_term_width = 100)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// When to colour what is printed; `auto` colours on a terminal, unless the environment asks for something else
    #[arg(long, global = true, value_enum, default_value_t = Color::Auto, value_name = "WHEN")]
    color: Color,
    /// Say what was found and what went wrong, and nothing else
    #[arg(long, short, global = true)]
    quiet: bool,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Check plans: files, folders, or `-` for standard input
    Check(check::CheckArguments),
    /// Draw a plan: a sheet a room, to scale, as SVG, PNG or PDF, or for CAD as DXF
    Draw(draw::DrawArguments),
    /// Take off a plan: areas, cables, loads, heat, materials
    Measure(measure::MeasureArguments),
    /// Take the outline of a room, its doors and fixtures out of DXF, IFC or GeoJSON
    Outline(outline::OutlineArguments),
    /// Find the kits that suit rooms without cable
    Size(size::SizeArguments),
    /// Lay the cables that a plan names with their kit alone
    Route(route::RouteArguments),
    /// Tell what differs between two plans, as designed and as built
    Compare(compare::CompareArguments),
    /// Put a plan with all that it is checked by into one file, or take one apart
    Bundle(bundle::BundleArguments),
    /// Make broken plans of a sound one, for learners
    Exercise(exercise::ExerciseArguments),
    /// Mark what learners made of exercises, by their key
    Mark(mark::MarkArguments),
    /// Write the page that is handed over with a floor, test record and all
    Handover(handover::HandoverArguments),
    /// Show a plan in a browser on this machine, drawn afresh whenever it is saved
    Watch(watch::WatchArguments),
    /// List the rules, or show one in full
    Rules(rules::RulesArguments),
    /// Lay out plans and rule packs in their canonical form
    Tidy(tidy::TidyArguments),
    /// Begin a project: a plan that is sound, kits, settings
    Init(init::InitArguments),
    /// Serve an editor: findings while typing, names, completion
    LanguageServer(language_server::LanguageServerArguments),
    /// Print a script that completes commands in a shell
    Completions(completions::CompletionsArguments),
    /// Print a manual page
    Man(completions::ManArguments),
    /// Print the licences of the program and of what is built into it
    #[command(after_help = licences::EXAMPLES)]
    Licences,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Color {
    Auto,
    Always,
    Never,
}

impl Color {
    fn on(self, terminal: bool) -> bool {
        match self {
            Color::Always => true,
            Color::Never => false,
            Color::Auto => terminal::colored(|name| std::env::var_os(name), terminal),
        }
    }
}

/// What a command says of itself, and how.
struct Console {
    asked: Color,
    stdout_color: bool,
    stderr_color: bool,
    /// How wide what is printed may be; none where that is no matter.
    width: Option<usize>,
    /// Whether nothing is said in passing.
    quiet: bool,
}

impl Console {
    fn new(color: Color, quiet: bool) -> Self {
        Console {
            asked: color,
            width: terminal::width(),
            quiet,
            stdout_color: color.on(std::io::stdout().is_terminal()),
            stderr_color: color.on(std::io::stderr().is_terminal()),
        }
    }

    /// Tells of what is wrong with the tool's own input, on standard error.
    fn tell(&self, problem: &Problem) {
        let text = problem.render(self.stderr_color, self.width);
        // There is no one left to tell where standard error is gone.
        let _ = std::io::stderr().write_all(text.as_bytes());
    }

    /// Says something in passing, on standard error.
    fn say(&self, text: &str) {
        if self.quiet {
            return;
        }
        let _ = std::io::stderr().write_all(text.as_bytes());
    }

    /// Prints to standard output.
    fn print(&self, bytes: &[u8]) -> Result<(), Problem> {
        let mut stdout = std::io::stdout().lock();
        stdout.write_all(bytes).and_then(|()| stdout.flush()).map_err(|error| match error.kind() {
            std::io::ErrorKind::BrokenPipe => Problem::new("standard output was closed before everything was written")
                .help("nothing is wrong with the plans for that; read all of the output, or write it to a file"),
            _ => Problem::new(format!("standard output can't be written: {error}")),
        })
    }
}

/// The stack that commands are run on, bytes, however small the one that the system gives a program's first thread.
const STACK: usize = 8 * 1024 * 1024;

/// Runs the program with the process's own arguments.
pub fn run() -> ExitCode {
    let begun = std::thread::Builder::new().name("command".into()).stack_size(STACK).spawn(run_here);
    match begun.map(std::thread::JoinHandle::join) {
        Ok(ended) => ended.unwrap_or(ExitCode::from(FAILED)),
        // Where there is no thread to be had, the first one does.
        Err(_) => run_here(),
    }
}

fn run_here() -> ExitCode {
    if let Some(shell) = std::env::var_os(completing::ASKED).filter(|shell| !shell.is_empty()) {
        return completing::answer(&shell, std::env::args_os());
    }
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        // Help and the version are no faults, as long as they can be printed.
        Err(error) if !error.use_stderr() || asks_nothing(&error) => {
            let console = Console::new(Color::Auto, false);
            let help = error.render();
            let help = if console.stdout_color { help.ansi().to_string() } else { help.to_string() };
            return match console.print(help.as_bytes()) {
                Ok(()) => ExitCode::from(SOUND),
                Err(problem) => {
                    console.tell(&problem);
                    ExitCode::from(FAILED)
                }
            };
        }
        Err(error) => {
            let never = std::env::args_os().any(|argument| argument == "never" || argument == "--color=never");
            let console = Console::new(if never { Color::Never } else { Color::Auto }, false);
            console.tell(&argument_problem(&error));
            return ExitCode::from(FAILED);
        }
    };
    let console = Console::new(arguments.color, arguments.quiet);
    ready_threads();
    let result = match arguments.command {
        Command::Check(arguments) => check::run(&arguments, &console),
        Command::Draw(arguments) => draw::run(&arguments, &console),
        Command::Measure(arguments) => measure::run(&arguments, &console),
        Command::Outline(arguments) => outline::run(&arguments, &console),
        Command::Size(arguments) => size::run(&arguments, &console),
        Command::Route(arguments) => route::run(&arguments, &console),
        Command::Compare(arguments) => compare::run(&arguments, &console),
        Command::Bundle(arguments) => bundle::run(&arguments, &console),
        Command::Exercise(arguments) => exercise::run(&arguments, &console),
        Command::Mark(arguments) => mark::run(&arguments, &console),
        Command::Handover(arguments) => handover::run(&arguments, &console),
        Command::Watch(arguments) => watch::run(&arguments, &console),
        Command::Rules(arguments) => rules::run(&arguments, &console),
        Command::Tidy(arguments) => tidy::run(&arguments, &console),
        Command::Init(arguments) => init::run(&arguments, &console),
        Command::LanguageServer(arguments) => language_server::run(&arguments, &console),
        Command::Completions(arguments) => completions::completions(&arguments, &console),
        Command::Man(arguments) => completions::man(&arguments, &console),
        Command::Licences => licences::run(&console),
    };
    match result {
        Ok(code) => ExitCode::from(code),
        Err(problems) => {
            for problem in &problems {
                console.tell(problem);
            }
            ExitCode::from(FAILED)
        }
    }
}

/// Whether the program was called by its name alone: who does so wants to know what it can do.
fn asks_nothing(error: &clap::Error) -> bool {
    error.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand && std::env::args_os().len() <= 1
}

/// The most threads that are started, whatever the environment asks for.
const MOST_THREADS: usize = 256;

/// Starts the threads that plans are checked by: as many as `RAYON_NUM_THREADS` says, or as the machine has cores, but no more than are of
/// use. Where the system gives none, all is done on this one.
fn ready_threads() {
    let asked = std::env::var("RAYON_NUM_THREADS").ok().and_then(|count| count.parse().ok()).filter(|count| *count > 0);
    let cores = || std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let count = asked.unwrap_or_else(cores).min(MOST_THREADS);
    if rayon::ThreadPoolBuilder::new().num_threads(count).build_global().is_err() {
        // Nothing else starts threads before this; were there some already, they will do.
        let _ = rayon::ThreadPoolBuilder::new().num_threads(1).use_current_thread().build_global();
    }
}

/// What clap says of arguments it can't take, in the form that all else is said in.
fn argument_problem(error: &clap::Error) -> Problem {
    let text = error.render().to_string();
    let mut parts = text.trim().splitn(2, "\n\n");
    let message = parts.next().unwrap_or_default();
    let problem = Problem::of_lines(message.strip_prefix("error: ").unwrap_or(message).to_string());
    match parts.next() {
        Some(rest) => problem.help(rest.to_string()),
        None => problem.help("`layrule --help` shows what can be asked"),
    }
}

/// The built-in rules with those of the named packs.
fn rule_set(files: &[PathBuf]) -> Result<RuleSet, Vec<Problem>> {
    let mut packs = built_in();
    let mut problems = Vec::new();
    for file in files {
        match Disk.read(file) {
            Ok(text) => packs.push(Pack { name: shown(file), text: printable(text) }),
            Err(error) => problems.push(Problem::new(format!("rule pack {}: {error}", shown(file)))),
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    RuleSet::build(packs).map_err(|faults| faults.iter().flat_map(pack_problems).collect())
}
