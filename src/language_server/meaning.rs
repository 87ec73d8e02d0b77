//! What a statement means, in the words of its language's reference page.

use super::documents::Language;

/// The reference page of a language.
fn page(language: Language) -> &'static str {
    match language {
        Language::Layout => include_str!("../../grammar/layout.md"),
        Language::Rules => include_str!("../../grammar/rules.md"),
        Language::Project => "",
    }
}

/// The words by which readings of a record are looked up, since the page tells of all of them together.
const STAGES: [&str; 5] = ["delivered", "laid", "before-tiling", "after-tiling", "before-switching-on"];

/// What the statement means that begins with `word` in a block that begins with `block`; `file` at the top. As Markdown.
pub fn meaning(language: Language, block: &str, word: &str) -> Option<String> {
    let page = page(language);
    let sought = if block == "record" && STAGES.contains(&word) { "STAGE" } else { word };
    let of_block = sections(page).filter(|section| match (language, block) {
        (_, "file") => false,
        // A pack's lines stand in sections of other names.
        (Language::Rules, "rule") => section.heading == "Its lines",
        (Language::Rules, _) => section.heading.contains("`amend`"),
        _ => section.names(block),
    });
    let mut lines = of_block.filter_map(|section| entry(language, section.text, sought));
    lines.next().or_else(|| {
        // Of two sections on one word, that on the top of a plan says so.
        let own =
            |section: &Section<'_>| section.names(word) && section.heading.ends_with("at the top") == (block == "file");
        let section = sections(page).find(own).or_else(|| sections(page).find(|section| section.names(word)));
        match section {
            Some(section) => entry(language, section.text, word).or_else(|| first_paragraph(section.text)),
            None if language == Language::Rules => sections(page)
                .find(|section| section.heading == "A rule")
                .and_then(|section| first_paragraph(section.text)),
            None => None,
        }
    })
}

struct Section<'p> {
    heading: &'p str,
    text: &'p str,
}

impl Section<'_> {
    fn names(&self, word: &str) -> bool {
        self.heading.contains(&format!("`{word}`"))
    }
}

/// The sections of a page, each from its heading to the next. A comment in an example has one `#`.
fn sections(page: &str) -> impl Iterator<Item = Section<'_>> {
    page.split("\n##").skip(1).map(|section| {
        let (heading, text) = section.split_once('\n').unwrap_or((section, ""));
        Section { heading: heading.trim_start_matches(['#', ' ']), text }
    })
}

/// Whether a cell or an item has a form that begins with a word.
fn begins(forms: &str, word: &str) -> bool {
    forms.split('`').skip(1).step_by(2).any(|form| form.split([' ', '[']).next() == Some(word))
}

/// What a table or a list of a section says of a word. In a table on rules, how often a line may stand comes first.
fn entry(language: Language, text: &str, word: &str) -> Option<String> {
    for line in text.lines().filter(|line| line.starts_with("| `")) {
        let cells: Vec<&str> = line.trim_matches('|').split(" | ").map(str::trim).collect();
        if begins(cells[0], word) {
            let column = usize::from(language == Language::Rules && cells.len() > 2) + 1;
            return cells.get(column).map(|told| plain(told));
        }
    }
    text.split("\n- ").skip(1).find_map(|item| {
        let item = item.split("\n\n").next().unwrap_or(item);
        let (form, _) = item.split_once(" is ").or_else(|| item.split_once(" says "))?;
        if begins(form, word) {
            return Some(plain(item));
        }
        // Several stand in one item, told one after the other.
        let told = item.split(';').find(|part| begins(part.split(" is ").next().unwrap_or(""), word));
        told.map(plain)
    })
}

/// The first lines of prose, up to a blank one; examples are passed over.
fn first_paragraph(text: &str) -> Option<String> {
    let prose = text.split("```").step_by(2);
    let mut paragraphs = prose.flat_map(|part| part.split("\n\n")).map(str::trim);
    paragraphs.find(|paragraph| !paragraph.is_empty()).map(plain)
}

/// A text on one line, without the page's own links.
fn plain(text: &str) -> String {
    let mut shown = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("](#") {
        let (said, link) = before.rsplit_once('[').unwrap_or((before, ""));
        shown.push_str(said);
        shown.push_str(link);
        rest = after.split_once(')').map_or("", |(_, after)| after);
    }
    crate::reference::squeeze(&(shown + rest))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::expected::Block;

    fn told<R: std::fmt::Debug>(language: Language, blocks: &[Block<R>], former: &[&str]) -> Vec<String> {
        let mut list = Vec::new();
        for (rule, _, words) in blocks {
            let name = format!("{rule:?}").replace('_', "-");
            let block = name.trim_end_matches("-line");
            for word in words.iter().filter(|word| !former.contains(word)) {
                let meaning = meaning(language, block, word).unwrap_or_default();
                assert!(meaning.len() > 9 && !meaning.contains("](#"), "{block} {word}: {meaning}");
                list.push(format!("{block} {word}: {meaning}"));
            }
        }
        list
    }

    #[test]
    fn every_statement_is_told_of() {
        let layout = &crate::layout::explain::LANGUAGE;
        let mut list = told(Language::Layout, layout.blocks, layout.former);
        let rules = &crate::rules::explain::LANGUAGE;
        list.extend(told(Language::Rules, rules.blocks, rules.former));
        let of = |statement: &str| list.iter().find_map(|one| one.strip_prefix(statement)).unwrap_or("");
        assert_eq!(of("kit tail: "), "length of the cold tail");
        assert!(of("cable tail: ").starts_with("the cold tail's route on the floor"));
        assert_eq!(of("cable loops: "), "parallel runs to and fro");
        assert!(of("room junction: ").contains("is a junction box"));
        assert!(of("record laid: ").contains("is one reading"));
        assert!(of("record switched-on: ").ends_with("first switched on"));
        assert_eq!(of("rule limit: "), "a figure of the rule that can be changed from outside");
        assert!(of("room floor: ").contains("the top layer first"));
    }
}
