//! Slips of people who write their first plan: what each is told, where, and what to write instead.

use layrule::checker::{self, Report};
use layrule::finding::ids;
use layrule::model::load::Library;
use layrule::source::Memory;
use std::path::Path;

use crate::common::{RULES, TODAY, check, rules_found, rules_with};

fn room(inside: &str) -> String {
    format!("room r {{\noutline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n{inside}\n}}\n")
}

/// What a text is told of its faults of reading: the message, what it marks and the advice.
fn told(text: &str) -> Vec<(String, String, String)> {
    let report = check(text);
    let reading = report.findings.iter().filter(|finding| ids::ALL.contains(&&*finding.rule));
    reading
        .map(|finding| {
            let marked = text[finding.place().span.range()].to_string();
            (finding.message.clone(), marked, finding.advice.clone().unwrap_or_default())
        })
        .collect()
}

#[test]
fn each_slip_is_told_by_its_name() {
    let comma = |number: &str| format!("`{number}` has a decimal comma");
    for (text, message, marked, advice) in [
        (room("fixture f rect (0, 0) (475,4 , 600)"), comma("475,4"), "475,4", "write `475.4`"),
        (room("fixture f rect (0, 0) (600, 475,4)"), comma("475,4"), "475,4", "write `475.4`"),
        (room("door d wall 1 from 300 mm to 1,2 m"), comma("1,2"), "1,2", "write `1.2`"),
        (
            room("fixture f rect (0, 0) (1,200 , 600)"),
            comma("1,200"),
            "1,200",
            "write `1.200`, or `1200` where the comma parts thousands",
        ),
        (
            room("door wall 1 from 300 to 1200"),
            "this `door` has no name: one stands before `wall`".into(),
            "wall",
            "write `door NAME wall …`",
        ),
        (
            room("fixture rect (0, 0) (600, 600)"),
            "this `fixture` has no name: one stands before `rect`".into(),
            "rect",
            "write `fixture NAME rect …`",
        ),
        (
            room("thermostat t (0, 900) rated 16 A height 1200"),
            "`height` stands too late in this `thermostat`: it goes before `rated`".into(),
            "height",
            "it is written `thermostat NAME (X, Y) height 1200 rated 16 A limit 27 degC behind 16 A on SUPPLY`",
        ),
        (
            "kit k {\n output 420 W at 230 V\n length 42 m\n resistance 126.3 Ω\n}\n".into(),
            "no unit is called `Ω`".into(),
            "Ω",
            "did you mean `ohm`?",
        ),
        (room("inside 20 °C"), "no unit is called `°C`".into(), "°C", "did you mean `degC`?"),
        (
            "supply s {\n conductor 2.5 mm² copper, 9 m, method C\n}\n".into(),
            "no unit is called `mm²`".into(),
            "mm²",
            "did you mean `mm2`?",
        ),
        (room("heat-loss 300 watts"), "no unit is called `watts`".into(), "watts", "the units are `W` and `kW`"),
        (
            room("drill d circle (600, 600) radius 2 inch"),
            "no unit is called `inch`".into(),
            "inch",
            "did you mean `in`?",
        ),
        (
            "kit \"cable\" {\n output 420 W at 230 V\n length 42 m\n}\n".into(),
            "the name of this `kit` stands in quotation marks".into(),
            "\"cable\"",
            "write `cable`; a title in quotation marks may follow where the statement has one",
        ),
        (
            room("fixture \"bath tub\" rect (0, 0) (600, 600)"),
            "`\"bath tub\"` can't stand here in this `fixture`: expected a name".into(),
            "\"bath tub\"",
            "it is written `fixture NAME KIND raised 150 open SHAPE`",
        ),
    ] {
        assert_eq!(told(&text), [(message, marked.to_string(), advice.to_string())], "{text}");
    }
}

#[test]
fn commas_that_are_none_of_a_number_are_left_alone() {
    for inside in ["fixture f rect (0,0) (600,600)", "fixture f rect (0,0,5) (9, 9)"] {
        let told = told(&room(inside));
        assert!(told.iter().all(|(message, ..)| !message.contains("decimal comma")), "{told:?}");
    }
}

