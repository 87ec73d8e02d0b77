//! How statements are written, for who writes one: the form with the part that comes next marked, and a text to be filled in.

use lsp_types::{ParameterInformation, ParameterLabel, SignatureHelp, SignatureHelpParams, SignatureInformation};

use super::completion::form_at;
use super::documents::Language;
use super::workspace::Workspace;
use crate::language::tokens::{Sort, statement_start, tokens};

/// `textDocument/signatureHelp`.
///
/// # Errors
/// Never: what has no form shows none.
pub fn signature(workspace: &mut Workspace, params: SignatureHelpParams) -> Result<Option<SignatureHelp>, String> {
    let at = params.text_document_position_params;
    let path = workspace.path_of(&at.text_document.uri);
    let Some(language @ (Language::Layout | Language::Rules)) = workspace.language(&path) else { return Ok(None) };
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let offset = source.text.offset(workspace.client.encoding, at.position);
    let text = source.read();
    let start = statement_start(text, source.tokens(), offset);
    let Some(first) = text[start..offset].split_whitespace().next() else { return Ok(None) };
    // The word itself is still being written.
    if start + first.len() >= offset {
        return Ok(None);
    }
    let Some((_, usage)) = form_at(language, &source, start, first) else { return Ok(None) };
    let typed = &text[start + first.len()..offset];
    let parts_typed = parts(typed).len();
    // A part that no blank or comma follows is not done with.
    let done = typed.ends_with([' ', '\t', ',', ')']);
    let active = if done { parts_typed } else { parts_typed.saturating_sub(1) };
    let forms: Vec<&str> = alternatives(usage).collect();
    let fits = |form: &&str| {
        let own = parts(&form[first.len().min(form.len())..]);
        own.len().saturating_sub(active)
    };
    let best = forms.iter().position(|form| fits(form) > 0).unwrap_or(0);
    // Beyond the last part an editor would mark the first.
    let marked = |parts: usize| u32::try_from(active.min(parts.saturating_sub(1))).ok();
    let signatures = forms.iter().map(|form| {
        let own = parts(&form[first.len().min(form.len())..]);
        let shift = first.len().min(form.len());
        let label = |range: &std::ops::Range<usize>| {
            let units = |to: usize| u32::try_from(form[..to].encode_utf16().count()).unwrap_or(u32::MAX);
            ParameterLabel::LabelOffsets([units(shift + range.start), units(shift + range.end)])
        };
        let parameters = own.iter().map(|range| ParameterInformation { label: label(range), documentation: None });
        SignatureInformation {
            label: (*form).to_string(),
            documentation: None,
            parameters: Some(parameters.collect()),
            active_parameter: marked(own.len()),
        }
    });
    let signatures: Vec<SignatureInformation> = signatures.collect();
    let active_parameter = signatures.get(best).and_then(|form| form.active_parameter);
    Ok(Some(SignatureHelp { signatures, active_signature: u32::try_from(best).ok(), active_parameter }))
}

/// The forms of a usage, which tells of several with `or` between them.
pub fn alternatives(usage: &str) -> impl Iterator<Item = &str> {
    let first = usage.split_whitespace().next().unwrap_or("");
    let mut rest = Some(usage);
    std::iter::from_fn(move || {
        let whole = rest.take()?;
        // Another form begins with the statement's own word again.
        let next = whole.match_indices(" or ").find(|(at, or)| whole[at + or.len()..].starts_with(first));
        let (form, more) = match next {
            Some((at, or)) => (&whole[..at], Some(&whole[at + or.len()..])),
            None => (whole, None),
        };
        rest = more;
        Some(form)
    })
}

/// The parts of a statement: words, numbers with their units, texts, points.
fn parts(text: &str) -> Vec<std::ops::Range<usize>> {
    let mut parts: Vec<std::ops::Range<usize>> = Vec::new();
    let mut depth = 0;
    for token in tokens(text) {
        let range = token.span.range();
        let word = &text[range.clone()];
        match word {
            "(" => depth += 1,
            ")" => depth -= 1,
            _ => {}
        }
        let unit = token.sort == Sort::Unit;
        let within = depth > 1 || depth == 1 && word != "(" || word == ")";
        let told = matches!(token.sort, Sort::Word | Sort::Number | Sort::Text) || matches!(word, "(" | ")" | "…");
        match parts.last_mut() {
            Some(last) if within || unit => last.end = range.end,
            _ if told => parts.push(range),
            _ => {}
        }
    }
    parts
}

