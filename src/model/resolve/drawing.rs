//! Resolves what a plan says of its drawing.

use super::resolver::{Once, Resolver};
use crate::layout::kinds::DrawingField;
use crate::layout::tree;
use crate::model::fault::Fault;
use crate::model::{By, TitleBlock};
use crate::quantity::Dimension;
use crate::source::Span;

/// What one file says of the title block.
#[derive(Default)]
pub(super) struct Given {
    owner: Once<String>,
    address: Once<String>,
    number: Once<String>,
    revision: Once<String>,
    drawn: Once<By>,
    checked: Once<By>,
    approved: Once<By>,
}

impl Resolver {
    /// `drawing { … }`
    pub(super) fn drawing(&mut self, item: &tree::Drawing, given: &mut Given) {
        for entry in &item.entries {
            let text = || Some(entry.text.text.clone());
            match entry.field {
                DrawingField::Owner => self.once(&mut given.owner, text(), "the owner", entry.span),
                DrawingField::Address => self.once(&mut given.address, text(), "the address", entry.span),
                DrawingField::Number => self.once(&mut given.number, text(), "the number", entry.span),
                DrawingField::Revision => self.once(&mut given.revision, text(), "the revision", entry.span),
                DrawingField::Drawn => {
                    let by = self.by(entry);
                    self.once(&mut given.drawn, by, "who drew it", entry.span);
                }
                DrawingField::Checked => {
                    let by = self.by(entry);
                    self.once(&mut given.checked, by, "who checked it", entry.span);
                }
                DrawingField::Approved => {
                    let by = self.by(entry);
                    self.once(&mut given.approved, by, "who approved it", entry.span);
                }
            }
        }
    }

    fn by(&mut self, entry: &tree::DrawingEntry) -> Option<By> {
        let date = match &entry.date {
            Some(word) => Some(self.date(word)?),
            None => None,
        };
        Some(By { name: entry.text.text.clone(), date })
    }

    /// `north ANGLE deg`
    pub(super) fn plan_north(&mut self, value: &tree::Expr, span: Span, given: &mut Once<f64>) {
        let angle = self.quantity(value, Dimension::NUMBER);
        let angle = angle.filter(|angle| {
            let fits = angle.abs() <= 360.0;
            if !fits {
                self.fault(self.place(value.span), Fault::NoBearing);
            }
            fits
        });
        self.once(given, angle, "north", span);
    }

    /// Keeps what a file says; what it doesn't say stays as the files that it uses have it.
    pub(super) fn keep_drawing(&mut self, given: Given, north: Once<f64>) {
        let before = std::mem::take(&mut self.title_block);
        self.title_block = TitleBlock {
            owner: given.owner.value().or(before.owner),
            address: given.address.value().or(before.address),
            number: given.number.value().or(before.number),
            revision: given.revision.value().or(before.revision),
            drawn: given.drawn.value().or(before.drawn),
            checked: given.checked.value().or(before.checked),
            approved: given.approved.value().or(before.approved),
        };
        self.north = north.value().or(self.north);
    }
}
