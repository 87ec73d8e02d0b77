//! What is tried with any bytes: one function a way in. A panic is a fault; `cargo fuzz` watches time and memory, `cargo test` the time.
//!
//! Used by `tests/languages/fuzz.rs`, a bounded run, and by the programs in `bin/`, which run for as long as they are let.

// Each program in `bin/` uses one of them.
#![allow(dead_code, clippy::expect_used)]

use std::path::Path;
use std::sync::{Arc, LazyLock};

use layrule::checker::{self, Report};
use layrule::draw::{Request, draw};
use layrule::exchange::{Traced, Unit, dxf_in, geojson_in, ifc, rooms};
use layrule::handover::{Wanted, handover};
use layrule::known::Known;
use layrule::language::faults::SyntaxFault;
use layrule::language_server::{self, Options};
use layrule::layout;
use layrule::measure::plan::Measured;
use layrule::model::load::Library;
use layrule::model::resolve::resolve;
use layrule::project;
use layrule::report::{Reporter, json::Json, markdown::Markdown, text::Text};
use layrule::rules;
use layrule::rules::packs::{Pack, RuleSet, built_in};
use layrule::source::{Memory, Span};
use layrule::takeoff::allowances::Allowances;
use layrule::takeoff::outputs::{Form, write};
use layrule::takeoff::take_off;

/// A way in: its name, what is done with the bytes, and how many mutated seeds the bounded run tries.
pub(crate) struct Target {
    /// Its word: a program in `bin/`, a folder in `seeds/`.
    pub(crate) name: &'static str,
    /// What is done.
    pub(crate) run: fn(&[u8]),
    /// How many mutated seeds `cargo test` tries.
    pub(crate) bounded: u32,
}

/// Every way in.
pub(crate) const TARGETS: [Target; 8] = [
    Target { name: "plan", run: plan, bounded: 400 },
    Target { name: "pack", run: pack, bounded: 100 },
    Target { name: "project-file", run: project_file, bounded: 1_000 },
    Target { name: "known-findings", run: known_findings, bounded: 400 },
    Target { name: "tidy", run: tidy, bounded: 800 },
    Target { name: "messages", run: messages, bounded: 100 },
    Target { name: "pages", run: pages, bounded: 60 },
    Target { name: "outline", run: outline, bounded: 600 },
];

const TODAY: jiff::civil::Date = jiff::civil::date(2026, 11, 25);

static RULES: LazyLock<Arc<RuleSet>> =
    LazyLock::new(|| Arc::new(RuleSet::build(built_in()).expect("the built-in packs are sound")));

/// The plan that packs and known findings are held to: one with findings of many rules.
const FAULTY: &str = include_str!("../../examples/faults/crossing.lay");

const KITS: &str = include_str!("../../examples/kits.lay");

fn text_of(bytes: &[u8]) -> std::borrow::Cow<'_, str> {
    String::from_utf8_lossy(bytes)
}

fn measured(text: &str) -> Measured {
    let mut files = Memory::default();
    // As the examples name it, in their folder and one below.
    files.insert("plans/kits.lay", KITS);
    files.insert("kits.lay", KITS);
    let library = Library::new(&files, "", "");
    Measured::new(resolve(library.load_text(Path::new("plans/plan.lay"), "plan.lay", text.to_string())))
}

fn reported(report: &Report) {
    for reporter in [&Text::default() as &dyn Reporter, &Json, &Markdown] {
        drop(reporter.plan(report));
    }
    for finding in &report.findings {
        let file = report.sources.get(finding.place().file).expect("a finding's file is among the sources");
        stands_in(&file.text, finding.place().span);
    }
}

/// A place that is told must lie in the text, between characters.
fn stands_in(text: &str, span: Span) {
    assert!(text.get(span.range()).is_some(), "{span:?} is no place in a text of {} bytes", text.len());
}

fn faults_stand_in(text: &str, faults: &[SyntaxFault]) {
    for fault in faults {
        stands_in(text, fault.span);
    }
}

/// A plan is read, measured, held to the built-in rules and reported.
pub(crate) fn plan(bytes: &[u8]) {
    let report = checker::check_plan(&measured(&text_of(bytes)), &RULES, TODAY);
    reported(&report);
}

/// A pack beside the built-in ones is built, and a plan held to it.
pub(crate) fn pack(bytes: &[u8]) {
    let text = text_of(bytes);
    let parsed = rules::parse(&text);
    faults_stand_in(&text, &parsed.faults);
    if !parsed.faults.is_empty() {
        return;
    }
    let mut packs = built_in();
    // A built-in pack changed takes its own place.
    packs.retain(|pack| pack.text.split_once('{').map(|(head, _)| head) != text.split_once('{').map(|(head, _)| head));
    packs.push(Pack { name: "ours.rule".into(), text: text.into_owned() });
    match RuleSet::build(packs) {
        Ok(rules) => reported(&checker::check_plan(&measured(FAULTY), &rules, TODAY)),
        Err(faulty) => assert!(!faulty.is_empty()),
    }
}

/// A project file is read.
pub(crate) fn project_file(bytes: &[u8]) {
    let text = text_of(bytes);
    match project::parse(&text) {
        Ok(_) => {}
        Err(faults) => {
            assert!(!faults.is_empty());
            faults_stand_in(&text, &faults);
        }
    }
}

/// Known findings are read, printed, read again as the same, and taken out of a report.
pub(crate) fn known_findings(bytes: &[u8]) {
    let text = text_of(bytes);
    match Known::parse(&text) {
        Ok(known) => {
            let printed = known.print();
            let again = Known::parse(&printed).expect("what was printed can be read");
            assert_eq!(again.print(), printed);
            let mut report = checker::untried(&measured(FAULTY), &RULES, TODAY);
            let before = report.findings.len();
            let taken = known.sift(&mut report);
            assert_eq!(report.findings.len() + taken.total(), before);
        }
        Err(fault) => stands_in(&text, fault.span),
    }
}

