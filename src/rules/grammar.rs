//! What pest makes of `grammar/rules.pest`, where its rules are explained.

#[allow(missing_docs)]
mod derived {
    /// pest's parser of the rule language.
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/rules.pest"]
    pub struct RulesParser;
}
pub use derived::{Rule, RulesParser};
