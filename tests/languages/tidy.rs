//! The canonical form: what may change and what may not, and the command that brings files into it.

use std::path::Path;

use layrule::{layout, rules};
use proptest::prelude::*;

use crate::common::program::{Folder, SOUND, answer, layrule};
use crate::common::{cases, files_below, root};

type Tidy = fn(&str) -> Result<String, Vec<layrule::language::faults::SyntaxFault>>;

/// What a text says, places left out.
fn meaning(text: &str, is_plan: bool) -> String {
    let tree = if is_plan { format!("{:?}", layout::parse(text)) } else { format!("{:?}", rules::parse(text)) };
    let mut said = String::with_capacity(tree.len());
    let mut rest = tree.as_str();
    while let Some((before, after)) = rest.split_once("Span { start: ") {
        said.push_str(before);
        rest = after.split_once('}').map_or("", |(_, after)| after);
    }
    said + rest
}

/// What follows a `#`, blanks left out, since one may stand in a text.
fn comments(text: &str) -> Vec<String> {
    text.lines().filter_map(|line| line.split_once('#')).map(|(_, comment)| comment.replace([' ', '\t'], "")).collect()
}

/// Every example plan and rule pack, and whether it is a plan.
fn texts() -> Vec<(String, String, bool)> {
    let read = |path: &Path| std::fs::read_to_string(path).expect("it is there");
    let mut texts = Vec::new();
    for folder in ["examples", "rules"] {
        for path in files_below(&root().join(folder), &["lay", "rule"]) {
            let is_plan = path.extension().is_some_and(|ending| ending == "lay");
            texts.push((path.display().to_string(), read(&path), is_plan));
        }
    }
    assert!(texts.len() > 60);
    texts
}

fn hold(text: &str, is_plan: bool) {
    let tidy: Tidy = if is_plan { layout::tidy::tidy } else { rules::tidy::tidy };
    let Ok(once) = tidy(text) else { return };
    assert_eq!(meaning(&once, is_plan), meaning(text, is_plan), "{text}");
    assert_eq!(comments(&once), comments(text), "{text}");
    assert_eq!(tidy(&once).as_deref(), Ok(once.as_str()), "{text}");
}

#[test]
fn examples_and_packs_are_tidy() {
    for (name, text, is_plan) in texts() {
        let tidy: Tidy = if is_plan { layout::tidy::tidy } else { rules::tidy::tidy };
        match tidy(&text) {
            Ok(tidied) => assert_eq!(tidied, text, "{name}"),
            // Some examples are of what can't be read.
            Err(_) => assert!(is_plan && !layout::parse(&text).faults.is_empty(), "{name}"),
        }
    }
}

#[test]
fn comments_stay_where_they_are() {
    let text = "#one\n\n\n\nroom a {#two\n#three\n\n  outline (0,0)   (1,0) # four\n # five\n(0 , 1)\n  wall 1 \"#not\" # six\n}# seven\n# eight";
    let tidied = layout::tidy::tidy(text).expect("it can be read");
    let wanted = "#one\n\nroom a {  #two\n  #three\n\n  outline  (0, 0) (1, 0)  # four\n           # five\n           (0, 1)\n  wall     1 \"#not\"  # six\n}  # seven\n# eight\n";
    assert_eq!(tidied, wanted);
    hold(text, true);
}

#[test]
fn signs_units_and_line_ends_stay_as_written() {
    let text = "let a=- 2+ +3 m*(4 - -  1)\r\nlet longer = 0.50m\r\n";
    let tidied = layout::tidy::tidy(text).expect("it can be read");
    assert_eq!(tidied, "let a      = -2 + +3 m * (4 - -1)\r\nlet longer = 0.50 m\r\n");
    // Which rule reads a run hangs on what ends its line.
    hold("room r {\n cable a {\n start (1,1)\n run east 400 }\n}\n", true);
    assert!(layout::tidy::tidy("room r {\n cable a {\n start (1,1)\n run east 400 }\n}\n").is_ok());
    assert_eq!(layout::tidy::tidy("").as_deref(), Ok(""));
    assert_eq!(layout::tidy::tidy("\n\n # only \n\n").as_deref(), Ok("# only\n"));
}

