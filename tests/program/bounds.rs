//! Inputs made to take too much time or memory: each comes to a limit, and the limit is told of.

use std::path::Path;

use layrule::alike::{Alike, together};
use layrule::draw::{Request, draw};
use layrule::language::{caps, faults};
use layrule::layout;
use layrule::measure::plan::Measured;
use layrule::model::load::{Library, MOST_TEXT};
use layrule::model::resolve::{MOST_RUNS, resolve};
use layrule::model::values::MOST_FAULTS;
use layrule::rules::packs::{Pack, RuleSet};
use layrule::source::Memory;

use crate::common::{check, check_with, plan, rules_with};

fn messages(faults: &[faults::SyntaxFault]) -> Vec<&str> {
    faults.iter().map(|fault| &*fault.message).collect()
}

/// A room with a cable of so many runs, 7 mm apart.
fn hall(loops: usize) -> String {
    format!(
        "room hall {{\n  outline (0, 0) (9000, 0) (9000, 900000) (0, 900000)\n  cable a {{\n    start (100, 100)\n    \
         loops {loops} of 3900 east, stepping 7 north\n  }}\n}}\n"
    )
}

#[test]
fn faults_of_syntax_are_counted_beyond_those_told() {
    for (text, found) in [("}\n", 5_000), ("let = 1\n", 5_000), ("what is this\n", 5_000)] {
        let faults = layout::parse(&text.repeat(found)).faults;
        assert_eq!(faults.len(), faults::MOST_FAULTS + 1);
        let last = &faults[faults::MOST_FAULTS];
        assert_eq!(last.message, "4000 more faults are not told; the file has 5000");
        assert_eq!(last.span.start(), text.len() * faults::MOST_FAULTS);
        let faults = layrule::rules::parse(&text.repeat(found)).faults;
        assert_eq!(faults.len(), faults::MOST_FAULTS + 1, "{text}");
    }
}

/// A statement beyond those told still spoils what it stands in.
#[test]
fn a_room_with_faults_that_are_not_told_is_incomplete() {
    let text = format!("{}room r {{\n  outline (0, 0) (9, 0) (9, 9)\n  what\n}}\n", "}\n".repeat(2_000));
    let file = layout::parse(&text);
    let layrule::layout::tree::Statement::Room(room) = &file.statements[0] else { panic!("a room") };
    assert!(room.broken);
}

#[test]
fn faults_of_names_and_kits_are_counted_beyond_those_listed() {
    for text in ["let a = 1\n", "kit x {}\n", "let a = nothing\n"] {
        let found = plan(&text.repeat(4_000)).faults;
        assert_eq!(found.len(), MOST_FAULTS + 1, "{text}");
        assert!(found.iter().any(|fault| fault.message.ends_with(" more faults are not listed")), "{text}");
    }
}

#[test]
fn sums_and_lines_without_end_are_not_read() {
    let sum = format!("let a = 1{}\n", "+1".repeat(caps::LONGEST_LINE));
    assert_eq!(messages(&layout::parse(&sum).faults), ["a line is longer than 64 KiB; the file is not read"]);
    let sums = format!("let a = (1{})\n", "\n+1".repeat(caps::MOST_SIGNS));
    let faults = layout::parse(&sums).faults;
    assert!(faults[0].message.starts_with("more than 300000 of `+ - * / , (`"), "{faults:?}");
    assert_eq!(&sums[faults[0].span.range()], "+");
    let within = format!("let a = (1{})\n", "\n+1".repeat(1_000));
    assert!(layout::parse(&within).faults.is_empty());
}

#[test]
fn the_runs_of_all_cables_of_a_plan_are_bounded() {
    let cable = |name: usize| {
        format!("cable c{name} {{\nstart (100, 100)\nloops 40000 of 1000 east, stepping 0.01 north\n}}\n")
    };
    let cables: String = (0..6).map(cable).collect();
    let read = plan(&format!("room r {{\noutline (0, 0) (9000, 0) (9000, 9000) (0, 9000)\n{cables}}}\n"));
    let laid: usize = read.rooms.iter().flat_map(|room| &room.cables).map(|cable| cable.runs.len()).sum();
    assert!(laid <= MOST_RUNS, "{laid}");
    let told = read.faults.iter().filter(|fault| fault.message.contains("more than 200000 runs in all")).count();
    assert_eq!(told, 4);
    assert!(read.faults.iter().all(|fault| fault.advice.is_some()));
}

#[test]
fn what_a_plan_and_its_files_hold_is_bounded() {
    let mut files = Memory::default();
    let mut text = String::new();
    let padding = "# nothing\n".repeat(400_000);
    for number in 0..8 {
        files.insert(format!("plans/{number}.lay"), padding.clone());
        text.push_str(&format!("use \"{number}.lay\"\n"));
    }
    let library = Library::new(&files, "plans", "");
    let plan = resolve(library.load_text(Path::new("plans/plan.lay"), "plan.lay", text));
    let told: Vec<&str> = plan.faults.iter().map(|fault| &*fault.message).collect();
    let fit = MOST_TEXT / padding.len();
    assert_eq!(told, vec!["a plan and what it uses hold more than 16 MiB of text"; 8 - fit]);
    // After the first that is too much none is read.
    assert_eq!(library.asked().len(), fit + 1);
}

