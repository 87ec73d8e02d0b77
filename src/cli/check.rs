//! `layrule check`: plans in, findings out.

use std::collections::HashMap;
use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::*;
use walkdir::WalkDir;

use super::problem::Problem;
use super::{Console, FAILED, FOUND, SOUND, project_of, rule_set};
use crate::checker::{self, Report};
use crate::finding::Severity;
use crate::model::load::{Library, Loaded};
use crate::report::json::Json;
use crate::report::text::Text;
use crate::report::{Reporter, Summary};
use crate::rules::packs::RuleSet;
use crate::source::{Disk, read_text, tidy_path};

const EXAMPLES: &str = "Examples:
  layrule check plans/                     every plan below a folder
  layrule check bath.lay --fail-on warning fail on warnings too
  layrule check plans/ --rules ours.rule   with rules of your own
  layrule check - < bath.lay               a plan from standard input
  layrule check plans/ --output json       for another program

Exit codes: 0 nothing at or above the failing severity, 1 findings, 2 the check could not be made.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct CheckArguments {
    /// Plans (`.lay`), folders of plans, or `-` for standard input
    #[arg(required = true, value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// A rule pack (`.rule`) to use besides the built-in ones; may be given several times
    #[arg(long, value_name = "FILE")]
    rules: Vec<PathBuf>,
    /// The least severity that fails the run
    #[arg(long, value_enum, default_value_t = FailOn::Error, value_name = "SEVERITY")]
    fail_on: FailOn,
    /// How findings are written
    #[arg(long, value_enum, default_value_t = Output::Text, value_name = "FORM")]
    output: Output,
    /// The day on which deviations are judged to hold; today where not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = parse_date)]
    date: Option<jiff::civil::Date>,
    /// The folder that `use` may not lead out of; the repository that holds the plans, or the current folder, where not given
    #[arg(long, value_name = "FOLDER")]
    project: Option<PathBuf>,
    /// How many plans are checked at a time; as many as the machine has cores where not given
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FailOn {
    Error,
    Warning,
    Note,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Output {
    Text,
    Json,
}

pub(super) fn parse_date(text: &str) -> Result<jiff::civil::Date, String> {
    let date = text.parse().ok().filter(|date: &jiff::civil::Date| date.to_string() == text);
    date.ok_or_else(|| "write year, month and day, such as 2026-11-25".to_string())
}

/// A plan to be checked: how to show it, where it is, and which project it belongs to.
struct Job {
    name: String,
    /// None for standard input.
    path: Option<PathBuf>,
    folder: PathBuf,
    project: PathBuf,
}

/// What came of one job.
enum Done {
    Checked { bytes: Vec<u8>, report: Box<Report> },
    Failed(Problem),
}

/// How many plans are checked before their findings are written.
const BATCH: usize = 256;

pub(super) fn run(arguments: &CheckArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let rules = rule_set(&arguments.rules)?;
    let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let here =
        std::env::current_dir().map_err(|error| vec![Problem::new(format!("there is no current folder: {error}"))])?;
    if let Some(folder) = arguments.project.as_ref().filter(|folder| !folder.is_dir()) {
        return Err(vec![Problem::new(format!("the project {} is no folder", folder.display()))]);
    }
    let (jobs, problems) = find_jobs(&arguments.paths, arguments.project.as_deref(), &here);
    let mut failed = !problems.is_empty();
    problems.iter().for_each(|problem| console.tell(problem));

    let reporter: Box<dyn Reporter> = match arguments.output {
        Output::Text => Box::new(Text { color: console.stdout_color }),
        Output::Json => Box::new(Json),
    };
    let mut libraries: HashMap<&Path, Library<'_>> = HashMap::new();
    for job in &jobs {
        libraries.entry(&job.project).or_insert_with(|| Library::new(&Disk, &job.project, &here));
    }
    let progress = Progress::new(jobs.len());
    let check_one = |job: &Job| match load(job, &libraries[job.project.as_path()]) {
        Ok(loaded) => {
            let report = Box::new(checker::check(loaded, &rules, today));
            progress.advance();
            Done::Checked { bytes: reporter.plan(&report), report }
        }
        Err(problem) => Done::Failed(problem),
    };
    let pool = match arguments.threads {
        None => None,
        Some(threads) => Some(
            rayon::ThreadPoolBuilder::new()
                .num_threads(threads.into())
                .build()
                .map_err(|error| vec![Problem::new(format!("no threads to check with: {error}"))])?,
        ),
    };

    let print = |bytes: &[u8]| console.print(bytes).map_err(|problem| vec![problem]);
    print(reporter.opening().as_bytes())?;
    let mut summary = Summary::default();
    let mut worst: Option<Severity> = None;
    let mut told: Vec<(String, crate::source::Span)> = Vec::new();
    for batch in jobs.chunks(BATCH) {
        let done: Vec<Done> = match (&pool, batch.len()) {
            // One plan is not worth waking other threads for.
            (_, 1) => batch.iter().map(check_one).collect(),
            (Some(pool), _) => pool.install(|| batch.par_iter().map(check_one).collect()),
            (None, _) => batch.par_iter().map(check_one).collect(),
        };
        let mut bytes = Vec::new();
        for one in done {
            match one {
                Done::Checked { bytes: own, report } => {
                    if summary.files > 0 {
                        bytes.extend_from_slice(reporter.between().as_bytes());
                    }
                    bytes.extend(own);
                    summary.add(&report);
                    worst = worst.max(report.worst());
                    failed |= tell_rule_faults(&report, &rules, &mut told, console);
                }
                Done::Failed(problem) => {
                    failed = true;
                    progress.pause(|| console.tell(&problem));
                }
            }
        }
        progress.pause(|| print(&bytes))?;
    }
    progress.finish();
    if summary.files > 0 || arguments.output == Output::Json {
        print(reporter.closing(&summary).as_bytes())?;
    }
    let limit = match arguments.fail_on {
        FailOn::Error => Severity::Error,
        FailOn::Warning => Severity::Warning,
        FailOn::Note => Severity::Note,
    };
    Ok(if failed {
        FAILED
    } else if worst.is_some_and(|worst| worst >= limit) {
        FOUND
    } else {
        SOUND
    })
}

fn load(job: &Job, library: &Library<'_>) -> Result<Loaded, Problem> {
    let at = |error| Problem::new(format!("{}: {error}", job.name));
    match &job.path {
        Some(path) => library.load(path, &job.name).map_err(at),
        None => {
            let text = read_text(std::io::stdin().lock()).map_err(at)?;
            Ok(library.load_text(&job.folder.join("standard input"), &job.name, text))
        }
    }
}

/// Tells, once each, of what rules got wrong; whether there was anything.
fn tell_rule_faults(
    report: &Report,
    rules: &RuleSet,
    told: &mut Vec<(String, crate::source::Span)>,
    console: &Console,
) -> bool {
    for fault in &report.rule_faults {
        let key = (fault.rule.to_string(), fault.span);
        if told.contains(&key) {
            continue;
        }
        told.push(key);
        let pack = &rules.packs[fault.pack];
        let plan = report.sources.get(crate::source::FileId(0)).map_or("", |file| &file.name);
        console.tell(
            &Problem::new(format!("rule `{}` can't be held to {plan}: {}", fault.rule, fault.message))
                .at(&pack.name, &pack.text, fault.span, "here")
                .help("guard it with `where`, or compare without dividing"),
        );
    }
    !report.rule_faults.is_empty()
}

/// The plans that the paths lead to, in order and each once, and what is wrong with the paths.
fn find_jobs(paths: &[PathBuf], project: Option<&Path>, here: &Path) -> (Vec<Job>, Vec<Problem>) {
    let mut jobs: Vec<Job> = Vec::new();
    let mut problems = Vec::new();
    let mut seen = std::collections::HashSet::new();
    let mut add = |jobs: &mut Vec<Job>, shown: &Path, root: &Path| {
        let path = tidy_path(&here.join(shown));
        if seen.insert(path.clone()) {
            let folder = path.parent().unwrap_or(here).to_path_buf();
            jobs.push(Job { name: shown.display().to_string(), path: Some(path), folder, project: root.to_path_buf() });
        }
    };
    let given = project.map(|folder| tidy_path(&here.join(folder)));
    for path in paths {
        if path.as_os_str() == "-" {
            if jobs.iter().any(|job| job.path.is_none()) {
                problems.push(Problem::new("standard input can be read once only").help("name `-` once"));
                continue;
            }
            let project = given.clone().unwrap_or_else(|| project_of(here, here));
            jobs.push(Job { name: "standard input".into(), path: None, folder: here.to_path_buf(), project });
            continue;
        }
        let whole = tidy_path(&here.join(path));
        let is_folder = whole.is_dir();
        let folder = if is_folder { whole.as_path() } else { whole.parent().unwrap_or(here) };
        let root = given.clone().unwrap_or_else(|| project_of(folder, here));
        if !is_folder {
            add(&mut jobs, path, &root);
            continue;
        }
        let before = jobs.len();
        let mut any = false;
        for entry in WalkDir::new(path).sort_by_file_name() {
            match entry {
                Ok(entry)
                    if entry.file_type().is_file()
                        && entry.path().extension().is_some_and(|ending| ending == "lay") =>
                {
                    any = true;
                    add(&mut jobs, entry.path(), &root);
                }
                Ok(_) => {}
                Err(error) => problems.push(Problem::new(format!("{error}"))),
            }
        }
        if !any && jobs.len() == before {
            problems.push(
                Problem::new(format!("{} holds no plan", path.display()))
                    .help("plans are files that end in `.lay`; name the file where it is called otherwise"),
            );
        }
    }
    (jobs, problems)
}

/// A bar on a terminal once a run of many plans has taken more than a second.
struct Progress {
    bar: ProgressBar,
    begun: Instant,
    hidden: AtomicBool,
}

impl Progress {
    fn new(files: usize) -> Self {
        let bar = ProgressBar::with_draw_target(Some(files as u64), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template("checking {wide_bar} {pos} of {len}") {
            bar.set_style(style);
        }
        Progress { bar, begun: Instant::now(), hidden: AtomicBool::new(files > 1 && std::io::stderr().is_terminal()) }
    }

    fn advance(&self) {
        self.bar.inc(1);
        if self.begun.elapsed() > Duration::from_secs(1) && self.hidden.swap(false, Ordering::Relaxed) {
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
    }

    /// Takes the bar away while something else is written.
    fn pause<T>(&self, write: impl FnOnce() -> T) -> T {
        self.bar.suspend(write)
    }

    fn finish(&self) {
        self.bar.finish_and_clear();
    }
}
