//! What a finding is known by from one run to the next, although lines move and other parts of the plan change.
//!
//! That is: its plan, its rule, its room, the things it names, and the statement it marks, spaces and notes aside. Findings that agree in all
//! of these are told apart by counting them in the order of the plan.

use std::collections::HashMap;

use sha2::{Digest as _, Sha256};

use crate::finding::Finding;
use crate::source::Sources;

/// What a finding is about.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Identity {
    /// Where its plan lies in the project, with `/` between folders.
    pub plan: String,
    /// Its rule.
    pub rule: String,
    /// Its room; empty for what is outside any.
    pub room: String,
    /// The things it names, such as `cable a`, in the order it names them.
    pub about: Vec<String>,
    /// The statement it marks.
    pub text: String,
}

/// What a finding of a plan with these sources is about.
pub fn identity(finding: &Finding, sources: &Sources) -> Identity {
    Identity {
        plan: sources.plan_location(),
        rule: finding.rule.to_string(),
        room: finding.room.clone().unwrap_or_default(),
        about: finding
            .subjects
            .iter()
            .map(|subject| format!("{} {}", subject.kind.statement(), subject.name))
            .collect(),
        text: statement(sources.text(finding.place())),
    }
}

/// Counts findings that are about the same, in their order.
pub(crate) fn number(findings: &mut [Finding], sources: &Sources) {
    let mut seen: HashMap<Identity, u32> = HashMap::new();
    for finding in findings {
        let count = seen.entry(identity(finding, sources)).or_default();
        finding.repeat = *count;
        *count += 1;
    }
}

/// A finding's fingerprint: 32 hexadecimal digits.
pub fn fingerprint(finding: &Finding, sources: &Sources) -> String {
    let identity = identity(finding, sources);
    let mut hash = Sha256::new();
    let parts = [&identity.plan, &identity.rule, &identity.room, &identity.text].into_iter().chain(&identity.about);
    for part in parts {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part.as_bytes());
    }
    hash.update(finding.repeat.to_le_bytes());
    hash.finalize().iter().take(16).map(|byte| format!("{byte:02x}")).collect()
}

/// The longest statement that is kept whole, characters.
const LONGEST: usize = 200;

/// A statement on one line: notes left out, spaces made one, and what it opens with `{` left out.
fn statement(text: &str) -> String {
    let mut words = String::new();
    let mut count = 0;
    let (mut quoted, mut note, mut gap) = (false, false, false);
    for c in text.chars() {
        match c {
            '\n' => (quoted, note) = (false, false),
            _ if note => continue,
            '"' => quoted = !quoted,
            '#' if !quoted => note = true,
            '{' if !quoted => break,
            _ => {}
        }
        if c.is_whitespace() || note {
            gap = true;
            continue;
        }
        if gap && count > 0 {
            words.push(' ');
        }
        gap = false;
        words.push(c);
        count += 1;
        if count == LONGEST {
            break;
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::statement;

    #[test]
    fn statements_are_what_they_say_however_they_are_laid_out() {
        assert_eq!(statement("outline  (0, 0)\t(1, 0) # the \"corner\n  (1, 1)"), "outline (0, 0) (1, 0) (1, 1)");
        assert_eq!(statement("cable a {\n start (0, 0)"), "cable a");
        assert_eq!(statement("wall 3 \"yard # { wall\""), "wall 3 \"yard # { wall\"");
        assert_eq!(statement(&"x".repeat(500)).len(), 200);
    }
}
