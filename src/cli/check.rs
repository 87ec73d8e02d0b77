//! `layrule check`: plans in, findings out.

mod bundled;

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::io::IsTerminal as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use clap::{Args, ValueEnum};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rayon::prelude::*;

use super::apply::apply;
use super::jobs::{CheckedBy, Job, Named, find_jobs, inputs, rule_sets};
use super::new_file::{Ground, NewFile};
use super::outputs::{self, Held, Outputs};
use super::problem::Problem;
use super::settings::{Overrides, Project, Projects, fault_problem};
use super::values::{RuleName, outputs as outputs_of};
use super::{Console, FAILED, FOUND, SOUND};
use crate::bundle::ENDING;
use crate::checker::{self, Report};
use crate::finding::Severity;
use crate::known::Known;
use crate::model::load::Library;
use crate::report::text::Text;
use crate::report::{Form, Reporter as _, Summary, Target};
use crate::rules::packs::RuleSet;
use crate::source::{Disk, Reader as _, ends_in, one_line, printable, shown};
use crate::text::{counted, list, nearest, quoted};

const EXAMPLES: &str = "Examples:
  layrule check plans/                      every plan below a folder
  layrule check bath.lay --fail-on warning  fail on warnings too
  layrule check bath.lay --whole            fail where a rule could not be held, too
  layrule check plans/ --rules ours.rule    with rules of your own
  layrule check - < bath.lay                a plan from standard input
  layrule check bath.laybundle              what `layrule bundle` wrote
  layrule check plans/ --rule crossing      the findings of one rule
  layrule check plans/ --output text --output sarif=findings.sarif
                                            for a person, and for a code host
  layrule check plans/ --record-known known.toml
                                            take today's findings as known
  layrule check plans/ --known known.toml   report only new ones
  layrule check plans/ --trust-project      write the outputs that layrule.toml names too
  layrule check plans/ --apply --dry-run    what could be put right by itself; without
                                            --dry-run it is
  layrule check plans/ --show-settings      what holds, and where it comes from

The outputs: `text` for a person, `json` and `json-lines` for programs, `sarif` (SARIF 2.1.0) for code hosts, \
`junit` and `checkstyle` for build servers, `markdown` for a merge request, `github` for GitHub's log, `gitlab` for \
GitLab's code quality. A `layrule.toml` in the project's folder holds settings; \
what the command line gives holds in place of them. Files are written where the command line says so, \
and where a trusted project file does.

