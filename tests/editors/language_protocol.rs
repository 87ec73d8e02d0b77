//! The language server and what a client may send: positions outside ASCII, what the protocol forbids, and garbage. What is expected is from
//! the Language Server Protocol's specification, version 3.17.

use serde_json::{Value, json};

use crate::common::client::{Client, PLAN, applied, codes, plans, position, uri};
use crate::common::program::Folder;
use crate::common::wire::framed;

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
fn what_is_written_into_a_text_ends_its_lines_as_the_text_does() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let uri = uri(folder.0.path(), "bath.lay");
    let text = PLAN.replace("{\n", "{  # Ende\n").replace("\n  ", "\n\t").replace('\n', "\r\n");
    client.open_text(&uri, &text);
    let range = json!({ "start": { "line": 0, "character": 0 }, "end": { "line": 99, "character": 0 } });
    let parameters = json!({ "textDocument": { "uri": uri }, "range": range, "context": { "diagnostics": [] } });
    let offered = client.ask("textDocument/codeAction", parameters);
    let agree = offered
        .as_array()
        .into_iter()
        .flatten()
        .find(|one| one["title"].as_str().is_some_and(|title| title.starts_with("Agree to `wall-clearance`")));
    let text = applied(&text, &agree.expect("offered")["edit"]["changes"][&uri]);
    assert!(text.ends_with("\t}\r\n\tdeviation wall-clearance cable a \"\"\r\n}\r\n"), "{text}");
    let options = json!({ "tabSize": 2, "insertSpaces": true });
    let edits = client.ask("textDocument/formatting", json!({ "textDocument": { "uri": uri }, "options": options }));
    for edit in edits.as_array().expect("edits") {
        assert!(!edit["newText"].as_str().is_some_and(|text| text.replace("\r\n", "").contains('\n')), "{edit}");
    }
    assert_eq!(client.leave(), 0);
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
    client.wire.send(&json!({ "jsonrpc": "2.0", "id": 77, "result": null }));
    client.wire.send(&json!({ "jsonrpc": "2.0", "id": [], "result": 3, "error": "both" }));
    // A request that was taken back before its turn.
    let ask = json!({ "jsonrpc": "2.0", "id": 4711, "method": "textDocument/hover", "params": client_at(&plan) });
    let cancel = json!({ "jsonrpc": "2.0", "method": "$/cancelRequest", "params": { "id": 4711 } });
    client.wire.write(&[framed(&ask), framed(&cancel)].concat());
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
    client.wire.write(b"Content-Length: 500\r\n\r\n{\"jsonrpc\"");
    assert_eq!(client.exit_code(), 1);
}

#[test]
fn garbage_is_answered_and_read_past() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    client.findings(&plan);
    let as_message = |body: &[u8]| [format!("Content-Length: {}\r\n\r\n", body.len()).as_bytes(), body].concat();
    let deep = "[".repeat(100_000);
    let cases: Vec<(Vec<u8>, i64)> = vec![
        (as_message(b"{"), -32700),
        (as_message(b"\xff\xfe"), -32700),
        (as_message(b""), -32700),
        (as_message(deep.as_bytes()), -32700),
        (as_message(b"[]"), -32600),
        (as_message(b"3"), -32600),
        (as_message(b"{\"jsonrpc\":\"2.0\",\"id\":5e40,\"method\":\"shutdown\"}"), -32600),
        (as_message(b"{\"jsonrpc\":\"2.0\",\"id\":9,\"method\":7}"), -32600),
    ];
    for (bytes, code) in cases {
        client.wire.write(&bytes);
        let answer = client.receive();
        assert_eq!(answer["error"]["code"], code, "{answer}");
        assert!(answer.get("id").is_some(), "{answer}");
    }
    // A message too large to be read is passed over whole.
    let length = 128 * 1024 * 1024;
    client.wire.write(format!("Content-Length: {length}\r\n\r\n").as_bytes());
    let block = vec![b'x'; 1024 * 1024];
    (0..128).for_each(|_| client.wire.write(&block));
    assert_eq!(client.receive()["error"]["code"], -32600);
    // Headers that are none, in front of one that is.
    client.wire.write(b"GET / HTTP/1.1\r\nHost: here\r\n\r\n\n\xff\xff\n");
    client.wire.write(b"Content-Length: minus\r\n\r\n");
    client.wire.write(&vec![b'y'; 100_000]);
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
    assert!(found[0]["message"].as_str().is_some_and(|text| text.contains("4 MiB")), "{found:?}");
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

