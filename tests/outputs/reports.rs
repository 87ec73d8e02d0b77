//! What is written for other programs, read back by the means of those who will read it, whatever a plan holds.

use std::sync::LazyLock;

use serde_json::Value;

use crate::common::program::{Folder, NEAR_WALL, SOUND, run};
use crate::common::root;

/// OASIS's own schema of SARIF 2.1.0, as the crate serde-sarif 0.8.0 carries it (`src/schema.json`). One of its patterns, for languages,
/// has a bracket too many, which strict readers of patterns refuse; it is given its escape here.
static SARIF: LazyLock<jsonschema::Validator> = LazyLock::new(|| {
    let text = include_str!("../reference/sarif-schema-2.1.0.json");
    let mended = text.replace("[a-zA-Z]{2}]?$", "[a-zA-Z]{2}\\\\]?$");
    assert_ne!(text, mended);
    let schema: Value = serde_json::from_str(&mended).expect("JSON");
    jsonschema::options().should_validate_formats(true).build(&schema).expect("a schema")
});

fn sarif(text: &str) -> Value {
    let log: Value = serde_json::from_str(text).unwrap_or_else(|error| panic!("{error}:\n{text}"));
    let faults: Vec<String> =
        SARIF.iter_errors(&log).map(|error| format!("{}: {error}", error.instance_path())).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    log
}

fn junit(text: &str) -> quick_junit::Report {
    quick_junit::Report::deserialize_from_str(text).unwrap_or_else(|error| panic!("{error}:\n{text}"))
}

fn results(log: &Value) -> &Vec<Value> {
    log["runs"][0]["results"].as_array().expect("results")
}

/// A plan whose words are what the outputs must not obey.
const HOSTILE: &str = "room r \"<script>alert(1)</script> | {0} [x](http://a) `c` & 'q' @all ]]>\" {\n  outline (0, 0) (1000, 0) (1000, 300) (0, 300)\n  wall 1 \"a | b <b> \u{7} ]]> & é 🜂\"\n  cable a {\n    start (100, 40)\n    run east 800\n  }\n}\n";

#[test]
fn sarif_follows_the_published_schema() {
    let (_, text, _) = run(&root(), &["check", "examples", "--date", "2026-11-25", "--output", "sarif"]);
    let log = sarif(&text);
    let rules = log["runs"][0]["tool"]["driver"]["rules"].as_array().expect("rules");
    assert_eq!(log["runs"][0]["columnKind"], "utf16CodeUnits");
    assert!(results(&log).len() > 50);
    for found in results(&log) {
        // Each result speaks of the rule it names.
        let place = usize::try_from(found["ruleIndex"].as_u64().expect("a place")).expect("it is small");
        assert_eq!(rules[place]["id"], found["ruleId"]);
        let at = &found["locations"][0]["physicalLocation"]["artifactLocation"];
        assert_eq!(at["uriBaseId"], "PROJECT");
        assert!(at["uri"].as_str().is_some_and(|uri| uri.starts_with("examples/")), "{at}");
    }
    let clearance = rules.iter().find(|rule| rule["id"] == "wall-clearance").expect("the rule");
    for part in ["Basis: common practice", "clearance = 50 mm", "How it is checked"] {
        assert!(clearance["help"]["text"].as_str().is_some_and(|help| help.contains(part)), "{clearance}");
    }
    assert_eq!(clearance["defaultConfiguration"]["level"], "error");
    let wall = results(&log).iter().find(|found| found["ruleId"] == "wall-clearance").expect("a finding");
    assert_eq!(wall["relatedLocations"][0]["message"]["text"], "this wall");
    // An agreed departure is a suppression, with its reason.
    let agreed: Vec<&Value> =
        results(&log).iter().filter_map(|found| found["suppressions"].as_array()).flatten().collect();
    assert!(!agreed.is_empty());
    for one in agreed {
        assert_eq!((&one["kind"], &one["status"]), (&"inSource".into(), &"accepted".into()));
        assert!(one["justification"].as_str().is_some_and(|reason| !reason.is_empty()));
    }
}

