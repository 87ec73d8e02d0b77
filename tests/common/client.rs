//! A small client of the language server, and the plans it works on.

use std::collections::HashMap;
use std::path::Path;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::common::program::{Folder, layrule};
use crate::common::wire::Wire;

/// How long an answer may take on a machine that does other work.
const PATIENCE: Duration = Duration::from_secs(30);

/// A small client.
pub(crate) struct Client {
    pub wire: Wire,
    next: i64,
    /// The findings told last, by URI, each with how often they were told.
    pub told: HashMap<String, (usize, Value)>,
    pub texts: HashMap<String, (i64, String)>,
    pub capabilities: Value,
}

impl Client {
    /// Starts the program and nothing else.
    pub(crate) fn start(folder: &Path) -> Client {
        let wire = Wire::start(&mut layrule(folder, &["language-server", "--date", "2026-11-25"]));
        let (told, texts) = (HashMap::new(), HashMap::new());
        Client { wire, next: 0, told, texts, capabilities: Value::Null }
    }

    /// Starts it and agrees with it on what editors usually can.
    pub(crate) fn open(folder: &Path) -> Client {
        Client::open_with(folder, json!({}))
    }

    pub(crate) fn open_with(folder: &Path, general: Value) -> Client {
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

    pub(crate) fn say(&mut self, method: &str, parameters: Value) {
        self.wire.say(method, parameters);
    }

    /// The next message, findings put aside.
    pub(crate) fn receive(&mut self) -> Value {
        loop {
            let message = self.wire.next(PATIENCE).expect("it answers");
            if message["method"] == "textDocument/publishDiagnostics" {
                self.keep(&message);
                continue;
            }
            return message;
        }
    }

    pub(crate) fn keep(&mut self, message: &Value) {
        let uri = message["params"]["uri"].as_str().expect("a URI").to_string();
        let told = self.told.entry(uri).or_default();
        *told = (told.0 + 1, message["params"].clone());
    }

    pub(crate) fn request(&mut self, method: &str, parameters: Value) -> i64 {
        self.next += 1;
        self.wire.send(&json!({ "jsonrpc": "2.0", "id": self.next, "method": method, "params": parameters }));
        self.next
    }

    pub(crate) fn ask(&mut self, method: &str, parameters: Value) -> Value {
        let answer = self.ask_whole(method, parameters);
        assert!(answer.get("error").is_none(), "{method}: {answer}");
        answer["result"].clone()
    }

    pub(crate) fn ask_whole(&mut self, method: &str, parameters: Value) -> Value {
        let id = self.request(method, parameters);
        let answer = self.receive();
        assert_eq!(answer["id"], id, "{answer}");
        answer
    }

    /// The code and message of the error that a request is answered with.
    pub(crate) fn refused(&mut self, method: &str, parameters: Value) -> (i64, String) {
        let answer = self.ask_whole(method, parameters);
        let error = &answer["error"];
        (error["code"].as_i64().unwrap_or_else(|| panic!("no error: {answer}")), error["message"].to_string())
    }

    pub(crate) fn open_text(&mut self, uri: &str, text: &str) {
        self.texts.insert(uri.to_string(), (1, text.to_string()));
        let item = json!({ "uri": uri, "languageId": "layrule", "version": 1, "text": text });
        self.say("textDocument/didOpen", json!({ "textDocument": item }));
    }

    /// Opens the file of that name as it lies on the disk.
    pub(crate) fn open_file(&mut self, folder: &Path, name: &str) -> String {
        let uri = uri(folder, name);
        let text = std::fs::read_to_string(folder.join(name)).expect("a file");
        self.open_text(&uri, &text);
        uri
    }

    /// Replaces a part of an open text, as an editor does that counts in UTF-16.
    pub(crate) fn edit(&mut self, uri: &str, old: &str, new: &str) {
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
    pub(crate) fn findings_until(&mut self, uri: &str, wanted: impl Fn(&[Value]) -> bool) -> Vec<Value> {
        let begun = Instant::now();
        loop {
            let told = self.told.get(uri).and_then(|(_, told)| told["diagnostics"].as_array().cloned());
            if let Some(told) = told.filter(|told| wanted(told)) {
                return told;
            }
            let left = PATIENCE.saturating_sub(begun.elapsed());
            let Some(message) = self.wire.next(left) else { panic!("not told of {uri}: {:?}", self.told) };
            if message["method"] == "textDocument/publishDiagnostics" {
                self.keep(&message);
            }
        }
    }

    /// The findings of an open text as it now is.
    pub(crate) fn findings(&mut self, uri: &str) -> Vec<Value> {
        let version = self.texts[uri].0;
        let begun = Instant::now();
        while self.told.get(uri).is_none_or(|(_, told)| told["version"] != version) {
            assert!(begun.elapsed() < PATIENCE, "not told of {uri}");
            if let Some(message) = self.wire.next(Duration::from_millis(50))
                && message["method"] == "textDocument/publishDiagnostics"
            {
                self.keep(&message);
            }
        }
        self.told[uri].1["diagnostics"].as_array().cloned().expect("a list")
    }

    /// Where a part of an open text stands, `within` bytes into it.
    pub(crate) fn at(&self, uri: &str, part: &str, within: usize) -> Value {
        let (_, text) = &self.texts[uri];
        let at = text.find(part).unwrap_or_else(|| panic!("no `{part}`"));
        json!({ "textDocument": { "uri": uri }, "position": position(text, at + within) })
    }

    /// Ends it as it should be ended, and returns the exit code.
    pub(crate) fn leave(mut self) -> i32 {
        self.ask("shutdown", Value::Null);
        self.say("exit", Value::Null);
        self.exit_code()
    }

    pub(crate) fn exit_code(&mut self) -> i32 {
        self.wire.close();
        let begun = Instant::now();
        loop {
            if let Some(status) = self.wire.child.try_wait().expect("it can be waited for") {
                return status.code().expect("it ends by itself");
            }
            assert!(begun.elapsed() < PATIENCE, "it doesn't end");
            std::thread::sleep(Duration::from_millis(10));
        }
    }
}

pub(crate) fn uri(folder: &Path, name: &str) -> String {
    format!("file://{}", folder.join(name).display()).replace(' ', "%20")
}

/// A byte offset as the protocol has it where nothing else is agreed.
pub(crate) fn position(text: &str, at: usize) -> Value {
    let before = &text[..at];
    let line = before.matches('\n').count();
    let column = before.rsplit('\n').next().unwrap_or("").encode_utf16().count();
    json!({ "line": line, "character": column })
}

pub(crate) fn codes(findings: &[Value]) -> Vec<&str> {
    findings.iter().filter_map(|finding| finding["code"].as_str()).collect()
}

/// A text with the edits of a workspace edit for a URI, or of a list of edits.
pub(crate) fn applied(text: &str, edits: &Value) -> String {
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

pub(crate) const KITS: &str =
    "kit W-20 \"Bench kit\" {\n  output 20 W at 230 V\n  length 2 m\n  resistance 2645 ohm, -5 % to +10 %\n}\n";
pub(crate) const PLAN: &str = "use \"kits.lay\"\nlet gap = 40\n\nroom bath \"Bathroom\" {\n  outline (0, 0) (1000, 0) (1000, 300) (0, 300)\n  junction j (0, 40)\n  thermostat t (0, 60) rated 16 A\n  cable a {\n    kit W-20\n    tail j (100, gap)\n    start (100, gap)\n    run east 800\n    run north 100\n    run west 800\n  }\n}\n";

pub(crate) fn plans() -> Folder {
    Folder::new(&[("kits.lay", KITS), ("bath.lay", PLAN)])
}
