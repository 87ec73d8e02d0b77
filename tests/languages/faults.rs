//! Each kind of fault of reading: a plan that shows it, and the words in which it is told.

use std::fmt::Write as _;
use std::path::Path;

use layrule::checker::{Report, check_plan};
use layrule::finding::Finding;
use layrule::measure::plan::Measured;
use layrule::model::fault::{Fault, Words};
use layrule::model::load::{Library, MOST_FILES, MOST_TEXT};
use layrule::model::resolve::{MOST_RUNS, resolve};
use layrule::source::Memory;

use crate::common::{RULES, TODAY};

const OUTLINE: &str = "outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)";
const KIT: &str = "kit k {\n output 420 W at 230 V\n length 42 m\n}\n";

fn room(lines: &str) -> String {
    format!("room r {{\n {OUTLINE}\n {lines}\n}}\n")
}

fn drawn(outline: &str) -> String {
    format!("room r {{\n {outline}\n}}\n")
}

fn cable(lines: &str) -> String {
    room(&format!("cable a {{\n {lines}\n }}"))
}

fn floor(layers: &str) -> String {
    room(&format!("floor concrete {{\n {layers}\n }}"))
}

fn record(lines: &str) -> String {
    room(&format!("record {{\n {lines}\n }}"))
}

/// A record beside a cable `a`.
fn labelled(lines: &str) -> String {
    room(&format!("cable a {{\n start (500, 500)\n run east 1 m\n }}\n record {{\n {lines}\n }}"))
}

fn table(columns: &str, lines: &str) -> String {
    format!("kits \"make\" {{\n voltage 230 V\n columns {columns}\n {lines}\n}}\n")
}

/// A polygon of many corners, on a circle of 1 m.
fn corners(count: usize) -> String {
    let corner = |index: usize| {
        let angle = index as f64 / count as f64 * std::f64::consts::TAU;
        format!("({:.3}, {:.3})", 1500.0 + 1000.0 * angle.cos(), 1500.0 + 1000.0 * angle.sin())
    };
    (0..count).map(corner).collect::<Vec<_>>().join("\n")
}

