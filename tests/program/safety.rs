//! What a stranger's repository, folder or file could make the program read, write, run or wait for, and doesn't. The threat model in
//! DEVELOPERS.md names these tests.
#![cfg(unix)]

use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, symlink};
use std::path::Path;
use std::process::{Command, Stdio};

use layrule::report::Form;

use crate::common::program::{Folder, NEAR_WALL, SOUND, answer, layrule};
use crate::common::{files_below, root};

/// Words that no output may hold: a line of a file that nobody asked for.
const SECRET: &str = "token = 51f0c2";

/// Runs the program and holds it to an answer, in one text.
fn told(folder: &Folder, arguments: &[&str], code: i32) -> String {
    let (found, out, said) = folder.run(arguments);
    let all = format!("{out}{said}").replace("\n  │ ", " ");
    assert_eq!(found, code, "{arguments:?}:\n{all}");
    all
}

fn holds(text: &str, words: &str) {
    assert!(text.contains(words), "`{words}` is not in:\n{text}");
}

fn names(folder: &Folder) -> Vec<String> {
    let entries = std::fs::read_dir(folder.0.path()).expect("a folder").flatten();
    let mut names: Vec<String> = entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn text(folder: &Folder, name: &str) -> String {
    std::fs::read_to_string(folder.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn write(folder: &Folder, name: &str, text: &str) {
    std::fs::write(folder.path(name), text).expect("a file");
}

fn pipe(path: &Path) {
    assert!(Command::new("mkfifo").arg(path).status().expect("it runs").success());
}

#[test]
fn a_project_file_writes_nothing_unless_it_is_trusted() {
    let folder = Folder::new(&[
        ("layrule.toml", "output = [\"json\", \"sarif=found.sarif\", \"text=.hidden/found.txt\"]\n"),
        ("near.lay", NEAR_WALL),
    ]);
    let before = names(&folder);
    let said = told(&folder, &["check", "near.lay"], 1);
    holds(&said, "layrule.toml:1: `sarif=found.sarif` and `text=.hidden/found.txt` not written; `--trust-project`");
    holds(&said, "{\"format\":\"layrule-findings\"");
    assert_eq!(names(&folder), before);
    holds(&told(&folder, &["check", "--show-settings"], 0), "sarif=found.sarif, text=.hidden/found.txt");
    // What the command line names is written, and needs no trust.
    told(&folder, &["check", "near.lay", "--output", "markdown=named.md"], 1);
    assert!(folder.path("named.md").exists() && !folder.path("found.sarif").exists());
    write(&folder, "layrule.toml", "output = [\"text\", \"sarif=found.sarif\"]\n");
    let said = told(&folder, &["check", "near.lay", "--trust-project"], 1);
    assert!(!said.contains("not written") && folder.path("found.sarif").exists(), "{said}");
}

#[test]
fn the_user_names_trusted_folders_in_their_own_configuration() {
    let folder = Folder::new(&[("layrule.toml", "output = \"text=found.txt\"\n"), ("near.lay", NEAR_WALL)]);
    let run = |listed: &str| {
        let home = Folder::new(&[("layrule/trusted-folders", listed)]);
        let mut command = layrule(folder.0.path(), &["check", "near.lay"]);
        answer(&command.env("XDG_CONFIG_HOME", home.0.path()).output().expect("it runs"));
        folder.path("found.txt").exists()
    };
    assert!(!run("# none\nrelative/folder\n/\n"));
    assert!(run(&format!("# ours\n{}\n", folder.0.path().display())));
}

#[test]
fn trusted_outputs_replace_nothing_but_earlier_ones() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL), (".git/config", SECRET), ("deep/kept.txt", "kept")]);
    symlink("kept.txt", folder.path("deep/link.txt")).expect("a link");
    symlink("deep", folder.path("link")).expect("a link");
    symlink("nowhere.txt", folder.path("dangling.txt")).expect("a link");
    let trusted = |output: &str, code: i32| {
        write(&folder, "layrule.toml", &format!("output = \"{output}\"\n"));
        told(&folder, &["check", "near.lay", "--trust-project"], code)
    };
    // Each form knows its own again, and that of others.
    for (_, word) in Form::ALL {
        trusted(&format!("{word}=found.txt"), 1);
        trusted(&format!("{word}=found.txt"), 1);
    }
    holds(&trusted("text=deep/kept.txt", 2), "what stands there is no earlier output of layrule's");
    holds(&trusted("text=deep/link.txt", 2), "a link leads to it");
    holds(&trusted("text=link/new.txt", 2), "a link leads to it");
    holds(&trusted("text=dangling.txt", 2), "a link leads to it");
    holds(&trusted("text=.git/hooks", 2), "lies in a `.git` folder");
    holds(&trusted("text=.GIT/hooks", 2), "lies in a `.git` folder");
    holds(&trusted("text=deep/.git/config", 2), "lies in a `.git` folder");
    holds(&trusted("text=NEAR.LAY", 2), "never written over");
    for obeyed in ["Makefile", ".gitattributes", "deep/conftest.py", ".json", "x.txt.sh", "x.sh::.txt"] {
        holds(&trusted(&format!("text={obeyed}"), 2), "other programs may obey a file of that name");
    }
    assert_eq!((text(&folder, "deep/kept.txt"), text(&folder, ".git/config")), ("kept".into(), SECRET.into()));
    assert_eq!(names(&folder), [".git", "dangling.txt", "deep", "found.txt", "layrule.toml", "link", "near.lay"]);
}

