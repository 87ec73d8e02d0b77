//! `layrule mark`: answers and the key to their exercises in, marks out.

use std::path::{Path, PathBuf};

use clap::Args;

use super::new_file::Ground;
use super::one_plan::HeldTo;
use super::outputs::open_sinks;
use super::problem::Problem;
use super::{Console, FOUND, SOUND, one_plan, rule_set};
use crate::exercise::key::{self, Key, LARGEST, rules_fingerprint};
use crate::marking::hints::Hint;
use crate::marking::outputs::write;
use crate::marking::scheme::Scheme;
use crate::marking::table::is_blank;
use crate::marking::{Answer, Content, MarkedBy, mark};
use crate::report::Target;
use crate::source::{Disk, Reader as _, ends_in, in_git, read_at_most, shown, tidy_path};
use crate::takeoff::outputs::Form;

const EXAMPLES: &str = "Examples:
  layrule mark bath.lay --key monday/key.json            one mended plan
  layrule mark answers/ --key class/key.json             all of a class: plans (.lay) and tables (.csv)
  layrule mark answers/ --key class/key.json --output text --output csv=marks.csv
  layrule mark bath.lay --key monday/key.json --hint 2   what is still there, and where
  layrule mark answers/ --key class/key.json --scheme ours.toml

A mended plan is held to the rules and compared with the key by rule and thing, wherever the lines stand and whatever the file is called. A table \
names the line and the rule of each mistake. What was taken away instead of mended, agreed to, newly made or changed for nothing is told apart.

Exit codes: 0 all answers marked, 1 some could not be and the others were, 2 nothing was marked.";

/// The most answers that are marked at once.
const MOST_ANSWERS: usize = 2_000;

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct MarkArguments {
    /// Answers: mended plans (`.lay`), tables of findings (`.csv`), or folders of them
    #[arg(value_name = "ANSWER", required = true)]
    answers: Vec<PathBuf>,
    /// The key that the exercises were written with
    #[arg(long, value_name = "FILE", required = true)]
    key: PathBuf,
    /// A file (TOML) that says what everything is worth
    #[arg(long, value_name = "FILE")]
    scheme: Option<PathBuf>,
    /// Tell what is still there: `1` why its rule is kept, `2` where it is too, `3` what to do too
    #[arg(long, value_name = "DEGREE", value_parser = super::values::word::<Hint>("degree of a hint"))]
    hint: Option<Hint>,
    /// An output and, after `=`, its file; may be given several times; one of them may go to standard output
    #[arg(long, value_name = "FORM[=FILE]", value_parser = super::values::outputs::<Form>())]
    output: Vec<Target<Form>>,
    #[command(flatten)]
    held: HeldTo,
}

fn one(problem: Problem) -> Vec<Problem> {
    vec![problem]
}

pub(super) fn run(arguments: &MarkArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let here = one_plan::here()?;
    // What holds for plans that lie beside the key holds for the answers, wherever they were sent from.
    let project = arguments.held.project(&arguments.key, &here)?;
    project.say_notes(console);
    let rules = rule_set(&project.rules.value)?;
    let key = read_key(&arguments.key, &here).map_err(one)?;
    let today = key.date.parse().map_err(|_| one(bad_key(&arguments.key, "its date is none")))?;
    let scheme = match &arguments.scheme {
        Some(file) => read_scheme(file, &here).map_err(one)?,
        None => Scheme::default(),
    };
    if rules_fingerprint(&rules) != key.rules {
        console.say("the exercises were made by other rules than those in force now; the answers are held to these\n");
    }
    let files = answers(arguments, &here)?;
    let mut inputs: Vec<PathBuf> = files.iter().map(|file| here.join(file)).collect();
    inputs.push(here.join(&arguments.key));
    inputs.extend(arguments.scheme.iter().map(|file| here.join(file)));
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let text = [Target { form: Form::Text, file: None }];
    let targets = if arguments.output.is_empty() { &text[..] } else { &arguments.output };
    let sinks = open_sinks(targets, &ground)?;
    let answers: Vec<Answer> = files.iter().map(|file| read_answer(file, &here)).collect();
    let by = MarkedBy { key: &key, rules: &rules, today, scheme: &scheme, hint: arguments.hint };
    let class = mark(&answers, by);
    for (target, sink) in targets.iter().zip(sinks) {
        let width = if target.file.is_none() { console.width } else { None };
        sink.put(&write(&class, target.form, width), console).map_err(one)?;
    }
    Ok(if class.unmarked() > 0 { FOUND } else { SOUND })
}