/// A plan that shows the fault of each kind, in the order in which the kinds are listed.
fn plans() -> Vec<(&'static str, String)> {
    let many_uses: String = (0..MOST_FILES).map(|index| format!("use \"many/{index}.lay\"\n")).collect();
    let layers = "screed 1 mm\n ".repeat(31);
    let joints: String = (0..2_001).map(|index| format!("joint j{index} (0, 0) (1, 1)\n ")).collect();
    let wide = format!("loops {} of 1 east, stepping 5 north\n loops 9 of 1 east, stepping 5 north", MOST_RUNS / 2);
    let two_thermostats = "thermostat s (0, 0) rated 16 A\n thermostat t (0, 9) rated 16 A\n";
    let channel = "thermostat t (0, 500) rated 16 A\n cable a {\n start (500, 500)\n loops 3 of 1 m east, stepping 75 north\n }\n";
    let tail = "junction j (0, 500)\n cable a {\n kit k\n start (500, 500)\n run east 1 m\n";
    vec![
        ("NothingToCheck", "# Nothing yet.\n".into()),
        ("NoRelativePath", "use \"/kits.lay\"\n".into()),
        ("UsesOutside", "use \"../kits.lay\"\n".into()),
        ("UsesAstray", "use \".git/kits.lay\"\n".into()),
        ("UsesNoPlan", "use \"kits.txt\"\n".into()),
        ("UsesItself", "use \"round.lay\"\n".into()),
        ("TooManyFiles", many_uses),
        ("TooMuchText", "use \"large.lay\"\n".into()),
        ("UsesUnreadable", "use \"missing.lay\"\n".into()),
        ("NameTwice", format!("{KIT}{KIT}")),
        ("UnknownName", format!("{KIT}{}", cable("kit kk\n start (500, 500)\n run east 1 m"))),
        ("UnknownMaterial", floor("screeed 40 mm")),
        ("UnknownRule", room("deviation wall-clearence \"agreed\"")),
        ("UnknownWall", room("wall 5 outside")),
        ("GivenTwice", room("inside 20 degC\n inside 21 degC")),
        ("GivesNo", "kit k {\n length 42 m\n}\n".into()),
        ("NoBearing", "north 400 deg\n".into()),
        ("NoDay", record("switched-on 2026-02-30")),
        ("NoConductivity", "material fluff {\n conductivity 900 W/mK\n}\n".into()),
        ("NoHeatCapacity", "material fluff {\n conductivity 0.1 W/mK\n heat-capacity 9 MJ/m3K\n}\n".into()),
        ("NoResistance", floor("air 200 m2K/W")),
        ("NoGroup", "supply s {\n voltage 230 V\n grouped 2.5\n}\n".into()),
        (
            "TooHot",
            "supply s {\n voltage 230 V\n ambient 61 degC\n conductor 2.5 mm2 copper, 9 m, method C\n}\n".into(),
        ),
        ("TooManyLayers", floor(&layers)),
        ("CableInTwoLayers", floor("screed 40 mm cable at 10 mm\n concrete 40 mm cable at 10 mm")),
        ("LayerOfNoThickness", floor("air 0.2 m2K/W mortar")),
        ("CableAboveLayer", floor("screed 40 mm cable at 50 mm")),
        (
            "NoTolerance",
            "kit k {\n output 420 W at 230 V\n length 42 m\n resistance 126 ohm, +10 % to -5 %\n}\n".into(),
        ),
        (
            "KitContradictsItself",
            "kit k {\n output 420 W at 230 V\n length 42 m\n resistance 90 ohm, -5 % to +10 %\n}\n".into(),
        ),
        ("NoSuchCores", "kit k {\n output 420 W at 230 V\n length 42 m\n cores 3\n}\n".into()),
        ("TableGivesNo", "kits {\n k 420 W 42 m\n}\n".into()),
        ("TableHasNoColumn", table("length", "k 42 m")),
        ("ColumnTwice", table("output length output", "k 420 W 42 m 420 W")),
        ("ColumnAndLine", table("output length diameter", "diameter 6 mm\n k 420 W 42 m 5 mm")),
        ("NoColumnFor", table("output length", "spacing 80\n k 420 W 42 m")),
        ("CellsDiffer", table("output length", "k 420 W 42 m 126 ohm")),
        ("CellOfAnother", table("output length", "k 420 W 500 by 6 m")),
        ("TooManyStatements", room(&joints)),
        ("NoOutline", "room r {\n inside 20 degC\n}\n".into()),
        ("TwoOutlines", room(OUTLINE)),
        ("OutlineTooShort", drawn("outline (0, 0) (4000, 0)")),
        ("OutlineTooLong", drawn(&format!("outline {}", corners(10_001)))),
        ("OutlineOfNoArea", drawn("outline (0, 0) (4000, 0) (2000, 0)")),
        ("WallOfNoLength", drawn("outline (0, 0) (4000, 0) (4000, 0) (0, 3000)")),
        ("OutlineCrossesItself", drawn("outline (0, 0) (4000, 3000) (4000, 0) (0, 3000)")),
        ("WallTwice", room("wall 1 outside\n wall 1 \"south wall\"")),
        ("DoorOffWall", room("door d wall 1 from 3500 to 4300")),
        ("OutsideRoom", room("fixture bath rect (5000, 0) (6000, 700)")),
        ("ShapeTooShort", room("drill d polygon (0, 0) (500, 0)")),
        ("ShapeTooLong", room(&format!("drill d polygon {}", corners(10_001)))),
        ("ShapeOfNoArea", room("drill d rect (500, 500) (500, 900)")),
        ("ShapeCrossesItself", room("drill d polygon (0, 0) (500, 500) (500, 0) (0, 500)")),
        ("StripGoesNowhere", room("drill d strip (500, 500) (500, 500) width 100")),
        ("StripDoublesBack", room("drill d strip (500, 500) (900, 500) (600, 500) width 100")),
        ("LineGoesNowhere", room("joint j (500, 500) (500, 500)")),
        ("LevelOfNoHeight", room("level l 0 mm rect (500, 500) (900, 900)")),
        ("StartsTwice", cable("start (500, 500)\n run east 1 m\n start (500, 900)")),
        ("RunsBeforeStart", cable("run east 1 m\n start (500, 500)")),
        ("NoStart", cable("kit k")),
        ("NoRun", cable("start (500, 500)")),
        ("RunOfNoLength", cable("start (500, 500)\n run to (500, 500)")),
        ("TooManyRuns", cable(&format!("start (500, 500)\n {wide}"))),
        ("LoopsInParts", cable("start (500, 500)\n loops 2.5 of 1 m east, stepping 75 north")),
        ("TooManyLoops", cable("start (500, 500)\n loops 1000000 of 1 m east, stepping 75 north")),
        ("NotAhead", cable("start (500, 500)\n run east to wall 4")),
        ("ReachesNoFurther", cable("start (500, 500)\n run west to wall 4 less 600")),
        ("RestOfNoKit", cable("start (500, 500)\n run east rest")),
        (
            "NoRest",
            format!(
                "{KIT}{}",
                cable("kit k\n start (500, 500)\n loops 20 of 3 m east, stepping 75 north\n run west rest")
            ),
        ),
        ("UnknownRun", room(&format!("{channel} sensor s from t between runs 3 and 9 depth 500"))),
        ("RunsOfWhichCable", room("thermostat t (0, 500) rated 16 A\n sensor s from t between runs 1 and 3 depth 500")),
        ("NoChannel", room(&format!("{channel} sensor s from t between runs 1 and 2 depth 500"))),
        ("NoWayIn", room(&format!("{channel} sensor s from t between runs 3 and 5 depth 500"))),
        ("ChannelTooShort", room(&format!("{channel} sensor s from t between runs 1 and 3 depth 5 m"))),
        ("LoopsAlongRuns", cable("start (500, 500)\n loops 9 of 1 m east, stepping 75 west")),
        ("NoThermostatNamed", room(&format!("{two_thermostats} cable a {{\n start (500, 500)\n run east 1 m\n }}"))),
        ("TailEndsElsewhere", room(&format!("{tail} tail j (0, 500) (500, 600)\n }}"))),
        ("SecondTailEndsElsewhere", room(&format!("{tail} second-tail j (500, 600)\n }}"))),
        ("TailFromItself", room(&format!("{tail} tail cable a (1500, 500) (500, 500)\n }}"))),
        ("NoSignature", record("signed \" \" 2026-11-25")),
        ("EmptyNote", record("note 2026-11-25 \" \"")),
        ("EmptyInRecord", record("photo 2026-11-25 \" \"")),
        ("EmptyLabel", labelled("label cable a serial \" \"")),
        ("LabelTwice", labelled("label cable a serial \"1\"\n label cable a serial \"2\"")),
        ("NoReason", room("deviation wall-clearance \" \"")),
        ("BindingRule", room("deviation rcd \"agreed\"")),
        ("ValueTwice", "let a = 1\nlet a = 2\n".into()),
        ("NoValue", "let edge = 60\nlet b = edge-50\n".into()),
        ("OtherDimension", room("inside 20 A")),
        ("TooCold", room("inside -300 degC")),
        ("NotMoreThanNothing", "kit k {\n output 420 W at 230 V\n length 0 m\n}\n".into()),
        ("LessThanNothing", "supply s {\n voltage 230 V\n in-insulation -5 mm\n}\n".into()),
        ("OutOfReach", drawn("outline (0, 0) (2000000, 0) (0, 3000)")),
        ("TooLarge", "let a = 20000000 m\n".into()),
        ("Arithmetic", "let a = 3 m + 2 A\n".into()),
        ("MoreFaults", "let a = 1 / 0\n".repeat(1_002)),
    ]
}

