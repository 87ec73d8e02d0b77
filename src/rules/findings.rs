//! What a rule says of an item that breaks it: figures, marks, advice, the change that settles it.

use std::sync::Arc;

use super::evaluate::Judge;
use super::program::{Cure, Expr, Remedy, Rule, ShownFigure};
use super::value::{Type, Value};
use crate::finding::{Figure, Finding, Fix, Mark, Subject};
use crate::geometry::Site;
use crate::quantity::{Quantity, Unit};
use crate::source::Place;
use crate::things::{CableId, Item, show_place};

/// The most changes that are offered for one finding.
const MOST_OFFERS: usize = 8;

/// Adds a mark; two things that one statement lays get one.
pub(super) fn add_mark(marks: &mut Vec<Mark>, place: Place, label: String) {
    match marks.iter_mut().find(|mark| mark.place == place) {
        Some(mark) if mark.label != label => mark.label = format!("{}; {label}", mark.label),
        Some(_) => {}
        None => marks.push(Mark { place, label }),
    }
}

impl Judge<'_, '_> {
    /// The finding that a rule makes of an item that breaks it.
    pub(super) fn finding(&mut self, rule: &Rule, item: Item) -> Finding {
        let (figures, extra) = self.figures(rule);
        let message = self.first_text(&rule.program.message, extra).unwrap_or_else(|| rule.about.clone());
        let (marks, subjects) = self.marks(rule, item, Some(extra));
        let advice = self.first_text(&rule.program.advice, extra);
        let excess = rule.program.require.as_ref().and_then(|condition| self.excess(condition));
        let offers = self.offers(rule, extra);
        let site = self.site(rule, item);
        Finding { message, figures, advice, offers, site, excess, ..self.told_apart(rule, item, marks, subjects) }
    }

    /// Where on the floor a reader is shown it: where what the rule measured is so; else the item itself; of a cable or a room, which are all
    /// over the floor, the first thing that the rule points at and that is somewhere.
    fn site(&mut self, rule: &Rule, item: Item) -> Option<Site> {
        let Some(left) = self.sites_left.checked_sub(1) else { return item.spot(self.world).map(Site::at) };
        self.sites_left = left;
        if let Some(site) = rule.program.require.as_ref().and_then(|condition| self.measured_at(condition, false)) {
            return Some(site);
        }
        let spreads = |item: Item| matches!(item, Item::Cable(_) | Item::Room(_));
        if !spreads(item)
            && let Some(site) = item.site(self.world)
        {
            return Some(site);
        }
        let pointed = rule.program.points.iter().find_map(|(expr, _)| {
            let pointed = match self.value(expr) {
                Ok(Value::Item(item)) => vec![item],
                Ok(Value::Items(items)) => items,
                _ => return None,
            };
            pointed.into_iter().filter(|item| !spreads(*item)).find_map(|item| item.site(self.world))
        });
        pointed.or_else(|| item.site(self.world))
    }

    /// Where the first comparison is so that makes a condition come to `truth`, where what it compares knows that.
    fn measured_at(&mut self, condition: &Expr, truth: bool) -> Option<Site> {
        match condition {
            Expr::Compare(_, left, right, _) => {
                if !matches!(self.value(condition), Ok(Value::Truth(found)) if found == truth) {
                    return None;
                }
                [(left, right), (right, left)].into_iter().find_map(|(measured, limit)| {
                    let Expr::Field(owner, field, ..) = &**measured else { return None };
                    let site = field.site.as_ref()?;
                    match (self.value(owner), self.value(limit)) {
                        (Ok(Value::Item(item)), Ok(Value::Number(limit))) => site(self.world, item, limit),
                        _ => None,
                    }
                })
            }
            Expr::And(list) | Expr::Or(list) => list.iter().find_map(|part| self.measured_at(part, truth)),
            Expr::Not(inner) => self.measured_at(inner, !truth),
            _ => None,
        }
    }

    /// Of that finding only what tells it from others.
    pub(super) fn bare_finding(&mut self, rule: &Rule, item: Item) -> Finding {
        let (marks, subjects) = self.marks(rule, item, None);
        self.told_apart(rule, item, marks, subjects)
    }

    /// What tells a finding from others; the rest is left out.
    fn told_apart(&self, rule: &Rule, item: Item, marks: Vec<Mark>, subjects: Vec<Subject>) -> Finding {
        let room = item.room_of_finding(self.world).map(|room| self.world.room(room).name.text.clone());
        Finding {
            rule: Arc::clone(&rule.name),
            severity: rule.severity.unwrap_or(crate::finding::Severity::Note),
            message: String::new(),
            marks,
            figures: Vec::new(),
            advice: None,
            fix: None,
            offers: Vec::new(),
            basis: Some(rule.basis.clone()),
            from_memory: rule.from_memory,
            binding: rule.binding,
            room,
            site: None,
            subjects,
            excess: None,
            accepted: None,
            number: 0,
            repeat: 0,
        }
    }

