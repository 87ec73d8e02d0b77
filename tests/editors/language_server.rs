//! The language server as an editor meets it: the real program over the protocol, each feature, on plans and on rule packs.

use std::path::Path;

use serde_json::{Value, json};

use crate::common::client::{Client, KITS, PLAN, applied, codes, plans, position, uri};
use crate::common::program::Folder;
use crate::common::root;

#[test]
fn findings_come_while_typing_with_their_places() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let found = client.findings(&plan);
    assert!(codes(&found).contains(&"wall-clearance"), "{found:?}");
    let near = found.iter().find(|one| one["code"] == "wall-clearance").expect("found");
    assert_eq!(near["severity"], 1);
    assert_eq!(near["source"], "layrule");
    // The run and, as what belongs to it, the wall it is near to.
    assert_eq!(near["range"]["start"], client.at(&plan, "run east", 0)["position"]);
    assert_eq!(near["range"]["end"], client.at(&plan, "run east 800", 12)["position"]);
    let related = near["relatedInformation"].as_array().expect("the wall");
    assert_eq!(related[0]["location"]["uri"], plan);
    assert_eq!(related[0]["message"], "this wall");
    // The rule's text can be opened.
    let link = near["codeDescription"]["href"].as_str().expect("a link");
    let (file, line) = link.strip_prefix("file://").and_then(|link| link.split_once("#L")).expect("a line of a file");
    let pack = std::fs::read_to_string(file).expect("the pack is written");
    let line: usize = line.parse().expect("a number");
    assert!(pack.lines().nth(line - 1).is_some_and(|line| line.starts_with("rule wall-clearance")), "{link}");

    client.edit(&plan, "gap = 40", "gap = 100");
    assert!(!codes(&client.findings(&plan)).contains(&"wall-clearance"));
    client.edit(&plan, "run east 800", "run est 800");
    let found = client.findings(&plan);
    assert!(codes(&found).contains(&"syntax"), "{found:?}");
    assert!(found.iter().any(|one| one["message"].as_str().is_some_and(|text| text.contains("did you mean `east`?"))));
    // What it had written goes with it.
    assert_eq!(client.leave(), 0);
    assert!(!Path::new(file).exists());
}

#[test]
fn edits_of_what_is_used_reach_the_plans_that_use_it() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let kits = client.open_file(folder.0.path(), "kits.lay");
    assert!(!codes(&client.findings(&plan)).contains(&"name"));
    client.edit(&kits, "W-20", "W-21");
    client.findings_until(&plan, |found| codes(found).contains(&"name"));
    // Closed without being saved, what lies on the disk holds again.
    client.say("textDocument/didClose", json!({ "textDocument": { "uri": kits } }));
    client.findings_until(&plan, |found| !codes(found).contains(&"name"));
    // A fault in a file that isn't open is told of there, and taken back once it is mended.
    std::fs::write(folder.path("kits.lay"), format!("{KITS}kit broken {{\n  length ten m\n}}\n")).expect("a file");
    client.say("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": kits, "type": 2 }] }));
    client.findings_until(&kits, |found| codes(found).contains(&"syntax"));
    std::fs::remove_file(folder.path("kits.lay")).expect("it was there");
    client.say("workspace/didChangeWatchedFiles", json!({ "changes": [{ "uri": kits, "type": 3 }] }));
    client.findings_until(&plan, |found| codes(found).contains(&"use"));
    client.findings_until(&kits, <[Value]>::is_empty);
    std::fs::write(folder.path("kits.lay"), b"kit \xff").expect("a file");
    client.edit(&plan, "gap = 40", "gap = 41");
    let found = client.findings_until(&plan, |found| {
        found.iter().any(|one| one["message"].as_str().is_some_and(|text| text.contains("not UTF-8")))
    });
    assert!(codes(&found).contains(&"use"));
    std::fs::write(folder.path("kits.lay"), KITS).expect("a file");
    client.say("textDocument/didSave", json!({ "textDocument": { "uri": plan } }));
    client.findings_until(&plan, |found| !codes(found).contains(&"use"));
    assert_eq!(client.leave(), 0);
}

