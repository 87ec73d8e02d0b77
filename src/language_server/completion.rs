//! What could stand at a place: asked of the grammar, which says what it looks for there.

use std::collections::HashSet;
use std::path::{Path, PathBuf};

use lsp_types::{
    CompletionItem, CompletionItemKind, CompletionParams, CompletionResponse, CompletionTextEdit, Documentation,
    InsertTextFormat, MarkupContent, MarkupKind, TextEdit,
};
use pest::RuleType;

use super::documents::Language;
use super::forms::{alternatives, to_fill_in};
use super::meaning::meaning;
use super::occurrences::closure;
use super::workspace::{Source, Workspace};
use crate::language::tokens::{Sort, block_at, statement_start};
use crate::language::{expected::Language as Grammar, is_word};
use crate::layout::explain::{LANGUAGE as LAYOUT, expected_dimension};
use crate::layout::grammar::Rule as LayoutRule;
use crate::layout::kinds::KitColumn;
use crate::layout::names::{Kind, used_after};
use crate::layout::parse::kit_row;
use crate::layout::tree::Statement;
use crate::model::materials::MATERIALS;
use crate::quantity::{Dimension, UNITS};
use crate::reference::{signature, squeeze};
use crate::rules::explain::LANGUAGE as RULES;
use crate::rules::grammar::Rule as RulesRule;
use crate::rules::names::{Known, field_of, known_before};
use crate::rules::tree::Statement as RulesStatement;
use crate::rules::value::Type;
use crate::rules::vocabulary;
use crate::source::{Span, slashed};

/// Words of the rule language that its grammar looks for within expressions.
const EXPRESSION_WORDS: [&str; 14] =
    ["if", "not", "has", "true", "false", "min", "max", "abs", "sqrt", "round-up", "count", "sum", "least", "greatest"];

/// `textDocument/completion`.
///
/// # Errors
/// Never: where nothing is known to fit, nothing is offered.
pub fn completion(workspace: &mut Workspace, params: CompletionParams) -> Result<Option<CompletionResponse>, String> {
    let at = params.text_document_position;
    let path = workspace.path_of(&at.text_document.uri);
    let language = workspace.language(&path);
    let Ok(source) = workspace.source(&path) else { return Ok(None) };
    let offset = source.text.offset(workspace.client.encoding, at.position);
    let text = source.read();
    let before = &text[..offset];
    let start = before.len() - before.chars().rev().take_while(|c| is_word(*c)).count();
    let begun = &text[start..offset];
    let in_comment = source.tokens().iter().any(|token| {
        token.sort == Sort::Comment && token.span.range().start < offset && offset <= token.span.range().end
    });
    if in_comment || begun.starts_with(|c: char| c.is_ascii_digit()) {
        return Ok(None);
    }
    let fills_in = workspace.client.fills_in;
    let mut offers = Offers { list: Vec::new(), labels: HashSet::new(), span: Span::new(start..offset), fills_in };
    match language {
        Some(Language::Layout) => layout(workspace, &source, &path, start, &mut offers),
        Some(Language::Rules) => rules(workspace, &source, &path, start, &mut offers),
        Some(Language::Project) => {
            let line = before.rsplit(['\n', '\r']).next().unwrap_or("");
            if line.len() == begun.len() {
                crate::project::KEYS.iter().for_each(|key| {
                    offers.add(key.word, CompletionItemKind::PROPERTY, key.example, Some(key.meaning.into()));
                });
            }
        }
        None => {}
    }
    let range = source.text.range(workspace.client.encoding, offers.span);
    for item in &mut offers.list {
        let text = item.insert_text.take().unwrap_or_else(|| item.label.clone());
        item.text_edit = Some(CompletionTextEdit::Edit(TextEdit::new(range, text)));
    }
    Ok(Some(CompletionResponse::Array(offers.list)))
}

/// What is offered, in place of the span.
struct Offers {
    list: Vec<CompletionItem>,
    /// What is offered already.
    labels: HashSet<String>,
    span: Span,
    /// Whether the editor lets texts be filled in.
    fills_in: bool,
}

impl Offers {
    fn add(&mut self, label: &str, kind: CompletionItemKind, detail: &str, documentation: Option<String>) {
        if !self.labels.insert(label.to_string()) {
            return;
        }
        let documentation = documentation
            .map(|value| Documentation::MarkupContent(MarkupContent { kind: MarkupKind::Markdown, value }));
        self.list.push(CompletionItem {
            label: label.into(),
            kind: Some(kind),
            detail: (!detail.is_empty()).then(|| detail.to_string()),
            documentation,
            ..CompletionItem::default()
        });
    }

