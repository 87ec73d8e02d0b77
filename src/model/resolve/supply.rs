//! Resolves supplies.

use super::resolver::{Once, Resolver, namesake};
use crate::layout::kinds::{Kind, RcdType};
use crate::layout::tree::{self, SupplyEntry, Word};
use crate::model::fault::Fault;
use crate::model::{Conductor, Insulation, Method, Stated, Supply};
use crate::quantity::Dimension;
use crate::worded::Worded as _;

/// So many circuits that lie bunched have a factor: IEC 60364-5-52:2009, table B.52.17, item 1. Recalled, not looked up.
const MOST_GROUPED: f64 = 20.0;

/// What the lines of a supply give.
#[derive(Default)]
struct Given {
    voltage: Once<f64>,
    rcd: Once<f64>,
    rcd_type: Option<RcdType>,
    breaker: Once<f64>,
    conductor: Once<Conductor>,
    ambient: Once<f64>,
    fuse: Once<f64>,
    selv: Once<()>,
    before: Once<f64>,
    grouped: Once<f64>,
    in_insulation: Once<f64>,
}

impl Resolver {
    /// `supply NAME { … }`
    pub(super) fn supply(&mut self, item: &tree::Supply) {
        let mut given = Given::default();
        item.entries.iter().for_each(|entry| self.supply_entry(entry, &mut given));
        let name = self.name(&item.name);
        let earlier = namesake(&name, &self.supplies);
        if self.is_first(Kind::Supply, &name, earlier) {
            // How a conductor lies is said on lines of their own; what can't be read there must not let it carry more.
            let (grouped, in_insulation) = (given.grouped.or(1.0), given.in_insulation.or(0.0));
            let conductor = given.conductor.stated().and_then(|own| {
                let (grouped, in_insulation) = (grouped?, in_insulation?);
                Some(Stated { value: Conductor { grouped, in_insulation, ..own.value }, place: own.place })
            });
            let ambient = given.ambient.stated();
            if let (Some(ambient), Some(conductor)) = (&ambient, &conductor) {
                let insulation = conductor.value.insulation;
                let most = insulation.hottest_ambient();
                if ambient.value > most {
                    self.fault(ambient.place, Fault::TooHot { insulation: insulation.word(), most });
                }
            }
            self.supplies.push(Supply {
                name,
                voltage: given.voltage.stated(),
                rcd: given.rcd.stated(),
                rcd_type: given.rcd_type,
                breaker: given.breaker.stated(),
                conductor,
                ambient,
                fuse: given.fuse.stated(),
                selv: given.selv.place(),
                before: given.before.value(),
            });
        }
    }

    fn supply_entry(&mut self, entry: &SupplyEntry, given: &mut Given) {
        match entry {
            SupplyEntry::Voltage(value, span) => {
                let value = self.positive(value, Dimension::VOLTAGE);
                self.once(&mut given.voltage, value, "the voltage", *span);
            }
            SupplyEntry::Rcd(value, kind, span) => {
                let kind = kind.as_ref().and_then(|word| RcdType::of_word(&word.text));
                given.rcd_type = given.rcd_type.or(kind);
                let value = self.positive(value, Dimension::CURRENT);
                self.once(&mut given.rcd, value, "the RCD", *span);
            }
            SupplyEntry::Breaker(value, span) => {
                let value = self.positive(value, Dimension::CURRENT);
                self.once(&mut given.breaker, value, "the breaker", *span);
            }
            SupplyEntry::Conductor(item) => {
                let value = self.conductor(item);
                self.once(&mut given.conductor, value, "the conductor", item.span);
            }
            SupplyEntry::Ambient(value, span) => {
                let value = self.quantity(value, Dimension::TEMPERATURE);
                self.once(&mut given.ambient, value, "the ambient temperature", *span);
            }
            SupplyEntry::Fuse(value, span) => {
                let value = self.positive(value, Dimension::CURRENT);
                self.once(&mut given.fuse, value, "the fuse", *span);
            }
            SupplyEntry::Selv(span) => self.once(&mut given.selv, Some(()), "the extra-low voltage", *span),
            SupplyEntry::Before(value, span) => {
                let value = self.not_negative(value, Dimension::NUMBER);
                self.once(&mut given.before, value, "the voltage lost before", *span);
            }
            SupplyEntry::Grouped(value, span) => {
                let circuits = self.positive(value, Dimension::NUMBER);
                let tabulated = |circuits: &f64| circuits.fract() == 0.0 && *circuits <= MOST_GROUPED;
                if circuits.is_some_and(|circuits| !tabulated(&circuits)) {
                    self.fault(self.place(value.span), Fault::NoGroup { most: MOST_GROUPED });
                }
                self.once(&mut given.grouped, circuits.filter(tabulated), "the number of circuits", *span);
            }
            SupplyEntry::InInsulation(value, span) => {
                let value = self.not_negative(value, Dimension::LENGTH);
                self.once(&mut given.in_insulation, value, "the length in insulation", *span);
            }
        }
    }

    fn conductor(&mut self, item: &tree::Conductor) -> Option<Conductor> {
        let section = self.positive(&item.section, Dimension::AREA);
        let length = self.positive(&item.length, Dimension::LENGTH);
        let insulation = item.insulation.as_ref().and_then(|word| Insulation::of_word(&word.text));
        Some(Conductor {
            section: section?,
            length: length?,
            method: Method::of_word(&item.method.text).unwrap_or(Method::C),
            insulation: insulation.unwrap_or(Insulation::Pvc),
            grouped: 1.0,
            in_insulation: 0.0,
        })
    }

    /// The index of the supply that `word` names.
    pub(super) fn find_supply(&mut self, word: &Word) -> Option<usize> {
        let supplies = std::mem::take(&mut self.supplies);
        let found = self.find(Kind::Supply, word, &supplies);
        self.supplies = supplies;
        found
    }
}