/// The most memory that a process has had, MiB.
#[cfg(target_os = "linux")]
fn most_memory(process: u32) -> usize {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).expect("it runs");
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).expect("its peak");
    line.trim().trim_end_matches(" kB").parse::<usize>().expect("a number") / 1024
}

/// Sixty megabytes are passed over unread; of what is small enough to be read the values are counted before memory is taken for them, which is
/// thirty times the bytes that they are written with.
#[cfg(target_os = "linux")]
#[test]
fn messages_of_nothing_but_zeros_take_no_memory() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    let plan = client.open_file(folder.0.path(), "bath.lay");
    client.findings(&plan);
    let before = most_memory(client.wire.child.id());
    let list = |values: usize| format!("[0{}]", ",0".repeat(values - 1));
    for (body, code, word) in [
        (list(30_000_000), -32600, "larger than"),
        (list(12_000_000), -32600, "values"),
        (format!("1{}", "0".repeat(24_000_000)), -32700, "no JSON"),
        (format!("0{}", "0".repeat(24_000_000)), -32700, "no JSON"),
    ] {
        client.wire.write(format!("Content-Length: {}\r\n\r\n{body}", body.len()).as_bytes());
        let answer = client.receive();
        let message = answer["error"]["message"].as_str().unwrap_or_default();
        assert!(answer["error"]["code"] == code && message.contains(word), "{word}: {message}");
    }
    // The bytes of the largest that is read, twice over while they are gathered.
    let most = most_memory(client.wire.child.id());
    assert!(most < before + 80, "{before} MiB before, {most} MiB at the most");
    let at = client.at(&plan, "W-20", 1);
    assert!(client.ask("textDocument/hover", at)["contents"]["value"].is_string());
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
        bytes.extend(framed(&json!({ "jsonrpc": "2.0", "method": "textDocument/didChange", "params": { "textDocument": { "uri": plan, "version": version }, "contentChanges": changes } })));
    }
    client.wire.write(&bytes);
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
    client.say("textDocument/didClose", json!({ "textDocument": { "uri": "untitled:Untitled-1" } }));
    client.findings_until("untitled:Untitled-1", <[Value]>::is_empty);
    assert_eq!(client.leave(), 0);
}

#[test]
fn many_edits_come_to_the_same_as_the_text_they_make() {
    let folder =
        Folder::new(&[("kits.lay", crate::common::client::KITS), ("layrule.toml", "rules = [\"ours.rule\"]\n")]);
    std::fs::write(folder.path("ours.rule"), "amend spacing {\n  limit minimum = 60 mm\n}\n").expect("a file");
    let mut client = Client::open(folder.0.path());
    let names = ["bath.lay", "kits.lay", "ours.rule"];
    let mut texts = vec![PLAN.replace('\n', "\r\n"), crate::common::client::KITS.to_string(), String::new()];
    texts[2] = std::fs::read_to_string(folder.path("ours.rule")).expect("a file");
    let uris: Vec<String> = names.iter().map(|name| uri(folder.0.path(), name)).collect();
    for (uri, text) in uris.iter().zip(&texts) {
        client.open_text(uri, text);
    }
    let written =
        ["", "", "", "7", "run east 30\n", "\"", "{", "}", "🜂é", "(", "#", "\r\n", "let gap = 3\n", "W-20", " "];
    // The multiplier and increment of Knuth's MMIX generator, from memory; any would do.
    let mut state = 20_261_125_u64;
    let mut random = |below: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below.max(1)
    };
    for version in 2..=400_i64 {
        let file = random(3);
        let text = &mut texts[file];
        let mut cut = |from: usize| -> usize {
            let whole = |at: &usize| text.is_char_boundary(*at) && !text[..*at].ends_with('\r');
            (from + random(text.len() + 1 - from)..=text.len()).find(whole).unwrap_or(text.len())
        };
        let start = cut(0);
        let end = if version % 3 == 0 { cut(start).min(start + 9) } else { start };
        let end = if text.is_char_boundary(end) && !text[..end].ends_with('\r') { end } else { start };
        let new = written[random(written.len())];
        let range = json!({ "start": position(text, start), "end": position(text, end) });
        text.replace_range(start..end, new);
        let change = json!({ "range": range, "text": new });
        let document = json!({ "uri": uris[file], "version": version });
        client.say("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [change] }));
        client.texts.insert(uris[file].clone(), (version, text.clone()));
        if version % 50 != 0 {
            continue;
        }
        // Another server, which sees only what came of it.
        let mut fresh = Client::open(folder.0.path());
        for (uri, text) in uris.iter().zip(&texts) {
            fresh.open_text(uri, text);
        }
        // An answer to a request comes after all findings of what was said before it, told or to be told with the next.
        for uri in &uris {
            let expected: Vec<Value> = fresh.findings(uri).into_iter().map(without_link).collect();
            let wanted = |found: &[Value]| found.iter().cloned().map(without_link).collect::<Vec<_>>() == expected;
            client.findings_until(uri, wanted);
        }
        assert_eq!(fresh.leave(), 0);
    }
    assert_eq!(client.leave(), 0);
}