Exit codes: 0 nothing at or above the failing severity, 1 findings or, with `--whole`, rules not checked, 2 the check could not be made, 130 ended by Ctrl-C.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct CheckArguments {
    /// Plans (`.lay`), folders of plans, or `-` for standard input; or bundles (`.laybundle`)
    #[arg(required_unless_present = "show_settings", value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// A rule pack (`.rule`), or a folder of them, to use besides the built-in ones; may be given several times
    #[arg(long, value_name = "FILE")]
    rules: Vec<PathBuf>,
    /// The least severity that fails the run; `error` where nothing else is said
    #[arg(long, value_enum, value_name = "SEVERITY")]
    fail_on: Option<FailOn>,
    /// Fail a plan, too, on which some rule could not be held
    #[arg(long)]
    whole: bool,
    /// Plans to leave out of folders, as in `.gitignore`, from the current folder; may be given several times
    #[arg(long, value_name = "GLOB")]
    leave_out: Vec<String>,
    /// Leave out plans that are named too, where they are left out of their folders: for hooks, which name every file
    #[arg(long)]
    leave_out_named: bool,
    /// Check all plans that a named file touches: those that use it; of a rule pack or a project file, all of its project: for hooks
    #[arg(long)]
    affected: bool,
    /// An output and, after `=`, its file; may be given several times; one of them may go to standard output
    #[arg(long, value_name = "FORM[=FILE]", value_parser = outputs_of::<Form>())]
    output: Vec<Target>,
    /// The file of the one output that names none
    #[arg(long, value_name = "FILE")]
    output_file: Option<PathBuf>,
    /// Report the findings of this rule alone, and what can't be read; may be given several times
    #[arg(long, value_name = "NAME", value_parser = RuleName, hide_possible_values = true)]
    rule: Vec<String>,
    /// Leave the findings of this rule out; may be given several times
    #[arg(long, value_name = "NAME", value_parser = RuleName, hide_possible_values = true, conflicts_with = "rule")]
    no_rule: Vec<String>,
    /// Known findings, which are not reported again
    #[arg(long, value_name = "FILE")]
    known: Option<PathBuf>,
    /// Write what is found into a file of known findings, rather than report it
    #[arg(long, value_name = "FILE", conflicts_with_all = ["known", "rule", "no_rule"])]
    record_known: Option<PathBuf>,
    /// Make the changes that findings carry, in the plans themselves, where they leave fewer findings; then check
    #[arg(long, conflicts_with_all = ["show_settings", "rule", "no_rule"])]
    apply: bool,
    /// With `--apply`: change no file, and show what would be changed in place of what is found
    #[arg(long, requires = "apply", conflicts_with_all = ["output", "output_file", "record_known"])]
    dry_run: bool,
    /// Say what holds for these plans and where it comes from, and check nothing
    #[arg(long)]
    show_settings: bool,
    /// The day on which deviations are judged to hold; today where not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = parse_date)]
    date: Option<jiff::civil::Date>,
    /// The project's folder, which `use` may not lead out of; found upwards from each plan where not given
    #[arg(long, value_name = "FOLDER")]
    project: Option<PathBuf>,
    /// Write the files too that the project file names as outputs, since you trust whoever wrote it and its rule packs
    #[arg(long)]
    trust_project: bool,
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

impl From<FailOn> for Severity {
    fn from(word: FailOn) -> Severity {
        match word {
            FailOn::Error => Severity::Error,
            FailOn::Warning => Severity::Warning,
            FailOn::Note => Severity::Note,
        }
    }
}

pub(super) fn parse_date(text: &str) -> Result<jiff::civil::Date, String> {
    let date = text.parse().ok().filter(|date: &jiff::civil::Date| date.to_string() == text);
    date.ok_or_else(|| "write year, month and day, such as 2026-11-25".to_string())
}

/// What came of one job.
enum Done {
    Checked { bytes: Vec<Vec<u8>>, report: Box<Report>, known: Known },
    Failed(Problem),
}

/// How many plans are checked before their findings are written.
const BATCH: usize = 256;

pub(super) fn run(arguments: &CheckArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let one = |problem| vec![problem];
    let here =
        std::env::current_dir().map_err(|error| one(Problem::new(format!("there is no current folder: {error}"))))?;
    if arguments.paths.iter().any(|path| ends_in(path, ENDING)) {
        return bundled::run(arguments, console, &here);
    }
    let mut projects = Projects::new(overrides(arguments).map_err(one)?, &here);
    let paths = if arguments.paths.is_empty() { &[PathBuf::from(".")][..] } else { &arguments.paths };
    let named = Named { leave_out: arguments.leave_out_named, affected: arguments.affected };
    let (jobs, problems) = find_jobs(paths, &["lay"], named, &mut projects, &here);
    if projects.list.is_empty() {
        projects.of(&here);
    }
    if !projects.problems.is_empty() {
        return Err(projects.problems);
    }
    projects.say_notes(console);
    if arguments.show_settings {
        console.print(projects.show().as_bytes()).map_err(one)?;
        return Ok(SOUND);
    }
    let rules = rule_sets(&projects)?;
    let notes: BTreeSet<&String> = rules.iter().flat_map(|set| &set.notes).collect();
    notes.into_iter().for_each(|note| console.say(&format!("{note}\n")));
    let selection = Selection { only: &arguments.rule, without: &arguments.no_rule };
    selection.hold_to(&rules)?;
    let selected = |rule: &str| selection.holds(rule);
    let known = known_findings(arguments, &projects, &rules, console)?;
    let held: Vec<Held<'_>> = projects
        .list
        .iter()
        .zip(&rules)
        .map(|(project, rules)| Held { rules, fail_on: project.fail_on.value, selected: &selected })
        .collect();
    let targets = match projects.list.as_slice() {
        [project] => {
            say_unwritten(project, console);
            project.outputs.value.clone()
        }
        // Several projects may ask for several things; what the command line asks for is the same for all.
        many if !arguments.output.is_empty() || arguments.output_file.is_some() => many[0].outputs.value.clone(),
        _ => vec![Target { form: Form::Text, file: None }],
    };
    // Everything that will be written is begun before anything is checked, so that it isn't checked in vain.
    let mut inputs = inputs(&jobs, &projects, &here);
    let ground = Ground { here: &here, inputs: &inputs, project: None };
    let record =
        arguments.record_known.as_deref().map(|file| NewFile::create(file, &ground)).transpose().map_err(one)?;
    // Known findings are written anew, but never over by something else.
    inputs.extend(
        arguments
            .record_known
            .iter()
            .chain(projects.list.iter().filter_map(|one| one.known.value.as_ref()))
            .map(|file| here.join(file)),
    );
    let asks = match projects.list.as_slice() {
        [project] if project.asks_for_outputs() => Some(project.folder.as_path()),
        _ => None,
    };
    let ground = Ground { here: &here, inputs: &inputs, project: asks };
    let outputs = Outputs::open(&targets, &held, &ground, console)?;
    let mut unchanged = Vec::new();
    if arguments.apply {
        let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
        let setting = CheckedBy { projects: &projects, rules: &rules, today, here: &here };
        unchanged = apply(&jobs, &setting, arguments.dry_run, console).err().unwrap_or_default();
        if arguments.dry_run {
            let failed = !problems.is_empty() || !unchanged.is_empty();
            problems.iter().chain(&unchanged).for_each(|problem| console.tell(problem));
            return Ok(if failed { FAILED } else { SOUND });
        }
    }
    let mut check = Check {
        arguments,
        console,
        jobs: &jobs,
        projects: &projects,
        rules: &rules,
        known: &known,
        selection,
        found: vec![Known::default(); projects.list.len()],
        summary: Summary::default(),
        fails: false,
        failed: false,
        unread: HashSet::new(),
        told: Vec::new(),
        unrecorded: BTreeMap::new(),
    };
    problems.into_iter().chain(unchanged).for_each(|problem| check.fail(problem));
    let outputs = check.all(outputs, &here)?;
    check.note_gone();
    let silent = outputs.silent();
    outputs.close(&check.summary)?;
    if silent {
        console.say(&Text { quiet: console.quiet, ..Text::default() }.closing(&check.summary));
    }
    if let Some(file) = record {
        check.record(file)?;
    }
    Ok(match (check.failed, check.fails) {
        (true, _) => FAILED,
        (false, true) => FOUND,
        (false, false) => SOUND,
    })
}

fn overrides(arguments: &CheckArguments) -> Result<Overrides, Problem> {
    if let Some(folder) = arguments.project.as_ref().filter(|folder| !folder.is_dir()) {
        return Err(Problem::new(format!("the project {} is no folder", shown(folder))));
    }
    Ok(Overrides {
        project: arguments.project.clone(),
        rules: arguments.rules.clone(),
        fail_on: arguments.fail_on.map(Severity::from),
        whole: arguments.whole,
        leave_out: arguments.leave_out.clone(),
        outputs: outputs::asked(&arguments.output, arguments.output_file.as_deref())?,
        known: arguments.known.clone(),
        trust_project: arguments.trust_project,
    })
}

/// Says which outputs of a project file are not written, and how they would be.
fn say_unwritten(project: &Project, console: &Console) {
    if !project.unwritten.is_empty() {
        let names: Vec<String> = project.unwritten.iter().map(ToString::to_string).collect();
        let names = quoted(names.iter().map(String::as_str), "and");
        let by = &project.outputs.origin;
        console.say(&format!("{by}: {names} not written; `--trust-project` writes what a project file names\n"));
    }
}

/// The known findings of each project; for a file that is about to be recorded, those that stand in it.
fn known_findings(
    arguments: &CheckArguments,
    projects: &Projects<'_>,
    rules: &[Arc<RuleSet>],
    console: &Console,
) -> Result<Vec<Known>, Vec<Problem>> {
    if projects.list.len() > 1 && (arguments.known.is_some() || arguments.record_known.is_some()) {
        return Err(vec![
            Problem::new("known findings are those of one project, and these plans belong to several")
                .help("check each project by itself, or name the folder that holds all of them with `--project`"),
        ]);
    }
    let mut problems = Vec::new();
    let mut all = Vec::new();
    for (project, rules) in projects.list.iter().zip(rules) {
        let file = match &arguments.record_known {
            Some(file) => Some(file).filter(|file| file.exists()),
            None => project.known.value.as_ref(),
        };
        let mut known = Known::default();
        if let Some(file) = file {
            let name = shown(file);
            match Disk.read(file).map(printable) {
                Ok(text) => match Known::parse(&text) {
                    Ok(parsed) => {
                        known = parsed;
                        let binds = |rule: &str| rules.rule(rule).is_some_and(|rule| rule.binding);
                        let taken = known.take_binding(binds);
                        if !taken.is_empty() {
                            console.say(&format!("{name}: not heeded: {}\n", bound(&taken)));
                        }
                    }
                    Err(fault) => problems.push(fault_problem(&name, &text, &fault)),
                },
                Err(error) => problems.push(
                    Problem::new(format!("known findings {name}: {error}"))
                        .help("`--record-known` with that name writes what is found today into it"),
                ),
            }
        }
        all.push(known);
    }
    if problems.is_empty() { Ok(all) } else { Err(problems) }
}

/// The rules whose findings are asked for. All are held, so that what findings advise was tried on the whole plan.
#[derive(Clone, Copy)]
struct Selection<'a> {
    /// These alone, where there are any.
    only: &'a [String],
    /// None of these.
    without: &'a [String],
}