#[test]
fn packs_being_written_hold_at_once_and_their_faults_are_told() {
    let ours = "amend wall-clearance {\n  severity warning\n}\n";
    let folder = Folder::new(&[
        ("kits.lay", KITS),
        ("bath.lay", PLAN),
        ("layrule.toml", "rules = [\"rules/ours.rule\"]\n"),
        ("rules/ours.rule", ours),
    ]);
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let severity =
        |found: &[Value]| found.iter().find(|one| one["code"] == "wall-clearance").map(|one| one["severity"].clone());
    let found = client.findings(&plan);
    assert_eq!(severity(&found), Some(json!(2)));
    let pack = client.open_file(folder.0.path(), "rules/ours.rule");
    client.edit(&pack, "severity warning", "severity note");
    client.findings_until(&plan, |found| severity(found) == Some(json!(3)));
    // While the pack is at fault, the rules hold that it came to last.
    client.edit(&pack, "wall-clearance", "wall-clearanze");
    let found = client.findings(&pack);
    assert_eq!(codes(&found), ["rule-pack"]);
    assert_eq!(found[0]["range"]["start"], json!({ "line": 0, "character": 6 }));
    client.edit(&plan, "gap = 40", "gap = 39");
    assert_eq!(severity(&client.findings(&plan)), Some(json!(3)));
    let action = actions(&mut client, &pack, "wall-clearanze");
    assert_eq!(titles(&action), ["Write `wall-clearance`"]);
    client.edit(&pack, "wall-clearanze", "wall-clearance");
    assert!(client.findings(&pack).is_empty());
    // The project file's own faults are told of in it, and while it can't be read what it said last holds.
    let project = client.open_file(folder.0.path(), "layrule.toml");
    client.edit(&project, "rules = ", "fail-on = \nrules = ");
    client.findings_until(&project, |found| !found.is_empty());
    client.edit(&plan, "gap = 39", "gap = 38");
    assert_eq!(severity(&client.findings(&plan)), Some(json!(3)));
    client.edit(&project, "fail-on = \n", "");
    client.findings_until(&project, <[Value]>::is_empty);
    client.edit(&project, "ours.rule", "theirs.rule");
    let found = client.findings_until(&project, |found| !found.is_empty());
    assert!(found[0]["message"].as_str().is_some_and(|text| text.contains("theirs.rule")), "{found:?}");
    client.findings_until(&plan, |found| severity(found) == Some(json!(1)));
    // A pack that no project names is held to the rules there are.
    let draft = uri(folder.0.path(), "draft.rule");
    client.open_text(&draft, "rule narrow {\n  about \"x\"\n  severity note\n  basis practice\n  check run in runs\n  require run.width > 3 mm\n  message \"{run}\"\n}\n");
    let found = client.findings(&draft);
    assert!(found[0]["message"].as_str().is_some_and(|text| text.contains("no field `width`")), "{found:?}");
    // Nor is a built-in pack at fault for being looked at.
    let laying = client.open_file(&root(), "rules/laying.rule");
    assert_eq!(client.findings(&laying), Vec::<Value>::new());
    assert_eq!(client.leave(), 0);
}

fn actions(client: &mut Client, uri: &str, part: &str) -> Vec<Value> {
    let at = client.at(uri, part, 0);
    let found = client.findings(uri);
    let context = json!({ "diagnostics": found });
    let range = json!({ "start": at["position"], "end": at["position"] });
    let parameters = json!({ "textDocument": { "uri": uri }, "range": range, "context": context });
    client.ask("textDocument/codeAction", parameters).as_array().cloned().expect("a list")
}

fn titles(actions: &[Value]) -> Vec<&str> {
    actions.iter().filter_map(|action| action["title"].as_str()).collect()
}

#[test]
fn findings_can_be_agreed_to_and_advice_applied() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let offered = actions(&mut client, &plan, "run east");
    let agree = offered.iter().find(|one| one["title"].as_str().is_some_and(|title| title.contains("wall-clearance")));
    let agree = agree.unwrap_or_else(|| panic!("{:?}", titles(&offered)));
    assert_eq!(agree["kind"], "quickfix");
    assert_eq!(agree["diagnostics"][0]["code"], "wall-clearance");
    let text = applied(PLAN, &agree["edit"]["changes"][&plan]);
    assert!(text.ends_with("  }\n  deviation wall-clearance cable a \"\"\n}\n"), "{text}");
    // A remedy of the rule's own, as a run of `check --apply` would make it.
    client.edit(&plan, "start (100, gap)", "start (100, 60)");
    client.edit(&plan, "tail j (100, gap)", "tail j (100, 60)");
    client.edit(&plan, "run north 100", "run north 200");
    let offered = actions(&mut client, &plan, "run west");
    let moved = offered.iter().find(|one| one["title"].as_str().is_some_and(|title| title.starts_with("Move run 3")));
    let moved = moved.unwrap_or_else(|| panic!("{:?}", titles(&offered)));
    assert_eq!(moved.get("isPreferred"), None);
    let (_, text) = client.texts[&plan].clone();
    let text = applied(&text, &moved["edit"]["changes"][&plan]);
    assert!(text.contains("run north 190\n"), "{text}");
    let folder_uri = plan.trim_end_matches("bath.lay");
    client.open_text(&format!("{folder_uri}moved.lay"), &text);
    assert!(!codes(&client.findings(&format!("{folder_uri}moved.lay"))).contains(&"wall-clearance"));
    client.edit(&plan, "start (100, 60)", "start (100, gap)");
    client.edit(&plan, "tail j (100, 60)", "tail j (100, gap)");
    client.edit(&plan, "run north 200", "run north 100");
    // Without a reason nothing is agreed to yet.
    client.edit(&plan, "    run west 800\n  }\n", "    run west 800\n  }\n  deviation wall-clearance cable a \"\"\n");
    let found = client.findings(&plan);
    assert!(found.iter().any(|one| one["code"] == "wall-clearance" && one["severity"] == 1), "{found:?}");
    assert!(found.iter().any(|one| one["message"].as_str().is_some_and(|text| text.contains("needs a reason"))));
    client.edit(&plan, "cable a \"\"", "cable a \"boxed pipe, agreed on site\" until 2027-03-01");
    let found = client.findings(&plan);
    let agreed = found.iter().find(|one| one["code"] == "wall-clearance").expect("still shown");
    assert_eq!((&agreed["severity"], &agreed["tags"]), (&json!(4), &json!([1])));
    assert!(agreed["message"].as_str().is_some_and(|text| text.contains("boxed pipe")), "{agreed}");
    let related = agreed["relatedInformation"].as_array().expect("where it was agreed");
    assert!(related.iter().any(|one| one["message"] == "agreed here"), "{related:?}");

    client.edit(&plan, "kit W-20", "kit W-2O");
    let offered = actions(&mut client, &plan, "W-2O");
    let mended = offered.iter().find(|one| one["title"] == "Write `W-20`").expect("offered");
    assert_eq!(mended["isPreferred"], true);
    let (_, text) = client.texts[&plan].clone();
    assert!(applied(&text, &mended["edit"]["changes"][&plan]).contains("kit W-20\n"));
    assert_eq!(client.leave(), 0);
}