#[test]
fn a_sheet_marks_so_many_findings_and_stays_small() {
    let text = hall(900).replace("  cable", "  drill zone rect (50, 50) (8000, 8000)\n  cable");
    let plan = plan(&text);
    let report = check(&text);
    assert!(report.findings.len() > 1_000, "{}", report.findings.len());
    let request = Request { findings: true, ..Request::new(&report.findings) };
    let measured = Measured::new(plan);
    let svg = draw(measured.room(0).expect("a room"), &request).svg;
    assert_eq!(svg.matches("class=\"finding\"").count(), together(&report.findings).len().min(400));
    // Each place has its dot, up to 2,000 of one number.
    let places = |group: &Alike<'_>| group.all.iter().filter(|finding| finding.site.is_some()).count().min(2_000);
    let places: usize = together(&report.findings).iter().map(places).sum();
    assert_eq!(svg.matches("class=\"spot\"").count(), places);
    assert!(svg.len() < 5_000_000, "{}", svg.len());
}

#[test]
fn rugs_over_too_many_runs_are_told_of() {
    let rugs: String =
        (0..1_500).map(|number| format!("  rug r{number} rect (50, 50) (8000, 8000) resistance 0.1 m2K/W\n")).collect();
    let report = check(&hall(900).replace("  cable", &format!("{rugs}  cable")));
    let told = report.unchecked.iter().find(|unchecked| &*unchecked.rule == "rug-sheath");
    assert!(told.is_some_and(|told| told.reason.contains("rugs lie over too many runs")), "{told:?}");
}

/// A rule about runs, with these lines.
fn rule(name: &str, lines: &str) -> String {
    format!("rule {name} {{\nabout \"a\"\nseverity note\nbasis practice\ncheck run in runs\n{lines}\n}}\n")
}

fn unchecked(pack: &str, loops: usize) -> Vec<String> {
    let report = check_with(&hall(loops), &rules_with(pack));
    let own = report.unchecked.iter().filter(|unchecked| unchecked.rule.starts_with("mine"));
    own.map(|unchecked| unchecked.reason.clone()).collect()
}

#[test]
fn rules_count_the_work_they_make_rather_than_the_things_they_gather() {
    let sum = vec!["other.length"; 400].join(" +\n");
    let long = rule("mine", &format!("require sum(other in runs: ({sum})) > 0 mm\nmessage \"m\""));
    assert_eq!(unchecked(&long, 1_000), ["it takes too many steps on this plan"]);
    // Twenty rules of which each would do by itself.
    let counting = |number: usize| {
        rule(&format!("mine-{number}"), "require count(other in runs where other.length > 0 mm) > 0\nmessage \"m\"")
    };
    assert_eq!(unchecked(&counting(0), 800), Vec::<String>::new());
    let many: String = (0..20).map(counting).collect();
    assert!(unchecked(&many, 800).len() > 5);
    let varying = rule("mine", "require run.room.free-area(run.start-distance * 1, 60 mm) > 0 m2\nmessage \"m\"");
    let varying = varying.replace("run.start-distance * 1", "run.wall-distance");
    assert!(!unchecked(&varying, 3_000).is_empty());
}

#[test]
fn rules_count_what_they_say() {
    let text = format!("message {}", format!("\"{}\"\n", "x".repeat(1_000)).repeat(100));
    assert_eq!(unchecked(&rule("mine", &text), 1_000), ["it has more to say of this plan than is kept"]);
    let limits: String = (0..100).map(|number| format!("limit l{number} = {number} mm\n")).collect();
    let used: Vec<String> = (0..100).map(|number| format!("run.length > l{number}")).collect();
    let pack = rule("mine", &format!("require {}\nmessage \"m\"", used.join(" or ")))
        .replace("check", &format!("{limits}check"));
    let faults = RuleSet::build(vec![Pack { name: "mine.rule".into(), text: pack }]).expect_err("too many limits");
    assert!(messages(&faults[0].faults).contains(&"a rule has 64 limits at the most"), "{faults:?}");
}

#[test]
fn packs_and_project_files_are_read_up_to_a_size() {
    let pack = "# nothing\n".repeat(110_000);
    assert!(messages(&layrule::rules::parse(&pack).faults)[0].starts_with("a rule pack holds 1024 KiB at the most"));
    let faults = layrule::project::parse(&"[a]\n".repeat(20_000)).expect_err("it is too large");
    assert_eq!(messages(&faults), ["a project file holds 64 KiB at the most, and this one more"]);
    let faults = layrule::project::parse(&"=\n".repeat(2_000)).expect_err("it is no TOML");
    assert_eq!(faults.len(), 100);
}

/// Lines are not filled up with blanks to the length of one long name or comment among them.
#[test]
fn tidied_texts_stay_as_long_as_they_were() {
    let name = "x".repeat(20_000);
    let lines: String = (0..500).map(|number| format!("  drill d{number} rect (0, 0) (1, 1) # y\n")).collect();
    let text = format!("room r {{\n  drill {name} rect (0, 0) (1, 1) # z\n{lines}}}\n");
    let tidied = layout::tidy::tidy(&text).expect("a plan");
    assert!(tidied.len() < 2 * text.len(), "{} of {}", tidied.len(), text.len());
    assert_eq!(layout::tidy::tidy(&tidied).as_deref(), Ok(&*tidied));
}