#[test]
fn no_output_takes_the_place_of_what_is_read() {
    let folder = Folder::new(&[
        ("near.lay", NEAR_WALL),
        ("ours.rule", ""),
        ("draft", NEAR_WALL),
        ("pack", ""),
        (".git/config", SECRET),
        ("kits.toml", "format = \"layrule-known-findings\"\nversion = 1\n"),
    ]);
    for (link, target) in [("to-plan.txt", "near.lay"), ("to-pack.txt", "ours.rule"), ("to-git.txt", ".git/config")] {
        symlink(target, folder.path(link)).expect("a link");
    }
    let refused = |output: &str, why: &str| {
        let arguments = ["check", "near.lay", "draft", "--rules", "pack", "--known", "kits.toml", "--output", output];
        holds(&told(&folder, &arguments, 2), why);
    };
    refused("text=to-plan.txt", "never written over");
    refused("text=to-pack.txt", "never written over");
    refused("text=to-git.txt", "lies in a `.git` folder");
    refused("text=.git/hooks", "lies in a `.git` folder");
    refused("text=HALL.LAY", "never written over");
    refused("text=Ours.Rule", "never written over");
    refused("text=Layrule.toml", "never written over");
    refused("text=hall.lay. .", "never written over");
    refused("text=layrule.toml::$DATA", "never written over");
    refused("text=.git./config", "lies in a `.git` folder");
    // By what it is, whatever it is called.
    refused("text=draft", "the run reads that very file");
    refused("text=pack", "the run reads that very file");
    refused("text=kits.toml", "the run reads that very file");
    for arguments in [
        &["measure", "draft", "--output", "text=draft"][..],
        &["handover", "draft", "--output", "draft"],
        &["draw", "draft", "--format", "svg", "--output", "draft"],
    ] {
        holds(&told(&folder, arguments, 2), "the run reads that very file");
    }
    assert_eq!((text(&folder, "near.lay"), text(&folder, "draft")), (NEAR_WALL.into(), NEAR_WALL.into()));
}