    /// The figures that a finding rests on, and how many digits more than usual tell them apart.
    fn figures(&mut self, rule: &Rule) -> (Vec<Figure>, usize) {
        let mut figures: Vec<Figure> = Vec::new();
        let mut units: Vec<Option<&Unit>> = Vec::new();
        for ShownFigure { words, value, kind, unit } in &rule.program.figures {
            match (self.value(value), kind) {
                (Ok(Value::Number(value)), Type::Quantity(dimension)) => {
                    let quantity = Quantity::new(value, *dimension);
                    figures.push(Figure {
                        name: words.clone(),
                        quantity: Some(quantity),
                        text: String::new(),
                        limit: false,
                    });
                    units.push(*unit);
                }
                (Ok(Value::Place(at)), _) => {
                    figures.push(Figure { name: words.clone(), quantity: None, text: show_place(at), limit: false });
                    units.push(None);
                }
                _ => {}
            }
        }
        figures.extend(rule.limits.iter().map(|limit| Figure {
            name: limit.name.clone(),
            quantity: Some(limit.value),
            text: limit.text.clone(),
            limit: true,
        }));
        // Two figures that differ must not read alike: 49.97 mm is less than 50 mm.
        units.resize(figures.len(), None);
        let shown = figures.iter().zip(&units).filter_map(|(figure, unit)| Some((figure.quantity?, *unit)));
        let quantities: Vec<(Quantity, Option<&Unit>)> = shown.collect();
        let differ =
            |a: Quantity, b: Quantity| a.dimension == b.dimension && (a.value - b.value).abs() > a.dimension.grain();
        let pairs = (0..quantities.len()).flat_map(|one| (0..one).map(move |other| (one, other)));
        let told_apart: Vec<(usize, usize)> =
            pairs.filter(|(one, other)| differ(quantities[*one].0, quantities[*other].0)).collect();
        let alike = |extra: usize| {
            if told_apart.is_empty() {
                return false;
            }
            let texts: Vec<String> = quantities.iter().map(|(quantity, of)| quantity.show_as(*of, extra)).collect();
            told_apart.iter().any(|(one, other)| texts[*one] == texts[*other])
        };
        let extra = (0..4).find(|extra| !alike(*extra)).unwrap_or(4);
        for (figure, unit) in figures.iter_mut().zip(units) {
            if let Some(quantity) = figure.quantity.filter(|_| figure.text.is_empty()) {
                figure.text = quantity.show_as(unit, extra);
            }
        }
        (figures, extra)
    }

    /// The places that a finding points at, and the named things that it is about. Without digits (`extra`) for its figures the places have no
    /// words.
    fn marks(&mut self, rule: &Rule, item: Item, extra: Option<usize>) -> (Vec<Mark>, Vec<Subject>) {
        let mut marks: Vec<Mark> = Vec::new();
        let mut subjects: Vec<Subject> = item.subjects(self.world);
        for (expr, label) in &rule.program.points {
            let pointed = match self.value(expr) {
                Ok(Value::Item(item)) => vec![item],
                Ok(Value::Items(items)) => items,
                _ => continue,
            };
            let label = label.as_ref().zip(extra).and_then(|(label, extra)| self.text(label, extra));
            let worded = |item: Item| label.clone().unwrap_or_else(|| item.describe(self.world));
            for item in pointed {
                subjects.extend(item.subjects(self.world));
                let label = extra.map_or_else(String::new, |_| worded(item));
                add_mark(&mut marks, item.place(self.world), label);
            }
        }
        let mut named: Vec<Subject> = Vec::new();
        for subject in subjects {
            if !named.contains(&subject) {
                named.push(subject);
            }
        }
        if marks.is_empty() {
            marks.push(Mark { place: item.place(self.world), label: item.describe(self.world) });
        }
        (marks, named)
    }

    /// The changes that apply and can be made, each with its advice.
    fn offers(&mut self, rule: &Rule, extra: usize) -> Vec<Fix> {
        let mut offers: Vec<Fix> = Vec::new();
        if rule.program.remedies.is_empty() || self.offers_left == 0 {
            return offers;
        }
        self.offers_left -= 1;
        for Cure { condition, remedy, advice } in &rule.program.remedies {
            let applies =
                condition.as_ref().is_none_or(|condition| matches!(self.value(condition), Ok(Value::Truth(true))));
            if !applies {
                continue;
            }
            for mut fix in self.changes(remedy).unwrap_or_default() {
                if offers.len() == MOST_OFFERS {
                    return offers;
                }
                if let Some((template, slot)) = advice {
                    self.keep(*slot, Value::Text(fix.title.clone()));
                    fix.advice = self.text(template, extra);
                }
                offers.push(fix);
            }
        }
        offers
    }

