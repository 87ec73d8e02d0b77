//! What shells are told of what may stand where their user is typing.

use std::path::Path;
use std::process::Command;

use crate::common::program::{Folder, SOUND, answer, layrule, run};
use crate::common::root;

/// What a shell is told that asks at the end of a line: what stands first on each line of the answer, and nothing on standard error.
fn offered(folder: &Path, line: &[&str]) -> Vec<String> {
    let mut command = layrule(folder, &["--", "layrule"]);
    // fish asks for the last word, by arguments alone.
    command.args(line).env("LAYRULE_COMPLETE", "fish");
    let (code, told, said) = answer(&command.output().expect("it runs"));
    assert_eq!((code, said.as_str()), (0, ""), "{line:?}");
    told.lines().map(|line| line.split('\t').next().unwrap_or_default().to_string()).collect()
}

/// What bash makes of a line, by the script it is given.
fn completed_by_bash(folder: &Folder, words: &[&str]) -> String {
    std::fs::write(folder.path("script.bash"), run(&root(), &["completions", "bash"]).1).expect("it can be written");
    let program = Path::new(env!("CARGO_BIN_EXE_layrule")).parent().expect("its folder").to_path_buf();
    let (last, begun) = (words.len(), words.last().expect("a word"));
    let asked = format!(
        "PATH={}:$PATH; source script.bash; COMP_WORDS=(layrule {}); COMP_CWORD={last}; _clap_complete_layrule layrule '{begun}' layrule; \
         echo \"${{COMPREPLY[@]}}\"",
        program.display(),
        words.iter().map(|word| format!("'{word}'")).collect::<Vec<_>>().join(" ")
    );
    let output = Command::new("bash").args(["-c", &asked]).current_dir(folder.0.path()).output().expect("bash runs");
    let (code, completed, said) = answer(&output);
    assert_eq!((code, said.as_str()), (0, ""));
    completed.trim_end().to_string()
}

const TWO_ROOMS: &str = "room bath \"Bathroom\" {\n  outline (0, 0) (9, 0) (9, 9)\n}\nroom boxroom {\n  outline (0, 0) (9, 0) (9, 9)\n}\nroom hall {\n";

#[test]
fn every_shell_has_a_script_that_asks_the_program() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let (code, script, _) = run(&root(), &["completions", shell]);
        assert!(code == 0 && script.contains("LAYRULE_COMPLETE") && script.contains("layrule"), "{shell}:\n{script}");
    }
    let (code, _, said) = run(&root(), &["completions", "shell"]);
    assert!(code == 2 && said.contains("bash"), "{said}");
}

#[test]
fn commands_options_outputs_parts_and_rules_are_offered() {
    let folder = Folder::new(&[]);
    let offered = |line: &[&str]| offered(folder.0.path(), line);
    let help = run(&root(), &["--help"]).1;
    let commands = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    let all = offered(&[""]);
    for command in commands.filter_map(|line| line.split_whitespace().next()) {
        assert!(all.iter().any(|one| one == command), "{command}: {all:?}");
    }
    assert!(offered(&["check", "--leave"]).contains(&"--leave-out-named".to_string()));
    assert!(offered(&["check", "--output", "js"]).contains(&"json-lines".to_string()));
    assert!(offered(&["check", "--output", ""]).contains(&"checkstyle".to_string()));
    assert!(offered(&["measure", "--part", ""]).len() > 3);
    assert_eq!(offered(&["check", "--rule", "wall-c"]), ["wall-clearance"]);
    assert_eq!(offered(&["rules", "record-unsi"]), ["record-unsigned"]);
    // The help doesn't list every rule.
    assert!(!run(&root(), &["check", "--help"]).1.contains("record-unsigned"));
}

