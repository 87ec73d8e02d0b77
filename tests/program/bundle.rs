//! Bundles: they are checked as their plans are, come through mail, and lead nowhere but to what is in them.

use layrule::bundle::{Bundle, Member, Role, Wrong, built_in, fingerprint, write};
use layrule::finding::Severity;
use proptest::prelude::*;

use crate::common::program::{Folder, NEAR_WALL, SOUND, run};
use crate::common::{cases, files_below, root};

fn bundle(members: &[(Role, &str, &str)]) -> Bundle {
    let member =
        |(role, path, text): &(Role, &str, &str)| Member { role: *role, path: (*path).into(), text: (*text).into() };
    Bundle {
        program: "0.2.0".into(),
        built_in: built_in(),
        fail_on: Severity::Warning,
        whole: true,
        members: members.iter().map(member).collect(),
    }
}

fn wrong(text: &str) -> Wrong {
    Bundle::parse(text).expect_err(text).what
}

/// Byte for byte, in two outputs and by the exit code.
#[test]
fn bundles_are_checked_as_their_plans_are() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("sent.laybundle").display().to_string();
    let mut plans = files_below(&root().join("examples"), &["lay"]);
    plans.retain(|path| !path.ends_with("kits.lay"));
    let some = plans
        .iter()
        .enumerate()
        .filter(|(index, path)| index % 6 == 0 || path.parent().is_some_and(|own| own.ends_with("as-built")));
    for (_, path) in some {
        let name = path.strip_prefix(root()).expect("below").display().to_string();
        let (code, _, said) = run(&root(), &["bundle", &name, "--project", ".", "-o", &file]);
        assert_eq!((code, said.as_str()), (0, ""), "{name}");
        let day = ["--date", "2026-11-25", "--output"];
        let own = run(&root(), &[&["check", &name, "--project", "."], &day[..], &["text"]].concat());
        assert_eq!(run(folder.path(), &[&["check", &file], &day[..], &["text"]].concat()), own);
        let own = run(&root(), &[&["check", &name, "--project", "."], &day[..], &["json"]].concat());
        assert_eq!(run(folder.path(), &[&["check", &file], &day[..], &["json"]].concat()), own);
    }
}

/// Packs, settings and known findings go with the plan; the project that it makes again finds the same.
#[test]
fn settings_and_packs_go_along() {
    let ours = "rule ours {\n about \"Ours\"\n severity warning\n basis practice\n check run in runs\n message \"{run} is here\"\n}\n";
    let folder = Folder::new(&[
        ("layrule.toml", "rules = [\"rules/ours.rule\"]\nfail-on = \"warning\"\nknown = \"known.toml\"\n"),
        ("rules/ours.rule", ours),
        ("plans/near.lay", NEAR_WALL),
    ]);
    let day = ["--date", "2026-11-25"];
    let on_the_day = |arguments: &[&str]| folder.run(&[arguments, &day].concat());
    assert!(on_the_day(&["check", "plans/near.lay", "--record-known", "known.toml"]).0 < 2);
    let known = std::fs::read_to_string(folder.path("known.toml")).expect("known findings");
    let wall = known.find("rule = \"wall-clearance\"").expect("it was found");
    let cut = known[..wall].rfind("[[known]]").expect("its block");
    std::fs::write(folder.path("known.toml"), &known[..cut]).expect("a file");
    let own = on_the_day(&["check", "plans/near.lay"]);
    assert!(own.0 == 1 && own.1.contains("wall-clearance") && own.1.contains("known before"), "{own:?}");
    assert_eq!(folder.run(&["bundle", "plans/near.lay", "-o", "sent.laybundle"]).0, 0);
    // Elsewhere, with nothing beside it.
    let elsewhere =
        Folder::new(&[("sent.laybundle", &std::fs::read_to_string(folder.path("sent.laybundle")).expect("a bundle"))]);
    assert_eq!(elsewhere.run(&[&["check", "sent.laybundle"], &day[..]].concat()), own);
    assert_eq!(elsewhere.run(&["bundle", "sent.laybundle", "--unpack", "made"]).0, 0);
    let made = run(&elsewhere.path("made"), &[&["check", "plans/near.lay"], &day[..]].concat());
    assert_eq!(made, own);
    // What the command line gives goes over it.
    assert_eq!(
        elsewhere.run(&[&["check", "sent.laybundle", "--rule", "ours", "--fail-on", "error"], &day[..]].concat()).0,
        0
    );
    for refused in [&["--apply"][..], &["--known", "x.toml"], &["--project", "."], &["made/plans/near.lay"]] {
        let (code, _, said) = elsewhere.run(&[&["check", "sent.laybundle"], refused].concat());
        assert!(code == 2 && said.contains("bundle"), "{refused:?}: {said}");
    }
    // Made by other rules.
    let text = std::fs::read_to_string(elsewhere.path("sent.laybundle")).expect("a bundle").replace(&built_in(), "0");
    std::fs::write(elsewhere.path("old.laybundle"), text.replace("program 0", "program 9")).expect("a file");
    let (_, _, said) = elsewhere.run(&["check", "old.laybundle"]);
    assert!(said.contains("written by layrule 9"), "{said}");
}

