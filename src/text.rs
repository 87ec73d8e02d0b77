//! Small helpers for the sentences that messages are made of.

/// The candidate most like `word`, where one is near enough to have been meant.
///
/// ```
/// assert_eq!(layrule::text::nearest("loosp", ["loops", "run"].into_iter()), Some("loops"));
/// assert_eq!(layrule::text::nearest("zzz", ["loops", "run"].into_iter()), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    if word.is_empty() || word.len() > 64 {
        return None;
    }
    let lower = word.to_lowercase();
    candidates
        .map(|candidate| (strsim::damerau_levenshtein(&lower, &candidate.to_lowercase()), candidate))
        .filter(|(distance, candidate)| {
            *distance <= (candidate.len().max(word.len()) / 3).max(1) && *distance < candidate.len()
        })
        .min()
        .map(|(_, candidate)| candidate)
}

/// `a, b or c`.
pub fn list<'a>(words: impl Iterator<Item = &'a str>, joint: &str) -> String {
    let words: Vec<&str> = words.collect();
    match words.as_slice() {
        [] => String::new(),
        [one] => (*one).to_string(),
        [first @ .., last] => format!("{} {joint} {last}", first.join(", ")),
    }
}

/// `` `a`, `b` or `c` ``: each word in backquotes.
pub fn quoted<'a>(words: impl Iterator<Item = &'a str>, joint: &str) -> String {
    let words: Vec<String> = words.map(|word| format!("`{word}`")).collect();
    list(words.iter().map(String::as_str), joint)
}

/// What there is more of than is told, up to its verb: `1 more fault is`, `2 more faults are`.
///
/// ```
/// assert_eq!(layrule::text::more_faults(1), "1 more fault is");
/// ```
pub fn more_faults(count: usize) -> String {
    format!("{} {}", counted(count, "more fault"), if count == 1 { "is" } else { "are" })
}

/// `1 run`, `2 runs`.
///
/// ```
/// assert_eq!(layrule::text::counted(2, "crossing"), "2 crossings");
/// ```
pub fn counted(count: usize, noun: &str) -> String {
    if count == 1 {
        return format!("1 {noun}");
    }
    match noun.strip_suffix('y') {
        Some(stem) if !noun.ends_with(['a', 'e', 'o']) && !stem.ends_with(['a', 'e', 'o', 'u']) => {
            format!("{count} {stem}ies")
        }
        _ if noun.ends_with("ch") || noun.ends_with('x') || noun.ends_with('s') => format!("{count} {noun}es"),
        _ => format!("{count} {noun}s"),
    }
}

/// `a run`, `an end of a cable`, `an RCD test`: with the article that its sound asks for.
///
/// ```
/// use layrule::text::with_article;
/// assert_eq!([with_article("run"), with_article("earthed grid"), with_article("RCD test")], ["a run", "an earthed grid", "an RCD test"]);
/// ```
pub fn with_article(noun: &str) -> String {
    let article = if noun.starts_with(['a', 'e', 'i', 'o', 'R']) { "an" } else { "a" };
    format!("{article} {noun}")
}