#[test]
fn rules_keep_their_calls_and_texts() {
    let text = "rule a{check x in close-approaches ( 2*least )\nlimit least=50mm \"no { or # here\"\nrequire not(x.a . b<=max( 1 mm,2 mm ))and\n(true or any(y in runs where true:false))\nmessage \"a\"\n\"b\"}\n";
    let tidied = rules::tidy::tidy(text).expect("it can be read");
    let wanted = "rule a {\n  check   x in close-approaches(2 * least)\n  limit   least = 50 mm  \"no { or # here\"\n  require not (x.a.b <= max(1 mm, 2 mm)) and\n          (true or any(y in runs where true : false))\n  message \"a\"\n          \"b\"\n}\n";
    assert_eq!(tidied, wanted);
    hold(text, false);
}

/// A text with blanks, line ends, comments and pieces of itself put in or taken out here and there.
fn mutated() -> impl Strategy<Value = (String, bool)> {
    let texts = texts();
    let edits = prop::collection::vec((any::<prop::sample::Index>(), 0..9_usize), 0..12);
    (prop::sample::select(texts), edits).prop_map(|((_, text, is_plan), edits)| {
        let mut text = text;
        for (index, edit) in edits {
            let mut at = index.index(text.len() + 1);
            while !text.is_char_boundary(at) {
                at -= 1;
            }
            match edit {
                0 => text.insert_str(at, "  "),
                1 => text.insert(at, '\n'),
                2 => text.insert_str(at, " # a remark\n"),
                3 => text.insert_str(at, "\n\n\n"),
                4 => text.insert(at, '\t'),
                5 => text.insert(at, ')'),
                6 => text.insert_str(at, "\r\n"),
                // Blanks and line ends go.
                7 => {
                    let kept = text[at..].trim_start().len();
                    text.replace_range(at..text.len() - kept, " ");
                }
                _ => {
                    let end = text[at..].find('\n').map_or(text.len(), |end| at + end);
                    text.replace_range(at..end, "");
                }
            }
        }
        (text, is_plan)
    })
}

/// A plan of statements in any spacing.
fn generated() -> impl Strategy<Value = String> {
    let blank = || prop::sample::select(vec!["", " ", "  ", "\t"]);
    let number = || {
        prop::sample::select(vec!["0", "12", "3.50", "7 m", "4cm", "-2", "+ 5 mm", "(1 + 2)", "2*a ", "b - 1", "1--2"])
    };
    let expression = (number(), blank(), prop::sample::select(vec!["+", "-", "*", "/"]), blank(), number())
        .prop_map(|(a, x, sign, y, b)| format!("{a}{x}{sign}{y}{b}"));
    let value = || prop_oneof![number().prop_map(str::to_string), expression.clone()];
    let point = move || (value(), blank(), blank(), value()).prop_map(|(x, a, b, y)| format!("({a}{x},{b}{y})"));
    let end = || prop::sample::select(vec!["\n", "\n\n\n", " # note\n", "\r\n", "\n# between\n\n"]);
    let line = (0..7_usize, point(), point(), value(), end()).prop_map(|(kind, p, q, v, end)| match kind {
        0 => format!("outline {p} {q}{end}"),
        1 => format!("fixture a  bath rect {p}{q}{end}"),
        2 => format!("joint longer-name {p}\n{q}{end}"),
        3 => format!("let x= {v}{end}"),
        4 => format!("inside {v}{end}"),
        5 => format!("cable c {{ start {p}{end}run east {v}\n }}{end}"),
        _ => format!("floor timber{{tile 10mm porcelain{end}}}{end}"),
    });
    (prop::collection::vec(line, 0..12), end()).prop_map(|(lines, end)| format!("room r {{{end}{}}}\n", lines.concat()))
}

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn mutated_texts_keep_their_meaning((text, is_plan) in mutated()) {
        hold(&text, is_plan);
    }

    #[test]
    fn generated_plans_keep_their_meaning(text in generated()) {
        prop_assert!(layout::tidy::tidy(&text).is_ok(), "{}", text);
        hold(&text, true);
    }
}

