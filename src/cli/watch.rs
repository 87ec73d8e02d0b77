//! `layrule watch`: a plan shown in a browser, drawn afresh as it is saved.

use std::net::{Ipv4Addr, TcpListener};
use std::path::{Path, PathBuf};
use std::sync::mpsc::channel;

use clap::Args;

use super::one_plan::HeldTo;
use super::problem::Problem;
use super::settings::Project;
use super::{Console, SOUND, one_plan, rule_set};
use crate::checker;
use crate::measure::plan::Measured;
use crate::model::Plan;
use crate::model::resolve::resolve;
use crate::report::Reporter as _;
use crate::report::text::Text;
use crate::source::{shown, tidy_path};
use crate::watch::view::View;
use crate::watch::{Reading, Seen, watch};

const EXAMPLES: &str = "Examples:
  layrule watch bath.lay                     on a free port; the address is printed
  layrule watch bath.lay --port 8321         on this one
  layrule watch bath.lay --rules ours.rule   held to rules of your own too

The page shows the drawing with its findings; a click on a finding shows where it is. It is drawn afresh whenever the \
plan, a file that it uses, a rule pack or the project file is saved. Text that can't be read leaves the last drawing and shows what is \
wrong. Only this machine can open the page. Ctrl-C ends it.

Exit codes: 0 ended by Ctrl-C, 2 not begun.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct WatchArguments {
    /// The plan (`.lay`)
    #[arg(value_name = "FILE")]
    plan: PathBuf,
    /// The port of the page; a free one where not given
    #[arg(long, value_name = "PORT", default_value_t = 0)]
    port: u16,
    /// The date that the drawing bears, and on which deviations are judged to hold; today, and none on the drawing, where not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::check::parse_date)]
    date: Option<jiff::civil::Date>,
    #[command(flatten)]
    held: HeldTo,
}

/// The most faults of a plan that the page tells of.
const MOST_FAULTS: usize = 50;

/// What is read again and again.
struct Watched {
    plan: PathBuf,
    date: Option<jiff::civil::Date>,
    held: HeldTo,
    here: PathBuf,
}

pub(super) fn run(arguments: &WatchArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let one = |problem| vec![problem];
    if arguments.plan.as_os_str() == "-" {
        let problem = Problem::new("standard input can't be watched").help("name the plan's file");
        return Err(one(problem));
    }
    let here = one_plan::here()?;
    let project = arguments.held.project(&arguments.plan, &here)?;
    project.say_notes(console);
    // What is wrong from the start is told at once.
    rule_set(&project.rules.value)?;
    one_plan::load(&arguments.plan, &project, &here).map_err(one)?;
    let watched = Watched { plan: arguments.plan.clone(), date: arguments.date, held: arguments.held.clone(), here };
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, arguments.port)).map_err(|error| {
        let problem = Problem::new(format!("port {} can't be had: {error}", arguments.port));
        one(problem.help("name another with `--port`, or leave it out for a free one"))
    })?;
    let address = listener.local_addr().map_err(|error| one(Problem::new(format!("there is no address: {error}"))))?;
    let (ended, end) = channel();
    let died = ended.clone();
    let handled = ctrlc::set_handler(move || {
        // The second time there is no one left to tell.
        let _ = ended.send(Ok(SOUND));
    });
    handled.map_err(|error| one(Problem::new(format!("Ctrl-C can't be heeded: {error}"))))?;
    let failed = move || one(Problem::new("the page is no longer served; that is a fault of layrule's own"));
    let read = move || watched.read();
    watch(listener, read, move || drop(died.send(Err(failed()))))
        .map_err(|error| one(Problem::new(format!("the page can't be served: {error}"))))?;
    console.print(format!("http://{address}/\n").as_bytes()).map_err(one)?;
    console.say("Open this address in a browser on this machine; Ctrl-C ends it.\n");
    // Nothing but Ctrl-C ends it, or its own fault.
    end.recv().unwrap_or(Ok(SOUND))
}

impl Watched {
    fn path(&self) -> PathBuf {
        tidy_path(&self.here.join(&self.plan))
    }

    fn read(&self) -> Reading {
        let mut files = vec![self.path(), self.held.project_file(&self.plan, &self.here)];
        let seen = self.look(&mut files);
        Reading { seen, files }
    }

    fn look(&self, files: &mut Vec<PathBuf>) -> Seen {
        let in_words =
            |problems: Vec<Problem>| problems.iter().map(|problem| problem.render(false, None)).collect::<String>();
        let project = match self.held.project(&self.plan, &self.here) {
            Ok(project) => project,
            Err(problems) => return Seen::Nothing(in_words(problems)),
        };
        // A folder is another once a pack comes or goes.
        let named = project.rules.value.iter().chain(&project.rule_folders);
        files.extend(named.map(|path| tidy_path(&self.here.join(path))));
        let rules = match rule_set(&project.rules.value) {
            Ok(rules) => rules,
            Err(problems) => return Seen::Nothing(in_words(problems)),
        };
        let measured = match one_plan::load(&self.plan, &project, &self.here) {
            Ok(loaded) => Measured::new(resolve(loaded)),
            Err(problem) => return Seen::Nothing(problem.to_string()),
        };
        let plan = measured.plan();
        files.extend(used(plan, &project));
        let today = self.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
        let report = checker::check_plan(&measured, &rules, today);
        if plan.rooms.is_empty() && plan.faults.is_empty() {
            return Seen::Nothing(format!("{} holds no room", shown(&self.plan)));
        }
        let view = match View::of(&measured, &report, self.date) {
            Ok(view) => view,
            Err(why) => return Seen::Nothing(why),
        };
        if plan.faults.is_empty() {
            return Seen::Whole(view);
        }
        let mut faults = one_plan::reading(plan);
        faults.findings.truncate(MOST_FAULTS);
        let mut told = String::from_utf8_lossy(&Text::default().plan(&faults)).into_owned();
        if plan.faults.len() > MOST_FAULTS {
            told.push_str(&format!("and {} more: `layrule check` lists them all\n", plan.faults.len() - MOST_FAULTS));
        }
        Seen::Partly(view, told)
    }
}

/// The files that a plan uses.
fn used(plan: &Plan, project: &Project) -> Vec<PathBuf> {
    let whole = |location: &Path| tidy_path(&project.folder.join(location));
    let used = (1..).map_while(|number| plan.sources.get(crate::source::FileId(number)));
    used.map(|file| whole(&file.location)).collect()
}