/// Ends of lines, blanks at them, and a mark at the beginning are the mail's.
#[test]
fn mail_changes_nothing() {
    let text = "room r {\n\n  # trailing  \n\toutline (0, 0)\r\n}\u{2028}\u{85}\u{7}\\n\nFrom here\n.\n-- \nlast";
    let own = bundle(&[
        (Role::Plan, "plans/b.lay", text),
        (Role::Rules, "ours.rule", &"x".repeat(5_000)),
        (Role::Use, "k.lay", ""),
    ]);
    let written = write(&own);
    assert!(written.lines().all(|line| line.len() < 998 && !line.ends_with(' ') && line != "."), "{written}");
    for sent in [
        written.clone(),
        written.replace('\n', "\r\n"),
        written.replace('\n', "  \t\r\n"),
        format!("\u{feff}{written}\n\n"),
    ] {
        assert_eq!(Bundle::parse(&sent), Ok(own.clone()));
    }
}

proptest! {
    #![proptest_config(cases(200))]

    /// Whatever a file holds is given back.
    #[test]
    fn any_text_is_given_back(text in "(\\PC|[ \t\r\n\\\\|{}\u{0}\u{85}]|end |x{300}){0,60}", crlf in any::<bool>()) {
        let own = bundle(&[(Role::Plan, "a.lay", &text)]);
        let written = write(&own);
        let sent = if crlf { written.replace('\n', "\r\n") } else { written };
        prop_assert_eq!(Bundle::parse(&sent), Ok(own));
    }
}

#[test]
fn damage_is_told_of() {
    let own = bundle(&[(Role::Plan, "plans/b.lay", SOUND), (Role::Rules, "ours.rule", "# nothing\n")]);
    let written = write(&own);
    assert_eq!(wrong(""), Wrong::Foreign);
    assert_eq!(wrong("PK\u{3}\u{4}"), Wrong::Foreign);
    assert_eq!(wrong(&written.replace("layrule bundle 1", "layrule bundle 2")), Wrong::Newer("2".into()));
    assert_eq!(wrong(&written.replace("east 800", "east 900")), Wrong::Changed("plans/b.lay".into()));
    assert_eq!(wrong(&written.replace("| # nothing", "# nothing")), Wrong::Line("ours.rule".into()));
    assert_eq!(wrong(&written.replace("\nwhole true", "\nwhole perhaps")), Wrong::Setting("whole perhaps".into()));
    assert_eq!(wrong(&written.replace("\nwhole true", "\nwrite x")), Wrong::Stray("write".into()));
    assert_eq!(wrong(&written.replace("rules ours.rule", "rules PLANS/B.lay")), Wrong::Path("PLANS/B.lay".into()));
    let plan = written.split("\nplan ").nth(1).and_then(|rest| rest.split("\nrules").next()).expect("the plan");
    assert_eq!(wrong(&format!("{written}\nuse {plan}")), Wrong::Twice("plans/b.lay".into()));
    assert_eq!(wrong(&format!("{written}\nplan {}", plan.replace("plans/b.lay", "c.lay"))), Wrong::Plans);
    assert_eq!(wrong(written.split("\nplan").next().expect("its head")), Wrong::Plans);
    for escape in ["\\q", "\\u{}", "\\u{110000}", "\\u{+41}", "\\u{41", "\\"] {
        assert_eq!(
            wrong(&written.replace("| # nothing", &format!("\\ {escape}"))),
            Wrong::Line("ours.rule".into()),
            "{escape}"
        );
    }
    // Cut short anywhere, it is never taken for whole.
    let whole = written.trim_end().len();
    for end in (0..whole).filter(|end| written.is_char_boundary(*end)) {
        assert!(Bundle::parse(&written[..end]).is_err(), "cut at {end}");
    }
    let alone = written.split("\nrules").next().expect("its first file");
    assert_eq!(wrong(alone), Wrong::Count { said: 2, held: 1 });
    let many: Vec<(Role, String, &str)> = (0..70).map(|n| (Role::Use, format!("k{n}.lay"), "")).collect();
    let many: Vec<(Role, &str, &str)> = many.iter().map(|(role, path, text)| (*role, path.as_str(), *text)).collect();
    assert_eq!(wrong(&write(&bundle(&many))), Wrong::TooMuch);
    let long = "x\n".repeat(2 * 1024 * 1024 + 1);
    assert_eq!(wrong(&write(&bundle(&[(Role::Plan, "a.lay", &long)]))), Wrong::TooMuch);
    let (code, _, said) = Folder::new(&[("a.laybundle", "room r {\n"), ("b.laybundle", &written)]).run(&[
        "check",
        "a.laybundle",
        "b.laybundle",
    ]);
    assert!(code == 2 && said.contains("a.laybundle: line 1: it doesn't begin as a bundle does"), "{said}");
}