impl Selection<'_> {
    fn holds(&self, rule: &str) -> bool {
        (self.only.is_empty() || self.only.iter().any(|own| own == rule)) && !self.without.iter().any(|own| own == rule)
    }

    /// Whether each is a rule of some project.
    fn hold_to(&self, rules: &[Arc<RuleSet>]) -> Result<(), Vec<Problem>> {
        let unknown =
            self.only.iter().chain(self.without).filter(|name| rules.iter().all(|set| set.rule(name).is_none()));
        let problems: Vec<Problem> = unknown
            .map(|name| {
                let all = rules.iter().flat_map(|set| set.rules.iter().map(|rule| &*rule.name));
                let help = match nearest(name, all) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "`layrule rules` lists the rules there are".to_string(),
                };
                Problem::new(format!("no rule is called `{name}`")).help(help)
            })
            .collect();
        if problems.is_empty() { Ok(()) } else { Err(problems) }
    }

    /// Leaves nothing in a report of rules that are not asked for. What can't be read stays.
    fn narrow(&self, report: &mut Report, rules: &RuleSet) {
        if self.only.is_empty() && self.without.is_empty() {
            return;
        }
        report.findings.retain(|finding| finding.basis.is_none() || self.holds(&finding.rule));
        report.unchecked.retain(|unchecked| self.holds(&unchecked.rule));
        report.rule_faults.retain(|fault| self.holds(&fault.rule));
        let held = rules.rules.iter().filter(|rule| rule.severity.is_some() && self.holds(&rule.name)).count();
        report.checked = held.saturating_sub(report.rules_unchecked());
    }
}