#[test]
fn settings_and_what_they_name_are_read_inside_the_project_only() {
    let outside = Folder::new(&[("secret.toml", SECRET), ("secret.rule", SECRET), ("secret.lay", SECRET)]);
    let folder = Folder::new(&[("near.lay", NEAR_WALL), (".git/config", SECRET)]);
    let never = |arguments: &[&str], code: i32, why: &str| {
        let said = told(&folder, arguments, code);
        holds(&said, why);
        assert!(!said.contains(SECRET), "{said}");
    };
    symlink(outside.path("secret.toml"), folder.path("layrule.toml")).expect("a link");
    never(&["check", "near.lay"], 2, "layrule.toml leads outside the project folder");
    std::fs::remove_file(folder.path("layrule.toml")).expect("it was there");
    symlink(".git/config", folder.path("layrule.toml")).expect("a link");
    never(&["check", "near.lay"], 2, "layrule.toml lies in a `.git` folder");
    std::fs::remove_file(folder.path("layrule.toml")).expect("it was there");
    symlink(outside.path("secret.rule"), folder.path("link.rule")).expect("a link");
    symlink(".git/config", folder.path("git.rule")).expect("a link");
    symlink(".git/config", folder.path("git.lay")).expect("a link");
    write(&folder, "notes.txt", SECRET);
    symlink(outside.0.path(), folder.path("out")).expect("a link");
    // In a folder of packs nothing is read but packs, and through no link.
    std::fs::create_dir_all(folder.path("packs/.git")).expect("folders");
    for name in ["packs/notes.txt", "packs/.git/a.rule"] {
        write(&folder, name, SECRET);
    }
    symlink(outside.path("secret.rule"), folder.path("packs/link.rule")).expect("a link");
    symlink(outside.0.path(), folder.path("packs/below")).expect("a link");
    symlink("notes.txt", folder.path("notes.lay")).expect("a link");
    for (settings, why) in [
        ("rules = \".git/config\"", "lies in a `.git` folder"),
        ("rules = \"notes.txt\"", "doesn't end in `.rule`"),
        ("rules = \"link.rule\"", "leads outside the project folder"),
        ("rules = \"git.rule\"", "lies in a `.git` folder"),
        ("rules = \"/etc/passwd\"", "leads outside the project folder"),
        ("known = \".git/config\"", "lies in a `.git` folder"),
        ("known = \"notes.txt\"", "doesn't end in `.toml`"),
        ("rules = \"notes.txt/\"", "it is no folder"),
        ("rules = \".git/\"", "lies in a `.git` folder"),
        ("rules = \"out/\"", "leads outside the project folder"),
        ("rules = \"packs/\"", "it holds no rule pack"),
    ] {
        write(&folder, "layrule.toml", settings);
        never(&["check", "near.lay"], 2, why);
    }
    write(&folder, "layrule.toml", "");
    for (used, why) in [
        (".git/config", "lies in a `.git` folder"),
        ("notes.txt", "its name doesn't end in `.lay`"),
        ("git.lay", "lies in a `.git` folder"),
        ("notes.lay", "is a link to a file of another kind"),
    ] {
        write(&folder, "near.lay", &format!("use \"{used}\"\n{SOUND}"));
        never(&["check", "near.lay"], 1, why);
    }
}

#[test]
fn pipes_and_devices_are_waited_for_nowhere() {
    let folder = Folder::new(&[("sub/near.lay", NEAR_WALL), (".git/HEAD", "ref: refs/heads/main\n")]);
    let ignore = folder.path(".gitignore");
    let passed_over = |why: &str| {
        for path in [".", "sub"] {
            let said = told(&folder, &["check", path], 1);
            holds(&said, why);
            holds(&said, "1 file checked: 1 error");
        }
        std::fs::remove_file(&ignore).expect("it was there");
    };
    pipe(&ignore);
    passed_over(".gitignore is passed over: it can't be read: it is no regular file");
    symlink("/dev/zero", &ignore).expect("a link");
    passed_over(".gitignore is passed over: it is a link");
    std::fs::write(&ignore, "sub/\n".repeat(20_000)).expect("a file");
    passed_over(".gitignore is passed over: it is larger than 64 KiB");
    std::fs::write(&ignore, "x\n".repeat(11_000)).expect("a file");
    passed_over("with its 11000 they are too many");
    std::fs::create_dir(&ignore).expect("a folder");
    holds(&told(&folder, &["check", "."], 1), "it is a folder");
    // In the place of everything else that is read.
    for name in ["kits.lay", "ours.rule", "known.toml"] {
        pipe(&folder.path(name));
    }
    write(&folder, "sub/near.lay", "use \"../kits.lay\"\n");
    holds(&told(&folder, &["check", "."], 1), "it is no regular file");
    for settings in ["rules = \"ours.rule\"", "known = \"known.toml\""] {
        write(&folder, "layrule.toml", settings);
        holds(&told(&folder, &["check", "."], 2), "it is no regular file");
    }
    std::fs::remove_file(folder.path("layrule.toml")).expect("it was there");
    pipe(&folder.path("layrule.toml"));
    holds(&told(&folder, &["check", "."], 2), "layrule.toml: it can't be read: it is no regular file");
    holds(&told(&folder, &["check", "kits.lay", "--project", "sub"], 2), "it is no regular file");
}