/// The report on a plan that may use files, none of them sound.
fn report_on(text: String) -> Report {
    let mut files = Memory::default();
    files.insert("plans/round.lay", "use \"plan.lay\"\n");
    files.insert("plans/large.lay", "# nothing\n".repeat(MOST_TEXT / 10 + 1));
    for index in 0..MOST_FILES {
        files.insert(format!("plans/many/{index}.lay"), "# nothing\n");
    }
    let library = Library::new(&files, "plans", "");
    let plan = resolve(library.load_text(Path::new("plans/plan.lay"), "plan.lay", text));
    check_plan(&Measured::new(plan), &RULES, TODAY)
}

/// Whether a text is what words become once what is in braces is filled in.
fn fills(words: &str, text: &str) -> bool {
    let mut pattern = String::from("^");
    for part in words.split_inclusive('}') {
        let (plain, filled) = part.split_once('{').map_or((part, ""), |(plain, _)| (plain, ".*"));
        pattern += &fancy_regex::escape(plain);
        pattern += filled;
    }
    fancy_regex::Regex::new(&(pattern + "$")).expect("a pattern").is_match(text).expect("a short text")
}

fn is_of(words: &Words, finding: &Finding) -> bool {
    *finding.rule == *words.id
        && fills(words.message, &finding.message)
        && fills(words.label, &finding.marks[0].label)
        && fills(words.advice, finding.advice.as_deref().unwrap_or_default())
}

#[test]
fn each_kind_of_fault_is_shown_by_a_plan() {
    let plans = plans();
    let listed: Vec<&str> = Fault::WORDS.iter().map(|words| words.kind).collect();
    let shown: Vec<&str> = plans.iter().map(|(kind, _)| *kind).collect();
    assert_eq!(shown, listed);
    let (mut told, mut wrong) = (String::new(), Vec::new());
    for ((kind, text), words) in plans.into_iter().zip(Fault::WORDS) {
        let report = report_on(text);
        let of_kind: Vec<&Finding> = report.findings.iter().filter(|finding| is_of(words, finding)).collect();
        let [finding] = of_kind[..] else {
            let messages = report.findings.iter().map(|finding| &finding.message);
            wrong.push((kind, messages.cloned().collect::<Vec<_>>()));
            continue;
        };
        writeln!(told, "{kind}: {}: {}", finding.rule, finding.message).expect("a string");
        for mark in &finding.marks {
            writeln!(told, "    {}: {}", report.sources.file_and_line(mark.place), mark.label).expect("a string");
        }
        if let Some(advice) = &finding.advice {
            writeln!(told, "    = {advice}").expect("a string");
        }
        if let Some(fix) = &finding.fix {
            writeln!(told, "    > {}", fix.title).expect("a string");
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    insta::assert_snapshot!(told);
}