/// Nothing is written or read by a name that leads out of the bundle.
#[test]
fn names_in_bundles_lead_nowhere_else() {
    for name in [
        "../b.lay",
        "/b.lay",
        "a/../../b.lay",
        "a/./b.lay",
        "a//b.lay",
        "C:b.lay",
        "a\\b.lay",
        ".git/b.lay",
        "GIT~1/b.lay",
        "b.txt",
        "b",
        "",
        "b.lay ",
        " b.lay",
        "a./b.lay",
        "a\u{202e}/b\u{fffd}.lay",
        "con|.lay",
        "con.lay",
        "a/lpt1.x.lay",
        "\u{202e}b.lay",
        "\u{7}.lay",
    ] {
        let text = format!("layrule bundle 1\nplan {name}\n| x\nend {}\n", fingerprint("x\n"));
        // What stands behind a name is the line's end.
        let expected = if name == "b.lay " { None } else { Some(()) };
        let refused = matches!(Bundle::parse(&text), Err(fault) if matches!(fault.what, Wrong::Path(_)));
        assert_eq!(refused.then_some(()), expected, "{name:?}");
    }
    let plan = "layrule bundle 1\nfiles 1\nplan b.lay\n| use \"../secret.lay\"\n| use \"beside.lay\"\nend ";
    let sum = fingerprint("use \"../secret.lay\"\nuse \"beside.lay\"\n");
    let folder = Folder::new(&[
        ("in/sent.laybundle", &format!("{plan}{sum}\n")),
        ("secret.lay", "kit s"),
        ("in/beside.lay", "kit b"),
    ]);
    let (code, out, _) = folder.run(&["check", "in/sent.laybundle"]);
    // What lies beside the bundle is not of it.
    assert!(code == 1 && out.matches("there is no such file").count() == 2, "{out}");
    // A folder that holds something, a link to one that holds nothing, a file.
    std::fs::create_dir(folder.path("full")).expect("a folder");
    std::fs::write(folder.path("full/own.lay"), "mine").expect("a file");
    std::fs::write(folder.path("file"), "mine").expect("a file");
    for target in ["full", "file"] {
        let (code, _, said) = folder.run(&["bundle", "in/sent.laybundle", "--unpack", target]);
        assert!(code == 2 && said.contains("can't be unpacked"), "{said}");
    }
    assert_eq!(std::fs::read_dir(folder.path("full")).expect("a folder").count(), 1);
    assert_eq!(folder.run(&["bundle", "in/sent.laybundle", "--unpack", "fresh/deep"]).0, 0);
    let mut made: Vec<String> = walkdir::WalkDir::new(folder.path("fresh"))
        .into_iter()
        .filter_map(Result::ok)
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect();
    made.sort();
    assert_eq!(made, ["b.lay", "layrule.toml"]);
    // A name that could forge a line of a log.
    let forged = Folder::new(&[("::error::x.laybundle", "no bundle")]);
    let (_, out, said) = forged.run(&["check", "::error::x.laybundle"]);
    assert!(!out.lines().chain(said.lines()).any(|line| line.trim_start().starts_with("::")), "{said}");
}

#[test]
fn what_is_missing_is_asked_for() {
    let folder = Folder::new(&[
        ("plans/bath.lay", "use \"../kits/ours.lay\"\nroom r {\n outline (0, 0) (9, 0) (9, 9)\n}\n"),
        ("layrule.toml", ""),
    ]);
    let (code, out, said) = folder.run(&["bundle", "plans/bath.lay"]);
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(
        said.contains("plans/bath.lay:1")
            && said.contains("`../kits/ours.lay` can't be used: there is no such file")
            && said.contains("ask for that file"),
        "{said}"
    );
    let (code, out, _) = folder.run(&["check", "plans/bath.lay"]);
    assert!(
        code == 1
            && out
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .contains("ask for `../kits/ours.lay` too, or for a bundle"),
        "{out}"
    );
    let (code, _, said) = folder.run(&["bundle", "plans/none.lay"]);
    assert!(code == 2 && said.contains("there is no such file"), "{said}");
    // What isn't a plan's name can't be put into one.
    std::fs::write(folder.path("plans/other.txt"), SOUND).expect("a file");
    let (code, _, said) = folder.run(&["bundle", "plans/other.txt"]);
    assert!(code == 2 && said.contains("can't go into a bundle"), "{said}");
}
