//! The example plans: sound ones are clean, each broken one shows just its own rule, and first tries show what the trade would name.

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

/// Plans of `examples/faults/` whose floor gets unlike heat from half to half, which one figure for a whole cable or a whole thermostat would
/// hide: what of the rules tells.
const UNLIKE_HALVES: [(&str, &[&str]); 3] = [
    // 10 W/m at 50 mm give 200 W/m2 and at 167 mm 60; in the mean that is less than the 150 W/m2 that a timber floor takes.
    ("close-half", &["even-spacing", "even-warmth", "power-density"]),
    // At 60 mm 167 W/m2, at 135 mm 74.
    ("close-rows", &["even-spacing", "power-density"]),
    // The sensor lies where the floor gets 79 W/m2; its thermostat switches a half that gets 159.
    ("pair-on-one-thermostat", &["power-density", "sensor-place"]),
];

#[test]
fn every_rule_has_a_broken_plan_that_shows_it_alone() {
    let mut rules: Vec<&str> = RULES.rules.iter().map(|rule| &*rule.name).collect();
    rules.extend(UNLIKE_HALVES.map(|(name, _)| name));
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
        let halves = UNLIKE_HALVES.iter().find(|(plan, _)| *plan == name).map(|(_, rules)| rules.to_vec());
        let lapsed = name == "deviation-lapsed";
        let expected = halves.unwrap_or(if lapsed { vec![name, "wall-clearance"] } else { vec![name] });
        assert_eq!(found, expected, "{}:\n{}", path.display(), text_of(&report));
        insta::assert_snapshot!(format!("fault-{name}"), text_of(&report));
    }
}

/// What a competent electrician and a tiler would name in each of `examples/first-tries/`, written down by their practice before the
/// checker was asked, and why. A change of a rule that changes what is found here is right only if they would agree.
const FIRST_TRIES: [(&str, &[&str]); 12] = [
    // Tiler: ply on boards is no base for tiles without a backer board, and a 6 mm bed doesn't cover a 6 mm cable. At less than
    // 100 W/m² the wood itself is not in danger.
    ("plywood-on-boards", &["cover", "overboarding"]),
    // Electrician: 3400 W are 14.8 A, over the 13 A of the fuse. All else on the circuit carries it.
    ("plug-fuse", &["breaker"]),
    // Tiler: nothing is laid under a bath, feet or no feet. Electrician: 500 mm from the bath is zone 2, and the box has no IP code.
    ("under-the-bath", &["fixture-overlap", "wet-zone"]),
    // Tiler: half the cable lies in the hole. Electrician: neither the tail nor the sensor's lead leaves anything to connect it with.
    ("to-the-millimetre", &["drill-zone", "sensor-reach", "tail-reach"]),
    // Both: surplus cable can't be rolled up under tiles; and a sensor 150 mm from the wall reads the border, however long its conduit.
    ("half-a-metre-over", &["laid-length", "sensor-depth"]),
    // Floor layer: felt keeps the heat in. Electrician: vinyl bears 27 °C, and the thermostat lets it get 32.
    ("felt-under-vinyl", &["covering-resistance", "floor-limit"]),
    // Electrician: the tail crosses hot pipes. Tiler: it lies where the tray is bedded down.
    ("short-cut", &["tail-over-pipe", "tail-under-fixture"]),
    // Electrician: a multimeter finds no nick; insulation after tiling, the screen and the RCD were never tested.
    ("multimeter", &["insulation-untested", "rcd-untested", "screen-untested"]),
    // Electrician: half the floor gets two thirds more than the other, and the sensor lies in the cooler half and doesn't limit it. That
    // the halves are unlike is the same fault; each is even in itself, and halves of two spacings are laid on purpose too.
    ("two-kits", &["sensor-place"]),
    // Sound: a fall to two fifths is warmth and damp, and no number can be compared with "over range".
    ("damp-and-warm", &[]),
    // Sound: safety extra-low voltage needs neither an RCD nor an earthed screen.
    ("low-voltage", &[]),
    // Sound: screed spreads the heat of runs 150 mm apart; a box of IPX4 may stand in zone 2.
    ("wide-in-screed", &[]),
];

#[test]
fn first_tries_show_what_the_trade_would_name_and_nothing_else() {
    let plans = plans("examples/first-tries");
    let name_of = |path: &Path| path.file_stem().and_then(|stem| stem.to_str()).expect("a name").to_owned();
    let mut listed: Vec<&str> = FIRST_TRIES.iter().map(|(name, _)| *name).collect();
    listed.sort_unstable();
    let mut names: Vec<String> = plans.iter().map(|path| name_of(path)).collect();
    names.sort_unstable();
    assert_eq!(names, listed);
    for path in &plans {
        let name = name_of(path);
        let report = report(path);
        let (_, named) = FIRST_TRIES.iter().find(|(listed, _)| *listed == name).expect("it is listed");
        assert_eq!(rules_found(&report), *named, "{name}:\n{}", text_of(&report));
        // What a first try leaves out is part of its mistake; a sound plan leaves no rule unheld.
        assert!(!named.is_empty() || report.unchecked.is_empty(), "{name}: {:#?}", report.unchecked);
        insta::assert_snapshot!(format!("first-try-{name}"), text_of(&report));
    }
}
