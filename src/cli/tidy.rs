//! `layrule tidy`: plans and rule packs in their canonical form.

use std::io::Write as _;
use std::path::PathBuf;
use std::sync::Arc;

use clap::{Args, ValueEnum};
use rayon::prelude::*;
use similar::TextDiff;

use super::jobs::{Job, Named, find_jobs};
use super::new_file::NewFile;
use super::problem::Problem;
use super::settings::{Overrides, Projects};
use super::{Console, FAILED, FOUND, SOUND};
use crate::finding::{Finding, ids};
use crate::language::faults::SyntaxFault;
use crate::layout;
use crate::report::text::Text;
use crate::rules;
use crate::source::{Disk, Place, Reader as _, SourceFile, Sources, lines_as_counted, printable, read_text};
use crate::text::counted;

const EXAMPLES: &str = "Examples:
  layrule tidy plans/                      every plan and rule pack below a folder
  layrule tidy bath.lay ours.rule          these two
  layrule tidy plans/ --check              change nothing, show what would be; for CI
  layrule tidy - < bath.lay                from standard input to standard output
  layrule tidy - --language rules < ours.rule

A file that can't be read as its language is left as it is.

Exit codes: 0 done, 1 a file can't be read as its language or, with `--check`, isn't tidy, 2 a file could not be read or written.";

/// How many faults of one file are shown; `layrule check` shows them all.
const MOST_SHOWN: usize = 10;

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct TidyArguments {
    /// Plans (`.lay`), rule packs (`.rule`), folders of them, or `-` for standard input
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// Change no file; show what would be changed, and fail where anything would
    #[arg(long)]
    check: bool,
    /// The language of standard input
    #[arg(long, value_enum, default_value_t = Language::Plan)]
    language: Language,
    /// Files to leave out of folders, as in `.gitignore`, from the current folder; may be given several times
    #[arg(long, value_name = "GLOB")]
    leave_out: Vec<String>,
    /// Leave out files that are named too, where they are left out of their folders: for hooks, which name every file
    #[arg(long)]
    leave_out_named: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Language {
    Plan,
    Rules,
}

/// The endings of files that have a canonical form.
const ENDINGS: &[&str] = &["lay", "rule"];

/// A file's text and, where all of it could be read, its canonical form.
struct Done {
    text: String,
    tidied: Result<String, Vec<SyntaxFault>>,
}

pub(super) fn run(arguments: &TidyArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let one = |problem| vec![problem];
    let here =
        std::env::current_dir().map_err(|error| one(Problem::new(format!("there is no current folder: {error}"))))?;
    let overrides = Overrides { leave_out: arguments.leave_out.clone(), ..Overrides::default() };
    let mut projects = Projects::new(overrides, &here);
    let named = Named { leave_out: arguments.leave_out_named, affected: false };
    let (jobs, problems) = find_jobs(&arguments.paths, ENDINGS, named, &mut projects, &here);
    if !projects.problems.is_empty() {
        return Err(projects.problems);
    }
    projects.say_notes(console);
    let mut failed = !problems.is_empty();
    problems.iter().for_each(|problem| console.tell(problem));
    let done: Vec<Result<Done, Problem>> = jobs.par_iter().map(|job| tidy(job, arguments.language)).collect();
    let (mut changed, mut faulty) = (0, 0);
    for (job, done) in jobs.iter().zip(done) {
        let outcome = done.and_then(|Done { text, tidied }| {
            let (after, sound) = match tidied {
                Ok(tidied) => (tidied, true),
                Err(faults) => {
                    tell_faults(&job.name, &printable(text.clone()), &faults, console);
                    (text.clone(), false)
                }
            };
            faulty += usize::from(!sound);
            let differs = after != text;
            let done = match &job.path {
                _ if arguments.check => {
                    console.print(difference(&job.name, &text, &after, console.stdout_color).as_bytes())
                }
                // Standard output takes the place of the file that standard input is.
                None => console.print(after.as_bytes()),
                Some(_) if after == text => Ok(()),
                Some(path) => NewFile::replace(path, &job.name, &text).and_then(|mut file| {
                    file.write(after.as_bytes())?;
                    file.finish()
                }),
            };
            // What could not be written was not changed.
            changed += usize::from(differs && done.is_ok());
            done
        });
        if let Err(problem) = outcome {
            failed = true;
            console.tell(&problem);
        }
    }
    let done = if arguments.check { "would be changed" } else { "changed" };
    let mut closing = format!("{} looked at, {changed} {done}", counted(jobs.len(), "file"));
    if faulty > 0 {
        closing.push_str(&format!("; {faulty} left alone, since not all of it can be read"));
    }
    console.say(&format!("{closing}\n"));
    Ok(match (failed, faulty > 0 || (arguments.check && changed > 0)) {
        (true, _) => FAILED,
        (false, true) => FOUND,
        (false, false) => SOUND,
    })
}

fn tidy(job: &Job, asked: Language) -> Result<Done, Problem> {
    let read = match &job.path {
        Some(path) => Disk.read(path),
        None => read_text(std::io::stdin().lock()),
    };
    let text = read.map_err(|error| Problem::new(format!("{}: {error}", job.name)))?;
    let language = match &job.path {
        Some(path) if path.extension().is_some_and(|ending| ending == "rule") => Language::Rules,
        Some(_) => Language::Plan,
        None => asked,
    };
    let tidied = match language {
        Language::Plan => layout::tidy::tidy(&text),
        Language::Rules => rules::tidy::tidy(&text),
    };
    Ok(Done { text, tidied })
}

fn tell_faults(name: &str, text: &str, faults: &[SyntaxFault], console: &Console) {
    let mut sources = Sources::default();
    let file = sources.add(Arc::new(SourceFile::new(name, name, text)));
    let told = faults.iter().take(MOST_SHOWN).map(|fault| {
        let place = Place { file, span: fault.span };
        let finding = Finding::reading(ids::SYNTAX, fault.message.clone(), place, fault.label.clone());
        match &fault.help {
            Some(help) => finding.advise(help.clone()),
            None => finding,
        }
    });
    let told: Vec<Finding> = told.collect();
    let text = Text { color: console.stderr_color, width: console.width, quiet: false };
    // There is no one left to tell where standard error is gone.
    let _ = std::io::stderr().write_all(&text.show(&told, &sources));
    if let Some(more) = faults.len().checked_sub(MOST_SHOWN).filter(|more| *more > 0) {
        console.say(&format!("{name}: {more} more; `layrule check` shows them all\n"));
    }
}

/// What changes, as a unified diff; nothing where nothing does.
pub(super) fn difference(name: &str, before: &str, after: &str, color: bool) -> String {
    let difference = TextDiff::from_lines(before, after);
    let unified = difference.unified_diff().context_radius(3).header(name, name).to_string();
    let unified = lines_as_counted(&printable(unified)).into_owned();
    if !color {
        return unified;
    }
    let paint = |line: &str| match line.as_bytes().first() {
        Some(b'+') => format!("\x1b[32m{line}\x1b[0m\n"),
        Some(b'-') => format!("\x1b[31m{line}\x1b[0m\n"),
        Some(b'@') => format!("\x1b[36m{line}\x1b[0m\n"),
        _ => format!("{line}\n"),
    };
    unified.lines().map(paint).collect()
}