#[test]
fn what_gitignore_names_is_passed_over_as_git_does() {
    let folder = Folder::new(&[
        (".git/HEAD", "ref: refs/heads/main\n"),
        (".gitignore", "\u{feff}*-old.lay\n/drafts/\n!kept-old.lay\n# *.lay\n\n[\n"),
        ("a/.gitignore", "b.lay\n!x-old.lay\n"),
        ("a/b.lay", NEAR_WALL),
        ("a/x-old.lay", SOUND),
        ("a/y-old.lay", NEAR_WALL),
        ("b.lay", SOUND),
        ("kept-old.lay", SOUND),
        ("drafts/near.lay", NEAR_WALL),
        ("a/drafts/sound.lay", SOUND),
        // A repository in a repository asks its own files only.
        ("inner/.git/HEAD", ""),
        ("inner/z-old.lay", SOUND),
    ]);
    for (path, count) in [(".", 5), ("a", 2), ("a/../inner", 1), ("drafts", 1)] {
        let said = told(&folder, &["check", path], i32::from(path == "drafts"));
        holds(&said, &format!("{count} file{} checked", if count == 1 { "" } else { "s" }));
    }
    // Outside a repository nobody asks.
    let folder = Folder::new(&[(".gitignore", "*.lay\n"), ("near.lay", NEAR_WALL)]);
    told(&folder, &["check", "."], 1);
}

/// Which owner is heeded by whom is tested beside [`layrule::project::heeded`]; only the administrator can give files to others.
#[test]
fn files_of_strangers_in_folders_above_are_not_heeded() {
    let folder = Folder::new(&[
        ("layrule.toml", "rules = \"off.rule\"\n"),
        ("off.rule", "amend wall-clearance { severity off }\n"),
        (".git/HEAD", ""),
        (".gitignore", "*.lay\n"),
        ("plans/near.lay", NEAR_WALL),
    ]);
    told(&folder, &["check", "plans/near.lay"], 0);
    holds(&told(&folder, &["check", "plans"], 2), "holds no plan");
    for name in ["layrule.toml", ".git", ".gitignore"] {
        if std::os::unix::fs::chown(folder.path(name), Some(12_345), None).is_err() {
            return;
        }
    }
    let said = told(&folder, &["check", "plans"], 1);
    holds(&said, "layrule.toml is passed over: it belongs to another user");
    holds(&said, ".git is passed over");
    // Whoever names the folder trusts its file; and whoever owns the folder owns what lies in it.
    told(&folder, &["check", "plans/near.lay", "--project", "."], 0);
    std::os::unix::fs::chown(folder.0.path(), Some(12_345), None).expect("we are the administrator");
    told(&folder, &["check", "plans/near.lay"], 0);
}

/// What no name may put on a terminal or into a log: ESC, BEL, a C1 control, a mark that turns the direction, and a line of its own.
const ODD: &str = "a\u{1b}[31m\u{7}\u{9b}\u{202e}\r\n::error::forged";

fn is_harmless(text: &str, what: &str) {
    for harm in ['\u{1b}', '\u{7}', '\u{9b}', '\u{202e}'] {
        assert!(!text.contains(harm), "{what} holds {harm:?}:\n{text}");
    }
    let forged = text.split(['\n', '\r']).find(|line| line.trim_start().starts_with("::"));
    assert_eq!(forged, None, "{what}:\n{text}");
}