fn bad_key(file: &Path, why: &str) -> Problem {
    Problem::new(format!("the key {} can't be used: {why}", shown(file)))
        .help("name the key that `layrule exercise` wrote with these exercises")
}

fn read_key(file: &Path, here: &Path) -> Result<Key, Problem> {
    let bytes = read_at_most(&here.join(file), LARGEST).map_err(|error| bad_key(file, &error.to_string()))?;
    if bytes.len() as u64 > LARGEST {
        return Err(bad_key(file, &format!("it is larger than {} MiB", LARGEST / 1024 / 1024)));
    }
    let text = String::from_utf8(bytes).map_err(|_| bad_key(file, "it is no UTF-8 text"))?;
    key::read(&text).map_err(|why| bad_key(file, &why))
}

fn read_scheme(file: &Path, here: &Path) -> Result<Scheme, Problem> {
    let refused = |why: &str| {
        Problem::new(format!("the scheme {} can't be used: {why}", shown(file)))
            .help("it says what things are worth, such as `mended = 2` or `needless = -0.5`, a line each")
    };
    let text = Disk.read(&here.join(file)).map_err(|error| refused(&error.to_string()))?;
    Scheme::read(&text).map_err(|why| refused(&why))
}

/// The most files and folders that are met on the way to the answers of a folder.
const MOST_MET: usize = 50_000;

/// The files of the answers, those of folders in the order of their names; links in folders are not followed.
fn answers(arguments: &MarkArguments, here: &Path) -> Result<Vec<PathBuf>, Vec<Problem>> {
    let mut files: Vec<PathBuf> = Vec::new();
    let mut problems = Vec::new();
    for path in &arguments.answers {
        if !here.join(path).is_dir() {
            files.push(path.clone());
            continue;
        }
        let walk = walkdir::WalkDir::new(here.join(path)).sort_by_file_name().into_iter();
        let walk = walk.filter_entry(|entry| entry.depth() == 0 || !in_git(Path::new(entry.file_name())));
        let met = walk.take(MOST_MET).filter_map(Result::ok).filter(|entry| entry.file_type().is_file());
        // What lies in a folder and is no answer, such as a task sheet or a table that nobody filled in, is passed over.
        let blank = |file: &Path| ends_in(file, "csv") && Disk.read(file).is_ok_and(|text| is_blank(&text));
        let found = met.map(walkdir::DirEntry::into_path).filter(|file| ends_in(file, "lay") || ends_in(file, "csv"));
        let before = files.len();
        files.extend(found.filter(|file| !blank(file)).take(MOST_ANSWERS + 1).map(|file| {
            match file.strip_prefix(here.join(path)) {
                Ok(below) => path.join(below),
                Err(_) => file,
            }
        }));
        if files.len() == before {
            let problem = Problem::new(format!("{} holds no answer", shown(path)));
            problems.push(problem.help("answers are mended plans (`.lay`) or tables of findings (`.csv`)"));
        }
    }
    // A file that was named twice is one answer.
    let mut known: std::collections::HashSet<PathBuf> = std::collections::HashSet::new();
    files.retain(|file| known.insert(tidy_path(&here.join(file))));
    if files.len() > MOST_ANSWERS {
        let problem =
            Problem::new(format!("there are more than {MOST_ANSWERS} answers, the most that are marked at once"));
        problems.push(problem.help("name some of their folders at a time"));
    }
    if problems.is_empty() { Ok(files) } else { Err(problems) }
}

fn read_answer(file: &Path, here: &Path) -> Answer {
    let is_table = ends_in(file, "csv");
    let content = match (is_table, ends_in(file, "lay")) {
        (false, false) => Err("it is neither a plan (`.lay`) nor a table (`.csv`)".to_string()),
        _ => Disk.read(&here.join(file)).map_err(|error| error.to_string()).map(|text| match is_table {
            true => Content::Table(text),
            false => Content::Plan(text),
        }),
    };
    Answer { file: shown(file), content }
}
