//! What stands on a Markdown page.

/// The fenced blocks of a Markdown page: their tags, their texts and the lines they start on.
pub(crate) fn blocks(page: &str) -> Vec<(String, String, usize)> {
    let mut blocks = Vec::new();
    let mut open: Option<(String, String, usize)> = None;
    for (number, line) in page.lines().enumerate() {
        match (&mut open, line.trim_start().strip_prefix("```")) {
            (None, Some(tag)) => open = Some((tag.trim().to_string(), String::new(), number + 1)),
            (Some(_), Some(_)) => blocks.extend(open.take()),
            (Some((_, text, _)), None) => {
                text.push_str(line);
                text.push('\n');
            }
            (None, None) => {}
        }
    }
    blocks
}
