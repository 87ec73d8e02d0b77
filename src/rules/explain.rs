//! Says in the reader's words what was expected where a statement of a rule can't be read.

use pest::Parser as _;

use super::grammar::{Rule, RulesParser};
use crate::language::expected::Language;
use crate::language::nodes::with_blanks;

/// The rule language as its readers are told about it.
pub static LANGUAGE: Language<Rule> = Language {
    blocks: &[
        (Rule::file_line, "a rule pack", &["rule", "amend"]),
        (
            Rule::rule_line,
            "a rule",
            &[
                "about", "why", "severity", "basis", "memory", "binding", "limit", "check", "where", "let", "needs",
                "require", "message", "point", "advice", "remedy", "unless",
            ],
        ),
        (Rule::amend_line, "an amendment", &["severity", "limit"]),
    ],
    parse: |rule, text| {
        let shown = with_blanks(text);
        let pairs = RulesParser::parse(rule, &shown).map_err(Box::new)?;
        Ok(pairs.map(|pair| pair.as_span().end()).max().unwrap_or(0))
    },
    words,
    describe,
    dimension: |_, _, _| None,
    usage,
    former: &[],
    free: &[],
    free_line: "",
};

fn words(rule: Rule) -> Vec<&'static str> {
    match rule {
        Rule::severity_kind => vec!["error", "warning", "note", "off"],
        Rule::answer => vec!["yes", "no"],
        Rule::standard => vec!["standard"],
        Rule::practice => vec!["practice"],
        Rule::maker => vec!["maker"],
        _ => Vec::new(),
    }
}

fn describe(_context: Rule, rule: Rule, _first: &str, _last: &str) -> Option<String> {
    Some(match rule {
        Rule::name => "a name".into(),
        Rule::text => "a text in double quotes".into(),
        Rule::path | Rule::step => "something named, such as `run.length`".into(),
        Rule::expr
        | Rule::or_expr
        | Rule::and_expr
        | Rule::not_expr
        | Rule::comparison
        | Rule::sum
        | Rule::bracketed
        | Rule::date
        | Rule::number
        | Rule::if_expr => "an expression such as `50 mm`".into(),
        Rule::arguments => "what it is given, such as `(50 mm)`".into(),
        Rule::operator | Rule::sign | Rule::unit | Rule::EOI | Rule::comparator => return None,
        _ => return None,
    })
}

fn usage(first: &str, _context: Rule) -> Option<&'static str> {
    Some(match first {
        "rule" => "rule NAME { … }",
        "amend" => "amend NAME { limit LIMIT = VALUE  severity warning }",
        "about" => "about \"TEXT\"",
        "why" => "why \"TEXT\"",
        "severity" => "severity error",
        "basis" => "basis practice, basis maker or basis standard \"TITLE\" clause \"CLAUSE\"",
        "memory" => "memory yes",
        "binding" => "binding",
        "limit" => "limit NAME = VALUE \"MEANING\"",
        "check" => "check NAME in COLLECTION where CONDITION",
        "where" => "where CONDITION",
        "let" => "let NAME = VALUE",
        "needs" => "needs NAME.FIELD",
        "require" => "require CONDITION",
        "message" => "message \"TEXT with {EXPRESSION}\"",
        "point" => "point NAME \"LABEL\"",
        "remedy" => {
            "remedy move RUN by LENGTH from THING, put SENSOR at PLACE, lead-in SENSOR by LENGTH, step RUN by LENGTH, lay-anew CABLE clear LENGTH, choose-kit CABLE of LENGTH, insulate FLOOR by LENGTH, embed FLOOR at LENGTH within LENGTH or take-out DEVIATION"
        }
        "unless" => "unless RULE, RULE",
        "advice" => "advice \"TEXT with {EXPRESSION}\"",
        _ => return None,
    })
}
