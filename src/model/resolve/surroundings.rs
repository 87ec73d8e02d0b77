//! Resolves what is around a room's floor: temperatures, heat loss, an earthed grid, shower heads.

use super::resolver::Resolver;
use super::room::Draft;
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, Expr};
use crate::model::{Below, Bonding, ShowerHead};
use crate::quantity::Dimension;
use crate::source::Span;

impl Resolver {
    /// `inside TEMPERATURE`
    pub(super) fn inside(&mut self, temperature: &Expr, span: Span, draft: &mut Draft) {
        let value = self.quantity(temperature, Dimension::TEMPERATURE);
        self.once(&mut draft.inside, value, "the room's temperature", span);
    }

    /// `below room|ground TEMPERATURE`
    pub(super) fn below(&mut self, item: &tree::Below, draft: &mut Draft) {
        let value = self.quantity(&item.temperature, Dimension::TEMPERATURE);
        let value = value.map(if item.kind.text == "room" { Below::Room } else { Below::Ground });
        self.once(&mut draft.below, value, "what lies below", item.span);
    }

    /// `heat-loss POWER`
    pub(super) fn heat_loss(&mut self, power: &Expr, span: Span, draft: &mut Draft) {
        let value = self.positive(power, Dimension::POWER);
        self.once(&mut draft.heat_loss, value, "the heat loss", span);
    }

    /// `bonded` or `bonded main`
    pub(super) fn bonded(&mut self, main: bool, span: Span, draft: &mut Draft) {
        let value = if main { Bonding::Main } else { Bonding::Supplementary };
        self.once(&mut draft.bonded, Some(value), "the bonding", span);
    }

    /// `earthed-grid mesh LENGTH`
    pub(super) fn earthed_grid(&mut self, mesh: &Expr, span: Span, draft: &mut Draft) {
        let value = self.positive(mesh, Dimension::LENGTH);
        self.once(&mut draft.earthed_grid, value, "the earthed grid", span);
    }

    /// `shower-head NAME (x, y) height H`
    pub(super) fn shower_head(&mut self, item: &tree::ShowerHead, draft: &mut Draft) {
        let height = item.height.as_ref().and_then(|height| self.positive(height, Dimension::LENGTH));
        let Some(at) = self.point(&item.at) else { return };
        let name = self.name(&item.name);
        if self.is_free(Kind::ShowerHead, &name, &draft.room.shower_heads) {
            draft.room.shower_heads.push(ShowerHead { name, at, height, place: self.place(item.span) });
        }
    }
}