#[test]
fn what_is_under_the_pointer_is_explained() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let mut hover = |part: &str, within: usize| {
        let at = client.at(&plan, part, within);
        client.ask("textDocument/hover", at)["contents"]["value"].as_str().unwrap_or("nothing").to_string()
    };
    let run = hover("run east", 5);
    for part in ["run 1 of cable a", "length", "800 mm", "40 mm", "wall 1", "100 mm, run 3 of cable a", "of 20 W"] {
        assert!(run.contains(part), "`{part}` is not in {run}");
    }
    let kit = hover("W-20", 1);
    for part in ["kit W-20 \"Bench kit\"", "20 W", "2000 mm", "2645 Ω", "-5 % to +10 %"] {
        assert!(kit.contains(part), "`{part}` is not in {kit}");
    }
    assert!(hover("gap)", 1).contains("**gap** = 40"));
    assert!(hover("cable a", 6).contains("laid-length"));
    assert!(hover("bath \"", 1).contains("area"));
    assert!(hover("outline", 2).contains("outline (X, Y)"));
    client.edit(
        &plan,
        "    run west 800\n  }\n",
        "    loops 2 of 800 west, stepping 90 north\n  }\n  deviation rcd \"agreed\"\n",
    );
    let at = client.at(&plan, "loops", 2);
    let loops = client.ask("textDocument/hover", at)["contents"]["value"].to_string();
    assert!(loops.contains("runs 3 to 5 of cable a"), "{loops}");
    let at = client.at(&plan, "rcd", 1);
    let rule = client.ask("textDocument/hover", at)["contents"]["value"].to_string();
    assert!(rule.contains("30 mA") && rule.contains("IEC 60364"), "{rule}");

    let drawn = uri(folder.0.path(), "drawn.lay");
    client.open_text(&drawn, DRAWN);
    let mut hover = |part: &str, within: usize| {
        let at = client.at(&drawn, part, within);
        client.ask("textDocument/hover", at)["contents"]["value"].as_str().unwrap_or("nothing").to_string()
    };
    for (part, wanted) in [
        ("drawing {", "drawing {"),
        ("owner", "owner \"NAME\""),
        ("revision", "revision \"TEXT\""),
        ("drawn \"", "drawn \"NAME\""),
        ("north 30", "north 30 deg"),
        ("door hall", "hinged"),
        ("level up", "stairs up north"),
    ] {
        let said = hover(part, 2);
        assert!(said.contains(wanted), "`{wanted}` is not in what is said of `{part}`: {said}");
    }

    let pack = uri(folder.0.path(), "ours.rule");
    client.open_text(&pack, PACK);
    let mut hover = |part: &str, within: usize| {
        let at = client.at(&pack, part, within);
        client.ask("textDocument/hover", at)["contents"]["value"].as_str().unwrap_or("nothing").to_string()
    };
    assert!(hover("wall-distance", 3).contains("of a run"));
    assert!(hover("in runs", 4).contains("each a run"));
    assert!(hover("least and", 2).contains("`least` = 30 mm"), "{}", hover("least and", 2));
    assert!(hover("near.length", 1).contains("a wall"));
    assert!(hover("amend spacing", 8).contains("**spacing**"));
    assert!(hover("require", 2).contains("require CONDITION"));
    assert_eq!(client.leave(), 0);
}

const DRAWN: &str = "drawing {\n  owner \"Harrow Mill\"\n  revision \"B\"\n  drawn \"R. Ansell\" 2026-10-02\n}\nnorth 30 deg\nroom hall {\n  outline (0, 0) (1200, 0) (1200, 5000) (0, 5000)\n  door hall wall 1 from 200 to 1000 hinged left outward\n  level up stairs up north rect (0, 4000) (1200, 5000)\n}\n";

const PACK: &str = "rule short-run {\n  about \"Run too short\"\n  severity note\n  basis practice\n  limit least = 30 mm \"from bend to bend\"\n  check run in runs\n  let near = run.nearest-wall\n  require run.wall-distance >= least and near.length > least\n  message \"{run} is {run.length} long; {least} is the least\"\n}\n\namend spacing {\n  limit minimum = 60 mm\n}\n";

/// Of a plan too large to try changes on at each keystroke, they are tried once they are asked for.
#[test]
fn changes_to_large_plans_are_tried_when_they_are_asked_for() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = uri(folder.0.path(), "long.lay");
    let text = "room r {\n outline (0, 0) (3000, 0) (3000, 63180) (0, 63180)\n cable a {\n start (500, 100)\n \
                loops 1050 of 2000 east, stepping 60 north\n run north 100\n run east 2000\n }\n}\n";
    client.open_text(&plan, text);
    let found = client.findings(&plan);
    assert!(found.iter().any(|one| one["code"] == "wall-clearance"), "{found:?}");
    let offered = actions(&mut client, &plan, "run east 2000");
    let titles: Vec<&str> = offered.iter().filter_map(|one| one["title"].as_str()).collect();
    assert!(titles.iter().any(|title| !title.starts_with("Agree")), "{titles:?}");
    assert_eq!(client.leave(), 0);
}