    /// A statement, beside its first word, to be filled in where the editor can.
    fn statement(&mut self, word: &str, usage: &str) {
        let Some(text) = to_fill_in(usage).filter(|_| self.fills_in) else { return };
        let form = alternatives(usage).next().unwrap_or(usage);
        self.list.push(CompletionItem {
            label: form.into(),
            filter_text: Some(word.into()),
            // Behind the word by itself.
            sort_text: Some(format!("{word}~")),
            kind: Some(CompletionItemKind::SNIPPET),
            insert_text: Some(text),
            insert_text_format: Some(InsertTextFormat::SNIPPET),
            ..CompletionItem::default()
        });
    }

    fn words<'w>(&mut self, words: impl IntoIterator<Item = &'w str>) {
        words.into_iter().for_each(|word| self.add(word, CompletionItemKind::KEYWORD, "", None));
    }

    fn units(&mut self, fits: impl Fn(Dimension) -> bool) {
        UNITS.iter().filter(|unit| fits(unit.dimension)).for_each(|unit| {
            self.add(unit.symbol, CompletionItemKind::UNIT, &unit.dimension.describe(), None);
        });
    }
}

/// The block that an offset lies in, as its language knows it: a block's rule is named after the word that opens it.
fn context<R: RuleType>(grammar: &Grammar<R>, source: &Source, at: usize) -> R {
    let blocks = source.blocks();
    let opened = block_at(blocks, at).map(|index| &source.read()[blocks[index].head.range()]);
    let word = opened.and_then(|head| head.split_whitespace().next());
    let name = word.map(|word| format!("{}_line", word.replace('-', "_")));
    let known = grammar.blocks.iter().map(|(rule, ..)| *rule);
    name.and_then(|name| known.clone().find(|rule| format!("{rule:?}") == name)).unwrap_or(grammar.blocks[0].0)
}

/// The word that opens the block of the statement that starts with a word at an offset, `file` outside any, and how the statement is written.
pub fn form_at(language: Language, source: &Source, at: usize, word: &str) -> Option<(String, &'static str)> {
    match language {
        Language::Layout => form_in(&LAYOUT, source, at, word),
        Language::Rules => form_in(&RULES, source, at, word),
        Language::Project => None,
    }
}

fn form_in<R: RuleType>(
    grammar: &Grammar<R>,
    source: &Source,
    at: usize,
    word: &str,
) -> Option<(String, &'static str)> {
    let context = context(grammar, source, at);
    let (_, _, words) = grammar.blocks.iter().find(|(rule, ..)| *rule == context)?;
    let usage = words.contains(&word).then(|| (grammar.usage)(word, context)).flatten()?;
    Some((opening_word(context), usage))
}

/// The word that opens a block, as its rule is named after it.
fn opening_word<R: RuleType>(context: R) -> String {
    format!("{context:?}").trim_end_matches("_line").replace('_', "-")
}

/// A statement as far as it goes: its block, its beginning, its first word and the last one.
struct Begun<'t, R> {
    context: R,
    prefix: &'t str,
    first: &'t str,
    last: &'t str,
}

fn begun<'t, R: RuleType>(grammar: &Grammar<R>, source: &'t Source, start: usize) -> Begun<'t, R> {
    let text = source.read();
    let from = statement_start(text, source.tokens(), start);
    let within = |span: Span| span.range().start >= from && span.range().end <= start;
    let mut words = source.tokens().iter().filter(|token| token.sort == Sort::Word && within(token.span));
    let word = |span: Span| &text[span.range()];
    let first = words.next().map_or("", |token| word(token.span));
    let last = words.next_back().map_or(first, |token| word(token.span));
    Begun { context: context(grammar, source, start), prefix: &text[from..start], first, last }
}

/// Whether a number, rather than a date, stands before an offset without a unit.
fn after_number(source: &Source, at: usize) -> bool {
    let before = source.tokens().iter().take_while(|token| token.span.range().end <= at).last();
    before.is_some_and(|token| token.sort == Sort::Number && !source.read()[token.span.range()].contains('-'))
}

