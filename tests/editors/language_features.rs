//! What an editor may ask besides: marks, links, hints, forms, findings on request; and that it is answered while a plan is checked.

use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::common::client::{Client, KITS, PLAN, applied, codes, plans, uri};
use crate::common::program::{Folder, layrule};
use crate::common::wire::Wire;

/// A client that can all that is heeded.
fn open_able(folder: &std::path::Path) -> Client {
    let mut client = Client::start(folder);
    let capabilities = json!({
        "textDocument": {
            "diagnostic": {},
            "completion": { "completionItem": { "snippetSupport": true } },
        },
        "workspace": {
            "workspaceEdit": { "documentChanges": true },
            "diagnostics": { "refreshSupport": true },
            "inlayHint": { "refreshSupport": true },
        },
    });
    let folders = json!([{ "uri": uri(folder, ""), "name": "plans" }]);
    let answer = client.ask("initialize", json!({ "capabilities": capabilities, "workspaceFolders": folders }));
    client.capabilities = answer["capabilities"].clone();
    client.say("initialized", json!({}));
    client
}

fn text_of(text: &str, range: &Value) -> String {
    let line = |at: &Value| at["line"].as_u64().expect("a line") as usize;
    let column = |at: &Value| at["character"].as_u64().expect("a column") as usize;
    let (start, end) = (&range["start"], &range["end"]);
    let lines: Vec<&str> = text.lines().collect();
    if line(start) == line(end) {
        return lines[line(start)][column(start)..column(end)].to_string();
    }
    let mut whole = lines[line(start)][column(start)..].to_string();
    for between in &lines[line(start) + 1..line(end)] {
        whole = format!("{whole}\n{between}");
    }
    format!("{whole}\n{}", lines.get(line(end)).map_or("", |last| &last[..column(end)]))
}

#[test]
fn a_name_is_marked_wherever_it_stands_in_its_text() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let at = client.at(&plan, "gap = 40", 1);
    let marked = client.ask("textDocument/documentHighlight", at);
    let marked: Vec<(String, u64)> = marked
        .as_array()
        .expect("a list")
        .iter()
        .map(|one| (text_of(PLAN, &one["range"]), one["kind"].as_u64().expect("a kind")))
        .collect();
    // Given once (3 is a write), used twice.
    assert_eq!(marked, [("gap".into(), 3), ("gap".into(), 2), ("gap".into(), 2)]);
    let at = client.at(&plan, "run east", 5);
    assert_eq!(client.ask("textDocument/documentHighlight", at), Value::Null);
    assert_eq!(client.leave(), 0);
}

#[test]
fn files_are_opened_where_they_are_named() {
    let folder = Folder::new(&[
        ("kits.lay", KITS),
        ("bath.lay", "use \"kits.lay\"\nuse \"gone.lay\"\nuse \"../outside.lay\"\n"),
        ("layrule.toml", "rules = [\"ours.rule\"]\n"),
        ("ours.rule", "amend spacing { severity warning }\n"),
    ]);
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let links = |client: &mut Client, uri: &str| -> Vec<Value> {
        let links = client.ask("textDocument/documentLink", json!({ "textDocument": { "uri": uri } }));
        links.as_array().expect("a list").iter().map(|link| link["target"].clone()).collect()
    };
    assert_eq!(links(&mut client, &plan), [uri(folder.0.path(), "kits.lay")]);
    let project = client.open_file(folder.0.path(), "layrule.toml");
    assert_eq!(links(&mut client, &project), [uri(folder.0.path(), "ours.rule")]);
    assert_eq!(client.leave(), 0);
}

#[test]
fn names_are_found_over_all_files() {
    let folder = Folder::new(&[("kits.lay", KITS), ("bath.lay", PLAN), ("deep/attic.lay", "room attic {\n}\n")]);
    let mut client = Client::open(folder.0.path());
    client.open_file(folder.0.path(), "bath.lay");
    let mut found = |query: &str| -> Vec<String> {
        let found = client.ask("workspace/symbol", json!({ "query": query }));
        let name = |one: &Value| {
            format!("{} {}", one["containerName"].as_str().unwrap_or(""), one["name"].as_str().unwrap_or(""))
        };
        found.as_array().expect("a list").iter().map(name).collect()
    };
    assert_eq!(found("w20"), ["kit \"Bench kit\" W-20"]);
    assert_eq!(found("ATTIC"), ["room attic"]);
    assert!(found("").len() > 5);
    assert_eq!(found("zzz"), [""; 0]);
    assert_eq!(client.leave(), 0);
}