#[test]
fn what_lies_on_the_floor_is_explained() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = uri(folder.0.path(), "study.lay");
    client.open_text(
        &plan,
        "room r {\n outline (0, 0) (900, 0) (900, 900)\n rug mat rect (9, 9) (99, 99) resistance 0.1 m2K/W\n record {\n  note 2026-11-02 \"moved\" at (9, 9)\n }\n}\n",
    );
    let mut hover = |part: &str, within: usize| {
        let at = client.at(&plan, part, within);
        client.ask("textDocument/hover", at)["contents"]["value"].as_str().unwrap_or("nothing").to_string()
    };
    let (name, word) = (hover("mat rect", 1), hover("rug mat", 1));
    let note = hover("note 2026", 1);
    assert!(note.contains("at (X, Y) photo"), "{note}");
    assert!(name.contains("rug") && name.contains("resistance") && name.contains("0.1"), "{name}");
    assert!(word.contains("rug NAME SHAPE resistance"), "{word}");
    assert_eq!(client.leave(), 0);
}

/// What is offered at the end of a text.
fn offered(client: &mut Client, uri: &str, text: &str) -> Vec<String> {
    let version = client.texts.get(uri).map_or(1, |(version, _)| version + 1);
    client.texts.insert(uri.to_string(), (version, text.to_string()));
    if version == 1 {
        client.open_text(uri, text);
    } else {
        let document = json!({ "uri": uri, "version": version });
        client.say("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [{ "text": text }] }));
    }
    let at = json!({ "textDocument": { "uri": uri }, "position": position(text, text.len()) });
    let list = client.ask("textDocument/completion", at);
    list.as_array().into_iter().flatten().map(|item| item["label"].as_str().expect("a label").to_string()).collect()
}

#[test]
fn what_could_stand_there_is_offered() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = uri(folder.0.path(), "new.lay");
    let room = "use \"kits.lay\"\nlet gap = 40\nsupply spur {\n voltage 230 V\n}\nroom r {\n outline (0, 0) (9, 0) (9, 9)\n let own = 3\n junction j (0, 0)\n joint gate (0, 1) (9, 1)\n thermostat t (0, 0) rated 16 A\n cable a {\n start (1, 1)\n run east 3\n }\n";
    let table = "}\nkits \"make\" {\n  voltage 230 V\n  columns output length resistance\n";
    let in_table = |typed: &str| format!("{table}{typed}");
    let (row, lines, output, length, unit, columns) = (
        in_table("  K-1 "),
        in_table("  "),
        in_table("  K-1 20 "),
        in_table("  K-1 20 W 2 "),
        in_table("  K-1 20 W 2 m 2645 "),
        in_table("  columns output "),
    );
    let cases: [(&str, &[&str], &[&str]); 48] = [
        (&row, &["gap"], &["W-20", "columns"]),
        (&lines, &["columns", "voltage", "tolerance", "screen"], &["kit", "run"]),
        (&output, &["W", "kW"], &["m", "ohm"]),
        (&length, &["m", "mm"], &["W", "ohm"]),
        (&unit, &["ohm"], &["W", "m"]),
        (&columns, &["length", "bend-radius", "mat"], &["gap", "screen"]),
        ("", &["room", "use", "kit"], &["cable", "run"]),
        ("  ca", &["cable", "deviation", "outline"], &["use", "loops"]),
        ("  cable b {\n    ", &["run", "loops", "kit"], &["outline"]),
        ("}\n", &["drawing", "north", "room"], &["owner", "door"]),
        ("}\ndrawing {\n  ", &["owner", "address", "number", "revision", "drawn", "checked", "approved"], &["run"]),
        ("}\nnorth 30 ", &["deg"], &["mm", "room"]),
        ("  door hall wall 1 from 3 to 4 ", &["hinged", "through"], &["left", "gap"]),
        ("  door hall wall 1 from 3 to 4 hinged ", &["left", "right"], &["inward", "hinged"]),
        ("  door hall wall 1 from 3 to 4 hinged left ", &["inward", "outward"], &["left", "through"]),
        ("  level steps stairs ", &["up", "down", "rect"], &["north"]),
        ("  level steps stairs down ", &["north", "south", "east", "west"], &["rect", "up"]),
        ("  cable b {\n    kit W-", &["W-20"], &["a", "gap", "run"]),
        ("  cable b {\n    tail ", &["j", "cable"], &["t", "W-20"]),
        ("  cable b {\n    tail cable ", &["a"], &["j"]),
        ("  cable b {\n    second-tail ", &["j"], &["a", "gate"]),
        ("  cable b {\n    tail j (1, 1) ", &["sleeve"], &["gate", "cable"]),
        ("  cable b {\n    tail j (1, 1) sleeve ", &["gate"], &["j", "a"]),
        ("  cable b {\n    run ", &["east", "north", "to"], &["gap"]),
        ("  cable b {\n    run east ", &["gap", "own"], &["a", "east"]),
        ("  cable b {\n    run east 3 ", &["mm", "m"], &["east", "ohm"]),
        ("  cable b {\n    run east 3 * 4 ", &["mm", "ohm"], &["east"]),
        ("  record {\n    laid 2026-11-02 cable a 3 ", &["ohm", "insulation"], &["mm"]),
        ("  record {\n    laid 2026-11-02 cable a 3 ohm insulation 3 Mohm at 500 ", &["V"], &["ohm"]),
        ("  record {\n    laid ", &["2026-11-25"], &["a"]),
        ("  record {\n    laid 2026-11-02 cable a 3 ohm with \"m\" ", &["serial", "by"], &["with", "a"]),
        ("  record {\n    ", &["note", "photo", "primed"], &["run"]),
        ("  record {\n    note 2026-11-02 \"a\" ", &["at", "photo"], &["by"]),
        ("  record {\n    note 2026-11-02 \"a\" at (1, ", &["gap", "own"], &["a"]),
        ("  record {\n    photo 2026-11-02 \"a.jpg\" ", &["at"], &["photo"]),
        ("  cable b {\n    start (own + ", &["gap", "own"], &["a"]),
        ("  thermostat u (0, 0) rated 16 A on ", &["spur"], &["t"]),
        ("  thermostat u (0, 0) rated 16 A ", &["behind", "on"], &["spur"]),
        ("  contactor k rated 20 A ", &["AC-1", "AC-7a", "for"], &["t"]),
        ("}\nsupply other {\n  rcd 30 mA type ", &["A", "AC", "F", "B"], &["mA"]),
        ("  sensor s from ", &["t"], &["j"]),
        ("  deviation wall", &["wall-clearance", "tail-reach"], &["deviation-unused", "rcd", "a"]),
        ("  deviation rcd cable ", &["a"], &["t"]),
        ("  floor timber {\n    ", &["porcelain", "plywood"], &["run"]),
        ("  ru", &["rug", "cable"], &["use"]),
        ("  rug mat rect (1, 1) (2, 2) ", &["resistance"], &["gap"]),
        ("  rug mat rect (1, 1) (2, 2) resistance 1 ", &["m2K/W"], &["ohm"]),
        ("  rug mat rect (1, 1) (2, 2) resistance 1 m2K/W\n  deviation rug-surface rug ", &["mat"], &["a"]),
    ];
    for (typed, wanted, unwanted) in cases {
        let text = if typed.is_empty() { "use \"kits.lay\"\n".to_string() } else { format!("{room}{typed}") };
        let labels = offered(&mut client, &plan, &text);
        for word in wanted {
            assert!(labels.iter().any(|label| label == word), "`{word}` is not offered after `{typed}`: {labels:?}");
        }
        for word in unwanted {
            assert!(!labels.iter().any(|label| label == word), "`{word}` is offered after `{typed}`: {labels:?}");
        }
    }
    // Nothing in a comment, nor for a name that is given, nor amid a number; files where one is used.
    for nothing in ["  # ru", "  cable ", "  cable b {\n    run east 3"] {
        assert_eq!(offered(&mut client, &plan, &format!("{room}{nothing}")), Vec::<String>::new(), "{nothing}");
    }
    assert_eq!(offered(&mut client, &plan, "use \"ki"), ["bath.lay", "kits.lay"]);

    let pack = uri(folder.0.path(), "ours.rule");
    let rule = "rule short-run {\n  about \"x\"\n  severity note\n  basis practice\n  limit least = 30 mm\n  check run in runs\n  let near = run.nearest-wall\n";
    let cases: [(&str, &[&str], &[&str]); 10] = [
        ("  ", &["require", "message"], &["rule"]),
        ("  require ", &["run", "least", "near", "runs", "count"], &["require"]),
        ("  require run.", &["wall-distance", "nearest-wall"], &["least", "drawn-length"]),
        ("  require near.le", &["length", "outside"], &["wall-distance"]),
        ("  require run.cable.kit.", &["output"], &["runs"]),
        ("  require count(c in cables where c.", &["pitch"], &["wall-distance"]),
        ("  message \"{run} is {run.", &["wall-distance"], &["message"]),
        ("  severity ", &["error", "note"], &["run"]),
        ("}\namend spac", &["spacing"], &["run"]),
        ("}\namend spacing {\n  limit ", &["minimum"], &["least"]),
    ];
    for (typed, wanted, unwanted) in cases {
        let labels = offered(&mut client, &pack, &format!("{rule}{typed}"));
        for word in wanted {
            assert!(labels.iter().any(|label| label == word), "`{word}` is not offered after `{typed}`: {labels:?}");
        }
        for word in unwanted {
            assert!(!labels.iter().any(|label| label == word), "`{word}` is offered after `{typed}`: {labels:?}");
        }
    }
    let labels = offered(&mut client, &pack, "rule r {\n  check pair in close");
    assert!(labels.iter().any(|label| label == "close-approaches"), "{labels:?}");
    assert_eq!(client.leave(), 0);
}

