//! What each word is, for an editor that colours by meaning.

use std::collections::HashMap;

use lsp_types::{
    SemanticToken, SemanticTokenModifier, SemanticTokenType, SemanticTokens, SemanticTokensLegend,
    SemanticTokensParams, SemanticTokensRangeParams, SemanticTokensRangeResult, SemanticTokensResult,
};

use super::documents::Language;
use super::workspace::{Source, Workspace};
use crate::language::tokens::Sort;
use crate::layout::names::Kind;
use crate::rules::names::Kind as RuleKind;
use crate::source::Span;

const COMMENT: u32 = 0;
const TEXT: u32 = 1;
const NUMBER: u32 = 2;
const UNIT: u32 = 3;
const KEYWORD: u32 = 4;
const VALUE: u32 = 5;
const THING: u32 = 6;
const MADE: u32 = 7;
const RULE: u32 = 8;
const PROPERTY: u32 = 9;
const COLLECTION: u32 = 10;

/// The types in the order of their numbers; all of the protocol's own, so that every colour scheme has them.
const TYPES: [SemanticTokenType; 11] = [
    SemanticTokenType::COMMENT,
    SemanticTokenType::STRING,
    SemanticTokenType::NUMBER,
    SemanticTokenType::MODIFIER,
    SemanticTokenType::KEYWORD,
    SemanticTokenType::VARIABLE,
    SemanticTokenType::CLASS,
    SemanticTokenType::TYPE,
    SemanticTokenType::FUNCTION,
    SemanticTokenType::PROPERTY,
    SemanticTokenType::NAMESPACE,
];

/// The types and modifiers that the numbers stand for.
pub fn legend() -> SemanticTokensLegend {
    SemanticTokensLegend {
        token_types: TYPES.to_vec(),
        token_modifiers: vec![SemanticTokenModifier::DECLARATION, SemanticTokenModifier::DEFAULT_LIBRARY],
    }
}

/// How long a line may be, in bytes, whose words are looked at: beyond that no one reads it.
const LONGEST_LINE: usize = 20_000;

const DECLARATION: u32 = 1;
const BUILT_IN: u32 = 2;

/// `textDocument/semanticTokens/full`.
///
/// # Errors
/// Never: what can't be read has none.
pub fn full(workspace: &mut Workspace, params: SemanticTokensParams) -> Result<Option<SemanticTokensResult>, String> {
    let path = workspace.path_of(&params.text_document.uri);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let whole = 0..source.read().len();
    Ok(Some(SemanticTokensResult::Tokens(encode(workspace, &source, whole))))
}

/// `textDocument/semanticTokens/range`.
///
/// # Errors
/// As [`full`].
pub fn range(
    workspace: &mut Workspace,
    params: SemanticTokensRangeParams,
) -> Result<Option<SemanticTokensRangeResult>, String> {
    let path = workspace.path_of(&params.text_document.uri);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let offset = |position| source.text.offset(workspace.client.encoding, position);
    let range = offset(params.range.start)..offset(params.range.end);
    Ok(Some(SemanticTokensRangeResult::Tokens(encode(workspace, &source, range))))
}

/// The names of a file, each with its type and modifiers.
fn names(language: Option<Language>, source: &Source) -> HashMap<Span, (u32, u32)> {
    let declaration = |declares: bool| if declares { DECLARATION } else { 0 };
    match language {
        Some(Language::Layout) => source
            .layout_names()
            .iter()
            .map(|one| {
                let sort = match one.kind {
                    Kind::File => TEXT,
                    Kind::Value => VALUE,
                    Kind::Material | Kind::Kit | Kind::Supply | Kind::Floor => MADE,
                    Kind::Rule => RULE,
                    _ => THING,
                };
                (one.span, (sort, declaration(one.declares)))
            })
            .collect(),
        Some(Language::Rules) => source
            .rule_names()
            .iter()
            .map(|one| {
                let sort = match one.kind {
                    RuleKind::Rule => (RULE, 0),
                    RuleKind::Limit | RuleKind::Local => (VALUE, 0),
                    RuleKind::Collection => (COLLECTION, BUILT_IN),
                    RuleKind::Field(_) => (PROPERTY, BUILT_IN),
                };
                (one.span, (sort.0, sort.1 | declaration(one.declares)))
            })
            .collect(),
        Some(Language::Project) | None => HashMap::new(),
    }
}

fn encode(workspace: &Workspace, source: &Source, range: std::ops::Range<usize>) -> SemanticTokens {
    let language = workspace.language(&source.path);
    let names = names(language, source);
    let keywords = match language {
        Some(Language::Layout) => {
            crate::layout::explain::LANGUAGE.every_word(crate::layout::grammar::Rule::all_rules())
        }
        Some(Language::Rules) => crate::rules::explain::LANGUAGE.every_word(crate::rules::grammar::Rule::all_rules()),
        _ => Default::default(),
    };
    let text = source.read();
    let mut data = Vec::new();
    let (mut line, mut character) = (0, 0);
    let mut add = |span: Span, sort: u32, modifiers: u32| {
        let place = source.text.range(workspace.client.encoding, span);
        // A token lies on one line; texts and comments end with theirs.
        if place.start.line != place.end.line {
            return;
        }
        let delta_line = place.start.line - line;
        let delta_start = if delta_line == 0 { place.start.character - character } else { place.start.character };
        (line, character) = (place.start.line, place.start.character);
        data.push(SemanticToken {
            delta_line,
            delta_start,
            length: place.end.character - place.start.character,
            token_type: sort,
            token_modifiers_bitset: modifiers,
        });
    };
    // The names within a text of a rule, which are worked out there.
    let mut inner: Vec<(Span, (u32, u32))> = names.iter().map(|(span, sort)| (*span, *sort)).collect();
    inner.sort_unstable();
    for token in source.tokens() {
        if token.span.range().end <= range.start || token.span.range().start >= range.end {
            continue;
        }
        if source.text.line_length(token.span.range().start) > LONGEST_LINE {
            continue;
        }
        let word = &text[token.span.range()];
        match (names.get(&token.span), token.sort) {
            (Some((sort, modifiers)), _) => add(token.span, *sort, *modifiers),
            (None, Sort::Comment) => add(token.span, COMMENT, 0),
            (None, Sort::Text) => {
                let mut from = token.span.start();
                let within = inner.partition_point(|(span, _)| span.start() < token.span.start());
                for (span, (sort, modifiers)) in
                    inner[within..].iter().take_while(|(span, _)| span.end() <= token.span.end())
                {
                    if span.start() > from {
                        add(Span::new(from..span.start()), TEXT, 0);
                    }
                    add(*span, *sort, *modifiers);
                    from = span.end();
                }
                add(Span::new(from..token.span.end()), TEXT, 0);
            }
            (None, Sort::Number) => add(token.span, NUMBER, 0),
            (None, Sort::Unit) => add(token.span, UNIT, 0),
            (None, Sort::Word) if keywords.contains(word) => add(token.span, KEYWORD, 0),
            (None, Sort::Word | Sort::Mark) => {}
        }
    }
    SemanticTokens { result_id: None, data }
}