/// What a tree says, places left out.
fn meaning(tree: &impl std::fmt::Debug) -> String {
    let tree = format!("{tree:?}");
    let mut said = String::with_capacity(tree.len());
    let mut rest = tree.as_str();
    while let Some((before, after)) = rest.split_once("Span { start: ") {
        said.push_str(before);
        rest = after.split_once('}').map_or("", |(_, after)| after);
    }
    said + rest
}

/// What is tidied means what it meant, and is tidy.
pub(crate) fn tidy(bytes: &[u8]) {
    let text = text_of(bytes);
    match layout::tidy::tidy(&text) {
        Ok(once) => {
            assert_eq!(meaning(&layout::parse(&once)), meaning(&layout::parse(&text)));
            assert_eq!(layout::tidy::tidy(&once).as_deref(), Ok(once.as_str()));
        }
        Err(faults) => faults_stand_in(&text, &faults),
    }
    match rules::tidy::tidy(&text) {
        Ok(once) => {
            assert_eq!(meaning(&rules::parse(&once)), meaning(&rules::parse(&text)));
            assert_eq!(rules::tidy::tidy(&once).as_deref(), Ok(once.as_str()));
        }
        Err(faults) => faults_stand_in(&text, &faults),
    }
}

/// An editor that has greeted the server and opened a plan sends a message a line, or whatever the bytes are.
pub(crate) fn messages(bytes: &[u8]) {
    static FOLDER: LazyLock<tempfile::TempDir> = LazyLock::new(|| tempfile::tempdir().expect("a folder of its own"));
    let folder = FOLDER.path();
    let uri = |name: &str| format!("file://{}/{name}", folder.display());
    let opened = |name: &str, text: &str| {
        let document = serde_json::json!({ "uri": uri(name), "languageId": "layrule", "version": 1, "text": text });
        serde_json::json!({ "jsonrpc": "2.0", "method": "textDocument/didOpen", "params": { "textDocument": document } })
    };
    let mut input = Vec::new();
    let mut send = |message: &[u8]| {
        input.extend_from_slice(format!("Content-Length: {}\r\n\r\n", message.len()).as_bytes());
        input.extend_from_slice(message);
    };
    let parameters =
        serde_json::json!({ "capabilities": {}, "workspaceFolders": [{ "uri": uri(""), "name": "plans" }] });
    for greeting in [
        serde_json::json!({ "jsonrpc": "2.0", "id": 0, "method": "initialize", "params": parameters }),
        serde_json::json!({ "jsonrpc": "2.0", "method": "initialized", "params": {} }),
        opened("plan.lay", &FAULTY.replace("../kits.lay", "kits.lay")),
        opened("kits.lay", KITS),
    ] {
        send(greeting.to_string().as_bytes());
    }
    // `plans:` stands in a seed for the folder, which has another name in each run.
    let text = text_of(bytes).replace("plans:", &uri(""));
    // A server that is asked to look through the whole disk does so, which is no fault.
    if text.contains("didChangeWorkspaceFolders") {
        return;
    }
    if text.starts_with('{') {
        for line in text.lines() {
            send(line.as_bytes());
        }
    } else {
        input.extend_from_slice(bytes);
    }
    let options = Options { built_in: Arc::clone(&RULES), date: Some(TODAY), folder: folder.into() };
    let mut answers = Vec::new();
    language_server::run(std::io::Cursor::new(input), &mut answers, options).expect("a buffer can be written to");
    let answers = String::from_utf8(answers).expect("answers are UTF-8");
    assert!(answers.contains("\"capabilities\""), "the greeting is answered");
    assert!(!answers.contains("this could not be answered"), "a request's answer panicked: {answers}");
}

/// What can be read is taken off, drawn with its findings and with its heat, and handed over.
pub(crate) fn pages(bytes: &[u8]) {
    let measured = measured(&text_of(bytes));
    let report = checker::check_plan(&measured, &RULES, TODAY);
    let allowances = Allowances::of(&RULES);
    for form in [Form::Text, Form::Json, Form::Csv, Form::Markdown] {
        drop(write(&take_off(&measured, &allowances), form, None));
    }
    for room in measured.rooms() {
        let map = room.temperature_map().ok();
        for heat in [None, map.as_deref()] {
            let found = &report.findings;
            let (findings, date) = (heat.is_none(), Some(TODAY));
            let drawing = draw(room, &Request { date, findings, heat, ..Request::new(found) });
            roxmltree::Document::parse(&drawing.svg).expect("a drawing is XML");
        }
    }
    let wanted = Wanted { date: Some(TODAY), report: &report, allowances: &allowances, room: None };
    if let Ok(page) = handover(&measured, &wanted) {
        assert!(page.contains("</html>"));
    }
}

/// A drawing, a model or a map is outlined, and the plan that comes of it is read without a fault.
pub(crate) fn outline(bytes: &[u8]) {
    let metre = Unit::of_word("m");
    let traced = [dxf_in::trace(bytes, metre), geojson_in::trace(bytes, metre), ifc::trace(bytes, metre)];
    traced.iter().flatten().for_each(outlined);
}

fn outlined(traced: &Traced) {
    let Ok(found) = rooms::rooms(traced, None) else { return };
    let all: Vec<&rooms::Room> = found.iter().take(20).collect();
    if let Ok(text) = layrule::exchange::write::plan(traced, &all, "it") {
        assert!(measured(&text).plan().faults.is_empty(), "{text}");
    }
}