fn places(answer: &Value) -> Vec<(String, Value)> {
    let places = answer.as_array().into_iter().flatten();
    places
        .map(|place| {
            let uri = place["uri"].as_str().expect("a URI");
            (uri.rsplit('/').next().expect("a name").to_string(), place["range"]["start"].clone())
        })
        .collect()
}

#[test]
fn names_lead_to_what_they_name_and_are_changed_everywhere() {
    let folder = plans();
    std::fs::write(folder.path("other.lay"), PLAN.replace("room bath", "room hall")).expect("a file");
    std::fs::write(folder.path("apart.lay"), "kit W-20 {\n  output 1 W at 230 V\n  length 1 m\n}\n").expect("a file");
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let at = client.at(&plan, "kit W-20", 5);
    let given = client.ask("textDocument/definition", at.clone());
    assert_eq!(places(&given), [("kits.lay".to_string(), json!({ "line": 0, "character": 4 }))]);
    let with = |mut at: Value, more: (&str, Value)| {
        at[more.0] = more.1;
        at
    };
    let uses = with(at.clone(), ("context", json!({ "includeDeclaration": true })));
    let uses = places(&client.ask("textDocument/references", uses));
    let files: Vec<&str> = uses.iter().map(|(file, _)| file.as_str()).collect();
    assert_eq!(files, ["bath.lay", "kits.lay", "other.lay"]);
    let uses = with(at.clone(), ("context", json!({ "includeDeclaration": false })));
    assert_eq!(places(&client.ask("textDocument/references", uses)).len(), 2);

    let prepared = client.ask("textDocument/prepareRename", at.clone());
    assert_eq!(prepared["placeholder"], "W-20");
    let edit = client.ask("textDocument/rename", with(at.clone(), ("newName", json!("W-25"))));
    let changes = edit["changes"].as_object().expect("changes");
    assert_eq!(changes.len(), 3, "{changes:?}");
    assert!(applied(PLAN, &changes[&plan]).contains("kit W-25\n"));
    assert!(applied(KITS, &changes[&uri(folder.0.path(), "kits.lay")]).contains("kit W-25 \"Bench kit\""));

    // In a row of a table as well.
    let table =
        "kits \"Bench kit\" {\n  voltage 230 V\n  columns output length resistance\n  W-20 20 W 2 m 2645 ohm\n}\n";
    std::fs::write(folder.path("kits.lay"), table).expect("a file");
    let kits = client.open_file(folder.0.path(), "kits.lay");
    let row = client.at(&kits, "W-20", 2);
    let hover = client.ask("textDocument/hover", row.clone())["contents"]["value"].to_string();
    assert!(hover.contains("kit W-20 \\\"Bench kit, 20 W\\\"") && hover.contains("2645 Ω"), "{hover}");
    let edit = client.ask("textDocument/rename", with(row, ("newName", json!("W-25"))));
    assert_eq!(edit["changes"].as_object().expect("changes").len(), 3, "{edit}");
    assert!(applied(table, &edit["changes"][&kits]).contains("  W-25 20 W 2 m"));
    let word = client.at(&kits, "columns", 2);
    let hover = client.ask("textDocument/hover", word)["contents"]["value"].to_string();
    assert!(hover.contains("what the values of each row are"), "{hover}");
    std::fs::write(folder.path("kits.lay"), KITS).expect("a file");

    // A value of the whole plan, within points too; a cable in its room alone.
    let gap = client.at(&plan, "gap)", 1);
    let edit = client.ask("textDocument/rename", with(gap.clone(), ("newName", json!("edge"))));
    let text = applied(PLAN, &edit["changes"][&plan]);
    assert_eq!((text.matches("edge").count(), text.matches("gap").count()), (3, 0));
    for (name, why) in [("2nd", "no name"), ("a b", "no name"), ("", "no name")] {
        let (code, message) = client.refused("textDocument/rename", with(gap.clone(), ("newName", json!(name))));
        assert!(code == -32803 && message.contains(why), "{name}: {message}");
    }
    client.edit(&plan, "let gap = 40\n", "let gap = 40\nlet edge = 30\n");
    let gap = client.at(&plan, "gap)", 1);
    let (_, message) = client.refused("textDocument/rename", with(gap, ("newName", json!("edge"))));
    assert!(message.contains("already"), "{message}");
    // `cable` is a name like any other but for a layer's material.
    client.edit(&plan, "  junction", "  floor timber {\n    top 9 mm oak\n  }\n  junction");
    client.edit(&plan, "room bath", "material oak {\n  conductivity 0.18 W/mK\n}\nroom bath");
    let oak = client.at(&plan, "mm oak", 4);
    let (_, message) = client.refused("textDocument/rename", with(oak, ("newName", json!("cable"))));
    assert!(message.contains("word of the language"), "{message}");

    let pack = uri(folder.0.path(), "ours.rule");
    client.open_text(&pack, PACK);
    let at = client.at(&pack, "amend spacing", 8);
    let given = places(&client.ask("textDocument/definition", at.clone()));
    assert_eq!(given, [("laying.rule".to_string(), json!({ "line": 2, "character": 5 }))]);
    let (_, message) = client.refused("textDocument/prepareRename", at);
    assert!(message.contains("comes with the program"), "{message}");
    let at = client.at(&pack, "minimum", 1);
    assert_eq!(places(&client.ask("textDocument/definition", at))[0].0, "laying.rule");
    let at = client.at(&pack, "least and", 1);
    let edit = client.ask("textDocument/rename", with(at, ("newName", json!("floor"))));
    assert_eq!(applied(PACK, &edit["changes"][&pack]).matches("floor").count(), 4);
    let at = client.at(&pack, "near.length", 1);
    let (_, message) = client.refused("textDocument/rename", with(at, ("newName", json!("run"))));
    assert!(message.contains("already"), "{message}");
    let at = client.at(&pack, "wall-distance", 1);
    let (_, message) = client.refused("textDocument/rename", with(at, ("newName", json!("far"))));
    assert!(message.contains("word of the rule language"), "{message}");
    assert_eq!(client.leave(), 0);
}

