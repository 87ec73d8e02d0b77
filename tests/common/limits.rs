//! Plans at a limit and one step beyond it.

use crate::common::{check, rules_found};

/// A room of 4 m by 3 m with whatever is put in it.
pub(crate) fn room(inside: &str) -> String {
    format!("room r {{\n  outline (0, 0) (4000, 0) (4000, 3000) (0, 3000)\n{inside}\n}}\n")
}

/// That room with one cable.
pub(crate) fn cable(path: &str) -> String {
    room(&format!("  cable a {{\n{path}\n  }}"))
}

/// A kit of 100 W with what else is said of it.
pub(crate) fn kit(lines: &str) -> String {
    format!("kit k {{\n  output 100 W at 230 V\n{lines}\n}}\n")
}

/// Whether a rule finds something in a plan, which must be readable.
pub(crate) fn finds(text: &str, rule: &str) -> bool {
    let report = check(text);
    let reading = ["syntax", "name", "quantity", "use", "plan"];
    let faults: Vec<_> = report.findings.iter().filter(|finding| reading.contains(&&*finding.rule)).collect();
    assert!(faults.is_empty(), "{faults:#?}\n{text}");
    rules_found(&report).iter().any(|name| name == rule)
}

/// `at` is a plan at the limit, `beyond` one step beyond.
pub(crate) fn border(rule: &str, at: &str, beyond: &str) {
    let unchecked = check(at).unchecked;
    assert!(unchecked.iter().all(|unchecked| *unchecked.rule != *rule), "{rule} is not held to:\n{at}\n{unchecked:#?}");
    assert!(!finds(at, rule), "{rule} must pass at its limit:\n{at}");
    assert!(finds(beyond, rule), "{rule} must fail one step beyond its limit:\n{beyond}");
}
