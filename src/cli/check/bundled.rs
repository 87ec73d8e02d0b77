//! `layrule check` of bundles: what is in them is read from memory, and nothing of the folder that they lie in counts.

use std::path::{Path, PathBuf};

use super::super::bundle::read;
use super::super::new_file::Ground;
use super::super::outputs::{self, Held, Outputs};
use super::super::problem::{Problem, pack_problems};
use super::super::settings::fault_problem;
use super::super::{Console, FAILED, FOUND, SOUND, rule_set};
use super::{CheckArguments, Selection, bound, rule_faults};
use crate::bundle::{Bundle, ENDING, built_in};
use crate::checker;
use crate::finding::Severity;
use crate::known::Known;
use crate::model::load::Library;
use crate::report::text::Text;
use crate::report::{Form, Reporter as _, Summary, Target};
use crate::rules::packs::{self, RuleSet};
use crate::source::{ends_in, one_line, shown};

/// A bundle with what it is checked by.
struct Ready {
    bundle: Bundle,
    rules: std::sync::Arc<RuleSet>,
    known: Known,
    fail_on: Severity,
    whole: bool,
}

pub(super) fn run(arguments: &CheckArguments, console: &Console, here: &Path) -> Result<u8, Vec<Problem>> {
    let one = |problem| vec![problem];
    takes_bundles(arguments).map_err(one)?;
    let (mut ready, mut problems) = (Vec::new(), Vec::new());
    for path in &arguments.paths {
        match make_ready(arguments, path, console) {
            Ok(own) => ready.push(own),
            Err(own) => problems.extend(own),
        }
    }
    let selection = Selection { only: &arguments.rule, without: &arguments.no_rule };
    let sets: Vec<_> = ready.iter().map(|own| std::sync::Arc::clone(&own.rules)).collect();
    if !sets.is_empty() {
        selection.hold_to(&sets)?;
    }
    let selected = |rule: &str| selection.holds(rule);
    let held: Vec<Held<'_>> =
        ready.iter().map(|own| Held { rules: &own.rules, fail_on: own.fail_on, selected: &selected }).collect();
    let asked = outputs::asked(&arguments.output, arguments.output_file.as_deref()).map_err(one)?;
    let targets = if asked.is_empty() { vec![Target { form: Form::Text, file: None }] } else { asked };
    let inputs: Vec<PathBuf> = arguments.paths.iter().chain(&arguments.rules).map(|path| here.join(path)).collect();
    let ground = Ground { here, inputs: &inputs, project: None };
    let mut outputs = Outputs::open(&targets, &held, &ground, console)?;
    let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
    let mut summary = Summary::default();
    let (mut fails, mut failed, mut told) = (false, !problems.is_empty(), Vec::new());
    for problem in &problems {
        summary.problems.push(problem.to_string());
        console.tell(problem);
    }
    outputs.opening().map_err(one)?;
    for (number, own) in ready.iter().enumerate() {
        let Some(plan) = own.bundle.plan() else { continue };
        let files = own.bundle.files();
        let loaded = Library::new(&files, "", "").load_text(
            Path::new(&plan.path),
            &shown(Path::new(&plan.path)),
            plan.text.clone(),
        );
        let mut report = checker::check(loaded, &own.rules, today);
        selection.narrow(&mut report, &own.rules);
        let found = own.known.sift(&mut report);
        outputs.plans(vec![outputs.plan(number, &report)]).map_err(one)?;
        summary.add(&report);
        summary.known += found.total();
        let gone = own.known.gone(&found, |location: &str| location == plan.path);
        summary.gone.extend(gone.into_iter().filter(|(identity, _)| selection.holds(&identity.rule)));
        fails |= report.worst().is_some_and(|worst| worst >= own.fail_on);
        fails |= own.whole && !report.unchecked.is_empty();
        for problem in rule_faults(&report, &own.rules, &mut told) {
            summary.problems.push(problem.to_string());
            console.tell(&problem);
        }
        failed |= !report.rule_faults.is_empty();
    }
    let silent = outputs.silent();
    outputs.close(&summary)?;
    if silent {
        console.say(&Text { quiet: console.quiet, ..Text::default() }.closing(&summary));
    }
    Ok(match (failed, fails) {
        (true, _) => FAILED,
        (false, true) => FOUND,
        (false, false) => SOUND,
    })
}

/// Whether what is asked for can be done with bundles.
fn takes_bundles(arguments: &CheckArguments) -> Result<(), Problem> {
    if let Some(other) = arguments.paths.iter().find(|path| !ends_in(path, ENDING)) {
        let problem = Problem::new(format!("{} is no bundle, and bundles are checked by themselves", shown(other)));
        return Err(problem.help("check plans in a run of their own"));
    }
    let asked = [
        ("--apply", arguments.apply),
        ("--record-known", arguments.record_known.is_some()),
        ("--known", arguments.known.is_some()),
        ("--show-settings", arguments.show_settings),
        ("--project", arguments.project.is_some()),
    ];
    match asked.into_iter().find(|(_, asked)| *asked) {
        None => Ok(()),
        Some((option, _)) => Err(Problem::new(format!("`{option}` does not go with bundles"))
            .help("a bundle brings its own settings; `layrule bundle FILE --unpack FOLDER` makes a project out of it")),
    }
}

fn make_ready(arguments: &CheckArguments, path: &Path, console: &Console) -> Result<Ready, Vec<Problem>> {
    let bundle = read(path).map_err(|problem| vec![problem])?;
    let name = shown(path);
    if bundle.built_in != built_in() {
        let program = one_line(&bundle.program);
        console.say(&format!(
            "{name}: it was written by layrule {program}, whose rules are others than those of this program\n"
        ));
    }
    let rules = if arguments.rules.is_empty() {
        let packs = packs::built_in().into_iter().chain(bundle.packs()).collect();
        RuleSet::build(packs).map_err(|faults| faults.iter().flat_map(pack_problems).collect::<Vec<_>>())?
    } else {
        rule_set(&arguments.rules)?
    };
    rules.notes.iter().for_each(|note| console.say(&format!("{note}\n")));
    let mut known = Known::default();
    if let Some(own) = bundle.known() {
        known = Known::parse(&own.text).map_err(|fault| vec![fault_problem(&own.path, &own.text, &fault)])?;
        let taken = known.take_binding(|rule| rules.rule(rule).is_some_and(|rule| rule.binding));
        if !taken.is_empty() {
            console.say(&format!("{}: not heeded: {}\n", own.path, bound(&taken)));
        }
    }
    let fail_on = arguments.fail_on.map_or(bundle.fail_on, Severity::from);
    let whole = arguments.whole || bundle.whole;
    Ok(Ready { bundle, rules: std::sync::Arc::new(rules), known, fail_on, whole })
}
