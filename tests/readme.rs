//! What README shows is what happens: its commands are run, and the output shown under them is compared.

use crate::command_line::layrule;
use crate::common::{check, root, rules_with, text_of};
use crate::reference_pages::blocks;

#[test]
fn commands_and_outputs_are_as_shown() {
    let path = root().join("README.md");
    let page = std::fs::read_to_string(&path).expect("README");
    let mut fresh = page.clone();
    let mut run = 0;
    let folder = tempfile::tempdir().expect("a folder");
    for (tag, block, line) in blocks(&page) {
        if tag != "console" {
            continue;
        }
        let (command, shown) = block.split_once('\n').expect("a command");
        let command = command.strip_prefix("$ ").unwrap_or_else(|| panic!("README:{line}: no command"));
        // The tests can't run themselves; what CI runs for them is this very line.
        if command.starts_with("cargo test") {
            continue;
        }
        let arguments = command.strip_prefix("layrule ").or_else(|| command.strip_prefix("cargo run --quiet -- "));
        let arguments = arguments.unwrap_or_else(|| panic!("README:{line}: {command}"));
        // Files go into a folder of the test's own.
        let arguments = arguments.replace("--output ", &format!("--output {}/", folder.path().display()));
        let arguments: Vec<&str> = arguments.split_whitespace().collect();
        let output = layrule(&root(), &arguments).output().expect("the program runs");
        assert!(output.status.code().is_some_and(|code| code < 2), "{}", String::from_utf8_lossy(&output.stderr));
        run += 1;
        if shown.is_empty() && command.starts_with("cargo") {
            continue;
        }
        let output = String::from_utf8(output.stdout).expect("UTF-8");
        if std::env::var_os("LAYRULE_PRINT_PAGES").is_some() {
            fresh = fresh.replace(&format!("```console\n{block}```"), &format!("```console\n$ {command}\n{output}```"));
        } else {
            assert_eq!(shown, output, "README:{line}: `{command}` prints something else");
        }
    }
    assert!(run >= 3, "README shows {run} commands");
    if fresh != page {
        std::fs::write(path, fresh).expect("README");
    }
}

#[test]
fn plans_and_rules_are_sound() {
    let page = std::fs::read_to_string(root().join("README.md")).expect("README");
    for (tag, block, line) in blocks(&page) {
        match tag.as_str() {
            "lay" => {
                let report = check(&block);
                assert!(report.findings.is_empty(), "README:{line}:\n{}", text_of(&report));
            }
            "rule" => drop(rules_with(&block)),
            _ => {}
        }
    }
}

#[test]
fn the_caution_is_given_wherever_the_program_speaks_of_itself() {
    let help = layrule(&root(), &["--help"]).output().expect("the program runs");
    let help = String::from_utf8(help.stdout).expect("UTF-8");
    let readme = std::fs::read_to_string(root().join("README.md")).expect("README");
    for text in [help, readme] {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for caution in [
            "belongs to a qualified person under the local wiring rules",
            "local codes come first",
            "lean check is not an approval",
        ] {
            assert!(text.contains(caution), "`{caution}` is not in:\n{text}");
        }
    }
}