#[test]
fn what_is_laid_is_told_beside_each_statement() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    client.edit(&plan, "    run north 100\n    run west 800\n", "    loops 2 of 300 north, stepping 100 west\n");
    let whole = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } });
    let asked = json!({ "textDocument": { "uri": plan }, "range": whole });
    let hints = client.ask("textDocument/inlayHint", asked);
    let labels: Vec<&str> =
        hints.as_array().expect("a list").iter().filter_map(|hint| hint["label"].as_str()).collect();
    // 800 mm; then two loops of 300 mm and the 100 mm between them.
    assert_eq!(labels, ["0.80 m, 0.80 m laid", "0.70 m, 1.50 m laid"]);
    assert_eq!(hints[1]["tooltip"], "these 3 runs are 0.70 m long; here 1.50 m of 2.00 m of cable `a` are laid");
    let none = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 1, "character": 0 } });
    assert_eq!(
        client.ask("textDocument/inlayHint", json!({ "textDocument": { "uri": plan }, "range": none })),
        json!([])
    );
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_selection_grows_from_the_word_to_the_text() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let at = client.at(&plan, "east 800", 1)["position"].clone();
    let grown =
        client.ask("textDocument/selectionRange", json!({ "textDocument": { "uri": plan }, "positions": [at] }));
    let mut selected = Vec::new();
    let mut one = &grown[0];
    while one.is_object() {
        selected.push(text_of(PLAN, &one["range"]));
        one = &one["parent"];
    }
    assert_eq!(selected[..2], ["east", "run east 800"]);
    assert!(selected[2].starts_with("\n    kit W-20") && selected[2].ends_with("run west 800\n  "), "{selected:?}");
    assert!(selected[3].starts_with("cable a {") && selected[3].ends_with('}'));
    assert!(selected[5].starts_with("room bath"));
    assert_eq!(selected.len(), 7);
    assert!(selected[6].starts_with("use"));
    assert_eq!(client.leave(), 0);
}

/// What nests deeper than can be read has no answer that nests as deep.
#[test]
fn a_selection_stays_within_what_can_be_read() {
    let folder = Folder::new(&[]);
    let mut client = Client::open(folder.0.path());
    let plan = uri(folder.0.path(), "deep.lay");
    client.open_text(&plan, &"{\n".repeat(20_000));
    let at = json!({ "line": 19_999, "character": 0 });
    let positions: Vec<Value> = std::iter::repeat_n(at, 600).collect();
    let grown =
        client.ask("textDocument/selectionRange", json!({ "textDocument": { "uri": plan }, "positions": positions }));
    assert_eq!(grown.as_array().map(Vec::len), Some(600));
    assert_eq!(grown[599].get("parent"), None);
    assert_eq!(client.leave(), 0);
}

