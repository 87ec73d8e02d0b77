//! Resolves what a room's cables are wired to: junction boxes, thermostats, contactors.

use super::resolver::Resolver;
use super::room::Draft;
use crate::layout::kinds::{Kind, UtilizationCategory};
use crate::layout::tree::{self, RoomEntry, Word};
use crate::model::{Contactor, Junction, Room, Thermostat};
use crate::quantity::Dimension;
use crate::worded::Worded as _;

impl Resolver {
    /// `junction NAME (x, y) height H ip CODE wired JUNCTION`
    pub(super) fn junction(&mut self, item: &tree::Junction, draft: &mut Draft) {
        let name = self.name(&item.name);
        let height = item.height.as_ref().and_then(|height| self.not_negative(height, Dimension::LENGTH));
        let Some(at) = self.point(&item.at) else {
            self.unread.insert((Kind::Junction, name.text));
            return;
        };
        if self.is_free(Kind::Junction, &name, &draft.room.junctions) {
            let water_protection = item.ip.as_ref().and_then(water_protection);
            let place = self.place(item.span);
            draft.room.junctions.push(Junction { name, at, height, water_protection, wired: None, place });
        }
    }

    /// `thermostat NAME (x, y) height H rated CURRENT limit TEMPERATURE behind CURRENT on SUPPLY`
    pub(super) fn thermostat(&mut self, item: &tree::Thermostat, draft: &mut Draft) {
        let name = self.name(&item.name);
        let at = self.point(&item.at);
        let height = item.height.as_ref().and_then(|height| self.not_negative(height, Dimension::LENGTH));
        let rated = self.positive(&item.rated, Dimension::CURRENT);
        let limit = item.limit.as_ref().and_then(|limit| self.quantity(limit, Dimension::TEMPERATURE));
        let behind = item.behind.as_ref().and_then(|behind| self.positive(behind, Dimension::CURRENT));
        let supply = item.supply.as_ref().and_then(|word| self.find_supply(word));
        let (Some(at), Some(rated)) = (at, rated) else {
            self.unread.insert((Kind::Thermostat, name.text));
            return;
        };
        if self.is_free(Kind::Thermostat, &name, &draft.room.thermostats) {
            let place = self.place(item.span);
            let unknown_supply = item.supply.as_ref().filter(|_| supply.is_none()).map(|word| word.text.clone());
            let thermostat = Thermostat { name, at, height, rated, limit, behind, supply, unknown_supply, place };
            draft.room.thermostats.push(thermostat);
        }
    }

    /// `contactor NAME rated CURRENT CATEGORY for THERMOSTAT`
    pub(super) fn contactor(&mut self, item: &tree::Contactor, draft: &mut Draft) {
        let rated = self.positive(&item.rated, Dimension::CURRENT);
        let thermostat = self.find(Kind::Thermostat, &item.thermostat, &draft.room.thermostats);
        let (Some(rated), Some(thermostat)) = (rated, thermostat) else { return };
        let name = self.name(&item.name);
        if self.is_free(Kind::Contactor, &name, &draft.room.contactors) {
            let category = item.category.as_ref().and_then(|word| UtilizationCategory::of_word(&word.text));
            let place = self.place(item.span);
            draft.room.contactors.push(Contactor { name, rated, category, thermostat, place });
        }
    }

    /// Gives junction boxes what they have from others, once all are read: the boxes that they are wired together with, and, where they have
    /// none of their own, the height of a thermostat at the same point.
    pub(super) fn join_junctions(&mut self, entries: &[RoomEntry], room: &mut Room) {
        for junction in room.junctions.iter_mut().filter(|junction| junction.height.is_none()) {
            let same = room.thermostats.iter().find(|thermostat| thermostat.at == junction.at);
            junction.height = same.and_then(|thermostat| thermostat.height);
        }
        for entry in entries {
            if let RoomEntry::Junction(tree::Junction { name, wired: Some(wired), .. }) = entry {
                let other = self.find(Kind::Junction, wired, &room.junctions);
                if let Some(own) = room.junctions.iter_mut().find(|own| own.name.text == name.text) {
                    own.wired = other;
                }
            }
        }
    }
}

/// The second digit of an IP code, such as `X4`, which stands for the water that is kept out.
fn water_protection(code: &Word) -> Option<u8> {
    code.text.chars().nth(1)?.to_digit(10)?.try_into().ok()
}
