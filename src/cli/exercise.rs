//! `layrule exercise`: a sound plan in, broken ones for learners and the key to them out.

use std::path::{Path, PathBuf};

use clap::Args;

use super::new_file::NewFile;
use super::one_plan::HeldTo;
use super::problem::Problem;
use super::{Console, SOUND, one_plan, rule_set};
use crate::exercise::choose::{Asked, Lacking, Level};
use crate::exercise::key::{self, Key, Origin};
use crate::exercise::learners::learners;
use crate::exercise::sound::{Sound, Unsound};
use crate::exercise::{Wanted, exercises, sheet};
use crate::rules::packs::RuleSet;
use crate::source::{Disk, Reader as _, shown, tidy_path};
use crate::text::{counted, nearest};

const EXAMPLES: &str = "Examples:
  layrule exercise bath.lay --output monday                     three mistakes, each in one line
  layrule exercise bath.lay --output monday --count 5 --level hard --seed 7
  layrule exercise bath.lay --output monday --faults spacing,sensor-crossed,rcd
  layrule exercise bath.lay --output class --learners names.txt a folder for each, no two alike

Each learner gets the plan with mistakes that people make, a task sheet to print, and an empty table of findings. What was done, and all that the \
rules find of it, is in the key, which stays with the trainer: `layrule mark` marks what learners make of it. The same seed makes the same \
exercises. Nothing that is there already is written over.

Exit codes: 0 written, 2 nothing written.";

/// The most mistakes that one exercise may have.
const MOST_FAULTS: u64 = 12;

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct ExerciseArguments {
    /// A sound plan (`.lay`), or `-` for standard input
    #[arg(value_name = "FILE")]
    plan: PathBuf,
    /// The folder that the exercises go into; it is made where it isn't there
    #[arg(long, short, value_name = "FOLDER", required = true)]
    output: PathBuf,
    /// One mistake against each of these rules
    #[arg(long, value_name = "RULE", value_delimiter = ',', value_parser = super::values::RuleName, hide_possible_values = true, conflicts_with = "count")]
    faults: Vec<String>,
    /// How many mistakes are made
    #[arg(long, value_name = "NUMBER", default_value_t = 3, value_parser = clap::value_parser!(u64).range(1..=MOST_FAULTS))]
    count: u64,
    /// How hard: `easy` makes mistakes of one line from which little follows, `hard` such as are little, or bring others
    #[arg(long, value_name = "LEVEL", default_value = "easy", value_parser = super::values::word::<Level>("level"))]
    level: Level,
    /// What the mistakes are drawn by; the same number draws the same
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    seed: u64,
    /// A file with the names of learners, one a line: each gets a folder and an exercise
    #[arg(long, value_name = "FILE")]
    learners: Option<PathBuf>,
    /// The file that the key goes into; `key.json` in the output folder where not given
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,
    /// The day on which deviations are judged to hold; today where not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::check::parse_date)]
    date: Option<jiff::civil::Date>,
    #[command(flatten)]
    held: HeldTo,
}

fn one(problem: Problem) -> Vec<Problem> {
    vec![problem]
}

pub(super) fn run(arguments: &ExerciseArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let here = one_plan::here()?;
    let project = arguments.held.project(&arguments.plan, &here)?;
    project.say_notes(console);
    let rules = rule_set(&project.rules.value)?;
    let asked = asked(arguments, &rules)?;
    let class = match &arguments.learners {
        Some(file) => class(&here.join(file), &shown(file)).map_err(one)?,
        None => Vec::new(),
    };
    let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let loaded = one_plan::load(&arguments.plan, &project, &here).map_err(one)?;
    let sound = Sound::new(loaded, &rules, today).map_err(|why| one(unsound(&arguments.plan, &why)))?;
    let origin = Origin { sound: &sound, rules: &rules, today, seed: arguments.seed };
    let wanted = Wanted { asked, level: arguments.level, learners: class };
    let key = exercises(origin, &wanted).map_err(|why| one(lacking(&arguments.plan, &why)))?;
    let files = files(arguments, &key, &here).map_err(one)?;
    let there: Vec<Problem> = files.iter().filter_map(|file| file.there()).collect();
    if !there.is_empty() {
        return Err(there);
    }
    for file in &files {
        file.write().map_err(one)?;
    }
    let written = files.last().map(|file| file.shown.clone()).unwrap_or_default();
    console.say(&format!(
        "{} with {} each written to {}; the key is {written}\n",
        counted(key.exercises.len(), "exercise"),
        counted(key.exercises.first().map_or(0, |first| first.faults.len()), "mistake"),
        shown(&arguments.output)
    ));
    Ok(SOUND)
}