#[test]
fn rules_of_a_project_are_followed_from_its_plans() {
    let pack = format!("{}amend short-run {{\n  limit least = 20 mm\n}}\n", PACK.split_once("amend").expect("one").0);
    let plan = PLAN.replace("  cable a {", "  deviation short-run \"agreed\"\n  cable a {");
    let folder = Folder::new(&[
        ("kits.lay", KITS),
        ("bath.lay", &plan),
        ("layrule.toml", "rules = [\"ours.rule\"]\n"),
        ("ours.rule", &pack),
    ]);
    let mut client = Client::open(folder.0.path());
    let uri = client.open_file(folder.0.path(), "bath.lay");
    let at = client.at(&uri, "short-run", 3);
    let given = places(&client.ask("textDocument/definition", at.clone()));
    assert_eq!(given, [("ours.rule".to_string(), json!({ "line": 0, "character": 5 }))]);
    let mut rename = at;
    rename["newName"] = json!("stub");
    let changes = client.ask("textDocument/rename", rename)["changes"].clone();
    assert!(applied(&plan, &changes[&uri]).contains("deviation stub"));
    let rules = applied(&pack, &changes[uri.replace("bath.lay", "ours.rule")]);
    assert!(rules.contains("rule stub {") && rules.contains("amend stub {"), "{rules}");
    let at = client.at(&uri, "kits.lay", 2);
    assert_eq!(places(&client.ask("textDocument/definition", at.clone()))[0].0, "kits.lay");
    assert!(client.refused("textDocument/prepareRename", at).1.contains("a file is renamed where it lies"));
    // A limit that an amendment sets stands where its rule gives it.
    let pack = client.open_file(folder.0.path(), "ours.rule");
    let at = client.at(&pack, "least = 20", 1);
    let given = places(&client.ask("textDocument/definition", at.clone()));
    assert_eq!(given, [("ours.rule".to_string(), json!({ "line": 4, "character": 8 }))]);
    let mut uses = at;
    uses["context"] = json!({ "includeDeclaration": true });
    assert_eq!(places(&client.ask("textDocument/references", uses)).len(), 5);
    assert_eq!(client.leave(), 0);
}

