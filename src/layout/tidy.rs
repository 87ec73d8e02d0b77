//! The canonical form of a plan.

use pest::Parser as _;

use super::grammar::{LayoutParser, Rule};
use crate::language::faults::SyntaxFault;
use crate::language::tidy::{self, Column, Columns, Manner};

const WORD: Columns = Columns { kind: "word", each: &[Column::left(2)] };
const NAMED: Columns = Columns { kind: "named", each: &[Column::left(2), Column::left(2)] };
const VALUE: Columns = Columns { kind: "value", each: &[Column::left(2), Column::left(1)] };
/// What columns of kits are called, and the values of each below.
const KITS: Columns =
    Columns { kind: "kits", each: &[Column::left(2), RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, RIGHT] };
const RIGHT: Column = Column::right(2);
const LAYER: Columns = Columns { kind: "layer", each: &[Column::left(2), Column::right(1)] };

const MANNER: Manner<Rule> = Manner {
    parse: |text| LayoutParser::parse(Rule::file, text).ok(),
    blocks: &[
        Rule::material,
        Rule::kit,
        Rule::kits,
        Rule::supply,
        Rule::drawing,
        Rule::room,
        Rule::floor,
        Rule::named_floor,
        Rule::cable,
        Rule::record,
    ],
    sign: Rule::sign,
    called: &[],
    columns: |rule| match rule {
        Rule::let_value => VALUE,
        Rule::layer => LAYER,
        Rule::columns | Rule::kit_row => KITS,
        Rule::door | Rule::fixture | Rule::drill | Rule::joint | Rule::pipe | Rule::level | Rule::rug => NAMED,
        Rule::partition | Rule::shower_head | Rule::junction | Rule::thermostat | Rule::contactor | Rule::sensor => {
            NAMED
        }
        _ => WORD,
    },
};

/// Lays out a plan's text in the one way; units, numbers, comments and line breaks within a statement stay as they are written.
///
/// # Errors
/// What of it can't be read: such a text has no canonical form.
///
/// ```
/// use layrule::layout::tidy::tidy;
///
/// assert_eq!(tidy("cable a{").unwrap_err().len(), 2);
/// let tidied = tidy("room a {\n\n\nwall 1\n  fixture bath   rect (0,0)( 1 m , 7) # iron\n}").unwrap();
/// assert_eq!(tidied, "room a {\n  wall     1\n  fixture  bath  rect (0, 0) (1 m, 7)  # iron\n}\n");
/// ```
pub fn tidy(text: &str) -> Result<String, Vec<SyntaxFault>> {
    let file = super::parse(text);
    if file.faults.is_empty() { tidy::tidy(text, &MANNER).map_err(|fault| vec![fault]) } else { Err(file.faults) }
}
