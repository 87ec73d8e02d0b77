//! Resolves kits of heating cable.

use super::resolver::{Once, Resolver};
use crate::layout::kinds::Kind;
use crate::layout::tree::{self, Expr, KitEntry, Word};
use crate::model::fault::Fault;
use crate::model::{Kit, Mat, Name, Stated, names};
use crate::quantity::{Dimension, Quantity};
use crate::source::Span;

/// A kit's cold resistance, ohm, and the least and the most that it may differ by, as shares.
pub(super) type Resistance = (f64, Option<(f64, f64)>);

/// What the lines of a kit give.
#[derive(Default, Clone)]
pub(super) struct Given {
    /// W at V.
    pub(super) output: Once<(f64, f64)>,
    pub(super) length: Once<f64>,
    pub(super) resistance: Once<Resistance>,
    pub(super) diameter: Once<f64>,
    pub(super) bend_radius: Once<f64>,
    pub(super) tail: Once<f64>,
    pub(super) earthed_screen: Once<bool>,
    pub(super) cores: Once<u8>,
    pub(super) mat: Once<Mat>,
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
        let title = item.title.as_ref().map(|title| title.text.clone());
        self.keep_kit(name, title, given);
    }

    /// Keeps a kit of what is given, unless that lacks what a kit needs, or its name is another's.
    pub(super) fn keep_kit(&mut self, name: Name, title: Option<String>, given: Given) {
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
        let earlier = self.kits.named(&name.text).map(|kit| self.kits[kit].name.place);
        if self.is_first(Kind::Kit, &name, earlier) {
            self.kits.push(Kit {
                name,
                title,
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

    pub(super) fn kit_entry(&mut self, entry: &KitEntry, given: &mut Given) {
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

    pub(super) fn cores(&mut self, value: &Expr) -> Option<u8> {
        let number = self.positive(value, Dimension::NUMBER)?;
        let cores = [1, 2].into_iter().find(|cores| f64::from(*cores) == number);
        if cores.is_none() {
            self.fault(self.place(value.span), Fault::NoSuchCores { number });
        }
        cores
    }

    fn resistance(&mut self, value: &Expr, tolerance: Option<&(Expr, Expr)>, span: Span) -> Option<Resistance> {
        let value = self.positive(value, Dimension::RESISTANCE);
        let tolerance = match tolerance {
            Some((least, most)) => self.tolerance(least, most, span).map(Some)?,
            None => None,
        };
        value.map(|value| (value, tolerance))
    }

    /// How far a resistance may lie below and above, as shares.
    pub(super) fn tolerance(&mut self, least: &Expr, most: &Expr, span: Span) -> Option<(f64, f64)> {
        let least = self.quantity(least, Dimension::NUMBER);
        let (least, most) = least.zip(self.quantity(most, Dimension::NUMBER))?;
        if least > most || least <= -1.0 {
            self.fault(self.place(span), Fault::NoTolerance);
            return None;
        }
        Some((least, most))
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
        let found = self.kits.named(&word.text);
        if found.is_none() {
            let kits = std::mem::take(&mut self.kits);
            self.unknown(Kind::Kit, word, &names(&kits));
            self.kits = kits;
        }
        found
    }
}
