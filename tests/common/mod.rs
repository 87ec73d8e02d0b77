//! What the tests share.

pub(crate) mod client;
pub(crate) mod limits;
pub(crate) mod pages;
pub(crate) mod program;
pub(crate) mod wire;

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use layrule::checker::{self, Report};
use layrule::handover::{Wanted, handover};
use layrule::measure::plan::Measured;
use layrule::model::Plan;
use layrule::model::load::Library;
use layrule::model::resolve::resolve;
use layrule::rules::packs::{Pack, RuleSet, built_in};
use layrule::source::Memory;
use layrule::takeoff::allowances::Allowances;

/// The day on which plans are checked in tests.
pub(crate) const TODAY: jiff::civil::Date = jiff::civil::date(2026, 11, 25);

/// The built-in rules.
pub(crate) static RULES: LazyLock<RuleSet> =
    LazyLock::new(|| RuleSet::build(built_in()).expect("the built-in packs are sound"));

/// The project's own folder.
pub(crate) fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The report on a plan, given as text.
pub(crate) fn check(text: &str) -> Report {
    check_with(text, &RULES)
}

/// The report on a plan by other rules.
pub(crate) fn check_with(text: &str, rules: &RuleSet) -> Report {
    checker::check_plan(&Measured::new(plan_with_kits(text)), rules, TODAY)
}

/// The report without having tried what its findings offer.
pub(crate) fn untried(text: &str) -> Report {
    checker::untried(&Measured::new(plan_with_kits(text)), &RULES, TODAY)
}

/// The plan that a text means, which may use the examples' kits.
pub(crate) fn plan_with_kits(text: &str) -> Plan {
    let mut files = Memory::default();
    files.insert("plans/kits.lay", include_str!("../../examples/kits.lay"));
    let library = Library::new(&files, "plans", "");
    resolve(library.load_text(Path::new("plans/plan.lay"), "plan.lay", text.to_string()))
}

/// The plan that a text means; its faults are in it.
pub(crate) fn plan(text: &str) -> Plan {
    let files = Memory::default();
    let library = Library::new(&files, "plans", "");
    resolve(library.load_text(Path::new("plans/plan.lay"), "plan.lay", text.to_string()))
}

/// The built-in rules with one more pack.
pub(crate) fn rules_with(text: &str) -> RuleSet {
    let mut packs = built_in();
    packs.push(Pack { name: "ours.rule".into(), text: text.into() });
    RuleSet::build(packs).unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// The names of the rules that found something, each once, in order.
pub(crate) fn rules_found(report: &Report) -> Vec<String> {
    let mut names: Vec<String> = report.findings.iter().map(|finding| finding.rule.to_string()).collect();
    names.sort();
    names.dedup();
    names
}

/// A report as a person reads it.
pub(crate) fn text_of(report: &Report) -> String {
    use layrule::report::Reporter as _;
    String::from_utf8(layrule::report::text::Text::default().plan(report)).expect("text is UTF-8")
}

/// A property test of so many cases, the same ones on every run; `PROPTEST_RNG_SEED` asks for others.
pub(crate) fn cases(cases: u32) -> proptest::test_runner::Config {
    let mut config = proptest::test_runner::Config { cases, failure_persistence: None, ..Default::default() };
    if std::env::var_os("PROPTEST_RNG_SEED").is_none() {
        config.rng_seed = proptest::test_runner::RngSeed::Fixed(20_261_125);
    }
    config
}

/// The files below a folder that end in one of `endings`, in the order of their names.
pub(crate) fn files_below(folder: &Path, endings: &[&str]) -> Vec<PathBuf> {
    let entries = walkdir::WalkDir::new(folder).sort_by_file_name().into_iter();
    let paths = entries.map(|entry| entry.expect("it can be walked").into_path());
    paths.filter(|path| path.extension().is_some_and(|own| endings.iter().any(|ending| own == *ending))).collect()
}

/// The handover of a plan, held to the built-in rules.
pub(crate) fn handover_page(plan: &Plan) -> String {
    let measured = Measured::new(plan.clone());
    let report = checker::check_plan(&measured, &RULES, TODAY);
    let allowances = Allowances::of(&RULES);
    handover(&measured, &Wanted { date: Some(TODAY), report: &report, allowances: &allowances, room: None })
        .expect("a page")
}
