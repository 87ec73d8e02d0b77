//! The front door: checks a plan: reads it, measures it, holds it to rules, and tries what the findings offer.

pub mod mend;
pub mod report;

pub use report::Report;

use crate::finding::{Finding, OtherKit};
use crate::measure::plan::Measured;
use crate::model::fault::Fault;
use crate::model::load::{Library, Loaded};
use crate::model::resolve::resolve;
use crate::model::{Plan, Room};
use crate::rules::evaluate::{Detail, Outcome, evaluate_until};
use crate::rules::packs::RuleSet;
use crate::things::World;

/// Checks a loaded plan against rules. `today` decides which deviations have lapsed.
pub fn check(loaded: Loaded, rules: &RuleSet, today: jiff::civil::Date) -> Report {
    check_plan(&Measured::new(resolve(loaded)), rules, today)
}

/// Checks a plan that is measured already, and that more is to be made of. What findings advise was tried on the plan.
pub fn check_plan(measured: &Measured, rules: &RuleSet, today: jiff::civil::Date) -> Report {
    check_until(measured, rules, today, None, &|| false).0
}

/// As [`check_plan`], where plans that are tried have so many runs in all at the most; and whether nothing was left untried for that. Once
/// `stop` says so it ends soon, and what it came to is of no use.
pub fn check_until(
    measured: &Measured,
    rules: &RuleSet,
    today: jiff::civil::Date,
    most_runs: Option<usize>,
    stop: &dyn Fn() -> bool,
) -> (Report, bool) {
    let mut report = whole(measured, rules, today, stop);
    let plan = measured.plan();
    let runs = plan.rooms.iter().flat_map(|room| &room.cables).map(|cable| cable.runs.len()).sum();
    if report.findings.iter().all(|finding| finding.offers.is_empty()) {
        return (report, true);
    }
    let texts = plan.sources.texts();
    let library = Library::new(&texts, "", "");
    let all_tried = mend::prove(&mut report, runs, most_runs, |fix| {
        if stop() {
            return None;
        }
        let (name, path, text) = plan.sources.own()?;
        let changed = mend::apply(text, &fix.edits)?;
        let mut plan = resolve(library.load_text(path, name, changed));
        fix.kits.iter().try_for_each(|kit| choose(&mut plan, kit))?;
        Some(found(&Measured::like(plan, measured), rules, today, Detail::ToTellApart, stop))
    });
    (report, all_tried)
}

/// Takes a cable to be of a kit of another length, with as much power per length.
fn choose(plan: &mut Plan, other: &OtherKit) -> Option<()> {
    let room = plan.rooms.iter_mut().find(|room| room.name.text == other.room)?;
    let cable = room.cables.iter_mut().find(|cable| cable.name.text == other.cable)?;
    let mut kit = plan.kits.get(cable.kit?)?.clone();
    let share = other.length / kit.length;
    (kit.length, kit.output, kit.resistance) = (other.length, kit.output * share, kit.resistance / share);
    cable.kit = Some(plan.kits.len());
    plan.kits.push(kit);
    Some(())
}

/// Checks a plan that is measured already; what its findings offer is not tried on it.
pub fn untried(measured: &Measured, rules: &RuleSet, today: jiff::civil::Date) -> Report {
    untried_until(measured, rules, today, &|| false)
}

/// As [`untried`]; once `stop` says so it ends soon, and what it came to is of no use.
pub fn untried_until(
    measured: &Measured,
    rules: &RuleSet,
    today: jiff::civil::Date,
    stop: &dyn Fn() -> bool,
) -> Report {
    whole(measured, rules, today, stop)
}

fn whole(measured: &Measured, rules: &RuleSet, today: jiff::civil::Date, stop: &dyn Fn() -> bool) -> Report {
    let mut report = found(measured, rules, today, Detail::Whole, stop);
    crate::fingerprint::number(&mut report.findings, &report.sources);
    crate::alike::number(&mut report.findings);
    report
}

/// What is found in a plan, in order.
fn found(
    measured: &Measured,
    rules: &RuleSet,
    today: jiff::civil::Date,
    detail: Detail,
    stop: &dyn Fn() -> bool,
) -> Report {
    let plan = measured.plan();
    let mut findings = plan.faults.clone();
    findings.extend(unknown_rules(plan, rules));
    findings.extend(binding_rules(plan, rules));
    let mut world = World::new(measured, today);
    let outcome = match plan.rooms.is_empty() {
        true => Outcome::default(),
        false => evaluate_until(&mut world, &rules.rules, detail, stop),
    };
    drop(world);
    findings.extend(outcome.findings);
    // Findings of reading come first where a place has both.
    findings.sort_by_key(Finding::place);
    Report {
        rooms: plan.rooms.len(),
        sources: plan.sources.clone(),
        findings,
        checked: outcome.checked,
        unchecked: outcome.unchecked,
        rule_faults: outcome.faults,
    }
}

/// Deviations from rules whose findings none covers.
fn binding_rules<'p>(plan: &'p Plan, rules: &'p RuleSet) -> impl Iterator<Item = Finding> + 'p {
    let deviations = plan.rooms.iter().flat_map(|room: &Room| &room.deviations);
    let bound = deviations.filter(|deviation| rules.rule(&deviation.rule.text).is_some_and(|rule| rule.binding));
    bound.map(|deviation| {
        let rule = &deviation.rule;
        Fault::BindingRule { rule: rule.text.clone() }.finding(rule.place)
    })
}

/// Deviations from rules that don't exist.
fn unknown_rules<'p>(plan: &'p Plan, rules: &'p RuleSet) -> impl Iterator<Item = Finding> + 'p {
    let deviations = plan.rooms.iter().flat_map(|room: &Room| &room.deviations);
    deviations.filter(|deviation| rules.rule(&deviation.rule.text).is_none()).map(|deviation| {
        let rule = &deviation.rule;
        let known = rules.rules.iter().map(|rule| rule.name.to_string()).collect();
        Fault::UnknownRule { name: rule.text.clone(), known }.finding(rule.place)
    })
}
