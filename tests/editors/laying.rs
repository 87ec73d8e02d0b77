//! Cables laid at an editor's request: offered, sent as a change of the text that it is made to, or why not.

use std::path::Path;

use serde_json::{Value, json};

use crate::common::client::{Client, applied, uri};
use crate::common::program::Folder;
use crate::common::{check, text_of};

const CONTENT_MODIFIED: i64 = -32801;
const REQUEST_CANCELLED: i64 = -32800;

/// A room whose cable names a kit of so many metres.
fn plan(metres: u32) -> String {
    format!(
        "kit K {{\n  output       {}0 W at 230 V\n  length       {metres} m\n  diameter     6 mm\n  bend-radius  25 mm\n  tail         3 m\n  screen       earthed\n}}\n\n\
         room r {{\n  outline     (0, 0) (3400, 0) (3400, 2200) (0, 2200)\n  door        d  wall 1 from 300 to 1200\n  junction    j  (3400, 400) height 300\n  \
         thermostat  t  (3400, 700) height 1200 rated 16 A\n\n  cable a {{\n    kit K\n  }}\n}}\n",
        metres
    )
}

/// An editor that makes the changes that it is sent.
fn able(folder: &Path) -> Client {
    let mut client = Client::start(folder);
    let workspace = json!({ "applyEdit": true, "workspaceEdit": { "documentChanges": true } });
    let folders = json!([{ "uri": uri(folder, ""), "name": "plans" }]);
    let capabilities = json!({ "workspace": workspace });
    let answer = client.ask("initialize", json!({ "capabilities": capabilities, "workspaceFolders": folders }));
    client.capabilities = answer["capabilities"].clone();
    client.say("initialized", json!({}));
    client
}

/// What is offered at a part of an open text, by its title.
fn offered(client: &mut Client, plan: &str, part: &str) -> Vec<Value> {
    let at = client.at(plan, part, 1);
    let range = json!({ "start": at["position"], "end": at["position"] });
    let document = at["textDocument"].clone();
    let actions = client.ask(
        "textDocument/codeAction",
        json!({ "textDocument": document, "range": range, "context": { "diagnostics": [] } }),
    );
    actions.as_array().cloned().unwrap_or_default()
}

/// Has the editor execute the one offer to lay what stands at `kit K` in a block; its request's id.
fn execute(client: &mut Client, plan: &str) -> i64 {
    let offers = offered(client, plan, "kit K\n");
    let laying: Vec<&Value> = offers.iter().filter(|one| one["title"] == "Lay cable `a`").collect();
    let [action] = laying[..] else { panic!("{offers:?}") };
    let command = action["command"].clone();
    client.request(
        "workspace/executeCommand",
        json!({ "command": command["command"], "arguments": command["arguments"] }),
    )
}

#[test]
fn a_cable_is_laid_in_the_text_that_it_was_asked_for() {
    let folder = Folder::new(&[("r.lay", &plan(70))]);
    let mut client = able(folder.0.path());
    assert_eq!(client.capabilities["executeCommandProvider"]["commands"], json!(["layrule.lay"]));
    let open = client.open_file(folder.0.path(), "r.lay");
    client.edit(&open, "thermostat  t", "thermostat  u");
    let id = execute(&mut client, &open);
    let change = client.receive();
    assert_eq!(change["method"], "workspace/applyEdit", "{change}");
    let edits = &change["params"]["edit"]["documentChanges"];
    assert_eq!(edits[0]["textDocument"], json!({ "uri": open, "version": 2 }));
    let laid = applied(&client.texts[&open].1, &edits[0]["edits"]);
    let report = check(&laid);
    assert!(laid.contains("loops") && report.findings.is_empty(), "{laid}\n{}", text_of(&report));
    assert_eq!(layrule::layout::tidy::tidy(&laid).as_deref(), Ok(laid.as_str()));
    client.wire.send(&json!({ "jsonrpc": "2.0", "id": change["id"], "result": { "applied": true } }));
    let answer = client.receive();
    assert_eq!((answer["id"].as_i64(), &answer["result"]), (Some(id), &Value::Null), "{answer}");

    // Nothing is offered where no cable is without a way.
    client.open_text(&open, &laid);
    assert!(offered(&mut client, &open, "kit    K").iter().all(|one| one["command"].is_null()));
    assert_eq!(client.leave(), 0);
}

#[test]
fn what_stands_in_the_way_is_told() {
    let folder = Folder::new(&[("r.lay", &plan(400))]);
    let mut client = able(folder.0.path());
    let open = client.open_file(folder.0.path(), "r.lay");
    let id = execute(&mut client, &open);
    let told = client.receive();
    assert_eq!((&told["method"], &told["params"]["type"]), (&json!("window/showMessage"), &json!(2)), "{told}");
    let message = told["params"]["message"].as_str().expect("a message");
    assert!(message.contains("`spacing`") && message.contains("choose a shorter kit"), "{message}");
    assert_eq!(client.receive()["id"], id);
    assert_eq!(client.leave(), 0);
}

/// Meanwhile other requests are answered.
#[test]
fn laying_is_left_off_when_a_change_overtakes_it() {
    let folder = Folder::new(&[("r.lay", &plan(70))]);
    let mut client = able(folder.0.path());
    let open = client.open_file(folder.0.path(), "r.lay");
    let id = execute(&mut client, &open);
    let at = client.at(&open, "outline", 2);
    let hover = client.request("textDocument/hover", at);
    let answer = client.receive();
    assert_eq!(answer["id"], hover, "{answer}");
    client.edit(&open, "(0, 2200)", "(0, 2210)");
    let answer = client.receive();
    assert_eq!(
        (answer["id"].as_i64(), answer["error"]["code"].as_i64()),
        (Some(id), Some(CONTENT_MODIFIED)),
        "{answer}"
    );

    // What was offered for another version isn't laid, nor what no editor was offered.
    let (version, _) = client.texts[&open];
    let old = json!({ "uri": open, "version": version - 1, "room": "r" });
    let (code, _) = client.refused("workspace/executeCommand", json!({ "command": "layrule.lay", "arguments": [old] }));
    assert_eq!(code, CONTENT_MODIFIED);
    for (command, arguments) in [("layrule.lay", json!([])), ("layrule.dig", json!([old]))] {
        let (code, why) =
            client.refused("workspace/executeCommand", json!({ "command": command, "arguments": arguments }));
        assert!(code == -32602 && why.contains("offered"), "{code} {why}");
    }

    let id = execute(&mut client, &open);
    client.say("$/cancelRequest", json!({ "id": id }));
    let answer = client.receive();
    assert_eq!(
        (answer["id"].as_i64(), answer["error"]["code"].as_i64()),
        (Some(id), Some(REQUEST_CANCELLED)),
        "{answer}"
    );
    assert_eq!(client.leave(), 0);
}

#[test]
fn an_editor_that_makes_no_changes_is_offered_none() {
    let folder = Folder::new(&[("r.lay", &plan(70))]);
    let mut client = Client::open(folder.0.path());
    assert_eq!(client.capabilities["executeCommandProvider"], Value::Null);
    let open = client.open_file(folder.0.path(), "r.lay");
    assert!(offered(&mut client, &open, "kit K\n").iter().all(|one| one["command"].is_null()));
    assert_eq!(client.leave(), 0);
}
