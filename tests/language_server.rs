//! The language server as an editor meets it: the real program over the protocol, on plans and on rule packs, and on whatever a client may
//! send that it shouldn't. What is expected of the protocol itself is from the Language Server Protocol's specification, version 3.17.

use std::collections::HashMap;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::command_line::{Folder, layrule};
use crate::common::root;

/// How long an answer may take on a machine that does other work.
const PATIENCE: Duration = Duration::from_secs(30);

/// A small client.
pub struct Client {
    child: Child,
    input: Option<ChildStdin>,
    messages: Receiver<Value>,
    next: i64,
    /// The findings told last, by URI, each with how often they were told.
    told: HashMap<String, (usize, Value)>,
    texts: HashMap<String, (i64, String)>,
    capabilities: Value,
}

impl Client {
    /// Starts the program and nothing else.
    fn start(folder: &Path) -> Client {
        let mut child = layrule(folder, &["language-server", "--date", "2026-11-25"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program runs");
        let mut output = BufReader::new(child.stdout.take().expect("its output"));
        let (sender, messages) = channel();
        std::thread::spawn(move || {
            loop {
                let mut length = 0;
                loop {
                    let mut line = String::new();
                    if output.read_line(&mut line).unwrap_or(0) == 0 {
                        return;
                    }
                    match line.trim().split_once(": ") {
                        Some(("Content-Length", value)) => length = value.parse().expect("a length"),
                        _ if line.trim().is_empty() => break,
                        _ => panic!("no header: {line}"),
                    }
                }
                let mut bytes = vec![0; length];
                output.read_exact(&mut bytes).expect("as long as it says");
                let message: Value = serde_json::from_slice(&bytes).expect("JSON");
                assert_eq!(message["jsonrpc"], "2.0");
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        let input = child.stdin.take();
        Client {
            child,
            input,
            messages,
            next: 0,
            told: HashMap::new(),
            texts: HashMap::new(),
            capabilities: Value::Null,
        }
    }

    /// Starts it and agrees with it on what editors usually can.
    fn open(folder: &Path) -> Client {
        Client::open_with(folder, json!({}))
    }

    fn open_with(folder: &Path, general: Value) -> Client {
        let mut client = Client::start(folder);
        let findings = json!({
            "relatedInformation": true, "codeDescriptionSupport": true, "tagSupport": { "valueSet": [1] },
        });
        let capabilities = json!({ "general": general, "textDocument": { "publishDiagnostics": findings } });
        let folder = json!({ "uri": uri(folder, ""), "name": "plans" });
        let parameters = json!({ "processId": null, "capabilities": capabilities, "workspaceFolders": [folder] });
        let answer = client.ask("initialize", parameters);
        assert_eq!(answer["serverInfo"]["name"], "layrule");
        client.capabilities = answer["capabilities"].clone();
        client.say("initialized", json!({}));
        client
    }

    fn write(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().expect("still open");
        input.write_all(bytes).and_then(|()| input.flush()).expect("it reads");
    }

    fn send(&mut self, message: &Value) {
        let text = message.to_string();
        self.write(format!("Content-Length: {}\r\n\r\n{text}", text.len()).as_bytes());
    }

    fn say(&mut self, method: &str, parameters: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": parameters }));
    }

    /// The next message, findings put aside.
    fn receive(&mut self) -> Value {
        loop {
            let message = self.messages.recv_timeout(PATIENCE).expect("it answers");
            if message["method"] == "textDocument/publishDiagnostics" {
                self.keep(&message);
                continue;
            }
            return message;
        }
    }

    fn keep(&mut self, message: &Value) {
        let uri = message["params"]["uri"].as_str().expect("a URI").to_string();
        let told = self.told.entry(uri).or_default();
        *told = (told.0 + 1, message["params"].clone());
    }

    fn request(&mut self, method: &str, parameters: Value) -> i64 {
        self.next += 1;
        self.send(&json!({ "jsonrpc": "2.0", "id": self.next, "method": method, "params": parameters }));
        self.next
    }

    fn ask(&mut self, method: &str, parameters: Value) -> Value {
        let answer = self.ask_whole(method, parameters);
        assert!(answer.get("error").is_none(), "{method}: {answer}");
        answer["result"].clone()
    }

    fn ask_whole(&mut self, method: &str, parameters: Value) -> Value {
        let id = self.request(method, parameters);
        let answer = self.receive();
        assert_eq!(answer["id"], id, "{answer}");
        answer
    }

    /// The code and message of the error that a request is answered with.
    fn refused(&mut self, method: &str, parameters: Value) -> (i64, String) {
        let answer = self.ask_whole(method, parameters);
        let error = &answer["error"];
        (error["code"].as_i64().unwrap_or_else(|| panic!("no error: {answer}")), error["message"].to_string())
    }

    fn open_text(&mut self, uri: &str, text: &str) {
        self.texts.insert(uri.to_string(), (1, text.to_string()));
        let item = json!({ "uri": uri, "languageId": "layrule", "version": 1, "text": text });
        self.say("textDocument/didOpen", json!({ "textDocument": item }));
    }

    /// Opens the file of that name as it lies on the disk.
    fn open_file(&mut self, folder: &Path, name: &str) -> String {
        let uri = uri(folder, name);
        let text = std::fs::read_to_string(folder.join(name)).expect("a file");
        self.open_text(&uri, &text);
        uri
    }

    /// Replaces a part of an open text, as an editor does that counts in UTF-16.
    fn edit(&mut self, uri: &str, old: &str, new: &str) {
        let (version, text) = self.texts.get_mut(uri).expect("it is open");
        let at = text.find(old).unwrap_or_else(|| panic!("no `{old}`"));
        let range = json!({ "start": position(text, at), "end": position(text, at + old.len()) });
        text.replace_range(at..at + old.len(), new);
        *version += 1;
        let document = json!({ "uri": uri, "version": *version });
        let change = json!({ "range": range, "text": new });
        self.say("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [change] }));
    }

    /// Waits until the findings of a file are as wanted.
    fn findings_until(&mut self, uri: &str, wanted: impl Fn(&[Value]) -> bool) -> Vec<Value> {
        let begun = Instant::now();
        loop {
            let told = self.told.get(uri).and_then(|(_, told)| told["diagnostics"].as_array().cloned());
            if let Some(told) = told.filter(|told| wanted(told)) {
                return told;
            }
            let left = PATIENCE.saturating_sub(begun.elapsed());
            let Ok(message) = self.messages.recv_timeout(left) else { panic!("not told of {uri}: {:?}", self.told) };
            if message["method"] == "textDocument/publishDiagnostics" {
                self.keep(&message);
            }
        }
    }

    /// The findings of an open text as it now is.
    fn findings(&mut self, uri: &str) -> Vec<Value> {
        let version = self.texts[uri].0;
        let begun = Instant::now();
        while self.told.get(uri).is_none_or(|(_, told)| told["version"] != version) {
            assert!(begun.elapsed() < PATIENCE, "not told of {uri}");
            if let Ok(message) = self.messages.recv_timeout(Duration::from_millis(50))
                && message["method"] == "textDocument/publishDiagnostics"
            {
                self.keep(&message);
            }
        }
        self.told[uri].1["diagnostics"].as_array().cloned().expect("a list")
    }

    /// Where a part of an open text stands, `within` bytes into it.
    fn at(&self, uri: &str, part: &str, within: usize) -> Value {
        let (_, text) = &self.texts[uri];
        let at = text.find(part).unwrap_or_else(|| panic!("no `{part}`"));
        json!({ "textDocument": { "uri": uri }, "position": position(text, at + within) })
    }

    /// Ends it as it should be ended, and returns the exit code.
    fn leave(mut self) -> i32 {
        self.ask("shutdown", Value::Null);
        self.say("exit", Value::Null);
        self.exit_code()
    }

    fn exit_code(&mut self) -> i32 {
        drop(self.input.take());
        let begun = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("it can be waited for") {
                return status.code().expect("it ends by itself");
            }
            assert!(begun.elapsed() < PATIENCE, "it doesn't end");
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        drop(self.input.take());
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn uri(folder: &Path, name: &str) -> String {
    format!("file://{}", folder.join(name).display()).replace(' ', "%20")
}

/// A byte offset as the protocol has it where nothing else is agreed.
fn position(text: &str, at: usize) -> Value {
    let before = &text[..at];
    let line = before.matches('\n').count();
    let column = before.rsplit('\n').next().unwrap_or("").encode_utf16().count();
    json!({ "line": line, "character": column })
}

fn codes(findings: &[Value]) -> Vec<&str> {
    findings.iter().filter_map(|finding| finding["code"].as_str()).collect()
}

/// A text with the edits of a workspace edit for a URI, or of a list of edits.
fn applied(text: &str, edits: &Value) -> String {
    let offset = |at: &Value| {
        let line = at["line"].as_u64().expect("a line") as usize;
        let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
        let mut units = at["character"].as_u64().expect("a column") as usize;
        let mut offset = start;
        for c in text[start..].chars().take_while(|c| *c != '\n' && *c != '\r') {
            if units == 0 {
                break;
            }
            units -= c.len_utf16().min(units);
            offset += c.len_utf8();
        }
        offset
    };
    let mut edits: Vec<(usize, usize, &str)> = edits
        .as_array()
        .expect("edits")
        .iter()
        .map(|edit| {
            let range = &edit["range"];
            (offset(&range["start"]), offset(&range["end"]), edit["newText"].as_str().expect("a text"))
        })
        .collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.0));
    let mut text = text.to_string();
    for (start, end, new) in edits {
        text.replace_range(start..end, new);
    }
    text
}

const KITS: &str =
    "kit W-20 \"Bench kit\" {\n  output 20 W at 230 V\n  length 2 m\n  resistance 2645 ohm, -5 % to +10 %\n}\n";
const PLAN: &str = "use \"kits.lay\"\nlet gap = 40\n\nroom bath \"Bathroom\" {\n  outline (0, 0) (1000, 0) (1000, 300) (0, 300)\n  junction j (0, 40)\n  thermostat t (0, 60) rated 16 A\n  cable a {\n    kit W-20\n    tail j (100, gap)\n    start (100, gap)\n    run east 800\n    run north 100\n    run west 800\n  }\n}\n";

fn plans() -> Folder {
    Folder::new(&[("kits.lay", KITS), ("bath.lay", PLAN)])
}

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
    // The project file's own faults are told of in it.
    let project = client.open_file(folder.0.path(), "layrule.toml");
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
    for part in ["kit W-20 \"Bench kit\"", "20 W", "2000 mm", "2645 ohm", "-5 % to +10 %"] {
        assert!(kit.contains(&part.replace('"', "\"")), "`{part}` is not in {kit}");
    }
    assert!(hover("gap)", 1).contains("**gap** = 40"));
    assert!(hover("cable a", 6).contains("laid-length"));
    assert!(hover("bath \"", 1).contains("area"));
    assert!(hover("outline", 2).contains("outline (X, Y)"));
    drop(hover);
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

const PACK: &str = "rule short-run {\n  about \"Run too short\"\n  severity note\n  basis practice\n  limit least = 30 mm \"from bend to bend\"\n  check run in runs\n  let near = run.nearest-wall\n  require run.wall-distance >= least and near.length > least\n  message \"{run} is {run.length} long; {least} is the least\"\n}\n\namend spacing {\n  limit minimum = 60 mm\n}\n";

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
    let room = "use \"kits.lay\"\nlet gap = 40\nsupply spur {\n voltage 230 V\n}\nroom r {\n outline (0, 0) (9, 0) (9, 9)\n let own = 3\n junction j (0, 0)\n thermostat t (0, 0) rated 16 A\n cable a {\n start (1, 1)\n run east 3\n }\n";
    let cases: [(&str, &[&str], &[&str]); 15] = [
        ("", &["room", "use", "kit"], &["cable", "run"]),
        ("  ca", &["cable", "deviation", "outline"], &["use", "loops"]),
        ("  cable b {\n    ", &["run", "loops", "kit"], &["outline"]),
        ("  cable b {\n    kit W-", &["W-20"], &["a", "gap", "run"]),
        ("  cable b {\n    tail ", &["j", "cable"], &["t", "W-20"]),
        ("  cable b {\n    tail cable ", &["a"], &["j"]),
        ("  cable b {\n    run ", &["east", "north", "to"], &["gap"]),
        ("  cable b {\n    run east ", &["gap", "own"], &["a", "east"]),
        ("  cable b {\n    run east 3 ", &["mm", "m"], &["east"]),
        ("  cable b {\n    start (own + ", &["gap", "own"], &["a"]),
        ("  thermostat u (0, 0) rated 16 A on ", &["spur"], &["t"]),
        ("  sensor s from ", &["t"], &["j"]),
        ("  deviation wall", &["wall-clearance", "rcd"], &["deviation-unused", "a"]),
        ("  deviation rcd cable ", &["a"], &["t"]),
        ("  floor timber {\n    ", &["porcelain", "plywood"], &["run"]),
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
fn positions_hold_outside_ascii_and_for_any_end_of_line() {
    let plan = "# Wärme 🜂 unter Fliesen\nroom r \"Bad 🜂 é\" {  # 🜂\n  outline (0, 0) (1000, 0) (1000, 300) (0, 300)\n  wall 1 \"🜂🜂 Süd\" outside\n  cable a {\n    start (100, 40)\n    run east 800\n  }\n}\n";
    let folder = Folder::new(&[]);
    for (encodings, agreed) in [
        (json!({}), "utf-16"),
        (json!({ "positionEncodings": ["utf-16"] }), "utf-16"),
        (json!({ "positionEncodings": ["utf-8", "utf-16"] }), "utf-8"),
    ] {
        for ends in ["\n", "\r\n"] {
            let mut client = Client::open_with(folder.0.path(), encodings.clone());
            assert_eq!(client.capabilities["positionEncoding"], agreed);
            let text = plan.replace('\n', ends);
            let uri = uri(folder.0.path(), "bad.lay");
            client.open_text(&uri, &text);
            let near = |found: &[Value]| found.iter().filter(|one| one["code"] == "wall-clearance").count();
            let found = client.findings(&uri);
            assert_eq!(near(&found), 1, "{found:?}");
            // The second of the two signs goes: 2 units of UTF-16, 4 bytes.
            let at = if agreed == "utf-8" { (14, 18) } else { (12, 14) };
            let range = |start: usize, end: usize| json!({ "start": { "line": 3, "character": start }, "end": { "line": 3, "character": end } });
            let changes = json!([
                { "range": range(at.0, at.1), "text": "" },
                { "range": { "start": { "line": 6, "character": 4 }, "end": { "line": 6, "character": 99 } }, "text": "run north 200" },
                { "range": { "start": { "line": 99, "character": 9 }, "end": { "line": 99, "character": 9 } }, "text": "let x = 1" },
            ]);
            client.say(
                "textDocument/didChange",
                json!({ "textDocument": { "uri": uri, "version": 2 }, "contentChanges": changes }),
            );
            client.texts.insert(
                uri.clone(),
                (2, text.replace("🜂🜂 Süd", "🜂 Süd").replace("run east 800", "run north 200") + "let x = 1"),
            );
            let found = client.findings(&uri);
            let near = found.iter().find(|one| one["code"] == "wall-clearance").unwrap_or_else(|| panic!("{found:?}"));
            assert_eq!(
                near["range"],
                json!({ "start": { "line": 6, "character": 4 }, "end": { "line": 6, "character": 17 } })
            );
            let message = near["message"].as_str().expect("a text");
            assert!(message.contains("wall 1 (\"🜂 Süd\")"), "{message}");
            assert_eq!(client.leave(), 0);
        }
    }
}

#[test]
fn a_client_is_held_to_the_protocol() {
    let folder = plans();
    let mut client = Client::start(folder.0.path());
    // Before it is initialized, requests are refused and notifications dropped.
    assert_eq!(client.refused("textDocument/hover", json!({})).0, -32002);
    client.open_text("file:///x.lay", "room");
    assert_eq!(client.refused("initialize", json!([1, 2])).0, -32602);
    let mut client = Client::open(folder.0.path());
    assert_eq!(client.refused("initialize", json!({ "capabilities": {} })).0, -32600);
    assert_eq!(client.refused("layrule/sing", json!({})).0, -32601);
    assert_eq!(client.refused("textDocument/hover", json!({ "position": 3 })).0, -32602);
    assert_eq!(client.refused("textDocument/hover", json!(null)).0, -32602);
    let plan = client.open_file(folder.0.path(), "bath.lay");
    // What was never opened, isn't there or is no file is answered with nothing.
    for name in ["gone.lay", "../up.lay", "%FF.lay", ""] {
        let at =
            json!({ "textDocument": { "uri": uri(folder.0.path(), name) }, "position": { "line": 3, "character": 3 } });
        assert_eq!(client.ask("textDocument/hover", at.clone()), Value::Null);
        assert_eq!(client.ask("textDocument/definition", at), Value::Null);
    }
    let far = json!({ "textDocument": { "uri": plan }, "position": { "line": 4_000_000_000u32, "character": 4_000_000_000u32 } });
    assert_eq!(client.ask("textDocument/hover", far), Value::Null);
    client.say(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": "file:///never", "version": 2 }, "contentChanges": [{ "text": "x" }] }),
    );
    client.say("textDocument/didChange", json!({ "textDocument": 7 }));
    client.say("layrule/hum", json!({}));
    client.send(&json!({ "jsonrpc": "2.0", "id": 77, "result": null }));
    client.send(&json!({ "jsonrpc": "2.0", "id": [], "result": 3, "error": "both" }));
    // A request that was taken back before its turn.
    let both = |id: i64| {
        let ask = json!({ "jsonrpc": "2.0", "id": id, "method": "textDocument/hover", "params": client_at(&plan) })
            .to_string();
        let cancel = json!({ "jsonrpc": "2.0", "method": "$/cancelRequest", "params": { "id": id } }).to_string();
        format!("Content-Length: {}\r\n\r\n{ask}Content-Length: {}\r\n\r\n{cancel}", ask.len(), cancel.len())
    };
    client.write(both(4711).as_bytes());
    let answer = client.receive();
    assert_eq!(answer["id"], 4711);
    assert!(answer["error"]["code"] == -32800 || answer.get("result").is_some(), "{answer}");

    client.ask("shutdown", Value::Null);
    assert_eq!(client.refused("shutdown", Value::Null).0, -32600);
    assert_eq!(client.refused("textDocument/hover", client_at(&plan)).0, -32600);
    client.say("exit", Value::Null);
    assert_eq!(client.exit_code(), 0);
}

fn client_at(uri: &str) -> Value {
    json!({ "textDocument": { "uri": uri }, "position": { "line": 0, "character": 0 } })
}

#[test]
fn leaving_without_a_word_ends_it_with_1() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    client.say("exit", Value::Null);
    assert_eq!(client.exit_code(), 1);
    let mut client = Client::open(folder.0.path());
    client.open_file(folder.0.path(), "bath.lay");
    assert_eq!(client.exit_code(), 1);
    let mut client = Client::start(folder.0.path());
    client.write(b"Content-Length: 500\r\n\r\n{\"jsonrpc\"");
    assert_eq!(client.exit_code(), 1);
}

#[test]
fn garbage_is_answered_and_read_past() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    client.findings(&plan);
    let framed = |body: &[u8]| [format!("Content-Length: {}\r\n\r\n", body.len()).as_bytes(), body].concat();
    let deep = "[".repeat(100_000);
    let cases: Vec<(Vec<u8>, i64)> = vec![
        (framed(b"{"), -32700),
        (framed(b"\xff\xfe"), -32700),
        (framed(b""), -32700),
        (framed(deep.as_bytes()), -32700),
        (framed(b"[]"), -32600),
        (framed(b"3"), -32600),
        (framed(b"{\"jsonrpc\":\"2.0\",\"id\":5e40,\"method\":\"shutdown\"}"), -32600),
        (framed(b"{\"jsonrpc\":\"2.0\",\"id\":9,\"method\":7}"), -32600),
    ];
    for (bytes, code) in cases {
        client.write(&bytes);
        let answer = client.receive();
        assert_eq!(answer["error"]["code"], code, "{answer}");
        assert!(answer.get("id").is_some(), "{answer}");
    }
    // A message too large to be read is passed over whole.
    let length = 128 * 1024 * 1024;
    client.write(format!("Content-Length: {length}\r\n\r\n").as_bytes());
    let block = vec![b'x'; 1024 * 1024];
    (0..128).for_each(|_| client.write(&block));
    assert_eq!(client.receive()["error"]["code"], -32600);
    // Headers that are none, in front of one that is.
    client.write(b"GET / HTTP/1.1\r\nHost: here\r\n\r\n\n\xff\xff\n");
    client.write(b"Content-Length: minus\r\n\r\n");
    client.write(&vec![b'y'; 100_000]);
    let at = client.at(&plan, "cable a", 6);
    assert!(
        client.ask("textDocument/hover", at)["contents"]["value"].as_str().is_some_and(|text| text.contains("cable a"))
    );
    // Nothing that was typed is lost by any of it.
    client.edit(&plan, "gap = 40", "gap = 100");
    assert!(!codes(&client.findings(&plan)).contains(&"wall-clearance"));
    assert_eq!(client.leave(), 0);
}

#[test]
fn what_is_too_large_or_bottomless_is_said_and_survived() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    let large = uri(folder.0.path(), "large.lay");
    client.open_text(&large, &"# padding\n".repeat(1_700_000));
    let found = client.findings(&large);
    assert!(found[0]["message"].as_str().is_some_and(|text| text.contains("16 MiB")), "{found:?}");
    assert_eq!(client.ask("textDocument/hover", client_at(&large)), Value::Null);
    client.texts.insert(large.clone(), (2, PLAN.to_string()));
    client.say(
        "textDocument/didChange",
        json!({ "textDocument": { "uri": large, "version": 2 }, "contentChanges": [{ "text": PLAN }] }),
    );
    assert!(codes(&client.findings(&large)).contains(&"wall-clearance"));
    // Files that use each other, brackets without an end, characters that no one may show.
    std::fs::write(folder.path("kits.lay"), "use \"bath.lay\"\n").expect("a file");
    client.edit(&plan, "gap = 40", "gap = 41");
    client.findings_until(&plan, |found| codes(found).contains(&"use"));
    let at = client.at(&plan, "W-20", 1);
    assert_eq!(client.ask("textDocument/definition", at), Value::Null);
    let odd = uri(folder.0.path(), "odd.lay");
    for text in [
        "(".repeat(200_000),
        "room r {".repeat(1000),
        "\"".repeat(999),
        "\u{0}\u{1b}[31m\u{202e}room \u{7f}{\r\r".into(),
        "run {}{}}}{ \" # \" {".into(),
    ] {
        client.open_text(&odd, &text);
        client.findings(&odd);
        let end = position(&text, text.len());
        for method in [
            "hover",
            "completion",
            "definition",
            "documentSymbol",
            "foldingRange",
            "semanticTokens/full",
            "codeAction",
            "formatting",
            "prepareRename",
        ] {
            let range = json!({ "start": { "line": 0, "character": 0 }, "end": end });
            let parameters = json!({ "textDocument": { "uri": odd }, "position": end, "range": range, "context": { "diagnostics": [] }, "options": { "tabSize": 2, "insertSpaces": true } });
            let answer = client.ask_whole(&format!("textDocument/{method}"), parameters);
            assert_ne!(answer["error"]["code"], -32603, "{method}: {answer}");
        }
        client.say("textDocument/didClose", json!({ "textDocument": { "uri": odd } }));
        client.findings_until(&odd, <[Value]>::is_empty);
        client.told.remove(&odd);
    }
    assert_eq!(client.leave(), 0);
}

#[test]
fn only_the_last_of_many_edits_is_checked() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    client.findings(&plan);
    let before = client.told[&plan].0;
    let mut bytes = Vec::new();
    for version in 2..=200 {
        let changes = json!([{ "range": { "start": { "line": 1, "character": 0 }, "end": { "line": 1, "character": 12 } }, "text": format!("let gap = {}", version % 90 + 10) }]);
        let message = json!({ "jsonrpc": "2.0", "method": "textDocument/didChange", "params": { "textDocument": { "uri": plan, "version": version }, "contentChanges": changes } }).to_string();
        bytes.extend(format!("Content-Length: {}\r\n\r\n{message}", message.len()).into_bytes());
    }
    client.write(&bytes);
    client.texts.insert(plan.clone(), (200, PLAN.replace("gap = 40", "gap = 30")));
    client.findings(&plan);
    let times = client.told[&plan].0 - before;
    assert!(times < 100, "{times} of 199 edits were checked");
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_text_that_is_not_saved_yet_is_checked_too() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    client.open_text("untitled:Untitled-1", PLAN);
    let found = client.findings("untitled:Untitled-1");
    assert!(codes(&found).contains(&"wall-clearance") && !codes(&found).contains(&"use"), "{found:?}");
    assert_eq!(client.leave(), 0);
}