#[test]
fn sarif_columns_and_addresses_are_as_its_readers_count() {
    // The mark follows two characters of which one is two code units, and three of one.
    let plan = NEAR_WALL.replace("room r {", "room r \"🜂\" { nonsense here");
    let folder = Folder::new(&[("räume/a b#1%.lay", &plan)]);
    let (_, text, _) = folder.run(&["check", ".", "--output", "sarif"]);
    let log = sarif(&text);
    let place = &results(&log)[0]["locations"][0]["physicalLocation"];
    assert_eq!(place["artifactLocation"]["uri"], "r%C3%A4ume/a%20b%231%25.lay");
    let column = usize::try_from(place["region"]["startColumn"].as_u64().expect("a column")).expect("it is small");
    let line = plan.lines().next().expect("a line");
    let units: Vec<u16> = line.encode_utf16().collect();
    let rest = String::from_utf16(&units[column - 1..]).expect("a boundary");
    assert!(rest.starts_with("nonsense"), "column {column} stands at `{rest}`");
}

#[test]
fn fingerprints_survive_unrelated_edits() {
    let prints = |plan: &str| {
        let folder = Folder::new(&[("near.lay", plan)]);
        let (_, text, _) = folder.run(&["check", "near.lay", "--output", "sarif"]);
        let log = sarif(&text);
        let mut prints: Vec<String> = results(&log)
            .iter()
            .filter(|found| found["ruleId"] == "wall-clearance")
            .map(|found| found["partialFingerprints"]["layruleFinding/v1"].as_str().expect("one").to_string())
            .collect();
        prints.sort();
        prints
    };
    let before = prints(NEAR_WALL);
    assert_eq!(before.len(), 1);
    // Lines come before it, its own is laid out otherwise, and the wall it is too near to moves.
    let moved = NEAR_WALL
        .replace("room r {", "# A note.\n\nlet pitch = 75\n\nroom r {")
        .replace("    run east 800", "  run   east  800   # to the door")
        .replace("(1000, 0) (1000, 300)", "(1100, 0) (1100, 300)");
    assert_eq!(before, prints(&moved));
    assert_ne!(before, prints(&NEAR_WALL.replace("run east 800", "run east 810")));
    // Findings that are alike are told apart.
    let two = NEAR_WALL.replace("    run east 800", "    run east 300\n    run east 300");
    let two = prints(&two);
    assert!(two.len() == 2 && two[0] != two[1], "{two:?}");
}

#[test]
fn junit_has_a_suite_a_plan_and_a_case_a_rule() {
    let (_, text, _) = run(&root(), &["check", "examples", "--date", "2026-11-25", "--output", "junit"]);
    let report = junit(&text);
    assert!(report.test_suites.len() > 30);
    let on = crate::common::RULES.rules.iter().filter(|rule| rule.severity.is_some()).count();
    for suite in &report.test_suites {
        assert_eq!(suite.test_cases.len(), on + layrule::finding::ids::ALL.len(), "{}", suite.name.as_str());
        assert_eq!(suite.tests, suite.test_cases.len());
        let failing = |case: &&quick_junit::TestCase| {
            matches!(
                &case.status,
                quick_junit::TestCaseStatus::NonSuccess { kind: quick_junit::NonSuccessKind::Failure, .. }
            )
        };
        let own: Vec<&str> = suite.test_cases.iter().filter(failing).map(|case| case.name.as_str()).collect();
        assert_eq!(suite.failures, own.len());
        if let Some(fault) =
            suite.name.as_str().strip_prefix("examples/faults/").and_then(|name| name.strip_suffix(".lay"))
        {
            let weight = crate::common::RULES.rule(fault).and_then(|rule| rule.severity);
            assert_eq!(own.contains(&fault), weight == Some(layrule::finding::Severity::Error), "{fault}: {own:?}");
        }
    }
    // What fails a run fails its case.
    let cold = SOUND.replace("(1000, 300) (0, 300)", "(1000, 900) (0, 900)");
    let folder = Folder::new(&[("cold.lay", &cold)]);
    let failures = |arguments: &[&str]| junit(&folder.run(arguments).1).test_suites[0].failures;
    assert_eq!(failures(&["check", "cold.lay", "--output", "junit"]), 0);
    assert_eq!(failures(&["check", "cold.lay", "--output", "junit", "--fail-on", "warning"]), 1);
}