/// A finding without the link into a folder of its server's own.
fn without_link(mut finding: Value) -> Value {
    if let Some(finding) = finding.as_object_mut() {
        finding.remove("codeDescription");
    }
    finding
}

#[test]
fn brackets_without_end_are_survived_where_something_is_completed() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    for (name, text) in [
        ("deep.lay", format!("let a = {}", "(".repeat(12_000))),
        ("deep.rule", "rule r {\n  check run in runs\n  require ".to_string() + &"max(".repeat(6_000)),
    ] {
        let uri = uri(folder.0.path(), name);
        client.open_text(&uri, &text);
        let position = position(&text, text.len());
        client.ask("textDocument/completion", json!({ "textDocument": { "uri": uri }, "position": position }));
    }
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_client_may_know_more_than_the_server_and_escape_less() {
    let folder = plans();
    let spaced = folder.path("a b – Jürgen");
    std::fs::create_dir(&spaced).expect("a folder");
    let mut client = Client::start(folder.0.path());
    let raw = format!("file://{}", spaced.display());
    let capabilities = json!({ "textDocument": {
        "foldingRange": { "foldingRangeKind": { "valueSet": ["comment", "zzz"] } }, "hover": { "contentFormat": ["html"] },
    } });
    let parameters = json!({ "processId": null, "rootUri": raw, "trace": "compact", "capabilities": capabilities });
    assert_eq!(client.ask("initialize", parameters)["serverInfo"]["name"], "layrule");
    client.say("initialized", json!({}));
    client.say(
        "textDocument/didOpen",
        json!({ "textDocument": {
        "uri": format!("{raw}/c d.lay"), "languageId": "layrule", "version": 1, "text": "let a = b\n",
    } }),
    );
    let escaped = layrule::language_server::documents::file_uri(&spaced.join("c d.lay")).expect("a URI");
    assert_eq!(codes(&client.findings_until(escaped.as_str(), |found| !found.is_empty())), ["name"]);
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_text_that_is_no_file_stays_when_folders_go() {
    let folder = plans();
    let mut client = Client::open(folder.0.path());
    client.open_text("untitled:one", "let a = b\n");
    assert_eq!(codes(&client.findings_until("untitled:one", |found| !found.is_empty())), ["name"]);
    let (gone, new) = (uri(folder.0.path(), ""), uri(std::path::Path::new("/"), "nowhere"));
    let event = json!({ "added": [{ "uri": new, "name": "new" }], "removed": [{ "uri": gone, "name": "plans" }] });
    client.say("workspace/didChangeWorkspaceFolders", json!({ "event": event }));
    client.edit("untitled:one", "= b", "= 1");
    assert!(client.findings_until("untitled:one", <[Value]>::is_empty).is_empty());
    assert_eq!(client.leave(), 0);
}
