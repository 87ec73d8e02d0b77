//! Each form of the rule language that its page shows, by its effect on one plan. A form that is read and not heeded fails here.

use layrule::checker::Report;
use layrule::finding::{Basis, Severity};

use crate::common::{RULES, check_with, rules_found, rules_with};

/// Six runs: five of cable `a`, 1000, 100, 1000, 100 and 1000 mm long, and one of cable `b`, 1500 mm, which alone has a kit.
const PLAN: &str = "\
kit k {
  output 100 W at 230 V
  length 10 m
  bend-radius 30 mm
}
room r {
  outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)
  thermostat t (4000, 200) height 1200 rated 16 A
  cable a {
    start (300, 300)
    loops 3 of 1000 east, stepping 100 north
  }
  cable b {
    kit k
    start (300, 1300)
    run east 1500
  }
  record {
    delivered 2026-11-02 cable b 529 ohm
    laid 2026-11-04 cable b 529 ohm
    tiled 2026-11-05
  }
}
";

const ALL: &str = "a1 a2 a3 a4 a5 b1";

/// What a rule of these lines reports, with its own messages.
fn report(lines: &str, more: &str) -> Report {
    let rule = |lines: &str| {
        let own = |word: &str, usual: &str| {
            let given = lines.lines().any(|line| line.trim_start().starts_with(word));
            if given { String::new() } else { format!("  {usual}\n") }
        };
        format!(
            "rule ours {{\n{}{}{}{lines}\n{}}}\n{more}\n",
            own("about", "about \"ours\""),
            own("severity", "severity note"),
            own("basis", "basis practice"),
            own("message", "message \"{run.cable.name}{run.number}\""),
        )
    };
    let mut report = check_with(PLAN, &rules_with(&rule(lines)));
    assert!(report.rule_faults.is_empty(), "{lines}: {:?}", report.rule_faults);
    report.findings.retain(|finding| &*finding.rule == "ours");
    report
}

/// The messages, joined by blanks.
fn found(lines: &str) -> String {
    let messages: Vec<String> = report(lines, "").findings.into_iter().map(|finding| finding.message).collect();
    messages.join(" ")
}

/// The runs for which a condition holds, by the lines that say so.
fn holds(condition: &str) -> String {
    let by_line = found(&format!("check run in runs\nwhere {condition}"));
    assert_eq!(found(&format!("check run in runs where {condition}")), by_line, "{condition}");
    assert_eq!(found(&format!("check run in runs\nlet c = {condition}\nwhere c")), by_line, "{condition}");
    // What is required and what is passed over are each other's opposite.
    let failed = found(&format!("check run in runs\nrequire {condition}"));
    let mut both: Vec<&str> = by_line.split_whitespace().chain(failed.split_whitespace()).collect();
    both.sort_unstable();
    assert_eq!(both.join(" "), ALL, "{condition}");
    by_line
}

#[test]
fn conditions_pass_over_what_they_say() {
    assert_eq!(found("check run in runs"), ALL);
    assert_eq!(holds("run.length > 500 mm"), "a1 a3 a5 b1");
    // Several, on the line and on lines of their own.
    assert_eq!(found("check run in runs where run.length > 500 mm\nwhere run.number > 1\nwhere run.number < 5"), "a3");
    assert_eq!(
        found(
            "check run in runs where run.number > 1\nlet least = 500 mm\nwhere run.length > least\nrequire run.number = 5"
        ),
        "a3"
    );
    // `require` is judged last, wherever it stands.
    assert_eq!(found("check run in runs\nrequire run.number < 2\nwhere run.length > 500 mm"), "a3 a5");
    assert_eq!(found("check cable in cables where cable.runs > 4\nmessage \"{cable.name}\""), "a");
    assert_eq!(found("check cable in cables where cable.runs > 100\nmessage \"{cable.name}\""), "");
}

