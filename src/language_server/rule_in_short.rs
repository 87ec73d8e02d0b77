//! A rule in a few lines of markdown, as hover and completion show it.

use crate::rules::packs::RuleSet;
use crate::rules::program::{Limit, Rule};

/// A rule in short.
pub fn rule(rules: &RuleSet, name: &str) -> Option<String> {
    let rule: &Rule = rules.rule(name)?;
    let severity = crate::reference::severity_word(rule);
    let mut text = format!("**{}** ({severity}): {}.\n", rule.name, plain(&rule.about));
    if let Some(why) = &rule.why {
        text.push_str(&format!("\n{}\n", plain(why)));
    }
    if !rule.limits.is_empty() {
        text.push('\n');
    }
    for limit in &rule.limits {
        text.push_str(&limit_line(limit));
    }
    let memory = if rule.from_memory { " (recalled from memory)" } else { "" };
    text.push_str(&format!("\nBasis: {}{memory}\n", plain(&rule.basis.to_string())));
    if rule.binding {
        text.push_str("\nBinding: no deviation covers its findings.\n");
    }
    Some(text)
}

/// A limit in a line: its name, what it is, what it means.
pub fn limit_line(limit: &Limit) -> String {
    let meaning = limit.meaning.as_deref().map(|meaning| format!(": {}", plain(meaning))).unwrap_or_default();
    let amended = if limit.amended { " (amended)" } else { "" };
    format!("- `{}` = {}{meaning}{amended}\n", limit.name, limit.text)
}

/// A text of someone else's as Markdown that shows it and does nothing else.
pub fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_ascii_punctuation() && !matches!(c, '.' | ',' | ';' | ':' | '-' | '\'' | '"' | '(' | ')' | '/' | '%') {
            plain.push('\\');
        }
        plain.push(c);
    }
    plain
}