#[test]
fn json_lines_follow_their_schema() {
    let mut schema: Value = serde_json::from_str(include_str!("../../grammar/findings.schema.json")).expect("JSON");
    let whole = schema.as_object_mut().expect("an object");
    for key in ["type", "properties", "required", "additionalProperties"] {
        whole.remove(key);
    }
    whole.insert("$ref".into(), "#/$defs/line".into());
    let schema = jsonschema::validator_for(&schema).expect("a schema");
    let (_, text, _) = run(&root(), &["check", "examples", "--date", "2026-11-25", "--output", "json-lines"]);
    let mut kinds = std::collections::BTreeMap::new();
    for line in text.lines() {
        let line: Value = serde_json::from_str(line).expect("JSON");
        let faults: Vec<String> = schema.iter_errors(&line).map(|error| error.to_string()).collect();
        assert!(faults.is_empty(), "{line}: {faults:#?}");
        *kinds.entry(line["line"].as_str().expect("its kind").to_string()).or_insert(0) += 1;
    }
    assert_eq!((kinds["opening"], kinds["summary"]), (1, 1));
    assert!(kinds["plan"] > 30 && kinds["finding"] > 50, "{kinds:?}");
}

#[test]
fn words_of_a_plan_stay_words() {
    let folder = Folder::new(&[("odd | <name>\n.lay", HOSTILE)]);
    let arguments = ["--output", "sarif=f.sarif", "--output", "junit=f.xml", "--output", "markdown=f.md"];
    let (code, _, _) = folder.run(&[&["check", "."], &arguments[..]].concat());
    assert_eq!(code, 1);
    let read = |name: &str| std::fs::read_to_string(folder.path(name)).expect("it is there");
    let log = sarif(&read("f.sarif"));
    let wall = results(&log).iter().find(|found| found["ruleId"] == "wall-clearance").expect("a finding");
    let text = wall["message"]["text"].as_str().expect("a text");
    assert!(text.contains("a | b <b> \u{fffd} ]]> & é 🜂"), "{text}");
    let report = junit(&read("f.xml"));
    let suite = &report.test_suites[0];
    assert_eq!(suite.name.as_str(), "./odd | <name>\u{fffd}.lay");
    let failed = suite.test_cases.iter().find(|case| case.name.as_str() == "wall-clearance").expect("the case");
    let quick_junit::TestCaseStatus::NonSuccess { message: Some(message), .. } = &failed.status else {
        panic!("{failed:?}");
    };
    assert!(message.as_str().contains("a | b <b> \u{fffd} ]]> & é 🜂"), "{}", message.as_str());
    let page = read("f.md");
    for row in page.lines().filter(|line| line.starts_with("| error")) {
        let bars = row.replace("\\|", "").matches('|').count();
        assert_eq!(bars, 6, "{row}");
        assert!(!row.contains("<b>") && !row.contains("<name>"), "{row}");
    }
    assert!(page.contains("a \\| b &lt;b&gt;"), "{page}");
}

#[test]
fn sarif_messages_hold_no_arguments_and_no_links() {
    let rule = "rule ours {\n  about \"Ours {0} [a](b)\"\n  severity error\n  basis practice\n  check room in rooms\n  message \"see [this](http://a) for {room}\"\n  point room \"here\"\n}\n";
    let folder = Folder::new(&[("a.lay", SOUND), ("ours.rule", rule)]);
    let (_, text, _) = folder.run(&["check", "a.lay", "--rules", "ours.rule", "--output", "sarif"]);
    let log = sarif(&text);
    let ours = results(&log).iter().find(|found| found["ruleId"] == "ours").expect("a finding");
    assert!(ours["message"]["text"].as_str().is_some_and(|text| text.contains("[this\\](http://a)")), "{ours}");
    let rules = log["runs"][0]["tool"]["driver"]["rules"].as_array().expect("rules");
    let about = &rules.iter().find(|rule| rule["id"] == "ours").expect("the rule")["shortDescription"]["text"];
    assert_eq!(about, "Ours {{0}} [a\\](b).");
}

#[test]
fn several_outputs_come_of_one_run() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL)]);
    let (code, found, said) = folder.run(&["check", "near.lay", "--output", "text", "--output", "json=f.json"]);
    assert_eq!((code, said.as_str()), (1, ""));
    assert_eq!(found, folder.run(&["check", "near.lay"]).1);
    let alone = folder.run(&["check", "near.lay", "--output", "json"]).1;
    assert_eq!(std::fs::read_to_string(folder.path("f.json")).expect("it is there"), alone);
    // Where everything goes into files, a line says what came of it.
    let (code, found, said) = folder.run(&["check", "near.lay", "--output", "json", "--output-file", "g.json"]);
    assert_eq!((code, found.as_str()), (1, ""));
    assert!(said.starts_with("1 file checked: 1 error"), "{said}");
    assert_eq!(std::fs::read_to_string(folder.path("g.json")).expect("it is there"), alone);
}

