//! What a plan says of its drawing: the fields of the title block, and where north lies.

/// The fields of the title block that the plan gives.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TitleBlock {
    /// Whose drawing it is.
    pub owner: Option<String>,
    /// Where the rooms are.
    pub address: Option<String>,
    /// The drawing's number.
    pub number: Option<String>,
    /// Its revision.
    pub revision: Option<String>,
    /// Who drew it.
    pub drawn: Option<By>,
    /// Who checked it.
    pub checked: Option<By>,
    /// Who approved it.
    pub approved: Option<By>,
}

/// Who did something, and when, where the plan says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct By {
    /// The name.
    pub name: String,
    /// The day.
    pub date: Option<jiff::civil::Date>,
}