#[test]
fn expressions_mean_what_they_say() {
    for (condition, runs) in [
        // Comparisons, with the grain of lengths; texts, truths, things.
        ("run.length = 1000.0005 mm", "a1 a3 a5"),
        ("run.length != 1000 mm", "a2 a4 b1"),
        ("run.length < 1000.0005 mm", "a2 a4"),
        ("run.length <= 999.9995 mm", "a1 a2 a3 a4 a5"),
        ("run.length > 999.9995 mm", "b1"),
        ("run.length >= 1000.0005 mm", "a1 a3 a5 b1"),
        ("run.cable.name = \"b\"", "b1"),
        ("run.cable.name != \"b\"", "a1 a2 a3 a4 a5"),
        ("run.nearest-wall.outside = false", ALL),
        ("(run.number = 1) = true", "a1 b1"),
        ("count(other in runs where other.cable = run.cable) = 1", "b1"),
        // What binds tighter.
        ("not run.length < 500 mm and run.number > 1", "a3 a5"),
        ("not (run.length < 500 mm and run.number > 2)", "a1 a2 a3 a5 b1"),
        ("not not run.number = 2", "a2"),
        ("run.number = 1 or run.number = 3 and run.length < 500 mm", "a1 b1"),
        ("(run.number = 1 or run.number = 3) and run.length < 1200 mm", "a1 a3"),
        ("run.length = 500 mm + 250 mm * 2", "a1 a3 a5"),
        ("run.length = (1 m + 500 mm) - 2 * 250 mm / 1", "a1 a3 a5"),
        ("run.length = 2000 mm - 500 mm - 500 mm", "a1 a3 a5"),
        ("run.length = 4000 mm / 2 / 2", "a1 a3 a5"),
        ("-run.length + 2500 mm = +1000 mm", "b1"),
        ("run.length / 100 mm = 15", "b1"),
        ("run.length * 50 % = 750 mm", "b1"),
        ("run.length * run.length = 0.01 m2", "a2 a4"),
        // Functions and choices.
        ("min(run.length, 1200 mm, 1100 mm) = 1100 mm", "b1"),
        ("max(run.length, 500 mm) = 500 mm", "a2 a4"),
        ("abs(run.length - 1000 mm) = 900 mm", "a2 a4"),
        ("sqrt(run.length * run.length) = 1500 mm", "b1"),
        ("if run.cable.name = \"b\" then run.length = 1500 mm else run.number = 2", "a2 b1"),
        ("run.number = (if run.cable.name = \"b\" then 1 else if run.length < 500 mm then 4 else 5)", "a4 a5 b1"),
        // What is known.
        ("has run.cable.kit", "b1"),
        ("not has run.cable.kit", "a1 a2 a3 a4 a5"),
        ("has run.cable.kit and run.cable.kit.length = 10 m", "b1"),
        ("has run.cable.kit = false or run.number = 9", "a1 a2 a3 a4 a5"),
        // Over a collection, some and all of it.
        ("count(other in runs) = 6 and run.number = 2", "a2"),
        ("count(other in runs where other.length > 500 mm) = 4 and run.number = 2", "a2"),
        ("sum(other in run.cable.room.cables : other.runs) = 6 and run.number = 2", "a2"),
        ("sum(other in runs where other.length < 500 mm : other.length) = 200 mm and run.number = 2", "a2"),
        ("run.length = least(other in runs where other.number > 2 : other.length)", "a2 a4"),
        ("run.length = greatest(other in runs : other.length)", "b1"),
        ("any(other in runs where other.cable = run.cable : other.length < 500 mm)", "a1 a2 a3 a4 a5"),
        ("all(other in runs where other.cable = run.cable : other.length > 500 mm)", "b1"),
        ("any(other in runs where other.number > 9 : true) or run.number = 2", "a2"),
        ("all(other in runs where other.number > 9 : false) and run.number = 2", "a2"),
        (
            "count(other in runs where count(third in runs where third.cable = other.cable) = 1) = 1 and run.number = 2",
            "a2",
        ),
        // Fields that take a value.
        ("run.cable.room.free-area(0 mm, 60 mm) = 12 m2 and run.number = 2", "a2"),
        ("abs(run.cable.room.free-area(500 mm, 60 mm) - 6 m2) < 1 mm2 and run.number = 2", "a2"),
    ] {
        assert_eq!(holds(condition), runs, "{condition}");
    }
}