#[test]
fn the_outline_folds_and_colours_of_a_text() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    client.edit(&plan, "let gap", "# Set out from the door.\n# In mm.\nlet gap");
    let document = json!({ "textDocument": { "uri": plan } });
    let outline = client.ask("textDocument/documentSymbol", document.clone());
    let names = |list: &Value| -> Vec<String> {
        list.as_array().into_iter().flatten().map(|one| one["name"].as_str().expect("a name").to_string()).collect()
    };
    assert_eq!(names(&outline), ["gap", "bath"]);
    assert_eq!(names(&outline[1]["children"]), ["j", "t", "a"]);
    assert_eq!(outline[1]["detail"], "room \"Bathroom\"");
    assert_eq!(outline[1]["range"]["end"], json!({ "line": 17, "character": 1 }));
    // What is chosen lies in what it belongs to, as the protocol asks.
    let within = |inner: &Value, outer: &Value| {
        let at = |at: &Value| (at["line"].as_u64(), at["character"].as_u64());
        at(&outer["start"]) <= at(&inner["start"]) && at(&inner["end"]) <= at(&outer["end"])
    };
    for one in outline.as_array().expect("a list").iter().chain(outline[1]["children"].as_array().expect("a list")) {
        assert!(within(&one["selectionRange"], &one["range"]), "{one}");
    }
    let folds = client.ask("textDocument/foldingRange", document.clone());
    let folds: Vec<_> = folds
        .as_array()
        .expect("a list")
        .iter()
        .map(|one| (one["startLine"].as_u64(), one["endLine"].as_u64()))
        .collect();
    assert_eq!(folds, [(Some(5), Some(16)), (Some(9), Some(15)), (Some(1), Some(2))]);

    let legend = client.capabilities["semanticTokensProvider"]["legend"]["tokenTypes"].clone();
    let (_, text) = client.texts[&plan].clone();
    let coloured = |client: &mut Client, document: Value, text: &str, method: &str| -> Vec<(String, String)> {
        let data = client.ask(method, document)["data"].clone();
        let lines: Vec<&str> = text.lines().collect();
        let (mut line, mut character) = (0, 0);
        let numbers: Vec<usize> =
            data.as_array().expect("numbers").iter().map(|n| n.as_u64().expect("one") as usize).collect();
        numbers
            .chunks(5)
            .map(|token| {
                character = if token[0] == 0 { character + token[1] } else { token[1] };
                line += token[0];
                let units: Vec<u16> = lines[line].encode_utf16().skip(character).take(token[2]).collect();
                (String::from_utf16(&units).expect("whole"), legend[token[3]].as_str().expect("a type").to_string())
            })
            .collect()
    };
    let tokens = coloured(&mut client, document.clone(), &text, "textDocument/semanticTokens/full");
    for (word, kind) in [
        ("use", "keyword"),
        ("gap", "variable"),
        ("bath", "class"),
        ("W-20", "type"),
        ("16", "number"),
        ("A", "modifier"),
        ("east", "keyword"),
        ("# In mm.", "comment"),
    ] {
        assert!(tokens.contains(&(word.to_string(), kind.to_string())), "{word} is no {kind}: {tokens:?}");
    }
    let mut part = document.clone();
    part["range"] = json!({ "start": { "line": 3, "character": 0 }, "end": { "line": 4, "character": 0 } });
    assert_eq!(coloured(&mut client, part, &text, "textDocument/semanticTokens/range").len(), 3);

    let pack = uri(folder.0.path(), "ours.rule");
    client.open_text(&pack, PACK);
    let document = json!({ "textDocument": { "uri": pack } });
    let outline = client.ask("textDocument/documentSymbol", document.clone());
    assert_eq!(names(&outline), ["short-run", "spacing"]);
    assert_eq!(names(&outline[0]["children"]), ["least"]);
    let tokens = coloured(&mut client, document, PACK, "textDocument/semanticTokens/full");
    for (word, kind) in [
        ("short-run", "function"),
        ("runs", "namespace"),
        ("length", "property"),
        ("least", "variable"),
        ("} long; {", "string"),
    ] {
        assert!(tokens.contains(&(word.to_string(), kind.to_string())), "{word} is no {kind}: {tokens:?}");
    }
    assert_eq!(client.leave(), 0);
}

