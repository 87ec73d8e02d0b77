//! Resolves kits of heating cable.

use super::resolver::{Once, Resolver, namesake};
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, Expr, KitEntry, Word};
use crate::model::fault::Fault;
use crate::model::{Kit, Mat, Name, Stated};
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// A kit's cold resistance, ohm, and the least and the most that it may differ by, as shares.
type Resistance = (f64, Option<(f64, f64)>);

/// What the lines of a kit give.
#[derive(Default)]
struct Given {
    /// W at V.
    output: Once<(f64, f64)>,
    length: Once<f64>,
    resistance: Once<Resistance>,
    diameter: Once<f64>,
    bend_radius: Once<f64>,
    tail: Once<f64>,
    earthed_screen: Once<bool>,
    cores: Once<u8>,
    mat: Once<Mat>,
}

impl Resolver {
    /// `kit NAME { … }`
    pub(super) fn kit(&mut self, item: &tree::Kit) {
        let mut given = Given::default();
        item.entries.iter().for_each(|entry| self.kit_entry(entry, &mut given));
        let name = self.name(&item.name);
        if given.output.place().is_none() && !item.broken {
            self.gives_no("output", (Kind::Kit, &name), item.span, "output 420 W at 230 V");
        }
        if given.length.place().is_none() && !item.broken {
            self.gives_no("length", (Kind::Kit, &name), item.span, "length 42 m");
        }
        let (Some(output), Some(length)) = (given.output.stated(), given.length.value()) else {
            self.unread.insert((Kind::Kit, name.text));
            return;
        };
        let (power, voltage) = output.value;
        let (resistance, tolerance) = match given.resistance.stated() {
            Some(resistance) => {
                self.hold_to_output(&name, &resistance, &output);
                resistance.value
            }
            None => (voltage * voltage / power, None),
        };
        let earlier = namesake(&name, &self.kits);
        if self.is_first(Kind::Kit, &name, earlier) {
            self.kits.push(Kit {
                name,
                title: item.title.as_ref().map(|title| title.text.clone()),
                output: power,
                voltage,
                length,
                resistance,
                tolerance,
                diameter: given.diameter.value(),
                bend_radius: given.bend_radius.value(),
                tail: given.tail.value(),
                earthed_screen: given.earthed_screen.value(),
                cores: given.cores.value().unwrap_or(2),
                mat: given.mat.value(),
            });
        }
    }

    fn kit_entry(&mut self, entry: &KitEntry, given: &mut Given) {
        match entry {
            KitEntry::Output(power, voltage, span) => {
                let power = self.positive(power, Dimension::POWER);
                let voltage = self.positive(voltage, Dimension::VOLTAGE);
                self.once(&mut given.output, power.zip(voltage), "the output", *span);
            }
            KitEntry::Length(value, span) => {
                let value = self.positive(value, Dimension::LENGTH);
                self.once(&mut given.length, value, "the length", *span);
            }
            KitEntry::Resistance(value, tolerance, span) => {
                let value = self.resistance(value, tolerance.as_ref(), *span);
                self.once(&mut given.resistance, value, "the resistance", *span);
            }
            KitEntry::Diameter(value, span) => {
                let value = self.positive(value, Dimension::LENGTH);
                self.once(&mut given.diameter, value, "the diameter", *span);
            }
            KitEntry::BendRadius(value, span) => {
                let value = self.positive(value, Dimension::LENGTH);
                self.once(&mut given.bend_radius, value, "the bending radius", *span);
            }
            KitEntry::Tail(value, span) => {
                let value = self.positive(value, Dimension::LENGTH);
                self.once(&mut given.tail, value, "the tail's length", *span);
            }
            KitEntry::Mat(item) => {
                let side = |own: &mut Self, value: &Expr| own.positive(value, Dimension::LENGTH);
                let (width, length) = (side(self, &item.width), side(self, &item.length));
                let spacing = side(self, &item.spacing);
                let mat = width.zip(length).zip(spacing);
                let mat = mat.map(|((width, length), spacing)| Mat { width, length, spacing });
                self.once(&mut given.mat, mat, "the mat", item.span);
            }
            KitEntry::Screen(earthed, span) => {
                self.once(&mut given.earthed_screen, Some(*earthed), "the screen", *span);
            }
            KitEntry::Cores(value, span) => {
                let value = self.cores(value);
                self.once(&mut given.cores, value, "the number of conductors", *span);
            }
        }
    }

    fn cores(&mut self, value: &Expr) -> Option<u8> {
        let number = self.positive(value, Dimension::NUMBER)?;
        let cores = [1, 2].into_iter().find(|cores| f64::from(*cores) == number);
        if cores.is_none() {
            self.fault(self.place(value.span), Fault::NoSuchCores { number });
        }
        cores
    }

    fn resistance(&mut self, value: &Expr, tolerance: Option<&(Expr, Expr)>, span: Span) -> Option<Resistance> {
        let value = self.positive(value, Dimension::RESISTANCE);
        let tolerance = tolerance.and_then(|(least, most)| {
            let least = self.quantity(least, Dimension::NUMBER);
            least.zip(self.quantity(most, Dimension::NUMBER))
        });
        if let Some((least, most)) = tolerance
            && (least > most || least <= -1.0)
        {
            self.fault(self.place(span), Fault::NoTolerance);
            return None;
        }
        value.map(|value| (value, tolerance))
    }

    /// A fault where a kit's output at its voltage means another resistance than it gives.
    fn hold_to_output(&mut self, name: &Name, resistance: &Stated<Resistance>, output: &Stated<(f64, f64)>) {
        let (power, voltage) = output.value;
        let implied = voltage * voltage / power;
        let (value, tolerance) = resistance.value;
        let Some((least, most)) = tolerance.map(|(least, most)| (value * (1.0 + least), value * (1.0 + most))) else {
            return;
        };
        if implied >= least * (1.0 - 1e-9) && implied <= most * (1.0 + 1e-9) {
            return;
        }
        let shown = |ohm| Quantity::new(ohm, Dimension::RESISTANCE);
        let fault = Fault::KitContradictsItself {
            kit: name.text.clone(),
            implied: shown(implied),
            least: shown(least),
            most: shown(most),
            output: output.place,
        };
        self.fault(resistance.place, fault);
    }

    /// The index of the kit that `word` names.
    pub(super) fn find_kit(&mut self, word: &Word) -> Option<usize> {
        let kits = std::mem::take(&mut self.kits);
        let found = self.find(Kind::Kit, word, &kits);
        self.kits = kits;
        found
    }
}