#[test]
fn the_command_changes_what_is_not_tidy_and_nothing_else() {
    let tidy = layout::tidy::tidy(SOUND).expect("it can be read");
    let untidy = SOUND.replace("  outline (", "  outline   (");
    let folder = Folder::new(&[
        ("sub/a.lay", &untidy),
        ("b.lay", &tidy),
        ("ours.rule", "amend spacing{ severity off }\n"),
        ("broken.lay", "room {\n"),
    ]);
    let (code, diff, said) = folder.run(&["tidy", ".", "--check"]);
    assert_eq!(code, 1);
    assert!(diff.contains("-  outline   (0, 0)") && diff.contains("+  outline (0, 0)"), "{diff}");
    assert!(diff.contains("+amend spacing { severity off }"), "{diff}");
    assert!(said.contains("this brace is never closed"), "{said}");
    assert!(
        said.ends_with("4 files looked at, 2 would be changed; 1 left alone, since not all of it can be read\n"),
        "{said}"
    );
    assert_eq!(std::fs::read_to_string(folder.path("sub/a.lay")).expect("it is there"), untidy);

    let (code, _, said) = folder.run(&["tidy", "."]);
    assert_eq!(code, 1, "{said}");
    assert_eq!(std::fs::read_to_string(folder.path("broken.lay")).expect("it is there"), "room {\n");
    let tidied = std::fs::read_to_string(folder.path("sub/a.lay")).expect("it is there");
    assert_eq!(tidied, std::fs::read_to_string(folder.path("b.lay")).expect("it is there"));
    let (code, diff, said) = folder.run(&["tidy", "sub", "b.lay", "ours.rule", "--check"]);
    assert_eq!((code, diff.as_str(), said.as_str()), (0, "", "3 files looked at, 0 would be changed\n"));
}

#[test]
fn standard_input_comes_out_whole() {
    let folder = Folder::new(&[]);
    let through = |arguments: &[&str], text: &str| {
        use std::io::Write as _;
        let mut command = layrule(folder.0.path(), arguments);
        command.stdin(std::process::Stdio::piped()).stdout(std::process::Stdio::piped());
        let mut child = command.stderr(std::process::Stdio::piped()).spawn().expect("it runs");
        child.stdin.take().expect("a pipe").write_all(text.as_bytes()).expect("it reads");
        answer(&child.wait_with_output().expect("it ends"))
    };
    let (code, text, _) = through(&["tidy", "-"], "let a=1\n");
    assert_eq!((code, text.as_str()), (0, "let a = 1\n"));
    let (code, text, _) = through(&["tidy", "-", "--language", "rules"], "amend a{}");
    assert_eq!((code, text.as_str()), (0, "amend a {}\n"));
    // An editor puts what comes out in the place of what it sent.
    let (code, text, said) = through(&["tidy", "-"], "let a=\n");
    assert_eq!((code, text.as_str()), (1, "let a=\n"), "{said}");
}

#[test]
fn what_can_not_be_read_or_written_is_told_of() {
    let folder = Folder::new(&[("a.lay", "let a=1\n")]);
    std::fs::write(folder.path("latin.lay"), b"room caf\xe9 {\n").expect("it is written");
    let (code, _, said) = folder.run(&["tidy", "latin.lay", "gone.lay", "a.lay"]);
    assert_eq!(code, 2);
    assert!(said.contains("latin.lay: ") && said.contains("gone.lay: there is no such file"), "{said}");
    assert_eq!(std::fs::read_to_string(folder.path("a.lay")).expect("it is there"), "let a = 1\n");
}

/// A link stays, and so do the permissions of what it leads to.
#[cfg(unix)]
#[test]
fn links_and_permissions_stay() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = Folder::new(&[("real.lay", "let a=1\n")]);
    std::fs::set_permissions(folder.path("real.lay"), std::fs::Permissions::from_mode(0o640)).expect("they are set");
    std::os::unix::fs::symlink("real.lay", folder.path("link.lay")).expect("a link");
    assert_eq!(folder.run(&["tidy", "link.lay"]).0, 0);
    assert!(folder.path("link.lay").symlink_metadata().expect("it is there").is_symlink());
    let real = std::fs::metadata(folder.path("real.lay")).expect("it is there");
    assert_eq!(real.permissions().mode() & 0o777, 0o640);
    assert_eq!(std::fs::read_to_string(folder.path("real.lay")).expect("it is there"), "let a = 1\n");
}