#[test]
fn names_of_files_forge_nothing_in_any_command() {
    let plan = format!("{ODD}.lay");
    let rules = format!("{ODD}.rule");
    let folder = Folder::new(&[
        (&plan, &format!("use \"kits.lay\"\n{}", NEAR_WALL.replace("  outline", "   outline"))),
        ("::error::b.lay", "nonsense \u{1b}[31m\r::error::forged\n"),
        ("broken.lay", "room r {\n"),
        (&rules, "amend wall-clearance{ severity warning }\n"),
        ("::error::c.rule", "amend nothing { severity loud }\n"),
        (&format!("folder {ODD}/none.txt"), ""),
        (
            &format!("project {ODD}/layrule.toml"),
            "fail-no = \"\\u001b\\n::error::forged\"\n\"\\n::error::forged\" = 1\n",
        ),
        (&format!("project {ODD}/near.lay"), NEAR_WALL),
    ]);
    symlink(format!("nowhere{ODD}"), folder.path(&format!("link{ODD}.lay"))).expect("a link");
    let gone = "format = \"layrule-known-findings\"\nversion = 1\n[[known]]\nplan = \"::error::forged\\u001b\\n::error::x\"\nrule = \"\\n::error::x\"\ntext = \"\\u202e\\n::error::x\"\n";
    write(&folder, "known.toml", gone);
    let lone = format!("folder {ODD}");
    let project = format!("project {ODD}");
    let missing = format!("missing{ODD}.lay");
    let link = format!("link{ODD}.lay");
    let mut commands: Vec<Vec<&str>> = Form::ALL.iter().map(|(_, word)| vec!["check", ".", "--output", word]).collect();
    for (_, word) in Form::ALL {
        commands.push(vec!["check", &plan, "::error::b.lay", "--known", "known.toml", "--output", word]);
    }
    commands.extend([
        vec!["check", &plan, "--rules", &rules],
        vec!["check", &plan, "--rules", "::error::c.rule"],
        vec!["check", &plan, "--rules", &missing],
        vec!["check", &plan, "--known", &missing],
        vec!["check", &plan, "--output", "text=no/where"],
        vec!["check", &plan, "--apply", "--dry-run"],
        vec!["check", "::error::b.lay", &lone, &project, &missing, &link],
        vec!["check", "--show-settings", "--project", &lone, "--leave-out", ODD, "--rules", &rules],
        vec!["tidy", ".", "--check"],
        vec!["tidy", &plan, &rules, "::error::b.lay", "::error::c.rule", "--check", "--color", "never"],
        vec!["tidy", &missing, &lone],
        vec!["measure", &plan],
        vec!["measure", "::error::b.lay"],
        vec!["measure", &plan, "--output", "markdown"],
        vec!["measure", &plan, "--output", "csv"],
        vec!["measure", &plan, "--output", "json"],
        vec!["measure", &plan, "--project", &missing],
        vec!["handover", &plan],
        vec!["handover", "broken.lay"],
        vec!["route", &plan],
        vec!["route", "::error::b.lay"],
        vec!["draw", &plan],
        vec!["draw", &plan, "--output", ODD],
        vec!["watch", &missing],
        vec!["rules", "--rules", &rules],
        vec!["rules", "--rules", "::error::c.rule"],
        vec!["exercise", &plan, "--output", ODD],
        vec!["exercise", "::error::b.lay", "--output", "x", "--learners", &missing],
        vec!["exercise", "::error::b.lay", "--output", "x", "--faults", ODD],
        vec!["mark", &plan, "--key", "known.toml"],
        vec!["mark", &plan, "--key", &missing, "--scheme", &rules],
    ]);
    for command in &commands {
        let (_, out, said) = folder.run(command);
        assert!(!format!("{out}{said}").is_empty(), "{command:?}");
        let is_json = command.last().is_some_and(|word| ["json", "json-lines", "sarif"].contains(word));
        if is_json && command.contains(&"--known") {
            // What known findings say is kept to the letter there, escaped as JSON does.
            assert!(!out.contains(['\u{1b}', '\u{7}']), "{command:?}");
        } else if command.last() == Some(&"github") {
            // Its own commands are all there are: each says first where it belongs.
            let own = |line: &str| {
                ["error", "warning", "notice"].iter().any(|word| {
                    let rest = line.strip_prefix("::").and_then(|rest| rest.strip_prefix(word));
                    rest.is_some_and(|rest| rest.starts_with(" file=") || rest.starts_with(" title=layrule::"))
                })
            };
            let rest: Vec<&str> = out.split(['\n', '\r']).filter(|line| !own(line)).collect();
            is_harmless(&rest.join("\n"), &format!("{command:?}"));
            is_harmless(&out.replace("::", ""), &format!("{command:?}"));
        } else {
            is_harmless(&out, &format!("{command:?}"));
        }
        is_harmless(&said, &format!("{command:?}"));
    }
    // What is changed in place is told of too.
    is_harmless(&told(&folder, &["check", &plan, "--apply"], 1), "--apply");
    is_harmless(&told(&folder, &["tidy", "."], 2), "tidy");
}