#[test]
fn lines_go_on_where_the_page_says() {
    for condition in [
        "run.length >\n 500 mm and\n run.number = 1",
        "run.number = 1 or\n run.number = 3 and run.length +\n 0 mm > 500 mm -\n 0 mm",
        "(\n run.number = 1\n)",
        "if run.number = 1\n then\n true\n else\n run.number = 3 and run.length > 2 *\n 250 mm",
        "min(\n run.number\n,\n 9\n) = 1",
        "count(other in runs\n where other.cable = run.cable) >= 1 and any(\n other in runs\n :\n other.number = run.number) and run.number = 1",
    ] {
        let runs = found(&format!("check run in runs\nwhere {condition}"));
        assert!(runs.starts_with("a1") && runs.ends_with("b1") && !runs.contains("a2"), "{condition}: {runs}");
    }
    let report = report(
        "check run in runs where run.number = 2\nmessage \"one\"\n \"two\"\nadvice \"three\"\n \"four\"\nabout \"five\"\n \"six\"",
        "",
    );
    assert_eq!((&*report.findings[0].message, report.findings[0].advice.as_deref()), ("one two", Some("three four")));
}

#[test]
fn limits_are_used_and_changed() {
    let lines = "limit a = 250 mm \"first\"\nlimit b = a * 2 + 500 mm\ncheck run in runs\nwhere run.length > b";
    let runs = |more: &str| {
        let report = report(lines, more);
        report.findings.iter().map(|finding| finding.message.clone()).collect::<Vec<_>>().join(" ")
    };
    assert_eq!(runs(""), "b1");
    assert_eq!(runs("amend ours { limit a = 249 mm }"), "a1 a3 a5 b1");
    assert_eq!(runs("amend ours { limit b = a }\namend ours { limit a = 1200 mm }"), "b1");
    assert_eq!(runs("amend ours { limit b = 10 mm severity off }"), "");
    // The last counts.
    assert_eq!(runs("amend ours { severity off }\namend ours { severity note  limit b = 10 mm }"), ALL);
    let figures = &report(lines, "").findings[0].figures;
    assert!(figures.iter().any(|figure| figure.limit && figure.name == "b" && figure.text == "1000 mm"), "{figures:?}");
}

#[test]
fn findings_weigh_and_rest_on_what_the_rule_says() {
    for (word, weight) in [("error", Severity::Error), ("warning", Severity::Warning), ("note", Severity::Note)] {
        let lines = format!("severity {word}\ncheck run in runs where run.number = 2");
        assert_eq!(report(&lines, "").findings[0].severity, weight);
        let amended = report("check run in runs where run.number = 2", &format!("amend ours {{ severity {word} }}"));
        assert_eq!(amended.findings[0].severity, weight);
    }
    assert!(report("severity off\ncheck run in runs", "").findings.is_empty());
    let standard = |clause: Option<&str>| Basis::Standard { title: "A 1".into(), clause: clause.map(Into::into) };
    for (line, basis) in [
        ("basis practice", Basis::Practice),
        ("basis maker", Basis::Maker),
        ("basis standard \"A 1\"", standard(None)),
        ("basis standard \"A 1\" clause \"2.3\"", standard(Some("2.3"))),
    ] {
        let rules = rules_with(&format!(
            "rule ours {{\nabout \"x\"\nseverity note\n{line}\nmemory yes\nwhy \"so\"\ncheck run in runs\nmessage \"m\"\n}}"
        ));
        let rule = rules.rule("ours").expect("the rule");
        assert_eq!((&rule.basis, rule.from_memory, rule.why.as_deref()), (&basis, true, Some("so")));
    }
}