/// Offers the words that a statement of the block can start with, or go on with; says what else is looked for.
fn by_grammar<R: RuleType>(
    language: Language,
    grammar: &Grammar<R>,
    begun: &Begun<'_, R>,
    offers: &mut Offers,
) -> Vec<R> {
    if begun.prefix.is_empty() {
        let (_, _, words) =
            grammar.blocks.iter().find(|(rule, ..)| *rule == begun.context).unwrap_or(&grammar.blocks[0]);
        for word in words.iter().filter(|word| !grammar.former.contains(word)) {
            let usage = (grammar.usage)(word, begun.context).unwrap_or("");
            let meaning = meaning(language, &opening_word(begun.context), word);
            offers.add(word, CompletionItemKind::KEYWORD, usage, meaning);
            offers.statement(word, usage);
        }
        return Vec::new();
    }
    // No parser is sent into more brackets than a file may nest.
    if crate::language::brackets::scan_brackets(begun.prefix, &mut Vec::new()).is_err() {
        return Vec::new();
    }
    let looked_for = grammar.next(begun.context, begun.prefix);
    for rule in &looked_for {
        let words = grammar.words_of(*rule);
        offers.words(words.iter().map(String::as_str));
    }
    looked_for
}

fn layout(workspace: &mut Workspace, source: &Source, path: &Path, start: usize, offers: &mut Offers) {
    if used_file(workspace, source, path, start, offers) {
        return;
    }
    let begun = begun(&LAYOUT, source, start);
    let looked_for = by_grammar(Language::Layout, &LAYOUT, &begun, offers);
    let wants = |rules: &[LayoutRule]| looked_for.iter().any(|rule| rules.contains(rule));
    let names_start = begun.context == LayoutRule::floor_line && begun.prefix.is_empty();
    if names_start || wants(&[LayoutRule::name, LayoutRule::layer_material]) {
        match used_after(begun.context, begun.first, begun.last) {
            Some(Kind::Rule) => {
                let rules = workspace.rules_for(path);
                for rule in rules.rules.iter().filter(|rule| !rule.binding && !rule.program.asks_deviations) {
                    let more = super::rule_in_short::rule(&rules, &rule.name);
                    offers.add(&rule.name, CompletionItemKind::FUNCTION, &rule.about, more);
                }
            }
            Some(kind) => names(workspace, source, path, kind, start, offers),
            None => {}
        }
    }
    if !looked_for.is_empty() && begun.last != "wall" && after_number(source, start) {
        let expected = match row_column(source, start, &begun) {
            Some(column) => Some(column.dimension()),
            None => expected_dimension(begun.context, begun.first, begun.last),
        };
        // A factor has any dimension, a layer may be given by its thermal resistance, a tolerance is a plain number.
        let any = begun.prefix.contains(['*', '/']);
        let of_layer =
            |dimension| begun.context == LayoutRule::floor_line && dimension == Dimension::THERMAL_RESISTANCE;
        let share = |dimension| begun.first == "resistance" && dimension == Dimension::NUMBER;
        offers.units(|dimension| {
            any || expected.is_none_or(|expected| expected == dimension) || of_layer(dimension) || share(dimension)
        });
    }
    if wants(&[LayoutRule::date]) {
        offers.add(&workspace.today().to_string(), CompletionItemKind::CONSTANT, "today", None);
    }
    let values =
        [LayoutRule::sum, LayoutRule::wrapped_sum, LayoutRule::bracketed, LayoutRule::number, LayoutRule::value_name];
    // Within a point, quantities stand wherever no word does.
    if wants(&values) || begun.prefix.trim_end().ends_with(['(', ',', '+', '-', '*', '/']) && begun.prefix.contains('(')
    {
        names(workspace, source, path, Kind::Value, start, offers);
    }
}

/// Which column of its table of kits the last value of a row is in, where a statement is such a row.
fn row_column(source: &Source, at: usize, begun: &Begun<'_, LayoutRule>) -> Option<KitColumn> {
    let cells = kit_row(begun.prefix.trim_end())?.cells.len();
    let table = source.layout().tree.statements.iter().rev().find_map(|statement| match statement {
        Statement::Kits(table) if table.span.range().start < at => Some(table),
        _ => None,
    })?;
    table.columns().get(cells.checked_sub(1)?).copied().filter(|_| begun.context == LayoutRule::kits_line)
}

/// The files of the project, where `use` names one; whether it does.
fn used_file(workspace: &Workspace, source: &Source, path: &Path, start: usize, offers: &mut Offers) -> bool {
    let text = source.read();
    let line = text[..offers.span.range().end].rsplit(['\n', '\r']).next().unwrap_or("");
    let Some(written) = line.trim_start().strip_prefix("use").and_then(|rest| rest.trim_start().strip_prefix('"'))
    else {
        return false;
    };
    if written.contains('"') {
        return true;
    }
    let Some(folder) = path.parent() else { return true };
    offers.span = Span::new(offers.span.range().end - written.len()..offers.span.range().end.max(start));
    for plan in workspace.plans(&workspace.project_folder(path)) {
        if plan != path {
            offers.add(&relative(&plan, folder), CompletionItemKind::FILE, "", None);
        }
    }
    true
}