/// Which mistakes are asked for.
fn asked(arguments: &ExerciseArguments, rules: &RuleSet) -> Result<Asked, Vec<Problem>> {
    if arguments.faults.is_empty() {
        return Ok(Asked::Count(usize::try_from(arguments.count).unwrap_or(1)));
    }
    let mut problems = Vec::new();
    let mut asked: Vec<String> = Vec::new();
    for name in &arguments.faults {
        let on = rules.rule(name).is_some_and(|rule| rule.severity.is_some());
        let known = || rules.rules.iter().filter(|rule| rule.severity.is_some()).map(|rule| &*rule.name);
        match (on, nearest(name, known())) {
            (true, _) if asked.contains(name) => {}
            (true, _) => asked.push(name.clone()),
            (false, Some(near)) => {
                problems.push(
                    Problem::new(format!("no rule in force is called `{name}`"))
                        .help(format!("did you mean `{near}`?")),
                );
            }
            (false, None) => problems.push(
                Problem::new(format!("no rule in force is called `{name}`")).help("`layrule rules` lists the rules"),
            ),
        }
    }
    if asked.len() as u64 > MOST_FAULTS {
        problems.push(Problem::new(format!(
            "{} mistakes are asked for, and an exercise has {MOST_FAULTS} at the most",
            asked.len()
        )));
    }
    if problems.is_empty() { Ok(Asked::Rules(asked)) } else { Err(problems) }
}

fn class(path: &Path, name: &str) -> Result<Vec<crate::exercise::learners::Learner>, Problem> {
    let text = Disk.read(path).map_err(|error| Problem::new(format!("learners {name}: {error}")))?;
    learners(&text).map_err(|why| Problem::new(format!("learners {name}: {why}")))
}

fn unsound(plan: &Path, why: &Unsound) -> Problem {
    let problem = Problem::new(format!("{} is no ground for exercises: {why}", shown(plan)));
    problem.help(match why {
        Unsound::Found(_) => {
            "an exercise begins with a plan in which nothing is wrong; `layrule check` shows it in full"
        }
        Unsound::Scattered => "write what it uses into the plan itself",
        Unsound::Empty => "draw a `room` with a cable",
    })
}

fn lacking(plan: &Path, why: &Lacking) -> Problem {
    let plan = shown(plan);
    match why {
        Lacking::Rule(rule) => Problem::new(format!("no mistake that people make in {plan} is found by `{rule}`"))
            .help("ask for another rule, or begin with a plan that has what the rule speaks of"),
        Lacking::Count(count) => Problem::new(format!(
            "{} of that level can be made in {plan} so that they are told apart",
            counted(*count, "mistake")
        ))
        .help("ask for fewer, for the other level, or draw by another `--seed`"),
        Lacking::Together => Problem::new(format!("the mistakes asked for can't be told apart in {plan}"))
            .help("ask for fewer, for other rules, or draw by another `--seed`"),
    }
}

/// A file of an exercise that is to be written.
struct Written {
    path: PathBuf,
    shown: String,
    bytes: Vec<u8>,
}

impl Written {
    fn new(here: &Path, path: &Path, bytes: impl Into<Vec<u8>>) -> Self {
        Written { path: tidy_path(&here.join(path)), shown: shown(path), bytes: bytes.into() }
    }

    /// What is wrong where something is there already.
    fn there(&self) -> Option<Problem> {
        self.path.symlink_metadata().is_ok().then(|| {
            Problem::new(format!("{} is there already", self.shown))
                .help("nothing was written; name another folder, or take the files away")
        })
    }

    fn write(&self) -> Result<(), Problem> {
        if let Some(folder) = self.path.parent() {
            std::fs::create_dir_all(folder).map_err(|error| {
                Problem::new(format!("{} can't be written: its folder can't be made: {error}", self.shown))
            })?;
        }
        let mut file = NewFile::fresh(&self.path, &self.shown)?;
        file.write(&self.bytes)?;
        file.finish()
    }
}

/// What learners' plans are called: as the sound plan is.
fn plan_name(sound: &str) -> String {
    let stem = Path::new(sound).file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    let plain: String = stem.chars().filter(|c| c.is_alphanumeric() || matches!(c, '-' | '_')).collect();
    if plain.is_empty() || sound == "standard input" { "plan.lay".into() } else { format!("{plain}.lay") }
}

/// All files of some exercises; the key comes last.
fn files(arguments: &ExerciseArguments, key: &Key, here: &Path) -> Result<Vec<Written>, Problem> {
    let plan = plan_name(&key.plan.name);
    let mut files = Vec::new();
    for exercise in &key.exercises {
        let folder = match &exercise.folder {
            Some(own) => arguments.output.join(own),
            None => arguments.output.clone(),
        };
        let page = sheet::sheet(exercise, &plan)
            .map_err(|why| Problem::new(format!("the task sheet of exercise {} can't be made: {why}", exercise.id)))?;
        files.push(Written::new(here, &folder.join(&plan), exercise.text.as_str()));
        files.push(Written::new(here, &folder.join("task.html"), page));
        files.push(Written::new(here, &folder.join("findings.csv"), sheet::table(exercise)));
    }
    let mut bytes =
        serde_json::to_vec_pretty(key).map_err(|error| Problem::new(format!("the key can't be written: {error}")))?;
    bytes.push(b'\n');
    if bytes.len() as u64 > key::LARGEST {
        return Err(Problem::new("the key would be larger than a key may be")
            .help("share the class among several files of names"));
    }
    let path = arguments.key.clone().unwrap_or_else(|| arguments.output.join("key.json"));
    files.push(Written::new(here, &path, bytes));
    match files.iter().enumerate().find(|(at, file)| files[..*at].iter().any(|other| other.path == file.path)) {
        Some((_, twice)) => {
            Err(Problem::new(format!("{} would be written twice", twice.shown)).help("name another file for the key"))
        }
        None => Ok(files),
    }
}