#[test]
fn outputs_that_cannot_be_written_are_told_of_before_anything_is_checked() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL), ("ours.rule", ""), ("old.json", "old")]);
    let refused = |arguments: &[&str], told: &str| {
        let (code, found, said) = folder.run(&[&["check", "near.lay"], arguments].concat());
        assert_eq!((code, found.as_str()), (2, ""), "{said}");
        assert!(said.replace("\n  │ ", " ").contains(told), "`{told}` is not in:\n{said}");
    };
    refused(&["--output", "song"], "no output is called `song`");
    refused(&["--output", "sarf"], "did you mean `sarif`?");
    refused(&["--output", "json="], "names no file");
    refused(&["--output", "json=no/where.json"], "its folder is not there");
    refused(&["--output", "json=."], "it is a folder");
    refused(&["--output", "json=/dev/null"], "it is no regular file");
    refused(&["--output", "text=near.lay"], "never written over");
    refused(&["--output", "text=ours.rule"], "never written over");
    refused(&["--output", "text=layrule.toml"], "never written over");
    refused(&["--output", "text", "--output", "json"], "only one output can go to standard output");
    refused(&["--output", "text=a", "--output", "json=./a"], "two outputs would go to ./a");
    refused(&["--output", "text=a", "--output-file", "b"], "goes with one output that names no file");
    assert_eq!(std::fs::read_to_string(folder.path("near.lay")).expect("it is there"), NEAR_WALL);
    // A run that can't be begun leaves what was there before, and nothing beside it.
    refused(&["--output", "json=old.json", "--rules", "missing.rule"], "missing.rule");
    assert_eq!(std::fs::read_to_string(folder.path("old.json")).expect("it is there"), "old");
    let left: Vec<_> = std::fs::read_dir(folder.0.path()).expect("a folder").collect();
    assert_eq!(left.len(), 3, "{left:?}");
}

#[test]
fn what_could_not_be_checked_stands_in_every_output() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL)]);
    std::fs::write(folder.path("bad.lay"), b"room \xff {").expect("a file");
    let told = |form: &str| {
        let (code, text, _) = folder.run(&["check", ".", "--output", form]);
        assert_eq!(code, 2);
        text
    };
    let log = sarif(&told("sarif"));
    let invocation = &log["runs"][0]["invocations"][0];
    assert_eq!(invocation["executionSuccessful"], false);
    assert!(invocation["toolExecutionNotifications"][0]["message"]["text"].to_string().contains("bad.lay"));
    let report = junit(&told("junit"));
    assert_eq!(report.test_suites.iter().map(|suite| suite.errors).sum::<usize>(), 1);
    assert!(told("markdown").contains("could not be made in full"));
    let json: Value = serde_json::from_str(&told("json")).expect("JSON");
    assert!(json["summary"]["problems"][0].to_string().contains("bad.lay"));
}

/// A plan whose loops all come too near to a wall at their turns: many findings of one line.
fn near_all_along() -> String {
    NEAR_WALL
        .replace("(1000, 300) (0, 300)", "(1000, 1300) (0, 1300)")
        .replace("start (100, 40)", "start (960, 100)")
        .replace("run east 800", "loops 11 of 920 west, stepping 100 north")
}

/// The form of GitHub's documentation, "Workflow commands for GitHub Actions": a command's word, its properties, its message. Each with the
/// escapes taken away.
fn workflow_command(line: &str) -> (String, std::collections::BTreeMap<String, String>, String) {
    let plain = |text: &str| {
        text.replace("%2C", ",").replace("%3A", ":").replace("%0A", "\n").replace("%0D", "\r").replace("%25", "%")
    };
    let (head, message) = line.strip_prefix("::").and_then(|rest| rest.split_once("::")).expect("a command");
    let (word, properties) = head.split_once(' ').expect("properties");
    let properties = properties.split(',').map(|one| one.split_once('=').expect("a value"));
    let properties = properties.map(|(name, value)| (name.to_string(), plain(value))).collect();
    (word.to_string(), properties, plain(message))
}