/// A path from a folder, with `/` between its parts.
fn relative(path: &Path, folder: &Path) -> String {
    let shared = path.components().zip(folder.components()).take_while(|(a, b)| a == b).count();
    let up = folder.components().skip(shared).map(|_| PathBuf::from(".."));
    let down = path.components().skip(shared).map(|part| PathBuf::from(part.as_os_str()));
    slashed(&up.chain(down).collect::<PathBuf>())
}

/// The names of a kind that can be used in a statement at an offset.
fn names(workspace: &mut Workspace, source: &Source, path: &Path, kind: Kind, at: usize, offers: &mut Offers) {
    let statements = &source.layout().tree.statements;
    let room = statements.iter().rposition(|statement| match statement {
        Statement::Room(room) => room.name.span.range().start < at,
        _ => false,
    });
    // A room that ends before the offset is none.
    let inside = block_at(source.blocks(), at).is_some();
    let room = room.filter(|_| inside);
    let icon = match kind {
        Kind::Value => CompletionItemKind::CONSTANT,
        Kind::Kit | Kind::Material | Kind::Floor => CompletionItemKind::CLASS,
        _ => CompletionItemKind::VARIABLE,
    };
    for one in source.layout_names().iter().filter(|one| one.declares && one.kind == kind && one.room.is_some()) {
        // Values stand above what uses them, things anywhere in the room.
        if one.room == room && (kind != Kind::Value || one.span.range().end < at) {
            offers.add(&one.text, icon, kind.word(), None);
        }
    }
    if !matches!(kind, Kind::Value | Kind::Material | Kind::Kit | Kind::Supply | Kind::Floor) {
        return;
    }
    for file in closure(workspace, path) {
        let Ok(other) = workspace.source(&file) else { continue };
        for one in other.layout_names().iter().filter(|one| one.declares && one.kind == kind && one.room.is_none()) {
            if file == path && kind == Kind::Value && one.span.range().end > at {
                continue;
            }
            let title = other.layout().tree.statements.iter().find_map(|statement| statement.title_of(one.span));
            offers.add(&one.text, icon, title.as_deref().unwrap_or(kind.word()), None);
        }
    }
    if kind == Kind::Material {
        for material in MATERIALS {
            offers.add(material.name, icon, &format!("{} W/mK", material.conductivity), None);
        }
    }
}

fn rules(workspace: &mut Workspace, source: &Source, path: &Path, start: usize, offers: &mut Offers) {
    let text = source.read();
    let before = &text[..start];
    if before.ends_with('.') {
        let owner = owner(source, start);
        if let Some(Type::Item(kind)) = owner {
            for field in vocabulary::fields().filter(|field| field.owner == kind) {
                let more = format!("{}\n\n{}", signature(field.name, field.parameters), squeeze(field.meaning));
                offers.add(field.name, CompletionItemKind::FIELD, &field.gives.describe(), Some(more));
            }
        }
        return;
    }
    let in_text = source
        .tokens()
        .iter()
        .any(|token| token.sort == Sort::Text && token.span.range().start < start && start < token.span.range().end);
    if in_text {
        // In a text only what stands in braces is worked out.
        let line = before.rsplit(['\n', '\r']).next().unwrap_or("");
        if line.rfind('{') > line.rfind('}') {
            known(source, start, offers);
        }
        return;
    }
    let begun = begun(&RULES, source, start);
    let looked_for = by_grammar(Language::Rules, &RULES, &begun, offers);
    let wants = |rules: &[RulesRule]| looked_for.iter().any(|rule| rules.contains(rule));
    if wants(&[RulesRule::name]) {
        match begun.first {
            "amend" => workspace.rules_for(path).rules.iter().for_each(|rule| {
                offers.add(&rule.name, CompletionItemKind::FUNCTION, &rule.about, None);
            }),
            "limit" if begun.context == RulesRule::amend_line => amended_limits(workspace, source, path, start, offers),
            _ if begun.last == "in" => {
                collections(offers);
                known(source, start, offers);
            }
            _ if begun.last == "has" => known(source, start, offers),
            "needs" | "point" | "remedy" => known(source, start, offers),
            _ => {}
        }
    }
    if !looked_for.is_empty() && after_number(source, start) {
        offers.units(|_| true);
    }
    let expressions = [
        RulesRule::expr,
        RulesRule::or_expr,
        RulesRule::and_expr,
        RulesRule::not_expr,
        RulesRule::comparison,
        RulesRule::sum,
        RulesRule::bracketed,
        RulesRule::if_expr,
        RulesRule::number,
    ];
    if wants(&expressions) {
        known(source, start, offers);
        offers.words(EXPRESSION_WORDS);
        offers.words(["any", "all"]);
    }
    if wants(&[RulesRule::path, RulesRule::step]) {
        if begun.last == "in" {
            collections(offers);
        } else {
            known(source, start, offers);
        }
    }
}