/// A statement's first form as a text to be filled in, with a place for each figure and name (the snippets of the protocol).
pub fn to_fill_in(usage: &str) -> Option<String> {
    let form = alternatives(usage).next()?;
    let first = form.split_whitespace().next()?;
    let mut filled = String::new();
    let (mut reached, mut number) = (0, 0);
    let mut place = |filled: &mut String, text: &str| {
        number += 1;
        let text = text.replace('\\', "\\\\").replace('$', "\\$").replace('}', "\\}");
        filled.push_str(&format!("${{{number}:{text}}}"));
    };
    for token in tokens(form) {
        let range = token.span.range();
        let word = &form[range.clone()];
        filled.push_str(&form[reached..range.start]);
        reached = range.end;
        let named = word.len() > 1 || word == "X" || word == "Y";
        let named = named && word.chars().all(|c| c.is_ascii_uppercase() || c == '-');
        let heading = matches!(word, "east" | "west" | "north" | "south");
        match token.sort {
            Sort::Number => place(&mut filled, word),
            Sort::Text => {
                filled.push('"');
                place(&mut filled, word.trim_matches('"'));
                filled.push('"');
            }
            _ if named || heading => place(&mut filled, word),
            _ => filled.push_str(&word.replace('$', "\\$").replace('}', "\\}")),
        }
    }
    filled.push_str(&form[reached..]);
    // A block is opened over lines; what may go on is left to who writes it.
    let filled = match filled.split_once('{').filter(|_| form.ends_with('}')) {
        Some(_) => {
            let head = filled.rsplit_once(" {").map_or(filled.as_str(), |(head, _)| head);
            format!("{head} {{\n\t$0\n}}")
        }
        None => filled.replace(" …", ""),
    };
    (filled != first).then_some(filled)
}

/// How the statement at an offset is written, and what it means.
pub fn told(language: Language, source: &super::workspace::Source, at: usize, word: &str) -> Option<String> {
    let (block, usage) = form_at(language, source, at, word)?;
    let forms: Vec<&str> = alternatives(usage).collect();
    let meaning =
        super::meaning::meaning(language, &block, word).map_or_else(String::new, |text| format!("\n{text}\n"));
    Some(format!("```text\n{}\n```\n{meaning}", forms.join("\n")))
}

/// The same of a word further on in the statement, where its form has that word.
pub fn told_within(
    language: Language,
    source: &super::workspace::Source,
    (at, first): (usize, &str),
    word: &str,
) -> Option<String> {
    let (_, usage) = form_at(language, source, at, first)?;
    let own = |part: &str| part.trim_end_matches(',') == word;
    usage.split_whitespace().any(own).then(|| told(language, source, at, first))?
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn forms_are_filled_in_part_by_part() {
        let usage =
            "loops 12 of 1800 east, stepping 75 north or loops of 1800 east, stepping 75 north to wall 3 less 80";
        assert_eq!(
            to_fill_in(usage).as_deref(),
            Some("loops ${1:12} of ${2:1800} ${3:east}, stepping ${4:75} ${5:north}")
        );
        assert_eq!(to_fill_in("kit NAME \"TITLE\" { … }").as_deref(), Some("kit ${1:NAME} \"${2:TITLE}\" {\n\t$0\n}"));
        assert_eq!(to_fill_in("start (X, Y)").as_deref(), Some("start (${1:X}, ${2:Y})"));
        assert_eq!(to_fill_in("selv"), None);
        assert_eq!(alternatives(usage).count(), 2);
        assert_eq!(alternatives("bonded or bonded main").collect::<Vec<_>>(), ["bonded", "bonded main"]);
        let form = " 12 of 1800 mm east, stepping (1, 2) \"a\"";
        let told: Vec<&str> = parts(form).into_iter().map(|range| &form[range]).collect();
        assert_eq!(told, ["12", "of", "1800 mm", "east", "stepping", "(1, 2)", "\"a\""]);
    }

    /// Every statement's form can be filled in without a brace or a dollar sign left over.
    #[test]
    fn every_form_is_whole() {
        let layout = &crate::layout::explain::LANGUAGE;
        for (context, _, words) in layout.blocks {
            for usage in words.iter().filter_map(|word| (layout.usage)(word, *context)) {
                let Some(filled) = to_fill_in(usage) else { continue };
                assert!(!filled.contains('…'), "{filled}");
                let opened = filled.matches("${").count() + filled.matches(" {\n").count();
                assert_eq!(opened, filled.matches('}').count(), "{filled}");
            }
        }
    }
}