#[test]
fn github_is_given_commands_of_its_form() {
    let (code, text, _) = run(&root(), &["check", "examples", "--date", "2026-11-25", "--output", "github"]);
    assert_eq!(code, 1);
    let (commands, rest): (Vec<&str>, Vec<&str>) = text.lines().partition(|line| line.starts_with("::"));
    assert!(commands.len() > 50 && rest.len() == 1 && rest[0].contains(" files checked: "), "{rest:?}");
    for line in commands {
        let (word, properties, message) = workflow_command(line);
        assert!(["error", "warning", "notice"].contains(&word.as_str()), "{line}");
        let known = ["file", "line", "endLine", "col", "endColumn", "title"];
        assert!(properties.keys().all(|name| known.contains(&name.as_str())), "{line}");
        let plan = std::fs::read_to_string(root().join(&properties["file"])).expect("the plan");
        let number = |name: &str| properties[name].parse::<usize>().expect("a number");
        assert!((1..=plan.lines().count()).contains(&number("line")) && number("line") <= number("endLine"), "{line}");
        // Columns are given where a note covers one line alone.
        assert_eq!(properties.contains_key("col"), number("line") == number("endLine"), "{line}");
        assert!(!message.is_empty(), "{line}");
    }
    // Words of a plan end neither a property nor the line.
    let folder = Folder::new(&[("odd, a:b%.lay", &HOSTILE.replace("wall 1 \"a", "wall 1 \"100 %::error::"))]);
    let (_, text, _) = folder.run(&["check", ".", "--output", "github"]);
    let wall = text.lines().map(workflow_command).find(|(_, properties, _)| properties["title"] == "wall-clearance");
    let (word, properties, message) = wall.expect("a finding");
    assert_eq!((word.as_str(), properties["file"].as_str()), ("error", "odd, a:b%.lay"));
    assert!(message.contains("100 %::error::"), "{message}");
}

/// The members of GitLab's documentation, "Code Quality report format"; its example has a `location` of a path and a first line.
#[test]
fn gitlab_is_given_a_report_of_its_form() {
    let schema = serde_json::json!({
        "type": "array",
        "items": {
            "type": "object",
            "required": ["description", "check_name", "fingerprint", "severity", "location"],
            "properties": {
                "description": { "type": "string", "minLength": 1 },
                "check_name": { "type": "string", "minLength": 1 },
                "fingerprint": { "type": "string", "pattern": "^[0-9a-f]{32}$" },
                "severity": { "enum": ["info", "minor", "major", "critical", "blocker"] },
                "location": {
                    "type": "object",
                    "required": ["path", "lines"],
                    "properties": {
                        "path": { "type": "string", "pattern": "^examples/" },
                        "lines": { "type": "object", "required": ["begin"], "properties": { "begin": { "type": "integer", "minimum": 1 } } },
                    },
                },
            },
        },
    });
    let schema = jsonschema::validator_for(&schema).expect("a schema");
    let (_, text, _) = run(&root(), &["check", "examples", "--date", "2026-11-25", "--output", "gitlab"]);
    let report: Value = serde_json::from_str(&text).expect("JSON");
    let faults: Vec<String> = schema.iter_errors(&report).map(|error| error.to_string()).collect();
    assert!(faults.is_empty(), "{faults:#?}");
    let entries = report.as_array().expect("a list");
    let prints: std::collections::BTreeSet<&str> =
        entries.iter().map(|entry| entry["fingerprint"].as_str().expect("one")).collect();
    assert!(entries.len() > 50 && prints.len() == entries.len());
    let of =
        |rule: &str| entries.iter().find(|entry| entry["check_name"] == format!("layrule/{rule}")).expect("a finding");
    // What shocks or burns stands above what else is an error.
    let severity = |rule: &str| of(rule)["severity"].as_str().expect("a word");
    assert_eq!((severity("crossing"), severity("wall-clearance")), ("critical", "major"));
    assert_eq!((severity("shared-junction"), severity("heated-share")), ("minor", "info"));
    // What is agreed to is no finding there, and a list of none is one.
    let folder = Folder::new(&[("sound.lay", SOUND)]);
    assert_eq!(folder.run(&["check", ".", "--output", "gitlab"]).1, "[\n]\n");
}

