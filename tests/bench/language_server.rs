//! How soon findings come after a keystroke, by the program itself over its protocol. `cargo bench --bench language_server` runs it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, dead_code)]

#[path = "../common/wire.rs"]
mod wire;

use std::fmt::Write as _;
use std::process::Command;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// How many keystrokes are timed in each plan.
const KEYSTROKES: usize = 60;
/// What each may take, at the most.
const SOON: Duration = Duration::from_millis(50);

/// Rooms of one cable each, with so many runs altogether; every run on a line of its own.
fn plan(rooms: usize, runs: usize) -> String {
    let mut text = String::from(
        "# A floor of Harrow Mill.\nlet pitch = 75\n\nkit bench {\n  output 600 W at 230 V\n  length 60 m\n  diameter 6 mm\n  bend-radius 25 mm\n  tail 3 m\n}\n\nsupply flat {\n  voltage    230 V\n  rcd        30 mA\n  breaker    16 A\n  conductor  2.5 mm2 copper, 14 m, method C\n}\n",
    );
    let loops = runs / rooms / 2;
    for room in 0..rooms {
        let depth = 200 + loops * 75;
        let _ = writeln!(
            text,
            "\nroom r{room} \"Room {room}\" {{\n  outline  (0, 0) (2800, 0) (2800, {depth}) (0, {depth})"
        );
        let _ = writeln!(text, "  door     d wall 3 from 200 to 900\n  fixture  unit rect (2250, 0) (2800, {depth})");
        let _ = writeln!(
            text,
            "  floor concrete {{\n    tile        10 mm porcelain\n    adhesive    10 mm cable at 5 mm\n    board       20 mm insulation\n    concrete   150 mm\n  }}"
        );
        let _ = writeln!(
            text,
            "  inside   21 degC\n  below    ground 10 degC\n  heat-loss 300 W\n  junction j (2800, 100) height 300"
        );
        let _ = writeln!(
            text,
            "  thermostat t (2800, 100) height 1200 rated 16 A on flat\n  cable a {{\n    kit    bench\n    tail   j (2200, 100) (2100, 100)\n    start  (2100, 100)"
        );
        for one in 0..loops {
            let _ = writeln!(text, "    run    {} 2000", if one % 2 == 0 { "west" } else { "east" });
            let _ = writeln!(text, "    run    north pitch");
        }
        let _ = writeln!(text, "  }}\n  sensor s from t (2800, 137) (1600, 137) lead 3 m\n}}");
    }
    text
}

/// The time from each of many keystrokes to the findings of the text with it.
fn keystrokes(text: &str) -> Vec<Duration> {
    let folder = tempfile::tempdir().unwrap();
    let uri = format!("file://{}/plan.lay", folder.path().display());
    let mut command = Command::new(env!("CARGO_BIN_EXE_layrule"));
    let mut wire = wire::Wire::start(command.arg("language-server").current_dir(folder.path()));
    let patience = Duration::from_secs(60);
    wire.send(&json!({ "jsonrpc": "2.0", "id": 1, "method": "initialize", "params": { "capabilities": {
        "textDocument": { "publishDiagnostics": { "relatedInformation": true, "codeDescriptionSupport": true } } } } }));
    wire.next(patience).unwrap();
    wire.say("initialized", json!({}));
    let item = json!({ "uri": uri, "languageId": "layrule", "version": 0, "text": text });
    wire.say("textDocument/didOpen", json!({ "textDocument": item }));
    let told = |wire: &wire::Wire, version: usize| loop {
        let message = wire.next(patience).unwrap();
        if message["params"]["version"] == version && message["method"] == "textDocument/publishDiagnostics" {
            assert!(message["params"]["diagnostics"].as_array().is_some_and(|found| found.len() < 1000), "{message}");
            return;
        }
    };
    told(&wire, 0);
    // A run in the midst of the plan, made longer and shorter again.
    let runs: Vec<usize> =
        text.lines().enumerate().filter(|(_, line)| line.ends_with(" 2000")).map(|(number, _)| number).collect();
    let line = runs[runs.len() / 2];
    let column = text.lines().nth(line).unwrap().len();
    (1..=KEYSTROKES)
        .map(|version| {
            let at = |character: usize| -> Value { json!({ "line": line, "character": character }) };
            let digit = if version % 2 == 1 { "1" } else { "0" };
            let change = json!({ "range": { "start": at(column - 1), "end": at(column) }, "text": digit });
            let document = json!({ "uri": uri, "version": version });
            let begun = Instant::now();
            wire.say("textDocument/didChange", json!({ "textDocument": document, "contentChanges": [change] }));
            told(&wire, version);
            begun.elapsed()
        })
        .collect()
}

fn main() {
    let mut late = false;
    for (what, rooms) in [("one cable of 2000 runs", 1), ("50 rooms of 40 runs", 50)] {
        let mut times = keystrokes(&plan(rooms, 2000));
        times.sort_unstable();
        let (middle, most) = (times[times.len() / 2], times[times.len() - 1]);
        let ms = |time: Duration| time.as_secs_f64() * 1e3;
        println!(
            "findings after a keystroke, {what}: {:.1} ms, {:.1} ms at the most (at most {})",
            ms(middle),
            ms(most),
            SOON.as_millis()
        );
        late |= middle > SOON;
    }
    assert!(!late, "findings come too late");
}