#[test]
fn no_deviation_covers_what_a_binding_rule_finds() {
    let plan = |rule: &str| {
        format!(
            "room r {{\n  outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n  deviation {rule} \"agreed\"\n  cable a {{\n    start (500, 40)\n    run east 900\n  }}\n}}\n"
        )
    };
    let ours = |binding: &str| {
        rules_with(&format!(
            "rule ours {{\nabout \"x\"\nseverity error\nbasis practice\n{binding}\ncheck run in runs\nrequire run.wall-distance >= 60 mm\nmessage \"m\"\n}}"
        ))
    };
    let free = check_with(&plan("ours"), &ours(""));
    assert!(free.findings.iter().any(|finding| &*finding.rule == "ours" && finding.accepted.is_some()), "{free:#?}");
    assert!(free.findings.iter().all(|finding| &*finding.rule != "plan"), "{free:#?}");
    let bound = check_with(&plan("ours"), &ours("binding"));
    assert!(bound.findings.iter().any(|finding| &*finding.rule == "ours" && finding.accepted.is_none()), "{bound:#?}");
    let told: Vec<_> = bound.findings.iter().filter(|finding| &*finding.rule == "plan").collect();
    assert!(told.len() == 1 && told[0].message == "no deviation covers `ours`", "{told:#?}");
    // It is not unused besides, nor is that left unchecked.
    assert!(bound.findings.iter().all(|finding| &*finding.rule != "deviation-unused"), "{bound:#?}");
    assert!(bound.unchecked.iter().all(|own| &*own.rule != "deviation-unused"), "{:#?}", bound.unchecked);
}

/// What a limit was called is heeded for one version, with a note that says what it is called now.
#[test]
fn former_names_of_limits_are_heeded() {
    let rules = rules_with("amend laid-length { limit share = 2 % }\n");
    let own = rules.rule("laid-length").expect("the rule");
    let value = |name: &str| own.limits.iter().find(|limit| limit.name == name).map(|limit| limit.text.clone());
    assert_eq!((value("over").as_deref(), value("short").as_deref()), (Some("2 %"), Some("2 %")));
    assert_eq!(rules.notes, ["ours.rule: limit `share` of rule `laid-length` is now called `over` and `short`"]);
    assert!(RULES.notes.is_empty());
    // Nor is it a fault to set what nothing is held to any more.
    let rules = rules_with("amend even-warmth { limit apart = 20 mm }\n");
    assert_eq!(rules.notes, ["ours.rule: limit `apart` of rule `even-warmth` is no more, and sets nothing"]);
    for (rule, former, now) in layrule::rules::check::FORMER_LIMITS {
        let rule = RULES.rule(rule).expect("it is there");
        assert!(rule.limits.iter().all(|limit| limit.name != *former), "{former}");
        assert!(now.iter().all(|now| rule.limits.iter().any(|limit| limit.name == *now)), "{now:?}");
    }
}

#[test]
fn what_shocks_or_burns_binds() {
    let bound: Vec<&str> = RULES.rules.iter().filter(|rule| rule.binding).map(|rule| &*rule.name).collect();
    let page = include_str!("../../grammar/rules.md");
    let told = &page[page.find("these are binding:").expect("the list")..];
    let told = &told[..told.find('.').expect("its end")];
    assert_eq!(told.matches('`').count(), 2 * bound.len());
    assert!(bound.iter().all(|name| told.contains(&format!("`{name}`"))), "{bound:?}");
}

#[test]
fn what_is_not_known_is_not_checked() {
    for lines in ["where run.cable.kit.length > 1 m", "require run.cable.kit.length > 11 m", "needs run.cable.kit"] {
        let report = report(&format!("check run in runs\n{lines}"), "");
        assert_eq!(report.findings.len(), 1, "{lines}: {:?}", report.findings);
        assert_eq!(report.findings[0].message, "b1", "{lines}");
        assert!(report.unchecked.iter().any(|unchecked| &*unchecked.rule == "ours"), "{lines}");
    }
    // Passed over in silence.
    let silent = report("check run in runs where has run.cable.kit", "");
    assert!(silent.findings.len() == 1 && silent.unchecked.iter().all(|unchecked| &*unchecked.rule != "ours"));
    // A condition above spares the question.
    let spared = report("check run in runs\nwhere run.cable.name = \"b\"\nneeds run.cable.kit", "");
    assert!(spared.unchecked.iter().all(|unchecked| &*unchecked.rule != "ours"));
}

