//! What is passed on with the program: licences, and what a package holds.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;

use crate::common::program::{Folder, answer, layrule};
use crate::common::root;

fn cargo(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO")).args(arguments).current_dir(root()).output().expect("cargo runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8")
}

/// The libraries that the program is built of on any system, not those that only its build or its tests need, as cargo knows them.
fn libraries() -> String {
    let metadata: Value =
        serde_json::from_str(&cargo(&["metadata", "--format-version", "1", "--locked"])).expect("JSON");
    let packages: BTreeMap<&str, &Value> = metadata["packages"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|package| (package["id"].as_str().expect("an id"), package))
        .collect();
    let nodes: BTreeMap<&str, &Value> = metadata["resolve"]["nodes"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|node| (node["id"].as_str().expect("an id"), node))
        .collect();
    let own = metadata["resolve"]["root"].as_str().expect("the program itself");
    let (mut built_in, mut open) = (BTreeSet::from([own]), vec![own]);
    while let Some(id) = open.pop() {
        for needed in nodes[id]["deps"].as_array().expect("a list") {
            let kinds = needed["dep_kinds"].as_array().expect("a list");
            let id = needed["pkg"].as_str().expect("an id");
            // What makes code while it is built is no part of the program.
            let macros = packages[id]["targets"]
                .as_array()
                .expect("a list")
                .iter()
                .any(|target| target["kind"][0] == "proc-macro");
            if !macros && kinds.iter().any(|kind| kind["kind"].is_null()) && built_in.insert(id) {
                open.push(id);
            }
        }
    }
    built_in.remove(own);
    let mut lines: Vec<String> = built_in
        .iter()
        .map(|id| {
            let part = |name: &str| packages[id][name].as_str().unwrap_or("see its source").to_string();
            format!("{} {}: {}", part("name"), part("version"), part("license"))
        })
        .collect();
    lines.sort();
    lines.join("\n") + "\n"
}

#[test]
fn every_library_is_named_with_its_licence() {
    let libraries = libraries();
    let path = root().join("src/cli/licences/libraries.txt");
    if std::env::var_os("LAYRULE_PRINT_PAGES").is_some() {
        std::fs::write(&path, &libraries).expect("it can be written");
    }
    let written = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(written, libraries, "`LAYRULE_PRINT_PAGES=1 cargo test` writes {}", path.display());
    // Licences that ask for more than that notice and text go along would have to be looked at.
    for line in libraries.lines() {
        let licence = line.split_once(": ").expect("a licence").1;
        let free =
            ["MIT", "Apache-2.0", "ISC", "Zlib", "BSD", "Unlicense", "Unicode-3.0", "CC0-1.0", "0BSD", "MPL-2.0"];
        assert!(free.iter().any(|known| licence.contains(known)) && !licence.starts_with("GPL"), "{line}");
    }
}

#[test]
fn licences_are_printed() {
    let folder = Folder::new(&[]);
    let output = layrule(folder.0.path(), &["licences"]).output().expect("it runs");
    let (code, printed, _) = answer(&output);
    assert_eq!(code, 0);
    for part in ["MIT License", "Noto Sans", "Apache License", "pest 2.", "resvg "] {
        assert!(printed.contains(part), "{part}");
    }
    // The fonts themselves name what is printed (OpenType's name table, identifiers 0 and 13).
    let face = ttf_parser::Face::parse(ttf_noto_sans::REGULAR, 0).expect("a font");
    for id in [ttf_parser::name_id::COPYRIGHT_NOTICE, ttf_parser::name_id::LICENSE] {
        let told = face
            .names()
            .into_iter()
            .filter(|name| name.name_id == id)
            .find_map(|name| name.to_string())
            .expect("it says");
        assert!(printed.contains(&told), "{told}");
    }
}

/// A package holds what it takes to build the program and to learn it, and neither tests nor what is not committed.
#[test]
fn a_package_holds_no_more_than_it_needs() {
    let listed = cargo(&["package", "--list", "--allow-dirty", "--offline"]);
    let files: Vec<&str> = listed.lines().collect();
    for needed in [
        "Cargo.lock",
        "LICENSE",
        "README.md",
        "grammar/layout.pest",
        "rules/laying.rule",
        "examples/kits.lay",
        "src/main.rs",
    ] {
        assert!(files.contains(&needed), "{needed}");
    }
    let astray: Vec<&&str> =
        files.iter().filter(|file| file.starts_with("tests/") || file.starts_with(".ci")).collect();
    assert_eq!(astray, [""; 0].iter().collect::<Vec<_>>());
}
