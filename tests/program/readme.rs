//! What README shows is what happens: its commands are run, and the output shown under them is compared.

use crate::common::pages::blocks;
use crate::common::program::layrule;
use crate::common::{check, root, rules_with, text_of};

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
        let mut printed = String::new();
        for (command, shown) in commands(&block) {
            // The tests can't run themselves; what CI runs for them is this very line.
            if command.starts_with("cargo test") {
                continue;
            }
            let output = run_as_shown(command, folder.path(), line);
            run += 1;
            if shown.is_empty() && command.starts_with("cargo") {
                printed.push_str(&format!("$ {command}\n"));
                continue;
            }
            if std::env::var_os("LAYRULE_PRINT_PAGES").is_none() {
                assert_eq!(shown, output, "README:{line}: `{command}` prints something else");
            }
            printed.push_str(&format!("$ {command}\n{output}"));
        }
        if !printed.is_empty() {
            fresh = fresh.replace(&format!("```console\n{block}```"), &format!("```console\n{printed}```"));
        }
    }
    assert!(run >= 3, "README shows {run} commands");
    if fresh != page {
        std::fs::write(path, fresh).expect("README");
    }
}

/// The commands of a block, each with the output that is shown under it.
fn commands(block: &str) -> impl Iterator<Item = (&str, &str)> {
    let starts = block.match_indices("$ ").map(|(at, _)| at).filter(|at| *at == 0 || block[..*at].ends_with('\n'));
    let starts: Vec<usize> = starts.collect();
    assert_eq!(starts.first(), Some(&0), "README: no command in\n{block}");
    let ends: Vec<usize> = starts.iter().skip(1).copied().chain([block.len()]).collect();
    starts.into_iter().zip(ends).map(|(from, to)| block[from + 2..to].split_once('\n').expect("a line"))
}

/// What a command prints. The files that it writes go into a folder of the test's own.
fn run_as_shown(command: &str, folder: &std::path::Path, line: usize) -> String {
    let arguments = command.strip_prefix("layrule ").or_else(|| command.strip_prefix("cargo run --quiet -- "));
    let arguments = arguments.unwrap_or_else(|| panic!("README:{line}: {command}"));
    let inside = format!("{}/", folder.display());
    let placed = |word: &str, before: &str| match (before, word.split_once('=')) {
        ("--output", Some((form, file))) => format!("{form}={inside}{file}"),
        ("--output", None) if word.contains('.') || arguments.starts_with("exercise ") => format!("{inside}{word}"),
        // What a command above wrote.
        _ if word.contains('/') && folder.join(word).exists() => format!("{inside}{word}"),
        _ => word.to_string(),
    };
    let words: Vec<&str> = arguments.split_whitespace().collect();
    let before = std::iter::once("").chain(words.iter().copied());
    let arguments: Vec<String> = words.iter().zip(before).map(|(word, before)| placed(word, before)).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let output = layrule(&root(), &arguments).output().expect("the program runs");
    assert!(output.status.code().is_some_and(|code| code < 2), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8").replace(&inside, "")
}

/// What a scheme is where nothing is said, as the page shows it.
#[test]
fn the_scheme_is_as_shown() {
    use layrule::marking::scheme::Scheme;
    let page = std::fs::read_to_string(root().join("README.md")).expect("README");
    let start = page.find("mended      =").expect("the scheme");
    let shown = &page[start..start + page[start..].find("```").expect("its end")];
    assert_eq!(Scheme::read(shown), Ok(Scheme::default()));
}

/// The picture near the top is what the command above it draws.
#[test]
fn the_picture_is_what_the_program_draws() {
    let page = std::fs::read_to_string(root().join("README.md")).expect("README");
    let drawn = page.lines().find_map(|line| line.strip_prefix("$ cargo run --quiet -- draw ")).expect("the command");
    let (asked, written) = drawn.split_once(" --output ").expect("a file");
    let picture = root().join("examples").join(written);
    assert!(page.contains(&format!("](examples/{written})")), "README shows no examples/{written}");
    let asked: Vec<&str> = ["draw"].into_iter().chain(asked.split_whitespace()).collect();
    let fresh = layrule(&root(), &asked).output().expect("the program runs").stdout;
    if std::env::var_os("LAYRULE_PRINT_PAGES").is_some() {
        std::fs::write(&picture, &fresh).expect("the picture");
    }
    assert!(std::fs::read(&picture).expect("the picture") == fresh, "examples/{written} is not what `{drawn}` draws");
}

#[test]
fn the_first_check_ends_as_the_page_says() {
    let page = std::fs::read_to_string(root().join("README.md")).expect("README");
    let check = page.lines().find_map(|line| line.strip_prefix("$ cargo run --quiet -- check ")).expect("the command");
    let words: Vec<&str> = ["check"].into_iter().chain(check.split_whitespace()).collect();
    let ended = layrule(&root(), &words).output().expect("the program runs");
    assert!(page.contains("the check ends with exit code 1") && ended.status.code() == Some(1));
}

#[test]
fn plans_and_rules_are_sound() {
    let page = std::fs::read_to_string(root().join("README.md")).expect("README");
    for (tag, block, line) in blocks(&page) {
        match tag.as_str() {
            "lay" => {
                let report = check(&block);
                assert!(report.findings.is_empty(), "README:{line}:\n{}", text_of(&report));
                assert_eq!(layrule::layout::tidy::tidy(&block).as_deref(), Ok(block.as_str()), "README:{line}");
            }
            "rule" => {
                drop(rules_with(&block));
                assert_eq!(layrule::rules::tidy::tidy(&block).as_deref(), Ok(block.as_str()), "README:{line}");
            }
            "toml" => {
                drop(layrule::project::parse(&block).unwrap_or_else(|faults| panic!("README:{line}: {faults:#?}")))
            }
            // Run where plans are compared, and where they are sent.
            "sh" if block.contains("layrule compare") || block.contains("layrule bundle") => {}
            "sh" | "yaml" => jobs_are_sound(&block, line),
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

/// Each line of a job that runs the program is one that it takes: run over the examples, in place of the plans there would be.
fn jobs_are_sound(block: &str, line: usize) {
    let folder = crate::common::program::Folder::new(&[("ours.rule", "amend spacing { severity warning }\n")]);
    std::fs::create_dir(folder.path("plans")).expect("a folder");
    for name in ["boot-room.lay", "kits.lay"] {
        std::fs::copy(root().join("examples").join(name), folder.path("plans").join(name)).expect("an example");
    }
    let mut run = 0;
    for command in block.lines().filter_map(|line| line.split_once("layrule check ").map(|(_, rest)| rest)) {
        let arguments: Vec<&str> = ["check"].into_iter().chain(command.split_whitespace()).collect();
        let (code, _, said) = folder.run(&arguments);
        assert_eq!(code, 0, "README:{line}: {command}: {said}");
        run += 1;
        for file in arguments.iter().filter_map(|argument| argument.split_once('=').map(|(_, file)| file)) {
            assert!(folder.path(file).exists(), "README:{line}: {file}");
            assert!(block.matches(file).count() > 1, "README:{line}: {file} is written and not used");
        }
    }
    assert!(run > 0, "README:{line}: no command");
}
