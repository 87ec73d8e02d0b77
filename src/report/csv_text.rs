//! Texts as comma-separated values may hold them.

/// A text that no spreadsheet takes for a formula. What begins with a number is left as it is.
pub fn plain(text: &str) -> String {
    let number = text.strip_prefix('-').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) && !number { format!("'{text}") } else { text.into() }
}