#[test]
fn files_changed_in_place_keep_what_they_are() {
    let untidy = "let a=1\n";
    let folder = Folder::new(&[("open.lay", untidy), ("fixed.lay", untidy), ("two.lay", untidy), ("old.json", "old")]);
    let set = |name: &str, mode: u32| {
        std::fs::set_permissions(folder.path(name), std::fs::Permissions::from_mode(mode)).expect("it is set");
    };
    let mode = |name: &str| std::fs::metadata(folder.path(name)).expect("it is there").mode() & 0o777;
    // Whatever the umask.
    set("open.lay", 0o666);
    let owners = (12_345, 23_456);
    let given = std::os::unix::fs::chown(folder.path("open.lay"), Some(owners.0), Some(owners.1)).is_ok();
    let program = env!("CARGO_BIN_EXE_layrule");
    let masked = |command: &str| {
        let script = format!("umask 077; exec '{program}' {command}");
        answer(&Command::new("sh").args(["-c", &script]).current_dir(folder.0.path()).output().expect("it runs"))
    };
    assert_eq!(masked("tidy open.lay").0, 0);
    assert_eq!((text(&folder, "open.lay").as_str(), mode("open.lay")), ("let a = 1\n", 0o666));
    let kept = std::fs::metadata(folder.path("open.lay")).expect("it is there");
    assert!(!given || (kept.uid(), kept.gid()) == owners);
    set("old.json", 0o644);
    write(&folder, "near.lay", NEAR_WALL);
    masked("check near.lay --output json=old.json");
    assert_eq!(mode("old.json"), 0o644);
    // Read-only.
    set("fixed.lay", 0o444);
    holds(&told(&folder, &["tidy", "fixed.lay"], 2), "fixed.lay can't be written: it is read-only");
    set("old.json", 0o444);
    holds(&told(&folder, &["check", "near.lay", "--output", "json=old.json"], 2), "it is read-only");
    // Under several names.
    std::fs::hard_link(folder.path("two.lay"), folder.path("second.lay")).expect("a second name");
    holds(&told(&folder, &["tidy", "two.lay"], 2), "it is one file under 2 names (hard links)");
    assert_eq!((text(&folder, "two.lay").as_str(), text(&folder, "fixed.lay").as_str()), (untidy, untidy));
    assert!(!names(&folder).iter().any(|name| name.ends_with(".part")), "{:?}", names(&folder));
}

/// The passing files in a folder.
fn parts(folder: &Folder) -> Vec<String> {
    names(folder).into_iter().filter(|name| name.ends_with(".part")).collect()
}

/// A run that has begun its output and waits for its plan.
fn waiting(folder: &Folder) -> std::process::Child {
    let mut command = layrule(folder.0.path(), &["check", "-", "--output", "json=found.json"]);
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("it runs");
    while parts(folder).is_empty() {
        assert_eq!(child.try_wait().expect("it is ours"), None, "it waits for its plan");
        std::thread::yield_now();
    }
    child
}

#[test]
fn a_run_that_is_ended_leaves_nothing_lying_about() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL), ("found.json", "old"), (".layrule-notes", "mine")]);
    for signal in ["-INT", "-TERM"] {
        let mut child = waiting(&folder);
        // Waiting for it closes its input otherwise, by which it would end in its own way.
        let input = child.stdin.take();
        let sent = Command::new("kill").args([signal, &child.id().to_string()]).status().expect("it runs");
        assert!(sent.success());
        assert_eq!(child.wait().expect("it ends").code(), Some(130));
        drop(input);
        assert_eq!((parts(&folder).len(), text(&folder, "found.json").as_str()), (0, "old"));
    }
    // One that is killed can't take its file away; the next run does, and leaves that of a run that goes on.
    let mut killed = waiting(&folder);
    killed.kill().expect("it is ours");
    killed.wait().expect("it ends");
    let left = parts(&folder);
    assert_eq!(left.len(), 1);
    std::fs::rename(folder.path(&left[0]), folder.path("aside")).expect("it is there");
    let mut alive = waiting(&folder);
    let its = parts(&folder);
    std::fs::rename(folder.path("aside"), folder.path(&left[0])).expect("it is there");
    assert_eq!(folder.run(&["check", "near.lay", "--output", "json=other.json"]).0, 1);
    assert_eq!(parts(&folder), its);
    drop(alive.stdin.take());
    assert_eq!(alive.wait().expect("it ends").code(), Some(1));
    assert!(text(&folder, "found.json").starts_with("{\"format\""));
    assert_eq!(parts(&folder), Vec::<String>::new());
}