#[test]
fn texts_are_laid_out_by_the_canonical_form() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let pack = uri(folder.0.path(), "ours.rule");
    client.open_text(&pack, PACK);
    let options = json!({ "tabSize": 8, "insertSpaces": false });
    for (uri, text, wanted) in [
        (&plan, PLAN, layrule::layout::tidy::tidy(PLAN).expect("sound")),
        (&pack, PACK, layrule::rules::tidy::tidy(PACK).expect("sound")),
    ] {
        let edits =
            client.ask("textDocument/formatting", json!({ "textDocument": { "uri": uri }, "options": options }));
        assert_ne!(text, wanted);
        assert_eq!(applied(text, &edits), wanted);
    }
    client.edit(&plan, "run east", "run est");
    let parameters = json!({ "textDocument": { "uri": plan }, "options": options });
    let (code, message) = client.refused("textDocument/formatting", parameters);
    assert!(code == -32803 && message.contains("can't be read whole"), "{message}");
    assert_eq!(client.leave(), 0);
}

#[test]
fn figures_are_those_of_the_room_a_name_stands_in() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let uri = uri(folder.0.path(), "two.lay");
    let room = |name: &str, outline: &str, run: u32| {
        format!("room {name} {{\n  {outline}\n  cable a {{\n    start (100, 100)\n    run east {run}\n  }}\n}}\n")
    };
    let text = room("one", "outline (0, 0) (2000, 0) (2000, 900) (0, 900)", 800) + &room("two", "", 700);
    client.open_text(&uri, &text);
    let second = text.rfind("cable a").expect("it is there") + "cable ".len();
    let ask =
        |at: usize| json!({ "textDocument": { "uri": uri }, "position": crate::common::client::position(&text, at) });
    let first = client.ask("textDocument/hover", ask(text.find("cable a").expect("it is there") + "cable ".len()));
    assert!(first["contents"]["value"].as_str().expect("figures").contains("800 mm"), "{first}");
    // The other room has no outline and so no figures; what stands there is shown as it is written.
    let second = client.ask("textDocument/hover", ask(second));
    let shown = second["contents"]["value"].as_str().unwrap_or_default();
    assert!(!shown.contains("800 mm") && !shown.contains("one"), "{second}");
    assert_eq!(client.leave(), 0);
}

#[test]
fn what_renaming_would_change_beyond_the_name_is_refused() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let uri = uri(folder.0.path(), "own.lay");
    let text = "material chipboard {\n  conductivity 0.13 W/mK\n}\nlet gap = 1\nroom r {\n  floor timber {\n    deck 22 mm chipboard\n  }\n  inside gap +\n}\n";
    client.open_text(&uri, text);
    let rename = |word: &str, new: &str| {
        let at = text.find(word).expect("it is there");
        json!({ "textDocument": { "uri": uri }, "position": crate::common::client::position(text, at), "newName": new })
    };
    let (_, why) = client.refused("textDocument/rename", rename("chipboard", "insulation"));
    assert!(why.contains("called `insulation` already"), "{why}");
    let (_, why) = client.refused("textDocument/rename", rename("gap", "step"));
    assert!(why.contains("line 9 ") && why.contains("can't be read yet"), "{why}");
    assert!(client.ask("textDocument/rename", rename("chipboard", "flakeboard"))["changes"].is_object());
    assert_eq!(client.leave(), 0);

    // A kit's new name is taken where another plan that uses the catalogue has a kit of that name.
    let kit = |name: &str| format!("kit {name} {{\n  output 10 W at 230 V\n  length 1 m\n}}\n");
    let other = format!("use \"k1.lay\"\n{}", kit("Z"));
    let folder = Folder::new(&[("k1.lay", &kit("K")), ("p4.lay", &other)]);
    let mut client = Client::open(folder.0.path());
    let catalogue = client.open_file(folder.0.path(), "k1.lay");
    let at = |new: &str| json!({ "textDocument": { "uri": catalogue }, "position": { "line": 0, "character": 4 }, "newName": new });
    let (_, why) = client.refused("textDocument/rename", at("Z"));
    assert!(why.contains("called `Z` already"), "{why}");
    assert!(client.ask("textDocument/rename", at("Y"))["changes"].is_object());
    assert_eq!(client.leave(), 0);
}
