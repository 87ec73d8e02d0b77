//! The canonical form of a rule pack.

use pest::Parser as _;

use super::grammar::{Rule, RulesParser};
use crate::language::faults::SyntaxFault;
use crate::language::tidy::{self, Column, Columns, Manner};

const WORD: Columns = Columns { kind: "word", each: &[Column::left(1)] };
const LIMIT: Columns = Columns { kind: "limit", each: &[Column::left(1), Column::left(1), Column::left(2)] };
const VALUE: Columns = Columns { kind: "value", each: &[Column::left(1), Column::left(1)] };
const POINT: Columns = Columns { kind: "point", each: &[Column::left(1), Column::left(1)] };

const MANNER: Manner<Rule> = Manner {
    parse: |text| RulesParser::parse(Rule::file, text).ok(),
    blocks: &[Rule::rule_block, Rule::amend],
    sign: Rule::sign,
    called: &[Rule::name, Rule::function, Rule::gathering],
    columns: |rule| match rule {
        Rule::limit => LIMIT,
        Rule::value => VALUE,
        Rule::point => POINT,
        _ => WORD,
    },
};

/// Lays out a rule pack's text in the one way; what is written stays, line breaks within a statement too.
///
/// # Errors
/// What of it can't be read: such a text has no canonical form.
///
/// ```
/// use layrule::rules::tidy::tidy;
///
/// let tidied = tidy("amend spacing{limit least=60mm   severity warning}\n").unwrap();
/// assert_eq!(tidied, "amend spacing { limit least = 60 mm  severity warning }\n");
/// ```
pub fn tidy(text: &str) -> Result<String, Vec<SyntaxFault>> {
    let file = super::parse::parse(text);
    if file.faults.is_empty() { tidy::tidy(text, &MANNER).map_err(|fault| vec![fault]) } else { Err(file.faults) }
}