    /// What a remedy may come to, the best first; nothing where something that it asks for is missing.
    fn changes(&mut self, remedy: &Remedy) -> Option<Vec<Fix>> {
        let world = self.world;
        let Remedy::LayAnew(cables, kits, clear) = remedy else {
            return self.change(remedy).map(|fix| vec![fix]);
        };
        let kits = match kits.as_ref().map(|kits| self.value(kits)).transpose().ok()? {
            None => None,
            Some(Value::Number(kits)) => Some(kits),
            Some(_) => return None,
        };
        let cables: Vec<CableId> = match self.value(cables).ok()? {
            Value::Item(Item::Cable(cable)) => vec![cable],
            Value::Items(items) => items.into_iter().filter_map(crate::things::OfKind::of).collect(),
            _ => return None,
        };
        let Value::Number(clear) = self.value(clear).ok()? else { return None };
        let room = cables.first()?.room;
        let numbers: Vec<usize> = cables.iter().map(|cable| cable.index).collect();
        Some(crate::remedy::lay_anew(world.measured(room), &numbers, kits, clear))
    }

    fn change(&mut self, remedy: &Remedy) -> Option<Fix> {
        let plan = self.world.plan;
        match remedy {
            Remedy::Move(run, by, from) => {
                match (self.value(run).ok()?, self.value(by).ok()?, self.value(from).ok()?) {
                    (Value::Item(Item::Run(run)), Value::Number(by), Value::Item(from)) if by > 0.0 => {
                        let room = self.world.room(run.room);
                        crate::remedy::move_run(plan, room, run.thing, by, from.extent(self.world)?)
                    }
                    _ => None,
                }
            }
            Remedy::Put(sensor, at) => match (self.value(sensor).ok()?, self.value(at).ok()?) {
                (Value::Item(Item::Sensor(sensor)), Value::Place(at)) => {
                    let measured = self.world.measured(sensor.room);
                    crate::remedy::put_sensor(measured, sensor.index, at)
                }
                _ => None,
            },
            Remedy::LeadIn(sensor, by) => match (self.value(sensor).ok()?, self.value(by).ok()?) {
                (Value::Item(Item::Sensor(sensor)), Value::Number(by)) if by > 0.0 => {
                    let measured = self.world.measured(sensor.room);
                    crate::remedy::lead_in(measured, sensor.index, by)
                }
                _ => None,
            },
            Remedy::Step(run, by) => {
                let run = match self.value(run).ok()? {
                    Value::Item(Item::Run(run)) => self.world.run(run),
                    Value::Item(Item::Turn(turn)) => self.world.cable(turn.cable).runs.get(turn.turn.run)?,
                    _ => return None,
                };
                let Ok(Value::Number(by)) = self.value(by) else { return None };
                crate::remedy::step_loops(plan, run, by)
            }
            Remedy::ChooseKit(cable, length) => match (self.value(cable).ok()?, self.value(length).ok()?) {
                (Value::Item(Item::Cable(cable)), Value::Number(length)) if length > 0.0 => {
                    crate::remedy::choose_kit(self.world.measured(cable.room), cable.index, length)
                }
                _ => None,
            },
            Remedy::Insulate(floor, by) => match (self.value(floor).ok()?, self.value(by).ok()?) {
                (Value::Item(Item::Floor(floor)), Value::Number(by)) if by > 0.0 => {
                    crate::remedy::insulate(plan, self.world.floor(floor.0)?, by)
                }
                _ => None,
            },
            Remedy::Embed(floor, at, thickness) => {
                match (self.value(floor).ok()?, self.value(at).ok()?, self.value(thickness).ok()?) {
                    (Value::Item(Item::Floor(floor)), Value::Number(at), Value::Number(thickness)) => {
                        crate::remedy::embed(plan, self.world.floor(floor.0)?, at, thickness)
                    }
                    _ => None,
                }
            }
            Remedy::TakeOut(deviation) => match self.value(deviation).ok()? {
                Value::Item(Item::Deviation(deviation)) => {
                    crate::remedy::take_out(plan, self.world.deviation(deviation))
                }
                _ => None,
            },
            Remedy::LayAnew(..) => None,
        }
    }

    /// By how much the first comparison that fails does so, where one does.
    fn excess(&mut self, condition: &Expr) -> Option<f64> {
        match condition {
            Expr::Compare(_, left, right, _) => {
                match (self.value(condition).ok()?, self.value(left).ok()?, self.value(right).ok()?) {
                    (Value::Truth(false), Value::Number(a), Value::Number(b)) => Some((a - b).abs()),
                    _ => None,
                }
            }
            Expr::And(list) | Expr::Or(list) => list.iter().find_map(|part| self.excess(part)),
            _ => None,
        }
    }
}
