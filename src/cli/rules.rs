//! `layrule rules`: the rules there are, and one in full.

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::problem::Problem;
use super::settings::{Overrides, Projects};
use super::values::RuleName;
use super::{Console, SOUND, rule_set};
use crate::report::Reporter as _;
use crate::report::text::Text;
use crate::rules::packs::RuleSet;
use crate::rules::program::Rule;
use crate::text::nearest;
use crate::{checker, reference};

const EXAMPLES: &str = "Examples:
  layrule rules                        every rule, a line each
  layrule rules spacing                one rule in full, with an example
  layrule rules --rules ours.rule      with rules of your own
  layrule rules --reference fields     what a rule may ask of a plan
  layrule rules --test ours.rule       hold a pack to its own examples

The examples of `ours.rule` are the plans of the folder `ours-examples` beside it, each named after its rule and what it shows: \
`short-run.sound.lay`, `short-run.faulty.lay`, `short-run.faulty.two-cables.lay`.

Exit codes: 0 shown, or all examples as they should be, 1 an example that isn't, 2 neither.";

#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct RulesArguments {
    /// The rule to show in full
    #[arg(value_name = "NAME", value_parser = RuleName, hide_possible_values = true)]
    name: Option<String>,
    /// A rule pack (`.rule`), or a folder of them, to use besides the built-in ones, in place of those of the project; may be given several times
    #[arg(long, value_name = "FILE")]
    rules: Vec<PathBuf>,
    /// Print a reference page in Markdown instead
    #[arg(long, value_enum, value_name = "PAGE", conflicts_with = "name")]
    reference: Option<Page>,
    /// Hold this pack to its own examples instead; may be given several times
    #[arg(long, value_name = "PACK", conflicts_with_all = ["name", "reference"])]
    test: Vec<PathBuf>,
    /// The day on which deviations in examples are judged to hold; today where not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::check::parse_date, requires = "test")]
    date: Option<jiff::civil::Date>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Page {
    /// What a rule may ask of a plan
    Fields,
    /// The rules
    Rules,
}

pub(super) fn run(arguments: &RulesArguments, console: &Console) -> Result<u8, Vec<Problem>> {
    let here =
        std::env::current_dir().map_err(|error| vec![Problem::new(format!("there is no current folder: {error}"))])?;
    let mut projects = Projects::new(Overrides { rules: arguments.rules.clone(), ..Overrides::default() }, &here);
    let project = projects.of(&here);
    if !projects.problems.is_empty() {
        return Err(projects.problems);
    }
    projects.say_notes(console);
    let packs = &projects.list[project].rules.value;
    if !arguments.test.is_empty() {
        let today = arguments.date.unwrap_or_else(|| jiff::ZonedDateTime::now().date());
        return super::rule_examples::test(&arguments.test, packs, today, console);
    }
    let rules = rule_set(packs)?;
    let text = match (arguments.reference, &arguments.name) {
        (Some(Page::Fields), _) => reference::fields(),
        (Some(Page::Rules), _) => reference::rules(&rules),
        (None, Some(name)) => match rules.rule(name) {
            Some(rule) => full(rule, &rules, console),
            None => {
                let help = match nearest(name, rules.rules.iter().map(|rule| &*rule.name)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "`layrule rules` lists them".into(),
                };
                return Err(vec![Problem::new(format!("no rule is called `{name}`")).help(help)]);
            }
        },
        (None, None) => listing(&rules),
    };
    console.print(text.as_bytes()).map_err(|problem| vec![problem])?;
    Ok(SOUND)
}

fn listing(rules: &RuleSet) -> String {
    let width = rules.rules.iter().map(|rule| rule.name.len()).max().unwrap_or(0);
    let mut text = String::new();
    let mut pack = usize::MAX;
    for rule in &rules.rules {
        if rule.pack != pack {
            pack = rule.pack;
            let gap = if text.is_empty() { "" } else { "\n" };
            let _ = writeln!(text, "{gap}{}", rules.packs[pack].name);
        }
        let _ = writeln!(text, "  {:width$}  {:7}  {}", rule.name, reference::severity_word(rule), rule.about);
    }
    text.push_str("\n`layrule rules NAME` shows one in full.\n");
    text
}

fn full(rule: &Rule, rules: &RuleSet, console: &Console) -> String {
    let mut text = String::new();
    let _ =
        writeln!(text, "{} ({}), from {}\n", rule.name, reference::severity_word(rule), rules.packs[rule.pack].name);
    let _ = writeln!(text, "{}.", rule.about);
    if let Some(why) = &rule.why {
        let _ = writeln!(text, "\nWhy: {why}");
    }
    if !rule.limits.is_empty() {
        let _ = writeln!(text, "\nLimits:");
        for limit in &rule.limits {
            let amended = if limit.amended { "  (amended)" } else { "" };
            let _ = writeln!(
                text,
                "  {} = {}  {}{amended}",
                limit.name,
                limit.text,
                limit.meaning.as_deref().unwrap_or("")
            );
        }
    }
    let _ = writeln!(text, "\nBasis: {}{}", rule.basis, if rule.from_memory { " (recalled from memory)" } else { "" });
    if rule.binding {
        let _ = writeln!(text, "\nBinding: no deviation covers its findings.");
    }
    let _ = writeln!(text, "\nHow it is checked:");
    for line in &rule.check_text {
        let _ = writeln!(text, "  {line}");
    }
    if let Some((name, plan, loaded)) = reference::example(&rule.name) {
        let _ = writeln!(text, "\nA plan with this fault ({name}):\n");
        for line in plan.lines() {
            let _ = writeln!(text, "    {line}");
        }
        let mut report = checker::check(loaded, rules, reference::EXAMPLE_DAY);
        report.findings.retain(|finding| *finding.rule == *rule.name);
        if !report.findings.is_empty() {
            let _ = writeln!(text, "\nWhat is found in it:\n");
            text.push_str(&String::from_utf8_lossy(
                &Text { color: console.stdout_color, width: console.width, ..Text::default() }.plan(&report),
            ));
        }
    }
    text.truncate(text.trim_end().len());
    text.push('\n');
    text
}