fn amended_limits(workspace: &mut Workspace, source: &Source, path: &Path, at: usize, offers: &mut Offers) {
    let blocks = source.blocks();
    let Some(block) = block_at(blocks, at).map(|index| &blocks[index]) else { return };
    let rules = workspace.rules_for(path);
    let rule = source.read()[block.head.range()].split_whitespace().nth(1).and_then(|name| rules.rule(name));
    for limit in rule.iter().flat_map(|rule| &rule.limits) {
        offers.add(&limit.name, CompletionItemKind::CONSTANT, &limit.text, limit.meaning.clone());
    }
}

fn collections(offers: &mut Offers) {
    for collection in vocabulary::collections() {
        let detail = format!("each a {}", collection.of.word());
        let more = format!("{}\n\n{}", signature(collection.name, collection.parameters), squeeze(collection.meaning));
        offers.add(collection.name, CompletionItemKind::MODULE, &detail, Some(more));
    }
}

/// Limits, locals and collections.
fn known(source: &Source, at: usize, offers: &mut Offers) {
    for known in in_scope(source, at) {
        let detail = known.gives.map(Type::describe).unwrap_or_default();
        offers.add(&known.text, CompletionItemKind::VARIABLE, &detail, None);
    }
    collections(offers);
}

/// The names that stand before an offset in its rule, those of gatherings and of a `check` that can't be read yet too.
fn in_scope(source: &Source, at: usize) -> Vec<Known> {
    let text = source.read();
    let blocks = source.blocks();
    let block = block_at(blocks, at).map(|index| &blocks[index]);
    let of_block = |statement: &&RulesStatement| match statement {
        RulesStatement::Rule(rule) => {
            block.is_some_and(|block| block.head.range().contains(&rule.name.span.range().start))
        }
        RulesStatement::Amend(_) => false,
    };
    let mut scope = match source.rules().statements.iter().find(of_block) {
        Some(RulesStatement::Rule(rule)) => known_before(rule, at),
        _ => Vec::new(),
    };
    let from = block.map_or(0, |block| block.open);
    let words: Vec<Span> = source
        .tokens()
        .iter()
        .map(|token| token.span)
        .filter(|span| from < span.range().start && span.range().end <= at)
        .collect();
    for (index, window) in words.windows(3).enumerate() {
        let [name, word, collection] = window else { continue };
        if &text[word.range()] != "in" || scope.iter().any(|known| known.text == text[name.range()]) {
            continue;
        }
        // `NAME in a.b`: the path goes on for as long as nothing stands between its parts.
        let mut end = collection.range().end;
        for next in words.iter().skip(index + 3) {
            let dot = &text[next.range()] == "." || text[..next.range().start].ends_with('.');
            if next.range().start != end || !dot {
                break;
            }
            end = next.range().end;
        }
        let path = &text[collection.range().start..end];
        if let Some(Type::Collection(kind)) = type_of(path, &scope) {
            let gives = Some(Type::Item(kind));
            let kind = crate::rules::names::Kind::Local;
            scope.push(Known { text: text[name.range()].to_string(), span: *name, kind, gives });
        }
    }
    scope
}

/// What `a.b.c` stands for.
fn type_of(path: &str, scope: &[Known]) -> Option<Type> {
    let mut steps = path.split('.');
    let first = steps.next()?;
    let known = scope.iter().rfind(|known| known.text == first).map(|known| known.gives);
    let start = match known {
        Some(gives) => gives,
        None => vocabulary::collection(first).map(|collection| Type::Collection(collection.of)),
    };
    steps.fold(start, field_of)
}

/// What stands before the dot at an offset.
fn owner(source: &Source, at: usize) -> Option<Type> {
    let before = source.read()[..at].strip_suffix('.')?;
    let length = before.chars().rev().take_while(|c| is_word(*c) || *c == '.').count();
    type_of(&before[before.len() - length..], &in_scope(source, at))
}
