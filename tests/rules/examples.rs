//! The example plans: sound ones are clean, and each broken one shows just its own rule.

use std::path::{Path, PathBuf};

use layrule::checker::{self, Report};
use layrule::model::load::Library;
use layrule::source::Disk;

use crate::common::{RULES, TODAY, files_below, root, rules_found, text_of};

/// The plans that lie in a folder itself.
fn plans(folder: &str) -> Vec<PathBuf> {
    let folder = root().join(folder);
    files_below(&folder, &["lay"]).into_iter().filter(|path| path.parent() == Some(&*folder)).collect()
}

fn report(path: &Path) -> Report {
    let root = root();
    let library = Library::new(&Disk, &root, &root);
    let name = path.strip_prefix(&root).expect("below the project").display().to_string();
    checker::check(library.load(path, &name).expect("it can be read"), &RULES, TODAY)
}

#[test]
fn sound_plans_are_clean() {
    let plans = plans("examples");
    let with_rooms: Vec<_> =
        plans.iter().map(|path| (path, report(path))).filter(|(_, report)| report.rooms > 0).collect();
    assert!(with_rooms.len() >= 8, "{} plans", with_rooms.len());
    for (path, report) in &with_rooms {
        let open: Vec<_> = report.findings.iter().filter(|finding| finding.accepted.is_none()).collect();
        assert!(open.is_empty(), "{}:\n{}", path.display(), text_of(report));
        assert!(report.unchecked.is_empty(), "{}: {:#?}", path.display(), report.unchecked);
    }
}

#[test]
fn every_rule_has_a_broken_plan_that_shows_it_alone() {
    let mut rules: Vec<&str> = RULES.rules.iter().map(|rule| &*rule.name).collect();
    rules.sort_unstable();
    let plans = plans("examples/faults");
    let names: Vec<&str> =
        plans.iter().map(|path| path.file_stem().and_then(|stem| stem.to_str()).expect("a name")).collect();
    let mut sorted = names.clone();
    sorted.sort_unstable();
    assert_eq!(sorted, rules);
    for (path, name) in plans.iter().zip(names) {
        let report = report(path);
        let found = rules_found(&report);
        // What a lapsed deviation covered is a finding again.
        let expected = if name == "deviation-lapsed" { vec![name, "wall-clearance"] } else { vec![name] };
        assert_eq!(found, expected, "{}:\n{}", path.display(), text_of(&report));
        insta::assert_snapshot!(format!("fault-{name}"), text_of(&report));
    }
}