/// Findings of binding rules, counted by rule, and why they are never known.
fn bound(counts: &BTreeMap<String, u32>) -> String {
    let each =
        counts.iter().map(|(rule, count)| format!("{} of `{}`", counted(*count as usize, "finding"), one_line(rule)));
    let each: Vec<String> = each.collect();
    let rules = if counts.len() == 1 { "the rule is binding" } else { "these rules are binding" };
    format!(
        "{}; {rules}, and what shocks or burns is reported every time",
        list(each.iter().map(String::as_str), "and")
    )
}

/// A run as it goes on.
struct Check<'r> {
    arguments: &'r CheckArguments,
    console: &'r Console,
    jobs: &'r [Job],
    projects: &'r Projects<'r>,
    rules: &'r [Arc<RuleSet>],
    known: &'r [Known],
    selection: Selection<'r>,
    /// What was found and known, for each project.
    found: Vec<Known>,
    summary: Summary,
    fails: bool,
    failed: bool,
    /// Plans that could not be read.
    unread: HashSet<PathBuf>,
    told: Vec<(String, crate::source::Span)>,
    /// Findings of binding rules that were not recorded as known, by rule.
    unrecorded: BTreeMap<String, u32>,
}

impl Check<'_> {
    fn fail(&mut self, problem: Problem) {
        self.failed = true;
        self.summary.problems.push(problem.to_string());
        self.console.tell(&problem);
    }

    /// Checks every plan and writes its findings.
    fn all<'c>(&mut self, mut outputs: Outputs<'c>, here: &Path) -> Result<Outputs<'c>, Vec<Problem>> {
        let one = |problem| vec![problem];
        let today = self.arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
        let libraries: Vec<Library<'_>> =
            self.projects.list.iter().map(|project| Library::new(&Disk, &project.folder, here)).collect();
        let pool = match self.arguments.threads {
            None => None,
            Some(threads) => Some(
                rayon::ThreadPoolBuilder::new()
                    .num_threads(threads.into())
                    .build()
                    .map_err(|error| one(Problem::new(format!("no threads to check with: {error}"))))?,
            ),
        };
        let progress = Progress::new(self.jobs.len());
        outputs.opening().map_err(one)?;
        for batch in self.jobs.chunks(BATCH) {
            let check_one = |job: &Job| match job.load(&libraries[job.project]) {
                Ok(loaded) => {
                    let mut report = Box::new(checker::check(loaded, &self.rules[job.project], today));
                    self.selection.narrow(&mut report, &self.rules[job.project]);
                    let known = match self.arguments.record_known {
                        Some(_) => Known::sift_all(&mut report),
                        None => self.known[job.project].sift(&mut report),
                    };
                    progress.advance();
                    Done::Checked { bytes: outputs.plan(job.project, &report), report, known }
                }
                Err(problem) => Done::Failed(problem),
            };
            let done: Vec<Done> = match (&pool, batch.len()) {
                // One plan is not worth waking other threads for.
                (None, 1) => batch.iter().map(check_one).collect(),
                (Some(pool), _) => pool.install(|| batch.par_iter().map(check_one).collect()),
                (None, _) => batch.par_iter().map(check_one).collect(),
            };
            let mut plans = Vec::new();
            for (job, one) in batch.iter().zip(done) {
                match one {
                    Done::Checked { bytes, report, known } => {
                        plans.push(bytes);
                        self.count(job, &report, known, &progress);
                    }
                    Done::Failed(problem) => {
                        self.unread.extend(job.path.clone());
                        progress.pause(|| self.fail(problem));
                    }
                }
            }
            progress.pause(|| outputs.plans(plans)).map_err(one)?;
        }
        progress.finish();
        Ok(outputs)
    }

    fn count(&mut self, job: &Job, report: &Report, known: Known, progress: &Progress) {
        self.summary.add(report);
        self.summary.known += known.total();
        self.found[job.project].add(known);
        if self.arguments.record_known.is_some() {
            for finding in report.findings.iter().filter(|finding| finding.binding) {
                *self.unrecorded.entry(finding.rule.to_string()).or_default() += 1;
            }
        }
        let limit = self.projects.list[job.project].fail_on.value;
        self.fails |= report.worst().is_some_and(|worst| worst >= limit);
        self.fails |= self.projects.list[job.project].whole.value && !report.unchecked.is_empty();
        for problem in rule_faults(report, &self.rules[job.project], &mut self.told) {
            progress.pause(|| self.fail(problem));
        }
        self.failed |= !report.rule_faults.is_empty();
    }

    /// Whether a known finding's plan was checked, or is no longer there.
    fn settled(&self, project: usize) -> impl Fn(&str) -> bool {
        let folder = &self.projects.list[project].folder;
        let jobs = self.jobs.iter().filter(|job| job.project == project);
        let checked: HashSet<&Path> =
            jobs.filter_map(|job| job.path.as_deref()).filter(|path| !self.unread.contains(*path)).collect();
        move |plan: &str| {
            let path = folder.join(plan);
            checked.contains(path.as_path()) || !path.exists()
        }
    }

    /// Notes which known findings are no more.
    fn note_gone(&mut self) {
        if self.arguments.record_known.is_some() {
            return;
        }
        for project in 0..self.known.len() {
            let gone = self.known[project].gone(&self.found[project], self.settled(project));
            self.summary.gone.extend(gone.into_iter().filter(|(identity, _)| self.selection.holds(&identity.rule)));
        }
    }

    /// Writes what was found as known, with what was known of plans that were not checked.
    fn record(&mut self, mut file: NewFile) -> Result<(), Vec<Problem>> {
        if self.failed {
            return Err(vec![
                Problem::new("known findings are not recorded, since the check could not be made in full")
                    .help("mend what is told of above, then record them"),
            ]);
        }
        let settled = self.settled(0);
        let kept = self.known[0].counts.iter().filter(|(identity, _)| !settled(&identity.plan));
        let mut known = Known { counts: kept.map(|(identity, count)| (identity.clone(), *count)).collect() };
        drop(settled);
        known.add(std::mem::take(&mut self.found[0]));
        file.write(known.print().as_bytes()).and_then(|()| file.finish()).map_err(|problem| vec![problem])?;
        if !self.unrecorded.is_empty() {
            self.console.say(&format!("not recorded: {}\n", bound(&self.unrecorded)));
        }
        Ok(())
    }
}

/// What rules got wrong, each told of once in a run.
fn rule_faults(report: &Report, rules: &RuleSet, told: &mut Vec<(String, crate::source::Span)>) -> Vec<Problem> {
    let mut problems = Vec::new();
    for fault in &report.rule_faults {
        let key = (fault.rule.to_string(), fault.span);
        if told.contains(&key) {
            continue;
        }
        told.push(key);
        let pack = &rules.packs[fault.pack];
        let plan = report.sources.get(crate::source::FileId(0)).map_or("", |file| &file.name);
        problems.push(
            Problem::new(format!("rule `{}` can't be held to {plan}: {}", fault.rule, fault.message))
                .at(&pack.name, &pack.text, fault.span, "here")
                .help("guard it with `where`, or compare without dividing"),
        );
    }
    problems
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