#[test]
fn feet_and_inches_are_lengths_of_both_languages() {
    let drawn = |length: &str| room(&format!("fixture f rect (0, 0) ({length}, 600)"));
    let rules = rules_with(
        "rule wide {\n about \"Wide\"\n severity note\n basis practice\n limit most = 2 ft\n check room in rooms\n \
         require sqrt(room.area) <= most + 20 in\n message \"{most}\"\n}\n",
    );
    let report = crate::common::check_with(&drawn("2 ft"), &rules);
    let wide = report.findings.iter().find(|finding| &*finding.rule == "wide").expect("12 m2 are wider");
    assert_eq!(wide.message, "609.6 mm");
    for (length, other) in [("2 ft", "609.6"), ("10 in", "254"), ("1 ft + 10 in", "304.8 + 254")] {
        let corner = |length: &str| {
            let plan = crate::common::plan(&drawn(length));
            format!("{:?}", plan.rooms[0].areas[0].shape)
        };
        assert_eq!(corner(length), corner(other));
    }
}

#[test]
fn polygons_may_end_where_they_began() {
    let drawn = |last: &str| room(&format!("fixture f polygon (600, 600) (1200, 600) (1200, 1200){last}"));
    let shape = |text: &str| format!("{:?}", crate::common::plan(text).rooms[0].areas[0].shape);
    assert_eq!(shape(&drawn(" (600, 600)")), shape(&drawn("")));
    // Three corners of which two are one enclose nothing.
    let flat = room("fixture f polygon (600, 600) (1200, 600) (600, 600)");
    assert!(told(&flat).iter().any(|(message, ..)| message == "this shape has no area"));
}

#[test]
fn a_line_that_cant_be_read_is_the_only_fault_of_its_cable() {
    for lines in ["start (500, 500)\nrun east 1 parsec", "start 500, 500\nrun east 1 m"] {
        let told = told(&room(&format!("cable a {{\n{lines}\n}}")));
        assert_eq!(told.len(), 1, "{told:?}");
    }
}

/// The report on a plan beside which there is `plans/kits.lay`.
fn beside_kits(text: &str) -> Report {
    let mut files = Memory::default();
    files.insert("plans/kits.lay", "kit k {\n output 420 W at 230 V\n length 42 m\n}\n");
    let library = Library::new(&files, "plans", "");
    checker::check(library.load_text(Path::new("plans/plan.lay"), "plan.lay", text.into()), &RULES, TODAY)
}

#[test]
fn a_file_that_isnt_there_is_the_only_fault_of_what_it_should_hold() {
    let plan = |file: &str| {
        let inside = "cable a {\nkit k\nstart (edge, 500)\nrun east 1 m\n}\nfloor timber {\nslab 20 mm marble-chips\n}";
        let values = "thermostat t (0, 900) rated 16 A on spur";
        format!("use \"{file}\"\n{}", room(&format!("{inside}\n{values}")))
    };
    let reading = |report: &Report| -> Vec<(String, String)> {
        let faults = report.findings.iter().filter(|finding| ids::ALL.contains(&&*finding.rule));
        faults.map(|finding| (finding.message.clone(), finding.advice.clone().unwrap_or_default())).collect()
    };
    let missing = |file: &str| format!("`{file}` can't be used: there is no such file");
    let far = "check the path, which starts from this file's folder; where the plan was sent to you, ask for `tiles.lay` too, or for a bundle";
    assert_eq!(reading(&beside_kits(&plan("tiles.lay"))), [(missing("tiles.lay"), far.to_string())]);
    let near = beside_kits(&plan("Kits.lay"));
    assert_eq!(reading(&near), [(missing("Kits.lay"), "did you mean `kits.lay`?".to_string())]);
    assert_eq!(near.findings[0].fix.as_ref().map(|fix| &*fix.title), Some("write `\"kits.lay\"`"));
    // Once it is there, each name that it doesn't hold is a fault.
    assert_eq!(reading(&beside_kits(&plan("kits.lay"))).len(), 3);
    assert!(rules_found(&beside_kits(&plan("kits.lay"))).contains(&ids::NAME.to_string()));
}