#[test]
fn what_the_system_refuses_is_told_of() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL)]);
    let program = env!("CARGO_BIN_EXE_layrule");
    let shell = |command: &str| {
        let script = command.replace("layrule", &format!("'{program}'"));
        answer(&Command::new("sh").args(["-c", &script]).current_dir(folder.0.path()).output().expect("it runs"))
    };
    let (code, _, said) = shell("ulimit -n 4; exec layrule check near.lay --output json=a.json --output text=b.txt");
    assert_eq!(code, 2);
    holds(&said, "b.txt can't be written: Too many open files");
    let (code, _, said) = shell("ulimit -n 4; exec layrule check near.lay --output json=a.json");
    assert_eq!(code, 2);
    holds(&said, "near.lay: it can't be read: Too many open files");
    for command in ["--help", "--version", "check --help", "man", "rules"] {
        let (code, _, said) = shell(&format!("exec layrule {command} > /dev/full"));
        assert_eq!(code, 2, "{command}");
        holds(&said, "standard output can't be written");
    }
    // More threads than are of use are not started.
    let (code, count, _) = shell("RAYON_NUM_THREADS=10000 layrule check - < near.lay | grep -c wall-clearance");
    assert_eq!((code, count.trim()), (0, "1"));
    #[cfg(target_os = "linux")]
    {
        let mut command = layrule(folder.0.path(), &["check", "-", "--output", "json=found.json"]);
        let mut child = command.env("RAYON_NUM_THREADS", "10000").stdin(Stdio::piped()).spawn().expect("it runs");
        while parts(&folder).is_empty() {
            assert_eq!(child.try_wait().expect("it is ours"), None, "it waits for its plan");
            std::thread::yield_now();
        }
        let threads = std::fs::read_dir(format!("/proc/{}/task", child.id())).expect("it runs").count();
        drop(child.stdin.take());
        child.wait().expect("it ends");
        assert!((200..300).contains(&threads), "{threads}");
    }
}

/// However small a stack the system gives the program's first thread, commands have one of their own: nothing is ended in the middle of its work.
#[test]
fn a_small_stack_ends_nothing() {
    let folder = Folder::new(&[("near.lay", NEAR_WALL)]);
    let program = env!("CARGO_BIN_EXE_layrule");
    for (command, wanted) in [
        ("check near.lay", 1),
        ("draw near.lay --findings --output near.png", 0),
        ("draw near.lay --output near.pdf", 0),
        ("measure near.lay --output json", 0),
        ("tidy --check near.lay", 1),
        ("--help", 0),
    ] {
        let script = format!("ulimit -s 64; exec '{program}' {command} > /dev/null");
        let output = Command::new("sh").args(["-c", &script]).current_dir(folder.0.path()).output().expect("it runs");
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(wanted), "{command}: {said}");
        assert!(!said.contains("overflow"), "{command}: {said}");
    }
    let picture = std::fs::read(folder.path("near.png")).expect("it is drawn");
    assert!(picture.starts_with(b"\x89PNG"));
}

/// Each line of the threat model names a test that there is.
#[test]
fn the_threat_model_names_its_tests() {
    let page = std::fs::read_to_string(root().join("DEVELOPERS.md")).expect("the page");
    let (_, model) = page.split_once("## Threat model").expect("the section");
    let model = model.split("\n## ").next().unwrap_or_default();
    let mut tests = String::new();
    for folder in ["tests", "src"] {
        for path in files_below(&root().join(folder), &["rs"]) {
            tests.push_str(&std::fs::read_to_string(path).expect("a file"));
        }
    }
    let rows: Vec<&str> = model.lines().filter(|line| line.starts_with("| ")).skip(2).collect();
    assert!(rows.len() > 10, "{model}");
    for row in rows {
        let held = row.trim_end_matches(" |").rsplit(" | ").next().unwrap_or_default();
        let named: Vec<&str> = held.split('`').skip(1).step_by(2).collect();
        assert!(!named.is_empty(), "{row}");
        for test in named {
            assert!(tests.contains(&format!("fn {test}()")), "there is no test `{test}`");
        }
    }
}