#[test]
fn rooms_of_the_plan_on_the_line_are_offered() {
    let folder = Folder::new(&[("two.lay", TWO_ROOMS), ("one.lay", SOUND)]);
    let offered = |line: &[&str]| offered(folder.0.path(), line);
    // Of a plan that is being written what can be read, whether it stands before the option or behind another.
    for command in ["route", "draw", "size", "measure", "handover"] {
        assert_eq!(offered(&[command, "two.lay", "--room", ""]), ["bath", "boxroom", "hall"], "{command}");
    }
    assert_eq!(offered(&["draw", "--output", "x.svg", "two.lay", "--room", "b"]), ["bath", "boxroom"]);
    assert_eq!(offered(&["draw", "two.lay", "--room=ba"]), ["--room=bath"]);
    assert_eq!(offered(&["compare", "two.lay", "one.lay", "--room", ""]), ["bath", "boxroom", "hall", "r"]);
    let seeds = root().join("tests/fuzz/seeds/outline");
    let drawing = seeds.join("bath.ifc").display().to_string();
    let rooms = offered(&["outline", &drawing, "--room", ""]);
    let listed = layrule(&root(), &["outline", &drawing, "--room", "nowhere"]).output().expect("it runs");
    let listed = String::from_utf8_lossy(&listed.stderr).into_owned();
    assert!(!rooms.is_empty() && rooms.iter().all(|room| listed.contains(room.as_str())), "{rooms:?} {listed}");
}

/// Nothing is said, nothing waited for, and nothing read without end.
#[test]
fn what_holds_no_rooms_offers_none() {
    let large = format!("{SOUND}{}", "# padding\n".repeat(200_000));
    let folder = Folder::new(&[("large.lay", &large), ("odd.lay", "\u{0}{{{\u{1b}"), ("odd.dxf", "0\nSECTION")]);
    std::fs::write(folder.path("bytes.lay"), [0xff, 0xfe, 0x00]).expect("a file");
    let offered = |line: &[&str]| offered(folder.0.path(), line);
    for plan in ["large.lay", "odd.lay", "bytes.lay", "missing.lay", "."] {
        assert_eq!(offered(&["draw", plan, "--room", ""]), [""; 0], "{plan}");
    }
    assert_eq!(offered(&["outline", "odd.dxf", "--room", ""]), [""; 0]);
    assert_eq!(offered(&["outline", "odd.lay", "--room", ""]), [""; 0]);
    #[cfg(unix)]
    {
        let made = Command::new("mkfifo").arg(folder.path("pipe.lay")).status().expect("`mkfifo` runs");
        assert!(made.success());
        assert_eq!(offered(&["draw", "pipe.lay", "--room", ""]), [""; 0]);
    }
    for shell in ["tcsh", "../bash;", ""] {
        let mut command = layrule(folder.0.path(), &["--", "layrule", ""]);
        let (code, told, said) = answer(&command.env("LAYRULE_COMPLETE", shell).output().expect("it runs"));
        // Without a shell's name the program is run as ever.
        assert!(code == 2 && told.is_empty() && said.is_empty() != shell.is_empty(), "{shell}: {told} {said}");
    }
    let mut command = layrule(folder.0.path(), &[]);
    let (code, told, said) = answer(&command.env("LAYRULE_COMPLETE", "fish").output().expect("it runs"));
    assert_eq!((code, told.as_str(), said.as_str()), (2, "", ""));
}

/// A name that a shell would run, or that would be another option, isn't put on anyone's line.
#[test]
fn names_of_strangers_files_do_nothing_on_a_line() {
    let folder = Folder::new(&[("plan.lay", SOUND), ("sub/inner.lay", SOUND)]);
    for name in
        ["$(touch x).lay", "`touch x`.lay", "a --trust-project.lay", "a;b.lay", "a\nb.lay", "a'b.lay", "a|b.lay"]
    {
        std::fs::write(folder.path(name), SOUND).expect("a file");
    }
    let mut paths = offered(folder.0.path(), &["draw", ""]);
    paths.retain(|path| !path.starts_with('-'));
    assert_eq!(paths, [".", "plan.lay", "sub/"]);
    assert_eq!(offered(folder.0.path(), &["draw", "sub/"]), ["sub/inner.lay"]);
}

/// Bash reads the script it is given, and completes with it.
#[test]
fn bash_completes() {
    let folder = Folder::new(&[("two.lay", TWO_ROOMS)]);
    assert_eq!(completed_by_bash(&folder, &["ch"]), "check");
    assert_eq!(completed_by_bash(&folder, &["check", "--rule", "wall-c"]), "wall-clearance");
    assert_eq!(completed_by_bash(&folder, &["route", "two.lay", "--room", "ha"]), "hall");
    assert_eq!(completed_by_bash(&folder, &["route", "tw"]), "two.lay");
}