#[test]
fn statements_are_shown_as_they_are_written() {
    let folder = plans();
    let mut client = open_able(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    client.edit(&plan, "    run west 800\n", "    loops 3 of \n");
    let at = client.at(&plan, "loops 3 of ", 11);
    let help = client.ask("textDocument/signatureHelp", at.clone());
    let form = &help["signatures"][0];
    assert_eq!(form["label"], "loops 12 of 1800 east, stepping 75 north");
    let active = help["activeParameter"].as_u64().expect("a number") as usize;
    let [from, to] = [0, 1].map(|end| form["parameters"][active]["label"][end].as_u64().expect("an offset") as usize);
    assert_eq!(&form["label"].as_str().expect("a form")[from..to], "1800");
    let at_word = client.at(&plan, "loops 3 of ", 3);
    assert_eq!(client.ask("textDocument/signatureHelp", at_word.clone()), Value::Null);
    // Under the pointer, both forms and what they mean.
    let shown = client.ask("textDocument/hover", at_word)["contents"]["value"].as_str().expect("a text").to_string();
    assert!(
        shown.contains("stepping 75 north\nloops of 1800 east") && shown.contains("parallel runs to and fro"),
        "{shown}"
    );
    // So with a word further on, as long as it is one of the statement's.
    let at_inner = client.at(&plan, "loops 3 of ", 9);
    assert_eq!(client.ask("textDocument/hover", at_inner)["contents"]["value"], shown.as_str());
    // A statement that begins can be filled in.
    client.edit(&plan, "    loops 3 of \n", "    lo\n");
    let at = client.at(&plan, "    lo\n", 6);
    let offered = client.ask("textDocument/completion", at);
    let offered = offered.as_array().expect("a list");
    let filled = offered.iter().find(|one| one["filterText"] == "loops").expect("a form");
    assert_eq!(filled["insertTextFormat"], 2);
    assert_eq!(filled["textEdit"]["newText"], "loops ${1:12} of ${2:1800} ${3:east}, stepping ${4:75} ${5:north}");
    let word = offered.iter().find(|one| one["label"] == "loops").expect("the word");
    assert!(word["documentation"]["value"].as_str().is_some_and(|text| text.contains("to and fro")), "{word}");
    assert_eq!(client.leave(), 0);
}

#[test]
fn changes_name_the_text_that_they_are_made_to() {
    let folder = plans();
    let mut client = open_able(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    client.edit(&plan, "gap = 40", "gap = 41");
    let at = client.at(&plan, "W-20", 1);
    let renamed = client.ask(
        "textDocument/rename",
        json!({ "textDocument": at["textDocument"], "position": at["position"], "newName": "W-30" }),
    );
    assert!(renamed.get("changes").is_none());
    let changes = renamed["documentChanges"].as_array().expect("a list");
    let version = |name: &str| {
        let wanted = uri(folder.0.path(), name);
        let found = changes.iter().find(|one| one["textDocument"]["uri"] == wanted.as_str());
        found.unwrap_or_else(|| panic!("{name}: {renamed}"))["textDocument"]["version"].clone()
    };
    assert_eq!((version("bath.lay"), version("kits.lay")), (json!(2), Value::Null));
    assert_eq!(client.leave(), 0);
}

/// A file that two plans use, in which another catalogue each gives the kit: a new name reaches all of it, and no plan beside them.
#[test]
fn a_new_name_reaches_every_catalogue_that_gives_it() {
    let kit = |name: &str| format!("kit {name} {{\n  output 20 W at 230 V\n  length 2 m\n}}\n");
    let room = "room bath {\n  outline (0, 0) (1000, 0) (1000, 300)\n  cable a {\n    kit K\n  }\n}\n";
    let both = |catalogue: &str| format!("use \"{catalogue}\"\nuse \"room.lay\"\n");
    let folder = Folder::new(&[
        ("one.lay", &kit("K")),
        ("two.lay", &kit("K")),
        ("three.lay", &kit("K")),
        ("room.lay", room),
        ("a.lay", &both("one.lay")),
        ("b.lay", &both("two.lay")),
        ("c.lay", &format!("use \"three.lay\"\n{room}")),
    ]);
    let mut client = Client::open(folder.0.path());
    let one = client.open_file(folder.0.path(), "one.lay");
    let at = client.at(&one, "K {", 0);
    let renamed = client.ask(
        "textDocument/rename",
        json!({ "textDocument": at["textDocument"], "position": at["position"], "newName": "L" }),
    );
    let mut files: Vec<&str> = renamed["changes"]
        .as_object()
        .expect("changes")
        .keys()
        .map(|uri| uri.rsplit('/').next().expect("a name"))
        .collect();
    files.sort_unstable();
    assert_eq!(files, ["one.lay", "room.lay", "two.lay"]);
    assert_eq!(client.leave(), 0);
}

/// Two cables that each lie 30 mm from a wall, where 50 mm is the least.
#[test]
fn all_changes_that_settle_something_are_made_at_once() {
    let room = |name: &str, end: u32| {
        format!(
            "room {name} {{\n  outline (0, 0) (3000, 0) (3000, 400) (0, 400)\n  cable a {{\n    start (100, 100)\n    run east {end}\n    run north 200\n  }}\n}}\n"
        )
    };
    let near = format!("{}{}", room("r", 2870), room("s", 2870));
    let folder = Folder::new(&[("near.lay", &near)]);
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "near.lay");
    let whole = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 0, "character": 0 } });
    let asked = |only: &str| json!({ "textDocument": { "uri": plan }, "range": whole, "context": { "diagnostics": [], "only": [only] } });
    let offered = client.ask("textDocument/codeAction", asked("source.fixAll"));
    let action = &offered[0];
    assert_eq!(
        (&action["kind"], &action["title"]),
        (&json!("source.fixAll.layrule"), &json!("Make 2 changes that settle findings"))
    );
    let text = applied(&near, &action["edit"]["changes"][&plan]);
    assert_eq!(text, near.replace("2870", "2850"));
    // What lies in the floor is not drawn anew.
    client.edit(&plan, "  cable a {", "  record {\n    tiled 2026-11-05\n  }\n  cable a {");
    assert_eq!(client.ask("textDocument/codeAction", asked("source")), Value::Null);
    assert_eq!(client.leave(), 0);
}