#[test]
fn the_first_text_that_applies_is_given() {
    let report = report(
        "check run in runs where run.number < 3 and run.cable.name = \"a\"\n\
         message when run.length < 500 mm\n \"short\"\nmessage \"long\"\n\
         advice when run.length < 500 mm \"{run.length} is short\"\nadvice when has run.cable.kit \"never\"\nadvice \"{run.length} is long\"",
        "",
    );
    let texts: Vec<_> = report.findings.iter().map(|finding| (&*finding.message, finding.advice.as_deref())).collect();
    assert_eq!(texts, [("long", Some("1000 mm is long")), ("short", Some("100 mm is short"))]);
}

#[test]
fn points_mark_what_they_name() {
    let marks = |lines: &str| -> Vec<(String, String)> {
        let report = report(&format!("check run in runs where run.cable.name = \"b\"\n{lines}"), "");
        let text = |place| report.sources.text(place).to_string();
        report.findings[0].marks.iter().map(|mark| (text(mark.place), mark.label.clone())).collect()
    };
    let own = |label: &str| ("run east 1500".to_string(), label.to_string());
    assert_eq!(marks(""), [own("run 1 of cable `b`")]);
    assert_eq!(marks("point run \"here, {run.length}\""), [own("here, 1500 mm")]);
    let both = marks("point run.cable.room.cables \"one\"\npoint run");
    assert_eq!((both.len(), &*both[0].1, &*both[1].1), (3, "one", "one"), "{both:?}");
    // What isn't there is left out.
    assert_eq!(marks("point run.cable.thermostat.contactor \"none\"\npoint run \"here\""), [own("here")]);
}

#[test]
fn collections_take_values_and_dates_are_reckoned_with() {
    let close =
        |minimum: &str| found(&format!("check pair in close-approaches({minimum})\nmessage \"{{pair.distance}}\""));
    assert_eq!(close("100 mm"), "");
    // Each long run to the next, and the first and last to the step beyond.
    assert_eq!(close("120 mm"), "100 mm 100 mm 100 mm 100 mm");
    assert_eq!(
        found("limit m = 60 mm\ncheck pair in close-approaches(m * 2)\nmessage \"{pair.distance}\""),
        "100 mm 100 mm 100 mm 100 mm"
    );
    let dated =
        |condition: &str| found(&format!("check reading in readings where {condition}\nmessage \"{{reading.date}}\""));
    assert_eq!(dated("reading.date >= 2026-11-03"), "2026-11-04");
    assert_eq!(dated("2026-11-05 - reading.date > 2 days"), "2026-11-02");
    assert_eq!(dated("reading.date + 1 days < 2026-11-04"), "2026-11-02");
}

#[test]
fn a_rule_says_nothing_beside_those_that_say_more() {
    let rule = |name: &str, lines: &str| {
        format!(
            "rule {name} {{\n about \"a\"\n severity warning\n basis practice\n{lines}\n check room in rooms\n \
             message \"{name} of {{round-up(room.area / 7000 mm, 0.5 m)}}\"\n}}\n"
        )
    };
    let text = "room r {\n outline (0, 0) (2000, 0) (2000, 1000) (0, 1000)\n}\n";
    let ours = rules_with(&(rule("first", "") + &rule("second", " unless first")));
    let report = check_with(text, &ours);
    let own: Vec<_> = report.findings.iter().filter(|one| ["first", "second"].contains(&&*one.rule)).collect();
    // 2 m2 over 7 m are 286 mm.
    assert_eq!(own.iter().map(|one| one.message.as_str()).collect::<Vec<_>>(), ["first of 500 mm"]);
    assert!(own[0].marks.iter().any(|mark| mark.label.contains("second of 500 mm")), "{:?}", own[0].marks);
    let off = rules_with(&(rule("first", "").replace("warning", "off") + &rule("second", " unless first")));
    assert!(rules_found(&check_with(text, &off)).contains(&"second".to_string()));
    let mut packs = layrule::rules::packs::built_in();
    packs.push(layrule::rules::packs::Pack { name: "ours.rule".into(), text: rule("second", " unless frist") });
    let faults = layrule::rules::packs::RuleSet::build(packs).expect_err("no such rule");
    assert_eq!(faults[0].faults[0].message, "there is no rule `frist`");
}
