//! Resolves floor sensors.

use super::resolver::Resolver;
use super::room::Draft;
use crate::layout::kinds::Kind;
use crate::layout::tree;
use crate::model::Sensor;
use crate::quantity::Dimension;

impl Resolver {
    /// `sensor NAME from THERMOSTAT points… lead LENGTH`
    pub(super) fn sensor(&mut self, item: &tree::Sensor, draft: &mut Draft) {
        let thermostat = self.find(Kind::Thermostat, &item.from, &draft.room.thermostats);
        let conduit = match (&item.between, thermostat) {
            (Some(channel), Some(thermostat)) => self.led_in(channel, thermostat, &item.name.text, &draft.room),
            (Some(_), None) => None,
            (None, _) => self.points(&item.points),
        };
        let lead = item.lead.as_ref().and_then(|lead| self.positive(lead, Dimension::LENGTH));
        let (Some(thermostat), Some(mut conduit)) = (thermostat, conduit) else {
            draft.incomplete(|| format!("sensor `{}` could not be read", item.name.text));
            return;
        };
        // A point said twice leads nowhere else.
        conduit.dedup();
        let name = self.name(&item.name);
        if self.is_free(Kind::Sensor, &name, &draft.room.sensors) {
            draft.room.sensors.push(Sensor { name, thermostat, conduit, lead, place: self.place(item.span) });
        }
    }
}