#[test]
fn findings_are_given_to_who_asks_for_them() {
    let folder = Folder::new(&[("kits.lay", KITS), ("bath.lay", PLAN), ("attic.lay", &PLAN.replace("bath", "attic"))]);
    let mut client = open_able(folder.0.path());
    assert_eq!(client.capabilities["diagnosticProvider"]["workspaceDiagnostics"], true);
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let ask = |before: Value| json!({ "textDocument": { "uri": plan }, "previousResultId": before });
    let told = client.ask("textDocument/diagnostic", ask(Value::Null));
    assert_eq!(told["kind"], "full");
    assert!(codes(told["items"].as_array().expect("a list")).contains(&"wall-clearance"));
    let again = client.ask("textDocument/diagnostic", ask(told["resultId"].clone()));
    assert_eq!((&again["kind"], &again["resultId"]), (&json!("unchanged"), &told["resultId"]));
    // Nothing is told of an open text besides.
    assert!(!client.told.contains_key(&plan));

    let all = client.ask("workspace/diagnostic", json!({ "previousResultIds": [] }));
    let items = all["items"].as_array().expect("a list").clone();
    let of = |items: &[Value], name: &str| {
        items.iter().find(|one| one["uri"] == uri(folder.0.path(), name).as_str()).cloned().unwrap_or(Value::Null)
    };
    // A plan that no one has opened is told of too.
    assert!(codes(of(&items, "attic.lay")["items"].as_array().expect("a list")).contains(&"wall-clearance"));
    let known: Vec<Value> = items.iter().map(|one| json!({ "uri": one["uri"], "value": one["resultId"] })).collect();
    client.edit(&plan, "gap = 40", "gap = 100");
    let again = client.ask("workspace/diagnostic", json!({ "previousResultIds": known }));
    let items = again["items"].as_array().expect("a list");
    assert_eq!(
        (&of(items, "attic.lay")["kind"], &of(items, "bath.lay")["kind"]),
        (&json!("unchanged"), &json!("full"))
    );
    assert_eq!(of(items, "bath.lay")["version"], 2);
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_broken_catalogue_tells_of_every_plan_that_uses_it() {
    let folder =
        Folder::new(&[("kits.lay", KITS), ("bath.lay", PLAN), ("attic.lay", PLAN), ("apart.lay", "room r {\n}\n")]);
    let mut client = Client::open(folder.0.path());
    let kits = client.open_file(folder.0.path(), "kits.lay");
    let [bath, attic] = ["bath.lay", "attic.lay"].map(|name| uri(folder.0.path(), name));
    client.findings_until(&bath, |found| codes(found).contains(&"wall-clearance"));
    client.edit(&kits, "W-20", "W-21");
    for plan in [&bath, &attic] {
        client.findings_until(plan, |found| codes(found).contains(&"name"));
    }
    client.edit(&kits, "W-21", "W-20");
    client.findings_until(&attic, |found| !codes(found).contains(&"name"));
    assert!(!client.told.contains_key(&uri(folder.0.path(), "apart.lay")));
    // Once it is closed, no one is told of plans that aren't open.
    client.say("textDocument/didClose", json!({ "textDocument": { "uri": kits } }));
    client.findings_until(&bath, <[Value]>::is_empty);
    assert_eq!(client.leave(), 0);
}

/// Held to the order of what comes back, not to a time: the outline is answered before the check of a plan of many runs is done, and a check
/// that a change overtakes is left off.
#[test]
fn an_editor_is_answered_while_a_plan_is_checked() {
    let folder = Folder::new(&[]);
    let large = "room r {\n  outline (0, 0) (5000, 0) (5000, 900000) (0, 900000)\n  cable a {\n    start (100, 100)\n    loops 30000 of 3900 east, stepping 15 north\n  }\n}\n";
    let mut client = Client::open(folder.0.path());
    let plan = uri(folder.0.path(), "large.lay");
    client.open_text(&plan, large);
    let outline = client.ask("textDocument/documentSymbol", json!({ "textDocument": { "uri": plan } }));
    assert_eq!(outline[0]["name"], "r");
    assert!(!client.told.contains_key(&plan), "the check was done first");
    client.edit(&plan, "loops 30000", "loops 3");
    let found = client.findings(&plan);
    assert!(!found.is_empty());
    let (times, _) = client.told[&plan];
    assert_eq!(times, 1, "the overtaken check was told of");
    assert_eq!(client.leave(), 0);
}

/// A check that its editor no longer wants is answered as taken back, what is asked next is answered, and asked for again it is done whole.
/// That it stops where it is, `rules::stopping` counts.
#[test]
fn a_check_that_is_taken_back_is_left_off() {
    let folder = plans();
    let mut client = open_able(folder.0.path());
    let small = client.open_file(folder.0.path(), "bath.lay");
    // From now on nothing is checked but what is asked for.
    client.ask("workspace/diagnostic", json!({ "previousResultIds": [] }));
    let large = "room r {\n  outline (0, 0) (5000, 0) (5000, 900000) (0, 900000)\n  cable a {\n    start (100, 100)\n    loops 4000 of 3900 east, stepping 20 north\n  }\n}\n";
    let plan = uri(folder.0.path(), "large.lay");
    let document = json!({ "textDocument": { "uri": plan } });
    client.open_text(&plan, large);
    let asked = client.request("textDocument/diagnostic", document.clone());
    // Once this is answered the other is being worked on.
    client.ask("textDocument/documentSymbol", document.clone());
    client.say("$/cancelRequest", json!({ "id": asked }));
    let answer = client.receive();
    assert_eq!((&answer["id"], &answer["error"]["code"]), (&json!(asked), &json!(-32800)), "{answer}");
    let at = client.at(&small, "W-20", 1);
    assert!(client.ask("textDocument/hover", at)["contents"]["value"].is_string());
    let found = client.ask("textDocument/diagnostic", document);
    assert!(found["items"].as_array().is_some_and(|items| !items.is_empty()));
    assert_eq!(client.leave(), 0);
}

/// Ended by a signal it leaves none of the packs behind that it wrote to be looked at.
#[cfg(unix)]
#[test]
fn what_was_written_goes_when_a_signal_ends_it() {
    let folder = plans();
    let own = tempfile::tempdir().expect("a folder");
    let mut command = layrule(folder.0.path(), &["language-server"]);
    command.env("TMPDIR", own.path());
    let mut wire = Wire::start(&mut command);
    let can = json!({ "textDocument": { "publishDiagnostics": { "codeDescriptionSupport": true } } });
    wire.send(&json!({ "jsonrpc": "2.0", "id": 1, "method": "initialize", "params": { "capabilities": can } }));
    wire.say("initialized", json!({}));
    let document =
        json!({ "uri": uri(folder.0.path(), "bath.lay"), "languageId": "layrule", "version": 1, "text": PLAN });
    wire.say("textDocument/didOpen", json!({ "textDocument": document }));
    let written = || std::fs::read_dir(own.path()).expect("it is there").count();
    let begun = Instant::now();
    while written() == 0 {
        assert!(begun.elapsed() < Duration::from_secs(30), "no pack is written");
        std::thread::sleep(Duration::from_millis(10));
    }
    let number = wire.child.id().to_string();
    let sent = std::process::Command::new("kill").args(["-TERM", &number]).status().expect("`kill` runs");
    assert!(sent.success());
    let status = wire.child.wait().expect("it ends");
    assert_eq!(status.code(), Some(1));
    assert_eq!(written(), 0);
}