/// The elements and attributes that Checkstyle's own XML has: `checkstyle`, `file` with a name, `error` with line, column, severity, message, source.
#[test]
fn checkstyle_is_given_as_its_readers_read_it() {
    let (_, text, _) = run(&root(), &["check", "examples", "--date", "2026-11-25", "--output", "checkstyle"]);
    let page = roxmltree::Document::parse(&text).expect("XML");
    let top = page.root_element();
    assert_eq!((top.tag_name().name(), top.attribute("version")), ("checkstyle", Some("4.3")));
    let mut count = 0;
    for file in top.children().filter(roxmltree::Node::is_element) {
        assert_eq!(file.tag_name().name(), "file");
        let name = file.attribute("name").expect("a name");
        let lines = std::fs::read_to_string(root().join(name)).expect("the plan").lines().count();
        for error in file.children().filter(roxmltree::Node::is_element) {
            count += 1;
            assert_eq!(error.tag_name().name(), "error");
            let number =
                |name: &str| error.attribute(name).and_then(|text| text.parse::<usize>().ok()).expect("a number");
            assert!((1..=lines).contains(&number("line")) && number("column") >= 1);
            assert!(error.attribute("severity").is_some_and(|word| ["error", "warning", "info"].contains(&word)));
            assert!(error.attribute("source").is_some_and(|source| source.starts_with("layrule.")));
            assert!(error.attribute("message").is_some_and(|message| !message.is_empty()));
        }
    }
    assert!(count > 50);
    let folder = Folder::new(&[("odd | <name>\n.lay", HOSTILE)]);
    let (_, text, _) = folder.run(&["check", ".", "--output", "checkstyle"]);
    let page = roxmltree::Document::parse(&text).expect("XML");
    let said = page.descendants().filter_map(|node| node.attribute("message")).find(|said| said.contains("run 1 of"));
    assert!(said.is_some_and(|said| said.contains("a | b <b> \u{fffd} ]]> & é 🜂")), "{text}");
}

/// What people read is told once; programs that reckon with findings are given all of them.
#[test]
fn findings_that_are_alike_are_told_once_where_people_read_them() {
    let folder = Folder::new(&[("near.lay", &near_all_along())]);
    let told = |form: &str| folder.run(&["check", "near.lay", "--output", form]).1;
    let json: Value = serde_json::from_str(&told("json")).expect("JSON");
    let all = json["plans"][0]["findings"].as_array().expect("findings");
    let near = all.iter().filter(|finding| finding["rule"] == "wall-clearance").count();
    assert!(near > 10, "{near}");
    let log = sarif(&told("sarif"));
    let own: Vec<&Value> = results(&log).iter().filter(|found| found["ruleId"] == "wall-clearance").collect();
    // Each wall is a place of its own.
    let counts: u64 = own.iter().map(|found| found["occurrenceCount"].as_u64().expect("a count")).sum();
    assert!(own.len() < 4 && counts == near as u64, "{own:#?}");
    assert!(own[0]["message"]["text"].as_str().is_some_and(|text| text.contains(" more like it from the same lines")));
    let rows = |text: &str| text.lines().filter(|line| line.contains("wall-clearance")).count();
    assert_eq!(rows(&told("markdown").replace("\\-", "-")), own.len());
    assert_eq!(rows(&told("github")), own.len());
    assert_eq!(told("text").matches("error[wall-clearance]").count(), own.len());
    let folded = near - own.len();
    assert!(
        told("text").contains(&format!("errors ({folded} of them like others from the same lines)")),
        "{}",
        told("text")
    );
}

/// A host takes a comment of 65,536 characters at the most.
#[test]
fn markdown_is_no_longer_than_a_host_takes() {
    let most = |text: &str| assert!(text.chars().count() < 65_536, "{} characters", text.chars().count());
    // One plan with more than there is room for.
    let run = "    run north 20\n    run south 20\n".repeat(1_500);
    let crowded = NEAR_WALL.replace("    run east 800\n", &run);
    let folder = Folder::new(&[("a.lay", &crowded)]);
    let (_, text, _) = folder.run(&["check", ".", "--output", "markdown"]);
    most(&text);
    assert!(text.contains("more findings; `layrule check` on the command line"), "{}", &text[text.len() - 2_000..]);
    // Many plans, and rules that none could be held to.
    let name = |number: usize| format!("{number:03}-{}.lay", "n".repeat(60));
    let plans: Vec<(String, String)> = (0..300).map(|number| (name(number), NEAR_WALL.to_string())).collect();
    let plans: Vec<(&str, &str)> = plans.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let folder = Folder::new(&plans);
    let (_, text, _) = folder.run(&["check", ".", "--output", "markdown"]);
    most(&text);
    let shown = text.lines().filter(|line| line.starts_with("### ")).count();
    let left_out = format!("the findings of {} more plans", 300 - shown);
    assert!(shown > 50 && text.contains(&left_out) && text.contains("**300 files checked: 300 errors"), "{shown}");
}
