//! Texts as comma-separated values may hold them.

/// A text that no spreadsheet takes for a formula. A number, with its unit or without, is left as it is.
///
/// ```
/// use layrule::report::csv_text::plain;
/// assert_eq!(["-5 °C", "-1+1", "=1", "a = 1"].map(plain), ["-5 °C", "'-1+1", "'=1", "a = 1"]);
/// ```
pub fn plain(text: &str) -> String {
    let in_a_number = |c: char| c.is_alphanumeric() || matches!(c, '.' | ' ' | '°' | '²' | '/' | '%');
    let number = text
        .strip_prefix('-')
        .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()) && rest.chars().all(in_a_number));
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) && !number { format!("'{text}") } else { text.into() }
}
