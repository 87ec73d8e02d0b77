//! What pest makes of `grammar/layout.pest`, where its rules are explained.

#[allow(missing_docs)]
mod derived {
    /// pest's parser of the plan language.
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/layout.pest"]
    pub struct LayoutParser;
}
pub use derived::{LayoutParser, Rule};
